package prepare

import (
	"sync"
	"testing"

	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/reading"
)

// read reads the demo railway once.
var read = sync.OnceValues(func() (*fleet.Fleet, []reading.Complaint) { return fleet.Read(demo.Railway()) })

func railway(t testing.TB) *fleet.Fleet {
	t.Helper()
	f, cs := read()
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	return f
}

// The order of the walk, computed from scratch.
func BenchmarkWalk(b *testing.B) {
	f := railway(b)
	for _, c := range f.Classes {
		b.Run(c.Name, func(b *testing.B) {
			for b.Loop() {
				w, err := Compute(c)
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(w.Cells), "sets")
				b.ReportMetric(float64(len(w.Stands)), "stands")
				if w.Proved {
					b.ReportMetric(1, "proved")
				}
				b.ReportMetric(w.Seconds-w.Lower, "gap_s")
			}
		})
	}
}
