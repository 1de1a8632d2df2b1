package fleet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
)

// Shape is what a class looks like from its side and from above, as outlines of straight
// lines, for drawings of it. It is no gauge: nothing is worked out from it.
type Shape struct {
	Side     []Outline // x from headstock 1, height above rail; m
	Plan     []Outline // x from headstock 1, distance from the centre line, to the left below zero; m
	Levels   []Height  // how high a person stands, or reaches from, at each level of the places
	Wheels   []float64 // m from headstock 1, the middle of each axle
	Diameter float64   // m, of the wheels; 0 when not stated
	Pos      reading.Pos
}

// Outline is a closed shape by its corners.
type Outline struct {
	Name   string // body, cab, bogie …
	Points [][2]float64
	Pos    reading.Pos
}

// Height is a level of the places and how high it is above rail, m.
type Height struct {
	Level string
	Above float64
	Pos   reading.Pos
}

// Above is how high a level of the places is above rail, m.
func (s *Shape) Above(level string) (float64, bool) {
	if s == nil {
		return 0, false
	}
	for _, h := range s.Levels {
		if h.Level == level {
			return h.Above, true
		}
	}
	return 0, false
}

// Cell is where an air element stands on the air diagram.
type Cell struct {
	Element     string
	Column, Row int // from 1
	Pos         reading.Pos
}

// Cell is the cell of an air element on the diagram, where the record gives one.
func (c *Class) Cell(element string) (Cell, bool) {
	i := slices.IndexFunc(c.Diagram, func(x Cell) bool { return x.Element == element })
	if i < 0 {
		return Cell{}, false
	}
	return c.Diagram[i], true
}

var shapeKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "side", Form: FormOutlines, Help: "outlines from the right side, headstock 1 at the left: each a list of corners [from headstock 1, above rail]"},
		{Name: "plan", Form: FormOutlines, Help: "outlines from above: each a list of corners [from headstock 1, from the centre line; to the left with a minus]"},
		{Name: "levels", Form: FormFigures, Help: "how high above rail a person stands at each level of the places"},
		{Name: "wheels", Form: FormTexts, Help: "the middle of each axle, from headstock 1"},
		{Name: "wheel diameter", Form: FormFigure, Help: "of the wheels as drawn"},
	}
})

// mostCells is how many columns and rows the air diagram has room for.
const mostCells = 60

func (r *reader) shape(c *Class, n *reading.Node) {
	if !r.isMap(n, "shape") {
		return
	}
	r.setSource(n)
	r.keys(n, n.Pos(), "a shape", append(slices.Clone(shapeKeys()), KeySpec{Name: "source"}), nil)
	s := &Shape{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch v := e.Value; e.Key {
		case "side":
			s.Side = r.outlines(v, "side")
		case "plan":
			s.Plan = r.outlines(v, "plan")
		case "levels":
			if !r.isMap(v, "levels") {
				continue
			}
			for _, l := range v.Entries() {
				if f := r.figure(l.Value, quantity.Length); f != nil {
					s.Levels = append(s.Levels, Height{l.Key, f.SI, l.KeyPos})
				}
			}
		case "wheels":
			for _, i := range v.Items() {
				if f := r.figure(i, quantity.Length); f != nil {
					s.Wheels = append(s.Wheels, f.SI)
				}
			}
		case "wheel diameter":
			if f := r.figure(v, quantity.Length); f != nil {
				if f.SI <= 0 {
					r.complain(CodeNotPositive, v.Pos(), fmt.Sprintf("the wheel diameter %q is not above zero", v.Text()), "a length above zero", "")
					continue
				}
				s.Diameter = f.SI
			}
		}
	}
	c.Shape = s
}

