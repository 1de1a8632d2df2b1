package fleet

import (
	"slices"

	"headstock/circuit"
)

// Wiring is the circuits of one unit inside a diagram: which thing of the diagram is
// which device, and which is which part.
type Wiring struct {
	Class   *Class
	Devices []WiredDevice // in the order of the class
	Parts   []WiredPart   // relays, lamps, motors, states …, in the order of the record
	prefix  string
	absent  map[string]circuit.Thing // parts this unit has not: never worked
}

// WiredDevice is a device that some contact, state or trip asks for.
type WiredDevice struct {
	Device *Device
	Thing  circuit.Thing
	Trip   *Element // the trip that moves it; nil where a person does
}

// WiredPart is a part that is worked or not.
type WiredPart struct {
	Part  *Element
	Thing circuit.Thing
}

// Wire adds the circuits of a unit to a diagram and says what became of each device and
// part. Units in one diagram are told apart by their prefix; what joins them is for the
// caller. Parts that this unit has not are left out. The record must be free of
// complaints.
func (c *Class) Wire(d *circuit.Diagram, u *Unit, prefix string) *Wiring {
	w := &Wiring{Class: c, prefix: prefix, absent: map[string]circuit.Thing{}}
	var parts []*Element
	for _, e := range c.Circuits {
		if slices.Contains(u.Without, e.ID) || e.OnlyWith != "" && !u.Has(c, e.OnlyWith) || e.OnlyWithout != "" && u.Has(c, e.OnlyWithout) {
			if spec, _ := Part(e.Kind); len(spec.States) > 0 {
				nowhere := d.Net(prefix + "\x00absent")
				w.absent[e.ID] = d.Coil(prefix+e.ID, nowhere, nowhere, circuit.Delay{})
			}
			continue
		}
		parts = append(parts, e)
	}
	asked := map[string]bool{}
	ask := func(when When) {
		for _, alt := range when {
			for _, t := range alt {
				asked[t.Of] = true
			}
		}
	}
	trips := map[string]*Element{}
	for _, e := range parts {
		for _, a := range e.Args {
			ask(a.When)
		}
		if e.Kind == "trip" {
			trips[e.Text("device")] = e
			asked[e.Text("device")] = true
		}
	}
	for _, s := range c.Starts {
		for _, st := range s.Steps {
			ask(st.Shows)
		}
	}
	seconds := func(e *Element, arg string) float64 {
		if a, ok := e.Arg(arg); ok && a.Figure != nil {
			return a.Figure.SI
		}
		return 0
	}
	for _, dev := range c.Devices {
		if !asked[dev.ID] || len(dev.Positions) == 0 {
			continue
		}
		x := WiredDevice{Device: dev, Trip: trips[dev.ID]}
		if x.Trip != nil {
			to := slices.IndexFunc(dev.Positions, func(p Position) bool { return p.ID == x.Trip.Text("moves to") })
			x.Thing = d.Trip(prefix+dev.ID, len(dev.Positions), to, nil, seconds(x.Trip, "after"))
		} else {
			x.Thing = d.Switch(prefix+dev.ID, len(dev.Positions))
		}
		w.Devices = append(w.Devices, x)
	}
	minus := ""
	for _, e := range parts {
		if e.Kind == "supply" {
			d.Supply(w.Net(d, e.Text("plus")), w.Net(d, e.Text("minus")))
			if minus == "" {
				minus = e.Text("minus")
			}
		}
	}
	for _, e := range parts {
		switch {
		case isCoil(e.Kind):
			back := e.Text("returns to")
			if back == "" {
				back = minus
			}
			delay := circuit.Delay{Up: seconds(e, "picks up after"), Down: seconds(e, "drops after")}
			w.Parts = append(w.Parts, WiredPart{e, d.Coil(prefix+e.ID, w.Net(d, e.Text("fed by")), w.Net(d, back), delay)})
		case e.Kind == "state":
			delay := circuit.Delay{Up: seconds(e, "after"), Down: seconds(e, "lasts")}
			w.Parts = append(w.Parts, WiredPart{e, d.Condition(prefix+e.ID, nil, delay)})
		case e.Kind == "trip" && len(whenOf(e, "trips when")) == 0:
			// nothing here moves it; it stands as it is found
			for i, x := range w.Devices {
				if x.Trip == e {
					d.Rewire(w.Devices[i].Thing, never(x.Thing))
				}
			}
		}
	}
	// conditions may lean on what comes later in the record
	for _, e := range parts {
		switch e.Kind {
		case "contact":
			d.Contact(prefix+e.ID, w.Net(d, e.Text("from")), w.Net(d, e.Text("to")), w.closed(e))
		case "diode":
			d.Diode(w.Net(d, e.Text("from")), w.Net(d, e.Text("to")))
		case "state":
			p, _ := w.Part(e.ID)
			d.Rewire(p.Thing, w.When(whenOf(e, "holds when")))
		case "trip":
			if when := whenOf(e, "trips when"); len(when) > 0 {
				x, _ := w.Device(e.Text("device"))
				d.Rewire(x.Thing, w.When(when))
			}
		}
	}
	return w
}

