package circuit

import "testing"

// A bridge of five contacts: A and B from the positive to the left and right corner, C
// and D from them to the coil, E across. The coil is worked when a path exists, and the
// paths of a bridge are AC, BD, AED and BEC: current runs through E from left to right
// in one of them and from right to left in another. So the coil is worked exactly when
// A·C + B·D + A·E·D + B·E·C, for all 32 combinations; 16 of them work.
func TestBridgeConductsBothWays(t *testing.T) {
	var d Diagram
	plus, minus, left, right, coil := d.Net("plus"), d.Net("minus"), d.Net("left"), d.Net("right"), d.Net("coil")
	d.Supply(plus, minus)
	var sw [5]Thing
	for i, ends := range [5][2]Net{{plus, left}, {plus, right}, {left, coil}, {right, coil}, {left, right}} {
		sw[i] = d.Switch(string(rune('A'+i)), 2)
		d.Contact("", ends[0], ends[1], When{{Term{sw[i], []int{1}}}})
	}
	k := d.Coil("K", coil, minus, Delay{})
	works := 0
	for n := range 32 {
		s := d.State()
		var on [5]bool
		for i := range sw {
			on[i] = n>>i&1 == 1
			s.Put(sw[i], n>>i&1)
		}
		s.Rest()
		a, b, c, dd, e := on[0], on[1], on[2], on[3], on[4]
		want := No
		if a && c || b && dd || a && e && dd || b && e && c {
			want = Yes
			works++
		}
		if got := s.Stands(k, Worked); got != want {
			t.Errorf("closed %v: worked %v, want %v", on, got, want)
		}
	}
	if works != 16 {
		t.Errorf("%d combinations work, want 16", works)
	}
	// E not known: known where E does not matter, else not
	for n := range 16 {
		s := d.State()
		for i := range 4 {
			s.Put(sw[i], n>>i&1)
		}
		s.Rest()
		a, b, c, dd := n&1 != 0, n&2 != 0, n&4 != 0, n&8 != 0
		without, with := a && c || b && dd, (a || b) && (c || dd)
		want := Unknown
		if without == with {
			want = No
			if with {
				want = Yes
			}
		}
		if got := s.Stands(k, Worked); got != want {
			t.Errorf("A–D %04b, E unknown: %v, want %v", n, got, want)
		}
	}
}

// The coil of a relay in the middle of a bridge is worked from either side: plus on its
// left with minus on its right, or the other way about, and not with both sides on one.
func TestCoilInTheMiddleOfABridge(t *testing.T) {
	var d Diagram
	plus, minus, left, right := d.Net("plus"), d.Net("minus"), d.Net("left"), d.Net("right")
	d.Supply(plus, minus)
	var sw [4]Thing
	for i, ends := range [4][2]Net{{plus, left}, {plus, right}, {left, minus}, {right, minus}} {
		sw[i] = d.Switch("", 2)
		d.Contact("", ends[0], ends[1], When{{Term{sw[i], []int{1}}}})
	}
	k := d.Coil("K", left, right, Delay{})
	for n := range 16 {
		s := d.State()
		for i := range sw {
			s.Put(sw[i], n>>i&1)
		}
		s.Rest()
		pl, pr, ml, mr := n&1 != 0, n&2 != 0, n&4 != 0, n&8 != 0
		want, short := No, No
		if pl && mr || pr && ml {
			want = Yes
		}
		if pl && ml || pr && mr {
			short = Yes
		}
		if got := s.Stands(k, Worked); got != want {
			t.Errorf("%04b: worked %v, want %v", n, got, want)
		}
		if got := s.Short(); got != short {
			t.Errorf("%04b: short %v, want %v", n, got, short)
		}
	}
}

// A diode carries the positive one way: of two lamps on two wires with a diode between
// them, the first wire lights both, the second only its own.
func TestDiode(t *testing.T) {
	var d Diagram
	plus, minus, one, two := d.Net("plus"), d.Net("minus"), d.Net("one"), d.Net("two")
	d.Supply(plus, minus)
	d.Diode(one, two)
	a, b := d.Switch("", 2), d.Switch("", 2)
	d.Contact("", plus, one, When{{Term{a, []int{1}}}})
	d.Contact("", plus, two, When{{Term{b, []int{1}}}})
	first, second := d.Coil("", one, minus, Delay{}), d.Coil("", two, minus, Delay{})
	for n, want := range [4][2]Truth{{No, No}, {Yes, Yes}, {No, Yes}, {Yes, Yes}} {
		s := d.State()
		s.Put(a, n&1)
		s.Put(b, n>>1)
		s.Rest()
		if got := [2]Truth{s.Stands(first, Worked), s.Stands(second, Worked)}; got != want {
			t.Errorf("%02b: lamps %v, want %v", n, got, want)
		}
	}
}
