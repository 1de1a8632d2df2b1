package card

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// Beside is the one page at the coupling: hoses, dummies and cocks of every joint at which
// a locomotive stands, what hangs on the neighbour, what will be lost, the one look that
// shows it is right, and what could be wrong. The proof and the slips may be nil while
// their runs are still being made; the page then says so where they would stand.
func Beside(c *consist.Consist, plan *setup.Plan, p *prove.Proof, slips *setup.Slips, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "At the coupling: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	if p != nil {
		d.Verdict = verdictOf(p, u)
		d.Verdict.Reasons = moved(plan)
	} else {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Whether it works is not known yet: the runs are being made. What follows is what the record claims."}
	}
	view(d, c)
	hoses(d, c, plan)
	cabinet(d, c, plan)
	if p != nil {
		losses(d, p, u)
		slipsShown(d, p, slips, u)
		footer(d, c, r, p)
	} else {
		for _, v := range c.Vehicles {
			d.rests(v.Class)
		}
	}
	return d
}

// hoses are the joints at which a locomotive stands, pipe by pipe; those between wagons
// stand in a line.
func hoses(d *Document, c *consist.Consist, plan *setup.Plan) {
	d.Heading(1, "Hoses, dummies and cocks")
	wagons := 0
	for k, j := range plan.Joints {
		if wagonJoint(c, k) {
			wagons++
			continue
		}
		t := Table{Caption: j.Front + " to " + j.Rear, Columns: []Column{{Title: "pipe"}, {Title: "do"}, {Title: "why"}}}
		for _, p := range j.Pipes {
			if p.FrontIs == "none" && p.RearIs == "none" {
				continue
			}
			row := pipeRow(p, j)
			// pipes that are treated alike share a row, so that the whole joint is seen at once
			if k := slices.IndexFunc(t.Rows, func(x []Cell) bool { return x[1] == row[1] }); k >= 0 {
				same := t.Rows[k]
				same[0].Text += ", " + row[0].Text
				if row[2] != same[2] {
					same[2].Text = strings.Trim(same[2].Text+"; "+row[2].Text, "; ")
				}
				continue
			}
			t.Rows = append(t.Rows, row)
		}
		d.Table(t)
	}
	if wagons > 0 {
		d.Paragraph(None, fmt.Sprintf("%s between wagons: the set-up card has %s.", count(wagons, "joint"), pick(wagons == 1, "it", "them")))
	}
	d.Paragraph(None, "Outer ends: every cock shut, every hose on its dummy.")
}

func pick(one bool, a, b string) string {
	if one {
		return a
	}
	return b
}

// cabinet is what hangs on the neighbour: devices that the same role sets otherwise beside
// another unit.
func cabinet(d *Document, c *consist.Consist, plan *setup.Plan) {
	t := Table{Caption: "Set by what stands next to it", Columns: []Column{{Title: "unit and device"}, {Title: "set to"}, {Title: "how it looks"}}}
	for i, up := range plan.Units {
		ids := setup.Neighbourly(c, i)
		if len(ids) == 0 {
			continue
		}
		t.Rows = append(t.Rows, []Cell{Text(fmt.Sprintf("%s, %s:", up.Unit, up.Role))})
		for _, x := range ids {
			k := slices.IndexFunc(up.Lines, func(l setup.Line) bool { return l.Device == x.ID })
			if k < 0 {
				at, _ := c.Position(i, x.ID)
				pos, _ := x.Position(at)
				t.Rows = append(t.Rows, []Cell{Text(x.Name + ", " + c.Vehicles[i].Class.PlaceName(x.Place)), Text(at), Text(pos.Looks)})
				continue
			}
			l := up.Lines[k]
			cell := Text(l.Position)
			if l.Moved {
				cell = Marked(Bad, l.Position+" (claim: "+l.Claim+")")
			}
			t.Rows = append(t.Rows, []Cell{Text(l.Name + ", " + l.Place), cell, Text(l.Looks)})
			for _, caution := range l.Cautions {
				t.Rows = append(t.Rows, []Cell{Text(""), Text(""), Marked(Warn, caution)})
			}
		}
	}
	d.Heading(1, "Cabinet")
	if len(t.Rows) == 0 {
		d.Paragraph(Quiet, "No device of these units is set by what stands next to it, as far as the records go.")
		return
	}
	d.Table(t)
}

