package haul

import (
	"fmt"
	"math"
	"slices"

	"headstock/consist"
	"headstock/motion"
	"headstock/rigging"
	"headstock/rule"
	"headstock/trial"
)

// Leg is a stretch of a descent.
type Leg struct {
	Length  float64 `json:"length"`          // m
	Falling float64 `json:"falling"`         // slope, above 0 where it falls
	From    string  `json:"from,omitempty"`  // named place at its beginning
	Limit   float64 `json:"limit,omitempty"` // m/s, the lowest speed limit on it; 0: none stated
}

// DescendAsk is a way down.
type DescendAsk struct {
	Legs    []Leg
	Speed   float64 // m/s; 0: the greatest that is safe
	Down    float64 // m/s to which a cycle slows; 0: three fifths of the speed
	Rail    Rail
	Outside float64 // N of retarding force from elsewhere, such as a banking engine's brake
	Load    bool    // look for the greatest load, too
}

// Wheels is one group of braked wheels as a descent sees it: what it gives at the
// application that balances the grade, and what its wheels can take.
type Wheels struct {
	Vehicle string
	Full    func(v float64) float64 // N at the rail at a speed, in full service
	Count   int
	Mass    float64 // kg of one wheel; 0: not stated
	Of      rigging.Material
}

// Descent is a train on a falling grade as the verdict sees it.
type Descent struct {
	Mass    float64 // kg
	Rolls   motion.Resistance
	Outside float64 // N retarding from elsewhere
	Wheels  []Wheels
	Reduces func(share float64) float64 // Pa of reduction that gives a share of full service; nil: not looked at
	Limits  DescentLimits
}

// DescentLimits bound a descent. A figure of 0 is no limit.
type DescentLimits struct {
	Share     float64 // of full service that may be needed
	Reduction float64 // Pa
	Quarter   float64 // s for which a wheel may take its short drag power
	Speed     float64 // m/s
	Line      bool    // that is the speed limit of the line
}

// Holding is whether a train can be held at a speed, and at what cost.
type Holding struct {
	Held      bool      `json:"held"`
	Speed     float64   `json:"speed"`     // m/s
	Need      float64   `json:"need"`      // N of brakes at the rail
	Full      float64   `json:"full"`      // N that full service gives at this speed
	Share     float64   `json:"share"`     // Need as a part of Full
	Reduction float64   `json:"reduction"` // Pa; 0 where not looked at
	Wheel     float64   `json:"wheel"`     // W of the hardest wheel
	WheelMay  float64   `json:"wheel_may"` // W that it may take for so long
	Of        string    `json:"of"`        // whose wheel
	Governs   string    `json:"governs"`   // the limit that it breaks, "" when none
	Power     []float64 `json:"-"`         // W a wheel, by group
}

// At says whether the train is held at a speed on a slope for a time in seconds.
func (d *Descent) At(v, falling, seconds, mass float64) Holding {
	h := Holding{Speed: v, Held: true, Power: make([]float64, len(d.Wheels))}
	h.Need = math.Max(0, mass*d.Mass*motion.Gravity*falling-mass*d.Rolls.At(v)-d.Outside)
	full := make([]float64, len(d.Wheels))
	for i, w := range d.Wheels {
		full[i] = w.Full(v)
		h.Full += full[i]
	}
	if h.Need == 0 {
		return h
	}
	breaks := func(why string) {
		h.Held = false
		if h.Governs == "" {
			h.Governs = why
		}
	}
	if h.Full <= 0 {
		h.Share = math.Inf(1)
		breaks("no brake works")
		return h
	}
	h.Share = h.Need / h.Full
	worst := 0.0
	for i, w := range d.Wheels {
		if w.Count == 0 {
			continue
		}
		q := h.Need * full[i] / h.Full * v / float64(w.Count)
		h.Power[i] = q
		heat := rigging.Heat{Mass: w.Mass, Material: w.Of}
		may := heat.Sustained()
		if d.Limits.Quarter > 0 && seconds <= d.Limits.Quarter {
			may = heat.Short()
		}
		if w.Mass == 0 {
			continue
		}
		if q/may > worst {
			worst, h.Wheel, h.WheelMay, h.Of = q/may, q, may, w.Vehicle
		}
	}
	if d.Reduces != nil && h.Share <= 1 {
		h.Reduction = d.Reduces(h.Share)
	}
	l := d.Limits
	switch {
	case h.Share > 1:
		breaks("the grade pulls harder than full service")
	case l.Share > 0 && h.Share > l.Share:
		breaks(fmt.Sprintf("more than %.0f %% of full service is needed", 100*l.Share))
	case l.Reduction > 0 && h.Reduction > l.Reduction:
		breaks(fmt.Sprintf("a reduction of more than %.0f kPa is needed", l.Reduction/1000))
	}
	if worst > 1 {
		breaks(fmt.Sprintf("heat: a wheel of %s takes %.1f kW where %.1f kW is the most", h.Of, h.Wheel/1000, h.WheelMay/1000))
	}
	return h
}

