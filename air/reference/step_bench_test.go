package reference

import (
	"os"
	"testing"
)

// BenchmarkCases is a run of each case at 8 cells a vehicle; x_real is how many times faster than
// what it computes.
func BenchmarkCases(b *testing.B) {
	const name = "testdata/pipe_cases.json"
	f, err := os.Open(name)
	if err != nil {
		b.Fatal(err)
	}
	list, err := Read(f, name)
	f.Close()
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range list {
		b.Run(c.ID, func(b *testing.B) {
			for b.Loop() {
				p, err := New(c.Spec, 8)
				if err != nil {
					b.Fatal(err)
				}
				if err := p.Advance(c.Spec.End); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(c.Spec.End*float64(b.N)/b.Elapsed().Seconds(), "x_real")
		})
	}
}
