package fleet

import (
	"slices"
	"strings"
	"sync"

	"headstock/internal/reading"
)

// Function is one word of the defined list: what a device is for, whatever its class
// calls it. Procedures, requirements, comparisons and questions address devices by it;
// devices of one function are told apart by cab, end and bogie. One protection's button,
// relay and link share one function.
type Function struct {
	Word    string
	System  string // one of the eight of Systems
	Meaning string
}

// Systems are the eight systems of a record, in the order in which they are shown.
func Systems() []string {
	return []string{"coupling", "running gear", "air supply", "brake", "engine", "electrics", "cab", "safety"}
}

// system is the system a record's word stands for: the short name or the long one.
func system(word string) (string, bool) {
	w := strings.ToLower(strings.ReplaceAll(word, "-", " "))
	switch w {
	case "coupling and pipes", "couplings":
		w = "coupling"
	case "air":
		w = "air supply"
	case "brakes":
		w = "brake"
	case "engine and cooling", "cooling":
		w = "engine"
	case "transmission and electrics", "transmission", "electric":
		w = "electrics"
	case "safety equipment":
		w = "safety"
	}
	for _, s := range Systems() {
		if s == w {
			return s, true
		}
	}
	return word, false
}

// LookupFunction finds a word of the defined list.
func LookupFunction(word string) (Function, bool) {
	f, ok := byWord()[word]
	return f, ok
}

// NearestFunction is the word of the list that was probably meant, or "".
func NearestFunction(word string) string {
	var words []string
	for _, f := range Functions() {
		words = append(words, f.Word)
	}
	return reading.Nearest(word, words)
}

// Functions is the defined list, in the order of the eight systems.
func Functions() []Function { return slices.Clone(functions()) }

// byWord finds a function without a walk through the list.
var byWord = sync.OnceValue(func() map[string]Function {
	out := map[string]Function{}
	for _, f := range functions() {
		out[f.Word] = f
	}
	return out
})

