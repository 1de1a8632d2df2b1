package air

import (
	"math"
	"os"
	"strings"
	"testing"
)

// The checklist of air.md section 11: what a model of the air brake must show. Every item is
// run as it is and with what makes it taken away, and what is seen must change; so an
// item that the engine loses fails here, and so does one whose cause is another than
// thought. What needs the records of locomotives is in trial/checklist_test.go in the same
// form. docs/air.md lists every item, and what the items that are not modelled cost.
//
// Bands say what the item means, not what was computed: an arrival twice as late, a
// pressure half as high.
type item struct {
	of      string     // as docs/air.md lists it
	without string     // what is taken away
	see     string     // what is looked at, and in what
	shows   [2]float64 // between what it lies
	lacks   [2]float64 // and between what without
	run     func(t *testing.T, without bool) float64
}

var inf = math.Inf(1)

// A part at rest stays where it came to rest, a hair above or below the pressure that it was
// going to.
const rounding = 1e-6

func checkItems(t *testing.T, items []item) {
	text, err := os.ReadFile("../docs/air.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range items {
		t.Run(strings.ReplaceAll(x.of, " ", "_"), func(t *testing.T) {
			if !strings.Contains(string(text), "\n| "+x.of+" |") {
				t.Errorf("docs/air.md does not list %q", x.of)
			}
			if !(x.shows[0] > x.lacks[1] || x.shows[1] < x.lacks[0]) {
				t.Fatal("the bands with and without overlap: nothing is proved")
			}
			with, lacking := x.run(t, false), x.run(t, true)
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

// What is taken away from a network before it is compiled.

// stillAir makes every pipe a plain opening of its resistance for turbulent flow, Darcy factor 0.02: air in it has no
// inertia and nothing travels.
func stillAir(b *Builder) {
	for i := range b.edges {
		if e := &b.edges[i]; e.kind == pipeEdge {
			k := 1 + e.loss + 0.02*e.length/e.bore
			e.kind, e.o = orificeEdge, Hole(e.bore/math.Sqrt(math.Sqrt(k)), 1)
		}
	}
}

// smooth takes friction and losses from pipes.
func smooth(b *Builder) {
	for i := range b.edges {
		if e := &b.edges[i]; e.kind == pipeEdge {
			e.wall, e.loss = nil, 0
		}
	}
}

// short is a train without length: its pipe passes anything at once.
func short(b *Builder) {
	for i := range b.edges {
		if e := &b.edges[i]; e.kind == pipeEdge {
			e.kind, e.o = orificeEdge, Hole(1, 1)
		}
	}
}

func (b *Builder) each(part string, do func(*edge)) {
	n := 0
	for i := range b.edges {
		if strings.HasSuffix(b.edges[i].name, part) {
			do(&b.edges[i])
			n++
		}
	}
	if n == 0 {
		panic("no edge is called " + part)
	}
}

func shut(e *edge) { e.o.C = 0 }

func (b *Builder) volumes(name string, v float64) {
	n := 0
	for i := range b.nodes {
		if b.nodes[i].name == name {
			b.nodes[i].v = v
			n++
		}
	}
	if n == 0 {
		panic("no node is called " + name)
	}
}

func only(change func(*Builder), without bool) func(*Builder) {
	if without {
		return change
	}
	return nil
}

// lead brings the valve of the lead to a pressure at a rate, Pa/s, by twentieths of a second.
func (l line) lead(t *testing.T, r *Run, to, rate float64) {
	t.Helper()
	from := r.slot[l.led]
	n := int(math.Ceil(math.Abs(to-from) / rate / 0.05))
	for k := 1; k <= n; k++ {
		r.Set(l.led, from+(to-from)*float64(k)/float64(n))
		advance(t, r, r.Time()+0.05)
	}
}

const service = 25e3 // Pa/s

func TestChecklist(t *testing.T) {
	const full = 500e3
	items := []item{
		{of: "finite propagation", without: "the length of the pipe", see: "seconds by which the pipe of the last of 40 vehicles falls after that of the first",
			shows: [2]float64{1, 4}, lacks: [2]float64{0, 0.1},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 40, change: only(short, without)})
				r := l.charged(t, full)
				r.Set(l.led, full-100e3)
				until(t, r, 30, func() bool { return r.Gauge(l.pipe[0]) < full-5e3 })
				return until(t, r, 30, func() bool { return r.Gauge(l.pipe[39]) < full-5e3 })
			}},
		{of: "slower rise at the rear", without: "the length of the pipe", see: "seconds more that the last cylinder of 40 takes from 20 kPa to 120 kPa",
			shows: [2]float64{0.3, 10}, lacks: [2]float64{-0.1, 0.1},
			run: func(t *testing.T, without bool) float64 {
				took := func(v int) float64 {
					l := newLine(t, lineSpec{vehicles: 40, change: only(short, without)})
					r := l.charged(t, full)
					r.Set(l.led, full-100e3)
					until(t, r, 60, func() bool { return r.Gauge(l.cyl[v]) > 20e3 })
					return until(t, r, 60, func() bool { return r.Gauge(l.cyl[v]) > 120e3 })
				}
				return took(39) - took(0)
			}},
		{of: "rear lag on release over application", without: "the charging of reservoirs", see: "time of the last pipe up again over its time down, to a tenth of the way",
			shows: [2]float64{3, inf}, lacks: [2]float64{0, 2.2},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 40, change: only(func(b *Builder) { b.each(" charge", shut) }, without)})
				r := l.charged(t, full)
				r.Set(l.led, full-100e3)
				down := until(t, r, 200, func() bool { return r.Gauge(l.pipe[39]) < full-90e3 })
				advance(t, r, r.Time()+60)
				r.Set(l.led, full)
				up := until(t, r, 600, func() bool { return r.Gauge(l.pipe[39]) > full-10e3 })
				return up / down
			}},
		{of: "gradient with leakage", without: "friction", see: "kPa from head to rear, 40 vehicles, a leak of 3 mm at the last",
			shows: [2]float64{1, 50}, lacks: [2]float64{-0.2, 0.2},
			run: func(t *testing.T, without bool) float64 {
				return leaky(t, 39, without)
			}},
		{of: "gradient by the place of the leak", without: "friction", see: "kPa by which a leak at the last vehicle of 40 makes more gradient than one at the first",
			shows: [2]float64{1, 50}, lacks: [2]float64{-0.2, 0.2},
			run: func(t *testing.T, without bool) float64 {
				return leaky(t, 39, without) - leaky(t, 0, without)
			}},
		{of: "false gradient while charging", without: "the charging of reservoirs", see: "kPa from head to rear 90 s after an empty train of 40 was put on the feed",
			shows: [2]float64{20, 500}, lacks: [2]float64{-1, 2},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 40, change: only(func(b *Builder) { b.each(" charge", shut) }, without)})
				r := l.net.NewRun(warm())
				r.Set(l.led, full)
				advance(t, r, 90)
				return (r.Gauge(l.pipe[0]) - r.Gauge(l.pipe[39])) / 1e3
			}},
		{of: "main reservoir drop", without: "the size of the reservoir", see: "kPa that the main reservoir loses while 40 vehicles are charged",
			shows: [2]float64{100, 850}, lacks: [2]float64{0, 20},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 40, pump: true, change: only(func(b *Builder) { b.volumes("main reservoir", 1000) }, without)})
				r := l.net.NewRun(warm())
				r.Fill(l.supply, 850e3+Standard)
				r.Set(l.led, full)
				low := 850e3
				r.AdvanceUntil(200, nil, func() { low = math.Min(low, r.Gauge(l.supply)) })
				return (850e3 - low) / 1e3
			}},
		{of: "compressor cycling", without: "the governor's two pressures", see: "starts of the compressor in 20 min with a leak",
			shows: [2]float64{2, 30}, lacks: [2]float64{100, inf},
			run: func(t *testing.T, without bool) float64 {
				return cycles(t, without)
			}},
		{of: "charging from empty, front first", without: "the length of the pipe", see: "seconds by which the last auxiliary of 40 is charged to 400 kPa after the first",
			shows: [2]float64{20, inf}, lacks: [2]float64{-1, 1},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 40, pump: true, change: only(short, without)})
				r := l.net.NewRun(warm())
				r.Fill(l.supply, 850e3+Standard)
				r.Set(l.led, full)
				until(t, r, 2000, func() bool { return r.Gauge(l.ar[0]) > 400e3 })
				return until(t, r, 2000, func() bool { return r.Gauge(l.ar[39]) > 400e3 })
			}},
		{of: "main reservoir recovers after charging", without: "the compressor", see: "kPa by which the main reservoir comes up from its lowest, 15 min after an empty train of 40 was put on",
			shows: [2]float64{150, inf}, lacks: [2]float64{0, 1},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 40, pump: true, change: only(func(b *Builder) { b.pumps[0].free = 0 }, without)})
				r := l.net.NewRun(warm())
				r.Fill(l.supply, 850e3+Standard)
				r.Set(l.led, full)
				low := 850e3
				r.AdvanceUntil(900, nil, func() { low = math.Min(low, r.Gauge(l.supply)) })
				return (r.Gauge(l.supply) - low) / 1e3
			}},
		{of: "exhaust as long as the train", without: "the train behind a closed cock", see: "seconds of blow of the lead's valve at a reduction of 80 kPa",
			shows: [2]float64{22, inf}, lacks: [2]float64{0, 16},
			run: func(t *testing.T, without bool) float64 {
				vehicles := 30
				if without {
					vehicles = 3 // one behind the cock that is shut
				}
				l := newLine(t, lineSpec{vehicles: vehicles})
				r := l.charged(t, full)
				if without {
					r.Set(l.gap, 0)
				}
				r.ClearBlow()
				l.lead(t, r, full-80e3, service)
				advance(t, r, r.Time()+90)
				return r.Blow(l.out)
			}},
		{of: "surge after lap", without: "the inertia of the air", see: "kPa by which the head comes up after the valve laps",
			shows: [2]float64{2, 50}, lacks: [2]float64{-1, 1},
			run: func(t *testing.T, without bool) float64 { return surge(t, without) }},
		{of: "water hammer", without: "the inertia of the air", see: "kPa above the supply when the end of a blowing pipe is slammed",
			shows: [2]float64{5, 300}, lacks: [2]float64{-1, 1},
			run: func(t *testing.T, without bool) float64 { return hammer(t, without) }},
		{of: "initial quick service", without: "the bulb", see: "seconds until 20 kPa stand in the last cylinder of 50",
			shows: [2]float64{0, 3.4}, lacks: [2]float64{3.6, inf},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 50, bulb: !without})
				r := l.charged(t, full)
				start := r.Time()
				at := inf
				for k := 1; k <= 400 && at == inf; k++ {
					r.Set(l.led, full-math.Min(70e3, 25e3*float64(k)*0.05))
					if until(t, r, 0.05, func() bool { return r.Gauge(l.cyl[49]) > 20e3 }) < inf {
						at = r.Time() - start
					}
				}
				return at
			}},
		{of: "in-shot", without: "the in-shot port", see: "seconds from the start to 50 kPa in the cylinder of a graduated brake",
			shows: [2]float64{0, 3}, lacks: [2]float64{6, inf},
			run: func(t *testing.T, without bool) float64 {
				g, _ := graduatedRigWith(t, func(b *Builder) {
					if without {
						b.each(" in-shot", shut)
					}
				})
				r := g.charge(t, full)
				r.Set(g.led, full-80e3)
				return until(t, r, 60, func() bool { return r.Gauge(g.cyl) > 50e3 })
			}},
		{of: "minimum reduction", without: "the floor of the distributor", see: "kPa in the cylinder of a graduated brake after 15 kPa",
			shows: [2]float64{45, 100}, lacks: [2]float64{0, 40},
			run: func(t *testing.T, without bool) float64 {
				g, _ := graduatedRigWith(t, func(b *Builder) {
					if without {
						for i := range b.targets {
							b.targets[i].floor = 0
						}
					}
				})
				r := g.charge(t, full)
				r.Set(g.led, full-15e3)
				advance(t, r, r.Time()+60)
				return r.Gauge(g.cyl) / 1e3
			}},
		{of: "insensitivity to slow loss", without: "the way back from the control reservoir", see: "kPa in the cylinder of a graduated brake after a loss of 30 kPa in 60 s",
			shows: [2]float64{0, 5}, lacks: [2]float64{40, inf},
			run: func(t *testing.T, without bool) float64 {
				g, _ := graduatedRigWith(t, func(b *Builder) {
					if without {
						b.each(" control charge", func(e *edge) { e.kind = checkEdge })
					}
				})
				r := g.charge(t, full)
				start := r.Time()
				for k := 1; k <= 120; k++ {
					r.Set(g.led, full-30e3*float64(k)/120)
					advance(t, r, start+60*float64(k)/120)
				}
				return r.Gauge(g.cyl) / 1e3
			}},
		{of: "emergency by rate", without: "the breather of the vent's chamber", see: "vents that trip on a service reduction of 100 kPa, of 10",
			shows: [2]float64{0, 0}, lacks: [2]float64{10, 10},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 10, vent: true, bulb: true, change: only(func(b *Builder) {
					for _, s := range b.switches {
						if v, ok := s.(*ventValve); ok {
							v.rate = 0
						}
					}
				}, without)})
				r := l.charged(t, full)
				return l.count(t, r, func() { l.lead(t, r, full-100e3, service); advance(t, r, r.Time()+10) })
			}},
		{of: "local venting", without: "the vents of the vehicles", see: "seconds until an emergency has brought 250 kPa to the last of 50 vehicles",
			shows: [2]float64{0, 6}, lacks: [2]float64{10, inf},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 50, vent: !without, bulb: true})
				r := l.charged(t, full)
				r.Set(l.cut, 0)
				r.Set(l.vent, 1)
				return until(t, r, 60, func() bool { return r.Gauge(l.cyl[49]) > 250e3 })
			}},
		{of: "failure to propagate over isolated vehicles", without: "the isolating of the vehicles between", see: "vents that trip behind 20 isolated vehicles, of 5",
			shows: [2]float64{0, 0}, lacks: [2]float64{5, 5},
			run: func(t *testing.T, without bool) float64 { return isolatedBetween(t, without) }},
		{of: "undesired emergency", without: "the fault of the last vehicle, whose chamber does not breathe", see: "vents that trip on a service reduction, of 10",
			shows: [2]float64{10, 10}, lacks: [2]float64{0, 0},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 10, vent: true, bulb: true, change: func(b *Builder) {
					k := 0
					for _, s := range b.switches {
						if v, ok := s.(*ventValve); ok {
							if k++; k == 10 && !without {
								v.rate = 0
							}
						}
					}
				}})
				r := l.charged(t, full)
				return l.count(t, r, func() { l.lead(t, r, full-100e3, service); advance(t, r, r.Time()+10) })
			}},
		{of: "both families in one train", without: "the second family: both direct", see: "share of its brake that the second vehicle keeps when the pipe comes half way up",
			shows: [2]float64{0.3, 0.8}, lacks: [2]float64{0, 0.05},
			run: func(t *testing.T, without bool) float64 { return halfUp(t, without) }},
		{of: "no graduated release of the direct brake", without: "the direct brake: graduated instead", see: "share of its brake that it keeps when the pipe comes half way up",
			shows: [2]float64{0, 0.05}, lacks: [2]float64{0.3, 0.8},
			run: func(t *testing.T, without bool) float64 { return halfUp(t, !without) }},
		{of: "auxiliary used up by repeated braking", without: "the recharge that is missing: 15 min instead of 40 s", see: "cylinder of the fourth application over that of the first, on the last of 60 vehicles",
			shows: [2]float64{0, 0.7}, lacks: [2]float64{0.97, 1.03},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 60})
				r := l.charged(t, full)
				wait := 40.
				if without {
					wait = 900
				}
				var all []float64
				for range 4 {
					l.lead(t, r, full-100e3, service)
					advance(t, r, r.Time()+25)
					all = append(all, r.Gauge(l.cyl[59]))
					r.Set(l.led, full)
					advance(t, r, r.Time()+wait)
				}
				return all[3] / all[0]
			}},
		{of: "over-reduction is wasted", without: "the over-reduction: from 60 kPa instead of 170 kPa", see: "kPa that 70 kPa more give",
			shows: [2]float64{-1, 10}, lacks: [2]float64{50, inf},
			run: func(t *testing.T, without bool) float64 {
				g := directRig(t, 8)
				r := g.charge(t, full)
				by := 170e3
				if without {
					by = 60e3
				}
				r.Set(g.led, full-by)
				advance(t, r, r.Time()+60)
				first := r.Gauge(g.cyl)
				r.Set(g.led, full-by-70e3)
				advance(t, r, r.Time()+60)
				return (r.Gauge(g.cyl) - first) / 1e3
			}},
		{of: "retainer", without: "its spring", see: "psi in the cylinder a quarter of an hour after the release",
			shows: [2]float64{15, 21}, lacks: [2]float64{-0.1, 1},
			run: func(t *testing.T, without bool) float64 {
				holds := 20 * psi
				if without {
					holds = 0
				}
				g := retained(t, holds, 2.5e-3)
				r := g.charge(t, 70*psi)
				r.Set(g.led, 50*psi)
				advance(t, r, r.Time()+60)
				r.Set(g.led, 70*psi)
				advance(t, r, r.Time()+900)
				return r.Gauge(g.cyl) / psi
			}},
		{of: "retarded release", without: "the retarding slide", see: "seconds to let off the first cylinder over the last of 80",
			shows: [2]float64{1.1, inf}, lacks: [2]float64{0.5, 0.95},
			run: func(t *testing.T, without bool) float64 { a, b := letOff(t, !without); return a / b }},
		{of: "overcharge drags", without: "the memory of the control reservoir", see: "kPa left in the cylinder under a feed that is 15 kPa lower than what it was charged to",
			shows: [2]float64{30, 100}, lacks: [2]float64{0, 3},
			run: func(t *testing.T, without bool) float64 {
				g, _ := graduatedRigWith(t, func(b *Builder) {
					if without {
						b.each(" control charge", func(e *edge) { e.alts, e.o = nil, Hole(8e-3, 0.8) })
					}
				})
				r := g.charge(t, full)
				r.Set(g.led, full-60e3)
				advance(t, r, r.Time()+60)
				r.Set(g.led, full-15e3)
				advance(t, r, r.Time()+600)
				return r.Gauge(g.cyl) / 1e3
			}},
		{of: "bleeding by hand", without: "the pull on the release cord", see: "kPa in the cylinder of an overcharged graduated brake",
			shows: [2]float64{0, 3}, lacks: [2]float64{30, 100},
			run: func(t *testing.T, without bool) float64 {
				var cord Slot
				g, cr := graduatedRigWith(t, func(b *Builder) {
					cord = b.Slot(0)
					for n := range b.nodes {
						if b.nodes[n].name == "control reservoir" {
							b.Guard(b.Passage("cord", Node(n), Atmosphere, Hole(3e-3, 0.8)), cord)
						}
					}
				})
				_ = cr
				r := g.charge(t, full)
				r.Set(g.led, full-60e3)
				advance(t, r, r.Time()+60)
				r.Set(g.led, full-15e3)
				advance(t, r, r.Time()+300)
				if !without {
					r.Set(cord, 1)
					advance(t, r, r.Time()+1)
					r.Set(cord, 0)
				}
				advance(t, r, r.Time()+300)
				return r.Gauge(g.cyl) / 1e3
			}},
		{of: "a leaking cylinder fades on the direct brake", without: "the leak", see: "share of its brake that is left after 5 min",
			shows: [2]float64{0, 0.7}, lacks: [2]float64{0.98, 1.02},
			run: func(t *testing.T, without bool) float64 {
				g := directRigWith(t, 8, leakingCylinder(!without))
				return kept(t, g)
			}},
		{of: "a leaking cylinder is refilled on the graduated brake", without: "the refilling: a direct brake", see: "share of its brake that is left after 5 min with a leak",
			shows: [2]float64{0.95, 1.02}, lacks: [2]float64{0, 0.7},
			run: func(t *testing.T, without bool) float64 {
				if without {
					return kept(t, directRigWith(t, 8, leakingCylinder(true)))
				}
				g, _ := graduatedRigWith(t, leakingCylinder(true))
				return kept(t, g)
			}},
		{of: "travel changes the pressure of the direct brake", without: "the stroke", see: "kPa that 9 in of travel lose against 6 in, 70 kPa below 500 kPa",
			shows: [2]float64{40, 110}, lacks: [2]float64{-0.5, 0.5},
			run: func(t *testing.T, without bool) float64 {
				at := func(travel float64) float64 {
					g := directRigWith(t, travel, func(b *Builder) {
						if without {
							for i := range b.nodes {
								if c := b.nodes[i].cyl; c != nil {
									c.V1 = 800 * in3
								}
							}
						}
					})
					r := g.charge(t, full)
					r.Set(g.led, full-70e3)
					advance(t, r, r.Time()+60)
					return r.Gauge(g.cyl) / 1e3
				}
				return at(6) - at(9)
			}},
		{of: "travel changes only the time of the graduated brake", without: "the graduated brake: a direct one", see: "kPa that half as much travel again takes, 70 kPa below 500 kPa",
			shows: [2]float64{-2, 2}, lacks: [2]float64{40, 110},
			run: func(t *testing.T, without bool) float64 {
				at := func(more float64) float64 {
					longer := func(b *Builder) {
						for i := range b.nodes {
							if c := b.nodes[i].cyl; c != nil {
								c.V1 = c.V0 + (c.V1-c.V0)*more
							}
						}
					}
					g := directRigWith(t, 6, longer)
					if !without {
						g, _ = graduatedRigWith(t, longer)
					}
					r := g.charge(t, full)
					r.Set(g.led, full-70e3)
					advance(t, r, r.Time()+90)
					return r.Gauge(g.cyl) / 1e3
				}
				return at(1) - at(1.5)
			}},
		{of: "goods and passenger position", without: "the goods chokes", see: "seconds to 360 kPa in the cylinder",
			shows: [2]float64{18, 30}, lacks: [2]float64{3, 5},
			run: func(t *testing.T, without bool) float64 {
				g, _ := graduatedWith(t, 1.5e-3, 1.45e-3)
				if without {
					g, _ = graduatedWith(t, 3.6e-3, 2.4e-3)
				}
				r := g.charge(t, full)
				r.Set(g.led, full-160e3)
				return until(t, r, 60, func() bool { return r.Gauge(g.cyl) > 360e3*0.95 })
			}},
		{of: "equalising reservoir leads, pipe follows", without: "the equalising reservoir: the driver lets air from the pipe", see: "kPa that the driver's gauge comes up after he laps, 40 vehicles",
			shows: [2]float64{-1, 1}, lacks: [2]float64{5, inf},
			run: func(t *testing.T, without bool) float64 {
				d := newDriven(t, 40, 0)
				r := d.charged(t)
				gauge := d.er
				if without {
					gauge = d.pipe
					r.Set(d.feed, 0)
					r.Set(d.direct, 1)
				} else {
					r.Set(d.led, 400e3)
				}
				until(t, r, 60, func() bool { return r.Gauge(gauge) < 450e3 })
				r.Set(d.works, 0)
				r.Set(d.direct, 0)
				before := r.Gauge(gauge)
				advance(t, r, r.Time()+20)
				return (r.Gauge(gauge) - before) / 1e3
			}},
		{of: "maintaining", without: "the supply of the relay, cut", see: "kPa that a leaking pipe loses in a minute of lap",
			shows: [2]float64{-1, 5}, lacks: [2]float64{15, inf},
			run: func(t *testing.T, without bool) float64 { return inLap(t, false, !without) }},
		{of: "a leaking equalising reservoir is not maintained", without: "its leak", see: "kPa that the pipe loses in a minute of lap, with maintaining",
			shows: [2]float64{15, inf}, lacks: [2]float64{-1, 5},
			run: func(t *testing.T, without bool) float64 {
				return inLap(t, !without, true)
			}},
		{of: "independent brake, the higher of two", without: "the double check", see: "psi of the automatic brake with the independent one released",
			shows: [2]float64{10, 60}, lacks: [2]float64{-0.1, 2},
			run: func(t *testing.T, without bool) float64 {
				e := newEngineWith(t, false, func(b *Builder) {
					if without {
						b.each("double check a", func(x *edge) { x.alts = nil })
						b.each("double check b", func(x *edge) { x.alts = nil })
					}
				})
				return e.applied(e.charged(t))
			}},
		{of: "relays of unequal ratio on one pipe", without: "the tie between them", see: "kPa between the cylinders of two units at 300 kPa of control, ratios 1 and 0.8",
			shows: [2]float64{0, 20}, lacks: [2]float64{50, 70},
			run: func(t *testing.T, without bool) float64 { return tied(t, without) }},
		{of: "temperature in leakage tests", without: "temperature", see: "kPa that the pipe of 20 tight vehicles comes up in the minute after the valve has shut",
			shows: [2]float64{0.3, 10}, lacks: [2]float64{-0.3, 0.1},
			run: func(t *testing.T, without bool) float64 {
				l := newLine(t, lineSpec{vehicles: 20})
				r := l.charged(t, full)
				if without {
					r = l.net.NewRun(Usual())
					for n := range l.net.nodes {
						switch l.net.nodes[n].name {
						case "head", "pipe", "branch", "auxiliary", "emergency reservoir":
							r.Fill(Node(n), full+Standard)
						}
					}
					r.Set(l.led, full)
					advance(t, r, 5)
				}
				r.Set(l.led, full-140e3)
				until(t, r, 60, func() bool { return r.Gauge(l.pipe[19]) < full-130e3 })
				r.Set(l.cut, 0)
				advance(t, r, r.Time()+2)
				mean := func() float64 {
					s := 0.
					for _, n := range l.pipe {
						s += r.Gauge(n)
					}
					return s / 20e3
				}
				before := mean()
				advance(t, r, r.Time()+60)
				return mean() - before
			}},
		{of: "leakage by flow", without: "the leak", see: "cfm of free air that the feed passes",
			shows: [2]float64{2.9, 3.2}, lacks: [2]float64{0, 0.01},
			run: func(t *testing.T, without bool) float64 {
				const cfm = 28.316846592e-3 / 60
				l := newLine(t, lineSpec{vehicles: 20, change: func(b *Builder) {
					if !without {
						for n := range b.nodes {
							if b.nodes[n].name == "head" {
								b.Passage("leak", Node(n), Atmosphere, Orifice{C: 3.0398 * cfm * Standard / (GasConstant * RefTemp) / (RefDensity * (full + Standard)), B: 0.5})
							}
						}
					}
				}})
				r := l.charged(t, full)
				advance(t, r, 600)
				return r.Flow(l.in) / Standard * GasConstant * RefTemp / cfm
			}},
	}
	checkItems(t, items)
}

