package teach_test

import (
	"testing"

	"headstock/prove"
	"headstock/setup"
	"headstock/teach"
	"headstock/trial"
)

// What is in an envelope is wrong, harms, and is told by a look that can be made; the same
// number gives the same one and others give others; what must not be moved is left alone.
func TestSeal(t *testing.T) {
	c, r := onBench(t, "Tern 3 lead, Kite 11 trail")
	picked := map[string]bool{}
	for n := 1; n <= 6; n++ {
		e, err := teach.Seal(c, r, trial.Conditions{}, n)
		if err != nil {
			t.Fatal(err)
		}
		again, err := teach.Seal(c, r, trial.Conditions{}, n)
		if err != nil || again.Effect.Change != e.Effect.Change {
			t.Errorf("envelope %d holds %v, then %v, %v", n, e.Effect.Change, again.Effect.Change, err)
		}
		ch := e.Effect.Change
		picked[ch.Device+ch.Position] = true
		if e.Effect.Device.MustNotMove || e.Effect.Grade <= setup.LossOf || e.Of < 20 {
			t.Errorf("envelope %d of %d: %v, %v", n, e.Of, ch, e.Effect.Grade)
		}
		with, err := c.With(ch)
		if err != nil {
			t.Fatal(err)
		}
		p, err := prove.Prove(with, r, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		// the look is taken anew: the reading of that step is another
		s := e.Effect.Seen[0]
		told := false
		for _, x := range p.Test.Readings {
			d, _ := with.Vehicles[x.Vehicle].Class.Device(x.Device)
			told = told || x.Step == s.Step && with.Vehicles[x.Vehicle].Name() == s.Unit && d.Name == s.Device && x.Value == s.Is && (s.Is != s.Was || s.IsOut != s.WasOut)
		}
		if !told {
			t.Errorf("envelope %d: nothing reads as told: %+v", n, s)
		}
	}
	if len(picked) < 3 {
		t.Errorf("six envelopes hold %v", picked)
	}
}
