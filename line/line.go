// Package line holds the graded line: its places, and between them what a vehicle meets:
// axle loads, curves, speeds, gradients and loops.
//
// A line file is YAML, read with file, line and column of every complaint. Distances are
// metres from the zero of the line, in the direction of its kilometres; a gradient is
// positive where the line rises in that direction. What a section does not say stays
// unsaid (0), and whoever needs it answers "cannot say".
//
// The package does not know what runs over the line.
package line

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

// Line is one line from its first place to its last.
type Line struct {
	Name      string
	Source    string // key of the bibliography
	Places    []Place
	Sections  []Section
	Gradients []Gradient
	Curves    []Curve
	Speeds    []Speed
	Hash      string // content hash of the file
}

// Place is a named point of the line.
type Place struct {
	Name      string
	At        float64 // m
	Height    float64 // m above the sea
	HasHeight bool
	Loop      float64 // usable length of its loop, m; 0: none stated
	Pos       reading.Pos
}

// Section is the line between two places with its limits; 0 is not stated.
type Section struct {
	From, To   string
	Start, End float64 // m
	AxleLoad   float64 // kg on one axle, at most
	Sharpest   float64 // m, radius of the sharpest curve
	Speed      float64 // m/s, at most
	Pos        reading.Pos
}

// Name is the section as spoken.
func (s Section) Name() string { return s.From + " to " + s.To }

// Gradient is a stretch of one slope.
type Gradient struct {
	Start, End float64 // m
	Slope      float64 // rise over length, positive where it rises with the kilometres
	Pos        reading.Pos
}

// Curve is one curve.
type Curve struct {
	Start, End float64 // m
	Radius     float64 // m
	Hand       string  // left or right, with the kilometres; "" when not stated
	Pos        reading.Pos
}

// Speed is a speed limit lower than that of its section.
type Speed struct {
	Start, End float64 // m
	AtMost     float64 // m/s
	Pos        reading.Pos
}

// heightSlack is how far the gradients may miss the stated height of a place before it is
// complained of, m: heights and gradient posts are written to the metre and to 1 in so
// many (common practice).
const heightSlack = 2

// Place finds a place by its name, in any letters.
func (l *Line) Place(name string) (Place, bool) {
	for _, p := range l.Places {
		if strings.EqualFold(p.Name, name) {
			return p, true
		}
	}
	return Place{}, false
}

// Names are the places in order.
func (l *Line) Names() []string {
	var out []string
	for _, p := range l.Places {
		out = append(out, p.Name)
	}
	return out
}

// UnknownPlace is a name that is no place of the line.
type UnknownPlace struct {
	Line, Name, Nearest string
	Places              []string
}

func (e *UnknownPlace) Error() string {
	s := fmt.Sprintf("no place %q on %s; expected one of %s", e.Name, e.Line, strings.Join(e.Places, ", "))
	if e.Nearest != "" {
		s += "; nearest: " + e.Nearest
	}
	return s
}

// Between are the sections that a train runs over from one place to another, in the order
// in which it meets them, and the distance in m. An error is an *UnknownPlace, or says
// that both places are one, or that no section covers a part of the way.
func (l *Line) Between(from, to string) ([]Section, float64, error) {
	var at [2]Place
	for i, n := range []string{from, to} {
		p, ok := l.Place(n)
		if !ok {
			return nil, 0, &UnknownPlace{l.Name, n, reading.Nearest(n, l.Names()), l.Names()}
		}
		at[i] = p
	}
	low, high := math.Min(at[0].At, at[1].At), math.Max(at[0].At, at[1].At)
	if low == high {
		return nil, 0, fmt.Errorf("%s and %s are one place", from, to)
	}
	var out []Section
	covered := low
	for _, s := range l.Sections {
		if s.End <= low || s.Start >= high {
			continue
		}
		if s.Start > covered {
			break
		}
		covered = s.End
		out = append(out, s)
	}
	if covered < high {
		return nil, 0, fmt.Errorf("no section of the line %s covers the way from km %g", l.Name, covered/1000)
	}
	if at[0].At > at[1].At {
		slices.Reverse(out)
		for i := range out { // named as they are met; Start and End stay with the kilometres
			out[i].From, out[i].To = out[i].To, out[i].From
		}
	}
	return out, high - low, nil
}

