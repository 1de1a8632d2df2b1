package prove

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/rule"
)

// Lights are judged by how devices stand, as couplers and chocks are: no run of air can
// show them. The rules say what a headstock shows by its place in the train; the record
// says what each position of a light shows, and what must be alive for it. A record that is
// silent on its lights leaves the requirement not examined and says so: that it does not
// tell of lamps is no reason to call its brakes unproved. A light that the record says is
// wrong is broken, because whoever stands on the line goes by it.

// headstock is one end of one vehicle, and what the record says it shows.
type headstock struct {
	colours []string        // that it shows, each once
	by      []string        // lights that show them, "id=position"
	could   []*fleet.Device // lights of which some position shows something here
	dead    []string        // what stands so that a light that is switched on stays dark, "id=position"
	failed  []string        // lights that are switched on and are out of use, in words
	unsaid  []string        // what the record would have to say
}

func (j *judge) lights() {
	var rs, lacks []Reason
	told := map[string]bool{}
	for i, v := range j.c.Vehicles {
		silent := v.Class.LightsSilent()
		lit := slices.ContainsFunc(v.Class.Devices, func(d *fleet.Device) bool { return fleet.Light(d.Function) && d.Lit() })
		for _, end := range []int{v.Front(), v.Rear()} {
			at := rule.Between
			switch {
			case end == v.Front() && i == 0:
				at = rule.Front
			case end == v.Rear() && i == len(j.c.Vehicles)-1:
				at = rule.Rear
			}
			ask := j.r.Light(at)
			h := shows(j.c, i, end)
			wrong := slices.ContainsFunc(h.colours, func(x string) bool { return !slices.Contains(ask.Shows, x) })
			short := len(ask.Shows) > 0 && !slices.ContainsFunc(h.colours, func(x string) bool { return slices.Contains(ask.Shows, x) })
			unsaid := h.unsaid
			for _, d := range silent {
				unsaid = append(unsaid, "what "+d.Name+" shows in each position")
			}
			if !lit && len(silent) == 0 && short {
				unsaid = append(unsaid, fmt.Sprintf("a light at headstock %d and what it shows", end))
			}
			if !wrong && len(unsaid) > 0 {
				for _, what := range unsaid {
					if key := v.Class.Name + "\x00" + what; !told[key] {
						told[key] = true
						lacks = append(lacks, Reason{Kind: "record lacks", Vehicle: v.Name(), Element: what})
					}
				}
				continue
			}
			if !wrong && !short {
				continue
			}
			r := Reason{Kind: "wrong light", Vehicle: v.Name(), Element: fmt.Sprintf("headstock %d", end), At: at, Shows: fleet.Dark, Should: ask.Asks(), Devices: h.by}
			if len(h.colours) > 0 {
				r.Shows = strings.Join(h.colours, " and ")
			}
			var where *fleet.Device
			if wrong {
				id, _, _ := strings.Cut(h.by[0], "=")
				where, _ = v.Class.Device(id)
			} else {
				for _, d := range h.could {
					p, _ := j.c.Position(i, d.ID)
					r.Devices = appendNew(r.Devices, d.ID+"="+p)
				}
				if len(h.could) > 0 {
					where = h.could[0]
				}
				r.Devices = append(r.Devices, h.dead...)
				r.Because = strings.Join(h.failed, "; ")
			}
			if where != nil {
				r.CrewSeesAt = v.Class.PlaceName(where.Place)
			}
			rs = append(rs, r)
		}
	}
	f := Finding{Requirement: "lights", Stage: "ready", Status: status(rs), Reasons: rs}
	if len(rs) == 0 && len(lacks) > 0 {
		f.Status, f.Reasons = NotExamined, lacks
	}
	var cites []string
	for _, at := range []string{rule.Front, rule.Rear, rule.Between} {
		cites = appendNew(cites, j.r.Light(at).Cite())
	}
	f.Rule = strings.Join(cites, "; ")
	j.add(f)
}

// shows is what a headstock shows as the devices of its vehicle stand.
func shows(c *consist.Consist, i, end int) headstock {
	var h headstock
	v := c.Vehicles[i]
	for _, d := range v.Class.Devices {
		if !fleet.Light(d.Function) || !d.Lit() || !v.Unit.Carries(v.Class, d) || d.Fitted == "no" {
			continue
		}
		if slices.ContainsFunc(d.Positions, func(p fleet.Position) bool { return len(colours(c, i, end, d, p)) > 0 }) {
			if d.Function == "light-setting" { // what sets the lamps is looked at before each lamp
				h.could = slices.Insert(h.could, 0, d)
			} else {
				h.could = append(h.could, d)
			}
		}
		at, _ := c.Position(i, d.ID)
		p, ok := d.Position(at)
		if !ok {
			h.unsaid = append(h.unsaid, fmt.Sprintf("what %s shows when it stands %s", d.Name, at))
			continue
		}
		shown := colours(c, i, end, d, *p)
		if len(shown) == 0 {
			continue
		}
		if why := burnt(v, d); why != "" {
			h.failed = append(h.failed, why)
			continue
		}
		alive, off := fed(c, i, d)
		switch {
		case alive == "":
		case off:
			h.dead = appendNew(h.dead, alive)
			continue
		default:
			h.unsaid = append(h.unsaid, fmt.Sprintf("whether %s lets current through", alive))
			continue
		}
		for _, x := range shown {
			if why := sets(c, i, end, d, x); why != "" {
				h.failed = append(h.failed, why)
				continue
			}
			h.colours = appendNew(h.colours, x)
			h.by = appendNew(h.by, d.ID+"="+at)
		}
	}
	return h
}

