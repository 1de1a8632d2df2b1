// Command pack puts the program for the browser where the server embeds it: packed with
// brotli and with gzip, beside the start script of the Go release that built it.
//
//	pack [-release] [-build SUM] engine.wasm wasm_exec.js folder
//	pack -pare GOROOT stand-ins folder
//	pack -sum list
//
// A program that is packed already, by its sum, is left alone. With -release brotli takes
// a minute and packs as well as it can. With -pare it writes, before the program is
// built, the overlay with which it is built without what a browser has no use for; with -sum it says the sum of the files of a list,
// by which the server and the program are known to be of one build.
package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/andybalholm/brotli"

	"headstock/web/tablet"
)

func main() {
	release := flag.Bool("release", false, "pack as well as can be, which takes a minute")
	summing := flag.Bool("sum", false, "say the sum of the files that a list names")
	build := flag.String("build", "", "sum of the source that the program was built from")
	paring := flag.Bool("pare", false, "write the overlay with which the program is built")
	flag.Parse()
	if *paring && flag.NArg() == 3 {
		if err := pare(flag.Arg(0), flag.Arg(1), flag.Arg(2)); err != nil {
			// larger, and the same otherwise
			fmt.Fprintln(os.Stderr, "pack: the program for the browser is built whole:", err)
		}
		return
	}
	if *summing && flag.NArg() == 1 {
		text, err := sumOf(flag.Arg(0))
		if err != nil {
			fmt.Fprintln(os.Stderr, "pack:", err)
			os.Exit(2)
		}
		fmt.Println(text)
		return
	}
	if flag.NArg() != 3 {
		fmt.Fprintln(os.Stderr, "pack: expected the program, the start script and a folder")
		os.Exit(2)
	}
	if err := pack(flag.Arg(0), flag.Arg(1), flag.Arg(2), *build, *release, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "pack:", err)
		os.Exit(2)
	}
}

// How hard brotli tries; the window is large enough for the whole of the program.
const (
	usual  = 9
	hard   = 11
	window = 24
)

// sumOf is the sum of the files that a list names, one a line, in its order. What is built
// itself is no source.
func sumOf(list string) (string, error) {
	b, err := os.ReadFile(list)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	n := 0
	for _, name := range strings.Split(string(b), "\n") {
		if name = strings.TrimSpace(name); name == "" || filepath.Base(filepath.Dir(name)) == "built" {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(sum, "%s %d\n", filepath.Base(name), len(text))
		_, _ = sum.Write(text)
		n++
	}
	if n == 0 {
		return "", fmt.Errorf("%s names no files", list)
	}
	return hex.EncodeToString(sum.Sum(nil)[:6]), nil
}

func pack(engine, start, folder, build string, release bool, said io.Writer) error {
	raw, err := os.ReadFile(engine)
	if err != nil {
		return err
	}
	script, err := os.ReadFile(start)
	if err != nil {
		return err
	}
	quality, how := usual, "as usual"
	if release {
		quality, how = hard, "for release"
	}
	sum := sha256.Sum256(raw)
	note := fmt.Sprintf("%s brotli %d %s, build %s\n", hex.EncodeToString(sum[:]), quality, how, build)
	done := filepath.Join(folder, "packed")
	if was, err := os.ReadFile(done); err == nil && string(was) == note {
		if is, err := os.ReadFile(filepath.Join(folder, tablet.Start)); err == nil && bytes.Equal(is, script) {
			return nil
		}
	}
	var br, gz bytes.Buffer
	b := brotli.NewWriterOptions(&br, brotli.WriterOptions{Quality: quality, LGWin: window})
	z, err := gzip.NewWriterLevel(&gz, gzip.BestCompression)
	if err != nil {
		return err
	}
	for _, w := range []io.WriteCloser{b, z} {
		_, err := w.Write(raw)
		if err := errors.Join(err, w.Close()); err != nil {
			return err
		}
	}
	for _, f := range []struct {
		name string
		text []byte
	}{{tablet.Brotli, br.Bytes()}, {tablet.Gzip, gz.Bytes()}, {tablet.Start, script}, {tablet.Build, []byte(build + "\n")}, {"packed", []byte(note)}} {
		if err := os.WriteFile(filepath.Join(folder, f.name), f.text, 0o644); err != nil {
			return err
		}
	}
	fmt.Fprintf(said, "the program for the browser: %d bytes, %d by gzip, %d by brotli\n", len(raw), gz.Len(), br.Len())
	return nil
}
