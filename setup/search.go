package setup

import (
	"cmp"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"headstock/consist"
	"headstock/fault"
	"headstock/prove"
	"headstock/trial"
)

// Cause is what is wrong in one run of a search: one wrong setting, a pair of them, or one
// part that has failed.
type Cause struct {
	Key      string           `json:"key"`  // the same every time: "Kite 11.changeover=copy"; of a pair both, in the order of the consist, with " & " between
	Kind     string           `json:"kind"` // SettingCause, PairCause or FailureCause
	Says     string           `json:"says"`
	Settings []consist.Change `json:"settings,omitempty"`
	Failure  *fault.Failure   `json:"failure,omitempty"`
}

// The kinds of cause.
const (
	SettingCause = "setting"
	PairCause    = "pair"
	FailureCause = "failure"
)

// When a cause came about, relative to the prescribed test.
const (
	SetWrong     = "set up wrong"         // so from the empty train
	MovedSince   = "moved since"          // moved with the train charged and released
	MovedApplied = "moved with brakes on" // moved after the reduction
	FailedSince  = "failed since"         // a part failed with the train charged and released
)

// Shown is how what is wrong shows in the prescribed test.
type Shown int

// From the plainest to the worst hidden.
const (
	ShownInCab Shown = iota // a gauge of the driving cab tells
	ShownAway               // something tells, but none of the driving cab
	NotShown                // no reading of the test tells
)

// String says in words where it shows.
func (s Shown) String() string {
	return [...]string{"the driving cab shows it", "it shows only away from the driving cab", "the brake test does not show it"}[s]
}

// Outcome is what comes of one cause that came about at one time: what a run of it breaks
// and what that run reads.
type Outcome struct {
	Cause  Cause           `json:"cause"`
	When   string          `json:"when"`
	Group  string          `json:"group"` // outcomes of one group and one time are one run; "" is the consist as it stands
	Worse  []prove.Finding `json:"worse,omitempty"`
	Seen   []Seen          `json:"seen,omitempty"` // readings that a person could tell from the right ones, in the order of the test
	Grade  Grade           `json:"-"`
	Danger string          `json:"danger"`
	Shown  Shown           `json:"-"`
	Shows  string          `json:"shows"`

	base *Base
	ran  *ran
}

// Readings are all of the prescribed test's, each with its step. Those of steps before the
// cause came about are the right ones; those of prove.StepMoved are what shows within the
// wait after it did. They are unpacked at each call: those of a long train are millions.
func (o Outcome) Readings() []trial.Reading {
	if o.ran == nil {
		return o.base.proof.Test.Readings
	}
	return o.base.readings(o.When, o.ran.Values)
}

// At are the readings of one step of the prescribed test.
func (o *Outcome) At(step string) []trial.Reading {
	var out []trial.Reading
	for _, x := range o.Readings() {
		if x.Step == step {
			out = append(out, x)
		}
	}
	return out
}

// Member is one wrong setting or failure with all that comes of it.
type Member struct {
	Cause
	Unit     string    `json:"unit"`
	Item     string    `json:"item"` // the device or part in words
	Place    string    `json:"place,omitempty"`
	Was      string    `json:"was,omitempty"`
	To       string    `json:"to,omitempty"`
	Keep     bool      `json:"must_not_be_moved,omitempty"`
	Reaches  bool      `json:"reaches_the_air"` // the network is another one
	Free     bool      `json:"free"`            // no requirement ends worse, whenever it came about
	Grade    Grade     `json:"-"`
	Danger   string    `json:"danger"`
	Shown    Shown     `json:"-"`
	Shows    string    `json:"shows"`
	Outcomes []Outcome `json:"outcomes"`
}

// Counts is how much was looked at.
type Counts struct {
	Settings     int `json:"wrong_settings"`
	Failures     int `json:"failures"`
	Pairs        int `json:"pairs"`
	Groups       int `json:"groups_of_settings"` // with that of the consist as it stands
	PairGroups   int `json:"groups_of_pairs"`    // that no single setting has
	FailGroups   int `json:"groups_of_failures"`
	Proofs       int `json:"proofs"`                  // sets of runs, one for each group and time
	Runs         int `json:"runs"`                    // runs of air in them
	Kept         int `json:"proofs_kept_from_before"` // of the proofs, those that a results file held
	Free         int `json:"free"`
	Hidden       int `json:"worse_and_not_shown"`
	PartlyMasked int `json:"pairs_that_mend_in_part"`
}

