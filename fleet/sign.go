package fleet

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path"
	"regexp"
	"strconv"
	"strings"

	"headstock/internal/reading"
)

// A record goes from draft to checked, by a second person at the machine, to issued. What
// was checked is kept in the revision as a sum over the content of the record: every word
// of its files and tables and every byte of its photographs, but not the revision itself,
// remarks or spacing. A later change of content makes another sum, and the record is a
// draft again until somebody checks it.

// sum takes the content of a record.
type sum struct{ hash.Hash }

func newSum() sum { return sum{sha256.New()} }

// text returns the sum as it is written into a revision.
func (s sum) text() string { return hex.EncodeToString(s.Sum(nil))[:16] }

func (s sum) file(name string, n *reading.Node) {
	fmt.Fprintf(s, "file %q\n", name)
	for _, e := range n.Entries() {
		if e.Key != "revision" {
			s.entry(e)
		}
	}
}

func (s sum) entry(e reading.Entry) {
	io.WriteString(s, strconv.Quote(e.Key)+":")
	s.node(e.Value)
}

func (s sum) node(n *reading.Node) {
	io.WriteString(s, strconv.Itoa(int(n.Kind()))+" "+strconv.Quote(n.Text())+" "+strconv.Itoa(len(n.List()))+" "+strconv.Itoa(len(n.Entries()))+"\n")
	for _, i := range n.List() {
		s.node(i)
	}
	for _, e := range n.Entries() {
		s.entry(e)
	}
}

// Standing is how far the record as it now reads has been checked: draft, checked or
// issued; why says what makes it less than its revision claims, or what is weak about it.
func (c *Class) Standing() (state, why string) {
	r := c.Revision
	switch {
	case r.State == "":
		return "draft", "the record has no revision"
	case r.State == "draft":
		return "draft", ""
	case c.Unsealed():
		return r.State, "not sealed, so nothing shows whether it has changed since it was checked"
	case r.Content != c.Content:
		return "draft", "changed since it was checked by " + r.CheckedBy
	}
	return r.State, ""
}

// Unsealed says that a record is marked checked or issued by hand, without the sum that
// would show a change.
func (c *Class) Unsealed() bool {
	return (c.Revision.State == "checked" || c.Revision.State == "issued") && c.Revision.Content == ""
}

// Draft says that a document made from the record may not be used: it is not issued, or
// it has changed since it was checked.
func (c *Class) Draft() bool {
	state, _ := c.Standing()
	return state != "issued"
}

// Signature is a step of a revision: to draft, checked or issued, by whom, on what day.
type Signature struct{ State, By, Date string }

// Refused says why a record was not signed.
type Refused struct{ Class, Why string }

func (e *Refused) Error() string {
	return fmt.Sprintf("the record of class %s is not signed: %s", e.Class, e.Why)
}

// Sign makes a step of a record's revision. It returns the file that holds the revision
// and its new text, of which nothing but the revision differs. A railway with complaints
// is not signed, nor is a record by the person who wrote it; issued needs a record that
// was checked and has not changed since.
func Sign(fsys fs.FS, class string, s Signature) (file string, text []byte, complaints []reading.Complaint, err error) {
	f, complaints := Read(fsys)
	if len(complaints) > 0 {
		return "", nil, complaints, nil
	}
	c, ok := f.Class(class)
	if !ok {
		var names []string
		for _, k := range f.Classes {
			names = append(names, k.Name)
		}
		return "", nil, nil, fmt.Errorf("no class %q; expected one of %s; nearest: %s", class, strings.Join(names, ", "), reading.Nearest(class, names))
	}
	s.By = strings.Join(strings.Fields(s.By), " ")
	if bad := new(reader); bad.date(reading.NewWord(reading.Pos{}, s.Date)) == "" {
		return "", nil, nil, fmt.Errorf("%q is no date; expected year-month-day, like 2026-03-01", s.Date)
	}
	r, err := c.signed(s)
	if err != nil {
		return "", nil, nil, err
	}
	file = c.Revision.Pos.File
	old, err := fs.ReadFile(fsys, file)
	if err != nil {
		return "", nil, nil, err
	}
	text, err = withRevision(file, old, r)
	if err != nil {
		return "", nil, nil, &Refused{c.Name, err.Error()}
	}
	return file, text, nil, nil
}

func samePerson(a, b string) bool {
	plain := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }
	return plain(a) == plain(b)
}

