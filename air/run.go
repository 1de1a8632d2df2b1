package air

import (
	"math"
	"slices"
)

// Conditions are the surroundings of a run and how finely it is stepped.
type Conditions struct {
	Atmosphere  float64 // Pa absolute
	Temperature float64 // K
	Air         Air     // whose temperature is reckoned with
	Tolerance   float64 // Pa, how far a pressure may turn from its straight line in one step (default 100)
	MinStep     float64 // s (default 0.0002)
	MaxStep     float64 // s (default 2)
	EventStep   float64 // s, how late a valve may snap (default 0.0002)
	Restart     float64 // s, the first step after a valve snapped or something was moved (default 0.002)
}

// Air says which volumes have a temperature of their own.
type Air uint8

const (
	OneTemperature   Air = iota // none: all air is at that of the surroundings
	PipeTemperatures            // lengths of pipe: by compression, the air that comes, and the wall
	OwnTemperatures             // every volume, and no heat passes a wall
)

// Usual is sea level at 20 °C with the default steps.
func Usual() Conditions { return Conditions{Atmosphere: Standard, Temperature: RefTemp} }

// Run is one run of a network: its pressures, flows and states. It is not safe for
// concurrent use; run many runs side by side instead.
type Run struct {
	net   *Network
	cond  Conditions
	time  float64
	steps int
	dt    float64
	last  float64 // length of the last step, s; 0 where the next may not lean on it

	kept           []float64 // all of what follows that is a number, in one piece
	mass, p, slope []float64 // by node
	temp, root     []float64 // by node, K, and √(RefTemp/temp)
	rush           []float64 // by node, flow along the pipe that it is, kg/s
	flow           []float64 // by edge, kg/s
	moved, turn    []float64 // by edge, what the last step carried, kg, and how it changed the flow, kg/s
	pull           []float64 // by edge, how fast a pipe gathers flow, kg/s2
	ran            []bool    // by edge: it was open in the last step
	pipes          []int32   // by node with a temperature of its own: how many pipes stand open to it
	blow           []float64 // by edge, seconds of audible flow since ClearBlow
	open           []float64 // by edge
	slot           []float64
	state          []uint8
	mem            []float64
	external       float64 // mass taken in from outside, kg
	start          float64 // mass at the start, kg
	dirty          bool
	resting

	// scratch of a step
	a, x       []float64 // the system, by place and by row; a last one of each is nobody's
	now        []carried // by edge
	was, over  []float64 // by edge: the flow of a pipe from which the step starts, and the seconds for which its pull counts
	mNew, pNew []float64 // by node
	pAt, tgt   []float64
	own        []bool    // by node: its temperature is its own
	lag        []float64 // by own node: heat of the wall in the step, as a share of that of its air
	in, out    []float64 // by own node: heat brought, J/cp, and mass taken in the step, kg
	tNew       []float64
	stNew      []uint8
	lost       Node    // whose pressure a step lost
	joined     []int32 // by node: another of its part
	moves      []bool  // by node by which a part is known: something moves there
	back       *Run    // where AdvanceUntil goes back to
}

// filled is the conditions with the defaults in place.
func (c Conditions) filled() Conditions {
	if c.Tolerance == 0 {
		c.Tolerance = 100
	}
	if c.MinStep == 0 {
		c.MinStep = 2e-4
	}
	if c.MaxStep == 0 {
		c.MaxStep = 2
	}
	if c.EventStep == 0 {
		c.EventStep = 2e-4
	}
	if c.Restart == 0 {
		c.Restart = 2e-3
	}
	return c
}

