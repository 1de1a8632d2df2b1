package consist

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

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
// range takes those; a class alone takes one. It checks couplers and what the classes
// allow, and claims every position; it does not judge whether the set-up works, and
// accepts two leads or none.
func Parse(f *fleet.Fleet, text string) (*Consist, error) {
	type item struct {
		col  int
		text string
	}
	var items []item
	col := 1
	for _, part := range strings.Split(text, ",") {
		trimmed := strings.TrimSpace(part)
		lead := len([]rune(part)) - len([]rune(strings.TrimLeft(part, " \t\n")))
		items = append(items, item{col + lead, trimmed})
		col += len([]rune(part)) + 1
	}
	// "hauled dead, all pipes" holds a comma of its own
	for i := 0; i+1 < len(items); i++ {
		if strings.EqualFold(items[i+1].text, "all pipes") {
			items[i].text += " all pipes"
			items = slices.Delete(items, i+1, i+2)
		}
	}
	used := map[string]bool{}
	// named units first, so that a count never takes one that is named later
	for _, it := range items {
		w := strings.Fields(it.text)
		if len(w) >= 2 {
			if c, ok := f.Class(w[0]); ok {
				for _, n := range numbers(w[1]) {
					used[fmt.Sprint(c.Name, n)] = true
				}
			}
		}
	}
	c := &Consist{Fleet: f}
	seen := map[string]int{}
	for _, it := range items {
		vs, err := parseItem(f, it.text, it.col, used)
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

func parseItem(f *fleet.Fleet, text string, col int, used map[string]bool) ([]*Vehicle, error) {
	w := strings.Fields(text)
	if len(w) == 0 {
		return nil, &Error{Col: col, Message: "expected a unit: class, number, role"}
	}
	count := 0
	if n, err := strconv.Atoi(w[0]); err == nil {
		if n < 1 || n > 300 {
			return nil, &Error{Col: col, Message: fmt.Sprintf("expected a count from 1 to 300, found %d", n)}
		}
		count = n
		w = w[1:]
	}
	if len(w) == 0 {
		return nil, &Error{Col: col, Message: "expected a class after the count"}
	}
	class, ok := f.Class(w[0])
	if !ok {
		var names []string
		for _, c := range f.Classes {
			names = append(names, c.Name)
		}
		return nil, &Error{Col: col, Message: fmt.Sprintf("no class %q in this fleet; expected one of %s", w[0], strings.Join(names, ", ")), Nearest: reading.Nearest(w[0], names)}
	}
	w = w[1:]
	var nums []int
	if len(w) > 0 && count == 0 {
		if nums = numbers(w[0]); nums != nil {
			w = w[1:]
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
			return nil, &Error{Col: col, Message: fmt.Sprintf("only %d free units of class %s, %d asked for", len(nums), class.Name, count)}
		}
	}
	rest := strings.ToLower(strings.Join(w, " "))
	proto := Vehicle{Class: class}
	if class.Kind != "locomotive" {
		proto.Role = "wagon"
		if class.Loaded > 0 {
			proto.Load = "empty"
		}
	}
	for rest != "" {
		took := false
		for _, r := range roles {
			if rest == r || strings.HasPrefix(rest, r+" ") {
				if class.Kind != "locomotive" {
					return nil, &Error{Col: col, Message: fmt.Sprintf("a %s is a wagon and cannot be %s", class.Name, r)}
				}
				if proto.Role != "" {
					return nil, &Error{Col: col, Message: fmt.Sprintf("two roles for one unit, %s and %s", proto.Role, r)}
				}
				proto.Role = r
				if r == "hauled dead all pipes" {
					proto.Role = "hauled dead, all pipes"
				}
				rest = strings.TrimSpace(rest[len(r):])
				took = true
				break
			}
		}
		if took {
			continue
		}
		word, more, _ := strings.Cut(rest, " ")
		switch {
		case word == "reversed":
			proto.Reversed = true
		case (word == "loaded" || word == "empty") && class.Kind != "locomotive":
			if class.Loaded == 0 && word == "loaded" {
				return nil, &Error{Col: col, Message: fmt.Sprintf("the record of class %s has no loaded mass, so it cannot run loaded", class.Name)}
			}
			proto.Load = word
		case word == "cab":
			n, more2, _ := strings.Cut(more, " ")
			k, err := strconv.Atoi(n)
			if err != nil || k < 1 || k > class.Cabs {
				return nil, &Error{Col: col, Message: fmt.Sprintf("expected a cab of class %s, 1 to %d, found %q", class.Name, class.Cabs, n)}
			}
			proto.Cab = k
			more = more2
		default:
			return nil, &Error{Col: col, Message: fmt.Sprintf("expected a role, \"cab\", \"reversed\", \"loaded\" or \"empty\", found %q", word),
				Nearest: reading.Nearest(word, []string{"lead", "alone", "trail", "trail shut down", "hauled live", "hauled dead", "assisting", "stabled", "reversed", "loaded", "empty", "cab"})}
		}
		rest = strings.TrimSpace(more)
	}
	if proto.Role == "" {
		return nil, &Error{Col: col, Message: fmt.Sprintf("expected a role for %s (lead, alone, trail, trail shut down, hauled live, hauled dead, assisting, stabled)", class.Name)}
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
			return nil, &Error{Col: col, Message: fmt.Sprintf("no unit %s %d in this fleet; it has %s", class.Name, n, strings.Join(have, ", "))}
		}
		v := proto
		v.Unit = u
		out = append(out, &v)
	}
	return out, nil
}

// ParseChange reads "Kite 11.changeover=copy" for a unit of the consist; "lead.…" names
// the lead. The device may be an id or a function.
func (c *Consist) ParseChange(text string) (Change, error) {
	left, pos, ok := strings.Cut(text, "=")
	who, dev, ok2 := strings.Cut(left, ".")
	if !ok || !ok2 {
		return Change{}, fmt.Errorf("expected a change written unit.device=position, found %q", text)
	}
	i, err := c.Find(strings.TrimSpace(who))
	if err != nil {
		return Change{}, err
	}
	dev, pos = strings.TrimSpace(dev), strings.TrimSpace(pos)
	d, found := c.Device(i, dev)
	if !found {
		return Change{}, unknownDevice(c.Vehicles[i], dev)
	}
	if err := checkPosition(c.Vehicles[i], d, pos); err != nil {
		return Change{}, err
	}
	return Change{Vehicle: i, Device: d.ID, Position: pos}, nil
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
	return 0, fmt.Errorf("no %q in this consist; nearest: %s", who, reading.Nearest(who, names))
}

func unknownDevice(v *Vehicle, name string) error {
	var ids []string
	for _, d := range v.Class.Devices {
		ids = append(ids, d.ID)
	}
	return fmt.Errorf("%s has no device or function %q; nearest: %s", v.Name(), name, reading.Nearest(name, ids))
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
		return fmt.Errorf("%s of %s has no position %q, and it is not a quantity inside its range", d.Name, v.Name(), pos)
	}
	var ids []string
	for _, p := range d.Positions {
		ids = append(ids, p.ID)
	}
	if len(ids) == 0 {
		return fmt.Errorf("%s of %s is looked at, not moved", d.Name, v.Name())
	}
	return fmt.Errorf("%s of %s has no position %q; expected one of %s; nearest: %s", d.Name, v.Name(), pos, strings.Join(ids, ", "), reading.Nearest(pos, ids))
}
