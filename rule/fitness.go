package rule

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

//go:embed fitness.yaml
var fitness []byte

// Fit is one rule of fitness to run: which defect, cut-out or measurement it is about, and
// what then holds.
type Fit struct {
	ID, What string

	// What it is about: devices of these functions, with a fault of one of these kinds, or
	// left in one of these positions, or measured beyond the limit.
	Functions []string
	Kinds     []string
	Stands    []string
	Measure   string
	Limit     Limit // only with Measure
	Open      bool  // the limit itself is outside ("less than", "more than")

	// What then holds.
	Bars       []Duty
	Nothing    bool // it restricts nothing, and that is said
	As         []Duty
	PerEnd     bool // a device of one cab or end concerns only leading with that end in front
	Speed      Axis // m/s
	LoadShare  Axis
	LoadMass   Axis // kg
	Distance   Axis // m
	Within     float64
	Until      []string
	Conditions []string
	Local      []string // "speed", "load": the railway's own figure is needed and not here
	LiftedBy   string

	Source, Row string // where it comes from
	ThenBy      string // where the consequence comes from, when not from the same source
	Weak        bool   // one of the two is no law, standard, book or rule of the railway
	Pos         reading.Pos

	cited string // made once: an answer cites many rules
}

// Cite is where the rule comes from, and where its consequence does when from elsewhere.
func (f *Fit) Cite() string { return f.cited }

func (f *Fit) makeCitation() {
	f.cited = cite(f.Source, f.Row)
	if f.ThenBy != "" && f.ThenBy != f.Source {
		f.cited += "; what follows: " + cite(f.ThenBy, "")
	}
	for _, k := range []string{f.Source, f.ThenBy} {
		if ref, ok := source.Lookup(k); ok && ref.Standing.Weak() {
			f.Weak = true
		}
	}
}

func cite(key, row string) string {
	title := key
	if ref, ok := source.Lookup(key); ok {
		title = ref.Title
	}
	if row != "" {
		return row + ", " + title
	}
	return title
}

// Broken says whether a measured value is outside the rule's limit.
func (f Fit) Broken(v float64) bool {
	l := f.Limit
	if f.Open {
		return l.HasHigh && v >= l.High || l.HasLow && v <= l.Low
	}
	return l.HasHigh && v > l.High || l.HasLow && v < l.Low
}

// About says whether the rule is about devices of a function.
func (f Fit) About(function string) bool { return slices.Contains(f.Functions, function) }

// Effect is what the rule restricts in one duty, where the device belongs to an end (0:
// to the whole unit) and the fault was found on a day (Day; 0: unknown). A term without
// a day is left out; the caller says what is missing.
func (f Fit) Effect(d Duty, end, found int) Restriction {
	var r Restriction
	by := []string{f.ID}
	if f.PerEnd && end != 0 && (d == Lead1 && end != 1 || d == Lead2 && end != 2) {
		return r
	}
	for _, b := range f.Bars {
		if b == d || b == Move {
			r.Barred[b] = by
		}
	}
	if d == Move || !slices.Contains(f.As, d) {
		return r
	}
	given := func(a Axis) Axis {
		if a.Set {
			a.By = by
		}
		return a
	}
	r.Speed, r.Distance = given(f.Speed), given(f.Distance)
	if d != Hauled { // what is hauled hauls nothing
		r.LoadShare, r.LoadMass = given(f.LoadShare), given(f.LoadMass)
	}
	if f.Within > 0 && found > 0 {
		r.LastDay = Axis{Set: true, Value: float64(lastDay(found, f.Within)), By: by}
	}
	for _, u := range f.Until {
		r.Until = clauses(r.Until, []Clause{{u, by}})
	}
	for _, c := range f.Conditions {
		r.Conditions = clauses(r.Conditions, []Clause{{c, by}})
	}
	return r
}

// Stand is a device of a function that stands in one of some positions.
type Stand struct {
	Function string
	In       []string
}

