package setup

import (
	"context"
	"testing"
)

// Singles and failures of three units, and pairs of two; the goal is 2 s and 90 s on two
// cores that do nothing else.
func BenchmarkSearch(b *testing.B) {
	for _, x := range []struct {
		name, consist string
		opt           Options
	}{
		{"singles and failures of three", "Tern 3 lead, Kite 11 trail, HX", Options{Failures: true}},
		{"pairs of two", "Tern 3 lead, Kite 11 trail", Options{Pairs: true}},
	} {
		b.Run(x.name, func(b *testing.B) {
			base := based(b, x.consist)
			for b.Loop() {
				f, err := base.Search(context.Background(), x.opt)
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(f.Counts.Runs), "runs")
				b.ReportMetric(float64(f.Counts.Groups+f.Counts.PairGroups+f.Counts.FailGroups), "groups")
			}
		})
	}
}
