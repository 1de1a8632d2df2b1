package web

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/haul"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/prepare"
	"headstock/prove"
	"headstock/quantity"
	"headstock/setup"
)

// asking is a question that is asked of one unit out on the line, with gloves on. Each leads
// to a page in one touch; what else must be known is chosen there by one touch more, or is a
// number of a few figures.
type asking struct {
	id, text, says string
	path           string // the question that answers it; "" is ask
	with           []string
	answer         func(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error)
}

// askings are the fifteen, in the order in which they stand on the page of a unit.
func askings() []asking {
	return []asking{
		{id: "cocks", text: "Which way is open on this cock?", says: "how every cock looks, open and shut", answer: cocks},
		{id: "dead-engine", text: "Where is the dead-engine cock?", says: "place, side, how it looks", answer: deadEngine},
		{id: "hoses", text: "Which hose to which, and what on dummies?", says: "choose what stands next to it", answer: neighbour("Choose what stands next to it: hoses, dummies, cocks and cabinet.")},
		{id: "changeover", text: "Where does the changeover go?", says: "by role and by what leads", answer: changeover},
		{id: "stays-on", text: "Brakes stay on on the second unit", says: "a fault, or normal here?", answer: staysOn},
		{id: "wont-charge", text: "The pipe will not charge past a pressure", says: "what to look at first", answer: wontCharge},
		{id: "charging", text: "How long should charging take?", says: "from empty, by the record", answer: chargingTakes},
		{id: "crank", text: "It will not crank", says: "what have I missed", path: "crank"},
		{id: "trip", text: "A trip is out: may I reset it?", says: "how often, and when never", path: "trips"},
		{id: "bell", text: "The bell rings: which unit?", says: "what rings it, and what shows where", answer: bell},
		{id: "slip", text: "Steady slip light: may I go on?", says: "what it means, and what to look at", answer: slip},
		{id: "travel", text: "Piston travel: good or not?", says: "type what was measured", answer: travel},
		{id: "cut-out", text: "One bogie cut out: what may I take?", says: "duty, speed, load and brake force", answer: cutOut},
		{id: "hand-brakes", text: "How many hand brakes here?", says: "to hold it on this grade", answer: handBrakes},
		{id: "vigilance", text: "Vigilance failed: may it lead?", says: "by which rule, and who may lift it", path: "fit", with: []string{"defect", "vigilance-device=failed"}},
	}
}

func askingNamed(id string) (asking, bool) {
	all := askings()
	i := slices.IndexFunc(all, func(a asking) bool { return a.id == id })
	if i < 0 {
		return asking{}, false
	}
	return all[i], true
}

func askingChoices(*Site) []string {
	var out []string
	for _, a := range askings() {
		out = append(out, a.id)
	}
	return out
}

// askingLinks are the fifteen of a unit.
func (s *Site) askingLinks(u *fleet.Unit) []link {
	var out []link
	for _, a := range askings() {
		to := address("/ask", "unit", u.Name(), "about", a.id)
		if _, built := s.questionOf(a.path); built {
			to = address("/"+a.path, append([]string{"unit", u.Name()}, a.with...)...)
		}
		out = append(out, link{Text: a.text, Says: a.says, To: to})
	}
	return out
}

// ask answers one of the fifteen. Those that have a question of their own are answered by it.
func ask(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	if u == nil {
		return nil, bad("name a unit; %q is a class", c.Name)
	}
	a, ok := askingNamed(q.get("about"))
	if !ok {
		return nil, bad("no question about %q; expected one of %s", q.get("about"), strings.Join(askingChoices(q.s), ", "))
	}
	if x, built := q.s.questionOf(a.path); built {
		for i := 0; i+1 < len(a.with); i += 2 {
			q.Values.Set(a.with[i], a.with[i+1])
		}
		return x.answer(q)
	}
	return a.answer(q, c, u)
}

// choice is a group of ways on from an answer, each by one touch.
type choice struct {
	Title string
	Short []link // as numbers in a row
	Long  []link // as lines
}

func cocks(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	system := q.get("value")
	a := document(card.Cocks(c, u, system))
	if system != "" {
		return a, nil
	}
	var of choice
	of.Title = "Only those of"
	for _, s := range fleet.Systems() {
		n := 0
		for _, x := range card.CocksOf(c, u) {
			if x.System == s {
				n++
			}
		}
		if n > 0 {
			of.Short = append(of.Short, link{Text: fmt.Sprintf("%s (%d)", s, n), To: address("/ask", "unit", u.Name(), "about", "cocks", "value", s)})
		}
	}
	a.choices, a.first = []choice{of}, true
	return a, nil
}

