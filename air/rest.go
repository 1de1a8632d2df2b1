package air

import "math"

// Much of a train stands still at any moment: what no air comes to, what has filled, what
// has emptied. A part that nothing moves in is left out of the steps until something opens
// to it. A part is a set of nodes with every way between them that passes air; ports that
// their pressures hold shut do not join, and are watched for as long as a pressure that they
// go by may move. What rests keeps its pressure, its mass and its temperature, and its ways
// carry nothing, so that mass balances as before.

// A part rests while no pressure in it moves by more than still, Pa/s, and no way carries
// more than trickle, kg/s. What is left of a pressure that dies away in a minute is then
// some tenth of a pascal; a trickle is a ten-thousandth of what can be heard.
const (
	still   = 2e-3
	trickle = 1e-8
)

// How many steps are taken before it is looked for parts at rest: after something opened or
// shut, and from then on.
const (
	firstLook = 2
	nextLook  = 8
)

// resting is what of a run takes part in a step.
type resting struct {
	rests  []bool  // by node: it is left out
	awake  []int32 // nodes that are not, nor fixed
	order  []int32 // their places in the elimination
	active []int32 // edges that are not shut, between them
	ports  []int32 // of those, the ones that open and shut with the pressures
	look   int     // steps until it is looked for parts at rest
}

func newResting(nodes, edges, rows int) resting {
	return resting{rests: make([]bool, nodes), awake: make([]int32, 0, nodes), order: make([]int32, 0, rows), active: make([]int32, 0, edges), ports: make([]int32, 0, edges)}
}

func (s *resting) copyFrom(o *resting) {
	copy(s.rests, o.rests)
	s.awake = append(s.awake[:0], o.awake...)
	s.order = append(s.order[:0], o.order...)
	s.active = append(s.active[:0], o.active...)
	s.ports = append(s.ports[:0], o.ports...)
	s.look = o.look
}

// wake lets everything take part.
func (r *Run) wake() {
	net := r.net
	clear(r.rests)
	r.awake, r.order, r.active, r.ports = r.awake[:0], r.order[:0], r.active[:0], r.ports[:0]
	for i := range net.cells {
		if !net.cells[i].fixed {
			r.awake = append(r.awake, int32(i))
		}
	}
	for k := range net.n {
		r.order = append(r.order, int32(k))
	}
	for i, o := range r.open {
		if o == 0 {
			continue
		}
		r.active = append(r.active, int32(i))
		if net.ways[i].port() {
			r.ports = append(r.ports, int32(i))
		}
	}
	r.look = firstLook
}

// port reports whether the pressures open and shut a way.
func (e *way) port() bool { return e.kind != orificeEdge && e.kind != pipeEdge }

// rest looks, by the step just taken, for parts at rest and leaves them out.
func (r *Run) rest() {
	net := r.net
	r.look = nextLook
	copy(r.pAt, r.p)
	r.targets()
	for i := range r.joined {
		r.joined[i] = int32(i)
		r.moves[i] = false
	}
	for _, i := range r.active {
		if e := &net.ways[i]; !e.outside && r.passes(i) {
			r.joined[r.part(e.from)] = r.part(e.to)
		}
	}
	for _, i := range r.awake {
		if math.Abs(r.slope[i]) > still {
			r.moves[r.part(Node(i))] = true
		}
	}
	for _, i := range r.active {
		if math.Abs(r.flow[i]) > trickle {
			r.moves[r.part(net.ways[i].from)] = true
			r.moves[r.part(net.ways[i].to)] = true
		}
	}
	for i := range net.pumps {
		if r.pumping(i) > 0 {
			r.moves[r.part(net.pumps[i].to)] = true
		}
	}
	awake := r.awake[:0]
	for _, i := range r.awake {
		if r.moves[r.part(Node(i))] {
			awake = append(awake, i)
			continue
		}
		r.rests[i] = true
		r.slope[i], r.rush[i] = 0, 0
		r.pNew[i], r.mNew[i], r.tNew[i] = r.p[i], r.mass[i], r.temp[i]
	}
	if len(awake) == len(r.awake) {
		return
	}
	r.awake = awake
	order := r.order[:0]
	for _, k := range r.order {
		if !r.rests[net.nodeOf[net.lu.order[k]]] {
			order = append(order, k)
		}
	}
	r.order = order
	active, ports := r.active[:0], r.ports[:0]
	for _, i := range r.active {
		e := &net.ways[i]
		if r.moving(e.from) || r.moving(e.to) || e.port() && !r.passes(i) && r.goesBy(e) {
			active = append(active, i)
			if e.port() {
				ports = append(ports, i)
			}
			continue
		}
		r.flow[i], r.moved[i], r.turn[i], r.pull[i] = 0, 0, 0, 0
	}
	r.active, r.ports = active, ports
}

// part is the node by which the part of a node is known.
func (r *Run) part(n Node) int32 {
	k := int32(n)
	for r.joined[k] != k {
		r.joined[k] = r.joined[r.joined[k]]
		k = r.joined[k]
	}
	return k
}

// passes reports whether an active edge stands open at the pressures there are, or was
// thought to in the step just taken.
func (r *Run) passes(i int32) bool {
	e := &r.net.ways[i]
	return !e.port() || r.now[i].ja != 0 || r.now[i].jb != 0 || r.by(e, r.p[e.from], r.p[e.to]) > 0
}

func (r *Run) moving(n Node) bool { return !r.net.cells[n].fixed && !r.rests[n] }

// goesBy reports whether a pressure that moves a port, other than those at its ends, may
// move.
func (r *Run) goesBy(e *way) bool {
	switch e.kind {
	case graduatingEdge:
		return r.moving(Node(e.by))
	case supplyEdge, exhaustEdge:
		t := &r.net.targets[e.by]
		if t.graduated {
			return r.moving(t.reservoir) || r.moving(t.pipe)
		}
		return t.control >= 0 && r.moving(t.control)
	}
	return false
}
