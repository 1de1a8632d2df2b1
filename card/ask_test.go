package card

import (
	"strings"
	"testing"

	"headstock/demo"
	"headstock/fleet"
)

// Every cock of a unit is there once with both its looks, one that must not be moved says
// so, and a cock that the unit has not is not there.
func TestCocks(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, _ := f.Class("Kite")
	with, _ := f.Unit("Kite", 14)
	without, _ := f.Unit("Kite", 11)
	names := func(u *fleet.Unit) map[string]int {
		out := map[string]int{}
		for _, b := range Cocks(c, u, "").Blocks {
			if b.Table == nil {
				continue
			}
			for _, r := range b.Table.Rows {
				if n := strings.TrimSuffix(r[0].Text, " – must not be moved"); n != "" {
					out[n]++
				}
				if len(r) != 3 || r[2].Text == "" {
					t.Errorf("%v has no look", r)
				}
			}
		}
		return out
	}
	a, b := names(with), names(without)
	if len(a) != len(CocksOf(c, with)) || len(b) != len(a)-2 {
		t.Errorf("Kite 14 has %d cocks, Kite 11 %d; the record %d", len(a), len(b), len(CocksOf(c, with)))
	}
	sealed := 0
	for _, x := range CocksOf(c, with) {
		if x.MustNotMove {
			sealed++
			if !strings.Contains(textOf(Cocks(c, with, "")), x.Name+" – must not be moved") {
				t.Errorf("%s may be moved", x.Name)
			}
		}
	}
	if sealed == 0 {
		t.Error("no cock of the class is sealed: nothing was tried")
	}
}

// textOf is every word of a document's tables and paragraphs.
func textOf(d *Document) string {
	var b strings.Builder
	for _, x := range d.Blocks {
		if x.Paragraph != nil {
			b.WriteString(x.Paragraph.Text + "\n")
		}
		if x.Table != nil {
			for _, r := range x.Table.Rows {
				for _, c := range r {
					b.WriteString(c.Text + "\n")
				}
			}
		}
	}
	return b.String()
}
