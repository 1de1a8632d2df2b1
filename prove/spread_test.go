package prove_test

import (
	"io/fs"
	"math"
	"os"
	"reflect"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/trial"
)

func replaced(t *testing.T, text, old, by string) string {
	t.Helper()
	if !strings.Contains(text, old) {
		t.Fatalf("no %q to replace", old)
	}
	return strings.ReplaceAll(text, old, by)
}

// The demo railway with every spread struck out of its air elements.
func withoutSpreads(t *testing.T) *fleet.Fleet {
	t.Helper()
	files := fstest.MapFS{}
	struck := 0
	spread := regexp.MustCompile(` ± [0-9.]+ (mm|L)`)
	if err := fs.WalkDir(demo.Railway(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(demo.Railway(), name)
		if strings.HasSuffix(name, "/air.yaml") {
			struck += len(spread.FindAll(b, -1))
			b = spread.ReplaceAll(b, nil)
		}
		files[name] = &fstest.MapFile{Data: b}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	if struck < 40 {
		t.Fatalf("struck out %d spreads", struck)
	}
	f, cs := fleet.Read(files)
	for _, c := range cs {
		t.Fatal(c)
	}
	return f
}

// A spread says how far a figure may lie off, and moves nothing by itself: the test of
// the records as written is the same to the last bit with the spreads struck out.
func TestSpreadsMoveNothing(t *testing.T) {
	f, r := railway(t)
	plain := withoutSpreads(t)
	for _, text := range []string{"Tern 3 lead, Kite 11 trail", "Kite 11 lead cab 2, 2 HX loaded"} {
		a, b := set(t, f, text, ""), set(t, plain, text, "")
		x, err := trial.Run(a, prove.StandingTest(a, r), trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		y, err := trial.Run(b, prove.StandingTest(b, r), trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(x.Readings, y.Readings) || x.Steps != y.Steps {
			t.Errorf("%s: the readings differ", text)
		}
		s, err := prove.Spreads(y, trial.Conditions{}, 4, 1)
		if err != nil || len(s.Parameters) != 0 || s.Runs != 0 {
			t.Fatalf("%s: %d parameters, %d runs, %v; want none", text, len(s.Parameters), s.Runs, err)
		}
		p := &prove.Proof{Test: y, Study: s}
		for _, rd := range y.Readings {
			d, _ := b.Vehicles[rd.Vehicle].Class.Device(rd.Device)
			if rd.Kind == "gauge" && p.Expected(d, rd) != prove.Expected(y, d, rd) {
				t.Errorf("%s: %s at %s: %v, want the gauge's own %v", text, rd.Device, rd.Step, p.Expected(d, rd), prove.Expected(y, d, rd))
			}
		}
	}
}

// short is a charge, a reduction and a release: enough to be moved by every part.
func short(t *testing.T, text string, samples int, seed uint64) (*trial.Result, *prove.Study) {
	t.Helper()
	f, r := railway(t)
	c := set(t, f, text, "")
	p, err := prove.Procedure(c, r, "service and release")
	if err != nil {
		t.Fatal(err)
	}
	res, err := trial.Run(c, p, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := prove.Spreads(res, trial.Conditions{}, samples, seed)
	if err != nil {
		t.Fatal(err)
	}
	return res, s
}

// The same seed gives the same bits on one processor and on several; another seed others;
// more samples only widen what fewer gave.
func TestSpreadSeed(t *testing.T) {
	const text = "Tern 3 lead, 3 HX loaded"
	_, a := short(t, text, 4, 7)
	was := runtime.GOMAXPROCS(1)
	_, b := short(t, text, 4, 7)
	runtime.GOMAXPROCS(was)
	if !reflect.DeepEqual(a, b) {
		t.Error("the same seed gives other bits")
	}
	_, other := short(t, text, 4, 8)
	_, more := short(t, text, 7, 7)
	differ := 0
	for k := range a.Readings {
		x, y := a.Readings[k], more.Readings[k]
		if x.Drawn != other.Readings[k].Drawn {
			differ++
		}
		if y.Drawn.Low > x.Drawn.Low || y.Drawn.High < x.Drawn.High {
			t.Errorf("%s at %s: 7 samples give %v, 4 give %v", x.Device, x.Step, y.Drawn, x.Drawn)
		}
	}
	if differ == 0 {
		t.Error("another seed gives the same bits")
	}
	// three wagons of one class are one parameter for each of their figures
	for _, q := range a.Parameters {
		if q.Element == "auxiliary" && len(q.Vehicles) != 3 {
			t.Errorf("the auxiliaries are %+v, want three together", q)
		}
	}
}

// What each band must be whatever the figures: it holds the reading by the figures as
// written and the gauge's own error; shares add up to one and come the largest first; a
// longer travel and a larger control volume take more air, so the pressure is lower.
func TestSpreadSanity(t *testing.T) {
	res, s := short(t, "Tern 3 lead, 3 HX loaded", 6, 1)
	if s.Runs != 6+2*len(s.Parameters) {
		t.Errorf("%d runs, want 6 and 2 for each of %d figures", s.Runs, len(s.Parameters))
	}
	tried := map[string]bool{}
	for k, x := range s.Readings {
		own := prove.Expected(res, mustDevice(t, res, x), res.Readings[k])
		if x.Kind == "gauge" && (x.Band.Low > own.Low || x.Band.High < own.High) {
			t.Errorf("%s at %s: band %v is narrower than the gauge's own %v", x.Device, x.Step, x.Band, own)
		}
		sum, last := 0.0, 1.0
		for _, e := range x.Effects {
			q := s.Parameters[e.Parameter]
			sum += e.Share
			if e.Share > last {
				t.Errorf("%s at %s: effects out of order", x.Device, x.Step)
			}
			last = e.Share
			if x.Step == prove.StepService && x.Kind == "gauge" && x.Device == "brake-cylinder-gauge" && q.Element == "control-volume" {
				tried[q.Element] = true
				if e.Plus >= 0 || e.Minus <= 0 {
					t.Errorf("a larger control volume moves %s by %.0f Pa, a smaller one by %.0f", x.Device, e.Plus, e.Minus)
				}
			}
			if x.Kind == "piston" && q.Argument == "travel" && e.Share > 0.5 {
				tried[q.Argument] = true
				if e.Plus <= 0 || e.Minus >= 0 {
					t.Errorf("a longer travel moves %s by %g m, a shorter one by %g", x.Device, e.Plus, e.Minus)
				}
			}
		}
		if len(x.Effects) > 0 && math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s at %s: shares add up to %g", x.Device, x.Step, sum)
		}
	}
	if len(tried) != 2 {
		t.Errorf("tried only %v", tried)
	}
}

func mustDevice(t *testing.T, r *trial.Result, x prove.Spread) *fleet.Device {
	t.Helper()
	d, ok := r.Consist.Vehicles[x.Vehicle].Class.Device(x.Device)
	if !ok {
		t.Fatalf("no device %s", x.Device)
	}
	return d
}

// A reading that is unusual by the gauge alone is as expected where the spreads of the
// record reach it, and a study never lets through what the rules forbid.
func TestJudgeBySpread(t *testing.T) {
	f, r := railway(t)
	c := set(t, f, "Tern 3 lead", "")
	p, err := prove.Prove(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if p.Study, err = prove.Spreads(p.Test, trial.Conditions{}, 4, 1); err != nil {
		t.Fatal(err)
	}
	rd, _ := p.Test.Reading(prove.StepService, 0, "brake-cylinder-gauge")
	x := p.Spread(rd)
	d := mustDevice(t, p.Test, *x)
	between := (x.Band.High + prove.Expected(p.Test, d, rd).High) / 2
	entries := []prove.Entered{{Line: 2, Step: rd.Step, Unit: "Tern 3", Device: rd.Device, Value: kPa(between)}, {Line: 3, Step: prove.StepCharge, Unit: "Tern 3", Device: "brake-cylinder-gauge", Value: "60 kPa"}}
	with, err := prove.Judge(p, r, entries)
	if err != nil {
		t.Fatal(err)
	}
	p.Study = nil
	without, err := prove.Judge(p, r, entries)
	if err != nil {
		t.Fatal(err)
	}
	if with[0].Status != prove.AsExpected || without[0].Status != prove.Unusual {
		t.Errorf("%s is %s with the spreads and %s without", entries[0].Value, with[0].Status, without[0].Status)
	}
	if with[1].Status != prove.Outside || without[1].Status != prove.Outside {
		t.Errorf("a brake that is on when released is %s with the spreads and %s without", with[1].Status, without[1].Status)
	}
}

// A bore whose spread leaves nothing of it is refused with its place.
func TestSpreadOfNothing(t *testing.T) {
	text, err := os.ReadFile("testdata/spread/classes/vessel.yaml")
	if err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{"classes/vessel.yaml": {Data: []byte(replaced(t, string(text), "2 mm ± 0.1 mm", "2 mm ± 2 mm"))}}
	for _, name := range []string{"railway.yaml", "units.yaml"} {
		b, err := os.ReadFile("testdata/spread/" + name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: b}
	}
	f, cs := fleet.Read(files)
	for _, c := range cs {
		t.Fatal(c)
	}
	if _, err := set(t, f, "Vessel 1 alone", "").Spreads(); err == nil {
		t.Error("a hole of 2 mm ± 2 mm was taken")
	} else {
		t.Log(err)
	}
}

func kPa(pa float64) string { return strconv.FormatFloat(pa/1e3, 'f', 3, 64) + " kPa" }

// The usual study of a pair of units: what --spread costs.
func BenchmarkSpreads(b *testing.B) {
	f, r := railway(b)
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		b.Fatal(err)
	}
	res, err := trial.Run(c, prove.StandingTest(c, r), trial.Conditions{})
	if err != nil {
		b.Fatal(err)
	}
	var s *prove.Study
	for b.Loop() {
		if s, err = prove.Spreads(res, trial.Conditions{}, prove.UsualSamples, prove.UsualSeed); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(s.Runs), "runs")
}
