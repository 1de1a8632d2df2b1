package paper

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"headstock/card"

	"pgregory.net/rapid"
)

// marks and texts make documents of odd inputs.
var marks = rapid.SampledFrom([]card.Mark{card.None, card.Good, card.Bad, card.Warn, card.Unknown, card.Quiet, "strange"})

func texts() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.String(),
		rapid.SampledFrom([]string{"", " ", "500 kPa ± 6 kPa", "brake-pipe-end-cock-front-left-and-right", "=1+1", "-5", "- 5", "'", "@SUM(A1)", "<b>&\"'</b>",
			"\x1b[31mred", "a\nb\tc\r\n", "\xff\xfe", "ブレーキ管", "e\u0301e\u0301e\u0301", "\u202eabc", "a\u00a0b", "]]>", "+1,5", "±", "± ±", "\ufeff=1"}),
		rapid.StringMatching(`([a-z]{1,30} ){0,12}`),
	)
}

func documents() *rapid.Generator[*card.Document] {
	return rapid.Custom(func(t *rapid.T) *card.Document {
		text := func(label string) string { return texts().Draw(t, label) }
		d := &card.Document{Title: text("title"), Subtitle: text("subtitle"), Banner: text("banner"),
			Cautions: rapid.SliceOfN(texts(), 0, 2).Draw(t, "cautions"), Footer: rapid.SliceOfN(texts(), 0, 2).Draw(t, "footer")}
		if rapid.Bool().Draw(t, "judged") {
			d.Verdict = &card.Verdict{Mark: marks.Draw(t, "mark"), Text: text("verdict"), Reasons: rapid.SliceOfN(texts(), 0, 2).Draw(t, "reasons")}
		}
		for range rapid.IntRange(0, 4).Draw(t, "blocks") {
			switch rapid.IntRange(0, 5).Draw(t, "kind") {
			case 0:
				d.Heading(rapid.IntRange(-1, 9).Draw(t, "level"), text("heading"))
			case 1:
				d.Paragraph(marks.Draw(t, "mark"), text("paragraph"))
			case 2:
				var items []card.Item
				for range rapid.IntRange(0, 12).Draw(t, "items") {
					items = append(items, card.Item{Text: text("item"), Mark: marks.Draw(t, "mark"), Detail: rapid.SliceOfN(texts(), 0, 2).Draw(t, "detail")})
				}
				d.Steps(items...)
			case 3:
				d.Facts(card.Fact{Name: text("name"), Text: text("value"), Mark: marks.Draw(t, "mark")}, card.Fact{Name: text("name"), Text: text("value")})
			case 4:
				d.Blocks = append(d.Blocks, card.Block{})
			default:
				d.Table(tables().Draw(t, "table"))
			}
		}
		return d
	})
}

func tables() *rapid.Generator[card.Table] {
	return rapid.Custom(func(t *rapid.T) card.Table {
		table := card.Table{Caption: texts().Draw(t, "caption")}
		for range rapid.IntRange(0, 9).Draw(t, "columns") {
			table.Columns = append(table.Columns, card.Column{Title: texts().Draw(t, "column"),
				Align: rapid.SampledFrom([]card.Align{card.Left, card.Right, card.Centre, "strange"}).Draw(t, "align")})
		}
		for range rapid.IntRange(0, 4).Draw(t, "rows") {
			var row []card.Cell
			for range rapid.IntRange(0, 9).Draw(t, "cells") {
				row = append(row, card.Marked(marks.Draw(t, "mark"), texts().Draw(t, "cell")))
			}
			table.Rows = append(table.Rows, row)
		}
		return table
	})
}

var painted = regexp.MustCompile(`\x1b\[[0-9;]*m`)

func TestTextIsNeverTooWide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		doc := documents().Draw(t, "document")
		width := rapid.IntRange(leastWidth, 140).Draw(t, "width")
		var plain, colour bytes.Buffer
		if err := Text(&plain, doc, Style{Width: width}); err != nil {
			t.Fatal(err)
		}
		if err := Text(&colour, doc, Style{Width: width, Colour: true}); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(plain.String(), "\x1b") {
			t.Fatal("an escape reached plain text")
		}
		for _, line := range strings.Split(plain.String(), "\n") {
			if n := columnsOf(line); n > width {
				t.Fatalf("%d columns of %d: %q", n, width, line)
			}
			if strings.TrimRight(line, " ") != line {
				t.Fatalf("line ends with a space: %q", line)
			}
		}
		// Colour adds nothing that is not there without it.
		if got := painted.ReplaceAllString(colour.String(), ""); got != plain.String() {
			t.Fatalf("colour changed the text:\n%q\n%q", got, plain.String())
		}
	})
}

// Every letter and digit that goes in comes out, however narrow the paper.
func TestTextLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := tables().Draw(t, "table")
		doc := &card.Document{}
		doc.Table(table)
		width := rapid.IntRange(leastWidth, 140).Draw(t, "width")
		var out bytes.Buffer
		if err := Text(&out, doc, Style{Width: width}); err != nil {
			t.Fatal(err)
		}
		count := map[rune]int{}
		for _, r := range out.String() {
			count[r]++
		}
		g := squared(&table)
		for _, row := range g.rows {
			for _, c := range row {
				for _, r := range c.Text {
					if r != ' ' && r != '\u00a0' {
						count[r]--
					}
				}
			}
		}
		for r, n := range count {
			if n < 0 {
				t.Fatalf("%d of %q lost:\n%s", -n, r, out.String())
			}
		}
	})
}

