package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prepare"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
)

// Cocks is how every cock of a class looks in each of its positions, stand by stand, as it
// is on a unit (nil: in the class); with a system, those of that system alone.
func Cocks(c *fleet.Class, u *fleet.Unit, system string) *Document {
	d := &Document{Title: "Which way is open", Subtitle: nameOf(c, u)}
	if system != "" {
		d.Subtitle += ", " + system
	}
	d.Paragraph(None, "Go by what is written for this cock; a cock of another class may look the other way about.")
	n := 0
	for _, p := range append(slices.Clone(c.Places), fleet.Place{}) {
		t := Table{Caption: p.Name, Columns: []Column{{Title: "cock"}, {Title: "stands"}, {Title: "how it looks"}}}
		for _, x := range CocksOf(c, u) {
			if _, known := c.Place(x.Place); x.Place != p.ID && (known || p.ID != "") || system != "" && x.System != system {
				continue
			}
			n++
			name := Text(x.Name)
			if x.MustNotMove {
				name = Marked(Warn, x.Name+" – must not be moved")
			}
			row := []Cell{name}
			for _, ps := range x.Positions {
				t.Rows = append(t.Rows, append(row, Text(ps.ID), Text(ps.Looks)))
				row = []Cell{Text("")}
			}
			if u != nil {
				for _, o := range u.Today(x.ID) {
					t.Rows = append(t.Rows, []Cell{Text(""), Marked(Warn, "today"), Marked(Warn, today(u, o))})
				}
			}
		}
		if len(t.Rows) == 0 {
			continue
		}
		if t.Caption == "" {
			t.Caption = "Place not in the record"
		}
		t.Caption = upper(t.Caption)
		d.Heading(1, t.Caption)
		d.Table(t)
	}
	if n == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record holds no cock here."}
	}
	d.rests(c)
	return d
}

// CocksOf are the cocks of a class that are on a unit (nil: of the class), in the order of
// the record.
func CocksOf(c *fleet.Class, u *fleet.Unit) []*fleet.Device {
	return slices.DeleteFunc(slices.Clone(c.Devices), func(x *fleet.Device) bool {
		return x.Kind != "cock" || u != nil && !u.Carries(c, x)
	})
}

// Places is where the devices of a function are: place, side, how each position looks. With
// none on the record it says so, and that this is no proof that the machine has none.
func Places(f *fleet.Fleet, c *fleet.Class, u *fleet.Unit, title string, functions ...string) []*Document {
	var out []*Document
	for _, fn := range functions {
		for _, x := range c.DevicesOf(fn) {
			if u == nil || u.Carries(c, x) {
				out = append(out, Device(f, c, u, x))
			}
		}
	}
	if len(out) == 0 {
		d := &Document{Title: title, Subtitle: nameOf(c, u), Verdict: &Verdict{Mark: Unknown, Text: "Cannot say: the record of class " + c.Name + " holds none (" + strings.Join(functions, ", ") + ")."}}
		d.rests(c)
		out = append(out, d)
	}
	return out
}

// changing are the functions of the devices that are set by what stands next to a unit.
func changing() []string { return []string{"third-pipe-meaning", "third-pipe-direction", "unit-valve"} }

// Changeover is where the devices go that are set by the unit's role and by what leads,
// with how each looks.
func Changeover(c *fleet.Class, u *fleet.Unit) *Document {
	d := &Document{Title: "Where the changeover goes", Subtitle: nameOf(c, u)}
	var ds []*fleet.Device
	for _, fn := range changing() {
		for _, x := range c.DevicesOf(fn) {
			if u == nil || u.Carries(c, x) {
				ds = append(ds, x)
			}
		}
	}
	defer func() { d.rests(c) }()
	if len(ds) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "The record of class " + c.Name + " holds no device that is set by what stands next to it (" + strings.Join(changing(), ", ") + ")."}
		return d
	}
	t := Table{Caption: "By role and by what leads", Columns: []Column{{Title: "role"}}}
	for _, x := range ds {
		t.Columns = append(t.Columns, Column{Title: x.Name})
		for _, m := range x.Cautions {
			if !slices.Contains(d.Cautions, m) {
				d.Cautions = append(d.Cautions, m)
			}
		}
	}
	for _, r := range c.Roles {
		row := []Cell{Text(strings.TrimSuffix(r.Name+", "+r.Variant, ", "))}
		for _, x := range ds {
			at := x.Normal
			for _, cl := range r.Positions {
				if cl.Device == x.ID {
					at = cl.Position
				}
			}
			row = append(row, Text(at))
		}
		t.Rows = append(t.Rows, row)
	}
	d.Table(t)
	d.Paragraph(Quiet, "“copy lead” and “command lead” are what the leading unit puts on the third pipe, whatever class stands next. The claims of the record: the set-up card of a consist runs them.")
	d.Heading(1, "How it looks")
	t = Table{Columns: []Column{{Title: "device"}, {Title: "stands"}, {Title: "how it looks"}, {Title: "where"}}}
	for _, x := range ds {
		row := []Cell{Text(x.Name)}
		for _, p := range x.Positions {
			t.Rows = append(t.Rows, append(row, Text(p.ID), Text(p.Looks), Text(c.PlaceName(x.Place))))
			row = []Cell{Text("")}
		}
	}
	d.Table(t)
	return d
}

