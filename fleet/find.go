package fleet

import (
	"slices"
	"strconv"
	"strings"

	"headstock/internal/reading"
)

// Class finds a class by its name, in any letters.
func (f *Fleet) Class(name string) (*Class, bool) {
	for _, c := range f.Classes {
		if strings.EqualFold(c.Name, name) {
			return c, true
		}
	}
	return nil, false
}

// Unit finds a unit by class and number.
func (f *Fleet) Unit(class string, number int) (*Unit, bool) {
	for _, u := range f.Units {
		if u.Number == number && strings.EqualFold(u.Class, class) {
			return u, true
		}
	}
	return nil, false
}

// UnitsOf are the units of a class in the order of their numbers.
func (f *Fleet) UnitsOf(class string) []*Unit {
	var out []*Unit
	for _, u := range f.Units {
		if strings.EqualFold(u.Class, class) {
			out = append(out, u)
		}
	}
	return out
}

// Device finds a device by its id.
func (c *Class) Device(id string) (*Device, bool) {
	for _, d := range c.Devices {
		if d.ID == id {
			return d, true
		}
	}
	return nil, false
}

// Named are the devices that a word means: the one of that id, else those of that
// function, else those with that name or nickname, in any letters and with spaces or
// dashes alike. More than one is for whoever asked to tell apart.
func (c *Class) Named(word string) []*Device {
	if d, ok := c.Device(word); ok {
		return []*Device{d}
	}
	if ds := c.DevicesOf(word); len(ds) > 0 {
		return ds
	}
	want := plainWords(word)
	if want == "" {
		return nil
	}
	var out []*Device
	for _, d := range c.Devices {
		same := plainWords(d.Name) == want || plainWords(d.ID) == want
		for _, a := range d.AlsoCalled {
			same = same || plainWords(a) == want
		}
		if same {
			out = append(out, d)
		}
	}
	return out
}

// Names are the words that a device of the class may be asked for by: ids first, then
// names and nicknames.
func (c *Class) Names() []string {
	var out []string
	for _, d := range c.Devices {
		out = append(out, d.ID)
	}
	for _, d := range c.Devices {
		out = append(out, d.Name)
		out = append(out, d.AlsoCalled...)
	}
	return out
}

// DevicesOf are the devices of a function, in the order of the record.
func (c *Class) DevicesOf(function string) []*Device {
	var out []*Device
	for _, d := range c.Devices {
		if d.Function == function {
			out = append(out, d)
		}
	}
	return out
}

// Element finds an air element by its id.
func (c *Class) Element(id string) (*Element, bool) {
	for _, e := range c.Air {
		if e.ID == id {
			return e, true
		}
	}
	return nil, false
}

// Place finds a place by its id.
func (c *Class) Place(id string) (Place, bool) {
	for _, p := range c.Places {
		if p.ID == id {
			return p, true
		}
	}
	return Place{}, false
}

// PlaceName is a place as people say it: its name, or its id where it has none.
func (c *Class) PlaceName(id string) string {
	if p, ok := c.Place(id); ok && p.Name != "" {
		return p.Name
	}
	return id
}

// Position finds a position of the device by its id.
func (d *Device) Position(id string) (*Position, bool) {
	for i := range d.Positions {
		if d.Positions[i].ID == id {
			return &d.Positions[i], true
		}
	}
	return nil, false
}

// Word is what stands under an argument in words, "" where it is not there.
func (e *Element) Word(name string) string {
	if a, ok := e.Arg(name); ok {
		return a.Text
	}
	return ""
}

// Arg finds an argument of the element by its name.
func (e *Element) Arg(name string) (*Arg, bool) {
	for i := range e.Args {
		if e.Args[i].Name == name {
			return &e.Args[i], true
		}
	}
	return nil, false
}

// Name is the unit as spoken, "Tern 3".
func (u *Unit) Name() string { return u.Class + " " + strconv.Itoa(u.Number) }

