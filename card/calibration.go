//go:build !js

package card

import (
	"fmt"
	"math"
	"strings"

	"headstock/calibrate"
	"headstock/consist"
	"headstock/fleet"
	"headstock/quantity"
)

// Calibration is what measured curves tell of a unit's figures: each with its interval,
// what cannot be told apart, how well the curves are met, and the lines to be laid over the
// unit's record.
func Calibration(c *consist.Consist, unit int, f *calibrate.Fit, overlay string, u quantity.Units) *Document {
	v := c.Vehicles[unit]
	d := &Document{Title: "Calibration: " + f.Unit, Subtitle: c.Fleet.Railway}
	if c.HasDraft() {
		d.Banner = Draft
	}
	told := 0
	for _, x := range f.Figures {
		if x.Standing == calibrate.Told {
			told++
		}
	}
	d.Verdict = &Verdict{Mark: Good, Text: fmt.Sprintf("The curves tell %d of %s", told, count(len(f.Figures), "figure"))}
	if told == 0 {
		d.Verdict.Mark = Unknown
	}
	if !f.Met {
		d.Verdict.Mark = Warn
		d.Verdict.Reasons = append(d.Verdict.Reasons, fmt.Sprintf("The curves are not met: the fit leaves %s, of which %s are no noise, and a measured pressure errs by %s. Something that was not fitted is at work, or the procedure was another one; what the figures say may be false.", misfit(f.After, u), misfit(f.Lasting, u), misfit(f.Error, u)))
	}
	for _, x := range f.Figures {
		if x.Standing == calibrate.AtBound {
			d.Verdict.Mark = Warn
			d.Verdict.Reasons = append(d.Verdict.Reasons, fmt.Sprintf("%s ends at its bound: the truth may lie beyond it, and the other figures with it; ask with wider bounds.", quoted(x)))
		}
	}
	d.Paragraph(None, fmt.Sprintf("%s of %s through %q. Root mean square of computed less measured: as the record stands %s, after the fit %s, with the told figures alone laid over the record %s.",
		count(f.Samples, "pressure"), f.Consist, f.Procedure, misfit(f.Before, u), misfit(f.After, u), misfit(f.Overlaid, u)))

	d.Heading(1, "Figures")
	t := Table{Caption: "Intervals of 95 %, within the bounds", Columns: []Column{{Title: "figure"}, {Title: "as written", Align: Right}, {Title: "fitted", Align: Right}, {Title: "interval"}, {Title: "bounds"}, {Title: "by"}, {Title: "standing"}}}
	for _, x := range f.Figures {
		fitted, interval := "–", "–"
		if !x.Held {
			fitted, interval = u.SI(x.Record.Kind, x.Value), span(u, x.Record.Kind, x.From, x.To)
		}
		mark := map[string]Mark{calibrate.Told: Good, calibrate.AtBound: Warn, calibrate.NotApart: Unknown, calibrate.HardlyTold: Unknown, calibrate.Leaping: Unknown, calibrate.Unmet: Warn, calibrate.Unseen: Quiet}[x.Standing]
		t.Rows = append(t.Rows, []Cell{Text(part(x.Element) + ": " + x.Argument), Text(u.SI(x.Record.Kind, x.Record.SI)), Text(fitted), Text(interval),
			Text(span(u, x.Record.Kind, x.Low, x.High)), Text(x.Bounds), Marked(mark, x.Standing)})
	}
	d.Table(t)
	d.Paragraph(Quiet, "Usual bounds, where the record writes no spread: "+calibrate.Bounds+".")

	var items []Item
	for _, g := range f.Tangles {
		items = append(items, Item{Text: tangled(f, g, u), Mark: Unknown})
	}
	if len(items) > 0 {
		d.Heading(1, "What cannot be told apart")
		d.list(false, items)
	}
	hangs := Table{Caption: "What hangs on figures that were not fitted", Columns: []Column{{Title: "figure"}, {Title: "moves with, by so much of half its bounds"}}}
	for _, x := range f.Figures {
		if x.Standing == calibrate.HardlyTold && len(x.Hangs) > 0 {
			hangs.Rows = append(hangs.Rows, []Cell{Text(part(x.Element) + ": " + x.Argument), Text(hanging(c, unit, x))})
		}
	}
	if len(hangs.Rows) > 0 {
		d.Table(hangs)
		d.Paragraph(Unknown, "These curves cannot tell such a figure from those beside it, which have a spread of their own and were taken as written. Measure one of them, write it as measured, and the figure is told better; or fit it as well.")
	}
	var leaps []string
	for _, x := range f.Figures {
		if x.Standing == calibrate.Leaping {
			leaps = append(leaps, quoted(x))
		}
	}
	if len(leaps) > 0 {
		d.Paragraph(Unknown, fmt.Sprintf("These curves answer in leaps to %s: a valve laps once more or less, as chance has it, and hides the figure. A procedure in which it laps once shows it better.", strings.Join(leaps, " and ")))
	}

	d.Heading(1, "How well the curves are met")
	p := Table{Caption: "Computed less measured, root mean square", Columns: []Column{{Title: "unit"}, {Title: "place"}, {Title: "pressures", Align: Right}, {Title: "before", Align: Right}, {Title: "after", Align: Right}, {Title: "worst after", Align: Right}}}
	for _, x := range f.Places {
		p.Rows = append(p.Rows, []Cell{Text(c.Vehicles[x.Vehicle].Name()), Text(part(x.Element)), Text(fmt.Sprint(x.Samples)), Text(misfit(x.Before, u)), Text(misfit(x.After, u)), Text(misfit(x.Worst, u))})
	}
	d.Table(p)
	by := "as the curves show it, neighbour against neighbour"
	if f.Stated {
		by = "as stated"
	}
	d.Paragraph(Quiet, fmt.Sprintf("A measured pressure errs by %s, %s. Two runs that should be the same differ by %s. What is left hangs together, which makes the intervals %.1f times as wide as of white noise. The intervals also hold what every other written spread of the consist may be, and a place that reads off by its error throughout, 0.5 kPa at least; they do not hold a gauge that reads more wrong or a clock that is off.", misfit(f.Error, u), by, misfit(f.Scatter, u), math.Sqrt(f.Widened)))

	d.Heading(1, "Overlay")
	switch {
	case !f.Met:
		d.Paragraph(Unknown, "The curves are not met, so nothing of this belongs over the record.")
	case overlay == "":
		d.Paragraph(Unknown, "No figure is told, so there is nothing to lay over the record.")
	default:
		d.Paragraph(None, fmt.Sprintf("Measured values for units.yaml, %s; --overlay writes them to a file as they stand there. A measured value of the same figure that is there already goes out.", standsAt(c.Fleet, v.Unit)))
		var lines []Item
		for _, l := range strings.Split(strings.TrimSuffix(overlay, "\n"), "\n")[1:] {
			lines = append(lines, Item{Text: strings.TrimPrefix(strings.TrimSpace(l), "- ")})
		}
		d.list(false, lines)
	}
	d.rests(v.Class)
	d.Rests = append(d.Rests, "from "+count(f.Runs, "run"))
	d.Footer = append(d.Footer, fmt.Sprintf("Computed from %s at 20 °C and sea level; pressures are gauge.", count(f.Runs, "run")))
	return d
}

