package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// What the program for the browser does without, though the Go release brings it, is given
// to the go command as an overlay: files that are read in place of the release's own. Three
// things are worth it.
//
// text/template finds a method of its data by a name that is known only when it runs, so the
// linker keeps every exported method of every type that is met, most of all those of
// net/http and of what stands under it. No template of ours calls a method on its data: a
// test holds that, and a template that did would fail to execute, not say something else.
//
// net/http brings TLS and names in other scripts, which a browser does by itself.

// The line of text/template that looks the method up, and what stands there instead.
const (
	lookUp   = "\tif method := ptr.MethodByName(fieldName); method.IsValid() {\n"
	noLookUp = "\tif method := (reflect.Value{}); method.IsValid() {\n"
)

// pare writes into a folder the files of an overlay and the overlay itself, overlay.json.
// standIns is the folder of the packages that stand in for the release's. Where the release is
// another than this knows the overlay is empty, and the error says what was not found.
func pare(root, standIns, folder string) error {
	replace := map[string]string{}
	err := parings(root, standIns, folder, replace)
	if err != nil {
		clear(replace)
	}
	text, e := json.MarshalIndent(map[string]any{"Replace": replace}, "", " ")
	if e == nil {
		e = os.WriteFile(filepath.Join(folder, "overlay.json"), text, 0o644)
	}
	if e != nil {
		return e
	}
	return err
}

func parings(root, standIns, folder string, replace map[string]string) error {
	exec := filepath.Join(root, "src", "text", "template", "exec.go")
	b, err := os.ReadFile(exec)
	if err != nil {
		return err
	}
	if n := bytes.Count(b, []byte(lookUp)); n != 1 || bytes.Count(b, []byte("MethodByName(")) != 1 {
		return fmt.Errorf("%s looks a method up elsewhere than this program knows: expected the line %q once, found it %d times", exec, strings.TrimSpace(lookUp), n)
	}
	here, err := filepath.Abs(filepath.Join(folder, "exec.go"))
	if err != nil {
		return err
	}
	if err := os.WriteFile(here, bytes.Replace(b, []byte(lookUp), []byte(noLookUp), 1), 0o644); err != nil {
		return err
	}
	replace[exec] = here
	for name, by := range map[string]string{"crypto/tls": "notls/tls.go", "vendor/golang.org/x/net/idna": "noidna/idna.go"} {
		dir := filepath.Join(root, "src", filepath.FromSlash(name))
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			return err
		}
		if len(files) == 0 {
			return fmt.Errorf("there is no %s under %s", name, root)
		}
		for _, f := range files {
			replace[f] = "" // as if it were not there
		}
		own, err := filepath.Abs(filepath.Join(standIns, filepath.FromSlash(by)))
		if err != nil {
			return err
		}
		if _, err := os.Stat(own); err != nil {
			return err
		}
		replace[filepath.Join(dir, filepath.Base(own))] = own
	}
	return nil
}
