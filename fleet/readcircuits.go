package fleet

import (
	"fmt"
	"slices"
	"strings"

	"headstock/circuit"
	"headstock/internal/reading"
	"headstock/quantity"
)

func (r *reader) circuits(c *Class, n *reading.Node) {
	if !r.isMap(n, "circuits") {
		return
	}
	old := r.source
	r.setSource(n)
	section := r.source
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if o, ok := c.CircuitPart(e.Key); ok {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("part %q stands in two files", e.Key), "each id once", "", o.Pos)
			continue
		}
		r.source = section
		if p := r.element(e, "part", parts()); p != nil {
			c.Circuits = append(c.Circuits, p)
		}
	}
	r.source = old
}

func (r *reader) starts(c *Class, n *reading.Node) {
	if !r.isMap(n, "starts") {
		return
	}
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if slices.ContainsFunc(c.Starts, func(s *Start) bool { return s.ID == e.Key }) {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("start %q stands in two files", e.Key), "each id once", "")
			continue
		}
		if !r.isMap(e.Value, "a start") {
			continue
		}
		r.keys(e.Value, e.KeyPos, fmt.Sprintf("start %q", e.Key), startKeys(), nil)
		s := &Start{ID: e.Key, Name: e.Key, Pos: e.KeyPos}
		for _, k := range e.Value.Entries() {
			switch k.Key {
			case "name":
				s.Name = r.text(k.Value)
			case "engine":
				s.Engine = r.text(k.Value)
			case "stands":
				s.Stands = r.stand(k)
			case "steps":
				if k.Value.Kind() != reading.List {
					r.complain(CodeShape, k.Value.Pos(), fmt.Sprintf("steps is %s", k.Value.Kind()), "a list of steps", "")
					continue
				}
				for _, i := range k.Value.List() {
					if r.isMap(i, "a step") {
						s.Steps = append(s.Steps, r.startStep(i))
					}
				}
			}
		}
		c.Starts = append(c.Starts, s)
	}
}

func (r *reader) stand(e reading.Entry) Stand {
	var out Stand
	if !r.isMap(e.Value, e.Key) {
		return out
	}
	for _, k := range e.Value.Entries() {
		if k.Key == "at cab" {
			out.ThisCab = r.claims(k.Value, k.Key)
			continue
		}
		out.Positions = append(out.Positions, Claim{Device: k.Key, Position: r.text(k.Value), Pos: k.KeyPos})
	}
	return out
}

func (r *reader) startStep(n *reading.Node) StartStep {
	s := StartStep{Pos: n.Pos()}
	r.keys(n, n.Pos(), "a step", keysOf(startKeys(), "steps"), nil)
	seconds := func(v *reading.Node) float64 {
		if f := r.figure(v, quantity.Time); f != nil {
			return f.SI
		}
		return 0
	}
	for _, k := range n.Entries() {
		switch k.Key {
		case "what":
			s.What = r.text(k.Value)
		case "move":
			s.Move = r.stand(k)
		case "wait":
			s.Wait = seconds(k.Value)
		case "stage":
			s.Stage = r.oneOf(k.Value, StartStages())
		case "shows":
			s.Shows = r.condition(k.Value)
		case "within":
			s.Within = seconds(k.Value)
		}
	}
	return s
}

// checkCircuits holds the circuits against the devices, and every net against the parts
// that hang on it.
func (r *reader) checkCircuits(c *Class) {
	if len(c.Circuits) == 0 {
		for _, s := range c.Starts {
			r.complain(CodeStartNoCircuit, s.Pos, fmt.Sprintf("start %q has no circuits to run", s.ID), "circuits, in this file or another of the class", "")
		}
		return
	}
	hang := map[string][]*Element{}
	pos := map[string]reading.Pos{}
	var nets []string
	through := map[string]bool{}
	for _, e := range c.Circuits {
		spec, _ := Part(e.Kind)
		for i := range e.Args {
			a := &e.Args[i]
			k := slices.IndexFunc(spec.Args, func(s ArgSpec) bool { return s.Name == a.Name })
			switch spec.Args[k].Kind {
			case ArgNode:
				if a.Text == "" {
					continue
				}
				if len(hang[a.Text]) == 0 {
					nets = append(nets, a.Text)
					pos[a.Text] = a.Pos
				}
				hang[a.Text] = append(hang[a.Text], e)
				// a wire may run through a unit to the next; what coils return to needs no other word
				through[a.Text] = through[a.Text] || e.Kind == "trainline" || e.Kind == "supply" && a.Name == "minus"
			case ArgWhen:
				r.checkCondition(c, conditionOf{e.ID, c.Circuits, parts()}, a.When)
			}
		}
		r.checkPart(c, e)
	}
	if len(c.PartsOf("supply")) == 0 {
		r.complain(CodeNoSupply, c.Circuits[0].Pos, "the circuits have no supply", "a part of the kind supply, with its plus and minus", "")
		return
	}
	loose := map[string]bool{}
	for _, n := range nets {
		if len(hang[n]) > 1 || through[n] {
			continue
		}
		loose[n] = true
		var others []string
		for _, o := range nets {
			if o != n {
				others = append(others, o)
			}
		}
		r.complain(CodeLooseNet, pos[n], fmt.Sprintf("only %q hangs on the net %q", hang[n][0].ID, n), "a net that another part names too", reading.Nearest(n, others))
	}
	r.checkFed(c, loose)
	r.checkWires(c)
	for _, s := range c.Starts {
		r.checkStart(c, s)
	}
}