// standsAt says under which key of units.yaml a unit's own lines stand.
func standsAt(f *fleet.Fleet, unit *fleet.Unit) string {
	for _, o := range f.Units {
		if o != unit && o.Class == unit.Class && o.Pos == unit.Pos {
			return fmt.Sprintf("under %s: %d:, which is not there yet (%s is a range)", unit.Class, unit.Number, unit.Pos)
		}
	}
	return fmt.Sprintf("under %s: %d: (%s)", unit.Class, unit.Number, unit.Pos)
}

// quoted names a figure in a sentence.
func quoted(x calibrate.Figure) string {
	return fmt.Sprintf("“%s: %s”", part(x.Element), x.Argument)
}

// tangled words a figure that is held and what would move with it.
func tangled(f *calibrate.Fit, g calibrate.Tangle, u quantity.Units) string {
	h := f.Figures[g.Held]
	var names, moved []string
	for _, m := range g.With {
		x := f.Figures[m.Figure]
		names = append(names, quoted(x))
		moved = append(moved, fmt.Sprintf("%s would come out at %s instead of %s", quoted(x), u.SI(x.Record.Kind, m.Then), u.SI(x.Record.Kind, x.Value)))
	}
	return fmt.Sprintf("%s and %s cannot be told apart by these curves. %s is held at %s as written; were it %s, %s.",
		quoted(h), strings.Join(names, " and "), quoted(h), u.SI(h.Record.Kind, h.Value), u.SI(h.Record.Kind, g.If), strings.Join(moved, " and "))
}

// hanging words a figure whose interval is wide because of others that were not fitted.
func hanging(c *consist.Consist, unit int, x calibrate.Figure) string {
	var names []string
	for _, h := range x.Hangs[:min(len(x.Hangs), 3)] {
		v, who := c.Vehicles[h.Vehicles[0]], ""
		switch {
		case len(h.Vehicles) > 1:
			who = " of every " + v.Class.Name
		case h.Vehicles[0] != unit:
			who = " of " + v.Name()
		}
		names = append(names, fmt.Sprintf("%s: %s%s (%.0f %%)", part(h.Element), h.Argument, who, 100*math.Abs(h.By)))
	}
	return strings.Join(names, "; ")
}

// misfit prints an error of pressure, which is small: a tenth of a kPa, rounded up.
func misfit(pa float64, u quantity.Units) string {
	if pa < 50 {
		return "under " + u.Limit(quantity.Pressure, 100, quantity.Up)
	}
	return u.Limit(quantity.Pressure, pa, quantity.Up)
}

func span(u quantity.Units, k quantity.Kind, low, high float64) string {
	return u.SI(k, low) + " to " + u.SI(k, high)
}
