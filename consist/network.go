package consist

import (
	"fmt"
	"slices"

	"headstock/air"
	"headstock/fleet"
	"headstock/rigging"
)

// Plant is the air network of a consist, with the names by which its parts are found.
// One plant serves every set of positions of the same units in the same order.
type Plant struct {
	Net       *air.Network
	nodes     []map[string]air.Node
	edges     []map[string][]air.Edge // element → ways whose flow belongs to it, exhausts first
	switches  []map[string]air.Switch
	Cylinders []map[string]rigging.Cylinder
	bindings  []binding
	hoses     []hose
	guards    map[air.Edge][]air.Slot // of the ways for air that positions open
	needed    []air.Slot              // slots that do more than open ways for air
	sources   []air.Node              // where compressors deliver
	edgeCount int
}

// Node finds the node of an element of a vehicle.
func (p *Plant) Node(vehicle int, element string) (air.Node, bool) {
	n, ok := p.nodes[vehicle][element]
	return n, ok
}

// Edges are the ways for air that belong to an element of a vehicle.
func (p *Plant) Edges(vehicle int, element string) []air.Edge { return p.edges[vehicle][element] }

// Switch finds the discrete state of an element of a vehicle.
func (p *Plant) Switch(vehicle int, element string) (air.Switch, bool) {
	s, ok := p.switches[vehicle][element]
	return s, ok
}

// binding ties a slot to positions of devices of one vehicle.
type binding struct {
	slot       air.Slot
	vehicle    int
	terms      []fleet.Term // all must hold: the slot is 1, or the part a position stands open
	negate     bool         // terms from negateFrom on must not hold
	negateFrom int
	sum        []string // the slot is the sum of what these devices' positions set
}

// hose ties the slots of one hose to its own position and its mates'.
type hose struct {
	vehicle     int
	device      string
	blocked     bool
	open, dummy air.Slot
	mates       []mate
}

type mate struct {
	vehicle int
	device  string
	slot    air.Slot
	crossed bool
	mine    bool // this side sets the slot
}

type builder struct {
	c     *Consist
	b     *air.Builder
	p     *Plant
	outer []map[string][2]air.Node // pipe → its parts next to end 1 and end 2
}

// Network builds the plant of a consist.
func (c *Consist) Network() (*Plant, error) {
	n := len(c.Vehicles)
	p := &Plant{nodes: make([]map[string]air.Node, n), edges: make([]map[string][]air.Edge, n), switches: make([]map[string]air.Switch, n), Cylinders: make([]map[string]rigging.Cylinder, n), guards: map[air.Edge][]air.Slot{}}
	w := &builder{c, air.NewBuilder(), p, make([]map[string][2]air.Node, n)}
	hoseNode := make([]map[string]air.Node, n) // by hose device
	for i, v := range c.Vehicles {
		p.nodes[i], p.edges[i], p.switches[i], p.Cylinders[i] = map[string]air.Node{"atmosphere": air.Atmosphere}, map[string][]air.Edge{}, map[string]air.Switch{}, map[string]rigging.Cylinder{}
		hoseNode[i], w.outer[i] = map[string]air.Node{}, map[string][2]air.Node{}
		els := elements(v)
		for _, e := range els {
			if err := w.node(i, v, e); err != nil {
				return nil, err
			}
		}
		// elements with states before anything that is guarded by them
		for _, pass := range []bool{true, false} {
			for _, e := range els {
				k, _ := fleet.Kind(e.Kind)
				if k.Node || (len(k.States) > 0) != pass {
					continue
				}
				if err := w.element(i, v, e); err != nil {
					return nil, fmt.Errorf("%s: %s %q: %w", e.Pos, e.Kind, e.ID, err)
				}
			}
		}
		for _, e := range els {
			if err := w.guards(i, v, e); err != nil {
				return nil, fmt.Errorf("%s: %s %q: %w", e.Pos, e.Kind, e.ID, err)
			}
		}
		w.ends(i, v, hoseNode[i])
	}
	w.joints(hoseNode)
	if err := w.failures(); err != nil {
		return nil, err
	}
	p.edgeCount = w.b.EdgeCount()
	net, err := w.b.Compile()
	if err != nil {
		return nil, err
	}
	p.Net = net
	return p, nil
}

