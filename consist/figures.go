package consist

import (
	"fmt"
	"maps"
	"slices"

	"headstock/fleet"
	"headstock/quantity"
	"headstock/source"
)

// Figure is one figure of one vehicle's air elements, as the network reads it: the
// unit's measured value where there is one, else that of its class.
type Figure struct {
	Vehicle           int
	Element, Argument string
	source.Figure
}

// OffRecord is a value laid over the figure of one vehicle's element, SI.
type OffRecord struct {
	Vehicle           int
	Element, Argument string
	SI                float64
}

// named names a figure within one vehicle.
type named struct{ element, argument string }

// Figures are the figures of one vehicle's air elements and cylinders, in the order of the
// record: what the unit has measured stands in place of what its class says. A figure that
// neither writes is not there.
func (c *Consist) Figures(vehicle int) []Figure {
	var out []Figure
	v := c.Vehicles[vehicle]
	for _, e := range elements(v) {
		first := len(out)
		for _, a := range e.Args {
			if a.Figure != nil {
				out = append(out, Figure{vehicle, e.ID, a.Name, *a.Figure})
			}
		}
		for k := len(v.Unit.Measured) - 1; k >= 0; k-- { // the first word is the one that counts
			m := v.Unit.Measured[k]
			if m.Element != e.ID {
				continue
			}
			found := false
			for n := first; n < len(out); n++ {
				if out[n].Argument == m.Argument {
					out[n].Figure, found = m.Figure, true
				}
			}
			if !found {
				out = append(out, Figure{vehicle, e.ID, m.Argument, m.Figure})
			}
		}
	}
	return out
}

// Spreads are the figures of the consist's air elements and cylinders that carry a
// spread, by vehicle, then in the order of the record. A measured value stands with its
// own spread, or none, in place of the class's. A spread by which a bore or a volume
// could be nothing is an error.
func (c *Consist) Spreads() ([]Figure, error) {
	var out []Figure
	for i, v := range c.Vehicles {
		for _, f := range c.Figures(i) {
			if f.Spread == 0 {
				continue
			}
			if f.Kind != quantity.Pressure && f.Spread >= f.SI {
				e, _ := v.Class.Element(f.Element)
				return nil, fmt.Errorf("%s: the spread of the %s of %s of %s leaves nothing of it; expected less than the figure itself", e.Pos, f.Argument, e.ID, v.Name())
			}
			out = append(out, f)
		}
	}
	return out, nil
}

// WithFigures is the consist with values laid over the figures of its records, to ask
// what another bore or volume would do. Neither the record nor the unit changes, and
// positions stay as they are.
func (c *Consist) WithFigures(over ...OffRecord) (*Consist, error) {
	n := *c
	n.Vehicles = make([]*Vehicle, len(c.Vehicles))
	for i, v := range c.Vehicles {
		w := *v
		w.over = maps.Clone(v.over)
		n.Vehicles[i] = &w
	}
	for _, o := range over {
		if o.Vehicle < 0 || o.Vehicle >= len(n.Vehicles) {
			return nil, fmt.Errorf("no vehicle %d in this consist", o.Vehicle+1)
		}
		v := n.Vehicles[o.Vehicle]
		e, ok := v.Class.Element(o.Element)
		if !ok {
			return nil, fmt.Errorf("%s has no air element %q", v.Name(), o.Element)
		}
		if k, _ := fleet.Kind(e.Kind); !slices.ContainsFunc(k.Args, func(a fleet.ArgSpec) bool { return a.Name == o.Argument && a.Kind == fleet.ArgFigure }) {
			return nil, fmt.Errorf("a %s has no figure %q", e.Kind, o.Argument)
		}
		if v.over == nil {
			v.over = map[named]float64{}
		}
		v.over[named{o.Element, o.Argument}] = o.SI
	}
	return &n, nil
}
