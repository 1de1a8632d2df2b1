package motion

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Resistance is the running resistance of one vehicle on level straight track,
// A + B v + C v², N, with v in m/s from 0.
type Resistance struct{ A, B, C float64 }

// At is the resistance at a speed, N.
func (r Resistance) At(v float64) float64 { return r.A + v*(r.B+float64(v*r.C)) }

// Plus is both resistances together.
func (r Resistance) Plus(s Resistance) Resistance {
	return Resistance{r.A + s.A, r.B + s.B, r.C + s.C}
}

// Times is the resistance of k such vehicles.
func (r Resistance) Times(k float64) Resistance { return Resistance{k * r.A, k * r.B, k * r.C} }

// Body is what a published form of resistance asks of a vehicle.
type Body struct {
	Mass  float64 // kg, with its load
	Axles int
	Area  float64 // m², frontal area where a form asks for it; 0: not stated
}

// Form is a published form of running resistance.
type Form struct {
	Name    string // as records name it
	Source  string // key of the bibliography
	For     string // what it was made for
	HasArea bool   // it asks for the frontal area
	of      func(b Body) Resistance
}

const (
	tonne    = 1000.0
	shortTon = 907.18474
	longTon  = 1016.0469088
	poundF   = 4.4482216152605
	kmh      = 1 / 3.6
	mph      = 0.44704
	foot2    = 0.09290304
)

// perTon makes a form out of coefficients in pounds-force per short ton, with the speed in
// mph.
func perTon(b Body, a, one, two float64) Resistance {
	k := poundF * b.Mass / shortTon
	return Resistance{k * a, k * one / mph, k * two / (mph * mph)}
}

// perMille makes one out of N per kN of weight (the same number as kgf per t), speed in km/h.
func perMille(b Body, a, one, two float64) Resistance {
	k := b.Mass * Gravity / 1000
	return Resistance{k * a, k * one / kmh, k * two / (kmh * kmh)}
}

func (b Body) axleLoad(unit float64) float64 { return b.Mass / float64(b.Axles) / unit }

// Forms are the published forms, by name. Between two of them the resistance of one wagon
// may differ by a factor of two: a high one is for hauling, a low one for stopping and
// securing.
func Forms() []Form {
	davis := func(one, c, area float64) func(Body) Resistance {
		return func(b Body) Resistance {
			w, n := b.axleLoad(shortTon), float64(b.Axles)
			a := b.Area / foot2
			if area > 0 {
				a = area
			}
			return perTon(b, 1.3+29/w, one, c*a/(w*n))
		}
	}
	modified := func(k float64) func(Body) Resistance {
		return func(b Body) Resistance {
			w, n := b.axleLoad(shortTon), float64(b.Axles)
			return perTon(b, 0.6+20/w, 0.01, k/(w*n))
		}
	}
	return []Form{
		{"davis 1926 wagon", "davis-1926", "wagons on plain bearings; high on modern ones", true, davis(0.045, 0.0005, 0)},
		{"davis 1926 locomotive", "davis-from-memory", "locomotives, old and high", true, davis(0.03, 0.0024, 0)},
		{"davis modified", "area-chapter-16", "wagons on roller bearings", false, modified(0.07)},
		{"davis modified, containers", "area-chapter-16", "container wagons", false, modified(0.0935)},
		{"davis modified, piggyback", "area-chapter-16", "trailers on flat wagons", false, modified(0.16)},
		{"davis canadian, loaded open", "area-chapter-16", "loaded open wagons", true, canadian(4.2)},
		{"davis canadian, empty open", "area-chapter-16", "empty open wagons", true, canadian(12)},
		{"davis canadian, covered", "area-chapter-16", "covered wagons", true, canadian(5)},
		{"davis canadian, leading locomotive", "area-chapter-16", "the leading locomotive", true, canadian(24)},
		{"strahl wagon", "pfaff-notebooks", "goods wagons, old and high", false, func(b Body) Resistance { return perMille(b, 1.6, 0, 5.7e-4) }},
		{"rdso locomotive", "rdso-2014", "electric locomotives", false, func(b Body) Resistance {
			w, n := b.axleLoad(tonne), float64(b.Axles)
			return perMille(b, 0.647+13.17/w, 0.00933, 0.057/(w*n))
		}},
		{"rdso loaded wagon", "rdso-from-memory", "loaded bogie wagons of 20 t an axle", false, func(b Body) Resistance { return perMille(b, 0.6438797, 0.01047218, 0.00007323) }},
		{"ptr wagon", "ptr", "four-axle wagons on roller bearings, jointed track", false, func(b Body) Resistance {
			q := b.axleLoad(tonne)
			return perMille(b, 0.7+3/q, 0.1/q, 0.0025/q)
		}},
		{"ptr locomotive", "ptr", "locomotives under power, jointed track", false, func(b Body) Resistance { return perMille(b, 1.9, 0.01, 0.0003) }},
		{"molesworth", "molesworth", "whole trains of old stock", false, func(b Body) Resistance {
			k := poundF * b.Mass / longTon
			return Resistance{6 * k, 0, 0.009 * k / (mph * mph)}
		}},
		{"planning, good track", "tr0603", "planning, track good to fair", false, func(b Body) Resistance { return perTon(b, 6, 0, 0) }},
		{"planning, poor track", "tr0603", "planning, track fair to poor", false, func(b Body) Resistance { return perTon(b, 7, 0, 0) }},
	}
}

