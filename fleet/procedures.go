package fleet

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

// Instructions are one procedure of a class as the railway instructs it: start, shut
// down and the like, in steps of one act each.
type Instructions struct {
	Name     string   // a word of ProcedureNames
	Title    string   // as a heading; the name where the record gives none
	First    []string // what must be so before it is begun
	Cautions []string
	Ends     string // role whose positions it leaves; "" when it leaves none
	Steps    []Instruction
	Pos      reading.Pos
}

// Instruction is one step: something done, looked at, read or said; never two of them.
type Instruction struct {
	Do       []Claim // devices and the positions they are put to
	Look     []Claim // devices and how they must be found
	Read     string  // device whose value is read
	Shows    string  // what it must show, in words or figures
	Say      string  // what is done that no device is for
	Hold     *source.Figure
	AtMost   *source.Figure // s; longer than this is "it did not happen"
	IfNot    string         // what then, when it is not found, not read or not in time
	Who      string
	Cautions []string
	Pos      reading.Pos
}

// ProcedureNames are the procedures a record may give.
func ProcedureNames() []string {
	return []string{"take over", "start", "shut down", "stable", "frost", "change ends", "hand over"}
}

// Procedure finds a procedure of the class by its name.
func (c *Class) Procedure(name string) (*Instructions, bool) {
	for _, p := range c.Procedures {
		if strings.EqualFold(p.Name, name) {
			return p, true
		}
	}
	return nil, false
}

var procedureKeys = sync.OnceValue(func() []KeySpec {
	return []KeySpec{
		{Name: "title", Form: FormText, Help: "its heading"},
		{Name: "first", Form: FormTexts, Help: "what must be so before it is begun"},
		{Name: "cautions", Form: FormTexts, Help: "what to mind all through it"},
		{Name: "ends as", Form: FormOneOf, Words: RoleNames(), Help: "the role whose positions it leaves"},
		{Name: "steps", Form: FormList, Required: true, Help: "one act each, in order", Keys: []KeySpec{
			{Name: "do", Form: FormFacts, Help: "device: position it is put to"},
			{Name: "look", Form: FormFacts, Help: "device: position it must be found in"},
			{Name: "read", Form: FormID, Help: "a device whose value is read"},
			{Name: "shows", Form: FormText, Help: "what it must show"},
			{Name: "say", Form: FormText, Help: "what is done that no device is for"},
			{Name: "hold", Form: FormFigure, Help: "how long to hold or wait"},
			{Name: "at most", Form: FormFigure, Help: "how long it may take"},
			{Name: "if not", Form: FormText, Help: "what then, when it is not so"},
			{Name: "who", Form: FormText, Help: "who does it, where it is not the driver"},
			{Name: "cautions", Form: FormTexts, Help: "what to mind"},
		}},
	}
})

func (r *reader) procedures(c *Class, n *reading.Node) {
	if !r.isMap(n, "procedures") {
		return
	}
	specs := procedureKeys()
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if !slices.Contains(ProcedureNames(), e.Key) {
			r.complain(CodeProcedureName, e.KeyPos, fmt.Sprintf("no procedure %q", e.Key), "one of "+strings.Join(ProcedureNames(), ", "), reading.Nearest(e.Key, ProcedureNames()))
			continue
		}
		if o, ok := c.Procedure(e.Key); ok {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("procedure %q stands in two files", e.Key), "each once", "", o.Pos)
			continue
		}
		if !r.isMap(e.Value, "a procedure") {
			continue
		}
		r.keys(e.Value, e.KeyPos, "a procedure", specs, nil)
		p := &Instructions{Name: e.Key, Title: strings.ToUpper(e.Key[:1]) + e.Key[1:], Pos: e.KeyPos}
		for _, k := range e.Value.Entries() {
			switch k.Key {
			case "title":
				p.Title = r.text(k.Value)
			case "first":
				p.First = r.texts(k.Value)
			case "cautions":
				p.Cautions = r.texts(k.Value)
			case "ends as":
				p.Ends = r.oneOf(k.Value, RoleNames())
			case "steps":
				for _, i := range k.Value.Items() {
					if s, ok := r.instruction(i, keysOf(specs, "steps")); ok {
						p.Steps = append(p.Steps, s)
					}
				}
			}
		}
		c.Procedures = append(c.Procedures, p)
	}
}

