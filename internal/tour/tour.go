// Package tour finds the shortest order in which stops can be made when some must come
// before others: from a given first stop, over all of them once, to a given or a free last
// one, with costs that need not be the same there and back.
//
// Shortest is exact by a dynamic programme over sets of stops made and the last of them
// (Held and Karp 1962, with precedence as in Escudero's sequential ordering problem of
// 1988), cut down by a lower bound on what is left: a spanning tree with multipliers (Held
// and Karp 1970). A stop that stands before or after every other one parts the problem in
// two, and each part is solved by itself.
//
// What is done to a machine on the way (stopping it, starting it) is a stop like any other,
// with the stops that need one state before it and those that need the other after it. No
// such change is ever undone here, so the set of stops made tells the state: the layers of
// a programme over states are layers of the sets.
//
// Memory is bounded. A part that needs more cells than Limit allows keeps the most
// promising ones; the order is then good, not proved shortest, and the answer says how much
// shorter one could be at most. A part of more than 64 stops is refused.
//
// The package knows nothing of what the stops are.
package tour

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// Free is the Finish of a problem whose last stop is left open.
const Free = -1

// Problem is a set of stops, numbered from 0.
type Problem struct {
	// Cost[i][j] is what it takes to go from stop i to stop j and do what is done there.
	// +Inf is no way. A negative cost is refused.
	Cost [][]float64
	// Start is the first stop. Finish is the last one, or Free.
	Start, Finish int
	// Before are pairs: the first stop of a pair is made before the second.
	Before [][2]int
	// Here marks stops made wherever one stands: the cost of the row is taken, and the way
	// goes on from the stop before. Nil is none. Start and Finish cannot be such.
	Here []bool
	// Ways says that the costs are lengths of shortest ways and nothing else, so that a stop
	// on the way to another can be made in passing: such a stop is then never passed by, which
	// leaves the shortest cost as it is and far fewer orders to look at.
	Ways bool
	// Limit is the greatest number of sets kept for one length of the order; 0 is
	// DefaultLimit.
	Limit int
}

// hair is by how much two lengths may differ and be the same.
const hair = 1e-9

// DefaultLimit keeps the memory of a part of 30 stops below some 100 MB.
const DefaultLimit = 40_000

// Tour is an order and what is known of it.
type Tour struct {
	Order []int   // every stop once, from Start
	Cost  float64 // of Order
	// Lower is a cost that no order can be below. It equals Cost when Proved.
	Lower  float64
	Proved bool
	// Orders is how many orders have this cost; 0 when not known, which is so unless Proved,
	// and with Ways.
	Orders float64
	Cells  int // sets looked at
}

// The reasons why there is no tour.
var (
	ErrNoOrder = errors.New("no order of the stops keeps to what must come before what")
	ErrNoWay   = errors.New("no way over all the stops")
	ErrTooMany = errors.New("more than 64 stops that nothing parts")
)

// Shortest is the shortest order of the stops.
func Shortest(p Problem) (Tour, error) {
	if err := p.check(); err != nil {
		return Tour{}, err
	}
	after, err := p.closure()
	if err != nil {
		return Tour{}, err
	}
	out := Tour{Order: []int{p.Start}, Proved: true, Orders: 1}
	for _, part := range p.parts(after) {
		t, err := p.solve(part, after)
		if err != nil {
			return Tour{}, err
		}
		out.Order = append(out.Order, t.Order...)
		out.Cost += t.Cost
		out.Lower += t.Lower
		out.Proved = out.Proved && t.Proved
		out.Orders *= t.Orders
		out.Cells += t.Cells
	}
	if !out.Proved || p.Ways {
		out.Orders = 0
	}
	return out, nil
}

