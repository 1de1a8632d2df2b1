package card

import (
	"fmt"
	"strings"

	"headstock/diagnose"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// mostOthers is how many causes that do not fit are told with what contradicts them; the
// JSON has all.
const mostOthers = 10

// mostParts is how many parts of a conflict are named.
const mostParts = 12

// Diagnosis says what could give what was seen, where to look next, and what putting it
// right would show.
func Diagnosis(b *setup.Base, a *diagnose.Answer, r *rule.Rules, u quantity.Units) *Document {
	c := b.Consist()
	d := &Document{Title: "What could be the matter: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	switch {
	case a.Nothing:
		d.Verdict = &Verdict{Mark: Good, Text: "Nothing that was entered is other than it should be."}
		if n := len(a.Fits); n > 0 {
			d.Verdict.Mark = Warn
			d.Verdict.Text += fmt.Sprintf(" That proves no more than what was looked at: %s would read the same.", count(n, "kind")+" of things wrong")
		}
	case len(a.Fits) == 0:
		d.Verdict = &Verdict{Mark: Unknown, Text: fmt.Sprintf("None of the %s looked at gives all of what was seen.", count(a.Looked, "case"))}
	default:
		give := "give"
		if len(a.Fits) == 1 {
			give = "gives"
		}
		d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("%s %s what was seen, of %d cases looked at.", capital(count(len(a.Fits), "cause")), give, a.Looked)}
	}
	t := Table{Caption: "What was seen, as far as step " + a.Last, Columns: []Column{{Title: "step"}, {Title: "unit"}, {Title: "look at"}, {Title: "seen"}, {Title: "against the right one"}}}
	for _, s := range a.Saws {
		step, mark := s.Step, Warn
		if step == "" {
			step = "how it stands"
		}
		switch s.As {
		case "as expected", "as it should stand":
			mark = Good
		case diagnose.NotLookedAt:
			mark = Quiet
		}
		value := s.Value
		if s.NotYet {
			value = ""
		}
		t.Rows = append(t.Rows, []Cell{Text(step), Text(s.Unit), Text(s.Name), Text(value), Marked(mark, s.As)})
	}
	d.Table(t)
	if !a.Nothing {
		causes(d, a)
		if len(a.Fits) == 0 {
			noneOfThese(d, a)
		}
		nextLook(d, a)
		mending(d, a, u)
		others(d, a)
	}
	footer(d, c, r, b.Proof())
	pairs := "Pairs were not looked at: one cause is enough for what was seen."
	if a.Pairs > 0 {
		pairs = fmt.Sprintf("%d pairs of wrong settings were looked at, set up wrong, one of each two networks; those that two readings or more contradict are counted and not listed.", a.Pairs)
	} else if a.TooMany > 0 {
		pairs = fmt.Sprintf("Pairs were not looked at here: there are %d; the command headstock diagnose runs them, however long it takes.", a.TooMany)
	} else if a.Nothing {
		pairs = "Pairs were not looked at."
	}
	d.Footer = append(d.Footer, fmt.Sprintf("%d further runs. %s", a.Runs, pairs))
	return d
}

func causes(d *Document, a *diagnose.Answer) {
	if len(a.Fits) == 0 {
		return
	}
	d.Heading(1, "What gives what was seen")
	d.Paragraph(None, "The likelier kinds first, as the trade finds them: a device set up wrong, one moved since, a part that has failed, two things at once.")
	rank := ""
	var items []Item
	flush := func() {
		if len(items) > 0 {
			d.Heading(2, capital(rank))
			d.Steps(items...)
		}
		items = nil
	}
	for k := range a.Fits {
		f := &a.Fits[k]
		if f.Rank() != rank {
			flush()
			rank = f.Rank()
		}
		it := Item{Text: f.Cause.Says + " (" + strings.Join(append([]string{f.When}, f.Times...), ", or ") + ")", Mark: Warn}
		if len(f.Also) > 0 {
			it.Detail = append(it.Detail, "reads the same to the last bit: "+listed(f.Also, 6))
		}
		items = append(items, it)
	}
	flush()
}

// saw words one entry.
func saw(s diagnose.Saw) string {
	if s.Step == "" {
		return fmt.Sprintf("%s of %s stands %s", s.Name, s.Unit, s.Value)
	}
	return fmt.Sprintf("%s of %s at step %s: %s", s.Name, s.Unit, s.Step, s.Value)
}

func saws(a *diagnose.Answer, list []int) string {
	var out []string
	for _, k := range list {
		out = append(out, saw(a.Saws[k]))
	}
	return strings.Join(out, "; ")
}