// Placing is one rule about where in a train a vehicle may stand.
type Placing struct {
	ID, What string

	// Which vehicles: of these classes, in these roles, of this kind, with devices that stand
	// so. What is empty does not choose.
	Classes, Roles []string
	Kind           string
	Where          []Stand

	NotFirst, NotLast bool
	NotAway           bool    // never parted from the working locomotives by a wagon
	NotBetween        float64 // kg; never with a vehicle of this mass or more on both sides; 0: no such rule
	AtMost            int     // of such vehicles in a train; 0: no such rule
	Speed             Axis    // m/s, for the train
	Stands            []Stand // how devices of such a vehicle must stand

	Source, Row string
	Pos         reading.Pos
}

// Cite is where the rule comes from.
func (p Placing) Cite() string { return cite(p.Source, p.Row) }

var thens = []string{"may not lead", "may not trail", "may not be hauled", "hauled only", "must not move", "no restriction"}

var fitKeys = []string{"what", "function", "kind", "stands", "measure", "at least", "at most", "less than", "more than", "then", "as", "per end", "speed", "load", "within", "distance", "until", "condition", "local", "lifted by", "by", "row", "then by"}

var placingKeys = []string{"what", "of", "not", "heavy", "at most", "speed", "stands", "by", "row"}

// rows reads the rules of fitness and of placing.
type rows struct {
	complaints       []reading.Complaint
	source           string
	functions, kinds []string // the defined lists, made once
}

func (r *rows) complain(n *reading.Node, code, msg, expected, nearest string) {
	r.complaints = append(r.complaints, reading.Complaint{Code: code, Pos: n.Pos(), Message: msg, Expected: expected, Nearest: nearest})
}

func (r *rows) word(n *reading.Node) string {
	if n.Kind() != reading.Word {
		r.complain(n, CodeShape, fmt.Sprintf("%s stands here", n.Kind()), "a word or a text", "")
		return ""
	}
	return n.Text()
}

func (r *rows) words(n *reading.Node, what string, known []string) []string {
	if n.Kind() == reading.Map {
		r.complain(n, CodeShape, "a map stands here", "a word or a list of words", "")
		return nil
	}
	var out []string
	for _, i := range n.Items() {
		w := r.word(i)
		if w == "" {
			continue
		}
		if known != nil && !slices.Contains(known, w) {
			r.complain(i, CodeWord, fmt.Sprintf("%q is no %s", w, what), "one of "+few(known), reading.Nearest(w, known))
			continue
		}
		out = append(out, w)
	}
	return out
}

// few lists words for a complaint; a long list is cut, the nearest is named beside it.
func few(words []string) string {
	const most = 24
	if len(words) > most {
		return strings.Join(words[:most], ", ") + " …"
	}
	return strings.Join(words, ", ")
}

func (r *rows) figure(n *reading.Node, kinds ...quantity.Kind) (quantity.Value, bool) {
	t := r.word(n)
	if t == "" {
		return quantity.Value{}, false
	}
	v, err := quantity.Parse(t)
	if err != nil {
		r.complain(n, CodeQuantity, err.Error(), "a quantity with its unit", "")
		return v, false
	}
	if len(kinds) > 0 && !slices.Contains(kinds, v.Kind) {
		r.complain(n, CodeQuantity, fmt.Sprintf("%q is %s", t, aKind(v.Kind)), likeKind(kinds[0]), "")
		return v, false
	}
	return v, true
}

// above is a figure that must be more than nothing.
func (r *rows) above(n *reading.Node, kinds ...quantity.Kind) (quantity.Value, bool) {
	v, ok := r.figure(n, kinds...)
	if ok && v.SI <= 0 {
		r.complain(n, CodeQuantity, fmt.Sprintf("%q is not above zero", n.Text()), "a figure above zero; what is wholly forbidden is said under then", "")
		return v, false
	}
	return v, ok
}

func (r *rows) by(n *reading.Node) string {
	k := r.word(n)
	if _, ok := source.Lookup(k); !ok && k != "" {
		r.complain(n, CodeSource, fmt.Sprintf("no source %q in the bibliography", k), "a key of the bibliography, or drawing-…", source.Nearest(k))
	}
	return k
}

