package air

import (
	"fmt"
	"testing"

	"headstock/internal/outside"
)

const kgf = 98066.5 // Pa in 1 kgf/cm2, exact

// graduatedRig is a vehicle of air.md section 12 (75 L auxiliary, 4 L control reservoir,
// 300 mm cylinder with 120 mm travel) in goods position: chokes 1.5 mm and 1.45 mm.
func graduatedRig(t *testing.T) (rig, Node) {
	t.Helper()
	return graduatedWith(t, 1.5e-3, 1.45e-3)
}

// graduatedWith is that vehicle with a fill and a release choke (m).
func graduatedWith(t *testing.T, fill, discharge float64) (rig, Node) {
	return graduatedAs(t, fill, discharge, nil)
}

// graduatedRigWith is the vehicle in goods position, changed before it is compiled.
func graduatedRigWith(t *testing.T, change func(*Builder)) (rig, Node) {
	return graduatedAs(t, 1.5e-3, 1.45e-3, change)
}

func graduatedAs(t *testing.T, fill, discharge float64, change func(*Builder)) (rig, Node) {
	t.Helper()
	b := NewBuilder()
	var g rig
	g.pipe = b.Volume("brake pipe", 0.0129)
	mr := b.Source("supply", 9e5)
	g.led = b.Slot(0)
	b.Regulator(RegulatorSpec{Name: "lead", Supply: mr, Output: g.pipe, Slot: g.led, Control: -1, SupplyO: Hole(6e-3, 0.8), ExhO: Hole(6e-3, 0.8), Band: 3e3})
	g.ar = b.Volume("auxiliary", 0.075)
	cr := b.Volume("control reservoir", 0.004)
	g.cyl = b.Cylinder("cylinder", VariableVolume{V0: 1.5e-3, V1: 1.5e-3 + 0.07068583*0.12, Start: 15e3, Contact: 45e3})
	g.sw = b.GraduatedDistributor(GraduatedSpec{Name: "distributor", Pipe: g.pipe, Auxiliary: g.ar, Control: cr, Cylinder: g.cyl,
		Charge: Hole(2.5e-3, 0.8), ControlCharge: Hole(0.8e-3, 0.8), Fill: Hole(fill, 0.8), InShot: Hole(5e-3, 0.8), Discharge: Hole(discharge, 0.8),
		Gain: 2.714, Highest: 380e3, Offset: 5e3, Applies: 7e3, Reopens: 3e3, InShotTo: 60e3})
	if change != nil {
		change(b)
	}
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	g.net = net
	return g, cr
}

// Single-wagon limits, air.md 9.12 and 5.2 [P6]; limits.csv PRF-002 (highest cylinder
// pressure 3.7..3.9 kgf/cm2), fill 0 to 3.6 kgf/cm2 in 18..30 s, release to 0.4 kgf/cm2
// in 45..60 s; in passenger position PRF-001 (3..5 s) and the 15..20 s of a table of the web
// [P14]. Calibrated: the fill and release chokes were chosen to meet the times; the highest
// pressure is set by the cap. What is proved is that one set of chokes does both, and
// the two sensitivities below, which nothing was chosen for.
func TestGraduatedTimes_9_12(t *testing.T) {
	b := outside.Open(t)
	const band = "the band is the tolerance"
	for _, w := range []struct {
		position                string
		fill, discharge         float64 // m
		fillID, fillBy          string
		fillLow, fillHigh       float64 // s
		releaseBy               string
		releaseLow, releaseHigh float64
	}{
		{"goods", 1.5e-3, 1.45e-3, "9.12", "g-97", 18, 30, "g-97", 45, 60},
		{"passenger", 3.6e-3, 2.4e-3, "PRF-001", "coach-proforma", 3, 5, "uic-543", 15, 20},
	} {
		g, _ := graduatedWith(t, w.fill, w.discharge)
		r := g.charge(t, 500e3)
		r.Set(g.led, 340e3)
		start := r.Time()
		hit, err := r.AdvanceUntil(start+60, func() bool { return r.Gauge(g.cyl) >= 3.6*kgf }, nil)
		if err != nil || !hit {
			t.Fatalf("never filled: %v", err)
		}
		b.Hold(outside.Within(w.fillID, w.fillBy, "fill from nothing to 3.6 kgf/cm2, "+w.position, w.fillLow, w.fillHigh, r.Time()-start, "s", 0, band).As(outside.Calibrated))
		advance(t, r, r.Time()+60)
		b.Hold(outside.Within("PRF-002", "coach-proforma", "highest cylinder pressure, "+w.position, 3.7, 3.9, r.Gauge(g.cyl)/kgf, "kgf/cm2", 0, band).As(outside.Calibrated))
		r.Set(g.led, 500e3)
		start = r.Time()
		hit, err = r.AdvanceUntil(start+120, func() bool { return r.Gauge(g.cyl) <= 0.4*kgf }, nil)
		if err != nil || !hit {
			t.Fatalf("never released: %v", err)
		}
		b.Hold(outside.Within("9.12", w.releaseBy, "release from the highest to 0.4 kgf/cm2, "+w.position, w.releaseLow, w.releaseHigh, r.Time()-start, "s", 0, band).As(outside.Calibrated))
		if a := r.Audit(); a > 1e-9 {
			t.Errorf("audit %g", a)
		}
	}
}

// Sensitivity, PRF-004: a fall of 0.6 kgf/cm2 in 6 s must apply. Insensitivity, PRF-005:
// 0.3 kgf/cm2 in 60 s must not.
func TestSensitivity(t *testing.T) {
	b := outside.Open(t)
	g, _ := graduatedRig(t)
	for _, w := range []struct {
		id       string
		fall, in float64
		applies  bool
	}{{"PRF-004", 0.6, 6, true}, {"PRF-005", 0.3, 60, false}} {
		r := g.charge(t, 500e3)
		start := r.Time()
		for k := 1; k <= 120; k++ {
			r.Set(g.led, 500e3-w.fall*kgf*float64(k)/120)
			advance(t, r, start+w.in*float64(k)/120)
		}
		got := r.Gauge(g.cyl) > 10e3
		b.Hold(outside.Says(w.id, "coach-proforma", fmt.Sprintf("a fall of %g kgf/cm2 in %g s %s a graduated brake", w.fall, w.in, applies(w.applies)), got == w.applies))
	}
}

// A graduated brake lets go in steps and ends at a pressure that does not depend on
// piston travel.
func TestGraduatedRelease(t *testing.T) {
	g, _ := graduatedRig(t)
	r := g.charge(t, 500e3)
	last := -1.0
	for _, bp := range []float64{360e3, 400e3, 440e3, 470e3} {
		r.Set(g.led, bp)
		advance(t, r, r.Time()+120)
		now := r.Gauge(g.cyl)
		if last >= 0 && now > last-30e3 {
			t.Errorf("at %g kPa the cylinder holds %.0f kPa after %.0f", bp/1e3, now/1e3, last/1e3)
		}
		last = now
	}
}

func applies(yes bool) string {
	if yes {
		return "applies"
	}
	return "does not apply"
}
