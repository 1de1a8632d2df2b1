package paper

import (
	"io"
	"strings"

	"headstock/card"
)

// CSV writes the tables of a document, comma-separated. Above them stand, one field a
// record, the caution, the title, the banner and the verdict; above each table its
// caption; a blank line parts one table from the next. A column that holds marks is followed by one
// with the marks in words. A cell that a spreadsheet would take for a formula is given
// an apostrophe in front; so is one that begins with an apostrophe, so that taking one
// away always gives the cell back.
func CSV(out io.Writer, doc *card.Document) error {
	if doc == nil {
		return errNoDocument
	}
	w := &writer{w: out}
	record(w, card.Caution)
	for _, s := range cleanAll([]string{doc.Banner, doc.Title, doc.Subtitle}) {
		record(w, s)
	}
	if v := doc.Verdict; v != nil {
		record(w, clean(v.Text))
	}
	under := clean(doc.Title)
	for _, b := range doc.Blocks {
		if b.Heading != nil {
			under = clean(b.Heading.Text)
		}
		if b.Table == nil {
			continue
		}
		g := squared(b.Table)
		if g.caption == "" {
			g.caption = under
		}
		w.put("\n")
		record(w, g.caption)
		rows := csvRows(g)
		for _, r := range rows {
			record(w, r...)
		}
	}
	return w.err
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
