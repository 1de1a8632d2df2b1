package prepare

import (
	"slices"

	"headstock/fleet"
)

// Trip is a protection, breaker, fuse or relay that can trip, with what may be done then.
type Trip struct {
	At      At
	Set     *fleet.Position
	Tripped []*fleet.Position // every other position, in the order of the record
	Tries   *fleet.Tries
	Forbid  bool // it is never to be reset by the crew
}

// Trips are the devices of a class that can trip, as they stand on a unit (nil: the
// class): those that the crew must never reset first, then in the order of the record.
func Trips(c *fleet.Class, u *fleet.Unit) []Trip {
	var out []Trip
	for _, d := range c.Devices {
		if d.Tries == nil || len(d.Positions) < 2 || !slices.Contains([]string{"trip", "relay", "breaker", "fuse", "valve"}, d.Kind) {
			continue
		}
		t := Trip{At: at(c, u, d, d.Normal), Tries: d.Tries, Forbid: d.Tries.Forbids()}
		for k := range d.Positions {
			if p := &d.Positions[k]; p.ID == d.Normal {
				t.Set = p
			} else {
				t.Tripped = append(t.Tripped, p)
			}
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b Trip) int {
		switch {
		case a.Forbid == b.Forbid:
			return 0
		case a.Forbid:
			return -1
		}
		return 1
	})
	return out
}
