package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/haul"
	"headstock/internal/drawing"
	"headstock/line"
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
func gradeName(p haul.Spot) string {
	s := "level"
	switch {
	case p.Slope > 1e-6:
		s = fmt.Sprintf("1 in %.4g", 1/p.Slope)
	case p.Slope < -1e-6:
		s = fmt.Sprintf("1 in %.4g falling", -1/p.Slope)
	}
	if p.Radius > 0 {
		s += fmt.Sprintf(", curve of %.0f m", p.Radius)
	}
	if p.Name != "" {
		s = p.Name + ": " + s
	}
	return s
}

// roundedDown is a mass in whole tonnes or short tons, rounded down.
func roundedDown(kg float64, u quantity.Units) string {
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
			over = append(over, fmt.Sprintf("%s, %s rail: at most %s, held by %s", gradeName(e.Place), e.Rail.Name, roundedDown(e.Load, u), e.Governs))
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
	var rails []string
	for _, e := range l.Entries {
		if !slices.Contains(rails, e.Rail.Name) {
			rails = append(rails, e.Rail.Name)
		}
	}
	t := Table{Caption: "Wagons that may be taken, and the limit that holds them", Columns: []Column{{Title: "grade"}}}
	for _, r := range rails {
		t.Columns = append(t.Columns, Column{Title: r + " rail", Align: Right}, Column{Title: "wagons", Align: Right}, Column{Title: "held by"})
	}
	var row []Cell
	last := ""
	for _, e := range l.Entries {
		name := gradeName(e.Place)
		if name != last || len(row) == len(t.Columns) {
			if row != nil {
				t.Rows = append(t.Rows, row)
			}
			row, last = []Cell{Text(name)}, name
		}
		mark := None
		if !e.Takes {
			mark = Bad
		}
		if e.Governs == "" {
			row = append(row, Text("no limit found"), Text(""), Text(""))
			continue
		}
		row = append(row, Marked(mark, roundedDown(e.Load, u)), Text(fmt.Sprint(e.Vehicles)), Text(e.Governs))
	}
	if row != nil {
		t.Rows = append(t.Rows, row)
	}
	d.Table(t)
	if len(l.Entries) > 0 {
		e := l.Entries[0]
		b := Table{Caption: fmt.Sprintf("All limits on %s, %s rail", gradeName(e.Place), e.Rail.Name), Columns: []Column{{Title: "limit"}, {Title: "wagons at most", Align: Right}, {Title: "from"}}}
		for _, x := range e.Bounds {
			switch {
			case x.Unsaid != "":
				b.Rows = append(b.Rows, []Cell{Text(x.Name), Marked(Unknown, "–"), Text(x.Unsaid)})
			case !x.Bounds:
				b.Rows = append(b.Rows, []Cell{Text(x.Name), Text("no limit"), Text(x.Note)})
			default:
				m := None
				if x.Name == e.Governs {
					m = Warn
				}
				b.Rows = append(b.Rows, []Cell{Text(x.Name), Marked(m, roundedDown(x.Mass, u)), Text(x.Note)})
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
	hauledOn(d, l.Train, l.Assumptions)
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
		tb := Table{Caption: "At full power: what is shown and what the motors carry", Columns: []Column{{Title: "ammeter", Align: Right}, {Title: "of"}, {Title: "motor", Align: Right}, {Title: "generator", Align: Right}, {Title: "", Align: Right}, {Title: "speed", Align: Right}, {Title: "pull", Align: Right}, {Title: "by the plate"}, {Title: "by heating, from warm"}}}
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
	top := m.Fastest
	if top == 0 {
		top = 60 / 3.6
	}
	et := Table{Caption: "Pull at each speed", Columns: []Column{{Title: "speed"}}}
	for _, r := range rails {
		et.Columns = append(et.Columns, Column{Title: r.Name + " rail", Align: Right}, Column{Title: "held by"})
	}
	for k := 0; ; k++ {
		v := float64(k) * 5 / 3.6
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

// PullChart is the effort at each speed on each rail.
func PullChart(e *haul.Engine, rails []motion.Rail) *drawing.Drawing {
	top := e.Machine.Fastest
	if top == 0 {
		top = 60 / 3.6
	}
	p := drawing.Panel{Y: drawing.Axis{Name: "effort at the rail, kN"}, High: 1.8}
	classes := []string{"main", "second", "third"}
	for i, r := range rails {
		k := drawing.Curve{Name: r.Name + " rail", Class: classes[i%len(classes)]}
		for v := 0.0; v <= top+1e-9; v += top / 240 {
			k.X = append(k.X, v*3.6)
			k.Y = append(k.Y, e.Machine.At(v, r.Adhesion).Effort/1000)
		}
		p.Curves = append(p.Curves, k)
	}
	if c, err := e.Machine.ContinuousPoint(); err == nil {
		p.Curves = append(p.Curves, drawing.Curve{Name: "continuous", Class: "limit", X: []float64{c.Speed * 3.6, c.Speed * 3.6}, Y: []float64{0, c.Effort / 1000}})
	}
	return drawing.Chart{Title: "Effort and speed: " + e.Name, Says: "Effort at the rail falls with speed; at low speed it is held by adhesion or by the highest effort of the record.", X: drawing.Axis{Name: "speed, km/h", Low: 0, High: top * 3.6}, Panels: []drawing.Panel{p}}.Draw()
}

// Ground is the height of a line over its kilometres, with its places.
func ground(l *line.Line, low, high float64) (drawing.Curve, []drawing.Tick) {
	g := drawing.Curve{Name: "", Class: "ground"}
	h, at := 0.0, 0.0
	if len(l.Gradients) > 0 {
		at = l.Gradients[0].Start
	}
	for _, p := range l.Places {
		if p.HasHeight {
			h = p.Height
			for _, x := range l.Gradients {
				if end := math.Min(x.End, p.At); end > x.Start {
					h -= (end - x.Start) * x.Slope
				}
			}
			break
		}
	}
	g.X, g.Y = append(g.X, at/1000), append(g.Y, h)
	for _, x := range l.Gradients {
		h += (x.End - x.Start) * x.Slope
		g.X, g.Y = append(g.X, x.End/1000), append(g.Y, h)
	}
	var ticks []drawing.Tick
	for _, p := range l.Places {
		if p.At >= low && p.At <= high {
			ticks = append(ticks, drawing.Tick{At: p.At / 1000, Name: p.Name})
		}
	}
	return g, ticks
}

// ProfileChart is the profile of a line: height, speed limits and curves over its
// kilometres.
func ProfileChart(l *line.Line) *drawing.Drawing {
	low, high := l.Places[0].At, l.Places[len(l.Places)-1].At
	g, ticks := ground(l, low, high)
	speeds := drawing.Curve{Class: "main", Name: "section"}
	for _, s := range l.Sections {
		speeds.X = append(speeds.X, s.Start/1000, s.End/1000)
		speeds.Y = append(speeds.Y, s.Speed*3.6, s.Speed*3.6)
	}
	panel := drawing.Panel{Y: drawing.Axis{Name: "speed limit, km/h"}, Curves: []drawing.Curve{speeds}, High: 0.6}
	slow := drawing.Curve{Class: "second", Name: "lower limit"}
	for _, s := range l.Speeds {
		slow.X = append(slow.X, s.Start/1000, s.End/1000, s.End/1000)
		slow.Y = append(slow.Y, s.AtMost*3.6, s.AtMost*3.6, math.NaN())
	}
	if len(slow.X) > 0 {
		panel.Curves = append(panel.Curves, slow)
	}
	bends := drawing.Curve{Class: "main"}
	sharp := 0.0
	for _, c := range l.Curves {
		k := 1000 / c.Radius
		if c.Hand == "right" {
			k = -k
		}
		sharp = math.Max(sharp, math.Abs(k))
		bends.X = append(bends.X, c.Start/1000, c.Start/1000, c.End/1000, c.End/1000, c.End/1000)
		bends.Y = append(bends.Y, 0, k, k, 0, math.NaN())
	}
	panels := []drawing.Panel{{Y: drawing.Axis{Name: "height, m"}, Curves: []drawing.Curve{g}, Places: ticks}, panel}
	if len(bends.X) > 0 {
		panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "curves, 1000 m over radius; left above, right below", Low: -sharp * 1.1, High: sharp * 1.1}, Curves: []drawing.Curve{bends}, High: 0.4})
	}
	return drawing.Chart{Title: "Profile: " + l.Name, Says: "Height over the kilometres of the line, with its places, speed limits and curves.", X: drawing.Axis{Name: "km", Low: low / 1000, High: high / 1000}, Panels: panels}.Draw()
}

// JourneyChart is a run over its kilometres: speed with its limits, effort and brake, motor
// heat, and the profile under it.
func JourneyChart(r *haul.Ran) *drawing.Drawing {
	a, b := r.At(0)/1000, r.At(r.Distance)/1000
	low, high := math.Min(a, b), math.Max(a, b)
	var x, v, top, pull, brake, rise []float64
	for _, s := range r.Out.Samples {
		x = append(x, r.At(s.At)/1000)
		v, top = append(v, s.Speed*3.6), append(top, s.Ceiling*3.6)
		pull, brake = append(pull, s.Effort/1000), append(brake, s.Brake/1000)
		rise = append(rise, 100*s.Rise)
	}
	g, ticks := ground(r.Line, low*1000, high*1000)
	panels := []drawing.Panel{
		{Y: drawing.Axis{Name: "speed, km/h"}, Curves: []drawing.Curve{{Name: "speed", Class: "main", X: x, Y: v}, {Name: "limit, with what slowing needs", Class: "limit", X: x, Y: top}}, Places: ticks},
		{Y: drawing.Axis{Name: "at the rail, kN"}, Curves: []drawing.Curve{{Name: "pull", Class: "main", X: x, Y: pull}, {Name: "brake", Class: "second", X: x, Y: brake}}, High: 0.8},
	}
	if slices.ContainsFunc(rise, func(y float64) bool { return y > 0 }) {
		panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "hottest motor, per cent of its rated rise"}, Curves: []drawing.Curve{{Name: "rise", Class: "main", X: x, Y: rise}, {Name: "rated", Class: "limit", X: []float64{low, high}, Y: []float64{100, 100}}}, High: 0.6})
	}
	panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "height, m"}, Curves: []drawing.Curve{g}, High: 0.6})
	way := "from left to right"
	if !r.Up {
		way = "from right to left"
	}
	return drawing.Chart{Title: fmt.Sprintf("%s: %s to %s (%s)", r.Train.Consist, r.From, r.To, way), Says: "Speed, pull, brake and motor heat over the kilometres of the line, with its profile.", X: drawing.Axis{Name: "km", Low: low, High: high}, Panels: panels}.Draw()
}

