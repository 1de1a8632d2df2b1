package prepare

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/internal/tour"
)

// anyPhase is for what can be looked at in every state.
const anyPhase = -1

// Line is one thing to be done at a stand: a device looked at, with the checks made in the
// same breath; or a check by itself.
type Line struct {
	Device *fleet.Device // nil for a check about no device
	Checks []fleet.Check
	// Read is "applied" or "released" where a stand-out is read for a travel.
	Read  string
	phase int
	place string
	level int // how many stops elsewhere must come before it
}

// Stand is one stop of the walk: a place in a state of the machine, or an act.
type Stand struct {
	Place   fleet.Place
	State   string // the state of the machine while one stands there
	Do      string // what is done to the machine there; Lines are empty then
	Here    bool   // the act is asked for from wherever one stands
	Lines   []Line
	Way     []fleet.Way // from the stand before
	Seconds float64     // on that way
	New     bool        // not in the frozen order
	level   int
}

// Walk is the walk-round inspection of a class.
type Walk struct {
	Class   *fleet.Class
	Start   fleet.Place
	Stands  []Stand
	Seconds float64 // on foot
	Takes   float64 // of the checks that say how long they take
	Basis   string  // hash of what the order rests on
	// Proved says that no order is shorter; Lower is what no order can be below, s. Both
	// are known for a computed order; a frozen one says what was known when it was frozen.
	Proved bool
	Lower  float64
	Orders float64
	Cells  int
	// Frozen is the order it was taken from; nil for a computed one.
	Frozen *fleet.WalkOrder
	Stale  bool     // the record has changed in what the order rests on
	Gone   []string // stands of the frozen order that the record has no more
	Breaks []string // checks that the frozen order makes before one they should follow
	// Unplaced are devices and checks of which the record does not say where they are.
	Unplaced []Line
}

// Unsaid is an answer that the record does not hold: what it needs.
type Unsaid struct{ Needs string }

func (e *Unsaid) Error() string { return "cannot say: needs " + e.Needs }

// plan is the problem of the order as the record states it.
type plan struct {
	class  *fleet.Class
	phases []string
	stands []Stand // without an order; acts last
	before [][2]int
	start  string
	finish string
	w      ways
	loose  []Line
}

// ways are the shortest ways between all places of a class.
type ways struct {
	class  *fleet.Class
	index  map[string]int
	single map[[2]int]fleet.Way
	length [][]float64
	next   [][]int
}

func closeWays(c *fleet.Class) ways {
	w := ways{class: c, index: map[string]int{}, single: map[[2]int]fleet.Way{}}
	n := len(c.Places)
	way := make([][]float64, n)
	for i, p := range c.Places {
		w.index[p.ID] = i
		way[i] = slices.Repeat([]float64{math.Inf(1)}, n)
	}
	for _, x := range c.Ways {
		a, b := w.index[x.From], w.index[x.To]
		if x.Seconds < way[a][b] {
			way[a][b], way[b][a] = x.Seconds, x.Seconds
			w.single[[2]int{a, b}], w.single[[2]int{b, a}] = x, x
		}
	}
	w.length, w.next = tour.Close(way)
	return w
}

func (w ways) seconds(from, to string) float64 { return w.length[w.index[from]][w.index[to]] }

// legs are the single ways of the shortest way, each turned as it is walked.
func (w ways) legs(from, to string) []fleet.Way {
	a, b := w.index[from], w.index[to]
	var out []fleet.Way
	for a != b && w.next[a][b] >= 0 {
		n := w.next[a][b]
		x := w.single[[2]int{a, n}]
		x.From, x.To = w.class.Places[a].ID, w.class.Places[n].ID
		out = append(out, x)
		a = n
	}
	return out
}

func hasEngine(c *fleet.Class) bool {
	return len(c.DevicesOf("start-button")) > 0 || len(c.DevicesOf("engine")) > 0
}

// phaseOf puts a state in its place in the order of states.
func phaseOf(state string, engine bool) int {
	if !engine {
		switch state {
		case "brake applied":
			return 0
		case "brake released":
			return 1
		}
		return anyPhase
	}
	switch state {
	case "idling", "running", "hot":
		return 1
	case "brake applied":
		return 2
	case "brake released":
		return 3
	}
	return 0
}

