package drawing

import (
	"strconv"
	"strings"
)

// Tone is what a mark is painted with. A page gives each tone its colour; paper has greys.
type Tone string

// The tones.
const (
	Ink   Tone = "ink"
	Paper Tone = "paper"
	Band  Tone = "band"  // a faint ground
	Rule  Tone = "rule"  // what is less than ink
	Wrong Tone = "wrong" // what is not as it should be
	Bare  Tone = "bare"  // nothing is painted
)

// Look is how a mark is drawn: the same on a page and in print.
type Look struct {
	Fill, Stroke Tone
	Width        float64   // of the line, px
	Dash         []float64 // px on and off; none: whole
	Size         float64   // of words, px
	Bold         bool
	Anchor       string // "", "middle" or "end" of words
}

// rule is what one word of a class says of the marks of a sort.
type rule struct {
	sort, word string // sort "" is every sort
	look       Look
}

// The sorts of marks, as SVG names them.
const (
	lines   = "polyline"
	areas   = "polygon"
	written = "text"
)

// rules are the looks, what comes later standing before what came earlier. Colour tells
// nothing that a dash, a fill or a word does not.
func rules() []rule {
	return []rule{
		{lines, "", Look{Fill: Bare, Stroke: Ink, Width: 1}},
		{written, "", Look{Fill: Ink, Size: 13}},
		{"", "body", Look{Fill: Band, Stroke: Ink, Width: 2}},
		{"", "rail", Look{Stroke: Ink, Width: 3}},
		{"", "line", Look{Fill: Bare, Stroke: Ink, Width: 1.5}},
		{"", "thin", Look{Fill: Bare, Stroke: Rule, Width: 1, Dash: []float64{4, 4}}},
		{"", "pipe", Look{Fill: Bare, Stroke: Ink, Width: 3}},
		{"", "solid", Look{Fill: Ink, Stroke: Ink, Width: 1}},
		{"", "hollow", Look{Fill: Paper, Stroke: Ink, Width: 1.75}},
		{"", "wheel", Look{Fill: Bare, Stroke: Ink, Width: 2}},
		{"", "told", Look{Bold: true}},
		{"", "idle", Look{Dash: []float64{7, 4}}},
		{"", "blank", Look{Fill: Paper, Stroke: Bare}},
		{"", "mark", Look{Fill: Paper, Stroke: Ink, Width: 2}},
		{"", "far", Look{Dash: []float64{4, 3}}},
		{"", "wrong", Look{Fill: Bare, Stroke: Wrong, Width: 3}},
		{written, "number", Look{Size: 13, Bold: true, Anchor: "middle"}},
		{written, "small", Look{Size: 12}},
		{written, "bold", Look{Size: 15, Bold: true}},
		{written, "title", Look{Size: 15, Bold: true}},
		{written, "axis", Look{Size: 12, Bold: true}},
		{written, "tick", Look{Size: 11}},
		{written, "key", Look{Size: 12}},
		{written, "place", Look{Size: 11}},
		{written, "end", Look{Anchor: "end"}},
		{written, "mid", Look{Anchor: "middle"}},
		{written, "middle", Look{Anchor: "middle"}},
		{lines, "grid", Look{Stroke: Band, Width: 1}},
		{lines, "frame", Look{Stroke: Ink, Width: 1.2}},
		{lines, "place", Look{Stroke: Rule, Width: 1, Dash: []float64{2, 3}}},
		{lines, "curve", Look{Width: 2}},
		{lines, "main", Look{Width: 2.2}},
		{lines, "second", Look{Dash: []float64{7, 4}}},
		{lines, "third", Look{Dash: []float64{2, 3}}},
		{lines, "limit", Look{Stroke: Rule, Width: 1.4, Dash: []float64{10, 3, 2, 3}}},
		{areas, "ground", Look{Fill: Band, Stroke: Rule, Width: 1}},
		{lines, "ground", Look{Stroke: Rule, Width: 5}},
	}
}

// sort is the sort of a mark.
func (m Mark) sort() string {
	switch {
	case len(m.Line) > 0:
		return lines
	case len(m.Area) > 0:
		return areas
	case m.Box != nil:
		return "rect"
	case m.Ring != nil:
		return "circle"
	}
	return written
}

// LookOf is how a mark is drawn. Known is false where a word of its class has no look.
func LookOf(m Mark) (look Look, known bool) {
	words := strings.Fields(m.Class)
	met := map[string]bool{}
	for _, r := range rules() {
		at := r.word == ""
		for _, w := range words {
			at = at || w == r.word
		}
		if !at || r.sort != "" && r.sort != m.sort() {
			continue
		}
		met[r.word] = true
		if r.look.Fill != "" {
			look.Fill = r.look.Fill
		}
		if r.look.Stroke != "" {
			look.Stroke = r.look.Stroke
		}
		if r.look.Width > 0 {
			look.Width = r.look.Width
		}
		if r.look.Dash != nil {
			look.Dash = r.look.Dash
		}
		if r.look.Size > 0 {
			look.Size = r.look.Size
		}
		if r.look.Anchor != "" {
			look.Anchor = r.look.Anchor
		}
		look.Bold = look.Bold || r.look.Bold
	}
	known = true
	for _, w := range words {
		known = known && met[w]
	}
	return look, known
}

// Style is the looks as a style sheet. It takes its tones from the variables --paper, --band,
// --line and --bad of the page and from the colour of its text; where a page has none it is
// black on white. Words are kept clear of the lines behind them.
func Style() string {
	tone := map[Tone]string{Ink: "currentColor", Paper: "var(--paper,#fff)", Band: "var(--band,#dfe2e6)", Rule: "var(--line,#6a7178)", Wrong: "var(--bad,currentColor)", Bare: "none"}
	px := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	var b strings.Builder
	b.WriteString("svg{display:block;max-width:none}svg text{font-family:inherit;font-weight:500;paint-order:stroke;stroke:var(--paper,#fff);stroke-width:4px;stroke-linejoin:round}svg .number{stroke:none}\n")
	for _, r := range rules() {
		b.WriteString("svg " + r.sort)
		if r.word != "" {
			b.WriteString("." + r.word)
		}
		b.WriteString("{")
		var sets []string
		set := func(name, value string) { sets = append(sets, name+":"+value) }
		l := r.look
		if l.Fill != "" {
			set("fill", tone[l.Fill])
		}
		if l.Stroke != "" {
			set("stroke", tone[l.Stroke])
		}
		if l.Width > 0 {
			set("stroke-width", px(l.Width))
		}
		if l.Dash != nil {
			var d []string
			for _, v := range l.Dash {
				d = append(d, px(v))
			}
			set("stroke-dasharray", strings.Join(d, " "))
		}
		if l.Size > 0 {
			set("font-size", px(l.Size)+"px")
		}
		if l.Bold {
			set("font-weight", "700")
		}
		if l.Anchor != "" {
			set("text-anchor", l.Anchor)
		}
		b.WriteString(strings.Join(sets, ";") + "}")
	}
	return b.String() + "\n"
}
