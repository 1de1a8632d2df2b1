package card

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

// WrongGroup is what can be wrong and is seen first at one step of the brake test; with no
// step what no step of it shows.
type WrongGroup struct {
	Step  string  // id; "" for what no step shows
	Title string  // what is done at the step
	Items []Wrong // the worst first
}

// Wrong is one thing that can be wrong, in words.
type Wrong struct {
	Unit   string // and
	Device string // id of it, for a way to more; "" of a part that is no device
	Says   string
	Worst  string // when it is worst; "" when set up wrong
	Keep   bool   // it must not be moved
	Danger string
	Mark   Mark
	Breaks []string
	Seen   string // the first look that tells; "" where none does
	Away   bool   // nothing in the driving cab tells
	Hidden bool   // no step of the brake test shows it
}

// Nowhere says what hidden ones are found by.
const Nowhere = "No gauge, piston or exhaust of the whole sheet tells of these. Only a look at the device itself, or a check beyond the brake test, finds them."

// Wrongs are all that a search found to break something, by the step of the brake test at
// which somebody sees it first: first of all what no step shows, then the steps in their
// order. What shows at once, when a device is moved on a charged train, is a group of its
// own before the steps.
func Wrongs(b *setup.Brief, test trial.Procedure, u quantity.Units) []WrongGroup {
	out := []WrongGroup{{Title: "No step of the brake test shows these"}, {Step: prove.StepMoved, Title: "At once, when it is moved or fails on a charged train"}}
	for _, s := range test.Steps {
		if s.Read {
			out = append(out, WrongGroup{Step: s.ID, Title: s.Say})
		}
	}
	for _, m := range b.Members {
		step := ""
		if m.First != nil {
			step = m.First.Step
		}
		k := slices.IndexFunc(out, func(g WrongGroup) bool { return g.Step == step })
		if k < 0 {
			out = append(out, WrongGroup{Step: step, Title: step})
			k = len(out) - 1
		}
		out[k].Items = append(out[k].Items, wrong(m, u))
	}
	return slices.DeleteFunc(out, func(g WrongGroup) bool { return len(g.Items) == 0 })
}

func wrong(m setup.BriefMember, u quantity.Units) Wrong {
	w := Wrong{Unit: m.Unit, Device: m.Device, Says: capital(m.Says), Danger: capital(m.Danger), Mark: gradeMark(m.Grade), Breaks: broke(m.Worse, u, 2), Away: m.First != nil && m.FirstCab == nil, Hidden: m.First == nil, Keep: m.Keep}
	if m.Place != "" {
		w.Says += ", " + m.Place
	}
	w.Says += "."
	switch m.When {
	case setup.MovedSince:
		w.Worst = "Worst when it is moved after the train is charged."
	case setup.MovedApplied:
		w.Worst = "Worst when it is moved with the brakes on."
	}
	if f := m.First; f != nil {
		w.Seen = "Seen first at step " + look1(*f, u) + "."
		if f.Step == prove.StepMoved {
			w.Seen = "Seen at once: " + lookOf(*f, u) + "."
		}
		switch x := m.FirstCab; {
		case x == nil:
			w.Seen += " Nothing in the driving cab tells."
		case *x != *f:
			w.Seen += " The driver sees it at step " + look1(*x, u) + "."
		}
	}
	return w
}

func look1(s setup.Seen, u quantity.Units) string { return s.Step + ": " + lookOf(s, u) }

// lookOf words what one look shows, and what it should.
func lookOf(s setup.Seen, u quantity.Units) string {
	return fmt.Sprintf("%s of %s (%s) %s instead of %s", s.Device, s.Unit, s.Place, reads(s.Kind, s.Is, s.IsOut, u), reads(s.Kind, s.Was, s.WasOut, u))
}

// FewWorst are the worst few of what can be wrong, at most so many that no step of the
// brake test shows and so many that one does; and how many there are of each.
func FewWorst(b *setup.Brief, most int, u quantity.Units) (hidden, shown []Wrong, allHidden, allShown int) {
	for _, m := range b.Members {
		list, n := &shown, &allShown
		if m.First == nil {
			list, n = &hidden, &allHidden
		}
		if *n++; *n <= most {
			*list = append(*list, wrong(m, u))
		}
	}
	return
}

// Searched says in a sentence how much was looked at.
func Searched(b *setup.Brief) string {
	s := fmt.Sprintf("%s looked at, each by a run of the whole brake test, one at a time", count(b.Counts.Settings, "wrong setting"))
	if b.Failures {
		s = fmt.Sprintf("%s and %s looked at, each by a run of the whole brake test, one at a time", count(b.Counts.Settings, "wrong setting"), count(b.Counts.Failures, "failure"))
	}
	return s + fmt.Sprintf("; %d break nothing.", b.Counts.Free)
}

// Wronged is what a search found as a document, by the step that shows it.
func Wronged(c *consist.Consist, b *setup.Brief, test trial.Procedure, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "What could be wrong here: " + c.String(), Subtitle: c.Fleet.Railway, Verdict: WrongVerdict(b)}
	if c.HasDraft() {
		d.Banner = Draft
	}
	if b.Verdict != prove.Works && b.Verdict != prove.WithLoss {
		d.Paragraph(Warn, "As it stands this set-up "+b.Verdict+" already; only what gets worse is told.")
	}
	for _, g := range Wrongs(b, test, u) {
		title := g.Title
		if g.Step != "" && g.Step != prove.StepMoved {
			title = "Seen first at step " + g.Step + ": " + title
		}
		d.Heading(1, title)
		var items []Item
		for _, w := range g.Items {
			it := Item{Text: w.Says, Mark: w.Mark}
			if w.Keep {
				it.Detail = append(it.Detail, "It must not be moved; this is computed, never tried.")
			}
			if w.Worst != "" {
				it.Detail = append(it.Detail, w.Worst)
			}
			it.Detail = append(append(it.Detail, "Danger: "+w.Danger+"."), w.Breaks...)
			if !w.Hidden {
				it.Detail = append(it.Detail, w.Seen)
			}
			items = append(items, it)
		}
		if g.Step == "" {
			d.Paragraph(Warn, Nowhere)
		}
		d.Bullets(items...)
	}
	d.Paragraph(Quiet, Searched(b))
	footer(d, c, r, &prove.Proof{Runs: b.Runs, AirModel: b.AirModel})
	d.Footer = append(d.Footer, fmt.Sprintf("%d further runs for what is told here.", b.Counts.Runs))
	return d
}

// WrongVerdict is what a search comes to, in a sentence.
func WrongVerdict(b *setup.Brief) *Verdict {
	if len(b.Members) == 0 {
		return &Verdict{Mark: Good, Text: "Nothing that was looked at breaks a requirement."}
	}
	hidden := 0
	for _, m := range b.Members {
		if m.First == nil {
			hidden++
		}
	}
	if hidden == 0 {
		return &Verdict{Mark: Warn, Text: fmt.Sprintf("%s can be wrong here and break something; a step of the brake test shows each.", count(len(b.Members), "thing"))}
	}
	return &Verdict{Mark: Bad, Text: fmt.Sprintf("%s can be wrong here and break something. No step of the brake test shows %d of them.", count(len(b.Members), "thing"), hidden)}
}
