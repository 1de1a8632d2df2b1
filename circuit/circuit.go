// Package circuit says what a wiring of contacts and coils does: which relays are
// worked, which lamps are lit, in what order timers act, and where the answer hangs on
// a race or never comes to rest.
//
// A Diagram holds nets (pieces of wire), contacts between them, supplies, and things
// that stand in one of a few positions: switches, coils, conditions and trips. A State
// is a diagram at a moment. Values are three-valued (Yes, No, Unknown), and what is
// reported as Yes or No holds whatever the unknown turns out to be.
//
// Conditions: contacts conduct both ways; a coil is worked when one of its sides is
// joined to the positive and the other to the negative of a supply; the returns of all
// supplies are one; a contact has no resistance, and a coil passes no current on to the
// next one, so a circuit through two coils in series is not seen. All contacts of one
// relay move together. Of two relays nobody knows which is quicker, unless they are
// given delays.
//
// It does not know what a locomotive is, what a contact is for, or who asks.
package circuit

import "math"

// Truth is a value of Kleene's logic: known to hold, known not to, or not known.
type Truth int8

// The three values.
const (
	Unknown Truth = iota
	No
	Yes
)

func (t Truth) String() string {
	return [...]string{"unknown", "no", "yes"}[t]
}

func and(a, b Truth) Truth {
	switch {
	case a == No || b == No:
		return No
	case a == Yes && b == Yes:
		return Yes
	}
	return Unknown
}

func or(a, b Truth) Truth {
	switch {
	case a == Yes || b == Yes:
		return Yes
	case a == No && b == No:
		return No
	}
	return Unknown
}

// Net is a piece of wire: everything that is always joined.
type Net int

// Thing is what stands in one of a few positions and what contacts hang on.
type Thing int

// The two positions of everything but switches and trips.
const (
	Dropped = 0 // not worked, dark, silent, does not hold
	Worked  = 1
)

// nowhere is the position that is not known.
const nowhere = -1

// Term holds when Of stands in one of the positions In, each from 0 to 62. With none it
// never holds.
type Term struct {
	Of Thing
	In []int
}

// When holds when all terms of one of its alternatives hold. The empty When always holds.
type When [][]Term

// Delay is how long what works a thing must last before the thing follows, in seconds:
// Up to be worked, Down to drop. Zero is at once.
type Delay struct{ Up, Down float64 }

type kind uint8

const (
	aSwitch kind = iota
	aCoil
	aCondition
	aTrip
)

type thing struct {
	name        string
	kind        kind
	positions   int
	plus, minus Net
	when        when
	delay       Delay
	to          int8
}

type term struct {
	of   Thing
	mask uint64
}

type when [][]term

type contact struct {
	name     string
	from, to Net
	when     when
}

// Diagram is a wiring. The zero Diagram is empty and ready to be added to. It may be
// shared between States once nothing more is added.
type Diagram struct {
	nets     []string
	byName   map[string]Net
	things   []thing
	contacts []contact
	diodes   [][2]Net
	supplies [][2]Net
}

// Net is the net of this name; it is added when it is new.
func (d *Diagram) Net(name string) Net {
	if n, ok := d.byName[name]; ok {
		return n
	}
	if d.byName == nil {
		d.byName = map[string]Net{}
	}
	n := Net(len(d.nets))
	d.nets = append(d.nets, name)
	d.byName[name] = n
	return n
}

// Supply adds a source between two nets.
func (d *Diagram) Supply(plus, minus Net) { d.supplies = append(d.supplies, [2]Net{plus, minus}) }

// Contact joins two nets whenever the condition holds.
func (d *Diagram) Contact(name string, from, to Net, w When) {
	d.contacts = append(d.contacts, contact{name, from, to, compile(w)})
}

// Diode joins two nets for current that flows from → to only.
func (d *Diagram) Diode(from, to Net) { d.diodes = append(d.diodes, [2]Net{from, to}) }

// Switch adds what somebody or something outside the diagram moves between positions
// 0 … positions−1: a switch, a button, a breaker, a fuse, a contact driven by pressure.
func (d *Diagram) Switch(name string, positions int) Thing {
	return d.add(thing{name: name, kind: aSwitch, positions: positions})
}

// Coil adds what current works: a relay, a timer, a lamp, a bell, a motor, a magnet.
// It stands Worked while current flows between its two sides, and follows with its delay.
func (d *Diagram) Coil(name string, plus, minus Net, delay Delay) Thing {
	return d.add(thing{name: name, kind: aCoil, positions: 2, plus: plus, minus: minus, delay: delay})
}

