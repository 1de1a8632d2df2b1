package card

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// mostMembers keeps a list of what is wrong to what a person reads; the table has all.
const mostMembers = 40

// Search is the card "what could be wrong here, where you would see it, and where you
// would not": what is worst first, what no step of the brake test shows, what is free, and
// how much was looked at.
func Search(c *consist.Consist, f *setup.Found, base *prove.Proof, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "What could be wrong here: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	worst := f.Worst()
	n := f.Counts
	d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("%d things can be wrong here that break something; the brake test shows nothing of %d of them.", len(worst), n.Hidden)}
	if len(worst) == 0 {
		d.Verdict = &Verdict{Mark: Good, Text: "Nothing that was looked at breaks a requirement."}
	}
	if base.Verdict != prove.Works && base.Verdict != prove.WithLoss {
		d.Paragraph(Warn, "As it stands this set-up "+base.Verdict+" already; only what gets worse is told.")
	}
	d.Heading(1, "Not shown by the brake test")
	hidden := 0
	var items []Item
	for _, m := range worst {
		if m.Shown != setup.NotShown {
			continue
		}
		if hidden++; hidden <= mostMembers {
			items = append(items, member(m, u))
		}
	}
	if hidden == 0 {
		d.Paragraph(Good, "None: a gauge, piston or exhaust tells of every one.")
	} else {
		d.Paragraph(Warn, "No gauge, piston or exhaust that the brake test reads tells of these; they are found by looking at the device itself.")
		d.Bullets(items...)
		more(d, hidden)
	}
	for g := setup.Train; g > setup.NoHarm; g-- {
		var items []Item
		all := 0
		for _, m := range worst {
			if m.Grade != g || m.Shown == setup.NotShown {
				continue
			}
			if all++; all <= mostMembers {
				items = append(items, member(m, u))
			}
		}
		if all > 0 {
			d.Heading(1, capital(g.String()))
			d.Bullets(items...)
			more(d, all)
		}
	}
	if f.Pairs {
		pairs(d, f, u)
	}
	free(d, f)
	counts(d, f)
	footer(d, c, r, base)
	d.Footer = append(d.Footer, fmt.Sprintf("%d further runs for what is told here.", n.Runs))
	return d
}

