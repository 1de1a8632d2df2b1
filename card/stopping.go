package card

import (
	"fmt"
	"math"

	"headstock/consist"
	"headstock/fleet"
	"headstock/haul"
	"headstock/quantity"
	"headstock/rule"
)

// slope words a grade as seen ahead.
func slope(falling float64) string {
	switch {
	case math.Abs(falling) < 1e-6:
		return "on the level"
	case falling > 0:
		return fmt.Sprintf("on 1 in %.4g falling", 1/falling)
	}
	return fmt.Sprintf("on 1 in %.4g rising", -1/falling)
}

// metres rounds a distance that must be kept clear up to 5 m.
func metres(d float64) string { return fmt.Sprintf("%.0f m", 5*math.Ceil(d/5-1e-9)) }

// kelvins words a rise of temperature, rounded up to 5 K.
func kelvins(k float64) string { return fmt.Sprintf("%.0f K", 5*math.Ceil(k/5-1e-9)) }

func kN(n float64) string { return fmt.Sprintf("%.0f kN", n/1000) }

// fewer rounds a force that holds down.
func holds(n float64) string { return fmt.Sprintf("%.1f kN", math.Floor(n/100+1e-6)/10) }

func tonnes(kg float64) string { return fmt.Sprintf("%.0f t", kg/1000) }

func kmh(v float64) string { return fmt.Sprintf("%.3g km/h", v*3.6) }

// moving says in the foot what an answer on a moving or standing train rests on.
func moving(d *Document, c *consist.Consist, r *rule.Rules, seconds float64, assumes []string) {
	for _, a := range assumes {
		d.Footer = append(d.Footer, "Assumed: "+a+".")
	}
	var classes []*fleet.Class
	for _, v := range c.Vehicles {
		classes = append(classes, v.Class)
	}
	d.rests(classes...)
	d.Footer = append(d.Footer, "Rules: "+r.Title+". Local rules come first.",
		fmt.Sprintf("Computed from %.0f min of air run through this consist at 20 °C and sea level; pressures are gauge. Distances are rounded up and what holds is rounded down.", math.Ceil(seconds/60)))
}

// weakLaws is what must be known of figures whose laws nobody could read.
const weakLaws = "The friction of cast iron, fade, heat and braking adhesion are from memory or common practice: see the sensitivities, and keep a margin."

