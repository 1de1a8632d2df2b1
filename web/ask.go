package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/prove"
	"headstock/quantity"
	"headstock/setup"
)

// The bounds of what may be asked.
const (
	longestWord    = 600 // characters of one value
	mostChanges    = 40
	mostVehicles   = 150
	longestAddress = 8 << 10
)

// fault is what is wrong with a question, in words for whoever asked it.
type fault struct {
	text  string
	units []string // those that a number could be
}

func (f *fault) Error() string { return f.text }

func bad(format string, args ...any) error { return &fault{text: fmt.Sprintf(format, args...)} }

// unsaid is an answer that the record does not hold.
type unsaid struct{ text string }

func (u *unsaid) Error() string { return u.text }

// asked is one question: its words and who asks.
type asked struct {
	url.Values
	s     *Site
	ctx   context.Context
	units quantity.Units
	kept  []string // consists that whoever asks is offered
}

// get is one value, cut of the space around it.
func (q *asked) get(name string) string { return strings.TrimSpace(q.Values.Get(name)) }

// all are the values of a name that are not blank.
func (q *asked) all(name string) []string {
	var out []string
	for _, v := range q.Values[name] {
		if v = strings.TrimSpace(v); v != "" {
			out = append(out, v)
		}
	}
	return out
}

// ask reads the words of a question, within their bounds.
func (s *Site) ask(r *http.Request, values url.Values, patience context.Context) (*asked, error) {
	q := &asked{Values: values, s: s, ctx: patience, units: unitsOf(r), kept: keptConsists(r)}
	for _, t := range s.saved {
		if !slices.Contains(q.kept, t) {
			q.kept = append(q.kept, t)
		}
	}
	if name := q.get("units"); name != "" {
		u, ok := quantity.UnitsNamed(name)
		if !ok {
			return q, bad("no units %q; expected metric or imperial", reading.Short(name))
		}
		q.units = u
	}
	for name, vs := range values {
		for _, v := range vs {
			if len(v) > longestWord {
				return q, bad("%s is longer than %d characters", reading.Short(name), longestWord)
			}
		}
	}
	return q, nil
}

// class is the class that a value names.
func (s *Site) class(name string) (*fleet.Class, error) {
	if c, ok := s.fleet.Class(name); ok {
		return c, nil
	}
	var names []string
	for _, c := range s.fleet.Classes {
		names = append(names, c.Name)
	}
	if name == "" {
		return nil, bad("name a class: %s", strings.Join(names, ", "))
	}
	return nil, bad("no class %q; expected one of %s%s", reading.Short(name), strings.Join(names, ", "), reading.Hint(name, names))
}

// unit is the unit that a value names: "Tern 3", or its number alone where no other class
// has it.
func (s *Site) unit(name string) (*fleet.Class, *fleet.Unit, error) {
	if name == "" {
		return nil, nil, bad("name a unit by its class and number, or by its number alone")
	}
	name = strings.TrimRight(reading.Figures(name), ".")
	if n, err := strconv.Atoi(name); err == nil {
		var found []*fleet.Unit
		var names []string
		for _, u := range s.fleet.Units {
			if u.Number == n {
				found = append(found, u)
				names = append(names, u.Name())
			}
		}
		switch len(found) {
		case 0:
			return nil, nil, bad("no unit of this fleet has the number %d", n)
		case 1:
			c, err := s.class(found[0].Class)
			return c, found[0], err
		}
		return nil, nil, &fault{text: fmt.Sprintf("the number %d could be %s; name the class as well", n, strings.Join(names, ", ")), units: names}
	}
	fields := strings.Fields(spaced(name))
	if len(fields) == 2 {
		if n, err := strconv.Atoi(fields[1]); err == nil {
			c, err := s.class(fields[0])
			if err != nil {
				return nil, nil, err
			}
			if u, ok := s.fleet.Unit(c.Name, n); ok {
				return c, u, nil
			}
			var have []string
			for _, x := range s.fleet.UnitsOf(c.Name) {
				have = append(have, x.Name())
			}
			return nil, nil, bad("no unit %q in this fleet; expected one of %s%s", reading.Short(name), reading.Short(strings.Join(have, ", ")), reading.Hint(c.Name+" "+fields[1], have))
		}
	}
	return nil, nil, bad("expected a unit such as a class and a number, found %q", reading.Short(name))
}

