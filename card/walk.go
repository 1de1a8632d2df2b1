package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/prepare"
	"headstock/quantity"
	"headstock/source"
)

// blank is the room to write in.
const blank = "________"

// Walk is the walk-round inspection sheet: stand after stand, how to get there, what to look
// at, how it should be, and room to write.
func Walk(s *prepare.Sheet, u quantity.Units) *Document {
	w, c := s.Walk, s.Walk.Class
	d := &Document{Title: "Walk round the " + c.Name, Subtitle: c.Title}
	if s.Unit != nil {
		d.Title = "Walk round " + s.Unit.Name()
	}
	if s.Date != "" {
		d.Subtitle = strings.TrimPrefix(d.Subtitle+", "+s.Date, ", ")
	}
	if c.Draft() {
		d.Banner = "DRAFT – NOT FOR USE"
	}
	d.Cautions = append(d.Cautions, "First look for tags, flags and people under, in or on the vehicle. Secure it and chock it; it stays secured to the end, whatever is done with its brake.",
		"Look; move only what a line asks for.")
	total, warn := 0, todayAdds(d, s)
	for _, t := range s.Stands {
		if t.Do == "" {
			total++
		}
	}
	d.Verdict = &Verdict{Text: fmt.Sprintf("%s, %s on foot.", count(total, "stand"), u.Seconds(quantity.Seconds(s.Seconds)))}
	if s.Takes > 0 {
		d.Verdict.Text += fmt.Sprintf(" The checks that say how long they take come to %s; most do not say.", u.Seconds(quantity.Seconds(s.Takes)))
	}
	if warn {
		d.Verdict.Mark = Warn
	}
	order(d, w, u)
	state, n := "", 0
	for _, t := range s.Stands {
		if t.Do != "" {
			state = t.State
			d.Heading(1, stateHeading(t.State))
			where := " at the " + t.Place.Name
			if t.Here {
				where = ", by word to whoever works it"
			}
			way(d, c, t.Stand, u)
			d.Paragraph(Warn, upper(t.Do)+where+". "+actCaution(t.Do))
			continue
		}
		if n == 0 && t.State != "" {
			state = t.State
			d.Heading(1, stateHeading(t.State))
		}
		n++
		title := fmt.Sprintf("%d. %s", n, upper(t.Place.Name))
		if t.New {
			title += " (new)"
		}
		d.Heading(2, title)
		way(d, c, t.Stand, u)
		table := Table{Columns: []Column{{Title: "look at"}, {Title: "right when"}, {Title: "found"}}}
		for i, l := range t.Lines {
			more := rows(l, state, s.Brief, u)
			if i > 0 && len(more) > len(l.Checks) && t.Lines[i-1].Device == l.Device {
				more = more[1:] // the device heads the line before
			}
			table.Rows = append(table.Rows, more...)
		}
		d.Table(table)
	}
	if len(s.Unplaced) > 0 {
		d.Heading(1, "Where the record does not say")
		table := Table{Columns: []Column{{Title: "look at"}, {Title: "right when"}, {Title: "found"}}}
		for _, l := range s.Unplaced {
			table.Rows = append(table.Rows, rows(l, "", s.Brief, u)...)
		}
		d.Table(table)
	}
	if s.Brief {
		d.Footer = append(d.Footer, "Brief sheet: devices that are only seen to stand as they should are left out; the whole sheet holds them.")
	}
	var left []Item
	var idle []string
	for _, t := range s.Left {
		text := t.Place.Name
		if t.State != "" && t.State != "stopped" {
			text += " (" + t.State + ")"
		}
		idle = append(idle, text)
	}
	if len(idle) > 0 {
		left = append(left, Item{Text: "Nothing to be done today at: " + strings.Join(idle, "; ") + ".", Mark: Quiet})
	}
	for _, x := range s.Later {
		left = append(left, Item{Text: fmt.Sprintf("%s (%s): made %s, due %s.", upper(x.Check.What), x.Check.ID, x.Last, x.Next), Mark: Quiet})
	}
	if len(left) > 0 {
		d.Heading(1, "Left out today")
		d.Bullets(left...)
	}
	d.Heading(1, "Made by")
	d.Facts(Fact{Name: "name", Text: strings.Repeat("_", 28)}, Fact{Name: "begun, ended", Text: blank + "   " + blank}, Fact{Name: "defects booked", Text: strings.Repeat("_", 28)})
	d.rests(c)
	return d
}

