package haul

import (
	"fmt"
	"math"

	"headstock/rigging"
)

// What whole trains were held against published stops: emergency from 30 km/h on the level,
// 9 to 28 braked wagons of composition blocks (cantone-ottati-2018, BRK-18 to BRK-21). Their
// fill times were settled with those stops in sight, so even there a distance is calibrated.
const (
	heldSpeed = 30 / 3.6 // m/s
	heldFew   = 9
	heldMany  = 28
)

// beyond says in which ways a stop lies outside what was held against published stops.
func (a *StopAnswer) beyond(t *Train, groups []Group) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if !a.Emergency {
		add("a full service application; emergency was held")
	}
	if a.Speed > heldSpeed+1e-6 {
		add("from %.3g km/h; up to %.3g km/h was held", a.Speed*3.6, heldSpeed*3.6)
	}
	if math.Abs(a.Falling) > 1e-6 {
		add("on a grade; the level was held")
	}
	if a.Rail != Dry {
		add("%s rail; dry was held", a.Rail)
	}
	n := 0
	for i := range t.Vehicles {
		if !t.Vehicles[i].Locomotive() && i < len(a.Vehicles) && a.Vehicles[i].Braked {
			n++
		}
	}
	if n < heldFew || n > heldMany {
		add("%d braked wagons; %d to %d were held", n, heldFew, heldMany)
	}
	seen := map[rigging.Material]bool{rigging.Composition: true}
	for i := range groups {
		if m := groups[i].Blocks.Material; !seen[m] {
			seen[m] = true
			add("%s blocks; composition was held", m)
		}
	}
	return out
}
