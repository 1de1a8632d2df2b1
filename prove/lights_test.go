package prove

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/rule"
	"headstock/trial"
)

func lightsOf(t *testing.T, f *fleet.Fleet, r *rule.Rules, text, set string) Finding {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	for one := range strings.SplitSeq(set, "; ") {
		if one == "" {
			continue
		}
		ch, err := c.ParseChange(one)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if c, err = c.With(ch); err != nil {
			t.Fatal(err)
		}
	}
	j := &judge{c: c, r: r, proof: &Proof{Consist: c}}
	j.lead, _ = c.Lead()
	j.lights()
	return j.proof.Findings[0]
}

func marram(t testing.TB) *fleet.Fleet {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	return f
}

// Each row is worked by hand from the looks of the positions ("white toward the reverser,
// dark behind", "red at both ends but where coupled") and from the rule: white before the
// first vehicle, red behind the last, nothing between.
func TestLights(t *testing.T) {
	f, r := marram(t), rule.Standard()
	for _, w := range []struct{ text, set, want string }{
		// the demo train, and a lone unit with both ends free
		{"Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV", "", ""},
		{"Tern 3 alone", "", ""},
		{"Tern 3 lead", "", ""},
		// a lone unit that shows what a lead with a train shows has nothing behind
		{"Tern 3 alone", "Tern 3.light-setting=leading", "Tern 3 2 rear dark/red"},
		// the reverser turned: white goes with it and so does the red
		{"Tern 3 alone", "Tern 3.reverser=reverse", "Tern 3 1 front red/white, Tern 3 2 rear white/red"},
		{"Tern 3 lead, Tern 4 trail", "Tern 3.reverser=reverse", "Tern 3 1 front dark/white, Tern 3 2 between white/dark"},
		// the reverser out: there is no ahead
		{"Tern 3 alone", "Tern 3.reverser=out", "Tern 3 1 front dark/white, Tern 3 2 rear dark/red"},
		// a one-cab unit turned runs the other way by its reverser
		{"Tern 3 alone reversed", "", ""},
		{"Tern 3 alone reversed", "Tern 3.reverser=forward", "Tern 3 2 front red/white, Tern 3 1 rear white/red"},
		// a lead set to stand alone shows red between it and its train
		{"Tern 3 lead, Tern 4 trail", "Tern 3.light-setting=alone", "Tern 3 2 between red/dark"},
		// a trailing unit left dark has no red behind; left leading with its reverser out the same
		{"Tern 3 lead, Tern 4 trail", "Tern 4.light-setting=between", "Tern 4 2 rear dark/red"},
		{"Tern 3 lead, Tern 4 trail", "Tern 4.light-setting=leading", "Tern 4 2 rear dark/red"},
		// red where not coupled: inside the train that is nowhere
		{"Tern 3 lead, Tern 4 trail, Kite 11 trail", "Tern 4.light-setting=tail", ""},
		{"Tern 3 lead, Tern 4 trail", "Tern 3.light-setting=tail", "Tern 3 1 front red/white"},
		// two drums that know nothing of each other
		{"Kite 11 lead, Kite 13 trail", "Kite 11.cab-2-light-setting=red", "Kite 11 2 between red/dark"},
		{"Kite 11 lead, Kite 13 trail", "Kite 13.cab-2-light-setting=dark", "Kite 13 2 rear dark/red"},
		{"Kite 11 lead, Kite 13 trail reversed", "Kite 13.cab-2-light-setting=white", "Kite 13 2 between white/dark"},
		{"Kite 12 lead cab 2", "", ""},
		// what feeds the lamps
		{"Tern 3 lead, 2 HX", "Tern 3.lighting-breaker=open", "Tern 3 1 front dark/white"},
		{"Tern 3 lead, 2 HX", "Tern 3.lighting-breaker=tripped", "Tern 3 1 front dark/white"},
		{"Kite 11 lead, 2 HX", "Kite 11.battery-switch=open", "Kite 11 1 front dark/white"},
		{"Brant 2 lead, 2 HX", "Brant 2.lighting-breaker=open", "Brant 2 1 front dark/white"},
		{"Scoter 1 lead, 2 HX", "Scoter 1.battery-switch=open", "Scoter 1 1 front dark/white"},
		// a unit with a dead battery carries a lamp by hand: the battery switch does nothing to it
		{"Tern 3 lead, Kite 11 hauled dead", "", ""},
		{"Tern 3 lead, Kite 11 hauled dead", "Kite 11.tail-lamp=stowed", "Kite 11 2 rear dark/red"},
		{"Tern 3 lead, Kite 11 hauled dead", "Kite 11.tail-lamp=stowed; Kite 11.cab-2-light-setting=red", "Kite 11 2 rear dark/red"},
		{"Tern 3 lead, Brant 2 hauled dead, Tern 4 hauled dead", "Brant 2.tail-lamp=hung", "Brant 2 2 between red/dark"},
		// a shunter's both lenses are for the yard
		{"Scoter 1 alone", "Scoter 1.yard-lights-1=shunting", "Scoter 1 1 front red and white/white"},
		// wagons: one lamp, on the last headstock whichever it is
		{"Tern 3 lead, 2 HX", "HX 202.tail-lamp-bracket-2=none", "HX 202 2 rear dark/red"},
		{"Tern 3 lead, HX 201, HX 202 reversed", "", ""},
		{"Tern 3 lead, HX 201, HX 202 reversed", "HX 202.tail-lamp-bracket-2=showing", "HX 202 2 between red/dark"},
		{"Tern 3 lead, 2 HX, GV", "HX 202.tail-lamp-bracket-2=showing", "HX 202 2 between red/dark"},
		{"Tern 3 lead, GV, 2 HX", "GV 1.side-lamps=showing", "GV 1 2 between red/dark"},
		// pushed: the first vehicle shows white all the same
		{"2 HX, Tern 3 lead", "", ""},
		{"2 HX, Tern 3 lead", "HX 201.tail-lamp-bracket-1=none", "HX 201 1 front dark/white"},
		{"2 HX, Tern 3 lead", "HX 201.tail-lamp-bracket-1=showing", "HX 201 1 front red/white"},
		{"Tern 4 trail, Tern 3 lead", "", ""},
		{"Tern 4 trail, Tern 3 lead", "Tern 3.light-setting=leading", "Tern 3 1 between white/dark, Tern 3 2 rear dark/red"},
		{"Tern 4 trail, Tern 3 lead, Tern 5 trail", "", ""},
	} {
		got := lightsOf(t, f, r, w.text, w.set)
		var list []string
		for _, x := range got.Reasons {
			list = append(list, fmt.Sprintf("%s %s %s %s/%s", x.Vehicle, strings.TrimPrefix(x.Element, "headstock "), x.At, x.Shows, x.Should))
			if len(x.Devices) == 0 || x.CrewSeesAt == "" {
				t.Errorf("%s, %s: says neither what to look at nor where: %+v", w.text, w.set, x)
			}
		}
		want := Met
		if w.want != "" {
			want = Broken
		}
		if strings.Join(list, ", ") != w.want || got.Status != want || !strings.Contains(got.Rule, "common practice") {
			t.Errorf("%s, %s:\n%v %s by %q\nwant %s", w.text, w.set, list, got.Status, got.Rule, w.want)
		}
	}
}

