package consist_test

import (
	"math"
	"testing"

	"headstock/consist"
)

// Ways of the records: within one vehicle their sum, between two beside the train at a
// metre a second, counted by hand.
func TestWalk(t *testing.T) {
	f := railway(t)
	parse := func(text string) *consist.Consist {
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	c := parse("Tern 3 lead, Kite 11 trail")
	at := func(v int, p string) consist.Spot { return consist.Spot{Vehicle: v, Place: p} }
	for _, w := range []struct {
		from, to consist.Spot
		want     float64
	}{
		{at(1, "headstock-1"), at(1, "left-skirt-1"), 4 + 6},
		{at(1, "cab-1-seat"), at(1, "left-skirt-2"), 12 + 6 + 6},
		// corner 16 m along a Tern of 16.4 m, then 0.5 m along the Kite: 0.9 m
		{at(0, "corner-2-left"), at(1, "buffer-corner-1-left"), 0.9},
	} {
		for _, turn := range []bool{false, true} {
			a, b := w.from, w.to
			if turn {
				a, b = b, a
			}
			if got, ok := c.Walk(a, b); !ok || math.Abs(got-w.want) > 1e-9 {
				t.Errorf("%v to %v: %g s, by hand %g", a, b, got, w.want)
			}
		}
	}
	// the far side of a vehicle that is turned round is its other end
	r := parse("Tern 3 lead, Kite 11 trail reversed")
	near, _ := r.Walk(at(0, "corner-2-left"), at(1, "buffer-corner-2-left"))
	far, _ := r.Walk(at(0, "corner-2-left"), at(1, "buffer-corner-1-left"))
	if near >= far {
		t.Errorf("%g s to the near end, %g s to the far one", near, far)
	}
	if _, ok := c.Walk(at(0, "nowhere"), at(1, "cab-1-seat")); ok {
		t.Error("a way from a place that is not there")
	}
}
