package prepare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/circuit"
	"headstock/consist"
	"headstock/fleet"
)

// How far a start gets, what is in the way and what would put it right are found by
// running the record's own circuits; nothing here knows what a switch is for. Nothing is
// named as a thing to do that the record says must not be moved, must not be reset, or is
// sealed.

// Stage is one stage of a start and what became of it.
type Stage struct {
	Name   string  `json:"stage"`
	Result Outcome `json:"result"`
	At     float64 `json:"at_s,omitempty"` // s after the start was begun
	What   string  `json:"what,omitempty"` // what is done in its step, in the record's words
}

// Outcome is what became of a stage.
type Outcome string

// The outcomes.
const (
	Reached    Outcome = "reached"
	NotReached Outcome = "not reached"
	NotKnown   Outcome = "cannot say"
	NotTried   Outcome = "not tried"
)

// Sign is a lamp or a bell that a person can see or hear.
type Sign struct {
	Device string         `json:"device"`
	Name   string         `json:"name"`
	Place  string         `json:"place"`
	Looks  string         `json:"looks,omitempty"`
	Worked bool           `json:"worked"` // false: it cannot be said whether it is
	Of     *fleet.Device  `json:"-"`
	Part   *fleet.Element `json:"-"`
}

// Moved is a device that moved by itself during the start.
type Moved struct {
	Device string  `json:"device"`
	Name   string  `json:"name"`
	To     string  `json:"to"`
	At     float64 `json:"at_s"`
}

// Forbidden is a trip that stands tripped and that the record says must never be reset by
// the crew.
type Forbidden struct {
	Device *fleet.Device `json:"-"`
	ID     string        `json:"device"`
	Name   string        `json:"name"`
	Never  string        `json:"never"`
	Then   string        `json:"then,omitempty"`
	During bool          `json:"during_start,omitempty"` // it acted during the run
}

// Remedy is one device that stands otherwise than the record says for a start. Putting
// it back lets the start get as far as Reaches.
type Remedy struct {
	Device   *fleet.Device `json:"-"`
	ID       string        `json:"device"`
	Name     string        `json:"name"`
	Place    string        `json:"place"`
	From     string        `json:"stands"`
	To       string        `json:"to"`
	Reaches  string        `json:"reaches,omitempty"` // the last stage reached with it alone; empty when that is no further
	Trip     bool          `json:"trip,omitempty"`
	Walk     float64       `json:"walk_s"`             // s on foot from where the start is worked; negative: no way is recorded
	Withheld string        `json:"withheld,omitempty"` // why it is not a thing to do
}

// Loop is a group of relays that does not settle by itself.
type Loop struct {
	Kind   string   `json:"kind"`
	Things []string `json:"things"`
}

// Attempt is one start of one engine as the record's circuits run it.
type Attempt struct {
	Unit    string      `json:"unit"`
	Start   string      `json:"start"`
	Name    string      `json:"name"`
	Result  Outcome     `json:"result"` // of the last stage: whether the start goes through
	Stages  []Stage     `json:"stages"`
	Shows   []Sign      `json:"shows"`           // when the start ends or stops
	Moved   []Moved     `json:"moved,omitempty"` // by itself
	Never   []Forbidden `json:"never,omitempty"`
	Singles []Remedy    `json:"remedies,omitempty"` // each alone gets further, in order of the walk
	Set     []Remedy    `json:"together,omitempty"` // together they get as far as anything does; when no single one does
	SetTo   string      `json:"together_reach,omitempty"`
	Held    []Remedy    `json:"withheld,omitempty"`  // would get further and are not the crew's to move
	Others  []Remedy    `json:"otherwise,omitempty"` // stand otherwise than the record says, and do not stop the start at this stage by themselves
	Loops   []Loop      `json:"loops,omitempty"`
	Short   bool        `json:"short,omitempty"` // plus and minus are joined with nothing between
	Needs   []string    `json:"needs,omitempty"` // what is not known and decides
	Assumed []Assumed   `json:"assumed"`         // where devices are taken to stand because nobody said otherwise
	Runs    int         `json:"runs"`

	Class  *fleet.Class `json:"-"`
	Record *fleet.Start `json:"-"`
}

// Assumed is a device that was taken to stand as the record's start says.
type Assumed struct {
	Device   string `json:"device"`
	Name     string `json:"name"`
	Position string `json:"position"`
}

// Starts are the ids of the starts that the record of a vehicle describes.
func Starts(v *consist.Vehicle) []string {
	var out []string
	for _, s := range v.Class.Starts {
		out = append(out, s.ID)
	}
	return out
}