// What a dark end is owed to is named: the switch, or the breaker that kills it, or lamps
// that the unit's own entry says are out of use; one of two lamps shows enough.
func TestLightsSayWhy(t *testing.T) {
	f, r := marram(t), rule.Standard()
	has := func(r Reason, what string) bool {
		return strings.Contains(strings.Join(r.Devices, " ")+" "+r.Because, what)
	}
	if x := lightsOf(t, f, r, "Tern 3 lead, 2 HX", "Tern 3.lighting-breaker=open").Reasons[0]; !has(x, "lighting-breaker=open") {
		t.Errorf("%+v", x)
	}
	if x := lightsOf(t, f, r, "Tern 3 lead, 2 HX", "Tern 3.battery-switch=open").Reasons[0]; !has(x, "battery-switch=open") || has(x, "lighting-breaker") {
		t.Errorf("%+v", x)
	}
	if x := lightsOf(t, f, r, "Tern 3 lead, 2 HX", "Tern 3.light-setting=dark").Reasons[0]; x.Devices[0] != "light-setting=dark" {
		t.Errorf("the switch is looked at first: %+v", x)
	}
	k, _ := f.Unit("Kite", 15)
	out := func(device string) {
		k.State = append(k.State, fleet.Override{Device: device, Property: "fitted", Value: "out of use", Date: "2026-11-24", Reason: "no lamps in store"})
	}
	out("cab-2-headlight")
	if got := lightsOf(t, f, r, "Kite 15 lead reversed", ""); got.Status != Met {
		t.Errorf("its marker lamps show white: %+v", got)
	}
	out("cab-2-marker")
	if got := lightsOf(t, f, r, "Kite 15 lead reversed", ""); got.Status != Broken || !has(got.Reasons[0], "no lamps in store") {
		t.Errorf("neither headlight nor markers burn: %+v", got)
	}
}

