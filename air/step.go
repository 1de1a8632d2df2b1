package air

import (
	"fmt"
	"math"
)

// carried is what an edge does in a step: its flow at the end is m + ja·dp(from) − jb·dp(to),
// kg/s, and it carries d + w·flow, kg.
type carried struct{ m, ja, jb, w, d float64 }

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

// refresh works out which edges are open. One that is shut carries nothing from now on.
func (r *Run) refresh() {
	clear(r.pipes)
	for i := range r.net.edges {
		o := r.opening(r.net.edges[i].alts, 1)
		r.open[i] = o
		if o != 0 {
			if e := &r.net.ways[i]; e.kind == pipeEdge && r.cond.Air == PipeTemperatures {
				r.pipes[e.from]++
				r.pipes[e.to]++
			}
			continue
		}
		r.ran[i] = false
		r.flow[i], r.moved[i], r.turn[i] = 0, 0, 0
	}
	r.wake()
	r.dirty = false
}

// foresee thinks the pressures on in a straight line, into pAt.
func (r *Run) foresee(dt float64) {
	if r.last == 0 {
		copy(r.pAt, r.p)
		return
	}
	for _, i := range r.awake {
		p := r.p[i]
		r.pAt[i] = max(p+float64(dt*r.slope[i]), p/2)
	}
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
// what the edges carry. Openings are taken as they are where the pressures are thought to
// come to. Secants rather than tangents are taken: a square root's tangent near equal
// pressures would throw a small volume past its neighbour, a secant never does.
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
	for _, i := range r.awake {
		nd := &net.cells[i]
		v := nd.v
		if nd.cyl != nil {
			vol, dv := nd.cyl.at(r.p[i], r.cond.Atmosphere)
			v = vol + float64(r.p[i]*dv)
		}
		t := r.temp[i]
		c := v / (GasConstant * t)
		if r.own[i] {
			// the wall's share is written with 1/p = c/m
			lag := 0.0
			if nd.wall != nil && r.cond.Air == PipeTemperatures {
				lag = nd.wallHeat(r.rush[i]) * dt / (specificP * r.mass[i])
				r.x[nd.row] = lag * r.mass[i] * (r.cond.Temperature - t) / t
			}
			r.lag[i] = lag
			c *= 1/Gamma + lag
		}
		r.a[nd.diag] = c
	}
	end, lean := 1.0, 0.0
	if q := dt / r.last; r.last > 0 && q <= 2 {
		end, lean = (1+q)/(1+float64(2*q)), q*q/(1+float64(2*q))
	}
	swing := r.last > 0 && dt <= acoustic
	for _, i := range r.active {
		e := &net.ways[i]
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
			if p1-e.dead > p2 {
				m, ja = r.secant(e, o, p1-e.dead, p2)
				jb = ja
			}
		case pipeEdge:
			start := r.flow[i]
			if swing && r.ran[i] {
				w, d = float64(later*dt), float64((1-later)*dt*start)
				start += float64((1 - later) * dt * r.pull[i])
			} else {
				w, d = float64(end*dt), float64(lean*r.moved[i])
				start += float64(lean * r.turn[i])
			}
			r.was[i], r.over[i] = start, w
			m, ja, jb = r.pipe(i, e, o, p1, p2, dt)
		case supplyEdge:
			if by := r.tgt[e.by] - e.dead - p2; by > 0 {
				m, ja = r.secant(e, o*min(1, by/e.band), p1, p2)
				jb = ja
				if m > 0 {
					jb += m / by
				}
			}
		case graduatingEdge:
			if by := p1 - r.pAt[e.by] - e.dead; by > 0 {
				m, ja = r.secant(e, o*min(1, by/e.band), p1, p2)
				jb = ja
				if m > 0 {
					ja += m / by
				}
			}
		case exhaustEdge:
			if by := p1 - r.tgt[e.by] - e.dead; by > 0 {
				m, ja = r.secant(e, o*min(1, by/e.band), p1, p2)
				jb = ja
				if m > 0 {
					ja += m / by
				}
			}
		}
		if (ja != 0 || jb != 0) && (r.rests[e.from] || r.rests[e.to]) { // a port opens to what rests
			r.wake()
			r.assemble(dt)
			return
		}
		if e.kind != pipeEdge { // back from where the pressures are thought to come to
			m -= float64(ja*(p1-r.p[e.from])) - float64(jb*(p2-r.p[e.to]))
		}
		r.now[i] = carried{m, ja, jb, w, d}
		if m == 0 && ja == 0 && jb == 0 && d == 0 {
			continue
		}
		d += float64(w * m)
		ja, jb = float64(w*ja), float64(w*jb)
		fa, fb := 1.0, 1.0
		if r.own[e.from] || r.own[e.to] {
			t1, t2 := r.temp[e.from], r.temp[e.to]
			if r.own[e.from] {
				fa += r.lag[e.from]
				if m < 0 {
					fa += t2/t1 - 1
				}
			}
			if r.own[e.to] {
				fb += r.lag[e.to]
				if m >= 0 {
					fb += t1/t2 - 1
				}
			}
		}
		r.x[e.a] -= float64(fa * d)
		r.x[e.b] += float64(fb * d)
		r.a[e.aa] += float64(fa * ja)
		r.a[e.ab] -= float64(fa * jb)
		r.a[e.ba] -= float64(fb * ja)
		r.a[e.bb] += float64(fb * jb)
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

// wallHeat is what the wall of a length of pipe gives for every kelvin at a flow (kg/s)
// along it, W/K.
func (v *cell) wallHeat(rush float64) float64 {
	if re := rush * v.re; re > 2000 {
		return v.wall.nusselt(re) * v.skin
	}
	return laminarNu * v.skin
}

// secant is the flow through an opening and its conductance, flow over difference.
func (r *Run) secant(e *way, open, p1, p2 float64) (m, g float64) {
	hi, lo := p1, p2
	up, rush := e.from, e.rushA
	if p2 > p1 {
		hi, lo, up, rush = p2, p1, e.to, e.rushB
	}
	open *= r.root[up]
	gap := hi - lo
	if gap <= float64(hi*(1-laminar)) {
		g = e.straight * open
		return g * (p1 - p2), g
	}
	k := e.k * open
	m = k * hi
	if full := m; rush > 0 && r.pipes[up] == 1 {
		m = e.blown(full, full*e.share(lo/hi), hi, lo, rush/r.root[up])
	} else if e.crit < 0 {
		m *= e.share(lo / hi)
	} else if over := lo - float64(e.crit*hi); over > 0 { // as share has it, with what is choked under the root
		u := k * e.part * over
		m = math.Sqrt(float64(m*m) - float64(u*u))
	}
	g = m / gap
	if p2 > p1 {
		m = -m
	}
	return m, g
}

// share is what passes at a pressure ratio, of what would if it were choked.
func (e *way) share(ratio float64) float64 {
	if e.crit < 0 {
		return nozzleFunction(ratio) / choked
	}
	if ratio > e.crit {
		s := (ratio - e.crit) * e.part
		return math.Sqrt(1 - float64(s*s))
	}
	return 1
}

// blown is the flow out of an opening at the end of a pipe whose air comes at speed, where
// m would flow from rest, and full if choked: the opening sees the stagnation values, p(1 + M²/5)^3.5 and
// T(1 + M²/5), of the Mach number M = rush·m/p that its own flow gives. So what is choked
// grows by (1 + M²/5)³; each turn takes what is left off by 1.2 M² at least, and M is held
// to 1. The rest of the pipe is at static pressures, and so are openings in its side.
func (e *way) blown(full, m, hi, lo, rush float64) float64 {
	for range 4 {
		mach := min(1, rush*m/hi)
		s := 1 + float64(mach*mach/5)
		cube := s * s * s
		m = full * cube * e.share(lo/(hi*cube*math.Sqrt(s)))
	}
	return m
}

// pipe is the momentum of the air in a pipe, by the same differences, implicit in the
// pressures, with friction by one Newton step on |m|m from where m is thought to come to.
//
// The momentum that the air carries along, ∂(m·u)/∂x, is 2u·∂m/∂x − u²A·∂ρ/∂x. In a pipe
// without side flows ∂m/∂x is −A·∂ρ/∂t, so it is known from the pressures at the ends: the
// second part weakens the pull of the pressures by u²/RT, the first one pushes by
// uA(∂ρ1/∂t + ∂ρ2/∂t). Branches stand at the nodes and exchange none.
func (r *Run) pipe(i int32, e *way, open, p1, p2, dt float64) (m0, ja, jb float64) {
	t := &r.net.tubes[e.by]
	m := r.flow[i]
	if r.last > 0 {
		m += float64(r.turn[i] * (dt / r.last))
	}
	dt = r.over[i]
	rt := GasConstant * (r.temp[e.from] + r.temp[e.to]) // 2RT
	slim := rt / ((p1 + p2) * t.area)                   // 1/(ρA)
	rt /= 2
	cool := 1 / rt
	abs := math.Abs(m)
	lin, k := 0.0, t.loss
	if open != 1 {
		k /= open * open
	}
	if t.wall != nil {
		if re := abs * t.re; re > 2000 {
			k += t.wall.factor(re) / t.bore
		} else { // 64/Re
			lin = 32 * slim / (t.re * t.bore)
		}
	}
	k = float64(k * slim) // twice what resists m²
	u := m * slim
	pull := t.area / t.length
	if mach := float64(u * u * cool); mach < 0.5 {
		pull *= 1 - mach
	}
	den := 1 / (1 + float64(dt*(lin+float64(k*abs))))
	gain := dt * pull
	push := float64(dt * u * t.area * cool * (r.slope[e.from] + r.slope[e.to]))
	m0 = float64((r.was[i] + push + float64(gain*(r.p[e.from]-r.p[e.to])) + float64(dt*k*abs*m/2)) * den)
	ja = gain * den
	jb = ja
	// However fast the air in the pipe, what enters it is at most the choked flow of its
	// bore at the pressure it comes from: a small vessel is never drawn below nothing.
	m = m0 + float64(ja*(p1-r.p[e.from])) - float64(jb*(p2-r.p[e.to]))
	from := p1
	if m < 0 {
		from = p2
	}
	if full := choked * t.area * from; m*m*rt > full*full {
		choke := choked * t.area / math.Sqrt(rt)
		if m > 0 {
			m0, ja, jb = choke*r.p[e.from], choke, 0
		} else {
			m0, ja, jb = -choke*r.p[e.to], 0, choke
		}
	}
	return m0, ja, jb
}

func (r *Run) solve() {
	r.net.lu.solve(r.a, r.x, r.order)
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
	for _, i := range r.awake {
		p := r.p[i]
		r.pAt[i] = max(p+r.x[net.row[i]], p/8)
	}
	r.targets()
	for _, i := range r.ports {
		e, n := &net.ways[i], &r.now[i]
		p1, p2 := r.pAt[e.from], r.pAt[e.to]
		by, leads := r.by(e, p1, p2), e.to
		if e.kind == exhaustEdge || e.kind == graduatingEdge {
			leads = e.from
		}
		if n.ja == 0 && n.jb == 0 {
			if by > slack && p1 > p2 {
				return false
			}
		} else if by < 0 {
			m := n.m + float64(n.ja*r.x[e.a]) - float64(n.jb*r.x[e.b])
			if v := net.cells[leads].v; v > 0 && math.Abs(m)*dt*GasConstant*r.temp[leads] > slack*v {
				return false
			}
		}
	}
	return true
}

// by is how far a port is open, Pa, at pressures of its ends and with what else it goes by
// as pAt and tgt have it.
func (r *Run) by(e *way, p1, p2 float64) float64 {
	switch e.kind {
	case checkEdge:
		return p1 - e.dead - p2
	case supplyEdge:
		return r.tgt[e.by] - e.dead - p2
	case exhaustEdge:
		return p1 - r.tgt[e.by] - e.dead
	case graduatingEdge:
		return p1 - r.pAt[e.by] - e.dead
	}
	return math.Inf(1)
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
		n, e := &r.now[i], &net.ways[i]
		if n.m == 0 && n.ja == 0 && n.jb == 0 {
			n.d = 0
			continue
		}
		n.m += float64(n.ja*r.x[e.a]) - float64(n.jb*r.x[e.b])
		n.d += float64(n.w * n.m)
		d := n.d
		r.mNew[e.from] -= d
		r.mNew[e.to] += d
		if r.own[e.from] || r.own[e.to] {
			if d > 0 {
				r.out[e.from] += d
				r.in[e.to] += float64(d * r.temp[e.from])
			} else {
				r.out[e.to] -= d
				r.in[e.from] -= float64(d * r.temp[e.to])
			}
		}
	}
	for i := range net.pumps {
		if m := r.pumping(i); m > 0 {
			d := float64(m * dt)
			r.mNew[net.pumps[i].to] += d
			r.in[net.pumps[i].to] += float64(d * r.cond.Temperature)
		}
	}
	worst := 0.0
	for _, i := range r.awake {
		nd := &net.cells[i]
		t := r.temp[i]
		if r.own[i] {
			t = r.warmed(i)
			r.tNew[i] = t
		}
		p := r.mNew[i] * t
		if nd.cyl != nil {
			p = nd.cyl.pressure(p*GasConstant, r.cond.Atmosphere)
		} else {
			p *= nd.press
		}
		r.pNew[i] = p
		if !(p > 0) || p > math.MaxFloat64 {
			r.lost = Node(i)
			return math.Inf(1)
		}
		if d := math.Abs(p-r.p[i]-float64(dt*r.slope[i])) * nd.heed; d > worst {
			worst = d
		}
	}
	return worst
}