// Why a pair is reported.
const (
	Together = "neither alone"   // neither half makes a requirement end worse, both do
	Masks    = "mask each other" // a half makes one end worse, both together none
	Hides    = "hide together"   // a half shows in the test, both do not, and something is broken
)

// PairFound is pairs that are reported for one reason and come to the same.
type PairFound struct {
	Why     string   `json:"why"`
	Keys    []string `json:"pairs"`
	Outcome Outcome  `json:"outcome"` // of the first
}

// Breaks is what makes one requirement end worse: singles, and pairs of which neither half
// does. Mended are pairs of which a half does and both together do not.
type Breaks struct {
	Requirement string   `json:"requirement"`
	Says        string   `json:"says"`
	Settings    []string `json:"settings,omitempty"`
	Failures    []string `json:"failures,omitempty"`
	Pairs       []string `json:"pairs,omitempty"`
	Mended      []string `json:"mended,omitempty"`
}

// Found is what a search found.
type Found struct {
	Consist    string      `json:"consist"`
	Verdict    string      `json:"verdict_as_it_stands"`
	Counts     Counts      `json:"counts"`
	Members    []Member    `json:"members"` // settings in the order of the records, then failures
	PairsFound []PairFound `json:"pairs_found,omitempty"`
	Breaks     []Breaks    `json:"breaks"`
	Pairs      bool        `json:"pairs_searched"`
	Failures   bool        `json:"failures_searched"`

	// Groups of pairs that no single setting has, in the order of their first pair; for
	// whoever needs what each reads.
	PairGroups []PairGroup `json:"-"`

	set   []fault.Setting
	sound []bool          // settings with nothing broken, but for what only holds a device against its record
	both  map[[2]int]bool // the same of pairs that are kept: those of which a half is not sound and both are, and the other way round
	base  *Base
}

// PairGroup is pairs of wrong settings that are one network.
type PairGroup struct {
	First Cause
	Pairs int
	ran   *ran
	f     *Found
}

// Outcome is what comes of the group's first pair, set up wrong; what is judged by how
// devices stand is left out, because it differs within a group.
func (g PairGroup) Outcome() Outcome {
	return g.f.base.outcome(g.First, SetWrong, g.ran, nil)
}

// Options of a search.
type Options struct {
	Failures bool                   // failures too
	Pairs    bool                   // pairs of wrong settings too
	Workers  int                    // proofs run side by side; 0: as many as the machine has processors
	Progress func(done, of int)     // called after each proof, one call at a time; may be nil
	Before   io.Reader              // results of an earlier search that was cut off; may be nil
	After    io.Writer              // where results go, one whole line a write; may be nil
	Ran      func(key, when string) // called before a proof is run that Before did not hold; may be nil
}

// Search looks at every single wrong setting of the base's consist, set up wrong and moved
// since, and as asked at every failure and every pair of wrong settings. Settings of one
// effective network are run once; whatever is said of any rests on a run. It ends early,
// with the context's error, when that is done. The answer does not hang on Workers, nor on
// Before.
func (b *Base) Search(ctx context.Context, opt Options) (*Found, error) {
	if b.plant == nil {
		return nil, fmt.Errorf("the consist as it stands cannot be run: it %s", b.proof.Verdict)
	}
	s := &search{b: b, c: b.c, opt: opt, found: &Found{Consist: b.c.String(), Verdict: b.proof.Verdict, Pairs: opt.Pairs, Failures: opt.Failures, base: b}, index: map[string]int{}}
	if err := s.kept(); err != nil {
		return nil, err
	}
	s.settings()
	if err := s.failures(); err != nil {
		return nil, err
	}
	if opt.Pairs {
		if err := s.pairs(ctx); err != nil {
			return nil, err
		}
	}
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	if err := s.members(); err != nil {
		return nil, err
	}
	if err := s.judgePairs(ctx); err != nil {
		return nil, err
	}
	s.count()
	return s.found, nil
}

