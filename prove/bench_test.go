package prove_test

import (
	"testing"

	"headstock/consist"
	"headstock/prove"
	"headstock/trial"
)

// The standing brake test of two units from an empty brake pipe with every wait of the
// rules kept: simulated seconds, steps, and what a step costs.
func BenchmarkStandingTest(b *testing.B) {
	f, r := railway(b)
	for _, text := range []string{"Tern 3 lead, Kite 11 trail", "Kite 11 lead, Tern 3 trail, Kite 13 trail", "Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV"} {
		b.Run(text, func(b *testing.B) {
			c, err := consist.Parse(f, text)
			if err != nil {
				b.Fatal(err)
			}
			bench, err := trial.NewBench(c, trial.Conditions{})
			if err != nil {
				b.Fatal(err)
			}
			p := prove.StandingTest(c, r)
			var res *trial.Result
			b.ReportAllocs()
			for b.Loop() {
				if res, err = bench.Run(c, p, nil); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(res.Seconds, "simulated-s")
			b.ReportMetric(float64(res.Steps), "steps")
		})
	}
}
