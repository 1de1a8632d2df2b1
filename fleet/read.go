package fleet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"

	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/source"
)

// Read reads a railway's folder: railway.yaml, units.yaml and the class records under
// classes. It returns what could be read together with every complaint, in the order of
// file and line; a fleet with complaints is good for finding things and for nothing else.
func Read(fsys fs.FS) (*Fleet, []reading.Complaint) {
	r := &reader{fsys: fsys}
	f := &Fleet{files: fsys}
	if n := r.open("railway.yaml"); n != nil {
		if r.isMap(n, "railway.yaml") {
			f.Railway = r.text(n.Get("name"))
		}
	}
	groups := r.classFiles()
	classes := make([]*Class, len(groups))
	readers := make([]*reader, len(groups)) // one a class: classes do not know each other
	var wait sync.WaitGroup
	for i, files := range groups {
		readers[i] = &reader{fsys: fsys}
		wait.Go(func() { classes[i] = readers[i].class(files) })
	}
	wait.Wait()
	for i, c := range classes {
		r.complaints = append(r.complaints, readers[i].complaints...)
		if c != nil {
			if first, ok := f.Class(c.Name); ok {
				r.complain(CodeClassTwice, c.Pos, fmt.Sprintf("class %q is recorded twice", c.Name), "one folder or file a class", "", first.Pos)
				continue
			}
			f.Classes = append(f.Classes, c)
		}
	}
	slices.SortStableFunc(f.Classes, func(a, b *Class) int { return strings.Compare(a.Name, b.Name) })
	for _, c := range f.Classes {
		if !c.partial {
			r.check(c)
		}
	}
	if n := r.open("units.yaml"); n != nil {
		r.units(f, n)
	}
	for _, c := range f.Classes {
		if !c.partial {
			r.checkFeatures(f, c)
		}
	}
	reading.Sort(r.complaints)
	return f, r.complaints
}

type reader struct {
	fsys       fs.FS
	complaints []reading.Complaint
	source     string // nearest source for a figure
	folder     string // of the class that is read
	content    sum    // of the class that is read
}

func (r *reader) complain(code string, pos reading.Pos, message, expected, nearest string, related ...reading.Pos) {
	r.complaints = append(r.complaints, reading.Complaint{Code: code, Pos: pos, Message: message, Expected: expected, Nearest: nearest, Related: related})
}

func (r *reader) open(name string) *reading.Node {
	if _, err := fs.Stat(r.fsys, name); errors.Is(err, fs.ErrNotExist) {
		r.complain(CodeFileMissing, reading.Pos{File: name}, fmt.Sprintf("the folder has no %s", name), "railway.yaml, units.yaml and a folder classes", "")
		return nil
	}
	n, cs := reading.ParseFile(r.fsys, name)
	r.complaints = append(r.complaints, cs...)
	return n
}

// classFiles groups the files of the folder classes by class, in the order of names.
func (r *reader) classFiles() [][]string {
	entries, err := fs.ReadDir(r.fsys, "classes")
	if err != nil {
		r.complain(CodeFileMissing, reading.Pos{File: "classes"}, "the folder has no classes", "railway.yaml, units.yaml and a folder classes", "")
		return nil
	}
	isYAML := func(name string) bool {
		return !strings.HasPrefix(name, ".") && (strings.HasSuffix(name, ".yaml") || strings.HasSuffix(name, ".yml"))
	}
	var out [][]string
	for _, e := range entries {
		p := path.Join("classes", e.Name())
		if !e.IsDir() {
			if isYAML(e.Name()) {
				out = append(out, []string{p})
			} else if r.isTable(p) {
				r.complain(CodeTableName, reading.Pos{File: p}, fmt.Sprintf("the table %q belongs to no class", e.Name()), "it in the folder of its class, beside class.yaml", "")
			}
			continue
		}
		inside, err := fs.ReadDir(r.fsys, p)
		if err != nil {
			r.complain(reading.CodeUnreadable, reading.Pos{File: p}, "the folder cannot be read", "", "")
			continue
		}
		var files []string
		for _, f := range inside {
			if !f.IsDir() && isYAML(f.Name()) {
				files = append(files, path.Join(p, f.Name()))
			}
		}
		for _, f := range inside {
			if name := path.Join(p, f.Name()); !f.IsDir() && r.isTable(name) {
				if len(files) == 0 {
					r.complain(CodeFileMissing, reading.Pos{File: name}, "the folder has a table of devices and no record", "class.yaml beside it", "")
					break
				}
				files = append(files, name)
			}
		}
		if len(files) > 0 {
			out = append(out, files)
		}
	}
	if len(out) == 0 {
		r.complain(CodeFileMissing, reading.Pos{File: "classes"}, "the folder classes holds no class record", "one file or folder a class; new writes an empty record", "")
	}
	return out
}

// The readers of single values. Each complains at the value and returns what is left.

