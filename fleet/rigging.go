package fleet

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/rigging"
)

// RiggingKinds lists every kind of part of the rigging that a record may use, with its
// arguments. It is written as the air is, id: {kind: {argument: value …}}, and consist and
// haul turn it into what package rigging computes.
func RiggingKinds() []KindSpec { return slices.Clone(riggingKinds()) }

var riggingKinds = sync.OnceValue(func() []KindSpec {
	var of []string
	for _, m := range rigging.Materials() {
		of = append(of, string(m))
	}
	n, f, m := quantity.Count, quantity.Force, quantity.Mass
	material := ArgSpec{Name: "of", Kind: ArgWord, Required: true, Words: of, Help: "what the blocks are made of"}
	return []KindSpec{
		{Name: "blocks", Help: "brake blocks pushed by one group of cylinders through levers", Args: []ArgSpec{
			{Name: "pushed by", Kind: ArgElement, Required: true, Help: "a cylinder of the air network"},
			fig("count", n, true, "blocks"), fig("wheels", n, true, "wheels they press on"),
			fig("ratio", n, true, "force of all blocks over the thrust of all pistons, without losses"),
			fig("efficiency", n, true, "part of it that levers and pins leave while rolling, 0 to 1"),
			fig("spring", f, false, "force of each return spring (0 N)"), fig("adjuster", f, false, "force that each slack adjuster takes (0 N)"),
			material, when("when", "presses only when this holds")}},
		{Name: "hand-brake", Help: "blocks pressed by hand", Args: []ArgSpec{
			{Name: "worked by", Kind: ArgDevice, Required: true, Help: "the wheel, lever or screw"},
			fig("force", f, true, "of all its blocks on the wheels with a person's full pull, at rest"),
			fig("wheels", n, true, "wheels it holds"), material}},
		{Name: "wheels", Help: "the wheels of the vehicle, as what takes the heat and turns", Args: []ArgSpec{
			fig("count", n, true, "wheels"), fig("mass", m, true, "of one wheel")}},
	}
})

// RiggingPart finds a part of the rigging by its id.
func (c *Class) RiggingPart(id string) (*Element, bool) {
	for _, e := range c.Rigging {
		if e.ID == id {
			return e, true
		}
	}
	return nil, false
}

// RiggingOf are the parts of the rigging of a kind.
func (c *Class) RiggingOf(kind string) []*Element {
	var out []*Element
	for _, e := range c.Rigging {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// rigging reads the section of that name.
func (r *reader) rigging(c *Class, n *reading.Node) {
	if !r.isMap(n, "rigging") {
		return
	}
	old := r.source
	r.setSource(n)
	section := r.source
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if o, ok := c.RiggingPart(e.Key); ok {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("part %q of the rigging stands in two files", e.Key), "each id once", "", o.Pos)
			continue
		}
		r.source = section
		if el := r.element(e, "part of the rigging", riggingKinds()); el != nil {
			c.Rigging = append(c.Rigging, el)
		}
	}
	r.source = old
}

// checkRigging holds the rigging against the cylinders and devices that it names.
func (r *reader) checkRigging(c *Class) {
	for _, e := range c.Rigging {
		if a, ok := e.Arg("pushed by"); ok && a.Text != "" && len(c.Air) > 0 {
			if o, has := c.Element(a.Text); !has || o.Kind != "cylinder" {
				var cylinders []string
				for _, x := range c.Air {
					if x.Kind == "cylinder" {
						cylinders = append(cylinders, x.ID)
					}
				}
				r.complain(CodeUnknownElementID, a.Pos, fmt.Sprintf("%s %q are pushed by %q, which is no cylinder of the air network", e.Kind, e.ID, a.Text), "one of "+strings.Join(cylinders, ", "), reading.Nearest(a.Text, cylinders))
			}
		}
		if a, ok := e.Arg("worked by"); ok && a.Text != "" && len(c.Devices) > 0 {
			r.deviceID(c, CodePartDevice, a.Pos, a.Text, fmt.Sprintf("%s %q is worked by", e.Kind, e.ID))
		}
		if a, ok := e.Arg("when"); ok {
			r.checkCondition(c, conditionOf{id: e.ID}, a.When)
		}
		for _, name := range []string{"count", "wheels", "ratio", "efficiency"} {
			a, ok := e.Arg(name)
			if !ok || a.Figure == nil {
				continue
			}
			high := 1000.0
			if name == "efficiency" {
				high = 1
			}
			whole := name != "count" && name != "wheels" || a.Figure.SI == float64(int(a.Figure.SI))
			if a.Figure.SI <= 0 || a.Figure.SI > high || !whole {
				expected := fmt.Sprintf("above 0 and at most %g", high)
				if name == "count" || name == "wheels" {
					expected = "a whole number from 1"
				}
				r.complain(CodeNotPositive, a.Pos, fmt.Sprintf("%s %g of %q cannot be", name, a.Figure.SI, e.ID), expected, "")
			}
		}
	}
}