func (c *Class) signed(s Signature) (Revision, error) {
	r := c.Revision
	refuse := func(format string, args ...any) (Revision, error) {
		return r, &Refused{c.Name, fmt.Sprintf(format, args...)}
	}
	state, why := c.Standing()
	switch {
	case s.By == "":
		return refuse("nobody is named")
	case r.State == "" || r.By == "":
		return refuse("it does not say who wrote it; write revision: {state: draft, by: a name} into class.yaml first")
	}
	switch s.State {
	case "draft":
		return Revision{State: "draft", By: s.By, Date: s.Date}, nil
	case "checked":
		if samePerson(s.By, r.By) {
			return refuse("%s wrote it; a second person checks it at the machine", s.By)
		}
		if r.State == "issued" && why == "" {
			return refuse("it is issued already and has not changed since it was checked")
		}
		return Revision{State: "checked", By: r.By, CheckedBy: s.By, Date: s.Date, Content: c.Content}, nil
	case "issued":
		switch {
		case why != "":
			return refuse("%s; sign it checked first", why)
		case state == "issued":
			return refuse("it is issued already")
		case state != "checked":
			return refuse("nobody has checked it; sign it checked first")
		case samePerson(s.By, r.By):
			return refuse("%s wrote it; another person issues it", s.By)
		}
		return Revision{State: "issued", By: r.By, CheckedBy: r.CheckedBy, IssuedBy: s.By, Date: s.Date, Content: c.Content}, nil
	}
	states := []string{"draft", "checked", "issued"}
	return r, fmt.Errorf("no state %q; expected one of %s; nearest: %s", s.State, strings.Join(states, ", "), reading.Nearest(s.State, states))
}

var plainName = regexp.MustCompile(`^\p{L}[\p{L}\p{N}.' -]*$`)

// quoted writes a name so that YAML reads it as the text it is.
func quoted(s string) string {
	switch strings.ToLower(s) {
	case "yes", "no", "true", "false", "on", "off", "null", "y", "n":
	default:
		if plainName.MatchString(s) {
			return s
		}
	}
	return "'" + strings.ReplaceAll(s, "'", "''") + "'"
}

func (r Revision) written() string {
	var parts []string
	for _, p := range [][2]string{{"state", r.State}, {"by", r.By}, {"checked by", r.CheckedBy}, {"issued by", r.IssuedBy}, {"date", r.Date}, {"content", r.Content}} {
		if p[1] == "" {
			continue
		}
		v := p[1]
		switch p[0] {
		case "by", "checked by", "issued by":
			v = quoted(v)
		}
		parts = append(parts, p[0]+": "+v)
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

// withRevision is the text of a file with another revision in the place of its own. It
// reads back what it has written, and returns an error rather than a file that differs
// in anything else.
func withRevision(name string, old []byte, r Revision) ([]byte, error) {
	root, cs := reading.Parse(name, old)
	if len(cs) > 0 {
		return nil, cs[0]
	}
	from, to := 0, 0 // lines, from 1; to is the first behind it
	lines := strings.SplitAfter(string(old), "\n")
	for i, e := range root.Entries() {
		if e.Key != "revision" {
			continue
		}
		from, to = e.KeyPos.Line, len(lines)+1
		if i+1 < len(root.Entries()) {
			to = root.Entries()[i+1].KeyPos.Line
		}
		if i > 0 && root.Entries()[i-1].KeyPos.Line == from || to == from {
			return nil, fmt.Errorf("revision shares its line in %s with another key; give it a line of its own", name)
		}
	}
	if from == 0 {
		return nil, fmt.Errorf("%s has no revision", name)
	}
	// what stands between it and the next key, and is no part of it, stays where it is
	for to-1 > from {
		t := strings.TrimSpace(lines[to-2])
		if t != "" && t[0] != '#' {
			break
		}
		to--
	}
	var b strings.Builder
	for _, l := range lines[:from-1] {
		b.WriteString(l)
	}
	first := lines[from-1]
	end := first[len(strings.TrimRight(first, "\r\n")):]
	b.WriteString(first[:len(first)-len(strings.TrimLeft(first, " \ufeff"))] + "revision: " + r.written())
	var remarks []string
	for i, l := range lines[from-1 : to-1] {
		rest := strings.TrimRight(remark(l), "\r\n")
		if i == 0 {
			b.WriteString(rest)
		} else if rest != "" {
			remarks = append(remarks, strings.TrimSpace(rest))
		}
	}
	b.WriteString(end)
	for _, l := range remarks {
		b.WriteString(l + end)
	}
	for _, l := range lines[to-1:] {
		b.WriteString(l)
	}
	out := []byte(b.String())
	back, cs := reading.Parse(name, out)
	if len(cs) > 0 {
		return nil, fmt.Errorf("the revision in %s is written in a way that cannot be changed in place: %v", path.Base(name), cs[0])
	}
	was, is := newSum(), newSum()
	was.file(name, root)
	is.file(name, back)
	if was.text() != is.text() || back.Get("revision").Get("state").Text() != r.State {
		return nil, fmt.Errorf("the revision in %s is written in a way that cannot be changed in place; write it on one line", path.Base(name))
	}
	return out, nil
}

// remark is what a line ends with from its # on, with the spaces before it.
func remark(line string) string {
	var quote rune
	space := true
	for i, r := range line {
		switch {
		case quote != 0:
			if r == quote {
				quote = 0
			}
		case r == '\'' && space, r == '"' && space:
			quote = r
		case r == '#' && (i == 0 || line[i-1] == ' ' || line[i-1] == '\t'):
			return line[len(strings.TrimRight(line[:i], " \t")):]
		}
		space = strings.ContainsRune(" {,:[", r)
	}
	return ""
}
