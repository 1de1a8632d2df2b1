package prepare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/rule"
)

// Entry is one value of a filled-in sheet.
type Entry struct {
	Line    int    // in the file
	Item    string // id of a check or of a device
	Part    string // which of several: a cylinder, a block, an axle
	Reading string // what was read: applied, released, start, end, thickness …
	Value   string // as written
}

// The outcomes of holding a value against its limits.
const (
	Within  = "within"
	Outside = "outside"
	Ask     = "ask again" // the value looks like another one; it is not judged
	Cannot  = "cannot say"
)

// Held is one limit that a value was held against. Low and High are SI; infinite where
// there is none.
type Held struct {
	Low, High float64
	Source    string // key of the bibliography
	Row       string // row of the published limits, if it is one
	What      string
	Status    string
}

// Result is one value judged. An unjudged one says in Says what is asked or missing.
type Result struct {
	Item, Part, Name string
	What             string // what was held against the limits: travel, fall, thickness …
	Read             string // the values it was made from, as written
	Value            float64
	Kind             quantity.Kind
	Known            bool // Value holds
	Held             []Held
	Status           string
	Says             []Says
	Then             string // what the record says to do; filled when outside
	Outside          string // what the unit may not do; filled when outside
	Lines            []int
}

// Says is something to be said beside a result: its kind and its figures, SI.
type Says struct {
	Kind   string
	A, B   float64
	Text   string
	Amount quantity.Kind
}

// Malformed is an entry that cannot be read.
type Malformed struct {
	Line     int
	Message  string
	Expected string
	Nearest  string
}

func (e *Malformed) Error() string {
	s := fmt.Sprintf("line %d: %s", e.Line, e.Message)
	if e.Expected != "" {
		s += "; expected " + e.Expected
	}
	if e.Nearest != "" {
		s += "; nearest: " + e.Nearest
	}
	return s
}

// group is the entries of one item and part.
type group struct {
	item, part string
	check      *fleet.Check
	device     *fleet.Device
	values     map[string]value
	order      []string
	lines      []int
}

type value struct {
	q    quantity.Value
	text string
	line int
}

// Measure holds the values of a sheet against the limits of the record and of the rules.
// An error is a *Malformed: an entry of something the class has not, or that is no value.
func Measure(c *fleet.Class, u *fleet.Unit, r *rule.Rules, entries []Entry) ([]Result, error) {
	var groups []*group
	for _, e := range entries {
		g, err := place(c, u, &groups, e)
		if err != nil {
			return nil, err
		}
		q, err := quantity.Parse(e.Value)
		if err != nil {
			return nil, &Malformed{e.Line, fmt.Sprintf("%q is no value: %v", e.Value, err), "a quantity with its unit, like 112 mm", ""}
		}
		name := e.Reading
		if name == "" {
			name = g.usual()
		}
		if old, ok := g.values[name]; ok {
			return nil, &Malformed{e.Line, fmt.Sprintf("%s of %s %s is entered twice, first in line %d", name, e.Item, e.Part, old.line), "each value once, or a part to tell them apart", ""}
		}
		if err := g.fits(name, q, e); err != nil {
			return nil, err
		}
		g.values[name] = value{q, e.Value, e.Line}
		g.order = append(g.order, name)
		g.lines = append(g.lines, e.Line)
	}
	m := measurer{c, u, r}
	var out []Result
	for _, g := range groups {
		out = append(out, m.judge(g)...)
	}
	return append(out, m.wheels(groups)...), nil
}

func place(c *fleet.Class, u *fleet.Unit, groups *[]*group, e Entry) (*group, error) {
	for _, g := range *groups {
		if g.item == e.Item && g.part == e.Part {
			return g, nil
		}
	}
	g := &group{item: e.Item, part: e.Part, values: map[string]value{}}
	if k, ok := c.Check(e.Item); ok {
		g.check = &k
		g.device, _ = c.Device(k.Device)
	} else if d, ok := c.Device(e.Item); ok {
		g.device = d
		// a device's one check that measures something is meant with it
		for _, k := range c.Checks {
			if k.Device == d.ID && k.Measures == "travel" {
				g.check = &k
				break
			}
		}
	} else {
		var ids []string
		for _, k := range c.Checks {
			ids = append(ids, k.ID)
		}
		for _, d := range c.Devices {
			ids = append(ids, d.ID)
		}
		return nil, &Malformed{e.Line, fmt.Sprintf("class %s has no check and no device %q", c.Name, e.Item), "the id of a check or a device", reading.Nearest(e.Item, ids)}
	}
	if u != nil && g.device != nil && !u.Carries(c, g.device) {
		return nil, &Malformed{e.Line, fmt.Sprintf("%s has no %s", u.Name(), g.device.ID), "", ""}
	}
	*groups = append(*groups, g)
	return g, nil
}

