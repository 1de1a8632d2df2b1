// Package cutset finds what is enough for something to happen: the minimal cut sets of a
// tree of ands and ors, the prime implicants of a function in which one thing can undo
// another, and how likely it is where each thing has a chance of its own.
//
// Functions are kept as binary decision diagrams (Bryant 1986). Minimal sets are taken off
// them by Rauzy's recursion (1993), prime implicants by that of Coudert and Madre (1992).
// Both are exact. A function is of a diagram and no other, and a diagram only grows.
//
// It knows nothing of what the variables are.
package cutset

import (
	"cmp"
	"slices"
)

// Func is a function of a diagram.
type Func int32

// The two functions that hang on nothing.
const (
	Never  Func = 0
	Always Func = 1
)

type node struct {
	v         int32
	low, high Func
}

type triple struct{ f, g, h Func }

// Diagram holds functions of variables, which are ordered as their numbers.
type Diagram struct {
	nodes []node
	at    map[node]Func
	done  map[triple]Func
}

// New is an empty diagram.
func New() *Diagram {
	const last = 1<<31 - 1
	return &Diagram{nodes: []node{{v: last}, {v: last}}, at: map[node]Func{}, done: map[triple]Func{}}
}

func (d *Diagram) make(v int32, low, high Func) Func {
	if low == high {
		return low
	}
	n := node{v, low, high}
	if f, ok := d.at[n]; ok {
		return f
	}
	d.nodes = append(d.nodes, n)
	f := Func(len(d.nodes) - 1)
	d.at[n] = f
	return f
}

// Var is the function that is variable v, from 0.
func (d *Diagram) Var(v int) Func { return d.make(int32(v), Never, Always) }

// If is g where f holds, else h.
func (d *Diagram) If(f, g, h Func) Func {
	switch {
	case f == Always:
		return g
	case f == Never:
		return h
	case g == h:
		return g
	case g == Always && h == Never:
		return f
	}
	k := triple{f, g, h}
	if r, ok := d.done[k]; ok {
		return r
	}
	v := min(d.nodes[f].v, d.nodes[g].v, d.nodes[h].v)
	part := func(x Func, high bool) Func {
		if n := d.nodes[x]; n.v == v {
			if high {
				return n.high
			}
			return n.low
		}
		return x
	}
	r := d.make(v, d.If(part(f, false), part(g, false), part(h, false)), d.If(part(f, true), part(g, true), part(h, true)))
	d.done[k] = r
	return r
}

// And holds where all do.
func (d *Diagram) And(fs ...Func) Func {
	r := Always
	for _, f := range fs {
		r = d.If(r, f, Never)
	}
	return r
}

// Or holds where any does.
func (d *Diagram) Or(fs ...Func) Func {
	r := Never
	for _, f := range fs {
		r = d.If(r, Always, f)
	}
	return r
}

// Not holds where f does not.
func (d *Diagram) Not(f Func) Func { return d.If(f, Never, Always) }

// Chance is how likely a function is to hold where variable v holds with chance p[v], each
// for itself.
func (d *Diagram) Chance(f Func, p []float64) float64 {
	known := map[Func]float64{Never: 0, Always: 1}
	var of func(Func) float64
	of = func(f Func) float64 {
		if x, ok := known[f]; ok {
			return x
		}
		n := d.nodes[f]
		x := p[n.v]*of(n.high) + (1-p[n.v])*of(n.low)
		known[f] = x
		return x
	}
	return of(f)
}

// Working counts the assignments of n variables for which a function holds; n must be more
// than the number of any variable in it.
func (d *Diagram) Working(f Func, n int) float64 {
	p := slices.Repeat([]float64{0.5}, n)
	x := d.Chance(f, p)
	for range n {
		x *= 2
	}
	return x
}

// Literal is a variable that holds, or does not.
type Literal struct {
	Var int
	Not bool
}

