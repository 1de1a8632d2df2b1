package fleet

import (
	"errors"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"
)

const signedClass = `# the record
class: Plover   # as spoken
kind: locomotive
source: invented
REVISION
title: a small engine   # after it
places:
  desk: {name: desk}
devices:
  tap: {function: main-reservoir-drain, name: Tap, kind: cock, place: desk, photo: tap.png}
`

func withRevisionOf(revision string) fstest.MapFS {
	png, err := os.ReadFile("testdata/tap.png")
	if err != nil {
		panic(err)
	}
	return fstest.MapFS{
		"railway.yaml": {Data: []byte("name: Test\n")}, "units.yaml": {Data: []byte("units: {}\n")},
		"classes/plover/class.yaml": {Data: []byte(strings.Replace(signedClass, "REVISION", revision, 1))},
		"classes/plover/tap.png":    {Data: png},
	}
}

func sign(t *testing.T, fsys fstest.MapFS, state, by string) error {
	t.Helper()
	file, text, cs, err := Sign(fsys, "Plover", Signature{state, by, "2026-03-01"})
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	if err == nil {
		fsys[file] = &fstest.MapFile{Data: text}
	}
	return err
}

func standing(t *testing.T, fsys fs.FS) string {
	t.Helper()
	f, cs := Read(fsys)
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	c, _ := f.Class("Plover")
	state, why := c.Standing()
	if c.Draft() != (state != "issued") {
		t.Error("draft and standing disagree")
	}
	return strings.TrimSpace(state + " " + why)
}

