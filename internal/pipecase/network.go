package main

import (
	"errors"
	"fmt"
	"math"

	"headstock/air"
	"headstock/air/reference"
)

// How often a network is looked at, s: its own steps may be shorter.
const (
	glance = 0.05
	stare  = 0.005 // while an opening moves, or a trigger may be passed
)

// choked is the flow of a choked nozzle as a share of Cd A p/√(RT).
const choked = 0.684731

// end is one row of the programme of a pipe end in the network.
type end struct {
	row  reference.Row
	edge air.Edge
	slot air.Slot
	full float64 // effective area when the slot stands at 1, m2
}

// trigger is a vent that opens by itself.
type trigger struct {
	vehicle int
	node    air.Node
	slot    air.Slot
	before  float64 // pressure when last looked at, and when
	when    float64
	opened  float64
}

// network runs the pipe of a case on the network of package air: a node at every cell's edge,
// a pipe between neighbours, all openings isentropic nozzles as the cases want them.
type network struct {
	spec     reference.Spec
	run      *air.Run
	nodes    []air.Node // along the pipe
	head     []end
	tail     []end
	tanks    []air.Node
	triggers []trigger
}

func effective(bore, cd float64) float64 { return cd * math.Pi / 4 * bore * bore }

// newNetwork builds it with cells pieces of pipe to a vehicle, an even number so that a node stands at its middle.
func newNetwork(s reference.Spec, cells int) (*network, error) {
	if cells < 2 || cells%2 != 0 {
		return nil, fmt.Errorf("%d cells to a vehicle, expected an even number from 2", cells)
	}
	for _, rows := range [][]reference.Row{s.Head, s.Tail} {
		for _, r := range rows {
			if r.Mode == "pressure" {
				return nil, errors.New("the network has no end that is led to a pressure")
			}
		}
	}
	if s.Friction == "constant" {
		return nil, errors.New("the network has no friction factor that is the same at every Reynolds number")
	}
	roughness := s.Roughness
	if s.Friction == "none" {
		roughness = -1
	}
	b := air.NewBuilder()
	w := &network{spec: s}
	n := cells * s.Vehicles
	dx := s.VehiclePipe / float64(cells)
	var filled []air.Node
	var starts []float64
	fill := func(node air.Node, p float64) air.Node {
		filled, starts = append(filled, node), append(starts, p)
		return node
	}
	pipe := func(name string, length float64) air.Node {
		return fill(b.PipeVolume(name, s.Bore, length, max(0, s.Roughness)), s.Start)
	}
	behind := -1 // the restriction stands behind this node
	if s.Restriction != nil {
		behind = (s.Restriction.After + 1) * cells
	}
	from := air.Node(-1)
	for i := range n + 1 {
		length := dx
		if i == 0 || i == n || i == behind {
			length = dx / 2
		}
		node := pipe(fmt.Sprintf("pipe %d", i), length)
		w.nodes = append(w.nodes, node)
		if i > 0 {
			b.Pipe(fmt.Sprintf("piece %d", i), from, node, s.Bore, dx, roughness, s.K/float64(cells))
		}
		from = node
		if i == behind {
			from = pipe("behind the restriction", dx/2)
			b.Passage("restriction", node, from, air.Nozzle(s.Restriction.Cd, math.Pi/4*s.Restriction.Diameter*s.Restriction.Diameter))
		}
	}
	at := func(node air.Node, rows []reference.Row) (out []end) {
		for i, r := range rows {
			e := end{row: r, full: max(effective(r.Diameter, r.Cd), effective(r.DiameterStart, r.Cd))}
			if r.Mode == "closed" {
				e.full = 0
			}
			if e.full > 0 {
				outer := air.Atmosphere
				if r.Mode == "feed" {
					outer = b.Source(fmt.Sprintf("feed %d", i), r.Pressure)
				}
				e.slot = b.Slot(0)
				o := air.Orifice{C: e.full, B: -1}
				if r.CriticalRatio > 0 {
					o = air.Orifice{C: e.full * choked / (air.RefDensity * math.Sqrt(air.GasConstant*air.RefTemp)), B: r.CriticalRatio}
				}
				e.edge = b.Passage(fmt.Sprintf("end %d", i), outer, node, o)
				b.Guard(e.edge, e.slot)
			}
			out = append(out, e)
		}
		return out
	}
	w.head, w.tail = at(w.nodes[0], s.Head), at(w.nodes[n], s.Tail)
	every := func(list []int, f func(vehicle int, node air.Node)) {
		if len(list) == 0 {
			for v := range s.Vehicles {
				f(v, w.nodes[v*cells+cells/2])
			}
		}
		for _, v := range list {
			f(v, w.nodes[v*cells+cells/2])
		}
	}
	if br := s.Branch; br != nil {
		o := air.Nozzle(br.Cd, math.Pi/4*br.Choke*br.Choke)
		every(br.Vehicles, func(v int, node air.Node) {
			t := fill(b.Volume(fmt.Sprintf("reservoir %d", v), br.Volume), br.Start)
			w.tanks = append(w.tanks, t)
			if br.Check {
				b.Check(fmt.Sprintf("choke %d", v), node, t, o, 0)
			} else {
				b.Passage(fmt.Sprintf("choke %d", v), node, t, o)
			}
		})
	}
	if l := s.Leak; l != nil {
		every(l.Vehicles, func(v int, node air.Node) {
			b.Passage(fmt.Sprintf("leak %d", v), node, air.Atmosphere, air.Nozzle(l.Cd, math.Pi/4*l.Diameter*l.Diameter))
		})
	}
	if x := s.Vent; x != nil {
		every(x.Vehicles, func(v int, node air.Node) {
			slot := b.Slot(0)
			e := b.Passage(fmt.Sprintf("vent %d", v), node, air.Atmosphere, air.Nozzle(x.Cd, math.Pi/4*x.Diameter*x.Diameter))
			b.Guard(e, slot)
			w.triggers = append(w.triggers, trigger{vehicle: v, node: node, slot: slot, before: s.Start, opened: math.Inf(1)})
		})
	}
	net, err := b.Compile()
	if err != nil {
		return nil, err
	}
	c := air.Usual()
	if s.Model == "euler" {
		c.Air = air.PipeTemperatures
	}
	w.run = net.NewRun(c)
	for i, node := range filled {
		w.run.Fill(node, starts[i])
	}
	return w, nil
}

