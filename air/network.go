package air

import (
	"fmt"
	"math"
)

// Node names a volume of a network. The zero Node is the atmosphere.
type Node int32

// Edge names a way for air between two nodes.
type Edge int32

// Switch names an element that stands in one of a few discrete states.
type Switch int32

// Slot names a position that a caller sets: how far an alternative of a guard is open,
// or the set pressure of a regulator.
type Slot int32

// Atmosphere is the node every network has.
const Atmosphere Node = 0

type node struct {
	name  string
	fixed bool
	v     float64
	cyl   *VariableVolume
	p0    float64 // fixed nodes
	// pipe
	bore, skin float64 // m, and m2 of wall
	wall       *wall
}

type edgeKind uint8

const (
	orificeEdge edgeKind = iota
	pipeEdge
	checkEdge
	supplyEdge     // regulated: opens while the output is below the target
	exhaustEdge    // regulated: opens while the output is above the target
	graduatingEdge // opens while the source is above the control
)

type edge struct {
	name     string
	kind     edgeKind
	from, to Node
	o        Orifice
	crack    float64
	// pipe
	area, length, bore, loss float64
	wall                     *wall
	control                  Node // graduating
	// regulated and graduating
	target    int32 // index into targets
	dead, bnd float64
	alts      []alt
}

// Cond holds while a switch stands in one of the states of the mask.
type Cond struct {
	Switch Switch
	Mask   uint32
}

// alt is one alternative of an edge's guard: open by its slot while all conditions hold.
type alt struct {
	slot  Slot // -1: fully open
	conds []Cond
}

// target computes the set pressure of a regulated pair of edges.
type target struct {
	slot                 Slot // gauge pressure added; -1 none
	control              Node // -1 none
	ratio, offset, limit float64
	// graduated distributor: gain·(pipe side), floor while applied
	graduated          bool
	reservoir, pipe    Node
	gain, cap, floor   float64
	state              Switch
	inShot, inShotUpTo float64
}

// Builder collects the parts of a network.
type Builder struct {
	nodes    []node
	edges    []edge
	targets  []target
	switches []switcher
	names    []string // of switches
	slots    int
	pumps    []pump
	initial  []uint8
	slotInit []float64
}

type pump struct {
	name   string
	to     Node
	free   float64 // m3/s free air at ambient
	state  Switch
	guards []alt
}

// NewBuilder starts a network that holds only the atmosphere.
func NewBuilder() *Builder {
	return &Builder{nodes: []node{{name: "atmosphere", fixed: true}}}
}

// Volume adds a node of fixed volume v (m3).
func (b *Builder) Volume(name string, v float64) Node {
	b.nodes = append(b.nodes, node{name: name, v: v})
	return Node(len(b.nodes) - 1)
}

// Cylinder adds a node whose volume grows with pressure.
func (b *Builder) Cylinder(name string, v VariableVolume) Node {
	b.nodes = append(b.nodes, node{name: name, v: v.V0, cyl: &v})
	return Node(len(b.nodes) - 1)
}

// Source adds a node held at absolute pressure p (Pa).
func (b *Builder) Source(name string, p float64) Node {
	b.nodes = append(b.nodes, node{name: name, fixed: true, p0: p})
	return Node(len(b.nodes) - 1)
}

// Slot adds a position with its first value.
func (b *Builder) Slot(v float64) Slot {
	b.slots++
	b.slotInit = append(b.slotInit, v)
	return Slot(b.slots - 1)
}

// Guard adds an alternative under which an edge is open: by the slot (or fully, with
// slot -1) while all conditions hold. An edge without one is always open.
func (b *Builder) Guard(e Edge, s Slot, conds ...Cond) {
	b.edges[e].alts = append(b.edges[e].alts, alt{s, conds})
}

func (b *Builder) edge(e edge) Edge {
	b.edges = append(b.edges, e)
	return Edge(len(b.edges) - 1)
}

// EdgeCount is how many ways for air have been added so far.
func (b *Builder) EdgeCount() int { return len(b.edges) }

// Passage joins two nodes by an opening.
func (b *Builder) Passage(name string, from, to Node, o Orifice) Edge {
	return b.edge(edge{name: name, kind: orificeEdge, from: from, to: to, o: o})
}

// Check joins two nodes by a one-way opening that needs crack pascals to open.
func (b *Builder) Check(name string, from, to Node, o Orifice, crack float64) Edge {
	return b.edge(edge{name: name, kind: checkEdge, from: from, to: to, o: o, crack: crack})
}

// PipeVolume adds a node that is a length (m) of pipe of a bore (m) with walls of a
// roughness (m): its air warms and cools at the wall ([Conditions.Air]).
func (b *Builder) PipeVolume(name string, bore, length, roughness float64) Node {
	n := b.Volume(name, quarterPi*bore*bore*length)
	nd := &b.nodes[n]
	nd.bore, nd.skin, nd.wall = bore, 4*quarterPi*bore*length, wallOf(roughness/bore)
	return n
}

const quarterPi = 0.7853981633974483

