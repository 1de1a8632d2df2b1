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

// revision words how far a record has been checked, and by whom.
func revision(c *fleet.Class) string {
	r := c.Revision
	state, why := c.Standing()
	said := state
	if r.Date != "" && r.State == state {
		said += " " + r.Date
	}
	if r.State == state {
		for _, p := range []struct{ how, who string }{{"written by", r.By}, {"checked by", r.CheckedBy}, {"issued by", r.IssuedBy}} {
			if p.who != "" {
				said += ", " + p.how + " " + p.who
			}
		}
	}
	if why != "" {
		said += " (" + why + ")"
	}
	return said
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
