package consist

import (
	"encoding/binary"
	"math"
	"slices"

	"headstock/air"
)

// Two sets of positions are one network for a procedure when every slot has the same value
// at every moment of it. Which devices a procedure moves, and where to, does not hang on
// where they stood; so what counts of a slot is
//
//   - its value at the start,
//   - what the devices make of it that the procedure leaves alone,
//   - and, where those do not shut it for good, the devices that the procedure moves.
//
// A slot that opens nothing but ways between places to which no compressor's air can come,
// however the moved devices are put, does not count: there the pressure is the atmosphere's
// at every moment, and nothing flows. That is the only reduction; it says of no set of
// positions what it does.

// Reducer tells which sets of positions of a plant are one network. It is not safe for use
// side by side.
type Reducer struct {
	p      *Plant
	moved  [][]bool          // by vehicle, by device: a procedure moves it
	touch  [][][]int         // by vehicle, by device: the bindings and, behind them, the hoses that it has a part in
	kept   map[air.Slot]bool // slots that count wherever they are
	parent []int32
	may    map[air.Slot]bool // slots that may be open at some moment, as Counts last had it
}

// Atom is what one binding or hose comes to, as far as it counts.
type Atom struct {
	Index int
	Value string
}

// NewReducer prepares a plant of c's units for procedures that move no other devices than
// those that moved says.
func (p *Plant) NewReducer(c *Consist, moved func(vehicle int, device string) bool) *Reducer {
	r := &Reducer{p: p, moved: make([][]bool, len(c.Vehicles)), touch: make([][][]int, len(c.Vehicles)), kept: map[air.Slot]bool{}}
	for i, v := range c.Vehicles {
		r.moved[i], r.touch[i] = make([]bool, len(v.Class.Devices)), make([][]int, len(v.Class.Devices))
		for k, d := range v.Class.Devices {
			r.moved[i][k] = moved(i, d.ID)
		}
	}
	touch := func(vehicle int, device string, index int) {
		k, ok := c.index[vehicle][device]
		if ok && !slices.Contains(r.touch[vehicle][k], index) {
			r.touch[vehicle][k] = append(r.touch[vehicle][k], index)
		}
	}
	for _, s := range p.needed {
		r.kept[s] = true
	}
	for n := range p.bindings {
		b := &p.bindings[n]
		for _, t := range b.terms {
			touch(b.vehicle, t.Of, n)
			r.kept[b.slot] = r.kept[b.slot] || r.is(c, b.vehicle, t.Of)
		}
		for _, id := range b.sum {
			r.kept[b.slot] = true
			touch(b.vehicle, unsigned(id), n)
		}
	}
	for n := range p.hoses {
		h := &p.hoses[n]
		touch(h.vehicle, h.device, len(p.bindings)+n)
		for _, m := range h.mates {
			touch(m.vehicle, m.device, len(p.bindings)+n)
			r.kept[m.slot] = true
		}
		if r.is(c, h.vehicle, h.device) {
			r.kept[h.open], r.kept[h.dummy] = true, true
		}
	}
	return r
}

func unsigned(id string) string {
	if id != "" && id[0] == '-' {
		return id[1:]
	}
	return id
}

func (r *Reducer) is(c *Consist, vehicle int, device string) bool {
	k, ok := c.index[vehicle][device]
	return ok && r.moved[vehicle][k]
}

// Touches are the bindings and hoses in which a device has a part.
func (r *Reducer) Touches(c *Consist, vehicle int, device string) []int {
	if k, ok := c.index[vehicle][device]; ok {
		return r.touch[vehicle][k]
	}
	return nil
}

// Atom is what a binding or hose comes to with the positions of c.
func (r *Reducer) Atom(c *Consist, index int) Atom {
	var out []byte
	put := func(x float64) { out = binary.LittleEndian.AppendUint64(out, math.Float64bits(x)) }
	if index >= len(r.p.bindings) {
		h := &r.p.hoses[index-len(r.p.bindings)]
		r.p.hose(h, c, func(_ air.Slot, v float64) { put(v) })
		return Atom{index, string(out)}
	}
	b := &r.p.bindings[index]
	put(b.value(c))
	if b.sum != nil {
		rest := 0.0
		for _, id := range b.sum {
			if !r.is(c, b.vehicle, unsigned(id)) {
				sign := 1.0
				if id[0] == '-' {
					sign = -1
				}
				rest += float64(sign * c.Sets(b.vehicle, unsigned(id)))
			}
		}
		put(rest)
		return Atom{index, string(out)}
	}
	// with the moved devices left out
	rest := *b
	rest.terms, rest.negateFrom = nil, 0
	any := false
	for k, t := range b.terms {
		if r.is(c, b.vehicle, t.Of) {
			any = true
			continue
		}
		rest.terms = append(rest.terms, t)
		if b.negate && k < b.negateFrom {
			rest.negateFrom++
		}
	}
	if any {
		put(rest.value(c))
	}
	return Atom{index, string(out)}
}

// Atoms are what every binding and hose comes to with the positions of c.
func (r *Reducer) Atoms(c *Consist) []string {
	out := make([]string, len(r.p.bindings)+len(r.p.hoses))
	for i := range out {
		out[i] = r.Atom(c, i).Value
	}
	return out
}

// root is the place by which all that is joined with a node is known.
func (r *Reducer) root(x air.Node) int32 {
	k := int32(x)
	for r.parent[k] != k {
		r.parent[k] = r.parent[r.parent[k]]
		k = r.parent[k]
	}
	return k
}

