package web

import (
	"bytes"
	"encoding"
	"encoding/json"
	"flag"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"headstock/card"
	"headstock/demo"
)

var write = flag.Bool("write", false, "write openapi.json anew")

// valuesOf are the values that a question gives besides its documents.
func valuesOf(path string) any {
	switch path {
	case "card", "test", "why":
		return Answer{}
	case "coupling":
		return couplingValues{}
	case "judge":
		return Judgement{}
	case "if":
		return ifValues{}
	case "jumper":
		return jumperValues{}
	case "route":
		return routeValues{}
	case "fit":
		return fitValues{}
	case "crank":
		return crankValues{}
	case "search":
		return searchValues{}
	case "coverage":
		return coverageValues{}
	case "diagnose":
		return diagnosisValues{}
	case "matrix":
		return matrixValues{}
	case "load":
		return loadValues{}
	case "move-off":
		return moveOffValues{}
	case "pull":
		return pullValues{}
	case "journey":
		return journeyValues{}
	case "hold":
		return holdValues{}
	case "stop":
		return stopValues{}
	case "descend":
		return descendValues{}
	case "run-in":
		return runInValues{}
	}
	return nil
}

// shapes writes Go types as JSON Schema, in the order in which they are met.
type shapes struct{ named map[string]any }

func (s *shapes) of(t reflect.Type) map[string]any {
	marshaler, text := reflect.TypeFor[json.Marshaler](), reflect.TypeFor[encoding.TextMarshaler]()
	switch {
	case t.Implements(marshaler) || reflect.PointerTo(t).Implements(marshaler):
		return map[string]any{}
	case t.Implements(text) || reflect.PointerTo(t).Implements(text):
		return map[string]any{"type": "string"}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return map[string]any{"anyOf": []any{s.of(t.Elem()), map[string]any{"type": "null"}}}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return map[string]any{"type": "integer"}
	case reflect.Float64:
		return map[string]any{"type": "number"}
	case reflect.String:
		return map[string]any{"type": "string"}
	case reflect.Slice, reflect.Array:
		return map[string]any{"type": []any{"array", "null"}, "items": s.of(t.Elem())}
	case reflect.Map:
		return map[string]any{"type": []any{"object", "null"}, "additionalProperties": s.of(t.Elem())}
	case reflect.Struct:
		name := strings.ReplaceAll(strings.TrimPrefix(t.String(), "web."), ".", "-")
		ref := map[string]any{"$ref": "#/components/schemas/" + name}
		if _, ok := s.named[name]; ok {
			return ref
		}
		o := map[string]any{"type": "object", "additionalProperties": false}
		s.named[name] = o
		properties, required := map[string]any{}, []string{}
		s.fields(t, properties, &required)
		slices.Sort(required)
		o["properties"] = properties
		if len(required) > 0 {
			o["required"] = required
		}
		return ref
	}
	return map[string]any{}
}

func (s *shapes) fields(t reflect.Type, properties map[string]any, required *[]string) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, opts, _ := strings.Cut(f.Tag.Get("json"), ",")
		ft := f.Type
		if f.Anonymous && name == "" {
			for ft.Kind() == reflect.Pointer {
				ft = ft.Elem()
			}
			if ft.Kind() == reflect.Struct {
				s.fields(ft, properties, required)
				continue
			}
		}
		if name == "-" || !f.IsExported() {
			continue
		}
		if name == "" {
			name = f.Name
		}
		properties[name] = s.of(ft)
		if !strings.Contains(opts, "omitempty") && !strings.Contains(opts, "omitzero") {
			*required = append(*required, name)
		}
	}
}