func (r *rows) key(e reading.Entry, what string, keys []string) {
	r.complaints = append(r.complaints, reading.Complaint{Code: CodeKey, Pos: e.KeyPos, Message: fmt.Sprintf("%s has no %q", what, e.Key), Expected: strings.Join(keys, ", "), Nearest: reading.Nearest(e.Key, keys)})
}

func functionWords() []string {
	var out []string
	for _, f := range fleet.Functions() {
		out = append(out, f.Word)
	}
	return out
}

func kindWords() []string {
	var out []string
	for _, k := range fleet.DefectKinds() {
		out = append(out, k.Word)
	}
	return out
}

func row(n *reading.Node) string { return strings.Join(strings.Fields(n.Text()), ", ") }

func (r *rows) fit(e reading.Entry) (Fit, bool) {
	f := Fit{ID: e.Key, Source: r.source, Pos: e.KeyPos, As: []Duty{Lead1, Lead2, Trail, Hauled}}
	if e.Value.Kind() != reading.Map {
		r.complain(e.Value, CodeShape, fmt.Sprintf("rule %q is %s", e.Key, e.Value.Kind()), "a map of keys and values", "")
		return f, false
	}
	before := len(r.complaints)
	limits := false
	for _, p := range e.Value.Entries() {
		switch p.Key {
		case "what":
			f.What = r.word(p.Value)
		case "function":
			f.Functions = r.words(p.Value, "function", r.functions)
		case "kind":
			f.Kinds = r.words(p.Value, "kind of defect", r.kinds)
		case "stands":
			f.Stands = r.words(p.Value, "", nil)
		case "measure":
			f.Measure = r.word(p.Value)
		case "at least", "at most", "less than", "more than":
			v, ok := r.figure(p.Value)
			if !ok {
				continue
			}
			if (f.Limit.HasLow || f.Limit.HasHigh) && v.Kind != f.Limit.Kind {
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is another kind of figure than the one before", p.Value.Text()), "two figures of one kind", "")
				continue
			}
			f.Limit.Kind, limits = v.Kind, true
			if p.Key == "at least" || p.Key == "more than" {
				f.Limit.Low, f.Limit.HasLow = v.SI, true
			} else {
				f.Limit.High, f.Limit.HasHigh = v.SI, true
			}
			f.Open = f.Open || p.Key == "less than" || p.Key == "more than"
		case "then":
			for _, w := range r.words(p.Value, "consequence", thens) {
				f.then(w)
			}
		case "as":
			f.As = nil
			for _, w := range r.words(p.Value, "duty", []string{"lead", "trail", "hauled"}) {
				f.As = append(f.As, map[string][]Duty{"lead": {Lead1, Lead2}, "trail": {Trail}, "hauled": {Hauled}}[w]...)
			}
		case "per end":
			switch r.word(p.Value) {
			case "yes":
				f.PerEnd = true
			case "no":
			default:
				r.complain(p.Value, CodeWord, fmt.Sprintf("%q is neither yes nor no", p.Value.Text()), "yes or no", "")
			}
		case "speed":
			if v, ok := r.above(p.Value, quantity.Speed); ok {
				f.Speed = Axis{Set: true, Value: v.SI}
			}
		case "load":
			v, ok := r.above(p.Value, quantity.Mass, quantity.Count)
			switch {
			case !ok:
			case v.Kind == quantity.Mass:
				f.LoadMass = Axis{Set: true, Value: v.SI}
			case v.SI > 1:
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is more than all of it", p.Value.Text()), "a share such as 50 %, or a mass such as 400 t", "")
			default:
				f.LoadShare = Axis{Set: true, Value: v.SI}
			}
		case "within":
			if v, ok := r.above(p.Value, quantity.Time); ok {
				if v.SI < 86400 {
					r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is less than a day, and a defect is entered with its day only", p.Value.Text()), "whole days; a shorter term in words under until", "")
					continue
				}
				f.Within = v.SI
			}
		case "distance":
			if v, ok := r.above(p.Value, quantity.Length); ok {
				f.Distance = Axis{Set: true, Value: v.SI}
			}
		case "until":
			f.Until = r.words(p.Value, "", nil)
		case "condition":
			f.Conditions = r.words(p.Value, "", nil)
		case "local":
			f.Local = r.words(p.Value, "figure a railway gives", []string{"speed", "load"})
		case "lifted by":
			f.LiftedBy = r.word(p.Value)
		case "by":
			f.Source = r.by(p.Value)
		case "then by":
			f.ThenBy = r.by(p.Value)
		case "row":
			f.Row = row(p.Value)
		default:
			r.key(p, "a rule of fitness", fitKeys)
		}
	}
	lacks := func(what, expected string) {
		r.complaints = append(r.complaints, reading.Complaint{Code: CodeFitEmpty, Pos: e.KeyPos, Message: fmt.Sprintf("rule %q %s", e.Key, what), Expected: expected})
	}
	if len(r.complaints) > before {
		return f, false
	}
	switch {
	case f.What == "":
		lacks("does not say what it is about in words", "what: …")
	case len(f.Functions) == 0:
		lacks("names no function", "function: the words of the devices that it is about")
	case len(f.Kinds) == 0 && len(f.Stands) == 0 && f.Measure == "":
		lacks("names no fault", "kind, stands or measure")
	case (f.Measure != "") != limits:
		lacks("has a measure without a limit, or a limit without a measure", "measure together with at least, at most, less than or more than")
	case !f.Nothing && len(f.Bars) == 0 && !f.Speed.Set && !f.LoadShare.Set && !f.LoadMass.Set && !f.Distance.Set && f.Within == 0 && len(f.Until) == 0 && len(f.Conditions) == 0 && len(f.Local) == 0:
		lacks("has no consequence", "then, speed, load, within, distance, until, condition or local")
	case f.Nothing && (len(f.Bars) > 0 || f.Speed.Set || f.LoadShare.Set || f.LoadMass.Set || f.Within > 0 || f.Distance.Set):
		lacks("says no restriction and restricts", "one of the two")
	}
	f.makeCitation()
	return f, len(r.complaints) == before
}

