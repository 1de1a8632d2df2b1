package calibrate

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/mat"

	"headstock/consist"
	"headstock/internal/reading"
	"headstock/trial"
)

// bench runs the consist with other figures. Its knobs are the figures to be fitted, then
// every other written spread of the consist.
type bench struct {
	q       Inquiry
	knobs   []knob
	steps   []float64 // of the last derivatives
	scatter float64
	during  []int     // by sample, the step of the procedure in which it was taken
	moment  []float64 // by sample, s
	runs    atomic.Int64
}

const (
	usualStep = 0.25 // of half the bounds, on either side, in a derivative
	leastStep = 0.002
	clear     = 4    // times the scatter of runs that a difference must be
	tooFar    = 2e3  // Pa: a step that moves the pressures by more is bent
	nudge     = 1e-4 // by which the scatter is measured
)

func newBench(q Inquiry) (*bench, error) {
	b := &bench{q: q}
	for _, p := range q.Parameters {
		b.knobs = append(b.knobs, newKnob(q.Consist, []int{q.Unit}, p.Element, p.Argument, p.Low, p.High))
	}
	rest, err := others(q.Consist, q.Unit, slices.Concat(q.Parameters, q.Known))
	if err != nil {
		return nil, err
	}
	b.knobs = append(b.knobs, rest...)
	b.steps = make([]float64, len(b.knobs))
	b.q.Conditions.Curves = spacing(q.Samples)
	res, err := trial.Run(q.Consist, q.Procedure, b.q.Conditions)
	if err != nil {
		return nil, err
	}
	if err := fits(q, res); err != nil {
		return nil, err
	}
	for _, s := range q.Samples {
		k, t := during(res, s)
		b.during, b.moment = append(b.during, k), append(b.moment, t)
	}
	return b, nil
}

// spacing is how closely curves must be drawn, s: twice as close as the closest two
// samples of a place, and no closer than anything is sampled by a person or a recorder.
func spacing(samples []Sample) float64 {
	least := 1.0
	type place struct {
		vehicle int
		element string
	}
	last := map[place]float64{}
	for _, s := range samples {
		p := place{s.Vehicle, s.Element}
		if t, ok := last[p]; ok && math.Abs(s.Time-t) > 0 {
			least = min(least, math.Abs(s.Time-t)/2)
		}
		if !math.IsNaN(s.Time) {
			last[p] = s.Time
		}
	}
	return max(least, 0.05)
}

// fits reports the first sample that the procedure cannot give.
func fits(q Inquiry, res *trial.Result) error {
	var steps []string
	for _, s := range q.Procedure.Steps {
		steps = append(steps, s.ID)
	}
	for _, s := range q.Samples {
		if s.Step != "" && !slices.Contains(steps, s.Step) {
			return &Malformed{s.Pos, fmt.Sprintf("the procedure %s has no step %q", q.Procedure.Name, reading.Short(s.Step)), "one of " + strings.Join(steps, ", "), reading.Nearest(s.Step, steps)}
		}
		v := q.Consist.Vehicles[s.Vehicle]
		if math.IsNaN(s.Time) {
			if s.Step == "" {
				return &Malformed{s.Pos, "a pressure has neither a time nor a step", "a time, or the step at whose end it was read", ""}
			}
			if _, ok := res.Plant.Node(s.Vehicle, s.Element); !ok {
				return &Malformed{s.Pos, fmt.Sprintf("%s has no air at %q today", v.Name(), s.Element), "a volume, a cylinder or a pipe that it has", ""}
			}
			continue
		}
		var drawn []string
		for _, x := range res.Curves {
			if x.Vehicle == s.Vehicle {
				drawn = append(drawn, x.Element)
			}
		}
		if !slices.Contains(drawn, s.Element) {
			return &Malformed{s.Pos, fmt.Sprintf("no curve is drawn of %s of %s", s.Element, v.Name()), "one of " + strings.Join(drawn, ", ") + "; or a row without a time, read at the end of a step", reading.Nearest(s.Element, drawn)}
		}
		if end := res.Seconds - begin(res, s.Step); s.Time > end {
			return &Malformed{s.Pos, fmt.Sprintf("a pressure at %.6g s, and the procedure %s ends after %.0f s", s.Time, q.Procedure.Name, end), "times within it, counted from the beginning of the procedure or of the step that is named", ""}
		}
	}
	return nil
}

// begin is when a step begins, s.
func begin(res *trial.Result, step string) float64 {
	at := 0.0
	for _, m := range res.Marks {
		if m.Step == step {
			return at
		}
		at = m.Time
	}
	return 0
}

