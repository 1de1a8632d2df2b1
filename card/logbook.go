package card

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"headstock/calendar"
	"headstock/logbook"
	"headstock/quantity"
)

// stamp is a time as it is read: UTC, to the minute.
func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") }

// readIn is the unit in which a measure is shown, for metric and for imperial readers.
// A log shows what was read, so figures keep more digits here than on a card.
func readIn(k quantity.Kind, u quantity.Units) (quantity.Unit, bool) {
	imperial := map[quantity.Kind]string{quantity.Pressure: "psi", quantity.AbsolutePressure: "psi abs", quantity.Length: "in", quantity.Area: "in2", quantity.Volume: "in3",
		quantity.Mass: "lb", quantity.Power: "hp", quantity.Force: "lbf", quantity.Speed: "mph", quantity.Flow: "cfm", quantity.Temperature: "°F", quantity.Rate: "psi/min"}
	metric := map[quantity.Kind]string{quantity.Mass: "kg", quantity.Time: "s"}
	name := k.Example()
	if n, ok := metric[k]; ok {
		name = n
	}
	if n, ok := imperial[k]; ok && u.Name() == quantity.Imperial().Name() {
		name = n
	}
	return quantity.UnitOf(name)
}

// significant prints so many significant figures, without zeros at the end.
func significant(v float64, n int) string {
	if v == 0 {
		return "0"
	}
	decimals := max(0, n-1-int(math.Floor(math.Log10(math.Abs(v)))))
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// asRead prints a value of the log: "92.4 mm", with its spread where it was stated.
func asRead(v logbook.Value, u quantity.Units) string {
	q, ok := v.Quantity()
	if !ok {
		return significant(v.SI, 5) + " " + v.Measure
	}
	unit, ok := readIn(q.Kind, u)
	if !ok {
		return significant(v.SI, 5)
	}
	s := significant((v.SI-unit.Offset)/unit.Factor, 5) + " " + unit.Name
	if v.Spread > 0 {
		s += " ± " + significant(v.Spread/unit.Factor, 2)
	}
	return s
}

// change prints a difference of a measure, with its sign and, when asked, its unit.
func change(measure string, si float64, u quantity.Units, named bool) string {
	q, _ := logbook.Value{Measure: measure}.Quantity()
	unit, ok := readIn(q.Kind, u)
	if !ok {
		unit = quantity.Unit{Factor: 1}
	}
	s := significant(si/unit.Factor, 2)
	if si > 0 && s != "0" {
		s = "+" + s
	}
	if named && unit.Name != "" {
		s += " " + unit.Name
	}
	return s
}

// boundWords prints a limit, each end rounded to the inside so that none is shown wider
// than it is.
func boundWords(l *logbook.Limit, u quantity.Units) string {
	q, _ := logbook.Value{Measure: l.Measure}.Quantity()
	unit, ok := readIn(q.Kind, u)
	if !ok {
		unit = quantity.Unit{Factor: 1}
	}
	end := func(v float64, inside func(float64) float64) string {
		v = (v - unit.Offset) / unit.Factor
		if v != 0 {
			step := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-3)
			v = inside(v/step) * step
		}
		return strings.TrimSpace(significant(v, 4) + " " + unit.Name)
	}
	// a millionth of the last figure is what the conversion leaves
	up := func(x float64) float64 { return math.Ceil(x - 1e-6) }
	down := func(x float64) float64 { return math.Floor(x + 1e-6) }
	switch {
	case l.HasLow && l.HasHigh:
		return end(l.Low, up) + " to " + end(l.High, down)
	case l.HasLow:
		return "at least " + end(l.Low, up)
	}
	return "at most " + end(l.High, down)
}

// where is the device of a line and its state, after what was read.
func where(k logbook.Key, unit bool) string {
	var parts []string
	if unit {
		parts = append(parts, k.Unit)
	}
	parts = append(parts, k.What)
	if k.Device != "" {
		parts = append(parts, k.Device)
	}
	if k.State != "" {
		parts = append(parts, k.State)
	}
	return strings.Join(parts, ", ")
}

func tickMark(t logbook.Tick) Mark {
	switch t {
	case logbook.Right:
		return Good
	case logbook.Wrong:
		return Bad
	case logbook.NotSeen:
		return Unknown
	}
	return None
}

