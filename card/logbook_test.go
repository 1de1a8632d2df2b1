package card

import (
	"testing"

	"headstock/logbook"
	"headstock/quantity"
)

// What was read is shown as it was read, and a limit never wider than it is.
func TestLogFigures(t *testing.T) {
	metric, imperial := quantity.Metric(), quantity.Imperial()
	for _, c := range []struct {
		text, metric, imperial string
	}{
		{"92.4 mm", "92.4 mm", "3.6378 in"},
		{"1.625 m", "1625 mm", "63.976 in"},
		{"503 kPa", "503 kPa", "72.954 psi"},
		{"601 kPa abs", "601 kPa abs", "87.168 psi abs"},
		{"7.5 kPa/min", "7.5 kPa/min", "1.0878 psi/min"},
		{"0 mm", "0 mm", "0 in"},
		{"-5 °C", "-5 °C", "23 °F"},
		{"0.4", "0.4", "0.4"},
		{"73.5 V ± 0.5 V", "73.5 V ± 0.5", "73.5 V ± 0.5"},
	} {
		q, err := quantity.Parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		if got := asRead(*logbook.ValueOf(q), metric); got != c.metric {
			t.Errorf("%s is shown as %s", c.text, got)
		}
		if got := asRead(*logbook.ValueOf(q), imperial); got != c.imperial {
			t.Errorf("%s is shown as %s", c.text, got)
		}
	}
	for k := quantity.Count; k <= quantity.Rate; k++ {
		for _, u := range []quantity.Units{metric, imperial} {
			if unit, ok := readIn(k, u); k != quantity.Count && (!ok || unit.Kind != k) {
				t.Errorf("%s is shown in %q", k, unit.Name)
			}
		}
	}
	for text, want := range map[string][2]string{
		"at most 125 mm":   {"at most 125 mm", "at most 4.921 in"},   // 4.92126: down
		"at least 10 mm":   {"at least 10 mm", "at least 0.3938 in"}, // 0.393701: up
		"80 mm to 125 mm":  {"80 mm to 125 mm", "3.15 in to 4.921 in"},
		"at most 0.9995 m": {"at most 999.5 mm", "at most 39.35 in"},
	} {
		l, err := logbook.ParseLimit(text)
		if err != nil {
			t.Fatal(err)
		}
		if got := [2]string{boundWords(&l, metric), boundWords(&l, imperial)}; got != want {
			t.Errorf("%s is shown as %q, want %q", text, got, want)
		}
	}
}