// never is a condition that cannot hold: the thing in none of its positions.
func never(t circuit.Thing) circuit.When { return circuit.When{{{Of: t}}} }

func whenOf(e *Element, arg string) When {
	a, _ := e.Arg(arg)
	if a == nil {
		return nil
	}
	return a.When
}

// closed turns the condition of a contact into those of the diagram. One that is open
// while something holds is closed while its contrary holds: alternatives of terms turn
// into every choice of one contrary term from each.
func (w *Wiring) closed(e *Element) circuit.When {
	if when := whenOf(e, "closed when"); len(when) > 0 {
		return w.When(when)
	}
	choices := circuit.When{nil}
	for _, alt := range w.When(whenOf(e, "open when")) {
		var next circuit.When
		for _, c := range choices {
			for _, t := range alt {
				next = append(next, append(slices.Clone(c), w.contrary(t)))
			}
		}
		choices = next
	}
	return choices
}

func (w *Wiring) contrary(t circuit.Term) circuit.Term {
	out := circuit.Term{Of: t.Of}
	positions := 2
	for _, x := range w.Devices {
		if x.Thing == t.Of {
			positions = len(x.Device.Positions)
		}
	}
	for p := range positions {
		if !slices.Contains(t.In, p) {
			out.In = append(out.In, p)
		}
	}
	return out
}

// Net is a net of this unit in the diagram.
func (w *Wiring) Net(d *circuit.Diagram, name string) circuit.Net { return d.Net(w.prefix + name) }

// Device finds a device by its id; false when nothing in the circuits asks for it.
func (w *Wiring) Device(id string) (WiredDevice, bool) {
	for _, x := range w.Devices {
		if x.Device.ID == id {
			return x, true
		}
	}
	return WiredDevice{}, false
}

// Part finds a part by its id; false when it is not worked by anything.
func (w *Wiring) Part(id string) (WiredPart, bool) {
	for _, x := range w.Parts {
		if x.Part.ID == id {
			return x, true
		}
	}
	return WiredPart{}, false
}

// Say names a thing of the diagram: a device by its name, a part by its device or its
// own name. It is empty for what is not of this unit.
func (w *Wiring) Say(t circuit.Thing) string {
	for _, x := range w.Devices {
		if x.Thing == t {
			return x.Device.Name
		}
	}
	for _, x := range w.Parts {
		if x.Thing != t {
			continue
		}
		if n := x.Part.Text("name"); n != "" {
			return n
		}
		return x.Part.ID
	}
	return ""
}

// When turns a condition of the record into one of the diagram.
func (w *Wiring) When(when When) circuit.When {
	var out circuit.When
	for _, alt := range when {
		terms := []circuit.Term{}
		for _, t := range alt {
			if x, ok := w.Device(t.Of); ok {
				term := circuit.Term{Of: x.Thing}
				for i, p := range x.Device.Positions {
					if slices.Contains(t.In, p.ID) {
						term.In = append(term.In, i)
					}
				}
				terms = append(terms, term)
				continue
			}
			of, here := w.absent[t.Of]
			if x, ok := w.Part(t.Of); ok {
				of, here = x.Thing, true
			}
			if here {
				term := circuit.Term{Of: of}
				for _, in := range t.In {
					term.In = append(term.In, map[bool]int{true: circuit.Worked, false: circuit.Dropped}[in == "worked" || in == "yes"])
				}
				terms = append(terms, term)
			}
		}
		out = append(out, terms)
	}
	return out
}
