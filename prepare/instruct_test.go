package prepare_test

import (
	"strings"
	"testing"

	"headstock/demo"
	"headstock/fleet"
	"headstock/prepare"
)

func railway(t testing.TB) *fleet.Fleet {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	return f
}

// What the crew must never reset comes first; every card shows set and tripped.
func TestTrips(t *testing.T) {
	for _, c := range railway(t).Classes {
		allowed := false
		for _, x := range prepare.Trips(c, nil) {
			if x.Forbid && allowed {
				t.Errorf("%s: %s, never to be reset, stands behind one that may be", c.Name, x.At.Device.Name)
			}
			allowed = allowed || !x.Forbid
			if x.Set == nil || len(x.Tripped) == 0 {
				t.Errorf("%s: %s does not show set and tripped", c.Name, x.At.Device.Name)
			}
			if x.Forbid && x.Tries.Times != 0 {
				t.Errorf("%s: %s is forbidden and allowed %d times", c.Name, x.At.Device.Name, x.Tries.Times)
			}
		}
	}
	c, _ := railway(t).Class("Kite")
	if ts := prepare.Trips(c, nil); len(ts) == 0 || ts[0].At.Device.ID != "crankcase-trip" || !ts[0].Forbid {
		t.Error("the crankcase trip of the Kite is not the first, or not forbidden") // DEL-023: no restart after it
	}
}

// A step on a device that is out of use on this unit says so, with its date; on its sister
// it says nothing.
func TestUnitStateWins(t *testing.T) {
	f := railway(t)
	c, _ := f.Class("Kite")
	p := &fleet.Instructions{Name: "take over", Steps: []fleet.Instruction{{Look: []fleet.Claim{{Device: "cab-1-vigilance-pedal", Position: "half"}}}}}
	for n, unfit := range map[int]bool{11: false, 13: true} {
		u, _ := f.Unit("Kite", n)
		s := prepare.Instruct(c, u, p)
		if len(s) != 1 || s[0].Kind != "look" || len(s[0].At) != 1 {
			t.Fatalf("Kite %d: %+v", n, s)
		}
		if a := s[0].At[0]; a.Unfit != unfit || unfit != (a.State != "") {
			t.Errorf("Kite %d: unfit %v, state %q", n, a.Unfit, a.State)
		}
	}
}

// No procedure of the demo works a device without its cautions, and each names its place.
func TestInstructCarriesCautions(t *testing.T) {
	for _, c := range railway(t).Classes {
		for _, p := range c.Procedures {
			for _, s := range prepare.Instruct(c, nil, p) {
				for _, a := range s.At {
					if a.Place == "" {
						t.Errorf("%s, %s: %s has no place", c.Name, p.Name, a.Device.ID)
					}
					if s.Kind == "do" && len(s.Cautions) < len(a.Device.Cautions) {
						t.Errorf("%s, %s: %s loses a caution", c.Name, p.Name, a.Device.ID)
					}
				}
			}
		}
	}
}

// Where a unit's own entry and that of its range both speak of a device, the unit's own
// word, which comes first, wins here as everywhere.
func TestOwnWordWins(t *testing.T) {
	f := railway(t)
	c, _ := f.Class("Kite")
	u, _ := f.Unit("Kite", 11)
	u.State = []fleet.Override{
		{Device: "cab-1-vigilance-pedal", Property: "fitted", Value: "yes", Date: "2026-11-02", Reason: "mended on this unit"},
		{Device: "cab-1-vigilance-pedal", Property: "fitted", Value: "out of use", Date: "2026-09-21", Reason: "of the whole range"},
	}
	p := &fleet.Instructions{Name: "take over", Steps: []fleet.Instruction{{Look: []fleet.Claim{{Device: "cab-1-vigilance-pedal", Position: "held"}}}}}
	s := prepare.Instruct(c, u, p)
	if a := s[0].At[0]; a.Unfit || !strings.Contains(a.State, "mended") {
		t.Errorf("unfit %v, %q", a.Unfit, a.State)
	}
}
