// Package diagnose reads the runs of the brake test backwards: from what was seen at any of
// its steps to every cause that gives just that, to what contradicts each other one, and to
// the look that splits the causes left best for the time it takes. Every cause is run as the
// search of wrong settings runs it; nothing here knows what a brake does.
//
// A cause fits when every reading that was entered lies within the band of its own run. No
// cause is dropped: those that do not fit are kept with what contradicts them. Where none
// fits, the readings themselves are asked which of them cannot stand together, and the
// parts which of them cannot all be sound.
//
// Looks that need somebody between vehicles, beneath one or on a roof are never proposed,
// nor is a step that lets brakes go unless the train is said to be secured, nor anything
// that moves what must not be moved.
//
// Incomplete: pairs are those of two wrong settings, set up wrong; a pair with a part that
// has failed is not looked at. Electrical causes are known by what they do to the air.
package diagnose

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"headstock/consist"
	"headstock/internal/cover"
	"headstock/internal/reading"
	"headstock/prove"
	"headstock/quantity"
	"headstock/setup"
	"headstock/trial"
)

// Saw is one thing that was seen: a reading at a step, or how a device stands.
type Saw struct {
	Text   string  `json:"entered"`
	Step   string  `json:"step,omitempty"` // "": how a device stands, at the end
	Unit   string  `json:"unit"`
	Device string  `json:"device"` // id
	Name   string  `json:"name"`
	Value  string  `json:"value"`
	SI     float64 `json:"si"` // gauge pascals, of a gauge; 0 for what else is seen
	Out    bool    `json:"out"`
	Kind   string  `json:"kind"`
	NotYet bool    `json:"not_looked_at,omitempty"`
	As     string  `json:"as"` // against the right reading: setup.Told in words, or "as it should stand"

	vehicle int
	look    int // index into the looks
}

// NotLookedAt is the value of a reading that nobody took.
const NotLookedAt = "not looked at"

// Fit is one cause at one time, held against what was seen.
type Fit struct {
	Cause       setup.Cause `json:"cause"`
	When        string      `json:"when"`
	Times       []string    `json:"further_times,omitempty"` // at which the same cause fits as well
	Fits        bool        `json:"fits"`
	Contradicts []int       `json:"contradicted_by,omitempty"` // of the saws
	Also        []string    `json:"reads_the_same,omitempty"`  // causes of the same run

	group    string
	readings []trial.Reading
	case_    int
}

// Rank is how a cause that fits is ranked, in words.
func (f *Fit) Rank() string {
	switch {
	case f.Cause.Kind == setup.PairCause:
		return "two things at once"
	case f.Cause.Kind == setup.FailureCause:
		return "a part that has failed"
	case f.When == setup.SetWrong:
		return "a device set up wrong"
	}
	return "a device moved since"
}

func (f *Fit) order() int {
	switch {
	case f.Cause.Kind == setup.PairCause:
		return 3
	case f.Cause.Kind == setup.FailureCause:
		return 2
	case f.When != setup.SetWrong:
		return 1
	}
	return 0
}

// Answer is what can be the matter.
type Answer struct {
	Consist  string     `json:"consist"`
	Saws     []Saw      `json:"seen"`
	Last     string     `json:"as_far_as_step"` // the last step that something was seen at
	Nothing  bool       `json:"nothing_wrong_seen"`
	Fits     []Fit      `json:"fits"`             // ranked
	Others   []Fit      `json:"do_not_fit"`       // the least contradicted first
	Looked   int        `json:"causes"`           // causes at their times
	Pairs    int        `json:"pairs"`            // pairs looked at
	TooMany  int        `json:"pairs_too_many"`   // pairs that were not looked at, because they are more than was bounded; else 0
	Runs     int        `json:"runs"`             // runs of the test
	Clash    [][]int    `json:"cannot_all_be"`    // of the saws: no cause looked at gives all of one of these
	Misread  [][]int    `json:"if_misread"`       // of the saws: were just these misread, some cause fits
	Suspect  []Conflict `json:"not_all_sound"`    // for each saw that is not right: parts not all of which are sound
	Common   []string   `json:"in_every_one"`     // parts that are in every one of those
	Next     []Next     `json:"next"`             // the best first
	Withheld []string   `json:"not_proposed"`     // what would split them but is not safe as the train stands
	Mending  []Mending  `json:"put_right"`        // what putting a cause right would show
	Alike    [][]string `json:"never_told_apart"` // causes that fit and that no look proposed tells apart

	looks []setup.Look
	base  *setup.Base
	gauge func(pa float64) string
}

