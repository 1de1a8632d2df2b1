package web

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/haul"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/motion"
	"headstock/quantity"
)

// The bounds of what may be asked of a moving train, as on the command line, but for the
// number of stops drawn, which a page has no need of.
const (
	lowestSpeed, highestSpeed = 0.1, 60.0 // m/s
	longestWay                = 1e6       // m
)

// speedField and its like are words that several of the pages on the line ask for.
func speedField(label string, metric, imperial string) field {
	return field{name: "speed", label: label, hint: "in km/h or mph", usual: [2]string{metric, imperial}}
}

var (
	aheadField   = field{name: "grade", label: "grade", hint: "level, 1 in 45, 2.2 %; falling ahead unless it says rising", usual: [2]string{"level", "level"}}
	brakedField  = field{name: "rail", label: "rail", choices: railChoices, usual: [2]string{"dry", "dry"}}
	pulledField  = field{name: "rail", label: "rail", choices: pulledChoices, usual: [2]string{"dry sanded", "dry sanded"}}
	howField     = field{name: "how", label: "application", choices: func(*Site) []string { return []string{"full service", "emergency"} }, usual: [2]string{"full service", "full service"}}
	fromField    = field{name: "from", label: "from", choices: (*Site).places}
	toField      = field{name: "to", label: "to", choices: (*Site).places}
	travelField  = field{name: "travel", label: "a piston travel as measured", hint: "vehicle=length, such as 230 mm", many: true}
	outsideField = field{name: "outside", label: "retarding force from elsewhere", hint: "such as 50 kN"}
)

// haulage are the questions of a train on the line.
func haulage() []question {
	return []question{
		{path: "load", title: "What it may take", shelf: onLine, ahead: true, says: "what this consist may take over each section of the line, the limit that holds it, and the same with a bogie's brake cut out", fields: []field{consistField, setField, fromField, toField, {name: "rail", label: "one state of the rail only", choices: pulledChoices}, {name: "within", label: "stops within, coming down", hint: "such as 600 m; blank: not examined"}}, answer: load},
		{path: "move-off", title: "Can it start here", shelf: onLine, ahead: true, says: "is the pull enough on this grade, and does the train run back between release and pull", fields: []field{consistField, setField, {name: "grade", label: "grade", hint: "level, 1 in 45, 2.2 %; rising ahead unless it says falling", usual: [2]string{"1 in 100", "1 in 100"}}, {name: "curve", label: "radius of a curve under the train", hint: "such as 140 m"}, pulledField}, answer: moveOff},
		{path: "pull", title: "Pull and ammeter", shelf: onLine, ahead: true, says: "what a locomotive pulls at each speed, and what its ammeter shows against what its motors carry", fields: []field{consistField, setField, {name: "unit", label: "locomotive", hint: "blank: the one that leads"}}, answer: pull},
		{path: "journey", title: "Run over the line", shelf: onLine, ahead: true, patient: true, says: "speed, time, ammeter and heating, forces in the couplings, and whether it stalls", fields: []field{consistField, setField, fromField, toField, pulledField, {name: "hot", label: "motors at the start, per cent of their rated rise", hint: "0 is cold", usual: [2]string{"0", "0"}}}, answer: journey},
		{path: "stop", title: "Stop", shelf: onLine, ahead: true, says: "in what distance it stops, what limits it, and whether that lies outside what was held", fields: []field{consistField, setField, speedField("from a speed of", "40 km/h", "25 mph"), aheadField, howField, brakedField, {name: "reaction", label: "time until the handle is moved", usual: [2]string{"3 s", "3 s"}}, travelField}, answer: stop},
		{path: "descend", title: "Come down", shelf: onLine, ahead: true, says: "can it be held without a dynamic brake: speed, heat, releases, retainers, and where it would run away", fields: []field{consistField, setField, fromField, toField, {name: "grade", label: "or a grade", hint: "falling, such as 1 in 45"}, {name: "length", label: "its length", hint: "in km or mi", usual: [2]string{"5 km", "3 mi"}}, {name: "speed", label: "held at a speed of", hint: "blank: the greatest that is safe"}, brakedField, outsideField, travelField}, answer: descend},
		{path: "run-in", title: "Run-in", shelf: onLine, ahead: true, says: "what forces a brake application makes between the vehicles", fields: []field{consistField, setField, speedField("from a speed of", "40 km/h", "25 mph"), aheadField, howField, {name: "slack", label: "slack at first", choices: func(*Site) []string { return []string{"stretched", "bunched"} }, usual: [2]string{"stretched", "stretched"}}, brakedField}, answer: runIn},
		{path: "profile", title: "Profile of the line", says: "heights, places, gradients, speed limits and curves", answer: profile},
	}
}

