package quantity

import (
	"math"
	"testing"
)

// Source: NIST Special Publication 811 (2008), appendix B.8. The tolerance is half a unit
// of the last printed digit.
func TestUnitBridges(t *testing.T) {
	for _, c := range []struct {
		text      string
		want, tol float64 // SI
	}{
		{"1 psi", 6894.757, 0.0005},
		{"1 kgf/cm2", 98066.5, 0.05},
		{"1 in3", 1.638706e-5, 0.5e-11},
		{"1 cfm", 4.719474e-4, 0.5e-10},
		{"1 hp", 745.6999, 0.00005},
		{"1 lb", 0.4535924, 0.5e-7},
		{"1 lbf", 4.448222, 0.5e-6},
		{"1 mph", 0.44704, 0.5e-5},
		{"1 ft3", 2.831685e-2, 0.5e-8},
		{"1 in", 0.0254, 0.5e-4},
		{"1 short tons", 907.1847, 0.00005},
		{"50 °F", 283.15, 0.005},
	} {
		v, err := Parse(c.text)
		if err != nil || math.Abs(v.SI-c.want) > c.tol {
			t.Errorf("%s = %v (%v), published %v", c.text, v.SI, err, c.want)
		}
	}
	if got := LitresPerMinute(28.317).CubicFeetPerMinute(); math.Abs(got-1) > 1e-4 {
		t.Errorf("28.317 L/min = %v cfm", got)
	}
}
