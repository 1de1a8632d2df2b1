// Package reading reads YAML records into trees in which every word knows its place, and
// words the complaints about them: file, line, column, what was expected, the nearest name.
//
// It reads one document a file, of maps, lists and words; every scalar stays the text that
// was written (no is "no", 1.0 is "1.0"). In braces a piece without a colon belongs to the
// text before it, so that {looks: lever up, plate reads TRAIL} is one look. Anchors, aliases, merge keys and tags of one's
// own are refused: a record must be readable from top to bottom. It holds nothing of the
// railway and never panics, whatever the bytes.
package reading

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Pos is a place in a file; lines and columns count from 1, columns in characters. In a
// workbook they are the row and the column of a cell of a sheet.
type Pos struct {
	File      string
	Line, Col int
	Sheet     string
}

func (p Pos) String() string {
	if p.Line == 0 {
		return p.File
	}
	if p.Sheet != "" {
		return fmt.Sprintf("%s, sheet %s, row %d, column %s", p.File, p.Sheet, p.Line, letters(p.Col))
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col)
}

// letters names a column as a workbook does: A to Z, then AA.
func letters(col int) string {
	s := ""
	for ; col > 0; col = (col - 1) / 26 {
		s = string(rune('A'+(col-1)%26)) + s
	}
	return s
}

// Complaint is one fault of a record.
type Complaint struct {
	Code     string
	Pos      Pos
	Message  string
	Expected string
	Nearest  string
	Related  []Pos // other places that belong to it
}

func (c Complaint) String() string {
	s := fmt.Sprintf("%s: [%s] %s", c.Pos, c.Code, c.Message)
	if c.Expected != "" {
		s += "; expected " + c.Expected
	}
	if c.Nearest != "" {
		s += "; nearest: " + c.Nearest
	}
	for _, p := range c.Related {
		s += "; see " + p.String()
	}
	return Tidy(s)
}

func (c Complaint) Error() string { return c.String() }

// Code explains one code of a complaint: what it means, and one line that earns it.
type Code struct{ Code, Meaning, Example string }

// Sort puts complaints in the order of file, line, column, code.
func Sort(cs []Complaint) {
	slices.SortStableFunc(cs, func(a, b Complaint) int {
		if c := strings.Compare(a.Pos.File, b.Pos.File); c != 0 {
			return c
		}
		if a.Pos.Line != b.Pos.Line {
			return a.Pos.Line - b.Pos.Line
		}
		if a.Pos.Col != b.Pos.Col {
			return a.Pos.Col - b.Pos.Col
		}
		return strings.Compare(a.Code, b.Code)
	})
}

// The codes of the complaints of this package.
const (
	CodeUnreadable   = "unreadable-file"
	CodeSyntax       = "yaml-syntax"
	CodeDocuments    = "several-documents"
	CodeEmpty        = "empty-file"
	CodeDuplicateKey = "duplicate-key"
	CodeAlias        = "alias"
	CodeTag          = "tag"
	CodeKey          = "key-not-a-word"
	CodeDepth        = "too-deep"
)

// Kind is the shape of a node.
type Kind int

// The shapes. A Word is any scalar; Nothing is an empty value.
const (
	Nothing Kind = iota
	Word
	List
	Map
)

func (k Kind) String() string {
	return [...]string{"nothing", "a word", "a list", "a map"}[k]
}

// Node is one node of the tree. The methods of a nil node answer as Nothing.
type Node struct {
	pos     Pos
	kind    Kind
	text    string
	entries []Entry
	list    []*Node
}

// Entry is one line of a map, in the order of the file.
type Entry struct {
	Key    string
	KeyPos Pos
	Value  *Node
}

// Kind is the shape of the node.
func (n *Node) Kind() Kind {
	if n == nil {
		return Nothing
	}
	return n.kind
}

// Pos is where the node begins.
func (n *Node) Pos() Pos {
	if n == nil {
		return Pos{}
	}
	return n.pos
}

// Text is the word as written; empty for a map or a list.
func (n *Node) Text() string {
	if n == nil {
		return ""
	}
	return n.text
}

// Entries are the lines of a map in order; none for anything else.
func (n *Node) Entries() []Entry {
	if n == nil {
		return nil
	}
	return n.entries
}

// List are the items of a list; none for anything else.
func (n *Node) List() []*Node {
	if n == nil {
		return nil
	}
	return n.list
}

// Items are the items of a list, or the one node where no list was written.
func (n *Node) Items() []*Node {
	switch n.Kind() {
	case Nothing:
		return nil
	case List:
		return n.list
	}
	return []*Node{n}
}

// Get is the value of a key of a map, or nil.
func (n *Node) Get(key string) *Node {
	for _, e := range n.Entries() {
		if e.Key == key {
			return e.Value
		}
	}
	return nil
}

// Has says whether a map has a key.
func (n *Node) Has(key string) bool {
	for _, e := range n.Entries() {
		if e.Key == key {
			return true
		}
	}
	return false
}

// Keys are the keys of a map in order.
func (n *Node) Keys() []string {
	var out []string
	for _, e := range n.Entries() {
		out = append(out, e.Key)
	}
	return out
}

