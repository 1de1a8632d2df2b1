package logbook

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// An entry is kept and hashed in one form: JSON with the fields in a fixed order, without
// spaces, each field there only when it is filled. Two programs that hold the same entry
// write the same bytes. The form is written and read here and nowhere else, because a
// hash must not change when a library does; the reader takes this form alone, so whatever
// it accepts is written back byte for byte. Being one row of text, an entry is also read
// several times faster than from columns, and any JSON tool can read it when this program
// is no longer there.

// moment is how a time is written: UTC, whole seconds.
const moment = "2006-01-02T15:04:05Z"

// Canonical is the entry in the form that is kept and hashed; the hash itself is not in it.
func (e Entry) Canonical() []byte {
	w := writer{b: make([]byte, 0, 512)}
	w.b = append(w.b, '{')
	w.key("number")
	w.b = strconv.AppendInt(w.b, int64(e.Number), 10)
	w.word("id", e.ID.String())
	w.word("at", e.At.UTC().Format(moment))
	w.word("written", e.Written.UTC().Format(moment))
	w.word("kind", string(e.Kind))
	w.word("unit", e.Unit)
	w.word("record", e.Record.Hash)
	w.word("revision", e.Record.Revision)
	w.word("who", e.Who)
	w.word("text", e.Text)
	w.word("device", e.Device)
	w.word("fault", e.Fault)
	w.word("sheet", e.Sheet)
	w.word("to", e.To)
	if len(e.Lines) > 0 {
		w.key("lines")
		w.b = append(w.b, '[')
		for i, l := range e.Lines {
			if i > 0 {
				w.b = append(w.b, ',')
			}
			w.line(l)
		}
		w.b = append(w.b, ']')
	}
	w.word("supersedes", e.Supersedes.String())
	w.word("why", e.Why)
	w.flag("withdrawn", e.Withdrawn)
	w.word("closes", e.Closes.String())
	if len(e.Refs) > 0 {
		w.key("refs")
		w.b = append(w.b, '[')
		for i, r := range e.Refs {
			if i > 0 {
				w.b = append(w.b, ',')
			}
			w.text(r.String())
		}
		w.b = append(w.b, ']')
	}
	w.word("previous", e.Previous)
	return append(w.b, '}')
}

// MarshalJSON is the canonical form with the hash at its end.
func (e Entry) MarshalJSON() ([]byte, error) {
	b := e.Canonical()
	if e.Hash == "" {
		return b, nil
	}
	return append(b[:len(b)-1], `,"hash":"`+e.Hash+`"}`...), nil
}

// HashOf is the hash of an entry in its canonical form: SHA-256 in hexadecimal digits.
func HashOf(canonical []byte) string {
	h := sha256.Sum256(canonical)
	return hex.EncodeToString(h[:])
}

type writer struct{ b []byte }

func (w *writer) key(name string) {
	if last := w.b[len(w.b)-1]; last != '{' {
		w.b = append(w.b, ',')
	}
	w.b = append(w.b, '"')
	w.b = append(w.b, name...)
	w.b = append(w.b, '"', ':')
}

func (w *writer) word(name, text string) {
	if text != "" {
		w.key(name)
		w.text(text)
	}
}

func (w *writer) flag(name string, on bool) {
	if on {
		w.key(name)
		w.b = append(w.b, "true"...)
	}
}

func (w *writer) number(name string, v float64) {
	w.key(name)
	w.b = strconv.AppendFloat(w.b, v, 'g', -1, 64)
}

func (w *writer) text(s string) {
	w.b = append(w.b, '"')
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '"' || c == '\\':
			w.b = append(w.b, '\\', c)
		case c == '\n':
			w.b = append(w.b, '\\', 'n')
		case c < 0x20:
			w.b = append(w.b, fmt.Sprintf(`\u%04x`, c)...)
		default:
			w.b = append(w.b, c)
		}
	}
	w.b = append(w.b, '"')
}