func (r *reader) isMap(n *reading.Node, what string) bool {
	if n.Kind() == reading.Map {
		return true
	}
	if n != nil {
		r.complain(CodeShape, n.Pos(), fmt.Sprintf("%s is %s", what, n.Kind()), "a map of keys and values", "")
	}
	return false
}

func (r *reader) text(n *reading.Node) string {
	switch n.Kind() {
	case reading.Word:
		return n.Text()
	case reading.Nothing:
		if n != nil {
			r.complain(CodeShape, n.Pos(), "nothing stands here", "a word or a text", "")
		}
	default:
		r.complain(CodeShape, n.Pos(), fmt.Sprintf("%s stands here", n.Kind()), "a word or a text", "")
	}
	return ""
}

func (r *reader) texts(n *reading.Node) []string {
	var out []string
	if n.Kind() == reading.Map {
		r.complain(CodeShape, n.Pos(), "a map stands here", "a text or a list of texts", "")
		return nil
	}
	for _, i := range n.Items() {
		if t := r.text(i); t != "" {
			out = append(out, t)
		}
	}
	return out
}

func (r *reader) yes(n *reading.Node) bool {
	switch t := r.text(n); t {
	case "yes":
		return true
	case "no", "":
	default:
		r.complain(CodeNotYesOrNo, n.Pos(), fmt.Sprintf("%q is neither yes nor no", t), "yes or no", map[string]string{"true": "yes", "on": "yes", "Yes": "yes", "false": "no", "off": "no", "No": "no"}[t])
	}
	return false
}

func (r *reader) count(n *reading.Node, low, high int) int {
	t := r.text(n)
	v, err := strconv.Atoi(t)
	if err != nil || v < low || v > high {
		if t != "" {
			r.complain(CodeNotACount, n.Pos(), fmt.Sprintf("%q is no whole number from %d to %d", t, low, high), fmt.Sprintf("a whole number from %d to %d", low, high), "")
		}
		return 0
	}
	return v
}

func (r *reader) oneOf(n *reading.Node, words []string) string {
	t := r.text(n)
	if t != "" && !slices.Contains(words, t) {
		r.complain(CodeNotOneOf, n.Pos(), fmt.Sprintf("%q is not one of the words that can stand here", t), "one of "+strings.Join(words, ", "), reading.Nearest(t, words))
		return ""
	}
	return t
}

// date reads 2026-03-01 and refuses days that no calendar has.
func (r *reader) date(n *reading.Node) string {
	t := r.text(n)
	if t == "" {
		return ""
	}
	var y, m, d int
	ok := len(t) == 10 && t[4] == '-' && t[7] == '-'
	if ok {
		var e1, e2, e3 error
		y, e1 = strconv.Atoi(t[:4])
		m, e2 = strconv.Atoi(t[5:7])
		d, e3 = strconv.Atoi(t[8:])
		ok = e1 == nil && e2 == nil && e3 == nil && y > 0 && m >= 1 && m <= 12 && d >= 1
	}
	if ok {
		days := []int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[m-1]
		if m == 2 && y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			days = 29
		}
		ok = d <= days
	}
	if !ok {
		r.complain(CodeBadDate, n.Pos(), fmt.Sprintf("%q is no date", t), "year-month-day, like 2026-03-01", "")
		return ""
	}
	return t
}

// figure reads a quantity of one of the kinds; no kinds is any.
func (r *reader) figure(n *reading.Node, kinds ...quantity.Kind) *source.Figure {
	t := r.text(n)
	if t == "" {
		return nil
	}
	f, err := source.ParseFigure(t, r.source)
	if err != nil {
		r.badFigure(n.Pos(), err, kinds...)
		return nil
	}
	if len(kinds) > 0 && !slices.Contains(kinds, f.Kind) {
		want := kinds[0]
		example := want.Example()
		if f.Kind == quantity.Count {
			r.complain(CodeNoUnit, n.Pos(), fmt.Sprintf("%q has no unit", t), fmt.Sprintf("a %s with its unit, such as %s", want, example), t+" "+example)
			return nil
		}
		r.complain(CodeWrongKind, n.Pos(), fmt.Sprintf("%q is a %s", t, f.Kind), fmt.Sprintf("a %s", want)+orSuch(example), "")
		return nil
	}
	return &f
}

func orSuch(example string) string {
	if example == "" {
		return ""
	}
	return " in a unit such as " + example
}

