package prepare

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// Standing is what an answer says of one duty.
type Standing string

// The standings.
const (
	May        Standing = "may"
	MayNot     Standing = "may not"
	CannotSay  Standing = "cannot say"
	NotApplies Standing = "does not apply"
)

// Measurement is one thing measured on a unit: what, where, and the value, or that it was
// looked for and is not known.
type Measurement struct {
	Device   string         `json:"device,omitempty"`   // id in the class
	Function string         `json:"function,omitempty"` // that of the device where one is named
	What     string         `json:"what"`               // a word of rule.Measures, when a rule is to judge it
	Value    quantity.Value `json:"value"`
	Known    bool           `json:"known"`
	Judged   string         `json:"judged,omitempty"` // Within or Outside, by the record's own limit; "": a rule judges
	Date     string         `json:"date,omitempty"`
}

// Reason is why a duty is barred, restricted, free or not to be said: the fault, the rule
// that speaks of it, and who may lift it.
type Reason struct {
	Kind string `json:"kind"` // bars, over, restricts, free, unknown, missing, record

	// The fault. Device and Function are "" where the unit as a whole is meant.
	Device   string `json:"device,omitempty"`
	Name     string `json:"name,omitempty"` // of the device, as on its plate
	Function string `json:"function,omitempty"`
	Fault    string `json:"fault,omitempty"`    // a word of fleet.DefectKinds, or "stands <position>", or "<measure>"
	Text     string `json:"text,omitempty"`     // as it was entered
	Since    string `json:"since,omitempty"`    // day it was found
	Reported string `json:"reported,omitempty"` // who found it

	// The measurement, where it is one.
	Value *quantity.Value `json:"value,omitempty"`
	Limit *rule.Limit     `json:"limit,omitempty"`

	// The rule.
	Rule     string           `json:"rule,omitempty"`
	What     string           `json:"what,omitempty"`
	Source   string           `json:"source,omitempty"`
	Weak     bool             `json:"weak,omitempty"` // the source is no law, standard or rule of the railway
	LiftedBy string           `json:"lifted_by,omitempty"`
	LastDay  string           `json:"last_day,omitempty"` // last day on which it may run so
	Effect   rule.Restriction `json:"effect"`

	Needs string `json:"needs,omitempty"` // what is missing, for unknown and missing
}

// Permission is the answer for one duty.
type Permission struct {
	Duty        rule.Duty        `json:"-"`
	Says        string           `json:"duty"`
	Standing    Standing         `json:"standing"`
	Restriction rule.Restriction `json:"restriction"` // every rule together, the stricter on every axis
	Reasons     []Reason         `json:"reasons,omitempty"`
}

// Answer is whether a unit is fit to run.
type Answer struct {
	Unit        string       `json:"unit"`
	Class       string       `json:"class"`
	Date        string       `json:"date"` // the day asked for
	Permissions []Permission `json:"permissions"`
	Open        int          `json:"open"`     // defects, cut-outs and measurements looked at
	CutOuts     []CutOut     `json:"cut_outs"` // devices that stand cut out, whose price a run can tell
}

// CutOut is a device of a unit that stands where it takes something out of use.
type CutOut struct {
	Device   string `json:"device"`
	Name     string `json:"name"`
	Position string `json:"position"`
	Normal   string `json:"normal"`
}

// For is the answer for a duty.
func (a *Answer) For(d rule.Duty) *Permission { return &a.Permissions[int(d)] }

// CutOutLimits is what rules give for the devices that stand cut out, in any duty.
func (a *Answer) CutOutLimits() rule.Restriction {
	var out rule.Restriction
	for _, p := range a.Permissions {
		for _, x := range p.Reasons {
			if slices.ContainsFunc(a.CutOuts, func(c CutOut) bool { return c.Device == x.Device }) {
				out = out.And(x.Effect)
			}
		}
	}
	return out
}

