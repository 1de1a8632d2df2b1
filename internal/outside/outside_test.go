package outside

import (
	"math"
	"testing"
)

func TestDeviationAndMet(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		low, high, ours, tolerance float64
		off                        float64
		met                        bool
	}{
		{50, 50, 50.9, 1, 0.9, true}, {50, 50, 48.9, 1, -1.1, false}, {10, 25, 17, 0, 0, true},
		{10, 25, 25.5, 0, 0.5, false}, {-inf, 5, 4, 0, 0, true}, {60, inf, 59, 0.5, -1, false}, {1, 1, math.NaN(), 5, inf, false},
	} {
		k := Within("row", "invented", "something", c.low, c.high, c.ours, "psi", c.tolerance, "because")
		if math.Abs(k.Deviation()-c.off) > 1e-12 && k.Deviation() != c.off || k.Met() != c.met {
			t.Errorf("%+v: off %g, met %v", c, k.Deviation(), k.Met())
		}
	}
}

func TestLinesAreCutToATenthOfTheTolerance(t *testing.T) {
	for _, c := range []struct {
		v, tolerance float64
		want         string
	}{{49.876543, 1, "49.9"}, {0.8430123, 0.00005, "0.843012"}, {2125, 0, "2125"}, {1234.5678, 20, "1235"}, {-0.001, 1, "0"}, {50, 1, "50"}} {
		if got := number(c.v, c.tolerance); got != c.want {
			t.Errorf("%g ± %g is written %s, want %s", c.v, c.tolerance, got, c.want)
		}
	}
	l := Says("row", "invented", "it stays on", false).line()
	if l.Published != "yes" || l.Ours != "no" || !l.Statement {
		t.Errorf("%+v", l)
	}
}
