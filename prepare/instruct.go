package prepare

import (
	"slices"

	"headstock/fleet"
)

// Step is one instruction of a procedure as it stands for one unit.
type Step struct {
	Kind     string // do, look, read, say
	At       []At   // the devices of do, look and read
	Say      string
	Shows    string
	Hold     float64 // s; 0 none
	AtMost   float64 // s; 0 none
	IfNot    string
	Who      string // "" is the driver
	Cautions []string
}

// At is one device of a step: where it is and how it looks there.
type At struct {
	Device   *fleet.Device
	Place    string
	Position string // "" for a device that is read
	Looks    string
	State    string // what is other on this unit today; "" when nothing is
	Unfit    bool   // blanked, out of use or not fitted on this unit: the step cannot be done with it
}

// Instruct resolves a procedure of a class for a unit, or for the class itself where the
// unit is nil: each device's place, its looks, the cautions it carries and what stands
// otherwise on this unit today.
func Instruct(c *fleet.Class, u *fleet.Unit, p *fleet.Instructions) []Step {
	var out []Step
	for _, s := range p.Steps {
		x := Step{Say: s.Say, Shows: s.Shows, IfNot: s.IfNot, Who: s.Who}
		if s.Hold != nil {
			x.Hold = s.Hold.SI
		}
		if s.AtMost != nil {
			x.AtMost = s.AtMost.SI
		}
		add := func(device, position string) {
			d, ok := c.Device(device)
			if !ok {
				return
			}
			x.At = append(x.At, at(c, u, d, position))
			for _, caution := range d.Cautions {
				if !slices.Contains(x.Cautions, caution) {
					x.Cautions = append(x.Cautions, caution)
				}
			}
		}
		switch {
		case len(s.Do) > 0:
			x.Kind = "do"
			for _, cl := range s.Do {
				add(cl.Device, cl.Position)
			}
		case len(s.Look) > 0:
			x.Kind = "look"
			for _, cl := range s.Look {
				add(cl.Device, cl.Position)
			}
		case s.Read != "":
			x.Kind = "read"
			add(s.Read, "")
		default:
			x.Kind = "say"
		}
		if x.Kind != "do" { // a device's cautions are of its working, not of a look at it
			x.Cautions = nil
		}
		x.Cautions = append(append([]string(nil), s.Cautions...), x.Cautions...)
		out = append(out, x)
	}
	return out
}

func at(c *fleet.Class, u *fleet.Unit, d *fleet.Device, position string) At {
	a := At{Device: d, Position: position, Place: c.PlaceName(d.Place)}
	if p, ok := d.Position(position); ok {
		a.Looks = p.Looks
	}
	if u == nil {
		return a
	}
	for _, o := range slices.Backward(u.Today(d.ID)) { // the unit's own word comes first, and stays
		a.State = o.Property + " " + o.Value + " since " + o.Date + ": " + o.Reason
		if o.Property == "looks" {
			a.Looks = o.Value
		}
	}
	how, _ := u.Fitted(d)
	a.Unfit = how != "yes" || !u.Carries(c, d)
	return a
}