// Lead is the answer for leading by either end: may, when it may by one of them.
func (a *Answer) Lead() Standing {
	l := []Standing{a.For(rule.Lead1).Standing, a.For(rule.Lead2).Standing}
	for _, s := range []Standing{May, CannotSay, MayNot} {
		if slices.Contains(l, s) {
			return s
		}
	}
	return NotApplies
}

// fault is one open matter of a unit in one form: entered, left in a position, or measured.
type fault struct {
	dev      *fleet.Device // nil: none named
	function string
	kind     string
	position string
	text     string
	date, by string
	measure  *Measurement
}

// Fitness says what a unit may do on a day (2026-03-01; "" is not known) with the defects
// and cut-outs of its own record, those given beside them, and measurements, under rules.
// It runs no air; what a cut-out takes from the brake is asked of BrakePrice.
func Fitness(c *fleet.Class, u *fleet.Unit, more []fleet.Defect, ms []Measurement, r *rule.Rules, date string) *Answer {
	a := &Answer{Unit: fmt.Sprintf("%s %d", u.Class, u.Number), Class: c.Name, Date: date, CutOuts: []CutOut{}}
	faults := faultsOf(c, u, more, ms)
	a.Open = len(faults)
	today, dated := rule.Day(date)
	for _, d := range rule.Duties() {
		p := Permission{Duty: d, Says: d.String(), Standing: May}
		p.record(c, d)
		if p.Standing != NotApplies {
			for i := range faults {
				p.weigh(&faults[i], r, c, today, dated)
			}
			p.conclude()
		}
		a.Permissions = append(a.Permissions, p)
	}
	for i := range faults {
		if co, ok := cutOut(&faults[i], r); ok && !slices.ContainsFunc(a.CutOuts, func(x CutOut) bool { return x.Device == co.Device }) {
			a.CutOuts = append(a.CutOuts, co)
		}
	}
	return a
}

// faultsOf gathers what is open on a unit: entered defects first, then what its state of
// today says, then measurements.
func faultsOf(c *fleet.Class, u *fleet.Unit, more []fleet.Defect, ms []Measurement) []fault {
	var out []fault
	for _, d := range slices.Concat(u.Defects, more) {
		dev, _ := c.Device(d.Device)
		f := fault{dev: dev, function: d.Function, kind: d.Kind, position: d.Position, text: d.Text, date: d.Date, by: d.By}
		if dev != nil {
			f.function = dev.Function
		}
		out = append(out, f)
	}
	said := map[[2]string]bool{}
	for _, o := range u.State {
		key := [2]string{o.Device, o.Property}
		dev, ok := c.Device(o.Device)
		if !ok || said[key] {
			continue // the first word on a device is the unit's own, before that of its range
		}
		said[key] = true
		f := fault{dev: dev, function: dev.Function, text: o.Reason, date: o.Date}
		switch {
		case o.Property == "fitted" && o.Value != "yes":
			f.kind = o.Value
			if o.Value == "no" {
				f.kind = "missing"
			}
		case o.Property == "position" && o.Value != dev.Normal:
			f.position = o.Value
		default:
			continue
		}
		out = append(out, f)
	}
	for i := range ms {
		m := &ms[i]
		if m.Judged == Within {
			continue
		}
		dev, _ := c.Device(m.Device)
		f := fault{dev: dev, function: m.Function, date: m.Date, measure: m}
		if dev != nil {
			f.function = dev.Function
		}
		if m.Judged == Outside {
			f.kind = "outside limit"
		}
		out = append(out, f)
	}
	return out
}

