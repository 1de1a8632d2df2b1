package tour

import (
	"math"
	"slices"
	"testing"

	"headstock/internal/outside"
)

// esc07 is the sequential ordering instance ESC07 of the TSPLIB collection (Reinelt 1991;
// the list of instances gives the optimum 2125). A -1 says that the column must be made
// before the row.
var esc07 = [][]float64{
	{0, 0, 0, 0, 0, 0, 0, 0, 1000000},
	{-1, 0, 100, 200, 75, 0, 300, 100, 0},
	{-1, 400, 0, 500, 325, 400, 600, 0, 0},
	{-1, 700, 800, 0, 550, 700, 900, 800, 0},
	{-1, -1, 250, 225, 0, 275, 525, 250, 0},
	{-1, -1, 100, 200, -1, 0, -1, -1, 0},
	{-1, -1, 1100, 1200, 1075, 1000, 0, 1100, 0},
	{-1, -1, 0, 500, 325, 400, 600, 0, 0},
	{-1, -1, -1, -1, -1, -1, -1, -1, 0},
}

func instance(rows [][]float64) Problem {
	p := Problem{Start: 0, Finish: len(rows) - 1}
	for i, row := range rows {
		p.Cost = append(p.Cost, slices.Clone(row))
		for j, c := range row {
			if c == -1 {
				p.Cost[i][j] = math.Inf(1)
				p.Before = append(p.Before, [2]int{j, i})
			}
		}
	}
	return p
}

// Published: optimum 2125; the named order reaches it; there are exactly 2 such orders
// (counted by dynamic programming and by integer programming, reason.md 8.16).
func TestPublishedSequentialOrdering(t *testing.T) {
	p := instance(esc07)
	named := []int{0, 1, 4, 2, 7, 6, 5, 3, 8}
	if c, err := Cost(p, named); err != nil || c != 2125 {
		t.Fatalf("the named order costs %v, %v", c, err)
	}
	got, err := Shortest(p)
	if err != nil {
		t.Fatal(err)
	}
	if got.Cost != 2125 || !got.Proved || got.Lower != 2125 || got.Orders != 2 {
		t.Errorf("cost %v (proved %v, lower %v), %v orders; published 2125 and 2", got.Cost, got.Proved, got.Lower, got.Orders)
	}
	b := outside.Open(t)
	b.Hold(
		outside.At("8.16 ESC07", "tsplib", "length of the shortest order of 9 stops", 2125, got.Cost, "", 0, "whole numbers"),
		outside.At("8.16 ESC07", "tsplib", "proved bound of that length", 2125, got.Lower, "", 0, "whole numbers"))
	if c, err := Cost(p, got.Order); err != nil || c != got.Cost {
		t.Errorf("the order %v costs %v, %v", got.Order, c, err)
	}
	all := everyOrder(p)
	if len(all) != 2 || !slices.ContainsFunc(all, func(o []int) bool { return slices.Equal(o, named) }) || !slices.ContainsFunc(all, func(o []int) bool { return slices.Equal(o, got.Order) }) {
		t.Errorf("by trying every order: %v", all)
	}
}
