package fleet

import (
	"fmt"
	"slices"
	"strings"

	"headstock/internal/reading"
	"headstock/quantity"
)

// check holds a class record against itself: everything it names must be there, and
// everything a joint, a role or the air network will ask of it must have an answer. A
// section that is not written yet is no fault; the record then stands at a lower level.
func (r *reader) check(c *Class) {
	r.checkEnds(c)
	r.checkWays(c)
	for _, d := range c.Devices {
		r.checkDevice(c, d)
	}
	for _, e := range c.Air {
		r.checkElement(c, e)
	}
	r.checkRigging(c)
	r.checkCircuits(c)
	for _, role := range c.Roles {
		r.checkRole(c, role)
	}
	for _, p := range c.Procedures {
		r.checkProcedure(c, p)
	}
	r.checkChecks(c)
	r.checkWalk(c)
	r.checkTraction(c)
	r.checkShape(c)
	r.checkLights(c)
}

func deviceIDs(c *Class) []string {
	var out []string
	for _, d := range c.Devices {
		out = append(out, d.ID)
	}
	return out
}

func elementIDs(c *Class) []string {
	var out []string
	for _, e := range c.Air {
		out = append(out, e.ID)
	}
	return out
}

// conditionOf is whose condition is looked at, and among which elements, of which kinds,
// it may name those with states.
type conditionOf struct {
	id    string
	among []*Element
	kinds []KindSpec
}

func (o conditionOf) states(id string) (*Element, []string) {
	for _, e := range o.among {
		if e.ID != id {
			continue
		}
		for _, k := range o.kinds {
			if k.Name == e.Kind {
				return e, k.States
			}
		}
	}
	return nil, nil
}

// stateful are the elements that the condition may name.
func (o conditionOf) stateful() []string {
	var out []string
	for _, e := range o.among {
		if _, states := o.states(e.ID); len(states) > 0 {
			out = append(out, e.ID)
		}
	}
	return out
}

func positionIDs(d *Device) []string {
	var out []string
	for _, p := range d.Positions {
		out = append(out, p.ID)
	}
	return out
}

func (r *reader) deviceID(c *Class, code string, pos reading.Pos, id, what string) (*Device, bool) {
	if d, ok := c.Device(id); ok {
		return d, true
	}
	r.complain(code, pos, fmt.Sprintf("%s device %q, which class %q has not", what, id, c.Name), "the id of a device", reading.Nearest(id, deviceIDs(c)))
	return nil, false
}

// canStand says whether a device can stand so: in one of its positions or at a quantity
// inside its range.
func canStand(d *Device, position string) bool {
	if _, ok := d.Position(position); ok {
		return true
	}
	if d.Range == nil {
		return false
	}
	v, err := quantity.Parse(position)
	return err == nil && v.Kind != quantity.Count && v.SI >= d.Range.Low-1e-6 && v.SI <= d.Range.High+1e-6
}

func (r *reader) checkEnds(c *Class) {
	for _, end := range c.Ends {
		for _, p := range end.Pipes {
			for _, part := range []struct {
				id, what, unknown, positions string
				needs                        []string
			}{
				{p.Hose, "hose", CodeHoseUnknown, CodeHosePositions, []string{"coupled", "on dummy"}},
				{p.Cock, "cock", CodeCockUnknown, CodeCockPositions, []string{"open", "closed"}},
			} {
				if part.id == "" || len(c.Devices) == 0 {
					continue
				}
				d, ok := r.deviceID(c, part.unknown, p.Pos, part.id, fmt.Sprintf("the %s of the %s is", part.what, p.Pipe))
				if !ok {
					continue
				}
				for _, need := range part.needs {
					if _, has := d.Position(need); !has {
						r.complain(part.positions, d.Pos, fmt.Sprintf("%s %q has no position %q", part.what, d.ID, need), "positions "+strings.Join(part.needs, " and "), reading.Nearest(need, positionIDs(d)), p.Pos)
					}
				}
			}
			if len(c.Air) == 0 {
				continue
			}
			if e, ok := c.Element(p.Node); !ok || e.Kind != "pipe" {
				r.complain(CodeEndNode, p.Pos, fmt.Sprintf("the %s belongs to %q, which is no pipe of the air network", p.Pipe, p.Node), "an element of the kind pipe", reading.Nearest(p.Node, elementIDs(c)))
			}
		}
	}
}