// todayAdds says what the unit's own entry adds, and whether any of it is to be minded.
func todayAdds(d *Document, s *prepare.Sheet) bool {
	if s.Unit == nil {
		return false
	}
	var items []Item
	warn := false
	for _, m := range s.Unit.Modifications {
		items = append(items, Item{Text: "Modified: " + m + "."})
	}
	for _, x := range s.Defects {
		warn = true
		items = append(items, Item{Text: fmt.Sprintf("Open defect since %s: %s.", x.Date, x.Text), Mark: Bad})
	}
	names := func(t prepare.SheetLine) string {
		if t.Device != nil {
			return t.Device.Name
		}
		return t.Checks[0].What
	}
	seen := map[string]bool{}
	for _, t := range s.Stands {
		for _, l := range t.Lines {
			for _, n := range l.Notes {
				text := fmt.Sprintf("%s: %s.", upper(names(l)), note(n))
				if seen[text] {
					continue
				}
				seen[text] = true
				warn = true
				mark := Warn
				if n.Kind == "defect" {
					mark = Bad
				}
				items = append(items, Item{Text: text, Mark: mark})
			}
			for _, x := range l.Due {
				if x.Over > 0 && !seen[x.Check.ID] {
					seen[x.Check.ID] = true
					warn = true
					items = append(items, Item{Text: fmt.Sprintf("%s (%s): due since %s, %s over.", upper(x.Check.What), x.Check.ID, x.Next, count(x.Over, "day")), Mark: Warn})
				}
			}
		}
	}
	var lacks []string
	for _, x := range s.Lacks {
		lacks = append(lacks, x.Name)
	}
	if len(lacks) > 0 {
		items = append(items, Item{Text: "Not on this unit: " + strings.Join(lacks, "; ") + ".", Mark: Quiet})
	}
	if s.Unit.Note != "" {
		items = append(items, Item{Text: upper(s.Unit.Note) + "."})
	}
	if len(items) > 0 {
		d.Heading(1, "What today adds")
		d.Bullets(items...)
	}
	return warn
}

// order says what the order of the stands rests on.
func order(d *Document, w *prepare.Walk, u quantity.Units) {
	switch {
	case w.Frozen == nil && w.Proved:
		d.Footer = append(d.Footer, fmt.Sprintf("Order computed from the record as it stands, proved shortest (%s on foot); not frozen.", u.Seconds(quantity.Seconds(w.Seconds))))
	case w.Frozen == nil:
		d.Footer = append(d.Footer, fmt.Sprintf("Order computed from the record as it stands: bounded, not proved shortest. It takes %s on foot; no order takes less than %s. Not frozen.", u.Seconds(quantity.Seconds(w.Seconds)), u.Seconds(quantity.Seconds(w.Lower))))
	default:
		proof := "bounded, not proved shortest"
		if w.Proved {
			proof = "proved shortest"
		}
		d.Footer = append(d.Footer, fmt.Sprintf("Order frozen for revision %s, %s then. It rests on ways, places and checks with the hash %s.", orUnnamed(w.Frozen.Revision), proof, w.Frozen.Record))
	}
	var fresh []string
	for _, t := range w.Stands {
		if t.New {
			name := t.Place.Name
			if t.Do != "" {
				name = t.Do
			}
			fresh = append(fresh, name+" ("+t.State+")")
		}
	}
	if w.Stale {
		text := "The order was computed for revision " + orUnnamed(w.Frozen.Revision) + ", and the record has changed since. The stands keep their order"
		if len(fresh) > 0 {
			text += "; new stands: " + strings.Join(fresh, ", ")
		}
		if len(w.Gone) > 0 {
			text += "; no longer in the record: " + strings.Join(w.Gone, ", ")
		}
		d.Paragraph(Warn, text+".")
	}
	for _, b := range w.Breaks {
		d.Paragraph(Bad, "The frozen order makes "+b+", and the record says it comes after. Freeze it anew.")
	}
}

func stateHeading(state string) string {
	switch state {
	case "stopped":
		return "Engine stopped"
	case "idling":
		return "Engine idling"
	}
	return upper(state)
}

func actCaution(do string) string {
	if do == "start the engine" {
		return "Everybody clear of it first, and a shout or the bell before it turns; local starting rules come first."
	}
	return "Hands out of the rigging while air can come; chocks stay."
}

