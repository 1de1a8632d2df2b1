package prove_test

import (
	"math"
	"os"
	"testing"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/trial"
)

// blowDown fills a vessel to 500 kPa, shuts it, and lets it blow through its hole.
const blowSeconds = 10.0

func blowDown() trial.Procedure {
	return trial.Procedure{Name: "blow-down", Steps: []trial.Step{
		{ID: "full", For: 300, Read: true},
		{ID: "shut", Do: []trial.Act{{Who: "lead", What: "feed", To: "closed"}}, For: 1, Read: true},
		{ID: "blown", Do: []trial.Act{{Who: "lead", What: "blow", To: "open"}}, For: blowSeconds, Read: true},
	}}
}

// vessel studies the fixture with finely stepped air, so that what is left is the model.
func vessel(t *testing.T, p trial.Procedure, samples int, seed uint64) (*trial.Result, *prove.Study) {
	t.Helper()
	f, cs := fleet.Read(os.DirFS("testdata/spread"))
	for _, c := range cs {
		t.Fatal(c)
	}
	cond := trial.Conditions{Tolerance: 0.5}
	r, err := trial.Run(set(t, f, "Vessel 1 alone", ""), p, cond)
	if err != nil {
		t.Fatal(err)
	}
	s, err := prove.Spreads(r, cond, samples, seed)
	if err != nil {
		t.Fatal(err)
	}
	return r, s
}

func spreadOf(t *testing.T, s *prove.Study, step, device string) prove.Spread {
	t.Helper()
	for _, x := range s.Readings {
		if x.Step == step && x.Device == device {
			return x
		}
	}
	t.Fatalf("no reading of %s at %s", device, step)
	return prove.Spread{}
}

// A vessel of volume V that blows through a hole while choked loses mass at C·ρ0·p with
// C = 0.1992·Cd·A (ISO 6358; C in dm3/(s bar), A in mm2) and ρ0 = 1.185 kg/m3 at the
// vessel's own 293.15 K. Isothermal, m = pV/RT, so
//
//	p(t) = p0·exp(−C·ρ0·R·T·t/V), C proportional to the square of the bore.
//
// A hole of 2 mm ± 0.1 mm therefore gives the ends of the band in closed form, and every
// sample lies between them. It stays choked (critical ratio 0.5) above 203 kPa absolute.
// Steps of 0.5 Pa leave 0.1 %.
func TestSpreadOfABlowDown(t *testing.T) {
	r, s := vessel(t, blowDown(), 8, 1)
	full, _ := r.Reading("shut", 0, "vessel-gauge")
	const atm, gas, temp, volume = 101325.0, 287.05, 293.15, 0.010
	after := func(bore float64) float64 {
		c := 0.1992 * 0.8 * math.Pi / 4 * bore * bore * 1e6 * 1e-8
		p := (full.Value + atm) * math.Exp(-c*1.185*gas*temp*blowSeconds/volume)
		if p < 2*atm {
			t.Fatalf("not choked to the end: %.0f Pa", p)
		}
		return p - atm
	}
	x := spreadOf(t, s, "blown", "vessel-gauge")
	low, high := after(2.1e-3), after(1.9e-3)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-3*(want+atm) {
			t.Errorf("%s: %.0f Pa, want %.0f", what, got, want)
		}
	}
	near("as written", x.Nominal, after(2e-3))
	near("lower end", x.Over.Low, low)
	near("upper end", x.Over.High, high)
	if x.Drawn.Low < x.Over.Low || x.Drawn.High > x.Over.High || x.Drawn.High-x.Drawn.Low < (high-low)/4 {
		t.Errorf("the samples lie in %.0f..%.0f of %.0f..%.0f", x.Drawn.Low, x.Drawn.High, x.Over.Low, x.Over.High)
	}
	// the gauge errs by 15 kPa
	if x.Band.Low != x.Over.Low-15e3 || x.Band.High != x.Over.High+15e3 {
		t.Errorf("band %.0f..%.0f, want 15 kPa beyond %.0f..%.0f", x.Band.Low, x.Band.High, x.Over.Low, x.Over.High)
	}
	if len(x.Effects) != 1 || s.Parameters[x.Effects[0].Parameter].Element != "vessel-hole" || x.Effects[0].Share != 1 {
		t.Fatalf("effects %+v, want the hole alone", x.Effects)
	}
	near("effect of the wider hole", x.Nominal+x.Effects[0].Plus, low)
	near("effect of the narrower hole", x.Nominal+x.Effects[0].Minus, high)

	// what no spread reaches keeps the band of its gauge
	still := spreadOf(t, s, "shut", "still-gauge")
	if still.Over.High-still.Over.Low > 1 || math.Abs(still.Band.High-still.Band.Low-30e3) > 1 || still.Effects != nil {
		t.Errorf("a vessel that nothing reaches: %+v", still)
	}
}

// A relay gives ratio × control + offset. With the control at 300 kPa ± 10 kPa, the ratio
// 1.5 and the offset 20 kPa ± 2 kPa it gives 470 kPa ± 17 kPa: 15 from the one, 2 from the
// other, shares 15/17 and 2/17, and both at once move it by their sum.
func TestSpreadsAddUp(t *testing.T) {
	r, s := vessel(t, blowDown(), 1, 1)
	x := spreadOf(t, s, "full", "sum-gauge")
	if math.Abs(x.Nominal-470e3) > 5 || len(x.Effects) != 2 {
		t.Fatalf("%+v, want 470 kPa and two effects", x)
	}
	sum := 0.0
	var both []consist.OffRecord
	for n, w := range []struct {
		element string
		swing   float64
	}{{"part-regulator", 15e3}, {"sum-relay", 2e3}} {
		e := x.Effects[n]
		q := s.Parameters[e.Parameter]
		if q.Element != w.element || math.Abs(e.Plus-w.swing) > 5 || math.Abs(e.Minus+w.swing) > 5 || math.Abs(e.Share-w.swing/17e3) > 1e-3 {
			t.Errorf("%s: %+v, want ± %g", q.Element, e, w.swing)
		}
		sum += e.Plus
		both = append(both, consist.OffRecord{Vehicle: 0, Element: q.Element, Argument: q.Argument, SI: q.Value + q.Spread})
	}
	c, err := r.Consist.WithFigures(both...)
	if err != nil {
		t.Fatal(err)
	}
	up, err := trial.Run(c, r.Procedure, trial.Conditions{Tolerance: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	if g, _ := up.Reading("full", 0, "sum-gauge"); math.Abs(g.Value-x.Nominal-sum) > 5 {
		t.Errorf("both at once move it by %.1f Pa, one after the other by %.1f", g.Value-x.Nominal, sum)
	}
}
