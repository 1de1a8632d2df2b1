package haul_test

import (
	"math"
	"testing"

	"headstock/haul"
	"headstock/motion"
	"headstock/rigging"
)

// The closed form of a stop whose brake force rises in a straight line: with the delay d,
// the rise time T and the force f full (all per kg of inertia), c = g(i - r) of what pulls,
//
//	v(d) = v0 + c d,  v(d+t) = v(d) + c t - f t²/2T,  then evenly with f - c.
//
// Rows BRK-25 to 27: 0.50 N/kg full in 18 s after 2 s, r = 2 N/kN, rotating 1.05; the force
// per kg of mass is divided by 1.05.
func TestLinearBuildUp(t *testing.T) {
	const d, T, rot = 2.0, 18.0, 1.05
	for _, w := range []struct {
		v, falling, want, tolerance float64 // want: as the row has it
	}{{40, 0, 234.83, 0.1}, {40, 0.025, 476, 0.5}, {30, 0.025, 317.19, 0.2}} {
		v0 := w.v * kmh
		f, c := 0.50/rot, 9.81*(w.falling-0.002)/rot
		v1 := v0 + c*d
		s := v0*d + c*d*d/2
		v2 := v1 + c*T - f*T/2
		var exact float64
		if v2 <= 0 { // it stops while the force still rises
			lo, hi := 0.0, T
			for range 200 {
				if m := (lo + hi) / 2; v1+c*m-f*m*m/(2*T) > 0 {
					lo = m
				} else {
					hi = m
				}
			}
			exact = s + v1*lo + c*lo*lo/2 - f*lo*lo*lo/(6*T)
		} else {
			exact = s + v1*T + c*T*T/2 - f*T*T/6 + v2*v2/(2*(f-c))
		}
		if math.Abs(exact-w.want) > w.tolerance {
			t.Errorf("%g km/h, %g: the closed form gives %.2f m, the row %.2f", w.v, w.falling, exact, w.want)
		}
		m := 1000.0
		b := &haul.Braking{Mass: m, Inertia: rot * m, Rolls: motion.Resistance{A: 0.002 * 9.81 * m}, Outside: rise(d, T, 0.50*m)}
		for _, step := range []float64{0.05, 0.25} {
			if got := b.Course(haul.At{Speed: v0, Falling: w.falling, Step: step}); math.Abs(got.Distance/exact-1) > 1e-3 {
				t.Errorf("%g km/h, %g, step %g: %.3f m, exact %.3f", w.v, w.falling, step, got.Distance, exact)
			}
		}
	}
}

// Instant application with the iron law is a quadrature of v dv/a(v), here by Simpson on
// 20 000 pieces. Rows BRK-28, 30, and 425 m on 1 in 40.
func TestIronLawQuadrature(t *testing.T) {
	const m, rot, total = 63e3, 1.04, 139e3
	iron := rigging.CastIron.Law()
	for _, w := range []struct{ v, falling, want, tolerance float64 }{{60, 0, 409.19, 0.3}, {40, 0, 158.34, 0.2}, {40, 1.0 / 40, 425, 0.6}} {
		f := func(v float64) float64 {
			a := (total*iron.At(total/8, v) + m*9.81*(0.002-w.falling)) / (rot * m)
			return v / a
		}
		const n = 20000
		h := w.v * kmh / n
		exact := 0.0
		for k := range n {
			x := float64(k) * h
			exact += h / 6 * (f(x) + 4*f(x+h/2) + f(x+h))
		}
		if math.Abs(exact-w.want) > w.tolerance {
			t.Errorf("%g km/h, %g: quadrature %.2f m, the row %.2f", w.v, w.falling, exact, w.want)
		}
		c := rigging.Cylinder{Bore: 0.3, Count: 1}
		b := &haul.Braking{Mass: m, Inertia: rot * m, Rolls: motion.Resistance{A: 0.002 * 9.81 * m}, Groups: []haul.Group{{
			Blocks: rigging.Blocks{Count: 8, Ratio: 1, Efficiency: 1, Material: rigging.CastIron}, Cylinder: c, Pressure: haul.Curve{Every: 1, Values: []float64{total / c.Force(1)}}, On: m}}}
		for _, step := range []float64{0.05, 0.25} {
			if got := b.Course(haul.At{Speed: w.v * kmh, Falling: w.falling, Step: step}); math.Abs(got.Distance/exact-1) > 1e-3 {
				t.Errorf("%g km/h, %g, step %g: %.3f m, quadrature %.3f", w.v, w.falling, step, got.Distance, exact)
			}
		}
	}
}

// What the brakes, the rails and the grade do adds up: the energy of the blocks is what the
// train had, and what the grade gave, less what rolling took.
func TestStopEnergyAddsUp(t *testing.T) {
	s := shunted(3, 4, 5.65, 3.8e5, 90e3, 1)
	s.Outside = haul.Curve{}
	v := 70 * kmh
	at := haul.At{Speed: v, Falling: 0.01}
	c := s.Course(at)
	blocks := 0.0
	for _, e := range c.Energy {
		blocks += e
	}
	rolled := 0.0
	for k := 1; k < len(c.Points); k++ {
		p, q := c.Points[k-1], c.Points[k]
		rolled += s.Rolls.At((p.Speed+q.Speed)/2) * (q.Distance - p.Distance)
	}
	had := s.Inertia*v*v/2 + s.Mass*9.81*0.01*c.Distance
	if off := math.Abs(blocks+rolled-had) / had; off > 1e-3 {
		t.Errorf("blocks %.4g J and rolling %.4g J, the train had %.4g J", blocks, rolled, had)
	}
}