func (p Problem) check() error {
	n := len(p.Cost)
	for i, row := range p.Cost {
		if len(row) != n {
			return fmt.Errorf("row %d of the costs has %d entries for %d stops", i, len(row), n)
		}
		for j, c := range row {
			if i != j && (c < 0 || math.IsNaN(c)) {
				return fmt.Errorf("the cost from %d to %d is %v", i, j, c)
			}
		}
	}
	if p.Start < 0 || p.Start >= n || p.Finish < Free || p.Finish >= n || p.Finish == p.Start && n > 1 {
		return fmt.Errorf("no way from %d to %d over %d stops", p.Start, p.Finish, n)
	}
	if p.Here != nil && (len(p.Here) != n || p.Here[p.Start] || p.Finish != Free && p.Here[p.Finish]) {
		return errors.New("the first or the last stop has no place of its own")
	}
	if p.Ways {
		for i := range n {
			for j := range n {
				for k := range n {
					if !p.here(i) && !p.here(j) && !p.here(k) && p.Cost[i][j] > p.Cost[i][k]+p.Cost[k][j]+hair {
						return fmt.Errorf("the way from %d to %d is longer than by %d; close the ways first", i, j, k)
					}
				}
			}
		}
	}
	for _, b := range p.Before {
		if b[0] < 0 || b[0] >= n || b[1] < 0 || b[1] >= n {
			return fmt.Errorf("stop %d before %d: there are %d", b[0], b[1], n)
		}
	}
	return nil
}

func (p Problem) here(i int) bool { return p.Here != nil && p.Here[i] }

// closure says for every pair whether the first must come before the second, whatever
// chain makes it so.
func (p Problem) closure() ([][]bool, error) {
	n := len(p.Cost)
	after := make([][]bool, n)
	for i := range after {
		after[i] = make([]bool, n)
	}
	for _, b := range p.Before {
		after[b[0]][b[1]] = true
	}
	for i := range n {
		if i != p.Start {
			after[p.Start][i] = true
		}
		if p.Finish != Free && i != p.Finish {
			after[i][p.Finish] = true
		}
	}
	for k := range n {
		for i := range n {
			if after[i][k] {
				for j := range n {
					after[i][j] = after[i][j] || after[k][j]
				}
			}
		}
	}
	for i := range n {
		if after[i][i] {
			return nil, ErrNoOrder
		}
	}
	return after, nil
}

// part is a run of stops between two gates: from the stop from, over the stops, the last of
// which is to (Free when open).
type part struct {
	from, to int
	stops    []int
}

// parts cuts the problem at its gates: the stops that stand before or after every other.
func (p Problem) parts(after [][]bool) []part {
	n := len(p.Cost)
	var gates []int
	for g := range n {
		gate := !p.here(g)
		for i := range n {
			gate = gate && (i == g || after[i][g] || after[g][i])
		}
		if gate {
			gates = append(gates, g)
		}
	}
	slices.SortFunc(gates, func(a, b int) int {
		if after[a][b] {
			return -1
		}
		return 1
	})
	var out []part
	for k, g := range gates {
		pt := part{from: g, to: Free}
		for i := range n {
			if after[g][i] && (k+1 == len(gates) || i == gates[k+1] || after[i][gates[k+1]]) {
				pt.stops = append(pt.stops, i)
			}
		}
		if k+1 < len(gates) {
			pt.to = gates[k+1]
		}
		if len(pt.stops) > 0 {
			out = append(out, pt)
		}
	}
	return out
}

// solve finds the order of one part. A narrow search first gives an order to beat, which
// sharpens the bound of the wide one.
func (p Problem) solve(pt part, after [][]bool) (Tour, error) {
	if len(pt.stops) > 64 {
		return Tour{}, ErrTooMany
	}
	s := newSearch(p, pt, after)
	limit := p.Limit
	if limit <= 0 {
		limit = DefaultLimit
	}
	t, ok := s.run(min(limit, 100), math.Inf(1))
	if ok && t.Proved || !ok && t.Proved {
		return t, failed(ok)
	}
	best := math.Inf(1)
	if ok {
		best = t.Cost
		s.sharpen(best)
	}
	wide, found := s.run(limit, best)
	wide.Cells += t.Cells
	switch {
	case found && (!ok || wide.Cost <= t.Cost):
		t = wide
	case found || ok: // the wide search lost the way to the narrow one's order
		lower := max(t.Lower, wide.Lower)
		t.Cells = wide.Cells
		t.Lower, t.Proved = min(lower, t.Cost), false
	default:
		return wide, failed(false)
	}
	return t, nil
}

func failed(ok bool) error {
	if ok {
		return nil
	}
	return ErrNoWay
}