// colours are what a position of a light shows at a headstock, if it is fed and burns.
func colours(c *consist.Consist, i, end int, d *fleet.Device, p fleet.Position) []string {
	v := c.Vehicles[i]
	var out []string
	for _, s := range p.Shows {
		here := false
		switch s.Where {
		case "":
			here = d.End == end
		case "at both ends":
			here = true
		case "at end 1", "at end 2":
			here = s.Where == fmt.Sprintf("at end %d", end)
		case "ahead":
			here = toward(c, i) == end
		case "behind":
			here = toward(c, i) == 3-end
		case "where not coupled":
			here = end == v.Front() && i == 0 || end == v.Rear() && i == len(c.Vehicles)-1
		case "at the front":
			here = end == v.Front()
		case "at the rear":
			here = end == v.Rear()
		}
		if here {
			out = append(out, s.Colour...)
		}
	}
	return out
}

// toward is the headstock to which the reverser of a unit leads; 0 when it leads to none.
func toward(c *consist.Consist, i int) int {
	for _, d := range c.Devices(i, "reverser") {
		at, _ := c.Position(i, d.ID)
		if p, ok := d.Position(at); ok && p.Toward != 0 {
			return p.Toward
		}
	}
	return 0
}

// burnt says why a lamp that is switched on shows nothing: the unit's own entry says that
// it is out of use, blanked or taken off; "" when it does not. An open defect is no word on
// how a device stands: what a failed lamp bars is a rule of fitness.
func burnt(v *consist.Vehicle, d *fleet.Device) string {
	how, o := v.Unit.Fitted(d)
	switch {
	case how == "yes":
		return ""
	case o != nil:
		return fmt.Sprintf("%s is %s since %s, %s", d.Name, how, o.Date, o.Reason)
	}
	return d.Name + " is " + how
}

// sets says why a switch that sets other lamps shows nothing of a colour at a headstock:
// each of them there that could show it is out of use. "" when one burns, or the record names
// none.
func sets(c *consist.Consist, i, end int, d *fleet.Device, colour string) string {
	why := ""
	for _, id := range d.ActsOn {
		lamp, ok := c.Vehicles[i].Class.Device(id)
		if !ok || !slices.ContainsFunc(lamp.Positions, func(p fleet.Position) bool { return slices.Contains(colours(c, i, end, lamp, p), colour) }) {
			continue
		}
		if why = burnt(c.Vehicles[i], lamp); why == "" {
			return ""
		}
	}
	return why
}

// fed follows what a light is driven by: "" when all of it lets current through, else the
// first that does not, "id=position", and whether the record's words are those of one that
// stands off. What is driven by plain words, or by something without positions, is taken to
// be alive.
func fed(c *consist.Consist, i int, d *fleet.Device) (at string, off bool) {
	seen := map[string]bool{}
	for id := d.DrivenBy; !seen[id]; {
		x, ok := c.Vehicles[i].Class.Device(id)
		if !ok {
			return "", false
		}
		seen[id] = true
		if len(x.Positions) > 0 {
			p, _ := c.Position(i, id)
			if slices.Contains([]string{"open", "off", "out", "tripped", "blown", "isolated"}, p) {
				return id + "=" + p, true
			}
			if !slices.Contains([]string{"closed", "on", "in", "whole"}, p) {
				return id + "=" + p, false
			}
		}
		id = x.DrivenBy
	}
	return "", false
}

// lightsRest reports whether what a vehicle shows can hang on where a device stands.
func lightsRest(v *consist.Vehicle, d *fleet.Device) bool {
	if fleet.Light(d.Function) {
		return d.Lit()
	}
	if d.Function == "reverser" {
		return slices.ContainsFunc(d.Positions, func(p fleet.Position) bool { return p.Toward != 0 })
	}
	for _, x := range v.Class.Devices {
		if !fleet.Light(x.Function) || !x.Lit() {
			continue
		}
		seen := map[string]bool{}
		for id := x.DrivenBy; id != "" && !seen[id]; {
			if id == d.ID {
				return true
			}
			seen[id] = true
			next, ok := v.Class.Device(id)
			if !ok {
				break
			}
			id = next.DrivenBy
		}
	}
	return false
}
