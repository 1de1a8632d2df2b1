package web

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"headstock/calendar"
	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/drawing"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/logbook"
	"headstock/prepare"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/teach"
)

// question is something that can be asked, on a page of its path and under /api.
type question struct {
	path    string // as the command line names it
	title   string
	says    string // what it answers
	fields  []field
	posts   bool   // what was read is sent with it
	ahead   bool   // what was asked stands before the answer, to be asked otherwise
	patient bool   // what it reckons is done within the request
	shelf   string // under which heading a consist's pages have it; "" stands before them all
	answer  func(q *asked) (*answer, error)
}

// field is one word of a question.
type field struct {
	name, label, hint string
	need              bool
	many              bool
	kind              string // consist, unit, class, of, yes, or "" for plain words
	choices           func(s *Site) []string
	usual             [2]string // what is taken where it is blank, metric and imperial; "": nothing
}

// answer is what came of a question.
type answer struct {
	docs   []*card.Document
	values any // as the command line's --json; nil where the documents are all

	choices []choice // ways on, for the page
	first   bool     // they stand before the documents, which are long
	entry   *entry   // one thing to type, for the page
	drawing *drawing.Drawing
}

// entry is one thing to type, with what goes with it.
type entry struct {
	Name, Label, Unit, Value string
	Hidden                   [][2]string
}

// The headings under which the further pages of a consist stand, in this order.
const (
	whatIf  = "What if, and why"
	onLine  = "On the line"
	toTeach = "To teach and practise"
)

func document(d *card.Document) *answer { return &answer{docs: []*card.Document{d}} }

var (
	consistField = field{name: "consist", label: "consist, from the front", kind: "consist", need: true}
	setField     = field{name: "set", label: "a device that stands otherwise", hint: "unit.device=position", many: true}
	unitField    = field{name: "unit", label: "unit", hint: "class and number, or the number alone", kind: "unit", need: true}
	ofField      = field{name: "class", label: "class or unit", kind: "of", need: true}
	classField   = field{name: "class", label: "class", kind: "class", need: true}
	dateField    = field{name: "date", label: "day", hint: "2026-10-01; blank is today"}
)

