package consist_test

import (
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
)

// What stands cut out on a unit stays cut out whatever its role asks; the first word on a
// device is the unit's own, before that of its range; an open defect that says where a
// device was left counts as well.
func TestUnitStateStands(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	u, _ := f.Unit("Brant", 1)
	u.State = append([]fleet.Override{
		{Device: "bogie-1-cock", Property: "position", Value: "closed"},
		{Device: "bogie-1-cock", Property: "position", Value: "open"},
	}, u.State...)
	u.Defects = append(u.Defects, fleet.Defect{Device: "bogie-2-cock", Kind: "isolated", Position: "closed"})
	c, err := consist.Parse(f, "Brant 1 lead")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []string{"bogie-1-cock", "bogie-2-cock"} {
		if pos, _ := c.Position(0, d); pos != "closed" { // the role lead asks for open
			t.Errorf("%s stands %s", d, pos)
		}
	}
}
