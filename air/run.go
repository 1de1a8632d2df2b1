package air

import (
	"fmt"
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

	mass, p, slope []float64 // by node
	temp           []float64 // by node, K
	rush           []float64 // by node, flow along the pipe that it is, kg/s
	flow           []float64 // by edge, kg/s
	moved, turn    []float64 // by edge, what the last step carried, kg, and how it changed the flow, kg/s
	pull           []float64 // by edge, how fast a pipe gathers flow, kg/s2
	ran            []bool    // by edge: it was open in the last step
	blow           []float64 // by edge, seconds of audible flow since ClearBlow
	open           []float64 // by edge
	slot           []float64
	state          []uint8
	mem            []float64
	external       float64 // mass taken in from outside, kg
	start          float64 // mass at the start, kg
	dirty          bool

	// scratch of a step
	active      []int32   // edges that are not shut
	a, x        []float64 // the system, by place and by row; a last one of each is nobody's
	m0, ja, jb  []float64 // by edge: flow at the end of the step, and its slopes
	w, d        []float64 // by edge: seconds of that flow, and kg on top, that the step carries
	mNew, pNew  []float64 // by node
	pAt, tgt    []float64
	heed        []float64 // by node: how much of the turn of its pressure counts
	was, over   []float64 // by edge: the flow of a pipe from which the step starts, and the seconds over which the pull at its end counts
	own         []bool    // by node: its temperature is its own
	warmth, lag []float64 // by own node: heat of the wall in the step, J/K, and as a share of its mass
	in, out     []float64 // by own node: heat brought, J, and mass taken in the step, kg
	tNew        []float64
	stNew       []uint8
	lost        Node // whose pressure a step lost
	back        *Run // where AdvanceUntil goes back to
}

