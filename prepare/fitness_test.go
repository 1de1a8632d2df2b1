package prepare_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prepare"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// plover is a locomotive with a cab at each end, as far as fitness needs one.
func plover() (*fleet.Class, *fleet.Unit) {
	d := func(id, function string, cab, end int, normal string, positions ...string) *fleet.Device {
		x := &fleet.Device{ID: id, Name: id, Function: function, Cab: cab, End: end, Normal: normal}
		for _, p := range positions {
			x.Positions = append(x.Positions, fleet.Position{ID: p})
		}
		return x
	}
	c := &fleet.Class{Name: "Plover", Kind: "locomotive", Cabs: 2, Multiple: true, Devices: []*fleet.Device{
		d("pedal-1", "driver-pedal", 1, 0, "up", "up", "down"),
		d("pedal-2", "driver-pedal", 2, 0, "up", "up", "down"),
		d("lamp-1", "headlight", 0, 1, "off", "off", "on"),
		d("clock-1", "speedometer", 1, 0, ""),
		d("clock-2", "speedometer", 2, 0, ""),
		d("bogie-1-cock", "bogie-brake-cock", 0, 0, "open", "open", "closed"),
		d("isolating-cock", "brake-isolating-cock", 0, 0, "open", "open", "closed"),
		d("horn-cock", "horn-cock", 0, 0, "open", "open", "closed"),
		d("horn-1", "horn", 1, 0, ""),
		d("hand-brake", "hand-brake", 0, 0, "off", "off", "on"),
		d("sander", "sand-valve", 0, 0, ""),
		d("wheels", "wheel", 0, 0, ""),
		d("reservoir", "main-reservoir", 0, 0, ""),
		d("piston", "brake-piston", 0, 0, ""),
		d("coupler-1", "coupler", 0, 1, "locked", "open", "locked"),
		d("heater", "cab-heater", 1, 0, ""),
		d("relay", "ground-relay", 0, 0, ""),
	}}
	for _, n := range []string{"lead", "trail", "hauled dead"} {
		c.Roles = append(c.Roles, &fleet.Role{Name: n})
	}
	return c, &fleet.Unit{Class: "Plover", Number: 7}
}

// standing is an answer in one line: lead with 1 in front, lead with 2, trail, hauled, move;
// y may, n may not, ? cannot say, - does not apply.
func standing(a *prepare.Answer) string {
	s := ""
	for _, p := range a.Permissions {
		s += map[prepare.Standing]string{prepare.May: "y", prepare.MayNot: "n", prepare.CannotSay: "?", prepare.NotApplies: "-"}[p.Standing]
	}
	return s
}

// own lays a railway's rules over the shipped ones.
func own(t *testing.T, text string) *rule.Rules {
	t.Helper()
	r, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte(text)}})
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return r
}

