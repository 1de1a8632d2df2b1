package motion

import (
	"fmt"
	"math"
)

// Coupling is what joins two vehicles: free play, then draft gear, then stop.
type Coupling struct {
	Slack    float64 // m, free play of the whole joint
	Travel   float64 // m, of the draft gear of the joint, in either direction; +Inf without a stop
	Force    float64 // N, at full travel
	Returned float64 // part of the force left while it is let off, 0..1; 1 gives all back
	Solid    float64 // N/m, stiffness beyond the travel, and of a gear that turns about
}

// Spring is a coupling without play, stop or friction.
func Spring(stiffness float64) Coupling {
	return Coupling{Travel: 1, Force: stiffness, Returned: 1, Solid: stiffness}
}

// loaded is the force of the coupling at an opening as it is loaded, pull positive.
func (c Coupling) loaded(x float64) float64 {
	d := math.Abs(x) - c.Slack/2
	if d <= 0 {
		return 0
	}
	f := c.Force * math.Min(d, c.Travel) / c.Travel
	if d > c.Travel {
		f += (d - c.Travel) * c.Solid
	}
	return math.Copysign(f, x)
}

// turned moves the force from f while the opening goes from x0 to x1: along the loading
// line, along the line of letting off, or steeply between the two.
func (c Coupling) turned(f, x0, x1 float64) float64 {
	l := c.loaded(x1)
	if c.Returned >= 1 {
		return l
	}
	u := c.Returned * l
	f += c.Solid * (x1 - x0)
	return math.Min(math.Max(f, math.Min(l, u)), math.Max(l, u))
}

// Chain is vehicles, each one mass, and the couplings between them, from the front.
type Chain struct {
	Mass   []float64 // kg, with what rotating parts add
	Joints []Coupling
}

// Trial is what a chain is put through.
type Trial struct {
	Speed   float64   // m/s, of all at the beginning
	Opening []float64 // m, of each joint at the beginning: half its slack is stretched; nil: the middle of the slack
	Until   float64   // s
	Step    float64   // s
	Sample  float64   // s between samples; 0: none
	// Push writes the force from outside on each vehicle, N, forward positive, at a time
	// with the speeds and the ways run.
	Push func(time float64, speed, way, out []float64)
}

// Strain is what one coupling met.
type Strain struct {
	Pull, Push     float64 // N, highest, both positive
	PullAt, PushAt float64 // s
}

// Strained is what came of a trial.
type Strained struct {
	Joints []Strain
	Times  []float64   // s, of every sample
	Forces [][]float64 // N, by sample and joint, pull positive
	Speeds []float64   // m/s of the first vehicle, by sample
	Ways   []float64   // m, run by the first vehicle, by sample
	Drift  float64     // part of the energy turned over that the reckoning lost
	Rest   float64     // s at which all stood; Until when they did not
	Spread float64     // m/s, the greatest difference of speed between neighbours
}