// job is one proof to be run: of a group, at one time.
type job struct {
	group string // key of its first member
	when  string
	do    func() (*prove.Proof, error)
	ran   *ran
}

// ran is what is kept of a proof: what the runs say, without what is judged by how devices
// stand.
type ran struct {
	Group      string          `json:"group"`
	When       string          `json:"when"`
	Worse      []prove.Finding `json:"worse,omitempty"`
	Broken     []string        `json:"broken,omitempty"` // requirements that are broken, whether they were before or not
	NotCharged bool            `json:"not_charged,omitempty"`
	Seen       []Seen          `json:"seen,omitempty"`
	Values     []byte          `json:"values"` // of each reading, 8 bytes of its value and one that is 1 when it is out
	Runs       int             `json:"runs"`
}

type search struct {
	b      *Base
	c      *consist.Consist
	opt    Options
	found  *Found
	red    *consist.Reducer
	base   []string // atoms of the consist as it stands
	jobs   []*job
	index  map[string]int // group and time → job
	before map[string]*ran
	was    fingerprint

	set    []fault.Setting
	delta  []map[int]string  // by setting: atoms that are other than the base's
	raw    []string          // by setting: the same, as a word
	group  []string          // by setting
	keys   map[string]string // network → group
	single int               // groups of singles
	fail   []fault.Failure
	failIn []string // by failure: group, "" as the consist stands

	pairIn map[string]string // raw pair → group
	pairOf []pairOf
	order  []string // groups of pairs in order
}

type pairOf struct {
	a, b  int32
	group int32 // index into order, −1 for the group of a single, in name
	name  string
}

// word writes a delta so that equal ones are equal.
func word(d map[int]string) string {
	var sb strings.Builder
	keys := make([]int, 0, len(d))
	for k := range d {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		var n [4]byte
		binary.LittleEndian.PutUint32(n[:], uint32(k))
		sb.Write(n[:])
		sb.WriteByte(byte(len(d[k])))
		sb.WriteString(d[k])
	}
	return sb.String()
}

// network is the effective network of the base with a delta laid over it, as a word.
func (s *search) network(d map[int]string) string {
	atoms := slices.Clone(s.base)
	for k, v := range d {
		atoms[k] = v
	}
	counts := s.red.Counts(atoms)
	var sb strings.Builder
	for k, a := range atoms {
		if counts[k] {
			sb.WriteByte(byte(len(a)))
			sb.WriteString(a)
		} else {
			sb.WriteByte(0xff)
		}
	}
	return sb.String()
}

// settings finds the groups of single wrong settings.
func (s *search) settings() {
	c := s.c
	s.red = s.b.plant.NewReducer(c, func(vehicle int, device string) bool { return prove.Worked(c, vehicle, device) })
	s.base = s.red.Atoms(c)
	s.set = fault.Settings(c)
	s.keys = map[string]string{s.network(nil): ""}
	for _, x := range s.set {
		d := map[int]string{}
		with, err := c.With(x.Change)
		if err != nil {
			continue // its own positions are never refused
		}
		for _, k := range s.red.Touches(c, x.Change.Vehicle, x.Change.Device) {
			if a := s.red.Atom(with, k); a.Value != s.base[k] {
				d[k] = a.Value
			}
		}
		net := s.network(d)
		g, ok := s.keys[net]
		if !ok {
			g = fault.Key(c, x.Change)
			s.keys[net] = g
			ch := x.Change
			s.add(g, SetWrong, func() (*prove.Proof, error) { return s.b.held.Set(ch) })
			s.add(g, MovedSince, func() (*prove.Proof, error) { return s.b.held.Moved(prove.StepCharge, ch) })
			s.add(g, MovedApplied, func() (*prove.Proof, error) { return s.b.held.Moved(prove.StepService, ch) })
		}
		s.delta, s.raw, s.group = append(s.delta, d), append(s.raw, word(d)), append(s.group, g)
	}
	s.single = len(s.keys)
}

func (s *search) add(group, when string, do func() (*prove.Proof, error)) {
	s.index[group+"\x00"+when] = len(s.jobs)
	s.jobs = append(s.jobs, &job{group: group, when: when, do: do})
}

