// Package calendar counts civil dates: days between them, months after them, and the last
// day on which something that recurs is still in time.
//
// A date has no hour and no zone. A month later is the same day of a later month, and
// where that month is too short its last day: 31 August and six months is 29 February in
// a leap year, never 2 March. Months are counted from the first date each time, so an
// interval repeated does not creep toward the month's beginning. Days are counted as
// written: "not more than 92 days" ends on the 92nd day after.
//
// The package reads no clock; whoever asks says what day it is.
package calendar

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Date is one day of the Gregorian calendar. The zero value is no date.
type Date struct {
	Year  int
	Month int // 1–12
	Day   int // 1–31
}

// On is the date that a moment has in UTC.
func On(t time.Time) Date {
	y, m, d := t.UTC().Date()
	return Date{y, int(m), d}
}

// Parse reads "2026-10-03", years 1 to 9999. The error says what is wrong and quotes the text.
func Parse(text string) (Date, error) {
	parts := strings.Split(text, "-")
	if len(parts) != 3 || len(parts[0]) != 4 || len(parts[1]) != 2 || len(parts[2]) != 2 {
		return Date{}, fmt.Errorf("%q is no date; expected year-month-day, like 2026-10-03", text)
	}
	var n [3]int
	for i, p := range parts {
		v, err := strconv.ParseUint(p, 10, 16)
		if err != nil {
			return Date{}, fmt.Errorf("%q is no date; expected year-month-day, like 2026-10-03", text)
		}
		n[i] = int(v)
	}
	d := Date{n[0], n[1], n[2]}
	switch {
	case d.Year < 1:
		return Date{}, fmt.Errorf("%q: there is no year 0", text)
	case d.Month < 1 || d.Month > 12:
		return Date{}, fmt.Errorf("%q: a month is 01 to 12", text)
	case d.Day < 1 || d.Day > DaysIn(d.Year, d.Month):
		return Date{}, fmt.Errorf("%q: that month has the days 01 to %02d", text, DaysIn(d.Year, d.Month))
	}
	return d, nil
}

// String writes the date as Parse reads it; no date is "".
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// MarshalText makes a date a plain word in JSON.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText wrote; an empty text is no date.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	p, err := Parse(string(b))
	if err == nil {
		*d = p
	}
	return err
}

// IsZero says that there is no date.
func (d Date) IsZero() bool { return d == Date{} }

// Midnight is the moment at which the date begins in UTC.
func (d Date) Midnight() time.Time {
	return time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC)
}

// Before says whether d comes before o.
func (d Date) Before(o Date) bool { return d.days() < o.days() }

// DaysIn is how many days a month of a year has.
func DaysIn(year, month int) int {
	switch {
	case month == 2 && Leap(year):
		return 29
	case month == 2:
		return 28
	case month == 4 || month == 6 || month == 9 || month == 11:
		return 30
	}
	return 31
}

// Leap says whether a year has a 29 February: every fourth, of the hundreds every fourth.
func Leap(year int) bool { return year%4 == 0 && (year%100 != 0 || year%400 == 0) }

// days counts from a fixed day. Years begin in March here, so that the odd day of a leap
// year comes last and the months before it have a length that one line gives.
func (d Date) days() int {
	y, m := d.Year, d.Month-3
	if m < 0 {
		m += 12
		y--
	}
	floor := func(a, b int) int { return int(math.Floor(float64(a) / float64(b))) }
	return 365*y + floor(y, 4) - floor(y, 100) + floor(y, 400) + (153*m+2)/5 + d.Day
}

// AddDays is n days later, or earlier where n is negative.
func (d Date) AddDays(n int) Date { return On(d.Midnight().AddDate(0, 0, n)) }

// DaysUntil is how many days pass from d until o; negative when o is the earlier.
func (d Date) DaysUntil(o Date) int { return o.days() - d.days() }

// AddMonths is the same day n months later, or the last day of that month where it has no
// such day. The earlier day is the safe one for anything that runs out.
func (d Date) AddMonths(n int) Date {
	m := d.Year*12 + d.Month - 1 + n
	y := int(math.Floor(float64(m) / 12))
	out := Date{Year: y, Month: m - 12*y + 1}
	out.Day = min(d.Day, DaysIn(out.Year, out.Month))
	return out
}

// Interval is how often something must be done. Exactly one of its fields is filled.
type Interval struct {
	Days     int
	Months   int
	EachYear bool // at least once in each calendar year
}

// ParseInterval reads "92 days", "1 day", "2 weeks", "36 months", "3 years", "each calendar year".
func ParseInterval(text string) (Interval, error) {
	words := strings.Fields(strings.ToLower(text))
	if strings.Join(words, " ") == "each calendar year" {
		return Interval{EachYear: true}, nil
	}
	if len(words) == 2 {
		n, err := strconv.Atoi(words[0])
		if err == nil && n > 0 && n <= 100000 {
			switch strings.TrimSuffix(words[1], "s") {
			case "day":
				return Interval{Days: n}, nil
			case "week":
				return Interval{Days: 7 * n}, nil
			case "month":
				return Interval{Months: n}, nil
			case "year":
				return Interval{Months: 12 * n}, nil
			}
		}
	}
	return Interval{}, fmt.Errorf("%q is no interval; expected one as in \"92 days\", \"36 months\", \"each calendar year\"", text)
}

// String writes the interval as ParseInterval reads it.
func (i Interval) String() string {
	plural := func(n int, unit string) string {
		if n == 1 {
			return "1 " + unit
		}
		return strconv.Itoa(n) + " " + unit + "s"
	}
	switch {
	case i.EachYear:
		return "each calendar year"
	case i.Months > 0 && i.Months%12 == 0:
		return plural(i.Months/12, "year")
	case i.Months > 0:
		return plural(i.Months, "month")
	}
	return plural(i.Days, "day")
}

// Due is the last day on which the next time is still in time, when it was last done on
// last. For "each calendar year" that is the end of the year after.
func (i Interval) Due(last Date) Date {
	switch {
	case i.EachYear:
		return Date{last.Year + 1, 12, 31}
	case i.Months > 0:
		return last.AddMonths(i.Months)
	}
	return last.AddDays(i.Days)
}

// InTime says whether what was last done on last still holds on day.
func (i Interval) InTime(last, day Date) bool { return !i.Due(last).Before(day) }