// Crank runs one start of a vehicle. Devices stand where the consist was told they do,
// else where the record's start says, else where the role and the unit's state of today
// put them. An error is a *consist.CannotSay, or names a start that is not there.
func Crank(c *consist.Consist, vehicle int, start string) (*Attempt, error) {
	v := c.Vehicles[vehicle]
	if len(v.Class.Starts) == 0 {
		return nil, &consist.CannotSay{Class: v.Class.Name, What: "how " + v.Name() + " starts", Needs: fmt.Sprintf("circuits and starts in the record of class %s", v.Class.Name)}
	}
	b := newStarter(c, vehicle)
	for _, s := range v.Class.Starts {
		if s.ID == start || start == "" && len(v.Class.Starts) == 1 {
			b.start = s
		}
	}
	if b.start == nil {
		return nil, fmt.Errorf("%s has no start %q; expected one of %s", v.Name(), start, strings.Join(Starts(v), ", "))
	}
	b.stand()
	return b.attempt(), nil
}

// starter is what the runs of one start share.
type starter struct {
	c        *consist.Consist
	vehicle  *consist.Vehicle
	index    int
	start    *fleet.Start
	diagram  circuit.Diagram
	wiring   *fleet.Wiring
	standing map[string]string // where the record wants a device before the start
	now      map[string]string // where it stands
	assumed  []Assumed
	runs     int
}

func newStarter(c *consist.Consist, vehicle int) *starter {
	b := &starter{c: c, vehicle: c.Vehicles[vehicle], index: vehicle, standing: map[string]string{}, now: map[string]string{}}
	b.wiring = b.vehicle.Class.Wire(&b.diagram, b.vehicle.Unit, "")
	return b
}

// stand works out where every device is wanted and where it stands.
func (b *starter) stand() {
	v := b.vehicle
	var starts []fleet.Claim
	if b.start != nil {
		starts = b.claims(b.start.Stands)
	}
	roles := b.c.RoleClaims(b.index)
	last := func(list []fleet.Claim, id string) (string, bool) {
		for _, cl := range slices.Backward(list) {
			if cl.Device == id {
				return cl.Position, true
			}
		}
		return "", false
	}
	for _, x := range b.wiring.Devices {
		d := x.Device
		want := d.Normal
		for _, o := range v.Unit.State {
			if o.Device == d.ID && o.Property == "normal" {
				want = o.Value
			}
		}
		if p, ok := last(roles, d.ID); ok {
			want = p
		}
		stands, _ := b.c.Position(b.index, d.ID)
		entered := false
		for _, ch := range b.c.Changed {
			entered = entered || ch.Vehicle == b.index && ch.Device == d.ID
		}
		if p, ok := last(starts, d.ID); ok {
			want = p
			if !entered {
				if stands != p {
					b.assumed = append(b.assumed, Assumed{d.ID, d.Name, p})
				}
				stands = p
			}
		}
		if how, _ := v.Unit.Fitted(d); how != "yes" || !v.Unit.Carries(v.Class, d) {
			stands = "" // the record does not say how the circuit goes past it
		}
		b.standing[d.ID], b.now[d.ID] = want, stands
	}
}

// claims are the devices of a stand, those of the driving cab by id.
func (b *starter) claims(s fleet.Stand) []fleet.Claim {
	out := slices.Clone(s.Positions)
	for _, cl := range s.ThisCab {
		for _, d := range b.vehicle.Class.Devices {
			if d.Cab != 0 && (d.Cab == b.vehicle.Cab || b.vehicle.Cab == 0) && d.Function == cl.Device {
				out = append(out, fleet.Claim{Device: d.ID, Position: cl.Position})
			}
		}
	}
	return out
}

// run is one run of the start.
type run struct {
	stages []Stage
	state  *circuit.State
	moved  []Moved
	loops  []Loop
	short  bool
	got    int // how many stages were reached
}

// steps is the most steps a run may take: a flasher left on must not run for ever.
const steps = 10000

// begin is the state before the start: everything dead, then the devices as they stand.
func (b *starter) begin(at map[string]string) *circuit.State {
	s := b.diagram.State()
	for _, x := range b.wiring.Devices {
		b.put(s, x, at[x.Device.ID])
	}
	s.Dead()
	s.Settle()
	return s
}

func (b *starter) put(s *circuit.State, x fleet.WiredDevice, position string) {
	s.Put(x.Thing, slices.IndexFunc(x.Device.Positions, func(p fleet.Position) bool { return p.ID == position }))
}

