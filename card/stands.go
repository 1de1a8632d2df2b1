package card

import (
	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// UnitStands is how one unit of a set-up is set, stand by stand in walking order.
type UnitStands struct {
	Title  string // "Kite 11, trail, command lead", or wagons that are set alike
	Whose  string
	Unit   string // the first, where several are set alike
	Class  string
	Keep   []Item // must not be moved, and open defects
	Stands []SetStand
	Last   []SetStand // after the brake test
}

// SetStand is a place and what is set there.
type SetStand struct {
	Number int // within the unit
	Place  string
	Things []setup.Line
}

// Stands are the units of a set-up with their stands; wagons set alike are drawn together.
func Stands(c *consist.Consist, plan *setup.Plan) []UnitStands {
	var out []UnitStands
	for i, up := range plan.Units {
		title, whose, ok := drawn(c, plan, i)
		if !ok {
			continue
		}
		u := UnitStands{Title: title, Whose: whose, Unit: up.Unit, Class: c.Vehicles[i].Class.Name, Keep: kept(up)}
		n := 0
		u.Stands = placed(up.Lines, &n)
		u.Last = placed(up.Last, &n)
		out = append(out, u)
	}
	return out
}

// placed groups lines that follow one another at one place.
func placed(lines []setup.Line, n *int) []SetStand {
	var out []SetStand
	for _, l := range lines {
		if k := len(out); k > 0 && out[k-1].Place == l.Place {
			out[k-1].Things = append(out[k-1].Things, l)
			continue
		}
		*n++
		out = append(out, SetStand{Number: *n, Place: l.Place, Things: []setup.Line{l}})
	}
	return out
}

// Proved is the verdict of a set-up with every requirement and what the answer rests on,
// without the settings.
func Proved(c *consist.Consist, ck *setup.Checked, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Set-up: " + c.String(), Subtitle: c.Fleet.Railway, Verdict: verdictOf(ck.Proof, u)}
	d.Verdict.Reasons = append(d.Verdict.Reasons, moved(ck.Plan)...)
	if c.HasDraft() {
		d.Banner = Draft
	}
	requirements(d, ck.Proof, u)
	refuted(d, ck.Refuted, u)
	footer(d, c, r, ck.Proof)
	return d
}

// refuted are the claims of the record that a run refutes.
func refuted(d *Document, fs []prove.Finding, u quantity.Units) {
	if len(fs) == 0 {
		return
	}
	d.Heading(1, "Claims of the record that a run refutes")
	for _, f := range fs {
		if len(f.Reasons) > 0 {
			d.Bullets(Item{Text: f.Says, Mark: Bad, Detail: []string{Sentence(f.Reasons[0], u)}})
		}
	}
}

// Joints says what is coupled at every joint and what is not, as a document of its own.
func Joints(c *consist.Consist, plan *setup.Plan) *Document {
	d := &Document{Title: "Set-up: " + c.String()}
	consistTable(d, c)
	view(d, c)
	joints(d, c, plan)
	return d
}
