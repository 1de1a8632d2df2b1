package web

import (
	"strings"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/logbook"
	"headstock/prepare"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
)

// Answer is what a set-up card, a brake test and its reasons are as values, here and on the
// command line.
type Answer struct {
	Caution  string               `json:"caution"`
	Consist  string               `json:"consist"`
	Verdict  string               `json:"verdict"`
	Findings []prove.Finding      `json:"findings"`
	Plan     *setup.Plan          `json:"plan,omitempty"`
	Refuted  []prove.Finding      `json:"refuted,omitempty"`
	Readings []trial.Reading      `json:"readings,omitempty"`
	Misses   []trial.Miss         `json:"misses,omitempty"`
	Spread   *prove.Study         `json:"spread,omitempty"`
	Route    *prepare.RouteAnswer `json:"route,omitempty"`
	Records  []Record             `json:"records"`
	Rules    string               `json:"rules"`
	Runs     int                  `json:"runs"`
	AirModel string               `json:"air_model"`
}

// Record is a class record that an answer rests on.
type Record struct {
	Class    string `json:"class"`
	Revision string `json:"revision"`
	Date     string `json:"date"`
	Hash     string `json:"hash"`
}

// Values are a proof as values; with a plan those of its set-up, without those of its test.
func Values(c *consist.Consist, p *prove.Proof, plan *setup.Plan, r *rule.Rules) Answer {
	a := Answer{Caution: card.Caution, Consist: c.String(), Verdict: p.Verdict, Findings: p.Findings, Plan: plan, Rules: r.Title, Runs: p.Runs, AirModel: p.AirModel}
	if p.Test != nil && plan == nil {
		a.Readings, a.Misses, a.Spread = p.Test.Readings, p.Test.Misses, p.Study
	}
	a.Records = Records(c)
	return a
}

// Records are those that an answer on a consist rests on.
func Records(c *consist.Consist) []Record {
	var out []Record
	seen := map[string]bool{}
	for _, v := range c.Vehicles {
		if k := v.Class; !seen[k.Name] {
			seen[k.Name] = true
			out = append(out, RecordOf(k))
		}
	}
	return out
}

// RecordOf is one record, with how far it has been checked as that stands now.
func RecordOf(c *fleet.Class) Record {
	state, _ := c.Standing()
	return Record{c.Name, state, c.Revision.Date, c.Hash}
}

// Judgement is entered readings held against a brake test, as values.
type Judgement struct {
	Caution  string         `json:"caution"`
	Consist  string         `json:"consist"`
	Readings []prove.Judged `json:"readings"`
	Complete bool           `json:"complete"`
	Asked    prove.Coverage `json:"asked"`
	Records  []Record       `json:"records"`
	Rules    string         `json:"rules"`
	Spread   *prove.Study   `json:"spread,omitempty"`
	AirModel string         `json:"air_model"`
}

// Kept is a unit with what a logbook holds of it beside its record: open defects, and the
// last day on which each check was made. A defect of which nobody gave the kind stays
// without one: no rule can be found for it, and the answer says so. The error names the
// entry that the record cannot read.
func Kept(c *fleet.Class, u *fleet.Unit, b *logbook.Book, units quantity.Units) (*fleet.Unit, error) {
	out := *u
	out.Defects = append([]fleet.Defect(nil), u.Defects...)
	out.Checked = append([]fleet.Checked(nil), u.Checked...)
	for _, s := range b.Open(u.Name()) {
		x := fleet.Defect{Device: s.Device, Text: s.Text, Date: s.At.Format("2006-01-02"), By: s.Who}
		if s.Fault != "" {
			k, err := prepare.ParseDefect(c, s.Device+"="+s.Fault, x.Date)
			if err != nil {
				return nil, bad("entry %d of the logbook: %v", s.Number, err)
			}
			x.Kind, x.Position = k.Kind, k.Position
		}
		out.Defects = append(out.Defects, x)
	}
	for _, r := range b.Last(u.Name()) {
		found := ""
		if q, ok := r.Value.Quantity(); ok {
			found = units.Value(q)
		}
		for _, k := range c.Checks {
			if k.ID == r.What || strings.EqualFold(k.What, r.What) {
				out.Checked = append(out.Checked, fleet.Checked{Check: k.ID, Date: r.At.Format("2006-01-02"), Found: found, By: r.Who})
			}
		}
	}
	return &out, nil
}
