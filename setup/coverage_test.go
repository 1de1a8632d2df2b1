package setup_test

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"headstock/prove"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

func coverage(t *testing.T, text string, workers int) (*setup.Base, *setup.Found, *setup.Coverage) {
	t.Helper()
	b, err := setup.NewBase(parse(t, text), rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := b.Search(context.Background(), setup.Options{})
	if err != nil {
		t.Fatal(err)
	}
	cv, err := b.Cover(context.Background(), f, workers)
	if err != nil {
		t.Fatal(err)
	}
	return b, f, cv
}

// One locomotive by itself: every case is counted once, what is hidden says why, what is
// chosen shows what it is said to show, and the prescribed test is left as it was.
func TestCoverageOfOne(t *testing.T) {
	b, f, cv := coverage(t, "Tern 3 alone", 1)
	cases := 0
	for _, m := range f.Members {
		cases += len(m.Outcomes)
	}
	if n := cv.Counts[0] + cv.Counts[1] + cv.Counts[2]; n != cases || len(cv.Rows) != cases {
		t.Errorf("%d cases searched, %d rows, %d counted", cases, len(cv.Rows), n)
	}
	if cv.Counts[setup.NotTold] != cv.Harmless+len(cv.Hidden) {
		t.Errorf("%d not shown, %d harmless and %d hidden", cv.Counts[setup.NotTold], cv.Harmless, len(cv.Hidden))
	}
	row := func(key, when string) *setup.Row {
		k := slices.IndexFunc(cv.Rows, func(r setup.Row) bool { return r.Cause.Key == key && r.When == when })
		if k < 0 {
			t.Fatalf("no row of %s, %s", key, when)
		}
		return &cv.Rows[k]
	}
	// hazards of rules-of-the-trade: a bogie cut out leaves its pistons in, which a rule
	// forbids; a hand brake left on moves no air; an open drain is drowned by the compressor
	if r := row("Tern 3.bogie-1-cock=closed", setup.SetWrong); r.How != setup.ByRule || cv.Looks[r.First].Kind != "piston" && cv.Looks[r.First].Kind != "gauge" {
		t.Errorf("a bogie cut out: %+v", r)
	}
	if r := row("Tern 3.hand-brake=on", setup.SetWrong); r.How != setup.NotTold || r.Why != setup.WhyStanding || len(r.Worse) == 0 {
		t.Errorf("a hand brake left on: %+v", r)
	}
	if r := row("Tern 3.reservoir-2-drain=open", setup.SetWrong); r.How != setup.NotTold || r.Why != setup.WhyInside {
		t.Errorf("an open drain: %+v", r)
	}
	// what tells in one row is what a proof of that change reads
	r := row("Tern 3.bogie-1-cock=closed", setup.SetWrong)
	p, err := b.Held().Set(r.Cause.Settings...)
	if err != nil {
		t.Fatal(err)
	}
	for _, tell := range r.Tells {
		l := &cv.Looks[tell.Look]
		is, _ := p.Test.Reading(l.Step, l.Vehicle, l.Device)
		if is.Value == l.Right().Value && is.Out == l.Right().Out {
			t.Errorf("%s at %s tells of it and reads the same", l.Name, l.Step)
		}
		if !l.Taken() {
			t.Errorf("%s at %s is not taken by the test", l.Name, l.Step)
		}
	}
	for _, n := range cv.Hidden {
		if cv.Rows[n].Why == "" || len(cv.Rows[n].Worse) == 0 {
			t.Errorf("hidden without a reason: %+v", cv.Rows[n])
		}
	}
	// the least set shows every hidden row but those that nothing shows
	cost := 0.0
	for _, k := range cv.Least.Chosen {
		cost += cv.Added[k].Seconds
	}
	if !cv.Least.Proved || cost != cv.Least.Seconds || cv.Least.Lower != cost {
		t.Errorf("%+v, its parts take %g s", cv.Least, cost)
	}
	for h := range cv.Hidden {
		never := slices.Contains(cv.Least.Never, h)
		if never == (len(cv.Least.By[h]) > 0) {
			t.Errorf("%s: never %v, shown by %v", cv.Rows[cv.Hidden[h]].Cause.Key, never, cv.Least.By[h])
		}
		for _, k := range cv.Least.By[h] {
			if !slices.Contains(cv.Added[k].Shows, h) {
				t.Errorf("%s is not shown by %s", cv.Rows[cv.Hidden[h]].Cause.Key, cv.Added[k].ID)
			}
		}
	}
	// a hand brake is found where it is; a penalty valve that is cut out by letting it act
	by := func(key, kind string) bool {
		for h, n := range cv.Hidden {
			if cv.Rows[n].Cause.Key != key {
				continue
			}
			for _, a := range cv.Added {
				if a.Kind == kind && slices.Contains(a.Shows, h) {
					return true
				}
			}
		}
		return false
	}
	if !by("Tern 3.hand-brake=on", setup.AddedStand) || !by("Tern 3.penalty-cock=closed", setup.AddedAct) || by("Tern 3.hand-brake=on", setup.AddedAct) {
		t.Error("the hand brake or the penalty cock is not shown by what shows it")
	}
	if got := prove.StandingTest(b.Consist(), rule.Standard()); !reflect.DeepEqual(got, b.Proof().Test.Procedure) {
		t.Error("the prescribed test is another one")
	}
	// the answer does not hang on who works
	again, err := b.Cover(context.Background(), f, 3)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(cv, again) {
		t.Error("three workers give another answer than one")
	}
}

// Played cases are those of a search: the same groups and the same readings.
func TestPlayedIsSearched(t *testing.T) {
	b, f, _ := coverage(t, "Scoter 1 alone", 2)
	cases := b.Cases(false)
	n := 0
	for _, m := range f.Members {
		for _, o := range m.Outcomes {
			if cases[n].Cause.Key != o.Cause.Key || cases[n].When != o.When || (cases[n].Group == "") != (o.Group == "") {
				t.Fatalf("case %d is %s, %s, %q; searched %s, %s, %q", n, cases[n].Cause.Key, cases[n].When, cases[n].Group, o.Cause.Key, o.When, o.Group)
			}
			if n%7 == 0 && o.Group != "" {
				res, _, err := b.Play(o.Cause, o.When, "")
				if err != nil {
					t.Fatal(err)
				}
				for _, x := range o.Readings() {
					if x.Step == prove.StepMoved {
						continue
					}
					if y, ok := res.Reading(x.Step, x.Vehicle, x.Device); !ok || x != y {
						t.Errorf("%s, %s: %+v, searched %+v", o.Cause.Key, o.When, y, x)
						break
					}
				}
			}
			n++
		}
	}
	if n != len(cases) {
		t.Errorf("%d cases, %d searched", len(cases), n)
	}
}
