package fleet

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/demo"
	"headstock/quantity"
)

// A small railway that can be read without a complaint.
const plover = `class: Plover
kind: locomotive
title: a small one
source: invented
revision: {state: issued, by: A. Person, checked by: B. Person, date: 2026-01-10}
identity: {wheel arrangement: Bo-Bo, length: 12 m, mass: 50 t by drawing-7}
cabs: 1
multiple: yes
ends:
  1:
    coupler: {kind: knuckle, height: 790 mm}
    pipes:
      brake-pipe: {head: claw, hose: hose-1, cock: cock-1, side: right}
      fourth-pipe: {head: claw, hose: hose-1, cock: cock-1, optional: yes}
  2:
    coupler: {kind: knuckle, height: 790 mm}
places:
  desk: {name: driver's desk, x: 3.1 m, side: left, level: cab}
  ground: {name: left side, x: 0 m, side: left, level: ground}
ways: [{between: [desk, ground], takes: 10 s, cautions: [climb]}]
devices:
  handle:
    function: automatic-handle
    name: Automatic brake handle
    also called: [train brake]
    kind: handle
    cab: 1
    place: desk
    positions:
      release: {looks: handle hard left, against its stop, sets: 0 kPa}
      full: {looks: last notch, sets: 150 kPa}
    range: 0 kPa .. 150 kPa
    normal: 70 kPa
    graduated: 10 kPa
    limits: {lowest: 10 mm, look: half glass}
    who: {look: anyone, work: driver}
  adjuster:
    function: feed-adjuster
    name: Feed screw
    kind: adjuster
    place: desk
    positions: {set: {looks: lock nut tight, sets: 500 kPa}}
    normal: set
  hose-1:
    function: brake-pipe-hose
    name: Brake pipe hose
    kind: hose
    place: ground
    positions: {coupled: heads locked, on dummy: head on its bracket}
    normal: on dummy
  cock-1:
    function: brake-pipe-end-cock
    name: Brake pipe end cock
    kind: cock
    place: ground
    source: drawing-9
    positions: {open: {looks: in line}, closed: {looks: across}, half: {looks: aslant, means: open, part: 50 %}}
    normal: closed
  needle:
    function: brake-pipe-gauge
    name: Brake pipe gauge
    kind: gauge
    place: desk
    reads: brake-pipe
  extra:
    function: fourth-pipe-isolating-cock
    name: Fourth pipe cock
    kind: cock
    place: ground
    only with: fourth-pipe
    positions: {open: in line, closed: across}
    normal: open
air:
  reservoir: {volume: {volume: 400 L ± 5 L by drawing-114, rated: 1000 kPa}}
  equalising: {volume: {volume: 3.6 L}}
  brake-pipe: {pipe: {bore: 32 mm, length: 12 m}}
  fourth-pipe: {pipe: {bore: 10 mm, length: 12 m}, only with: fourth-pipe}
  regulator: {regulator: {supply: reservoir, output: equalising, set by: [adjuster, -handle], supply bore: 3 mm}}
  way: {passage: {from: equalising, to: brake-pipe, bore: 10 mm, when: [{cock-1: open, watch: normal}, {cock-1: [half, closed]}], vents: to}}
  watch: {pilot: {watches: brake-pipe, trips below: 180 kPa, resets above: 250 kPa}}
roles:
  lead: {at cab: {automatic-handle: release}, cock-1: open}
  trail, copy lead: {handle: 35 kPa}
  hauled dead: {pipes: [brake-pipe]}
  stabled:
makes: {lead: command, "lead, copied": copy}
checks: [{id: glass, what: glass, how: look, when: cold, limit: half, what then: fill, device: needle}]
missing: [{what: choke, needed for: timing}]
`

const ploverUnits = `source: measured
units:
  Plover:
    1..3: {modifications: [new seat]}
    3:
      note: odd one
      with: [fourth-pipe]
      modifications: [fourth pipe]
      state: [{device: needle, property: fitted, value: out of use, date: 2026-03-01, reason: glass broken}]
      measured: [{element: reservoir, argument: volume, value: 390 L ± 4 L, date: 2026-03-01, reason: filled with water}]
      defects: [{device: needle, text: broken glass, date: 2026-03-01}]
    7: {without: [extra]}
`

func small(t testing.TB) *Fleet {
	f, complaints := Read(fstest.MapFS{
		"railway.yaml":        {Data: []byte("name: Test line\n")},
		"units.yaml":          {Data: []byte(ploverUnits)},
		"classes/plover.yaml": {Data: []byte(plover)},
	})
	for _, c := range complaints {
		t.Error(c)
	}
	return f
}

