package card_test

import (
	"strings"
	"testing"

	"headstock/card"
	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/drawing"
)

// words are the texts of a drawing.
func words(d *drawing.Drawing) string {
	var out []string
	for _, m := range d.Marks {
		if m.Words != nil {
			out = append(out, m.Words.Text)
		}
	}
	return strings.Join(out, "\n")
}

func countOf(d *drawing.Drawing, class string) int {
	n := 0
	for _, m := range d.Marks {
		if m.Class == class {
			n++
		}
	}
	return n
}

// The drawing of the string follows the consist: what is joined, what is shut, crossed,
// hanging or blanked, and nothing lies beyond the sheet.
func TestStringDrawing(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	draw := func(text string, changes ...string) *drawing.Drawing {
		t.Helper()
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range changes {
			ch, err := c.ParseChange(x)
			if err != nil {
				t.Fatal(err)
			}
			if c, err = c.With(ch); err != nil {
				t.Fatal(err)
			}
		}
		d := card.StringDrawing(c)
		for _, m := range d.Marks {
			for _, p := range append(m.Line, m.Area...) {
				if p.X < 0 || p.X > d.Width || p.Y < 0 || p.Y > d.Height {
					t.Errorf("%s: a mark at %v", d, p)
				}
			}
			// a letter is at most 7 px wide in the small hand
			if w := m.Words; w != nil && m.Class == "small" && w.X+6.2*float64(len([]rune(w.Text))) > d.Width {
				t.Errorf("%s: %q runs off the sheet", d, w.Text)
			}
		}
		return d
	}
	right := draw("Tern 3 lead, Kite 11 trail")
	if !strings.Contains(words(right), "3 open through") {
		t.Error("three pipes meet, and the drawing does not say so")
	}
	shut := draw("Tern 3 lead, Kite 11 trail", "Kite 11.third-pipe-cock-1=closed")
	if !strings.Contains(words(shut), "2 open through") || countOf(shut, "solid") <= countOf(right, "solid") {
		t.Error("a shut cock is drawn open")
	}
	if n := countOf(draw("Tern 3 lead, Kite 14 trail", "Kite 14.third-pipe-hose-1=crossed"), "wrong"); n == 0 {
		t.Error("a crossed hose is not drawn")
	}
	if n := countOf(draw("Tern 3 lead, Kite 11 trail", "Kite 11.third-pipe-hose-2=hanging"), "wrong"); n == 0 {
		t.Error("a hanging hose is not drawn")
	}
	if a, b := draw("Tern 3 lead, Kite 11 trail"), draw("Tern 3 lead, Kite 12 trail"); countOf(a, "pipe") == countOf(b, "pipe") {
		t.Error("a blanked pipe is drawn as any other")
	}
	if long := draw("Tern 3 lead, 20 HX loaded, GV"); !strings.Contains(words(long), "18 more") || long.Height > 1200 {
		t.Errorf("wagons that stand alike are drawn one by one: %s", long)
	}
	if odd := draw("Tern 3 lead, 20 HX loaded, GV", "HX 210.brake-pipe-cock-2=closed"); strings.Contains(words(odd), "18 more") {
		t.Error("a cock that is shut in the middle of the train goes under")
	}
	for _, c := range f.Classes {
		d := card.ClassDrawing(c, c.Places, func(n int) string { return "#" })
		n := 0
		for _, m := range d.Marks {
			if m.To != "" {
				n++
			}
		}
		if n != 2*len(c.Places) {
			t.Errorf("%s: %d stands drawn, want each of %d twice", c.Name, n, len(c.Places))
		}
	}
}
