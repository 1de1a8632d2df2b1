package prepare

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"headstock/internal/outside"
	"headstock/quantity"
	"headstock/rule"
)

// row is one published limit of testdata/limits.csv, which names the source of each.
func row(t *testing.T, id string) (value, unit string) {
	t.Helper()
	f, err := os.Open("testdata/limits.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range rows {
		if x[0] == id {
			return x[2], x[3]
		}
	}
	t.Fatalf("no row %s", id)
	return "", ""
}

// number reads "31 1/2", "<=1/4", "60".
func number(t *testing.T, s string) float64 {
	t.Helper()
	s = strings.TrimLeft(s, "<>=")
	v := 0.0
	for _, p := range strings.Fields(s) {
		a, b, frac := strings.Cut(p, "/")
		x, err := strconv.ParseFloat(a, 64)
		if err != nil {
			t.Fatal(err)
		}
		if frac {
			y, err := strconv.ParseFloat(b, 64)
			if err != nil {
				t.Fatal(err)
			}
			x /= y
		}
		v += x
	}
	return v
}

func span(t *testing.T, s string) (float64, float64) {
	t.Helper()
	a, b, ok := strings.Cut(s, "..")
	if !ok {
		t.Fatal(s)
	}
	return number(t, a), number(t, b)
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

// INS-002: the greatest travel is the total possible one less 1.5 in.
func TestPublishedTravel(t *testing.T) {
	v, unit := row(t, "INS-002")
	if v != "total_possible - 1.5" || unit != "in" {
		t.Fatal(v, unit)
	}
	l, _ := rule.Standard().Limit("travel-margin")
	outside.Open(t).Hold(outside.At("INS-002", "cfr-229", "greatest travel of 8 in possible", 6.5, MaxTravel(quantity.Inches(8), quantity.Metres(l.Value())).Inches(), "in", 1e-12, "rounding").As(outside.Restated))
}

// INS-008, INS-009, INS-010, INS-012: leakage in psi a minute, and where its timing starts.
func TestPublishedLeakage(t *testing.T) {
	b := outside.Open(t)
	r := rule.Standard()
	for _, w := range [][2]string{{"INS-008", "main-air-leak"}, {"INS-012", "control-air-leak"}, {"INS-010", "unit-pipe-leak"}} {
		id, name := w[0], w[1]
		v, unit := row(t, id)
		l, _ := r.Limit(name)
		b.Hold(outside.At(id, "cfr-229", name, number(t, v), quantity.Gauge(l.Value()*60).PSI(), "psi/min", 1e-6, "rounding").As(outside.Restated))
		if unit != "psi/min" || l.Row != id || !near(l.Value(), float64(quantity.PSIGauge(number(t, v)))/60, 1e-9) {
			t.Errorf("%s: %v Pa/s, published %s %s", name, l.Value(), v, unit)
		}
	}
	v, _ := row(t, "INS-009")
	if l, _ := r.Limit("main-air-leak-start"); !near(l.Value(), number(t, v)/100, 1e-12) {
		t.Errorf("%v, published %s %%", l.Value(), v)
	}
}

// INS-018: 5 % or 3 psi, whichever is less; they meet at 60 psi.
func TestPublishedGaugeError(t *testing.T) {
	if v, _ := row(t, "INS-018"); v != "<=min(5 %, 3 psi)" {
		t.Fatal(v)
	}
	r := rule.Standard()
	part, _ := r.Limit("gauge-error-part")
	fixed, _ := r.Limit("gauge-error")
	b := outside.Open(t)
	for _, w := range [][2]float64{{20, 1}, {60, 3}, {72.5, 3}, {140, 3}} {
		got := GaugeError(quantity.PSIGauge(w[0]), part.Value(), quantity.Gauge(fixed.Value()))
		b.Hold(outside.At("INS-018", "cfr-229", fmt.Sprintf("error allowed to a gauge at %g psi", w[0]), w[1], got.PSI(), "psi", 1e-9, "rounding").As(outside.Restated))
	}
}

// INS-049 on the gauges of INS-050 to INS-053 (rounded there to 0.1 mm), and INS-046.
func TestPublishedFlangeGauge(t *testing.T) {
	if v, _ := row(t, "INS-049"); v != "(gauge - 3 1/2)..(gauge - 3 1/8)" {
		t.Fatal(v)
	}
	book := outside.Open(t)
	for _, w := range []struct {
		id string
		mm float64
	}{{"INS-050", 1067}, {"INS-051", 1000}, {"INS-052", 914.4}, {"INS-053", 762}} {
		id, mm := w.id, w.mm
		v, _ := row(t, id)
		a, b := span(t, v)
		low, high, by, ok := FlangeGauge(quantity.Millimetres(mm))
		for k, end := range []float64{low.Millimetres(), high.Millimetres()} {
			book.Hold(outside.At(id, "rules-of-the-trade", fmt.Sprintf("inside gauge of flanges on %g mm, %s", mm, []string{"least", "most"}[k]), []float64{a, b}[k], end, "mm", 0.051, "the row is rounded to 0.1 mm").As(outside.FromMemory))
		}
		if !ok || by != "INS-049" || !near(low.Millimetres(), a, 0.051) || !near(high.Millimetres(), b, 0.051) {
			t.Errorf("%v mm: %v to %v, published %s", mm, low.Millimetres(), high.Millimetres(), v)
		}
	}
	v, _ := row(t, "INS-046")
	a, b := span(t, v)
	if low, high, _, ok := FlangeGauge(quantity.Inches(56.5)); !ok || !near(low.Inches(), a, 1e-9) || !near(high.Inches(), b, 1e-9) {
		t.Errorf("standard gauge: %v to %v, published %s", low.Inches(), high.Inches(), v)
	}
	if _, _, _, ok := FlangeGauge(quantity.Millimetres(1676)); ok {
		t.Error("a band for a gauge above standard, of which nothing is published")
	}
}

// INS-043 to INS-045: how far wheels may differ.
func TestPublishedWheels(t *testing.T) {
	b := outside.Open(t)
	for _, w := range [][2]string{{"INS-043", "wheel-circumference"}, {"INS-044", "wheel-diameter-bogie"}, {"INS-045", "wheel-diameter-unit"}} {
		id, name := w[0], w[1]
		v, unit := row(t, id)
		l, _ := rule.Standard().Limit(name)
		b.Hold(outside.At(id, "cfr-229", name, number(t, v), quantity.Metres(l.Value()).Inches(), "in", 1e-9, "rounding").As(outside.Restated))
		if unit != "in" || l.Row != id || !near(quantity.Metres(l.Value()).Inches(), number(t, v), 1e-9) {
			t.Errorf("%s: %v m, published %s", name, l.Value(), v)
		}
	}
}

// INS-090 to INS-093: coupler heights on three gauges, and none on any other.
func TestPublishedCouplerHeights(t *testing.T) {
	book := outside.Open(t)
	for _, w := range []struct {
		id    string
		track float64
	}{{"INS-090", 56.5}, {"INS-091", 36}, {"INS-092", 24}} {
		id, track := w.id, w.track
		v, _ := row(t, id)
		a, b := span(t, v)
		low, high, by, ok := CouplerHeight(quantity.Inches(track))
		for k, end := range []float64{low.Inches(), high.Inches()} {
			book.Hold(outside.At(id, "cfr-231", fmt.Sprintf("coupler height on %g in, %s", track, []string{"least", "most"}[k]), []float64{a, b}[k], end, "in", 1e-9, "rounding").As(outside.Restated))
		}
		if !ok || by != id || !near(low.Inches(), a, 1e-9) || !near(high.Inches(), b, 1e-9) {
			t.Errorf("%v in: %v to %v, published %s", track, low.Inches(), high.Inches(), v)
		}
	}
	if v, _ := row(t, "INS-093"); v != "local approval" {
		t.Fatal(v)
	}
	if _, _, by, ok := CouplerHeight(quantity.Millimetres(1067)); ok || by != "INS-093" {
		t.Error("a published height on 1067 mm, where there is none")
	}
}

// INS-032: 0.6 P R / (S − 0.6 P), at least 1/16 in. By hand: 140 psi, 12 in, 11 000 psi gives
// 1008 / 10916 = 0.09234 in; 60 psi, 6 in, 11 000 psi gives 0.0197 in, so 0.0625 in.
func TestPublishedTellTaleDepth(t *testing.T) {
	if v, _ := row(t, "INS-032"); v != "0.6*P*R/(S-0.6*P)" {
		t.Fatal(v)
	}
	b := outside.Open(t)
	for _, c := range []struct{ p, r, s, want float64 }{{140, 12, 11000, 0.092342}, {60, 6, 11000, 0.0625}} {
		got, err := TellTaleDepth(quantity.PSIGauge(c.p), quantity.Inches(c.r), quantity.PSIGauge(c.s))
		if err != nil {
			t.Error(err)
		}
		b.Hold(outside.At("INS-032", "cfr-229", fmt.Sprintf("depth of a tell-tale hole at %g psi, %g in, %g psi, by hand from the printed formula", c.p, c.r, c.s), c.want, got.Inches(), "in", 1e-6, "six figures by hand").As(outside.Restated))
	}
	if _, err := TellTaleDepth(quantity.PSIGauge(200), quantity.Inches(12), quantity.PSIGauge(100)); err == nil {
		t.Error("a depth for a plate that cannot hold")
	}
}

// INS-094 to INS-097: a compressor in order holds 60 psi against the named orifice. What the
// rule does not print is how much air that is. Two things can be held against the choked
// flow without guessing more:
//
//   - The compressors named by their capacity are the 120 and the 150 cfm one. What passes
//     the hole must stay below the name, since the test is run at fewer strokes than the
//     rating, and above a third of it, or the test would pass a wreck.
//   - Per stroke the 11 in compressor passes more than the 9.5 in one by a factor between that
//     of the piston areas, (11/9.5)² = 1.34, and that of the swept volumes, with strokes of 12
//     and 10 in (from memory) 1.61.
//
// It is no proof of a capacity: strokes, clearance and steam side are not in the rows.
func TestPublishedOrifices(t *testing.T) {
	bore := map[string]float64{"INS-094": 11. / 64, "INS-095": 3. / 16, "INS-096": 9. / 32, "INS-097": 15. / 64}
	strokes := map[string]float64{"INS-094": 120, "INS-095": 100, "INS-096": 100, "INS-097": 100}
	cfm := map[string]float64{}
	for id, d := range bore {
		v, unit := row(t, id)
		if v != "60" || unit != "psi maintained" {
			t.Fatal(id, v, unit)
		}
		cfm[id] = OrificeAir(quantity.Inches(d), quantity.PSIGauge(60)).CubicFeetPerMinute()
		// closed form: 0.684731·A·p1/√(R·T), in free air of the same temperature
		area := math.Pi / 4 * d * d * 0.0254 * 0.0254
		kg := 0.684731 * area * (60*6894.757 + 101325) / math.Sqrt(287.05*293.15)
		free := kg * 287.05 * 293.15 / 101325 * 60 / math.Pow(0.3048, 3)
		if !near(cfm[id], free, 1e-3*free) {
			t.Errorf("%s: %v cfm, choked nozzle %v", id, cfm[id], free)
		}
	}
	book := outside.Open(t)
	for _, w := range []struct {
		id    string
		named float64
	}{{"INS-096", 150}, {"INS-097", 120}} {
		id, named := w.id, w.named
		const why = "the test is run below the named rate, and one that a wreck passes would be none"
		book.Hold(
			outside.Within(id, "cfr-230", fmt.Sprintf("air through the rounded test hole of the %g cfm compressor", named), 0, named, roundedHole*cfm[id], "cfm", 0, why).As(outside.Restated),
			outside.Within(id, "cfr-230", fmt.Sprintf("air through the sharp test hole of the %g cfm compressor", named), named/3*0.9, named, sharpHole*cfm[id], "cfm", 0, why).As(outside.Restated))
	}
	per := (cfm["INS-095"] / strokes["INS-095"]) / (cfm["INS-094"] / strokes["INS-094"])
	areas := math.Pow(11/9.5, 2)
	if volumes := areas * 12 / 10; per < areas || per > volumes {
		t.Errorf("per stroke %.3f times as much, between %.3f and %.3f asked", per, areas, volumes)
	}
	t.Logf("free air through the holes at 60 psi: %.1f, %.1f, %.1f, %.1f cfm at most", cfm["INS-094"], cfm["INS-095"], cfm["INS-096"], cfm["INS-097"])
}
