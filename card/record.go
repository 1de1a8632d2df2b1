package card

import (
	"fmt"
	"sort"
	"strings"

	"headstock/fleet"
	"headstock/internal/reading"
)

// FleetList is the classes and units of a railway.
func FleetList(f *fleet.Fleet) *Document {
	d := &Document{Title: f.Railway}
	t := Table{Caption: "Classes", Columns: []Column{{Title: "class"}, {Title: "what it is"}, {Title: "units"}, {Title: "devices", Align: Right}, {Title: "level", Align: Right}, {Title: "record"}}}
	for _, c := range f.Classes {
		var nums []int
		for _, u := range f.Units {
			if u.Class == c.Name {
				nums = append(nums, u.Number)
			}
		}
		level, _ := c.Level()
		t.Rows = append(t.Rows, []Cell{Text(c.Name), Text(c.Title), Text(runs(nums)), Text(fmt.Sprint(len(c.Devices))), Text(fmt.Sprint(level)), standing(c)})
	}
	d.Table(t)
	t = Table{Caption: "Units whose state differs from their class today", Columns: []Column{{Title: "unit"}, {Title: "what"}, {Title: "since"}, {Title: "reason"}}}
	for _, u := range f.Units {
		name := fmt.Sprintf("%s %d", u.Class, u.Number)
		for _, m := range u.Modifications {
			t.Rows = append(t.Rows, []Cell{Text(name), Text("modification: " + m), Text(""), Text("")})
		}
		for _, o := range u.State {
			t.Rows = append(t.Rows, []Cell{Text(name), Text(o.Device + ": " + o.Property + " " + o.Value), Text(o.Date), Text(o.Reason)})
		}
		for _, x := range u.Defects {
			t.Rows = append(t.Rows, []Cell{Text(name), Marked(Warn, "defect: "+x.Device), Text(x.Date), Text(x.Text)})
		}
	}
	if len(t.Rows) > 0 {
		d.Table(t)
	}
	d.rests(f.Classes...)
	d.Banner = "" // each class says in its row how far it has come
	return d
}

// standing is how far a record has been checked, marked when that is less than it says.
func standing(c *fleet.Class) Cell {
	state, why := c.Standing()
	if state != c.Revision.State && c.Revision.State != "" {
		return Marked(Warn, state+": "+why)
	}
	return Text(state)
}

// runs writes numbers as ranges.
func runs(n []int) string {
	sort.Ints(n)
	var parts []string
	for i := 0; i < len(n); i++ {
		k := i
		for k+1 < len(n) && n[k+1] == n[k]+1 {
			k++
		}
		if k > i {
			parts = append(parts, fmt.Sprintf("%d–%d", n[i], n[k]))
		} else {
			parts = append(parts, fmt.Sprint(n[i]))
		}
		i = k
	}
	return strings.Join(parts, ", ")
}

func positions(d *fleet.Device) string {
	var ps []string
	for _, p := range d.Positions {
		ps = append(ps, p.ID)
	}
	return strings.Join(ps, ", ")
}

// Devices is a table of devices of one class.
func Devices(c *fleet.Class, ds []*fleet.Device, title string) *Document {
	d := &Document{Title: title}
	system := ""
	var t *Table
	flush := func() {
		if t != nil && len(t.Rows) > 0 {
			d.Table(*t)
		}
	}
	for _, s := range systems(ds) {
		flush()
		system = s
		d.Heading(1, system)
		t = &Table{Caption: system, Columns: []Column{{Title: "device"}, {Title: "name"}, {Title: "where"}, {Title: "positions"}}}
		for _, x := range ds {
			if x.System != s {
				continue
			}
			name := Text(x.Name)
			if x.MustNotMove {
				name = Marked(Warn, x.Name+" – must not be moved")
			}
			t.Rows = append(t.Rows, []Cell{Text(x.ID), name, Text(c.PlaceName(x.Place)), Text(positions(x))})
		}
	}
	flush()
	d.rests(c)
	return d
}

func systems(ds []*fleet.Device) []string {
	var out []string
	for _, d := range ds {
		known := false
		for _, s := range out {
			known = known || s == d.System
		}
		if !known {
			out = append(out, d.System)
		}
	}
	return out
}

