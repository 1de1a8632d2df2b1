package drawing

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// A drawing is well-formed, says in words what it is, and lets no text out of its place.
func TestSVG(t *testing.T) {
	d := &Drawing{Width: 100, Height: 50.25, ID: "a", Title: `<b>"x"</b>`, Says: "one & two"}
	d.Line("pipe", 0, 0, 10, 3.14159)
	d.Area("solid", 0, 0, 1, 0, 1, 1)
	d.Box("body", 1, 2, 3, 4)
	d.Words("small", 5, 6, `</text><script>`)
	d.Add(Mark{Class: `"/>`, To: `#"`, Name: `'<>`, Ring: &Ring{1, 2, 3}, With: []Mark{{Words: &Words{1, 2, "7"}}}})
	var b bytes.Buffer
	if err := SVG(&b, d); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	names := map[string]int{}
	dec := xml.NewDecoder(strings.NewReader(text))
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		if e, ok := tok.(xml.StartElement); ok {
			names[e.Name.Local]++
			for _, a := range e.Attr {
				if a.Name.Local == "style" {
					t.Error("a mark carries a style")
				}
			}
		}
	}
	for name, want := range map[string]int{"svg": 1, "title": 1, "desc": 1, "polyline": 1, "polygon": 1, "rect": 1, "circle": 1, "text": 2, "a": 1, "script": 0, "b": 0} {
		if names[name] != want {
			t.Errorf("%d of %s, want %d", names[name], name, want)
		}
	}
	for _, want := range []string{`role="group"`, `points="0,0 10,3.1"`, `height="50.2"`} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
	b.Reset()
	if err := SVG(&b, &Drawing{ID: "b"}); err != nil || !strings.Contains(b.String(), `role="img"`) {
		t.Errorf("a drawing that leads nowhere is no image: %v", err)
	}
}
