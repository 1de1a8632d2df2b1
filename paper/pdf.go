//go:build !js

package paper

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"headstock/card"
)

// Papers are the sizes a document can be printed on, the usual one first. A6 is a pocket
// card: its pages stand on sheets of A4 that are folded twice.
func Papers() []string { return []string{"A4", "A5", "A6"} }

func forms() []form {
	return []form{
		{name: "A4", w: 210, h: 297, side: 16, edge: 10, title: 15, heading: 12, body: 10, row: 9, small: 7.2, code: 38},
		{name: "A5", w: 148, h: 210, side: 10.5, edge: 7.5, title: 12.5, heading: 10.5, body: 9, row: 8.2, small: 6, code: 34},
		{name: "A6", w: 105, h: 148.5, side: 7, edge: 6, title: 10.5, heading: 9, body: 8, row: 7.5, small: 5.6, code: 32},
	}
}

// Sheet says on what a document is printed and what its code carries.
type Sheet struct {
	Paper string // one of Papers; empty is A4
	Code  string // what the square code says; empty: the title and what the document rests on
}

// PDF writes a document for a printer. Every page carries the title, its number, what the
// document rests on and, at head and foot, the usual caution; a document with a banner
// has it on every page, and across it. It is black on white. The same document gives the
// same bytes.
func PDF(out io.Writer, doc *card.Document, sheet Sheet) error {
	p, err := print(doc, sheet)
	if err != nil {
		return err
	}
	return p.write(out)
}

// printed is a document laid out on pages of one form.
type printed struct {
	form
	pdf   *fpdf.Fpdf
	title string
	pages [][]op
}

// ErrPaper is what PDF returns for a size that is none of Papers.
var ErrPaper = errors.New("no such paper")

func print(doc *card.Document, sheet Sheet) (*printed, error) {
	if doc == nil {
		return nil, errNoDocument
	}
	var fm form
	for _, f := range forms() {
		if f.name == sheet.Paper || sheet.Paper == "" && fm.name == "" {
			fm = f
		}
	}
	if fm.name == "" {
		return nil, fmt.Errorf("%w: %q; expected one of %s", ErrPaper, sheet.Paper, strings.Join(Papers(), ", "))
	}
	pdf := fpdf.New("P", "mm", "A4", "")
	face, err := newFace(pdf)
	if err != nil {
		return nil, err
	}
	l := &layout{face: face, form: fm, width: int((fm.w - 2*fm.side) * 100), frame: frame{
		title: face.plain(clean(doc.Title)), banner: face.plain(clean(doc.Banner)), rests: face.plain(strings.Join(cleanAll(doc.Rests), " · ")),
	}}
	l.document(doc)
	if err := l.closing(doc, sheet.Code); err != nil {
		return nil, err
	}
	laid := pages(l.atoms, l.bodyHeight())
	p := &printed{form: fm, pdf: pdf, title: clean(doc.Title)}
	for i, body := range laid {
		ops := l.around(i+1, len(laid))
		for _, o := range body {
			o.x += fm.side
			o.y += fm.edge + l.headHeight()
			ops = append(ops, o)
		}
		p.pages = append(p.pages, ops)
	}
	return p, nil
}

// frame is what stands on every page.
type frame struct{ title, banner, rests string }

func (l *layout) caution() piece {
	return l.lines(0, l.ruler(l.small, true).wrap(l.plain(card.Caution), l.width), l.small, true)
}

// rested is what the document rests on, in at most two lines.
func (l *layout) rested() piece {
	if l.frame.rests == "" {
		return piece{}
	}
	by := l.ruler(l.small, false)
	lines := by.wrap(l.frame.rests, l.width)
	if len(lines) > 2 {
		lines = []string{lines[0], by.cut(strings.Join(lines[1:], " "), l.width)}
	}
	return l.lines(0, lines, l.small, false)
}

func (l *layout) bannerBox() piece {
	if l.frame.banner == "" {
		return piece{}
	}
	by := l.ruler(l.body, true)
	p := l.lines(0, by.wrap(l.frame.banner, l.width-400), l.body, true)
	for i := range p.ops {
		p.ops[i].x = (mm(l.width) - p.ops[i].w) / 2
		p.ops[i].y += 0.5
	}
	p.h += 1
	p.ops = append(p.ops, op{kind: opBox, w: mm(l.width), h: p.h, thick: 0.6})
	p.h += 1
	return p
}

