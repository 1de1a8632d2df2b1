package circuit

import (
	"math"
	"slices"
)

// How a state is settled.
//
// Every coil, condition and trip is a variable; where it goes follows from where
// everything stands. Two passes of three-valued simulation (Eichelberger 1965; in the
// form of Brzozowski and Seger) say what is sure to happen whatever the order in which
// relays move: the first spreads "not known" over everything that may move on the way,
// the second takes it back where only one value is left at the end. Both are monotone,
// so each ends after at most one change of each variable. Starting from nothing known,
// the second pass alone says what holds regardless of history.
//
// What is then still not known hangs together in loops. For each loop, and for it only,
// every combination of positions is tried: none that stays means that it never comes to
// rest, several mean that the order of moving, or the past, decides.

// Kind is what was found out about a loop of things that do not settle by themselves.
type Kind string

// The kinds of finding.
const (
	Oscillates Kind = "oscillates"       // no combination stays: a buzzer
	Races      Kind = "races"            // several stay: which comes first decides, or what was before
	OneRest    Kind = "one rest"         // one stays, and is taken; on the way things may chatter
	TooLarge   Kind = "too large to try" // more combinations than are tried
)

// Finding is a loop of things that did not settle by themselves. For Races, Things are
// those that differ between the combinations that stay; else the whole loop.
type Finding struct {
	Kind   Kind
	Things []Thing
	Stable int // how many combinations stay
}

// combinations is the largest number of combinations of a loop that is tried.
const combinations = 1 << 16

// Rest works out where everything comes to rest regardless of its history: timers have
// run out, trips stay where they are, and what stands otherwise in two possible pasts is
// not known.
func (s *State) Rest() {
	for i, t := range s.d.things {
		if t.kind == aCoil || t.kind == aCondition {
			s.at[i] = nowhere
		}
		s.due[i] = math.Inf(1)
	}
	s.fall(true)
	s.loops(true)
	s.wind()
}

// Settle works out what happens now: from where everything stands, with whatever has
// been put elsewhere, until nothing moves but timers. No time passes.
func (s *State) Settle() {
	s.spread()
	s.fall(false)
	s.loops(false)
	clear(s.forced)
	s.wind()
}

// Step lets time pass until the next timer acts, or until the moment given, and settles.
// It reports whether a timer acted.
func (s *State) Step(until float64) bool {
	next, any := s.Waits()
	if !any || next > until {
		s.Now = max(s.Now, until)
		return false
	}
	s.Now = max(s.Now, next)
	for i, t := range s.due {
		if t <= next {
			s.forced[i], s.goes[i] = true, s.toward[i]
			s.due[i] = math.Inf(1)
		}
	}
	s.Settle()
	return true
}

// spread makes everything unknown that may move.
func (s *State) spread() {
	for more := true; more; {
		more = false
		s.connect()
		for i := range s.at {
			if s.at[i] == nowhere {
				continue
			}
			if s.next(i, false) != s.at[i] {
				s.at[i], more = nowhere, true
			}
		}
	}
}

// fall takes back the unknown where one value is left.
func (s *State) fall(rest bool) {
	for more := true; more; {
		more = false
		s.connect()
		for i := range s.at {
			if s.at[i] != nowhere {
				continue
			}
			if p := s.next(i, rest); p != nowhere {
				s.at[i], more = p, true
			}
		}
	}
}

// wind starts the timers of delayed things whose time has come to run, and stops the
// others.
func (s *State) wind() {
	s.connect()
	for i := range s.d.things {
		t := &s.d.things[i]
		if t.kind == aSwitch || t.delay == (Delay{}) {
			continue
		}
		now := s.driven(i)
		goal, wait := position(now), t.delay.Up
		if t.kind == aTrip {
			switch now {
			case Yes:
				goal = t.to
			case No:
				goal = s.at[i]
			}
			if s.at[i] == t.to {
				goal = t.to
			}
		} else if goal == Dropped || goal == nowhere && s.at[i] == Worked {
			wait = t.delay.Down
		}
		switch {
		case goal == s.at[i]:
			s.due[i] = math.Inf(1)
		case math.IsInf(s.due[i], 1):
			s.due[i], s.toward[i] = s.Now+wait, goal
		case s.toward[i] != goal: // it is no longer sure that it acts, or it was not
			s.toward[i] = nowhere
		}
	}
}

// loops finds what hangs together among the unknown and tries its combinations.
func (s *State) loops(rest bool) {
	s.Found = nil
	if !slices.Contains(s.at, nowhere) {
		return
	}
	for again := true; again; {
		again = false
		var found []Finding
		needs, outside := s.needs(rest)
		for _, loop := range components(needs) {
			self := len(loop) > 1 || slices.Contains(needs[loop[0]], loop[0])
			if !self || s.leans(loop, needs, outside) {
				continue
			}
			f, only := s.try(loop, rest)
			if only != nil {
				for k, i := range loop {
					s.at[i] = only[k]
				}
				s.Found = append(s.Found, f)
				s.fall(rest)
				again = true
				break
			}
			found = append(found, f)
		}
		if !again {
			s.Found = append(s.Found, found...)
		}
	}
}