func pulledChoices(*Site) []string { return motion.RailNames() }

// or is a value as asked, else the usual one in the units of whoever asks.
func (q *asked) or(f field) string {
	if v := q.get(f.name); v != "" {
		return v
	}
	return f.used(q.units)
}

// used is the usual value of a field; "" where it has none.
func (f field) used(u quantity.Units) string {
	if u.Name() == quantity.Imperial().Name() {
		return f.usual[1]
	}
	return f.usual[0]
}

// field is a field of the question of a path.
func (s *Site) fieldOf(path, name string) field {
	x, _ := s.questionOf(path)
	i := slices.IndexFunc(x.fields, func(f field) bool { return f.name == name })
	if i < 0 {
		return field{name: name}
	}
	return x.fields[i]
}

// word is a value of a question of a path, or its usual one.
func (q *asked) word(path, name string) string { return q.or(q.s.fieldOf(path, name)) }

// figure is a value that is a quantity of one kind and lies in a range; false where it is
// blank.
func (q *asked) figure(path, name string, kind quantity.Kind, low, high float64) (float64, bool, error) {
	text := q.word(path, name)
	if text == "" {
		return 0, false, nil
	}
	f := q.s.fieldOf(path, name)
	v, err := quantity.Parse(text)
	if err != nil || v.Kind != kind {
		return 0, false, bad("%s: %q is no %s; expected one in a unit such as %s", f.label, reading.Short(text), kind, kind.Example())
	}
	if !(v.SI >= low && v.SI <= high) {
		return 0, false, bad("%s: %q is out of reach; expected %s to %s", f.label, reading.Short(text), q.units.SI(kind, low), q.units.SI(kind, high))
	}
	return v.SI, true, nil
}

// falling is the grade of a question, above 0 where it falls ahead; with up where it rises,
// unless the words say otherwise.
func (q *asked) falling(path string, up bool) (float64, error) {
	text := strings.ToLower(q.word(path, "grade"))
	t, sign := text, 1.0
	if up {
		sign = -1
	}
	if s, ok := strings.CutSuffix(t, "rising"); ok {
		t, sign = strings.TrimSpace(s), -1
	} else if s, ok := strings.CutSuffix(t, "falling"); ok {
		t, sign = strings.TrimSpace(s), 1
	}
	if t == "level" || t == "" {
		return 0, nil
	}
	v, ok := line.Slope(t)
	if !ok {
		return 0, bad("no grade %q; expected level, or one such as 1 in 45 or 2.2 %%", reading.Short(text))
	}
	return sign * v, nil
}

func (q *asked) brakedRail(path string) (haul.Rail, error) {
	r := haul.Rail(q.word(path, "rail"))
	if !slices.Contains(haul.Rails(), r) {
		return "", bad("no state of the rail %q; expected one of %s%s", reading.Short(string(r)), strings.Join(railChoices(nil), ", "), reading.Hint(string(r), railChoices(nil)))
	}
	return r, nil
}

func (q *asked) pulledRail(name string) (motion.Rail, error) {
	r, ok := motion.RailNamed(name)
	if !ok {
		return r, bad("no state of the rail %q; expected one of %s%s", reading.Short(name), strings.Join(motion.RailNames(), ", "), reading.Hint(name, motion.RailNames()))
	}
	return r, nil
}

