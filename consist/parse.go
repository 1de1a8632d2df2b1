package consist

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"headstock/fleet"
	"headstock/internal/reading"
)

// Roles that a locomotive may be given, longest first so that "trail shut down" is not
// read as "trail".
var roles = []string{"hauled dead, all pipes", "hauled dead all pipes", "trail shut down", "hauled dead", "hauled live", "assisting", "stabled", "alone", "trail", "lead"}

// Error is a complaint about a consist as typed: the column counts from 1.
type Error struct {
	Col              int
	Message, Nearest string
}

func (e *Error) Error() string {
	s := fmt.Sprintf("consist:1:%d: %s", e.Col, e.Message)
	if e.Nearest != "" {
		s += "; nearest: " + e.Nearest
	}
	return s
}

// Parse reads a consist as typed: units in order from the front, separated by commas.
//
//	Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV
//
// A number after a class is a unit; before it, that many of the lowest free numbers; a
// range takes those; a class alone takes one. A consist as dictated, such as "tern three
// leading kite eleven trailing", is read as if it were typed. It checks couplers and what the classes
// allow, and claims every position; it does not judge whether the set-up works, and
// accepts two leads or none.
func Parse(f *fleet.Fleet, text string) (*Consist, error) {
	items := spoken(f, split(text))
	used := map[string]bool{}
	// named units first, so that a count never takes one that is named later
	for _, it := range items {
		if w := it.words; len(w) >= 2 {
			if c, ok := f.Class(w[0].text); ok {
				for _, n := range numbers(w[1].text) {
					used[fmt.Sprint(c.Name, n)] = true
				}
			}
		}
	}
	c := &Consist{Fleet: f}
	seen := map[string]int{}
	for _, it := range items {
		vs, err := parseItem(f, it, used)
		if err != nil {
			return nil, err
		}
		for _, v := range vs {
			k := v.Name()
			if at, dup := seen[k]; dup {
				return nil, &Error{Col: it.col, Message: fmt.Sprintf("%s stands in this consist already, at column %d", k, at)}
			}
			seen[k] = it.col
			c.Vehicles = append(c.Vehicles, v)
		}
	}
	return c.finish()
}

func numbers(w string) []int {
	for _, dash := range []string{"–", "..", "-", "—"} {
		if a, b, ok := strings.Cut(w, dash); ok {
			lo, e1 := strconv.Atoi(a)
			hi, e2 := strconv.Atoi(b)
			if e1 != nil || e2 != nil || hi < lo || hi-lo > 1000 {
				return nil
			}
			var out []int
			for n := lo; n <= hi; n++ {
				out = append(out, n)
			}
			return out
		}
	}
	if n, err := strconv.Atoi(w); err == nil {
		return []int{n}
	}
	return nil
}

// word is one word of a consist, the column where it begins as typed, and that just past it.
type word struct {
	col, past int
	text      string
}

// item is what stands between two commas.
type item struct {
	col   int // of its first word, or of where one is missing
	words []word
}

// end is the column just past the last word: where a word is missing.
func (it item) end() int {
	if len(it.words) == 0 {
		return it.col
	}
	return it.words[len(it.words)-1].past
}

// begins says whether the words of a phrase, in any letters, are the first of an item.
func (it item) begins(phrase string) bool {
	p := strings.Fields(phrase)
	if len(p) > len(it.words) {
		return false
	}
	for i := range p {
		if !strings.EqualFold(it.words[i].text, p[i]) {
			return false
		}
	}
	return true
}

// drop is the item without its first n words.
func (it item) drop(n int) item {
	it.words = it.words[n:]
	return it
}

// split cuts a consist into its items and their words.
func split(text string) []item {
	var items []item
	now := item{col: 1}
	begun := false // a word has begun
	for i, r := range []rune(text) {
		col := i + 1
		switch {
		case r == ',':
			items = append(items, now)
			now, begun = item{col: col + 1}, false
		case unicode.IsSpace(r):
			begun = false
			if len(now.words) == 0 {
				now.col = col + 1
			}
		case begun:
			w := &now.words[len(now.words)-1]
			w.text, w.past = w.text+string(r), col+1
		default:
			begun = true
			now.words = append(now.words, word{col, col + 1, string(r)})
		}
	}
	items = append(items, now)
	// "hauled dead, all pipes" holds a comma of its own
	for i := 0; i+1 < len(items); i++ {
		if items[i+1].begins("all pipes") {
			items[i].words = append(items[i].words, items[i+1].words...)
			items = slices.Delete(items, i+1, i+2)
		}
	}
	return items
}

