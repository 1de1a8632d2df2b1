package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"

	"headstock/web/tablet"
)

// What is packed unpacks to what it was, both ways; a second time nothing is done.
func TestPack(t *testing.T) {
	dir := t.TempDir()
	raw := []byte(strings.Repeat("the same again and again ", 500))
	in := func(name string, text []byte) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, text, 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	engine, start, out := in("engine.wasm", raw), in("start.js", []byte("start")), filepath.Join(dir, "out")
	if err := os.Mkdir(out, 0o755); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	if err := pack(engine, start, out, "abc", false, &said); err != nil || said.Len() == 0 {
		t.Fatal(err, said.String())
	}
	for name, open := range map[string]func(io.Reader) (io.Reader, error){
		tablet.Brotli: func(r io.Reader) (io.Reader, error) { return brotli.NewReader(r), nil },
		tablet.Gzip:   func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) },
		tablet.Start:  nil,
	} {
		b, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Fatal(err)
		}
		want := []byte("start")
		if open != nil {
			want = raw
			r, err := open(bytes.NewReader(b))
			if err != nil {
				t.Fatal(err)
			}
			if b, err = io.ReadAll(r); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(b, want) {
			t.Errorf("%s is not what went in", name)
		}
	}
	said.Reset()
	if err := pack(engine, start, out, "abc", false, &said); err != nil || said.Len() > 0 {
		t.Errorf("packed again: %v %s", err, &said)
	}
	if err := pack(in("engine.wasm", raw[1:]), start, out, "abc", false, &said); err != nil || said.Len() == 0 {
		t.Errorf("another program is not packed: %v", err)
	}
}

// The sum is of what the files hold; what was built is left out, and a file that is not
// there is said.
func TestSum(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	a, b, built := write("a.go", "package a"), write("b.go", "package b"), write("built/x", "1")
	list := write("list", a+"\n"+b+"\n"+built+"\n")
	first, err := sumOf(list)
	if err != nil || len(first) != 12 {
		t.Fatal(first, err)
	}
	write("built/x", "2")
	if again, err := sumOf(list); err != nil || again != first {
		t.Errorf("what is built counts: %s and %s, %v", first, again, err)
	}
	write("b.go", "package B")
	if other, err := sumOf(list); err != nil || other == first {
		t.Errorf("another source has the same sum %s, %v", other, err)
	}
	for _, text := range []string{"", filepath.Join(dir, "none.go")} {
		if s, err := sumOf(write("list", text)); err == nil {
			t.Errorf("a list of %q has the sum %s", text, s)
		}
	}
}