// failures finds the failures that make another network of the runs after they come about.
func (s *search) failures() error {
	if !s.opt.Failures {
		return nil
	}
	reached, err := s.b.held.Reached(fault.Charged)
	if err != nil {
		return err
	}
	s.fail = fault.Failures(s.c)
	for _, f := range s.fail {
		counts, err := s.red.Fails(s.c, f.Failure, reached)
		if err != nil || !counts {
			s.failIn = append(s.failIn, "")
			continue
		}
		s.failIn = append(s.failIn, f.Key)
		s.add(f.Key, FailedSince, func() (*prove.Proof, error) { return s.b.held.Failed(f.Step, f.Failure) })
	}
	return nil
}

// pairs finds the groups of pairs of wrong settings. Two settings that have a part in no
// binding or hose together make of each what it is with the one alone.
func (s *search) pairs(ctx context.Context) error {
	c := s.c
	touch := make([]map[int]bool, len(s.set))
	for i, x := range s.set {
		touch[i] = map[int]bool{}
		for _, k := range s.red.Touches(c, x.Change.Vehicle, x.Change.Device) {
			touch[i][k] = true
		}
	}
	s.pairIn = map[string]string{}
	at := map[string]int32{}
	var err error
	last := -1
	fault.Pairs(s.set, func(a, b int) bool {
		if a != last {
			if last = a; ctx.Err() != nil {
				err = ctx.Err()
				return false
			}
		}
		meet := false
		for k := range touch[a] {
			meet = meet || touch[b][k]
		}
		p := pairOf{int32(a), int32(b), -1, ""}
		switch {
		case !meet && len(s.delta[a]) == 0:
			p.name = s.group[b]
		case !meet && len(s.delta[b]) == 0:
			p.name = s.group[a]
		default:
			d := map[int]string{}
			raw := ""
			if !meet {
				raw = "2" + s.raw[a] + "\x00" + s.raw[b]
			}
			g, ok := s.pairIn[raw]
			if meet || !ok {
				if meet {
					var with *consist.Consist
					if with, err = c.With(s.set[a].Change, s.set[b].Change); err != nil {
						return false
					}
					for _, i := range []int{a, b} {
						for k := range touch[i] {
							if v := s.red.Atom(with, k); v.Value != s.base[k] {
								d[k] = v.Value
							}
						}
					}
					raw = "1" + word(d)
					g, ok = s.pairIn[raw]
				} else {
					for _, i := range []int{a, b} {
						for k, v := range s.delta[i] {
							d[k] = v
						}
					}
				}
				if !ok {
					net := s.network(d)
					if g, ok = s.keys[net]; !ok {
						g = fault.Key(c, s.set[a].Change) + " & " + fault.Key(c, s.set[b].Change)
						s.keys[net] = g
						at[g] = int32(len(s.order))
						s.order = append(s.order, g)
						x, y := s.set[a].Change, s.set[b].Change
						s.add(g, SetWrong, func() (*prove.Proof, error) { return s.b.held.Set(x, y) })
					}
					s.pairIn[raw] = g
				}
			}
			p.name = g
			if k, ok := at[g]; ok {
				p.group = k
			}
		}
		s.pairOf = append(s.pairOf, p)
		return true
	})
	return err
}

// run runs every proof that no results file held, side by side. Which worker runs which
// leaves no trace.
func (s *search) run(ctx context.Context) error {
	workers := s.opt.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var mu sync.Mutex
	var failed error
	failedAt := len(s.jobs)
	next, done := 0, 0
	take := func() int {
		mu.Lock()
		defer mu.Unlock()
		if failed != nil || ctx.Err() != nil || next >= len(s.jobs) {
			return -1
		}
		next++
		return next - 1
	}
	finish := func(k int, r *ran, fresh bool, err error) {
		mu.Lock()
		defer mu.Unlock()
		if err == nil && fresh {
			err = s.keep(r)
		}
		if err != nil {
			if k < failedAt {
				failed, failedAt = fmt.Errorf("%s, %s: %w", s.jobs[k].group, s.jobs[k].when, err), k
			}
			return
		}
		s.jobs[k].ran = r
		done++
		if s.opt.Progress != nil {
			s.opt.Progress(done, len(s.jobs))
		}
	}
	var wait sync.WaitGroup
	for range min(workers, len(s.jobs)) {
		wait.Go(func() {
			for k := take(); k >= 0; k = take() {
				j := s.jobs[k]
				if r, ok := s.before[j.group+"\x00"+j.when]; ok {
					finish(k, r, false, nil)
					continue
				}
				if s.opt.Ran != nil {
					mu.Lock()
					s.opt.Ran(j.group, j.when)
					mu.Unlock()
				}
				p, err := j.do()
				if err != nil {
					finish(k, nil, true, err)
					continue
				}
				r, err := s.b.ran(j.group, j.when, p)
				finish(k, r, true, err)
			}
		})
	}
	wait.Wait()
	if failed != nil {
		return failed
	}
	return ctx.Err()
}