func (w *writer) line(l Line) {
	w.b = append(w.b, '{')
	w.word("what", l.What)
	w.word("unit", l.Unit)
	w.word("device", l.Device)
	w.word("tick", string(l.Tick))
	w.word("seen", l.Seen)
	if l.Value != nil {
		w.word("measure", l.Value.Measure)
		w.number("si", l.Value.SI)
		if l.Value.Spread != 0 {
			w.number("spread", l.Value.Spread)
		}
	}
	w.word("state", l.State)
	w.flag("renewed", l.Renewed)
	w.b = append(w.b, '}')
}

// ParseCanonical reads an entry in its canonical form and gives it its hash. Any other
// form is refused, with the place where it departs. The texts of the entry share the
// memory of the argument.
func ParseCanonical(body string) (Entry, error) {
	r := reader{s: body}
	if !utf8.ValidString(body) {
		return Entry{}, fmt.Errorf("the text is not valid UTF-8")
	}
	var e Entry
	r.want("{")
	r.want(`"number":`)
	e.Number = r.whole()
	e.ID = r.id("id")
	e.At = r.time("at")
	e.Written = r.time("written")
	e.Kind = Kind(r.word("kind"))
	e.Unit = r.word("unit")
	e.Record.Hash = r.word("record")
	e.Record.Revision = r.word("revision")
	e.Who = r.word("who")
	e.Text = r.word("text")
	e.Device = r.word("device")
	e.Fault = r.word("fault")
	e.Sheet = r.word("sheet")
	e.To = r.word("to")
	if r.key("lines") {
		r.want("[")
		for first := true; r.err == nil && (first || r.next(",")); first = false {
			e.Lines = append(e.Lines, Line{})
			r.line(&e.Lines[len(e.Lines)-1])
		}
		r.want("]")
	}
	e.Supersedes = r.id("supersedes")
	e.Why = r.word("why")
	e.Withdrawn = r.flag("withdrawn")
	e.Closes = r.id("closes")
	if r.key("refs") {
		r.want("[")
		for first := true; r.err == nil && (first || r.next(",")); first = false {
			e.Refs = append(e.Refs, r.bareID())
		}
		r.want("]")
	}
	e.Previous = r.word("previous")
	r.want("}")
	if r.err == nil && r.i != len(body) {
		r.fail("the end")
	}
	return e, r.err
}

// reader walks once over the text; the first departure from the form stays in err.
type reader struct {
	s   string
	i   int
	err error
}

func (r *reader) fail(wanted string) {
	if r.err == nil {
		near := r.s[min(r.i, len(r.s)):min(r.i+20, len(r.s))]
		r.err = fmt.Errorf("byte %d: expected %s, found %q", r.i+1, wanted, near)
	}
}

func (r *reader) next(text string) bool {
	if r.err == nil && strings.HasPrefix(r.s[r.i:], text) {
		r.i += len(text)
		return true
	}
	return false
}

func (r *reader) want(text string) {
	if !r.next(text) {
		r.fail(text)
	}
}

// key steps over a key if that is the one which stands next.
func (r *reader) key(name string) bool {
	if r.err != nil {
		return false
	}
	i := r.i
	if i < len(r.s) && r.s[i] == ',' && r.s[i-1] != '{' {
		i++
	} else if r.s[i-1] != '{' {
		return false
	}
	n := len(name)
	if len(r.s) < i+n+3 || r.s[i] != '"' || r.s[i+1:i+1+n] != name || r.s[i+1+n] != '"' || r.s[i+2+n] != ':' {
		return false
	}
	r.i = i + n + 3
	return true
}

func (r *reader) word(name string) string {
	if !r.key(name) {
		return ""
	}
	s := r.text()
	if s == "" {
		r.fail("a filled " + name)
	}
	return s
}

func (r *reader) flag(name string) bool {
	if !r.key(name) {
		return false
	}
	r.want("true")
	return true
}

