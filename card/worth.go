package card

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/fleet"
	"headstock/haul"
	"headstock/motion"
	"headstock/rigging"
	"headstock/rule"
	"headstock/source"
)

// worth is how far the figures that an answer rests on can be trusted, in the words of their
// standing.
type worth struct{ rows [][2]string }

func (w *worth) add(what, standing string) {
	if standing == "" {
		standing = "no source stated"
	}
	if r := [2]string{what, standing}; !slices.Contains(w.rows, r) {
		w.rows = append(w.rows, r)
	}
}

// trainWorth is that of the running and the traction of a train's classes.
func trainWorth(t *haul.Train) *worth {
	w := &worth{}
	for i := range t.Vehicles {
		c := t.Vehicles[i].Class
		if c.Running != nil {
			w.add("running of class "+c.Name+": mass, resistance, drawgear", c.Running.Source)
		}
	}
	for i := range t.Vehicles {
		if c := t.Vehicles[i].Class; c.Traction != nil && t.Vehicles[i].Pulls() {
			w.add("pull, motors and heating of class "+c.Name, c.Traction.Source)
		}
	}
	return w
}

func (w *worth) rail(r motion.Rail) {
	w.add(fmt.Sprintf("adhesion of %s rail, %.2f, in pulling", r.Name, r.Adhesion), r.Source)
}

// braking is that of what slows or holds a train. Rules are those that its adhesion is read
// from; nil leaves them out.
func (w *worth) braking(c *consist.Consist, r *rule.Rules) {
	w.add("pressure in the cylinders over time", "computed from the records; their fill times calibrated with published stops in sight")
	for _, m := range rigging.Materials() {
		used := slices.ContainsFunc(c.Vehicles, func(v *consist.Vehicle) bool {
			return slices.ContainsFunc(v.Class.RiggingOf("blocks"), func(e *fleet.Element) bool { return rigging.Material(e.Word("of")) == m })
		})
		if used {
			w.add("friction of "+string(m)+" blocks", m.Law().Source)
		}
	}
	w.add("heat of wheels, and fade", "from memory")
	if r != nil {
		rail := func(l rule.Limit, ok bool) {
			if ok {
				w.add(fmt.Sprintf("%s, %.0f %%", l.What, 100*l.Value()), l.Source)
			}
		}
		rail(r.Limit("braking-rail-dry"))
		rail(r.Limit("braking-rail-wet"))
		rail(r.Limit("braking-rail-greasy"))
	}
}

// on puts it into a document, what is weak marked.
func (w *worth) on(d *Document) {
	if len(w.rows) == 0 {
		return
	}
	d.Heading(1, "How far the figures can be trusted")
	t := Table{Columns: []Column{{Title: "figure"}, {Title: "standing"}}}
	for _, r := range w.rows {
		standing := r[1]
		if x, ok := source.Lookup(standing); ok && x.Standing.String() != standing {
			standing = x.Standing.String() + " (" + standing + ")"
		}
		t.Rows = append(t.Rows, []Cell{Text(r[0]), Text(standing)})
	}
	d.Table(t)
}