func lineWords(l logbook.Line, unit string, u quantity.Units) string {
	k := logbook.Key{Unit: unit, Device: l.Device, What: l.What, State: l.State}
	if l.Unit != "" {
		k.Unit = l.Unit
	}
	s := where(k, l.Unit != "")
	if l.Value != nil {
		s += ": " + asRead(*l.Value, u)
	}
	if l.Seen != "" {
		s += ": " + l.Seen
	}
	if l.Tick != logbook.NoTick {
		s += ": " + string(l.Tick)
	}
	if l.Renewed {
		s += ", renewed or adjusted before"
	}
	return s
}

// content is an entry in a few words, as a line of a list shows it.
func content(e logbook.Entry, b *logbook.Book, u quantity.Units) string {
	var parts []string
	switch {
	case e.Sheet != "":
		wrong, unseen := 0, 0
		for _, l := range e.Lines {
			switch l.Tick {
			case logbook.Wrong:
				wrong++
			case logbook.NotSeen:
				unseen++
			}
		}
		s := fmt.Sprintf("%s, %d lines", e.Sheet, len(e.Lines))
		if wrong > 0 {
			s += fmt.Sprintf(", %d wrong", wrong)
		}
		if unseen > 0 {
			s += fmt.Sprintf(", %d not seen", unseen)
		}
		parts = append(parts, s)
	case len(e.Lines) > 0:
		parts = append(parts, lineWords(e.Lines[0], e.Unit, u))
	}
	if e.Device != "" {
		parts = append(parts, e.Device)
	}
	if e.To != "" {
		parts = append(parts, "to "+e.To)
	}
	if !e.Closes.IsZero() {
		parts = append(parts, "closes "+b.NumberOf(e.Closes))
	}
	if e.Text != "" {
		parts = append(parts, e.Text)
	}
	s := strings.Join(parts, ": ")
	if e.Kind == logbook.Correction {
		if e.Withdrawn {
			return fmt.Sprintf("%s is withdrawn: %s", b.NumberOf(e.Supersedes), e.Why)
		}
		return fmt.Sprintf("stands in for %s (%s): %s", b.NumberOf(e.Supersedes), e.Why, s)
	}
	return s
}

// Log lists entries as they were written, those that no longer stand marked so.
func Log(b *logbook.Book, entries []logbook.Entry, title string, u quantity.Units) *Document {
	d := &Document{Title: title, Subtitle: fmt.Sprintf("%d entries; times are UTC", len(entries))}
	if len(entries) == 1 {
		d.Subtitle = "1 entry; times are UTC"
	}
	t := Table{Columns: []Column{{Title: "no.", Align: Right}, {Title: "when"}, {Title: "unit"}, {Title: "what"}, {Title: "says"}, {Title: "who"}}}
	open := map[int]bool{}
	for _, x := range b.Open("") {
		open[x.First.Number] = true
	}
	for _, e := range entries {
		mark, says := None, content(e, b, u)
		if by := b.Superseded(e.Number); by > 0 {
			mark, says = Quiet, fmt.Sprintf("(see %d) ", by)+says
		} else if e.Kind == logbook.Defect {
			if mark = Warn; !open[e.Number] {
				mark, says = None, says+" (closed)"
			}
		}
		when := e.At
		if e.Kind == logbook.Correction { // its other time is that of what it corrects
			when = e.Written
		}
		t.Rows = append(t.Rows, []Cell{Text(strconv.Itoa(e.Number)), Text(stamp(when)), Text(e.Unit), Text(string(e.Kind)), Marked(mark, says), Text(e.Who)})
	}
	if len(t.Rows) == 0 {
		d.Paragraph(Quiet, "No such entry.")
		return d
	}
	d.Table(t)
	return d
}

