package logbook_test

import (
	"testing"
	"time"

	"headstock/calendar"
	"headstock/logbook"
)

// row makes readings of one millimetre measure, every gap days from 2026-01-01.
func row(gap int, mm ...float64) logbook.Series {
	k := logbook.Key{Unit: "Tern 3", Device: "bogie-1-piston", What: "piston travel", State: "applied"}
	s := logbook.Series{Key: k}
	for i, v := range mm {
		at := time.Date(2026, 1, 1, 6, 0, 0, 0, time.UTC).AddDate(0, 0, i*gap)
		s.Readings = append(s.Readings, logbook.Reading{Key: k, At: at, Value: logbook.Value{Measure: "length", SI: v / 1e3}, Number: i + 1})
	}
	return s
}

func limit(t *testing.T, text string) *logbook.Limit {
	t.Helper()
	l, err := logbook.ParseLimit(text)
	if err != nil {
		t.Fatal(err)
	}
	return &l
}

// 80 mm and half a millimetre a week meet 100 mm after 40 weeks, 280 days: 2026-01-01 and
// 280 days is 2026-10-08 (31+28+31+30+31+30+31+31+30 = 273 days to 1 October). Seven
// readings, so every slope is the line's and the interval is one date.
func TestDateAtLimitOnALine(t *testing.T) {
	d := logbook.DriftOf(row(14, 80, 81, 82, 83, 84, 85, 86), limit(t, "at most 100 mm"))
	if d.Outcome != logbook.Reaches || d.Trend.Within == nil {
		t.Fatalf("%+v", d)
	}
	// the fraction of a day is cut off; what the last bits make of a whole day may cut one more
	for _, got := range []calendar.Date{d.Date, d.Earliest, d.Latest} {
		if s := got.String(); s != "2026-10-08" && s != "2026-10-07" {
			t.Errorf("meets the limit on %s, want 2026-10-08", got)
		}
	}
	near(t, "slope", d.Trend.PerDay, 0.5e-3/7, 1e-12)
	near(t, "level", d.Trend.Level, 86e-3, 1e-12)
}

// The same line with three wild readings of twelve, 3/12 < 0.293, meets it on the same day.
func TestDateAtLimitDespiteWildReadings(t *testing.T) {
	d := logbook.DriftOf(row(14, 80, 81, 20, 83, 84, 85, 140, 87, 88, 89, 30, 91), limit(t, "70 mm to 100 mm"))
	if s := d.Date.String(); d.Outcome != logbook.Reaches || s != "2026-10-08" && s != "2026-10-07" {
		t.Errorf("%s on %s, want 2026-10-08", d.Outcome, d.Date)
	}
	if d.Runs != 1 {
		t.Errorf("wild readings made %d runs", d.Runs)
	}
}

// Blocks that wear from 58 mm by 1 mm every 10 days meet 10 mm after 480 days:
// 2026-01-01 and 480 days is 2027-04-26 (365 to 2027-01-01, 115 more: 31+28+31 = 90 to
// 1 April, 25 more).
func TestDateAtLowerLimit(t *testing.T) {
	s := row(20, 58, 56, 54, 52, 50, 48, 46)
	d := logbook.DriftOf(s, limit(t, "at least 10 mm"))
	if g := d.Date.String(); d.Outcome != logbook.Reaches || g != "2027-04-26" && g != "2027-04-25" {
		t.Errorf("%s on %s, want 2027-04-26", d.Outcome, d.Date)
	}
	// against a limit on the other side the same line says nothing
	if d := logbook.DriftOf(s, limit(t, "at most 60 mm")); d.Outcome != logbook.Away || !d.Date.IsZero() {
		t.Errorf("%s on %s, want does not reach", d.Outcome, d.Date)
	}
}

// Five readings 100, 101, 103, 104, 105 mm over 0, 10 … 40 days. The ten slopes in mm a day
// are 0.1 four times, 0.125, 0.1333 twice, 0.15 twice and 0.2: the median is 0.129166…, and
// the outermost bound it, since 1/120 of the orders of five has no inversion. With these
// slopes the medians of what is left are 100, 101 (slope 0.1) and 99 mm (slope 0.2), so
// 111.05 mm is met after 11.05/0.129166 = 85.5, 10.05/0.1 = 100.5 and 12.05/0.2 = 60.25 days:
// 2026-03-27, 2026-04-11 and 2026-03-02.
func TestIntervalOfTheDate(t *testing.T) {
	s := row(10, 100, 101, 103, 104, 105)
	d := logbook.DriftOf(s, limit(t, "at most 111.05 mm"))
	near(t, "slope", d.Trend.PerDay, 1.55e-3/12, 1e-12)
	near(t, "low", d.Trend.Within[0], 0.1e-3, 1e-12)
	near(t, "high", d.Trend.Within[1], 0.2e-3, 1e-12)
	if d.Outcome != logbook.Reaches || d.Date.String() != "2026-03-27" || d.Earliest.String() != "2026-03-02" || d.Latest.String() != "2026-04-11" {
		t.Errorf("%s: %s, from %s to %s", d.Outcome, d.Date, d.Earliest, d.Latest)
	}
	// against 130 mm: 30/0.129166 = 232.3 and 31/0.2 = 155 days lie within 6 times the 40 days
	// read, 29/0.1 = 290 days does not: no last day
	if d := logbook.DriftOf(s, limit(t, "at most 130.05 mm")); d.Outcome != logbook.Reaches || d.Date.IsZero() || d.Earliest.IsZero() || !d.Latest.IsZero() {
		t.Errorf("%s: %s, from %s to %s", d.Outcome, d.Date, d.Earliest, d.Latest)
	}
	// against 140 mm the steepest, 41.05/0.2 = 205 days, still does; the line, 310 days, does not
	if d := logbook.DriftOf(s, limit(t, "at most 140.05 mm")); d.Outcome != logbook.Might || !d.Date.IsZero() || d.Earliest.String() != "2026-07-25" {
		t.Errorf("%s: %s, from %s", d.Outcome, d.Date, d.Earliest)
	}
	// against 200 mm nothing does
	if d := logbook.DriftOf(s, limit(t, "at most 200 mm")); d.Outcome != logbook.Distant || !d.Date.IsZero() || !d.Earliest.IsZero() {
		t.Errorf("%s: %s, from %s", d.Outcome, d.Date, d.Earliest)
	}
}