// NewRun starts a run with every node at atmospheric pressure and every switch in its
// first state.
func (n *Network) NewRun(c Conditions) *Run {
	c = c.filled()
	nn, ne := len(n.nodes), len(n.edges)
	kept := cutter(6*nn + 6*ne + len(n.slotInit) + n.floats)
	all := kept.left
	scratch := cutter(n.lu.size + 1 + n.n + 1 + 2*ne + 8*nn + len(n.targets))
	at, on := func() []float64 { return kept.cut(nn) }, func() []float64 { return kept.cut(ne) }
	r := &Run{net: n, cond: c, dt: c.Restart, dirty: true, kept: all,
		mass: at(), p: at(), slope: at(), temp: at(), root: at(), rush: at(),
		flow: on(), moved: on(), turn: on(), pull: on(), blow: on(), open: on(), slot: kept.cut(len(n.slotInit)), mem: kept.cut(n.floats),
		ran: make([]bool, ne), pipes: make([]int32, nn), state: slices.Clone(n.initial),
		resting: newResting(nn, ne, n.n), joined: make([]int32, nn), moves: make([]bool, nn), now: make([]carried, ne), own: make([]bool, nn), stNew: make([]uint8, len(n.initial)),
		a: scratch.cut(n.lu.size + 1), x: scratch.cut(n.n + 1), was: scratch.cut(ne), over: scratch.cut(ne), mNew: scratch.cut(nn), pNew: scratch.cut(nn), pAt: scratch.cut(nn),
		lag: scratch.cut(nn), in: scratch.cut(nn), out: scratch.cut(nn), tNew: scratch.cut(nn), tgt: scratch.cut(len(n.targets))}
	copy(r.slot, n.slotInit)
	for i := range n.nodes {
		r.own[i] = !n.nodes[i].fixed && (c.Air == OwnTemperatures || c.Air == PipeTemperatures && n.nodes[i].wall != nil)
	}
	for i := range n.nodes {
		p := c.Atmosphere
		if n.nodes[i].fixed && i > 0 {
			p = n.nodes[i].p0
		}
		r.put(Node(i), p, c.Temperature)
	}
	r.begin()
	return r
}

// A slab is memory that is cut into slices.
type slab struct{ left []float64 }

func cutter(n int) *slab { return &slab{make([]float64, n)} }

func (s *slab) cut(n int) []float64 {
	out := s.left[:n:n]
	s.left = s.left[n:]
	return out
}

func (r *Run) put(n Node, p, t float64) {
	nd := &r.net.nodes[n]
	v := nd.v
	if nd.cyl != nil {
		v, _ = nd.cyl.at(p, r.cond.Atmosphere)
	}
	r.p[n], r.temp[n], r.root[n] = p, t, math.Sqrt(RefTemp/t)
	r.mass[n] = p * v / (GasConstant * t)
}

// begin makes memories agree with the pressures and starts the mass audit.
func (r *Run) begin() {
	for i, s := range r.net.switches {
		s.begin(r, r.p, r.mem[r.net.memory[i]:])
	}
	copy(r.pNew, r.p)
	copy(r.pAt, r.p)
	r.start, r.external = 0, 0
	for i, m := range r.mass {
		if !r.net.nodes[i].fixed {
			r.start += m
		}
	}
	r.dirty = true
}

// Fill sets a node's absolute pressure (Pa) before a run begins.
func (r *Run) Fill(n Node, p float64) { r.put(n, p, r.cond.Temperature); r.begin() }

// Clone is an independent copy of a run in its present state.
func (r *Run) Clone() *Run {
	c := r.net.NewRun(r.cond)
	c.CopyFrom(r)
	return c
}

// CopyFrom makes r stand as o does. Both must run the same network, or r one that has more
// ways and slots behind all of o's, which then stand as at the start.
func (r *Run) CopyFrom(o *Run) {
	r.cond, r.time, r.steps, r.dt, r.last = o.cond, o.time, o.steps, o.dt, o.last
	if len(r.kept) == len(o.kept) {
		copy(r.kept, o.kept)
	} else {
		to, from := r.numbers(), o.numbers()
		for k := range to {
			copy(to[k], from[k])
		}
	}
	copy(r.ran, o.ran)
	copy(r.pipes, o.pipes)
	copy(r.state, o.state)
	r.resting.copyFrom(&o.resting)
	copy(r.pNew, r.p)
	copy(r.pAt, r.p)
	r.external, r.start, r.dirty = o.external, o.start, o.dirty
}

