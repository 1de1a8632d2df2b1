package paper

import (
	"io"
	"slices"
	"strconv"
	"strings"

	"headstock/card"
)

// Style says how wide a line may be and whether marks are also coloured.
type Style struct {
	Width  int // columns; 0 is 80, and under 20 is taken as 20
	Colour bool
}

const (
	usualWidth = 80
	leastWidth = 20
	proseWidth = 88 // running text is not drawn out wider than this
	gap        = "  "
)

// Text writes a document for a terminal or a plain printer. No line is wider than the
// style allows. A table that does not fit side by side is written as one entry a row.
func Text(out io.Writer, doc *card.Document, style Style) error {
	if doc == nil {
		return errNoDocument
	}
	switch {
	case style.Width <= 0:
		style.Width = usualWidth
	case style.Width < leastWidth:
		style.Width = leastWidth
	}
	p := &page{writer: &writer{w: out}, Style: style}
	p.document(doc)
	return p.err
}

type page struct {
	*writer
	Style
	begun bool
	under string // the last heading, or the title
}

func (p *page) document(doc *card.Document) {
	if s := clean(doc.Banner); s != "" {
		p.prose("", "*** "+s+" ***", card.Bad, true)
	}
	p.title(clean(doc.Title), "=")
	p.under = clean(doc.Title)
	if s := clean(doc.Subtitle); s != "" {
		p.prose("", s, card.None, false)
	}
	p.space()
	p.prose("", card.Caution, card.None, false)
	for _, s := range cleanAll(doc.Cautions) {
		p.prose("", signed(card.Warn, s), card.Warn, false)
	}
	if v := doc.Verdict; v != nil {
		p.space()
		p.prose("", signed(v.Mark, clean(v.Text)), v.Mark, true)
		for _, s := range cleanAll(v.Reasons) {
			p.prose("  - ", s, card.None, false)
		}
	}
	for _, b := range doc.Blocks {
		p.block(b)
	}
	if footer := cleanAll(doc.Footer); len(footer) > 0 {
		p.space()
		p.line(strings.Repeat("-", min(p.Width, proseWidth)))
		for _, s := range footer {
			p.prose("", s, card.Quiet, false)
		}
	}
	p.space()
	p.prose("", card.Caution, card.None, false)
	if s := clean(doc.Banner); s != "" {
		p.prose("", "*** "+s+" ***", card.Bad, true)
	}
}

func (p *page) block(b card.Block) {
	switch {
	case b.Heading != nil:
		p.space()
		p.under = clean(b.Heading.Text)
		if b.Heading.Level > 1 {
			p.prose("", p.under, card.None, true)
		} else {
			p.title(p.under, "-")
		}
		// What follows stands close under its heading.
		p.begun = false
	case b.Paragraph != nil:
		p.space()
		m := b.Paragraph.Mark
		p.prose("", signed(m, clean(b.Paragraph.Text)), m, false)
	case b.List != nil:
		p.space()
		p.list(b.List)
	case b.Table != nil:
		p.space()
		p.table(squared(b.Table))
	case b.Facts != nil:
		p.space()
		p.facts(b.Facts)
	case b.Picture != nil:
		p.space()
		p.prose("", clean(pictured(b.Picture)), card.None, false)
	}
}

func (p *page) list(l *card.List) {
	digits := len(strconv.Itoa(len(l.Items)))
	for i, item := range l.Items {
		lead := "- "
		if l.Numbered {
			n := strconv.Itoa(i + 1)
			lead = strings.Repeat(" ", digits-len(n)) + n + ". "
		}
		p.prose(lead, signed(item.Mark, clean(item.Text)), item.Mark, false)
		for _, s := range cleanAll(item.Detail) {
			p.prose(strings.Repeat(" ", len(lead)), s, card.None, false)
		}
	}
}

func (p *page) facts(f *card.Facts) {
	wide := 0
	for _, fact := range f.Facts {
		wide = max(wide, columnsOf(clean(fact.Name)))
	}
	wide = max(min(wide, p.Width/3), 2)
	for _, fact := range f.Facts {
		p.side([]int{wide, min(p.Width, proseWidth) - wide - len(gap)}, nil, []card.Cell{
			{Text: clean(fact.Name)}, {Text: clean(fact.Text), Mark: fact.Mark}}, false)
	}
}

