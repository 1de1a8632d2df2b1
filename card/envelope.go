package card

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/fleet"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/teach"
)

// Envelope is a sealed envelope for whoever teaches: what is set wrong, where, how it looks,
// and which look would have found it.
func Envelope(c *consist.Consist, e *teach.Envelope, r *rule.Rules, u quantity.Units) *Document {
	x := e.Effect
	v := c.Vehicles[x.Change.Vehicle]
	d := &Document{Title: fmt.Sprintf("Envelope %d: %s", e.Number, c.String()), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	d.Cautions = append(d.Cautions,
		"For whoever teaches: keep it folded until the lesson is over.",
		"On a real unit set it only where local rules allow, with the unit secured and nobody else on it, and put it right before it is used.")
	d.Heading(1, "What is set wrong")
	d.Facts(
		Fact{Name: "unit", Text: x.Unit},
		Fact{Name: "device", Text: x.Name},
		Fact{Name: "where", Text: v.Class.PlaceName(x.Device.Place)},
		Fact{Name: "it stands", Text: stands(x.Device, x.To)},
		Fact{Name: "it should stand", Text: stands(x.Device, x.Was)},
	)
	for _, caution := range x.Device.Cautions {
		d.Paragraph(Warn, caution)
	}
	d.Paragraph(gradeMark(x.Grade), "Danger: "+x.Danger+".")
	d.Heading(1, "Which look would have found it")
	if i := firstInCab(x.Seen); i >= 0 {
		s := x.Seen[i]
		d.Paragraph(None, fmt.Sprintf("From the driving cab, first at step “%s”: %s, %s instead of %s.", s.Step, s.Device, reads(s.Kind, s.Is, s.IsOut, u), reads(s.Kind, s.Was, s.WasOut, u)))
	}
	seen(d, "What the brake test shows", x.Seen, u)
	if e.Searched > 0 {
		d.Heading(1, "What looks alike")
		if len(e.Alike) == 0 {
			d.Paragraph(None, fmt.Sprintf("Nothing: of %s looked at no other gives the same by every look that the test takes. Whoever takes them all can name it.", count(e.Searched, "cause")))
		} else {
			d.Paragraph(Warn, fmt.Sprintf("Of %s looked at these too give the same by every look that the test takes. Whoever names one of them has read the gauges rightly; only a look at the device itself tells which it is.", count(e.Searched, "cause")))
			var items []Item
			for k, a := range e.Alike {
				if k == mostGroups {
					items = append(items, Item{Text: fmt.Sprintf("and %d more", len(e.Alike)-k), Mark: Quiet})
					break
				}
				items = append(items, Item{Text: capital(a.Says) + "."})
			}
			d.Bullets(items...)
		}
	}
	d.Heading(1, "What it breaks")
	var items []Item
	for _, f := range x.Worse {
		it := Item{Text: f.Says + ": " + string(f.Status), Mark: markOf(f.Status)}
		if len(f.Reasons) > 0 {
			it.Detail = append(it.Detail, Sentence(f.Reasons[0], u))
		}
		items = append(items, it)
	}
	if len(items) == 0 {
		items = append(items, Item{Text: "Set so before charging no requirement ends worse; moved later one does.", Mark: Warn})
	}
	d.Bullets(items...)
	d.Footer = append(d.Footer, fmt.Sprintf("Picked by its number from %d wrong settings that reach the air; %d picks were passed over, as they harm nobody or no look tells of them. %d runs.", e.Of, e.Passed, x.Runs))
	footer(d, c, r, e.Proof)
	return d
}

// stands words a position with how it looks.
func stands(d *fleet.Device, at string) string {
	if p, ok := d.Position(at); ok && p.Looks != "" {
		return at + ": " + p.Looks
	}
	return at
}

// firstInCab is the first look that whoever drives can take; -1 where there is none.
func firstInCab(ss []setup.Seen) int {
	return slices.IndexFunc(ss, func(s setup.Seen) bool { return s.InCab })
}
