package fleet

import (
	"math"
	"testing"

	"headstock/quantity"
)

func TestParseLimit(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		text      string
		kind      quantity.Kind
		low, high float64 // inf or -inf: open; both nan: words
		note, by  string
	}{
		{"80 mm to 125 mm", quantity.Length, 0.08, 0.125, "", "near"},
		{"80 to 125 mm", quantity.Length, 0.08, 0.125, "", "near"},
		{"between 60 °C and 82 °C", quantity.Temperature, 333.15, 355.15, "", "near"},
		{"at least 68 V", quantity.Voltage, 68, inf, "", "near"},
		{"at most 20 kPa by nzr-1974", quantity.Pressure, -inf, 20e3, "", "nzr-1974"},
		{"at most 25 kPa, apart on level track", quantity.Pressure, -inf, 25e3, "apart on level track", "near"},
		{"500 kPa ± 10 kPa", quantity.Pressure, 490e3, 510e3, "", "near"},
		{"at most 20 kPa/min", quantity.Rate, -inf, 20e3 / 60, "", "near"},
		{"both green", 0, math.NaN(), math.NaN(), "", "near"},
		{"within 40 A", 0, math.NaN(), math.NaN(), "", "near"},
		{"at least half", 0, math.NaN(), math.NaN(), "", "near"},
	} {
		l, err := ParseLimit(c.text, "near")
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if math.IsNaN(c.low) {
			if l.Figure() {
				t.Errorf("%q is a figure", c.text)
			}
			continue
		}
		near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) }
		if l.Kind != c.kind || l.HasLow == math.IsInf(c.low, -1) || l.HasHigh == math.IsInf(c.high, 1) || l.HasLow && !near(l.Low, c.low) || l.HasHigh && !near(l.High, c.high) || l.Note != c.note || l.By != c.by {
			t.Errorf("%q: %+v", c.text, l)
		}
	}
	for _, bad := range []string{"80 mm to 70 mm", "80 mm to 125 kPa", "at most 20 kPs", "12 mm by my-uncle", "750 kPa and 850 kPa within 15 kPa"} {
		if l, err := ParseLimit(bad, ""); err == nil {
			t.Errorf("%q is read as %+v", bad, l)
		}
	}
}

func TestParseInterval(t *testing.T) {
	for text, want := range map[string]Interval{"daily": {Days: 1}, "weekly": {Days: 7}, "92 days": {Days: 92}, "2 weeks": {Days: 14}, "monthly": {Months: 1}, "3 months": {Months: 3}, "1 year": {Months: 12}} {
		i, ok := ParseInterval(text)
		if !ok || i.Days != want.Days || i.Months != want.Months {
			t.Errorf("%q: %+v, %v", text, i, ok)
		}
	}
	for _, bad := range []string{"", "now and then", "0 days", "-1 days", "3", "3 moons", "three months"} {
		if i, ok := ParseInterval(bad); ok {
			t.Errorf("%q is read as %+v", bad, i)
		}
	}
}
