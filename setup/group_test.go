package setup

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fault"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

func based(t testing.TB, text string) *Base {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	for _, c := range cs {
		t.Fatal(c)
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	b, err := NewBase(c, rule.Standard(), trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func begun(t *testing.T, b *Base) *search {
	t.Helper()
	s := &search{b: b, c: b.c, found: &Found{base: b}, index: map[string]int{}}
	s.settings()
	if err := s.pairs(context.Background()); err != nil {
		t.Fatal(err)
	}
	return s
}

// still is a finding without the rounding of the atmosphere's own pressure, some 1e-11 Pa,
// in places that no air reaches: no reading shows it.
func still(f prove.Finding) prove.Finding {
	f.Reasons = slices.Clone(f.Reasons)
	for k := range f.Reasons {
		if v := f.Reasons[k].Value; v < 1e-9 && v > -1e-9 {
			f.Reasons[k].Value = 0
		}
	}
	return f
}

// Two hundred members of groups, drawn with a seed, are run by themselves: every reading is
// that of the member that stands for the group, to the last bit, and so is every finding
// that rests on runs. Members that stand for themselves prove nothing and are not drawn.
func TestMembersRunSingly(t *testing.T) {
	b := based(t, "Scoter 1 lead, HX")
	s := begun(t, b)
	type member struct {
		group string
		ch    []consist.Change
	}
	var all []member
	reps := map[string][]consist.Change{"": nil}
	for i, x := range s.set {
		if _, ok := reps[s.group[i]]; !ok {
			reps[s.group[i]] = []consist.Change{x.Change}
			continue
		}
		all = append(all, member{s.group[i], []consist.Change{x.Change}})
	}
	for _, p := range s.pairOf {
		ch := []consist.Change{s.set[p.a].Change, s.set[p.b].Change}
		if _, ok := reps[p.name]; !ok {
			reps[p.name] = ch
			continue
		}
		// a pair with a device that has a part in nothing is a single by another name
		if len(s.red.Touches(b.c, ch[0].Vehicle, ch[0].Device)) == 0 || len(s.red.Touches(b.c, ch[1].Vehicle, ch[1].Device)) == 0 {
			continue
		}
		all = append(all, member{p.name, ch})
	}
	if len(all) < 200 {
		t.Fatalf("only %d members that do not stand for their group", len(all))
	}
	r := rand.New(rand.NewPCG(1, 2))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	ran := map[string]*prove.Proof{}
	prove1 := func(ch []consist.Change) *prove.Proof {
		p, err := b.held.Set(ch...)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	groups := map[string]bool{}
	for _, m := range all[:200] {
		want, ok := ran[m.group]
		if !ok {
			want = prove1(reps[m.group])
			ran[m.group] = want
		}
		got := prove1(m.ch)
		groups[m.group] = true
		if !bytes.Equal(pack(got.Test.Readings), pack(want.Test.Readings)) {
			t.Errorf("%+v reads otherwise than %q, which stands for it", m.ch, m.group)
		}
		for k, f := range got.Findings {
			g := want.Findings[k]
			x, _ := json.Marshal(still(f))
			y, _ := json.Marshal(still(g))
			if !prove.Standing(f.Requirement) && !bytes.Equal(x, y) {
				t.Errorf("%+v: %s; %q, which stands for it: %s", m.ch, x, m.group, y)
			}
		}
	}
	t.Logf("200 of %d members, of %d groups", len(all), len(groups))
}

// What is counted is counted again, otherwise: settings and pairs from the records by
// arithmetic, groups by working out the whole network of every pair.
func TestCountsAgain(t *testing.T) {
	b := based(t, "Scoter 1 lead, HX")
	s := begun(t, b)
	settings, squares := 0, 0
	for _, v := range b.c.Vehicles {
		for _, d := range v.Class.Devices {
			if how, _ := v.Unit.Fitted(d); how == "yes" && v.Unit.Carries(v.Class, d) && len(d.Positions) > 0 {
				at, _ := b.c.Position(slices.Index(b.c.Vehicles, v), d.ID)
				n := len(d.Positions)
				if _, ok := d.Position(at); ok {
					n--
				}
				settings += n
				squares += n * n
			}
		}
	}
	if len(s.set) != settings || len(s.pairOf) != (settings*settings-squares)/2 {
		t.Errorf("%d settings and %d pairs; by arithmetic %d and %d", len(s.set), len(s.pairOf), settings, (settings*settings-squares)/2)
	}
	// groups by the long way
	name := map[string]string{} // network → group
	network := func(ch ...consist.Change) string {
		c, err := b.c.With(ch...)
		if err != nil {
			t.Fatal(err)
		}
		atoms := s.red.Atoms(c)
		for k, on := range s.red.Counts(atoms) {
			if !on {
				atoms[k] = "-"
			}
		}
		return strings.Join(atoms, "\x00|")
	}
	check := func(group string, ch ...consist.Change) {
		net := network(ch...)
		if was, ok := name[net]; ok && was != group {
			t.Errorf("%+v is in group %q, its network in %q", ch, group, was)
		}
		name[net] = group
	}
	check("")
	for i, x := range s.set {
		check(s.group[i], x.Change)
	}
	for k, p := range s.pairOf {
		if k%7 == 0 || len(s.delta[p.a]) > 0 && len(s.delta[p.b]) > 0 {
			check(p.name, s.set[p.a].Change, s.set[p.b].Change)
		}
	}
	groups := map[string]bool{}
	for _, g := range name {
		groups[g] = true
	}
	if len(groups) != len(name) || len(name) != len(s.keys) {
		t.Errorf("%d networks, %d groups of them, %d found", len(name), len(groups), len(s.keys))
	}
	t.Logf("%d settings, %d pairs, %d groups of singles, %d more of pairs", len(s.set), len(s.pairOf), s.single, len(s.order))
}

// Failures are counted from the records by hand: for each kind how many modes it has.
func TestFailuresCounted(t *testing.T) {
	b := based(t, "Scoter 1 lead, HX")
	modes := map[string]int{"volume": 1, "pipe": 2, "cylinder": 2, "check": 2, "double-check": 3, "regulator": 3, "relay": 3, "pilot": 2, "release-valve": 2, "vent-valve": 3, "latch": 2,
		"direct-distributor": 5, "graduated-distributor": 5, "compressor": 2, "safety-valve": 2, "retainer": 2, "leak": 0, "passage": 1}
	want := 0
	for i, v := range b.c.Vehicles {
		named := map[string]bool{}
		for _, e := range v.Class.Air {
			if slices.Contains(v.Unit.Without, e.ID) || e.OnlyWith != "" && !v.Unit.Has(v.Class, e.OnlyWith) || e.OnlyWithout != "" && v.Unit.Has(v.Class, e.OnlyWithout) {
				continue
			}
			n, ok := modes[e.Kind]
			if !ok {
				t.Errorf("no modes of a %s", e.Kind)
			}
			want += n
			for _, a := range e.Args {
				if e.Kind == "passage" && (a.Name == "when" || a.Name == "unless") {
					want++ // it can leak by
				}
			}
			for _, id := range e.Devices() {
				named[id] = true
			}
		}
		for end, e := range v.Class.Ends {
			for _, p := range e.Pipes {
				if ok, _ := b.c.Carries(i, p.Pipe, end+1); ok {
					want += 3
					named[p.Cock] = true
				}
			}
		}
		for _, d := range v.Class.Devices {
			if how, _ := v.Unit.Fitted(d); named[d.ID] && how == "yes" && v.Unit.Carries(v.Class, d) && (len(d.Positions) > 1 || d.Range != nil) {
				want++
			}
		}
	}
	fs := fault.Failures(b.c)
	if len(fs) != want {
		t.Errorf("%d failures, counted by hand %d", len(fs), want)
	}
	seen := map[string]bool{}
	for _, f := range fs {
		if seen[f.Key] {
			t.Errorf("%q twice", f.Key)
		}
		seen[f.Key] = true
	}
}

// A failure that is said to make no other network is run, and breaks and shows nothing.
func TestFailuresThatDoNotCount(t *testing.T) {
	b := based(t, "Scoter 1 lead, HX")
	s := begun(t, b)
	reached, err := b.held.Reached(fault.Charged)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range fault.Failures(b.c) {
		counts, err := s.red.Fails(b.c, f.Failure, reached)
		if err != nil {
			t.Fatal(err)
		}
		if counts {
			continue
		}
		if n++; n%4 != 0 { // a quarter of them; each is a proof
			continue
		}
		p, err := b.held.Failed(f.Step, f.Failure)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range worse(b.proof, p) {
			t.Errorf("%s: %s is %s", f.Key, x.Requirement, x.Status)
		}
		if ss := differ(b.c, b.proof.Test, p.Test, ""); len(ss) > 0 {
			t.Errorf("%s: %s of %s shows it at %s", f.Key, ss[0].Device, ss[0].Unit, ss[0].Step)
		}
	}
	if n < 8 {
		t.Errorf("only %d failures make no other network", n)
	}
}

// all is everything that a search found, with every reading, as text.
func all(t *testing.T, f *Found) string {
	t.Helper()
	f.Counts.Kept = 0
	text, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	p, err := json.Marshal(f.Positions())
	if err != nil {
		t.Fatal(err)
	}
	out := string(text) + string(p)
	for _, m := range f.Members {
		for _, o := range m.Outcomes {
			out += string(pack(o.Readings()))
		}
	}
	for _, g := range f.PairGroups {
		out += g.First.Key + string(pack(g.Outcome().Readings()))
	}
	return out
}

// The answer does not hang on how many work at it, nor on having been cut off: a search
// that goes on from what one left, whose last line was torn, runs none of it again and
// gives the same.
func TestSearchTheSame(t *testing.T) {
	b := based(t, "Scoter 1 alone")
	opt := Options{Failures: true, Pairs: true, Workers: 1}
	f, err := b.Search(context.Background(), opt)
	if err != nil {
		t.Fatal(err)
	}
	one := all(t, f)
	opt.Workers = 2
	var kept bytes.Buffer
	ctx, cut := context.WithCancel(context.Background())
	opt.After = &kept
	opt.Progress = func(done, of int) {
		if done == of/2 {
			cut()
		}
	}
	if _, err := b.Search(ctx, opt); !errors.Is(err, context.Canceled) {
		t.Fatalf("a search that was cut off ends by %v", err)
	}
	whole := bytes.Clone(kept.Bytes())
	torn := whole[:len(whole)-40]
	before := bytes.Count(torn, []byte("\n")) - 1
	kept.Reset()
	opt.Before, opt.Progress = bytes.NewReader(torn), nil
	fresh := map[string]bool{}
	opt.Ran = func(key, when string) { fresh[key+when] = true }
	f, err = b.Search(context.Background(), opt)
	if err != nil {
		t.Fatal(err)
	}
	if f.Counts.Kept != before || len(fresh) != f.Counts.Proofs-before || before < 10 {
		t.Errorf("%d proofs of %d kept, %d run; %d lines were there", f.Counts.Kept, f.Counts.Proofs, len(fresh), before)
	}
	if two := all(t, f); two != one {
		t.Error("two at work, cut off and gone on, find something else than one that was not")
	}
	// results of another search are refused
	other := based(t, "Scoter 2 alone")
	opt.Before = bytes.NewReader(whole)
	if _, err := other.Search(context.Background(), opt); err == nil {
		t.Error("the results of another consist are taken")
	}
	opt.Before = strings.NewReader("step,unit,device,value\n")
	if _, err := b.Search(context.Background(), opt); err == nil {
		t.Error("a file of another kind is taken")
	}
}

// What a search must find on a pair, from the hazards of the trade (rules-of-the-trade
// section 4, common practice) and the scenario: the set-up is not run whole here, only the
// settings named.
func TestSearchFinds(t *testing.T) {
	if testing.Short() {
		t.Skip("runs every wrong setting of a wagon behind a locomotive")
	}
	f, err := based(t, "Scoter 1 lead, HX").Search(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []struct {
		key    string
		grade  Grade
		breaks string
	}{
		{"HX 201.brake-pipe-cock-1=closed", Train, "brake-pipe-continuous"}, // the most dangerous case
		{"HX 201.isolating-cock=closed", Unit, "automatic"},                 // that vehicle unbraked
		{"HX 201.brake-pipe-cock-2=open", Unit, "nothing-open"},             // will not charge; moved since, the brakes come on and stay
		{"HX 201.brake-pipe-hose-2=hanging", NoHarm, ""},                    // behind its shut cock
	} {
		k := slices.IndexFunc(f.Members, func(m Member) bool { return m.Key == w.key })
		if k < 0 {
			t.Errorf("no %s", w.key)
			continue
		}
		m := f.Members[k]
		broken := slices.ContainsFunc(m.Outcomes, func(o Outcome) bool {
			return slices.ContainsFunc(o.Worse, func(x prove.Finding) bool { return x.Requirement == w.breaks })
		})
		if m.Grade != w.grade && !(w.grade == Unit && m.Grade == Train) || w.breaks != "" && !broken || m.Free != (w.grade == NoHarm) {
			t.Errorf("%s: %s, free %v; want %s and %q", w.key, m.Danger, m.Free, w.grade, w.breaks)
		}
		if w.breaks != "" {
			b := f.Breaks[slices.IndexFunc(f.Breaks, func(b Breaks) bool { return b.Requirement == w.breaks })]
			if !slices.Contains(b.Settings, w.key) {
				t.Errorf("%s is not among what breaks %s", w.key, w.breaks)
			}
		}
	}
	if worst := f.Worst(); len(worst) == 0 || worst[0].Grade != Train {
		t.Error("the worst does not stand first")
	}
}