func lay(c *fleet.Class) (*plan, error) {
	p := &plan{class: c, start: c.Walk.Start, finish: c.Walk.Finish}
	engine := hasEngine(c)
	acts := []string{"release the brake"}
	p.phases = []string{"brake applied", "brake released"}
	if engine {
		p.phases = []string{"stopped", "idling", "brake applied", "brake released"}
		acts = []string{"start the engine", "apply the brake", "release the brake"}
	}
	lines := p.lines(engine)
	if len(lines) == 0 {
		return nil, &Unsaid{"devices or checks with places"}
	}
	if len(c.Places) > 1 && len(c.Ways) == 0 {
		return nil, &Unsaid{"ways between the places"}
	}
	p.w = closeWays(c)
	if p.start == "" {
		p.start = c.Places[0].ID
	}
	// one stand for each place, state and level; what can be seen in any state is seen the
	// first time one stands there anyway
	slices.SortStableFunc(lines, func(a, b Line) int {
		if (a.phase == anyPhase) != (b.phase == anyPhase) {
			return map[bool]int{true: 1, false: -1}[a.phase == anyPhase]
		}
		if a.phase != b.phase {
			return a.phase - b.phase
		}
		return a.level - b.level
	})
	phase := []int{}
	for _, l := range lines {
		k := slices.IndexFunc(p.stands, func(s Stand) bool { return s.Place.ID == l.place })
		if l.phase != anyPhase || k < 0 || l.level > 0 {
			k = -1
			for i, s := range p.stands {
				if s.Place.ID == l.place && phase[i] == l.phase && s.level == l.level {
					k = i
				}
			}
		}
		if k < 0 {
			place, _ := c.Place(l.place)
			p.stands = append(p.stands, Stand{Place: place, level: l.level})
			phase = append(phase, l.phase)
			k = len(p.stands) - 1
			if l.phase != anyPhase {
				p.stands[k].State = p.phases[l.phase]
			}
		}
		p.stands[k].Lines = append(p.stands[k].Lines, l)
	}
	for k := range p.stands {
		p.stands[k].Lines = together(p.stands[k].Lines)
	}
	last := slices.Max(append(slices.Clone(phase), 0))
	n := len(p.stands)
	for k := range last {
		s := Stand{Do: acts[k], State: p.phases[k+1]}
		where := c.Walk.Brake
		if acts[k] == "start the engine" {
			where = c.Walk.Engine
			if ds := c.DevicesOf("start-button"); where == "" && len(ds) > 0 {
				where = ds[0].Place
			}
		} else if where == "" {
			for _, f := range []string{"independent-handle", "straight-air-handle", "automatic-handle"} {
				if ds := c.DevicesOf(f); where == "" && len(ds) > 0 {
					where = ds[0].Place
				}
			}
		}
		place, ok := c.Place(where)
		if !ok && engine {
			return nil, &Unsaid{"walk: where one can " + acts[k]}
		}
		s.Place, s.Here = place, !ok
		act := len(p.stands)
		p.stands = append(p.stands, s)
		if k > 0 {
			p.before = append(p.before, [2]int{act - 1, act})
		}
		for i := range n {
			switch {
			case phase[i] == anyPhase:
			case phase[i] <= k:
				p.before = append(p.before, [2]int{i, act})
			default:
				p.before = append(p.before, [2]int{act, i})
			}
		}
	}
	at := map[string][]int{} // check to the stands at which it is made
	for i, s := range p.stands {
		for _, l := range s.Lines {
			for _, k := range l.Checks {
				at[k.ID] = append(at[k.ID], i)
			}
		}
	}
	for _, k := range c.Checks {
		for _, a := range k.After {
			for _, x := range at[a] {
				for _, y := range at[k.ID] {
					if x != y {
						p.before = append(p.before, [2]int{x, y})
					}
				}
			}
		}
	}
	return p, nil
}

// together puts the lines about one device behind each other.
func together(lines []Line) []Line {
	var out []Line
	for _, l := range lines {
		at := len(out)
		for i, o := range out {
			if l.Device != nil && o.Device == l.Device {
				at = i + 1
			}
		}
		out = slices.Insert(out, at, l)
	}
	return out
}

