package calibrate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"headstock/calibrate"
	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

func onDemo(t *testing.T, text, procedure string) (*consist.Consist, trial.Procedure) {
	t.Helper()
	f, _ := fleet.Read(demo.Railway())
	r, cs := rule.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	p, err := prove.Procedure(c, r, procedure)
	if err != nil {
		t.Fatal(err)
	}
	return c, p
}

// a place that is measured: an element of a vehicle of the consist.
type spot struct {
	vehicle int
	element string
}

// record is what a recorder at some places writes of a run with hidden figures: a pressure
// every so many seconds from the beginning of a step on, for so long, with noise of a
// standard deviation.
func record(t *testing.T, truth *consist.Consist, p trial.Procedure, step string, every, long, noise float64, places ...spot) []calibrate.Sample {
	t.Helper()
	res, err := trial.Run(truth, p, trial.Conditions{Curves: 0.05})
	if err != nil {
		t.Fatal(err)
	}
	begin := 0.0
	for _, m := range res.Marks {
		if m.Step == step {
			break
		}
		begin = m.Time
	}
	chance := rand.New(rand.NewPCG(7, 7))
	var out []calibrate.Sample
	for _, at := range places {
		for _, x := range res.Curves {
			if x.Vehicle != at.vehicle || x.Element != at.element {
				continue
			}
			for n := 0; float64(n)*every <= long; n++ {
				t := begin + float64(n)*every
				k := int(t/0.05 + 1e-6)
				part := (t - res.Times[k]) / 0.05
				v := x.Values[k] + (x.Values[k+1]-x.Values[k])*part
				out = append(out, calibrate.Sample{Step: step, Time: float64(n) * every, Vehicle: at.vehicle, Element: at.element, Pressure: v + noise*chance.NormFloat64()})
			}
		}
	}
	return out
}

func TestTry(t *testing.T) {
	c, p := onDemo(t, "Tern 3 lead", "service and release")
	hidden := map[string]float64{"distributor.fill bore": 1.43e-3, "distributor.release bore": 0.87e-3, "bogie-1-cylinders.travel": 0.108, "automatic-regulator.exhaust bore": 1.27e-3}
	truth, err := c.WithFigures(
		consist.OffRecord{Element: "distributor", Argument: "fill bore", SI: 1.43e-3},
		consist.OffRecord{Element: "distributor", Argument: "release bore", SI: 0.87e-3},
		consist.OffRecord{Element: "automatic-regulator", Argument: "exhaust bore", SI: 1.27e-3},
		consist.OffRecord{Element: "bogie-1-cylinders", Argument: "travel", SI: 0.108})
	if err != nil {
		t.Fatal(err)
	}
	q := calibrate.Inquiry{Consist: c, Procedure: p, Parameters: calibrate.Usual(c, 0), Samples: record(t, truth, p, prove.StepService, 0.5, 80, 500, spot{0, "brake-pipe"}, spot{0, "equalising-reservoir"}, spot{0, "bogie-1-cylinders"}, spot{0, "bogie-2-cylinders"})}
	f, err := q.Run()
	if err != nil {
		t.Fatal(err)
	}
	show(t, f, hidden)
}

func TestWagon(t *testing.T) {
	c, p := onDemo(t, "Tern 3 lead, HX 201 loaded", "service and release")
	truth, err := c.WithFigures(
		consist.OffRecord{Vehicle: 1, Element: "distributor", Argument: "fill bore", SI: 3.25e-3},
		consist.OffRecord{Vehicle: 1, Element: "distributor", Argument: "release bore", SI: 2.17e-3},
		consist.OffRecord{Vehicle: 1, Element: "distributor", Argument: "charge bore", SI: 1.83e-3},
		consist.OffRecord{Vehicle: 1, Element: "brake-pipe-leak", Argument: "bore", SI: 0.1e-3},
		consist.OffRecord{Vehicle: 1, Element: "cylinder", Argument: "travel", SI: 0.212})
	if err != nil {
		t.Fatal(err)
	}
	ss := record(t, truth, p, prove.StepService, 0.5, 80, 500, spot{0, "brake-pipe"}, spot{1, "brake-pipe"}, spot{1, "cylinder"})
	q := calibrate.Inquiry{Consist: c, Unit: 1, Procedure: p, Parameters: calibrate.Usual(c, 1), Samples: ss}
	f, err := q.Run()
	if err != nil {
		t.Fatal(err)
	}
	show(t, f, map[string]float64{"distributor.fill bore": 3.25e-3, "distributor.release bore": 2.17e-3, "distributor.charge bore": 1.83e-3, "brake-pipe-leak.bore": 0.1e-3, "cylinder.travel": 0.212})
}

func show(t *testing.T, f *calibrate.Fit, hidden map[string]float64) {
	t.Logf("before %.0f after %.0f overlaid %.0f scatter %.2f widened %.2f runs %d samples %d", f.Before, f.After, f.Overlaid, f.Scatter, f.Widened, f.Runs, f.Samples)
	for _, x := range f.Figures {
		h, ok := hidden[x.Name()]
		if !ok {
			h = x.Record.SI
		}
		in := "ok"
		if h < x.From || h > x.To {
			in = "MISSED"
		}
		t.Logf("%-45s %-14s %.4g true %.4g in %.4g..%.4g bounds %.4g..%.4g noise %.2g leap %.2g %s", x.Name(), x.Standing, x.Value, h, x.From, x.To, x.Low, x.High, x.Noise, x.Leap, in)
	}
	for _, g := range f.Tangles {
		t.Logf("tangle %s with %v", f.Figures[g.Held].Name(), g.With)
	}
	for _, p := range f.Places {
		t.Logf("%+v", p)
	}
	t.Logf("\n%s", f.Overlay("2026-11-25", "charge.csv"))
	_ = math.Pi
}
