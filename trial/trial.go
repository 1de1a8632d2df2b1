// Package trial is the one function everything asks: it runs a consist through a
// procedure under conditions and gives readings, what a person could see or hear at the
// place where they would have to be. It judges nothing.
//
// Every run starts from an empty train unless it is given the end of another run.
//
// A gauge whose record gives a lag shows its pressure late, as a lag of first order does;
// any other shows it at once.
//
// Incomplete: electrical devices have no effect beyond the positions that the air elements
// name.
package trial

import (
	"fmt"
	"math"
	"strings"

	"headstock/air"
	"headstock/consist"
	"headstock/fleet"
)

// Conditions of a run.
type Conditions struct {
	Atmosphere  float64 // Pa absolute; 0: standard
	Temperature float64 // K; 0: 293.15
	Tolerance   float64 // Pa a step; 0: the default of package air
	Curves      float64 // s between samples of curves; 0: none
	Isothermal  bool    // all air at Temperature; else that in pipes warms and cools
	Stores      bool    // with curves: of the reservoirs that distributors work from, too

	// Turn is called between steps of a run, where somebody else may have a turn at the
	// processor; it changes nothing of the run. nil: nobody waits.
	Turn func() `json:"-"`
}

// air is the conditions as the network has them.
func (c Conditions) air() air.Conditions {
	a := air.Usual()
	if !c.Isothermal {
		a.Air = air.PipeTemperatures
	}
	if c.Atmosphere > 0 {
		a.Atmosphere = c.Atmosphere
	}
	if c.Temperature > 0 {
		a.Temperature = c.Temperature
	}
	a.Tolerance = c.Tolerance
	return a
}

// AirModel is the sum of the configuration of the air that a run under these conditions
// rests on, eight hexadecimal digits, to be printed under what comes out of it.
func AirModel(c Conditions) string { return air.Configuration(c.air(), consist.Figures()...) }

// Reading is one thing seen or heard at one step.
type Reading struct {
	Step    string  `json:"step"`
	Vehicle int     `json:"vehicle"`
	Device  string  `json:"device"`
	Kind    string  `json:"kind"`             // gauge, piston, exhaust
	Value   float64 `json:"value"`            // gauge: Pa gauge; piston: m of stroke; exhaust: s of blow
	Out     bool    `json:"out,omitempty"`    // piston out with blocks on the wheels; air still heard
	Fitted  string  `json:"fitted,omitempty"` // when not "yes"
}

// Miss is a condition that did not come about in time.
type Miss struct {
	Step   string  `json:"step"`
	Until  Until   `json:"until"`
	AtMost float64 `json:"at_most"` // s that were waited
	Value  float64 `json:"value"`   // what it stood at instead, Pa gauge
}

// Mark is the end of one step: when, and a copy of the run for whoever goes on from it.
type Mark struct {
	Step string
	Time float64 // s from the beginning of the run
	Took float64 // s until the step's condition was met
	Run  *air.Run
	At   *consist.Consist

	shown []float64 // by gauge with a lag, gauge Pa
}

// Curve is the pressure of one air element over time, gauge pascals.
type Curve struct {
	Vehicle int
	Element string
	Values  []float64 // at the times of the Result
}

// Result is what a run gave.
type Result struct {
	Consist   *consist.Consist
	Plant     *consist.Plant
	Procedure Procedure
	Readings  []Reading
	Misses    []Miss
	Marks     []Mark
	Times     []float64 // s from the beginning, of every sample of the curves
	Curves    []Curve
	Steps     int
	Seconds   float64 // of the procedure, from its beginning
	Audit     float64 // relative mass not accounted for, at most 1e-9
}

// Bench is a consist on its plant, ready to be run through procedures.
type Bench struct {
	Plant *consist.Plant
	cond  Conditions

	reached []bool // see Watching
}

// NewBench builds the plant of a consist. An error is a *consist.CannotSay that names
// what the records lack.
func NewBench(c *consist.Consist, cond Conditions) (*Bench, error) {
	p, err := c.Network()
	if err != nil {
		return nil, err
	}
	return &Bench{Plant: p, cond: cond}, nil
}

// Run puts a consist through a procedure from empty. An error names the step: a device or
// an air element that is not there, what a record lacks (*consist.CannotSay), or air that
// the run lost.
func Run(c *consist.Consist, p Procedure, cond Conditions) (*Result, error) {
	b, err := NewBench(c, cond)
	if err != nil {
		return nil, err
	}
	return b.Run(c, p, nil)
}