// questions are all that can be asked, in the order in which they are listed.
func questions() []question {
	return append([]question{
		{path: "coupling", title: "At the coupling", says: "hoses, dummies, cocks and cabinet; what is lost; the one step that shows it is right", fields: []field{consistField, setField}, answer: coupling},
		{path: "card", title: "Set-up card", says: "how each unit is set, stand by stand in walking order, and whether it works", fields: []field{consistField, setField}, answer: setUp},
		{path: "test", title: "Brake test", says: "what each gauge and piston should show at each step", fields: []field{consistField, setField}, answer: brakeTest},
		{path: "judge", title: "Readings, judged", says: "what was read in the brake test, held against what is expected and allowed", fields: []field{consistField, setField, {name: "reading", label: "reading", hint: "step; unit; device; value", many: true, need: true}}, posts: true, answer: judge},
		{path: "if", title: "If this is moved", shelf: whatIf, says: "what is lost or broken when a device stands otherwise; where it shows and where not", fields: []field{consistField, setField, {name: "device", label: "unit.device", hint: "with =position, or every other position", need: true}}, answer: ifMoved},
		{path: "envelope", title: "Sealed envelope", shelf: toTeach, says: "for whoever teaches: one device set wrong, picked by a number; what it does, and which look finds it", fields: []field{consistField, setField, {name: "number", label: "number of the envelope", hint: "any from 1; the same number gives the same", need: true}}, answer: sealedEnvelope},
		{path: "why", title: "Why", shelf: whatIf, says: "why a requirement is met, lost or broken", fields: []field{consistField, setField, {name: "requirement", label: "requirement", choices: func(*Site) []string { return prove.Requirements() }}}, answer: why},
		{path: "jumper", title: "Control jumper", shelf: whatIf, says: "which commands, lamps and bells cross between the units", fields: []field{consistField, setField}, answer: jumper},
		{path: "route", title: "Route", shelf: onLine, says: "does this consist fit the line", fields: []field{consistField, setField, {name: "from", label: "from", need: true, choices: (*Site).places}, {name: "to", label: "to", need: true, choices: (*Site).places}}, answer: route},
		{path: "hold", title: "Hand brakes", shelf: onLine, ahead: true, says: "which hand brakes hold this train on a grade, with a margin", fields: []field{consistField, setField, {name: "grade", label: "grade", hint: "level, 1 in 45, 2.2 %; falling ahead unless it says rising"},
			{name: "rail", label: "rail", choices: railChoices}, {name: "not", label: "a vehicle whose hand brake does not work", many: true}}, answer: hold},
		{path: "ask", title: "Asked of a unit", says: "the fifteen questions of the trackside, each of one unit", fields: []field{unitField, {name: "about", label: "about", need: true, choices: askingChoices},
			{name: "consist", label: "in this consist", hint: "blank: by itself"}, {name: "value", label: "what was read or measured", hint: "where the question asks for it"}}, answer: ask},
		{path: "diagram", title: "Air diagram", says: "the air of a class or unit with its symbols; in a consist, what stands open and at what pressure", fields: []field{ofField,
			{name: "consist", label: "in this consist", hint: "blank: by itself, every device at its normal position"}, {name: "step", label: "after this step of the brake test", choices: testSteps}}, answer: diagram},
		{path: "find", title: "Find", says: "where is the device that is called this", fields: []field{{name: "words", label: "what is it called", hint: "plate, nickname, function or place; with a unit before it, on that unit", need: true}, {name: "class", label: "in this class only", kind: "class"}}, answer: find},
		{path: "explain", title: "Device", says: "everything the record says of a device", fields: []field{ofField, {name: "device", label: "device", hint: "by its id or any of its names", need: true}}, answer: explain},
		{path: "devices", title: "Devices", says: "every device of a class", fields: []field{classField}, answer: devices},
		{path: "compare", title: "Compare", says: "what differs between two classes", fields: []field{classField, {name: "other", label: "other class", kind: "class", need: true}}, answer: compare},
		{path: "learn", title: "Learn a class", says: "the first walk round a class; what differs from one the crew knows, the worst first", fields: []field{classField, {name: "from", label: "from a class the crew knows", kind: "class"}}, answer: learn},
		{path: "walk", title: "Walk round", says: "what is looked at on the walk round, in which order, between what limits", fields: []field{ofField, dateField, {name: "brief", label: "only checks, readings, trips and what today adds", kind: "yes"}}, answer: walk},
		{path: "measure", title: "Measured values", says: "are measured values within their limits", fields: []field{unitField, {name: "value", label: "a value", hint: "item; part; reading; value – such as bogie-1-piston; ; travel; 92 mm", many: true, need: true}}, answer: measure},
		{path: "fit", title: "Fitness", says: "may this unit lead, trail, be hauled, or must it not move", fields: []field{unitField,
			{name: "defect", label: "a defect beside those of the record", hint: "device=kind or device=position", many: true},
			{name: "measure", label: "a measurement", hint: "device:what=value", many: true},
			{name: "price", label: "run what a cut-out takes from the brake", kind: "yes"},
			{name: "in", label: "in this consist", hint: "blank: a locomotive alone"}, dateField}, answer: fit},
		{path: "steps", title: "Procedures", says: "start, shut down, stable, change ends and the like, step by step", fields: []field{{name: "unit", label: "unit or class", kind: "of", need: true}, {name: "procedure", label: "procedure", choices: func(*Site) []string { return fleet.ProcedureNames() }}}, answer: steps},
		{path: "trips", title: "Trips and resets", says: "what can trip: how it looks, how often it may be reset, and when never", fields: []field{{name: "unit", label: "unit or class", kind: "of", need: true}, {name: "words", label: "which", hint: "blank is all"}}, answer: trips},
		{path: "crank", title: "It will not crank", says: "how far does a start get as the devices stand, and what have I missed", fields: []field{unitField, {name: "set", label: "a device as it stands", hint: "device=position", many: true}, {name: "engine", label: "which engine", hint: "where there are several"}}, answer: crank},
		{path: "list", title: "Classes and units", says: "the classes and units of the railway, and what stands otherwise today", answer: list},
		{path: "needs", title: "What the record lacks", says: "what a record still needs for its next level", fields: []field{classField}, answer: needs},
		{path: "functions", title: "Function words", says: "the defined list of what devices are for", answer: functions},
		{path: "log", title: "Logbook", says: "what was measured, found and handed over", fields: []field{{name: "unit", label: "unit", kind: "unit"}}, answer: log},
		{path: "drift", title: "Drift", says: "where the measures of a unit are going, and when they meet their limit", fields: []field{unitField, {name: "quantity", label: "measure", hint: "blank is all"}}, answer: drift},
	}, append(searchQuestions(), haulage()...)...)
}

