package card

import (
	"headstock/quantity"
	"headstock/teach"
)

// OnBench words what a device shows on the bench and what it should show.
func OnBench(s teach.Shown, u quantity.Units) (is, expect string) {
	state := func(out bool) string {
		switch {
		case s.Kind == "piston" && out:
			return "out"
		case s.Kind == "piston":
			return "in"
		case out:
			return "blows"
		}
		return "quiet"
	}
	if s.Kind == "gauge" {
		return u.Gauge(quantity.Gauge(s.Value)), u.GaugeBand(quantity.Gauge(s.Expected.Low), quantity.Gauge(s.Expected.High))
	}
	return state(s.Out), state(s.ExpectOut)
}
