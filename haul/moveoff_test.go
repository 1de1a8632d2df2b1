package haul_test

import (
	"encoding/json"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"headstock/haul"
	"headstock/motion"
	"headstock/trial"
)

func moveOff(t testing.TB, text string, q haul.MoveOffAsk, changes ...string) *haul.MoveOffAnswer {
	t.Helper()
	f := without(t, "", "", "")
	if q.Rail.Name == "" {
		q.Rail, _ = motion.RailNamed("dry")
	}
	a, err := haul.MoveOff(stopTrain(t, f, text, changes...), rules(t), q, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// What a start needs is grade, curve and resistance with something in hand, as the load table
// has it: the heaviest train that the table starts does start, and one wagon more does not.
func TestMoveOffAgreesWithTheLoadTable(t *testing.T) {
	f := without(t, "", "", "")
	rail, _ := motion.RailNamed("dry")
	x := coupled(t, f, "Tern 3 lead, 10 HX loaded")
	l, err := x.Load(haul.Ask{Places: []haul.Spot{{Slope: 1.0 / 60}}, Rails: []motion.Rail{rail}})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, b := range l.Entries[0].Bounds {
		if b.Name == haul.BoundStarting {
			n = int(b.Mass / l.Wagon)
		}
	}
	if n < 5 || n > 25 {
		t.Fatalf("%d wagons", n)
	}
	if a := moveOff(t, "Tern 3 lead, "+strconv.Itoa(n-1)+" HX loaded", haul.MoveOffAsk{Rising: 1.0 / 60}); !a.Starts {
		t.Errorf("%d wagons do not start: %.0f of %.0f N", n-1, a.Pull, a.Grade+a.Starting+a.Surplus)
	}
	if a := moveOff(t, "Tern 3 lead, "+strconv.Itoa(n+2)+" HX loaded", haul.MoveOffAsk{Rising: 1.0 / 60}); a.Starts {
		t.Errorf("%d wagons start", n+2)
	}
}

// The release lets the train go; the later the pull, the further it runs back; the locomotive
// brake left on never makes it worse; on the level and down nothing runs back.
func TestRollBack(t *testing.T) {
	a := moveOff(t, "Tern 3 lead, 6 HX loaded", haul.MoveOffAsk{Rising: 1.0 / 45})
	if !a.Starts || !a.Holds || a.Back == nil || a.Back.Never {
		t.Fatalf("%+v", a)
	}
	if a.Back.Lets <= 1 || a.Back.Lets > 90 || a.Back.Off <= a.Back.Lets || a.Back.Last == "" {
		t.Errorf("lets go after %.1f s, off after %.1f s (%s)", a.Back.Lets, a.Back.Off, a.Back.Last)
	}
	last := -1.0
	for _, x := range a.Back.Runs {
		if x.Distance < last {
			t.Errorf("the pull after %.0f s lets it run back %.1f m, before %.1f m", x.After, x.Distance, last)
		}
		last = x.Distance
		if x.After < a.Back.Lets && x.Distance > 0 {
			t.Errorf("it runs back %.2f m although the pull stood %.0f s after the handle", x.Distance, x.After)
		}
	}
	if last <= 0 {
		t.Error("with the pull 45 s late it does not run back")
	}
	// freely: what it gains in the first moments is the grade's pull over its inertia
	x := a.Back.Runs[len(a.Back.Runs)-1]
	if free := 9.81 / 45 * (x.After - a.Back.Lets); x.Speed > free {
		t.Errorf("%.2f m/s back, and %.2f is all that the grade gives", x.Speed, free)
	}
	if a.Kept == nil {
		t.Fatal("the locomotive brake was not tried: " + a.NotKept)
	}
	if !a.Kept.Never && a.Kept.Lets < a.Back.Lets || a.Kept.Ends < 20e3 {
		t.Errorf("with the locomotive brake on: %+v", a.Kept)
	}
	// one wagon alone is held by the locomotive for good
	if light := moveOff(t, "Tern 3 lead, HX loaded", haul.MoveOffAsk{Rising: 1.0 / 100}); light.Kept == nil || !light.Kept.Never {
		t.Errorf("%+v", light.Kept)
	}
	for _, g := range []float64{0, -1.0 / 100} {
		if level := moveOff(t, "Tern 3 lead, 2 HX loaded", haul.MoveOffAsk{Rising: g}); level.Back != nil || !level.Starts {
			t.Errorf("on %g: %+v", g, level.Back)
		}
	}
	// with the cocks of the wagons shut nothing holds it, and that is said
	cut := moveOff(t, "Tern 3 lead, 3 HX loaded", haul.MoveOffAsk{Rising: 1.0 / 30}, "HX 201.isolating-cock=closed", "HX 202.isolating-cock=closed", "HX 203.isolating-cock=closed")
	if cut.Stood >= a.Stood {
		t.Errorf("%.0f N hold three wagons that are cut out", cut.Stood)
	}
	if _, err := haul.MoveOff(stopTrain(t, without(t, "", "", ""), "Tern 3 lead, HX"), rules(t), haul.MoveOffAsk{Rising: 0.2}, trial.Conditions{}); err == nil {
		t.Error("a grade of 20 % is taken")
	}
}

// A start agrees with a closed form while no brake is on: constant force on a constant mass.
func TestRollBackIsWhatMechanicsSays(t *testing.T) {
	a := moveOff(t, "Tern 3 lead, 6 HX loaded", haul.MoveOffAsk{Rising: 1.0 / 45})
	x := a.Back.Runs[len(a.Back.Runs)-1]
	// energy: what the grade gave over the way back is no less than what the pull and the
	// brakes took, which is at least what the pull took after its moment
	if x.Distance <= 0 || !x.Caught {
		t.Fatalf("%+v", x)
	}
	rise := a.Grade * x.Distance
	inertia := a.Surplus / 0.03
	if kinetic := inertia * x.Speed * x.Speed / 2; kinetic > rise*(1+1e-3) {
		t.Errorf("%.0f J of motion out of %.0f J of fall", kinetic, rise)
	}
	// from its highest speed the pull brings it to a stand within v²/2a
	if stop := x.Speed * x.Speed / 2 / ((a.Pull - a.Grade) / inertia); stop > x.Distance {
		t.Errorf("it is brought to a stand in less than %.2f m: %.2f m in all", stop, x.Distance)
	}
}

// The bogie whose loss costs most is found by running, and its rows bound by what the cut
// train does; nothing that pulls is moved by it.
func TestBogieCutOut(t *testing.T) {
	f, l := marram(t)
	c := stopTrain(t, f, "Tern 3 lead, Kite 11 trail, 8 HX loaded")
	cut, err := haul.WorstBogie(c, rules(t), trial.Conditions{})
	if err != nil || cut == nil {
		t.Fatal(cut, err)
	}
	if !(cut.Left < cut.Whole) || cut.Left < cut.Whole/2 {
		t.Errorf("%.0f N of %.0f N are left", cut.Left, cut.Whole)
	}
	for _, d := range []string{"bogie-1-cock", "bogie-2-cock"} {
		for _, u := range []string{"Tern 3", "Kite 11"} {
			k := stopTrain(t, f, c.String(), u+"."+d+"=closed")
			b, err := haul.Stop(k, rules(t), haul.StopAsk{Speed: 10, Rail: haul.Dry}, trial.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			if b.FullForce < cut.Left-1 {
				t.Errorf("%s of %s leaves %.0f N, and %s of %s was called the worst with %.0f N", d, u, b.FullForce, cut.Device, cut.Unit, cut.Left)
			}
		}
	}
	places, err := haul.Spots(l, "Ruddle Loop", "Quernhill", motion.CurveFormFor(1.067))
	if err != nil {
		t.Fatal(err)
	}
	rail, _ := motion.RailNamed("dry")
	a := haul.Ask{Places: places, Rails: []motion.Rail{rail}}
	a.Brake(c, rules(t), haul.Braked{Rail: haul.Dry, Down: true, Length: 5000}, trial.Conditions{})
	got, err := haul.Of(c).Load(a)
	if err != nil || got.Cut == nil {
		t.Fatal(got, err)
	}
	bound := func(e haul.Entry, name string) haul.Bound {
		for _, b := range e.Bounds {
			if b.Name == name {
				return b
			}
		}
		t.Fatalf("no bound %s", name)
		return haul.Bound{}
	}
	sound, without := got.Entries[0], got.Cut.Entries[0]
	if x, y := bound(sound, haul.BoundDescent), bound(without, haul.BoundDescent); !x.Bounds || !y.Bounds || y.Mass >= x.Mass {
		t.Errorf("coming down: %+v sound, %+v with a bogie cut out", x, y)
	}
	for _, n := range []string{haul.BoundRunning, haul.BoundStarting, haul.BoundDrawgear} {
		if bound(sound, n) != bound(without, n) {
			t.Errorf("%s hangs on a brake: %+v, %+v", n, bound(sound, n), bound(without, n))
		}
	}
	if none, err := haul.WorstBogie(stopTrain(t, f, "Scoter 1 lead, HX loaded"), rules(t), trial.Conditions{}); err != nil || none != nil {
		t.Errorf("a locomotive without such a cock: %+v, %v", none, err)
	}
}

// What a stop is told to lie outside of is what the published stops span.
func TestBeyondIsWhatWasHeld(t *testing.T) {
	raw, err := os.ReadFile("testdata/outside/TestTrainStops.json")
	if err != nil {
		t.Fatal(err)
	}
	var lines []struct {
		What string `json:"what"`
	}
	if err := json.Unmarshal(raw, &lines); err != nil {
		t.Fatal(err)
	}
	few, many, fast := math.Inf(1), 0.0, 0.0
	said := regexp.MustCompile(`^emergency stop from (\d+) km/h, (\d+) wagons`)
	for _, x := range lines {
		m := said.FindStringSubmatch(x.What)
		if m == nil {
			t.Fatalf("%q", x.What)
		}
		v, _ := strconv.ParseFloat(m[1], 64)
		n, _ := strconv.ParseFloat(m[2], 64)
		few, many, fast = math.Min(few, n), math.Max(many, n), math.Max(fast, v)
	}
	f := without(t, "", "", "")
	at := func(n int, v float64, q haul.StopAsk) string {
		q.Speed = v / 3.6
		return strings.Join(stop(t, stopTrain(t, f, "Tern 3 lead, "+strconv.Itoa(n)+" HX loaded"), q).Outside, "; ")
	}
	q := haul.StopAsk{Rail: haul.Dry, Emergency: true}
	if s := at(int(few), fast, q); strings.Contains(s, "wagons") || strings.Contains(s, "km/h") || strings.Contains(s, "grade") || strings.Contains(s, "rail") || strings.Contains(s, "service") {
		t.Errorf("inside what was held: %s", s)
	}
	if s := at(int(few)-1, fast+1, haul.StopAsk{Rail: haul.Wet, Falling: 0.01}); !strings.Contains(s, "braked wagons") || !strings.Contains(s, "km/h") || !strings.Contains(s, "grade") || !strings.Contains(s, "wet rail") || !strings.Contains(s, "service") {
		t.Errorf("outside what was held: %s", s)
	}
	if s := at(int(many)+1, fast, q); !strings.Contains(s, "braked wagons") {
		t.Errorf("%g wagons and one more: %s", many, s)
	}
}

// Past the speed from which full service no longer holds it the train is lost, and below it
// is not.
func TestRunsAwayFrom(t *testing.T) {
	f := without(t, "", "", "")
	ask := func(falling float64) *haul.DescendAnswer {
		a, err := haul.Descend(stopTrain(t, f, "Tern 3 lead, 10 HX loaded", "HX 201.isolating-cock=closed", "HX 202.isolating-cock=closed", "HX 203.isolating-cock=closed", "HX 204.isolating-cock=closed", "HX 205.isolating-cock=closed", "HX 206.isolating-cock=closed"), rules(t), haul.DescendAsk{Legs: []haul.Leg{{Length: 3000, Falling: falling}}, Rail: haul.Dry, Speed: 10 / 3.6}, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	a := ask(1.0 / 30)
	if a.Lost <= 0 || a.Lost < a.Fastest {
		t.Fatalf("lost from %.1f m/s, greatest safe %.1f m/s", a.Lost, a.Fastest)
	}
	steep := ask(1.0 / 25)
	if steep.Lost > a.Lost {
		t.Errorf("steeper it is lost from %.1f m/s, less steep from %.1f", steep.Lost, a.Lost)
	}
	if easy := ask(1.0 / 200); easy.Lost != 0 {
		t.Errorf("on 1 in 200 it is lost from %.1f m/s", easy.Lost)
	}
	if n := len(a.Course); n == 0 || math.Abs(a.Course[n-1].Distance-3000) > 1 {
		t.Errorf("the heat is followed to %+v of 3000 m", a.Course)
	}
}