// usual is what a value without a name is.
func (g *group) usual() string {
	if g.check != nil && g.check.Measures == "travel" {
		return "travel"
	}
	return "reading"
}

// fits refuses a value of the wrong kind where only one kind can be meant.
func (g *group) fits(name string, q quantity.Value, e Entry) error {
	want := quantity.Kind(-1)
	switch name {
	case "applied", "released", "travel", "bore", "orifice", "diameter", "circumference", "inside gauge", "radius", "depth":
		want = quantity.Length
	case "start", "end", "held", "test gauge", "shows", "strength", "certified":
		want = quantity.Pressure
	case "time":
		want = quantity.Time
	case "reading":
		if g.check != nil && g.check.Limit.Figure() && g.check.Measures == "reading" {
			want = g.check.Limit.Kind
		}
	}
	if want >= 0 && q.Kind != want {
		return &Malformed{e.Line, fmt.Sprintf("%s of %s is a %s: %q is a %s", name, e.Item, want, e.Value, q.Kind), "a " + want.String() + " in a unit such as " + want.Example(), ""}
	}
	return nil
}

type measurer struct {
	c *fleet.Class
	u *fleet.Unit
	r *rule.Rules
}

func (m measurer) judge(g *group) []Result {
	has := func(names ...string) bool {
		return slices.ContainsFunc(names, func(n string) bool { _, ok := g.values[n]; return ok })
	}
	var out []Result
	done := map[string]bool{}
	take := func(r Result, names ...string) {
		for _, n := range names {
			done[n] = true
		}
		out = append(out, r)
	}
	if g.check != nil && g.check.Measures == "travel" || has("applied", "travel") || g.device != nil && (g.device.Kind == "piston") && has("released") {
		take(m.travel(g), "applied", "released", "travel", "total possible")
	}
	if has("start", "end") || g.check != nil && g.check.Measures == "fall" && has("time") {
		take(m.fall(g), "start", "end", "time")
	}
	if has("test gauge", "shows") {
		take(m.gauge(g), "test gauge", "shows")
	}
	if has("orifice", "held") {
		take(m.orifice(g), "orifice", "held")
	}
	if has("inside gauge") {
		take(m.flanges(g), "inside gauge")
	}
	if has("certified", "radius", "strength", "depth") {
		take(m.tellTale(g), "certified", "radius", "strength", "depth")
	}
	for _, n := range g.order {
		if !done[n] && n != "diameter" && n != "circumference" {
			out = append(out, m.plain(g, n))
		}
	}
	return out
}

// start makes a result and finish decides it.
func (m measurer) start(g *group, what string, names ...string) Result {
	r := Result{Item: g.item, Part: g.part, What: what, Name: g.item}
	switch {
	case g.check != nil:
		r.Name = g.check.What
	case g.device != nil:
		r.Name = g.device.Name
	}
	var read []string
	for _, n := range names {
		if v, ok := g.values[n]; ok {
			r.Lines = append(r.Lines, v.line)
			if n == "reading" || n == what {
				read = append(read, v.text)
			} else {
				read = append(read, n+" "+v.text)
			}
		}
	}
	r.Read = strings.Join(read, ", ")
	return r
}

func (r *Result) set(kind quantity.Kind, v float64) { r.Kind, r.Value, r.Known = kind, v, true }

func (r *Result) hold(what string, low, high float64, by, row string) {
	r.Held = append(r.Held, Held{Low: low, High: high, Source: by, Row: row, What: what})
}

