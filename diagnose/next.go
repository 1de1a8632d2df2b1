package diagnose

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"headstock/internal/probe"
	"headstock/prove"
	"headstock/setup"
	"headstock/trial"
)

// Next is a look that splits the causes left.
type Next struct {
	Say     string    `json:"say"`
	Place   string    `json:"place"`
	Step    string    `json:"step"`    // at which it is taken; the present one where nothing is moved for it
	Seconds float64   `json:"seconds"` // to walk there, wait and look
	Splits  []Outcome `json:"splits"`
	Tells   float64   `json:"bits"` // what it tells where all causes that fit count alike
	Needs   []string  `json:"needs,omitempty"`
}

// Outcome is what a look may show, and the causes that would be left then.
type Outcome struct {
	Shows  string   `json:"shows"`
	Causes []string `json:"causes"` // by what would be put right
}

// Mending is what putting a cause right would show at once.
type Mending struct {
	Cause string    `json:"cause"`
	Do    string    `json:"do"`
	Wait  float64   `json:"wait"` // s
	Shows []Changed `json:"shows"`
	Never string    `json:"never,omitempty"` // why it is not to be done here
}

// Changed is one reading before and after.
type Changed struct {
	Unit   string  `json:"unit"`
	Name   string  `json:"name"`
	Place  string  `json:"place"`
	Kind   string  `json:"kind"`
	Was    float64 `json:"was"`     // in the measure of trial.Reading
	Is     float64 `json:"is"`      // likewise
	WasOut bool    `json:"was_out"` // of a piston, or of an exhaust that it blew
	IsOut  bool    `json:"is_out"`
}

// atDevice is the time to see what one device shows or how it stands, s (common practice).
const atDevice = 5

// suspect is one thing that would be put right: the causes of it are one question.
type suspect struct {
	name string
	fits []*Fit
}

// repairs gathers the causes that fit by what would be put right, in their order.
func (a *Answer) repairs() []suspect {
	var out []suspect
	for k := range a.Fits {
		f := &a.Fits[k]
		p := part(a.base.Consist(), f.Cause)
		n := slices.IndexFunc(out, func(s suspect) bool { return s.name == p })
		if n < 0 {
			n = len(out)
			out = append(out, suspect{name: p})
		}
		out[n].fits = append(out[n].fits, f)
	}
	return out
}

// releasing are the steps of the test that let brakes go.
var releasing = []string{prove.StepLetGo, prove.StepBail, prove.StepRelease, prove.StepIndOff, prove.StepRecover}

