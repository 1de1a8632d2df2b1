package prove_test

import (
	"strings"
	"testing"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/trial"
)

// Set-ups that no railwayman would send out. Each must not be said to work, and the
// requirement named must be the one that is broken.
func TestUnsafe(t *testing.T) {
	state := func(class string, number int, device, property, value string) func(*fleet.Fleet) {
		return func(f *fleet.Fleet) {
			u, _ := f.Unit(class, number)
			u.State = append(u.State, fleet.Override{Device: device, Property: property, Value: value, Date: "2026-09-21", Reason: "found so"})
		}
	}
	for _, w := range []struct {
		text, set   string
		mend        func(*fleet.Fleet)
		requirement string
	}{
		// what was found on the unit today
		{"Tern 2 lead, 2 HX", "", state("Tern", 2, "brake-pipe-cock-2", "position", "closed"), "brake-pipe-continuous"},
		{"Tern 2 lead, 2 HX", "", state("Tern", 2, "emergency-cock", "fitted", "out of use"), "emergency"},
		{"Tern 2 lead, 2 HX", "", state("Tern", 2, "penalty-valve", "fitted", "blanked"), "penalty"},
		{"Tern 2 lead, 2 HX", "", state("Tern", 2, "vigilance-button", "fitted", "out of use"), "penalty"},
		{"Tern 2 lead, 2 HX", "", state("Tern", 2, "automatic-handle", "fitted", "no"), "one-controlling-cab"},
		{"Tern 2 lead, 2 HX", "", state("Tern", 2, "independent-handle", "fitted", "out of use"), "independent"},
		{"Kite 13 lead cab 1", "", nil, "penalty"}, // its pedal of cab 1 is disconnected
		{"Tern 3 lead, HX 205", "", func(f *fleet.Fleet) {
			u, _ := f.Unit("HX", 205)
			u.Without = append(u.Without, "distributor")
		}, "automatic"},
		// half a brake is none
		{"Tern 3 lead, Kite 11 hauled live", "Kite 11.dead-engine-cock=open", nil, "automatic"},
		{"Kite 11 lead, Kite 12 trail, Kite 13 trail", "Kite 13.dead-engine-cock=open", nil, "automatic"},
		// the pipe at another pressure than the railway's
		{"Tern 3 lead, 2 HX", "Tern 3.feed-adjuster=550 kPa", nil, "charged"},
		{"Tern 3 lead, Kite 11 trail, 2 HX", "Tern 3.feed-adjuster=430 kPa", nil, "charged"},
		// nobody watches the driver
		{"Tern 3 lead, 2 HX", "Tern 3.vigilance-cut-out=cut out", nil, "penalty"},
		{"Kite 11 lead cab 1", "Kite 11.vigilance-cut-out=cut out", nil, "penalty"},
		// what holds the train together
		{"Tern 3 lead, 2 HX, GV", "HX 201.coupler-2=open", nil, "coupled"},
		{"Tern 3 lead, Tern 4 trail", "Tern 3.coupler-2=open; Tern 3.coupler-lock-2=up", nil, "coupled"},
		{"Tern 3 lead, 2 HX", "Tern 3.chocks=placed", nil, "hand-brakes"},
		// pipes
		{"Tern 3 lead, Tern 4 trail", "Tern 4.fourth-pipe-cock-2=open; Tern 4.fourth-pipe-hose-2=hanging", nil, "nothing-open"},
		{"Tern 3 lead, Tern 4 trail", "Tern 3.main-reservoir-cock-2=closed", nil, "coupled"},
		// a unit that assists has a driver of its own
		{"Tern 3 lead, 2 HX, Tern 4 assisting", "Tern 4.brake-supply-cock=closed", nil, "assisting"},
		{"Tern 3 lead, 2 HX, Tern 4 assisting", "Tern 4.unit-valve=trail", nil, "assisting"},
	} {
		f, r := railway(t)
		if w.mend != nil {
			w.mend(f)
		}
		c, err := consist.Parse(f, w.text)
		if err != nil {
			t.Errorf("%s: %v", w.text, err)
			continue
		}
		for set := range strings.SplitSeq(w.set, "; ") {
			if set == "" {
				continue
			}
			ch, err := c.ParseChange(set)
			if err != nil {
				t.Fatal(err)
			}
			if c, err = c.With(ch); err != nil {
				t.Fatal(err)
			}
		}
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			t.Errorf("%s: %v", w.text, err)
			continue
		}
		if got, _ := p.Finding(w.requirement); p.Verdict == prove.Works || p.Verdict == prove.WithLoss || got.Status != prove.Broken {
			t.Errorf("%s, %s: %s, %s is %q: %+v", w.text, w.set, p.Verdict, w.requirement, got.Status, got.Reasons)
		}
	}
}

// Every band that a reading is judged by is also asked of the run: what the record gives
// with every device as claimed lies inside it.
func TestAllowedIsAsked(t *testing.T) {
	f, r := railway(t)
	for _, text := range []string{"Tern 3 lead, Kite 11 trail, 2 HX", "Kite 11 lead, Kite 13 trail", "Brant 2 lead, 2 FG", "Scoter 1 lead", "Tern 3 lead, Kite 11 hauled dead, GV"} {
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, rd := range p.Test.Readings {
			d, _ := c.Vehicles[rd.Vehicle].Class.Device(rd.Device)
			if b, cite := p.Allowed(r, rd.Vehicle, d, rd.Step); rd.Kind == "gauge" && b != nil && (rd.Value < b.Low || rd.Value > b.High) {
				t.Errorf("%s, %s: %s of %s reads %.0f Pa, outside %.0f to %.0f of %s, and the proof says %s", text, rd.Step, d.Name, c.Vehicles[rd.Vehicle].Name(), rd.Value, b.Low, b.High, cite, p.Verdict)
			}
		}
	}
}

// What a record does not hold is not taken for harmless.
func TestSilentRecord(t *testing.T) {
	drop := func(function string) func(*fleet.Class) {
		return func(c *fleet.Class) {
			for _, d := range c.Devices {
				if d.Function == function {
					d.Function = "tag" // it is there, and nobody says that it is this
				}
			}
		}
	}
	for _, w := range []struct {
		requirement string
		spoil       func(*fleet.Class)
	}{
		{"independent", drop("independent-handle")},
		{"quick-release", drop("quick-release")},
		{"hand-brakes", drop("hand-brake")},
		{"rating", func(c *fleet.Class) {
			for _, e := range c.Air {
				for k := range e.Args {
					if e.Args[k].Name == "rated" {
						e.Args[k].Figure = nil
					}
				}
			}
		}},
	} {
		f, r := railway(t)
		c, _ := f.Class("Kite")
		w.spoil(c)
		for _, role := range c.Roles {
			var kept []fleet.Claim
			for _, cl := range role.ThisCab {
				if cl.Device != w.requirement && cl.Device != "independent-handle" && cl.Device != "quick-release" {
					kept = append(kept, cl)
				}
			}
			role.ThisCab = kept
		}
		x, err := consist.Parse(f, "Kite 11 lead, Kite 13 trail")
		if err != nil {
			t.Fatal(err)
		}
		p, err := prove.Prove(x, r, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if got, _ := p.Finding(w.requirement); got.Status != prove.CannotSay || p.Verdict == prove.Works {
			t.Errorf("%s is %q, and the set-up %s", w.requirement, got.Status, p.Verdict)
		}
	}
}