// Sampling is the bench with curves at other times: every so many seconds, 0 for none, and
// with those of the reservoirs that distributors work from where stores is set.
func (b *Bench) Sampling(every float64, stores bool) *Bench {
	o := *b
	o.cond.Curves, o.cond.Stores = every, stores
	return &o
}

// Watching is the bench with a note of where air comes to in its runs: reached, by node of
// its network, is set where the pressure is ever another than the atmosphere's by more than
// a millipascal. Its runs are not to go side by side.
func (b *Bench) Watching() (out *Bench, reached []bool) {
	o := *b
	o.reached = make([]bool, b.Plant.Net.Nodes())
	return &o, o.reached
}

// Run puts a consist of the bench's units through a procedure, from empty or from the
// mark of another run. A run whose pressures are lost, or whose air does not add up, is an
// error and has no readings.
func (b *Bench) Run(c *consist.Consist, p Procedure, from *Mark) (*Result, error) {
	r := b.Plant.Net.NewRun(b.cond.air())
	if from != nil {
		r.CopyFrom(from.Run)
	}
	x := &runner{b: b, r: r, c: c, res: &Result{Consist: c, Plant: b.Plant, Procedure: p}}
	b.Plant.Apply(r, c)
	x.slow(from)
	x.watch()
	x.reach()
	startSteps, startTime := r.Steps(), r.Time()
	for _, s := range p.Steps {
		if err := x.step(s); err != nil {
			return nil, fmt.Errorf("%s, step %s: %w", p.Name, s.ID, err)
		}
	}
	x.res.Steps, x.res.Seconds, x.res.Audit = r.Steps()-startSteps, r.Time()-startTime, r.Audit()
	if err := accounted(x.res.Audit); err != nil {
		return nil, fmt.Errorf("%s: %w", p.Name, err)
	}
	return x.res, nil
}

// unaccounted is how much of the air at the start may be unaccounted for in a run, by
// rounding alone.
const unaccounted = 1e-9

// accounted refuses a run that made or lost air: nothing it reads can be trusted.
func accounted(audit float64) error {
	if audit <= unaccounted {
		return nil
	}
	return fmt.Errorf("the run lost or made %.2g of its air, where %.0e is the most: its readings say nothing", audit, unaccounted)
}

type runner struct {
	b    *Bench
	r    *air.Run
	c    *consist.Consist
	res  *Result
	node []air.Node

	next   int       // which sample is next, counted in intervals from time 0
	was    float64   // when the last step of the run ended
	before []float64 // and the gauge pressures of the nodes then

	gauges []gauge // those with a lag
}

// watch prepares curves: brake pipe and cylinders of every vehicle.
func (x *runner) watch() {
	if x.b.cond.Curves <= 0 {
		return
	}
	for i, v := range x.c.Vehicles {
		stores := map[string]bool{}
		if x.b.cond.Stores {
			for _, e := range v.Class.Air {
				if s := e.Word("auxiliary"); s != "" {
					stores[s] = true
				}
			}
		}
		for _, e := range v.Class.Air {
			if stores[e.ID] || e.ID == "brake-pipe" || e.Kind == "cylinder" || strings.Contains(e.ID, "equalising-reservoir") || strings.HasPrefix(e.ID, "reservoir-") && e.Kind == "volume" || e.ID == "third-pipe" {
				if n, ok := x.b.Plant.Node(i, e.ID); ok {
					x.node = append(x.node, n)
					x.res.Curves = append(x.res.Curves, Curve{Vehicle: i, Element: e.ID})
				}
			}
		}
	}
	x.next = -int(math.Floor((1e-9 - x.r.Time()) / x.b.cond.Curves))
	x.remember()
	x.sample()
}

// sample draws the curves on. A step of the run ends where it must, a sample stands at a
// whole number of intervals; between two steps a pressure goes in a straight line.
func (x *runner) sample() {
	if x.b.cond.Curves <= 0 {
		return
	}
	now := x.r.Time()
	for {
		at := math.Floor(float64(float64(x.next)*x.b.cond.Curves*1e6)+0.5) / 1e6
		if at > now+1e-9 {
			break
		}
		part := 1.0
		if now > x.was {
			part = min(max(0, (at-x.was)/(now-x.was)), 1)
		}
		x.res.Times = append(x.res.Times, at)
		for i, n := range x.node {
			g := x.r.Gauge(n)
			x.res.Curves[i].Values = append(x.res.Curves[i].Values, g-float64((g-x.before[i])*(1-part)))
		}
		x.next++
	}
	x.remember()
}