// Pipe joins two nodes by a length (m) of pipe of a bore (m) with inertia, wall friction by
// Reynolds number for a roughness (m; negative: no friction), and loss coefficient k for
// its cocks and bends. What the nodes hold is theirs: the pipe has no volume of its own.
func (b *Builder) Pipe(name string, from, to Node, bore, length, roughness, k float64) Edge {
	e := edge{name: name, kind: pipeEdge, from: from, to: to, bore: bore,
		area: quarterPi * bore * bore, length: length, loss: k}
	if roughness >= 0 {
		e.wall = wallOf(roughness / bore)
	}
	return b.edge(e)
}

// RegulatorSpec describes a self-lapping pair of ports: a supply port that opens while
// the output is below the target, and an exhaust port while it is above.
type RegulatorSpec struct {
	Name           string
	Supply, Output Node
	Exhaust        Node
	Slot           Slot    // gauge set pressure, -1 none
	Control        Node    // control pressure, -1 none
	Ratio, Offset  float64 // output for control; Pa added
	Limit          float64 // highest gauge output, 0 none
	SupplyO, ExhO  Orifice // ExhO.C 0: does not exhaust
	Band, DeadBand float64 // Pa over which a port opens wholly; Pa about the target in which neither opens
}

// Regulator adds a regulator or relay and returns its supply and exhaust edges; exhaust
// is -1 where the valve does not exhaust.
func (b *Builder) Regulator(s RegulatorSpec) (supply, exhaust Edge) {
	b.targets = append(b.targets, target{slot: s.Slot, control: s.Control, ratio: s.Ratio, offset: s.Offset, limit: s.Limit})
	t := int32(len(b.targets) - 1)
	supply = b.edge(edge{name: s.Name + " supply", kind: supplyEdge, from: s.Supply, to: s.Output, o: s.SupplyO, target: t, dead: s.DeadBand, bnd: s.Band})
	exhaust = -1
	if s.ExhO.C > 0 {
		exhaust = b.edge(edge{name: s.Name + " exhaust", kind: exhaustEdge, from: s.Output, to: s.Exhaust, o: s.ExhO, target: t, dead: s.DeadBand, bnd: s.Band})
	}
	return supply, exhaust
}

// Pump adds a compressor that delivers free air (m3/s at ambient) under a governor.
func (b *Builder) Pump(name string, to Node, free float64, watches Node, cutIn, cutOut float64) (Switch, int) {
	sw := b.addSwitch(name, &thresholds{watches: watches, low: cutIn, high: cutOut, lowState: 1, highState: 0}, 0)
	b.pumps = append(b.pumps, pump{name: name, to: to, free: free, state: sw})
	return sw, len(b.pumps) - 1
}

// GuardPump adds an alternative under which a pump is driven.
func (b *Builder) GuardPump(i int, s Slot, conds ...Cond) {
	b.pumps[i].guards = append(b.pumps[i].guards, alt{s, conds})
}

func (b *Builder) addSwitch(name string, s switcher, initial uint8) Switch {
	b.switches = append(b.switches, s)
	b.names = append(b.names, name)
	b.initial = append(b.initial, initial)
	return Switch(len(b.switches) - 1)
}

// Network is a compiled network; it never changes and may be shared by many runs.
type Network struct {
	nodes     []node
	edges     []edge
	targets   []target
	switches  []switcher
	names     []string
	pumps     []pump
	initial   []uint8
	slotInit  []float64
	row       []int32 // node → row of the system; the row after the last for a fixed one
	n         int     // rows
	lu        symbolic
	ways      []way
	tubes     []tube
	cells     []cell
	nodeOf    []int32 // row → node
	memory    []int32 // switch → first of its floats
	floats    int
	remembers []bool // by switch
}

// way is an edge as a step sees it: what it needs, close together. What concerns a fixed
// node stands in the last row and place of the system, which is nobody's.
type way struct {
	kind           edgeKind
	outside        bool // meets a fixed node
	from, to       Node
	a, b           int32   // rows
	aa, ab, ba, bb int32   // places
	by             int32   // its target, its control, or which of the pipes it is
	k              float64 // kg/(s Pa) of what goes in when choked, at RefTemp
	crit, part     float64 // critical ratio, and 1/(1 − it)
	straight       float64 // kg/(s Pa) of the difference near equal pressures
	rushA, rushB   float64 // where an end is a length of pipe: M there is this · flow/p at RefTemp, Pa s/kg
	dead, band     float64 // Pa
}

// tube is a pipe as a step sees it.
type tube struct {
	area, length, loss, re float64 // loss: per m; re: Reynolds number of a kg/s
	bore                   float64
	wall                   *wall // nil: no friction
}

// cell is a node as a step sees it.
type cell struct {
	fixed     bool
	row, diag int32
	v, heed   float64
	press     float64 // Pa/(kg K) of what it holds
	cyl       *VariableVolume
	wall      *wall   // of a pipe
	skin, re  float64 // W/K for a Nusselt number of 1; Reynolds number of a kg/s
}

