package haul

import (
	"fmt"
	"math"

	"headstock/consist"
	"headstock/motion"
	"headstock/rule"
	"headstock/trial"
)

// Securing is the load that the hand brakes of such a train hold on the grade, with the
// margin of the rules: those of its locomotives, and of each wagon in proportion. The
// running resistance is not counted on.
func Securing(c *consist.Consist, r *rule.Rules, rail Rail) Criterion {
	return Criterion{BoundSecuring, func(t *Train, p Spot) (float64, string, error) {
		b, err := layOut(c, r)
		if err != nil {
			return 0, "", err
		}
		if len(b.handLacks) > 0 {
			return 0, "", &CannotSay{b.handLacks}
		}
		margin := 1.0
		if l, ok := r.Limit("hold-margin"); ok {
			margin = l.Low
		}
		fixed, wagons, mass, held := 0.0, 0.0, 0.0, [2]float64{}
		for i := range t.Vehicles {
			if t.Vehicles[i].Locomotive() {
				fixed += t.Vehicles[i].Mass
			} else {
				wagons += t.Vehicles[i].Mass
			}
		}
		adhesion := rail.adhesion(r)
		for _, h := range b.hands {
			k := 1
			if t.Vehicles[h.Vehicle].Locomotive() {
				k = 0
			}
			held[k] += math.Min(h.Brake.Holds(), adhesion*h.On*motion.Gravity)
		}
		mass = wagons
		pull := margin * motion.Gravity * math.Abs(p.Slope) // N for each kg
		each := held[1] / mass
		note := fmt.Sprintf("every hand brake on, margin %.2f", margin)
		if pull <= each {
			return math.Inf(1), note, nil
		}
		return math.Max(0, (held[0]-pull*fixed)/(pull-each)), note, nil
	}}
}

// ComingDown is the load that the brakes of this train bring down the grade when it runs
// the other way, without a dynamic brake, at the speed limit of the spot (its greatest safe
// speed where none is known).
func ComingDown(c *consist.Consist, r *rule.Rules, rail Rail, length float64, cond trial.Conditions) Criterion {
	return once(BoundDescent, func(t *Train, p Spot) (float64, string, error) {
		if p.Slope <= 0 {
			return math.Inf(1), "does not fall the other way", nil
		}
		a, err := Descend(c, r, DescendAsk{Legs: []Leg{{Length: length, Falling: p.Slope}}, Speed: p.Speed, Rail: rail, Load: true}, cond)
		if err != nil {
			return 0, "", err
		}
		note := fmt.Sprintf("at %.0f km/h over %.0f km, the brakes of this train", a.Speed*3.6, length/1000)
		most := a.Most
		if a.Safe {
			most = math.Max(most, t.Trailing())
		}
		dead := t.Trailing() - t.split().mass
		return math.Max(0, most-dead), note, nil
	})
}

// once asks a criterion once for each grade and speed, since neither the rail nor a
// sensitivity of the pull moves what the brakes do. It is of one train, and for one table.
func once(name string, of func(*Train, Spot) (float64, string, error)) Criterion {
	type at struct{ slope, speed float64 }
	type got struct {
		mass float64
		note string
		err  error
	}
	kept := map[at]got{}
	return Criterion{name, func(t *Train, p Spot) (float64, string, error) {
		k := at{p.Slope, p.Speed}
		x, ok := kept[k]
		if !ok {
			x.mass, x.note, x.err = of(t, p)
			kept[k] = x
		}
		return x.mass, x.note, x.err
	}}
}

// Stopping asks whether this train stops within a distance when it comes down the grade at
// the speed limit. It is a bound only where it does not: no load like this then may.
func Stopping(c *consist.Consist, r *rule.Rules, rail Rail, within float64, cond trial.Conditions) Criterion {
	return once(BoundStopping, func(t *Train, p Spot) (float64, string, error) {
		if p.Speed == 0 {
			return 0, "", &CannotSay{[]string{"the speed from which it is to stop"}}
		}
		a, err := Stop(c, r, StopAsk{Speed: p.Speed, Falling: math.Max(0, p.Slope), Rail: rail}, cond)
		if err != nil {
			return 0, "", err
		}
		note := fmt.Sprintf("full service from %.0f km/h takes %.0f m of %.0f m", p.Speed*3.6, a.Distance, within)
		if !a.Stops {
			note = fmt.Sprintf("full service from %.0f km/h does not stop it", p.Speed*3.6)
		}
		if !a.Stops || a.Distance > within {
			return 0, note, nil
		}
		return math.Inf(1), note + ", as this train", nil
	})
}

// Braked is what of the brakes bounds a load.
type Braked struct {
	Rail   Rail
	Down   bool    // that it comes down the same grade
	Length float64 // m of that grade
	Within float64 // m in which it must stop coming down at the speed limit; 0: not asked
}

// Brake adds to an ask what hand brakes and, where asked, runs of the air bound, and with
// them the rows of a bogie's brake cut out. A record that does not hold the air leaves those
// rows out; the bounds then say what is missing.
func (a *Ask) Brake(c *consist.Consist, r *rule.Rules, q Braked, cond trial.Conditions) {
	more := func(c *consist.Consist) []Criterion {
		out := []Criterion{Securing(c, r, q.Rail)}
		if q.Down {
			out = append(out, ComingDown(c, r, q.Rail, q.Length, cond))
		}
		if q.Within > 0 {
			out = append(out, Stopping(c, r, q.Rail, q.Within, cond))
		}
		return out
	}
	a.More = more(c)
	if !q.Down && q.Within == 0 {
		return
	}
	if cut, err := WorstBogie(c, r, cond); err == nil && cut != nil {
		cut.More = more(cut.Consist)
		a.Cut = cut
	}
}

// BrakingRail is the rail for braking that goes with one for pulling.
func BrakingRail(r motion.Rail) Rail {
	switch r.Name {
	case "dry", "dry sanded":
		return Dry
	case "leaves or frost":
		return Greasy
	}
	return Wet
}
