package circuit

import (
	"fmt"
	"testing"
)

func TestDelays(t *testing.T) {
	b := newBench()
	sw := b.Switch("switch", 2)
	feed := b.Net("feed")
	b.series(feed, make_(sw))
	slow := b.Coil("slow to pull", feed, b.minus, Delay{Up: 3})
	long := b.Coil("slow to drop", feed, b.minus, Delay{Down: 5})
	both := b.Coil("both", feed, b.minus, Delay{Up: 2, Down: 4})
	s := b.State()
	s.Put(sw, 0)
	s.Dead()
	s.Settle()
	at := func(when float64, a, b, c Truth) {
		t.Helper()
		for s.Step(when) {
		}
		for _, x := range []struct {
			k    Thing
			want Truth
		}{{slow, a}, {long, b}, {both, c}} {
			if got := s.Stands(x.k, Worked); got != x.want {
				t.Errorf("at %g s %q worked: %v, want %v", s.Now, s.d.Name(x.k), got, x.want)
			}
		}
	}
	at(10, No, No, No)
	s.Put(sw, 1)
	s.Settle()
	at(10, No, Yes, No)
	at(12, No, Yes, Yes)
	at(12.9, No, Yes, Yes)
	at(13, Yes, Yes, Yes)
	s.Put(sw, 0)
	s.Settle()
	at(13, No, Yes, Yes)
	at(16.9, No, Yes, Yes)
	at(17, No, Yes, No)
	at(18, No, No, No)
	// a touch shorter than the delay does nothing
	s.Put(sw, 1)
	s.Settle()
	at(19, No, Yes, No)
	s.Put(sw, 0)
	s.Settle()
	at(19.5, No, Yes, No)
	at(30, No, No, No)
}

// A flasher: a relay that cuts its own feed, with a delay, never rests and is no race.
func TestDelayTurnsABuzzerIntoAFlasher(t *testing.T) {
	b := newBench()
	sw := b.Switch("switch", 2)
	feed := b.Net("feed")
	k := b.Coil("K", feed, b.minus, Delay{Up: 1, Down: 1})
	b.series(feed, make_(sw), break_(k))
	s := b.State()
	s.Put(sw, 0)
	s.Dead()
	s.Put(sw, 1)
	s.Settle()
	turns := 0
	for s.Step(10) {
		turns++
		want := No
		if turns%2 == 1 {
			want = Yes
		}
		if got := s.Stands(k, Worked); got != want || len(s.Found) > 0 {
			t.Fatalf("turn %d: %v, want %v; found %v", turns, got, want, s.Found)
		}
	}
	if turns != 10 {
		t.Errorf("%d turns in 10 s, want 10", turns)
	}
}

// Two relays that each cut the other off race; with a delay on one it is known who wins.
func TestDelayDecidesARace(t *testing.T) {
	for _, delay := range []float64{0, 0.1} {
		b := newBench()
		sw := b.Switch("switch", 2)
		fa, fb := b.Net("a"), b.Net("b")
		a, c := b.Coil("A", fa, b.minus, Delay{}), b.Coil("B", fb, b.minus, Delay{Up: delay})
		b.series(fa, make_(sw), break_(c))
		b.series(fb, make_(sw), break_(a))
		s := b.State()
		s.Put(sw, 0)
		s.Dead()
		s.Put(sw, 1)
		s.Settle()
		if delay == 0 {
			if len(s.Found) != 1 || s.Found[0].Kind != Races || s.Found[0].Stable != 2 {
				t.Errorf("no delay: found %v", s.Found)
			}
			continue
		}
		if s.Stands(a, Worked) != Yes || s.Stands(c, Worked) != No || len(s.Found) > 0 {
			t.Errorf("with a delay: A %v, B %v, found %v", s.Stands(a, Worked), s.Stands(c, Worked), s.Found)
		}
	}
}

func TestTripStaysUntilItIsPutBack(t *testing.T) {
	b := newBench()
	hot := b.Switch("hot", 2)
	trip := b.Trip("trip", 3, 2, When{{make_(hot)}}, 4)
	k, feed := b.relay("run")
	b.series(feed, Term{trip, []int{0, 1}})
	s := b.State()
	s.Put(hot, 0)
	s.Put(trip, 0)
	s.Dead()
	s.Settle()
	step := func(until float64, want Truth) {
		t.Helper()
		for s.Step(until) {
		}
		if got := s.Stands(k, Worked); got != want {
			t.Errorf("at %g s: %v, want %v", s.Now, got, want)
		}
	}
	step(1, Yes)
	s.Put(hot, 1)
	s.Settle()
	step(4.9, Yes)
	step(5, No)
	s.Put(hot, 0)
	s.Settle()
	step(9, No)
	s.Put(trip, 0)
	s.Settle()
	step(10, Yes)
}

// Loops that share a supply and nothing else are found one by one.
func TestLoopsOnOneSupplyAreToldApart(t *testing.T) {
	b := newBench()
	sw := b.Switch("switch", 2)
	buzzer, feed := b.relay("buzzer")
	b.series(feed, make_(sw), break_(buzzer))
	var pair [2]Thing
	var feeds [2]Net
	for i := range pair {
		pair[i], feeds[i] = b.relay(fmt.Sprint("latch ", i))
	}
	b.series(feeds[0], make_(sw), break_(pair[1]))
	b.series(feeds[1], make_(sw), break_(pair[0]))
	s := b.State()
	s.Put(sw, 0)
	s.Dead()
	s.Put(sw, 1)
	s.Settle()
	if len(s.Found) != 2 || s.Found[0].Kind != Oscillates || len(s.Found[0].Things) != 1 || s.Found[1].Kind != Races || len(s.Found[1].Things) != 2 {
		t.Errorf("found %v, want a buzzer and a race of two", s.Found)
	}
}

// An input that nobody knows makes what hangs on it unknown, and is no race.
func TestUnknownInput(t *testing.T) {
	b := newBench()
	sw := b.Switch("switch", 2)
	k, feed := b.relay("K")
	b.series(feed, make_(sw))
	b.series(feed, make_(k), make_(sw))
	s := b.State()
	s.Dead()
	s.Settle()
	if s.Stands(k, Worked) != Unknown || len(s.Found) > 0 {
		t.Errorf("K %v, found %v", s.Stands(k, Worked), s.Found)
	}
}

// ladder is a chain of n relays, each fed through the one before, all sealed in.
func ladder(n int) (*bench, Thing) {
	b := newBench()
	sw := b.Switch("switch", 2)
	last := make_(sw)
	for i := range n {
		k, feed := b.relay(string(rune('a' + i%26)))
		b.series(feed, last)
		b.series(feed, make_(k), make_(sw))
		last = make_(k)
	}
	return b, sw
}

func BenchmarkSettleLadderOf40(b *testing.B) {
	d, sw := ladder(40)
	s := d.State()
	s.Put(sw, 0)
	s.Dead()
	s.Settle()
	for i := range b.N {
		s.Put(sw, i&1)
		s.Settle()
	}
}
