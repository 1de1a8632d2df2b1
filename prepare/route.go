package prepare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/line"
	"headstock/quantity"
	"headstock/rule"
	"headstock/source"
)

// Fit is what an answer says of a consist on a route, or of one check of it.
type Fit string

// The answers; the worst of the checks is that of the route.
const (
	Fits      Fit = "fits"
	DoesNot   Fit = "does not fit"
	FitUnsaid Fit = "cannot say"
)

// RouteCheck is one thing held against the route or against a rule of placing.
type RouteCheck struct {
	Kind    string        `json:"kind"` // axle load, curve, coupler height, coupler swing, placing
	Vehicle string        `json:"vehicle,omitempty"`
	Other   string        `json:"other,omitempty"` // the vehicle at the other side of a joint
	Where   string        `json:"where,omitempty"` // section, or headstock
	Fit     Fit           `json:"fit"`
	Measure quantity.Kind `json:"-"`
	Value   float64       `json:"value,omitempty"` // SI
	Limit   float64       `json:"limit,omitempty"` // SI
	Rule    string        `json:"rule,omitempty"`
	What    string        `json:"what,omitempty"` // of a rule of placing
	Broken  string        `json:"broken,omitempty"`
	Source  string        `json:"source"`
	Needs   string        `json:"needs,omitempty"`
}

// RouteAnswer is whether a consist fits a route.
type RouteAnswer struct {
	Consist  string         `json:"consist"`
	Line     string         `json:"line"`
	LineHash string         `json:"line_hash"`
	From     string         `json:"from"`
	To       string         `json:"to"`
	Distance float64        `json:"distance"` // m
	Sections []line.Section `json:"-"`
	Checks   []RouteCheck   `json:"checks"`
	Speed    rule.Axis      `json:"speed"` // m/s, from rules of placing
	Fit      Fit            `json:"fit"`
}

// Route holds a consist against a line from one place to another, and against the rules
// of placing. An error names a place that the line has not.
func Route(c *consist.Consist, l *line.Line, from, to string, r *rule.Rules) (*RouteAnswer, error) {
	sections, distance, err := l.Between(from, to)
	if err != nil {
		return nil, err
	}
	a := &RouteAnswer{Consist: c.String(), Line: l.Name, LineHash: l.Hash, From: from, To: to, Distance: distance, Sections: sections}
	src := "line " + l.Name
	if ref, ok := source.Lookup(l.Source); ok {
		src += ", " + ref.Title
	}
	sharpest, where := a.sharpest()
	for _, v := range c.Vehicles {
		for _, m := range v.Class.Missing {
			if m.Needed == "route" {
				a.add(RouteCheck{Kind: "record", Vehicle: v.Name(), Fit: FitUnsaid, Needs: m.What, Source: "record of class " + v.Class.Name})
			}
		}
		a.axleLoad(v, src)
		a.curve(v, sharpest, where, src)
	}
	for i := 0; i+1 < len(c.Vehicles); i++ {
		a.height(c.Vehicles[i], c.Vehicles[i+1], r)
		a.swing(c.Vehicles[i], c.Vehicles[i+1], sharpest, where, src)
	}
	for _, p := range r.Placing {
		a.placing(c, p)
	}
	a.Fit = Fits
	for _, k := range a.Checks {
		switch {
		case k.Fit == DoesNot:
			a.Fit = DoesNot
		case k.Fit == FitUnsaid && a.Fit == Fits:
			a.Fit = FitUnsaid
		}
	}
	return a, nil
}

func (a *RouteAnswer) add(k RouteCheck) { a.Checks = append(a.Checks, k) }

// sharpest is the radius of the sharpest curve on the way and its section; 0 where a
// section does not state its own.
func (a *RouteAnswer) sharpest() (float64, string) {
	radius, where := math.Inf(1), ""
	for _, s := range a.Sections {
		if s.Sharpest == 0 {
			return 0, s.Name()
		}
		if s.Sharpest < radius {
			radius, where = s.Sharpest, s.Name()
		}
	}
	return radius, where
}

// high and low are the ends of a figure's spread.
func high(f *source.Figure) float64 { return f.SI + f.Spread }
func low(f *source.Figure) float64  { return f.SI - f.Spread }

