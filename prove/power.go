package prove

import (
	"fmt"
	"slices"

	"headstock/circuit"
	"headstock/consist"
	"headstock/fleet"
)

// Whether power and direction come from one place is looked at in three states of the
// circuits of all units, joined as their jumpers join them. The lead's cab at rest: no
// wire of throttle or direction may be live. The lead's cab taking load as its record's
// start does: every trailing unit must have the throttle, and the direction that is the
// lead's along the track, and no other. The lead's cab dead: no throttle or reverser
// anywhere else may give anything. What is wrong is traced by putting back, one by one,
// each device that stands otherwise than claimed.

// board is the circuits of a consist's locomotives on their jumpers.
type board struct {
	c       *consist.Consist
	lead    int
	diagram circuit.Diagram
	wiring  []*fleet.Wiring // by vehicle; nil where nothing is joined
	claimed *consist.Consist
}

// of is the same board with the devices of another consist of the same units.
func (b *board) of(c *consist.Consist) *board {
	n := *b
	n.c = c
	return &n
}

// commands are the wires that make a unit pull.
var commands = []string{"throttle", "direction 1", "direction 2"}

func (j *judge) power() error {
	f := Finding{Requirement: "power-and-direction", Stage: "ready", Status: Met, Rule: "common practice"}
	lead := j.c.Vehicles[j.lead]
	if !lead.Class.Multiple && lead.Class.Cabs < 2 {
		f.Status = NotApplies
		j.add(f)
		return nil
	}
	for _, v := range j.c.Vehicles {
		if joined(v) && (len(v.Class.PartsOf("trainline")) == 0 || loads(v.Class) == nil) {
			f.Status, f.Reasons = NotExamined, []Reason{{Kind: "needs circuits", Vehicle: v.Name()}}
			j.add(f)
			return nil
		}
	}
	b := j.board
	if b == nil {
		var err error
		if b, err = newBoard(j.c, j.lead); err != nil {
			return err
		}
	} else {
		b = b.of(j.c)
	}
	f.Reasons = b.judge(j.c, nil)
	if len(f.Reasons) > 0 {
		f.Status = Broken
		b.trace(f.Reasons)
		if !slices.ContainsFunc(f.Reasons, func(r Reason) bool { return r.Kind != "record lacks" }) {
			f.Status = CannotSay
		}
	}
	j.add(f)
	return nil
}

// joined says whether the jumper reaches a vehicle.
func joined(v *consist.Vehicle) bool {
	return v.Locomotive() && slices.Contains([]string{"lead", "alone", "trail", "trail shut down"}, v.Role)
}

// loads is the step of a class's start in which it takes load.
func loads(c *fleet.Class) *fleet.StartStep {
	for _, s := range c.Starts {
		for i := range s.Steps {
			if s.Steps[i].Stage == "loads" {
				return &s.Steps[i]
			}
		}
	}
	return nil
}

func newBoard(c *consist.Consist, lead int) (*board, error) {
	b := &board{c: c, lead: lead, wiring: make([]*fleet.Wiring, len(c.Vehicles))}
	var err error
	if b.claimed, err = c.Claimed(); err != nil {
		return nil, err
	}
	for i, v := range c.Vehicles {
		if joined(v) {
			b.wiring[i] = v.Class.Wire(&b.diagram, v.Unit, fmt.Sprintf("%d/", i))
		}
	}
	for i := range len(c.Vehicles) - 1 {
		_, lines, _ := c.Jumper(i)
		for _, l := range lines {
			if l.Crosses {
				b.diagram.Contact("jumper", b.wiring[i].Net(&b.diagram, l.Front.Text("net")), b.wiring[i+1].Net(&b.diagram, l.Rear.Text("net")), nil)
			}
		}
	}
	return b, nil
}

// back is one device put back to its claim, to see what that changes.
type back struct {
	vehicle int
	device  string
}

// state is the circuits with every device where the consist has it; in the lead's cab,
// cab says where a device stands, or "" where the consist has it.
func (b *board) state(c *consist.Consist, put *back, cab func(d *fleet.Device, claimed string) string) *circuit.State {
	s := b.diagram.State()
	for i, w := range b.wiring {
		if w == nil {
			continue
		}
		v := c.Vehicles[i]
		for _, x := range w.Devices {
			at, _ := c.Position(i, x.Device.ID)
			claim, _ := b.claimed.Position(i, x.Device.ID)
			if put != nil && put.vehicle == i && put.device == x.Device.ID {
				at = claim
			}
			if i == b.lead && x.Device.Cab == v.Cab {
				if p := cab(x.Device, claim); p != "" {
					at = p
				}
			}
			move(s, x, at)
		}
	}
	s.Dead()
	s.Settle()
	for s.Step(5) {
	}
	return s
}

func move(s *circuit.State, x fleet.WiredDevice, to string) {
	s.Put(x.Thing, slices.IndexFunc(x.Device.Positions, func(p fleet.Position) bool { return p.ID == to }))
}

// fed says whether a command is live on a vehicle; No where it has no such wire.
func (b *board) fed(s *circuit.State, i int, carries string) circuit.Truth {
	for _, e := range b.c.Vehicles[i].Class.PartsOf("trainline") {
		if e.Text("carries") == carries {
			return s.Fed(b.wiring[i].Net(&b.diagram, e.Text("net")))
		}
	}
	return circuit.No
}