// described is the description of the API, made of the questions and the types of their
// answers.
func described() []byte {
	s := &shapes{named: map[string]any{}}
	problemRef := s.of(reflect.TypeFor[problem]())
	documentRef := s.of(reflect.TypeFor[card.Document]())
	answered := func(schema any) map[string]any {
		return map[string]any{"application/json": map[string]any{"schema": schema}}
	}
	paths := map[string]any{
		"/healthz": map[string]any{"get": map[string]any{"operationId": "health", "summary": "whether it answers, and what it is", "responses": map[string]any{
			"200": map[string]any{"description": "it answers", "content": answered(s.of(reflect.TypeFor[healthValues]()))}}}},
		"/api/openapi.json": map[string]any{"get": map[string]any{"operationId": "openapi", "summary": "this description", "responses": map[string]any{
			"200": map[string]any{"description": "OpenAPI 3.1", "content": answered(map[string]any{"type": "object"})}}}},
	}
	for _, x := range questions() {
		properties := map[string]any{"caution": map[string]any{"type": "string"}, "documents": map[string]any{"type": "array", "items": documentRef}}
		if v := valuesOf(x.path); v != nil {
			properties["values"] = s.of(reflect.TypeOf(v))
		}
		reply := map[string]any{"type": "object", "additionalProperties": false, "required": []string{"caution", "documents"}, "properties": properties}
		var parameters []any
		for _, f := range append(slices.Clone(x.fields), field{name: "units", label: "metric or imperial; absent: as chosen in this browser, else metric"}) {
			schema := map[string]any{"type": "string"}
			if f.many {
				schema = map[string]any{"type": "array", "items": schema}
			}
			if f.kind == "class" || f.kind == "unit" || f.kind == "of" {
				f.hint = strings.TrimPrefix(f.hint+"; "+map[string]string{"class": "a class by its name", "unit": "a unit as class and number", "of": "a class, or a unit as class and number"}[f.kind], "; ")
			}
			says := f.label
			if f.hint != "" {
				says += ": " + f.hint
			}
			p := map[string]any{"name": f.name, "in": "query", "required": f.need, "description": says, "schema": schema}
			if f.many {
				p["style"], p["explode"] = "form", true
			}
			parameters = append(parameters, p)
		}
		responses := map[string]any{
			"200": map[string]any{"description": "the answer; where a record does not hold enough, a document that says so", "content": answered(reply)},
			"400": map[string]any{"description": "the question cannot be understood", "content": answered(problemRef)},
			"503": map[string]any{"description": "the runs take longer; ask again", "content": answered(problemRef)},
		}
		op := map[string]any{"operationId": x.path, "summary": x.says, "parameters": parameters, "responses": responses}
		methods := map[string]any{"get": op}
		if x.posts {
			form := map[string]any{}
			for _, f := range x.fields {
				form[f.name] = map[string]any{"type": "array", "items": map[string]any{"type": "string"}}
			}
			methods["post"] = map[string]any{"operationId": x.path + "-sent", "summary": x.says, "responses": responses,
				"requestBody": map[string]any{"required": true, "content": map[string]any{"application/x-www-form-urlencoded": map[string]any{"schema": map[string]any{"type": "object", "properties": form}}}}}
		}
		paths["/api/"+x.path] = methods
	}
	doc := map[string]any{
		"openapi":    "3.1.0",
		"info":       map[string]any{"title": "headstock", "version": "1", "description": "What the pages answer, as JSON. " + card.Caution},
		"paths":      paths,
		"components": map[string]any{"schemas": s.named},
	}
	b, err := json.MarshalIndent(doc, "", " ")
	if err != nil {
		panic(err)
	}
	return append(b, '\n')
}

