package teach_test

import (
	"math"
	"slices"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/rule"
	"headstock/teach"
	"headstock/trial"
)

func onBench(t *testing.T, text string, sets ...string) (*consist.Consist, *rule.Rules) {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	r, more := rule.Read(demo.Railway())
	if len(cs)+len(more) > 0 {
		t.Fatal(cs, more)
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range sets {
		ch, err := c.ParseChange(s)
		if err == nil {
			c, err = c.With(ch)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return c, r
}

func looks(b *teach.Bench) (differ []string) {
	c := b.Consist()
	for _, l := range b.Looks() {
		if l.Differs && l.Fitted == "" {
			differ = append(differ, c.Vehicles[l.Vehicle].Name()+"."+l.Device)
		}
	}
	return differ
}

// As long as nothing stands wrong everything is as expected, whatever the handle does; with
// a bogie of the second unit cut out its piston stays in where it should come out.
func TestBench(t *testing.T) {
	c, r := onBench(t, "Tern 3 lead, Kite 11 trail")
	b, err := teach.NewBench(c, r, trial.Conditions{}, true)
	if err != nil {
		t.Fatal(err)
	}
	step := func(what string, seconds float64) {
		t.Helper()
		if what != "" {
			ch, err := b.Consist().ParseChange(what)
			if err == nil {
				err = b.Move(ch)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		for range int(seconds * 10) {
			if err := b.Advance(0.1); err != nil {
				t.Fatal(err)
			}
		}
	}
	if b.Time() < 60 {
		t.Errorf("charged after %g s", b.Time())
	}
	step("lead.automatic-handle=100 kPa", 15)
	out := 0
	for _, l := range b.Looks() {
		if l.Kind == "piston" && l.Out {
			out++
		}
	}
	if got := looks(b); len(got) > 0 || out == 0 {
		t.Errorf("nothing is wrong: %d pistons are out, and other than expected is %q", out, got)
	}
	step("lead.automatic-handle=release", 120)
	step("Kite 11.bogie-1-cock=closed", 1)
	step("lead.automatic-handle=100 kPa", 15)
	if got := looks(b); !slices.Contains(got, "Kite 11.bogie-1-piston") {
		t.Errorf("with the cock of a bogie closed other than expected is %q", got)
	}
	if s := b.Steps(); len(s) != 4 || s[0].Do[0].To != "100 kPa" {
		t.Errorf("what was done: %+v", s)
	}
	// run again from empty it comes to the same
	claimed, err := c.Claimed()
	if err != nil {
		t.Fatal(err)
	}
	p := b.Procedure()
	res, err := trial.Run(claimed, p, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range b.Looks() {
		x, ok := res.Reading(p.Steps[len(p.Steps)-1].ID, l.Vehicle, l.Device)
		if !ok || x.Out != l.Out || l.Kind == "gauge" && math.Abs(x.Value-l.Value) > 2e3 {
			t.Errorf("%s reads %g, %v by hand and %g, %v run again", l.Device, l.Value, l.Out, x.Value, x.Out)
		}
	}
	// a device put where it stands is not moved
	step("lead.automatic-handle=100 kPa", 0)
	if n := len(b.Steps()); n != 4 {
		t.Errorf("%d acts after one that moves nothing", n)
	}
}

// Set wrong before charging: the bench begins empty with the device where it was set.
func TestBenchFromEmpty(t *testing.T) {
	c, r := onBench(t, "Tern 3 lead, Kite 11 trail", "Kite 11.brake-pipe-cock-1=closed")
	b, err := teach.NewBench(c, r, trial.Conditions{}, false)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Advance(200); err != nil {
		t.Fatal(err)
	}
	if at, _ := b.Consist().Position(1, "brake-pipe-cock-1"); at != "closed" {
		t.Errorf("the cock stands %q", at)
	}
	if got := looks(b); !slices.ContainsFunc(got, func(s string) bool { return s[:4] == "Kite" }) {
		t.Errorf("with its pipe shut off the second unit shows nothing: %q", got)
	}
}

// What can be moved reaches the air; what must not be moved is among it and is refused;
// what the brake test works is known.
func TestMovables(t *testing.T) {
	c, r := onBench(t, "Tern 3 lead, Kite 11 trail, 2 HX")
	b, err := teach.NewBench(c, r, trial.Conditions{}, false)
	if err != nil {
		t.Fatal(err)
	}
	kept, tested := 0, []string{}
	for _, m := range b.Movables() {
		if m.Tested {
			tested = append(tested, m.Device.ID)
		}
		if len(m.Positions) < 2 {
			t.Errorf("%s has nowhere to go", m.Device.ID)
		}
		if m.Keep {
			kept++
			if err := b.Move(consist.Change{Vehicle: m.Vehicle, Device: m.Device.ID, Position: m.Positions[1]}); err == nil {
				t.Errorf("%s is moved although it must not be", m.Device.ID)
			}
		}
	}
	if kept == 0 || !slices.Contains(tested, "automatic-handle") || len(b.Movables()) < 20 {
		t.Errorf("%d devices, %d must not be moved, the test works %q", len(b.Movables()), kept, tested)
	}
}
