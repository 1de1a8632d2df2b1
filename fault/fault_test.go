package fault_test

import (
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fault"
	"headstock/fleet"
)

// The count is checked another way: for every fitted device of every unit, its positions
// less the one it stands in.
func TestSettingsCounted(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	c, err := consist.Parse(f, "Tern 3 lead, Kite 12 trail, 2 HX")
	if err != nil {
		t.Fatal(err)
	}
	want := 0
	for i, v := range c.Vehicles {
		for _, d := range v.Class.Devices {
			how, _ := consist.Fitted(v, d)
			if how != "yes" || len(d.Positions) == 0 || !v.Unit.Carries(v.Class, d) {
				continue
			}
			want += len(d.Positions)
			at, _ := c.Position(i, d.ID)
			if _, ok := d.Position(at); ok {
				want--
			}
		}
	}
	got := fault.Settings(c)
	if len(got) != want || want < 300 {
		t.Errorf("%d wrong settings, counted another way %d", len(got), want)
	}
	for _, s := range got {
		if _, err := c.With(s.Change); err != nil {
			t.Errorf("%+v: %v", s, err)
		}
		if v := c.Vehicles[s.Change.Vehicle]; v.Unit.Number == 12 && s.Change.Device == "third-pipe-hose-2" {
			t.Error("a blanked hose is listed")
		}
	}
}
