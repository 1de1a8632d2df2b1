package trial_test

import (
	"testing"

	"headstock/demo"
	"headstock/fleet"
	"headstock/trial"
)

// Leakage by drop depends on what stands open to the pipe (air.md 8): with the brake on only the
// pipe is, so the same hole shows a multiple of what it shows with the brake off, when
// the reservoirs feed it; and by flow it is the same either way.
func TestLeakageWithTheBrakeOnAndOff(t *testing.T) {
	x := bench{t, altered(t, demo.Railway(), edit{"classes/gv/air.yaml", "brake-pipe-leak: {leak: {from: brake-pipe, bore: 0.08 mm}}", "brake-pipe-leak: {leak: {from: brake-pipe, bore: 1 mm}}"})}
	c := x.consist("Tern 3 lead, 10 HX, GV")
	cut := []trial.Step{do("cut out", "lead", "automatic-cut-out", "out", 60), {ID: "a minute", For: 60}}
	long := charged
	long.For = 900
	fall := func(r *trial.Result) float64 {
		return x.kPa(r, "cut out", 11, "brake-pipe") - x.kPa(r, "a minute", 11, "brake-pipe")
	}
	off := fall(x.run(c, append([]trial.Step{long}, cut...)...))
	on := fall(x.run(c, append([]trial.Step{long, reduce(100, 60)}, cut...)...))
	t.Logf("falls %.1f kPa in the minute with the brake off, %.1f kPa with it on", off, on)
	if off <= 0 || on < 2*off {
		t.Errorf("falls %.1f kPa in the minute with the brake off, %.1f kPa with it on, want at least twice", off, on)
	}
}

// Direct and graduated wagons in one train: raised half way, the pipe lets the hoppers off
// wholly and the flats in part; down again at once, the flats are as before and the hoppers,
// whose reservoirs have not been charged anew, are not.
func TestBothFamiliesInOneTrain(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	for _, c := range cs {
		t.Error(c)
	}
	x := bench{t, f}
	c := x.consist("Tern 3 lead, 3 HX loaded, 3 FG, GV")
	half := trial.Step{ID: "half", Do: []trial.Act{{Who: "lead", Reduce: 65e3}}, For: 60}
	again := trial.Step{ID: "again", Do: []trial.Act{{Who: "lead", Reduce: 100e3}}, For: 60}
	r := x.run(c, charged, reduce(100, 60), half, again)
	for v := 1; v <= 6; v++ {
		first, now, then := x.kPa(r, "reduced", v, "cylinder"), x.kPa(r, "half", v, "cylinder"), x.kPa(r, "again", v, "cylinder")
		name := c.Vehicles[v].Name()
		if first < 100 {
			t.Errorf("%s: %.0f kPa after 100 kPa", name, first)
		}
		if v <= 3 {
			if now > 10 {
				t.Errorf("%s, direct: %.0f kPa when the pipe is half way up, want nothing", name, now)
			}
			if then > 0.9*first {
				t.Errorf("%s, direct: %.0f kPa again before it is charged, %.0f kPa first", name, then, first)
			}
		} else {
			if now < 0.3*first || now > 0.9*first {
				t.Errorf("%s, graduated: %.0f of %.0f kPa when the pipe is half way up, want a part", name, now, first)
			}
			if then < 0.97*first || then > 1.03*first {
				t.Errorf("%s, graduated: %.0f kPa again, %.0f kPa first", name, then, first)
			}
		}
	}
}

// A record may give a distributor a retarded release: the first wagon, whose pipe comes up
// high above its reservoir, then takes longer to let off.
func TestRetardedReleaseOfARecord(t *testing.T) {
	took := func(edits ...edit) float64 {
		x := bench{t, altered(t, demo.Railway(), edits...)}
		r := x.run(x.consist("Tern 3 lead, 5 HX loaded"), charged, reduce(120, 60),
			trial.Step{ID: "off", Do: []trial.Act{{Who: "lead", Run: true}}, Until: &trial.Until{Who: "HX 201", Air: "cylinder", Below: 10e3}, AtMost: 300})
		if len(r.Misses) > 0 {
			t.Fatalf("never let off: %+v", r.Misses)
		}
		m, _ := r.At("off")
		return m.Took
	}
	const bore = "release bore: 2.2 mm ± 0.06 mm"
	plain := took()
	retarded := took(edit{"classes/hx/air.yaml", bore, bore + ", retarded release bore: 1.2 mm"})
	never := took(edit{"classes/hx/air.yaml", bore, bore + ", retarded release bore: 1.2 mm, retards at: 400 kPa"})
	if retarded < 1.2*plain || never != plain {
		t.Errorf("let off in %.1f s, retarded in %.1f s, retarded at a difference that never comes %.1f s", plain, retarded, never)
	}
}