func (l *layout) headHeight() float64 {
	return l.bannerBox().h + lead(l.small) + 0.8 + l.caution().h + 2.2
}

func (l *layout) footHeight() float64 { return 2.2 + l.caution().h + l.rested().h }

// around is the head and the foot of a page, and what lies across it.
func (l *layout) around(page, of int) []op {
	var ops []op
	put := func(p piece, y float64) {
		for _, o := range p.ops {
			o.x += l.side
			o.y += y
			ops = append(ops, o)
		}
	}
	if l.frame.banner != "" {
		ops = append(ops, l.across())
	}
	y := l.edge
	put(l.bannerBox(), y)
	y += l.bannerBox().h
	number := fmt.Sprintf("page %d of %d", page, of)
	w := l.face.width(number, l.small, true)
	right := l.lines(mm(l.width-w), []string{number}, l.small, true)
	put(right, y)
	if page > 1 {
		put(l.lines(0, []string{l.ruler(l.small, true).cut(l.frame.title, l.width-w-300)}, l.small, true), y)
	}
	y += lead(l.small) + 0.8
	put(l.caution(), y)
	y += l.caution().h + 0.7
	ops = append(ops, op{kind: opLine, x: l.side, y: y, w: mm(l.width), thick: 0.35})
	y = l.h - l.edge - l.footHeight() + 1.5
	ops = append(ops, op{kind: opLine, x: l.side, y: y, w: mm(l.width), thick: 0.35})
	y += 0.7
	put(l.caution(), y)
	put(l.rested(), y+l.caution().h)
	return ops
}

// across is the banner from the lower left corner to the upper right one, in a grey that
// lets what it crosses be read.
func (l *layout) across() op {
	angle := math.Atan2(l.h-2*l.edge, l.w-2*l.side)
	// what a size of one point takes, along the text and upright to it, turned
	w, h := mm(l.face.width(l.frame.banner, 100, true))/100, 25.4/72
	size := math.Min(0.97*(l.w-2*l.side)/(w*math.Cos(angle)+h*math.Sin(angle)), 0.97*(l.h-2*l.edge)/(w*math.Sin(angle)+h*math.Cos(angle)))
	return op{kind: opAcross, text: l.frame.banner, size: size, bold: true, grey: 205, w: mm(l.face.width(l.frame.banner, size, true))}
}

// closing is what a document ends with: the signs, what it rests on, and the code.
func (l *layout) closing(doc *card.Document, text string) error {
	var lines []string
	if s := signsOf(doc); s != "" {
		lines = append(lines, s)
	}
	lines = append(lines, cleanAll(doc.Footer)...)
	if text == "" {
		text = strings.Join(cleanAll(append([]string{doc.Title, doc.Banner}, doc.Rests...)), "\n")
	}
	code, err := encode(text)
	if err != nil {
		return err
	}
	p := piece{}
	side := 0.0
	if code != nil {
		// four modules of quiet all round; a module a telephone can part
		n := len(code) + 8
		side = math.Max(math.Min(float64(n)*0.42, l.code), math.Min(22, l.code))
		p.put(piece{h: side, ops: []op{{kind: opFill, w: side, h: side, grey: 255}, {kind: opCode, w: side, h: side, code: code}}}, 0, 0)
		side += 2
	}
	rest := piece{}
	for _, s := range lines {
		rest.put(l.text(0, l.width-int(side*100), card.None, s, l.small, false), 0, rest.h)
	}
	if rest.h <= l.bodyHeight()/2 {
		p.put(rest, side, 0.8)
		p.ops = append(p.ops, op{kind: opLine, w: mm(l.width), thick: 0.2})
		l.add(atom{piece: p, before: 4})
		return nil
	}
	l.add(atom{piece: p, before: 4})
	for _, s := range lines {
		l.paragraph(0.4, "", 0, card.None, s, l.small, false)
	}
	return nil
}

