package circuit

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// The independent method: positions as booleans, connection by walking from net to net,
// and every combination of relay positions tried. It shares no code with the package.
type plainScheme struct {
	nets     int // 0 is plus, 1 is minus
	switches []bool
	coils    [][2]int
	contacts []plainContact
}

type plainContact struct {
	from, to int
	alts     [][]plainTerm
}

type plainTerm struct {
	relay bool
	n     int
	want  bool
}

func (p *plainScheme) closed(c plainContact, relays []bool) bool {
	for _, alt := range c.alts {
		all := true
		for _, t := range alt {
			v := p.switches
			if t.relay {
				v = relays
			}
			all = all && v[t.n] == t.want
		}
		if all {
			return true
		}
	}
	return false
}

func (p *plainScheme) reach(from int, relays []bool) []bool {
	seen := make([]bool, p.nets)
	todo := []int{from}
	seen[from] = true
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		for _, c := range p.contacts {
			if !p.closed(c, relays) {
				continue
			}
			for _, step := range [][2]int{{c.from, c.to}, {c.to, c.from}} {
				if step[0] == at && !seen[step[1]] {
					seen[step[1]] = true
					todo = append(todo, step[1])
				}
			}
		}
	}
	return seen
}

func (p *plainScheme) next(relays []bool) []bool {
	plus, minus := p.reach(0, relays), p.reach(1, relays)
	out := make([]bool, len(relays))
	for i, c := range p.coils {
		out[i] = plus[c[0]] && minus[c[1]] || plus[c[1]] && minus[c[0]]
	}
	return out
}

func unpack(n, bits int) []bool {
	out := make([]bool, bits)
	for i := range out {
		out[i] = n>>i&1 == 1
	}
	return out
}

func same(a, b []bool) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

func scheme(t *rapid.T) *plainScheme {
	p := &plainScheme{nets: rapid.IntRange(3, 6).Draw(t, "nets")}
	p.switches = rapid.SliceOfN(rapid.Bool(), 2, 2).Draw(t, "switches")
	net := rapid.IntRange(0, p.nets-1)
	for i := range rapid.IntRange(1, 4).Draw(t, "relays") {
		p.coils = append(p.coils, [2]int{net.Draw(t, fmt.Sprint("plus", i)), net.Draw(t, fmt.Sprint("minus", i))})
	}
	one := rapid.Custom(func(t *rapid.T) plainTerm {
		x := plainTerm{relay: rapid.IntRange(0, 3).Draw(t, "sort") > 0, want: rapid.Bool().Draw(t, "want")}
		if x.relay {
			x.n = rapid.IntRange(0, len(p.coils)-1).Draw(t, "relay")
		} else {
			x.n = rapid.IntRange(0, 1).Draw(t, "switch")
		}
		return x
	})
	for range rapid.IntRange(1, 8).Draw(t, "contacts") {
		p.contacts = append(p.contacts, plainContact{net.Draw(t, "from"), net.Draw(t, "to"),
			rapid.SliceOfN(rapid.SliceOfN(one, 1, 2), 1, 2).Draw(t, "alts")})
	}
	return p
}

func (p *plainScheme) build() (*Diagram, []Thing, *State) {
	d := &Diagram{}
	for i := range p.nets {
		d.Net(fmt.Sprint(i))
	}
	d.Supply(0, 1)
	var sw, coils []Thing
	for range p.switches {
		sw = append(sw, d.Switch("", 2))
	}
	for _, c := range p.coils {
		coils = append(coils, d.Coil("", Net(c[0]), Net(c[1]), Delay{}))
	}
	for _, c := range p.contacts {
		var w When
		for _, alt := range c.alts {
			var terms []Term
			for _, x := range alt {
				of, at := sw, 0
				if x.relay {
					of = coils
				}
				if x.want {
					at = 1
				}
				terms = append(terms, Term{of[x.n], []int{at}})
			}
			w = append(w, terms)
		}
		d.Contact("", Net(c.from), Net(c.to), w)
	}
	s := d.State()
	for i, on := range p.switches {
		at := 0
		if on {
			at = 1
		}
		s.Put(sw[i], at)
	}
	return d, coils, s
}

// What is definite at rest holds in every stable state; if all is definite there is no
// other.
func TestRestAgreesWithEveryStableState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := scheme(t)
		_, coils, s := p.build()
		s.Rest()
		all, found := true, 0
		for n := range 1 << len(coils) {
			relays := unpack(n, len(coils))
			if !same(p.next(relays), relays) {
				continue
			}
			found++
			for i, k := range coils {
				if at, known := s.At(k); known && (at == Worked) != relays[i] {
					t.Fatalf("relay %d stands %d, and not so in stable state %v", i, at, relays)
				}
			}
		}
		for _, k := range coils {
			_, known := s.At(k)
			all = all && known
		}
		if all && found != 1 {
			t.Fatalf("all known, and %d stable states", found)
		}
		for _, f := range s.Found {
			if f.Kind == Oscillates && found > 0 {
				t.Fatalf("found to oscillate, and %d stable states", found)
			}
		}
	})
}

// What is definite after Settle holds in every stable state that can be reached when
// relays move one or several at a time, in any order.
func TestSettleAgreesWithEveryOrderOfMoving(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := scheme(t)
		_, coils, s := p.build()
		start := rapid.IntRange(0, 1<<len(coils)-1).Draw(t, "start")
		for i, k := range coils {
			s.at[k] = int8(start >> i & 1)
		}
		s.Settle()
		seen := map[int]bool{start: true}
		todo := []int{start}
		for len(todo) > 0 {
			n := todo[0]
			todo = todo[1:]
			relays := unpack(n, len(coils))
			goal := p.next(relays)
			moving := 0
			for i := range relays {
				if goal[i] != relays[i] {
					moving |= 1 << i
				}
			}
			if moving == 0 {
				for i, k := range coils {
					if at, known := s.At(k); known && (at == Worked) != relays[i] {
						t.Fatalf("relay %d stands %d, and can come to rest otherwise, in %v", i, at, relays)
					}
				}
			}
			for some := moving; some > 0; some = (some - 1) & moving {
				if next := n ^ some; !seen[next] {
					seen[next] = true
					todo = append(todo, next)
				}
			}
		}
	})
}
