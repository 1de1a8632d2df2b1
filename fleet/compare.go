package fleet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/quantity"
)

// Reason says in what two classes differ for a function. Only what could make a hand go
// the wrong way is a difference; that two plates are worded differently is none.
type Reason string

// The reasons, the most dangerous first.
const (
	MeansOther   Reason = "meaning"  // one look or one word means another thing
	SenseOther   Reason = "sense"    // a position is shown the other way about
	NumberOther  Reason = "number"   // there are more or fewer of them
	OnlyOne      Reason = "only one" // only one of the classes has it
	PositionsTwo Reason = "positions"
	NormalOther  Reason = "normal"
	PlaceOther   Reason = "place"
	ValueOther   Reason = "value"
	RuleOther    Reason = "rule" // sealed, not to be moved, tries, who
)

func (r Reason) String() string { return string(r) }

// Reasons lists the reasons in the order in which differences of one function stand.
func Reasons() []Reason {
	return []Reason{MeansOther, SenseOther, RuleOther, OnlyOne, NumberOther, PositionsTwo, NormalOther, ValueOther, PlaceOther}
}

// Difference is one thing that differs between two classes and matters.
type Difference struct {
	Function string `json:"function"` // a word of the defined list
	What     string `json:"what"`     // what differs, in words
	A        string `json:"a"`        // how it is on either side; "none" where there is none
	B        string `json:"b"`
	Reason   Reason `json:"reason"`
}

// Compare lists what differs between two classes, function by function in the order of
// the defined list: what one has and the other has not, how many, where, what the
// positions mean and how they look. What is equal is not listed.
func Compare(a, b *Class) []Difference {
	var out []Difference
	for _, f := range Functions() {
		da, db := a.DevicesOf(f.Word), b.DevicesOf(f.Word)
		if len(da) == 0 && len(db) == 0 {
			continue
		}
		ds := compareFunction(a, b, f.Word, da, db)
		slices.SortStableFunc(ds, func(x, y Difference) int {
			return slices.Index(Reasons(), x.Reason) - slices.Index(Reasons(), y.Reason)
		})
		out = append(out, ds...)
	}
	return out
}

