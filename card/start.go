package card

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prepare"
)

// Crank is how far the starts of one unit get, and what would put right what stops them.
// There is at least one attempt; all are of one unit.
func Crank(c *consist.Consist, vehicle int, as []*prepare.Attempt) *Document {
	v := c.Vehicles[vehicle]
	d := &Document{Title: "Start of " + v.Name(), Subtitle: c.Fleet.Railway}
	recordOf(d, c)
	d.Verdict = startVerdict(as)
	runs := 0
	for _, a := range as {
		runs += a.Runs
		attempt(d, v.Class, a, len(as) > 1)
	}
	d.Footer = append(d.Footer, fmt.Sprintf("Computed from %s of the record's circuits. The program proves the record; what the engine does proves the engine.", count(runs, "run")))
	return d
}

// recordOf gives a document its draft banner and the records it rests on.
func recordOf(d *Document, c *consist.Consist) {
	if c.HasDraft() {
		d.Banner = "DRAFT – NOT FOR USE"
	}
	var classes []*fleet.Class
	for _, v := range c.Vehicles {
		classes = append(classes, v.Class)
	}
	d.rests(classes...)
}

func startVerdict(as []*prepare.Attempt) *Verdict {
	out := &Verdict{Mark: Good}
	rank := func(m Mark) int { return map[Mark]int{Good: 0, Warn: 1, Unknown: 2, Bad: 3}[m] }
	var texts []string
	for _, a := range as {
		mark, text := outcome(a)
		if len(as) > 1 {
			text = upper(a.Name) + ": " + text
		}
		if rank(mark) > rank(out.Mark) {
			out.Mark = mark
		}
		texts = append(texts, text)
		for _, f := range a.Never {
			r := strings.TrimSuffix(f.Name+": never "+f.Never+"; "+f.Then, "; ")
			if !slices.Contains(out.Reasons, r) {
				out.Reasons = append(out.Reasons, r)
			}
		}
		if len(a.Never) == 0 {
			out.Reasons = append(out.Reasons, a.Needs...)
		}
		if a.Result == prepare.Reached {
			for _, r := range a.Others {
				out.Reasons = append(out.Reasons, strings.Join(append([]string{otherwise(r)}, r.Device.Cautions...), "; "))
			}
		}
	}
	out.Text = strings.Join(texts, " ")
	return out
}

// outcome is an attempt in one sentence.
func outcome(a *prepare.Attempt) (Mark, string) {
	if len(a.Never) > 0 {
		return Bad, "Do not reset, do not start."
	}
	got, stop := "", ""
	for _, g := range a.Stages {
		if g.Result == prepare.Reached {
			got = g.Name
		} else if stop == "" {
			stop = g.Name
		}
	}
	switch {
	case a.Short:
		return Unknown, "The record cannot say: as the devices stand, plus and minus of the battery are joined."
	case a.Result == prepare.NotKnown:
		return Unknown, fmt.Sprintf("The record cannot say whether it gets as far as “%s”.", stop)
	case stop == "" && len(a.Others) > 0:
		return Warn, "The circuits would let it start and take load, but not everything stands as the record has it for a start. Look at that first."
	case stop == "":
		return Good, "The record says it starts, stays running and takes load."
	}
	said := map[string]string{
		"control live":  "no current reaches the control circuits",
		"cranks":        "it does not crank",
		"fires":         "it cranks and does not fire",
		"stays running": "it fires and does not stay running",
		"loads":         "it runs and takes no load",
	}
	text, ok := said[stop]
	if !ok {
		text = fmt.Sprintf("it gets as far as “%s” and not to “%s”", got, stop)
	}
	return Bad, "The record says " + text + "."
}

