package reference

import (
	"math"
	"testing"
)

// bare is a pipe of one vehicle without friction, both ends closed.
func bare(model string, length, bore, start float64) Spec {
	return Spec{Bore: bore, Friction: "none", Model: model, Insulated: true, VehiclePipe: length, Vehicles: 1,
		Start: start, End: 1, Head: []Row{{Mode: "closed"}}, Tail: []Row{{Mode: "closed"}}}
}

func build(t *testing.T, s Spec, cells int) *Pipe {
	t.Helper()
	p, err := New(s, cells)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func advance(t *testing.T, p *Pipe, until float64) {
	t.Helper()
	if err := p.Advance(until); err != nil {
		t.Fatal(err)
	}
}

// near fails when got is further than tol from want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.6g, want %.6g within %.2g", what, got, want, tol)
	}
}

// share is near with a tolerance that is a share of what is wanted.
func share(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	near(t, what, got, want, math.Abs(tol*want))
}