func (r *reader) badFigure(pos reading.Pos, err error, kinds ...quantity.Kind) {
	expected := "a quantity, like 12 mm ± 0.5 mm by drawing-114"
	if len(kinds) > 0 {
		expected = fmt.Sprintf("a %s", kinds[0]) + orSuch(kinds[0].Example())
	}
	var unknown *source.UnknownKey
	if errors.As(err, &unknown) {
		r.complain(CodeUnknownSource, pos, fmt.Sprintf("no source %q in the bibliography", unknown.Key), "a key of the bibliography, drawing-<number>, or one of invented, from memory, common practice, calibrated, measured, railway", unknown.Nearest)
		return
	}
	var bad *quantity.Error
	if !errors.As(err, &bad) {
		r.complain(CodeNotAQuantity, pos, err.Error(), expected, "")
		return
	}
	switch bad.Fault {
	case quantity.UnknownUnit:
		r.complain(CodeUnknownUnit, pos, fmt.Sprintf("no unit %q", bad.Text), expected, bad.Nearest)
	case quantity.AmbiguousComma:
		r.complain(CodeAmbiguousComma, pos, fmt.Sprintf("the comma in %q can be read in two ways", bad.Text), "the thousand without a mark, or a decimal point", bad.Nearest)
	case quantity.BadSpread:
		r.complain(CodeBadSpread, pos, fmt.Sprintf("%q is no spread of the same kind", bad.Text), "what follows ± to be above zero and of the same kind", bad.Nearest)
	default:
		r.complain(CodeNotAQuantity, pos, fmt.Sprintf("%q is no quantity", bad.Text), expected, "")
	}
}

// facts reads a map of free names; a value that is a quantity becomes a figure, and one
// that is a number with a mistyped unit is a complaint rather than a text.
func (r *reader) facts(n *reading.Node, what string) []Fact {
	if !r.isMap(n, what) {
		return nil
	}
	old := r.source
	defer func() { r.source = old }()
	r.setSource(n)
	var out []Fact
	for _, e := range n.Entries() {
		if e.Key == "source" {
			continue
		}
		f := Fact{Name: e.Key, Pos: e.KeyPos}
		switch e.Value.Kind() {
		case reading.List:
			f.Text = strings.Join(r.texts(e.Value), ", ")
		default:
			f.Text = r.text(e.Value)
		}
		if fig, err := source.ParseFigure(f.Text, r.source); err == nil {
			f.Figure = &fig
		} else {
			var bad *quantity.Error
			var unknown *source.UnknownKey
			if errors.As(err, &bad) && bad.Fault == quantity.UnknownUnit && bad.Nearest != "" && !strings.Contains(bad.Text, " ") {
				r.badFigure(e.Value.Pos(), err)
			} else if errors.As(err, &bad) && (bad.Fault == quantity.AmbiguousComma || bad.Fault == quantity.BadSpread) && len(strings.Fields(f.Text)) < 6 {
				r.badFigure(e.Value.Pos(), err)
			} else if errors.As(err, &unknown) {
				if q, _, _ := strings.Cut(f.Text, " by "); parses(q) {
					r.badFigure(e.Value.Pos(), err)
				}
			}
		}
		out = append(out, f)
	}
	return out
}

func parses(q string) bool {
	_, err := quantity.Parse(q)
	return err == nil
}

// setSource makes a section's or an entry's own source the nearest one.
func (r *reader) setSource(n *reading.Node) {
	s := n.Get("source")
	if s == nil || s.Kind() == reading.Map {
		return
	}
	key := r.text(s)
	if key == "" {
		return
	}
	if _, ok := source.Lookup(key); !ok {
		r.badFigure(s.Pos(), &source.UnknownKey{Key: key, Nearest: source.Nearest(key)})
		return
	}
	r.source = key
}

// keys complains of every key that is not in the table and of every required one that
// is not there.
func (r *reader) keys(n *reading.Node, pos reading.Pos, what string, specs []KeySpec, codes map[string]string) {
	var names []string
	for _, k := range specs {
		names = append(names, k.Name)
	}
	for _, e := range n.Entries() {
		if !slices.Contains(names, e.Key) {
			r.complain(CodeUnknownKey, e.KeyPos, fmt.Sprintf("%s has no key %q", what, e.Key), "one of "+strings.Join(names, ", "), reading.Nearest(e.Key, names))
		}
	}
	for _, k := range specs {
		if k.Required && !n.Has(k.Name) {
			code := codes[k.Name]
			if code == "" {
				code = CodeMissingKey
			}
			r.complain(code, pos, fmt.Sprintf("%s has no %s", what, k.Name), k.Help, "")
		}
	}
}

// part is one file of a class.
type part struct {
	name   string
	node   *reading.Node
	source string
}

