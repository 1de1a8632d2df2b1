package card

import (
	"fmt"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/line"
	"headstock/prepare"
	"headstock/quantity"
	"headstock/rule"
)

// Fitness words whether a unit is fit to run: what it may do and with what limits, every
// open matter with the rule that speaks of it, and the price of what is cut out.
func Fitness(f *fleet.Fleet, c *fleet.Class, a *prepare.Answer, price *prepare.Price, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Fit to run: " + a.Unit, Subtitle: f.Railway, Verdict: fitVerdict(a)}
	if c.Revision.State != "issued" {
		d.Banner = "DRAFT – NOT FOR USE"
	}
	t := Table{Caption: "What it may do, on " + orUnknown(a.Date), Columns: []Column{{Title: "duty"}, {Title: "answer"}, {Title: "with what limits, and the rule that gives each"}}}
	for _, row := range duties(a) {
		limits := restrictionWords(row.p.Restriction, u)
		switch {
		case row.p.Standing == prepare.MayNot || row.p.Standing == prepare.NotApplies:
			limits = nil
		case len(limits) == 0 && row.p.Standing == prepare.May:
			limits = []string{"none"}
		}
		if row.p.Standing == prepare.CannotSay && len(limits) > 0 {
			limits[0] = "at least: " + limits[0]
		}
		if len(limits) == 0 {
			limits = []string{""}
		}
		for k, l := range limits {
			if k == 0 {
				t.Rows = append(t.Rows, []Cell{Text(row.name), Marked(standingMark(row.p), standingWords(row.p)), Text(l)})
			} else {
				t.Rows = append(t.Rows, []Cell{Text(""), Text(""), Text(l)})
			}
		}
	}
	d.Table(t)
	matters(d, a, u)
	priceOf(d, a, price, u)
	d.Footer = append(d.Footer, recordFooter(c), "Rules: "+r.Title+". Local rules come first.",
		"Limits are rounded down. A term in days counts the day on which the defect was found as its first. A fault that no rule names is never taken for harmless.")
	return d
}

func orUnknown(date string) string {
	if date == "" {
		return "a day not given"
	}
	return date
}

func recordFooter(c *fleet.Class) string {
	return fmt.Sprintf("Record %s: %s %s, source %s, hash %.12s.", c.Name, c.Revision.State, c.Revision.Date, c.Source, c.Hash)
}

type dutyRow struct {
	name string
	p    *prepare.Permission
}

// duties are the rows of an answer; leading by either end is one row where both answers
// are the same.
func duties(a *prepare.Answer) []dutyRow {
	one, two := a.For(rule.Lead1), a.For(rule.Lead2)
	var out []dutyRow
	if one.Standing == two.Standing && (one.Standing == prepare.MayNot || sameLimits(one.Restriction, two.Restriction)) {
		out = append(out, dutyRow{"lead", one})
	} else {
		out = append(out, dutyRow{one.Says, one}, dutyRow{two.Says, two})
	}
	for _, d := range []rule.Duty{rule.Trail, rule.Hauled, rule.Move} {
		name := map[rule.Duty]string{rule.Trail: "trail", rule.Hauled: "be hauled", rule.Move: "be moved at all"}[d]
		out = append(out, dutyRow{name, a.For(d)})
	}
	return slices.DeleteFunc(out, func(r dutyRow) bool { return r.p.Standing == prepare.NotApplies })
}

func sameLimits(a, b rule.Restriction) bool {
	a.Barred, b.Barred = [5][]string{}, [5][]string{}
	return fmt.Sprint(a) == fmt.Sprint(b)
}

func standingWords(p *prepare.Permission) string {
	switch {
	case p.Duty == rule.Move && p.Standing == prepare.MayNot:
		return "must not move"
	case p.Standing == prepare.May && !p.Restriction.None() && len(restrictionWords(p.Restriction, quantity.Metric())) > 0:
		return "may, with limits"
	}
	return string(p.Standing)
}

func standingMark(p *prepare.Permission) Mark {
	switch p.Standing {
	case prepare.MayNot:
		return Bad
	case prepare.CannotSay:
		return Unknown
	case prepare.NotApplies:
		return Quiet
	}
	if standingWords(p) == "may" {
		return Good
	}
	return Warn
}

