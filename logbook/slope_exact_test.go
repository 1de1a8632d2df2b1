package logbook_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"headstock/logbook"
)

// Points on a line give that line, whatever becomes of a quarter of them: with n points of
// which w are wild, n(n−1)/2 slopes are there and (n−w)(n−w−1)/2 of them are the line's, more
// than half while w/n stays under 1 − √½ = 0.293; so the median is one of them. Of the
// distances from the line more than half are then zero, and their median is.
func TestLineExactDespiteWildPoints(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(8, 60).Draw(r, "n")
		a, b := float64(rapid.IntRange(-50, 50).Draw(r, "a")), float64(rapid.IntRange(-8, 8).Draw(r, "b"))/4
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(3 * i)
			y[i] = a + b*x[i]
		}
		for range n / 5 {
			y[rapid.IntRange(0, n-1).Draw(r, "where")] += float64(rapid.IntRange(-100000, 100000).Draw(r, "wild"))
		}
		f, ok := logbook.FitLine(x, y, 0.95)
		if !ok || math.Abs(f.Slope-b) > 1e-9 || math.Abs(f.Height-a) > 1e-6 {
			r.Fatalf("%+v, want %g + %g x", f, a, b)
		}
		if f.Bounded && (f.Low > f.Slope || f.High < f.Slope) {
			r.Fatalf("the interval does not hold its slope: %+v", f)
		}
	})
}

// Moving all points or stretching an axis does the same to the line and its interval, and
// their order does not matter.
func TestLineFollowsItsAxes(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(5, 40).Draw(r, "n")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i*8 + rapid.IntRange(0, 7).Draw(r, "x"))
			y[i] = float64(rapid.IntRange(0, 1000).Draw(r, "y"))
		}
		f, _ := logbook.FitLine(x, y, 0.95)
		u, v := make([]float64, n), make([]float64, n)
		for i := range x {
			u[n-1-i], v[n-1-i] = 2*x[i]+16, 4*y[i]-32 // powers of two, so nothing is rounded
		}
		g, _ := logbook.FitLine(u, v, 0.95)
		if g.Slope != 2*f.Slope || g.Low != 2*f.Low || g.High != 2*f.High || g.K != f.K {
			r.Fatalf("%+v against %+v", f, g)
		}
	})
}

func TestLineNeedsTwoTimes(t *testing.T) {
	if _, ok := logbook.FitLine([]float64{3, 3, 3}, []float64{1, 2, 3}, 0.95); ok {
		t.Error("a line was fitted through one time")
	}
	// of five orders 1/120 has no inversion, 5/120 at most one: 95 % takes the outermost slopes
	if f, _ := logbook.FitLine([]float64{1, 2, 3, 4, 5}, []float64{1, 3, 2, 5, 4}, 0.95); f.K != 1 || !f.Bounded {
		t.Errorf("%+v", f)
	}
	// of four orders 1/24 has none: more than 2.5 %
	if f, _ := logbook.FitLine([]float64{1, 2, 3, 4}, []float64{1, 3, 2, 5}, 0.95); f.Bounded {
		t.Errorf("%+v", f)
	}
}

// The interval that may miss one time in twenty at most: over all 5040 orders of seven
// errors on a true line, the interval holds the true slope in at least 95 % of them.
func TestIntervalCoversOverAllOrders(t *testing.T) {
	errs := []float64{-9, -4, -1, 0.5, 2, 5, 11}
	x := []float64{0, 1, 3, 4, 8, 9, 15}
	all, held := 0, 0
	permute(errs, func(e []float64) {
		y := make([]float64, len(x))
		for i := range x {
			y[i] = 2*x[i] + e[i]
		}
		f, _ := logbook.FitLine(x, y, 0.95)
		all++
		if f.Low <= 2 && 2 <= f.High {
			held++
		}
	})
	// exactly the orders with 4 to 17 inversions: 5040 − 2·76
	if all != 5040 || held != 5040-2*76 {
		t.Errorf("%d of %d intervals hold the slope, want %d", held, all, 5040-2*76)
	}
}

func permute(v []float64, do func([]float64)) {
	v = slices.Clone(v)
	var walk func(int)
	walk = func(k int) {
		if k == len(v) {
			do(v)
			return
		}
		for i := k; i < len(v); i++ {
			v[k], v[i] = v[i], v[k]
			walk(k + 1)
			v[k], v[i] = v[i], v[k]
		}
	}
	walk(0)
}