// search is one part, its stops numbered anew: stop k of the search is the part's stop k,
// and number n is where the part begins.
type search struct {
	n      int
	stops  []int
	cost   [][]float64 // n+1 rows, n columns
	needs  []uint64    // what must be done before
	blocks []uint64    // what can only be done after
	here   uint64
	to     int // number of the last stop, or Free
	mult   []float64
	// onWay[i][j] are the stops on the way from i to j, made in passing; nil without Ways
	onWay [][]uint64
}

func newSearch(p Problem, pt part, after [][]bool) *search {
	n := len(pt.stops)
	s := &search{n: n, stops: pt.stops, to: Free, needs: make([]uint64, n), blocks: make([]uint64, n), mult: make([]float64, n)}
	for i := range n {
		for j := range n {
			if after[pt.stops[j]][pt.stops[i]] {
				s.needs[i] |= 1 << j
				s.blocks[j] |= 1 << i
			}
		}
		if pt.stops[i] == pt.to {
			s.to = i
		}
		if p.here(pt.stops[i]) {
			s.here |= 1 << i
		}
	}
	for _, i := range append(slices.Clone(pt.stops), pt.from) {
		row := make([]float64, n)
		for j, k := range pt.stops {
			row[j] = p.Cost[i][k]
		}
		s.cost = append(s.cost, row)
	}
	if p.Ways {
		s.findOnWay()
	}
	return s
}

// findOnWay: of two stops at one spot the earlier number is on the way to the later.
func (s *search) findOnWay() {
	for i, row := range s.cost {
		on := make([]uint64, s.n)
		for j := range on {
			for k := range s.n {
				if k == i || k == j || k == s.to || s.here&(1<<j|1<<k) != 0 || i < s.n && s.here&(1<<i) != 0 || math.IsInf(row[j], 1) {
					continue
				}
				if row[k]+s.cost[k][j] <= row[j]+hair && (s.cost[k][j] > hair || s.cost[j][k] > hair || k < j) {
					on[j] |= 1 << k
				}
			}
		}
		s.onWay = append(s.onWay, on)
	}
}

// passes says whether the way from one stop to another leads past one that could be made
// now.
func (s *search) passes(done uint64, from, to int) bool {
	if s.onWay == nil {
		return false
	}
	for on := s.onWay[from][to] &^ done; on != 0; on &= on - 1 {
		if s.needs[bits.TrailingZeros64(on)]&^done == 0 {
			return true
		}
	}
	return false
}

// set is what has been done, with the best cost for each stop it could have ended at
// (the last index is the beginning).
type set struct {
	done uint64
	rest float64 // lower bound on what is left, but for the way into it
	best []float64
	many []float64
	from []int16 // the stop before; 64+h when h was done where one stood
	f    float64 // the least cost and bound together
}

const none = -1

