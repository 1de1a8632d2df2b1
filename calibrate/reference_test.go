package calibrate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/air/reference"
	"headstock/calibrate"
	"headstock/consist"
	"headstock/fleet"
	"headstock/trial"
)

func onRig(t testing.TB, text string) *consist.Consist {
	t.Helper()
	f, cs := fleet.Read(os.DirFS("testdata/rig"))
	for _, c := range cs {
		t.Error(c)
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The rig is fed for 40 s, left alone for 30 s and vented for 30 s.
const fed, left, vented = 40.0, 30.0, 30.0

func rigProcedure() trial.Procedure {
	move := func(what, to string) trial.Act { return trial.Act{Who: "lead", What: what, To: to} }
	return trial.Procedure{Name: "rig", Steps: []trial.Step{
		{ID: "pump", Until: &trial.Until{Who: "lead", Air: "supply", Above: 500e3}, AtMost: 300, For: 5},
		{ID: "charge", Do: []trial.Act{move("feed-cock", "in")}, For: fed},
		{ID: "leakage", Do: []trial.Act{move("feed-cock", "out")}, For: left},
		{ID: "reduction", Do: []trial.Act{move("vent-cock", "open")}, For: vented},
	}}
}

// hiddenInReference are bores that the fit is not told: a choke 6 % too small, a feed 5 %
// too large, a vent 8 % too small, and a leak of one and a half times its bore.
var hiddenInReference = map[string]float64{"feed-way.bore": 5.25e-3, "vent-way.bore": 3.68e-3, "branch-choke.bore": 2.82e-3, "brake-pipe-leak.bore": 0.75e-3}

// measuredOnReference is the rig's programme on the close pipe of air/reference, recorded
// every half second with noise.
func measuredOnReference(t *testing.T, model string, noise float64) []calibrate.Sample {
	t.Helper()
	const atmosphere, cd = 101325, 0.8
	h := hiddenInReference
	spec := reference.Spec{Bore: 0.032, Roughness: 5e-5, Friction: "colebrook", Model: model, VehiclePipe: 16, Vehicles: 1, Start: atmosphere, End: fed + left + vented,
		Head: []reference.Row{
			{T: 0, Mode: "feed", Diameter: h["feed-way.bore"], Cd: cd, Pressure: 500e3 + atmosphere},
			{T: fed, Mode: "closed"},
			{T: fed + left, Mode: "vent", Diameter: h["vent-way.bore"], Cd: cd}},
		Tail:   []reference.Row{{T: 0, Mode: "closed"}},
		Branch: &reference.Branch{Volume: 0.040, Choke: h["branch-choke.bore"], Cd: cd, Start: atmosphere},
		Leak:   &reference.Hole{Diameter: h["brake-pipe-leak.bore"], Cd: cd}}
	p, err := reference.New(spec, 8)
	if err != nil {
		t.Fatal(err)
	}
	chance := rand.New(rand.NewPCG(1, 2))
	var pipe, tank []calibrate.Sample
	for n := 0; ; n++ {
		at := float64(n) / 2
		if at > spec.End {
			return append(pipe, tank...)
		}
		if err := p.Advance(at); err != nil {
			t.Fatal(err)
		}
		_, mid, _ := p.Pressures()
		pipe = append(pipe, calibrate.Sample{Step: "charge", Time: at, Element: "brake-pipe", Pressure: mid - atmosphere + noise*chance.NormFloat64()})
		tank = append(tank, calibrate.Sample{Step: "charge", Time: at, Element: "reservoir-1", Pressure: p.Tank(0) - atmosphere + noise*chance.NormFloat64()})
	}
}

func inquire(t *testing.T, c *consist.Consist, samples []calibrate.Sample, names ...string) calibrate.Inquiry {
	t.Helper()
	q := calibrate.Inquiry{Consist: c, Procedure: rigProcedure(), Samples: samples}
	for _, name := range names {
		p, err := calibrate.Named(c, 0, name)
		if err != nil {
			t.Fatal(err)
		}
		q.Parameters = append(q.Parameters, p)
	}
	return q
}

func run(t *testing.T, q calibrate.Inquiry) *calibrate.Fit {
	t.Helper()
	f, err := q.Run()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

var rigFigures = []string{"feed-way.bore", "vent-way.bore", "branch-choke.bore", "brake-pipe-leak.bore"}

// The reference is another solver with another law of what a hole passes, and here it has a
// noise of 1 kPa. All four bores are recovered within the interval that is stated, which is
// a tenth of the bounds or less, and the overlay is read back by the fleet.
func TestHiddenFiguresOfTheReference(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	samples := measuredOnReference(t, "iso", 1e3)
	q := inquire(t, c, samples, rigFigures...)
	f := run(t, q)
	for _, x := range f.Figures {
		t.Logf("%s %s, hidden %.4g mm, %.1f %% off", x.Name(), x.Text(), 1e3*hiddenInReference[x.Name()], 100*(x.Value/hiddenInReference[x.Name()]-1))
	}
	held(t, f, hiddenInReference, 0.1, rigFigures...)
	if !f.Met || f.After > 1500 || f.Before < 10*f.After {
		t.Errorf("met %t, before %.0f Pa, after %.0f", f.Met, f.Before, f.After)
	}

	// laid over the unit as units.yaml writes it, the record itself meets the curves
	overlay := f.Overlay("2026-11-25", `rig "a": 1.csv`)
	lines := "source: invented\nunits:\n  Rig:\n    1:\n      without: [second-leak]\n"
	for l := range strings.Lines(overlay) {
		lines += "      " + l
	}
	files := fstest.MapFS{"units.yaml": {Data: []byte(lines)}}
	for _, name := range []string{"railway.yaml", "classes/rig.yaml"} {
		b, err := os.ReadFile("testdata/rig/" + name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: b}
	}
	laid, cs := fleet.Read(files)
	for _, c := range cs {
		t.Error(c)
	}
	if t.Failed() {
		t.Fatal(lines)
	}
	over, err := consist.Parse(laid, "Rig 1 alone")
	if err != nil {
		t.Fatal(err)
	}
	if g := run(t, inquire(t, over, samples, rigFigures...)); g.Before > 1.02*f.After {
		t.Errorf("with the overlay the record leaves %.0f Pa, the fit left %.0f", g.Before, f.After)
	}
}

// Air that warms as it is pressed in is not what a network of one temperature can meet, and
// a cooling reservoir looks like a leak. Whatever comes of it, nothing false may be told.
func TestWarmAirTellsNothingFalse(t *testing.T) {
	held(t, run(t, inquire(t, onRig(t, "Rig 1 alone"), measuredOnReference(t, "euler", 1e3), rigFigures...)), hiddenInReference, 1)
}

// Two holes in one pipe are one to every curve.
func TestTwoLeaksAreNotToldApart(t *testing.T) {
	c := onRig(t, "Rig 2 alone")
	hidden := map[string]float64{"brake-pipe-leak.bore": 0.7e-3, "second-leak.bore": 0.4e-3}
	samples := record(t, with(t, c, 0, hidden), rigProcedure(), "leakage", 0.5, 29, 300, spot{0, "brake-pipe"}, spot{0, "reservoir-1"})
	f := run(t, inquire(t, c, samples, "brake-pipe-leak.bore", "second-leak.bore", "vent-way.bore"))
	if len(f.Tangles) != 1 || len(f.Tangles[0].With) != 1 {
		t.Fatalf("tangles are %+v, want the two leaks; %+v", f.Tangles, f.Figures)
	}
	g := f.Tangles[0]
	pair := []string{f.Figures[g.Held].Name(), f.Figures[g.With[0].Figure].Name()}
	slices.Sort(pair)
	if !slices.Equal(pair, []string{"brake-pipe-leak.bore", "second-leak.bore"}) || g.With[0].By > -0.9 {
		t.Errorf("%v are tangled by %.2f, want the two leaks, one smaller by what the other is larger", pair, g.With[0].By)
	}
	// the exchange that is named leaves the curves as they are
	z := math.Hypot(f.Figures[g.Held].Value, f.Figures[g.With[0].Figure].Value)
	if other := math.Hypot(g.If, g.With[0].Then); math.Abs(other-z) > 0.03*z || math.Abs(g.If-f.Figures[g.Held].Value) < 0.02e-3 {
		t.Errorf("holes of %.3g and %.3g m for such of %.3g and %.3g m", g.If, g.With[0].Then, f.Figures[g.Held].Value, f.Figures[g.With[0].Figure].Value)
	}
	for _, name := range pair {
		if x := f.Figures[figure(f, name)]; x.Standing != calibrate.NotApart {
			t.Errorf("%s is %s", name, x.Standing)
		}
	}
	if x := f.Figures[figure(f, "vent-way.bore")]; x.Standing != calibrate.Unseen || !x.Held {
		t.Errorf("the vent was shut, and its bore is %s", x.Standing)
	}
	if f.Overlay("2026-11-25", "a.csv") != "" {
		t.Error("an overlay of what is not told")
	}

	// with one of them known, the other is told
	delete(hidden, "second-leak.bore")
	q := inquire(t, c, record(t, with(t, c, 0, hidden), rigProcedure(), "leakage", 0.5, 29, 300, spot{0, "brake-pipe"}, spot{0, "reservoir-1"}), "brake-pipe-leak.bore")
	held(t, run(t, q), hidden, 0.05, "brake-pipe-leak.bore")
}

// What lies beyond its bounds is not told, and said to stand at them.
func TestAFigureAtItsBound(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	samples := record(t, with(t, c, 0, map[string]float64{"branch-choke.bore": 4.5e-3}), rigProcedure(), "charge", 0.5, 90, 300, spot{0, "brake-pipe"}, spot{0, "reservoir-1"})
	f := run(t, inquire(t, c, samples, "branch-choke.bore"))
	if x := f.Figures[0]; x.Standing != calibrate.AtBound || f.Met || f.Overlay("2026-11-25", "a.csv") != "" {
		t.Errorf("%s, met %t: %+v", x.Standing, f.Met, x)
	}
	wide, err := calibrate.Named(c, 0, "branch-choke.bore = 2 mm .. 6 mm")
	if err != nil {
		t.Fatal(err)
	}
	f = run(t, calibrate.Inquiry{Consist: c, Procedure: rigProcedure(), Samples: samples, Parameters: []calibrate.Parameter{wide}})
	held(t, f, map[string]float64{"branch-choke.bore": 4.5e-3}, 0.2, "branch-choke.bore")
}

// A person with a gauge and no recorder reads at the end of each step.
func TestReadAtTheEndOfSteps(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	hidden := map[string]float64{"brake-pipe-leak.bore": 0.7e-3}
	p := rigProcedure()
	res, err := trial.Run(with(t, c, 0, hidden), p, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	table := "step,place,pressure kPa\n"
	for _, step := range []string{"charge", "leakage", "reduction"} {
		for _, element := range []string{"brake-pipe", "reservoir-1"} {
			g, _ := res.Gauge(step, 0, element)
			table += fmt.Sprintf("%s,%s,%.0f\n", step, element, g/1000)
		}
	}
	samples, err := calibrate.Read(c, 0, "gauge.csv", []byte(table), "")
	if err != nil {
		t.Fatal(err)
	}
	held(t, run(t, inquire(t, c, samples, "brake-pipe-leak.bore")), hidden, 0.1, "brake-pipe-leak.bore")
}
