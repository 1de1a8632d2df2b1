//go:build !js

package paper

import (
	"math"
	"strconv"
	"strings"

	"headstock/card"
)

// How a document gets onto pages: it is first cut into atoms, each of which stands on
// one page whole; the atoms are then laid from top to bottom, and a new page begins where
// one does not fit. An atom that may not be left alone says so, and one that heads others
// is written again, as continued, on every page that they run over to. The marks of a
// page are a list, so that a test can look at what is drawn and where.

// op is one mark on a page, in millimetres from its upper left corner.
type op struct {
	kind       opKind
	x, y, w, h float64 // text: x, baseline, width; line: to x+w, y+h
	text       string
	size       float64 // points
	bold       bool
	grey       uint8 // 0 is black
	thick      float64
	code       [][]bool
	picture    *card.Picture
	points     [][2]float64 // of a shape, from x, y
	closed     bool
	fill       *uint8    // grey that a shape is filled with
	dash       []float64 // mm on and off
}

type opKind byte

const (
	opText    opKind = iota
	opLine           // a line
	opBox            // the outline of a box
	opFill           // a filled box
	opCode           // a square of modules
	opPicture        // a picture in its box
	opAcross         // a text across the whole page
	opShape          // a line or an area through points
	opRing           // a circle round x, y; w is its radius
	opClear          // a text that stands clear of what is behind it
)

// piece is marks that stand together, from y = 0 down to h.
type piece struct {
	h   float64
	ops []op
}

// atom is a piece with how it stands among others.
type atom struct {
	piece
	before float64 // space above, except at the top of a page
	keep   bool    // never the last on its page while others follow
	heads  *piece  // written above it where it begins a page
	top    *piece  // stands in its place where it begins a page
}

// form is a size of paper and of its type.
type form struct {
	name                      string
	w, h                      float64
	side, edge                float64 // margins
	title, heading, body, row float64 // points
	small                     float64
	code                      float64 // the widest a code may be
}

const lineStep = 1.28 // line to line, in sizes

func lead(size float64) float64 { return size * 25.4 / 72 * lineStep }

// layout cuts a document into atoms for one form.
type layout struct {
	*face
	form
	width int // of the text, hundredths of a millimetre
	atoms []atom
	under string // the last heading
	frame frame
}

func mm(hundredths int) float64 { return float64(hundredths) / 100 }

func (l *layout) add(a atom) { l.atoms = append(l.atoms, a) }

// lines are wrapped lines as text marks, the first baseline under y = 0.
func (l *layout) lines(x float64, lines []string, size float64, bold bool) piece {
	p := piece{h: float64(len(lines)) * lead(size)}
	for i, s := range lines {
		if s != "" {
			p.ops = append(p.ops, op{kind: opText, x: x, y: float64(i)*lead(size) + lead(size)*0.78, w: mm(l.face.width(s, size, bold)), text: s, size: size, bold: bold})
		}
	}
	return p
}

func (p *piece) put(q piece, dx, dy float64) {
	for _, o := range q.ops {
		o.x += dx
		o.y += dy
		p.ops = append(p.ops, o)
	}
	p.h = math.Max(p.h, q.h+dy)
}

// text is a text with its mark, wrapped; a sign stands in a frame, and what it marks is
// bold, so that nothing rests on colour.
func (l *layout) text(x float64, width int, m card.Mark, s string, size float64, bold bool) piece {
	bold = bold || m == card.Bad || m == card.Warn || m == card.Unknown
	g := l.plain(sign(m))
	s = signed(m, clean(s))
	if framed(m) {
		s = strings.Replace(s, "\u00a0", "\u00a0\u00a0", 1) // room for the frame
	}
	p := l.lines(x, l.ruler(size, bold).wrap(l.plain(s), width), size, bold)
	if framed(m) && len(p.ops) > 0 {
		w := mm(l.face.width(g, size, bold))
		p.ops = append(p.ops, op{kind: opBox, x: x - 0.4, y: lead(size) * 0.08, w: w + 0.8, h: lead(size) * 0.88, thick: 0.2})
	}
	return p
}