// next finds the looks that split what is left, by what they tell for each minute.
func (a *Answer) next(opt Options) {
	what := a.repairs()
	if len(what) < 2 {
		return
	}
	type candidate struct {
		Next
		vehicle int
		outcome []string // by suspect
	}
	var all []candidate
	c := a.base.Consist()
	steps := a.base.Proof().Test.Procedure.Steps
	now := slices.IndexFunc(steps, func(s trial.Step) bool { return s.ID == a.Last })
	// readings at the present step and at later ones, a place at a time
	waited := 0.0
	loosens := ""
	for n := max(now, 0); n < len(steps); n++ {
		s := steps[n]
		if n > now {
			waited += s.For
			if m, ok := a.base.Proof().Test.At(s.ID); ok && s.Until != nil {
				waited += m.Took
			}
			if slices.Contains(releasing, s.ID) && loosens == "" {
				loosens = s.ID
			}
		}
		if !s.Read {
			continue
		}
		type at struct {
			vehicle int
			place   string
		}
		places := map[at][]int{}
		var order []at
		for k, l := range a.looks {
			if l.Step != s.ID || l.ByChance() || slices.ContainsFunc(a.Saws, func(x Saw) bool { return x.look == k && !x.NotYet }) {
				continue
			}
			p := at{l.Vehicle, l.PlaceID()}
			if _, ok := places[p]; !ok {
				order = append(order, p)
			}
			places[p] = append(places[p], k)
		}
		for _, p := range order {
			x := candidate{vehicle: p.vehicle}
			x.outcome = a.shown(what, places[p])
			if same(x.outcome) {
				continue
			}
			v := c.Vehicles[p.vehicle]
			x.Place, x.Step = v.Class.PlaceName(p.place), s.ID
			var names []string
			for _, k := range places[p] {
				if a.splits(what, k) {
					names = append(names, a.looks[k].Name)
				}
			}
			x.Say = fmt.Sprintf("on %s, %s: look at %s", v.Name(), x.Place, strings.Join(names, " and "))
			if n > now {
				x.Say = fmt.Sprintf("go on with the test to step %s (%s), then ", s.ID, strings.ToLower(s.Say[:1])+s.Say[1:]) + x.Say
			}
			walk, unsaid := a.base.Round(p.vehicle, p.place)
			switch {
			case !a.base.Reachable(p.vehicle, p.place):
				a.withhold(x.Say, "it needs somebody between vehicles, beneath one or on a roof")
				continue
			case unsaid != "":
				a.withhold(x.Say, "cannot say how long it takes: needs "+unsaid)
				continue
			case loosens != "" && !opt.Secured:
				a.withhold(x.Say, "step "+loosens+" lets brakes go; first secure the train by hand brakes or chocks, and say that it is")
				continue
			}
			if loosens != "" {
				x.Needs = append(x.Needs, "the train secured by hand brakes or chocks")
			}
			x.Seconds = waited + walk + atDevice*float64(len(names))
			all = append(all, x)
		}
	}
	// how devices stand, a place at a time
	for i, v := range c.Vehicles {
		for _, p := range v.Class.Places {
			x := candidate{vehicle: i}
			var names []string
			for _, w := range what {
				stands := ""
				for _, f := range w.fits {
					for _, ch := range f.Cause.Settings {
						d, _ := v.Class.Device(ch.Device)
						if ch.Vehicle != i || d.Place != p.ID || slices.ContainsFunc(a.Saws, func(s Saw) bool { return s.Step == "" && !s.NotYet && s.vehicle == i && s.Device == d.ID }) {
							continue
						}
						stands += fmt.Sprintf("%s stands %s; ", d.Name, ch.Position)
						if !slices.Contains(names, d.Name) {
							names = append(names, d.Name)
						}
					}
				}
				if stands == "" {
					stands = "as on the card"
				}
				x.outcome = append(x.outcome, strings.TrimSuffix(stands, "; "))
			}
			if same(x.outcome) {
				continue
			}
			x.Place, x.Step = p.Name, a.Last
			x.Say = fmt.Sprintf("on %s, %s: see how %s stands", v.Name(), p.Name, strings.Join(names, " and "))
			walk, unsaid := a.base.Round(i, p.ID)
			switch {
			case !a.base.Reachable(i, p.ID):
				a.withhold(x.Say, "it needs somebody between vehicles, beneath one or on a roof")
				continue
			case unsaid != "":
				a.withhold(x.Say, "cannot say how long it takes: needs "+unsaid)
				continue
			}
			x.Seconds = walk + atDevice*float64(len(names))
			all = append(all, x)
		}
	}
	weights := slices.Repeat([]float64{1}, len(what))
	before := probe.Entropy(weights)
	looks := make([]probe.Look, len(all))
	for k := range all {
		looks[k] = probe.Look{Cost: max(all[k].Seconds, 1) / 60, Outcome: numbered(all[k].outcome)}
		all[k].Tells = before - probe.After(weights, looks[k])
		for n, shows := range all[k].outcome {
			o := slices.IndexFunc(all[k].Splits, func(o Outcome) bool { return o.Shows == shows })
			if o < 0 {
				o = len(all[k].Splits)
				all[k].Splits = append(all[k].Splits, Outcome{Shows: shows})
			}
			all[k].Splits[o].Causes = append(all[k].Splits[o].Causes, what[n].name)
		}
	}
	// where there is little, the first look of the plan of least expected time goes before
	first := -1
	if len(what) <= few && len(all) > 0 && len(all) <= fewLooks {
		if p, err := probe.Exact(weights, looks); err == nil {
			first = p.Look
		}
	} else {
		first = probe.Next(weights, looks)
	}
	order := make([]int, len(all))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(x, y int) int {
		if (x == first) != (y == first) {
			if x == first {
				return -1
			}
			return 1
		}
		return cmp.Compare(all[y].Tells/looks[y].Cost, all[x].Tells/looks[x].Cost)
	})
	for _, k := range order {
		a.Next = append(a.Next, all[k].Next)
	}
	a.alike(what, func(x, y int) bool {
		for k := range all {
			if all[k].outcome[x] != all[k].outcome[y] {
				return false
			}
		}
		return true
	})
}

// few causes and looks are planned to the end; more by one look ahead.
const few, fewLooks = 12, 60

func (a *Answer) withhold(say, why string) {
	if s := say + ": " + why; !slices.Contains(a.Withheld, s) {
		a.Withheld = append(a.Withheld, s)
	}
}

// alike gathers the causes that no look proposed tells apart.
func (a *Answer) alike(what []suspect, same func(x, y int) bool) {
	done := make([]bool, len(what))
	for x := range what {
		if done[x] {
			continue
		}
		group := []string{what[x].name}
		for y := x + 1; y < len(what); y++ {
			if !done[y] && same(x, y) {
				done[y] = true
				group = append(group, what[y].name)
			}
		}
		if len(group) > 1 {
			a.Alike = append(a.Alike, group)
		}
	}
}

func same(list []string) bool {
	return !slices.ContainsFunc(list, func(s string) bool { return s != list[0] })
}

