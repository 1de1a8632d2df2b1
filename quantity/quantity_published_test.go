package quantity_test

import (
	"strings"
	"testing"

	"headstock/internal/outside"
	"headstock/quantity"
)

// Source: NIST Special Publication 811 (2008), appendix B.8. The tolerance is half a unit
// of the last printed digit. The house holds the inch, the pound and the fall of gravity as
// they are defined and makes the rest from them; those that it makes count, the definitions
// are restated.
func TestUnitBridges(t *testing.T) {
	b := outside.Open(t)
	const half = "half of the last printed digit"
	for _, c := range []struct {
		text      string
		want, tol float64 // SI
		kind      outside.Kind
	}{
		{"1 psi", 6894.757, 0.0005, outside.Computed},
		{"1 kgf/cm2", 98066.5, 0.05, outside.Restated},
		{"1 in3", 1.638706e-5, 0.5e-11, outside.Computed},
		{"1 cfm", 4.719474e-4, 0.5e-10, outside.Computed},
		{"1 hp", 745.6999, 0.00005, outside.Computed},
		{"1 lb", 0.4535924, 0.5e-7, outside.Restated},
		{"1 lbf", 4.448222, 0.5e-6, outside.Computed},
		{"1 mph", 0.44704, 0.5e-5, outside.Restated},
		{"1 ft3", 2.831685e-2, 0.5e-8, outside.Computed},
		{"1 in", 0.0254, 0.5e-4, outside.Restated},
		{"1 short tons", 907.1847, 0.00005, outside.Computed},
		{"50 °F", 283.15, 0.005, outside.Computed},
	} {
		v, err := quantity.Parse(c.text)
		if err != nil {
			t.Error(err)
		}
		b.Hold(outside.At("B.8 "+strings.TrimLeft(c.text, "150 "), "nist-sp-811", c.text+" in SI units", c.want, v.SI, "", c.tol, half).As(c.kind))
	}
	b.Hold(outside.At("air.md 0", "invented", "28.317 L/min in cubic feet a minute", 1, quantity.LitresPerMinute(28.317).CubicFeetPerMinute(), "cfm", 1e-4, "five printed figures").As(outside.Restated))
}
