package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

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

// upTo5 rounds up to 5.
func upTo5(x float64) float64 { return math.Max(0, 5*math.Ceil(x/5-1e-9)) }

// metres rounds a distance that must be kept clear up to 5 m, or to 20 ft.
func metres(d float64, u quantity.Units) string {
	if u == quantity.Imperial() {
		return fmt.Sprintf("%.0f ft", 20*math.Ceil(quantity.Metres(d).Feet()/20-1e-9))
	}
	return fmt.Sprintf("%.0f m", upTo5(d))
}

// kelvins words a rise of temperature, rounded up to 5 K, or to 10 °F.
func kelvins(k float64, u quantity.Units) string {
	if u == quantity.Imperial() {
		return fmt.Sprintf("%.0f °F", 10*math.Ceil(fahrenheit(k)/10-1e-9))
	}
	return fmt.Sprintf("%.0f K", upTo5(k))
}

// fahrenheit is a difference of temperature in degrees Fahrenheit.
func fahrenheit(k float64) float64 {
	return quantity.Kelvin(273.15+k).Fahrenheit() - quantity.Kelvin(273.15).Fahrenheit()
}

func nearly(n float64, u quantity.Units) string {
	return u.ForceRounded(quantity.Newtons(n), quantity.Nearest)
}

// needs rounds a force that has to be held up, holds one that holds down.
func needs(n float64, u quantity.Units) string {
	return u.ForceRounded(quantity.Newtons(n), quantity.Up)
}

func holds(n float64, u quantity.Units) string {
	return u.ForceRounded(quantity.Newtons(n), quantity.Down)
}

// watts words a power to a tenth, so that one near its limit is seen to be.
func watts(w float64, u quantity.Units) string {
	if u == quantity.Imperial() {
		return fmt.Sprintf("%.1f hp", quantity.Watts(w).Horsepower())
	}
	return fmt.Sprintf("%.1f kW", w/1000)
}

func tonnes(kg float64, u quantity.Units) string { return u.Mass(quantity.Kilograms(kg)) }

func kmh(v float64, u quantity.Units) string { return u.Speed(quantity.MetresPerSecond(v)) }

// moving says in the foot what an answer on a moving or standing train rests on.
func moving(d *Document, c *consist.Consist, r *rule.Rules, seconds float64, model string, assumes []string) {
	for _, a := range assumes {
		d.Footer = append(d.Footer, "Assumed: "+a+".")
	}
	var classes []*fleet.Class
	for _, v := range c.Vehicles {
		classes = append(classes, v.Class)
	}
	d.rests(classes...)
	by := ""
	if model != "" {
		by = " with air model " + model
		d.Rests = append(d.Rests, "air model "+model)
	}
	d.Footer = append(d.Footer, "Rules: "+r.Title+". Local rules come first.",
		fmt.Sprintf("Computed from %.0f min of air run through this consist at 20 °C and sea level%s; pressures are gauge. Distances are rounded up and what holds is rounded down.", math.Ceil(seconds/60), by))
}

// weakLaws is what must be known of figures whose laws nobody could read.
const weakLaws = "The friction of cast iron, fade, heat and braking adhesion are from memory or common practice: see the sensitivities, and keep a margin."

// uncharged makes a verdict on a train that did not charge a refusal.
func uncharged(v *Verdict, why []string) {
	for _, w := range why {
		v.Mark = Bad
		v.Reasons = append([]string{"This train must not run: " + w + "."}, v.Reasons...)
	}
}