func (r *reader) checkWays(c *Class) {
	var ids []string
	for _, p := range c.Places {
		ids = append(ids, p.ID)
	}
	joined := map[string][]string{}
	for _, w := range c.Ways {
		for _, id := range []string{w.From, w.To} {
			if _, ok := c.Place(id); !ok {
				r.complain(CodeWayPlace, w.Pos, fmt.Sprintf("a way leads to place %q, which class %q has not", id, c.Name), "the id of a place", reading.Nearest(id, ids))
			}
		}
		joined[w.From] = append(joined[w.From], w.To)
		joined[w.To] = append(joined[w.To], w.From)
	}
	if len(c.Ways) == 0 || len(c.Places) < 2 {
		return
	}
	// the largest part that hangs together is the vehicle; what is not of it is cut off
	part := map[string]int{}
	size := []int{}
	for _, p := range c.Places {
		if _, ok := part[p.ID]; ok {
			continue
		}
		k, todo := len(size), []string{p.ID}
		size = append(size, 0)
		part[p.ID] = k
		for len(todo) > 0 {
			at := todo[0]
			todo = todo[1:]
			size[k]++
			for _, next := range joined[at] {
				if _, ok := part[next]; !ok {
					part[next] = k
					todo = append(todo, next)
				}
			}
		}
	}
	main := 0
	for k := range size {
		if size[k] > size[main] {
			main = k
		}
	}
	for _, p := range c.Places {
		if part[p.ID] != main {
			r.complain(CodePlaceUnreachable, p.Pos, fmt.Sprintf("no way leads to place %q from the others", p.ID), "a way between it and another place", "")
		}
	}
}

func (r *reader) checkDevice(c *Class, d *Device) {
	if d.Place != "" {
		if _, ok := c.Place(d.Place); !ok {
			var ids []string
			for _, p := range c.Places {
				ids = append(ids, p.ID)
			}
			r.complain(CodePlaceUnknown, d.Pos, fmt.Sprintf("device %q stands at place %q, which class %q has not", d.ID, d.Place, c.Name), "the id of a place", reading.Nearest(d.Place, ids))
		}
	}
	if d.Cab > c.Cabs {
		r.complain(CodeCabNumber, d.Pos, fmt.Sprintf("device %q stands in cab %d of a class with %d", d.ID, d.Cab, c.Cabs), fmt.Sprintf("a cab up to %d", c.Cabs), "")
	}
	kind, has := quantity.Count, false
	for _, p := range d.Positions {
		if p.Sets == nil {
			continue
		}
		if has && p.Sets.Kind != kind {
			r.complain(CodeMixedKinds, p.Pos, fmt.Sprintf("position %q of %q sets a %s, another a %s", p.ID, d.ID, p.Sets.Kind, kind), "one kind of quantity a device", "")
		}
		if !has {
			kind, has = p.Sets.Kind, true
		}
	}
	switch {
	case d.Normal == "" && len(d.Positions) > 0:
		r.complain(CodeNoNormal, d.Pos, fmt.Sprintf("device %q does not say how it normally stands", d.ID), "normal: one of "+strings.Join(positionIDs(d), ", "), "")
	case d.Normal != "" && !canStand(d, d.Normal):
		r.complain(CodeNormal, d.Pos, fmt.Sprintf("device %q has no position %q to stand in normally", d.ID, d.Normal), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(d.Normal, positionIDs(d)))
	}
	for _, id := range d.GoesWith {
		r.deviceID(c, CodeGoesWith, d.Pos, id, fmt.Sprintf("%q must agree with", d.ID))
	}
	named := func(code, id, what string) {
		if strings.Contains(id, " ") || id == "" { // plain words, for what the record does not hold as an id
			return
		}
		if _, ok := c.Device(id); ok {
			return
		}
		if _, ok := c.Element(id); ok {
			return
		}
		if slices.Contains(Pipes(), id) {
			return
		}
		all := append(deviceIDs(c), elementIDs(c)...)
		near := reading.Nearest(id, all)
		if !strings.Contains(id, "-") && near == "" {
			return // a plain word
		}
		r.complain(code, d.Pos, fmt.Sprintf("device %q %s %q, which is neither a device nor an element", d.ID, what, id), "an id, or plain words", near)
	}
	for _, id := range d.ActsOn {
		named(CodeActsOn, id, "acts on")
	}
	named(CodeDrivenBy, d.DrivenBy, "is driven by")
	if d.Reads != "" && len(c.Air) > 0 && (d.Kind == "gauge" || d.Kind == "piston" || d.Kind == "exhaust") && (d.System == "brake" || d.System == "air supply") {
		e, ok := c.Element(d.Reads)
		spec := KindSpec{}
		if ok {
			spec, _ = Kind(e.Kind)
		}
		if !ok || (d.Kind != "exhaust" && !spec.Node) || (d.Kind == "piston" && e.Kind != "cylinder") {
			want := map[string]string{"gauge": "a volume, cylinder or pipe of the air network", "piston": "a cylinder of the air network", "exhaust": "an element of the air network"}[d.Kind]
			r.complain(CodeReads, d.Pos, fmt.Sprintf("%s %q reads %q, which is no such part of the air network", d.Kind, d.ID, d.Reads), want, reading.Nearest(d.Reads, elementIDs(c)))
		}
	}
}

