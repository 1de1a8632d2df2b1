package card_test

import (
	"fmt"
	"strings"
	"testing"

	"headstock/card"
	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// A sheet is called tested, and marked good, only with every reading that a rule bounds;
// before that it says how many are missing and names the first of them.
func TestJudgedSaysTestedOnlyWhenComplete(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	c, err := consist.Parse(f, "Tern 3 lead")
	if err != nil {
		t.Fatal(err)
	}
	r := rule.Standard()
	p, err := prove.Prove(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	var all []prove.Entered
	for k, rd := range p.Bounded(r) {
		e := prove.Entered{Line: k + 2, Step: rd.Step, Unit: "Tern 3", Device: rd.Device, Value: fmt.Sprintf("%.0f Pa", rd.Value)}
		if rd.Kind == "piston" {
			e.Value = map[bool]string{true: "out", false: "in"}[rd.Out]
		}
		all = append(all, e)
	}
	verdict := func(es []prove.Entered) *card.Verdict {
		js, err := prove.Judge(p, r, es)
		if err != nil {
			t.Fatal(err)
		}
		return card.Judged(p, js, p.Cover(r, js), r, quantity.Metric()).Verdict
	}
	changed := func(k int, value string) []prove.Entered {
		es := append([]prove.Entered(nil), all...)
		es[k].Value = value
		return es
	}
	for _, x := range []struct {
		what string
		es   []prove.Entered
		mark card.Mark
		text string
	}{
		{"all", all, card.Good, "Tested: every reading entered is as expected. All 27 readings that the rules bound are entered."},
		{"all but the last", all[:len(all)-1], card.Warn, "As expected so far. The test is not complete: 1 of the 27 readings that the rules bound is missing."},
		{"one", all[:1], card.Warn, "As expected so far. The test is not complete: 26 of the 27 readings that the rules bound are missing."},
		{"one outside, alone", changed(0, "200 kPa")[:1], card.Bad, "1 reading is outside what the rules allow. The test is not complete: 26 of the 27 readings that the rules bound are missing."},
		{"one outside", changed(len(all)-1, "out"), card.Bad, "Tested: 1 reading is outside what the rules allow. All 27 readings that the rules bound are entered."},
	} {
		v := verdict(x.es)
		if v.Mark != x.mark || v.Text != x.text {
			t.Errorf("%s: %s %q, want %s %q", x.what, v.Mark, v.Text, x.mark, x.text)
		}
		if len(x.es) < len(all) && (strings.Contains(strings.ToLower(fmt.Sprint(v)), "tested") || len(v.Reasons) == 0) {
			t.Errorf("%s: %v", x.what, v)
		}
	}
}
