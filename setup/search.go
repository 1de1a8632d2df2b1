package setup

import (
	"headstock/consist"
	"headstock/fault"
	"headstock/prove"
	"headstock/trial"
)

// Cause is what is wrong in one run of a search: one wrong setting, a pair of them, or one
// part that has failed.
type Cause struct {
	Key      string           `json:"key"`  // the same every time: "Kite 11.changeover=copy"; of a pair both, in the order of the consist, with " & " between
	Kind     string           `json:"kind"` // SettingCause, PairCause or FailureCause
	Says     string           `json:"says"`
	Settings []consist.Change `json:"settings,omitempty"`
	Failure  *fault.Failure   `json:"failure,omitempty"`
}

// The kinds of cause.
const (
	SettingCause = "setting"
	PairCause    = "pair"
	FailureCause = "failure"
)

// When a cause came about, relative to the prescribed test.
const (
	SetWrong     = "set up wrong"         // so from the empty train
	MovedSince   = "moved since"          // moved with the train charged and released
	MovedApplied = "moved with brakes on" // moved after the reduction
	FailedSince  = "failed since"         // a part failed with the train charged and released
)

// Outcome is what comes of one cause that came about at one time: what a run of it breaks
// and what that run reads. The readings are those of the prescribed test from its first
// step that the cause had already come about.
type Outcome struct {
	Cause    Cause           `json:"cause"`
	When     string          `json:"when"`
	Group    string          `json:"group"` // outcomes of one group are one run
	Worse    []prove.Finding `json:"worse,omitempty"`
	Seen     []Seen          `json:"seen,omitempty"` // readings that a person could tell from the right ones, by step of the test
	Readings []trial.Reading `json:"-"`              // every reading of the test; each names its step
	Grade    Grade           `json:"-"`
}

// At are the readings of one step of the prescribed test.
func (o *Outcome) At(step string) []trial.Reading {
	var out []trial.Reading
	for _, x := range o.Readings {
		if x.Step == step {
			out = append(out, x)
		}
	}
	return out
}