// count is how many vehicles' vents trip while something is done.
func (l line) count(t *testing.T, r *Run, do func()) float64 {
	t.Helper()
	r.ClearBlow()
	do()
	n := 0
	for _, e := range l.blows {
		if r.Blow(e) > 0 {
			n++
		}
	}
	return float64(n)
}

// leaky is the gradient of 40 vehicles with a leak of 3 mm at one, kPa.
func leaky(t *testing.T, at int, without bool) float64 {
	l := newLine(t, lineSpec{vehicles: 40, change: func(b *Builder) {
		if without {
			smooth(b)
		}
		k := 0
		for n := range b.nodes {
			if b.nodes[n].name == "branch" {
				if k == at {
					b.Passage("leak", Node(n), Atmosphere, Hole(3e-3, 0.8))
				}
				k++
			}
		}
	}})
	r := l.charged(t, 500e3)
	advance(t, r, 600)
	return (r.Gauge(l.pipe[0]) - r.Gauge(l.pipe[39])) / 1e3
}

// cycles is how often a compressor of 2.4 m3/min starts in 20 min on 800 L with a leak of
// 3 mm; without a gap between its two pressures, to 1 kPa, it starts all the time.
func cycles(t *testing.T, without bool) float64 {
	b := NewBuilder()
	mr := b.Volume("main reservoir", 0.8)
	low := 750e3
	if without {
		low = 849e3
	}
	sw, _ := b.Pump("compressor", mr, 2.4/60, mr, low, 850e3)
	b.Passage("leak", mr, Atmosphere, Hole(3e-3, 0.8))
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(Usual())
	r.Fill(mr, 800e3+Standard)
	n, was := 0., uint8(0)
	if _, err := r.AdvanceUntil(1200, nil, func() {
		if is := r.State(sw); is != was {
			n += float64(is)
			was = is
		}
	}); err != nil {
		t.Fatal(err)
	}
	return n
}

