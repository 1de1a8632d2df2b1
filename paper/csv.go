package paper

import (
	"io"
	"strings"

	"headstock/card"
)

// CSV writes the tables and facts of a document, comma-separated. Above them stand, one
// field a record, the caution, the banner, the title, the further cautions and the
// verdict with its reasons; above each table its heading and caption; below them all the
// footer, which says what the document rests on. A blank line parts one from the next. Of running text
// and lists only what is marked to be minded is written. A column that holds marks is
// followed by one with the marks in words. A cell that a spreadsheet would take for a
// formula is given an apostrophe in front; so is one that begins with an apostrophe, so
// that taking one away always gives the cell back.
func CSV(out io.Writer, doc *card.Document) error {
	if doc == nil {
		return errNoDocument
	}
	w := &writer{w: out}
	record(w, card.Caution)
	for _, s := range cleanAll([]string{doc.Banner, doc.Title, doc.Subtitle}) {
		record(w, s)
	}
	for _, s := range cleanAll(doc.Cautions) {
		record(w, word(card.Warn)+": "+s)
	}
	if v := doc.Verdict; v != nil {
		for _, s := range cleanAll(append([]string{v.Text}, v.Reasons...)) {
			record(w, s)
		}
	}
	for _, t := range Tables(doc) {
		w.put("\n")
		record(w, t.Caption)
		for _, r := range t.Rows {
			record(w, r...)
		}
	}
	if footer := cleanAll(doc.Footer); len(footer) > 0 {
		w.put("\n")
		for _, s := range footer {
			record(w, s)
		}
	}
	return w.err
}

// Flat is a part of a document as rows of texts. Of a table the first row is its head,
// and a column that holds marks is followed by one with the marks in words.
type Flat struct {
	Caption string
	Headed  bool // the first row is a head
	Rows    [][]string
}

// Tables are the parts of a document that can stand as rows: its tables and facts, and
// of its text what is to be minded. One without a caption has that of its heading, or the
// title.
func Tables(doc *card.Document) []Flat {
	var out []Flat
	heading, running := "", false // whether what is to be minded under it has begun
	for _, b := range doc.Blocks {
		if b.Heading != nil {
			heading, running = clean(b.Heading.Text), false
			continue
		}
		f := Flat{Rows: minded(b), Caption: heading}
		goesOn := true
		switch {
		case b.Table != nil:
			g := squared(b.Table)
			f, goesOn = Flat{Rows: csvRows(g), Caption: titled(heading, g.caption), Headed: true}, false
		case b.Facts != nil && len(b.Facts.Facts) > 0:
			f.Rows, goesOn = csvFacts(b.Facts), false
		case len(f.Rows) == 0:
			continue
		}
		if f.Caption == "" {
			f.Caption = clean(doc.Title)
		}
		if goesOn && running {
			out[len(out)-1].Rows = append(out[len(out)-1].Rows, f.Rows...)
		} else {
			out = append(out, f)
		}
		running = goesOn
	}
	return out
}

// Rows writes rows as a table file that is read again by a program: as they are but for
// what a spreadsheet would run.
func Rows(out io.Writer, rows [][]string) error {
	w := &writer{w: out}
	for _, r := range rows {
		record(w, r...)
	}
	return w.err
}

// minded are the paragraphs and items of a block that carry a mark to be minded: the
// mark in words, then the text; what stands under an item follows in its record.
func minded(b card.Block) [][]string {
	var rows [][]string
	add := func(m card.Mark, text string, detail []string) {
		if text = clean(text); text != "" && (m == card.Bad || m == card.Warn || m == card.Unknown) {
			rows = append(rows, append([]string{word(m) + ": " + text}, cleanAll(detail)...))
		}
	}
	if p := b.Paragraph; p != nil {
		add(p.Mark, p.Text, nil)
	}
	if b.List != nil {
		for _, item := range b.List.Items {
			add(item.Mark, item.Text, item.Detail)
		}
	}
	return rows
}

// csvFacts gives each name with its value, and the mark in words where there is one.
func csvFacts(f *card.Facts) [][]string {
	var rows [][]string
	for _, x := range f.Facts {
		row := []string{clean(x.Name), clean(x.Text)}
		if w := word(x.Mark); w != "" {
			row = append(row, w)
		}
		rows = append(rows, row)
	}
	return rows
}

// csvRows gives the head and the rows, with a column of words after each marked one.
func csvRows(g grid) [][]string {
	if len(g.columns) == 0 {
		return nil
	}
	marked := make([]bool, len(g.columns))
	for _, row := range g.rows {
		for i, c := range row {
			marked[i] = marked[i] || word(c.Mark) != ""
		}
	}
	var head []string
	for i, c := range g.columns {
		head = append(head, c.Title)
		if marked[i] {
			head = append(head, strings.TrimSpace(c.Title+" mark"))
		}
	}
	rows := [][]string{head}
	for _, row := range g.rows {
		var r []string
		for i, c := range row {
			r = append(r, c.Text)
			if marked[i] {
				r = append(r, word(c.Mark))
			}
		}
		rows = append(rows, r)
	}
	return rows
}

// record writes one line. The quoting is our own because a lone empty field must be
// written as "" to be read back.
func record(w *writer, fields ...string) {
	for i, f := range fields {
		if i > 0 {
			w.put(",")
		}
		f = disarm(f)
		if f == "" && len(fields) == 1 || strings.ContainsAny(f, "\",;\r\n\t") || strings.TrimSpace(f) != f {
			f = `"` + strings.ReplaceAll(f, `"`, `""`) + `"`
		}
		w.put(f)
	}
	w.put("\n")
}

// disarm puts an apostrophe before what a spreadsheet might run.
func disarm(f string) string {
	first := strings.TrimLeft(f, " \u00a0")
	if first == "" || !strings.ContainsRune("=+-@'＝＋－＠", []rune(first)[0]) || plainNumber(f) {
		return f
	}
	return "'" + f
}

// plainNumber reports whether f is digits with at most a sign and one point or comma.
func plainNumber(f string) bool {
	if f != "" && (f[0] == '+' || f[0] == '-') {
		f = f[1:]
	}
	whole, part, split := strings.Cut(strings.Replace(f, ",", ".", 1), ".")
	return digits(whole) && (!split || digits(part))
}

func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}
