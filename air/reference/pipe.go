package reference

import (
	"errors"
	"fmt"
	"math"
)

// courant is the share of a cell that the fastest wave may cross in a step.
const courant = 0.6

// state of the air at a place: density kg/m3, speed m/s toward the tail, pressure Pa.
type state struct{ rho, u, p float64 }

// flux across a face toward the tail, per area.
type flux struct{ mass, mom, energy float64 }

type kind uint8

const (
	headEnd kind = iota
	tailEnd
	junction
	restriction
)

// split is a face at which something is joined to the pipe.
type split struct {
	kind    kind
	face    int
	vehicle int
	p       float64 // last pressure found: the guess for the next
	leak    float64 // effective area, m2
	tank    int     // -1 none
	vent    bool
	openAt  float64 // when the vent opened; +Inf: not yet
	before  float64 // pressure at the beginning of the step, and when that was
	when    float64
}

// rates of change of everything that is held.
type rates struct {
	rho, mom, en []float64
	drag         []float64 // 1/s, of momentum
	tank         []float64 // kg/s
	out, outE    float64   // kg/s and W that leave to anywhere
}

// ErrFast is what a run ends with where a branch or restriction would have to be passed, or
// an end entered, faster than sound: no single pressure stands there then.
var ErrFast = errors.New("air enters, or passes a branch or a restriction, faster than sound")

// Pipe is a pipe at one moment.
type Pipe struct {
	spec   Spec
	euler  bool
	n      int // cells
	cells  int // to a vehicle
	dx     float64
	area   float64
	lossy  float64 // K/L, 1/m
	table  *wallTable
	time   float64
	steps  int
	splits []split
	at     []int32 // face → split, -1 none
	fixedT float64 // viscosity at the start temperature

	rho, mom, en []float64
	tank         []float64 // kg
	tankP        float64   // Pa/kg of a tank
	out, outE    float64   // left since the start, kg and J

	w, slope       []state
	a, b           rates
	old            struct{ rho, mom, en, tank []float64 }
	fresh          bool
	speed          float64 // fastest wave at the last rates
	head, mid, end float64 // pressures at the last rates
	headFlow       float64 // kg/s toward the tail
	fast           *split  // where air passed or entered faster than sound
	rowHead        int
	rowTail        int
}

// New makes the pipe of a spec with an even number of cells to a vehicle, at rest at its
// start pressure.
func New(s Spec, cells int) (*Pipe, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if cells < 2 || cells%2 != 0 || cells*s.Vehicles > 10_000_000 {
		return nil, fmt.Errorf("%d cells to a vehicle, expected an even number from 2, and at most ten million in all", cells)
	}
	n := cells * s.Vehicles
	p := &Pipe{spec: s, euler: s.Model == "euler", n: n, cells: cells, dx: s.VehiclePipe / float64(cells),
		area: math.Pi / 4 * s.Bore * s.Bore, lossy: s.K / s.VehiclePipe,
		table: newWallTable(s.Friction, s.Factor, s.Roughness/s.Bore), at: make([]int32, n+1), fixedT: viscosity(temperature)}
	for i := range p.at {
		p.at[i] = -1
	}
	add := func(face, vehicle int, k kind) *split {
		if p.at[face] < 0 {
			p.at[face] = int32(len(p.splits))
			p.splits = append(p.splits, split{kind: k, face: face, vehicle: vehicle, p: s.Start, tank: -1, openAt: math.Inf(1), before: s.Start})
		}
		return &p.splits[p.at[face]]
	}
	add(0, 0, headEnd)
	add(n, s.Vehicles-1, tailEnd)
	every := func(list []int, f func(*split)) {
		if len(list) == 0 {
			for v := range s.Vehicles {
				f(add(v*cells+cells/2, v, junction))
			}
		}
		for _, v := range list {
			f(add(v*cells+cells/2, v, junction))
		}
	}
	if b := s.Branch; b != nil {
		p.tankP = gasConstant * temperature / b.Volume
		every(b.Vehicles, func(x *split) {
			x.tank = len(p.tank)
			p.tank = append(p.tank, b.Start/p.tankP)
		})
	}
	if s.Leak != nil {
		every(s.Leak.Vehicles, func(x *split) { x.leak = hole(s.Leak.Diameter, s.Leak.Cd) })
	}
	if s.Vent != nil {
		every(s.Vent.Vehicles, func(x *split) { x.vent = true })
	}
	if r := s.Restriction; r != nil {
		add((r.After+1)*cells, r.After, restriction)
	}
	floats := func() []float64 { return make([]float64, n) }
	p.rho, p.mom = floats(), floats()
	p.old.rho, p.old.mom = floats(), floats()
	p.old.tank = make([]float64, len(p.tank))
	p.w, p.slope = make([]state, n), make([]state, n)
	for _, r := range []*rates{&p.a, &p.b} {
		r.rho, r.mom, r.drag, r.tank = floats(), floats(), floats(), make([]float64, len(p.tank))
		if p.euler {
			r.en = floats()
		}
	}
	if p.euler {
		p.en, p.old.en = floats(), floats()
	}
	p.Set(func(float64) (rho, u, pr float64) {
		return s.Start / (gasConstant * temperature), 0, s.Start
	})
	return p, nil
}