func attempt(d *Document, k *fleet.Class, a *prepare.Attempt, several bool) {
	if several {
		d.Heading(1, upper(a.Name))
	}
	if len(a.Never) > 0 {
		var items []Item
		for _, f := range a.Never {
			it := Item{Text: "Do not reset: " + f.Name, Mark: Bad, Detail: []string{"Where: " + k.PlaceName(f.Device.Place) + "."}}
			for _, x := range f.Device.Cautions {
				it.Detail = append(it.Detail, "Mind: "+x+".")
			}
			if f.During {
				it.Detail = append(it.Detail, "It acts during this start.")
			}
			items = append(items, it)
		}
		d.Bullets(items...)
	}
	t := Table{Caption: "How far it gets", Columns: []Column{{Title: "stage"}, {Title: "step of the record's start"}, {Title: "result"}, {Title: "at", Align: Right}}}
	for _, g := range a.Stages {
		res, at := Marked(Good, "reached"), fmt.Sprintf("%.0f s", g.At)
		switch g.Result {
		case prepare.NotReached:
			res = Marked(Bad, "not reached")
		case prepare.NotKnown:
			res = Marked(Unknown, "cannot say")
		case prepare.NotTried:
			res, at = Marked(Quiet, "not tried"), ""
		}
		t.Rows = append(t.Rows, []Cell{Text(g.Name), Text(g.What), res, Text(at)})
	}
	d.Table(t)
	signs(d, k, a)
	if len(a.Moved) > 0 {
		d.Heading(2, "Acts by itself during this start")
		var items []Item
		for _, m := range a.Moved {
			items = append(items, Item{Text: fmt.Sprintf("%s goes to “%s” after %.0f s.", m.Name, m.To, m.At), Mark: Warn})
		}
		d.Bullets(items...)
	}
	loops(d, a)
	if len(a.Never) > 0 {
		return
	}
	if len(a.Singles) > 0 && !within(a.Singles, a.Set) {
		title := "Put this right, and it gets further"
		if len(a.Singles) > 1 {
			title = "Any one of these gets it further, nearest first"
		}
		d.Heading(2, title)
		d.Steps(remedies(k, a.Singles)...)
	}
	if len(a.Set) > 0 {
		d.Heading(2, fmt.Sprintf("To get as far as “%s” all of these, nearest first", a.SetTo))
		d.Steps(remedies(k, a.Set)...)
	}
	if len(a.Held) > 0 {
		d.Heading(2, "Stands wrong and is not yours to move: report it")
		var items []Item
		for _, r := range a.Held {
			items = append(items, Item{Text: otherwise(r) + ".", Mark: Bad, Detail: []string{"Where: " + k.PlaceName(r.Place) + "."}})
		}
		d.Bullets(items...)
	}
	if a.Result == prepare.NotReached && len(a.Singles)+len(a.Set)+len(a.Held) == 0 {
		d.Paragraph(Unknown, "Everything the circuits hang on stands as the record has it for a start, and the record's circuits still do not get further. Either something stands otherwise than entered, or the record is wrong, or the machine has a fault: leave it to the fitter.")
	}
	if len(a.Others) > 0 && a.Result != prepare.Reached {
		d.Heading(2, "Also stands otherwise than the record has it for a start")
		var items []Item
		for _, r := range a.Others {
			it := Item{Text: otherwise(r) + ".", Mark: Warn}
			for _, x := range r.Device.Cautions {
				it.Detail = append(it.Detail, "Mind: "+x+".")
			}
			items = append(items, it)
		}
		d.Bullets(items...)
	}
	if len(a.Assumed) > 0 {
		var items []string
		for _, x := range a.Assumed {
			items = append(items, fmt.Sprintf("%s at “%s”", x.Name, x.Position))
		}
		d.Paragraph(Quiet, "Taken to stand as for a start, since nothing else was entered: "+strings.Join(items, "; ")+". Everything else as for the role, or as normal.")
	}
}

