package rule_test

import (
	"encoding/csv"
	"os"
	"slices"
	"strings"
	"testing"

	"headstock/quantity"
	"headstock/rule"
)

// published are the rows of testdata/limits.csv, by id: quantity, value, unit, condition,
// source, how known; copied from the collected limits of the trade.
func published(t *testing.T) map[string][]string {
	t.Helper()
	f, err := os.Open("testdata/limits.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, r := range rows[1:] {
		out[r[0]] = r
	}
	return out
}

// si reads a published figure with its own unit.
func si(t *testing.T, text string) float64 {
	t.Helper()
	v, err := quantity.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return v.SI
}

// Limits of the law that a measurement is held against. The row's value is beside each;
// within a hair of it the answer must change. Fractions of an inch are exact decimals.
func TestPublishedMeasures(t *testing.T) {
	rows := published(t)
	r := rule.Standard()
	for _, c := range []struct {
		rule, row, value string // the rule, its row, the row's value as printed
		good, bad        string // the last value that is allowed, and one that is not
	}{
		{"main-reservoir-leak", "INS-008", "<=3", "3 psi/min", "3.01 psi/min"},
		{"brake-pipe-leak", "INS-010", "<=5", "5 psi/min", "5.01 psi/min"},
		{"cylinder-holding", "INS-011", ">=5", "5 min", "4.99 min"},
		{"control-air-leak", "INS-012", "<=3", "3 psi/min", "3.01 psi/min"},
		{"gauge-error", "INS-018", "<=min(5 %, 3 psi)", "3 psi", "3.01 psi"},
		{"gauge-error", "INS-018", "<=min(5 %, 3 psi)", "-3 psi", "-3.01 psi"},
		{"rigging-wear", "INS-035", "<=30", "30 %", "30.1 %"},
		{"coupler-slack", "INS-037", "<=1/2", "0.5 in", "0.51 in"},
		{"flat", "INS-055", "<2 1/2", "2.49 in", "2.5 in"},
		{"flats", "INS-056", "<2 each", "1.99 in", "2 in"},
		{"flange-thin", "INS-061", ">7/8", "0.876 in", "0.875 in"},
		{"tread-hollow", "INS-062", "<5/16", "0.3124 in", "0.3125 in"},
		{"flange-high", "INS-064", "<1 1/2", "1.499 in", "1.5 in"},
		{"rim", "INS-066", ">=1", "1 in", "0.99 in"},
		{"speed-error-low", "INS-070", "<=3", "3 mph", "3.01 mph"},
		{"speed-error-low", "INS-070", "<=3", "-3 mph", "-3.01 mph"},
		{"speed-error-high", "INS-071", "<=5", "5 mph", "5.01 mph"},
		{"rail-guard-height", "INS-073", "3..6", "3 in", "2.99 in"},
		{"rail-guard-height", "INS-073", "3..6", "6 in", "6.01 in"},
		{"block-thickness", "INS-118", "58 / 10", "10 mm", "9.9 mm"},
	} {
		f, ok := r.Fit(c.rule)
		if !ok || !slices.Contains(strings.Split(f.Row, ", "), c.row) {
			t.Errorf("rule %s: %v, row %q, want %s", c.rule, ok, f.Row, c.row)
			continue
		}
		if p, ok := rows[c.row]; !ok || p[2] != c.value {
			t.Errorf("%s is printed as %q, here %q", c.row, p, c.value)
		}
		if f.Broken(si(t, c.good)) {
			t.Errorf("%s: %s is refused", c.rule, c.good)
		}
		if !f.Broken(si(t, c.bad)) {
			t.Errorf("%s: %s is allowed", c.rule, c.bad)
		}
	}
}

// Consequences that are printed: the speed without an indicator, the terms.
func TestPublishedConsequences(t *testing.T) {
	rows := published(t)
	r := rule.Standard()
	fit := func(id string) rule.Fit {
		f, ok := r.Fit(id)
		if !ok {
			t.Fatalf("no rule %s", id)
		}
		return f
	}
	if p := rows["INS-069"]; p[2] != ">20" || fit("speed-indicator").Speed.Value != si(t, "20 mph") {
		t.Errorf("INS-069 %q: %g m/s", p[2], fit("speed-indicator").Speed.Value)
	}
	if p := rows["INS-088"]; p[2] != "<=14" || fit("sanders").Within != 14*86400 {
		t.Errorf("INS-088 %q: %g s", p[2], fit("sanders").Within)
	}
	if p := rows["INS-124"]; p[2] != "<=30" || fit("cab-door").Within != 30*86400 {
		t.Errorf("INS-124 %q: %g s", p[2], fit("cab-door").Within)
	}
	for id, row := range map[string]string{"wheel-cracked": "INS-068", "no-water": "DEL-013"} {
		if f := fit(id); f.Row != row || len(f.Bars) == 0 {
			t.Errorf("%s: %+v, want row %s and something barred", id, f, row)
		}
		if p := rows[row]; p[2] != "none allowed" && p[2] != "forbidden" {
			t.Errorf("%s is printed as %q", row, p[2])
		}
	}
}

// The date trap of the competence rules, recomputed: 366 days from 1 March 2023 is
// 1 March 2024 (GNU date and Go AddDate agree; 49 CFR 240.217 counts in such days).
func TestPublishedDay(t *testing.T) {
	a, _ := rule.Day("2023-03-01")
	if got := rule.Date(a + 366); got != "2024-03-01" {
		t.Errorf("366 days on: %s", got)
	}
}

// Every row that a shipped rule names is a published one.
func TestEveryRowIsPublished(t *testing.T) {
	rows := published(t)
	r := rule.Standard()
	for _, f := range r.Fitness {
		for _, id := range strings.Split(f.Row, ", ") {
			if p, ok := rows[id]; id != "" && !ok {
				t.Errorf("rule %s: no row %s", f.ID, id)
			} else if id != "" && p[6] == "from-memory" && f.Source != "from memory" && strings.HasPrefix(f.Source, "cfr-") {
				t.Errorf("rule %s cites %s as read, and it is from memory", f.ID, id)
			}
		}
	}
}