func (r *reader) class(files []string) *Class {
	c := &Class{}
	hash, content := sha256.New(), newSum()
	r.folder, r.content = path.Dir(files[0]), content
	c.folder = r.folder
	var parts, tables []part
	for _, name := range files {
		data, err := reading.File(r.fsys, name)
		if err != nil {
			r.complaints = append(r.complaints, reading.Unreadable(name, err))
			c.partial = true
			continue
		}
		fmt.Fprintf(hash, "%s %d\n", name, len(data))
		hash.Write(data)
		if base := path.Base(name); base == tableCSV || base == tableWorkbook {
			before := len(r.complaints)
			n := r.deviceTable(name)
			c.partial = c.partial || len(r.complaints) > before
			if n != nil {
				content.file(name, n)
				tables = append(tables, part{name: name, node: n})
			}
			continue
		}
		n, cs := reading.Parse(name, data)
		r.complaints = append(r.complaints, cs...)
		c.partial = c.partial || len(cs) > 0
		if n == nil || !r.isMap(n, name) {
			c.partial = true
			continue
		}
		content.file(name, n)
		p := part{name: name, node: n}
		top := reading.Pos{File: name, Line: 1, Col: 1}
		codes := map[string]string{"class": CodeNoClass, "source": CodeNoSource}
		r.keys(n, top, "a class record", topKeys(), codes)
		if v := n.Get("class"); v != nil {
			said := r.text(v)
			switch {
			case said == "":
			case c.Name == "":
				c.Name, c.Pos = said, v.Pos()
			case c.Name != said:
				r.complain(CodeClassDisagrees, v.Pos(), fmt.Sprintf("this file says class %q, another of the folder %q", said, c.Name), fmt.Sprintf("class: %s in every file of the folder", c.Name), "", c.Pos)
			}
		}
		r.source = ""
		r.setSource(n)
		p.source = r.source
		parts = append(parts, p)
	}
	if len(parts) == 0 || c.Name == "" {
		return nil
	}
	c.Source = parts[0].source
	for _, t := range tables {
		t.source = c.Source
		parts = append(parts, t)
	}
	if dir := path.Dir(files[0]); dir != "classes" {
		if base := path.Base(dir); !strings.EqualFold(base, c.Name) {
			r.complain(CodeFolderName, c.Pos, fmt.Sprintf("class %q stands in the folder %q", c.Name, base), fmt.Sprintf("the folder classes/%s", strings.ToLower(c.Name)), "")
		}
	}
	// what may be written once for a class, in whichever of its files
	single := map[string]reading.Pos{}
	for _, p := range parts {
		for _, e := range p.node.Entries() {
			switch e.Key {
			case "kind", "title", "format", "revision", "cabs", "multiple", "ends", "walk", "walk order", "running", "traction", "shape", "diagram":
				if first, ok := single[e.Key]; ok {
					r.complain(CodeSectionTwice, e.KeyPos, fmt.Sprintf("%s stands in two files of class %q", e.Key, c.Name), "it in one of them", "", first)
					continue
				}
				single[e.Key] = e.KeyPos
			}
			r.source = p.source
			r.section(c, e)
		}
	}
	c.Content = content.text()
	fmt.Fprintln(hash, c.Content) // the photographs
	c.Hash = hex.EncodeToString(hash.Sum(nil))
	if _, ok := single["kind"]; !ok && !c.partial { // it may stand in the file that could not be read
		r.complain(CodeMissingKey, c.Pos, fmt.Sprintf("class %q has no kind", c.Name), "kind: locomotive, or kind: wagon", "")
	}
	return c
}

func (r *reader) section(c *Class, e reading.Entry) {
	n := e.Value
	switch e.Key {
	case "kind":
		c.Kind = r.oneOf(n, []string{"locomotive", "wagon"})
	case "title":
		c.Title = r.text(n)
	case "format":
		if t := r.text(n); t != "1" {
			r.complain(CodeFormat, n.Pos(), fmt.Sprintf("this program does not read format %q", t), "format: 1", "")
		}
	case "revision":
		r.revision(c, n)
	case "identity":
		for _, f := range r.facts(n, "identity") {
			if i := slices.IndexFunc(c.Identity, func(g Fact) bool { return g.Name == f.Name }); i >= 0 {
				r.complain(CodeDuplicateID, f.Pos, fmt.Sprintf("identity has %q twice", f.Name), "each fact once", "", c.Identity[i].Pos)
				continue
			}
			c.Identity = append(c.Identity, f)
			r.identity(c, f)
		}
	case "running":
		r.running(c, n)
	case "traction":
		r.traction(c, n)
	case "cabs":
		c.Cabs = r.count(n, 0, 2)
	case "multiple":
		c.Multiple = r.yes(n)
	case "ends":
		r.ends(c, n)
	case "places":
		r.places(c, n)
	case "ways":
		r.ways(c, n)
	case "devices":
		r.devices(c, n)
	case "air":
		r.air(c, n)
	case "rigging":
		r.rigging(c, n)
	case "circuits":
		r.circuits(c, n)
	case "starts":
		r.starts(c, n)
	case "roles":
		r.roles(c, n)
	case "makes":
		r.makes(c, n)
	case "checks":
		r.checks(c, n)
	case "procedures":
		r.procedures(c, n)
	case "walk":
		r.walk(c, n)
	case "walk order":
		r.walkOrder(c, n)
	case "shape":
		r.shape(c, n)
	case "diagram":
		r.diagram(c, n)
	case "missing":
		specs := keysOf(topKeys(), "missing")
		for _, i := range n.Items() {
			if i.Kind() == reading.Word {
				c.Missing = append(c.Missing, Missing{What: i.Text(), Pos: i.Pos()})
				continue
			}
			if r.isMap(i, "an entry of missing") {
				r.keys(i, i.Pos(), "an entry of missing", specs, nil)
				m := Missing{Pos: i.Pos()}
				if v := i.Get("what"); v != nil {
					m.What = r.text(v)
				}
				if v := i.Get("needed for"); v != nil {
					m.Needed = strings.Join(r.texts(v), ", ")
				}
				c.Missing = append(c.Missing, m)
			}
		}
	}
}

