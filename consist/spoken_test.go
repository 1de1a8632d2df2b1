package consist

import "testing"

// A consist as dictation writes it down is read as if it were typed.
func TestSaid(t *testing.T) {
	f := marram(t)
	for said, typed := range map[string]string{
		"tern 3 lead kite 11 trail":                                                       "Tern 3 lead, Kite 11 trail",
		"tern three leading, and kite eleven trailing.":                                   "Tern 3 lead, Kite 11 trail",
		"Tern three leads then Kite eleven trails reversed and twenty HX loaded and a GV": "Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV",
		"tern three lead twenty-one h x loaded and then a g v":                            "Tern 3 lead, 21 HX loaded, GV",
		"tern three lead with H X two hundred and five loaded":                            "Tern 3 lead, HX 205 loaded",
		"HX 201 loaded HX 202 empty 2 FG":                                                 "HX 201 loaded, HX 202 empty, 2 FG",
		"kite twelve lead cab two, brant one hauled dead":                                 "Kite 12 lead cab 2, Brant 1 hauled dead",
	} {
		want, err := Parse(f, typed)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Parse(f, said)
		if err != nil || got.String() != want.String() {
			t.Errorf("%q: %v, %v; want %s", said, got, err, want)
		}
	}
	// a slip in what was said is still pointed at
	for said, col := range map[string]int{"tern three lead kyte eleven trail": 17, "tern three kite eleven trail": 11, "tern thirty three lead": 6} {
		_, err := Parse(f, said)
		e, ok := err.(*Error)
		if !ok || e.Col != col {
			t.Errorf("%q: %v, want column %d", said, err, col)
		}
	}
}