// Has says whether this unit has a feature: a pipe, a device, an element, or a fitting
// that its class knows by name. What the unit itself says wins; an optional pipe and what
// stands only with a feature are there only where the unit names it.
func (u *Unit) Has(c *Class, feature string) bool {
	if feature == "" || slices.Contains(u.Without, feature) {
		return false
	}
	if slices.Contains(u.With, feature) {
		return true
	}
	for _, end := range c.Ends {
		for _, p := range end.Pipes {
			if p.Pipe == feature {
				return !p.Optional
			}
		}
	}
	if d, ok := c.Device(feature); ok {
		return u.there(c, feature, d.OnlyWith, d.OnlyWithout)
	}
	if e, ok := c.Element(feature); ok {
		return u.there(c, feature, e.OnlyWith, e.OnlyWithout)
	}
	return false
}

// there answers for what stands only with or without a feature; one that names itself is
// there only where the unit names it.
func (u *Unit) there(c *Class, self, with, without string) bool {
	if with == self || without == self {
		return false
	}
	return (with == "" || slices.Contains(u.With, with) || u.inherent(c, with)) &&
		(without == "" || slices.Contains(u.Without, without) || !slices.Contains(u.With, without) && !u.inherent(c, without))
}

// inherent says whether every unit of the class has a pipe, but for those that say not.
func (u *Unit) inherent(c *Class, feature string) bool {
	if slices.Contains(u.Without, feature) {
		return false
	}
	for _, end := range c.Ends {
		for _, p := range end.Pipes {
			if p.Pipe == feature {
				return !p.Optional
			}
		}
	}
	return false
}

// Carries says whether the unit has this device at all.
func (u *Unit) Carries(c *Class, d *Device) bool {
	return !slices.Contains(u.Without, d.ID) &&
		(d.OnlyWith == "" || u.Has(c, d.OnlyWith)) && (d.OnlyWithout == "" || !u.Has(c, d.OnlyWithout))
}

// Fitted is whether a device is fitted on this unit: its own state of today wins over the
// class, and the unit's own word over that of its range, which comes after it. The second
// result is the override that says so, if any.
func (u *Unit) Fitted(d *Device) (string, *Override) {
	for i := range u.State {
		if o := &u.State[i]; o.Device == d.ID && o.Property == "fitted" {
			return o.Value, o
		}
	}
	if d.Fitted == "" {
		return "yes", nil
	}
	return d.Fitted, nil
}

// Today is what stands otherwise than the record says of a device on this unit, in the
// order written.
func (u *Unit) Today(device string) []Override {
	var out []Override
	for _, o := range u.State {
		if o.Device == device {
			out = append(out, o)
		}
	}
	return out
}

// UnitIn finds a unit named in a question ("third pipe hose of Kite 12", as typed or as
// said) and gives the question without it; nil and the question where none is named.
func (f *Fleet) UnitIn(question string) (*Unit, string) {
	words := strings.Fields(reading.Figures(question))
	for i := 0; i+1 < len(words); i++ {
		n, err := strconv.Atoi(words[i+1])
		if err != nil {
			continue
		}
		if u, ok := f.Unit(words[i], n); ok {
			return u, strings.Join(slices.Delete(words, i, i+2), " ")
		}
	}
	return nil, question
}

// Finding is one thing that a question led to. Exactly one of Device, Place and Unit is
// filled.
type Finding struct {
	Class  *Class
	Device *Device
	Place  *Place
	Unit   *Unit
	By     string // what answered: name, nickname, function, system, place, number
}

// Find looks a word up in the whole fleet: names, nicknames, ids, functions and their
// meanings, systems, places, classes and unit numbers. Every word of the query must be
// found; the closest answers stand first.
func (f *Fleet) Find(query string) []Finding {
	words := strings.Fields(strings.ToLower(strings.ReplaceAll(query, "-", " ")))
	if len(words) == 0 {
		return nil
	}
	var scored []scoredFinding
	// a class named in the query narrows the search to it
	var only *Class
	if len(words) > 1 {
		for i, w := range words {
			if c, ok := f.Class(w); ok {
				only = c
				words = slices.Delete(slices.Clone(words), i, i+1)
				break
			}
		}
	}
	for _, e := range f.entries() {
		if only != nil && e.Class != only {
			continue
		}
		if s, by, ok := match(words, e.fields); ok {
			if e.Place != nil {
				s++
			}
			e.By = by
			scored = append(scored, scoredFinding{s, e.Finding})
		}
	}
	for _, u := range f.Units {
		if only != nil && u.Class != only.Name {
			continue
		}
		if len(words) == 1 && words[0] == strconv.Itoa(u.Number) {
			c, _ := f.Class(u.Class)
			scored = append(scored, scoredFinding{0, Finding{Class: c, Unit: u, By: "number"}})
		}
	}
	slices.SortStableFunc(scored, func(a, b scoredFinding) int { return a.score - b.score })
	var out []Finding
	for _, s := range scored {
		out = append(out, s.Finding)
	}
	return out
}