func TestSigning(t *testing.T) {
	fsys := withRevisionOf("revision: {state: draft, by: A. Writer}   # mine")
	refused := func(state, by, why string) {
		t.Helper()
		var r *Refused
		if err := sign(t, fsys, state, by); !errors.As(err, &r) || !strings.Contains(r.Why, why) {
			t.Errorf("%s by %s: %v, want %q", state, by, err, why)
		}
	}
	refused("issued", "B. Second", "nobody has checked it")
	refused("checked", "a.  writer ", "second person")
	refused("checked", " ", "nobody is named")
	if err := sign(t, fsys, "checked", "B. O'Second: the elder"); err != nil {
		t.Fatal(err)
	}
	if got := standing(t, fsys); got != "checked" {
		t.Error(got)
	}
	refused("issued", "A. Writer", "another person issues it")
	if err := sign(t, fsys, "issued", "C. Third"); err != nil {
		t.Fatal(err)
	}
	if got := standing(t, fsys); got != "issued" {
		t.Error(got)
	}
	refused("checked", "B. Second", "issued already")
	if err := sign(t, fsys, "signed", "B. Second"); err == nil || !strings.Contains(err.Error(), "no state") {
		t.Error(err)
	}
	// nothing but the revision has been touched
	text := string(fsys["classes/plover/class.yaml"].Data)
	f, _ := Read(fsys)
	c, _ := f.Class("Plover")
	want := "revision: {state: issued, by: A. Writer, checked by: 'B. O''Second: the elder', issued by: C. Third, date: 2026-03-01, content: " + c.Content + "}   # mine"
	if text != strings.Replace(signedClass, "REVISION", want, 1) {
		t.Error(text)
	}
	// remarks and spacing are no content; a word and a photograph are
	was := fsys["classes/plover/class.yaml"].Data
	fsys["classes/plover/class.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(text, "title: a small engine   # after it", "\n# another remark\ntitle:    a small engine", 1))}
	if got := standing(t, fsys); got != "issued" {
		t.Error(got)
	}
	fsys["classes/plover/class.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(text, "name: Tap", "name: Tapp", 1))}
	if got := standing(t, fsys); got != "draft changed since it was checked by B. O'Second: the elder" {
		t.Error(got)
	}
	refused("issued", "C. Third", "changed since it was checked")
	fsys["classes/plover/class.yaml"] = &fstest.MapFile{Data: was}
	png := append([]byte(nil), fsys["classes/plover/tap.png"].Data...)
	fsys["classes/plover/tap.png"] = &fstest.MapFile{Data: append(png, 0)}
	if got := standing(t, fsys); !strings.HasPrefix(got, "draft changed") {
		t.Error(got)
	}
	if err := sign(t, fsys, "checked", "B. Second"); err != nil {
		t.Error(err)
	}
	// taken back for work, by another writer
	if err := sign(t, fsys, "draft", "C. Third"); err != nil {
		t.Error(err)
	}
	refused("checked", "C. Third", "second person")
	if got := standing(t, fsys); got != "draft" {
		t.Error(got)
	}
}

// The revision is found however it is laid out, and what cannot be changed in place is
// refused.
func TestSigningLayouts(t *testing.T) {
	for _, c := range []struct{ in, out string }{
		{"revision:\n  state: draft # not yet\n  by: A. Writer\n# of the title", "revision: REV\n# not yet\n# of the title"},
		{"revision: {\n  state: draft,\n  by: 'A. # Writer'}\n", "revision: REV\n"},
		{"\"revision\": {state: draft, by: A. Writer}\n\n# next", "revision: REV\n\n# next"},
	} {
		fsys := withRevisionOf(c.in)
		if err := sign(t, fsys, "checked", "B. Second"); err != nil {
			t.Errorf("%q: %v", c.in, err)
			continue
		}
		text := string(fsys["classes/plover/class.yaml"].Data)
		for _, l := range strings.Split(text, "\n") {
			if strings.HasPrefix(l, "revision:") {
				text = strings.Replace(text, l, "revision: REV", 1)
			}
		}
		if want := strings.Replace(signedClass, "REVISION", c.out, 1); text != want {
			t.Errorf("%q gave\n%s\nwant\n%s", c.in, text, want)
		}
		if got := standing(t, fsys); got != "checked" {
			t.Error(got)
		}
	}
	fsys := withRevisionOf("")
	if err := sign(t, fsys, "checked", "B. Second"); err == nil || !strings.Contains(err.Error(), "who wrote it") {
		t.Error(err)
	}
	fsys["classes/plover/class.yaml"] = &fstest.MapFile{Data: []byte("{class: Plover, kind: wagon, source: invented, revision: {state: draft, by: A}}\n")}
	if err := sign(t, fsys, "checked", "B. Second"); err == nil || !strings.Contains(err.Error(), "line of its own") {
		t.Error(err)
	}
	fsys = withRevisionOf("revision: {state: draft, by: A}\r")
	if err := sign(t, fsys, "checked", "B. Second"); err != nil || strings.Count(string(fsys["classes/plover/class.yaml"].Data), "}\r\n") != 1 {
		t.Error(err)
	}
	// a railway with a fault is not signed
	fsys["units.yaml"] = &fstest.MapFile{Data: []byte("units: {Plovr: {1: {}}}\n")}
	if _, _, cs, err := Sign(fsys, "Plover", Signature{"checked", "B. Second", "2026-03-01"}); len(cs) != 1 || err != nil {
		t.Error(cs, err)
	}
}

// A record that somebody marked by hand stands as it says, and says that it is not sealed.
func TestUnsealed(t *testing.T) {
	got := standing(t, withRevisionOf("revision: {state: issued, by: A. Writer, checked by: B. Second}"))
	if !strings.HasPrefix(got, "issued not sealed") {
		t.Error(got)
	}
}

// Each word of a class file, changed by itself, makes another sum.
func TestContentCoversEveryWord(t *testing.T) {
	fsys := withRevisionOf("revision: {state: draft, by: A. Writer}")
	f, _ := Read(fsys)
	c, _ := f.Class("Plover")
	for _, x := range [][2]string{{"small", "large"}, {"{name: desk}", "{name: seat}"}, {"name: Tap", "name: Tip"}, {"kind: cock", "kind: tap"},
		{"kind: locomotive", "kind: wagon"}, {"  tap:", "  tip:"}, {"source: invented", "source: from memory"}} {
		g := withRevisionOf("")
		g["classes/plover/class.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(strings.Replace(signedClass, "REVISION\n", "", 1), x[0], x[1], 1))}
		h, _ := Read(g)
		if k, ok := h.Class("Plover"); !ok || k.Content == c.Content {
			t.Errorf("%q is not in the sum", x[0])
		}
	}
}

func TestSignKnowsDays(t *testing.T) {
	if _, _, _, err := Sign(withRevisionOf("revision: {state: draft, by: A}"), "Plover", Signature{"checked", "B", "2026-02-30"}); err == nil || !strings.Contains(err.Error(), "no date") {
		t.Error(err)
	}
}
