package orbit

import (
	"fmt"
	"testing"

	"headstock/internal/outside"
)

// Shared check case 8.20: the Petersen graph has 120 automorphisms, the cube 48, and rows of
// n two-state units fall into 2, 3, 6, 10, 20 classes when a row may be read either way.
func TestSymmetry(t *testing.T) {
	book := outside.Open(t)
	const by, why = "graph-symmetry", "whole numbers"
	petersen := make([][]int, 10)
	join := func(g [][]int, a, b int) { g[a], g[b] = append(g[a], b), append(g[b], a) }
	for i := range 5 {
		join(petersen, i, (i+1)%5)
		join(petersen, i, i+5)
		join(petersen, i+5, (i+2)%5+5)
	}
	cube := make([][]int, 8)
	for a := range 8 {
		for bit := 1; bit < 8; bit *= 2 {
			if a&bit == 0 {
				join(cube, a, a|bit)
			}
		}
	}
	book.Hold(outside.At("8.20", by, "automorphisms of the Petersen graph", 120, float64(len(Automorphisms(petersen))), "", 0, why),
		outside.At("8.20", by, "automorphisms of the cube", 48, float64(len(Automorphisms(cube))), "", 0, why))
	for k, want := range []float64{2, 3, 6, 10, 20} {
		n := k + 1
		classes := map[string]bool{}
		for x := range 1 << n {
			row := make([]int, n)
			for i := range row {
				row[i] = x >> i & 1
			}
			classes[fmt.Sprint(Least(row, Reversal(n)))] = true
		}
		book.Hold(outside.At("8.20", by, fmt.Sprintf("classes of %d two-state units in a row that may be turned round", n), want, float64(len(classes)), "", 0, why))
	}
}
