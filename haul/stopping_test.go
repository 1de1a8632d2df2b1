package haul_test

import (
	"errors"
	"io/fs"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/haul"
	"headstock/line"
	"headstock/rule"
	"headstock/trial"
)

func rules(t testing.TB) *rule.Rules {
	t.Helper()
	r, cs := rule.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return r
}

// without is the demo railway with one text replaced in the files that match.
func without(t testing.TB, file, old, new string) *fleet.Fleet {
	t.Helper()
	files := fstest.MapFS{}
	hit := file == ""
	err := fs.WalkDir(demo.Railway(), ".", func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := fs.ReadFile(demo.Railway(), p)
		s := string(b)
		if p == file {
			hit = strings.Contains(s, old)
			s = strings.Replace(s, old, new, 1)
		}
		files[p] = &fstest.MapFile{Data: []byte(s)}
		return err
	})
	if err != nil || !hit {
		t.Fatalf("%v: %q is not in %s", err, old, file)
	}
	f, cs := fleet.Read(files)
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return f
}

func stopTrain(t testing.TB, f *fleet.Fleet, text string, changes ...string) *consist.Consist {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range changes {
		ch, err := c.ParseChange(x)
		if err != nil {
			t.Fatal(err)
		}
		if c, err = c.With(ch); err != nil {
			t.Fatal(err)
		}
	}
	return c
}

