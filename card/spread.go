package card

import (
	"fmt"
	"math"
	"strings"

	"headstock/prove"
	"headstock/quantity"
	"headstock/source"
)

// spanned words the values that a reading took over the runs of a study, rounded
// outward.
func spanned(x prove.Spread, u quantity.Units) string {
	switch x.Kind {
	case "piston":
		return u.Length(quantity.Metres(math.Floor(x.Over.Low/strokeStep+1e-6)*strokeStep)) + " to " + u.Length(quantity.Metres(math.Ceil(x.Over.High/strokeStep-1e-6)*strokeStep))
	case "exhaust":
		return fmt.Sprintf("%.0f s to %.0f s", math.Floor(x.Over.Low), math.Ceil(x.Over.High))
	}
	return u.Gauge(quantity.Gauge(max(0, x.Band.Low))) + " to " + u.Gauge(quantity.Gauge(x.Band.High))
}

// figure names a parameter as spoken beside a reading of a vehicle: whose, which part,
// which figure of it.
func figure(p *prove.Proof, q prove.Parameter, vehicle int) string {
	v := p.Test.Consist.Vehicles[q.Vehicles[0]]
	who := v.Name()
	switch {
	case len(q.Vehicles) > 1:
		who = "every " + v.Class.Name
	case q.Vehicles[0] == vehicle:
		who = "own"
	}
	return fmt.Sprintf("%s %s: %s", who, part(q.Element), q.Argument)
}

// mostly words what moves a reading most: the first figure, and the second where it has
// half as much of the swing or more.
func mostly(p *prove.Proof, x *prove.Spread) (what, share string) {
	for n, e := range x.Effects {
		if n == 2 || e.Share < x.Effects[0].Share/2 {
			break
		}
		if n > 0 {
			what, share = what+"; ", share+", "
		}
		what += figure(p, p.Study.Parameters[e.Parameter], x.Vehicle)
		share += fmt.Sprintf("%.0f %%", 100*e.Share)
	}
	if len(x.Effects) == 0 {
		what = "no one figure"
	}
	return what, share
}

// spreads adds what the spreads of the records make of the readings that are wanted:
// each that moves, its band, and the figure that dominates it.
func spreads(d *Document, p *prove.Proof, u quantity.Units, wanted func(*prove.Spread) bool) {
	if p.Study == nil {
		return
	}
	d.Heading(1, "Where the expected bands come from")
	if !spreadBasis(d, p) {
		return
	}
	t := Table{Caption: "Readings that the spreads move, and by what most", Columns: []Column{{Title: "unit"}, {Title: "look at"}, {Title: "step"}, {Title: "band"}, {Title: "moved most by"}, {Title: "share", Align: Right}}}
	rows, still, chance := bandRows(p, u, wanted)
	for _, row := range rows {
		t.Rows = append(t.Rows, []Cell{Text(row.unit), Text(row.device), Text(strings.Join(row.steps, ", ")), Text(spanned(row.x, u)), Text(row.what), Text(row.share)})
	}
	if len(t.Rows) > 0 {
		d.Table(t)
	}
	if still > 0 {
		d.Paragraph(Quiet, fmt.Sprintf("%s hardly moved: less than %s, 1 mm or 1 s in all.", was(still), u.Gauge(quantity.Gauge(prove.Hardly("gauge")))))
	}
	if chance > 0 {
		d.Paragraph(Quiet, fmt.Sprintf("%s of main reservoirs left out: what they show hangs on when a compressor last ran.", count(chance, "reading")))
	}
}

