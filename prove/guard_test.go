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
		{"Brant 2 lead", "", "penalty", prove.NotApplies}, // its record says that none is fitted
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
