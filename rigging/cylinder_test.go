package rigging_test

import (
	"math"
	"testing"

	"headstock/rigging"
)

var c = rigging.Cylinder{Bore: 0.254, Count: 2, Travel: 0.2, Clearance: 2e-3, StartsAt: 15e3, ContactAt: 45e3, ReleasedStandOut: 0.04}

// The area and swept volume of a 254 mm cylinder, air.md section 7: 507 cm2, 5.07 L per
// 100 mm of stroke.
func TestSweptVolume(t *testing.T) {
	v := c.Volume()
	if got := (v.V1 - v.V0) / 2 / 0.2 * 0.1 * 1e3; math.Abs(got-5.07) > 0.01 {
		t.Errorf("%.3f L per 100 mm, want 5.07", got)
	}
	if got := c.Force(380e3) / 1e3; math.Abs(got-19.3) > 0.1 {
		t.Errorf("%.2f kN at 380 kPa, want 19.3", got)
	}
}

// The piston stays in below its spring, travels evenly until the blocks touch, and gives
// a little beyond; it never runs back as pressure rises.
func TestStroke(t *testing.T) {
	for _, w := range []struct{ kpa, low, high float64 }{{0, 0, 0}, {15, 0, 0}, {30, 0.0999, 0.1001}, {45, 0.2, 0.2}, {445, 0.2059, 0.2061}} {
		if s := c.Stroke(w.kpa * 1e3); s < w.low || s > w.high {
			t.Errorf("%g kPa: %g m, want %g..%g", w.kpa, s, w.low, w.high)
		}
	}
	last := -1.0
	for p := 0.0; p < 600e3; p += 1e3 {
		if s := c.Stroke(p); s < last {
			t.Fatalf("the piston runs back at %g", p)
		} else {
			last = s
		}
	}
	if c.Applied(44e3) || !c.Applied(45e3) {
		t.Error("blocks touch at 45 kPa")
	}
	if got := c.StandOut(45e3) - c.StandOut(0); math.Abs(got-c.Stroke(45e3)) > 1e-12 {
		t.Error("travel is applied less released stand-out")
	}
}