// Fastest is the greatest whole speed in km/h, up to the limit, at which the train is held,
// as are all below it; held is false where 5 km/h is too fast.
func (d *Descent) Fastest(falling, length, mass float64) (v float64, at, beyond Holding, held bool) {
	for k := 5.0; k/3.6 <= d.Limits.Speed+1e-9; k++ {
		x := k / 3.6
		h := d.At(x, falling, length/x, mass)
		if !h.Held {
			return v, at, h, v > 0
		}
		v, at = x, h
	}
	by := "the highest speed at which a descent is tried"
	if d.Limits.Line {
		by = "the speed limit of the line"
	}
	return v, at, Holding{Governs: by}, v > 0
}

// DescendAnswer is a way down.
type DescendAnswer struct {
	Consist   string        `json:"consist"`
	Legs      []Leg         `json:"legs"`
	Steepest  float64       `json:"steepest"` // slope, above 0 where it falls
	Length    float64       `json:"length"`   // m that falls as steeply as to need the brake
	Mass      float64       `json:"mass"`     // kg
	Rail      Rail          `json:"rail"`
	Speed     float64       `json:"speed"` // m/s, asked for or found
	Asked     bool          `json:"asked"`
	Safe      bool          `json:"safe"`
	Holding   Holding       `json:"holding"`
	Beyond    string        `json:"beyond"`  // what limits a greater speed
	Fastest   float64       `json:"fastest"` // m/s
	Lost      float64       `json:"lost"`    // m/s, the lowest speed at which the grade pulls harder than full service with cold wheels, to 1 km/h; 0: none up to 100 km/h
	Without   float64       `json:"without"` // tonnes for each brake that works, kg
	Operates  int           `json:"operates"`
	Heat      []HeatOf      `json:"heat"`
	Course    []HeatPoint   `json:"course"` // of the hottest wheel
	Cooling   []Cooling     `json:"cooling,omitempty"`
	Cycle     *Cycle        `json:"cycle"`
	Most      float64       `json:"most"` // kg trailing that this train's brakes hold so at this speed; 0: not asked
	MostBy    string        `json:"most_by,omitempty"`
	RollsLow  float64       `json:"rolls_low"`  // N, counted on
	RollsHi   float64       `json:"rolls_high"` // N by the form for hauling, not counted on
	Others    []DescendIf   `json:"sensitivities"`
	Steps     []AtReduction `json:"reductions"`
	Assumes   []string      `json:"assumptions"`
	Uncharged []string      `json:"uncharged,omitempty"` // it did not charge: it must not run
	Seconds   float64       `json:"seconds"`             // of air that was run
	AirModel  string        `json:"air_model,omitempty"` // of the air that was run
}

// DescendIf is the greatest safe speed with one thing otherwise; 0: none.
type DescendIf struct {
	What  string  `json:"what"`
	Speed float64 `json:"speed"` // m/s
	By    string  `json:"by"`
}