func elements(v *Vehicle) []*fleet.Element {
	var out []*fleet.Element
	for _, e := range v.Class.Air {
		if slices.Contains(v.Unit.Without, e.ID) || e.OnlyWith != "" && !v.Unit.Has(v.Class, e.OnlyWith) || e.OnlyWithout != "" && v.Unit.Has(v.Class, e.OnlyWithout) {
			continue
		}
		out = append(out, e)
	}
	return out
}

// args reads an element's arguments with the unit's measured values laid over them, and
// over those what the consist is asked about.
type args struct {
	v *Vehicle
	e *fleet.Element
}

func (a args) find(name string) *fleet.Arg {
	for i := range a.e.Args {
		if a.e.Args[i].Name == name {
			return &a.e.Args[i]
		}
	}
	return nil
}

func (a args) fig(name string, absent float64) float64 {
	if x, ok := a.v.over[named{a.e.ID, name}]; ok {
		return x
	}
	for _, m := range a.v.Unit.Measured {
		if m.Element == a.e.ID && m.Argument == name {
			return m.Figure.SI
		}
	}
	if x := a.find(name); x != nil && x.Figure != nil {
		return x.Figure.SI
	}
	return absent
}

func (a args) text(name string) string {
	if x := a.find(name); x != nil {
		return x.Text
	}
	return ""
}

func (w *builder) nodeOf(i int, a args, name string, absent air.Node) (air.Node, error) {
	t := a.text(name)
	if t == "" {
		return absent, nil
	}
	n, ok := w.p.nodes[i][t]
	if !ok {
		return 0, fmt.Errorf("no node %q on %s", t, a.v.Name())
	}
	return n, nil
}

// drilled is the discharge coefficient of drilled chokes and ports (air.md 1.2, short
// cylindrical mouthpieces 0.81–0.84 by Weisbach; 0.8 taken).
const drilled = 0.8

func hole(bore float64) air.Orifice {
	if bore <= 0 {
		return air.Orifice{}
	}
	return air.Hole(bore, drilled)
}

// port is a valve port; critical ratio 0.4.
func port(bore float64) air.Orifice {
	o := hole(bore)
	o.B = 0.4
	return o
}

func (w *builder) node(i int, v *Vehicle, e *fleet.Element) error {
	a := args{v, e}
	name := v.Name() + " " + e.ID
	switch e.Kind {
	case "volume":
		w.p.nodes[i][e.ID] = w.b.Volume(name, a.fig("volume", 0))
	case "pipe":
		bore, length := a.fig("bore", 0), a.fig("length", 0)
		rough := a.fig("roughness", roughness(bore))
		part := length / float64(cells(e.ID))
		n := w.b.PipeVolume(name, bore, part, rough)
		w.p.nodes[i][e.ID] = n
		at := [2]air.Node{n, n}
		for k := range cells(e.ID) / 2 {
			for side := range at {
				next := w.b.PipeVolume(fmt.Sprintf("%s part %d of end %d", name, k+1, side+1), bore, part, rough)
				w.b.Pipe(name, at[side], next, bore, part, rough, 0)
				at[side] = next
			}
		}
		w.outer[i][e.ID] = at
	case "cylinder":
		c := rigging.Cylinder{Bore: a.fig("bore", 0), Travel: a.fig("travel", 0), Clearance: a.fig("clearance", 0), Count: int(a.fig("count", 1)),
			StartsAt: a.fig("starts at", 15e3), ContactAt: a.fig("contact at", 45e3), ReleasedStandOut: a.fig("released stand-out", 0)}
		w.p.Cylinders[i][e.ID] = c
		w.p.nodes[i][e.ID] = w.b.Cylinder(name, c.Volume())
	}
	return nil
}