// signsOf explains the signs that a document uses.
func signsOf(doc *card.Document) string {
	used := map[card.Mark]bool{}
	see := func(m card.Mark) { used[m] = true }
	if doc.Verdict != nil {
		see(doc.Verdict.Mark)
	}
	if len(cleanAll(doc.Cautions)) > 0 {
		see(card.Warn)
	}
	for _, b := range doc.Blocks {
		switch {
		case b.Paragraph != nil:
			see(b.Paragraph.Mark)
		case b.List != nil:
			for _, x := range b.List.Items {
				see(x.Mark)
			}
		case b.Facts != nil:
			for _, x := range b.Facts.Facts {
				see(x.Mark)
			}
		case b.Table != nil:
			for _, row := range b.Table.Rows {
				for _, c := range row {
					see(c.Mark)
				}
			}
		}
	}
	var out []string
	for _, m := range []card.Mark{card.Good, card.Bad, card.Warn, card.Unknown} {
		if used[m] {
			if s := sign(m); s == word(m) {
				out = append(out, s)
			} else {
				out = append(out, s+" "+word(m))
			}
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "Signs: " + strings.Join(out, ", ") + "."
}

// write puts the pages on sheets and the sheets into a file.
func (p *printed) write(out io.Writer) error {
	pdf := p.pdf
	// A fixed day, so that the same document is the same file; what it is of and how old
	// it is stands on the pages.
	day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	pdf.SetCreationDate(day)
	pdf.SetModificationDate(day)
	pdf.SetCatalogSort(true)
	pdf.SetProducer("headstock", true)
	pdf.SetTitle(p.title, true)
	pdf.SetLang("en")
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	w := pen{Fpdf: pdf, pictures: map[*card.Picture]string{}}
	if p.name == "A6" {
		w.folded(p)
	} else {
		for _, ops := range p.pages {
			pdf.AddPageFormat("P", fpdf.SizeType{Wd: p.w, Ht: p.h})
			w.draw(ops, p.form)
		}
	}
	if err := pdf.Error(); err != nil {
		return fmt.Errorf("pdf: %w", err)
	}
	var b bytes.Buffer
	if err := pdf.Output(&b); err != nil {
		return fmt.Errorf("pdf: %w", err)
	}
	_, err := out.Write(b.Bytes())
	return err
}

// pen draws marks.
type pen struct {
	*fpdf.Fpdf
	pictures map[*card.Picture]string
}

func (w *pen) draw(ops []op, f form) {
	for _, o := range ops {
		grey := int(o.grey)
		w.SetTextColor(grey, grey, grey)
		w.SetDrawColor(grey, grey, grey)
		w.SetFillColor(grey, grey, grey)
		w.SetLineWidth(o.thick)
		style, _ := weight(o.bold)
		switch o.kind {
		case opText:
			w.SetFont(family, style, o.size)
			w.Text(o.x, o.y, o.text)
		case opLine:
			w.Line(o.x, o.y, o.x+o.w, o.y+o.h)
		case opBox:
			w.Rect(o.x, o.y, o.w, o.h, "D")
		case opFill:
			w.Rect(o.x, o.y, o.w, o.h, "F")
		case opCode:
			w.code(o)
		case opPicture:
			w.picture(o)
		case opShape, opRing:
			w.shape(o)
		case opClear:
			w.clear(o)
		case opAcross:
			angle := math.Atan2(f.h-2*f.edge, f.w-2*f.side) * 180 / math.Pi
			w.SetFont(family, style, o.size)
			w.TransformBegin()
			w.TransformRotate(angle, f.w/2, f.h/2)
			w.Text(f.w/2-o.w/2, f.h/2+o.size*25.4/72*0.36, o.text)
			w.TransformEnd()
		}
	}
}

// code draws the dark modules, each run of a row in one piece.
func (w *pen) code(o op) {
	m := o.w / float64(len(o.code)+8)
	for y, row := range o.code {
		for x := 0; x < len(row); x++ {
			n := 0
			for x+n < len(row) && row[x+n] {
				n++
			}
			if n > 0 {
				w.Rect(o.x+float64(x+4)*m, o.y+float64(y+4)*m, float64(n)*m, m, "F")
				x += n
			}
		}
	}
}

func (w *pen) picture(o op) {
	name, ok := w.pictures[o.picture]
	if !ok {
		data, kind, err := upright(o.picture)
		if err != nil {
			w.SetError(err)
			return
		}
		name = "p" + strconv.Itoa(len(w.pictures))
		w.pictures[o.picture] = name
		w.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: kind}, bytes.NewReader(data))
	}
	w.ImageOptions(name, o.x, o.y, o.w, o.h, false, fpdf.ImageOptions{}, 0, "")
}