// Entry is one entry with everything written about it since.
func Entry(b *logbook.Book, number int, u quantity.Units) *Document {
	e, _ := b.Find(number)
	d := &Document{Title: fmt.Sprintf("Entry %d: %s of %s", e.Number, e.Kind, e.Unit), Subtitle: "times are UTC"}
	if by := b.Superseded(number); by > 0 {
		d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("This entry no longer stands; entry %d does.", by)}
		if next, ok := b.Find(by); ok && next.Withdrawn {
			d.Verdict.Text = fmt.Sprintf("This entry no longer stands; entry %d withdraws it.", by)
		}
	}
	facts := []Fact{{Name: "when", Text: stamp(e.At)}, {Name: "written", Text: stamp(e.Written)}, {Name: "who", Text: e.Who},
		{Name: "record", Text: e.Record.Revision + ", " + short(e.Record.Hash)}}
	add := func(name, text string) {
		if text != "" {
			facts = append(facts, Fact{Name: name, Text: text})
		}
	}
	add("sheet", e.Sheet)
	add("device", e.Device)
	add("fault", e.Fault)
	add("handed to", e.To)
	add("why", e.Why)
	add("text", e.Text)
	for _, r := range e.Refs {
		add("see", b.NumberOf(r))
	}
	add("id", e.ID.String())
	add("hash", e.Hash)
	d.Facts(facts...)
	if len(e.Lines) > 0 {
		t := Table{Caption: "Lines", Columns: []Column{{Title: "what"}, {Title: "device"}, {Title: "found"}, {Title: "read in"}}}
		for _, l := range e.Lines {
			what, found := l.What, []string{}
			if l.Unit != "" {
				what = l.Unit + ": " + what
			}
			if l.Value != nil {
				found = append(found, asRead(*l.Value, u))
			}
			if l.Seen != "" {
				found = append(found, l.Seen)
			}
			if l.Tick != logbook.NoTick {
				found = append(found, string(l.Tick))
			}
			if l.Renewed {
				found = append(found, "renewed or adjusted before")
			}
			t.Rows = append(t.Rows, []Cell{Text(what), Text(l.Device), Marked(tickMark(l.Tick), strings.Join(found, ", ")), Text(l.State)})
		}
		d.Table(t)
	}
	var items []Item
	for _, h := range b.History(number) {
		if h.Number != number {
			items = append(items, Item{Text: fmt.Sprintf("%d, %s, %s: %s: %s", h.Number, stamp(h.Written), h.Who, h.Kind, content(h, b, u))})
		}
	}
	if len(items) > 0 {
		d.Heading(1, "Written about it")
		d.Bullets(items...)
	}
	return d
}

func short(hash string) string {
	if len(hash) > 12 {
		return hash[:12] + "…"
	}
	return hash
}

// Wrote says that an entry is kept.
func Wrote(b *logbook.Book, e logbook.Entry, u quantity.Units) *Document {
	return &Document{Title: fmt.Sprintf("Entry %d is kept", e.Number), Subtitle: fmt.Sprintf("%s, %s, %s UTC, by %s", e.Unit, e.Kind, stamp(e.At), e.Who),
		Blocks: []Block{{Paragraph: &Paragraph{Text: content(e, b, u)}}}}
}

// OpenDefects lists defects that nobody has closed.
func OpenDefects(b *logbook.Book, unit string) *Document {
	open := b.Open(unit)
	of := "all units"
	if unit != "" {
		of = unit
	}
	d := &Document{Title: "Open defects of " + of, Subtitle: "by the logbook; times are UTC"}
	d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("%d open.", len(open))}
	if len(open) == 0 {
		d.Verdict = &Verdict{Text: "The logbook holds no open defect. That nobody wrote one down does not show that there is none."}
		return d
	}
	t := Table{Columns: []Column{{Title: "no.", Align: Right}, {Title: "since"}, {Title: "unit"}, {Title: "device"}, {Title: "defect"}, {Title: "who"}}}
	for _, x := range open {
		t.Rows = append(t.Rows, []Cell{Text(strconv.Itoa(x.First.Number)), Text(stamp(x.At)), Text(x.Unit), Text(x.Device), Marked(Warn, x.Text), Text(x.Who)})
	}
	d.Table(t)
	return d
}

