package drawing

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
)

func TestSteps(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		about     int
		want      []float64
	}{{0, 88, 10, []float64{0, 10, 20, 30, 40, 50, 60, 70, 80}}, {0, 1, 5, []float64{0, 0.2, 0.4, 0.6, 0.8, 1}}, {-50, 50, 4, []float64{-50, 0, 50}}, {3, 3, 5, nil}, {0, math.Inf(1), 5, nil}} {
		got := Steps(c.low, c.high, c.about)
		if len(got) != len(c.want) {
			t.Errorf("%g to %g: %v", c.low, c.high, got)
			continue
		}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-9 {
				t.Errorf("%g to %g: %v", c.low, c.high, got)
			}
		}
	}
}

// A chart is well-formed, keeps every point on its sheet, lifts the pen where nothing is
// known, and escapes what it is told.
func TestChart(t *testing.T) {
	c := Chart{Title: `A <&> "B"`, Says: "x", X: Axis{"km", 0, 10}, Panels: []Panel{
		{Y: Axis{Name: "v"}, Curves: []Curve{{Name: "v", X: []float64{0, 2, 4, 6, 8, 10, 12}, Y: []float64{1, 5, math.NaN(), 7, 9, 900, 4}}}, Places: []Tick{{0, "first"}, {9.9, "last"}, {11, "beyond"}}},
		{Y: Axis{"h", 0, 5}, Curves: []Curve{{Class: "ground", X: []float64{0, 10}, Y: []float64{1, 9}}}},
		{Y: Axis{Name: "nothing"}},
	}}
	d := c.Draw()
	lines := 0
	for _, m := range d.Marks {
		for _, p := range append(slices.Clone(m.Line), m.Area...) {
			if math.IsNaN(p.X) || math.IsNaN(p.Y) || p.X < 0 || p.X > d.Width || p.Y < 0 || p.Y > d.Height {
				t.Errorf("%s leaves the sheet at %v", m.Class, p)
			}
		}
		if m.Words != nil && m.Words.Text == "beyond" {
			t.Error("a place beyond the axis is written")
		}
		if m.Class == "curve main" && len(m.Line) > 1 {
			lines++
		}
	}
	if lines != 3 { // two pieces, and the key
		t.Errorf("%d lines of the curve", lines)
	}
	var b bytes.Buffer
	if err := Page(&b, d); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "<style>") || strings.Contains(b.String(), `A <&>`) {
		t.Error("no style, or a text that is not escaped")
	}
	x := xml.NewDecoder(&b)
	for {
		if _, err := x.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
}
