package trial_test

import (
	"math"
	"os"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/trial"
)

// item is a point of the checklist of air.md section 11 that needs the records of
// locomotives; the others, and what the bands mean, are in air/checklist_test.go.
type item struct {
	of      string     // as docs/air.md lists it
	without string     // what is taken away
	see     string     // what is looked at, and in what
	shows   [2]float64 // between what it lies
	lacks   [2]float64 // and between what without
	run     func(x bench, without bool) float64
}

// bench runs consists of the demo railway, or of one changed for the item.
type bench struct {
	t testing.TB
	f *fleet.Fleet
}

func (x bench) consist(text string, changes ...string) *consist.Consist {
	x.t.Helper()
	c, err := consist.Parse(x.f, text)
	if err != nil {
		x.t.Fatal(err)
	}
	return x.moved(c, changes...)
}

func (x bench) moved(c *consist.Consist, changes ...string) *consist.Consist {
	x.t.Helper()
	for _, s := range changes {
		ch, err := c.ParseChange(s)
		if err == nil {
			c, err = c.With(ch)
		}
		if err != nil {
			x.t.Fatal(err)
		}
	}
	return c
}

func (x bench) run(c *consist.Consist, steps ...trial.Step) *trial.Result {
	x.t.Helper()
	r, err := trial.Run(c, trial.Procedure{Name: "checklist", Steps: steps}, trial.Conditions{})
	if err != nil {
		x.t.Fatal(err)
	}
	return r
}

// kPa is the gauge pressure of an element at the end of a step.
func (x bench) kPa(r *trial.Result, step string, vehicle int, element string) float64 {
	x.t.Helper()
	g, ok := r.Gauge(step, vehicle, element)
	if !ok {
		x.t.Fatalf("%s: no %s on vehicle %d", step, element, vehicle)
	}
	return g / 1e3
}

func if1(yes bool, s string) []string {
	if yes {
		return []string{s}
	}
	return nil
}

var (
	inf     = math.Inf(1)
	charged = trial.Step{ID: "charged", Do: []trial.Act{{Who: "lead", Run: true}}, For: 500, Read: true}
)

func reduce(kPa, wait float64) trial.Step {
	return trial.Step{ID: "reduced", Do: []trial.Act{{Who: "lead", Reduce: kPa * 1e3}}, For: wait, Read: true}
}

func do(id, who, what, to string, wait float64) trial.Step {
	return trial.Step{ID: id, Do: []trial.Act{{Who: who, What: what, To: to}}, For: wait, Read: true}
}

const bogie = "bogie-1-cylinders"

// A part at rest stays a hair above or below the pressure that it was going to.
const rounding = 1e-6