// run starts with the devices at the given positions.
func (b *starter) run(at map[string]string) *run {
	b.runs++
	r := &run{state: b.begin(at)}
	s := r.state
	stands := map[string]string{}
	for k, p := range at {
		stands[k] = p
	}
	look := func() {
		for _, f := range s.Found {
			l := Loop{Kind: string(f.Kind)}
			for _, t := range f.Things {
				l.Things = append(l.Things, b.wiring.Say(t))
			}
			if !slices.ContainsFunc(r.loops, func(o Loop) bool { return o.Kind == l.Kind && slices.Equal(o.Things, l.Things) }) {
				r.loops = append(r.loops, l)
			}
		}
		r.short = r.short || s.Short() == circuit.Yes
		for _, x := range b.wiring.Devices {
			if x.Trip == nil {
				continue
			}
			if p, known := s.At(x.Thing); known && x.Device.Positions[p].ID != stands[x.Device.ID] {
				stands[x.Device.ID] = x.Device.Positions[p].ID
				r.moved = append(r.moved, Moved{x.Device.ID, x.Device.Name, x.Device.Positions[p].ID, s.Now})
			}
		}
	}
	look()
	taken := 0
	step := func(until float64) bool {
		taken++
		ok := taken < steps && s.Step(until)
		look()
		return ok
	}
	stopped := false
	for _, st := range b.start.Steps {
		if stopped {
			if st.Stage != "" {
				r.stages = append(r.stages, Stage{Name: st.Stage, Result: NotTried, What: st.What})
			}
			continue
		}
		// one thing at a time, as a person does
		for _, cl := range b.claims(st.Move) {
			if x, ok := b.wiring.Device(cl.Device); ok {
				b.put(s, x, cl.Position)
				stands[cl.Device] = cl.Position
				s.Settle()
				look()
			}
		}
		for until := s.Now + st.Wait; step(until); {
		}
		if st.Stage == "" {
			continue
		}
		shows := b.wiring.When(st.Shows)
		for until := s.Now + st.Within; s.Holds(shows) != circuit.Yes && step(until); {
		}
		g := Stage{Name: st.Stage, Result: Reached, At: s.Now, What: st.What}
		switch {
		case r.short:
			g.Result = NotKnown
		case s.Holds(shows) == circuit.No:
			g.Result = NotReached
		case s.Holds(shows) == circuit.Unknown:
			g.Result = NotKnown
		}
		if stopped = g.Result != Reached; !stopped {
			r.got++
		}
		r.stages = append(r.stages, g)
	}
	return r
}

// attempt runs the start as things stand and then with each device put back.
func (b *starter) attempt() *Attempt {
	v := b.vehicle
	a := &Attempt{Unit: v.Name(), Start: b.start.ID, Name: b.start.Name, Class: v.Class, Record: b.start, Assumed: b.assumed}
	base := b.run(b.now)
	a.Stages, a.Moved, a.Loops, a.Short = base.stages, base.moved, base.loops, base.short
	a.Result = Reached
	for _, g := range base.stages {
		if g.Result != Reached && a.Result == Reached {
			a.Result = g.Result
		}
	}
	a.Shows = b.signs(base.state)
	for _, x := range b.wiring.Devices {
		if x.Trip == nil || !x.Device.Tries.Forbids() {
			continue
		}
		to := x.Trip.Text("moves to")
		found := b.now[x.Device.ID] == to
		acted := slices.ContainsFunc(base.moved, func(m Moved) bool { return m.Device == x.Device.ID && m.To == to })
		if found || acted {
			a.Never = append(a.Never, Forbidden{x.Device, x.Device.ID, x.Device.Name, x.Device.Tries.Never, x.Device.Tries.Then, acted && !found})
		}
	}
	if a.Result == NotKnown {
		for _, x := range b.wiring.Devices {
			if b.now[x.Device.ID] != "" {
				continue
			}
			need := fmt.Sprintf("how %s (%s) stands", x.Device.Name, x.Device.ID)
			if how, o := v.Unit.Fitted(x.Device); how != "yes" {
				need = fmt.Sprintf("how the circuit goes past %s (%s), which is %s on this unit", x.Device.Name, x.Device.ID, how)
				if o != nil && o.Date != "" {
					need += " since " + o.Date
				}
			}
			a.Needs = append(a.Needs, need)
		}
	}
	if len(a.Never) == 0 {
		b.remedies(a, base)
	}
	a.Runs = b.runs
	return a
}