// Looks are the readings of the test.
func (a *Answer) Looks() []setup.Look { return a.looks }

// Conflict is parts that cannot all be sound: each moves a reading that is not right.
type Conflict struct {
	Saw   int      `json:"seen"`
	Parts []string `json:"parts"`
}

// Options of a diagnosis.
type Options struct {
	Failures bool // parts that fail too
	Pairs    bool // pairs of wrong settings even where a single cause fits
	Secured  bool // the train is held by hand brakes or chocks: steps that let brakes go may be proposed
	Workers  int  // 0: as many as the machine has processors; the answer does not hang on it

	// Ran gives the readings of a test that was run with a cause already, as
	// setup.Outcome.Readings does; nil or not ok: it is run.
	Ran       func(cause setup.Cause, when string) ([]trial.Reading, bool)
	MostPairs int // more pairs than these are not looked at; 0: no bound

	Gauge func(pa float64) string // words a pressure in the user's units; nil: kilopascals
}

// Parse reads "step/unit.device=value", or "unit.device=position" for how a device
// stands. An error says what was expected, with the nearest step, unit or device.
func Parse(b *setup.Base, text string) (Saw, error) {
	s := Saw{Text: text, look: -1}
	left, value, ok := strings.Cut(text, "=")
	if !ok {
		return s, fmt.Errorf("expected step/unit.device=value, or unit.device=position for how it stands, found %q", text)
	}
	s.Value = strings.TrimSpace(value)
	if step, rest, ok := strings.Cut(left, "/"); ok {
		s.Step, left = strings.TrimSpace(step), rest
	}
	who, dev, ok := strings.Cut(left, ".")
	if !ok {
		return s, fmt.Errorf("expected step/unit.device=value, found %q: there is no unit before a full stop", text)
	}
	return s, s.read(b, strings.TrimSpace(who), strings.TrimSpace(dev))
}

// Read takes a reading as it is entered on a sheet; an empty value is one not looked at.
// An error says what was expected, with the nearest step, unit or device.
func Read(b *setup.Base, e prove.Entered) (Saw, error) {
	s := Saw{Text: fmt.Sprintf("%s/%s.%s=%s", e.Step, e.Unit, e.Device, e.Value), Step: e.Step, Value: e.Value, look: -1}
	if err := s.read(b, e.Unit, e.Device); err != nil {
		return s, fmt.Errorf("line %d: %w", e.Line, err)
	}
	return s, nil
}

func (s *Saw) read(b *setup.Base, who, dev string) error {
	c := b.Consist()
	i, err := c.Find(who)
	if err != nil {
		return err
	}
	d, err := c.Named(i, dev)
	if err != nil {
		return err
	}
	s.vehicle, s.Unit, s.Device, s.Name, s.Kind = i, c.Vehicles[i].Name(), d.ID, d.Name, d.Kind
	s.NotYet = s.Value == "" || strings.EqualFold(s.Value, NotLookedAt)
	if s.Step == "" {
		s.Kind = "position"
		if s.NotYet {
			return nil
		}
		_, err := c.With(consist.Change{Vehicle: i, Device: d.ID, Position: s.Value})
		return err
	}
	var steps []string
	for _, x := range b.Proof().Test.Procedure.Steps {
		if x.Read {
			steps = append(steps, x.ID)
		}
	}
	if !slices.Contains(steps, s.Step) {
		return fmt.Errorf("no step %q in this test; expected one of %s%s", s.Step, strings.Join(steps, ", "), reading.Hint(s.Step, steps))
	}
	s.look = slices.IndexFunc(b.Looks(), func(l setup.Look) bool { return l.Step == s.Step && l.Vehicle == i && l.Device == d.ID })
	if s.look < 0 {
		return fmt.Errorf("%s of %s is not read in this test", d.Name, s.Unit)
	}
	if s.NotYet {
		return nil
	}
	switch s.Kind {
	case "gauge":
		v, err := quantity.Parse(s.Value)
		if err != nil || v.Kind != quantity.Pressure {
			return fmt.Errorf("expected a pressure such as \"350 kPa\", found %q", s.Value)
		}
		s.SI = v.SI
	default:
		words := [2]string{"in", "out"}
		if s.Kind == "exhaust" {
			words = [2]string{"quiet", "blows"}
		}
		is := strings.ToLower(s.Value)
		if is != words[0] && is != words[1] {
			return fmt.Errorf("expected %q or %q, found %q", words[0], words[1], s.Value)
		}
		s.Out = is == words[1]
	}
	return nil
}

