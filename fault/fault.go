// Package fault lists what can be wrong: wrong settings, as changes to a consist, pairs of
// them, and parts that have failed. It counts them; it does not run them.
//
// Incomplete: parts fail in the built-in modes only, and what fails in circuits and rigging
// is not listed.
package fault

import (
	"fmt"

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

// Key names a wrong setting, the same every time: "Kite 11.changeover=copy".
func Key(c *consist.Consist, ch consist.Change) string {
	return fmt.Sprintf("%s.%s=%s", c.Vehicles[ch.Vehicle].Name(), ch.Device, ch.Position)
}

// Pairs are every two wrong settings of different devices, as indices into the settings,
// the first the lower; it counts them when f is nil. f ends the walk by false.
func Pairs(settings []Setting, f func(a, b int) bool) int {
	n := 0
	for a := range settings {
		for b := a + 1; b < len(settings); b++ {
			x, y := settings[a].Change, settings[b].Change
			if x.Vehicle == y.Vehicle && x.Device == y.Device {
				continue
			}
			n++
			if f != nil && !f(a, b) {
				return n
			}
		}
	}
	return n
}
