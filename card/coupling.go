package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

// Coupling is the set-up card of a consist: how each unit is set, what is joined, what
// will be lost, and what became of every requirement.
func Coupling(c *consist.Consist, ck *setup.Checked, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Set-up: " + c.String(), Subtitle: c.Fleet.Railway, Verdict: verdictOf(ck.Proof, u)}
	d.Verdict.Reasons = append(d.Verdict.Reasons, moved(ck.Plan)...)
	if c.HasDraft() {
		d.Banner = Draft
	}
	consistTable(d, c)
	d.Figure(StringDrawing(c))
	view(d, c)
	joints(d, c, ck.Plan)
	for i, up := range ck.Plan.Units {
		title, whose, ok := drawn(c, ck.Plan, i)
		if !ok {
			continue
		}
		d.Heading(1, title)
		d.Bullets(kept(up)...)
		stood := setStands(c.Vehicles[i].Class, up.Lines, up.Last)
		if k := c.Vehicles[i].Class; k.Kind == "locomotive" && len(stood) > 0 {
			x := ClassDrawing(k, stood, func(int) string { return "" })
			if x != nil {
				x.ID = fmt.Sprintf("unit-%d", i)
				x.Title = up.Unit + ": side and plan, its stands numbered in the order of the walk"
				x.Says = "Where each numbered stand of the tables below is. Headstock 1 is at the left, the right side of the vehicle toward you."
				d.Figure(x)
			}
		}
		n := 0
		settings(d, &n, whose, "set in this order", up.Lines)
		settings(d, &n, whose, "last, after the brake test, with the train held by its air brake and the place secured as local rules ask", up.Last)
	}
	expected(d, c, ck.Proof, r, u)
	requirements(d, ck.Proof, u)
	refuted(d, ck.Refuted, u)
	footer(d, c, r, ck.Proof)
	return d
}

// drawn is the heading of a unit on the set-up card and whose its settings are; false for
// a wagon that has none, or that is set as the one before it and drawn together with it.
func drawn(c *consist.Consist, plan *setup.Plan, i int) (title, whose string, ok bool) {
	up := plan.Units[i]
	if len(up.Lines) == 0 && !c.Vehicles[i].Locomotive() {
		return "", "", false
	}
	title, whose = fmt.Sprintf("%s, %s", up.Unit, up.Role), up.Unit
	if !c.Vehicles[i].Locomotive() {
		if i > 0 && next(c, i-1) && equalLines(plan.Units[i-1], up) {
			return "", "", false
		}
		k := i
		for next(c, k) && equalLines(plan.Units[k+1], up) {
			k++
		}
		if k > i {
			whose = fmt.Sprintf("Each of %s to %d", up.Unit, c.Vehicles[k].Unit.Number)
			title = fmt.Sprintf("%s to %d, each, %s", up.Unit, c.Vehicles[k].Unit.Number, up.Role)
		}
	}
	if up.RearCab {
		title += fmt.Sprintf(" – driving from the rear cab (%d)", up.Cab)
	} else if c.Vehicles[i].Class.Cabs > 1 && up.Cab != 0 {
		title += fmt.Sprintf(", cab %d", up.Cab)
	}
	return title, whose, true
}

// kept is what must not be moved on a unit, and its open defects.
func kept(up setup.UnitPlan) []Item {
	var out []Item
	for _, l := range up.Keep {
		text := "Must not be moved: " + l.Name + ", " + l.Place + "."
		mark := Warn
		if l.Moved {
			text, mark = fmt.Sprintf("%s It stands %s; its place is %s.", text, l.Position, l.Claim), Bad
		}
		out = append(out, Item{Text: text, Mark: mark})
	}
	for _, df := range up.Defects {
		out = append(out, Item{Text: "Open defect: " + df, Mark: Warn})
	}
	return out
}