func hole(bore, cd float64) float64 { return cd * math.Pi / 4 * bore * bore }

// Set gives every cell the density (kg/m3), speed (m/s) and pressure (Pa) that f says for
// its middle (m from the head); iso takes the pressure and leaves the density.
func (p *Pipe) Set(f func(x float64) (rho, u, pr float64)) {
	for i := range p.n {
		rho, u, pr := f((float64(i) + 0.5) * p.dx)
		if !p.euler {
			rho = pr / (soundIso * soundIso)
		} else {
			p.en[i] = pr/(gamma-1) + rho*u*u/2
		}
		p.rho[i], p.mom[i] = rho, rho*u
	}
	for i := range p.splits {
		x := &p.splits[i]
		_, _, x.p = f(float64(x.face) * p.dx)
		x.before = x.p
	}
	p.fresh = false
}

// Cells is how many cells there are.
func (p *Pipe) Cells() int { return p.n }

// Middle of a cell, m from the head.
func (p *Pipe) Middle(i int) float64 { return (float64(i) + 0.5) * p.dx }

// Cell is the density (kg/m3), speed (m/s) and pressure (Pa) of a cell.
func (p *Pipe) Cell(i int) (rho, u, pr float64) {
	w := p.primitive(i)
	return w.rho, w.u, w.p
}

// Time since the start, s.
func (p *Pipe) Time() float64 { return p.time }

// Steps taken so far.
func (p *Pipe) Steps() int { return p.steps }

// Mass of the air in pipe and reservoirs, kg.
func (p *Pipe) Mass() float64 {
	m := 0.0
	for _, r := range p.rho {
		m += r
	}
	m *= p.dx * p.area
	for _, t := range p.tank {
		m += t
	}
	return m
}

// Energy of the air in the pipe, J; euler only.
func (p *Pipe) Energy() float64 {
	e := 0.0
	for _, v := range p.en {
		e += v
	}
	return e * p.dx * p.area
}

// Left is what has left the pipe and its reservoirs since the start, kg, and the energy
// that has left the air of the pipe, through its ends, branches and wall, J (euler).
func (p *Pipe) Left() (mass, energy float64) { return p.out, p.outE }

// Pressures at head, middle and tail, Pa absolute.
func (p *Pipe) Pressures() (head, mid, tail float64) {
	p.look()
	return p.head, p.mid, p.end
}

// HeadFlow is the mass flow into the head, kg/s.
func (p *Pipe) HeadFlow() float64 {
	p.look()
	return p.headFlow
}

// Tank is the pressure of the reservoir of the first (0) or a later vehicle that has
// one, Pa absolute.
func (p *Pipe) Tank(i int) float64 { return p.tank[i] * p.tankP }

// Opened is when the triggered vent of a vehicle (from 0) opened, and whether it did.
func (p *Pipe) Opened(vehicle int) (float64, bool) {
	for i := range p.splits {
		if x := &p.splits[i]; x.vent && x.vehicle == vehicle {
			return x.openAt, !math.IsInf(x.openAt, 1)
		}
	}
	return 0, false
}

func (p *Pipe) primitive(i int) state {
	rho := p.rho[i]
	u := p.mom[i] / rho
	if p.euler {
		return state{rho, u, (gamma - 1) * (p.en[i] - rho*u*u/2)}
	}
	return state{rho, u, rho * soundIso * soundIso}
}

// look computes the rates at the present moment unless that is done.
func (p *Pipe) look() {
	if !p.fresh {
		p.rowHead, p.rowTail = rowAt(p.spec.Head, p.time), rowAt(p.spec.Tail, p.time)
		p.rates(&p.a, p.time, true)
		p.fresh = true
	}
}

