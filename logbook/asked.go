package logbook

import (
	"strings"

	"headstock/fleet"
)

// LimitOf is the limit that a class record's checks set for a row of readings: a check of
// the same measure at the same device, or else at a device of the same function. The check
// is nil where none is; the limit is nil where the check's words are no figures.
func LimitOf(c *fleet.Class, k Key) (*fleet.Check, *Limit) {
	function := func(id string) string {
		if d, ok := c.Device(id); ok {
			return d.Function
		}
		return ""
	}
	var found *fleet.Check
	for i := range c.Checks {
		x := &c.Checks[i]
		if !strings.EqualFold(x.What, k.What) {
			continue
		}
		if x.Device == k.Device {
			found = x
			break
		}
		if f := function(x.Device); found == nil && f != "" && f == function(k.Device) {
			found = x
		}
	}
	if found == nil {
		return nil, nil
	}
	l, err := ParseLimit(found.Limit)
	if err != nil {
		return found, nil
	}
	return found, &l
}
