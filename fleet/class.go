package fleet

import (
	"fmt"
	"io/fs"
	"strconv"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

// Fleet is everything read from one railway's folder: its classes and its units,
// in a fixed order (classes by name, units by class and number).
type Fleet struct {
	Railway string
	Classes []*Class
	Units   []*Unit
	files   fs.FS // where it was read from, for photographs

	once  sync.Once // the words of everything that can be found are taken apart once
	found []entry
}

// Class is one class record: what every unit of the class is like before its own
// modifications and today's state.
type Class struct {
	Name       string // as spoken, e.g. "Tern"
	Kind       string // "locomotive" or "wagon"
	Title      string
	Source     string // the nearest source for figures that name none
	Pos        reading.Pos
	Revision   Revision
	Identity   []Fact
	Length     float64   // m over couplers; 0 when not stated
	Mass       float64   // kg empty; 0 when not stated
	Loaded     float64   // kg loaded; 0 when the class carries no load
	Running    *Running  // nil when not described
	Traction   *Traction // nil when not described
	Cabs       int
	Multiple   bool // may be worked in multiple (a control jumper exists)
	Ends       [2]End
	Places     []Place
	Ways       []Way
	Devices    []*Device
	Air        []*Element
	Rigging    []*Element // blocks, hand brakes and wheels, each of a kind of RiggingKinds
	Circuits   []*Element // parts of the circuits, each of a kind of Parts
	Starts     []*Start
	Roles      []*Role
	Makes      []Makes
	Checks     []Check
	Procedures []*Instructions
	Walk       Walk
	Order      *WalkOrder // the frozen order of the walk-round inspection; nil when none is
	Shape      *Shape     // what it looks like; nil when not recorded
	Diagram    []Cell     // where air elements stand on the air diagram; those not named are placed by the drawing
	Missing    []Missing
	partial    bool   // a file of it is no record: what names its devices is not held against them
	Hash       string // hash of the files it was read from, as they are
	Content    string // sum of what they say, without the revision
	folder     string
}

// Revision says how far a record has been checked: "draft", "checked" or "issued".
type Revision struct {
	State, By, CheckedBy, IssuedBy, Date string
	Content                              string // sum of what was checked; empty when it was not sealed
	Pos                                  reading.Pos
}

// Fact is one line of a class's identity.
type Fact struct {
	Name, Text string
	Figure     *source.Figure
	Pos        reading.Pos
}

// Fact finds a line of the identity by its name.
func (c *Class) Fact(name string) (Fact, bool) {
	for _, f := range c.Identity {
		if f.Name == name {
			return f, true
		}
	}
	return Fact{}, false
}

// Axles is the number of axles: as stated, else from the wheel arrangement in letters
// (each capital A to F is so many driven axles; a numeral so many carrying ones). False
// where the record says neither.
func (c *Class) Axles() (int, bool) {
	if f, ok := c.Fact("axles"); ok {
		n, err := strconv.Atoi(f.Text)
		return n, err == nil && n > 0
	}
	f, _ := c.Fact("wheel arrangement")
	n := 0
	for _, r := range f.Text {
		switch {
		case r >= 'A' && r <= 'F':
			n += int(r-'A') + 1
		case r >= '1' && r <= '9':
			n += int(r - '0')
		case r == 'o' || r == '-' || r == '\'' || r == '(' || r == ')' || r == '′':
		default:
			return 0, false
		}
	}
	return n, n > 0
}

// Spec finds a line of the coupler of a headstock by its name.
func (e *End) Spec(name string) (Fact, bool) {
	for _, f := range e.CouplerSpec {
		if f.Name == name {
			return f, true
		}
	}
	return Fact{}, false
}

// End is one headstock.
type End struct {
	Coupler     string  // kind, e.g. "knuckle"
	Height      float64 // m above rail
	Pipes       []PipeEnd
	Pos         reading.Pos
	CouplerSpec []Fact
}

// PipeEnd is one pipe where it reaches a headstock.
type PipeEnd struct {
	Pipe string // "brake-pipe", "main-reservoir-pipe", "third-pipe", "fourth-pipe"
	Head string // coupling head; only equal heads fit
	Hose string // device id of the hose
	Cock string // device id of the end cock
	Node string // air element (a pipe) it belongs to
	Side string
	// Optional pipes are carried only by the units that name them under "with".
	Optional bool
	Pos      reading.Pos
}

// Place is where a person stands or reaches.
type Place struct {
	ID, Name, Side, Level string
	X                     float64 // m from headstock 1
	Pos                   reading.Pos
}

// Way joins two places with the seconds it takes and what to mind on it.
type Way struct {
	From, To string
	Seconds  float64
	Cautions []string
	Pos      reading.Pos
}

// Device is a thing a person looks at or works.
type Device struct {
	ID, Function, Name string
	AlsoCalled         []string
	Kind               string // handle, cock, switch, gauge, piston, exhaust, lamp, fluid, item …
	System             string // one of the eight systems
	Cab, End, Bogie    int    // 0 when not told apart by it
	Place              string
	Photo              string // file in the class's folder
	Positions          []Position
	Range              *Range // when a position may be a quantity
	Normal             string
	Reads              string // air node a gauge or piston reads; element an exhaust listens to
	Graduation, Error  *source.Figure
	Lag                float64 // s in which a gauge shows 63 % of a sudden change; 0: at once
	HowWorked          string
	Cautions           []string
	Fitted             string // yes, no, out of use, blanked
	Who                []Fact
	Evidence           string
	ReadsTrueWhen      string
	State              string  // the state of the machine in which it is looked at; "" when in any
	Wait               float64 // s to wait in that state before it reads true
	GoesWith           []string
	ActsOn             []string
	DrivenBy           string
	FailsTo            string
	Tries              *Tries // nil where the record says nothing of resets or starts
	AfterUse           string
	Needs              []string
	Lasts, Refill      string
	Rated              *source.Figure
	Limits             []Fact
	Sealed             bool
	MustNotMove        bool
	Source             string
	OnlyWith           string // there only on units that have this feature
	OnlyWithout        string // there only on units that have it not
	Pos                reading.Pos
	node               *reading.Node // as it was written
}

// Tries says how often a device may be reset, started or renewed, and when never.
type Tries struct {
	Times int            // 0: not by the crew
	Apart *source.Figure // s between tries
	After string         // what must be seen or done first
	Never string         // when it is never tried again
	Then  string         // when the tries are used up
	Pos   reading.Pos
}

// Forbids says that the crew must never try at all.
func (t *Tries) Forbids() bool { return t != nil && t.Times == 0 && t.Never != "" }

// String is the tries in one line.
func (t *Tries) String() string {
	if t == nil {
		return ""
	}
	s := map[int]string{0: "none", 1: "once", 2: "twice"}[t.Times]
	if s == "" {
		s = fmt.Sprintf("%d times", t.Times)
	}
	if t.Apart != nil {
		s += ", " + quantity.Metric().Value(t.Apart.Value) + " apart"
	}
	if t.After != "" {
		s += ", after " + t.After
	}
	if t.Never != "" {
		s += "; never " + t.Never
	}
	if t.Then != "" {
		s += "; then " + t.Then
	}
	return s
}

// Position is one state a device can be left in.
type Position struct {
	ID     string
	Looks  string
	Means  string         // what it means for the device's function, when the id does not say it
	Sets   *source.Figure // quantity the position gives to a regulator
	Part   float64        // opening of a cock left part open, 0..1; 0 when not stated
	Photo  string         // file in the class's folder
	Shows  []Shown        // what a light then shows; nil when it does not say
	Toward int            // the headstock to which a reverser then leads; 0 when to none or not said
	Pos    reading.Pos
}

// Range lets a device stand at any quantity from Low to High (SI).
type Range struct {
	Low, High float64
	Pos       reading.Pos
}

// Element is one part of the air network or of the circuits as the record writes it:
// `id: {kind: {argument: value …}}`.
type Element struct {
	ID, Kind    string
	Args        []Arg
	OnlyWith    string // there only on units that have this feature
	OnlyWithout string // there only on units that have it not
	Pos         reading.Pos
}

// Arg is one argument of an element. Exactly one of its forms is filled, by the
// argument's kind in the table Kinds.
type Arg struct {
	Name   string
	Text   string
	Figure *source.Figure
	List   []string
	When   When
	Pos    reading.Pos
}

// When is a condition on positions of devices and states of elements: any of the
// alternatives, each of which needs all its terms.
type When []Alternative

// Alternative is a list of terms that must all hold.
type Alternative []Term

// Term holds when the device or element Of stands in one of In.
type Term struct {
	Of  string
	In  []string
	Pos reading.Pos
}

// Role is the set of positions the railway instructs for one role, with the variant
// conditions after the comma ("trail, copy lead").
type Role struct {
	Name, Variant string
	Positions     []Claim  // by device id
	ThisCab       []Claim  // by function, for the cab that drives
	OtherCab      []Claim  // by function, for the other cab
	Reversed      []Claim  // by device id, where headstock 2 is in front
	AtFront       []Claim  // by function, where the unit is the first of the consist: devices of that headstock or of none
	AtRear        []Claim  // by function, where it is the last
	AtBoth        []Claim  // by function, where it is both
	AllPipes      bool     // hauled dead on all pipes rather than the brake pipe only
	Pipes         []string // pipes this role uses; empty = all it carries
	Pos           reading.Pos
}

// Claim is one device and the position claimed for it.
type Claim struct {
	Device, Position string
	Pos              reading.Pos
}

// Makes says what a lead of the named variant puts on the third pipe: "copy" or "command".
type Makes struct {
	Variant, Third string
	Pos            reading.Pos
}

// Missing names what is not known.
type Missing struct {
	What, Needed string
	Pos          reading.Pos
}

// Unit is one numbered vehicle with its state as it stands today.
type Unit struct {
	Class         string
	Number        int
	Modifications []string
	State         []Override
	Without       []string // pipes, devices or elements this unit has not
	With          []string // optional pipes or fittings this unit has
	Measured      []Measured
	Defects       []Defect
	Checked       []Checked
	Note          string
	Pos           reading.Pos
}

// Override replaces one property of one device or element on one unit, with its date and reason.
type Override struct {
	Device, Property, Value string // property: fitted, normal, sets, position, looks
	Date, Reason            string
	Pos                     reading.Pos
}

// Measured is a measured value that overlays the record on one unit.
type Measured struct {
	Element, Argument string
	Figure            source.Figure
	Date, Reason      string
	Pos               reading.Pos
}

// Defect is an open defect of a unit: a device or a function of it, what kind of fault,
// since when, and who said so. Only Text and Date are always there; what a rule can be
// found by is Device or Function, with Kind.
type Defect struct {
	Device   string // id of a device of the class
	Function string // a word of Functions; that of the device where one is named
	Kind     string // a word of DefectKinds; "" when not said
	Position string // where a device was left that stands cut out; "" when not said
	Text     string
	Date     string // 2026-03-01
	By       string // who reported it
	Pos      reading.Pos
}

// Devices are the devices that an element's conditions and settings name, in order.
func (e *Element) Devices() []string {
	var out []string
	add := func(id string) {
		for _, x := range out {
			if x == id {
				return
			}
		}
		out = append(out, id)
	}
	for _, a := range e.Args {
		for _, al := range a.When {
			for _, t := range al {
				add(t.Of)
			}
		}
		for _, id := range a.List {
			if len(id) > 0 && id[0] == '-' {
				id = id[1:]
			}
			add(id)
		}
	}
	return out
}
