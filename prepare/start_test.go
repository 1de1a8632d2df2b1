package prepare

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
)

func parse(t testing.TB, f *fleet.Fleet, text string, changes ...string) *consist.Consist {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	for _, ch := range changes {
		x, err := c.ParseChange(ch)
		if err != nil {
			t.Fatal(err)
		}
		if c, err = c.With(x); err != nil {
			t.Fatal(err)
		}
	}
	return c
}

func crank(t testing.TB, f *fleet.Fleet, unit, start string, changes ...string) *Attempt {
	t.Helper()
	for i := range changes {
		changes[i] = unit + "." + changes[i]
	}
	a, err := Crank(parse(t, f, unit+" lead", changes...), 0, start)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// stops is the first stage that was not reached, "" when the start goes through.
func stops(a *Attempt) string {
	for _, g := range a.Stages {
		if g.Result != Reached {
			return g.Name
		}
	}
	return ""
}

// What each start stops at with one thing otherwise than the record says, worked by hand
// from the words of the class records: what the device's own entry says it does, and the
// remarks at the head of each circuits.yaml. "" is: the start goes through.
var byHand = []struct {
	unit, start string
	table       map[string]string // stage: device=position, …
}{
	{"Tern 3", "engine", map[string]string{
		// the knife, the control fuses and the control breaker feed everything that starts or runs the engine
		"control live": "battery-switch=open, fuses=blown, fuses=out, control-breaker=tripped, control-breaker=open",
		// the switch at START, the handle centred, the three buttons in, no stop, the bar stowed, the link whole
		"cranks": "isolation-switch=run, isolation-switch=isolate, isolation-switch=stop, reverser=forward, reverser=reverse, barring-gear=in use, start-fuse=blown, start-fuse=out, " +
			"low-oil-trip=tripped, low-water-trip=tripped, crankcase-trip=tripped, stop-button=pressed, emergency-stop=pressed, throttle=stop",
		// no fuel: pump, pulls, hand lever, overspeed lever; open test cocks do not fire
		"fires": "fuel-pump-switch=off, fuel-pump-breaker=tripped, fuel-pump-breaker=open, fuel-stop-left=pulled, fuel-stop-right=pulled, overspeed-trip=tripped, layshaft-lever=held in, test-cocks=open",
		// low oil trips after 40 s, low water once it runs
		"stays running": "engine-oil=low, cooling-water=low, cooling-water=empty",
		"loads":         "engine-run-switch=off, ground-relay=tripped, overload-relay=tripped, high-voltage-cabinet=open, generator-field=open, power-cut-off=open",
		"": "hot-engine-trip=acted, alarm-reset=pressed, start-button=pressed, reverser=out, layshaft-lever=drawn out, engine-oil=high, auxiliary-generator-breaker=tripped, auxiliary-generator-breaker=open, " +
			"generator-field-switch=on, throttle=notch 1, throttle=notch 4, throttle=notch 8, sanding-button=pressed, lamp-test=pressed, call-button=pressed, wheel-slip-relay=picked up",
	}},
	{"Kite 11", "engine", map[string]string{
		"control live": "battery-switch=open, fuses=blown, fuses=out, control-breaker=tripped, control-breaker=open",
		// both keys neutral, both wheels shut, off line, oil primed (there must be some), crankcase link and water float, either
		// cab's mushroom, any wired push; a lever wedged down has run out its 10 s before the oil is primed
		"cranks": "isolation-switch=on line, cab-1-reverser=forward, cab-1-reverser=reverse, cab-2-reverser=forward, cab-2-reverser=reverse, " +
			"cab-1-throttle=quarter, cab-1-throttle=half, cab-1-throttle=full, cab-2-throttle=quarter, cab-2-throttle=half, cab-2-throttle=full, " +
			"barring-gear=in use, start-fuse=blown, start-fuse=out, low-water-trip=tripped, crankcase-trip=tripped, cooling-water=low, cooling-water=empty, engine-oil=low, " +
			"cab-1-stop-button=pressed, cab-2-stop-button=pressed, cab-1-emergency-stop=pressed, cab-2-emergency-stop=pressed, start-button=pressed",
		// the oil flag takes the fuel only; overspeed, rack, air flap, filter, pump
		"fires": "low-oil-trip=tripped, overspeed-trip=tripped, air-flap=shut, rack-lever=drawn out, test-cocks=open, fuel-filter=shut off, fuel-pump-switch=off, fuel-pump-breaker=tripped, fuel-pump-breaker=open, " +
			"fuel-stop=pulled, fuel-stop-inside=pulled",
		"stays running": "",
		// hot: engine to idle
		"loads": "hot-engine-trip=acted, cab-1-control-switch=off, ground-relay=tripped, overload-relay=tripped, generator-field=open, high-voltage-cabinet=open, power-cut-off=open",
		"": "cab-1-reverser=withdrawn, cab-2-reverser=neutral, rack-lever=held in, engine-oil=high, priming-pump=on, auxiliary-generator-breaker=tripped, auxiliary-generator-breaker=open, alarm-reset=pressed, " +
			"cab-1-field-switch=on, cab-2-field-switch=on, cab-2-control-switch=on, cab-1-sanding-pedal=pressed, cab-2-sanding-pedal=pressed, cab-1-call-button=pressed, cab-2-call-button=pressed, " +
			"cab-1-lamp-test=pressed, cab-2-lamp-test=pressed, wheel-slip-relay=picked up",
	}},
	{"Brant 2", "engine-1", map[string]string{
		"control live":  "battery-switch=open, control-fuse=blown, control-breaker=tripped, control-breaker=open",
		"cranks":        "start-fuse=blown, reverser=forward, reverser=backward, throttle=power, emergency-stop-button=out, isolation-switch-1=run, isolation-switch-1=stop, low-oil-trip-1=tripped",
		"fires":         "fuel-pump-switch-1=off, fuel-cut-off=cut, overspeed-trip-1=tripped, fuel-hand-lever-1=shut",
		"stays running": "",
		"loads":         "ground-relay=tripped, overload-relays=tripped",
		"": "reverser=removed, generator-field-switch=on, fuel-pump-switch-2=off, isolation-switch-2=idle, isolation-switch-2=stop, start-button-1=pressed, start-button-2=pressed, low-oil-trip-2=tripped, " +
			"overspeed-trip-2=tripped, fuel-hand-lever-2=shut, hot-engine-switch=hot, auxiliary-breaker=tripped, auxiliary-breaker=open",
	}},
	{"Brant 2", "engine-2", map[string]string{
		"control live":  "battery-switch=open, control-fuse=blown, control-breaker=tripped, control-breaker=open",
		"cranks":        "start-fuse=blown, reverser=forward, reverser=backward, throttle=power, emergency-stop-button=out, isolation-switch-2=run, isolation-switch-2=stop, low-oil-trip-2=tripped",
		"fires":         "fuel-pump-switch-2=off, fuel-cut-off=cut, overspeed-trip-2=tripped, fuel-hand-lever-2=shut",
		"stays running": "",
		"loads":         "ground-relay=tripped, overload-relays=tripped",
		"": "reverser=removed, generator-field-switch=on, fuel-pump-switch-1=off, isolation-switch-1=idle, isolation-switch-1=stop, start-button-1=pressed, start-button-2=pressed, low-oil-trip-1=tripped, " +
			"overspeed-trip-1=tripped, fuel-hand-lever-1=shut, hot-engine-switch=hot, auxiliary-breaker=tripped, auxiliary-breaker=open",
	}},
	{"Scoter 1", "engine", map[string]string{
		"control live": "battery-switch=open, control-fuse=blown",
		"cranks":       "reverser=forward, reverser=backward",
		"fires":        "engine-stop=pulled, low-oil-trip=tripped, fuel-emergency-stop=cut",
		"loads":        "gear-lever=neutral-locked",
		"":             "reverser=removed, throttle=power, start-button=pressed",
	}},
}

func TestEveryTripAndEverySwitchWrong(t *testing.T) {
	f := railway(t)
	for _, row := range byHand {
		want := map[string]string{}
		for stage, list := range row.table {
			for _, x := range strings.Split(list, ", ") {
				if x != "" {
					want[x] = stage
				}
			}
		}
		base := parse(t, f, row.unit+" lead")
		b := newStarter(base, 0)
		for _, s := range base.Vehicles[0].Class.Starts {
			if s.ID == row.start {
				b.start = s
			}
		}
		b.stand()
		tried := 0
		for _, x := range b.wiring.Devices {
			for _, p := range x.Device.Positions {
				if p.ID == b.standing[x.Device.ID] {
					continue
				}
				change := x.Device.ID + "=" + p.ID
				stage, ok := want[change]
				if !ok {
					t.Errorf("%s %s: %s is not in the table", row.unit, row.start, change)
					continue
				}
				delete(want, change)
				tried++
				a := crank(t, f, row.unit, row.start, change)
				if got := stops(a); got != stage {
					t.Errorf("%s %s with %s: stops at %q, want %q", row.unit, row.start, change, got, stage)
				}
				if len(a.Loops) > 0 || a.Short || a.Result == NotKnown {
					t.Errorf("%s %s with %s: loops %v, short %v, result %s", row.unit, row.start, change, a.Loops, a.Short, a.Result)
				}
				// what stops the start is what is named, alone, unless it is forbidden
				if stage != "" && len(a.Never) == 0 && (len(a.Singles) != 1 || a.Singles[0].ID != x.Device.ID || a.Singles[0].To != b.standing[x.Device.ID]) {
					t.Errorf("%s %s with %s: remedies %v", row.unit, row.start, change, a.Singles)
				}
			}
		}
		for x := range want {
			t.Errorf("%s %s: %s is in the table and in nothing that is wired", row.unit, row.start, x)
		}
		t.Logf("%s %s: %d changes", row.unit, row.start, tried)
	}
}

// What lights and rings, by the lamps' own entries: "local, latched", "dark in the cab
// whose control switch is off", "silent in isolate" and the like.
func TestLampsAndBellsOfAStart(t *testing.T) {
	f := railway(t)
	for _, x := range []struct{ unit, start, change, want string }{
		{"Tern 3", "engine", "", ""},
		{"Tern 3", "engine", "battery-switch=open", ""},
		{"Tern 3", "engine", "isolation-switch=run", "no-charge-lamp"},
		{"Tern 3", "engine", "low-water-trip=tripped", "engine-fault-lamp, alarm-bell, no-charge-lamp"},
		{"Tern 3", "engine", "cooling-water=empty", "engine-fault-lamp, alarm-bell, no-charge-lamp"},
		{"Tern 3", "engine", "hot-engine-trip=acted", "alarm-bell, hot-engine-lamp"},
		{"Tern 3", "engine", "ground-relay=tripped", "alarm-bell, ground-lamp"},
		{"Tern 3", "engine", "power-cut-off=open", "brake-lamp"},
		{"Tern 3", "engine", "wheel-slip-relay=picked up", "slip-lamp"},
		{"Tern 3", "engine", "auxiliary-generator-breaker=tripped", "no-charge-lamp"},
		{"Tern 3", "engine", "lamp-test=pressed", "engine-fault-lamp, hot-engine-lamp, slip-lamp, ground-lamp, no-charge-lamp, brake-lamp"},
		{"Kite 11", "engine", "", ""},
		{"Kite 11", "engine", "start-fuse=out", "cab-1-no-charge-lamp"},
		{"Kite 11", "engine", "low-oil-trip=tripped", "cab-1-alarm-bell, cab-1-engine-fault-lamp, cab-1-no-charge-lamp, cab-2-alarm-bell"},
		{"Kite 11", "engine", "hot-engine-trip=acted", "cab-1-alarm-bell, cab-1-engine-fault-lamp, cab-1-hot-engine-lamp, cab-2-alarm-bell"},
		{"Kite 11", "engine", "ground-relay=tripped", "cab-1-ground-lamp"},
		{"Kite 11", "engine", "cab-1-call-button=pressed", "cab-1-alarm-bell, cab-2-alarm-bell"},
		{"Kite 11", "engine", "cab-1-lamp-test=pressed", "cab-1-engine-fault-lamp, cab-1-slip-lamp, cab-1-ground-lamp, cab-1-hot-engine-lamp, cab-1-no-charge-lamp, cab-1-brake-lamp"},
		{"Kite 11", "engine", "cab-2-lamp-test=pressed", ""},
		{"Brant 2", "engine-1", "", ""},
		{"Brant 2", "engine-2", "", "no-charge-lamp"},
		{"Brant 2", "engine-1", "low-oil-trip-2=tripped", "fault-lamp"},
		{"Brant 2", "engine-1", "ground-relay=tripped", "ground-lamp"},
	} {
		var changes []string
		if x.change != "" {
			changes = append(changes, x.change)
		}
		a := crank(t, f, x.unit, x.start, changes...)
		var got []string
		for _, s := range a.Shows {
			if !s.Worked {
				t.Errorf("%s with %s: %s not known", x.unit, x.change, s.Device)
			}
			if s.Looks == "" {
				t.Errorf("%s: %s has no look", x.unit, s.Device)
			}
			got = append(got, s.Device)
		}
		want := strings.Split(x.want, ", ")
		if x.want == "" {
			want = nil
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s %s with %s: shows %v, want %v", x.unit, x.start, x.change, got, want)
		}
	}
}

func TestAForbiddenTripIsNamedAndNothingIsOffered(t *testing.T) {
	f := railway(t)
	for _, unit := range []string{"Tern 3", "Kite 11"} {
		for _, also := range []string{"", "battery-switch=open", "start-fuse=out"} {
			changes := []string{"crankcase-trip=tripped"}
			if also != "" {
				changes = append(changes, also)
			}
			a := crank(t, f, unit, "engine", changes...)
			if len(a.Never) != 1 || a.Never[0].ID != "crankcase-trip" || !strings.Contains(a.Never[0].Never, "by the crew") {
				t.Errorf("%s %s: never %v", unit, also, a.Never)
			}
			if len(a.Singles)+len(a.Set)+len(a.Held)+len(a.Others) > 0 || a.Result != NotReached {
				t.Errorf("%s %s: offers %v %v", unit, also, a.Singles, a.Set)
			}
		}
	}
}

func TestSeveralThingsWrongAreNamedTogetherInWalkingOrder(t *testing.T) {
	f := railway(t)
	a := crank(t, f, "Tern 3", "engine", "battery-switch=open", "reverser=forward", "overspeed-trip=tripped", "engine-oil=high")
	if stops(a) != "control live" {
		t.Errorf("stops at %q", stops(a))
	}
	// alone, the knife gets the control circuits alive; the reverser and the lever are for later
	if len(a.Singles) != 1 || a.Singles[0].ID != "battery-switch" || a.Singles[0].Reaches != "control live" {
		t.Errorf("singles %v", a.Singles)
	}
	var set []string
	for _, r := range a.Set {
		set = append(set, r.ID)
	}
	// from the engine panel: the cabinet 6 s along the walkway, the desk 6 + 6 + 3 s; the other walkway by way of
	// the rear platform, 6 + 6 + 6 + 6 s
	if !slices.Equal(set, []string{"battery-switch", "reverser", "overspeed-trip"}) || a.SetTo != "loads" {
		t.Errorf("together %v reach %q", set, a.SetTo)
	}
	for i, want := range []float64{6, 15, 24} {
		if a.Set[i].Walk != want {
			t.Errorf("%s: %g s on foot, want %g", a.Set[i].ID, a.Set[i].Walk, want)
		}
	}
	if !slices.ContainsFunc(a.Others, func(r Remedy) bool { return r.ID == "engine-oil" && r.From == "high" }) {
		t.Errorf("high oil is not mentioned: %v", a.Others)
	}
}

func TestTripsThatActDuringTheStart(t *testing.T) {
	f := railway(t)
	a := crank(t, f, "Tern 3", "engine", "engine-oil=low")
	// fires at 18 s (15 s of fuel pump, 3 s of turning), 40 s after that the button springs out
	if len(a.Moved) != 1 || a.Moved[0].Device != "low-oil-trip" || a.Moved[0].To != "tripped" || a.Moved[0].At != 58 {
		t.Errorf("moved %v", a.Moved)
	}
	a = crank(t, f, "Kite 11", "engine", "cooling-water=low")
	if len(a.Moved) != 1 || a.Moved[0].Device != "low-water-trip" || a.Moved[0].At != 0 {
		t.Errorf("moved %v", a.Moved)
	}
	if len(a.Singles) != 1 || a.Singles[0].ID != "cooling-water" {
		t.Errorf("remedies %v", a.Singles)
	}
	// with the flag down and no water, the flag falls again: both must be put right
	a = crank(t, f, "Kite 11", "engine", "cooling-water=low", "low-water-trip=tripped")
	if len(a.Singles) != 0 || len(a.Set) != 2 {
		t.Errorf("singles %v, together %v", a.Singles, a.Set)
	}
}

func TestTheOtherCabDrives(t *testing.T) {
	f := railway(t)
	for _, x := range []struct{ consist, change, want string }{
		{"Kite 11 lead cab 2", "", ""},
		{"Kite 11 lead cab 2", "Kite 11.cab-2-control-switch=off", "loads"},
		{"Kite 11 lead cab 2", "Kite 11.cab-1-reverser=forward", "cranks"},
	} {
		var changes []string
		if x.change != "" {
			changes = append(changes, x.change)
		}
		a, err := Crank(parse(t, f, x.consist, changes...), 0, "")
		if err != nil {
			t.Fatal(err)
		}
		if stops(a) != x.want {
			t.Errorf("%s %s: stops at %q, want %q", x.consist, x.change, stops(a), x.want)
		}
	}
}

func TestUnknownAndUnsaid(t *testing.T) {
	f := railway(t)
	c := parse(t, f, "Brant 2 lead")
	if _, err := Crank(c, 0, ""); err == nil || !strings.Contains(err.Error(), "engine-1, engine-2") {
		t.Errorf("two starts and none named: %v", err)
	}
	// a device out of use in the middle of the circuit
	u, _ := f.Unit("Tern", 3)
	old := u.State
	defer func() { u.State = old }()
	u.State = append(slices.Clone(old), fleet.Override{Device: "barring-gear", Property: "fitted", Value: "out of use", Date: "2026-10-01"})
	a := crank(t, f, "Tern 3", "engine")
	if a.Result != NotKnown || stops(a) != "cranks" || len(a.Needs) != 1 || !strings.Contains(a.Needs[0], "out of use on this unit since 2026-10-01") {
		t.Errorf("%s at %q, needs %q", a.Result, stops(a), a.Needs)
	}
	// today's state counts
	u.State = append(slices.Clone(old), fleet.Override{Device: "low-water-trip", Property: "position", Value: "tripped", Date: "2026-10-01"})
	a = crank(t, f, "Tern 3", "engine")
	if stops(a) != "cranks" || len(a.Singles) != 1 || a.Singles[0].ID != "low-water-trip" {
		t.Errorf("stops at %q, remedies %v", stops(a), a.Singles)
	}
	// must not be moved: named, not offered
	k, _ := f.Class("Tern")
	d, _ := k.Device("low-water-trip")
	d.MustNotMove = true
	defer func() { d.MustNotMove = false }()
	a = crank(t, f, "Tern 3", "engine")
	if len(a.Singles)+len(a.Set) != 0 || len(a.Held) != 1 || a.Held[0].Withheld != "must not be moved" {
		t.Errorf("offered %v, withheld %v", a.Singles, a.Held)
	}
	var unsaid *consist.CannotSay
	starts := k.Starts
	k.Starts = nil
	defer func() { k.Starts = starts }()
	if _, err := Crank(parse(t, f, "Tern 3 lead"), 0, ""); !errors.As(err, &unsaid) {
		t.Errorf("no circuits: %v", err)
	}
}

func BenchmarkCrankWithThreeThingsWrong(b *testing.B) {
	f := railway(b)
	c := parse(b, f, "Kite 11 lead", "Kite 11.battery-switch=open", "Kite 11.air-flap=shut", "Kite 11.cab-2-reverser=forward")
	for b.Loop() {
		if _, err := Crank(c, 0, ""); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleCrank() {
	f, _ := fleet.Read(demo.Railway())
	c, _ := consist.Parse(f, "Tern 3 lead")
	a, _ := Crank(c, 0, "engine")
	fmt.Println(a.Result, len(a.Stages))
	// Output: reached 5
}
