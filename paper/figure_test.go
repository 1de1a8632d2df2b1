package paper

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"headstock/card"
	"headstock/internal/drawing"
)

// drawn is a document with a chart and a drawing of every sort of mark.
func drawnDoc() (*card.Document, *drawing.Drawing) {
	d := &card.Document{Title: "Drawn"}
	d.Chart(drawing.Chart{ID: "c", Title: "Speed <&>", Says: "it falls", X: drawing.Axis{Name: "m", Low: 0, High: 100}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "speed, km/h"}, Curves: []drawing.Curve{{Name: "speed", Class: "main", X: []float64{0, 50, 100}, Y: []float64{40, 30, 0}}, {Name: "limit", Class: "limit", X: []float64{0, 100}, Y: []float64{45, 45}}}}}})
	x := &drawing.Drawing{Width: 100, Height: 80, ID: "x", Title: "Marks", Says: "each"}
	x.Line("thin", 0, 0, 50, 40)
	x.Area("solid", 10, 10, 20, 10, 15, 20)
	x.Box("body", 30, 30, 40, 20)
	x.Add(drawing.Mark{Class: "mark far", To: "#1", Name: "one", Ring: &drawing.Ring{X: 50, Y: 60, Radius: 13}, With: []drawing.Mark{{Class: "number", Words: &drawing.Words{X: 50, Y: 64.5, Text: "7"}}}})
	x.Words("small end", 90, 70, "end")
	d.Figure(x)
	return d, x
}

// Every mark of a drawing is a mark of the page, where it stands in the drawing and to its
// scale; nothing leaves the page; the same drawing is the same file.
func TestFigureInPrint(t *testing.T) {
	doc, x := drawnDoc()
	for _, paper := range Papers() {
		p, err := print(doc, Sheet{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		var shapes, words, dashed int
		var ring, seven *op
		for _, page := range p.pages {
			for i, o := range page {
				switch o.kind {
				case opShape:
					shapes++
					for _, q := range o.points {
						if a, b := o.x+q[0], o.y+q[1]; a < p.side-0.01 || a > p.w-p.side+0.01 || b < 0 || b > p.h {
							t.Errorf("%s: a line leaves the page at %.1f, %.1f", paper, a, b)
						}
					}
				case opRing:
					ring = &page[i]
				case opClear:
					words++
					if o.text == "7" {
						seven = &page[i]
					}
					if o.x < p.side-0.01 || o.x+o.w > p.w-p.side+0.5 {
						t.Errorf("%s: %q leaves the page: %.1f to %.1f", paper, o.text, o.x, o.x+o.w)
					}
				}
				if len(o.dash) > 0 {
					dashed++
				}
			}
		}
		if shapes < 12 || words < 8 || dashed < 3 || ring == nil || seven == nil {
			t.Fatalf("%s: %d shapes, %d words, %d dashed, ring %v, its number %v", paper, shapes, words, dashed, ring, seven)
		}
		px := ring.w / 13
		if math.Abs(seven.x+seven.w/2-ring.x) > 0.01 || math.Abs(seven.y-ring.y-4.5*px) > 0.01 {
			t.Errorf("%s: the number at %.2f, %.2f of a ring at %.2f, %.2f", paper, seven.x, seven.y, ring.x, ring.y)
		}
		if px > narrowPixel+1e-9 || px < 0.1 {
			t.Errorf("%s: %.3f mm to a pixel", paper, px)
		}
		var a, b bytes.Buffer
		if err := PDF(&a, doc, Sheet{Paper: paper}); err != nil {
			t.Fatal(err)
		}
		if err := PDF(&b, doc, Sheet{Paper: paper}); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: twice printed, twice another file: %v", paper, err)
		}
	}
	// what would be too small is not drawn, and the paper says so
	x.Width = 4000
	p, err := print(doc, Sheet{Paper: "A6"})
	if err != nil {
		t.Fatal(err)
	}
	said := false
	for _, page := range p.pages {
		for _, o := range page {
			said = said || strings.Contains(o.text, "too small")
		}
	}
	if !said {
		t.Error("a drawing that is too small for the paper is passed over in silence")
	}
}

// On a page a chart stands in its wide and in its narrow form, each with its own name, and
// text and tables do without.
func TestFigureOnPage(t *testing.T) {
	doc, _ := drawnDoc()
	var b bytes.Buffer
	if err := HTML(&b, doc); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for _, want := range []string{`class="drawing wide"`, `class="drawing narrow"`, `id="c-wide-t"`, `id="c-t"`, `id="x-t"`, "Speed &lt;&amp;&gt;", "svg polyline.limit{", `aria-label="drawing: Marks"`} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s", want)
		}
	}
	for id, n := range map[string]int{`id="c-t"`: 1, `id="c-wide-t"`: 1} {
		if strings.Count(text, id) != n {
			t.Errorf("%s stands %d times", id, strings.Count(text, id))
		}
	}
	b.Reset()
	if err := Text(&b, doc, Style{}); err != nil || strings.Contains(b.String(), "polyline") {
		t.Errorf("a drawing in text: %v", err)
	}
}