// AtReduction is what a reduction gives.
type AtReduction struct {
	Reduction float64 `json:"reduction"` // Pa
	Force     float64 `json:"force"`     // N at the rail at the speed of the answer
	Balances  float64 `json:"balances"`  // slope that it balances there
}

// HeatOf is how hot the wheels of a vehicle are at the foot.
type HeatOf struct {
	Vehicle string  `json:"vehicle"`
	Power   float64 `json:"power"` // W a wheel, on the steepest leg
	Wheel   float64 `json:"wheel"` // K above the air, as a lump, at its highest
	Tread   float64 `json:"tread"` // K above the air, at its highest
	Fades   float64 `json:"fades"` // part of its friction that is left then
}

// HeatPoint is the hottest wheel along the way.
type HeatPoint struct {
	Distance float64 `json:"distance"` // m from the beginning
	Time     float64 `json:"time"`     // s
	Wheel    float64 `json:"wheel"`    // K above the air, as a lump
	Tread    float64 `json:"tread"`    // K above the air
}

// Cooling is a stop to let the wheels cool.
type Cooling struct {
	At    float64 `json:"at"` // m from the head of the descent
	Place string  `json:"place,omitempty"`
	Wheel float64 `json:"wheel"` // K above the air on arrival
	For   float64 `json:"for"`   // s
}

// Cycle is a descent by applications and releases.
type Cycle struct {
	Reduction   float64 `json:"reduction"` // Pa of each application
	From        float64 `json:"from"`      // m/s at which it is released
	To          float64 `json:"to"`        // m/s at which the next must be made
	Recharge    float64 `json:"recharge"`  // s until every reservoir is charged again; 0: not within the run
	Last        string  `json:"last"`      // the vehicle that is last
	Available   float64 `json:"available"` // s until the speed is lost; infinite is written as -1
	Allowed     bool    `json:"allowed"`   // without retainers
	Retainers   int     `json:"retainers"` // how many must be up for a release to be allowed; 0: none, -1: all are not enough
	Which       []Up    `json:"which,omitempty"`
	With        float64 `json:"with"` // s available with them; -1: it does not regain the speed
	Fitted      int     `json:"fitted"`
	HasRetainer bool    `json:"has_retainer"`
	Kinematic   float64 `json:"kinematic"` // s from From to To with all brakes off at once
}

// Up is a retainer that is put up.
type Up struct {
	Vehicle  string  `json:"vehicle"`
	Device   string  `json:"device"`
	Name     string  `json:"name"`
	Position string  `json:"position"`
	Keeps    float64 `json:"keeps"` // gauge, Pa, a minute after the release
}

// reductions are those that are run, Pa; the last is full service, as the rules say.
func (b *Brakes) reductions() []float64 {
	full := b.Rules.V("full-reduction")
	var out []float64
	for _, part := range []float64{0.25, 0.4, 0.55, 0.7, 0.85, 1} {
		out = append(out, part*full)
	}
	return out
}

