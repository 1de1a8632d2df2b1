package main

import (
	"math"
	"strings"
	"testing"
)

// The network against the reference on cases with one friction factor, which both know.
// What is left is what the network leaves out, the momentum that the air carries along: ρu² is
// about 0.1 kPa at the head of a reduction. 0.15 kPa and 0.02 s; flow 0.1 %.
func TestNetworkAgainstReference(t *testing.T) {
	m := reports(t, "-case", "constant-service,restricted-feed", "-cells", "8", "-pieces", "4", "testdata/constant.json")
	for _, id := range []string{"constant-service", "restricted-feed"} {
		want, got := m[id+" reference"], m[id+" network"]
		if len(want) == 0 || len(want) != len(got) {
			t.Fatalf("%s: %d results and %d", id, len(want), len(got))
		}
		for name, w := range want {
			g := got[name]
			if w == nil || g == nil {
				t.Errorf("%s %s: did not come", id, name)
				continue
			}
			tol := 150.
			switch {
			case strings.HasPrefix(name, "t_"):
				tol = 0.02
			case strings.HasPrefix(name, "flow"):
				tol = 1e-3 * *w
			}
			if !(math.Abs(*g-*w) <= tol) {
				t.Errorf("%s %s: network %.6g, reference %.6g, want within %.3g", id, name, *g, *w, tol)
			}
		}
	}
}