func (w *builder) element(i int, v *Vehicle, e *fleet.Element) (err error) {
	a := args{v, e}
	name := v.Name() + " " + e.ID
	get := func(arg string, absent air.Node) air.Node {
		n, er := w.nodeOf(i, a, arg, absent)
		if er != nil && err == nil {
			err = er
		}
		return n
	}
	own := func(es ...air.Edge) {
		for _, x := range es {
			if x >= 0 {
				w.p.edges[i][e.ID] = append(w.p.edges[i][e.ID], x)
			}
		}
	}
	switch e.Kind {
	case "passage":
		from, to := get("from", 0), get("to", 0)
		own(w.b.Passage(name, from, to, hole(a.fig("bore", 0))))
		if side := a.text("vents"); side != "" {
			n := to
			if side == "from" {
				n = from
			}
			vent := w.b.Passage(name+" vent", n, air.Atmosphere, hole(a.fig("vent bore", 3e-3)))
			w.p.edges[i][e.ID+" vent"] = []air.Edge{vent}
		}
	case "check":
		own(w.b.Check(name, get("from", 0), get("to", 0), hole(a.fig("bore", 0)), a.fig("cracks at", 2e3)))
	case "double-check":
		one, other := "a", "b"
		if w.c.failed(i, e.ID, swapped) {
			one, other = other, one
		}
		w.p.switches[i][e.ID] = w.b.DoubleCheck(name, get(one, 0), get(other, 0), get("output", 0), port(a.fig("bore", 0)), a.fig("hysteresis", 5e3))
	case "regulator":
		slot := air.Slot(-1)
		if list := a.find("set by"); list != nil {
			slot = w.b.Slot(0)
			w.p.bindings = append(w.p.bindings, binding{slot: slot, vehicle: i, sum: list.List})
		} else {
			slot = w.b.Slot(a.fig("set", 0))
		}
		s, x := w.b.Regulator(air.RegulatorSpec{Name: name, Supply: get("supply", 0), Output: get("output", 0), Exhaust: get("exhaust", air.Atmosphere), Slot: slot, Control: -1,
			SupplyO: port(a.fig("supply bore", 0)), ExhO: port(a.fig("exhaust bore", 0)), Band: a.fig("band", 6e3), DeadBand: a.fig("dead band", 0)})
		own(x, s)
	case "relay":
		bore := a.fig("bore", 0)
		s, x := w.b.Regulator(air.RegulatorSpec{Name: name, Supply: get("supply", 0), Output: get("output", 0), Exhaust: get("exhaust", air.Atmosphere), Slot: -1, Control: get("control", 0),
			Ratio: a.fig("ratio", 1), Offset: a.fig("offset", 0), Limit: a.fig("limit", 0), SupplyO: port(bore), ExhO: port(a.fig("exhaust bore", bore)), Band: a.fig("band", 6e3), DeadBand: a.fig("dead band", 2e3)})
		own(x, s)
	case "pilot":
		n := get("watches", 0)
		if a.find("trips above") != nil {
			up := a.fig("trips above", 0)
			w.p.switches[i][e.ID] = w.b.PilotAbove(name, n, up, a.fig("resets below", up))
		} else {
			dn := a.fig("trips below", 0)
			w.p.switches[i][e.ID] = w.b.PilotBelow(name, n, dn, a.fig("resets above", dn))
		}
	case "release-valve":
		w.p.switches[i][e.ID] = w.b.ReleaseValve(name, air.ReleaseSpec{BrakePipe: get("brake pipe", 0), Pilot: get("pilot", 0), Second: get("second pilot", -1),
			OpensAbove: a.fig("opens above", 0), FurtherFall: a.fig("shuts on further fall", 0), FollowsAt: a.fig("follows below", 0)})
	case "vent-valve":
		sw, ed := w.b.VentValve(name, get("pipe", 0), air.Orifice{C: hole(a.fig("bore", 0)).C, B: 0.5}, a.fig("follows at", 90e3), a.fig("trips at", 30e3), a.fig("shuts at", 30e3))
		w.p.switches[i][e.ID] = sw
		own(ed)
	case "latch":
		w.p.switches[i][e.ID] = w.b.Latch(name)
	case "direct-distributor":
		spec := air.DirectSpec{Name: name, Pipe: get("pipe", 0), Auxiliary: get("auxiliary", 0), Cylinder: get("cylinder", 0), Exhaust: get("exhaust", air.Atmosphere), EmergencyReservoir: get("emergency reservoir", -1),
			Charge: hole(a.fig("charge bore", 0)), Fill: hole(a.fig("fill bore", 0)), Discharge: hole(a.fig("release bore", 0)), EmergencyCharge: hole(a.fig("emergency charge bore", 0)), EmergencyFill: hole(a.fig("emergency fill bore", 0)),
			Bulb: a.fig("bulb", 0), BulbO: hole(a.fig("bulb bore", 3e-3)), Vent: -1, Applies: a.fig("applies at", 8e3), Laps: a.fig("laps at", 1e3), Wide: 5e3, ReleaseDiff: a.fig("releases at", 10e3),
			Retarded: hole(a.fig("retarded release bore", 0)), Retards: a.fig("retards at", 20.7e3)} // 3 psi, TM 55-203
		if id := a.text("emergency"); id != "" && !w.c.failed(i, e.ID, unworked) {
			sw, ok := w.p.switches[i][id]
			if !ok {
				return fmt.Errorf("emergency names %q, which must be a vent-valve written before it", id)
			}
			spec.Vent = sw
		}
		first := w.b.EdgeCount()
		w.p.switches[i][e.ID] = w.b.DirectDistributor(spec)
		own(air.Edge(first + 2)) // charge, fill, then the exhaust
		if spec.Retarded.C > 0 {
			own(air.Edge(first + 3))
		}
	case "graduated-distributor":
		first := w.b.EdgeCount()
		w.p.switches[i][e.ID] = w.b.GraduatedDistributor(air.GraduatedSpec{Name: name, Pipe: get("pipe", 0), Auxiliary: get("auxiliary", 0), Control: get("control reservoir", 0), Cylinder: get("cylinder", 0), Exhaust: get("exhaust", air.Atmosphere),
			Charge: hole(a.fig("charge bore", 0)), ControlCharge: hole(a.fig("control charge bore", 0)), Fill: hole(a.fig("fill bore", 0)), InShot: hole(a.fig("in-shot bore", 5e-3)), Discharge: hole(a.fig("release bore", 0)),
			Gain: a.fig("gain", 2.714), Highest: a.fig("highest", 380e3), Offset: a.fig("offset", 5e3), Applies: a.fig("applies at", 7e3), Reopens: 3e3, InShotTo: a.fig("in-shot to", 60e3), Bulb: a.fig("bulb", 0), BulbO: hole(a.fig("bulb bore", 3e-3))})
		own(air.Edge(first + 3)) // charge, control charge, fill, then the exhaust
	case "compressor":
		sw, k := w.b.Pump(name, get("output", 0), a.fig("delivers", 0), get("governor watches", 0), a.fig("cuts in at", 0), a.fig("cuts out at", 0))
		w.p.switches[i][e.ID] = sw
		w.p.sources = append(w.p.sources, get("output", 0))
		alts, er := w.when(i, v, a.find("when"), nil)
		if er != nil {
			return er
		}
		for _, al := range alts {
			w.b.GuardPump(k, al.slot, al.conds...)
			w.p.needed = append(w.p.needed, al.slot)
		}
	case "safety-valve":
		sw, ed := w.b.SafetyValve(name, get("on", 0), a.fig("lifts at", 0), a.fig("reseats at", 0), hole(a.fig("bore", 0)))
		w.p.switches[i][e.ID] = sw
		own(ed)
	case "retainer":
		n := get("from", 0)
		own(w.b.Check(name, n, air.Atmosphere, hole(a.fig("bore", 0)), a.fig("holds", 0)))
		if a.find("when") != nil {
			free := w.b.Passage(name+" free", n, air.Atmosphere, hole(a.fig("bore", 0)*3))
			w.p.edges[i][e.ID+" free"] = []air.Edge{free}
		}
	case "leak":
		own(w.b.Passage(name, get("from", 0), air.Atmosphere, hole(a.fig("bore", 0))))
	default:
		return fmt.Errorf("no air element of kind %q", e.Kind)
	}
	return err
}