// HeatChart is the heat of the hottest motor of a run over time.
func HeatChart(r *haul.Ran) *drawing.Drawing {
	var t, rise, amps []float64
	for _, s := range r.Out.Samples {
		t, rise, amps = append(t, s.Time/60), append(rise, 100*s.Rise), append(amps, s.Current)
	}
	end := math.Max(1, r.Out.Time/60)
	return drawing.Chart{Title: fmt.Sprintf("Motor heat: %s to %s", r.From, r.To), Says: "Rise of the hottest motor and its current over time.", X: drawing.Axis{Name: "min", Low: 0, High: end}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "hottest motor, per cent of its rated rise"}, Curves: []drawing.Curve{{Name: "rise", Class: "main", X: t, Y: rise}, {Name: "rated", Class: "limit", X: []float64{0, end}, Y: []float64{100, 100}}}},
		{Y: drawing.Axis{Name: "highest motor current, A"}, Curves: []drawing.Curve{{Class: "main", X: t, Y: amps}}, High: 0.7},
	}}.Draw()
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
	d := &Document{Title: fmt.Sprintf("Run-in: %s from %s %s, %s", how, kmh(a.Speed), slope(a.Falling), from), Subtitle: c.Fleet.Railway + ": " + a.Consist}
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
	t := Table{Caption: "Between the vehicles, from the front", Columns: []Column{{Title: "between"}, {Title: "push", Align: Right}, {Title: "after", Align: Right}, {Title: "may be", Align: Right}, {Title: "pull", Align: Right}, {Title: "after", Align: Right}, {Title: "may be", Align: Right}}}
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
	s := Table{Caption: "The hardest push and pull with one thing otherwise", Columns: []Column{{Title: "what"}, {Title: "push", Align: Right}, {Title: "pull", Align: Right}}}
	for _, x := range a.Others {
		s.Rows = append(s.Rows, []Cell{Text(x.What), Text(tens(x.Push, u)), Text(tens(x.Pull, u))})
	}
	d.Table(s)
	moving(d, c, r, a.Seconds, a.AirModel, append(append([]string{}, a.Assumes...), fmt.Sprintf("the reckoning loses %s of the energy", little(a.Drift))))
	d.Footer = append(d.Footer, weakLaws)
	return d
}

// RunInChart is the force in the joint that is pressed hardest, over time, with the speed.
func RunInChart(a *haul.RunInAnswer) *drawing.Drawing {
	var f, most, v []float64
	for i := range a.Times {
		f, most, v = append(f, a.Front[i]/1000), append(most, -a.Most[i]/1000), append(v, a.Speeds[i]*3.6)
	}
	end := 1.0
	if n := len(a.Times); n > 0 {
		end = math.Max(end, a.Times[n-1])
	}
	x := a.Joints[a.Push]
	return drawing.Chart{Title: "Coupling forces: " + a.Consist, Says: "Force in the coupling that is pressed hardest and the greatest push anywhere, over the time from the handle, with the speed.", X: drawing.Axis{Name: "s", Low: 0, High: end}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "coupling force, kN; pull above, push below"}, Curves: []drawing.Curve{{Name: x.Front + " and " + x.Rear, Class: "main", X: a.Times, Y: f}, {Name: "greatest push anywhere", Class: "third", X: a.Times, Y: most}}, High: 1.4},
		{Y: drawing.Axis{Name: "speed of the first vehicle, km/h"}, Curves: []drawing.Curve{{Class: "main", X: a.Times, Y: v}}, High: 0.6},
	}}.Draw()
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