func (r *reader) checkPart(c *Class, e *Element) {
	if a, ok := e.Arg("device"); ok && a.Text != "" {
		d, found := r.deviceID(c, CodePartDevice, a.Pos, a.Text, fmt.Sprintf("part %q is seen as", e.ID))
		for _, arg := range []string{"shows", "moves to"} {
			p, has := e.Arg(arg)
			if !found || !has || p.Text == "" {
				continue
			}
			if _, ok := d.Position(p.Text); !ok {
				r.complain(CodePartShows, p.Pos, fmt.Sprintf("device %q has no position %q", d.ID, p.Text), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(p.Text, positionIDs(d)), d.Pos)
			} else if arg == "moves to" && p.Text == d.Normal {
				r.complain(CodeTripStays, p.Pos, fmt.Sprintf("trip %q moves %q to where it normally stands", e.ID, d.ID), "the position in which it has tripped", "", d.Pos)
			}
		}
	} else if a, ok := e.Arg("shows"); ok {
		r.complain(CodePartShows, a.Pos, fmt.Sprintf("part %q shows %q on no device", e.ID, a.Text), "device: the one a person sees it as", "")
	}
	switch e.Kind {
	case "timer":
		seconds := 0.0
		for _, n := range []string{"picks up after", "drops after"} {
			if a, ok := e.Arg(n); ok && a.Figure != nil {
				seconds += a.Figure.SI
			}
		}
		if seconds <= 0 {
			r.complain(CodeTimerNoTime, e.Pos, fmt.Sprintf("timer %q has no time", e.ID), "picks up after or drops after, above 0 s", "")
		}
	case "contact":
		_, closed := e.Arg("closed when")
		_, open := e.Arg("open when")
		if closed == open {
			r.complain(CodeContact, e.Pos, fmt.Sprintf("contact %q has %s", e.ID, map[bool]string{true: "two conditions", false: "no condition"}[closed]), "either closed when or open when", "")
		}
	case "state":
		if _, ok := e.Arg("holds when"); !ok {
			r.complain(CodeMissingArgument, e.Pos, fmt.Sprintf("state %q has no holds when", e.ID), "what it follows from", "")
		}
	case "trip":
		id := e.Text("device")
		for _, o := range c.PartsOf("trip") {
			if o == e {
				break
			}
			if o.Text("device") == id && id != "" {
				r.complain(CodeTripTwice, e.Pos, fmt.Sprintf("trips %q and %q both move %q", o.ID, e.ID, id), "one trip a device, with alternatives under trips when", "", o.Pos)
			}
		}
	}
}