// spreadBasis says from how many runs the bands come and what they are worth; false where
// no record writes a spread.
func spreadBasis(d *Document, p *prove.Proof) bool {
	s := p.Study
	if len(s.Parameters) == 0 {
		d.Paragraph(Warn, "No figure of these records carries a spread, so the bands are the gauges' own.")
		return false
	}
	weak := map[string]bool{}
	var names []string
	n := 0
	for _, q := range s.Parameters {
		if st := (source.Figure{By: q.Source}).Ref().Standing; st.Weak() {
			n++
			if !weak[st.String()] {
				weak[st.String()] = true
				names = append(names, st.String())
			}
		}
	}
	d.Paragraph(None, fmt.Sprintf("%s with every figure drawn evenly within its spread (seed %d), %s with one figure at an end of its spread, and the run by the figures as written. A band holds all of them, and the gauge's own error beyond; it is no bound of what can happen.",
		count(s.Samples, "run"), s.Seed, count(s.Runs-s.Samples, "run")))
	if n > 0 {
		d.Paragraph(Warn, fmt.Sprintf("%d of the %d spreads are %s: a band is worth no more than they are.", n, len(s.Parameters), strings.Join(names, " or ")))
	}
	for _, m := range s.Missed {
		d.Paragraph(Warn, fmt.Sprintf("Step %s did not come about in time in %d of %s.", m.Step, m.Samples, count(s.Samples, "sample")))
	}
	return true
}

func was(n int) string {
	if n == 1 {
		return "1 other reading is"
	}
	return fmt.Sprintf("%d other readings are", n)
}

// bandRow is one row of the table: a device of a unit, or of wagons of one class, at the
// steps at which it shows the same for the same reason.
type bandRow struct {
	unit, device string
	steps        []string
	x            prove.Spread
	what, share  string
	class        string // of wagons
	first        int    // number of the first of them
	element      string
}

// bandRows are the rows in the order of units, devices and steps, and how many readings
// are left out: those that hardly move, and those that hang on a compressor.
func bandRows(p *prove.Proof, u quantity.Units, wanted func(*prove.Spread) bool) (rows []bandRow, still, chance int) {
	var each []bandRow
	for i, v := range p.Test.Consist.Vehicles {
		for _, dev := range v.Class.Devices {
			for k := range p.Study.Readings {
				x := &p.Study.Readings[k]
				switch {
				case x.Vehicle != i || x.Device != dev.ID || p.Test.Readings[k].Fitted != "" || !wanted(x):
				case x.Chance:
					chance++
				case x.Over.High-x.Over.Low < prove.Hardly(x.Kind) && !x.Either:
					still++
				default:
					row := bandRow{unit: v.Name(), device: dev.Name, steps: []string{x.Step}, x: *x, first: v.Unit.Number, element: dev.Reads}
					row.what, row.share = mostly(p, x)
					if !v.Locomotive() {
						row.class = v.Class.Name
					}
					if !joinsUnit(each, row) {
						each = append(each, row)
					}
				}
			}
		}
	}
	for _, row := range each {
		if !joinsSteps(rows, row, u) {
			rows = append(rows, row)
		}
	}
	return rows, still, chance
}

// joinsUnit lets a reading stand in a row that is there: a second gauge on the same air,
// and a wagon like one before it.
func joinsUnit(rows []bandRow, row bandRow) bool {
	for k := range rows {
		o := &rows[k]
		if o.x.Kind != row.x.Kind || o.element != row.element || o.what != row.what || o.x.Step != row.x.Step {
			continue
		}
		if o.x.Vehicle == row.x.Vehicle {
			return true
		}
		if row.class == "" || row.class != o.class {
			continue
		}
		o.unit = fmt.Sprintf("%s %d to %d", o.class, o.first, row.first)
		o.x.Over.Low, o.x.Over.High = min(o.x.Over.Low, row.x.Over.Low), max(o.x.Over.High, row.x.Over.High)
		o.x.Band.Low, o.x.Band.High = min(o.x.Band.Low, row.x.Band.Low), max(o.x.Band.High, row.x.Band.High)
		o.x.Either = o.x.Either || row.x.Either
		return true
	}
	return false
}

// joinsSteps lets a row stand in one that says the same of another step.
func joinsSteps(rows []bandRow, row bandRow, u quantity.Units) bool {
	for k := range rows {
		o := &rows[k]
		if o.unit == row.unit && o.device == row.device && o.what == row.what && o.share == row.share && spanned(o.x, u) == spanned(row.x, u) {
			o.steps = append(o.steps, row.steps[0])
			return true
		}
	}
	return false
}
