package motion

import (
	"fmt"
	"math"
)

// Task is one run of a train over a way.
type Task struct {
	Way      *Way
	Rake     Rake
	Machines []*Machine
	Heat     []Heating // of each machine's motors; the zero one where it is not known
	Hot      []float64 // rise of each at the beginning, in parts of the rated rise
	Adhesion float64   // of the rail, sanded where it is
	Unsanded float64   // of the rail without sand; 0 where none is used
	Curves   CurveForm
	From, To float64 // m, of the head of the train
	Speed    float64 // m/s at the beginning
	Stop     bool    // the head stands at To in the end
	Slowing  float64 // m/s², at which it is slowed for limits
	Step     float64 // s; 0: half a second
	Against  float64 // N, a further force that holds back: wind, or a brake that drags
	Sample   float64 // m between samples; 0: none
}

// Sample is the state at one point of a run.
type Sample struct {
	At      float64 `json:"at"`      // m, s, m/s
	Time    float64 `json:"time"`    // s
	Speed   float64 `json:"speed"`   // m/s
	Effort  float64 `json:"effort"`  // N at the rail
	Brake   float64 `json:"brake"`   // N at the rail
	Slope   float64 `json:"slope"`   // of the way under the head
	Ceiling float64 `json:"ceiling"` // m/s
	Current float64 `json:"current"` // A, the highest of any motor
	Rise    float64 `json:"rise"`    // the highest of any machine, in parts of the rated rise
}

// Energy is where the work of a run went, J. Wheel is what the machines gave at the rail;
// the others took it, and Drift is what is left over: the error of the reckoning.
type Energy struct {
	Wheel   float64 `json:"wheel"`
	Running float64 `json:"running"`
	Curves  float64 `json:"curves"`
	Grade   float64 `json:"grade"`
	Kinetic float64 `json:"kinetic"`
	Brake   float64 `json:"brake"`
	Against float64 `json:"against"`
	Drift   float64 `json:"drift"`
}

// labours is the gain of speed, m/s2, below which a train under full power gains none.
const labours = 0.005

// Outcome is what came of a run.
type Outcome struct {
	Reached  float64  `json:"reached"` // m
	Time     float64  `json:"time"`    // s
	Stalled  bool     `json:"stalled"` // it came to a stand, or could not start, under full power
	Energy   Energy   `json:"energy"`
	Machines []Worked `json:"machines"`
	Samples  []Sample `json:"samples"`
	Top      float64  `json:"top"`      // m/s, the highest speed
	Laboured bool     `json:"laboured"` // it gained no speed under full power below the limits, after it once ran at more than 3 m/s
	Slowest  float64  `json:"slowest"`  // m/s, the lowest speed then
	SlowAt   float64  `json:"slow_at"`  // m, where that was
	Peak     float64  `json:"peak"`     // N, the highest effort
	PeakAt   float64  `json:"peak_at"`  // m
}

// Worked is what one machine did.
type Worked struct {
	Rise     float64 `json:"rise"`      // in parts of the rated rise, at the end and at most
	Highest  float64 `json:"highest"`   // in parts of the rated rise, the most on the way
	HotAt    float64 `json:"hot_at"`    // m, where it was hottest
	Over     bool    `json:"over"`      // the rated rise was passed
	OverFrom float64 `json:"over_from"` // m, where first
	OverTime float64 `json:"over_time"` // s above the continuous current in one stretch, at most
	Current  float64 `json:"current"`   // A, highest
	Work     float64 `json:"work"`      // J at the rail
	Share    float64 `json:"share"`     // s at full power that would have used as much electrical energy
	Sanding  float64 `json:"sanding"`   // s
	over     float64 // s, of the stretch under way
}

// sheet is the most a machine does at each speed, and how its currents follow a lower
// effort.
type sheet struct {
	m     *Machine
	step  float64
	point []Point
	back  [][]float64 // by grouping: current for a pull, at steps of pull
	pull  []float64   // by grouping: the step of pull
	full  float64     // W, electrical at full power
	bare  float64     // N, effort that rail without sand carries
}

const sheetStep = 0.1 // m/s