func (r *Result) say(kind, text string, amount quantity.Kind, figures ...float64) {
	s := Says{Kind: kind, Text: text, Amount: amount}
	for i, f := range figures {
		if i == 0 {
			s.A = f
		} else {
			s.B = f
		}
	}
	r.Says = append(r.Says, s)
}

// holdCheck holds the value against the check's own limit.
func (r *Result) holdCheck(k *fleet.Check, per float64) {
	if k == nil || !k.Limit.Figure() {
		return
	}
	low, high := math.Inf(-1), math.Inf(1)
	if k.Limit.HasLow {
		low = k.Limit.Low / per
	}
	if k.Limit.HasHigh {
		high = k.Limit.High / per
	}
	r.hold("the record", low, high, k.Limit.By, "")
}

// finish judges: outside one limit is outside. A value on a limit is within it; a figure
// that was turned from one unit into another may miss it by its last bit.
func (r *Result) finish(k *fleet.Check) Result {
	if r.Status == "" {
		switch {
		case !r.Known:
			r.Status = Cannot
		case len(r.Held) == 0:
			r.Status = Cannot
			r.say("no limit", "", quantity.Count)
		default:
			r.Status = Within
			for i := range r.Held {
				h := &r.Held[i]
				h.Status = Within
				slack := 1e-9 * math.Max(math.Abs(r.Value), 1e-3)
				if r.Value < h.Low-slack || r.Value > h.High+slack {
					h.Status, r.Status = Outside, Outside
				}
			}
		}
	}
	if r.Status == Outside && k != nil {
		r.Then, r.Outside = k.Then, k.Outside
	}
	return *r
}

func within(v, low, high float64) bool { return v >= low-1e-9 && v <= high+1e-9 }

// fact finds a figure among a device's limits by one of its names.
func fact(d *fleet.Device, names ...string) (float64, string, bool) {
	if d == nil {
		return 0, "", false
	}
	for _, f := range d.Limits {
		if slices.Contains(names, f.Name) && f.Figure != nil {
			return f.Figure.SI, f.Figure.By, true
		}
	}
	return 0, "", false
}

// argument is a figure of the element a device reads, the unit's own measured one first.
func (m measurer) argument(d *fleet.Device, name string) (float64, bool) {
	if d == nil {
		return 0, false
	}
	if m.u != nil {
		for _, x := range m.u.Measured {
			if x.Element == d.Reads && x.Argument == name {
				return x.Figure.SI, true
			}
		}
	}
	if e, ok := m.c.Element(d.Reads); ok {
		if a, ok := e.Arg(name); ok && a.Figure != nil {
			return a.Figure.SI, true
		}
	}
	return 0, false
}

// released is the stand-out of a piston with the brake off, as the unit or the record has
// it.
func (m measurer) released(d *fleet.Device) (float64, bool) {
	if m.u != nil && d != nil {
		for _, x := range m.u.Measured {
			if x.Element == d.Reads && x.Argument == "released stand-out" {
				return x.Figure.SI, true
			}
		}
	}
	if v, _, ok := fact(d, "released stand-out", "stand-out released"); ok {
		return v, true
	}
	return m.argument(d, "released stand-out")
}

// alike is how near two lengths read with a rule must be to be taken for the same one.
const alike = 0.002

