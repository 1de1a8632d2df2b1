package setup

import (
	"fmt"
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
	Delay               // leaks, blows, will not charge, stands braked: it is noticed before moving, or costs time
	Unit                // one vehicle does not brake, or does not release
	Train               // the train may not stop
)

func (g Grade) String() string {
	return [...]string{
		"no requirement changes",
		"a loss that the rules accept",
		"it delays, leaks or holds the train braked",
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
	Is     float64 `json:"is"`
	WasOut bool    `json:"was_out,omitempty"`
	IsOut  bool    `json:"is_out,omitempty"`
	InCab  bool    `json:"in_driving_cab,omitempty"` // whoever drives sees it
}

// Effect is what comes of one device standing otherwise.
type Effect struct {
	Change  consist.Change  `json:"change"`
	Unit    string          `json:"unit"`
	Device  *fleet.Device   `json:"-"`
	Name    string          `json:"device"`
	Was     string          `json:"was"`
	To      string          `json:"to"`
	Keep    bool            `json:"must_not_be_moved,omitempty"`
	Reaches bool            `json:"reaches_the_air"` // the air network is another one
	Verdict string          `json:"verdict"`
	Grade   Grade           `json:"-"`
	Danger  string          `json:"danger"`
	Worse   []prove.Finding `json:"worse,omitempty"`        // requirements that end worse than before
	Seen    []Seen          `json:"seen,omitempty"`         // set up so before charging: what the brake test shows
	AtOnce  []Seen          `json:"seen_at_once,omitempty"` // moved with the train charged: what shows within a minute
	Runs    int             `json:"runs"`
}

// Base is a consist proved as it stands, against which changes are held.
type Base struct {
	c       *consist.Consist
	r       *rule.Rules
	cond    trial.Conditions
	proof   *prove.Proof
	bench   *trial.Bench
	charged *trial.Result
	equal   []float64
}

// NewBase proves a consist as it stands.
func NewBase(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Base, error) {
	p, err := prove.Prove(c, r, cond)
	if err != nil {
		return nil, err
	}
	b := &Base{c: c, r: r, cond: cond, proof: p}
	if p.Test == nil {
		return b, nil
	}
	if b.bench, err = trial.NewBench(c, cond); err != nil {
		return nil, err
	}
	charge, err := prove.Procedure(c, r, "charge")
	if err != nil {
		return nil, err
	}
	if b.charged, err = b.bench.Run(c, charge, nil); err != nil {
		return nil, err
	}
	b.equal = b.bench.Plant.Settings(c)
	return b, nil
}

// Proof is the proof of the consist as it stands.
func (b *Base) Proof() *prove.Proof { return b.proof }

// Effect moves one device and says what comes of it: set up so from empty, and moved now
// with the train charged. A device that does not reach the air leaves the network as it
// was; what its move breaks are claims of position only.
func (b *Base) Effect(ch consist.Change) (*Effect, error) {
	with, err := b.c.With(ch)
	if err != nil {
		return nil, err
	}
	v := b.c.Vehicles[ch.Vehicle]
	d, _ := v.Class.Device(ch.Device)
	was, _ := b.c.Position(ch.Vehicle, ch.Device)
	e := &Effect{Change: ch, Unit: v.Name(), Device: d, Name: d.Name, Was: was, To: ch.Position, Keep: d.MustNotMove}
	p, err := prove.Prove(with, b.r, b.cond)
	if err != nil {
		return nil, err
	}
	e.Verdict, e.Runs = p.Verdict, p.Runs
	e.Worse = worse(b.proof, p)
	e.Grade = grade(with, e.Worse)
	e.Danger = e.Grade.String()
	if b.bench == nil || p.Test == nil {
		return e, nil
	}
	settings := b.bench.Plant.Settings(with)
	for k := range settings {
		e.Reaches = e.Reaches || settings[k] != b.equal[k]
	}
	if !e.Reaches {
		return e, nil
	}
	e.Seen = differ(b.c, b.proof.Test, p.Test)
	from := &b.charged.Marks[len(b.charged.Marks)-1]
	act := []trial.Act{{Who: v.Name(), What: ch.Device, To: ch.Position}}
	const look = "moved"
	moved, err := b.bench.Run(from.At, trial.Procedure{Name: "moved with the train charged", Steps: []trial.Step{{ID: look, Do: act, For: 60, Read: true}}}, from)
	if err != nil {
		return nil, err
	}
	still, err := b.bench.Run(from.At, trial.Procedure{Name: "left alone", Steps: []trial.Step{{ID: look, For: 60, Read: true}}}, from)
	if err != nil {
		return nil, err
	}
	e.AtOnce = differ(b.c, still, moved)
	e.Runs += 2
	return e, nil
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

// worse are the findings of b that end worse than in a, or break for more vehicles.
func worse(a, b *prove.Proof) []prove.Finding {
	var out []prove.Finding
	for _, f := range b.Findings {
		was, _ := a.Finding(f.Requirement)
		if weight(f.Status) > weight(was.Status) || weight(f.Status) > 0 && f.Status == was.Status && len(f.Reasons) > len(was.Reasons) {
			out = append(out, f)
		}
	}
	return out
}

// grade reads the danger off the requirements that ended worse.
func grade(c *consist.Consist, fs []prove.Finding) Grade {
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
		case "one-controlling-cab", "brake-pipe-continuous", "emergency", "parting", "penalty":
			raise(Unit)
			// a whole train that does not brake, or a lead that does not
			if len(vehicles(f)) > 1 || f.Requirement == "brake-pipe-continuous" || f.Requirement == "one-controlling-cab" || leadNamed(c, f) && f.Requirement != "penalty" {
				raise(Train)
			}
		case "automatic", "independent", "quick-release", "dead-unit", "sealed":
			raise(Unit)
			if f.Requirement == "automatic" && unbraked(f) > 1 {
				raise(Train)
			}
		default:
			raise(Delay)
		}
	}
	return g
}

