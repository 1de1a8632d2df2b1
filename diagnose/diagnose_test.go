package diagnose_test

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/diagnose"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

func base(t *testing.T, text string) *setup.Base {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	r, cs := rule.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	b, err := setup.NewBase(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func saw(t *testing.T, b *setup.Base, texts ...string) []diagnose.Saw {
	t.Helper()
	var out []diagnose.Saw
	for _, x := range texts {
		s, err := diagnose.Parse(b, x)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return out
}

func find(t *testing.T, b *setup.Base, opt diagnose.Options, saws ...diagnose.Saw) *diagnose.Answer {
	t.Helper()
	a, err := diagnose.Find(context.Background(), b, saws, opt)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// all are the causes of an answer with their times, however they were drawn together.
func all(a *diagnose.Answer) int {
	n := 0
	for _, f := range slices.Concat(a.Fits, a.Others) {
		if f.Cause.Kind != setup.PairCause {
			n += 1 + len(f.Also) + len(f.Times)
		}
	}
	return n
}

// A cause that is run, read off and entered is among those that fit, whatever it is and
// whenever it came about; and no cause is dropped.
func TestFindsWhatWasRun(t *testing.T) {
	b := base(t, "Scoter 1 alone")
	looks := b.Looks()
	seen := map[string]bool{}
	n := 0
	for _, x := range b.Cases(true) {
		if x.Group == "" || seen[x.Group] || x.When == setup.SetWrong {
			continue
		}
		seen[x.Group] = true
		if n++; n%40 != 0 {
			continue
		}
		res, _, err := b.Play(x.Cause, x.When, "")
		if err != nil {
			t.Fatal(err)
		}
		var saws []diagnose.Saw
		for _, l := range looks {
			rd, ok := res.Reading(l.Step, l.Vehicle, l.Device)
			if !ok || !l.Taken() {
				continue
			}
			v := fmt.Sprintf("%.1f kPa", rd.Value/1e3)
			if l.Kind != "gauge" {
				v = map[string][2]string{"piston": {"in", "out"}, "exhaust": {"quiet", "blows"}}[l.Kind][0]
				if prove.Seen(rd) {
					v = map[string][2]string{"piston": {"in", "out"}, "exhaust": {"quiet", "blows"}}[l.Kind][1]
				}
			}
			saws = append(saws, saw(t, b, fmt.Sprintf("%s/%s.%s=%s", l.Step, l.Unit, l.Device, v))...)
		}
		a := find(t, b, diagnose.Options{Failures: true}, saws...)
		if !slices.ContainsFunc(a.Fits, func(f diagnose.Fit) bool {
			return f.Cause.Key == x.Cause.Key || slices.Contains(f.Also, x.Cause.Key)
		}) {
			t.Errorf("%s, %s: not among the %d that fit", x.Cause.Key, x.When, len(a.Fits))
		}
		if got := all(a); got != a.Looked {
			t.Errorf("%s: %d causes looked at, %d answered for", x.Cause.Key, a.Looked, got)
		}
	}
	if n < 9 {
		t.Errorf("%d groups", n)
	}
}

// One bogie does not brake: its cock is the only setting that does that, the look at it is
// what is left, and with it open the pistons come out.
func TestBogieCutOut(t *testing.T) {
	b := base(t, "Tern 3 alone")
	saws := saw(t, b, "reduction/Tern 3.bogie-1-piston=in", "reduction/lead.bogie-2-piston=out", "reduction/lead.brake-cylinder-gauge=not looked at")
	a := find(t, b, diagnose.Options{Workers: 1}, saws...)
	if a.Nothing || len(a.Fits) != 1 || a.Fits[0].Cause.Key != "Tern 3.bogie-1-cock=closed" || !slices.Contains(a.Fits[0].Times, setup.MovedSince) {
		t.Fatalf("%d fit: %+v", len(a.Fits), a.Fits)
	}
	if len(a.Mending) != 1 || !slices.ContainsFunc(a.Mending[0].Shows, func(c diagnose.Changed) bool { return c.Kind == "piston" && !c.WasOut && c.IsOut }) {
		t.Errorf("%+v", a.Mending)
	}
	for _, f := range a.Others {
		if len(f.Contradicts) == 0 {
			t.Errorf("%s does not fit and nothing contradicts it", f.Cause.Key)
		}
		if slices.Contains(f.Contradicts, 2) {
			t.Errorf("%s is contradicted by what nobody looked at", f.Cause.Key)
		}
	}
	if again := find(t, b, diagnose.Options{Workers: 3}, saws...); !reflect.DeepEqual(strip(a), strip(again)) {
		t.Error("three workers give another answer than one")
	}
	// somebody went and found the cock shut: nothing else puts it there
	a = find(t, b, diagnose.Options{}, saw(t, b, "Tern 3.bogie-1-cock=closed")...)
	if len(a.Fits) != 1 || a.Fits[0].Cause.Key != "Tern 3.bogie-1-cock=closed" {
		t.Errorf("%d fit", len(a.Fits))
	}
}

// strip leaves out what only answers the next question.
func strip(a *diagnose.Answer) string {
	return fmt.Sprintf("%+v %+v %+v %+v %d %d", keys(a.Fits), keys(a.Others), a.Next, a.Mending, a.Looked, a.Runs)
}

func keys(fs []diagnose.Fit) []string {
	var out []string
	for _, f := range fs {
		out = append(out, fmt.Sprint(f.Cause.Key, f.When, f.Contradicts, f.Also, f.Times))
	}
	return out
}

// Where many fit, the looks split them, none goes between vehicles or beneath one, and no
// brake is let go for one unless the train is secured.
func TestNextLookIsSafe(t *testing.T) {
	b := base(t, "Tern 3 alone")
	saws := saw(t, b, "charge/Tern 3.brake-pipe-gauge=0 kPa")
	a := find(t, b, diagnose.Options{}, saws...)
	if len(a.Fits) < 2 || len(a.Next) == 0 {
		t.Fatalf("%d fit, %d looks", len(a.Fits), len(a.Next))
	}
	steps := map[string]int{}
	for k, s := range b.Proof().Test.Procedure.Steps {
		steps[s.ID] = k
	}
	places := map[string]bool{}
	for _, p := range b.Consist().Vehicles[0].Class.Places {
		places[p.Name] = b.Reachable(0, p.ID)
	}
	for _, n := range a.Next {
		if len(n.Splits) < 2 || n.Tells <= 0 || n.Seconds <= 0 {
			t.Errorf("%s splits nothing: %+v", n.Say, n)
		}
		if !places[n.Place] {
			t.Errorf("%s is not to be gone to", n.Place)
		}
		if steps[n.Step] >= steps[prove.StepBail] {
			t.Errorf("%s lets brakes go", n.Say)
		}
	}
	free := find(t, b, diagnose.Options{Secured: true}, saws...)
	for _, n := range free.Next {
		if steps[n.Step] >= steps[prove.StepBail] && len(n.Needs) == 0 {
			t.Errorf("%s does not say that the train is to be secured", n.Say)
		}
	}
	if len(free.Next) < len(a.Next) {
		t.Errorf("%d looks with the train secured, %d without", len(free.Next), len(a.Next))
	}
}

// What no single cause gives is answered: which readings cannot stand together, and which
// parts are not all sound.
func TestNoneOfThese(t *testing.T) {
	b := base(t, "Scoter 1 alone")
	var gauge, piston string
	for _, l := range b.Looks() {
		if l.Step == prove.StepService && l.Kind == "piston" {
			piston = l.Device
		}
		if l.Step == prove.StepService && l.Kind == "gauge" && strings.Contains(l.Device, "brake-pipe") {
			gauge = l.Device
		}
	}
	// a pipe above the feed and no brake, which nothing on the list does
	saws := saw(t, b, "reduction/Scoter 1."+gauge+"=900 kPa", "reduction/Scoter 1."+piston+"=in")
	a := find(t, b, diagnose.Options{}, saws...)
	if len(a.Fits) > 0 || a.Pairs == 0 {
		t.Fatalf("%d fit, %d pairs looked at", len(a.Fits), a.Pairs)
	}
	if !slices.ContainsFunc(a.Clash, func(c []int) bool { return slices.Equal(c, []int{0}) }) {
		t.Errorf("900 kPa cannot be, whatever else: %v", a.Clash)
	}
	if len(a.Misread) == 0 || !slices.Contains(a.Misread[0], 0) {
		t.Errorf("read again: %v", a.Misread)
	}
	if !slices.ContainsFunc(a.Suspect, func(c diagnose.Conflict) bool { return c.Saw == 1 && len(c.Parts) > 0 }) {
		t.Errorf("no part is suspected of the piston: %+v", a.Suspect)
	}
}

func TestNothingWrong(t *testing.T) {
	b := base(t, "Scoter 1 alone")
	l := b.Looks()[0]
	a := find(t, b, diagnose.Options{}, saw(t, b, fmt.Sprintf("%s/Scoter 1.%s=%.0f kPa", l.Step, l.Device, l.Right().Value/1e3))...)
	if !a.Nothing || len(a.Next) > 0 {
		t.Errorf("nothing wrong: %v, %d looks", a.Nothing, len(a.Next))
	}
	if all(a) != a.Looked {
		t.Errorf("%d of %d", all(a), a.Looked)
	}
}

func TestParseRefuses(t *testing.T) {
	b := base(t, "Tern 3 alone")
	for text, want := range map[string]string{
		"reduction/Tern 3.bogie-1-piston":         "expected step/unit.device=value",
		"reductoin/Tern 3.bogie-1-piston=in":      "nearest: reduction",
		"reduction/Tern 4.bogie-1-piston=in":      "Tern 4",
		"reduction/Tern 3.bogie-1-pistn=in":       "bogie-1-pistn",
		"reduction/Tern 3.bogie-1-piston=half":    `"in" or "out"`,
		"reduction/Tern 3.brake-pipe-gauge=400 m": "expected a pressure",
		"reduction/bogie-1-piston=in":             "full stop",
		"Tern 3.bogie-1-cock=ajar":                "ajar",
		"reduction/Tern 3.bogie-1-cock=closed":    "not read",
	} {
		if _, err := diagnose.Parse(b, text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, expected %s", text, err, want)
		}
	}
	saws := saw(t, b, "reduction/Tern 3.bogie-1-piston=in", "reduction/Tern 3.bogie-1-piston=out")
	if _, err := diagnose.Find(context.Background(), b, saws, diagnose.Options{}); err == nil {
		t.Error("in and out at once")
	}
	if _, err := diagnose.Find(context.Background(), b, saw(t, b, "reduction/Tern 3.bogie-1-piston=not looked at"), diagnose.Options{}); err == nil {
		t.Error("nothing was seen")
	}
}

// With the readings of a search no cause is run again, and the answer is the same; pairs
// that are more than the bound are said and not looked at.
func TestFromSearch(t *testing.T) {
	b := base(t, "Brant 1 lead, HX 201 loaded")
	found, err := b.Search(t.Context(), setup.Options{Failures: true})
	if err != nil {
		t.Fatal(err)
	}
	ran := func(cause setup.Cause, when string) ([]trial.Reading, bool) {
		for _, m := range found.Members {
			for _, o := range m.Outcomes {
				if m.Key == cause.Key && o.When == when {
					return o.Readings(), true
				}
			}
		}
		return nil, false
	}
	saws := saw(t, b, "reduction/HX 201.brake-piston=in", "reduction/Brant 1.bogie-1-piston=out")
	own := find(t, b, diagnose.Options{Failures: true}, saws...)
	kept := find(t, b, diagnose.Options{Failures: true, Ran: ran}, saws...)
	if len(own.Fits) == 0 || own.Runs <= len(own.Mending) || kept.Runs != len(kept.Mending) {
		t.Errorf("%d fit; %d runs by itself, %d from the search, %d of them of what putting right shows", len(own.Fits), own.Runs, kept.Runs, len(kept.Mending))
	}
	say := func(a *diagnose.Answer) string {
		var out []string
		for _, f := range append(slices.Clone(a.Fits), a.Others...) {
			out = append(out, fmt.Sprint(f.Cause.Key, f.When, f.Times, f.Also, f.Contradicts))
		}
		return strings.Join(out, "\n") + fmt.Sprint(a.Next, a.Mending, a.Withheld, a.Alike)
	}
	if say(own) != say(kept) {
		t.Error("from the search it says something else")
	}
	none := saw(t, b, "charge/Brant 1.brake-pipe-gauge=123 kPa", "reduction/Brant 1.brake-pipe-gauge=456 kPa", "recover/Brant 1.brake-pipe-gauge=321 kPa")
	if a := find(t, b, diagnose.Options{Ran: ran, MostPairs: 5}, none...); len(a.Fits) > 0 || a.TooMany <= 5 || a.Pairs != 0 {
		t.Errorf("%d fit, %d pairs looked at, too many %d", len(a.Fits), a.Pairs, a.TooMany)
	}
}