// run goes through the sets by their size and keeps at most width of each size; what costs
// more than limit with what is left is dropped. Not found and Proved says that there is no
// way.
func (s *search) run(width int, limit float64) (Tour, bool) {
	full := ^uint64(0) >> (64 - s.n)
	eps := 1e-9 * (1 + math.Abs(limit))
	if math.IsInf(limit, 1) {
		eps = 0
	}
	t := Tour{Proved: true, Lower: math.Inf(1)}
	first := s.newSet(0)
	first.best[s.n], first.many[s.n] = 0, 1
	layers := [][]*set{{first}}
	index := []map[uint64]int{{0: 0}}
	for size := 0; size < s.n; size++ {
		var next []*set
		at := map[uint64]int{}
		for _, g := range layers[size] {
			for last := range g.best {
				c := g.best[last]
				if math.IsInf(c, 1) {
					continue
				}
				for free := full &^ g.done; free != 0; free &= free - 1 {
					j := bits.TrailingZeros64(free)
					if s.needs[j]&^g.done != 0 || math.IsInf(s.cost[last][j], 1) || s.passes(g.done, last, j) {
						continue
					}
					done := g.done | 1<<j
					k, ok := at[done]
					if !ok {
						k = len(next)
						at[done] = k
						next = append(next, s.newSet(done))
					}
					h := next[k]
					to, by := j, int16(last)
					if s.here&(1<<j) != 0 {
						to, by = last, int16(64+j)
					}
					total := c + s.cost[last][j]
					if bound := s.bound(h, to, total); bound > limit+eps || math.IsInf(bound, 1) {
						continue
					} else if bound < h.f {
						h.f = bound
					}
					switch tie := 1e-9 * (1 + total); {
					case total < h.best[to]-tie:
						h.best[to], h.many[to], h.from[to] = total, g.many[last], by
					case total <= h.best[to]+tie:
						h.many[to] += g.many[last]
						if by < h.from[to] {
							h.from[to] = by
						}
					}
				}
			}
		}
		next = slices.DeleteFunc(next, func(g *set) bool { return math.IsInf(g.f, 1) })
		t.Cells += len(next)
		if len(next) > width {
			slices.SortStableFunc(next, func(a, b *set) int { return cmp.Compare(a.f, b.f) })
			t.Proved = false
			t.Lower = min(t.Lower, next[width].f)
			clear(next[width:])
			next = next[:width]
		}
		clear(at)
		for k, g := range next {
			at[g.done] = k
		}
		layers = append(layers, next)
		index = append(index, at)
	}
	end := Tour{Cost: math.Inf(1)}
	last := none
	if len(layers[s.n]) > 0 {
		g := layers[s.n][0]
		for k, c := range g.best {
			switch tie := 1e-9 * (1 + c); {
			case math.IsInf(c, 1):
			case c < end.Cost-tie:
				end.Cost, end.Orders, last = c, g.many[k], k
			case c <= end.Cost+tie:
				end.Orders += g.many[k]
			}
		}
	}
	if last == none {
		if math.IsInf(limit, 1) || t.Proved {
			return t, false
		}
		return t, false
	}
	t.Cost, t.Orders = end.Cost, end.Orders
	if t.Lower = min(t.Lower, t.Cost); t.Lower >= t.Cost-1e-9*(1+t.Cost) {
		t.Lower = t.Cost // what was dropped could not have been shorter
		if !t.Proved {
			t.Orders = 0
		}
		t.Proved = true
	}
	// back from the end
	t.Order = make([]int, s.n)
	done := full
	for size := s.n; size > 0; size-- {
		g := layers[size][index[size][done]]
		by := int(g.from[last])
		did, before := last, by
		if by >= 64 {
			did, before = by-64, last
		}
		t.Order[size-1] = s.stops[did]
		done &^= 1 << did
		last = before
	}
	return t, true
}

func (s *search) newSet(done uint64) *set {
	g := &set{done: done, best: make([]float64, s.n+1), many: make([]float64, s.n+1), from: make([]int16, s.n+1), f: math.Inf(1)}
	for i := range g.best {
		g.best[i], g.from[i] = math.Inf(1), math.MaxInt16
	}
	g.rest = s.rest(done)
	return g
}

// rest is a bound on the way over all that is left, without the way into it: a spanning
// tree under costs raised by the multipliers of both ends, less what that raised the stops
// of a path, each of which but the two ends lies on two of its steps.
func (s *search) rest(done uint64) float64 {
	var left []int
	sum := 0.0
	for j := range s.n {
		switch {
		case done&(1<<j) != 0:
		case s.here&(1<<j) != 0:
			least := math.Inf(1)
			for i := range s.cost {
				if i != j {
					least = min(least, s.cost[i][j])
				}
			}
			sum += least
		default:
			left = append(left, j)
			sum -= 2 * s.mult[j]
		}
	}
	if len(left) == 0 {
		return sum
	}
	end := math.Inf(1)
	for _, j := range left {
		if (s.to == Free && s.blocks[j]&^done&^s.here == 0) || j == s.to {
			end = min(end, s.mult[j])
		}
	}
	tree, _ := s.tree(left, nil)
	return sum + end + tree
}

// tree is the weight of the least spanning tree of the stops; degree counts its steps.
func (s *search) tree(left []int, degree []int) (float64, []int) {
	n := len(left)
	near := make([]float64, n)
	by := make([]int, n)
	in := make([]bool, n)
	for k := range near {
		near[k] = math.Inf(1)
	}
	near[0] = 0
	total := 0.0
	for step := range n {
		best := none
		for k := range n {
			if !in[k] && (best == none || near[k] < near[best]) {
				best = k
			}
		}
		in[best] = true
		total += near[best]
		if degree != nil && step > 0 {
			degree[left[best]]++
			degree[left[by[best]]]++
		}
		a := left[best]
		for k, b := range left {
			if in[k] {
				continue
			}
			if c := min(s.cost[a][b], s.cost[b][a]) + s.mult[a] + s.mult[b]; c < near[k] {
				near[k], by[k] = c, best
			}
		}
	}
	return total, degree
}