// Stop words a stop.
func Stop(c *consist.Consist, a *haul.StopAnswer, r *rule.Rules, u quantity.Units) *Document {
	how := "full service"
	if a.Emergency {
		how = "emergency"
	}
	d := &Document{Title: fmt.Sprintf("Stop: %s from %s %s", how, kmh(a.Speed), slope(a.Falling)), Subtitle: c.Fleet.Railway + ": " + a.Consist}
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("Stops in %s from where the handle is moved.", metres(a.Distance))}
	if a.Reaction > 0 {
		v.Text = fmt.Sprintf("Stops in %s: %s before the handle is moved, %s after.", metres(a.Distance+a.Reaction), metres(a.Reaction), metres(a.Distance))
	}
	if !a.Stops {
		v.Mark, v.Text = Bad, fmt.Sprintf("Does not stop: it comes to %s and goes on.", kmh(a.Highest))
	}
	v.Reasons = append(v.Reasons, "Governing limit: "+a.Governs+".")
	d.Verdict = v
	if a.Highest > a.Speed+0.05 && a.Stops {
		d.Cautions = append(d.Cautions, fmt.Sprintf("On this grade the train first gains speed, to %s, while the brake comes on.", kmh(a.Highest)))
	}
	if a.Stops && a.Stands < a.Pull {
		d.Cautions = append(d.Cautions, "After the stop the air brake alone does not hold it.")
	}
	d.Cautions = append(d.Cautions, weakLaws)
	if a.Emergency {
		d.Cautions = append(d.Cautions, "A train parted or bunched in an emergency stop is another matter; coupler forces are not in this distance.")
	}
	facts := []Fact{
		{Name: "distance", Text: metres(a.Distance)}, {Name: "time", Text: u.Seconds(quantity.Seconds(math.Ceil(a.Time)))},
		{Name: "mean deceleration", Text: fmt.Sprintf("%.2f m/s²", a.Slows)},
		{Name: "brake nine tenths on", Text: u.Seconds(quantity.Seconds(a.BuildUp)) + " after the handle"},
		{Name: "mass", Text: tonnes(a.Mass)},
		{Name: "block force built up", Text: fmt.Sprintf("%s, %.0f %% of the weight", kN(a.FullForce), 100*a.FullForce/(a.Mass*9.81))},
		{Name: "grade pulls", Text: kN(a.Pull)},
		{Name: "with the resistance for hauling", Text: metres(a.HighRolls) + " (not to be counted on)"},
	}
	if !a.Stops {
		facts = facts[3:]
	}
	d.Facts(facts...)
	d.Heading(1, "Braked-weight percentage")
	p := a.Percent
	var pf []Fact
	if p.Record > 0 {
		pf = append(pf, Fact{Name: "from the records", Text: fmt.Sprintf("%.0f %%", math.Floor(p.Record))})
	} else {
		for _, l := range p.Lacks {
			pf = append(pf, Fact{Name: "from the records", Text: "cannot say: needs " + l, Mark: Unknown})
		}
	}
	if p.Computed > 0 {
		pf = append(pf, Fact{Name: "from this train's own stop", Text: fmt.Sprintf("%.0f %% (%s from 100 km/h on the level)", math.Floor(p.Computed), metres(p.At100))})
	}
	if p.Distance > 0 {
		pf = append(pf, Fact{Name: "and back", Text: fmt.Sprintf("that percentage stops in %s from %s on the level", metres(p.Distance), kmh(a.Speed))})
	}
	d.Facts(pf...)
	d.Paragraph(Quiet, p.Note+".")
	d.Heading(1, "What moves the distance")
	t := Table{Columns: []Column{{Title: "with"}, {Title: "distance", Align: Right}}}
	for _, s := range a.Without {
		x := Text(metres(s.Distance))
		if !s.Stops {
			x = Marked(Bad, "does not stop")
		}
		t.Rows = append(t.Rows, []Cell{Text(s.What), x})
	}
	if s := a.Sample; s != nil {
		t.Rows = append(t.Rows, []Cell{Text(fmt.Sprintf("%d stops drawn (seed %d): 95 of 100 within", s.Count, s.Seed)), Text(metres(s.P95))},
			[]Cell{Text("the longest of them"), Text(metres(s.Longest))})
		if s.Not > 0 {
			t.Rows = append(t.Rows, []Cell{Text("of them did not stop"), Marked(Bad, fmt.Sprint(s.Not))})
		}
	}
	d.Table(t)
	d.Heading(1, "Every vehicle")
	vt := Table{Columns: []Column{{Title: "vehicle"}, {Title: "mass", Align: Right}, {Title: "cylinder", Align: Right}, {Title: "blocks", Align: Right}, {Title: "of its weight", Align: Right}, {Title: "begins", Align: Right}, {Title: "wheel warms", Align: Right}, {Title: ""}}}
	for _, x := range a.Vehicles {
		row := []Cell{Text(x.Vehicle), Text(tonnes(x.Mass)), Text(u.Gauge(quantity.Gauge(x.Cylinder))), Text(kN(x.Blocks)), Text(fmt.Sprintf("%.0f %%", 100*x.Share)), Text(fmt.Sprintf("%.1f s", x.Begins)), Text(kelvins(x.Wheel)), Text("")}
		switch {
		case !x.Braked:
			row[7] = Marked(Warn, "no brake")
			row[5] = Text("–")
		case x.Slides:
			row[7] = Marked(Warn, "slides")
		}
		if x.Wheel == 0 {
			row[6] = Text("–")
		}
		vt.Rows = append(vt.Rows, row)
	}
	d.Table(vt)
	moving(d, c, r, a.Seconds, a.Assumes)
	return d
}