// Descend says how a train comes down without a dynamic brake. The error is a *CannotSay
// that names what the records lack, a *NotLed, a leg that is none (at most 10 %), or a
// run that could not be made.
func Descend(c *consist.Consist, r *rule.Rules, q DescendAsk, cond trial.Conditions) (*DescendAnswer, error) {
	a := &DescendAnswer{Consist: c.String(), Legs: q.Legs, Rail: q.Rail, Asked: q.Speed > 0}
	for _, l := range q.Legs {
		if l.Length <= 0 || math.Abs(l.Falling) > 0.1 {
			return nil, fmt.Errorf("a leg of %.4g m at %.3g %%; expected a length above 0 and at most 10 %%", l.Length, l.Falling*100)
		}
		a.Steepest = math.Max(a.Steepest, l.Falling)
	}
	if a.Steepest <= 0 {
		return nil, fmt.Errorf("nothing falls on this way")
	}
	b, err := Charge(c, r, cond)
	if err != nil {
		return nil, err
	}
	t := b.Train
	a.Mass = t.Mass
	var lacks []string
	for i := range b.groups {
		if b.groups[i].Wheel == 0 {
			lacks = append(lacks, "wheels (their mass, in rigging) of class "+t.Vehicles[b.groups[i].Vehicle].Class.Name)
		}
	}
	if len(lacks) > 0 {
		slices.Sort(lacks)
		return nil, &CannotSay{slices.Compact(lacks)}
	}
	// what each reduction gives, in one run of deeper and deeper steps
	var steps []trial.Step
	rs := b.reductions()
	for _, by := range rs {
		steps = append(steps, trial.Step{ID: fmt.Sprintf("%.0f", by), Do: []trial.Act{b.reduce(by)}, For: r.V("settle")})
	}
	groups, res, err := b.Run(c, steps, 0, false)
	if err != nil {
		return nil, err
	}
	pressed := make([][]Group, len(rs)) // by reduction
	for k, by := range rs {
		pressed[k] = slices.Clone(groups)
		for i := range pressed[k] {
			g := &pressed[k][i]
			p, _ := res.Gauge(fmt.Sprintf("%.0f", by), g.Vehicle, g.cylinder())
			g.Pressure = Curve{Every: 1, Values: []float64{p}}
		}
	}
	d := b.descent(pressed, q)
	for _, l := range q.Legs {
		if h := d.At(20/3.6, l.Falling, 0, 1); h.Need > 0 {
			a.Length += l.Length
		}
	}
	for _, l := range q.Legs {
		if l.Falling > 0 && l.Limit > 0 && l.Limit < d.Limits.Speed && d.At(20/3.6, l.Falling, 0, 1).Need > 0 {
			d.Limits.Speed, d.Limits.Line = l.Limit, true
		}
	}
	fast, at, beyond, ok := d.Fastest(a.Steepest, a.Length, 1)
	a.Fastest, a.Beyond, a.Safe = fast, beyond.Governs, ok
	switch {
	case q.Speed > 0:
		a.Speed = q.Speed
		a.Holding = d.At(q.Speed, a.Steepest, a.Length/q.Speed, 1)
		if q.Speed > d.Limits.Speed+1e-9 && d.Limits.Line && a.Holding.Held {
			a.Holding.Held, a.Holding.Governs = false, "the speed limit of the line"
		}
		if !a.Holding.Held {
			a.Safe = false
		}
	case ok:
		a.Speed, a.Holding = fast, at
	default:
		a.Speed = 5 / 3.6
		a.Holding = beyond
	}
	for k, by := range rs {
		f, _ := b.Braking(pressed[k]).Retards(a.Speed, q.Rail.adhesion(r))
		a.Steps = append(a.Steps, AtReduction{by, f, (f + d.Rolls.At(a.Speed) + q.Outside) / (t.Mass * motion.Gravity)})
	}
	for v := 1.0; v <= 100 && a.Lost == 0; v++ {
		if h := d.At(v/3.6, a.Steepest, 0, 1); h.Share > 1 {
			a.Lost = v / 3.6
		}
	}
	a.RollsLow, a.RollsHi = d.Rolls.At(a.Speed), t.Resistance(true).At(a.Speed)
	working := map[int]bool{}
	for i := range pressed[len(rs)-1] {
		g := &pressed[len(rs)-1][i]
		if g.Force(0) > 0 {
			working[g.Vehicle] = true
		}
	}
	if a.Operates = len(working); a.Operates > 0 {
		a.Without = t.Mass / float64(a.Operates)
	}
	a.heat(b, d, q)
	if a.Cycle, err = b.cycle(c, q, a, pressed); err != nil {
		return nil, err
	}
	if q.Load {
		a.load(b, d)
	}
	a.others(b, d, q)
	a.Seconds, a.AirModel, a.Uncharged = b.Seconds, b.AirModel, b.Uncharged
	a.Safe = a.Safe && len(a.Uncharged) == 0
	a.Assumes = []string{
		"cylinders stand at what each reduction gives in a run of this consist, and release and charge as it shows; a brake that is cut out does not share the heat",
		"running resistance by the low form of each record; curves and wind are not counted on",
		"all the heat of a balanced descent goes into the wheels and blocks that work, each by its share",
		"no dynamic brake, and no help but what was said",
	}
	return a, nil
}