// Condition adds a state of the machine that follows from other things without a wire:
// it stands Worked while the condition holds, and follows with its delay.
func (d *Diagram) Condition(name string, w When, delay Delay) Thing {
	return d.add(thing{name: name, kind: aCondition, positions: 2, when: compile(w), delay: delay})
}

// Trip adds what moves by itself to one of its positions once the condition has lasted
// for after seconds, and stays there until somebody puts it back.
func (d *Diagram) Trip(name string, positions, to int, w When, after float64) Thing {
	return d.add(thing{name: name, kind: aTrip, positions: positions, to: int8(to), when: compile(w), delay: Delay{Up: after}})
}

// Rewire gives a condition or a trip the condition it follows; it lets two of them hang
// on each other.
func (d *Diagram) Rewire(t Thing, w When) { d.things[t].when = compile(w) }

func (d *Diagram) add(t thing) Thing {
	d.things = append(d.things, t)
	return Thing(len(d.things) - 1)
}

// Name is the name a thing was added under.
func (d *Diagram) Name(t Thing) string { return d.things[t].name }

// Things is how many things there are; they are numbered from 0 in the order added.
func (d *Diagram) Things() int { return len(d.things) }

func compile(w When) when {
	var out when
	for _, alt := range w {
		terms := make([]term, 0, len(alt))
		for _, t := range alt {
			var mask uint64
			for _, p := range t.In {
				mask |= 1 << uint(p)
			}
			terms = append(terms, term{t.Of, mask})
		}
		out = append(out, terms)
	}
	return out
}

// holds evaluates a condition in Kleene's logic.
func (w when) holds(at []int8, things []thing) Truth {
	if len(w) == 0 {
		return Yes
	}
	out := No
	for _, alt := range w {
		all := Yes
		for _, t := range alt {
			all = and(all, t.holds(at, things))
			if all == No {
				break
			}
		}
		out = or(out, all)
		if out == Yes {
			break
		}
	}
	return out
}

func (t term) holds(at []int8, things []thing) Truth {
	p := at[t.of]
	if p == nowhere {
		every := uint64(1)<<uint(things[t.of].positions) - 1
		switch t.mask & every {
		case every:
			return Yes
		case 0:
			return No
		}
		return Unknown
	}
	if t.mask&(1<<uint(p)) != 0 {
		return Yes
	}
	return No
}

// State is a diagram at a moment: where everything stands, and what the timers wait for.
type State struct {
	Now   float64 // s since the state was made
	Found []Finding

	d      *Diagram
	at     []int8
	due    []float64 // when a delayed thing acts; +Inf when it waits for nothing
	toward []int8    // where it then goes
	forced []bool    // acts in this very moment
	goes   []int8

	certain, possible network
	contact           []Truth
}

// State returns a state in which nothing is known.
func (d *Diagram) State() *State {
	n := len(d.things)
	s := &State{
		d: d, at: make([]int8, n), due: make([]float64, n), toward: make([]int8, n), forced: make([]bool, n), goes: make([]int8, n),
		contact: make([]Truth, len(d.contacts)),
	}
	s.certain.make(len(d.nets))
	s.possible.make(len(d.nets))
	for i := range s.at {
		s.at[i], s.due[i] = nowhere, math.Inf(1)
	}
	return s
}

// Clone is a state of its own that stands as this one does.
func (s *State) Clone() *State {
	n := s.d.State()
	n.Now, n.Found = s.Now, append([]Finding(nil), s.Found...)
	copy(n.at, s.at)
	copy(n.due, s.due)
	copy(n.toward, s.toward)
	return n
}

// Put moves a switch, or sets a trip, to a position; a negative one is not known. What
// follows from it is for Settle.
func (s *State) Put(t Thing, position int) {
	s.at[t] = int8(position)
	s.due[t] = math.Inf(1)
}

// Dead is how everything stands after a long time without any current: coils dropped,
// conditions not holding, no timer running. Switches and trips stay where they are.
func (s *State) Dead() {
	for i, t := range s.d.things {
		if t.kind == aCoil || t.kind == aCondition {
			s.at[i], s.due[i] = Dropped, math.Inf(1)
		}
	}
}

// At is where a thing stands; false when that is not known.
func (s *State) At(t Thing) (int, bool) {
	return int(s.at[t]), s.at[t] != nowhere
}

// Stands says whether a thing stands in a position.
func (s *State) Stands(t Thing, position int) Truth {
	return term{t, 1 << uint(position)}.holds(s.at, s.d.things)
}

// Holds says whether a condition holds.
func (s *State) Holds(w When) Truth { return compile(w).holds(s.at, s.d.things) }

