package air

import (
	"testing"

	"headstock/internal/outside"
)

// engine is an engine brake of the two older arrangements that the examination questions
// break pipe by pipe (air.md 6.2 [P15], rows MUA-021 to MUA-026).
//
//	distributor ── brake cylinder pipe ── double check ── cylinder        (separate)
//	independent ── its pipe ──────────────┘
//
//	distributor ── control cylinder ── relay (from the main reservoir) ── cylinder (distributing)
//	     │               └─ control pipe ── independent valve, whose release position vents it
//	     └─ release pipe ── driver's valve, which shuts it in holding
//
// A break is an opening of the bore of the pipe.
type engine struct {
	net                              *Network
	led, independent                 Slot
	holding                          Slot // 1: the end of the release pipe is open
	release                          Slot // 1: the independent valve stands in release
	automatic, own, control, relPipe Slot // breaks
	cylinderPipe                     Slot
	branch, controlCock, supplyCock  Slot // 1: open
	cyl, mr                          Node
}

func newEngine(t *testing.T, distributing bool) engine { return newEngineWith(t, distributing, nil) }

func newEngineWith(t *testing.T, distributing bool, change func(*Builder)) engine {
	t.Helper()
	b := NewBuilder()
	var e engine
	slot := func(v float64) Slot { return b.Slot(v) }
	e.led, e.independent, e.holding, e.release = slot(0), slot(0), slot(1), slot(0)
	e.automatic, e.own, e.control, e.relPipe, e.cylinderPipe = slot(0), slot(0), slot(0), slot(0), slot(0)
	e.branch, e.controlCock, e.supplyCock = slot(1), slot(1), slot(1)
	broken := Hole(15e-3, 0.8)
	cut := func(n Node, s Slot) { b.Guard(b.Passage("break", n, Atmosphere, broken), s) }
	way := func(from, to Node, bore float64, s Slot) { b.Guard(b.Passage("way", from, to, Hole(bore, 0.8)), s) }

	e.mr = b.Volume("main reservoir", 0.8)
	b.Pump("compressor", e.mr, 2.4/60, e.mr, 750e3, 850e3)
	pipe := b.Volume("brake pipe", 0.0129)
	b.Regulator(RegulatorSpec{Name: "lead", Supply: e.mr, Output: pipe, Slot: e.led, Control: -1, SupplyO: Hole(5e-3, 0.8), ExhO: Hole(5e-3, 0.8), Band: 3e3})
	branch := b.Volume("branch", 1e-3)
	way(pipe, branch, 12e-3, e.branch)
	chamber := b.Volume("pressure chamber", 3.75e-3)
	chest := b.Volume("cylinder pipe of the distributor", 1e-3)
	exhaust := b.Volume("release pipe", 0.3e-3)
	b.DirectDistributor(DirectSpec{Name: "distributor", Pipe: branch, Auxiliary: chamber, Cylinder: chest, Exhaust: exhaust, EmergencyReservoir: -1, Vent: -1,
		Charge: Hole(1e-3, 0.8), Fill: Hole(2e-3, 0.8), Discharge: Hole(2e-3, 0.8), Applies: 8e3, Laps: 1e3, Wide: 5e3, ReleaseDiff: 10e3})
	way(exhaust, Atmosphere, 6e-3, e.holding)
	cut(exhaust, e.relPipe)
	cut(chest, e.automatic)
	ind := b.Volume("independent", 0.5e-3)
	b.Regulator(RegulatorSpec{Name: "independent", Supply: e.mr, Output: ind, Slot: e.independent, Control: -1, SupplyO: Hole(4e-3, 0.8), ExhO: Hole(4e-3, 0.8), Band: 5e3, DeadBand: 2e3})
	cut(ind, e.own)
	if !distributing {
		// small cylinders, so that the chamber of this fixture fills them
		e.cyl = b.Cylinder("cylinder", VariableVolume{V0: 0.1e-3, V1: 0.4e-3, Start: 15e3, Contact: 45e3})
		b.DoubleCheck("double check", chest, ind, e.cyl, Hole(6e-3, 0.8), 5e3)
		if change != nil {
			change(b)
		}
		net, err := b.Compile()
		if err != nil {
			t.Fatal(err)
		}
		e.net = net
		return e
	}
	application := b.Volume("control cylinder", 0.5e-3)
	b.DoubleCheck("into the control cylinder", chest, ind, application, Hole(6e-3, 0.8), 5e3)
	controlPipe := b.Volume("control pipe", 0.2e-3)
	way(chest, controlPipe, 8e-3, e.controlCock)
	way(controlPipe, Atmosphere, 5e-3, e.release)
	cut(controlPipe, e.control)
	supply := b.Volume("supply of the relay", 1e-3)
	way(e.mr, supply, 12e-3, e.supplyCock)
	e.cyl = b.Cylinder("cylinder", VariableVolume{V0: 3e-3, V1: 16e-3, Start: 15e3, Contact: 45e3})
	b.Regulator(RegulatorSpec{Name: "relay", Supply: supply, Output: e.cyl, Slot: -1, Control: application, Ratio: 1, SupplyO: Hole(8e-3, 0.8), ExhO: Hole(8e-3, 0.8), Band: 6e3, DeadBand: 3e3})
	cut(e.cyl, e.cylinderPipe)
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	e.net = net
	return e
}