func TestRead(t *testing.T) {
	f := small(t)
	c, ok := f.Class("PLOVER")
	if !ok || f.Railway != "Test line" {
		t.Fatal("no class")
	}
	if c.Length != 12 || c.Mass != 50e3 || c.Loaded != 0 || c.Identity[2].Figure.By != "drawing-7" || c.Identity[1].Figure.By != "invented" {
		t.Errorf("%+v", c.Identity)
	}
	if c.Ends[0].Coupler != "knuckle" || c.Ends[0].Height != 0.79 || c.Ends[0].Pipes[0].Node != "brake-pipe" || !c.Ends[0].Pipes[1].Optional {
		t.Errorf("%+v", c.Ends)
	}
	d, _ := c.Device("handle")
	if p, _ := d.Position("release"); p.Looks != "handle hard left, against its stop" || p.Sets.SI != 0 || d.Range.High != 150e3 || d.System != "brake" {
		t.Errorf("%+v", d)
	}
	if d.Limits[0].Figure == nil || d.Limits[1].Figure != nil || d.Limits[1].Text != "half glass" {
		t.Errorf("%+v", d.Limits)
	}
	cock, _ := c.Device("cock-1")
	if p, _ := cock.Position("half"); p.Part != 0.5 || p.Means != "open" || cock.Source != "drawing-9" {
		t.Errorf("%+v", cock)
	}
	e, _ := c.Element("way")
	a, _ := e.Arg("when")
	if len(a.When) != 2 || len(a.When[0]) != 2 || len(a.When[1][0].In) != 2 {
		t.Errorf("%+v", a.When)
	}
	r, _ := c.Element("reservoir")
	v, _ := r.Arg("volume")
	if v.Figure.By != "drawing-114" || v.Figure.Kind != quantity.Volume || v.Figure.Spread != 0.005 {
		t.Errorf("%+v", v.Figure)
	}
	if len(c.Roles) != 4 || c.Roles[1].Variant != "copy lead" || c.Roles[0].ThisCab[0].Position != "release" || c.Makes[1].Third != "copy" || c.Checks[0].Then != "fill" || len(c.Hash) != 64 {
		t.Errorf("%+v %+v", c.Roles, c.Makes)
	}
}

func TestUnits(t *testing.T) {
	f := small(t)
	c, _ := f.Class("Plover")
	var numbers []string
	for _, u := range f.Units {
		numbers = append(numbers, u.Name())
	}
	if got := strings.Join(numbers, ", "); got != "Plover 1, Plover 2, Plover 3, Plover 7" {
		t.Error(got)
	}
	u, _ := f.Unit("plover", 3)
	if len(u.Modifications) != 2 || u.State[0].Value != "out of use" || u.Measured[0].Figure.By != "measured" || u.Measured[0].Figure.SI != 0.39 || u.Note != "odd one" {
		t.Errorf("%+v", u)
	}
	one, _ := f.Unit("Plover", 1)
	seven, _ := f.Unit("Plover", 7)
	for _, k := range []struct {
		u       *Unit
		feature string
		want    bool
	}{
		{one, "brake-pipe", true}, {one, "fourth-pipe", false}, {u, "fourth-pipe", true}, {one, "extra", false}, {u, "extra", true},
		{seven, "extra", false}, {one, "handle", true}, {one, "reservoir", true}, {one, "nothing", false}, {one, "", false},
	} {
		if got := k.u.Has(c, k.feature); got != k.want {
			t.Errorf("%s has %q: %v", k.u.Name(), k.feature, got)
		}
	}
}

func TestFind(t *testing.T) {
	f := small(t)
	for query, want := range map[string]string{
		"train brake": "handle", "automatic-handle": "handle", "Plover train brake": "handle", "feed": "adjuster", "brake pipe gauge": "needle", "zebra": "", "": "",
	} {
		got := ""
		if found := f.Find(query); len(found) > 0 && found[0].Device != nil {
			got = found[0].Device.ID
		}
		if got != want {
			t.Errorf("%q finds %q, want %q", query, got, want)
		}
	}
	if found := f.Find("plover 3"); len(found) != 1 || found[0].Unit == nil || found[0].Unit.Number != 3 {
		t.Errorf("%+v", found)
	}
	if found := f.Find("left side"); len(found) == 0 {
		t.Error("no place")
	}
}

