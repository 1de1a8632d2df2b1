package logbook_test

import (
	"strings"
	"testing"
	"time"

	"headstock/demo"
	"headstock/fleet"
	"headstock/logbook"
)

// note makes a sound entry of the demo's first locomotive, at a minute of the day.
func note(id byte, minute int, kind logbook.Kind) logbook.Entry {
	at := time.Date(2026, 10, 3, 6, minute, 0, 0, time.UTC)
	e := logbook.Entry{ID: logbook.ID{15: id}, At: at, Written: at, Kind: kind, Unit: "Tern 3", Record: logbook.Record{Hash: "ab", Revision: "draft"}, Who: "A. Reader"}
	switch kind {
	case logbook.Measurement:
		e.Lines = []logbook.Line{{What: "piston travel", Device: "bogie-1-piston", State: "applied", Value: &logbook.Value{Measure: "length", SI: 0.1}}}
	case logbook.Sheet:
		e.Sheet = "walk-round"
		e.Lines = []logbook.Line{{What: "horn", Tick: logbook.Right}}
	case logbook.Handover:
		e.To = "B. Driver"
	case logbook.Defect, logbook.DefectClosed:
		e.Text = "words"
	case logbook.Correction:
		e.Why = "slip"
	}
	return e
}

func book(t *testing.T, es ...logbook.Entry) *logbook.Book {
	t.Helper()
	var m logbook.Memory
	for i, e := range es {
		if _, err := m.Append(e); err != nil {
			t.Fatalf("entry %d: %v", i+1, err)
		}
	}
	list, err := m.List(logbook.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	return logbook.NewBook(list)
}

func numbers(ss []logbook.Standing) string {
	var out []string
	for _, s := range ss {
		out = append(out, string(rune('0'+s.First.Number)))
	}
	return strings.Join(out, " ")
}

func TestOpenDefects(t *testing.T) {
	a, b, c := note(1, 1, logbook.Defect), note(2, 0, logbook.Defect), note(3, 2, logbook.Defect)
	b.Unit = "Kite 11"
	closeA := note(4, 5, logbook.DefectClosed)
	closeA.Closes = a.ID
	wrongC := note(5, 6, logbook.Correction) // should have been written of the other unit
	wrongC.Supersedes, wrongC.Text, wrongC.Unit = c.ID, "words", "Kite 11"
	bk := book(t, a, b, c, closeA, wrongC)
	if got := numbers(bk.Open("")); got != "2 3" {
		t.Errorf("open: %s", got)
	}
	if got := numbers(bk.Open("Tern 3")); got != "" {
		t.Errorf("open on Tern 3: %s", got)
	}
	if open := bk.Open("Kite 11"); numbers(open) != "2 3" || open[1].By != 5 || open[1].Why != "slip" || open[1].First.Unit != "Tern 3" {
		t.Errorf("%+v", open)
	}
	// a closing that is withdrawn opens the defect again
	undo := note(6, 7, logbook.Correction)
	undo.Supersedes, undo.Withdrawn = closeA.ID, true
	bk = book(t, a, b, c, closeA, wrongC, undo)
	if got := numbers(bk.Open("Tern 3")); got != "1" {
		t.Errorf("open on Tern 3: %s", got)
	}
	// closed through a correction of the defect
	late := note(7, 8, logbook.DefectClosed)
	late.Closes = wrongC.ID
	bk = book(t, a, b, c, closeA, wrongC, undo, late)
	if got := numbers(bk.Open("Kite 11")); got != "2" {
		t.Errorf("open on Kite 11: %s", got)
	}
}

func TestHistoryAndCorrections(t *testing.T) {
	m := note(1, 1, logbook.Measurement)
	other := note(2, 2, logbook.Measurement)
	first, second := note(3, 3, logbook.Correction), note(4, 4, logbook.Correction)
	first.Supersedes, first.Lines = m.ID, []logbook.Line{{What: "piston travel", Device: "bogie-1-piston", State: "applied", Value: &logbook.Value{Measure: "length", SI: 0.2}}}
	second.Supersedes, second.Lines = first.ID, []logbook.Line{{What: "piston travel", Device: "bogie-2-piston", State: "applied", Value: &logbook.Value{Measure: "length", SI: 0.3}}}
	bk := book(t, m, other, first, second)
	for _, n := range []int{1, 3, 4} {
		var got []int
		for _, e := range bk.History(n) {
			got = append(got, e.Number)
		}
		if len(got) != 3 || got[0] != 1 || got[1] != 3 || got[2] != 4 {
			t.Errorf("history of %d: %v", n, got)
		}
		s, last, standing, found := bk.Line(n)
		if !found || !standing || s.First.Number != 1 || last.Number != 4 || s.Kind != logbook.Measurement {
			t.Errorf("line of %d: %+v, last %d", n, s, last.Number)
		}
	}
	if bk.Superseded(1) != 3 || bk.Superseded(3) != 4 || bk.Superseded(4) != 0 || bk.Superseded(2) != 0 {
		t.Error("what stands in for what")
	}
	rs := bk.Readings()
	if len(rs) != 2 || rs[0].Number != 4 || rs[0].Value.SI != 0.3 || rs[0].Device != "bogie-2-piston" {
		t.Errorf("%+v", rs)
	}
	if last := bk.Last("Tern 3"); len(last) != 2 || last[0].Device != "bogie-1-piston" || last[0].Number != 2 {
		t.Errorf("%+v", last)
	}
	away := note(5, 5, logbook.Correction)
	away.Supersedes, away.Withdrawn = second.ID, true
	bk = book(t, m, other, first, second, away)
	if rs := bk.Readings(); len(rs) != 1 || rs[0].Number != 2 {
		t.Errorf("%+v", rs)
	}
	if _, _, standing, found := bk.Line(1); standing || !found {
		t.Error("a withdrawn entry stands")
	}
}

// Readings on a sheet count as measurements do, on the unit that the line names.
func TestReadingsOfSheets(t *testing.T) {
	s := note(1, 1, logbook.Sheet)
	s.Lines = append(s.Lines, logbook.Line{What: "piston travel", Device: "brake-piston", Unit: "HX 201", State: "applied", Value: &logbook.Value{Measure: "length", SI: 0.2}, Tick: logbook.Wrong})
	rs := book(t, s).Readings()
	if len(rs) != 1 || rs[0].Unit != "HX 201" || rs[0].Number != 1 {
		t.Errorf("%+v", rs)
	}
}

func TestHandoverSummary(t *testing.T) {
	d, before, m := note(1, 1, logbook.Defect), note(2, 2, logbook.Measurement), note(4, 9, logbook.Measurement)
	h := note(3, 5, logbook.Handover)
	fix := note(5, 10, logbook.Correction) // of what was written before the handover: it is news
	fix.At, fix.Supersedes, fix.Lines = before.At, before.ID, before.Lines
	elsewhere := note(6, 11, logbook.Measurement)
	elsewhere.Unit = "Kite 11"
	undo := note(7, 12, logbook.Correction)
	undo.Supersedes, undo.Withdrawn = m.ID, true
	s := book(t, d, before, h, m, fix, elsewhere, undo).Summary("Tern 3")
	if len(s.Withdrawn) != 1 || numbers(s.Since) != "2" || s.Read[0].Number != 5 {
		t.Errorf("%+v", s)
	}
	s = book(t, d, before, h, m, fix, elsewhere).Summary("Tern 3")
	if s.Last == nil || s.Last.First.Number != 3 || numbers(s.Open) != "1" || numbers(s.Since) != "2 4" || len(s.Read) != 1 || s.Read[0].Number != 4 {
		t.Errorf("%+v", s)
	}
}

func TestValidate(t *testing.T) {
	for want, change := range map[string]func(*logbook.Entry){
		"no id":                   func(e *logbook.Entry) { e.ID = logbook.ID{} },
		"nearest: measurement":    func(e *logbook.Entry) { e.Kind = "mesurement" },
		"after it was written":    func(e *logbook.Entry) { e.At = e.At.Add(time.Hour) },
		"no unit":                 func(e *logbook.Entry) { e.Unit = "" },
		"no name of the writer":   func(e *logbook.Entry) { e.Who = "" },
		"begins or ends":          func(e *logbook.Entry) { e.Who = " A" },
		"cannot be printed":       func(e *logbook.Entry) { e.Text = "a\x07" },
		"one reading":             func(e *logbook.Entry) { e.Lines = nil },
		"nearest: wrong":          func(e *logbook.Entry) { e.Lines[0].Tick = "wrogn" },
		"not seen, and yet":       func(e *logbook.Entry) { e.Lines[0].Tick = logbook.NotSeen },
		"no measure \"lenght\"":   func(e *logbook.Entry) { e.Lines[0].Value.Measure = "lenght" },
		"its spread is none":      func(e *logbook.Entry) { e.Lines[0].Value.Spread = -1 },
		"whole seconds":           func(e *logbook.Entry) { e.Written = e.Written.Add(1) },
		"has no one who takes":    func(e *logbook.Entry) { e.To = "B" },
		"has no defect that":      func(e *logbook.Entry) { e.Closes = logbook.ID{1} },
		"names the entry that it": func(e *logbook.Entry) { e.Kind, e.Why = logbook.Correction, "x" },
		"a closing names":         func(e *logbook.Entry) { e.Kind, e.Text, e.Lines = logbook.DefectClosed, "x", nil },
		"in its text what it is":  func(e *logbook.Entry) { e.Kind, e.Lines = logbook.Defect, nil },
		"no readings or ticks":    func(e *logbook.Entry) { e.Kind, e.To = logbook.Handover, "B" },
		"no sheet's name":         func(e *logbook.Entry) { e.Kind = logbook.Sheet },
		"longer than 8000":        func(e *logbook.Entry) { e.Text = strings.Repeat("é", 8001) },
		"more than 2000 lines":    func(e *logbook.Entry) { e.Kind, e.Sheet, e.Lines = logbook.Sheet, "x", make([]logbook.Line, 2001) },
	} {
		e := note(1, 1, logbook.Measurement)
		if err := e.Validate(); err != nil {
			t.Fatal(err)
		}
		change(&e)
		if err := e.Validate(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func TestAgainstTheRecords(t *testing.T) {
	f, complaints := fleet.Read(demo.Railway())
	if len(complaints) > 0 {
		t.Fatal(complaints[0])
	}
	kept := []logbook.Reading{{Key: logbook.Key{What: "sand used"}, Value: logbook.Value{Measure: "mass"}, Number: 7}}
	for want, change := range map[string]func(*logbook.Entry){
		"nearest: Tern 3":                      func(e *logbook.Entry) { e.Unit = "Tren 3" },
		"no unit \"Tern 33\"; Tern has the n":  func(e *logbook.Entry) { e.Unit = "Tern 33" },
		"expected class and number":            func(e *logbook.Entry) { e.Unit = "Tern" },
		"nearest: bogie-1-piston":              func(e *logbook.Entry) { e.Lines[0].Device = "bogie-1-pistn" },
		"nearest: piston travel":               func(e *logbook.Entry) { e.Lines[0].What = "piston travl" },
		"piston travel is a length":            func(e *logbook.Entry) { e.Lines[0].Value.Measure = "pressure" },
		"sand used is kept as a mass since en": func(e *logbook.Entry) { e.Lines[0].What = "Sand used" },
		"line 1: no class":                     func(e *logbook.Entry) { e.Lines[0].Unit = "Wren 2" },
	} {
		e := note(1, 1, logbook.Measurement)
		change(&e)
		_, err := e.Against(f, kept, false)
		if want == "nearest: Tern 3" {
			want = "nearest: Tern"
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	e := note(1, 1, logbook.Measurement)
	e.Unit, e.Lines[0].What, e.Lines[0].Unit = "tern 3", "Piston Travel", "TERN 3"
	got, err := e.Against(f, nil, false)
	c, _ := f.Class("Tern")
	if err != nil || got.Unit != "Tern 3" || got.Lines[0].What != "piston travel" || got.Lines[0].Unit != "" || got.Record.Hash != c.Hash || got.Record.Revision == "" {
		t.Errorf("%+v, %v", got, err)
	}
	if e.Lines[0].What != "Piston Travel" {
		t.Error("the caller's entry was changed")
	}
	e.Lines[0].What = "rust"
	if _, err := e.Against(f, nil, true); err != nil {
		t.Error(err)
	}
	// the record's own limit, at the same device and at another of the same function
	for device, want := range map[string]bool{"bogie-1-piston": true, "bogie-2-piston": true, "unit-valve": false, "": false} {
		check, l := logbook.LimitOf(c, logbook.Key{What: "piston travel", Device: device})
		if (l != nil) != want || (check != nil) != want {
			t.Errorf("%s: %+v", device, l)
		}
		if l != nil && (l.Low != 0.08 || l.High != 0.125) {
			t.Errorf("%+v", l)
		}
	}
}