// expected is the brake test on a set-up card: what every gauge and piston should show, and
// which figure of the records dominates each band. It stands there only where the spreads
// have been studied; the test by itself is a document of its own.
func expected(d *Document, c *consist.Consist, p *prove.Proof, r *rule.Rules, u quantity.Units) {
	if p.Study == nil || p.Test == nil {
		return
	}
	d.Heading(1, "What the brake test should show, and what moves it most")
	if !spreadBasis(d, p) {
		return
	}
	for _, s := range p.Test.Procedure.Steps {
		if !s.Read {
			continue
		}
		t := Table{Caption: "Step " + s.ID + ": " + s.Say, Columns: []Column{{Title: "unit"}, {Title: "look at"}, {Title: "expect"}, {Title: "allowed"}, {Title: "moved most by"}}}
		last := ""
		for _, row := range readings(c, p, r, s.ID, true, u) {
			name := row.Unit
			if name == last {
				name = ""
			}
			last = row.Unit
			t.Rows = append(t.Rows, []Cell{Text(name), Text(row.Device), row.Expect, Text(row.Allowed), Text(row.Most)})
		}
		d.Table(t)
	}
	d.Paragraph(Quiet, fmt.Sprintf("Where nothing is named the reading hardly moves: less than %s, 1 mm or 1 s in all; what main reservoirs show hangs on when a compressor last ran. The share is of the swings of all figures, each moved by itself.", u.Gauge(quantity.Gauge(prove.Hardly("gauge")))))
}

// view warns where whoever drives does not see the line ahead.
func view(d *Document, c *consist.Consist) {
	i, n := c.Lead()
	if n != 1 {
		return
	}
	v := c.Vehicles[i]
	if i > 0 {
		d.Paragraph(Warn, fmt.Sprintf("%s pushes %s: somebody in front who can stop the train, as local rules ask.", v.Name(), count(i, "vehicle")))
	}
	if v.RearCab {
		d.Paragraph(Warn, fmt.Sprintf("%s is driven from its rear cab, cab %d: somebody looks out in front, as local rules ask.", v.Name(), v.Cab))
	}
}

// setStands are the places of a class in the order in which lines come to them, numbered as
// settings numbers them.
func setStands(c *fleet.Class, tables ...[]setup.Line) []fleet.Place {
	var out []fleet.Place
	for _, lines := range tables {
		last := ""
		for _, l := range lines {
			if l.Place == last {
				continue
			}
			last = l.Place
			i := slices.IndexFunc(c.Places, func(p fleet.Place) bool { return p.Name == l.Place })
			if i < 0 {
				return nil // a number would stand for another place
			}
			out = append(out, c.Places[i])
		}
	}
	return out
}

// settings is a table of devices in walking order: each numbered place heads the devices at it,
// and a device's cautions stand under it.
func settings(d *Document, n *int, whose, what string, lines []setup.Line) {
	if len(lines) == 0 {
		return
	}
	t := Table{Caption: whose + ": " + what, Columns: []Column{{Title: "place and device"}, {Title: "set to"}, {Title: "how it looks"}}}
	last := ""
	for _, l := range lines {
		if l.Place != last {
			*n++
			t.Rows = append(t.Rows, []Cell{Text(fmt.Sprintf("%d. %s:", *n, l.Place))})
		}
		last = l.Place
		cell := Text(l.Position)
		if l.Moved {
			cell = Marked(Bad, l.Position+" (claim: "+l.Claim+")")
		}
		looks := l.Looks
		if l.Note != "" {
			looks += " [" + l.Note + "]"
		}
		t.Rows = append(t.Rows, []Cell{Text(l.Name), cell, Text(looks)})
		for _, caution := range l.Cautions {
			t.Rows = append(t.Rows, []Cell{Text(""), Text(""), Marked(Warn, caution)})
		}
	}
	d.Table(t)
}

