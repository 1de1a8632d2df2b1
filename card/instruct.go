package card

import (
	"fmt"
	"strings"

	"headstock/fleet"
	"headstock/prepare"
	"headstock/quantity"
)

// Instructions is one procedure of a class, for a unit or (nil) for the class.
func Instructions(c *fleet.Class, u *fleet.Unit, p *fleet.Instructions, u2 quantity.Units) *Document {
	d := &Document{Title: p.Title, Subtitle: nameOf(c, u), Cautions: p.Cautions}
	if c.Draft() {
		d.Banner = Draft
	}
	if len(p.First) > 0 {
		d.Heading(1, "First")
		var items []Item
		for _, f := range p.First {
			items = append(items, Item{Text: f})
		}
		d.Bullets(items...)
	}
	d.Heading(1, "Steps")
	var items []Item
	place := ""
	for _, s := range prepare.Instruct(c, u, p) {
		items = append(items, step(s, &place, u2))
	}
	d.Steps(items...)
	if p.Ends != "" {
		d.Paragraph(None, "The unit then stands as the role "+p.Ends+" asks.")
	}
	d.rests(c)
	return d
}

func nameOf(c *fleet.Class, u *fleet.Unit) string {
	if u == nil {
		return "class " + c.Name
	}
	return u.Name()
}

// step words one step; the place is said only where it changes.
func step(s prepare.Step, place *string, u quantity.Units) Item {
	var it Item
	var parts, looks []string
	for _, a := range s.At {
		switch s.Kind {
		case "do":
			parts = append(parts, a.Device.Name+": "+a.Position)
		case "look":
			parts = append(parts, a.Device.Name+" must be "+a.Position)
		case "read":
			parts = append(parts, "read "+a.Device.Name)
		}
		if a.Looks != "" {
			looks = append(looks, a.Looks)
		}
		if a.Unfit {
			it.Mark = Warn
			it.Detail = append(it.Detail, "Not on this unit as in its class: "+a.State+". Ask before this step.")
		} else if a.State != "" {
			it.Mark = Warn
			it.Detail = append(it.Detail, "Today: "+a.State+".")
		}
	}
	it.Text = strings.Join(parts, "; ")
	if s.Kind == "say" {
		it.Text = s.Say
	}
	if s.Shows != "" {
		it.Text += " – " + s.Shows
	}
	if s.Who != "" {
		it.Text = s.Who + ": " + it.Text
	}
	it.Text = strings.ToUpper(it.Text[:1]) + it.Text[1:] + "."
	if len(s.At) > 0 && s.At[0].Place != *place {
		*place = s.At[0].Place
		it.Text = "[" + *place + "] " + it.Text
	}
	if len(looks) > 0 {
		it.Detail = append(it.Detail, "Looks: "+strings.Join(looks, "; ")+".")
	}
	if s.Hold > 0 {
		it.Detail = append(it.Detail, "Hold or wait "+upTo(s.Hold)+".")
	}
	if s.AtMost > 0 {
		it.Detail = append(it.Detail, "At most "+downTo(s.AtMost)+".")
	}
	if s.IfNot != "" {
		it.Detail = append(it.Detail, "If not: "+s.IfNot+".")
	}
	for _, c := range s.Cautions {
		it.Detail = append(it.Detail, "! "+c+".")
	}
	return it
}

// downTo words a greatest time, rounded down.
func downTo(seconds float64) string {
	if seconds < 60 {
		return fmt.Sprintf("%d s", int(seconds))
	}
	halves := int(seconds / 30)
	return strings.TrimSuffix(fmt.Sprintf("%.1f", float64(halves)/2), ".0") + " min"
}

// Trips is a card of each thing that can trip: a forbidden reset first of all.
func Trips(c *fleet.Class, u *fleet.Unit, ts []prepare.Trip) *Document {
	d := &Document{Title: "Trips and resets", Subtitle: nameOf(c, u)}
	if c.Draft() {
		d.Banner = Draft
	}
	if len(ts) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record names nothing that trips and how often it may be reset."}
	}
	for _, t := range ts {
		x := t.At.Device
		d.Heading(1, x.Name)
		if t.Forbid {
			d.Paragraph(Bad, "DO NOT RESET IT. Never "+t.Tries.Never+".")
		} else if t.Tries.Never != "" {
			d.Paragraph(Bad, "Never "+t.Tries.Never+".")
		}
		if t.At.State != "" {
			d.Paragraph(Warn, "Today: "+t.At.State+".")
		}
		tab := Table{Columns: []Column{{Title: "stands"}, {Title: "how it looks"}}}
		if t.Set != nil {
			tab.Rows = append(tab.Rows, []Cell{Text(t.Set.ID), Text(t.Set.Looks)})
		}
		for _, p := range t.Tripped {
			tab.Rows = append(tab.Rows, []Cell{Text(p.ID), Text(p.Looks)})
		}
		d.Table(tab)
		facts := []Fact{{Name: "where", Text: t.At.Place}}
		add := func(name, text string) {
			if text != "" {
				facts = append(facts, Fact{Name: name, Text: text})
			}
		}
		if !t.Forbid {
			add("resets", tries(t.Tries))
		}
		if t.Tries.After != "" {
			add("first", t.Tries.After)
		}
		add("then", t.Tries.Then)
		add("how worked", x.HowWorked)
		for _, w := range x.Who {
			add("may "+w.Name, w.Text)
		}
		add("needs", strings.Join(x.Needs, ", "))
		add("proof", x.Evidence)
		add("after use", x.AfterUse)
		d.Facts(facts...)
		for _, caution := range x.Cautions {
			d.Paragraph(Warn, caution)
		}
	}
	d.rests(c)
	return d
}

func tries(t *fleet.Tries) string {
	bare := *t
	bare.Never, bare.Then, bare.After = "", "", ""
	if t.Times == 0 {
		return "none by the crew"
	}
	return bare.String()
}
