package consist

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"headstock/air"
	"headstock/fleet"
)

// Failure is one part of one vehicle that no longer does what its record says, in one of
// the modes of its kind: an air element, a hose at a headstock, or a device that has
// seized where it stands. It changes the network, or what moving a device does, and no
// position.
type Failure struct {
	Vehicle int    `json:"vehicle"` // index in the consist
	Part    string `json:"part"`    // id of an air element, of a hose, or of a device
	Mode    string `json:"mode"`    // one of the modes of its kind, see Modes
}

// Mode is one way in which a kind of part fails.
type Mode struct {
	Name string // "does not follow"
	Says string // what has happened to it, in words of the workshop
	set  []laid
	ways []way
	swap bool // a double check lies over to its other side
	sets bool // a latch, or a release valve, is worked without cause
	dead bool // a latch that nothing works any more
	shut bool // a hose that lets nothing by
	own  bool // seized: moving it does nothing
	only func(e *fleet.Element) bool
}

// laid is a figure laid over one of the record: a value, or a factor on the record's own.
type laid struct {
	argument  string
	value     float64
	factor    float64
	ifWritten bool // only where the record writes the argument
}

// way is a further way for air: between two nodes that arguments of the element name, or
// from the element itself where it is a node.
type way struct {
	from, to string  // arguments; "": the element itself, "atmosphere"
	bore     float64 // m; 0: the element's own bore
	part     float64 // of the element's own bore
}

// What a failed part lets by, and by how much a travel has grown. A hole of 1.5 mm empties
// the volume of a control line in a second and a brake pipe in minutes.
const (
	seep       = 1.5e-3    // m, a valve or a packing that leaks (invented)
	longTravel = 1.5       // times the record's travel (invented)
	never      = 1e12      // Pa: no pressure comes there
	hair       = 1e-12     // m: a port that lets nothing by and is still one
	broken     = 0.9       // part of the bore that a broken pipe or hose opens (as a parted hose)
	seized     = "seized"  // a device that cannot be moved
	burst      = "burst"   // a hose
	collapsed  = "blocked" // a hose
)

// Modes lists the ways in which a kind of air element, a "hose" or a "device" fails.
func Modes(kind string) []Mode { return slices.Clone(modes[kind]) }

func has(argument string) func(*fleet.Element) bool {
	return func(e *fleet.Element) bool { _, ok := e.Arg(argument); return ok }
}

