package prepare

import (
	"fmt"
	"time"

	"headstock/fleet"
)

// day reads 2026-03-01.
func day(text string) (time.Time, error) {
	t, err := time.Parse("2006-01-02", text)
	if err != nil {
		return t, fmt.Errorf("%q is no date; expected year-month-day, like 2026-03-01", text)
	}
	return t, nil
}

// Next is the day on which a check made on the day last is due again. Days are counted on;
// so many months later is the day of the same number, or the last day of a month that has
// no such day (29 February and 36 months: 28 February).
func Next(last string, every fleet.Interval) (string, error) {
	t, err := day(last)
	if err != nil {
		return "", err
	}
	if every.Months == 0 {
		return t.AddDate(0, 0, every.Days).Format("2006-01-02"), nil
	}
	first := time.Date(t.Year(), t.Month()+time.Month(every.Months), 1, 0, 0, 0, 0, time.UTC)
	end := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(t.Day(), end)-1).Format("2006-01-02"), nil
}

// daysBetween is how many days lie from one day to a later one; below zero when it is
// earlier.
func daysBetween(from, to string) (int, error) {
	a, err := day(from)
	if err != nil {
		return 0, err
	}
	b, err := day(to)
	if err != nil {
		return 0, err
	}
	return int(b.Sub(a).Hours() / 24), nil
}
