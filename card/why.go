package card

import (
	"fmt"

	"headstock/consist"
	"headstock/fleet"
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
			for _, v := range c.Vehicles {
				if v.Name() != x.Vehicle {
					continue
				}
				if e := element(v.Class, x.Element); e != nil {
					it.Detail = append(it.Detail, fmt.Sprintf("%s: %s, written at %s.", part(e.ID), e.Kind, e.Pos))
					for _, id := range e.Devices() {
						if dev, ok := v.Class.Device(id); ok {
							it.Detail = append(it.Detail, fmt.Sprintf("worked by: %s, %s, written at %s.", dev.Name, dev.Place, dev.Pos))
						}
					}
				}
			}
			items = append(items, it)
		}
		d.Bullets(items...)
	}
	footer(d, c, r, p)
	return d
}

func element(c *fleet.Class, id string) *fleet.Element {
	for _, e := range c.Air {
		if e.ID == id {
			return e
		}
	}
	return nil
}
