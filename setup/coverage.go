package setup

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"headstock/consist"
	"headstock/internal/cover"
	"headstock/prove"
	"headstock/trial"
)

// The prescribed test shows a cause where one of the readings it takes differs from the
// right one by more than anybody could put down to the gauge. It takes what a rule bounds
// and what lies before the driver; all else on the sheet is there to be looked at and
// nobody is asked to. What is not shown and breaks a requirement is hidden, and for that,
// looks and acts are added to the test; none of it is ever left out.

// Tell is one reading by which a cause is told.
type Tell struct {
	Look int  `json:"look"` // index into the looks
	How  Told `json:"-"`
	Side int  `json:"side"` // −1: less than right, or in, or quiet; 1: more, or out, or blowing
}

// Row is one cause that came about at one time, across all steps of the test.
type Row struct {
	Cause  Cause    `json:"cause"`
	When   string   `json:"when"`
	Group  string   `json:"group"`
	Grade  Grade    `json:"-"`
	Danger string   `json:"danger"`
	Worse  []string `json:"worse,omitempty"` // requirements in words
	Tells  []Tell   `json:"tells,omitempty"` // of the readings the test takes
	Away   []Tell   `json:"away,omitempty"`  // of those on the sheet that nobody is asked to take
	How    Told     `json:"-"`
	Shown  string   `json:"shown"`
	First  int      `json:"first"` // look by which it is told first; −1
	Why    string   `json:"why_not,omitempty"`
	Near   float64  `json:"near,omitempty"` // the greatest difference that was inside the band, as a share of what could be told
}

// ByStep is how each step of the test shows a cause: "rule" where a rule bounds the reading,
// else "unusual" where it is before the driver, else "aside" where nobody is asked to look;
// a step that shows nothing is absent.
func (cv *Coverage) ByStep(x Row) map[string]string {
	how := map[string]string{}
	for _, t := range x.Away {
		how[cv.Looks[t.Look].Step] = "aside"
	}
	for _, t := range x.Tells {
		if step := cv.Looks[t.Look].Step; t.How == ByRule {
			how[step] = "rule"
		} else if how[step] != "rule" {
			how[step] = "unusual"
		}
	}
	return how
}

// Why a cause is not shown.
const (
	WhyAway     = "it shows, but only where nobody is asked to look"
	WhyNothing  = "no observation reaches it: no reading of the test is any other"
	WhyInside   = "inside the band: readings differ by less than a gauge can tell"
	WhyMasked   = "masked: each half shows or breaks less by itself, both together do not show"
	WhyStanding = "no observation reaches it: it moves no air"
)

// Ambiguity is causes that no reading of the test tells apart.
type Ambiguity struct {
	Causes []string `json:"causes"`
	Tells  []Tell   `json:"tells"`
}

