package fleet

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

// Check is a check the record asks for beyond looking at each device.
type Check struct {
	ID       string // by which measurements refer to it
	What     string
	How      string
	When     string   // the occasion, in words
	Every    Interval // zero when no interval is stated
	Limit    Limit
	Measures string  // "reading", "travel" or "fall"
	Over     float64 // s over which a fall is timed; 0 when not stated
	State    string  // the state of the machine it needs; "" when any
	Wait     float64 // s that state must have lasted
	After    []string
	Place    string // where it is made; without it the device's place
	Takes    float64
	Then     string // what to do outside the limit
	Outside  string // what the unit may not do outside the limit; "" when not stated
	Device   string
	System   string
	Pos      reading.Pos
}

// Limit is between what something must be found. Low and High are SI; a limit in words
// has neither.
type Limit struct {
	Text            string // as written
	Kind            quantity.Kind
	Low, High       float64
	HasLow, HasHigh bool
	Note            string // what stands after the figure
	By              string // source of the figure
}

// Figure says that the limit is one that a measured value can be held against.
func (l Limit) Figure() bool { return l.HasLow || l.HasHigh }

// Interval is how often a check is made. At most one of Days and Months is above zero.
type Interval struct {
	Days, Months int
	Text         string
}

// Stated says whether there is an interval at all.
func (i Interval) Stated() bool { return i.Days > 0 || i.Months > 0 }

// Walk is where the walk-round inspection begins and ends, and where the machine is worked
// on the way. Empty places are not stated.
type Walk struct {
	Start, Finish string
	Engine        string   // where the engine is started
	Brake         string   // where the brake is applied and released
	Seldom        []string // places gone to only when something there is due
	Pos           reading.Pos
}

// WalkOrder is a frozen order: it stays as it is while the record changes, so that people
// meet the stands in the same order every time.
type WalkOrder struct {
	Record   string // hash of what it was computed from
	Revision string // the revision it was computed for
	Proved   bool   // proved shortest when it was computed
	Seconds  float64
	Stands   []WalkStand
	Pos      reading.Pos
}

// WalkStand is one stand of a frozen order: a place, in a state of the machine, or an act
// that changes the state.
type WalkStand struct {
	Place, State, Do string
}

// Checked is when a check was last made on a unit.
type Checked struct {
	Check, Date, Found, By string
	Pos                    reading.Pos
}

// MachineStates are the states in which something can be looked at.
func MachineStates() []string {
	return []string{"stopped", "cold", "idling", "running", "hot", "brake applied", "brake released"}
}

// Consequences are what a unit may not do when a check lies outside its limit, the hardest
// first; report forbids nothing.
func Consequences() []string {
	return []string{"must not move", "may not lead", "may not trail", "report"}
}

var checkKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "id", Form: FormText, Required: true, Help: "by which measurements refer to it"},
		{Name: "what", Form: FormText, Required: true, Help: "what is checked"},
		{Name: "how", Form: FormText, Help: "how"},
		{Name: "when", Form: FormText, Help: "the occasion: at taking over, before every start, after every coupling …"},
		{Name: "every", Form: FormText, Help: "how often: daily, weekly, monthly, yearly, 14 days, 3 months …"},
		{Name: "limit", Form: FormText, Help: "between what it must be found: 80 mm to 125 mm, at least 68 V, at most 20 kPa, or words"},
		{Name: "measures", Form: FormOneOf, Words: []string{"reading", "travel", "fall"}, Help: "what is held against the limit: the value read; the applied stand-out less the released one; the fall of a pressure in a time"},
		{Name: "over", Form: FormFigure, Help: "the time over which a fall is taken"},
		{Name: "state", Form: FormOneOf, Words: MachineStates(), Help: "the state of the machine it needs"},
		{Name: "wait", Form: FormFigure, Help: "how long that state must have lasted"},
		{Name: "after", Form: FormIDs, Help: "checks that must come before it"},
		{Name: "place", Form: FormID, Help: "where it is made; without it, the place of the device"},
		{Name: "takes", Form: FormFigure, Help: "how long it takes at the place"},
		{Name: "what then", Form: FormText, Help: "what to do outside the limit"},
		{Name: "outside", Form: FormOneOf, Words: Consequences(), Help: "what the unit may not do outside the limit"},
		{Name: "device", Form: FormID, Help: "the device it is about"},
		{Name: "system", Form: FormOneOf, Words: Systems(), Help: "the system it is about"},
	}
})

var walkKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "start", Form: FormID, Help: "the place where the walk begins"},
		{Name: "finish", Form: FormID, Help: "the place where it ends; without it, wherever is nearest"},
		{Name: "engine at", Form: FormID, Help: "where the engine is started"},
		{Name: "brake at", Form: FormID, Help: "where the brake is applied and released"},
		{Name: "seldom", Form: FormIDs, Help: "places gone to only when something there is due or open"},
	}
})

var walkOrderKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "record", Form: FormText, Required: true, Help: "hash of what it was computed from"},
		{Name: "revision", Form: FormText, Help: "the revision it was computed for"},
		{Name: "proved shortest", Form: FormYes, Help: "whether no order can be shorter"},
		{Name: "takes", Form: FormFigure, Help: "time on foot"},
		{Name: "stands", Form: FormList, Required: true, Help: "the stands in order", Keys: []KeySpec{
			{Name: "at", Form: FormID, Help: "the place"},
			{Name: "state", Form: FormOneOf, Words: MachineStates(), Help: "the state of the machine"},
			{Name: "do", Form: FormText, Help: "what is done to the machine there"},
		}},
	}
})

// seconds reads a time of zero or more.
func (r *reader) seconds(n *reading.Node, what string) float64 {
	f := r.figure(n, quantity.Time)
	if f == nil {
		return 0
	}
	if f.SI < 0 {
		r.complain(CodeNotPositive, n.Pos(), what+" is below zero", "a time", "")
		return 0
	}
	return f.SI
}

func (r *reader) checks(c *Class, n *reading.Node) {
	for _, i := range n.Items() {
		if !r.isMap(i, "a check") {
			continue
		}
		r.keys(i, i.Pos(), "a check", checkKeys(), map[string]string{"id": CodeCheckNoID})
		k := Check{Pos: i.Pos(), Measures: "reading"}
		for _, e := range i.Entries() {
			switch v := e.Value; e.Key {
			case "id":
				k.ID = r.text(v)
			case "what":
				k.What = r.text(v)
			case "how":
				k.How = r.text(v)
			case "when":
				k.When = r.text(v)
			case "every":
				k.Every = r.interval(v)
			case "limit":
				k.Limit = r.limit(v)
			case "measures":
				k.Measures = r.oneOf(v, []string{"reading", "travel", "fall"})
			case "over":
				k.Over = r.seconds(v, "the time of a fall")
			case "state":
				k.State = r.oneOf(v, MachineStates())
			case "wait":
				k.Wait = r.seconds(v, "a wait")
			case "after":
				k.After = r.texts(v)
			case "place":
				k.Place = r.text(v)
			case "takes":
				k.Takes = r.seconds(v, "what a check takes")
			case "what then":
				k.Then = r.text(v)
			case "outside":
				k.Outside = r.oneOf(v, Consequences())
			case "device":
				k.Device = r.text(v)
			case "system":
				t := r.text(v)
				s, ok := system(t)
				if !ok && t != "" {
					r.complain(CodeUnknownSystem, v.Pos(), fmt.Sprintf("no system %q", t), "one of "+strings.Join(Systems(), ", "), reading.Nearest(t, Systems()))
				}
				k.System = s
			}
		}
		if o, ok := c.Check(k.ID); ok && k.ID != "" {
			r.complain(CodeDuplicateID, i.Pos(), fmt.Sprintf("check %q stands twice", k.ID), "each id once", "", o.Pos)
			continue
		}
		c.Checks = append(c.Checks, k)
	}
}

// Check finds a check by its id.
func (c *Class) Check(id string) (Check, bool) {
	i := slices.IndexFunc(c.Checks, func(k Check) bool { return k.ID == id })
	if i < 0 {
		return Check{}, false
	}
	return c.Checks[i], true
}