// losses are what a rule accepts that does not work, and what is broken.
func losses(d *Document, p *prove.Proof, u quantity.Units) {
	d.Heading(1, "What you will lose")
	var items []Item
	for _, f := range p.Findings {
		if f.Status != prove.Lost && f.Status != prove.Broken && f.Status != prove.CannotSay {
			continue
		}
		it := Item{Text: f.Says + ": " + string(f.Status), Mark: markOf(f.Status)}
		for i, x := range merge(f.Reasons) {
			if i == 3 {
				it.Detail = append(it.Detail, fmt.Sprintf("… and %d more", len(f.Reasons)-3))
				break
			}
			it.Detail = append(it.Detail, Sentence(x, u))
			if x.CrewSees != "" {
				it.Detail = append(it.Detail, "You will see: "+x.CrewSees+pick(x.CrewSeesAt == "", "", " ("+x.CrewSeesAt+")")+".")
			}
		}
		items = append(items, it)
	}
	if len(items) == 0 {
		items = append(items, Item{Text: "Nothing: every requirement that was examined is met.", Mark: Good})
	}
	d.Bullets(items...)
}

// slipsShown are the one look that tells most, and each slip with where it first shows.
func slipsShown(d *Document, p *prove.Proof, slips *setup.Slips, u quantity.Units) {
	d.Heading(1, "The one step that shows it is right")
	switch {
	case slips == nil:
		d.Paragraph(Unknown, "Not known yet: the runs with each slip are being made.")
		return
	case p.Test == nil:
		d.Paragraph(Unknown, "Cannot say: there is no brake test to run.")
		return
	case len(slips.Slips) == 0:
		d.Paragraph(Quiet, "Nothing at a coupling of locomotives can be left wrong here, as far as the records go.")
		return
	case slips.Best == nil:
		d.Paragraph(Warn, fmt.Sprintf("No reading of the brake test tells of any of %s tried.", count(len(slips.Slips), "slip")))
	default:
		b := slips.Best
		say := b.Step
		for _, s := range p.Test.Procedure.Steps {
			if s.ID == b.Step {
				say = s.Say
			}
		}
		d.Paragraph(None, say+". Then look:")
		var items []Item
		for _, l := range b.Looks {
			items = append(items, Item{Text: fmt.Sprintf("%s of %s: %s", l.Device, l.Unit, reads(l.Kind, l.Was, l.WasOut, u)), Detail: []string{l.Place}})
		}
		d.Steps(items...)
		if n := len(slips.Slips); len(b.Slips) == n {
			d.Paragraph(None, fmt.Sprintf("This step tells of each of the %d slips below.", n))
		} else {
			d.Paragraph(Warn, fmt.Sprintf("This step tells of %d of the %d slips below; the others show at other steps, or at none.", len(b.Slips), n))
		}
	}
	t := Table{Caption: "What could be wrong here, each run once through the whole brake test", Columns: []Column{{Title: "left wrong"}, {Title: "first seen at"}, {Title: "look at"}, {Title: "right"}, {Title: "so"}}}
	blind := 0
	for _, s := range slips.Slips {
		what := Text(fmt.Sprintf("%s: %s on %s", s.Unit, s.Device, s.To))
		if len(s.Seen) == 0 {
			t.Rows = append(t.Rows, []Cell{what, Marked(Bad, "no step shows it"), Text("look at the device itself, " + s.Place), Text(s.Was), Text(s.To)})
			blind++
			continue
		}
		x := s.Seen[0]
		cab := ", not seen from the driving cab"
		if slices.ContainsFunc(s.Seen, func(x setup.Seen) bool { return x.InCab }) {
			cab = ""
		}
		right, so := apart(x.Kind, x.Was, x.WasOut, x.Is, x.IsOut, u)
		t.Rows = append(t.Rows, []Cell{what, Text(x.Step + cab), Text(strings.Join([]string{x.Device + " of " + x.Unit, x.Place}, ", ")), Text(right), Text(so)})
	}
	if blind > 0 {
		d.Paragraph(Warn, fmt.Sprintf("The brake test does not show %d of the %d: look at those devices themselves.", blind, len(slips.Slips)))
	}
	d.Table(t)
	d.Paragraph(Quiet, "These are the end cocks of the joints and what hangs on the neighbour, one at a time; not every device, and no two together.")
}