// canadian is the later form: 1.5 + 18 N/W + 0.03 V + c a V²/(10000 W), lbf per short ton.
func canadian(c float64) func(Body) Resistance {
	return func(b Body) Resistance {
		w := b.Mass / shortTon
		return perTon(b, 1.5+18*float64(b.Axles)/w, 0.03, c*(b.Area/foot2)/(10000*w))
	}
}

// FormNames are the names of Forms, in their order.
func FormNames() []string {
	var out []string
	for _, f := range Forms() {
		out = append(out, f.Name)
	}
	return out
}

// FormNamed finds a form by its name, in any letters.
func FormNamed(name string) (Form, bool) {
	fs := Forms()
	i := slices.IndexFunc(fs, func(f Form) bool { return strings.EqualFold(f.Name, name) })
	if i < 0 {
		return Form{}, false
	}
	return fs[i], true
}

// Of is the resistance of a body by the form. An error names what the body lacks.
func (f Form) Of(b Body) (Resistance, error) {
	switch {
	case f.of == nil:
		return Resistance{}, fmt.Errorf("no form of resistance is named")
	case !(b.Mass > 0):
		return Resistance{}, fmt.Errorf("%s needs the mass", f.Name)
	case b.Axles <= 0:
		return Resistance{}, fmt.Errorf("%s needs the number of axles", f.Name)
	case f.HasArea && !(b.Area > 0):
		return Resistance{}, fmt.Errorf("%s needs the frontal area", f.Name)
	}
	return f.of(b), nil
}

// Specific is the resistance as a part of the weight, N/N, at a speed in m/s. An error
// names what the form needs and has not: mass, axles or frontal area.
func (f Form) Specific(b Body, v float64) (float64, error) {
	r, err := f.Of(b)
	return r.At(v) / (b.Mass * Gravity), err
}

// Starting is a way to reckon the resistance of a vehicle at a stand, as a part of its
// weight.
type Starting struct {
	Name   string
	Source string
	of     func(b Body) float64
}

// Startings are the published ways. "roller" and "plain" are the cautious ends of each
// bearing's.
func Startings() []Starting {
	fixed := func(v float64) func(Body) float64 { return func(Body) float64 { return v } }
	return []Starting{
		{"roller wagon", "rdso-2014", fixed(0.004)},
		{"roller locomotive", "rdso-2014", fixed(0.006)},
		{"plain", "starting-japan", fixed(100 / Gravity / 1000)},
		{"plain, lower", "starting-japan", fixed(80 / Gravity / 1000)},
		{"ptr roller", "ptr-exercise", func(b Body) float64 { return 28 / (b.axleLoad(tonne) + 7) / 1000 }},
		{"ptr plain", "ptr", func(b Body) float64 { return 142 / (b.axleLoad(tonne) + 7) / 1000 }},
	}
}

// StartingNames are the names of Startings.
func StartingNames() []string {
	var out []string
	for _, s := range Startings() {
		out = append(out, s.Name)
	}
	return out
}

// StartingNamed finds one by its name.
func StartingNamed(name string) (Starting, bool) {
	ss := Startings()
	i := slices.IndexFunc(ss, func(s Starting) bool { return strings.EqualFold(s.Name, name) })
	if i < 0 {
		return Starting{}, false
	}
	return ss[i], true
}