// Read reads a line file of a railway's folder. The line is nil when nothing could be
// read; a line with complaints is good for nothing that a person acts on.
func Read(fsys fs.FS, name string) (*Line, []reading.Complaint) {
	data, err := reading.File(fsys, name)
	if err != nil {
		return nil, []reading.Complaint{reading.Unreadable(name, err)}
	}
	root, cs := reading.Parse(name, data)
	r := &reader{complaints: cs}
	if root == nil {
		return nil, r.complaints
	}
	sum := sha256.Sum256(data)
	l := &Line{Hash: hex.EncodeToString(sum[:])}
	r.line(l, root)
	reading.Sort(r.complaints)
	return l, r.complaints
}

type reader struct{ complaints []reading.Complaint }

func (r *reader) complain(code string, pos reading.Pos, message, expected, nearest string) {
	r.complaints = append(r.complaints, reading.Complaint{Code: code, Pos: pos, Message: message, Expected: expected, Nearest: nearest})
}

func (r *reader) line(l *Line, root *reading.Node) {
	if root.Kind() != reading.Map {
		r.complain(CodeShape, root.Pos(), "the file is "+root.Kind().String(), "a map: line, source, places, sections …", "")
		return
	}
	keys := []string{"line", "source", "places", "sections", "gradients", "curves", "speeds"}
	r.need(root, root.Pos(), "a line file", "line", "source", "places", "sections")
	for _, e := range root.Entries() {
		n := e.Value
		switch e.Key {
		case "line":
			l.Name = r.word(n)
		case "source":
			if l.Source = r.word(n); l.Source != "" {
				if _, ok := source.Lookup(l.Source); !ok {
					r.complain(CodeSource, n.Pos(), fmt.Sprintf("no source %q in the bibliography", l.Source), "a key of the bibliography, or drawing-…", source.Nearest(l.Source))
				}
			}
		case "places":
			r.places(l, n)
		case "sections", "gradients", "curves", "speeds": // after the places, wherever they stand
		default:
			r.complain(CodeKey, e.KeyPos, fmt.Sprintf("a line file has no %q", e.Key), strings.Join(keys, ", "), reading.Nearest(e.Key, keys))
		}
	}
	r.sections(l, root.Get("sections"))
	r.gradients(l, root.Get("gradients"))
	r.curves(l, root.Get("curves"))
	r.speeds(l, root.Get("speeds"))
}

func (r *reader) need(n *reading.Node, pos reading.Pos, what string, keys ...string) {
	for _, k := range keys {
		if !n.Has(k) {
			r.complain(CodeMissing, pos, fmt.Sprintf("%s has no %s", what, k), k+": …", "")
		}
	}
}

func (r *reader) word(n *reading.Node) string {
	if n.Kind() != reading.Word {
		r.complain(CodeShape, n.Pos(), n.Kind().String()+" stands here", "a word or a text", "")
	}
	return n.Text()
}

// figure reads a quantity of a kind that is above zero, or 0 after a complaint.
func (r *reader) figure(n *reading.Node, kind quantity.Kind) float64 {
	v, ok := r.any(n, kind)
	if ok && v <= 0 {
		r.complain(CodeQuantity, n.Pos(), fmt.Sprintf("%q is not above zero", n.Text()), "a "+kind.String()+" above zero", "")
		return 0
	}
	return v
}

func (r *reader) any(n *reading.Node, kind quantity.Kind) (float64, bool) {
	t := r.word(n)
	if t == "" {
		return 0, false
	}
	v, err := quantity.Parse(t)
	if err != nil {
		r.complain(CodeQuantity, n.Pos(), err.Error(), fmt.Sprintf("a %s in a unit such as %s", kind, kind.Example()), "")
		return 0, false
	}
	if v.Kind != kind {
		r.complain(CodeQuantity, n.Pos(), fmt.Sprintf("%q is a %s", t, v.Kind), fmt.Sprintf("a %s in a unit such as %s", kind, kind.Example()), "")
		return 0, false
	}
	return v.SI, true
}