// charged is the engine at 70 psi, with a setting that stands from the beginning.
func (e engine) charged(t *testing.T, set ...Slot) *Run {
	t.Helper()
	r := e.net.NewRun(Usual())
	r.Fill(e.mr, 850e3+Standard)
	r.Set(e.led, 70*psi)
	r.Advance(300)
	for _, s := range set {
		r.Set(s, 1)
	}
	r.Advance(330)
	return r
}

// automatic is what 20 psi from the driver's valve bring, independent what its own valve does.
func (e engine) applied(r *Run) float64 {
	r.Set(e.led, 50*psi)
	r.Advance(r.Time() + 40)
	return r.Gauge(e.cyl) / psi
}

func (e engine) straight(r *Run) float64 {
	r.Set(e.independent, 40*psi)
	r.Advance(r.Time() + 40)
	return r.Gauge(e.cyl) / psi
}

// What is lost and what is kept when a pipe of the engine brake breaks.
func TestBrokenPipes_6_2(t *testing.T) {
	b := outside.Open(t)
	const by = "tea-questions"
	const off, on = 2.0, 10.0 // psi: blocks off, blocks on
	says := func(id, what string, ours bool) { b.Hold(outside.Says(id, by, what, ours)) }

	sep := newEngine(t, false)
	if a, i := sep.applied(sep.charged(t)), sep.straight(sep.charged(t)); a < on || i < on {
		t.Fatalf("sound: automatic %.1f, independent %.1f psi", a, i)
	}
	says("MUA-022", "cylinder pipe broken between control valve and double check: automatic lost", sep.applied(sep.charged(t, sep.automatic)) < off)
	says("MUA-022", "and independent kept", sep.straight(sep.charged(t, sep.automatic)) > on)
	says("MUA-023", "cylinder pipe broken between independent valve and double check: independent lost", sep.straight(sep.charged(t, sep.own)) < off)
	says("MUA-023", "and automatic kept", sep.applied(sep.charged(t, sep.own)) > on)
	plugged := func() *Run { r := sep.charged(t); r.Set(sep.branch, 0); return r }
	says("MUA-025", "brake pipe branch broken and plugged: automatic lost on the unit", sep.applied(plugged()) < off)
	says("MUA-025", "and independent kept", sep.straight(plugged()) > on)

	dis := newEngine(t, true)
	if a := dis.applied(dis.charged(t)); a < on {
		t.Fatalf("sound: %.1f psi", a)
	}
	says("MUA-024", "control cylinder pipe broken: automatic brake of the locomotive lost", dis.applied(dis.charged(t, dis.control)) < off)
	shut := func() *Run { r := dis.charged(t, dis.control); r.Set(dis.controlCock, 0); return r }
	says("MUA-024", "plugged: automatic is back", dis.applied(shut()) > on)
	released := func(r *Run) float64 {
		dis.applied(r)
		r.Set(dis.release, 1)
		r.Advance(r.Time() + 20)
		return r.Gauge(dis.cyl) / psi
	}
	says("MUA-024", "whole, the independent valve releases it", released(dis.charged(t)) < off)
	says("MUA-024", "plugged, the independent release is lost", released(shut()) > on)

	// release pipe: with it whole, holding keeps the locomotive's brake while the train releases
	held := func(r *Run) float64 {
		dis.applied(r)
		r.Set(dis.holding, 0)
		r.Set(dis.led, 70*psi)
		r.Advance(r.Time() + 40)
		return r.Gauge(dis.cyl) / psi
	}
	says("MUA-021", "whole, the locomotive brake holds while the train releases", held(dis.charged(t)) > on)
	says("MUA-021", "release pipe broken: it releases with the valve in holding", held(dis.charged(t, dis.relPipe)) < off)

	// cylinder pipe broken and not plugged: main air is lost at each application until the supply is shut
	loss := func(r *Run) float64 {
		before := r.Gauge(dis.mr)
		r.Set(dis.led, 50*psi)
		r.Advance(r.Time() + 10)
		return (before - r.Gauge(dis.mr)) / psi
	}
	says("MUA-026", "cylinder pipe broken and not plugged: main air is lost when the train brake is applied", loss(dis.charged(t, dis.cylinderPipe)) > 10)
	closed := dis.charged(t, dis.cylinderPipe)
	closed.Set(dis.supplyCock, 0)
	says("MUA-026", "and is kept once the cock of the supply pipe is closed", loss(closed) < 1)
}