// guards ties the ways of an element to its conditions, once every switch is there.
func (w *builder) guards(i int, v *Vehicle, e *fleet.Element) error {
	a := args{v, e}
	on, off := a.find("when"), a.find("unless")
	put := func(edges []air.Edge, on, off *fleet.Arg) error {
		alts, err := w.when(i, v, on, off)
		if err != nil {
			return err
		}
		for _, ed := range edges {
			for _, al := range alts {
				w.guard(ed, al.slot, al.conds...)
			}
		}
		return nil
	}
	switch e.Kind {
	case "passage":
		if err := put(w.p.edges[i][e.ID], on, off); err != nil {
			return err
		}
		if vent := w.p.edges[i][e.ID+" vent"]; vent != nil {
			return put(vent, off, on)
		}
	case "check", "regulator", "leak":
		return put(w.p.edges[i][e.ID], on, off)
	case "relay": // supply only: the last of its edges
		es := w.p.edges[i][e.ID]
		return put(es[len(es)-1:], on, off)
	case "retainer":
		if free := w.p.edges[i][e.ID+" free"]; free != nil {
			return put(free, nil, on)
		}
	case "release-valve":
		if w.c.failed(i, e.ID, setting) {
			w.b.GuardRelease(w.p.switches[i][e.ID], false, -1)
		}
		for _, second := range []bool{false, true} {
			arg := on
			if second {
				arg = a.find("second when")
			}
			alts, err := w.when(i, v, arg, nil)
			if err != nil {
				return err
			}
			for _, al := range alts {
				w.b.GuardRelease(w.p.switches[i][e.ID], second, al.slot, al.conds...)
				w.p.needed = append(w.p.needed, al.slot)
			}
		}
	case "latch":
		unworked := w.c.failed(i, e.ID, unworked)
		if unworked && w.c.failed(i, e.ID, setting) {
			w.b.SetsLatch(w.p.switches[i][e.ID], -1)
		}
		for _, clears := range []bool{false, true} {
			arg := a.find("sets when")
			if clears {
				arg = a.find("clears when")
			}
			alts, err := w.when(i, v, arg, nil)
			if err != nil {
				return err
			}
			for _, al := range alts {
				w.p.needed = append(w.p.needed, al.slot)
				switch {
				case unworked:
				case clears:
					w.b.ClearsLatch(w.p.switches[i][e.ID], al.slot, al.conds...)
				default:
					w.b.SetsLatch(w.p.switches[i][e.ID], al.slot, al.conds...)
				}
			}
		}
	}
	return nil
}

