package cutset

import (
	"math/bits"
	"testing"

	"pgregory.net/rapid"
)

// Primes of any function of four variables are those found by trying every set of literals
// (Quine 1955); of a monotone one they are its minimal sets.
func TestPrimesByTrying(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := rapid.Uint16().Draw(t, "truth")
		d := New()
		f := Never
		for x := range 16 {
			if truth>>x&1 == 0 {
				continue
			}
			one := Always
			for v := range 4 {
				if x>>v&1 != 0 {
					one = d.And(one, d.Var(v))
				} else {
					one = d.And(one, d.Not(d.Var(v)))
				}
			}
			f = d.Or(f, one)
		}
		implies := func(mask, value int) bool {
			for x := range 16 {
				if x&mask == value && truth>>x&1 == 0 {
					return false
				}
			}
			return true
		}
		want := map[[2]int]bool{}
		for mask := range 16 {
			for value := range 16 {
				if value&^mask != 0 || !implies(mask, value) {
					continue
				}
				prime := true
				for v := range 4 {
					if mask>>v&1 != 0 && implies(mask&^(1<<v), value&^(1<<v)) {
						prime = false
					}
				}
				if prime {
					want[[2]int{mask, value}] = true
				}
			}
		}
		got := d.Primes(f)
		if len(got) != len(want) {
			t.Fatalf("truth %016b: %v, by trying %v", truth, got, want)
		}
		for _, p := range got {
			var mask, value int
			for _, l := range p {
				mask |= 1 << l.Var
				if !l.Not {
					value |= 1 << l.Var
				}
			}
			if !want[[2]int{mask, value}] {
				t.Fatalf("truth %016b: %v is no prime", truth, p)
			}
		}
		if n := d.Working(f, 4); n != float64(bits.OnesCount16(truth)) {
			t.Fatalf("truth %016b: %g states", truth, n)
		}
	})
}

// Two wrong settings that mend each other: x or y alone, not both. There are no minimal sets
// to speak of; the primes say that the other must be right.
func TestPrimesOfMasking(t *testing.T) {
	d := New()
	x, y := d.Var(0), d.Var(1)
	p := d.Primes(d.Or(d.And(x, d.Not(y)), d.And(d.Not(x), y)))
	if len(p) != 2 || len(p[0]) != 2 || p[0][0].Not == p[0][1].Not || p[1][0].Not == p[1][1].Not {
		t.Errorf("%v", p)
	}
}
