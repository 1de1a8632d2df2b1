package air

import "testing"

// Direct and graduated vehicles on one pipe (air.md sections 5.1 and 5.2): brought up half way
// after an application, the direct brake goes wholly off while the graduated one follows; brought down
// again before recharge the direct one has less to give, and the graduated one does not.
func TestDirectAndGraduatedOnOnePipe(t *testing.T) {
	b := NewBuilder()
	mr := b.Source("supply", 9e5)
	led := b.Slot(0)
	pipe := b.Volume("brake pipe", 0.0258)
	b.Regulator(RegulatorSpec{Name: "lead", Supply: mr, Output: pipe, Slot: led, Control: -1, SupplyO: Hole(8e-3, 0.8), ExhO: Hole(8e-3, 0.8), Band: 3e3})
	ar := b.Volume("auxiliary", 0.041)
	direct := b.Cylinder("cylinder", VariableVolume{V0: 2e-3, V1: 2e-3 + 0.0507*0.2, Start: 15e3, Contact: 45e3})
	b.DirectDistributor(DirectSpec{Name: "direct", Pipe: pipe, Auxiliary: ar, Cylinder: direct, EmergencyReservoir: -1, Vent: -1,
		Charge: Hole(1.8e-3, 0.8), Fill: Hole(3.2e-3, 0.8), Discharge: Hole(2.2e-3, 0.8), Applies: 8e3, Laps: 1e3, Wide: 5e3, ReleaseDiff: 10e3})
	ar2, cr := b.Volume("auxiliary", 0.075), b.Volume("control reservoir", 0.004)
	graduated := b.Cylinder("cylinder", VariableVolume{V0: 1.5e-3, V1: 1.5e-3 + 0.07068583*0.12, Start: 15e3, Contact: 45e3})
	b.GraduatedDistributor(GraduatedSpec{Name: "graduated", Pipe: pipe, Auxiliary: ar2, Control: cr, Cylinder: graduated,
		Charge: Hole(2.5e-3, 0.8), ControlCharge: Hole(0.8e-3, 0.8), Fill: Hole(1.5e-3, 0.8), InShot: Hole(5e-3, 0.8), Discharge: Hole(1.45e-3, 0.8),
		Gain: 2.714, Highest: 380e3, Offset: 5e3, Applies: 7e3, Reopens: 3e3, InShotTo: 60e3})
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(Usual())
	to := func(p, wait float64) (d, g float64) {
		r.Set(led, p)
		advance(t, r, r.Time()+wait)
		return r.Gauge(direct), r.Gauge(graduated)
	}
	to(500e3, 900)
	d1, g1 := to(390e3, 60)
	if d1 < 100e3 || g1 < 200e3 {
		t.Fatalf("applied: direct %.0f, graduated %.0f kPa", d1/1e3, g1/1e3)
	}
	d2, g2 := to(430e3, 70)
	if d2 > 10e3 {
		t.Errorf("half way up the direct brake still holds %.0f kPa", d2/1e3)
	}
	if g2 < 0.3*g1 || g2 > 0.8*g1 {
		t.Errorf("half way up the graduated brake holds %.0f of %.0f kPa", g2/1e3, g1/1e3)
	}
	d3, g3 := to(390e3, 60)
	if d3 > 0.75*d1 {
		t.Errorf("again without recharge the direct brake gives %.0f of %.0f kPa", d3/1e3, d1/1e3)
	}
	if g3 < 0.97*g1 {
		t.Errorf("again the graduated brake gives %.0f of %.0f kPa", g3/1e3, g1/1e3)
	}
	if a := r.Audit(); a > 1e-9 {
		t.Errorf("audit %g", a)
	}
}
