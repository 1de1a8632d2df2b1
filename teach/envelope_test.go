package teach_test

import (
	"slices"
	"testing"

	"headstock/consist"
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

// An envelope picked from a search is that of its number; what looks alike reads the same
// at every look that the test takes, and what does not look alike is told by one.
func TestSealFrom(t *testing.T) {
	c, r := onBench(t, "Tern 3 lead, Kite 11 trail")
	base, err := setup.NewBase(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	found, err := base.Search(t.Context(), setup.Options{})
	if err != nil {
		t.Fatal(err)
	}
	alike := 0
	for n := 1; n <= 6; n++ {
		e, err := teach.SealFrom(base, found, n)
		if err != nil {
			t.Fatal(err)
		}
		if n <= 2 {
			quick, err := teach.Seal(c, r, trial.Conditions{}, n)
			if err != nil || quick.Effect.Change != e.Effect.Change || quick.Passed != e.Passed {
				t.Errorf("envelope %d: from the search %v, by itself %v, %v", n, e.Effect.Change, quick.Effect.Change, err)
			}
		}
		if e.Searched != len(found.Members) {
			t.Errorf("envelope %d was held against %d of %d", n, e.Searched, len(found.Members))
		}
		looks := base.Looks()
		read := func(ch consist.Change, when string) []trial.Reading {
			res, _, err := base.Play(setup.Cause{Settings: []consist.Change{ch}}, when, "")
			if err != nil {
				t.Fatal(err)
			}
			return res.Readings
		}
		mine := read(e.Effect.Change, setup.SetWrong)
		alike += len(e.Alike)
		for _, a := range e.Alike[:min(len(e.Alike), 2)] {
			same := false
			for _, when := range []string{setup.SetWrong, setup.MovedSince, setup.MovedApplied} {
				theirs, told := read(a.Settings[0], when), false
				for k := range looks {
					l := &looks[k]
					is := func(rs []trial.Reading) bool {
						return slices.ContainsFunc(rs, func(x trial.Reading) bool {
							return x.Step == l.Step && x.Vehicle == l.Vehicle && x.Device == l.Device && x.Out
						})
					}
					told = told || l.Taken() && l.Kind == "piston" && is(mine) != is(theirs)
				}
				same = same || !told
			}
			if !same {
				t.Errorf("envelope %d: a piston tells %s from it at whatever time it came about", n, a.Key)
			}
		}
	}
	if alike == 0 {
		t.Error("six envelopes and nothing looks alike: the train has several cocks in a row")
	}
}