// Found is what a search finds, in one class or in all, and how many.
//
// A unit named among the words narrows the search to its class, and its own state of
// today stands before what the class says.
func Found(f *fleet.Fleet, words, class string) (*Document, int, error) {
	d := &Document{Title: "Find: " + reading.Short(words)}
	n := 0
	unit, rest := f.UnitIn(words)
	if unit != nil {
		words, class = rest, unit.Class
		d.Subtitle = "as it stands on " + unit.Name()
	}
	if strings.TrimSpace(words) == "" {
		unitToday(d, unit)
		c, _ := f.Class(unit.Class)
		d.rests(c)
		return d, 1, nil
	}
	for _, x := range f.Find(words) {
		if x.Unit != nil && (class == "" || strings.EqualFold(class, x.Unit.Class)) {
			n++
			unitToday(d, x.Unit)
		}
	}
	var names []string
	hit := class == ""
	for _, c := range f.Classes {
		names = append(names, c.Name)
		if class != "" && !strings.EqualFold(class, c.Name) {
			continue
		}
		hit = true
		var ds []*fleet.Device
		for _, x := range f.Find(words) {
			if x.Class == c && x.Device != nil {
				ds = append(ds, x.Device)
			}
		}
		d.rests(c)
		if len(ds) == 0 {
			continue
		}
		n += len(ds)
		d.Heading(1, "class "+c.Name)
		t := Table{Caption: "class " + c.Name, Columns: []Column{{Title: "device"}, {Title: "name"}, {Title: "where"}, {Title: "position: how it looks"}}}
		for _, x := range ds {
			name := Text(x.Name)
			if x.MustNotMove {
				name = Marked(Warn, x.Name+" – must not be moved")
			}
			row := []Cell{Text(x.ID), name, Text(c.PlaceName(x.Place))}
			for _, p := range x.Positions {
				t.Rows = append(t.Rows, append(row, Text(p.ID+": "+p.Looks)))
				row = []Cell{Text(""), Text(""), Text("")}
			}
			if len(x.Positions) == 0 {
				t.Rows = append(t.Rows, append(row, Text("")))
			}
			for _, u := range f.UnitsOf(c.Name) {
				if unit != nil && u != unit {
					continue
				}
				for _, o := range u.Today(x.ID) {
					t.Rows = append(t.Rows, []Cell{Text(""), Text(""), Text(""), Marked(Warn, today(u, o))})
				}
				if unit != nil && !u.Carries(c, x) {
					t.Rows = append(t.Rows, []Cell{Text(""), Text(""), Text(""), Marked(Warn, "not on "+u.Name())})
				}
			}
		}
		d.Table(t)
	}
	if !hit {
		return nil, 0, fmt.Errorf("no class %q; expected one of %s%s", reading.Short(class), strings.Join(names, ", "), reading.Hint(class, names))
	}
	if n == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: no record names it."}
		if near := f.Nearest(words, class); near != "" {
			d.Verdict.Text += " Nearest: " + near + "."
		}
		d.Verdict.Text += " Try the plate's words, a nickname, the function or the place."
	}
	return d, n, nil
}

// unitToday is what a unit is today: modifications, what stands otherwise than its class
// says, measurements and open defects.
func unitToday(d *Document, u *fleet.Unit) {
	d.Heading(1, u.Name())
	var items []Item
	for _, m := range u.Modifications {
		items = append(items, Item{Text: "Modification: " + m + "."})
	}
	if len(u.With) > 0 {
		items = append(items, Item{Text: "Has: " + strings.Join(u.With, ", ") + "."})
	}
	if len(u.Without) > 0 {
		items = append(items, Item{Text: "Has not: " + strings.Join(u.Without, ", ") + ".", Mark: Warn})
	}
	for _, o := range u.State {
		items = append(items, Item{Text: o.Device + " " + today(u, o) + ".", Mark: Warn})
	}
	for _, x := range u.Defects {
		items = append(items, Item{Text: "Open defect since " + x.Date + ": " + x.Text + ".", Mark: Warn})
	}
	if u.Note != "" {
		items = append(items, Item{Text: u.Note})
	}
	if len(items) == 0 {
		items = append(items, Item{Text: "Nothing stands otherwise than its class says, as far as the record goes."})
	}
	d.Bullets(items...)
}

// today words one thing that stands otherwise on a unit.
func today(u *fleet.Unit, o fleet.Override) string {
	what := o.Property + " " + o.Value
	if o.Property == "fitted" {
		what = o.Value
		if what == "no" {
			what = "not fitted"
		}
	}
	return fmt.Sprintf("on %s: %s since %s, %s", u.Name(), what, o.Date, o.Reason)
}