func deadEngine(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	functions := []string{"dead-engine-cock"}
	if len(c.DevicesOf("dead-engine-cock")) == 0 && len(c.DevicesOf("auxiliary-feed-cock")) > 0 {
		functions = []string{"auxiliary-feed-cock"} // what stands in its place
	}
	return &answer{docs: card.Places(q.s.fleet, c, u, "Dead-engine cock", functions...)}, nil
}

// following is a unit as it is said behind one that leads: in multiple where both can be,
// else hauled.
func following(lead *fleet.Class, c *fleet.Class, u *fleet.Unit) string {
	switch {
	case c.Kind != "locomotive":
		return u.Name()
	case lead.Multiple && c.Multiple:
		return u.Name() + " trail"
	}
	for _, r := range c.Roles {
		if r.Name == "hauled live" {
			return u.Name() + " hauled live"
		}
	}
	return u.Name() + " hauled dead"
}

// pair is two units as they are said, the first leading.
func pairOf(lc *fleet.Class, lu *fleet.Unit, c *fleet.Class, u *fleet.Unit) string {
	return lu.Name() + " lead, " + following(lc, c, u)
}

// neighbours are the units that can stand next to one, by class, as ways on.
func (q *asked) neighbours(c *fleet.Class, u *fleet.Unit, title string, lead bool, to func(text string) string) []choice {
	var out []choice
	for _, o := range q.s.fleet.Classes {
		x := choice{Title: fmt.Sprintf(title, o.Name)}
		units := q.s.fleet.UnitsOf(o.Name)
		if o.Kind != "locomotive" {
			if lead || len(units) == 0 {
				continue
			}
			units = units[:1] // wagons of a class are coupled alike
		}
		for _, v := range units {
			if v == u || v.Name() == u.Name() {
				continue
			}
			text := pairOf(c, u, o, v)
			if lead {
				text = pairOf(o, v, c, u)
			}
			x.Short = append(x.Short, link{Text: fmt.Sprint(v.Number), Says: o.Name, To: to(text)})
		}
		if len(x.Short) > 0 {
			out = append(out, x)
		}
	}
	return out
}

// ready are the saved and kept consists in which a unit stands.
func (q *asked) ready(u *fleet.Unit, to func(text string) string) []choice {
	x := choice{Title: "In a consist that is kept"}
	for _, t := range q.kept {
		c, err := consist.Parse(q.s.fleet, t)
		if err != nil {
			continue
		}
		for _, v := range c.Vehicles {
			if v.Name() == u.Name() {
				x.Long = append(x.Long, link{Text: t, To: to(t)})
				break
			}
		}
	}
	if len(x.Long) == 0 {
		return nil
	}
	return []choice{x}
}

// neighbour asks only what stands next to a unit, and leads to the page at the coupling.
func neighbour(says string) func(*asked, *fleet.Class, *fleet.Unit) (*answer, error) {
	return func(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
		to := func(text string) string { return address("/coupling", "consist", text) }
		d := &card.Document{Title: "Hoses and dummies", Subtitle: u.Name()}
		d.Paragraph(card.None, says)
		a := document(d)
		a.choices = q.ready(u, to)
		if c.Kind == "locomotive" {
			a.choices = append(a.choices, q.neighbours(c, u, u.Name()+" leads; behind it %s", false, to)...)
		}
		a.choices = append(a.choices, q.neighbours(c, u, "%s leads; "+u.Name()+" behind it", true, to)...)
		return a, nil
	}
}

func changeover(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	to := func(text string) string { return address("/coupling", "consist", text) }
	a := document(card.Changeover(c, u))
	a.choices = append(q.ready(u, to), q.neighbours(c, u, "%s leads; "+u.Name()+" behind it", true, to)...)
	return a, nil
}

// train is the consist of a question: as asked, else the unit alone.
func (q *asked) train(u *fleet.Unit) (*consist.Consist, int, error) {
	text := q.get("consist")
	if text == "" {
		text = u.Name() + " alone"
	}
	within := &asked{Values: map[string][]string{"consist": {text}}, s: q.s, ctx: q.ctx, units: q.units}
	train, err := within.consist()
	if err != nil {
		return nil, 0, err
	}
	i, err := train.Find(u.Name())
	if err != nil {
		return nil, 0, bad("%s does not stand in the consist %s", u.Name(), train.String())
	}
	if _, n := train.Lead(); n != 1 {
		return nil, 0, &unsaid{fmt.Sprintf("cannot say: the consist %s has no unit that leads", train.String())}
	}
	return train, i, nil
}

