package tour

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// everyOrder tries every order, and returns all that are as short as the shortest.
func everyOrder(p Problem) [][]int {
	n := len(p.Cost)
	best := math.Inf(1)
	var out [][]int
	order := []int{p.Start}
	used := make([]bool, n)
	used[p.Start] = true
	var go_ func()
	go_ = func() {
		if len(order) == n {
			c, err := Cost(p, order)
			if err != nil || math.IsInf(c, 1) {
				return
			}
			if c < best-1e-9 {
				best, out = c, nil
			}
			if c <= best+1e-9 {
				out = append(out, slices.Clone(order))
			}
			return
		}
		for j := range n {
			if !used[j] {
				used[j] = true
				order = append(order, j)
				go_()
				order = order[:len(order)-1]
				used[j] = false
			}
		}
	}
	go_()
	return out
}

func drawn(t *rapid.T) Problem {
	n := rapid.IntRange(2, 7).Draw(t, "stops")
	p := Problem{Start: rapid.IntRange(0, n-1).Draw(t, "start"), Finish: Free, Here: make([]bool, n)}
	for range n {
		row := make([]float64, n)
		for j := range row {
			row[j] = float64(rapid.IntRange(0, 9).Draw(t, "cost"))
			if rapid.IntRange(0, 11).Draw(t, "way") == 0 {
				row[j] = math.Inf(1)
			}
		}
		p.Cost = append(p.Cost, row)
	}
	if f := rapid.IntRange(-1, n-1).Draw(t, "finish"); f != p.Start {
		p.Finish = f
	}
	for i := range n {
		p.Here[i] = i != p.Start && i != p.Finish && rapid.IntRange(0, 9).Draw(t, "here") == 0
	}
	for range rapid.IntRange(0, 5).Draw(t, "pairs") {
		a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
		if a != b {
			p.Before = append(p.Before, [2]int{a, b})
		}
	}
	return p
}

// The programme agrees with trying every order: the cost, and how many orders have it.
func TestShortestAgreesWithEveryOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		all := everyOrder(p)
		got, err := Shortest(p)
		if len(all) == 0 {
			if !errors.Is(err, ErrNoOrder) && !errors.Is(err, ErrNoWay) {
				t.Fatalf("no order at all, and the programme says %v, %v", got, err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		want, _ := Cost(p, all[0])
		if math.Abs(got.Cost-want) > 1e-9 || !got.Proved || got.Orders != float64(len(all)) {
			t.Fatalf("cost %v of %v orders (proved %v), by trying %v of %d", got.Cost, got.Orders, got.Proved, want, len(all))
		}
		if c, err := Cost(p, got.Order); err != nil || math.Abs(c-want) > 1e-9 {
			t.Fatalf("the order %v costs %v, %v", got.Order, c, err)
		}
	})
}

// Making what is passed on the way loses nothing: with shortest ways as costs the programme
// still finds what trying every order finds.
func TestWaysLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		p.Cost, _ = Close(p.Cost)
		for i := range p.Cost {
			for j := range p.Cost {
				if p.Here[i] || p.Here[j] {
					p.Cost[i][j] = 0
				}
			}
		}
		all := everyOrder(p)
		p.Ways = true
		if rapid.Bool().Draw(t, "narrow") {
			p.Limit = 1
		}
		got, err := Shortest(p)
		if len(all) == 0 || err != nil {
			if len(all) > 0 && p.Limit == 0 {
				t.Fatal(err)
			}
			return
		}
		want, _ := Cost(p, all[0])
		if got.Proved && math.Abs(got.Cost-want) > 1e-9 || got.Lower > want+1e-9 || p.Limit == 0 && !got.Proved {
			t.Fatalf("cost %v, lower %v, proved %v; by trying %v", got.Cost, got.Lower, got.Proved, want)
		}
	})
}

