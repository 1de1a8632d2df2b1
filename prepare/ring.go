package prepare

import (
	"headstock/circuit"
	"headstock/consist"
	"headstock/fleet"
)

// Ringer is a device of a unit that rings its alarm bell when it stands so.
type Ringer struct {
	Device    *fleet.Device
	Positions []*fleet.Position
}

// Ringing is what rings the alarm bell of a unit.
type Ringing struct {
	Bells   []*fleet.Device
	Running bool // found with the engine running and loaded, else at rest
	Always  bool // it rings as the unit stands, so nothing could be found
	By      []Ringer
	Runs    int
}

// Rings finds what rings the alarm bells of a vehicle: its engine is started as the record
// says, and then each device that the circuits know is put to each of its other positions,
// one at a time, and the bell listened for. An error is a *consist.CannotSay.
func Rings(c *consist.Consist, vehicle int) (*Ringing, error) {
	v := c.Vehicles[vehicle]
	if len(v.Class.Circuits) == 0 {
		return nil, &consist.CannotSay{Class: v.Class.Name, What: "what rings the bell of " + v.Name(), Needs: "circuits in the record of class " + v.Class.Name}
	}
	out := &Ringing{}
	b := newStarter(c, vehicle)
	var bells []circuit.Thing
	for _, x := range b.wiring.Parts {
		d, ok := v.Class.Device(x.Part.Text("device"))
		if !ok || d.Function != "alarm-bell" {
			continue
		}
		bells = append(bells, x.Thing)
		out.Bells = append(out.Bells, d)
	}
	if len(bells) == 0 {
		return nil, &consist.CannotSay{Class: v.Class.Name, What: "what rings the bell of " + v.Name(), Needs: "an alarm bell in the circuits of class " + v.Class.Name}
	}
	if len(v.Class.Starts) > 0 {
		b.start = v.Class.Starts[0]
	}
	b.stand()
	var base *circuit.State
	if b.start != nil {
		r := b.run(b.now)
		base, out.Running = r.state, r.got == len(r.stages)
	} else {
		base = b.begin(b.now)
	}
	out.Runs++
	rings := func(s *circuit.State) bool {
		for _, t := range bells {
			if s.Stands(t, circuit.Worked) == circuit.Yes {
				return true
			}
		}
		return false
	}
	if out.Always = rings(base); out.Always {
		return out, nil
	}
	for _, x := range b.wiring.Devices {
		from, known := base.At(x.Thing)
		if !known {
			continue
		}
		r := Ringer{Device: x.Device}
		for q := range x.Device.Positions {
			if q == from {
				continue
			}
			out.Runs++
			s := base.Clone()
			s.Put(x.Thing, q)
			s.Settle()
			heard := rings(s)
			for n := 0; !heard && n < steps && s.Step(base.Now+settled); n++ {
				heard = rings(s)
			}
			if heard {
				r.Positions = append(r.Positions, &x.Device.Positions[q])
			}
		}
		if len(r.Positions) > 0 {
			out.By = append(out.By, r)
		}
	}
	return out, nil
}

// Crosses is the wire of the control jumper that carries something, nil where none does.
func Crosses(c *fleet.Class, what string) *fleet.Element {
	for _, e := range c.PartsOf("trainline") {
		if e.Text("carries") == what {
			return e
		}
	}
	return nil
}
