package haul

import (
	"fmt"
	"math"
	"slices"

	"headstock/consist"
	"headstock/rigging"
	"headstock/rule"
	"headstock/trial"
)

// StopAsk is a stop to be worked out.
type StopAsk struct {
	Speed     float64 // m/s
	Falling   float64 // slope of the grade, above 0 where it falls ahead of the train
	Emergency bool    // else a full service reduction
	Rail      Rail
	Reaction  float64 // s from what is seen to the handle, at the speed of the start
	Samples   int     // stops drawn within the usual spread; 0: none
	Seed      uint64
}

// StopAnswer is a stop.
type StopAnswer struct {
	Consist   string        `json:"consist"`
	Speed     float64       `json:"speed"`   // m/s
	Falling   float64       `json:"falling"` // slope, above 0 where it falls
	Emergency bool          `json:"emergency"`
	Rail      Rail          `json:"rail"`
	Stops     bool          `json:"stops"`
	Distance  float64       `json:"distance"` // m from where the handle is moved
	Reaction  float64       `json:"reaction"` // m before that
	Time      float64       `json:"time"`     // s from the handle
	Highest   float64       `json:"highest"`  // m/s; above Speed where the train first gains speed
	Slows     float64       `json:"slows"`    // m/s², mean over the distance
	BuildUp   float64       `json:"build_up"` // s until nine tenths of the block force stands
	Governs   string        `json:"governs"`
	Mass      float64       `json:"mass"`       // kg
	FullForce float64       `json:"full_force"` // N of all blocks together, when built up
	Stands    float64       `json:"stands"`     // N at the rail as it comes to rest, all brakes
	Pull      float64       `json:"pull"`       // N of the grade; what has to be held after the stop
	HighRolls float64       `json:"high_rolls"` // m, distance with the resistance for hauling: what is not counted on
	Vehicles  []StopVehicle `json:"vehicles"`
	Without   []Sensitivity `json:"sensitivities"`
	Percent   Percentage    `json:"percentage"`
	Sample    *Sample       `json:"sample,omitempty"`
	Points    []Point       `json:"points"` // every second, and the end
	Assumes   []string      `json:"assumptions"`
	Outside   []string      `json:"outside"`             // in which ways it lies outside what was held against published stops
	Uncharged []string      `json:"uncharged,omitempty"` // it did not charge: it must not run
	Seconds   float64       `json:"seconds"`             // of air that was run
	AirModel  string        `json:"air_model,omitempty"` // of the air that was run
}

// StopVehicle is what one vehicle does in a stop.
type StopVehicle struct {
	Vehicle  string  `json:"vehicle"`
	Mass     float64 `json:"mass"`     // kg
	Cylinder float64 `json:"cylinder"` // gauge, Pa, built up; the highest of its groups
	Blocks   float64 `json:"blocks"`   // N, built up
	Each     float64 `json:"each"`     // N on one block
	Share    float64 `json:"share"`    // of the block force in the weight of the vehicle
	Begins   float64 `json:"begins"`   // s until its blocks press
	Slides   bool    `json:"slides"`   // its wheels reach the limit of adhesion
	Wheel    float64 `json:"wheel"`    // K that its hottest wheel warms by; 0 where the record has no wheels
	Braked   bool    `json:"braked"`
}

// Sensitivity is the same stop with one thing otherwise.
type Sensitivity struct {
	What     string  `json:"what"`
	Distance float64 `json:"distance"` // m
	Stops    bool    `json:"stops"`
}

// Percentage is the braked weight of the train both ways. A share is 0 where it cannot be
// said.
type Percentage struct {
	Record   float64  `json:"record"`           // per cent, from the braked weights of the records
	Computed float64  `json:"computed"`         // per cent, of an emergency stop from 100 km/h on the level
	At100    float64  `json:"at_100,omitempty"` // m, that stop
	Distance float64  `json:"distance"`         // m in which a train of the record's percentage, else of the computed, stops from the speed asked for, on the level
	Lacks    []string `json:"lacks,omitempty"`
	Note     string   `json:"note,omitempty"`
}

// after is how long the cylinders are followed after the handle is moved, s, and how often
// they are sampled.
const (
	after  = 150.0
	sample = 0.25
)

// Stop says in what distance a train stops. The error is a speed outside 0 to 216 km/h, a
// grade steeper than 10 %, a *CannotSay that names what the records lack, a *NotLed, or a
// run that could not be made.
func Stop(c *consist.Consist, r *rule.Rules, q StopAsk, cond trial.Conditions) (*StopAnswer, error) {
	if q.Speed <= 0 || q.Speed > 60 {
		return nil, fmt.Errorf("a stop from %.4g km/h; expected a speed above 0 and up to 216 km/h", q.Speed*3.6)
	}
	if math.Abs(q.Falling) > 0.1 {
		return nil, fmt.Errorf("a grade of %.3g %%; expected at most 10 %%", q.Falling*100)
	}
	b, err := Charge(c, r, cond)
	if err != nil {
		return nil, err
	}
	groups, err := b.applied(q.Emergency)
	if err != nil {
		return nil, err
	}
	return b.stop(q, groups)
}