// warmed is the temperature of a node after the step. In a pipe the air that leaves has the
// temperature that the step leads to, so that a step may carry more than the node holds.
func (r *Run) warmed(i int32) float64 {
	if r.cond.Air == PipeTemperatures {
		h := float64(r.lag[i] * r.mass[i])
		return (float64(r.mass[i]*(1/Gamma)*r.temp[i]) + r.in[i] + float64(h*r.cond.Temperature)) /
			(float64(r.mNew[i]*(1/Gamma)) + r.out[i] + h)
	}
	return (float64(r.mass[i]*r.temp[i]) + float64(Gamma*(r.in[i]-float64(r.out[i]*r.temp[i])))) / r.mNew[i]
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
		n, e := &r.now[i], &net.ways[i]
		r.turn[i], r.flow[i], r.moved[i] = n.m-r.flow[i], n.m, n.d
		if e.outside && n.d != 0 {
			if net.cells[e.to].fixed {
				r.external -= n.d
				if n.m > Audible {
					r.blow[i] += dt
				}
			}
			if net.cells[e.from].fixed {
				r.external += n.d
			}
		}
		if e.kind != pipeEdge {
			continue
		}
		r.ran[i] = true
		r.pull[i] = (n.m - r.was[i]) / r.over[i]
		if warm {
			half := float64(math.Abs(n.m) / 2)
			r.rush[e.from] += half
			r.rush[e.to] += half
		}
	}
	for i := range net.pumps {
		r.external += float64(r.pumping(i) * dt)
	}
	back := 1 / dt
	for _, i := range r.awake {
		r.slope[i] = (r.pNew[i] - r.p[i]) * back
		if r.own[i] {
			r.temp[i] = r.tNew[i]
			r.root[i] = math.Sqrt(RefTemp / r.tNew[i])
		}
	}
	copy(r.p, r.pNew)
	copy(r.mass, r.mNew)
	for i, s := range net.switches {
		if r.stNew[i] != r.state[i] {
			r.dirty = true
		}
		if net.remembers[i] {
			s.remember(r, r.p, r.stNew[i], r.mem[net.memory[i]:], dt)
		}
	}
	copy(r.state, r.stNew)
	r.last = dt
	if r.dirty {
		r.last = 0
	} else if r.look--; r.look <= 0 {
		r.rest()
	}
	r.time += dt
	r.steps++
}