// guard ties a way for air to a slot, and keeps which.
func (w *builder) guard(e air.Edge, s air.Slot, conds ...air.Cond) {
	w.b.Guard(e, s, conds...)
	w.p.guards[e] = append(w.p.guards[e], s)
}

type compiled struct {
	slot  air.Slot
	conds []air.Cond
}

// when turns `when … unless …` into alternatives: each a slot for the devices and
// conditions on switches. None of either: always.
func (w *builder) when(i int, v *Vehicle, on, off *fleet.Arg) ([]compiled, error) {
	if on == nil && off == nil {
		return nil, nil
	}
	type signed struct {
		fleet.Term
		not bool
	}
	alts := [][]signed{{}}
	if on != nil {
		alts = nil
		for _, al := range on.When {
			var s []signed
			for _, t := range al {
				s = append(s, signed{t, false})
			}
			alts = append(alts, s)
		}
	}
	if off != nil {
		for _, al := range off.When { // not (t1 and t2 …) = not t1, or not t2 …
			var next [][]signed
			for _, have := range alts {
				for _, t := range al {
					next = append(next, append(slices.Clone(have), signed{t, true}))
				}
			}
			alts = next
		}
	}
	var out []compiled
	for _, al := range alts {
		c := compiled{slot: -1}
		var pos []fleet.Term
		var neg []fleet.Term
		for _, t := range al {
			if sw, ok := w.p.switches[i][t.Of]; ok {
				mask, err := stateMask(v, t.Term)
				if err != nil {
					return nil, err
				}
				if t.not {
					mask = ^mask
				}
				c.conds = append(c.conds, air.Cond{Switch: sw, Mask: mask})
				continue
			}
			if _, ok := w.c.index[i][t.Of]; !ok {
				return nil, fmt.Errorf("condition names %q, which is neither a device nor an element with states", t.Of)
			}
			if t.not {
				neg = append(neg, t.Term)
			} else {
				pos = append(pos, t.Term)
			}
		}
		if len(pos)+len(neg) > 0 {
			c.slot = w.b.Slot(0)
			b := binding{slot: c.slot, vehicle: i, terms: pos}
			if len(neg) > 0 {
				b.terms = append(slices.Clone(pos), neg...)
				b.negateFrom = len(pos)
				b.negate = true
			}
			w.p.bindings = append(w.p.bindings, b)
		}
		out = append(out, c)
	}
	return out, nil
}

