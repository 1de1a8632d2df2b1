package trial

import (
	"headstock/consist"
	"headstock/fleet"
	"headstock/rule"
)

// Charging is the beginning of every procedure on a train that is to brake: the automatic
// handle to release until the rear is charged, and then, one by one, the supply reservoirs
// of units hauled dead. The last step is "charge", and it alone reads.
func Charging(c *consist.Consist, r *rule.Rules) []Step {
	out := []Step{{ID: "charge", Say: "Automatic handle to release; wait for the train to charge", Do: []Act{{Who: "lead", Run: true}}, AtMost: r.V("charge-wait"),
		Until: &Until{Who: "last", Air: "brake-pipe", Above: r.V("rear"), Steady: 20}, For: 60, Read: true}}
	for _, v := range c.Vehicles {
		if v.Role != "hauled dead" {
			continue
		}
		if s := Supply(v.Class); s != "" {
			out[0].Read = false
			out[0].ID = "charge the train"
			out = append(out, Step{ID: "charge", Say: "Wait for the supply reservoir of " + v.Name() + " to charge from the brake pipe", AtMost: r.V("dead-wait"),
				Until: &Until{Who: v.Name(), Air: s, Above: r.V("dead-charged"), Steady: 200}, For: 30, Read: true})
		}
	}
	for i := range out[:len(out)-1] {
		out[i].Read = false
		out[i].ID = "charge the train"
	}
	return out
}

// Supply is the air element that supplies the relay of a class's brake cylinders, "" where
// the record has none.
func Supply(c *fleet.Class) string {
	cylinder := map[string]bool{}
	for _, e := range c.Air {
		if e.Kind == "cylinder" {
			cylinder[e.ID] = true
		}
	}
	for _, e := range c.Air {
		if e.Kind == "passage" && cylinder[e.Word("to")] {
			cylinder[e.Word("from")] = true
		}
	}
	for _, e := range c.Air {
		if e.Kind == "relay" && cylinder[e.Word("output")] {
			return e.Word("supply")
		}
	}
	return ""
}
