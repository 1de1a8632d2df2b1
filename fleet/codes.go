package fleet

import "headstock/internal/reading"

// The codes of the complaints about records, each explained in the table of Codes.
const (
	CodeFileMissing       = "file-missing"
	CodeShape             = "wrong-shape"
	CodeUnknownKey        = "unknown-key"
	CodeMissingKey        = "missing-key"
	CodeNotYesOrNo        = "not-yes-or-no"
	CodeNotACount         = "not-a-count"
	CodeNotOneOf          = "not-one-of"
	CodeBadDate           = "bad-date"
	CodeNoSource          = "no-source"
	CodeUnknownSource     = "unknown-source"
	CodeNotAQuantity      = "not-a-quantity"
	CodeNoUnit            = "no-unit"
	CodeUnknownUnit       = "unknown-unit"
	CodeWrongKind         = "wrong-quantity"
	CodeAmbiguousComma    = "ambiguous-comma"
	CodeBadSpread         = "bad-spread"
	CodeNotPositive       = "not-above-zero"
	CodeBadRange          = "bad-range"
	CodePart              = "bad-part"
	CodeShowsColour       = "shows-colour"
	CodeShowsWhere        = "shows-where"
	CodeShowsEnd          = "shows-end"
	CodeShowsSome         = "shows-some"
	CodeShowsFunction     = "shows-function"
	CodeShowsToward       = "shows-toward"
	CodeToward            = "toward-no-reverser"
	CodeFormat            = "unknown-format"
	CodeNoClass           = "no-class"
	CodeClassDisagrees    = "class-disagrees"
	CodeClassTwice        = "class-twice"
	CodeFolderName        = "folder-name"
	CodeSectionTwice      = "section-twice"
	CodeDuplicateID       = "duplicate-id"
	CodeReserved          = "reserved-name"
	CodeNotChecked        = "not-checked"
	CodeCheckedBySame     = "checked-by-same"
	CodeEndNumber         = "end-number"
	CodeCoupler           = "coupler-kind"
	CodeUnknownPipe       = "unknown-pipe"
	CodeHoseUnknown       = "hose-unknown"
	CodeHosePositions     = "hose-positions"
	CodeCockUnknown       = "cock-unknown"
	CodeCockPositions     = "cock-positions"
	CodeEndNode           = "end-without-pipe"
	CodePlaceUnknown      = "place-unknown"
	CodePlaceUnreachable  = "place-unreachable"
	CodeWayEnds           = "way-ends"
	CodeWayPlace          = "way-place"
	CodeNoFunction        = "no-function"
	CodeUnknownFunction   = "unknown-function"
	CodeUnknownSystem     = "unknown-system"
	CodeCabNumber         = "cab-number"
	CodeNoLook            = "position-without-look"
	CodeMixedKinds        = "mixed-quantities"
	CodeNoNormal          = "no-normal"
	CodeNormal            = "normal-not-a-position"
	CodeGoesWith          = "goes-with-unknown"
	CodeActsOn            = "acts-on-unknown"
	CodeDrivenBy          = "driven-by-unknown"
	CodeReads             = "reads-unknown"
	CodeFeature           = "unknown-feature"
	CodeDangling          = "needs-only-with"
	CodeUnknownElement    = "unknown-element-kind"
	CodeTwoKinds          = "two-element-kinds"
	CodeUnknownArgument   = "unknown-argument"
	CodeMissingArgument   = "missing-argument"
	CodeNoClearance       = "no-clearance"
	CodeUnknownNode       = "unknown-node"
	CodeNotANode          = "not-a-node"
	CodeSameNode          = "same-node"
	CodeUnknownElementID  = "unknown-element"
	CodeCondition         = "no-condition"
	CodeConditionUnknown  = "condition-unknown"
	CodeConditionState    = "condition-position"
	CodeConditionTwo      = "condition-ambiguous"
	CodeSetByUnknown      = "set-by-unknown"
	CodeSetByNothing      = "set-by-nothing"
	CodeRegulator         = "regulator-setting"
	CodeOrder             = "wrong-order"
	CodePilot             = "pilot-pressures"
	CodeNoSupply          = "no-supply"
	CodeLooseNet          = "loose-net"
	CodeNotFed            = "coil-not-fed"
	CodeTimerNoTime       = "timer-without-time"
	CodeContact           = "contact-condition"
	CodePartDevice        = "part-device"
	CodePartShows         = "part-shows"
	CodeAxleList          = "axle-list"
	CodeCutOutPosition    = "cut-out-position"
	CodeCurveOrder        = "points-order"
	CodeTripStays         = "trip-stays"
	CodeTripTwice         = "trip-twice"
	CodeWireTwice         = "wire-twice"
	CodeStartNoCircuit    = "start-without-circuits"
	CodeStartDevice       = "start-device"
	CodeStartPosition     = "start-position"
	CodeStartMoves        = "start-moves-fixed"
	CodeStartStage        = "start-stage"
	CodeUnknownRole       = "unknown-role"
	CodeUnknownVariant    = "unknown-variant"
	CodeRoleDevice        = "role-device"
	CodeRoleFunction      = "role-function"
	CodeRolePosition      = "role-position"
	CodeRolePipe          = "role-pipe"
	CodeRoleMoves         = "role-moves-fixed"
	CodeMakes             = "makes-no-lead"
	CodeCheckDevice       = "check-device"
	CodeProcedureName     = "procedure-name"
	CodeProcedureStep     = "procedure-step"
	CodeProcedureDevice   = "procedure-device"
	CodeProcedurePosition = "procedure-position"
	CodeProcedureMoves    = "procedure-moves-fixed"
	CodeProcedureEnds     = "procedure-ends"
	CodeCheckNoID         = "check-without-id"
	CodeCheckLimit        = "check-limit"
	CodeCheckInterval     = "check-interval"
	CodeCheckAfter        = "check-after"
	CodeCheckPlace        = "check-place"
	CodeCheckMeasures     = "check-measures"
	CodeWalkPlace         = "walk-place"
	CodeUnitCheck         = "unit-check"
	CodeUnitClass         = "unit-class"
	CodeUnitNumber        = "unit-number"
	CodeUnitTwice         = "unit-twice"
	CodeUnitDevice        = "unit-device"
	CodeUnitValue         = "unit-value"
	CodeUnitElement       = "unit-element"
	CodeUnitArgument      = "unit-argument"
	CodeDefectFunction    = "defect-function"
	CodeDefectPosition    = "defect-position"
)

