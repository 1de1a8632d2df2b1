package circuit

import (
	"fmt"
	"testing"

	"headstock/internal/outside"
)

// bench wires relays by plain logic: each relay's coil hangs between a feed of contacts
// in series and parallel and the negative.
type bench struct {
	Diagram
	plus, minus Net
	n           int
}

func newBench() *bench {
	b := &bench{}
	b.plus, b.minus = b.Net("plus"), b.Net("minus")
	b.Supply(b.plus, b.minus)
	return b
}

func (b *bench) relay(name string) (Thing, Net) {
	n := b.Net(name + " feed")
	return b.Coil(name, n, b.minus, Delay{}), n
}

// series joins plus to a net through contacts one after the other.
func (b *bench) series(to Net, terms ...Term) {
	at := b.plus
	for i, t := range terms {
		next := to
		if i+1 < len(terms) {
			b.n++
			next = b.Net(fmt.Sprint("between ", b.n))
		}
		b.Contact("", at, next, When{{t}})
		at = next
	}
}

func make_(t Thing) Term  { return Term{t, []int{Worked}} }
func break_(t Thing) Term { return Term{t, []int{Dropped}} }

// stable counts the combinations of relay positions that stay, by trying all of them.
func stable(d *Diagram, s *State, relays []Thing) int {
	count := 0
	for n := range 1 << len(relays) {
		for k, r := range relays {
			s.at[r] = int8(n >> k & 1)
		}
		s.connect()
		stays := true
		for _, r := range relays {
			stays = stays && s.next(int(r), true) == s.at[r]
		}
		if stays {
			count++
		}
	}
	return count
}

// Rivest's cyclic circuit: R. L. Rivest, The necessity of feedback in minimal monotone
// combinational circuits, IEEE Transactions on Computers C-26 (1977); its equations and
// results as in the shared check case 8.18 (from memory there, recomputed). The values
// are logic and have no tolerance.
func TestRivestsCyclicCircuitIsDefiniteForEveryInput(t *testing.T) {
	book := outside.Open(t)
	b := newBench()
	var x [3]Thing
	for i := range x {
		x[i] = b.Switch(fmt.Sprint("x", i+1), 2)
	}
	var g [6]Thing
	var feed [6]Net
	for i := range g {
		g[i], feed[i] = b.relay(fmt.Sprint("g", i+1))
	}
	and := func(i int, p, q Thing) { b.series(feed[i], make_(p), make_(q)) }
	or := func(i int, p, q Thing) { b.series(feed[i], make_(p)); b.series(feed[i], make_(q)) }
	and(0, x[0], g[5])
	or(1, x[1], g[0])
	and(2, x[2], g[1])
	or(3, x[0], g[2])
	and(4, x[1], g[3])
	or(5, x[2], g[4])
	for n := range 8 {
		s := b.State()
		x1, x2, x3 := n&1 == 1, n&2 == 2, n&4 == 4
		for i := range x {
			s.Put(x[i], n>>i&1)
		}
		s.Rest()
		want := [6]bool{x1 && (x2 || x3), x2 || x1 && x3, x3 && (x1 || x2), x1 || x2 && x3, x2 && (x1 || x3), x3 || x1 && x2}
		as := true
		for i, w := range want {
			got, known := s.At(g[i])
			as = as && known && (got == Worked) == w
			if !known || (got == Worked) != w {
				t.Errorf("x = %v %v %v: g%d stands %d (known %v), want %v", x1, x2, x3, i+1, got, known, w)
			}
		}
		if len(s.Found) > 0 {
			t.Errorf("x = %v %v %v: found %v", x1, x2, x3, s.Found)
		}
		book.Hold(outside.Says("8.18", "rivest-1977", fmt.Sprintf("all six gates are definite and as printed for x = %v %v %v", x1, x2, x3), as))
	}
}

func textbook(b *outside.Book, what string, want, got int) {
	b.Hold(outside.At("8.19", "relay-textbooks", what, float64(want), float64(got), "", 0, "whole numbers"))
}

// Feedback of one and two relays: textbook cases, as in the shared check case 8.19.
func TestBuzzer(t *testing.T) {
	book := outside.Open(t)
	b := newBench()
	sw := b.Switch("switch", 2)
	k, feed := b.relay("K")
	b.series(feed, make_(sw), break_(k))
	for on, want := range []int{1, 0} {
		s := b.State()
		s.Put(sw, on)
		textbook(book, fmt.Sprintf("stable states of a buzzer with its switch at %d", on), want, stable(&b.Diagram, s, []Thing{k}))
		s.Rest()
		at, known := s.At(k)
		if on == 0 && (!known || at != Dropped || len(s.Found) > 0) {
			t.Errorf("switch off: K stands %d %v, found %v", at, known, s.Found)
		}
		if on == 1 && (known || len(s.Found) != 1 || s.Found[0].Kind != Oscillates || s.Found[0].Things[0] != k) {
			t.Errorf("switch on: K known %v, found %v", known, s.Found)
		}
	}
}

