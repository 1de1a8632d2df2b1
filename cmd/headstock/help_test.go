package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"headstock/card"
)

// everyCommand is each command as it is called, those of the logbook with it.
func everyCommand(t *testing.T) [][]string {
	t.Helper()
	var out [][]string
	for _, under := range [][]string{nil, {"log"}} {
		var b bytes.Buffer
		if code := run(append(under[:len(under):len(under)], "--help"), &b, &b, false); code != 0 {
			t.Fatal(code)
		}
		list, _, _ := strings.Cut(b.String(), "\nFlags:\n")
		_, list, _ = strings.Cut(list, "\nUsage:\n")
		for l := range strings.Lines(list) {
			if name, _, ok := strings.Cut(strings.TrimPrefix(l, "  "), "  "); ok && l[0] == ' ' && l[2] != ' ' && name != "headstock" && !strings.Contains(name, " ") {
				out = append(out, append(under[:len(under):len(under)], name))
			}
		}
	}
	if len(out) < 50 {
		t.Fatalf("only %d commands", len(out))
	}
	return out
}

// The help of every command keeps within a terminal, whatever its width, and ends with the
// caution.
func TestHelpFits(t *testing.T) {
	for _, c := range everyCommand(t) {
		var b bytes.Buffer
		if code := run(append(c[:len(c):len(c)], "--help"), &b, &b, false); code != 0 {
			t.Fatalf("%v: exit status %d", c, code)
		}
		for l := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(l, "\n")); n > proseWidth {
				t.Errorf("%v: %d columns: %s", c, n, l)
			}
		}
		if !strings.HasSuffix(b.String(), "\n"+wrapped(card.Caution, proseWidth)) {
			t.Errorf("%v: no caution at the end", c)
		}
		if n := strings.Count(strings.Join(strings.Fields(b.String()), " "), "Advice only:"); n != 1 {
			t.Errorf("%v: the caution stands %d times", c, n)
		}
		for _, word := range []string{"stringArray", "uint", "arg(s)"} {
			if strings.Contains(b.String(), word) {
				t.Errorf("%v: a programmer's word: %s", c, word)
			}
		}
	}
}

// A command that takes a number of words says plainly what it takes.
func TestPlainArgs(t *testing.T) {
	for _, args := range [][]string{{"steps", "a", "b", "c"}, {"compare", "Kite"}, {"needs"}, {"check", "a", "b"}, {"log", "close"}, {"list", "a", "b"}} {
		var out, errw bytes.Buffer
		if code := run(args, &out, &errw, false); code != 2 || !strings.Contains(errw.String(), "expected headstock "+args[0]) || strings.Contains(errw.String(), "arg") {
			t.Errorf("%v: exit status %d, %s", args, code, errw.String())
		}
	}
}

// broken is a place that can hold so much and then no more.
type broken struct{ left int }

func (b *broken) Write(p []byte) (int, error) {
	if len(p) > b.left {
		n := b.left
		b.left = 0
		return n, errors.New("no space left")
	}
	b.left -= len(p)
	return len(p), nil
}

// An answer that could not be written whole is no success, whoever wrote it.
func TestUnwritten(t *testing.T) {
	for _, args := range [][]string{{"check"}, {"help"}, {"card", "--help"}, {"explain", "quick-release"}, {"explain", "unknown-key"}, {"list"}, {"new", "Curlew"}, {"list", "--json"}} {
		var errw bytes.Buffer
		if code := run(args, &broken{10}, &errw, false); code != 2 || !strings.Contains(errw.String(), "no space left") {
			t.Errorf("%v: exit status %d, %q", args, code, errw.String())
		}
	}
}

// A file that cannot be put in place is told by its own name and leaves nothing behind;
// what is no plain file is not replaced; a link stays a link.
func TestWriteFilePlaces(t *testing.T) {
	dir := t.TempDir()
	if err := writeFile(dir, nil, 0o600); err == nil || !strings.Contains(err.Error(), `it is a folder`) {
		t.Errorf("a folder: %v", err)
	}
	missing := filepath.Join(dir, "none", "x.pdf")
	if err := writeFile(missing, nil, 0o600); err == nil || strings.Contains(err.Error(), ".x.pdf.") || !strings.Contains(err.Error(), "cannot write") {
		t.Errorf("a folder that is not there: %v", err)
	}
	if err := os.Symlink("real", filepath.Join(dir, "link")); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"old", "new"} {
		if err := os.WriteFile(filepath.Join(dir, "real"), []byte("was"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := writeFile(filepath.Join(dir, "link"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if b, _ := os.ReadFile(filepath.Join(dir, "real")); string(b) != text {
			t.Errorf("through a link: %q", b)
		}
	}
	if st, err := os.Lstat(filepath.Join(dir, "link")); err != nil || st.Mode()&os.ModeSymlink == 0 {
		t.Error("the link is no link any more")
	}
	if err := writeFile(os.DevNull, []byte("x"), 0o600); err != nil {
		t.Error(err)
	}
	if st, err := os.Stat(os.DevNull); err != nil || st.Mode().IsRegular() {
		t.Error("the device was replaced")
	}
	left, _ := os.ReadDir(dir)
	if len(left) != 2 {
		t.Errorf("left behind: %v", left)
	}
}
