package paper

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	"headstock/card"

	"pgregory.net/rapid"
)

// read parses a page strictly and gives the tags in order and all the text.
func read(t interface{ Fatalf(string, ...any) }, page string) (tags []xml.StartElement, text string) {
	d := xml.NewDecoder(strings.NewReader(page))
	var b strings.Builder
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return tags, b.String()
		}
		if err != nil {
			t.Fatalf("the page does not parse: %v\n%s", err, page)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			tags = append(tags, tok.Copy())
		case xml.CharData:
			b.Write(tok)
		}
	}
}

var ours = strings.Fields("html head meta title style body header main footer h1 h2 h3 h4 h5 h6 p b span ul ol li dl dt dd div table caption thead tbody tr th td")

func TestHTMLParsesAndEscapes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		doc := documents().Draw(t, "document")
		var out bytes.Buffer
		if err := HTML(&out, doc); err != nil {
			t.Fatal(err)
		}
		tags, text := read(t, out.String())
		level := 0
		for _, tag := range tags {
			name := tag.Name.Local
			if !slices.Contains(ours, name) {
				t.Fatalf("a tag <%s> that is not ours", name)
			}
			if name == "b" {
				continue
			}
			if len(name) == 2 && name[0] == 'h' && name[1] >= '1' && name[1] <= '6' {
				if n := int(name[1] - '0'); n > level+1 {
					t.Fatalf("heading %d under %d", n, level)
				} else {
					level = n
				}
			}
			for _, a := range tag.Attr {
				if strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "src" || a.Name.Local == "href" {
					t.Fatalf("<%s %s=%q>", name, a.Name.Local, a.Value)
				}
			}
		}
		for _, b := range doc.Blocks {
			if b.Paragraph != nil && !strings.Contains(text, clean(b.Paragraph.Text)) {
				t.Fatalf("%q is not on the page", clean(b.Paragraph.Text))
			}
		}
		if n := strings.Count(text, card.Caution); n < 2 {
			t.Fatalf("the caution is on the page %d times", n)
		}
	})
}