func TestLevel(t *testing.T) {
	f := small(t)
	c, _ := f.Class("Plover")
	level, lacks := c.Level()
	if level != 4 || fmt.Sprint(lacks) != "[identity: tractive effort]" {
		t.Errorf("%d %v", level, lacks)
	}
	if level, lacks := (&Class{}).Level(); level != 0 || len(lacks) == 0 {
		t.Errorf("%d %v", level, lacks)
	}
}

func TestCompare(t *testing.T) {
	f := small(t)
	c, _ := f.Class("Plover")
	if ds := Compare(c, c); len(ds) != 0 {
		t.Errorf("a class differs from itself: %+v", ds)
	}
	other := strings.NewReplacer("class: Plover", "class: Dunlin", "looks: in line", "looks: across the pipe", "{looks: across}", "{looks: in line}", "name: driver's desk", "name: rear wall", "sets: 150 kPa", "sets: 160 kPa",
		"function: fourth-pipe-isolating-cock", "function: horn-cock").Replace(plover)
	g, _ := Read(fstest.MapFS{"classes/dunlin.yaml": {Data: []byte(other)}, "railway.yaml": {Data: []byte("name: x")}, "units.yaml": {Data: []byte("units: {}")}})
	o, _ := g.Class("Dunlin")
	var got []string
	for _, d := range Compare(c, o) {
		got = append(got, d.Function+": "+d.Reason.String()+": "+d.What)
	}
	for _, want := range []string{"brake-pipe-end-cock: sense: how \"open\" looks", "automatic-handle: place: where", "automatic-handle: value: what \"full\" sets", "fourth-pipe-isolating-cock: only one: only one class has it", "horn-cock: only one: only one class has it"} {
		if !strings.Contains(strings.Join(got, "\n"), want) {
			t.Errorf("no %q in\n%s", want, strings.Join(got, "\n"))
		}
	}
}

// No class of the demo differs from itself, although one look of it may stand for two
// positions.
func TestDemoClassesEqualThemselves(t *testing.T) {
	f, complaints := Read(demo.Railway())
	for _, c := range complaints {
		t.Error(c)
	}
	if len(f.Classes) < 5 {
		t.Fatalf("only %d classes", len(f.Classes))
	}
	for _, c := range f.Classes {
		for _, d := range Compare(c, c) {
			t.Errorf("%s differs from itself: %+v", c.Name, d)
		}
	}
}

// One look may mean several things on one device: between two classes it is compared by
// all that it can mean.
func TestCompareOneLookOfTwoPositions(t *testing.T) {
	device := func(positions ...Position) *Class {
		return &Class{Devices: []*Device{{ID: "v", Function: "vigilance-device", Name: "button", Positions: positions}}}
	}
	up := func(id, means string) Position {
		return Position{ID: id, Looks: "button up, " + id, Means: means}
	}
	two := device(up("quiet", "answered"), up("calls", "asking"), Position{ID: "in", Looks: "button pressed in", Means: "answering"})
	turned := device(up("calls", "asking"), up("quiet", "answered"), Position{ID: "in", Looks: "button pressed in", Means: "answering"})
	one := device(up("rest", "asking"), Position{ID: "in", Looks: "button pressed in", Means: "answering"})
	if ds := Compare(two, turned); len(ds) > 0 {
		t.Errorf("%+v", ds)
	}
	want := Difference{Function: "vigilance-device", What: "what it means when the button up is seen", A: "answered, asking", B: "asking", Reason: MeansOther}
	if ds := Compare(two, one); len(ds) == 0 || ds[0] != want {
		t.Errorf("got %+v, want %+v first", ds, want)
	}
	// two positions of one meaning that look the contrary of each other
	spare := device(Position{ID: "off", Looks: "lever left", Means: "off"}, Position{ID: "also-off", Looks: "lever right", Means: "off"})
	if ds := Compare(spare, spare); len(ds) > 0 {
		t.Errorf("%+v", ds)
	}
	other := device(Position{ID: "off", Looks: "lever right", Means: "off"}, Position{ID: "also-off", Looks: "lever right", Means: "off"})
	if ds := Compare(spare, other); len(ds) != 1 || ds[0].Reason != SenseOther {
		t.Errorf("%+v", ds)
	}
}

func TestNamed(t *testing.T) {
	f := small(t)
	c, _ := f.Class("Plover")
	c.Devices = append(c.Devices, &Device{ID: "second", Function: "horn", Name: "Horn", AlsoCalled: []string{"train brake"}})
	for word, want := range map[string]string{
		"handle": "handle", "automatic-handle": "handle", "Automatic brake handle": "handle", "automatic-brake handle": "handle",
		"TRAIN BRAKE": "handle second", "horn": "second", "zebra": "", "": "", "-": "",
	} {
		var got []string
		for _, d := range c.Named(word) {
			got = append(got, d.ID)
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%q names %q, want %q", word, got, want)
		}
	}
}

