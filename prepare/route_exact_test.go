package prepare_test

import (
	"math"
	"testing"

	"headstock/prepare"
)

// Two equal vehicles on a curve stand mirrored about the joint, so the line of the
// couplers is a chord of the circle through both pivots. The body is tangent in its
// middle, at q = √(R² − (base/2)²) from the centre; the pivot lies p further along, at
// ρ = √(q² + p²). The body's direction leads the pivot's own tangent by atan(p/q), and the
// chord of length 2c falls from that tangent by asin(c/ρ). The swing is their sum.
func TestSwingOfEqualVehicles(t *testing.T) {
	for _, x := range []struct{ radius, base, pivot, shank float64 }{
		{140, 8.8, 5.95, 0.65},
		{100, 4, 3.7, 0.6},
		{80, 10.8, 7.15, 0.65},
		{60, 3.2, 4, 0.6},
	} {
		b := prepare.Body{Base: x.base, Pivot: x.pivot, Shank: x.shank}
		q := math.Sqrt(x.radius*x.radius - x.base*x.base/4)
		want := math.Atan(x.pivot/q) + math.Asin(x.shank/math.Hypot(q, x.pivot))
		one, two, ok := prepare.Swing(x.radius, b, b)
		if !ok || math.Abs(one-want) > 1e-9 || math.Abs(two-want) > 1e-9 {
			t.Errorf("%+v: %g and %g rad, %v, want %g", x, one, two, ok, want)
		}
	}
}

// A vehicle of no length coupled to its like is a chain of links: each turns half of the
// angle that a link takes of the circle, asin(c/R).
func TestSwingOfAChain(t *testing.T) {
	b := prepare.Body{Shank: 0.7}
	one, _, ok := prepare.Swing(100, b, b)
	if want := math.Asin(0.7 / 100); !ok || math.Abs(one-want) > 1e-12 {
		t.Errorf("%g, want %g", one, want)
	}
}

// A body longer than the curve is wide does not stand on it; couplers that cannot reach
// each other have no swing.
func TestSwingImpossible(t *testing.T) {
	if _, _, ok := prepare.Swing(4, prepare.Body{Base: 9, Pivot: 6, Shank: 0.7}, prepare.Body{Base: 9, Pivot: 6, Shank: 0.7}); ok {
		t.Error("stands on a curve of 4 m")
	}
	if _, _, ok := prepare.Swing(20, prepare.Body{Base: 2, Pivot: 1, Shank: 0.1}, prepare.Body{Base: 18, Pivot: 12, Shank: 0.1}); ok {
		// 20 m and √(20² − 9² + 12²) = 21.5 m from the centre
		t.Error("the pivots stand 1.5 m apart across the curve and 0.2 m reach")
	}
}