// joints says, joint by joint, what is coupled and what is not and why. Joints between
// equal wagons are drawn together where they stand alike.
func joints(d *Document, c *consist.Consist, plan *setup.Plan) {
	if len(plan.Joints) == 0 {
		return
	}
	d.Heading(1, "Joints, from the front")
	for k, j := range plan.Joints {
		if k > 0 && wagonJoint(c, k) && wagonJoint(c, k-1) && equalJoint(plan.Joints[k-1], j) {
			continue
		}
		same := k
		for same+1 < len(plan.Joints) && wagonJoint(c, same) && wagonJoint(c, same+1) && equalJoint(j, plan.Joints[same+1]) {
			same++
		}
		where := j.Front + " to " + j.Rear
		if same > k {
			where = fmt.Sprintf("Every joint from %s to %s", c.Vehicles[k].Name(), c.Vehicles[same+1].Name())
		}
		t := Table{Caption: where, Columns: []Column{{Title: "pipe"}, {Title: "do"}, {Title: "why"}}}
		for _, p := range j.Pipes {
			if p.FrontIs == "none" && p.RearIs == "none" {
				continue
			}
			t.Rows = append(t.Rows, pipeRow(p, j))
		}
		d.Table(t)
	}
	d.Paragraph(None, "Outer ends: every cock shut, every hose on its dummy.")
}

func pipeRow(p setup.PipePlan, j setup.JointPlan) []Cell {
	do, mark, claimed := "couple; open both cocks", None, "hose coupled, cock open"
	if !p.Coupled {
		claimed = "hose on dummy, cock closed"
		do, mark = "do not couple; cocks shut, hoses on their dummies", Warn
		if p.FrontIs == "none" {
			do = "only at " + j.Rear + ": cock shut, hose on its dummy"
		} else if p.RearIs == "none" {
			do = "only at " + j.Front + ": cock shut, hose on its dummy"
		}
	}
	for _, side := range []string{p.FrontIs, p.RearIs} {
		if side != "none" && side != claimed {
			do, mark = "stands: front "+p.FrontIs+"; rear "+p.RearIs, Bad
		}
	}
	return []Cell{Text(strings.ReplaceAll(p.Pipe, "-", " ")), Marked(mark, do), Text(p.Why)}
}

// moved names every device that stands otherwise than the record claims: a set-up that
// works with one of them is still not the one that the railway instructs.
func moved(p *setup.Plan) []string {
	var out []string
	for _, u := range p.Units {
		for _, l := range u.All() {
			if l.Moved {
				out = append(out, fmt.Sprintf("not as claimed: %s of %s stands %s; the record claims %s", l.Name, u.Unit, l.Position, l.Claim))
			}
		}
	}
	return out
}

func equalLines(a, b setup.UnitPlan) bool {
	if len(a.Lines) != len(b.Lines) || len(a.Keep) != len(b.Keep) || len(a.Defects)+len(b.Defects) > 0 || a.Role != b.Role {
		return false
	}
	for i := range a.Lines {
		x, y := a.Lines[i], b.Lines[i]
		if x.Device != y.Device || x.Position != y.Position || x.Moved != y.Moved || x.Note != y.Note {
			return false
		}
	}
	return true
}

func wagonJoint(c *consist.Consist, k int) bool {
	return !c.Vehicles[k].Locomotive() && !c.Vehicles[k+1].Locomotive()
}

func equalJoint(a, b setup.JointPlan) bool {
	if len(a.Pipes) != len(b.Pipes) {
		return false
	}
	for i := range a.Pipes {
		x, y := a.Pipes[i], b.Pipes[i]
		if x != y {
			return false
		}
	}
	return true
}

func consistTable(d *Document, c *consist.Consist) {
	t := Table{Caption: "Consist, front first", Columns: []Column{{Title: "unit"}, {Title: "role"}, {Title: "faces"}}}
	for i := 0; i < len(c.Vehicles); i++ {
		v := c.Vehicles[i]
		name, role := v.Name(), v.RoleName()
		if !v.Locomotive() {
			k := i
			for next(c, k) && c.Vehicles[k+1].Load == v.Load && c.Vehicles[k+1].Reversed == v.Reversed {
				k++
			}
			if k > i {
				name = fmt.Sprintf("%s to %d (%d)", v.Name(), c.Vehicles[k].Unit.Number, k-i+1)
			}
			role = v.Load
			i = k
		}
		faces := "headstock 1 forward"
		if v.Reversed {
			faces = "headstock 2 forward"
		}
		if role == "" {
			role = "wagon"
		}
		t.Rows = append(t.Rows, []Cell{Text(name), Text(role), Text(faces)})
	}
	d.Table(t)
}