func TestHTMLIsAccessible(t *testing.T) {
	d := sample()
	d.Paragraph(card.None, `<script>alert("x")</script> & more`)
	var out bytes.Buffer
	if err := HTML(&out, d); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	read(t, page)
	for _, want := range []string{
		`<html lang="en">`, "<h1>Brake test</h1>", "<h2>Readings</h2>", ">Full application</span></caption>",
		`<th scope="col" class="right">expected</th>`, `<th scope="row">unit 3, cab 1</th>`,
		`<td class="right bad"><b aria-hidden="true">✗</b> <span class="ear">wrong: </span>0 kPa</td>`,
		`<td class="right good"><b>ok</b> 340 kPa ± 6 kPa</td>`, "@media print", "DRAFT – NOT FOR USE",
		"&lt;script&gt;alert(&#34;x&#34;)&lt;/script&gt; &amp; more",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, not := range []string{"http:", "https:", "url(", "<script", "<link", "<img"} {
		if strings.Contains(page, not) {
			t.Errorf("the page has %q", not)
		}
	}
}

// unquote reads a string as a style sheet does: a backslash, up to six hexadecimal
// digits and one space are one character.
func unquote(t interface{ Fatalf(string, ...any) }, s string) string {
	body, opened := strings.CutPrefix(s, "'")
	body, shut := strings.CutSuffix(body, "'")
	if !opened || !shut {
		t.Fatalf("%q is no quoted text", s)
	}
	var out []rune
	for r := []rune(body); len(r) > 0; {
		if r[0] != '\\' {
			if strings.ContainsRune("'\"<>&;{}\n\r\f", r[0]) {
				t.Fatalf("%q stands bare in %q", r[0], s)
			}
			out, r = append(out, r[0]), r[1:]
			continue
		}
		n := 1
		for n < len(r) && n <= 6 && strings.ContainsRune("0123456789abcdef", r[n]) {
			n++
		}
		code, err := strconv.ParseInt(string(r[1:n]), 16, 32)
		if err != nil {
			t.Fatalf("an escape of nothing in %q", s)
		}
		out, r = append(out, rune(code)), r[n:]
		if len(r) == 0 || r[0] != ' ' {
			t.Fatalf("an escape that runs into what follows in %q", s)
		}
		r = r[1:]
	}
	return string(out)
}

func TestQuotedWords(t *testing.T) {
	for in, want := range map[string]string{
		"":                     "''",
		"set to":               "'set to'",
		"driver's":             `'driver\27 s'`,
		"500 kPa ± 6":          "'500 kPa ± 6'",
		`a\b`:                  `'a\5c b'`,
		"</style>":             `'\3c \2f style\3e '`,
		"';}body{display:none": `'\27 \3b \7d body\7b display\3a none'`,
		"line\nend":            "'line end'",
	} {
		if got := quoted(in); got != want {
			t.Errorf("quoted(%q) = %s, want %s", in, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := texts().Draw(t, "text")
		if got := unquote(t, quoted(s)); got != clean(s) {
			t.Fatalf("%q comes back as %q", clean(s), got)
		}
	})
}

// The head of a column stands before each cell of a stacked row, out of the table's own
// variables, whatever it is called.
func TestHTMLStacksWithQuotedHeads(t *testing.T) {
	d := &card.Document{Title: "t"}
	row := []card.Cell{card.Text("a"), card.Text("b"), card.Text("c"), card.Text("d")}
	columns := []card.Column{{Title: "unit"}, {Title: `driver's "place"`}, {Title: ""}, {Title: "a;b}</style>"}}
	d.Table(card.Table{Columns: columns, Rows: [][]card.Cell{row}})
	d.Table(card.Table{Columns: columns[:3], Rows: [][]card.Cell{row[:3]}})
	var out bytes.Buffer
	if err := HTML(&out, d); err != nil {
		t.Fatal(err)
	}
	tags, _ := read(t, out.String())
	var tables [][2]string
	for _, tag := range tags {
		if tag.Name.Local == "table" {
			tables = append(tables, [2]string{attribute(tag, "class"), attribute(tag, "style")})
		}
	}
	want := [][2]string{{"stack few", `--c2:'driver\27 s \22 place\22 ';--c3:'';--c4:'a\3b b\7d \3c \2f style\3e '`}, {"few", ""}}
	if !slices.Equal(tables, want) {
		t.Errorf("got %q, want %q", tables, want)
	}
}

func attribute(tag xml.StartElement, name string) string {
	for _, a := range tag.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// A row without a name of its own carries that of the row over it, for the ear and for
// where that row is out of sight; a group begins anew, and a mark is a text.
func TestHTMLRepeatsRowNames(t *testing.T) {
	d := &card.Document{Title: "Readings"}
	d.Table(card.Table{Columns: []card.Column{{Title: "unit"}, {Title: "gauge"}}, Rows: [][]card.Cell{
		{card.Text(""), card.Text("before any name")},
		{card.Text("unit 3 & 4"), card.Text("brake pipe")},
		{card.Text(""), card.Text("cylinder")},
		{card.Text(""), card.Text("reservoir")},
		{card.Marked(card.Warn, ""), card.Text("marked")},
		{card.Text("at the rear:")},
		{card.Text(""), card.Text("after a group")},
		{card.Text("unit 5"), card.Text("brake pipe")},
		{card.Text(""), card.Text("piston")},
	}})
	var out bytes.Buffer
	if err := HTML(&out, d); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	read(t, page)
	for _, want := range []string{
		"<tr><td></td><td>before any name</td></tr>",
		`<tr><th scope="row">unit 3 &amp; 4</th><td>brake pipe</td></tr>`,
		`<tr><th scope="row" class="again"><span>unit 3 &amp; 4</span></th><td>cylinder</td></tr>`,
		`<tr><th scope="row" class="again"><span>unit 3 &amp; 4</span></th><td>reservoir</td></tr>`,
		`<tr><td class="warn"><b aria-hidden="true">!</b> <span class="ear">look: </span></td><td>marked</td></tr>`,
		"</tbody>\n<tbody>\n" + `<tr class="heads"><th scope="rowgroup" colspan="2" class="group">at the rear:</th></tr>` + "\n<tr><td></td><td>after a group</td></tr>",
		`<tr><th scope="row" class="again"><span>unit 5</span></th><td>piston</td></tr>`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if n := strings.Count(page, `class="again"`); n != 3 {
		t.Errorf("%d names are repeated, want 3", n)
	}
	// where the row over it is in sight, the eye does not see it twice
	if want := ".again>span{position:absolute"; !strings.Contains(page, want) {
		t.Errorf("the page lacks %q", want)
	}
}

// A printed sheet that has come away from the others says what it is of, whether it may
// be used, the caution and its number; a table that goes on over it says whose it is.
func TestHTMLPrintSheets(t *testing.T) {
	d := &card.Document{Title: "Set-up: it's 3 </style>", Banner: "DRAFT – NOT FOR USE"}
	rows := func(n int) (out [][]card.Cell) {
		for range n {
			out = append(out, []card.Cell{card.Text("a"), card.Text("b")})
		}
		return out
	}
	columns := []card.Column{{Title: "device"}, {Title: "set to"}}
	d.Table(card.Table{Caption: "Consist", Columns: columns, Rows: rows(1)})
	d.Heading(1, "Unit 3, lead")
	d.Table(card.Table{Caption: "Unit 3: set in this order", Columns: columns, Rows: rows(13)})
	d.Heading(1, "Requirements")
	d.Table(card.Table{Caption: "Requirements", Columns: columns, Rows: rows(12)})
	d.Table(card.Table{Columns: columns, Rows: rows(1)})
	var out bytes.Buffer
	if err := HTML(&out, d); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	read(t, page)
	_, style, _ := strings.Cut(page, "<style>")
	style, _, _ = strings.Cut(style, "</style>")
	_, sheet, ok := strings.Cut(style, "@page{")
	if !ok {
		t.Fatal("no sheet")
	}
	box := func(name string) string {
		_, rest, ok := strings.Cut(sheet, "@"+name+"{content:")
		if !ok {
			t.Fatalf("a sheet without %s", name)
		}
		content, _, _ := strings.Cut(rest, ";")
		return content
	}
	if got, want := unquote(t, box("top-left")), "DRAFT – NOT FOR USE – Set-up: it's 3 </style>"; got != want {
		t.Errorf("at the top %q, want %q", got, want)
	}
	if got := unquote(t, box("bottom-left")); got != card.Caution {
		t.Errorf("at the foot %q, want the caution", got)
	}
	if got, want := box("bottom-right"), "counter(page) ' of ' counter(pages)"; got != want {
		t.Errorf("at the foot %q, want %q", got, want)
	}
	for _, want := range []string{"thead{display:table-header-group}", ".running{display:table-row}", "caption{display:none}", "tr,li,dd,.caution,.verdict{break-inside:avoid}", ".few{break-inside:avoid}", "color:#000!important"} {
		if _, print, _ := strings.Cut(style, "@media print{"); !strings.Contains(print, want) {
			t.Errorf("print lacks %q", want)
		}
	}
	var running []string
	for _, part := range strings.Split(page, `<tr class="running"><th colspan="2">`)[1:] {
		text, _, _ := strings.Cut(part, "</th>")
		running = append(running, text)
	}
	if want := []string{"Consist", "Unit 3, lead: set in this order", "Requirements", "Requirements"}; !slices.Equal(running, want) {
		t.Errorf("heads of the tables in print %q, want %q", running, want)
	}
	// a short table stays on one sheet, a long one may go on
	if n := strings.Count(page, `<table class="few">`); n != 3 {
		t.Errorf("%d tables of few rows, want 3", n)
	}
	// without a banner the title stands alone
	if got := loose("title", " "); !strings.Contains(got, "@top-left{content:'title';") {
		t.Errorf("%s", got)
	}
}