// Worked by hand against the rows of the shipped rules named beside each case.
func TestFitness(t *testing.T) {
	c, u := plover()
	r := rule.Standard()
	const day = "2026-11-25"
	for _, x := range []struct {
		name    string
		defects []fleet.Defect
		want    string // lead 1, lead 2, trail, hauled, move
		rule    string
	}{
		{"nothing open", nil, "yyyyy", ""},
		{"pedal of cab 1 dead: not from that cab", []fleet.Defect{{Device: "pedal-1", Kind: "failed"}}, "nyyyy", "vigilance-out"},
		{"both pedals", []fleet.Defect{{Device: "pedal-1", Kind: "failed"}, {Device: "pedal-2", Kind: "isolated"}}, "nnyyy", "vigilance-out"},
		{"headlight of end 1", []fleet.Defect{{Device: "lamp-1", Kind: "failed"}}, "nyyyy", "headlight"},
		{"horn of cab 1", []fleet.Defect{{Device: "horn-1", Kind: "blocked"}}, "nyyyy", "horn"},
		{"horn cut out: both cabs", []fleet.Defect{{Device: "horn-cock", Position: "closed"}}, "nnyyy", "horn-cock"},
		{"an axle stuck: must not move", []fleet.Defect{{Device: "wheels", Kind: "stuck"}}, "nnnnn", "axle-stuck"},
		{"wheel cracked, INS-068", []fleet.Defect{{Device: "wheels", Kind: "cracked"}}, "nnnnn", "wheel-cracked"},
		{"hand brake: a condition only", []fleet.Defect{{Device: "hand-brake", Kind: "failed"}}, "yyyyy", "hand-brake"},
		{"coupler cracked: not in a train, and may be moved", []fleet.Defect{{Device: "coupler-1", Kind: "cracked"}}, "nnnny", "coupler"},
		{"heater: no restriction, and that is said", []fleet.Defect{{Device: "heater", Kind: "failed"}}, "yyyyy", "comfort"},
		{"bogie cut out: the railway's own speed and load are missing", []fleet.Defect{{Device: "bogie-1-cock", Position: "closed"}}, "nn??y", "bogie-isolated"},
		{"travel outside: hauled, and the railway's own speed is missing", []fleet.Defect{{Device: "piston", Kind: "outside limit"}}, "nnn?y", "travel"},
		{"ground relay: no rule, so nothing can be said", []fleet.Defect{{Device: "relay", Kind: "tripped"}}, "?????", ""},
		{"no kind: nothing can be said", []fleet.Defect{{Device: "horn-1", Text: "sounds odd"}}, "?????", ""},
		{"no device: nothing can be said", []fleet.Defect{{Text: "a knock"}}, "?????", ""},
		{"barred is barred, whatever is unknown beside it", []fleet.Defect{{Text: "a knock"}, {Device: "wheels", Kind: "stuck"}}, "nnnnn", "axle-stuck"},
		{"sanders without the day they failed", []fleet.Defect{{Device: "sander", Kind: "failed"}}, "??yyy", "sanders"},
		{"sanders, last of 14 days", []fleet.Defect{{Device: "sander", Kind: "failed", Date: "2026-11-12"}}, "yyyyy", "sanders"},
		{"sanders, a day after", []fleet.Defect{{Device: "sander", Kind: "failed", Date: "2026-11-11"}}, "nnyyy", "sanders"},
		{"by function where no device is meant", []fleet.Defect{{Function: "rail-guard", Kind: "bent"}}, "nnyyy", "rail-guard"},
	} {
		a := prepare.Fitness(c, u, x.defects, nil, r, day)
		if got := standing(a); got != x.want {
			t.Errorf("%s: %s, want %s", x.name, got, x.want)
		}
		named := x.rule == ""
		for _, p := range a.Permissions {
			for _, y := range p.Reasons {
				named = named || y.Rule == x.rule && y.Source != "" && y.LiftedBy != ""
			}
		}
		if !named {
			t.Errorf("%s: rule %s is not named with its source and who lifts it", x.name, x.rule)
		}
	}
	// a day that is not given makes a term unsaid
	if got := standing(prepare.Fitness(c, u, []fleet.Defect{{Device: "sander", Kind: "failed", Date: "2026-11-12"}}, nil, r, "")); got != "??yyy" {
		t.Errorf("without a day: %s", got)
	}
}

// The law's 20 mph without a speed indicator, INS-069, for the end that has none.
func TestSpeedIndicator(t *testing.T) {
	c, u := plover()
	a := prepare.Fitness(c, u, []fleet.Defect{{Device: "clock-1", Kind: "failed", Date: "2026-11-20"}}, nil, rule.Standard(), "2026-11-25")
	one, two := a.For(rule.Lead1), a.For(rule.Lead2)
	if want := float64(20*1609.344) / 3600; !one.Restriction.Speed.Set || one.Restriction.Speed.Value-want > 1e-12 || one.Restriction.Speed.By[0] != "speed-indicator" {
		t.Errorf("with headstock 1 in front: %+v", one.Restriction)
	}
	if two.Restriction.Speed.Set || a.For(rule.Trail).Restriction.Speed.Set {
		t.Error("the other end has its own")
	}
	if got := quantity.Metric().SpeedRounded(quantity.MetresPerSecond(one.Restriction.Speed.Value), quantity.Down); got != "32 km/h" {
		t.Errorf("20 mph is 32.19 km/h and is printed %s", got)
	}
}