func compareFunction(a, b *Class, function string, da, db []*Device) []Difference {
	var out []Difference
	add := func(reason Reason, what, x, y string) {
		if x != y {
			out = append(out, Difference{function, what, orNone(x), orNone(y), reason})
		}
	}
	if len(da) == 0 || len(db) == 0 {
		add(OnlyOne, "only one class has it", strings.Join(names(da), "; "), strings.Join(names(db), "; "))
		return out
	}
	if len(da) != len(db) {
		add(NumberOther, "how many", counted(da), counted(db))
	}
	add(PlaceOther, "where", strings.Join(placesOf(a, da), "; "), strings.Join(placesOf(b, db), "; "))
	// devices that answer to each other: the same cab, end and bogie, else the first
	x, y := da[0], db[0]
	for _, d := range da {
		for _, e := range db {
			if d.Cab == e.Cab && d.End == e.End && d.Bogie == e.Bogie && (x.Cab != y.Cab || x.End != y.End || x.Bogie != y.Bogie) {
				x, y = d, e
			}
		}
	}
	add(PositionsTwo, "positions", meanings(x), meanings(y))
	add(NormalOther, "normally stands", meaningOf(x, x.Normal), meaningOf(y, y.Normal))
	for _, p := range x.Positions {
		for _, q := range y.Positions {
			pm, qm := means(p), means(q)
			if p.ID == q.ID {
				add(MeansOther, fmt.Sprintf("what %q means", p.ID), pm, qm)
			}
			if pm != qm || !answer(x, y, p, q) {
				continue
			}
			if opposite(p.Looks, q.Looks) {
				add(SenseOther, fmt.Sprintf("how %q looks", pm), p.Looks, q.Looks)
			}
			if p.Sets != nil && q.Sets != nil && math.Abs(p.Sets.SI-q.Sets.SI) > 1e-3*math.Max(math.Abs(p.Sets.SI), 1) {
				add(ValueOther, fmt.Sprintf("what %q sets", pm), quantity.Metric().Value(p.Sets.Value), quantity.Metric().Value(q.Sets.Value))
			}
		}
	}
	// One look may stand for several positions of one device: what it means is all that
	// it can mean. A look that agrees only in the name of the position has been listed.
	var looked []string
	for _, p := range x.Positions {
		look := firstLook(p.Looks)
		if slices.ContainsFunc(looked, func(l string) bool { return sameLook(l, look) }) {
			continue
		}
		looked = append(looked, look)
		a, b := seen(x, look), seen(y, look)
		if len(a) == 0 || len(b) == 0 || len(a) == 1 && len(b) == 1 && a[0].ID == b[0].ID {
			continue
		}
		add(MeansOther, fmt.Sprintf("what it means when the %s is seen", look), meaningsOf(a), meaningsOf(b))
	}
	word := func(yes bool) string { return map[bool]string{true: "yes", false: "no"}[yes] }
	add(RuleOther, "must not be moved", word(x.MustNotMove), word(y.MustNotMove))
	add(RuleOther, "sealed", word(x.Sealed), word(y.Sealed))
	if x.Tries != nil && y.Tries != nil {
		add(RuleOther, "tries", x.Tries.String(), y.Tries.String())
	}
	if x.FailsTo != "" && y.FailsTo != "" {
		add(MeansOther, "fails to", x.FailsTo, y.FailsTo)
	}
	add(ValueOther, "limits", facts(x.Limits), facts(y.Limits))
	return out
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

func names(ds []*Device) []string {
	var out []string
	for _, d := range ds {
		if !slices.Contains(out, d.Name) {
			out = append(out, d.Name)
		}
	}
	return out
}

// counted is how many there are and how they are told apart.
func counted(ds []*Device) string {
	cabs, ends, bogies := 0, 0, 0
	for _, d := range ds {
		cabs = max(cabs, d.Cab)
		ends = max(ends, d.End)
		bogies = max(bogies, d.Bogie)
	}
	s := fmt.Sprint(len(ds))
	switch {
	case cabs > 1:
		s += ", by cab"
	case ends > 1:
		s += ", by headstock"
	case bogies > 1:
		s += ", by bogie"
	}
	return s
}

func placesOf(c *Class, ds []*Device) []string {
	var out []string
	for _, d := range ds {
		p, ok := c.Place(d.Place)
		s := p.Name
		if !ok {
			s = "place not recorded"
		}
		if p.Side != "" && !strings.Contains(s, p.Side) {
			s += ", " + p.Side
		}
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func means(p Position) string {
	if p.Means != "" {
		return p.Means
	}
	return p.ID
}

func meaningOf(d *Device, id string) string {
	if p, ok := d.Position(id); ok {
		return means(*p)
	}
	return id
}

// meanings are what a device can be set to, in the order of the alphabet, so that the
// order of a record is no difference.
func meanings(d *Device) string {
	var out []string
	for _, p := range d.Positions {
		out = append(out, means(p))
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// meaningsOf are what some positions mean, each once.
func meaningsOf(ps []Position) string {
	var out []string
	for _, p := range ps {
		out = append(out, means(p))
	}
	slices.Sort(out)
	return strings.Join(slices.Compact(out), ", ")
}

// seen are the positions of a device that a person would tell by one look.
func seen(d *Device, look string) []Position {
	var out []Position
	for _, p := range d.Positions {
		if p.Looks != "" && sameLook(look, p.Looks) {
			out = append(out, p)
		}
	}
	return out
}

// answer says that two positions of one meaning answer to each other: they have one
// name, or one of them has no namesake of that meaning on the other side.
func answer(x, y *Device, p, q Position) bool {
	if p.ID == q.ID {
		return true
	}
	namesake := func(d *Device, r Position) bool {
		o, ok := d.Position(r.ID)
		return ok && means(*o) == means(r)
	}
	return !namesake(y, p) || !namesake(x, q)
}

func facts(fs []Fact) string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Name+" "+f.Text)
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// opposites are words of which one look has the one and the other the other.
func opposites() [][2]string {
	return [][2]string{{"left", "right"}, {"up", "down"}, {"in line", "across"}, {"along", "across"}, {"in", "out"}, {"pushed", "pulled"}, {"forward", "back"}, {"horizontal", "upright"}, {"level", "upright"}, {"lit", "dark"}, {"toward", "away"}}
}

func lookWords(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == ',' || r == ';' || r == '.' || r == '-' || r == '(' || r == ')'
	})
}

func has(words []string, phrase string) bool {
	p := strings.Fields(phrase)
	for i := 0; i+len(p) <= len(words); i++ {
		if slices.Equal(words[i:i+len(p)], p) {
			// "in" of "in line" is not the "in" of "pushed in"
			if phrase == "in" && i+1 < len(words) && slices.Contains([]string{"line", "the", "its", "a", "place"}, words[i+1]) {
				continue
			}
			return true
		}
	}
	return false
}

// opposite says that two looks are each other's contrary in one pair of words.
func opposite(a, b string) bool {
	x, y := lookWords(a), lookWords(b)
	for _, o := range opposites() {
		a0, a1, b0, b1 := has(x, o[0]), has(x, o[1]), has(y, o[0]), has(y, o[1])
		if a0 && !a1 && b1 && !b0 || a1 && !a0 && b0 && !b1 {
			return true
		}
	}
	return false
}

// firstLook is the first part of a look, up to a comma.
func firstLook(s string) string {
	head, _, _ := strings.Cut(s, ",")
	return strings.TrimSpace(head)
}

// sameLook says that a person would call two looks the same: their first parts agree but
// for small words.
func sameLook(a, b string) bool {
	small := []string{"the", "a", "an", "its", "is", "to", "of", "with"}
	strip := func(s string) []string {
		return slices.DeleteFunc(lookWords(firstLook(s)), func(w string) bool { return slices.Contains(small, w) })
	}
	x := strip(a)
	return len(x) >= 2 && slices.Equal(x, strip(b))
}
