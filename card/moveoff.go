package card

import (
	"fmt"
	"math"

	"headstock/consist"
	"headstock/haul"
	"headstock/internal/drawing"
	"headstock/line"
	"headstock/quantity"
	"headstock/rule"
)

// MoveOff words a start from a stand: whether the pull is enough, and whether the train runs
// back between release and pull.
func MoveOff(c *consist.Consist, a *haul.MoveOffAnswer, r *rule.Rules, u quantity.Units) *Document {
	place := slope(-a.Rising)
	if a.Radius > 0 {
		place += ", curve of " + u.Length(quantity.Metres(a.Radius))
	}
	d := &Document{Title: fmt.Sprintf("Can it start: %s, %s rail", place, a.Rail.Name), Subtitle: c.Fleet.Railway + ": " + a.Consist}
	need := a.Grade + a.Starting + a.Surplus
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("It starts: %s of pull, and %s are needed.", holds(a.Pull, u), needs(need, u))}
	if a.Pull < need {
		v.Mark, v.Text = Bad, fmt.Sprintf("It does not start here: %s of pull, and %s are needed.", holds(a.Pull, u), needs(need, u))
	}
	back := a.Back != nil && !a.Back.Never && (a.Kept == nil || !a.Kept.Never)
	if back && v.Mark == Good {
		by := a.Back.Lets
		if a.Kept != nil {
			by = a.Kept.Lets
		}
		v.Mark, v.Text = Warn, fmt.Sprintf("It starts, but it runs back unless the pull stands within %s of the release: %s of pull, and %s are needed.", lets(by, u), holds(a.Pull, u), needs(need, u))
	}
	switch {
	case a.Rising <= 0:
		v.Reasons = append(v.Reasons, "The grade does not pull it back; released, it may roll forward.")
	case a.Kept != nil && a.Kept.Never:
		v.Reasons = append(v.Reasons, fmt.Sprintf("No roll-back with the locomotive brake left on: it alone holds the train (%s against %s)%s.", holds(a.Kept.Ends, u), needs(a.Grade, u), offBy(a.Kept, u)))
		v.Reasons = append(v.Reasons, "Release the train with the locomotive brake full on, wait for the last brake, pull, and let the locomotive brake go as the pull comes.")
	case a.Kept != nil:
		v.Reasons = append(v.Reasons, fmt.Sprintf("It runs back even with the locomotive brake left on: from %s after the handle the brakes that are still on no longer hold it%s.", lets(a.Kept.Lets, u), offBy(a.Kept, u)))
	case a.NotKept != "":
		v.Reasons = append(v.Reasons, "Cannot say what the locomotive brake holds: "+a.NotKept+".")
	}
	if a.Back != nil && !a.Back.Never {
		v.Reasons = append(v.Reasons, fmt.Sprintf("With no other brake on it runs back from %s after the handle, unless the pull stands by then%s.", lets(a.Back.Lets, u), offBy(a.Back, u)))
	}
	if a.Rising > 0 && !a.Holds {
		v.Mark = Bad
		v.Reasons = append([]string{fmt.Sprintf("Full service holds %s against %s: the train does not stand here on its air brake.", holds(a.Stood, u), needs(a.Grade, u))}, v.Reasons...)
	}
	uncharged(v, a.Uncharged)
	d.Verdict = v
	if a.Drawgear > 0 && a.Coupling > a.Drawgear {
		d.Cautions = append(d.Cautions, fmt.Sprintf("Between %s the coupling is pulled with %s and may be with %s.", a.Between, needs(a.Coupling, u), holds(a.Drawgear, u)))
	}
	if a.Rising > 0 {
		d.Cautions = append(d.Cautions, "Nobody behind the train or between vehicles. Hand brakes that are on are let off last, and not while it stands on air alone longer than local rules allow.",
			"Motors that are pulled against a train that already runs back are strained: if it runs back, brake first.")
	}
	facts := []Fact{
		{Name: "mass", Text: tonnes(a.Mass, u)},
		{Name: "pull at a stand", Text: holds(a.Pull, u)},
		{Name: "the grade pulls back", Text: needs(math.Max(0, a.Grade), u)},
		{Name: "resistance at a stand", Text: needs(a.Starting, u)},
		{Name: "in hand to begin with", Text: needs(a.Surplus, u)},
	}
	if a.Between != "" {
		text := needs(a.Coupling, u) + " between " + a.Between
		m := None
		switch {
		case a.Drawgear == 0:
			text, m = text+"; what they may be pulled with is not stated", Unknown
		case a.Coupling > a.Drawgear:
			text, m = text+", above what they may be pulled with, "+holds(a.Drawgear, u), Bad
		default:
			text += " of " + holds(a.Drawgear, u)
		}
		facts = append(facts, Fact{"hardest pull in a coupling", text, m})
	}
	if a.Rising > 0 {
		facts = append(facts, Fact{Name: "full service holds beforehand", Text: holds(a.Stood, u)})
	}
	d.Facts(facts...)
	if a.Back != nil {
		d.Heading(1, "Between release and pull")
		d.Chart(RollBackChart(a, u))
		t := Table{Caption: "What the brakes still hold, after the handle", Columns: []Column{{Title: "after", Align: Right}, {Title: "all let off", Align: Right}}}
		if a.Kept != nil {
			t.Columns = append(t.Columns, Column{Title: "locomotive brake on", Align: Right})
		}
		cell := func(x *haul.RollBack, i int) Cell {
			if x.Brake[i] < a.Grade {
				return Marked(Bad, holds(x.Brake[i], u))
			}
			return Text(holds(x.Brake[i], u))
		}
		for _, s := range []float64{0, 5, 10, 15, 20, 30, 45, 60, 90, 150} {
			i := int(s * 2)
			if i >= len(a.Back.Times) {
				break
			}
			row := []Cell{Text(fmt.Sprintf("%.0f s", s)), cell(a.Back, i)}
			if a.Kept != nil {
				row = append(row, cell(a.Kept, i))
			}
			t.Rows = append(t.Rows, row)
		}
		d.Table(t)
		for _, k := range []struct {
			x    *haul.RollBack
			what string
		}{{a.Back, "every brake let off"}, {a.Kept, "the locomotive brake left on"}} {
			if k.x == nil {
				continue
			}
			if k.x.Never {
				d.Paragraph(None, fmt.Sprintf("With %s it does not run back while it is followed (150 s).", k.what))
				continue
			}
			t := Table{Caption: "How far it runs back, " + k.what, Columns: []Column{{Title: "full pull stands after"}, {Title: "runs back", Align: Right}, {Title: "at most", Align: Right}, {Title: ""}}}
			for _, x := range k.x.Runs {
				row := []Cell{Text(fmt.Sprintf("%.0f s", x.After)), Text(metres(x.Distance, u)), Text(u.SpeedRounded(quantity.MetresPerSecond(x.Speed), quantity.Up)), Text("the pull brings it to a stand")}
				switch {
				case !x.Caught:
					row[3] = Marked(Bad, "the pull does not stop it")
				case x.Distance == 0:
					row[1], row[2], row[3] = Text("not at all"), Text("–"), Text("")
				}
				t.Rows = append(t.Rows, row)
			}
			d.Table(t)
		}
	}
	d.Heading(1, "What moves it")
	t := Table{Columns: []Column{{Title: "with"}, {Title: "pull in hand", Align: Right}}}
	for _, s := range a.Sensitive {
		x := Text(holds(s.Hand, u))
		if s.Hand < 0 {
			x = Marked(Bad, needs(-s.Hand, u)+" too little")
		}
		t.Rows = append(t.Rows, []Cell{Text(s.What), x})
	}
	d.Table(t)
	w := trainWorth(haul.Of(c))
	w.rail(a.Rail)
	w.braking(c, r)
	w.add("moments at which the pull comes", "invented")
	w.on(d)
	assumes := make([]string, len(a.Assumes))
	for i, x := range append(append([]string{}, a.Assumes...), a.Weak...) {
		if i < len(assumes) {
			assumes[i] = inUnits(x, u)
		} else {
			assumes = append(assumes, inUnits(x, u))
		}
	}
	moving(d, c, r, a.Seconds, a.AirModel, assumes)
	return d
}