// The description in the program is that of the program.
func TestOpenAPI(t *testing.T) {
	want := described()
	if *write {
		if err := os.WriteFile("openapi.json", want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := files.ReadFile("openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("openapi.json is stale: go test ./web -run OpenAPI -write")
	}
}

// apiSite is the demo railway on a fixed day.
func apiSite(t testing.TB) *Site {
	t.Helper()
	s, complaints := New(Config{Fleet: demo.Railway(), Saved: []string{pair}, Version: "test", AtOnce: 2, Search: 1, Results: Shared, Runner: "test", Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	if s == nil {
		t.Fatal(complaints)
	}
	t.Cleanup(s.Close)
	return s
}

// Shared keep what the tests of this package have searched.
var Shared = InMemory(256 << 20)

const (
	pair  = "Tern 3 lead, Kite 11 trail"
	small = "Brant 1 lead, HX 201 loaded" // searched in seconds
)
const hauling = "Tern 3 lead, Kite 11 trail, 6 HX loaded"

// everyQuestion is one asking of each.
func everyQuestion() map[string]url.Values {
	v := func(pairs ...string) url.Values {
		out := url.Values{}
		for i := 0; i+1 < len(pairs); i += 2 {
			out.Add(pairs[i], pairs[i+1])
		}
		return out
	}
	return map[string]url.Values{
		"coupling": v("consist", pair, "units", "imperial"), "card": v("consist", pair), "test": v("consist", pair), "why": v("consist", pair),
		"judge": v("consist", pair, "reading", "reduction; Kite 11; bogie-1-piston; in"),
		"if":    v("consist", pair, "device", "Kite 11.changeover"), "jumper": v("consist", pair), "route": v("consist", pair, "from", "Teal Junction", "to", "Quernhill"),
		"load": v("consist", hauling, "from", "Ruddle Loop", "to", "Quernhill", "within", "2000 m"), "move-off": v("consist", hauling, "grade", "1 in 45", "curve", "140 m"),
		"pull": v("consist", hauling), "journey": v("consist", hauling, "from", "Teal Junction", "to", "Quernhill", "units", "imperial"),
		"stop": v("consist", hauling, "speed", "50 km/h", "how", "emergency"), "descend": v("consist", hauling, "grade", "1 in 45", "length", "9 km"),
		"run-in": v("consist", hauling, "how", "emergency"), "profile": {},
		"hold":    v("consist", pair, "grade", "1 in 45"),
		"diagram": v("class", "Kite 11", "consist", pair, "step", "reduction"),
		"ask":     v("unit", "Kite 11", "about", "changeover"), "envelope": v("consist", pair, "number", "3"),
		"find": v("words", "cut-off tap"), "explain": v("class", "Kite 11", "device", "changeover"), "devices": v("class", "Kite"), "compare": v("class", "Kite", "other", "Tern"),
		"learn": v("class", "FG", "from", "HX"), "walk": v("class", "Kite 11"), "measure": v("unit", "Kite 11", "value", "bogie-1-piston; ; applied; 140 mm"),
		"fit": v("unit", "Tern 6", "price", "yes"), "steps": v("unit", "Kite 11"), "trips": v("unit", "Kite"), "crank": v("unit", "Kite 11"),
		"list": {}, "needs": v("class", "Tern"), "functions": {}, "log": {}, "drift": v("unit", "Tern 3"),
		"search": v("consist", small), "coverage": v("consist", small), "matrix": v("class", "Scoter"),
		"diagnose": v("consist", small, "saw", "reduction/HX 201.brake-piston=in"),
	}
}

// Every answer is as the description says, good and bad; and the description would notice.
func TestAnswersAsDescribed(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(described()))
	if err != nil {
		t.Fatal(err)
	}
	schemas := jsonschema.NewCompiler()
	if err := schemas.AddResource("openapi.json", doc); err != nil {
		t.Fatal(err)
	}
	schema := func(path, method, status string) *jsonschema.Schema {
		t.Helper()
		at := "openapi.json#/paths/" + strings.ReplaceAll(path, "/", "~1") + "/" + method + "/responses/" + status + "/content/application~1json/schema"
		x, err := schemas.Compile(at)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	srv := httptest.NewServer(apiSite(t).Handler())
	defer srv.Close()
	fetch := func(resp *http.Response, err error) (int, any) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		b, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
		if err != nil {
			t.Fatalf("%s: %v\n%.300s", resp.Request.URL, err, b)
		}
		return resp.StatusCode, v
	}
	asked := everyQuestion()
	for _, x := range questions() {
		v, ok := asked[x.path]
		if !ok {
			t.Errorf("%s is not asked here", x.path)
			continue
		}
		code, got := fetch(http.Get(srv.URL + "/api/" + x.path + "?" + v.Encode()))
		if code != 200 {
			t.Errorf("%s: status %d: %v", x.path, code, got)
			continue
		}
		at := schema("/api/"+x.path, "get", "200")
		if err := at.Validate(got); err != nil {
			t.Errorf("%s: %v", x.path, err)
		}
		m := got.(map[string]any)
		if m["caution"] != card.Caution {
			t.Errorf("%s carries no caution", x.path)
		}
		if _, has := m["values"]; has != (valuesOf(x.path) != nil) {
			t.Errorf("%s: values %v, described %v", x.path, has, !has)
		}
		m["more"] = "than described"
		if at.Validate(got) == nil {
			t.Errorf("%s: the description would let anything pass", x.path)
		}
		for _, f := range x.fields {
			if !f.need {
				continue
			}
			code, got := fetch(http.Get(srv.URL + "/api/" + x.path + "?" + f.name + "=%20"))
			if code != 400 {
				t.Errorf("%s without %s: status %d", x.path, f.name, code)
				continue
			}
			if err := schema("/api/"+x.path, "get", "400").Validate(got); err != nil {
				t.Errorf("%s: %v", x.path, err)
			}
		}
	}
	code, got := fetch(http.PostForm(srv.URL+"/api/judge", url.Values{"consist": {pair}, "reading": {"reduction; Kite 11; bogie-1-piston; out", "charge; Tern 3; brake-pipe-gauge; 500 kPa"}}))
	if code != 200 {
		t.Fatalf("judge: status %d: %v", code, got)
	}
	if err := schema("/api/judge", "post", "200").Validate(got); err != nil {
		t.Error(err)
	}
	code, got = fetch(http.Get(srv.URL + "/healthz"))
	if err := schema("/healthz", "get", "200").Validate(got); code != 200 || err != nil {
		t.Error(code, err)
	}
}
