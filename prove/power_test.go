package prove

import (
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
)

// power is the requirement by itself: the circuits, without the air.
func power(t *testing.T, text string, changes ...string) Finding {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	for _, ch := range changes {
		x, err := c.ParseChange(ch)
		if err != nil {
			t.Fatal(err)
		}
		if c, err = c.With(x); err != nil {
			t.Fatal(err)
		}
	}
	j := &judge{c: c, proof: &Proof{Consist: c}}
	j.lead, _ = c.Lead()
	if err := j.power(); err != nil {
		t.Fatal(err)
	}
	return j.proof.Findings[0]
}

func TestPowerAndDirectionComeFromTheLead(t *testing.T) {
	for _, text := range []string{
		"Tern 3 lead", "Kite 11 alone", "Kite 11 lead cab 2", "Tern 3 lead, Tern 4 trail", "Tern 3 lead, Tern 4 trail reversed", "Tern 4 trail, Tern 3 lead reversed",
		"Tern 3 lead, Kite 11 trail", "Tern 3 lead, Kite 11 trail reversed", "Kite 11 lead, Tern 3 trail", "Kite 11 lead, Kite 14 trail reversed", "Kite 11 lead cab 2, Kite 12 trail",
		"Tern 3 lead, Kite 11 trail, Tern 5 trail", "Kite 11 lead, Tern 3 trail, Kite 14 trail", "Tern 3 lead, Tern 4 trail shut down, Tern 5 trail", "Tern 3 lead, Brant 1 hauled dead",
	} {
		if f := power(t, text); f.Status != Met {
			t.Errorf("%s: %s %+v", text, f.Status, f.Reasons)
		}
	}
	for _, text := range []string{"Brant 1 lead", "Scoter 1 lead"} {
		if f := power(t, text); f.Status != NotApplies {
			t.Errorf("%s: %s", text, f.Status)
		}
	}
}

// What each wrong switch does, from the records' own words: the Tern's control current
// and field run through the jumper to other Terns, so a handle or field switch left on
// behind works on all; each Kite cab is alive by its own control switch only.
func TestASecondPlaceIsBroken(t *testing.T) {
	for _, x := range []struct{ text, change, kind, vehicle string }{
		// the field switch behind keeps the field on with the lead's off
		{"Tern 3 lead, Tern 4 trail", "Tern 4.generator-field-switch=on", "power at rest", "Tern 4"},
		// a second handle, the other way: both directions on one line
		{"Tern 3 lead, Tern 4 trail", "Tern 4.reverser=reverse", "two directions", "Tern 3"},
		{"Tern 3 lead, Tern 4 trail reversed", "Tern 4.reverser=forward", "two directions", "Tern 3"},
		{"Tern 3 lead, Tern 4 trail", "Tern 4.throttle=notch 1", "power at rest", "Tern 3"},
		{"Tern 3 lead, Tern 4 trail", "Tern 4.engine-run-switch=on", "second place", "Tern 4"},
		{"Kite 11 lead, Tern 3 trail", "Tern 3.engine-run-switch=on", "second place", "Tern 3"},
		{"Kite 11 lead", "Kite 11.cab-2-control-switch=on", "second place", "Kite 11"},
		{"Tern 3 lead, Kite 11 trail", "Kite 11.cab-1-control-switch=on", "second place", "Kite 11"},
		{"Tern 3 lead", "Tern 3.control-breaker=open", "no command", "Tern 3"},
	} {
		f := power(t, x.text, x.change)
		if f.Status != Broken {
			t.Errorf("%s with %s: %s", x.text, x.change, f.Status)
			continue
		}
		i := slices.IndexFunc(f.Reasons, func(r Reason) bool { return r.Kind == x.kind && r.Vehicle == x.vehicle })
		if i < 0 {
			t.Errorf("%s with %s: no %q of %s in %+v", x.text, x.change, x.kind, x.vehicle, f.Reasons)
			continue
		}
		if x.kind != "no command" && (len(f.Reasons[i].Devices) != 1 || !strings.HasSuffix(f.Reasons[i].Devices[0], x.change)) {
			t.Errorf("%s with %s: traced to %v", x.text, x.change, f.Reasons[i].Devices)
		}
	}
	// left in and pointing the lead's way, or on in a dead desk, nothing comes of it
	for text, change := range map[string]string{
		"Kite 11 lead, Tern 3 trail": "Tern 3.generator-field-switch=on", "Tern 3 lead, Kite 11 trail": "Kite 11.cab-1-reverser=forward", "Tern 3 lead, Tern 4 trail": "Tern 4.reverser=forward",
	} {
		if f := power(t, text, change); f.Status != Met {
			t.Errorf("%s with %s: %s %+v", text, change, f.Status, f.Reasons)
		}
	}
}

func TestPowerIsNotExaminedWithoutCircuits(t *testing.T) {
	f, _ := fleet.Read(demo.Railway())
	k, _ := f.Class("Kite")
	k.Circuits, k.Starts = nil, nil
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	j := &judge{c: c, proof: &Proof{Consist: c}}
	if err := j.power(); err != nil {
		t.Fatal(err)
	}
	if got := j.proof.Findings[0]; got.Status != NotExamined || got.Reasons[0].Vehicle != "Kite 11" {
		t.Errorf("%+v", got)
	}
}

func BenchmarkPowerOfThreeUnits(b *testing.B) {
	f, _ := fleet.Read(demo.Railway())
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail, Tern 5 trail")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		j := &judge{c: c, proof: &Proof{Consist: c}}
		if err := j.power(); err != nil {
			b.Fatal(err)
		}
	}
}
