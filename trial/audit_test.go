package trial

import (
	"math"
	"testing"
)

// A run that lost or made air has no readings.
func TestAccounted(t *testing.T) {
	for _, audit := range []float64{0, 1e-12, 1e-9} {
		if err := accounted(audit); err != nil {
			t.Errorf("%g: %v", audit, err)
		}
	}
	for _, audit := range []float64{1.1e-9, 1, math.Inf(1), math.NaN()} {
		if accounted(audit) == nil {
			t.Errorf("%g is let pass", audit)
		}
	}
}