func fitVerdict(a *prepare.Answer) *Verdict {
	v := &Verdict{}
	if a.For(rule.Move).Standing == prepare.MayNot {
		v.Mark, v.Text = Bad, a.Unit+" must not move."
	} else {
		var parts []string
		lead := a.Lead()
		say := func(s prepare.Standing, verb string) {
			switch s {
			case prepare.NotApplies:
			case prepare.CannotSay:
				parts = append(parts, "cannot say whether it may "+verb)
			default:
				parts = append(parts, string(s)+" "+verb)
			}
		}
		one, two := a.For(rule.Lead1).Standing, a.For(rule.Lead2).Standing
		if one != two {
			say(one, "lead with headstock 1 in front")
			say(two, "lead with headstock 2 in front")
		} else {
			say(lead, "lead")
		}
		say(a.For(rule.Trail).Standing, "trail")
		say(a.For(rule.Hauled).Standing, "be hauled")
		v.Text = "By the record and the rules " + a.Unit + " " + strings.Join(parts, "; ") + "."
		if len(parts) == 1 && strings.HasPrefix(parts[0], "cannot") || len(parts) > 1 && strings.HasPrefix(parts[0], "cannot") {
			v.Text = a.Unit + ": " + strings.Join(parts, "; ") + "."
		}
		v.Mark = Good
		for _, p := range a.Permissions {
			m := standingMark(&p)
			switch {
			case p.Duty == rule.Move || m == Quiet || m == Good:
			case m == Bad:
				v.Mark = Bad
			case m == Unknown && v.Mark != Bad:
				v.Mark = Unknown
			case m == Warn && v.Mark == Good:
				v.Mark = Warn
			}
		}
	}
	seen := map[string]bool{}
	for _, p := range a.Permissions {
		for _, x := range p.Reasons {
			s := decides(x)
			if s == "" || seen[s] {
				continue
			}
			seen[s] = true
			v.Reasons = append(v.Reasons, s)
		}
	}
	const most = 6
	if len(v.Reasons) > most {
		v.Reasons = append(v.Reasons[:most], fmt.Sprintf("… and %d more below", len(v.Reasons)-most))
	}
	return v
}

// decides is a reason in one line where it bars or leaves something unsaid.
func decides(x prepare.Reason) string {
	what := matter(x)
	switch x.Kind {
	case "bars":
		return fmt.Sprintf("%s: %s (rule %s)", what, x.What, x.Rule)
	case "over":
		return fmt.Sprintf("%s: its term was over on %s (rule %s)", what, x.LastDay, x.Rule)
	case "record":
		return x.What
	case "unknown", "missing":
		if what == "" {
			return "cannot say: needs " + x.Needs
		}
		return what + ": cannot say, needs " + x.Needs
	}
	return ""
}

// matter names a fault: device, what is wrong.
func matter(x prepare.Reason) string {
	name := x.Name
	if name == "" {
		name = strings.ReplaceAll(x.Function, "-", " ")
	}
	switch {
	case name == "" && x.Fault == "":
		if x.Text == "" {
			return ""
		}
		return "“" + x.Text + "”"
	case name == "":
		return x.Fault
	case x.Fault == "":
		return name + ", “" + x.Text + "”"
	}
	return name + ", " + x.Fault
}

// restrictionWords words every axis that is limited, each with the rules that give it.
func restrictionWords(r rule.Restriction, u quantity.Units) []string {
	var out []string
	by := func(ids []string) string { return " [" + strings.Join(ids, ", ") + "]" }
	if r.Speed.Set {
		out = append(out, "at most "+u.SpeedRounded(quantity.MetresPerSecond(r.Speed.Value), quantity.Down)+by(r.Speed.By))
	}
	if r.LoadShare.Set {
		out = append(out, "at most "+quantity.Share(r.LoadShare.Value, quantity.Down)+" of its load"+by(r.LoadShare.By))
	}
	if r.LoadMass.Set {
		out = append(out, "at most "+u.MassRounded(quantity.Kilograms(r.LoadMass.Value), quantity.Down)+" behind it"+by(r.LoadMass.By))
	}
	if r.Distance.Set {
		out = append(out, "at most "+u.DistanceRounded(quantity.Metres(r.Distance.Value), quantity.Down)+by(r.Distance.By))
	}
	if r.LastDay.Set {
		out = append(out, "to the end of "+rule.Date(int(r.LastDay.Value))+" at the latest"+by(r.LastDay.By))
	}
	for _, c := range r.Until {
		out = append(out, "only to "+c.Text+by(c.By))
	}
	for _, c := range r.Conditions {
		out = append(out, c.Text+by(c.By))
	}
	return out
}