// remedies runs the start with each device that stands otherwise than the record says
// put back, alone; and finds a smallest group that gets as far as putting back all does.
// Other positions than the record's are not tried: a way round a protection is no remedy.
func (b *starter) remedies(a *Attempt, base *run) {
	walk := b.walks()
	var open []Remedy
	for _, x := range b.wiring.Devices {
		d := x.Device
		stands, want := b.now[d.ID], b.standing[d.ID]
		if stands == want || want == "" || stands == "" {
			continue
		}
		r := Remedy{Device: d, ID: d.ID, Name: d.Name, Place: d.Place, From: stands, To: want, Trip: x.Trip != nil, Walk: walk(d.Place)}
		switch {
		case d.MustNotMove:
			r.Withheld = "must not be moved"
		case d.Sealed:
			r.Withheld = "sealed"
		}
		if r.Withheld == "" {
			open = append(open, r)
		}
		at := clone(b.now)
		at[d.ID] = want
		got := base
		if a.Result != Reached {
			got = b.run(at)
		}
		if got.got <= base.got {
			a.Others = append(a.Others, r)
			continue
		}
		r.Reaches = got.stages[got.got-1].Name
		if r.Withheld != "" {
			a.Held = append(a.Held, r)
		} else {
			a.Singles = append(a.Singles, r)
		}
	}
	near := func(x, y Remedy) int {
		// what no way leads to stands last
		far := func(w float64) float64 {
			if w < 0 {
				return math.Inf(1)
			}
			return w
		}
		switch {
		case far(x.Walk) < far(y.Walk):
			return -1
		case far(x.Walk) > far(y.Walk):
			return 1
		}
		return 0
	}
	slices.SortStableFunc(a.Singles, near)
	slices.SortStableFunc(a.Held, near)
	slices.SortStableFunc(a.Others, near)
	slices.SortStableFunc(open, near)
	if a.Result == Reached {
		return
	}
	all := clone(b.now)
	for _, r := range open {
		all[r.ID] = r.To
	}
	best := b.run(all)
	if best.got <= base.got || slices.ContainsFunc(a.Singles, func(r Remedy) bool { return r.Reaches == best.stages[best.got-1].Name }) {
		return
	}
	// leave out whatever is not needed, the farthest first
	set := slices.Clone(open)
	for i := len(set) - 1; i >= 0; i-- {
		at := clone(all)
		at[set[i].ID] = b.now[set[i].ID]
		if b.run(at).got >= best.got {
			all = at
			set = slices.Delete(set, i, i+1)
		}
	}
	a.Set, a.SetTo = set, best.stages[best.got-1].Name
	for i, r := range a.Set {
		for _, one := range a.Singles {
			if one.ID == r.ID {
				a.Set[i].Reaches = one.Reaches
			}
		}
	}
	a.Others = slices.DeleteFunc(a.Others, func(r Remedy) bool {
		return slices.ContainsFunc(a.Set, func(s Remedy) bool { return s.ID == r.ID })
	})
}

func clone(m map[string]string) map[string]string {
	out := make(map[string]string, len(m))
	for k, v := range m {
		out[k] = v
	}
	return out
}

// signs are the lamps and bells that are worked, or of which it cannot be said.
func (b *starter) signs(s *circuit.State) []Sign {
	out := []Sign{}
	for _, x := range b.wiring.Parts {
		if x.Part.Kind != "lamp" && x.Part.Kind != "bell" {
			continue
		}
		d, ok := b.vehicle.Class.Device(x.Part.Text("device"))
		if !ok {
			continue
		}
		if how, _ := b.vehicle.Unit.Fitted(d); how != "yes" {
			continue
		}
		on := s.Stands(x.Thing, circuit.Worked)
		if on == circuit.No {
			continue
		}
		sign := Sign{Device: d.ID, Name: d.Name, Place: d.Place, Worked: on == circuit.Yes, Of: d, Part: x.Part}
		if p, ok := d.Position(x.Part.Text("shows")); ok {
			sign.Looks = p.Looks
		}
		out = append(out, sign)
	}
	return out
}

// walks gives the time on foot to a place from where the start is worked: the place of
// the first device that the step to cranking moves. It is negative where no way leads.
func (b *starter) walks() func(place string) float64 {
	from := ""
	for _, st := range b.start.Steps {
		for _, cl := range b.claims(st.Move) {
			if d, ok := b.vehicle.Class.Device(cl.Device); ok && st.Stage == "cranks" && from == "" {
				from = d.Place
			}
		}
	}
	far := map[string]float64{from: 0}
	done := map[string]bool{}
	for {
		at, best := "", math.Inf(1)
		for _, p := range b.vehicle.Class.Places {
			if t, ok := far[p.ID]; ok && !done[p.ID] && t < best {
				at, best = p.ID, t
			}
		}
		if at == "" {
			break
		}
		done[at] = true
		for _, w := range b.vehicle.Class.Ways {
			for _, end := range [][2]string{{w.From, w.To}, {w.To, w.From}} {
				if t, ok := far[end[1]]; end[0] == at && (!ok || best+w.Seconds < t) {
					far[end[1]] = best + w.Seconds
				}
			}
		}
	}
	return func(place string) float64 {
		if t, ok := far[place]; ok && place != "" {
			return t
		}
		return -1
	}
}
