package air

// switcher decides the next discrete state of an element from the pressures. It must
// be pure: memory is advanced by remember, once a step has been accepted.
type switcher interface {
	next(r *Run, p []float64, state uint8, mem []float64, dt float64) uint8
	remember(r *Run, p []float64, state uint8, mem []float64, dt float64)
	begin(r *Run, p []float64, mem []float64)
	memory() int
}

// noMemory is embedded by switches whose state is all they remember.
type noMemory struct{}

func (noMemory) remember(*Run, []float64, uint8, []float64, float64) {}
func (noMemory) begin(*Run, []float64, []float64)                    {}
func (noMemory) memory() int                                         { return 0 }

// thresholds snaps to lowState at or below low and to highState at or above high
// (gauge pascals of a node).
type thresholds struct {
	noMemory
	watches             Node
	low, high           float64
	lowState, highState uint8
}

func (t *thresholds) next(r *Run, p []float64, state uint8, _ []float64, _ float64) uint8 {
	g := p[t.watches] - r.cond.Atmosphere
	if g <= t.low {
		return t.lowState
	}
	if g >= t.high {
		return t.highState
	}
	return state
}

// PilotAbove adds a switch that is tripped (1) above trips and normal (0) below resets.
// Both are gauge pressures, Pa.
func (b *Builder) PilotAbove(name string, watches Node, trips, resets float64) Switch {
	return b.addSwitch(name, &thresholds{watches: watches, low: resets, high: trips, lowState: 0, highState: 1}, 0)
}

// PilotBelow adds a switch that is tripped (1) below trips and normal (0) above resets.
// Both are gauge pressures, Pa.
func (b *Builder) PilotBelow(name string, watches Node, trips, resets float64) Switch {
	return b.addSwitch(name, &thresholds{watches: watches, low: trips, high: resets, lowState: 1, highState: 0}, 0)
}

// SafetyValve adds a relief valve and returns its switch (1 lifted). Its pressures are
// gauge, Pa.
func (b *Builder) SafetyValve(name string, on Node, lifts, reseats float64, o Orifice) (Switch, Edge) {
	sw := b.addSwitch(name, &thresholds{watches: on, low: reseats, high: lifts, lowState: 0, highState: 1}, 0)
	e := b.Passage(name, on, Atmosphere, o)
	b.Guard(e, -1, Cond{sw, 1 << 1})
	return sw, e
}

// shuttle is a double check valve: state 0 joins a, 1 joins b.
type shuttle struct {
	noMemory
	a, b Node
	hyst float64
}

func (s *shuttle) next(_ *Run, p []float64, state uint8, _ []float64, _ float64) uint8 {
	if state == 0 && p[s.b] > p[s.a]+s.hyst {
		return 1
	}
	if state == 1 && p[s.a] > p[s.b]+s.hyst {
		return 0
	}
	return state
}

// DoubleCheck adds a double check valve: the higher of a and b goes to out.
func (b *Builder) DoubleCheck(name string, in1, in2, out Node, o Orifice, hyst float64) Switch {
	sw := b.addSwitch(name, &shuttle{a: in1, b: in2, hyst: hyst}, 0)
	b.Guard(b.Passage(name+" a", in1, out, o), -1, Cond{sw, 1 << 0})
	b.Guard(b.Passage(name+" b", in2, out, o), -1, Cond{sw, 1 << 1})
	return sw
}

// latch is set and cleared by guards; clearing wins.
type latch struct {
	noMemory
	sets, clears []alt
}

func (l *latch) next(r *Run, _ []float64, state uint8, _ []float64, _ float64) uint8 {
	if r.opening(l.clears, 0) > 0 {
		return 0
	}
	if r.opening(l.sets, 0) > 0 {
		return 1
	}
	return state
}

// Latch adds a switch that remembers (1) that something happened until cleared (0).
// Add its alternatives with SetsLatch and ClearsLatch.
func (b *Builder) Latch(name string) Switch { return b.addSwitch(name, &latch{}, 0) }

// SetsLatch adds an alternative that sets a latch.
func (b *Builder) SetsLatch(s Switch, slot Slot, conds ...Cond) {
	l := b.switches[s].(*latch)
	l.sets = append(l.sets, alt{slot, conds})
}

// ClearsLatch adds an alternative that clears a latch.
func (b *Builder) ClearsLatch(s Switch, slot Slot, conds ...Cond) {
	l := b.switches[s].(*latch)
	l.clears = append(l.clears, alt{slot, conds})
}