func parseItem(f *fleet.Fleet, it item, used map[string]bool) ([]*Vehicle, error) {
	fault := func(col int, format string, args ...any) error {
		return &Error{Col: col, Message: fmt.Sprintf(format, args...)}
	}
	if len(it.words) == 0 {
		return nil, fault(it.col, "expected a unit: class, number, role")
	}
	end := it.end()
	count, at := 0, it.words[0].col
	if n, err := strconv.Atoi(it.words[0].text); err == nil {
		if n < 1 || n > 300 {
			return nil, fault(at, "expected a count from 1 to 300, found %d", n)
		}
		count = n
		it = it.drop(1)
	}
	if len(it.words) == 0 {
		return nil, fault(end, "expected a class after the count")
	}
	name := it.words[0]
	class, ok := f.Class(name.text)
	if !ok {
		names := classNames(f)
		return nil, &Error{Col: name.col, Message: fmt.Sprintf("no class %q in this fleet; expected one of %s", reading.Short(name.text), strings.Join(names, ", ")), Nearest: reading.Nearest(name.text, names)}
	}
	it = it.drop(1)
	var nums []int
	if len(it.words) > 0 && count == 0 {
		if nums = numbers(it.words[0].text); nums != nil {
			at = it.words[0].col
			it = it.drop(1)
		}
	}
	if nums == nil {
		if count == 0 {
			count = 1
		}
		for _, u := range f.Units {
			if u.Class == class.Name && !used[fmt.Sprint(class.Name, u.Number)] && len(nums) < count {
				nums = append(nums, u.Number)
				used[fmt.Sprint(class.Name, u.Number)] = true
			}
		}
		if len(nums) < count {
			return nil, fault(at, "%d units of class %s asked for; free units: %d", count, class.Name, len(nums))
		}
	}
	proto := Vehicle{Class: class}
	if class.Kind != "locomotive" {
		proto.Role = "wagon"
		if class.Loaded > 0 {
			proto.Load = "empty"
		}
	}
	cabAt := 0
	for len(it.words) > 0 {
		first := it.words[0]
		if r := it.role(); r != "" {
			if class.Kind != "locomotive" {
				return nil, fault(first.col, "a %s is a wagon and cannot be %s", class.Name, r)
			}
			if proto.Role != "" {
				return nil, fault(first.col, "two roles for one unit, %s and %s", proto.Role, r)
			}
			proto.Role = r
			if r == "hauled dead all pipes" {
				proto.Role = "hauled dead, all pipes"
			}
			it = it.drop(len(strings.Fields(r)))
			continue
		}
		it = it.drop(1)
		switch said := strings.ToLower(first.text); {
		case said == "reversed":
			proto.Reversed = true
		case (said == "loaded" || said == "empty") && class.Kind != "locomotive":
			if class.Loaded == 0 && said == "loaded" {
				return nil, fault(first.col, "the record of class %s has no loaded mass, so it cannot run loaded", class.Name)
			}
			proto.Load = said
		case said == "cab":
			number := word{col: end}
			if len(it.words) > 0 {
				number = it.words[0]
				it = it.drop(1)
			}
			if class.Cabs == 0 {
				return nil, fault(first.col, "the record of class %s has no cab", class.Name)
			}
			cabAt = first.col
			k, err := strconv.Atoi(number.text)
			if err != nil || k < 1 || k > class.Cabs {
				return nil, fault(number.col, "expected a cab of class %s, 1 to %d, found %q", class.Name, class.Cabs, reading.Short(number.text))
			}
			proto.Cab = k
		default:
			return nil, &Error{Col: first.col, Message: fmt.Sprintf("expected a role, \"cab\", \"reversed\", \"loaded\" or \"empty\", found %q", reading.Short(first.text)),
				Nearest: reading.Nearest(first.text, append([]string{"lead", "alone", "trail", "trail shut down", "hauled live", "hauled dead", "assisting", "stabled", "reversed", "loaded", "empty", "cab"}, classNames(f)...))}
		}
	}
	if proto.Cab != 0 && proto.Role != "" && !drives(proto.Role) {
		return nil, fault(cabAt, "a unit that is %s is driven from no cab; a cab is named only with lead, alone or assisting", proto.Role)
	}
	if proto.Role == "" {
		return nil, fault(end, "expected a role for %s (lead, alone, trail, trail shut down, hauled live, hauled dead, assisting, stabled)", class.Name)
	}
	var out []*Vehicle
	for _, n := range nums {
		u, ok := f.Unit(class.Name, n)
		if !ok {
			var have []string
			for _, x := range f.Units {
				if x.Class == class.Name {
					have = append(have, strconv.Itoa(x.Number))
				}
			}
			return nil, fault(at, "no unit %s %d in this fleet; it has %s", class.Name, n, strings.Join(have, ", "))
		}
		v := proto
		v.Unit = u
		out = append(out, &v)
	}
	return out, nil
}