// Specific is the starting resistance as a part of the weight.
func (s Starting) Specific(b Body) float64 { return s.of(b) }

// StartingFades is the speed at which starting resistance has fallen, in a straight line,
// to the running resistance, m/s (starting-japan).
const StartingFades = 3 * kmh

// CurveForm is a published form of the resistance of curves.
type CurveForm struct {
	Name   string  `json:"name"`
	Source string  `json:"source"`
	Gauge  float64 `json:"gauge"` // m, of the track it is for
	of     func(radius float64) float64
}

// degreeRadius is the radius of a curve of one degree by a chord of 100 ft, m.
const degreeRadius = 1746.4

// CurveForms are the published forms, each for one gauge.
func CurveForms() []CurveForm {
	over := func(k float64) func(float64) float64 { return func(r float64) float64 { return k / r / 1000 } }
	less := func(k, d float64) func(float64) float64 {
		return func(r float64) float64 { return k / math.Max(r-d, d/4) / 1000 }
	}
	roeckl := func(r float64) float64 {
		if r >= 300 {
			return 650 / (r - 55) / 1000
		}
		return 500 / math.Max(r-30, 10) / 1000
	}
	return []CurveForm{
		{"0.8 lb per ton and degree", "tr0603", 1.435, over(0.4 * degreeRadius)},
		{"0.0004 per degree", "chandra-agarwal", 1.676, over(0.4 * degreeRadius)},
		{"0.0003 per degree", "chandra-agarwal", 1.000, over(0.3 * degreeRadius)},
		{"560/R", "metre-gauge-scaled", 1.067, over(560)},
		{"700/R", "ptr", 1.520, over(700)},
		{"0.0002 per degree", "chandra-from-memory", 0.762, over(0.2 * degreeRadius)},
		{"roeckl 1435", "roeckl-1880", 1.435, roeckl},
		{"roeckl 1000", "roeckl-1880", 1.000, less(400, 20)},
		{"roeckl 750", "roeckl-1880", 0.750, less(350, 10)},
		{"roeckl 600", "roeckl-1880", 0.600, less(200, 5)},
	}
}

// CurveFormNamed finds a form of curve resistance by its name.
func CurveFormNamed(name string) (CurveForm, bool) {
	fs := CurveForms()
	i := slices.IndexFunc(fs, func(f CurveForm) bool { return strings.EqualFold(f.Name, name) })
	if i < 0 {
		return CurveForm{}, false
	}
	return fs[i], true
}

// CurveFormFor is the first form for the gauge nearest to the one given, m.
func CurveFormFor(gauge float64) CurveForm {
	fs := CurveForms()
	best := fs[0]
	for _, f := range fs[1:] {
		if math.Abs(f.Gauge-gauge) < math.Abs(best.Gauge-gauge) {
			best = f
		}
	}
	return best
}

// Specific is the resistance of a curve of a radius in m, as a part of the weight of what
// stands in it; 0 for a radius of 0, which is straight track.
func (f CurveForm) Specific(radius float64) float64 {
	if radius <= 0 {
		return 0
	}
	return f.of(radius)
}

// Degree is the radius in m of a curve of so many degrees by a chord of 100 ft.
func Degree(degrees float64) float64 { return degreeRadius / degrees }

// ColdReduction is the part of the tonnage taken off a load table for cold, 0 to 0.5, at an
// air temperature in K; bad rail counts as the first step. Source: tr0603, table III, and
// below -29 °C the steps of the rule book that goes on with it.
func ColdReduction(kelvin float64, badRail bool) float64 {
	f := math.Round((kelvin-273.15)*1.8 + 32)
	part := 0.0
	switch {
	case f > 32:
	case f >= 16:
		part = 0.05
	case f >= 0:
		part = 0.10
	case f >= -10:
		part = 0.15
	default:
		part = math.Min(0.20+0.05*math.Max(0, math.Ceil((-20-f)/5)), 0.50)
	}
	if badRail {
		part = math.Max(part, 0.05)
	}
	return part
}

// WetAdhesion is what load tables leave of dry adhesion for long wet seasons without good
// sanders (tr0603, rdso-2014).
const WetAdhesion = 0.8
