package haul

import (
	"fmt"
	"math"
	"slices"

	"headstock/line"
	"headstock/motion"
)

// Journey is a run that is asked for.
type Journey struct {
	Line     *line.Line
	From, To string
	Rail     motion.Rail
	Weather  Weather // its height is taken from the line where that states heights, and is the highest of the way
	Through  bool    // does not stop at the end
	Slowing  float64 // m/s², with which the train is slowed for a limit; 0: 0.2 (invented)
	Against  float64 // N, a further force that holds the train back
	Hot      float64 // rise of the motors at the beginning, in parts of the rated rise
	Sample   float64 // m between samples; 0: 200
}

// usualSlowing is the slowing that a driver is taken to keep to before a limit, m/s²: invented.
const usualSlowing = 0.2

// Ran is what comes of a journey.
type Ran struct {
	Train       *Train         `json:"-"`
	Line        *line.Line     `json:"-"`
	From        string         `json:"from"`
	To          string         `json:"to"`
	Distance    float64        `json:"distance"` // m asked for
	Engines     []*Engine      `json:"-"`
	Out         motion.Outcome `json:"out"`
	Other       motion.Outcome `json:"other"`    // the same by distance
	Disagree    float64        `json:"disagree"` // part by which the two reckonings of the time differ
	Spent       []Spent        `json:"spent"`
	Coupling    []Drawn        `json:"coupling"` // the highest steady pull and push of each coupling, front first
	Origin      float64        `json:"origin"`   // m of the line at the beginning
	Up          bool           `json:"up"`       // runs with the kilometres
	Highest     float64        `json:"highest"`  // m above the sea
	Stalled     bool           `json:"stalled"`
	StallAt     float64        `json:"stall_at"` // m of the line
	Near        string         `json:"near"`     // the section where it stalled
	Rail        motion.Rail    `json:"rail"`
	Assumptions []string       `json:"assumptions"`
}

// Spent is what one locomotive used.
type Spent struct {
	Engine   string        `json:"engine"`
	Fuel     *float64      `json:"fuel"`      // m³; nil where the record does not say
	FuelLeft *float64      `json:"fuel_left"` // m³ of a full tank
	Sanding  float64       `json:"sanding"`   // s
	SandLeft *float64      `json:"sand_left"` // s of full boxes
	Worked   motion.Worked `json:"worked"`
	Plate    float64       `json:"plate"` // s that the plate allows at the highest current; 0 without end, -1 none
	Needs    []string      `json:"needs"`
}

// Drawn is the force in one coupling while the train runs steadily, without the surges of
// its slack.
type Drawn struct {
	Pull   float64 `json:"pull"`    // N
	Push   float64 `json:"push"`    // N
	PullAt float64 `json:"pull_at"` // m of the line
	PushAt float64 `json:"push_at"` // m of the line
	Limit  float64 `json:"limit"`   // N, the weaker drawgear of the two; 0 not stated
}

// At turns a distance of the run into one of the line.
func (r *Ran) At(s float64) float64 {
	if r.Up {
		return r.Origin + s
	}
	return r.Origin - s
}

// PathOf is the line as a train meets it from one place to another, with the distance on the
// line, m, of the place where the head of the train begins, and the highest point of the way,
// m above the sea. The error names the places there are, or is a *CannotSay of what the line
// lacks.
func PathOf(l *line.Line, from, to string) (w *motion.Way, distance, highest float64, err error) {
	sections, distance, err := l.Between(from, to)
	if err != nil {
		return nil, 0, 0, err
	}
	a, _ := l.Place(from)
	b, _ := l.Place(to)
	up := b.At > a.At
	at := func(x float64) float64 {
		if up {
			return x - a.At
		}
		return a.At - x
	}
	span := func(x, y float64) (float64, float64) {
		p, q := at(x), at(y)
		return math.Min(p, q), math.Max(p, q)
	}
	w = &motion.Way{}
	if len(l.Gradients) == 0 {
		return nil, 0, 0, &CannotSay{[]string{"gradients of the line " + l.Name}}
	}
	// the profile from the zero of the line, then turned
	h := 0.0
	base := math.NaN()
	for _, p := range l.Places {
		if p.HasHeight {
			base = p.Height - riseTo(l, p.At)
			break
		}
	}
	if math.IsNaN(base) {
		base = 0
	}
	h = base
	add := func(x, z float64) { w.Heights = append(w.Heights, motion.Vertex{At: at(x), Height: z}) }
	add(l.Gradients[0].Start, h)
	for _, g := range l.Gradients {
		h += (g.End - g.Start) * g.Slope
		add(g.End, h)
	}
	if !up {
		slices.Reverse(w.Heights)
	}
	low, high := math.Min(a.At, b.At), math.Max(a.At, b.At)
	if l.Gradients[0].Start > low || l.Gradients[len(l.Gradients)-1].End < high {
		return nil, 0, 0, &CannotSay{[]string{fmt.Sprintf("gradients of the line %s over all of the way", l.Name)}}
	}
	highest = math.Inf(-1)
	for _, v := range w.Heights {
		if v.At >= -1 && v.At <= distance+1 {
			highest = math.Max(highest, v.Height)
		}
	}
	highest = math.Max(highest, math.Max(w.Height(0), w.Height(distance)))
	for _, c := range l.Curves {
		x, y := span(c.Start, c.End)
		w.Arcs = append(w.Arcs, motion.Arc{From: x, To: y, Radius: c.Radius})
	}
	for _, s := range sections {
		if s.Speed == 0 {
			return nil, 0, 0, &CannotSay{[]string{fmt.Sprintf("the speed of the section %s", s.Name())}}
		}
		x, y := span(s.Start, s.End)
		w.Limits = append(w.Limits, motion.Limit{From: x, To: y, Speed: s.Speed})
	}
	for _, s := range l.Speeds {
		x, y := span(s.Start, s.End)
		w.Limits = append(w.Limits, motion.Limit{From: x, To: y, Speed: s.AtMost})
	}
	return w, distance, highest, nil
}

