package setup

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

// Grade says in words how bad it is that a device stands where it does: who could be
// hurt, from the requirements that a run breaks.
type Grade int

// The grades, the harmless first.
const (
	NoHarm Grade = iota // every requirement ends as before
	LossOf              // something is lost that the rules accept
	Delay               // leaks, blows, will not charge: noticed before moving, or it costs time
	Unseen              // dark, or a light that misleads: whoever is on the line cannot tell the train
	Unit                // one vehicle does not brake, or does not release
	Train               // the train may not stop
)

// String is the grade in words, as a crew would say what comes of it.
func (g Grade) String() string {
	return [...]string{
		"no requirement changes",
		"a loss that the rules accept",
		"it leaks, drags, or will not charge: noticed before moving, or it costs time",
		"in the dark it is not seen, or a light misleads: whoever is on the line before, behind or beside it",
		"one vehicle does not brake or does not let go: hot wheels, a longer stop",
		"the train may not stop: everybody on it and before it",
	}[g]
}

// Seen is a reading that is other than with the device at its claim.
type Seen struct {
	Step   string  `json:"step"`
	Unit   string  `json:"unit"`
	Device string  `json:"device"` // name of the gauge, piston or exhaust
	Place  string  `json:"place"`
	Kind   string  `json:"kind"`
	Was    float64 `json:"was"` // SI as in trial.Reading
	Is     float64 `json:"is"`  // in the measure of Was
	WasOut bool    `json:"was_out,omitempty"`
	IsOut  bool    `json:"is_out,omitempty"`
	InCab  bool    `json:"in_driving_cab,omitempty"` // whoever drives sees it
}

// Effect is what comes of one device standing otherwise.
type Effect struct {
	Change       consist.Change  `json:"change"`
	Unit         string          `json:"unit"`
	Device       *fleet.Device   `json:"-"`
	Name         string          `json:"device"`
	Was          string          `json:"was"`
	To           string          `json:"to"`
	Keep         bool            `json:"must_not_be_moved,omitempty"`
	Reaches      bool            `json:"reaches_the_air"` // the air network is another one
	Verdict      string          `json:"verdict"`
	Grade        Grade           `json:"-"`
	Danger       string          `json:"danger"`
	Worse        []prove.Finding `json:"worse,omitempty"`               // requirements that end worse than before
	Seen         []Seen          `json:"seen,omitempty"`                // set up so before charging: what the brake test shows
	Since        []prove.Finding `json:"worse_moved_since,omitempty"`   // moved with the train charged: requirements that end worse
	AtOnce       []Seen          `json:"seen_at_once,omitempty"`        // and what shows within the wait
	After        []Seen          `json:"seen_after,omitempty"`          // and what the brake test then shows
	Applied      []prove.Finding `json:"worse_moved_applied,omitempty"` // moved with the brake on: requirements that end worse
	AfterApplied []Seen          `json:"seen_moved_applied,omitempty"`  // and what the brake test then shows
	Runs         int             `json:"runs"`
}

// Base is a consist proved as it stands, against which changes are held.
type Base struct {
	c     *consist.Consist
	r     *rule.Rules
	cond  trial.Conditions
	proof *prove.Proof
	plant *consist.Plant
	equal []float64
	still *trial.Result // charged and left alone for as long as a move is watched
	held  *prove.Held
}

// NewBase proves a consist as it stands. An error is a run that could not be made.
func NewBase(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Base, error) {
	h, err := prove.Hold(c, r, cond)
	if err != nil {
		return nil, err
	}
	p := h.Proof()
	b := &Base{c: c, r: r, cond: cond, proof: p, held: h}
	if p.Test == nil {
		return b, nil
	}
	b.plant = p.Test.Plant
	b.equal = b.plant.Settings(c)
	bench, err := trial.NewBench(c, cond)
	if err != nil {
		return nil, err
	}
	charge, err := prove.Procedure(c, r, "charge")
	if err != nil {
		return nil, err
	}
	charge.Steps = append(charge.Steps, trial.Step{ID: prove.StepMoved, For: r.V("settle"), Read: true})
	if b.still, err = bench.Run(c, charge, nil); err != nil {
		return nil, err
	}
	return b, nil
}