func (r *reader) checkElement(c *Class, e *Element) {
	spec, ok := Kind(e.Kind)
	if !ok {
		return
	}
	kinds := map[string]ArgKind{}
	for _, a := range spec.Args {
		kinds[a.Name] = a.Kind
	}
	nodes := map[string]string{}
	for i := range e.Args {
		a := &e.Args[i]
		switch kinds[a.Name] {
		case ArgNode:
			if a.Text == "" {
				continue
			}
			nodes[a.Name] = a.Text
			if a.Text == "atmosphere" {
				continue
			}
			o, ok := c.Element(a.Text)
			if !ok {
				r.complain(CodeUnknownNode, a.Pos, fmt.Sprintf("%s %q leads to %q, which is not in the air network", e.Kind, e.ID, a.Text), "a volume, cylinder or pipe, or atmosphere", reading.Nearest(a.Text, elementIDs(c)))
				continue
			}
			if k, _ := Kind(o.Kind); !k.Node {
				r.complain(CodeNotANode, a.Pos, fmt.Sprintf("%s %q leads to %q, a %s, which holds no air of its own", e.Kind, e.ID, a.Text, o.Kind), "a volume, cylinder or pipe, or atmosphere", "", o.Pos)
			}
			r.dangling(e, o, a.Pos)
		case ArgElement:
			o, ok := c.Element(a.Text)
			if !ok {
				if a.Text != "" {
					r.complain(CodeUnknownElementID, a.Pos, fmt.Sprintf("%s %q names element %q, which is not in the air network", e.Kind, e.ID, a.Text), "the id of an element", reading.Nearest(a.Text, elementIDs(c)))
				}
				continue
			}
			r.dangling(e, o, a.Pos)
		case ArgWhen:
			r.checkCondition(c, conditionOf{e.ID, c.Air, Kinds()}, a.When)
		case ArgDevices:
			r.checkSetBy(c, e, a)
		}
	}
	for _, pair := range [][2]string{{"from", "to"}, {"a", "b"}, {"a", "output"}, {"b", "output"}, {"supply", "output"}} {
		if x, ok := nodes[pair[0]]; ok && x == nodes[pair[1]] {
			a, _ := e.Arg(pair[1])
			r.complain(CodeSameNode, a.Pos, fmt.Sprintf("%s %q has %q for both %s and %s", e.Kind, e.ID, x, pair[0], pair[1]), "two places", "")
		}
	}
	value := func(name string) (float64, reading.Pos, bool) {
		if a, ok := e.Arg(name); ok && a.Figure != nil {
			return a.Figure.SI, a.Pos, true
		}
		return 0, reading.Pos{}, false
	}
	order := func(low, high string) {
		a, _, ok1 := value(low)
		b, pos, ok2 := value(high)
		if ok1 && ok2 && a >= b {
			r.complain(CodeOrder, pos, fmt.Sprintf("%s %q: %q is not above %q", e.Kind, e.ID, high, low), low+" below "+high, "")
		}
	}
	switch e.Kind {
	case "compressor":
		order("cuts in at", "cuts out at")
	case "safety-valve":
		order("reseats at", "lifts at")
	case "cylinder":
		order("starts at", "contact at")
	case "regulator":
		_, set := e.Arg("set")
		by, setBy := e.Arg("set by")
		if set == setBy || setBy && len(by.List) == 0 {
			r.complain(CodeRegulator, e.Pos, fmt.Sprintf("regulator %q has %s", e.ID, map[bool]string{true: "both a fixed setting and devices that set it", false: "nothing that sets it"}[set && setBy]), "either set or set by", "")
		}
	case "pilot":
		above, pa, hasA := value("trips above")
		below, pb, hasB := value("trips below")
		rb, _, hasRB := value("resets below")
		ra, _, hasRA := value("resets above")
		switch {
		case hasA == hasB:
			r.complain(CodePilot, e.Pos, fmt.Sprintf("pilot %q does not trip at one pressure", e.ID), "one of trips above and trips below", "")
		case hasA && (!hasRB || hasRA || rb > above):
			r.complain(CodePilot, pa, fmt.Sprintf("pilot %q trips above a pressure and does not reset below it", e.ID), "resets below, at most the pressure at which it trips", "")
		case hasB && (!hasRA || hasRB || ra < below):
			r.complain(CodePilot, pb, fmt.Sprintf("pilot %q trips below a pressure and does not reset above it", e.ID), "resets above, at least the pressure at which it trips", "")
		}
	}
}

