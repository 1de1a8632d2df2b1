package card_test

import (
	"strings"
	"testing"

	"headstock/card"
	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/drawing"
)

// The air of every class is drawn: each element stands in a cell of its own and is named in
// the table; a cock that is shut is filled, its line is broken, and the words say so.
func TestAirDiagram(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	for _, c := range f.Classes {
		moved := ""
		s := card.AirState{Pressure: func(string) (string, bool) { return "", false }, Position: func(id string) string {
			d, ok := c.Device(id)
			if !ok {
				return ""
			}
			if id == moved {
				return "closed"
			}
			return d.Normal
		}}
		x, doc := card.AirDiagram(c, nil, s)
		if x == nil || len(doc.Blocks) == 0 {
			t.Errorf("%s: no diagram", c.Name)
			continue
		}
		rows := 0
		for _, b := range doc.Blocks {
			if b.Table != nil {
				rows += len(b.Table.Rows)
			}
		}
		if rows < len(c.Air)*2/3 {
			t.Errorf("%s: %d elements of %d", c.Name, rows, len(c.Air))
		}
		for _, m := range x.Marks {
			for _, p := range m.Line {
				if p.X < 0 || p.Y < 0 || p.X > x.Width || p.Y > x.Height {
					t.Errorf("%s: a line leaves the sheet at %v", c.Name, p)
				}
			}
		}
		for _, e := range c.Air {
			if w, ok := e.Arg("when"); ok && e.Kind == "passage" && len(w.When) == 1 && len(w.When[0]) == 1 {
				if d, ok := c.Device(w.When[0][0].Of); ok && d.Normal == "open" && w.When[0][0].In[0] == "open" {
					moved = d.ID
					break
				}
			}
		}
		if moved == "" {
			continue
		}
		y, _ := card.AirDiagram(c, nil, s)
		if idle(y) <= idle(x) || strings.Count(words(y), "shut") <= strings.Count(words(x), "shut") {
			t.Errorf("%s: %s closed is drawn as it is open", c.Name, moved)
		}
	}
}

func idle(d *drawing.Drawing) int { return countOf(d, "line idle") }

// A cell of the record stands before the drawing's own choice.
func TestDiagramCells(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, _ := f.Class("GV")
	s := card.AirState{Pressure: func(string) (string, bool) { return "", false }, Position: func(string) string { return "" }}
	before, _ := card.AirDiagram(c, nil, s)
	c.Diagram = []fleet.Cell{{Element: "brake-pipe", Column: 4, Row: 12}}
	after, _ := card.AirDiagram(c, nil, s)
	if after.Height <= before.Height {
		t.Errorf("%v, then %v: the cell of the record makes no difference", before, after)
	}
}