// emergency says how the brake is applied.
func (q *asked) emergency(path string) (bool, error) {
	switch how := q.word(path, "how"); how {
	case "full service":
		return false, nil
	case "emergency":
		return true, nil
	default:
		return false, bad("no application %q; expected full service or emergency", reading.Short(how))
	}
}

// travelled lays measured piston travels over a consist.
func (q *asked) travelled(c *consist.Consist) (*consist.Consist, error) {
	var over []consist.OffRecord
	for _, t := range q.all("travel") {
		who, what, ok := strings.Cut(t, "=")
		if !ok {
			return nil, bad("a travel %q; expected a vehicle and its travel, vehicle=length", reading.Short(t))
		}
		i, err := c.Find(strings.TrimSpace(who))
		if err != nil {
			return nil, bad("%v", err)
		}
		v, err := quantity.Parse(strings.TrimSpace(what))
		if err != nil || v.Kind != quantity.Length || !(v.SI > 0 && v.SI <= 1) {
			return nil, bad("a travel %q; expected a length above 0 and up to 1 m", reading.Short(t))
		}
		for _, e := range c.Vehicles[i].Class.Air {
			if e.Kind == "cylinder" {
				over = append(over, consist.OffRecord{Vehicle: i, Element: e.ID, Argument: "travel", SI: v.SI})
			}
		}
	}
	if len(over) == 0 {
		return c, nil
	}
	return c.WithFigures(over...)
}

// way is the two places of a question on the line; with none named the whole of it.
func (q *asked) way() (from, to string, err error) {
	l := q.s.line
	if l == nil || len(l.Places) < 2 {
		return "", "", &unsaid{"cannot say: needs a line file, line.yaml, with two places in the railway's folder"}
	}
	from, to = q.get("from"), q.get("to")
	switch {
	case from == "" && to == "":
		from, to = l.Places[0].Name, l.Places[len(l.Places)-1].Name
	case from == "" || to == "":
		return "", "", bad("name the place where it starts and the place where it ends")
	}
	return from, to, nil
}

// lacking is the error of an answer of haul: what the records lack is an answer; what is
// wrong with the question is for whoever asked.
func lacking(err error) error {
	var lacks *haul.CannotSay
	var none *consist.CannotSay
	switch {
	case err == nil, errors.As(err, &none):
		return err
	case errors.As(err, &lacks):
		return &unsaid{err.Error()}
	}
	return bad("%v", err)
}

// hauled works out an answer of haul, once for each consist and each way of asking.
func hauled[T any](q *asked, path string, c *consist.Consist, do func() (T, error)) (T, error) {
	x, _ := q.s.questionOf(path)
	words := []string{path, q.units.Name()}
	for _, f := range x.fields {
		if f.kind != "consist" && f.name != "set" {
			words = append(words, f.name+"="+strings.Join(append(q.all(f.name), f.used(q.units)), "\x01"))
		}
	}
	return worked(q.ctx, q.s.works, key(strings.Join(words, "\x00"), c), func() (T, error) {
		v, err := do()
		return v, lacking(err)
	})
}

// The values of an answer on a train on the line, with what it rests on.
type (
	basis struct {
		Records []Record `json:"records"`
		Rules   string   `json:"rules"`
	}
	loadValues struct {
		Answer *haul.Loads `json:"answer"`
		basis
	}
	moveOffValues struct {
		Answer *haul.MoveOffAnswer `json:"answer"`
		basis
	}
	pullValues struct {
		Answer pulled `json:"answer"`
		basis
	}
	journeyValues struct {
		Answer *haul.Ran `json:"answer"`
		basis
	}
	stopValues struct {
		Answer *haul.StopAnswer `json:"answer"`
		basis
	}
	descendValues struct {
		Answer *haul.DescendAnswer `json:"answer"`
		basis
	}
	holdValues struct {
		Answer *haul.HoldAnswer `json:"answer"`
		basis
	}
	runInValues struct {
		Answer *haul.RunInAnswer `json:"answer"`
		basis
	}
)