func riseTo(l *line.Line, at float64) float64 {
	sum := 0.0
	for _, g := range l.Gradients {
		if end := math.Min(g.End, at); end > g.Start {
			sum += (end - g.Start) * g.Slope
		}
	}
	return sum
}

// Rake is the train for motion, with the high resistance where it hinders or the low.
func (t *Train) Rake(high bool) motion.Rake {
	var r motion.Rake
	for i := range t.Vehicles {
		v := &t.Vehicles[i]
		c := motion.Car{Mass: v.Mass, Inertia: v.Inertia(), Length: v.Length, Running: v.Low}
		if high {
			c.Running, c.Starting = v.High, v.Starting
		}
		r = append(r, c)
	}
	return r
}

// Task is a journey made ready for motion, with its engines and the highest point. The
// highest point is in m. The error is that of PathOf or of an engine (*CannotSay).
func (t *Train) Task(j Journey) (motion.Task, []*Engine, float64, error) {
	if err := t.Needs("mass", "length", "axles", "running", "resistance for hauling", "starting", "rotating mass", "gauge"); err != nil {
		return motion.Task{}, nil, 0, err
	}
	way, distance, highest, err := PathOf(j.Line, j.From, j.To)
	if err != nil {
		return motion.Task{}, nil, 0, err
	}
	if j.Weather.Height == 0 {
		j.Weather.Height = highest
	}
	engines, err := t.Engines(j.Weather)
	if err != nil {
		return motion.Task{}, nil, 0, err
	}
	k := motion.Task{Way: way, Rake: t.Rake(true), Adhesion: j.Rail.Adhesion, Curves: motion.CurveFormFor(t.Gauge), To: distance, Stop: !j.Through,
		Slowing: j.Slowing, Against: j.Against, Sample: j.Sample}
	if k.Slowing == 0 {
		k.Slowing = usualSlowing
	}
	if k.Sample == 0 {
		k.Sample = 200
	}
	if j.Rail.Sanded {
		for _, r := range motion.Rails() {
			if !r.Sanded && r.Name+" sanded" == j.Rail.Name {
				k.Unsanded = r.Adhesion
			}
		}
	}
	for _, e := range engines {
		k.Machines = append(k.Machines, e.Machine)
		k.Heat = append(k.Heat, e.Heat)
		k.Hot = append(k.Hot, j.Hot)
		if f := e.Machine.Fastest; f > 0 { // no engine is run faster than its motors may
			k.Way.Limits = append(k.Way.Limits, motion.Limit{From: -1e6, To: distance + 1e6, Speed: f})
		}
	}
	return k, engines, highest, nil
}

