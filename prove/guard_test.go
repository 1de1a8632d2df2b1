package prove_test

import (
	"testing"

	"headstock/consist"
	"headstock/prove"
	"headstock/trial"
)

// What guards the train without showing in any gauge: a penalty that cannot act, a
// device that must not be moved.
func TestGuards(t *testing.T) {
	f, r := railway(t)
	for _, w := range []struct {
		text, set, requirement string
		want                   prove.Status
	}{
		{"Tern 3 lead, Kite 11 trail", "", "penalty", prove.Met},
		{"Tern 3 lead, Kite 11 trail", "Tern 3.penalty-cock=closed", "penalty", prove.Broken},
		{"Kite 11 lead cab 2", "", "penalty", prove.Met},
		{"Kite 11 lead cab 2", "Kite 11.penalty-cock=closed", "penalty", prove.Broken},
		{"Brant 2 lead", "", "penalty", prove.Met},         // its pedal empties the pipe
		{"Scoter 1 lead", "", "penalty", prove.NotApplies}, // its record says that none is fitted
		{"Tern 3 lead, Kite 11 trail", "", "sealed", prove.Met},
		{"Tern 3 lead, Kite 11 trail", "Kite 11.distributor-cock=closed", "sealed", prove.Broken},
	} {
		c, err := consist.Parse(f, w.text)
		if err != nil {
			t.Fatal(err)
		}
		if w.set != "" {
			ch, err := c.ParseChange(w.set)
			if err != nil {
				t.Fatal(err)
			}
			if c, err = c.With(ch); err != nil {
				t.Fatal(err)
			}
		}
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if f, _ := p.Finding(w.requirement); f.Status != w.want {
			t.Errorf("%s, %s: %s is %q, want %q", w.text, w.set, w.requirement, f.Status, w.want)
		}
	}
}

// A reason is followed back to the pipe that its air comes from, with the devices on the
// way as they stood: the scenario's cabinet left at copy, take behind a lead that gives a
// command listens to an empty third pipe.
func TestChain(t *testing.T) {
	f, r := railway(t)
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	if c, err = c.With(consist.Change{Vehicle: 1, Device: "changeover", Position: "copy"}); err != nil {
		t.Fatal(err)
	}
	p, err := prove.Prove(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	auto, _ := p.Finding("automatic")
	if auto.Status != prove.Broken {
		t.Fatalf("automatic is %q", auto.Status)
	}
	for _, l := range p.Chain(auto.Reasons[0]) {
		if l.From != "third-pipe" || l.Into != "control-entry" {
			continue
		}
		if !l.Known || l.Gauge > 5e3 {
			t.Errorf("the third pipe stood at %.0f Pa", l.Gauge)
		}
		if len(l.Stands) == 0 || l.Stands[0].Position != "copy" {
			t.Errorf("the link does not show the changeover at copy: %+v", l.Stands)
		}
		return
	}
	t.Error("the chain does not come to the third pipe")
}
