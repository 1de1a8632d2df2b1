package fleet

import (
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"
)

// A file of a class that cannot be read is one complaint: what it may have held is not
// asked for beside it.
func TestUnreadFileComplainsOnce(t *testing.T) {
	base := map[string]string{
		"railway.yaml": "name: R\nsource: invented\n",
		"units.yaml":   "source: invented\nunits:\n  Rig:\n    1: {}\n",
		"classes/rig/devices.yaml": "class: Rig\nsource: invented\nplaces:\n  desk: {name: desk, x: 1 m, side: centre, level: cab}\n" +
			"devices:\n  handle: {function: automatic-handle, name: Handle, kind: handle, system: brake, cab: 1, place: desk}\n",
	}
	for name, file := range map[string]*fstest.MapFile{
		"a tab":    {Data: []byte("class: Rig\n\tcabs: 1\n")},
		"empty":    {Data: nil},
		"a word":   {Data: []byte("rig\n")},
		"a device": {Mode: fs.ModeDevice},
		"huge":     {Data: make([]byte, 17<<20)},
		"no text":  {Data: []byte{0xff, 0xfe, 0}},
	} {
		fsys := fstest.MapFS{"classes/rig/class.yaml": file}
		for n, text := range base {
			fsys[n] = &fstest.MapFile{Data: []byte(text)}
		}
		_, cs := Read(fsys)
		if len(cs) != 1 || cs[0].Pos.File != "classes/rig/class.yaml" {
			t.Errorf("%s: %v", name, cs)
		}
	}
}

// A device without an end is not read.
func TestEndlessFileIsNotRead(t *testing.T) {
	if _, err := os.Stat("/dev/null"); err != nil {
		t.Skip("no devices here")
	}
	dir := t.TempDir()
	if err := os.Mkdir(dir+"/classes", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/zero", dir+"/classes/rig.yaml"); err != nil {
		t.Skip(err)
	}
	_, cs := Read(os.DirFS(dir))
	found := false
	for _, c := range cs {
		found = found || strings.Contains(c.String(), "classes/rig.yaml: [unreadable-file]")
	}
	if !found {
		t.Error(cs)
	}
}