// lets is a time by which something must be done, rounded down to half a second.
func lets(s float64, u quantity.Units) string {
	return u.Seconds(quantity.Seconds(math.Floor(2*s) / 2))
}

// offBy says when the last brake has let go.
func offBy(x *haul.RollBack, u quantity.Units) string {
	switch {
	case x.Off < 0:
		return "; the brakes that are let off are not off within 150 s"
	case x.Last == "":
		return ""
	}
	return fmt.Sprintf("; the last brake to let go is that of %s, after %s", x.Last, u.Seconds(quantity.Seconds(math.Ceil(x.Off))))
}

// RollBackChart is what the brakes hold after the handle, beside what the grade pulls.
func RollBackChart(a *haul.MoveOffAnswer, u quantity.Units) drawing.Chart {
	force := forces(u)
	end := a.Back.Times[len(a.Back.Times)-1]
	curves := []drawing.Curve{{Name: "all let off", Class: "main", X: a.Back.Times, Y: force.all(a.Back.Brake)}}
	if a.Kept != nil {
		curves = append(curves, drawing.Curve{Name: "locomotive brake left on", Class: "second", X: a.Kept.Times, Y: force.all(a.Kept.Brake)})
	}
	curves = append(curves, drawing.Curve{Name: "the grade pulls", Class: "limit", X: []float64{0, end}, Y: []float64{force.of(a.Grade), force.of(a.Grade)}})
	return drawing.Chart{ID: "roll-back", Title: "What the brakes still hold after the release", Says: "Force that the brakes hold at a stand over the time from the handle, beside what the grade pulls: where a curve goes below it, the train runs back. The table says the same.", X: drawing.Axis{Name: "s", Low: 0, High: end}, Panels: []drawing.Panel{{Y: drawing.Axis{Name: "holds, " + force.unit, Low: 0, High: 1.05 * math.Max(force.of(a.Grade), top(curves))}, Curves: curves, High: 1.2}}}
}