// Proof is the proof of the consist as it stands.
func (b *Base) Proof() *prove.Proof { return b.proof }

// Effect moves one device and says what comes of it: set up so from empty, and moved now
// with the train charged. A device that does not reach the air leaves the network as it
// was; what its move breaks are claims of position only. An error is a run that could not
// be made.
func (b *Base) Effect(ch consist.Change) (*Effect, error) {
	with, err := b.c.With(ch)
	if err != nil {
		return nil, err
	}
	v := b.c.Vehicles[ch.Vehicle]
	d, _ := v.Class.Device(ch.Device)
	was, _ := b.c.Position(ch.Vehicle, ch.Device)
	e := &Effect{Change: ch, Unit: v.Name(), Device: d, Name: d.Name, Was: was, To: ch.Position, Keep: d.MustNotMove}
	var p *prove.Proof
	if b.plant == nil {
		p, err = prove.Prove(with, b.r, b.cond)
	} else {
		p, err = b.held.Set(ch)
	}
	if err != nil {
		return nil, err
	}
	e.Verdict, e.Runs = p.Verdict, p.Runs
	e.Worse = worse(b.proof, p)
	e.Grade = grade(b, p, e.Worse)
	e.Danger = e.Grade.String()
	if b.plant == nil || p.Test == nil {
		return e, nil
	}
	if e.Reaches = b.Reaches(ch); !e.Reaches {
		return e, nil
	}
	e.Seen = differ(b.c, b.proof.Test, p.Test, "")
	since, err := b.held.Moved(prove.StepCharge, ch)
	if err != nil {
		return nil, err
	}
	applied, err := b.held.Moved(prove.StepService, ch)
	if err != nil {
		return nil, err
	}
	e.Runs += applied.Runs
	e.Applied = worse(b.proof, applied)
	if g := grade(b, applied, e.Applied); g > e.Grade {
		e.Grade, e.Danger = g, g.String()
	}
	e.AfterApplied = differ(b.c, b.proof.Test, applied.Test, "")
	e.Runs += since.Runs
	e.Since = worse(b.proof, since)
	if g := grade(b, since, e.Since); g > e.Grade {
		e.Grade, e.Danger = g, g.String()
	}
	e.AtOnce = differ(b.c, b.still, since.Test, prove.StepMoved)
	e.After = differ(b.c, b.proof.Test, since.Test, "")
	return e, nil
}

// Reaches reports whether a change makes another air network.
func (b *Base) Reaches(ch consist.Change) bool {
	with, err := b.c.With(ch)
	if err != nil || b.plant == nil {
		return false
	}
	return !slices.Equal(b.plant.Settings(with), b.equal)
}

// Others are the changes that put a device of a vehicle to each position where it does
// not stand.
func (b *Base) Others(vehicle int, device string) []consist.Change {
	d, ok := b.c.Vehicles[vehicle].Class.Device(device)
	if !ok {
		return nil
	}
	at, _ := b.c.Position(vehicle, device)
	var out []consist.Change
	for _, p := range d.Positions {
		if p.ID != at {
			out = append(out, consist.Change{Vehicle: vehicle, Device: device, Position: p.ID})
		}
	}
	return out
}

// weight orders what can become of a requirement, the best first.
func weight(s prove.Status) int {
	switch s {
	case prove.Lost:
		return 1
	case prove.CannotSay:
		return 2
	case prove.Broken:
		return 3
	}
	return 0
}

// isWorse reports whether a requirement ends worse than it did, or breaks for more vehicles.
func isWorse(was, f prove.Finding) bool {
	return weight(f.Status) > weight(was.Status) || weight(f.Status) > 0 && f.Status == was.Status && len(f.Reasons) > len(was.Reasons)
}

// worse are the findings of b that end worse than in a, or break for more vehicles.
func worse(a, b *prove.Proof) []prove.Finding {
	var out []prove.Finding
	for _, f := range b.Findings {
		if was, _ := a.Finding(f.Requirement); isWorse(was, f) {
			out = append(out, f)
		}
	}
	return out
}