// spaced puts a space between letters and the number after them: "Tern3" as it is typed
// with gloves on.
func spaced(name string) string {
	i := strings.IndexAny(name, "0123456789")
	if i > 0 && name[i-1] != ' ' {
		return name[:i] + " " + name[i:]
	}
	return name
}

// of is the unit, or with no number the class, that a question is about.
func (q *asked) of() (*fleet.Class, *fleet.Unit, error) {
	name := q.get("unit")
	if name == "" {
		name = q.get("class")
	}
	if name == "" {
		return nil, nil, bad("name a unit or a class")
	}
	if strings.ContainsAny(name, "0123456789") {
		c, u, err := q.s.unit(name)
		if err != nil {
			return c, u, err
		}
		u, err = q.s.today(c, u, q.units)
		return c, u, err
	}
	c, err := q.s.class(name)
	return c, nil, err
}

// device is the device of a class that a value names.
func device(c *fleet.Class, name string) (*fleet.Device, error) {
	found := c.Named(name)
	switch len(found) {
	case 0:
		return nil, bad("class %s has no device %q%s", c.Name, reading.Short(name), reading.Hint(name, c.Names()))
	case 1:
		return found[0], nil
	}
	var ids []string
	for _, d := range found {
		ids = append(ids, d.ID)
	}
	return nil, bad("%q could be several devices of class %s; expected one of %s", reading.Short(name), c.Name, strings.Join(ids, ", "))
}

// consist is the consist of a question, with its devices as they stand.
func (q *asked) consist() (*consist.Consist, error) {
	text := q.get("consist")
	if text == "" {
		return nil, bad("name a consist: its units from the front, such as “%s”", q.s.example)
	}
	c, err := consist.Parse(q.s.fleet, text)
	if err != nil {
		return nil, err
	}
	if n := len(c.Vehicles); n > mostVehicles {
		return nil, bad("a consist of %d vehicles is longer than the %d that are run here", n, mostVehicles)
	}
	sets := q.all("set")
	if len(sets) > mostChanges {
		return nil, bad("%d devices are set; at most %d are", len(sets), mostChanges)
	}
	for _, t := range sets {
		ch, err := c.ParseChange(t)
		if err != nil {
			return nil, err
		}
		if c, err = c.With(ch); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// key is a consist with its moved devices, as the name that its answers are kept under.
func key(what string, c *consist.Consist) string {
	parts := []string{what, c.String()}
	for _, ch := range c.Changed {
		parts = append(parts, fmt.Sprintf("%d.%s=%s", ch.Vehicle, ch.Device, ch.Position))
	}
	return strings.Join(parts, "\x00")
}

// checked is a consist's set-up with its proof.
func (q *asked) checked(c *consist.Consist) (*setup.Checked, error) {
	return worked(q.ctx, q.s.works, key("check", c), func() (*setup.Checked, error) {
		ck, err := setup.Check(c, q.s.rules, q.s.conditions())
		return ck, unproved(err)
	})
}

// proof is a consist's proof.
func (q *asked) proof(c *consist.Consist) (*prove.Proof, error) {
	ck, err := q.checked(c)
	if err != nil {
		return nil, err
	}
	return ck.Proof, nil
}

// slips are what can be left wrong at a consist's couplings.
func (q *asked) slips(c *consist.Consist, p *prove.Proof) (*setup.Slips, error) {
	return worked(q.ctx, q.s.works, key("slips", c), func() (*setup.Slips, error) {
		return setup.AtCoupling(p, q.s.rules, q.s.conditions())
	})
}

// unproved is the error of a run that could not be made. The consist has been read by then,
// so what is missing is missing in a record.
func unproved(err error) error {
	var already *consist.CannotSay
	if err == nil || errors.As(err, &already) {
		return err
	}
	return &unsaid{"cannot say: " + err.Error()}
}

// cannotSay is the document of an answer that a record does not hold; nil for any other
// error.
func cannotSay(title string, err error) *card.Document {
	var lacks *consist.CannotSay
	var none *unsaid
	if !errors.As(err, &lacks) && !errors.As(err, &none) {
		return nil
	}
	text := err.Error()
	if !strings.HasPrefix(strings.ToLower(text), "cannot say") {
		text = "cannot say: " + text
	}
	return &card.Document{Title: title, Verdict: &card.Verdict{Mark: card.Unknown, Text: strings.ToUpper(text[:1]) + text[1:] + "."}}
}

// day is the day of a question: as asked, else today.
func (q *asked) day() string {
	if d := q.get("date"); d != "" {
		return d
	}
	return q.s.now().Format(time.DateOnly)
}
