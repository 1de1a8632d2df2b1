package card

import (
	"fmt"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
)

// Why explains findings: what was seen, at which device, on which pipe, by which rule,
// and where the record says so. An empty name explains every finding that is not met.
func Why(c *consist.Consist, p *prove.Proof, name string, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Why: " + c.String(), Subtitle: c.Fleet.Railway, Verdict: verdictOf(p, u)}
	d.Verdict.Reasons = nil
	for _, f := range p.Findings {
		if name != "" && f.Requirement != name || name == "" && (f.Status == prove.Met || f.Status == prove.NotApplies) {
			continue
		}
		d.Heading(1, f.Says+": "+string(f.Status))
		if f.Rule != "" {
			d.Facts(Fact{Name: "rule", Text: f.Rule})
		}
		if len(f.Reasons) == 0 {
			d.Paragraph(markOf(f.Status), "No run shows anything against it.")
		}
		var items []Item
		for _, x := range merge(f.Reasons) {
			it := Item{Text: Sentence(x, u), Mark: markOf(f.Status)}
			if x.CrewSees != "" {
				it.Detail = append(it.Detail, "The crew sees: "+x.CrewSees+".")
			}
			for _, link := range p.Chain(x) {
				it.Detail = append(it.Detail, chainLine(link, u))
			}
			items = append(items, it)
		}
		d.Bullets(items...)
	}
	footer(d, c, r, p)
	return d
}

// chainLine words one link: what leads where, how its devices stood, where that is written.
func chainLine(l prove.Link, u quantity.Units) string {
	from := part(l.From)
	if l.Known {
		from += " (" + u.Gauge(quantity.Gauge(l.Gauge)) + ")"
	}
	s := fmt.Sprintf("%s takes from %s by the %s %s", part(l.Into), from, part(l.Kind), part(l.Element))
	for _, d := range l.Stands {
		s += fmt.Sprintf("; %s, %s, stands %s", d.Name, d.Place, d.Position)
	}
	return s + "; written at " + l.Written + "."
}