func stop(t testing.TB, c *consist.Consist, q haul.StopAsk) *haul.StopAnswer {
	t.Helper()
	a, err := haul.Stop(c, rules(t), q, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// What is set wrong or worn makes a stop longer, because the run of the air does; nothing
// here is told that it must.
func TestWhatLengthensAStop(t *testing.T) {
	f := without(t, "", "", "")
	const text = "Tern 3 lead, 5 HX loaded"
	q := haul.StopAsk{Speed: 40 / 3.6, Falling: 0.01, Rail: haul.Dry}
	base := stop(t, stopTrain(t, f, text), q)
	if !base.Stops || base.Distance < 80 || base.Distance > 600 {
		t.Fatalf("%+v", base)
	}
	for _, v := range base.Vehicles {
		if !v.Braked || v.Cylinder < 300e3 || v.Wheel <= 0 {
			t.Errorf("%+v", v)
		}
	}
	if base.Vehicles[1].Begins > base.Vehicles[5].Begins {
		t.Errorf("the first wagon begins at %.2f s and the last at %.2f", base.Vehicles[1].Begins, base.Vehicles[5].Begins)
	}
	longer := func(what string, c *consist.Consist, q haul.StopAsk) *haul.StopAnswer {
		t.Helper()
		a := stop(t, c, q)
		if a.Stops && a.Distance <= base.Distance+1 {
			t.Errorf("%s: %.1f m, without %.1f", what, a.Distance, base.Distance)
		}
		return a
	}
	iso := longer("a wagon isolated", stopTrain(t, f, text, "HX 203.isolating-cock=closed"), q)
	if v := iso.Vehicles[3]; v.Braked || v.Blocks != 0 {
		t.Errorf("the isolated wagon brakes: %+v", v)
	}
	cock := longer("a brake pipe cock shut behind the first wagon", stopTrain(t, f, text, "HX 201.brake-pipe-cock-2=closed"), q)
	if len(cock.Uncharged) == 0 {
		t.Error("behind a shut cock the train is said to be charged")
	}
	for _, v := range cock.Vehicles[2:] {
		if v.Braked {
			t.Errorf("behind the shut cock %+v", v)
		}
	}
	lever := longer("a lever at empty", stopTrain(t, f, text, "HX 202.empty-load-lever=empty"), q)
	if lever.Vehicles[2].Cylinder > 0.8*base.Vehicles[2].Cylinder {
		t.Errorf("%+v", lever.Vehicles[2])
	}
	long, err := stopTrain(t, f, text).WithFigures(consist.OffRecord{Vehicle: 2, Element: "cylinder", Argument: "travel", SI: 0.26}, consist.OffRecord{Vehicle: 3, Element: "cylinder", Argument: "travel", SI: 0.26})
	if err != nil {
		t.Fatal(err)
	}
	if a := longer("two long travels", long, q); a.Vehicles[2].Cylinder >= base.Vehicles[2].Cylinder {
		t.Errorf("a long travel leaves the pressure at %.0f", a.Vehicles[2].Cylinder)
	}
	steep := q
	steep.Falling = 0.022
	longer("steeper", stopTrain(t, f, text), steep)
	quick := q
	quick.Emergency = true
	if a := stop(t, stopTrain(t, f, text), quick); a.Distance >= base.Distance {
		t.Errorf("emergency %.1f m, service %.1f", a.Distance, base.Distance)
	} else if back, err := haul.PercentDistance(a.Percent.Computed, 100/3.6, true); err != nil || math.Abs(back-a.Percent.At100) > 1e-6 {
		t.Errorf("%g %% gives %g m, and it was %g m: %v", a.Percent.Computed, back, a.Percent.At100, err)
	}
	q.Samples, q.Seed = 500, 7
	x, y := stop(t, stopTrain(t, f, text), q).Sample, stop(t, stopTrain(t, f, text), q).Sample
	if *x != *y || x.P95 <= x.Median || math.Abs(x.Median/base.Distance-1) > 0.05 {
		t.Errorf("%+v, %+v, and the stop itself %.1f m", x, y, base.Distance)
	}
}

// A changeover of the rigging chooses the lever; between its stops there is none.
func TestChangeoverOfTheRigging(t *testing.T) {
	f := without(t, "", "", "")
	q := haul.StopAsk{Speed: 40 / 3.6, Rail: haul.Dry}
	loaded := stop(t, stopTrain(t, f, "Tern 3 lead, FG 301 loaded"), q)
	wrong := stop(t, stopTrain(t, f, "Tern 3 lead, FG 301 loaded", "FG 301.empty-load-lever=empty"), q)
	if r := wrong.Vehicles[1].Blocks / loaded.Vehicles[1].Blocks; math.Abs(r-0.5) > 0.01 {
		t.Errorf("empty on a loaded wagon leaves %.2f of its block force, want half", r)
	}
}

// What a record lacks is named, and nothing is made up for it.
func TestStopCannotSay(t *testing.T) {
	for _, w := range []struct{ file, old, new, want string }{
		{"classes/hx/rigging.yaml", "  blocks: {blocks", "  other: {wheels: {count: 8, mass: 290 kg}}\n#  blocks: {blocks", "rigging of class HX (blocks pushed by cylinder)"},
		{"classes/hx/class.yaml", "  axles: 4\n", "", "axles of class HX"},
	} {
		f := without(t, w.file, w.old, w.new)
		_, err := haul.Stop(stopTrain(t, f, "Tern 3 lead, 2 HX loaded"), rules(t), haul.StopAsk{Speed: 10, Rail: haul.Dry}, trial.Conditions{})
		var lacks *haul.CannotSay
		if !errors.As(err, &lacks) || !strings.Contains(err.Error(), w.want) {
			t.Errorf("%v; want %q", err, w.want)
		}
	}
	f := without(t, "", "", "")
	for _, q := range []haul.StopAsk{{Speed: 0}, {Speed: 100}, {Speed: 10, Falling: 0.2}} {
		if _, err := haul.Stop(stopTrain(t, f, "Tern 3 lead"), rules(t), q, trial.Conditions{}); err == nil {
			t.Errorf("%+v is answered", q)
		}
	}
	if _, err := haul.Stop(stopTrain(t, f, "2 HX loaded"), rules(t), haul.StopAsk{Speed: 10}, trial.Conditions{}); err == nil {
		t.Error("a train that nobody leads stops")
	}
}

func hold(t testing.TB, c *consist.Consist, q haul.HoldAsk) *haul.HoldAnswer {
	t.Helper()
	a, err := haul.Hold(c, rules(t), q, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestHoldChooses(t *testing.T) {
	f := without(t, "", "", "")
	c := stopTrain(t, f, "10 HX loaded, GV")
	a := hold(t, c, haul.HoldAsk{Falling: 1.0 / 100, Rail: haul.Wet})
	on := func(a *haul.HoldAnswer) (names []string, sum float64) {
		for _, h := range a.Hands {
			if h.On {
				names = append(names, h.Vehicle)
				sum += h.Holds
			}
		}
		return
	}
	names, sum := on(a)
	if !a.Held || a.Count != len(names) || math.Abs(sum-a.Applied) > 1 || sum < a.Need || a.OneOut < a.Pull {
		t.Fatalf("%v, %.0f N: %+v", names, sum, a)
	}
	// not one too many: without the last the margin, or the one not effective, would fail
	if s := (haul.Standing{Mass: a.Mass, Falling: 0.01, Holds: like(a.Count-1, 15e3)}); s.Held(a.Margin) {
		t.Errorf("%d would do", a.Count-1)
	}
	// from the lower end, whichever that is
	if names[0] != "HX 201" {
		t.Errorf("the grade falls ahead, and the first is %s", names[0])
	}
	up, _ := on(hold(t, c, haul.HoldAsk{Falling: -1.0 / 100, Rail: haul.Wet}))
	if up[len(up)-1] != "HX 210" || len(up) != len(names) {
		t.Errorf("the grade rises ahead, and they are %v", up)
	}
	// one that does not work is not counted, and another takes its place
	less := hold(t, c, haul.HoldAsk{Falling: 1.0 / 100, Rail: haul.Wet, Not: []string{"HX 201"}})
	if n, _ := on(less); !less.Held || len(n) != len(names) || n[0] == "HX 201" {
		t.Errorf("%v", n)
	}
	// where all are not enough it says what lacks, and what else
	steep := hold(t, c, haul.HoldAsk{Falling: 1.0 / 25, Rail: haul.Wet})
	if steep.Held || steep.Short <= 0 || len(steep.Else) < 3 || steep.Count != 11 {
		t.Errorf("%+v", steep)
	}
	just := hold(t, c, haul.HoldAsk{Falling: 0.999 * steep.Steepest, Rail: haul.Wet})
	over := hold(t, c, haul.HoldAsk{Falling: 1.001 * steep.Steepest, Rail: haul.Wet})
	if !just.Held || over.Held {
		t.Errorf("the steepest is said to be %.5f: held just below %v, just above %v", steep.Steepest, just.Held, over.Held)
	}
	// an empty wagon holds no more than its wheels do
	if e := hold(t, stopTrain(t, f, "2 HX"), haul.HoldAsk{Falling: 0.01, Rail: haul.Wet}); !e.Hands[0].Limited || e.Hands[0].Holds >= 15e3 {
		t.Errorf("%+v", e.Hands[0])
	}
	// a defect counts against it
	g := without(t, "units.yaml", "  HX:\n", "  HX:\n    201: {defects: [{device: hand-brake, kind: failed, text: pawl broken, date: 2026-11-01}]}\n")
	if d := hold(t, stopTrain(t, g, "HX 201 loaded"), haul.HoldAsk{Falling: 0.002, Rail: haul.Wet}); d.Held || d.Hands[0].Not == "" {
		t.Errorf("%+v", d)
	}
}

func TestHoldOnAir(t *testing.T) {
	f := without(t, "", "", "")
	c := stopTrain(t, f, "Tern 3 lead, 2 HX loaded")
	sound := hold(t, c, haul.HoldAsk{Falling: 1.0 / 45, Rail: haul.Wet, Air: true, Watch: 1800})
	if x := sound.Air; x == nil || x.Never || x.Counted <= 0 || x.Counted > 1800 || x.Holds < sound.Need {
		t.Fatalf("%+v", x)
	}
	leaks := hold(t, c, haul.HoldAsk{Falling: 1.0 / 45, Rail: haul.Wet, Air: true, AirLeak: 10e3 / 60, Watch: 3600})
	if x := leaks.Air; x.Until <= 0 || x.Until > 2400 || x.Fell < 200e3 {
		t.Errorf("10 kPa a minute: %+v", x)
	}
	if worse := hold(t, c, haul.HoldAsk{Falling: 1.0 / 45, Rail: haul.Wet, Air: true, AirLeak: 20e3 / 60, Watch: 3600}).Air; worse.Until >= leaks.Air.Until {
		t.Errorf("twice the leak holds %.0f s, once %.0f", worse.Until, leaks.Air.Until)
	}
}

func descend(t testing.TB, c *consist.Consist, q haul.DescendAsk) *haul.DescendAnswer {
	t.Helper()
	a, err := haul.Descend(c, rules(t), q, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestDescend(t *testing.T) {
	f := without(t, "", "", "")
	const text = "Tern 3 lead, 8 HX loaded"
	q := haul.DescendAsk{Legs: []haul.Leg{{Length: 9e3, Falling: 1.0 / 45}}, Rail: haul.Dry, Load: true}
	a := descend(t, stopTrain(t, f, text), q)
	if !a.Safe || a.Speed != a.Fastest || a.Beyond == "" || a.Holding.Share <= 0 || a.Most < 0 {
		t.Fatalf("%+v", a)
	}
	// the speed beyond is refused when it is asked for, by the limit that was named
	faster := q
	faster.Speed = a.Fastest + 1.01/3.6
	if b := descend(t, stopTrain(t, f, text), faster); b.Safe || b.Holding.Governs == "" || b.Fastest != a.Fastest {
		t.Errorf("%+v", b.Holding)
	}
	// energy: what the wheels take is what the grade gives less rolling
	sum := 0.0
	for i, p := range a.Holding.Power {
		sum += p * float64([]int{6, 6, 8}[min(i, 2)])
	}
	if want := a.Holding.Need * a.Speed; math.Abs(sum/want-1) > 1e-9 {
		t.Errorf("the wheels take %.0f W, the brakes give %.0f", sum, want)
	}
	y := a.Cycle
	if y.Recharge <= 0 || y.Kinematic <= 0 || y.Available < y.Kinematic {
		t.Errorf("%+v", y)
	}
	if y.Allowed != (y.Available < 0 || y.Available >= y.Recharge) {
		t.Errorf("a release is allowed: %v, with %.0f s to charge and %.0f s until the speed is lost", y.Allowed, y.Recharge, y.Available)
	}
	if !y.Allowed {
		if y.Retainers == 0 || y.Retainers > 0 && (len(y.Which) != y.Retainers || y.With >= 0 && y.With < y.Recharge || y.Which[0].Keeps < 100e3) {
			t.Errorf("%+v", y)
		}
	}
	// steeper: less speed; a lighter load: no less
	steep := q
	steep.Legs = []haul.Leg{{Length: 9e3, Falling: 1.0 / 33}}
	if b := descend(t, stopTrain(t, f, text), steep); b.Fastest >= a.Fastest || b.Cycle.Kinematic >= y.Kinematic {
		t.Errorf("on 1 in 33 %.1f, on 1 in 45 %.1f", b.Fastest, a.Fastest)
	}
	// too hot on a long way at a speed that is asked for: it says where to stop
	hot := haul.DescendAsk{Legs: []haul.Leg{{Length: 40e3, Falling: 1.0 / 33, From: "Summit"}, {Length: 40e3, Falling: 1.0 / 33, From: "Halfway"}}, Rail: haul.Dry, Speed: 45 / 3.6}
	b := descend(t, stopTrain(t, f, text), hot)
	if b.Safe || len(b.Cooling) == 0 || b.Cooling[0].For <= 0 || b.Cooling[0].At > 40e3 {
		t.Errorf("%+v %+v", b.Holding, b.Cooling)
	}
	if _, err := haul.Descend(stopTrain(t, f, text), rules(t), haul.DescendAsk{Legs: []haul.Leg{{Length: 1e3}}}, trial.Conditions{}); err == nil {
		t.Error("nothing falls, and it is come down")
	}
}

// Isolated brakes raise the heat of the others.
func TestCutOutRaisesTheHeat(t *testing.T) {
	f := without(t, "", "", "")
	q := haul.DescendAsk{Legs: []haul.Leg{{Length: 9e3, Falling: 1.0 / 45}}, Rail: haul.Dry, Speed: 15 / 3.6}
	all := descend(t, stopTrain(t, f, "Tern 3 lead, 4 HX loaded"), q)
	cut := descend(t, stopTrain(t, f, "Tern 3 lead, 4 HX loaded", "HX 202.isolating-cock=closed"), q)
	if cut.Operates != all.Operates-1 || cut.Holding.Wheel <= all.Holding.Wheel || cut.Heat[1].Power <= all.Heat[1].Power {
		t.Errorf("all: %.2f kW, one cut out: %.2f kW", all.Holding.Wheel/1000, cut.Holding.Wheel/1000)
	}
}

func TestWayDown(t *testing.T) {
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	down, err := haul.Way(l, "Quernhill", "Ruddle Loop")
	if err != nil {
		t.Fatal(err)
	}
	up, err := haul.Way(l, "Ruddle Loop", "Quernhill")
	if err != nil || len(up) != len(down) {
		t.Fatal(err, up)
	}
	length, fall := 0.0, 0.0
	for i, x := range down {
		length += x.Length
		fall += x.Length * x.Falling
		if y := up[len(up)-1-i]; y.Falling != -x.Falling || y.Length != x.Length {
			t.Errorf("%+v down, %+v up", x, y)
		}
	}
	for _, x := range down {
		if x.Falling > 0.02 && math.Abs(x.Limit-25/3.6) > 1e-9 {
			t.Errorf("%+v has the limit of 25 km/h", x)
		}
	}
	if length != 12e3 || math.Abs(fall-204) > 2 || down[0].From != "Quernhill" {
		t.Errorf("%.0f m, %.1f m of fall, %+v", length, fall, down)
	}
	if _, err := haul.Way(l, "Quernhil", "Ruddle Loop"); err == nil {
		t.Error("no such place is a way")
	}
}

// Ten thousand stops of the demo train, its cylinder curves sampled and the air not run
// again.
func BenchmarkTenThousandStops(b *testing.B) {
	c := stopTrain(b, without(b, "", "", ""), "Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV")
	k, err := haul.Charge(c, rules(b), trial.Conditions{})
	if err != nil {
		b.Fatal(err)
	}
	groups, _, err := k.Run(c, []trial.Step{{ID: "apply", Do: []trial.Act{{Who: "lead", Reduce: 150e3}}, For: 150}}, 0.25, false)
	if err != nil {
		b.Fatal(err)
	}
	train := k.Braking(groups)
	at := haul.At{Speed: 60 / 3.6, Falling: 0.01, Adhesion: 0.15}
	var s haul.Sample
	for b.Loop() {
		if s, err = train.Sample(at, 10000, 1, haul.UsualSpread()); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(s.P95, "m-95-of-100")
}