// Two restrictions: the stricter on every axis, each with the rule that gives it.
func TestTwoTogether(t *testing.T) {
	c, u := plover()
	r := own(t, `source: railway
fitness:
  bogie-isolated: {what: bogie cut out, function: bogie-brake-cock, kind: isolated, stands: closed, speed: 40 km/h, load: 50 %, lifted by: fitter}
  damper: {what: damper, function: damper, kind: failed, speed: 50 km/h, load: 40 %, within: 7 days, lifted by: fitter}
`)
	ds := []fleet.Defect{{Device: "bogie-1-cock", Position: "closed", Date: "2026-11-20"}, {Function: "damper", Kind: "failed", Date: "2026-11-20"}}
	p := prepare.Fitness(c, u, ds, nil, r, "2026-11-25").For(rule.Trail)
	got := p.Restriction
	if p.Standing != prepare.May || got.Speed.Value != 40/3.6 || got.Speed.By[0] != "bogie-isolated" || got.LoadShare.Value != 0.4 || got.LoadShare.By[0] != "damper" || rule.Date(int(got.LastDay.Value)) != "2026-11-26" {
		t.Errorf("%s %+v", p.Standing, got)
	}
}

// What a unit's own state says counts as a fault, the unit's word before that of its range.
func TestState(t *testing.T) {
	c, u := plover()
	u.State = []fleet.Override{
		{Device: "pedal-1", Property: "fitted", Value: "out of use", Date: "2026-09-21", Reason: "disconnected"},
		{Device: "isolating-cock", Property: "position", Value: "open", Date: "2026-09-21", Reason: "opened again"},
		{Device: "isolating-cock", Property: "position", Value: "closed", Date: "2026-09-01", Reason: "of the range"},
	}
	a := prepare.Fitness(c, u, nil, nil, rule.Standard(), "2026-11-25")
	if got := standing(a); got != "nyyyy" || len(a.CutOuts) != 0 {
		t.Errorf("%s, cut out %v", got, a.CutOuts)
	}
	u.State = u.State[2:]
	a = prepare.Fitness(c, u, nil, nil, rule.Standard(), "2026-11-25")
	if got := standing(a); got != "nnn?y" || len(a.CutOuts) != 1 || a.CutOuts[0].Position != "closed" {
		t.Errorf("%s, cut out %v", got, a.CutOuts)
	}
	// a fault "isolated" finds the position in which its rule would find the device
	u.State = nil
	a = prepare.Fitness(c, u, []fleet.Defect{{Device: "bogie-1-cock", Kind: "isolated"}}, nil, rule.Standard(), "2026-11-25")
	if len(a.CutOuts) != 1 || a.CutOuts[0] != (prepare.CutOut{Device: "bogie-1-cock", Name: "bogie-1-cock", Position: "closed", Normal: "open"}) {
		t.Errorf("%v", a.CutOuts)
	}
}