// dangling complains of an element that every unit has and that leans on one that only
// some units have.
func (r *reader) dangling(e, on *Element, pos reading.Pos) {
	if on.OnlyWith != "" && e.OnlyWith != on.OnlyWith {
		r.complain(CodeDangling, pos, fmt.Sprintf("%s %q leans on %q, which only units with %q have", e.Kind, e.ID, on.ID, on.OnlyWith), "only with: "+on.OnlyWith, "", on.Pos)
	}
	if on.OnlyWithout != "" && e.OnlyWithout != on.OnlyWithout {
		r.complain(CodeDangling, pos, fmt.Sprintf("%s %q leans on %q, which only units without %q have", e.Kind, e.ID, on.ID, on.OnlyWithout), "only without: "+on.OnlyWithout, "", on.Pos)
	}
}

func (r *reader) checkCondition(c *Class, of conditionOf, w When) {
	for _, alt := range w {
		for _, t := range alt {
			d, isDevice := c.Device(t.Of)
			o, states := of.states(t.Of)
			switch {
			case isDevice && len(states) > 0:
				r.complain(CodeConditionTwo, t.Pos, fmt.Sprintf("%q is both a device and a %s with states", t.Of, o.Kind), "one of them to have another id", "", d.Pos, o.Pos)
			case len(states) > 0:
				for _, in := range t.In {
					if !slices.Contains(states, in) {
						r.complain(CodeConditionState, t.Pos, fmt.Sprintf("%s %q has no state %q", o.Kind, t.Of, in), "one of "+strings.Join(states, ", "), reading.Nearest(in, states))
					}
				}
			case isDevice:
				for _, in := range t.In {
					if _, ok := d.Position(in); !ok {
						r.complain(CodeConditionState, t.Pos, fmt.Sprintf("device %q has no position %q", t.Of, in), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(in, positionIDs(d)))
					}
				}
			default:
				r.complain(CodeConditionUnknown, t.Pos, fmt.Sprintf("the condition of %q names %q, which is neither a device nor has states", of.id, t.Of), "the id of a device or of something with states", reading.Nearest(t.Of, append(deviceIDs(c), of.stateful()...)))
			}
		}
	}
}

func (r *reader) checkSetBy(c *Class, e *Element, a *Arg) {
	for _, item := range a.List {
		id := strings.TrimSpace(strings.TrimPrefix(item, "-"))
		d, ok := c.Device(id)
		if !ok {
			r.complain(CodeSetByUnknown, a.Pos, fmt.Sprintf("regulator %q is set by %q, which is no device", e.ID, id), "the id of a device, '-' before one that is subtracted", reading.Nearest(id, deviceIDs(c)))
			continue
		}
		if len(d.Positions) == 0 && d.Range == nil {
			r.complain(CodeSetByNothing, a.Pos, fmt.Sprintf("regulator %q is set by %q, which has neither positions nor a range", e.ID, id), "positions with sets, or a range", "", d.Pos)
		}
		for _, p := range d.Positions {
			if p.Sets == nil || p.Sets.Kind != quantity.Pressure {
				r.complain(CodeSetByNothing, a.Pos, fmt.Sprintf("regulator %q is set by %q, whose position %q sets no pressure", e.ID, id, p.ID), "sets: a pressure, in every position", "", p.Pos)
			}
		}
	}
}