// judge looks at the three states, with one device put back if put is not nil.
func (b *board) judge(c *consist.Consist, put *back) []Reason {
	var rs []Reason
	unknown := func(i int) {
		r := Reason{Kind: "record lacks", Vehicle: c.Vehicles[i].Name(), Element: "where every switch of its control circuits stands"}
		if !slices.ContainsFunc(rs, func(o Reason) bool { return o.Kind == r.Kind && o.Vehicle == r.Vehicle }) {
			rs = append(rs, r)
		}
	}
	step := loads(c.Vehicles[b.lead].Class)
	// the handles that take load stand as claimed; everything else in the cab as it is found
	handles := func(d *fleet.Device, claim string) string {
		if slices.ContainsFunc(step.Move.ThisCab, func(cl fleet.Claim) bool { return cl.Device == d.Function }) {
			return claim
		}
		return ""
	}
	// at rest
	rest := b.state(c, put, handles)
	for i, w := range b.wiring {
		for _, what := range commands {
			if w == nil {
				continue
			}
			switch b.fed(rest, i, what) {
			case circuit.Yes:
				rs = append(rs, Reason{Kind: "power at rest", Vehicle: c.Vehicles[i].Name(), Element: what})
			case circuit.Unknown:
				unknown(i)
			}
		}
	}
	// taking load
	s := b.state(c, put, handles)
	lead := c.Vehicles[b.lead]
	for _, x := range b.wiring[b.lead].Devices {
		for _, cl := range step.Move.Positions {
			if cl.Device == x.Device.ID {
				move(s, x, cl.Position)
			}
		}
		for _, cl := range step.Move.ThisCab {
			if cl.Device == x.Device.Function && x.Device.Cab == lead.Cab {
				move(s, x, cl.Position)
			}
		}
	}
	s.Settle()
	for until := s.Now + 5; s.Step(until); {
	}
	forward := 0 // the headstock the lead is told to pull toward is its front: 1, its rear: −1
	for _, n := range []int{1, 2} {
		if b.fed(s, b.lead, direction(n)) == circuit.Yes {
			forward += map[bool]int{true: 1, false: -1}[lead.Front() == n]
		}
	}
	for i, v := range c.Vehicles {
		if b.wiring[i] == nil || v.Role == "trail shut down" {
			continue
		}
		if t := b.fed(s, i, "throttle"); t == circuit.No {
			rs = append(rs, Reason{Kind: "no command", Vehicle: v.Name(), Element: "throttle"})
		} else if t == circuit.Unknown {
			unknown(i)
		}
		front, rear := b.fed(s, i, direction(v.Front())), b.fed(s, i, direction(v.Rear()))
		switch {
		case front == circuit.Unknown || rear == circuit.Unknown:
			unknown(i)
		case front == circuit.Yes && rear == circuit.Yes:
			rs = append(rs, Reason{Kind: "two directions", Vehicle: v.Name()})
		case front == circuit.No && rear == circuit.No:
			rs = append(rs, Reason{Kind: "no command", Vehicle: v.Name(), Element: "direction"})
		case forward != 0 && (front == circuit.Yes) != (forward > 0):
			rs = append(rs, Reason{Kind: "pulls against", Vehicle: v.Name()})
		}
	}
	// the lead's cab dead: its switches as when nobody drives
	dead := b.state(c, put, func(d *fleet.Device, _ string) string { return d.Normal })
	for i, w := range b.wiring {
		if w == nil {
			continue
		}
		for _, x := range w.Devices {
			if x.Device.Function != "throttle" && x.Device.Function != "reverser" || i == b.lead && x.Device.Cab == lead.Cab {
				continue
			}
			alive := false
			for _, p := range x.Device.Positions {
				t := dead.Clone()
				move(t, x, p.ID)
				t.Settle()
				for _, what := range commands {
					alive = alive || b.fed(t, i, what) == circuit.Yes
				}
			}
			if alive {
				rs = append(rs, Reason{Kind: "second place", Vehicle: c.Vehicles[i].Name(), Element: x.Device.Name})
			}
		}
	}
	return rs
}

func direction(headstock int) string { return fmt.Sprintf("direction %d", headstock) }

// trace names, under each reason, the devices that stand otherwise than claimed and
// without which it is gone.
func (b *board) trace(rs []Reason) {
	for i, w := range b.wiring {
		if w == nil {
			continue
		}
		for _, x := range w.Devices {
			at, _ := b.c.Position(i, x.Device.ID)
			if claim, _ := b.claimed.Position(i, x.Device.ID); at == claim {
				continue
			}
			left := b.judge(b.c, &back{i, x.Device.ID})
			for k := range rs {
				if !slices.ContainsFunc(left, func(r Reason) bool {
					return r.Kind == rs[k].Kind && r.Vehicle == rs[k].Vehicle && r.Element == rs[k].Element
				}) {
					rs[k].Devices = append(rs[k].Devices, fmt.Sprintf("%s.%s=%s", b.c.Vehicles[i].Name(), x.Device.ID, at))
				}
			}
		}
	}
}