func sample() *card.Document {
	d := &card.Document{
		Title: "Brake test", Subtitle: "one unit and five wagons", Banner: "DRAFT – NOT FOR USE",
		Verdict:  &card.Verdict{Mark: card.Warn, Text: "The record says this set-up works with losses.", Reasons: []string{"no quick release on unit 11"}},
		Cautions: []string{"Second person at the rear."},
		Footer:   []string{"record revision 3, hash 0123abcd"},
	}
	d.Heading(1, "Set up")
	d.Steps(card.Item{Text: "Cut-out to out", Detail: []string{"cab 1, left of the desk"}}, card.Item{Text: "Do not move the seal", Mark: card.Bad})
	d.Heading(1, "Readings")
	d.Table(card.Table{Caption: "Full application",
		Columns: []card.Column{{Title: "place"}, {Title: "gauge"}, {Title: "expected", Align: card.Right}, {Title: "because"}},
		Rows: [][]card.Cell{
			{card.Text("unit 3, cab 1"), card.Text("brake pipe"), card.Marked(card.Good, "340 kPa ± 6 kPa"), card.Text("the handle asks for a reduction of 160 kPa and the relay follows it within its band")},
			{card.Text("unit 11, cab 2"), card.Text("brake cylinder"), card.Marked(card.Bad, "0 kPa"), card.Text("nothing reaches it")},
			{card.Text("last wagon"), card.Text("piston"), card.Marked(card.Unknown, "cannot say"), card.Text("the record has no travel")},
		}})
	d.Facts(card.Fact{Name: "altitude", Text: "1,200 m"}, card.Fact{Name: "air temperature", Text: "5 °C", Mark: card.Warn})
	return d
}

const sampleText = `*** DRAFT – NOT FOR USE ***
Brake test
==========
one unit and five wagons

Advice only: local rules, the maker's instructions and licensed practice come
first. Treat a stationary vehicle as if it may move; secure it before going
between; vent and isolate before work on air; stop and isolate the engine before
reaching in.
! Second person at the rear.

! The record says this set-up works with losses.
  - no quick release on unit 11

Set up
------
1. Cut-out to out
   cab 1, left of the desk
2. ✗ Do not move the seal

Readings
--------
Full application
place           gauge                     expected  because
--------------  --------------  ------------------  ----------------------------
unit 3, cab 1   brake pipe      ok 340 kPa ± 6 kPa  the handle asks for a
                                                    reduction of 160 kPa and the
                                                    relay follows it within its
                                                    band

unit 11, cab 2  brake cylinder             ✗ 0 kPa  nothing reaches it

last wagon      piston                ? cannot say  the record has no travel

altitude         1,200 m
air temperature  ! 5 °C
`

func TestTextAtEighty(t *testing.T) {
	var out bytes.Buffer
	if err := Text(&out, sample(), Style{}); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(out.String(), sampleText) {
		t.Errorf("got:\n%s\nwant at the head:\n%s", out.String(), sampleText)
	}
	if n := strings.Count(strings.Join(strings.Fields(out.String()), " "), card.Caution); n != 2 {
		t.Errorf("the caution is printed %d times, want at the head and at the foot", n)
	}
}

// A table too wide for the paper becomes entries.
func TestTextNarrow(t *testing.T) {
	var out bytes.Buffer
	if err := Text(&out, sample(), Style{Width: 30}); err != nil {
		t.Fatal(err)
	}
	want := "unit 11, cab 2\n"
	if !strings.Contains(out.String(), want) || !strings.Contains(out.String(), "\n  gauge: brake cylinder\n  expected: ✗ 0 kPa\n") {
		t.Errorf("got:\n%s", out.String())
	}
}

func TestWrapKeepsFigureAndMeasure(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  string
	}{
		{"rises to 500 kPa", 12, "rises to|500 kPa"},
		{"within 6 kPa ± 2 kPa, no more", 16, "within|6 kPa ± 2 kPa,|no more"},
		{"12 cocks", 4, "12|cock|s"},
		{"", 5, ""},
	} {
		if got := strings.Join(wrap(c.text, c.width), "|"); got != c.want {
			t.Errorf("wrap(%q, %d) = %q, want %q", c.text, c.width, got, c.want)
		}
	}
}

// A caption that only repeats the heading or the title is not printed again.
func TestTextSaysAHeadingOnce(t *testing.T) {
	d := &card.Document{Title: "Classes"}
	table := card.Table{Caption: "Classes", Columns: []card.Column{{Title: "class"}}, Rows: [][]card.Cell{{card.Text("one")}}}
	d.Table(table)
	d.Heading(1, "air supply")
	table.Caption = "air supply"
	d.Table(table)
	table.Caption = "air supply of another"
	d.Table(table)
	var out bytes.Buffer
	if err := Text(&out, d, Style{}); err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]int{"Classes\n": 1, "air supply\n": 1, "air supply of another\n": 1} {
		if n := strings.Count(out.String(), text); n != want {
			t.Errorf("%q stands %d times, want %d:\n%s", text, n, want, out.String())
		}
	}
}