// way says how one gets to a stand, and what to mind on each part of it.
func way(d *Document, c *fleet.Class, s prepare.Stand, u quantity.Units) {
	if len(s.Way) == 0 {
		return
	}
	text := u.Seconds(quantity.Seconds(s.Seconds)) + " on foot"
	var by []string
	for _, x := range s.Way[:len(s.Way)-1] {
		by = append(by, c.PlaceName(x.To))
	}
	if len(by) > 0 {
		text += " by " + strings.Join(by, ", ")
	}
	var mind []string
	for _, x := range s.Way {
		for _, m := range x.Cautions {
			m = strings.TrimPrefix(m, "mind ")
			if !strings.Contains(strings.Join(mind, "|"), m) {
				mind = append(mind, m)
			}
		}
	}
	if len(mind) > 0 {
		d.Paragraph(Warn, text+". Mind: "+strings.Join(mind, "; ")+".")
		return
	}
	d.Paragraph(Quiet, text+".")
}

func note(n prepare.Note) string {
	switch n.Kind {
	case "defect":
		return fmt.Sprintf("open defect since %s: %s", n.Date, n.Text)
	case "fitted":
		return fmt.Sprintf("%s since %s, %s", n.Text, n.Date, n.Why)
	}
	return fmt.Sprintf("%s %s since %s, %s", n.Kind, n.Text, n.Date, n.Why)
}

// rows are a line of the sheet: the device as it should stand, then each check. On a brief
// sheet a check speaks for its device, unless there is more to say of it.
func rows(l prepare.SheetLine, state string, brief bool, u quantity.Units) [][]Cell {
	var out [][]Cell
	mind := ""
	if x := l.Device; x != nil {
		name := x.Name
		mark, room := None, blank
		if x.MustNotMove {
			mark, name = Warn, name+" – must not be moved"
		}
		right := rightWhen(x)
		if l.Read != "" || len(l.Checks) > 0 && l.Checks[0].Place != "" && l.Checks[0].Place != x.Place {
			right = ""
		}
		for _, n := range l.Notes {
			mark = Warn
			if n.Kind == "defect" {
				mark = Bad
			}
			right = strings.TrimPrefix(right+"; today "+note(n), "; ")
		}
		if len(l.Checks) > 0 {
			room = ""
			if len(x.Cautions) > 0 {
				right = strings.TrimPrefix(right+"; mind: "+strings.Join(x.Cautions, "; "), "; ")
			}
		}
		if brief && len(l.Checks) > 0 && mark == None {
			if len(x.Cautions) > 0 {
				mind = "mind: " + strings.Join(x.Cautions, "; ")
			}
		} else {
			out = append(out, []Cell{Marked(mark, upper(name)), Text(upper(right)), Text(room)})
		}
	}
	for i, k := range l.Checks {
		what, right := k.What, []string{}
		if k.How != "" {
			what += ": " + k.How
		}
		if l.Read != "" {
			what = fmt.Sprintf("stand-out with the brake %s, for %s", l.Read, k.What)
		}
		switch {
		case l.Read == "released" || l.Read == "applied" && k.Limit.Text == "":
			right = append(right, "written for each cylinder")
		case l.Read == "applied":
			right = append(right, "written for each; less the released one "+k.Limit.Text)
		case k.Limit.Text != "":
			right = append(right, k.Limit.Text)
		}
		if k.Wait > 0 {
			right = append(right, fmt.Sprintf("true after %s %s", u.Seconds(quantity.Seconds(k.Wait)), k.StateOr(state)))
		}
		if k.Over > 0 {
			right = append(right, "over "+u.Seconds(quantity.Seconds(k.Over)))
		}
		if k.When != "" {
			right = append(right, k.When)
		}
		if x := l.Due; i < len(x) && k.Every.Stated() {
			switch {
			case !x[i].Looked:
				if !strings.Contains(k.When, k.Every.Text) {
					right = append(right, k.Every.Text)
				}
			case x[i].Last == "" && strings.Contains(k.When, k.Every.Text):
				right = append(right, "no day recorded")
			case x[i].Last == "":
				right = append(right, k.Every.Text+", no day recorded")
			case x[i].Over > 0:
				right = append(right, fmt.Sprintf("due since %s", x[i].Next))
			default:
				right = append(right, "due today")
			}
		}
		if k.Then != "" && l.Read != "released" {
			right = append(right, "if not: "+k.Then)
		}
		if k.Outside != "" && k.Outside != "report" && l.Read != "released" {
			right = append(right, "outside it the unit "+k.Outside)
		}
		if mind != "" {
			right = append(right, mind)
			mind = ""
		}
		out = append(out, []Cell{Text("→ " + what + " (" + k.ID + ")"), Text(upper(strings.Join(right, "; "))), Text(blank)})
	}
	return out
}

