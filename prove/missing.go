package prove

import (
	"slices"

	"headstock/rule"
	"headstock/trial"
)

// Asked is a reading of the brake test that a rule bounds: without it nobody can say that
// the train was tested.
type Asked struct {
	Step   string `json:"step"`
	Unit   string `json:"unit"`
	Device string `json:"device"` // id
	Name   string `json:"name"`
}

// AskedOf counts the bounded readings of one step, and those that nobody entered.
type AskedOf struct {
	Step    string `json:"step"`
	Bounded int    `json:"bounded"`
	Missing int    `json:"missing"`
}

// Coverage is how much of a brake test a sheet of readings holds.
type Coverage struct {
	Bounded int       `json:"bounded"` // readings of the whole test that a rule bounds
	Missing []Asked   `json:"missing"` // of those, in the order of the test, nobody entered
	Steps   []AskedOf `json:"steps"`   // of every step with a bounded reading
}

// Complete reports whether every bounded reading was entered.
func (c Coverage) Complete() bool { return c.Bounded > 0 && len(c.Missing) == 0 }

// Bounded are the readings of the test that a rule bounds, in the order of the test: those
// with an allowed band, the pistons that must be in or out, and the brake pipe of the
// driving cab at both ends of the timed minute.
func (p *Proof) Bounded(r *rule.Rules) []trial.Reading {
	var out []trial.Reading
	if p.Test == nil {
		return nil
	}
	c := p.Test.Consist
	for _, rd := range p.Test.Readings {
		v := c.Vehicles[rd.Vehicle]
		d, ok := v.Class.Device(rd.Device)
		if !ok || rd.Fitted != "" {
			continue
		}
		timed := (rd.Step == StepCutOut || rd.Step == StepLeak) && rd.Vehicle == leadOf(c) && d.Function == "brake-pipe-gauge" && (d.Cab == 0 || v.Cab == 0 || d.Cab == v.Cab)
		if rd.Kind == "gauge" && !timed {
			if b, _ := p.Allowed(r, rd.Vehicle, d, rd.Step); b == nil {
				continue
			}
		}
		if rd.Kind != "gauge" && MustBe(rd.Kind, rd.Step) == "" {
			continue
		}
		out = append(out, rd)
	}
	return out
}

// Cover says which bounded readings are among those judged, and which nobody entered.
func (p *Proof) Cover(r *rule.Rules, js []Judged) Coverage {
	type at struct {
		step    string
		vehicle int
		device  string
	}
	entered := map[at]bool{}
	for _, j := range js {
		entered[at{j.Step, j.vehicle, j.ID}] = true
	}
	out := Coverage{Missing: []Asked{}, Steps: []AskedOf{}}
	for _, rd := range p.Bounded(r) {
		k := slices.IndexFunc(out.Steps, func(s AskedOf) bool { return s.Step == rd.Step })
		if k < 0 {
			k = len(out.Steps)
			out.Steps = append(out.Steps, AskedOf{Step: rd.Step})
		}
		out.Bounded++
		out.Steps[k].Bounded++
		if entered[at{rd.Step, rd.Vehicle, rd.Device}] {
			continue
		}
		out.Steps[k].Missing++
		v := p.Test.Consist.Vehicles[rd.Vehicle]
		d, _ := v.Class.Device(rd.Device)
		out.Missing = append(out.Missing, Asked{rd.Step, v.Name(), d.ID, d.Name})
	}
	return out
}
