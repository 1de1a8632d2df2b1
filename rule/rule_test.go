package rule_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
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

// A railway's own figure replaces the shipped one; a bound that it leaves out stays.
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
	r, cs = rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("limits:\n  charged: {at least: 480 kPa}\n  charge-wait: {at most: 24 h}\n  leakage: {at most: 0 kPa}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	if l, _ := r.Limit("charged"); l.Low != 480e3 || !l.HasHigh || l.High != 515e3 {
		t.Errorf("%+v", l)
	}
	if l, _ := r.Limit("leakage"); !l.HasHigh || l.HasLow || l.High != 0 {
		t.Errorf("%+v", l)
	}
}

// What is wrong with a limit is said with its place, and the shipped one stays: with every
// one of these the railway's own figure would have switched a test off, or a wait.
func TestLimitsHeldToTheShipped(t *testing.T) {
	std := rule.Standard()
	for text, want := range map[string]string{
		"cylinder-minimum: {at most: 60 kPa}":         `rules.yaml:2:22: [rule-bound] limit "cylinder-minimum" has no "at most"`,
		"leakage: {at least: 35 kPa}":                 "rules.yaml:2:13: [rule-bound]",
		"leakage: {at most: 20 kPa, at least: 5 kPa}": "rules.yaml:2:30: [rule-bound]",
		"dead-cylinder: {value: 180 kPa}":             "expected at most",
		"settle: {at most: 45 s}":                     "rules.yaml:2:12: [rule-bound]",
		"charged: {value: 500 kPa}":                   "expected at least or at most",
		"charged: {at least: 520 kPa}":                "[rule-bound] limit \"charged\" asks for at least more than it allows at most",
		"settle: {value: 100 kPa}":                    "rules.yaml:2:19: [rule-quantity] \"100 kPa\" is a pressure; expected a time in a unit such as s",
		"charge-wait: {at most: 20}":                  "[rule-quantity] \"20\" is a number without a unit",
		"cylinder-minimum: {at least: 60 kPa abs}":    "an absolute pressure",
		"compressor-capacity: {at least: 80 kPa}":     "expected a share such as 80 %",
		"main-air-leak: {at most: 3 psi}":             "expected a pressure per time",
		"settle: {value: 0 s}":                        "rules.yaml:2:19: [rule-quantity]",
		"settle: {value: -45 s}":                      "more than 0 s",
		"release-wait: {value: 150 days}":             "at most 24 h",
		"charge-wait: {at most: -1 min}":              "[rule-quantity]",
		"cylinder-minimum: {at least: 0 kPa}":         "is met by everything",
		"minimum-reduction: {value: 0 kPa}":           "is met by everything",
		"leakage: {at most: -1 kPa}":                  "is below zero",
		"leakage: {at most: 20 kPa ± 5 kPa}":          "has a spread",
		"leakage: {row: L-7}":                         "rules.yaml:2:3: [rule-says-nothing]",
		"leakage: 20 kPa":                             "rules.yaml:2:12: [rule-shape]",
		"leakage: {at most: [20 kPa]}":                "[rule-shape]",
		"leekage: {at most: 20 kPa}":                  "rules.yaml:2:3: [rule-limit] no limit \"leekage\" in the rules; expected the id of a shipped limit; nearest: leakage",
		"leakage: {at most: 20 kpa}":                  "rules.yaml:2:22: [rule-quantity] no unit \"kpa\"; nearest: kPa",
		"leakage: {atmost: 20 kPa}":                   "rules.yaml:2:13: [rule-key]",
		"leakage: {at most: 20 kPa, by: someone}":     "rules.yaml:2:34: [rule-source]",
	} {
		r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("limits:\n  " + text + "\n")}})
		if len(cs) == 0 || !strings.Contains(cs[0].String(), want) {
			t.Errorf("%q: %v, want %s", text, cs, want)
		}
		if !slices.Equal(r.Limits, std.Limits) {
			t.Errorf("%q: a limit is not as shipped", text)
		}
	}
	for text, want := range map[string]string{
		"limits: none\n":          "rules.yaml:1:9: [rule-shape]",
		"limit:\n  leakage: {}\n": "rules.yaml:1:1: [rule-key]",
		"accepted losses:\n  quick-release: {restrction: none}\n": "rules.yaml:2:19: [rule-key]",
	} {
		if _, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte(text)}}); len(cs) == 0 || !strings.Contains(cs[0].String(), want) {
			t.Errorf("%q: %v, want %s", text, cs, want)
		}
	}
	// rules that are there and cannot be read are no reason to go by the shipped ones
	if _, cs := rule.Read(fstest.MapFS{"rules.yaml": {Mode: fs.ModeDir}}); len(cs) == 0 {
		t.Error("a folder named rules.yaml passes")
	}
}

