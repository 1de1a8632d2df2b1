package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func readme(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Every command stands in the table of the README, and shows an example.
func TestReadmeNamesEveryCommand(t *testing.T) {
	text := readme(t)
	var help bytes.Buffer
	if code := run([]string{"--help"}, &help, &help, false); code != 0 {
		t.Fatal(code)
	}
	// the commands stand under headings between how it is called and the flags
	_, list, _ := strings.Cut(help.String(), "[flags]\n")
	list, _, _ = strings.Cut(list, "\nFlags:\n")
	n := 0
	for _, m := range regexp.MustCompile(`(?m)^  ([a-z]\S*)`).FindAllStringSubmatch(list, -1) {
		if m[1] == "help" {
			continue
		}
		n++
		if !strings.Contains(text, "\n| `"+m[1]+"` | ") {
			t.Errorf("the table of the README lacks %s", m[1])
		}
		var own bytes.Buffer
		run([]string{m[1], "--help"}, &own, &own, false)
		if m[1] != "completion" && !strings.Contains(own.String(), "Examples:\n") {
			t.Errorf("%s shows no example", m[1])
		}
	}
	if n < 40 {
		t.Errorf("only %d commands", n)
	}
}

// The smallest railway of the README is read without a complaint, once it has the record
// that new writes.
func TestReadmeRailway(t *testing.T) {
	dir := t.TempDir()
	files := regexp.MustCompile(`(?m)^    # (my-railway/\S+)\n((?:    .+\n)+)`).FindAllStringSubmatch(readme(t), -1)
	if len(files) != 2 {
		t.Fatalf("%d files, want railway.yaml and units.yaml", len(files))
	}
	for _, f := range files {
		name := filepath.Join(dir, f[1])
		if err := os.MkdirAll(filepath.Join(filepath.Dir(name), "classes"), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(regexp.MustCompile(`(?m)^    `).ReplaceAllString(f[2], "")), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	home := filepath.Join(dir, "my-railway")
	for _, args := range [][]string{{"new", "Curlew", "--to", filepath.Join(home, "classes", "curlew.yaml")}, {"check", home}, {"list", "--fleet", home}} {
		var out bytes.Buffer
		if code := run(args, &out, &out, false); code != 0 {
			t.Errorf("%s: status %d\n%s", args, code, out.String())
		}
	}
}