// HandedOver is what a handover of a unit rests on: the defects, what was written since
// the handover before, and the last reading of each measure.
func HandedOver(b *logbook.Book, s logbook.Summary, u quantity.Units) *Document {
	d := &Document{Title: "Handover of " + s.Unit, Subtitle: "by the logbook; times are UTC"}
	d.Verdict = &Verdict{Text: "No open defect in the logbook; that nobody wrote one down does not show that there is none."}
	if len(s.Open) > 0 {
		d.Verdict = &Verdict{Mark: Warn, Text: fmt.Sprintf("%d open defects.", len(s.Open))}
		if len(s.Open) == 1 {
			d.Verdict.Text = "1 open defect."
		}
		d.Heading(1, "Open defects")
		var items []Item
		for _, x := range s.Open {
			text := x.Text
			if x.Device != "" {
				text = x.Device + ": " + text
			}
			items = append(items, Item{Text: text, Mark: Warn, Detail: []string{fmt.Sprintf("no. %d, since %s, %s", x.First.Number, stamp(x.At), x.Who)}})
		}
		d.Bullets(items...)
	}
	since := "Written so far"
	if s.Last != nil {
		since = fmt.Sprintf("Written since the handover of %s from %s to %s", stamp(s.Last.At), s.Last.Who, s.Last.To)
		if s.Last.Text != "" {
			d.Heading(1, "Said at the handover before")
			d.Paragraph(None, s.Last.Text)
		}
	}
	d.Heading(1, since)
	var items []Item
	readings := 0
	for _, x := range s.Since {
		if x.Kind == logbook.Measurement && x.By == 0 { // the table has them
			readings++
			continue
		}
		text := fmt.Sprintf("%s: %s", x.Kind, content(x.Entry, b, u))
		if x.By > 0 {
			text += " (corrected: " + x.Why + ")"
		}
		items = append(items, Item{Text: text, Detail: []string{fmt.Sprintf("no. %d, %s, %s", x.First.Number, stamp(x.At), x.Who)}})
	}
	for _, e := range s.Withdrawn {
		items = append(items, Item{Text: content(e, b, u), Mark: Warn, Detail: []string{fmt.Sprintf("no. %d, %s, %s", e.Number, stamp(e.Written), e.Who)}})
	}
	if readings > 0 {
		items = append(items, Item{Text: fmt.Sprintf("%d measurements; the last of each is below", readings)})
	}
	if len(items) == 0 {
		d.Paragraph(Quiet, "Nothing else.")
	}
	d.Bullets(items...)
	if len(s.Read) > 0 {
		t := Table{Caption: "Last readings", Columns: []Column{{Title: "what"}, {Title: "reading", Align: Right}, {Title: "when"}, {Title: "who"}}}
		for _, r := range s.Read {
			t.Rows = append(t.Rows, []Cell{Text(where(r.Key, false)), Text(asRead(r.Value, u)), Text(stamp(r.At)), Text(r.Who)})
		}
		d.Table(t)
	}
	return d
}

// HandedTo adds to what a handover rests on that it was written down.
func HandedTo(d *Document, e logbook.Entry) {
	d.Subtitle = fmt.Sprintf("entry %d is kept: %s UTC, from %s to %s; %s", e.Number, stamp(e.At), e.Who, e.To, d.Subtitle)
	if e.Text != "" {
		d.Heading(1, "Said at this handover")
		d.Paragraph(None, e.Text)
	}
}

// LogChecked says whether a logbook is whole.
func LogChecked(path string, entries int, head string, faults []string) *Document {
	d := &Document{Title: "Check of the logbook", Subtitle: path}
	if len(faults) == 0 {
		d.Verdict = &Verdict{Mark: Good, Text: "Whole: the file is sound, and each entry is as it was written and follows the one before it."}
		if entries > 0 {
			d.Verdict.Reasons = []string{"An entry that is missing at the end shows only against a last hash that was kept elsewhere: give it with --head."}
		}
	} else {
		d.Verdict = &Verdict{Mark: Bad, Text: "Not whole. Stop writing to it, keep the file as it is, and restore a backup.", Reasons: faults}
	}
	d.Facts(Fact{Name: "entries", Text: strconv.Itoa(entries)}, Fact{Name: "last hash", Text: head})
	return d
}

