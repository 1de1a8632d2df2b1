package haul

import (
	"fmt"
	"math"

	"headstock/consist"
	"headstock/motion"
	"headstock/rule"
	"headstock/trial"
)

// MoveOffAsk is a start from a stand.
type MoveOffAsk struct {
	Rising  float64 // slope, above 0 where it rises ahead
	Radius  float64 // m, of a curve under the train; 0: straight
	Rail    motion.Rail
	Weather Weather
}

// MoveOffAnswer is whether a train gets away, and whether it runs back first.
type MoveOffAnswer struct {
	Consist   string      `json:"consist"`
	Rising    float64     `json:"rising"`
	Radius    float64     `json:"radius"`
	Rail      motion.Rail `json:"rail"`
	Mass      float64     `json:"mass"`
	Pull      float64     `json:"pull"`     // N that the engines give at a stand
	Grade     float64     `json:"grade"`    // N with which the grade pulls back
	Starting  float64     `json:"starting"` // N of resistance at a stand, with the curve
	Surplus   float64     `json:"surplus"`  // N in hand with which it must begin
	Starts    bool        `json:"starts"`
	Coupling  float64     `json:"coupling"` // N in the coupling that is pulled hardest
	Between   string      `json:"between"`  // which that is
	Drawgear  float64     `json:"drawgear"` // N that it may be pulled with; 0 not stated
	Stood     float64     `json:"stood"`    // N that the full service application holds it with beforehand
	Holds     bool        `json:"holds"`    // that is enough
	Back      *RollBack   `json:"back"`     // released with no other brake on; nil where the grade does not pull back
	Kept      *RollBack   `json:"kept"`     // with the locomotive brake left on; nil where not run
	NotKept   string      `json:"not_kept,omitempty"`
	Sensitive []MoveOffIf `json:"sensitivities"`
	Weak      []string    `json:"weak"`
	Assumes   []string    `json:"assumptions"`
	Uncharged []string    `json:"uncharged,omitempty"`
	Seconds   float64     `json:"seconds"`
	AirModel  string      `json:"air_model,omitempty"`
}

// RollBack is what a train does on a rising grade from the moment its brake is released
// until it is pulled.
type RollBack struct {
	Never bool      `json:"never"` // the brakes that stay on hold it for as long as it is followed
	Lets  float64   `json:"lets"`  // s after the handle when the brakes no longer hold it; 0 with Never
	Off   float64   `json:"off"`   // s until the last of the brakes that are let off has let go; -1: not within the run
	Last  string    `json:"last"`  // the vehicle that is last
	Ends  float64   `json:"ends"`  // N that the brakes still on hold at the end
	Runs  []RanBack `json:"runs"`  // by how late the pull comes
	Times []float64 `json:"times"` // s
	Brake []float64 `json:"brake"` // N that the brakes hold at a stand, by time
}

// RanBack is how far a train runs back when the full pull stands so long after the handle.
type RanBack struct {
	After    float64 `json:"after"`    // s from the handle to the full pull
	Distance float64 `json:"distance"` // m
	Speed    float64 `json:"speed"`    // m/s, the highest
	Caught   bool    `json:"caught"`   // the pull brings it to a stand
}

// MoveOffIf is the pull in hand, beyond what a start needs, with one thing otherwise.
type MoveOffIf struct {
	What string  `json:"what"`
	Hand float64 `json:"in_hand"` // N; below 0 it does not start
}

// The moments at which the pull is taken to come, s after the handle (invented: what a hand
// that is quick and one that waits would do), and for how long a release is followed.
func pulledAfter() []float64 { return []float64{0, 5, 10, 15, 20, 30, 45} }

const followed = 150.0

