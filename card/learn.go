package card

import (
	"fmt"
	"strings"

	"headstock/fleet"
	"headstock/setup"
	"headstock/teach"
)

// Differences is the card for a crew that knows one class and meets another: only what
// differs and matters, the worst first.
func Differences(l *teach.Lesson) *Document {
	d := &Document{Title: fmt.Sprintf("%s, for a crew that knows the %s", l.New.Name, l.Known.Name)}
	if l.New.Draft() || l.Known.Draft() {
		d.Banner = Draft
	}
	lessonTables(d, l)
	d.rests(l.Known, l.New)
	if l.Runs > 0 {
		d.Footer = append(d.Footer, fmt.Sprintf("Danger from %d runs of: %s; air model %s.", l.Runs, strings.Join(l.Consists, "; "), l.AirModel))
	}
	return d
}

func lessonTables(d *Document, l *teach.Lesson) {
	if l.Unrun != "" {
		d.Paragraph(Unknown, "Cannot say how dangerous a wrong position is: "+l.Unrun+". Ranked by the cautions of the record alone.")
	}
	var hurts, costs, rest []teach.Item
	for _, i := range l.Items {
		switch {
		case i.Keep || i.Worst != nil && i.Worst.Grade >= setup.Unit:
			hurts = append(hurts, i)
		case i.Score() > 0 && i.Habit > teach.Elsewhere:
			costs = append(costs, i)
		default:
			rest = append(rest, i)
		}
	}
	d.Verdict = &Verdict{Text: fmt.Sprintf("%s differ; %d of them can hurt if they are got wrong.", count(len(l.Items), "function"), len(hurts))}
	if len(hurts) > 0 {
		d.Heading(1, "What can hurt, the worst first")
	}
	for n, i := range hurts {
		harmful(d, l, n+1, i)
	}
	if len(costs) > 0 {
		d.Heading(1, "What else goes another way, or is not thought of")
		t := Table{Columns: []Column{{Title: "what"}, {Title: "where"}, {Title: "you know"}, {Title: "here"}}}
		for _, i := range costs {
			name, where := strings.Join(i.Names, "; "), orDash(strings.Join(i.Places, "; "))
			if name == "" {
				name = part(i.Function)
			}
			for _, x := range i.Differs {
				if x.Reason == fleet.PlaceOther && len(i.Differs) > 1 {
					continue // the place stands in its own column
				}
				t.Rows = append(t.Rows, []Cell{Text(name), Text(where), Text(x.What + ": " + x.A), Text(x.B)})
				name, where = "", ""
			}
		}
		d.Table(t)
	}
	if len(rest) == 0 {
		return
	}
	d.Heading(1, "What stands elsewhere, or counts otherwise")
	t := Table{Columns: []Column{{Title: "what"}, {Title: "on the " + l.New.Name}, {Title: "differs in"}}}
	for _, i := range rest {
		var what []string
		for _, x := range i.Differs {
			what = append(what, x.What)
		}
		t.Rows = append(t.Rows, []Cell{Text(part(i.Function)), Text(orDash(strings.Join(i.Places, "; "))), Text(strings.Join(what, ", "))})
	}
	d.Table(t)
}

func orDash(s string) string {
	if s == "" {
		return "has none"
	}
	return s
}

// harmful is one thing that can hurt: what it is, what getting it wrong does, what differs.
func harmful(d *Document, l *teach.Lesson, n int, i teach.Item) {
	name := strings.Join(i.Names, "; ")
	if name == "" {
		name = part(i.Function)
	}
	d.Heading(2, fmt.Sprintf("%d. %s", n, name))
	if i.Keep {
		d.Paragraph(Warn, "Must not be moved.")
	}
	facts := []Fact{{Name: "it is", Text: i.Meaning}, {Name: "where", Text: orDash(strings.Join(i.Places, "; "))}}
	if w := i.Worst; w != nil && w.Grade > setup.NoHarm {
		text := fmt.Sprintf("at %s on %s (%s): %s", w.To, w.Unit, w.Consist, w.Danger)
		if !w.InCab {
			text += "; nobody sees it from the driving cab"
		}
		facts = append(facts, Fact{Name: "got wrong", Text: text, Mark: gradeMark(w.Grade)})
	}
	facts = append(facts, Fact{Name: "habit", Text: i.Habit.String()})
	d.Facts(facts...)
	t := Table{Columns: []Column{{Title: "differs in"}, {Title: l.Known.Name}, {Title: l.New.Name}}}
	for _, x := range i.Differs {
		t.Rows = append(t.Rows, []Cell{Text(x.What), Text(x.A), Text(x.B)})
	}
	d.Table(t)
}

// Learn is the first walk round a class, stand by stand.
func Learn(c *fleet.Class, stands []teach.Stand, l *teach.Lesson) *Document {
	d := &Document{Title: "First walk round the " + c.Name, Subtitle: c.Title}
	if c.Draft() {
		d.Banner = Draft
	}
	d.Cautions = append(d.Cautions, "Secured and engine stopped unless the stand says otherwise. Touch only under the instructor's eye.")
	if len(stands) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record names no device at a place."}
	}
	for n, s := range stands {
		d.Heading(1, fmt.Sprintf("Stand %d: %s", n+1, s.Place.Name))
		var mind []Item
		for _, x := range s.Cautions {
			mind = append(mind, Item{Text: "On the way: " + x + ".", Mark: Warn})
		}
		for _, x := range s.Leave {
			mind = append(mind, Item{Text: "Do not touch: " + x.Device.Name + ", it must not be moved.", Mark: Warn, Detail: x.Device.Cautions})
		}
		d.Bullets(mind...)
		looks(d, "See", s.See)
		looks(d, "Touch", s.Touch)
		looks(d, "Read", s.Read)
	}
	if l != nil {
		lessonTables(d, l)
		d.rests(l.Known)
	}
	d.rests(c)
	return d
}

func looks(d *Document, title string, ls []teach.Look) {
	var items []Item
	for _, l := range ls {
		x := l.Device
		it := Item{Text: x.Name}
		if len(x.AlsoCalled) > 0 {
			it.Text += " (" + strings.Join(x.AlsoCalled, ", ") + ")"
		}
		if fn, ok := fleet.LookupFunction(x.Function); ok {
			it.Text += ": " + fn.Meaning
		}
		it.Text += "."
		add := func(format, text string) {
			if text != "" {
				it.Detail = append(it.Detail, fmt.Sprintf(format, text))
			}
		}
		for _, p := range x.Positions {
			s := p.ID + ": " + p.Looks
			if p.Means != "" {
				s += "; it means " + p.Means
			}
			if p.ID == x.Normal {
				s += " (normal)"
			}
			add("%s.", s)
		}
		var limits []string
		for _, f := range x.Limits {
			limits = append(limits, f.Name+" "+f.Text)
		}
		add("Should be %s.", strings.Join(limits, ", "))
		add("Reads true when: %s.", x.ReadsTrueWhen)
		add("Worked: %s.", x.HowWorked)
		add("Proof: %s.", x.Evidence)
		add("Needs %s.", strings.Join(x.Needs, ", "))
		add("After use: %s.", x.AfterUse)
		for _, caution := range x.Cautions {
			add("! %s.", caution)
		}
		if l.Differs != nil {
			for _, y := range l.Differs.Differs {
				add("Differs, %s.", y.What+": you know "+y.A+"; here "+y.B)
			}
			if l.Differs.Habit == teach.WrongWay {
				it.Mark = Warn
			}
		}
		items = append(items, it)
	}
	if len(items) > 0 {
		d.Heading(2, title)
		d.Bullets(items...)
	}
}
