// Package cover chooses the least: the cheapest sets that cover all rows, the smallest sets
// that hit all others, and from what cannot all be right the smallest sets of what is wrong.
//
// Least is exact by branch and bound up to a number of nodes; beyond it the answer is the
// best found with a lower bound, and says so. Transversals is exact by Berge's
// multiplication. Diagnoses is Reiter's tree of hitting sets (1987) over conflicts that are
// asked for one at a time and made minimal, so that the correction of Greiner, Smith and
// Wilkerson (1989) is not needed.
//
// It knows nothing of what the rows are.
package cover

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// Set is one column: what it costs and which rows it covers.
type Set struct {
	Cost float64 // at least 0
	Rows []int
}

// Answer is the cheapest cover found.
type Answer struct {
	Chosen  []int   // sets, ascending
	Cost    float64 // of those chosen
	Lower   float64 // no cover of what can be covered costs less
	Proved  bool    // Lower and Cost are one
	Nodes   int     // looked at
	Never   []int   // rows that no set covers; they are left out of all the above
	By      [][]int // of each row: the chosen sets that cover it
	Without []int   // rows no two of which one set covers; one set each is needed for them
}

// DefaultNodes is enough for some hundred rows that are like those of a brake test.
const DefaultNodes = 2_000_000

// Least finds the cheapest sets that cover every one of rows 0..rows-1 that any set covers.
// Equal costs are settled by fewer sets, then by the lower numbers. Nodes is the most that
// are looked at, 0 for DefaultNodes. A row out of range, or a cost that is negative or not
// a number, is an error.
func Least(rows int, sets []Set, nodes int) (Answer, error) {
	if nodes <= 0 {
		nodes = DefaultNodes
	}
	s := &least{rows: rows, sets: sets, limit: nodes, words: (rows + 63) / 64}
	s.of = make([][]int, rows)
	s.bits = make([][]uint64, len(sets))
	whole := true
	for k, x := range sets {
		if x.Cost < 0 || math.IsNaN(x.Cost) || math.IsInf(x.Cost, 0) {
			return Answer{}, fmt.Errorf("set %d costs %g; expected 0 or more", k, x.Cost)
		}
		whole = whole && x.Cost == math.Trunc(x.Cost)
		s.bits[k] = make([]uint64, s.words)
		for _, r := range x.Rows {
			if r < 0 || r >= rows {
				return Answer{}, fmt.Errorf("set %d covers row %d of %d", k, r, rows)
			}
			if s.bits[k][r/64]>>(r%64)&1 == 0 {
				s.bits[k][r/64] |= 1 << (r % 64)
				s.of[r] = append(s.of[r], k)
			}
		}
	}
	s.whole = whole
	open := make([]uint64, s.words)
	var a Answer
	for r := range rows {
		if len(s.of[r]) == 0 {
			a.Never = append(a.Never, r)
		} else {
			open[r/64] |= 1 << (r % 64)
		}
	}
	s.barred = make([]bool, len(sets))
	s.bar()
	s.best = math.Inf(1)
	s.greedy(open)
	root, apart := s.bound(open)
	s.grow(open, 0)
	a.Nodes, a.Chosen, a.Cost, a.Without = s.nodes, slices.Sorted(slices.Values(s.found)), s.best, apart
	a.Proved = s.nodes <= s.limit
	a.Lower = a.Cost
	if !a.Proved {
		a.Lower = min(root, a.Cost)
		a.Proved = a.Lower >= a.Cost
	}
	a.By = make([][]int, rows)
	for _, k := range a.Chosen {
		for _, r := range sets[k].Rows {
			if !slices.Contains(a.By[r], k) {
				a.By[r] = append(a.By[r], k)
			}
		}
	}
	return a, nil
}

type least struct {
	rows, words int
	sets        []Set
	bits        [][]uint64
	of          [][]int
	whole       bool // every cost is a whole number
	barred      []bool
	chosen      []int
	found       []int
	best        float64
	nodes       int
	limit       int
}

// bar leaves out sets that another covers for no more: they need never be chosen.
func (s *least) bar() {
	for k := range s.sets {
		for o := range s.sets {
			if o == k || s.barred[o] || s.sets[o].Cost > s.sets[k].Cost || !within(s.bits[k], s.bits[o]) {
				continue
			}
			if s.sets[o].Cost < s.sets[k].Cost || !within(s.bits[o], s.bits[k]) || o < k {
				s.barred[k] = true
				break
			}
		}
	}
}

