package logbook

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/quantity"
)

// Bounds of one entry, so that a mistake of a program does not fill the store.
const (
	longestText = 8000 // characters
	longestWord = 200
	mostLines   = 2000
)

// Validate says everything that is wrong with an entry by itself, before it is given to a
// store; nil when nothing is.
func (e Entry) Validate() error {
	var faults []error
	bad := func(format string, args ...any) { faults = append(faults, fmt.Errorf(format, args...)) }
	word := func(what, text string, needed bool) {
		switch {
		case text == "" && needed:
			bad("the entry has no %s", what)
		case text != strings.TrimSpace(text):
			bad("the %s %q begins or ends with a blank", what, text)
		case !utf8.ValidString(text) || strings.ContainsFunc(text, unicode.IsControl):
			bad("the %s %q holds characters that cannot be printed", what, text)
		case utf8.RuneCountInString(text) > longestWord:
			bad("the %s is longer than %d characters", what, longestWord)
		}
	}
	if !slices.Contains(Kinds(), e.Kind) {
		var names []string
		for _, k := range Kinds() {
			names = append(names, string(k))
		}
		bad("no kind of entry %q; %s", e.Kind, expected(string(e.Kind), names))
	}
	if e.ID.IsZero() {
		bad("the entry has no id")
	}
	switch {
	case e.At.IsZero() || e.Written.IsZero():
		bad("the entry has no time")
	case e.At.Nanosecond() != 0 || e.Written.Nanosecond() != 0:
		bad("the times of an entry are whole seconds")
	case e.At.After(e.Written):
		bad("the entry is of %s, which is after it was written, %s", e.At.UTC().Format(moment), e.Written.UTC().Format(moment))
	case e.At.UTC().Year() < 1900 || e.Written.UTC().Year() > 9999:
		bad("the entry is of the year %d; expected 1900 or later", e.At.UTC().Year())
	}
	word("unit", e.Unit, true)
	word("name of the writer", e.Who, true)
	word("record's hash", e.Record.Hash, true)
	word("record's revision", e.Record.Revision, true)
	word("device", e.Device, false)
	word("kind of defect", e.Fault, false)
	word("sheet's name", e.Sheet, e.Kind == Sheet)
	word("name of who takes over", e.To, e.Kind == Handover)
	for _, text := range []string{e.Text, e.Why} {
		if !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }) {
			bad("the text holds characters that cannot be printed")
		}
		if utf8.RuneCountInString(text) > longestText {
			bad("the text is longer than %d characters", longestText)
		}
	}
	content := !(e.Kind == Correction && e.Withdrawn)
	switch e.Kind {
	case Measurement:
		if len(e.Lines) != 1 || e.Lines[0].Value == nil {
			bad("a measurement has one reading")
		}
	case Sheet:
		if len(e.Lines) == 0 {
			bad("a sheet has at least one line")
		}
	case Defect, DefectClosed:
		if e.Text == "" {
			bad("a %s says in its text what it is", e.Kind)
		}
	case Correction:
		if e.Why == "" {
			bad("a correction says why")
		}
	}
	if len(e.Lines) > 0 && e.Kind != Measurement && e.Kind != Sheet && !(e.Kind == Correction && content) {
		bad("a %s has no readings or ticks", e.Kind)
	}
	if len(e.Lines) > mostLines {
		bad("the entry has more than %d lines", mostLines)
	}
	only := func(what string, filled bool, kinds ...Kind) {
		if filled && !slices.Contains(kinds, e.Kind) {
			bad("a %s has no %s", e.Kind, what)
		}
	}
	only("device of its own; its lines have", e.Device != "", Defect, Correction)
	only("kind of defect", e.Fault != "", Defect, Correction)
	only("sheet's name", e.Sheet != "", Sheet, Correction)
	only("one who takes over", e.To != "", Handover, Correction)
	only("withdrawal", e.Withdrawn, Correction)
	only("reason why it corrects", e.Why != "", Correction)
	only("defect that it closes", !e.Closes.IsZero(), DefectClosed, Correction)
	only("entry that it stands in for", !e.Supersedes.IsZero(), Correction)
	if e.Kind == DefectClosed && e.Closes.IsZero() {
		bad("a closing names the defect that it closes")
	}
	if e.Kind == Correction && e.Supersedes.IsZero() {
		bad("a correction names the entry that it stands in for")
	}
	for i, l := range e.Lines {
		at := "line " + strconv.Itoa(i+1) + ": "
		word(at+"name of what was read", l.What, true)
		word(at+"unit", l.Unit, false)
		word(at+"device", l.Device, false)
		word(at+"state", l.State, false)
		word(at+"words of what was seen", l.Seen, false)
		if !slices.Contains([]Tick{NoTick, Right, Wrong, NotSeen}, l.Tick) {
			bad("%sno tick %q; %s", at, l.Tick, expected(string(l.Tick), []string{string(Right), string(Wrong), string(NotSeen)}))
		}
		if l.Tick == NoTick && l.Value == nil && l.Seen == "" {
			bad("%sno tick, no value and no words; expected one of them", at)
		}
		if l.Tick == NotSeen && (l.Value != nil || l.Seen != "") {
			bad("%snot seen, and yet a value or words", at)
		}
		if l.Renewed && l.Value == nil {
			bad("%srenewed is said of a reading, and there is none", at)
		}
		if v := l.Value; v != nil {
			if _, ok := measureNamed(v.Measure); !ok {
				bad("%sno measure %q", at, v.Measure)
			}
			if math.IsNaN(v.SI) || math.IsInf(v.SI, 0) || math.IsNaN(v.Spread) || math.IsInf(v.Spread, 0) || v.Spread < 0 {
				bad("%sthe value is no number, or its spread is none", at)
			}
		}
	}
	return errors.Join(faults...)
}

