package setup_test

import (
	"slices"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

func parse(t *testing.T, text string) *consist.Consist {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Lines follow the walk: places in the order of the record, never back. What must not be
// moved is listed apart and never asked for.
func TestWalkOrder(t *testing.T) {
	c := parse(t, "Tern 3 lead, Kite 11 trail, Brant 2 hauled dead")
	p, err := setup.Make(c)
	if err != nil {
		t.Fatal(err)
	}
	for i, u := range p.Units {
		class := c.Vehicles[i].Class
		var order []string
		for _, x := range class.Places {
			order = append(order, x.Name)
		}
		last := 0
		for _, l := range u.Lines {
			at := slices.Index(order, l.Place)
			if at < last {
				t.Errorf("%s: %s at %s goes back", u.Unit, l.Name, l.Place)
			}
			last = at
			if l.MustNotMove {
				t.Errorf("%s: %s must not be moved and is asked for", u.Unit, l.Device)
			}
			if l.Looks == "" {
				t.Errorf("%s: %s=%s does not say how it looks", u.Unit, l.Device, l.Position)
			}
		}
		if len(u.Lines) < 10 || len(u.Keep) == 0 {
			t.Errorf("%s: %d lines, %d kept", u.Unit, len(u.Lines), len(u.Keep))
		}
	}
}

// A plan is made for exactly one lead.
func TestOneLead(t *testing.T) {
	for _, text := range []string{"Tern 3 trail, Tern 4 trail", "Tern 3 lead, Tern 4 lead"} {
		if _, err := setup.Make(parse(t, text)); err == nil {
			t.Errorf("%q is planned", text)
		}
		ck, err := setup.Check(parse(t, text), rule.Standard(), trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if ck.Proof.Verdict != prove.DoesNot {
			t.Errorf("%q: %s", text, ck.Proof.Verdict)
		}
	}
}

// A claim that a run refutes is listed with the run: a record whose lead leaves its
// automatic valve out.
func TestRefutedClaim(t *testing.T) {
	f, _ := fleet.Read(demo.Railway())
	class, _ := f.Class("Tern")
	for _, r := range class.Roles {
		if r.Name != "lead" {
			continue
		}
		for i := range r.ThisCab {
			if r.ThisCab[i].Device == "automatic-cut-out" {
				r.ThisCab[i].Position = "out"
			}
		}
		for i := range r.Positions {
			if r.Positions[i].Device == "automatic-cut-out" {
				r.Positions[i].Position = "out"
			}
		}
	}
	c, err := consist.Parse(f, "Tern 3 lead, 2 HX")
	if err != nil {
		t.Fatal(err)
	}
	ck, err := setup.Check(c, rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(ck.Refuted) == 0 || ck.Refuted[0].Reasons[0].Run == "" {
		t.Errorf("nothing refuted: %s", ck.Proof.Verdict)
	}
	// the same consist rightly set refutes nothing
	ck, err = setup.Check(parse(t, "Tern 3 lead, 2 HX"), rule.Standard(), trial.Conditions{})
	if err != nil || len(ck.Refuted) != 0 {
		t.Errorf("%v %v", err, ck.Refuted)
	}
}