func (r *reader) places(l *Line, n *reading.Node) {
	if n.Kind() != reading.Map {
		r.complain(CodeShape, n.Pos(), "places is "+n.Kind().String(), "names, each with at: …", "")
		return
	}
	keys := []string{"at", "height", "loop"}
	for _, e := range n.Entries() {
		p := Place{Name: e.Key, Pos: e.KeyPos}
		if e.Value.Kind() != reading.Map {
			r.complain(CodeShape, e.Value.Pos(), fmt.Sprintf("place %q is %s", e.Key, e.Value.Kind()), "{at: 41 km, height: 96 m}", "")
			continue
		}
		r.need(e.Value, e.KeyPos, fmt.Sprintf("place %q", e.Key), "at")
		for _, k := range e.Value.Entries() {
			switch k.Key {
			case "at":
				p.At, _ = r.any(k.Value, quantity.Length)
			case "height":
				p.Height, p.HasHeight = r.any(k.Value, quantity.Length)
			case "loop":
				p.Loop = r.figure(k.Value, quantity.Length)
			default:
				r.complain(CodeKey, k.KeyPos, fmt.Sprintf("a place has no %q", k.Key), strings.Join(keys, ", "), reading.Nearest(k.Key, keys))
			}
		}
		if k := len(l.Places); k > 0 && p.At <= l.Places[k-1].At {
			r.complain(CodeOrder, e.KeyPos, fmt.Sprintf("%s does not lie beyond %s", p.Name, l.Places[k-1].Name), "the places in the order of their distance", "")
		}
		l.Places = append(l.Places, p)
	}
}

func (r *reader) items(n *reading.Node, what string, keys []string, begin func(i *reading.Node), do func(e reading.Entry) bool, done func(i *reading.Node)) {
	if n == nil {
		return
	}
	for _, i := range n.Items() {
		if i.Kind() != reading.Map {
			r.complain(CodeShape, i.Pos(), what+" is "+i.Kind().String(), "a map: "+strings.Join(keys, ", "), "")
			continue
		}
		r.need(i, i.Pos(), what, "from", "to")
		begin(i)
		for _, e := range i.Entries() {
			if !do(e) {
				r.complain(CodeKey, e.KeyPos, fmt.Sprintf("%s has no %q", what, e.Key), strings.Join(keys, ", "), reading.Nearest(e.Key, keys))
			}
		}
		done(i)
	}
}

func (r *reader) sections(l *Line, n *reading.Node) {
	var s Section
	r.items(n, "a section", []string{"from", "to", "axle load", "sharpest curve", "speed"}, func(i *reading.Node) { s = Section{Pos: i.Pos()} }, func(e reading.Entry) bool {
		place := func() (string, float64) {
			t := r.word(e.Value)
			p, ok := l.Place(t)
			if !ok && t != "" {
				r.complain(CodePlace, e.Value.Pos(), fmt.Sprintf("no place %q on this line", t), "one of "+strings.Join(l.Names(), ", "), reading.Nearest(t, l.Names()))
			}
			return p.Name, p.At
		}
		switch e.Key {
		case "from":
			s.From, s.Start = place()
		case "to":
			s.To, s.End = place()
		case "axle load":
			s.AxleLoad = r.figure(e.Value, quantity.Mass)
		case "sharpest curve":
			s.Sharpest = r.figure(e.Value, quantity.Length)
		case "speed":
			s.Speed = r.figure(e.Value, quantity.Speed)
		default:
			return false
		}
		return true
	}, func(i *reading.Node) {
		if s.From == "" || s.To == "" {
			return
		}
		if s.End <= s.Start {
			r.complain(CodeOrder, i.Pos(), fmt.Sprintf("the section from %s to %s runs against the kilometres", s.From, s.To), "from the place with the lower distance", "")
			return
		}
		if k := len(l.Sections); k > 0 && s.Start != l.Sections[k-1].End {
			r.complain(CodeGap, i.Pos(), fmt.Sprintf("the section from %s does not begin where the one before ends, at %s", s.From, l.Sections[k-1].To), "sections that join each other", "")
		}
		l.Sections = append(l.Sections, s)
	})
}