// Run puts the chain through a trial by the method of Verlet. A step is refused that is too
// long for the stiffest coupling.
func (c Chain) Run(t Trial) (Strained, error) {
	n := len(c.Mass)
	switch {
	case n == 0 || len(c.Joints) != n-1:
		return Strained{}, fmt.Errorf("%d vehicles have %d couplings, found %d", n, n-1, len(c.Joints))
	case !(t.Step > 0) || !(t.Until > 0):
		return Strained{}, fmt.Errorf("a trial needs a time and a step")
	}
	for j, k := range c.Joints {
		stiff := math.Max(k.Force/k.Travel, k.Solid)
		m := 1 / (1/c.Mass[j] + 1/c.Mass[j+1])
		if t.Step > 0.5/math.Sqrt(2*stiff/m) {
			return Strained{}, fmt.Errorf("a step of %g s is too long for coupling %d", t.Step, j+1)
		}
	}
	x, v, a := make([]float64, n), make([]float64, n), make([]float64, n)
	ext, before := make([]float64, n), make([]float64, n)
	f, open := make([]float64, n-1), make([]float64, n-1)
	out := Strained{Joints: make([]Strain, n-1), Rest: t.Until}
	for j := range open {
		if j < len(t.Opening) {
			open[j] = t.Opening[j]
			f[j] = c.Joints[j].loaded(open[j])
		}
	}
	start := append([]float64(nil), open...)
	for i := range v {
		v[i] = t.Speed
	}
	force := func() {
		for i := range a {
			s := ext[i]
			if i > 0 {
				s += f[i-1]
			}
			if i < n-1 {
				s -= f[i]
			}
			a[i] = s / c.Mass[i]
		}
	}
	t.Push(0, v, x, ext)
	force()
	kinetic := func() float64 {
		e := 0.0
		for i := range v {
			e += c.Mass[i] * v[i] * v[i] / 2
		}
		return e
	}
	first, turned, given, stored := kinetic(), 0.0, 0.0, 0.0
	steps := int(math.Round(t.Until / t.Step))
	every := 0
	if t.Sample > 0 {
		every = max(1, int(math.Round(t.Sample/t.Step)))
	}
	h := t.Step
	for k := 1; k <= steps; k++ {
		time := float64(k) * h
		copy(before, ext)
		for i := range x {
			dx := v[i]*h + a[i]*h*h/2
			x[i] += dx
			v[i] += a[i] * h / 2
			given += before[i] * dx / 2
			ext[i] = dx // kept for the second half
		}
		for i := range ext {
			before[i] = ext[i]
		}
		for j := range f {
			o := start[j] + x[j] - x[j+1]
			g := c.Joints[j].turned(f[j], open[j], o)
			stored += (f[j] + g) / 2 * (o - open[j])
			f[j], open[j] = g, o
			s := &out.Joints[j]
			if g > s.Pull {
				s.Pull, s.PullAt = g, time
			}
			if -g > s.Push {
				s.Push, s.PushAt = -g, time
			}
		}
		t.Push(time, v, x, ext)
		for i := range ext {
			given += ext[i] * before[i] / 2
			turned += math.Abs(ext[i] * before[i])
		}
		force()
		for i := range v {
			v[i] += a[i] * h / 2
			if i > 0 {
				out.Spread = math.Max(out.Spread, math.Abs(v[i]-v[i-1]))
			}
		}
		if every > 0 && k%every == 0 {
			out.Times = append(out.Times, time)
			out.Forces = append(out.Forces, append([]float64(nil), f...))
			out.Speeds = append(out.Speeds, v[0])
			out.Ways = append(out.Ways, x[0])
		}
		if t.Speed > 0 {
			rest := true
			for i := range v {
				rest = rest && math.Abs(v[i]) < 0.01
			}
			if rest {
				out.Rest = time
				break
			}
		}
	}
	if turned = math.Max(turned, first); turned > 0 {
		out.Drift = math.Abs(first+given-stored-kinetic()) / turned
	}
	return out, nil
}

// Steady is the force in each coupling, N, pull positive, of vehicles that keep together at
// one acceleration, with the force from outside on each of them.
func (c Chain) Steady(push []float64) (acceleration float64, forces []float64) {
	m, f := 0.0, 0.0
	for i := range c.Mass {
		m += c.Mass[i]
		f += push[i]
	}
	acceleration = f / m
	pull := 0.0
	forces = make([]float64, max(0, len(c.Mass)-1))
	for i := len(c.Mass) - 1; i > 0; i-- {
		pull += c.Mass[i]*acceleration - push[i]
		forces[i-1] = pull
	}
	return acceleration, forces
}

// StepPeak is the highest force, N, in a spring between two bodies at rest in it when a
// force is laid on the first at once: twice the steady one.
func StepPeak(force, first, second float64) float64 { return 2 * force * second / (first + second) }

// Meeting is two vehicles that run into each other.
type Meeting struct{ Mass1, Speed1, Mass2, Speed2 float64 } // kg, m/s

// Common is the speed of both while the buffers are pressed most, m/s.
func (m Meeting) Common() float64 {
	return (m.Mass1*m.Speed1 + m.Mass2*m.Speed2) / (m.Mass1 + m.Mass2)
}

// Stored is the energy in the buffers then, J.
func (m Meeting) Stored() float64 {
	d := m.Speed1 - m.Speed2
	return m.Mass1 * m.Mass2 / (m.Mass1 + m.Mass2) * d * d / 2
}

// Press is how far springs of a total stiffness, N/m, give, m.
func (m Meeting) Press(stiffness float64) float64 { return math.Sqrt(2 * m.Stored() / stiffness) }

// After is the speeds when they part, with a coefficient of restitution 0..1: the part of
// the speed of meeting with which they part.
func (m Meeting) After(restitution float64) (float64, float64) {
	c := m.Common()
	return c - restitution*m.Mass2*(m.Speed1-m.Speed2)/(m.Mass1+m.Mass2), c + restitution*m.Mass1*(m.Speed1-m.Speed2)/(m.Mass1+m.Mass2)
}
