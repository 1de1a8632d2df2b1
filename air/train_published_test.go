package air

import (
	"fmt"
	"math"
	"testing"

	"headstock/internal/outside"
)

// line is a train on one brake pipe: each vehicle has 15 m of 32 mm pipe, in three parts (air.md 9.16: 50 ft of
// 1¼ in), a branch of its own, and the direct equipment of air.md section 12.
type line struct {
	net      *Network
	led      Slot // pressure of the lead's valve, gauge
	cut      Slot // 1: the lead's valve feeds and exhausts
	vent     Slot // how far the head stands open to the air
	gap      Slot // how far the cock before the last vehicle is open
	pipe     []Node
	ar, cyl  []Node
	supply   Node
	vents    []Switch
	blows    []Edge // of the vents
	in, out  Edge   // feed and exhaust of the lead's valve
	vehicles int
}

type lineSpec struct {
	vehicles int
	vent     bool           // each vehicle vents its own pipe on a quick fall
	bulb     bool           // each vehicle takes a bulb of pipe air at the first move
	retard   bool           // the release is retarded while the pipe stands 3 psi above the reservoir
	change   func(*Builder) // what a test takes away
	length   float64        // of a vehicle, m; 0: 15
	bore     float64        // of the pipe, m; 0: 32 mm
	pump     bool           // the lead is fed from 800 l and a compressor of 2.4 m3/min, else from a source
}

func newLine(t *testing.T, s lineSpec) line {
	t.Helper()
	b := NewBuilder()
	l := line{vehicles: s.vehicles}
	if s.length == 0 {
		s.length = 15
	}
	if s.bore == 0 {
		s.bore = 0.032
	}
	if s.pump {
		l.supply = b.Volume("main reservoir", 0.8)
		b.Pump("compressor", l.supply, 2.4/60, l.supply, 750e3, 850e3)
	} else {
		l.supply = b.Source("supply", 850e3+Standard)
	}
	l.led, l.cut, l.vent, l.gap = b.Slot(0), b.Slot(1), b.Slot(0), b.Slot(1)
	head := b.Volume("head", 0.0129)
	relay := Orifice{18e-8, 0.4}
	in, out := b.Regulator(RegulatorSpec{Name: "lead", Supply: l.supply, Output: head, Slot: l.led, Control: -1, SupplyO: relay, ExhO: relay, Band: 6e3})
	l.in, l.out = in, out
	b.Guard(in, l.cut)
	b.Guard(out, l.cut)
	b.Guard(b.Passage("head vent", head, Atmosphere, Hole(0.025, 0.8)), l.vent)
	last := head
	for i := range s.vehicles {
		part := func(from Node, loss float64) (Node, Edge) {
			n := b.PipeVolume("pipe", s.bore, s.length/3, 1e-4)
			return n, b.Pipe("pipe", from, n, s.bore, s.length/3, 1e-4, loss)
		}
		p, e := part(last, 2)
		if i == s.vehicles-1 {
			b.Guard(e, l.gap)
		}
		p, _ = part(p, 0)
		last, _ = part(p, 0)
		branch := b.Volume("branch", 1.05e-3)
		b.Passage("branch pipe", p, branch, Hole(0.018, 0.8))
		ar, er := b.Volume("auxiliary", 0.041), b.Volume("emergency reservoir", 0.0574)
		cyl := b.Cylinder("cylinder", VariableVolume{V0: 2e-3, V1: 2e-3 + 0.0507*0.2, Start: 15e3, Contact: 45e3})
		d := DirectSpec{Name: "distributor", Pipe: branch, Auxiliary: ar, Cylinder: cyl, EmergencyReservoir: er, Vent: -1,
			Charge: Hole(1.8e-3, 0.8), EmergencyCharge: Hole(1.5e-3, 0.8), Fill: Hole(3.2e-3, 0.8), Discharge: Hole(2.2e-3, 0.8),
			Applies: 8e3, Laps: 1e3, Wide: 5e3, ReleaseDiff: 10e3}
		if s.vent {
			var way Edge
			d.Vent, way = b.VentValve("vent", branch, Hole(0.014, 0.8), 90e3, 30e3, 30e3)
			l.vents, l.blows = append(l.vents, d.Vent), append(l.blows, way)
		}
		if s.bulb {
			d.Bulb, d.BulbO = 0.6e-3, Hole(3e-3, 0.8)
		}
		if s.retard {
			d.Retarded, d.Retards = Hole(1.2e-3, 0.8), 3*psi
		}
		b.DirectDistributor(d)
		l.pipe, l.ar, l.cyl = append(l.pipe, p), append(l.ar, ar), append(l.cyl, cyl)
	}
	if s.change != nil {
		s.change(b)
	}
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	l.net = net
	return l
}

