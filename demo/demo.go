// Package demo embeds the invented railway that the demonstration, the examples and the
// help texts use, and nothing else. All of its data is invented.
package demo

import (
	"embed"
	"io/fs"
)

//go:embed all:railway examples.txt
var files embed.FS

// Railway is the folder of the invented railway.
func Railway() fs.FS {
	sub, err := fs.Sub(files, "railway")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return sub
}

// Examples are consists and changes used in help texts, one a line: "name: text".
func Examples() string {
	b, err := files.ReadFile("examples.txt")
	if err != nil {
		panic(err) // the file is embedded above
	}
	return string(b)
}
