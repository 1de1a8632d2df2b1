package consist

import (
	"fmt"
	"slices"

	"headstock/air"
	"headstock/fleet"
)

// Facts is the network of a reducer as a fact base for another reasoner: what hangs on which
// positions, what joins what, and where air is made. It says nothing of groups.
func (r *Reducer) Facts(c *Consist) []string {
	p := r.p
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format+".", args...)) }
	id := func(vehicle int, device string) string {
		return fmt.Sprintf("%q", fmt.Sprintf("%d/%s", vehicle, device))
	}
	slotOf := map[air.Slot]string{}
	said := map[string]bool{}
	device := func(vehicle int, name string) string {
		s := id(vehicle, name)
		k, ok := c.index[vehicle][name]
		if said[s] || !ok {
			return s
		}
		said[s] = true
		d := c.Vehicles[vehicle].Class.Devices[k]
		for _, q := range d.Positions {
			with, err := c.With(Change{vehicle, name, q.ID})
			if err != nil {
				continue
			}
			say("sets(%s,%q,%d)", s, q.ID, int64(with.Sets(vehicle, name)*1000))
			if q.Part > 0 {
				say("part(%s,%q,%d)", s, q.ID, int64(q.Part*1000))
			}
		}
		at, _ := c.Position(vehicle, name)
		if !slices.ContainsFunc(d.Positions, func(q fleet.Position) bool { return q.ID == at }) {
			say("sets(%s,%q,%d)", s, at, int64(c.Sets(vehicle, name)*1000))
		}
		say("claim(%s,%q)", s, at)
		if r.moved[vehicle][k] {
			say("worked(%s)", s)
		}
		return s
	}
	for n := range p.bindings {
		b := &p.bindings[n]
		slotOf[b.slot] = fmt.Sprintf("b(%d)", n)
		say("binding(%d)", n)
		for k, t := range b.terms {
			if _, ok := c.index[b.vehicle][t.Of]; !ok {
				continue
			}
			sign := "pos"
			if b.negate && k >= b.negateFrom {
				sign = "neg"
			}
			say("term(%d,%d,%s,%s)", n, k, device(b.vehicle, t.Of), sign)
			for _, q := range t.In {
				say("in(%d,%d,%q)", n, k, q)
			}
		}
		for _, x := range b.sum {
			say("summand(%d,%s,%d)", n, device(b.vehicle, unsigned(x)), map[bool]int{true: -1, false: 1}[x[0] == '-'])
		}
	}
	for n := range p.hoses {
		h := &p.hoses[n]
		say("hose(%d,%s)", n, device(h.vehicle, h.device))
		slotOf[h.open], slotOf[h.dummy] = fmt.Sprintf("open(%d)", n), fmt.Sprintf("dummy(%d)", n)
		for k := range p.hoses {
			o := &p.hoses[k]
			for _, m := range h.mates {
				if m.vehicle == o.vehicle && m.device == o.device {
					say("mate(%d,%d,%q)", n, k, map[bool]string{true: "crossed", false: "coupled"}[m.crossed])
					if m.mine {
						slotOf[m.slot] = fmt.Sprintf("joint(%d,%d)", n, k)
					}
				}
			}
		}
	}
	for _, s := range p.needed {
		if s >= 0 {
			say("needed(%s)", slotOf[s])
		}
	}
	for e := range air.Edge(p.edgeCount) {
		from, to := p.Net.Ends(e)
		say("edge(%d,%d,%d)", e, from, to)
		for _, s := range p.guards[e] {
			if s < 0 {
				say("always(%d)", e)
			} else {
				say("guard(%d,%s)", e, slotOf[s])
			}
		}
		if len(p.guards[e]) == 0 {
			say("always(%d)", e)
		}
	}
	for _, n := range p.sources {
		say("source(%d)", n)
	}
	return out
}