func (r *reader) identity(c *Class, f Fact) {
	var kind quantity.Kind
	switch f.Name {
	case "length", "minimum curve radius", "bogie centres", "wheelbase":
		kind = quantity.Length
	case "mass", "loaded", "axle load", "axle load loaded":
		kind = quantity.Mass
	case "axles":
		if n, err := strconv.Atoi(f.Text); err != nil || n < 1 || n > 40 {
			r.complain(CodeNotACount, f.Pos, fmt.Sprintf("%q is no whole number from 1 to 40", f.Text), "a whole number of axles", "")
		}
		return
	default:
		return
	}
	if f.Figure == nil || f.Figure.Kind != kind || f.Figure.SI <= 0 {
		code, msg := CodeWrongKind, fmt.Sprintf("%s %q is no %s", f.Name, f.Text, kind)
		if f.Figure != nil && f.Figure.Kind == quantity.Count {
			code, msg = CodeNoUnit, fmt.Sprintf("%s %q has no unit", f.Name, f.Text)
		}
		if f.Figure == nil && slices.ContainsFunc(r.complaints, func(x reading.Complaint) bool { return x.Pos.File == f.Pos.File && x.Pos.Line == f.Pos.Line }) {
			return // the figure itself has been complained of
		}
		r.complain(code, f.Pos, msg, fmt.Sprintf("a %s in a unit such as %s", kind, kind.Example()), "")
		return
	}
	switch f.Name {
	case "length":
		c.Length = f.Figure.SI
	case "mass":
		c.Mass = f.Figure.SI
	case "loaded":
		c.Loaded = f.Figure.SI
	}
}

func (r *reader) revision(c *Class, n *reading.Node) {
	if !r.isMap(n, "revision") {
		return
	}
	r.keys(n, n.Pos(), "a revision", keysOf(topKeys(), "revision"), nil)
	v := Revision{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "state":
			v.State = r.oneOf(e.Value, []string{"draft", "checked", "issued"})
		case "by":
			v.By = r.text(e.Value)
		case "checked by":
			v.CheckedBy = r.text(e.Value)
			v.Pos = e.KeyPos
		case "issued by":
			v.IssuedBy = r.text(e.Value)
		case "date":
			v.Date = r.date(e.Value)
		case "content":
			v.Content = r.text(e.Value)
		}
	}
	if (v.State == "checked" || v.State == "issued") && v.CheckedBy == "" {
		r.complain(CodeNotChecked, n.Get("state").Pos(), fmt.Sprintf("the record is %s and nobody has checked it", v.State), "checked by: a second named person, at the machine", "")
	}
	if v.CheckedBy != "" && strings.EqualFold(strings.Join(strings.Fields(v.CheckedBy), " "), strings.Join(strings.Fields(v.By), " ")) {
		r.complain(CodeCheckedBySame, v.Pos, fmt.Sprintf("%q checked their own record", v.By), "a second person", "")
	}
	c.Revision = v
}

func (r *reader) ends(c *Class, n *reading.Node) {
	if !r.isMap(n, "ends") {
		return
	}
	for _, e := range n.Entries() {
		if e.Key == "source" {
			r.setSource(n)
			continue
		}
		if e.Key != "1" && e.Key != "2" {
			r.complain(CodeEndNumber, e.KeyPos, fmt.Sprintf("no headstock %q", e.Key), "1 or 2", "")
			continue
		}
		if !r.isMap(e.Value, "an end") {
			continue
		}
		end := End{Pos: e.KeyPos}
		r.keys(e.Value, e.KeyPos, "an end", endKeys(), nil)
		if v := e.Value.Get("coupler"); v != nil {
			end.CouplerSpec = r.facts(v, "coupler")
			for _, f := range end.CouplerSpec {
				switch f.Name {
				case "kind":
					end.Coupler = f.Text
				case "height":
					if f.Figure == nil || f.Figure.Kind != quantity.Length {
						r.complain(CodeWrongKind, f.Pos, fmt.Sprintf("coupler height %q is no length", f.Text), "a length in a unit such as mm", "")
						continue
					}
					end.Height = f.Figure.SI
				}
			}
			if v.Kind() == reading.Map && end.Coupler == "" {
				r.complain(CodeCoupler, v.Pos(), "the coupler has no kind", "kind: the sort of coupler; only equal sorts are coupled", "")
			}
		}
		if v := e.Value.Get("pipes"); v != nil && r.isMap(v, "pipes") {
			for _, p := range v.Entries() {
				if pe, ok := r.pipeEnd(p); ok {
					end.Pipes = append(end.Pipes, pe)
				}
			}
		}
		c.Ends[int(e.Key[0]-'1')] = end
	}
	for i, name := range []string{"1", "2"} {
		if c.Ends[i].Pos.Line == 0 && !n.Has(name) {
			r.complain(CodeEndNumber, n.Pos(), "headstock "+name+" is not there", "both headstocks, 1 and 2", "")
		}
	}
}