// Run is the journey: the train gives all it can up to the limits, holds them, and is
// slowed for the next. It is reckoned twice, in steps of time and of distance. The error
// is that of Task, or a run that was given up.
func (t *Train) Run(j Journey) (*Ran, error) {
	k, engines, highest, err := t.Task(j)
	if err != nil {
		return nil, err
	}
	r := &Ran{Train: t, Line: j.Line, From: j.From, To: j.To, Distance: k.To, Engines: engines, Highest: highest, Rail: j.Rail}
	a, _ := j.Line.Place(j.From)
	b, _ := j.Line.Place(j.To)
	r.From, r.To = a.Name, b.Name
	r.Origin, r.Up = a.At, b.At > a.At
	if r.Out, err = k.ByTime(); err != nil {
		return nil, err
	}
	plain := k
	plain.Sample = 0
	if r.Other, err = plain.ByDistance(); err != nil {
		return nil, err
	}
	if r.Out.Time > 0 {
		r.Disagree = math.Abs(r.Other.Time-r.Out.Time) / r.Out.Time
	}
	if r.Stalled = r.Out.Stalled; r.Stalled {
		r.StallAt = r.At(r.Out.Reached)
		for _, s := range j.Line.Sections {
			if r.StallAt >= s.Start && r.StallAt <= s.End {
				r.Near = s.Name()
			}
		}
	}
	for i, e := range engines {
		r.Spent = append(r.Spent, spent(e, r.Out.Machines[i], r.Out.Time))
	}
	r.Coupling = t.drawn(k, r)
	r.Assumptions = []string{
		"Resistance by the high form of each record: " + t.forms(true) + ".",
		"Curves by " + k.Curves.Name + " (" + k.Curves.Source + "). Each vehicle is reckoned where it stands on the profile.",
		fmt.Sprintf("The driver gives all there is, keeps to each limit until the last vehicle has passed it, and slows with %.2f m/s² (invented).", k.Slowing),
		fmt.Sprintf("Engines are reckoned at %.0f m, the highest of the way.", highest),
		fmt.Sprintf("Motors begin at %.0f per cent of their rated rise.", 100*j.Hot),
		"Tanks and sand boxes begin full. Fuel lies on a straight line between idling and full power.",
	}
	return r, nil
}

func spent(e *Engine, w motion.Worked, time float64) Spent {
	s := Spent{Engine: e.Name, Sanding: w.Sanding, Worked: w}
	t := e.record
	if t.Fuel[0] > 0 && t.Fuel[1] > 0 {
		used := time*t.Fuel[0] + w.Share*(t.Fuel[1]-t.Fuel[0])
		s.Fuel = &used
		if t.Tank > 0 {
			left := t.Tank - used
			s.FuelLeft = &left
		}
	} else {
		s.Needs = append(s.Needs, "fuel idling and at full power")
	}
	if t.Tank == 0 {
		s.Needs = append(s.Needs, "tank")
	}
	if t.Sand > 0 {
		left := t.Sand - w.Sanding
		s.SandLeft = &left
	} else {
		s.Needs = append(s.Needs, "sand")
	}
	if e.Machine.Measured == nil && e.Heat.Tau == 0 {
		s.Needs = append(s.Needs, "time constant, for the heat of its motors")
	}
	return s
}

// drawn is the steady force in each coupling over the samples of a run: what is needed to
// move all that stands behind it. A brake is shared out by mass.
func (t *Train) drawn(k motion.Task, r *Ran) []Drawn {
	n := len(t.Vehicles)
	out := make([]Drawn, max(0, n-1))
	for j := range out {
		for _, v := range t.Vehicles[j : j+2] {
			if v.Class.Running != nil && v.Class.Running.Drawgear > 0 && (out[j].Limit == 0 || v.Class.Running.Drawgear < out[j].Limit) {
				out[j].Limit = v.Class.Running.Drawgear
			}
		}
	}
	chain := motion.Chain{}
	for i := range t.Vehicles {
		chain.Mass = append(chain.Mass, t.Vehicles[i].Inertia())
	}
	push := make([]float64, n)
	for _, s := range r.Out.Samples {
		most := 0.0
		for _, m := range k.Machines {
			most += m.At(s.Speed, k.Adhesion).Effort
		}
		for i := range push {
			v := &t.Vehicles[i]
			head := s.At - v.Behind
			push[i] = -k.Rake[i].Running.At(s.Speed) - v.Mass*motion.Gravity*(k.Way.Height(head)-k.Way.Height(head-v.Length))/v.Length - s.Brake*v.Mass/t.Mass
			for _, a := range k.Way.Arcs {
				if in := math.Min(a.To, head) - math.Max(a.From, head-v.Length); in > 0 {
					push[i] -= v.Mass * motion.Gravity * k.Curves.Specific(a.Radius) * in / v.Length
				}
			}
		}
		if most > 0 {
			for x, e := range r.Engines {
				push[e.Vehicle] += s.Effort * k.Machines[x].At(s.Speed, k.Adhesion).Effort / most
			}
		}
		_, f := chain.Steady(push)
		for j, p := range f {
			if p > out[j].Pull {
				out[j].Pull, out[j].PullAt = p, r.At(s.At)
			}
			if -p > out[j].Push {
				out[j].Push, out[j].PushAt = -p, r.At(s.At)
			}
		}
	}
	return out
}