// descent is the train as the verdict sees it.
func (b *Brakes) descent(pressed [][]Group, q DescendAsk) *Descent {
	r, t := b.Rules, b.Train
	full := pressed[len(pressed)-1]
	adhesion := q.Rail.adhesion(r)
	d := &Descent{Mass: t.Mass, Rolls: t.Resistance(false), Outside: q.Outside}
	d.Limits = DescentLimits{Share: r.V("descent-share"), Reduction: r.V("descent-reduction"), Quarter: r.V("descent-quarter"), Speed: r.V("descent-speed")}
	for i := range full {
		g := &full[i]
		f := g.Force(0)
		d.Wheels = append(d.Wheels, Wheels{Vehicle: t.Vehicles[g.Vehicle].Name(), Count: g.Blocks.Wheels, Mass: g.Wheel, Of: g.Blocks.Material,
			Full: func(v float64) float64 {
				return math.Min(g.Blocks.Retards(f, v), adhesion*g.On*motion.Gravity)
			}})
	}
	// share of full service by reduction, at a middling speed: friction falls with speed
	// for all of them alike
	const v = 20 / 3.6
	shares := make([]float64, len(pressed))
	most, _ := b.Braking(full).Retards(v, adhesion)
	for k := range pressed {
		f, _ := b.Braking(pressed[k]).Retards(v, adhesion)
		shares[k] = f / math.Max(most, 1)
	}
	rs := b.reductions()
	d.Reduces = func(share float64) float64 {
		for k := range shares {
			if shares[k] < share {
				continue
			}
			if k == 0 {
				return rs[0]
			}
			return rs[k-1] + (rs[k]-rs[k-1])*(share-shares[k-1])/math.Max(shares[k]-shares[k-1], 1e-9)
		}
		return rs[len(rs)-1]
	}
	return d
}

// heat carries every group of wheels down the way at the speed of the answer.
func (a *DescendAnswer) heat(b *Brakes, d *Descent, q DescendAsk) {
	v := a.Speed
	hot := make([]rigging.Heat, len(d.Wheels))
	peak := make([]HeatOf, len(d.Wheels))
	for i, w := range d.Wheels {
		hot[i] = rigging.Heat{Mass: w.Mass, Material: w.Of}
		peak[i] = HeatOf{Vehicle: w.Vehicle, Fades: 1}
	}
	const dt = 5.0
	time, distance, since := 0.0, 0.0, 0.0
	place := ""
	placeAt := 0.0
	limit, cooled := b.Rules.V("descent-hot"), b.Rules.V("descent-cooled")
	for _, l := range q.Legs {
		if l.From != "" {
			place, placeAt = l.From, distance
		}
		h := d.At(v, l.Falling, a.Length/v, 1)
		for gone := 0.0; gone < l.Length; gone += v * dt {
			step := math.Min(dt, (l.Length-gone)/v)
			worst, most := 0, 0.0
			for i := range hot {
				hot[i].Step(h.Power[i], v, step)
				tread := hot[i].Tread(h.Power[i])
				p := &peak[i]
				p.Power = math.Max(p.Power, h.Power[i])
				p.Wheel, p.Tread = math.Max(p.Wheel, hot[i].Rise), math.Max(p.Tread, tread)
				p.Fades = math.Min(p.Fades, hot[i].Material.Faded(tread))
				if tread > most {
					worst, most = i, tread
				}
			}
			time, distance = time+step, distance+v*step
			if len(hot) > 0 && time >= since {
				a.Course = append(a.Course, HeatPoint{distance, time, hot[worst].Rise, most})
				since = time + 60
			}
			if most > limit && len(a.Cooling) < 20 {
				stop := Cooling{At: math.Floor(distance/100) * 100, Wheel: hot[worst].Rise}
				if place != "" && placeAt > 0 && (len(a.Cooling) == 0 || a.Cooling[len(a.Cooling)-1].At < placeAt) {
					stop.At, stop.Place = placeAt, place
				}
				for hot[worst].Rise > cooled && stop.For < 6*3600 {
					for i := range hot {
						hot[i].Step(0, 0, 60)
					}
					stop.For += 60
				}
				a.Cooling = append(a.Cooling, stop)
			}
		}
	}
	if n := len(a.Course); n > 0 && a.Course[n-1].Distance < distance {
		worst := 0
		for i := range hot {
			if hot[i].Rise > hot[worst].Rise {
				worst = i
			}
		}
		a.Course = append(a.Course, HeatPoint{distance, time, hot[worst].Rise, hot[worst].Tread(d.At(v, q.Legs[len(q.Legs)-1].Falling, a.Length/v, 1).Power[worst])})
	}
	by := map[string]int{} // one line a vehicle, its hottest group
	for _, p := range peak {
		k, ok := by[p.Vehicle]
		if !ok {
			by[p.Vehicle] = len(a.Heat)
			a.Heat = append(a.Heat, p)
		} else if p.Tread > a.Heat[k].Tread {
			a.Heat[k] = p
		}
	}
}

