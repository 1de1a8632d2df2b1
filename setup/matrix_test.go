package setup_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

func demoFleet(t *testing.T) (*fleet.Fleet, *rule.Rules) {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	r, more := rule.Read(demo.Railway())
	if cs = append(cs, more...); len(cs) > 0 {
		t.Fatal(cs[0])
	}
	return f, r
}

func newMatrix(t *testing.T, f *fleet.Fleet, r *rule.Rules, ask setup.MatrixAsk) *setup.Matrix {
	t.Helper()
	m, err := setup.NewMatrix(f, r, ask)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// stand is how a unit is, read off consists and not off its entry: where every device
// stands and how it is fitted, and what of its class it has.
func stand(t *testing.T, f *fleet.Fleet, u *fleet.Unit) string {
	t.Helper()
	text := u.Name() + " stabled"
	k, _ := f.Class(u.Class)
	if k.Kind != "locomotive" {
		text = u.Name()
	}
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	s := u.Class
	for _, d := range k.Devices {
		p, _ := c.Position(0, d.ID)
		how, _ := u.Fitted(d)
		s += fmt.Sprint(" ", p, how, u.Carries(k, d), c.Sets(0, d.ID))
	}
	for _, e := range k.Air {
		s += fmt.Sprint(" ", u.Has(k, e.ID))
	}
	for end := 1; end <= 2; end++ {
		for _, pe := range k.Ends[end-1].Pipes {
			ok, _ := c.Carries(0, pe.Pipe, end)
			s += fmt.Sprint(" ", ok)
		}
	}
	return s
}

// The counts, again, from single units: every two of them, each way round, in every role
// that consist takes for a unit by itself, each told apart by how the two units stand. And
// the trains: the same, seen from whichever end comes first in the alphabet.
func TestMatrixCountedFromUnits(t *testing.T) {
	f, r := demoFleet(t)
	roles := []string{"lead", "trail", "trail shut down", "hauled live", "hauled dead", "hauled dead all pipes", "assisting", "wagon", "empty", "loaded"}
	type option struct {
		unit                  string
		stand, role           string
		reversed, leads, near bool
	}
	var options []option
	perKind := map[string]int{}
	for _, u := range f.Units {
		s := stand(t, f, u)
		if perKind[s]++; perKind[s] > 2 {
			continue // a third of a kind adds nothing to pairs
		}
		k, _ := f.Class(u.Class)
		for _, role := range roles {
			said := role
			if role == "wagon" {
				said = ""
			}
			c, err := consist.Parse(f, strings.TrimSpace(u.Name()+" "+said))
			if err != nil || k.Kind != "locomotive" && (role == "wagon") != (k.Loaded == 0) || k.Kind == "locomotive" && c.Vehicles[0].Role == "wagon" {
				continue
			}
			for _, reversed := range []bool{false, true} {
				options = append(options, option{u.Name(), s, role, reversed, role == "lead", k.Cabs > 1 && (role == "lead" || role == "assisting")})
			}
		}
	}
	ways, trains := map[string]bool{}, map[string]bool{}
	for _, a := range options {
		for _, b := range options {
			if a.unit == b.unit || a.leads == b.leads {
				continue
			}
			side := func(o option, turned bool) string {
				cab := 0
				if o.near {
					cab = 1
					if o.reversed {
						cab = 2
					}
				}
				return fmt.Sprint(o.stand, "|", o.role, "|", o.reversed != turned, "|", cab)
			}
			ways[side(a, false)+"&"+side(b, false)] = true
			trains[min(side(a, false)+"&"+side(b, false), side(b, true)+"&"+side(a, true))] = true
		}
	}
	m := newMatrix(t, f, r, setup.MatrixAsk{Units: 2})
	if m.Ways != len(ways) || m.Jobs != len(trains) {
		t.Errorf("%d ways and %d consists; counted unit by unit %d and %d", m.Ways, m.Jobs, len(ways), len(trains))
	}
	all, jobs := m.All()
	if len(all) != m.Ways || len(jobs) != m.Jobs {
		t.Errorf("listed %d and %d, counted %d and %d", len(all), len(jobs), m.Ways, m.Jobs)
	}
	turned := 0
	for _, w := range all {
		if w.Turned {
			turned++
		}
	}
	if turned < m.Turned {
		t.Errorf("%d ways are listed as turned, %d counted", turned, m.Turned)
	}
}

// By hand. One kind of shunter, one cab, that leads or is hauled dead; one kind of van.
// Two units: the lead in front or behind (2), beside it a shunter or a van (2), each of
// the two either way round (4): 16; seen from both ends, half of them trains. Three: the
// lead in 3 places, the others 2 kinds each (4), 8 facings: 96, and again half, because a
// train that is the same from both ends would need a lead that is.
func TestMatrixCountedByHand(t *testing.T) {
	f, r := demoFleet(t)
	for units, want := range map[int][2]int{2: {16, 8}, 3: {96, 48}} {
		m := newMatrix(t, f, r, setup.MatrixAsk{Units: units, Classes: []string{"Scoter", "GV"}})
		if m.Ways != want[0] || m.Jobs != want[1] || m.Short != 0 {
			t.Errorf("%d units: %d ways, %d consists, %d short; want %v", units, m.Ways, m.Jobs, m.Short, want)
		}
	}
	// Kite: four kinds, three of them there once. In one role beside the lead, 2 orders, 4
	// facings: 16 pairs of kinds less 3 that would need a second; the lead's cab is another one
	// seen from the other end, so every way is a train of its own.
	m := newMatrix(t, f, r, setup.MatrixAsk{Units: 2, Classes: []string{"Kite"}, Roles: []string{"hauled dead"}})
	if m.Ways != 13*8 || m.Jobs != 13*8 || m.Short != 3*8 {
		t.Errorf("%d ways, %d consists, %d short; want 104, 104, 24", m.Ways, m.Jobs, m.Short)
	}
	for _, units := range []int{0, 1, 4} {
		if _, err := setup.NewMatrix(f, r, setup.MatrixAsk{Units: units}); err == nil {
			t.Errorf("a matrix of %d units is counted", units)
		}
	}
}

// every asks for every n-th of a list.
func every[T any](list []T, n, first int) []T {
	var out []T
	for k := first; k < len(list); k += n {
		out = append(out, list[k])
	}
	return out
}

// A way that is another one seen from its other end ends the same when it is run as it
// stands: so many of the demo's, each run by itself.
func TestMatrixTurnedIsTheSame(t *testing.T) {
	f, r := demoFleet(t)
	ways, jobs := newMatrix(t, f, r, setup.MatrixAsk{Units: 2}).All()
	turned := slices.DeleteFunc(ways, func(w setup.Way) bool { return !w.Turned })
	for _, w := range every(turned, 131, 5) {
		as := setup.Do(f, r, jobs[w.Job], trial.Conditions{})
		self := setup.Do(f, r, setup.MatrixJob{Consist: w.Consist}, trial.Conditions{})
		if a, b := outline(as), outline(self); a != b {
			t.Errorf("%s: %s\nseen from its other end, %s: %s", w.Consist, b, jobs[w.Job].Consist, a)
		}
	}
}

// outline is a result without figures, and in no order of vehicles.
func outline(res setup.MatrixResult) string {
	var parts []string
	for _, f := range res.Why {
		for _, x := range f.Reasons {
			parts = append(parts, f.Requirement+" "+x.Kind+" "+x.Vehicle)
		}
	}
	slices.Sort(parts)
	return res.Outcome + " " + strings.Join(slices.Compact(parts), "; ")
}

// A unit that stands for others gives their answer: other members of its kind, run by
// themselves, end alike.
func TestMatrixMembersRunSingly(t *testing.T) {
	f, r := demoFleet(t)
	m := newMatrix(t, f, r, setup.MatrixAsk{Units: 2})
	_, jobs := m.All()
	for _, j := range every(jobs, 251, 11) {
		numbers := map[string]string{}
		other := j.Consist
		for i, k := 0, 0; i < len(j.For); i++ {
			last := j.For[i][len(j.For[i])-1-k] // from the other end of the list
			var name string
			for n := range j.Units {
				class, no, _ := strings.Cut(n, " ")
				if strings.Contains(strings.Split(strings.ReplaceAll(j.Consist, ", all", " all"), ", ")[i]+" ", class+" "+no+" ") {
					name = n
				}
			}
			class, _, _ := strings.Cut(name, " ")
			to := fmt.Sprintf("%s %d", class, last)
			if numbers[to] != "" { // two of one kind
				to = fmt.Sprintf("%s %d", class, j.For[i][0])
			}
			numbers[to] = name
		}
		for to, from := range numbers {
			other = strings.Replace(other, from+" ", "<"+to+"> ", 1)
			if strings.HasSuffix(other, from) {
				other = strings.TrimSuffix(other, from) + "<" + to + ">"
			}
		}
		other = strings.NewReplacer("<", "", ">", "").Replace(other)
		a, b := setup.Do(f, r, j, trial.Conditions{}), setup.Do(f, r, setup.MatrixJob{Consist: other}, trial.Conditions{})
		if a.Outcome != b.Outcome || len(a.Why) != len(b.Why) || a.Runs != b.Runs {
			t.Errorf("%s %s in %d runs; %s %s in %d: %q", j.Consist, a.Outcome, a.Runs, other, b.Outcome, b.Runs, b.Because)
		}
	}
}

// How many work side by side makes no difference, nor who is done first.
func TestMatrixWorkers(t *testing.T) {
	f, r := demoFleet(t)
	_, jobs := newMatrix(t, f, r, setup.MatrixAsk{Units: 2, Classes: []string{"Scoter", "Brant", "HX"}}).All()
	jobs = every(jobs, 11, 0)
	var first []byte
	for _, workers := range []int{1, 2, 7} {
		var b bytes.Buffer
		n, err := setup.Work(context.Background(), f, r, jobs, trial.Conditions{}, workers, func(k int, res setup.MatrixResult) error {
			line, err := json.Marshal(res)
			fmt.Fprintf(&b, "%d %s\n", k, line)
			return err
		})
		if err != nil || n != len(jobs) {
			t.Fatal(n, err)
		}
		if first == nil {
			first = b.Bytes()
		} else if !bytes.Equal(first, b.Bytes()) {
			t.Errorf("%d workers:\n%s\none:\n%s", workers, b.Bytes(), first)
		}
	}
}

// Cut off, what was handed over is a beginning without gaps; what refuses a result ends it.
func TestMatrixCutOff(t *testing.T) {
	f, r := demoFleet(t)
	_, jobs := newMatrix(t, f, r, setup.MatrixAsk{Units: 2, Classes: []string{"Scoter", "Brant"}}).All()
	ctx, stop := context.WithCancel(context.Background())
	var had []int
	n, err := setup.Work(ctx, f, r, jobs, trial.Conditions{}, 2, func(k int, _ setup.MatrixResult) error {
		if had = append(had, k); k == 3 {
			stop()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) || n >= len(jobs) || n < 4 || len(had) != n {
		t.Fatalf("%d of %d handed over, %v", n, len(jobs), err)
	}
	for k := range had {
		if had[k] != k {
			t.Errorf("handed over %v", had)
		}
	}
	full := errors.New("the disk is full")
	if n, err := setup.Work(context.Background(), f, r, jobs, trial.Conditions{}, 2, func(k int, _ setup.MatrixResult) error {
		if k == 2 {
			return full
		}
		return nil
	}); n != 2 || !errors.Is(err, full) {
		t.Errorf("%d, %v", n, err)
	}
}

// other reads a file of the demo railway with other words in it.
type other struct {
	fs.FS
	name, old, new string
}

func (o other) Open(name string) (fs.File, error) {
	if name != o.name {
		return o.FS.Open(name)
	}
	b, err := fs.ReadFile(o.FS, name)
	if err != nil {
		return nil, err
	}
	if !bytes.Contains(b, []byte(o.old)) {
		return nil, fmt.Errorf("%s does not hold %q", name, o.old)
	}
	return one{name, bytes.Replace(b, []byte(o.old), []byte(o.new), 1)}.Open(name)
}

// one is a file system of one file.
type one struct {
	name string
	data []byte
}

func (o one) Open(string) (fs.File, error) { return &opened{o, bytes.NewReader(o.data)}, nil }

type opened struct {
	one
	*bytes.Reader
}

func (o *opened) Close() error               { return nil }
func (o *opened) Stat() (fs.FileInfo, error) { return fs.Stat(demo.Railway(), o.name) }

// The sum of a job changes with what it rests on and with nothing else: remarks and
// signatures are not content, and a record touches the jobs of its class alone.
func TestMatrixSums(t *testing.T) {
	f, r := demoFleet(t)
	sums := func(f *fleet.Fleet, r *rule.Rules, program string) map[string]string {
		_, jobs := newMatrix(t, f, r, setup.MatrixAsk{Units: 2, Program: program}).All()
		out := map[string]string{}
		for _, j := range jobs {
			again, err := j.Again(f, r, program)
			if err != nil || again.Sum != j.Sum {
				t.Fatalf("%s: made again %s, %v; was %s", j.Consist, again.Sum, err, j.Sum)
			}
			out[j.Consist] = j.Sum
		}
		return out
	}
	was := sums(f, r, "one")
	for _, x := range []struct{ file, old, new, touches string }{
		{"classes/scoter/brake.yaml", "source: invented", "source: invented # seen", "nothing"},
		{"classes/scoter/brake.yaml", "handle pushed away against its stop", "handle pushed away", "Scoter"},
		{"units.yaml", "cylinder of bogie 2 leaks", "cylinder leaks", "nothing"},
		{"units.yaml", "device: bogie-2-cock", "device: bogie-1-cock", "Tern 6"},
	} {
		f, cs := fleet.Read(other{demo.Railway(), x.file, x.old, x.new})
		if len(cs) > 0 {
			t.Fatal(cs[0])
		}
		is := sums(f, r, "one")
		if len(is) != len(was) {
			t.Errorf("%s: %d jobs, were %d", x.new, len(is), len(was))
		}
		for c, s := range is {
			if touched := strings.Contains(c, x.touches+" "); (s != was[c]) != touched {
				t.Errorf("%s in %s: the sum of %s changes: %v", x.new, x.file, c, s != was[c])
			}
		}
	}
	for c, s := range sums(f, rule.Standard(), "two") {
		if s == was[c] {
			t.Errorf("%s: the same sum by another program", c)
		}
	}
	changed := *r
	changed.Limits = slices.Clone(r.Limits)
	changed.Limits[0].Low++
	for c, s := range sums(f, &changed, "one") {
		if s == was[c] {
			t.Errorf("%s: the same sum by other rules", c)
		}
	}
}

// Every outcome that is no verdict says why it was not run.
func TestMatrixNotRun(t *testing.T) {
	f, r := demoFleet(t)
	for text, want := range map[string][2]string{
		"Brant 1 lead, Kite 11 trail":      {setup.Uncoupled, "no control jumper"},
		"Tern 1 lead, Tern 2 stabled":      {setup.Uncoupled, "no pipe is common to Tern 1 and Tern 2"},
		"Kite 11 lead, Scoter 1 assisting": {prove.CannotBe, "positions of role"},
	} {
		res := setup.Do(f, r, setup.MatrixJob{Consist: text}, trial.Conditions{})
		if res.Outcome != want[0] || !strings.Contains(res.Because, want[1]) || res.Runs != 0 {
			t.Errorf("%s: %+v", text, res)
		}
	}
	for _, x := range []struct{ old, new, why string }{
		{"height: 770 mm", "height: 600 mm", "coupler height"},
		{"coupler: {kind: knuckle", "coupler: {kind: hook", "coupler"},
		{"head: broad claw", "head: narrow claw", "brake-pipe heads that do not fit"},
	} {
		f, cs := fleet.Read(other{demo.Railway(), "classes/scoter/class.yaml", x.old, x.new})
		if len(cs) > 0 {
			t.Fatal(cs)
		}
		res := setup.Do(f, r, setup.MatrixJob{Consist: "Tern 1 lead, Scoter 1 hauled dead"}, trial.Conditions{})
		if res.Outcome != setup.Uncoupled || !strings.Contains(res.Because, x.why) {
			t.Errorf("%s: %+v", x.new, res)
		}
	}
}

// The tallies count every way once, and their groups every way that does not work.
func TestMatrixTallies(t *testing.T) {
	f, r := demoFleet(t)
	m := newMatrix(t, f, r, setup.MatrixAsk{Units: 2, Classes: []string{"Tern", "Kite"}, Roles: []string{"trail"}})
	ways, jobs := m.All()
	ways = slices.DeleteFunc(ways, func(w setup.Way) bool { return w.Places[0].Class != "Tern" || !w.Places[0].Lead })
	asked := map[int]bool{}
	for _, w := range ways {
		asked[w.Job] = true
	}
	for k := range jobs {
		if !asked[k] {
			jobs[k].Consist = "" // not run: no way of this test asks for it
		}
	}
	results := make([]setup.MatrixResult, len(jobs))
	if _, err := setup.Work(context.Background(), f, r, jobs, trial.Conditions{}, 0, func(k int, res setup.MatrixResult) error {
		results[k] = res
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	for _, w := range ways {
		count[results[w.Job].Outcome]++
	}
	n, of := 0, map[string]int{}
	var kiteBehindTern setup.Tally
	for _, x := range m.Tallies(ways, results) {
		n += x.Ways
		grouped := 0
		for o, k := range x.Of {
			of[o] += k
		}
		for _, g := range x.Groups {
			grouped += g.Ways
			if len(g.Reasons) == 0 || g.Example == "" {
				t.Errorf("%v: a group without reason or example: %+v", x.Classes, g)
			}
		}
		if grouped != x.Ways-x.Of[prove.Works] {
			t.Errorf("%v: %d grouped of %d", x.Classes, grouped, x.Ways-x.Of[prove.Works])
		}
		if slices.Equal(x.Classes, []string{"Tern", "Kite"}) && x.Lead == 0 {
			kiteBehindTern = x
		}
	}
	if n != len(ways) || fmt.Sprint(of) != fmt.Sprint(count) {
		t.Errorf("%d ways %v; tallied %d %v", len(ways), count, n, of)
	}
	// A Kite behind a Tern takes the independent by command on its third pipe, and is let go
	// by the fourth where it has one: Kites 11 and 13 lose the quick release, 12 turned has no
	// third pipe at its front headstock either, 14 and 15 lose nothing (the scenario's table).
	// Terns of the two kinds, 4 facings: with Tern 6 nothing works.
	if x := kiteBehindTern; x.Ways != 2*4*4 || x.Of[prove.DoesNot] != 16 || x.Of[prove.WithLoss] != 3*4 || x.Of[prove.Works] != 4 {
		t.Errorf("a Kite behind a Tern: %+v", x)
	}
	for _, g := range kiteBehindTern.Groups {
		if g.Outcome == prove.DoesNot && (g.Ways != 16 || !slices.Equal(g.Among[0].Units, []int{6}) || !g.Whole) {
			t.Errorf("Tern 6 told otherwise than once: %+v", g)
		}
	}
}

// result is one that was kept.
func result(consist, sum, outcome string, units ...[]int) setup.MatrixResult {
	return setup.MatrixResult{Consist: consist, Sum: sum, Outcome: outcome, For: units}
}

// What is kept is taken while its sum holds; what is worse stays worse until it is
// accepted, over any number of readings; better becomes the new measure.
func TestKept(t *testing.T) {
	file := []byte(setup.KeptHead + "\n")
	read := func() *setup.Kept {
		t.Helper()
		k, err := setup.ReadKept(bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	add := func(r setup.MatrixResult, accepted bool) {
		t.Helper()
		line, err := read().Line(r, accepted)
		if err != nil {
			t.Fatal(err)
		}
		file = append(file, line...)
	}
	works := result("Tern 1 lead, Kite 11 trail", "a", prove.Works, []int{1, 2, 3}, []int{11})
	add(works, false)
	job := setup.MatrixJob{Consist: works.Consist, Sum: "a", For: works.For}
	if got, ok, changed := read().Take(job); !ok || changed || got.Outcome != prove.Works {
		t.Errorf("%+v %v %v", got, ok, changed)
	}
	job.For = [][]int{{1, 2}, {11}}
	if _, ok, changed := read().Take(job); !ok || !changed {
		t.Error("units it stands for have changed unseen")
	}
	job.Sum = "b"
	if _, ok, _ := read().Take(job); ok {
		t.Error("taken with another sum")
	}
	bad := result(works.Consist, "b", prove.DoesNot, []int{1, 2, 3}, []int{11})
	add(bad, false)
	for range 2 {
		w := read().Worse([]setup.MatrixResult{bad})
		if len(w) != 1 || w[0].Was.Outcome != prove.Works || w[0].Is.Outcome != prove.DoesNot {
			t.Errorf("%+v", w)
		}
	}
	// a unit that stood among others before is held against what stood for it, also once the
	// others are kept without it
	add(result(works.Consist, "b", prove.DoesNot, []int{1, 2}, []int{11}), false)
	add(result("Tern 3 lead, Kite 11 trail", "c", prove.DoesNot, []int{3}, []int{11}), false)
	if w := read().Worse([]setup.MatrixResult{result("Tern 3 lead, Kite 11 trail", "c", prove.DoesNot)}); len(w) != 1 || w[0].Was.Consist != works.Consist {
		t.Errorf("%+v", w)
	}
	// a unit nobody stood for is new
	add(result("Tern 9 lead, Kite 11 trail", "c", prove.DoesNot, []int{9}, []int{11}), false)
	if w := read().Worse([]setup.MatrixResult{result("Tern 9 lead, Kite 11 trail", "c", prove.DoesNot)}); len(w) != 0 {
		t.Errorf("%+v", w)
	}
	add(bad, true)
	if w := read().Worse([]setup.MatrixResult{bad}); len(w) != 0 {
		t.Errorf("accepted and still worse: %+v", w)
	}
	loss := result(works.Consist, "d", prove.WithLoss, []int{1, 2, 3}, []int{11})
	add(loss, false)
	if w := read().Worse([]setup.MatrixResult{bad}); len(w) != 1 || w[0].Was.Outcome != prove.WithLoss {
		t.Errorf("what got better is not the new measure: %+v", w)
	}
	// cut in the middle of a line, at any byte: what stood before stands
	whole := len(file)
	for cut := bytes.LastIndexByte(file[:whole-1], '\n') + 1; cut < whole; cut++ {
		k, err := setup.ReadKept(bytes.NewReader(file[:cut]))
		if err != nil || k.Entries != read().Entries-1 {
			t.Fatalf("cut at %d of %d: %v", cut, whole, err)
		}
	}
	if _, err := setup.ReadKept(strings.NewReader("units: {}\n")); !errors.Is(err, setup.ErrKept) {
		t.Errorf("a file of something else: %v", err)
	}
	for _, line := range []string{"{", `{"consist":"x"}`, `{"consist":"x","outcome":"fine"}`} {
		if _, err := setup.ReadKept(strings.NewReader(setup.KeptHead + "\n" + line + "\n")); err == nil || !strings.Contains(err.Error(), "line 2") {
			t.Errorf("%s: %v", line, err)
		}
	}
}
