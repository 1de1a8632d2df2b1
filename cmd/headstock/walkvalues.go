package main

import (
	"headstock/card"
	"headstock/fleet"
	"headstock/prepare"
	"headstock/web"
)

// walkValues is a sheet of a walk round for programs: what is looked at where, and between
// what limits. All else of a device stands in its record.
type walkValues struct {
	Caution  string       `json:"caution"`
	Record   web.Record   `json:"record"`
	Class    string       `json:"class"`
	Unit     string       `json:"unit,omitempty"`
	Date     string       `json:"date,omitempty"`
	Brief    bool         `json:"brief"`
	OnFoot   float64      `json:"on_foot_s"`
	Takes    float64      `json:"checks_take_s"` // of those that say how long they take
	Stands   []walkStand  `json:"stands"`
	Unplaced []walkLine   `json:"unplaced"` // at no stand, since the record does not say where
	Left     []walkStand  `json:"not_gone_to"`
	Later    []walkDue    `json:"not_yet_due"`
	Defects  []walkDefect `json:"defects_of_no_device"`
	Lacks    []string     `json:"not_on_this_unit"` // devices of the class
}

type walkStand struct {
	Place    string     `json:"place,omitempty"`
	Name     string     `json:"name,omitempty"`
	State    string     `json:"state,omitempty"` // of the machine while one stands there
	Do       string     `json:"do,omitempty"`    // an act instead of a look
	Seconds  float64    `json:"on_foot_s"`       // from the stand before
	Unfrozen bool       `json:"not_in_the_frozen_order,omitempty"`
	Lines    []walkLine `json:"lines"`
}

type walkLine struct {
	Device   string      `json:"device,omitempty"`
	Name     string      `json:"name,omitempty"`
	Keep     bool        `json:"must_not_be_moved,omitempty"`
	Normal   string      `json:"normal,omitempty"`
	Cautions []string    `json:"cautions,omitempty"`
	Read     string      `json:"read,omitempty"`
	Checks   []walkCheck `json:"checks,omitempty"`
	Due      []walkDue   `json:"due,omitempty"`
	Notes    []walkNote  `json:"today,omitempty"`
}

type walkCheck struct {
	ID      string   `json:"id"`
	What    string   `json:"what"`
	How     string   `json:"how,omitempty"`
	When    string   `json:"when,omitempty"`
	Every   string   `json:"every,omitempty"`
	Limit   string   `json:"limit,omitempty"` // as written
	Kind    string   `json:"kind,omitempty"`
	AtLeast *float64 `json:"at_least,omitempty"`
	AtMost  *float64 `json:"at_most,omitempty"`
	Then    string   `json:"what_then,omitempty"`
	Outside string   `json:"outside,omitempty"`
}

type walkDue struct {
	Check string `json:"check"`
	Last  string `json:"last,omitempty"`
	Next  string `json:"next,omitempty"`
	Over  int    `json:"days_past_due,omitempty"`
}

type walkNote struct {
	Kind string `json:"kind"`
	Text string `json:"text"`
	Date string `json:"date,omitempty"`
	Why  string `json:"why,omitempty"`
}

type walkDefect struct {
	Text string `json:"text"`
	Kind string `json:"kind,omitempty"`
	Date string `json:"date,omitempty"`
	By   string `json:"by,omitempty"`
}

func walkOf(c *fleet.Class, s *prepare.Sheet) walkValues {
	v := walkValues{Caution: card.Caution, Record: web.Record{Class: c.Name, Revision: c.Revision.State, Date: c.Revision.Date, Hash: c.Hash}, Class: c.Name,
		Date: s.Date, Brief: s.Brief, OnFoot: s.Seconds, Takes: s.Takes,
		Stands: []walkStand{}, Unplaced: []walkLine{}, Left: []walkStand{}, Later: walkDues(s.Later), Defects: []walkDefect{}, Lacks: []string{}}
	if s.Unit != nil {
		v.Unit = s.Unit.Name()
	}
	for _, x := range s.Stands {
		st := standOf(x.Stand)
		for _, l := range x.Lines {
			st.Lines = append(st.Lines, lineOf(l))
		}
		v.Stands = append(v.Stands, st)
	}
	for _, l := range s.Unplaced {
		v.Unplaced = append(v.Unplaced, lineOf(l))
	}
	for _, x := range s.Left {
		st := standOf(x)
		for _, l := range x.Lines {
			st.Lines = append(st.Lines, lineOf(prepare.SheetLine{Line: l}))
		}
		v.Left = append(v.Left, st)
	}
	for _, d := range s.Defects {
		v.Defects = append(v.Defects, walkDefect{d.Text, d.Kind, d.Date, d.By})
	}
	for _, d := range s.Lacks {
		v.Lacks = append(v.Lacks, d.ID)
	}
	return v
}

func standOf(s prepare.Stand) walkStand {
	return walkStand{Place: s.Place.ID, Name: s.Place.Name, State: s.State, Do: s.Do, Seconds: s.Seconds, Unfrozen: s.New, Lines: []walkLine{}}
}

func lineOf(l prepare.SheetLine) walkLine {
	out := walkLine{Read: l.Read, Due: walkDues(l.Due)}
	if d := l.Device; d != nil {
		out.Device, out.Name, out.Keep, out.Normal, out.Cautions = d.ID, d.Name, d.MustNotMove, d.Normal, d.Cautions
	}
	for _, c := range l.Checks {
		x := walkCheck{ID: c.ID, What: c.What, How: c.How, When: c.When, Every: c.Every.Text, Limit: c.Limit.Text, Then: c.Then, Outside: c.Outside}
		if c.Limit.HasLow || c.Limit.HasHigh {
			x.Kind = c.Limit.Kind.String()
		}
		if c.Limit.HasLow {
			x.AtLeast = &c.Limit.Low
		}
		if c.Limit.HasHigh {
			x.AtMost = &c.Limit.High
		}
		out.Checks = append(out.Checks, x)
	}
	for _, n := range l.Notes {
		out.Notes = append(out.Notes, walkNote(n))
	}
	return out
}

func walkDues(ds []prepare.Due) []walkDue {
	out := []walkDue{}
	for _, d := range ds {
		out = append(out, walkDue{d.Check.ID, d.Last, d.Next, d.Over})
	}
	return out
}