// PlaceOf is where a check is made: its own place, or that of its device.
func (c *Class) PlaceOf(k Check) string {
	if k.Place != "" {
		return k.Place
	}
	if d, ok := c.Device(k.Device); ok {
		return d.Place
	}
	return ""
}

func (r *reader) interval(n *reading.Node) Interval {
	t := r.text(n)
	if t == "" {
		return Interval{}
	}
	i, ok := ParseInterval(t)
	if !ok {
		r.complain(CodeCheckInterval, n.Pos(), fmt.Sprintf("%q is no interval", t), "daily, weekly, monthly, yearly, or a number of days, weeks, months or years; an occasion stands under when", reading.Nearest(t, []string{"daily", "weekly", "monthly", "yearly"}))
	}
	return i
}

// ParseInterval reads "daily", "92 days", "3 months". A month ends on the day of the same
// number, or on the last day of a month that has no such day.
func ParseInterval(text string) (Interval, bool) {
	switch text {
	case "daily":
		return Interval{Days: 1, Text: text}, true
	case "weekly":
		return Interval{Days: 7, Text: text}, true
	case "monthly":
		return Interval{Months: 1, Text: text}, true
	case "yearly":
		return Interval{Months: 12, Text: text}, true
	}
	f := strings.Fields(text)
	if len(f) != 2 {
		return Interval{}, false
	}
	n, err := strconv.Atoi(f[0])
	if err != nil || n < 1 || n > 9999 {
		return Interval{}, false
	}
	switch strings.TrimSuffix(f[1], "s") {
	case "day":
		return Interval{Days: n, Text: text}, true
	case "week":
		return Interval{Days: 7 * n, Text: text}, true
	case "month":
		return Interval{Months: n, Text: text}, true
	case "year":
		return Interval{Months: 12 * n, Text: text}, true
	}
	return Interval{}, false
}

func (r *reader) limit(n *reading.Node) Limit {
	t := r.text(n)
	if t == "" {
		return Limit{}
	}
	l, err := ParseLimit(t, r.source)
	if err != nil {
		var bad *quantity.Error
		near := ""
		if errors.As(err, &bad) {
			near = bad.Nearest
		}
		r.complain(CodeCheckLimit, n.Pos(), fmt.Sprintf("%q begins like a figure and is none: %v", t, err), "80 mm to 125 mm, at least 68 V, at most 20 kPa, with a remark after a comma; or words", near)
	}
	return l
}

// ParseLimit reads between what something must be found: "80 mm to 125 mm", "at least
// 68 V", "at most 20 kPa, apart on level track", "500 kPa ± 10 kPa", each with "by" and a
// source if it has one of its own; or words, which have no figure. A text that begins like
// a figure and is none is an error.
func ParseLimit(text, nearest string) (Limit, error) {
	l := Limit{Text: text, By: nearest}
	body := text
	low, high := true, true
	for _, p := range []struct {
		word      string
		low, high bool
	}{{"at least ", true, false}, {"at most ", false, true}, {"between ", true, true}} {
		if b, ok := strings.CutPrefix(body, p.word); ok {
			body, low, high = b, p.low, p.high
			break
		}
	}
	if body == "" || !strings.ContainsRune("0123456789-−+", []rune(body)[0]) {
		return l, nil // words
	}
	cut := strings.IndexAny(body, ";(")
	if i := strings.Index(body, ", "); i >= 0 && (cut < 0 || i < cut) {
		cut = i
	}
	if cut >= 0 {
		body, l.Note = body[:cut], strings.Trim(body[cut:], ",;() ")
	}
	if a, b, ok := strings.Cut(body, " by "); ok {
		b = strings.TrimSpace(b)
		if _, known := source.Lookup(b); !known {
			return Limit{Text: text}, &source.UnknownKey{Key: b, Nearest: source.Nearest(b)}
		}
		body, l.By = a, b
	}
	body = strings.TrimSpace(body)
	for _, sep := range []string{" to ", "..", " – ", "–", " and "} {
		a, b, ok := strings.Cut(body, sep)
		if !ok || !low || !high {
			continue
		}
		rg, kind, err := quantity.ParseRange(a + ".." + b)
		if err != nil {
			return Limit{Text: text}, err
		}
		l.Kind, l.Low, l.High, l.HasLow, l.HasHigh = kind, rg.Low, rg.High, true, true
		return l, nil
	}
	v, err := quantity.Parse(body)
	if err != nil {
		return Limit{Text: text}, err
	}
	l.Kind, l.HasLow, l.HasHigh = v.Kind, low, high
	if low {
		l.Low = v.SI
	}
	if high {
		l.High = v.SI
	}
	if low && high {
		l.Low, l.High = v.SI-v.Spread, v.SI+v.Spread
	}
	return l, nil
}

