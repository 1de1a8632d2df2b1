package teach_test

import (
	"slices"
	"testing"

	"headstock/demo"
	"headstock/fleet"
	"headstock/rule"
	"headstock/setup"
	"headstock/teach"
	"headstock/trial"
)

func railway(t testing.TB) *fleet.Fleet {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	return f
}

func lesson(t *testing.T, f *fleet.Fleet, known, new string) *teach.Lesson {
	t.Helper()
	a, _ := f.Class(known)
	b, _ := f.Class(new)
	l, err := teach.Differences(f, rule.Standard(), a, b, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A class teaches nothing about itself.
func TestNothingDiffers(t *testing.T) {
	if l := lesson(t, railway(t), "Scoter", "Scoter"); len(l.Items) != 0 {
		t.Errorf("%d items, the first %+v", len(l.Items), l.Items[0])
	}
}

// What a crew of Terns must learn of the Kite first: that the locomotive handle goes the
// other way, and that a cabinet it has never seen can leave the unit without a brake while
// no gauge of the driving cab shows it (both stand in the scenario).
func TestKiteForTernCrews(t *testing.T) {
	l := lesson(t, railway(t), "Tern", "Kite")
	last := 1 << 30
	for _, i := range l.Items {
		if i.Score() > last {
			t.Fatalf("%s is out of order", i.Function)
		}
		last = i.Score()
	}
	find := func(fn string) teach.Item {
		k := slices.IndexFunc(l.Items, func(i teach.Item) bool { return i.Function == fn })
		if k < 0 {
			t.Fatalf("%s is not taught", fn)
		}
		return l.Items[k]
	}
	cab := find("third-pipe-meaning")
	if cab.Habit != teach.Forgotten || cab.Worst == nil || cab.Worst.Grade < setup.Unit || cab.Worst.InCab {
		t.Errorf("the changeover: %+v, worst %+v", cab.Habit, cab.Worst)
	}
	if h := find("independent-handle"); h.Habit != teach.WrongWay || h.Worst == nil || h.Worst.Grade < setup.Unit {
		t.Errorf("the locomotive handle: %+v", h)
	}
	if k := find("distributor-cock"); !k.Keep {
		t.Error("the sealed cock is not marked as not to be moved")
	}
	if s := find("speedometer"); s.Worst != nil {
		t.Errorf("a speedometer is said to reach the air: %+v", s.Worst)
	}
}

// The walk shows every device that has a place once, and never asks to touch what must
// not be moved.
func TestWalkIsWhole(t *testing.T) {
	for _, c := range railway(t).Classes {
		var order []string
		for _, p := range slices.Backward(c.Places) {
			order = append(order, p.ID)
		}
		seen := map[string]int{}
		stands := teach.Walk(c, order, nil)
		last := -1
		for _, s := range stands {
			if at := slices.Index(order, s.Place.ID); at <= last {
				t.Errorf("%s: the walk goes back at %s", c.Name, s.Place.ID)
			} else {
				last = at
			}
			for _, ls := range [][]teach.Look{s.See, s.Touch, s.Read, s.Leave} {
				for _, l := range ls {
					seen[l.Device.ID]++
				}
			}
			for _, l := range s.Touch {
				if l.Device.MustNotMove {
					t.Errorf("%s: %s is to be touched", c.Name, l.Device.ID)
				}
			}
		}
		for _, d := range c.Devices {
			if _, ok := c.Place(d.Place); ok && seen[d.ID] != 1 {
				t.Errorf("%s: %s is shown %d times", c.Name, d.ID, seen[d.ID])
			}
		}
	}
}