// massOf is the mass of a vehicle as it stands, at the high end of its spread; false
// where the record does not say it.
func massOf(v *consist.Vehicle) (kg float64, needs string) {
	name := "mass"
	if v.Load == "loaded" {
		name = "loaded"
	}
	f, ok := v.Class.Fact(name)
	if !ok || f.Figure == nil || f.Figure.Kind != quantity.Mass {
		return 0, fmt.Sprintf("%s in the identity of class %s", map[string]string{"mass": "the mass", "loaded": "the loaded mass"}[name], v.Class.Name)
	}
	return high(f.Figure), ""
}

// AxleLoad is the greatest mass on one axle of a vehicle as it stands, kg: as the record
// states it, else its mass shared evenly among its axles. Where the record holds neither,
// needs says what is missing.
func AxleLoad(v *consist.Vehicle) (kg float64, needs string) {
	name := "axle load"
	if v.Load == "loaded" {
		name = "axle load loaded"
	}
	if f, ok := v.Class.Fact(name); ok && f.Figure != nil {
		return high(f.Figure), ""
	}
	m, needs := massOf(v)
	if needs != "" {
		return 0, needs
	}
	n, ok := v.Class.Axles()
	if !ok {
		return 0, fmt.Sprintf("axles, or a wheel arrangement, in the identity of class %s", v.Class.Name)
	}
	return m / float64(n), ""
}

func (a *RouteAnswer) axleLoad(v *consist.Vehicle, src string) {
	k := RouteCheck{Kind: "axle load", Vehicle: v.Name(), Measure: quantity.Mass, Source: src, Fit: Fits}
	limit := math.Inf(1)
	for _, s := range a.Sections {
		if s.AxleLoad == 0 {
			k.Fit, k.Where, k.Needs = FitUnsaid, s.Name(), "the axle load of the section "+s.Name()
			a.add(k)
			return
		}
		if s.AxleLoad < limit {
			limit, k.Where = s.AxleLoad, s.Name()
		}
	}
	k.Limit = limit
	if k.Value, k.Needs = AxleLoad(v); k.Needs != "" {
		k.Fit = FitUnsaid
	} else if k.Value > limit {
		k.Fit = DoesNot
	}
	a.add(k)
}

func (a *RouteAnswer) curve(v *consist.Vehicle, sharpest float64, where, src string) {
	k := RouteCheck{Kind: "curve", Vehicle: v.Name(), Where: where, Measure: quantity.Length, Limit: sharpest, Source: src, Fit: Fits}
	f, ok := v.Class.Fact("minimum curve radius")
	switch {
	case sharpest == 0:
		k.Fit, k.Needs = FitUnsaid, "the sharpest curve of the section "+where
	case !ok || f.Figure == nil:
		k.Fit, k.Needs = FitUnsaid, fmt.Sprintf("the minimum curve radius in the identity of class %s", v.Class.Name)
	default:
		k.Value = high(f.Figure)
		if k.Value > sharpest {
			k.Fit = DoesNot
		}
	}
	a.add(k)
}

// couplerFact is a line of the coupler at a headstock, or what is missing.
func couplerFact(v *consist.Vehicle, headstock int, name string, kind quantity.Kind) (*source.Figure, string) {
	f, ok := v.Class.Ends[headstock-1].Spec(name)
	if !ok || f.Figure == nil || f.Figure.Kind != kind {
		return nil, fmt.Sprintf("%s of the coupler at headstock %d of class %s", name, headstock, v.Class.Name)
	}
	return f.Figure, ""
}

func (a *RouteAnswer) height(front, rear *consist.Vehicle, r *rule.Rules) {
	l, ok := r.Limit("coupler-difference")
	k := RouteCheck{Kind: "coupler height", Vehicle: front.Name(), Other: rear.Name(), Measure: quantity.Length, Rule: l.ID, Limit: l.High, Source: l.Cite(), Fit: Fits}
	x, needs := couplerFact(front, front.Rear(), "height", quantity.Length)
	y, needs2 := couplerFact(rear, rear.Front(), "height", quantity.Length)
	switch {
	case !ok:
		k.Fit, k.Needs = FitUnsaid, "a rule coupler-difference"
	case needs != "":
		k.Fit, k.Needs = FitUnsaid, needs
	case needs2 != "":
		k.Fit, k.Needs = FitUnsaid, needs2
	default:
		k.Value = math.Max(high(x)-low(y), high(y)-low(x))
		if k.Value > l.High {
			k.Fit = DoesNot
		}
	}
	a.add(k)
}