func (f *Fit) then(w string) {
	switch w {
	case "may not lead":
		f.Bars = append(f.Bars, Lead1, Lead2)
	case "may not trail":
		f.Bars = append(f.Bars, Trail)
	case "may not be hauled":
		f.Bars = append(f.Bars, Hauled)
	case "hauled only":
		f.Bars = append(f.Bars, Lead1, Lead2, Trail)
	case "must not move":
		f.Bars = append(f.Bars, Lead1, Lead2, Trail, Hauled, Move)
	case "no restriction":
		f.Nothing = true
	}
	slices.Sort(f.Bars)
	f.Bars = slices.Compact(f.Bars)
}

func (r *rows) stands(n *reading.Node) []Stand {
	if n.Kind() != reading.Map {
		r.complain(n, CodeShape, fmt.Sprintf("%s stands here", n.Kind()), "functions, each with its positions", "")
		return nil
	}
	var out []Stand
	for _, e := range n.Entries() {
		if _, ok := fleet.LookupFunction(e.Key); !ok {
			r.complaints = append(r.complaints, reading.Complaint{Code: CodeWord, Pos: e.KeyPos, Message: fmt.Sprintf("%q is no function", e.Key), Expected: "a word of the defined list", Nearest: fleet.NearestFunction(e.Key)})
			continue
		}
		out = append(out, Stand{e.Key, r.words(e.Value, "", nil)})
	}
	return out
}