func staysOn(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	to := func(text string) string {
		return address("/ask", "unit", u.Name(), "about", "stays-on", "consist", text)
	}
	var choices []choice
	choices = append(q.ready(u, to), q.neighbours(c, u, "%s leads; "+u.Name()+" behind it", true, to)...)
	if q.get("consist") == "" {
		d := &card.Document{Title: "Brakes stay on on " + u.Name()}
		d.Paragraph(card.None, "Choose what leads: whether it is a fault hangs on that.")
		a := document(d)
		a.choices = choices
		return a, nil
	}
	train, i, err := q.train(u)
	if err != nil {
		return nil, err
	}
	p, err := q.proof(train)
	if err != nil {
		return nil, err
	}
	return document(card.StaysOn(p, i, q.s.rules, q.units)), nil
}

// nearEnough is how far from the pressure seen a wrong setting may leave the pipe to count
// among the causes of it, Pa: the gauge's error and what is read off it by torchlight.
const nearEnough = 30e3

// mostCharged is how many vehicles everything is tried on.
const mostCharged = 3

func wontCharge(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	seen := 300e3
	if t := q.get("value"); t != "" {
		if !strings.ContainsFunc(t, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }) {
			t = strings.ReplaceAll(t, ",", ".") + " " + pressureUnit(q.units)
		}
		v, err := quantity.Parse(t)
		if err != nil || v.Kind != quantity.Pressure {
			return nil, bad("%q is no pressure; expected one such as 300 kPa", q.get("value"))
		}
		seen = v.SI
	}
	train, _, err := q.train(u)
	if err != nil {
		return nil, err
	}
	if len(train.Vehicles) > mostCharged {
		return nil, &unsaid{fmt.Sprintf("cannot say here: trying everything on %d vehicles takes many minutes; ask of the locomotives without their train, or search it on the command line", len(train.Vehicles))}
	}
	x, err := worked(q.ctx, q.s.works, key("charging", train), func() (*setup.Charges, error) {
		x, err := setup.Charging(train, q.s.rules, q.s.conditions())
		return x, unproved(err)
	})
	var a *answer
	if err == nil {
		a = document(card.WontCharge(train, x, seen, nearEnough, q.units))
	} else if errors.Is(err, errRunning) {
		a = document(&card.Document{Title: "The pipe will not charge", Subtitle: train.String()})
	} else {
		return nil, err
	}
	to := func(text, value string) string {
		return address("/ask", "unit", u.Name(), "about", "wont-charge", "consist", text, "value", value)
	}
	stops := choice{Title: "It stops at about"}
	for _, kpa := range []float64{0, 100, 200, 300, 400, 450} {
		text := q.units.Gauge(quantity.Gauge(kpa * 1e3))
		stops.Short = append(stops.Short, link{Text: text, To: to(q.get("consist"), text)})
	}
	a.choices = []choice{stops}
	for _, r := range q.ready(u, func(text string) string { return to(text, q.get("value")) }) {
		r.Long = slices.DeleteFunc(r.Long, func(l link) bool {
			c, err := consist.Parse(q.s.fleet, l.Text)
			return err != nil || len(c.Vehicles) > mostCharged
		})
		if len(r.Long) > 0 {
			a.choices = append(a.choices, r)
		}
	}
	a.first = true
	return a, err
}

func chargingTakes(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	to := func(text string) string {
		return address("/ask", "unit", u.Name(), "about", "charging", "consist", text)
	}
	train, _, err := q.train(u)
	if err != nil {
		return nil, err
	}
	p, err := q.proof(train)
	if err != nil {
		return nil, err
	}
	a := document(card.Charging(train, p, q.s.rules, q.units))
	a.choices = q.ready(u, to)
	return a, nil
}

func bell(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	train, err := consist.Parse(q.s.fleet, u.Name()+" lead")
	if err != nil {
		return nil, &unsaid{"cannot say: " + err.Error()}
	}
	r, err := worked(q.ctx, q.s.works, key("bell", train), func() (*prepare.Ringing, error) { return prepare.Rings(train, 0) })
	if err != nil {
		return nil, err
	}
	a := document(card.Rings(c, u, r))
	a.choices = q.ready(u, func(text string) string { return address("/jumper", "consist", text) })
	return a, nil
}