// Regains is the time in which a train whose brakes go as the groups show comes from one
// speed to another on a grade, s; infinite where it does not within an hour.
func (k *Braking) Regains(from, to, falling float64) float64 {
	const dt = 0.5
	v := from
	slow := func(t, v float64) float64 {
		f := k.Rolls.At(v) + k.Outside.At(t) - k.Mass*motion.Gravity*falling
		for i := range k.Groups {
			g := &k.Groups[i]
			f += g.Blocks.Retards(g.Force(t), v)
		}
		return f / k.Inertia
	}
	for t := 0.0; t < 3600; t += dt {
		m := math.Max(0, v-slow(t, v)*dt/2)
		next := math.Max(0, v-slow(t+dt/2, m)*dt)
		if next >= to {
			return t + dt*(to-v)/math.Max(next-v, 1e-9)
		}
		if v = next; v == 0 && slow(t+dt, 0) >= 0 && t > 600 {
			break
		}
	}
	return math.Inf(1)
}

// finite writes what has no end as -1.
func finite(t float64) float64 {
	if math.IsInf(t, 1) {
		return -1
	}
	return t
}

// cycle runs an application and its release, and says whether the train can be charged
// again before the speed is lost, and with how many retainers.
func (b *Brakes) cycle(c *consist.Consist, q DescendAsk, a *DescendAnswer, pressed [][]Group) (*Cycle, error) {
	r := b.Rules
	y := &Cycle{To: a.Speed, From: q.Down}
	if y.From <= 0 || y.From >= y.To {
		y.From = 0.6 * y.To
	}
	k := b.Braking(pressed[0])
	k.Groups, k.Outside = nil, Curve{Every: 1, Values: []float64{q.Outside}}
	y.Kinematic = finite(k.Regains(y.From, y.To, a.Steepest))
	// an application that slows the train: a little more than balances
	for _, s := range a.Steps {
		y.Reduction = s.Reduction
		if s.Balances > 1.3*a.Steepest {
			break
		}
	}
	run := func(c *consist.Consist) ([]Group, *trial.Result, *trial.Mark, error) {
		_, res, err := b.Run(c, []trial.Step{{ID: "on", Do: []trial.Act{b.reduce(y.Reduction)}, For: r.V("settle")}}, 0, false)
		if err != nil {
			return nil, nil, nil, err
		}
		m, _ := res.At("on")
		groups, res, err := b.RunFrom(m.At, []trial.Step{{ID: "off", Do: []trial.Act{{Who: "lead", Run: true}}, For: 420}}, 1, true, m)
		return groups, res, m, err
	}
	free, res, began, err := run(c)
	if err != nil {
		return nil, err
	}
	y.Recharge, y.Last = b.recharged(res, began)
	available := func(gs []Group) float64 {
		k := b.Braking(gs)
		k.Outside = Curve{Every: 1, Values: []float64{q.Outside}}
		return k.Regains(y.From, y.To, a.Steepest)
	}
	has := available(free)
	y.Available = finite(has)
	enough := func(t float64) bool { return y.Recharge > 0 && t >= y.Recharge }
	y.Allowed = enough(has)
	// retainers: loaded vehicles at what keeps most, empty ones at what keeps least, from
	// the head of the train
	ups, err := b.retainers(c)
	if err != nil {
		return nil, err
	}
	y.Fitted = len(ups)
	if y.HasRetainer = len(ups) > 0; !y.HasRetainer || y.Allowed || y.Recharge == 0 {
		return y, nil
	}
	up := func(n int) ([]Group, *trial.Result, *trial.Mark, error) {
		var changes []consist.Change
		for _, x := range ups[:n] {
			changes = append(changes, x.change)
		}
		w, err := c.With(changes...)
		if err != nil {
			return nil, nil, nil, err
		}
		return run(w)
	}
	all, allRes, m, err := up(len(ups))
	if err != nil {
		return nil, err
	}
	keep := map[int]float64{}
	for i := range all {
		keep[all[i].Vehicle] = math.Max(keep[all[i].Vehicle], all[i].Pressure.At(60))
	}
	charge, _ := b.recharged(allRes, m)
	best := available(all)
	y.With = finite(best)
	if charge == 0 || best < charge {
		y.Retainers = -1
	} else {
		// mixed from both runs, and then run as it is
		mixed := func(n int) []Group {
			gs := slices.Clone(free)
			on := map[int]bool{}
			for _, x := range ups[:n] {
				on[x.change.Vehicle] = true
			}
			for i := range gs {
				if on[gs[i].Vehicle] {
					gs[i].Pressure = all[i].Pressure
				}
			}
			return gs
		}
		n := 1
		for n < len(ups) && available(mixed(n)) < charge {
			n++
		}
		for ; n < len(ups); n++ {
			gs, res, m, err := up(n)
			if err != nil {
				return nil, err
			}
			t, _ := b.recharged(res, m)
			if with := available(gs); t > 0 && with >= t {
				y.With, y.Recharge = finite(with), t
				break
			}
		}
		y.Retainers = n
	}
	n := y.Retainers
	if n < 0 {
		n = len(ups)
	}
	for _, x := range ups[:n] {
		y.Which = append(y.Which, Up{c.Vehicles[x.change.Vehicle].Name(), x.change.Device, x.name, x.change.Position, keep[x.change.Vehicle]})
	}
	return y, nil
}