// stretch reads the two distances of a stretch.
func (r *reader) stretch(e reading.Entry, start, end *float64) bool {
	switch e.Key {
	case "from":
		*start, _ = r.any(e.Value, quantity.Length)
	case "to":
		*end, _ = r.any(e.Value, quantity.Length)
	default:
		return false
	}
	return true
}

// order complains of a stretch that runs backwards, begins before the last one ended, or,
// where they must join, after it.
func (r *reader) order(pos reading.Pos, start, end, last float64, first, join bool) bool {
	switch {
	case end <= start:
		r.complain(CodeOrder, pos, fmt.Sprintf("km %g to km %g runs against the kilometres", start/1000, end/1000), "from below to", "")
	case !first && start < last-1e-6:
		r.complain(CodeOrder, pos, fmt.Sprintf("km %g lies within the stretch before, which ends at km %g", start/1000, last/1000), "stretches in order, none over another", "")
	case !first && join && start > last+1e-6:
		r.complain(CodeGap, pos, fmt.Sprintf("nothing is said from km %g to km %g", last/1000, start/1000), "stretches that join each other", "")
	default:
		return true
	}
	return false
}

func (r *reader) gradients(l *Line, n *reading.Node) {
	var g Gradient
	said := false
	r.items(n, "a gradient", []string{"from", "to", "rises", "falls", "level"}, func(i *reading.Node) { g, said = Gradient{Pos: i.Pos()}, false }, func(e reading.Entry) bool {
		if r.stretch(e, &g.Start, &g.End) {
			return true
		}
		switch e.Key {
		case "rises", "falls":
			v, ok := Slope(r.word(e.Value))
			if !ok {
				r.complain(CodeQuantity, e.Value.Pos(), fmt.Sprintf("%q is no gradient", e.Value.Text()), "1 in 45, or 22 per mille, or 2.2 %", "")
			}
			if e.Key == "falls" {
				v = -v
			}
			g.Slope, said = v, true
		case "level":
			said = true
			if r.word(e.Value) != "yes" {
				r.complain(CodeQuantity, e.Value.Pos(), fmt.Sprintf("level: %s says nothing", e.Value.Text()), "level: yes, or rises, or falls", "")
			}
		default:
			return false
		}
		return true
	}, func(i *reading.Node) {
		if !said {
			r.complain(CodeMissing, i.Pos(), "a gradient does not say whether it rises, falls or is level", "rises: 1 in 45, falls: 1 in 45, or level: yes", "")
			return
		}
		last := 0.0
		if k := len(l.Gradients); k > 0 {
			last = l.Gradients[k-1].End
		}
		if r.order(i.Pos(), g.Start, g.End, last, len(l.Gradients) == 0, true) {
			l.Gradients = append(l.Gradients, g)
		}
	})
	// the heights of two places and the gradients between them say the same thing twice
	var low *Place
	for k := range l.Places {
		p := &l.Places[k]
		if !p.HasHeight {
			continue
		}
		if low != nil {
			if rise, ok := l.rise(low.At, p.At); ok && math.Abs(rise-(p.Height-low.Height)) > heightSlack {
				r.complain(CodeHeight, p.Pos, fmt.Sprintf("the gradients from %s rise %.0f m; the heights of the two places differ by %.0f m", low.Name, rise, p.Height-low.Height), fmt.Sprintf("heights and gradients within %d m of each other", heightSlack), "")
			}
		}
		low = p
	}
}

