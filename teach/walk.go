package teach

import (
	"slices"

	"headstock/fleet"
)

// Stand is one place of the first walk round a class and what is done there.
type Stand struct {
	Place    fleet.Place
	Cautions []string // of the way that leads there
	See      []Look   // looked at only
	Touch    []Look   // worked, under the instructor's eye
	Read     []Look   // gauges, meters, glasses and levels
	Leave    []Look   // must not be moved: shown, never touched
}

// Look is one device at a stand.
type Look struct {
	Device  *fleet.Device
	Differs *Item // what is other than in the class the crew knows; nil when nothing is
}

// Walk is the first walk round a class: its places in the order given, then those the
// order leaves out in the order of the record, each with every device at it. A place
// without a device is passed over. The lesson, when there is one, marks what differs.
func Walk(c *fleet.Class, order []string, l *Lesson) []Stand {
	differs := map[string]*Item{}
	if l != nil {
		for k := range l.Items {
			differs[l.Items[k].Function] = &l.Items[k]
		}
	}
	ids := append([]string(nil), order...)
	for _, p := range c.Places {
		if !slices.Contains(ids, p.ID) {
			ids = append(ids, p.ID)
		}
	}
	var out []Stand
	last := ""
	for _, id := range ids {
		p, ok := c.Place(id)
		if !ok {
			continue
		}
		s := Stand{Place: p}
		for _, d := range c.Devices {
			if d.Place != id {
				continue
			}
			look := Look{d, differs[d.Function]}
			switch {
			case d.MustNotMove:
				s.Leave = append(s.Leave, look)
			case readable(d):
				s.Read = append(s.Read, look)
			case len(d.Positions) > 1 || d.Range != nil:
				s.Touch = append(s.Touch, look)
			default:
				s.See = append(s.See, look)
			}
		}
		if len(s.See)+len(s.Touch)+len(s.Read)+len(s.Leave) == 0 {
			continue
		}
		s.Cautions = cautions(c, last, id)
		last = id
		out = append(out, s)
	}
	return out
}

// readable says that a device is there to be read: it shows a value.
func readable(d *fleet.Device) bool {
	return d.Reads != "" || slices.Contains([]string{"gauge", "meter", "glass", "fluid", "piston"}, d.Kind)
}

// cautions are those of the way between two stands; where no single way joins them,
// those of every way into the stand.
func cautions(c *fleet.Class, from, to string) []string {
	var into []string
	for _, w := range c.Ways {
		if w.From == from && w.To == to || w.From == to && w.To == from {
			return w.Cautions
		}
		if w.To == to || w.From == to {
			for _, x := range w.Cautions {
				if !slices.Contains(into, x) {
					into = append(into, x)
				}
			}
		}
	}
	return into
}