func TestMeasurements(t *testing.T) {
	c, u := plover()
	r := rule.Standard()
	for _, x := range []struct{ text, want string }{
		{"reservoir:leakage=3 psi/min", "yyyyy"},
		{"reservoir:leakage=3.1 psi/min", "nnnyy"},
		{"reservoir:leakage=20 kPa/min", "yyyyy"}, // 3 psi is 20.68 kPa
		{"reservoir:leakage=?", "?????"},
		{"reservoir:leakage=3 psi", "?????"}, // a pressure is no leakage
		{"clock-1:error above 30 mph=8 km/h", "yyyyy"},
		{"wheels:flange thickness=22 mm", "nnnnn"}, // 7/8 in is 22.2 mm
		{"wheels:flange thickness=22.3 mm", "yyyyy"},
		{"horn-1:leakage=1 psi/min", "?????"}, // no rule measures leakage of a horn
	} {
		m, err := prepare.ParseMeasurement(c, r, x.text, "2026-11-25")
		if err != nil {
			t.Errorf("%s: %v", x.text, err)
			continue
		}
		want := x.want
		if strings.HasSuffix(x.text, "?") || x.want == "?????" {
			got := standing(prepare.Fitness(c, u, nil, []prepare.Measurement{m}, r, "2026-11-25"))
			if got != want {
				t.Errorf("%s: %s, want %s", x.text, got, want)
			}
			continue
		}
		if got := standing(prepare.Fitness(c, u, nil, []prepare.Measurement{m}, r, "2026-11-25")); got != want {
			t.Errorf("%s: %s, want %s", x.text, got, want)
		}
	}
	// judged by the record's own limit
	for judged, want := range map[string]string{prepare.Within: "yyyyy", prepare.Outside: "nnn?y"} {
		m := prepare.Measurement{Device: "piston", What: "travel", Judged: judged}
		if got := standing(prepare.Fitness(c, u, nil, []prepare.Measurement{m}, r, "2026-11-25")); got != want {
			t.Errorf("travel %s: %s, want %s", judged, got, want)
		}
	}
}

// What the record does not hold is said to be missing.
func TestRecordLacks(t *testing.T) {
	c, u := plover()
	c.Multiple = false
	if got := standing(prepare.Fitness(c, u, nil, nil, rule.Standard(), "2026-11-25")); got != "yynyy" {
		t.Errorf("no jumper: %s", got)
	}
	c, u = plover()
	c.Roles = nil
	if got := standing(prepare.Fitness(c, u, nil, nil, rule.Standard(), "2026-11-25")); got != "????y" {
		t.Errorf("no roles: %s", got)
	}
	c, u = plover()
	c.Missing = []fleet.Missing{{What: "the state of the axles", Needed: "fitness"}}
	if got := standing(prepare.Fitness(c, u, nil, nil, rule.Standard(), "2026-11-25")); got != "?????" {
		t.Errorf("missing: %s", got)
	}
	w := &fleet.Class{Name: "Dunlin", Kind: "wagon"}
	if got := standing(prepare.Fitness(w, &fleet.Unit{Class: "Dunlin", Number: 1}, nil, nil, rule.Standard(), "2026-11-25")); got != "---yy" {
		t.Errorf("wagon: %s", got)
	}
}

