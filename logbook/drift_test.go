package logbook_test

import (
	"testing"

	"headstock/logbook"
)

func TestTooFewReadings(t *testing.T) {
	for name, s := range map[string]logbook.Series{
		"four":            row(30, 80, 81, 82, 83),
		"five in 24 days": row(6, 80, 81, 82, 83, 84),
	} {
		if d := logbook.DriftOf(s, limit(t, "at most 100 mm")); d.Outcome != logbook.TooFew || !d.Date.IsZero() || d.Trend != nil {
			t.Errorf("%s: %+v", name, d)
		}
	}
	// outside is outside, however few
	if d := logbook.DriftOf(row(30, 80, 101), limit(t, "at most 100 mm")); d.Outcome != logbook.Outside {
		t.Errorf("%s", d.Outcome)
	}
}

func TestRenewalBeginsARun(t *testing.T) {
	s := row(14, 90, 92, 94, 96, 98, 70, 71, 72, 73, 74)
	s.Readings[5].Renewed = true
	d := logbook.DriftOf(s, limit(t, "at most 100 mm"))
	if d.Runs != 2 || d.Start != logbook.Renewal || d.Readings != 5 || d.From.String() != "2026-03-12" {
		t.Fatalf("%+v", d)
	}
	near(t, "slope", d.Trend.PerDay, 1e-3/14, 1e-12)
	// right after a renewal there are too few, whatever stood before
	s.Readings = s.Readings[:7]
	if d := logbook.DriftOf(s, limit(t, "at most 100 mm")); d.Outcome != logbook.TooFew || d.Readings != 2 {
		t.Errorf("%s of %d", d.Outcome, d.Readings)
	}
}

func TestJumps(t *testing.T) {
	for name, c := range map[string]struct {
		mm   []float64
		runs int
	}{
		"taken up, nobody wrote it":      {[]float64{80, 82.1, 84, 86.2, 88, 90.1, 72, 74.2, 76, 78.1, 80, 82}, 2},
		"twice":                          {[]float64{58, 55, 52, 49.5, 46, 43, 58, 55.2, 52, 49, 46, 43.1, 40, 58, 55, 52.1, 49, 46}, 3},
		"one wild reading":               {[]float64{80, 81, 82, 140, 84, 85, 86, 87, 88, 89}, 1},
		"to whole millimetres":           {[]float64{50, 50, 50, 49, 49, 49, 48, 48, 48, 47, 47, 47}, 1},
		"one step of a millimetre":       {[]float64{50, 50, 50, 50, 50, 50, 49, 49, 49, 49, 49, 49}, 1},
		"new blocks where nothing moved": {[]float64{30, 30, 30, 30, 30, 30, 58, 58, 58, 58, 58, 58}, 2},
		"straight":                       {[]float64{80, 81, 82, 83, 84, 85, 86, 87}, 1},
		"flat":                           {[]float64{80, 80, 80, 80, 80, 80, 80}, 1},
	} {
		if d := logbook.DriftOf(row(14, c.mm...), limit(t, "20 mm to 200 mm")); d.Runs != c.runs {
			t.Errorf("%s: %d runs, want %d", name, d.Runs, c.runs)
		}
	}
	// a jump toward the limit is more than a new start
	d := logbook.DriftOf(row(14, 70, 70.2, 70.1, 70.3, 70.2, 70.4, 90, 90.1, 90.3, 90.2, 90.4), limit(t, "at most 100 mm"))
	if d.Start != logbook.Jump || !d.Toward {
		t.Errorf("%+v", d)
	}
}

func TestLastReadingOffTheLine(t *testing.T) {
	if d := logbook.DriftOf(row(14, 80, 81.2, 82, 83.1, 84, 85, 95), limit(t, "at most 100 mm")); !d.Trend.Stray {
		t.Error("a last reading far off the line was not pointed at")
	}
	if d := logbook.DriftOf(row(14, 80, 81.2, 82, 83.1, 84, 85, 86.1), limit(t, "at most 100 mm")); d.Trend.Stray {
		t.Error("a reading like the others was pointed at")
	}
}

func TestLimitWords(t *testing.T) {
	l := limit(t, " 70 mm  to 115 mm")
	if !l.Holds(0.115) || !l.Holds(0.07) || l.Holds(0.1151) || l.Holds(0.0699) || l.Measure != "length" {
		t.Errorf("%+v", l)
	}
	for _, bad := range []string{"115 mm", "", "at most", "at most 115 nm", "115 mm to 70 mm", "as the card says"} {
		if _, err := logbook.ParseLimit(bad); err == nil {
			t.Errorf("%q was read as a limit", bad)
		}
	}
	if d := logbook.DriftOf(row(14, 80, 81, 82, 83, 84), limit(t, "at most 20 kPa/min")); d.Outcome != logbook.Unrelated {
		t.Errorf("%s", d.Outcome)
	}
	if d := logbook.DriftOf(row(14, 80, 81, 82, 83, 84), nil); d.Outcome != logbook.NoLimit || d.Trend == nil {
		t.Errorf("%+v", d)
	}
	if d := logbook.DriftOf(row(14, 96, 97, 98, 99, 100, 101, 99.9), limit(t, "at most 100 mm")); d.Outcome != logbook.AtLimit {
		t.Errorf("%+v", d)
	}
}