func slip(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	return &answer{docs: card.Slip(q.s.fleet, c, u)}, nil
}

func travel(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	value := q.get("value")
	a := document(card.Travels(c, u))
	a.entry = &entry{Name: "value", Label: "Measured travel", Unit: lengthUnit(q.units), Hidden: [][2]string{{"unit", u.Name()}, {"about", "travel"}}, Value: value}
	if value == "" {
		return a, nil
	}
	if !strings.ContainsFunc(value, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }) {
		value = strings.ReplaceAll(value, ",", ".") + " " + lengthUnit(q.units)
	}
	if v, err := quantity.Parse(value); err != nil || v.Kind != quantity.Length {
		return nil, bad("%q is no length; expected one such as 92 mm", q.get("value"))
	}
	var es []prepare.Entry
	for _, k := range c.Checks {
		if k.Measures == "travel" && k.Device != "" {
			es = append(es, prepare.Entry{Line: len(es) + 1, Item: k.Device, Reading: "travel", Value: value})
		}
	}
	rs, err := prepare.Measure(c, u, q.s.rules, es)
	if err != nil {
		return nil, err
	}
	a.docs = append([]*card.Document{card.Measured(c, u, rs, q.units)}, a.docs...)
	return a, nil
}

// lengthUnit is the unit that a travel is entered in when none is written.
func lengthUnit(u quantity.Units) string {
	_, unit, _ := strings.Cut(u.Length(0.1), " ")
	return unit
}

// cutOuts are the functions of the devices that cut a part of the brake or of the power out.
func cutOuts() []string {
	return []string{"bogie-brake-cock", "brake-cylinder-cock", "distributor-cock", "distributing-valve-cock", "motor-cut-out"}
}

func cutOut(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	d := &card.Document{Title: "Cut out: what may it take", Subtitle: u.Name()}
	d.Paragraph(card.None, "Choose what is cut out: duty, speed, load, and what it takes from the brake.")
	a := document(d)
	var x choice
	for _, fn := range cutOuts() {
		for _, dev := range c.DevicesOf(fn) {
			if dev.MustNotMove || !u.Carries(c, dev) {
				continue
			}
			for _, p := range dev.Positions {
				if p.ID == dev.Normal {
					continue
				}
				to := []string{"unit", u.Name(), "defect", dev.ID + "=" + p.ID}
				if c.Kind == "locomotive" && fn != "motor-cut-out" {
					to = append(to, "price", "yes")
				}
				x.Long = append(x.Long, link{Text: dev.Name + ": " + p.ID, Says: c.PlaceName(dev.Place), To: address("/fit", to...)})
			}
		}
	}
	if len(x.Long) == 0 {
		return nil, &unsaid{"cannot say: the record of class " + c.Name + " holds no cut-out (" + strings.Join(cutOuts(), ", ") + ")"}
	}
	a.choices = []choice{x}
	return a, nil
}

// grades are those that a train is held on at one touch: the level, two between, and the
// steepest of the railway's line, or one that stands in for it where there is no line.
func (s *Site) grades() []string {
	steepest := 0.0
	if s.line != nil {
		for _, g := range s.line.Gradients {
			steepest = max(steepest, math.Abs(g.Slope))
		}
	}
	out := []string{"level", "1 in 250", "1 in 100"}
	if steepest > 0.01 {
		return append(out, fmt.Sprintf("1 in %.0f", math.Floor(1/steepest)))
	}
	return append(out, "1 in 60")
}

// handBrakes asks for the train and the grade.
func handBrakes(q *asked, c *fleet.Class, u *fleet.Unit) (*answer, error) {
	a := document(card.HandBrakes(c, u))
	a.first = true
	by := func(title, text string) {
		x := choice{Title: title}
		for _, g := range q.s.grades() {
			x.Short = append(x.Short, link{Text: g, To: address("/hold", "consist", text, "grade", g)})
		}
		a.choices = append(a.choices, x)
	}
	alone := u.Name() + " alone"
	if c.Kind != "locomotive" {
		alone = u.Name()
	}
	by(u.Name()+" by itself, on", alone)
	for _, r := range q.ready(u, func(text string) string { return text }) {
		for _, l := range r.Long {
			by(l.Text+", on", l.Text)
		}
	}
	return a, nil
}