// ran keeps of a proof what its runs say.
func (b *Base) ran(group, when string, p *prove.Proof) (*ran, error) {
	r := &ran{Group: group, When: when, Runs: p.Runs}
	for _, f := range worse(b.proof, p) {
		if !prove.Standing(f.Requirement) {
			r.Worse = append(r.Worse, f)
		}
	}
	for _, f := range p.Findings {
		if f.Status == prove.Broken && !prove.Standing(f.Requirement) {
			r.Broken = append(r.Broken, f.Requirement)
		}
	}
	r.NotCharged = b.notCharged(p)
	if when != SetWrong {
		r.Seen = differ(b.c, b.still, p.Test, prove.StepMoved)
	}
	r.Seen = append(r.Seen, differ(b.c, b.proof.Test, p.Test, "")...)
	like := b.template(when)
	if len(like) != len(p.Test.Readings) {
		return nil, fmt.Errorf("the run gives %d readings, the right one %d", len(p.Test.Readings), len(like))
	}
	for k, x := range p.Test.Readings {
		if y := like[k]; x.Step != y.Step || x.Vehicle != y.Vehicle || x.Device != y.Device {
			return nil, fmt.Errorf("the run reads %s at %s where the right one reads %s at %s", x.Device, x.Step, y.Device, y.Step)
		}
	}
	r.Values = pack(p.Test.Readings)
	return r, nil
}

// pack writes what readings show, to the last bit: 8 bytes of the value, and one that is 1
// when it is out.
func pack(rs []trial.Reading) []byte {
	out := make([]byte, 0, 9*len(rs))
	for _, x := range rs {
		out = binary.LittleEndian.AppendUint64(out, math.Float64bits(x.Value))
		if x.Out {
			out = append(out, 1)
		} else {
			out = append(out, 0)
		}
	}
	return out
}

// template is the readings of the right run at the time asked: those of the test, and for
// what came about during it those of the wait.
func (b *Base) template(when string) []trial.Reading {
	after := map[string]string{MovedSince: prove.StepCharge, FailedSince: prove.StepCharge, MovedApplied: prove.StepService}[when]
	if after == "" {
		return b.proof.Test.Readings
	}
	var out, wait []trial.Reading
	for _, x := range b.still.Readings {
		if x.Step == prove.StepMoved {
			wait = append(wait, x)
		}
	}
	past := false
	for _, x := range b.proof.Test.Readings {
		if past && x.Step != after && wait != nil {
			out = append(out, wait...)
			wait = nil
		}
		past = past || x.Step == after
		out = append(out, x)
	}
	return append(out, wait...)
}

// readings are those of a proof that was kept.
func (b *Base) readings(when string, values []byte) []trial.Reading {
	out := slices.Clone(b.template(when))
	for k := range out {
		if 9*k+9 > len(values) {
			break
		}
		out[k].Value = math.Float64frombits(binary.LittleEndian.Uint64(values[9*k:]))
		out[k].Out = values[9*k+8] == 1
	}
	return out
}

