package prepare

import (
	"errors"
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/tour"
)

// changed is the demo railway with one text replaced in one file.
func changed(t *testing.T, file, old, text string) *fleet.Fleet {
	t.Helper()
	fsys := fstest.MapFS{}
	err := fs.WalkDir(demo.Railway(), ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := fs.ReadFile(demo.Railway(), name)
		if err == nil && name == file {
			if !strings.Contains(string(data), old) {
				t.Fatalf("%s has no %q", file, old)
			}
			data = []byte(strings.Replace(string(data), old, text, 1))
		}
		fsys[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	f, cs := fleet.Read(fsys)
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return f
}

// Every class of the demo has a frozen order that still fits its record and is proved
// shortest, and every device with a place and every check stands in the walk.
func TestFrozenOrdersFit(t *testing.T) {
	for _, c := range railway(t).Classes {
		w, err := Of(c)
		if err != nil {
			t.Fatal(err)
		}
		if w.Frozen == nil || w.Stale || len(w.Gone)+len(w.Breaks) > 0 || !w.Proved || slices.ContainsFunc(w.Stands, func(s Stand) bool { return s.New }) {
			t.Errorf("%s: frozen %v, stale %v, gone %v, breaks %v, proved %v; headstock walk %s --freeze demo/railway", c.Name, w.Frozen != nil, w.Stale, w.Gone, w.Breaks, w.Proved, c.Name)
		}
		fresh, err := Compute(c)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(fresh.Seconds-w.Seconds) > 1e-9 {
			t.Errorf("%s: frozen %v s, computed %v s", c.Name, w.Seconds, fresh.Seconds)
		}
		seen := map[string]bool{}
		for _, s := range append(w.Stands, Stand{Lines: w.Unplaced}) {
			for _, l := range s.Lines {
				if l.Device != nil {
					seen[l.Device.ID] = true
				}
				for _, k := range l.Checks {
					seen["check "+k.ID] = true
				}
			}
		}
		for _, d := range c.Devices {
			if !seen[d.ID] {
				t.Errorf("%s: %s is nowhere on the walk", c.Name, d.ID)
			}
		}
		for _, k := range c.Checks {
			if !seen["check "+k.ID] {
				t.Errorf("%s: check %s is nowhere on the walk", c.Name, k.ID)
			}
		}
	}
}

// The state of the machine goes one way: nothing that needs the engine stopped comes after
// its start, and so on; the way told is the way there.
func TestStatesNeverGoBack(t *testing.T) {
	for _, c := range railway(t).Classes {
		w, _ := Of(c)
		engine := hasEngine(c)
		phases := []string{"brake applied", "brake released"}
		if engine {
			phases = []string{"stopped", "idling", "brake applied", "brake released"}
		}
		now, at := 0, w.Start.ID
		for _, s := range w.Stands {
			p := slices.Index(phases, s.State)
			switch {
			case s.Do != "":
				if p != now+1 {
					t.Errorf("%s: %s in state %q", c.Name, s.Do, phases[now])
				}
				now = p
			case s.State != "" && p != now:
				t.Errorf("%s: %s is seen %s while it is %s", c.Name, s.Place.ID, s.State, phases[now])
			}
			for _, l := range s.Lines {
				if want := phaseOf(lineState(l), engine); want != anyPhase && want != now {
					t.Errorf("%s: %v is looked at in state %s", c.Name, l, phases[now])
				}
			}
			if s.Here {
				continue
			}
			sum := 0.0
			for _, x := range s.Way {
				if x.From != at {
					t.Errorf("%s: the way to %s begins at %s, one stands at %s", c.Name, s.Place.ID, x.From, at)
				}
				at = x.To
				sum += x.Seconds
			}
			if at != s.Place.ID || math.Abs(sum-s.Seconds) > 1e-9 {
				t.Errorf("%s: the way ends at %s after %v s, not at %s after %v", c.Name, at, sum, s.Place.ID, s.Seconds)
			}
		}
	}
}

func lineState(l Line) string {
	switch {
	case l.Read != "":
		return "brake " + l.Read
	case len(l.Checks) > 0 && l.Checks[0].State != "":
		return l.Checks[0].State
	case l.Device != nil:
		return l.Device.State
	}
	return ""
}

// What is made in passing is no shorter than what is not: for the classes small enough the
// plain programme finds the same cost.
func TestWalkWithoutPassing(t *testing.T) {
	for _, name := range []string{"HX", "FG", "GV", "Scoter"} {
		c, _ := railway(t).Class(name)
		p, err := lay(c)
		if err != nil {
			t.Fatal(err)
		}
		q := p.problem()
		q.Ways = false
		plain, err := tour.Shortest(q)
		if err != nil {
			t.Fatal(err)
		}
		w, err := Compute(c)
		if err != nil {
			t.Fatal(err)
		}
		if !plain.Proved || math.Abs(plain.Cost-w.Seconds) > 1e-9 {
			t.Errorf("%s: %v s (proved %v), in passing %v s", name, plain.Cost, plain.Proved, w.Seconds)
		}
	}
}

// A changed record leaves the frozen order and says what is new; a changed word does not
// touch it.
func TestFrozenOrderStays(t *testing.T) {
	const places = "classes/kite/places.yaml"
	before, _ := railway(t).Class("Kite")
	old, _ := Of(before)
	f := changed(t, places, "name: roof over the cooler room", "name: roof above the cooler")
	c, _ := f.Class("Kite")
	if w, _ := Of(c); w.Stale {
		t.Error("a renamed place makes the order stale")
	}
	f = changed(t, places, "ways:\n", "  step-5: {name: fifth step, x: 1 m, side: left, level: rail}\nways:\n  - {between: [step-5, headstock-1], takes: 3 s}\n")
	c, _ = f.Class("Kite")
	w, _ := Of(c)
	if !w.Stale {
		t.Error("a new way does not make the order stale")
	}
	f = changed(t, "classes/kite/checks.yaml", "    device: blocks-1\n", "    device: blocks-1\n    place: body-roof\n    after: [battery]\n")
	c, _ = f.Class("Kite")
	w, _ = Of(c)
	var fresh []string
	for _, s := range w.Stands {
		if s.New {
			fresh = append(fresh, s.Place.ID+" "+s.State)
		}
	}
	if !w.Stale || !slices.Equal(fresh, []string{"body-roof brake released"}) {
		t.Errorf("stale %v, new %v", w.Stale, fresh)
	}
	kept := slices.DeleteFunc(slices.Clone(w.Stands), func(s Stand) bool { return s.New })
	if !slices.EqualFunc(kept, old.Stands, func(a, b Stand) bool { return a.key() == b.key() }) {
		t.Error("the frozen stands have moved")
	}
	computed, err := Compute(c)
	if err != nil {
		t.Fatal(err)
	}
	if b := broken(c, computed.Stands); len(b) > 0 {
		t.Errorf("the computed order breaks %v", b)
	}
}

// The frozen file reads back as what was frozen.
func TestFreezeReadsBack(t *testing.T) {
	for _, c := range railway(t).Classes {
		w, _ := Of(c)
		if text := fleet.WriteWalkOrder(c, w.Freeze()); !strings.Contains(text, w.Basis) {
			t.Error(text)
		}
		o := w.Freeze()
		if !slices.Equal(o.Stands, c.Order.Stands) || o.Record != c.Order.Record {
			t.Errorf("%s: written and read differ", c.Name)
		}
	}
}

func TestWalkCannotSay(t *testing.T) {
	var unsaid *Unsaid
	if _, err := Of(&fleet.Class{Name: "Plover"}); !errors.As(err, &unsaid) {
		t.Error(err)
	}
	c := &fleet.Class{Name: "Plover", Places: []fleet.Place{{ID: "a"}, {ID: "b"}}, Devices: []*fleet.Device{{ID: "x", Place: "a"}, {ID: "y", Place: "b"}}}
	if _, err := Of(c); !errors.As(err, &unsaid) {
		t.Error(err)
	}
}

func TestTodayAddsAndLeavesOut(t *testing.T) {
	f := railway(t)
	c, _ := f.Class("Kite")
	u, _ := f.Unit("Kite", 12)
	w, _ := Of(c)
	due := func(date string) (today, later []string) {
		s, err := Today(w, u, date, false)
		if err != nil {
			t.Fatal(err)
		}
		for _, st := range s.Stands {
			for _, l := range st.Lines {
				for _, d := range l.Due {
					if d.Check.Every.Stated() {
						today = append(today, d.Check.ID)
					}
				}
			}
		}
		for _, d := range s.Later {
			later = append(later, d.Check.ID)
		}
		return
	}
	// made on 2026-09-21, every 14 days: due on 2026-10-05
	if today, later := due("2026-10-04"); slices.Contains(today, "travel-1") || !slices.Contains(later, "travel-1") {
		t.Errorf("the day before: %v, later %v", today, later)
	}
	if today, later := due("2026-10-05"); !slices.Contains(today, "travel-1") || slices.Contains(later, "travel-1") {
		t.Errorf("on the day: %v, later %v", today, later)
	}
	// no day recorded is due
	if today, _ := due("2026-10-04"); !slices.Contains(today, "axlebox-oil") {
		t.Errorf("no day recorded, and not asked for: %v", today)
	}
	s, _ := Today(w, u, "2026-10-04", false)
	noted := false
	for _, st := range s.Stands {
		if slices.Contains(c.Walk.Seldom, st.Place.ID) {
			t.Errorf("%s is gone to with nothing due", st.Place.ID)
		}
		for _, l := range st.Lines {
			noted = noted || l.Device.ID == "third-pipe-hose-2" && len(l.Notes) == 1 && l.Notes[0].Text == "blanked"
			if l.Device.OnlyWith == "fourth-pipe" {
				t.Errorf("%s is on a sheet of a unit without it", l.Device.ID)
			}
		}
	}
	if !noted {
		t.Error("the blanked hose is not noted")
	}
	if _, err := Today(w, u, "5.10.2026", false); err == nil {
		t.Error("a date that is none")
	}
}
