package motion

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, ours, want, within float64) {
	t.Helper()
	if math.Abs(ours-want) > within || math.IsNaN(ours) {
		t.Errorf("%s: %.6g, want %.6g ± %.2g", what, ours, want, within)
	}
}

// Constant power P against a constant force R, from u to v. With m v dv/dt = P - R v, and
// w = P/R the balancing speed: t = m/R [w ln((w-u)/(w-v)) - (v-u)], and from
// m v² dv/ds = P - R v: s = m/R [w² ln((w-u)/(w-v)) - w (v-u) - (v²-u²)/2].
func constantPower(m, p, r, u, v float64) (time, distance float64) {
	w := p / r
	l := math.Log((w - u) / (w - v))
	return m / r * (w*l - (v - u)), m / r * (w*w*l - w*(v-u) - (v*v-u*u)/2)
}

// A locomotive of constant power, given as a measured effort.
func constantMachine(t *testing.T, p, from, to float64) *Machine {
	t.Helper()
	var pts [][2]float64
	for v := from; v <= to; v += 0.05 {
		pts = append(pts, [2]float64{v, p / v})
	}
	c, err := NewCurve(pts)
	if err != nil {
		t.Fatal(err)
	}
	return &Machine{Name: "constant power", Axles: []Axle{{1, 1, 1e9, 1}}, Measured: &c, Utilisation: 1}
}

// RUN-17 to RUN-20 of the collected cases: by both rules for forces of the speed alone, and
// by both integrators of a run. The train of the cases has its rotating mass in its mass.
func TestConstantPowerExact(t *testing.T) {
	const m, p, r = 900e3, 1.10e6, 25e3
	for _, c := range []struct {
		name       string
		slope      float64
		from, to   float64
		time, dist float64 // 0: not collected
	}{{"RUN-17, 18", 0, 5, 15, 109.285, 1208.54}, {"RUN-20", 0.010, 5, 8, 0, 372.63}} {
		hold := r + m*Gravity*c.slope
		time, dist := constantPower(m, p, hold, c.from, c.to)
		if c.time > 0 {
			near(t, c.name+" closed form, time", time, c.time, 0.01)
		}
		near(t, c.name+" closed form, distance", dist, c.dist, 0.1)
		force := func(v float64) float64 { return p/v - hold }
		a, b := Speeding(m, c.from, c.to, force)
		near(t, c.name+" by speed, time", a, time, 1e-6*time)
		near(t, c.name+" by speed, distance", b, dist, 1e-6*dist)
		a, b = SpeedingByTime(m, c.from, c.to, 0.25, force)
		near(t, c.name+" by time, time", a, time, 1e-4*time)
		near(t, c.name+" by time, distance", b, dist, 1e-4*dist)
		task := Task{Way: &Way{Heights: []Vertex{{-1e4, -1e4 * c.slope}, {1e5, 1e5 * c.slope}}, Limits: []Limit{{-1e4, 1e5, 30}}},
			Rake: Rake{{Mass: m, Inertia: m, Length: 10, Running: Resistance{A: r}}}, Machines: []*Machine{constantMachine(t, p, 1, 31)},
			Speed: c.from, To: dist, Slowing: 0.2}
		for name, run := range map[string]func() (Outcome, error){"by time": task.ByTime, "by distance": task.ByDistance} {
			o, err := run()
			if err != nil {
				t.Fatal(err)
			}
			near(t, c.name+" run "+name+", time", o.Time, time, 1e-3*time)
			near(t, c.name+" run "+name+", top", o.Top, c.to, 1e-3*c.to)
		}
	}
}

