package setup

import (
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/rule"
	"headstock/trial"
)

// A locomotive alone charges as it stands; with its automatic valve cut out, or its rear end
// cock open, it does not, and the search finds both among what keeps the pipe low.
func TestCharging(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	r, _ := rule.Read(demo.Railway())
	c, err := consist.Parse(f, "Tern 3 alone")
	if err != nil {
		t.Fatal(err)
	}
	x, err := Charging(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if x.Right < x.Limit || x.Late {
		t.Errorf("as it stands it charges to %.0f kPa only (late %v)", x.Right/1e3, x.Late)
	}
	if x.Tried+x.Parts != x.Alike+x.Runs-1 || x.Parts == 0 {
		t.Errorf("%d tried, %d alike, %d parts, %d runs", x.Tried, x.Alike, x.Parts, x.Runs)
	}
	found := map[string]float64{}
	for i, l := range x.Low {
		t.Logf("%-40s %-12s %6.1f kPa", l.ID, l.To+l.Failed, l.Pipe/1e3)
		found[l.ID+"="+l.To] = l.Pipe
		if i > 0 && l.Pipe < x.Low[i-1].Pipe {
			t.Error("the lowest is not first")
		}
	}
	for _, want := range []string{"automatic-cut-out=out", "brake-supply-cock=closed", "emergency-cock=open"} {
		if at, ok := found[want]; !ok || at > 200e3 {
			t.Errorf("%s: found %v at %.0f kPa", want, ok, at/1e3)
		}
	}
	if _, ok := found["horn-cock=closed"]; ok {
		t.Error("the horn keeps the train from charging")
	}
	near, others := x.Near(300e3, 40e3)
	if len(near)+len(others) != len(x.Low) {
		t.Error("Near loses some")
	}
	t.Logf("%d runs of %d, %d near 300", x.Runs, x.Tried, len(near))
}
