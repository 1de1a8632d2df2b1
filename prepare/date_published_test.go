package prepare

import (
	"testing"

	"headstock/fleet"
	"headstock/internal/outside"
)

// Published: the rule of the last day of the month, and 366 days (reason.md 7.4, where GNU
// date and plain date arithmetic are shown to give other days: 31 August and 6 months is 29
// February and not 2 March; 29 February and 36 months is 28 February and not 1 March; 366
// days from 1 March 2023 is 1 March 2024).
func TestPublishedDates(t *testing.T) {
	b := outside.Open(t)
	for _, c := range []struct{ last, every, want string }{
		{"2023-08-31", "6 months", "2024-02-29"},
		{"2024-02-29", "36 months", "2027-02-28"},
		{"2024-02-29", "3 years", "2027-02-28"},
		{"2023-03-01", "366 days", "2024-03-01"},
		{"2026-12-31", "2 months", "2027-02-28"},
		{"2026-01-15", "monthly", "2026-02-15"},
		{"2026-09-01", "92 days", "2026-12-02"},
	} {
		every, ok := fleet.ParseInterval(c.every)
		if !ok {
			t.Fatal(c.every)
		}
		got, err := Next(c.last, every)
		if err != nil || got != c.want {
			t.Errorf("%s and %s: %s, %v; want %s", c.last, c.every, got, err, c.want)
		}
		b.Hold(outside.Says("7.4", "rules-of-the-trade", c.last+" and "+c.every+" is "+c.want, got == c.want).As(outside.Restated))
	}
}