func (r *reader) pipeEnd(e reading.Entry) (PipeEnd, bool) {
	pe := PipeEnd{Pipe: e.Key, Node: e.Key, Pos: e.KeyPos}
	if !slices.Contains(Pipes(), e.Key) {
		r.complain(CodeUnknownPipe, e.KeyPos, fmt.Sprintf("no pipe %q", e.Key), "one of "+strings.Join(Pipes(), ", "), reading.Nearest(e.Key, Pipes()))
		return pe, false
	}
	if !r.isMap(e.Value, "a pipe at a headstock") {
		return pe, false
	}
	r.keys(e.Value, e.KeyPos, "a pipe at a headstock", pipeEndKeys(), nil)
	for _, k := range e.Value.Entries() {
		switch k.Key {
		case "head":
			pe.Head = r.text(k.Value)
		case "hose":
			pe.Hose = r.text(k.Value)
		case "cock":
			pe.Cock = r.text(k.Value)
		case "node":
			pe.Node = r.text(k.Value)
		case "side":
			pe.Side = r.oneOf(k.Value, sides())
		case "optional":
			pe.Optional = r.yes(k.Value)
		}
	}
	return pe, true
}

func (r *reader) places(c *Class, n *reading.Node) {
	if !r.isMap(n, "places") {
		return
	}
	r.setSource(n)
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if i := slices.IndexFunc(c.Places, func(p Place) bool { return p.ID == e.Key }); i >= 0 {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("place %q stands in two files", e.Key), "each id once", "", c.Places[i].Pos)
			continue
		}
		p := Place{ID: e.Key, Pos: e.KeyPos}
		if r.isMap(e.Value, "a place") {
			r.keys(e.Value, e.KeyPos, "a place", keysOf(topKeys(), "places"), nil)
			for _, k := range e.Value.Entries() {
				switch k.Key {
				case "name":
					p.Name = r.text(k.Value)
				case "x":
					if f := r.figure(k.Value, quantity.Length); f != nil {
						p.X = f.SI
					}
				case "side":
					p.Side = r.oneOf(k.Value, sides())
				case "level":
					p.Level = r.text(k.Value)
				}
			}
		}
		c.Places = append(c.Places, p)
	}
}

func (r *reader) ways(c *Class, n *reading.Node) {
	if n.Kind() != reading.List {
		r.complain(CodeShape, n.Pos(), fmt.Sprintf("ways is %s", n.Kind()), "a list of ways", "")
		return
	}
	for _, i := range n.List() {
		if !r.isMap(i, "a way") {
			continue
		}
		r.keys(i, i.Pos(), "a way", keysOf(topKeys(), "ways"), nil)
		w := Way{Pos: i.Pos()}
		for _, k := range i.Entries() {
			switch k.Key {
			case "between":
				ends := r.texts(k.Value)
				if len(ends) != 2 || ends[0] == ends[1] {
					r.complain(CodeWayEnds, k.Value.Pos(), "a way does not join two places", "between: [one place, another place]", "")
					continue
				}
				w.From, w.To = ends[0], ends[1]
			case "takes":
				if f := r.figure(k.Value, quantity.Time); f != nil {
					w.Seconds = f.SI
					if f.SI <= 0 {
						r.complain(CodeNotPositive, k.Value.Pos(), "a way takes no time", "a time above zero", "")
					}
				}
			case "cautions":
				w.Cautions = r.texts(k.Value)
			}
		}
		if w.From != "" {
			c.Ways = append(c.Ways, w)
		}
	}
}

func (r *reader) devices(c *Class, n *reading.Node) {
	if !r.isMap(n, "devices") {
		return
	}
	old := r.source
	r.setSource(n)
	section := r.source
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		if d, ok := c.Device(e.Key); ok {
			r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("device %q stands in two files", e.Key), "each id once", "", d.Pos)
			continue
		}
		r.source = section
		if d := r.device(e); d != nil {
			c.Devices = append(c.Devices, d)
		}
	}
	r.source = old
}