// recharged is the time after a release until every reservoir that a distributor works from
// is charged again, and the vehicle that is last; 0 where some is not within the run.
func (b *Brakes) recharged(res *trial.Result, began *trial.Mark) (float64, string) {
	short := b.Rules.V("descent-charged")
	worst, last := 0.0, ""
	for _, x := range res.Curves {
		store := false
		for _, e := range b.Train.Vehicles[x.Vehicle].Class.Air {
			store = store || e.Word("auxiliary") == x.Element
		}
		n, ok := b.bench.Plant.Node(x.Vehicle, x.Element)
		if !store || !ok {
			continue
		}
		had := b.charged.Run.Gauge(n)
		if had < 100e3 { // a unit that is not on the brake
			continue
		}
		at := math.Inf(1)
		for k := len(x.Values) - 1; k >= 0 && x.Values[k] >= had-short; k-- {
			at = math.Max(0, res.Times[k]-began.Time)
		}
		if math.IsInf(at, 1) {
			return 0, b.Train.Vehicles[x.Vehicle].Name()
		}
		if at > worst {
			worst, last = at, b.Train.Vehicles[x.Vehicle].Name()
		}
	}
	return worst, last
}

type retainerUp struct {
	change consist.Change
	name   string
}

// retainers are those that can be put up, loaded vehicles first and then from the head of
// the train. Which position keeps most is asked of a run.
func (b *Brakes) retainers(c *consist.Consist) ([]retainerUp, error) {
	type choice struct{ position, name, device string }
	most, least := map[string]choice{}, map[string]choice{} // by class
	high, low := map[string]float64{}, map[string]float64{}
	for i := range b.Train.Vehicles {
		v := &b.Train.Vehicles[i]
		if _, done := most[v.Class.Name]; done {
			continue
		}
		d, ok := c.Device(i, "retainer")
		if !ok {
			continue
		}
		for _, p := range d.Positions {
			if p.ID == d.Normal {
				continue
			}
			w, err := c.With(consist.Change{Vehicle: i, Device: d.ID, Position: p.ID})
			if err != nil {
				return nil, err
			}
			gs, _, err := b.Run(w, []trial.Step{{ID: "on", Do: []trial.Act{b.reduce(b.Rules.V("full-reduction"))}, For: 30}, {ID: "off", Do: []trial.Act{{Who: "lead", Run: true}}, For: 60}}, 5, false)
			if err != nil {
				return nil, err
			}
			kept := 0.0
			for k := range gs {
				if gs[k].Vehicle == i {
					kept = math.Max(kept, gs[k].Pressure.Last())
				}
			}
			x := choice{p.ID, d.Name, d.ID}
			if _, ok := most[v.Class.Name]; !ok || kept > high[v.Class.Name] {
				most[v.Class.Name], high[v.Class.Name] = x, kept
			}
			if _, ok := least[v.Class.Name]; !ok || kept < low[v.Class.Name] {
				least[v.Class.Name], low[v.Class.Name] = x, kept
			}
		}
	}
	var out []retainerUp
	for _, loaded := range []bool{true, false} {
		for i := range b.Train.Vehicles {
			v := &b.Train.Vehicles[i]
			x, ok := most[v.Class.Name]
			if !ok || (v.Load == "loaded") != loaded {
				continue
			}
			if !loaded {
				x = least[v.Class.Name]
			}
			if d, ok := c.Device(i, "retainer"); ok && !d.MustNotMove {
				out = append(out, retainerUp{consist.Change{Vehicle: i, Device: x.device, Position: x.position}, x.name})
			}
		}
	}
	return out, nil
}