func within(a, b []uint64) bool {
	for w := range a {
		if a[w]&^b[w] != 0 {
			return false
		}
	}
	return true
}

func count(a, open []uint64) int {
	n := 0
	for w := range a {
		n += bits.OnesCount64(a[w] & open[w])
	}
	return n
}

func each(open []uint64, do func(r int)) {
	for w, x := range open {
		for ; x != 0; x &= x - 1 {
			do(w*64 + bits.TrailingZeros64(x))
		}
	}
}

func (s *least) without(open []uint64, k int) []uint64 {
	out := slices.Clone(open)
	for w := range out {
		out[w] &^= s.bits[k][w]
	}
	return out
}

// greedy takes the set with the most rows for its cost, again and again.
func (s *least) greedy(open []uint64) {
	var got []int
	cost := 0.0
	for open = slices.Clone(open); !empty(open); {
		at, most := -1, -1.0
		for k := range s.sets {
			if n := count(s.bits[k], open); n > 0 && !s.barred[k] {
				if v := float64(n) / max(s.sets[k].Cost, 1e-12); v > most {
					at, most = k, v
				}
			}
		}
		got, cost = append(got, at), cost+s.sets[at].Cost
		open = s.without(open, at)
	}
	s.found, s.best = got, cost
}

func empty(a []uint64) bool {
	for _, w := range a {
		if w != 0 {
			return false
		}
	}
	return true
}

// bound is what covering the open rows must cost at least: the greater of two bounds, both
// solutions of the dual programme. One gives each of a family of rows that share no set
// the cost of its cheapest one; the other gives each row its share of the set that covers
// it most cheaply.
func (s *least) bound(open []uint64) (float64, []int) {
	type at struct{ r, n int }
	var rows []at
	share := 0.0
	each(open, func(r int) {
		n, least := 0, math.Inf(1)
		for _, k := range s.of[r] {
			if !s.barred[k] {
				n++
				least = min(least, s.sets[k].Cost/float64(count(s.bits[k], open)))
			}
		}
		share += least
		rows = append(rows, at{r, n})
	})
	slices.SortStableFunc(rows, func(a, b at) int { return cmp.Compare(a.n, b.n) })
	apart, used := 0.0, map[int]bool{}
	var family []int
	for _, x := range rows {
		free, least := true, math.Inf(1)
		for _, k := range s.of[x.r] {
			if !s.barred[k] {
				free = free && !used[k]
				least = min(least, s.sets[k].Cost)
			}
		}
		if !free {
			continue
		}
		for _, k := range s.of[x.r] {
			used[k] = true
		}
		apart += least
		family = append(family, x.r)
	}
	if s.whole && !math.IsInf(share, 0) {
		share = math.Ceil(share - 1e-9)
	}
	return max(apart, share), family
}

// grow covers the open rows in every way that can still beat the best: the row with the
// fewest sets left is covered by each of them in turn, the ones tried before barred.
func (s *least) grow(open []uint64, cost float64) {
	s.nodes++
	if s.nodes > s.limit {
		return
	}
	if empty(open) {
		if cost < s.best-1e-9 || cost <= s.best+1e-9 && len(s.chosen) < len(s.found) {
			s.best, s.found = cost, slices.Clone(s.chosen)
		}
		return
	}
	if b, _ := s.bound(open); cost+b >= s.best-1e-9 {
		return
	}
	row, fewest := -1, math.MaxInt
	each(open, func(r int) {
		n := 0
		for _, k := range s.of[r] {
			if !s.barred[k] {
				n++
			}
		}
		if n < fewest {
			row, fewest = r, n
		}
	})
	if fewest == 0 {
		return
	}
	var ways []int
	for _, k := range s.of[row] {
		if !s.barred[k] {
			ways = append(ways, k)
		}
	}
	slices.SortStableFunc(ways, func(a, b int) int {
		return cmp.Compare(float64(count(s.bits[b], open))/max(s.sets[b].Cost, 1e-12), float64(count(s.bits[a], open))/max(s.sets[a].Cost, 1e-12))
	})
	for _, k := range ways {
		s.chosen = append(s.chosen, k)
		s.grow(s.without(open, k), cost+s.sets[k].Cost)
		s.chosen = s.chosen[:len(s.chosen)-1]
		s.barred[k] = true
	}
	for _, k := range ways {
		s.barred[k] = false
	}
}
