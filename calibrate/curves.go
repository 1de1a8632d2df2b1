package calibrate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/quantity"
)

// Malformed is a table of curves that cannot be read, or a sample that the procedure
// cannot give.
type Malformed struct {
	Pos                        reading.Pos
	Message, Expected, Nearest string
}

func (e *Malformed) Error() string {
	s := fmt.Sprintf("%s: %s", e.Pos, e.Message)
	if e.Expected != "" {
		s += "; expected " + e.Expected
	}
	if e.Nearest != "" {
		s += "; nearest: " + e.Nearest
	}
	return s
}

// column is what a column of a table of curves holds.
type column struct {
	what    string        // time, place, pressure, step
	factor  float64       // SI for one; 0: cells carry their units
	kind    quantity.Kind // of factor
	vehicle int           // of a pressure column that is a place of its own
	element string
}

// headRows is how many rows may stand over the one that names the columns.
const headRows = 20

// Read reads a table of measured pressures in one of two forms. With a column "place", a
// row is one pressure:
//
//	time s, place, pressure kPa
//	0.5, brake-pipe, 498.2
//
// without, every column but time is a place, as run --curves writes them:
//
//	time s, Tern 3 brake-pipe kPa gauge
//
// A place is an air element of the unit, or the gauge that reads it; of another unit with
// its name before it. Times are seconds and pressures above atmosphere, in the unit of the
// column's head, or of the cell where the head has none. A column "step" names the step of
// the procedure at whose beginning the time is 0, else step does ("": the procedure's
// beginning); a row of a step without a time was read at its end. Cells without a pressure
// are passed over. An error is a *Malformed.
func Read(c *consist.Consist, unit int, name string, data []byte, step string) ([]Sample, error) {
	rows, cs := reading.Table(name, data)
	if len(cs) > 0 {
		return nil, &Malformed{cs[0].Pos, cs[0].Message, cs[0].Expected, cs[0].Nearest}
	}
	head := -1
	for i := range min(len(rows), headRows) {
		if slices.ContainsFunc(rows[i], func(x reading.Cell) bool {
			w, _, _ := strings.Cut(words(x.Text), " ")
			return strings.EqualFold(w, "time") || strings.EqualFold(w, "step")
		}) && len(rows[i]) > 1 {
			head = i
			break
		}
	}
	if head < 0 {
		return nil, &Malformed{reading.Pos{File: name, Line: 1, Col: 1}, "no row names the columns", "a row such as time s, place, pressure kPa", ""}
	}
	columns, err := columnsOf(c, unit, rows[head])
	if err != nil {
		return nil, err
	}
	var out []Sample
	for _, row := range rows[head+1:] {
		if strings.HasPrefix(row[0].Text, "#") {
			continue
		}
		s := Sample{Pos: row[0].Pos, Step: step, Time: math.NaN(), Vehicle: -1}
		type measured struct {
			cell reading.Cell
			by   column
		}
		var pressures []measured
		for i, x := range row {
			if x.Text == "" {
				continue
			}
			if i >= len(columns) {
				return nil, &Malformed{x.Pos, fmt.Sprintf("%q stands in a column without a head", reading.Short(x.Text)), "no more cells in a row than the head has", ""}
			}
			switch k := columns[i]; k.what {
			case "time":
				if s.Time, err = amount(x, k, quantity.Time); err != nil {
					return nil, err
				}
				if !(s.Time >= 0) || s.Time > longest {
					return nil, &Malformed{x.Pos, fmt.Sprintf("the time %q lies outside the procedure", reading.Short(x.Text)), "a time from 0 on, counted from the beginning of the procedure or of the step that is named", ""}
				}
			case "step":
				s.Step = x.Text
			case "place":
				if s.Vehicle, s.Element, err = place(c, unit, x.Text, x.Pos); err != nil {
					return nil, err
				}
			case "pressure":
				pressures = append(pressures, measured{x, k})
			}
		}
		for _, m := range pressures {
			one := s
			one.Pos = m.cell.Pos
			if one.Pressure, err = amount(m.cell, m.by, quantity.Pressure); err != nil {
				return nil, err
			}
			if one.Pressure < -quantity.StandardAtmosphere.KPa()*1e3 || one.Pressure > highest {
				return nil, &Malformed{m.cell.Pos, fmt.Sprintf("%q is no pressure that a brake has", reading.Short(m.cell.Text)), "a pressure above atmosphere in the unit of the head", ""}
			}
			if m.by.element != "" {
				one.Vehicle, one.Element = m.by.vehicle, m.by.element
			}
			if one.Vehicle < 0 {
				return nil, &Malformed{m.cell.Pos, "a pressure without a place", "the place in the column place", ""}
			}
			if math.IsNaN(one.Time) && one.Step == "" {
				return nil, &Malformed{m.cell.Pos, "a pressure has neither a time nor a step", "a time, or the step at whose end it was read", ""}
			}
			out = append(out, one)
		}
	}
	if len(out) == 0 {
		return nil, &Malformed{rows[head][0].Pos, "no pressure stands under the head", "rows of measured pressures", ""}
	}
	return out, nil
}

const (
	longest = 7 * 86400.0 // s: no test lasts longer
	highest = 5e6         // Pa: no brake has more
)

// words are the words of a head without brackets and other marks between them.
func words(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \t()[],;:", r) }), " ")
}