// record is what the class record alone says of a duty.
func (p *Permission) record(c *fleet.Class, d rule.Duty) {
	for _, m := range c.Missing {
		if m.Needed == "fitness" {
			p.Reasons = append(p.Reasons, Reason{Kind: "missing", Needs: m.What})
		}
	}
	if d == rule.Move || c.Kind == "wagon" {
		if d == rule.Lead1 || d == rule.Lead2 || d == rule.Trail {
			p.Standing, p.Reasons = NotApplies, nil
		}
		return
	}
	if c.Kind != "locomotive" {
		p.Reasons = append(p.Reasons, Reason{Kind: "missing", Needs: "the kind of class " + c.Name + ", locomotive or wagon"})
		return
	}
	has := func(names ...string) bool {
		return slices.ContainsFunc(c.Roles, func(r *fleet.Role) bool { return slices.Contains(names, r.Name) })
	}
	need := func(role string) {
		p.Reasons = append(p.Reasons, Reason{Kind: "missing", Needs: fmt.Sprintf("the positions of the role %s in the record of class %s", role, c.Name)})
	}
	switch d {
	case rule.Lead1, rule.Lead2:
		if !has("lead", "alone") {
			need("lead")
		}
	case rule.Trail:
		if !c.Multiple && len(c.Roles) > 0 {
			p.Reasons = append(p.Reasons, Reason{Kind: "record", What: fmt.Sprintf("class %s is not worked in multiple: it has no control jumper", c.Name), Source: "record of class " + c.Name, LiftedBy: "nobody"})
		} else if !has("trail", "trail shut down") {
			need("trail")
		}
	case rule.Hauled:
		if !has("hauled dead", "hauled live") {
			need("hauled dead")
		}
	}
}

// end is the headstock that a device of one cab or end belongs to, 0 for the whole unit.
// A unit with a cab at each end drives from the one in front.
func end(c *fleet.Class, d *fleet.Device) int {
	switch {
	case d == nil:
		return 0
	case d.End != 0:
		return d.End
	case c.Cabs > 1:
		return d.Cab
	}
	return 0
}

// weigh adds what the rules say of one fault.
func (p *Permission) weigh(f *fault, r *rule.Rules, c *fleet.Class, today int, dated bool) {
	base := Reason{Function: f.function, Fault: f.kind, Text: f.text, Since: f.date, Reported: f.by}
	if f.dev != nil {
		base.Device, base.Name = f.dev.ID, f.dev.Name
	}
	if f.position != "" && f.kind == "" {
		base.Fault = "stands " + f.position
	}
	if f.measure != nil {
		base.Fault = f.measure.What
		if f.measure.Known {
			base.Value = &f.measure.Value
		}
	}
	known := false
	for i := range r.Fitness {
		q := &r.Fitness[i]
		if !q.About(f.function) {
			continue
		}
		x := base
		x.Rule, x.What, x.Source, x.LiftedBy, x.Weak = q.ID, q.What, q.Cite(), q.LiftedBy, q.Weak
		switch {
		case f.measure != nil && f.measure.Judged == "":
			if q.Measure != f.measure.What {
				continue
			}
			known = true
			l := q.Limit
			x.Limit = &l
			switch {
			case !f.measure.Known:
				x.Kind, x.Needs = "missing", "the measured value"
				p.Reasons = append(p.Reasons, x)
				continue
			case f.measure.Value.Kind != l.Kind:
				x.Kind, x.Needs = "missing", fmt.Sprintf("the measured value as a %s", l.Kind)
				p.Reasons = append(p.Reasons, x)
				continue
			case !q.Broken(f.measure.Value.SI):
				x.Kind = "free"
				p.Reasons = append(p.Reasons, x)
				continue
			}
		case !matches(q, f):
			continue
		}
		known = true
		p.apply(x, q, f, c, today, dated)
	}
	if !known {
		x := base
		x.Kind = "unknown"
		switch {
		case f.function == "":
			x.Needs = "the device or function that the defect concerns"
		case f.measure != nil && f.measure.Judged == "":
			x.Needs = fmt.Sprintf("a rule for the measurement %q of %q", f.measure.What, plain(f.function))
		case f.kind == "" && f.position == "":
			x.Needs = "the kind of defect, and a rule for it"
		default:
			x.Needs = fmt.Sprintf("a rule for %q, %s", plain(f.function), x.Fault)
		}
		p.Reasons = append(p.Reasons, x)
	}
}

func plain(word string) string { return strings.ReplaceAll(word, "-", " ") }

