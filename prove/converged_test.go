package prove_test

import (
	"math"
	"strings"
	"testing"

	"headstock/prove"
	"headstock/trial"
)

// What is read does not hang on the step: with fifty times less allowed in a step every
// gauge is within 1 kPa, every piston and exhaust says the same. A main reservoir shows what
// the compressor had put in when the wait before it ended, 3 kPa a second: within 5 kPa. An
// exhaust that fades is heard to within 3 s.
func TestReadingsAreConverged(t *testing.T) {
	f, r := railway(t)
	for _, text := range []string{
		"Tern 3 lead, Kite 11 trail",
		"Tern 3 lead, Kite 11 trail reversed, 2 HX loaded, GV",
		"Tern 3 lead, 3 HX loaded, 3 HX",
	} {
		t.Run(text, func(t *testing.T) {
			t.Parallel()
			c := set(t, f, text, "")
			run := func(tolerance float64) *trial.Result {
				res, err := trial.Run(c, prove.StandingTest(c, r), trial.Conditions{Tolerance: tolerance})
				if err != nil {
					t.Fatal(err)
				}
				return res
			}
			usual, fine := run(0), run(1)
			for i, x := range usual.Readings {
				y := fine.Readings[i]
				slack := map[string]float64{"gauge": 1e3, "piston": 2e-3, "exhaust": 3}[x.Kind]
				if strings.Contains(x.Device, "main-reservoir") {
					slack = 5e3
				}
				if math.Abs(x.Value-y.Value) > slack || x.Out != y.Out {
					t.Errorf("%s, %s %s: %g %t, with finer steps %g %t", x.Step, c.Vehicles[x.Vehicle].Name(), x.Device, x.Value, x.Out, y.Value, y.Out)
				}
			}
		})
	}
}