func requirements(d *Document, p *prove.Proof, u quantity.Units) {
	d.Heading(1, "Requirements")
	t := Table{Caption: "Every requirement, judged by running the set-up", Columns: []Column{{Title: "stage"}, {Title: "requirement"}, {Title: "result"}, {Title: "rule"}}}
	for _, f := range p.Findings {
		t.Rows = append(t.Rows, []Cell{Text(f.Stage), Text(f.Says), Marked(markOf(f.Status), string(f.Status)), Text(f.Rule)})
	}
	d.Table(t)
}

func footer(d *Document, c *consist.Consist, r *rule.Rules, p *prove.Proof) {
	var classes []*fleet.Class
	for _, v := range c.Vehicles {
		classes = append(classes, v.Class)
	}
	d.rests(classes...)
	d.Footer = append(d.Footer, "Rules: "+r.Title+". Local rules come first.")
	d.Rests = append(d.Rests, "from "+count(p.Runs, "run"), "air model "+p.AirModel)
	d.Footer = append(d.Footer, fmt.Sprintf("Computed from %s at 20 °C and sea level with air model %s; pressures are gauge. The tool proves the record; only the test proves the locomotive.", count(p.Runs, "run"), p.AirModel))
}

// Sheet is the brake test with what every gauge and piston should show at each step.
func Sheet(c *consist.Consist, p *prove.Proof, r *rule.Rules, u quantity.Units) *Document {
	d := &Document{Title: "Brake test: " + c.String(), Subtitle: c.Fleet.Railway, Verdict: verdictOf(p, u)}
	if c.HasDraft() {
		d.Banner = Draft
	}
	if p.Test == nil {
		footer(d, c, r, p)
		return d
	}
	for _, s := range TestSteps(c, p, r, u) {
		d.Heading(1, fmt.Sprintf("%d. %s", s.Number, s.Say))
		for _, w := range s.Waits {
			d.Paragraph(None, w)
		}
		for _, m := range s.Misses {
			d.Paragraph(Bad, m)
		}
		t := Table{Caption: "Step " + s.ID + ": what should be seen", Columns: []Column{{Title: "unit"}, {Title: "look at"}, {Title: "where"}, {Title: "expect"}, {Title: "allowed"}}}
		last := ""
		for _, row := range s.Rows {
			name := row.Unit
			if name == last {
				name = ""
			}
			last = row.Unit
			t.Rows = append(t.Rows, []Cell{Text(name), Text(row.Device), Text(row.Where), row.Expect, Text(row.Allowed)})
		}
		d.Table(t)
	}
	spreads(d, p, u, func(*prove.Spread) bool { return true })
	requirements(d, p, u)
	footer(d, c, r, p)
	return d
}

func missed(t *trial.Result, step string) bool {
	return slices.ContainsFunc(t.Misses, func(m trial.Miss) bool { return m.Step == step })
}

// upTo words a time, rounded up: to the whole second below a minute, to half a minute
// above, because a wait that is cut short proves nothing.
func upTo(seconds float64) string {
	if s := math.Ceil(seconds - 1e-6); s < 60 {
		return fmt.Sprintf("%.0f s", s)
	}
	halves := math.Ceil(seconds/30 - 1e-6)
	return strings.TrimSuffix(fmt.Sprintf("%.1f", halves/2), ".0") + " min"
}

// TestStep is one step of the brake test at which something is read, in words.
type TestStep struct {
	Number int
	ID     string
	Say    string
	Waits  []string // how long, and what is timed
	Misses []string // what did not happen in time
	Rows   []TestRow
}

// TestRow is what one device should show at a step, of one unit or of wagons in a row that
// show the same.
type TestRow struct {
	Unit     string // "HX 201 to 220" for wagons drawn together
	Vehicles []int  // their places in the consist
	ID       string // of the device
	Kind     string // gauge, piston or exhaust, as trial.Reading has it
	Device   string
	Where    string
	Expect   Cell
	Allowed  string
	Most     string // what moves it most, where the spreads were studied and that was asked for
	Bounded  bool   // a rule bounds it
	InCab    bool   // before whoever drives
	Fitted   string
}