// Stop words a stop.
func Stop(c *consist.Consist, a *haul.StopAnswer, r *rule.Rules, u quantity.Units) *Document {
	how := "full service"
	if a.Emergency {
		how = "emergency"
	}
	d := &Document{Title: fmt.Sprintf("Stop: %s from %s %s", how, kmh(a.Speed, u), slope(a.Falling)), Subtitle: c.Fleet.Railway + ": " + a.Consist}
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("Stops in %s from where the handle is moved.", metres(a.Distance, u))}
	if a.Reaction > 0 {
		v.Text = fmt.Sprintf("Stops in %s: %s before the handle is moved, %s after.", metres(a.Distance+a.Reaction, u), metres(a.Reaction, u), metres(a.Distance, u))
	}
	if !a.Stops {
		v.Mark, v.Text = Bad, fmt.Sprintf("Runs away: it does not stop, comes to %s and goes on.", kmh(a.Highest, u))
	}
	v.Reasons = append(v.Reasons, "Governing limit: "+inUnits(a.Governs, u)+".")
	uncharged(v, a.Uncharged)
	d.Verdict = v
	if a.Highest > a.Speed+0.05 && a.Stops {
		d.Cautions = append(d.Cautions, fmt.Sprintf("On this grade the train first gains speed, to %s, while the brake comes on.", kmh(a.Highest, u)))
	}
	if a.Stops && a.Stands < a.Pull {
		d.Cautions = append(d.Cautions, "After the stop the air brake alone does not hold it.")
	}
	d.Cautions = append(d.Cautions, weakLaws)
	if len(a.Outside) > 0 {
		if v.Mark == Good {
			v.Mark = None // nothing vouches for the figure
		}
		d.Cautions = append(d.Cautions, inUnits("This stop lies outside what was held against published stops of whole trains, and even those are met with calibrated figures: "+strings.Join(a.Outside, "; ")+".", u))
	} else {
		d.Cautions = append(d.Cautions, "This stop is of the sort that was held against published stops of whole trains (within 8 %, calibrated with them in sight).")
	}
	if a.Emergency {
		d.Cautions = append(d.Cautions, "A train parted or bunched in an emergency stop is another matter; coupler forces are not in this distance.")
	}
	facts := []Fact{
		{Name: "distance", Text: metres(a.Distance, u)}, {Name: "time", Text: u.Seconds(quantity.Seconds(math.Ceil(a.Time)))},
		{Name: "mean deceleration", Text: fmt.Sprintf("%.2f m/s²", a.Slows)},
		{Name: "brake nine tenths on", Text: u.Seconds(quantity.Seconds(a.BuildUp)) + " after the handle"},
		{Name: "mass", Text: tonnes(a.Mass, u)},
		{Name: "block force built up", Text: fmt.Sprintf("%s, %.0f %% of the weight", nearly(a.FullForce, u), 100*a.FullForce/(a.Mass*9.81))},
		{Name: "grade pulls", Text: nearly(a.Pull, u)},
		{Name: "with the resistance for hauling", Text: metres(a.HighRolls, u) + " (not to be counted on)"},
	}
	if !a.Stops {
		facts = facts[3:]
	}
	d.Facts(facts...)
	if len(a.Points) > 1 {
		d.Chart(StopChart(a, u))
		d.Table(stopTable(a, u))
	}
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
		pf = append(pf, Fact{Name: "from this train's own stop", Text: fmt.Sprintf("%.0f %% (%s from %s on the level)", math.Floor(p.Computed), metres(p.At100, u), kmh(100/3.6, u))})
	}
	if p.Distance > 0 {
		pf = append(pf, Fact{Name: "and back", Text: fmt.Sprintf("that percentage stops in %s from %s on the level", metres(p.Distance, u), kmh(a.Speed, u))})
	}
	d.Facts(pf...)
	d.Paragraph(Quiet, p.Note+".")
	d.Heading(1, "What moves the distance")
	t := Table{Columns: []Column{{Title: "with"}, {Title: "distance", Align: Right}}}
	for _, s := range a.Without {
		x := Text(metres(s.Distance, u))
		if !s.Stops {
			x = Marked(Bad, "does not stop")
		}
		t.Rows = append(t.Rows, []Cell{Text(s.What), x})
	}
	if s := a.Sample; s != nil {
		t.Rows = append(t.Rows, []Cell{Text(fmt.Sprintf("%d stops drawn (seed %d): 95 of 100 within", s.Count, s.Seed)), Text(metres(s.P95, u))},
			[]Cell{Text("the longest of them"), Text(metres(s.Longest, u))})
		if s.Not > 0 {
			t.Rows = append(t.Rows, []Cell{Text("of them did not stop"), Marked(Bad, fmt.Sprint(s.Not))})
		}
	}
	d.Table(t)
	d.Heading(1, "Every vehicle")
	vt := Table{Columns: []Column{{Title: "vehicle"}, {Title: "mass", Align: Right}, {Title: "cylinder", Align: Right}, {Title: "blocks", Align: Right}, {Title: "of its weight", Align: Right}, {Title: "begins", Align: Right}, {Title: "wheel warms", Align: Right}, {Title: ""}}}
	for _, x := range a.Vehicles {
		row := []Cell{Text(x.Vehicle), Text(tonnes(x.Mass, u)), Text(u.Gauge(quantity.Gauge(x.Cylinder))), Text(nearly(x.Blocks, u)), Text(fmt.Sprintf("%.0f %%", 100*x.Share)), Text(fmt.Sprintf("%.1f s", x.Begins)), Text(kelvins(x.Wheel, u)), Text("")}
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
	w := trainWorth(haul.Of(c))
	w.braking(c, r)
	w.on(d)
	moving(d, c, r, a.Seconds, a.AirModel, a.Assumes)
	return d
}