// applied runs an application from the charged train.
func (b *Brakes) applied(emergency bool) ([]Group, error) {
	act := b.reduce(b.Rules.V("full-reduction"))
	if emergency {
		act = b.emergency()
	}
	groups, _, err := b.Run(b.Train.Consist, []trial.Step{{ID: "apply", Do: []trial.Act{act}, For: after}}, sample, false)
	return groups, err
}

func (b *Brakes) stop(q StopAsk, groups []Group) (*StopAnswer, error) {
	t := b.Train
	k := b.Braking(groups)
	at := At{Speed: q.Speed, Falling: q.Falling, Adhesion: q.Rail.adhesion(b.Rules)}
	c := k.Course(at)
	a := &StopAnswer{Consist: t.Consist.String(), Speed: q.Speed, Falling: q.Falling, Emergency: q.Emergency, Rail: q.Rail, Stops: c.Stopped, Distance: c.Distance, Time: c.Time,
		Highest: c.Highest, Reaction: q.Speed * q.Reaction, Mass: t.Mass, Pull: t.Mass * 9.81 * q.Falling}
	if c.Stopped {
		a.Slows = q.Speed * q.Speed / (2 * c.Distance)
	}
	a.Stands, _ = k.Retards(0, at.Adhesion)
	next := 0.0
	for _, p := range c.Points {
		if p.Time >= next-1e-9 {
			a.Points = append(a.Points, p)
			next += 1
		}
	}
	if n := len(c.Points); n > 0 && a.Points[len(a.Points)-1] != c.Points[n-1] {
		a.Points = append(a.Points, c.Points[n-1])
	}
	a.vehicles(t, groups, c)
	// build-up: nine tenths of the block force
	for _, g := range groups {
		a.FullForce += g.Force(math.Inf(1))
	}
	for s := 0.0; s <= after && a.FullForce > 0; s += sample {
		f := 0.0
		for i := range groups {
			f += groups[i].Force(s)
		}
		if f >= 0.9*a.FullForce {
			a.BuildUp = s
			break
		}
	}
	a.Governs = a.governs()
	a.Outside = a.beyond(t, groups)
	a.sensitivities(b, k, q, at)
	a.percentage(b, k, q)
	if q.Samples > 0 {
		s, err := k.Sample(at, q.Samples, q.Seed, UsualSpread())
		if err != nil {
			return nil, err
		}
		a.Sample = &s
	}
	a.Seconds, a.AirModel, a.Uncharged = b.Seconds, b.AirModel, b.Uncharged
	a.Assumes = []string{
		"cylinders fill as the run of this consist shows, every vehicle its own; block friction by the laws of rigging, dry and not hot",
		"running resistance by the low form of each record; curves are not counted on",
		fmt.Sprintf("a wheel can brake with at most %.0f %% of its weight (%s rail)", 100*at.Adhesion, q.Rail),
		"the grade is the same all along the stop, and couplers hold the train as one",
	}
	return a, nil
}

// vehicles says what each vehicle does.
func (a *StopAnswer) vehicles(t *Train, groups []Group, c Course) {
	for i := range t.Vehicles {
		v := &t.Vehicles[i]
		x := StopVehicle{Vehicle: v.Name(), Mass: v.Mass, Begins: math.Inf(1)}
		for k := range groups {
			g := &groups[k]
			if g.Vehicle != i {
				continue
			}
			f := g.Force(math.Inf(1))
			x.Blocks += f
			x.Cylinder = math.Max(x.Cylinder, g.Pressure.Last())
			x.Each = math.Max(x.Each, g.Blocks.Each(f))
			x.Slides = x.Slides || c.Slid[k]
			for n, p := range g.Pressure.Values {
				if g.Blocks.Force(g.Cylinder, p) > 0 && g.Cylinder.Applied(p) {
					x.Begins = math.Min(x.Begins, g.Pressure.From+float64(n)*g.Pressure.Every)
					break
				}
			}
			if g.Wheel > 0 && g.Blocks.Wheels > 0 {
				h := rigging.Heat{Mass: g.Wheel, Material: g.Blocks.Material}
				h.StepWith(h.Material.Share()*c.Energy[k]/float64(g.Blocks.Wheels), 0, 1)
				x.Wheel = math.Max(x.Wheel, h.Rise)
			}
		}
		x.Share = x.Blocks / (v.Mass * 9.81)
		if x.Braked = x.Blocks > 0; !x.Braked || math.IsInf(x.Begins, 1) {
			x.Begins = 0
		}
		a.Vehicles = append(a.Vehicles, x)
	}
}