// remember keeps the end of this step for the samples that fall in the next.
func (x *runner) remember() {
	x.was = x.r.Time()
	x.before = x.before[:0]
	for _, n := range x.node {
		x.before = append(x.before, x.r.Gauge(n))
	}
}

func (x *runner) step(s Step) error {
	began := x.r.Time()
	x.r.ClearBlow()
	for _, a := range s.Do {
		if err := x.act(a); err != nil {
			return err
		}
	}
	if s.Until != nil {
		ok, value, err := x.until(*s.Until, s.AtMost)
		if err != nil {
			return err
		}
		if !ok {
			x.res.Misses = append(x.res.Misses, Miss{s.ID, *s.Until, s.AtMost, value})
		}
	}
	took := x.r.Time() - began
	if s.For > 0 {
		if err := x.wait(s.For); err != nil {
			return err
		}
	}
	if s.Read {
		x.read(s.ID)
	}
	x.res.Marks = append(x.res.Marks, Mark{Step: s.ID, Time: x.r.Time(), Took: took, Run: x.r.Clone(), At: x.c, shown: x.shown()})
	return nil
}

func (x *runner) wait(seconds float64) error {
	end := x.r.Time() + seconds
	_, err := x.r.AdvanceUntil(end, nil, x.stood)
	return err
}

func (x *runner) who(name string) (int, error) { return x.c.Find(name) }

func (x *runner) until(u Until, atMost float64) (bool, float64, error) {
	i, err := x.who(u.Who)
	if err != nil {
		return false, 0, err
	}
	n, ok := x.b.Plant.Node(i, u.Air)
	if !ok {
		return false, 0, fmt.Errorf("%s has no air element %q", x.c.Vehicles[i].Name(), u.Air)
	}
	met := func() bool {
		g := x.r.Gauge(n)
		if u.Above != 0 && g < u.Above || u.Below != 0 && g > u.Below {
			return false
		}
		if u.Steady > 0 {
			s := x.r.Slope(n)
			return s < u.Steady && s > -u.Steady
		}
		return true
	}
	if u.Steady == 0 && met() {
		return true, x.r.Gauge(n), nil
	}
	if u.Steady > 0 { // a rate needs a moment to show
		if err := x.wait(1); err != nil {
			return false, 0, err
		}
	}
	ok, err = x.r.AdvanceUntil(x.r.Time()+atMost, met, x.stood)
	return ok, x.r.Gauge(n), err
}

func (x *runner) move(i int, device, pos string) error {
	c, err := x.c.With(consist.Change{Vehicle: i, Device: device, Position: pos})
	if err != nil {
		return err
	}
	x.c = c
	x.b.Plant.Apply(x.r, c)
	return nil
}

func (x *runner) act(a Act) error {
	if a.Part != nil {
		return x.part(*a.Part)
	}
	targets, err := a.vehicles(x.c)
	if err != nil {
		return err
	}
	what := a.what()
	for _, i := range targets {
		ds := x.c.Devices(i, what)
		if len(ds) == 0 && (a.Who == "all" || a.IfFitted) {
			continue
		}
		d, err := x.one(i, what, ds)
		if err != nil {
			return err
		}
		switch {
		case a.Run:
			pos := "release"
			if _, has := d.Position("running"); has {
				pos = "running"
			}
			if err := x.move(i, d.ID, pos); err != nil {
				return err
			}
		case a.Reduce > 0:
			if err := x.reduce(i, d, a.Reduce); err != nil {
				return err
			}
		default:
			to := a.To
			if to == "normal" { // where it stands when nobody works it
				to = d.Normal
			}
			if err := x.move(i, d.ID, to); err != nil {
				return err
			}
		}
	}
	return nil
}

// one is the single device that a name means: to move the wrong one of two would look like
// an answer.
func (x *runner) one(i int, what string, ds []*fleet.Device) (*fleet.Device, error) {
	name := x.c.Vehicles[i].Name()
	switch len(ds) {
	case 0:
		return nil, fmt.Errorf("%s has no %s", name, what)
	case 1:
		return ds[0], nil
	}
	var ids []string
	for _, d := range ds {
		ids = append(ids, d.ID)
	}
	return nil, fmt.Errorf("%q could be %d devices of %s; expected one of %s", what, len(ds), name, strings.Join(ids, ", "))
}

// beside is the device of a function that belongs to the same cab as another.
func (x *runner) beside(i int, d *fleet.Device, function string) (*fleet.Device, bool) {
	v := x.c.Vehicles[i]
	for _, o := range v.Class.DevicesOf(function) {
		if v.Unit.Carries(v.Class, o) && (o.Cab == 0 || d.Cab == 0 || o.Cab == d.Cab) {
			return o, true
		}
	}
	return nil, false
}

