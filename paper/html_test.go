package paper

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"slices"
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
