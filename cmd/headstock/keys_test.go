package main

import (
	"bytes"
	"encoding/json"
	"regexp"
	"testing"
)

// The keys of what a program reads are of one style, or names of the record.
func TestJSONKeys(t *testing.T) {
	style := regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	pair := "Tern 3 lead, Kite 11 trail"
	for _, args := range [][]string{
		{"card", pair}, {"coupling", pair}, {"if", pair, "Kite 11.changeover=copy"}, {"walk", "Kite 11", "--date", "2026-10-01"}, {"walk", "Kite", "--brief"}, {"learn", "Kite"}, {"compare", "Tern", "Kite"},
		{"explain", "unknown-key"}, {"explain", "quick-release"}, {"steps", "Kite 11"}, {"demo"}, {"fit", "Tern 6"}, {"crank", "Kite 11"}, {"jumper", pair},
		{"stop", pair}, {"hold", pair, "--grade", "1 in 45"}, {"load", "Tern 3 lead, 2 HX"}, {"pull", pair}, {"test", "Tern 3 lead", "--spread", "1"},
	} {
		var out, errw bytes.Buffer
		if code := run(append(args, "--json"), &out, &errw, false); code > 1 {
			t.Errorf("%v: exit status %d, %s", args, code, errw.String())
			continue
		}
		var v any
		if err := json.Unmarshal(out.Bytes(), &v); err != nil {
			t.Errorf("%v: %v", args, err)
			continue
		}
		var look func(v any)
		look = func(v any) {
			switch v := v.(type) {
			case map[string]any:
				for k, x := range v {
					if !style.MatchString(k) {
						t.Errorf("%v: the key %q", args, k)
					}
					look(x)
				}
			case []any:
				for _, x := range v {
					look(x)
				}
			}
		}
		look(v)
	}
}