// governs names what limits the stop.
func (a *StopAnswer) governs() string {
	slides, unbraked, mass := 0, 0, 0.0
	for _, v := range a.Vehicles {
		if v.Slides {
			slides++
		}
		if !v.Braked {
			unbraked++
			mass += v.Mass
		}
	}
	switch {
	case !a.Stops && a.Stands+1 > a.Pull:
		return "the brake holds this train at rest, and does not slow it from this speed: friction falls as speed rises"
	case !a.Stops:
		return "the grade: it pulls harder than all brakes together"
	case slides > 0:
		return fmt.Sprintf("adhesion: wheels of %d of %d vehicles slide", slides, len(a.Vehicles))
	case a.Time > 0 && a.BuildUp > a.Time/2:
		return "build-up: the brake is still coming on for more than half of the stop"
	case mass > a.Mass/5:
		return fmt.Sprintf("braked weight: %d of %d vehicles have no brake", unbraked, len(a.Vehicles))
	}
	return "block force"
}

// sensitivities are the same stop with one thing otherwise. Air is not run again.
func (a *StopAnswer) sensitivities(b *Brakes, k *Braking, q StopAsk, at At) {
	all := func(f float64) []float64 {
		w := make([]float64, len(k.Groups))
		for i := range w {
			w[i] = f
		}
		return w
	}
	add := func(what string, c Course) {
		a.Without = append(a.Without, Sensitivity{what, c.Distance, c.Stopped})
	}
	at.Step = 0.1
	add("block friction 20 % lower", k.CourseWith(at, all(0.8), 1))
	add("block friction 20 % higher", k.CourseWith(at, all(1.2), 1))
	add("mass 10 % more", k.CourseWith(at, nil, 1.1))
	best, most := -1, 0.0
	for i := range a.Vehicles {
		if a.Vehicles[i].Blocks > most {
			best, most = i, a.Vehicles[i].Blocks
		}
	}
	if best >= 0 {
		w := all(1)
		for i := range k.Groups {
			if k.Groups[i].Vehicle == best {
				w[i] = 0
			}
		}
		add("brake of "+a.Vehicles[best].Vehicle+" not working", k.CourseWith(at, w, 1))
	}
	for _, r := range Rails() {
		if r != q.Rail {
			o := at
			o.Adhesion = r.adhesion(b.Rules)
			add(string(r)+" rail", k.CourseWith(o, nil, 1))
		}
	}
	slid := a.Governs != "" && slices.ContainsFunc(a.Vehicles, func(v StopVehicle) bool { return v.Slides })
	if slid {
		o := at
		w := all(1)
		c := k.Course(at)
		for i := range w {
			if c.Slid[i] {
				w[i] = rigging.Sliding
			}
		}
		add("wheels that reach the limit lock and slide to the end", k.CourseWith(o, w, 1))
	}
	for _, d := range []float64{-0.005, 0.005} {
		o := at
		o.Falling += d
		add(fmt.Sprintf("grade %+.1f %%", d*100), k.CourseWith(o, nil, 1))
	}
	o := *k
	o.Rolls = b.Train.Resistance(true)
	c := o.Course(at)
	a.HighRolls = c.Distance
	add("running resistance by the form for hauling (not to be counted on)", c)
}

// percentage is the braked-weight percentage of the train.
func (a *StopAnswer) percentage(b *Brakes, k *Braking, q StopAsk) {
	p := &a.Percent
	p.Note = "UIC 544-1 is made for 1435 mm; on another gauge it is an estimate"
	sum, t := 0.0, b.Train
	for i := range t.Vehicles {
		v := &t.Vehicles[i]
		if !a.Vehicles[i].Braked {
			continue // counts in the mass and not in the braked weight
		}
		w, ok := v.BrakedWeight()
		if !ok {
			p.Lacks = append(p.Lacks, "braked weight of class "+v.Class.Name)
			continue
		}
		sum += w
	}
	slices.Sort(p.Lacks)
	p.Lacks = slices.Compact(p.Lacks)
	if len(p.Lacks) == 0 && t.Mass > 0 {
		p.Record = 100 * sum / t.Mass
	}
	if q.Emergency {
		if c := k.Course(At{Speed: 100 / 3.6, Step: 0.1}); c.Stopped {
			p.At100 = c.Distance
			p.Computed, _ = Percent(c.Distance, 100/3.6, true)
		}
	}
	use := p.Record
	if use == 0 {
		use = p.Computed
	}
	if use > 0 {
		p.Distance, _ = PercentStop(use, q.Speed, t.Length, true)
	}
}