// load is the greatest trailing mass that these brakes hold at the speed of the answer.
func (a *DescendAnswer) load(b *Brakes, d *Descent) {
	ok := func(f float64) Holding { return d.At(a.Speed, a.Steepest, a.Length/a.Speed, f) }
	lo, hi := 0.0, 20.0
	for range 60 {
		if m := (lo + hi) / 2; ok(m).Held {
			lo = m
		} else {
			hi = m
		}
	}
	a.MostBy = ok(hi).Governs
	a.Most = math.Max(0, lo*b.Train.Mass-(b.Train.Mass-b.Train.Trailing()))
}

// others are the greatest safe speed with one thing otherwise.
func (a *DescendAnswer) others(b *Brakes, d *Descent, q DescendAsk) {
	add := func(what string, d *Descent, falling, mass float64) {
		v, _, beyond, _ := d.Fastest(falling, a.Length, mass)
		a.Others = append(a.Others, DescendIf{what, v, beyond.Governs})
	}
	add("mass 10 % more", d, a.Steepest, 1.1)
	add("mass 20 % more", d, a.Steepest, 1.2)
	less := *d
	less.Wheels = slices.Clone(d.Wheels)
	for i := range less.Wheels {
		f := d.Wheels[i].Full
		less.Wheels[i].Full = func(v float64) float64 { return 0.8 * f(v) }
	}
	add("block friction 20 % lower", &less, a.Steepest, 1)
	out := *d
	out.Wheels = slices.Clone(d.Wheels)
	if n := len(out.Wheels); n > 0 { // one vehicle in five cut out
		k := 0
		for i := range out.Wheels {
			if k++; k%5 == 0 {
				out.Wheels[i].Full = func(float64) float64 { return 0 }
			}
		}
		add("one brake in five cut out", &out, a.Steepest, 1)
	}
	high := *d
	high.Rolls = b.Train.Resistance(true)
	add("running resistance by the form for hauling (not to be counted on)", &high, a.Steepest, 1)
}
