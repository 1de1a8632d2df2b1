package web

import (
	"errors"
	"net/http"
	"sort"
	"strings"
	"time"

	"headstock/consist"
	"headstock/logbook"
	"headstock/prove"
	"headstock/quantity"
)

// keepSheet shows what would be kept of a brake test, or keeps it. It gives the number of
// the entry that was kept; 0 with no error means that the page to confirm has been shown.
func (s *Site) keepSheet(w http.ResponseWriter, r *http.Request, c *consist.Consist, entries []prove.Entered, p brakeTestPage) (int, error) {
	lead, n := c.Lead()
	if n != 1 {
		return 0, bad("no unit leads, so there is no unit to keep the sheet under")
	}
	if p.Who == "" {
		return 0, bad("say who read it")
	}
	e := logbook.Entry{Kind: logbook.Sheet, Unit: c.Vehicles[lead].Name(), Who: p.Who, Sheet: "brake test", Text: c.String(), Lines: sheetLines(entries)}
	var moved []string
	for _, ch := range c.Changed {
		moved = append(moved, c.Vehicles[ch.Vehicle].Name()+"."+ch.Device+"="+ch.Position)
	}
	if len(moved) > 0 {
		e.Text += "; standing otherwise: " + strings.Join(moved, ", ")
	}
	now := s.now().UTC().Truncate(time.Second)
	e.At, e.Written = now, now
	s.writing.Lock()
	defer s.writing.Unlock()
	book, err := s.book()
	if err != nil {
		return 0, err
	}
	if r.PostForm.Get("do") == "keep" {
		if e.ID, err = logbook.ParseID(r.PostForm.Get("id")); err != nil {
			return 0, bad("that is no entry to keep; show it again first")
		}
		for _, o := range book.Entries() {
			if o.ID == e.ID {
				return o.Number, nil // sent twice, kept once
			}
		}
	} else if e.ID, err = s.newID(); err != nil {
		return 0, err
	}
	if e, err = e.Against(s.fleet, book.Readings(), false); err == nil {
		err = e.Validate()
	}
	if err != nil {
		return 0, bad("not kept: %v", err)
	}
	if r.PostForm.Get("do") != "keep" {
		page := confirmPage{frame: s.frame(r, "Keep this brake test?"), To: p.To, ID: e.ID.String(), Unit: e.Unit, Who: e.Who, Lines: len(e.Lines), Judged: p.Judged}
		page.Subtitle, page.Banner = c.String(), p.Banner
		for name, values := range r.PostForm {
			if (strings.HasPrefix(name, "read:") || strings.HasPrefix(name, "not:") || name == "who") && values[0] != "" {
				page.Hidden = append(page.Hidden, [2]string{name, values[0]})
			}
		}
		sort.Slice(page.Hidden, func(i, j int) bool { return page.Hidden[i][0] < page.Hidden[j][0] })
		s.show(w, r, http.StatusOK, "confirm", page)
		return 0, nil
	}
	kept, err := s.store.Append(e)
	var refused *logbook.Refused
	if errors.As(err, &refused) {
		return 0, bad("not kept: %v", err)
	}
	return kept.Number, err
}

// sheetLines are entered readings as the logbook keeps them: a pressure as a measure, read in
// the state of its step; what else was seen in its words.
func sheetLines(entries []prove.Entered) []logbook.Line {
	var out []logbook.Line
	for _, e := range entries {
		line := logbook.Line{What: e.Step, Unit: e.Unit, Device: e.Device, Seen: e.Value}
		if q, err := quantity.Parse(e.Value); err == nil && q.Kind == quantity.Pressure {
			line = logbook.Line{What: "pressure", Unit: e.Unit, Device: e.Device, Value: logbook.ValueOf(q), State: e.Step}
		}
		out = append(out, line)
	}
	return out
}