// surge is by how much the head of 40 vehicles comes up within 5 s of lap after 60 kPa at
// 60 kPa/s, kPa: in the train without branches and reservoirs, so that nothing flows back
// but what the pipe holds.
func surge(t *testing.T, without bool) float64 {
	b := NewBuilder()
	slot := b.Slot(0)
	head := b.PipeVolume("pipe", 0.032, 5, 1e-4)
	last := head
	for range 30 {
		n := b.PipeVolume("pipe", 0.032, 5, 1e-4)
		b.Pipe("pipe", last, n, 0.032, 5, 1e-4, 0.5)
		last = n
	}
	b.Guard(b.Passage("exhaust", head, Atmosphere, Hole(8e-3, 0.8)), slot)
	if without {
		stillAir(b)
	}
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(warm())
	for n := 1; n < len(net.nodes); n++ {
		r.Fill(Node(n), 500e3+Standard)
	}
	r.Set(slot, 1)
	advance(t, r, 4)
	r.Set(slot, 0)
	high := 0.
	if _, err := r.AdvanceUntil(8, nil, func() { high = math.Max(high, r.Gauge(head)) }); err != nil {
		t.Fatal(err)
	}
	sum := 0.
	for n := 1; n < len(net.nodes); n++ {
		sum += r.Gauge(Node(n)) / 31
	}
	return (high - sum) / 1e3
}

