package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"headstock/fleet"
)

// step is one block of the guide: a file to write, or commands with what they print.
type step struct {
	line int
	lang string
	text string
}

func stepsOf(t *testing.T, guide string) []step {
	t.Helper()
	var out []step
	var open *step
	for i, l := range strings.SplitAfter(guide, "\n") {
		switch {
		case strings.HasPrefix(l, "```") && open == nil:
			open = &step{line: i + 1, lang: strings.TrimSpace(strings.TrimPrefix(l, "```"))}
		case strings.HasPrefix(l, "```"):
			out, open = append(out, *open), nil
		case open != nil:
			open.text += l
		}
	}
	if open != nil {
		t.Fatalf("the block at line %d is not closed", open.line)
	}
	return out
}

// shellWords cuts a command line at spaces outside single quotes.
func shellWords(s string) []string {
	var out []string
	for _, m := range regexp.MustCompile(`'([^']*)'|(\S+)`).FindAllStringSubmatch(s, -1) {
		out = append(out, m[1]+m[2])
	}
	return out
}

// prints reports whether an output is what the guide shows; … on a line of its own stands
// for any lines, and at the end of a line for the rest of it.
func prints(shown, got string) bool {
	var pattern strings.Builder
	pattern.WriteString(`\A`)
	for _, l := range strings.Split(strings.TrimRight(shown, "\n"), "\n") {
		if l == "…" {
			pattern.WriteString(`(?:.*\n)*?`)
			continue
		}
		head, rest := strings.CutSuffix(l, "…")
		pattern.WriteString(regexp.QuoteMeta(head))
		if rest {
			pattern.WriteString(`.*`)
		}
		pattern.WriteString(`\n`)
	}
	pattern.WriteString(`\z`)
	return regexp.MustCompile(pattern.String()).MatchString(strings.TrimRight(got, "\n") + "\n")
}

// The guide for newcomers is followed to the letter, from an empty folder.
func TestGuide(t *testing.T) {
	guide, err := os.ReadFile("../../docs/first-record.md")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	reached, commands := 0, 0
	for _, s := range stepsOf(t, string(guide)) {
		switch s.lang {
		case "yaml", "csv":
			first, _, _ := strings.Cut(s.text, "\n")
			name, ok := strings.CutPrefix(first, "# ")
			if !ok || !strings.HasPrefix(name, "mine/") {
				t.Fatalf("line %d: the block does not begin with the name of its file", s.line)
			}
			if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(name, []byte(s.text), 0o644); err != nil {
				t.Fatal(err)
			}
		case "console":
			for _, c := range strings.Split("\n"+s.text, "\n$ ")[1:] {
				line, shown, _ := strings.Cut(c, "\n")
				words := shellWords(line)
				if words[0] != "headstock" {
					t.Fatalf("line %d: %q is no command of ours", s.line, line)
				}
				var got bytes.Buffer
				run(words[1:], &got, &got, false)
				commands++
				if !prints(shown, got.String()) {
					t.Errorf("line %d: %s printed\n%s\nthe guide shows\n%s", s.line, line, got.String(), shown)
				}
			}
		default:
			t.Errorf("line %d: a block of the kind %q", s.line, s.lang)
		}
		if f, cs := fleet.Read(os.DirFS("mine")); len(cs) == 0 {
			if c, ok := f.Class("Dabchick"); ok {
				level, _ := c.Level()
				reached = max(reached, level)
			}
		}
	}
	if reached != 3 || commands < 10 {
		t.Errorf("the guide reaches level %d with %d commands; it promises level 3", reached, commands)
	}
	if data, err := os.ReadFile("dabchick.pdf"); err != nil || !bytes.HasPrefix(data, []byte("%PDF-")) {
		t.Errorf("dabchick.pdf: %v", err)
	}
}