// The modes are those that workshops know (common practice); the sizes are invented.
var modes = map[string][]Mode{
	"device": {{Name: seized, Says: "cannot be moved from where it stands", own: true}},
	"hose": {
		{Name: burst, Says: "has burst: the pipe stands open to air there", ways: []way{{to: "atmosphere", part: broken}}},
		{Name: "leaks", Says: "leaks at its coupling", ways: []way{{to: "atmosphere", bore: seep}}},
		{Name: collapsed, Says: "lets nothing by: its lining has come loose", shut: true}},
	"volume": {{Name: "leaks", Says: "leaks", ways: []way{{to: "atmosphere", bore: seep}}}},
	"pipe": {
		{Name: "leaks", Says: "leaks", ways: []way{{to: "atmosphere", bore: seep}}},
		{Name: "broken", Says: "is broken: it stands open to air", ways: []way{{to: "atmosphere", part: broken}}}},
	"cylinder": {
		{Name: "leaks", Says: "leaks past its packing", ways: []way{{to: "atmosphere", bore: seep}}},
		{Name: "long travel", Says: "travels half as far again as the record says", set: []laid{{argument: "travel", factor: longTravel}}}},
	"passage": {
		{Name: "blocked", Says: "is blocked", set: []laid{{argument: "bore", value: 0}}},
		{Name: "leaks by", Says: "lets air by when it is shut", ways: []way{{from: "from", to: "to", bore: seep}},
			only: func(e *fleet.Element) bool { return has("when")(e) || has("unless")(e) }}},
	"check": {
		{Name: "does not hold", Says: "does not hold: air runs back through it", ways: []way{{from: "from", to: "to", part: 1}}},
		{Name: "stuck shut", Says: "is stuck shut", set: []laid{{argument: "bore", value: 0}}}},
	"double-check": {
		{Name: "stuck", Says: "is stuck on the side where it lies", set: []laid{{argument: "hysteresis", value: never}}},
		{Name: "stuck over", Says: "is stuck on its other side", set: []laid{{argument: "hysteresis", value: never}}, swap: true},
		{Name: "leaks by", Says: "leaks from one side to the other", ways: []way{{from: "a", to: "b", bore: seep}}}},
	"regulator": {
		{Name: "stuck", Says: "neither feeds nor exhausts", set: []laid{{argument: "supply bore", value: 0}, {argument: "exhaust bore", value: hair, ifWritten: true}}},
		{Name: "supply leaks", Says: "feeds past its shut supply valve", ways: []way{{from: "supply", to: "output", bore: seep}}},
		{Name: "exhaust leaks", Says: "lets its output leak to the exhaust", ways: []way{{from: "output", to: "exhaust", bore: seep}}}},
	"relay": {
		{Name: "does not follow", Says: "does not follow its control", set: []laid{{argument: "bore", value: 0}, {argument: "exhaust bore", value: hair}}},
		{Name: "supply leaks", Says: "feeds past its shut supply valve", ways: []way{{from: "supply", to: "output", bore: seep}}},
		{Name: "exhaust leaks", Says: "lets its output leak to the exhaust", ways: []way{{from: "output", to: "exhaust", bore: seep}}}},
	"pilot": {
		{Name: "stuck", Says: "is stuck as it stands", set: []laid{{"trips above", never, 0, true}, {"trips below", -never, 0, true}, {"resets below", -never, 0, true}, {"resets above", never, 0, true}}},
		{Name: "trips without cause", Says: "has tripped without cause", set: []laid{{"trips above", -never, 0, true}, {"trips below", never, 0, true}, {"resets below", -2 * never, 0, true}, {"resets above", 2 * never, 0, true}}}},
	"release-valve": {
		{Name: "stuck shut", Says: "does not open", set: []laid{{argument: "opens above", value: never}}},
		{Name: "stuck open", Says: "stays open", set: []laid{{argument: "opens above", value: -never}}, sets: true}},
	"vent-valve": {
		{Name: "does not trip", Says: "does not trip", set: []laid{{argument: "trips at", value: never}}},
		// and stays open: one that shut on an empty pipe would snap to and fro as the pipe is charged
		{Name: "trips without cause", Says: "has tripped without cause and does not shut", set: []laid{{argument: "trips at", value: -never}, {argument: "shuts at", value: -never}}},
		{Name: "leaks", Says: "leaks past its seat", ways: []way{{from: "pipe", to: "atmosphere", bore: seep}}}},
	"latch": {
		{Name: "stuck", Says: "is stuck as it stands", dead: true},
		{Name: "sets without cause", Says: "has set without cause", dead: true, sets: true}},
	"direct-distributor": {
		{Name: "does not apply", Says: "is stuck in release", set: []laid{{argument: "applies at", value: never}}, dead: true},
		{Name: "does not release", Says: "does not come back to release", set: []laid{{argument: "releases at", value: never}}},
		{Name: "does not charge", Says: "does not charge its reservoir: the feed groove is blocked", set: []laid{{argument: "charge bore", value: 0}}},
		{Name: "supply leaks", Says: "lets its reservoir leak to the cylinder", ways: []way{{from: "auxiliary", to: "cylinder", bore: seep}}},
		{Name: "exhaust leaks", Says: "lets the cylinder leak to the exhaust", ways: []way{{from: "cylinder", to: "exhaust", bore: seep}}}},
	"graduated-distributor": {
		{Name: "does not apply", Says: "is stuck in release", set: []laid{{argument: "applies at", value: never}}},
		{Name: "does not release", Says: "does not exhaust its cylinder", set: []laid{{argument: "release bore", value: 0}}},
		{Name: "does not charge", Says: "does not charge its reservoirs", set: []laid{{argument: "charge bore", value: 0}, {argument: "control charge bore", value: 0}}},
		{Name: "supply leaks", Says: "lets its reservoir leak to the cylinder", ways: []way{{from: "auxiliary", to: "cylinder", bore: seep}}},
		{Name: "exhaust leaks", Says: "lets the cylinder leak to the exhaust", ways: []way{{from: "cylinder", to: "exhaust", bore: seep}}}},
	"compressor": {
		{Name: "does not deliver", Says: "delivers nothing", set: []laid{{argument: "delivers", value: 0}}},
		{Name: "does not unload", Says: "does not cut out", set: []laid{{argument: "cuts out at", value: never}}}},
	"safety-valve": {
		{Name: "does not lift", Says: "does not lift", set: []laid{{argument: "lifts at", value: never}}},
		{Name: "leaks", Says: "leaks past its seat", ways: []way{{from: "on", to: "atmosphere", bore: seep}}}},
	"retainer": {
		{Name: "blocked", Says: "is blocked", set: []laid{{argument: "bore", value: 0}}},
		{Name: "leaks by", Says: "does not hold its pressure", ways: []way{{from: "from", to: "atmosphere", bore: 2 * seep}}}},
}

