package circuit

import (
	"fmt"
	"math/bits"
	"testing"

	"headstock/internal/outside"
)

// logic wires gates of relays: a signal is a relay, its sense the state of its contacts.
type logic struct{ *bench }

// any_ makes a relay that is worked when one of the terms' rows holds in full.
func (l logic) any_(name string, rows ...[]Term) Thing {
	k, feed := l.relay(name)
	for _, r := range rows {
		l.series(feed, r...)
	}
	return k
}

// smallest keeps the masks of which no proper part is among them.
func smallest(masks []int) []int {
	var out []int
	for _, m := range masks {
		least := true
		for _, n := range masks {
			if n != m && n&m == n {
				least = false
			}
		}
		if least {
			out = append(out, m)
		}
	}
	return out
}

// Reiter's full adder (R. Reiter, A theory of diagnosis from first principles, 1987; shared
// check case 8.3): a 1, b 0, c 1, and sum 1, carry 0 are seen. Each gate is built of relay contacts
// and has a switch that takes its output from another switch instead, which may stand
// either way: that is all that is known of a broken gate. A set of gates is a diagnosis when
// some stand of those switches gives what is seen.
func TestReitersAdder(t *testing.T) {
	l := logic{newBench()}
	a, b, c := l.Switch("a", 2), l.Switch("b", 2), l.Switch("c", 2)
	names := []string{"X1", "X2", "A1", "A2", "O1"}
	var broken, says [5]Thing
	gate := func(i int, rows ...[]Term) Thing {
		broken[i], says[i] = l.Switch(names[i]+" broken", 2), l.Switch(names[i]+" says", 2)
		for k := range rows {
			rows[k] = append([]Term{break_(broken[i])}, rows[k]...)
		}
		return l.any_(names[i], append(rows, []Term{make_(broken[i]), make_(says[i])})...)
	}
	xor := func(i int, p, q Thing) Thing {
		return gate(i, []Term{make_(p), break_(q)}, []Term{break_(p), make_(q)})
	}
	x1 := xor(0, a, b)
	x2 := xor(1, x1, c)
	a1 := gate(2, []Term{make_(a), make_(b)})
	a2 := gate(3, []Term{make_(c), make_(x1)})
	o1 := gate(4, []Term{make_(a1)}, []Term{make_(a2)})

	explains := func(set int) bool {
		for stand := range 32 {
			if stand&^set != 0 {
				continue
			}
			s := l.State()
			s.Put(a, 1)
			s.Put(b, 0)
			s.Put(c, 1)
			for i := range names {
				s.Put(broken[i], set>>i&1)
				s.Put(says[i], stand>>i&1)
			}
			s.Rest()
			if s.Stands(x2, Worked) == Yes && s.Stands(o1, Worked) == No {
				return true
			}
		}
		return false
	}
	var diagnoses, conflicts []int
	for set := range 32 {
		if explains(set) {
			diagnoses = append(diagnoses, set)
		}
		// a conflict: they cannot all be whole, whatever the others do
		if !explains(31 &^ set) {
			conflicts = append(conflicts, set)
		}
	}
	diagnoses, conflicts = smallest(diagnoses), smallest(conflicts)
	book := outside.Open(t)
	const by, why = "reiter-1987", "whole numbers"
	has := func(kind string, found []int, want ...string) {
		mask := 0
		for i, n := range names {
			for _, w := range want {
				if n == w {
					mask |= 1 << i
				}
			}
		}
		there := false
		for _, f := range found {
			there = there || f == mask
		}
		book.Hold(outside.Says("8.3", by, fmt.Sprintf("%v is a smallest %s of the full adder", want, kind), there))
	}
	book.Hold(outside.At("8.3", by, "smallest diagnoses of the full adder", 3, float64(len(diagnoses)), "", 0, why),
		outside.At("8.3", by, "smallest conflicts of the full adder", 2, float64(len(conflicts)), "", 0, why))
	has("diagnosis", diagnoses, "X1")
	has("diagnosis", diagnoses, "X2", "A2")
	has("diagnosis", diagnoses, "X2", "O1")
	has("conflict", conflicts, "X1", "X2")
	has("conflict", conflicts, "X1", "A2", "O1")
}

// The relay scheme of three motors (a public fault-tree example; expected sets as in shared
// check case 8.6, the tree as printed there): contacts that fail closed, as a network of
// series and parallel contacts. A set of failed contacts is a cut when the top is fed.
func TestThreeMotorScheme(t *testing.T) {
	l := logic{newBench()}
	names := []string{"K5", "T2", "K1", "S1", "T1", "KT1", "T2inc", "KT2", "T3inc", "KT3", "T4inc"}
	at := map[string]Term{}
	var sw []Thing
	for _, n := range names {
		s := l.Switch(n, 2)
		sw = append(sw, s)
		at[n] = make_(s)
	}
	one := func(name string, terms ...string) Thing {
		var rows [][]Term
		for _, x := range terms {
			rows = append(rows, []Term{at[x]})
		}
		return l.any_(name, rows...)
	}
	e6 := one("E6", "T2", "K5")
	first, second, third := one("first", "KT1", "T2inc"), one("second", "KT2", "T3inc"), one("third", "KT3", "T4inc")
	e1 := l.any_("timer side", []Term{at["K1"]}, []Term{at["S1"]}, []Term{at["T1"]}, []Term{make_(first), make_(second), make_(third)})
	e4 := l.any_("E4", []Term{make_(e1), make_(e6)})
	top := l.any_("top", []Term{at["K5"]}, []Term{make_(e4)})
	var cuts []int
	for set := range 1 << len(names) {
		s := l.State()
		for i := range sw {
			s.Put(sw[i], set>>i&1)
		}
		s.Rest()
		if s.Stands(top, Worked) == Yes {
			cuts = append(cuts, set)
		}
	}
	var order [12]int
	least := smallest(cuts)
	for _, c := range least {
		order[bits.OnesCount(uint(c))]++
	}
	book := outside.Open(t)
	const by, why = "three-motor-tree", "whole numbers"
	book.Hold(outside.At("8.6", by, "minimal cut sets of the relay scheme", 12, float64(len(least)), "", 0, why))
	for n, want := range []int{1: 1, 2: 3, 3: 0, 4: 8} {
		if n > 0 {
			book.Hold(outside.At("8.6", by, fmt.Sprintf("cut sets of %d contacts", n), float64(want), float64(order[n]), "", 0, why))
		}
	}
}
