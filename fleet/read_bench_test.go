package fleet_test

import (
	"testing"

	"headstock/demo"
	"headstock/fleet"
)

// Every command reads the whole railway first.
func BenchmarkRead(b *testing.B) {
	for b.Loop() {
		if _, cs := fleet.Read(demo.Railway()); len(cs) > 0 {
			b.Fatal(cs[0])
		}
	}
}