// hammer is by how much the end of 150 m of pipe rises above its supply when the opening
// through which it blows is shut at once, kPa.
func hammer(t *testing.T, without bool) float64 {
	b := NewBuilder()
	slot := b.Slot(1)
	last := b.Source("supply", 600e3)
	var end Node
	for range 30 {
		end = b.PipeVolume("pipe", 0.032, 5, 1e-4)
		b.Pipe("pipe", last, end, 0.032, 5, 1e-4, 0)
		last = end
	}
	b.Guard(b.Passage("end", end, Atmosphere, Hole(10e-3, 0.8)), slot)
	if without {
		stillAir(b)
	}
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(warm())
	for n := 2; n < len(net.nodes); n++ {
		r.Fill(Node(n), 600e3)
	}
	advance(t, r, 20)
	r.Set(slot, 0)
	high := 0.
	if _, err := r.AdvanceUntil(25, nil, func() { high = math.Max(high, r.Pressure(end)) }); err != nil {
		t.Fatal(err)
	}
	return (high - 600e3) / 1e3
}

// isolatedBetween is how many of the last 5 vehicles' vents trip in an emergency of the
// first 3, over a stretch of vehicles whose branches are shut.
func isolatedBetween(t *testing.T, without bool) float64 {
	const first, between, behind = 3, 20, 5
	l := newLine(t, lineSpec{vehicles: first + between + behind, vent: true, bulb: true, change: func(b *Builder) {
		k := 0
		b.each("branch pipe", func(e *edge) {
			if !without && k >= first && k < first+between {
				e.o.C = 1e-14
			}
			k++
		})
	}})
	r := l.charged(t, 500e3)
	r.ClearBlow()
	r.Set(l.cut, 0)
	r.Set(l.vent, 0.2)
	advance(t, r, r.Time()+20)
	n := 0.
	for i, e := range l.blows {
		h := r.Blow(e) > 0
		if i < first && !h {
			t.Errorf("vehicle %d before the stretch does not vent", i+1)
		}
		if i >= first+between && h {
			n++
		}
	}
	return n
}