// questionOf is the question of a path.
func (s *Site) questionOf(path string) (question, bool) {
	i := slices.IndexFunc(s.questions, func(x question) bool { return x.path == path })
	if i < 0 {
		return question{}, false
	}
	return s.questions[i], true
}

func coupling(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	plan, err := setup.Describe(c)
	if err != nil {
		return nil, err
	}
	ck, err := q.checked(c)
	if errors.Is(err, errRunning) {
		return &answer{docs: []*card.Document{card.Beside(c, plan, nil, nil, q.s.rules, q.units)}}, errRunning
	}
	if err != nil {
		return nil, err
	}
	slips, err := q.slips(c, ck.Proof)
	d := card.Beside(c, plan, ck.Proof, slips, q.s.rules, q.units)
	if err != nil && !errors.Is(err, errRunning) {
		return nil, err
	}
	return &answer{docs: []*card.Document{d}, values: couplingValues{Values(c, ck.Proof, ck.Plan, q.s.rules), slips}}, err
}

// couplingValues are a set-up with what can be left wrong at its couplings.
type couplingValues struct {
	Answer
	Slips *setup.Slips `json:"slips,omitempty"`
}

func setUp(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	ck, err := q.checked(c)
	if err != nil {
		return nil, err
	}
	a := Values(c, ck.Proof, ck.Plan, q.s.rules)
	a.Refuted = ck.Refuted
	return &answer{docs: []*card.Document{card.Coupling(c, ck, q.s.rules, q.units)}, values: a}, nil
}

func brakeTest(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	p, err := q.proof(c)
	if err != nil {
		return nil, err
	}
	return &answer{docs: []*card.Document{card.Sheet(c, p, q.s.rules, q.units)}, values: Values(c, p, nil, q.s.rules)}, nil
}

// judge holds readings, each "step; unit; device; value".
func judge(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	var entries []prove.Entered
	for i, t := range q.all("reading") {
		parts := strings.Split(t, ";")
		if len(parts) != 4 {
			return nil, bad("reading %d: expected step; unit; device; value, found %q", i+1, reading.Short(t))
		}
		for k := range parts {
			parts[k] = strings.TrimSpace(parts[k])
		}
		entries = append(entries, prove.Entered{Line: i + 1, Step: parts[0], Unit: parts[1], Device: parts[2], Value: parts[3]})
	}
	return q.judged(c, entries)
}

// judged holds entered readings against the brake test of a consist.
func (q *asked) judged(c *consist.Consist, entries []prove.Entered) (*answer, error) {
	p, err := q.proof(c)
	if err != nil {
		return nil, err
	}
	if p.Test == nil {
		return nil, &unsaid{"cannot say: there is no brake test to go by"}
	}
	js, err := prove.Judge(p, q.s.rules, entries)
	if err != nil {
		return nil, err
	}
	cover := p.Cover(q.s.rules, js)
	return &answer{
		docs:   []*card.Document{card.Judged(p, js, cover, q.s.rules, q.units)},
		values: Judgement{card.Caution, c.String(), js, cover.Complete(), cover, Records(c), q.s.rules.Title, p.Study, p.AirModel},
	}, nil
}