func (r *reader) instruction(n *reading.Node, specs []KeySpec) (Instruction, bool) {
	if !r.isMap(n, "a step") {
		return Instruction{}, false
	}
	r.keys(n, n.Pos(), "a step", specs, nil)
	s := Instruction{Pos: n.Pos()}
	var kinds []string
	for _, k := range n.Entries() {
		switch k.Key {
		case "do":
			s.Do = r.claims(k.Value, "do")
		case "look":
			s.Look = r.claims(k.Value, "look")
		case "read":
			s.Read = r.text(k.Value)
		case "say":
			s.Say = r.text(k.Value)
		case "shows":
			s.Shows = r.text(k.Value)
		case "hold":
			s.Hold = r.figure(k.Value, quantity.Time)
		case "at most":
			s.AtMost = r.figure(k.Value, quantity.Time)
		case "if not":
			s.IfNot = r.text(k.Value)
		case "who":
			s.Who = r.text(k.Value)
		case "cautions":
			s.Cautions = r.texts(k.Value)
		}
		if slices.Contains([]string{"do", "look", "read", "say"}, k.Key) {
			kinds = append(kinds, k.Key)
		}
	}
	if len(kinds) != 1 {
		r.complain(CodeProcedureStep, n.Pos(), fmt.Sprintf("a step is one act; this has %d", len(kinds)), "exactly one of do, look, read, say", "")
	}
	return s, true
}

// checkProcedure holds a procedure to its devices: they are there, they have the
// positions, what must not be moved is not moved, and it leaves what its role claims.
func (r *reader) checkProcedure(c *Class, p *Instructions) {
	left := map[string]Claim{}
	for _, s := range p.Steps {
		for _, cl := range s.Do {
			d, ok := r.deviceID(c, CodeProcedureDevice, cl.Pos, cl.Device, "a step works")
			if !ok {
				continue
			}
			if !canStand(d, cl.Position) {
				r.complain(CodeProcedurePosition, cl.Pos, fmt.Sprintf("device %q has no position %q", d.ID, cl.Position), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(cl.Position, positionIDs(d)))
			} else if d.MustNotMove {
				r.complain(CodeProcedureMoves, cl.Pos, fmt.Sprintf("device %q must not be moved, and a step moves it", d.ID), "look: instead of do:, or no word of it", "", d.Pos)
			}
			left[d.ID] = cl
		}
		for _, cl := range s.Look {
			if d, ok := r.deviceID(c, CodeProcedureDevice, cl.Pos, cl.Device, "a step looks at"); ok && !canStand(d, cl.Position) {
				r.complain(CodeProcedurePosition, cl.Pos, fmt.Sprintf("device %q has no position %q", d.ID, cl.Position), "one of "+strings.Join(positionIDs(d), ", "), reading.Nearest(cl.Position, positionIDs(d)))
			}
		}
		if s.Read != "" {
			r.deviceID(c, CodeProcedureDevice, s.Pos, s.Read, "a step reads")
		}
	}
	if p.Ends == "" {
		return
	}
	for _, role := range c.Roles {
		if role.Name != p.Ends || role.Variant != "" {
			continue
		}
		for _, cl := range role.Positions {
			if at, ok := left[cl.Device]; ok && at.Position != cl.Position {
				r.complain(CodeProcedureEnds, at.Pos, fmt.Sprintf("it leaves %q at %s, and the role %s claims %s", cl.Device, at.Position, p.Ends, cl.Position), cl.Position+", or another role under ends as", "", cl.Pos)
			}
		}
		return
	}
	r.complain(CodeProcedureEnds, p.Pos, fmt.Sprintf("it ends as %s, and the record gives no positions for that role", p.Ends), "a role of the record", "")
}