// paragraph adds running text. A long one may run over a page end, though never with one
// line alone on either side.
func (l *layout) paragraph(before float64, lead string, indent float64, m card.Mark, s string, size float64, bold bool) {
	if clean(s) == "" {
		return
	}
	p := l.text(indent, l.width-int(indent*100), m, s, size, bold)
	if lead != "" {
		w := mm(l.face.width(lead+" ", size, false))
		p.put(l.lines(indent-w, []string{lead}, size, false), 0, 0)
	}
	l.split(p, before, size)
}

func (l *layout) split(p piece, before, size float64) {
	step := lead(size)
	n := int(p.h/step + 0.5)
	if n <= 4 {
		l.add(atom{piece: p, before: before})
		return
	}
	for i := range n {
		a := atom{piece: piece{h: step}, keep: i == 0 || i == n-2}
		if i == 0 {
			a.before = before
		}
		for _, o := range p.ops {
			if o.y >= float64(i)*step && o.y < float64(i+1)*step {
				o.y -= float64(i) * step
				a.ops = append(a.ops, o)
			}
		}
		l.add(a)
	}
}

func (l *layout) document(doc *card.Document) {
	title := l.plain(clean(doc.Title))
	p := l.text(0, l.width, card.None, title, l.title, true)
	l.add(atom{piece: p, keep: true})
	l.paragraph(0.6, "", 0, card.None, doc.Subtitle, l.body, false)
	for _, s := range cleanAll(doc.Cautions) {
		in := l.text(1.6, l.width-320, card.Warn, s, l.body, true)
		box := piece{h: in.h + 1.8}
		box.put(in, 0, 0.9)
		box.ops = append(box.ops, op{kind: opBox, x: 0, y: 0, w: mm(l.width), h: box.h, thick: 0.4})
		l.add(atom{piece: box, before: 1.4})
	}
	if v := doc.Verdict; v != nil {
		in := l.text(2.6, l.width-260, v.Mark, v.Text, l.heading, true)
		in.h += 0.8
		in.ops = append(in.ops, op{kind: opFill, x: 0, y: 0.3, w: 1.2, h: in.h - 0.4})
		l.add(atom{piece: in, before: 2, keep: len(v.Reasons) > 0})
		for _, s := range v.Reasons {
			l.paragraph(0.3, "–", 4, card.None, s, l.body, false)
		}
	}
	l.under = title
	for _, b := range doc.Blocks {
		l.block(b)
	}
}

func (l *layout) block(b card.Block) {
	switch {
	case b.Heading != nil:
		size, before := l.heading, 4.5
		if b.Heading.Level > 1 {
			size, before = l.body, 3
		}
		l.under = l.plain(clean(b.Heading.Text))
		p := l.text(0, l.width, card.None, b.Heading.Text, size, true)
		if b.Heading.Level <= 1 {
			p.h += 0.8
			p.ops = append(p.ops, op{kind: opLine, y: p.h - 0.3, w: mm(l.width), thick: 0.35})
		}
		l.add(atom{piece: p, before: before, keep: true})
	case b.Paragraph != nil:
		l.paragraph(1.6, "", 0, b.Paragraph.Mark, b.Paragraph.Text, l.body, false)
	case b.List != nil:
		l.list(b.List)
	case b.Table != nil:
		l.table(squared(b.Table))
	case b.Facts != nil:
		l.facts(b.Facts)
	case b.Picture != nil:
		l.picture(b.Picture)
	case b.Figure != nil:
		l.figure(b.Figure)
	}
}

func (l *layout) list(x *card.List) {
	widest := 0
	leads := make([]string, len(x.Items))
	for i := range x.Items {
		leads[i] = "–"
		if x.Numbered {
			leads[i] = strconv.Itoa(i+1) + "."
		}
		widest = max(widest, l.face.width(leads[i]+" ", l.body, false))
	}
	indent := mm(widest)
	for i, item := range x.Items {
		before := 0.8
		if i == 0 {
			before = 1.6
		}
		first := len(l.atoms)
		l.paragraph(before, leads[i], indent, item.Mark, item.Text, l.body, false)
		for _, s := range item.Detail {
			l.paragraph(0.2, "", indent, card.None, s, l.row, false)
		}
		if len(item.Detail) > 0 && len(l.atoms) > first+1 {
			l.atoms[first].keep = true
		}
	}
}

