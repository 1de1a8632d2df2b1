package trial

import (
	"headstock/consist"
	"headstock/fleet"
)

// Procedure is a list of steps, as data. Devices are addressed by who and by function
// ("lead", "automatic-handle"), never by an id of one class.
type Procedure struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Steps []Step `json:"steps"`
}

// Step moves devices, waits, and reads.
type Step struct {
	ID     string  `json:"id"`
	Say    string  `json:"say"`
	Do     []Act   `json:"do,omitempty"`
	For    float64 `json:"for,omitempty"` // s to wait after the condition
	Until  *Until  `json:"until,omitempty"`
	AtMost float64 `json:"at_most,omitempty"` // s, for the condition
	Read   bool    `json:"read,omitempty"`
}

// Act is one thing done: a device is put to a position (What and To), a reduction is made
// (Reduce) or the brake released (Run) on an automatic handle, or a joint comes apart
// (Part). Exactly one of To, Reduce, Run and Part is meant.
type Act struct {
	Who      string  `json:"who"`                 // "lead", "last", "all", or a vehicle as spoken
	What     string  `json:"what,omitempty"`      // device id or function; with Reduce and Run the handle, absent: automatic-handle
	To       string  `json:"to,omitempty"`        // position; "normal": where the record says that it stands
	Reduce   float64 `json:"reduce,omitempty"`    // Pa below the feed
	Run      bool    `json:"run,omitempty"`       // to running, or to release where there is no running position
	Part     *int    `json:"part,omitempty"`      // index of the joint whose hoses come apart, from 0
	IfFitted bool    `json:"if_fitted,omitempty"` // nothing is done on a unit without the device; always so with "all"
}

// Until is a condition on the pressure of an air element of a vehicle, gauge pascals.
type Until struct {
	Who    string  `json:"who"`
	Air    string  `json:"air"`
	Above  float64 `json:"above,omitempty"`  // until it stands at least so high, Pa gauge
	Below  float64 `json:"below,omitempty"`  // until it stands at most so high, Pa gauge
	Steady float64 `json:"steady,omitempty"` // Pa/s: until it changes no faster
}

// Move is an act of a procedure on one device of one vehicle.
type Move struct {
	Step    string
	Vehicle int
	Device  *fleet.Device
}

// Sealed lists the acts of a procedure that name a device that must not be moved, in the
// order of the steps; even one that would leave it where it stands asks somebody to reach
// for it. A joint that comes apart is nobody's act. A name that means nothing in the
// consist is left to Run, which refuses it.
func Sealed(c *consist.Consist, p Procedure) []Move {
	var out []Move
	for _, s := range p.Steps {
		for _, a := range s.Do {
			if a.Part != nil {
				continue
			}
			is, err := a.vehicles(c)
			if err != nil {
				continue
			}
			for _, i := range is {
				for _, d := range c.Devices(i, a.what()) {
					if d.MustNotMove {
						out = append(out, Move{s.ID, i, d})
					}
				}
			}
		}
	}
	return out
}

// vehicles are the indices of the vehicles that an act is done on.
func (a Act) vehicles(c *consist.Consist) ([]int, error) {
	if a.Who != "all" {
		i, err := c.Find(a.Who)
		return []int{i}, err
	}
	var out []int
	for i := range c.Vehicles {
		out = append(out, i)
	}
	return out, nil
}

// what is the id or function of the device that an act is done on.
func (a Act) what() string {
	if a.What == "" && (a.Reduce > 0 || a.Run) {
		return "automatic-handle"
	}
	return a.What
}