// reduce makes a reduction on an automatic handle: a self-lapping one is put to the
// quantity, one with a lap position is held in service until the equalising reservoir
// has fallen so far.
func (x *runner) reduce(i int, d *fleet.Device, by float64) error {
	if d.Range != nil {
		return x.move(i, d.ID, fmt.Sprintf("%g kPa", by/1000))
	}
	gauge, ok := x.beside(i, d, "equalising-reservoir-gauge")
	if !ok {
		return fmt.Errorf("%s has no equalising reservoir gauge to make a reduction by", x.c.Vehicles[i].Name())
	}
	n, ok := x.b.Plant.Node(i, gauge.Reads)
	if !ok {
		return fmt.Errorf("the gauge %s of %s reads %q, which is no air element", gauge.ID, x.c.Vehicles[i].Name(), gauge.Reads)
	}
	feed, ok := x.beside(i, d, "feed-adjuster")
	if !ok {
		v := x.c.Vehicles[i]
		return &consist.CannotSay{Class: v.Class.Name, What: "from where " + v.Name() + " makes a reduction", Needs: "a device of function feed-adjuster in the record of class " + v.Class.Name}
	}
	full := x.c.Sets(i, feed.ID)
	if err := x.move(i, d.ID, "service"); err != nil {
		return err
	}
	if _, err := x.r.AdvanceUntil(x.r.Time()+60, func() bool { return x.shows(i, gauge, n) <= full-by }, x.stood); err != nil {
		return err
	}
	return x.move(i, d.ID, "lap")
}

// part lets the hoses of one joint come apart with their cocks as they stand.
func (x *runner) part(joint int) error {
	if joint < 0 || joint >= len(x.c.Joints) {
		return fmt.Errorf("no joint %d in this consist", joint+1)
	}
	for side := range 2 {
		i, end := x.c.Side(joint, side)
		v := x.c.Vehicles[i]
		for _, pe := range v.Class.Ends[end-1].Pipes {
			pos, ok := x.c.Position(i, pe.Hose)
			if ok && pos != "on dummy" {
				if err := x.move(i, pe.Hose, "hanging"); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (x *runner) read(step string) {
	for i, v := range x.c.Vehicles {
		for _, d := range v.Class.Devices {
			if d.Reads == "" || d.OnlyWith != "" && !v.Unit.Has(v.Class, d.OnlyWith) {
				continue
			}
			rd := Reading{Step: step, Vehicle: i, Device: d.ID, Kind: d.Kind}
			if f, _ := v.Unit.Fitted(d); f != "yes" {
				rd.Fitted = f
			}
			switch d.Kind {
			case "gauge":
				n, ok := x.b.Plant.Node(i, d.Reads)
				if !ok {
					continue
				}
				rd.Value = max(0, x.shows(i, d, n))
			case "piston":
				cyl, ok := x.b.Plant.Cylinders[i][d.Reads]
				if !ok {
					continue
				}
				n, _ := x.b.Plant.Node(i, d.Reads)
				g := x.r.Gauge(n)
				rd.Value, rd.Out = cyl.Stroke(g), cyl.Applied(g)
			case "exhaust":
				for _, e := range x.b.Plant.Edges(i, d.Reads) {
					_, to := x.b.Plant.Net.Ends(e)
					if to == air.Atmosphere {
						rd.Value += x.r.Blow(e)
						rd.Out = rd.Out || x.r.Flow(e) > air.Audible
					}
				}
			default:
				continue
			}
			x.res.Readings = append(x.res.Readings, rd)
		}
	}
}

// At is the mark of a step.
func (r *Result) At(step string) (*Mark, bool) {
	for i := range r.Marks {
		if r.Marks[i].Step == step {
			return &r.Marks[i], true
		}
	}
	return nil, false
}

// Gauge is the gauge pressure of an air element of a vehicle at the end of a step, Pa.
func (r *Result) Gauge(step string, vehicle int, element string) (float64, bool) {
	m, ok := r.At(step)
	if !ok {
		return 0, false
	}
	n, ok := r.Plant.Node(vehicle, element)
	if !ok {
		return 0, false
	}
	return m.Run.Gauge(n), true
}

// Reading finds what a device showed at a step.
func (r *Result) Reading(step string, vehicle int, device string) (Reading, bool) {
	for _, x := range r.Readings {
		if x.Step == step && x.Vehicle == vehicle && x.Device == device {
			return x, true
		}
	}
	return Reading{}, false
}
