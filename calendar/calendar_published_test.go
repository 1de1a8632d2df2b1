package calendar_test

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"headstock/calendar"
	"headstock/internal/outside"
)

// Reda and Andreas, NREL/TP-560-34302, table A4.1: dates and their Julian days. The house
// counts days between dates; so each is counted from the first. Days are whole.
func TestPublishedDayNumbers(t *testing.T) {
	b := outside.Open(t)
	first := day(t, "2000-01-01")
	for _, c := range []struct {
		date   string
		number float64 // at midnight; printed for noon where the row is of noon
	}{
		{"1999-01-01", 2451179.5}, {"1987-01-27", 2446822.5}, {"1987-06-19", 2446965.5}, {"1988-01-27", 2447187.5},
		{"1988-06-19", 2447331.5}, {"1900-01-01", 2415020.5}, {"1600-01-01", 2305447.5}, {"1600-12-31", 2305812.5},
	} {
		b.Hold(outside.At("A4.1 "+c.date, "nrel-spa", "days from "+c.date+" to 2000-01-01", 2451544.5-c.number, float64(day(t, c.date).DaysUntil(first)), "days", 0, "days are whole"))
	}
}

// The intervals of testdata/limits.csv (source and how it is known in each row; INS-105 and
// INS-106 are from memory) say "not more than N days". A leap year's 366 days and a
// common one's 365 lie under 368, so a test on the same date each year is always in time,
// and four of 92 days are 368.
func TestPublishedIntervals(t *testing.T) {
	book := outside.Open(t)
	cite := map[string]string{"INS-021": "cfr-229", "INS-027": "cfr-229", "INS-029": "cfr-229", "INS-105": "from memory", "INS-106": "from memory"}
	b, err := os.ReadFile("testdata/limits.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	due := map[string]string{ // counted on a calendar: 2024 has 366 days, 2025 and 2026 have 365
		"INS-021": "2025-01-03", "INS-027": "2024-04-02", "INS-029": "2026-01-06", "INS-105": "2024-04-02", "INS-106": "2025-01-03",
	}
	n := 0
	for _, r := range rows[1:] {
		i, err := calendar.ParseInterval(strings.TrimPrefix(r[2], "<=") + " " + r[3])
		if err != nil {
			t.Errorf("%s: %v", r[0], err)
			continue
		}
		last := day(t, "2024-01-01")
		if got := i.Due(last).String(); got != due[r[0]] {
			t.Errorf("%s after 2024-01-01: %s, want %s", r[0], got, due[r[0]])
		}
		book.Hold(outside.At(r[0], cite[r[0]], "days until it is due, of the row's "+r[2]+" "+r[3], float64(i.Days), float64(last.DaysUntil(i.Due(last))), "days", 0, "days are whole").As(outside.Restated))
		if !i.InTime(last, i.Due(last)) || i.InTime(last, i.Due(last).AddDays(1)) {
			t.Errorf("%s: the last day in time is not %s", r[0], i.Due(last))
		}
		n++
	}
	if n != len(due) {
		t.Errorf("%d rows, want %d", n, len(due))
	}
}

// 49 CFR 240.303(b) and (c), copy current to January 2025 (physics/reason.md 7.4): once in
// each calendar year. Two may so lie almost two years apart.
func TestOnceEachCalendarYear(t *testing.T) {
	book := outside.Open(t)
	i, err := calendar.ParseInterval("each calendar year")
	if err != nil {
		t.Fatal(err)
	}
	last := day(t, "2025-01-01")
	if !i.InTime(last, day(t, "2026-12-31")) || i.InTime(last, day(t, "2027-01-01")) {
		t.Errorf("after %s the last day is %s", last, i.Due(last))
	}
	book.Hold(outside.Says("240.303", "cfr-240", "what was done on 2025-01-01 lasts to the end of 2026", i.Due(last) == day(t, "2026-12-31")).As(outside.Restated))
}

func TestIntervalWords(t *testing.T) {
	for in, want := range map[string]string{"1 day": "1 day", "92 days": "92 days", "2 weeks": "14 days", "36 months": "3 years", "7 months": "7 months", "Each Calendar Year": "each calendar year"} {
		i, err := calendar.ParseInterval(in)
		if err != nil || i.String() != want {
			t.Errorf("%q is read as %q, %v", in, i, err)
		}
	}
	for _, in := range []string{"", "92", "days", "0 days", "-3 days", "3 fortnights", "99999999999 days"} {
		if _, err := calendar.ParseInterval(in); err == nil {
			t.Errorf("%q was read as an interval", in)
		}
	}
	for _, in := range []string{"", "2026-13-01", "2026-02-29", "2026-2-9", "26-02-09", "2026-02-00", "0000-01-01", "+026-01-01", "2026-01-01-1"} {
		if _, err := calendar.Parse(in); err == nil {
			t.Errorf("%q was read as a date", in)
		}
	}
}
