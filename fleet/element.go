package fleet

import (
	"slices"
	"sync"

	"headstock/quantity"
)

// ArgKind says how an argument of an air element is written.
type ArgKind int

// The kinds of argument.
const (
	ArgFigure  ArgKind = iota // a quantity of the given kind
	ArgNode                   // an air node (volume, cylinder, pipe, line) or atmosphere
	ArgWhen                   // a condition
	ArgWord                   // one of a few words
	ArgDevice                 // a device whose position sets a quantity
	ArgDevices                // a list of devices, "-" before one that is subtracted
	ArgElement                // another element
	ArgText                   // plain words
)

// ArgSpec describes one argument of an element kind.
type ArgSpec struct {
	Name     string
	Kind     ArgKind
	Quantity quantity.Kind // for ArgFigure
	Required bool
	Words    []string // for ArgWord
	Help     string
}

// KindSpec describes one kind of air element.
type KindSpec struct {
	Name   string
	Help   string
	Node   bool     // other elements may name it as a node
	States []string // states that a condition may name
	Args   []ArgSpec
}

func fig(name string, q quantity.Kind, required bool, help string) ArgSpec {
	return ArgSpec{Name: name, Kind: ArgFigure, Quantity: q, Required: required, Help: help}
}
func node(name string, required bool, help string) ArgSpec {
	return ArgSpec{Name: name, Kind: ArgNode, Required: required, Help: help}
}
func when(name, help string) ArgSpec { return ArgSpec{Name: name, Kind: ArgWhen, Help: help} }

// Kinds lists every kind of air element a record may use, with its arguments.
// consist turns each into elements of package air; none of them knows a class or a role.
func Kinds() []KindSpec { return slices.Clone(kinds()) }