func more(d *Document, all int) {
	if all > mostMembers {
		d.Paragraph(Quiet, fmt.Sprintf("… and %d more; headstock search --table has all.", all-mostMembers))
	}
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// worstOf is the outcome that a member is graded by.
func worstOf(m setup.Member) setup.Outcome { return m.WorstOutcome() }

func member(m setup.Member, u quantity.Units) Item {
	o := worstOf(m)
	it := Item{Text: capital(m.Says), Mark: gradeMark(m.Grade)}
	if m.Place != "" {
		it.Text += " (" + m.Place + ")"
	}
	if m.Keep {
		it.Text += ". It must not be moved; this is computed, never tried"
	}
	it.Text += "."
	if o.When != setup.SetWrong && o.When != setup.FailedSince {
		it.Detail = append(it.Detail, "Worst when "+o.When+".")
	}
	if m.Shown == setup.NotShown {
		it.Detail = append(it.Detail, "Danger: "+m.Danger+".")
	}
	it.Detail = append(it.Detail, broke(o.Worse, u, 2)...)
	if m.Shown != setup.NotShown {
		it.Detail = append(it.Detail, seenAt(o.Seen, u))
	}
	return it
}

// broke words what ends worse, at most so many of it.
func broke(fs []prove.Finding, u quantity.Units, most int) []string {
	var out []string
	for k, f := range fs {
		if k == most {
			out = append(out, fmt.Sprintf("… and %s more.", count(len(fs)-most, "requirement")))
			break
		}
		s := f.Says + ": " + string(f.Status)
		if rs := merge(f.Reasons); len(rs) > 0 {
			s = capital(Sentence(rs[0], u))
			if len(rs) > 1 {
				s += fmt.Sprintf("; and %d more of the kind", len(rs)-1)
			}
		}
		out = append(out, s+".")
	}
	return out
}

// seenAt says where something is seen first, and that the driver sees nothing of it.
func seenAt(ss []setup.Seen, u quantity.Units) string {
	if len(ss) == 0 {
		return "The brake test does not show it."
	}
	first := ss[0]
	k := slices.IndexFunc(ss, func(s setup.Seen) bool { return s.InCab })
	if k >= 0 {
		first = ss[k]
	}
	right, so := apart(first.Kind, first.Was, first.WasOut, first.Is, first.IsOut, u)
	s := fmt.Sprintf("Seen at step %s: %s of %s (%s) %s instead of %s", first.Step, first.Device, first.Unit, first.Place, so, right)
	if k < 0 {
		s += "; nothing in the driving cab tells"
	}
	return s + "."
}

func pairs(d *Document, f *setup.Found, u quantity.Units) {
	d.Heading(1, "Two things wrong at once")
	if len(f.PairsFound) == 0 {
		d.Paragraph(Good, "No pair does what neither half does, masks, or hides what a half shows.")
		return
	}
	says := map[string]string{
		setup.Together: "Neither alone breaks anything; both together do",
		setup.Masks:    "One alone breaks something; with the other nothing is broken. Until somebody can say why, take it for a gap in the record or in the rules",
		setup.Hides:    "One alone shows in the brake test; with the other something is broken and nothing shows",
	}
	for _, why := range []string{setup.Hides, setup.Together, setup.Masks} {
		var items []Item
		all := 0
		ps := slices.Clone(f.PairsFound)
		slices.SortStableFunc(ps, func(a, b setup.PairFound) int { return int(b.Outcome.Grade) - int(a.Outcome.Grade) })
		for _, p := range ps {
			if p.Why != why {
				continue
			}
			if all++; all > mostMembers {
				continue
			}
			it := Item{Text: capital(p.Outcome.Cause.Says) + ".", Mark: gradeMark(p.Outcome.Grade)}
			if n := len(p.Keys) - 1; n > 0 {
				it.Text += fmt.Sprintf(" So do %s like it.", count(n, "pair"))
			}
			if why != setup.Masks {
				it.Detail = append(it.Detail, "Danger: "+p.Outcome.Danger+".")
				it.Detail = append(it.Detail, broke(p.Outcome.Worse, u, 2)...)
			}
			it.Detail = append(it.Detail, seenAt(p.Outcome.Seen, u))
			items = append(items, it)
		}
		if all > 0 {
			d.Heading(2, says[why])
			d.Bullets(items...)
			more(d, all)
		}
	}
}

// free lists what breaks nothing, a line a unit.
func free(d *Document, f *setup.Found) {
	d.Heading(1, "Free: breaks nothing that was looked at")
	var units []string
	by := map[string]map[string][]string{}
	order := map[string][]string{}
	for _, m := range f.Members {
		if !m.Free {
			continue
		}
		if by[m.Unit] == nil {
			by[m.Unit] = map[string][]string{}
			units = append(units, m.Unit)
		}
		if by[m.Unit][m.Item] == nil {
			order[m.Unit] = append(order[m.Unit], m.Item)
		}
		by[m.Unit][m.Item] = append(by[m.Unit][m.Item], m.To)
	}
	if len(units) == 0 {
		d.Paragraph(None, "None.")
	}
	var items []Item
	for _, n := range units {
		var parts []string
		for _, it := range order[n] {
			parts = append(parts, it+" ("+strings.Join(by[n][it], ", ")+")")
		}
		items = append(items, Item{Text: n + ": " + strings.Join(parts, "; ") + "."})
	}
	d.Bullets(items...)
}

func counts(d *Document, f *setup.Found) {
	n := f.Counts
	d.Heading(1, "How much was looked at")
	fs := []Fact{{Name: "wrong settings", Text: fmt.Sprintf("%d, every other position of every device; %d different networks of air with that of the set-up itself", n.Settings, n.Groups)}}
	if f.Failures {
		fs = append(fs, Fact{Name: "failures", Text: fmt.Sprintf("%d, every built-in mode of every part; %d different networks", n.Failures, n.FailGroups)})
	} else {
		fs = append(fs, Fact{Name: "failures", Text: "not looked at; ask with --failures", Mark: Quiet})
	}
	if f.Pairs {
		fs = append(fs, Fact{Name: "pairs", Text: fmt.Sprintf("%d pairs of wrong settings, set up wrong; %d more networks; %d mend in part what a half breaks", n.Pairs, n.PairGroups, n.PartlyMasked)})
	} else {
		fs = append(fs, Fact{Name: "pairs", Text: "not looked at; ask with --pairs", Mark: Quiet})
	}
	fs = append(fs, Fact{Name: "runs", Text: fmt.Sprintf("%d in %d proofs; a network is run once and never judged without", n.Runs, n.Proofs)},
		Fact{Name: "free", Text: fmt.Sprintf("%d", n.Free)},
		Fact{Name: "worse, not shown", Text: fmt.Sprintf("%d", n.Hidden)})
	if n.Kept > 0 {
		fs = append(fs, Fact{Name: "proofs from before", Text: fmt.Sprintf("%d", n.Kept)})
	}
	d.Facts(fs...)
}

// SearchTable is what a search found as a table with the columns of a failure mode and
// effects analysis (IEC 60812): item, mode, local effect, end effect, detection, grade.
func SearchTable(c *consist.Consist, f *setup.Found, base *prove.Proof, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Modes and effects: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	t := Table{Caption: "Columns of IEC 60812; the worst first, what breaks nothing last", Columns: []Column{{Title: "item"}, {Title: "mode"}, {Title: "local effect"}, {Title: "end effect"}, {Title: "detection"}, {Title: "grade"}}}
	rows := f.Worst()
	for _, m := range f.Members {
		if m.Free {
			rows = append(rows, m)
		}
	}
	for _, m := range rows {
		o := worstOf(m)
		mode := m.To
		if m.Kind == setup.SettingCause {
			mode = fmt.Sprintf("%s instead of %s, %s", m.To, m.Was, o.When)
		}
		t.Rows = append(t.Rows, []Cell{Text(m.Unit + ", " + m.Item), Text(mode), Text(local(m, o, u)), Text(end(o)), Text(seenAt(o.Seen, u)), Marked(gradeMark(m.Grade), m.Danger)})
	}
	d.Table(t)
	if f.Pairs && len(f.PairsFound) > 0 {
		t := Table{Caption: "Pairs, of those that are reported the first of each kind", Columns: t.Columns}
		for _, p := range f.PairsFound {
			o := p.Outcome
			t.Rows = append(t.Rows, []Cell{Text(o.Cause.Key), Text(fmt.Sprintf("%s, %s", p.Why, count(len(p.Keys), "pair"))), Text(strings.Join(broke(o.Worse, u, 1), " ")), Text(end(o)), Text(seenAt(o.Seen, u)), Marked(gradeMark(o.Grade), o.Danger)})
		}
		d.Table(t)
	}
	counts(d, f)
	footer(d, c, r, base)
	return d
}

// local is what it does to the unit itself.
func local(m setup.Member, o setup.Outcome, u quantity.Units) string {
	for _, f := range o.Worse {
		for _, r := range merge(f.Reasons) {
			if r.Vehicle == m.Unit {
				return capital(Sentence(r, u))
			}
		}
	}
	for _, s := range o.Seen {
		if s.Unit == m.Unit {
			right, so := apart(s.Kind, s.Was, s.WasOut, s.Is, s.IsOut, u)
			return fmt.Sprintf("%s at step %s %s instead of %s", s.Device, s.Step, so, right)
		}
	}
	if !m.Reaches {
		return "none in the air"
	}
	return "none that a reading of the test shows"
}

// end is what it does to the train.
func end(o setup.Outcome) string {
	if len(o.Worse) == 0 {
		return "none"
	}
	var out []string
	for _, f := range o.Worse {
		out = append(out, string(f.Status)+": "+f.Says)
	}
	return strings.Join(out, "; ")
}

// Positions is what the requirements alone ask of each device, beside what the record
// claims.
func Positions(d *Document, p setup.FoundPositions) {
	d.Heading(1, "Positions found from the requirements alone")
	d.Paragraph(None, "Devices that have a part in the air, the other units at their claim. "+capital(p.Bound)+".")
	for _, un := range p.Units {
		var rows [][]Cell
		required := []string{}
		freely := []string{}
		for _, x := range un.Positions {
			note := x.Against
			switch x.Need {
			case setup.Required:
				if note == "" {
					required = append(required, x.Name+" "+x.Claim)
					continue
				}
			case setup.FreeTo:
				if note == "" {
					freely = append(freely, x.Name)
					continue
				}
			}
			rows = append(rows, []Cell{Text(x.Name), Text(x.Claim), Text(string(x.Need)), Text(some(x.Also)), Text(some(x.Only)), Text(some(x.Not)), Text(note)})
		}
		d.Heading(2, un.Unit+", "+un.Role)
		if len(required) > 0 {
			d.Paragraph(None, "Required as claimed: "+strings.Join(required, "; ")+".")
		}
		if len(freely) > 0 {
			d.Paragraph(Quiet, "Free: "+strings.Join(freely, "; ")+".")
		}
		if len(rows) > 0 {
			d.Table(Table{Columns: []Column{{Title: "device"}, {Title: "claim"}, {Title: "is"}, {Title: "also right"}, {Title: "only with"}, {Title: "not with"}, {Title: "against the claim"}}, Rows: rows})
		}
	}
}

func some(list []string) string {
	if len(list) > 6 {
		return strings.Join(list[:6], ", ") + fmt.Sprintf(" … and %d more", len(list)-6)
	}
	return strings.Join(list, ", ")
}