// hold adds up the hand brakes of a train against a grade.
func hold(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	x := haul.HoldAsk{Rail: haul.Rail(q.get("rail")), Not: q.all("not")}
	if x.Rail == "" {
		x.Rail = "wet"
	}
	if !slices.Contains(haul.Rails(), x.Rail) {
		return nil, bad("no state of the rail %q; expected one of %s", reading.Short(string(x.Rail)), strings.Join(railChoices(nil), ", "))
	}
	t, sign := strings.ToLower(q.get("grade")), 1.0
	if s, ok := strings.CutSuffix(t, "rising"); ok {
		t, sign = strings.TrimSpace(s), -1
	}
	t = strings.TrimSpace(strings.TrimSuffix(t, "falling"))
	if t != "level" && t != "" {
		v, ok := line.Slope(t)
		if !ok {
			return nil, bad("no grade %q; expected level, or one such as 1 in 45 or 2.2 %%", reading.Short(q.get("grade")))
		}
		x.Falling = sign * v
	}
	for _, n := range x.Not {
		if _, err := c.Find(n); err != nil {
			return nil, bad("%v", err)
		}
	}
	h, err := worked(q.ctx, q.s.works, key(fmt.Sprintf("hold\x00%g\x00%s\x00%s", x.Falling, x.Rail, strings.Join(x.Not, "\x00")), c), func() (*haul.HoldAnswer, error) {
		h, err := haul.Hold(c, q.s.rules, x, q.s.conditions())
		return h, unproved(err)
	})
	if err != nil {
		return nil, err
	}
	return replied(card.Hold(c, h, q.s.rules, q.units), holdValues{h, q.basis(c)}), nil
}

func railChoices(*Site) []string {
	var out []string
	for _, r := range haul.Rails() {
		out = append(out, string(r))
	}
	return out
}

// diagram draws the air of a class or a unit; in a consist, as it stands at a step of the
// brake test.
func diagram(q *asked) (*answer, error) {
	c, u, err := q.of()
	if err != nil {
		return nil, err
	}
	s := card.AirState{Title: "every device at its normal position",
		Pressure: func(string) (string, bool) { return "", false },
		Position: func(id string) string {
			d, ok := c.Device(id)
			if !ok {
				return ""
			}
			if u != nil {
				if how, _ := u.Fitted(d); how != "yes" || !u.Carries(c, d) {
					return ""
				}
				for _, o := range u.Today(id) {
					if o.Property == "position" || o.Property == "normal" {
						return o.Value
					}
				}
			}
			return d.Normal
		}}
	if q.get("consist") != "" {
		if u == nil {
			return nil, bad("name the unit of the consist; %q is a class", c.Name)
		}
		train, i, err := q.train(u)
		if err != nil {
			return nil, err
		}
		p, err := q.proof(train)
		if err != nil {
			return nil, err
		}
		if p.Test == nil {
			return nil, &unsaid{"cannot say: there is no brake test to go by"}
		}
		step := q.get("step")
		if step == "" {
			step = prove.StepService
		}
		m, ok := p.Test.At(step)
		if !ok {
			var names []string
			for _, m := range p.Test.Marks {
				names = append(names, m.Step)
			}
			return nil, bad("no step %q in the brake test of this consist; expected one of %s%s", reading.Short(step), strings.Join(names, ", "), reading.Hint(step, names))
		}
		s.Title = "in " + train.String() + ", at the end of the step “" + step + "”"
		s.Position = func(id string) string { at, _ := m.At.Position(i, id); return at }
		s.Pressure = func(id string) (string, bool) {
			v, ok := p.Test.Gauge(step, i, id)
			if !ok {
				return "", false
			}
			return q.units.Gauge(quantity.Gauge(max(v, 0))), true
		}
	}
	x, d := card.AirDiagram(c, u, s)
	a := document(d)
	a.drawing = x
	if u != nil {
		a.choices = q.ready(u, func(text string) string {
			return address("/diagram", "class", u.Name(), "consist", text)
		})
	}
	return a, nil
}

// testSteps are the steps of the brake test, as a choice.
func testSteps(*Site) []string {
	return []string{prove.StepCharge, prove.StepMinimum, prove.StepService, prove.StepBail, prove.StepLetGo, prove.StepRelease, prove.StepIndependent, prove.StepEmergency, prove.StepRecover}
}