// ReleaseSpec describes a quick-release valve.
type ReleaseSpec struct {
	BrakePipe                          Node
	Pilot                              Node
	Second                             Node    // -1 none
	OpensAbove, FurtherFall, FollowsAt float64 // gauge Pa on the pilot; Pa that the pipe falls before it shuts; gauge Pa of the pipe below which the pilot alone counts
}

// releaseValve opens (1) on its pilot and stays open until the brake pipe has fallen
// further than the pressure at which it opened; with the pipe nearly empty it follows
// the pilot alone. Memory: lowest brake-pipe pressure to hold against.
type releaseValve struct {
	s             ReleaseSpec
	guard, second []alt
}

func (v *releaseValve) memory() int                      { return 1 }
func (v *releaseValve) begin(*Run, []float64, []float64) {}
func (v *releaseValve) pressed(r *Run, p []float64) bool {
	atm := r.cond.Atmosphere
	if p[v.s.Pilot]-atm > v.s.OpensAbove && r.opening(v.guard, 1) > 0 {
		return true
	}
	return v.s.Second >= 0 && p[v.s.Second]-atm > v.s.OpensAbove && r.opening(v.second, 1) > 0
}

func (v *releaseValve) next(r *Run, p []float64, state uint8, mem []float64, _ float64) uint8 {
	if v.pressed(r, p) {
		return 1
	}
	if state == 0 {
		return 0
	}
	if p[v.s.BrakePipe]-r.cond.Atmosphere < v.s.FollowsAt || p[v.s.BrakePipe] < mem[0]-v.s.FurtherFall {
		return 0
	}
	return 1
}

func (v *releaseValve) remember(r *Run, p []float64, state uint8, mem []float64, _ float64) {
	// While held open by the pilot the reference follows the pipe, so that only a fall
	// after the press-down shuts the valve; a rising pipe raises the reference.
	if state == 1 && (v.pressed(r, p) || p[v.s.BrakePipe] > mem[0]) {
		mem[0] = p[v.s.BrakePipe]
	}
}

// ReleaseValve adds a quick-release valve; guard its pilots with GuardRelease.
func (b *Builder) ReleaseValve(name string, s ReleaseSpec) Switch {
	return b.addSwitch(name, &releaseValve{s: s}, 0)
}

// GuardRelease adds an alternative under which the first (or second) pilot reaches the valve.
func (b *Builder) GuardRelease(sw Switch, second bool, slot Slot, conds ...Cond) {
	v := b.switches[sw].(*releaseValve)
	if second {
		v.second = append(v.second, alt{slot, conds})
		return
	}
	v.guard = append(v.guard, alt{slot, conds})
}

// ventValve opens (1) when the pipe falls faster than its chamber can follow, and shuts
// once the pipe is nearly empty. Open it empties its chamber with the pipe: shut, it does
// not trip again on what it has let go itself. Memory: chamber pressure.
type ventValve struct {
	pipe       Node
	rate, trip float64
	shutsAt    float64
}

const chamberLag = 0.02 // s, breather of the chamber at small differences

func (v *ventValve) memory() int                              { return 1 }
func (v *ventValve) begin(_ *Run, p []float64, mem []float64) { mem[0] = p[v.pipe] }
func (v *ventValve) chamber(p, q, dt float64) float64 {
	d := q - p
	if d <= 0 {
		return p
	}
	fall := float64(d * dt / (chamberLag + dt))
	if fall > v.rate*dt {
		fall = float64(v.rate * dt)
	}
	return q - fall
}
func (v *ventValve) next(r *Run, p []float64, state uint8, mem []float64, dt float64) uint8 {
	if state == 1 {
		if p[v.pipe]-r.cond.Atmosphere < v.shutsAt {
			return 0
		}
		return 1
	}
	if v.chamber(p[v.pipe], mem[0], dt)-p[v.pipe] > v.trip && p[v.pipe]-r.cond.Atmosphere > v.shutsAt {
		return 1
	}
	return 0
}
func (v *ventValve) remember(_ *Run, p []float64, state uint8, mem []float64, dt float64) {
	if state == 1 {
		mem[0] = p[v.pipe]
		return
	}
	mem[0] = v.chamber(p[v.pipe], mem[0], dt)
}

// VentValve adds an emergency vent on a pipe: its chamber follows the pipe down at most
// at rate (Pa/s); it trips when the chamber stands trip above the pipe.
func (b *Builder) VentValve(name string, pipe Node, o Orifice, rate, trip, shutsAt float64) (Switch, Edge) {
	sw := b.addSwitch(name, &ventValve{pipe: pipe, rate: rate, trip: trip, shutsAt: shutsAt}, 0)
	e := b.Passage(name, pipe, Atmosphere, o)
	b.Guard(e, -1, Cond{sw, 1 << 1})
	return sw, e
}