// halfUp is what a vehicle keeps of its brake, as a share, when the pipe, which has come
// down to 390 kPa, comes up to 430 kPa.
func halfUp(t *testing.T, direct bool) float64 {
	g := directRig(t, 8)
	if !direct {
		g, _ = graduatedRig(t)
	}
	r := g.charge(t, 500e3)
	r.Set(g.led, 390e3)
	advance(t, r, r.Time()+60)
	first := r.Gauge(g.cyl)
	r.Set(g.led, 430e3)
	advance(t, r, r.Time()+90)
	return r.Gauge(g.cyl) / first
}

// retained is the vehicle of directRig with a retainer in its exhaust that holds a pressure,
// through a bore.
func retained(t *testing.T, holds, bore float64) rig {
	return directRigWith(t, 8, func(b *Builder) {
		line := b.Volume("retainer line", 0.2e-3)
		b.each(" exhaust", func(e *edge) {
			if e.name == "distributor exhaust" {
				e.to = line
			}
		})
		b.Check("retainer", line, Atmosphere, Hole(bore, 0.8), holds)
	})
}

// letOff is how long the first and the last cylinder of 80 take, from when the valve of the
// lead goes to release, until 10 kPa are left.
func letOff(t *testing.T, retard bool) (first, last float64) {
	l := newLine(t, lineSpec{vehicles: 80, retard: retard})
	r := l.charged(t, 70*psi)
	l.lead(t, r, 50*psi, service)
	advance(t, r, r.Time()+60)
	r.Set(l.led, 70*psi)
	start := r.Time()
	first, last = inf, inf
	if _, err := r.AdvanceUntil(start+300, nil, func() {
		if first == inf && r.Gauge(l.cyl[0]) < 10e3 {
			first = r.Time() - start
		}
		if last == inf && r.Gauge(l.cyl[79]) < 10e3 {
			last = r.Time() - start
		}
	}); err != nil {
		t.Fatal(err)
	}
	return first, last
}