func (r *reader) checkRole(c *Class, role *Role) {
	for _, cl := range slices.Concat(role.Positions, role.Reversed) {
		d, ok := r.deviceID(c, CodeRoleDevice, cl.Pos, cl.Device, fmt.Sprintf("role %q gives a position to", role.Name))
		if ok {
			r.checkClaim(d, cl)
		}
	}
	for _, list := range [][]Claim{role.ThisCab, role.OtherCab} {
		for _, cl := range list {
			var found []*Device
			var functions []string
			for _, d := range c.Devices {
				if d.Cab == 0 {
					continue
				}
				functions = append(functions, d.Function)
				if d.Function == cl.Device {
					found = append(found, d)
				}
			}
			if len(found) == 0 {
				r.complain(CodeRoleFunction, cl.Pos, fmt.Sprintf("role %q gives a position by function %q, which no device in a cab has", role.Name, cl.Device), "the function of a device with a cab", reading.Nearest(cl.Device, functions))
			}
			for _, d := range found {
				r.checkClaim(d, cl)
			}
		}
	}
	for _, cl := range slices.Concat(role.AtFront, role.AtRear, role.AtBoth) {
		var functions []string
		for _, d := range c.Devices {
			functions = append(functions, d.Function)
		}
		found := c.DevicesOf(cl.Device)
		if len(found) == 0 {
			r.complain(CodeRoleFunction, cl.Pos, fmt.Sprintf("role %q gives a position by function %q, which no device has", role.Name, cl.Device), "the function of a device", reading.Nearest(cl.Device, functions))
		}
		for _, d := range found {
			r.checkClaim(d, cl)
		}
	}
	for _, p := range role.Pipes {
		if !slices.ContainsFunc(c.Ends[:], func(e End) bool {
			return slices.ContainsFunc(e.Pipes, func(x PipeEnd) bool { return x.Pipe == p })
		}) {
			r.complain(CodeRolePipe, role.Pos, fmt.Sprintf("role %q uses the pipe %q, which reaches no headstock of the class", role.Name, p), "a pipe of an end", reading.Nearest(p, Pipes()))
		}
	}
}

func (r *reader) checkClaim(d *Device, cl Claim) {
	if cl.Position == "" {
		return
	}
	if !canStand(d, cl.Position) {
		r.complain(CodeRolePosition, cl.Pos, fmt.Sprintf("device %q has no position %q", d.ID, cl.Position), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(cl.Position, positionIDs(d)))
		return
	}
	if d.MustNotMove && cl.Position != d.Normal {
		r.complain(CodeRoleMoves, cl.Pos, fmt.Sprintf("device %q must not be moved, and a role moves it", d.ID), fmt.Sprintf("%s, where it stands, or no word of it", d.Normal), "", d.Pos)
	}
}

// features are what a unit of the class can have or lack by name.
func features(c *Class) []string {
	var out []string
	add := func(s string) {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for _, end := range c.Ends {
		for _, p := range end.Pipes {
			add(p.Pipe)
		}
	}
	for _, d := range c.Devices {
		add(d.ID)
		add(d.OnlyWith)
		add(d.OnlyWithout)
	}
	for _, e := range slices.Concat(c.Air, c.Rigging, c.Circuits) {
		add(e.ID)
		add(e.OnlyWith)
		add(e.OnlyWithout)
	}
	return out
}

// checkFeatures holds what parts of a class wait for against what its units say they have.
func (r *reader) checkFeatures(f *Fleet, c *Class) {
	known := features(c)
	for _, u := range f.UnitsOf(c.Name) {
		for _, list := range [][]string{u.With, u.Without} {
			for _, w := range list {
				if !slices.Contains(known, w) {
					r.complain(CodeFeature, u.Pos, fmt.Sprintf("%s names %q, which class %q does not know", u.Name(), w, c.Name), "a pipe, device or element, or what stands under only with", reading.Nearest(w, known))
				}
			}
		}
	}
}