// The claims of the demo records show what is asked wherever a unit stands: every two
// locomotives in both orders and both facings, in every role that they have, by themselves
// and with a wagon before, between and behind.
func TestLightsOfEveryClaim(t *testing.T) {
	f, r := marram(t), rule.Standard()
	units := []string{"Tern 3", "Kite 11", "Kite 14", "Brant 2", "Scoter 1"}
	others := []string{"Tern 4", "Kite 12", "Kite 13", "Brant 1", "Scoter 2"}
	roles := []string{"trail", "trail shut down", "hauled live", "hauled dead", "hauled dead all pipes", "assisting"}
	tried := 0
	try := func(text string) {
		c, err := consist.Parse(f, text)
		if err != nil {
			var unsaid *consist.CannotSay
			if !errors.As(err, &unsaid) && !strings.Contains(err.Error(), "cannot") {
				t.Errorf("%s: %v", text, err)
			}
			return
		}
		tried++
		j := &judge{c: c, r: r, proof: &Proof{Consist: c}}
		j.lights()
		if got := j.proof.Findings[0]; got.Status != Met {
			t.Errorf("%s: %s %+v", text, got.Status, got.Reasons)
		}
	}
	for _, a := range units {
		for _, turned := range []string{"", " reversed"} {
			driving := []string{"lead", "alone"}
			if a[0] == 'K' {
				driving = append(driving, "lead cab 2")
			}
			for _, role := range driving {
				try(a + " " + role + turned)
			}
			for _, b := range others {
				for _, facing := range []string{"", " reversed"} {
					for _, role := range roles {
						lead, second := a+" lead"+turned, b+" "+role+facing
						for _, order := range [][]string{{lead, second}, {second, lead}, {"HX 201", lead, second}, {second, lead, "FG 301 reversed"}, {second, "GV 1 reversed", lead}, {lead, second, "GV 1"}} {
							try(strings.Join(order, ", "))
						}
					}
				}
			}
		}
	}
	if t.Logf("%d consists", tried); tried < 1500 {
		t.Errorf("only %d consists tried", tried)
	}
}

const dunlin = `class: Dunlin
kind: locomotive
source: invented
cabs: 1
devices:
  headlight: {function: headlight, name: Headlight, kind: switch, end: 1, positions: {'off': {looks: up}, 'on': {looks: down}}, normal: 'off', driven by: supply}
  supply: {function: lighting-breaker, name: Supply, kind: switch, positions: {left: {looks: left}, right: {looks: right}, 'off': {looks: middle}}, normal: left}
roles: {lead: {headlight: 'on'}}
`

