package logbook

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Book is what all entries of a store say taken together, corrections applied.
type Book struct {
	entries []Entry
	at      map[ID]int  // by id; only where there is a reference to follow
	next    map[int]int // what stands in for an entry, both by place
}

// NewBook takes all entries of a store in their order.
func NewBook(entries []Entry) *Book {
	b := &Book{entries: entries, next: map[int]int{}}
	refers := func(e Entry) bool { return !e.Supersedes.IsZero() || !e.Closes.IsZero() || len(e.Refs) > 0 }
	if slices.ContainsFunc(entries, refers) {
		b.at = make(map[ID]int, len(entries))
		for i := range entries {
			b.at[entries[i].ID] = i
		}
	}
	for i := range entries {
		if e := &entries[i]; !e.Supersedes.IsZero() {
			if at, ok := b.at[e.Supersedes]; ok {
				b.next[at] = i
			}
		}
	}
	return b
}

// Entries are all entries as they were written.
func (b *Book) Entries() []Entry { return b.entries }

// Find gives an entry by its number in the store.
func (b *Book) Find(number int) (Entry, bool) {
	i, ok := slices.BinarySearchFunc(b.entries, number, func(e Entry, n int) int { return cmp.Compare(e.Number, n) })
	if !ok {
		return Entry{}, false
	}
	return b.entries[i], true
}

// Line is the entry that a number belongs to, as it stands now: the entry itself, or the
// one that it corrects. Last is the entry to correct, the last of its line; standing is
// false when that one withdraws it.
func (b *Book) Line(number int) (s Standing, last Entry, standing, found bool) {
	e, ok := b.Find(number)
	if !ok {
		return s, e, false, false
	}
	i, _ := slices.BinarySearchFunc(b.entries, number, func(e Entry, n int) int { return cmp.Compare(e.Number, n) })
	if e.Kind == Correction {
		if i, ok = b.root(e.ID); !ok {
			return s, e, false, false
		}
	}
	s, standing = b.standing(i)
	last = s.First
	if s.By > 0 {
		last, _ = b.Find(s.By)
	}
	return s, last, standing, true
}

// Standing is an entry as it stands now: the first of its line with what the last
// correction says in its place.
type Standing struct {
	Entry        // content of the last correction, kind of the first
	First Entry  // as it was written at first
	By    int    // number of the correction that stands in for it; 0 for none
	Why   string // what that correction says
}

// Standing gives every entry that stands, in order; what was withdrawn is left out.
func (b *Book) Standing() []Standing {
	var out []Standing
	for i := range b.entries {
		if b.entries[i].Kind == Correction {
			continue
		}
		if s, ok := b.standing(i); ok {
			out = append(out, s)
		}
	}
	return out
}

func (b *Book) standing(i int) (Standing, bool) {
	first := b.entries[i]
	s := Standing{Entry: first, First: first}
	for last := i; ; {
		n, ok := b.next[last]
		if !ok {
			break
		}
		last = n
		c := b.entries[n]
		s.Entry, s.By, s.Why = c, c.Number, c.Why
		s.Kind = first.Kind
		if c.Withdrawn {
			return s, false
		}
	}
	return s, true
}

// root goes back from a correction to the entry that it is about.
func (b *Book) root(id ID) (int, bool) {
	i, ok := b.at[id]
	for ok && b.entries[i].Kind == Correction {
		i, ok = b.at[b.entries[i].Supersedes]
	}
	return i, ok
}

// Superseded says which entry stands in for this one; 0 when none does.
func (b *Book) Superseded(number int) int {
	i, ok := slices.BinarySearchFunc(b.entries, number, func(e Entry, n int) int { return cmp.Compare(e.Number, n) })
	if !ok {
		return 0
	}
	if n, ok := b.next[i]; ok {
		return b.entries[n].Number
	}
	return 0
}

// History is everything written about one entry: the entry, its corrections, the closings
// of it and their corrections, in order of number.
func (b *Book) History(number int) []Entry {
	e, ok := b.Find(number)
	if !ok {
		return nil
	}
	if len(b.at) == 0 {
		return []Entry{e}
	}
	root, _ := b.root(e.ID)
	about := map[int]bool{root: true}
	for i := range b.entries { // whatever refers stands behind what it refers to
		e := &b.entries[i]
		for _, id := range []ID{e.Supersedes, e.Closes} {
			if r, ok := b.at[id]; ok && about[r] {
				about[i] = true
			}
		}
	}
	var out []Entry
	for i := range b.entries {
		if about[i] {
			out = append(out, b.entries[i])
		}
	}
	return out
}

// NumberOf is how an entry is called in this store, "entry 12".
func (b *Book) NumberOf(id ID) string {
	if i, ok := b.at[id]; ok {
		return "entry " + strconv.Itoa(b.entries[i].Number)
	}
	return "an entry that is not here"
}

