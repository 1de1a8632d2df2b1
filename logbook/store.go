package logbook

import (
	"fmt"
	"slices"
	"sync"
	"time"
)

// Store keeps entries, adds to them, and changes none.
type Store interface {
	// Append validates the entry, holds its references against what is kept, gives it
	// its number and its place in the chain, and returns only when it is kept. The error
	// is an *Refused when the entry is at fault.
	Append(Entry) (Entry, error)
	// List gives the entries that pass the filter, by number.
	List(Filter) ([]Entry, error)
	Close() error
}

// Filter says which entries are asked for; a field left empty asks for all. It looks at
// entries as they were written: a correction passes by what it says itself. Book is what
// knows which correction stands for which entry.
type Filter struct {
	Unit     string // of the entry or of any of its lines
	Kinds    []Kind
	From, To time.Time // At within, ends included
	After    int       // numbers above
}

// Passes says whether an entry is asked for.
func (f Filter) Passes(e Entry) bool {
	return (f.Unit == "" || e.Unit == f.Unit || slices.ContainsFunc(e.Lines, func(l Line) bool { return l.Unit == f.Unit })) &&
		(len(f.Kinds) == 0 || slices.Contains(f.Kinds, e.Kind)) &&
		(f.From.IsZero() || !e.At.Before(f.From)) &&
		(f.To.IsZero() || !e.At.After(f.To)) &&
		e.Number > f.After
}

// Refused is an entry that a store does not take, and why.
type Refused struct{ Why error }

func (r *Refused) Error() string { return r.Why.Error() }

// Unwrap is the reason.
func (r *Refused) Unwrap() error { return r.Why }

// Admit says whether a store may take an entry: it is sound by itself, new, and whatever
// it refers to is there. The lookups are the store's own: find gives an entry by its id,
// successor what already stands in for it. An error other than *Refused is the store's.
func Admit(e Entry, find func(ID) (Entry, bool, error), successor func(ID) (Entry, bool, error)) error {
	refuse := func(format string, args ...any) error { return &Refused{fmt.Errorf(format, args...)} }
	if err := e.Validate(); err != nil {
		return &Refused{err}
	}
	if old, there, err := find(e.ID); err != nil {
		return err
	} else if there {
		return refuse("the id %s is that of entry %d already", e.ID, old.Number)
	}
	for _, r := range slices.Concat([]ID{e.Supersedes, e.Closes}, e.Refs) {
		if r.IsZero() {
			continue
		}
		if _, there, err := find(r); err != nil {
			return err
		} else if !there {
			return refuse("the entry speaks of %s, which is not in this log", r)
		}
	}
	// the first of a line of corrections
	root := func(id ID) (Entry, error) {
		e, _, err := find(id)
		for err == nil && e.Kind == Correction {
			e, _, err = find(e.Supersedes)
		}
		return e, err
	}
	if !e.Supersedes.IsZero() {
		first, err := root(e.Supersedes)
		if err != nil {
			return err
		}
		if content := e; !e.Withdrawn { // what it says must do for what it stands in for
			content.Kind, content.Supersedes, content.Why = first.Kind, ID{}, ""
			if err := content.Validate(); err != nil {
				return &Refused{err}
			}
		}
		if next, there, err := successor(e.Supersedes); err != nil {
			return err
		} else if there {
			return refuse("entry %d already stands in for that one; correct entry %d", next.Number, next.Number)
		}
	}
	if !e.Closes.IsZero() {
		d, err := root(e.Closes)
		if err != nil {
			return err
		}
		if d.Kind != Defect {
			return refuse("entry %d is a %s; only a defect can be closed", d.Number, d.Kind)
		}
	}
	return nil
}

// Memory is a store that lasts as long as the program: for tests, and for a door that
// keeps its entries elsewhere. The zero value is empty and ready.
type Memory struct {
	lock    sync.Mutex
	entries []Entry
	at      map[ID]int
	next    map[ID]int // what stands in for an entry
}

// Append adds an entry; see Store.
func (m *Memory) Append(e Entry) (Entry, error) {
	m.lock.Lock()
	defer m.lock.Unlock()
	look := func(in map[ID]int) func(ID) (Entry, bool, error) {
		return func(id ID) (Entry, bool, error) {
			i, ok := in[id]
			if !ok {
				return Entry{}, false, nil
			}
			return m.entries[i], true, nil
		}
	}
	if err := Admit(e, look(m.at), look(m.next)); err != nil {
		return e, err
	}
	previous := ""
	if n := len(m.entries); n > 0 {
		previous = m.entries[n-1].Hash
	}
	sealed, body := Seal(e, len(m.entries), previous)
	kept, err := ParseCanonical(string(body)) // a copy that shares nothing with the caller
	if err != nil {
		return e, err
	}
	kept.Hash = sealed.Hash
	if m.at == nil {
		m.at, m.next = map[ID]int{}, map[ID]int{}
	}
	m.at[e.ID] = len(m.entries)
	if !e.Supersedes.IsZero() {
		m.next[e.Supersedes] = len(m.entries)
	}
	m.entries = append(m.entries, kept)
	return sealed, nil
}

// List gives the entries that pass; see Store.
func (m *Memory) List(f Filter) ([]Entry, error) {
	m.lock.Lock()
	defer m.lock.Unlock()
	var out []Entry
	for _, e := range m.entries {
		if f.Passes(e) {
			out = append(out, e)
		}
	}
	return out, nil
}

// Close does nothing.
func (m *Memory) Close() error { return nil }
