package trial

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

// Act is one thing done. Exactly one of To, Reduce, Restore, Part is meant.
type Act struct {
	Who    string  `json:"who"`              // "lead", "last", "all", or a vehicle as spoken
	What   string  `json:"what,omitempty"`   // device id or function
	To     string  `json:"to,omitempty"`     // position
	Reduce float64 `json:"reduce,omitempty"` // Pa below the feed, on the automatic handle
	Run    bool    `json:"run,omitempty"`    // automatic handle to release (running where there is one)
	Part   *int    `json:"part,omitempty"`   // the hoses of this joint come apart
	Feed   bool    `json:"feed,omitempty"`   // on all: only where the device exists
}

// Until is a condition on the pressure of an air element of a vehicle, gauge pascals.
type Until struct {
	Who    string  `json:"who"`
	Air    string  `json:"air"`
	Above  float64 `json:"above,omitempty"`
	Below  float64 `json:"below,omitempty"`
	Steady float64 `json:"steady,omitempty"` // Pa/s: until it changes no faster
}
