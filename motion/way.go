package motion

import (
	"math"
	"slices"
)

// Way is what a train runs over, from 0 on in the direction of the run. What lies before
// its first vertex and beyond its last goes on with the slope there.
type Way struct {
	Heights []Vertex // in rising order
	Arcs    []Arc
	Limits  []Limit
}

// Vertex is a point of the profile.
type Vertex struct{ At, Height float64 } // m

// Arc is a curve.
type Arc struct{ From, To, Radius float64 } // m

// Limit is a speed that no part of the train may pass between two points.
type Limit struct{ From, To, Speed float64 } // m, m, m/s

// Height is the height at a point, m.
func (w *Way) Height(at float64) float64 {
	h := w.Heights
	n := len(h)
	switch n {
	case 0:
		return 0
	case 1:
		return h[0].Height
	}
	k, _ := slices.BinarySearchFunc(h, at, func(v Vertex, t float64) int {
		switch {
		case v.At < t:
			return -1
		case v.At > t:
			return 1
		}
		return 0
	})
	k = min(max(k, 1), n-1)
	a, b := h[k-1], h[k]
	return a.Height + (b.Height-a.Height)*(at-a.At)/(b.At-a.At)
}

// Slope is the rise over length at a point, of the stretch that begins there.
func (w *Way) Slope(at float64) float64 {
	h := w.Heights
	if len(h) < 2 {
		return 0
	}
	k := 1
	for k < len(h)-1 && h[k].At <= at {
		k++
	}
	return (h[k].Height - h[k-1].Height) / (h[k].At - h[k-1].At)
}

// Car is one vehicle of a Rake.
type Car struct {
	Mass, Inertia, Length float64 // kg, kg with what its rotating parts add, m
	Running               Resistance
	Starting              float64 // N at a stand
}

// Rake is the vehicles of a train from the front.
type Rake []Car

// Length, m over couplers.
func (r Rake) Length() float64 {
	l := 0.0
	for _, c := range r {
		l += c.Length
	}
	return l
}

// Mass, kg.
func (r Rake) Mass() float64 {
	m := 0.0
	for _, c := range r {
		m += c.Mass
	}
	return m
}

// Inertia is the mass that is sped up, kg.
func (r Rake) Inertia() float64 {
	m := 0.0
	for _, c := range r {
		m += c.Inertia
	}
	return m
}

// drag is the resistance of a rake on level straight track, with the resistance at a stand
// fading to that of running.
type drag struct {
	running  Resistance
	starting float64
	fades    float64 // resistance at StartingFades
}

func (r Rake) drag() drag {
	var d drag
	for _, c := range r {
		d.running = d.running.Plus(c.Running)
		d.starting += math.Max(c.Starting, c.Running.A)
	}
	d.fades = d.running.At(StartingFades)
	return d
}

func (d drag) at(v float64) float64 {
	if v < StartingFades {
		return d.starting + (d.fades-d.starting)*v/StartingFades
	}
	return d.running.At(v)
}

// knot is one point of a straight-lined function.
type knot struct{ at, value, sum float64 } // sum is the integral up to it

// lined is a function of straight lines between knots, constant beyond them.
type lined []knot

// at is the function, and the place of its cursor, from which a search begins.
func (l lined) at(x float64, cursor *int) float64 {
	k := l.find(x, cursor)
	if k < 0 {
		return l[0].value
	}
	if k == len(l)-1 {
		return l[k].value
	}
	a, b := l[k], l[k+1]
	return a.value + (b.value-a.value)*(x-a.at)/(b.at-a.at)
}

func (l lined) find(x float64, cursor *int) int {
	k := *cursor
	for k+1 < len(l) && l[k+1].at <= x {
		k++
	}
	for k >= 0 && l[k].at > x {
		k--
	}
	*cursor = max(k, 0)
	return k
}

