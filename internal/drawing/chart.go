package drawing

import (
	"bytes"
	"io"
	"math"
	"strconv"
	"strings"
)

// Chart is curves over one axis, in one panel or several under each other.
type Chart struct {
	ID          string // tells drawings on one page apart; "": chart
	Title, Says string
	X           Axis
	Panels      []Panel
}

// Axis is what is laid off, in its unit.
type Axis struct {
	Name      string // with its unit
	Low, High float64
}

// Panel is curves with one axis upward.
type Panel struct {
	Y      Axis // where Low and High are equal, from the curves
	Curves []Curve
	Places []Tick  // names along the x axis, at the head of the panel
	High   float64 // of the panel as a part of the others; 0: 1
}

// Tick is a named place on an axis.
type Tick struct {
	At   float64
	Name string
}

// Curve is one curve. Class is how it looks: "main", "second", "third", "limit" or "ground",
// which is filled down to the axis. A NaN in Y lifts the pen.
type Curve struct {
	Name, Class string
	X, Y        []float64
}

const (
	chartWidth  = 900.0
	chartLeft   = 74.0
	chartRight  = 20.0
	chartTop    = 54.0
	panelHeight = 190.0
	panelGap    = 64.0
	rowHigh     = 16.0 // of a line of small words
	narrowLeft  = 46.0
	narrowRight = 14.0
	narrowBelow = 600.0
)

// What a letter takes at most, px: of names and keys, and of the bold names of axes.
const (
	letter = 6.2
	keyed  = 7.0
	heavy  = 7.4
)

// Steps are even marks of an axis: about so many, at 1, 2 or 5 times a power of ten.
func Steps(low, high float64, about int) []float64 {
	if !(high > low) || about < 1 || math.IsInf(high-low, 0) {
		return nil
	}
	raw := (high - low) / float64(about)
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	step := p
	for _, k := range []float64{1, 2, 5, 10} {
		if step = k * p; step >= raw*0.999 {
			break
		}
	}
	var out []float64
	for k := math.Ceil(low/step - 1e-9); k*step <= high+step*1e-9; k++ {
		out = append(out, k*step)
	}
	return out
}

func (p Panel) axis() Axis {
	a := p.Y
	if a.Low != a.High {
		return a
	}
	a.Low, a.High = math.Inf(1), math.Inf(-1)
	for _, c := range p.Curves {
		for _, y := range c.Y {
			if !math.IsNaN(y) {
				a.Low, a.High = math.Min(a.Low, y), math.Max(a.High, y)
			}
		}
	}
	if math.IsInf(a.Low, 0) || math.IsInf(a.High, 0) {
		return Axis{a.Name, 0, 1}
	}
	if a.Low > 0 && a.Low < a.High*0.6 {
		a.Low = 0
	}
	if a.Low == a.High {
		a.High = a.Low + 1
	}
	a.High += (a.High - a.Low) * 0.06
	if a.Low != 0 {
		a.Low -= (a.High - a.Low) * 0.06
	}
	return a
}

// Draw lays the chart down under its title, 900 px wide.
func (c Chart) Draw() *Drawing { return c.lay(chartWidth, true) }

// Bare lays the chart down in a width, px, without its title, for a page that says it
// itself. Below 600 px there are fewer marks and what does not fit in a line runs on in the
// next.
func (c Chart) Bare(width float64) *Drawing { return c.lay(width, false) }

// field is where the panels of a chart stand on their sheet.
type field struct {
	left, wide float64 // of the panels
	named      float64 // where the name of an axis begins
	marks      int     // about so many along the x axis
}

func (c Chart) lay(width float64, titled bool) *Drawing {
	d := &Drawing{Width: width, ID: c.ID, Title: c.Title, Says: c.Says}
	if d.ID == "" {
		d.ID = "chart"
	}
	f := field{chartLeft, width - chartLeft - chartRight, chartLeft, 10}
	if width < narrowBelow {
		f = field{narrowLeft, width - narrowLeft - narrowRight, 2, 5}
	}
	y := 6.0
	if titled {
		d.Words("title", f.left, 24, c.Title)
		y = chartTop - rowHigh
	}
	for i, p := range c.Panels {
		h := panelHeight
		if p.High > 0 {
			h *= p.High
		}
		for _, s := range Lines(p.Y.Name, int((width-f.named)/heavy)) {
			y += rowHigh
			d.Words("axis", f.named, y-6, s)
		}
		rows := c.panel(d, f, p, y, h, i == len(c.Panels)-1)
		y += h + panelGap - rowHigh + rowHigh*float64(rows-1)
	}
	d.Height = y + 8
	return d
}