// Device is everything a record says of one device, as it stands on a unit (nil: in the
// class). The unit's own state of today stands first, because it wins.
func Device(f *fleet.Fleet, c *fleet.Class, u *fleet.Unit, x *fleet.Device) *Document {
	d := &Document{Title: x.Name, Subtitle: nameOf(c, u) + ", " + x.ID}
	if u != nil {
		for _, o := range u.Today(x.ID) {
			d.Paragraph(Warn, "Today "+today(u, o)+".")
		}
		if !u.Carries(c, x) {
			d.Paragraph(Warn, u.Name()+" has none.")
		}
		for _, df := range u.Defects {
			if df.Device == x.ID {
				d.Paragraph(Warn, "Open defect since "+df.Date+": "+df.Text+".")
			}
		}
	}
	if x.MustNotMove {
		d.Cautions = append(d.Cautions, "This device must not be moved.")
	}
	d.Cautions = append(d.Cautions, x.Cautions...)
	var facts []Fact
	add := func(name, text string) {
		if text != "" {
			facts = append(facts, Fact{Name: name, Text: text})
		}
	}
	fn, _ := fleet.LookupFunction(x.Function)
	add("function", strings.TrimSuffix(x.Function+": "+fn.Meaning, ": "))
	add("also called", strings.Join(x.AlsoCalled, ", "))
	add("system", x.System)
	where := c.PlaceName(x.Place)
	for _, p := range c.Places {
		if p.ID == x.Place {
			where += fmt.Sprintf(" (%s side, %s, %.1f m from headstock 1)", p.Side, p.Level, p.X)
		}
	}
	add("where", where)
	for _, w := range x.Who {
		add("may "+w.Name, w.Text)
	}
	add("how worked", x.HowWorked)
	add("normal", x.Normal)
	add("fitted", x.Fitted)
	add("evidence", x.Evidence)
	add("reads true when", x.ReadsTrueWhen)
	add("goes with", strings.Join(x.GoesWith, ", "))
	add("acts on", strings.Join(x.ActsOn, ", "))
	add("driven by", x.DrivenBy)
	add("fails to", x.FailsTo)
	add("tries", x.Tries.String())
	add("after use", x.AfterUse)
	add("needs", strings.Join(x.Needs, ", "))
	add("lasts", x.Lasts)
	add("refill", x.Refill)
	for _, l := range x.Limits {
		add(l.Name, l.Text)
	}
	if x.Sealed {
		add("sealed", "yes")
	}
	add("source", x.Source)
	add("written at", x.Pos.String())
	d.Facts(facts...)
	picture(d, f, c, x.Photo, x.Name)
	if len(x.Positions) > 0 {
		t := Table{Caption: "Positions", Columns: []Column{{Title: "position"}, {Title: "how it looks"}, {Title: "what it means"}}}
		for _, p := range x.Positions {
			t.Rows = append(t.Rows, []Cell{Text(p.ID), Text(p.Looks), Text(p.Says())})
		}
		d.Table(t)
		for _, p := range x.Positions {
			picture(d, f, c, p.Photo, x.Name+", "+p.ID)
		}
	}
	for _, other := range f.UnitsOf(c.Name) {
		for _, o := range other.Today(x.ID) {
			if other != u {
				d.Paragraph(Warn, "But "+today(other, o)+".")
			}
		}
	}
	d.rests(c)
	return d
}

// picture adds a photograph, if there is one; where its file has gone since the record was
// read its name stands there alone.
func picture(d *Document, f *fleet.Fleet, c *fleet.Class, file, caption string) {
	if file == "" {
		return
	}
	p := Picture{Caption: caption, File: file}
	if x, err := f.Photo(c, file); err == nil {
		p.Kind, p.Width, p.Height, p.Data = x.Kind, x.Width, x.Height, x.Data
	}
	d.Picture(p)
}

// Compared is what differs between two classes.
func Compared(a, b *fleet.Class) *Document {
	ds := fleet.Compare(a, b)
	d := &Document{Title: "What differs: " + a.Name + " and " + b.Name}
	t := Table{Caption: "Functions that differ", Columns: []Column{{Title: "function"}, {Title: "differs in"}, {Title: a.Name}, {Title: b.Name}}}
	seen := map[string]bool{}
	for _, x := range ds {
		fn := x.Function
		if seen[fn] {
			fn = ""
		}
		seen[x.Function] = true
		t.Rows = append(t.Rows, []Cell{Text(fn), Text(x.What), Text(x.A), Text(x.B)})
	}
	differ := "functions differ"
	if len(seen) == 1 {
		differ = "function differs"
	}
	d.Verdict = &Verdict{Text: fmt.Sprintf("%d %s between %s and %s.", len(seen), differ, a.Name, b.Name)}
	if len(t.Rows) > 0 {
		d.Table(t)
	}
	d.rests(a, b)
	return d
}

// Needs is how far a record has come.
func Needs(c *fleet.Class) *Document {
	level, needs := c.Level()
	words := fleet.LevelNames()
	d := &Document{Title: "Record of class " + c.Name, Verdict: &Verdict{Text: fmt.Sprintf("Level %d (%s).", level, words[level])}}
	if level < len(words)-1 {
		d.Heading(1, fmt.Sprintf("For level %d (%s) it still needs", level+1, words[level+1]))
		var items []Item
		for _, n := range needs {
			items = append(items, Item{Text: n})
		}
		d.Bullets(items...)
	}
	if beside := c.Beside(); len(beside) > 0 {
		d.Heading(1, "Asked for by no level")
		var items []Item
		for _, b := range beside {
			items = append(items, Item{Text: b, Mark: Unknown})
		}
		d.Bullets(items...)
	}
	if len(c.Missing) > 0 {
		d.Heading(1, "Known to be missing")
		var items []Item
		for _, m := range c.Missing {
			items = append(items, Item{Text: m.What, Detail: []string{"needed for: " + m.Needed}})
		}
		d.Bullets(items...)
	}
	if facts := revised(c); len(facts) > 0 {
		d.Heading(1, "Revision")
		d.Facts(facts...)
	}
	d.rests(c)
	return d
}