func TestParseDefect(t *testing.T) {
	c, _ := plover()
	for text, want := range map[string]fleet.Defect{
		"lamp-1=failed":            {Device: "lamp-1", Function: "headlight", Kind: "failed", Date: "2026-11-25"},
		" bogie-1-cock = closed ":  {Device: "bogie-1-cock", Function: "bogie-brake-cock", Position: "closed", Date: "2026-11-25"},
		"rail-guard=bent":          {Function: "rail-guard", Kind: "bent", Date: "2026-11-25"},
		"horn-cock=isolated":       {Device: "horn-cock", Function: "horn-cock", Kind: "isolated", Date: "2026-11-25"},
		"hand-brake=outside limit": {Device: "hand-brake", Function: "hand-brake", Kind: "outside limit", Date: "2026-11-25"},
	} {
		if got, err := prepare.ParseDefect(c, text, "2026-11-25"); err != nil || got != want {
			t.Errorf("%s: %+v, %v", text, got, err)
		}
	}
	for text, want := range map[string]string{
		"lamp-1":        "expected device=kind",
		"lampp-1=bent":  "nearest: lamp-1",
		"lamp-1=fialed": "nearest: failed",
	} {
		if _, err := prepare.ParseDefect(c, text, ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
	for text, want := range map[string]string{
		"wheels:flat sport=3 in": "nearest: flat spot",
		"wheels=3 in":            "expected device:what=value",
		"wheels:flat spot=3 ln":  "no unit",
	} {
		if _, err := prepare.ParseMeasurement(c, rule.Standard(), text, ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func demoRailway(t testing.TB) (*fleet.Fleet, *rule.Rules) {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	r, more := rule.Read(demo.Railway())
	if cs = append(append(cs, more...), r.Against(f)...); len(cs) > 0 {
		t.Fatal(cs)
	}
	return f, r
}

// The units of the demo that have something open.
func TestDemoUnits(t *testing.T) {
	f, r := demoRailway(t)
	for unit, want := range map[string]string{
		"Tern 6":  "nnyyy", // bogie 2 cut out
		"Tern 1":  "yyyyy",
		"Kite 12": "yyyyy", // a blanked pipe
		"Kite 13": "nyyyy", // no pedal in cab 1
		"Kite 15": "ynyyy", // headlight of end 2
		"Brant 4": "??n??", // a knock that nobody can name
		"HX 257":  "---yy", // piped only
		"HX 260":  "---ny", // coupler
		"FG 340":  "---??", // a label no rule speaks of
	} {
		name, number, _ := strings.Cut(unit, " ")
		c, _ := f.Class(name)
		n := 0
		for _, r := range number {
			n = n*10 + int(r-'0')
		}
		u, _ := f.Unit(name, n)
		if got := standing(prepare.Fitness(c, u, nil, nil, r, "2026-11-25")); got != want {
			t.Errorf("%s: %s, want %s", unit, got, want)
		}
	}
}

func priced(t *testing.T, text string, vehicle int, cuts ...prepare.CutOut) *prepare.Price {
	t.Helper()
	f, r := demoRailway(t)
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	p, err := prepare.BrakePrice(c, vehicle, cuts, prove.StandingTest(c, r), prove.StepService, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// One of two equal bogies cut out takes half of the cylinders; both take all; a cock that
// feeds no brake takes none. The counts are those of the records (8 on the unit, 12 on the
// other, 1 a wagon).
func TestBrakePrice(t *testing.T) {
	cock := func(n string) prepare.CutOut {
		return prepare.CutOut{Device: n, Position: "closed", Normal: "open"}
	}
	p := priced(t, "Tern 3 alone", 0, cock("bogie-1-cock"))
	if p.OfUnit.Without != 8 || p.OfUnit.With != 4 || p.OfUnit.Cylinders() != 0.5 || len(p.Lost) != 1 || p.Lost[0].Element != "bogie-1-cylinders" {
		t.Errorf("one bogie: %+v", p)
	}
	if l := p.OfUnit.Force(); l < 0.49 || l > 0.52 {
		t.Errorf("one of two equal bogies takes %g of the thrust", l)
	}
	p = priced(t, "Tern 3 alone", 0, cock("bogie-1-cock"), cock("bogie-2-cock"))
	if p.OfUnit.With != 0 || p.OfUnit.Cylinders() != 1 {
		t.Errorf("both bogies: %+v", p)
	}
	p = priced(t, "Tern 3 alone", 0, cock("horn-cock"))
	if p.OfUnit.With != 8 || len(p.Lost) != 0 || p.OfUnit.Force() > 0.001 {
		t.Errorf("horn cock: %+v", p)
	}
	// in a train: the unit's share and the train's
	p = priced(t, "Tern 3 lead, HX 255-257 loaded", 3, cock("isolating-cock"))
	if p.OfUnit.Without != 1 || p.OfUnit.With != 0 || p.OfTrain.Without != 11 || p.OfTrain.With != 10 {
		t.Errorf("wagon: unit %+v, train %+v", p.OfUnit, p.OfTrain)
	}
}

// Fitness is asked for every unit of a fleet while a page is waited for.
func BenchmarkFitness(b *testing.B) {
	f, r := demoRailway(b)
	c, _ := f.Class("Brant")
	u, _ := f.Unit("Brant", 4)
	more := []fleet.Defect{{Device: "speedometer", Kind: "failed", Date: "2026-11-20"}, {Device: "sand-boxes", Kind: "empty", Date: "2026-11-20"}, {Device: "bogie-1-cock", Kind: "isolated", Date: "2026-11-21"}}
	b.ReportAllocs()
	for b.Loop() {
		prepare.Fitness(c, u, more, nil, r, "2026-11-25")
	}
}