// The codes about shapes and the air diagram.
const (
	CodeShapePoint     = "shape-corner"
	CodeShapeOutline   = "shape-outline"
	CodeShapeLevel     = "shape-level"
	CodeDiagramCell    = "diagram-cell"
	CodeDiagramElement = "diagram-element"
)

// The codes about device tables and photographs.
const (
	CodeTableName    = "table-name"
	CodeTableHead    = "table-without-id"
	CodeTableRow     = "table-row"
	CodeTableCell    = "table-cell"
	CodeWorkbook     = "workbook"
	CodePhotoPath    = "photo-path"
	CodePhotoMissing = "photo-missing"
	CodePhotoKind    = "photo-kind"
	CodePhotoLarge   = "photo-large"
)

// Code explains one code of a complaint.
type Code struct {
	Code    string
	Meaning string // the definition
	Example string // one line that earns it
}

// Codes is the table of every complaint that reading a railway's folder can make. Each
// has a broken record in testdata/broken.
func Codes() []Code {
	return []Code{
		{reading.CodeUnreadable, "A file or folder is there and cannot be read.", "a folder named units.yaml"},
		{reading.CodeSyntax, "The text is not YAML; the message says where it stops being so.", "name: a: b"},
		{reading.CodeDocuments, "A file holds more than one document; a record is read from top to bottom as one.", "---"},
		{reading.CodeEmpty, "A file holds nothing.", "# only a remark"},
		{reading.CodeDuplicateKey, "A key stands twice in one map; one of the two would be lost.", "{kind: cock, kind: valve}"},
		{reading.CodeAlias, "A record uses an alias or a merge key; whoever checks a record must see the value where it counts.", "place: *desk"},
		{reading.CodeTag, "A value carries a tag; records are plain text.", "cabs: !!int 1"},
		{reading.CodeKey, "A map has a key that is not a word.", "[a, b]: open"},
		{reading.CodeDepth, "Maps and lists stand too deep in each other for a record.", "[[[[[[…]]]]]]"},
		{reading.CodeTable, "A table file cannot be cut into rows and cells; the message says where.", `open: "along the pipe`},
		{CodeTableName, "A file of a class folder looks like a table and has not the name of one that is read.", "device.csv"},
		{CodeTableHead, "A table of devices has no column id.", "name,function,place"},
		{CodeTableRow, "A row of a table has no id, or more cells than the first row has heads.", ",cock,Tap under the desk"},
		{CodeTableCell, "A cell that holds several named things is not written as names and texts.", "who: anyone may look"},
		{CodeWorkbook, "A table of devices is a workbook, and what reads the folder here cannot read one.", "devices.xlsx on a server that takes CSV"},
		{CodePhotoPath, "A photograph is named by something that is no path inside the folder of its class.", "photo: ../cock.jpg"},
		{CodePhotoMissing, "A photograph that a record names is not there.", "photo: photos/cok.jpg"},
		{CodePhotoKind, "A photograph is neither JPEG nor PNG.", "photo: photos/cock.gif"},
		{CodePhotoLarge, "A photograph is larger than a page or a card can carry.", "photo: a file of 12 MB"},
		{CodeFileMissing, "The folder lacks one of the files every railway has.", "no units.yaml"},
		{CodeShape, "A word, a list or a map stands where another of them belongs.", "positions: open"},
		{CodeUnknownKey, "A key is not in the table of this place; what it says would be lost.", "lookz: handle across"},
		{CodeMissingKey, "A key that this place needs is not there.", "a device without name"},
		{CodeNotYesOrNo, "A value must be yes or no.", "sealed: true"},
		{CodeNotACount, "A value must be a whole number within its limits.", "cabs: two"},
		{CodeNotOneOf, "A value must be one of a few words.", "fitted: perhaps"},
		{CodeBadDate, "A value is no day of the calendar, or not written year-month-day.", "date: 31.2.2026"},
		{CodeNoSource, "A file has no source at its top, so its figures would have none.", "class: Plover without source:"},
		{CodeUnknownSource, "A source is neither in the bibliography nor a drawing nor a plain standing.", "12 mm by my-uncle"},
		{CodeNotAQuantity, "A value must be a quantity and does not begin with a number.", "bore: wide"},
		{CodeNoUnit, "A quantity has no unit.", "bore: 12"},
		{CodeUnknownUnit, "A unit is not known; the nearest one is named.", "bore: 12 mn"},
		{CodeWrongKind, "A quantity is of another kind than this place needs.", "bore: 12 L"},
		{CodeAmbiguousComma, "A comma before three digits can be a decimal mark or a thousand.", "power: 1,250 kW"},
		{CodeBadSpread, "What follows ± is no spread of the figure.", "12 mm ± 3 kPa"},
		{CodeNotPositive, "A figure is zero or below where nothing can be so.", "bore: 0 mm"},
		{CodeBadRange, "A range is not a lower and an upper end of one kind.", "range: 150 kPa"},
		{CodePart, "A part of an opening is not above 0 and at most 1.", "part: 40"},
		{CodeShowsColour, "What a light shows does not begin with a colour.", "shows: blue at end 1"},
		{CodeShowsWhere, "A light shows nowhere that the program knows.", "shows: red under end 1"},
		{CodeShowsEnd, "A light that belongs to no headstock does not say at which one it shows.", "shows: red, in a device without end"},
		{CodeShowsSome, "Some positions of a light say what they show, and others do not.", "shows: red in one position and nothing in the next"},
		{CodeShowsFunction, "A device that is no light at a headstock says what it shows there.", "shows: red in a cock"},
		{CodeShowsToward, "A light shows ahead or behind, and no reverser says to which headstock it leads.", "shows: white ahead, without toward"},
		{CodeToward, "A device that is no reverser leads to a headstock.", "toward: 1 in a cock"},
		{CodeFormat, "The record says a form this program does not read.", "format: 2"},
		{CodeNoClass, "A class file does not say its class.", "kind: wagon without class:"},
		{CodeClassDisagrees, "Two files of one class folder name different classes.", "class: Plover beside class: Ploverr"},
		{CodeClassTwice, "One class is recorded in two places.", "classes/plover.yaml beside classes/plover/"},
		{CodeFolderName, "A class folder is named otherwise than its class.", "classes/dunlin holding class: Plover"},
		{CodeSectionTwice, "Something said once for a class is said in two of its files.", "revision: in two files"},
		{CodeDuplicateID, "An id is used twice, in two files of one class.", "a cock in brake.yaml and in pipes.yaml"},
		{CodeReserved, "An id has a meaning of its own and cannot be used.", "atmosphere: {volume: …}"},
		{CodeNotChecked, "A record is marked checked or issued, and no second person is named.", "{state: issued, by: A. Person}"},
		{CodeCheckedBySame, "A record is checked by the person who wrote it.", "by: A. Person, checked by: A. Person"},
		{CodeEndNumber, "Headstocks are 1 and 2, and both are there.", "ends: {3: …}"},
		{CodeCoupler, "A coupler has no kind.", "coupler: {height: 790 mm}"},
		{CodeUnknownPipe, "No such pipe runs between vehicles.", "fifth-pipe: {…}"},
		{CodeHoseUnknown, "A pipe at a headstock names a hose that is no device.", "hose: hose-9"},
		{CodeHosePositions, "A hose lacks a position that every joint needs: coupled and on dummy.", "positions: {on: …, off: …}"},
		{CodeCockUnknown, "A pipe at a headstock names an end cock that is no device.", "cock: cock-9"},
		{CodeCockPositions, "An end cock lacks a position that every joint needs: open and closed.", "positions: {on: …, off: …}"},
		{CodeEndNode, "A pipe at a headstock belongs to no pipe of the air network.", "brake-pipe: at an end and no brake-pipe in air"},
		{CodePlaceUnknown, "A device stands at a place that is not in the record.", "place: nowhere"},
		{CodePlaceUnreachable, "No way leads to a place from the others.", "a place that no way names"},
		{CodeWayEnds, "A way does not join two places.", "between: [cab-desk]"},
		{CodeWayPlace, "A way leads to a place that is not in the record.", "between: [cab-desk, nowhere]"},
		{CodeNoFunction, "A device has no function, so nothing can address it.", "a device without function"},
		{CodeUnknownFunction, "A function is not in the defined list; the nearest is named.", "function: automatic-handel"},
		{CodeUnknownSystem, "A system is none of the eight.", "system: plumbing"},
		{CodeCabNumber, "A device stands in a cab that the class has not.", "cab: 2 in a class with one"},
		{CodeNoLook, "A position does not say how it looks, so nobody can find it.", "open: {means: open}"},
		{CodeMixedKinds, "The positions and the range of a device give quantities of different kinds.", "sets: 35 kPa beside sets: 2 mm"},
		{CodeNoNormal, "A device has positions and does not say in which it normally stands.", "positions without normal"},
		{CodeNormal, "A device normally stands in a position it has not.", "normal: ajar"},
		{CodeGoesWith, "A device must agree with one that is not in the record.", "goes with: [lever]"},
		{CodeActsOn, "A device acts on an id that is not in the record.", "acts on: [no-such-relay]"},
		{CodeDrivenBy, "A device is driven by an id that is not in the record.", "driven by: no-such-switch"},
		{CodeReads, "A gauge, piston or exhaust of the brake or the air shows something that is not in the air network.", "reads: no-such-line"},
		{CodeFeature, "A feature that a unit has or lacks is not in its class, or a part waits for a feature that no unit can have.", "with: [fifth-pipe]"},
		{CodeDangling, "An element leans on another that only some units have.", "from: fourth-pipe without only with: fourth-pipe"},
		{CodeUnknownElement, "An element is of no known kind.", "tie: {pasage: …}"},
		{CodeTwoKinds, "An element is of two kinds.", "{check: …, passage: …}"},
		{CodeUnknownArgument, "A kind of element has no such argument.", "passage: {diameter: 4 mm}"},
		{CodeMissingArgument, "An element lacks an argument that its kind needs.", "passage: {from: a, to: b}"},
		{CodeNoClearance, "Cylinders lack their clearance, without which no pressure can be computed.", "cylinder: {bore: …, travel: …}"},
		{CodeUnknownNode, "An element leads to something that is not in the air network.", "to: no-such-volume"},
		{CodeNotANode, "An element leads to one that holds no air.", "to: a-check-valve"},
		{CodeSameNode, "An element leads from a place to the same place.", "from: brake-pipe, to: brake-pipe"},
		{CodeUnknownElementID, "An element names another that is not there.", "emergency: no-such-valve"},
		{CodeCondition, "A condition is not written as devices and their positions.", "when: open"},
		{CodeConditionUnknown, "A condition names neither a device nor an element with states.", "when: {no-such-cock: open}"},
		{CodeConditionState, "A condition names a position or state that its device or element has not.", "when: {unit-valve: up}"},
		{CodeConditionTwo, "A condition names an id that is both a device and an element with states.", "when: {vent-valve: tripped} with a device vent-valve"},
		{CodeSetByUnknown, "A regulator is set by a device that is not in the record.", "set by: no-such-handle"},
		{CodeSetByNothing, "A regulator is set by a device of which a position sets no pressure.", "set by: [lever] with positions without sets"},
		{CodeRegulator, "A regulator needs either a fixed setting or devices that set it, and not both.", "regulator without set and set by"},
		{CodeOrder, "Two figures of an element stand in the wrong order.", "cuts in at: 850 kPa, cuts out at: 750 kPa"},
		{CodePilot, "A pilot trips at one pressure and resets at another on the far side of it.", "trips below: 180 kPa, resets above: 150 kPa"},
		{CodeNoSupply, "The circuits have no supply, so nothing in them can ever be worked.", "circuits: {run: {relay: {fed by: control-bus}}}"},
		{CodeLooseNet, "Only one part hangs on a net: its name is mistyped, or its other end is not in the record.", "fed by: contol-bus"},
		{CodeNotFed, "No current can reach a coil, whatever is closed: a contact on its way is missing.", "a relay on a net that no contact joins to a supply"},
		{CodeTimerNoTime, "A timer says no time.", "crank-limit: {timer: {fed by: start-line}}"},
		{CodeContact, "A contact needs one condition, closed when or open when, and not both.", "contact: {from: a, to: b}"},
		{CodePartDevice, "A part of the circuits is seen as a device that is not in the record.", "lamp: {device: no-such-lamp, …}"},
		{CodePartShows, "A part shows a position that its device has not, or has no device.", "shows: litt"},
		{CodeTripStays, "A trip moves its device to where it normally stands.", "moves to: set, of a device whose normal is set"},
		{CodeTripTwice, "Two trips move one device.", "two parts of the kind trip with device: low-oil-trip"},
		{CodeWireTwice, "One wire of the control jumper is given to two nets.", "wire: 7 twice in one socket"},
		{CodeStartNoCircuit, "A start is written and no circuits that it could be run on.", "starts without circuits"},
		{CodeStartDevice, "A start names a device or function that is not in the record.", "move: {no-such-button: pressed}"},
		{CodeStartPosition, "A start puts a device in a position it has not.", "move: {start-button: presed}"},
		{CodeStartMoves, "A start moves a device that must not be moved.", "a sealed cut-out in a step"},
		{CodeStartStage, "The stages of a start are out of order, or one has nothing that shows it, or it never cranks.", "stage: fires before stage: cranks"},
		{CodeUnknownRole, "No such role.", "trial: {…}"},
		{CodeUnknownVariant, "No such condition on a role.", "trail, copied lead: {…}"},
		{CodeRoleDevice, "A role gives a position to a device that is not in the record.", "lead: {no-such-cock: open}"},
		{CodeRoleFunction, "A role gives a position by a function that no device of the class, or none in a cab, has.", "at cab: {hand-brake: on}"},
		{CodeRolePosition, "A role gives a device a position it has not.", "lead: {unit-valve: up}"},
		{CodeRolePipe, "A role uses a pipe that reaches no headstock of the class.", "pipes: [third-pipe]"},
		{CodeRoleMoves, "A role moves a device that must not be moved.", "a sealed cock in a role"},
		{CodeMakes, "Only a lead makes something of the third pipe.", "makes: {trail: copy}"},
		{CodeProcedureName, "No such procedure.", "procedures: {begin: {…}}"},
		{CodeProcedureStep, "A step of a procedure is not exactly one act.", "- {do: {cock: open}, say: wait}"},
		{CodeProcedureDevice, "A step is about a device that is not in the record.", "- {do: {no-such-switch: on}}"},
		{CodeProcedurePosition, "A step names a position that the device has not.", "- {do: {cock: ajar}}"},
		{CodeProcedureMoves, "A step moves a device that must not be moved.", "- {do: {sealed-cock: closed}}"},
		{CodeProcedureEnds, "A procedure leaves a device otherwise than the role it ends as.", "ends as: stabled, with the battery left closed"},
		{CodeCheckDevice, "A check is about a device that is not in the record.", "device: no-such-glass"},
		{CodeCheckNoID, "A check has no id, so no measurement can refer to it.", "- {what: battery, limit: at least 68 V}"},
		{CodeCheckLimit, "A limit begins like a figure and is none.", "limit: at most 20 kPs"},
		{CodeCheckInterval, "An interval is not daily, weekly, monthly, yearly, or a number of days, weeks, months or years.", "every: now and then"},
		{CodeCheckAfter, "A check comes after one that is not in the record, or checks wait for each other in a ring.", "after: [no-such-check]"},
		{CodeCheckPlace, "A check is made at a place that is not in the record.", "place: nowhere"},
		{CodeCheckMeasures, "What a check measures does not fit its device or its limit.", "measures: travel, at a lamp"},
		{CodeShapePoint, "A corner of an outline is not two lengths.", "body: [[0.5 m, 1.1 m], [0.5 m]]"},
		{CodeShapeOutline, "An outline has fewer than three corners, or a corner or an axle lies beyond the vehicle.", "body: [[0.5 m, 1.1 m], [93 m, 1.1 m], [9.3 m, 3.4 m]]"},
		{CodeShapeLevel, "A level of the shape is that of no place, or a level of the places has no height.", "levels: {roff: 3.6 m}"},
		{CodeDiagramCell, "An element of the diagram has no cell of two whole numbers, or the cell of another.", "brake-pipe: [3]"},
		{CodeDiagramElement, "The diagram names an element that is not in the air section.", "diagram: {brake-pip: [3, 1]}"},
		{CodeWalkPlace, "The walk names a place that is not in the record.", "walk: {start: nowhere}"},
		{CodeUnitCheck, "A unit's date is of a check that its class has not.", "checked: [{check: no-such-check}]"},
		{CodeUnitClass, "Units are listed of a class that has no record.", "units: {Ploverr: {1: {}}}"},
		{CodeUnitNumber, "A unit's number is no number and no range.", "1-6: {}"},
		{CodeUnitTwice, "A unit number lies in two ranges.", "1..6 and 4..9"},
		{CodeUnitDevice, "A unit's state or defect is about a device that its class has not.", "device: no-such-cock"},
		{CodeUnitValue, "A unit's state gives a property a value it cannot have.", "{property: normal, value: ajar}"},
		{CodeUnitElement, "A measured value is of an element that the class has not.", "element: no-such-bulb"},
		{CodeUnitArgument, "A measured value is of something that is no figure of its element.", "argument: colour"},
		{CodeAxleList, "What should be the numbers of axles is none, or the class has no such axle.", "strings: [1 4, 2 7] of a class of six axles"},
		{CodeCutOutPosition, "Traction says what a position of the motor cut-out takes out, and no motor cut-out has that position.", "cut out: {bogie one out: 1 2 3}"},
		{CodeCurveOrder, "The points of a curve do not stand in rising order.", "effort: {20 km/h: 30 kN, 10 km/h: 50 kN}"},
		{CodeDefectFunction, "A defect names a function that is not in the defined list, or not that of its device.", "{device: horn-cock, function: headlight, …}"},
		{CodeDefectPosition, "A defect says where a device was left, and it is no position of it.", "{device: horn-cock, position: ajar, …}"},
	}
}

// Explain finds the explanation of a code.
func Explain(code string) (Code, bool) {
	for _, c := range Codes() {
		if c.Code == code {
			return c, true
		}
	}
	return Code{}, false
}
