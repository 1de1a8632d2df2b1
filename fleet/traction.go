package fleet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"headstock/internal/reading"
	"headstock/motion"
	"headstock/quantity"
	"headstock/source"
)

// Running is how a vehicle rolls and is drawn. A figure of 0 and an empty word are not
// stated.
type Running struct {
	High, Low string // published forms of resistance: for hauling, and for stopping and securing
	Starting  string // how the resistance at a stand is reckoned
	Area      float64
	Rotating  float64 // kg, what the rotating parts add to the mass that is sped up
	Drawgear  float64 // N, the pull its drawgear may carry
	Buff      float64 // N, the push it may carry
	Slack     float64 // m, free play of one coupler
	Travel    float64 // m, of its draft gear
	Gear      float64 // N, force of its draft gear at full travel
	Returned  float64 // part of that force left as it is let off
	Source    string
	Pos       reading.Pos
}

// Traction is how a locomotive pulls. A figure that is not stated is 0.
type Traction struct {
	Form       string       // "series motors" or "measured effort"
	Generators [][]int      // axles fed by each generator
	Steps      []Step       // groupings, from the lowest speed up
	Effort     [][2]float64 // m/s, N: a measured effort at each speed
	Field      [][2]float64 // magnetisation: part of continuous current, part of the voltage then induced
	Ratings    [][2]float64 // A as the ammeter shows, s for which it may stand
	Ammeter    string       // "generator", or the axles of the string whose current it shows
	CutOut     []CutOut
	Fuel       [2]float64 // m³/s, idling and at full power, of all engines
	Tank       float64    // m³
	Sand       float64    // s of sanding that full boxes last
	Aspiration string     // "turbocharged" or "natural"
	figures    []named
	Source     string
	Pos        reading.Pos
}

// CutOut is what a position of the motor cut-out takes out of use.
type CutOut struct {
	Position string
	Axles    []int
	Pos      reading.Pos
}

// Step is one grouping of the motors.
type Step struct {
	Strings [][]int // axles in series in each string
	Field   float64 // part of the current that goes through the field, 0..1
	UpTo    float64 // m/s at which it gives way to the next; 0: at none
	Pos     reading.Pos
}

type named struct {
	name string
	source.Figure
}

// Figure is a figure of the traction by its key, SI; false when it is not stated.
func (t *Traction) Figure(key string) (float64, bool) {
	for _, f := range t.figures {
		if f.name == key {
			return f.SI, true
		}
	}
	return 0, false
}

// tractionFigures are the plain figures of traction, each with its kind.
var tractionFigures = sync.OnceValue(func() []struct {
	name, help string
	kind       quantity.Kind
} {
	return []struct {
		name, help string
		kind       quantity.Kind
	}{
		{"engine power", "of the engine before each generator, gross", quantity.Power},
		{"auxiliaries", "what is taken from each engine before its generator", quantity.Power},
		{"generator efficiency", "electrical power given for mechanical taken, 0 to 1", quantity.Count},
		{"generator voltage", "the highest of each generator", quantity.Voltage},
		{"generator current", "the highest of each generator", quantity.Current},
		{"motor current", "continuous, of one motor", quantity.Current},
		{"motor voltage", "across one motor at its continuous current and power", quantity.Voltage},
		{"motor drop", "of that voltage, what is lost in the motor's resistance", quantity.Voltage},
		{"continuous speed", "at the rail, at continuous current and power", quantity.Speed},
		{"mechanical efficiency", "power at the rail for the power that the armatures turn, 0 to 1", quantity.Count},
		{"wheel", "diameter at which these figures hold", quantity.Length},
		{"worn wheel", "the smallest diameter in use", quantity.Length},
		{"fastest", "the highest speed of the motors", quantity.Speed},
		{"time constant", "of the heating of a motor with its blower", quantity.Time},
		{"time constant at rest", "of its cooling with the blower slow or still", quantity.Time},
		{"utilisation", "of adhesion: what weight transfer leaves, 0 to 1", quantity.Count},
		{"bogie wheelbase", "between the outer axles of a bogie", quantity.Length},
		{"traction height", "above rail, at which a bogie pulls the body", quantity.Length},
	}
})

var runningKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "resistance for hauling", Form: FormOneOf, Words: motion.FormNames(), Required: true, Help: "a published form that is high for this vehicle"},
		{Name: "resistance for stopping", Form: FormOneOf, Words: motion.FormNames(), Required: true, Help: "a published form that is low for it; also for securing and coming down"},
		{Name: "starting", Form: FormOneOf, Words: motion.StartingNames(), Help: "how the resistance at a stand is reckoned"},
		{Name: "frontal area", Form: FormFigure, Help: "where a form asks for it"},
		{Name: "rotating mass", Form: FormFigure, Help: "what wheels, gears and motors add to the mass that is sped up"},
		{Name: "drawgear", Form: FormFigure, Help: "the pull that its drawgear may carry"},
		{Name: "buff", Form: FormFigure, Help: "the push that it may carry"},
		{Name: "slack", Form: FormFigure, Help: "free play of one coupler"},
		{Name: "draft gear travel", Form: FormFigure, Help: "of one end"},
		{Name: "draft gear force", Form: FormFigure, Help: "at full travel"},
		{Name: "draft gear return", Form: FormFigure, Help: "part of that force left as it is let off, 0 to 1"},
		{Name: "source", Form: FormText, Help: "where these figures come from"},
	}
})

var tractionKeys = sync.OnceValue(func() []KeySpec {
	out := []KeySpec{
		{Name: "form", Form: FormOneOf, Words: []string{"series motors", "measured effort"}, Required: true, Help: "reckoned from its motors, or an effort measured at each speed"},
		{Name: "generators", Form: FormTexts, Help: "the axles that each generator feeds: 1 2 3 4 5 6"},
		{Name: "steps", Form: FormList, Help: "groupings of the motors, from the lowest speed up", Keys: []KeySpec{
			{Name: "strings", Form: FormTexts, Required: true, Help: "the axles whose motors are in series, string by string: 1 4"},
			{Name: "field", Form: FormFigure, Help: "part of the current that goes through the field; without it, all"},
			{Name: "up to", Form: FormFigure, Help: "speed at which the next takes over"},
		}},
		{Name: "magnetisation", Form: FormFacts, Help: "part of the continuous current: part of the voltage then induced at one speed"},
		{Name: "effort", Form: FormFacts, Help: "measured: speed: effort at the rail"},
		{Name: "ammeter", Form: FormText, Help: "generator, or the axles of the string whose current it shows"},
		{Name: "ratings", Form: FormFacts, Help: "the plate: current as the ammeter shows it: how long it may stand"},
		{Name: "cut out", Form: FormFacts, Help: "position of the motor cut-out: the axles that it takes out of use"},
		{Name: "fuel idling", Form: FormFigure, Help: "flow to all its engines"},
		{Name: "fuel at full power", Form: FormFigure, Help: "flow to all its engines"},
		{Name: "tank", Form: FormFigure, Help: "fuel that can be used"},
		{Name: "sand", Form: FormFigure, Help: "time of sanding that full boxes last"},
		{Name: "aspiration", Form: FormOneOf, Words: []string{"turbocharged", "natural"}, Help: "how the engine breathes, for the loss of power with height"},
		{Name: "source", Form: FormText, Help: "where these figures come from"},
	}
	for _, f := range tractionFigures() {
		out = append(out, KeySpec{Name: f.name, Form: FormFigure, Help: f.help})
	}
	return out
})

// positive reads a figure of a kind that is above zero, 0 after a complaint.
func (r *reader) positive(n *reading.Node, kind quantity.Kind) float64 {
	f := r.figure(n, kind)
	switch {
	case f == nil:
		return 0
	case !(f.SI > 0):
		r.complain(CodeNotPositive, n.Pos(), fmt.Sprintf("%q is not above zero", r.text(n)), "a "+kind.String()+" above zero", "")
		return 0
	}
	return f.SI
}