// charged is a run of the line at rest with everything on the pipe at a gauge pressure.
func (l line) charged(t *testing.T, gauge float64) *Run {
	t.Helper()
	r := l.net.NewRun(warm())
	for n := range l.net.nodes {
		switch l.net.nodes[n].name {
		case "head", "pipe", "branch", "auxiliary", "emergency reservoir":
			r.Fill(Node(n), gauge+Standard)
		case "main reservoir":
			r.Fill(Node(n), 850e3+Standard)
		}
	}
	r.Set(l.led, gauge)
	if err := r.Advance(5); err != nil {
		t.Fatal(err)
	}
	return r
}

// warm is how trains are run.
func warm() Conditions {
	c := Usual()
	c.Air = PipeTemperatures
	return c
}

func until(t *testing.T, r *Run, most float64, stop func() bool) float64 {
	t.Helper()
	start := r.Time()
	hit, err := r.AdvanceUntil(start+most, stop, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !hit {
		return math.Inf(1)
	}
	return r.Time() - start
}

// first is when the last cylinder shows 20 kPa.
func (l line) first(t *testing.T, r *Run) float64 {
	return until(t, r, 60, func() bool { return r.Gauge(l.cyl[l.vehicles-1]) > 20e3 })
}

// Propagation, air.md 9.14. The first quick-action valve brought the emergency through a train of fifty
// cars in 6 s where the plain one took 20 s [P20]. Feet a second are of a weak source [P7].
// The vents are those of air.md section 12, whose trip was chosen against a service
// reduction and not against these times; the chokes are engineering choices.
//
// The memoir does not say when a brake counts as applied. Speeds are to the first pressure
// in the last cylinder, as rules define them (air.md 5.3). Seconds are to 95 % of the 50 psi at
// which 70 psi equalises, the mark of test sheets (air.md 5.2): that is the later reading, and the nearer one.
func TestPropagation_9_14(t *testing.T) {
	b := outside.Open(t)
	emergency := func(s lineSpec) (first, full float64) {
		s.vehicles = 50
		l := newLine(t, s)
		r := l.charged(t, 70*psi)
		r.Set(l.cut, 0)
		r.Set(l.vent, 1)
		first = l.first(t, r)
		return first, first + until(t, r, 60, func() bool { return r.Gauge(l.cyl[49]) > 0.95*50*psi })
	}
	const car = 38 * 0.3048
	firstPlain, plain := emergency(lineSpec{})
	quick, quickFull := emergency(lineSpec{vent: true, bulb: true})
	later, _ := emergency(lineSpec{vent: true, bulb: true, length: car})
	// the pipes of the time: 1 in and 1¼ in, cars of 38 ft to 50 ft (from memory)
	_, least := emergency(lineSpec{length: car})
	_, most := emergency(lineSpec{bore: 0.0254})
	// the first quick-action valve: the vent leads into the cylinder past a check (from memory)
	inward := func(bore float64) float64 {
		_, full := emergency(lineSpec{vent: true, change: func(b *Builder) {
			var cylinders []Node
			for n := range b.nodes {
				if b.nodes[n].cyl != nil {
					cylinders = append(cylinders, Node(n))
				}
			}
			b.each("vent", func(e *edge) {
				if e.name == "vent" {
					e.kind, e.to, e.o, cylinders = checkEdge, cylinders[0], Hole(bore, 0.8), cylinders[1:]
				}
			})
		}})
		return full
	}
	wide, narrow := inward(14e-3), inward(10e-3)
	if !(least < plain && plain < most) {
		t.Errorf("a shorter, wider pipe gives %.1f s, ours %.1f s, a longer, narrower one %.1f s", least, plain, most)
	}
	applied := func(bulb bool) float64 {
		l := newLine(t, lineSpec{vehicles: 50, vent: true, bulb: bulb})
		r := l.charged(t, 70*psi)
		start := r.Time()
		at := math.Inf(1)
		for k := 1; k <= 400 && math.IsInf(at, 1); k++ {
			r.Set(l.led, 70*psi-math.Min(10*psi, 25e3*float64(k)*0.05))
			at = start + until(t, r, 0.05, func() bool { return r.Gauge(l.cyl[49]) > 20e3 })
			if !math.IsInf(at, 1) {
				at = r.Time() - start
			}
		}
		for _, v := range l.vents {
			if r.State(v) == 1 {
				t.Error("a service reduction trips a vent")
			}
		}
		return at
	}
	service, bare := applied(true), applied(false)
	const fifth = "whole seconds of a memoir, of trains whose pipe it does not give; a fifth"
	b.Hold(
		outside.At("9.14", "prout-1921", "emergency through 50 cars without local venting", 20, plain, "s", 4, fifth).
			Missed(fmt.Sprintf("Ours is 95 %% of full pressure in the last cylinder; its first 20 kPa come after %.1f s. Over the pipes of the time (1 in and 1¼ in, cars of 38 ft and 50 ft, from memory) ours is %.0f to %.0f s, so the source is met by one of them; it names neither pipe, cars nor what it counts as applied.", firstPlain, least, most)),
		outside.At("9.14", "prout-1921", "emergency through 50 cars with local venting", 6, quickFull, "s", 1.2, fifth).
			Missed(fmt.Sprintf("As above; the first 20 kPa come after %.1f s. The first quick-action valve let the pipe's air into the cylinder past a check (from memory); ours lets it out through 14 mm, as later ones do. With the way into the cylinder instead, through 10 mm or 14 mm, the model gives %.1f s or %.1f s.", quick, narrow, wide)),
		outside.Says("9.14", "prout-1921", "with local venting an emergency reaches the last of 50 cars sooner", quickFull < plain),
		outside.At("9.14", "railroad-values", "speed of an emergency through 50 vehicles of 15 m", 274, 750/quick, "m/s", 27, "round feet a second; a tenth"),
		outside.At("9.14", "railroad-values", "speed of a service application through 50 vehicles of 15 m", 152, 750/service, "m/s", 15, "round feet a second; a tenth").
			Missed(fmt.Sprintf("The model's vehicles take a bulb of pipe air at the first move, as later equipment does; without the bulb it is %.0f m/s, so the figure lies between. It is of a weak source that names no equipment.", 750/bare)),
		outside.At("9.14", "rules-of-the-trade", "emergency through 50 cars of 38 ft with later quick-action valves", 2, later, "s", 0.4, "whole seconds; a fifth").As(outside.FromMemory),
		outside.Within("PRF-016", "rules-of-the-trade", "speed of an emergency through 50 vehicles of 15 m", 250, math.Inf(1), 750/quick, "m/s", 0, "a least speed").As(outside.FromMemory),
		outside.Within("PRF-037", "rules-of-the-trade", "speed of an emergency, direct release", 270, 300, 750/quick, "m/s", 0, "the band is the tolerance").As(outside.FromMemory))
}

// Charging, air.md 9.16: about 5 min for 10 cars as a planning rule [P21]; a long airless train
// may take up to 15 min [P22]. Both are bounds; charged is 65 psi on the last pipe and
// reservoir (TST-038), from 70 psi and a 2.4 m3/min compressor.
func TestCharging_9_16(t *testing.T) {
	b := outside.Open(t)
	for _, w := range []struct {
		id, by   string
		vehicles int
		minutes  float64
	}{{"TST-036", "navy-p-301", 10, 5}, {"TST-036", "navy-p-301", 20, 10}, {"TST-036", "navy-p-301", 40, 20}, {"9.16", "one-two-pipe-wiki", 60, 15}} {
		l := newLine(t, lineSpec{vehicles: w.vehicles, vent: true, bulb: true, pump: true})
		r := l.net.NewRun(warm())
		r.Fill(l.supply, 850e3+Standard)
		r.Set(l.led, 72.5*psi)
		last := w.vehicles - 1
		took := until(t, r, 3600, func() bool { return r.Gauge(l.pipe[last]) >= 65*psi && r.Gauge(l.ar[last]) >= 65*psi })
		b.Hold(outside.Within(w.id, w.by, fmt.Sprintf("charging %d airless vehicles", w.vehicles), 0, w.minutes, took/60, "min", 0, "the source gives the time to reckon with, so less is met"))
		if a := r.Audit(); a > 1e-9 {
			t.Errorf("audit %g", a)
		}
	}
}

// Applying again before the train has recharged, air.md 9.17 [P10]: the pipe must go 5 psi below
// the first reduction before the brake can be counted on.
func TestReapplication_9_17(t *testing.T) {
	b := outside.Open(t)
	l := newLine(t, lineSpec{vehicles: 60, bulb: true})
	const last = 59
	again := func(deeper float64) (first, second float64) {
		r := l.charged(t, 80*psi)
		step := func(to, wait float64) {
			from := math.Min(r.Gauge(l.pipe[0]), 80*psi)
			for k := 1; k <= 20; k++ {
				r.Set(l.led, from+(to-from)*float64(k)/20)
				r.Advance(r.Time() + math.Abs(to-from)/25e3/20)
			}
			r.Advance(r.Time() + wait)
		}
		step(65*psi, 40)
		first = r.Gauge(l.cyl[last])
		r.Set(l.led, 80*psi)
		r.Advance(r.Time() + 40) // released, not recharged
		step((65-deeper)*psi, 40)
		return first / psi, r.Gauge(l.cyl[last]) / psi
	}
	first, same := again(0)
	_, deeper := again(5)
	_, whole := again(10)
	t.Logf("first %.1f psi; again at the same pipe pressure %.1f, 5 psi deeper %.1f, 10 psi deeper %.1f", first, same, deeper, whole)
	b.Hold(
		outside.Says("9.17", "alaska-1996", "the same pipe pressure before recharge gives less cylinder than the first time", same < first-1),
		outside.Says("9.17", "alaska-1996", "5 psi below the previous reduction applies the brake again on the last vehicle", deeper > 45e3/psi && deeper > same))
}

// Opening onto an uncharged vehicle, air.md 9.18 [P10]: done at once from full pressure it can
// cause an emergency; after 20 psi, and opened slowly, it does not.
func TestOpeningOntoUnchargedVehicles_9_18(t *testing.T) {
	b := outside.Open(t)
	tripped := func(reduction, over float64) bool {
		l := newLine(t, lineSpec{vehicles: 4, vent: true, bulb: true})
		r := l.net.NewRun(warm())
		r.Set(l.gap, 0)
		r.Set(l.led, 80*psi)
		r.Advance(900)
		for k := 1; k <= 100; k++ {
			r.Set(l.led, (80-reduction*float64(k)/100)*psi)
			r.Advance(r.Time() + 0.08)
		}
		r.Advance(r.Time() + 30)
		for _, v := range l.vents[:3] {
			if r.State(v) == 1 {
				t.Fatal("a vent has tripped before the cock is opened")
			}
		}
		hit := false
		for k := 1; k <= 100; k++ {
			r.Set(l.gap, float64(k)/100)
			if m, _ := r.AdvanceUntil(r.Time()+over/100, func() bool {
				return r.State(l.vents[0]) == 1 || r.State(l.vents[1]) == 1 || r.State(l.vents[2]) == 1
			}, nil); m {
				hit = true
			}
		}
		return hit
	}
	b.Hold(
		outside.Says("9.18", "alaska-1996", "a cock opened at once onto an uncharged vehicle trips the emergency", tripped(0, 0.2)),
		outside.Says("9.18", "alaska-1996", "opened over 30 s after a reduction of 20 psi it does not", !tripped(20, 30)))
}

// Insensitivity of the direct brake: 0.3 bar in 60 s must not apply (PRF-007).
func TestInsensitivityOfDirect(t *testing.T) {
	b := outside.Open(t)
	for _, w := range []struct {
		id, by   string
		fall, in float64
		applies  bool
	}{{"PRF-007", "uic-541-1-article", 30e3, 60, false}, {"PRF-004", "coach-proforma", 0.6 * kgf, 6, true}} {
		l := newLine(t, lineSpec{vehicles: 1})
		r := l.charged(t, 500e3)
		start := r.Time()
		for k := 1; k <= 120; k++ {
			r.Set(l.led, 500e3-w.fall*float64(k)/120)
			r.Advance(start + w.in*float64(k)/120)
		}
		b.Hold(outside.Says(w.id, w.by, fmt.Sprintf("a fall of %.0f kPa in %g s %s a direct brake", w.fall/1e3, w.in, applies(w.applies)), r.Gauge(l.cyl[0]) > 10e3 == w.applies))
	}
}