// during is the step in which a sample was taken, and when. With other figures that step may
// begin later, which is of no account here.
func during(res *trial.Result, s Sample) (step int, t float64) {
	if math.IsNaN(s.Time) {
		k := slices.IndexFunc(res.Marks, func(m trial.Mark) bool { return m.Step == s.Step })
		return k, res.Marks[k].Time
	}
	t = begin(res, s.Step) + s.Time
	k := slices.IndexFunc(res.Marks, func(m trial.Mark) bool { return t < m.Time })
	if k < 0 {
		k = len(res.Marks) - 1
	}
	return k, t
}

// astray are errors of places that do not average out, a column each: by so much throughout;
// by so much throughout one step of the procedure; and from so much too little to so much too
// much in the course of one. A network errs otherwise while air rushes than while it rests,
// and air that warms or cools at another pace than it says makes a pressure drift.
func (b *bench) astray(by float64) *mat.Dense {
	type place struct {
		vehicle int
		element string
		step    int // -1: throughout
	}
	var order []place
	of := map[place][]int{}
	for i, s := range b.q.Samples {
		for _, p := range []place{{s.Vehicle, s.Element, -1}, {s.Vehicle, s.Element, b.during[i]}} {
			if of[p] == nil {
				order = append(order, p)
			}
			of[p] = append(of[p], i)
		}
	}
	out := mat.NewDense(len(b.q.Samples), 2*len(order), nil)
	for k, p := range order {
		first, last := math.Inf(1), math.Inf(-1)
		for _, i := range of[p] {
			first, last = min(first, b.moment[i]), max(last, b.moment[i])
		}
		for _, i := range of[p] {
			out.Set(i, 2*k, by)
			if p.step >= 0 && last > first {
				out.Set(i, 2*k+1, by*(2*(b.moment[i]-first)/(last-first)-1))
			}
		}
	}
	return out
}

// all turns the knobs and gives what is computed less what is measured, each run by itself.
func (b *bench) all(zs [][]float64) ([][]float64, error) {
	out := make([][]float64, len(zs))
	failed := make([]error, len(zs))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(len(zs), runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for k := int(next.Add(1)) - 1; k < len(zs); k = int(next.Add(1)) - 1 {
				out[k], failed[k] = b.left(zs[k])
			}
		})
	}
	wait.Wait()
	return out, errors.Join(failed...)
}

// left runs the consist and gives what is computed less what is measured, Pa. A knob that
// is not among the fitted ones and stands at 0 is left to the record.
func (b *bench) left(z []float64) ([]float64, error) {
	b.runs.Add(1)
	var over []consist.OffRecord
	for j, k := range b.knobs {
		if j < len(b.q.Parameters) || z[j] != 0 {
			over = append(over, k.over(z[j])...)
		}
	}
	c, err := b.q.Consist.WithFigures(over...)
	if err != nil {
		return nil, err
	}
	res, err := trial.Run(c, b.q.Procedure, b.q.Conditions)
	if err != nil {
		return nil, err
	}
	type place struct {
		vehicle int
		element string
	}
	curves := map[place][]float64{}
	for _, x := range res.Curves {
		curves[place{x.Vehicle, x.Element}] = x.Values
	}
	begins := map[string]float64{}
	for _, s := range b.q.Procedure.Steps {
		begins[s.ID] = begin(res, s.ID)
	}
	out := make([]float64, len(b.q.Samples))
	for i, s := range b.q.Samples {
		var p float64
		if math.IsNaN(s.Time) {
			p, _ = res.Gauge(s.Step, s.Vehicle, s.Element)
		} else {
			p = at(res.Times, curves[place{s.Vehicle, s.Element}], begins[s.Step]+s.Time)
		}
		out[i] = p - s.Pressure
	}
	return out, nil
}

// at is a curve at a moment, by a straight line; beyond its ends it stands.
func at(times, values []float64, t float64) float64 {
	k, _ := slices.BinarySearch(times, t)
	switch {
	case k == 0:
		return values[0]
	case k == len(times):
		return values[k-1]
	}
	part := (t - times[k-1]) / (times[k] - times[k-1])
	return values[k-1] + (values[k]-values[k-1])*part
}

// measureScatter is how far two runs differ that should be the same.
func (b *bench) measureScatter(z, left []float64) (float64, error) {
	beside := slices.Clone(z)
	for j := range b.q.Parameters {
		beside[j] += nudge
		if beside[j] > 1 {
			beside[j] -= 2 * nudge
		}
	}
	other, err := b.left(beside)
	if err != nil {
		return 0, err
	}
	b.scatter = rms(difference(other, left, 1))
	return b.scatter, nil
}

func difference(a, b []float64, over float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = (a[i] - b[i]) / over
	}
	return out
}

// derivatives are those of every pressure by every knob, a column each.
func (b *bench) derivatives(z []float64) (*mat.Dense, error) {
	var which []int
	for j := range b.knobs {
		which = append(which, j)
	}
	return b.derivativesBy(z, which)
}

