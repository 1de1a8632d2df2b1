package calibrate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

// Parameter is a figure of the unit that may be fitted, and the bounds in which it is
// sought, SI.
type Parameter struct {
	Element  string        `json:"element"`
	Argument string        `json:"argument"`
	Record   source.Figure `json:"record"` // as the network reads it: the unit's measured value before that of its class
	Low      float64       `json:"low"`
	High     float64       `json:"high"`
	Bounds   string        `json:"bounds"` // BySpread, ByUsual or ByAsking
}

// Where the bounds of a figure come from.
const (
	BySpread = "spread"
	ByUsual  = "usual"
	ByAsking = "asked"
)

// Name is the figure as it is asked for: "element.argument".
func (p Parameter) Name() string { return p.Element + "." + p.Argument }

// usual are the bounds of a figure whose record writes no spread, as parts of the figure:
// invented, wide enough for a worn or a wrongly fitted part.
func usual(kind, argument string) (low, high float64) {
	switch {
	case kind == "leak":
		return 0.2, 5
	case kind == "cylinder" && argument == "travel":
		return 0.75, 1.25
	}
	return 0.8, 1.2
}

// Bounds words the usual bounds for a reader.
const Bounds = "a leak from a fifth to five times its bore, a piston travel within 25 %, any other figure within 20 %"

// choke reports whether a figure is the bore of an opening.
func choke(kind, argument string) bool {
	return kind != "pipe" && kind != "cylinder" && (argument == "bore" || strings.HasSuffix(argument, " bore"))
}

// bounded gives a figure its bounds.
func bounded(c *consist.Consist, f consist.Figure) (Parameter, bool) {
	e, ok := c.Vehicles[f.Vehicle].Class.Element(f.Element)
	if !ok || f.SI <= 0 {
		return Parameter{}, false
	}
	p := Parameter{Element: f.Element, Argument: f.Argument, Record: f.Figure, Low: f.SI - f.Spread, High: f.SI + f.Spread, Bounds: BySpread}
	if f.Spread == 0 {
		low, high := usual(e.Kind, f.Argument)
		p.Low, p.High, p.Bounds = f.SI*low, f.SI*high, ByUsual
	}
	return p, true
}

// Usual are the figures that are fitted when none is named: the bores of chokes and ports
// with a written spread, every leak, and every piston travel.
func Usual(c *consist.Consist, unit int) []Parameter {
	var out []Parameter
	for _, f := range c.Figures(unit) {
		e, ok := c.Vehicles[unit].Class.Element(f.Element)
		if !ok {
			continue
		}
		switch {
		case e.Kind == "leak" && f.Argument == "bore", e.Kind == "cylinder" && f.Argument == "travel", f.Spread > 0 && choke(e.Kind, f.Argument):
			if p, ok := bounded(c, f); ok {
				out = append(out, p)
			}
		}
	}
	return out
}