// basis is what an answer on a consist rests on.
func (q *asked) basis(c *consist.Consist) basis { return basis{Records(c), q.s.rules.Title} }

// replied is an answer as a document and as values.
func replied(d *card.Document, values any) *answer {
	return &answer{docs: []*card.Document{d}, values: values}
}

func load(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	rails := motion.Rails()
	rails = slices.DeleteFunc(rails, func(r motion.Rail) bool { return r.Name != "dry sanded" && r.Name != "dry" && r.Name != "wet" })
	if name := q.get("rail"); name != "" {
		r, err := q.pulledRail(name)
		if err != nil {
			return nil, err
		}
		rails = []motion.Rail{r}
	}
	from, to, err := q.way()
	if err != nil {
		return nil, err
	}
	within, _, err := q.figure("load", "within", quantity.Length, 1, 1e5)
	if err != nil {
		return nil, err
	}
	l, err := hauled(q, "load", c, func() (*haul.Loads, error) {
		t := haul.Of(c)
		a := haul.Ask{Rails: rails}
		var err error
		if a.Places, err = haul.Spots(q.s.line, from, to, motion.CurveFormFor(t.Gauge)); err != nil {
			return nil, err
		}
		if _, _, a.Weather.Height, err = haul.PathOf(q.s.line, from, to); err != nil {
			return nil, err
		}
		if err := t.Loadable(); err != nil { // before the air is run
			return nil, err
		}
		a.Brake(c, q.s.rules, haul.Braked{Rail: haul.BrakingRail(rails[0]), Down: true, Length: usualDown, Within: within}, q.s.conditions())
		return t.Load(a)
	})
	if err != nil {
		return nil, err
	}
	return replied(card.LoadTable(l, q.units), loadValues{l, q.basis(c)}), nil
}

// usualDown is the length of a grade that a load is brought down, m, as on the command line.
const usualDown = 5000.0

func moveOff(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	falling, err := q.falling("move-off", true)
	if err != nil {
		return nil, err
	}
	x := haul.MoveOffAsk{Rising: -falling}
	if x.Rail, err = q.pulledRail(q.word("move-off", "rail")); err != nil {
		return nil, err
	}
	if x.Radius, _, err = q.figure("move-off", "curve", quantity.Length, 20, 1e5); err != nil {
		return nil, err
	}
	a, err := hauled(q, "move-off", c, func() (*haul.MoveOffAnswer, error) {
		return haul.MoveOff(c, q.s.rules, x, q.s.conditions())
	})
	if err != nil {
		return nil, err
	}
	return replied(card.MoveOff(c, a, q.s.rules, q.units), moveOffValues{a, q.basis(c)}), nil
}

// pulled is what a locomotive pulls.
type pulled struct {
	Engine *haul.Engine   `json:"engine"`
	Rows   []haul.PullRow `json:"rows"`
	Slips  []motion.Slip  `json:"slips"`
}