// ParseFile reads one file. The node is nil when nothing could be read.
func ParseFile(fsys fs.FS, name string) (*Node, []Complaint) {
	data, err := File(fsys, name)
	if err != nil {
		return nil, []Complaint{Unreadable(name, err)}
	}
	return Parse(name, data)
}

// FileAtMost is more than any file of a record holds, bytes.
const FileAtMost = 16 << 20

// ErrNoFile is the error of something that is no plain file, or far too large for a record:
// it is not read, since a device or a pipe has no end.
var ErrNoFile = errors.New("no plain file, or too large a one")

// File reads a file of a record whole.
func File(fsys fs.FS, name string) ([]byte, error) {
	st, err := fs.Stat(fsys, name)
	switch {
	case err != nil:
		return nil, err
	case !st.Mode().IsRegular(), st.Size() > FileAtMost:
		return nil, ErrNoFile
	}
	return fs.ReadFile(fsys, name)
}

// Unreadable is the complaint about a file that could not be read.
func Unreadable(name string, err error) Complaint {
	c := Complaint{Code: CodeUnreadable, Pos: Pos{File: name}, Message: "the file cannot be read"}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		c.Message = "there is no such file"
	case errors.Is(err, ErrNoFile):
		c.Expected = fmt.Sprintf("a plain file of at most %d MB", FileAtMost>>20)
	}
	return c
}

// maxDepth is deeper than any record and shallow enough for every reader that recurses.
const maxDepth = 40

// Parse reads the bytes of a file called name. The node is nil when nothing could be read.
func Parse(name string, data []byte) (root *Node, complaints []Complaint) {
	at := func(line, col int) Pos { return Pos{File: name, Line: max(line, 1), Col: max(col, 1)} }
	defer func() {
		if r := recover(); r != nil { // the parser beneath is not ours
			root, complaints = nil, []Complaint{{Code: CodeSyntax, Pos: at(1, 1), Message: "the text cannot be read as YAML"}}
		}
	}()
	if !utf8.Valid(data) {
		line, col := 1, 1
		for rest := data; len(rest) > 0; {
			r, n := utf8.DecodeRune(rest)
			if r == utf8.RuneError && n <= 1 {
				break
			}
			if col++; r == '\n' {
				line, col = line+1, 1
			}
			rest = rest[n:]
		}
		return nil, []Complaint{{Code: CodeSyntax, Pos: at(line, col), Message: "the file is not UTF-8 text", Expected: "text saved as UTF-8"}}
	}
	loader, err := yaml.NewLoader(strings.NewReader(string(data)), yaml.WithUniqueKeys(false))
	if err != nil {
		return nil, []Complaint{{Code: CodeSyntax, Pos: at(1, 1), Message: plain(err)}}
	}
	var doc yaml.Node
	if err := loader.Load(&doc); err != nil {
		if strings.TrimSpace(string(data)) == "" || err.Error() == "EOF" {
			return nil, []Complaint{{Code: CodeEmpty, Pos: at(1, 1), Message: "the file is empty"}}
		}
		line, col := place(err)
		message, expected := worded(err)
		return nil, []Complaint{{Code: CodeSyntax, Pos: at(line, col), Message: message, Expected: expected}}
	}
	top := &doc
	if doc.Kind == yaml.DocumentNode {
		if len(doc.Content) == 0 {
			return nil, []Complaint{{Code: CodeEmpty, Pos: at(1, 1), Message: "the file is empty"}}
		}
		top = doc.Content[0]
	}
	b := builder{name: name, lines: strings.Split(string(data), "\n")}
	root = b.node(top, 0)
	var second yaml.Node
	if err := loader.Load(&second); err == nil {
		line, col := second.Line, second.Column
		if len(second.Content) > 0 {
			line, col = second.Content[0].Line, second.Content[0].Column
		}
		b.complain(CodeDocuments, at(line, col), "a second document begins here", "one document a file")
	} else if err.Error() != "EOF" {
		line, col := place(err)
		message, expected := worded(err)
		b.complain(CodeSyntax, at(line, col), message, expected)
	}
	if root.Kind() == Nothing {
		return nil, append(b.complaints, Complaint{Code: CodeEmpty, Pos: at(1, 1), Message: "the file holds nothing"})
	}
	return root, b.complaints
}

type builder struct {
	name       string
	lines      []string
	complaints []Complaint
}

func (b *builder) complain(code string, pos Pos, message, expected string, related ...Pos) {
	b.complaints = append(b.complaints, Complaint{Code: code, Pos: pos, Message: message, Expected: expected, Related: related})
}

