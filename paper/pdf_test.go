package paper

import (
	"bytes"
	"fmt"
	"image"
	_ "image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	goqr "github.com/piglig/go-qr"
	"pgregory.net/rapid"

	"headstock/card"
)

// corners are the outermost points of a mark.
func (p *printed) corners(o op) (x0, y0, x1, y1 float64) {
	switch o.kind {
	case opText:
		h := o.size * 25.4 / 72
		return o.x, o.y - 0.8*h, o.x + o.w, o.y + 0.25*h
	case opAcross:
		a := math.Atan2(p.h-2*p.edge, p.w-2*p.side)
		w, h := o.w/2, o.size*25.4/72*0.5
		dx, dy := w*math.Cos(a)+h*math.Sin(a), w*math.Sin(a)+h*math.Cos(a)
		return p.w/2 - dx, p.h/2 - dy, p.w/2 + dx, p.h/2 + dy
	}
	return o.x, o.y, o.x + o.w, o.y + o.h
}

// Nothing lies outside a page or in its margins, and the pages carry what every page must.
func TestPDFStaysOnThePage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		doc := documents().Draw(t, "document")
		p, err := print(doc, Sheet{Paper: rapid.SampledFrom(Papers()).Draw(t, "paper")})
		if err != nil {
			t.Fatal(err)
		}
		for n, ops := range p.pages {
			text := ""
			across := false
			for _, o := range ops {
				x0, y0, x1, y1 := p.corners(o)
				side, edge := p.side-0.5, p.edge-0.5
				if x0 < side || y0 < edge || x1 > p.w-side || y1 > p.h-edge {
					t.Fatalf("%s page %d of %d: %q lies from %.1f,%.1f to %.1f,%.1f", p.name, n+1, len(p.pages), o.text, x0, y0, x1, y1)
				}
				text += o.text + " "
				across = across || o.kind == opAcross
			}
			if want := fmt.Sprintf("page %d of %d", n+1, len(p.pages)); !strings.Contains(text, want) {
				t.Fatalf("no %q", want)
			}
			if strings.Count(strings.Join(strings.Fields(text), " "), card.Caution) != 2 {
				t.Fatalf("page %d has not the caution at head and foot", n+1)
			}
			if across != (clean(doc.Banner) != "") {
				t.Fatal("a banner does not lie across every page of its document, or one does without it")
			}
		}
	})
}

// Every letter that goes into a table comes out on some page.
func TestPDFLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := tables().Draw(t, "table")
		doc := &card.Document{}
		doc.Table(table)
		p, err := print(doc, Sheet{Paper: rapid.SampledFrom(Papers()).Draw(t, "paper")})
		if err != nil {
			t.Fatal(err)
		}
		count := map[rune]int{}
		for _, ops := range p.pages {
			for _, o := range ops {
				for _, r := range o.text {
					count[r]++
				}
			}
		}
		face, err := newFace(p.pdf)
		if err != nil {
			t.Fatal(err)
		}
		g := squared(&table)
		for _, row := range g.rows {
			for _, c := range row {
				for _, r := range face.plain(c.Text) {
					if r != ' ' && r != '\u00a0' {
						count[r]--
					}
				}
			}
		}
		for r, n := range count {
			if n < 0 {
				t.Fatalf("%d of %q lost", -n, r)
			}
		}
	})
}

// long is a table of n rows, in groups, the rows of a group under two names.
func long(n int) *card.Document {
	d := &card.Document{Title: "A long sheet"}
	d.Heading(1, "The walk")
	tab := card.Table{Caption: "in this order", Columns: []card.Column{{Title: "device"}, {Title: "set to"}, {Title: "how it looks"}}}
	for i := range n {
		if i%7 == 0 {
			tab.Rows = append(tab.Rows, []card.Cell{card.Text(fmt.Sprintf("place %d:", i/7))})
		}
		name := card.Text("")
		if i%7%3 == 0 {
			name = card.Text(fmt.Sprintf("device %d", i))
		}
		tab.Rows = append(tab.Rows, []card.Cell{name, card.Text("open"), card.Text("handle along the pipe")})
	}
	d.Table(tab)
	d.Heading(1, "After it")
	d.Paragraph(card.None, "The end.")
	return d
}

