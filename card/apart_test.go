package card

import (
	"testing"

	"headstock/quantity"
)

// What is said to tell of a fault never reads the same as what is right.
func TestApart(t *testing.T) {
	for _, c := range []struct {
		kind      string
		was, is   float64
		right, so string
	}{
		{"exhaust", 12, 0.2, "blows 12 s", "quiet"},
		{"exhaust", 1.7, 2.4, "blows 1.7 s", "blows 2.4 s"},
		{"exhaust", 2.01, 2.04, "blows 2.0 s", "blows 2.0 s, a little more"},
		{"gauge", 82e3, 0, "82 kPa", "0 kPa"},
		{"gauge", 82.1e3, 82.0e3, "82 kPa", "82 kPa, a little less"},
		{"gauge", 82e3, 82e3, "82 kPa", "82 kPa"},
	} {
		if right, so := apart(c.kind, c.was, false, c.is, false, quantity.Metric()); right != c.right || so != c.so {
			t.Errorf("%s %g and %g: %q, %q", c.kind, c.was, c.is, right, so)
		}
	}
}

// A part of a whole is written as a person reads it.
func TestLittle(t *testing.T) {
	for part, want := range map[float64]string{7.5e-11: "less than 0.001 per cent", -3.1e-5: "0.003 per cent", 0.02: "2.0 per cent"} {
		if got := little(part); got != want {
			t.Errorf("%g: %q, want %q", part, got, want)
		}
	}
}
