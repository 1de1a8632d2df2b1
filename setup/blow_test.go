package setup

import "testing"

// A blow a hair below the shortest that is heard is not told from one a hair above it.
func TestToldApart(t *testing.T) {
	for _, c := range []struct {
		a, b float64
		told bool
	}{{1.9997, 2.003, false}, {0, 2.003, true}, {2.003, 0, true}, {1.5, 3, false}, {0, 1.9, false}, {12, 7, false}, {12, 0.1, true}} {
		if got := toldApart(c.a, c.b); got != c.told {
			t.Errorf("%g s and %g s: %v", c.a, c.b, got)
		}
	}
}
