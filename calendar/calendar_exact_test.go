package calendar_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"headstock/calendar"
)

func day(t interface{ Fatal(...any) }, s string) calendar.Date {
	d, err := calendar.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The calendar itself gives these: 2024 is a leap year, 2023, 2026 and 2027 are not, so the
// year that begins on 1 March 2023 holds the 29 February 2024 and has 366 days. They are
// the traps named in physics/reason.md 7.4; two widely used date functions there give
// 1 March 2027 and 2 March 2024.
func TestMonthsAndDays(t *testing.T) {
	for _, c := range []struct {
		from   string
		months int
		want   string
	}{
		{"2024-02-29", 36, "2027-02-28"},
		{"2024-02-29", 48, "2028-02-29"},
		{"2023-08-31", 6, "2024-02-29"},
		{"2022-08-31", 6, "2023-02-28"},
		{"2024-01-31", 1, "2024-02-29"},
		{"2024-01-31", 2, "2024-03-31"}, // from the first date, not from 29 February
		{"2024-03-31", -1, "2024-02-29"},
		{"2023-12-15", 1, "2024-01-15"},
		{"2024-01-15", -1, "2023-12-15"},
		{"2024-01-15", -12, "2023-01-15"},
	} {
		if got := day(t, c.from).AddMonths(c.months).String(); got != c.want {
			t.Errorf("%s and %d months is %s, want %s", c.from, c.months, got, c.want)
		}
	}
	for _, c := range []struct {
		from string
		days int
		want string
	}{
		{"2023-03-01", 366, "2024-03-01"},
		{"2022-03-01", 365, "2023-03-01"},
		{"1900-02-28", 1, "1900-03-01"}, // a hundred that is no leap year
		{"2000-02-28", 1, "2000-02-29"}, // a hundred that is one
		{"2024-12-31", 1, "2025-01-01"},
		{"2025-01-01", -1, "2024-12-31"},
	} {
		a, b := day(t, c.from), day(t, c.want)
		if got := a.AddDays(c.days); got != b {
			t.Errorf("%s and %d days is %s, want %s", c.from, c.days, got, c.want)
		}
		if got := a.DaysUntil(b); got != c.days {
			t.Errorf("%s until %s: %d days, want %d", c.from, c.want, got, c.days)
		}
	}
	// 400 years are 146097 days: 400·365 and 97 leap days
	if got := day(t, "1600-03-01").DaysUntil(day(t, "2000-03-01")); got != 146097 {
		t.Errorf("400 years are %d days", got)
	}
}

func TestDatesProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		d := calendar.Date{Year: rapid.IntRange(1, 9000).Draw(r, "year"), Month: rapid.IntRange(1, 12).Draw(r, "month")}
		d.Day = rapid.IntRange(1, calendar.DaysIn(d.Year, d.Month)).Draw(r, "day")
		n := rapid.IntRange(0, 20000).Draw(r, "n")
		if got := d.DaysUntil(d.AddDays(n)); got != n {
			r.Fatalf("%s and %d days is %d days later", d, n, got)
		}
		if back, err := calendar.Parse(d.String()); err != nil || back != d {
			r.Fatalf("%s is read back as %s, %v", d, back, err)
		}
		// a month later never passes into the month after it, and never falls short of the day but at a month's end
		m := rapid.IntRange(0, 600).Draw(r, "months")
		e := d.AddMonths(m)
		if (e.Year*12+e.Month)-(d.Year*12+d.Month) != m {
			r.Fatalf("%s and %d months is %s", d, m, e)
		}
		if e.Day != d.Day && e.Day != calendar.DaysIn(e.Year, e.Month) {
			r.Fatalf("%s and %d months is %s", d, m, e)
		}
	})
}

func TestDateOfAMoment(t *testing.T) {
	east := time.FixedZone("", 13*3600)
	if got := calendar.On(time.Date(2026, 10, 3, 1, 0, 0, 0, east)).String(); got != "2026-10-02" {
		t.Errorf("01:00 at UTC+13 is %s in UTC", got)
	}
}