// MoveOff says whether a train starts on a grade, and what it does between release and pull,
// from the cylinders as a run of it empties them.
func MoveOff(c *consist.Consist, r *rule.Rules, q MoveOffAsk, cond trial.Conditions) (*MoveOffAnswer, error) {
	if math.Abs(q.Rising) > 0.1 {
		return nil, fmt.Errorf("a grade of %.3g %%; expected at most 10 %%", q.Rising*100)
	}
	b, err := Charge(c, r, cond)
	if err != nil {
		return nil, err
	}
	t := b.Train
	if err := t.Needs("mass", "length", "axles", "running", "resistance for hauling", "starting", "rotating mass", "gauge"); err != nil {
		return nil, err
	}
	engines, err := t.Engines(q.Weather)
	if err != nil {
		return nil, err
	}
	a := &MoveOffAnswer{Consist: c.String(), Rising: q.Rising, Radius: q.Radius, Rail: q.Rail, Mass: t.Mass, Uncharged: b.Uncharged}
	curves := motion.CurveFormFor(t.Gauge)
	curve := t.Mass * motion.Gravity * curves.Specific(q.Radius)
	for i := range t.Vehicles {
		a.Starting += t.Vehicles[i].Starting
	}
	a.Starting += curve
	a.Grade = t.Mass * motion.Gravity * q.Rising
	a.Surplus = startingSurplus * t.Inertia()
	pull := func(adhesion float64) float64 {
		f := 0.0
		for _, e := range engines {
			f += e.Machine.At(0, adhesion).Effort
		}
		return f
	}
	a.Pull = pull(q.Rail.Adhesion)
	a.Starts = a.Pull >= a.Grade+a.Starting+a.Surplus && len(a.Uncharged) == 0
	hand := func(what string, f, grade, start float64) {
		a.Sensitive = append(a.Sensitive, MoveOffIf{what, f - grade - start - a.Surplus})
	}
	hand("as it is", a.Pull, a.Grade, a.Starting)
	hand("adhesion a fifth lower", pull(0.8*q.Rail.Adhesion), a.Grade, a.Starting)
	hand("resistance at starting a fifth higher", a.Pull, a.Grade, 1.2*a.Starting)
	hand("mass a tenth more", a.Pull, 1.1*a.Grade, 1.1*a.Starting)
	if cut, what := t.oneOut(engines); cut != nil {
		f := 0.0
		for _, e := range cut {
			f += e.Machine.At(0, q.Rail.Adhesion).Effort
		}
		hand("with "+what, f, a.Grade, a.Starting)
	}
	a.coupling(t, engines, q, curves)
	for _, e := range engines {
		for _, w := range e.Weak {
			a.Weak = append(a.Weak, e.Name+": "+w)
		}
	}
	if q.Rising > 0 {
		if err := a.release(b, q); err != nil {
			return nil, err
		}
	}
	a.Seconds, a.AirModel = b.Seconds, b.AirModel
	a.Assumes = []string{
		"resistance at a stand by the form of each record; curves by " + curves.Name + " (" + curves.Source + ")",
		fmt.Sprintf("it must begin with %.2f m/s² in hand, every brake off, all vehicles at once", startingSurplus),
		"between release and pull nothing but the brakes holds the train: no rolling resistance is counted on",
		"the cylinders empty as a run of this consist shows, from a full service application held for the wait of the rules",
		"the pull is taken to stand at once and in full at the time named (invented); friction at rest is from memory",
	}
	return a, nil
}

// coupling is the hardest pull in the couplings as the train begins to move.
func (a *MoveOffAnswer) coupling(t *Train, engines []*Engine, q MoveOffAsk, curves motion.CurveForm) {
	chain := motion.Chain{}
	push := make([]float64, len(t.Vehicles))
	for i := range t.Vehicles {
		v := &t.Vehicles[i]
		chain.Mass = append(chain.Mass, v.Inertia())
		push[i] = -v.Starting - v.Mass*motion.Gravity*(q.Rising+curves.Specific(q.Radius))
	}
	// no more is given than starts it as it must
	share := math.Min(1, (a.Grade+a.Starting+a.Surplus)/math.Max(a.Pull, 1))
	for _, e := range engines {
		push[e.Vehicle] += share * e.Machine.At(0, q.Rail.Adhesion).Effort
	}
	_, f := chain.Steady(push)
	for j, p := range f {
		if p <= a.Coupling {
			continue
		}
		x, y := &t.Vehicles[j], &t.Vehicles[j+1]
		a.Coupling, a.Between, a.Drawgear = p, x.Name()+" and "+y.Name(), 0
		if m, n := x.Class.Running.Drawgear, y.Class.Running.Drawgear; m > 0 && n > 0 {
			a.Drawgear = math.Min(m, n)
		}
	}
}