func leakingCylinder(leaks bool) func(*Builder) {
	return func(b *Builder) {
		for n := range b.nodes {
			if leaks && b.nodes[n].cyl != nil {
				b.Passage("leak of the cylinder", Node(n), Atmosphere, Hole(0.4e-3, 0.8))
			}
		}
	}
}

// kept is the share of its brake that a vehicle has left 5 min after 70 kPa.
func kept(t *testing.T, g rig) float64 {
	r := g.charge(t, 500e3)
	r.Set(g.led, 430e3)
	advance(t, r, r.Time()+40)
	first := r.Gauge(g.cyl)
	advance(t, r, r.Time()+300)
	return r.Gauge(g.cyl) / first
}

// driven is a pipe of vehicles behind a driver's valve with an equalising reservoir of 3.6 L
// (service choke 1.1 mm) and a relay.
type driven struct {
	net        *Network
	led, feed  Slot
	works      Slot // 1: the valve feeds and exhausts the reservoir; 0: lap
	direct     Slot // 1: the pipe is open to the air through 8 mm, without a reservoir
	erLeak     Slot
	er, pipe   Node
	everything []Node
}

func newDriven(t *testing.T, vehicles int, pipeLeak float64) driven {
	b := NewBuilder()
	var d driven
	mr := b.Source("main reservoir", 900e3)
	d.led, d.feed, d.works, d.erLeak = b.Slot(0), b.Slot(1), b.Slot(1), b.Slot(0)
	d.er = b.Volume("equalising reservoir", 3.6e-3)
	up, down := b.Regulator(RegulatorSpec{Name: "automatic", Supply: mr, Output: d.er, Slot: d.led, Control: -1, SupplyO: Hole(3e-3, 0.8), ExhO: Hole(1.1e-3, 0.8), Band: 4e3})
	d.direct = b.Slot(0)
	b.Guard(up, d.works)
	b.Guard(down, d.works)
	d.pipe = b.PipeVolume("pipe", 0.032, 15, 1e-4)
	in, out := b.Regulator(RegulatorSpec{Name: "relay", Supply: mr, Output: d.pipe, Slot: -1, Control: d.er, Ratio: 1, SupplyO: Hole(6e-3, 0.8), ExhO: Hole(12e-3, 0.8), Band: 6e3})
	b.Guard(in, d.feed)
	b.Guard(out, d.feed)
	b.Guard(b.Passage("direct exhaust", d.pipe, Atmosphere, Hole(8e-3, 0.8)), d.direct)
	last := d.pipe
	d.everything = []Node{d.er, d.pipe}
	for range vehicles - 1 {
		n := b.PipeVolume("pipe", 0.032, 15, 1e-4)
		b.Pipe("pipe", last, n, 0.032, 15, 1e-4, 2)
		d.everything = append(d.everything, n)
		last = n
	}
	if pipeLeak > 0 {
		b.Passage("leak", d.pipe, Atmosphere, Hole(pipeLeak, 0.8))
	}
	b.Guard(b.Passage("leak of the equalising reservoir", d.er, Atmosphere, Hole(0.2e-3, 0.8)), d.erLeak)
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	d.net = net
	return d
}