// matches says whether a rule speaks of a fault that was entered or found standing so.
func matches(q *rule.Fit, f *fault) bool {
	if f.kind != "" && slices.Contains(q.Kinds, f.kind) {
		return true
	}
	return f.position != "" && standsIn(q, f.dev, f.position)
}

// standsIn says whether a rule means a position: by its name, or any that is not the
// device's normal one.
func standsIn(q *rule.Fit, d *fleet.Device, position string) bool {
	return slices.Contains(q.Stands, position) || slices.Contains(q.Stands, "not normal") && d != nil && position != d.Normal
}

// apply files the effect of a rule that speaks of a fault.
func (p *Permission) apply(x Reason, q *rule.Fit, f *fault, c *fleet.Class, today int, dated bool) {
	at := end(c, f.dev)
	found, hasDay := rule.Day(f.date)
	x.Effect = q.Effect(p.Duty, at, found)
	concerned := slices.Contains(q.As, p.Duty) && !(q.PerEnd && at != 0 && (p.Duty == rule.Lead1 && at != 1 || p.Duty == rule.Lead2 && at != 2))
	switch {
	case x.Effect.Bars(p.Duty):
		x.Kind = "bars"
	case concerned && len(local(q, p.Duty)) > 0:
		what := local(q, p.Duty)
		x.Kind = "missing"
		x.Needs = fmt.Sprintf("the railway's own %s for rule %s", strings.Join(what, " and "), q.ID)
	case concerned && q.Within > 0 && !hasDay:
		x.Kind, x.Needs = "missing", "the day on which it was found, from which the term runs"
	case concerned && q.Within > 0 && !dated:
		x.Kind, x.Needs = "missing", "the day for which it is asked"
	case x.Effect.LastDay.Set && float64(today) > x.Effect.LastDay.Value:
		x.Kind = "over"
	case !x.Effect.None():
		x.Kind = "restricts"
	default:
		x.Kind = "free"
	}
	if x.Effect.LastDay.Set {
		x.LastDay = rule.Date(int(x.Effect.LastDay.Value))
	}
	p.Reasons = append(p.Reasons, x)
}

// local are the figures that a rule leaves to the railway and that matter in a duty: what
// is hauled hauls nothing.
func local(q *rule.Fit, d rule.Duty) []string {
	var out []string
	for _, w := range q.Local {
		if w == "load" && d == rule.Hauled {
			continue
		}
		out = append(out, w+" limit")
	}
	return out
}

// conclude sets the standing: barred by one is barred; else one that cannot be said is
// enough for "cannot say".
func (p *Permission) conclude() {
	for _, x := range p.Reasons {
		p.Restriction = p.Restriction.And(x.Effect)
		switch x.Kind {
		case "bars", "over", "record":
			p.Standing = MayNot
		case "unknown", "missing":
			if p.Standing != MayNot {
				p.Standing = CannotSay
			}
		}
	}
}

// cutOut is the position in which a fault has left a device: as entered, else the first
// in which a rule about such a fault would find it.
func cutOut(f *fault, r *rule.Rules) (CutOut, bool) {
	if f.dev == nil || f.position == "" && f.kind != "isolated" {
		return CutOut{}, false
	}
	co := CutOut{Device: f.dev.ID, Name: f.dev.Name, Position: f.position, Normal: f.dev.Normal}
	if f.position != "" {
		return co, f.position != f.dev.Normal
	}
	for i := range r.Fitness {
		q := &r.Fitness[i]
		if !q.About(f.function) {
			continue
		}
		for _, p := range f.dev.Positions {
			if slices.Contains(q.Stands, p.ID) && p.ID != f.dev.Normal {
				co.Position = p.ID
				return co, true
			}
		}
	}
	return co, false
}