// TestSteps are the steps of a proof's brake test with what each gauge, piston and exhaust
// should show; none where there is no test.
func TestSteps(c *consist.Consist, p *prove.Proof, r *rule.Rules, u quantity.Units) []TestStep {
	if p.Test == nil {
		return nil
	}
	type read struct {
		step, device string
		vehicle      int
	}
	bounded := map[read]bool{}
	for _, rd := range p.Bounded(r) {
		bounded[read{rd.Step, rd.Device, rd.Vehicle}] = true
	}
	var out []TestStep
	for _, s := range p.Test.Procedure.Steps {
		if !s.Read {
			continue
		}
		t := TestStep{Number: len(out) + 1, ID: s.ID, Say: s.Say}
		if m, ok := p.Test.At(s.ID); ok && s.Until != nil && !missed(p.Test, s.ID) {
			who := s.Until.Who
			if i, err := c.Find(who); err == nil {
				who = c.Vehicles[i].Name()
			}
			t.Waits = append(t.Waits, fmt.Sprintf("The %s of %s is up after about %s (computed). Then wait %s.", part(s.Until.Air), who, upTo(m.Took), upTo(s.For)))
		} else if s.For > 0 {
			t.Waits = append(t.Waits, fmt.Sprintf("Read after %s.", upTo(s.For)))
		}
		if s.ID == prove.StepLeak {
			t.Waits = append(t.Waits, timed(r, u))
		}
		for _, m := range p.Test.Misses {
			if m.Step == s.ID {
				t.Misses = append(t.Misses, fmt.Sprintf("Did not happen within %.0f s: %s of %s stood at %s.", m.AtMost, part(m.Until.Air), m.Until.Who, u.Gauge(quantity.Gauge(m.Value))))
			}
		}
		t.Rows = readings(c, p, r, s.ID, false, u)
		for k := range t.Rows {
			row := &t.Rows[k]
			row.Bounded = bounded[read{s.ID, row.ID, row.Vehicles[0]}]
		}
		out = append(out, t)
	}
	return out
}

// readings of a step, wagons in a row drawn together where they show the same but for the
// figure of a stroke or a blow; with most, what moves each most.
func readings(c *consist.Consist, p *prove.Proof, r *rule.Rules, step string, most bool, u quantity.Units) []TestRow {
	var rows []TestRow
	for i := 0; i < len(c.Vehicles); i++ {
		own := vehicleRows(c, p, r, step, i, most, u)
		name, vehicles := c.Vehicles[i].Name(), []int{i}
		k := i
		for next(c, k) {
			more := vehicleRows(c, p, r, step, k+1, most, u)
			if !slices.EqualFunc(own, more, sameRow) {
				break
			}
			k++
			vehicles = append(vehicles, k)
			for n := range own {
				own[n].low, own[n].high = min(own[n].low, more[n].low), max(own[n].high, more[n].high)
				if own[n].share != more[n].share {
					own[n].share = ""
				}
			}
			name = fmt.Sprintf("%s to %d", c.Vehicles[i].Name(), c.Vehicles[k].Unit.Number)
		}
		for _, s := range own {
			expect := s.expect
			if s.figure != nil {
				figure := s.figure(s.low)
				if high := s.figure(s.high); high != figure {
					figure += " to " + high
				}
				expect.Text = fmt.Sprintf(expect.Text, figure)
			}
			rows = append(rows, TestRow{Unit: name, Vehicles: vehicles, ID: s.id, Kind: s.kind, Device: s.device, Where: s.where, Expect: expect, Allowed: s.allowed, Most: s.most + s.share, InCab: s.inCab, Fitted: s.fitted})
		}
		i = k
	}
	return rows
}

// shown is what one device should show. Where the figure may differ between wagons drawn
// together, expect has a place for it.
type shown struct {
	id, kind, fitted       string
	device, where, allowed string
	inCab                  bool
	most, share            string // what moves it most; "" where it hardly moves, or nothing was asked
	expect                 Cell
	low, high              float64
	figure                 func(float64) string
}

