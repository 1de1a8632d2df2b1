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
The record says this set-up works with losses.

Full application
place,gauge,expected,expected mark,because
"unit 3, cab 1",brake pipe,340 kPa ± 6 kPa,ok,the handle asks for a reduction of 160 kPa and the relay follows it within its band
"unit 11, cab 2",brake cylinder,0 kPa,wrong,nothing reaches it
last wagon,piston,cannot say,cannot say,the record has no travel
`
	if _, got, _ := strings.Cut(out.String(), "\n"); got != want {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
	if !strings.HasPrefix(out.String(), "\"Advice only") {
		t.Errorf("no caution first:\n%s", out.String())
	}
}
