package consist

import (
	"math"

	"headstock/fleet"
)

// Pace is how fast a person walks beside a train in the dark, m/s (common practice: slow,
// on ballast, with a lamp).
const Pace = 1.0

// Spot is where somebody stands: a place of a vehicle.
type Spot struct {
	Vehicle int
	Place   string // id
}

// Walk is how long it takes from one spot of the consist to another, s: by the ways of the
// records within a vehicle, beside the train between two. It is false where a record has no
// way there, no length, or does not know the place.
func (c *Consist) Walk(from, to Spot) (float64, bool) {
	a, b := c.Vehicles[from.Vehicle].Class, c.Vehicles[to.Vehicle].Class
	out, ok := ways(a, from.Place)
	if !ok {
		return 0, false
	}
	if from.Vehicle == to.Vehicle {
		s, ok := out[to.Place]
		return s, ok
	}
	in, ok := ways(b, to.Place) // a way is as long back
	if !ok {
		return 0, false
	}
	best := math.Inf(1)
	for _, p := range a.Places {
		if !beside(p) {
			continue
		}
		x, ok1 := c.along(from.Vehicle, p)
		s, ok2 := out[p.ID]
		if !ok1 || !ok2 {
			continue
		}
		for _, q := range b.Places {
			y, ok1 := c.along(to.Vehicle, q)
			e, ok2 := in[q.ID]
			// the side one walks on changes only round the end of the train; that is left out
			if beside(q) && ok1 && ok2 {
				best = min(best, s+math.Abs(x-y)/Pace+e)
			}
		}
	}
	return best, !math.IsInf(best, 1)
}

// beside reports whether a place is one where a person walks along the train.
func beside(p fleet.Place) bool { return p.Level == "rail" && p.Side != "centre" }

// along is how far a place lies behind the front of the train, m.
func (c *Consist) along(vehicle int, p fleet.Place) (float64, bool) {
	x := 0.0
	for i, v := range c.Vehicles {
		if v.Class.Length <= 0 {
			return 0, false
		}
		if i == vehicle {
			if v.Reversed {
				return x + v.Class.Length - p.X, true
			}
			return x + p.X, true
		}
		x += v.Class.Length
	}
	return 0, false
}

// ways are the shortest ways from a place of a class to each it leads to, s.
func ways(c *fleet.Class, from string) (map[string]float64, bool) {
	out := map[string]float64{}
	known := false
	for _, p := range c.Places {
		known = known || p.ID == from
	}
	if !known {
		return nil, false
	}
	out[from] = 0
	for range c.Places {
		moved := false
		for _, w := range c.Ways {
			for _, e := range [][2]string{{w.From, w.To}, {w.To, w.From}} {
				s, ok := out[e[0]]
				if was, has := out[e[1]]; ok && (!has || s+w.Seconds < was) {
					out[e[1]], moved = s+w.Seconds, true
				}
			}
		}
		if !moved {
			break
		}
	}
	return out, true
}