// Step takes one step of at most limit seconds.
func (p *Pipe) Step(limit float64) error {
	p.look()
	dt := courant * p.dx / p.speed
	if dt >= limit {
		dt = limit
	} else if dt > limit/2 {
		dt = limit / 2
	}
	copy(p.old.rho, p.rho)
	copy(p.old.mom, p.mom)
	copy(p.old.en, p.en)
	copy(p.old.tank, p.tank)
	a, b := &p.a, &p.b
	for i := range p.rho {
		p.rho[i] += dt * a.rho[i]
		p.mom[i] = (p.mom[i] + dt*a.mom[i]) / (1 + dt*a.drag[i])
	}
	for i := range p.en {
		p.en[i] += dt * a.en[i]
	}
	for i := range p.tank {
		p.tank[i] += dt * a.tank[i]
	}
	p.rates(b, p.time+dt, false)
	h := dt / 2
	for i := range p.rho {
		p.rho[i] = p.old.rho[i] + h*(a.rho[i]+b.rho[i])
		p.mom[i] = (p.old.mom[i]*(1-h*a.drag[i]) + h*(a.mom[i]+b.mom[i])) / (1 + h*b.drag[i])
	}
	for i := range p.en {
		p.en[i] = p.old.en[i] + h*(a.en[i]+b.en[i])
	}
	for i := range p.tank {
		p.tank[i] = p.old.tank[i] + h*(a.tank[i]+b.tank[i])
	}
	p.out += h * (a.out + b.out)
	p.outE += h * (a.outE + b.outE)
	p.time += dt
	p.steps++
	p.fresh = false
	if p.fast != nil {
		return fmt.Errorf("%w in vehicle %d (from 0) after %.4f s", ErrFast, p.fast.vehicle, p.time)
	}
	if !(p.rho[0] > 0 && p.rho[p.n-1] > 0) || math.IsNaN(p.speed) {
		return fmt.Errorf("the pressures were lost after %.4f s", p.time)
	}
	return nil
}

// Advance steps until the given time, s.
func (p *Pipe) Advance(until float64) error {
	for p.time < until-1e-12 {
		if err := p.Step(until - p.time); err != nil {
			return err
		}
	}
	return nil
}

// slopeOf is the monotonised central slope of a line between its neighbours.
func slopeOf(l, r float64) float64 {
	if l*r <= 0 {
		return 0
	}
	c := (l + r) / 2
	if l < 0 {
		return max(2*max(l, r), c)
	}
	return min(2*min(l, r), c)
}

// part keeps a slope that only one neighbour speaks for from halving or doubling a value
// that must stay above zero.
func part(d, v float64) float64 { return max(-v, min(v, d)) }

func (p *Pipe) rates(r *rates, t float64, first bool) {
	n, euler := p.n, p.euler
	w, sl := p.w, p.slope
	p.speed = 0
	r.out, r.outE = 0, 0
	bore := p.spec.Bore
	warm := euler && !p.spec.Insulated
	for i := range n {
		s := p.primitive(i)
		w[i] = s
		mu, a := p.fixedT, soundIso
		temp := temperature
		if euler {
			temp = s.p / (gasConstant * s.rho)
			mu, a = viscosity(temp), math.Sqrt(gamma*s.p/s.rho)
		}
		abs := math.Abs(s.u)
		if v := abs + a; !(v <= p.speed) {
			p.speed = v
		}
		re := s.rho * abs * bore / mu
		k := p.lossy * abs
		nu := 3.66
		if re < 2000 {
			switch p.spec.Friction {
			case "colebrook":
				k += 64 * mu / (s.rho * bore * bore)
			case "constant":
				k += p.spec.Factor / bore * abs
			}
		} else {
			j, x := p.table.at(re)
			k += (p.table.f[j] + x*(p.table.f[j+1]-p.table.f[j])) / bore * abs
			nu = p.table.nu[j] + x*(p.table.nu[j+1]-p.table.nu[j])
		}
		r.drag[i] = k / 2
		if warm {
			heat := 4 / (bore * bore) * nu * (mu * heatP / prandtl) * (temperature - temp)
			r.en[i] = heat
			r.outE -= heat * p.dx * p.area
		} else if euler {
			r.en[i] = 0
		}
	}
	for i := range n {
		left, right := p.at[i] < 0, p.at[i+1] < 0
		switch {
		case left && right:
			sl[i] = state{slopeOf(w[i].rho-w[i-1].rho, w[i+1].rho-w[i].rho), slopeOf(w[i].u-w[i-1].u, w[i+1].u-w[i].u), slopeOf(w[i].p-w[i-1].p, w[i+1].p-w[i].p)}
		case left:
			sl[i] = state{part(w[i].rho-w[i-1].rho, w[i].rho), w[i].u - w[i-1].u, part(w[i].p-w[i-1].p, w[i].p)}
		case right:
			sl[i] = state{part(w[i+1].rho-w[i].rho, w[i].rho), w[i+1].u - w[i].u, part(w[i+1].p-w[i].p, w[i].p)}
		default:
			sl[i] = state{}
		}
	}
	toTail := func(i int) state {
		return state{w[i].rho + sl[i].rho/2, w[i].u + sl[i].u/2, w[i].p + sl[i].p/2}
	}
	toHead := func(i int) state {
		return state{w[i].rho - sl[i].rho/2, w[i].u - sl[i].u/2, w[i].p - sl[i].p/2}
	}
	var in flux // into the cell from the head side
	for face := range n + 1 {
		var before, behind flux
		if j := p.at[face]; j >= 0 {
			x := &p.splits[j]
			switch x.kind {
			case headEnd:
				f := p.endFlux(x, &p.spec.Head[p.rowHead], t, toHead(0), 1)
				before, behind = f, f
				p.head, p.headFlow = x.p, f.mass*p.area
				r.out -= f.mass * p.area
				r.outE -= f.energy * p.area
			case tailEnd:
				f := p.endFlux(x, &p.spec.Tail[p.rowTail], t, toTail(n-1), -1)
				before, behind = f, f
				p.end = x.p
				r.out += f.mass * p.area
				r.outE += f.energy * p.area
			default:
				l, s := toTail(face-1), toHead(face)
				if l.u >= p.sound(l) || -s.u >= p.sound(s) {
					p.fast = x
				}
				if x.kind == junction {
					before, behind = p.junctionFlux(x, r, t, first, l, s)
				} else {
					before, behind = p.restrictionFlux(x, l, s)
				}
			}
		} else if euler {
			before = hllc(toTail(face-1), toHead(face))
			behind = before
		} else {
			before = hll(toTail(face-1), toHead(face))
			behind = before
		}
		if face > 0 {
			i := face - 1
			r.rho[i] = (in.mass - before.mass) / p.dx
			r.mom[i] = (in.mom - before.mom) / p.dx
			if euler {
				r.en[i] += (in.energy - before.energy) / p.dx
			}
		}
		in = behind
	}
	m := n / 2
	if p.n%2 == 1 {
		p.mid = w[m].p
	} else if j := p.at[m]; j >= 0 && p.splits[j].kind == junction {
		p.mid = p.splits[j].p
	} else {
		p.mid = (toTail(m-1).p + toHead(m).p) / 2
	}
}