// release runs the release from a full service application, once with every brake let off
// and once with the locomotive brake of the lead left on.
func (a *MoveOffAnswer) release(b *Brakes, q MoveOffAsk) error {
	t, r := b.Train, b.Rules
	adhesion := BrakingRail(q.Rail).adhesion(r)
	on := trial.Step{ID: "on", Do: []trial.Act{b.reduce(r.V("full-reduction"))}, For: r.V("settle")}
	run := func(more ...trial.Act) (*RollBack, error) {
		first := on
		first.Do = append(append([]trial.Act(nil), on.Do...), more...)
		_, res, err := b.Run(t.Consist, []trial.Step{first}, 0, false)
		if err != nil {
			return nil, err
		}
		m, _ := res.At("on")
		groups, _, err := b.RunFrom(m.At, []trial.Step{{ID: "off", Do: []trial.Act{{Who: "lead", Run: true}}, For: followed}}, sample, false, m)
		if err != nil {
			return nil, err
		}
		return a.rolled(b, groups, adhesion), nil
	}
	var err error
	if a.Back, err = run(); err != nil {
		return err
	}
	if len(a.Back.Brake) > 0 {
		a.Stood = a.Back.Brake[0]
	}
	a.Holds = a.Stood >= a.Grade
	lead := t.Vehicles[b.lead]
	ds := t.Consist.Devices(b.lead, "independent-handle")
	if len(ds) == 0 {
		a.NotKept = lead.Name() + " has no handle of a locomotive brake in its record"
		return nil
	}
	d, full, most := ds[0], "", 0.0
	for _, x := range ds { // that of the cab it is driven from
		if lead.Cab != 0 && x.Cab == lead.Cab {
			d = x
		}
	}
	for _, p := range d.Positions {
		if p.Sets != nil && p.Sets.SI > most {
			full, most = p.ID, p.Sets.SI
		}
	}
	if full == "" || d.MustNotMove {
		a.NotKept = "the record does not say what " + d.Name + " of " + lead.Name() + " sets"
		return nil
	}
	a.Kept, err = run(trial.Act{Who: "lead", What: d.ID, To: full})
	return err
}

// rolled follows a train from the handle on, by how late the pull comes.
func (a *MoveOffAnswer) rolled(b *Brakes, groups []Group, adhesion float64) *RollBack {
	t := b.Train
	k := b.Braking(groups)
	caps := make([]float64, len(groups))
	for i := range groups {
		caps[i] = adhesion * groups[i].On * motion.Gravity
	}
	holds := func(s, v float64) float64 {
		f := 0.0
		for i := range groups {
			g := &groups[i]
			f += math.Min(g.Blocks.Retards(g.Force(s), v), caps[i])
		}
		return f
	}
	x := &RollBack{Never: true, Off: -1}
	for s := 0.0; s <= followed; s += 0.5 {
		f := holds(s, 0)
		x.Times, x.Brake = append(x.Times, s), append(x.Brake, f)
		if x.Never && f < a.Grade {
			x.Never, x.Lets = false, s
		}
	}
	x.Ends = x.Brake[len(x.Brake)-1]
	// the last to let go, of those that are let off in the end
	for i := range groups {
		g := &groups[i]
		first, end := g.Force(0), g.Force(followed)
		if first <= 0 || end > 0.05*first {
			continue
		}
		for s := followed; s >= 0; s -= 0.5 {
			if g.Force(s) > 0.05*first {
				if s+0.5 > x.Off {
					x.Off, x.Last = s+0.5, t.Vehicles[g.Vehicle].Name()
				}
				break
			}
		}
	}
	if x.Never {
		return x
	}
	for _, after := range pulledAfter() {
		x.Runs = append(x.Runs, a.back(k, holds, after))
	}
	return x
}

// back steps a train that runs back until the pull brings it to a stand, or for as long as
// the release is followed.
func (a *MoveOffAnswer) back(k *Braking, holds func(s, v float64) float64, after float64) RanBack {
	const dt = 0.05
	out := RanBack{After: after}
	v := 0.0
	for n := 0; float64(n)*dt < followed; n++ {
		s := float64(n) * dt
		pull := 0.0
		if s >= after {
			pull = a.Pull
		}
		// what holds it: the brakes, and once it runs the low running resistance
		f := holds(s, v) + pull
		if v > 0 {
			f += k.Rolls.At(v)
		}
		acceleration := (a.Grade - f) / k.Inertia
		next := math.Max(0, v+acceleration*dt)
		out.Distance += (v + next) / 2 * dt
		v = next
		out.Speed = math.Max(out.Speed, v)
		if v == 0 && s >= after {
			out.Caught = pull+holds(s, 0) >= a.Grade
			if out.Caught {
				return out
			}
		}
	}
	return out
}