// Nearest is a question near to one that finds nothing and that does find a device, or
// "": each word that no record uses is changed to the nearest that one does, or the whole
// to the nearest name. A class narrows it.
func (f *Fleet) Nearest(query, class string) string {
	var words, names []string
	have := map[string]bool{}
	for _, c := range f.Classes {
		if class != "" && !strings.EqualFold(class, c.Name) {
			continue
		}
		names = append(names, c.Names()...)
		texts := append([]string{c.Name}, c.Names()...)
		for _, d := range c.Devices {
			place, _ := c.Place(d.Place)
			texts = append(texts, d.Function, d.System, d.Kind, place.Name)
		}
		for _, t := range texts {
			for _, w := range strings.Fields(plainWords(t)) {
				if !have[w] {
					have[w] = true
					words = append(words, w)
				}
			}
		}
	}
	asked := strings.Fields(plainWords(query))
	for i, w := range asked {
		if near := reading.Nearest(w, words); !have[w] && near != "" {
			asked[i] = near
		}
	}
	for _, other := range []string{strings.Join(asked, " "), plainWords(reading.Nearest(query, names))} {
		if other == plainWords(query) {
			continue
		}
		for _, x := range f.Find(other) {
			if x.Device != nil && (class == "" || strings.EqualFold(class, x.Class.Name)) {
				return other
			}
		}
	}
	return ""
}

// entry is one thing that can be found and the words it answers to.
type entry struct {
	Finding
	fields []field
}

// entries are all devices and places with their words taken apart, once a fleet.
func (f *Fleet) entries() []entry {
	f.once.Do(func() {
		for _, c := range f.Classes {
			for _, d := range c.Devices {
				fn, _ := LookupFunction(d.Function)
				place, _ := c.Place(d.Place)
				e := entry{Finding: Finding{Class: c, Device: d}}
				add := func(text, by string) { e.fields = append(e.fields, newField(text, by)) }
				add(d.Name, "name")
				add(d.ID, "name")
				for _, a := range d.AlsoCalled {
					add(a, "nickname")
				}
				add(d.Function, "function")
				add(fn.Meaning, "function")
				add(d.System, "system")
				add(place.Name, "place")
				add(d.Place, "place")
				add(d.Kind, "kind")
				f.found = append(f.found, e)
			}
			for i := range c.Places {
				p := &c.Places[i]
				f.found = append(f.found, entry{Finding{Class: c, Place: p}, []field{newField(p.Name, "place"), newField(p.ID, "place"), newField(p.Level, "place")}})
			}
		}
	})
	return f.found
}

type scoredFinding struct {
	score int
	Finding
}

type field struct {
	text, by string
	words    []string
}

func newField(text, by string) field {
	plain := plainWords(text)
	return field{plain, by, strings.Fields(plain)}
}

// match looks for every word in the fields: 0 when one field is the query, then whole
// words before beginnings of words, earlier fields before later ones.
func match(words []string, fields []field) (score int, by string, ok bool) {
	query := strings.Join(words, " ")
	for i, f := range fields {
		if f.text == query {
			return i, f.by, true
		}
	}
	first := -1
	for _, w := range words {
		at := -1
		worth := 0
		for i, f := range fields {
			for _, t := range f.words {
				if t == w && (at < 0 || worth > 1) {
					at, worth = i, 1
				}
				if len(w) >= 3 && strings.HasPrefix(t, w) && at < 0 {
					at, worth = i, 2
				}
			}
		}
		if at < 0 {
			return 0, "", false
		}
		score += 10*worth + at
		if first < 0 || at < first {
			first = at
		}
	}
	return score, fields[first].by, true
}

func plainWords(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '-' || r == ',' || r == ';' || r == ':' || r == '.' || r == '(' || r == ')'
	}), " ")
}