func stateMask(v *Vehicle, t fleet.Term) (uint32, error) {
	for _, e := range v.Class.Air {
		if e.ID != t.Of {
			continue
		}
		var mask uint32
		for _, s := range t.In {
			bit, ok := stateBit(e.Kind, s)
			if !ok {
				return 0, fmt.Errorf("%q has no state %q", t.Of, s)
			}
			mask |= 1 << bit
		}
		return mask, nil
	}
	return 0, fmt.Errorf("no element %q", t.Of)
}

// stateBit is how package air numbers the states that a record names.
func stateBit(kind, state string) (int, bool) {
	switch kind + " " + state {
	case "pilot tripped", "vent-valve tripped", "latch set", "release-valve open", "compressor pumping", "safety-valve lifted", "direct-distributor service", "graduated-distributor applied":
		return 1, true
	case "pilot normal", "vent-valve idle", "latch clear", "release-valve shut", "compressor idle", "safety-valve shut", "direct-distributor release", "graduated-distributor release":
		return 0, true
	case "direct-distributor lap":
		return int(air.Lap), true
	case "direct-distributor emergency":
		return int(air.Emergency), true
	}
	return 0, false
}

const (
	hoseLength = 0.7     // m (air.md 12, from memory)
	jointLoss  = 2.0     // loss coefficient of a coupled pair (air.md 12, from memory)
	cockLoss   = 0.3     // open end cock (air.md 2.3, from memory)
	steel      = 0.1e-3  // m, roughness of old steel pipe, 0.05 to 0.15 mm (air.md 2.3, from memory)
	drawn      = 0.01e-3 // m, of the drawn tube that narrow pipes are made of (from memory)
	dummyBore  = 2e-3    // what a dummy lets by: it keeps dirt out and is no seal (invented)
)

// Figures are those of every network that no record gives, for the sum of what a result
// rests on: the discharge and critical ratio of ports, hoses, cocks, walls, and into how
// many parts a pipe is cut. What an element takes where its record is silent is not among
// them; [fleet.Kinds] says it.
func Figures() []float64 {
	return []float64{drilled, port(1).B, hoseLength, jointLoss, cockLoss, steel, drawn, dummyBore, float64(cells("brake-pipe")), float64(cells(""))}
}