// bound is the least that an order can cost that has come to set g at stop last for cost c.
func (s *search) bound(g *set, last int, c float64) float64 {
	into := math.Inf(1)
	left := false
	for rest := ^uint64(0) >> (64 - s.n) &^ g.done &^ s.here; rest != 0; rest &= rest - 1 {
		left = true
		j := bits.TrailingZeros64(rest)
		if s.needs[j]&^g.done&^s.here == 0 {
			into = min(into, s.cost[last][j]+s.mult[j])
		}
	}
	if !left {
		into = 0
	}
	return c + into + g.rest
}

// sharpen raises the bound by moving the multipliers: up at stops where the tree ends, down
// where it branches. Any multipliers give a true bound; best is the cost to come near.
func (s *search) sharpen(best float64) {
	keep, at := slices.Clone(s.mult), math.Inf(-1)
	var left []int
	for j := range s.n {
		if s.here&(1<<j) == 0 {
			left = append(left, j)
		}
	}
	if len(left) < 3 {
		return
	}
	scale := 1.0
	for range 120 {
		g := &set{rest: s.rest(0)}
		low := s.bound(g, s.n, 0)
		if low > at {
			at = low
			copy(keep, s.mult)
		} else {
			scale *= 0.95
		}
		degree := make([]int, s.n)
		s.tree(left, degree)
		entry, exit := left[0], none
		for _, j := range left {
			if s.needs[j]&^s.here == 0 && (s.needs[entry]&^s.here != 0 || s.cost[s.n][j]+s.mult[j] < s.cost[s.n][entry]+s.mult[entry]) {
				entry = j
			}
			if (s.to == Free && s.blocks[j]&^s.here == 0 || j == s.to) && (exit == none || s.mult[j] < s.mult[exit]) {
				exit = j
			}
		}
		degree[entry]++
		if exit != none {
			degree[exit]++
		}
		norm := 0
		for _, j := range left {
			norm += (degree[j] - 2) * (degree[j] - 2)
		}
		if norm == 0 || best-low < 1e-9 {
			break
		}
		step := scale * (best - low) / float64(norm)
		for _, j := range left {
			s.mult[j] += step * float64(degree[j]-2)
		}
	}
	s.mult = keep
}

// Cost is what an order of every stop costs, or an error that says what it breaks.
func Cost(p Problem, order []int) (float64, error) {
	if err := p.check(); err != nil {
		return 0, err
	}
	n := len(p.Cost)
	if len(order) != n || order[0] != p.Start || p.Finish != Free && order[n-1] != p.Finish {
		return 0, fmt.Errorf("the order does not go from %d to %d over all %d stops", p.Start, p.Finish, n)
	}
	at := make([]int, n)
	for i := range at {
		at[i] = none
	}
	for k, i := range order {
		if i < 0 || i >= n || at[i] != none {
			return 0, fmt.Errorf("stop %d stands in the order twice, or is none", i)
		}
		at[i] = k
	}
	for _, b := range p.Before {
		if at[b[0]] > at[b[1]] {
			return 0, fmt.Errorf("stop %d must come before %d", b[0], b[1])
		}
	}
	total, stand := 0.0, p.Start
	for _, i := range order[1:] {
		total += p.Cost[stand][i]
		if !p.here(i) {
			stand = i
		}
	}
	return total, nil
}

// Close makes of the lengths of single ways (+Inf where there is none) the lengths of the
// shortest ways (Floyd 1962, Warshall 1962), and for each pair the next point on it, or -1.
func Close(way [][]float64) (length [][]float64, next [][]int) {
	n := len(way)
	for i := range n {
		length = append(length, slices.Clone(way[i]))
		next = append(next, make([]int, n))
		length[i][i] = 0
		for j := range n {
			next[i][j] = j
			if math.IsInf(length[i][j], 1) {
				next[i][j] = none
			}
		}
	}
	for k := range n {
		for i := range n {
			for j := range n {
				if c := length[i][k] + length[k][j]; c < length[i][j] {
					length[i][j], next[i][j] = c, next[i][k]
				}
			}
		}
	}
	return length, next
}