// Named is a figure of the unit by its name, with bounds where they are asked for:
//
//	distributor.fill bore
//	brake-pipe-leak.bore = 0.1 mm .. 0.6 mm
func Named(c *consist.Consist, unit int, text string) (Parameter, error) {
	name, bounds, asked := strings.Cut(text, "=")
	name = strings.TrimSpace(name)
	element, argument, _ := strings.Cut(name, ".")
	element, argument = strings.TrimSpace(element), strings.TrimSpace(argument)
	v := c.Vehicles[unit]
	figures := c.Figures(unit)
	if len(figures) == 0 {
		return Parameter{}, fmt.Errorf("the record of class %s has no air element with a figure; expected some under air", v.Class.Name)
	}
	var elements, arguments, names []string
	for _, f := range figures {
		names = append(names, f.Element+"."+f.Argument)
		if !slices.Contains(elements, f.Element) {
			elements = append(elements, f.Element)
		}
		if f.Element == element {
			arguments = append(arguments, f.Argument)
		}
	}
	if argument == "" {
		return Parameter{}, fmt.Errorf("%q names no figure; expected an element of %s and one of its figures with a point between, such as %s%s", reading.Short(text), v.Name(), names[0], reading.Hint(name, names))
	}
	if len(arguments) == 0 {
		return Parameter{}, fmt.Errorf("%s has no air element %q with figures; expected an element of its record%s", v.Name(), reading.Short(element), reading.Hint(element, elements))
	}
	k := slices.IndexFunc(figures, func(f consist.Figure) bool { return f.Element == element && f.Argument == argument })
	if k < 0 {
		return Parameter{}, fmt.Errorf("%s of %s has no figure %q; expected one of %s%s", element, v.Name(), reading.Short(argument), strings.Join(arguments, ", "), reading.Hint(argument, arguments))
	}
	p, ok := bounded(c, figures[k])
	if !ok {
		return p, fmt.Errorf("%s of %s is nothing in the record, so there is nothing to fit", name, v.Name())
	}
	if !asked {
		return p, nil
	}
	r, kind, err := quantity.ParseRange(strings.TrimSpace(bounds))
	if err != nil {
		return p, fmt.Errorf("%q are no bounds of %s; expected the lower end first, both with a unit, such as %s = 1 mm .. 2 mm", reading.Short(strings.TrimSpace(bounds)), p.Name(), p.Name())
	}
	if kind != p.Record.Kind {
		return p, fmt.Errorf("%s is a %s, and its bounds are given as a %s", p.Name(), p.Record.Kind, kind)
	}
	if !(r.Low < r.High) || r.Low < 0 {
		return p, fmt.Errorf("the bounds of %s are %s; expected the lower one first, and none below nothing", p.Name(), reading.Short(strings.TrimSpace(bounds)))
	}
	p.Low, p.High, p.Bounds = r.Low, r.High, ByAsking
	return p, nil
}

// knob is a figure on one or more vehicles that can be turned from −1 to 1, its bounds.
type knob struct {
	vehicles          []int
	element, argument string
	low, high         float64
	area              bool // goes by the square
}

func newKnob(c *consist.Consist, vehicles []int, element, argument string, low, high float64) knob {
	k := knob{vehicles: vehicles, element: element, argument: argument, low: low, high: high}
	if e, ok := c.Vehicles[vehicles[0]].Class.Element(element); ok {
		k.area = choke(e.Kind, argument)
	}
	return k
}

func (k knob) value(z float64) float64 {
	if k.area {
		l, h := k.low*k.low, k.high*k.high
		return math.Sqrt(max(0, (l+h)/2+(h-l)/2*z))
	}
	return (k.low+k.high)/2 + (k.high-k.low)/2*z
}

func (k knob) scaled(v float64) float64 {
	l, h := k.low, k.high
	if k.area {
		l, h, v = l*l, h*h, v*v
	}
	return (v - (l+h)/2) / ((h - l) / 2)
}

func (k knob) over(z float64) []consist.OffRecord {
	var out []consist.OffRecord
	for _, i := range k.vehicles {
		out = append(out, consist.OffRecord{Vehicle: i, Element: k.element, Argument: k.argument, SI: k.value(z)})
	}
	return out
}

// others are the written spreads of the consist that are neither fitted nor known: each of
// the unit and of other locomotives by itself, those of wagons of one class together.
func others(c *consist.Consist, unit int, but []Parameter) ([]knob, error) {
	all, err := c.Spreads()
	if err != nil {
		return nil, err
	}
	var out []knob
	for _, f := range all {
		if f.Vehicle == unit && slices.ContainsFunc(but, func(p Parameter) bool { return p.Element == f.Element && p.Argument == f.Argument }) {
			continue
		}
		low, high := f.SI-f.Spread, f.SI+f.Spread
		v := c.Vehicles[f.Vehicle]
		k := -1
		if !v.Locomotive() && f.Vehicle != unit {
			k = slices.IndexFunc(out, func(o knob) bool {
				return o.vehicles[0] != unit && c.Vehicles[o.vehicles[0]].Class == v.Class && o.element == f.Element && o.argument == f.Argument && o.low == low && o.high == high
			})
		}
		if k >= 0 {
			out[k].vehicles = append(out[k].vehicles, f.Vehicle)
			continue
		}
		out = append(out, newKnob(c, []int{f.Vehicle}, f.Element, f.Argument, low, high))
	}
	return out, nil
}