// Part is one part of one vehicle that can fail, with its kind as Modes takes it.
type Part struct {
	Vehicle  int
	ID, Kind string
	Modes    []Mode
}

// Parts are the parts of the consist that can fail: every air element, every hose at a
// headstock, and every device that an air element names or that stands at a headstock; by
// vehicle, in the order of the record.
func (c *Consist) Parts() []Part {
	var out []Part
	for i, v := range c.Vehicles {
		named := map[string]bool{}
		for _, e := range elements(v) {
			for _, id := range e.Devices() {
				named[id] = true
			}
			var ms []Mode
			for _, m := range modes[e.Kind] {
				if m.only == nil || m.only(e) {
					ms = append(ms, m)
				}
			}
			if len(ms) > 0 {
				out = append(out, Part{i, e.ID, e.Kind, ms})
			}
		}
		for end := 1; end <= 2; end++ {
			for _, pe := range v.Class.Ends[end-1].Pipes {
				if ok, _ := c.Carries(i, pe.Pipe, end); !ok {
					continue
				}
				named[pe.Cock] = true
				if d, ok := v.Class.Device(pe.Hose); ok && v.Unit.Carries(v.Class, d) {
					out = append(out, Part{i, pe.Hose, "hose", modes["hose"]})
				}
			}
		}
		for _, d := range v.Class.Devices {
			if how, _ := v.Unit.Fitted(d); named[d.ID] && v.Unit.Carries(v.Class, d) && how == "yes" && (len(d.Positions) > 1 || d.Range != nil) {
				out = append(out, Part{i, d.ID, "device", modes["device"]})
			}
		}
	}
	return out
}

// kindOf is the kind of a part: of its air element, "hose" or "device"; "" for none.
func (c *Consist) kindOf(i int, part, mode string) (string, *fleet.Element) {
	v := c.Vehicles[i]
	for _, e := range elements(v) {
		if e.ID == part && mode != seized {
			return e.Kind, e
		}
	}
	if _, ok := v.Class.Device(part); ok {
		if mode != seized {
			return "hose", nil
		}
		return "device", nil
	}
	return "", nil
}