// Open is the defects of a unit that stand and that nothing which stands has closed, the
// oldest first. An empty unit asks for all.
func (b *Book) Open(unit string) []Standing {
	standing := b.Standing()
	closed := map[int]bool{}
	for _, s := range standing {
		if s.Kind == DefectClosed {
			if r, ok := b.root(s.Closes); ok {
				closed[b.entries[r].Number] = true
			}
		}
	}
	var out []Standing
	for _, s := range standing {
		if s.Kind == Defect && !closed[s.First.Number] && (unit == "" || s.Unit == unit) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(x, y Standing) int { return x.At.Compare(y.At) })
	return out
}

// Key is one row of readings: the same measure of the same device of one unit, read in
// the same state.
type Key struct {
	Unit   string `json:"unit"`
	Device string `json:"device,omitempty"`
	What   string `json:"what"`
	State  string `json:"state,omitempty"`
}

// Compare orders keys by unit, device, measure and state.
func (k Key) Compare(o Key) int {
	return cmp.Or(strings.Compare(k.Unit, o.Unit), strings.Compare(k.Device, o.Device), strings.Compare(k.What, o.What), strings.Compare(k.State, o.State))
}

// Reading is one value as it stands.
type Reading struct {
	Key
	At      time.Time `json:"at"`
	Value   Value     `json:"value"`
	Renewed bool      `json:"renewed,omitempty"`
	Number  int       `json:"number"` // the entry that holds it
	Who     string    `json:"who"`
}

// Readings are all values that stand, of measurements and sheets, in the order of their
// entries.
func (b *Book) Readings() []Reading {
	out := make([]Reading, 0, len(b.entries))
	for i := range b.entries {
		e := &b.entries[i]
		if e.Kind != Measurement && e.Kind != Sheet {
			continue
		}
		if _, corrected := b.next[i]; corrected {
			s, ok := b.standing(i)
			if !ok {
				continue
			}
			e = &s.Entry
		}
		for _, l := range e.Lines {
			if l.Value == nil {
				continue
			}
			r := Reading{Key: Key{e.Unit, l.Device, l.What, l.State}, At: e.At, Value: *l.Value, Renewed: l.Renewed, Number: e.Number, Who: e.Who}
			if l.Unit != "" {
				r.Unit = l.Unit
			}
			out = append(out, r)
		}
	}
	return out
}

// Series is the readings of one key, the oldest first.
type Series struct {
	Key
	Readings []Reading
}

// SeriesOf sorts readings into rows, in the order of their keys.
func SeriesOf(readings []Reading) []Series {
	at := map[Key]int{}
	var out []Series
	var count []int
	place := make([]int, len(readings)) // in which row each reading goes
	for i := range readings {
		k, ok := at[readings[i].Key]
		if !ok {
			k = len(out)
			at[readings[i].Key] = k
			out, count = append(out, Series{Key: readings[i].Key}), append(count, 0)
		}
		count[k]++
		place[i] = k
	}
	for k := range out {
		out[k].Readings = make([]Reading, 0, count[k])
	}
	for i, k := range place {
		out[k].Readings = append(out[k].Readings, readings[i])
	}
	for _, s := range out {
		slices.SortStableFunc(s.Readings, func(x, y Reading) int { return x.At.Compare(y.At) })
	}
	slices.SortFunc(out, func(x, y Series) int { return x.Key.Compare(y.Key) })
	return out
}

// Last is the last reading of each row of a unit; an empty unit asks for all.
func (b *Book) Last(unit string) []Reading {
	var out []Reading
	for _, s := range SeriesOf(b.Readings()) {
		if unit == "" || s.Unit == unit {
			out = append(out, s.Readings[len(s.Readings)-1])
		}
	}
	return out
}

// Summary is what somebody who takes over a unit should know from the log.
type Summary struct {
	Unit      string
	Last      *Standing  // the handover before, if there was one
	Open      []Standing // defects
	Since     []Standing // what else was written after that handover, or all of it
	Withdrawn []Entry    // corrections after that handover that withdraw an entry
	Read      []Reading  // last reading of each row
}

// Summary gathers what a handover of a unit rests on.
func (b *Book) Summary(unit string) Summary {
	s := Summary{Unit: unit, Open: b.Open(unit)}
	standing := b.Standing()
	since := 0
	for i, x := range standing {
		if x.Kind == Handover && x.Unit == unit {
			s.Last, since = &standing[i], x.First.Number
		}
	}
	open := map[int]bool{}
	for _, d := range s.Open {
		open[d.First.Number] = true
	}
	for _, x := range standing {
		if max(x.First.Number, x.By) <= since {
			continue
		}
		on := x.Unit == unit || slices.ContainsFunc(x.Lines, func(l Line) bool { return l.Unit == unit })
		if on && !open[x.First.Number] {
			s.Since = append(s.Since, x)
		}
	}
	for _, e := range b.entries {
		if e.Withdrawn && e.Unit == unit && e.Number > since {
			s.Withdrawn = append(s.Withdrawn, e)
		}
	}
	s.Read = b.Last(unit)
	return s
}
