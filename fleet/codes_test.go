package fleet

import (
	"fmt"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/internal/reading"
)

var mark = regexp.MustCompile(`# COMPLAINT ([a-z0-9, -]+?)(?: ([a-z./]+\.[a-z]+))?$`)

// archive cuts a broken record into the files of a folder: "-- name --" begins each. A
// record without such a line is one class. What every folder needs is added.
func archive(text string) (fstest.MapFS, []string) {
	fsys := fstest.MapFS{}
	name := ""
	var preamble []string
	if !strings.HasPrefix(text, "-- ") && !strings.Contains(text, "\n-- ") {
		name = "classes/broken.yaml"
	}
	files := map[string]*strings.Builder{}
	for _, line := range strings.SplitAfter(text, "\n") {
		if n, ok := strings.CutPrefix(strings.TrimSpace(line), "-- "); ok && strings.HasSuffix(n, " --") {
			name = strings.TrimSuffix(n, " --")
			continue
		}
		if name == "" {
			preamble = append(preamble, strings.TrimSpace(line))
			continue
		}
		if files[name] == nil {
			files[name] = &strings.Builder{}
		}
		files[name].WriteString(line)
	}
	for n, b := range files {
		// "-- photo.jpg of 5000000 bytes --" is a file of that size
		if name, size, ok := strings.Cut(n, " of "); ok {
			var bytes int
			if _, err := fmt.Sscanf(size, "%d bytes", &bytes); err != nil {
				panic(err)
			}
			fsys[name] = &fstest.MapFile{Data: make([]byte, bytes)}
			continue
		}
		fsys[n] = &fstest.MapFile{Data: []byte(b.String())}
	}
	if len(preamble) == 0 {
		for n, text := range map[string]string{"railway.yaml": "name: Test\n", "units.yaml": "units: {}\n"} {
			if fsys[n] == nil {
				fsys[n] = &fstest.MapFile{Data: []byte(text)}
			}
		}
	}
	if !slices.ContainsFunc(slices.Collect(mapKeys(fsys)), func(n string) bool { return strings.HasPrefix(n, "classes/") }) {
		fsys["classes/broken.yaml"] = &fstest.MapFile{Data: []byte("class: Broken\nkind: locomotive\nsource: invented\n")}
	}
	if fsys["railway.yaml"] == nil {
		fsys["railway.yaml"] = &fstest.MapFile{Data: []byte("name: Test\n")}
	}
	return fsys, preamble
}

func mapKeys(m fstest.MapFS) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// expected are the marks of a folder, as "file:line code".
func expected(fsys fstest.MapFS, preamble []string) []string {
	var out []string
	for _, line := range preamble {
		if m := mark.FindStringSubmatch(line); m != nil {
			out = append(out, fmt.Sprintf("%s:0 %s", m[2], m[1]))
		}
	}
	for name, f := range fsys {
		for i, line := range strings.Split(string(f.Data), "\n") {
			if m := mark.FindStringSubmatch(line); m != nil {
				for _, code := range strings.Split(m[1], ", ") {
					out = append(out, fmt.Sprintf("%s:%d %s", name, i+1, code))
				}
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func TestEveryCodeHasABrokenRecord(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Codes() {
		if seen[c.Code] {
			t.Errorf("%s stands twice in the table", c.Code)
		}
		seen[c.Code] = true
		if c.Meaning == "" || c.Example == "" {
			t.Errorf("%s has no meaning or no example", c.Code)
		}
		t.Run(c.Code, func(t *testing.T) {
			data, err := os.ReadFile(path.Join("testdata/broken", c.Code+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			fsys, preamble := archive(string(data))
			want := expected(fsys, preamble)
			if !slices.ContainsFunc(want, func(w string) bool { return strings.HasSuffix(w, " "+c.Code) }) {
				t.Fatalf("no line is marked with %s", c.Code)
			}
			_, complaints := Read(fsys)
			var have []string
			for _, x := range complaints {
				have = append(have, fmt.Sprintf("%s:%d %s", x.Pos.File, x.Pos.Line, x.Code))
			}
			slices.Sort(have)
			have = slices.Compact(have)
			if !slices.Equal(have, want) {
				t.Errorf("complaints %q\nmarked %q", complaints, want)
			}
		})
	}
	if len(Codes()) < 50 {
		t.Errorf("only %d codes", len(Codes()))
	}
	entries, err := os.ReadDir("testdata/broken")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !seen[strings.TrimSuffix(e.Name(), ".yaml")] {
			t.Errorf("%s is of no code", e.Name())
		}
	}
}

func TestNoComplaintWithoutACode(t *testing.T) {
	for _, c := range []string{reading.CodeUnreadable, reading.CodeSyntax, reading.CodeDocuments, reading.CodeEmpty, reading.CodeDuplicateKey, reading.CodeAlias, reading.CodeTag, reading.CodeKey, reading.CodeDepth} {
		if _, ok := Explain(c); !ok {
			t.Errorf("%s is not explained", c)
		}
	}
}

// Every constant of codes.go stands in the table.
func TestEveryConstantIsInTheTable(t *testing.T) {
	src, err := os.ReadFile("codes.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`(?m)^\tCode\w+\s*= "([^"]+)"`).FindAllStringSubmatch(string(src), -1) {
		if _, ok := Explain(m[1]); !ok {
			t.Errorf("%s is not in the table", m[1])
		}
	}
}