// LogTables is every entry of a logbook and every line of its sheets as two plain tables,
// for any writer of tables. Values are in SI, with the name of their measure.
func LogTables(entries []logbook.Entry) *Document {
	d := &Document{Title: "Logbook", Subtitle: fmt.Sprintf("%d entries; times are UTC, values are in SI", len(entries))}
	columns := func(names ...string) (c []Column) {
		for _, n := range names {
			c = append(c, Column{Title: n})
		}
		return c
	}
	head := Table{Caption: "Entries", Columns: columns("number", "id", "at", "written", "kind", "unit", "who", "text", "device", "fault", "sheet", "to", "supersedes", "why", "withdrawn", "closes", "refs", "record", "revision", "previous", "hash")}
	lines := Table{Caption: "Lines", Columns: columns("number", "line", "unit", "what", "device", "tick", "seen", "si", "spread", "measure", "state", "renewed")}
	yes := map[bool]string{true: "yes"}
	exact := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for _, e := range entries {
		var refs []string
		for _, r := range e.Refs {
			refs = append(refs, r.String())
		}
		var row []Cell
		for _, s := range []string{strconv.Itoa(e.Number), e.ID.String(), e.At.UTC().Format(time.RFC3339), e.Written.UTC().Format(time.RFC3339), string(e.Kind), e.Unit, e.Who, e.Text, e.Device, e.Fault, e.Sheet, e.To,
			e.Supersedes.String(), e.Why, yes[e.Withdrawn], e.Closes.String(), strings.Join(refs, " "), e.Record.Hash, e.Record.Revision, e.Previous, e.Hash} {
			row = append(row, Text(s))
		}
		head.Rows = append(head.Rows, row)
		for i, l := range e.Lines {
			unit, si, spread, measure := l.Unit, "", "", ""
			if unit == "" {
				unit = e.Unit
			}
			if l.Value != nil {
				si, measure = exact(l.Value.SI), l.Value.Measure
				if l.Value.Spread > 0 {
					spread = exact(l.Value.Spread)
				}
			}
			row = nil
			for _, s := range []string{strconv.Itoa(e.Number), strconv.Itoa(i + 1), unit, l.What, l.Device, string(l.Tick), l.Seen, si, spread, measure, l.State, yes[l.Renewed]} {
				row = append(row, Text(s))
			}
			lines.Rows = append(lines.Rows, row)
		}
	}
	d.Table(head)
	d.Table(lines)
	return d
}

// DriftRow is one drift with what its limit came from.
type DriftRow struct {
	logbook.Drift
	By      string   `json:"limit_from,omitempty"`
	Perhaps []string `json:"checks_at_device,omitempty"` // where there is no limit: checks there, with theirs
}

// Drifts is where the measures of a unit are going. today is the day it is asked on.
func Drifts(unit string, rows []DriftRow, today calendar.Date, u quantity.Units) *Document {
	d := &Document{Title: "Drift of " + unit, Subtitle: "on " + today.String() + ", by the readings in the logbook"}
	if len(rows) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the logbook holds no such reading."}
		return d
	}
	d.Verdict = driftVerdict(rows, today, u)
	t := Table{Columns: []Column{{Title: "what"}, {Title: "last reading"}, {Title: "in 30 days"}, {Title: "limit"}, {Title: "reaches it"}}}
	var notes []Item
	by := ""
	for _, r := range rows {
		limit := "none given"
		if r.Limit != nil {
			limit = boundWords(r.Limit, u)
		}
		mark, when := driftAnswer(r, today)
		slope := "not known"
		if r.Trend != nil {
			slope = change(r.Measure, 30*r.Trend.PerDay, u, true)
			if w := r.Trend.Within; w != nil {
				slope += fmt.Sprintf(" (%s to %s)", change(r.Measure, 30*w[0], u, false), change(r.Measure, 30*w[1], u, false))
			}
		}
		t.Rows = append(t.Rows, []Cell{Text(where(r.Key, false)), Text(asRead(r.Last.Value, u) + " on " + r.To.String()), Text(slope), Text(limit), Marked(mark, when)})
		notes = append(notes, driftNotes(r, today, u)...)
		if r.By != "" && r.By != by {
			by = r.By
			d.Footer = append(d.Footer, "Limit of "+r.What+": "+r.By+".")
		}
	}
	d.Table(t)
	if len(notes) > 0 {
		d.Heading(1, "To look at")
		d.Bullets(notes...)
	}
	d.Footer = append(d.Footer,
		fmt.Sprintf("A line through the readings of the current run: slope by Theil and Sen, interval of %.0f %% from Kendall's statistic (Sen 1968); the dates' interval is that of the slope. "+
			"It takes the wear to go on as it did. At least %d readings over %d days, and no date further than %d times the days read (common practice).", 100*logbook.Confidence, logbook.Fewest, logbook.ShortestBy, logbook.Furthest),
		"A date is the last whole day before the line meets the limit. The limit is what counts on the day: measure.")
	return d
}

