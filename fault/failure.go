package fault

import (
	"fmt"
	"strings"

	"headstock/consist"
)

// Failure is one part of one unit that has failed in one way.
type Failure struct {
	consist.Failure
	Key  string `json:"key"`  // the same every time: "Kite 11.bogie-1-relay does not follow"
	Item string `json:"item"` // the part in words
	Kind string `json:"kind"` // of the part, as consist.Modes takes it
	Says string `json:"says"` // what has happened to it
	Step string `json:"step"` // the step of the prescribed test after which it fails
}

// Charged is the step after which a part fails that names no other: the train is charged
// and its brakes are off. It is the plainest choice (invented): what fails earlier is
// found while charging, what fails later is found later.
const Charged = "charge"

// Failures are every mode of every part of every unit that the records' air networks,
// hoses and devices have.
func Failures(c *consist.Consist) []Failure {
	var out []Failure
	for _, p := range c.Parts() {
		v := c.Vehicles[p.Vehicle]
		item := strings.ReplaceAll(p.ID, "-", " ")
		if d, ok := v.Class.Device(p.ID); ok && d.Name != "" && (p.Kind == "hose" || p.Kind == "device") {
			item = d.Name
		}
		for _, m := range p.Modes {
			out = append(out, Failure{
				Failure: consist.Failure{Vehicle: p.Vehicle, Part: p.ID, Mode: m.Name},
				Key:     fmt.Sprintf("%s.%s %s", v.Name(), p.ID, m.Name),
				Item:    item, Kind: p.Kind, Says: m.Says, Step: Charged,
			})
		}
	}
	return out
}
