package main

import (
	"os"
	"testing"
	"time"

	"headstock/air/reference"
)

// The network against the reference on the cases, in one run: how many times faster, and
// than the day itself.
func BenchmarkCases(b *testing.B) {
	const file = "../../air/reference/testdata/pipe_cases.json"
	f, err := os.Open(file)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	list, err := reference.Read(f, file)
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range list {
		b.Run(c.ID, func(b *testing.B) {
			var names []string
			for _, e := range c.Expected {
				names = append(names, e.Name)
			}
			began := time.Now()
			if _, err := reference.Run(c.Spec, 4, names); err != nil {
				b.Fatal(err)
			}
			slow := time.Since(began)
			for b.Loop() {
				w, err := newNetwork(c.Spec, 4)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := reference.Observe(c.Spec, w, names); err != nil {
					b.Fatal(err)
				}
			}
			took := b.Elapsed().Seconds() / float64(b.N)
			b.ReportMetric(slow.Seconds()/took, "×reference")
			b.ReportMetric(c.Spec.End/took, "×real")
		})
	}
}
