package fault

import "headstock/consist"

// Failure is one part of one unit that has failed in one way.
type Failure struct {
	consist.Failure
	Key  string `json:"key"` // the same every time: "Kite 11!bogie-1-relay does not follow"
	Says string `json:"says"`
	Step string `json:"step"` // of the prescribed test after which it fails
}