// NewRun starts a run with every node at atmospheric pressure and every switch in its
// first state.
func (n *Network) NewRun(c Conditions) *Run {
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
	nn, ne := len(n.nodes), len(n.edges)
	at := func() []float64 { return make([]float64, nn) }
	on := func() []float64 { return make([]float64, ne) }
	r := &Run{net: n, cond: c, dt: c.EventStep, dirty: true,
		mass: at(), p: at(), slope: at(), temp: at(), rush: at(),
		flow: on(), moved: on(), turn: on(), blow: on(), open: on(), slot: slices.Clone(n.slotInit),
		state: slices.Clone(n.initial), mem: make([]float64, n.floats),
		active: make([]int32, 0, ne), a: make([]float64, n.lu.size+1), x: make([]float64, n.n+1),
		m0: on(), ja: on(), jb: on(), w: on(), d: on(), mNew: at(), pNew: at(), pAt: at(), tgt: make([]float64, len(n.targets)),
		heed: at(), was: on(), over: on(), pull: on(), ran: make([]bool, ne), own: make([]bool, nn), warmth: at(), lag: at(), in: at(), out: at(), tNew: at(), stNew: make([]uint8, len(n.initial))}
	for i := range n.nodes {
		nd := &n.nodes[i]
		r.heed[i] = heed(nd)
		r.own[i] = !nd.fixed && (c.Air == OwnTemperatures || c.Air == PipeTemperatures && nd.wall != nil)
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

// heed is how much of the turn of a node's pressure counts: half of it is how far the end
// of the step is off. A small volume soon forgets an error and passes little of it on, so
// less counts there, by the root of its size below 10 L, down to an eighth. Along a wide
// pipe errors run as waves and add up: three times as much counts. (calibrated: the cases of
// air/reference within their bars, and every reading of the standing test within 1 kPa of
// steps a hundred times finer)
func heed(n *node) float64 {
	if n.bore > 0.02 {
		return 1.5
	}
	return 0.5 * max(0.125, min(1, math.Sqrt(n.v/10e-3)))
}

func (r *Run) put(n Node, p, t float64) {
	nd := &r.net.nodes[n]
	v := nd.v
	if nd.cyl != nil {
		v, _ = nd.cyl.at(p, r.cond.Atmosphere)
	}
	r.p[n], r.temp[n] = p, t
	r.mass[n] = p * v / (GasConstant * t)
}

// begin makes memories agree with the pressures and starts the mass audit.
func (r *Run) begin() {
	for i, s := range r.net.switches {
		s.begin(r, r.p, r.mem[r.net.memory[i]:])
	}
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

// CopyFrom makes r stand as o does; both must run the same network.
func (r *Run) CopyFrom(o *Run) {
	r.cond, r.time, r.steps, r.dt, r.last = o.cond, o.time, o.steps, o.dt, o.last
	copy(r.mass, o.mass)
	copy(r.p, o.p)
	copy(r.slope, o.slope)
	copy(r.temp, o.temp)
	copy(r.rush, o.rush)
	copy(r.flow, o.flow)
	copy(r.moved, o.moved)
	copy(r.turn, o.turn)
	copy(r.pull, o.pull)
	copy(r.ran, o.ran)
	copy(r.blow, o.blow)
	copy(r.open, o.open)
	copy(r.slot, o.slot)
	copy(r.state, o.state)
	copy(r.mem, o.mem)
	r.external, r.start, r.dirty = o.external, o.start, o.dirty
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

// Audit is the mass that cannot be accounted for, relative to the mass at the start.
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

// refresh works out which edges are open. One that is shut carries nothing from now on.
func (r *Run) refresh() {
	r.active = r.active[:0]
	for i := range r.net.edges {
		o := r.opening(r.net.edges[i].alts, 1)
		r.open[i] = o
		if o != 0 {
			r.active = append(r.active, int32(i))
			continue
		}
		r.ran[i] = false
		r.flow[i], r.moved[i], r.turn[i], r.m0[i], r.d[i] = 0, 0, 0, 0, 0
	}
	r.dirty = false
}

func (r *Run) targets() {
	atm := r.cond.Atmosphere
	for i := range r.net.targets {
		t := &r.net.targets[i]
		if t.graduated {
			g := -20e3 // released: the exhaust stands open to the end
			if r.state[t.state] == 1 {
				g = float64(t.gain * (r.pAt[t.reservoir] - r.pAt[t.pipe] - t.offset))
				if g < t.floor && r.pAt[t.reservoir]-r.pAt[t.pipe] > 10e3 {
					g = t.floor
				}
			}
			if g > t.cap {
				g = t.cap
			}
			if t.inShot > 0 && g > t.inShotUpTo {
				g = t.inShotUpTo
			}
			r.tgt[i] = g + atm
			continue
		}
		g := t.offset
		if t.slot >= 0 {
			g += r.slot[t.slot]
		}
		if t.control >= 0 {
			g += float64(t.ratio * (r.pAt[t.control] - atm))
		}
		if t.limit > 0 && g > t.limit {
			g = t.limit
		}
		r.tgt[i] = max(g, 0) + atm
	}
}

// assemble writes the system of a step of dt: what each node takes up for a pascal, and
// what the edges carry. The flow through an edge at the end of the step is
// m0 + ja·dp(from) − jb·dp(to), and what the step carries d + w·flow. Openings are
// taken as they are where the pressures are thought to come to. Secants rather than
// tangents are taken: a square root's tangent near equal pressures would throw a small
// volume past its neighbour, a secant never does.
//
// What is carried is the second-order backward difference, by edge so that mass balances:
// 2/3 of the flow at the end and 1/3 of what the last step carried, for steps of one
// length. An edge that was shut has nothing to lean on and goes by its flow at the end.
//
// A node with a temperature of its own balances heat instead of mass, divided by cp·T: with
// air coming in at T_in, and the wall giving H = h·A·dt for every kelvin,
//
//	(V/(γRT) + H/(cp·p))·dp = Σ in·(T_in/T + H/(cp·m)) − Σ out·(1 + H/(cp·m)) + H·(T_wall − T)/(cp·T)
//
// which is adiabatic for H = 0 and isothermal as H grows.
func (r *Run) assemble(dt float64) {
	net := r.net
	clear(r.a)
	clear(r.x)
	for i := range net.nodes {
		nd := &net.nodes[i]
		if nd.fixed {
			continue
		}
		v := nd.v
		if nd.cyl != nil {
			vol, dv := nd.cyl.at(r.p[i], r.cond.Atmosphere)
			v = vol + float64(r.p[i]*dv)
		}
		c := v / (GasConstant * r.temp[i])
		if r.own[i] {
			c /= Gamma
			if nd.wall != nil && r.cond.Air == PipeTemperatures {
				h := r.wallHeat(i, nd) * dt
				r.warmth[i], r.lag[i] = h, h/(specificP*r.mass[i])
				c += h / (specificP * r.p[i])
				r.x[net.row[i]] = h * (r.cond.Temperature - r.temp[i]) / (specificP * r.temp[i])
			}
		}
		r.a[net.diag[i]] = c
	}
	end, lean := 1.0, 0.0
	if q := dt / r.last; r.last > 0 && q <= 2 {
		end, lean = (1+q)/(1+float64(2*q)), q*q/(1+float64(2*q))
	}
	for _, i := range r.active {
		e := &net.edges[i]
		o := r.open[i]
		w, d := dt, 0.0
		if was := r.moved[i]; was != 0 {
			w, d = float64(end*dt), float64(lean*was)
		}
		p1, p2 := r.pAt[e.from], r.pAt[e.to]
		var m, ja, jb float64
		switch e.kind {
		case orificeEdge:
			m, ja = r.secant(e, o, p1, p2)
			jb = ja
		case checkEdge:
			if p1-e.crack > p2 {
				m, ja = r.secant(e, o, p1-e.crack, p2)
				jb = ja
			}
		case pipeEdge:
			if r.ran[i] && r.last > 0 && dt <= acoustic {
				w, d = float64(later*dt), float64((1-later)*dt*r.flow[i])
				m, ja, jb = r.pipe(int(i), e, o, p1, p2, dt, w, r.flow[i]+float64((1-later)*dt*r.pull[i]))
			} else {
				w, d = float64(end*dt), float64(lean*r.moved[i])
				m, ja, jb = r.pipe(int(i), e, o, p1, p2, dt, w, r.flow[i]+float64(lean*r.turn[i]))
			}
		case supplyEdge:
			if err := r.tgt[e.target] - e.dead - p2; err > 0 {
				m, ja = r.secant(e, o*min(1, err/e.bnd), p1, p2)
				jb = ja
				if m > 0 {
					jb += m / err
				}
			}
		case graduatingEdge:
			if err := p1 - r.pAt[e.control] - e.dead; err > 0 {
				m, ja = r.secant(e, o*min(1, err/e.bnd), p1, p2)
				jb = ja
				if m > 0 {
					ja += m / err
				}
			}
		case exhaustEdge:
			if err := p1 - r.tgt[e.target] - e.dead; err > 0 {
				m, ja = r.secant(e, o*min(1, err/e.bnd), p1, p2)
				jb = ja
				if m > 0 {
					ja += m / err
				}
			}
		}
		if e.kind != pipeEdge { // back from where the pressures are thought to come to
			m -= float64(ja*(p1-r.p[e.from])) - float64(jb*(p2-r.p[e.to]))
		}
		r.m0[i], r.ja[i], r.jb[i], r.w[i], r.d[i] = m, ja, jb, w, d
		if m == 0 && ja == 0 && jb == 0 && d == 0 {
			continue
		}
		at := &net.at[i]
		d += float64(w * m)
		ja, jb = float64(w*ja), float64(w*jb)
		if !r.own[e.from] && !r.own[e.to] {
			r.x[at.a] -= d
			r.x[at.b] += d
			r.a[at.aa] += ja
			r.a[at.ab] -= jb
			r.a[at.ba] -= ja
			r.a[at.bb] += jb
			continue
		}
		t := r.temp[e.from]
		if m < 0 {
			t = r.temp[e.to]
		}
		fa, fb := 1.0, 1.0
		if r.own[e.from] {
			fa = t/r.temp[e.from] + r.lag[e.from]
		}
		if r.own[e.to] {
			fb = t/r.temp[e.to] + r.lag[e.to]
		}
		r.x[at.a] -= float64(fa * d)
		r.x[at.b] += float64(fb * d)
		r.a[at.aa] += float64(fa * ja)
		r.a[at.ab] -= float64(fa * jb)
		r.a[at.ba] -= float64(fb * ja)
		r.a[at.bb] += float64(fb * jb)
	}
	for i := range net.pumps {
		if m := r.pumping(i); m > 0 {
			r.x[net.row[net.pumps[i].to]] += float64(dt * m)
		}
	}
}

// While steps are short enough to follow sound through a pipe's parts, what a pipe carries
// is a mean of the flows at both ends of the step, a little more of the later: backward
// differences would slow a swing and let it die away.
const (
	later    = 0.52
	acoustic = 0.02 // s
)

// wallHeat is what the wall of a length of pipe gives for every kelvin, W/K.
func (r *Run) wallHeat(i int, nd *node) float64 {
	nu := laminarNu
	if re := r.rush[i] / (quarterPi * viscosity * nd.bore); re > 2000 {
		nu = nd.wall.nusselt(re)
	}
	return nu * heatOfAir / nd.bore * nd.skin
}

// secant is the flow through an opening and its conductance, flow over difference.
func (r *Run) secant(e *edge, open, p1, p2 float64) (m, g float64) {
	o := Orifice{float64(e.o.C * open), e.o.B}
	d := p1 - p2
	if d > -1e-3 && d < 1e-3 {
		// straight-line part: any difference gives its slope
		hi := max(p1, p2)
		lo := float64(hi * laminar)
		g = o.flow(hi, lo, r.temp[e.from]) / (hi - lo)
		return g * d, g
	}
	if d > 0 {
		m = o.flow(p1, p2, r.temp[e.from])
	} else {
		m = -o.flow(p2, p1, r.temp[e.to])
	}
	return m, m / d
}

// pipe is the momentum of the air in a pipe, by the same backward difference, implicit in
// the pressures, with friction by one Newton step on |m|m from where m is thought to come
// to.
//
// The momentum that the air carries along, ∂(m·u)/∂x, is 2u·∂m/∂x − u²A·∂ρ/∂x. In a pipe
// without side flows ∂m/∂x is −A·∂ρ/∂t, so it is known from the pressures at the ends: the
// second part weakens the pull of the pressures by u²/RT, the first one pushes by
// uA(∂ρ1/∂t + ∂ρ2/∂t). Branches stand at the nodes and exchange none.
func (r *Run) pipe(i int, e *edge, open, p1, p2, dt, over, was float64) (m0, ja, jb float64) {
	r.was[i] = was
	r.over[i] = over
	m := r.flow[i]
	if r.last > 0 {
		m += float64(r.turn[i] * (dt / r.last))
	}
	dt = over
	t1, t2 := r.temp[e.from], r.temp[e.to]
	rt := GasConstant * (t1 + t2) / 2
	rho := (p1 + p2) / (2 * rt)
	abs := math.Abs(m)
	lin, k := 0.0, e.loss/(e.length*open*open)
	if !e.smooth {
		const turn = quarterPi * viscosity // Re = |m|/(turn·bore)
		if re := abs / (turn * e.bore); re > 2000 {
			k += e.wall.factor(re) / e.bore
		} else {
			lin = 64 * turn / (2 * rho * e.area)
		}
	}
	k /= 2 * rho * e.area
	u := m / (rho * e.area)
	gain := dt * e.area / e.length
	if mach := u * u / rt; mach < 0.5 {
		gain *= 1 - mach
	}
	den := 1 + float64(dt*(lin+float64(2*k*abs)))
	push := float64(dt*u*e.area/rt) * (r.slope[e.from] + r.slope[e.to])
	m0 = (was + push + float64(gain*(r.p[e.from]-r.p[e.to])) + float64(dt*k*abs*m)) / den
	ja = gain / den
	jb = ja
	// However fast the air in the pipe, what enters it is at most the choked flow of its
	// bore at the pressure it comes from: a small vessel is never drawn below nothing.
	choke := choked * e.area / math.Sqrt(rt)
	switch m := m0 + float64(ja*(p1-r.p[e.from])) - float64(jb*(p2-r.p[e.to])); {
	case m > choke*p1:
		m0, ja, jb = choke*r.p[e.from], choke, 0
	case -m > choke*p2:
		m0, ja, jb = -choke*r.p[e.to], 0, choke
	}
	return m0, ja, jb
}

// Advance runs until the given time after the start (s).
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
// reports whether it did; the moment is found to a hundredth of a second. After every step
// that stands, each is called. Either may be nil.
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

// step takes one accepted step of at most limit seconds.
func (r *Run) step(limit float64) error {
	if r.dirty {
		r.refresh()
	}
	for {
		dt := min(r.dt, r.cond.MaxStep)
		if dt > limit {
			dt = limit
		} else if dt > limit/2 && limit > 2*r.cond.MinStep {
			dt = limit / 2
		}
		r.foresee(dt)
		r.targets()
		r.assemble(dt)
		r.solve()
		for range tries {
			if r.agrees(dt) {
				break
			}
			r.assemble(dt)
			r.solve()
		}
		worst := r.propose(dt)
		if worst > 4*r.cond.Tolerance && dt > r.cond.MinStep*1.0001 {
			r.dt = max(dt*max(0.1, min(0.5, math.Sqrt(r.cond.Tolerance/worst))), r.cond.MinStep)
			continue
		}
		if math.IsInf(worst, 1) {
			if r.last > 0 { // what went before may be what misleads
				r.last = 0
				continue
			}
			return fmt.Errorf("air: the pressure of %q is lost %.3f s after the start, however short the step", r.net.nodes[r.lost].name, r.time)
		}
		snapped := r.snap(r.pNew, dt)
		if snapped {
			if at := r.crossing(dt); at < dt-r.cond.EventStep {
				r.dt = max(at, r.cond.EventStep)
				continue
			}
		}
		r.accept(dt)
		grow := 2.0
		if worst > 0 {
			grow = min(2, max(0.4, 0.9*math.Sqrt(r.cond.Tolerance/worst)))
		}
		next := dt * grow
		if snapped {
			next = min(next, r.cond.Restart)
		}
		if dt == r.dt || next < r.dt {
			r.dt = next
		}
		r.dt = min(max(r.dt, r.cond.MinStep), r.cond.MaxStep)
		return nil
	}
}

func (r *Run) solve() {
	r.net.lu.solve(r.a, r.x)
	r.x[r.net.n] = 0 // fixed nodes do not move
}

// tries is how often a step is written anew because a port that was thought shut would
// open, or the other way.
const tries = 3

// agrees looks whether every one-way and self-lapping port stands, at the pressures that
// the step leads to, as it was thought to. One that was thought open and would carry air
// backwards, or was thought shut and would open, would hunt for ever about its resting
// point by as much as a step may turn. It leaves those pressures in pAt for another try.
func (r *Run) agrees(dt float64) bool {
	net := r.net
	slack := r.cond.Tolerance / 10
	for i, p := range r.p {
		r.pAt[i] = p + r.x[net.row[i]]
	}
	r.targets()
	for _, i := range net.ports {
		if r.open[i] == 0 {
			continue
		}
		e, at := &net.edges[i], &net.at[i]
		p1, p2 := r.pAt[e.from], r.pAt[e.to]
		var by float64 // how far open, Pa
		leads := e.to
		switch e.kind {
		case checkEdge:
			by = p1 - e.crack - p2
		case supplyEdge:
			by = r.tgt[e.target] - e.dead - p2
		case exhaustEdge:
			by, leads = p1-r.tgt[e.target]-e.dead, e.from
		case graduatingEdge:
			by, leads = p1-r.pAt[e.control]-e.dead, e.from
		}
		if r.ja[i] == 0 && r.jb[i] == 0 {
			if by > slack && p1 > p2 {
				return false
			}
		} else if by < 0 {
			m := r.m0[i] + float64(r.ja[i]*r.x[at.a]) - float64(r.jb[i]*r.x[at.b])
			if v := net.nodes[leads].v; v > 0 && math.Abs(m)*dt*GasConstant*r.temp[leads] > slack*v {
				return false
			}
		}
	}
	return true
}

// foresee thinks the pressures on in a straight line, into pAt.
func (r *Run) foresee(dt float64) {
	if r.last == 0 {
		copy(r.pAt, r.p)
		return
	}
	for i, p := range r.p {
		r.pAt[i] = max(p+float64(dt*r.slope[i]), p/2)
	}
}

func (r *Run) pumping(i int) float64 {
	p := &r.net.pumps[i]
	if r.state[p.state] != 1 {
		return 0
	}
	return r.opening(p.guards, 1) * p.free * r.cond.Atmosphere / (GasConstant * r.cond.Temperature)
}

// propose works out the flows and the masses and pressures they lead to, and returns how
// far a pressure has turned from its straight line at most; +Inf where one is lost.
func (r *Run) propose(dt float64) float64 {
	net := r.net
	copy(r.mNew, r.mass)
	if r.cond.Air != OneTemperature {
		clear(r.in)
		clear(r.out)
	}
	for _, i := range r.active {
		m, ja, jb := r.m0[i], r.ja[i], r.jb[i]
		if m == 0 && ja == 0 && jb == 0 {
			r.d[i] = 0
			continue
		}
		e, at := &net.edges[i], &net.at[i]
		m += float64(ja*r.x[at.a]) - float64(jb*r.x[at.b])
		d := r.d[i] + float64(r.w[i]*m)
		r.m0[i], r.d[i] = m, d
		r.mNew[e.from] -= d
		r.mNew[e.to] += d
		if r.own[e.from] || r.own[e.to] {
			if d > 0 {
				r.out[e.from] += d
				r.in[e.to] += float64(d * specificP * r.temp[e.from])
			} else {
				r.out[e.to] -= d
				r.in[e.from] -= float64(d * specificP * r.temp[e.to])
			}
		}
	}
	for i := range net.pumps {
		d := float64(r.pumping(i) * dt)
		r.mNew[net.pumps[i].to] += d
		r.in[net.pumps[i].to] += float64(d * specificP * r.cond.Temperature)
	}
	worst := 0.0
	for i := range net.nodes {
		nd := &net.nodes[i]
		if nd.fixed {
			r.pNew[i], r.tNew[i] = r.p[i], r.temp[i]
			continue
		}
		t := r.temp[i]
		if r.own[i] {
			t = r.warmed(i)
			r.tNew[i] = t
		}
		q := r.mNew[i] * GasConstant * t // p·V
		if nd.cyl != nil {
			r.pNew[i] = nd.cyl.pressure(q, r.cond.Atmosphere)
		} else {
			r.pNew[i] = q / nd.v
		}
		if !(r.pNew[i] > 0) || r.pNew[i] > math.MaxFloat64 {
			r.lost = Node(i)
			return math.Inf(1)
		}
		if d := math.Abs(r.pNew[i]-r.p[i]-float64(dt*r.slope[i])) * r.heed[i]; d > worst {
			worst = d
		}
	}
	return worst
}

// warmed is the temperature of a node after the step. In a pipe the air that leaves has the
// temperature that the step leads to, so that a step may carry more than the node holds.
func (r *Run) warmed(i int) float64 {
	if r.cond.Air == PipeTemperatures {
		h := r.warmth[i]
		return (float64(r.mass[i]*specificV*r.temp[i]) + r.in[i] + float64(h*r.cond.Temperature)) /
			(float64(r.mNew[i]*specificV) + float64(r.out[i]*specificP) + h)
	}
	return (float64(r.mass[i]*specificV*r.temp[i]) + r.in[i] - float64(r.out[i]*specificP*r.temp[i])) / (r.mNew[i] * specificV)
}

// crossing is when, within a step in which a switch snaps, the first of them does, to
// EventStep: pressures are taken to go in a straight line.
func (r *Run) crossing(dt float64) float64 {
	lo, hi := 0.0, dt
	for hi-lo > r.cond.EventStep {
		mid := (lo + hi) / 2
		for i, p := range r.p {
			r.pAt[i] = p + float64((r.pNew[i]-p)*(mid/dt))
		}
		if r.snap(r.pAt, mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	r.snap(r.pNew, dt)
	return hi
}

// snap finds the next state of every switch and reports whether any changes.
func (r *Run) snap(p []float64, dt float64) bool {
	changed := false
	for i, s := range r.net.switches {
		r.stNew[i] = s.next(r, p, r.state[i], r.mem[r.net.memory[i]:], dt)
		if r.stNew[i] != r.state[i] {
			changed = true
		}
	}
	return changed
}

func (r *Run) accept(dt float64) {
	net := r.net
	warm := r.cond.Air == PipeTemperatures
	if warm {
		clear(r.rush)
	}
	for _, i := range r.active {
		m, d := r.m0[i], r.d[i]
		r.turn[i], r.flow[i], r.moved[i] = m-r.flow[i], m, d
		at := &net.at[i]
		if at.outside && d != 0 {
			e := &net.edges[i]
			if net.nodes[e.to].fixed {
				r.external -= d
				if m > Audible {
					r.blow[i] += dt
				}
			}
			if net.nodes[e.from].fixed {
				r.external += d
			}
		}
		if !at.pipe {
			continue
		}
		r.ran[i] = true
		r.pull[i] = (m - r.was[i]) / r.over[i]
		if warm {
			e := &net.edges[i]
			half := math.Abs(m) / 2
			r.rush[e.from] += half
			r.rush[e.to] += half
		}
	}
	for i := range net.pumps {
		r.external += float64(r.pumping(i) * dt)
	}
	for i, p := range r.pNew {
		r.slope[i] = (p - r.p[i]) / dt
		if r.own[i] {
			r.temp[i] = r.tNew[i]
		}
	}
	r.p, r.pNew = r.pNew, r.p
	r.mass, r.mNew = r.mNew, r.mass
	for i, s := range net.switches {
		if r.stNew[i] != r.state[i] {
			r.dirty = true
		}
		s.remember(r, r.p, r.stNew[i], r.mem[net.memory[i]:], dt)
	}
	copy(r.state, r.stNew)
	r.last = dt
	if r.dirty {
		r.last = 0
	}
	r.time += dt
	r.steps++
}

// Slope is how fast a node's pressure moved over the last step, Pa/s.
func (r *Run) Slope(n Node) float64 { return r.slope[n] }