// travel is the applied stand-out less the released one. A stand-out entered for a travel,
// or a travel for a stand-out, is a slip that lands inside the limits as easily as outside
// them; where the figures look like one it is asked about and not judged.
func (m measurer) travel(g *group) Result {
	r := m.start(g, "travel", "applied", "released", "travel")
	r.Kind = quantity.Length
	released, known := m.released(g.device)
	from := "record"
	if v, ok := g.values["released"]; ok {
		released, known, from = v.q.SI, true, "measured"
	}
	applied, hasApplied := g.values["applied"]
	entered, hasTravel := g.values["travel"]
	if from == "record" && known && hasApplied {
		r.say("released from record", "", quantity.Length, released)
	}
	r.holdCheck(g.check, 1)
	if low, high, by, ok := rangeFact(g.device, "applied travel"); ok && len(r.Held) == 0 {
		r.hold("the record", low, high, by, "")
	}
	if v, by, ok := fact(g.device, "travel at most"); ok && len(r.Held) == 0 {
		r.hold("the record", math.Inf(-1), v, by, "")
	}
	total, _, hasTotal := fact(g.device, "total possible travel")
	if v, ok := g.values["total possible"]; ok {
		total, hasTotal = v.q.SI, true
	}
	if l, ok := m.r.Limit("travel-margin"); ok && hasTotal {
		r.hold(l.What, math.Inf(-1), float64(MaxTravel(quantity.Metres(total), quantity.Metres(l.Value()))), l.Source, l.Row)
	}
	low, high := math.Inf(-1), math.Inf(1)
	for _, h := range r.Held {
		low, high = max(low, h.Low), min(high, h.High)
	}
	bounded := len(r.Held) > 0
	switch {
	case hasTravel && hasApplied && known && math.Abs(entered.q.SI-applied.q.SI) < alike && released > alike:
		r.Status = Ask
		r.say("travel is the stand-out", "", quantity.Length, entered.q.SI, applied.q.SI-released)
	case hasTravel && hasApplied && known && math.Abs(entered.q.SI-(applied.q.SI-released)) > alike:
		r.Status = Ask
		r.say("travel disagrees", "", quantity.Length, entered.q.SI, applied.q.SI-released)
	case hasTravel && !hasApplied && known && released > alike && bounded && !within(entered.q.SI, low, high) && within(entered.q.SI-released, low, high):
		r.Status = Ask
		r.say("less released it fits", "", quantity.Length, entered.q.SI-released, released)
	case hasTravel && !hasApplied && known && released > alike && m.usualStandOut(g.device, entered.q.SI, released):
		r.Status = Ask
		r.say("usual stand-out", "", quantity.Length, entered.q.SI-released, released)
	case hasTravel:
		r.set(quantity.Length, entered.q.SI)
	case hasApplied && !known:
		r.say("needs released", "", quantity.Length)
	case hasApplied && bounded && applied.q.SI-released < low-1e-9 && within(applied.q.SI, low, high):
		r.Status = Ask
		r.say("is it the travel already", "", quantity.Length, applied.q.SI, applied.q.SI-released)
	case hasApplied && applied.q.SI < released:
		r.Status = Ask
		r.say("applied below released", "", quantity.Length, applied.q.SI, released)
	case hasApplied:
		r.set(quantity.Length, applied.q.SI-released)
	default:
		r.say("needs applied", "", quantity.Length)
	}
	return r.finish(g.check)
}

// usualStandOut says that a value is what the rod stands out with the usual travel of the
// record: travel and released stand-out together.
func (m measurer) usualStandOut(d *fleet.Device, v, released float64) bool {
	usual, ok := m.argument(d, "travel")
	return ok && math.Abs(v-(usual+released)) < alike
}

// rangeFact reads a limit of a device that is written as a range.
func rangeFact(d *fleet.Device, name string) (low, high float64, by string, ok bool) {
	if d == nil {
		return 0, 0, "", false
	}
	for _, f := range d.Limits {
		if f.Name != name {
			continue
		}
		if l, err := fleet.ParseLimit(f.Text, d.Source); err == nil && l.HasLow && l.HasHigh {
			return l.Low, l.High, l.By, true
		}
	}
	return 0, 0, "", false
}