func classNames(f *fleet.Fleet) []string {
	var out []string
	for _, c := range f.Classes {
		out = append(out, c.Name)
	}
	return out
}

// drives reports whether a unit is driven from a cab of its own in a role.
func drives(role string) bool { return role == "lead" || role == "alone" || role == "assisting" }

// role is the role that an item begins with, or "".
func (it item) role() string {
	for _, r := range roles {
		if it.begins(r) {
			return r
		}
	}
	return ""
}

// ParseChange reads "Kite 11.changeover=copy" for a unit of the consist; "lead.…" names
// the lead. The device may be an id, a function, or a name or nickname that only one
// device of the unit has.
func (c *Consist) ParseChange(text string) (Change, error) {
	left, pos, ok := strings.Cut(text, "=")
	who, dev, ok2 := strings.Cut(left, ".")
	if !ok || !ok2 {
		return Change{}, fmt.Errorf("expected a change written unit.device=position, found %q", reading.Short(text))
	}
	i, err := c.Find(strings.TrimSpace(who))
	if err != nil {
		return Change{}, err
	}
	dev, pos = strings.TrimSpace(dev), strings.TrimSpace(pos)
	d, err := c.Named(i, dev)
	if err != nil {
		return Change{}, err
	}
	if err := checkPosition(c.Vehicles[i], d, pos); err != nil {
		return Change{}, err
	}
	return Change{Vehicle: i, Device: d.ID, Position: pos}, nil
}

// Named is the device of a vehicle that a person means by a word: by id; by function, in
// the driving cab where each cab has one; by name or nickname. A name that could mean two is refused with both:
// to set the wrong cock is no small thing.
func (c *Consist) Named(i int, name string) (*fleet.Device, error) {
	v := c.Vehicles[i]
	found := c.Devices(i, name)
	if len(found) == 0 {
		for _, d := range v.Class.Named(name) {
			if v.Unit.Carries(v.Class, d) {
				found = append(found, d)
			}
		}
	}
	switch len(found) {
	case 0:
		return nil, unknownDevice(v, name)
	case 1:
		return found[0], nil
	}
	var ids []string
	for _, d := range found {
		ids = append(ids, d.ID)
	}
	return nil, fmt.Errorf("%q could be %d devices of %s; expected one of %s", reading.Short(name), len(ids), v.Name(), strings.Join(ids, ", "))
}

// Find is the index of a vehicle named as spoken ("Kite 11"), or "lead", "last".
func (c *Consist) Find(who string) (int, error) {
	switch strings.ToLower(who) {
	case "lead":
		if i, _ := c.Lead(); i >= 0 {
			return i, nil
		}
		return 0, fmt.Errorf("no unit leads this consist")
	case "last":
		return len(c.Vehicles) - 1, nil
	}
	var names []string
	for i, v := range c.Vehicles {
		if strings.EqualFold(v.Name(), who) {
			return i, nil
		}
		names = append(names, v.Name())
	}
	return 0, fmt.Errorf("no %q in this consist; expected one of %s%s", reading.Short(who), strings.Join(some(names), ", "), reading.Hint(who, names))
}

// some is a list that a line can hold: its ends, where it is long.
func some(names []string) []string {
	const most = 8
	if len(names) <= most {
		return names
	}
	return append(append(slices.Clone(names[:most-2]), "…"), names[len(names)-1])
}

func unknownDevice(v *Vehicle, name string) error {
	return fmt.Errorf("%s has no device or function %q%s", v.Name(), reading.Short(name), reading.Hint(name, v.Class.Names()))
}

// checkPosition says whether a device can stand so.
func checkPosition(v *Vehicle, d *fleet.Device, pos string) error {
	if _, ok := d.Position(pos); ok {
		return nil
	}
	if d.Range != nil {
		if _, ok := quantityIn(d, pos); ok {
			return nil
		}
		return fmt.Errorf("%s of %s has no position %q, and it is not a quantity inside its range", d.Name, v.Name(), reading.Short(pos))
	}
	var ids []string
	for _, p := range d.Positions {
		ids = append(ids, p.ID)
	}
	if len(ids) == 0 {
		return fmt.Errorf("%s of %s is looked at, not moved", d.Name, v.Name())
	}
	return fmt.Errorf("%s of %s has no position %q; expected one of %s%s", d.Name, v.Name(), reading.Short(pos), strings.Join(ids, ", "), reading.Hint(pos, ids))
}
