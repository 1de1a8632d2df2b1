package motion

import (
	"math"
	"testing"
)

// A characteristic of an invented six-axle locomotive that was worked out apart from this
// program, from its continuous point and the same magnetisation: three strings of two,
// 1252 kW electrical, 900 V at most. The rows are current of a string, generator voltage,
// effort in kN and speed in km/h. Where the voltage holds it, its speeds were reckoned with
// the resistance of the motors left out or in by turns, so that 3 per cent is allowed there.
func TestCharacteristicCross(t *testing.T) {
	pts := Frolich(0.737)
	for i := range pts {
		pts[i][0] *= 700
		pts[i][1] *= 298 * (1 - 0.044)
	}
	c, err := NewCurve(pts)
	if err != nil {
		t.Fatal(err)
	}
	v := 19.1 / 3.6
	m := &Machine{Name: "six axles", Utilisation: 0.92, Continuous: 700, Mechanical: 207e3 * v / (1252e3 * (1 - 0.044)),
		Motor:      Motor{c, v, 298 * 0.044 / 700},
		Generators: []Generator{{[]int{1, 2, 3, 4, 5, 6}, 1252e3, 900, 2800}},
		Groupings:  []Grouping{{Strings: [][]int{{1, 2}, {3, 4}, {5, 6}}, Field: 1}}}
	for k := range 6 {
		m.Axles = append(m.Axles, Axle{k + 1, k/3 + 1, 16e3 * Gravity, 1})
	}
	for _, r := range []struct{ amps, volts, effort, speed, within float64 }{
		{910, 459, 298.3, 12.9, 0.015}, {840, 497, 267.3, 14.5, 0.015}, {770, 542, 236.8, 16.6, 0.015}, {700, 596, 207.0, 19.1, 0.015}, {630, 662, 177.9, 22.4, 0.015},
		{560, 745, 149.7, 26.8, 0.015}, {490, 852, 122.6, 32.9, 0.015}, {420, 900, 96.8, 37.9, 0.015}, {350, 900, 72.7, 42.2, 0.015}, {280, 900, 50.6, 48.6, 0.015}} {
		p, err := m.AtCurrent(0, r.amps)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "voltage", p.Voltage[0], r.volts, 0.002*r.volts)
		near(t, "effort", p.Effort/1000, r.effort, 0.005*r.effort)
		near(t, "speed", p.Speed*3.6, r.speed, r.within*r.speed)
		// and the most it does at that speed is that point
		if r.amps <= 840 {
			q := m.At(p.Speed, 0)
			near(t, "the same from the speed", q.Effort, p.Effort, 1e-4*p.Effort)
		}
	}
	// starting at an adhesion of 0.28 of all its weight: 263.7 kN at 832 A a string
	m.Utilisation = 1
	p := m.At(0, 0.28)
	near(t, "starting", p.Effort/1000, 263.7, 0.5)
	near(t, "current at starting", p.Current(), 832, 4)
	// without one string: 138 kN without end, and full power from 29 km/h
	m.Out = []int{3}
	p, err = m.ContinuousPoint()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two strings", p.Effort/1000, 138, 0.5)
	near(t, "what two strings take", p.Electrical/1000, 1252, 1)
	near(t, "and from which speed", p.Speed*3.6, 29, 0.6)
}

// Unequal wheels: the string shares its voltage by the speeds of its motors, the smaller
// wheel takes more of it, and a string of smaller wheels takes less current beside another.
func TestUnequalWheelsCross(t *testing.T) {
	c, err := NewCurve(Frolich(0.737))
	if err != nil {
		t.Fatal(err)
	}
	m := &Machine{Name: "four axles", Utilisation: 1, Continuous: 1, Mechanical: 1, Motor: Motor{c, 5, 0.05},
		Generators: []Generator{{[]int{1, 2, 3, 4}, 4, 3, 8}}, Groupings: []Grouping{{Strings: [][]int{{1, 2}, {3, 4}}, Field: 1}}}
	for k := range 4 {
		m.Axles = append(m.Axles, Axle{k + 1, k/2 + 1, 1e9, 1})
	}
	whole := m.At(6, 0)
	m.Wheels = []float64{1, 1, 1, 1}
	if p := m.At(6, 0); math.Abs(p.Effort-whole.Effort) > 1e-9 {
		t.Errorf("wheels of one size: %g, %g without saying so", p.Effort, whole.Effort)
	}
	m.Wheels = []float64{0.92, 0.92, 1, 1}
	p := m.At(6, 0)
	if !(p.Strings[0].Current < p.Strings[1].Current) {
		t.Errorf("the string of smaller wheels turns faster and takes less: %+v", p.Strings)
	}
	if u := p.Electrical; math.Abs(u-4) > 1e-6 {
		t.Errorf("the generator gives %g W of 4 W", u)
	}
	// the unequal way of solving, with wheels that differ by next to nothing, meets the even one
	m.Wheels = []float64{1 + 1e-9, 1, 1, 1}
	if p := m.At(6, 0); math.Abs(p.Effort-whole.Effort) > 1e-6*whole.Effort {
		t.Errorf("%g N and %g N", p.Effort, whole.Effort)
	}
}