func vehicles(f prove.Finding) map[string]bool {
	out := map[string]bool{}
	for _, r := range f.Reasons {
		out[r.Vehicle] = true
	}
	return out
}

func unbraked(f prove.Finding) int {
	out := map[string]bool{}
	for _, r := range f.Reasons {
		if r.Kind == "does not apply" {
			out[r.Vehicle] = true
		}
	}
	return len(out)
}

func leadNamed(c *consist.Consist, f prove.Finding) bool {
	lead, _ := c.Lead()
	return lead >= 0 && vehicles(f)[c.Vehicles[lead].Name()]
}

// differ lists the readings of b that a person could tell from those of a: a gauge by
// more than its tolerance, a piston or an exhaust by what it does.
func differ(c *consist.Consist, a, b *trial.Result) []Seen {
	var out []Seen
	lead, _ := c.Lead()
	for _, x := range b.Readings {
		y, ok := a.Reading(x.Step, x.Vehicle, x.Device)
		if !ok || x.Fitted != "" {
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
			told = told || (x.Value >= 2) != (y.Value >= 2)
		}
		if told {
			out = append(out, Seen{Step: x.Step, Unit: v.Name(), Device: d.Name, Place: placeOf(v.Class, d), Kind: x.Kind, Was: y.Value, Is: x.Value, WasOut: y.Out, IsOut: x.Out,
				InCab: x.Vehicle == lead && d.Cab != 0 && (v.Cab == 0 || d.Cab == v.Cab)})
		}
	}
	return out
}

func placeOf(c *fleet.Class, d *fleet.Device) string {
	if p, ok := c.Place(d.Place); ok && p.Name != "" {
		return p.Name
	}
	return d.Place
}

// Moving reads "Kite 11.changeover", with or without "=position", for a unit of the
// consist, and gives the changes it means.
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
	d, ok := b.c.Device(i, strings.TrimSpace(dev))
	if !ok {
		_, err := b.c.ParseChange(text + "=?")
		return nil, err
	}
	out := b.Others(i, d.ID)
	if len(out) == 0 {
		return nil, fmt.Errorf("%s of %s has no other position: it is looked at, not moved", d.Name, b.c.Vehicles[i].Name())
	}
	return out, nil
}
