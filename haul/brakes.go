package haul

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/rigging"
	"headstock/rule"
	"headstock/trial"
)

// Brakes is a train that has been charged by the trial and waits for its handle: what each
// group of its blocks does follows from the cylinders that a run of it fills.
type Brakes struct {
	Train     *Train
	Rules     *rule.Rules
	Seconds   float64  // of air that has been run
	AirModel  string   // [trial.AirModel] of it
	Uncharged []string // what did not charge, in words; such a train must not run
	bench     *trial.Bench
	charged   *trial.Mark
	groups    []Group // without pressures
	hands     []Hand
	handLacks []string
	lead      int
}

// Hand is one hand brake of the train.
type Hand struct {
	Vehicle int
	Device  string // its id
	Name    string // as on its plate
	Brake   rigging.HandBrake
	On      float64 // kg on the wheels it holds
}

// NotLed is a consist that no unit leads, or several.
type NotLed struct{ Leads int }

// Error says how many lead.
func (e *NotLed) Error() string {
	return fmt.Sprintf("a train is braked by one unit that leads; this has %d", e.Leads)
}

// layOut is the train with its blocks and hand brakes, before any air is run.
func layOut(c *consist.Consist, r *rule.Rules) (*Brakes, error) {
	b := &Brakes{Train: Of(c), Rules: r, lead: -1}
	return b, b.rigging()
}

// Charge charges a consist. It is a *CannotSay, or one of consist, where the records do not
// hold enough to brake it.
func Charge(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Brakes, error) {
	b, err := layOut(c, r)
	if err != nil {
		return nil, err
	}
	return b, b.charge(cond)
}

// charge charges the train.
func (b *Brakes) charge(cond trial.Conditions) error {
	c, r := b.Train.Consist, b.Rules
	lead, n := c.Lead()
	if n != 1 {
		return &NotLed{n}
	}
	b.lead = lead
	var err error
	if b.bench, err = trial.NewBench(c, cond); err != nil {
		return err
	}
	res, err := b.bench.Run(c, trial.Procedure{Name: "charge", Steps: trial.Charging(c, r)}, nil)
	if err != nil {
		return err
	}
	for _, m := range res.Misses {
		b.Uncharged = append(b.Uncharged, fmt.Sprintf("in %.0f min of charging the %s of %s vehicle has come to %.0f kPa and no further: whatever is behind it is not braked", m.AtMost/60, strings.ReplaceAll(m.Until.Air, "-", " "), map[bool]string{true: "the last", false: m.Until.Who + " as a"}[m.Until.Who == "last"], m.Value/1000))
	}
	for i := range b.groups {
		g := &b.groups[i]
		g.Cylinder = b.bench.Plant.Cylinders[g.Vehicle][g.cylinder()]
	}
	b.Seconds, b.AirModel = res.Seconds, trial.AirModel(cond)
	b.charged, _ = res.At("charge")
	return nil
}

// cylinder is the air element that pushes the group: its id begins with it.
func (g *Group) cylinder() string {
	for i := range g.ID {
		if g.ID[i] == '/' {
			return g.ID[:i]
		}
	}
	return g.ID
}

// figure is a figure of a part of the rigging; 0 where it is not stated.
func figure(e *fleet.Element, name string) float64 {
	if a, ok := e.Arg(name); ok && a.Figure != nil {
		return a.Figure.SI
	}
	return 0
}

// stands says whether a condition on devices holds in a consist.
func stands(c *consist.Consist, vehicle int, w fleet.When) bool {
	if len(w) == 0 {
		return true
	}
	return slices.ContainsFunc(w, func(all fleet.Alternative) bool {
		return !slices.ContainsFunc(all, func(t fleet.Term) bool {
			p, _ := c.Position(vehicle, t.Of)
			return !slices.Contains(t.In, p)
		})
	})
}