func noneOfThese(d *Document, a *diagnose.Answer) {
	d.Heading(1, "None of these")
	d.Paragraph(None, "Either a reading is not what was there, or it is something that the record does not know of, or more than was looked at.")
	var items []Item
	for _, m := range a.Misread {
		items = append(items, Item{Text: "If this was misread, a cause fits. Read again: " + saws(a, m), Mark: Warn})
	}
	for _, m := range a.Clash {
		if len(m) > 1 {
			items = append(items, Item{Text: "No cause looked at gives all of these together: " + saws(a, m)})
		}
	}
	d.Bullets(items...)
	if len(a.Suspect) == 0 {
		return
	}
	d.Heading(2, "Parts that are not all sound and rightly set")
	items = nil
	for _, s := range a.Suspect {
		items = append(items, Item{Text: saw(a.Saws[s.Saw]), Detail: []string{"one of: " + listed(s.Parts, mostParts)}})
	}
	d.Bullets(items...)
	if len(a.Suspect) > 1 {
		if len(a.Common) > 0 {
			d.Paragraph(None, "In every one of these: "+listed(a.Common, mostParts)+".")
		} else {
			d.Paragraph(None, "None is in every one: it is more than one thing.")
		}
	}
}

func nextLook(d *Document, a *diagnose.Answer) {
	if len(a.Next) == 0 && len(a.Withheld) == 0 && len(a.Alike) == 0 {
		return
	}
	d.Heading(1, "Where to look next")
	for k, n := range a.Next {
		if k == 3 {
			d.Paragraph(Quiet, fmt.Sprintf("%d further looks split them as well.", len(a.Next)-k))
			break
		}
		text := fmt.Sprintf("%d. %s (%s)", k+1, capital(n.Say), minutes(n.Seconds))
		if len(n.Needs) > 0 {
			text += "; needs " + strings.Join(n.Needs, ", ")
		}
		d.Paragraph(None, text)
		var items []Item
		for _, o := range n.Splits {
			shows := o.Shows
			if shows == "" {
				shows = "nothing of it"
			}
			items = append(items, Item{Text: capital(shows) + ": " + listed(o.Causes, 6)})
		}
		d.Bullets(items...)
	}
	var items []Item
	for k, w := range a.Withheld {
		if k == 6 {
			items = append(items, Item{Text: fmt.Sprintf("and %d more", len(a.Withheld)-k), Mark: Quiet})
			break
		}
		items = append(items, Item{Text: w, Mark: Quiet})
	}
	if len(items) > 0 {
		d.Heading(2, "Not proposed as the train stands")
		d.Bullets(items...)
	}
	for _, g := range a.Alike {
		d.Paragraph(Warn, "Nothing proposed here tells these apart: "+listed(g, 8)+".")
	}
}

func mending(d *Document, a *diagnose.Answer, u quantity.Units) {
	if len(a.Mending) == 0 {
		return
	}
	d.Heading(1, "What putting it right would show")
	d.Paragraph(Warn, "Only whoever may work the device puts it right, with the train secured. The brake test is then begun again.")
	for _, m := range a.Mending {
		if m.Never != "" {
			d.Paragraph(Bad, m.Cause+": "+m.Never+".")
			continue
		}
		d.Paragraph(None, fmt.Sprintf("%s, at step %s, and wait %s:", capital(m.Do), a.Last, upTo(m.Wait)))
		var items []Item
		for k, s := range m.Shows {
			if k == 5 {
				items = append(items, Item{Text: fmt.Sprintf("and %d more tell of it", len(m.Shows)-k), Mark: Quiet})
				break
			}
			was, is := apart(s.Kind, s.Was, s.WasOut, s.Is, s.IsOut, u)
			items = append(items, Item{Text: fmt.Sprintf("%s, %s at %s: from %s to %s", s.Unit, s.Name, s.Place, was, is)})
		}
		if len(items) == 0 {
			items = append(items, Item{Text: "Nothing at once: only the next brake test tells.", Mark: Unknown})
		}
		d.Bullets(items...)
	}
}

func others(d *Document, a *diagnose.Answer) {
	if len(a.Others) == 0 {
		return
	}
	d.Heading(1, "What contradicts the others")
	t := Table{Caption: fmt.Sprintf("The nearest of %s that do not fit", count(len(a.Others), "run")), Columns: []Column{{Title: "cause"}, {Title: "since"}, {Title: "contradicted by"}}}
	for k := range a.Others {
		if k == mostOthers {
			d.Table(t)
			d.Paragraph(Quiet, fmt.Sprintf("%d more, each contradicted by as many readings or more; the answer as JSON has all.", len(a.Others)-k))
			return
		}
		f := &a.Others[k]
		says := f.Cause.Says
		if n := len(f.Also); n > 0 {
			says += fmt.Sprintf(", and %d more that read the same", n)
		}
		t.Rows = append(t.Rows, []Cell{Text(says), Text(f.When), Text(saws(a, f.Contradicts))})
	}
	d.Table(t)
}
