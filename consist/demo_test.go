package consist_test

import (
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
)

func railway(t *testing.T) *fleet.Fleet {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	for _, c := range cs {
		t.Error(c)
	}
	if len(cs) > 0 {
		t.FailNow()
	}
	return f
}

// The home class and the newcomer are as rich as machines: devices to set, devices to
// read, and how many of the former reach the air when each is moved by itself.
func TestRichness(t *testing.T) {
	f := railway(t)
	for _, text := range []string{"Tern 3 lead, Tern 4 trail", "Kite 14 lead, Kite 15 trail"} {
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		class := c.Vehicles[1].Class
		plant, err := c.Network()
		if err != nil {
			t.Fatal(err)
		}
		base := plant.Settings(c)
		settable, readable, moves := 0, 0, 0
		for _, d := range class.Devices {
			if d.Reads != "" || d.Kind == "gauge" || d.Kind == "lamp" || d.Kind == "meter" || d.Kind == "level" || d.Kind == "piston" || d.Kind == "exhaust" {
				readable++
			}
			if len(d.Positions) < 2 && d.Range == nil {
				continue
			}
			settable++
			reaches := false
			for _, at := range []int{0, 1} {
				now, ok := c.Position(at, d.ID)
				if !ok {
					continue
				}
				for _, p := range d.Positions {
					if p.ID == now {
						continue
					}
					moved, err := c.With(consist.Change{Vehicle: at, Device: d.ID, Position: p.ID})
					if err != nil {
						t.Errorf("%s: %v", d.ID, err)
						continue
					}
					if !slices.Equal(base, plant.Settings(moved)) {
						reaches = true
					}
				}
			}
			if reaches {
				moves++
			}
		}
		t.Logf("%s: %d settable, %d of them reach the air, %d readable", class.Name, settable, moves, readable)
		if settable < 60 || moves < 35 || readable < 20 {
			t.Errorf("%s: %d settable (60), %d reach the air (35), %d readable (20)", class.Name, settable, moves, readable)
		}
	}
	a, _ := f.Class("Tern")
	b, _ := f.Class("Kite")
	functions := map[string]bool{}
	for _, d := range fleet.Compare(a, b) {
		functions[d.Function] = true
	}
	t.Logf("%d functions differ", len(functions))
	if len(functions) < 40 {
		t.Errorf("%d functions differ between the two classes, want 40", len(functions))
	}
}

func TestParse(t *testing.T) {
	f := railway(t)
	for _, w := range []struct{ text, want string }{
		{"Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV", "Tern 3 lead, Kite 11 trail reversed, HX 201–220 loaded, GV 1"},
		{"Kite 12 lead cab 2", "Kite 12 lead cab 2"},
		{"kite 12 LEAD", "Kite 12 lead cab 1"},
		{"Kite 12 lead reversed", "Kite 12 lead cab 2 reversed"},
		{"Brant 2 lead", "Brant 2 lead"},
		{"Tern 3 lead, Brant 2 hauled dead", "Tern 3 lead, Brant 2 hauled dead"},
		{"Tern 3 lead, HX 201–220 loaded", "Tern 3 lead, HX 201–220 loaded"},
		{"Tern 3 lead, HX 201-203", "Tern 3 lead, HX 201–203 empty"},
		{"Tern 3 lead, 2 HX, HX 201", "Tern 3 lead, HX 202–203 empty, HX 201 empty"},
		{"Tern 1 lead, Tern trail", "Tern 1 lead, Tern 2 trail"},
	} {
		c, err := consist.Parse(f, w.text)
		if err != nil {
			t.Errorf("%q: %v", w.text, err)
			continue
		}
		if got := c.String(); got != w.want {
			t.Errorf("%q reads as %q, want %q", w.text, got, w.want)
		}
		again, err := consist.Parse(f, c.String())
		if err != nil {
			t.Errorf("%q does not read again: %v", c.String(), err)
		} else if again.String() != c.String() {
			t.Errorf("%q reads again as %q", c.String(), again.String())
		}
	}
}