func sameRow(a, b shown) bool {
	return a.id == b.id && a.device == b.device && a.where == b.where && a.allowed == b.allowed && a.most == b.most && a.expect == b.expect
}

// next reports whether the vehicle behind k is the wagon of the next number of the same
// class, so that the two can be drawn together as "201 to 202".
func next(c *consist.Consist, k int) bool {
	if k+1 >= len(c.Vehicles) {
		return false
	}
	a, b := c.Vehicles[k], c.Vehicles[k+1]
	return !a.Locomotive() && a.Class == b.Class && b.Unit.Number == a.Unit.Number+1
}

// strokeStep is how finely a piston's travel is read from beside the train, m (common
// practice).
const strokeStep = 0.005

// hairline is by how much a band must be wider than its gauge to be printed as one, Pa.
const hairline = 100

func vehicleRows(c *consist.Consist, p *prove.Proof, r *rule.Rules, step string, i int, most bool, u quantity.Units) []shown {
	var rows []shown
	v := c.Vehicles[i]
	stroke := func(m float64) string { return u.Length(quantity.Metres(math.Round(m/strokeStep) * strokeStep)) }
	seconds := func(s float64) string { return fmt.Sprintf("%.0f s", s) }
	for _, rd := range p.Test.Readings {
		if rd.Step != step || rd.Vehicle != i {
			continue
		}
		d, ok := v.Class.Device(rd.Device)
		if !ok {
			continue
		}
		s := shown{id: d.ID, kind: rd.Kind, fitted: rd.Fitted, inCab: c.BeforeDriver(i, d), device: d.Name, where: v.Class.PlaceName(d.Place), low: rd.Value, high: rd.Value}
		x := p.Spread(rd)
		if x != nil {
			s.low, s.high = x.Over.Low, x.Over.High
			if most && len(x.Effects) > 0 && rd.Fitted == "" {
				s.most, s.share = mostly(p, x)
				s.share = " (" + s.share + ")"
			}
		}
		switch {
		case rd.Fitted != "":
			s.expect = Marked(Quiet, rd.Fitted)
		case rd.Kind == "gauge":
			s.expect = Text(u.Gauge(quantity.Gauge(rd.Value)) + " ± " + u.Gauge(quantity.Gauge(prove.Tolerance(d))))
			if b := p.Expected(d, rd); b.High-b.Low > 2*prove.Tolerance(d)+hairline {
				s.expect = Text(u.Gauge(quantity.Gauge(max(0, b.Low))) + " to " + u.Gauge(quantity.Gauge(b.High)))
			}
			if b, _ := p.Allowed(r, i, d, step); b != nil {
				s.allowed = band(*b, u)
				if x != nil && (x.Over.Low < b.Low || x.Over.High > b.High) {
					s.expect.Mark = Warn // a sound unit may read outside what is allowed
				}
			}
		case rd.Kind == "piston":
			s.allowed = prove.MustBe("piston", step)
			switch {
			case x != nil && x.Either:
				s.expect, s.figure = Text("in or out, at most %s"), stroke
				s.low = s.high
			case rd.Out:
				s.expect, s.figure = Text("out %s"), stroke
			case rd.Value > strokeStep:
				s.expect, s.figure = Text("part out %s, blocks not on"), stroke
			default:
				s.expect = Text("in")
			}
		case rd.Kind == "exhaust" && x != nil && x.Either:
			s.expect, s.figure = Text("quiet, or blows at most %s"), seconds
			s.low = s.high
		case rd.Kind == "exhaust" && rd.Value >= 0.5:
			s.expect, s.figure = Text("blows %s"), seconds
			if rd.Out {
				s.expect = Text("blows %s, still blowing")
			}
		default:
			continue
		}
		rows = append(rows, s)
	}
	return rows
}

// timed words what the brake pipe may do in the timed minute.
func timed(r *rule.Rules, u quantity.Units) string {
	leakage, _ := r.Limit("leakage")
	rise, _ := r.Limit("rise")
	most := func(l rule.Limit) string { return u.GaugeRounded(quantity.Gauge(l.High), quantity.Down) }
	return "In this time the brake pipe may fall by at most " + most(leakage) + " and rise by at most " + most(rise) + "."
}