// Added is a look or an act that could be added to the prescribed test.
type Added struct {
	ID       string   `json:"id"`
	Say      string   `json:"say"`
	Kind     string   `json:"kind"` // AddedLook, AddedStand, AddedAct
	Step     string   `json:"at_step"`
	Place    string   `json:"place,omitempty"`
	Seconds  float64  `json:"seconds"`       // walking there and back from the driver, waiting, charging again
	Walk     float64  `json:"of_it_walking"` // s of Seconds
	Needs    []string `json:"needs,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
	Unsaid   string   `json:"cannot_say,omitempty"` // what is missing for its cost; it is then not chosen
	Shows    []int    `json:"shows"`                // of the hidden, by index into Hidden
	looks    []int
	stands   map[string]bool // devices, by vehicle and id
	acts     []trial.Step
}

// Kinds of what is added.
const (
	AddedLook  = "a further look"
	AddedStand = "see how it stands"
	AddedAct   = "a further act"
)

// Coverage is what the prescribed test of a consist shows of all that was searched.
type Coverage struct {
	Consist   string      `json:"consist"`
	Steps     []string    `json:"steps"`
	Looks     []Look      `json:"looks"`
	Rows      []Row       `json:"rows"`
	Counts    [3]int      `json:"counts"` // by Told
	Harmless  int         `json:"not_shown_and_harmless"`
	Hidden    []int       `json:"hidden"` // rows not shown that make a requirement end worse, the gravest first
	Ambiguous []Ambiguity `json:"ambiguous"`
	Alone     int         `json:"told_apart"` // causes that are shown and that no other looks like
	Added     []Added     `json:"added"`      // what shows at least one hidden row, the most first
	Cheapest  int         `json:"cheapest"`   // of Added, the one that shows most, of equals the cheapest; −1
	Best      int         `json:"best_for_its_time"`
	Least     Least       `json:"least"`
	Pairs     []Row       `json:"pairs_that_escape,omitempty"` // after the least set: neither half is hidden
	PairsSeen int         `json:"pairs_looked_at"`
	Runs      int         `json:"runs"`
}

// Least is the least costly set of what is added that shows all hidden that any shows.
type Least struct {
	Chosen  []int   `json:"chosen"`      // of Added
	Seconds float64 `json:"seconds"`     // of all that is chosen, the walking shared
	Lower   float64 `json:"lower_bound"` // s that no other set can be below
	Proved  bool    `json:"proved"`
	Nodes   int     `json:"nodes"`
	Never   []int   `json:"still_hidden"` // of Hidden
	By      [][]int `json:"by"`           // of each hidden: which of the chosen show it
	Without []int   `json:"apart"`        // of Hidden: no two are shown by one, so each needs its own
}

// Cover holds what a search found against the prescribed test. Workers 0: as many as the
// machine has processors; the answer does not hang on it.
func (b *Base) Cover(ctx context.Context, f *Found, workers int) (*Coverage, error) {
	cv := &Coverage{Consist: b.c.String(), Looks: b.Looks(), Cheapest: -1, Best: -1}
	for _, s := range b.proof.Test.Procedure.Steps {
		if s.Read {
			cv.Steps = append(cv.Steps, s.ID)
		}
	}
	for k := range f.Members {
		for j := range f.Members[k].Outcomes {
			o := &f.Members[k].Outcomes[j]
			row := b.row(cv.Looks, o)
			cv.Rows = append(cv.Rows, row)
			cv.Counts[row.How]++
			switch {
			case row.How != NotTold:
			case len(row.Worse) > 0:
				cv.Hidden = append(cv.Hidden, len(cv.Rows)-1)
			default:
				cv.Harmless++
			}
		}
	}
	slices.SortStableFunc(cv.Hidden, func(x, y int) int { return cmp.Compare(cv.Rows[y].Grade, cv.Rows[x].Grade) })
	cv.ambiguous()
	if err := b.added(ctx, cv, workers); err != nil {
		return nil, err
	}
	if err := cv.choose(); err != nil {
		return nil, err
	}
	return cv, b.escaping(ctx, cv, f, workers)
}

// row holds one outcome against the test.
func (b *Base) row(looks []Look, o *Outcome) Row {
	r := Row{Cause: o.Cause, When: o.When, Group: o.Group, Grade: o.Grade, Danger: o.Danger, First: -1}
	for _, w := range o.Worse {
		r.Worse = append(r.Worse, w.Says)
	}
	if o.Group == "" {
		r.Why, r.Shown = WhyStanding, NotTold.String()
		return r
	}
	all := o.Readings()
	rs := index(all)
	timed := b.timed(looks, rs)
	moved := false
	for k := range looks {
		l := &looks[k]
		rd, ok := rs[place{l.Step, l.Vehicle, l.Device}]
		if !ok {
			continue
		}
		how, side, near := b.told(l, all, rd)
		if timed[k] {
			how = ByRule
		}
		moved = moved || math.Abs(rd.Value-l.right.Value) > prove.Hardly(l.Kind) || rd.Out != l.right.Out
		switch {
		case how == NotTold:
			r.Near = max(r.Near, near)
		case l.Taken():
			r.Tells = append(r.Tells, Tell{k, how, side})
			r.How = max(r.How, how)
		default:
			r.Away = append(r.Away, Tell{k, how, side})
		}
	}
	if k := slices.IndexFunc(r.Tells, func(t Tell) bool { return t.How == r.How }); k >= 0 {
		r.First = r.Tells[k].Look
	}
	r.Shown = r.How.String()
	if r.How == NotTold {
		switch {
		case len(r.Away) > 0:
			r.Why = WhyAway
		case moved:
			r.Why = WhyInside
		default:
			r.Why = WhyNothing
		}
	}
	return r
}

// ambiguous gathers shown causes that tell by the same readings the same way.
func (cv *Coverage) ambiguous() {
	at := map[string]int{}
	var groups []Ambiguity
	for _, r := range cv.Rows {
		if r.How == NotTold {
			continue
		}
		var sb strings.Builder
		for _, t := range r.Tells {
			fmt.Fprintf(&sb, "%d %d %d,", t.Look, t.How, t.Side)
		}
		k, ok := at[sb.String()]
		if !ok {
			k = len(groups)
			at[sb.String()] = k
			groups = append(groups, Ambiguity{Tells: r.Tells})
		}
		if !slices.Contains(groups[k].Causes, r.Cause.Key) {
			groups[k].Causes = append(groups[k].Causes, r.Cause.Key)
		}
	}
	for _, g := range groups {
		if len(g.Causes) > 1 {
			cv.Ambiguous = append(cv.Ambiguous, g)
		} else {
			cv.Alone++
		}
	}
	slices.SortStableFunc(cv.Ambiguous, func(a, b Ambiguity) int { return cmp.Compare(len(b.Causes), len(a.Causes)) })
}

// seat is where the driver sits.
func (b *Base) seat() (consist.Spot, bool) {
	lead, _ := b.c.Lead()
	d, ok := b.c.Device(lead, "automatic-handle")
	if !ok {
		return consist.Spot{}, false
	}
	return consist.Spot{Vehicle: lead, Place: d.Place}, true
}

// there and back from the driver, s; what is missing where a record does not say.
func (b *Base) walk(vehicle int, placeID string) (float64, string) {
	seat, ok := b.seat()
	if !ok {
		return 0, "a place of the driver's automatic handle"
	}
	s, ok := b.c.Walk(seat, consist.Spot{Vehicle: vehicle, Place: placeID})
	if !ok {
		v := b.c.Vehicles[vehicle]
		return 0, fmt.Sprintf("a way from the driver to %s of %s in the records, and the length of every vehicle between", v.Class.PlaceName(placeID), v.Name())
	}
	return 2 * s, ""
}

// reach says whether a place may be gone to while the train stands coupled with its engines
// running: not between vehicles, not beneath one, not on a roof.
func (b *Base) reach(vehicle int, placeID string) bool {
	for _, p := range b.c.Vehicles[vehicle].Class.Places {
		if p.ID == placeID {
			return p.Level != "under" && p.Level != "roof" && !(p.Level == "rail" && p.Side == "centre")
		}
	}
	return false
}

// perDevice is the time in which somebody who stands before a device sees how it stands, s
// (common practice).
const perDevice = 5

// catalogue lists what could be added: a look at every place with readings that nobody is
// asked to take, at every step; a look at how the devices of every place stand; and acts
// from the end of the test, with the train charged again.
func (b *Base) catalogue(cv *Coverage) []Added {
	var out []Added
	type at struct {
		step, place string
		vehicle     int
	}
	looks := map[at]int{}
	for k, l := range cv.Looks {
		if l.Taken() || !b.reach(l.Vehicle, l.place) {
			continue
		}
		key := at{l.Step, l.place, l.Vehicle}
		n, ok := looks[key]
		if !ok {
			n = len(out)
			looks[key] = n
			a := Added{ID: fmt.Sprintf("look %s/%s.%s", l.Step, l.Unit, l.place), Kind: AddedLook, Step: l.Step, Place: l.Place,
				Say: fmt.Sprintf("at step %s also look, on %s, %s, at: ", l.Step, l.Unit, l.Place)}
			a.Walk, a.Unsaid = b.walk(l.Vehicle, l.place)
			out = append(out, a)
		}
		out[n].looks = append(out[n].looks, k)
	}
	for k := range out {
		var names []string
		for _, l := range out[k].looks {
			names = append(names, cv.Looks[l].Name)
		}
		out[k].Say += strings.Join(names, ", ")
		out[k].Seconds = out[k].Walk + perDevice*float64(len(names))
	}
	last := cv.Steps[len(cv.Steps)-1]
	for i, v := range b.c.Vehicles {
		for _, p := range v.Class.Places {
			a := Added{ID: fmt.Sprintf("stand %s.%s", v.Name(), p.ID), Kind: AddedStand, Step: last, Place: v.Class.PlaceName(p.ID), stands: map[string]bool{}}
			n := 0
			for _, d := range v.Class.Devices {
				if d.Place == p.ID && len(d.Positions) > 1 && v.Unit.Carries(v.Class, d) {
					a.stands[standKey(i, d.ID)] = true
					n++
				}
			}
			if n == 0 {
				continue
			}
			if !b.reach(i, p.ID) {
				a.Needs = append(a.Needs, "the train secured and nobody able to move it")
			}
			a.Say = fmt.Sprintf("after the test, on %s, %s, see that each device stands as on the card", v.Name(), a.Place)
			a.Walk, a.Unsaid = b.walk(i, p.ID)
			a.Seconds = a.Walk + perDevice*float64(n)
			out = append(out, a)
		}
	}
	return append(out, b.acts(cv)...)
}

func standKey(vehicle int, device string) string { return fmt.Sprintf("%d.%s", vehicle, device) }

// acts are what could be done beyond the prescribed test, each from its end, the train
// charged and released. Each is a procedure that is run; none moves what must not be moved.
func (b *Base) acts(cv *Coverage) []Added {
	c, r := b.c, b.r
	last := len(c.Vehicles) - 1
	charge := 0.0
	if m, ok := b.proof.Test.At(prove.StepRecover); ok {
		charge = m.Took + r.V("release-wait")
	}
	// everybody who reads pistons and gauges in the test does so again
	round := 0.0
	missing := ""
	for _, l := range cv.Looks {
		if l.Step == prove.StepEmergency && l.Taken() {
			if s, m := b.walk(l.Vehicle, l.place); m != "" {
				missing = m
			} else {
				round = max(round, s)
			}
		}
	}
	var out []Added
	add := func(a Added, steps ...trial.Step) {
		a.Kind, a.Step = AddedAct, prove.StepRecover
		for _, s := range steps {
			a.Seconds += s.For
		}
		if a.Unsaid == "" {
			a.Unsaid = missing
		}
		a.Seconds += a.Walk + round + charge
		a.Walk += round
		a.acts = steps
		if len(trial.Sealed(c, trial.Procedure{Steps: steps})) == 0 {
			out = append(out, a)
		}
	}
	secured := "the train secured by hand brakes or chocks"
	wait := r.V("emergency-wait")
	for i, v := range c.Vehicles {
		for _, d := range v.Class.Devices {
			if how, _ := v.Unit.Fitted(d); how != "yes" || !v.Unit.Carries(v.Class, d) || !b.reach(i, d.Place) {
				continue
			}
			var to, from string
			switch d.Function {
			case "emergency-valve", "van-valve":
				to = "open"
			case "penalty-valve", "vigilance-device", "driver-pedal":
				if lead, _ := c.Lead(); i != lead || d.Cab != 0 && v.Cab != 0 && d.Cab != v.Cab {
					continue
				}
				for _, p := range d.Positions {
					if b.Reaches(consist.Change{Vehicle: i, Device: d.ID, Position: p.ID}) {
						to = p.ID
					}
				}
			default:
				continue
			}
			from, _ = c.Position(i, d.ID)
			if _, ok := d.Position(to); !ok || to == from {
				continue
			}
			a := Added{ID: "act " + v.Name() + "." + d.ID, Place: v.Class.PlaceName(d.Place), Needs: []string{secured}, Cautions: d.Cautions,
				Say: fmt.Sprintf("on %s put %s to %s, see every brake on, put it back to %s, charge again", v.Name(), d.Name, to, from)}
			a.Walk, a.Unsaid = b.walk(i, d.Place)
			add(a, trial.Step{ID: prove.StepEmergency, Do: []trial.Act{{Who: v.Name(), What: d.ID, To: to}}, For: wait, Read: true})
		}
	}
	v := c.Vehicles[last]
	for _, pe := range v.Class.Ends[v.Rear()-1].Pipes {
		if pe.Pipe != "brake-pipe" {
			continue
		}
		cock, ok1 := v.Class.Device(pe.Cock)
		_, ok2 := v.Class.Device(pe.Hose)
		if !ok1 || !ok2 || !v.Unit.Carries(v.Class, cock) {
			continue
		}
		for _, applied := range []bool{false, true} {
			a := Added{ID: "act rear cock", Place: v.Class.PlaceName(cock.Place), Needs: []string{secured, "a second person at the rear"},
				Cautions: append([]string{"hold the hose: it whips when the cock is opened"}, cock.Cautions...),
				Say:      fmt.Sprintf("at the rear of %s take the brake pipe hose off its dummy and open the end cock slowly: the pipe empties and every brake goes on; close it, hose to its dummy, charge again", v.Name())}
			open := trial.Step{ID: prove.StepEmergency, Do: []trial.Act{{Who: v.Name(), What: pe.Hose, To: "hanging"}, {Who: v.Name(), What: pe.Cock, To: "open"}}, For: wait, Read: true}
			a.Walk, a.Unsaid = b.walk(last, cock.Place)
			if !applied {
				add(a, open)
				continue
			}
			a.ID += " applied"
			a.Say = "make a full service reduction, then " + a.Say
			add(a, trial.Step{ID: prove.StepService, Do: []trial.Act{{Who: "lead", Reduce: r.V("full-reduction")}}, For: r.V("settle"), Read: true}, open)
		}
	}
	full := trial.Step{ID: prove.StepService, Do: []trial.Act{{Who: "lead", Reduce: r.V("full-reduction")}}, For: r.V("settle"), Read: true}
	off := trial.Step{ID: prove.StepRelease, Do: []trial.Act{{Who: "lead", Run: true}}, For: r.V("release-wait"), Read: true}
	hold := trial.Step{ID: "hold", For: 300, Read: true}
	add(Added{ID: "act hold", Needs: []string{secured}, Say: "make a full service reduction, hold it 5 min, look at every brake again, then release"}, full, hold, off)
	add(Added{ID: "act hold independent", Needs: []string{secured}, Say: "independent full on, hold it 5 min, look at every locomotive brake again, then release"},
		trial.Step{ID: prove.StepIndependent, Do: []trial.Act{{Who: "lead", What: "independent-handle", To: "full", IfFitted: true}}, For: r.V("independent-wait"), Read: true}, hold,
		trial.Step{ID: prove.StepIndOff, Do: []trial.Act{{Who: "lead", What: "independent-handle", To: "release", IfFitted: true}}, For: r.V("independent-wait"), Read: true})
	if d, ok := c.Device(mustLead(c), "quick-release"); ok && d.Fitted != "no" {
		add(Added{ID: "act emergency bail", Needs: []string{secured}, Say: "automatic handle to emergency, press the quick release down: see which brakes let go and come back"},
			trial.Step{ID: prove.StepEmergency, Do: []trial.Act{{Who: "lead", What: "automatic-handle", To: "emergency"}}, For: wait, Read: true},
			trial.Step{ID: prove.StepBail, Do: []trial.Act{{Who: "lead", What: "quick-release", To: "pressed"}}, For: r.V("bail-hold"), Read: true},
			trial.Step{ID: prove.StepLetGo, Do: []trial.Act{{Who: "lead", What: "quick-release", To: "normal"}}, For: r.V("let-go-wait"), Read: true})
	}
	return out
}

func mustLead(c *consist.Consist) int { i, _ := c.Lead(); return max(i, 0) }

// further runs each act from the end of the test with a cause.
func (b *Base) further(cause Cause, when string, acts []Added) ([][]trial.Reading, error) {
	end, bench, err := b.Play(cause, when, "")
	if err != nil {
		return nil, err
	}
	m := &end.Marks[len(end.Marks)-1]
	out := make([][]trial.Reading, len(acts))
	for k, a := range acts {
		res, err := bench.Run(m.At, trial.Procedure{Name: a.ID, Steps: a.acts}, m)
		if err != nil {
			return nil, err
		}
		out[k] = res.Readings
	}
	return out, nil
}

// added finds which of the catalogue shows which hidden row.
func (b *Base) added(ctx context.Context, cv *Coverage, workers int) error {
	all := b.catalogue(cv)
	var acts []Added
	var actAt []int
	for k, a := range all {
		if a.Kind == AddedAct {
			acts, actAt = append(acts, a), append(actAt, k)
		}
	}
	shows, err := b.actsShow(ctx, cv, acts, workers)
	if err != nil {
		return err
	}
	for h, n := range cv.Hidden {
		row := &cv.Rows[n]
		for k := range all {
			a := &all[k]
			switch a.Kind {
			case AddedLook:
				if slices.ContainsFunc(row.Away, func(t Tell) bool { return slices.Contains(a.looks, t.Look) }) {
					a.Shows = append(a.Shows, h)
				}
			case AddedStand:
				for _, ch := range row.Cause.Settings {
					if a.stands[standKey(ch.Vehicle, ch.Device)] {
						a.Shows = append(a.Shows, h)
						break
					}
				}
			}
		}
		for k, at := range actAt {
			if shows[h][k] {
				all[at].Shows = append(all[at].Shows, h)
			}
		}
	}
	for _, a := range all {
		if len(a.Shows) > 0 {
			cv.Added = append(cv.Added, a)
		}
	}
	slices.SortStableFunc(cv.Added, func(a, b Added) int {
		if c := cmp.Compare(len(b.Shows), len(a.Shows)); c != 0 {
			return c
		}
		return cmp.Compare(a.Seconds, b.Seconds)
	})
	return nil
}

// actsShow says of each hidden row which acts show it, by a look that the test takes at a
// step of the same name.
func (b *Base) actsShow(ctx context.Context, cv *Coverage, acts []Added, workers int) ([][]bool, error) {
	out := make([][]bool, len(cv.Hidden))
	for h := range out {
		out[h] = make([]bool, len(acts))
	}
	if len(acts) == 0 {
		return out, nil
	}
	right, err := b.further(Cause{}, SetWrong, acts)
	if err != nil {
		return nil, err
	}
	cv.Runs += 1 + len(acts)
	type job struct{ group, when string }
	first := map[job]int{}
	var jobs []int
	for h, n := range cv.Hidden {
		r := &cv.Rows[n]
		if r.Group == "" {
			continue
		}
		if k := (job{r.Group, r.When}); !has(first, k) {
			first[k] = h
			jobs = append(jobs, h)
		}
	}
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	failed := make([]error, len(jobs))
	var mu sync.Mutex
	var wait sync.WaitGroup
	next := 0
	for range min(workers, len(jobs)) {
		wait.Go(func() {
			for {
				mu.Lock()
				k := next
				next++
				mu.Unlock()
				if k >= len(jobs) || ctx.Err() != nil {
					return
				}
				h := jobs[k]
				r := &cv.Rows[cv.Hidden[h]]
				got, err := b.further(r.Cause, r.When, acts)
				if err != nil {
					failed[k] = fmt.Errorf("%s: %w", r.Cause.Key, err)
					continue
				}
				for n := range acts {
					out[h][n] = b.differs(right[n], got[n], cv.Looks)
				}
			}
		})
	}
	wait.Wait()
	cv.Runs += len(jobs) * (1 + len(acts))
	for _, err := range failed {
		if err != nil {
			return nil, err
		}
	}
	for h, n := range cv.Hidden {
		if r := &cv.Rows[n]; r.Group != "" {
			out[h] = out[first[job{r.Group, r.When}]]
		}
	}
	return out, ctx.Err()
}

func has[K comparable, V any](m map[K]V, k K) bool { _, ok := m[k]; return ok }

// differs reports whether two runs of an act could be told apart by what is before the
// driver and by the pistons and gauges that the test asks for at any step.
func (b *Base) differs(right, got []trial.Reading, looks []Look) bool {
	type at struct {
		vehicle int
		device  string
	}
	taken := map[at]bool{}
	for k := range looks {
		if looks[k].Taken() {
			taken[at{looks[k].Vehicle, looks[k].Device}] = true
		}
	}
	for k, rd := range got {
		if k >= len(right) || rd.Fitted != "" || !taken[at{rd.Vehicle, rd.Device}] {
			continue
		}
		l, ok := b.look(right[k])
		if !ok || byCompressor(&l) {
			continue
		}
		switch l.Kind {
		case "gauge":
			if math.Abs(rd.Value-l.right.Value) > 2*prove.Tolerance(l.dev) {
				return true
			}
		case "piston":
			if rd.Out != l.right.Out {
				return true
			}
		}
	}
	return false
}

func byCompressor(l *Look) bool { return l.dev.Function == "main-reservoir-gauge" }

// choose finds the cheapest step and the least set.
func (cv *Coverage) choose() error {
	var sets []cover.Set
	var of []int
	rate := 0.0
	for k, a := range cv.Added {
		if a.Unsaid != "" {
			continue
		}
		if cv.Cheapest < 0 {
			cv.Cheapest = k // sorted so
		}
		if v := float64(len(a.Shows)) / max(a.Seconds, 1); v > rate {
			cv.Best, rate = k, v
		}
		sets, of = append(sets, cover.Set{Cost: a.Seconds, Rows: a.Shows}), append(of, k)
	}
	ans, err := cover.Least(len(cv.Hidden), sets, 0)
	if err != nil {
		return err
	}
	cv.Least = Least{Seconds: ans.Cost, Lower: ans.Lower, Proved: ans.Proved, Nodes: ans.Nodes, Never: ans.Never, Without: ans.Without, By: make([][]int, len(cv.Hidden))}
	for _, k := range ans.Chosen {
		cv.Least.Chosen = append(cv.Least.Chosen, of[k])
	}
	for h, by := range ans.By {
		for _, k := range by {
			cv.Least.By[h] = append(cv.Least.By[h], of[k])
		}
	}
	return nil
}

// escaping lists the pairs that the test and the least set added to it do not show though
// neither half is hidden by itself.
func (b *Base) escaping(ctx context.Context, cv *Coverage, f *Found, workers int) error {
	if !f.Pairs {
		return nil
	}
	hidden := map[string]bool{}
	for _, n := range cv.Hidden {
		hidden[cv.Rows[n].Cause.Key] = true
	}
	var acts []Added
	stands := map[string]bool{}
	var looks []int
	for _, k := range cv.Least.Chosen {
		switch a := cv.Added[k]; a.Kind {
		case AddedAct:
			acts = append(acts, a)
		case AddedStand:
			for s := range a.stands {
				stands[s] = true
			}
		case AddedLook:
			looks = append(looks, a.looks...)
		}
	}
	var right [][]trial.Reading
	for _, g := range f.PairGroups {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		cv.PairsSeen += g.Pairs
		o := g.Outcome()
		row := b.row(cv.Looks, &o)
		if row.How != NotTold || len(row.Worse) == 0 {
			continue
		}
		one, two, _ := strings.Cut(o.Cause.Key, " & ")
		if hidden[one] || hidden[two] {
			continue // it is hidden already, and what is added for it shows it
		}
		seen := slices.ContainsFunc(row.Away, func(t Tell) bool { return slices.Contains(looks, t.Look) })
		for _, ch := range o.Cause.Settings {
			seen = seen || stands[standKey(ch.Vehicle, ch.Device)]
		}
		if !seen && len(acts) > 0 {
			if right == nil {
				var err error
				if right, err = b.further(Cause{}, SetWrong, acts); err != nil {
					return err
				}
			}
			got, err := b.further(o.Cause, SetWrong, acts)
			if err != nil {
				return err
			}
			cv.Runs += 1 + len(acts)
			for n := range acts {
				seen = seen || b.differs(right[n], got[n], cv.Looks)
			}
		}
		if !seen {
			if row.Why == WhyNothing || row.Why == WhyInside {
				row.Why = WhyMasked
			}
			cv.Pairs = append(cv.Pairs, row)
		}
	}
	return nil
}