// lines are everything to be looked at, each with its place, state and level.
func (p *plan) lines(engine bool) []Line {
	c := p.class
	var out []Line
	own := map[string]int{} // device to its own line
	for _, d := range c.Devices {
		l := Line{Device: d, place: d.Place, phase: phaseOf(d.State, engine)}
		if _, ok := c.Place(d.Place); !ok {
			p.loose = append(p.loose, l)
			continue
		}
		own[d.ID] = len(out)
		out = append(out, l)
	}
	level := levels(c, engine)
	for _, k := range c.Checks {
		d, _ := c.Device(k.Device)
		l := Line{Device: d, Checks: []fleet.Check{k}, place: c.PlaceOf(k), level: level[k.ID]}
		if _, ok := c.Place(l.place); !ok {
			p.loose = append(p.loose, l)
			continue
		}
		if k.Measures == "travel" {
			for _, read := range []string{"applied", "released"} {
				l.Read, l.phase = read, phaseOf("brake "+read, engine)
				out = append(out, l)
			}
			continue
		}
		l.phase = checkPhase(c, k, engine)
		if i, ok := own[k.Device]; ok && l.level == 0 && out[i].place == l.place && out[i].phase == l.phase {
			out[i].Checks = append(out[i].Checks, k)
			continue
		}
		out = append(out, l)
	}
	return out
}

func checkPhase(c *fleet.Class, k fleet.Check, engine bool) int {
	state := k.State
	if d, ok := c.Device(k.Device); ok && state == "" && (k.Place == "" || k.Place == d.Place) {
		state = d.State
	}
	return phaseOf(state, engine)
}

// levels count, for each check, the longest chain of checks before it that changes place
// or state; checks of one place, state and level are made in one go.
func levels(c *fleet.Class, engine bool) map[string]int {
	out := map[string]int{}
	var of func(k fleet.Check) int
	of = func(k fleet.Check) int {
		if n, ok := out[k.ID]; ok {
			return n
		}
		n := 0
		for _, a := range k.After {
			if o, ok := c.Check(a); ok {
				step := 1
				if c.PlaceOf(o) == c.PlaceOf(k) && checkPhase(c, o, engine) == checkPhase(c, k, engine) && o.Measures != "travel" && k.Measures != "travel" {
					step = 0
				}
				n = max(n, of(o)+step)
			}
		}
		out[k.ID] = n
		return n
	}
	for _, k := range c.Checks {
		of(k)
	}
	return out
}

// key names a stand in a way that outlives a change of the record.
func (s Stand) key() string { return strings.Join([]string{s.Place.ID, s.State, s.Do}, "|") }

