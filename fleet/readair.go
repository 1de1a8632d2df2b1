package fleet

import (
	"fmt"
	"slices"
	"strings"

	"headstock/internal/reading"
	"headstock/quantity"
)

func namesOf(specs []KindSpec) []string {
	var out []string
	for _, k := range specs {
		out = append(out, k.Name)
	}
	return out
}

func (r *reader) air(c *Class, n *reading.Node) {
	if !r.isMap(n, "air") {
		return
	}
	old := r.source
	r.setSource(n)
	section := r.source
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if o, ok := c.Element(e.Key); ok {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("element %q stands in two files", e.Key), "each id once", "", o.Pos)
			continue
		}
		if e.Key == "atmosphere" {
			r.complain(CodeReserved, e.KeyPos, `"atmosphere" is the air outside`, "another id", "")
			continue
		}
		r.source = section
		if el := r.element(e, "element", kinds()); el != nil {
			c.Air = append(c.Air, el)
		}
	}
	r.source = old
}

// element reads one entry of air or circuits, whose kinds are specs; what is how a
// complaint calls it.
func (r *reader) element(e reading.Entry, what string, specs []KindSpec) *Element {
	if !r.isMap(e.Value, "the "+what) {
		return nil
	}
	r.setSource(e.Value)
	el := &Element{ID: e.Key, Pos: e.KeyPos}
	for _, k := range e.Value.Entries() {
		switch k.Key {
		case "only with":
			el.OnlyWith = r.text(k.Value)
			continue
		case "only without":
			el.OnlyWithout = r.text(k.Value)
			continue
		case "source":
			continue
		}
		i := slices.IndexFunc(specs, func(s KindSpec) bool { return s.Name == k.Key })
		if i < 0 {
			r.complain(CodeUnknownElement, k.KeyPos, fmt.Sprintf("no kind of %s %q", what, k.Key), "one of "+strings.Join(namesOf(specs), ", "), reading.Nearest(k.Key, namesOf(specs)))
			return nil
		}
		spec := specs[i]
		if el.Kind != "" {
			r.complain(CodeTwoKinds, k.KeyPos, fmt.Sprintf("%s %q is both %s and %s", what, el.ID, el.Kind, k.Key), "one kind each", "")
			continue
		}
		el.Kind = k.Key
		if !r.isMap(k.Value, k.Key) {
			continue
		}
		r.arguments(el, spec, k.Value, k.KeyPos)
	}
	if el.Kind == "" {
		r.complain(CodeUnknownElement, e.KeyPos, fmt.Sprintf("%s %q has no kind", what, e.Key), "one of "+strings.Join(namesOf(specs), ", "), "")
		return nil
	}
	return el
}

// mayBeZero are lengths and volumes that may be nothing.
func mayBeZero(arg string) bool { return arg == "released stand-out" }

func (r *reader) arguments(el *Element, spec KindSpec, n *reading.Node, pos reading.Pos) {
	var names []string
	for _, a := range spec.Args {
		names = append(names, a.Name)
	}
	for _, k := range n.Entries() {
		i := slices.Index(names, k.Key)
		if i < 0 {
			r.complain(CodeUnknownArgument, k.KeyPos, fmt.Sprintf("a %s has no %q", spec.Name, k.Key), "one of "+strings.Join(names, ", "), reading.Nearest(k.Key, names))
			continue
		}
		a := spec.Args[i]
		arg := Arg{Name: a.Name, Pos: k.Value.Pos()}
		switch a.Kind {
		case ArgFigure:
			arg.Figure = r.figure(k.Value, a.Quantity)
			if f := arg.Figure; f != nil {
				strict := (a.Quantity == quantity.Length || a.Quantity == quantity.Volume || a.Quantity == quantity.Flow) && !mayBeZero(a.Name)
				if a.Name != "offset" && (f.SI < 0 || strict && f.SI == 0) {
					r.complain(CodeNotPositive, k.Value.Pos(), fmt.Sprintf("%s %q of %q is not above zero", a.Name, k.Value.Text(), el.ID), "a "+a.Quantity.String()+" above zero; leave out an element that is not there", "")
					arg.Figure = nil
				}
				if f.Spread > f.SI && f.SI > 0 && strict {
					r.complain(CodeBadSpread, k.Value.Pos(), fmt.Sprintf("the spread of %q is wider than the figure", k.Value.Text()), "a spread below the figure", "")
				}
			}
		case ArgWhen:
			arg.When = r.condition(k.Value)
		case ArgDevices:
			arg.List = r.texts(k.Value)
		case ArgWord:
			arg.Text = r.oneOf(k.Value, a.Words)
		default:
			arg.Text = r.text(k.Value)
		}
		el.Args = append(el.Args, arg)
	}
	for _, a := range spec.Args {
		if a.Required && !n.Has(a.Name) {
			code := CodeMissingArgument
			if spec.Name == "cylinder" && a.Name == "clearance" {
				code = CodeNoClearance
			}
			what := a.Help
			if a.Kind == ArgFigure {
				what = "a " + a.Quantity.String() + ": " + a.Help
			}
			r.complain(code, pos, fmt.Sprintf("%s %q has no %s", spec.Name, el.ID, a.Name), strings.TrimSuffix(what, ": "), "")
		}
	}
}

// condition reads {device: position, …} or a list of such maps as alternatives.
func (r *reader) condition(n *reading.Node) When {
	var out When
	if n.Kind() != reading.Map && n.Kind() != reading.List {
		r.complain(CodeCondition, n.Pos(), "no condition stands here", "{device: position}, or a list of such maps for alternatives", "")
		return nil
	}
	for _, alt := range n.Items() {
		if alt.Kind() != reading.Map || len(alt.Entries()) == 0 {
			r.complain(CodeCondition, alt.Pos(), "no condition stands here", "{device: position}, or a list of such maps for alternatives", "")
			continue
		}
		var terms Alternative
		for _, e := range alt.Entries() {
			in := r.texts(e.Value)
			if len(in) == 0 {
				continue
			}
			terms = append(terms, Term{Of: e.Key, In: in, Pos: e.KeyPos})
		}
		out = append(out, terms)
	}
	return out
}