func pull(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	at, _ := c.Lead()
	if who := q.get("unit"); who != "" {
		if at, err = c.Find(who); err != nil {
			return nil, bad("%v", err)
		}
	}
	if at < 0 {
		return nil, bad("no unit of this consist leads; name a locomotive of it")
	}
	rails := slices.DeleteFunc(motion.Rails(), func(r motion.Rail) bool { return r.Name != "dry sanded" && r.Name != "dry" && r.Name != "wet" })
	x, err := hauled(q, "pull", c, func() (pulled, error) {
		e, err := haul.EngineOf(c, at, haul.Mild())
		if err != nil {
			return pulled{}, err
		}
		rows, err := e.PullTable()
		if err != nil {
			return pulled{}, &haul.CannotSay{Needs: []string{err.Error()}}
		}
		slips, _ := e.Slipping(rails[0].Adhesion, c.Vehicles[at].Reversed)
		return pulled{e, rows, slips}, nil
	})
	if err != nil {
		return nil, err
	}
	d := card.Pulls(c.Fleet.Railway, x.Engine, x.Rows, rails, c.Vehicles[at].Reversed, haul.Of(c), q.units)
	a := replied(d, pullValues{x, q.basis(c)})
	// the other locomotives of the consist
	others := choice{Title: "Another locomotive of this consist"}
	for i, v := range c.Vehicles {
		if i != at && v.Locomotive() && v.Class.Traction != nil {
			others.Long = append(others.Long, link{Text: v.Name(), Says: v.RoleName(), To: address("/pull", append([]string{"consist", q.get("consist"), "unit", v.Name()}, q.sets()...)...)})
		}
	}
	if len(others.Long) > 0 {
		a.choices = []choice{others}
	}
	return a, nil
}

// sets are the devices that stand otherwise, for an address.
func (q *asked) sets() []string {
	var out []string
	for _, s := range q.all("set") {
		out = append(out, "set", s)
	}
	return out
}

func journey(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	from, to, err := q.way()
	if err != nil {
		return nil, err
	}
	j := haul.Journey{Line: q.s.line, From: from, To: to}
	if j.Rail, err = q.pulledRail(q.word("journey", "rail")); err != nil {
		return nil, err
	}
	hot := strings.TrimSuffix(q.word("journey", "hot"), "%")
	percent, err := strconv.ParseFloat(strings.TrimSpace(hot), 64)
	if err != nil || !(percent >= 0 && percent <= 200) {
		return nil, bad("motors at the start: %q; expected per cent of the rated rise from 0 to 200", reading.Short(hot))
	}
	j.Hot = percent / 100
	r, err := hauled(q, "journey", c, func() (*haul.Ran, error) { return haul.Of(c).Run(j) })
	if err != nil {
		return nil, err
	}
	a := replied(card.Journey(r, q.units), journeyValues{r, q.basis(c)})
	a.choices = []choice{{Title: "The same line", Long: []link{
		{Text: "The other way", Says: r.To + " to " + r.From, To: address("/journey", append([]string{"consist", q.get("consist"), "from", r.To, "to", r.From, "rail", q.get("rail")}, q.sets()...)...)},
		{Text: "Profile of the line", Says: "with its gradients, limits and curves", To: "/profile"}}}}
	return a, nil
}

func stop(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	var x haul.StopAsk
	if x.Speed, _, err = q.figure("stop", "speed", quantity.Speed, lowestSpeed, highestSpeed); err != nil {
		return nil, err
	}
	if x.Falling, err = q.falling("stop", false); err != nil {
		return nil, err
	}
	if x.Emergency, err = q.emergency("stop"); err != nil {
		return nil, err
	}
	if x.Rail, err = q.brakedRail("stop"); err != nil {
		return nil, err
	}
	if x.Reaction, _, err = q.figure("stop", "reaction", quantity.Time, 0, 120); err != nil {
		return nil, err
	}
	if c, err = q.travelled(c); err != nil {
		return nil, err
	}
	a, err := hauled(q, "stop", c, func() (*haul.StopAnswer, error) { return haul.Stop(c, q.s.rules, x, q.s.conditions()) })
	if err != nil {
		return nil, err
	}
	return replied(card.Stop(c, a, q.s.rules, q.units), stopValues{a, q.basis(c)}), nil
}