// matters lists every open matter once for each rule that speaks of it.
func matters(d *Document, a *prepare.Answer, u quantity.Units) {
	if a.Open == 0 {
		d.Paragraph(None, "No open defect, cut-out or measurement outside its limit is known of this unit. That is what the record holds; the walk round it is still to be done.")
		return
	}
	d.Heading(1, "Open defects, cut-outs and measurements")
	type key struct{ device, fault, text, rule string }
	type entry struct {
		x      prepare.Reason
		bars   []string
		unsaid []string
		limits []string
		in     map[string][]rule.Duty // limit: the duties in which it holds
	}
	var order []key
	all := map[key]*entry{}
	for _, p := range a.Permissions {
		for _, x := range p.Reasons {
			if x.Kind == "record" || x.Function == "" && x.Fault == "" && x.Text == "" {
				continue
			}
			k := key{x.Device + x.Function, x.Fault, x.Text, x.Rule}
			e := all[k]
			if e == nil {
				e = &entry{x: x, in: map[string][]rule.Duty{}}
				all[k] = e
				order = append(order, k)
			}
			switch x.Kind {
			case "bars", "over":
				e.bars = append(e.bars, barWords(p.Duty))
			case "unknown", "missing":
				e.unsaid = append(e.unsaid, "cannot say: needs "+x.Needs)
			}
			for _, w := range restrictionWords(x.Effect, u) {
				w, _, _ = strings.Cut(w, " [")
				if e.in[w] == nil {
					e.limits = append(e.limits, w)
				}
				e.in[w] = append(e.in[w], p.Duty)
			}
		}
	}
	for i, k := range order {
		e := all[k]
		x := e.x
		var facts []Fact
		again := i > 0 && order[i-1].device == k.device && order[i-1].fault == k.fault && order[i-1].text == k.text
		if again { // another rule that speaks of the same
			x.Since = ""
		} else {
			d.Heading(2, heading(matter(x)))
		}
		if !again && x.Text != "" && !strings.Contains(matter(x), x.Text) {
			facts = append(facts, Fact{Name: "entered as", Text: x.Text})
		}
		if x.Since != "" {
			s := x.Since
			if x.Reported != "" {
				s += ", reported by " + x.Reported
			}
			facts = append(facts, Fact{Name: "found", Text: s})
		}
		if x.Value != nil {
			s := u.Value(*x.Value)
			if x.Limit != nil {
				s += "; " + limitWords(*x.Limit, u)
			}
			facts = append(facts, Fact{Name: "measured", Text: s})
		}
		said := slices.Clone(e.unsaid)
		for _, w := range e.limits {
			said = append(said, w+dutyWords(e.in[w], e.bars))
		}
		mark, words := Warn, consequence(e.bars, said)
		switch {
		case len(e.bars) > 0:
			mark = Bad
		case len(e.unsaid) > 0:
			mark = Unknown
		case words == "":
			mark, words = Good, "no restriction"
		}
		facts = append(facts, Fact{Name: "follows", Text: words, Mark: mark})
		if x.Rule != "" {
			facts = append(facts, Fact{Name: "rule", Text: fmt.Sprintf("%s: %s. %s.", x.Rule, x.What, x.Source), Mark: weakMark(x.Weak)})
		}
		if x.LiftedBy != "" {
			facts = append(facts, Fact{Name: "lifted by", Text: x.LiftedBy})
		}
		d.Facts(facts...)
	}
}

// dutyWords says in which duties a limit holds, where it is not in all that are open.
func dutyWords(ds []rule.Duty, bars []string) string {
	open := func(d rule.Duty) bool { return d != rule.Move && !slices.Contains(bars, barWords(d)) }
	var names []string
	all := true
	for _, d := range rule.Duties() {
		if !open(d) {
			continue
		}
		if !slices.Contains(ds, d) {
			all = false
			continue
		}
		name := map[rule.Duty]string{rule.Lead1: "leading with headstock 1 in front", rule.Lead2: "leading with headstock 2 in front", rule.Trail: "trailing", rule.Hauled: "hauled"}[d]
		names = append(names, name)
	}
	if all || len(names) == 0 {
		return ""
	}
	if len(names) >= 2 && strings.HasPrefix(names[0], "leading") && strings.HasPrefix(names[1], "leading") {
		names = append([]string{"leading"}, names[2:]...)
	}
	return " when " + strings.Join(names, " or ")
}

