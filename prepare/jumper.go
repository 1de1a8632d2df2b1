package prepare

import (
	"fmt"
	"slices"
	"strings"

	"headstock/circuit"
	"headstock/consist"
	"headstock/fleet"
)

// What crosses the control jumper is found by wiring both units into one diagram, joining
// the wires that the jumper or the adapter lead joins, and putting current on one wire
// after the other: what then moves in the next unit is what crosses. Whether a lamp or
// bell tells of another unit, and whether it goes out with its cause, is found in the
// same way, by making each cause and taking it away again.

// Wire is one command or signal between two units.
type Wire struct {
	Carries string   `json:"carries"`
	Front   string   `json:"front_wire,omitempty"` // its number in the socket of each unit; empty: no such wire
	Rear    string   `json:"rear_wire,omitempty"`
	Crosses bool     `json:"crosses"`
	Why     string   `json:"why,omitempty"`    // why not
	FromF   []string `json:"given_in_front"`   // devices that put current on it in the unit in front
	FromR   []string `json:"given_behind"`     // … and behind
	DoesF   []string `json:"answers_in_front"` // what answers in front when it is given behind
	DoesR   []string `json:"answers_behind"`   // … and behind when it is given in front
}

// Told is a lamp or bell of a unit and of what it tells.
type Told struct {
	Unit    string   `json:"unit"`
	Device  string   `json:"device"`
	Name    string   `json:"name"`
	Kind    string   `json:"kind"`                          // lamp or bell
	Causes  []string `json:"causes"`                        // what on its own unit brings it
	Others  bool     `json:"tells_of_other_units"`          // it answers a wire of the jumper that crosses
	Reaches []string `json:"reaches,omitempty"`             // lamps and bells of the other unit that its causes bring
	Stays   []string `json:"stays_after,omitempty"`         // causes after which it stays when they have gone
	Lit     bool     `json:"worked_as_it_stands,omitempty"` // with the engine stopped
	Fades   float64  `json:"stays_s,omitempty"`             // how long it stays, where it goes out by itself, s
}

// Jumper is what crosses between two coupled units.
type Jumper struct {
	Front string `json:"front"`
	Rear  string `json:"rear"`
	By    string `json:"by"` // "the plain jumper", "an adapter lead", or ""
	Wires []Wire `json:"wires"`
	Tells []Told `json:"lamps_and_bells"`
	Why   string `json:"why,omitempty"` // why nothing crosses

	Vehicles [2]*consist.Vehicle `json:"-"`
}

// Jumpers are what crosses at every joint of two locomotives of a consist. An error is a
// *consist.CannotSay.
func Jumpers(c *consist.Consist) ([]*Jumper, error) {
	var out []*Jumper
	for i := range len(c.Vehicles) - 1 {
		a, b := c.Vehicles[i], c.Vehicles[i+1]
		if !a.Locomotive() || !b.Locomotive() {
			continue
		}
		j := &Jumper{Front: a.Name(), Rear: b.Name(), Vehicles: [2]*consist.Vehicle{a, b}}
		out = append(out, j)
		for _, v := range j.Vehicles {
			if v.Class.Multiple && len(v.Class.PartsOf("trainline")) == 0 {
				return nil, &consist.CannotSay{Class: v.Class.Name, What: "what crosses between " + a.Name() + " and " + b.Name(), Needs: fmt.Sprintf("the wires of the control jumper in the record of class %s", v.Class.Name)}
			}
		}
		var lines []consist.JumperLine
		if j.By, lines, j.Why = c.Jumper(i); len(lines) == 0 {
			continue
		}
		p := newPair(c, i, lines)
		p.find(j)
	}
	return out, nil
}

// pair is two coupled units in one diagram.
type pair struct {
	c       *consist.Consist
	index   [2]int
	diagram circuit.Diagram
	wiring  [2]*fleet.Wiring
	wires   []Wire
	lines   []consist.JumperLine
	// one switch a unit and wire that puts current on it from outside
	test map[string][2]circuit.Thing
}

func newPair(c *consist.Consist, front int, lines []consist.JumperLine) *pair {
	p := &pair{c: c, index: [2]int{front, front + 1}, test: map[string][2]circuit.Thing{}}
	for k, prefix := range []string{"front/", "rear/"} {
		v := c.Vehicles[p.index[k]]
		p.wiring[k] = v.Class.Wire(&p.diagram, v.Unit, prefix)
	}
	p.join(lines)
	return p
}

