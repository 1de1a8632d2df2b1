package prove

import (
	"strings"

	"headstock/consist"
	"headstock/fleet"
)

// Link is one element of the record on the way by which air reaches a place: what it
// leads into and from where, what stood there at the step, and the devices that open,
// shut or set it.
type Link struct {
	Element string  `json:"element"`
	Kind    string  `json:"kind"`
	Into    string  `json:"into"`
	From    string  `json:"from"`
	Gauge   float64 `json:"from_gauge_pa"` // at From, at the end of the step; Pa gauge
	Known   bool    `json:"known"`         // Gauge holds: the run still knows it
	Stands  []Stand `json:"devices,omitempty"`
	Written string  `json:"written"` // file and line of the record
}

// Stand is a device as it stood in the run.
type Stand struct {
	Device   string `json:"device"`
	Name     string `json:"name"`
	Place    string `json:"place"`
	Position string `json:"position"`
}

// chainLength keeps an answer on one page: a cylinder is six links from the brake pipe.
const chainLength = 14

// Chain follows the record from the element of a reason back to the pipe or reservoir
// that its air comes from, nearest first. A reason that names no air element, or a
// vehicle that is not there, has none.
func (p *Proof) Chain(r Reason) []Link {
	i, err := p.Consist.Find(r.Vehicle)
	if err != nil {
		return nil
	}
	c := p.Consist.Vehicles[i].Class
	var out []Link
	todo := strings.Split(r.Element, " and ")
	seen := map[string]bool{}
	if e, ok := c.Element(r.Element); ok && Ends(e) != nil { // a way for air, not a place
		todo = []string{e.Word(Ends(e)[0])}
	}
	for len(todo) > 0 && len(out) < chainLength {
		into := todo[0]
		todo = todo[1:]
		for _, e := range c.Air {
			names := Ends(e)
			if len(names) == 0 || e.Word(names[0]) != into || seen[e.ID] || !p.Consist.Vehicles[i].Unit.Has(c, e.OnlyWith) && e.OnlyWith != "" {
				continue
			}
			seen[e.ID] = true
			for _, name := range names[1:] {
				from := e.Word(name)
				if from == "" || from == "atmosphere" {
					continue
				}
				l := Link{Element: e.ID, Kind: e.Kind, Into: into, From: from, Written: e.Pos.String(), Stands: stands(p.Consist, i, e)}
				if p.Test != nil && r.Run == p.Test.Procedure.Name {
					l.Gauge, l.Known = p.Test.Gauge(r.Step, i, from)
				}
				out = append(out, l)
				if f, ok := c.Element(from); ok && f.Kind != "pipe" && !strings.HasPrefix(from, "reservoir") {
					todo = append(todo, from)
				}
			}
		}
	}
	return out
}

// Ends are the arguments of an element that name where it leads and then where its air,
// or the pressure it follows, comes from; nil for what is no way for air.
func Ends(e *fleet.Element) []string {
	switch e.Kind {
	case "passage", "check":
		return []string{"to", "from"}
	case "relay":
		return []string{"output", "control"}
	case "regulator":
		return []string{"output", "supply"}
	case "double-check":
		return []string{"output", "a", "b"}
	case "direct-distributor", "graduated-distributor":
		return []string{"cylinder", "pipe"}
	}
	return nil
}

func stands(c *consist.Consist, i int, e *fleet.Element) []Stand {
	var out []Stand
	for _, id := range e.Devices() {
		d, ok := c.Vehicles[i].Class.Device(id)
		if !ok {
			continue
		}
		pos, _ := c.Position(i, id)
		out = append(out, Stand{id, d.Name, c.Vehicles[i].Class.PlaceName(d.Place), pos})
	}
	return out
}