// hll is the flux at one temperature after Harten, Lax and van Leer.
func hll(l, r state) flux {
	sl, sr := min(l.u, r.u)-soundIso, max(l.u, r.u)+soundIso
	ml, mr := l.rho*l.u, r.rho*r.u
	fl, fr := ml*l.u+l.p, mr*r.u+r.p
	switch {
	case sl >= 0:
		return flux{mass: ml, mom: fl}
	case sr <= 0:
		return flux{mass: mr, mom: fr}
	}
	k := 1 / (sr - sl)
	return flux{mass: k * (sr*ml - sl*mr + sl*sr*(r.rho-l.rho)), mom: k * (sr*fl - sl*fr + sl*sr*(mr-ml))}
}

// hllc is the flux with energy after Toro, with the wave speeds of Einfeldt.
func hllc(l, r state) flux {
	al, ar := math.Sqrt(gamma*l.p/l.rho), math.Sqrt(gamma*r.p/r.rho)
	el, er := l.p/(gamma-1)+l.rho*l.u*l.u/2, r.p/(gamma-1)+r.rho*r.u*r.u/2
	wl, wr := math.Sqrt(l.rho), math.Sqrt(r.rho)
	u := (wl*l.u + wr*r.u) / (wl + wr)
	h := (wl*(el+l.p)/l.rho + wr*(er+r.p)/r.rho) / (wl + wr)
	a := math.Sqrt((gamma - 1) * (h - u*u/2))
	sl, sr := min(l.u-al, u-a), max(r.u+ar, u+a)
	fl := flux{l.rho * l.u, l.rho*l.u*l.u + l.p, l.u * (el + l.p)}
	fr := flux{r.rho * r.u, r.rho*r.u*r.u + r.p, r.u * (er + r.p)}
	switch {
	case sl >= 0:
		return fl
	case sr <= 0:
		return fr
	}
	sm := (r.p - l.p + l.rho*l.u*(sl-l.u) - r.rho*r.u*(sr-r.u)) / (l.rho*(sl-l.u) - r.rho*(sr-r.u))
	star := func(w state, e, s float64, f flux) flux {
		d := w.rho * (s - w.u) / (s - sm)
		return flux{f.mass + s*(d-w.rho), f.mom + s*(d*sm-w.rho*w.u),
			f.energy + s*(d*(e/w.rho+(sm-w.u)*(sm+w.p/(w.rho*(s-w.u))))-e)}
	}
	if sm >= 0 {
		return star(l, el, sl, fl)
	}
	return star(r, er, sr, fr)
}