// columnsOf reads the head.
func columnsOf(c *consist.Consist, unit int, head []reading.Cell) ([]column, error) {
	long := slices.ContainsFunc(head, func(x reading.Cell) bool { return strings.EqualFold(words(x.Text), "place") })
	var out []column
	seen := map[string]bool{}
	for _, x := range head {
		if x.Text == "" {
			out = append(out, column{})
			continue
		}
		fields := strings.Fields(words(x.Text))
		var k column
		// the unit stands last, perhaps with "gauge" behind it
		for len(fields) > 1 {
			last := fields[len(fields)-1]
			low := strings.ToLower(last)
			if strings.HasPrefix(low, "abs") || low == "bara" || low == "psia" || low == "kpaa" {
				return nil, &Malformed{x.Pos, fmt.Sprintf("%q are absolute pressures", reading.Short(x.Text)), "pressures above atmosphere (gauge)", ""}
			}
			if low == "gauge" || low == "gage" {
				fields = fields[:len(fields)-1]
				continue
			}
			if v, err := quantity.Parse("1 " + last); err == nil && k.factor == 0 && (v.Kind == quantity.Pressure || v.Kind == quantity.Time) {
				k.factor, k.kind = v.SI, v.Kind
				fields = fields[:len(fields)-1]
			}
			break
		}
		text := strings.Join(fields, " ")
		switch low := strings.ToLower(text); {
		case low == "time" || low == "step" || low == "place" || long && low == "pressure":
			k.what = low
		case long:
			names := []string{"time", "place", "pressure", "step"}
			return nil, &Malformed{x.Pos, fmt.Sprintf("no column %q", reading.Short(x.Text)), "time, place, pressure, and step where times count from one", reading.Nearest(low, names)}
		default:
			k.what = "pressure"
			var err error
			if k.vehicle, k.element, err = place(c, unit, text, x.Pos); err != nil {
				return nil, err
			}
		}
		if k.factor != 0 && (k.what == "time") != (k.kind == quantity.Time) {
			return nil, &Malformed{x.Pos, fmt.Sprintf("%q has the unit of a %s", reading.Short(x.Text), k.kind), "a time such as s or min for time, a pressure such as kPa or bar for the rest", ""}
		}
		key := fmt.Sprint(k.what, k.vehicle, k.element)
		if seen[key] {
			return nil, &Malformed{x.Pos, fmt.Sprintf("the column %q stands twice", reading.Short(x.Text)), "each once", ""}
		}
		seen[key] = true
		out = append(out, k)
	}
	for _, need := range []string{"pressure"} {
		if !slices.ContainsFunc(out, func(k column) bool { return k.what == need }) {
			return nil, &Malformed{head[0].Pos, "no column holds pressures", "a column pressure beside place, or a column for each place", ""}
		}
	}
	return out, nil
}

// amount reads a cell in the unit of its column, or in its own.
func amount(x reading.Cell, k column, kind quantity.Kind) (float64, error) {
	v, err := quantity.Parse(x.Text)
	switch {
	case err != nil:
		return 0, &Malformed{x.Pos, fmt.Sprintf("%q is no %s: %v", reading.Short(x.Text), kind, err), "a number in the unit of the head", ""}
	case strings.Contains(strings.ToLower(x.Text), "abs"):
		return 0, &Malformed{x.Pos, fmt.Sprintf("%q is an absolute pressure", reading.Short(x.Text)), "a pressure above atmosphere (gauge)", ""}
	case v.Kind == kind:
		return v.SI, nil
	case v.Kind != quantity.Count:
		return 0, &Malformed{x.Pos, fmt.Sprintf("%q is a %s", reading.Short(x.Text), v.Kind), "a " + kind.String(), ""}
	case k.factor != 0:
		return v.SI * k.factor, nil
	case kind == quantity.Time:
		return v.SI, nil // times are seconds
	}
	return 0, &Malformed{x.Pos, fmt.Sprintf("%q has no unit, and the head of its column has none", reading.Short(x.Text)), "a unit in the head, such as pressure kPa", ""}
}

// place finds the air element that a person means, of the unit or, with its name before
// it, of another one of the consist.
func place(c *consist.Consist, unit int, text string, pos reading.Pos) (int, string, error) {
	i, rest := unit, strings.TrimSpace(text)
	for k, v := range c.Vehicles {
		if n := len(v.Name()); len(rest) > n && strings.EqualFold(rest[:n], v.Name()) && strings.ContainsRune(" .", rune(rest[n])) {
			i, rest = k, strings.TrimSpace(rest[n+1:])
			break
		}
	}
	v := c.Vehicles[i]
	id := strings.ReplaceAll(strings.ToLower(rest), " ", "-")
	var names []string
	for _, e := range v.Class.Air {
		if k, _ := fleet.Kind(e.Kind); !k.Node {
			continue
		}
		if e.ID == rest || e.ID == id {
			return i, e.ID, nil
		}
		if !slices.Contains(names, e.ID) {
			names = append(names, e.ID)
		}
	}
	if d, err := c.Named(i, rest); err == nil && d.Kind == "gauge" && d.Reads != "" {
		return i, d.Reads, nil
	}
	return 0, "", &Malformed{pos, fmt.Sprintf("%s has no air at %q", v.Name(), reading.Short(rest)), "a volume, cylinder or pipe of its record, or a gauge", reading.Nearest(id, names)}
}
