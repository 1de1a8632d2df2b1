package prove_test

import (
	"testing"

	"headstock/consist"
	"headstock/prove"
	"headstock/trial"
)

// same reports whether two runs of the test read the same to the last bit.
func same(t *testing.T, what string, a, b *prove.Proof) {
	t.Helper()
	if len(a.Test.Readings) != len(b.Test.Readings) || a.Test.Steps != b.Test.Steps || a.Test.Seconds != b.Test.Seconds {
		t.Errorf("%s: %d readings, %d steps, %g s; %d, %d, %g", what, len(a.Test.Readings), a.Test.Steps, a.Test.Seconds, len(b.Test.Readings), b.Test.Steps, b.Test.Seconds)
		return
	}
	for k, x := range a.Test.Readings {
		if x != b.Test.Readings[k] {
			t.Errorf("%s: %+v and %+v", what, x, b.Test.Readings[k])
			return
		}
	}
	for k, f := range a.Findings {
		g := b.Findings[k]
		if f.Requirement != g.Requirement || f.Status != g.Status || len(f.Reasons) != len(g.Reasons) {
			t.Errorf("%s: %+v and %+v", what, f, g)
		}
	}
}

// What is held against a proof that is kept is what a run from the empty train gives: the
// same readings to the last bit, and the same findings.
func TestHeldIsProved(t *testing.T) {
	f, r := railway(t)
	for _, text := range []string{"Tern 3 lead, Kite 11 trail, HX", "Kite 11 lead, Tern 4 hauled dead"} {
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		h, err := prove.Hold(c, r, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"Kite 11.changeover=copy", "Kite 11.bogie-1-cock=closed", "lead.automatic-cut-out=out", "lead.battery-switch=open", "Kite 11.brake-pipe-cock-2=open"} {
			ch, err := c.ParseChange(name)
			if err != nil {
				continue // not on this lead
			}
			with, err := c.With(ch)
			if err != nil {
				t.Fatal(err)
			}
			a, err := prove.Prove(with, r, trial.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			b, err := h.Set(ch)
			if err != nil {
				t.Fatal(err)
			}
			same(t, text+": "+name, a, b)
			for _, after := range []string{prove.StepCharge, prove.StepService} {
				a, err := prove.Moved(c, ch, after, r, trial.Conditions{})
				if err != nil {
					t.Fatal(err)
				}
				b, err := h.Moved(after, ch)
				if err != nil {
					t.Fatal(err)
				}
				same(t, text+": "+name+" moved after "+after, a, b)
			}
		}
	}
}

// A plant in which a part has failed goes on from a run of the sound one as that run would:
// with what has failed put right again by figures, nothing differs.
func TestFailedGoesOn(t *testing.T) {
	f, r := railway(t)
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail, HX")
	if err != nil {
		t.Fatal(err)
	}
	h, err := prove.Hold(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []struct {
		failure consist.Failure
		breaks  string
	}{
		// hazards of a workshop: common practice
		{consist.Failure{Vehicle: 1, Part: "bogie-1-relay", Mode: "does not follow"}, "automatic"},
		{consist.Failure{Vehicle: 1, Part: "distributor", Mode: "does not apply"}, "automatic"},
		{consist.Failure{Vehicle: 2, Part: "distributor", Mode: "does not release"}, "automatic"},
		{consist.Failure{Vehicle: 0, Part: "brake-pipe", Mode: "broken"}, "charged"},
		{consist.Failure{Vehicle: 1, Part: "brake-pipe-hose-1", Mode: "blocked"}, "brake-pipe-continuous"},
		{consist.Failure{Vehicle: 0, Part: "brake-pipe-relay", Mode: "does not follow"}, "one-controlling-cab"},
		{consist.Failure{Vehicle: 0, Part: "automatic-cut-out", Mode: "seized"}, ""},
		// nothing while the compressor is not asked for
		{consist.Failure{Vehicle: 0, Part: "safety-valve", Mode: "does not lift"}, ""},
	} {
		p, err := h.Failed(prove.StepCharge, w.failure)
		if err != nil {
			t.Errorf("%+v: %v", w.failure, err)
			continue
		}
		if w.breaks == "" {
			continue
		}
		if g, _ := p.Finding(w.breaks); g.Status != prove.Broken {
			t.Errorf("%+v: %s is %s", w.failure, w.breaks, g.Status)
		}
	}
}

// What a judged run moves is known beforehand.
func TestWorked(t *testing.T) {
	f, r := railway(t)
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail, HX, GV")
	if err != nil {
		t.Fatal(err)
	}
	p, err := prove.Prove(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	moved := 0
	for _, m := range p.Test.Marks {
		for i, v := range c.Vehicles {
			for _, d := range v.Class.Devices {
				was, _ := c.Position(i, d.ID)
				if is, _ := m.At.Position(i, d.ID); is != was {
					moved++
					if !prove.Worked(c, i, d.ID) {
						t.Errorf("%s moves %s of %s, which is not said to be worked", m.Step, d.ID, v.Name())
					}
				}
			}
		}
	}
	if moved == 0 {
		t.Error("the test moves nothing")
	}
}