// Kept to few sets, the order is still an order, it is never said to be shorter than any
// is, and its lower end is never above the shortest.
func TestBoundedSearchIsHonest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		p.Limit = rapid.IntRange(1, 3).Draw(t, "limit")
		got, err := Shortest(p)
		all := everyOrder(p)
		if err != nil || len(all) == 0 {
			return // a narrow search may find no way; it must not claim one
		}
		want, _ := Cost(p, all[0])
		if got.Lower > want+1e-9 || got.Cost < want-1e-9 || got.Proved && got.Cost > want+1e-9 {
			t.Fatalf("cost %v, lower %v, proved %v; the shortest is %v", got.Cost, got.Lower, got.Proved, want)
		}
		if c, err := Cost(p, got.Order); err != nil || math.Abs(c-got.Cost) > 1e-9 {
			t.Fatalf("the order %v costs %v, %v", got.Order, c, err)
		}
	})
}

// Changes of state as stops agree with a machine that goes through its states: every way of
// interleaving stops and changes is tried with the state kept apart.
func TestStatesAsStopsAgreeWithAMachine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places := rapid.IntRange(1, 3).Draw(t, "places")
		stops := rapid.IntRange(1, 4).Draw(t, "stops")
		states := rapid.IntRange(2, 3).Draw(t, "states")
		way := make([][]float64, places)
		for i := range way {
			way[i] = make([]float64, places)
			for j := range way[i] {
				way[i][j] = float64(rapid.IntRange(0, 9).Draw(t, "way"))
			}
		}
		way, _ = Close(way)
		place, state := make([]int, stops), make([]int, stops)
		for k := range stops {
			place[k], state[k] = rapid.IntRange(0, places-1).Draw(t, "place"), rapid.IntRange(0, states-1).Draw(t, "state")
		}
		change := make([]int, states-1) // where the state after k is reached
		for k := range change {
			change[k] = rapid.IntRange(0, places-1).Draw(t, "change")
		}
		// as stops: the start, the stops, the changes
		at := append([]int{0}, append(slices.Clone(place), change...)...)
		p := Problem{Finish: Free}
		for _, a := range at {
			row := []float64{}
			for _, b := range at {
				row = append(row, way[a][b])
			}
			p.Cost = append(p.Cost, row)
		}
		for k := range change {
			c := 1 + stops + k
			if k > 0 {
				p.Before = append(p.Before, [2]int{c - 1, c})
			}
			for s := range stops {
				if state[s] <= k {
					p.Before = append(p.Before, [2]int{1 + s, c})
				} else {
					p.Before = append(p.Before, [2]int{c, 1 + s})
				}
			}
		}
		got, err := Shortest(p)
		if err != nil {
			t.Fatal(err)
		}
		// as a machine
		best := math.Inf(1)
		made := make([]bool, stops)
		var go_ func(here, now, left int, cost float64)
		go_ = func(here, now, left int, cost float64) {
			if left == 0 && now == states-1 {
				best = min(best, cost)
			}
			for s := range stops {
				if !made[s] && state[s] == now {
					made[s] = true
					go_(place[s], now, left-1, cost+way[here][place[s]])
					made[s] = false
				}
			}
			if now < states-1 {
				go_(change[now], now+1, left, cost+way[here][change[now]])
			}
		}
		go_(0, 0, stops, 0)
		if math.Abs(got.Cost-best) > 1e-9 {
			t.Fatalf("as stops %v, as a machine %v", got.Cost, best)
		}
	})
}

// A closed matrix holds no way that a detour makes shorter, and following next gives the
// length.
func TestCloseIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "points")
		way := make([][]float64, n)
		for i := range way {
			way[i] = make([]float64, n)
			for j := range way[i] {
				way[i][j] = float64(rapid.IntRange(1, 9).Draw(t, "way"))
				if rapid.Bool().Draw(t, "none") {
					way[i][j] = math.Inf(1)
				}
			}
		}
		length, next := Close(way)
		for i := range n {
			for j := range n {
				for k := range n {
					if length[i][k]+length[k][j] < length[i][j] {
						t.Fatalf("%d to %d is shorter over %d", i, j, k)
					}
				}
				if i == j || math.IsInf(length[i][j], 1) {
					continue
				}
				sum := 0.0
				for at := i; at != j; at = next[at][j] {
					sum += way[at][next[at][j]]
				}
				if sum != length[i][j] {
					t.Fatalf("%d to %d: %v on foot, %v said", i, j, sum, length[i][j])
				}
			}
		}
	})
}
