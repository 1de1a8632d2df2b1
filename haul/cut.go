package haul

import (
	"math"

	"headstock/consist"
	"headstock/rule"
	"headstock/trial"
)

// Cut is a train with the brake of one bogie cut out: of all bogies of its locomotives the
// one whose loss costs most block force, as runs of the train with each cock shut show.
type Cut struct {
	Consist  *consist.Consist `json:"-"` // as it then stands
	Unit     string           `json:"unit"`
	Device   string           `json:"device"` // its id
	Name     string           `json:"name"`   // as on its plate
	Position string           `json:"position"`
	Whole    float64          `json:"whole"` // N of all blocks in full service with nothing cut out
	Left     float64          `json:"left"`  // N with this cut out
	Seconds  float64          `json:"seconds"`
	More     []Criterion      `json:"-"` // the limits of its load that are worked out elsewhere
	Entries  []Entry          `json:"entries"`
}

// WorstBogie runs the train with each bogie of its locomotives cut out in turn and keeps the
// one that costs most; nil where no locomotive has a cock of that sort standing open. Units
// of one class in one role lose alike, so one of each is run.
func WorstBogie(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Cut, error) {
	force := func(c *consist.Consist) (float64, float64, error) {
		b, err := Charge(c, r, cond)
		if err != nil {
			return 0, 0, err
		}
		groups, err := b.applied(false)
		if err != nil {
			return 0, 0, err
		}
		sum := 0.0
		for i := range groups {
			sum += groups[i].Force(math.Inf(1))
		}
		return sum, b.Seconds, nil
	}
	var best *Cut
	whole, seconds := 0.0, 0.0
	type alike struct {
		class, role string
		reversed    bool
		device      string
	}
	seen := map[alike]bool{}
	for i, v := range c.Vehicles {
		if !v.Locomotive() {
			continue
		}
		for _, d := range c.Devices(i, "bogie-brake-cock") {
			at, ok := c.Position(i, d.ID)
			k := alike{v.Class.Name, string(v.Role), v.Reversed, d.ID}
			if !ok || at != d.Normal || d.MustNotMove || seen[k] {
				continue
			}
			shut := ""
			for _, p := range d.Positions {
				if p.ID != d.Normal {
					shut = p.ID
				}
			}
			if shut == "" {
				continue
			}
			seen[k] = true
			if whole == 0 {
				f, s, err := force(c)
				if err != nil {
					return nil, err
				}
				whole, seconds = f, s
			}
			x, err := c.With(consist.Change{Vehicle: i, Device: d.ID, Position: shut})
			if err != nil {
				return nil, err
			}
			f, s, err := force(x)
			if err != nil {
				return nil, err
			}
			seconds += s
			if best == nil || f < best.Left {
				best = &Cut{Consist: x, Unit: v.Name(), Device: d.ID, Name: d.Name, Position: shut, Whole: whole, Left: f}
			}
		}
	}
	if best != nil {
		best.Seconds = seconds
	}
	return best, nil
}