// StaysOn is whether brakes that stay on on a unit are normal in a consist, by its proof.
func StaysOn(p *prove.Proof, vehicle int, r *rule.Rules, u quantity.Units) *Document {
	c := p.Consist
	v := c.Vehicles[vehicle]
	d := &Document{Title: "Brakes stay on on " + v.Name(), Subtitle: "in " + c.String()}
	if c.HasDraft() {
		d.Banner = Draft
	}
	about := func(requirement, when, release string) (Mark, string) {
		f, ok := p.Finding(requirement)
		if !ok {
			return Unknown, when + ": cannot say; " + prove.Says(requirement) + " was not examined."
		}
		var mine []prove.Reason
		for _, x := range f.Reasons {
			if x.Vehicle == "" || x.Vehicle == v.Name() {
				mine = append(mine, x)
			}
		}
		switch {
		case f.Status == prove.Lost && len(mine) > 0:
			text := when + ": NORMAL HERE. " + upper(mine[0].Because) + "."
			if mine[0].CrewSees != "" {
				text += " The crew sees: " + mine[0].CrewSees + "."
			}
			if mine[0].Restrict != "" {
				text += " So: " + mine[0].Restrict + "."
			}
			return Warn, text
		case f.Status == prove.Met, f.Status == prove.Lost:
			return None, when + ": NOT NORMAL. By the record it lets go within " + release + "; if it does not, there is a fault."
		case f.Status == prove.Broken && len(mine) > 0:
			return Bad, when + ": A FAULT of the set-up. By the record it does not let go as it is set here."
		case f.Status == prove.Broken:
			return None, when + ": NOT NORMAL. By the record " + v.Name() + " lets go, although another does not; if it does not, there is a fault."
		case f.Status == prove.NotApplies:
			return Unknown, when + ": does not apply here."
		}
		return Unknown, when + ": cannot say."
	}
	m1, bail := about("quick-release", "After the quick release alone", u.Seconds(quantity.Seconds(r.V("bail-hold"))))
	m2, auto := about("automatic", "After the automatic release", u.Seconds(quantity.Seconds(r.V("release-wait")))+" of a charged brake pipe")
	m3, ind := about("independent", "After the independent is put off", u.Seconds(quantity.Seconds(r.V("independent-wait"))))
	d.Verdict = &Verdict{Mark: m1, Text: bail}
	d.Bullets(Item{Text: auto, Mark: m2}, Item{Text: ind, Mark: m3})
	d.Paragraph(None, "Where it is a fault: look first at what hangs on the joint and on the cabinet. “What could be wrong here” at the coupling lists each such slip with where it shows.")
	var classes []*fleet.Class
	for _, x := range c.Vehicles {
		classes = append(classes, x.Class)
	}
	d.rests(classes...)
	return d
}