// leans says whether a loop hangs on something unknown outside itself.
func (s *State) leans(loop []int, needs [][]int, outside []bool) bool {
	for _, i := range loop {
		if outside[i] {
			return true
		}
		for _, k := range needs[i] {
			if !slices.Contains(loop, k) {
				return true
			}
		}
	}
	return false
}

// needs lists, for every unknown thing, the unknown things it hangs on, and says whether
// it hangs on a switch of which the position is not known.
func (s *State) needs(rest bool) (needs [][]int, outside []bool) {
	needs, outside = make([][]int, len(s.at)), make([]bool, len(s.at))
	s.connect()
	add := func(i int, w when) {
		for _, alt := range w {
			for _, t := range alt {
				k := int(t.of)
				if s.at[k] != nowhere {
					continue
				}
				if s.d.things[k].kind == aSwitch {
					outside[i] = true
				} else if !slices.Contains(needs[i], k) {
					needs[i] = append(needs[i], k)
				}
			}
		}
	}
	for i, t := range s.d.things {
		if s.at[i] != nowhere || t.kind == aSwitch {
			continue
		}
		switch {
		case t.kind == aTrip, t.delay.Up > 0 && t.delay.Down > 0 && !rest:
			outside[i] = true // it stays as it is, and nobody knows how that is
		case !rest && t.delay != (Delay{}):
			needs[i] = append(needs[i], i) // it holds itself
		}
		if t.kind != aCoil {
			add(i, t.when)
			continue
		}
		for _, k := range s.onTheWay(t.plus, t.minus) {
			add(i, s.d.contacts[k].when)
		}
	}
	return needs, outside
}

// onTheWay lists the contacts of which it is not known whether they are closed and that
// may lie between a coil and a supply: those met on the way out from its two sides,
// without going on past what is certainly fed. Where a short is possible every such
// contact may matter.
func (s *State) onTheWay(plus, minus Net) []int {
	seen := make([]bool, len(s.d.nets)) // by joined part
	met := make([]bool, len(s.d.contacts))
	var todo []int32
	short := s.possible.short()
	reach := func(n Net) {
		if p := s.certain.find(int32(n)); !seen[p] {
			seen[p] = true
			if short || !s.certain.plus[p] && !s.certain.minus[p] {
				todo = append(todo, p)
			}
		}
	}
	reach(plus)
	reach(minus)
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		for k, c := range s.d.contacts {
			if s.contact[k] != Unknown {
				continue
			}
			from, to := s.certain.find(int32(c.from)) == at, s.certain.find(int32(c.to)) == at
			if from || to {
				met[k] = true
				reach(c.from)
				reach(c.to)
			}
		}
		for _, x := range s.d.diodes {
			if s.certain.find(int32(x[0])) == at || s.certain.find(int32(x[1])) == at {
				reach(x[0])
				reach(x[1])
			}
		}
	}
	var out []int
	for k, m := range met {
		if m {
			out = append(out, k)
		}
	}
	return out
}

// try goes through every combination of positions of a loop. When one alone stays it is
// returned.
func (s *State) try(loop []int, rest bool) (Finding, []int8) {
	f := Finding{Kind: Oscillates}
	for _, i := range loop {
		f.Things = append(f.Things, Thing(i))
	}
	count := 1
	for _, i := range loop {
		count *= s.d.things[i].positions
		if count > combinations {
			f.Kind = TooLarge
			return f, nil
		}
	}
	var first []int8
	differ := make([]bool, len(loop))
	for n := range count {
		k := n
		for _, i := range loop {
			p := s.d.things[i].positions
			s.at[i] = int8(k % p)
			k /= p
		}
		s.connect()
		stays := true
		for _, i := range loop {
			if s.next(i, rest) != s.at[i] {
				stays = false
				break
			}
		}
		if !stays {
			continue
		}
		f.Stable++
		if first == nil {
			for _, i := range loop {
				first = append(first, s.at[i])
			}
		}
		for k, i := range loop {
			differ[k] = differ[k] || s.at[i] != first[k]
		}
	}
	for _, i := range loop {
		s.at[i] = nowhere
	}
	switch {
	case f.Stable == 1:
		f.Kind = OneRest
		return f, first
	case f.Stable > 1:
		f.Kind, f.Things = Races, nil
		for k, i := range loop {
			if differ[k] {
				f.Things = append(f.Things, Thing(i))
			}
		}
	}
	return f, nil
}

// components are the strongly connected components of a graph, each in order of number;
// one that another hangs on comes before it (Tarjan 1972).
func components(needs [][]int) [][]int {
	var (
		out   [][]int
		stack []int
		n     int
		order = make([]int, len(needs)) // 0: not seen
		low   = make([]int, len(needs))
		on    = make([]bool, len(needs))
		visit func(int)
	)
	visit = func(i int) {
		n++
		order[i], low[i] = n, n
		stack = append(stack, i)
		on[i] = true
		for _, k := range needs[i] {
			if order[k] == 0 {
				visit(k)
				low[i] = min(low[i], low[k])
			} else if on[k] {
				low[i] = min(low[i], order[k])
			}
		}
		if low[i] != order[i] {
			return
		}
		var c []int
		for {
			k := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			on[k] = false
			c = append(c, k)
			if k == i {
				break
			}
		}
		slices.Sort(c)
		out = append(out, c)
	}
	for i := range needs {
		if order[i] == 0 {
			visit(i)
		}
	}
	return out
}