func (r *rows) placing(e reading.Entry) (Placing, bool) {
	p := Placing{ID: e.Key, Source: r.source, Pos: e.KeyPos}
	if e.Value.Kind() != reading.Map {
		r.complain(e.Value, CodeShape, fmt.Sprintf("rule %q is %s", e.Key, e.Value.Kind()), "a map of keys and values", "")
		return p, false
	}
	before := len(r.complaints)
	between, heavy := false, 0.0
	for _, k := range e.Value.Entries() {
		switch k.Key {
		case "what":
			p.What = r.word(k.Value)
		case "of":
			for _, o := range k.Value.Entries() {
				switch o.Key {
				case "class":
					p.Classes = r.words(o.Value, "", nil)
				case "role":
					p.Roles = r.words(o.Value, "role", append(fleet.RoleNames(), "hauled dead, all pipes"))
				case "kind":
					if w := r.words(o.Value, "kind of vehicle", []string{"locomotive", "wagon"}); len(w) == 1 {
						p.Kind = w[0]
					}
				case "where":
					p.Where = r.stands(o.Value)
				default:
					r.key(o, "of", []string{"class", "role", "kind", "where"})
				}
			}
		case "not":
			for _, w := range r.words(k.Value, "place in a train", []string{"first", "last", "between heavy vehicles", "away from the locomotives"}) {
				switch w {
				case "first":
					p.NotFirst = true
				case "last":
					p.NotLast = true
				case "between heavy vehicles":
					between = true
				default:
					p.NotAway = true
				}
			}
		case "heavy":
			if v, ok := r.above(k.Value, quantity.Mass); ok {
				heavy = v.SI
			}
		case "at most":
			n, err := strconv.Atoi(r.word(k.Value))
			if err != nil || n < 1 {
				r.complain(k.Value, CodeQuantity, fmt.Sprintf("%q is no number of vehicles", k.Value.Text()), "a whole number from 1", "")
				continue
			}
			p.AtMost = n
		case "speed":
			if v, ok := r.above(k.Value, quantity.Speed); ok {
				p.Speed = Axis{Set: true, Value: v.SI, By: []string{p.ID}}
			}
		case "stands":
			p.Stands = r.stands(k.Value)
		case "by":
			p.Source = r.by(k.Value)
		case "row":
			p.Row = row(k.Value)
		default:
			r.key(k, "a rule of placing", placingKeys)
		}
	}
	lacks := func(what, expected string) {
		r.complaints = append(r.complaints, reading.Complaint{Code: CodeFitEmpty, Pos: e.KeyPos, Message: fmt.Sprintf("rule %q %s", e.Key, what), Expected: expected})
	}
	if len(r.complaints) > before {
		return p, false
	}
	switch {
	case p.What == "":
		lacks("does not say what it is about in words", "what: …")
	case between != (heavy > 0):
		lacks("must say from what mass on a vehicle is heavy", "not: between heavy vehicles, together with heavy: 50 t")
	case !p.NotFirst && !p.NotLast && !p.NotAway && !between && p.AtMost == 0 && !p.Speed.Set && len(p.Stands) == 0:
		lacks("has no consequence", "not, at most, speed or stands")
	}
	p.NotBetween = heavy
	return p, len(r.complaints) == before
}

func (r *Rules) setFit(f Fit) {
	if i := slices.IndexFunc(r.Fitness, func(x Fit) bool { return x.ID == f.ID }); i >= 0 {
		r.Fitness[i] = f
		return
	}
	r.Fitness = append(r.Fitness, f)
}

func (r *Rules) setPlacing(p Placing) {
	if i := slices.IndexFunc(r.Placing, func(x Placing) bool { return x.ID == p.ID }); i >= 0 {
		r.Placing[i] = p
		return
	}
	r.Placing = append(r.Placing, p)
}

// Fit finds a rule of fitness by its id.
func (r *Rules) Fit(id string) (Fit, bool) {
	for _, f := range r.Fitness {
		if f.ID == id {
			return f, true
		}
	}
	return Fit{}, false
}

// Measures are the words for what a rule of fitness measures, in the order of the rules.
func (r *Rules) Measures() []string {
	var out []string
	for _, f := range r.Fitness {
		if f.Measure != "" && !slices.Contains(out, f.Measure) {
			out = append(out, f.Measure)
		}
	}
	return out
}

// Against complains of rules that name a class which the fleet has not.
func (r *Rules) Against(f *fleet.Fleet) []reading.Complaint {
	var names []string
	for _, c := range f.Classes {
		names = append(names, c.Name)
	}
	var out []reading.Complaint
	for _, p := range r.Placing {
		for _, c := range p.Classes {
			if _, ok := f.Class(c); !ok {
				out = append(out, reading.Complaint{Code: CodeRuleClass, Pos: p.Pos, Message: fmt.Sprintf("rule %q is about class %q, which has no record", p.ID, c), Expected: "one of " + strings.Join(names, ", "), Nearest: reading.Nearest(c, names)})
			}
		}
	}
	return out
}
