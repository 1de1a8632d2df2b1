package calibrate

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"headstock/quantity"
)

// Overlay is the told figures as measured values of the unit, lines of units.yaml from the
// key "measured" on, without indentation; empty where nothing is told, or where the curves
// are not met and what is told of them may be told of something else. date is the day of
// the measurement, from what it was fitted to.
func (f *Fit) Overlay(date, from string) string {
	var b strings.Builder
	for _, x := range f.Figures {
		if x.Standing != Told {
			continue
		}
		reason, _ := json.Marshal(fmt.Sprintf("fitted to %d pressures of %s (%s); interval of 95 %%", f.Samples, from, f.Procedure))
		fmt.Fprintf(&b, "  - {element: %s, argument: %s, value: %s by calibrated, date: %s, reason: %s}\n", x.Element, x.Argument, x.Text(), date, reason)
	}
	if b.Len() == 0 {
		return ""
	}
	return "measured:\n" + b.String()
}

// Text is a fitted figure with its interval as a record writes it: "1.43 mm ± 0.02 mm".
// The spread is the wider side of the interval, rounded up to two digits.
func (x Figure) Text() string {
	unit, one := x.unit()
	spread := max(x.Value-x.From, x.To-x.Value) / one
	digits := 3
	if spread > 0 {
		digits = min(max(1-int(math.Floor(math.Log10(spread))), 0), 6)
	}
	scale := math.Pow(10, float64(digits))
	write := func(v float64) string { return strings.TrimSpace(strconv.FormatFloat(v, 'f', digits, 64) + " " + unit) }
	return write(x.Value/one) + " ± " + write(math.Ceil(spread*scale-1e-9)/scale)
}

// unit is the unit in which a record writes a figure of this kind, and its SI value.
func (x Figure) unit() (string, float64) {
	switch x.Record.Kind {
	case quantity.Length:
		return "mm", 1e-3
	case quantity.Volume:
		return "L", 1e-3
	case quantity.Pressure:
		return "kPa", 1e3
	case quantity.Time:
		return "s", 1
	case quantity.Rate:
		return "kPa/s", 1e3
	case quantity.Flow:
		return "m3/min", 1.0 / 60
	}
	return "", 1
}