func TestSealIn(t *testing.T) {
	book := outside.Open(t)
	b := newBench()
	start, stop := b.Switch("start", 2), b.Switch("stop", 2)
	k, feed := b.relay("K")
	b.series(feed, make_(start), break_(stop))
	b.series(feed, make_(k), break_(stop))
	for n := range 4 {
		s := b.State()
		s.Put(start, n&1)
		s.Put(stop, n>>1)
		want := 1
		if n == 0 {
			want = 2
		}
		textbook(book, fmt.Sprintf("stable states of a seal-in, start %d stop %d", n&1, n>>1), want, stable(&b.Diagram, s, []Thing{k}))
		s.Rest()
		_, known := s.At(k)
		if known != (n != 0) {
			t.Errorf("start %d stop %d: known %v", n&1, n>>1, known)
		}
		if n == 0 && (len(s.Found) != 1 || s.Found[0].Kind != Races || s.Found[0].Stable != 2) {
			t.Errorf("at rest the past decides: found %v", s.Found)
		}
	}
	// with a past, everything is known: pressed, it pulls in; let go, it holds; stopped, it drops
	s := b.State()
	s.Put(start, 0)
	s.Put(stop, 0)
	s.Dead()
	for _, x := range []struct {
		move Thing
		to   int
		want Truth
	}{{start, 1, Yes}, {start, 0, Yes}, {stop, 1, No}, {stop, 0, No}} {
		s.Put(x.move, x.to)
		s.Settle()
		if got := s.Stands(k, Worked); got != x.want || len(s.Found) > 0 {
			t.Errorf("%s put to %d: K worked %v, want %v; found %v", b.Name(x.move), x.to, got, x.want, s.Found)
		}
	}
}

func TestRingOfInverters(t *testing.T) {
	book := outside.Open(t)
	for n, want := range []int{1: 0, 2: 2, 3: 0, 4: 2, 5: 0, 6: 2} {
		if n == 0 {
			continue
		}
		b := newBench()
		var ks []Thing
		var feeds []Net
		for i := range n {
			k, feed := b.relay(fmt.Sprint("K", i))
			ks, feeds = append(ks, k), append(feeds, feed)
		}
		for i := range n {
			b.series(feeds[i], break_(ks[(i+n-1)%n]))
		}
		s := b.State()
		textbook(book, fmt.Sprintf("stable states of a ring of %d inverters", n), want, stable(&b.Diagram, s, ks))
		s.Rest()
		kind := Races
		if want == 0 {
			kind = Oscillates
		}
		if len(s.Found) != 1 || s.Found[0].Kind != kind || s.Found[0].Stable != want || len(s.Found[0].Things) != n {
			t.Errorf("%d inverters: found %v", n, s.Found)
		}
	}
}

func TestNORLatch(t *testing.T) {
	book := outside.Open(t)
	b := newBench()
	set, reset := b.Switch("S", 2), b.Switch("R", 2)
	q, qf := b.relay("Q")
	n, nf := b.relay("not Q")
	b.series(qf, break_(reset), break_(n))
	b.series(nf, break_(set), break_(q))
	for i := range 4 {
		s := b.State()
		s.Put(set, i&1)
		s.Put(reset, i>>1)
		want := 1
		if i == 0 {
			want = 2
		}
		textbook(book, fmt.Sprintf("stable states of a latch, S %d R %d", i&1, i>>1), want, stable(&b.Diagram, s, []Thing{q, n}))
		if i == 3 {
			s.Rest()
			if s.Stands(q, Worked) != No || s.Stands(n, Worked) != No {
				t.Errorf("S and R both: Q %v, not Q %v, want no and no", s.Stands(q, Worked), s.Stands(n, Worked))
			}
			// both let go at once: which relay is quicker decides
			s.Put(set, 0)
			s.Put(reset, 0)
			s.Settle()
			if len(s.Found) != 1 || s.Found[0].Kind != Races || len(s.Found[0].Things) != 2 {
				t.Errorf("both let go: found %v", s.Found)
			}
		}
	}
}