// Find says what can be the matter. Two entries for one reading that differ are an error.
func Find(ctx context.Context, b *setup.Base, saws []Saw, opt Options) (*Answer, error) {
	a := &Answer{Consist: b.Consist().String(), Saws: slices.Clone(saws), looks: b.Looks(), base: b, gauge: opt.Gauge}
	if a.gauge == nil {
		a.gauge = func(pa float64) string { return fmt.Sprintf("%.0f kPa", pa/1e3) }
	}
	if !slices.ContainsFunc(saws, func(s Saw) bool { return !s.NotYet }) {
		return nil, fmt.Errorf("nothing that was seen is entered")
	}
	steps := stepsOf(b)
	at := -1
	for k, s := range saws {
		for _, o := range saws[:k] {
			if o.Step == s.Step && o.vehicle == s.vehicle && o.Device == s.Device && (o.NotYet != s.NotYet || o.SI != s.SI || o.Out != s.Out || s.Step == "" && o.Value != s.Value) {
				return nil, fmt.Errorf("%q and %q are of one reading", o.Text, s.Text)
			}
		}
		if n := slices.Index(steps, s.Step); !s.NotYet {
			at = max(at, n)
		}
	}
	if at < 0 { // only positions: the train is taken as charged
		at = 0
	}
	a.Last = steps[at]
	a.Nothing = a.right()
	cases := b.Cases(opt.Failures)
	a.Looked = len(cases)
	fits, err := a.play(ctx, cases, opt)
	if err != nil {
		return nil, err
	}
	single := slices.ContainsFunc(fits, func(f Fit) bool { return f.Fits })
	if opt.Pairs || !single && !a.Nothing {
		pairs, err := a.pairs(ctx, cases, opt)
		if err != nil {
			return nil, err
		}
		fits = append(fits, pairs...)
	}
	a.sort(fits)
	if len(a.Fits) == 0 && !a.Nothing {
		a.clash()
	}
	a.suspects(fits)
	if len(a.Fits) > 0 && !a.Nothing {
		a.next(opt)
		if err := a.mending(); err != nil {
			return nil, err
		}
	}
	return a, nil
}

func stepsOf(b *setup.Base) []string {
	var out []string
	for _, s := range b.Proof().Test.Procedure.Steps {
		if s.Read {
			out = append(out, s.ID)
		}
	}
	return out
}

// right judges each saw against the consist as it stands, and reports whether all are as
// they should be.
func (a *Answer) right() bool {
	all := true
	rs := a.base.Proof().Test.Readings
	c := a.base.Consist()
	for k := range a.Saws {
		s := &a.Saws[k]
		switch {
		case s.NotYet:
			s.As = NotLookedAt
		case s.Step == "":
			s.As = "as it should stand"
			if at, _ := c.Position(s.vehicle, s.Device); at != s.Value {
				s.As, all = "not as it should stand: "+at, false
			}
		default:
			l := &a.looks[s.look]
			s.As = "as expected"
			if !a.base.Shows(l, rs, l.Right(), s.SI, s.Out) {
				s.As, all = "not as expected", false
			}
		}
	}
	return all
}

