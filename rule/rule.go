// Package rule holds a railway's rules as data: the limits of its brake test, its waits,
// and the losses it accepts, each with its source. The shipped rules start from published
// values for a 500 kPa brake pipe; a railway's own file replaces any of them, and local
// rules come first always.
package rule

import (
	_ "embed"
	"fmt"
	"io/fs"
	"strings"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

//go:embed standard.yaml
var standard []byte

// Limit is one figure of the rules. Low and High are SI; HasLow and HasHigh say which
// hold; a plain value has both and they are equal.
type Limit struct {
	ID, What        string
	Low, High       float64
	HasLow, HasHigh bool
	Source, Row     string
	Kind            quantity.Kind
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
	Fitness []Fit
	Placing []Placing
}

// Limit finds a limit; a rule that is not there is an error the caller must show as
// "cannot say".
func (r *Rules) Limit(id string) (Limit, bool) {
	for _, l := range r.Limits {
		if l.ID == id {
			return l, true
		}
	}
	return Limit{}, false
}

// V is the plain value of a limit that the standard rules always hold.
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
	data, err := fs.ReadFile(fsys, "rules.yaml")
	if err != nil {
		return base, nil
	}
	return parse("rules.yaml", data, base)
}

func parse(name string, data []byte, base *Rules) (*Rules, []reading.Complaint) {
	out := &Rules{}
	if base != nil {
		out.Title = base.Title
		out.Limits = append(out.Limits, base.Limits...)
		out.Losses = append(out.Losses, base.Losses...)
		out.Fitness = append(out.Fitness, base.Fitness...)
		out.Placing = append(out.Placing, base.Placing...)
	}
	root, complaints := reading.Parse(name, data)
	if root == nil {
		return out, complaints
	}
	complain := func(n *reading.Node, code, msg, expected, nearest string) {
		complaints = append(complaints, reading.Complaint{Code: code, Pos: n.Pos(), Message: msg, Expected: expected, Nearest: nearest})
	}
	src := "railway"
	for _, e := range root.Entries() {
		switch e.Key {
		case "title":
			out.Title = e.Value.Text()
		case "source":
			src = e.Value.Text()
		case "limits":
			for _, le := range e.Value.Entries() {
				l := Limit{ID: le.Key, Source: src}
				for _, p := range le.Value.Entries() {
					switch p.Key {
					case "at least", "at most", "value":
						v, err := quantity.Parse(p.Value.Text())
						if err != nil {
							complain(p.Value, "bad-quantity", err.Error(), "a quantity with its unit", "")
							continue
						}
						l.Kind = v.Kind
						if p.Key != "at most" {
							l.Low, l.HasLow = v.SI, true
						}
						if p.Key != "at least" {
							l.High, l.HasHigh = v.SI, true
						}
					case "what":
						l.What = p.Value.Text()
					case "by":
						l.Source = p.Value.Text()
						if _, ok := source.Lookup(l.Source); !ok {
							complain(p.Value, "unknown-source", fmt.Sprintf("no source %q in the bibliography", l.Source), "a key of the bibliography, or drawing-…", source.Nearest(l.Source))
						}
					case "row":
						l.Row = strings.Join(strings.Fields(p.Value.Text()), ", ")
					default:
						complain(p.Value, "unknown-key", fmt.Sprintf("a limit has no %q", p.Key), "at least, at most, value, what, by, row", reading.Nearest(p.Key, []string{"at least", "at most", "value", "what", "by", "row"}))
					}
				}
				if !l.HasLow && !l.HasHigh {
					complain(le.Value, "limit-empty", fmt.Sprintf("limit %q has no figure", le.Key), "at least, at most or value", "")
				}
				if base != nil {
					b, ok := base.Limit(l.ID)
					if !ok {
						var ids []string
						for _, x := range base.Limits {
							ids = append(ids, x.ID)
						}
						complain(le.Value, "unknown-limit", fmt.Sprintf("no limit %q in the rules", l.ID), "the id of a shipped limit", reading.Nearest(l.ID, ids))
						continue
					}
					if l.What == "" {
						l.What = b.What
					}
				}
				out.setLimit(l)
			}
		case "accepted losses":
			for _, le := range e.Value.Entries() {
				l := Loss{Requirement: le.Key, Source: src}
				for _, p := range le.Value.Entries() {
					switch p.Key {
					case "what":
						l.What = p.Value.Text()
					case "restriction":
						l.Restriction = p.Value.Text()
					case "crew sees":
						l.CrewSees = p.Value.Text()
					case "by":
						l.Source = p.Value.Text()
					default:
						complain(p.Value, "unknown-key", fmt.Sprintf("an accepted loss has no %q", p.Key), "what, restriction, crew sees, by", "")
					}
				}
				out.setLoss(l)
			}
		case "fitness", "placing":
			rs := rows{source: src, functions: functionWords(), kinds: kindWords()}
			if e.Value.Kind() != reading.Map {
				rs.complain(e.Value, CodeShape, fmt.Sprintf("%s is %s", e.Key, e.Value.Kind()), "rules by their ids", "")
			}
			for _, fe := range e.Value.Entries() {
				if e.Key == "fitness" {
					if f, ok := rs.fit(fe); ok {
						out.setFit(f)
					}
				} else if p, ok := rs.placing(fe); ok {
					out.setPlacing(p)
				}
			}
			complaints = append(complaints, rs.complaints...)
		default:
			keys := []string{"title", "source", "limits", "accepted losses", "fitness", "placing"}
			complain(e.Value, "unknown-key", fmt.Sprintf("rules have no %q", e.Key), strings.Join(keys, ", "), reading.Nearest(e.Key, keys))
		}
	}
	return out, complaints
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