// numbers are the pieces of kept.
func (r *Run) numbers() [14][]float64 {
	return [14][]float64{r.mass, r.p, r.slope, r.temp, r.root, r.rush, r.flow, r.moved, r.turn, r.pull, r.blow, r.open, r.slot, r.mem}
}

// Set moves a slot. A change is an event: the next steps are short.
func (r *Run) Set(s Slot, v float64) {
	if r.slot[s] != v {
		r.slot[s] = v
		r.dirty = true
		r.dt, r.last = r.cond.Restart, 0
	}
}

// Time since the start, s.
func (r *Run) Time() float64 { return r.time }

// Steps taken so far.
func (r *Run) Steps() int { return r.steps }

// Pressure of a node, Pa absolute.
func (r *Run) Pressure(n Node) float64 { return r.p[n] }

// Gauge pressure of a node, Pa.
func (r *Run) Gauge(n Node) float64 { return r.p[n] - r.cond.Atmosphere }

// Temperature of a node, K.
func (r *Run) Temperature(n Node) float64 { return r.temp[n] }

// Flow through an edge in its direction, kg/s.
func (r *Run) Flow(e Edge) float64 { return r.flow[e] }

// Blow is for how long air has been heard at an edge since ClearBlow, s.
func (r *Run) Blow(e Edge) float64 { return r.blow[e] }

// ClearBlow starts listening anew.
func (r *Run) ClearBlow() { clear(r.blow) }

// State of a switch.
func (r *Run) State(s Switch) uint8 { return r.state[s] }

// Audible is the flow that can be heard at an exhaust, about 5 L/min of free air
// (common practice).
const Audible = 1e-4 // kg/s

// Audit is the mass that cannot be accounted for, relative to the mass at the start. It
// is a part of that mass, 0 for none.
func (r *Run) Audit() float64 {
	sum := 0.0
	for i, m := range r.mass {
		if !r.net.nodes[i].fixed {
			sum += m
		}
	}
	return math.Abs(sum-r.start-r.external) / r.start
}

// opening of a guard; none of its alternatives: empty.
func (r *Run) opening(alts []alt, empty float64) float64 {
	if len(alts) == 0 {
		return empty
	}
	best := 0.0
next:
	for i := range alts {
		for _, c := range alts[i].conds {
			if c.Mask>>r.state[c.Switch]&1 == 0 {
				continue next
			}
		}
		v := 1.0
		if alts[i].slot >= 0 {
			v = r.slot[alts[i].slot]
		}
		if v > best {
			best = v
		}
	}
	return best
}

// Advance runs until the given time after the start (s). An error is a pressure or any
// air that the run lost.
func (r *Run) Advance(until float64) error {
	for r.time < until-1e-9 {
		if err := r.step(until - r.time); err != nil {
			return err
		}
	}
	return nil
}

// soon is how closely AdvanceUntil finds a moment, s.
const soon = 0.01

// AdvanceUntil runs until the given time (s after the start), or until met says so, and
// reports whether it did; the moment is found to a hundredth of a second. After every
// step that stands, each is called. Either may be nil. An error is a pressure or any air
// that the run lost.
func (r *Run) AdvanceUntil(until float64, met func() bool, each func()) (bool, error) {
	if met != nil && r.back == nil {
		r.back = r.net.NewRun(r.cond)
	}
	limit, there := math.Inf(1), math.Inf(1) // halves of a step at whose end it was met
	for r.time < until-1e-9 {
		if met != nil {
			r.back.CopyFrom(r)
		}
		if r.time >= there {
			limit, there = math.Inf(1), math.Inf(1)
		}
		if err := r.step(min(limit, until-r.time)); err != nil {
			return false, err
		}
		is := met != nil && met()
		if is {
			if took := r.time - r.back.time; took > soon {
				limit, there = took/2, r.time
				r.CopyFrom(r.back)
				continue
			}
		}
		if each != nil {
			each()
		}
		if is {
			return true, nil
		}
	}
	return false, nil
}

// Slope is how fast a node's pressure moved over the last step, Pa/s.
func (r *Run) Slope(n Node) float64 { return r.slope[n] }
