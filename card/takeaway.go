package card

import "headstock/consist"

// TakeAway puts documents on one consist into one, each under a heading of its own: the first
// verdict stands at its head, and what several of them rest on or warn of stands once. Made
// says when it was made.
func TakeAway(c *consist.Consist, made string, parts ...*Document) *Document {
	d := &Document{Title: "To take away: " + c.String(), Subtitle: c.Fleet.Railway}
	seen := map[string]bool{}
	for _, p := range parts {
		d.Heading(1, p.Title)
		if p.Banner != "" {
			d.Banner = p.Banner
		}
		if p.Verdict != nil && d.Verdict == nil {
			d.Verdict = p.Verdict
		}
		for _, b := range p.Blocks {
			if b.Heading != nil {
				b.Heading = &Heading{Level: min(b.Heading.Level+1, 4), Text: b.Heading.Text}
			}
			d.Blocks = append(d.Blocks, b)
		}
		for _, l := range []struct {
			from []string
			to   *[]string
		}{{p.Cautions, &d.Cautions}, {p.Footer, &d.Footer}, {p.Rests, &d.Rests}} {
			for _, t := range l.from {
				if !seen[t] {
					seen[t] = true
					*l.to = append(*l.to, t)
				}
			}
		}
	}
	d.Footer = append(d.Footer, "Made on "+made+"; what was written or found later is not in it.")
	return d
}