// fall is how fast a pressure falls, averaged over the time it was watched.
func (m measurer) fall(g *group) Result {
	r := m.start(g, "fall", "start", "end", "time")
	r.Kind = quantity.Rate
	start, ok1 := g.values["start"]
	end, ok2 := g.values["end"]
	time, ok3 := g.values["time"]
	over := 0.0
	if g.check != nil {
		over = g.check.Over
	}
	seconds := over
	if ok3 {
		seconds = time.q.SI
	}
	if !ok1 || !ok2 || seconds <= 0 {
		r.say("needs start, end and time", "", quantity.Pressure)
		return r.finish(g.check)
	}
	per := 1.0
	if g.check != nil && g.check.Limit.Kind == quantity.Pressure {
		per = over
	}
	r.holdCheck(g.check, per)
	function := ""
	if g.device != nil {
		function = g.device.Function
	}
	id := map[string]string{"main-reservoir-gauge": "main-air-leak", "main-reservoir": "main-air-leak", "control-air-gauge": "control-air-leak", "brake-pipe-gauge": "unit-pipe-leak", "automatic-cut-out": "unit-pipe-leak"}[function]
	if l, ok := m.r.Limit(id); ok {
		r.hold(l.What, math.Inf(-1), l.Value(), l.Source, l.Row)
	}
	rate := (start.q.SI - end.q.SI) / seconds
	if id == "main-air-leak" || id == "control-air-leak" {
		if l, ok := m.r.Limit("main-air-leak-time"); ok && seconds < l.Value()-1e-9 {
			over = max(over, l.Value())
		}
	}
	switch {
	case rate < 0:
		r.Status = Ask
		r.say("it rose", "", quantity.Pressure, end.q.SI-start.q.SI)
	case over > 0 && seconds < over-1e-9:
		r.Status = Ask
		r.say("timed too short", "", quantity.Time, seconds, over)
	default:
		r.set(quantity.Rate, rate)
	}
	if id == "main-air-leak" {
		if l, ok := m.r.Limit("main-air-leak-start"); ok {
			if top, found := m.highestMain(); found && start.q.SI > float64(l.Value()*top)*1.02 {
				r.say("starts too high", l.Row, quantity.Pressure, start.q.SI, l.Value()*top)
			}
		}
	}
	return r.finish(g.check)
}

// highestMain is where the governor stops the compressor.
func (m measurer) highestMain() (float64, bool) {
	for _, e := range m.c.Air {
		if e.Kind == "compressor" {
			if a, ok := e.Arg("cuts out at"); ok && a.Figure != nil {
				return a.Figure.SI, true
			}
		}
	}
	return 0, false
}

// gauge is how far a gauge is off against a test gauge.
func (m measurer) gauge(g *group) Result {
	r := m.start(g, "gauge error", "shows", "test gauge")
	r.Kind = quantity.Pressure
	shows, ok1 := g.values["shows"]
	test, ok2 := g.values["test gauge"]
	if !ok1 || !ok2 {
		r.say("needs both gauges", "", quantity.Pressure)
		return r.finish(g.check)
	}
	r.set(quantity.Pressure, math.Abs(shows.q.SI-test.q.SI))
	r.holdCheck(g.check, 1)
	part, p1 := m.r.Limit("gauge-error-part")
	fixed, p2 := m.r.Limit("gauge-error")
	if p1 && p2 {
		e := GaugeError(quantity.Gauge(test.q.SI), part.Value(), quantity.Gauge(fixed.Value()))
		r.hold(fixed.What, math.Inf(-1), float64(e), fixed.Source, fixed.Row)
	}
	if g.device != nil && g.device.Error != nil {
		r.hold("the record", math.Inf(-1), g.device.Error.SI, g.device.Error.By, "")
	}
	return r.finish(g.check)
}

// orifice is what a compressor that holds a pressure against a hole delivers through it, as
// a part of what it is rated to deliver.
func (m measurer) orifice(g *group) Result {
	r := m.start(g, "delivery", "orifice", "held")
	bore, ok1 := g.values["orifice"]
	held, ok2 := g.values["held"]
	rated := 0.0
	for _, e := range m.c.Air {
		if a, ok := e.Arg("delivers"); ok && e.Kind == "compressor" && a.Figure != nil {
			rated = a.Figure.SI
		}
	}
	switch {
	case !ok1 || !ok2:
		r.say("needs orifice and pressure", "", quantity.Pressure)
	case rated <= 0:
		r.say("needs rating", "", quantity.Flow)
	default:
		through := float64(OrificeAir(quantity.Metres(bore.q.SI), quantity.Gauge(held.q.SI)))
		least, most := sharpHole*through/rated, roundedHole*through/rated
		r.say("through the hole", "", quantity.Flow, sharpHole*through, roundedHole*through)
		if l, ok := m.r.Limit("compressor-capacity"); ok {
			r.hold(l.What, l.Value(), math.Inf(1), l.Source, l.Row)
			switch {
			case most < l.Value(): // not even a rounded hole passes so much
				r.set(quantity.Count, most)
			case least >= l.Value():
				r.set(quantity.Count, least)
			default:
				r.Status = Cannot
				r.say("hangs on the hole", "", quantity.Count, least, most)
			}
		}
	}
	return r.finish(g.check)
}