// States of a direct-release distributor.
const (
	Release uint8 = iota
	Service
	Lap
	Emergency
)

// DirectSpec describes a direct-release distributor: brake pipe against an auxiliary
// reservoir. Zero orifices are absent. With Retarded, the cylinder is let off through it
// instead of Discharge for as long as the pipe stands Retards above the reservoir, as it does near
// the head of a train that is released. It applies when the pipe has fallen Applies below the
// reservoir. From then on its graduating valve lets air to the cylinder, shut at a difference
// of Laps and wide open at Wide, so that the reservoir follows the pipe down; a rise of
// ReleaseDiff over the reservoir releases.
type DirectSpec struct {
	Name                               string
	Pipe, Auxiliary, Cylinder, Exhaust Node
	EmergencyReservoir                 Node // -1 none
	Charge, Fill, Discharge            Orifice
	EmergencyCharge, EmergencyFill     Orifice
	Bulb                               float64 // m3, 0 none
	BulbO                              Orifice
	Vent                               Switch  // -1 none
	Applies, Laps, Wide, ReleaseDiff   float64 // Pa
	Retarded                           Orifice
	Retards                            float64 // Pa
}

// direct is the state machine of the distributor.
type direct struct {
	noMemory
	s DirectSpec
}

func (d *direct) next(r *Run, p []float64, state uint8, _ []float64, _ float64) uint8 {
	x := p[d.s.Auxiliary] - p[d.s.Pipe]
	vented := d.s.Vent >= 0 && r.state[d.s.Vent] == 1
	if vented && state != Emergency {
		return Emergency
	}
	switch state {
	case Release:
		if x > d.s.Applies {
			return Service
		}
	case Service:
		if x < 0 { // below Laps the graduating valve is shut already
			return Lap
		}
	case Lap:
		if x > d.s.Laps {
			return Service
		}
		if -x > d.s.ReleaseDiff {
			return Release
		}
	case Emergency:
		if !vented && -x > d.s.ReleaseDiff {
			return Release
		}
	}
	return state
}

// quick is the quick-service bulb: 1 from the first move out of release until the
// cylinder has begun to fill, 2 until the next release.
type quick struct {
	noMemory
	of       Switch
	cylinder Node
	upTo     float64
}

func (q *quick) next(r *Run, p []float64, state uint8, _ []float64, _ float64) uint8 {
	if r.state[q.of] == Release {
		return 0
	}
	if state == 0 {
		return 1
	}
	if state == 1 && p[q.cylinder]-r.cond.Atmosphere > q.upTo {
		return 2
	}
	return state
}

// retarding is the slide of a retarded release: 1 while the pipe pushes it against its
// spring. It comes back a tenth of the spring lower (common practice: some friction).
type retarding struct {
	noMemory
	pipe, reservoir Node
	at              float64
}

func (s *retarding) next(_ *Run, p []float64, state uint8, _ []float64, _ float64) uint8 {
	x := p[s.pipe] - p[s.reservoir]
	if state == 0 && x > s.at {
		return 1
	}
	if state == 1 && x < 0.9*s.at {
		return 0
	}
	return state
}

// DirectDistributor adds a direct-release distributor.
func (b *Builder) DirectDistributor(s DirectSpec) Switch {
	sw := b.addSwitch(s.Name, &direct{s: s}, Release)
	on := func(e Edge, states ...uint8) {
		var m uint32
		for _, st := range states {
			m |= 1 << st
		}
		b.Guard(e, -1, Cond{sw, m})
	}
	on(b.Passage(s.Name+" charge", s.Pipe, s.Auxiliary, s.Charge), Release)
	on(b.edge(edge{name: s.Name + " fill", kind: graduatingEdge, from: s.Auxiliary, to: s.Cylinder, o: s.Fill, control: s.Pipe, dead: s.Laps, bnd: s.Wide - s.Laps}), Service)
	exhaust := b.Passage(s.Name+" exhaust", s.Cylinder, s.Exhaust, s.Discharge)
	if s.Retarded.C > 0 {
		slow := b.addSwitch(s.Name+" retarding", &retarding{pipe: s.Pipe, reservoir: s.Auxiliary, at: s.Retards}, 0)
		b.Guard(exhaust, -1, Cond{sw, 1 << Release}, Cond{slow, 1 << 0})
		b.Guard(b.Passage(s.Name+" retarded exhaust", s.Cylinder, s.Exhaust, s.Retarded), -1, Cond{sw, 1 << Release}, Cond{slow, 1 << 1})
	} else {
		on(exhaust, Release)
	}
	quickFill := s.EmergencyFill
	if quickFill.C == 0 {
		quickFill = Orifice{s.Fill.C * 2.5, s.Fill.B}
	}
	on(b.Passage(s.Name+" emergency fill", s.Auxiliary, s.Cylinder, quickFill), Emergency)
	if s.EmergencyReservoir >= 0 {
		on(b.Check(s.Name+" emergency charge", s.Pipe, s.EmergencyReservoir, s.EmergencyCharge, 0), Release)
		on(b.Passage(s.Name+" emergency reservoir", s.EmergencyReservoir, s.Cylinder, quickFill), Emergency)
	}
	if s.Bulb > 0 {
		b.bulb(s.Name, sw, s.Pipe, s.Cylinder, s.Bulb, s.BulbO)
	}
	return sw
}