// functions is the list itself, made once: a record asks for it at every device.
var functions = sync.OnceValue(func() []Function {
	return []Function{
		{"coupler", "coupling", "the coupler at a headstock"},
		{"coupler-lock", "coupling", "what holds the coupler's knuckle or hook shut, and the mark that proves it"},
		{"coupler-release", "coupling", "the handle or rod that opens the coupler, worked from the side"},
		{"brake-pipe-end-cock", "coupling", "the cock that shuts the brake pipe at a headstock"},
		{"brake-pipe-hose", "coupling", "the hose that carries the brake pipe to the next vehicle"},
		{"main-reservoir-end-cock", "coupling", "the cock that shuts the main reservoir pipe at a headstock"},
		{"main-reservoir-hose", "coupling", "the hose that carries main reservoir air to the next vehicle"},
		{"third-pipe-end-cock", "coupling", "the cock that shuts the third pipe at a headstock"},
		{"third-pipe-hose", "coupling", "the hose that carries the third pipe to the next vehicle"},
		{"fourth-pipe-end-cock", "coupling", "the cock that shuts the fourth pipe at a headstock"},
		{"fourth-pipe-hose", "coupling", "the hose that carries the fourth pipe to the next vehicle"},
		{"hose-dummy", "coupling", "where a hose head rests when it is not coupled; keeps dirt out, is no seal"},
		{"control-jumper", "coupling", "the cable that carries electrical commands to the next unit"},
		{"control-jumper-socket", "coupling", "where a control jumper plugs in"},
		{"adapter-jumper", "coupling", "a jumper between two sorts of socket, with fewer circuits than either"},
		{"buffer", "coupling", "what takes the push at a headstock, where it is not the coupler"},
		{"safety-chain", "coupling", "a chain that holds if the coupler parts"},
		{"joint-guard", "coupling", "the plate, cover or gate of the passage between two vehicles"},
		{"axle", "running gear", "one wheelset"},
		{"wheel", "running gear", "a wheel with its tread and flange"},
		{"axlebox", "running gear", "the bearing of one axle end"},
		{"traction-motor", "running gear", "the motor of one axle"},
		{"motor-bellows", "running gear", "the flexible duct that brings cooling air to a traction motor"},
		{"motor-suspension", "running gear", "what holds a traction motor up in the bogie"},
		{"gear-case", "running gear", "the case of the final drive and its oil"},
		{"primary-spring", "running gear", "the spring between axlebox and bogie"},
		{"secondary-spring", "running gear", "the spring or pad between bogie and body"},
		{"damper", "running gear", "a shock absorber of the running gear"},
		{"bogie-pivot", "running gear", "centre or link by which a bogie pulls the body"},
		{"side-bearer", "running gear", "the pad on which the body leans on the bogie"},
		{"body-chain", "running gear", "the chain or link that keeps body and bogie together when lifted"},
		{"rail-guard", "running gear", "the iron that clears the rail in front of the first wheel"},
		{"coupling-rod", "running gear", "the rod that joins coupled wheels"},
		{"sand-box", "running gear", "a box of sand with its lid"},
		{"sand-valve", "running gear", "the valve that blows sand to the pipes of one direction"},
		{"sanding-cock", "running gear", "the cock that isolates the air of the sanders"},
		{"sand-pipe", "running gear", "the pipe that lays sand before a wheel"},
		{"flange-lubricator", "running gear", "what puts lubricant on wheel flanges"},
		{"speed-probe", "running gear", "the probe that tells speed from an axle"},
		{"wagon-load", "running gear", "what a wagon carries, and how it is held"},
		{"wagon-door", "running gear", "the door or hatch by which a wagon empties"},
		{"wagon-frame", "running gear", "the frame of a wagon"},
		{"compressor", "air supply", "the machine that makes compressed air"},
		{"compressor-drive", "air supply", "how the compressor is driven, and whether it is"},
		{"compressor-unloader", "air supply", "what lets the compressor turn without pumping"},
		{"compressor-oil", "air supply", "the oil of the compressor and its level"},
		{"compressor-intake", "air supply", "the filter through which the compressor breathes"},
		{"compressor-cooler", "air supply", "the cooler between or after the compressor's stages"},
		{"compressor-governor", "air supply", "what starts and stops pumping by pressure"},
		{"governor-isolating-cock", "air supply", "the cock before the compressor governor"},
		{"main-reservoir", "air supply", "a reservoir that stores main air"},
		{"main-reservoir-drain", "air supply", "the cock or valve that drains water from a main reservoir"},
		{"main-reservoir-safety-valve", "air supply", "the safety valve of the main reservoirs"},
		{"main-reservoir-isolating-cock", "air supply", "the cock that isolates a main reservoir from the rest"},
		{"main-reservoir-pipe-isolating-cock", "air supply", "the cock between a unit's reservoirs and the main reservoir pipe"},
		{"main-reservoir-check-valve", "air supply", "the check valve between reservoirs"},
		{"main-reservoir-gauge", "air supply", "shows main reservoir pressure"},
		{"air-dryer", "air supply", "what takes water from compressed air"},
		{"air-dryer-bypass", "air supply", "the cock that leads air round the dryer"},
		{"air-filter", "air supply", "a filter in an air line, with its drain"},
		{"control-air-gauge", "air supply", "shows the pressure of control air"},
		{"control-air-cock", "air supply", "the cock that isolates control air"},
		{"auxiliary-reservoir", "air supply", "a reservoir for one purpose, filled from another"},
		{"auxiliary-reservoir-drain", "air supply", "the drain of an auxiliary reservoir"},
		{"automatic-handle", "brake", "the handle of the driver's automatic brake valve"},
		{"automatic-cut-out", "brake", "parts the automatic brake valve from the brake pipe"},
		{"feed-adjuster", "brake", "sets the pressure to which the automatic brake valve charges the brake pipe"},
		{"independent-handle", "brake", "the handle of the locomotive brake"},
		{"independent-adjuster", "brake", "sets the highest pressure of the locomotive brake"},
		{"quick-release", "brake", "what releases the locomotive's own brake while the train's stays on"},
		{"straight-air-handle", "brake", "the handle of a brake that puts air straight into this vehicle's cylinders"},
		{"unit-valve", "brake", "sets a unit's locomotive brake for leading or trailing"},
		{"third-pipe-meaning", "brake", "sets whether the third pipe means a copy of cylinder pressure or a command"},
		{"third-pipe-direction", "brake", "sets whether a unit gives on to the third pipe or takes from it"},
		{"changeover-lock", "brake", "what holds the changeover levers where they were put"},
		{"emergency-valve", "brake", "opens the brake pipe to the air, for anybody to use"},
		{"brake-supply-cock", "brake", "the cock that feeds a driver's brake valve from the main reservoir"},
		{"brake-pipe-gauge", "brake", "shows brake pipe pressure"},
		{"equalising-reservoir-gauge", "brake", "shows equalising reservoir pressure"},
		{"brake-cylinder-gauge", "brake", "shows brake cylinder pressure"},
		{"control-pressure-gauge", "brake", "shows the pressure that controls the relays"},
		{"third-pipe-gauge", "brake", "shows the pressure of the third pipe"},
		{"flow-indicator", "brake", "shows air flowing into the brake pipe"},
		{"automatic-exhaust", "brake", "where the automatic brake valve lets brake pipe or equalising air out"},
		{"independent-exhaust", "brake", "where the independent brake valve lets air out"},
		{"quick-release-exhaust", "brake", "where the quick release lets air out"},
		{"distributor", "brake", "the valve that makes a brake from the fall of the brake pipe"},
		{"distributor-cock", "brake", "the cock that isolates the distributor"},
		{"distributor-bleed", "brake", "lets the distributor's reservoirs empty, to release by hand"},
		{"distributor-exhaust", "brake", "where the distributor lets air out"},
		{"distributing-valve", "brake", "a distributor with an application chamber, on a locomotive"},
		{"distributing-valve-cock", "brake", "the cock that isolates the distributing valve"},
		{"application-chamber-release", "brake", "lets the application chamber of a distributing valve empty"},
		{"relay", "brake", "the valve that feeds cylinders to a control pressure"},
		{"relay-supply-cock", "brake", "the cock that feeds the relays"},
		{"bogie-brake-cock", "brake", "the cock that isolates the brake of one bogie"},
		{"brake-cylinder-cock", "brake", "the cock that isolates one cylinder or all of a vehicle"},
		{"sealed-brake-cock", "brake", "a cock of the brake that is sealed and never moved"},
		{"dead-engine-cock", "brake", "lets the brake pipe charge the reservoir of a unit hauled dead"},
		{"dead-engine-regulator", "brake", "limits the pressure of a unit hauled dead"},
		{"auxiliary-feed-cock", "brake", "chooses whether a brake is fed from the main reservoir or from the brake pipe"},
		{"brake-mode", "brake", "sets the brake's timing or force, such as goods or passenger"},
		{"empty-load", "brake", "sets the brake for an empty or a loaded vehicle"},
		{"retainer", "brake", "holds back the end of a release on a falling grade"},
		{"brake-cylinder", "brake", "a cylinder whose piston pushes the blocks"},
		{"brake-piston", "brake", "the piston rod, as far as it can be seen in or out"},
		{"slack-adjuster", "brake", "takes up the wear of blocks"},
		{"slack-adjuster-catch", "brake", "the catch, bar or pawl that stops or frees a slack adjuster"},
		{"brake-block", "brake", "a block on a wheel"},
		{"brake-rigging", "brake", "rods and levers from piston to block, with pins and safety straps"},
		{"hand-brake", "brake", "the wheel, lever or screw that holds the vehicle by hand"},
		{"hand-brake-indicator", "brake", "shows whether a hand brake is on"},
		{"hand-brake-chain", "brake", "the chain or rod by which a hand brake pulls"},
		{"vent-valve", "brake", "empties the brake pipe locally on a sudden fall"},
		{"vent-valve-cock", "brake", "the cock that isolates a vent valve"},
		{"penalty-valve", "brake", "empties the brake pipe when a protection acts"},
		{"penalty-cock", "brake", "the cock that isolates a penalty valve"},
		{"power-cut-off-switch", "brake", "cuts power when the brake pipe falls"},
		{"release-valve", "brake", "a valve that quick release works"},
		{"van-valve", "brake", "the valve by which a guard applies the train brake"},
		{"brake-isolating-cock", "brake", "takes a vehicle's brake out of use; it is then piped only"},
		{"third-pipe-isolating-cock", "brake", "shuts the third pipe inside a unit"},
		{"fourth-pipe-isolating-cock", "brake", "shuts the fourth pipe inside a unit"},
		{"double-check-valve", "brake", "passes on the higher of two pressures"},
		{"brake-test-point", "brake", "where a test gauge is joined"},
		{"brake-gong", "brake", "a bell or lamp that tells of low brake or main air"},
		{"engine-oil", "engine", "the oil of the engine, with its dipstick or glass"},
		{"engine-oil-filler", "engine", "where engine oil is filled"},
		{"oil-pressure-gauge", "engine", "shows the pressure of engine oil"},
		{"oil-temperature-gauge", "engine", "shows the temperature of engine oil"},
		{"oil-filter", "engine", "a filter of engine oil"},
		{"cooling-water", "engine", "the cooling water, with its glass"},
		{"cooling-water-filler", "engine", "where cooling water is filled"},
		{"cooling-water-drain", "engine", "where cooling water is let out"},
		{"water-temperature-gauge", "engine", "shows the temperature of cooling water"},
		{"governor-oil", "engine", "the oil of the engine governor, with its glass"},
		{"engine-governor", "engine", "holds the engine's speed"},
		{"load-control", "engine", "how the governor gives load to the generator"},
		{"load-indicator", "engine", "shows where load control stands"},
		{"fuel-tank", "engine", "the fuel in the tank, with its glass or dipstick"},
		{"fuel-filler", "engine", "where fuel is filled"},
		{"fuel-pump", "engine", "lifts fuel to the engine"},
		{"fuel-filter", "engine", "a filter of fuel"},
		{"fuel-sight-glass", "engine", "shows that fuel flows, or that it by-passes"},
		{"fuel-pressure-gauge", "engine", "shows the pressure of fuel"},
		{"fuel-emergency-stop", "engine", "cuts the fuel from outside or inside"},
		{"fuel-hand-lever", "engine", "the hand lever on the fuel shaft"},
		{"priming-pump", "engine", "fills the engine with oil or fuel before it turns"},
		{"starting-aid", "engine", "warms engine or air for a start"},
		{"barring-gear", "engine", "turns the engine by hand"},
		{"test-valve", "engine", "opens a cylinder of the engine to the air, to show water or fuel"},
		{"low-oil-trip", "engine", "stops the engine when oil pressure is low"},
		{"low-water-trip", "engine", "stops the engine when water is low"},
		{"hot-engine-trip", "engine", "takes load off or stops when the engine is hot"},
		{"crankcase-trip", "engine", "stops the engine when the crankcase is under pressure"},
		{"overspeed-trip", "engine", "stops the engine when it runs too fast"},
		{"turbocharger", "engine", "the exhaust-driven blower"},
		{"scavenge-blower", "engine", "the blower of a two-stroke engine, with its drains"},
		{"blower-drain", "engine", "drains oil and water from the blower's case"},
		{"crankcase-cover", "engine", "a cover of the crankcase; never opened hot"},
		{"exhaust-stack", "engine", "where the exhaust leaves, and its colour"},
		{"air-intake-filter", "engine", "the filter through which the engine breathes"},
		{"radiator", "engine", "the radiator of the cooling water"},
		{"radiator-shutter", "engine", "the shutters before the radiator"},
		{"shutter-cock", "engine", "the cock or valve that works the shutters by hand"},
		{"shutter-hold", "engine", "what holds the shutters open by hand"},
		{"radiator-fan", "engine", "the fan of the radiator"},
		{"fan-drive", "engine", "how the radiator fan is driven, and whether it is"},
		{"fan-oil", "engine", "the oil of the fan drive"},
		{"engine", "engine", "the engine as a whole: stopped or running"},
		{"engine-room-door", "engine", "a door or hatch to the engine"},
		{"main-generator", "electrics", "the generator of traction current"},
		{"generator-field", "electrics", "lets the main generator excite"},
		{"auxiliary-generator", "electrics", "charges the battery and feeds control circuits"},
		{"auxiliary-generator-breaker", "electrics", "the breaker of the auxiliary generator"},
		{"battery", "electrics", "the battery and its cells"},
		{"battery-switch", "electrics", "parts the battery from everything"},
		{"battery-charge-meter", "electrics", "shows charge into or out of the battery"},
		{"battery-voltmeter", "electrics", "shows battery voltage"},
		{"control-breaker", "electrics", "the breaker of control circuits"},
		{"fuel-pump-breaker", "electrics", "the breaker of the fuel pump"},
		{"lighting-breaker", "electrics", "the breaker of lights"},
		{"start-fuse", "electrics", "the fuse in the starting circuit"},
		{"fuse", "electrics", "a fuse of any other circuit"},
		{"fuse-tester", "electrics", "where a fuse is tried, and how it shows good"},
		{"ground-relay", "electrics", "acts when traction current finds the frame"},
		{"wheel-slip-relay", "electrics", "acts when one axle turns at another speed"},
		{"overload-relay", "electrics", "acts when traction current is too high"},
		{"no-charge-relay", "electrics", "acts when the auxiliary generator stops charging"},
		{"traction-contactor", "electrics", "joins motors to the generator"},
		{"reverser-drum", "electrics", "turns the motor fields for direction"},
		{"motor-cut-out", "electrics", "takes one traction motor out of use"},
		{"isolation-switch", "electrics", "takes a unit's power off line, or stops its engine"},
		{"engine-run-switch", "electrics", "lets the engine answer the throttle"},
		{"fuel-pump-switch", "electrics", "runs the fuel pump"},
		{"generator-field-switch", "electrics", "lets the generator be excited from this cab"},
		{"control-switch", "electrics", "brings a cab's controls to life"},
		{"start-button", "electrics", "cranks the engine"},
		{"stop-button", "electrics", "stops this engine"},
		{"emergency-stop-button", "electrics", "stops every engine it reaches"},
		{"alarm-reset", "electrics", "resets a lamp, bell or relay"},
		{"high-voltage-cabinet", "electrics", "the cabinet with high voltage, its door and interlock"},
		{"traction-blower", "electrics", "the blower that cools traction motors"},
		{"transmission-oil", "electrics", "the oil of a hydraulic transmission, with its glass"},
		{"transmission-temperature-gauge", "electrics", "shows the temperature of transmission oil"},
		{"gear-lever", "electrics", "sets the range, direction or neutral of a mechanical final drive"},
		{"gear-lock", "electrics", "locks a final drive in neutral"},
		{"earth-stick", "electrics", "earths a circuit before work"},
		{"throttle", "cab", "the handle that asks for power"},
		{"reverser", "cab", "the handle that sets direction"},
		{"removable-handle-rack", "cab", "where handles taken out of a cab are kept"},
		{"cab-key", "cab", "the key that brings a cab to life"},
		{"vigilance-device", "cab", "asks the driver for an answer and brakes if none comes"},
		{"vigilance-cut-out", "cab", "takes the vigilance device out of use"},
		{"driver-pedal", "cab", "must be held down, or the brake applies"},
		{"overspeed-device", "cab", "brakes when the train runs too fast"},
		{"sanding-button", "cab", "asks for sand"},
		{"horn", "cab", "the handle, cord or pedal of the horn"},
		{"horn-cock", "cab", "the cock that isolates the horn"},
		{"bell", "cab", "the warning bell outside"},
		{"wiper", "cab", "the wiper of a window"},
		{"headlight", "cab", "the headlight of one end"},
		{"marker-light", "cab", "a marker or tail light of one end"},
		{"light-setting", "cab", "sets which lights show for the role and the end"},
		{"cab-light", "cab", "lights the cab or its instruments"},
		{"speedometer", "cab", "shows speed"},
		{"load-meter", "cab", "shows traction current"},
		{"recorder", "cab", "writes down speed and acts"},
		{"slip-lamp", "cab", "tells of wheel slip"},
		{"engine-fault-lamp", "cab", "tells that an engine has a fault"},
		{"ground-lamp", "cab", "tells that the ground relay has acted"},
		{"hot-engine-lamp", "cab", "tells that an engine is hot"},
		{"no-charge-lamp", "cab", "tells that the battery is not being charged"},
		{"brake-lamp", "cab", "tells that brake or power cut-off has acted"},
		{"alarm-bell", "cab", "rings in the cab for a fault"},
		{"call-button", "cab", "rings the bell in other units"},
		{"lamp-test", "cab", "lights every fault lamp, to try them"},
		{"radio", "cab", "speaks to signaller and train"},
		{"cab-door", "cab", "a door of the cab"},
		{"cab-window", "cab", "a window of the cab"},
		{"cab-seat", "cab", "a seat of the cab"},
		{"cab-heater", "cab", "warms the cab or its windows"},
		{"fault-book", "cab", "where faults are written on the unit"},
		{"fire-extinguisher", "safety", "a hand extinguisher"},
		{"fire-system", "safety", "the fixed fire system with its bottles"},
		{"fire-system-release", "safety", "lets the fixed fire system go"},
		{"fire-system-lock", "safety", "holds the fixed fire system from going while people are inside"},
		{"fire-detector", "safety", "tells of fire"},
		{"fire-alarm", "safety", "sounds when fire is found"},
		{"flag", "safety", "a flag for hand signals"},
		{"hand-lamp", "safety", "a lamp or torch"},
		{"detonator", "safety", "an explosive signal for the rail"},
		{"track-shunt", "safety", "a clip that shows a track as occupied"},
		{"wheel-chock", "safety", "a chock that holds a wheel"},
		{"spare-hose", "safety", "a spare hose with its spanner"},
		{"tool-box", "safety", "tools that must be on board"},
		{"first-aid-box", "safety", "the first-aid box"},
		{"escape-way", "safety", "a way out that must be free"},
		{"handrail", "safety", "steps and rails by which people climb"},
		{"deck-plate", "safety", "floors and covers people stand on"},
		{"warning-board", "safety", "a board or tag that says somebody is at work"},
		{"gangway-door", "safety", "the door to the way through a vehicle"},
		{"isolation-tag", "safety", "the tag that says a device is out of use"},
		{"tail-lamp", "safety", "the lamp or board that proves a train is complete"},
	}
})
