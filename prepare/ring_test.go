package prepare

import (
	"slices"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
)

// A ground relay that trips rings the bell of a Tern, its button does too, and the throttle
// does not; the bell crosses the jumper and the ground lamp does not.
func TestRings(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	for text, want := range map[string][]string{"Tern 3 lead": {"ground-relay", "call-button", "hot-engine-trip"}, "Kite 11 lead": {"cab-1-call-button", "cab-2-call-button"}} {
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Rings(c, 0)
		if err != nil {
			t.Fatal(err)
		}
		if r.Always || !r.Running {
			t.Errorf("%s: rings always %v, running %v", text, r.Always, r.Running)
		}
		var got []string
		for _, x := range r.By {
			got = append(got, x.Device.ID)
		}
		t.Log(text, got, r.Runs)
		for _, w := range want {
			if !slices.Contains(got, w) {
				t.Errorf("%s: %s does not ring it; %q do", text, w, got)
			}
		}
		for _, w := range []string{"throttle", "sanding-button", "cab-1-throttle"} {
			if slices.Contains(got, w) {
				t.Errorf("%s: %s rings it", text, w)
			}
		}
		if Crosses(c.Vehicles[0].Class, "alarm bell") == nil || Crosses(c.Vehicles[0].Class, "ground lamp") != nil {
			t.Errorf("%s: what crosses is wrong", text)
		}
	}
	c, err := consist.Parse(f, "Scoter 1 alone")
	if err != nil {
		t.Fatal(err)
	}
	if r, err := Rings(c, 0); err == nil {
		t.Errorf("a Scoter: %v", r)
	}
}