func signs(d *Document, k *fleet.Class, a *prepare.Attempt) {
	when := "when it has been loaded"
	for _, g := range a.Stages {
		if g.Result != prepare.Reached {
			when = "when it has come to a stop"
			break
		}
	}
	if len(a.Shows) == 0 {
		d.Paragraph(None, "No lamp is lit and no bell rings "+when+".")
		return
	}
	t := Table{Caption: "Lamps and bells " + when, Columns: []Column{{Title: "what"}, {Title: "how it is seen or heard"}, {Title: "where"}, {Title: "the record says of it"}}}
	for _, s := range a.Shows {
		looks := Text(s.Looks)
		if !s.Worked {
			looks = Marked(Unknown, "cannot say whether: "+s.Looks)
		}
		t.Rows = append(t.Rows, []Cell{Text(s.Name), looks, Text(k.PlaceName(s.Place)), Text(s.Of.ReadsTrueWhen)})
	}
	d.Table(t)
}

func loops(d *Document, a *prepare.Attempt) {
	if len(a.Loops) == 0 {
		return
	}
	d.Heading(2, "What does not settle in the record's circuits")
	var items []Item
	for _, l := range a.Loops {
		items = append(items, loopItem(l))
	}
	d.Bullets(items...)
}

func loopItem(l prepare.Loop) Item {
	things := "“" + strings.Join(l.Things, "”, “") + "”"
	switch l.Kind {
	case "oscillates":
		return Item{Mark: Warn, Text: things + " never come to rest: they chatter."}
	case "races":
		return Item{Mark: Warn, Text: "Which of " + things + " moves first decides; the record does not say which is quicker."}
	case "one rest":
		return Item{Mark: Quiet, Text: things + " can come to rest in one way only, and may chatter on the way."}
	}
	return Item{Mark: Unknown, Text: things + " hang together in more ways than are tried."}
}

func remedies(k *fleet.Class, rs []prepare.Remedy) []Item {
	var items []Item
	for _, r := range rs {
		dev := r.Device
		verb := fmt.Sprintf("%s: from “%s” to “%s”.", r.Name, r.From, r.To)
		byItself := dev.Tries != nil && dev.Tries.Times == 0
		switch {
		case byItself:
			verb = fmt.Sprintf("%s stands at “%s” and must go back to “%s” by itself.", r.Name, r.From, r.To)
		case r.Trip:
			verb = "Find out why it acted, then reset " + verb
		case dev.Kind == "fluid":
			verb = fmt.Sprintf("%s is “%s” and must be “%s”.", r.Name, r.From, r.To)
		}
		it := Item{Text: verb, Detail: []string{"Where: " + walked(k, r) + "."}}
		add := func(what, text string) {
			if text != "" {
				it.Detail = append(it.Detail, what+": "+text+".")
			}
		}
		if p, ok := dev.Position(r.To); ok {
			add("Right when", p.Looks)
		}
		add("Refill", dev.Refill)
		add("Tries", dev.Tries.String())
		add("Needs", strings.Join(dev.Needs, ", "))
		for _, w := range dev.Who {
			if w.Name == "work" && w.Text != "driver" {
				add("Who", w.Text)
			}
		}
		for _, x := range dev.Cautions {
			add("Mind", x)
		}
		if r.Reaches != "" {
			add("Alone it gets the start as far as", "“"+r.Reaches+"”")
		}
		add("After use", dev.AfterUse)
		items = append(items, it)
	}
	return items
}

// otherwise says how a device stands against the record.
func otherwise(r prepare.Remedy) string {
	s := fmt.Sprintf("%s: “%s” instead of “%s”", r.Name, r.From, r.To)
	if r.Withheld != "" {
		s += " (" + r.Withheld + ": report it)"
	}
	return s
}

// within says whether every remedy is in the set as well.
func within(rs, set []prepare.Remedy) bool {
	for _, r := range rs {
		if !slices.ContainsFunc(set, func(s prepare.Remedy) bool { return s.ID == r.ID }) {
			return false
		}
	}
	return true
}

func walked(k *fleet.Class, r prepare.Remedy) string {
	where := k.PlaceName(r.Place)
	switch {
	case where == "":
		return "the record does not say"
	case r.Walk < 0:
		return where
	case r.Walk == 0:
		return where + ", where the start is worked"
	}
	return fmt.Sprintf("%s, %.0f s on foot from where the start is worked", where, r.Walk)
}