func (r *reader) device(e reading.Entry) *Device {
	d := &Device{ID: e.Key, Pos: e.KeyPos, node: e.Value}
	n := e.Value
	if !r.isMap(n, "a device") {
		return nil
	}
	r.keys(n, e.KeyPos, fmt.Sprintf("device %q", e.Key), deviceKeys(), map[string]string{"function": CodeNoFunction})
	r.setSource(n)
	d.Source = r.source
	for _, k := range n.Entries() {
		v := k.Value
		switch k.Key {
		case "function":
			d.Function = r.text(v)
			if _, ok := LookupFunction(d.Function); !ok && d.Function != "" {
				r.complain(CodeUnknownFunction, v.Pos(), fmt.Sprintf("no function %q in the defined list", d.Function), "a word of the defined list", NearestFunction(d.Function))
			}
		case "name":
			d.Name = r.text(v)
		case "also called":
			d.AlsoCalled = r.texts(v)
		case "kind":
			d.Kind = r.text(v)
		case "system":
			t := r.text(v)
			s, ok := system(t)
			if !ok && t != "" {
				r.complain(CodeUnknownSystem, v.Pos(), fmt.Sprintf("no system %q", t), "one of "+strings.Join(Systems(), ", "), reading.Nearest(t, Systems()))
			}
			d.System = s
		case "cab":
			d.Cab = r.count(v, 1, 2)
		case "end":
			d.End = r.count(v, 1, 2)
		case "bogie":
			d.Bogie = r.count(v, 1, 9)
		case "place":
			d.Place = r.text(v)
		case "photo":
			d.Photo = r.photo(v)
		case "positions":
			r.positions(d, v)
		case "range":
			if t := r.text(v); t != "" {
				q, kind, err := quantity.ParseRange(t)
				if err != nil {
					r.complain(CodeBadRange, v.Pos(), fmt.Sprintf("%q is no range: %v", t, err), "the lower end, two points, the upper end: 0 kPa .. 150 kPa", "")
					continue
				}
				if kind == quantity.Count {
					r.complain(CodeNoUnit, v.Pos(), fmt.Sprintf("%q has no unit", t), "a range with its unit: 0 kPa .. 150 kPa", "")
					continue
				}
				d.Range = &Range{Low: q.Low, High: q.High, Pos: v.Pos()}
			}
		case "normal":
			d.Normal = r.text(v)
		case "reads":
			d.Reads = r.text(v)
		case "graduated":
			d.Graduation = r.figure(v)
		case "error":
			d.Error = r.figure(v)
		case "lag":
			d.Lag = r.seconds(v, "a lag")
		case "how worked":
			d.HowWorked = r.text(v)
		case "cautions":
			d.Cautions = r.texts(v)
		case "fitted":
			d.Fitted = r.oneOf(v, fittedWords())
		case "who":
			d.Who = r.facts(v, "who")
			for _, f := range d.Who {
				if !slices.Contains([]string{"look", "work", "adjust"}, f.Name) {
					r.complain(CodeUnknownKey, f.Pos, fmt.Sprintf("who has no key %q", f.Name), "look, work, adjust", reading.Nearest(f.Name, []string{"look", "work", "adjust"}))
				}
			}
		case "evidence":
			d.Evidence = r.text(v)
		case "reads true when":
			d.ReadsTrueWhen = r.text(v)
		case "state":
			d.State = r.oneOf(v, MachineStates())
		case "wait":
			d.Wait = r.seconds(v, "a wait")
		case "goes with":
			d.GoesWith = r.texts(v)
		case "acts on":
			d.ActsOn = r.texts(v)
		case "driven by":
			d.DrivenBy = r.text(v)
		case "fails to":
			d.FailsTo = r.text(v)
		case "tries":
			d.Tries = r.tries(v)
		case "after use":
			d.AfterUse = r.text(v)
		case "needs":
			d.Needs = r.texts(v)
		case "lasts":
			d.Lasts = r.text(v)
		case "refill":
			d.Refill = r.text(v)
		case "rated":
			d.Rated = r.figure(v)
		case "limits":
			d.Limits = r.facts(v, "limits")
		case "sealed":
			d.Sealed = r.yes(v)
		case "must not be moved":
			d.MustNotMove = r.yes(v)
		case "only with":
			d.OnlyWith = r.text(v)
		case "only without":
			d.OnlyWithout = r.text(v)
		}
	}
	if d.System == "" {
		if f, ok := LookupFunction(d.Function); ok {
			d.System = f.System
		}
	}
	return d
}

func (r *reader) tries(n *reading.Node) *Tries {
	if !r.isMap(n, "tries") {
		return nil
	}
	r.keys(n, n.Pos(), "tries", triesKeys(), nil)
	t := &Tries{Pos: n.Pos()}
	for _, e := range n.Entries() {
		switch e.Key {
		case "times":
			t.Times = r.count(e.Value, 0, 9)
		case "apart":
			t.Apart = r.figure(e.Value, quantity.Time)
		case "after":
			t.After = r.text(e.Value)
		case "never":
			t.Never = r.text(e.Value)
		case "then":
			t.Then = r.text(e.Value)
		}
	}
	return t
}

