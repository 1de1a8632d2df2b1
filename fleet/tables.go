package fleet

import "sync"

// Form is how the value of a key is written.
type Form int

// The forms.
const (
	FormText     Form = iota // plain text
	FormTexts                // one text or a list of them
	FormOneOf                // one of a few words
	FormYes                  // yes or no
	FormCount                // a whole number
	FormDate                 // 2026-03-01
	FormFigure               // a quantity, with its source if it has one of its own
	FormRange                // "0 kPa .. 150 kPa"
	FormFacts                // a map of free names to texts or quantities
	FormID                   // the id of something else in the record
	FormIDs                  // one id or a list of them
	FormMap                  // a map with keys of its own
	FormList                 // a list of such maps
	FormCatalog              // a map from ids to such maps
	FormOutlines             // a map from names to lists of corners, each two lengths
	FormFigures              // a map from names to quantities
	FormCells                // a map from ids to [column, row]
)

// KeySpec is one key that a record may hold in one place.
type KeySpec struct {
	Name     string
	Form     Form
	Required bool
	Words    []string  // for FormOneOf
	Keys     []KeySpec // for FormMap, FormList and FormCatalog
	Help     string
}

// Pipes are the pipes that can run from headstock to headstock.
func Pipes() []string {
	return []string{"brake-pipe", "main-reservoir-pipe", "third-pipe", "fourth-pipe"}
}

// RoleNames are the roles a record may give positions for; "wagon" stands for every vehicle
// that is no locomotive.
func RoleNames() []string {
	return []string{"lead", "alone", "trail", "trail shut down", "hauled live", "hauled dead", "assisting", "stabled", "wagon"}
}

// Variants are the conditions that may follow a role after a comma.
func Variants() []string {
	return []string{"copied", "copy lead", "command lead", "no third pipe", "all pipes", "empty", "loaded"}
}

func sides() []string { return []string{"left", "right", "centre", "both"} }

func fittedWords() []string { return []string{"yes", "no", "out of use", "blanked"} }

func properties() []string { return []string{"fitted", "normal", "position", "sets", "looks"} }

var positionKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "looks", Form: FormText, Required: true, Help: "how it looks, sounds or feels when it stands so"},
		{Name: "means", Form: FormText, Help: "what it means for the device's function, where its name does not say"},
		{Name: "sets", Form: FormFigure, Help: "the quantity it gives to a valve that is set by it"},
		{Name: "shows", Form: FormTexts, Help: "what a light then shows and where: white, red, dark; at end 1, ahead, behind, where not coupled, at the front, at the rear …"},
		{Name: "toward", Form: FormCount, Help: "the headstock to which a reverser then leads, 1 or 2"},
		{Name: "part", Form: FormText, Help: "how far a cock stands open, from 0 to 1"},
		{Name: "photo", Form: FormText, Help: "a photograph of it standing so: a JPEG or PNG file in the class's folder"},
	}
})

var deviceKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "function", Form: FormText, Required: true, Help: "what it is for: a word of the defined list"},
		{Name: "name", Form: FormText, Required: true, Help: "as on its plate"},
		{Name: "also called", Form: FormTexts, Help: "what else people call it"},
		{Name: "kind", Form: FormText, Required: true, Help: "handle, cock, switch, gauge, piston, exhaust, lamp, fluid, item …"},
		{Name: "system", Form: FormOneOf, Words: Systems(), Help: "one of the eight systems; without it, that of its function"},
		{Name: "cab", Form: FormCount, Help: "the cab it stands in"},
		{Name: "end", Form: FormCount, Help: "the headstock it belongs to, 1 or 2"},
		{Name: "bogie", Form: FormCount, Help: "the bogie it belongs to"},
		{Name: "place", Form: FormID, Help: "where one stands to reach it"},
		{Name: "photo", Form: FormText, Help: "a photograph of it: a JPEG or PNG file in the class's folder"},
		{Name: "positions", Form: FormCatalog, Keys: positionKeys(), Help: "every state it can be left in"},
		{Name: "range", Form: FormRange, Help: "it may stand at any quantity in here"},
		{Name: "normal", Form: FormText, Help: "where it stands when no role says otherwise"},
		{Name: "reads", Form: FormText, Help: "what a gauge, a piston or an exhaust shows"},
		{Name: "graduated", Form: FormFigure, Help: "the smallest step of its scale"},
		{Name: "error", Form: FormFigure, Help: "how far its reading may lie from the truth"},
		{Name: "lag", Form: FormFigure, Help: "how long a gauge takes to show 63 % of a sudden change; without it, none"},
		{Name: "how worked", Form: FormText, Help: "how a person works it"},
		{Name: "cautions", Form: FormTexts, Help: "what to mind before touching it"},
		{Name: "fitted", Form: FormOneOf, Words: fittedWords(), Help: "whether it is there and works"},
		{Name: "who", Form: FormFacts, Help: "who may look, work, adjust"},
		{Name: "evidence", Form: FormText, Help: "what proves its state other than itself"},
		{Name: "reads true when", Form: FormText, Help: "when what it shows can be believed"},
		{Name: "state", Form: FormOneOf, Words: MachineStates(), Help: "the state of the machine in which it is looked at"},
		{Name: "wait", Form: FormFigure, Help: "how long that state must have lasted before it reads true"},
		{Name: "goes with", Form: FormIDs, Help: "devices that must agree with it"},
		{Name: "acts on", Form: FormTexts, Help: "what it acts on"},
		{Name: "driven by", Form: FormText, Help: "what it needs alive"},
		{Name: "fails to", Form: FormText, Help: "how it stands when what drives it fails"},
		{Name: "tries", Form: FormMap, Help: "how often it may be reset, started or renewed", Keys: triesKeys()},
		{Name: "after use", Form: FormText, Help: "what must follow"},
		{Name: "needs", Form: FormTexts, Help: "key, torch, second person"},
		{Name: "lasts", Form: FormText, Help: "how long it is good for"},
		{Name: "refill", Form: FormText, Help: "with what, and how"},
		{Name: "rated", Form: FormFigure, Help: "its rating"},
		{Name: "limits", Form: FormFacts, Help: "between what it must be found"},
		{Name: "sealed", Form: FormYes, Help: "it carries a seal"},
		{Name: "must not be moved", Form: FormYes, Help: "no procedure ever moves it"},
		{Name: "source", Form: FormText, Help: "where its figures come from"},
		{Name: "only with", Form: FormText, Help: "there only on units that have this"},
		{Name: "only without", Form: FormText, Help: "there only on units that have this not"},
	}
})

var pipeEndKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "head", Form: FormText, Required: true, Help: "its coupling head; only equal heads fit"},
		{Name: "hose", Form: FormID, Required: true, Help: "the device that is its hose"},
		{Name: "cock", Form: FormID, Required: true, Help: "the device that is its end cock"},
		{Name: "node", Form: FormID, Help: "the air pipe it belongs to; without it, the one of its own name"},
		{Name: "side", Form: FormOneOf, Words: sides(), Help: "on which side of the coupler it hangs, seen from outside"},
		{Name: "optional", Form: FormYes, Help: "carried only by units that name it under with"},
	}
})

var endKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "coupler", Form: FormFacts, Required: true, Help: "kind, height, swing, strength; pivot is how far behind its face it turns"},
		{Name: "pipes", Form: FormCatalog, Keys: pipeEndKeys(), Help: "the pipes that reach this headstock"},
	}
})

var topKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "class", Form: FormText, Required: true, Help: "the class as spoken"},
		{Name: "kind", Form: FormOneOf, Words: []string{"locomotive", "wagon"}, Help: "locomotive or wagon"},
		{Name: "title", Form: FormText, Help: "what it is, in a line"},
		{Name: "format", Form: FormCount, Help: "the form of the record: 1"},
		{Name: "source", Form: FormText, Required: true, Help: "where the figures of this file come from that name no source"},
		{Name: "revision", Form: FormMap, Help: "how far the record has been checked", Keys: []KeySpec{
			{Name: "state", Form: FormOneOf, Words: []string{"draft", "checked", "issued"}, Required: true, Help: "a card from anything but issued prints DRAFT"},
			{Name: "by", Form: FormText, Required: true, Help: "who wrote it"},
			{Name: "checked by", Form: FormText, Help: "who checked it at the machine: another person"},
			{Name: "issued by", Form: FormText, Help: "who issued it: not who wrote it"},
			{Name: "date", Form: FormDate, Help: "when"},
			{Name: "content", Form: FormText, Help: "sum of what was checked, written by sign; after a change the record is a draft again"},
		}},
		{Name: "identity", Form: FormFacts, Help: "free facts; length, mass, loaded, axles, wheel arrangement, axle load, axle load loaded, braked weight, braked weight loaded, minimum curve radius, bogie centres and wheelbase are used"},
		{Name: "running", Form: FormMap, Keys: runningKeys(), Help: "how it rolls and is drawn: resistance, rotating mass, drawgear"},
		{Name: "traction", Form: FormMap, Keys: tractionKeys(), Help: "how it pulls: generators, motors and their grouping, or a measured effort at each speed"},
		{Name: "cabs", Form: FormCount, Help: "how many cabs"},
		{Name: "multiple", Form: FormYes, Help: "can be worked in multiple"},
		{Name: "ends", Form: FormCatalog, Keys: endKeys(), Help: "headstocks 1 and 2"},
		{Name: "places", Form: FormCatalog, Help: "where a person stands or reaches", Keys: []KeySpec{
			{Name: "name", Form: FormText, Required: true, Help: "as people say it"},
			{Name: "x", Form: FormFigure, Help: "from headstock 1"},
			{Name: "side", Form: FormOneOf, Words: sides(), Help: "seen from headstock 1 toward 2"},
			{Name: "level", Form: FormText, Help: "ground, cab, engine room, roof …"},
		}},
		{Name: "ways", Form: FormList, Help: "how one gets from place to place", Keys: []KeySpec{
			{Name: "between", Form: FormIDs, Required: true, Help: "two places"},
			{Name: "takes", Form: FormFigure, Required: true, Help: "time on foot"},
			{Name: "cautions", Form: FormTexts, Help: "climb, hot, moving, live, far side"},
		}},
		{Name: "devices", Form: FormCatalog, Keys: deviceKeys(), Help: "everything a person looks at or works"},
		{Name: "air", Form: FormCatalog, Help: "the elements of the air network"},
		{Name: "rigging", Form: FormCatalog, Help: "blocks with their levers, hand brakes and wheels"},
		{Name: "circuits", Form: FormCatalog, Help: "the parts of the control and starting circuits"},
		{Name: "starts", Form: FormCatalog, Keys: startKeys(), Help: "how each engine is started"},
		{Name: "roles", Form: FormCatalog, Help: "the positions the railway instructs for each role"},
		{Name: "makes", Form: FormFacts, Help: "what a lead puts on the third pipe: command or copy"},
		{Name: "procedures", Form: FormCatalog, Keys: procedureKeys(), Help: "start, shut down and the like, step by step"},
		{Name: "checks", Form: FormList, Help: "checks beyond looking at each device", Keys: checkKeys()},
		{Name: "walk", Form: FormMap, Help: "where the walk-round inspection begins and ends, and where the machine is worked on the way", Keys: walkKeys()},
		{Name: "walk order", Form: FormMap, Help: "the frozen order of the walk-round inspection, as headstock walk --freeze writes it", Keys: walkOrderKeys()},
		{Name: "shape", Form: FormMap, Keys: shapeKeys(), Help: "what it looks like from the side and from above, for drawings"},
		{Name: "diagram", Form: FormCells, Help: "where air elements stand on the air diagram: [column, row]; those not named are placed by themselves"},
		{Name: "missing", Form: FormList, Help: "what is not known", Keys: []KeySpec{
			{Name: "what", Form: FormText, Required: true, Help: "what is not known"},
			{Name: "needed for", Form: FormText, Help: "what cannot be said without it: a requirement by its id, prove for all of them, fitness, route, or a level by its name"},
		}},
	}
})

var triesKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "times", Form: FormCount, Required: true, Help: "how often; 0 is not by the crew"},
		{Name: "apart", Form: FormFigure, Help: "time between tries"},
		{Name: "after", Form: FormText, Help: "what must be seen or done first"},
		{Name: "never", Form: FormText, Help: "when it is never tried again"},
		{Name: "then", Form: FormText, Help: "what is done when the tries are used up"},
	}
})

var startKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "name", Form: FormText, Help: "which engine, as spoken"},
		{Name: "engine", Form: FormID, Help: "the device that is the engine"},
		{Name: "stands", Form: FormFacts, Help: "where devices stand before the start, where that is otherwise than for a lead; at cab: by function in the cab that drives"},
		{Name: "steps", Form: FormList, Required: true, Help: "what is done, in order", Keys: []KeySpec{
			{Name: "what", Form: FormText, Help: "what is done or waited for, in plain words"},
			{Name: "move", Form: FormFacts, Help: "devices and where they are put; at cab: by function in the cab that drives"},
			{Name: "wait", Form: FormFigure, Help: "time waited after the move"},
			{Name: "stage", Form: FormOneOf, Words: StartStages(), Help: "how far the start has come when shows holds"},
			{Name: "shows", Form: FormFacts, Help: "what must then hold: positions, and states of relays, lamps, motors and the machine"},
			{Name: "within", Form: FormFigure, Help: "how long it is waited for"},
		}},
	}
})

var unitKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "note", Form: FormText, Help: "a remark"},
		{Name: "modifications", Form: FormTexts, Help: "what was changed on it"},
		{Name: "with", Form: FormTexts, Help: "optional pipes and fittings it has"},
		{Name: "without", Form: FormTexts, Help: "pipes, devices and elements it has not"},
		{Name: "state", Form: FormList, Help: "what stands otherwise than the record says", Keys: []KeySpec{
			{Name: "device", Form: FormID, Required: true, Help: "which device"},
			{Name: "property", Form: FormOneOf, Words: properties(), Required: true, Help: "what about it"},
			{Name: "value", Form: FormText, Required: true, Help: "what it is on this unit"},
			{Name: "date", Form: FormDate, Required: true, Help: "since when"},
			{Name: "reason", Form: FormText, Required: true, Help: "why"},
		}},
		{Name: "measured", Form: FormList, Help: "measured values laid over the record", Keys: []KeySpec{
			{Name: "element", Form: FormID, Required: true, Help: "which air element"},
			{Name: "argument", Form: FormText, Required: true, Help: "which of its figures"},
			{Name: "value", Form: FormFigure, Required: true, Help: "what was measured"},
			{Name: "date", Form: FormDate, Required: true, Help: "when"},
			{Name: "reason", Form: FormText, Required: true, Help: "how, and why it is used"},
		}},
		{Name: "checked", Form: FormList, Help: "when a check of the class was last made on this unit", Keys: []KeySpec{
			{Name: "check", Form: FormID, Required: true, Help: "which check"},
			{Name: "date", Form: FormDate, Required: true, Help: "when"},
			{Name: "found", Form: FormText, Help: "what was found"},
			{Name: "by", Form: FormText, Help: "who made it"},
		}},
		{Name: "defects", Form: FormList, Help: "open defects", Keys: []KeySpec{
			{Name: "device", Form: FormID, Help: "which device"},
			{Name: "function", Form: FormText, Help: "which function, where no device of the record is meant"},
			{Name: "kind", Form: FormOneOf, Words: defectWords(), Help: "what kind of fault; without it no rule can say what follows"},
			{Name: "position", Form: FormText, Help: "where the device was left, for one that stands cut out"},
			{Name: "text", Form: FormText, Required: true, Help: "what is wrong"},
			{Name: "date", Form: FormDate, Required: true, Help: "since when"},
			{Name: "by", Form: FormText, Help: "who reported it"},
		}},
	}
})

func keysOf(specs []KeySpec, name string) []KeySpec {
	for _, k := range specs {
		if k.Name == name {
			return k.Keys
		}
	}
	return nil
}