func (l *layout) facts(f *card.Facts) {
	name := l.ruler(l.body, true)
	wide := 0
	for _, x := range f.Facts {
		wide = max(wide, name.of(l.plain(clean(x.Name))))
	}
	wide = min(wide, l.width*35/100)
	gap := 250
	for i, x := range f.Facts {
		p := l.lines(0, name.wrap(l.plain(clean(x.Name)), wide), l.body, true)
		p.put(l.text(mm(wide+gap), l.width-wide-gap, x.Mark, x.Text, l.body, false), 0, 0)
		before := 0.7
		if i == 0 {
			before = 1.6
		}
		l.split(p, before, l.body)
	}
}

func (l *layout) picture(x *card.Picture) {
	p := l.text(0, l.width, card.None, pictured(x), l.row, false)
	if len(x.Data) > 0 && x.Width > 0 && x.Height > 0 {
		dx, dy := seen(x)
		w := math.Min(mm(l.width), 95)
		h := w * float64(dy) / float64(dx)
		if most := l.h * 0.33; h > most {
			w, h = w*most/h, most
		}
		q := piece{h: h + 1, ops: []op{{kind: opPicture, w: w, h: h, picture: x}}}
		q.put(p, 0, h+0.6)
		p = q
	}
	l.add(atom{piece: p, before: 2})
}

// The table stands side by side while every column can have its longest word, or enough
// of it, and otherwise a row is a block of its own.
func (l *layout) table(g grid) {
	if len(g.columns) == 0 {
		return
	}
	for i := range g.columns {
		g.columns[i].Title = l.plain(g.columns[i].Title)
	}
	for _, row := range g.rows {
		for i := range row {
			row[i].Text = l.plain(row[i].Text)
		}
	}
	caption := l.plain(g.caption)
	label := caption
	switch {
	case caption == "" || caption == l.under:
		caption, label = "", l.under
	case l.under != "" && l.under != caption:
		label = l.under + ": " + caption
	}
	again := l.text(0, l.width, card.None, label+" (continued)", l.row, true)
	if caption != "" {
		l.add(atom{piece: l.text(0, l.width, card.None, caption, l.row, true), before: 2, keep: true})
	}
	// a cell may be bold or not, and either weight has letters that are the wider ones
	by, plain := l.ruler(l.row, true), l.ruler(l.row, false)
	bold := by.of
	by.of = func(s string) int { return max(bold(s), plain.of(s)) }
	by.frame = max(by.of("\u00a0"), by.of(" "))
	widths, fits := share(g, l.width, by)
	if !fits {
		l.entries(g, again)
		return
	}
	l.rows(g, widths, again)
}

const rowGap = 0.55 // above and below the text of a row

func (l *layout) cells(g grid, widths []int, row []card.Cell, bold bool) piece {
	p := piece{h: lead(l.row)}
	x := 0
	for i, c := range row {
		q := l.text(0, widths[i], c.Mark, c.Text, l.row, bold)
		dx := mm(x)
		for k := range q.ops {
			o := &q.ops[k]
			free := mm(widths[i]) - o.w
			if o.kind == opText {
				switch g.columns[i].Align {
				case card.Right:
					o.x += math.Max(free, 0)
				case card.Centre:
					o.x += math.Max(free/2, 0)
				}
			}
		}
		if g.columns[i].Align == card.Left || c.Mark == card.None || sign(c.Mark) == "" {
			p.put(q, dx, 0)
		} else { // the frame of a sign stays with it only where the text begins the cell
			p.put(piece{h: q.h, ops: onlyText(q.ops)}, dx, 0)
		}
		x += widths[i] + l.ruler(l.row, true).gap
	}
	return p
}

func onlyText(ops []op) []op {
	var out []op
	for _, o := range ops {
		if o.kind == opText {
			out = append(out, o)
		}
	}
	return out
}