// track is the gauge the class runs on.
func (m measurer) track() (quantity.Metres, bool) {
	for _, f := range m.c.Identity {
		if f.Name == "gauge" && f.Figure != nil && f.Figure.Kind == quantity.Length {
			return quantity.Metres(f.Figure.SI), true
		}
	}
	return 0, false
}

func (m measurer) flanges(g *group) Result {
	r := m.start(g, "inside gauge", "inside gauge")
	track, ok := m.track()
	if !ok {
		r.say("needs track gauge", "", quantity.Length)
		return r.finish(nil)
	}
	r.set(quantity.Length, g.values["inside gauge"].q.SI)
	if low, high, row, ok := FlangeGauge(track); ok {
		by := "cfr-230"
		if row == "INS-046" {
			by = "cfr-229"
		}
		r.hold("inside gauge of the flanges", float64(low), float64(high), by, row)
	}
	return r.finish(nil)
}

func (m measurer) tellTale(g *group) Result {
	r := m.start(g, "depth of tell-tale hole", "certified", "radius", "strength", "depth")
	p, ok1 := g.values["certified"]
	rad, ok2 := g.values["radius"]
	s, ok3 := g.values["strength"]
	depth, ok4 := g.values["depth"]
	if !ok1 || !ok2 || !ok3 || !ok4 {
		r.say("needs tell-tale", "", quantity.Length)
		return r.finish(nil)
	}
	want, err := TellTaleDepth(quantity.Gauge(p.q.SI), quantity.Metres(rad.q.SI), quantity.Gauge(s.q.SI/5))
	if err != nil {
		r.say("no depth", err.Error(), quantity.Length)
		return r.finish(nil)
	}
	r.set(quantity.Length, depth.q.SI)
	r.hold("depth of a tell-tale hole", float64(want), math.Inf(1), "cfr-229", "INS-032")
	return r.finish(nil)
}

// plain is a value held against the check's limit, or against the limits of its device
// that bear its name.
func (m measurer) plain(g *group, name string) Result {
	r := m.start(g, name, name)
	v := g.values[name]
	r.set(v.q.Kind, v.q.SI)
	if name == "reading" {
		r.What = ""
		if g.check != nil {
			r.holdCheck(g.check, 1)
		}
	}
	if g.device != nil && (g.check == nil || name != "reading") {
		for _, f := range g.device.Limits {
			low, high, by, ok := deviceLimit(f, name, g.device.Source)
			if !ok {
				continue
			}
			if f.Figure != nil && f.Figure.Kind != v.q.Kind {
				continue
			}
			r.hold("the record", low, high, by, "")
		}
	}
	if g.device != nil && g.device.Function == "coupler" && name == "height" {
		if track, ok := m.track(); ok {
			if low, high, row, ok := CouplerHeight(track); ok {
				r.hold("coupler height", float64(low), float64(high), "cfr-231", row)
			} else {
				r.say("local height", row, quantity.Length)
			}
		}
	}
	return r.finish(g.check)
}

// deviceLimit reads "thickness at least: 20 mm", "height at most: 825 mm", "gap: 4 mm to 8
// mm", and for a plain reading "at least", "at most" and "between".
func deviceLimit(f fleet.Fact, name, nearest string) (low, high float64, by string, ok bool) {
	low, high = math.Inf(-1), math.Inf(1)
	base := strings.TrimSpace(f.Name)
	switch {
	case strings.HasSuffix(base, "at least"):
		base = strings.TrimSpace(strings.TrimSuffix(base, "at least"))
		if f.Figure == nil {
			return
		}
		low, by = f.Figure.SI, f.Figure.By
	case strings.HasSuffix(base, "at most"):
		base = strings.TrimSpace(strings.TrimSuffix(base, "at most"))
		if f.Figure == nil {
			return
		}
		high, by = f.Figure.SI, f.Figure.By
	default:
		l, err := fleet.ParseLimit(f.Text, nearest)
		if err != nil || !l.HasLow || !l.HasHigh || l.Low == l.High {
			return
		}
		low, high, by = l.Low, l.High, l.By
		if base == "between" {
			base = ""
		}
	}
	return low, high, by, base == name || base == "" && name == "reading"
}