// roughness of the wall of a pipe whose record does not give it: from 20 mm bore steel pipe,
// below it drawn tube.
func roughness(bore float64) float64 {
	if bore < 20e-3 {
		return drawn
	}
	return steel
}

// cells is in how many equal parts a pipe is cut, an odd number so that one stands in the
// middle: the brake pipe carries waves through the whole train and needs parts of some
// 4 m; the others work within a few vehicles.
func cells(element string) int {
	if element == "brake-pipe" {
		return 3
	}
	return 1
}

func (w *builder) ends(i int, v *Vehicle, at map[string]air.Node) {
	for end := 1; end <= 2; end++ {
		for _, pe := range v.Class.Ends[end-1].Pipes {
			el := pe.Pipe
			if pe.Node != "" {
				el = pe.Node
			}
			inner, ok := w.p.nodes[i][el]
			if !ok {
				continue // an optional pipe this unit has not
			}
			if parts, ok := w.outer[i][el]; ok {
				inner = parts[end-1]
			}
			var bore, length, rough float64
			for _, e := range v.Class.Air {
				if e.ID == el {
					a := args{v, e}
					bore, length = a.fig("bore", 0), a.fig("length", 0)/float64(cells(el))
					rough = a.fig("roughness", roughness(bore))
				}
			}
			n := w.b.PipeVolume(v.Name()+" "+pe.Hose, bore, hoseLength, rough)
			at[pe.Hose] = n
			w.p.nodes[i][pe.Hose] = n
			e := w.b.Pipe(v.Name()+" "+pe.Cock, inner, n, bore, float64(length/2)+hoseLength/2, rough, cockLoss)
			w.p.edges[i][pe.Cock] = []air.Edge{e}
			slot := w.b.Slot(0)
			w.guard(e, slot)
			carried, _ := w.c.Carries(i, pe.Pipe, end)
			if carried {
				open := []string{"open"}
				if w.c.failed(i, pe.Hose, blocks) {
					open = nil // no position of the cock opens it
				}
				w.p.bindings = append(w.p.bindings, binding{slot: slot, vehicle: i, terms: []fleet.Term{{Of: pe.Cock, In: open}}})
			}
			h := hose{vehicle: i, device: pe.Hose, blocked: !carried, open: w.b.Slot(0), dummy: w.b.Slot(0)}
			out := w.b.Passage(v.Name()+" "+pe.Hose+" to air", n, air.Atmosphere, hole(bore*0.9))
			w.guard(out, h.open)
			leak := w.b.Passage(v.Name()+" "+pe.Hose+" dummy", n, air.Atmosphere, hole(dummyBore))
			w.guard(leak, h.dummy)
			w.p.edges[i][pe.Hose] = []air.Edge{out, leak}
			w.p.hoses = append(w.p.hoses, h)
		}
	}
}

func (w *builder) joints(at []map[string]air.Node) {
	find := func(i int, device string) *hose {
		for k := range w.p.hoses {
			if w.p.hoses[k].vehicle == i && w.p.hoses[k].device == device {
				return &w.p.hoses[k]
			}
		}
		return nil
	}
	for i := 0; i+1 < len(w.c.Vehicles); i++ {
		a, b := w.c.Vehicles[i], w.c.Vehicles[i+1]
		for _, pa := range a.Class.Ends[a.Rear()-1].Pipes {
			for _, pb := range b.Class.Ends[b.Front()-1].Pipes {
				na, ok1 := at[i][pa.Hose]
				nb, ok2 := at[i+1][pb.Hose]
				if pa.Head != pb.Head || !ok1 || !ok2 {
					continue
				}
				bore := min(boreOf(a, pa), boreOf(b, pb))
				e := w.b.Pipe(fmt.Sprintf("joint %s–%s %s", a.Name(), b.Name(), pa.Pipe), na, nb, bore, hoseLength, steel, jointLoss)
				slot := w.b.Slot(0)
				w.guard(e, slot)
				crossed := pa.Pipe != pb.Pipe
				ha, hb := find(i, pa.Hose), find(i+1, pb.Hose)
				ha.mates = append(ha.mates, mate{i + 1, pb.Hose, slot, crossed, true})
				hb.mates = append(hb.mates, mate{i, pa.Hose, slot, crossed, false})
			}
		}
	}
}