// contradicted are the saws that a run with a cause does not give.
func (a *Answer) contradicted(cause setup.Cause, rs []trial.Reading) []int {
	var out []int
	c := a.base.Consist()
	for k, s := range a.Saws {
		if s.NotYet {
			continue
		}
		if s.Step == "" {
			at, _ := c.Position(s.vehicle, s.Device)
			for _, ch := range cause.Settings {
				if ch.Vehicle == s.vehicle && ch.Device == s.Device {
					at = ch.Position
				}
			}
			if at != s.Value {
				out = append(out, k)
			}
			continue
		}
		l := &a.looks[s.look]
		rd, ok := find(rs, l)
		if !ok || !a.base.Shows(l, rs, rd, s.SI, s.Out) {
			out = append(out, k)
		}
	}
	return out
}

func find(rs []trial.Reading, l *setup.Look) (trial.Reading, bool) {
	k := slices.IndexFunc(rs, func(x trial.Reading) bool {
		return x.Step == l.Step && x.Vehicle == l.Vehicle && x.Device == l.Device
	})
	if k < 0 {
		return trial.Reading{}, false
	}
	return rs[k], true
}

// play runs the test with each case, cases of one group once, and holds each against what
// was seen.
func (a *Answer) play(ctx context.Context, cases []setup.Case, opt Options) ([]Fit, error) {
	type key struct{ group, when string }
	first := map[key]int{}
	var jobs []int
	results := make([][]trial.Reading, len(cases))
	for k, x := range cases {
		if _, ok := first[key{x.Group, x.When}]; !ok && x.Group != "" {
			first[key{x.Group, x.When}] = k
			if opt.Ran != nil {
				if rs, ok := opt.Ran(x.Cause, x.When); ok {
					// what is read within the wait after a move is no reading of the sheet
					results[k] = slices.DeleteFunc(rs, func(rd trial.Reading) bool { return rd.Step == prove.StepMoved })
					continue
				}
			}
			jobs = append(jobs, k)
		}
	}
	workers := opt.Workers
	failed := make([]error, len(jobs))
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var mu sync.Mutex
	var wait sync.WaitGroup
	next := 0
	for range min(workers, len(jobs)) {
		wait.Go(func() {
			for {
				mu.Lock()
				n := next
				next++
				mu.Unlock()
				if n >= len(jobs) || ctx.Err() != nil {
					return
				}
				k := jobs[n]
				res, _, err := a.base.Play(cases[k].Cause, cases[k].When, "")
				if err != nil {
					failed[n] = fmt.Errorf("%s: %w", cases[k].Cause.Key, err)
					continue
				}
				results[k] = res.Readings
			}
		})
	}
	wait.Wait()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	for _, err := range failed {
		if err != nil {
			return nil, err
		}
	}
	a.Runs += len(jobs)
	var out []Fit
	for k, x := range cases {
		rs := a.base.Proof().Test.Readings
		if x.Group != "" {
			rs = results[first[key{x.Group, x.When}]]
		}
		f := Fit{Cause: x.Cause, When: x.When, group: x.Group, readings: rs, case_: k}
		f.Contradicts = a.contradicted(x.Cause, rs)
		f.Fits = len(f.Contradicts) == 0
		out = append(out, f)
	}
	return out, nil
}

// pairs runs every two wrong settings that each make another network, one of each network,
// set up wrong. A pair one half of which moves no air reads as the other half alone.
func (a *Answer) pairs(ctx context.Context, cases []setup.Case, opt Options) ([]Fit, error) {
	var one []setup.Case
	for _, x := range cases {
		if x.When == setup.SetWrong && x.Group == x.Cause.Key {
			one = append(one, x)
		}
	}
	var both []setup.Case
	for i, x := range one {
		for _, y := range one[i+1:] {
			p, q := x.Cause.Settings[0], y.Cause.Settings[0]
			if p.Vehicle == q.Vehicle && p.Device == q.Device {
				continue
			}
			key := x.Cause.Key + " & " + y.Cause.Key
			both = append(both, setup.Case{Cause: setup.Cause{Key: key, Kind: setup.PairCause, Says: x.Cause.Says + ", and " + y.Cause.Says, Settings: []consist.Change{p, q}}, When: setup.SetWrong, Group: key})
		}
	}
	if opt.MostPairs > 0 && len(both) > opt.MostPairs {
		a.TooMany = len(both)
		return nil, nil
	}
	a.Pairs = len(both)
	opt.Ran = nil
	fits, err := a.play(ctx, both, opt)
	return slices.DeleteFunc(fits, func(f Fit) bool { return !f.Fits && len(f.Contradicts) > 1 }), err
}

