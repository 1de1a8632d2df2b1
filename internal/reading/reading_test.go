package reading

import (
	"io/fs"
	"testing"
	"testing/fstest"
)

func TestParseKeepsOrderTextAndPlace(t *testing.T) {
	n, cs := Parse("a.yaml", []byte("b: no\na: {x: 1.0, y: [p, q]}\n"))
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	e := n.Entries()
	if e[0].Key != "b" || e[0].Value.Text() != "no" || e[0].Value.Kind() != Word || e[0].Value.Pos() != (Pos{File: "a.yaml", Line: 1, Col: 4}) {
		t.Errorf("%+v", e[0].Value)
	}
	if e[1].KeyPos.String() != "a.yaml:2:1" || e[1].Value.Get("x").Text() != "1.0" || len(e[1].Value.Get("y").List()) != 2 {
		t.Errorf("%+v", e[1].Value)
	}
	if n.Get("nothing").Get("at").Text() != "" || len(n.Get("nothing").Items()) != 0 {
		t.Error("a nil node answered")
	}
}

func TestTextWithCommasInBraces(t *testing.T) {
	n, cs := Parse("x", []byte("{a: lever up, plate reads TRAIL, two\n  lines, b: , c: d, e: [f], g}"))
	if len(cs) > 0 || n.Get("a").Text() != "lever up, plate reads TRAIL, two lines" || n.Get("b").Kind() != Nothing || n.Get("c").Text() != "d" || !n.Has("g") {
		t.Errorf("%v %q %v", cs, n.Get("a").Text(), n.Keys())
	}
}

func TestParseComplains(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "x:1:1: [empty-file] the file is empty"},
		{"# only a remark\n", "x:1:1: [empty-file] the file is empty"},
		{"a: 1\na: 2\n", `x:2:1: [duplicate-key] "a" stands twice in one map; expected each key once; see x:1:1`},
		{"a: 1\n---\nb: 2\n", "x:3:1: [several-documents] a second document begins here; expected one document a file"},
		{"a: &k 1\nb: *k\n", `x:2:4: [alias] alias "k"; expected the value itself`},
		{"a: !!int 1\n", `x:1:4: [tag] tag "!!int"; expected plain text; put a word in quotes to keep it as it is`},
		{"[a]: 1\n", "x:1:1: [key-not-a-word] the key of a map is not a word; expected a word before the colon"},
		{"a: 'b\n", "x:2:1: [yaml-syntax] a quote is opened in line 1 and never closed; expected a quote at the end of the text, too"},
		{"a: [1, 2\nb: 3\n", "x:2:2: [yaml-syntax] a bracket is opened in line 1 and not closed as it should be; expected a comma between entries and a closing bracket at the end"},
		{"class: x\n\tbad: tab\n", "x:2:1: [yaml-syntax] a tab stands where only spaces may; expected spaces, never a tab, before a key"},
		{"a: *y\n", "x:1:4: [yaml-syntax] a name stands after a star, and nothing has it; expected a text that begins with a sign to stand in quotes"},
		{"a: b: c\n", "x:1:5: [yaml-syntax] a colon stands where no key can be; expected text with a colon in it to stand in quotes, or the key on a line of its own"},
		{"a: \xff\n", "x:1:4: [yaml-syntax] the file is not UTF-8 text; expected text saved as UTF-8"},
	} {
		_, cs := Parse("x", []byte(c.text))
		if len(cs) == 0 || cs[0].String() != c.want {
			t.Errorf("%q: %v\nwant %s", c.text, cs, c.want)
		}
	}
	if _, cs := ParseFile(fstest.MapFS{}, "gone.yaml"); len(cs) != 1 || cs[0].Code != CodeUnreadable {
		t.Error(cs)
	}
}

func TestNearest(t *testing.T) {
	words := []string{"automatic-handle", "independent-handle", "brake-pipe-end-cock", "lead", "trail"}
	for in, want := range map[string]string{"automatic handle": "automatic-handle", "automatc-handle": "automatic-handle", "laed": "lead", "handle-automatic": "automatic-handle", "zebra": "", "": ""} {
		if got := Nearest(in, words); got != want {
			t.Errorf("nearest to %q is %q, want %q", in, got, want)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"a: 1", "a: {b: [c, d]}", "a: 1\na: 2", "---\n---\n", "\t", "a: *b", "? [x]\n: y", "- - - -", "!!binary x", "a: |\n  b"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		n, cs := Parse("x", data)
		if n == nil && len(cs) == 0 {
			t.Error("neither a node nor a complaint")
		}
		var walk func(*Node)
		walk = func(n *Node) {
			if n.Pos().Line < 1 || n.Pos().Col < 1 {
				t.Error("a node without a place")
			}
			for _, e := range n.Entries() {
				walk(e.Value)
			}
			for _, c := range n.List() {
				walk(c)
			}
		}
		if n != nil {
			walk(n)
		}
		for _, c := range cs {
			_ = c.String()
		}
	})
}

// What is no plain file, or is far larger than a record, is not read: it may have no end.
func TestFile(t *testing.T) {
	fsys := fstest.MapFS{
		"good.yaml":   {Data: []byte("a: 1\n")},
		"device.yaml": {Data: []byte("a: 1\n"), Mode: fs.ModeDevice},
		"pipe.yaml":   {Data: []byte("a: 1\n"), Mode: fs.ModeNamedPipe},
		"huge.yaml":   {Data: make([]byte, FileAtMost+1)},
	}
	if b, err := File(fsys, "good.yaml"); err != nil || len(b) != 5 {
		t.Errorf("a file: %q, %v", b, err)
	}
	for _, name := range []string{"device.yaml", "pipe.yaml", "huge.yaml"} {
		_, cs := ParseFile(fsys, name)
		if want := name + ": [unreadable-file] the file cannot be read; expected a plain file of at most 16 MB"; len(cs) != 1 || cs[0].String() != want {
			t.Errorf("%v\nwant %s", cs, want)
		}
	}
}