func driftVerdict(rows []DriftRow, today calendar.Date, u quantity.Units) *Verdict {
	var outside, close, unknown []string
	next, of := calendar.Date{}, ""
	for _, r := range rows {
		name := where(r.Key, false)
		switch r.Outcome {
		case logbook.Outside:
			outside = append(outside, fmt.Sprintf("%s: %s on %s; limit %s", name, asRead(r.Last.Value, u), r.To, boundWords(r.Limit, u)))
		case logbook.AtLimit:
			close = append(close, name+": the line through the readings is at the limit")
		case logbook.TooFew:
			unknown = append(unknown, name+": too few readings")
		case logbook.NoLimit:
			unknown = append(unknown, name+": no limit; neither given nor in a check of the class record")
		case logbook.Unrelated:
			unknown = append(unknown, name+": the limit is of another measure")
		}
		if !r.Earliest.IsZero() && !today.Before(r.Earliest) && r.Outcome != logbook.Outside {
			close = append(close, fmt.Sprintf("%s: may have met it since %s", name, r.Earliest))
		}
		if !r.Date.IsZero() && (next.IsZero() || r.Date.Before(next)) {
			next, of = r.Date, name
		}
	}
	switch {
	case len(outside) > 0:
		return &Verdict{Mark: Bad, Text: "Outside its limit at the last reading.", Reasons: append(outside, close...)}
	case len(close) > 0:
		return &Verdict{Mark: Warn, Text: "Measure before the next turn.", Reasons: close}
	case len(unknown) == len(rows):
		return &Verdict{Mark: Unknown, Text: "Cannot say when a limit is reached.", Reasons: unknown}
	case next.IsZero():
		return &Verdict{Text: "No limit is met within the time that these readings can speak for.", Reasons: unknown}
	}
	return &Verdict{Text: fmt.Sprintf("Next limit: %s, on %s by the line through its readings.", of, next), Reasons: unknown}
}

// driftAnswer is the last cell of a row.
func driftAnswer(r DriftRow, today calendar.Date) (Mark, string) {
	soon := func(m Mark) Mark {
		if !r.Earliest.IsZero() && !today.Before(r.Earliest) {
			return Warn
		}
		return m
	}
	switch r.Outcome {
	case logbook.Outside:
		return Bad, "outside now"
	case logbook.AtLimit:
		return Warn, "the line is there now"
	case logbook.Reaches:
		s := r.Date.String()
		switch {
		case !r.Earliest.IsZero() && !r.Latest.IsZero() && r.Earliest == r.Latest:
		case !r.Earliest.IsZero() && !r.Latest.IsZero():
			s += fmt.Sprintf(" (%s to %s)", r.Earliest, r.Latest)
		case !r.Earliest.IsZero():
			s += fmt.Sprintf(" (%s at the earliest, no last day)", r.Earliest)
		default:
			s += " (too few readings for an interval)"
		}
		return soon(None), s
	case logbook.Might:
		return soon(None), fmt.Sprintf("not by the line; %s at the earliest", r.Earliest)
	case logbook.Distant:
		return None, "too far off to date"
	case logbook.Away:
		return None, "not going there"
	case logbook.NoLimit:
		return Unknown, "no limit given"
	case logbook.Unrelated:
		return Unknown, "the limit is of another measure"
	}
	return Unknown, fmt.Sprintf("too few readings: %d over %d days, since %s", r.Readings, r.From.DaysUntil(r.To), map[logbook.Start]string{logbook.FromFirst: "the first", logbook.Renewal: "a renewal", logbook.Jump: "a jump"}[r.Start])
}

func driftNotes(r DriftRow, today calendar.Date, u quantity.Units) []Item {
	var notes []Item
	name := where(r.Key, false)
	if len(r.Perhaps) > 0 {
		notes = append(notes, Item{Mark: Unknown, Text: name + ": no check of the class record has this name. Give the limit with --limit; at this device the record checks", Detail: r.Perhaps})
	}
	if r.Start == logbook.Jump {
		text := name + ": the readings jump before " + r.From.String() + " and stay; taken as a new start."
		if r.Toward {
			notes = append(notes, Item{Mark: Bad, Text: text, Detail: []string{"It went toward the limit. Find out why; it is no renewal."}})
		} else {
			notes = append(notes, Item{Mark: Warn, Text: text, Detail: []string{"If something was renewed or adjusted, correct that reading with --renewed; if not, find out why."}})
		}
	}
	if r.Trend != nil && r.Trend.Stray {
		notes = append(notes, Item{Mark: Warn, Text: fmt.Sprintf("%s: the last reading, %s, lies far off the line (%s). Read again.", name, asRead(r.Last.Value, u), asRead(logbook.Value{Measure: r.Measure, SI: r.Trend.Level}, u))})
	}
	if old := r.To.DaysUntil(today); old > 2*max(logbook.ShortestBy, r.From.DaysUntil(r.To)/max(1, r.Readings-1)) {
		notes = append(notes, Item{Mark: Warn, Text: fmt.Sprintf("%s: the last reading is %d days old.", name, old)})
	}
	return notes
}