// Body is a vehicle on a curve as plain geometry sees it: between its bogie centres (or
// end axles) it lies as a chord on the track, and its coupler turns about a pivot on its
// centre line. All in m.
type Body struct {
	Base  float64 // between bogie centres, or end axles
	Pivot float64 // from the middle of the vehicle to the coupler's pivot
	Shank float64 // from the pivot to the coupling face
}

// body reads the geometry of a vehicle at a headstock from its record.
func body(v *consist.Vehicle, headstock int) (Body, string) {
	c := v.Class
	fact := func(names ...string) *source.Figure {
		for _, n := range names {
			if f, ok := c.Fact(n); ok && f.Figure != nil {
				return f.Figure
			}
		}
		return nil
	}
	length, base := fact("length"), fact("bogie centres", "wheelbase")
	switch {
	case length == nil:
		return Body{}, "the length in the identity of class " + c.Name
	case base == nil:
		return Body{}, "bogie centres or wheelbase in the identity of class " + c.Name
	}
	shank, needs := couplerFact(v, headstock, "pivot", quantity.Length)
	if needs != "" {
		return Body{}, needs
	}
	return Body{Base: base.SI, Pivot: length.SI/2 - shank.SI, Shank: shank.SI}, ""
}

// Swing is how far the couplers of two vehicles turn from their centre lines on a curve of
// constant radius (m, to the centre line of the track), in radians, positive where the
// coupler turns to the inside. False where the bodies cannot stand so. A reverse curve
// asks more, and is not covered.
//
// The body is tangent, in its middle, to a circle about the centre of the curve; its pivot
// lies on that tangent. Centre, pivot and pivot make a triangle whose three sides are
// known, and the angle at each pivot less the right angle and the pivot's own lead is the
// swing.
func Swing(radius float64, x, y Body) (sx, sy float64, ok bool) {
	side := func(b Body) (tangent, pivot float64) { // from the centre of the curve
		t2 := float64(radius*radius) - float64(b.Base*b.Base)/4
		return math.Sqrt(t2), math.Sqrt(t2 + float64(b.Pivot*b.Pivot))
	}
	if radius <= x.Base/2 || radius <= y.Base/2 {
		return 0, 0, false
	}
	tx, px := side(x)
	ty, py := side(y)
	d := x.Shank + y.Shank
	angle := func(own, other, tangent, lead float64) (float64, bool) {
		cos := (float64(own*own) + float64(d*d) - float64(other*other)) / (2 * own * d)
		if !(cos >= -1 && cos <= 1) {
			return 0, false
		}
		return math.Pi/2 + math.Atan2(lead, tangent) - math.Acos(cos), true
	}
	sx, okx := angle(px, py, tx, x.Pivot)
	sy, oky := angle(py, px, ty, y.Pivot)
	return sx, sy, okx && oky
}

func (a *RouteAnswer) swing(front, rear *consist.Vehicle, sharpest float64, where, src string) {
	sides := [2]*consist.Vehicle{front, rear}
	ends := [2]int{front.Rear(), rear.Front()}
	var bodies [2]Body
	needs := ""
	for i, v := range sides {
		b, n := body(v, ends[i])
		if n != "" && needs == "" {
			needs = n
		}
		bodies[i] = b
	}
	var got [2]float64
	ok := false
	if needs == "" && sharpest > 0 {
		got[0], got[1], ok = Swing(sharpest, bodies[0], bodies[1])
	}
	for i, v := range sides {
		k := RouteCheck{Kind: "coupler swing", Vehicle: v.Name(), Other: sides[1-i].Name(), Where: where, Measure: quantity.Angle, Source: "record of class " + v.Class.Name + "; " + src, Fit: Fits}
		limit, n := couplerFact(v, ends[i], "swing", quantity.Angle)
		switch {
		case sharpest == 0:
			k.Fit, k.Needs = FitUnsaid, "the sharpest curve of the section "+where
		case needs != "":
			k.Fit, k.Needs = FitUnsaid, needs
		case n != "":
			k.Fit, k.Needs = FitUnsaid, n
		case !ok:
			k.Fit, k.Limit, k.Broken = DoesNot, low(limit), "on this curve the couplers do not reach each other"
		default:
			k.Value, k.Limit = math.Abs(got[i]), low(limit)
			if k.Value > k.Limit {
				k.Fit = DoesNot
			}
		}
		a.add(k)
	}
}