// text reads a string; one without escapes is a piece of the whole.
func (r *reader) text() string {
	r.want(`"`)
	if r.err != nil {
		return ""
	}
	for i := r.i; i < len(r.s); i++ {
		switch c := r.s[i]; {
		case c == '"':
			s := r.s[r.i:i]
			r.i = i + 1
			return s
		case c == '\\':
			return r.escaped()
		case c < 0x20:
			r.i = i
			r.fail("no bare control character")
			return ""
		}
	}
	r.fail("a closing quote")
	return ""
}

func (r *reader) escaped() string {
	var b strings.Builder
	for r.i < len(r.s) {
		c := r.s[r.i]
		switch {
		case c == '"':
			r.i++
			return b.String()
		case c < 0x20:
			r.fail("no bare control character")
			return ""
		case c != '\\':
			b.WriteByte(c)
			r.i++
		case r.next(`\"`):
			b.WriteByte('"')
		case r.next(`\\`):
			b.WriteByte('\\')
		case r.next(`\n`):
			b.WriteByte('\n')
		case strings.HasPrefix(r.s[r.i:], `\u00`) && len(r.s) >= r.i+6:
			h := r.s[r.i+4 : r.i+6]
			v, err := strconv.ParseUint(h, 16, 8)
			if err != nil || v >= 0x20 || v == '\n' || strings.ToLower(h) != h {
				r.fail("an escape as it is written here")
				return ""
			}
			b.WriteByte(byte(v))
			r.i += 6
		default:
			r.fail("an escape as it is written here")
			return ""
		}
	}
	r.fail("a closing quote")
	return ""
}

// digits cuts the longest run of what a number is made of.
func (r *reader) digits() string {
	from := r.i
	for r.i < len(r.s) && strings.IndexByte("+-.0123456789e", r.s[r.i]) >= 0 {
		r.i++
	}
	return r.s[from:r.i]
}

func (r *reader) whole() int {
	if r.err != nil {
		return 0
	}
	at := r.i
	d := r.digits()
	v, err := strconv.Atoi(d)
	if err != nil || strconv.Itoa(v) != d {
		r.i = at
		r.fail("a whole number")
	}
	return v
}

func (r *reader) number() float64 {
	if r.err != nil {
		return 0
	}
	at := r.i
	d := r.digits()
	v, err := strconv.ParseFloat(d, 64)
	var buf [32]byte
	if err != nil || string(strconv.AppendFloat(buf[:0], v, 'g', -1, 64)) != d {
		r.i = at
		r.fail("a number in its shortest form")
	}
	return v
}

func (r *reader) id(name string) ID {
	if !r.key(name) {
		return ID{}
	}
	return r.bareID()
}

func (r *reader) bareID() ID {
	at := r.i
	i, err := ParseID(r.text())
	if r.err == nil && (err != nil || i.IsZero()) {
		r.i = at
		r.fail("an id of 32 hexadecimal digits")
	}
	return i
}

func (r *reader) time(name string) time.Time {
	if !r.key(name) {
		r.fail(name)
		return time.Time{}
	}
	at := r.i
	text := r.text()
	t, err := time.Parse(time.RFC3339, text)
	if r.err == nil && (err != nil || len(text) != len(moment) || text[len(text)-1] != 'Z') {
		r.i = at
		r.fail("a time as in 2026-10-03T06:30:00Z")
	}
	return t
}

func (r *reader) line(l *Line) {
	r.want("{")
	l.What = r.word("what")
	l.Unit = r.word("unit")
	l.Device = r.word("device")
	l.Tick = Tick(r.word("tick"))
	l.Seen = r.word("seen")
	if m := r.word("measure"); m != "" {
		l.Value = &Value{Measure: m}
		if !r.key("si") {
			r.fail("si")
		}
		l.Value.SI = r.number()
		if r.key("spread") {
			if l.Value.Spread = r.number(); l.Value.Spread == 0 {
				r.fail("a spread that is not zero")
			}
		}
	}
	l.State = r.word("state")
	l.Renewed = r.flag("renewed")
	r.want("}")
}