func (p *pair) vehicle(k int) *consist.Vehicle { return p.c.Vehicles[p.index[k]] }

// join joins the wires that cross, and gives every wire a switch that puts current on it.
func (p *pair) join(lines []consist.JumperLine) {
	outside := p.diagram.Net("outside")
	p.diagram.Supply(outside, p.wiring[0].Net(&p.diagram, p.vehicle(0).Class.PartsOf("supply")[0].Text("minus")))
	for _, l := range lines {
		w := Wire{Carries: l.Carries, Crosses: l.Crosses, Why: l.Why}
		test := [2]circuit.Thing{none, none}
		for k, e := range []*fleet.Element{l.Front, l.Rear} {
			if e == nil {
				continue
			}
			*[]*string{&w.Front, &w.Rear}[k] = e.Text("wire")
			test[k] = p.diagram.Switch("test", 2)
			p.diagram.Contact("test", outside, p.wiring[k].Net(&p.diagram, e.Text("net")), circuit.When{{{Of: test[k], In: []int{1}}}})
		}
		if l.Crosses {
			p.diagram.Contact("jumper", p.wiring[0].Net(&p.diagram, l.Front.Text("net")), p.wiring[1].Net(&p.diagram, l.Rear.Text("net")), nil)
		}
		p.test[l.Carries] = test
		p.wires = append(p.wires, w)
		p.lines = append(p.lines, l)
	}
}

// stand is a state with every device of both units where the consist has it, or, bare,
// where it normally stands.
func (p *pair) stand(bare bool) *circuit.State {
	s := p.diagram.State()
	for k := range 2 {
		for _, x := range p.wiring[k].Devices {
			at, _ := p.c.Position(p.index[k], x.Device.ID)
			if bare {
				at = x.Device.Normal
			}
			s.Put(x.Thing, slices.IndexFunc(x.Device.Positions, func(q fleet.Position) bool { return q.ID == at }))
		}
	}
	for _, w := range p.wires {
		for _, t := range p.test[w.Carries] {
			if t != none {
				s.Put(t, 0)
			}
		}
	}
	s.Dead()
	s.Settle()
	for s.Step(s.Now+settled) && s.Now < 10*settled {
	}
	return s
}

// none is no test switch: the unit has no such wire.
const none circuit.Thing = -1

// settled is how long is waited for timers when something is looked at, s.
const settled = 30

// answers are the parts of a unit that are worked in one state and not in the other.
func answers(w *fleet.Wiring, before, after *circuit.State) []fleet.WiredPart {
	var out []fleet.WiredPart
	for _, x := range w.Parts {
		if x.Part.Kind != "state" && before.Stands(x.Thing, circuit.Worked) == circuit.No && after.Stands(x.Thing, circuit.Worked) == circuit.Yes {
			out = append(out, x)
		}
	}
	return out
}

// say names a part as a person would: by its device, else its kind and id.
func say(c *fleet.Class, e *fleet.Element) string {
	if d, ok := c.Device(e.Text("device")); ok {
		return d.Name
	}
	return strings.ReplaceAll(e.ID, "-", " ")
}

func (p *pair) find(j *Jumper) {
	j.Wires = p.wires
	for i := range j.Wires {
		w := &j.Wires[i]
		w.FromF, w.FromR, w.DoesF, w.DoesR = p.given(0, p.lines[i].Front), p.given(1, p.lines[i].Rear), []string{}, []string{}
		for k, list := range []*[]string{&w.DoesR, &w.DoesF} {
			if !w.Crosses { // what it brings about at home may still cross on another wire
				continue
			}
			other := 1 - k
			for _, bare := range []bool{false, true} {
				before := p.stand(bare)
				after := before.Clone()
				after.Put(p.test[w.Carries][k], 1)
				after.Settle()
				for _, x := range answers(p.wiring[other], before, after) {
					if n := say(p.vehicle(other).Class, x.Part); !slices.Contains(*list, n) {
						*list = append(*list, n)
					}
				}
			}
		}
	}
	for k := range 2 {
		j.Tells = append(j.Tells, p.tells(k)...)
	}
}

