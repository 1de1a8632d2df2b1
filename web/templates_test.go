package web

import (
	"fmt"
	"reflect"
	"strings"
	"testing"
	"text/template/parse"

	"headstock/logbook"
)

// pageOf is what each template is given.
func pageOf() map[string]any {
	return map[string]any{
		"home": homePage{}, "index": indexPage{}, "message": messagePage{}, "settings": settingsShown{}, "answer": answeredPage{},
		"card": setUpPage{}, "test": brakeTestPage{}, "unit": unitShown{}, "confirm": confirmPage{},
		"bench": benchShown{}, "tablet": tabletShown{}, "certificate": certificateShown{}, "benchstand": benchStand{},
		"search": wrongPage{}, "wrongpart": wrongPart{}, "steps": stepsPage{}, "diagnose": sawPage{}, "matrix": matrixShown{},
	}
}

// reader follows a template with the type of its dot, and notes every field that is not
// there. What a value's type does not tell is any.
type reader struct {
	trees  map[string]*parse.Tree
	funcs  map[string]any
	faults []string
	name   string
	depth  int
}

type scope map[string]reflect.Type

func (r *reader) list(l *parse.ListNode, dot reflect.Type, vars scope) {
	if l == nil {
		return
	}
	for _, n := range l.Nodes {
		switch n := n.(type) {
		case *parse.ActionNode:
			r.pipe(n.Pipe, dot, vars)
		case *parse.IfNode:
			inner := copied(vars)
			r.pipe(n.Pipe, dot, inner)
			r.list(n.List, dot, inner)
			r.list(n.ElseList, dot, inner)
		case *parse.WithNode:
			inner := copied(vars)
			r.list(n.List, r.pipe(n.Pipe, dot, inner), inner)
			r.list(n.ElseList, dot, inner)
		case *parse.RangeNode:
			inner := copied(vars)
			t := r.pipe(n.Pipe, dot, inner)
			var elem reflect.Type
			if t != nil && (t.Kind() == reflect.Slice || t.Kind() == reflect.Map) {
				elem = t.Elem()
			}
			if d := n.Pipe.Decl; len(d) > 0 {
				inner[d[len(d)-1].Ident[0]] = elem
				if len(d) == 2 {
					inner[d[0].Ident[0]] = reflect.TypeFor[int]()
				}
			}
			r.list(n.List, elem, inner)
			r.list(n.ElseList, dot, inner)
		case *parse.TemplateNode:
			var t reflect.Type
			if n.Pipe != nil {
				t = r.pipe(n.Pipe, dot, vars)
			}
			tree := r.trees[n.Name]
			if tree == nil {
				r.faults = append(r.faults, fmt.Sprintf("%s: no template %q", r.name, n.Name))
				continue
			}
			if r.depth++; r.depth < 12 {
				r.list(tree.Root, t, scope{"$": t})
			}
			r.depth--
		}
	}
}

func copied(v scope) scope {
	out := scope{}
	for k, t := range v {
		out[k] = t
	}
	return out
}

func (r *reader) pipe(p *parse.PipeNode, dot reflect.Type, vars scope) reflect.Type {
	var t reflect.Type
	for _, c := range p.Cmds {
		t = r.command(c, dot, vars)
	}
	for _, d := range p.Decl {
		vars[d.Ident[0]] = t
	}
	return t
}

func (r *reader) command(c *parse.CommandNode, dot reflect.Type, vars scope) reflect.Type {
	var first reflect.Type
	for i, a := range c.Args {
		if t := r.arg(a, dot, vars); i == 0 {
			first = t
		}
	}
	if id, ok := c.Args[0].(*parse.IdentifierNode); ok {
		if f, ok := r.funcs[id.Ident]; ok {
			return reflect.TypeOf(f).Out(0)
		}
		return nil
	}
	return first
}

func (r *reader) arg(a parse.Node, dot reflect.Type, vars scope) reflect.Type {
	switch a := a.(type) {
	case *parse.DotNode:
		return dot
	case *parse.FieldNode:
		return r.fields(dot, a.Ident)
	case *parse.VariableNode:
		t, ok := vars[a.Ident[0]]
		if !ok {
			r.faults = append(r.faults, fmt.Sprintf("%s: no variable %s", r.name, a.Ident[0]))
			return nil
		}
		return r.fields(t, a.Ident[1:])
	case *parse.PipeNode:
		return r.pipe(a, dot, copied(vars))
	}
	return nil
}

func (r *reader) fields(t reflect.Type, names []string) reflect.Type {
	for _, n := range names {
		if t == nil {
			return nil
		}
		// the program for the browser is built without a look-up of methods (internal/pack)
		if _, ok := reflect.PointerTo(t).MethodByName(n); ok {
			r.faults = append(r.faults, fmt.Sprintf("%s: %s of %s is a method; a template calls none, give the page a field", r.name, n, t))
			return nil
		}
		if t.Kind() == reflect.Interface {
			r.faults = append(r.faults, fmt.Sprintf("%s: %s is asked of %s, of which nothing tells whether it is a field", r.name, n, t))
			return nil
		}
		for t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			r.faults = append(r.faults, fmt.Sprintf("%s: %s has no %s", r.name, t, n))
			return nil
		}
		f, ok := t.FieldByName(n)
		if !ok {
			r.faults = append(r.faults, fmt.Sprintf("%s: %s has no field %s", r.name, t, n))
			return nil
		}
		t = f.Type
	}
	return t
}

// Every field that a template speaks of is there, in whatever branch; every template that
// takes a page is given one.
func TestTemplates(t *testing.T) {
	trees := map[string]*parse.Tree{}
	for _, x := range parsed().Templates() {
		if x.Tree != nil {
			trees[x.Name()] = x.Tree
		}
	}
	called := map[string]bool{"head": true, "foot": true, "field": true, "stand": true, "row": true, "choices": true, "wrong": true, "asking": true}
	for name := range trees {
		if _, ok := pageOf()[name]; !ok && !called[name] && !strings.HasSuffix(name, ".html") {
			t.Errorf("template %s is given no page here", name)
		}
	}
	for name, page := range pageOf() {
		r := &reader{trees: trees, funcs: functionsOfPages(), name: name}
		typ := reflect.TypeOf(page)
		if trees[name] == nil {
			t.Errorf("there is no template %s", name)
			continue
		}
		r.list(trees[name].Root, typ, scope{"$": typ})
		for _, f := range r.faults {
			t.Error(f)
		}
	}
	// the reader is itself tried
	bad, err := parse.Parse("bad", `{{range .Links}}{{if .Here}}{{.Nothing}}{{end}}{{end}}`, "", "", map[string]any{})
	if err != nil {
		t.Fatal(err)
	}
	r := &reader{trees: bad, name: "bad"}
	typ := reflect.TypeFor[messagePage]()
	r.list(bad["bad"].Root, typ, scope{"$": typ})
	if len(r.faults) != 1 || !strings.Contains(r.faults[0], "Nothing") {
		t.Errorf("a field that is not there is not noticed: %q", r.faults)
	}
	calls, err := parse.Parse("calls", `{{range .Entries}}{{.ID.String}}{{end}}`, "", "", map[string]any{})
	if err != nil {
		t.Fatal(err)
	}
	r = &reader{trees: calls, name: "calls"}
	typ = reflect.TypeFor[struct{ Entries []logbook.Entry }]()
	r.list(calls["calls"].Root, typ, scope{"$": typ})
	if len(r.faults) != 1 || !strings.Contains(r.faults[0], "is a method") {
		t.Errorf("a method that is called is not noticed: %q", r.faults)
	}
}