// top is the highest point of curves.
func top(curves []drawing.Curve) float64 {
	y := 0.0
	for _, c := range curves {
		for _, v := range c.Y {
			y = math.Max(y, v)
		}
	}
	return y
}

// Profile is a line as a drawing and as tables.
func Profile(railway string, l *line.Line, u quantity.Units) *Document {
	d := &Document{Title: "Profile: " + l.Name, Subtitle: railway}
	d.Chart(ProfileChart(l, u))
	p := Table{Caption: "Places", Columns: []Column{{Title: "place"}, {Title: "km", Align: Right}, {Title: "height", Align: Right}, {Title: "loop", Align: Right}}}
	for _, x := range l.Places {
		row := []Cell{Text(x.Name), Text(fmt.Sprintf("%.1f", x.At/1000)), Marked(Unknown, "not stated"), Text("none")}
		if x.HasHeight {
			row[2] = Text(u.Length(quantity.Metres(x.Height)))
		}
		if x.Loop > 0 {
			row[3] = Text(u.Length(quantity.Metres(x.Loop)))
		}
		p.Rows = append(p.Rows, row)
	}
	d.Table(p)
	g := Table{Caption: "Gradients, with the kilometres", Columns: []Column{{Title: "km from"}, {Title: "to", Align: Right}, {Title: "gradient"}}}
	for _, x := range l.Gradients {
		s := "level"
		switch {
		case x.Slope > 1e-9:
			s = fmt.Sprintf("rises 1 in %.4g", 1/x.Slope)
		case x.Slope < -1e-9:
			s = fmt.Sprintf("falls 1 in %.4g", -1/x.Slope)
		}
		g.Rows = append(g.Rows, []Cell{Text(fmt.Sprintf("%.1f", x.Start/1000)), Text(fmt.Sprintf("%.1f", x.End/1000)), Text(s)})
	}
	d.Table(g)
	s := Table{Caption: "Speed limits", Columns: []Column{{Title: "where"}, {Title: "speed", Align: Right}}}
	for _, x := range l.Sections {
		speed := Marked(Unknown, "not stated")
		if x.Speed > 0 {
			speed = Text(u.SpeedRounded(quantity.MetresPerSecond(x.Speed), quantity.Down))
		}
		s.Rows = append(s.Rows, []Cell{Text(x.Name()), speed})
	}
	for _, x := range l.Speeds {
		s.Rows = append(s.Rows, []Cell{Text(fmt.Sprintf("km %.1f to %.1f", x.Start/1000, x.End/1000)), Text(u.SpeedRounded(quantity.MetresPerSecond(x.AtMost), quantity.Down))})
	}
	d.Table(s)
	if len(l.Curves) > 0 {
		k := Table{Caption: "Curves", Columns: []Column{{Title: "km from"}, {Title: "to", Align: Right}, {Title: "radius", Align: Right}, {Title: "hand"}}}
		for _, x := range l.Curves {
			k.Rows = append(k.Rows, []Cell{Text(fmt.Sprintf("%.1f", x.Start/1000)), Text(fmt.Sprintf("%.1f", x.End/1000)), Text(u.Length(quantity.Metres(x.Radius))), Text(x.Hand)})
		}
		d.Table(k)
	}
	w := &worth{}
	w.add("line "+l.Name, l.Source)
	w.on(d)
	d.Footer = append(d.Footer, fmt.Sprintf("Line %s, hash %.12s. Local rules and the notices of the day come first.", l.Name, l.Hash))
	return d
}
