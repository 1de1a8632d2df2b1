package headstock_test

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
)

const module = "headstock"

// A room is one entry of house.txt.
type room struct {
	name                             string
	holds, imports, guarded, modules []string
}

// house is house.txt.
type house struct {
	guard, doors, never, classes, tests []string
	rooms                               []*room
}

func (h *house) room(name string) *room {
	for _, r := range h.rooms {
		if r.name == name {
			return r
		}
	}
	return nil
}

// parse reads the text of house.txt.
func parse(text string) (*house, error) {
	h := &house{}
	var last *room
	for i, line := range strings.Split(text, "\n") {
		f := strings.Fields(line)
		if len(f) == 0 || strings.HasPrefix(f[0], "#") {
			continue
		}
		key, rest := f[0], f[1:]
		var list *[]string
		switch key {
		case "guard":
			list = &h.guard
		case "doors":
			list = &h.doors
		case "never":
			list = &h.never
		case "classes":
			list = &h.classes
		case "tests":
			list = &h.tests
		case "room":
			if len(rest) != 1 || h.room(rest[0]) != nil {
				return nil, fmt.Errorf("house.txt:%d: a room has one name, used once", i+1)
			}
			last = &room{name: rest[0]}
			h.rooms = append(h.rooms, last)
			continue
		}
		if last != nil {
			switch key {
			case "holds":
				list = &last.holds
			case "imports":
				list = &last.imports
			case "guarded":
				list = &last.guarded
			case "modules":
				list = &last.modules
			}
		}
		if list == nil || len(rest) == 0 {
			return nil, fmt.Errorf("house.txt:%d: cannot read %q", i+1, strings.TrimSpace(line))
		}
		if rest[0] != "-" {
			*list = append(*list, rest...)
		}
	}
	for i, r := range h.rooms {
		if len(r.holds) == 0 {
			return nil, fmt.Errorf("house.txt: room %s does not say what it holds", r.name)
		}
		var below []string
		for _, b := range h.rooms[:i] {
			below = append(below, b.name)
		}
		if slices.Equal(r.imports, []string{"all"}) {
			r.imports = below
		}
		for _, name := range r.imports {
			if !slices.Contains(below, name) {
				return nil, fmt.Errorf("house.txt: room %s imports %s, which does not stand before it", r.name, name)
			}
		}
		for _, g := range r.guarded {
			if !slices.Contains(h.guard, g) {
				return nil, fmt.Errorf("house.txt: room %s names %s, which is not guarded", r.name, g)
			}
		}
	}
	return h, nil
}

// within reports whether an import path is the module or lies in it.
func within(importPath string, modules []string) bool {
	return slices.ContainsFunc(modules, func(m string) bool {
		return importPath == m || strings.HasPrefix(importPath, m+"/")
	})
}

// standard reports whether an import path is of the standard library: its first part
// has no dot.
func standard(importPath string) bool {
	first, _, _ := strings.Cut(importPath, "/")
	return !strings.Contains(first, ".")
}