// outcome words what a proof that was kept comes to for one cause, with what is judged by
// how devices stand. r nil: the network is that of the consist as it stands.
func (b *Base) outcome(cause Cause, when string, r *ran, standing []prove.Finding) Outcome {
	o := Outcome{Cause: cause, When: when, base: b, ran: r}
	notCharged := false
	if r != nil {
		o.Group, o.Seen = r.Group, r.Seen
		o.Worse = slices.Clone(r.Worse)
		notCharged = r.NotCharged
	}
	o.Worse = append(o.Worse, standing...)
	rank := map[string]int{}
	for k, q := range prove.Requirements() {
		rank[q] = k
	}
	slices.SortStableFunc(o.Worse, func(x, y prove.Finding) int { return cmp.Compare(rank[x.Requirement], rank[y.Requirement]) })
	o.Grade = graded(b.c, o.Worse)
	if notCharged {
		o.Grade = min(o.Grade, Delay)
	}
	o.Shown = shown(o.Seen)
	o.Danger, o.Shows = o.Grade.String(), o.Shown.String()
	return o
}

func shown(ss []Seen) Shown {
	out := NotShown
	for _, s := range ss {
		if s.InCab {
			return ShownInCab
		}
		out = ShownAway
	}
	return out
}

// stand is what a single change makes worse of the requirements that are judged by how
// devices stand.
func (s *search) stand(changes ...consist.Change) ([]prove.Finding, error) {
	var out []prove.Finding
	for _, q := range prove.Requirements() {
		if !prove.Standing(q) || !slices.ContainsFunc(changes, func(ch consist.Change) bool { return s.b.held.Rests(q, ch.Vehicle, ch.Device) }) {
			continue
		}
		f, err := s.b.held.Stand(q, changes...)
		if err != nil {
			return nil, err
		}
		if was, _ := s.b.proof.Finding(q); isWorse(was, f) {
			out = append(out, f)
		}
	}
	return out, nil
}

func (s *search) members() error {
	c := s.c
	for i, x := range s.set {
		v := c.Vehicles[x.Change.Vehicle]
		d, _ := v.Class.Device(x.Change.Device)
		m := Member{
			Cause: Cause{Key: fault.Key(c, x.Change), Kind: SettingCause, Says: fmt.Sprintf("%s of %s stands %s instead of %s", d.Name, v.Name(), x.Change.Position, x.Claim), Settings: []consist.Change{x.Change}},
			Unit:  v.Name(), Item: d.Name, Place: v.Class.PlaceName(d.Place), Was: x.Claim, To: x.Change.Position, Keep: d.MustNotMove, Reaches: s.group[i] != "",
		}
		standing, err := s.stand(x.Change)
		if err != nil {
			return err
		}
		m.Outcomes = append(m.Outcomes, s.b.outcome(m.Cause, SetWrong, s.of(s.group[i], SetWrong), standing))
		if m.Reaches {
			for _, when := range []string{MovedSince, MovedApplied} {
				m.Outcomes = append(m.Outcomes, s.b.outcome(m.Cause, when, s.of(s.group[i], when), nil))
			}
		}
		s.found.Members = append(s.found.Members, m.graded())
	}
	for i := range s.fail {
		f := &s.fail[i]
		v := c.Vehicles[f.Vehicle]
		m := Member{Cause: Cause{Key: f.Key, Kind: FailureCause, Says: fmt.Sprintf("%s of %s %s", f.Item, v.Name(), f.Says), Failure: f}, Unit: v.Name(), Item: f.Item, To: f.Says, Reaches: s.failIn[i] != ""}
		if d, ok := v.Class.Device(f.Part); ok {
			m.Place = v.Class.PlaceName(d.Place)
		}
		m.Outcomes = append(m.Outcomes, s.b.outcome(m.Cause, FailedSince, s.of(s.failIn[i], FailedSince), nil))
		s.found.Members = append(s.found.Members, m.graded())
	}
	return nil
}

func (s *search) of(group, when string) *ran {
	if k, ok := s.index[group+"\x00"+when]; ok && group != "" {
		return s.jobs[k].ran
	}
	return nil
}

// graded takes the worst of a member's outcomes: by who could be hurt, then by how well it
// hides.
func (m Member) graded() Member {
	m.Free = true
	for k, o := range m.Outcomes {
		m.Free = m.Free && len(o.Worse) == 0
		if k == 0 || o.Grade > m.Grade || o.Grade == m.Grade && o.Shown > m.Shown {
			m.Grade, m.Shown = o.Grade, o.Shown
		}
	}
	m.Danger, m.Shows = m.Grade.String(), m.Shown.String()
	return m
}

// bits are sets of requirements.
type bits uint32