func TestNearestQuestion(t *testing.T) {
	f := small(t)
	for _, c := range []struct{ query, class, want string }{
		{"brake pip gauge", "", "brake pipe gauge"}, {"tarin brake", "", "train brake"}, {"auto brake handle", "", "automatic brake handle"},
		{"zebra", "", ""}, {"", "", ""}, {"tarin brake", "plover", "train brake"}, {"tarin brake", "Dunlin", ""},
	} {
		if got := f.Nearest(c.query, c.class); got != c.want {
			t.Errorf("nearest to %q in %q is %q, want %q", c.query, c.class, got, c.want)
		}
	}
}

func TestCheckName(t *testing.T) {
	for name, good := range map[string]bool{
		"Curlew": true, "Curlew-2": true, "GV": true, "Ü4": true,
		"": false, " ": false, "4Curlew": false, "-Curlew": false, "a b": false, "a/b": false, "../a": false, `a\b`: false, "a.yaml": false, "a\n": false, "a,b": false,
	} {
		if err := CheckName(name); (err == nil) != good {
			t.Errorf("%q: %v", name, err)
		}
	}
}

func TestFolderWithoutAClass(t *testing.T) {
	_, complaints := Read(fstest.MapFS{"railway.yaml": {Data: []byte("name: x")}, "units.yaml": {Data: []byte("units: {Plover: {1: {}}}")}, "classes/notes.txt": {Data: []byte("x")}})
	if len(complaints) != 2 || complaints[0].Code != CodeFileMissing || !strings.Contains(complaints[0].Message, "no class record") {
		t.Errorf("%v", complaints)
	}
	for _, c := range complaints {
		if strings.HasSuffix(c.Expected, "of ") {
			t.Errorf("nothing is expected: %s", c)
		}
	}
}

func TestOppositeLooks(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"handle in line with the pipe", "handle across the pipe", true},
		{"lever straight up", "lever hanging down", true},
		{"button pushed in", "button standing out", true},
		{"handle in line", "handle in line with its pipe", false},
		{"from left to right", "hard left", false},
	} {
		if got := opposite(c.a, c.b); got != c.want {
			t.Errorf("%q and %q: %v", c.a, c.b, got)
		}
	}
}

func TestBlankReads(t *testing.T) {
	for _, name := range []string{"Curlew", "", "A: b\n# c", "Ü {x}"} {
		text := Blank(name)
		f, complaints := Read(fstest.MapFS{"classes/new.yaml": {Data: []byte(text)}, "railway.yaml": {Data: []byte("name: x")}, "units.yaml": {Data: []byte("units: {}")}})
		if len(complaints) > 0 || len(f.Classes) != 1 {
			t.Errorf("%q: %v", name, complaints)
		}
	}
}

func TestFunctionsAreWordsOfTheirOwn(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Functions() {
		if seen[f.Word] || f.Meaning == "" || strings.ContainsAny(f.Word, " _") {
			t.Errorf("%+v", f)
		}
		seen[f.Word] = true
		if s, ok := system(f.System); !ok || s != f.System {
			t.Errorf("%s: system %q", f.Word, f.System)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(plover), []byte(ploverUnits))
	f.Add([]byte("class: x\nair: {a: {pilot: }}\ndevices: {b: }\nroles: {lead: [x]}"), []byte("units: {x: {1..99999999: , 3..1: [a]}}"))
	f.Add([]byte("class: x\nends: {1: , 2: [a]}\nways: [{between: a}, b]\nplaces: {a: }"), []byte("units: [1]"))
	f.Fuzz(func(t *testing.T, class, units []byte) {
		fleet, complaints := Read(fstest.MapFS{
			"railway.yaml":     {Data: []byte("name: x\n")},
			"units.yaml":       {Data: units},
			"classes/one.yaml": {Data: class},
		})
		for _, c := range complaints {
			if _, ok := Explain(c.Code); !ok {
				t.Errorf("complaint without a code: %s", c)
			}
		}
		for _, c := range fleet.Classes {
			c.Level()
			if ds := Compare(c, c); len(ds) > 0 {
				t.Errorf("a class differs from itself: %+v", ds)
			}
		}
		fleet.Find("brake 3")
	})
}
