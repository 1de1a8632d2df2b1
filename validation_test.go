package headstock_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"headstock/internal/outside"
	"headstock/source"
)

// held is a line and the test that holds it.
type held struct {
	outside.Line
	test string
}

// gather reads what the tests of all rooms hold against the outside.
func gather(t *testing.T) []held {
	t.Helper()
	var out []held
	err := filepath.WalkDir(".", func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".json" || filepath.Base(filepath.Dir(path)) != "outside" {
			return err
		}
		room := filepath.Dir(filepath.Dir(filepath.Dir(path)))
		name, _, _ := strings.Cut(strings.TrimSuffix(filepath.Base(path), ".json"), "-")
		files, _ := filepath.Glob(filepath.Join(room, "*_test.go"))
		there := false
		for _, f := range files {
			b, _ := os.ReadFile(f)
			there = there || strings.Contains(string(b), "func "+name+"(t *testing.T)")
		}
		if !there {
			t.Errorf("%s: no such test in %s", path, room)
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		var lines []outside.Line
		if err := json.Unmarshal(b, &lines); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		for _, l := range lines {
			out = append(out, held{l, filepath.ToSlash(room) + " " + name})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// counts says that a line is one of the outside values: computed, met, and of a
// publication that somebody read.
func (h held) counts() bool {
	r, ok := source.Lookup(h.Source)
	return ok && h.Kind == outside.Computed && h.Miss == "" && r.Standing <= source.CommonPractice && r.Key != "common practice"
}

func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }

func row(h held, by bool) string {
	unit := h.Unit
	if unit != "" {
		unit = " " + unit
	}
	tol := "none"
	if h.Tolerance != "0" {
		tol = "± " + h.Tolerance + unit
	}
	cells := []string{h.ID, h.What, h.Published + unit, h.Ours + unit, h.Off, tol, h.Why, h.test}
	if by {
		cells = append([]string{"`" + h.Source + "`"}, cells...)
	}
	for i := range cells {
		cells[i] = cell(cells[i])
	}
	return "| " + strings.Join(cells, " | ") + " |\n"
}

// validation words the lines.
func validation(lines []held) (text string, values, publications int) {
	var b strings.Builder
	groups := map[string][]held{}
	numbers, rooms := map[string]int{}, map[string]int{}
	statements := 0
	var misses, rest []held
	for _, h := range lines {
		switch {
		case h.Miss != "":
			misses = append(misses, h)
		case h.counts():
			groups[h.Source] = append(groups[h.Source], h)
			if h.Statement {
				statements++
				continue
			}
			room, _, _ := strings.Cut(h.test, " ")
			values++
			numbers[h.Source]++
			rooms[room]++
		default:
			rest = append(rest, h)
		}
	}
	publications = len(numbers)
	share := func(h held) int { n, _ := strconv.Atoi(h.Share); return n }
	worst := func(hs []held) held {
		return slices.MaxFunc(hs, func(a, b held) int { return share(a) - share(b) })
	}
	fmt.Fprintf(&b, "# What headstock is held against\n\n")
	fmt.Fprintf(&b, "Written by `make validation` from what the tests held; a test fails when it is stale. Do not edit.\n\n")
	fmt.Fprintf(&b, "**%d outside values from %d publications** are computed by headstock and met, and %d published statements that are true or not, from %d publications in all. ", values, publications, statements, len(groups))
	fmt.Fprintf(&b, "%d published figures are not met; %d more are held but prove nothing; both are listed below.\n\n", len(misses), len(rest))
	var of []string
	air := 0
	for _, r := range slices.Sorted(maps.Keys(rooms)) {
		of = append(of, fmt.Sprintf("`%s` %d", r, rooms[r]))
		if r == "trial" || r == "air" || strings.HasPrefix(r, "air/") {
			air += rooms[r]
		}
	}
	fmt.Fprintf(&b, "Of the values %d are of the air and %d of what is counted around it. By room: %s.\n\n", air, values-air, strings.Join(of, ", "))
	fmt.Fprintf(&b, "A value counts when headstock computed it and nothing was chosen to meet it. A limit that is only kept, a figure from memory, and a figure that the model was tuned to do not count. A source whose standing is common practice is a page that was read and is itself second hand. *Used* is the part of the tolerance that the worst deviation takes. A published band has its ends for tolerance, and whatever is allowed beyond them is said.\n\n")
	fmt.Fprintf(&b, "The figures are those of a test bench and of published equipment; none is a figure of a real machine on your railway. Advice only: local rules, the maker's instructions and licensed practice come first.\n\n")
	fmt.Fprintf(&b, "| publication | standing | values | statements | worst | published | ours | tolerance | used |\n|---|---|---|---|---|---|---|---|---|\n")
	var keys []string
	for _, k := range source.Keys() {
		if len(groups[k]) > 0 {
			keys = append(keys, k)
		}
	}
	for _, k := range keys {
		ref, _ := source.Lookup(k)
		w := worst(groups[k])
		unit := w.Unit
		if unit != "" {
			unit = " " + unit
		}
		tol, used := "none", "met exactly"
		if w.Tolerance != "0" {
			tol, used = "± "+w.Tolerance+unit, w.Share+" %"
		}
		fmt.Fprintf(&b, "| %s | %s | %d | %d | %s: %s | %s | %s | %s | %s |\n", cell(ref.Title), ref.Standing, numbers[k], len(groups[k])-numbers[k], w.ID, cell(w.What), w.Published+unit, w.Ours+unit, tol, used)
	}
	const head = "| row | what | published | ours | off | tolerance | reason of the tolerance | held by |\n|---|---|---|---|---|---|---|---|\n"
	if len(misses) > 0 {
		fmt.Fprintf(&b, "\n## Does not meet\n\nPublished figures that the model does not give. The tolerance is what it should keep, not what it would need.\n\n")
		for _, h := range misses {
			ref, _ := source.Lookup(h.Source)
			unit := h.Unit
			if unit != "" {
				unit = " " + unit
			}
			tol := ""
			if h.Tolerance != "0" {
				tol = ", ± " + h.Tolerance + unit + " (" + h.Why + ")"
			}
			fmt.Fprintf(&b, "- **%s, %s**: published %s%s, ours %s%s%s. %s (%s; %s)\n", h.ID, h.What, h.Published, unit, h.Ours, unit, tol, h.Miss, ref.Title, h.test)
		}
	}
	for _, k := range keys {
		ref, _ := source.Lookup(k)
		fmt.Fprintf(&b, "\n## %s\n\n%s. Standing: %s. Key `%s`.\n\n%s", ref.Title, ref.Where, ref.Standing, k, head)
		for _, h := range groups[k] {
			b.WriteString(row(h, false))
		}
	}
	if len(rest) > 0 {
		fmt.Fprintf(&b, "\n## Held, and no proof\n\n| why not counted | source | row | what | published | ours | off | tolerance | reason of the tolerance | held by |\n|---|---|---|---|---|---|---|---|---|---|\n")
		for _, h := range rest {
			why := string(h.Kind)
			if why == "" {
				ref, _ := source.Lookup(h.Source)
				why = "source: " + ref.Standing.String()
			}
			b.WriteString("| " + why + " " + row(h, true))
		}
	}
	return b.String(), values, publications
}

// VALIDATION.md says what the tests hold, and the goal is kept: 120 values that were
// computed, of 15 publications.
func TestValidation(t *testing.T) {
	lines := gather(t)
	text, values, publications := validation(lines)
	if outside.Writing() {
		if err := os.WriteFile("VALIDATION.md", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if b, err := os.ReadFile("VALIDATION.md"); err != nil || string(b) != text {
		t.Errorf("VALIDATION.md is stale (%v): make validation", err)
	}
	if values < 120 || publications < 15 {
		t.Errorf("%d outside values of %d publications, at least 120 of 15 asked", values, publications)
	}
	t.Logf("%d outside values of %d publications", values, publications)
	// A published test that holds nothing here is held by nobody. Those that hold statements
	// of the law as data are the exception.
	except := []string{"rule/fitness_published_test.go"}
	opens := regexp.MustCompile(`outside\.Open\(`)
	filepath.WalkDir(".", func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_published_test.go") {
			return err
		}
		b, err := os.ReadFile(path)
		if err == nil && !opens.Match(b) && !slices.Contains(except, filepath.ToSlash(path)) {
			t.Errorf("%s opens no book of outside", path)
		}
		return err
	})
}
