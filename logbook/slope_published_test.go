package logbook_test

import (
	"fmt"
	"math"
	"testing"

	"headstock/internal/outside"
	"headstock/logbook"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.6g, want %.6g ± %.2g", what, got, want, tolerance)
	}
}

// P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Am.
// Stat. Assoc. 63 (1968) 1379–1389, the numerical example, as repeated in the published
// tests of SciPy (scipy/stats/tests/test_stats.py, class TestTheilslopes): slope 4, height
// 6 when it is the median of y − 4x, interval 3.71 to 4.38. The interval's ends are printed
// to two decimals. The paper states 93 %, counting the ends themselves as missed; the
// number of inversions of 7 things (1, 6, 20, 49 … of 5040) gives the same two slopes, the
// 4th from either end, 1 − 2·76/5040 = 97.0 %, so 95 % asks for them too.
func TestSen1968(t *testing.T) {
	x := []float64{1, 2, 3, 4, 10, 12, 18}
	y := []float64{9, 15, 19, 20, 45, 55, 78}
	f, ok := logbook.FitLine(x, y, 0.95)
	if !ok || !f.Bounded || f.Pairs != 21 || f.K != 4 {
		t.Fatalf("%+v, %t", f, ok)
	}
	const exact, printed = "a ratio of whole numbers, but for rounding", "half of the last printed digit"
	b := outside.Open(t)
	b.Hold(
		outside.At("Sen", "theil-sen-example", "slope of the line through 7 points", 4, f.Slope, "", 1e-12, exact),
		outside.At("Sen", "theil-sen-example", "height of that line", 6, f.Height, "", 1e-12, exact),
		outside.At("Sen", "theil-sen-example", "lower end of the slope's interval", 3.71, f.Low, "", 0.005, printed),
		outside.At("Sen", "theil-sen-example", "upper end of the slope's interval", 4.38, f.High, "", 0.005, printed))
}

// The worked example of the reference manual of the R package statpsych 2.0.0, ci.theil,
// after M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods (1999): fifteen
// points, three of them at one x and two at another, slope 0.5, interval at 95 % 0.3243243
// to 0.75, the 31st of 101 slopes from either end. That package cuts the variance in
// proportion to the pairs lost, 101·35/9 = 392.8; Sen's own for equal x is
// (15·14·35 − 3·2·11 − 2·1·9)/18 = 403.7, which asks for the 30th. So ours holds the printed
// interval and is one slope wider at either end: 7/23 and 29/38.
func TestHollanderWolfeExample(t *testing.T) {
	y := []float64{21, 4, 9, 12, 35, 18, 10, 22, 24, 1, 6, 8, 13, 16, 19}
	x := []float64{67, 28, 30, 28, 52, 40, 25, 37, 44, 10, 14, 20, 28, 40, 51}
	f, ok := logbook.FitLine(x, y, 0.95)
	if !ok || !f.Bounded || f.Pairs != 101 || f.K != 30 {
		t.Fatalf("%+v, %t", f, ok)
	}
	const wider = "the count of the package cuts the variance for equal x in proportion, Sen's own formula asks for one slope more at either end"
	b := outside.Open(t)
	b.Hold(
		outside.At("ci.theil", "hollander-wolfe-example", "slope of the line through 15 points", 0.5, f.Slope, "", 1e-12, "a ratio of whole numbers, but for rounding"),
		outside.At("ci.theil", "hollander-wolfe-example", "lower end of the slope's interval", 0.3243243, f.Low, "", 5e-8, "half of the last printed digit").Missed("Our interval holds theirs and is one slope wider at either end: "+wider+"."),
		outside.At("ci.theil", "hollander-wolfe-example", "upper end of the slope's interval", 0.75, f.High, "", 5e-8, "half of the last printed digit").Missed("As at the lower end: 29/38 instead of 3/4."))
	if f.Low > 0.3243243 || f.High < 0.75 {
		t.Errorf("%g to %g does not hold the printed interval", f.Low, f.High)
	}
	near(t, "low", f.Low, 7.0/23, 1e-12)
	near(t, "high", f.High, 29.0/38, 1e-12)
}

// The numbers of orders of n things with k inversions (Mahonian numbers, OEIS A008302):
// n = 4: 1, 3, 5, 6, 5, 3, 1; n = 7 begins 1, 6, 20, 49, 98, 169, 259.
func TestInversionCounts(t *testing.T) {
	b := outside.Open(t)
	for _, w := range []struct {
		n    int
		want []float64
	}{{4, []float64{1, 3, 5, 6, 5, 3, 1}}, {7, []float64{1, 6, 20, 49, 98, 169, 259}}} {
		n, want := w.n, w.want
		orders := 1.0
		for k := 2; k <= n; k++ {
			orders *= float64(k)
		}
		p := logbook.Inversions(n)
		for k, w := range want {
			b.Hold(outside.At("A008302", "oeis-a008302", fmt.Sprintf("orders of %d things with %d inversions", n, k), w, p[k]*orders, "", 1e-9, "whole numbers, but for rounding"))
		}
	}
}
