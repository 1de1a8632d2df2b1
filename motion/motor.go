package motion

import (
	"fmt"
	"math"
)

// Motor is a direct-current series motor by its magnetisation curve.
type Motor struct {
	Curve      Curve   // current, A: voltage induced, V, at Speed
	Speed      float64 // at which the curve holds: rad/s of the armature, or m/s at the rail
	Resistance float64 // of armature, brushes and field, ohm
}

// Curve is points in rising order, joined so that it rises and falls only where they do
// (the monotone cubic of Fritsch and Carlson).
type Curve struct {
	x, y, slope []float64
}

// NewCurve makes a curve of at least two points whose first figures rise. An error is
// fewer points, or a point whose first figure does not rise.
func NewCurve(points [][2]float64) (Curve, error) {
	n := len(points)
	if n < 2 {
		return Curve{}, fmt.Errorf("a curve needs two points, found %d", n)
	}
	c := Curve{make([]float64, n), make([]float64, n), make([]float64, n)}
	for i, p := range points {
		if i > 0 && !(p[0] > points[i-1][0]) {
			return Curve{}, fmt.Errorf("the points of a curve do not rise at %g", p[0])
		}
		c.x[i], c.y[i] = p[0], p[1]
	}
	d := make([]float64, n-1)
	for i := range d {
		d[i] = (c.y[i+1] - c.y[i]) / (c.x[i+1] - c.x[i])
	}
	c.slope[0], c.slope[n-1] = d[0], d[n-2]
	for i := 1; i < n-1; i++ {
		if d[i-1]*d[i] > 0 {
			c.slope[i] = (d[i-1] + d[i]) / 2
		}
	}
	for i := range d {
		if d[i] == 0 {
			c.slope[i], c.slope[i+1] = 0, 0
			continue
		}
		a, b := c.slope[i]/d[i], c.slope[i+1]/d[i]
		if r := a*a + b*b; r > 9 {
			k := 3 / math.Sqrt(r)
			c.slope[i], c.slope[i+1] = k*a*d[i], k*b*d[i]
		}
	}
	return c, nil
}

// At is the curve at x; beyond its ends it goes on straight.
func (c Curve) At(x float64) float64 {
	n := len(c.x)
	if n == 0 {
		return 0
	}
	if x <= c.x[0] {
		return c.y[0] + c.slope[0]*(x-c.x[0])
	}
	if x >= c.x[n-1] {
		return c.y[n-1] + c.slope[n-1]*(x-c.x[n-1])
	}
	lo, hi := 0, n-1
	for hi-lo > 1 {
		if m := (lo + hi) / 2; c.x[m] <= x {
			lo = m
		} else {
			hi = m
		}
	}
	h := c.x[hi] - c.x[lo]
	t := (x - c.x[lo]) / h
	u := 1 - t
	return c.y[lo]*u*u*(1+2*t) + c.y[hi]*t*t*(3-2*t) + h*t*u*(c.slope[lo]*u-c.slope[hi]*t)
}

// Frolich is the magnetisation e(x) = (1+b) x/(b+x) through (0, 0) and (1, 1), at points
// that are close enough for a curve, up to twice the continuous current. b is 0.737 for
// the published curve of chakrabarti-4, example 4.6.2, within 2.2 per cent.
func Frolich(b float64) [][2]float64 {
	var out [][2]float64
	for k := 0; k <= 40; k++ {
		x := float64(k) / 20
		out = append(out, [2]float64{x, (1 + b) * x / (b + x)})
	}
	return out
}

// Induced is the voltage induced at a speed while the armature carries a current, of which
// a part goes through the field.
func (m Motor) Induced(current, field, speed float64) float64 {
	return m.Curve.At(field*current) * speed / m.Speed
}

// SpeedAt is the speed at which the motor takes a current from a voltage, in the measure of
// Speed; with a part of the current in the field.
func (m Motor) SpeedAt(voltage, current, field float64) float64 {
	return m.Speed * (voltage - current*m.Resistance) / m.Curve.At(field*current)
}

// Power is what the armature turns into work at a speed, W: no friction is taken off.
func (m Motor) Power(current, field, speed float64) float64 {
	return m.Induced(current, field, speed) * current
}

// Pull is the torque, N m, where Speed is of the armature in rad/s, or the force at the
// rail, N, where Speed is m/s there; no friction is taken off.
func (m Motor) Pull(current, field float64) float64 {
	return m.Curve.At(field*current) * current / m.Speed
}

// CurrentFor is the current that pulls so much: the inverse of Pull, which rises with it.
func (m Motor) CurrentFor(pull, field float64) float64 {
	if pull <= 0 {
		return 0
	}
	lo, hi := 0.0, 1.0
	for m.Pull(hi, field) < pull {
		if hi *= 2; hi > 1e9 {
			return math.Inf(1)
		}
	}
	return bisect(lo, hi, func(i float64) float64 { return m.Pull(i, field) - pull })
}

// bisect finds where f, rising, crosses zero.
func bisect(lo, hi float64, f func(float64) float64) float64 {
	for range 60 {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Regeared is the motor with another gear and wheel, its Speed at the rail: gear is wheel
// teeth over pinion teeth.
func (m Motor) Regeared(gear, wheel, newGear, newWheel float64) Motor {
	m.Speed *= (newWheel / newGear) / (wheel / gear)
	return m
}

// Series is a string of motors in series on one voltage, each with its wheel.
type Series []Motor

// Speed is the rail speed at which the string takes a current from a voltage, where the
// Speed of each motor is m/s at the rail with its own wheel, and all wheels run at one speed.
func (s Series) Speed(voltage, current, field float64) float64 {
	perSpeed, drop := 0.0, 0.0
	for _, m := range s {
		perSpeed += m.Curve.At(field*current) / m.Speed
		drop += current * m.Resistance
	}
	return (voltage - drop) / perSpeed
}

// Voltages are the voltages across the motors at a rail speed and a current.
func (s Series) Voltages(speed, current, field float64) []float64 {
	var out []float64
	for _, m := range s {
		out = append(out, m.Induced(current, field, speed)+current*m.Resistance)
	}
	return out
}