// sort ranks the causes: those that fit, then the least contradicted; of equals a device set
// up wrong before one moved since, before a part that has failed, before two things at once.
// Those of one run are drawn together, because no reading tells them apart; so are those
// that do not fit and move no air, and the times of one cause that fits.
func (a *Answer) sort(fits []Fit) {
	slices.SortStableFunc(fits, func(x, y Fit) int {
		if c := cmp.Compare(len(x.Contradicts), len(y.Contradicts)); c != 0 {
			return c
		}
		return cmp.Compare(x.order(), y.order())
	})
	for _, f := range fits {
		list := &a.Others
		if f.Fits {
			list = &a.Fits
		}
		k := slices.IndexFunc(*list, func(o Fit) bool {
			return (f.group != "" || !f.Fits) && o.group == f.group && o.When == f.When && slices.Equal(o.Contradicts, f.Contradicts)
		})
		if k >= 0 {
			(*list)[k].Also = append((*list)[k].Also, f.Cause.Key)
			continue
		}
		if k := slices.IndexFunc(a.Fits, func(o Fit) bool { return f.Fits && o.Cause.Key == f.Cause.Key }); k >= 0 {
			a.Fits[k].Times = append(a.Fits[k].Times, f.When)
			continue
		}
		*list = append(*list, f)
	}
}

// clash finds which readings cannot stand together. A set of them that hits what
// contradicts every cause is given by none; a smallest set that contradicts a cause is what
// would have to be misread for it to fit.
func (a *Answer) clash() {
	var against []cover.Bits
	for _, f := range a.Others {
		var b cover.Bits
		for _, k := range f.Contradicts {
			if k < 64 {
				b |= cover.Of(k)
			}
		}
		against = append(against, b)
	}
	against = cover.Minimal(against)
	for _, b := range against {
		a.Misread = append(a.Misread, b.Things())
	}
	// all of them where there are few; the smallest grow fast in number
	if len(against) <= mostAgainst {
		for _, b := range cover.Transversals(against) {
			a.Clash = append(a.Clash, b.Things())
		}
	}
}

// mostAgainst bounds the work of clash.
const mostAgainst = 24

// suspects names for each reading that is not right the parts of which some failure moves
// it: whatever the matter is, they are not all sound and rightly set.
func (a *Answer) suspects(fits []Fit) {
	for k, s := range a.Saws {
		if s.NotYet || s.Step == "" || s.As != "not as expected" {
			continue
		}
		l := &a.looks[s.look]
		var parts []string
		for _, f := range fits {
			if f.group == "" || f.Cause.Kind == setup.PairCause {
				continue
			}
			rd, ok := find(f.readings, l)
			if !ok || a.base.Shows(l, f.readings, rd, l.Right().Value, prove.Seen(l.Right())) {
				continue
			}
			if p := part(a.base.Consist(), f.Cause); !slices.Contains(parts, p) {
				parts = append(parts, p)
			}
		}
		if len(parts) > 0 {
			a.Suspect = append(a.Suspect, Conflict{k, parts})
		}
	}
	for n, c := range a.Suspect {
		if n == 0 {
			a.Common = slices.Clone(c.Parts)
			continue
		}
		a.Common = slices.DeleteFunc(a.Common, func(p string) bool { return !slices.Contains(c.Parts, p) })
	}
}

// part is what a cause is about: "Kite 11, Pipe changeover, upper lever".
func part(c *consist.Consist, cause setup.Cause) string {
	if cause.Failure != nil {
		return c.Vehicles[cause.Failure.Vehicle].Name() + ", " + cause.Failure.Item
	}
	var out []string
	for _, ch := range cause.Settings {
		v := c.Vehicles[ch.Vehicle]
		d, _ := v.Class.Device(ch.Device)
		out = append(out, v.Name()+", "+d.Name)
	}
	return strings.Join(out, " and ")
}
