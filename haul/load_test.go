package haul_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/haul"
	"headstock/line"
	"headstock/motion"
)

func marram(t testing.TB) (*fleet.Fleet, *line.Line) {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return f, l
}

func coupled(t testing.TB, f *fleet.Fleet, text string) *haul.Train {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	return haul.Of(c)
}

// put moves a device of a vehicle.
func put(t testing.TB, x *haul.Train, vehicle int, function, position string) *haul.Train {
	t.Helper()
	ds := x.Consist.Devices(vehicle, function)
	if len(ds) == 0 {
		t.Fatalf("vehicle %d has no %s", vehicle, function)
	}
	c, err := x.Consist.With(consist.Change{Vehicle: vehicle, Device: ds[0].ID, Position: position})
	if err != nil {
		t.Fatal(err)
	}
	return haul.Of(c)
}

func loads(t testing.TB, x *haul.Train, a haul.Ask) *haul.Loads {
	t.Helper()
	if a.Rails == nil {
		r, _ := motion.RailNamed("dry")
		a.Rails = []motion.Rail{r}
	}
	if a.Places == nil {
		a.Places = []haul.Spot{{Slope: 0.01}}
	}
	l, err := x.Load(a)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Every class of the demo railway says how it rolls, and every locomotive how it pulls.
func TestDemoRecordsHaul(t *testing.T) {
	f, _ := marram(t)
	for _, c := range f.Classes {
		if level, lacks := c.Level(); level < 5 {
			t.Errorf("%s: level %d, lacks %v", c.Name, level, lacks)
		}
	}
	for _, text := range []string{"Tern 3 lead", "Kite 11 lead", "Brant 1 lead", "Scoter 1 lead"} {
		x := coupled(t, f, text+", 2 HX")
		if len(x.Lacks) > 0 {
			t.Errorf("%s lacks %v", text, x.Lacks)
		}
		es, err := x.Engines(haul.Mild())
		if err != nil {
			t.Fatal(err)
		}
		// the effort that the identity states is the one at starting on dry sanded rail
		stated, _ := x.Vehicles[0].Class.Fact("tractive effort")
		r, _ := motion.RailNamed("dry sanded")
		if p := es[0].Machine.At(0, r.Adhesion); math.Abs(p.Effort-stated.Figure.SI) > 0.01*stated.Figure.SI {
			t.Errorf("%s starts with %.0f kN by %s, its identity says %.0f kN", text, p.Effort/1000, p.Limit, stated.Figure.SI/1000)
		}
	}
}

// A load falls with the grade, the wet, the cold, the height, a dead unit and a motor cut
// out, and what governs is the least.
func TestLoadFallsWithWhatHinders(t *testing.T) {
	f, _ := marram(t)
	x := coupled(t, f, "Tern 3 lead, 12 HX loaded, GV")
	base := loads(t, x, haul.Ask{}).Entries[0].Load
	rail := func(n string) []motion.Rail { r, _ := motion.RailNamed(n); return []motion.Rail{r} }
	dead := coupled(t, f, "Tern 3 lead, Kite 11 hauled dead, 12 HX loaded, GV")
	less := map[string]float64{
		"steeper":     loads(t, x, haul.Ask{Places: []haul.Spot{{Slope: 0.02}}}).Entries[0].Load,
		"curved":      loads(t, x, haul.Ask{Places: []haul.Spot{{Slope: 0.01, Radius: 140}}}).Entries[0].Load,
		"wet":         loads(t, x, haul.Ask{Rails: rail("wet")}).Entries[0].Load,
		"cold":        loads(t, x, haul.Ask{Weather: haul.Weather{Air: 262}}).Entries[0].Load,
		"motors out":  loads(t, put(t, x, 0, "motor-cut-out", "2 and 5 out"), haul.Ask{}).Entries[0].Load,
		"a dead unit": loads(t, dead, haul.Ask{}).Entries[0].Load,
		"short loop":  loads(t, x, haul.Ask{Places: []haul.Spot{{Slope: 0.01, Loop: 150}}}).Entries[0].Load,
	}
	for what, q := range less {
		if !(q < base) || q <= 0 {
			t.Errorf("%s: %.0f t, %.0f t without it", what, q/1000, base/1000)
		}
	}
	// high up the engine gives less: it shows where running governs
	high := loads(t, x, haul.Ask{Rails: rail("dry sanded"), Places: []haul.Spot{{Slope: 0.03}}, Slowest: 18 / 3.6, Weather: haul.Weather{Height: 3000}}).Entries[0]
	low := loads(t, x, haul.Ask{Rails: rail("dry sanded"), Places: []haul.Spot{{Slope: 0.03}}, Slowest: 18 / 3.6}).Entries[0]
	if low.Governs != haul.BoundRunning || high.Load >= low.Load {
		t.Errorf("at 3000 m %.0f t, at the sea %.0f t by %s", high.Load/1000, low.Load/1000, low.Governs)
	}
	// a dead unit is load, about its own mass on a grade; it is named
	if l := loads(t, dead, haul.Ask{}); !slices.Equal(l.Dead, []string{"Kite 11"}) || base-less["a dead unit"] < 88e3 {
		t.Errorf("dead %v displaces %.0f t", l.Dead, (base-less["a dead unit"])/1000)
	}
	// two pull more than one
	if two := loads(t, coupled(t, f, "Tern 3 lead, Kite 11 trail, 12 HX loaded, GV"), haul.Ask{}).Entries[0].Load; two < 1.4*base {
		t.Errorf("a Tern pulls %.0f t, with a Kite %.0f t", base/1000, two/1000)
	}
	for _, e := range loads(t, x, haul.Ask{Places: []haul.Spot{{Slope: 0.005}, {Slope: 0.01, Loop: 150}, {Slope: 0.03}}}).Entries {
		for _, b := range e.Bounds {
			if b.Bounds && b.Mass < e.Load {
				t.Errorf("%s is less than what governs, %s", b.Name, e.Governs)
			}
			if b.Unsaid == "" && b.Note == "" {
				t.Errorf("%s does not say from what", b.Name)
			}
		}
	}
}

// A coupling bears what stands behind it: a weak van at the tail bears itself alone, and the
// same van in front bears the train.
func TestDrawgearByPlace(t *testing.T) {
	f, _ := marram(t)
	bound := func(text string) haul.Bound {
		e := loads(t, coupled(t, f, text), haul.Ask{}).Entries[0]
		return e.Bounds[slices.IndexFunc(e.Bounds, func(b haul.Bound) bool { return b.Name == haul.BoundDrawgear })]
	}
	tail, front := bound("Tern 3 lead, 12 HX loaded, GV"), bound("Tern 3 lead, GV, 12 HX loaded")
	if !strings.Contains(tail.Note, "450 kN between Tern 3 and HX") || !strings.Contains(front.Note, "300 kN between Tern 3 and GV") || math.Abs(front.Mass/tail.Mass-300.0/450) > 1e-6 {
		t.Errorf("tail %+v, front %+v", tail, front)
	}
}

// The load is that with which the balance of forces closes: put back, the effort is used up.
func TestLoadBalances(t *testing.T) {
	f, _ := marram(t)
	x := coupled(t, f, "Tern 3 lead, 10 FG loaded")
	l := loads(t, x, haul.Ask{Places: []haul.Spot{{Slope: 1.0 / 45, Radius: 140}}})
	e := l.Entries[0]
	form := motion.CurveFormFor(1.067)
	grade := motion.Gravity * (1.0/45 + form.Specific(140))
	for _, b := range e.Bounds {
		if b.Name != haul.BoundRunning {
			continue
		}
		var wagons motion.Resistance
		mass := 0.0
		for i := range x.Vehicles[1:] {
			wagons = wagons.Plus(x.Vehicles[i+1].High)
			mass += x.Vehicles[i+1].Mass
		}
		pull := l.Engines[0].Machine.At(e.Speed, e.Rail.Adhesion).Effort
		held := x.Vehicles[0].High.At(e.Speed) + x.Vehicles[0].Mass*grade + b.Mass*(wagons.At(e.Speed)/mass+grade)
		if math.Abs(pull-held) > 1e-6*pull {
			t.Errorf("pull %.1f N, held %.1f N", pull, held)
		}
	}
}

// The ammeter of a Tern shows the motors of one string, that of a Kite its generator: the
// same motor current is a third against two.
func TestAmmeters(t *testing.T) {
	f, _ := marram(t)
	meter := func(x *haul.Train) (haul.Meter, float64) {
		e, err := haul.EngineOf(x.Consist, 0, haul.Mild())
		if err != nil {
			t.Fatal(err)
		}
		p, err := e.Machine.ContinuousPoint()
		if err != nil {
			t.Fatal(err)
		}
		return e.Meters(p)[0], p.Generator[0]
	}
	tern, kite := coupled(t, f, "Tern 3 lead, HX"), coupled(t, f, "Kite 11 lead, HX")
	if m, gen := meter(tern); m.Current != 640 || gen != 1920 {
		t.Errorf("Tern: %+v, generator %.0f A", m, gen)
	}
	if m, gen := meter(kite); m.Current != 1500 || gen != 1500 {
		t.Errorf("Kite: %+v, generator %.0f A", m, gen)
	}
	// with motors 2 and 5 cut out it reads nothing, as its record warns
	if m, gen := meter(put(t, tern, 0, "motor-cut-out", "2 and 5 out")); m.Reads || gen != 1280 {
		t.Errorf("Tern with 2 and 5 out: %+v, generator %.0f A", m, gen)
	}
	if m, _ := meter(put(t, kite, 0, "motor-cut-out", "bogie 1 out")); m.Current != 750 {
		t.Errorf("Kite with a bogie out: %+v", m)
	}
	// a string of the Tern lies over both bogies: a bogie of it cannot be cut out alone
	e, err := haul.EngineOf(tern.Consist, 0, haul.Mild())
	if err != nil {
		t.Fatal(err)
	}
	m := *e.Machine
	if m.Out = []int{1, 2, 3}; len(m.Live(0)) != 0 {
		t.Errorf("axles 1 to 3 out leave %v", m.Live(0))
	}
}

// The first axle to slip is the leading one, whichever end leads.
func TestSlippingOrder(t *testing.T) {
	f, _ := marram(t)
	x := coupled(t, f, "Tern 3 lead, HX")
	e, err := haul.EngineOf(x.Consist, 0, haul.Mild())
	if err != nil {
		t.Fatal(err)
	}
	for reversed, first := range map[bool]int{false: 1, true: 6} {
		if s, ok := e.Slipping(0.25, reversed); !ok || s[0].Axle != first {
			t.Errorf("reversed %v: %v", reversed, s)
		}
	}
}

// Both reckonings of a run agree within a part in a thousand, no energy is lost, no limit
// is passed, up the line and down.
func TestRunOverTheLine(t *testing.T) {
	f, l := marram(t)
	r, _ := motion.RailNamed("dry sanded")
	for _, w := range [][2]string{{"Port Ansell", "Quernhill"}, {"Quernhill", "Port Ansell"}, {"Teal Junction", "Heronsford"}} {
		x := coupled(t, f, "Tern 3 lead, Kite 11 trail, 20 HX loaded, GV")
		ran, err := x.Run(haul.Journey{Line: l, From: w[0], To: w[1], Rail: r, Sample: 50})
		if err != nil {
			t.Fatal(err)
		}
		if ran.Stalled || math.Abs(ran.Out.Reached-ran.Distance) > 1 {
			t.Errorf("%v: reached %.0f m of %.0f m", w, ran.Out.Reached, ran.Distance)
		}
		if ran.Disagree > 1e-3 {
			t.Errorf("%v: %.1f s by time, %.1f s by distance", w, ran.Out.Time, ran.Other.Time)
		}
		e := ran.Out.Energy
		if math.Abs(e.Drift) > 1e-3*e.Wheel {
			t.Errorf("%v: %.3g J of %.3g J are unaccounted for", w, e.Drift, e.Wheel)
		}
		// the rise of the way is what the weight gained, to what the train's length makes of it
		a, _ := l.Place(w[0])
		b, _ := l.Place(w[1])
		if want := x.Mass * motion.Gravity * (b.Height - a.Height); math.Abs(e.Grade-want) > x.Mass*motion.Gravity*4 {
			t.Errorf("%v: %.3g J against the grade, the heights say %.3g J", w, e.Grade, want)
		}
		for _, s := range ran.Out.Samples {
			if s.Speed > s.Ceiling+1e-6 {
				t.Fatalf("%v: %.2f m/s at %.0f m, %.2f m/s allowed", w, s.Speed, s.At, s.Ceiling)
			}
		}
		for _, s := range ran.Spent {
			if s.Fuel == nil || *s.Fuel <= 0 || *s.FuelLeft >= 3.7 {
				t.Errorf("%v: fuel of %s", w, s.Engine)
			}
		}
		for j, k := range ran.Coupling {
			if k.Limit == 0 || j == 1 && k.Pull < 50e3 {
				t.Errorf("%v: coupling %d: %+v", w, j, k)
			}
		}
	}
}

// A train too heavy for the grade stalls on it, and the place is named.
func TestStall(t *testing.T) {
	f, l := marram(t)
	r, _ := motion.RailNamed("wet")
	ran, err := coupled(t, f, "Brant 1 lead, 14 HX loaded").Run(haul.Journey{Line: l, From: "Heronsford", To: "Quernhill", Rail: r})
	if err != nil {
		t.Fatal(err)
	}
	if !ran.Stalled || ran.StallAt < 63e3 || ran.StallAt > 88e3 || !strings.Contains(ran.Near, " to ") {
		t.Errorf("stalled %v at %.0f m, %s", ran.Stalled, ran.StallAt, ran.Near)
	}
	// what is too heavy to start stalls where it stands
	ran, err = coupled(t, f, "Scoter 1 lead, 60 HX loaded").Run(haul.Journey{Line: l, From: "Heronsford", To: "Ruddle Loop", Rail: r})
	if err != nil {
		t.Fatal(err)
	}
	if !ran.Stalled || ran.StallAt != 63e3 || ran.Out.Time != 0 {
		t.Errorf("stalled %v at %.0f m after %.0f s", ran.Stalled, ran.StallAt, ran.Out.Time)
	}
}

// What a record does not state is named, and nothing is made up for it.
func TestHaulCannotSay(t *testing.T) {
	f, l := marram(t)
	x := coupled(t, f, "Tern 3 lead, 2 HX")
	for what, change := range map[string]func(c *fleet.Class){
		"running":            func(c *fleet.Class) { c.Running = nil },
		"traction":           func(c *fleet.Class) { c.Traction = nil },
		"mass":               func(c *fleet.Class) { c.Mass = 0 },
		"generator":          func(c *fleet.Class) { t := *c.Traction; t.Generators = nil; c.Traction = &t },
		"magnetisation":      func(c *fleet.Class) { t := *c.Traction; t.Field = nil; c.Traction = &t },
		"rotating mass":      func(c *fleet.Class) { r := *c.Running; r.Rotating = 0; c.Running = &r },
		"starting":           func(c *fleet.Class) { r := *c.Running; r.Starting = ""; c.Running = &r },
		"resistance for hau": func(c *fleet.Class) { r := *c.Running; r.Area = 0; c.Running = &r },
	} {
		class := x.Vehicles[0].Class
		kept := *class
		change(class)
		r, _ := motion.RailNamed("dry")
		_, err := haul.Of(x.Consist).Run(haul.Journey{Line: l, From: "Saltmarsh", To: "Teal Junction", Rail: r})
		*class = kept
		lacks, ok := err.(*haul.CannotSay)
		if !ok || !strings.Contains(lacks.Error(), what) || !strings.Contains(lacks.Error(), "Tern") {
			t.Errorf("without %s: %v", what, err)
		}
	}
	if _, err := coupled(t, f, "Tern 3 lead").Load(haul.Ask{}); err == nil || !strings.Contains(err.Error(), "wagon") {
		t.Errorf("a load without a wagon: %v", err)
	}
	if _, err := coupled(t, f, "Tern 3 hauled dead, Kite 11 hauled dead, HX").Load(haul.Ask{}); err == nil || !strings.Contains(err.Error(), "pulls") {
		t.Errorf("a load without a locomotive that pulls: %v", err)
	}
}

// The hardest grade of each section, with its curve; down the line nothing rises where it
// rose.
func TestSpots(t *testing.T) {
	_, l := marram(t)
	up, err := haul.Spots(l, "Heronsford", "Quernhill", motion.CurveFormFor(1.067))
	if err != nil || len(up) != 2 {
		t.Fatal(up, err)
	}
	if s := up[1]; math.Abs(s.Slope-1.0/45) > 1e-9 || s.Radius != 140 || s.Loop != 360 {
		t.Errorf("%+v", s)
	}
	down, err := haul.Spots(l, "Quernhill", "Heronsford", motion.CurveFormFor(1.067))
	if err != nil || down[0].Slope > 1e-9 {
		t.Errorf("%+v %v", down, err)
	}
}

// A brake application presses a train most where its brakes begin apart; more slack, more.
func TestRunInOfTheDemo(t *testing.T) {
	f, _ := marram(t)
	x := coupled(t, f, "Tern 3 lead, 8 HX, 4 HX loaded")
	js, err := x.Couplings()
	if err != nil || len(js) != len(x.Vehicles)-1 {
		t.Fatal(js, err)
	}
	class := x.Vehicles[1].Class
	kept := *class.Running
	r := kept
	r.Slack = 0
	class.Running = &r
	_, err = x.Couplings()
	class.Running = &kept
	if err == nil || !strings.Contains(err.Error(), "slack and draft gear in the running of class HX") {
		t.Errorf("%v", err)
	}
}

func benchTrains(b *testing.B) []*haul.Train {
	f, _ := marram(b)
	var out []*haul.Train
	for _, text := range []string{"Tern 3 lead, 20 HX loaded, GV", "Tern 3 lead, Kite 11 trail, 28 HX loaded", "Brant 1 lead, 12 FG", "Kite 11 lead, Kite 12 trail, 20 FG loaded", "Tern 3 lead, Brant 1 hauled dead, 12 HX"} {
		out = append(out, coupled(b, f, text))
	}
	return out
}

// 12 grades, 3 rails, 5 consists.
func BenchmarkLoadTable(b *testing.B) {
	xs := benchTrains(b)
	a := haul.Ask{Rails: motion.Rails()[:3]}
	for k := range 12 {
		a.Places = append(a.Places, haul.Spot{Slope: 1 / float64(400-30*k)})
	}
	for b.Loop() {
		for _, x := range xs {
			if _, err := x.Load(a); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// 88 km with 30 vehicles: one reckoning of the run, and the whole answer with the steady
// forces in its couplings.
func BenchmarkRun(b *testing.B) {
	f, l := marram(b)
	x := coupled(b, f, "Tern 3 lead, Kite 11 trail, 28 HX loaded")
	j := haul.Journey{Line: l, From: "Port Ansell", To: "Quernhill", Rail: motion.Rails()[0]}
	b.Run("speed", func(b *testing.B) {
		for b.Loop() {
			k, _, _, err := x.Task(j)
			if err != nil {
				b.Fatal(err)
			}
			k.Sample = 0
			if _, err := k.ByTime(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("with couplings", func(b *testing.B) {
		for b.Loop() {
			if _, err := x.Run(j); err != nil {
				b.Fatal(err)
			}
		}
	})
}