func (b *Builder) bulb(name string, of Switch, pipe, cylinder Node, v float64, o Orifice) {
	n := b.Volume(name+" bulb", v)
	q := b.addSwitch(name+" quick service", &quick{of: of, cylinder: cylinder, upTo: 50e3}, 0)
	b.Guard(b.Passage(name+" bulb fill", pipe, n, o), -1, Cond{q, 1 << 1})
	b.Guard(b.Passage(name+" bulb drain", n, Atmosphere, Hole(1e-3, 0.8)), -1, Cond{q, 1 << 0})
}

// GraduatedSpec describes a graduated-release distributor.
type GraduatedSpec struct {
	Name                                        string
	Pipe, Auxiliary, Control, Cylinder, Exhaust Node
	Charge, ControlCharge, Fill, InShot         Orifice
	Discharge                                   Orifice
	Gain, Highest, Offset, Applies, Reopens     float64 // Pa of cylinder for a Pa of pipe; the others Pa
	InShotTo                                    float64 // gauge Pa in the cylinder
	Bulb                                        float64 // m3; 0: none
	BulbO                                       Orifice
}

// graduated is applied (1) from the moment the pipe has fallen Applies below the
// control reservoir until it is back within Reopens with the cylinder nearly empty.
type graduated struct {
	noMemory
	s GraduatedSpec
}

func (g *graduated) next(r *Run, p []float64, state uint8, _ []float64, _ float64) uint8 {
	x := p[g.s.Control] - p[g.s.Pipe]
	if state == 0 && x > g.s.Applies {
		return 1
	}
	if state == 1 && x < g.s.Reopens && p[g.s.Cylinder]-r.cond.Atmosphere < 10e3 {
		return 0
	}
	return state
}

// GraduatedDistributor adds a graduated-release distributor.
func (b *Builder) GraduatedDistributor(s GraduatedSpec) Switch {
	sw := b.addSwitch(s.Name, &graduated{s: s}, 0)
	b.Check(s.Name+" charge", s.Pipe, s.Auxiliary, s.Charge, 2e3)
	e := b.Passage(s.Name+" control charge", s.Pipe, s.Control, s.ControlCharge)
	b.Guard(e, -1, Cond{sw, 1 << 0})
	t := target{slot: -1, control: -1, graduated: true, reservoir: s.Control, pipe: s.Pipe, gain: s.Gain, offset: s.Offset, cap: s.Highest, floor: 60e3, state: sw}
	b.targets = append(b.targets, t)
	k := int32(len(b.targets) - 1)
	b.edge(edge{name: s.Name + " fill", kind: supplyEdge, from: s.Auxiliary, to: s.Cylinder, o: s.Fill, target: k, dead: 2e3, bnd: 5e3})
	b.edge(edge{name: s.Name + " exhaust", kind: exhaustEdge, from: s.Cylinder, to: s.Exhaust, o: s.Discharge, target: k, dead: 6e3, bnd: 5e3})
	if s.InShot.C > 0 {
		t.inShot, t.inShotUpTo = 1, s.InShotTo
		b.targets = append(b.targets, t)
		b.edge(edge{name: s.Name + " in-shot", kind: supplyEdge, from: s.Auxiliary, to: s.Cylinder, o: s.InShot, target: int32(len(b.targets) - 1), dead: 2e3, bnd: 5e3})
	}
	if s.Bulb > 0 {
		b.bulb(s.Name, sw, s.Pipe, s.Cylinder, s.Bulb, s.BulbO)
	}
	return sw
}