// Lines breaks a text between words into lines of so many letters at most; a longer word
// stands whole.
func Lines(text string, most int) []string {
	var out []string
	for _, w := range strings.Fields(text) {
		if n := len(out); n > 0 && len([]rune(out[n-1]))+1+len([]rune(w)) <= most {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

// panel lays one panel down and says how many lines of keys stand under it.
func (c Chart) panel(d *Drawing, f field, p Panel, top, h float64, last bool) int {
	a := p.axis()
	w := f.wide
	x := func(v float64) float64 { return f.left + w*(v-c.X.Low)/(c.X.High-c.X.Low) }
	y := func(v float64) float64 { return top + h - h*(v-a.Low)/(a.High-a.Low) }
	for _, s := range Steps(a.Low, a.High, max(2, min(5, int(h/24)))) {
		d.Line("grid", f.left, y(s), f.left+w, y(s))
		d.Words("tick end", f.left-8, y(s)+4, plain(s))
	}
	for _, s := range Steps(c.X.Low, c.X.High, f.marks) {
		d.Line("grid", x(s), top, x(s), top+h)
		d.Words("tick middle", x(s), top+h+16, plain(s))
	}
	for _, k := range p.Curves {
		class := k.Class
		if class == "" {
			class = "main"
		}
		var xy []float64
		put := func() {
			if len(xy) >= 4 {
				if class == "ground" {
					xy = append(xy, xy[len(xy)-2], top+h, xy[0], top+h)
					d.Area(class, xy...)
				} else {
					d.Line("curve "+class, xy...)
				}
			}
			xy = nil
		}
		for i := range k.X {
			v := k.Y[i]
			if math.IsNaN(v) || k.X[i] < c.X.Low || k.X[i] > c.X.High {
				put()
				continue
			}
			xy = append(xy, x(k.X[i]), y(math.Min(math.Max(v, a.Low), a.High)))
		}
		put()
	}
	// names of places go over what is drawn; each in the first row in which it is clear of
	// the one before
	var free []float64
	for _, t := range p.Places {
		if t.At < c.X.Low || t.At > c.X.High {
			continue
		}
		wide := letter * float64(len([]rune(t.Name)))
		from, at, class := x(t.At)+4, x(t.At)+4, "place"
		if at+wide > f.left+w {
			from, at, class = x(t.At)-4-wide, x(t.At)-4, "place end"
		}
		row := 0
		for row < len(free) && from < free[row] {
			row++
		}
		if row == len(free) {
			free = append(free, 0)
		}
		free[row] = from + wide + 8
		d.Line("place", x(t.At), top, x(t.At), top+h)
		d.Words(class, at, top+12+14*float64(row), t.Name)
	}
	rows, named := 1, f.left+4
	for _, k := range p.Curves {
		if k.Name == "" {
			continue
		}
		class := k.Class
		if class == "" {
			class = "main"
		}
		wide := 27 + keyed*float64(len([]rune(k.Name)))
		if named > f.left+4 && named+wide > f.left+w {
			rows, named = rows+1, f.left+4
		}
		at := top + h + 34 + rowHigh*float64(rows-1)
		d.Line("curve "+class, named, at-4, named+22, at-4)
		d.Words("key", named+27, at, k.Name)
		named += wide + 18
	}
	d.Line("frame", f.left, top, f.left, top+h, f.left+w, top+h)
	if last {
		if named+heavy*float64(len([]rune(c.X.Name))) > f.left+w {
			rows++
		}
		d.Words("axis end", f.left+w, top+h+34+rowHigh*float64(rows-1), c.X.Name)
	}
	return rows
}

func plain(v float64) string {
	if v == 0 {
		v = 0 // no zero with a sign
	}
	return strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
}

// Page writes the drawing as an SVG file that needs nothing else: its looks are in it.
func Page(out io.Writer, d *Drawing) error {
	var b bytes.Buffer
	if err := SVG(&b, d); err != nil {
		return err
	}
	_, err := io.WriteString(out, strings.Replace(b.String(), "</desc>\n", "</desc>\n<style>svg{background:#fff;color:#000;font-family:sans-serif}"+Style()+"</style>\n", 1))
	return err
}