// WontCharge is what keeps the brake pipe of a consist low: the wrong settings that leave it
// near the pressure seen (Pa gauge, within the tolerance), then the others.
func WontCharge(c *consist.Consist, x *setup.Charges, seen, tolerance float64, u quantity.Units) *Document {
	at := func(p float64) string { return u.Gauge(quantity.Gauge(p)) }
	d := &Document{Title: "The pipe will not charge past " + at(seen), Subtitle: c.String()}
	if c.HasDraft() {
		d.Banner = Draft
	}
	near, others := x.Near(seen, tolerance)
	// what can be seen standing wrong is looked at before a part is suspected
	slices.SortStableFunc(near, func(a, b setup.Charge) int {
		switch {
		case (a.Failed == "") == (b.Failed == ""):
			return 0
		case a.Failed == "":
			return -1
		}
		return 1
	})
	row := func(l setup.Charge) []Cell {
		name := Text(l.Unit + ": " + l.Device)
		if l.Keep {
			name = Marked(Warn, name.Text+" – must not be moved: look only")
		}
		if l.Failed != "" {
			return []Cell{name, Text(l.Place), Text("has failed: " + l.Failed), Text(""), Text(at(l.Pipe))}
		}
		return []Cell{name, Text(l.Place), Text("stands " + l.To), Text(l.Was), Text(at(l.Pipe))}
	}
	columns := []Column{{Title: "look at"}, {Title: "where"}, {Title: "wrong if it"}, {Title: "should stand"}, {Title: "pipe comes to", Align: Right}}
	if len(near) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: fmt.Sprintf("No single wrong setting and no single failed part of the record leaves the pipe within %s of that. Look for two at once, and for a leak larger than the record knows.", at(tolerance))}
	} else {
		d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("Look first: %s. Of all that was tried one at a time, %d leave the pipe within %s of that.", strings.TrimSuffix(near[0].Unit+", "+near[0].Device+", "+near[0].Place, ", "), len(near), at(tolerance))}
		if len(near) == 1 {
			d.Verdict.Text = strings.Replace(d.Verdict.Text, " leave ", " leaves ", 1)
		}
		d.Heading(1, "Gives this")
		t := Table{Caption: "What leaves the pipe so", Columns: columns}
		for _, l := range near {
			t.Rows = append(t.Rows, row(l))
		}
		d.Table(t)
	}
	if len(others) > 0 {
		d.Heading(1, "Also keeps it low, at another pressure")
		slices.SortStableFunc(others, func(a, b setup.Charge) int {
			da, db := math.Abs(a.Pipe-seen), math.Abs(b.Pipe-seen)
			switch {
			case da < db:
				return -1
			case da > db:
				return 1
			}
			return 0
		})
		t := Table{Caption: "The nearest first", Columns: columns}
		for _, l := range others {
			t.Rows = append(t.Rows, row(l))
		}
		d.Table(t)
	}
	d.Paragraph(None, fmt.Sprintf("As it is set up the record has it come to %s; the rules ask for at least %s.", at(x.Right), at(x.Limit)))
	d.Footer = append(d.Footer, fmt.Sprintf("Tried from an empty train, one at a time: every one of %d wrong settings, of which %d leave the air as it was, and %d failures of parts. %d runs.", x.Tried, x.Alike, x.Parts, x.Runs))
	var classes []*fleet.Class
	for _, v := range c.Vehicles {
		classes = append(classes, v.Class)
	}
	d.rests(classes...)
	return d
}

// Charging is how long a consist takes to charge from empty, by its run.
func Charging(c *consist.Consist, p *prove.Proof, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "How long charging takes", Subtitle: c.String()}
	if c.HasDraft() {
		d.Banner = Draft
	}
	var classes []*fleet.Class
	for _, v := range c.Vehicles {
		classes = append(classes, v.Class)
	}
	defer func() { d.rests(classes...) }()
	if p.Test == nil {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: there is no brake test to go by."}
		return d
	}
	for _, m := range p.Test.Misses {
		if m.Step == prove.StepCharge || m.Step == "charge the train" {
			d.Verdict = &Verdict{Mark: Bad, Text: fmt.Sprintf("By the record it is not charged within %s; it stands at %s then.", u.Seconds(quantity.Seconds(m.AtMost)), u.Gauge(quantity.Gauge(m.Value)))}
			return d
		}
	}
	took := 0.0
	for _, m := range p.Test.Marks {
		if m.Step == prove.StepCharge || m.Step == "charge the train" {
			took += m.Took
		}
	}
	lead, _ := c.Lead()
	at, _ := p.Test.Gauge(prove.StepCharge, lead, "brake-pipe")
	rear, _ := p.Test.Gauge(prove.StepCharge, len(c.Vehicles)-1, "brake-pipe")
	d.Verdict = &Verdict{Text: fmt.Sprintf("About %s from empty.", u.Seconds(quantity.Seconds(took)))}
	d.Facts(
		Fact{Name: "lead then reads", Text: u.Gauge(quantity.Gauge(at))},
		Fact{Name: "last vehicle then reads", Text: u.Gauge(quantity.Gauge(rear))},
		Fact{Name: "charged is", Text: fmt.Sprintf("at least %s at the last vehicle and no longer rising", u.Gauge(quantity.Gauge(r.V("rear"))))},
		Fact{Name: "the railway waits", Text: "at most " + u.Seconds(quantity.Seconds(r.V("charge-wait")))},
	)
	d.Paragraph(None, "From empty in every reservoir, with the main reservoirs full and the engine running. Longer than this: a leak, a cock part shut, or a supply that does not hold. Much shorter: the train is not continuous to its end.")
	return d
}

