package prove_test

import (
	"fmt"
	"slices"
	"testing"

	"headstock/prove"
	"headstock/trial"
)

// sheet is what somebody would enter who read exactly what the run shows.
func sheet(p *prove.Proof, rds []trial.Reading) []prove.Entered {
	var out []prove.Entered
	for k, rd := range rds {
		e := prove.Entered{Line: k + 2, Step: rd.Step, Unit: p.Consist.Vehicles[rd.Vehicle].Name(), Device: rd.Device, Value: fmt.Sprintf("%.0f Pa", rd.Value)}
		switch rd.Kind {
		case "piston":
			e.Value = map[bool]string{true: "out", false: "in"}[rd.Out]
		case "exhaust":
			e.Value = map[bool]string{true: "blows", false: "quiet"}[rd.Out || rd.Value >= 0.5]
		}
		out = append(out, e)
	}
	return out
}

// What a rule bounds in the brake test of a Tern by itself, counted by hand from its record
// (one brake pipe, main reservoir and cylinder gauge, two bogies with a piston each) and
// standard.yaml. A sheet without any one of them is not complete.
func TestCoverage(t *testing.T) {
	f, r := railway(t)
	p, err := prove.Prove(set(t, f, "Tern 3 lead", ""), r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	want := []prove.AskedOf{
		{Step: prove.StepCharge, Bounded: 5},      // charged, main-reservoir, cylinder-released; both pistons in
		{Step: prove.StepMinimum, Bounded: 1},     // cylinder-rises
		{Step: prove.StepService, Bounded: 3},     // cylinder-minimum; both pistons out
		{Step: prove.StepCutOut, Bounded: 1},      // where the timed minute begins
		{Step: prove.StepLeak, Bounded: 1},        // leakage, rise
		{Step: prove.StepLetGo, Bounded: 1},       // cylinder-released
		{Step: prove.StepSecond, Bounded: 3},      // cylinder-minimum; both pistons out
		{Step: prove.StepRelease, Bounded: 3},     // cylinder-released; both pistons in
		{Step: prove.StepIndependent, Bounded: 1}, // independent-full
		{Step: prove.StepIndOff, Bounded: 1},      // cylinder-released
		{Step: prove.StepEmergency, Bounded: 4},   // emergency-empty, cylinder-minimum; both pistons out
		{Step: prove.StepRecover, Bounded: 3},     // charged; both pistons in
	}
	const all = 5 + 1 + 3 + 1 + 1 + 1 + 3 + 3 + 1 + 1 + 4 + 3
	bounded := p.Bounded(r)
	full, err := prove.Judge(p, r, sheet(p, bounded))
	if err != nil {
		t.Fatal(err)
	}
	c := p.Cover(r, full)
	if !slices.Equal(c.Steps, want) || c.Bounded != all || !c.Complete() {
		t.Errorf("%+v, want %+v, %d in all", c, want, all)
	}
	for _, j := range full {
		if j.Status != prove.AsExpected {
			t.Errorf("%s at %s: %s", j.Name, j.Step, j.Status)
		}
	}
	for k := range full {
		c := p.Cover(r, slices.Delete(slices.Clone(full), k, k+1))
		if c.Complete() || len(c.Missing) != 1 || c.Missing[0].Device != full[k].ID || c.Missing[0].Step != full[k].Step || c.Missing[0].Unit != "Tern 3" {
			t.Errorf("without %s at %s: %+v", full[k].Name, full[k].Step, c.Missing)
		}
	}
	// twice the same reading is one, and what no rule bounds is none
	for _, rd := range p.Test.Readings {
		if !slices.Contains(bounded, rd) && rd.Fitted == "" {
			js, err := prove.Judge(p, r, sheet(p, []trial.Reading{rd, bounded[0], bounded[0]}))
			if err != nil {
				t.Fatal(err)
			}
			if c := p.Cover(r, js); len(c.Missing) != all-1 {
				t.Errorf("%s at %s leaves %d missing", rd.Device, rd.Step, len(c.Missing))
			}
			return
		}
	}
	t.Error("a rule bounds everything that the test reads")
}

// The timed minute is judged by one gauge, in whatever order it was written: 40 kPa down is
// more than the 35 kPa of standard.yaml, 20 kPa up more than its 18 kPa.
func TestTimedMinute(t *testing.T) {
	f, r := railway(t)
	p, err := prove.Prove(set(t, f, "Kite 12 lead cab 2, 2 HX", ""), r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	at := func(line int, step string, cab int, kpa int) prove.Entered {
		return prove.Entered{Line: line, Step: step, Unit: "Kite 12", Device: fmt.Sprintf("cab-%d-brake-pipe-gauge", cab), Value: fmt.Sprintf("%d kPa", kpa)}
	}
	for _, c := range []struct {
		what    string
		entries []prove.Entered
		outside bool
	}{
		{"falls", []prove.Entered{at(2, prove.StepCutOut, 2, 385), at(3, prove.StepLeak, 2, 345)}, true},
		{"falls, written backwards", []prove.Entered{at(2, prove.StepLeak, 2, 345), at(3, prove.StepCutOut, 2, 385)}, true},
		{"rises", []prove.Entered{at(2, prove.StepCutOut, 2, 380), at(3, prove.StepLeak, 2, 400)}, true},
		{"holds", []prove.Entered{at(2, prove.StepCutOut, 2, 385), at(3, prove.StepLeak, 2, 360)}, false},
		{"by two gauges", []prove.Entered{at(2, prove.StepCutOut, 1, 385), at(3, prove.StepLeak, 2, 345)}, false},
	} {
		js, err := prove.Judge(p, r, c.entries)
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		outside := slices.ContainsFunc(js, func(j prove.Judged) bool { return j.Step == prove.StepLeak && j.Status == prove.Outside })
		if outside != c.outside {
			t.Errorf("%s: outside %v", c.what, outside)
		}
	}
	// a function that both cabs have is refused behind a lead, where no cab drives
	q, err := prove.Prove(set(t, f, "Tern 3 lead, Kite 11 trail", ""), r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := prove.Judge(q, r, []prove.Entered{{Line: 7, Step: prove.StepCharge, Unit: "Kite 11", Device: "brake-pipe-gauge", Value: "500 kPa"}}); err == nil {
		t.Error("one of two gauges was picked")
	}
}
