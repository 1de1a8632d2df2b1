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

// Draw lays the chart down.
func (c Chart) Draw() *Drawing {
	d := &Drawing{Width: chartWidth, ID: "chart", Title: c.Title, Says: c.Says}
	d.Words("title", chartLeft, 24, c.Title)
	y := chartTop
	for i, p := range c.Panels {
		h := panelHeight
		if p.High > 0 {
			h *= p.High
		}
		c.panel(d, p, y, h, i == len(c.Panels)-1)
		y += h + panelGap
	}
	d.Height = y + 8
	return d
}

func (c Chart) panel(d *Drawing, p Panel, top, h float64, last bool) {
	a := p.axis()
	w := chartWidth - chartLeft - chartRight
	x := func(v float64) float64 { return chartLeft + w*(v-c.X.Low)/(c.X.High-c.X.Low) }
	y := func(v float64) float64 { return top + h - h*(v-a.Low)/(a.High-a.Low) }
	for _, s := range Steps(a.Low, a.High, 5) {
		d.Line("grid", chartLeft, y(s), chartLeft+w, y(s))
		d.Words("tick end", chartLeft-8, y(s)+4, plain(s))
	}
	for _, s := range Steps(c.X.Low, c.X.High, 10) {
		d.Line("grid", x(s), top, x(s), top+h)
		d.Words("tick middle", x(s), top+h+16, plain(s))
	}
	free := math.Inf(-1)
	for _, t := range p.Places {
		if t.At < c.X.Low || t.At > c.X.High {
			continue
		}
		d.Line("place", x(t.At), top, x(t.At), top+h)
		at, class := x(t.At)+4, "place"
		if wide := 6.2 * float64(len([]rune(t.Name))); at+wide > chartLeft+w {
			at, class = x(t.At)-4, "place end"
		}
		row := top + 12
		if at-6.2*float64(len([]rune(t.Name)))*end(class) <= free {
			row += 14
		}
		d.Words(class, at, row, t.Name)
		free = at + 6.2*float64(len([]rune(t.Name))) + 8 // at the right edge nothing follows
	}
	named := chartLeft + 4.0
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
		if k.Name != "" {
			d.Line("curve "+class, named, top+h+30, named+22, top+h+30)
			d.Words("key", named+27, top+h+34, k.Name)
			named += 27 + 7*float64(len([]rune(k.Name))) + 18
		}
	}
	d.Line("frame", chartLeft, top, chartLeft, top+h, chartLeft+w, top+h)
	d.Words("axis", chartLeft, top-6, a.Name)
	if last {
		d.Words("axis end", chartLeft+w, top+h+34, c.X.Name)
	}
}

// end is 1 for words that end where they stand.
func end(class string) float64 {
	if strings.HasSuffix(class, " end") {
		return 1
	}
	return 0
}

func plain(v float64) string {
	if v == 0 {
		v = 0 // no zero with a sign
	}
	return strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
}

// sheetStyle is how a drawing looks that stands in a file of its own: black on white, told
// apart by dashes and not by colour.
const sheetStyle = `svg{background:#fff;font-family:sans-serif;font-size:12px}` +
	`text{fill:#000}.title{font-size:15px;font-weight:bold}.tick,.key,.place{font-size:11px}.axis{font-weight:bold}` +
	`.end{text-anchor:end}.middle{text-anchor:middle}` +
	`polyline{fill:none;stroke:#000}.grid{stroke:#ddd;stroke-width:1}.frame{stroke-width:1.2}polyline.place{stroke:#888;stroke-dasharray:2 3}` +
	`.curve{stroke-width:2}.second{stroke-dasharray:7 4}.third{stroke-dasharray:2 3}.limit{stroke:#555;stroke-width:1.2;stroke-dasharray:10 3 2 3}` +
	`polygon.ground{fill:#e4e4e4;stroke:#555;stroke-width:1}polyline.ground{stroke:#555;stroke-width:6;opacity:.4}`

// Page writes the drawing as an SVG file that needs nothing else: its looks are in it.
func Page(out io.Writer, d *Drawing) error {
	var b bytes.Buffer
	if err := SVG(&b, d); err != nil {
		return err
	}
	_, err := io.WriteString(out, strings.Replace(b.String(), "</desc>\n", "</desc>\n<style>"+sheetStyle+"</style>\n", 1))
	return err
}
