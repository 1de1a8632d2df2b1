package fleet

import (
	"encoding/json"
	"flag"
	"os"
	"testing"
)

var write = flag.Bool("write", false, "write class.schema.json anew")

// The schema file is for editors; it is made from the reader's own tables.
func TestSchemaFileMatchesTheTables(t *testing.T) {
	if *write {
		if err := os.WriteFile("class.schema.json", Schema(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile("class.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != string(Schema()) {
		t.Error("class.schema.json is stale: go test ./fleet -run Schema -write")
	}
}

func TestSchemaKnowsEveryWordOfTheTables(t *testing.T) {
	var s map[string]any
	if err := json.Unmarshal(Schema(), &s); err != nil {
		t.Fatal(err)
	}
	properties := func(path ...string) map[string]any {
		at := s
		for _, p := range path {
			at, _ = at[p].(map[string]any)
		}
		return at
	}
	top := properties("properties")
	devices := properties("properties", "devices", "additionalProperties", "properties")
	air := properties("properties", "air", "additionalProperties", "properties")
	for _, k := range topKeys() {
		if _, ok := top[k.Name]; !ok {
			t.Errorf("no %s", k.Name)
		}
	}
	for _, k := range deviceKeys() {
		if _, ok := devices[k.Name]; !ok {
			t.Errorf("no device key %s", k.Name)
		}
	}
	for _, k := range Kinds() {
		if _, ok := air[k.Name]; !ok {
			t.Errorf("no element %s", k.Name)
		}
	}
}
