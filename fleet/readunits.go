package fleet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"headstock/internal/reading"
	"headstock/source"
)

// longestRange is more units of one class than any railway writes in one line.
const longestRange = 5000

func (r *reader) units(f *Fleet, n *reading.Node) {
	if !r.isMap(n, "units.yaml") {
		return
	}
	r.keys(n, n.Pos(), "units.yaml", []KeySpec{{Name: "units", Required: true, Help: "units by class and number"}, {Name: "source"}}, nil)
	r.source = "measured"
	list := n.Get("units")
	if list == nil || !r.isMap(list, "units") {
		return
	}
	for _, e := range list.Entries() {
		c, ok := f.Class(e.Key)
		if !ok {
			var names []string
			for _, c := range f.Classes {
				names = append(names, c.Name)
			}
			r.complain(CodeUnitClass, e.KeyPos, fmt.Sprintf("units of class %q, which has no record", e.Key), oneOf(names, "a class with a record"), reading.Nearest(e.Key, names))
			continue
		}
		if e.Value.Kind() == reading.Nothing || !r.isMap(e.Value, "the units of a class") {
			continue
		}
		r.unitsOf(f, c, e.Value)
	}
	slices.SortStableFunc(f.Units, func(a, b *Unit) int {
		if c := strings.Compare(a.Class, b.Class); c != 0 {
			return c
		}
		return a.Number - b.Number
	})
}

// unitsOf takes ranges first, then single numbers, which add to what a range said.
func (r *reader) unitsOf(f *Fleet, c *Class, n *reading.Node) {
	type span struct {
		low, high int
		entry     reading.Entry
	}
	var ranges, singles []span
	for _, e := range n.Entries() {
		a, b, isRange := strings.Cut(e.Key, "..")
		low, err1 := strconv.Atoi(strings.TrimSpace(a))
		high, err2 := low, error(nil)
		if isRange {
			high, err2 = strconv.Atoi(strings.TrimSpace(b))
		}
		if err1 != nil || err2 != nil || low < 1 || high < low || high-low >= longestRange || high > 9999999 {
			near := ""
			for _, dash := range []string{"-", "–", "—", "…", " to "} {
				if x, y, ok := strings.Cut(e.Key, dash); ok && strings.TrimSpace(x) != "" && strings.TrimSpace(y) != "" {
					near = strings.TrimSpace(x) + ".." + strings.TrimSpace(y)
					break
				}
			}
			r.complain(CodeUnitNumber, e.KeyPos, fmt.Sprintf("%q is no unit number and no range", e.Key), "a number, or a range such as 1..6", near)
			continue
		}
		s := span{low, high, e}
		if !isRange {
			singles = append(singles, s)
			continue
		}
		for _, o := range ranges {
			if s.low <= o.high && o.low <= s.high {
				r.complain(CodeUnitTwice, e.KeyPos, fmt.Sprintf("units %d to %d stand in two ranges", max(s.low, o.low), min(s.high, o.high)), "each unit in one range; a single number adds to a range", "", o.entry.KeyPos)
			}
		}
		ranges = append(ranges, s)
	}
	have := map[int]*Unit{}
	for _, s := range append(ranges, singles...) {
		if s.entry.Value.Kind() != reading.Nothing && !r.isMap(s.entry.Value, "a unit") {
			continue
		}
		// a complaint about what a range says is made once, for its first unit
		proto := &Unit{Class: c.Name, Number: s.low, Pos: s.entry.KeyPos}
		r.unit(c, proto, s.entry)
		for k := s.low; k <= s.high; k++ {
			u, ok := have[k]
			if !ok {
				u = &Unit{Class: c.Name, Number: k}
				have[k] = u
				f.Units = append(f.Units, u)
			}
			u.Pos = s.entry.KeyPos
			u.Modifications = slices.Concat(u.Modifications, proto.Modifications)
			u.With = slices.Concat(u.With, proto.With)
			u.Without = slices.Concat(u.Without, proto.Without)
			// what a single number says of a property stands before what its range says
			u.State = slices.Concat(proto.State, u.State)
			u.Measured = slices.Concat(proto.Measured, u.Measured)
			u.Defects = slices.Concat(u.Defects, proto.Defects)
			u.Checked = slices.Concat(u.Checked, proto.Checked)
			if proto.Note != "" {
				u.Note = strings.TrimSpace(u.Note + " " + proto.Note)
			}
		}
	}
}

func (r *reader) unit(c *Class, u *Unit, e reading.Entry) {
	what := fmt.Sprintf("unit %s", e.Key)
	r.keys(e.Value, e.KeyPos, what, unitKeys(), nil)
	for _, k := range e.Value.Entries() {
		switch k.Key {
		case "note":
			u.Note = r.text(k.Value)
		case "modifications":
			u.Modifications = r.texts(k.Value)
		case "with":
			u.With = r.texts(k.Value)
		case "without":
			u.Without = r.texts(k.Value)
		case "state":
			for _, i := range r.maps(k.Value, "a state") {
				if o, ok := r.override(c, i); ok {
					u.State = append(u.State, o)
				}
			}
		case "measured":
			for _, i := range r.maps(k.Value, "a measured value") {
				if m, ok := r.measured(c, i); ok {
					u.Measured = append(u.Measured, m)
				}
			}
		case "checked":
			for _, i := range r.maps(k.Value, "a check made") {
				u.Checked = append(u.Checked, r.checked(c, i))
			}
		case "defects":
			for _, i := range r.maps(k.Value, "a defect") {
				u.Defects = append(u.Defects, r.defect(c, i))
			}
		}
	}
}