// ParseDefect reads a defect as it is typed: "device=kind", where the device is an id or a
// function of the class and the kind a word of fleet.DefectKinds or a position of the
// device. An error says what was expected and the nearest.
func ParseDefect(c *fleet.Class, text, date string) (fleet.Defect, error) {
	left, right, ok := strings.Cut(text, "=")
	left, right = strings.TrimSpace(left), strings.TrimSpace(right)
	if !ok || left == "" || right == "" {
		return fleet.Defect{}, fmt.Errorf("defect %q; expected device=kind", text)
	}
	d := fleet.Defect{Date: date}
	dev, err := deviceOrFunction(c, left, &d.Device, &d.Function)
	if err != nil {
		return d, err
	}
	var words []string
	for _, k := range fleet.DefectKinds() {
		words = append(words, k.Word)
	}
	switch {
	case slices.Contains(words, right):
		d.Kind = right
	case dev != nil && slices.ContainsFunc(dev.Positions, func(p fleet.Position) bool { return p.ID == right }):
		d.Position = right
	default:
		if dev != nil {
			for _, p := range dev.Positions {
				words = append(words, p.ID)
			}
		}
		return d, fmt.Errorf("no kind of defect %q; expected one of %s%s", right, strings.Join(words, ", "), reading.Hint(right, words))
	}
	return d, nil
}

// ParseMeasurement reads a measurement as it is typed: "device:what=value"; the value "?"
// is one that is not known. The device is an id or a function of the class.
func ParseMeasurement(c *fleet.Class, r *rule.Rules, text, date string) (Measurement, error) {
	m := Measurement{Date: date}
	left, right, ok := strings.Cut(text, "=")
	who, what, ok2 := strings.Cut(left, ":")
	if !ok || !ok2 {
		return m, fmt.Errorf("measurement %q; expected device:what=value", text)
	}
	if _, err := deviceOrFunction(c, strings.TrimSpace(who), &m.Device, &m.Function); err != nil {
		return m, err
	}
	if m.What = strings.TrimSpace(what); !slices.Contains(r.Measures(), m.What) {
		return m, fmt.Errorf("no rule measures %q; expected one of %s%s", m.What, strings.Join(r.Measures(), ", "), reading.Hint(m.What, r.Measures()))
	}
	if right = strings.TrimSpace(right); right == "?" {
		return m, nil
	}
	v, err := quantity.Parse(right)
	if err != nil {
		return m, fmt.Errorf("measurement %q: %w", text, err)
	}
	m.Value, m.Known = v, true
	return m, nil
}

func deviceOrFunction(c *fleet.Class, name string, device, function *string) (*fleet.Device, error) {
	if d, ok := c.Device(name); ok {
		*device, *function = d.ID, d.Function
		return d, nil
	}
	if _, ok := fleet.LookupFunction(name); ok {
		*function = name
		if ds := c.DevicesOf(name); len(ds) == 1 {
			*device = ds[0].ID
			return ds[0], nil
		}
		return nil, nil
	}
	var names []string
	for _, d := range c.Devices {
		names = append(names, d.ID)
	}
	for _, f := range fleet.Functions() {
		names = append(names, f.Word)
	}
	return nil, fmt.Errorf("class %s has no device %q, and it is no function%s", c.Name, name, reading.Hint(name, names))
}

// Price is what cut-outs take from the brake, told by two runs of the same procedure: with
// every device at its normal position, and with the cut-outs. Forces are the thrust of the
// pistons in N, before levers.
type Price struct {
	Unit      string      `json:"unit"`
	Consist   string      `json:"consist"`
	CutOuts   []CutOut    `json:"cut_outs"`
	Run       string      `json:"run"`
	Step      string      `json:"step"`
	OfUnit    Share       `json:"of_unit"`
	OfTrain   Share       `json:"of_train"`
	Lost      []LostGroup `json:"lost,omitempty"` // groups of cylinders that no longer apply
	Seconds   float64     `json:"seconds"`        // of simulated time, both runs
	AirModel  string      `json:"air_model"`      // of the runs
	CannotSay string      `json:"cannot_say,omitempty"`
}

