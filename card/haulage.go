package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/haul"
	"headstock/motion"
	"headstock/quantity"
	"headstock/rule"
)

// hauledOn says in the foot what an answer on a hauling train rests on.
func hauledOn(d *Document, t *haul.Train, assumes []string) {
	d.Footer = append(d.Footer, assumes...)
	var classes []*fleet.Class
	for i := range t.Vehicles {
		classes = append(classes, t.Vehicles[i].Class)
	}
	d.rests(classes...)
	if weak := haul.Invented(t); len(weak) > 0 {
		d.Footer = append(d.Footer, "Running and traction of "+strings.Join(weak, ", ")+".")
	}
	d.Footer = append(d.Footer, "Loads are rounded down. A load table gives no leave to move: local rules decide.")
}

// gradeName words a grade as it stands in a load table.
func gradeName(p haul.Spot, u quantity.Units) string {
	s := "level"
	switch {
	case p.Slope > 1e-6:
		s = fmt.Sprintf("1 in %.4g", 1/p.Slope)
	case p.Slope < -1e-6:
		s = fmt.Sprintf("1 in %.4g falling", -1/p.Slope)
	}
	if p.Radius > 0 {
		s += ", curve of " + inUnits(fmt.Sprintf("%.0f m", p.Radius), u)
	}
	if p.Name != "" {
		s = p.Name + ": " + s
	}
	return s
}

// roundedDown is a mass in whole tonnes or short tons, rounded down.
func roundedDown(kg float64, u quantity.Units) string {
	if u == quantity.Imperial() {
		return fmt.Sprintf("%.0f short tons", math.Floor(quantity.Kilograms(kg).ShortTons()+1e-9))
	}
	return u.MassRounded(quantity.Kilograms(math.Floor(kg/1000)*1000), quantity.Down)
}

