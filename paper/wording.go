package paper

import (
	"errors"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"headstock/card"
)

// The sign is what stands in front of a marked text, the word what is read aloud or
// stands in a table file.
func sign(m card.Mark) string {
	switch m {
	case card.Good:
		return "ok"
	case card.Bad:
		return "✗"
	case card.Warn:
		return "!"
	case card.Unknown:
		return "?"
	}
	return ""
}

func word(m card.Mark) string {
	switch m {
	case card.Good:
		return "ok"
	case card.Bad:
		return "wrong"
	case card.Warn:
		return "look"
	case card.Unknown:
		return "cannot say"
	}
	return ""
}

// signed puts the sign in front of the text, bound to its first word so that a line
// never ends between the two.
func signed(m card.Mark, text string) string {
	s := sign(m)
	switch {
	case s == "":
		return text
	case text == "":
		return s
	}
	return s + "\u00a0" + text
}

// framed reports whether the sign of a mark stands in a frame in print: what is good needs
// none.
func framed(m card.Mark) bool { return sign(m) != "" && m != card.Good }

// pictured is what stands under a photograph, or in its place.
func pictured(p *card.Picture) string {
	if s := clean(p.Caption); s != "" {
		return "photo: " + p.File + " (" + s + ")"
	}
	return "photo: " + p.File
}

// clean makes a text safe to print: valid UTF-8, one line, no control or direction
// characters, single spaces. A no-break space stays.
func clean(s string) string {
	s = strings.ToValidUTF8(s, "\ufffd")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0':
			return r
		case unicode.IsSpace(r) || unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Co, r) || r&0xfffe == 0xfffe:
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' }), " ")
}

func cleanAll(list []string) []string {
	out := make([]string, 0, len(list))
	for _, s := range list {
		if s = clean(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// grid is a table with clean texts and as many cells in every row as columns.
type grid struct {
	caption string
	columns []card.Column
	rows    [][]card.Cell
	group   []bool // rows of one cell that head those under them
}

func squared(t *card.Table) grid {
	n := len(t.Columns)
	for _, row := range t.Rows {
		n = max(n, len(row))
	}
	g := grid{caption: clean(t.Caption), columns: make([]card.Column, n)}
	for _, row := range t.Rows {
		g.group = append(g.group, len(row) == 1 && n > 1)
	}
	copy(g.columns, t.Columns)
	for i := range g.columns {
		g.columns[i].Title = clean(g.columns[i].Title)
	}
	for _, row := range t.Rows {
		cells := make([]card.Cell, n)
		copy(cells, row)
		for i := range cells {
			cells[i].Text = clean(cells[i].Text)
		}
		g.rows = append(g.rows, cells)
	}
	return g
}

// titled is a caption together with the heading it stands under, for where the heading
// may be out of sight. What both begin with is said once.
func titled(under, caption string) string {
	switch {
	case caption == "" || caption == under:
		return under
	case under == "":
		return caption
	}
	if first, rest, ok := strings.Cut(caption, ": "); ok && begins(under, first) {
		caption = rest
	}
	return under + ": " + caption
}

// begins says whether a text begins with these words, and not only with their letters.
func begins(text, words string) bool {
	rest, ok := strings.CutPrefix(text, words)
	next, _ := utf8.DecodeRuneInString(rest)
	return ok && (rest == "" || !unicode.IsLetter(next) && !unicode.IsDigit(next))
}

// writer keeps the first error, so that the printers need not ask after every line.
type writer struct {
	w   io.Writer
	err error
}

func (w *writer) put(parts ...string) {
	for _, s := range parts {
		if w.err == nil {
			_, w.err = io.WriteString(w.w, s)
		}
	}
}

var errNoDocument = errors.New("no document to put on paper")
