package source

import (
	"errors"
	"testing"

	"headstock/quantity"
)

func TestLookup(t *testing.T) {
	for key, want := range map[string]Standing{"cfr-232": Law, "invented": Invented, "from memory": FromMemory, "drawing-114": Drawing} {
		r, ok := Lookup(key)
		if !ok || r.Standing != want {
			t.Errorf("%s: %+v %v", key, r, ok)
		}
	}
	for _, key := range []string{"", "drawing-", "drawing-1 2", "nobody"} {
		if _, ok := Lookup(key); ok {
			t.Errorf("%q was found", key)
		}
	}
	if n := Nearest("cfr232"); n != "cfr-232" {
		t.Errorf("nearest %q", n)
	}
	if n := Nearest("something quite different"); n != "" {
		t.Errorf("nearest %q", n)
	}
}

func TestBibliographyHasEachKeyOnce(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Bibliography() {
		if seen[r.Key] || r.Title == "" || r.Where == "" {
			t.Errorf("%+v", r)
		}
		seen[r.Key] = true
	}
}

func TestParseFigure(t *testing.T) {
	f, err := ParseFigure("12 mm ± 0.5 mm by drawing-114", "invented")
	if err != nil || f.By != "drawing-114" || f.Kind != quantity.Length {
		t.Errorf("%+v %v", f, err)
	}
	if f, err = ParseFigure("12 mm", "invented"); err != nil || f.By != "invented" || !f.Ref().Standing.Weak() {
		t.Errorf("%+v %v", f, err)
	}
	var unknown *UnknownKey
	if _, err = ParseFigure("12 mm by cfr-2322", ""); !errors.As(err, &unknown) || unknown.Nearest != "cfr-232" {
		t.Errorf("%v", err)
	}
}
