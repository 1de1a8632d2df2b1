package fleet_test

import (
	"testing"

	"headstock/demo"
	"headstock/fleet"
)

// A find is asked for with wet gloves: it must not be waited for.
func BenchmarkFind(b *testing.B) {
	f, _ := fleet.Read(demo.Railway())
	for b.Loop() {
		for _, q := range []string{"cut-off tap", "drain", "brake", "third pipe hose", "12", "gangway"} {
			f.Find(q)
		}
	}
}

func TestUnitIn(t *testing.T) {
	f, _ := fleet.Read(demo.Railway())
	for _, w := range []struct{ q, unit, rest string }{
		{"Kite 12 third pipe hose", "Kite 12", "third pipe hose"},
		{"hose of kite 12", "Kite 12", "hose of"},
		{"Kite 99 hose", "", "Kite 99 hose"},
		{"drain", "", "drain"},
	} {
		u, rest := f.UnitIn(w.q)
		name := ""
		if u != nil {
			name = u.Name()
		}
		if name != w.unit || rest != w.rest {
			t.Errorf("%q: %q, %q", w.q, name, rest)
		}
	}
}

// The demo's records are for use: issued, and not changed since.
func TestDemoIsIssued(t *testing.T) {
	f, _ := fleet.Read(demo.Railway())
	for _, c := range f.Classes {
		if state, why := c.Standing(); state != "issued" || why != "" {
			t.Errorf("%s is %s: %s; sign it anew when its content has been looked at", c.Name, state, why)
		}
	}
}