func (s *search) bit(requirement string) bits {
	return 1 << slices.Index(prove.Requirements(), requirement)
}

func (s *search) bits(fs []prove.Finding) bits {
	var out bits
	for _, f := range fs {
		out |= s.bit(f.Requirement)
	}
	return out
}

// judgePairs says which pairs are reported, and what breaks each requirement.
func (s *search) judgePairs(ctx context.Context) error {
	qs := prove.Requirements()
	breaks := make([]Breaks, len(qs))
	for k, q := range qs {
		breaks[k] = Breaks{Requirement: q, Says: prove.Says(q)}
	}
	n := len(s.set)
	worse, seen := make([]bits, n), make([]bool, n) // set up wrong
	stands := make([]bits, n)
	var standing bits // all that is judged by how devices stand
	rests := make([]bits, n)
	for _, q := range qs {
		if prove.Standing(q) {
			standing |= s.bit(q)
		}
	}
	broken := s.broken(s.b.proof)
	held := s.bit("goes-together") | s.bit("sealed") // hold a device against what its record claims
	s.found.set = s.set
	s.found.sound = make([]bool, n)
	for k, m := range s.found.Members {
		for _, o := range m.Outcomes {
			for _, f := range o.Worse {
				b := &breaks[slices.Index(qs, f.Requirement)]
				list := &b.Settings
				if m.Kind == FailureCause {
					list = &b.Failures
				}
				if len(*list) == 0 || (*list)[len(*list)-1] != m.Key {
					*list = append(*list, m.Key)
				}
			}
		}
		if m.Kind != SettingCause {
			continue
		}
		worse[k], seen[k] = s.bits(m.Outcomes[0].Worse), len(m.Outcomes[0].Seen) > 0
		stands[k] = worse[k] & standing
		for _, q := range qs {
			ch := m.Settings[0]
			if prove.Standing(q) && s.b.held.Rests(q, ch.Vehicle, ch.Device) {
				rests[k] |= s.bit(q)
			}
		}
		s.found.sound[k] = s.air(s.group[k]) == 0 && (worse[k]|broken)&standing&^held == 0
	}
	s.found.Breaks = breaks
	s.found.both = map[[2]int]bool{}
	at := map[string]int{}
	last := int32(-1)
	sizes := make([]int, len(s.order))
	type verdict struct {
		worse bits
		seen  bool
		broke bits
	}
	of := map[string]verdict{}
	for _, p := range s.pairOf {
		if p.a != last {
			if last = p.a; ctx.Err() != nil {
				return ctx.Err()
			}
		}
		if p.group >= 0 {
			sizes[p.group]++
		}
		v, ok := of[p.name]
		if !ok {
			if r := s.of(p.name, SetWrong); r != nil {
				v = verdict{s.bits(r.Worse), len(r.Seen) > 0, s.air(p.name)}
			} else {
				v = verdict{broke: s.air("")}
			}
			of[p.name] = v
		}
		a, b := worse[p.a], worse[p.b]
		both := v.worse
		var fs []prove.Finding
		if shared := rests[p.a] & rests[p.b]; shared == 0 {
			both |= stands[p.a] | stands[p.b]
		} else { // what is judged by how both stand is judged anew
			both |= (stands[p.a] | stands[p.b]) &^ shared
			x, y := s.set[p.a].Change, s.set[p.b].Change
			for k, q := range qs {
				if shared&(1<<k) == 0 || q == "sealed" || q == "hand-brakes" || q == "coupled" {
					// each device is looked at by itself: the pair ends worse where a half does
					both |= (stands[p.a] | stands[p.b]) & shared & (1 << k)
					continue
				}
				f, err := s.b.held.Stand(q, x, y)
				if err != nil {
					return err
				}
				if was, _ := s.b.proof.Finding(q); isWorse(was, f) {
					both |= 1 << k
					fs = append(fs, f)
				}
			}
		}
		for k := range qs {
			bit := bits(1) << k
			switch {
			case both&bit != 0 && (a|b)&bit == 0:
				breaks[k].Pairs = append(breaks[k].Pairs, s.pairKey(p))
			case both&bit == 0 && (a|b)&bit != 0:
				breaks[k].Mended = append(breaks[k].Mended, s.pairKey(p))
			}
		}
		if (a|b)&^both != 0 && both != 0 {
			s.found.Counts.PartlyMasked++
		}
		sound := v.broke == 0 && (both|broken)&standing&^held == 0
		if sound != (s.found.sound[p.a] && s.found.sound[p.b]) {
			s.found.both[[2]int{int(p.a), int(p.b)}] = sound
		}
		why := ""
		switch {
		case a|b == 0 && both != 0:
			why = Together
		case a|b != 0 && both == 0:
			why = Masks
		case both != 0 && !v.seen && (a != 0 && seen[p.a] || b != 0 && seen[p.b]):
			why = Hides
		default:
			continue
		}
		id := fmt.Sprintf("%s\x00%s\x00%d", why, p.name, both)
		if why == Masks { // what is masked tells them apart
			id = fmt.Sprintf("%s\x00%s\x00%s\x00%d", why, s.group[p.a], s.group[p.b], a|b)
		}
		k, ok := at[id]
		if !ok {
			k = len(s.found.PairsFound)
			at[id] = k
			cause := s.pairCause(p)
			all, err := s.stand(cause.Settings...)
			if err != nil {
				return err
			}
			s.found.PairsFound = append(s.found.PairsFound, PairFound{Why: why, Outcome: s.b.outcome(cause, SetWrong, s.of(p.name, SetWrong), all)})
		}
		s.found.PairsFound[k].Keys = append(s.found.PairsFound[k].Keys, s.pairKey(p))
	}
	for k, g := range s.order {
		first := s.pairOf[slices.IndexFunc(s.pairOf, func(p pairOf) bool { return p.group == int32(k) })]
		s.found.PairGroups = append(s.found.PairGroups, PairGroup{First: s.pairCause(first), Pairs: sizes[k], ran: s.of(g, SetWrong), f: s.found})
	}
	return nil
}

