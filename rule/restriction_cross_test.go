package rule_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"headstock/rule"
)

// Day numbers against the calendar of the standard library: the same days exist, the same
// count of days lies between two of them, and Date undoes Day.
func TestDayAgainstTheStandardLibrary(t *testing.T) {
	const layout = "2006-01-02"
	rapid.Check(t, func(t *rapid.T) {
		a := time.Date(rapid.IntRange(1, 9000).Draw(t, "year"), 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 365).Draw(t, "day"))
		n := rapid.IntRange(0, 5000).Draw(t, "days")
		b := a.AddDate(0, 0, n)
		x, ok1 := rule.Day(a.Format(layout))
		y, ok2 := rule.Day(b.Format(layout))
		if !ok1 || !ok2 || y-x != n {
			t.Fatalf("%s to %s: %d days, %v %v, want %d", a.Format(layout), b.Format(layout), y-x, ok1, ok2, n)
		}
		if rule.Date(x) != a.Format(layout) {
			t.Fatalf("%s comes back as %s", a.Format(layout), rule.Date(x))
		}
		text := rapid.StringMatching(`20[0-9]{2}-[0-9]{2}-[0-9]{2}`).Draw(t, "text")
		_, err := time.Parse(layout, text)
		if _, ok := rule.Day(text); ok != (err == nil) {
			t.Fatalf("%s: %v, the library says %v", text, ok, err)
		}
	})
}