func (r *reader) running(c *Class, n *reading.Node) {
	if !r.isMap(n, "running") {
		return
	}
	r.keys(n, n.Pos(), "running", runningKeys(), nil)
	old := r.source
	defer func() { r.source = old }()
	r.setSource(n)
	k := &Running{Pos: n.Pos(), Source: r.source}
	for _, e := range n.Entries() {
		switch e.Key {
		case "resistance for hauling":
			k.High = r.oneOf(e.Value, motion.FormNames())
		case "resistance for stopping":
			k.Low = r.oneOf(e.Value, motion.FormNames())
		case "starting":
			k.Starting = r.oneOf(e.Value, motion.StartingNames())
		case "frontal area":
			k.Area = r.positive(e.Value, quantity.Area)
		case "rotating mass":
			k.Rotating = r.positive(e.Value, quantity.Mass)
		case "drawgear":
			k.Drawgear = r.positive(e.Value, quantity.Force)
		case "buff":
			k.Buff = r.positive(e.Value, quantity.Force)
		case "slack":
			k.Slack = r.positive(e.Value, quantity.Length)
		case "draft gear travel":
			k.Travel = r.positive(e.Value, quantity.Length)
		case "draft gear force":
			k.Gear = r.positive(e.Value, quantity.Force)
		case "draft gear return":
			k.Returned = r.part(e.Value)
		}
	}
	c.Running = k
}

// part reads a number above 0 and at most 1; 0 after a complaint.
func (r *reader) part(n *reading.Node) float64 {
	v := r.positive(n, quantity.Count)
	if v > 1 {
		r.complain(CodePart, n.Pos(), fmt.Sprintf("%q is more than the whole", r.text(n)), "a part from 0 to 1, or a percentage", "")
		return 0
	}
	return v
}

func (r *reader) traction(c *Class, n *reading.Node) {
	if !r.isMap(n, "traction") {
		return
	}
	r.keys(n, n.Pos(), "traction", tractionKeys(), nil)
	old := r.source
	defer func() { r.source = old }()
	r.setSource(n)
	t := &Traction{Pos: n.Pos(), Source: r.source}
	for _, e := range n.Entries() {
		switch e.Key {
		case "form":
			t.Form = r.oneOf(e.Value, []string{"series motors", "measured effort"})
		case "generators":
			t.Generators = r.axleLists(e.Value)
		case "steps":
			r.steps(t, e.Value)
		case "magnetisation":
			t.Field = r.pairs(e.Value, e.Key, quantity.Count, quantity.Count)
		case "effort":
			t.Effort = r.pairs(e.Value, e.Key, quantity.Speed, quantity.Force)
		case "ratings":
			t.Ratings = r.pairs(e.Value, e.Key, quantity.Current, quantity.Time)
		case "ammeter":
			if t.Ammeter = r.text(e.Value); t.Ammeter != "generator" {
				r.axles(e.Value.Pos(), t.Ammeter)
			}
		case "cut out":
			for _, f := range r.facts(e.Value, "cut out") {
				t.CutOut = append(t.CutOut, CutOut{f.Name, r.axles(f.Pos, f.Text), f.Pos})
			}
		case "fuel idling":
			t.Fuel[0] = r.positive(e.Value, quantity.Flow)
		case "fuel at full power":
			t.Fuel[1] = r.positive(e.Value, quantity.Flow)
		case "tank":
			t.Tank = r.positive(e.Value, quantity.Volume)
		case "sand":
			t.Sand = r.positive(e.Value, quantity.Time)
		case "aspiration":
			t.Aspiration = r.oneOf(e.Value, []string{"turbocharged", "natural"})
		default:
			for _, f := range tractionFigures() {
				if f.name != e.Key {
					continue
				}
				if f.kind == quantity.Count {
					if r.part(e.Value) == 0 {
						continue
					}
				}
				if fig := r.figure(e.Value, f.kind); fig != nil && fig.SI > 0 {
					t.figures = append(t.figures, named{f.name, *fig})
				} else if fig != nil {
					r.complain(CodeNotPositive, e.Value.Pos(), fmt.Sprintf("%q is not above zero", r.text(e.Value)), "a "+f.kind.String()+" above zero", "")
				}
			}
		}
	}
	c.Traction = t
}

