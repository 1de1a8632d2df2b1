package haul

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/line"
	"headstock/motion"
)

// Spot is where a load is asked for: a grade that is long against the train.
type Spot struct {
	Name   string  `json:"name"`   // "" for a grade that was named as such
	Slope  float64 `json:"slope"`  // rise over length, in the direction of the run
	Radius float64 `json:"radius"` // m, of the curve on it; 0: straight
	Loop   float64 `json:"loop"`   // m, the shortest loop the train must stand in; 0: none asked
	Speed  float64 `json:"speed"`  // m/s, the speed limit there; 0: none known
}

// Ask is what a load table is made for.
type Ask struct {
	Places  []Spot
	Rails   []motion.Rail
	Weather Weather
	Slowest float64     // m/s, the lowest speed to be held on the grade; 0: the continuous speed of the engines
	More    []Criterion // other limits of the load: stopping, coming down, securing
	Cut     *Cut        // with a bogie's brake cut out, rows of its own; nil: none
}

// Criterion is a limit of the load that is worked out elsewhere: the wagons a train like
// this may have at a place, kg, and a note. An error says why there is no answer.
type Criterion struct {
	Name string
	Of   func(t *Train, p Spot) (mass float64, note string, err error)
}

// The names of the bounds.
const (
	BoundRunning  = "running"
	BoundStarting = "starting"
	BoundDrawgear = "drawgear"
	BoundStopping = "stopping"
	BoundDescent  = "coming down"
	BoundSecuring = "securing"
	BoundLoop     = "loop length"
)

// Bound is one limit of the load at one place.
type Bound struct {
	Name   string  `json:"name"`
	Bounds bool    `json:"bounds"` // it bounds the load at all
	Mass   float64 `json:"mass"`   // kg of wagons, where it does
	Note   string  `json:"note"`
	Unsaid string  `json:"unsaid"` // why it is not said; "" when it is
}

// Entry is the load at one place on one rail.
type Entry struct {
	Place    Spot        `json:"place"`
	Rail     motion.Rail `json:"rail"`
	Bounds   []Bound     `json:"bounds"`
	Governs  string      `json:"governs"`  // the bound that is least
	Load     float64     `json:"load"`     // kg of wagons like those of the consist, rounded nowhere
	Vehicles int         `json:"vehicles"` // whole wagons of their mean mass
	Speed    float64     `json:"speed"`    // m/s, at which running was reckoned
	Takes    bool        `json:"takes"`    // the wagons of the consist are no more than that
}

// Loads is a load table.
type Loads struct {
	Train       *Train           `json:"-"`
	Engines     []*Engine        `json:"-"`
	Entries     []Entry          `json:"entries"`
	Wagons      float64          `json:"wagons"` // kg of the wagons of the consist
	Wagon       float64          `json:"wagon"`  // kg, their mean
	Dead        []string         `json:"dead"`
	Curve       motion.CurveForm `json:"curve"`
	Cold        float64          `json:"cold"` // part taken off for cold
	Sensitive   []LoadIf         `json:"sensitive"`
	Cut         *Cut             `json:"cut"` // the same with a bogie's brake cut out; nil: not examined
	Assumptions []string         `json:"assumptions"`
}

// LoadIf is how the load at the first place and rail changes with one assumption.
type LoadIf struct {
	What string  `json:"what"`
	Load float64 `json:"load"` // kg
}

// startingSurplus is the acceleration with which a train must begin, m/s²: 0.02 to 0.05
// (from memory).
const startingSurplus = 0.03

// slowFallback is the lowest speed for locomotives whose record holds a measured effort
// and no continuous rating, m/s: invented.
const slowFallback = 10 / 3.6