// Wherever a page ends: the heads of a table are there again, a row says whose it is, and
// no heading is the last thing on a page.
func TestPDFBreaks(t *testing.T) {
	for _, paper := range Papers() {
		for n := 1; n < 120; n += 3 {
			p, err := print(long(n), Sheet{Paper: paper})
			if err != nil {
				t.Fatal(err)
			}
			for i, ops := range p.pages {
				var body []string
				for _, o := range ops {
					if o.kind == opText && o.size > p.small {
						body = append(body, o.text)
					}
				}
				if len(body) == 0 { // what the document ends with, by itself
					continue
				}
				all := strings.Join(body, "\n")
				rows := strings.Count(all, "handle along the pipe")
				if last := body[len(body)-1]; strings.HasPrefix(last, "place") || last == "The walk" || last == "After it" || last == "in this order" || last == "how it looks" {
					t.Fatalf("%s, %d rows: page %d ends with %q", paper, n, i+1, last)
				}
				if rows > 0 && !strings.Contains(all, "set to") {
					t.Fatalf("%s, %d rows: page %d has rows and no heads:\n%s", paper, n, i+1, all)
				}
				if rows > 0 {
					first := strings.Index(all, "handle along the pipe")
					if !strings.Contains(all[:first], "device ") || !strings.Contains(all[:first], "place ") {
						t.Fatalf("%s, %d rows: page %d begins with a row of nobody:\n%s", paper, n, i+1, all)
					}
				}
			}
		}
	}
}

