// Package rule holds a railway's rules as data: the limits of its brake test, its waits,
// the losses it accepts, and what its trains show in the dark, each with its source. The shipped rules start from published
// values for a 500 kPa brake pipe; a railway's own file replaces any of them, and local
// rules come first always.
package rule

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"

	"headstock/internal/reading"
	"headstock/quantity"
)

//go:embed standard.yaml
var standard []byte

// Limit is one figure of the rules. Low and High are SI; HasLow and HasHigh say which
// hold; a plain value has both and they are equal. A railway's own limit has the kind and
// the bounds of the shipped one, so whoever asks for a bound that the shipped one has
// finds it.
type Limit struct {
	ID      string        `json:"id"`
	What    string        `json:"what"`
	Low     float64       `json:"low"` // SI, pressures gauge
	High    float64       `json:"high"`
	HasLow  bool          `json:"has_low"`
	HasHigh bool          `json:"has_high"`
	Source  string        `json:"source"`
	Row     string        `json:"row"`
	Kind    quantity.Kind `json:"kind"`
}

// Value is the limit's figure where it is a plain value, or its only bound.
func (l Limit) Value() float64 {
	if l.HasLow {
		return l.Low
	}
	return l.High
}

// Cite is the source and row in brackets, for print.
func (l Limit) Cite() string { return cite(l.Source, l.Row) }

// Loss is a loss the railway accepts for a requirement when it comes from the equipment.
type Loss struct {
	Requirement, What, Restriction, CrewSees, Source string
}

// Rules are a railway's rules.
type Rules struct {
	Title   string
	Limits  []Limit
	Losses  []Loss
	Lights  []Light
	Fitness []Fit
	Placing []Placing
}

// Limit finds a limit; a rule that is not there is an error the caller must show as
// "cannot say". Every id that the program asks for is a shipped one; a test reads the
// whole program for it.
func (r *Rules) Limit(id string) (Limit, bool) {
	for _, l := range r.Limits {
		if l.ID == id {
			return l, true
		}
	}
	return Limit{}, false
}

// V is the plain value of a limit, SI, or its only bound. The shipped rules hold every id
// that is asked for (the test of Limit holds this too), and a railway's own cannot take
// one away; of rules that were not read by Read it is 0.
func (r *Rules) V(id string) float64 {
	l, _ := r.Limit(id)
	return l.Value()
}

// Loss finds an accepted loss for a requirement.
func (r *Rules) Loss(requirement string) (Loss, bool) {
	for _, l := range r.Losses {
		if l.Requirement == requirement {
			return l, true
		}
	}
	return Loss{}, false
}

// Standard is the shipped set of rules.
func Standard() *Rules {
	r, complaints := parse("standard.yaml", standard, nil)
	f, more := parse("fitness.yaml", fitness, nil)
	if complaints = append(complaints, more...); len(complaints) > 0 {
		panic(fmt.Sprint("rule: shipped rules: ", complaints[0]))
	}
	r.Fitness, r.Placing = f.Fitness, f.Placing
	return r
}

// Read is the shipped rules with a railway's own rules.yaml laid over them, if it has one.
func Read(fsys fs.FS) (*Rules, []reading.Complaint) {
	base := Standard()
	const name = "rules.yaml"
	data, err := reading.File(fsys, name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return base, nil
	case err != nil: // a railway's rules that are there must not be passed over
		return base, []reading.Complaint{reading.Unreadable(name, err)}
	}
	return parse(name, data, base)
}

func parse(name string, data []byte, base *Rules) (*Rules, []reading.Complaint) {
	out := &Rules{}
	if base != nil {
		out.Title = base.Title
		out.Limits = append(out.Limits, base.Limits...)
		out.Losses = append(out.Losses, base.Losses...)
		out.Lights = append(out.Lights, base.Lights...)
		out.Fitness = append(out.Fitness, base.Fitness...)
		out.Placing = append(out.Placing, base.Placing...)
	}
	root, complaints := reading.Parse(name, data)
	if root == nil {
		return out, complaints
	}
	rs := rows{source: "railway", functions: functionWords(), kinds: kindWords()}
	for _, e := range root.Entries() {
		switch e.Key {
		case "title":
			out.Title = rs.word(e.Value)
		case "source":
			rs.source = rs.word(e.Value)
		case "limits":
			rs.byID(e, "limits")
			for _, le := range e.Value.Entries() {
				if l, ok := rs.limit(le, base); ok {
					out.setLimit(l)
				}
			}
		case "accepted losses":
			rs.byID(e, "losses")
			for _, le := range e.Value.Entries() {
				out.setLoss(rs.loss(le))
			}
		case "lights":
			rs.byID(e, "lights")
			for _, le := range e.Value.Entries() {
				if l, ok := rs.light(le); ok {
					out.setLight(l)
				}
			}
		case "fitness":
			rs.byID(e, "rules")
			for _, fe := range e.Value.Entries() {
				if f, ok := rs.fit(fe); ok {
					out.setFit(f)
				}
			}
		case "placing":
			rs.byID(e, "rules")
			for _, pe := range e.Value.Entries() {
				if p, ok := rs.placing(pe); ok {
					out.setPlacing(p)
				}
			}
		default:
			rs.key(e, "a file of rules", []string{"title", "source", "limits", "accepted losses", "lights", "fitness", "placing"})
		}
	}
	return out, append(complaints, rs.complaints...)
}

// byID complains of a part of the file that is no map of rules by their ids.
func (r *rows) byID(e reading.Entry, what string) {
	if e.Value.Kind() != reading.Map {
		r.complain(e.Value, CodeShape, fmt.Sprintf("%s is %s", e.Key, e.Value.Kind()), what+" by their ids", "")
	}
}

func (r *rows) loss(e reading.Entry) Loss {
	l := Loss{Requirement: e.Key, Source: r.source}
	for _, p := range e.Value.Entries() {
		switch p.Key {
		case "what":
			l.What = r.word(p.Value)
		case "restriction":
			l.Restriction = r.word(p.Value)
		case "crew sees":
			l.CrewSees = r.word(p.Value)
		case "by":
			l.Source = r.by(p.Value)
		default:
			r.key(p, "an accepted loss", []string{"what", "restriction", "crew sees", "by"})
		}
	}
	return l
}

func (r *Rules) setLimit(l Limit) {
	for i := range r.Limits {
		if r.Limits[i].ID == l.ID {
			r.Limits[i] = l
			return
		}
	}
	r.Limits = append(r.Limits, l)
}

func (r *Rules) setLoss(l Loss) {
	for i := range r.Losses {
		if r.Losses[i].Requirement == l.Requirement {
			r.Losses[i] = l
			return
		}
	}
	r.Losses = append(r.Losses, l)
}