// Load is the table: the least of running, starting, drawgear and loop length at each place
// on each rail, with what else the ask brings. What the records lack is a *CannotSay.
func (t *Train) Load(a Ask) (*Loads, error) {
	if err := t.Loadable(); err != nil {
		return nil, err
	}
	engines, err := t.Engines(a.Weather)
	if err != nil {
		return nil, err
	}
	l := &Loads{Train: t, Engines: engines, Curve: motion.CurveFormFor(t.Gauge)}
	s := t.split()
	if s.wagons == 0 {
		return nil, &CannotSay{[]string{"a wagon in the consist: a load is reckoned in wagons like those it has"}}
	}
	l.Wagons, l.Wagon, l.Dead = s.mass, s.mass/float64(s.wagons), s.dead
	air := a.Weather.Air
	if air == 0 {
		air = Mild().Air
	}
	l.Cold = motion.ColdReduction(air, false)
	for _, p := range a.Places {
		for _, r := range a.Rails {
			l.Entries = append(l.Entries, t.entry(l, s, a, p, r, change{}))
		}
	}
	if a.Cut != nil {
		cut, with := *a.Cut, a
		with.More, cut.Entries = cut.More, nil
		for _, p := range a.Places {
			for _, r := range a.Rails {
				cut.Entries = append(cut.Entries, t.entry(l, s, with, p, r, change{}))
			}
		}
		l.Cut = &cut
	}
	if len(a.Places) > 0 && len(a.Rails) > 0 {
		p, r := a.Places[0], a.Rails[0]
		with := func(what string, c change) {
			l.Sensitive = append(l.Sensitive, LoadIf{what, t.entry(l, s, a, p, r, c).Load})
		}
		with("adhesion a fifth lower", change{adhesion: -0.2})
		with("resistance by the low forms", change{low: true})
		with("resistance a fifth higher", change{resistance: 0.2})
		with("engine power a tenth lower", change{power: -0.1})
		with("starting with 0.05 m/s² in hand", change{surplus: 0.02})
		if cut, what := t.oneOut(engines); cut != nil {
			with("with "+what, change{engines: cut})
		}
	}
	l.Assumptions = t.loadAssumptions(l, a)
	return l, nil
}

// Loadable is a *CannotSay where no load can be reckoned for lack of something in the records
// or in the train, whatever is asked.
func (t *Train) Loadable() error {
	if err := t.Needs("mass", "length", "axles", "running", "resistance for hauling", "starting", "gauge"); err != nil {
		return err
	}
	if _, err := t.Engines(Mild()); err != nil {
		return err
	}
	if t.split().wagons == 0 {
		return &CannotSay{[]string{"a wagon in the consist: a load is reckoned in wagons like those it has"}}
	}
	return nil
}

// change is an assumption made otherwise.
type change struct {
	adhesion, resistance, power, surplus float64
	low                                  bool
	engines                              []*Engine
}

// split is a train cut into what is fixed (locomotives, dead ones too) and its wagons.
type split struct {
	fixed, fixedLength  float64
	fixedHigh, fixedLow motion.Resistance
	fixedStart          float64
	wagons              int
	mass, length        float64
	high, low           motion.Resistance
	start               float64
	dead                []string
	undrawn             string // class whose drawgear is not stated
}

func (t *Train) split() split {
	s := split{}
	for i := range t.Vehicles {
		v := &t.Vehicles[i]
		if k := v.Class.Running; k == nil || k.Drawgear == 0 {
			s.undrawn = v.Class.Name
		}
		if v.Locomotive() {
			s.fixed += v.Mass
			s.fixedLength += v.Length
			s.fixedHigh, s.fixedLow = s.fixedHigh.Plus(v.High), s.fixedLow.Plus(v.Low)
			s.fixedStart += v.Starting
			if !v.Pulls() {
				s.dead = append(s.dead, v.Name())
			}
			continue
		}
		s.wagons++
		s.mass += v.Mass
		s.length += v.Length
		s.high, s.low = s.high.Plus(v.High), s.low.Plus(v.Low)
		s.start += v.Starting
	}
	return s
}

// slowest is the lowest speed at which all engines may pull without end, as they stand.
func slowest(engines []*Engine) float64 {
	v := 0.0
	for _, e := range engines {
		if p, err := e.Machine.ContinuousPoint(); err == nil {
			v = math.Max(v, p.Speed)
		}
	}
	if v == 0 {
		return slowFallback
	}
	return v
}