func (r *reader) outlines(n *reading.Node, what string) []Outline {
	if !r.isMap(n, what) {
		return nil
	}
	var out []Outline
	for _, e := range n.Entries() {
		o := Outline{Name: e.Key, Pos: e.KeyPos}
		if e.Value.Kind() != reading.List {
			r.complain(CodeShapePoint, e.Value.Pos(), fmt.Sprintf("the outline %q is no list of corners", e.Key), "[[0.5 m, 1.1 m], [0.5 m, 3.4 m], …]", "")
			continue
		}
		good := true
		for _, i := range e.Value.List() {
			if i.Kind() != reading.List || len(i.List()) != 2 {
				r.complain(CodeShapePoint, i.Pos(), fmt.Sprintf("a corner of the outline %q is not two lengths", e.Key), "a corner such as [0.5 m, 1.1 m]", "")
				good = false
				continue
			}
			a, b := r.figure(i.List()[0], quantity.Length), r.figure(i.List()[1], quantity.Length)
			if a == nil || b == nil {
				good = false
				continue
			}
			o.Points = append(o.Points, [2]float64{a.SI, b.SI})
		}
		if !good {
			continue
		}
		if len(o.Points) < 3 {
			r.complain(CodeShapeOutline, e.KeyPos, fmt.Sprintf("the outline %q has %d corners", e.Key, len(o.Points)), "at least three corners, in order round it", "")
			continue
		}
		out = append(out, o)
	}
	return out
}

func (r *reader) diagram(c *Class, n *reading.Node) {
	if !r.isMap(n, "diagram") {
		return
	}
	for _, e := range n.Entries() {
		var at []int
		for _, i := range e.Value.Items() {
			k, err := strconv.Atoi(i.Text())
			if err != nil || k < 1 || k > mostCells {
				at = nil
				break
			}
			at = append(at, k)
		}
		if len(at) != 2 {
			r.complain(CodeDiagramCell, e.Value.Pos(), fmt.Sprintf("%q has no cell", e.Key), fmt.Sprintf("[column, row], whole numbers from 1 to %d", mostCells), "")
			continue
		}
		x := Cell{e.Key, at[0], at[1], e.KeyPos}
		if i := slices.IndexFunc(c.Diagram, func(o Cell) bool { return o.Column == x.Column && o.Row == x.Row }); i >= 0 {
			r.complain(CodeDiagramCell, e.KeyPos, fmt.Sprintf("%q stands in the cell of %q", e.Key, c.Diagram[i].Element), "a cell for each element", "", c.Diagram[i].Pos)
			continue
		}
		c.Diagram = append(c.Diagram, x)
	}
}

// beyond is how far an outline may reach over the couplers, and how far sideways and up, m:
// what is over it is a slip of the pen.
const (
	beyond  = 1.0
	widest  = 2.5
	highest = 6.0
)

// checkShape holds outlines, levels and cells against the rest of the record.
func (r *reader) checkShape(c *Class) {
	if s := c.Shape; s != nil {
		long := c.Length
		for view, outlines := range [][]Outline{s.Side, s.Plan} {
			for _, o := range outlines {
				for _, p := range o.Points {
					bad := long > 0 && (p[0] < -beyond || p[0] > long+beyond)
					if view == 0 {
						bad = bad || p[1] < -0.1 || p[1] > highest
					} else {
						bad = bad || math.Abs(p[1]) > widest
					}
					if bad {
						r.complain(CodeShapeOutline, o.Pos, fmt.Sprintf("the outline %q has a corner at %.4g m, %.4g m, beyond the vehicle", o.Name, p[0], p[1]), fmt.Sprintf("corners from headstock 1 on, over a vehicle of %.4g m", long), "")
						break
					}
				}
			}
		}
		for _, w := range s.Wheels {
			if w < 0 || long > 0 && w > long {
				r.complain(CodeShapeOutline, s.Pos, fmt.Sprintf("an axle at %.4g m lies beyond the vehicle", w), fmt.Sprintf("axles from headstock 1 on, under a vehicle of %.4g m", long), "")
			}
		}
		var levels []string
		for _, p := range c.Places {
			if p.Level != "" && !slices.Contains(levels, p.Level) {
				levels = append(levels, p.Level)
			}
		}
		for _, h := range s.Levels {
			if !slices.Contains(levels, h.Level) {
				r.complain(CodeShapeLevel, h.Pos, fmt.Sprintf("no place has the level %q", h.Level), "one of "+strings.Join(levels, ", "), reading.Nearest(h.Level, levels))
			}
		}
		for _, l := range levels {
			if _, ok := s.Above(l); !ok {
				r.complain(CodeShapeLevel, s.Pos, fmt.Sprintf("the level %q of the places has no height", l), fmt.Sprintf("levels: {%s: … m}", l), "")
			}
		}
	}
	for _, x := range c.Diagram {
		if _, ok := c.Element(x.Element); !ok {
			r.complain(CodeDiagramElement, x.Pos, fmt.Sprintf("no air element %q", x.Element), "an id of the air section", reading.Nearest(x.Element, elementIDs(c)))
		}
	}
}
