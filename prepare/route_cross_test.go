package prepare_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"headstock/prepare"
)

// The swing against bodies laid on the circle one by one: the first at a fixed place, the
// second slid along the track by halving until its pivot is as far from the first's as the
// couplers are long, and the angles taken between directions in the plane.
func TestSwingAgainstBodiesOnTheCircle(t *testing.T) {
	type vec struct{ x, y float64 }
	rapid.Check(t, func(t *rapid.T) {
		body := func(name string) prepare.Body {
			base := rapid.Float64Range(2, 12).Draw(t, name+" base")
			return prepare.Body{Base: base, Pivot: base/2 + rapid.Float64Range(0.5, 3).Draw(t, name+" overhang"), Shank: rapid.Float64Range(0.4, 1).Draw(t, name+" shank")}
		}
		radius := rapid.Float64Range(60, 400).Draw(t, "radius")
		a, b := body("a"), body("b")
		// a body whose first axle stands at angle phi on the circle: both ends of its base,
		// its middle, its direction
		lay := func(base, phi float64) (mid, dir vec) {
			half := math.Asin(base / 2 / radius)
			p := vec{radius * math.Cos(phi), radius * math.Sin(phi)}
			q := vec{radius * math.Cos(phi+2*half), radius * math.Sin(phi+2*half)}
			return vec{(p.x + q.x) / 2, (p.y + q.y) / 2}, vec{(q.x - p.x) / base, (q.y - p.y) / base}
		}
		midA, dirA := lay(a.Base, 0)
		pivotA := vec{midA.x + a.Pivot*dirA.x, midA.y + a.Pivot*dirA.y}
		behind := func(phi float64) (pivot, dir vec) {
			mid, dir := lay(b.Base, phi)
			return vec{mid.x - b.Pivot*dir.x, mid.y - b.Pivot*dir.y}, dir
		}
		// the arc from the front axle of a to the first axle of b: at least as far as both
		// pivots, which puts the second's pivot on the first's or before it
		low := 2*math.Asin(a.Base/2/radius) + (a.Pivot-a.Base/2+b.Pivot-b.Base/2)/radius - 0.02*(a.Pivot+b.Pivot)/radius
		high := low + 6/radius
		for range 200 {
			m := (low + high) / 2
			p, _ := behind(m)
			ahead := (p.x-pivotA.x)*dirA.x + (p.y-pivotA.y)*dirA.y
			if ahead > 0 && math.Hypot(p.x-pivotA.x, p.y-pivotA.y) > a.Shank+b.Shank {
				high = m
			} else {
				low = m
			}
		}
		pivotB, dirB := behind(low)
		link := math.Atan2(pivotB.y-pivotA.y, pivotB.x-pivotA.x)
		wantA := link - math.Atan2(dirA.y, dirA.x)
		wantB := math.Atan2(dirB.y, dirB.x) - link
		gotA, gotB, ok := prepare.Swing(radius, a, b)
		if !ok {
			if math.Abs(math.Hypot(pivotB.x-pivotA.x, pivotB.y-pivotA.y)-a.Shank-b.Shank) < 1e-6 {
				t.Fatalf("radius %g, %+v, %+v: said not to reach", radius, a, b)
			}
			return
		}
		turn := func(v float64) float64 { return math.Remainder(v, 2*math.Pi) }
		if math.Abs(turn(gotA-wantA)) > 1e-6 || math.Abs(turn(gotB-wantB)) > 1e-6 {
			t.Fatalf("radius %g, %+v, %+v: %g and %g rad, laid out %g and %g", radius, a, b, gotA, gotB, wantA, wantB)
		}
	})
}
