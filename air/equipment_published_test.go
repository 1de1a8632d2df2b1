package air

import (
	"fmt"
	"math"
	"testing"

	"headstock/internal/outside"
)

// Equalisation at 70 to 110 psi, in service and in emergency, and at every piston travel:
// rows PRF-029 to PRF-034, which are reckoned by Boyle's law from reservoirs of 2500 and 3500 in3, a
// cylinder of 10 in and 243 in3 of clearance. They are nobody's measurement, so they prove
// nothing beyond that our distributor ends where the law says; what was read in books is
// TestEqualisation_9_11.
func TestEqualisationTables(t *testing.T) {
	b := outside.Open(t)
	const by, why = "rules-of-the-trade", "the graduating valve closes 1 kPa before the reservoir is level with the pipe, which is up to 0.6 psi in the cylinder, and the row is rounded"
	cylinder := func(travel, from, reduction float64, emergency bool) float64 {
		l := newLine(t, lineSpec{vehicles: 1, vent: true, change: func(b *Builder) {
			b.volumes("auxiliary", 2500*in3)
			b.volumes("emergency reservoir", 3500*in3)
			for i := range b.nodes {
				if c := b.nodes[i].cyl; c != nil {
					b.nodes[i].v = 243 * in3
					c.V0, c.V1 = 243*in3, (243+78.54*travel)*in3
				}
			}
		}})
		r := l.charged(t, from*psi)
		if emergency {
			r.Set(l.cut, 0)
			r.Set(l.vent, 1)
		} else {
			l.lead(t, r, (from-reduction)*psi, service)
		}
		advance(t, r, r.Time()+90)
		return r.Gauge(l.cyl[0]) / psi
	}
	hold := func(id, what string, want, ours float64) {
		b.Hold(outside.At(id, by, what, want, ours, "psi", 0.8, why).As(outside.FromMemory))
	}
	for i, from := range []float64{70, 80, 90, 100, 110} {
		hold("PRF-029", fmt.Sprintf("equalised at 8 in from %g psi", from), []float64{49.2, 56.6, 64.0, 71.4, 78.8}[i], cylinder(8, from, 40, false))
		hold("PRF-030", fmt.Sprintf("emergency at 8 in from %g psi", from), []float64{59.8, 68.5, 77.2, 86.0, 94.7}[i], cylinder(8, from, 0, true))
	}
	for i, travel := range []float64{6, 9, 10.5, 12} {
		hold("PRF-031", fmt.Sprintf("equalised at %g in from 90 psi", travel), []float64{67.8, 62.2, 59.7, 57.3}[i], cylinder(travel, 90, 45, false))
	}
	for i, travel := range []float64{6, 7.5, 8, 9, 12} {
		hold("PRF-032", fmt.Sprintf("after 10 psi at %g in from 90 psi", travel), []float64{25.3, 19.6, 18.1, 15.4, 9.4}[i], cylinder(travel, 90, 10, false))
	}
	for i, travel := range []float64{6, 8, 9, 12} {
		hold("PRF-033", fmt.Sprintf("after 20 psi at %g in from 90 psi", travel), []float64{60.3, 46.8, 41.7, 30.5}[i], cylinder(travel, 90, 20, false))
	}
	for i, by := range []float64{6, 8, 10, 15, 20, 26} {
		hold("PRF-034", fmt.Sprintf("after %g psi at 8 in from 90 psi", by), []float64{6.6, 12.4, 18.1, 32.4, 46.8, 64.0}[i], cylinder(8, 90, by, false))
	}
}

// Retainers, air.md 9.15 [P10]: in high pressure the cylinder stops falling at 20 psi, in low
// pressure at 10 psi. The spring is that figure. What a retainer is for is held beside: the
// reservoir is charged anew meanwhile, and a second application comes on top.
func TestRetainers_9_15(t *testing.T) {
	b := outside.Open(t)
	const by = "alaska-1996"
	for _, w := range []struct {
		position string
		holds    float64
	}{{"high pressure", 20}, {"low pressure", 10}} {
		g := retained(t, w.holds*psi, 2.5e-3)
		r := g.charge(t, 70*psi)
		r.Set(g.led, 55*psi)
		advance(t, r, r.Time()+60)
		first := r.Gauge(g.cyl) / psi
		r.Set(g.led, 70*psi)
		advance(t, r, r.Time()+300)
		held := r.Gauge(g.cyl) / psi
		b.Hold(outside.At("9.15", by, "the cylinder stops falling, retainer in "+w.position, w.holds, held, "psi", 0.5, "what a gauge shows").As(outside.Restated))
		if r.Gauge(g.ar) < 69*psi {
			t.Errorf("%s: the auxiliary stands at %.1f psi after 5 min of charging", w.position, r.Gauge(g.ar)/psi)
		}
		r.Set(g.led, 55*psi)
		advance(t, r, r.Time()+60)
		if second := r.Gauge(g.cyl) / psi; second < first+5 {
			t.Errorf("%s: a second application of 15 psi gives %.1f psi after %.1f", w.position, second, first)
		}
		if a := r.Audit(); a > 1e-9 {
			t.Errorf("audit %g", a)
		}
	}
}

// Retarded release, air.md 9.19 [P11]: a valve whose pipe comes up 3 psi above its reservoir lets
// its cylinder off through a choke, any other as ever. So the front of a long train waits
// for the rear. The slide is in the model; which vehicles it finds is not.
func TestRetardedRelease_9_19(t *testing.T) {
	b := outside.Open(t)
	const by = "tm-55-203"
	first, last := letOff(t, true)
	first0, last0 := letOff(t, false)
	t.Logf("let off: first of 80 in %.1f s, last in %.1f s; without %.1f and %.1f s", first, last, first0, last0)
	b.Hold(
		outside.Says("9.19", by, "the front of a long train is let off retarded", first > 1.2*first0),
		outside.Says("9.19", by, "its rear is let off as without", math.Abs(last-last0) < 0.05*last0))
}
