package fleet

import (
	"slices"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
)

// Carried are the commands and signals that a wire of the control jumper may carry; two
// records mean the same by the same word.
func Carried() []string {
	return []string{"throttle", "direction 1", "direction 2", "sand", "alarm bell", "control current", "field", "fuel pump", "engine stop", "slip lamp", "engine lamp", "hot engine lamp", "ground lamp", "brake lamp", "headlight"}
}

// StartStages are how far a start can get, in their order: current in the control
// circuits, engine turned by its starter, engine firing, engine running on by itself,
// power on the motors.
func StartStages() []string {
	return []string{"control live", "cranks", "fires", "stays running", "loads"}
}

// Parts lists every kind of part of the circuits that a record may use, with its
// arguments. A part that names a net by fed by, returns to, from, to, plus, minus or net
// hangs on it; nets need no entry of their own. Package circuit works all of them out;
// it knows no device.
func Parts() []KindSpec { return slices.Clone(parts()) }

// parts is the list itself, made once.
var parts = sync.OnceValue(func() []KindSpec {
	t := quantity.Time
	coil := func(name, help string, states []string, more ...ArgSpec) KindSpec {
		return KindSpec{Name: name, Help: help, States: states, Args: append([]ArgSpec{
			node("fed by", true, "the net on its positive side"),
			node("returns to", false, "the net on its other side (the minus of the supply)"),
		}, more...)}
	}
	device := ArgSpec{Name: "device", Kind: ArgDevice, Help: "the device a person sees it as"}
	shows := ArgSpec{Name: "shows", Kind: ArgText, Help: "the position that device is seen in while it is worked"}
	worked := []string{"worked", "dropped"}
	up := func(required bool) ArgSpec {
		return fig("picks up after", t, required, "how long it must be fed before it is worked")
	}
	down := fig("drops after", t, false, "how long it stays worked when it is no longer fed")
	return []KindSpec{
		{Name: "supply", Help: "a battery or other source", Args: []ArgSpec{
			node("plus", true, "its positive net"), node("minus", true, "its negative net"), fig("rated", quantity.Voltage, false, "nominal voltage")}},
		{Name: "contact", Help: "joins two nets, for current either way, while its condition holds", Args: []ArgSpec{
			node("from", true, ""), node("to", true, ""), when("closed when", "closed only while this holds"), when("open when", "open only while this holds")}},
		{Name: "diode", Help: "lets current through from → to only", Args: []ArgSpec{node("from", true, ""), node("to", true, "")}},
		coil("relay", "a relay or contactor", worked, up(false), down, device, shows),
		coil("timer", "a relay that takes its time", worked, up(false), down, device, shows),
		coil("lamp", "a lamp", worked, device, shows),
		coil("bell", "a bell, gong or buzzer", worked, device, shows),
		coil("motor", "a motor, such as the starter or a pump", worked, device, shows),
		coil("magnet", "a magnet valve or solenoid", worked, device, shows),
		{Name: "state", Help: "a state of the machine that follows without a wire: it turns, it fires, oil pressure is there", States: []string{"yes", "no"}, Args: []ArgSpec{
			when("holds when", "what it follows from"), fig("after", t, false, "how long that must last before it holds"), fig("lasts", t, false, "how long it holds on afterwards"),
			{Name: "name", Kind: ArgText, Help: "as a person would say it"}}},
		{Name: "trip", Help: "moves a device by itself, and leaves it there until somebody puts it back", Args: []ArgSpec{
			{Name: "device", Kind: ArgDevice, Required: true, Help: "the device it moves"},
			{Name: "moves to", Kind: ArgText, Required: true, Help: "the position in which it has tripped"},
			when("trips when", "what makes it act; without it nothing here does, and it is only found tripped"), fig("after", t, false, "how long that must last")}},
		{Name: "trainline", Help: "a net that the control jumper carries to the next unit", Args: []ArgSpec{
			node("net", true, ""), {Name: "socket", Kind: ArgText, Required: true, Help: "the kind of socket; equal sockets are joined by the plain jumper"},
			{Name: "wire", Kind: ArgText, Required: true, Help: "its number in the socket"}, {Name: "carries", Kind: ArgWord, Required: true, Words: Carried(), Help: "what it commands or tells"},
			{Name: "through adapter", Kind: ArgWord, Words: []string{"yes", "no"}, Help: "whether an adapter lead to another kind of socket carries it (no)"}}},
	}
})

// Part returns the description of one kind of part.
func Part(name string) (KindSpec, bool) {
	for _, k := range parts() {
		if k.Name == name {
			return k, true
		}
	}
	return KindSpec{}, false
}

// CircuitPart finds a part of the circuits by its id.
func (c *Class) CircuitPart(id string) (*Element, bool) {
	for _, e := range c.Circuits {
		if e.ID == id {
			return e, true
		}
	}
	return nil, false
}

// PartsOf are the parts of one kind, in the order of the record.
func (c *Class) PartsOf(kind string) []*Element {
	var out []*Element
	for _, e := range c.Circuits {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// Text is a plain argument, or "" when the part has it not.
func (e *Element) Text(arg string) string {
	if a, ok := e.Arg(arg); ok {
		return a.Text
	}
	return ""
}

// isCoil says whether a part is worked by current.
func isCoil(kind string) bool {
	return slices.Contains([]string{"relay", "timer", "lamp", "bell", "motor", "magnet"}, kind)
}

// Start is how one engine of a class is started: how everything stands before, and what
// is then done in which order.
type Start struct {
	ID, Name string
	Engine   string // device id of the engine; may be empty
	Stands   Stand
	Steps    []StartStep
	Pos      reading.Pos
}

// Stand is where devices are to stand: by id, and by function in the cab that drives.
type Stand struct {
	Positions []Claim
	ThisCab   []Claim
}

// StartStep is one step of a start: devices are moved, a time is waited, and a stage is
// reached when Shows holds within its time.
type StartStep struct {
	What   string
	Move   Stand
	Wait   float64 // s
	Stage  string  // one of StartStages, or ""
	Shows  When
	Within float64 // s
	Pos    reading.Pos
}
