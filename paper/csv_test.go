package paper

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"headstock/card"

	"pgregory.net/rapid"
)

// Read back by another reader, with the apostrophes taken off, every table is what
// went in.
func TestCSVRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := tables().Draw(t, "table")
		doc := &card.Document{Title: "title"}
		doc.Table(table)
		var out bytes.Buffer
		if err := CSV(&out, doc); err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(&out)
		r.FieldsPerRecord = -1
		got, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		g := squared(&table)
		if g.caption == "" {
			g.caption = "title"
		}
		want := append([][]string{{card.Caution}, {"title"}, {g.caption}}, csvRows(g)...)
		for _, row := range got {
			for i, f := range row {
				if f != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(f)[0]) && !plainNumber(f) {
					t.Fatalf("%q would be run", f)
				}
				row[i] = strings.TrimPrefix(f, "'")
			}
		}
		if !slices.EqualFunc(got, want, slices.Equal[[]string]) {
			t.Fatalf("got %q\nwant %q", got, want)
		}
	})
}

func TestCSVDisarms(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"=1+1", "'=1+1"}, {"+A1", "'+A1"}, {"-A1", "'-A1"}, {"@SUM(A1)", "'@SUM(A1)"}, {"- 5", "'- 5"}, {"--5", "'--5"}, {"-+5", "'-+5"},
		{"-5", "-5"}, {"+5", "+5"}, {"-5.25", "-5.25"}, {"-5,25", "-5,25"}, {"-5 kPa", "'-5 kPa"}, {"-1,000.5", "'-1,000.5"},
		{"500", "500"}, {"", ""}, {"a=b", "a=b"}, {"'", "''"}, {"\u00a0=1", "'\u00a0=1"},
	} {
		if got := disarm(c.in); got != c.want {
			t.Errorf("disarm(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

func TestCSVSample(t *testing.T) {
	var out bytes.Buffer
	if err := CSV(&out, sample()); err != nil {
		t.Fatal(err)
	}
	want := `DRAFT – NOT FOR USE
Brake test
one unit and five wagons
look: Second person at the rear.
The record says this set-up works with losses.
no quick release on unit 11

Set up
wrong: Do not move the seal

Readings: Full application
place,gauge,expected,expected mark,because
"unit 3, cab 1",brake pipe,340 kPa ± 6 kPa,ok,the handle asks for a reduction of 160 kPa and the relay follows it within its band
"unit 11, cab 2",brake cylinder,0 kPa,wrong,nothing reaches it
last wagon,piston,cannot say,cannot say,the record has no travel

Readings
altitude,"1,200 m"
air temperature,5 °C,look

"record revision 3, hash 0123abcd"
`
	if _, got, _ := strings.Cut(out.String(), "\n"); got != want {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
	if !strings.HasPrefix(out.String(), "\"Advice only") {
		t.Errorf("no caution first:\n%s", out.String())
	}
}

// What a table is of stands above it, the unit too, and no name of a device is changed.
func TestCSVSaysWhoseTableItIs(t *testing.T) {
	d := &card.Document{Title: "Set-up"}
	table := func(caption string) {
		d.Table(card.Table{Caption: caption, Columns: []card.Column{{Title: "place and device"}, {Title: "set to"}},
			Rows: [][]card.Cell{{card.Text("driver's desk:")}, {card.Text("Brake handle"), card.Text("release")}, {card.Text(""), card.Marked(card.Warn, "with a second person")}}})
	}
	table("Consist")
	d.Heading(1, "Unit 3, lead")
	d.Bullets(card.Item{Text: "Must not be moved: the seal.", Mark: card.Warn, Detail: []string{"under the desk"}}, card.Item{Text: "no mark"})
	d.Bullets(card.Item{Text: "Open defect: a gauge", Mark: card.Warn})
	table("Unit 3: set in this order")
	d.Heading(1, "Class Unit")
	table("Class Unit")
	d.Paragraph(card.Bad, "=not a formula")
	var out bytes.Buffer
	if err := CSV(&out, d); err != nil {
		t.Fatal(err)
	}
	rows := "place and device,set to,set to mark\ndriver's desk:,,\nBrake handle,release,\n,with a second person,look\n"
	want := "Set-up\n\nConsist\n" + rows +
		"\nUnit 3, lead\nlook: Must not be moved: the seal.,under the desk\nlook: Open defect: a gauge\n" +
		"\nUnit 3, lead: set in this order\n" + rows +
		"\nClass Unit\n" + rows +
		"\nClass Unit\nwrong: =not a formula\n"
	if _, got, _ := strings.Cut(out.String(), "\n"); strings.ReplaceAll(got, `"`, "") != want {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
}

func TestTitled(t *testing.T) {
	for _, c := range []struct{ under, caption, want string }{
		{"", "", ""}, {"", "a", "a"}, {"a", "", "a"}, {"a", "a", "a"}, {"a", "b", "a: b"},
		{"Unit 3, lead", "Unit 3: set in this order", "Unit 3, lead: set in this order"},
		{"Unit 101 to 120, each", "Unit 101: set", "Unit 101 to 120, each: set"},
		{"Unit 31, lead", "Unit 3: set", "Unit 31, lead: Unit 3: set"},
	} {
		if got := titled(c.under, c.caption); got != c.want {
			t.Errorf("titled(%q, %q) = %q, want %q", c.under, c.caption, got, c.want)
		}
	}
}
