package setup_test

import (
	"testing"

	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

// The scenario's own case: a Kite left copy, take behind a lead that gives a command does
// not brake in service, every gauge of the driving cab reads right, and it shows only on
// the Kite.
func TestEffectSeenOnlyThere(t *testing.T) {
	c := parse(t, "Tern 3 lead, Kite 11 trail, 3 HX")
	b, err := setup.NewBase(c, rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	moves, err := b.Moving("Kite 11.changeover=copy")
	if err != nil {
		t.Fatal(err)
	}
	e, err := b.Effect(moves[0])
	if err != nil {
		t.Fatal(err)
	}
	if e.Grade != setup.Unit || !e.Reaches {
		t.Errorf("grade %q, reaches the air: %v", e.Grade, e.Reaches)
	}
	pistons := false
	for _, s := range e.Seen {
		if s.Unit != "Kite 11" {
			t.Errorf("%s of %s is said to show it at %s: %v instead of %v", s.Device, s.Unit, s.Step, s.Is, s.Was)
		}
		pistons = pistons || s.Kind == "piston" && s.Step == "reduction" && s.WasOut && !s.IsOut
	}
	if !pistons {
		t.Error("the pistons of the Kite do not show it in the reduction")
	}
	if len(e.AtOnce) != 0 {
		t.Errorf("with the train charged and released nothing can show it; found %+v", e.AtOnce)
	}
}

func TestEffectGrades(t *testing.T) {
	c := parse(t, "Tern 3 lead, Kite 11 trail, 3 HX")
	b, err := setup.NewBase(c, rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []struct {
		move    string
		want    setup.Grade
		reaches bool
	}{
		// the scenario: cutting in a cab with an empty equalising reservoir dumps the pipe,
		// so every brake comes on and none lets go
		{"Kite 11.cab-1-automatic-cut-out=in", setup.Unit, true},
		// hazards of rules-of-the-trade section 4: lead cut out; brake pipe shut inside the
		// train; one cylinder cock shut; dead-engine cock open on a live unit: nothing while
		// its main reservoir stands above the brake pipe
		{"lead.automatic-cut-out=out", setup.Train, true},
		{"HX 201.brake-pipe-cock-1=closed", setup.Train, true},
		{"Kite 11.bogie-1-cock=closed", setup.Unit, true},
		{"lead.dead-engine-cock=open", setup.NoHarm, true},
		// no white before the train, whose front is the lead's: no run shows it, and whoever works
		// on the line in the dark does not see it come. The breaker does the same by another way.
		// The last wagon's lamp taken off: nothing tells the next train that this one stands there.
		// A lamp left on a wagon inside the train says that the train ends there.
		{"lead.light-setting=dark", setup.Unseen, false},
		{"lead.lighting-breaker=open", setup.Unseen, false},
		{"HX 203.tail-lamp-bracket-2=none", setup.Unseen, false},
		{"HX 202.tail-lamp-bracket-2=showing", setup.Unseen, false},
		// white shows in front by the setting switch already: its lamps lit by their own switch too
		// show the same
		{"lead.headlight-1=dim", setup.NoHarm, false},
	} {
		moves, err := b.Moving(w.move)
		if err != nil {
			t.Errorf("%s: %v", w.move, err)
			continue
		}
		e, err := b.Effect(moves[0])
		if err != nil {
			t.Fatal(err)
		}
		if e.Grade != w.want || e.Reaches != w.reaches {
			t.Errorf("%s: %q, reaches the air %v; want %q, %v; worse: %+v", w.move, e.Grade, e.Reaches, w.want, w.reaches, e.Worse)
		}
	}
}

func TestMovingRefuses(t *testing.T) {
	c := parse(t, "Tern 3 lead")
	b, err := setup.NewBase(c, rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"Tern 3", "Tern 9.throttle", "lead.nonsense", "lead.dead-engine-cock=sideways", "lead.brake-pipe-gauge"} {
		if _, err := b.Moving(text); err == nil {
			t.Errorf("%q is taken", text)
		}
	}
	if moves, err := b.Moving("lead.dead-engine-cock"); err != nil || len(moves) == 0 {
		t.Errorf("every other position of a device: %v, %v", moves, err)
	}
}

// A cock shut while the brake is on can trap it: the independent pipe's cock shut at the
// joint with the brake applied leaves the trailing unit's control with nowhere to go.
func TestEffectTrapsBrake(t *testing.T) {
	c := parse(t, "Kite 11 lead, Kite 13 trail")
	b, err := setup.NewBase(c, rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	moves, err := b.Moving("Kite 13.third-pipe-cock-1=closed")
	if err != nil {
		t.Fatal(err)
	}
	e, err := b.Effect(moves[0])
	if err != nil {
		t.Fatal(err)
	}
	trapped := false
	for _, f := range e.Applied {
		for _, r := range f.Reasons {
			trapped = trapped || r.Vehicle == "Kite 13" && (r.Kind == "does not release" || r.Kind == "drags")
		}
	}
	if !trapped {
		t.Errorf("the brake of Kite 13, which takes its pressure from the third pipe, comes off: %+v", e.Applied)
	}
}
