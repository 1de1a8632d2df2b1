// Package logbook keeps what was measured, found and handed over on each unit: entries
// that are added and never changed, what they say taken together, and where a measure
// that drifts will meet its limit.
//
// An entry names its unit, who wrote it, when it was so and when it was written, and the
// class record that the writer worked from, by its hash. A mistake is put right by a
// further entry of the kind correction, which stands in for an earlier one; the earlier
// stays. Each entry carries the hash of the entry before it in its store, so one that was
// changed, lost or put in between is found (Chain). Nothing at the end of a store shows
// that a last entry is missing; whoever wants to know that keeps the last hash elsewhere.
// The chain guards against accidents and quiet changes, not against somebody who computes
// all of it again.
//
// The package reads no clock, draws no number, and opens no file: the time, the id of an
// entry and the store come from the caller. It judges no locomotive; it says what was
// written, and how far a line through the readings can be trusted.
package logbook

import (
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"time"

	"headstock/quantity"
)

// ID names an entry in every store: 128 random bits, given by the caller.
type ID [16]byte

// String is the id as 32 hexadecimal digits; no id is "".
func (i ID) String() string {
	if i.IsZero() {
		return ""
	}
	return hex.EncodeToString(i[:])
}

// IsZero says that there is no id.
func (i ID) IsZero() bool { return i == ID{} }

// MarshalText makes an id a plain word in JSON.
func (i ID) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// ParseID reads 32 hexadecimal digits.
func ParseID(text string) (ID, error) {
	var i ID
	if len(text) != 2*len(i) {
		return ID{}, fmt.Errorf("%q is no id; expected 32 hexadecimal digits", text)
	}
	if _, err := hex.Decode(i[:], []byte(text)); err != nil || strings.ToLower(text) != text {
		return ID{}, fmt.Errorf("%q is no id; expected 32 hexadecimal digits", text)
	}
	return i, nil
}

// Kind is what an entry is.
type Kind string

// The kinds. A correction has the content of the entry that it stands in for, put right,
// or says that the entry is withdrawn.
const (
	Sheet        Kind = "sheet"         // a walk-round or brake-test sheet with its ticks and readings
	Measurement  Kind = "measurement"   // one reading
	Defect       Kind = "defect"        // something wrong
	DefectClosed Kind = "defect closed" // a defect put right
	Handover     Kind = "handover"      // one person to the next
	Correction   Kind = "correction"
)

// Kinds lists the kinds in a fixed order.
func Kinds() []Kind {
	return []Kind{Sheet, Measurement, Defect, DefectClosed, Handover, Correction}
}

// Record is the class record that the writer worked from.
type Record struct {
	Hash     string `json:"hash"`
	Revision string `json:"revision"` // draft, checked or issued, with its date
}

// Entry is one entry. Number, Previous and Hash are given by the store; the rest by the
// caller. Fields that a kind has no use for are empty.
type Entry struct {
	Number     int       // 1, 2, 3 … in the store
	ID         ID        // the same in every store
	At         time.Time // when it was so; UTC, whole seconds
	Written    time.Time // when it was written down; never before At
	Kind       Kind
	Unit       string // "Tern 3"
	Record     Record
	Who        string
	Text       string
	Device     string // of a defect: the device or element; empty for the unit as a whole
	Fault      string // of a defect: a word of fleet.DefectKinds, or where the device stands; "" where the text alone says it
	Sheet      string // of a sheet: which, e.g. "walk-round"
	To         string // of a handover: who takes over
	Lines      []Line // of a sheet: all; of a measurement: one
	Supersedes ID     // of a correction: what it stands in for
	Why        string // of a correction: what was wrong
	Withdrawn  bool   // of a correction: the entry should never have been written
	Closes     ID     // of a closing: the defect
	Refs       []ID   // other entries that this one speaks of
	Previous   string // hash of the entry before; empty for the first
	Hash       string // of everything above
}

// Line is one line of a sheet, or the reading of a measurement: a tick, a value, words, or several of them.
type Line struct {
	What    string // the measure ("piston travel"), or what was looked at
	Unit    string // where it is another than the entry's
	Device  string // device or element of the record; empty for the unit as a whole
	Tick    Tick
	Seen    string // what was seen where it is no figure: "out", "blows 3 s"
	Value   *Value
	State   string // what it was read in: "applied", "hot, idling"
	Renewed bool   // the first reading after a renewal or an adjustment
}

// Tick is what somebody found.
type Tick string

// The ticks. What was not seen is written as not seen and never left out.
const (
	NoTick  Tick = ""
	Right   Tick = "right"
	Wrong   Tick = "wrong"
	NotSeen Tick = "not seen"
)

// Value is a measure in SI: a gauge pressure in Pa above the atmosphere, a length in m.
type Value struct {
	Measure string  `json:"measure"`          // the kind of measure by its name, e.g. "length"
	SI      float64 `json:"si"`               // in the SI unit of the kind
	Spread  float64 `json:"spread,omitempty"` // on either side; 0 was not stated
}

// ValueOf is a quantity as the log keeps it: to twelve figures, far beyond what can be
// read, so that 92.4 mm is kept as 0.0924 m and not with what the conversion left behind.
func ValueOf(q quantity.Value) *Value {
	tidy := func(v float64) float64 {
		if t, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64); err == nil {
			return t
		}
		return v
	}
	return &Value{Measure: q.Kind.String(), SI: tidy(q.SI), Spread: tidy(q.Spread)}
}

// Quantity is the value as a quantity; false when its measure has no known name.
func (v Value) Quantity() (quantity.Value, bool) {
	k, ok := measureNamed(v.Measure)
	return quantity.Value{Kind: k, SI: v.SI, Spread: v.Spread}, ok
}

// measureNamed finds a kind of measure by its name.
func measureNamed(name string) (quantity.Kind, bool) {
	for k := quantity.Count; k <= quantity.Rate; k++ {
		if k.String() == name {
			return k, true
		}
	}
	return 0, false
}

// Quantity is a measure that is commonly kept, by the name under which it is kept.
type Quantity struct {
	Name     string
	Measures []quantity.Kind
	What     string
}

// Quantities are the names under which measures are kept, so that one measure is not kept
// under two. A railway may keep others; a caller asks before it lets one begin. The choice
// is common practice.
func Quantities() []Quantity {
	rate := []quantity.Kind{quantity.Rate}
	length := []quantity.Kind{quantity.Length}
	return []Quantity{
		{"piston travel", length, "applied stand-out less released stand-out of one cylinder"},
		{"block thickness", length, "the thinnest place of the thinnest block"},
		{"flange thickness", length, "of one wheel"},
		{"flange height", length, "of one wheel"},
		{"wheel diameter", length, "at the tread"},
		{"coupler height", length, "above the rail"},
		{"oil use", []quantity.Kind{quantity.Volume, quantity.Flow}, "oil filled since the last time, or a rate"},
		{"oil level", length, "at the dip stick, from the lower mark"},
		{"brake pipe leakage", rate, "with the automatic valve cut out"},
		{"main reservoir leakage", rate, "with the compressor stopped"},
		{"brake cylinder leakage", rate, "with the supply closed"},
		{"pressure", []quantity.Kind{quantity.Pressure}, "at a gauge"},
		{"pumping time", []quantity.Kind{quantity.Time}, "of the compressor between two pressures"},
		{"temperature", []quantity.Kind{quantity.Temperature}, "of what the device holds"},
		{"battery voltage", []quantity.Kind{quantity.Voltage}, "at rest or charging, as the state says"},
	}
}