func (t *Train) entry(l *Loads, s split, a Ask, p Spot, r motion.Rail, c change) Entry {
	engines := l.Engines
	if c.engines != nil {
		engines = c.engines
	}
	e := Entry{Place: p, Rail: r, Speed: a.Slowest}
	if e.Speed == 0 {
		e.Speed = slowest(engines)
	}
	adhesion := r.Adhesion * (1 + c.adhesion)
	effort := func(v float64) float64 {
		f := 0.0
		for _, x := range engines {
			m := x.Machine
			if c.power != 0 {
				other := *m
				other.Derated *= 1 + c.power
				m = &other
			}
			f += m.At(v, adhesion).Effort
		}
		return f
	}
	high, fixed := s.high, s.fixedHigh
	if c.low {
		high, fixed = s.low, s.fixedLow
	}
	grade := motion.Gravity * (p.Slope + l.Curve.Specific(p.Radius))
	k := 1 + c.resistance
	cold := 1 - l.Cold
	take := func(name string, f, fixed, perKilogram float64, note string) {
		q := math.Inf(1)
		if perKilogram > 0 {
			q = math.Max(0, (f-fixed)/perKilogram) * cold
		}
		e.bound(name, q, note)
	}
	f := effort(e.Speed)
	take(BoundRunning, f, k*fixed.At(e.Speed)+s.fixed*grade, k*high.At(e.Speed)/s.mass+grade, fmt.Sprintf("%.0f kN at %.1f km/h", f/1000, e.Speed*3.6))
	surplus := startingSurplus + c.surplus
	inertia := t.Inertia() / t.Mass // what rotating parts add, as in this train
	f = effort(0)
	perStart := k*s.start/s.mass + grade + surplus*inertia
	take(BoundStarting, f, k*s.fixedStart+s.fixed*(grade+surplus*inertia), perStart, fmt.Sprintf("%.0f kN", f/1000))
	if s.undrawn != "" {
		e.Bounds = append(e.Bounds, Bound{Name: BoundDrawgear, Unsaid: "cannot say: needs the drawgear in the running of class " + s.undrawn})
	} else {
		q, note := t.drawgear(perStart, s.mass)
		e.bound(BoundDrawgear, q, note)
	}
	for _, name := range []string{BoundStopping, BoundDescent, BoundSecuring} {
		i := slices.IndexFunc(a.More, func(m Criterion) bool { return m.Name == name })
		if i < 0 {
			e.Bounds = append(e.Bounds, Bound{Name: name, Unsaid: "not examined"})
			continue
		}
		q, note, err := a.More[i].Of(t, p)
		if err != nil {
			e.Bounds = append(e.Bounds, Bound{Name: name, Unsaid: err.Error()})
			continue
		}
		e.bound(name, q, note)
	}
	if p.Loop > 0 {
		q := math.Max(0, p.Loop-s.fixedLength) * s.mass / s.length
		e.bound(BoundLoop, q, fmt.Sprintf("%.0f m", p.Loop))
	}
	for _, b := range e.Bounds {
		if b.Bounds && (e.Governs == "" || b.Mass < e.Load) {
			e.Load, e.Governs = b.Mass, b.Name
		}
	}
	e.Vehicles = int(math.Floor(e.Load/l.Wagon + 1e-9))
	e.Takes = e.Governs == "" || s.mass <= e.Load
	return e
}

// bound notes one limit; an infinite mass is no limit.
func (e *Entry) bound(name string, mass float64, note string) {
	b := Bound{Name: name, Note: note}
	if !math.IsInf(mass, 1) {
		b.Bounds, b.Mass = true, mass
	}
	e.Bounds = append(e.Bounds, b)
}

// drawgear is the mass of wagons with which the first of the couplings is pulled as hard as
// the weaker of its two drawgears may be, when the train starts at a demand in N/kg: each
// bears its share of the wagons, and the dead units, that stand behind it. Engines that
// push from behind are not counted on.
func (t *Train) drawgear(demand, wagons float64) (float64, string) {
	first := slices.IndexFunc(t.Vehicles, func(v Vehicle) bool { return v.Pulls() })
	for first >= 0 && first+1 < len(t.Vehicles) && t.Vehicles[first+1].Pulls() {
		first++ // between engines that pull together a coupling bears less than behind them
	}
	least, note := math.Inf(1), "no coupling is pulled"
	behind, dead := 0.0, 0.0
	for j := len(t.Vehicles) - 2; j >= max(first, 0); j-- {
		a, b := &t.Vehicles[j], &t.Vehicles[j+1]
		switch {
		case !b.Locomotive():
			behind += b.Mass
		case !b.Pulls():
			dead += b.Mass
		}
		limit := math.Min(a.Class.Running.Drawgear, b.Class.Running.Drawgear)
		if behind == 0 || demand <= 0 {
			continue
		}
		if q := math.Max(0, (limit/demand-dead)*wagons/behind); q < least {
			least, note = q, fmt.Sprintf("%.0f kN between %s and %s", limit/1000, a.Name(), b.Name())
		}
	}
	return least, note
}

// oneOut is the engines with the motors of one of them cut out as its record can: the one
// that costs most.
func (t *Train) oneOut(engines []*Engine) ([]*Engine, string) {
	var best []*Engine
	what, least := "", math.Inf(1)
	for i, e := range engines {
		if len(e.Out) > 0 || e.record == nil {
			continue
		}
		for _, k := range e.record.CutOut {
			m := *e.Machine
			m.Out = k.Axles
			x := *e
			x.Machine, x.Out, x.OutBy = &m, k.Axles, k.Position
			if f := m.At(0, 0.25).Effort - e.Machine.At(0, 0.25).Effort; f < least {
				least = f
				best = slices.Clone(engines)
				best[i] = &x
				what = fmt.Sprintf("%s of %s", k.Position, e.Name)
			}
		}
	}
	return best, what
}