// Every limit that the program asks for by its id is a shipped one, because one that is
// not there is 0 to whoever reads V. The whole program is read for it: an id is the literal
// that V, Limit or one of the functions listed here is called with, or a value of the one
// table of ids; a call with anything else must be in such a function.
func TestEveryLimitAskedForIsShipped(t *testing.T) {
	std := rule.Standard()
	// what is asked with an id, and which of its arguments that is
	asked := map[string]int{"V": 0, "Limit": 0, "limit": 0, "limitOf": 1, "band": 0, "spread": 1}
	// where an id is handed on
	through := map[string]bool{"prove/judge.go": true, "prove/prove.go": true, "prepare/measure.go": true}
	fset := token.NewFileSet()
	found := map[string]bool{}
	hold := func(e ast.Expr) bool {
		lit, ok := e.(*ast.BasicLit)
		if !ok || lit.Kind != token.STRING {
			return false
		}
		id, _ := strconv.Unquote(lit.Value)
		found[id] = true
		if _, ok := std.Limit(id); !ok {
			t.Errorf("%s: no limit %q is shipped", fset.Position(lit.Pos()), id)
		}
		return true
	}
	// a room asks for limits in any of its files, whichever of them imports the rules
	asks := map[string]bool{}
	sources := func(do func(rel string, f *ast.File)) error {
		return filepath.WalkDir("..", func(path string, e fs.DirEntry, err error) error {
			rel := filepath.ToSlash(strings.TrimPrefix(path, ".."+string(filepath.Separator)))
			if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.HasPrefix(rel, "rule/") {
				return err
			}
			f, err := parser.ParseFile(fset, path, nil, 0)
			if err == nil {
				do(rel, f)
			}
			return err
		})
	}
	if err := sources(func(rel string, f *ast.File) {
		if slices.ContainsFunc(f.Imports, func(s *ast.ImportSpec) bool { return s.Path.Value == `"headstock/rule"` }) {
			asks[path.Dir(rel)] = true
		}
	}); err != nil {
		t.Fatal(err)
	}
	files := 0
	err := sources(func(rel string, f *ast.File) {
		if !asks[path.Dir(rel)] {
			return
		}
		files++
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				name := ""
				switch fun := n.Fun.(type) {
				case *ast.Ident:
					name = fun.Name
				case *ast.SelectorExpr:
					name = fun.Sel.Name
				}
				k, ok := asked[name]
				if !ok || k >= len(n.Args) || hold(n.Args[k]) {
					return true
				}
				if (name == "V" || name == "Limit" && len(n.Args) == 1) && !through[rel] {
					t.Errorf("%s: a limit is asked for by no literal id; name the function that hands it on in this test", fset.Position(n.Pos()))
				}
			case *ast.IndexExpr: // the table: what is measured → limit
				if table, ok := n.X.(*ast.CompositeLit); ok && rel == "prepare/measure.go" {
					for _, el := range table.Elts {
						if kv, ok := el.(*ast.KeyValueExpr); ok {
							hold(kv.Value)
						}
					}
				}
			}
			return true
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 10 {
		t.Errorf("only %d files of the program read", files)
	}
	for _, l := range std.Limits {
		if !found[l.ID] {
			t.Errorf("limit %q is shipped and nothing asks for it", l.ID)
		}
	}
}

// What a train shows in the dark is shipped for each place of a headstock, and a railway's
// own words stand in for it one by one.
func TestLights(t *testing.T) {
	std := rule.Standard()
	for at, want := range map[string]string{rule.Front: "white", rule.Rear: "red", rule.Between: "dark"} {
		if l := std.Light(at); l.Asks() != want || l.What == "" || l.Source != "common practice" {
			t.Errorf("%s: %+v, want %s", at, l, want)
		}
	}
	r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("source: railway\nlights:\n  rear: {shows: [red, white]}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	if l := r.Light(rule.Rear); l.Asks() != "red or white" || l.Source != "railway" || l.What == "" {
		t.Errorf("%+v", l)
	}
	if r.Light(rule.Front).Asks() != "white" {
		t.Error("what the railway does not say stays as shipped")
	}
	for text, want := range map[string]string{
		"raer: {shows: red}":              "rules.yaml:2:3: [rule-word] \"raer\" is no place of a headstock in a train; expected one of front, rear, between; nearest: rear",
		"rear: {shows: green}":            "rules.yaml:2:17: [rule-word]",
		"rear: {shows: [red, dark]}":      "dark stands beside a colour",
		"rear: {what: nothing}":           "[rule-says-nothing]",
		"rear: {shows: red, show: white}": "rules.yaml:2:22: [rule-key]",
		"rear: red":                       "[rule-shape]",
	} {
		r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("lights:\n  " + text + "\n")}})
		if len(cs) == 0 || !strings.Contains(cs[0].String(), want) {
			t.Errorf("%q: %v, want %s", text, cs, want)
		}
		if r.Light(rule.Rear).Asks() != "red" {
			t.Errorf("%q: the shipped light does not stand", text)
		}
	}
}