func (d driven) charged(t *testing.T) *Run {
	r := d.net.NewRun(warm())
	for _, n := range d.everything {
		r.Fill(n, 500e3+Standard)
	}
	r.Set(d.led, 500e3)
	advance(t, r, 20)
	return r
}

// inLap is what the pipe of 10 vehicles loses in a minute of lap after 60 kPa, kPa. Either
// the equalising reservoir leaks or the pipe, which the relay may feed or not.
func inLap(t *testing.T, reservoirLeaks, maintains bool) float64 {
	d := newDriven(t, 10, 1e-3)
	r := d.charged(t)
	r.Set(d.led, 440e3)
	advance(t, r, r.Time()+20)
	r.Set(d.works, 0)
	if reservoirLeaks {
		r.Set(d.erLeak, 1)
	}
	if !maintains {
		r.Set(d.feed, 0)
	}
	before := r.Gauge(d.pipe)
	advance(t, r, r.Time()+60)
	return (before - r.Gauge(d.pipe)) / 1e3
}

// tied is how far the cylinders of two units lie apart, kPa, whose relays have ratios of 1
// and 0.8 and whose outputs a pipe of 4 mm joins. Neither relay exhausts while the other
// feeds it above its own target only within its band, so the tie is as strong as they are.
func tied(t *testing.T, without bool) float64 {
	b := NewBuilder()
	mr := b.Source("supply", 900e3)
	control := b.Source("control", 300e3+Standard)
	var out [2]Node
	for i, ratio := range []float64{1, 0.8} {
		out[i] = b.Volume("cylinders", 16e-3)
		supply := Hole(1.5e-3, 0.8)
		b.Regulator(RegulatorSpec{Name: "relay", Supply: mr, Output: out[i], Slot: -1, Control: control, Ratio: ratio, SupplyO: supply, ExhO: Orifice{}, Band: 6e3, DeadBand: 2e3})
	}
	if !without {
		b.Passage("tie", out[0], out[1], Hole(4e-3, 0.8))
	}
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(Usual())
	advance(t, r, 120)
	return (r.Gauge(out[0]) - r.Gauge(out[1])) / 1e3
}