// stopTable is the stop over the time.
func stopTable(a *haul.StopAnswer, u quantity.Units) Table {
	t := Table{Caption: "The stop over the time", Columns: []Column{{Title: "after", Align: Right}, {Title: "distance", Align: Right}, {Title: "speed", Align: Right}, {Title: "all brakes", Align: Right}}}
	every := max(1, len(a.Points)/12)
	for i, p := range a.Points {
		if i%every == 0 || i == len(a.Points)-1 {
			t.Rows = append(t.Rows, []Cell{Text(fmt.Sprintf("%.1f s", p.Time)), Text(metres(p.Distance, u)), Text(kmh(p.Speed, u)), Text(holds(p.Force, u))})
		}
	}
	return t
}

// Hold words what holds a standing train.
func Hold(c *consist.Consist, a *haul.HoldAnswer, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Hold: hand brakes " + slope(a.Falling), Subtitle: c.Fleet.Railway + ": " + a.Consist}
	v := &Verdict{}
	unknown := len(a.Lacks) > 0
	switch {
	case a.Held && a.Count == 0:
		v.Mark, v.Text = Good, "On the level nothing pulls by the figures; put on what the rules ask all the same."
	case a.Held:
		v.Mark, v.Text = Good, fmt.Sprintf("%s on the vehicles named hold it, %.2f times what the grade pulls.", count(a.Count, "hand brake"), math.Floor(100*a.Applied/a.Pull)/100)
	case unknown:
		v.Mark, v.Text = Unknown, "Cannot say whether it is held: those that are known are not enough."
	default:
		v.Mark, v.Text = Bad, fmt.Sprintf("Not held: all hand brakes together lack %s. They are not enough, whatever is done with them.", needs(a.Short, u))
		if a.Count == 0 {
			v.Text = "Not held: no hand brake of this train works."
		}
	}
	for _, l := range a.Lacks {
		v.Reasons = append(v.Reasons, "Needs: "+l+".")
	}
	if a.Held && a.Count > 0 {
		v.Reasons = append(v.Reasons, fmt.Sprintf("With the best of them not effective %s hold against %s.", holds(a.OneOut, u), needs(a.Pull, u)))
	}
	v.Reasons = append(v.Reasons, fmt.Sprintf("A common chart for level ground asks for %d; on a grade it says nothing.", a.Chart))
	d.Verdict = v
	d.Cautions = append(d.Cautions, "Air is no parking brake. Nobody goes between before the holding test has been made.", "Friction at rest, adhesion and the margin are from memory or common practice.")
	if !a.Held {
		d.Heading(1, "What else is needed")
		var items []Item
		for _, e := range a.Else {
			items = append(items, Item{Text: e})
		}
		d.Bullets(items...)
	}
	d.Facts(
		Fact{Name: "mass", Text: tonnes(a.Mass, u)},
		Fact{Name: "the grade pulls", Text: needs(a.Pull, u)},
		Fact{Name: "with the margin", Text: fmt.Sprintf("%s (%.0f %%)", needs(a.Need, u), 100*a.Margin)},
		Fact{Name: "all working hand brakes", Text: holds(a.All, u)},
		Fact{Name: "steepest grade they hold it on", Text: fmt.Sprintf("1 in %.0f", math.Ceil(1/math.Max(a.Steepest, 1e-4)))},
		Fact{Name: "rolling resistance, not counted", Text: fmt.Sprintf("%s for stopping and securing, %s at starting", holds(a.RollsLow, u), nearly(a.Starts, u))},
	)
	d.Heading(1, "Which")
	t := Table{Columns: []Column{{Title: "vehicle"}, {Title: "hand brake"}, {Title: "each holds", Align: Right}, {Title: "put on"}}}
	first, last := "", ""
	for _, h := range a.Hands {
		row := []Cell{Text(h.Vehicle), Text(h.Name), Text(holds(h.Holds, u)), Text("")}
		if h.Limited {
			row[2].Text += " (rail)"
		}
		switch {
		case h.Not != "":
			row[3] = Marked(Bad, "not counted: "+h.Not)
		case h.On:
			row[3] = Text("on")
		default:
			row[3] = Marked(Quiet, "may stay off")
		}
		// vehicles in a row whose hand brakes are treated alike share a line
		if n := len(t.Rows); n > 0 && h.Vehicle != last && slices.Equal(t.Rows[n-1][1:], row[1:]) {
			last = h.Vehicle
			t.Rows[n-1][0].Text = first + " to " + last
			continue
		}
		first, last = h.Vehicle, h.Vehicle
		t.Rows = append(t.Rows, row)
	}
	d.Table(t)
	d.Heading(1, "Holding test")
	var steps []Item
	for _, s := range a.Test {
		steps = append(steps, Item{Text: s})
	}
	d.Steps(steps...)
	if x := a.Air; x != nil {
		d.Heading(1, "On air alone")
		switch {
		case x.Never:
			d.Paragraph(Bad, fmt.Sprintf("A full service application holds %s at rest and %s are needed: air does not hold it at all.", holds(x.Holds, u), needs(a.Need, u)))
		case x.Until > 0:
			d.Paragraph(Warn, fmt.Sprintf("A full service application holds it for %s and then no longer; %s had lost %s by the end of %s.", u.Seconds(quantity.Seconds(math.Floor(x.Until))), x.Lowest, u.Gauge(quantity.Gauge(x.Fell)), u.Seconds(quantity.Seconds(x.Watch))))
		default:
			d.Paragraph(Warn, fmt.Sprintf("By the leaks of the records a full service application still holds after %s (%s at first, %s then; lowest: %s).", u.Seconds(quantity.Seconds(x.Watch)), holds(x.Holds, u), holds(x.Ends, u), x.Lowest))
		}
		if !x.Never {
			d.Paragraph(Warn, fmt.Sprintf("Count on at most %s, only to put hand brakes on in; without a measured leakage of the cylinders not longer.", u.Seconds(quantity.Seconds(x.Counted))))
		}
	}
	d.Heading(1, "What moves the number")
	w := Table{Columns: []Column{{Title: "with"}, {Title: "hand brakes", Align: Right}}}
	for _, s := range a.Without {
		x := Text(fmt.Sprint(s.Count))
		if !s.Held {
			x = Marked(Bad, "all are not enough")
		}
		w.Rows = append(w.Rows, []Cell{Text(s.What), x})
	}
	d.Table(w)
	x := trainWorth(haul.Of(c))
	x.braking(c, r)
	x.on(d)
	moving(d, c, r, a.Seconds, a.AirModel, a.Assumes)
	if a.Seconds == 0 {
		for i, f := range d.Footer {
			if len(f) > 13 && f[:13] == "Computed from" {
				d.Footer[i] = "Computed from the records; no air was run. What is needed is rounded up and what holds is rounded down."
			}
		}
	}
	return d
}