// integral is that from the first knot to x.
func (l lined) integral(x float64, cursor *int) float64 {
	k := l.find(x, cursor)
	if k < 0 {
		return l[0].value * (x - l[0].at)
	}
	a := l[k]
	return a.sum + (a.value+l.at(x, cursor))/2*(x-a.at)
}

func newLined(at []float64, f func(float64) float64) lined {
	slices.Sort(at)
	var l lined
	for _, x := range at {
		if n := len(l); n > 0 && x-l[n-1].at < 1e-6 {
			continue
		}
		k := knot{at: x, value: f(x)}
		if n := len(l); n > 0 {
			k.sum = l[n-1].sum + (l[n-1].value+k.value)/2*(x-l[n-1].at)
		}
		l = append(l, k)
	}
	return l
}

// Pull of the grade on a rake whose head stands at each point, N: each vehicle's weight
// times the rise over its own length, so that a train on a crest is reckoned as it lies.
// Positive holds it back. It is straight between the points where an end of a vehicle
// passes a vertex, and so exact.
func (w *Way) grade(r Rake) lined {
	var at []float64
	ends := []float64{0}
	for _, c := range r {
		ends = append(ends, ends[len(ends)-1]+c.Length)
	}
	for _, v := range w.Heights {
		for _, e := range ends {
			at = append(at, v.At+e)
		}
	}
	if len(at) == 0 {
		at = []float64{0}
	}
	// beyond the last knot a function of lines is constant, as the slope there is
	return newLined(at, func(s float64) float64 {
		f := 0.0
		front := w.Height(s)
		for i, c := range r {
			rear := w.Height(s - ends[i+1])
			f += c.Mass * Gravity * (front - rear) / c.Length
			front = rear
		}
		return f
	})
}

// bend is the resistance of the curves on a rake whose head stands at each point, N: that
// of the share of each vehicle's length that lies in them.
func (w *Way) bend(r Rake, form CurveForm) lined {
	at := []float64{0}
	ends := []float64{0}
	for _, c := range r {
		ends = append(ends, ends[len(ends)-1]+c.Length)
	}
	for _, a := range w.Arcs {
		for _, e := range ends {
			at = append(at, a.From+e, a.To+e)
		}
	}
	return newLined(at, func(s float64) float64 {
		f := 0.0
		for _, a := range w.Arcs {
			if s < a.From || s-ends[len(ends)-1] > a.To {
				continue
			}
			k := form.Specific(a.Radius) * Gravity
			for i, c := range r {
				in := math.Min(a.To, s-ends[i]) - math.Max(a.From, s-ends[i+1])
				if in > 0 {
					f += k * c.Mass * in / c.Length
				}
			}
		}
		return f
	})
}

// GradeOn is the force of the grade on a rake with its head at a point, N, positive where
// it holds the train back.
func (w *Way) GradeOn(r Rake, head float64) float64 {
	f, front := 0.0, 0.0
	for _, c := range r {
		f += c.Mass * Gravity * (w.Height(head-front) - w.Height(head-front-c.Length)) / c.Length
		front += c.Length
	}
	return f
}

// ceiling is the highest v²/2 at a point for a train of a length: no part of it passes a
// limit, slowing for the next at a rate.
type ceiling struct {
	limits []Limit // To with the train's length added
	rate   float64
}

func (w *Way) ceiling(length, end, rate float64, stop bool) ceiling {
	c := ceiling{rate: rate}
	for _, l := range w.Limits {
		c.limits = append(c.limits, Limit{l.From, l.To + length, l.Speed * l.Speed / 2})
	}
	if stop {
		c.limits = append(c.limits, Limit{end, math.Inf(1), 0})
	}
	return c
}

func (c ceiling) at(s float64) float64 {
	e := math.Inf(1)
	for _, l := range c.limits {
		switch {
		case s < l.From:
			e = math.Min(e, l.Speed+c.rate*(l.From-s))
		case s <= l.To:
			e = math.Min(e, l.Speed)
		}
	}
	return math.Max(0, e)
}