func (r *reader) positions(d *Device, n *reading.Node) {
	if !r.isMap(n, "positions") {
		return
	}
	for _, e := range n.Entries() {
		p := Position{ID: e.Key, Pos: e.KeyPos}
		what := fmt.Sprintf("position %q of %q", e.Key, d.ID)
		switch e.Value.Kind() {
		case reading.Word: // a position with nothing but a look
			p.Looks = e.Value.Text()
			if p.Looks == "" {
				r.complain(CodeNoLook, e.KeyPos, what+" has no look", "looks: how it is seen to stand so", "")
			}
		case reading.Nothing:
			r.complain(CodeNoLook, e.KeyPos, what+" has no look", "looks: how it is seen to stand so", "")
		default:
			if !r.isMap(e.Value, what) {
				continue
			}
			r.keys(e.Value, e.KeyPos, what, positionKeys(), map[string]string{"looks": CodeNoLook})
			for _, k := range e.Value.Entries() {
				switch k.Key {
				case "looks":
					p.Looks = r.text(k.Value)
				case "means":
					p.Means = r.text(k.Value)
				case "photo":
					p.Photo = r.photo(k.Value)
				case "sets":
					p.Sets = r.figure(k.Value)
				case "shows":
					p.Shows = r.shows(k.Value)
				case "toward":
					p.Toward = r.count(k.Value, 1, 2)
				case "part":
					if f := r.figure(k.Value, quantity.Count); f != nil {
						if f.SI <= 0 || f.SI > 1 {
							r.complain(CodePart, k.Value.Pos(), fmt.Sprintf("%q is no part of an opening", k.Value.Text()), "above 0 and at most 1", "")
							continue
						}
						p.Part = f.SI
					}
				}
			}
		}
		d.Positions = append(d.Positions, p)
	}
}

func (r *reader) roles(c *Class, n *reading.Node) {
	if !r.isMap(n, "roles") {
		return
	}
	for _, e := range n.Entries() {
		if e.Key == "source" && e.Value.Kind() != reading.Map {
			continue
		}
		name, variant, _ := strings.Cut(e.Key, ",")
		role := &Role{Name: strings.TrimSpace(name), Variant: strings.TrimSpace(variant), Pos: e.KeyPos}
		for _, o := range c.Roles {
			if o.Name == role.Name && o.Variant == role.Variant {
				r.complain(CodeDuplicateID, e.KeyPos, fmt.Sprintf("role %q stands in two files", e.Key), "each role once", "", o.Pos)
			}
		}
		if !slices.Contains(RoleNames(), role.Name) {
			r.complain(CodeUnknownRole, e.KeyPos, fmt.Sprintf("no role %q", role.Name), "one of "+strings.Join(RoleNames(), ", "), reading.Nearest(role.Name, RoleNames()))
			continue
		}
		if role.Variant != "" && !slices.Contains(Variants(), role.Variant) {
			r.complain(CodeUnknownVariant, e.KeyPos, fmt.Sprintf("no condition %q on a role", role.Variant), "one of "+strings.Join(Variants(), ", "), reading.Nearest(role.Variant, Variants()))
		}
		role.AllPipes = role.Variant == "all pipes"
		c.Roles = append(c.Roles, role)
		if e.Value.Kind() == reading.Nothing { // everything stands normal
			continue
		}
		if !r.isMap(e.Value, "a role") {
			continue
		}
		for _, k := range e.Value.Entries() {
			switch k.Key {
			case "at cab":
				role.ThisCab = r.claims(k.Value, k.Key)
			case "other cab":
				role.OtherCab = r.claims(k.Value, k.Key)
			case "reversed":
				role.Reversed = r.claims(k.Value, k.Key)
			case "at front":
				role.AtFront = r.claims(k.Value, k.Key)
			case "at rear":
				role.AtRear = r.claims(k.Value, k.Key)
			case "at both ends":
				role.AtBoth = r.claims(k.Value, k.Key)
			case "pipes":
				role.Pipes = r.texts(k.Value)
			default:
				role.Positions = append(role.Positions, Claim{Device: k.Key, Position: r.text(k.Value), Pos: k.KeyPos})
			}
		}
	}
}

func (r *reader) claims(n *reading.Node, what string) []Claim {
	if n.Kind() == reading.Nothing || !r.isMap(n, what) {
		return nil
	}
	var out []Claim
	for _, k := range n.Entries() {
		out = append(out, Claim{Device: k.Key, Position: r.text(k.Value), Pos: k.KeyPos})
	}
	return out
}

func (r *reader) makes(c *Class, n *reading.Node) {
	if !r.isMap(n, "makes") {
		return
	}
	for _, e := range n.Entries() {
		name, variant, _ := strings.Cut(e.Key, ",")
		m := Makes{Variant: strings.TrimSpace(variant), Pos: e.KeyPos}
		if strings.TrimSpace(name) != "lead" || (m.Variant != "" && m.Variant != "copied") {
			r.complain(CodeMakes, e.KeyPos, fmt.Sprintf("%q is no lead", e.Key), `lead, or "lead, copied"`, reading.Nearest(e.Key, []string{"lead", "lead, copied"}))
			continue
		}
		m.Third = r.oneOf(e.Value, []string{"command", "copy"})
		c.Makes = append(c.Makes, m)
	}
}