// broken are the requirements that a proof finds broken.
func (s *search) broken(p *prove.Proof) bits {
	var out bits
	for _, f := range p.Findings {
		if f.Status == prove.Broken {
			out |= s.bit(f.Requirement)
		}
	}
	return out
}

// air are the requirements that the runs of a group find broken; "" as the consist stands.
func (s *search) air(group string) bits {
	var out bits
	r := s.of(group, SetWrong)
	if r == nil {
		for _, f := range s.b.proof.Findings {
			if f.Status == prove.Broken && !prove.Standing(f.Requirement) {
				out |= s.bit(f.Requirement)
			}
		}
		return out
	}
	for _, q := range r.Broken {
		out |= s.bit(q)
	}
	return out
}

func (s *search) pairKey(p pairOf) string {
	return s.found.Members[p.a].Key + " & " + s.found.Members[p.b].Key
}

func (s *search) pairCause(p pairOf) Cause {
	x, y := &s.found.Members[p.a], &s.found.Members[p.b]
	return Cause{Key: s.pairKey(p), Kind: PairCause, Says: x.Says + ", and " + y.Says, Settings: []consist.Change{x.Settings[0], y.Settings[0]}}
}

func (s *search) count() {
	n := &s.found.Counts
	n.Settings, n.Failures, n.Groups, n.PairGroups = len(s.set), len(s.fail), s.single, len(s.order)
	n.Pairs = len(s.pairOf)
	if s.opt.Failures {
		n.FailGroups = 1
		for _, g := range s.failIn {
			if g != "" {
				n.FailGroups++
			}
		}
	}
	for _, j := range s.jobs {
		n.Proofs++
		n.Runs += j.ran.Runs
		if _, ok := s.before[j.group+"\x00"+j.when]; ok {
			n.Kept++
		}
	}
	for _, m := range s.found.Members {
		if m.Free {
			n.Free++
		} else if m.Shown == NotShown {
			n.Hidden++
		}
	}
}

// Worst are the members that make a requirement end worse, the worst first: by who could be
// hurt, then by how well it hides, then in the order of the records.
func (f *Found) Worst() []Member {
	var out []Member
	for _, m := range f.Members {
		if !m.Free {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b Member) int {
		return cmp.Or(cmp.Compare(b.Grade, a.Grade), cmp.Compare(b.Shown, a.Shown))
	})
	return out
}