// Rings is what rings the alarm bell of a unit, found by running its circuits, and which
// lamps are told on other units of the jumper.
func Rings(c *fleet.Class, u *fleet.Unit, r *prepare.Ringing) *Document {
	d := &Document{Title: "The bell rings: which unit", Subtitle: nameOf(c, u)}
	defer func() { d.rests(c) }()
	d.Verdict = &Verdict{Text: "It is rung on this unit alone: its bell is on no wire of the jumper."}
	if w := prepare.Crosses(c, "alarm bell"); w != nil {
		through := "not through an adapter lead"
		if w.Text("through adapter") == "yes" {
			through = "also through an adapter lead"
		}
		d.Verdict = &Verdict{Mark: Warn, Text: "It may be any unit on the jumper (" + through + "). Go to each in turn; the one that rings it shows something of its own list."}
	}
	if r.Always {
		d.Paragraph(Warn, "By the record it rings on "+nameOf(c, u)+" as the unit stands.")
		return d
	}
	t := Table{Caption: "What rings it on " + nameOf(c, u), Columns: []Column{{Title: "look at"}, {Title: "it stands"}, {Title: "how that looks"}, {Title: "where"}}}
	for _, x := range r.By {
		name := x.Device.Name
		for _, p := range x.Positions {
			t.Rows = append(t.Rows, []Cell{Text(name), Text(p.ID), Text(p.Looks), Text(c.PlaceName(x.Device.Place))})
			name = ""
		}
	}
	if len(t.Rows) == 0 {
		d.Paragraph(Unknown, "By the record no single device of "+nameOf(c, u)+" rings it.")
	} else {
		d.Table(t)
	}
	var crossing, alone []string
	for _, x := range [][2]string{{"engine lamp", "engine-fault-lamp"}, {"hot engine lamp", "hot-engine-lamp"}, {"ground lamp", "ground-lamp"}, {"slip lamp", "slip-lamp"}, {"brake lamp", "brake-lamp"}} {
		if len(c.DevicesOf(x[1])) == 0 {
			continue
		}
		if prepare.Crosses(c, x[0]) != nil {
			crossing = append(crossing, x[0])
		} else {
			alone = append(alone, x[0])
		}
	}
	if len(crossing) > 0 {
		d.Paragraph(None, "Lit in the leading cab too, whichever unit it is: "+strings.Join(crossing, ", ")+".")
	}
	if len(alone) > 0 {
		d.Paragraph(None, "Lit on its own unit alone: "+strings.Join(alone, ", ")+". So look there in each unit.")
	}
	state := "at rest"
	if r.Running {
		state = "with the engine running and loaded"
	}
	d.Footer = append(d.Footer, fmt.Sprintf("Found %s, by putting each device of the circuits to each of its other positions, one at a time; %s.", state, count(r.Runs, "run")))
	return d
}

