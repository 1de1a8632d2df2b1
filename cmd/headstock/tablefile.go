package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"headstock/internal/reading"
)

// fileAtMost is the most that a file of readings, curves or steps may hold, bytes.
const fileAtMost = 64 << 20

// readFile reads what the user named, and no more of it than makes sense.
func readFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, unreadable(err)
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return nil, bad("%q is a folder; expected a file", name)
	}
	b, err := io.ReadAll(io.LimitReader(f, fileAtMost+1))
	if err != nil {
		return nil, unreadable(err)
	}
	if len(b) > fileAtMost {
		return nil, bad("%q holds more than %d MB; expected a smaller file", name, fileAtMost>>20)
	}
	return b, nil
}

// at writes a place in a text as file:line:column, counted from one.
func at(name string, text []byte, offset int) string {
	before := text[:max(0, min(offset, len(text)))]
	return fmt.Sprintf("%s:%d:%d", name, 1+bytes.Count(before, []byte("\n")), len(before)-bytes.LastIndexByte(before, '\n'))
}

// table opens a table of a file: rows of cells, remarks from # on. A spreadsheet may have
// put a byte order mark before it, and semicolons between the columns.
func table(name string) (*csv.Reader, error) {
	b, err := readFile(name)
	if err != nil {
		return nil, err
	}
	b = bytes.TrimPrefix(b, []byte("\ufeff"))
	if !utf8.Valid(b) {
		i := 0
		for r, n := utf8.DecodeRune(b[i:]); r != utf8.RuneError || n > 1; r, n = utf8.DecodeRune(b[i:]) {
			i += n
		}
		return nil, bad("%s: the table is not UTF-8 text; expected a table saved as CSV in UTF-8", at(name, b, i))
	}
	r := csv.NewReader(bytes.NewReader(b))
	r.Comma, r.Comment, r.TrimLeadingSpace, r.FieldsPerRecord = separator(string(b)), '#', true, -1
	return r, nil
}

// uncut is the error of a table that cannot be cut into cells.
func uncut(name string, err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return unreadable(err)
	}
	return bad("%s:%d:%d: the table cannot be cut into cells: %v; expected a cell that holds a quote, a comma or a line end to stand in quotes, with each quote in it doubled", name, p.Line, p.Column, p.Err)
}

// separator is what stands between the names of the columns: a comma, or a semicolon as
// a spreadsheet writes it where the comma is the decimal mark.
func separator(text string) rune {
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		if strings.Contains(line, ";") && !strings.Contains(line, ",") {
			return ';'
		}
		break
	}
	return ','
}

// headed holds the first row of a table against the columns that it must have.
func headed(name string, r *csv.Reader, row []string, columns string) error {
	for i := range row {
		row[i] = strings.TrimSpace(row[i])
	}
	found := strings.Join(row, ",")
	if strings.EqualFold(found, columns) {
		return nil
	}
	line, col := r.FieldPos(0)
	want := strings.Split(columns, ",")
	for i, h := range row {
		if i >= len(want) || !strings.EqualFold(h, want[i]) {
			line, col = r.FieldPos(i)
			break
		}
	}
	return bad("%s:%d:%d: expected the columns %s, found %q", name, line, col, columns, reading.Short(found))
}

// readJSON reads one value from a file, with every key known; what is wrong is said with
// its place.
func readJSON(name string, v any) error {
	b, err := readFile(name)
	if err != nil {
		return err
	}
	if len(bytes.TrimSpace(b)) == 0 {
		return bad("%s:1:1: the file is empty; expected JSON, as headstock run --json prints it", name)
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	err = dec.Decode(v)
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case err == nil:
		if _, err := dec.Token(); err != io.EOF {
			return bad("%s: more follows; expected the end of the file", at(name, b, int(dec.InputOffset())))
		}
		return nil
	case errors.As(err, &syntax):
		return bad("%s: this is no JSON: %v; expected what headstock run --json prints", at(name, b, int(syntax.Offset)-1), syntax)
	case errors.As(err, &kind):
		return bad("%s: %s is a %s; expected %s", at(name, b, int(kind.Offset)-1), kind.Field, kind.Value, plainKind(kind.Type.Kind().String()))
	case errors.Is(err, io.ErrUnexpectedEOF):
		return bad("%s: the file ends in the middle; expected the rest of the JSON", at(name, b, len(b)))
	}
	if key, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		place := name
		if i := bytes.Index(b, []byte(key)); i >= 0 {
			place = at(name, b, i)
		}
		return bad("%s: no key %s is known here; expected those that headstock run --json prints", place, key)
	}
	return bad("%s: %v", at(name, b, int(dec.InputOffset())), err)
}

// plainKind is the kind of a value in plain words.
func plainKind(kind string) string {
	switch {
	case strings.HasPrefix(kind, "float"), strings.HasPrefix(kind, "int"), strings.HasPrefix(kind, "uint"):
		return "a number"
	case kind == "string":
		return "text in quotes"
	case kind == "bool":
		return "true or false"
	case kind == "slice":
		return "a list"
	}
	return "an object"
}