// LoadTable words what a consist may take up each grade.
func LoadTable(l *haul.Loads, u quantity.Units) *Document {
	c := l.Train.Consist
	d := &Document{Title: "Load table: " + c.String(), Subtitle: c.Fleet.Railway}
	n := 0
	for i := range l.Train.Vehicles {
		if !l.Train.Vehicles[i].Locomotive() {
			n++
		}
	}
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("By the records the %d wagons of this consist, %s, may be taken everywhere in this table.", n, u.Mass(quantity.Kilograms(l.Wagons)))}
	var over []string
	unsaid := map[string]bool{}
	for _, e := range l.Entries {
		if !e.Takes {
			over = append(over, fmt.Sprintf("%s, %s rail: at most %s, held by %s", gradeName(e.Place, u), e.Rail.Name, roundedDown(e.Load, u), e.Governs))
		}
		for _, b := range e.Bounds {
			if b.Unsaid != "" {
				unsaid[b.Name] = true
			}
		}
	}
	if len(over) > 0 {
		v.Mark, v.Text = Bad, fmt.Sprintf("By the records the %d wagons of this consist, %s, are too much for some of this table.", n, u.Mass(quantity.Kilograms(l.Wagons)))
		if len(over) > 6 {
			over = append(over[:6], fmt.Sprintf("… and %d more below", len(over)-6))
		}
		v.Reasons = over
	}
	for _, name := range []string{haul.BoundDrawgear, haul.BoundStopping, haul.BoundDescent, haul.BoundSecuring} {
		if unsaid[name] {
			v.Reasons = append(v.Reasons, name+": not examined, or cannot be said, for some of it")
			if v.Mark == Good {
				v.Mark = Warn
			}
		}
	}
	d.Verdict = v
	t := Table{Caption: "Wagons that may be taken, and the limit that holds them", Columns: []Column{{Title: "where, and rail"}, {Title: "at most", Align: Right}, {Title: "wagons", Align: Right}, {Title: "held by"}}}
	row := func(name string, e haul.Entry) []Cell {
		mark := None
		if !e.Takes {
			mark = Bad
		}
		if e.Governs == "" {
			return []Cell{Text(name), Text("no limit found"), Text(""), Text("")}
		}
		return []Cell{Text(name), Marked(mark, roundedDown(e.Load, u)), Text(fmt.Sprint(e.Vehicles)), Text(e.Governs)}
	}
	for i := 0; i < len(l.Entries); {
		k := i
		for k < len(l.Entries) && l.Entries[k].Place == l.Entries[i].Place {
			k++
		}
		t.Rows = append(t.Rows, []Cell{Text(gradeName(l.Entries[i].Place, u))})
		same := true
		var rails []string
		for _, e := range l.Entries[i:k] {
			rails = append(rails, e.Rail.Name)
			same = same && e.Load == l.Entries[i].Load && e.Governs == l.Entries[i].Governs
		}
		if same && k > i+1 {
			t.Rows = append(t.Rows, row(strings.Join(rails[:len(rails)-1], ", ")+" or "+rails[len(rails)-1]+" rail", l.Entries[i]))
		} else {
			for _, e := range l.Entries[i:k] {
				t.Rows = append(t.Rows, row(e.Rail.Name+" rail", e))
			}
		}
		if l.Cut != nil && k <= len(l.Cut.Entries) {
			differs := false
			for n, e := range l.Cut.Entries[i:k] {
				if e.Load != l.Entries[i+n].Load || e.Governs != l.Entries[i+n].Governs {
					differs = true
					t.Rows = append(t.Rows, row(e.Rail.Name+" rail, a bogie's brake cut out", e))
				}
			}
			if !differs {
				t.Rows = append(t.Rows, []Cell{Text("a bogie's brake cut out"), Text("the same"), Text(""), Text("as above on every rail")})
			}
		}
		i = k
	}
	d.Table(t)
	if x := l.Cut; x != nil {
		d.Paragraph(None, fmt.Sprintf("A bogie's brake cut out: %s of %s %s, of all bogies of the locomotives the one that costs most in runs of this train: all blocks press with %s in full service, %s without it. A unit so runs under the restrictions of its cut-out (fit) besides.", x.Name, x.Unit, x.Position, holds(x.Left, u), nearly(x.Whole, u)))
	}
	if len(l.Entries) > 0 {
		at := 0 // the place and rail with the least load
		for i, x := range l.Entries {
			if x.Governs != "" && (l.Entries[at].Governs == "" || x.Load < l.Entries[at].Load) {
				at = i
			}
		}
		e := l.Entries[at]
		b := Table{Caption: fmt.Sprintf("All limits on %s, %s rail", gradeName(e.Place, u), e.Rail.Name), Columns: []Column{{Title: "limit"}, {Title: "wagons at most", Align: Right}, {Title: "from"}}}
		for _, x := range e.Bounds {
			switch {
			case x.Unsaid != "":
				b.Rows = append(b.Rows, []Cell{Text(x.Name), Marked(Unknown, "–"), Text(inUnits(x.Unsaid, u))})
			case !x.Bounds:
				b.Rows = append(b.Rows, []Cell{Text(x.Name), Text("no limit"), Text(inUnits(x.Note, u))})
			default:
				m := None
				if x.Name == e.Governs {
					m = Warn
				}
				b.Rows = append(b.Rows, []Cell{Text(x.Name), Marked(m, roundedDown(x.Mass, u)), Text(inUnits(x.Note, u))})
			}
		}
		if l.Cut != nil && at < len(l.Cut.Entries) {
			for _, x := range l.Cut.Entries[at].Bounds {
				if x.Name != haul.BoundDescent && x.Name != haul.BoundStopping || x.Unsaid != "" {
					continue
				}
				most := Text("no limit")
				if x.Bounds {
					most = Text(roundedDown(x.Mass, u))
				}
				b.Rows = append(b.Rows, []Cell{Text(x.Name + ", a bogie's brake cut out"), most, Text(inUnits(x.Note, u))})
			}
		}
		d.Table(b)
	}
	if len(l.Sensitive) > 0 {
		s := Table{Caption: "The first load of the table, with one thing otherwise", Columns: []Column{{Title: "what"}, {Title: "wagons at most", Align: Right}}}
		for _, x := range l.Sensitive {
			s.Rows = append(s.Rows, []Cell{Text(x.What), Text(roundedDown(x.Load, u))})
		}
		d.Table(s)
	}
	for _, x := range l.Dead {
		d.Cautions = append(d.Cautions, x+" gives no power and is counted as load, its gears and motors dragged.")
	}
	for _, e := range l.Engines {
		if e.OutBy != "" {
			d.Cautions = append(d.Cautions, fmt.Sprintf("%s: motors cut out (%s); the others may not be pressed harder for it.", e.Name, e.OutBy))
		}
	}
	w := trainWorth(l.Train)
	for _, e := range l.Entries {
		w.rail(e.Rail)
	}
	if l.Cut != nil || !unsaid[haul.BoundDescent] {
		w.braking(l.Train.Consist, nil)
	}
	w.on(d)
	assumed := make([]string, len(l.Assumptions))
	for i, x := range l.Assumptions {
		assumed[i] = inUnits(x, u)
	}
	hauledOn(d, l.Train, assumed)
	return d
}

