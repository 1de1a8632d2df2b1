package rule_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"headstock/rule"
	"headstock/source"
)

// Every shipped limit has its words and a source of the bibliography; the figures of the
// 500 kPa rows are those of limits.csv TST-055 … TST-062, copied here.
func TestStandard(t *testing.T) {
	r := rule.Standard()
	for _, l := range r.Limits {
		if _, ok := source.Lookup(l.Source); !ok || l.What == "" {
			t.Errorf("limit %s: source %q, words %q", l.ID, l.Source, l.What)
		}
	}
	for id, kpa := range map[string]float64{"minimum-reduction": 35, "leakage": 35, "rise": 18, "rear": 425, "full-reduction": 500 - 350} {
		l, ok := r.Limit(id)
		if !ok || l.Value() != kpa*1e3 || l.Row == "" {
			t.Errorf("%s is %g with row %q, want %g kPa", id, l.Value(), l.Row, kpa)
		}
	}
}

// A railway's own figure replaces the shipped one; what is wrong is said with its place.
func TestOwnRules(t *testing.T) {
	r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("title: own\nsource: railway\nlimits:\n  leakage: {at most: 20 kPa, row: L-7}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	if l, _ := r.Limit("leakage"); l.High != 20e3 || l.Row != "L-7" || l.What == "" || r.Title != "own" {
		t.Errorf("%+v", l)
	}
	if r.V("rear") != 425e3 {
		t.Error("what the railway does not say stays as shipped")
	}
	for text, want := range map[string]string{
		"limits:\n  leekage: {at most: 20 kPa}\n":                 "rules.yaml:2:12: [unknown-limit]",
		"limits:\n  leakage: {at most: 20 kpa}\n":                 "rules.yaml:2:22: [bad-quantity]",
		"limits:\n  leakage: {atmost: 20 kPa}\n":                  "[unknown-key]",
		"limits:\n  leakage: {at most: 20 kPa, by: someone}\n":    "[unknown-source]",
		"limit:\n  leakage: {}\n":                                 "[unknown-key]",
		"accepted losses:\n  quick-release: {restrction: none}\n": "[unknown-key]",
	} {
		_, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte(text)}})
		found := false
		for _, c := range cs {
			found = found || strings.Contains(c.String(), want)
		}
		if !found {
			t.Errorf("%q: %v, want %s", text, cs, want)
		}
	}
}