// Descend words a way down.
func Descend(c *consist.Consist, a *haul.DescendAnswer, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: fmt.Sprintf("Come down: %s, %s", slope(a.Steepest), u.Distance(quantity.Metres(a.Length))), Subtitle: c.Fleet.Railway + ": " + a.Consist}
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("It can be held at %s on the air brake.", kmh(a.Speed, u))}
	switch {
	case !a.Safe && a.Asked:
		v.Mark, v.Text = Bad, fmt.Sprintf("It cannot be held safely at %s: do not go down at it.", kmh(a.Speed, u))
		v.Reasons = append(v.Reasons, inUnits(a.Holding.Governs, u)+".")
		if a.Fastest > 0 {
			v.Reasons = append(v.Reasons, fmt.Sprintf("The greatest safe speed is %s.", kmh(a.Fastest, u)))
		}
	case !a.Safe:
		v.Mark, v.Text = Bad, "It cannot be held safely at any speed: do not go down with this train."
		v.Reasons = append(v.Reasons, inUnits(a.Holding.Governs, u)+".")
	default:
		v.Reasons = append(v.Reasons, fmt.Sprintf("The greatest safe speed is %s; beyond it: %s.", kmh(a.Fastest, u), inUnits(a.Beyond, u)))
	}
	if a.Lost > 0 {
		v.Reasons = append(v.Reasons, fmt.Sprintf("Runaway: from %s on the grade pulls harder than full service on cold wheels; nothing here would hold it again.", u.SpeedRounded(quantity.MetresPerSecond(a.Lost), quantity.Down)))
	} else {
		v.Reasons = append(v.Reasons, fmt.Sprintf("Up to %s full service on cold wheels pulls harder than the grade; hot wheels give less.", kmh(100/3.6, u)))
	}
	uncharged(v, a.Uncharged)
	y := a.Cycle
	switch {
	case y.Allowed:
		v.Reasons = append(v.Reasons, fmt.Sprintf("A release is allowed: charged again in %s, and the speed is lost after %s.", long(y.Recharge, u), long(y.Available, u)))
	case y.Retainers > 0:
		v.Reasons = append(v.Reasons, fmt.Sprintf("No release without retainers: %s to charge, %s until the speed is lost. Put %d retainers up.", long(y.Recharge, u), long(y.Available, u), y.Retainers))
	default:
		v.Reasons = append(v.Reasons, fmt.Sprintf("No release on this grade: %s to charge, %s until the speed is lost%s.", long(y.Recharge, u), long(y.Available, u), map[bool]string{true: ", and all retainers are not enough", false: ", and no retainers are fitted"}[y.HasRetainer]))
	}
	d.Verdict = v
	if len(a.Cooling) > 0 {
		d.Cautions = append(d.Cautions, "Wheels get too hot on the way: stop where it says and let them cool.")
	}
	d.Cautions = append(d.Cautions, "The speed limits of the line and of each vehicle stand before any speed here.", weakLaws, "If the speed rises above what was meant, apply at once and stop; a brake that is let off to try again may not come back.")
	h := a.Holding
	d.Facts(
		Fact{Name: "mass", Text: fmt.Sprintf("%s, %s for each brake that works", tonnes(a.Mass, u), tonnes(a.Without, u))},
		Fact{Name: "brakes must give", Text: needs(h.Need, u)},
		Fact{Name: "share of full service", Text: fmt.Sprintf("%.0f %%", math.Ceil(100*h.Share))},
		Fact{Name: "reduction that balances", Text: u.Gauge(quantity.Gauge(h.Reduction))},
		Fact{Name: "hardest wheel", Text: fmt.Sprintf("%s of %s (%s)", watts(h.Wheel, u), watts(h.WheelMay, u), h.Of)},
		Fact{Name: "running resistance", Text: fmt.Sprintf("%s counted on, %s by the form for hauling", nearly(a.RollsLow, u), nearly(a.RollsHi, u))},
	)
	if a.Most > 0 {
		d.Facts(Fact{Name: "greatest trailing load on these brakes at this speed", Text: fmt.Sprintf("%s (then: %s)", roundedDown(a.Most, u), inUnits(a.MostBy, u))})
	}
	d.Heading(1, "Applying and releasing")
	d.Facts(
		Fact{Name: "application", Text: u.Gauge(quantity.Gauge(y.Reduction))},
		Fact{Name: "released at", Text: fmt.Sprintf("%s, on again by %s", kmh(y.From, u), kmh(y.To, u))},
		Fact{Name: "charged again after", Text: long(y.Recharge, u) + map[bool]string{true: " (last: " + y.Last + ")", false: ""}[y.Last != ""]},
		Fact{Name: "speed lost after", Text: long(y.Available, u)},
		Fact{Name: "with all brakes off at once", Text: long(y.Kinematic, u)},
	)
	if y.HasRetainer && !y.Allowed {
		switch {
		case y.Retainers > 0:
			d.Facts(Fact{Name: "with the retainers", Text: "speed lost after " + long(y.With, u)})
		case y.Retainers < 0:
			d.Facts(Fact{Name: "with all retainers", Text: "speed lost after " + long(y.With, u) + ": not enough", Mark: Bad})
		}
		if len(y.Which) > 0 {
			t := Table{Caption: "Retainers, before the summit and standing", Columns: []Column{{Title: "vehicle"}, {Title: "retainer"}, {Title: "position"}, {Title: "keeps after a minute", Align: Right}}}
			first := ""
			for _, x := range y.Which { // those treated alike share a line
				row := []Cell{Text(x.Vehicle), Text(x.Name), Text(x.Position), Text(u.Gauge(quantity.Gauge(x.Keeps)))}
				if n := len(t.Rows); n > 0 && slices.Equal(t.Rows[n-1][1:], row[1:]) {
					t.Rows[n-1][0].Text = first + " to " + x.Vehicle
					continue
				}
				first = x.Vehicle
				t.Rows = append(t.Rows, row)
			}
			d.Table(t)
		}
	}
	if len(a.Cooling) > 0 {
		d.Heading(1, "Where to stop for cooling")
		t := Table{Columns: []Column{{Title: "at"}, {Title: "wheel above the air", Align: Right}, {Title: "stand for", Align: Right}}}
		for _, x := range a.Cooling {
			where := u.Distance(quantity.Metres(x.At)) + " from the head of the grade"
			if x.Place != "" {
				where = x.Place
			}
			t.Rows = append(t.Rows, []Cell{Text(where), Text(kelvins(x.Wheel, u)), Text(u.Seconds(quantity.Seconds(x.For)))})
		}
		d.Table(t)
	}
	d.Heading(1, "What each reduction balances at this speed")
	rt := Table{Columns: []Column{{Title: "reduction"}, {Title: "force at the rail", Align: Right}, {Title: "balances", Align: Right}}}
	for _, s := range a.Steps {
		rt.Rows = append(rt.Rows, []Cell{Text(u.Gauge(quantity.Gauge(s.Reduction))), Text(nearly(s.Force, u)), Text(fmt.Sprintf("1 in %.0f", math.Ceil(1/math.Max(s.Balances, 1e-4))))})
	}
	d.Table(rt)
	if len(a.Course) > 1 {
		d.Chart(DescendChart(a, u))
		ct := Table{Caption: "The hottest wheel along the way", Columns: []Column{{Title: "from the head", Align: Right}, {Title: "wheel above the air", Align: Right}, {Title: "tread", Align: Right}}}
		every := max(1, len(a.Course)/14)
		for i, p := range a.Course {
			if i%every == 0 || i == len(a.Course)-1 {
				ct.Rows = append(ct.Rows, []Cell{Text(u.Distance(quantity.Metres(p.Distance))), Text(kelvins(p.Wheel, u)), Text(kelvins(p.Tread, u))})
			}
		}
		d.Table(ct)
	}
	d.Heading(1, "Heat at the foot")
	ht := Table{Columns: []Column{{Title: "vehicle"}, {Title: "a wheel takes", Align: Right}, {Title: "wheel above the air", Align: Right}, {Title: "tread", Align: Right}, {Title: "friction left", Align: Right}}}
	for _, x := range a.Heat {
		row := []Cell{Text(x.Vehicle), Text(watts(x.Power, u)), Text(kelvins(x.Wheel, u)), Text(kelvins(x.Tread, u)), Text(fmt.Sprintf("%.0f %%", math.Floor(100*x.Fades)))}
		if x.Fades < 1 {
			row[4] = Marked(Bad, row[4].Text)
		}
		ht.Rows = append(ht.Rows, row)
	}
	d.Table(ht)
	d.Heading(1, "What moves the greatest safe speed")
	w := Table{Columns: []Column{{Title: "with"}, {Title: "speed", Align: Right}, {Title: "limited by"}}}
	for _, s := range a.Others {
		x := Text(kmh(s.Speed, u))
		if s.Speed == 0 {
			x = Marked(Bad, "none")
		}
		w.Rows = append(w.Rows, []Cell{Text(s.What), x, Text(inUnits(s.By, u))})
	}
	d.Table(w)
	x := trainWorth(haul.Of(c))
	x.braking(c, r)
	x.on(d)
	moving(d, c, r, a.Seconds, a.AirModel, a.Assumes)
	return d
}

// long words a time that may have no end (-1) or not have come about (0).
func long(t float64, u quantity.Units) string {
	switch {
	case t < 0:
		return "never"
	case t == 0:
		return "more than 7 min"
	}
	return u.Seconds(quantity.Seconds(math.Floor(t)))
}
