package setup

import (
	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

// Neighbourly are the devices of a locomotive whose claimed position hangs on what stands
// next to it, in the order of the record: those that another variant of the same role puts
// elsewhere, and those that go with one of them. End cocks and hoses are claimed by the
// joint and are not among them.
func Neighbourly(c *consist.Consist, vehicle int) []*fleet.Device {
	v := c.Vehicles[vehicle]
	own := c.Role(vehicle)
	if own == nil || !v.Locomotive() {
		return nil
	}
	claim := func(r *fleet.Role, d *fleet.Device) string {
		for _, cl := range r.Positions {
			if cl.Device == d.ID {
				return cl.Position
			}
		}
		return d.Normal
	}
	hangs := map[string]bool{}
	for _, d := range v.Class.Devices {
		for _, r := range v.Class.Roles {
			if r.Name == own.Name && r.Variant != own.Variant && claim(r, d) != claim(own, d) {
				hangs[d.ID] = true
			}
		}
	}
	for _, d := range v.Class.Devices {
		for _, id := range d.GoesWith {
			if hangs[d.ID] || hangs[id] {
				hangs[d.ID], hangs[id] = true, true
			}
		}
	}
	var out []*fleet.Device
	for _, d := range v.Class.Devices {
		if hangs[d.ID] && !d.MustNotMove && v.Unit.Carries(v.Class, d) {
			out = append(out, d)
		}
	}
	return out
}

// Slip is one device of the coupling left otherwise than claimed, and what the brake test
// shows of it.
type Slip struct {
	Change consist.Change `json:"-"`
	Unit   string         `json:"unit"`
	Device string         `json:"device"`
	ID     string         `json:"id"`
	Place  string         `json:"place"`
	Was    string         `json:"was"`
	To     string         `json:"to"`
	Seen   []Seen         `json:"seen,omitempty"`
}

// Sign is a reading of the brake test and the slips that it tells of, by their index.
type Sign struct {
	Seen
	Slips []int `json:"slips"`
}

// Telling is the step of the brake test that tells of most slips, with what has to be looked
// at there to see all that it tells.
type Telling struct {
	Step  string `json:"step"`
	Slips []int  `json:"slips"`
	Looks []Sign `json:"looks"`
}

// Slips is every slip at the coupling, and the step that tells of most of them.
type Slips struct {
	Slips []Slip   `json:"slips"`
	Best  *Telling `json:"best,omitempty"` // nil where no step tells of any
	Runs  int      `json:"runs"`
}

// AtCoupling runs the brake test once for each slip at the joints of the locomotives: an
// end cock of a coupled pipe left shut, and a device that hangs on the neighbour left in
// each other position, with everything else as it stands. It needs a proof with a brake
// test; without one there are no slips to run. An error is a run that could not be made.
func AtCoupling(p *prove.Proof, r *rule.Rules, cond trial.Conditions) (*Slips, error) {
	out := &Slips{}
	if p.Test == nil {
		return out, nil
	}
	c := p.Consist
	var changes []consist.Change
	for i, v := range c.Vehicles {
		if !v.Locomotive() || len(c.Vehicles) < 2 {
			continue
		}
		for _, d := range Neighbourly(c, i) {
			at, _ := c.Position(i, d.ID)
			for _, pos := range d.Positions {
				if pos.ID != at {
					changes = append(changes, consist.Change{Vehicle: i, Device: d.ID, Position: pos.ID})
				}
			}
		}
	}
	for _, j := range c.Joints {
		if !c.Vehicles[j.Index].Locomotive() && !c.Vehicles[j.Index+1].Locomotive() {
			continue
		}
		for _, x := range j.Pipes {
			if !x.Coupled {
				continue
			}
			for side := range 2 {
				i, end := c.Side(j.Index, side)
				for _, pe := range c.Vehicles[i].Class.Ends[end-1].Pipes {
					if at, _ := c.Position(i, pe.Cock); pe.Pipe == x.Pipe && at == "open" {
						changes = append(changes, consist.Change{Vehicle: i, Device: pe.Cock, Position: "closed"})
					}
				}
			}
		}
	}
	bench, err := trial.NewBench(c, cond)
	if err != nil {
		return nil, err
	}
	test := prove.StandingTest(c, r)
	for _, ch := range changes {
		v := c.Vehicles[ch.Vehicle]
		d, ok := v.Class.Device(ch.Device)
		if !ok || d.MustNotMove {
			continue
		}
		with, err := c.With(ch)
		if err != nil {
			return nil, err
		}
		res, err := bench.Run(with, test, nil)
		if err != nil {
			return nil, err
		}
		out.Runs++
		was, _ := c.Position(ch.Vehicle, ch.Device)
		out.Slips = append(out.Slips, Slip{Change: ch, Unit: v.Name(), Device: d.Name, ID: d.ID, Place: v.Class.PlaceName(d.Place), Was: was, To: ch.Position, Seen: differ(c, p.Test, res, "")})
	}
	out.Best = best(out.Slips, test)
	return out, nil
}

// best is the step that tells of most slips, of equals the first of the test. What is
// looked at there is chosen one by one: each time what tells of most that is left, of equals
// the first of the consist.
func best(slips []Slip, test trial.Procedure) *Telling {
	var out *Telling
	for _, step := range test.Steps {
		type key struct{ unit, device, place string }
		tells := map[key]*Sign{}
		var order []key
		left := map[int]bool{}
		for i, s := range slips {
			for _, x := range s.Seen {
				if x.Step != step.ID {
					continue
				}
				k := key{x.Unit, x.Device, x.Place}
				if tells[k] == nil {
					tells[k] = &Sign{Seen: x}
					order = append(order, k)
				}
				tells[k].Slips = append(tells[k].Slips, i)
				left[i] = true
			}
		}
		if len(left) == 0 || out != nil && len(left) <= len(out.Slips) {
			continue
		}
		t := &Telling{Step: step.ID}
		for i := range slips {
			if left[i] {
				t.Slips = append(t.Slips, i)
			}
		}
		for len(left) > 0 {
			var most *Sign
			told := 0
			for _, k := range order {
				n := 0
				for _, i := range tells[k].Slips {
					if left[i] {
						n++
					}
				}
				if n > told {
					most, told = tells[k], n
				}
			}
			t.Looks = append(t.Looks, *most)
			for _, i := range most.Slips {
				delete(left, i)
			}
		}
		out = t
	}
	return out
}