func (b *builder) node(y *yaml.Node, depth int) *Node {
	n := &Node{pos: Pos{File: b.name, Line: max(y.Line, 1), Col: max(y.Column, 1)}}
	if depth > maxDepth {
		b.complain(CodeDepth, n.pos, "maps and lists stand too deep in each other", fmt.Sprintf("at most %d levels", maxDepth))
		return n
	}
	if y.Style&yaml.TaggedStyle != 0 {
		b.complain(CodeTag, n.pos, fmt.Sprintf("tag %q", y.Tag), "plain text; put a word in quotes to keep it as it is")
	}
	switch y.Kind {
	case yaml.AliasNode:
		b.complain(CodeAlias, n.pos, fmt.Sprintf("alias %q", y.Value), "the value itself")
	case yaml.ScalarNode:
		n.text = strings.TrimSpace(y.Value)
		if n.text != "" || y.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
			n.kind = Word
		}
		if y.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) == 0 && (n.text == "~" || n.text == "null") {
			n.kind, n.text = Nothing, ""
		}
	case yaml.SequenceNode:
		n.kind = List
		for _, c := range y.Content {
			n.list = append(n.list, b.node(c, depth+1))
		}
	case yaml.MappingNode:
		n.kind = Map
		seen := map[string]Pos{}
		for i := 0; i+1 < len(y.Content); i += 2 {
			k, v := y.Content[i], y.Content[i+1]
			pos := Pos{File: b.name, Line: max(k.Line, 1), Col: max(k.Column, 1)}
			if k.Kind != yaml.ScalarNode {
				b.complain(CodeKey, pos, "the key of a map is not a word", "a word before the colon")
				continue
			}
			if k.Value == "<<" {
				b.complain(CodeAlias, pos, "merge key", "the keys themselves")
				continue
			}
			key := strings.TrimSpace(k.Value)
			if y.Style&yaml.FlowStyle != 0 && len(n.entries) > 0 && b.noColon(v) {
				if last := n.entries[len(n.entries)-1].Value; last.kind == Word {
					last.text += ", " + key
					continue
				}
			}
			if first, twice := seen[key]; twice {
				b.complain(CodeDuplicateKey, pos, fmt.Sprintf("%q stands twice in one map", key), "each key once", first)
				continue
			}
			seen[key] = pos
			n.entries = append(n.entries, Entry{Key: key, KeyPos: pos, Value: b.node(v, depth+1)})
		}
	}
	return n
}

// noColon says that a value is empty because no colon was written before it: the text
// up to where it would stand does not end in one.
func (b *builder) noColon(v *yaml.Node) bool {
	if v.Kind != yaml.ScalarNode || v.Value != "" || v.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		return false
	}
	for line, col := v.Line, v.Column; line >= 1 && line <= len(b.lines); line-- {
		text := []rune(b.lines[line-1])
		if line == v.Line {
			text = text[:min(max(col-1, 0), len(text))]
		}
		if t := strings.TrimSpace(string(text)); t != "" {
			return !strings.HasSuffix(t, ":")
		}
	}
	return false
}

func loadError(err error) *yaml.LoadError {
	var many *yaml.LoadErrors
	if errors.As(err, &many) && len(many.Errors) > 0 {
		return many.Errors[0]
	}
	var one *yaml.LoadError
	if errors.As(err, &one) {
		return one
	}
	return nil
}

func place(err error) (line, col int) {
	if e := loadError(err); e != nil {
		return e.Mark.Line, e.Mark.Column
	}
	return 1, 1
}

// plain is the message of the parser beneath, without its own prefix and place.
func plain(err error) string {
	msg := err.Error()
	if e := loadError(err); e != nil && e.Message != "" {
		msg = e.Message
	}
	if e := loadError(err); e != nil && e.ContextMsg != "" && !strings.Contains(msg, e.ContextMsg) {
		msg = e.ContextMsg + ": " + msg
	}
	return strings.Join(strings.Fields(msg), " ")
}

// worded puts the commonest faults of hand-written YAML into plain words, with advice; any
// other keeps the words of the parser beneath.
func worded(err error) (message, expected string) {
	msg := plain(err)
	for _, w := range []struct{ has, message, expected string }{
		{"found a tab character", "a tab stands where only spaces may", "spaces, never a tab, before a key"},
		{"mapping values are not allowed", "a colon stands where no key can be", "text with a colon in it to stand in quotes, or the key on a line of its own"},
		{"cannot start any token", "a tab or a sign stands where a word should begin", "spaces, not tabs, before a key; a text that begins with a sign stands in quotes"},
		{"scanning a quoted scalar: found unexpected end", "a quote is opened" + begun(err) + " and never closed", "a quote at the end of the text, too"},
		{"did not find expected ',' or", "a bracket is opened" + begun(err) + " and not closed as it should be", "a comma between entries and a closing bracket at the end"},
		{"did not find expected key", "a line begins in another column than the keys above it", "keys of one map to begin in the same column"},
		{"did not find expected '-' indicator", "a line of a list has no dash", "each entry of a list to begin with a dash, all in the same column"},
		{"unknown anchor", "a name stands after a star, and nothing has it", "a text that begins with a sign to stand in quotes"},
		{"did not find expected comment or line break", "text stands on the line of a | or >", "the text on the lines below, set in"},
	} {
		if strings.Contains(msg, w.has) {
			return w.message, w.expected
		}
	}
	return msg, ""
}

// begun says where that was begun of which the end was not found.
func begun(err error) string {
	if e := loadError(err); e != nil && e.ContextMark.Line > 0 {
		return fmt.Sprintf(" in line %d", e.ContextMark.Line)
	}
	return ""
}
