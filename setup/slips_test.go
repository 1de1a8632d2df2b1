package setup

import (
	"reflect"
	"slices"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/rule"
	"headstock/trial"
)

// A slip at the coupling shows what the whole answer on its move says that the brake test
// shows, and the best step tells of what its looks tell of.
func TestAtCoupling(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	r, more := rule.Read(demo.Railway())
	if len(cs)+len(more) > 0 {
		t.Fatal(cs, more)
	}
	c, err := consist.Parse(f, "Tern 3 lead, Kite 11 trail")
	if err != nil {
		t.Fatal(err)
	}
	base, err := NewBase(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := AtCoupling(base.Proof(), r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, s := range got.Slips {
		ids = append(ids, s.Unit+"."+s.ID)
		e, err := base.Effect(s.Change)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(e.Seen, s.Seen) {
			t.Errorf("%s on %s: the slip shows %d readings, the answer on its move %d", s.Device, s.To, len(s.Seen), len(e.Seen))
		}
	}
	for _, want := range []string{"Kite 11.changeover", "Kite 11.direction", "Tern 3.third-pipe-cock-2", "Kite 11.brake-pipe-cock-1"} {
		if !slices.Contains(ids, want) {
			t.Errorf("%s is not tried; tried are %q", want, ids)
		}
	}
	if got.Best == nil || len(got.Best.Slips) < 5 {
		t.Fatalf("best %+v", got.Best)
	}
	told := map[int]bool{}
	for _, l := range got.Best.Looks {
		if l.Step != got.Best.Step {
			t.Errorf("a look of step %s stands at step %s", l.Step, got.Best.Step)
		}
		for _, i := range l.Slips {
			told[i] = true
		}
	}
	for _, i := range got.Best.Slips {
		if !told[i] {
			t.Errorf("no look tells of %s", ids[i])
		}
	}
}