// Pulls words what a locomotive pulls and what its meters show.
func Pulls(railway string, e *haul.Engine, rows []haul.PullRow, rails []motion.Rail, reversed bool, t *haul.Train, u quantity.Units) *Document {
	d := &Document{Title: "Effort and ammeter: " + e.Name, Subtitle: railway}
	m := e.Machine
	if p, err := m.ContinuousPoint(); err == nil {
		d.Verdict = &Verdict{Mark: None, Text: fmt.Sprintf("Without end it pulls %s, at %s and above.", u.Force(quantity.Newtons(p.Effort)), u.SpeedRounded(quantity.MetresPerSecond(p.Speed), quantity.Up))}
		for _, x := range e.Meters(p) {
			if x.Reads {
				d.Verdict.Reasons = append(d.Verdict.Reasons, fmt.Sprintf("the ammeter (%s) then shows %.0f A", x.Says, x.Current))
			} else {
				d.Verdict.Reasons = append(d.Verdict.Reasons, fmt.Sprintf("the ammeter (%s) shows nothing: its motors are cut out", x.Says))
			}
		}
	}
	if e.OutBy != "" {
		d.Cautions = append(d.Cautions, "Motors are cut out: "+e.OutBy+".")
	}
	if len(rows) > 0 {
		tb := Table{Caption: "At full power: what is shown and what the motors carry", Columns: []Column{{Title: "ammeter", Align: Right}, {Title: "of"}, {Title: "motor", Align: Right}, {Title: "generator", Align: Right}, {Title: "at", Align: Right}, {Title: "speed", Align: Right}, {Title: "pull", Align: Right}, {Title: "by the plate"}, {Title: "by heating, from warm"}}}
		group := ""
		for _, r := range rows {
			if r.Grouping != group {
				group = r.Grouping
				tb.Rows = append(tb.Rows, []Cell{Text("motors " + group)})
			}
			shown, says := "nothing", ""
			if len(r.Meters) > 0 {
				says = r.Meters[0].Says
				if r.Meters[0].Reads {
					shown = fmt.Sprintf("%.0f A", r.Meters[0].Current)
				}
			}
			plate := "without end"
			mark := None
			switch {
			case r.Plate < 0:
				plate, mark = "beyond the plate", Bad
			case r.Plate > 0:
				plate, mark = u.Seconds(quantity.Seconds(r.Plate)), Warn
			}
			heat := "without end"
			if r.Lasts {
				heat = u.Seconds(quantity.Seconds(math.Floor(r.Model/60) * 60))
			}
			gen, volts := 0.0, 0.0
			for k := range r.Point.Generator {
				gen, volts = math.Max(gen, r.Point.Generator[k]), math.Max(volts, r.Point.Voltage[k])
			}
			tb.Rows = append(tb.Rows, []Cell{Text(shown), Text(says), Text(fmt.Sprintf("%.0f A", r.Motor)), Text(fmt.Sprintf("%.0f A", gen)), Text(fmt.Sprintf("%.0f V", volts)),
				Text(u.Speed(quantity.MetresPerSecond(r.Point.Speed))), Text(u.Force(quantity.Newtons(r.Point.Effort))), Marked(mark, plate), Text(heat)})
		}
		d.Table(tb)
		d.Paragraph(None, "A short-time rating is used once: the next needs cooling at the continuous current or below. The plate does not add up what was used before; the heating does.")
	}
	d.Chart(PullChart(e, rails, u))
	top := fastest(e)
	et := Table{Caption: "Pull at each speed", Columns: []Column{{Title: "speed"}}}
	for _, r := range rails {
		et.Columns = append(et.Columns, Column{Title: r.Name + " rail", Align: Right}, Column{Title: "held by"})
	}
	step := quantity.KilometresPerHour(5)
	if u == quantity.Imperial() {
		step = quantity.KilometresPerHour(5 * 1.609344)
	}
	for k := 0; ; k++ {
		v := float64(k) * float64(step)
		if v > top+1e-9 || v > 60/3.6+1e-9 {
			break
		}
		row := []Cell{Text(u.Speed(quantity.MetresPerSecond(v)))}
		for _, r := range rails {
			p := m.At(v, r.Adhesion)
			row = append(row, Text(u.Force(quantity.Newtons(math.Floor(p.Effort/100)*100))), Text(p.Limit))
		}
		et.Rows = append(et.Rows, row)
	}
	d.Table(et)
	if len(rails) > 0 {
		if s, ok := e.Slipping(rails[len(rails)-1].Adhesion, reversed); ok && len(s) > 0 {
			var names []string
			for _, x := range s {
				names = append(names, fmt.Sprint(x.Axle))
			}
			d.Paragraph(None, fmt.Sprintf("Axles slip in this order, counted from headstock 1, as weight moves to the rear: %s. On %s rail the first goes at %s.", strings.Join(names, ", "), rails[len(rails)-1].Name, u.Force(quantity.Newtons(math.Floor(s[0].Effort/1000)*1000))))
		}
	}
	w := trainWorth(t)
	for _, r := range rails {
		w.rail(r)
	}
	w.on(d)
	hauledOn(d, t, e.Weak)
	return d
}

