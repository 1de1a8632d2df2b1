// Package tablet holds what a browser takes over so that pages answer with no signal: the
// program as WebAssembly with the script that starts it, as `make tablet` builds them into
// the folder built. Without that the folder holds a note only, and Files says so.
package tablet

import (
	"embed"
	"io/fs"
)

//go:embed all:built
var built embed.FS

// The files that Files gives.
const (
	Brotli = "engine.wasm.br"
	Gzip   = "engine.wasm.gz"
	Start  = "wasm_exec.js"
	Build  = "build" // sum of the source that the program was built from
)

// Files are the program for the browser and its start script; false where this program was
// built without them.
func Files() (fs.FS, bool) {
	sub, err := fs.Sub(built, "built")
	if err != nil {
		return nil, false
	}
	for _, name := range []string{Brotli, Gzip, Start} {
		if _, err := fs.Stat(sub, name); err != nil {
			return nil, false
		}
	}
	return sub, true
}