// The table is set side by side while every column can have its longest word, or
// enough of it, and otherwise as entries. A caption that only says the heading again is
// left out.
func (p *page) table(g grid) {
	if g.caption != "" && g.caption != p.under {
		p.prose("", g.caption, card.None, true)
	}
	if len(g.columns) == 0 {
		return
	}
	widths, fits := share(g, p.Width, onScreen)
	if !fits {
		p.entries(g)
		return
	}
	head := make([]card.Cell, len(g.columns))
	rule := make([]card.Cell, len(g.columns))
	titled := false
	for i, c := range g.columns {
		head[i].Text = c.Title
		titled = titled || c.Title != ""
		rule[i].Text = strings.Repeat("-", widths[i])
	}
	if titled {
		p.side(widths, g.columns, head, true)
	}
	p.side(widths, nil, rule, false)
	// Rows of several lines run into one another unless they are parted.
	parted := false
	for r, row := range g.rows {
		if g.group[r] {
			continue
		}
		for i, c := range row {
			parted = parted || len(wrap(signed(c.Mark, c.Text), widths[i])) > 2
		}
	}
	for i, row := range g.rows {
		// what is of the row above stays with it
		if parted && i > 0 && (g.group[i] || len(row) == 0 || row[0].Text != "") {
			p.line("")
		}
		if g.group[i] {
			p.prose("", signed(row[0].Mark, row[0].Text), row[0].Mark, true)
			continue
		}
		p.side(widths, g.columns, row, false)
	}
}

// ruler says how wide a text is in whole steps: columns on a terminal, hundredths of a
// millimetre on paper. A word narrower than enough is never broken by a table; gap parts
// two columns, least is the narrowest column, and a sign in a frame takes so much more.
type ruler struct {
	of                        func(string) int
	gap, enough, least, frame int
}

var onScreen = ruler{of: columnsOf, gap: len(gap), enough: 15, least: 2}