func (r *reader) steps(t *Traction, n *reading.Node) {
	specs := keysOf(tractionKeys(), "steps")
	for _, i := range r.maps(n, "a step") {
		r.keys(i, i.Pos(), "a step", specs, nil)
		s := Step{Field: 1, Pos: i.Pos()}
		for _, e := range i.Entries() {
			switch e.Key {
			case "strings":
				s.Strings = r.axleLists(e.Value)
			case "field":
				s.Field = r.part(e.Value)
			case "up to":
				s.UpTo = r.positive(e.Value, quantity.Speed)
			}
		}
		t.Steps = append(t.Steps, s)
	}
}

// axleLists reads one list of axles, or a list of such: "1 4".
func (r *reader) axleLists(n *reading.Node) [][]int {
	var out [][]int
	for _, s := range r.texts(n) {
		out = append(out, r.axles(n.Pos(), s))
	}
	return out
}

func (r *reader) axles(pos reading.Pos, text string) []int {
	var out []int
	for _, w := range strings.Fields(text) {
		k, err := strconv.Atoi(w)
		if err != nil || k < 1 || k > 40 || slices.Contains(out, k) {
			r.complain(CodeAxleList, pos, fmt.Sprintf("%q is no list of axles", text), "the numbers of axles from headstock 1, each once: 1 4", "")
			return nil
		}
		out = append(out, k)
	}
	return out
}

// pairs reads a map of quantities to quantities, the first in rising order.
func (r *reader) pairs(n *reading.Node, what string, key, value quantity.Kind) [][2]float64 {
	var out [][2]float64
	for _, f := range r.facts(n, what) {
		k, err := quantity.Parse(f.Name)
		switch {
		case err != nil || k.Kind != key:
			r.complain(CodeWrongKind, f.Pos, fmt.Sprintf("%s stands under %q, which is no %s", what, f.Name, key), "a "+key.String()+orSuch(key.Example()), "")
		case f.Figure == nil || f.Figure.Kind != value:
			r.complain(CodeWrongKind, f.Pos, fmt.Sprintf("%s at %s is %q, no %s", what, f.Name, f.Text, value), "a "+value.String()+orSuch(value.Example()), "")
		case len(out) > 0 && k.SI <= out[len(out)-1][0]:
			r.complain(CodeCurveOrder, f.Pos, fmt.Sprintf("%s at %s does not stand behind a lower one", what, f.Name), "the points in rising order", "")
		case f.Figure.SI < 0 || k.SI < 0:
			r.complain(CodeNotPositive, f.Pos, fmt.Sprintf("%s at %s is below zero", what, f.Name), "zero or more", "")
		default:
			out = append(out, [2]float64{k.SI, f.Figure.SI})
		}
	}
	return out
}

// checkTraction holds the traction of a class against its axles and its cut-out.
func (r *reader) checkTraction(c *Class) {
	t := c.Traction
	if t == nil {
		return
	}
	n, ok := c.Axles()
	over := func(pos reading.Pos, axles []int) {
		for _, a := range axles {
			if ok && a > n {
				r.complain(CodeAxleList, pos, fmt.Sprintf("class %s has no axle %d", c.Name, a), fmt.Sprintf("an axle from 1 to %d", n), "")
			}
		}
	}
	for _, g := range t.Generators {
		over(t.Pos, g)
	}
	for _, s := range t.Steps {
		for _, g := range s.Strings {
			over(s.Pos, g)
		}
	}
	for _, k := range t.CutOut {
		over(k.Pos, k.Axles)
		has := func(d *Device) bool {
			return slices.ContainsFunc(d.Positions, func(p Position) bool { return p.ID == k.Position })
		}
		if ds := c.DevicesOf("motor-cut-out"); len(ds) > 0 && !slices.ContainsFunc(ds, has) {
			var names []string
			for _, d := range ds {
				for _, p := range d.Positions {
					names = append(names, p.ID)
				}
			}
			r.complain(CodeCutOutPosition, k.Pos, fmt.Sprintf("no motor cut-out of class %s stands at %q", c.Name, k.Position), "one of "+strings.Join(names, ", "), reading.Nearest(k.Position, names))
		}
	}
}
