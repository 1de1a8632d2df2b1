package card_test

import (
	"slices"
	"strings"
	"testing"

	"headstock/card"
	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// The sheet of a brake test says what the timed minute allows, draws wagons together that
// differ by a stroke or a second only, and rounds what is allowed to the harder side:
// 10 kPa is 1.45 psi, 60 kPa is 8.70 psi, 35 kPa is 5.07 psi.
func TestSheet(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	c, err := consist.Parse(f, "Tern 3 lead, HX 201-220, HX 222")
	if err != nil {
		t.Fatal(err)
	}
	r := rule.Standard()
	p, err := prove.Prove(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	texts := func(d *card.Document) (all []string, units map[string]int) {
		units = map[string]int{}
		for _, b := range d.Blocks {
			switch {
			case b.Paragraph != nil:
				all = append(all, b.Paragraph.Text)
			case b.Table != nil:
				for _, row := range b.Table.Rows {
					if len(row) == 5 && strings.HasPrefix(row[0].Text, "HX ") {
						units[row[0].Text]++
					}
					for _, cell := range row {
						all = append(all, cell.Text)
					}
				}
			}
		}
		return all, units
	}
	has := func(all []string, want string) {
		t.Helper()
		for _, s := range all {
			if strings.Contains(s, want) {
				return
			}
		}
		t.Errorf("nothing says %q", want)
	}
	metric, units := texts(card.Sheet(c, p, r, quantity.Metric()))
	has(metric, "the brake pipe may fall by at most 35 kPa and rise by at most 18 kPa")
	has(metric, "475–515 kPa")
	sheet := card.Sheet(c, p, r, quantity.Metric())
	sum := "air model " + trial.AirModel(trial.Conditions{})
	if !slices.ContainsFunc(sheet.Footer, func(s string) bool { return strings.Contains(s, sum) }) || !slices.Contains(sheet.Rests, sum) {
		t.Errorf("the foot does not say %q: %q, %q", sum, sheet.Footer, sheet.Rests)
	}
	// every step draws a run of numbers as one where all do the same, and never over a gap
	if units["HX 201 to 220"] < 8 || units["HX 222"] < 8 || units["HX 201 to 222"] > 0 {
		t.Errorf("wagons are drawn as %v", units)
	}
	imperial, _ := texts(card.Sheet(c, p, r, quantity.Imperial()))
	has(imperial, "at most 1.4 psi")
	has(imperial, "at least 8.8 psi")
	has(imperial, "fall by at most 5 psi and rise by at most 2.6 psi")
	for _, s := range append(metric, imperial...) {
		if strings.Contains(s, "%!") || strings.Contains(s, "%s") {
			t.Errorf("a place for a figure is left in %q", s)
		}
	}
}