func (r *reader) walk(c *Class, n *reading.Node) {
	if !r.isMap(n, "walk") {
		return
	}
	r.keys(n, n.Pos(), "walk", walkKeys(), nil)
	w := Walk{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "start":
			w.Start = r.text(e.Value)
		case "finish":
			w.Finish = r.text(e.Value)
		case "engine at":
			w.Engine = r.text(e.Value)
		case "brake at":
			w.Brake = r.text(e.Value)
		case "seldom":
			w.Seldom = r.texts(e.Value)
		}
	}
	c.Walk = w
}

func (r *reader) walkOrder(c *Class, n *reading.Node) {
	if !r.isMap(n, "walk order") {
		return
	}
	r.keys(n, n.Pos(), "walk order", walkOrderKeys(), nil)
	o := &WalkOrder{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "record":
			o.Record = r.text(e.Value)
		case "revision":
			o.Revision = r.text(e.Value)
		case "proved shortest":
			o.Proved = r.yes(e.Value)
		case "takes":
			o.Seconds = r.seconds(e.Value, "a walk")
		case "stands":
			for _, i := range r.maps(e.Value, "a stand") {
				r.keys(i, i.Pos(), "a stand", keysOf(walkOrderKeys(), "stands"), nil)
				var s WalkStand
				for _, k := range i.Entries() {
					switch k.Key {
					case "at":
						s.Place = r.text(k.Value)
					case "state":
						s.State = r.oneOf(k.Value, MachineStates())
					case "do":
						s.Do = r.text(k.Value)
					}
				}
				// a place that the record has no more is passed over by the walk, which says so
				o.Stands = append(o.Stands, s)
			}
		}
	}
	c.Order = o
}

func (r *reader) checked(c *Class, n *reading.Node) Checked {
	r.keys(n, n.Pos(), "a check made", keysOf(unitKeys(), "checked"), nil)
	k := Checked{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "check":
			k.Check = r.text(e.Value)
			if _, ok := c.Check(k.Check); !ok && k.Check != "" {
				r.complain(CodeUnitCheck, e.Value.Pos(), fmt.Sprintf("check %q was made, which class %q has not", k.Check, c.Name), "the id of a check", reading.Nearest(k.Check, checkIDs(c)))
			}
		case "date":
			k.Date = r.date(e.Value)
		case "found":
			k.Found = r.text(e.Value)
		case "by":
			k.By = r.text(e.Value)
		}
	}
	return k
}

func checkIDs(c *Class) []string {
	var out []string
	for _, k := range c.Checks {
		out = append(out, k.ID)
	}
	return out
}

func placeIDs(c *Class) []string {
	var out []string
	for _, p := range c.Places {
		out = append(out, p.ID)
	}
	return out
}

