package trial_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/trial"
)

// What is done by hand, frame by frame, is the same as the procedure that is saved of it;
// and a device that must not be moved is not moved.
func TestLive(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	b, err := trial.NewBench(c, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	l, err := b.Live(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	act := func(what, to string) trial.Act { return trial.Act{Who: "lead", What: what, To: to} }
	cock := ""
	for _, d := range c.Vehicles[1].Class.DevicesOf("brake-pipe-end-cock") {
		if d.End == 2 {
			cock = d.ID
		}
	}
	steps := []struct {
		do   trial.Act
		wait float64
	}{
		{act("automatic-handle", "release"), 400},
		{act("automatic-handle", "60 kPa"), 20},
		{act("automatic-handle", "100 kPa"), 30},
		{trial.Act{Who: "Kite 11", What: cock, To: "open"}, 20},
	}
	before := 0.0
	for k, s := range steps {
		if k == len(steps)-1 {
			before, _ = l.Gauge(1, "brake-pipe")
		}
		if err := l.Do(s.do, "by hand"); err != nil {
			t.Fatal(err)
		}
		for left := s.wait; left > 1e-9; left -= 0.1 {
			if err := l.Advance(min(left, 0.1)); err != nil {
				t.Fatal(err)
			}
		}
	}
	after, _ := l.Gauge(1, "brake-pipe")
	if before < 300e3 || after > 50e3 {
		t.Errorf("the pipe stands at %.0f Pa before its last cock is opened and at %.0f after 20 s", before, after)
	}
	p := l.Procedure("by-hand", "By hand")
	text, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var again trial.Procedure
	if err := json.Unmarshal(text, &again); err != nil {
		t.Fatal(err)
	}
	res, err := trial.Run(c, again, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(res.Seconds-470) > 1e-6 || math.Abs(l.Time()-470) > 1e-6 {
		t.Errorf("%g s by procedure, %g s by hand; 470 went by", res.Seconds, l.Time())
	}
	last := again.Steps[len(again.Steps)-1].ID
	gauges := 0
	for _, x := range l.Readings() {
		y, ok := res.Reading(last, x.Vehicle, x.Device)
		if !ok {
			t.Fatalf("%s is not read by the procedure", x.Device)
		}
		if x.Kind == "gauge" {
			gauges++
			if math.Abs(x.Value-y.Value) > 1e3 { // steps of the run end elsewhere
				t.Errorf("%s: %.0f Pa by hand, %.0f by procedure", x.Device, x.Value, y.Value)
			}
		}
		if x.Out != y.Out {
			t.Errorf("%s: %v by hand, %v by procedure", x.Device, x.Out, y.Out)
		}
	}
	if gauges < 6 {
		t.Errorf("%d gauges were read", gauges)
	}
	// a clone goes its own way
	o := l.Clone()
	if err := o.Advance(5); err != nil {
		t.Fatal(err)
	}
	if l.Time() == o.Time() || len(l.Procedure("", "").Steps) != len(steps) || l.Procedure("", "").Steps[3].For > 20.001 {
		t.Error("a clone moves what it was made of")
	}
	sealed := 0
	for i, v := range c.Vehicles {
		for _, d := range v.Class.Devices {
			if at, ok := c.Position(i, d.ID); d.MustNotMove && ok {
				sealed++
				if err := l.Do(trial.Act{Who: v.Name(), What: d.ID, To: at}, ""); err == nil || !strings.Contains(err.Error(), "must not be moved") {
					t.Errorf("%s: %v", d.ID, err)
				}
			}
		}
	}
	if sealed == 0 {
		t.Error("no device of these records must not be moved; take another consist")
	}
}