// given is what would put current on a wire of a unit as it stands: one device moved, or,
// in a unit that is driven and where no single one does, two. Positions of one device
// stand together.
func (p *pair) given(k int, e *fleet.Element) []string {
	out := []string{}
	if e == nil {
		return out
	}
	w := p.wiring[k]
	net := w.Net(&p.diagram, e.Text("net"))
	base := p.stand(false)
	if base.Fed(net) == circuit.Yes {
		return []string{"live as the unit stands"}
	}
	feeds := func(s *circuit.State, x fleet.WiredDevice) []string {
		var at []string
		for q := range x.Device.Positions {
			if from, known := s.At(x.Thing); !known || q == from {
				continue
			}
			t := s.Clone()
			t.Put(x.Thing, q)
			t.Settle()
			for t.Step(s.Now + settled) {
			}
			if t.Fed(net) == circuit.Yes {
				at = append(at, x.Device.Positions[q].ID)
			}
		}
		return at
	}
	for _, x := range w.Devices {
		if at := feeds(base, x); len(at) > 0 {
			out = append(out, x.Device.Name+": "+strings.Join(at, ", "))
		}
	}
	if len(out) > 0 || p.vehicle(k).Cab == 0 {
		return out
	}
	for i, x := range w.Devices {
		for q, first := range x.Device.Positions {
			if from, known := base.At(x.Thing); !known || q == from {
				continue
			}
			s := base.Clone()
			s.Put(x.Thing, q)
			s.Settle()
			for _, y := range w.Devices[i+1:] {
				if at := feeds(s, y); len(at) > 0 {
					out = append(out, fmt.Sprintf("%s: %s with %s: %s", x.Device.Name, first.ID, y.Device.Name, strings.Join(at, ", ")))
				}
			}
		}
	}
	return out
}

// tells looks at each lamp and bell of a unit: what brings it, whether a wire does, where
// else it shows, and whether it goes out with its cause.
func (p *pair) tells(k int) []Told {
	v, w, other := p.vehicle(k), p.wiring[k], 1-k
	base := p.stand(false)
	var out []Told
	at := map[string]int{}
	for _, x := range w.Parts {
		d, ok := v.Class.Device(x.Part.Text("device"))
		if !ok || x.Part.Kind != "lamp" && x.Part.Kind != "bell" {
			continue
		}
		if how, _ := v.Unit.Fitted(d); how != "yes" {
			continue
		}
		at[x.Part.ID] = len(out)
		out = append(out, Told{Unit: v.Name(), Device: d.ID, Name: d.Name, Kind: x.Part.Kind, Causes: []string{}, Lit: base.Stands(x.Thing, circuit.Worked) == circuit.Yes})
	}
	for _, wire := range p.wires {
		if !wire.Crosses {
			continue
		}
		after := base.Clone()
		after.Put(p.test[wire.Carries][other], 1)
		after.Settle()
		for _, x := range answers(w, base, after) {
			if i, ok := at[x.Part.ID]; ok {
				out[i].Others = true
			}
		}
	}
	for _, x := range w.Devices {
		from, known := base.At(x.Thing)
		if !known || x.Device.Function == "lamp-test" {
			continue
		}
		for q := range x.Device.Positions {
			if q == from {
				continue
			}
			s := base.Clone()
			s.Put(x.Thing, q)
			s.Settle()
			for s.Step(base.Now + settled) {
			}
			lit := answers(w, base, s)
			far := answers(p.wiring[other], base, s)
			// the cause is taken away, and what it tripped is put back
			s.Put(x.Thing, from)
			for _, y := range w.Devices {
				if q, known := base.At(y.Thing); known && y.Trip != nil {
					s.Put(y.Thing, q)
				}
			}
			s.Settle()
			for _, l := range lit {
				i, ok := at[l.Part.ID]
				if !ok {
					continue
				}
				cause := x.Device.Name
				if len(x.Device.Positions) > 2 {
					cause += " " + x.Device.Positions[q].ID
				}
				if !slices.Contains(out[i].Causes, cause) {
					out[i].Causes = append(out[i].Causes, cause)
				}
				for _, y := range far {
					d, ok := p.vehicle(other).Class.Device(y.Part.Text("device"))
					if ok && y.Part.Kind == l.Part.Kind && !slices.Contains(out[i].Reaches, d.Name) {
						out[i].Reaches = append(out[i].Reaches, d.Name)
					}
				}
				begun := s.Now
				t := s.Clone()
				for t.Stands(l.Thing, circuit.Worked) == circuit.Yes && t.Step(begun+settled) {
				}
				if t.Stands(l.Thing, circuit.Worked) == circuit.Yes {
					if !slices.Contains(out[i].Stays, cause) {
						out[i].Stays = append(out[i].Stays, cause)
					}
				} else if t.Now > begun {
					out[i].Fades = max(out[i].Fades, t.Now-begun)
				}
			}
		}
	}
	return out
}