// A record that is silent on its lights leaves the requirement not examined and says what
// is missing; it never makes a set-up one of which nothing can be said, and never one that
// is right.
func TestLightsOfASilentRecord(t *testing.T) {
	r := rule.Standard()
	read := func(text string) *fleet.Fleet {
		f, cs := fleet.Read(fstest.MapFS{"railway.yaml": {Data: []byte("name: Mud\n")}, "units.yaml": {Data: []byte("units: {Dunlin: {1: {}, 2: {}}}\n")}, "classes/dunlin.yaml": {Data: []byte(text)}})
		for _, c := range cs {
			t.Fatal(c)
		}
		return f
	}
	lacks := func(f Finding) string {
		var out []string
		for _, x := range f.Reasons {
			out = append(out, x.Kind+": "+x.Element)
		}
		return strings.Join(out, "; ")
	}
	f := read(dunlin)
	if got := lightsOf(t, f, r, "Dunlin 1 lead", ""); got.Status != NotExamined || lacks(got) != "record lacks: what Headlight shows in each position" {
		t.Errorf("%+v", got)
	}
	said := strings.NewReplacer("{looks: up}", "{looks: up, shows: dark}", "{looks: down}", "{looks: down, shows: white}").Replace(dunlin)
	f = read(said)
	// white shows if "left" lets current through, which no word of the record tells; and no
	// light of it is at headstock 2
	got := lightsOf(t, f, r, "Dunlin 1 lead", "")
	if got.Status != Broken || got.Reasons[0].Element != "headstock 2" || got.Reasons[0].Shows != fleet.Dark {
		t.Errorf("%+v", got)
	}
	f = read(strings.Replace(strings.Replace(said, "shows: white", "shows: [white at the front, red at the rear]", 1), "end: 1, ", "", 1))
	if got := lightsOf(t, f, r, "Dunlin 1 lead", ""); got.Status != NotExamined || lacks(got) != "record lacks: whether supply=left lets current through" {
		t.Errorf("%+v", got)
	}
	if got := lightsOf(t, f, r, "Dunlin 1 lead", "Dunlin 1.supply=off"); got.Status != Broken || len(got.Reasons) != 2 {
		t.Errorf("%+v", got)
	}
	// no lights at all
	f = read("class: Dunlin\nkind: locomotive\nsource: invented\ncabs: 1\nroles: {lead: {}}\n")
	if got := lightsOf(t, f, r, "Dunlin 1 lead", ""); got.Status != NotExamined || lacks(got) != "record lacks: a light at headstock 1 and what it shows; record lacks: a light at headstock 2 and what it shows" {
		t.Errorf("%+v", got)
	}
}

// A railway whose trains show other colours says so, and is held to that.
func TestLightsByOwnRule(t *testing.T) {
	own, cs := rule.Read(fstest.MapFS{"rules.yaml": {Data: []byte("source: railway\nlights:\n  front: {shows: [white, red]}\n  rear: {shows: dark}\n")}})
	if len(cs) > 0 {
		t.Fatal(cs[0])
	}
	f := marram(t)
	got := lightsOf(t, f, own, "Tern 3 lead, Tern 4 trail", "")
	if got.Status != Broken || len(got.Reasons) != 1 || got.Reasons[0].Vehicle != "Tern 4" || got.Reasons[0].Should != "dark" {
		t.Errorf("red behind, where nothing is to show: %+v", got)
	}
	if got := lightsOf(t, f, own, "Tern 3 lead, Tern 4 trail", "Tern 4.light-setting=between; Tern 3.light-setting=tail"); got.Status != Met {
		t.Errorf("%+v", got)
	}
}

// Wrong lights do not work, whatever the brake does; and what is held against a proof says
// the same.
func TestLightsDecide(t *testing.T) {
	f, r := marram(t), rule.Standard()
	c, err := consist.Parse(f, "Tern 3 lead, 2 HX")
	if err != nil {
		t.Fatal(err)
	}
	h, err := Hold(c, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if v := h.Proof().Verdict; v != Works {
		t.Fatalf("as claimed it %s", v)
	}
	ch := consist.Change{Vehicle: 0, Device: "light-setting", Position: "dark"}
	with, err := c.With(ch)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Prove(with, r, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if p.Verdict != DoesNot {
		t.Errorf("a lead that shows nothing in front %s", p.Verdict)
	}
	for _, x := range p.Findings {
		if x.Status == Broken && x.Requirement != "lights" {
			t.Errorf("%s is broken by a light switch", x.Requirement)
		}
	}
	stand, err := h.Stand("lights", ch)
	if err != nil || stand.Status != Broken {
		t.Errorf("%+v %v", stand, err)
	}
	for device, want := range map[string]bool{"light-setting": true, "headlight-1": true, "lighting-breaker": true, "battery-switch": true, "reverser": true, "tail-lamp": true, "throttle": false, "control-breaker": false} {
		if h.Rests("lights", 0, device) != want {
			t.Errorf("lights rest on %s: %v", device, !want)
		}
	}
}