func newSheet(m *Machine, adhesion, unsanded, fastest float64) sheet {
	s := sheet{m: m, step: sheetStep}
	for v := 0.0; v <= fastest+2*sheetStep; v += sheetStep {
		p := m.At(v, adhesion)
		s.full = math.Max(s.full, p.Electrical)
		s.point = append(s.point, p)
	}
	if unsanded > 0 {
		w := 0.0
		for _, n := range m.Live(max(0, len(m.Groupings)-1)) {
			a, _ := m.axle(n)
			w += a.Weight
		}
		s.bare = unsanded * m.Utilisation * w
	}
	if m.Measured == nil {
		for k, g := range m.Groupings {
			most := 0.0
			for _, gen := range m.Generators {
				most = math.Max(most, gen.Current)
			}
			const n = 400
			top := m.Motor.Pull(most, g.Field)
			var back []float64
			for i := 0; i <= n; i++ {
				back = append(back, m.Motor.CurrentFor(top*float64(i)/n, g.Field))
			}
			s.back, s.pull = append(s.back, back), append(s.pull, top/n)
			_ = k
		}
	}
	return s
}

// at is the most effort at a speed and the point it comes from.
func (s *sheet) at(v float64) (float64, *Point) {
	x := v / s.step
	k := int(x)
	if k >= len(s.point)-1 {
		return 0, &s.point[len(s.point)-1]
	}
	a, b := &s.point[k], &s.point[k+1]
	return a.Effort + (b.Effort-a.Effort)*(x-float64(k)), a
}

// carries is the current of a motor and the electrical power for an effort at a speed.
func (s *sheet) carries(p *Point, effort, v float64) (current, electrical float64) {
	if effort <= 0 || p.Grouping < 0 || s.m.Measured != nil {
		return 0, effort * v
	}
	n := 0
	for _, x := range p.Strings {
		n += len(x.Axles)
	}
	if n == 0 {
		return 0, 0
	}
	back := s.back[p.Grouping]
	pull := effort / (float64(n) * s.m.Mechanical)
	x := pull / s.pull[p.Grouping]
	k := min(int(x), len(back)-2)
	i := back[k] + (back[k+1]-back[k])*(x-float64(k))
	return i, float64(n) * (i*i*s.m.Motor.Resistance + pull*v)
}

// train is a task made ready.
type train struct {
	Task
	sheets      []sheet
	all         []float64 // effort of all machines, at the steps of a sheet
	grade, bend lined
	drag        drag
	inertia     float64
	top         ceiling
	gc, bc      int // cursors
	out         Outcome
	moved       bool
	nextSample  float64
	last        Sample
}

func (k Task) ready() (*train, error) {
	switch {
	case k.Way == nil || len(k.Rake) == 0:
		return nil, fmt.Errorf("a run needs a way and a train")
	case !(k.To > k.From):
		return nil, fmt.Errorf("a run ends beyond its beginning")
	case !(k.Slowing > 0):
		return nil, fmt.Errorf("a run needs the rate at which the train is slowed")
	}
	fastest := 0.0
	for _, l := range k.Way.Limits {
		fastest = math.Max(fastest, l.Speed)
	}
	if fastest == 0 {
		return nil, fmt.Errorf("a run needs a speed limit")
	}
	if k.Step == 0 {
		k.Step = 0.5
	}
	t := &train{Task: k, grade: k.Way.grade(k.Rake), bend: k.Way.bend(k.Rake, k.Curves), drag: k.Rake.drag(), inertia: k.Rake.Inertia(),
		top: k.Way.ceiling(k.Rake.Length(), k.To, k.Slowing, k.Stop), nextSample: k.From}
	for i, m := range k.Machines {
		if err := m.Check(); err != nil {
			return nil, err
		}
		t.sheets = append(t.sheets, newSheet(m, k.Adhesion, k.Unsanded, fastest))
		w := Worked{}
		if i < len(k.Hot) {
			w.Rise, w.Highest = k.Hot[i], k.Hot[i]
		}
		t.out.Machines = append(t.out.Machines, w)
	}
	for i, s := range t.sheets {
		if i == 0 {
			t.all = make([]float64, len(s.point))
		}
		for k := range s.point {
			t.all[k] += s.point[k].Effort
		}
	}
	return t, nil
}

func (t *train) most(v float64) float64 {
	x := v / sheetStep
	k := int(x)
	if k >= len(t.all)-1 {
		return 0
	}
	return t.all[k] + (t.all[k+1]-t.all[k])*(x-float64(k))
}