// RUN-21 and RUN-22: coasting against a + c v², mass m: t = m/√(ac) [atan(u√(c/a)) -
// atan(v√(c/a))], s = m/2c ln((a+cu²)/(a+cv²)).
func TestCoastingExact(t *testing.T) {
	const m = 852e3
	u, v := 60*kmh, 30*kmh
	f, _ := FormNamed("strahl wagon")
	r, err := f.Of(Body{Mass: m, Axles: 60})
	if err != nil {
		t.Fatal(err)
	}
	k := math.Sqrt(r.C / r.A)
	time := m / math.Sqrt(r.A*r.C) * (math.Atan(u*k) - math.Atan(v*k))
	dist := m / (2 * r.C) * math.Log(r.At(u)/r.At(v))
	near(t, "RUN-21 closed form", dist, 3775.2, 0.3)
	near(t, "RUN-22 closed form", time, 311.50, 0.05)
	a, b := Speeding(m, u, v, func(v float64) float64 { return -r.At(v) })
	near(t, "RUN-22 by speed", a, time, 1e-6*time)
	near(t, "RUN-21 by speed", b, dist, 1e-6*dist)
	task := Task{Way: &Way{Limits: []Limit{{-1e4, 1e5, 30}}}, Rake: Rake{{Mass: m, Inertia: m, Length: 10, Running: r}}, Speed: u, To: dist, Slowing: 0.2, Sample: 1}
	for name, run := range map[string]func() (Outcome, error){"by time": task.ByTime, "by distance": task.ByDistance} {
		o, err := run()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "RUN-22 run "+name, o.Time, time, 1e-3*time)
		near(t, "speed at the end "+name, o.Samples[len(o.Samples)-1].Speed, v, 1e-3*v)
		if name == "by time" && math.Abs(o.Energy.Drift) > 1e-3*o.Energy.Running {
			t.Errorf("the reckoning loses %.3g of %.3g J", o.Energy.Drift, o.Energy.Running)
		}
	}
}

// HEA-C: t = -τ ln((x²-1)/(x²-p)).
func TestHeatingExact(t *testing.T) {
	h := Heating{Tau: 40}
	for x, want := range map[float64][2]float64{1.10: {70.1, 25.8}, 1.20: {47.4, 14.4}, 1.35: {31.8, 8.3}} {
		near(t, "from cold", h.Until(0, x, 1), want[0], 0.1)
		near(t, "from 0.81", h.Until(0.81, x, 1), want[1], 0.1)
		near(t, "there and back", h.After(0.81, x, h.Until(0.81, x, 1)), 1, 1e-12)
	}
	if !math.IsInf(h.Until(0, 1, 1), 1) {
		t.Error("the continuous rating is passed")
	}
}

// LTD-11 and LTD-12: half of the stored energy given back is a restitution of √½. LTD-13:
// two equal wagons and a spring: F = Δv √(k m/2).
func TestMeetingExact(t *testing.T) {
	m := Meeting{10e3, 1.8, 15e3, 0.6}
	a, b := m.After(math.Sqrt(0.5))
	near(t, "LTD-11", a, 0.571, 0.002)
	near(t, "LTD-12", b, 1.419, 0.002)
	near(t, "momentum", 10e3*a+15e3*b, 10e3*1.8+15e3*0.6, 1e-6)
	w := Meeting{63e3, 5 * kmh, 63e3, 0}
	near(t, "LTD-13", 10e6*w.Press(10e6)/1000, 779.5, 0.5)
}

// LTD-14, LTD-15 and LTD-C: a brake step of 200 kN on the locomotive alone.
func TestChainExact(t *testing.T) {
	step := func(_ float64, _, _, out []float64) { out[0] = -200e3 }
	near(t, "LTD-14 closed form", StepPeak(200e3, 96e3, 756e3)/1000, 354.9, 0.1)
	two := Chain{[]float64{96e3, 756e3}, []Coupling{Spring(20e6)}}
	o, err := two.Run(Trial{Until: 1, Step: 5e-4, Push: step})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "LTD-14", o.Joints[0].Push/1000, 354.9, 0.005*354.9)
	c := Chain{Mass: []float64{96e3}}
	for range 10 {
		c.Mass = append(c.Mass, 63e3)
		c.Joints = append(c.Joints, Spring(20e6))
	}
	push := make([]float64, 11)
	push[0] = -200e3
	_, f := c.Steady(push)
	near(t, "LTD-15", -f[0]/1000, 173.55, 0.05)
	for _, h := range []float64{1e-3, 2e-4} {
		o, err = c.Run(Trial{Until: 2, Step: h, Push: step})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "LTD-C1", o.Joints[0].Push/1000, 248.3, 0.5)
		near(t, "LTD-C5", o.Joints[4].Push/1000, 234.7, 0.5)
		near(t, "LTD-C10", o.Joints[9].Push/1000, 137.3, 0.5)
		if o.Drift > 1e-3 {
			t.Errorf("step %g: the reckoning loses %g of the energy", h, o.Drift)
		}
	}
	if _, err := c.Run(Trial{Until: 2, Step: 0.1, Push: step}); err == nil {
		t.Error("a step too long for the couplings is taken")
	}
}