func TestChecklist(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	for _, c := range cs {
		t.Error(c)
	}
	text, err := os.ReadFile("../docs/air.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []item{
		{of: "main reservoir shared between units", without: "the joint of the main reservoir pipe", see: "kPa in the first reservoir of a trailing unit whose engine is stopped",
			shows: [2]float64{700, 870}, lacks: [2]float64{0, 1},
			run: func(x bench, without bool) float64 {
				c := x.consist("Tern 3 lead, Tern 4 trail shut down", if1(without, "Tern 3.main-reservoir-cock-2=closed")...)
				return x.kPa(x.run(c, charged), "charged", 1, "reservoir-1")
			}},
		{of: "empty and loaded position", without: "the empty position: loaded", see: "kPa in the cylinder of an empty wagon after full service",
			shows: [2]float64{50, 260}, lacks: [2]float64{300, 400},
			run: func(x bench, without bool) float64 {
				c := x.consist("Tern 3 lead, HX 201", if1(without, "HX 201.empty-load-lever=loaded")...)
				return x.kPa(x.run(c, charged, reduce(150, 60)), "reduced", 1, "cylinder")
			}},
		{of: "retainer of a wagon", without: "the retainer: direct", see: "kPa in the cylinder of a loaded wagon 5 min after the release",
			shows: [2]float64{100, 145}, lacks: [2]float64{-0.1, 2},
			run: func(x bench, without bool) float64 {
				c := x.consist("Tern 3 lead, HX 201 loaded", if1(!without, "HX 201.retainer=high-pressure")...)
				r := x.run(c, charged, reduce(150, 60), trial.Step{ID: "released", Do: []trial.Act{{Who: "lead", Run: true}}, For: 300})
				return x.kPa(r, "released", 1, "cylinder")
			}},
		{of: "overcharge after a change of lead", without: "the Kite's lower feed: 500 kPa as the Tern's", see: "kPa left in the cylinder of the last container wagon after a brake test with the new lead",
			shows: [2]float64{30, 100}, lacks: [2]float64{-0.1, 3},
			run: func(x bench, without bool) float64 { return x.overcharged(without) }},
		{of: "two automatic valves cut in", without: "the second one", see: "kPa that the pipe of the second unit is held above a reduction of 100 kPa",
			shows: [2]float64{5, 101}, lacks: [2]float64{-1, 1},
			run: func(x bench, without bool) float64 {
				var second []string
				if !without {
					second = []string{"Tern 4.automatic-cut-out=in", "Tern 4.automatic-handle=release"}
				}
				r := x.run(x.consist("Tern 3 lead, Tern 4 trail", second...), charged, reduce(100, 60))
				return x.kPa(r, "reduced", 1, "brake-pipe") - 400
			}},
		{of: "bail-off", without: "the press-down", see: "kPa in the cylinders of the lead 20 s after 100 kPa",
			shows: [2]float64{-0.1, 10}, lacks: [2]float64{150, 400},
			run: func(x bench, without bool) float64 {
				to := "pressed"
				if without {
					to = "free"
				}
				r := x.run(x.consist("Tern 3 lead, Tern 4 trail"), charged, reduce(100, 20), do("pressed", "lead", "quick-release", to, 10), do("free", "lead", "quick-release", "free", 10))
				return x.kPa(r, "free", 0, bogie)
			}},
		{of: "re-application after a bail-off", without: "the further reduction", see: "kPa in the cylinders of the lead",
			shows: [2]float64{45, 400}, lacks: [2]float64{-0.1, 10},
			run: func(x bench, without bool) float64 {
				by := 110.
				if without {
					by = 60
				}
				r := x.run(x.consist("Tern 3 lead, Tern 4 trail"), charged, reduce(60, 20), do("pressed", "lead", "quick-release", "pressed", 10), do("free", "lead", "quick-release", "free", 10),
					trial.Step{ID: "again", Do: []trial.Act{{Who: "lead", Reduce: by * 1e3}}, For: 30})
				return x.kPa(r, "again", 0, bogie)
			}},
		{of: "equalising of brake cylinders between units", without: "the pipe at the joint, closed", see: "kPa in the cylinders of the trailing unit after 100 kPa",
			shows: [2]float64{150, 400}, lacks: [2]float64{-0.1, 5},
			run: func(x bench, without bool) float64 {
				c := x.consist("Kite 11 lead, Kite 13 trail", if1(without, "Kite 13.third-pipe-cock-1=closed")...)
				return x.kPa(x.run(c, charged, reduce(100, 60)), "reduced", 1, bogie)
			}},
		{of: "three-pipe and four-pipe units", without: "the fourth pipe", see: "kPa that drag on the trailing unit after a bail-off of the lead",
			shows: [2]float64{-0.1, 10}, lacks: [2]float64{150, 400},
			run: func(x bench, without bool) float64 {
				text := "Tern 3 lead, Kite 14 trail"
				if without {
					text = "Tern 3 lead, Kite 11 trail"
				}
				r := x.run(x.consist(text), charged, reduce(100, 20), do("pressed", "lead", "quick-release", "pressed", 10), do("free", "lead", "quick-release", "free", 10))
				return x.kPa(r, "free", 1, bogie)
			}},
		{of: "a closed cock inside the train", without: "the closed cock", see: "kPa in the cylinder of the last wagon after 100 kPa",
			shows: [2]float64{-0.1, 5}, lacks: [2]float64{100, 400},
			run: func(x bench, without bool) float64 {
				c := x.consist("Tern 3 lead, 3 HX loaded")
				steps := []trial.Step{charged}
				if !without {
					steps = append(steps, do("shut", "HX 202", "brake-pipe-cock-2", "closed", 1))
				}
				return x.kPa(x.run(c, append(steps, reduce(100, 60))...), "reduced", 3, "cylinder")
			}},
		{of: "missing hose at a joint", without: "the missing hose", see: "kPa of independent brake on the trailing unit",
			shows: [2]float64{-0.1, 5}, lacks: [2]float64{200, 320},
			run: func(x bench, without bool) float64 {
				var off []string
				if !without {
					off = []string{"Tern 3.third-pipe-hose-2=hanging", "Tern 3.third-pipe-cock-2=closed"}
				}
				r := x.run(x.consist("Tern 3 lead, Tern 4 trail", off...), charged, do("straight", "lead", "independent-handle", "full", 30))
				return x.kPa(r, "straight", 1, bogie)
			}},
		{of: "crossed hoses", without: "the crossing", see: "kPa of independent brake on the trailing unit",
			shows: [2]float64{-0.1, 5}, lacks: [2]float64{200, 320},
			run: func(x bench, without bool) float64 {
				var crossed []string
				if !without {
					for _, end := range []string{"Tern 3.third-pipe-hose-2", "Tern 3.fourth-pipe-hose-2", "Tern 4.third-pipe-hose-1", "Tern 4.fourth-pipe-hose-1"} {
						crossed = append(crossed, end+"=crossed")
					}
				}
				c := x.consist("Tern 3 lead, Tern 4 trail", crossed...)
				return x.kPa(x.run(c, charged, do("straight", "lead", "independent-handle", "full", 30)), "straight", 1, bogie)
			}},
		{of: "dead-engine charging", without: "the dead-engine cock, shut", see: "kPa in the second reservoir of a unit hauled dead",
			shows: [2]float64{300, 500}, lacks: [2]float64{-0.1, 1},
			run: func(x bench, without bool) float64 {
				c := x.consist("Tern 3 lead, Kite 11 hauled dead", if1(without, "Kite 11.dead-engine-cock=closed")...)
				return x.kPa(x.run(c, charged), "charged", 1, "reservoir-2")
			}},
		{of: "draw of a dead unit on the brake pipe", without: "the dead-engine cock, shut", see: "kPa that the pipe, cut off after 150 s of charging, falls in a minute",
			shows: [2]float64{30, 400}, lacks: [2]float64{-20, 15},
			run: func(x bench, without bool) float64 {
				c := x.consist("Tern 3 lead, Kite 11 hauled dead", if1(without, "Kite 11.dead-engine-cock=closed")...)
				first := charged
				first.For = 150
				r := x.run(c, first, do("cut off", "lead", "automatic-cut-out", "out", 1), trial.Step{ID: "a minute", For: 60})
				return x.kPa(r, "cut off", 1, "brake-pipe") - x.kPa(r, "a minute", 1, "brake-pipe")
			}},
		{of: "emergency from a trailing cab", without: "the emergency cock, left shut", see: "kPa in the cylinders of the lead",
			shows: [2]float64{250, 450}, lacks: [2]float64{-0.1, 2},
			run: func(x bench, without bool) float64 {
				to := "open"
				if without {
					to = "closed"
				}
				r := x.run(x.consist("Tern 3 lead, Tern 4 trail"), charged, do("pulled", "Tern 4", "emergency-cock", to, 30))
				return x.kPa(r, "pulled", 0, bogie)
			}},
		{of: "vigilance and penalty vent", without: "the penalty cock, shut", see: "kPa left in the brake pipe half a minute after the vigilance device trips",
			shows: [2]float64{-0.1, 350}, lacks: [2]float64{470, 490},
			run: func(x bench, without bool) float64 {
				c := x.consist("Kite 11 lead, 2 HX", if1(without, "Kite 11.penalty-cock=closed")...)
				return x.kPa(x.run(c, charged, do("tripped", "lead", "vigilance-device", "tripped", 30)), "tripped", 2, "brake-pipe")
			}},
		{of: "gauges at the right tapping point", without: "the tapping on the equalising reservoir: on the brake pipe", see: "kPa that the gauge falls in 5 min with the valve cut out and a leak",
			shows: [2]float64{-0.5, 0.5}, lacks: [2]float64{3, 100},
			run: func(x bench, without bool) float64 {
				if without {
					x.f = altered(x.t, demo.Railway(), edit{"classes/tern/brake.yaml", "reads: equalising-reservoir", "reads: brake-pipe"})
				}
				r := x.run(x.consist("Tern 3 alone"), charged, do("cut off", "lead", "automatic-cut-out", "out", 30), trial.Step{ID: "later", For: 300, Read: true})
				return (x.gauge(r, "cut off") - x.gauge(r, "later")) / 1e3
			}},
		{of: "gauges with lag", without: "the lag of 2 s", see: "kPa that the gauge on the equalising reservoir is late, 2 s into an emergency",
			shows: [2]float64{20, 400}, lacks: [2]float64{-0.1, 0.1},
			run: func(x bench, without bool) float64 {
				if !without {
					x.f = altered(x.t, demo.Railway(), edit{"classes/tern/brake.yaml", "reads: equalising-reservoir", "reads: equalising-reservoir\n    lag: 2 s"})
				}
				r := x.run(x.consist("Tern 3 alone"), charged, do("emergency", "lead", "automatic-handle", "emergency", 2))
				return x.gauge(r, "emergency")/1e3 - x.kPa(r, "emergency", 0, "equalising-reservoir")
			}},
	} {
		t.Run(strings.ReplaceAll(x.of, " ", "_"), func(t *testing.T) {
			if !strings.Contains(string(text), "\n| "+x.of+" |") {
				t.Errorf("docs/air.md does not list %q", x.of)
			}
			if !(x.shows[0] > x.lacks[1] || x.shows[1] < x.lacks[0]) {
				t.Fatal("the bands with and without overlap: nothing is proved")
			}
			b := bench{t, f}
			with, lacking := x.run(b, false), x.run(b, true)
			t.Logf("%s: %.4g; without %s %.4g", x.see, with, x.without, lacking)
			if !(with >= x.shows[0]-rounding && with <= x.shows[1]) {
				t.Errorf("%s is %.4g, want %g to %g", x.see, with, x.shows[0], x.shows[1])
			}
			if !(lacking >= x.lacks[0]-rounding && lacking <= x.lacks[1]) {
				t.Errorf("without %s, %s is %.4g, want %g to %g", x.without, x.see, lacking, x.lacks[0], x.lacks[1])
			}
		})
	}
}