// derivativesBy are those by some of the knobs. The step of each is kept for leaps.
func (b *bench) derivativesBy(z []float64, which []int) (*mat.Dense, error) {
	jac := mat.NewDense(len(b.q.Samples), len(which), nil)
	again := which
	for j := range b.steps {
		b.steps[j] = usualStep
	}
	for round := range 3 {
		var zs [][]float64
		for _, j := range again {
			low, high := b.around(z[j], j)
			for _, to := range []float64{low, high} {
				y := slices.Clone(z)
				y[j] = to
				zs = append(zs, y)
			}
		}
		runs, err := b.all(zs)
		if err != nil {
			return nil, err
		}
		var more []int
		for k, j := range again {
			moved := rms(difference(runs[2*k+1], runs[2*k], 1))
			switch {
			case round > 0 && moved <= tooFar: // once longer is enough
			case moved < clear*b.scatter:
				b.steps[j] = 2
				more = append(more, j)
			case moved > tooFar:
				b.steps[j] = max(b.steps[j]*tooFar/moved/2, leastStep)
				more = append(more, j)
			}
			jac.SetCol(slices.Index(which, j), difference(runs[2*k+1], runs[2*k], zs[2*k+1][j]-zs[2*k][j]))
		}
		if again = more; len(again) == 0 {
			break
		}
	}
	return jac, nil
}

// wobble is how long the error of each of the last derivatives may be by the scatter of the
// runs.
func (b *bench) wobble(z []float64) []float64 {
	var out []float64
	for j := range b.knobs {
		low, high := b.around(z[j], j)
		out = append(out, b.scatter*math.Sqrt(float64(len(b.q.Samples)))/(high-low))
	}
	return out
}

// around are the ends of the step of a knob about z, within its bounds.
func (b *bench) around(z float64, knob int) (low, high float64) {
	return max(z-b.steps[knob], -1), min(z+b.steps[knob], 1)
}

// leaps are how far runs half way between those of a derivative lie from a parabola through
// these, two columns for each of the knobs; and how alike the two halves of the step are:
// the cosine of the angle between what each does to the pressures, 1 where they answer
// evenly.
func (b *bench) leaps(z []float64, which []int) (*mat.Dense, []float64, error) {
	if len(which) == 0 {
		return nil, nil, nil
	}
	var zs [][]float64
	for _, j := range which {
		low, high := b.around(z[j], j)
		for k := range 5 {
			y := slices.Clone(z)
			y[j] = low + (high-low)*float64(k)/4
			zs = append(zs, y)
		}
	}
	runs, err := b.all(zs)
	if err != nil {
		return nil, nil, err
	}
	out := mat.NewDense(len(b.q.Samples), 2*len(which), nil)
	var even []float64
	for k := range which {
		r := runs[5*k : 5*k+5]
		var first, second []float64
		for i := range b.q.Samples {
			first = append(first, r[1][i]-(3*r[0][i]+6*r[2][i]-r[4][i])/8)
			second = append(second, r[3][i]-(3*r[4][i]+6*r[2][i]-r[0][i])/8)
		}
		out.SetCol(2*k, first)
		out.SetCol(2*k+1, second)
		lower, upper := difference(r[2], r[0], 1), difference(r[4], r[2], 1)
		dot, long := 0.0, math.Sqrt(square(lower)*square(upper))
		for i := range lower {
			dot += lower[i] * upper[i]
		}
		if long > 0 {
			dot /= long
		}
		even = append(even, dot)
	}
	return out, even, nil
}

// bent reports whether a fitted figure at the bound that is farther off, with the others where
// they then are best, adds far less to the least sum of squares, Pa2, than it should by the
// derivatives: the fit may then stand in one dip of several.
func (b *bench) bent(z []float64, least float64, fitted []int, inverse *mat.Dense, k int) (bool, error) {
	far := -1 - z[fitted[k]]
	if z[fitted[k]] <= 0 {
		far = 1 - z[fitted[k]]
	}
	y := slices.Clone(z)
	for l, o := range fitted {
		y[o] = min(max(z[o]+far*inverse.At(l, k)/inverse.At(k, k), -1), 1)
	}
	there, err := b.left(y)
	if err != nil {
		return false, err
	}
	return square(there)-least < evenAfar*far*far/inverse.At(k, k), nil
}

// leaping are the figures to which the pressures answer more by leaps than evenly. They are
// fitted with the others, so that these need not make up for them, but what comes out is
// the leap that happened to suit.
func (b *bench) leaping(z []float64) ([]int, error) {
	var which, out []int
	for j := range b.q.Parameters {
		if b.steps[j] <= usualStep { // else they hardly answer at all
			which = append(which, j)
		}
	}
	_, even, err := b.leaps(z, which)
	for k, x := range even {
		if x < evenly {
			out = append(out, which[k])
		}
	}
	return out, err
}
