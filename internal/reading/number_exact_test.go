package reading_test

import (
	"strings"
	"testing"

	"headstock/internal/reading"
)

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		text    string
		n, used int
	}{
		{"zero", 0, 1}, {"three lead", 3, 1}, {"Eleven", 11, 1}, {"twenty", 20, 1}, {"twenty one HX", 21, 2}, {"twenty-one HX", 21, 1},
		{"twenty eleven", 20, 1}, {"twenty-eleven", 0, 0}, {"two hundred", 200, 2}, {"two hundred and five loaded", 205, 4},
		{"two hundred twenty one", 221, 4}, {"nine hundred and ninety-nine", 999, 4}, {"two hundred and GV", 200, 2}, {"hundred", 0, 0},
		{"eleven hundred", 11, 1}, {"lead", 0, 0}, {"3", 0, 0}, {"", 0, 0},
	} {
		if n, used := reading.Number(strings.Fields(c.text)); n != c.n || used != c.used {
			t.Errorf("%q: %d by %d words, want %d by %d", c.text, n, used, c.n, c.used)
		}
	}
	for text, want := range map[string]string{
		"kite eleven changeover": "kite 11 changeover", "tern three and kite twelve": "tern 3 and kite 12", "Kite 11": "Kite 11", "two one": "2 1", "": "",
	} {
		if got := reading.Figures(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