// expected says what could have been written, and which of it was probably meant.
func expected(word string, names []string) string {
	return "expected one of: " + strings.Join(names, ", ") + reading.Hint(word, names)
}

// Unit finds a unit by its name as spoken, "Tern 3", in any letters. The error gives the
// nearest name or the numbers that the class has.
func Unit(f *fleet.Fleet, name string) (*fleet.Unit, *fleet.Class, error) {
	words := strings.Fields(name)
	if len(words) < 2 {
		return nil, nil, fmt.Errorf("%q is no unit; expected class and number%s", name, classNames(f, name))
	}
	class := strings.Join(words[:len(words)-1], " ")
	c, ok := f.Class(class)
	if !ok {
		return nil, nil, fmt.Errorf("no class %q%s", class, classNames(f, class))
	}
	n, err := strconv.Atoi(words[len(words)-1])
	if u, ok := f.Unit(c.Name, n); ok && err == nil {
		return u, c, nil
	}
	var numbers []string
	for _, u := range f.UnitsOf(c.Name) {
		numbers = append(numbers, strconv.Itoa(u.Number))
	}
	if len(numbers) > 12 {
		numbers = append(append(numbers[:5:5], "…"), numbers[len(numbers)-1])
	}
	return nil, nil, fmt.Errorf("no unit %q; %s has the numbers %s", name, c.Name, strings.Join(numbers, ", "))
}

func classNames(f *fleet.Fleet, word string) string {
	var names []string
	for _, c := range f.Classes {
		names = append(names, c.Name)
	}
	return "; " + expected(word, names)
}

// device finds a device or an air element of a class by its id, or a device by its name.
func device(c *fleet.Class, name string) (string, error) {
	if _, ok := c.Device(name); ok {
		return name, nil
	}
	if _, ok := c.Element(name); ok {
		return name, nil
	}
	var ids, found []string
	for _, d := range c.Devices {
		ids = append(ids, d.ID)
		if strings.EqualFold(d.Name, name) {
			found = append(found, d.ID)
		}
	}
	for _, e := range c.Air {
		ids = append(ids, e.ID)
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
	default:
		return "", fmt.Errorf("class %s has more than one device called %q: %s", c.Name, name, strings.Join(found, ", "))
	}
	return "", fmt.Errorf("class %s has no device or element %q%s", c.Name, name, reading.Hint(name, ids))
}

// Against holds an entry against the fleet's records: its unit and devices must be there.
// It gives the entry their names as the records write them, and the class record's hash
// and revision. The readings that the log already holds say which measures it keeps.
func (e Entry) Against(f *fleet.Fleet, kept []Reading, begin bool) (Entry, error) {
	u, c, err := Unit(f, e.Unit)
	if err != nil {
		return e, err
	}
	e.Unit = u.Name()
	e.Record = Record{Hash: c.Hash, Revision: c.Revision.State}
	if c.Revision.Date != "" {
		e.Record.Revision += " " + c.Revision.Date
	}
	if e.Device != "" {
		if e.Device, err = device(c, e.Device); err != nil {
			return e, err
		}
	}
	e.Lines = slices.Clone(e.Lines)
	for i := range e.Lines {
		l := &e.Lines[i]
		lu, lc := u, c
		if l.Unit != "" {
			if lu, lc, err = Unit(f, l.Unit); err != nil {
				return e, fmt.Errorf("line %d: %w", i+1, err)
			}
			if l.Unit = lu.Name(); l.Unit == e.Unit {
				l.Unit = ""
			}
		}
		if l.Device != "" {
			if l.Device, err = device(lc, l.Device); err != nil {
				return e, fmt.Errorf("line %d: %w", i+1, err)
			}
		}
		if l.Value != nil {
			if l.What, err = measure(l.What, *l.Value, kept, begin); err != nil {
				return e, fmt.Errorf("line %d: %w", i+1, err)
			}
		}
	}
	return e, nil
}

// measure holds the name of a measure against those that are commonly kept and those that
// this log keeps: a slip of the pen must not begin a second row of readings, and one name
// must not hold both millimetres and kilopascals.
func measure(name string, v Value, kept []Reading, begin bool) (string, error) {
	kind, ok := measureNamed(v.Measure)
	if !ok {
		return name, fmt.Errorf("no measure %q", v.Measure)
	}
	var names []string
	for _, q := range Quantities() {
		names = append(names, q.Name)
		if strings.EqualFold(q.Name, name) {
			if !slices.Contains(q.Measures, kind) {
				return name, fmt.Errorf("%s is a %s, not a %s", q.Name, measuresOf(q.Measures), kind)
			}
			return q.Name, nil
		}
	}
	for _, r := range kept {
		if strings.EqualFold(r.What, name) {
			if r.Value.Measure != v.Measure {
				return name, fmt.Errorf("%s is kept as a %s since entry %d, not as a %s", r.What, r.Value.Measure, r.Number, v.Measure)
			}
			return r.What, nil
		}
		if !slices.Contains(names, r.What) {
			names = append(names, r.What)
		}
	}
	if begin {
		return name, nil
	}
	return name, fmt.Errorf("%w %q; %s", ErrNewMeasure, name, expected(name, names))
}

// ErrNewMeasure says that a log does not keep a measure under that name; it may be begun.
var ErrNewMeasure = errors.New("no measure is kept under the name")

func measuresOf(ks []quantity.Kind) string {
	var s []string
	for _, k := range ks {
		s = append(s, k.String())
	}
	return strings.Join(s, " or ")
}