// MinimalSets are the minimal sets of variables that make a monotone function hold, the
// smaller first. Of a function that is not monotone they mean nothing: take Primes.
func (d *Diagram) MinimalSets(f Func) [][]int {
	less := map[Func]Func{}
	gone := map[[2]Func]Func{}
	// without takes out of the sets of f those of which a set of g is a part
	var without func(f, g Func) Func
	without = func(f, g Func) Func {
		switch {
		case g == Always || f == Never:
			return Never
		case g == Never:
			return f
		case f == Always:
			// the empty set stays unless g has it, which it has along its low ways
			for g != Never && g != Always {
				g = d.nodes[g].low
			}
			if g == Always {
				return Never
			}
			return Always
		}
		k := [2]Func{f, g}
		if r, ok := gone[k]; ok {
			return r
		}
		a, b := d.nodes[f], d.nodes[g]
		var r Func
		switch {
		case a.v < b.v:
			r = d.family(a.v, without(a.low, g), without(a.high, g))
		case a.v > b.v:
			r = without(f, b.low)
		default:
			r = d.family(a.v, without(a.low, b.low), without(without(a.high, b.high), b.low))
		}
		gone[k] = r
		return r
	}
	var minimal func(Func) Func
	minimal = func(f Func) Func {
		if f == Never || f == Always {
			return f
		}
		if r, ok := less[f]; ok {
			return r
		}
		n := d.nodes[f]
		low := minimal(n.low)
		r := d.family(n.v, low, without(minimal(n.high), low))
		less[f] = r
		return r
	}
	var out [][]int
	var walk func(f Func, path []int)
	walk = func(f Func, path []int) {
		switch f {
		case Never:
		case Always:
			out = append(out, slices.Clone(path))
		default:
			n := d.nodes[f]
			walk(n.low, path)
			walk(n.high, append(path, int(n.v)))
		}
	}
	walk(minimal(f), nil)
	slices.SortFunc(out, func(a, b []int) int {
		if c := cmp.Compare(len(a), len(b)); c != 0 {
			return c
		}
		return slices.Compare(a, b)
	})
	return out
}

// family makes a node of a family of sets: one without any set that has v is the rest.
func (d *Diagram) family(v int32, low, high Func) Func {
	if high == Never {
		return low
	}
	n := node{v, low, high}
	if f, ok := d.at[n]; ok {
		return f
	}
	d.nodes = append(d.nodes, n)
	f := Func(len(d.nodes) - 1)
	d.at[n] = f
	return f
}

// Primes are the prime implicants of a function, the shorter first: the sets of literals
// that make it hold whatever else, and of which none can be left out.
func (d *Diagram) Primes(f Func) [][]Literal {
	known := map[Func][][]Literal{}
	var of func(Func) [][]Literal
	of = func(f Func) [][]Literal {
		switch f {
		case Never:
			return nil
		case Always:
			return [][]Literal{nil}
		}
		if r, ok := known[f]; ok {
			return r
		}
		n := d.nodes[f]
		both := of(d.And(n.low, n.high)) // whatever the variable is
		out := slices.Clone(both)
		for _, side := range []struct {
			f   Func
			not bool
		}{{n.low, true}, {n.high, false}} {
			for _, p := range of(side.f) {
				if !slices.ContainsFunc(both, func(q []Literal) bool { return slices.Equal(p, q) }) {
					out = append(out, append([]Literal{{int(n.v), side.not}}, p...))
				}
			}
		}
		known[f] = out
		return out
	}
	out := slices.Clone(of(f))
	slices.SortFunc(out, func(a, b []Literal) int {
		if c := cmp.Compare(len(a), len(b)); c != 0 {
			return c
		}
		return slices.CompareFunc(a, b, func(x, y Literal) int {
			if x.Var != y.Var {
				return cmp.Compare(x.Var, y.Var)
			}
			if x.Not == y.Not {
				return 0
			}
			if x.Not {
				return 1
			}
			return -1
		})
	})
	return out
}
