package prepare

import (
	"headstock/calendar"
	"headstock/fleet"
)

// Next is the day on which a check made on the day last is due again; see calendar for how
// days and months are counted.
func Next(last string, every fleet.Interval) (string, error) {
	d, err := calendar.Parse(last)
	if err != nil {
		return "", err
	}
	return calendar.Interval{Days: every.Days, Months: every.Months}.Due(d).String(), nil
}

// daysBetween is how many days lie from one day to a later one; below zero when it is
// earlier.
func daysBetween(from, to string) (int, error) {
	a, err := calendar.Parse(from)
	if err != nil {
		return 0, err
	}
	b, err := calendar.Parse(to)
	if err != nil {
		return 0, err
	}
	return a.DaysUntil(b), nil
}