// basis is the hash of what the order rests on: ways, stands, and what must come first.
func (p *plan) basis() string {
	h := sha256.New()
	fmt.Fprintln(h, p.start, "|", p.finish)
	for _, x := range p.class.Ways {
		fmt.Fprintln(h, x.From, "|", x.To, "|", x.Seconds)
	}
	for _, s := range p.stands {
		fmt.Fprintln(h, s.key(), s.level, s.Here)
	}
	fmt.Fprintln(h, p.before)
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// problem is the plan as numbers: the start, the stands, and the finish if there is one.
func (p *plan) problem() tour.Problem {
	at := []string{p.start}
	here := []bool{false}
	for _, s := range p.stands {
		at, here = append(at, s.Place.ID), append(here, s.Here)
	}
	q := tour.Problem{Finish: tour.Free, Ways: true}
	if p.finish != "" {
		q.Finish = len(at)
		at, here = append(at, p.finish), append(here, false)
	}
	q.Here = here
	for i, a := range at {
		row := make([]float64, len(at))
		for j, b := range at {
			if !here[i] && !here[j] {
				row[j] = p.w.seconds(a, b)
			}
		}
		q.Cost = append(q.Cost, row)
	}
	for _, b := range p.before {
		q.Before = append(q.Before, [2]int{b[0] + 1, b[1] + 1})
	}
	return q
}

// Compute finds the shortest walk of a class from its record, whatever is frozen. An error
// is a *Unsaid.
func Compute(c *fleet.Class) (*Walk, error) {
	p, err := lay(c)
	if err != nil {
		return nil, err
	}
	t, err := tour.Shortest(p.problem())
	if err != nil {
		return nil, &Unsaid{"ways to every place, and checks that can come after each other: " + err.Error()}
	}
	var order []Stand
	for _, k := range t.Order {
		if k > 0 && k <= len(p.stands) {
			order = append(order, p.stands[k-1])
		}
	}
	w := p.walked(order)
	w.Proved, w.Lower, w.Orders, w.Cells = t.Proved, t.Lower, t.Orders, t.Cells
	return w, nil
}

// Of is the walk of a class in its frozen order, or in the computed one where none is
// frozen. Stands that the frozen order does not hold come at the end of their state, and
// are marked new.
func Of(c *fleet.Class) (*Walk, error) {
	if c.Order == nil {
		return Compute(c)
	}
	p, err := lay(c)
	if err != nil {
		return nil, err
	}
	used := make([]bool, len(p.stands))
	var order []Stand
	var gone []string
	for _, f := range c.Order.Stands {
		k := slices.IndexFunc(p.stands, func(s Stand) bool {
			return s.Place.ID == f.Place && s.State == f.State && s.Do == f.Do
		})
		for k >= 0 && used[k] { // a place gone to twice in one state
			next := slices.IndexFunc(p.stands[k+1:], func(s Stand) bool { return s.Place.ID == f.Place && s.State == f.State && s.Do == f.Do })
			if next < 0 {
				k = -1
				break
			}
			k += 1 + next
		}
		if k < 0 {
			gone = append(gone, f.Place)
			continue
		}
		used[k] = true
		order = append(order, p.stands[k])
	}
	for k, s := range p.stands {
		if used[k] {
			continue
		}
		s.New = true
		at := len(order)
		if s.Do != "" { // a new act opens its state
			at = slices.IndexFunc(order, func(o Stand) bool { return o.State == s.State })
			if at < 0 {
				at = len(order)
			}
		} else if s.State != "" {
			for i, o := range order {
				if o.State == s.State {
					at = i + 1
				}
			}
		}
		order = slices.Insert(order, at, s)
	}
	w := p.walked(order)
	w.Frozen, w.Gone, w.Proved = c.Order, gone, c.Order.Proved
	w.Stale = c.Order.Record != w.Basis
	w.Breaks = broken(c, order)
	return w, nil
}

// broken are the checks that an order makes before one they should follow.
func broken(c *fleet.Class, order []Stand) []string {
	first, last := map[string]int{}, map[string]int{}
	n := 0
	for _, s := range order {
		for _, l := range s.Lines {
			for _, k := range l.Checks {
				if _, ok := first[k.ID]; !ok {
					first[k.ID] = n
				}
				last[k.ID] = n
			}
			n++
		}
	}
	var out []string
	for _, k := range c.Checks {
		for _, a := range k.After {
			x, ok1 := last[a]
			y, ok2 := first[k.ID]
			if ok1 && ok2 && x > y {
				out = append(out, k.ID+" before "+a)
			}
		}
	}
	return out
}

// walked adds the ways between the stands of an order.
func (p *plan) walked(order []Stand) *Walk {
	c := p.class
	start, _ := c.Place(p.start)
	w := &Walk{Class: c, Start: start, Basis: p.basis(), Unplaced: p.loose}
	at := p.start
	for _, s := range order {
		if s.Here {
			s.Place, _ = c.Place(at)
		} else {
			s.Way, s.Seconds = p.w.legs(at, s.Place.ID), p.w.seconds(at, s.Place.ID)
			at = s.Place.ID
		}
		for _, l := range s.Lines {
			for _, k := range l.Checks {
				w.Takes += k.Takes
			}
		}
		w.Seconds += s.Seconds
		w.Stands = append(w.Stands, s)
	}
	if p.finish != "" {
		w.Seconds += p.w.seconds(at, p.finish)
	}
	return w
}

// Freeze is the walk's order as it is written into the class folder.
func (w *Walk) Freeze() *fleet.WalkOrder {
	o := &fleet.WalkOrder{Record: w.Basis, Proved: w.Proved, Seconds: w.Seconds}
	o.Revision = strings.TrimSpace(w.Class.Revision.State + " " + w.Class.Revision.Date)
	for _, s := range w.Stands {
		f := fleet.WalkStand{Place: s.Place.ID, State: s.State, Do: s.Do}
		if s.Here {
			f.Place = ""
		}
		o.Stands = append(o.Stands, f)
	}
	return o
}

// Places are the places of a class in the order in which its walk first comes to them; none
// where the record does not hold enough for a walk.
func Places(c *fleet.Class) []string {
	w, err := Of(c)
	if err != nil {
		return nil
	}
	var out []string
	for _, s := range w.Stands {
		if s.Do == "" && !slices.Contains(out, s.Place.ID) {
			out = append(out, s.Place.ID)
		}
	}
	return out
}
