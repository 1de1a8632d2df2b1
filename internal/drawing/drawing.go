// Package drawing is a list of marks on a sheet, and a writer that makes them SVG. Whoever
// draws names what a mark is (a body, a pipe, a wheel) and where it stands; how such a mark
// looks is for the page it ends on. A drawing has a title and a description in words, since
// not everybody sees it. The package knows nothing of what is drawn.
package drawing

import (
	"fmt"
	"html"
	"io"
	"strconv"
	"strings"
)

// Drawing is marks on a sheet of a size, in the order in which they are laid down. Lengths
// are in CSS pixels; the origin is the upper left corner.
type Drawing struct {
	Width, Height float64
	ID            string // tells drawings on one page apart
	Title         string
	Says          string
	Marks         []Mark
}

// Mark is one mark. Exactly one of Line, Box, Ring, Area and Words is filled; a mark with To
// leads there and has a name of its own.
type Mark struct {
	Class string // what it is: its looks are the page's
	To    string // address
	Name  string // of a mark that leads somewhere
	Line  []Point
	Box   *Box
	Ring  *Ring
	Area  []Point // closed
	Words *Words
	With  []Mark // laid down with it, inside the same link
}

// Point is a place on the sheet.
type Point struct{ X, Y float64 }

// Box is a rectangle by its upper left corner.
type Box struct{ X, Y, Width, Height float64 }

// Ring is a circle.
type Ring struct{ X, Y, Radius float64 }

// Words is text at a place.
type Words struct {
	X, Y float64
	Text string
}

// Add lays down a mark.
func (d *Drawing) Add(m Mark) { d.Marks = append(d.Marks, m) }

// Line lays down a line through points, given as x, y, x, y.
func (d *Drawing) Line(class string, xy ...float64) {
	d.Add(Mark{Class: class, Line: points(xy)})
}

// Area lays down a closed shape.
func (d *Drawing) Area(class string, xy ...float64) {
	d.Add(Mark{Class: class, Area: points(xy)})
}

// Box lays down a rectangle.
func (d *Drawing) Box(class string, x, y, width, height float64) {
	d.Add(Mark{Class: class, Box: &Box{x, y, width, height}})
}

// Ring lays down a circle.
func (d *Drawing) Ring(class string, x, y, radius float64) {
	d.Add(Mark{Class: class, Ring: &Ring{x, y, radius}})
}

// Words lays down text.
func (d *Drawing) Words(class string, x, y float64, text string) {
	d.Add(Mark{Class: class, Words: &Words{x, y, text}})
}

func points(xy []float64) []Point {
	var out []Point
	for i := 0; i+1 < len(xy); i += 2 {
		out = append(out, Point{xy[i], xy[i+1]})
	}
	return out
}

// SVG writes the drawing. Every text is escaped, and no mark carries a style. A drawing
// whose marks lead somewhere is a group, so that a reader reaches each of them; any other is
// one image with its title and description.
func SVG(out io.Writer, d *Drawing) error {
	w := &writer{out: out}
	role := "img"
	for _, m := range d.Marks {
		if m.To != "" {
			role = "group"
		}
	}
	id := html.EscapeString(d.ID)
	w.put(`<svg role="`, role, `" aria-labelledby="`, id, `-t" aria-describedby="`, id, `-d" width="`, number(d.Width), `" height="`, number(d.Height),
		`" viewBox="0 0 `, number(d.Width), " ", number(d.Height), `" xmlns="http://www.w3.org/2000/svg"><title id="`, id, `-t">`, html.EscapeString(d.Title),
		`</title><desc id="`, id, `-d">`, html.EscapeString(d.Says), "</desc>\n")
	for _, m := range d.Marks {
		w.mark(m)
	}
	w.put("</svg>\n")
	return w.err
}

type writer struct {
	out io.Writer
	err error
}

func (w *writer) put(parts ...string) {
	for _, s := range parts {
		if w.err == nil {
			_, w.err = io.WriteString(w.out, s)
		}
	}
}

func (w *writer) mark(m Mark) {
	if m.To != "" {
		w.put(`<a href="`, html.EscapeString(m.To), `" aria-label="`, html.EscapeString(m.Name), `">`)
	}
	class := ""
	if m.Class != "" {
		class = ` class="` + html.EscapeString(m.Class) + `"`
	}
	switch {
	case len(m.Line) > 0:
		w.put("<polyline", class, ` points="`, list(m.Line), `"/>`)
	case len(m.Area) > 0:
		w.put("<polygon", class, ` points="`, list(m.Area), `"/>`)
	case m.Box != nil:
		b := m.Box
		w.put("<rect", class, ` x="`, number(b.X), `" y="`, number(b.Y), `" width="`, number(b.Width), `" height="`, number(b.Height), `"/>`)
	case m.Ring != nil:
		w.put("<circle", class, ` cx="`, number(m.Ring.X), `" cy="`, number(m.Ring.Y), `" r="`, number(m.Ring.Radius), `"/>`)
	case m.Words != nil:
		w.put("<text", class, ` x="`, number(m.Words.X), `" y="`, number(m.Words.Y), `">`, html.EscapeString(m.Words.Text), "</text>")
	}
	for _, x := range m.With {
		w.mark(x)
	}
	if m.To != "" {
		w.put("</a>")
	}
	w.put("\n")
}

func list(ps []Point) string {
	var out []string
	for _, p := range ps {
		out = append(out, number(p.X)+","+number(p.Y))
	}
	return strings.Join(out, " ")
}

// number writes a length to a tenth of a pixel, the same on every machine.
func number(x float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(x, 'f', 1, 64), ".0")
}

// String names the size of a drawing and how many marks it has, for a test that fails.
func (d *Drawing) String() string {
	return fmt.Sprintf("%s: %s by %s, %d marks", d.Title, number(d.Width), number(d.Height), len(d.Marks))
}