// rise is how far the line rises between two distances, false where gradients are missing.
func (l *Line) rise(from, to float64) (float64, bool) {
	sum, covered := 0.0, from
	for _, g := range l.Gradients {
		a, b := math.Max(g.Start, from), math.Min(g.End, to)
		if b <= a {
			continue
		}
		if a > covered+1e-6 {
			return 0, false
		}
		sum += float64((b - a) * g.Slope)
		covered = b
	}
	return sum, covered >= to-1e-6
}

func (r *reader) curves(l *Line, n *reading.Node) {
	var c Curve
	r.items(n, "a curve", []string{"from", "to", "radius", "hand"}, func(i *reading.Node) { c = Curve{Pos: i.Pos()} }, func(e reading.Entry) bool {
		if r.stretch(e, &c.Start, &c.End) {
			return true
		}
		switch e.Key {
		case "radius":
			c.Radius = r.figure(e.Value, quantity.Length)
		case "hand":
			if c.Hand = r.word(e.Value); c.Hand != "left" && c.Hand != "right" {
				r.complain(CodeQuantity, e.Value.Pos(), fmt.Sprintf("a curve is neither %q", c.Hand), "left or right", reading.Nearest(c.Hand, []string{"left", "right"}))
			}
		default:
			return false
		}
		return true
	}, func(i *reading.Node) {
		if !i.Has("radius") {
			r.complain(CodeMissing, i.Pos(), "a curve has no radius", "radius: 140 m", "")
			return
		}
		last := 0.0
		if k := len(l.Curves); k > 0 {
			last = l.Curves[k-1].End
		}
		if !r.order(i.Pos(), c.Start, c.End, last, len(l.Curves) == 0, false) {
			return
		}
		for _, s := range l.Sections {
			if c.Start < s.End && c.End > s.Start && s.Sharpest > 0 && c.Radius > 0 && c.Radius < s.Sharpest {
				r.complain(CodeCurve, i.Pos(), fmt.Sprintf("a curve of %g m lies in the section from %s, whose sharpest is %g m", c.Radius, s.From, s.Sharpest), "the sharpest curve of a section to be its sharpest", "")
			}
		}
		l.Curves = append(l.Curves, c)
	})
}

func (r *reader) speeds(l *Line, n *reading.Node) {
	var s Speed
	r.items(n, "a speed limit", []string{"from", "to", "at most"}, func(i *reading.Node) { s = Speed{Pos: i.Pos()} }, func(e reading.Entry) bool {
		if r.stretch(e, &s.Start, &s.End) {
			return true
		}
		if e.Key != "at most" {
			return false
		}
		s.AtMost = r.figure(e.Value, quantity.Speed)
		return true
	}, func(i *reading.Node) {
		if !i.Has("at most") {
			r.complain(CodeMissing, i.Pos(), "a speed limit has no figure", "at most: 20 km/h", "")
			return
		}
		last := 0.0
		if k := len(l.Speeds); k > 0 {
			last = l.Speeds[k-1].End
		}
		if r.order(i.Pos(), s.Start, s.End, last, len(l.Speeds) == 0, false) {
			l.Speeds = append(l.Speeds, s)
		}
	})
}

// Slope reads a gradient: "1 in 45", "22 per mille", "22 ‰", "2.2 %"; rise over length.
// False when the text is none, or not above zero, or steeper than 1 in 5.
func Slope(text string) (float64, bool) {
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return 0
		}
		return v
	}
	t := strings.TrimSpace(text)
	v := 0.0
	if n, ok := strings.CutPrefix(t, "1 in "); ok {
		if d := number(n); d > 0 {
			v = 1 / d
		}
	} else if n, ok := strings.CutSuffix(t, "per mille"); ok {
		v = number(n) / 1000
	} else if n, ok := strings.CutSuffix(t, "‰"); ok {
		v = number(n) / 1000
	} else if n, ok := strings.CutSuffix(t, "%"); ok {
		v = number(n) / 100
	}
	const steepest = 0.2 // no railway of wheel on rail is built steeper
	return v, v > 0 && v <= steepest
}
