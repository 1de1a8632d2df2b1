package rule_test

import (
	"encoding/json"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"headstock/rule"
)

var ids = []string{"blocks", "horn", "sanders", "springs"}

func someIDs(t *rapid.T, atLeast int) []string {
	s := rapid.SliceOfNDistinct(rapid.SampledFrom(ids), atLeast, len(ids), rapid.ID).Draw(t, "by")
	slices.Sort(s)
	if len(s) == 0 {
		return nil
	}
	return s
}

func someAxis(t *rapid.T) rule.Axis {
	if !rapid.Bool().Draw(t, "set") {
		return rule.Axis{}
	}
	return rule.Axis{Set: true, Value: float64(rapid.IntRange(1, 4).Draw(t, "value")), By: someIDs(t, 1)}
}

func someClauses(t *rapid.T) []rule.Clause {
	texts := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"by day", "not in rain", "to the depot"}), 0, 3, rapid.ID).Draw(t, "texts")
	slices.Sort(texts)
	var out []rule.Clause
	for _, x := range texts {
		out = append(out, rule.Clause{Text: x, By: someIDs(t, 1)})
	}
	return out
}

func some(t *rapid.T) rule.Restriction {
	r := rule.Restriction{Speed: someAxis(t), LoadShare: someAxis(t), LoadMass: someAxis(t), Distance: someAxis(t), LastDay: someAxis(t), Until: someClauses(t), Conditions: someClauses(t)}
	for d := range r.Barred {
		r.Barred[d] = someIDs(t, 0)
	}
	return r
}

// Two restrictions together are the same in any order and grouping, one with itself is
// itself, and nothing restricts nothing.
func TestTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := some(t), some(t), some(t)
		same := func(what string, x, y rule.Restriction) {
			if !reflect.DeepEqual(x, y) {
				t.Fatalf("%s: %+v and %+v", what, x, y)
			}
		}
		same("order", a.And(b), b.And(a))
		same("grouping", a.And(b).And(c), a.And(b.And(c)))
		same("with itself", a.And(a), a)
		same("with nothing", a.And(rule.Restriction{}), a)
	})
}

// Together is never looser than either on any axis, and no stricter than the stricter:
// every limit comes from one of the two, and says from which rules.
func TestNeverLooser(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := some(t), some(t)
		both := a.And(b)
		axes := func(r rule.Restriction) []rule.Axis {
			return []rule.Axis{r.Speed, r.LoadShare, r.LoadMass, r.Distance, r.LastDay}
		}
		for i, x := range axes(both) {
			p, q := axes(a)[i], axes(b)[i]
			for _, one := range []rule.Axis{p, q} {
				if one.Set && (!x.Set || x.Value > one.Value) {
					t.Fatalf("axis %d: %+v is looser than %+v", i, x, one)
				}
			}
			if x.Set && !(p.Set && p.Value == x.Value || q.Set && q.Value == x.Value) {
				t.Fatalf("axis %d: %+v comes from neither", i, x)
			}
			if x.Set && len(x.By) == 0 {
				t.Fatalf("axis %d names no rule", i)
			}
		}
		for _, d := range rule.Duties() {
			if both.Bars(d) != (a.Bars(d) || b.Bars(d)) {
				t.Fatalf("%s: barred %v", d, both.Bars(d))
			}
		}
		for _, list := range [][]rule.Clause{a.Conditions, b.Conditions} {
			for _, c := range list {
				if !slices.ContainsFunc(both.Conditions, func(x rule.Clause) bool { return x.Text == c.Text }) {
					t.Fatalf("condition %q is lost", c.Text)
				}
			}
		}
	})
}

// Whoever must not move can do nothing else.
func TestMustNotMove(t *testing.T) {
	var r rule.Restriction
	r.Barred[rule.Move] = []string{"axle-stuck"}
	for _, d := range rule.Duties() {
		if !r.Bars(d) {
			t.Errorf("may %s", d)
		}
	}
}

func TestRestrictionJSON(t *testing.T) {
	day, _ := rule.Day("2026-12-03")
	r := rule.Restriction{Speed: rule.Axis{Set: true, Value: 10, By: []string{"flat"}}, LastDay: rule.Axis{Set: true, Value: float64(day), By: []string{"sanders"}}}
	b, err := json.Marshal(r)
	if want := `{"speed":{"value":10,"by":["flat"]},"last_day":{"value":"2026-12-03","by":["sanders"]}}`; err != nil || string(b) != want {
		t.Errorf("%s, %v", b, err)
	}
}
