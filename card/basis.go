package card

import (
	"fmt"
	"strings"

	"headstock/fleet"
)

// Draft is the banner of a document that rests on a record that is not issued.
const Draft = "DRAFT – NOT FOR USE"

// rests says in a document which records it rests on, at which revision and hash, and
// makes it a draft if one of them is.
func (d *Document) rests(classes ...*fleet.Class) {
	seen := map[*fleet.Class]bool{}
	for _, c := range classes {
		if seen[c] {
			continue
		}
		seen[c] = true
		if c.Draft() {
			d.Banner = Draft
		}
		said := revision(c)
		d.Footer = append(d.Footer, fmt.Sprintf("Record %s: %s, source %s, hash %.12s.", c.Name, said, c.Source, c.Hash))
		state, _ := c.Standing()
		d.Rests = append(d.Rests, strings.Join(strings.Fields(fmt.Sprintf("%s %s %s %.12s", c.Name, state, c.Revision.Date, c.Hash)), " "))
	}
}

// revision words how far a record has been checked.
func revision(c *fleet.Class) string {
	state, why := c.Standing()
	switch {
	case c.Revision.State == "":
		return "no revision"
	case c.Unsealed():
		return strings.Join(strings.Fields(state+" "+c.Revision.Date+" (not sealed)"), " ")
	case why != "":
		return state + " (" + why + ")"
	}
	return strings.TrimSpace(state + " " + c.Revision.Date)
}

// revised is who has written, checked and issued a record, and what that is worth now.
func revised(c *fleet.Class) []Fact {
	r := c.Revision
	var out []Fact
	for _, f := range []Fact{{Name: "written by", Text: r.By}, {Name: "checked by", Text: r.CheckedBy}, {Name: "issued by", Text: r.IssuedBy}, {Name: "on", Text: r.Date}} {
		if f.Text != "" {
			out = append(out, f)
		}
	}
	if state, why := c.Standing(); why != "" {
		out = append(out, Fact{Name: "now", Text: state + ": " + why, Mark: Warn})
	}
	return out
}

// Functions is the defined list of function words, system by system.
func Functions() *Document {
	d := &Document{Title: "Function words: what a device is for, whatever its class calls it"}
	for _, s := range fleet.Systems() {
		t := Table{Caption: s, Columns: []Column{{Title: "function"}, {Title: "meaning"}}}
		for _, f := range fleet.Functions() {
			if f.System == s {
				t.Rows = append(t.Rows, []Cell{Text(f.Word), Text(f.Meaning)})
			}
		}
		d.Heading(1, s)
		d.Table(t)
	}
	return d
}