// ifMoved runs one device standing otherwise.
func ifMoved(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	what := q.get("device")
	type effects struct {
		base *prove.Proof
		all  []*setup.Effect
	}
	x, err := worked(q.ctx, q.s.works, key("if\x00"+what, c), func() (effects, error) {
		base, err := setup.NewBase(c, q.s.rules, q.s.conditions())
		if err != nil {
			return effects{}, unproved(err)
		}
		moves, err := base.Moving(what)
		if err != nil {
			return effects{}, err
		}
		out := effects{base: base.Proof()}
		for _, m := range moves {
			e, err := base.Effect(m)
			if err != nil {
				return effects{}, err
			}
			out.all = append(out.all, e)
		}
		return out, nil
	})
	if err != nil {
		return nil, err
	}
	return &answer{docs: []*card.Document{card.Effects(c, x.base, x.all, q.s.rules, q.units)}, values: ifValues{c.String(), x.all, x.base.AirModel}}, nil
}

type ifValues struct {
	Consist string          `json:"consist"`
	Effects []*setup.Effect `json:"effects"`
	Air     string          `json:"air_model"`
}

func why(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	which := q.get("requirement")
	if all := prove.Requirements(); which != "" && !slices.Contains(all, which) {
		return nil, bad("no requirement %q; expected one of %s%s", reading.Short(which), strings.Join(all, ", "), reading.Hint(which, all))
	}
	p, err := q.proof(c)
	if err != nil {
		return nil, err
	}
	if _, ok := p.Finding(which); which != "" && !ok && p.Test == nil {
		return nil, &unsaid{"cannot say: there is no brake test to go by"}
	}
	a := Values(c, p, nil, q.s.rules)
	a.Readings, a.Misses = nil, nil
	return &answer{docs: []*card.Document{card.Why(c, p, which, q.s.rules, q.units)}, values: a}, nil
}

func jumper(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	js, err := worked(q.ctx, q.s.works, key("jumper", c), func() ([]*prepare.Jumper, error) { return prepare.Jumpers(c) })
	if err != nil {
		return nil, err
	}
	if js == nil {
		js = []*prepare.Jumper{}
	}
	return &answer{docs: []*card.Document{card.Jumper(c, js)}, values: jumperValues{c.String(), js, Records(c)}}, nil
}

type jumperValues struct {
	Consist string            `json:"consist"`
	Joints  []*prepare.Jumper `json:"joints"`
	Records []Record          `json:"records"`
}

// lineFile is the line file of a railway.
const lineFile = "line.yaml"

func route(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	from, to := q.get("from"), q.get("to")
	if from == "" || to == "" {
		return nil, bad("name the place where it starts and the place where it ends")
	}
	if q.s.line == nil {
		return nil, &unsaid{"cannot say: needs a line file, line.yaml, in the railway's folder"}
	}
	a, err := prepare.Route(c, q.s.line, from, to, q.s.rules)
	if err != nil {
		return nil, err
	}
	d := card.Route(c.Fleet.Railway, a, q.s.rules, q.units)
	if c.HasDraft() {
		d.Banner = card.Draft
	}
	return &answer{docs: []*card.Document{d}, values: routeValues{a, Records(c), q.s.rules.Title}}, nil
}

type routeValues struct {
	*prepare.RouteAnswer
	Records []Record `json:"records"`
	Rules   string   `json:"rules"`
}

// places are those of the railway's line.
func (s *Site) places() []string {
	if s.line == nil {
		return nil
	}
	var out []string
	for _, p := range s.line.Places {
		out = append(out, p.Name)
	}
	return out
}

// readLine is the railway's line; nil where it has no line file.
func readLine(files fs.FS) (*line.Line, []reading.Complaint) {
	if _, err := fs.Stat(files, lineFile); err != nil {
		return nil, nil
	}
	return line.Read(files, lineFile)
}

func find(q *asked) (*answer, error) {
	words := q.get("words")
	if strings.Trim(words, " -") == "" {
		return nil, bad("type what it is called: the plate, a nickname, its function or its place")
	}
	d, _, err := card.Found(q.s.fleet, words, q.get("class"))
	if err != nil {
		return nil, err
	}
	return document(d), nil
}