// Journey words a run over a line.
func Journey(r *haul.Ran, u quantity.Units) *Document {
	c := r.Train.Consist
	d := &Document{Title: fmt.Sprintf("Run: %s to %s", r.From, r.To), Subtitle: c.Fleet.Railway + ": " + c.String()}
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("Runs %s in %s on %s rail.", u.Distance(quantity.Metres(r.Distance)), clock(r.Out.Time), r.Rail.Name)}
	if r.Stalled {
		v.Mark, v.Text = Bad, fmt.Sprintf("Stalls at km %.1f, %s, after %s.", r.StallAt/1000, r.Near, clock(r.Out.Time))
	}
	if r.Out.Laboured {
		v.Reasons = append(v.Reasons, fmt.Sprintf("slowest under full power: %s at km %.1f", u.SpeedRounded(quantity.MetresPerSecond(r.Out.Slowest), quantity.Down), r.At(r.Out.SlowAt)/1000))
	}
	for i, s := range r.Spent {
		if s.Worked.Over {
			v.Reasons = append(v.Reasons, fmt.Sprintf("the motors of %s pass their rated rise at km %.1f and reach %.0f per cent of it", s.Engine, r.At(s.Worked.OverFrom)/1000, 100*s.Worked.Highest))
			if v.Mark == Good {
				v.Mark = Warn
			}
		}
		if s.FuelLeft != nil && *s.FuelLeft < 0 || s.SandLeft != nil && *s.SandLeft < 0 {
			v.Reasons = append(v.Reasons, s.Engine+" runs out of fuel or sand")
			if v.Mark == Good {
				v.Mark = Warn
			}
		}
		_ = i
	}
	d.Verdict = v
	worst, at := -1, 0.0
	for j, k := range r.Coupling {
		if k.Pull > at {
			worst, at = j, k.Pull
		}
	}
	if worst >= 0 {
		k := r.Coupling[worst]
		text := fmt.Sprintf("%s at km %.1f, between %s and %s", u.Force(quantity.Newtons(math.Ceil(k.Pull/1000)*1000)), k.PullAt/1000, r.Train.Vehicles[worst].Name(), r.Train.Vehicles[worst+1].Name())
		m := None
		if k.Limit > 0 && k.Pull > k.Limit {
			m = Bad
			text += fmt.Sprintf(", above what its drawgear may carry, %s", u.Force(quantity.Newtons(k.Limit)))
		}
		d.Facts(Fact{"hardest steady coupling pull", text, m})
	}
	d.Chart(JourneyChart(r, u))
	if slices.ContainsFunc(r.Spent, func(x haul.Spent) bool { return x.Worked.Current > 0 }) {
		d.Chart(HeatChart(r))
	}
	e := r.Out.Energy
	kwh := func(j float64) string { return fmt.Sprintf("%.0f kWh", j/3.6e6) }
	t := Table{Caption: "Where the work went", Columns: []Column{{Title: "what"}, {Title: "work", Align: Right}}}
	for _, x := range []struct {
		name string
		j    float64
	}{{"given at the rail", e.Wheel}, {"running resistance", e.Running}, {"curves", e.Curves}, {"height gained (lost: below zero)", e.Grade}, {"brakes", e.Brake}} {
		t.Rows = append(t.Rows, []Cell{Text(x.name), Text(kwh(x.j))})
	}
	d.Table(t)
	s := Table{Caption: "What each locomotive used", Columns: []Column{{Title: "locomotive"}, {Title: "fuel", Align: Right}, {Title: "left of a full tank", Align: Right}, {Title: "sand left", Align: Right}, {Title: "highest motor current", Align: Right}, {Title: "hottest motor, of its rated rise", Align: Right}, {Title: "over continuous at one time", Align: Right}}}
	litres := func(v *float64) Cell {
		if v == nil {
			return Marked(Unknown, "cannot say")
		}
		return Text(fmt.Sprintf("%.0f L", *v*1000))
	}
	for _, x := range r.Spent {
		sand := Marked(Unknown, "cannot say")
		if x.SandLeft != nil {
			sand = Text(u.Seconds(quantity.Seconds(math.Max(0, math.Floor(*x.SandLeft)))))
		}
		hot, amps := "–", "–"
		if x.Worked.Current > 0 {
			hot, amps = fmt.Sprintf("%.0f %%", math.Ceil(100*x.Worked.Highest)), fmt.Sprintf("%.0f A", x.Worked.Current)
		}
		s.Rows = append(s.Rows, []Cell{Text(x.Engine), litres(x.Fuel), litres(x.FuelLeft), sand, Text(amps), Text(hot), Text(u.Seconds(quantity.Seconds(math.Ceil(x.Worked.OverTime))))})
	}
	d.Table(s)
	p := Table{Caption: "Point by point", Columns: []Column{{Title: "km", Align: Right}, {Title: "time", Align: Right}, {Title: "speed", Align: Right}, {Title: "pull", Align: Right}, {Title: "brake", Align: Right}, {Title: "motor", Align: Right}, {Title: "rise", Align: Right}}}
	every := max(1, len(r.Out.Samples)/40)
	for i, x := range r.Out.Samples {
		if i%every != 0 && i != len(r.Out.Samples)-1 {
			continue
		}
		p.Rows = append(p.Rows, []Cell{Text(fmt.Sprintf("%.1f", r.At(x.At)/1000)), Text(clock(x.Time)), Text(u.Speed(quantity.MetresPerSecond(x.Speed))), Text(u.Force(quantity.Newtons(math.Round(x.Effort/1000) * 1000))), Text(u.Force(quantity.Newtons(math.Round(x.Brake/1000) * 1000))), Text(fmt.Sprintf("%.0f A", x.Current)), Text(fmt.Sprintf("%.0f %%", 100*x.Rise))})
	}
	d.Table(p)
	for _, x := range r.Spent {
		for _, n := range x.Needs {
			d.Paragraph(Unknown, fmt.Sprintf("Cannot say of %s what hangs on its %s: its record does not state it.", x.Engine, n))
		}
	}
	w := trainWorth(r.Train)
	w.rail(r.Rail)
	w.add("slowing before a limit, and that the driver gives all there is", "invented")
	w.add("line "+r.Line.Name+": gradients, curves, limits", r.Line.Source)
	w.on(d)
	hauledOn(d, r.Train, append(append([]string{}, r.Assumptions...),
		fmt.Sprintf("Reckoned in steps of time and again in steps of distance: the times differ by %s; %s of the work is unaccounted for.", little(r.Disagree), little(e.Drift/math.Max(1, e.Wheel))),
		"Block heat is not examined here. Forces in couplings are those of steady running; a run-in adds to them.",
		fmt.Sprintf("Line %s, hash %.12s.", r.Line.Name, r.Line.Hash)))
	return d
}

