package prepare

import (
	"slices"

	"headstock/calendar"
	"headstock/fleet"
)

// Sheet is a day's sheet of the walk: what the record always asks for, and what today adds.
type Sheet struct {
	Walk    *Walk
	Unit    *fleet.Unit // nil for a class
	Date    string      // "" when none was given; every check is then on the sheet
	Brief   bool        // without the devices that are only seen to stand as they should
	Stands  []SheetStand
	Seconds float64 // on foot, over the stands of the sheet
	Takes   float64 // of the checks on the sheet that say how long they take
	Left    []Stand // stands not gone to today: nothing there is due or open
	Later   []Due   // checks with an interval that are not due today
	// Unplaced are devices and checks that no stand holds, since the record does not say
	// where they are.
	Unplaced []SheetLine
	Defects  []fleet.Defect // open defects of no device
	Lacks    []*fleet.Device
}

// SheetStand is a stand with its lines of today.
type SheetStand struct {
	Stand
	Lines []SheetLine
}

// SheetLine is a line with what today adds.
type SheetLine struct {
	Line
	Notes []Note
	Due   []Due
}

// Note is what a unit's own entry says of a device: its state of today, or an open defect.
type Note struct {
	Kind string // "fitted", "normal", "position", "sets", "looks" or "defect"
	Text string
	Date string
	Why  string
}

// Due is a check with an interval, with the day it was last made and the day it is due.
// Last is "" when no day is recorded; it is then due.
type Due struct {
	Check fleet.Check
	Last  string
	Next  string
	Over  int // days past due; 0 on the day itself
	// Looked says that a unit and a day were given, so that Last was looked for.
	Looked bool
}

// Today makes the sheet of a unit for a day, or with no unit that of the class. With no
// day every check stands on it. A brief sheet holds the checks, what is read in a state of
// the machine, trips, what must not be moved, and what today adds. An error is of the date.
func Today(w *Walk, u *fleet.Unit, date string, brief bool) (*Sheet, error) {
	s := &Sheet{Walk: w, Unit: u, Date: date, Brief: brief}
	if date != "" {
		if _, err := calendar.Parse(date); err != nil {
			return nil, err
		}
	}
	c := w.Class
	used := map[string]bool{} // acts are kept when something is done in the state they open
	for _, st := range w.Stands {
		t := SheetStand{Stand: st}
		for _, l := range st.Lines {
			line, ok, err := s.line(l)
			if err != nil {
				return nil, err
			}
			if ok {
				t.Lines = append(t.Lines, line)
			}
		}
		t.Stand.Lines = nil
		if st.Do == "" && (len(t.Lines) == 0 || s.seldom(t)) {
			s.Left = append(s.Left, st)
			continue
		}
		s.Stands = append(s.Stands, t)
		if st.Do == "" {
			used[st.State] = true
		}
	}
	// an act at the end that opens nothing is left out
	for k := len(s.Stands) - 1; k >= 0 && s.Stands[k].Do != "" && !used[s.Stands[k].State]; k-- {
		s.Stands = s.Stands[:k]
	}
	for _, l := range w.Unplaced {
		line, ok, err := s.line(l)
		if err != nil {
			return nil, err
		}
		if ok {
			s.Unplaced = append(s.Unplaced, line)
		}
	}
	// the ways between what is left
	p := closeWays(c)
	at := w.Start.ID
	for k := range s.Stands {
		t := &s.Stands[k]
		if t.Here {
			t.Place, _ = c.Place(at)
			continue
		}
		t.Way, t.Seconds = p.legs(at, t.Place.ID), p.seconds(at, t.Place.ID)
		s.Seconds += t.Seconds
		at = t.Place.ID
	}
	if c.Walk.Finish != "" {
		s.Seconds += p.seconds(at, c.Walk.Finish)
	}
	if u != nil {
		for _, d := range c.Devices {
			if !u.Carries(c, d) {
				s.Lacks = append(s.Lacks, d)
			}
		}
		for _, d := range u.Defects {
			if d.Device == "" {
				s.Defects = append(s.Defects, d)
			}
		}
	}
	return s, nil
}

// line is a line as it stands today; not ok when nothing of it is asked for.
func (s *Sheet) line(l Line) (SheetLine, bool, error) {
	out := SheetLine{Line: l}
	own := len(l.Checks) == 0 || l.Device != nil && l.phase == phaseOf(l.Device.State, hasEngine(s.Walk.Class)) && l.Read == "" && l.level == 0 && l.place == l.Device.Place
	if s.Unit != nil && l.Device != nil {
		if !s.Unit.Carries(s.Walk.Class, l.Device) {
			return out, false, nil
		}
		seen := map[string]bool{}
		for _, o := range s.Unit.State {
			// the unit's own entry stands before that of its range
			if o.Device == l.Device.ID && !seen[o.Property] {
				seen[o.Property] = true
				out.Notes = append(out.Notes, Note{o.Property, o.Value, o.Date, o.Reason})
			}
		}
		for _, d := range s.Unit.Defects {
			if d.Device == l.Device.ID {
				out.Notes = append(out.Notes, Note{Kind: "defect", Text: d.Text, Date: d.Date})
			}
		}
	}
	out.Checks = nil
	for _, k := range l.Checks {
		d, due, err := s.due(k)
		if err != nil {
			return out, false, err
		}
		if !due {
			if !slices.ContainsFunc(s.Later, func(x Due) bool { return x.Check.ID == k.ID }) {
				s.Later = append(s.Later, d)
			}
			continue
		}
		out.Checks = append(out.Checks, k)
		out.Due = append(out.Due, d)
		s.Takes += k.Takes
	}
	if d := l.Device; own && s.Brief && len(out.Notes) == 0 && d.State == "" && d.Kind != "trip" && !d.Sealed && !d.MustNotMove {
		own = false
	}
	return out, own || len(out.Checks) > 0, nil
}

// due says whether a check is asked for on the day of the sheet.
func (s *Sheet) due(k fleet.Check) (Due, bool, error) {
	d := Due{Check: k}
	if !k.Every.Stated() || s.Date == "" || s.Unit == nil {
		return d, true, nil
	}
	d.Looked = true
	for _, m := range s.Unit.Checked {
		if m.Check == k.ID && m.Date <= s.Date {
			d.Last = max(d.Last, m.Date)
		}
	}
	if d.Last == "" {
		return d, true, nil
	}
	var err error
	if d.Next, err = Next(d.Last, k.Every); err != nil {
		return d, false, err
	}
	if d.Over, err = daysBetween(d.Next, s.Date); err != nil {
		return d, false, err
	}
	return d, d.Over >= 0, nil
}

// seldom says that a stand is one gone to at intervals only, and that nothing there is due
// or open today.
func (s *Sheet) seldom(t SheetStand) bool {
	if s.Date == "" || s.Unit == nil || !slices.Contains(s.Walk.Class.Walk.Seldom, t.Place.ID) {
		return false
	}
	for _, l := range t.Lines {
		if len(l.Due) > 0 || len(l.Notes) > 0 {
			return false
		}
	}
	return true
}