// wheels holds the diameters and circumferences of a sheet against each other: on one axle,
// in one bogie, over the unit.
func (m measurer) wheels(groups []*group) []Result {
	type wheel struct {
		g     *group
		axle  string
		bogie int
		d     float64
		turn  float64
	}
	var ws []wheel
	for _, g := range groups {
		if g.device == nil || g.device.Function != "wheel" {
			continue
		}
		w := wheel{g: g, axle: axleOf(g.part), bogie: g.device.Bogie}
		if v, ok := g.values["diameter"]; ok {
			w.d = v.q.SI
			w.turn = math.Pi * v.q.SI
		}
		if v, ok := g.values["circumference"]; ok {
			w.turn = v.q.SI
			w.d = v.q.SI / math.Pi
		}
		if w.d > 0 {
			ws = append(ws, w)
		}
	}
	if len(ws) == 0 {
		return nil
	}
	spread := func(what, id string, of func(wheel) float64, in []wheel) (Result, bool) {
		l, ok := m.r.Limit(id)
		if !ok || len(in) < 2 {
			return Result{}, false
		}
		low, high := of(in[0]), of(in[0])
		r := Result{Item: in[0].g.item, What: what, Name: in[0].g.device.Name}
		var read []string
		for _, w := range in {
			low, high = min(low, of(w)), max(high, of(w))
			for _, n := range []string{"diameter", "circumference"} {
				if v, ok := w.g.values[n]; ok {
					read = append(read, v.text)
					r.Lines = append(r.Lines, v.line)
				}
			}
		}
		r.Read = strings.Join(read, ", ")
		r.set(quantity.Length, high-low)
		r.hold(l.What, math.Inf(-1), l.Value(), l.Source, l.Row)
		return r, true
	}
	var out []Result
	seen := map[string]bool{}
	for _, w := range ws {
		key := fmt.Sprint(w.g.item, "|", w.axle)
		if seen[key] || w.axle == "" {
			continue
		}
		seen[key] = true
		var in []wheel
		for _, o := range ws {
			if o.g.item == w.g.item && o.axle == w.axle {
				in = append(in, o)
			}
		}
		if r, ok := spread("circumferences of one axle apart", "wheel-circumference", func(w wheel) float64 { return w.turn }, in); ok {
			r.Part = w.axle
			out = append(out, r.finish(nil))
		}
	}
	if !m.threeAxles() {
		return out
	}
	for _, w := range ws {
		key := "bogie|" + w.g.item
		if seen[key] {
			continue
		}
		seen[key] = true
		var in []wheel
		for _, o := range ws {
			if o.g.item == w.g.item {
				in = append(in, o)
			}
		}
		if r, ok := spread("diameters in one bogie apart", "wheel-diameter-bogie", func(w wheel) float64 { return w.d }, in); ok {
			out = append(out, r.finish(nil))
		}
	}
	if slices.ContainsFunc(ws, func(w wheel) bool { return w.g.item != ws[0].g.item }) {
		if r, ok := spread("diameters over the unit apart", "wheel-diameter-unit", func(w wheel) float64 { return w.d }, ws); ok {
			r.Item, r.Name = "", ""
			out = append(out, r.finish(nil))
		}
	}
	return out
}

// axleOf is the axle a wheel's part names: "axle 2 left" and "axle 2 right" are of axle 2.
func axleOf(part string) string {
	for _, side := range []string{" left", " right"} {
		if a, ok := strings.CutSuffix(part, side); ok {
			return a
		}
	}
	return ""
}

// threeAxles says that the class runs on bogies of three powered axles, of which the rules
// on diameters speak.
func (m measurer) threeAxles() bool {
	for _, f := range m.c.Identity {
		if f.Name == "wheel arrangement" {
			return strings.EqualFold(f.Text, "Co-Co") || strings.EqualFold(f.Text, "C-C")
		}
	}
	return false
}

// Ends are the ends of a limit; nil where it is open.
func (h Held) Ends() (low, high *float64) {
	if !math.IsInf(h.Low, 0) {
		low = &h.Low
	}
	if !math.IsInf(h.High, 0) {
		high = &h.High
	}
	return low, high
}
