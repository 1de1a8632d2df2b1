package prove_test

import (
	"errors"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/trial"
)

// Every procedure by name runs on a consist it is meant for, meets its waits and keeps
// its mass.
func TestProceduresRun(t *testing.T) {
	f, r := railway(t)
	for _, name := range append(prove.Procedures(), "parting 2") {
		text := "Tern 3 lead, Kite 11 trail, 3 HX"
		switch name {
		case "changing ends":
			text = "Kite 12 lead, 3 HX"
		case "dead-unit charge and release":
			text = "Tern 3 lead, Kite 11 hauled dead, 2 HX"
		}
		c := set(t, f, text, "")
		p, err := prove.Procedure(c, r, name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		res, err := trial.Run(c, p, trial.Conditions{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, m := range res.Misses {
			t.Errorf("%s: %s did not happen: %+v", name, m.Step, m)
		}
		if res.Audit > 1e-9 {
			t.Errorf("%s: mass audit %g", name, res.Audit)
		}
		if len(res.Readings) == 0 {
			t.Errorf("%s: nothing read", name)
		}
	}
}

// Changing ends: the brake stays on until the other cab takes over, and then its valve
// and no other works the train. Cutting in a cab whose equalising reservoir is empty
// dumps the pipe instead (scenario, numbers to start from).
func TestChangingEnds(t *testing.T) {
	f, r := railway(t)
	c := set(t, f, "Kite 12 lead cab 1, 3 HX", "")
	p, err := prove.Procedure(c, r, "changing ends")
	if err != nil {
		t.Fatal(err)
	}
	res, err := trial.Run(c, p, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	shows := func(res *trial.Result, step string, low, high float64) {
		t.Helper()
		g, ok := res.Gauge(step, 0, "brake-pipe")
		if !ok || g < low*1e3 || g > high*1e3 {
			t.Errorf("%s: brake pipe %.0f kPa, want %g..%g", step, g/1e3, low, high)
		}
	}
	shows(res, "hold", 325, 345)  // feed 485 - 150
	shows(res, "leave", 325, 345) // held, no valve cut in
	shows(res, "charge there", 320, 345)
	shows(res, "take", 475, 490)  // released by cab 2's feed
	shows(res, "prove", 325, 345) // cab 2's reduction
	shows(res, "off", 475, 490)
	if g, _ := res.Gauge("prove", 0, "bogie-1-cylinders"); g < 300e3 {
		t.Errorf("cab 2's reduction gives %.0f kPa", g/1e3)
	}
	// the wrong way: cut in with the equalising reservoir of cab 2 emptied
	q := trial.Procedure{Name: "wrong way", Steps: append(append([]trial.Step(nil), p.Steps[:3]...),
		trial.Step{ID: "empty", Do: []trial.Act{{Who: "lead", What: "cab-2-automatic-handle", To: "emergency"}}, For: 15},
		trial.Step{ID: "cut in empty", Do: []trial.Act{{Who: "lead", What: "cab-2-automatic-handle", To: "handle-off"}, {Who: "lead", What: "cab-2-automatic-cut-out", To: "in"}}, For: 5})}
	res, err = trial.Run(c, q, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if g, _ := res.Gauge("cut in empty", 0, "brake-pipe"); g > 320e3 {
		t.Errorf("cutting in an empty equalising reservoir leaves the pipe at %.0f kPa", g/1e3)
	}
}

// Changing lead: the new lead alone works the train afterwards.
func TestChangingLead(t *testing.T) {
	f, r := railway(t)
	for _, text := range []string{"Tern 3 lead, Tern 4 trail, 2 HX", "Tern 3 lead, Kite 11 trail, 2 HX", "Kite 11 lead, Kite 13 trail, 2 HX", "Tern 3 lead, Kite 11 trail reversed, 2 HX"} {
		c := set(t, f, text, "")
		p, err := prove.Procedure(c, r, "changing lead")
		if err != nil {
			t.Fatal(err)
		}
		res, err := trial.Run(c, p, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		hold, _ := res.Gauge("hold", 3, "brake-pipe")
		leave, _ := res.Gauge("leave", 3, "brake-pipe")
		if leave > hold+10e3 {
			t.Errorf("%s: the brake lets go while the lead is changed: %.0f kPa", text, leave/1e3)
		}
		for i := range c.Vehicles {
			for _, cy := range []string{"bogie-1-cylinders", "cylinder"} {
				if on, ok := res.Gauge("prove", i, cy); ok && on < 60e3 {
					t.Errorf("%s: vehicle %d does not brake from the new lead: %.0f kPa", text, i+1, on/1e3)
				}
				if off, ok := res.Gauge("off", i, cy); ok && off > 10e3 {
					t.Errorf("%s: vehicle %d does not release: %.0f kPa", text, i+1, off/1e3)
				}
			}
		}
	}
}

// The same consist gives the same readings to the last bit.
func TestSameTwice(t *testing.T) {
	f, r := railway(t)
	c := set(t, f, "Tern 3 lead, Kite 11 trail reversed, 3 HX loaded, GV", "")
	a, err := trial.Run(c, prove.StandingTest(c, r), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := trial.Run(c, prove.StandingTest(c, r), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Readings) != len(b.Readings) || a.Steps != b.Steps {
		t.Fatalf("%d readings in %d steps, then %d in %d", len(a.Readings), a.Steps, len(b.Readings), b.Steps)
	}
	for i := range a.Readings {
		if a.Readings[i] != b.Readings[i] {
			t.Errorf("%+v, then %+v", a.Readings[i], b.Readings[i])
		}
	}
}

// A record that says what it does not know is believed: a requirement that needs it
// cannot be said, and with it the verdict.
func TestMissingIsCannotSay(t *testing.T) {
	f, r := railway(t)
	class, _ := f.Class("Tern")
	class.Missing = append(class.Missing, fleet.Missing{What: "bore of the press-down choke", Needed: "quick-release"})
	p, err := prove.Prove(set(t, f, "Tern 3 lead, Tern 4 trail", ""), r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	x, _ := p.Finding("quick-release")
	if p.Verdict != prove.CannotBe || x.Status != prove.CannotSay {
		t.Errorf("verdict %q, quick-release %q", p.Verdict, x.Status)
	}
	// a class without air cannot be run at all
	class.Air = nil
	p, err = prove.Prove(set(t, f, "Tern 3 lead", ""), r, trial.Conditions{})
	if err != nil || p.Verdict != prove.CannotBe || len(p.Findings[0].Reasons) < 2 {
		t.Errorf("%v, verdict %q", err, p.Verdict)
	}
}

// No procedure of the program puts a device that must not be moved anywhere, whatever the
// consist; where a record's role asks for it, the procedure is refused by name.
func TestProceduresLeaveTheSealed(t *testing.T) {
	f, r := railway(t)
	built := map[string]int{}
	for _, text := range []string{
		"Tern 3 lead, Kite 11 trail, 3 HX", "Kite 11 lead cab 2, Tern 4 trail reversed", "Kite 14 lead, Kite 15 trail, Tern 3 trail", "Kite 12 alone",
		"Brant 1 lead, Tern 3 hauled dead, 2 FG", "Scoter 1 lead, GV", "Tern 3 lead, Kite 11 hauled dead, 2 HX", "Tern 3 lead, Scoter 1 hauled dead", "Kite 11 lead, Brant 2 hauled live",
	} {
		c := set(t, f, text, "")
		for _, name := range prove.Procedures() {
			p, err := prove.Procedure(c, r, name)
			if err != nil { // not meant for this consist
				continue
			}
			built[name]++
			if sealed := trial.Sealed(c, p); len(sealed) > 0 {
				t.Errorf("%s: %s moves %+v", text, name, sealed)
			}
		}
	}
	for _, name := range prove.Procedures() {
		if built[name] == 0 {
			t.Errorf("%s is built for no consist here", name)
		}
	}
	class, _ := f.Class("Tern")
	d, _ := class.Device("unit-valve")
	d.MustNotMove = true
	_, err := prove.Procedure(set(t, f, "Tern 3 lead, Tern 4 trail", ""), r, "changing lead")
	for _, says := range []string{"must not be moved", d.Name + " of Tern 3 (from lead to trail)", d.Name + " of Tern 4 (from trail to lead)"} {
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("changing lead past a sealed unit valve: %v, want %q", err, says)
		}
	}
}

// A reduction is made from the feed; a record without a feed adjuster does not say it, and
// no usual figure stands in for it.
func TestReductionNeedsTheFeed(t *testing.T) {
	f, r := railway(t)
	class, _ := f.Class("Brant")
	d, _ := class.Device("feed-adjuster")
	d.Function = "test-valve"
	_, err := prove.Prove(set(t, f, "Brant 1 lead", ""), r, trial.Conditions{})
	var unsaid *consist.CannotSay
	if !errors.As(err, &unsaid) || unsaid.Class != "Brant" {
		t.Errorf("%v, want what the record lacks", err)
	}
}
