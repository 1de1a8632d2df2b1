package logbook

import (
	"strings"

	"headstock/fleet"
)

// LimitOf is the limit that a class record's checks set for a row of readings: a check at
// the same device, or else at one of the same function, that is called by the measure's
// name ("piston travel", "piston travel of bogie 1"). The check is nil where none is; the
// limit is nil where the check's words are more than figures.
func LimitOf(c *fleet.Class, k Key) (*fleet.Check, *Limit) {
	function := func(id string) string {
		if d, ok := c.Device(id); ok {
			return d.Function
		}
		return ""
	}
	name := strings.ToLower(k.What)
	var found *fleet.Check
	for i := range c.Checks {
		x := &c.Checks[i]
		if what := strings.ToLower(x.What); what != name && !strings.HasPrefix(what, name+" ") {
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
	if found == nil || !found.Limit.Figure() {
		return found, nil
	}
	return found, limitOf(found.Limit)
}

func limitOf(l fleet.Limit) *Limit {
	return &Limit{Measure: l.Kind.String(), Low: l.Low, High: l.High, HasLow: l.HasLow, HasHigh: l.HasHigh}
}

// LimitsAt are the checks at a device whose limit is one of figures, of the same kind of
// measure: what a reader may have meant where no check has the measure's name.
func LimitsAt(c *fleet.Class, device, measure string) []*fleet.Check {
	var out []*fleet.Check
	for i := range c.Checks {
		if x := &c.Checks[i]; device != "" && x.Device == device {
			if x.Limit.Figure() && x.Limit.Kind.String() == measure {
				out = append(out, x)
			}
		}
	}
	return out
}