// kinds is the list itself, made once.
var kinds = sync.OnceValue(func() []KindSpec {
	p, l, v, n := quantity.Pressure, quantity.Length, quantity.Volume, quantity.Count
	return []KindSpec{
		{Name: "volume", Node: true, Help: "a reservoir, chamber or line of fixed volume", Args: []ArgSpec{
			fig("volume", v, true, "inside volume"), fig("rated", p, false, "highest working pressure (gauge)")}},
		{Name: "cylinder", Node: true, Help: "brake cylinders on one line, with piston travel", Args: []ArgSpec{
			fig("bore", l, true, "piston diameter"), fig("count", n, false, "cylinders on the line (1)"),
			fig("travel", l, true, "piston travel with blocks on the wheels"), fig("clearance", v, true, "volume with the piston in, per cylinder, with its pipe"),
			fig("starts at", p, false, "pressure at which the piston leaves its seat (15 kPa)"), fig("contact at", p, false, "pressure at which the blocks touch (45 kPa)"),
			fig("released stand-out", l, false, "rod standing out with the brake released")}},
		{Name: "pipe", Node: true, Help: "a pipe that runs from headstock to headstock, or along the unit", Args: []ArgSpec{
			fig("bore", l, true, "inside diameter"), fig("length", l, true, "length"), fig("roughness", l, false, "roughness of the wall (0.1 mm; below 20 mm bore 0.01 mm)")}},
		{Name: "passage", Help: "a choke, port, cock or way through a multi-port cock", Args: []ArgSpec{
			node("from", true, ""), node("to", true, ""), fig("bore", l, true, "diameter of the equivalent hole"),
			when("when", "open only when this holds"), when("unless", "shut when this holds"),
			{Name: "vents", Kind: ArgWord, Words: []string{"from", "to"}, Help: "side that is vented while the passage is shut"}, fig("vent bore", l, false, "vent hole (3 mm)")}},
		{Name: "check", Help: "a one-way valve from → to", Args: []ArgSpec{
			node("from", true, ""), node("to", true, ""), fig("bore", l, true, ""), fig("cracks at", p, false, "pressure difference that opens it (2 kPa)"),
			when("when", "open only when this holds"), when("unless", "")}},
		{Name: "double-check", Help: "the higher of two inputs goes to the output", Args: []ArgSpec{
			node("a", true, ""), node("b", true, ""), node("output", true, ""), fig("bore", l, true, ""), fig("hysteresis", p, false, "(5 kPa)")}},
		{Name: "regulator", Help: "self-lapping valve: holds the output at a set pressure", Args: []ArgSpec{
			node("supply", true, ""), node("output", true, ""), fig("set", p, false, "fixed set pressure"),
			{Name: "set by", Kind: ArgDevices, Help: "devices whose positions add up to the set pressure, '-' before one that is subtracted"},
			fig("supply bore", l, true, ""), fig("exhaust bore", l, false, "none: cannot lower its output"), node("exhaust", false, "where it exhausts (atmosphere)"),
			fig("band", p, false, "error for full opening (6 kPa)"), fig("dead band", p, false, "(0)"),
			when("when", "works only when this holds; otherwise shut both ways"), when("unless", "")}},
		{Name: "relay", Help: "the output follows a control pressure, fed from a supply", Args: []ArgSpec{
			node("control", true, ""), node("supply", true, ""), node("output", true, ""), fig("ratio", n, false, "(1)"), fig("offset", p, false, "(0)"),
			fig("limit", p, false, "highest output"), fig("bore", l, true, "supply and exhaust port"), fig("exhaust bore", l, false, "(as bore)"), node("exhaust", false, "(atmosphere)"),
			fig("band", p, false, "(6 kPa)"), fig("dead band", p, false, "(2 kPa)"), when("when", "supply open only when this holds"), when("unless", "supply shut when this holds")}},
		{Name: "pilot", Help: "snaps between two states at pressures of a node", States: []string{"tripped", "normal"}, Args: []ArgSpec{
			node("watches", true, ""), fig("trips above", p, false, ""), fig("trips below", p, false, ""), fig("resets below", p, false, ""), fig("resets above", p, false, "")}},
		{Name: "release-valve", Help: "quick release: opens on a pilot pressure, stays open until the brake pipe falls further", States: []string{"open", "shut"}, Args: []ArgSpec{
			node("pilot", true, ""), node("brake pipe", true, ""), fig("opens above", p, true, ""), fig("shuts on further fall", p, true, ""), fig("follows below", p, true, "brake-pipe pressure under which it follows the pilot alone"),
			when("when", "pilot reaches it only when this holds"), node("second pilot", false, "another pressure that opens it"), when("second when", "")}},
		{Name: "vent-valve", Help: "opens the pipe to atmosphere on a fast fall, by a chamber that cannot follow", States: []string{"tripped", "idle"}, Args: []ArgSpec{
			node("pipe", true, ""), fig("bore", l, true, "vent"), fig("follows at", quantity.Rate, false, "fastest fall the chamber follows (90 kPa/s)"), fig("trips at", p, false, "chamber above pipe (30 kPa)"), fig("shuts at", p, false, "(30 kPa)")}},
		{Name: "latch", Help: "remembers that something happened until it is reset", States: []string{"set", "clear"}, Args: []ArgSpec{when("sets when", ""), when("clears when", "")}},
		{Name: "direct-distributor", Help: "direct release: brake pipe against an auxiliary reservoir", States: []string{"release", "service", "lap", "emergency"}, Args: []ArgSpec{
			node("pipe", true, "brake pipe or its branch"), node("auxiliary", true, ""), node("cylinder", true, "cylinder or control volume"), node("exhaust", false, "(atmosphere)"), node("emergency reservoir", false, ""),
			fig("charge bore", l, true, ""), fig("fill bore", l, true, ""), fig("release bore", l, true, ""), fig("bulb", v, false, "quick-service bulb"), fig("bulb bore", l, false, ""),
			fig("applies at", p, false, "(8 kPa)"), fig("laps at", p, false, "(1 kPa)"), fig("releases at", p, false, "(10 kPa)"), fig("emergency charge bore", l, false, ""),
			{Name: "emergency", Kind: ArgElement, Help: "vent valve that also gives emergency"}, fig("emergency fill bore", l, false, ""),
			fig("retarded release bore", l, false, "lets off instead while the pipe stands high above the auxiliary; none: never"), fig("retards at", p, false, "pipe above auxiliary (20.7 kPa)")}},
		{Name: "graduated-distributor", Help: "graduated release: brake pipe against a control reservoir sets the cylinder", States: []string{"release", "applied"}, Args: []ArgSpec{
			node("pipe", true, ""), node("auxiliary", true, ""), node("control reservoir", true, ""), node("cylinder", true, ""), node("exhaust", false, ""),
			fig("gain", n, false, "(2.714)"), fig("highest", p, false, "(380 kPa)"), fig("charge bore", l, true, ""), fig("control charge bore", l, true, ""), fig("fill bore", l, true, ""), fig("in-shot bore", l, false, "(5 mm)"), fig("in-shot to", p, false, "(60 kPa)"),
			fig("release bore", l, true, ""), fig("bulb", v, false, ""), fig("bulb bore", l, false, ""), fig("applies at", p, false, "(7 kPa)"), fig("offset", p, false, "(5 kPa)")}},
		{Name: "compressor", Help: "pumps into a node under a governor", States: []string{"pumping", "idle"}, Args: []ArgSpec{
			node("output", true, ""), fig("delivers", quantity.Flow, true, "free air"), node("governor watches", true, ""), fig("cuts in at", p, true, ""), fig("cuts out at", p, true, ""), when("when", "driven only when this holds")}},
		{Name: "safety-valve", Help: "opens at a pressure and shuts a little lower", States: []string{"lifted", "shut"}, Args: []ArgSpec{
			node("on", true, ""), fig("lifts at", p, true, ""), fig("reseats at", p, true, ""), fig("bore", l, true, "")}},
		{Name: "retainer", Help: "holds back the end of a release by its position", Args: []ArgSpec{
			node("from", true, ""), fig("bore", l, true, ""), fig("holds", p, true, "pressure held while it acts"), when("when", "acts when this holds; otherwise open")}},
		{Name: "leak", Help: "a small hole to atmosphere", Args: []ArgSpec{node("from", true, ""), fig("bore", l, true, ""), when("when", "")}},
	}
})

// Kind returns the description of one element kind.
func Kind(name string) (KindSpec, bool) {
	for _, k := range kinds() {
		if k.Name == name {
			return k, true
		}
	}
	return KindSpec{}, false
}
