package trial_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"os"
	"os/exec"
	"slices"
	"testing"

	"headstock/consist"
	"headstock/fleet"
	"headstock/trial"
)

// withSciPy is a Python that has SciPy; the first on the path need not be the system's.
func withSciPy() (string, bool) {
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import scipy.integrate").Run() == nil {
			return python, true
		}
	}
	return "", false
}

// The lumped network of a small locomotive, once as the record is run by the engine and
// once written out by hand and solved by SciPy's LSODA (testdata/cross/locomotive.py), at
// the same moments of a charge, a reduction of 100 kPa and a release. LSODA at 1e-8 and
// roots for what snaps leave less than 1 Pa, so what is left is the engine's.
//
//   - With fine steps (5 Pa allowed a step) every element agrees within 0.1 kPa.
//   - With the usual steps (50 Pa a step) every element, moving or at rest, agrees within
//     0.5 kPa, a twentieth of the finest gauge graduation.
//
// Where a Python with SciPy is missing the test is skipped; in CI it must be there.
func TestLumpedLocomotiveAgainstSciPy(t *testing.T) {
	python, ok := withSciPy()
	if !ok {
		if os.Getenv("HEADSTOCK_SCIPY") != "" {
			t.Fatal("no python3 with SciPy, which CI must have: apt-get install python3-scipy")
		}
		t.Skip("no python3 with SciPy, so the independent solution is not run; apt-get install python3-scipy")
	}
	solved := solve(t, python)
	c, p := small(t)
	if len(solved.Rows) != len(p.Steps) {
		t.Fatalf("the script gives %d rows, the procedure has %d steps", len(solved.Rows), len(p.Steps))
	}
	// the fixture is meant to snap once each way, so that no chance of many snaps is judged
	if n := solved.Snaps["distributor"]; n != 3 {
		t.Errorf("the distributor snaps %d times, want release, service, lap and release again", n)
	}
	for _, steps := range []struct {
		name   string
		cond   trial.Conditions
		within float64 // kPa
	}{
		{"fine steps", trial.Conditions{Tolerance: 5, Isothermal: true}, 0.1},
		{"usual steps", trial.Conditions{Isothermal: true}, 0.5},
	} {
		r, err := trial.Run(c, p, steps.cond)
		if err != nil {
			t.Fatal(err)
		}
		if r.Audit > 1e-9 {
			t.Errorf("%s: mass audit %g", steps.name, r.Audit)
		}
		worst, where, compared := 0.0, "", 0
		for _, row := range solved.Rows {
			if len(row.Gauge) != 12 {
				t.Errorf("%s: %d elements, want 12", row.Step, len(row.Gauge))
			}
			for _, element := range slices.Sorted(maps.Keys(row.Gauge)) {
				want := row.Gauge[element]
				got, ok := r.Gauge(row.Step, 0, element)
				if !ok {
					t.Fatalf("the engine has no %s at %s", element, row.Step)
				}
				compared++
				off := math.Abs(got/1e3 - want)
				if !(off <= steps.within) {
					t.Errorf("%s: %s, %s: %.3f kPa, SciPy %.3f, allowed %g", steps.name, row.Step, element, got/1e3, want, steps.within)
				}
				if off > worst {
					worst, where = off, element+" at "+row.Step
				}
			}
		}
		t.Logf("%s: %d pressures against SciPy %s; the worst is off by %.3f kPa: %s", steps.name, compared, solved.SciPy, worst, where)
	}
}

// solution is what the script says.
type solution struct {
	SciPy string
	Took  float64 // s
	Snaps map[string]int
	Rows  []struct {
		Step  string
		Gauge map[string]float64 // kPa
		Slope map[string]float64 // kPa/s
	}
}

func solve(t testing.TB, python string) solution {
	t.Helper()
	script, err := os.ReadFile("testdata/cross/locomotive.py") // read here, so that a change of it is a change of the test
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "-")
	run.Stdin = bytes.NewReader(script)
	out, err := run.Output()
	if err != nil {
		var e *exec.ExitError
		if errors.As(err, &e) {
			t.Fatalf("%v: %s", err, e.Stderr)
		}
		t.Fatal(err)
	}
	var s solution
	if err := json.Unmarshal(out, &s); err != nil {
		t.Fatal(err)
	}
	return s
}

// small is the fixture's one locomotive, and what is done with it.
func small(t testing.TB) (*consist.Consist, trial.Procedure) {
	t.Helper()
	f, cs := fleet.Read(os.DirFS("testdata/cross"))
	for _, c := range cs {
		t.Error(c)
	}
	c, err := consist.Parse(f, "Small 1 alone")
	if err != nil {
		t.Fatal(err)
	}
	p := trial.Procedure{Name: "cross-check"}
	step := func(id string, seconds float64, do ...trial.Act) {
		p.Steps = append(p.Steps, trial.Step{ID: id, Do: do, For: seconds})
	}
	release := trial.Act{Who: "lead", What: "automatic-handle", To: "release"}
	step("charge 5", 5, release)
	step("charge 15", 10)
	step("charge 30", 15)
	step("charge 60", 30)
	step("charge 120", 60)
	step("charge 400", 280)
	step("reduction 1", 1, trial.Act{Who: "lead", What: "automatic-handle", To: "100 kPa"})
	step("reduction 2", 1)
	step("reduction 4", 2)
	step("reduction 8", 4)
	step("reduction 15", 7)
	step("reduction 60", 45)
	step("release 1", 1, release)
	step("release 2", 1)
	step("release 4", 2)
	step("release 8", 4)
	step("release 15", 7)
	step("release 30", 15)
	step("release 120", 90)
	return c, p
}

// The same locomotive and procedure by the engine and by SciPy's LSODA, in one run.
func BenchmarkAgainstSciPy(b *testing.B) {
	python, ok := withSciPy()
	if !ok {
		b.Skip("no python3 with SciPy")
	}
	slow := solve(b, python).Took
	c, p := small(b)
	bench, err := trial.NewBench(c, trial.Conditions{Isothermal: true})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := bench.Run(c, p, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(slow*float64(b.N)/b.Elapsed().Seconds(), "×SciPy")
}