// grade reads the danger off the requirements that ended worse. A train whose lead cannot
// charge its own pipe does not leave, whatever else breaks.
func grade(b *Base, p *prove.Proof, fs []prove.Finding) Grade {
	g := graded(p.Consist, fs)
	if g > Delay && b.notCharged(p) {
		return Delay
	}
	return g
}

// notCharged reports whether the lead cannot charge its own pipe.
func (b *Base) notCharged(p *prove.Proof) bool {
	if p.Test == nil {
		return false
	}
	lead, _ := p.Consist.Lead()
	charged, _ := b.r.Limit("charged")
	at, ok := p.Test.Gauge(prove.StepCharge, lead, "brake-pipe")
	return ok && at < charged.Low
}

// graded reads the danger off the requirements alone.
func graded(c *consist.Consist, fs []prove.Finding) Grade {
	g := NoHarm
	raise := func(to Grade) { g = max(g, to) }
	for _, f := range fs {
		if f.Status == prove.Lost {
			raise(LossOf)
		}
		if f.Status != prove.Broken {
			continue
		}
		switch f.Requirement {
		case "one-controlling-cab", "brake-pipe-continuous":
			raise(Train)
		case "automatic", "emergency", "parting":
			raise(Unit)
			// a whole train that does not brake, or a lead that does not
			if n := unbraked(f); len(n) > 1 || leadNamed(c, n) {
				raise(Train)
			}
		case "independent", "quick-release", "dead-unit", "sealed", "penalty":
			raise(Unit)
		case "lights":
			raise(Unseen)
		default:
			raise(Delay)
		}
	}
	return g
}

// unbraked are the vehicles that a requirement finds not braking.
func unbraked(f prove.Finding) map[string]bool {
	out := map[string]bool{}
	for _, r := range f.Reasons {
		if r.Kind == "does not apply" {
			out[r.Vehicle] = true
		}
	}
	return out
}

func leadNamed(c *consist.Consist, names map[string]bool) bool {
	lead, _ := c.Lead()
	return lead >= 0 && names[c.Vehicles[lead].Name()]
}

// differ lists the readings of b, at one step or at all, that a person could tell from those of a: a gauge by
// more than its tolerance, a piston or an exhaust by what it does.
func differ(c *consist.Consist, a, b *trial.Result, step string) []Seen {
	var out []Seen
	for _, x := range b.Readings {
		y, ok := a.Reading(x.Step, x.Vehicle, x.Device)
		if !ok || x.Fitted != "" || step != "" && x.Step != step {
			continue
		}
		v := c.Vehicles[x.Vehicle]
		d, ok := v.Class.Device(x.Device)
		if !ok {
			continue
		}
		told := x.Out != y.Out
		switch x.Kind {
		case "gauge":
			right := prove.Expected(a, d, y)
			told = x.Value > right.High+prove.Tolerance(d) || x.Value < right.Low-prove.Tolerance(d)
		case "exhaust":
			told = told || toldApart(x.Value, y.Value)
		}
		if told {
			out = append(out, Seen{Step: x.Step, Unit: v.Name(), Device: d.Name, Place: v.Class.PlaceName(d.Place), Kind: x.Kind, Was: y.Value, Is: x.Value, WasOut: y.Out, IsOut: x.Out,
				InCab: c.BeforeDriver(x.Vehicle, d)})
		}
	}
	return out
}

// Moving reads "Kite 11.changeover", with or without "=position", for a unit of the
// consist, and gives the changes it means. An error says what was expected, with the
// nearest unit or device.
func (b *Base) Moving(text string) ([]consist.Change, error) {
	if strings.Contains(text, "=") {
		ch, err := b.c.ParseChange(text)
		return []consist.Change{ch}, err
	}
	who, dev, ok := strings.Cut(text, ".")
	if !ok {
		return nil, fmt.Errorf("expected unit.device or unit.device=position, found %q", text)
	}
	i, err := b.c.Find(strings.TrimSpace(who))
	if err != nil {
		return nil, err
	}
	d, err := b.c.Named(i, strings.TrimSpace(dev))
	if err != nil {
		return nil, err
	}
	out := b.Others(i, d.ID)
	if len(out) == 0 {
		return nil, fmt.Errorf("%s of %s has no other position: it is looked at, not moved", d.Name, b.c.Vehicles[i].Name())
	}
	return out, nil
}