// examine says what is wrong with one file that lies in the folder dir.
func (h *house) examine(dir, name string, text []byte) (package_ string, comment string, faults []string) {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, text, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return "", "", []string{err.Error()}
	}
	fault := func(pos token.Pos, format string, args ...any) {
		faults = append(faults, fmt.Sprintf("%s: %s", fset.Position(pos), fmt.Sprintf(format, args...)))
	}
	if tidy, err := format.Source(text); err == nil && !bytes.Equal(tidy, text) {
		fault(file.Package, "not as gofmt writes it; run gofmt -w %s", name)
	}
	for _, n := range h.never {
		if path.Base(dir) == n || strings.TrimSuffix(file.Name.Name, "_test") == n {
			fault(file.Name.Pos(), "a package called %s says nothing of what is in it; name it for that", n)
		}
	}
	test := strings.HasSuffix(name, "_test.go")
	r := h.room(dir)
	switch {
	case dir == ".":
		r = &room{name: "."}
		if !test && len(file.Decls) > 0 {
			fault(file.Decls[0].Pos(), "the root holds no code; put it in a room")
		}
	case r == nil:
		fault(file.Package, "room %s is not in house.txt", dir)
		return file.Name.Name, "", faults
	}

	names := map[string]string{} // what a package is called in this file, to its import path
	for _, spec := range file.Imports {
		p, _ := strconv.Unquote(spec.Path.Value)
		called := path.Base(p)
		if spec.Name != nil {
			called = spec.Name.Name
		}
		names[called] = p
		switch {
		case p == module || strings.HasPrefix(p, module+"/"):
			other := strings.TrimPrefix(p, module+"/")
			if !test && !slices.Contains(r.imports, other) {
				fault(spec.Pos(), "room %s may not import %s; see house.txt", dir, other)
			}
		case p == "C":
			fault(spec.Pos(), "no C in this house")
		case standard(p):
			if !test && slices.Contains(h.guard, p) && !slices.Contains(r.guarded, p) {
				fault(spec.Pos(), "room %s may not use %s; see house.txt", dir, p)
			}
			if called == "." {
				fault(spec.Pos(), "dot import of %s hides what is used", p)
			}
		default:
			if !within(p, r.modules) && !(test && within(p, h.tests)) {
				fault(spec.Pos(), "room %s may not use %s; see house.txt", dir, p)
			}
		}
	}
	if test || dir == "demo" {
		return file.Name.Name, file.Doc.Text(), faults
	}

	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			x, ok := n.X.(*ast.Ident)
			if !ok {
				return true
			}
			call := names[x.Name] + "." + n.Sel.Name
			if slices.Contains(h.guard, call) && !(slices.Contains(r.guarded, call) && slices.Contains(h.doors, dir)) {
				fault(n.Pos(), "%s outside a door that names it; pass the value in", call)
			}
		case *ast.Ident:
			for _, c := range h.classes {
				if slices.Contains(identWords(n.Name), strings.ToLower(c)) {
					fault(n.Pos(), "%s names the class %s; behaviour differs by record, never by name", n.Name, c)
				}
			}
		case *ast.BasicLit:
			if n.Kind != token.STRING {
				return true
			}
			s, _ := strconv.Unquote(n.Value)
			for _, c := range h.classes {
				if regexp.MustCompile(`(?i)\b` + c + `\b`).MatchString(s) {
					fault(n.Pos(), "text names the class %s; take it from a record, or from demo", c)
				}
			}
		}
		return true
	})
	return file.Name.Name, file.Doc.Text(), faults
}

// identWords cuts an identifier into its words, in lower case: loadHXTrain is load, hx, train.
func identWords(s string) []string {
	var out []string
	runes := []rune(s)
	begin := 0
	cut := func(end int) {
		if w := strings.Trim(string(runes[begin:end]), "_0123456789"); w != "" {
			out = append(out, strings.ToLower(w))
		}
		begin = end
	}
	for i := 1; i < len(runes); i++ {
		up, was := unicode.IsUpper(runes[i]), unicode.IsUpper(runes[i-1])
		last := i+1 < len(runes) && unicode.IsLower(runes[i+1])
		if runes[i] == '_' || unicode.IsDigit(runes[i]) != unicode.IsDigit(runes[i-1]) || up && (!was || last) {
			cut(i)
		}
	}
	cut(len(runes))
	return out
}