// Compile checks the network and prepares its solution. An error names a node without a
// volume, or an element that joins a node that is not there.
func (b *Builder) Compile() (*Network, error) {
	net := &Network{nodes: b.nodes, edges: b.edges, targets: b.targets, switches: b.switches, names: b.names,
		pumps: b.pumps, initial: b.initial, slotInit: b.slotInit}
	net.row = make([]int32, len(b.nodes))
	for i, n := range b.nodes {
		if n.fixed {
			continue
		}
		if !(n.v > 0) {
			return nil, fmt.Errorf("air: node %q has no volume", n.name)
		}
		net.row[i] = int32(net.n)
		net.nodeOf = append(net.nodeOf, int32(i))
		net.n++
	}
	for i, n := range b.nodes {
		if n.fixed {
			net.row[i] = int32(net.n)
		}
	}
	var pairs [][2]int32
	for _, e := range b.edges {
		if int(e.from) >= len(b.nodes) || int(e.to) >= len(b.nodes) || e.from < 0 || e.to < 0 {
			return nil, fmt.Errorf("air: %q joins a node that is not there", e.name)
		}
		if r, s := net.row[e.from], net.row[e.to]; !b.nodes[e.from].fixed && !b.nodes[e.to].fixed && r != s {
			pairs = append(pairs, [2]int32{r, s})
		}
	}
	net.lu = analyse(net.n, pairs)
	nobody := int32(net.lu.size)
	place := func(from, to Node) int32 {
		if b.nodes[from].fixed || b.nodes[to].fixed {
			return nobody
		}
		return net.lu.place(net.row[from], net.row[to])
	}
	net.cells = make([]cell, len(b.nodes))
	for i := range b.nodes {
		nd := &b.nodes[i]
		x := cell{fixed: nd.fixed, row: net.row[i], diag: place(Node(i), Node(i)), v: nd.v, heed: nd.heed(), press: GasConstant / nd.v, cyl: nd.cyl, wall: nd.wall}
		if nd.wall != nil {
			x.skin, x.re = heatOfAir/nd.bore*nd.skin, 1/(quarterPi*viscosity*nd.bore)
		}
		net.cells[i] = x
	}
	net.ways = make([]way, len(b.edges))
	for i := range b.edges {
		e := &b.edges[i]
		w := way{kind: e.kind, from: e.from, to: e.to, a: net.row[e.from], b: net.row[e.to],
			aa: place(e.from, e.from), ab: place(e.from, e.to), ba: place(e.to, e.from), bb: place(e.to, e.to),
			outside: b.nodes[e.from].fixed || b.nodes[e.to].fixed, dead: e.dead, band: e.bnd}
		switch e.kind {
		case checkEdge:
			w.dead = e.crack
		case supplyEdge, exhaustEdge:
			w.by = e.target
		case graduatingEdge:
			w.by = int32(e.control)
		case pipeEdge:
			w.by = int32(len(net.tubes))
			net.tubes = append(net.tubes, tube{area: e.area, length: e.length, loss: e.loss / e.length, re: 1 / (quarterPi * viscosity * e.bore), bore: e.bore, wall: e.wall})
		}
		if e.kind != pipeEdge {
			w.crit, w.part = e.o.B, 1/(1-e.o.B)
			w.k = e.o.flow(1e5, 0, RefTemp) / 1e5
			w.straight = e.o.flow(1e5, laminar*1e5, RefTemp) / (1e5 - laminar*1e5)
		}
		if e.kind == orificeEdge {
			w.rushA, w.rushB = b.nodes[e.from].rush(), b.nodes[e.to].rush()
		}
		net.ways[i] = w
	}
	net.memory = make([]int32, len(b.switches))
	for i, s := range b.switches {
		net.memory[i] = int32(net.floats)
		net.floats += s.memory()
		net.remembers = append(net.remembers, s.memory() > 0)
	}
	return net, nil
}

// heed is how much of the turn of a node's pressure counts: half of it is how far the end
// of the step is off. A small volume soon forgets an error and passes little of it on, so
// less counts there, by the root of its size below 10 L, down to an eighth. Along a wide
// pipe errors run as waves and add up, and a piston that goes in or out bends the pressure
// of its cylinder: more counts. (calibrated: the cases of air/reference within their bars,
// every reading of the standing test within 1 kPa of steps a hundred times finer, and the
// usual steps within 0.5 kPa of an independent solution)
func (n *node) heed() float64 {
	switch {
	case n.bore > 0.02:
		return 0.8
	case n.cyl != nil:
		return 1
	}
	return 0.5 * max(0.125, min(1, math.Sqrt(n.v/10e-3)))
}

// rush is the Mach number in a length of pipe for a flow over its pressure of 1 kg/(s Pa), at
// RefTemp: √(RT/γ)/A. 0 for what is no pipe.
func (n *node) rush() float64 {
	if n.bore == 0 {
		return 0
	}
	return math.Sqrt(GasConstant*RefTemp/Gamma) / (quarterPi * n.bore * n.bore)
}

// Nodes is how many nodes the network has, the atmosphere among them.
func (n *Network) Nodes() int { return len(n.nodes) }

// Ends are the two nodes of an edge.
func (n *Network) Ends(e Edge) (from, to Node) { return n.edges[e].from, n.edges[e].to }