func explain(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	x, err := device(c, q.get("device"))
	if err != nil {
		return nil, err
	}
	return document(card.Device(q.s.fleet, c, u, x)), nil
}

func devices(q *asked) (*answer, error) {
	c, err := q.s.class(q.get("class"))
	if err != nil {
		return nil, err
	}
	return document(card.Devices(c, c.Devices, "Devices of class "+c.Name)), nil
}

func compare(q *asked) (*answer, error) {
	a, err := q.s.class(q.get("class"))
	if err != nil {
		return nil, err
	}
	b, err := q.s.class(q.get("other"))
	if err != nil {
		return nil, err
	}
	out := document(card.Compared(a, b))
	if a != b {
		out.first = true
		out.choices = []choice{{Long: []link{
			{Text: "The worst first, for who knows " + b.Name, Says: "what differs on " + a.Name + " and matters, by danger", To: address("/learn", "class", a.Name, "from", b.Name)},
			{Text: "The worst first, for who knows " + a.Name, Says: "what differs on " + b.Name + " and matters, by danger", To: address("/learn", "class", b.Name, "from", a.Name)},
		}}}
	}
	return out, nil
}

func learn(q *asked) (*answer, error) {
	c, err := q.s.class(q.get("class"))
	if err != nil {
		return nil, err
	}
	var l *teach.Lesson
	if from := q.get("from"); from != "" {
		known, err := q.s.class(from)
		if err != nil {
			return nil, err
		}
		if l, err = worked(q.ctx, q.s.works, "learn\x00"+known.Name+"\x00"+c.Name, func() (*teach.Lesson, error) {
			return teach.Differences(q.s.fleet, q.s.rules, known, c, q.s.conditions())
		}); err != nil {
			return nil, err
		}
	}
	stands, err := worked(q.ctx, q.s.works, "places\x00"+c.Name, func() ([]string, error) { return prepare.Places(c), nil })
	if err != nil {
		return nil, err
	}
	return document(card.Learn(c, teach.Walk(c, stands, l), l)), nil
}

// walkOf is the walk round a class.
func (q *asked) walkOf(c *fleet.Class) (*prepare.Walk, error) {
	return worked(q.ctx, q.s.works, "walk\x00"+c.Name, func() (*prepare.Walk, error) {
		w, err := prepare.Of(c)
		var lacks *prepare.Unsaid
		if errors.As(err, &lacks) {
			return nil, &unsaid{fmt.Sprintf("class %s: %v", c.Name, err)}
		}
		return w, err
	})
}

func walk(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	w, err := q.walkOf(c)
	if err != nil {
		return nil, err
	}
	date := q.get("date")
	if u != nil {
		date = q.day()
	}
	sheet, err := prepare.Today(w, u, date, q.get("brief") != "")
	if err != nil {
		return nil, err
	}
	return document(card.Walk(sheet, q.units)), nil
}

// measure holds values, each "item; part; reading; value".
func measure(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	if u == nil {
		return nil, bad("name a unit; %q is a class", c.Name)
	}
	var es []prepare.Entry
	for i, t := range q.all("value") {
		parts := strings.Split(t, ";")
		if len(parts) != 4 {
			return nil, bad("value %d: expected item; part; reading; value, found %q", i+1, reading.Short(t))
		}
		for k := range parts {
			parts[k] = strings.TrimSpace(parts[k])
		}
		es = append(es, prepare.Entry{Line: i + 1, Item: parts[0], Part: parts[1], Reading: parts[2], Value: parts[3]})
	}
	if len(es) == 0 {
		return nil, bad("enter at least one value")
	}
	rs, err := prepare.Measure(c, u, q.s.rules, es)
	if err != nil {
		return nil, err
	}
	return document(card.Measured(c, u, rs, q.units)), nil
}