// ruled sets a piece between its row gaps, over a line that begins at x.
func (l *layout) ruled(p piece, x, thick float64) piece {
	q := piece{}
	q.put(p, 0, rowGap)
	q.h = p.h + 2*rowGap
	q.ops = append(q.ops, op{kind: opLine, x: x, y: q.h, w: mm(l.width) - x, thick: thick})
	return q
}

const thin = 0.1

func (l *layout) rows(g grid, widths []int, again piece) {
	head := piece{}
	titled := false
	titles := make([]card.Cell, len(g.columns))
	for i, c := range g.columns {
		titles[i].Text = c.Title
		titled = titled || c.Title != ""
	}
	if titled {
		head = l.ruled(l.cells(g, widths, titles, true), 0, 0.35)
		l.add(atom{piece: head, before: 0.6, keep: true})
	}
	// a row without a name is of the one above: the line between stops short of the name
	second := mm(widths[0] + l.ruler(l.row, true).gap)
	group := ""
	var groupMark card.Mark
	name := card.Cell{}
	for r, row := range g.rows {
		top := piece{}
		top.put(again, 0, 0)
		top.put(head, 0, top.h+0.4)
		if g.group[r] {
			group, groupMark, name = row[0].Text, row[0].Mark, card.Cell{}
			l.add(atom{piece: l.group(row[0].Text, row[0].Mark), heads: &top, keep: true})
			continue
		}
		if group != "" {
			top.put(l.group(strings.TrimSuffix(group, ":")+" (continued)", groupMark), 0, top.h)
		}
		named := row
		switch {
		case row[0].Text != "":
			name = row[0]
		case name.Text != "" && row[0].Mark == card.None:
			named = append([]card.Cell{{Text: name.Text}}, row[1:]...)
		}
		p := l.cells(g, widths, row, false)
		most := l.bodyHeight() - top.h - 4
		if p.h+2*rowGap <= most {
			under := 0.0
			if r+1 < len(g.rows) && !g.group[r+1] && len(row) > 1 && g.rows[r+1][0] == (card.Cell{}) && name.Text != "" {
				under = second
			}
			a := atom{piece: l.ruled(p, under, thin), heads: &top, keep: under > 0 && brief(g, r)}
			if named[0].Text != row[0].Text {
				t := l.ruled(l.cells(g, widths, named, false), under, thin)
				a.top = &t
			}
			l.add(a)
			continue
		}
		l.tall(g, widths, row, named, p, most, &top)
	}
}

// brief says that the rows under one name around row r are few enough to stay together,
// so that a device is not parted from its cautions.
func brief(g grid, r int) bool {
	same := func(i int) bool { return i < len(g.rows) && !g.group[i] && g.rows[i][0] == (card.Cell{}) }
	n := 0
	for i := r; i > 0 && same(i); i-- {
		n++
	}
	for i := r + 1; same(i); i++ {
		n++
	}
	return n <= 5
}

// tall cuts a row that is higher than a page; each part is named.
func (l *layout) tall(g grid, widths []int, row, named []card.Cell, p piece, most float64, heads *piece) {
	step := lead(l.row)
	per := max(int((most-2*rowGap)/step)-2, 1)
	n := int(p.h/step + 0.5)
	for from := 0; from < n; from += per {
		part := piece{h: float64(min(per, n-from)) * step}
		for _, o := range p.ops {
			if o.y >= float64(from)*step && o.y < float64(from+per)*step {
				o.y -= float64(from) * step
				part.ops = append(part.ops, o)
			}
		}
		if from > 0 && named[0].Text != "" {
			// the name again, if its own lines do not run this far
			inFirst := false
			for _, o := range part.ops {
				inFirst = inFirst || o.x < mm(widths[0])
			}
			if !inFirst {
				first := []card.Cell{named[0]}
				for range row[1:] {
					first = append(first, card.Cell{})
				}
				part.put(l.cells(g, widths, first, false), 0, 0)
			}
		}
		l.add(atom{piece: l.ruled(part, 0, thin), heads: heads})
	}
}

func (l *layout) group(text string, m card.Mark) piece {
	in := l.text(0.8, l.width-160, m, text, l.row, true)
	p := piece{h: in.h + 2*rowGap + 0.4}
	p.ops = append(p.ops, op{kind: opFill, y: 0.4, w: mm(l.width), h: p.h - 0.4, grey: 228})
	p.put(in, 0, rowGap+0.4)
	return p
}