// holds is what holds the train back besides its brakes, N.
func (t *train) holds(s, v float64) float64 {
	return t.drag.at(v) + t.grade.at(s, &t.gc) + t.bend.at(s, &t.bc) + t.Against
}

// took books one step: from (s0, v0) to (s1, v1) in dt with a work at the wheel, negative
// where the brake took it.
func (t *train) took(s0, v0, s1, v1, dt, work float64) {
	o := &t.out
	o.Time += dt
	o.Reached = s1
	ds := s1 - s0
	vm := (v0 + v1) / 2
	effort, brake := 0.0, 0.0
	if ds > 0 {
		effort = math.Max(0, work/ds)
		brake = math.Max(0, -work/ds)
	} else if vm == 0 {
		effort = t.most(0)
	}
	e := &o.Energy
	e.Wheel += math.Max(0, work)
	e.Brake += math.Max(0, -work)
	if o.Top < v1 {
		o.Top = v1
	}
	if effort > o.Peak {
		o.Peak, o.PeakAt = effort, s1
	}
	most := t.most(vm)
	full := most > 0 && effort > 0.995*most
	if v1 > 3 {
		t.moved = true
	}
	// what still gains speed is starting, not labouring
	if t.moved && full && v1-v0 < labours*dt && (!o.Laboured || v1 < o.Slowest) && t.top.at(s1) > v1*v1/2*1.02 {
		o.Laboured, o.Slowest, o.SlowAt = true, v1, s1
	}
	current, rise := 0.0, 0.0
	for i := range t.sheets {
		sh, w := &t.sheets[i], &o.Machines[i]
		f, p := sh.at(vm)
		own := 0.0
		if most > 0 {
			own = math.Min(f, effort*f/most)
		}
		c, el := sh.carries(p, own, vm)
		w.Work += own * ds
		if sh.full > 0 {
			w.Share += el / sh.full * dt
		}
		if sh.bare > 0 && own > sh.bare {
			w.Sanding += dt
		}
		w.Current = math.Max(w.Current, c)
		if h := t.heat(i); h.Tau > 0 && sh.m.Continuous > 0 {
			w.Rise = h.After(w.Rise, c/sh.m.Continuous, dt)
			if w.Rise > w.Highest {
				w.Highest, w.HotAt = w.Rise, s1
			}
			if w.Rise > 1 && !w.Over {
				w.Over, w.OverFrom = true, s1
			}
			rise = math.Max(rise, w.Rise)
		}
		if sh.m.Continuous > 0 && c > sh.m.Continuous {
			w.over += dt
			w.OverTime = math.Max(w.OverTime, w.over)
		} else {
			w.over = 0
		}
		current = math.Max(current, c)
	}
	if t.Sample > 0 {
		t.last = Sample{At: s1, Time: o.Time, Speed: v1, Effort: effort, Brake: brake, Slope: t.Way.Slope(s1), Ceiling: math.Sqrt(2 * t.top.at(s1)), Current: current, Rise: rise}
	}
	if t.Sample > 0 && s1 >= t.nextSample {
		o.Samples = append(o.Samples, t.last)
		for t.nextSample <= s1 {
			t.nextSample += t.Sample
		}
	}
}

func (t *train) heat(i int) Heating {
	if i < len(t.Heat) {
		return t.Heat[i]
	}
	return Heating{}
}

// resist books what resistance and curves took in a step, by Simpson's rule.
func (t *train) resist(s0, v0, sm, vm, s1, v1 float64) {
	ds := s1 - s0
	e := &t.out.Energy
	e.Running += ds / 6 * (t.drag.at(v0) + 4*t.drag.at(vm) + t.drag.at(v1))
	e.Curves += t.bend.integral(s1, &t.bc) - t.bend.integral(s0, &t.bc)
	e.Grade += t.grade.integral(s1, &t.gc) - t.grade.integral(s0, &t.gc)
	e.Against += t.Against * ds
	e.Kinetic += t.inertia * (v1*v1 - v0*v0) / 2
}

const crawl = 0.02 // m/s, below which a train that still slows down has stalled

// steps beyond which a run is given up: a week in half seconds
const mostSteps = 1_300_000