func (t *Train) loadAssumptions(l *Loads, a Ask) []string {
	out := []string{
		"Resistance by the high form of each record: " + t.forms(true) + ".",
		"Curves by " + l.Curve.Name + " (" + l.Curve.Source + ").",
		"A grade counts as longer than the train; no run at it is credited.",
		fmt.Sprintf("A start counts with every brake off, all at once, and %.2f m/s² in hand.", startingSurplus),
	}
	if a.Slowest == 0 {
		out = append(out, fmt.Sprintf("Running is reckoned at %.1f km/h, the lowest speed that all motors bear without end.", slowest(l.Engines)*3.6))
		if !slices.ContainsFunc(l.Engines, func(e *Engine) bool { return e.Machine.Measured == nil }) {
			out[len(out)-1] = fmt.Sprintf("Running is reckoned at %.0f km/h (invented): the record gives no continuous rating.", slowFallback*3.6)
		}
	}
	if l.Cold > 0 {
		out = append(out, fmt.Sprintf("%.0f per cent is taken off for cold (tr0603).", 100*l.Cold))
	}
	for _, e := range l.Engines {
		if d := e.Machine.Derated; d < 1 {
			out = append(out, fmt.Sprintf("%s has %.0f per cent of its power at that height and heat.", e.Name, 100*d))
		}
		for _, w := range e.Weak {
			out = append(out, e.Name+": "+w+".")
		}
	}
	return out
}

// forms names the forms of resistance in use, by class.
func (t *Train) forms(high bool) string {
	var out []string
	for i := range t.Vehicles {
		c := t.Vehicles[i].Class
		if c.Running == nil {
			continue
		}
		f := c.Running.Low
		if high {
			f = c.Running.High
		}
		if s := c.Name + " " + f; !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return strings.Join(out, ", ")
}

// Invented lists the classes whose haulage figures are weak, with their standing.
func Invented(t *Train) []string {
	var out []string
	add := func(c *fleet.Class, by string) {
		if s := c.Name + ": " + by; by != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for i := range t.Vehicles {
		c := t.Vehicles[i].Class
		if c.Running != nil {
			add(c, c.Running.Source)
		}
		if c.Traction != nil {
			add(c, c.Traction.Source)
		}
	}
	return out
}

// Spots are the hardest grade of each section of a line from one place to another in the
// direction of the run, with the sharpest curve on it, and the shortest loop on the way.
// A section that does not rise has its place with the slope that rises most, 0 at least.
// The error names the places there are, or is a *CannotSay of what the line lacks.
func Spots(l *line.Line, from, to string, curves motion.CurveForm) ([]Spot, error) {
	sections, _, err := l.Between(from, to)
	if err != nil {
		return nil, err
	}
	a, _ := l.Place(from)
	b, _ := l.Place(to)
	low, high := math.Min(a.At, b.At), math.Max(a.At, b.At)
	up := 1.0
	if a.At > b.At {
		up = -1
	}
	loop := 0.0
	for _, p := range l.Places {
		if p.At >= low && p.At <= high && p.Loop > 0 && (loop == 0 || p.Loop < loop) {
			loop = p.Loop
		}
	}
	var out []Spot
	for _, s := range sections {
		p := Spot{Name: s.Name(), Loop: loop, Speed: s.Speed}
		worst := math.Inf(-1)
		lo, hi := math.Max(s.Start, low), math.Min(s.End, high)
		covered := lo
		for _, g := range l.Gradients {
			x, y := math.Max(g.Start, lo), math.Min(g.End, hi)
			if y <= x {
				continue
			}
			if x > covered+1e-6 {
				break
			}
			covered = y
			radius := 0.0
			for _, c := range l.Curves {
				if c.Start < y && c.End > x && (radius == 0 || c.Radius < radius) {
					radius = c.Radius
				}
			}
			slope := up * g.Slope
			if w := slope + curves.Specific(radius); w > worst {
				worst = w
				p.Slope, p.Radius, p.Speed = slope, radius, s.Speed
				for _, k := range l.Speeds {
					if k.Start < y && k.End > x && (p.Speed == 0 || k.AtMost < p.Speed) {
						p.Speed = k.AtMost
					}
				}
			}
		}
		if covered < hi-1e-6 {
			return nil, &CannotSay{[]string{fmt.Sprintf("the gradients of the line %s from km %g", l.Name, covered/1000)}}
		}
		out = append(out, p)
	}
	return out, nil
}
