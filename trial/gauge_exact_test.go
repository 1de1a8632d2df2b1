package trial_test

import (
	"io/fs"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/fleet"
	"headstock/trial"
)

// edit is a text of a record and what stands there instead.
type edit struct{ file, was, is string }

// altered reads a railway with some of its text changed. A text that is not there is a slip
// of the test.
func altered(t testing.TB, railway fs.FS, edits ...edit) *fleet.Fleet {
	t.Helper()
	files := fstest.MapFS{}
	err := fs.WalkDir(railway, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(railway, path)
		files[path] = &fstest.MapFile{Data: text}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range edits {
		f := files[e.file]
		if f == nil || !strings.Contains(string(f.Data), e.was) {
			t.Fatalf("%s has no %q", e.file, e.was)
		}
		f.Data = []byte(strings.Replace(string(f.Data), e.was, e.is, 1))
	}
	f, cs := fleet.Read(files)
	for _, c := range cs {
		t.Error(c)
	}
	return f
}

// A gauge of first order that lags by L satisfies L·s' = p − s. Here L = 2 s on a pipe that
// falls in an emergency, worked out by small steps of our own along the curve of the pipe.
// Nothing else changes, to the bit, and a run that is taken up at a mark goes on with
// what the gauge showed there.
func TestGaugeWithLag_exact(t *testing.T) {
	const gauges = "devices:\n  pipe-gauge: {function: brake-pipe-gauge, name: gauge, kind: gauge, system: brake, cab: 1, place: desk, reads: brake-pipe%s}\n" +
		"  plain: {function: main-reservoir-gauge, name: second gauge, kind: gauge, system: brake, cab: 1, place: desk, reads: brake-pipe}\n"
	parse := func(lag string) *consist.Consist {
		f := altered(t, os.DirFS("testdata/static"), edit{"classes/static.yaml", "devices:\n", strings.Replace(gauges, "%s", lag, 1)})
		c, err := consist.Parse(f, "Static 1 alone")
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	steps := []trial.Step{
		{ID: "charged", Do: []trial.Act{{Who: "lead", Run: true}}, For: 300, Read: true},
		{ID: "service", Do: []trial.Act{{Who: "lead", Reduce: 60e3}}, For: 1, Read: true},
		{ID: "released", Do: []trial.Act{{Who: "lead", Run: true}}, For: 4, Read: true},
		{ID: "emergency", Do: []trial.Act{{Who: "lead", What: "automatic-handle", To: "emergency"}}, For: 1.5, Read: true},
		{ID: "later", For: 1, Read: true},
	}
	run := func(lag string) *trial.Result {
		r, err := trial.Run(parse(lag), trial.Procedure{Name: "lag", Steps: steps}, trial.Conditions{Curves: 0.01})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	without, with := run(""), run(", lag: 2 s")
	read := func(r *trial.Result, step, device string) float64 {
		x, ok := r.Reading(step, 0, device)
		if !ok {
			t.Fatalf("%s: no %s", step, device)
		}
		return x.Value
	}
	var pipe []float64
	for _, c := range with.Curves {
		if c.Element == "brake-pipe" {
			pipe = c.Values
		}
	}
	shown, k, most := 0., 0, 0.
	for _, m := range with.Marks {
		for ; k+1 < len(with.Times) && with.Times[k+1] <= m.Time+1e-9; k++ {
			for part := range 10 { // 1 ms along the straight line between two samples
				p := pipe[k] + (pipe[k+1]-pipe[k])*(float64(part)+0.5)/10
				shown += (p - shown) * (1 - math.Exp(-0.001/2))
			}
		}
		got, truth := read(with, m.Step, "pipe-gauge"), read(with, m.Step, "plain")
		if math.Abs(got-shown) > 300 {
			t.Errorf("%s: the gauge shows %.0f Pa, want %.0f; the pipe stands at %.0f", m.Step, got, shown, truth)
		}
		most = max(most, math.Abs(got-truth))
		if was := read(without, m.Step, "pipe-gauge"); was != truth || was != read(without, m.Step, "plain") {
			t.Errorf("%s: without a lag the gauge shows %g, with one on another gauge the pipe stands at %g", m.Step, was, truth)
		}
	}
	if most < 50e3 {
		t.Errorf("the lag moves no reading by more than %.0f Pa: nothing is proved", most)
	}
	if with.Steps != without.Steps {
		t.Errorf("%d steps with a lag, %d without", with.Steps, without.Steps)
	}
	c := parse(", lag: 2 s")
	b, err := trial.NewBench(c, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	first, err := b.Run(c, trial.Procedure{Name: "first", Steps: steps[:4]}, nil)
	if err != nil {
		t.Fatal(err)
	}
	m, _ := first.At("emergency")
	second, err := b.Run(m.At, trial.Procedure{Name: "second", Steps: steps[4:]}, m)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := read(second, "later", "pipe-gauge"), read(with, "later", "pipe-gauge"); got != want {
		t.Errorf("taken up at a mark the gauge shows %g Pa, in one run %g", got, want)
	}
}