// rightWhen is how a device should be found.
func rightWhen(x *fleet.Device) string {
	var out []string
	if p, ok := x.Position(x.Normal); ok {
		text := p.Looks
		if text == "" {
			text = p.ID
		}
		out = append(out, text)
	} else if x.Normal != "" {
		out = append(out, x.Normal)
	}
	for _, f := range x.Limits {
		out = append(out, f.Name+" "+f.Text)
	}
	if x.Lasts != "" {
		out = append(out, "good for "+x.Lasts)
	}
	if x.Sealed {
		out = append(out, "seal whole")
	}
	if len(out) == 0 && x.Evidence != "" {
		out = append(out, x.Evidence)
	}
	if len(out) == 0 && x.HowWorked != "" {
		out = append(out, x.HowWorked)
	}
	if x.ReadsTrueWhen != "" {
		out = append(out, "true when: "+x.ReadsTrueWhen)
	}
	if len(out) == 0 {
		return "whole, fast and dry"
	}
	return strings.Join(out, "; ")
}

func upper(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// Measured is a filled-in sheet with each value held against its limits.
func Measured(c *fleet.Class, unit *fleet.Unit, rs []prepare.Result, u quantity.Units) *Document {
	d := &Document{Title: "Measurements judged: " + c.Name}
	if unit != nil {
		d.Title = "Measurements judged: " + unit.Name()
	}
	if c.Draft() {
		d.Banner = "DRAFT – NOT FOR USE"
	}
	tally := map[string]int{}
	for _, r := range rs {
		tally[r.Status]++
	}
	v := &Verdict{Mark: Good, Text: fmt.Sprintf("%s, all within their limits.", count(len(rs), "result"))}
	switch {
	case len(rs) == 0:
		v = &Verdict{Mark: Unknown, Text: "Cannot say: nothing was entered."}
	case tally[prepare.Outside] > 0:
		v = &Verdict{Mark: Bad, Text: fmt.Sprintf("%d of %s outside.", tally[prepare.Outside], count(len(rs), "result"))}
	case tally[prepare.Ask]+tally[prepare.Cannot] > 0:
		v = &Verdict{Mark: Unknown, Text: fmt.Sprintf("Cannot say of %d of %s.", tally[prepare.Ask]+tally[prepare.Cannot], count(len(rs), "result"))}
	}
	if n := tally[prepare.Ask]; n > 0 {
		v.Text += fmt.Sprintf(" %s must be looked at again and not judged as it stands.", upper(count(n, "value")))
	}
	d.Verdict = v
	t := Table{Columns: []Column{{Title: "what"}, {Title: "entered"}, {Title: "comes to", Align: Right}, {Title: "limit"}, {Title: "result"}}}
	var then []Item
	for _, r := range rs {
		name := r.Name
		if r.Part != "" && strings.Trim(r.Part, "0123456789") == "" {
			name += ", no. " + r.Part
		} else if r.Part != "" {
			name += ", " + r.Part
		}
		if r.What != "" && !strings.Contains(name, r.What) {
			name = strings.TrimPrefix(name+": "+r.What, ": ")
		}
		mark := map[string]Mark{prepare.Within: Good, prepare.Outside: Bad, prepare.Ask: Unknown, prepare.Cannot: Unknown}[r.Status]
		value := ""
		if r.Known {
			value = amount(r, r.Value, u, quantity.Nearest)
		}
		if len(r.Held) == 0 {
			t.Rows = append(t.Rows, []Cell{Text(name), Text(r.Read), Text(value), Text(""), Marked(mark, r.Status)})
		}
		for i, h := range r.Held {
			row := []Cell{Text(""), Text(""), Text(""), Text(limits(r, h, u) + " (" + cite(h) + ")"), Marked(map[string]Mark{prepare.Within: Good, prepare.Outside: Bad}[h.Status], h.Status)}
			if i == 0 {
				row[0], row[1], row[2] = Text(name), Text(r.Read), Text(value)
			}
			if h.Status == "" {
				row[4] = Marked(mark, r.Status)
			}
			t.Rows = append(t.Rows, row)
		}
		for _, s := range r.Says {
			m := mark
			if r.Status == prepare.Within || r.Status == prepare.Outside {
				m = Quiet
			}
			if text := says(s, u); text != "" {
				then = append(then, Item{Text: fmt.Sprintf("%s: %s", upper(name), text), Mark: m})
			}
		}
		if r.Status == prepare.Outside {
			text := upper(name) + " is outside: "
			if r.Then == "" {
				text += "the record does not say what then; report it"
			} else {
				text += r.Then
			}
			if r.Outside != "" && r.Outside != "report" {
				text += ". The unit " + r.Outside
			}
			then = append(then, Item{Text: text + ".", Mark: Bad})
		}
	}
	d.Table(t)
	if len(then) > 0 {
		d.Heading(1, "What to do, and what to ask")
		d.Bullets(then...)
	}
	d.Footer = append(d.Footer, "A limit is shown rounded toward safety. The stricter of two limits decides; local rules come first.")
	d.Footer = append(d.Footer, cited(rs)...)
	d.rests(c)
	return d
}

// amount prints a value of a result; a part of a rating is a percentage.
func amount(r prepare.Result, v float64, u quantity.Units, way quantity.Rounding) string {
	if r.What == "delivery" {
		return fmt.Sprintf("%.0f %%", math.Floor(v*100+1e-9))
	}
	return u.Limit(r.Kind, v, way)
}

func limits(r prepare.Result, h prepare.Held, u quantity.Units) string {
	low, high := !math.IsInf(h.Low, 0), !math.IsInf(h.High, 0)
	switch {
	case low && high:
		return amount(r, h.Low, u, quantity.Up) + " to " + amount(r, h.High, u, quantity.Down)
	case low:
		return "at least " + amount(r, h.Low, u, quantity.Up)
	case high:
		return "at most " + amount(r, h.High, u, quantity.Down)
	}
	return ""
}

// cite names where a limit comes from, in a word; the foot of the document says more.
func cite(h prepare.Held) string {
	if h.Row != "" {
		return h.Row
	}
	return h.What + ", " + h.Source
}

// cited are the published rows of the results, each with the title of its source.
func cited(rs []prepare.Result) []string {
	var out []string
	for _, r := range rs {
		for _, h := range r.Held {
			if h.Row == "" {
				continue
			}
			text := fmt.Sprintf("%s: %s, %s.", h.Row, h.What, h.Source)
			if ref, ok := source.Lookup(h.Source); ok {
				text = fmt.Sprintf("%s: %s; %s, %s.", h.Row, h.What, ref.Title, ref.Where)
			}
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// says words what stands beside a result.
func says(s prepare.Says, u quantity.Units) string {
	a, b := u.Limit(s.Amount, s.A, quantity.Nearest), u.Limit(s.Amount, s.B, quantity.Nearest)
	switch s.Kind {
	case "released from record":
		return "less the released stand-out of the record, " + a + "; none was measured."
	case "travel is the stand-out":
		return "the travel entered, " + a + ", is the applied stand-out. Less the released one it is " + b + ". Which was measured?"
	case "travel disagrees":
		return "the travel entered, " + a + ", is not the applied less the released stand-out, " + b + ". Measure again."
	case "less released it fits":
		return "outside as a travel; less the released stand-out of " + b + " it would be " + a + ". Was the stand-out read, and the released one forgotten? Enter applied and released."
	case "usual stand-out":
		return "this is just what the rod stands out with the usual travel of " + a + " and " + b + " released. Was the stand-out read? Enter applied and released."
	case "is it the travel already":
		return "as a stand-out it leaves a travel of " + b + ", too short; as a travel " + a + " would be right. Which was measured?"
	case "applied below released":
		return "stands out " + a + " applied and " + b + " released. Were the two exchanged, or does the brake not apply?"
	case "needs released":
		return "cannot say: needs the released stand-out, measured or in the record of the piston."
	case "needs applied":
		return "cannot say: needs the applied stand-out."
	case "needs start, end and time":
		return "cannot say: needs start, end and the time between."
	case "it rose":
		return "the pressure rose by " + a + ". Something feeds it; find it and time it again."
	case "timed too short":
		return "timed over " + a + "; the limit asks for " + b + ". Time it again."
	case "starts too high":
		return "started at " + a + "; " + s.Text + " starts it at " + b + " or below."
	case "needs both gauges":
		return "cannot say: needs what it shows and what the test gauge shows."
	case "needs orifice and pressure":
		return "cannot say: needs the bore of the orifice and the pressure held against it."
	case "needs rating":
		return "cannot say: needs what the compressor is rated to deliver."
	case "through the hole":
		return "the hole passes " + a + " (sharp edges) to " + b + " (rounded)."
	case "hangs on the hole":
		return fmt.Sprintf("cannot say: %.0f to %.0f %% of the rating by the edges of the hole.", s.A*100, s.B*100)
	case "needs track gauge":
		return "cannot say: needs identity: gauge."
	case "needs tell-tale":
		return "cannot say: needs certified, radius, strength and depth."
	case "no depth":
		return "cannot say: " + s.Text + "."
	case "local height":
		return "no published height on this gauge (" + s.Text + "); the railway's own decides."
	case "no limit":
		return "cannot say: neither the record nor the rules hold a figure for it."
	}
	return s.Text
}

func orUnnamed(revision string) string {
	if revision == "" {
		return "without a name"
	}
	return revision
}