// Counts says of every binding and hose whether it counts: whether one of its slots does
// more than open a way between places that no compressor's air can reach. atoms are those
// of Atoms, of which it reads the values at the start and without the moved devices.
func (r *Reducer) Counts(atoms []string) []bool {
	p := r.p
	may := map[air.Slot]bool{}
	r.may = may
	for n := range p.bindings {
		a := atoms[n]
		open := false
		for k := 0; k+8 <= len(a); k += 8 {
			open = open || math.Float64frombits(binary.LittleEndian.Uint64([]byte(a[k:k+8]))) != 0
		}
		may[p.bindings[n].slot] = open
	}
	for n := range p.hoses {
		h := &p.hoses[n]
		a := atoms[len(p.bindings)+n]
		k := 0
		slot := func(s air.Slot) {
			may[s] = r.kept[s] || math.Float64frombits(binary.LittleEndian.Uint64([]byte(a[k:k+8]))) != 0
			k += 8
		}
		for _, m := range h.mates {
			if m.mine {
				slot(m.slot)
			}
		}
		slot(h.dummy)
		slot(h.open)
	}
	// join what may be joined; the atmosphere joins nothing
	if r.parent == nil {
		last := air.Node(0)
		for e := range air.Edge(p.edgeCount) {
			from, to := p.Net.Ends(e)
			last = max(last, from, to)
		}
		r.parent = make([]int32, max(last, slices.Max(append(p.sources, 0)))+1)
	}
	for i := range r.parent {
		r.parent[i] = int32(i)
	}
	for e := range air.Edge(p.edgeCount) {
		from, to := p.Net.Ends(e)
		if from == air.Atmosphere || to == air.Atmosphere {
			continue
		}
		open := len(p.guards[e]) == 0
		for _, s := range p.guards[e] {
			open = open || s < 0 || may[s]
		}
		if open {
			r.parent[r.root(from)] = r.root(to)
		}
	}
	fed := map[int32]bool{}
	for _, n := range p.sources {
		fed[r.root(n)] = true
	}
	counts := map[air.Slot]bool{}
	for e := range air.Edge(p.edgeCount) {
		from, to := p.Net.Ends(e)
		if from != air.Atmosphere && fed[r.root(from)] || to != air.Atmosphere && fed[r.root(to)] {
			for _, s := range p.guards[e] {
				counts[s] = true
			}
		}
	}
	out := make([]bool, len(atoms))
	for n := range p.bindings {
		s := p.bindings[n].slot
		out[n] = r.kept[s] || counts[s]
	}
	for n := range p.hoses {
		h := &p.hoses[n]
		at := len(p.bindings) + n
		out[at] = r.kept[h.open] || r.kept[h.dummy] || counts[h.open] || counts[h.dummy]
		for _, m := range h.mates {
			out[at] = out[at] || r.kept[m.slot] || counts[m.slot]
		}
	}
	return out
}

// Fails reports whether a failure can make another network of c than the sound one: not so
// where no compressor's air can come to any place that the part stands between, where a
// passage that is blocked is shut at every moment, or where the device that has seized is
// never moved. Parts that something else looks at always count.
//
// reached says, by node, where the sound network's pressure was ever another than the
// atmosphere's in the runs that are asked of; nil: not known. Between places where it never
// was, a leak carries nothing; and what is blocked, or no longer feeds, carried nothing
// before where an end that is not the atmosphere was never reached.
func (r *Reducer) Fails(c *Consist, f Failure, reached []bool) (bool, error) {
	m, e, err := c.mode(f)
	if err != nil {
		return false, err
	}
	if m.own {
		return r.is(c, f.Vehicle, f.Part) && len(r.Touches(c, f.Vehicle, f.Part)) > 0, nil
	}
	r.Counts(r.Atoms(c)) // what is joined
	fed := map[int32]bool{}
	for _, n := range r.p.sources {
		fed[r.root(n)] = true
	}
	live := func(n air.Node) bool {
		return n != air.Atmosphere && fed[r.root(n)] && (reached == nil || reached[n])
	}
	if e == nil {
		n, ok := r.p.nodes[f.Vehicle][f.Part]
		return ok && live(n), nil
	}
	switch e.Kind {
	case "volume", "pipe", "cylinder":
		n, ok := r.p.nodes[f.Vehicle][e.ID]
		return ok && live(n), nil
	case "passage", "check", "regulator", "relay", "retainer", "double-check":
	default:
		return true, nil
	}
	if len(m.ways) == 0 && e.Kind == "passage" && len(r.p.edges[f.Vehicle][e.ID]) > 0 {
		ed := r.p.edges[f.Vehicle][e.ID][0]
		if len(r.p.guards[ed]) > 0 && !slices.ContainsFunc(r.p.guards[ed], func(s air.Slot) bool { return s < 0 || r.may[s] }) {
			return false, nil
		}
	}
	ends, all := []string{}, false // arguments; whether each of them must be live, or one
	switch {
	case len(m.ways) > 0:
		for _, w := range m.ways {
			ends = append(ends, w.from, w.to)
		}
	case e.Kind == "regulator" || e.Kind == "relay":
		ends = []string{"output"}
	case e.Kind == "double-check":
		ends = []string{"a", "b", "output"}
	default: // what lets nothing by any more
		ends, all = []string{"from", "to"}, true
	}
	for _, name := range ends {
		a, ok := e.Arg(name)
		if !ok {
			continue
		}
		n, ok := r.p.nodes[f.Vehicle][a.Text]
		if !ok || n == air.Atmosphere {
			continue
		}
		if live(n) != all {
			return !all, nil
		}
	}
	return all, nil
}