// Jumper is what crosses between the units of a consist.
func Jumper(c *consist.Consist, js []*prepare.Jumper) *Document {
	d := &Document{Title: "What crosses the jumper: " + c.String(), Subtitle: c.Fleet.Railway}
	recordOf(d, c)
	if len(js) == 0 {
		d.Verdict = &Verdict{Mark: Quiet, Text: "No two locomotives are coupled here."}
	}
	for _, j := range js {
		d.Heading(1, j.Front+" and "+j.Rear)
		if len(j.Wires) == 0 {
			d.Paragraph(Warn, "Nothing crosses: "+j.Why+".")
			continue
		}
		d.Paragraph(None, crossed(j))
		t := Table{Caption: "Commands and signals", Columns: []Column{{Title: "what"}, {Title: "wire " + j.Front}, {Title: "wire " + j.Rear}, {Title: "crosses"}, {Title: "answers on " + j.Front}, {Title: "answers on " + j.Rear}}}
		for _, w := range j.Wires {
			cross := Marked(Good, "yes")
			if !w.Crosses {
				cross = Marked(Bad, "no: "+w.Why)
			}
			t.Rows = append(t.Rows, []Cell{Text(w.Carries), Text(dash(w.Front)), Text(dash(w.Rear)), cross, Text(join(w.DoesF)), Text(join(w.DoesR))})
		}
		d.Table(t)
		t = Table{Caption: "What gives each, as the units stand", Columns: []Column{{Title: "what"}, {Title: "on " + j.Front}, {Title: "on " + j.Rear}}}
		for _, w := range j.Wires {
			t.Rows = append(t.Rows, []Cell{Text(w.Carries), Text(join(w.FromF)), Text(join(w.FromR))})
		}
		d.Table(t)
		told(d, j)
	}
	d.Footer = append(d.Footer, "Computed by putting current on each wire of the record's circuits, jumper joined at both ends, engines stopped. Direction wires change over where like headstocks meet (common practice). Try each at the units before moving: throttle one notch, direction, sand, bell.")
	return d
}

func crossed(j *prepare.Jumper) string {
	var yes, no []string
	for _, w := range j.Wires {
		if w.Crosses {
			yes = append(yes, w.Carries)
		} else {
			no = append(no, w.Carries)
		}
	}
	s := fmt.Sprintf("By %s cross: %s.", j.By, join(yes))
	if j.By == "" {
		s = "Nothing crosses: " + j.Why + "."
	}
	if len(no) > 0 {
		s += " These do not: " + join(no) + "."
	}
	return s
}

func told(d *Document, j *prepare.Jumper) {
	t := Table{Caption: "Lamps and bells", Columns: []Column{{Title: "on"}, {Title: "lamp or bell"}, {Title: "tells of"}, {Title: "shows on the other unit in"}, {Title: "goes out"}}}
	var dark []string
	for _, x := range j.Tells {
		if len(x.Causes) == 0 && !x.Others && !x.Lit {
			dark = append(dark, x.Unit+" "+x.Name)
			continue
		}
		of := "this unit only"
		if x.Others {
			of = "the other unit as well"
		}
		out := "with its cause"
		switch {
		case len(x.Stays) == len(x.Causes) && len(x.Stays) > 0:
			out = "stays until it is reset"
		case len(x.Stays) > 0:
			out = "stays until it is reset after: " + join(x.Stays)
		case x.Fades > 0:
			out = fmt.Sprintf("%.0f s after its cause", x.Fades)
		case x.Lit && len(x.Causes) == 0:
			out = "is on as the unit stands, engine stopped"
		}
		t.Rows = append(t.Rows, []Cell{Text(x.Unit), Text(x.Name), Text(of), Text(join(x.Reaches)), Text(out)})
	}
	d.Table(t)
	if len(dark) > 0 {
		d.Paragraph(Quiet, "Dark as the units stand, whatever happens: "+strings.Join(dark, "; ")+".")
	}
}

func join(list []string) string {
	if len(list) == 0 {
		return "–"
	}
	return strings.Join(list, "; ")
}

func dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