// WithFailures returns the consist with parts that have failed. A part that is not there,
// or a mode that its kind has not, is an error.
func (c *Consist) WithFailures(fs ...Failure) (*Consist, error) {
	n := *c
	n.sound = c
	if c.sound != nil {
		n.sound = c.sound
	}
	n.Vehicles = slices.Clone(c.Vehicles)
	n.Failed = append(slices.Clone(c.Failed), fs...)
	for _, f := range fs {
		if f.Vehicle < 0 || f.Vehicle >= len(n.Vehicles) {
			return nil, fmt.Errorf("no vehicle %d in this consist", f.Vehicle+1)
		}
		m, e, err := n.mode(f)
		if err != nil {
			return nil, err
		}
		if len(m.set) == 0 {
			continue
		}
		v := *n.Vehicles[f.Vehicle]
		v.over = maps.Clone(v.over)
		if v.over == nil {
			v.over = map[named]float64{}
		}
		for _, l := range m.set {
			a := args{n.Vehicles[f.Vehicle], e}
			if l.ifWritten && a.find(l.argument) == nil {
				continue
			}
			x := l.value
			if l.factor != 0 {
				x = l.factor * a.fig(l.argument, 0)
			}
			v.over[named{e.ID, l.argument}] = x
		}
		n.Vehicles[f.Vehicle] = &v
	}
	return &n, nil
}

// mode finds the mode of a failure, and the element where it is one.
func (c *Consist) mode(f Failure) (Mode, *fleet.Element, error) {
	kind, e := c.kindOf(f.Vehicle, f.Part, f.Mode)
	var names []string
	for _, m := range modes[kind] {
		if m.Name == f.Mode {
			return m, e, nil
		}
		names = append(names, m.Name)
	}
	name := c.Vehicles[f.Vehicle].Name()
	if kind == "" {
		return Mode{}, nil, fmt.Errorf("%s has no part %q that can fail", name, f.Part)
	}
	return Mode{}, nil, fmt.Errorf("%s of %s does not fail by %q; expected one of %s", f.Part, name, f.Mode, strings.Join(names, ", "))
}

// failed reports whether a mode of a part is among the failures, by what it asks.
func (c *Consist) failed(i int, part string, is func(Mode) bool) bool {
	for _, f := range c.Failed {
		if f.Vehicle != i || f.Part != part {
			continue
		}
		if m, _, err := c.mode(f); err == nil && is(m) {
			return true
		}
	}
	return false
}

func swapped(m Mode) bool  { return m.swap }
func setting(m Mode) bool  { return m.sets }
func unworked(m Mode) bool { return m.dead }
func blocks(m Mode) bool   { return m.shut }
func stays(m Mode) bool    { return m.own }

// failures adds the further ways for air of failed parts, behind all that the sound
// network has, so that a run of the sound one can go on in it. The slot at the end tells
// such a run that something has changed.
func (w *builder) failures() error {
	if len(w.c.Failed) == 0 {
		return nil
	}
	for _, f := range w.c.Failed {
		m, e, err := w.c.mode(f)
		if err != nil {
			return err
		}
		v := w.c.Vehicles[f.Vehicle]
		for _, x := range m.ways {
			node := func(argument string) (air.Node, error) {
				switch {
				case argument == "atmosphere":
					return air.Atmosphere, nil
				case argument == "":
					n, ok := w.p.nodes[f.Vehicle][f.Part]
					if !ok {
						return 0, fmt.Errorf("no node %q on %s", f.Part, v.Name())
					}
					return n, nil
				}
				return w.nodeOf(f.Vehicle, args{v, e}, argument, air.Atmosphere)
			}
			from, err := node(x.from)
			if err != nil {
				return err
			}
			to, err := node(x.to)
			if err != nil {
				return err
			}
			bore := x.bore
			if x.part > 0 {
				bore = x.part * w.boreOf(f, e)
			}
			ed := w.b.Passage(v.Name()+" "+f.Part+" "+f.Mode, from, to, hole(bore))
			w.p.edges[f.Vehicle][f.Part] = append(w.p.edges[f.Vehicle][f.Part], ed)
		}
	}
	w.p.bindings = append(w.p.bindings, binding{slot: w.b.Slot(0)})
	return nil
}

// boreOf is the bore of a part as it stands.
func (w *builder) boreOf(f Failure, e *fleet.Element) float64 {
	v := w.c.Vehicles[f.Vehicle]
	if e != nil {
		return args{v, e}.fig("bore", 0)
	}
	for _, end := range v.Class.Ends {
		for _, pe := range end.Pipes {
			if pe.Hose == f.Part {
				return boreOf(v, pe)
			}
		}
	}
	return math.NaN()
}