// share is how far the opening of a row stands open at t, of its widest; next is when the
// row after it begins.
func (e *end) share(t, next float64) float64 {
	if e.full == 0 || t < e.row.T || t >= next {
		return 0
	}
	k := 1.0
	if e.row.Ramp > 0 {
		k = min(1, (t-e.row.T)/e.row.Ramp)
	}
	a0, a1 := effective(e.row.DiameterStart, e.row.Cd), effective(e.row.Diameter, e.row.Cd)
	return (a0 + (a1-a0)*k) / e.full
}

// Step sets the openings as they stand in the middle of what follows, and runs on.
func (w *network) Step(limit float64) error {
	t := w.run.Time()
	h := glance
	for _, rows := range [][]end{w.head, w.tail} {
		for _, e := range rows {
			if t >= e.row.T && t < e.row.T+e.row.Ramp {
				h = stare
			}
		}
	}
	if len(w.triggers) > 0 {
		h = stare
	}
	h = min(h, limit)
	for _, rows := range [][]end{w.head, w.tail} {
		for i := range rows {
			next := math.Inf(1)
			if i+1 < len(rows) {
				next = rows[i+1].row.T
			}
			if rows[i].full > 0 {
				w.run.Set(rows[i].slot, rows[i].share(t+h/2, next))
			}
		}
	}
	for i := range w.triggers {
		x := &w.triggers[i]
		if mid := t + h/2; mid > x.opened {
			k := 1.0
			if w.spec.Vent.Ramp > 0 {
				k = min(1, (mid-x.opened)/w.spec.Vent.Ramp)
			}
			w.run.Set(x.slot, k)
		}
	}
	if err := w.run.Advance(t + h); err != nil {
		return err
	}
	for i := range w.triggers {
		x := &w.triggers[i]
		p, now := w.run.Pressure(x.node), w.run.Time()
		if math.IsInf(x.opened, 1) && p < w.spec.Vent.Trigger {
			x.opened = x.when + (now-x.when)*max(0, (x.before-w.spec.Vent.Trigger)/(x.before-p))
		}
		x.before, x.when = p, now
	}
	return nil
}

func (w *network) Time() float64 { return w.run.Time() }

func (w *network) Pressures() (head, mid, tail float64) {
	n := len(w.nodes) - 1
	return w.run.Pressure(w.nodes[0]), w.run.Pressure(w.nodes[n/2]), w.run.Pressure(w.nodes[n])
}

func (w *network) HeadFlow() float64 {
	m := 0.0
	for _, e := range w.head {
		if e.full > 0 {
			m += w.run.Flow(e.edge)
		}
	}
	return m
}

func (w *network) Tank(i int) float64 { return w.run.Pressure(w.tanks[i]) }

func (w *network) Opened(vehicle int) (float64, bool) {
	for _, x := range w.triggers {
		if x.vehicle == vehicle {
			return x.opened, !math.IsInf(x.opened, 1)
		}
	}
	return 0, false
}