// chosen are the vehicles that a rule of placing is about.
func chosen(c *consist.Consist, p rule.Placing) []int {
	var out []int
	for i, v := range c.Vehicles {
		switch {
		case len(p.Classes) > 0 && !slices.ContainsFunc(p.Classes, func(n string) bool { return strings.EqualFold(n, v.Class.Name) }),
			len(p.Roles) > 0 && !slices.Contains(p.Roles, v.Role),
			p.Kind != "" && p.Kind != v.Class.Kind:
			continue
		}
		if !slices.ContainsFunc(p.Where, func(s rule.Stand) bool { return !standsSo(c, i, s) }) {
			out = append(out, i)
		}
	}
	return out
}

// standsSo reports whether a device of a function, or one of several, stands so: with one
// bogie cut out a rule about that holds.
func standsSo(c *consist.Consist, i int, s rule.Stand) bool {
	return slices.ContainsFunc(c.Devices(i, s.Function), func(d *fleet.Device) bool {
		pos, _ := c.Position(i, d.ID)
		return slices.Contains(s.In, pos)
	})
}

// working says whether a vehicle is a locomotive that takes part in driving the train.
func working(v *consist.Vehicle) bool {
	return slices.Contains([]string{"lead", "alone", "trail", "assisting"}, v.Role)
}

func (a *RouteAnswer) placing(c *consist.Consist, p rule.Placing) {
	is := chosen(c, p)
	if len(is) == 0 {
		return
	}
	n := len(c.Vehicles)
	base := RouteCheck{Kind: "placing", Rule: p.ID, What: p.What, Source: p.Cite(), Fit: Fits}
	broken := func(i int, why string) {
		k := base
		k.Vehicle, k.Fit, k.Broken = c.Vehicles[i].Name(), DoesNot, why
		a.add(k)
	}
	unsaid := func(i int, needs string) {
		k := base
		k.Vehicle, k.Fit, k.Needs = c.Vehicles[i].Name(), FitUnsaid, needs
		a.add(k)
	}
	before := len(a.Checks)
	if p.AtMost > 0 && len(is) > p.AtMost {
		broken(is[p.AtMost], fmt.Sprintf("%d of them in this train; at most %d", len(is), p.AtMost))
	}
	for _, i := range is {
		if p.NotFirst && i == 0 && n > 1 {
			broken(i, "it is the first vehicle")
		}
		if p.NotLast && i == n-1 && n > 1 {
			broken(i, "it is the last vehicle")
		}
		if p.NotAway && slices.ContainsFunc(c.Vehicles, working) && !nextToWorking(c, i) {
			broken(i, "a wagon stands between it and the working locomotives")
		}
		if p.NotBetween > 0 && i > 0 && i < n-1 {
			m1, needs1 := massOf(c.Vehicles[i-1])
			m2, needs2 := massOf(c.Vehicles[i+1])
			// one light neighbour is enough, whatever the other weighs
			switch {
			case needs1 == "" && m1 < p.NotBetween || needs2 == "" && m2 < p.NotBetween:
			case needs1 != "":
				unsaid(i, needs1)
			case needs2 != "":
				unsaid(i, needs2)
			default:
				broken(i, fmt.Sprintf("it stands between %s and %s", c.Vehicles[i-1].Name(), c.Vehicles[i+1].Name()))
			}
		}
		for _, s := range p.Stands {
			ds := c.Devices(i, s.Function)
			if len(ds) == 0 {
				unsaid(i, fmt.Sprintf("a %s in the record of class %s", plain(s.Function), c.Vehicles[i].Class.Name))
			}
			for _, d := range ds { // each of them
				if pos, _ := c.Position(i, d.ID); !slices.Contains(s.In, pos) {
					broken(i, fmt.Sprintf("%s stands %s", d.Name, pos))
				}
			}
		}
	}
	if p.Speed.Set {
		a.Speed = rule.Restriction{Speed: a.Speed}.And(rule.Restriction{Speed: p.Speed}).Speed
	}
	if len(a.Checks) == before {
		k := base
		k.Vehicle = c.Vehicles[is[0]].Name()
		if p.Speed.Set {
			k.Measure, k.Limit = quantity.Speed, p.Speed.Value
		}
		a.add(k)
	}
}

// nextToWorking says whether only locomotives stand between a vehicle and a working one.
func nextToWorking(c *consist.Consist, i int) bool {
	for _, step := range []int{-1, 1} {
		for k := i + step; k >= 0 && k < len(c.Vehicles) && c.Vehicles[k].Locomotive(); k += step {
			if working(c.Vehicles[k]) {
				return true
			}
		}
	}
	return false
}