// checkFed finds coils that no current can reach even with every contact closed and
// every wire of the jumper live.
func (r *reader) checkFed(c *Class, loose map[string]bool) {
	var d circuit.Diagram
	plus, minus := d.Net("\x00plus"), d.Net("\x00minus")
	d.Supply(plus, minus)
	common := ""
	for _, e := range c.PartsOf("supply") {
		d.Contact("", plus, d.Net(e.Text("plus")), nil)
		d.Contact("", minus, d.Net(e.Text("minus")), nil)
		if common == "" {
			common = e.Text("minus")
		}
	}
	for _, e := range c.Circuits {
		switch e.Kind {
		case "contact":
			d.Contact("", d.Net(e.Text("from")), d.Net(e.Text("to")), nil)
		case "diode":
			d.Diode(d.Net(e.Text("from")), d.Net(e.Text("to")))
		case "trainline":
			d.Contact("", plus, d.Net(e.Text("net")), nil)
		}
	}
	type coil struct {
		e          *Element
		plus, back circuit.Thing
	}
	var coils []coil
	for _, e := range c.Circuits {
		if !isCoil(e.Kind) || e.Text("fed by") == "" {
			continue
		}
		back := e.Text("returns to")
		if back == "" {
			back = common
		}
		// each side by itself: what joins both supplies together must not hide it
		coils = append(coils, coil{e, d.Coil("", d.Net(e.Text("fed by")), minus, circuit.Delay{}), d.Coil("", plus, d.Net(back), circuit.Delay{})})
	}
	s := d.State()
	s.Rest()
	for _, k := range coils {
		for _, side := range []struct {
			reached circuit.Thing
			arg     string
			what    string
		}{{k.plus, "fed by", "plus"}, {k.back, "returns to", "minus"}} {
			a, ok := k.e.Arg(side.arg)
			if ok && !loose[a.Text] && s.Stands(side.reached, circuit.Worked) != circuit.Yes {
				r.complain(CodeNotFed, a.Pos, fmt.Sprintf("no way leads from the %s of a supply to %s %q, whatever is closed", side.what, k.e.Kind, k.e.ID), "contacts that lead to "+a.Text, "")
			}
		}
	}
}

// checkWires holds the wires of the jumper apart: a number in a socket carries one thing.
func (r *reader) checkWires(c *Class) {
	lines := c.PartsOf("trainline")
	for i, e := range lines {
		for _, o := range lines[:i] {
			if o.Text("socket") == e.Text("socket") && o.Text("wire") == e.Text("wire") && e.Text("wire") != "" {
				a, _ := e.Arg("wire")
				r.complain(CodeWireTwice, a.Pos, fmt.Sprintf("wire %s of the socket %q is both %q and %q", e.Text("wire"), e.Text("socket"), o.ID, e.ID), "one net a wire", "", o.Pos)
			}
		}
	}
}

func (r *reader) checkStart(c *Class, s *Start) {
	what := fmt.Sprintf("start %q", s.ID)
	if s.Engine != "" {
		r.deviceID(c, CodeStartDevice, s.Pos, s.Engine, what+" is of")
	}
	stand := func(st Stand, moves bool) {
		claim := func(d *Device, cl Claim) {
			if cl.Position == "" {
				return
			}
			if !canStand(d, cl.Position) {
				r.complain(CodeStartPosition, cl.Pos, fmt.Sprintf("device %q has no position %q", d.ID, cl.Position), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(cl.Position, positionIDs(d)))
			} else if d.MustNotMove && (moves || cl.Position != d.Normal) {
				r.complain(CodeStartMoves, cl.Pos, fmt.Sprintf("device %q must not be moved, and %s moves it", d.ID, what), "no word of it", "", d.Pos)
			}
		}
		for _, cl := range st.Positions {
			if d, ok := r.deviceID(c, CodeStartDevice, cl.Pos, cl.Device, what+" moves"); ok {
				claim(d, cl)
			}
		}
		for _, cl := range st.ThisCab {
			found := false
			var functions []string
			for _, d := range c.Devices {
				if d.Cab == 0 {
					continue
				}
				functions = append(functions, d.Function)
				if d.Function == cl.Device {
					found = true
					claim(d, cl)
				}
			}
			if !found {
				r.complain(CodeStartDevice, cl.Pos, fmt.Sprintf("%s moves the function %q, which no device in a cab has", what, cl.Device), "the function of a device with a cab", reading.Nearest(cl.Device, functions))
			}
		}
	}
	stand(s.Stands, false)
	last := -1
	cranks := false
	for i := range s.Steps {
		st := &s.Steps[i]
		stand(st.Move, true)
		r.checkCondition(c, conditionOf{s.ID, c.Circuits, parts()}, st.Shows)
		cranks = cranks || st.Stage == "cranks"
		if at := slices.Index(StartStages(), st.Stage); st.Stage != "" {
			if at <= last {
				r.complain(CodeStartStage, st.Pos, fmt.Sprintf("stage %q comes after %q", st.Stage, StartStages()[last]), "the stages in their order: "+strings.Join(StartStages(), ", "), "")
			}
			last = max(last, at)
		}
		if (st.Stage == "") != (len(st.Shows) == 0) {
			r.complain(CodeStartStage, st.Pos, fmt.Sprintf("a step has %s", map[bool]string{true: "shows and no stage", false: "a stage and nothing that shows it"}[st.Stage == ""]), "stage and shows together", "")
		}
	}
	if !cranks {
		r.complain(CodeStartStage, s.Pos, what+" has no stage cranks", "at least the stage cranks, with what shows it", "")
	}
}