// share divides the width among the columns: each gets what its longest word needs,
// then short columns all they ask for, and the rest goes, one by one, to the column
// that lacks most in proportion.
func share(g grid, width int, by ruler) (widths []int, fits bool) {
	left := width - by.gap*(len(g.columns)-1)
	want := make([]int, len(g.columns))
	widths = make([]int, len(g.columns))
	need := func(i int, m card.Mark, text string) {
		text = signed(m, text)
		more := 0
		if framed(m) {
			more = by.frame
		}
		want[i] = max(want[i], by.of(text)+more)
		for _, w := range words(text) {
			widths[i] = max(widths[i], min(by.of(w)+more, by.enough))
			more = 0
		}
	}
	for i, c := range g.columns {
		widths[i] = by.least
		need(i, card.None, c.Title)
		for r, row := range g.rows {
			if !g.group[r] {
				need(i, row[i].Mark, row[i].Text)
			}
		}
		left -= widths[i]
	}
	if left < 0 {
		return nil, false
	}
	// A short column has what it asks for up to an even share of what is left, so that
	// figures stay on one line and it is the reasons that wrap.
	order := make([]int, len(want))
	whole := left
	for i := range order {
		order[i] = i
		whole += widths[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return want[a] - want[b] })
	for n, i := range order {
		if extra := min(want[i], whole/(len(order)-n)) - widths[i]; extra > 0 && extra <= left {
			widths[i] += extra
			left -= extra
		}
		whole -= widths[i]
	}
	for ; left > 0; left-- {
		best := -1
		for i := range want {
			if want[i] > widths[i] && (best < 0 || want[i]*widths[best] > want[best]*widths[i]) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		widths[best]++
	}
	return widths, true
}

// entries writes a row as its first cell with the others under it by name.
func (p *page) entries(g grid) {
	for r, row := range g.rows {
		if r > 0 {
			p.line("")
		}
		for i, c := range row {
			text := signed(c.Mark, c.Text)
			if text == "" {
				continue
			}
			if g.group[r] {
				p.prose("", text, c.Mark, true)
				continue
			}
			if title := g.columns[i].Title; title != "" {
				text = title + ": " + text
			}
			lead := "  "
			if i == 0 {
				lead = ""
			}
			p.prose(lead, text, c.Mark, i == 0)
		}
	}
}

// side writes cells side by side, each wrapped in its own column.
func (p *page) side(widths []int, columns []card.Column, cells []card.Cell, bold bool) {
	lines := make([][]string, len(cells))
	height := 1
	for i, c := range cells {
		lines[i] = wrap(signed(c.Mark, c.Text), widths[i])
		height = max(height, len(lines[i]))
	}
	for n := range height {
		var b strings.Builder
		owed := 0 // spaces not yet written, so that none end a line
		for i, c := range cells {
			if i > 0 {
				owed += len(gap)
			}
			text := ""
			if n < len(lines[i]) {
				text = lines[i][n]
			}
			free := widths[i] - columnsOf(text)
			before := 0
			if columns != nil {
				switch columns[i].Align {
				case card.Right:
					before = free
				case card.Centre:
					before = free / 2
				}
			}
			owed += before
			if text != "" {
				b.WriteString(strings.Repeat(" ", owed))
				b.WriteString(p.paint(text, c.Mark, bold))
				owed = 0
			}
			owed += free - before
		}
		p.line(b.String())
	}
}

// prose writes a text after a lead; further lines hang under the text.
func (p *page) prose(lead, text string, m card.Mark, bold bool) {
	if text == "" && strings.TrimSpace(lead) == "" {
		return
	}
	hang := strings.Repeat(" ", len(lead))
	for i, l := range wrap(text, min(p.Width, proseWidth)-len(lead)) {
		if i > 0 {
			lead = hang
		}
		p.line(strings.TrimRight(lead+p.paint(l, m, bold), " "))
	}
}

func (p *page) title(text, under string) {
	if text == "" {
		return
	}
	p.prose("", text, card.None, true)
	longest := 0
	for _, l := range wrap(text, min(p.Width, proseWidth)) {
		longest = max(longest, columnsOf(l))
	}
	p.line(strings.Repeat(under, longest))
}

// space parts two blocks; the first thing on a page, or under a heading, has none.
func (p *page) space() {
	if p.begun {
		p.line("")
	}
}

func (p *page) line(s string) {
	p.put(s, "\n")
	p.begun = true
}

// paint colours a text that already carries its sign.
func (p *page) paint(s string, m card.Mark, bold bool) string {
	if !p.Colour || s == "" {
		return s
	}
	var codes []string
	if bold {
		codes = append(codes, "1")
	}
	switch m {
	case card.Good:
		codes = append(codes, "32")
	case card.Bad:
		codes = append(codes, "31")
	case card.Warn:
		codes = append(codes, "33")
	case card.Unknown:
		codes = append(codes, "35")
	case card.Quiet:
		codes = append(codes, "2")
	}
	if len(codes) == 0 {
		return s
	}
	return "\x1b[" + strings.Join(codes, ";") + "m" + s + "\x1b[0m"
}

// measures are words that belong to the figure before them.
var measures = strings.Fields("kPa bar psi kgf/cm2 Pa mm m cm km in ft L m3 mL t kg s min h kW hp kN km/h mph °C V A % kPa/min L/min m3/min kPa/s")

// words cuts a text where a line may end: at spaces, but not between a figure and its
// measure, nor at either side of ±.
func words(s string) []string {
	var out []string
	joined := false
	for _, w := range strings.Fields(strings.ReplaceAll(s, "\u00a0", "\x00")) {
		w = strings.ReplaceAll(w, "\x00", "\u00a0")
		if n := len(out) - 1; n >= 0 {
			last := out[n]
			figure := last[len(last)-1] >= '0' && last[len(last)-1] <= '9'
			bare := strings.TrimRight(w, ".,;:)")
			if joined || w == "±" || figure && slices.Contains(measures, bare) {
				out[n] = last + "\u00a0" + w
				joined = w == "±"
				continue
			}
		}
		out = append(out, w)
		joined = w == "±"
	}
	return out
}

// parts cuts what should stay together but is longer than a line: before a ± if that
// is enough, else at every space.
func (by ruler) parts(w string, width int) []string {
	if by.of(w) <= width {
		return []string{w}
	}
	if a, b, ok := strings.Cut(w, "\u00a0±\u00a0"); ok && by.of(a) <= width && by.of("± "+b) <= width {
		return []string{a, "±\u00a0" + b}
	}
	return strings.Split(w, "\u00a0")
}

// wrap breaks a text into lines of at most width columns. What should stay together
// and is longer than a line is parted at its spaces, and a word longer than a line is
// cut. It gives at least one line.
func wrap(s string, width int) []string { return onScreen.wrap(s, width) }

func (by ruler) wrap(s string, width int) []string {
	width = max(width, by.least)
	space := by.of(" ")
	var lines []string
	line, used := "", 0
	flush := func() {
		if line != "" {
			lines = append(lines, line)
		}
		line, used = "", 0
	}
	var tokens []string
	for _, w := range words(s) {
		for _, part := range by.parts(w, width) {
			tokens = append(tokens, strings.ReplaceAll(part, "\u00a0", " "))
		}
	}
	for _, w := range tokens {
		n := by.of(w)
		if line != "" && used+space+n > width {
			flush()
		}
		if line != "" {
			line, used = line+" ", used+space
		}
		if n <= width {
			line, used = line+w, used+n
			continue
		}
		from := len(line) // where this word begins
		for _, r := range w {
			c := by.of(string(r))
			if used+c > width {
				// after a hyphen, if the word has one so far
				rest := ""
				if i := strings.LastIndexByte(line[from:], '-'); i > 0 {
					line, rest = line[:from+i+1], line[from+i+1:]
				}
				flush()
				line, used, from = rest, by.of(rest), 0
			}
			line, used = line+string(r), used+c
		}
	}
	flush()
	if len(lines) == 0 {
		return []string{""}
	}
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return lines
}
