package rule_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/fleet"
	"headstock/rule"
	"headstock/source"
)

// Every shipped rule cites the bibliography, says who may lift it, and what bars names.
func TestShippedFitness(t *testing.T) {
	r := rule.Standard()
	if len(r.Fitness) < 60 || len(r.Placing) == 0 {
		t.Errorf("%d rules of fitness, %d of placing", len(r.Fitness), len(r.Placing))
	}
	for _, f := range r.Fitness {
		for _, key := range []string{f.Source, f.ThenBy} {
			if _, ok := source.Lookup(key); key != "" && !ok {
				t.Errorf("%s: source %q", f.ID, key)
			}
		}
		if f.LiftedBy == "" || f.Cite() == "" {
			t.Errorf("%s: lifted by %q, %q", f.ID, f.LiftedBy, f.Cite())
		}
	}
}

// What is wrong with a rule is said with its place; each code is earned by a line.
func TestBrokenRules(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range []struct{ text, want string }{
		{"fitness:\n  horn: {thn: may not lead}\n", "rules.yaml:2:10: [rule-key]"},
		{"fitness:\n  horn: may not lead\n", "rules.yaml:2:9: [rule-shape]"},
		{"fitness: none\n", "rules.yaml:1:10: [rule-shape]"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, then: may not leed}\n", "nearest: may not lead"},
		{"fitness:\n  horn: {what: horn, function: hrn, kind: failed, then: may not lead}\n", "[rule-word] \"hrn\" is no function"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: fialed, then: may not lead}\n", "nearest: failed"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, speed: 40 t}\n", "[rule-quantity]"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, speed: 0 km/h}\n", "not above zero"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, load: 120 %}\n", "more than all of it"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, within: 4 h}\n", "less than a day"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, then: may not lead, by: my-uncle}\n", "[rule-source]"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed}\n", "rules.yaml:2:3: [rule-says-nothing]"},
		{"fitness:\n  horn: {what: horn, function: horn, then: may not lead}\n", "names no fault"},
		{"fitness:\n  horn: {what: horn, kind: failed, then: may not lead}\n", "names no function"},
		{"fitness:\n  horn: {what: horn, function: horn, measure: loudness, then: may not lead}\n", "measure without a limit"},
		{"fitness:\n  horn: {what: horn, function: horn, kind: failed, then: [no restriction, may not lead]}\n", "says no restriction and restricts"},
		{"placing:\n  van: {what: van, not: last, of: {clas: GV}}\n", "nearest: class"},
		{"placing:\n  van: {what: van, not: between heavy vehicles}\n", "from what mass on"},
		{"placing:\n  van: {what: van, at most: many}\n", "[rule-quantity]"},
		{"placing:\n  van: {what: van, stands: {gear-levr: neutral}, not: last}\n", "nearest: gear-lever"},
		{"placing:\n  van: {what: van}\n", "has no consequence"},
		{"limits:\n  leekage: {at most: 20 kPa}\n", "[rule-limit]"},
		{"limits:\n  cylinder-minimum: {at most: 60 kPa}\n", "[rule-bound]"},
	} {
		_, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte(c.text)}})
		found := false
		for _, x := range cs {
			found = found || strings.Contains(x.String(), c.want)
			seen[x.Code] = true
		}
		if !found {
			t.Errorf("%q: %v, want %s", c.text, cs, c.want)
		}
	}
	f := &fleet.Fleet{Classes: []*fleet.Class{{Name: "Plover"}}}
	r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("placing:\n  one: {what: one, of: {class: Ploverr}, not: last}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	against := r.Against(f)
	if len(against) != 1 || !strings.Contains(fmt.Sprint(against[0]), "rules.yaml:2:3: [rule-class]") || against[0].Nearest != "Plover" {
		t.Errorf("%v", against)
	}
	for _, x := range against {
		seen[x.Code] = true
	}
	for _, c := range rule.Codes() {
		if !seen[c.Code] || c.Meaning == "" || c.Example == "" {
			t.Errorf("code %s is earned by no line here, or not explained", c.Code)
		}
	}
}

// A railway's rule replaces the shipped one of its id and stands in its place; a new one
// is added.
func TestOwnFitness(t *testing.T) {
	r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("source: railway\nfitness:\n  horn: {what: horn, function: horn, kind: failed, speed: 20 km/h}\n  hoot: {what: hoot, function: horn, kind: broken, then: no restriction}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	std := rule.Standard()
	if len(r.Fitness) != len(std.Fitness)+1 {
		t.Errorf("%d rules, want one more than %d", len(r.Fitness), len(std.Fitness))
	}
	f, _ := r.Fit("horn")
	if f.Source != "railway" || len(f.Bars) != 0 || f.Speed.Value != 20/3.6 {
		t.Errorf("%+v", f)
	}
}

// A device of one end concerns leading with that end in front, and no other duty's
// leading; a load limit says nothing of what is hauled.
func TestEffect(t *testing.T) {
	f := rule.Fit{ID: "x", PerEnd: true, Bars: []rule.Duty{rule.Lead1, rule.Lead2}, As: rule.Duties()[:4], LoadShare: rule.Axis{Set: true, Value: 0.5}, Within: 14 * 86400}
	day, _ := rule.Day("2026-11-20")
	for _, c := range []struct {
		duty      rule.Duty
		end       int
		bar, load bool
	}{
		{rule.Lead1, 1, true, true},
		{rule.Lead2, 1, false, false},
		{rule.Lead1, 0, true, true},
		{rule.Lead2, 0, true, true},
		{rule.Trail, 1, false, true},
		{rule.Hauled, 1, false, false},
		{rule.Move, 1, false, false},
	} {
		e := f.Effect(c.duty, c.end, day)
		if e.Bars(c.duty) != c.bar || e.LoadShare.Set != c.load {
			t.Errorf("%s, end %d: %+v", c.duty, c.end, e)
		}
		// the day it was found is the first: 14 days from 20 November end on 3 December
		if e.LastDay.Set && rule.Date(int(e.LastDay.Value)) != "2026-12-03" {
			t.Errorf("%s: to %s", c.duty, rule.Date(int(e.LastDay.Value)))
		}
	}
	if e := f.Effect(rule.Trail, 0, 0); e.LastDay.Set {
		t.Error("a term without a day")
	}
}

// Whatever the bytes, reading ends, and what was read of a rule can be used.
func FuzzRead(f *testing.F) {
	f.Add([]byte("source: railway\nfitness:\n  horn: {what: horn, function: horn, kind: failed, then: may not lead, within: 14 days}\nplacing:\n  van: {what: van, of: {where: {brake-isolating-cock: closed}}, not: last}\n"))
	f.Add([]byte("fitness: {a: {function: [1, {b: c}], measure: x, at most: 3 psi, less than: 2 mm}}\nplacing: [x]\nlimits: x\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, _ := rule.Read(fstest.MapFS{"rules.yaml": {Data: data}})
		day, _ := rule.Day("2026-11-25")
		for _, q := range r.Fitness {
			for _, d := range rule.Duties() {
				_ = q.Effect(d, 1, day).None()
			}
			if q.Cite() == "" {
				t.Errorf("%s cites nothing", q.ID)
			}
		}
	})
}