// Fed says whether a net is joined to the positive of a supply. The state must have
// been settled.
func (s *State) Fed(n Net) Truth {
	s.connect()
	switch {
	case s.certain.plus[s.certain.find(int32(n))]:
		return Yes
	case s.possible.plus[s.possible.find(int32(n))]:
		return Unknown
	}
	return No
}

// Short says whether the two sides of the supply are joined with no coil between them.
// Nothing else that the state says can then be believed: something will burn or trip.
func (s *State) Short() Truth {
	s.connect()
	switch {
	case s.certain.short():
		return Yes
	case s.possible.short():
		return Unknown
	}
	return No
}

// Waits is the moment at which the next timer acts; false when none runs.
func (s *State) Waits() (float64, bool) {
	next := math.Inf(1)
	for _, t := range s.due {
		next = min(next, t)
	}
	return next, !math.IsInf(next, 1)
}

// network is what the closed contacts join: a union of nets, and which of the joined
// parts the supplies reach.
type network struct {
	parent      []int32
	plus, minus []bool
}

func (n *network) make(nets int) {
	n.parent, n.plus, n.minus = make([]int32, nets), make([]bool, nets), make([]bool, nets)
}

func (n *network) reset() {
	for i := range n.parent {
		n.parent[i], n.plus[i], n.minus[i] = int32(i), false, false
	}
}

func (n *network) find(i int32) int32 {
	for n.parent[i] != i {
		n.parent[i] = n.parent[n.parent[i]]
		i = n.parent[i]
	}
	return i
}

func (n *network) join(a, b Net) {
	x, y := n.find(int32(a)), n.find(int32(b))
	if x != y {
		n.parent[max(x, y)] = min(x, y)
	}
}

// feed marks the parts that the supplies reach; diodes carry the positive forward and
// the negative backward.
func (n *network) feed(d *Diagram) {
	for _, s := range d.supplies {
		n.plus[n.find(int32(s[0]))] = true
		n.minus[n.find(int32(s[1]))] = true
	}
	for more := len(d.diodes) > 0; more; {
		more = false
		for _, x := range d.diodes {
			from, to := n.find(int32(x[0])), n.find(int32(x[1]))
			if n.plus[from] && !n.plus[to] {
				n.plus[to], more = true, true
			}
			if n.minus[to] && !n.minus[from] {
				n.minus[from], more = true, true
			}
		}
	}
}

func (n *network) short() bool {
	for i := range n.parent {
		if n.plus[i] && n.minus[i] {
			return true
		}
	}
	return false
}

func (n *network) works(a, b Net) bool {
	x, y := n.find(int32(a)), n.find(int32(b))
	return n.plus[x] && n.minus[y] || n.plus[y] && n.minus[x]
}

// connect works out what is joined: certainly, by the contacts known to be closed, and
// possibly, by those and the ones of which it is not known.
func (s *State) connect() {
	s.certain.reset()
	s.possible.reset()
	for i := range s.d.contacts {
		c := &s.d.contacts[i]
		t := c.when.holds(s.at, s.d.things)
		s.contact[i] = t
		if t == Yes {
			s.certain.join(c.from, c.to)
		}
		if t != No {
			s.possible.join(c.from, c.to)
		}
	}
	s.certain.feed(s.d)
	s.possible.feed(s.d)
}

// driven says whether what works a thing does so now; connect comes before it.
func (s *State) driven(i int) Truth {
	t := &s.d.things[i]
	if t.kind != aCoil {
		return t.when.holds(s.at, s.d.things)
	}
	switch {
	case s.certain.works(t.plus, t.minus):
		return Yes
	case s.possible.works(t.plus, t.minus):
		return Unknown
	}
	return No
}

// next is where a thing goes from a state, in no time. At rest, all delays have run out.
func (s *State) next(i int, rest bool) int8 {
	t := &s.d.things[i]
	at := s.at[i]
	switch {
	case t.kind == aSwitch:
		return at
	case s.forced[i]:
		return s.goes[i]
	case t.kind == aTrip:
		if rest || t.delay.Up > 0 {
			return at
		}
		switch s.driven(i) {
		case Yes:
			return t.to
		case No:
			return at
		}
		if at == t.to {
			return at
		}
		return nowhere
	}
	up, down := t.delay.Up > 0, t.delay.Down > 0
	switch {
	case rest || !up && !down:
		return position(s.driven(i))
	case up && down:
		return at
	case up:
		return position(and(truth(at), s.driven(i)))
	}
	return position(or(truth(at), s.driven(i)))
}

func truth(at int8) Truth {
	switch at {
	case Dropped:
		return No
	case Worked:
		return Yes
	}
	return Unknown
}

func position(t Truth) int8 {
	switch t {
	case No:
		return Dropped
	case Yes:
		return Worked
	}
	return nowhere
}