// rigging lays out blocks and hand brakes as the records have them.
func (b *Brakes) rigging() error {
	t := b.Train
	if err := t.Needs("mass", "axles", "running", "rotating mass", "resistance for stopping"); err != nil {
		return err
	}
	var lacks []string
	for i := range t.Vehicles {
		v := &t.Vehicles[i]
		wheel := 0.0
		for _, e := range v.Class.RiggingOf("wheels") {
			wheel = figure(e, "mass")
		}
		part := func(wheels int) float64 { return v.Mass * min(1, float64(wheels)/float64(2*v.Axles)) }
		pushed := map[string]bool{}
		for _, e := range v.Class.RiggingOf("blocks") {
			if e.OnlyWith != "" && !v.Unit.Has(v.Class, e.OnlyWith) || e.OnlyWithout != "" && v.Unit.Has(v.Class, e.OnlyWithout) {
				continue
			}
			pushed[e.Word("pushed by")] = true
			if a, ok := e.Arg("when"); ok && !stands(t.Consist, i, a.When) {
				continue
			}
			k := rigging.Blocks{Count: int(figure(e, "count")), Wheels: int(figure(e, "wheels")), Ratio: figure(e, "ratio"), Efficiency: figure(e, "efficiency"),
				Spring: figure(e, "spring"), Adjuster: figure(e, "adjuster"), Material: rigging.Material(e.Word("of"))}
			b.groups = append(b.groups, Group{Vehicle: i, ID: e.Word("pushed by") + "/" + e.ID, Blocks: k, On: part(k.Wheels), Wheel: wheel})
		}
		cylinders := 0
		for _, e := range v.Class.Air {
			if e.Kind != "cylinder" {
				continue
			}
			cylinders++
			if !pushed[e.ID] {
				lacks = append(lacks, fmt.Sprintf("rigging of class %s (blocks pushed by %s)", v.Class.Name, e.ID))
			}
		}
		if len(v.Class.Air) == 0 {
			lacks = append(lacks, "air of class "+v.Class.Name)
		}
		for _, e := range v.Class.RiggingOf("hand-brake") {
			d, ok := v.Class.Device(e.Word("worked by"))
			if !ok || !v.Unit.Carries(v.Class, d) {
				continue
			}
			h := rigging.HandBrake{Force: figure(e, "force"), Wheels: int(figure(e, "wheels")), Material: rigging.Material(e.Word("of"))}
			if a, ok := e.Arg("force"); ok && a.Figure != nil && a.Figure.Spread > 0 {
				h.Low = a.Figure.SI - a.Figure.Spread
			}
			b.hands = append(b.hands, Hand{Vehicle: i, Device: d.ID, Name: d.Name, Brake: h, On: part(h.Wheels)})
		}
	}
	for i := range t.Vehicles { // a hand brake of which only the wheel is known
		v := &t.Vehicles[i]
		if ds := v.Class.DevicesOf("hand-brake"); len(ds) > 0 && len(v.Class.RiggingOf("hand-brake")) == 0 {
			b.handLacks = append(b.handLacks, "force of the hand brake of class "+v.Class.Name)
		}
	}
	slices.Sort(b.handLacks)
	b.handLacks = slices.Compact(b.handLacks)
	if len(lacks) > 0 {
		slices.Sort(lacks)
		return &CannotSay{slices.Compact(lacks)}
	}
	return nil
}

// Run carries the charged train on through steps, with a sample of every cylinder each so
// many seconds, and is its groups with their pressures from the first of the steps on. An
// error is a step that could not be made.
func (b *Brakes) Run(c *consist.Consist, steps []trial.Step, every float64, stores bool) ([]Group, *trial.Result, error) {
	return b.RunFrom(c, steps, every, stores, b.charged)
}

// RunFrom does so from the mark of another run.
func (b *Brakes) RunFrom(c *consist.Consist, steps []trial.Step, every float64, stores bool, from *trial.Mark) ([]Group, *trial.Result, error) {
	res, err := b.bench.Sampling(every, stores).Run(c, trial.Procedure{Name: "braking", Steps: steps}, from)
	if err != nil {
		return nil, nil, err
	}
	b.Seconds += res.Seconds
	began := from.Time
	groups := slices.Clone(b.groups)
	for i := range groups {
		g := &groups[i]
		for _, x := range res.Curves {
			if x.Vehicle == g.Vehicle && x.Element == g.cylinder() && len(res.Times) > 0 {
				g.Pressure = Curve{From: res.Times[0] - began, Every: every, Values: x.Values}
			}
		}
	}
	return groups, res, nil
}

// service and emergency are the acts of the lead's automatic handle.
func (b *Brakes) reduce(by float64) trial.Act { return trial.Act{Who: "lead", Reduce: by} }

func (b *Brakes) emergency() trial.Act {
	return trial.Act{Who: "lead", What: "automatic-handle", To: "emergency"}
}

// Braking is the train with its groups as it is braked.
func (b *Brakes) Braking(groups []Group) *Braking {
	return &Braking{Mass: b.Train.Mass, Inertia: b.Train.Inertia(), Rolls: b.Train.Resistance(false), Groups: groups}
}

// Rail is the state of the rail.
type Rail string

// The rails.
const (
	Dry    Rail = "dry"
	Wet    Rail = "wet"
	Greasy Rail = "greasy"
)

// Rails are the states of the rail in order.
func Rails() []Rail { return []Rail{Dry, Wet, Greasy} }

// adhesion is the part of its weight that a wheel can brake with.
func (r Rail) adhesion(rules *rule.Rules) float64 {
	switch r {
	case Wet:
		return rules.V("braking-rail-wet")
	case Greasy:
		return rules.V("braking-rail-greasy")
	}
	return rules.V("braking-rail-dry")
}