func numbered(list []string) []int {
	var seen []string
	var out []int
	for _, s := range list {
		k := slices.Index(seen, s)
		if k < 0 {
			k = len(seen)
			seen = append(seen, s)
		}
		out = append(out, k)
	}
	return out
}

// shown words what each suspect shows at some looks. Gauges that nobody could tell apart
// show the same: the values are put in order and parted where a gap is wider than what the
// gauge may err on both sides. A suspect whose causes show differently shows "either".
func (a *Answer) shown(what []suspect, looks []int) []string {
	out := make([]string, len(what))
	for _, k := range looks {
		for n, w := range a.bins(what, k) {
			if w != "" {
				if out[n] != "" {
					out[n] += ", "
				}
				out[n] += w
			}
		}
	}
	return out
}

// splits reports whether a look alone tells any two suspects apart.
func (a *Answer) splits(what []suspect, look int) bool { return !same(a.bins(what, look)) }

func (a *Answer) bins(what []suspect, look int) []string {
	l := &a.looks[look]
	type at struct {
		value float64
		n     int
	}
	var values []at
	words := make([][]string, len(what))
	for n, w := range what {
		for _, f := range w.fits {
			rd, ok := find(f.readings, l)
			if !ok {
				continue
			}
			if l.Kind == "gauge" {
				values = append(values, at{rd.Value, n})
				continue
			}
			word := [2]string{"in", "out"}
			if l.Kind == "exhaust" {
				word = [2]string{"quiet", "blowing"}
			}
			s := word[0]
			if prove.Seen(rd) {
				s = word[1]
			}
			if s = l.Name + " " + s; !slices.Contains(words[n], s) {
				words[n] = append(words[n], s)
			}
		}
	}
	slices.SortStableFunc(values, func(x, y at) int { return cmp.Compare(x.value, y.value) })
	for from := 0; from < len(values); {
		to := from + 1
		for to < len(values) && values[to].value-values[to-1].value <= 2*tolerance(a.base, l) {
			to++
		}
		low, high := a.gauge(values[from].value), a.gauge(values[to-1].value)
		s := fmt.Sprintf("%s about %s", l.Name, low)
		if high != low {
			s = fmt.Sprintf("%s %s to %s", l.Name, low, high)
		}
		for _, v := range values[from:to] {
			if !slices.Contains(words[v.n], s) {
				words[v.n] = append(words[v.n], s)
			}
		}
		from = to
	}
	out := make([]string, len(what))
	for n := range what {
		slices.Sort(words[n])
		out[n] = strings.Join(words[n], " or ")
	}
	return out
}

func tolerance(b *setup.Base, l *setup.Look) float64 {
	band := b.Band(l, nil, l.Right())
	return (band.High - band.Low) / 2
}

// mostMended is of how many causes putting right is run.
const mostMended = 6

// mending runs what putting right the causes that fit would show, from the present step.
func (a *Answer) mending() error {
	c := a.base.Consist()
	wait := a.base.Rules().V("settle")
	for k := range a.Fits {
		f := &a.Fits[k]
		if len(a.Mending) == mostMended {
			break
		}
		if f.Cause.Failure != nil || f.group == "" {
			continue
		}
		m := Mending{Cause: f.Cause.Says, Wait: wait}
		s := trial.Step{ID: "put right", For: wait, Read: true}
		var do []string
		for _, ch := range f.Cause.Settings {
			v := c.Vehicles[ch.Vehicle]
			d, _ := v.Class.Device(ch.Device)
			to, _ := c.Position(ch.Vehicle, ch.Device)
			do = append(do, fmt.Sprintf("put %s of %s to %s", d.Name, v.Name(), to))
			s.Do = append(s.Do, trial.Act{Who: v.Name(), What: ch.Device, To: to})
			if d.MustNotMove {
				m.Never = d.Name + " must not be moved: do not; call who may"
			}
		}
		m.Do = strings.Join(do, " and ")
		a.Mending = append(a.Mending, m)
		out := &a.Mending[len(a.Mending)-1]
		if m.Never != "" {
			continue
		}
		res, _, err := a.base.Play(f.Cause, f.When, a.Last, s)
		if err != nil {
			return err
		}
		a.Runs++
		for j := range a.looks {
			l := &a.looks[j]
			if l.Step != a.Last || l.Kind == "exhaust" { // a blow is over when the step is
				continue
			}
			was, ok1 := find(f.readings, l)
			is, ok2 := res.Reading("put right", l.Vehicle, l.Device)
			if ok1 && ok2 && !a.base.Shows(l, nil, was, is.Value, prove.Seen(is)) {
				out.Shows = append(out.Shows, Changed{l.Unit, l.Name, l.Place, l.Kind, was.Value, is.Value, prove.Seen(was), prove.Seen(is)})
			}
		}
	}
	return nil
}