// ByTime runs the task in steps of time, by the method of Runge and Kutta of fourth order
// while the machines give all they can, and along the ceiling of speed where they need
// not. An error is a task without a way, a train, a limit of speed or an end beyond its
// beginning, or a run that was given up.
func (k Task) ByTime() (Outcome, error) {
	t, err := k.ready()
	if err != nil {
		return Outcome{}, err
	}
	s, v := t.From, t.Speed
	for range mostSteps {
		if s >= t.To-0.01 {
			break
		}
		if e := t.top.at(s); v*v/2 >= e*(1-1e-9) && (v > 0 || e == 0) {
			if e == 0 {
				break
			}
			if s1, v1, ok := t.along(s, math.Min(v, math.Sqrt(2*e)), v*t.Step); ok {
				s, v = s1, v1
				continue
			}
		}
		dt := t.Step
		f := func(s, v float64) (a, push float64) {
			v = math.Max(v, 0)
			push = t.most(v)
			return (push - t.holds(s, v)) / t.inertia, push
		}
		a1, p1 := f(s, v)
		if v <= crawl && a1 <= 0 {
			t.out.Stalled = true
			t.out.Reached = s
			break
		}
		v2 := v + a1*dt/2
		a2, p2 := f(s+v*dt/2, v2)
		v3 := v + a2*dt/2
		a3, p3 := f(s+v2*dt/2, v3)
		v4 := v + a3*dt
		a4, p4 := f(s+v3*dt, v4)
		s1 := s + dt/6*(v+2*v2+2*v3+v4)
		v1 := math.Max(0, v+dt/6*(a1+2*a2+2*a3+a4))
		work := dt / 6 * (p1*v + 2*p2*v2 + 2*p3*v3 + p4*math.Max(v4, 0))
		if s1 > t.To { // the last step ends at the end
			dt *= (t.To - s) / (s1 - s)
			work *= (t.To - s) / (s1 - s)
			v1 = v + (v1-v)*(t.To-s)/(s1-s)
			s1 = t.To
		}
		if e := t.top.at(s1); v1*v1/2 > e {
			v1 = math.Sqrt(2 * e)
			if s1 > s {
				work = t.balance(s, v, s1, v1)
				dt = 2 * (s1 - s) / (v + v1)
			}
		}
		t.resist(s, v, (s+s1)/2, v2, s1, v1)
		t.took(s, v, s1, v1, dt, work)
		s, v = s1, v1
	}
	return t.done()
}

// balance is the work that the wheel must have done in a step along the ceiling.
func (t *train) balance(s0, v0, s1, v1 float64) float64 {
	vm := math.Sqrt((v0*v0 + v1*v1) / 2)
	ds := s1 - s0
	return t.inertia*(v1*v1-v0*v0)/2 + ds/6*(t.drag.at(v0)+4*t.drag.at(vm)+t.drag.at(v1)) + t.Against*ds +
		t.bend.integral(s1, &t.bc) - t.bend.integral(s0, &t.bc) + t.grade.integral(s1, &t.gc) - t.grade.integral(s0, &t.gc)
}

// along goes a distance along the ceiling, false where the machines cannot.
func (t *train) along(s, v, ds float64) (s1, v1 float64, ok bool) {
	ds = math.Max(ds, 0.05)
	s1 = math.Min(s+ds, t.To)
	// neither over an edge of the ceiling nor past where it begins to fall
	v1 = math.Sqrt(2 * t.top.at(s1))
	work := t.balance(s, v, s1, v1)
	if work > t.most((v+v1)/2)*(s1-s)*(1+1e-9) || v+v1 == 0 {
		return 0, 0, false
	}
	t.resist(s, v, (s+s1)/2, math.Sqrt((v*v+v1*v1)/2), s1, v1)
	t.took(s, v, s1, v1, 2*(s1-s)/(v+v1), work)
	return s1, v1, true
}