// A gear that gives back a part takes the rest: what two wagons part with after meeting.
func TestChainFrictionExact(t *testing.T) {
	for _, k := range []float64{1, 0.25} {
		g := Coupling{Slack: 4, Travel: 1, Force: 5e6, Returned: k, Solid: 50e6}
		c := Chain{[]float64{40e3, 40e3}, []Coupling{g}}
		v := 1.0
		run := Trial{Until: 1, Step: 1e-4, Sample: 0.01, Opening: []float64{-2}}
		run.Push = func(t float64, _, _, out []float64) { // the second is struck, and runs at the first
			out[0], out[1] = 0, 0
			if t < 1e-3-1e-9 {
				out[1] = 40e3 * v / 0.95e-3
			}
		}
		o, err := c.Run(run)
		if err != nil {
			t.Fatal(err)
		}
		// Of K x²/2 is given back: down the steep line, d = δ x with δ = (1-k)/(S/K - k), then
		// along the line of letting off; restitution is the root of the part.
		d := (1 - k) / (10 - k)
		part := (1+k*(1-d))*d + k*(1-d)*(1-d)
		first := o.Speeds[len(o.Speeds)-1]
		_, a := Meeting{40e3, v, 40e3, 0}.After(math.Sqrt(part))
		near(t, "speed of the first after", first, a, 0.001)
	}
}

// The slope is 1 in 100 from km 1 on; the train of 400 m stands with half of it on the rise.
func TestGradeOverVehiclesExact(t *testing.T) {
	w := &Way{Heights: []Vertex{{0, 0}, {1000, 0}, {5000, 40}}, Arcs: []Arc{{1000, 1100, 200}}}
	var r Rake
	for range 40 {
		r = append(r, Car{Mass: 50e3, Inertia: 50e3, Length: 10})
	}
	full := 2000e3 * Gravity * 0.01
	l, c := w.grade(r), 0
	for _, k := range []struct{ head, share float64 }{{500, 0}, {1000, 0}, {1200, 0.5}, {1205, 0.5125}, {1400, 1}, {3000, 1}, {900, 0}} {
		near(t, "lined", l.at(k.head, &c), full*k.share, 1)
		near(t, "summed", w.GradeOn(r, k.head), full*k.share, 1)
	}
	// its integral is the rise of the centre of mass
	near(t, "potential", l.integral(3400, &c)-l.integral(0, &c), 2000e3*Gravity*(24-2), 2000e3*Gravity*1e-6)
	form, _ := CurveFormNamed("560/R")
	b, c := w.bend(r, form), 0
	near(t, "a quarter of the train in the curve", b.at(1250, &c), 0.25*2000e3*Gravity*560/200/1000, 1)
}

// Within a bogie and over the bogies weight only moves: the sum stays, and the leading axle
// of the leading bogie loses most, so that it slips first.
func TestTransferExact(t *testing.T) {
	var axles []Axle
	for k := range 6 {
		axles = append(axles, Axle{k + 1, k/3 + 1, 160e3, 1})
	}
	f := Frame{Coupler: 0.79, Traction: 0.35, Centres: 9.6, Base: 3.6}
	const pull = 240e3
	w := f.Transfer(axles, pull)
	sum := 0.0
	for _, x := range w {
		sum += x
	}
	near(t, "sum", sum, 6*160e3, 1e-6)
	body := pull * (0.79 - 0.35) / 9.6
	near(t, "leading bogie", w[0]+w[1]+w[2], 480e3-body, 1e-6)
	// the outer axles of a bogie differ by f h / base on each side of the middle
	near(t, "leading axle", w[1]-w[0], pull/2*0.35/3.6, 1e-6)
	s := f.Slipping(axles, 0.25)
	if s[0].Axle != 1 || s[len(s)-1].Axle != 6 {
		t.Errorf("order of slipping %v", s)
	}
	// at its own limit the first axle carries just what adhesion gives
	near(t, "limit", s[0].Effort/6, 0.25*s[0].Weight, 1e-6)
	if u := f.Utilisation(axles, 0.25); u < 0.85 || u >= 1 {
		t.Errorf("utilisation %g", u)
	}
}
