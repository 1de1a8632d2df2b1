// Package teach says what a crew has to learn: what differs between a class it knows and
// one it does not, ranked by what a wrong hand would do, and the first walk round a class.
// What is equal is not taught.
//
// Incomplete: questions, assessments and competence dates come later.
package teach

import (
	"fmt"
	"runtime"
	"slices"
	"sync"

	"headstock/consist"
	"headstock/fleet"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

// Habit is how strongly what a crew knows leads its hand astray.
type Habit int

// The habits, the weakest first.
const (
	Elsewhere Habit = iota + 1 // it is sought in the wrong place, or one of several is forgotten
	Forgotten                  // a crew does not know of it, or leaves it as it is used to
	WrongWay                   // the hand goes the wrong way and the eye approves
)

func (h Habit) String() string {
	return [...]string{"", "stands elsewhere", "not thought of", "the hand goes the wrong way"}[h]
}

// Worst is the worst that a run shows for a device standing wrong.
type Worst struct {
	Consist string         `json:"consist"`
	Unit    string         `json:"unit"`
	Device  string         `json:"device"`
	To      string         `json:"to"`
	Grade   setup.Grade    `json:"-"`
	Danger  string         `json:"danger"`
	InCab   bool           `json:"seen_in_the_driving_cab"`
	Effect  *setup.Effect  `json:"-"`
	Fleet   *fleet.Device  `json:"-"`
	Where   consist.Change `json:"change"`
}

// Item is one function that differs and what comes of getting it wrong.
type Item struct {
	Function string             `json:"function"`
	Meaning  string             `json:"meaning"`
	System   string             `json:"system"`
	Differs  []fleet.Difference `json:"differs"`
	Habit    Habit              `json:"habit"`
	Worst    *Worst             `json:"worst,omitempty"`  // nil: no device of it reaches the air
	Warned   []string           `json:"warned,omitempty"` // cautions of the record where nothing is run
	Keep     bool               `json:"must_not_be_moved,omitempty"`
	Names    []string           `json:"names"`
	Places   []string           `json:"places"`
}

// Score orders items: danger times habit. What no run reaches counts by its cautions.
func (i Item) Score() int {
	danger := 0
	switch {
	case i.Keep:
		danger = int(setup.Train) // hidden by nature: nobody looks at it again
	case i.Worst != nil:
		danger = int(i.Worst.Grade)
	case len(i.Warned) > 0:
		danger = 1
	}
	return danger * int(i.Habit)
}

// Lesson is what a crew that knows one class has to learn of another.
type Lesson struct {
	Known, New *fleet.Class
	Items      []Item // by score, then in the order of the functions
	Consists   []string
	Unrun      string // why nothing could be run; "" when it was
	Runs       int
	AirModel   string // of the runs
}

// Differences compares two classes and ranks what differs by danger times habit. The
// danger is that of the worst wrong position of any device of the function, run with a
// unit of the new class leading alone and with one behind a lead of the known class.
func Differences(f *fleet.Fleet, r *rule.Rules, known, new *fleet.Class, cond trial.Conditions) (*Lesson, error) {
	l := &Lesson{Known: known, New: new, AirModel: trial.AirModel(cond)}
	at := map[string]int{}
	for _, d := range fleet.Compare(known, new) {
		k, ok := at[d.Function]
		if !ok {
			k = len(l.Items)
			at[d.Function] = k
			fn, _ := fleet.LookupFunction(d.Function)
			l.Items = append(l.Items, item(new, fn))
		}
		l.Items[k].Differs = append(l.Items[k].Differs, d)
		l.Items[k].Habit = max(l.Items[k].Habit, habit(d))
	}
	if err := l.run(f, r, at, cond); err != nil {
		return nil, err
	}
	slices.SortStableFunc(l.Items, func(a, b Item) int { return b.Score() - a.Score() })
	return l, nil
}

func item(c *fleet.Class, fn fleet.Function) Item {
	i := Item{Function: fn.Word, Meaning: fn.Meaning, System: fn.System}
	add := func(list *[]string, s string) {
		if s != "" && !slices.Contains(*list, s) {
			*list = append(*list, s)
		}
	}
	for _, d := range c.DevicesOf(fn.Word) {
		add(&i.Names, d.Name)
		p, _ := c.Place(d.Place)
		add(&i.Places, p.Name)
		i.Keep = i.Keep || d.MustNotMove
		for _, caution := range d.Cautions {
			add(&i.Warned, caution)
		}
	}
	return i
}

// habit is how a difference leads astray.
func habit(d fleet.Difference) Habit {
	switch d.Reason {
	case fleet.MeansOther, fleet.SenseOther:
		return WrongWay
	case fleet.NormalOther, fleet.RuleOther:
		return Forgotten
	case fleet.OnlyOne:
		if d.A == "none" {
			return Forgotten
		}
	}
	return Elsewhere
}

// consists are the arrangements in which a wrong device of the new class is tried.
func (l *Lesson) consists(f *fleet.Fleet) ([]*consist.Consist, error) {
	unit := func(c *fleet.Class) string {
		if us := f.UnitsOf(c.Name); len(us) > 0 {
			return us[0].Name()
		}
		return ""
	}
	n, k := unit(l.New), unit(l.Known)
	if n == "" {
		return nil, fmt.Errorf("no unit of class %s is in the fleet", l.New.Name)
	}
	if l.New.Kind != "locomotive" || l.Known.Kind != "locomotive" {
		return nil, fmt.Errorf("a class that cannot lead is not run by itself")
	}
	texts := []string{n + " lead"}
	if k != "" {
		texts = append(texts, k+" lead, "+n+" trail", k+" lead, "+n+" hauled dead")
	}
	var out []*consist.Consist
	var why error
	for _, text := range texts {
		c, err := consist.Parse(f, text)
		if err != nil {
			why = err
			continue
		}
		if out = append(out, c); len(out) == 2 { // a class that can trail is not run dead as well
			break
		}
	}
	if len(out) == 0 {
		return nil, why
	}
	return out, nil
}

// run tries every other position of every device of the functions that differ.
func (l *Lesson) run(f *fleet.Fleet, r *rule.Rules, at map[string]int, cond trial.Conditions) error {
	cs, err := l.consists(f)
	if err != nil {
		l.Unrun = err.Error()
		return nil
	}
	type job struct {
		base *setup.Base
		c    *consist.Consist
		ch   consist.Change
		item int
		dev  *fleet.Device
		got  *setup.Effect
		err  error
	}
	var jobs []*job
	for _, c := range cs {
		base, err := setup.NewBase(c, r, cond)
		if err != nil {
			return err
		}
		l.Consists = append(l.Consists, c.String())
		for i, v := range c.Vehicles {
			if v.Class != l.New {
				continue
			}
			for _, d := range l.New.Devices {
				k, ok := at[d.Function]
				if !ok {
					continue
				}
				for _, ch := range base.Others(i, d.ID) {
					if base.Reaches(ch) {
						jobs = append(jobs, &job{base: base, c: c, ch: ch, item: k, dev: d})
					}
				}
			}
		}
	}
	next := make(chan *job)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for j := range next {
				j.got, j.err = j.base.Effect(j.ch)
			}
		})
	}
	for _, j := range jobs {
		next <- j
	}
	close(next)
	wait.Wait()
	for _, j := range jobs {
		if j.err != nil {
			return j.err
		}
		l.Runs += j.got.Runs
		it := &l.Items[j.item]
		if it.Worst != nil && it.Worst.Grade >= j.got.Grade {
			continue
		}
		it.Worst = &Worst{Consist: j.c.String(), Unit: j.got.Unit, Device: j.got.Name, To: j.got.To, Grade: j.got.Grade, Danger: j.got.Danger, Effect: j.got, Fleet: j.dev, Where: j.ch,
			InCab: slices.ContainsFunc(j.got.Seen, func(s setup.Seen) bool { return s.InCab })}
	}
	return nil
}