func TestParseComplains(t *testing.T) {
	f := railway(t)
	for _, w := range []struct{ text, says string }{
		{"Ternn 3 lead", "nearest: Tern"},
		{"Tern 33 lead", "no unit Tern 33"},
		{"Tern 3", "expected a role"},
		{"Tern 3 laed", "nearest: lead"},
		{"Tern 3 lead, Tern 3 trail", "stands in this consist already"},
		{"Scoter 1 trail", "cannot run in multiple"},
		{"Kite 12 lead cab 3", "expected a cab"},
		{"Tern 3 lead, GV loaded", "no loaded mass"},
		{"Tern 3 lead, 400 HX", "count from 1 to 300"},
		{"Tern 3 lead, 90 HX", "free units"},
		{"Tern 3 lead,, HX", "expected a unit"},
		{"HX 201 lead", "is a wagon"},
		{"", "expected a unit"},
	} {
		_, err := consist.Parse(f, w.text)
		if err == nil {
			t.Errorf("%q is accepted", w.text)
		} else if !strings.Contains(err.Error(), w.says) {
			t.Errorf("%q: %v, want %q", w.text, err, w.says)
		}
	}
}

// Every kind of air element is used by some record of the demo railway.
func TestEveryKindIsUsed(t *testing.T) {
	f := railway(t)
	used := map[string]bool{}
	for _, c := range f.Classes {
		for _, e := range c.Air {
			used[e.Kind] = true
		}
	}
	for _, k := range fleet.Kinds() {
		if !used[k.Name] {
			t.Errorf("no record uses a %s", k.Name)
		}
	}
}

// What the lead makes of the third pipe decides the variants, never the neighbour's class.
func TestVariants(t *testing.T) {
	f := railway(t)
	for _, w := range []struct {
		text string
		want []string
	}{
		{"Tern 3 lead, Tern 4 trail", []string{"lead", "trail"}},
		{"Kite 11 lead, Kite 13 trail", []string{"lead, copied", "trail, copy lead"}},
		{"Tern 3 lead, Kite 11 trail", []string{"lead", "trail, command lead"}},
		{"Kite 11 lead, Tern 3 trail", []string{"lead", "trail"}},
		{"Kite 11 lead, Tern 3 trail, Kite 13 trail", []string{"lead, copied", "trail", "trail, copy lead"}},
		{"Tern 3 lead, Kite 11 trail, Tern 4 trail", []string{"lead", "trail, command lead", "trail"}},
		// Kite 12's equalising pipe is blanked behind headstock 2
		{"Kite 11 lead, Kite 12 trail reversed", []string{"lead", "trail, no third pipe"}},
		{"Kite 11 lead, Kite 12 trail, Kite 13 trail", []string{"lead, copied", "trail, copy lead", "trail, no third pipe"}},
	} {
		c, err := consist.Parse(f, w.text)
		if err != nil {
			t.Errorf("%q: %v", w.text, err)
			continue
		}
		for i, v := range c.Vehicles {
			if v.RoleName() != w.want[i] {
				t.Errorf("%q: %s is %q, want %q", w.text, v.Name(), v.RoleName(), w.want[i])
			}
		}
	}
}

// Couplings that cannot be made are refused.
func TestCannotCouple(t *testing.T) {
	f := railway(t)
	if _, err := consist.Parse(f, "Tern 3 lead, HX 201, Kite 11 trail"); err == nil || !strings.Contains(err.Error(), "no control jumper reaches") {
		t.Errorf("a unit in multiple behind a wagon: %v", err)
	}
	a, _ := f.Class("HX")
	was := a.Ends[0]
	a.Ends[0].Height = 1.2
	if _, err := consist.Parse(f, "Tern 3 lead, HX 201"); err == nil || !strings.Contains(err.Error(), "coupler height") {
		t.Errorf("a coupler 400 mm higher: %v", err)
	}
	a.Ends[0] = was
	a.Ends[0].Coupler = "hook"
	if _, err := consist.Parse(f, "Tern 3 lead, HX 201"); err == nil || !strings.Contains(err.Error(), "cannot be coupled") {
		t.Errorf("a hook to a knuckle: %v", err)
	}
	a.Ends[0] = was
	a.Ends[0].Pipes = append([]fleet.PipeEnd(nil), was.Pipes...)
	a.Ends[0].Pipes[0].Head = "screwed"
	if _, err := consist.Parse(f, "Tern 3 lead, HX 201"); err == nil || !strings.Contains(err.Error(), "do not fit") {
		t.Errorf("heads that do not fit: %v", err)
	}
}
