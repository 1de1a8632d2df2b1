package logbook

import (
	"math"
	"slices"
)

// A line through readings, such that a few wild ones do not bend it: the slope is the
// median of the slopes between all pairs (H. Theil 1950; P. K. Sen, "Estimates of the
// regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63, 1968,
// 1379–1389), the height the median of what is left. It holds while fewer than 29 % of
// the readings are wild (R. R. Wilcox 2001, p. 208, as quoted).
//
// The interval of the slope comes from Kendall's statistic. If the true slope is b, each
// order of the residuals y − b·x is as likely as any other, so the number of pairs whose
// slope lies under b is distributed like the number of inversions of a random order. The
// interval runs from the K-th smallest to the K-th largest slope, with the largest K for
// which fewer than K pairs lie under the true slope with a probability of at most half of
// what the interval may miss. For up to exactOrders readings at different times that
// distribution is counted; beyond, and where times coincide, it is taken as normal with
// Sen's variance, K rounded down. Equal readings make the interval wider than it need be.
// Errors of the readings are taken as independent; where they are not, the interval is
// too narrow.
const exactOrders = 30

// Fit is a robust line through points.
type Fit struct {
	Slope, Height float64 // y = Height + Slope·x
	Low, High     float64 // interval of the slope
	Bounded       bool    // false: too few points for an interval at this confidence
	Pairs, K      int     // slopes, and which of them from either end bounds the interval
}

// FitLine fits a line through at least two points of different x; confidence lies between 0
// and 1. Without two different x the second result is false.
func FitLine(x, y []float64, confidence float64) (Fit, bool) {
	n := len(x)
	slopes := make([]float64, 0, n*(n-1)/2)
	for i := range x {
		for j := i + 1; j < n; j++ {
			if dx := x[j] - x[i]; dx != 0 {
				slopes = append(slopes, (y[j]-y[i])/dx)
			}
		}
	}
	if len(slopes) == 0 {
		return Fit{}, false
	}
	f := Fit{Pairs: len(slopes)}
	f.Slope = median(slopes) // parts the slopes at their middle
	f.Height = HeightOf(x, y, f.Slope)
	f.K = within(x, len(slopes), (1-confidence)/2)
	if half := len(slopes) / 2; f.K > 0 { // the halves are parted already
		f.Low, f.High, f.Bounded = nth(slopes[:half], f.K-1), nth(slopes[half:], len(slopes)-f.K-half), true
	}
	return f, true
}

// HeightOf is the median of y − slope·x: the height at which a line of that slope runs
// through the points.
func HeightOf(x, y []float64, slope float64) float64 {
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - float64(slope*x[i])
	}
	return median(rest)
}

// within is the K of the interval: the largest for which fewer than K of the pairs lie
// under the true slope with a probability of at most tail; 0 when even one may not.
func within(x []float64, pairs int, tail float64) int {
	n := len(x)
	ties := 0.0 // Σ u(u−1)(2u+5) over groups of equal times
	sorted := slices.Sorted(slices.Values(x))
	for i := 0; i < n; {
		j := i
		for j < n && sorted[j] == sorted[i] {
			j++
		}
		u := float64(j - i)
		ties += u * (u - 1) * (2*u + 5)
		i = j
	}
	if ties == 0 && n <= exactOrders {
		k, sum := 0, 0.0
		for _, p := range Inversions(n) {
			if sum += p; sum > tail {
				break
			}
			k++
		}
		return min(k, pairs/2)
	}
	m := float64(n)
	sigma := math.Sqrt((m*(m-1)*(2*m+5) - ties) / 18)
	z := math.Sqrt2 * math.Erfinv(1-2*tail)
	return max(0, min(int(math.Floor((float64(pairs)-float64(z*sigma))/2)), pairs/2))
}

// Inversions is the probability of 0, 1, 2 … inversions in a random order of n things:
// each further thing adds 0 to its rank less one, all equally likely (Kendall 1938).
func Inversions(n int) []float64 {
	p := []float64{1}
	for k := 2; k <= n; k++ {
		next := make([]float64, len(p)+k-1)
		sum := 0.0
		for i := range next { // a running sum over the last k terms
			if i < len(p) {
				sum += p[i]
			}
			if i >= k {
				sum -= p[i-k]
			}
			next[i] = sum / float64(k)
		}
		p = next
	}
	return p
}

// median parts v at its middle and returns it; the mean of the middle two when there are
// as many below as above.
func median(v []float64) float64 {
	n := len(v)
	if n%2 == 1 {
		return nth(v, n/2)
	}
	high := nth(v, n/2)
	return (slices.Max(v[:n/2]) + high) / 2
}

// nth puts the k-th smallest (from 0) in its place, with none greater before it and none
// smaller behind, and returns it. The pivot is the median of three fixed places, so that
// the work is the same every time.
func nth(v []float64, k int) float64 {
	low, high := 0, len(v)-1
	for low < high {
		a, b, c := v[low], v[(low+high)/2], v[high]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return v[k]
		}
	}
	return v[k]
}
