package trial_test

import (
	"math"
	"os"
	"testing"

	"headstock/consist"
	"headstock/fleet"
	"headstock/trial"
)

// Samples stand at whole intervals from time 0, whatever steps the run takes, and a
// wider grid shows what a finer one shows at the same times.
func TestCurvesLieOnTheirGrid(t *testing.T) {
	f, cs := fleet.Read(os.DirFS("testdata/static"))
	for _, c := range cs {
		t.Error(c)
	}
	c, err := consist.Parse(f, "Static 1 alone")
	if err != nil {
		t.Fatal(err)
	}
	p := trial.Procedure{Name: "curves", Steps: []trial.Step{
		{ID: "charge", Do: []trial.Act{{Who: "lead", Run: true}}, For: 100.3},
		{ID: "reduce", Do: []trial.Act{{Who: "lead", Reduce: 60e3}}, For: 20},
	}}
	run := func(every float64) *trial.Result {
		r, err := trial.Run(c, p, trial.Conditions{Curves: every})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	fine, wide := run(0.1), run(2.5)
	for _, r := range []*trial.Result{fine, wide} {
		every := map[*trial.Result]float64{fine: 0.1, wide: 2.5}[r]
		for k, at := range r.Times {
			if math.Abs(at-float64(k)*every) > 1e-6 {
				t.Fatalf("sample %d at %g s, every %g s", k, at, every)
			}
		}
		if last := r.Times[len(r.Times)-1]; last > r.Seconds+1e-6 || last < r.Seconds-every {
			t.Errorf("the last sample stands at %g s of %g s", last, r.Seconds)
		}
		for _, x := range r.Curves {
			if len(x.Values) != len(r.Times) {
				t.Errorf("%s: %d values at %d times", x.Element, len(x.Values), len(r.Times))
			}
		}
	}
	for i, x := range wide.Curves {
		for k, v := range x.Values {
			if w := fine.Curves[i].Values[25*k]; v != w {
				t.Errorf("%s at %g s: %g Pa, on the finer grid %g Pa", x.Element, wide.Times[k], v, w)
			}
		}
	}
}