func read(t *testing.T) *house {
	t.Helper()
	text, err := os.ReadFile("house.txt")
	if err != nil {
		t.Fatal(err)
	}
	h, err := parse(string(text))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestHouse(t *testing.T) {
	h := read(t)
	comments := map[string][]string{} // by room, of its files that are not tests
	opened := map[string]string{}     // room to package name
	err := fs.WalkDir(os.DirFS("."), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		base := path.Base(name)
		if d.IsDir() {
			if name != "." && (base == "testdata" || base == "vendor" || base == "node_modules" || strings.HasPrefix(base, ".") || strings.HasPrefix(base, "_")) {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(base, ".go") {
			return nil
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		dir := path.Dir(name)
		pkg, comment, faults := h.examine(dir, name, text)
		for _, f := range faults {
			t.Error(f)
		}
		if !strings.HasSuffix(base, "_test.go") {
			opened[dir] = pkg
			comments[dir] = append(comments[dir], comment)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range append([]*room{{name: "."}}, h.rooms...) {
		pkg, open := opened[r.name]
		if !open {
			continue
		}
		begin := "Package " + pkg + " "
		if pkg == "main" {
			begin = "Command " + path.Base(r.name) + " "
		}
		if !slices.ContainsFunc(comments[r.name], func(c string) bool { return strings.HasPrefix(c, begin) }) {
			t.Errorf("room %s has no package comment that begins %q", r.name, begin)
		}
	}
}

// The guard is itself tried: each of these small files must be complained of.
func TestHouseNotices(t *testing.T) {
	h := read(t)
	for _, c := range []struct{ dir, file, text, want string }{
		{"air", "a.go", "package air\n\nimport _ \"headstock/fleet\"\n", "may not import fleet"},
		{"paper", "a.go", "package paper\n\nimport _ \"headstock/air\"\n", "may not import air"},
		{"trial", "a.go", "package trial\n\nimport _ \"os\"\n", "may not use os"},
		{"trial", "a.go", "package trial\n\nimport _ \"math/rand/v2\"\n", "may not use math/rand/v2"},
		{"trial", "a.go", "package trial\n\nimport clock \"time\"\n\nvar t = clock.Now()\n", "time.Now outside a door"},
		{"fleet", "a.go", "package fleet\n\nimport _ \"go.yaml.in/yaml/v4\"\n", "may not use go.yaml.in/yaml/v4"},
		{"fleet", "a_test.go", "package fleet\n\nimport _ \"example.org/x\"\n", "may not use example.org/x"},
		{"fleet", "a.go", "package fleet\n\nfunc isKite() {}\n", "names the class Kite"},
		{"fleet", "a.go", "package fleet\n\nfunc loadHXTrain() {}\n", "names the class HX"},
		{"fleet", "a.go", "package fleet\n\nconst s = \"Tern 3 lead\"\n", "names the class Tern"},
		{"fleet", "a.go", "package fleet\n\nconst s =  1\n", "not as gofmt"},
		{"fleet", "a.go", "package helpers\n", "says nothing of what is in it"},
		{"shared", "a.go", "package shared\n", "not in house.txt"},
		{"air/extra", "a.go", "package extra\n", "room air/extra is not in house.txt"},
		{".", "a.go", "package headstock\n\nconst s = 1\n", "the root holds no code"},
	} {
		_, _, faults := h.examine(c.dir, c.file, []byte(c.text))
		if !strings.Contains(strings.Join(faults, "\n"), c.want) {
			t.Errorf("%s in %s: got %q, want %q", c.text, c.dir, faults, c.want)
		}
	}
	for _, c := range []struct{ dir, file, text string }{
		{"consist", "a.go", "package consist\n\nimport (\n\t_ \"headstock/fleet\"\n\t_ \"strings\"\n)\n"},
		{"fleet", "a.go", "package fleet\n\nconst pattern = \"the lantern, a scooter\"\n"},
		{"fleet", "a_test.go", "package fleet\n\nimport _ \"pgregory.net/rapid\"\n\nconst s = \"Tern 3 lead\"\n"},
		{"cmd/headstock", "a.go", "package main\n\nimport \"time\"\n\nvar t = time.Now()\n"},
	} {
		if _, _, faults := h.examine(c.dir, c.file, []byte(c.text)); len(faults) > 0 {
			t.Errorf("%s in %s: %q, want nothing", c.text, c.dir, faults)
		}
	}
	for _, bad := range []string{"room a\n imports b\n holds x\nroom b\n holds x\n", "room a\n", "what is this\n", "room a\n holds x\n guarded os\n"} {
		if _, err := parse(bad); err == nil {
			t.Errorf("%q was read without complaint", bad)
		}
	}
}