// Share is how many cylinders apply, and with what force, without and with the cut-outs.
type Share struct {
	Without      int     `json:"without"`
	With         int     `json:"with"`
	ForceWithout float64 `json:"force_without"`
	ForceWith    float64 `json:"force_with"`
}

// Cylinders is the share of applying cylinders lost, 0 to 1.
func (s Share) Cylinders() float64 {
	if s.Without == 0 {
		return 0
	}
	return 1 - float64(s.With)/float64(s.Without)
}

// Force is the share of the thrust lost, 0 to 1.
func (s Share) Force() float64 {
	if s.ForceWithout <= 0 {
		return 0
	}
	return max(0, 1-s.ForceWith/s.ForceWithout)
}

// LostGroup is a group of equal cylinders that applied and no longer does.
type LostGroup struct {
	Vehicle string  `json:"vehicle"`
	Element string  `json:"element"`
	Count   int     `json:"count"`
	Without float64 `json:"without"` // gauge, Pa
	With    float64 `json:"with"`    // gauge, Pa
}

// BrakePrice runs a consist through a procedure with the cut-outs of one of its vehicles
// and without them, and counts at a step the cylinders that no longer apply. It answers
// "cannot say" where the record has no cylinders to run.
func BrakePrice(c *consist.Consist, vehicle int, cuts []CutOut, p trial.Procedure, step string, cond trial.Conditions) (*Price, error) {
	v := c.Vehicles[vehicle]
	out := &Price{Unit: v.Name(), Consist: c.String(), CutOuts: cuts, Run: p.Name, Step: step, AirModel: trial.AirModel(cond)}
	last := slices.IndexFunc(p.Steps, func(s trial.Step) bool { return s.ID == step })
	if last < 0 {
		return nil, fmt.Errorf("%s has no step %q", p.Name, step)
	}
	p.Steps = p.Steps[:last+1]
	if !slices.ContainsFunc(v.Class.Air, func(e *fleet.Element) bool { return e.Kind == "cylinder" }) {
		out.CannotSay = "the brake cylinders of class " + v.Class.Name
		return out, nil
	}
	var without, with []consist.Change
	for _, x := range cuts {
		without = append(without, consist.Change{Vehicle: vehicle, Device: x.Device, Position: x.Normal})
		with = append(with, consist.Change{Vehicle: vehicle, Device: x.Device, Position: x.Position})
	}
	var res [2]*trial.Result
	b, err := trial.NewBench(c, cond)
	if err != nil {
		return nil, err
	}
	for i, ch := range [][]consist.Change{without, with} {
		k, err := c.With(ch...)
		if err != nil {
			return nil, err
		}
		if res[i], err = b.Run(k, p, nil); err != nil {
			return nil, err
		}
		out.Seconds += res[i].Seconds
	}
	for i, w := range c.Vehicles {
		for _, e := range w.Class.Air {
			cy, ok := res[0].Plant.Cylinders[i][e.ID]
			if !ok {
				continue
			}
			g0, _ := res[0].Gauge(step, i, e.ID)
			g1, _ := res[1].Gauge(step, i, e.ID)
			var s Share
			if cy.Applied(g0) {
				s.Without, s.ForceWithout = cy.Count, float64(cy.Count)*cy.Force(g0)
			}
			if cy.Applied(g1) {
				s.With, s.ForceWith = cy.Count, float64(cy.Count)*cy.Force(g1)
			}
			out.OfTrain.add(s)
			if i == vehicle {
				out.OfUnit.add(s)
			}
			if s.With < s.Without {
				out.Lost = append(out.Lost, LostGroup{w.Name(), e.ID, cy.Count, g0, g1})
			}
		}
	}
	if out.OfTrain.Without == 0 {
		out.CannotSay = "a set-up in which the brake applies at all: without the cut-outs no cylinder does"
	}
	return out, nil
}

func (s *Share) add(o Share) {
	s.Without += o.Without
	s.With += o.With
	s.ForceWithout += o.ForceWithout
	s.ForceWith += o.ForceWith
}
