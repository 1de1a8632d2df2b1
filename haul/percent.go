package haul

import (
	"fmt"
	"math"

	"headstock/motion"
)

// Braked-weight percentage by UIC 544-1: how hard a train or a vehicle brakes, as a number
// that distance can be had from and the other way round.

// percentRow is one speed of the assessment: s = c/(λ + d), s in m, λ in per cent.
type percentRow struct{ kmh, c, d float64 }

// The constants of a single vehicle and of a whole train (pfaff-notebooks).
func percentRows(train bool) []percentRow {
	if train {
		return []percentRow{{100, 61300, 8.9}, {120, 91633, 11.6}, {140, 130995, 11.6}, {150, 152640, 11.6}, {160, 176714, 11.6}, {180, 228219, 11.6}, {200, 287620, 11.6}}
	}
	return []percentRow{{100, 52840, 10}, {120, 83634, 19}, {140, 119179, 19}, {160, 161280, 19}}
}

func percentAt(v float64, train bool) (percentRow, error) {
	rows := percentRows(train)
	for _, r := range rows {
		if math.Abs(r.kmh-v*3.6) < 0.01 {
			return r, nil
		}
	}
	return percentRow{}, fmt.Errorf("no constants for %.4g km/h; expected one of those of UIC 544-1, from %g to %g km/h", v*3.6, rows[0].kmh, rows[len(rows)-1].kmh)
}

// Percent is the braked-weight percentage of a stop in s metres from one of the speeds of
// the assessment, m/s, on the level. An error is a speed without constants, or no
// distance.
func Percent(s, v float64, train bool) (float64, error) {
	r, err := percentAt(v, train)
	if err != nil {
		return 0, err
	}
	if s <= 0 {
		return 0, fmt.Errorf("a stop in %g m; expected a distance above 0", s)
	}
	return r.c/s - r.d, nil
}

// PercentDistance is the stopping distance, m, that a percentage stands for at one of the
// speeds of the assessment. An error is a speed without constants, or a percentage too
// low for the form.
func PercentDistance(percent, v float64, train bool) (float64, error) {
	r, err := percentAt(v, train)
	if err != nil {
		return 0, err
	}
	if percent+r.d <= 0 {
		return 0, fmt.Errorf("%g per cent; expected more than %g", percent, -r.d)
	}
	return r.c / (percent + r.d), nil
}

// PercentSlows is the deceleration at low speed of a percentage, m/s² (UIC 544-1 appendix
// G 4.4), and the speed up to which it stands, m/s (from memory).
func PercentSlows(percent float64) (a, upTo float64) {
	return 0.0075*percent + 0.076, 16.85 * math.Pow(math.Max(percent, 0), 0.428) / 3.6
}

// BuildUp is the time in which the brake of a train of a length in m builds up, s, in the
// goods or the passenger position; no shorter than for 400 m (from memory).
func BuildUp(length float64, goods bool) float64 {
	l := math.Max(length, 400) / 100
	if goods {
		return 12 + 0.05*l*l
	}
	return 2.3 + 0.17*l*l
}

// PercentStop is the distance in which a train of a percentage and length stops from a
// speed within reach of PercentSlows on the level, m: half the build-up at full speed,
// and then evenly. An error is a speed beyond that reach.
func PercentStop(percent, v, length float64, goods bool) (float64, error) {
	a, upTo := PercentSlows(percent)
	if v > upTo {
		return 0, fmt.Errorf("at %.3g km/h the low-speed form of %g per cent does not stand; expected at most %.3g km/h", v*3.6, percent, upTo*3.6)
	}
	return v*BuildUp(length, goods)/2 + v*v/(2*a), nil
}

// PercentOf is the percentage that stops so, the other way round. s is the distance, m;
// an error is one that is shorter than the build-up.
func PercentOf(s, v, length float64, goods bool) (float64, error) {
	left := s - v*BuildUp(length, goods)/2
	if left <= 0 {
		return 0, fmt.Errorf("a stop in %g m is shorter than its build-up", s)
	}
	return (v*v/(2*left) - 0.076) / 0.0075, nil
}

// The mean-value method of EN 14531-1. It is exact only for a train that neither slows nor
// gains speed in its response time: on a steep grade it must be stepped (see Braking).

// EquivalentTime is the response time, s, of a brake that begins after ta and builds up in
// tab.
func EquivalentTime(ta, tab float64) float64 { return ta + tab/2 }

// MeanResistance is the resistance, N, that stands for the whole of a slowing from v0 to v1
// (m/s).
func MeanResistance(r motion.Resistance, v0, v1 float64) float64 {
	return r.A + r.B*2/3*(v0*v0+v0*v1+v1*v1)/(v0+v1) + r.C/2*(v0*v0+v1*v1)
}

// MeanStop is the stopping distance, m, from v m/s with an equivalent response time and
// deceleration.
func MeanStop(v, te, a float64) float64 { return v*te + v*v/(2*a) }
