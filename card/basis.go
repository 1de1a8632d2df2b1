package card

import (
	"fmt"
	"strings"

	"headstock/fleet"
)

// basis names the record that an answer rests on: how far it has been checked, where it
// comes from, and the hash of its text, by which two answers are known to be of one
// record.
func basis(c *fleet.Class) string {
	state := strings.TrimSpace(c.Revision.State + " " + c.Revision.Date)
	if state == "" {
		state = "no revision"
	}
	return fmt.Sprintf("Record %s: %s, source %s, hash %.12s.", c.Name, state, c.Source, c.Hash)
}

// rests puts the records that an answer rests on under it, each once.
func (d *Document) rests(classes ...*fleet.Class) {
	seen := map[string]bool{}
	for _, c := range classes {
		if !seen[c.Name] {
			seen[c.Name] = true
			d.Footer = append(d.Footer, basis(c))
		}
	}
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