func fit(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	if u == nil {
		return nil, bad("name a unit; %q is a class", c.Name)
	}
	date := q.day()
	if _, ok := rule.Day(date); !ok {
		return nil, bad("%q is no day; expected year-month-day, like 2026-03-01", reading.Short(date))
	}
	var ds []fleet.Defect
	for _, t := range q.all("defect") {
		x, err := prepare.ParseDefect(c, t, date)
		if err != nil {
			return nil, err
		}
		ds = append(ds, x)
	}
	var ms []prepare.Measurement
	for _, t := range q.all("measure") {
		m, err := prepare.ParseMeasurement(c, q.s.rules, t, date)
		if err != nil {
			return nil, err
		}
		ms = append(ms, m)
	}
	a := prepare.Fitness(c, u, ds, ms, q.s.rules, date)
	var p *prepare.Price
	if in := q.get("in"); (in != "" || q.get("price") != "") && len(a.CutOuts) > 0 {
		if p, err = q.price(c, a, in); err != nil {
			return nil, err
		}
	}
	return &answer{docs: []*card.Document{card.Fitness(q.s.fleet, c, a, p, q.s.rules, q.units)}, values: fitValues{a, p, RecordOf(c), q.s.rules.Title}}, nil
}

type fitValues struct {
	*prepare.Answer
	Price  *prepare.Price `json:"price,omitempty"`
	Record Record         `json:"record"`
	Rules  string         `json:"rules"`
}

// price runs the cut-outs of a unit alone, or in its consist.
func (q *asked) price(c *fleet.Class, a *prepare.Answer, in string) (*prepare.Price, error) {
	if in == "" {
		if c.Kind == "wagon" {
			return &prepare.Price{Unit: a.Unit, CutOuts: a.CutOuts, CannotSay: "a consist to run a wagon in"}, nil
		}
		in = a.Unit + " alone"
	}
	within := &asked{Values: map[string][]string{"consist": {in}}, s: q.s, ctx: q.ctx, units: q.units}
	train, err := within.consist()
	if err != nil {
		return nil, err
	}
	i, err := train.Find(a.Unit)
	if err != nil {
		return nil, bad("%s does not stand in the consist %s", a.Unit, train.String())
	}
	if _, n := train.Lead(); n != 1 {
		return nil, bad("the consist %s has no unit that leads, or several", train.String())
	}
	var cuts []string
	for _, x := range a.CutOuts {
		cuts = append(cuts, fmt.Sprint(x))
	}
	return worked(q.ctx, q.s.works, key("price\x00"+a.Unit+"\x00"+strings.Join(cuts, "\x00"), train), func() (*prepare.Price, error) {
		return prepare.BrakePrice(train, i, a.CutOuts, prove.StandingTest(train, q.s.rules), prove.StepService, q.s.conditions())
	})
}

func steps(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	if len(c.Procedures) == 0 {
		return nil, &unsaid{"cannot say: needs procedures in the record of class " + c.Name}
	}
	ps := c.Procedures
	if name := q.get("procedure"); name != "" {
		p, ok := c.Procedure(name)
		if !ok {
			var names []string
			for _, p := range c.Procedures {
				names = append(names, p.Name)
			}
			return nil, bad("class %s has no procedure %q; it has %s%s", c.Name, reading.Short(name), strings.Join(names, ", "), reading.Hint(name, names))
		}
		ps = []*fleet.Instructions{p}
	}
	a := &answer{}
	for _, p := range ps {
		a.docs = append(a.docs, card.Instructions(c, u, p, q.units))
	}
	return a, nil
}

func trips(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	ts := prepare.Trips(c, u)
	if words := q.get("words"); words != "" {
		found := q.s.fleet.Find(words)
		ts = slices.DeleteFunc(slices.Clone(ts), func(t prepare.Trip) bool {
			return !slices.ContainsFunc(found, func(x fleet.Finding) bool { return x.Class == c && x.Device == t.At.Device })
		})
	}
	return document(card.Trips(c, u, ts)), nil
}

