package card

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// Effects says what happens if a device is moved: what is lost or broken, where that is
// seen and where not.
func Effects(c *consist.Consist, base *prove.Proof, es []*setup.Effect, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "If this is moved: " + c.String(), Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	worst := setup.NoHarm
	runs := 0
	for _, e := range es {
		worst = max(worst, e.Grade)
		runs += e.Runs
		if e.Keep {
			d.Cautions = append(d.Cautions, fmt.Sprintf("%s of %s must not be moved. What follows is computed, never tried.", e.Name, e.Unit))
		}
	}
	d.Verdict = &Verdict{Mark: gradeMark(worst), Text: "At worst: " + worst.String() + "."}
	if base.Verdict != prove.Works && base.Verdict != prove.WithLoss {
		d.Paragraph(Warn, "As it stands this set-up "+base.Verdict+" already; only what gets worse is told.")
	}
	broken := func(fs []prove.Finding) []Item {
		var items []Item
		for _, f := range fs {
			it := Item{Text: f.Says + ": " + string(f.Status), Mark: markOf(f.Status)}
			for i, x := range merge(f.Reasons) {
				if i == 2 {
					it.Detail = append(it.Detail, fmt.Sprintf("… and %d more", len(f.Reasons)-2))
					break
				}
				it.Detail = append(it.Detail, Sentence(x, u))
			}
			items = append(items, it)
		}
		if len(items) == 0 {
			items = append(items, Item{Text: "No requirement ends worse.", Mark: Good})
		}
		return items
	}
	for _, e := range es {
		d.Heading(1, fmt.Sprintf("%s, %s: from %s to %s", e.Unit, e.Name, e.Was, e.To))
		if p, ok := e.Device.Position(e.To); ok && p.Looks != "" {
			d.Paragraph(None, "Then it looks so: "+p.Looks+".")
		}
		for _, caution := range e.Device.Cautions {
			d.Paragraph(Warn, caution)
		}
		if !e.Reaches {
			text := "It does not reach the air: no gauge or piston of the brake tells of it. What it does to the engine is not examined here."
			if slices.ContainsFunc(e.Worse, func(f prove.Finding) bool { return f.Requirement == "lights" }) {
				text = "It does not reach the air: no gauge or piston of the brake tells of it. It is seen by walking round and looking at the lamps, and by nothing else."
			}
			d.Paragraph(Quiet, text)
		}
		d.Paragraph(gradeMark(e.Grade), "Danger: "+e.Danger+".")
		if !e.Reaches {
			d.Bullets(broken(e.Worse)...)
			continue
		}
		d.Heading(2, "Set so before the train is charged")
		d.Bullets(broken(e.Worse)...)
		seen(d, "What the brake test shows", e.Seen, u)
		d.Heading(2, "Moved once the train is charged")
		d.Bullets(broken(e.Since)...)
		seen(d, "What shows within a minute", e.AtOnce, u)
		seen(d, "What a brake test would then show", e.After, u)
		d.Heading(2, "Moved while the brake is on")
		d.Bullets(broken(e.Applied)...)
		seen(d, "What the rest of the brake test then shows", e.AfterApplied, u)
	}
	footer(d, c, r, base)
	d.Footer = append(d.Footer, fmt.Sprintf("%d further runs for what is told here.", runs))
	return d
}

func gradeMark(g setup.Grade) Mark {
	switch g {
	case setup.NoHarm:
		return Good
	case setup.LossOf, setup.Delay:
		return Warn
	}
	return Bad
}

// mostSeen keeps a table to what a person reads; what tells first tells most.
const mostSeen = 12

func seen(d *Document, title string, ss []setup.Seen, u quantity.Units) {
	if len(ss) == 0 {
		d.Paragraph(Warn, title+": nothing. No gauge, piston or exhaust that the record names tells of it.")
		return
	}
	inCab := false
	for _, s := range ss {
		inCab = inCab || s.InCab
	}
	if !inCab {
		d.Paragraph(Warn, title+": nobody sees it from the driving cab.")
	}
	// each gauge, piston or exhaust once, at the step where it first tells
	t := Table{Caption: title, Columns: []Column{{Title: "look at"}, {Title: "where"}, {Title: "first at step"}, {Title: "right"}, {Title: "so"}}}
	told := map[string]bool{}
	for _, s := range ss {
		if key := s.Unit + ", " + s.Device; !told[key] {
			told[key] = true
			right, so := apart(s.Kind, s.Was, s.WasOut, s.Is, s.IsOut, u)
			t.Rows = append(t.Rows, []Cell{Text(key), Text(s.Place), Text(s.Step), Text(right), Text(so)})
		}
	}
	if n := len(t.Rows) - mostSeen; n > 0 {
		t.Rows = t.Rows[:mostSeen]
		defer d.Paragraph(Quiet, fmt.Sprintf("%d more tell of it as well.", n))
	}
	d.Table(t)
}

// apart words what a reading should be and what it is so that they can be told apart: where
// the usual rounding makes them one, with more places, or by which is the more.
func apart(kind string, was float64, wasOut bool, is float64, isOut bool, u quantity.Units) (right, so string) {
	right, so = reads(kind, was, wasOut, u), reads(kind, is, isOut, u)
	if right != so || kind == "piston" {
		return right, so
	}
	if kind == "exhaust" && was >= 1 {
		if right, so = fmt.Sprintf("blows %.1f s", was), fmt.Sprintf("blows %.1f s", is); right != so {
			return right, so
		}
	}
	switch {
	case is > was:
		so += ", a little more"
	case is < was:
		so += ", a little less"
	}
	return right, so
}

// reads words a reading.
func reads(kind string, v float64, out bool, u quantity.Units) string {
	switch kind {
	case "piston":
		if out {
			return "out"
		}
		return "in"
	case "exhaust":
		if v < 1 {
			return "quiet"
		}
		return fmt.Sprintf("blows %.0f s", v)
	}
	return u.Gauge(quantity.Gauge(v))
}
