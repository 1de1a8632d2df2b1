package prepare_test

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/demo"
	"headstock/line"
	"headstock/prepare"
	"headstock/rule"
)

func lineOf(t *testing.T, text string) *line.Line {
	t.Helper()
	l, cs := line.Read(fstest.MapFS{"line.yaml": {Data: []byte(text)}}, "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return l
}

func ask(t *testing.T, l *line.Line, text, from, to string, changes ...string) *prepare.RouteAnswer {
	t.Helper()
	f, r := demoRailway(t)
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range changes {
		ch, err := c.ParseChange(x)
		if err != nil {
			t.Fatal(err)
		}
		if c, err = c.With(ch); err != nil {
			t.Fatal(err)
		}
	}
	a, err := prepare.Route(c, l, from, to, r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

const light = `line: Light branch
source: invented
places: {Pier: {at: 0 km}, Mill: {at: 3 km}, Yard: {at: 5 km}, Stack: {at: 6 km}}
sections:
  - {from: Pier, to: Mill, axle load: 16 t, sharpest curve: 110 m}
  - {from: Mill, to: Yard, axle load: 15 t, sharpest curve: 100 m}
  - {from: Yard, to: Stack, sharpest curve: 60 m}
`

// find is the first check of a kind that does not fit or cannot be said.
func find(a *prepare.RouteAnswer, kind string) (prepare.RouteCheck, bool) {
	for _, k := range a.Checks {
		if k.Kind == kind && k.Fit != prepare.Fits {
			return k, true
		}
	}
	return prepare.RouteCheck{}, false
}

// By hand from the records: 96 t on six axles is 16 t, 88 t on six is 14.67 t, 56 t on
// four is 14 t; a limit that is met is met.
func TestAxleLoadAndCurve(t *testing.T) {
	l := lineOf(t, light)
	if a := ask(t, l, "Tern 3 lead, 2 HX loaded", "Pier", "Mill"); a.Fit != prepare.Fits {
		t.Errorf("%s: %+v", a.Fit, a.Checks)
	}
	a := ask(t, l, "Tern 3 lead", "Pier", "Yard")
	if k, ok := find(a, "axle load"); !ok || k.Vehicle != "Tern 3" || k.Value != 16000 || k.Limit != 15000 || k.Where != "Mill to Yard" || a.Fit != prepare.DoesNot {
		t.Errorf("%s: %+v", a.Fit, k)
	}
	a = ask(t, l, "Kite 11 lead", "Yard", "Pier")
	if k, ok := find(a, "axle load"); ok {
		t.Errorf("14.67 t on 15 t: %+v", k)
	}
	if k, ok := find(a, "curve"); !ok || k.Value != 110 || k.Limit != 100 || k.Where != "Yard to Mill" {
		t.Errorf("110 m needed, 100 m there: %+v", k)
	}
	// a section that states no axle load
	a = ask(t, l, "Scoter 1 lead", "Yard", "Stack")
	if k, ok := find(a, "axle load"); !ok || k.Fit != prepare.FitUnsaid || !strings.Contains(k.Needs, "Yard to Stack") || a.Fit != prepare.FitUnsaid {
		t.Errorf("%s: %+v", a.Fit, k)
	}
	// 60 m is met by the shunter exactly
	if k, ok := find(a, "curve"); ok {
		t.Errorf("%+v", k)
	}
}

// A record that lacks what a check needs is named.
func TestRouteLacks(t *testing.T) {
	f, r := demoRailway(t)
	c, err := consist.Parse(f, "Tern 3 lead, HX 201 loaded")
	if err != nil {
		t.Fatal(err)
	}
	// the class without its identity and without the pivots of its couplers
	bare := *c.Vehicles[1].Class
	bare.Identity, bare.Ends[0].CouplerSpec, bare.Ends[1].CouplerSpec = nil, nil, nil
	v := *c.Vehicles[1]
	v.Class = &bare
	c.Vehicles[1] = &v
	a, err := prepare.Route(c, lineOf(t, light), "Pier", "Mill", r)
	if err != nil {
		t.Fatal(err)
	}
	for kind, needs := range map[string]string{"axle load": "loaded mass", "curve": "minimum curve radius", "coupler height": "height of the coupler", "coupler swing": "length"} {
		if k, ok := find(a, kind); !ok || k.Fit != prepare.FitUnsaid || !strings.Contains(k.Needs, needs) {
			t.Errorf("%s: %+v, want it to need the %s", kind, k, needs)
		}
	}
	if a.Fit != prepare.FitUnsaid {
		t.Error(a.Fit)
	}
}

// A swing beyond that of the coupler, and a difference in height beyond the rule.
func TestCouplers(t *testing.T) {
	f, r := demoRailway(t)
	c, err := consist.Parse(f, "Tern 3 lead, HX 201 loaded")
	if err != nil {
		t.Fatal(err)
	}
	l := lineOf(t, strings.ReplaceAll(light, "sharpest curve: 110 m", "sharpest curve: 30 m"))
	a, err := prepare.Route(c, l, "Pier", "Mill", r)
	if err != nil {
		t.Fatal(err)
	}
	if k, ok := find(a, "coupler swing"); !ok || k.Fit != prepare.DoesNot || k.Value <= k.Limit || math.Abs(k.Limit-12*math.Pi/180) > 1e-9 {
		t.Errorf("on 30 m: %+v", k)
	}
	strict, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("limits:\n  coupler-difference: {at most: 25 mm}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	// 790 mm against 760 mm
	a, err = prepare.Route(c, l, "Pier", "Mill", strict)
	if err != nil {
		t.Fatal(err)
	}
	if k, ok := find(a, "coupler height"); !ok || math.Abs(k.Value-0.030) > 1e-9 || k.Fit != prepare.DoesNot {
		t.Errorf("%+v", k)
	}
}

// Rules of placing, one order of the train each.
func TestPlacing(t *testing.T) {
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	for _, x := range []struct {
		train, rule, broken string // "" fits
		changes             []string
	}{
		{train: "Tern 3 lead, HX 257 loaded, GV 1", rule: "piped-only"},
		{train: "Tern 3 lead, GV 1, HX 257 loaded", rule: "piped-only", broken: "last vehicle"},
		{train: "Tern 3 lead, 2 HX loaded, GV 1", rule: "piped-only", broken: "last vehicle", changes: []string{"GV 1.isolating-cock=closed"}},
		{train: "Tern 3 lead, Kite 11 hauled dead, 2 HX loaded", rule: "dead-behind"},
		{train: "Tern 3 lead, 2 HX loaded, Kite 11 hauled dead", rule: "dead-behind", broken: "wagon stands between"},
		{train: "Tern 3 lead, Kite 11 hauled dead, Tern 4 hauled dead", rule: "dead-number"},
		{train: "Tern 3 lead, Kite 11 hauled dead, Tern 4 hauled dead, Tern 5 hauled dead", rule: "dead-number", broken: "3 of them"},
		{train: "Tern 3 lead, Scoter 1 hauled dead, GV 1", rule: "shunter-dead"}, // 16 t behind it
		{train: "Tern 3 lead, Scoter 1 hauled dead, 2 HX", rule: "shunter-dead"}, // 14 t behind it
		{train: "Tern 3 lead, Scoter 1 hauled dead, 2 HX loaded", rule: "shunter-dead", broken: "between Tern 3 and HX 201"},
		{train: "Tern 3 lead, Scoter 1 hauled dead", rule: "shunter-dead"},
		{train: "Tern 3 lead, Scoter 1 hauled dead", rule: "shunter-dead", broken: "stands engaged", changes: []string{"Scoter 1.gear-lever=engaged"}},
	} {
		a := ask(t, l, x.train, "Teal Junction", "Quernhill", x.changes...)
		spoken := false
		for _, k := range a.Checks {
			if k.Rule != x.rule {
				continue
			}
			spoken = true
			if (k.Fit == prepare.DoesNot) != (x.broken != "") || !strings.Contains(k.Broken, x.broken) {
				t.Errorf("%s %v: %+v, want %q", x.train, x.changes, k, x.broken)
			}
		}
		if spoken != (x.rule != "piped-only" || strings.Contains(x.train, "257") || len(x.changes) > 0) {
			t.Errorf("%s: rule %s spoken of: %v", x.train, x.rule, spoken)
		}
		want := 0.0
		if strings.Contains(x.train, "Scoter") {
			want = 25 / 3.6
		}
		if a.Speed.Value != want {
			t.Errorf("%s: speed %g m/s, want %g", x.train, a.Speed.Value, want)
		}
	}
}

// The demo train fits the whole line both ways.
func TestDemoTrainFits(t *testing.T) {
	l, cs := line.Read(demo.Railway(), "line.yaml")
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	for _, way := range [][2]string{{"Port Ansell", "Quernhill"}, {"Quernhill", "Port Ansell"}} {
		a := ask(t, l, "Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV", way[0], way[1])
		if a.Fit != prepare.Fits || a.Distance != 88000 {
			t.Errorf("%v: %s, %g m", way, a.Fit, a.Distance)
		}
	}
}