func crank(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	if u == nil {
		return nil, bad("name a unit; %q is a class", c.Name)
	}
	one := &asked{Values: map[string][]string{"consist": {u.Name() + " lead"}}, s: q.s, ctx: q.ctx, units: q.units}
	for _, ch := range q.all("set") {
		if name, _, _ := strings.Cut(ch, "="); !strings.Contains(name, ".") {
			ch = u.Name() + "." + ch
		}
		one.Values["set"] = append(one.Values["set"], ch)
	}
	train, err := one.consist()
	if err != nil {
		return nil, err
	}
	starts := []string{q.get("engine")}
	if starts[0] == "" {
		if all := prepare.Starts(train.Vehicles[0]); len(all) > 0 {
			starts = all
		}
	}
	as, err := worked(q.ctx, q.s.works, key("crank\x00"+strings.Join(starts, ","), train), func() ([]*prepare.Attempt, error) {
		var out []*prepare.Attempt
		for _, s := range starts {
			a, err := prepare.Crank(train, 0, s)
			if err != nil {
				return nil, err
			}
			out = append(out, a)
		}
		return out, nil
	})
	if err != nil {
		return nil, err
	}
	return &answer{docs: []*card.Document{card.Crank(train, 0, as)}, values: crankValues{as, Records(train)}}, nil
}

type crankValues struct {
	Starts  []*prepare.Attempt `json:"starts"`
	Records []Record           `json:"records"`
}

func list(q *asked) (*answer, error) { return document(card.FleetList(q.s.fleet)), nil }

func functions(*asked) (*answer, error) { return document(card.Functions()), nil }

func needs(q *asked) (*answer, error) {
	c, err := q.s.class(q.get("class"))
	if err != nil {
		return nil, err
	}
	return document(card.Needs(c)), nil
}

// book is the logbook as it stands; nil where there is none.
func (s *Site) book() (*logbook.Book, error) {
	if s.store == nil {
		return nil, nil
	}
	es, err := s.store.List(logbook.Filter{})
	if err != nil {
		return nil, err
	}
	return logbook.NewBook(es), nil
}

// today is a unit with what the logbook holds of it.
func (s *Site) today(c *fleet.Class, u *fleet.Unit, units quantity.Units) (*fleet.Unit, error) {
	b, err := s.book()
	if b == nil || err != nil {
		return u, err
	}
	return Kept(c, u, b, units)
}

var errNoBook = &unsaid{"cannot say: no logbook was given when the server was started"}

func log(q *asked) (*answer, error) {
	b, err := q.s.book()
	if err != nil {
		return nil, err
	}
	if b == nil {
		return nil, errNoBook
	}
	title, es := "Logbook", b.Entries()
	if name := q.get("unit"); name != "" {
		_, u, err := q.s.unit(name)
		if err != nil {
			return nil, err
		}
		title = "Logbook of " + u.Name()
		es = slices.DeleteFunc(slices.Clone(es), func(e logbook.Entry) bool { return !(logbook.Filter{Unit: u.Name()}).Passes(e) })
	}
	return document(card.Log(b, es, title, q.units)), nil
}

func drift(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	if u == nil {
		return nil, bad("name a unit; %q is a class", c.Name)
	}
	b, err := q.s.book()
	if err != nil {
		return nil, err
	}
	if b == nil {
		return nil, errNoBook
	}
	var rows []card.DriftRow
	for _, x := range logbook.SeriesOf(b.Readings()) {
		if x.Unit != u.Name() || q.get("quantity") != "" && !strings.EqualFold(x.What, q.get("quantity")) {
			continue
		}
		row := card.DriftRow{}
		check, limit := logbook.LimitOf(c, x.Key)
		if check != nil {
			row.By = fmt.Sprintf("class record %s, check of %s at %s: %s", c.Name, check.What, check.Device, check.Limit.Text)
		}
		row.Drift = logbook.DriftOf(x, limit)
		if limit == nil {
			for _, y := range logbook.LimitsAt(c, x.Device, row.Measure) {
				row.Perhaps = append(row.Perhaps, fmt.Sprintf("%s: %s", y.What, y.Limit.Text))
			}
		}
		rows = append(rows, row)
	}
	return document(card.Drifts(u.Name(), rows, calendar.On(q.s.now()), q.units)), nil
}
