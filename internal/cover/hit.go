package cover

import (
	"cmp"
	"math/bits"
	"slices"
)

// Bits is a set of things numbered from 0 to 63.
type Bits uint64

// Of is the set of some things.
func Of(things ...int) Bits {
	var b Bits
	for _, t := range things {
		b |= 1 << t
	}
	return b
}

// Has reports whether a thing is in the set.
func (b Bits) Has(thing int) bool { return b>>thing&1 != 0 }

// Len is how many are in the set.
func (b Bits) Len() int { return bits.OnesCount64(uint64(b)) }

// Things are the things in the set, ascending.
func (b Bits) Things() []int {
	var out []int
	for ; b != 0; b &= b - 1 {
		out = append(out, bits.TrailingZeros64(uint64(b)))
	}
	return out
}

// Minimal keeps the sets of which no proper part is among them, each once, the smaller
// first.
func Minimal(sets []Bits) []Bits {
	in := slices.Clone(sets)
	slices.SortFunc(in, order)
	in = slices.Compact(in)
	var out []Bits
	for _, s := range in {
		if !slices.ContainsFunc(out, func(o Bits) bool { return o&^s == 0 }) {
			out = append(out, s)
		}
	}
	return out
}

func order(a, b Bits) int {
	if c := cmp.Compare(a.Len(), b.Len()); c != 0 {
		return c
	}
	return cmp.Compare(a, b)
}

// Transversals are all minimal sets that hit every one of some sets. An empty set among
// them cannot be hit, and nothing is returned.
func Transversals(sets []Bits) []Bits {
	out := []Bits{0}
	for _, s := range sets {
		var next []Bits
		for _, t := range out {
			if t&s != 0 {
				next = append(next, t)
				continue
			}
			for _, x := range s.Things() {
				next = append(next, t|Of(x))
			}
		}
		out = Minimal(next)
	}
	return out
}

// Conflict asks whether the things that are not in broken can all be right. It returns true
// if so; else some of them that cannot all be.
type Conflict func(broken Bits) (right bool, conflict Bits)

// Smaller is a minimal part of a conflict: things are left out one by one, in their order,
// as long as the rest still cannot all be right. Right asks it of the things kept.
func Smaller(conflict Bits, right func(kept Bits) bool) Bits {
	for _, x := range conflict.Things() {
		if !right(conflict &^ Of(x)) {
			conflict &^= Of(x)
		}
	}
	return conflict
}

// Diagnoses are the minimal sets of at most `most` things of which each, broken, leaves the
// others right, and the conflicts met on the way, which must be minimal. The sets come by
// size.
func Diagnoses(ask Conflict, most int) (diagnoses, conflicts []Bits) {
	level := []Bits{0}
	for size := 0; len(level) > 0; size++ {
		var next []Bits
		for _, path := range level {
			if slices.ContainsFunc(diagnoses, func(d Bits) bool { return d&^path == 0 }) {
				continue
			}
			k := slices.IndexFunc(conflicts, func(c Bits) bool { return c&path == 0 })
			if k < 0 {
				right, c := ask(path)
				if right {
					diagnoses = append(diagnoses, path)
					continue
				}
				k = len(conflicts)
				conflicts = append(conflicts, c)
			}
			if size < most {
				for _, x := range conflicts[k].Things() {
					next = append(next, path|Of(x))
				}
			}
		}
		slices.SortFunc(next, order)
		level = slices.Compact(next)
	}
	return diagnoses, conflicts
}