func boreOf(v *Vehicle, pe fleet.PipeEnd) float64 {
	el := pe.Pipe
	if pe.Node != "" {
		el = pe.Node
	}
	for _, e := range v.Class.Air {
		if e.ID == el {
			return args{v, e}.fig("bore", 0.01)
		}
	}
	return 0.01
}

// Apply sets every slot of a run from the positions of a consist of the plant's units.
func (p *Plant) Apply(r *air.Run, c *Consist) { p.settings(c, r.Set) }

// Settings is the value of every slot of the network for a consist of the plant's units:
// two sets of positions with equal settings are one network.
func (p *Plant) Settings(c *Consist) []float64 {
	var out []float64
	p.settings(c, func(_ air.Slot, v float64) { out = append(out, v) })
	return out
}

func (p *Plant) settings(c *Consist, set func(air.Slot, float64)) {
	for k := range p.bindings {
		b := &p.bindings[k]
		set(b.slot, b.value(c))
	}
	for k := range p.hoses {
		p.hose(&p.hoses[k], c, set)
	}
}

func (p *Plant) hose(h *hose, c *Consist, set func(air.Slot, float64)) {
	pos, _ := c.Position(h.vehicle, h.device)
	joined := false
	for _, m := range h.mates {
		other, _ := c.Position(m.vehicle, m.device)
		want := "coupled"
		if m.crossed {
			want = "crossed"
		}
		on := pos == want && other == want
		if on {
			joined = true
		}
		if m.mine {
			set(m.slot, bit(on))
		}
	}
	set(h.dummy, bit(pos == "on dummy"))
	set(h.open, bit(pos != "on dummy" && !joined))
}

func bit(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (b *binding) value(c *Consist) float64 {
	if b.sum != nil {
		total := 0.0
		for _, id := range b.sum {
			sign := 1.0
			if id[0] == '-' {
				sign, id = -1, id[1:]
			}
			total += float64(sign * c.Sets(b.vehicle, id))
		}
		return total
	}
	open := 1.0
	for k, t := range b.terms {
		pos, _ := c.Position(b.vehicle, t.Of)
		holds := slices.Contains(t.In, pos)
		if b.negate && k >= b.negateFrom {
			if holds {
				return 0
			}
			continue
		}
		if !holds {
			if part := c.part(b.vehicle, t.Of, pos); part > 0 && slices.Contains(t.In, "open") {
				open = min(open, part)
				continue
			}
			return 0
		}
	}
	return open
}

func (c *Consist) part(vehicle int, device, pos string) float64 {
	d := c.Vehicles[vehicle].Class.Devices[c.index[vehicle][device]]
	if p, ok := d.Position(pos); ok {
		return p.Part
	}
	return 0
}

// Sets is the quantity a device's position gives, Pa.
func (c *Consist) Sets(vehicle int, device string) float64 {
	pos, ok := c.Position(vehicle, device)
	if !ok {
		return 0
	}
	v := c.Vehicles[vehicle]
	d := v.Class.Devices[c.index[vehicle][device]]
	for _, o := range v.Unit.State {
		if o.Device == device && o.Property == "sets" && pos == d.Normal {
			if x, err := parsePressure(o.Value); err == nil {
				return x
			}
		}
	}
	if p, ok := d.Position(pos); ok {
		if p.Sets != nil {
			return p.Sets.SI
		}
		return 0
	}
	if x, ok := quantityIn(d, pos); ok {
		return x
	}
	return 0
}
