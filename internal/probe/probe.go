// Package probe orders what is asked next: by how much a look narrows down what can be the
// matter for what it costs, exactly where there is little, by one step ahead where there is
// much.
//
// A case is one thing that can be the matter; a look gives each case an outcome. Cases that
// no look tells apart stay together and are no fault of an order.
//
// It knows nothing of what the cases are.
package probe

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// Look is something that can be looked at: what it costs and what each case shows there.
type Look struct {
	Cost    float64 // more than 0
	Outcome []int   // by case
}

// Entropy is how undecided weights leave a question, bit. They need not add up to one.
func Entropy(weights []float64) float64 {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	h := 0.0
	for _, w := range weights {
		if w > 0 {
			h -= w / sum * math.Log2(w/sum)
		}
	}
	return h
}

// After is the entropy to be expected after a look, bit.
func After(weights []float64, l Look) float64 {
	sum := 0.0
	parts := map[int][]float64{}
	var keys []int
	for k, w := range weights {
		sum += w
		if _, ok := parts[l.Outcome[k]]; !ok {
			keys = append(keys, l.Outcome[k])
		}
		parts[l.Outcome[k]] = append(parts[l.Outcome[k]], w)
	}
	h := 0.0
	for _, o := range keys {
		part := 0.0
		for _, w := range parts[o] {
			part += w
		}
		if part > 0 {
			h += part / sum * Entropy(parts[o])
		}
	}
	return h
}

// Next is the look with the greatest fall of entropy for its cost, the first of equals; -1
// where no look tells anything apart.
func Next(weights []float64, looks []Look) int {
	at, most := -1, 1e-12
	now := Entropy(weights)
	for k, l := range looks {
		if v := (now - After(weights, l)) / l.Cost; v > most*(1+1e-12) {
			at, most = k, v
		}
	}
	return at
}

// Plan is the order of looks for a set of cases: none where they cannot be told apart any
// further.
type Plan struct {
	Look  int // -1: no more
	Cases []int
	Cost  float64 // expected, of this look and all that come after
	Then  []Plan  // by outcome, ascending
	Of    []int   // the outcomes
}

// Most is how many cases Exact takes.
const Most = 20

// Exact is the plan of least expected cost until no look tells the cases left apart, by a
// memoised programme over sets of cases.
func Exact(weights []float64, looks []Look) (Plan, error) {
	n := len(weights)
	if n == 0 || n > Most {
		return Plan{}, fmt.Errorf("expected 1 to %d cases, found %d", Most, n)
	}
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	type split struct {
		outcome int
		cases   uint32
	}
	type best struct {
		look int
		cost float64 // weighted by the cases' share of the whole
	}
	splits := func(set uint32, l Look) []split {
		var out []split
		for x := set; x != 0; x &= x - 1 {
			c := bits.TrailingZeros32(x)
			k := slices.IndexFunc(out, func(s split) bool { return s.outcome == l.Outcome[c] })
			if k < 0 {
				k = len(out)
				out = append(out, split{outcome: l.Outcome[c]})
			}
			out[k].cases |= 1 << c
		}
		slices.SortFunc(out, func(a, b split) int { return cmp.Compare(a.outcome, b.outcome) })
		return out
	}
	weigh := func(set uint32) float64 {
		w := 0.0
		for x := set; x != 0; x &= x - 1 {
			w += weights[bits.TrailingZeros32(x)]
		}
		return w / sum
	}
	known := map[uint32]best{}
	var solve func(uint32) best
	solve = func(set uint32) best {
		if set&(set-1) == 0 {
			return best{-1, 0}
		}
		if b, ok := known[set]; ok {
			return b
		}
		out := best{-1, 0}
		for k, l := range looks {
			parts := splits(set, l)
			if len(parts) < 2 {
				continue
			}
			cost := l.Cost * weigh(set)
			for _, p := range parts {
				cost += solve(p.cases).cost
			}
			if out.look < 0 || cost < out.cost-1e-12 {
				out = best{k, cost}
			}
		}
		known[set] = out
		return out
	}
	var plan func(uint32) Plan
	plan = func(set uint32) Plan {
		b := solve(set)
		p := Plan{Look: b.look}
		if w := weigh(set); w > 0 {
			p.Cost = b.cost / w
		}
		for x := set; x != 0; x &= x - 1 {
			p.Cases = append(p.Cases, bits.TrailingZeros32(x))
		}
		if b.look >= 0 {
			for _, s := range splits(set, looks[b.look]) {
				p.Of = append(p.Of, s.outcome)
				p.Then = append(p.Then, plan(s.cases))
			}
		}
		return p
	}
	return plan(1<<n - 1), nil
}

// Huffman is the cost that no plan of looks of unit cost with two outcomes can fall below:
// the expected length of the best code for the cases.
func Huffman(weights []float64) float64 {
	w := slices.Clone(weights)
	total := 0.0
	for len(w) > 1 {
		slices.Sort(w)
		s := w[0] + w[1]
		total += s
		w = append(w[2:], s)
	}
	return total
}

// Order puts things of which one is the matter, each with its chance and what trying it
// costs, so that the expected cost until it is found is least: by chance over cost, the
// greater first. It returns the order and its expected cost.
func Order(chance, cost []float64) ([]int, float64) {
	order := make([]int, len(chance))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(chance[b]*cost[a], chance[a]*cost[b]) })
	expect, spent := 0.0, 0.0
	for _, k := range order {
		spent += cost[k]
		expect += chance[k] * spent
	}
	return order, expect
}
