// Package fault lists what can be wrong: wrong settings, as changes to a consist. It
// counts them; it does not run them.
//
// Incomplete: component failures come with the search.
package fault

import (
	"headstock/consist"
)

// Setting is one device of one unit standing where it should not.
type Setting struct {
	Change consist.Change
	Claim  string // where the claim puts it
}

// Settings are every single wrong setting of every settable device of every unit: each
// device at each of its other positions. A device that is blanked, out of use or not
// fitted is left out, because nothing it does reaches the air.
func Settings(c *consist.Consist) []Setting {
	var out []Setting
	for i, v := range c.Vehicles {
		for _, d := range v.Class.Devices {
			if !v.Unit.Carries(v.Class, d) {
				continue
			}
			if how, _ := v.Unit.Fitted(d); how != "yes" {
				continue
			}
			at, ok := c.Position(i, d.ID)
			if !ok {
				continue
			}
			for _, p := range d.Positions {
				if p.ID != at {
					out = append(out, Setting{consist.Change{Vehicle: i, Device: d.ID, Position: p.ID}, at})
				}
			}
		}
	}
	return out
}