// ByDistance runs the task in steps of distance, with v²/2 as what is integrated: another
// reckoning of the same run, to hold against ByTime. A step is as long as the train runs
// in the task's step of time at 10 m/s. Errors are those of ByTime.
func (k Task) ByDistance() (Outcome, error) {
	t, err := k.ready()
	if err != nil {
		return Outcome{}, err
	}
	s, e := t.From, t.Speed*t.Speed/2
	step := 10 * t.Step
	for range mostSteps {
		if s >= t.To-0.01 {
			break
		}
		top := t.top.at(s)
		v := math.Sqrt(2 * e)
		if e >= top*(1-1e-9) && (e > 0 || top == 0) {
			if top == 0 {
				break
			}
			if s1, v1, ok := t.along(s, math.Min(v, math.Sqrt(2*top)), math.Min(step, v*2*t.Step)); ok {
				s, e = s1, v1*v1/2
				continue
			}
		}
		f := func(s, e float64) float64 {
			v := math.Sqrt(2 * math.Max(e, 0))
			return (t.most(v) - t.holds(s, v)) / t.inertia
		}
		g1 := f(s, e)
		if v <= crawl && g1 <= 0 {
			t.out.Stalled = true
			t.out.Reached = s
			break
		}
		// short steps from a stand, and never so far that the train would stop on the way
		ds := math.Min(step, math.Max(0.02, v*2*t.Step))
		if g1 < 0 && e > 0 {
			ds = math.Min(ds, math.Max(0.02, -e/g1/4))
		}
		ds = math.Min(ds, t.To-s)
		g2 := f(s+ds/2, e+g1*ds/2)
		g3 := f(s+ds/2, e+g2*ds/2)
		g4 := f(s+ds, e+g3*ds)
		e1 := math.Max(0, e+ds/6*(g1+2*g2+2*g3+g4))
		s1 := s + ds
		if top := t.top.at(s1); e1 > top {
			e1 = top
		}
		v1 := math.Sqrt(2 * e1)
		if v+v1 == 0 {
			t.out.Stalled = true
			break
		}
		work := t.balance(s, v, s1, v1)
		t.resist(s, v, (s+s1)/2, math.Sqrt((v*v+v1*v1)/2), s1, v1)
		t.took(s, v, s1, v1, 2*ds/(v+v1), work)
		s, e = s1, e1
	}
	return t.done()
}

func (t *train) done() (Outcome, error) {
	e := &t.out.Energy
	e.Drift = e.Wheel - e.Brake - e.Running - e.Curves - e.Grade - e.Kinetic - e.Against
	if n := len(t.out.Samples); t.Sample > 0 && (n == 0 || t.out.Samples[n-1].Time < t.last.Time) {
		t.out.Samples = append(t.out.Samples, t.last) // the end, wherever it is
	}
	if !t.out.Stalled && t.out.Reached < t.To-1 {
		return t.out, fmt.Errorf("the run was given up at %.0f m", t.out.Reached)
	}
	return t.out, nil
}

// Speeding is what it takes to change speed under forces that depend on the speed alone: a
// closed form's neighbour, by Simpson's rule in the speed.
func Speeding(mass, from, to float64, force func(v float64) float64) (time, distance float64) {
	const n = 2000
	h := (to - from) / n
	for i := 0; i <= n; i++ {
		v := from + h*float64(i)
		k := 2.0
		switch {
		case i == 0 || i == n:
			k = 1
		case i%2 == 1:
			k = 4
		}
		a := force(v) / mass
		time += k / a
		distance += k * v / a
	}
	return time * h / 3, distance * h / 3
}

// SpeedingByTime is the same by steps of time.
func SpeedingByTime(mass, from, to, step float64, force func(v float64) float64) (time, distance float64) {
	v := from
	a := func(v float64) float64 { return force(v) / mass }
	for range 10_000_000 {
		k1 := a(v)
		k2 := a(v + k1*step/2)
		k3 := a(v + k2*step/2)
		k4 := a(v + k3*step)
		v1 := v + step/6*(k1+2*k2+2*k3+k4)
		if (to-v1)*(to-v) <= 0 { // crossed: the rest of the step in its part
			p := (to - v) / (v1 - v)
			return time + p*step, distance + p*step*(v+to)/2
		}
		distance += step * (v + 4*(v+k2*step/2) + v1) / 6
		time += step
		v = v1
	}
	return math.NaN(), math.NaN()
}

// Balancing is the speed at which a machine-like effort just meets what holds back, found
// between two speeds; false where it lies outside them.
func Balancing(lo, hi float64, surplus func(v float64) float64) (float64, bool) {
	if surplus(lo) < 0 || surplus(hi) > 0 {
		return 0, false
	}
	return bisect(lo, hi, func(v float64) float64 { return -surplus(v) }), true
}