// HandBrakes is what a record holds of the hand brakes of a unit: where, how they look, what
// proves them. How many hold a train on a grade is for Hold.
func HandBrakes(c *fleet.Class, u *fleet.Unit) *Document {
	d := &Document{Title: "How many hand brakes here", Subtitle: nameOf(c, u)}
	d.Paragraph(None, "Choose the train and the grade. Air is no hand brake: it leaks away.")
	for _, m := range c.Missing {
		if strings.Contains(m.What, "hand brake") {
			d.Paragraph(Unknown, "The record does not hold the "+m.What+".")
		}
	}
	d.Heading(1, "What the record holds")
	t := Table{Caption: "Hand brakes", Columns: []Column{{Title: "hand brake"}, {Title: "where"}, {Title: "stands"}, {Title: "how it looks"}, {Title: "proof"}}}
	for _, x := range c.DevicesOf("hand-brake") {
		if u != nil && !u.Carries(c, x) {
			continue
		}
		row := []Cell{Text(x.Name), Text(c.PlaceName(x.Place))}
		for _, p := range x.Positions {
			t.Rows = append(t.Rows, append(row, Text(p.ID), Text(p.Looks), Text(x.Evidence)))
			row = []Cell{Text(""), Text("")}
		}
		if len(x.Positions) == 0 {
			t.Rows = append(t.Rows, append(row, Text(""), Text(""), Text(x.Evidence)))
		}
		if u != nil {
			for _, df := range u.Defects {
				if df.Device == x.ID {
					t.Rows = append(t.Rows, []Cell{Text(""), Marked(Bad, "open defect since "+df.Date), Marked(Bad, df.Text), Text(""), Text("")})
				}
			}
		}
	}
	if len(t.Rows) == 0 {
		d.Paragraph(Unknown, "The record of class "+c.Name+" holds no hand brake.")
	} else {
		d.Table(t)
	}
	d.rests(c)
	return d
}

// Travels are the limits of piston travel of a unit, before anything is entered.
func Travels(c *fleet.Class, u *fleet.Unit) *Document {
	d := &Document{Title: "Piston travel", Subtitle: nameOf(c, u)}
	t := Table{Caption: "Limits", Columns: []Column{{Title: "piston"}, {Title: "limit"}, {Title: "how"}, {Title: "outside it"}}}
	for _, k := range c.Checks {
		if k.Measures != "travel" {
			continue
		}
		then := k.Then
		if k.Outside != "" && k.Outside != then {
			then = strings.TrimPrefix(then+"; "+k.Outside, "; ")
		}
		t.Rows = append(t.Rows, []Cell{Text(k.What), Text(k.Limit.Text), Text(k.How), Text(then)})
	}
	if len(t.Rows) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record of class " + c.Name + " holds no limit of piston travel."}
	} else {
		d.Table(t)
		d.Paragraph(None, "Travel is how far the rod stands out with the brake on, less how far with it off.")
	}
	d.rests(c)
	return d
}

// Slip is what a steady slip lamp means on a unit and what to look at: the lamp, what works
// it, and whether it tells of other units.
func Slip(f *fleet.Fleet, c *fleet.Class, u *fleet.Unit) []*Document {
	d := &Document{Title: "Steady slip light", Subtitle: nameOf(c, u)}
	out := []*Document{d}
	d.rests(c)
	lamps := c.DevicesOf("slip-lamp")
	if len(lamps) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record of class " + c.Name + " holds no slip lamp."}
		return out
	}
	var minds []string
	for _, x := range lamps {
		for _, m := range x.Cautions {
			if !slices.Contains(minds, m) {
				minds = append(minds, m)
			}
		}
	}
	if len(minds) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record does not say what a steady light asks for. Stop and see that every axle turns."}
	} else {
		d.Verdict = &Verdict{Mark: Bad, Text: "Not before it has been looked at. The record says: " + strings.Join(minds, "; ") + "."}
	}
	if w := prepare.Crosses(c, "slip lamp"); w != nil {
		through := "not through an adapter lead"
		if w.Text("through adapter") == "yes" {
			through = "also through an adapter lead"
		}
		d.Paragraph(Warn, "It may tell of another unit on the jumper, "+through+".")
	} else {
		d.Paragraph(None, "It tells of this unit alone.")
	}
	var items []Item
	for _, x := range append(c.DevicesOf("axle"), c.DevicesOf("wheel-slip-relay")...) {
		if u == nil || u.Carries(c, x) {
			items = append(items, Item{Text: upper(x.Name) + ", " + c.PlaceName(x.Place), Detail: nonEmpty(x.HowWorked)})
		}
	}
	d.Heading(1, "Look at")
	d.Bullets(items...)
	for _, x := range lamps {
		if u == nil || u.Carries(c, x) {
			out = append(out, Device(f, c, u, x))
		}
	}
	return out
}

func nonEmpty(text string) []string {
	if text == "" {
		return nil
	}
	return []string{text}
}