func descend(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	x := haul.DescendAsk{Load: true}
	switch grade := q.get("grade"); {
	case grade != "" && (q.get("from") != "" || q.get("to") != ""):
		return nil, bad("a grade and two places both say the way; name one of them")
	case grade != "":
		g, err := q.falling("descend", false)
		if err != nil {
			return nil, err
		}
		m, _, err := q.figure("descend", "length", quantity.Length, 1, longestWay)
		if err != nil {
			return nil, err
		}
		if g <= 0 {
			return nil, bad("a way down falls; %q does not", reading.Short(grade))
		}
		x.Legs = []haul.Leg{{Length: m, Falling: g}}
	default:
		from, to, err := q.way()
		if err != nil {
			return nil, err
		}
		if q.get("from") == "" && q.get("to") == "" { // down the line, from its higher end
			p := q.s.line.Places
			if p[len(p)-1].Height > p[0].Height {
				from, to = to, from
			}
		}
		if x.Legs, err = haul.Way(q.s.line, from, to); err != nil {
			return nil, lacking(err)
		}
		if !slices.ContainsFunc(x.Legs, func(l haul.Leg) bool { return l.Falling > 0 }) {
			return nil, bad("nothing falls from %s to %s", from, to)
		}
	}
	if x.Speed, _, err = q.figure("descend", "speed", quantity.Speed, lowestSpeed, highestSpeed); err != nil {
		return nil, err
	}
	if x.Outside, _, err = q.figure("descend", "outside", quantity.Force, 0, 1e7); err != nil {
		return nil, err
	}
	if x.Rail, err = q.brakedRail("descend"); err != nil {
		return nil, err
	}
	if c, err = q.travelled(c); err != nil {
		return nil, err
	}
	a, err := hauled(q, "descend", c, func() (*haul.DescendAnswer, error) { return haul.Descend(c, q.s.rules, x, q.s.conditions()) })
	if err != nil {
		return nil, err
	}
	return replied(card.Descend(c, a, q.s.rules, q.units), descendValues{a, q.basis(c)}), nil
}

func runIn(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	var x haul.RunInAsk
	if x.Speed, _, err = q.figure("run-in", "speed", quantity.Speed, lowestSpeed, highestSpeed); err != nil {
		return nil, err
	}
	if x.Falling, err = q.falling("run-in", false); err != nil {
		return nil, err
	}
	if x.Emergency, err = q.emergency("run-in"); err != nil {
		return nil, err
	}
	if x.Rail, err = q.brakedRail("run-in"); err != nil {
		return nil, err
	}
	switch s := q.word("run-in", "slack"); s {
	case "stretched":
	case "bunched":
		x.Bunched = true
	default:
		return nil, bad("no slack %q; expected stretched or bunched", reading.Short(s))
	}
	a, err := hauled(q, "run-in", c, func() (*haul.RunInAnswer, error) { return haul.RunIn(c, q.s.rules, x, q.s.conditions()) })
	if err != nil {
		return nil, err
	}
	return replied(card.RunIn(c, a, q.s.rules, q.units), runInValues{a, q.basis(c)}), nil
}

func profile(q *asked) (*answer, error) {
	l := q.s.line
	if l == nil || len(l.Gradients) == 0 || len(l.Places) < 2 {
		return nil, &unsaid{"cannot say: needs a line file, line.yaml, with gradients and two places in the railway's folder"}
	}
	return document(card.Profile(q.s.fleet.Railway, l, q.units)), nil
}

// onLineLinks are the pages of a train on the line for one consist.
func (s *Site) onLineLinks(text string) []link {
	var out []link
	for _, x := range s.questions {
		if x.shelf == onLine {
			out = append(out, link{Text: x.title, Says: x.says, To: address("/"+x.path, "consist", text)})
		}
	}
	return out
}

// ofUnit are the ways from a unit to the line: alone, and in every consist that is kept and
// has it.
func (q *asked) onLineOf(u *fleet.Unit) (alone []link, kept []link) {
	// a load is reckoned in wagons, and by itself it has none
	alone = slices.DeleteFunc(q.s.onLineLinks(u.Name()+" alone"), func(l link) bool { return strings.HasPrefix(l.To, "/load?") })
	for _, r := range q.ready(u, func(text string) string { return address("/load", "consist", text) }) {
		for _, l := range r.Long {
			l.Says = "on the line, in this consist"
			kept = append(kept, l)
		}
	}
	return alone, kept
}