// entries writes a row as its first cell with the others under it by name.
func (l *layout) entries(g grid, again piece) {
	group := ""
	var groupMark card.Mark
	name := ""
	for r, row := range g.rows {
		top := piece{}
		top.put(again, 0, 0)
		if g.group[r] {
			group, groupMark, name = row[0].Text, row[0].Mark, ""
			l.add(atom{piece: l.group(group, groupMark), before: 1.2, heads: &top, keep: true})
			continue
		}
		if group != "" {
			top.put(l.group(strings.TrimSuffix(group, ":")+" (continued)", groupMark), 0, top.h+0.4)
		}
		first := len(l.atoms)
		if row[0].Text != "" || row[0].Mark != card.None {
			name = row[0].Text
			l.add(atom{piece: l.text(0, l.width, row[0].Mark, row[0].Text, l.row, true), before: 1.2, heads: &top, keep: true})
		}
		named := piece{}
		named.put(top, 0, 0)
		if name != "" {
			named.put(l.text(0, l.width, card.None, name+" (continued)", l.row, true), 0, top.h+0.4)
		}
		for i, c := range row {
			if i == 0 || signed(c.Mark, c.Text) == "" {
				continue
			}
			text := c.Text
			if t := g.columns[i].Title; t != "" {
				text = t + ": " + text
			}
			a := atom{piece: l.text(3, l.width-300, c.Mark, text, l.row, false), heads: &named, keep: true}
			if len(l.atoms) == first {
				a.before = 0.6
			}
			l.add(a)
		}
		if len(l.atoms) > first {
			// the parts of a row stand together; a line closes it
			last := &l.atoms[len(l.atoms)-1]
			last.keep = false
			last.h += 0.5
			last.ops = append(last.ops, op{kind: opLine, y: last.h, w: mm(l.width), thick: thin})
		}
	}
}

// bodyHeight is what a page has between its head and its foot.
func (l *layout) bodyHeight() float64 { return l.h - 2*l.edge - l.headHeight() - l.footHeight() }

// pages lays the atoms from top to bottom.
func pages(atoms []atom, height float64) [][]op {
	var out [][]op
	var page []op
	y := 0.0
	turn := func() {
		out = append(out, page)
		page, y = nil, 0
	}
	put := func(p piece) {
		for _, o := range p.ops {
			o.y += y
			page = append(page, o)
		}
		y += p.h
	}
	// fresh is how high an atom stands where it begins a page.
	fresh := func(a atom) float64 {
		h := a.h
		if a.top != nil {
			h = a.top.h
		}
		if a.heads != nil {
			h += a.heads.h + 0.4
		}
		return h
	}
	begun := false
	for i := 0; i < len(atoms); {
		j := i
		for atoms[j].keep && j+1 < len(atoms) {
			j++
		}
		// what stands together goes to a new page together, if it fits on one
		h, whole := 0.0, fresh(atoms[i])
		for k := i; k <= j; k++ {
			h += atoms[k].before + atoms[k].h
			if k > i {
				whole += atoms[k].before + atoms[k].h
			}
		}
		if y > 0 && y+h > height && whole <= height {
			turn()
		}
		for k := i; k <= j; k++ {
			a := atoms[k]
			if y > 0 && y+a.before+a.h > height {
				turn()
			}
			if y == 0 {
				if a.heads != nil && begun {
					put(*a.heads)
					y += 0.4
				}
				if a.top != nil && begun {
					put(*a.top)
					continue
				}
			} else {
				y += a.before
			}
			put(a.piece)
			begun = true
		}
		i = j + 1
	}
	return append(out, page)
}

// cut shortens a text to a width, with an ellipsis.
func (by ruler) cut(s string, width int) string {
	if by.of(s) <= width {
		return s
	}
	runes := []rune(s)
	for n := len(runes) - 1; n > 0; n-- {
		if t := strings.TrimRight(string(runes[:n]), " ,;:") + "…"; by.of(t) <= width {
			return t
		}
	}
	return ""
}