// A row higher than a page runs over pages and is named on each.
func TestPDFTallRow(t *testing.T) {
	d := &card.Document{Title: "t"}
	d.Table(card.Table{Columns: []card.Column{{Title: "device"}, {Title: "text"}}, Rows: [][]card.Cell{{card.Text("cock"), card.Text(strings.Repeat("handle across the pipe ", 600))}}})
	for _, paper := range Papers() {
		p, err := print(d, Sheet{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		words, named := 0, 0
		for _, ops := range p.pages {
			on := false
			for _, o := range ops {
				words += strings.Count(o.text, "handle")
				on = on || o.text == "cock"
			}
			if on {
				named++
			}
		}
		if words != 600 || len(p.pages) < 2 || named < len(p.pages)-1 {
			t.Errorf("%s: %d of 600 on %d pages, %d of them named", paper, words, len(p.pages), named)
		}
	}
}

var pageObject = regexp.MustCompile(`/Type /Page\b[^s]`)

// The file has as many pages as were laid out, on as many sheets as they need, and is the
// same file each time.
func TestPDFBytes(t *testing.T) {
	for _, doc := range []*card.Document{sample(), long(40), long(200)} {
		for _, paper := range Papers() {
			var first bytes.Buffer
			if err := PDF(&first, doc, Sheet{Paper: paper}); err != nil {
				t.Fatal(err)
			}
			for range 3 {
				var again bytes.Buffer
				if err := PDF(&again, doc, Sheet{Paper: paper}); err != nil || !bytes.Equal(first.Bytes(), again.Bytes()) {
					t.Fatalf("%s: another file the second time (%v)", paper, err)
				}
			}
			p, err := print(doc, Sheet{Paper: paper})
			if err != nil {
				t.Fatal(err)
			}
			want := len(p.pages)
			if paper == "A6" { // both sides of every full sheet, one of a last with up to four pages
				want = 2 * (len(p.pages) / 8)
				switch rest := len(p.pages) % 8; {
				case rest > 4:
					want += 2
				case rest > 0:
					want++
				}
			}
			if got := len(pageObject.FindAll(first.Bytes(), -1)); got != want {
				t.Errorf("%s: %d pages in the file, want %d", paper, got, want)
			}
		}
	}
}

func TestPDFNoSuchPaper(t *testing.T) {
	var b bytes.Buffer
	if err := PDF(&b, sample(), Sheet{Paper: "A3"}); err == nil || !strings.Contains(err.Error(), "A4, A5, A6") || b.Len() > 0 {
		t.Error(err)
	}
	if err := PDF(&b, nil, Sheet{}); err == nil || b.Len() > 0 {
		t.Error(err)
	}
}

// poppler is a program of poppler, an independent reader of the files.
func poppler(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	prog, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not on this machine: the file is not read back by another program", name)
	}
	out, err := exec.Command(prog, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

func file(t *testing.T, doc *card.Document, sheet Sheet) string {
	t.Helper()
	var b bytes.Buffer
	if err := PDF(&b, doc, sheet); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "doc.pdf")
	if err := os.WriteFile(name, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// Another program reads the texts back, signs and all.
func TestPDFReadBack(t *testing.T) {
	for _, paper := range Papers() {
		text := strings.Join(strings.Fields(string(poppler(t, "pdftotext", file(t, sample(), Sheet{Paper: paper}), "-"))), " ")
		for _, want := range []string{"DRAFT – NOT FOR USE", "Brake test", "page 1 of 1", "340 kPa ± 6 kPa", "5 °C", "Do not move the seal", "cannot say", "record revision 3, hash 0123abcd", "Signs: ok, × wrong, ! look, ? cannot say."} {
			if paper == "A6" {
				want = strings.ReplaceAll(want, "page 1 of 1", "page 1 of 2")
			}
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q in %s", paper, want, text)
			}
		}
	}
}

// The code on a page that another program has drawn says what it was given.
func TestPDFCodeReads(t *testing.T) {
	doc := sample()
	doc.Rests = []string{"A issued 2026-03-01 0123456789ab", "B issued 2026-03-02 ba9876543210", "computed from 6 runs"}
	for _, c := range []struct{ paper, code, want string }{
		{"A4", "", "Brake test\nDRAFT – NOT FOR USE\n" + strings.Join(doc.Rests, "\n")},
		{"A5", "https://headstock.example/card?consist=A+3+lead%2C+B+11+trail", "https://headstock.example/card?consist=A+3+lead%2C+B+11+trail"},
	} {
		name := file(t, doc, Sheet{Paper: c.paper, Code: c.code})
		png := poppler(t, "pdftoppm", "-r", "200", "-png", name)
		img, _, err := image.Decode(bytes.NewReader(png))
		if err != nil {
			t.Fatal(err)
		}
		got, err := goqr.Decode(img)
		if err != nil || got != c.want {
			t.Errorf("%s: %q, %v", c.paper, got, err)
		}
	}
}

// Without the drawing in between: the modules say the text.
func TestCode(t *testing.T) {
	text := strings.Repeat("a line of sixteen\n", 60)
	code, err := encode(text)
	if err != nil {
		t.Fatal(err)
	}
	const m = 4
	img := image.NewGray(image.Rect(0, 0, (len(code)+8)*m, (len(code)+8)*m))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			i, k := y/m-4, x/m-4
			if i < 0 || k < 0 || i >= len(code) || k >= len(code) || !code[i][k] {
				img.Pix[y*img.Stride+x] = 255
			}
		}
	}
	got, err := goqr.Decode(img)
	if err != nil || len(got) > maxCode || !strings.HasPrefix(text, got) || len(got) < maxCode-20 {
		t.Errorf("%d bytes, %v", len(got), err)
	}
	if code, err := encode(strings.Repeat("x", maxCode+1)); code != nil || err != nil {
		t.Error("a code that cannot be cut was drawn")
	}
}

func BenchmarkPDF(b *testing.B) {
	doc := long(200)
	for b.Loop() {
		var out bytes.Buffer
		if err := PDF(&out, doc, Sheet{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A figure with its unit and its sign is never parted in a table that has room for it: 11.0
// on two lines would be read as 11.
func TestPDFFiguresStayWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var doc card.Document
		doc.Title = "Figures"
		columns := make([]card.Column, rapid.IntRange(1, 6).Draw(t, "columns"))
		for i := range columns {
			columns[i] = card.Column{Title: "km", Align: rapid.SampledFrom([]card.Align{card.Left, card.Right, card.Centre}).Draw(t, "align")}
		}
		var rows [][]card.Cell
		for range rapid.IntRange(1, 5).Draw(t, "rows") {
			row := make([]card.Cell, len(columns))
			for i := range row {
				row[i] = card.Cell{
					Text: fmt.Sprintf("%.1f%s", rapid.Float64Range(0, 9999).Draw(t, "figure"), rapid.SampledFrom([]string{"", " t", " kPa"}).Draw(t, "unit")),
					Mark: rapid.SampledFrom([]card.Mark{card.None, card.Good, card.Bad, card.Warn, card.Unknown}).Draw(t, "mark"),
				}
			}
			rows = append(rows, row)
		}
		doc.Table(card.Table{Columns: columns, Rows: rows})
		p, err := print(&doc, Sheet{Paper: rapid.SampledFrom(Papers()).Draw(t, "paper")})
		if err != nil {
			t.Fatal(err)
		}
		var texts []string
		for _, ops := range p.pages {
			for _, o := range ops {
				texts = append(texts, strings.ReplaceAll(o.text, "\u00a0", " "))
			}
		}
		all := strings.Join(texts, "\n")
		for _, row := range rows {
			for _, c := range row {
				if !strings.Contains(all, c.Text) {
					t.Fatalf("%q is parted", c.Text)
				}
			}
		}
	})
}
