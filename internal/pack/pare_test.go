package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// overlay is what pare wrote into a folder.
func overlay(t *testing.T, folder string) map[string]string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(folder, "overlay.json"))
	if err != nil {
		t.Fatal(err)
	}
	var o struct{ Replace map[string]string }
	if err := json.Unmarshal(b, &o); err != nil || o.Replace == nil {
		t.Fatal(err, string(b))
	}
	return o.Replace
}

// Of this release one line is replaced and TLS left out; of one that is otherwise nothing
// is, and what was expected is said.
func TestPare(t *testing.T) {
	root := runtime.GOROOT()
	exec := filepath.Join(root, "src", "text", "template", "exec.go")
	was, err := os.ReadFile(exec)
	if err != nil {
		t.Skip("the source of this release is not here: ", err)
	}
	dir := t.TempDir()
	if err := pare(root, ".", dir); err != nil {
		t.Fatal(err)
	}
	o := overlay(t, dir)
	is, err := os.ReadFile(o[exec])
	if err != nil {
		t.Fatal(err)
	}
	before, after := strings.Split(string(was), "\n"), strings.Split(string(is), "\n")
	if len(before) != len(after) {
		t.Fatalf("%d lines became %d", len(before), len(after))
	}
	changed := 0
	for i := range before {
		if before[i] != after[i] {
			changed++
		}
	}
	if changed != 1 || strings.Contains(string(is), ".MethodByName(fieldName)") {
		t.Errorf("%d lines are changed", changed)
	}
	if at := o[filepath.Join(root, "src", "crypto", "tls", "conn.go")]; at != "" {
		t.Errorf("crypto/tls/conn.go is %q", at)
	}
	if at := o[filepath.Join(root, "src", "crypto", "tls", "tls.go")]; filepath.Base(filepath.Dir(at)) != "notls" {
		t.Errorf("crypto/tls/tls.go is %q", at)
	}

	other := t.TempDir()
	for name, text := range map[string]string{"text/template/exec.go": strings.Replace(string(was), lookUp, "\tif m, ok := find(ptr, fieldName); ok {\n", 1), "crypto/tls/tls.go": "package tls\n"} {
		p := filepath.Join(other, "src", filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := pare(other, ".", dir); err == nil || !strings.Contains(err.Error(), "expected the line") {
		t.Errorf("another release: %v", err)
	}
	if o := overlay(t, dir); len(o) != 0 {
		t.Errorf("another release is pared: %v", o)
	}
	if err := pare(filepath.Join(dir, "none"), ".", dir); err == nil || len(overlay(t, dir)) != 0 {
		t.Errorf("a release that is not there: %v", err)
	}
}