func (r *reader) checkChecks(c *Class) {
	for _, k := range c.Checks {
		d := (*Device)(nil)
		if k.Device != "" {
			d, _ = r.deviceID(c, CodeCheckDevice, k.Pos, k.Device, "a check is about")
		}
		if _, ok := c.Place(k.Place); !ok && k.Place != "" {
			r.complain(CodeCheckPlace, k.Pos, fmt.Sprintf("check %q is made at place %q, which class %q has not", k.ID, k.Place, c.Name), "the id of a place", reading.Nearest(k.Place, placeIDs(c)))
		}
		for _, a := range k.After {
			if _, ok := c.Check(a); !ok {
				r.complain(CodeCheckAfter, k.Pos, fmt.Sprintf("check %q comes after %q, which class %q has not", k.ID, a, c.Name), "the id of a check", reading.Nearest(a, checkIDs(c)))
			}
		}
		if k.ID != "" && slices.Contains(c.before(k), k.ID) {
			r.complain(CodeCheckAfter, k.Pos, fmt.Sprintf("check %q comes after itself, by way of %s", k.ID, strings.Join(k.After, ", ")), "an order without a ring", "")
		}
		switch {
		case k.Measures == "travel" && (d == nil || d.Kind != "piston" && d.Function != "brake-piston" && d.Function != "brake-cylinder"):
			r.complain(CodeCheckMeasures, k.Pos, fmt.Sprintf("check %q measures a travel and is about no piston", k.ID), "device: a piston", "")
		case k.Measures == "travel" && k.Limit.Figure() && k.Limit.Kind != quantity.Length:
			r.complain(CodeCheckMeasures, k.Pos, fmt.Sprintf("check %q measures a travel and its limit is a %s", k.ID, k.Limit.Kind), "a length", "")
		case k.Measures == "fall" && k.Limit.Figure() && (k.Limit.Kind != quantity.Pressure || k.Over <= 0) && k.Limit.Kind != quantity.Rate:
			r.complain(CodeCheckMeasures, k.Pos, fmt.Sprintf("check %q measures a fall and does not say in what time", k.ID), "limit: at most 20 kPa with over: 1 min, or a limit in kPa/min", "")
		}
	}
}

// before are all checks that must come before a check, by whatever chain.
func (c *Class) before(k Check) []string {
	var out []string
	todo := slices.Clone(k.After)
	for len(todo) > 0 {
		id := todo[0]
		todo = todo[1:]
		if slices.Contains(out, id) {
			continue
		}
		out = append(out, id)
		if o, ok := c.Check(id); ok {
			todo = append(todo, o.After...)
		}
	}
	return out
}

func (r *reader) checkWalk(c *Class) {
	for _, id := range slices.Concat([]string{c.Walk.Start, c.Walk.Finish, c.Walk.Engine, c.Walk.Brake}, c.Walk.Seldom) {
		if _, ok := c.Place(id); !ok && id != "" {
			r.complain(CodeWalkPlace, c.Walk.Pos, fmt.Sprintf("the walk names place %q, which class %q has not", id, c.Name), "the id of a place", reading.Nearest(id, placeIDs(c)))
		}
	}
}

// StateOr is the state a check needs, or the given one where it needs none.
func (k Check) StateOr(state string) string {
	if k.State != "" {
		return k.State
	}
	return state
}

// WriteWalkOrder is a frozen order as a file of the class folder.
func WriteWalkOrder(c *Class, o *WalkOrder) string {
	var b strings.Builder
	b.WriteString("# The frozen order of the walk-round inspection, written by headstock walk --freeze.\n# It stays as it is while the record changes; people rely on the same order every time.\n")
	fmt.Fprintf(&b, "class: %s\nsource: %s\nwalk order:\n", quoted(c.Name), quoted(c.Source))
	fmt.Fprintf(&b, "  record: %s\n", quoted(o.Record))
	if o.Revision != "" {
		fmt.Fprintf(&b, "  revision: %s\n", quoted(o.Revision))
	}
	fmt.Fprintf(&b, "  proved shortest: %s\n  takes: %s s\n  stands:\n", map[bool]string{true: "yes", false: "no"}[o.Proved], strconv.FormatFloat(o.Seconds, 'f', -1, 64))
	for _, s := range o.Stands {
		var parts []string
		if s.Place != "" {
			parts = append(parts, "at: "+quoted(s.Place))
		}
		if s.State != "" {
			parts = append(parts, "state: "+s.State)
		}
		if s.Do != "" {
			parts = append(parts, "do: "+quoted(s.Do))
		}
		fmt.Fprintf(&b, "    - {%s}\n", strings.Join(parts, ", "))
	}
	return b.String()
}