func (r *reader) defect(c *Class, n *reading.Node) Defect {
	r.keys(n, n.Pos(), "a defect", keysOf(unitKeys(), "defects"), nil)
	d := Defect{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "device":
			d.Device = r.text(e.Value)
			r.deviceID(c, CodeUnitDevice, e.Value.Pos(), d.Device, "a defect of")
		case "function":
			d.Function = r.text(e.Value)
		case "kind":
			d.Kind = r.oneOf(e.Value, defectWords())
		case "position":
			d.Position = r.text(e.Value)
		case "text":
			d.Text = r.text(e.Value)
		case "date":
			d.Date = r.date(e.Value)
		case "by":
			d.By = r.text(e.Value)
		}
	}
	dev, known := c.Device(d.Device)
	if d.Function != "" {
		pos := n.Get("function").Pos()
		if _, ok := LookupFunction(d.Function); !ok {
			r.complain(CodeDefectFunction, pos, fmt.Sprintf("no function %q", d.Function), "a word of the defined list", NearestFunction(d.Function))
		} else if known && dev.Function != d.Function {
			r.complain(CodeDefectFunction, pos, fmt.Sprintf("%q is for %q, not for %q", d.Device, dev.Function, d.Function), "the function of the device, or none", dev.Function)
		}
	}
	if d.Position != "" {
		pos := n.Get("position").Pos()
		switch {
		case d.Device == "":
			r.complain(CodeDefectPosition, pos, fmt.Sprintf("a defect stands %q, and no device is named", d.Position), "the device that was left so", "")
		case known && !canStand(dev, d.Position):
			r.complain(CodeDefectPosition, pos, fmt.Sprintf("%q cannot stand %q", d.Device, d.Position), "one of "+strings.Join(positionIDs(dev), ", "), reading.Nearest(d.Position, positionIDs(dev)))
		}
	}
	if known {
		d.Function = dev.Function
	}
	return d
}

func (r *reader) maps(n *reading.Node, what string) []*reading.Node {
	var out []*reading.Node
	for _, i := range n.Items() {
		if r.isMap(i, what) {
			out = append(out, i)
		}
	}
	return out
}

func (r *reader) override(c *Class, n *reading.Node) (Override, bool) {
	r.keys(n, n.Pos(), "a state", keysOf(unitKeys(), "state"), nil)
	o := Override{Pos: n.Pos()}
	var valuePos reading.Pos
	for _, e := range n.Entries() {
		switch e.Key {
		case "device":
			o.Device = r.text(e.Value)
			o.Pos = e.Value.Pos()
		case "property":
			o.Property = r.oneOf(e.Value, properties())
		case "value":
			o.Value = r.text(e.Value)
			valuePos = e.Value.Pos()
		case "date":
			o.Date = r.date(e.Value)
		case "reason":
			o.Reason = r.text(e.Value)
		}
	}
	d, ok := c.Device(o.Device)
	if !ok {
		if o.Device != "" {
			r.deviceID(c, CodeUnitDevice, o.Pos, o.Device, "the state of")
		}
		return o, false
	}
	if o.Property == "" || o.Value == "" {
		return o, false
	}
	bad := func(expected, nearest string) {
		r.complain(CodeUnitValue, valuePos, fmt.Sprintf("%s of %q cannot be %q", o.Property, o.Device, o.Value), expected, nearest)
	}
	switch o.Property {
	case "fitted":
		if !slices.Contains(fittedWords(), o.Value) {
			bad("one of "+strings.Join(fittedWords(), ", "), reading.Nearest(o.Value, fittedWords()))
			return o, false
		}
	case "normal", "position":
		if !canStand(d, o.Value) {
			bad("one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(o.Value, positionIDs(d)))
			return o, false
		}
	case "sets":
		if _, err := source.ParseFigure(o.Value, r.source); err != nil {
			bad("a quantity", "")
			return o, false
		}
	}
	return o, true
}

func (r *reader) measured(c *Class, n *reading.Node) (Measured, bool) {
	r.keys(n, n.Pos(), "a measured value", keysOf(unitKeys(), "measured"), nil)
	m := Measured{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "element":
			m.Element = r.text(e.Value)
		case "argument":
			m.Argument = r.text(e.Value)
		case "date":
			m.Date = r.date(e.Value)
		case "reason":
			m.Reason = r.text(e.Value)
		}
	}
	el, ok := c.Element(m.Element)
	if !ok {
		if m.Element != "" {
			r.complain(CodeUnitElement, n.Get("element").Pos(), fmt.Sprintf("a measured value of element %q, which class %q has not", m.Element, c.Name), "the id of an air element", reading.Nearest(m.Element, elementIDs(c)))
		}
		return m, false
	}
	spec, _ := Kind(el.Kind)
	var names []string
	for _, a := range spec.Args {
		if a.Kind != ArgFigure {
			continue
		}
		names = append(names, a.Name)
		if a.Name == m.Argument {
			f := r.figure(n.Get("value"), a.Quantity)
			if f == nil {
				return m, false
			}
			m.Figure = *f
			return m, true
		}
	}
	if m.Argument != "" {
		r.complain(CodeUnitArgument, n.Get("argument").Pos(), fmt.Sprintf("%q is no figure of a %s", m.Argument, el.Kind), "one of "+strings.Join(names, ", "), reading.Nearest(m.Argument, names))
	}
	return m, false
}

// oneOf is what was expected: one of some words, or what there is none of.
func oneOf(words []string, none string) string {
	if len(words) == 0 {
		return none
	}
	return "one of " + strings.Join(words, ", ")
}