// gauge is what the gauge of the equalising reservoir of the lead shows, Pa.
func (x bench) gauge(r *trial.Result, step string) float64 {
	x.t.Helper()
	ds := r.Consist.Devices(0, "equalising-reservoir-gauge")
	if len(ds) != 1 {
		x.t.Fatalf("%d gauges of the equalising reservoir", len(ds))
	}
	g, ok := r.Reading(step, 0, ds[0].ID)
	if !ok {
		x.t.Fatalf("%s: the gauge shows nothing", step)
	}
	return g.Value
}

// overcharged is what is left in the cylinder of the last wagon, kPa, when a train that a
// Tern has charged is taken over by a Kite, whose feed stands 15 kPa lower, and the brake has been put on
// and off once.
func (x bench) overcharged(without bool) float64 {
	if without {
		x.f = altered(x.t, demo.Railway(), edit{"classes/kite/brake.yaml", "sets: 485 kPa", "sets: 500 kPa"})
	}
	c := x.consist("Tern 3 lead, Kite 11 trail, 4 FG")
	b, err := trial.NewBench(c, trial.Conditions{})
	if err != nil {
		x.t.Fatal(err)
	}
	first, err := b.Run(c, trial.Procedure{Name: "the Tern leads", Steps: []trial.Step{charged, reduce(100, 40)}}, nil)
	if err != nil {
		x.t.Fatal(err)
	}
	m, _ := first.At("reduced")
	c, err = c.WithLead(1)
	if err != nil {
		x.t.Fatal(err)
	}
	r, err := b.Run(c, trial.Procedure{Name: "the Kite leads", Steps: []trial.Step{
		// the cab that is cut in has an empty equalising reservoir and dumps the pipe
		do("dumped", "lead", "automatic-handle", "emergency", 20),
		{ID: "released", Do: []trial.Act{{Who: "lead", Run: true}}, For: 300},
		{ID: "reduced", Do: []trial.Act{{Who: "lead", Reduce: 100e3}}, For: 60},
		{ID: "released again", Do: []trial.Act{{Who: "lead", Run: true}}, For: 300},
	}}, m)
	if err != nil {
		x.t.Fatal(err)
	}
	return x.kPa(r, "released again", 5, "cylinder")
}
