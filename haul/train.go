package haul

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/motion"
)

// Train is a consist as mass, length and resistance, from the front.
type Train struct {
	Consist  *consist.Consist
	Vehicles []Vehicle
	Length   float64 // m over couplers; too short where a length lacks
	Mass     float64 // kg; too small where a mass lacks
	Gauge    float64 // m; 0 where no record states it
	Lacks    []Lack  // everything that some record does not state
}

// Lack is something that a record does not state.
type Lack struct {
	Class   string
	What    string // "mass", "length", "axles", "running" …
	Because string // more of it, "" when What says all
}

// String is what is missing, of which class and why.
func (l Lack) String() string {
	s := fmt.Sprintf("%s of class %s", l.What, l.Class)
	if l.Because != "" {
		s += " (" + l.Because + ")"
	}
	return s
}

// Vehicle is one vehicle of a train. What its record does not state is 0, and stands in
// the lacks of the train.
type Vehicle struct {
	*consist.Vehicle
	Index    int     // in the consist, from the front
	Mass     float64 // kg, with its load
	Length   float64 // m over couplers
	Axles    int
	Rotating float64           // kg, what its rotating parts add to the mass that is sped up
	High     motion.Resistance // running resistance for hauling, N; of a dead locomotive with its gears dragged
	Low      motion.Resistance // running resistance for stopping and securing, N
	Starting float64           // resistance at a stand, N, for hauling
	Behind   float64           // m from the front of the train to the front of this vehicle
}

// Pulls says that the role of a unit lets it give power: it leads, is alone, trails with
// its engine running, or assists.
func (v *Vehicle) Pulls() bool {
	switch v.Role {
	case "lead", "alone", "trail", "assisting":
		return v.Locomotive()
	}
	return false
}

// deadDrag is the part of its weight that a locomotive hauled without power drags with its
// gears and motors, beyond its running resistance; the upper end of 1 to 2 N/kN (from
// memory). It is added where resistance hinders, and not where it helps.
const deadDrag = 0.002

// BrakedWeight is the braked weight of the vehicle as loaded, kg, from its identity:
// "braked weight loaded" where it is loaded, else "braked weight". False where neither is
// stated.
func (v *Vehicle) BrakedWeight() (float64, bool) {
	names := []string{"braked weight"}
	if v.Load == "loaded" {
		names = []string{"braked weight loaded", "braked weight"}
	}
	for _, n := range names {
		if f, ok := v.Class.Fact(n); ok && f.Figure != nil && f.Figure.SI > 0 {
			return f.Figure.SI, true
		}
	}
	return 0, false
}

// Inertia is the mass that is sped up, kg: its own and that of its rotating parts.
func (v *Vehicle) Inertia() float64 { return v.Mass + v.Rotating }

// Of is the train of a consist. It never fails: what the records lack stands in Lacks, and
// each question asks Needs for what it needs.
func Of(c *consist.Consist) *Train {
	t := &Train{Consist: c}
	lack := func(class *fleet.Class, what, because string) {
		l := Lack{class.Name, what, because}
		if !slices.Contains(t.Lacks, l) {
			t.Lacks = append(t.Lacks, l)
		}
	}
	for i, cv := range c.Vehicles {
		v := Vehicle{Vehicle: cv, Index: i, Mass: cv.Class.Mass, Length: cv.Class.Length, Behind: t.Length}
		if cv.Load == "loaded" && cv.Class.Loaded > 0 {
			v.Mass = cv.Class.Loaded
		}
		if v.Mass == 0 {
			lack(cv.Class, "mass", "")
		}
		if v.Length == 0 {
			lack(cv.Class, "length", "")
		}
		n, ok := cv.Class.Axles()
		if !ok {
			lack(cv.Class, "axles", "")
		}
		v.Axles = n
		if g, ok := cv.Class.Fact("gauge"); ok && g.Figure != nil && t.Gauge == 0 {
			t.Gauge = g.Figure.SI
		}
		if k := cv.Class.Running; k == nil {
			lack(cv.Class, "running", "its resistance")
		} else {
			v.Rotating = k.Rotating
			if k.Rotating == 0 {
				lack(cv.Class, "rotating mass", "")
			}
			body := motion.Body{Mass: v.Mass, Axles: n, Area: k.Area}
			of := func(name, what string) motion.Resistance {
				f, _ := motion.FormNamed(name)
				r, err := f.Of(body)
				if err != nil && v.Mass > 0 && n > 0 { // else it has been said
					lack(cv.Class, what, err.Error())
				}
				return r
			}
			v.High = of(k.High, "resistance for hauling")
			v.Low = of(k.Low, "resistance for stopping")
			if s, ok := motion.StartingNamed(k.Starting); ok && v.Mass > 0 && n > 0 {
				v.Starting = s.Specific(body) * v.Mass * motion.Gravity
			} else if !ok {
				lack(cv.Class, "starting", "its resistance at a stand")
			}
			if v.Locomotive() && !v.Pulls() {
				v.High.A += deadDrag * v.Mass * motion.Gravity
				v.Starting += deadDrag * v.Mass * motion.Gravity
			}
		}
		t.Length += v.Length
		t.Mass += v.Mass
		t.Vehicles = append(t.Vehicles, v)
	}
	if t.Gauge == 0 && len(c.Vehicles) > 0 {
		lack(c.Vehicles[0].Class, "gauge", "")
	}
	return t
}

// CannotSay is an answer that the records do not hold enough for.
type CannotSay struct{ Needs []string }

// Error says what is missing.
func (e *CannotSay) Error() string { return "cannot say: needs " + strings.Join(e.Needs, "; ") }

// Needs is a *CannotSay that names every lack of the named kinds ("mass", "running" …), nil
// when nothing of them lacks.
func (t *Train) Needs(what ...string) error {
	var out []string
	for _, l := range t.Lacks {
		if slices.Contains(what, l.What) {
			out = append(out, l.String())
		}
	}
	if len(out) == 0 {
		return nil
	}
	return &CannotSay{out}
}

// Resistance is the running resistance of the whole train on level straight track.
func (t *Train) Resistance(high bool) motion.Resistance {
	var r motion.Resistance
	for i := range t.Vehicles {
		if high {
			r = r.Plus(t.Vehicles[i].High)
		} else {
			r = r.Plus(t.Vehicles[i].Low)
		}
	}
	return r
}

// Inertia is the mass that is sped up, kg.
func (t *Train) Inertia() float64 {
	m := 0.0
	for i := range t.Vehicles {
		m += t.Vehicles[i].Inertia()
	}
	return m
}

// Trailing is the mass behind and before the locomotives that pull, kg: what is hauled.
func (t *Train) Trailing() float64 {
	m := 0.0
	for i := range t.Vehicles {
		if !t.Vehicles[i].Pulls() {
			m += t.Vehicles[i].Mass
		}
	}
	return m
}
