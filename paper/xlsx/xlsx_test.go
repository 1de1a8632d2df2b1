package xlsx

import (
	"bytes"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"headstock/card"
)

func sheetOf(t *testing.T, data []byte) map[string][][]string {
	t.Helper()
	b, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	out := map[string][][]string{}
	for _, n := range b.GetSheetList() {
		if out[n], err = b.GetRows(n); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// Every sheet has the caution and the banner, nothing is a formula, captions become names
// that a workbook allows, and the same document is the same file.
func TestWrite(t *testing.T) {
	d := &card.Document{Title: "Set-up", Banner: "DRAFT – NOT FOR USE", Cautions: []string{"mind the step"}, Footer: []string{"Record A: draft"},
		Verdict: &card.Verdict{Text: "cannot say", Reasons: []string{"no bores"}}}
	for range 2 {
		d.Table(card.Table{Caption: "a caption: longer than [31] letters, with/signs", Columns: []card.Column{{Title: "device"}, {Title: "reads"}},
			Rows: [][]card.Cell{{card.Text("=1+1"), card.Marked(card.Bad, "5 kPa")}, {card.Text("'x")}}})
	}
	var first, again bytes.Buffer
	if err := Write(&first, d); err != nil {
		t.Fatal(err)
	}
	if err := Write(&again, d); err != nil || !bytes.Equal(first.Bytes(), again.Bytes()) {
		t.Errorf("another file the second time (%v)", err)
	}
	sheets := sheetOf(t, first.Bytes())
	if len(sheets) != 3 {
		t.Fatalf("%d sheets", len(sheets))
	}
	for name, rows := range sheets {
		text := ""
		for _, r := range rows {
			text += strings.Join(r, "|") + "\n"
		}
		if !strings.Contains(text, card.Caution) || !strings.Contains(text, "DRAFT – NOT FOR USE") {
			t.Errorf("%s: no caution or no banner:\n%s", name, text)
		}
		if name != "about" && !strings.Contains(text, "device|reads|reads mark\n=1+1|5 kPa|wrong\n'x") {
			t.Errorf("%s: %s", name, text)
		}
	}
	b, err := excelize.OpenReader(bytes.NewReader(first.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range b.GetSheetList() {
		for _, cell := range []string{"A4", "A5", "A6"} {
			if f, err := b.GetCellFormula(n, cell); f != "" || err != nil {
				t.Errorf("%s %s runs %q (%v)", n, cell, f, err)
			}
		}
	}
	if err := Write(&first, nil); err == nil {
		t.Error("no document was written")
	}
}

// Rows that are written are read again as they were.
func TestRowsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.StringMatching(`[a-zA-Zåß–±=+@'";:| \n0-9]{0,20}`)
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, 1, 5), 1, 6).Draw(t, "rows")
		var b bytes.Buffer
		if err := Rows(&b, "devices", rows); err != nil {
			t.Fatal(err)
		}
		sheet, back, err := Folder(fstest.MapFS{"x/devices.xlsx": {Data: b.Bytes()}}).(interface {
			Workbook(string) (string, [][]string, error)
		}).Workbook("x/devices.xlsx")
		if err != nil || sheet != "devices" {
			t.Fatal(sheet, err)
		}
		if got, want := trimmed(back), trimmed(rows); !reflect.DeepEqual(got, want) {
			t.Fatalf("read %q\nwrote %q", got, want)
		}
	})
}

// trimmed drops the empty cells and rows at an end, which a workbook does not keep.
func trimmed(rows [][]string) [][]string {
	var out [][]string
	for _, r := range rows {
		for len(r) > 0 && r[len(r)-1] == "" {
			r = r[:len(r)-1]
		}
		out = append(out, append([]string{}, r...))
	}
	for len(out) > 0 && len(out[len(out)-1]) == 0 {
		out = out[:len(out)-1]
	}
	return out
}

// What is no workbook is an error, not a panic.
func TestNoWorkbook(t *testing.T) {
	for _, data := range [][]byte{nil, []byte("PK"), []byte("id,function\n"), bytes.Repeat([]byte{0xd0, 0xcf, 0x11, 0xe0}, 200)} {
		if _, _, err := Read(data); err == nil {
			t.Errorf("%q was read", data[:min(len(data), 8)])
		}
	}
}

func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	if err := Rows(&b, "devices", [][]string{{"id"}, {"a"}}); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) { Read(data) })
}