// clock writes a time as h:min.
func clock(s float64) string {
	m := int(math.Round(s / 60))
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

// tens rounds a force up to 10 kN, as well as it is known.
func tens(n float64, u quantity.Units) string {
	return u.Force(quantity.Newtons(math.Ceil(n/1e4-1e-9) * 1e4))
}

// RunIn words the forces between the vehicles in a brake application.
func RunIn(c *consist.Consist, a *haul.RunInAnswer, r *rule.Rules, u quantity.Units) *Document {
	how := "full service"
	if a.Emergency {
		how = "emergency"
	}
	from := "train stretched at first"
	if a.Bunched {
		from = "slack in at first"
	}
	d := &Document{Title: fmt.Sprintf("Run-in: %s from %s %s, %s", how, kmh(a.Speed, u), slope(a.Falling), from), Subtitle: c.Fleet.Railway + ": " + a.Consist}
	push, pull := a.Joints[a.Push], a.Joints[a.Pull]
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("At most about %s of push and %s of pull between the vehicles.", tens(push.Push, u), tens(pull.Pull, u))}
	v.Reasons = append(v.Reasons, fmt.Sprintf("hardest push between %s and %s, %s after the handle", push.Front, push.Rear, u.Seconds(quantity.Seconds(math.Round(push.PushAt*10)/10))),
		fmt.Sprintf("hardest pull between %s and %s, %s after the handle", pull.Front, pull.Rear, u.Seconds(quantity.Seconds(math.Round(pull.PullAt*10)/10))))
	over, unstated := a.Broken()
	for _, j := range over {
		x := a.Joints[j]
		v.Mark = Bad
		v.Reasons = append(v.Reasons, fmt.Sprintf("between %s and %s beyond what the record allows: push %s of %s, pull %s of %s", x.Front, x.Rear, tens(x.Push, u), u.Force(quantity.Newtons(x.Buff)), tens(x.Pull, u), u.Force(quantity.Newtons(x.Draw))))
	}
	if unstated {
		v.Reasons = append(v.Reasons, "some records state no limit of push or pull: those joints cannot be judged")
		if v.Mark == Good {
			v.Mark = Unknown
		}
	}
	d.Verdict = v
	t := Table{Caption: "Between the vehicles, from the front", Columns: []Column{{Title: "between"}, {Title: "push", Align: Right}, {Title: "push after", Align: Right}, {Title: "push may be", Align: Right}, {Title: "pull", Align: Right}, {Title: "pull after", Align: Right}, {Title: "pull may be", Align: Right}}}
	limit := func(n float64) Cell {
		if n == 0 {
			return Marked(Unknown, "not stated")
		}
		return Text(u.Force(quantity.Newtons(n)))
	}
	sec := func(s float64) Cell { return Text(fmt.Sprintf("%.1f s", s)) }
	for _, x := range a.Joints {
		m, n := None, None
		if x.Buff > 0 && x.Push > x.Buff {
			m = Bad
		}
		if x.Draw > 0 && x.Pull > x.Draw {
			n = Bad
		}
		t.Rows = append(t.Rows, []Cell{Text(x.Front + " and " + x.Rear), Marked(m, tens(x.Push, u)), sec(x.PushAt), limit(x.Buff), Marked(n, tens(x.Pull, u)), sec(x.PullAt), limit(x.Draw)})
	}
	d.Table(t)
	d.Chart(RunInChart(a, u))
	time := Table{Caption: "Over the time", Columns: []Column{{Title: "after", Align: Right}, {Title: push.Front + " and " + push.Rear, Align: Right}, {Title: "greatest push anywhere", Align: Right}, {Title: "speed", Align: Right}}}
	every := max(1, len(a.Times)/16)
	for i := range a.Times {
		if i%every == 0 || i == len(a.Times)-1 {
			time.Rows = append(time.Rows, []Cell{Text(fmt.Sprintf("%.1f s", a.Times[i])), Text(pushed(a.Front[i], u)), Text(tens(a.Most[i], u)), Text(kmh(a.Speeds[i], u))})
		}
	}
	d.Table(time)
	s := Table{Caption: "The hardest push and pull with one thing otherwise", Columns: []Column{{Title: "what"}, {Title: "push", Align: Right}, {Title: "pull", Align: Right}}}
	for _, x := range a.Others {
		s.Rows = append(s.Rows, []Cell{Text(x.What), Text(tens(x.Push, u)), Text(tens(x.Pull, u))})
	}
	d.Table(s)
	moving(d, c, r, a.Seconds, a.AirModel, append(append([]string{}, a.Assumes...), fmt.Sprintf("the reckoning loses %s of the energy", little(a.Drift))))
	d.Footer = append(d.Footer, weakLaws)
	w := trainWorth(haul.Of(c))
	w.braking(c, r)
	w.add("solid stop of a draft gear, 50 MN/m", "from memory")
	w.on(d)
	return d
}

// pushed words a force in a coupling with what it does.
func pushed(n float64, u quantity.Units) string {
	switch x := tens(math.Abs(n), u); {
	case n < -5e3:
		return x + " push"
	case n > 5e3:
		return x + " pull"
	}
	return "none"
}

// little writes a part of a whole that should be small: what is less than a thousandth of a
// per cent is said to be that.
func little(part float64) string {
	switch p := 100 * math.Abs(part); {
	case p < 0.001:
		return "less than 0.001 per cent"
	case p < 1:
		return fmt.Sprintf("%.3f per cent", p)
	default:
		return fmt.Sprintf("%.1f per cent", p)
	}
}