func weakMark(weak bool) Mark {
	if weak {
		return Quiet
	}
	return None
}

func heading(s string) string {
	if s == "" {
		return "Unnamed"
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

func barWords(d rule.Duty) string {
	if d == rule.Move {
		return "must not move"
	}
	return "may not " + d.String()
}

// consequence joins what a rule bars and what it limits, each said once.
func consequence(bars, limits []string) string {
	if slices.Contains(bars, "must not move") {
		bars = []string{"must not move"}
	}
	one, two := barWords(rule.Lead1), barWords(rule.Lead2)
	if slices.Contains(bars, one) && slices.Contains(bars, two) {
		bars = slices.DeleteFunc(slices.Clone(bars), func(s string) bool { return s == two })
		bars[slices.Index(bars, one)] = "may not lead"
	}
	var out []string
	for _, s := range slices.Concat(bars, limits) {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return strings.Join(out, "; ")
}

func limitWords(l rule.Limit, u quantity.Units) string {
	var parts []string
	if l.HasLow {
		parts = append(parts, "at least "+u.SI(l.Kind, l.Low))
	}
	if l.HasHigh {
		parts = append(parts, "at most "+u.SI(l.Kind, l.High))
	}
	return "the rule: " + strings.Join(parts, ", ")
}

// priceOf words what cut-outs take from brake, load and speed.
func priceOf(d *Document, a *prepare.Answer, p *prepare.Price, u quantity.Units) {
	if len(a.CutOuts) == 0 {
		return
	}
	d.Heading(1, "What stands cut out, and its price")
	var items []Item
	for _, c := range a.CutOuts {
		items = append(items, Item{Text: fmt.Sprintf("%s stands %s; normal: %s.", c.Name, c.Position, c.Normal)})
	}
	d.Bullets(items...)
	var facts []Fact
	switch {
	case p == nil:
		facts = append(facts, Fact{Name: "brake", Text: "not asked for; --price runs the brake test with and without the cut-out", Mark: Quiet})
	case p.CannotSay != "":
		facts = append(facts, Fact{Name: "brake", Text: "cannot say: needs " + p.CannotSay, Mark: Unknown})
	default:
		facts = append(facts, shareFact("brake of the unit", p.OfUnit))
		if p.OfTrain.Without != p.OfUnit.Without {
			facts = append(facts, shareFact("brake of the train", p.OfTrain))
		}
	}
	all := a.CutOutLimits()
	load := "cannot say: no rule gives one, and it is not computed until haulage is"
	mark := Unknown
	if all.LoadShare.Set || all.LoadMass.Set {
		load, mark = strings.Join(restrictionWords(rule.Restriction{LoadShare: all.LoadShare, LoadMass: all.LoadMass}, u), "; "), Warn
	}
	facts = append(facts, Fact{Name: "load", Text: load, Mark: mark})
	speed, mark := "cannot say: no rule gives one, and it is not computed until haulage is", Unknown
	if all.Speed.Set {
		speed, mark = strings.Join(restrictionWords(rule.Restriction{Speed: all.Speed}, u), "; "), Warn
	}
	facts = append(facts, Fact{Name: "speed", Text: speed, Mark: mark})
	d.Facts(facts...)
	if p != nil && p.CannotSay == "" {
		t := Table{Caption: "Cylinders that no longer apply, at the step " + p.Step, Columns: []Column{{Title: "unit"}, {Title: "cylinders"}, {Title: "how many", Align: Right}, {Title: "before", Align: Right}, {Title: "cut out", Align: Right}}}
		for _, l := range p.Lost {
			t.Rows = append(t.Rows, []Cell{Text(l.Vehicle), Text(part(l.Element)), Text(fmt.Sprint(l.Count)), Text(u.Gauge(quantity.Gauge(l.Without))), Text(u.Gauge(quantity.Gauge(max(0, l.With))))})
		}
		if len(t.Rows) > 0 {
			d.Table(t)
		}
		d.Footer = append(d.Footer, fmt.Sprintf("Brake price: %s, run twice through the %s to the step %s; thrust is that of the pistons, before levers; air model %s.", p.Consist, p.Run, p.Step, p.AirModel))
	}
}

func shareFact(name string, s prepare.Share) Fact {
	if s.Without == 0 {
		return Fact{Name: name, Text: "cannot say: no cylinder applies without the cut-out either", Mark: Unknown}
	}
	mark := Warn
	if s.With == s.Without {
		mark = None
	}
	return Fact{Name: name, Mark: mark, Text: fmt.Sprintf("%d of %d cylinders no longer apply: %s lost (by thrust %s)", s.Without-s.With, s.Without,
		quantity.Share(s.Cylinders(), quantity.Up), quantity.Share(s.Force(), quantity.Up))}
}

// Route words whether a consist fits a route.
func Route(railway string, a *prepare.RouteAnswer, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Route fit: " + a.Consist, Subtitle: railway, Verdict: routeVerdict(a, u)}
	routeTables(d, a, u)
	d.Footer = append(d.Footer, "Rules: "+r.Title+". Local rules come first.", routeFooter(a))
	return d
}

// AddRoute puts the route fit behind what a card says already.
func AddRoute(d *Document, a *prepare.RouteAnswer, u quantity.Units) {
	v := routeVerdict(a, u)
	d.Heading(1, fmt.Sprintf("Route fit: %s to %s", a.From, a.To))
	d.Paragraph(v.Mark, v.Text)
	var items []Item
	for _, s := range v.Reasons {
		items = append(items, Item{Text: s, Mark: v.Mark})
	}
	d.Bullets(items...)
	routeTables(d, a, u)
	d.Footer = append(d.Footer, routeFooter(a))
}

func routeFooter(a *prepare.RouteAnswer) string {
	return fmt.Sprintf("Line %s, hash %.12s. Axle loads are the mass shared evenly among the axles unless the record states them. Couplers are reckoned on a curve of constant radius; a reverse curve asks more.", a.Line, a.LineHash)
}

func routeVerdict(a *prepare.RouteAnswer, u quantity.Units) *Verdict {
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("By the records this consist fits the line from %s to %s.", a.From, a.To)}
	switch a.Fit {
	case prepare.DoesNot:
		v.Mark, v.Text = Bad, fmt.Sprintf("By the records this consist does not fit the line from %s to %s.", a.From, a.To)
	case prepare.FitUnsaid:
		v.Mark, v.Text = Unknown, fmt.Sprintf("The records cannot say whether this consist fits the line from %s to %s.", a.From, a.To)
	}
	seen := map[string]bool{}
	for _, k := range a.Checks {
		if k.Fit != a.Fit || k.Fit == prepare.Fits {
			continue
		}
		s := routeSentence(k, u)
		if !seen[s] {
			seen[s] = true
			v.Reasons = append(v.Reasons, s)
		}
	}
	const most = 6
	if len(v.Reasons) > most {
		v.Reasons = append(v.Reasons[:most], fmt.Sprintf("… and %d more below", len(v.Reasons)-most))
	}
	if a.Speed.Set {
		v.Reasons = append(v.Reasons, fmt.Sprintf("at most %s for the train [%s]", u.SpeedRounded(quantity.MetresPerSecond(a.Speed.Value), quantity.Down), strings.Join(a.Speed.By, ", ")))
		if v.Mark == Good {
			v.Mark = Warn
		}
	}
	return v
}

func routeSentence(k prepare.RouteCheck, u quantity.Units) string {
	who := k.Vehicle
	if k.Other != "" {
		who += " at " + k.Other
	}
	switch {
	case k.Needs != "":
		return fmt.Sprintf("%s, %s: cannot say, needs %s", who, k.Kind, k.Needs)
	case k.Kind == "placing":
		return fmt.Sprintf("%s: %s; %s (rule %s)", who, k.What, k.Broken, k.Rule)
	case k.Broken != "":
		return fmt.Sprintf("%s, %s: %s", who, k.Kind, k.Broken)
	}
	value, limit := checkFigures(k, u)
	return fmt.Sprintf("%s, %s: %s against %s (%s)", who, k.Kind, value, limit, k.Where)
}

// checkFigures words the figure of a check and its limit, rounded toward safety.
func checkFigures(k prepare.RouteCheck, u quantity.Units) (value, limit string) {
	switch k.Measure {
	case quantity.Mass:
		return u.MassRounded(quantity.Kilograms(k.Value), quantity.Up) + " on an axle", "at most " + u.MassRounded(quantity.Kilograms(k.Limit), quantity.Down)
	case quantity.Angle:
		return u.AngleRounded(quantity.Radians(k.Value), quantity.Up), "at most " + u.AngleRounded(quantity.Radians(k.Limit), quantity.Down)
	case quantity.Speed:
		return "", "at most " + u.SpeedRounded(quantity.MetresPerSecond(k.Limit), quantity.Down)
	case quantity.Length:
		if k.Kind == "curve" {
			return "needs " + u.Length(quantity.Metres(k.Value)), "sharpest " + u.Length(quantity.Metres(k.Limit))
		}
		return u.Length(quantity.Metres(k.Value)) + " apart", "at most " + u.Length(quantity.Metres(k.Limit))
	}
	return "", ""
}

func routeTables(d *Document, a *prepare.RouteAnswer, u quantity.Units) {
	t := Table{Caption: fmt.Sprintf("The way, %s", u.Distance(quantity.Metres(a.Distance))), Columns: []Column{{Title: "section"}, {Title: "axle load", Align: Right}, {Title: "sharpest curve", Align: Right}, {Title: "speed", Align: Right}}}
	for _, s := range a.Sections {
		t.Rows = append(t.Rows, sectionRow(s, u))
	}
	d.Table(t)
	t = Table{Caption: "Each vehicle and joint", Columns: []Column{{Title: "what"}, {Title: "vehicle"}, {Title: "figure"}, {Title: "limit"}, {Title: "answer"}}}
	for _, kind := range []string{"record", "axle load", "curve", "coupler height", "coupler swing"} {
		var ks []prepare.RouteCheck
		for _, k := range a.Checks {
			if k.Kind == kind {
				ks = append(ks, k)
			}
		}
		title := kind
		for i := 0; i < len(ks); i++ {
			k := ks[i]
			n := i
			for n+1 < len(ks) && alike(k, ks[n+1], u) {
				n++
			}
			who := k.Vehicle
			if k.Other != "" {
				who += " at " + k.Other
			}
			if n > i {
				who += fmt.Sprintf(" … %s (%d)", ks[n].Vehicle, n-i+1)
			}
			value, limit := checkFigures(k, u)
			if k.Needs != "" || k.Broken != "" {
				value = ""
			}
			t.Rows = append(t.Rows, []Cell{Text(title), Text(who), Text(value), Text(limit), fitCell(k)})
			title = ""
			i = n
		}
	}
	d.Table(t)
	t = Table{Caption: "Rules of placing that speak of this train", Columns: []Column{{Title: "vehicle"}, {Title: "rule"}, {Title: "answer"}, {Title: "source"}}}
	for _, k := range a.Checks {
		if k.Kind == "placing" {
			t.Rows = append(t.Rows, []Cell{Text(k.Vehicle), Text(k.What + " [" + k.Rule + "]"), fitCell(k), Text(k.Source)})
		}
	}
	if len(t.Rows) > 0 {
		d.Table(t)
	}
}

func fitCell(k prepare.RouteCheck) Cell {
	c := Marked(map[prepare.Fit]Mark{prepare.Fits: Good, prepare.DoesNot: Bad, prepare.FitUnsaid: Unknown}[k.Fit], string(k.Fit))
	switch {
	case k.Needs != "":
		c.Text += ": needs " + k.Needs
	case k.Broken != "":
		c.Text += ": " + k.Broken
	}
	return c
}

// alike says whether two checks may stand in one row: the same answer by the same figures.
func alike(a, b prepare.RouteCheck, u quantity.Units) bool {
	v, l := checkFigures(a, u)
	w, m := checkFigures(b, u)
	return a.Fit == b.Fit && v == w && l == m && a.Needs == b.Needs && a.Broken == b.Broken
}

func sectionRow(s line.Section, u quantity.Units) []Cell {
	figure := func(v float64, text string) Cell {
		if v == 0 {
			return Marked(Unknown, "not stated")
		}
		return Text(text)
	}
	return []Cell{Text(s.Name()), figure(s.AxleLoad, u.MassRounded(quantity.Kilograms(s.AxleLoad), quantity.Down)),
		figure(s.Sharpest, u.Length(quantity.Metres(s.Sharpest))), figure(s.Speed, u.SpeedRounded(quantity.MetresPerSecond(s.Speed), quantity.Down))}
}
