package fleet

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

	"headstock/internal/reading"
)

// CheckName says what is wrong with a name for a class: it is spoken in a consist and
// may name a file, so it is letters, digits and dashes, a letter first.
func CheckName(class string) error {
	const expected = "expected letters, digits and dashes, a letter first"
	if strings.TrimSpace(class) == "" {
		return errors.New("a class needs a name; " + expected)
	}
	for i, r := range class {
		if !unicode.IsLetter(r) && (i == 0 || r != '-' && !unicode.IsDigit(r)) {
			return fmt.Errorf("no class can be named %q; %s", reading.Short(class), expected)
		}
	}
	return nil
}

// Blank is a class record with nothing in it but the remarks that say how it is filled.
// It is a draft, it can be read as it stands, and it is useful from its first device.
func Blank(class string) string {
	class = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`:#{}[],&*!|>'"%@`+"`", r) {
			return ' '
		}
		return r
	}, class)), " ")
	if class == "" {
		class = "New"
	}
	return fmt.Sprintf(blank, class)
}

const blank = `# Record of class %[1]s. Write what is on the machine, in the words on its plates.
#
# A figure is a number, its unit, how far it may be off, and where it comes from:
#   12 mm ± 0.5 mm by drawing-114
# A figure without "by" takes the source below. What is not known goes under missing;
# it is never guessed. Advice only: local rules, the maker's instructions and licensed
# practice come first.
class: %[1]s
kind: locomotive          # or wagon
title: what it is, in a line
source: from memory       # invented, from memory, common practice, measured, railway, drawing-114, cfr-232 …
revision: {state: draft, by: your name}   # issued only when a second person has checked it at the machine

identity: {}
#  length: 16.4 m
#  mass: 96 t
#  wheel arrangement: Co-Co
cabs: 1
multiple: no              # yes when a control jumper exists

# 1. Find: what there is, and where. Places first, then the ways between them.
places: {}
#  cab-desk: {name: driver's desk, x: 3.1 m, side: left, level: cab}
#  ground-left: {name: left side, x: 8 m, side: left, level: ground}
ways: []
#  - {between: [cab-desk, ground-left], takes: 25 s, cautions: [climb]}
devices: {}
#  automatic-handle:
#    function: automatic-handle     # a word of the defined list
#    name: Automatic brake handle   # as on its plate
#    also called: [train brake]
#    kind: handle
#    cab: 1
#    place: cab-desk
#    # 2. Prepare: each position says how it looks.
#    positions:
#      release: {looks: handle hard left, sets: 0 kPa}
#      full-service: {looks: last notch, sets: 150 kPa}
#    range: 0 kPa .. 150 kPa        # where it may also stand between
#    normal: release
#    cautions: [past full service is an emergency]
# Checks beyond a look at each device; a measurement names a check by its id.
#checks:
#  - id: battery
#    what: battery
#    how: voltmeter with the headlight on
#    every: weekly                  # or daily, 92 days, 3 months; an occasion goes under when
#    state: stopped                 # or idling, hot, brake applied, brake released …
#    limit: at least 68 V           # or 80 mm to 125 mm, at most 20 kPa, or words
#    what then: charge before a start
#    outside: may not lead          # or must not move, may not trail, report
#    device: battery-voltmeter
# The walk round it: where it begins and ends, where the engine is started and the brake
# worked. headstock walk computes the order; headstock walk --freeze keeps it.
#walk: {start: ground-left, finish: cab-desk, engine at: cab-desk, brake at: cab-desk}

# What it looks like, for drawings: corners from headstock 1 on, above rail in side view, from
# the centre line in plan (to the left with a minus), and how high each level of the places is.
#shape:
#  side: {body: [[0.4 m, 1.1 m], [0.4 m, 3.4 m], [16 m, 3.4 m], [16 m, 1.1 m]]}
#  plan: {body: [[0.4 m, -1.3 m], [16 m, -1.3 m], [16 m, 1.3 m], [0.4 m, 1.3 m]]}
#  levels: {ground: 0 m, cab: 1.5 m}
#  wheels: [2 m, 4 m, 12.4 m, 14.4 m]
#  wheel diameter: 0.95 m

# 3. Set up: headstocks and their pipes, and where each device stands in each role.
# Hoses need the positions coupled and on dummy, end cocks open and closed.
#ends:
#  1:
#    coupler: {kind: knuckle, height: 790 mm}
#    pipes:
#      brake-pipe: {head: broad claw, hose: brake-pipe-hose-1, cock: brake-pipe-cock-1, side: right}
#  2:
#    coupler: {kind: knuckle, height: 790 mm}
#    pipes:
#      brake-pipe: {head: broad claw, hose: brake-pipe-hose-2, cock: brake-pipe-cock-2, side: right}
roles: {}
#  lead: {at cab: {automatic-handle: release}, some-cock: open, at rear: {tail-lamp: hung}}
#  hauled dead: {dead-engine-cock: open, pipes: [brake-pipe]}

# 4. Prove: the air, as it is piped.
air: {}
#  brake-pipe: {pipe: {bore: 32 mm, length: 16 m}}
#  reservoir: {volume: {volume: 400 L, rated: 1000 kPa}}
#  some-way: {passage: {from: reservoir, to: brake-pipe, bore: 10 mm, when: {some-cock: open}}}

# Beside the levels: what lies between the cylinders and the wheels, for stopping, coming
# down and holding. The ratio is of all blocks of the group to all its pistons.
rigging: {}
#  blocks-1: {blocks: {pushed by: cylinders, count: 8, wheels: 8, ratio: 9, efficiency: 0.8, spring: 1500 N, of: cast iron}}
#  parking: {hand-brake: {worked by: hand-brake, force: 60 kN, wheels: 4, of: cast iron}}
#  wheelsets: {wheels: {count: 8, mass: 300 kg}}
# Where air elements stand on the air diagram, column and row; the others find a place.
#diagram: {reservoir: [1, 1], some-way: [2, 1], brake-pipe: [3, 1]}

# Beside the levels: the control and starting circuits. Nets are named where they are used;
# a start says how things stand, what is done, and what shows that a stage is reached.
circuits: {}
#  battery: {supply: {plus: battery-plus, minus: battery-minus, rated: 74 V}}
#  battery-contact: {contact: {from: battery-plus, to: control-bus, closed when: {battery-switch: closed}}}
#  start-press: {contact: {from: control-bus, to: start-line, closed when: {start-button: pressed}}}
#  starter: {motor: {fed by: start-line}}
starts: {}
#  engine:
#    stands: {battery-switch: closed}
#    steps:
#      - {stage: cranks, move: {start-button: pressed}, shows: {starter: worked}, within: 2 s}

missing: []
#  - {what: what is not known, needed for: prove}   # or one requirement by its id, such as quick-release
`
