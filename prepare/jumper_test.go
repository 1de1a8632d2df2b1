package prepare

import (
	"slices"
	"strings"
	"testing"
)

func jumper(t *testing.T, text string, changes ...string) *Jumper {
	t.Helper()
	js, err := Jumpers(parse(t, railway(t), text, changes...))
	if err != nil || len(js) != 1 {
		t.Fatal(js, err)
	}
	return js[0]
}

func crossing(j *Jumper) []string {
	var out []string
	for _, w := range j.Wires {
		if w.Crosses {
			out = append(out, w.Carries)
		}
	}
	return out
}

func told(t *testing.T, j *Jumper, unit, device string) Told {
	t.Helper()
	for _, x := range j.Tells {
		if x.Unit == unit && x.Device == device {
			return x
		}
	}
	t.Fatalf("%s of %s is not told of", device, unit)
	return Told{}
}

// The railway says it of its adapter lead: throttle, direction, sand and alarm bell cross;
// slip lamp and engine stop do not.
func TestAdapterLeadCarriesFourTasks(t *testing.T) {
	want := []string{"throttle", "direction 1", "direction 2", "sand", "alarm bell"}
	for _, text := range []string{"Tern 3 lead, Kite 11 trail", "Kite 11 lead, Tern 3 trail"} {
		j := jumper(t, text)
		if got := crossing(j); !slices.Equal(got, want) || j.By != "an adapter lead" {
			t.Errorf("%s: %v cross by %s, want %v", text, got, j.By, want)
		}
		for _, w := range j.Wires {
			answered := len(w.DoesF) > 0 && len(w.DoesR) > 0
			if answered != w.Crosses || (len(w.DoesF) > 0) != (len(w.DoesR) > 0) {
				t.Errorf("%s: %s crosses %v, answered in front by %v and behind by %v", text, w.Carries, w.Crosses, w.DoesF, w.DoesR)
			}
			if !w.Crosses && w.Why == "" {
				t.Errorf("%s: no reason why %s does not cross", text, w.Carries)
			}
		}
	}
	j := jumper(t, "Tern 3 lead, Kite 11 trail")
	if bell := told(t, j, "Tern 3", "alarm-bell"); !bell.Others || len(bell.Reaches) != 2 {
		t.Errorf("the Tern's bell and the gongs of both cabs: %+v", bell)
	}
	if slip := told(t, j, "Tern 3", "slip-lamp"); slip.Others || len(slip.Reaches) != 0 {
		t.Errorf("the slip lamp tells of its own unit only: %+v", slip)
	}
}

// Like units: everything both sockets carry crosses, on the same number.
func TestPlainJumper(t *testing.T) {
	j := jumper(t, "Tern 3 lead, Tern 4 trail")
	want := []string{"throttle", "direction 1", "direction 2", "sand", "alarm bell", "control current", "field", "fuel pump", "engine stop", "slip lamp", "hot engine lamp"}
	if got := crossing(j); !slices.Equal(got, want) || j.By != "the plain jumper" {
		t.Errorf("%v cross by %s, want %v", got, j.By, want)
	}
	// the lamps' own entries: "trainlined, not latched", "local, latched: goes out at the engine panel only"
	for device, x := range map[string]struct{ others, latched bool }{
		"slip-lamp": {true, false}, "hot-engine-lamp": {true, false}, "engine-fault-lamp": {false, true}, "ground-lamp": {false, false}, "brake-lamp": {false, false},
	} {
		got := told(t, j, "Tern 3", device)
		if got.Others != x.others || (len(got.Stays) > 0) != x.latched || len(got.Causes) == 0 {
			t.Errorf("%s: %+v, want told by others %v, latched %v", device, got, x.others, x.latched)
		}
	}
	j = jumper(t, "Kite 11 lead, Kite 14 trail")
	// "latched for five seconds", and in the cab with its control switch on only
	if got := told(t, j, "Kite 11", "cab-1-slip-lamp"); got.Fades != 5 || !got.Others || len(got.Stays) != 0 {
		t.Errorf("slip lamp of the driven cab: %+v", got)
	}
	for _, x := range j.Tells {
		if x.Unit == "Kite 14" && x.Kind == "lamp" && x.Others {
			t.Errorf("%s of %s tells of others with its control switch off", x.Name, x.Unit)
		}
	}
}

// Where like headstocks meet, the two direction wires change over.
func TestDirectionStaysDirectionOnTheTrack(t *testing.T) {
	for text, want := range map[string]string{"Kite 11 lead, Kite 14 trail": "direction 1 relay", "Kite 11 lead, Kite 14 trail reversed": "direction 2 relay"} {
		j := jumper(t, text)
		for _, w := range j.Wires {
			if w.Carries == "direction 1" && !slices.Equal(w.DoesR, []string{want}) {
				t.Errorf("%s: direction 1 in front works %v behind, want %s", text, w.DoesR, want)
			}
		}
	}
}

func TestWhatGivesACommand(t *testing.T) {
	j := jumper(t, "Tern 3 lead, Tern 4 trail")
	for _, w := range j.Wires {
		switch w.Carries {
		case "throttle":
			// control current runs through the jumper, so the lever behind works as well
			lever := []string{"Throttle lever, eight notches: notch 1, notch 4, notch 8"}
			if !slices.Equal(w.FromF, lever) || !slices.Equal(w.FromR, lever) {
				t.Errorf("throttle given by %v and %v", w.FromF, w.FromR)
			}
		case "direction 2":
			if len(w.FromF) != 1 || !strings.Contains(w.FromF[0], "Reverser handle: reverse with Generator field switch: on") {
				t.Errorf("direction 2 given by %v", w.FromF)
			}
		}
	}
	// it does not through an adapter lead: the trailing Tern's desk is dead until its run switch is on
	for change, want := range map[string]int{"": 0, "Tern 3.engine-run-switch=on": 1} {
		var changes []string
		if change != "" {
			changes = append(changes, change)
		}
		for _, w := range jumper(t, "Kite 11 lead, Tern 3 trail", changes...).Wires {
			if w.Carries == "throttle" && len(w.FromR) != want {
				t.Errorf("with %q the throttle is given behind by %v", change, w.FromR)
			}
		}
	}
}

func TestNoJumper(t *testing.T) {
	for text, want := range map[string]string{
		"Tern 3 lead, Brant 1 hauled dead": "class Brant has no control jumper",
		"Tern 3 lead, Tern 4 hauled dead":  "Tern 4 is hauled dead, and no jumper is joined to it",
	} {
		if j := jumper(t, text); j.Why != want || len(j.Wires) != 0 {
			t.Errorf("%s: %q, want %q", text, j.Why, want)
		}
	}
}
