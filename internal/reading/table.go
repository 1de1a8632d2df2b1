package reading

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// CodeTable is the code of a table file that cannot be cut into rows and cells.
const CodeTable = "table-syntax"

// Cell is one cell of a table with its place.
type Cell struct {
	Text string
	Pos  Pos
}

// Table reads a table file: comma-separated, or with semicolons or tabs where the head
// has those and no comma. Rows that are empty are left out. An apostrophe that keeps a
// spreadsheet from running a cell is taken off.
func Table(name string, data []byte) ([][]Cell, []Complaint) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		line := 1
		for rest := data; len(rest) > 0; {
			r, n := utf8.DecodeRune(rest)
			if r == utf8.RuneError && n <= 1 {
				break
			}
			if r == '\n' {
				line++
			}
			rest = rest[n:]
		}
		return nil, []Complaint{{Code: CodeTable, Pos: Pos{File: name, Line: line, Col: 1}, Message: "the table is not UTF-8 text", Expected: "a table saved as CSV in UTF-8"}}
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.Comma = separator(data)
	lines := bytes.Split(data, []byte("\n"))
	var rows [][]Cell
	for {
		fields, err := r.Read()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			pos, msg := Pos{File: name, Line: 1, Col: 1}, err.Error()
			var bad *csv.ParseError
			if errors.As(err, &bad) {
				pos.Line, pos.Col, msg = bad.Line, max(bad.Column, 1), bad.Err.Error()
			}
			return rows, []Complaint{{Code: CodeTable, Pos: pos, Message: "the table cannot be cut into cells: " + msg,
				Expected: "a cell that holds a quote, a comma or a line end to stand in quotes, with each quote in it doubled"}}
		}
		row := make([]Cell, len(fields))
		empty := true
		for i, text := range fields {
			line, col := r.FieldPos(i)
			row[i] = TableCell(text, Pos{File: name, Line: line, Col: characters(lines, line, col)})
			empty = empty && row[i].Text == ""
		}
		if !empty {
			rows = append(rows, row)
		}
	}
}

// TableCell is a cell with the text that was meant, without the spaces around it and the
// apostrophe before what a spreadsheet would run.
func TableCell(text string, pos Pos) Cell {
	text = strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n"))
	if t, ok := strings.CutPrefix(text, "'"); ok && t != "" && strings.ContainsRune("=+-@'＝＋－＠", []rune(strings.TrimLeft(t, " \u00a0") + " ")[0]) {
		text = t
	}
	return Cell{text, pos}
}

// characters turns a column in bytes into one in characters.
func characters(lines [][]byte, line, col int) int {
	if line < 1 || line > len(lines) {
		return col
	}
	l := lines[line-1]
	return utf8.RuneCount(l[:min(max(col-1, 0), len(l))]) + 1
}

// separator is what parts the cells of the first line that is no remark.
func separator(data []byte) rune {
	for _, l := range strings.Split(string(data), "\n") {
		if t := strings.TrimLeft(strings.TrimSpace(l), `"`); t == "" || t[0] == '#' {
			continue
		}
		switch {
		case strings.Contains(l, ","):
			return ','
		case strings.Contains(l, ";"):
			return ';'
		case strings.Contains(l, "\t"):
			return '\t'
		}
		break
	}
	return ','
}

// NewWord, NewList and NewMap make nodes for what was not written as YAML.
func NewWord(pos Pos, text string) *Node { return &Node{pos: pos, kind: Word, text: text} }

// NewList makes a list.
func NewList(pos Pos, items []*Node) *Node { return &Node{pos: pos, kind: List, list: items} }

// NewMap makes a map; a key that stands twice is a complaint, as in a file.
func NewMap(pos Pos, entries []Entry) (*Node, []Complaint) {
	n := &Node{pos: pos, kind: Map}
	var cs []Complaint
	for _, e := range entries {
		if n.Has(e.Key) {
			cs = append(cs, Complaint{Code: CodeDuplicateKey, Pos: e.KeyPos, Message: fmt.Sprintf("%q stands twice", e.Key), Expected: "each key once"})
			continue
		}
		n.entries = append(n.entries, e)
	}
	return n, cs
}
