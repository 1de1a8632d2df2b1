package fleet

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"headstock/internal/reading"
)

// The devices of a class may stand in a table beside its YAML files, one row a device:
// devices.csv, or devices.xlsx where the door can read workbooks. The columns are the
// keys of a device and its id. A cell that holds several things has one on each line, or
// parts them with a semicolon:
//
//	also called     cut-off tap; red tap
//	who             look: anyone; work: driver
//	tries           times: 2; apart: 30 s; never: with people near
//	positions       open: handle along the pipe
//	                closed: handle across | means: cut off | sets: 0 kPa
//
// A semicolon, bar or colon that is part of a text is doubled where it would part. A row
// or a column whose head begins with # is a remark.

const (
	tableCSV      = "devices.csv"
	tableWorkbook = "devices.xlsx"
	columnID      = "id"
)

// Workbooks is what a folder can do besides opening files when its door reads workbooks:
// give the rows of the table that a workbook holds, from its first row, and the name of
// the sheet.
type Workbooks interface {
	Workbook(name string) (sheet string, rows [][]string, err error)
}

// isTable says whether a file of a class folder is a table, and complains of one that
// looks like a table and would not be read.
func (r *reader) isTable(name string) bool {
	base := path.Base(name)
	if strings.HasPrefix(base, ".") || strings.HasPrefix(base, "~$") {
		return false
	}
	switch base {
	case tableCSV, tableWorkbook:
		return true
	}
	switch strings.ToLower(path.Ext(base)) {
	case ".csv", ".tsv", ".xlsx", ".xlsm", ".xls", ".ods":
		near := tableWorkbook
		if strings.HasSuffix(strings.ToLower(base), "sv") {
			near = tableCSV
		}
		r.complain(CodeTableName, reading.Pos{File: name}, fmt.Sprintf("the table %q is not read", base), "one table of devices, "+tableCSV+" or "+tableWorkbook, near)
	}
	return false
}

// tableRows are the cells of a table file.
func (r *reader) tableRows(name string) [][]reading.Cell {
	if path.Base(name) == tableWorkbook {
		w, ok := r.fsys.(Workbooks)
		if !ok {
			r.complain(CodeWorkbook, reading.Pos{File: name}, "workbooks cannot be read here", "the table saved as "+tableCSV, "")
			return nil
		}
		sheet, rows, err := w.Workbook(name)
		if err != nil {
			r.complain(reading.CodeUnreadable, reading.Pos{File: name}, "the workbook cannot be read: "+err.Error(), "", "")
			return nil
		}
		var out [][]reading.Cell
		for i, row := range rows {
			var cells []reading.Cell
			empty := true
			for k, text := range row {
				c := reading.TableCell(text, reading.Pos{File: name, Line: i + 1, Col: k + 1, Sheet: sheet})
				cells = append(cells, c)
				empty = empty && c.Text == ""
			}
			if !empty {
				out = append(out, cells)
			}
		}
		return out
	}
	data, err := reading.File(r.fsys, name)
	if err != nil {
		r.complaints = append(r.complaints, reading.Unreadable(name, err))
		return nil
	}
	rows, cs := reading.Table(name, data)
	r.complaints = append(r.complaints, cs...)
	return rows
}

// deviceTable makes of a table what the same devices written as YAML would have been.
func (r *reader) deviceTable(name string) *reading.Node {
	rows := slices.DeleteFunc(r.tableRows(name), func(row []reading.Cell) bool { return strings.HasPrefix(row[0].Text, "#") })
	top := reading.Pos{File: name, Line: 1, Col: 1}
	if len(rows) == 0 {
		return nil
	}
	head := r.tableHead(rows[0])
	if !slices.ContainsFunc(head, func(k *KeySpec) bool { return k != nil && k.Name == columnID }) {
		r.complain(CodeTableHead, rows[0][0].Pos, fmt.Sprintf("the table has no column %q", columnID), "a first row with the column id and the keys of a device: "+strings.Join(keyNames(deviceKeys()), ", "), reading.Nearest(columnID, texts(rows[0])))
		return nil
	}
	var devices []reading.Entry
	for _, row := range rows[1:] {
		var entries []reading.Entry
		var id reading.Cell
		for i, c := range row {
			if c.Text == "" {
				continue
			}
			if i >= len(head) {
				r.complain(CodeTableRow, c.Pos, fmt.Sprintf("%q stands in a column without a head", c.Text), "no more cells in a row than the first row has", "")
				continue
			}
			switch k := head[i]; {
			case k == nil:
			case k.Name == columnID:
				id = c
			default:
				if v := r.cell(*k, c); v != nil {
					entries = append(entries, reading.Entry{Key: k.Name, KeyPos: c.Pos, Value: v})
				}
			}
		}
		if id.Text == "" {
			if len(entries) > 0 {
				r.complain(CodeTableRow, row[0].Pos, "a row has no id", "the id of the device in the column id", "")
			}
			continue
		}
		m, _ := reading.NewMap(id.Pos, entries)
		devices = append(devices, reading.Entry{Key: id.Text, KeyPos: id.Pos, Value: m})
	}
	all, cs := reading.NewMap(top, devices)
	r.complaints = append(r.complaints, cs...)
	root, _ := reading.NewMap(top, []reading.Entry{{Key: "devices", KeyPos: top, Value: all}})
	return root
}

// tableHead are the keys of the columns; nil for a column that is not read.
func (r *reader) tableHead(row []reading.Cell) []*KeySpec {
	specs := append([]KeySpec{{Name: columnID}}, deviceKeys()...)
	head := make([]*KeySpec, len(row))
	for i, c := range row {
		title := strings.ToLower(strings.Join(strings.Fields(c.Text), " "))
		if title == "" || title[0] == '#' {
			continue
		}
		k := slices.IndexFunc(specs, func(k KeySpec) bool { return k.Name == title })
		switch {
		case k < 0:
			r.complain(CodeUnknownKey, c.Pos, fmt.Sprintf("a device has no key %q", c.Text), "one of "+strings.Join(keyNames(specs), ", "), reading.Nearest(title, keyNames(specs)))
		case slices.Contains(head, &specs[k]):
			r.complain(reading.CodeDuplicateKey, c.Pos, fmt.Sprintf("the column %q stands twice", title), "each column once", "")
		default:
			head[i] = &specs[k]
		}
	}
	return head
}

func keyNames(specs []KeySpec) []string {
	var out []string
	for _, k := range specs {
		out = append(out, k.Name)
	}
	return out
}

func texts(row []reading.Cell) []string {
	var out []string
	for _, c := range row {
		out = append(out, c.Text)
	}
	return out
}

// cell makes a node of a cell, in the form that its key has in YAML.
func (r *reader) cell(k KeySpec, c reading.Cell) *reading.Node {
	switch k.Form {
	case FormTexts, FormIDs:
		var items []*reading.Node
		for _, p := range cutCell(c) {
			items = append(items, reading.NewWord(p.Pos, p.Text))
		}
		if len(items) == 1 {
			return items[0]
		}
		return reading.NewList(c.Pos, items)
	case FormFacts, FormMap, FormCatalog:
		var entries []reading.Entry
		for _, p := range cutCell(c) {
			name, value, ok := cutColon(p.Text)
			if !ok && k.Form != FormCatalog {
				r.complain(CodeTableCell, p.Pos, fmt.Sprintf("%q in the column %q has no colon", p.Text, k.Name), "a name, a colon and a text: look: anyone; work: driver", "")
				continue
			}
			e := reading.Entry{Key: name, KeyPos: p.Pos, Value: reading.NewWord(p.Pos, value)}
			if k.Form == FormCatalog {
				e.Value = r.positionCell(p.Pos, name, value)
			}
			entries = append(entries, e)
		}
		m, cs := reading.NewMap(c.Pos, entries)
		r.complaints = append(r.complaints, cs...)
		return m
	}
	return reading.NewWord(c.Pos, c.Text)
}

// positionCell reads what follows a position's name: its look, then the rest by name.
func (r *reader) positionCell(pos reading.Pos, id, text string) *reading.Node {
	parts := cut(text, func(c rune) bool { return c == '|' }, '|')
	looks := strings.TrimSpace(parts[0])
	if len(parts) == 1 {
		if looks == "" {
			return nil
		}
		return reading.NewWord(pos, looks)
	}
	var entries []reading.Entry
	if looks != "" {
		entries = append(entries, reading.Entry{Key: "looks", KeyPos: pos, Value: reading.NewWord(pos, looks)})
	}
	for _, p := range parts[1:] {
		key, value, ok := cutColon(strings.TrimSpace(p))
		if !ok {
			r.complain(CodeTableCell, pos, fmt.Sprintf("%q of position %q has no colon", strings.TrimSpace(p), id), "open: how it looks | means: what it means | sets: 0 kPa", reading.Nearest(key, keyNames(positionKeys())))
			continue
		}
		entries = append(entries, reading.Entry{Key: key, KeyPos: pos, Value: reading.NewWord(pos, value)})
	}
	m, cs := reading.NewMap(pos, entries)
	r.complaints = append(r.complaints, cs...)
	return m
}

// cutCell cuts a cell at its lines and single semicolons. In a text file the lines of a
// cell are lines of the file.
func cutCell(c reading.Cell) []reading.Cell {
	var out []reading.Cell
	for i, line := range strings.Split(c.Text, "\n") {
		pos := c.Pos
		if pos.Sheet == "" && i > 0 {
			pos.Line, pos.Col = pos.Line+i, 1
		}
		for _, t := range cut(line, func(r rune) bool { return r == ';' }, ';') {
			if t = strings.TrimSpace(t); t != "" {
				out = append(out, reading.Cell{Text: t, Pos: pos})
			}
		}
	}
	return out
}

// cut cuts a text at every single separator; a doubled one is one of the text.
func cut(s string, at func(rune) bool, double rune) []string {
	var out []string
	var b strings.Builder
	runes := []rune(s)
	for i := 0; i < len(runes); i++ {
		switch {
		case runes[i] == double && i+1 < len(runes) && runes[i+1] == double:
			b.WriteRune(double)
			i++
		case at(runes[i]):
			out = append(out, b.String())
			b.Reset()
		default:
			b.WriteRune(runes[i])
		}
	}
	return append(out, b.String())
}

// cutColon cuts at the first single colon.
func cutColon(s string) (name, value string, ok bool) {
	for i := 0; i < len(s); i++ {
		if s[i] != ':' {
			continue
		}
		if i+1 < len(s) && s[i+1] == ':' {
			i++
			continue
		}
		return strings.TrimSpace(strings.ReplaceAll(s[:i], "::", ":")), strings.TrimSpace(s[i+1:]), true
	}
	return strings.TrimSpace(strings.ReplaceAll(s, "::", ":")), "", false
}

// DeviceTable is the devices of a class as the rows of a table that reads back as the
// same devices: a first row of column names, then one row a device. The columns that a
// record nearly always needs are there also when they are empty.
func (c *Class) DeviceTable() [][]string {
	usual := []string{"function", "name", "also called", "kind", "place", "positions", "normal", "how worked", "cautions", "evidence"}
	var specs []KeySpec
	for _, k := range deviceKeys() {
		used := slices.Contains(usual, k.Name)
		for _, d := range c.Devices {
			used = used || d.written(c, k) != ""
		}
		if used {
			specs = append(specs, k)
		}
	}
	rows := [][]string{append([]string{columnID}, keyNames(specs)...)}
	for _, d := range c.Devices {
		row := []string{d.ID}
		for _, k := range specs {
			row = append(row, d.written(c, k))
		}
		rows = append(rows, row)
	}
	return rows
}

// written is a key of a device as a cell.
func (d *Device) written(c *Class, k KeySpec) string {
	n := d.node.Get(k.Name)
	switch {
	case k.Name == "source" && d.Source != c.Source:
		return d.Source
	case n.Kind() == reading.Nothing:
		return ""
	}
	one := func(s string) string {
		return strings.ReplaceAll(strings.ReplaceAll(s, "\n", " "), ";", ";;")
	}
	switch k.Form {
	case FormTexts, FormIDs:
		var items []string
		for _, i := range n.Items() {
			items = append(items, one(i.Text()))
		}
		return strings.Join(items, "; ")
	case FormFacts, FormMap:
		var items []string
		for _, e := range n.Entries() {
			var values []string
			for _, i := range e.Value.Items() {
				values = append(values, i.Text())
			}
			items = append(items, one(strings.ReplaceAll(e.Key, ":", "::")+": "+strings.Join(values, ", ")))
		}
		return strings.Join(items, "; ")
	case FormCatalog:
		var items []string
		for _, e := range n.Entries() {
			bar := func(s string) string { return strings.ReplaceAll(s, "|", "||") }
			item := strings.ReplaceAll(e.Key, ":", "::") + ":"
			if e.Value.Kind() == reading.Word {
				item += " " + bar(e.Value.Text())
			} else if looks := e.Value.Get("looks").Text(); looks != "" {
				item += " " + bar(looks)
			}
			for _, p := range e.Value.Entries() {
				if p.Key != "looks" {
					var values []string
					for _, i := range p.Value.Items() {
						values = append(values, i.Text())
					}
					item += " | " + p.Key + ": " + bar(strings.Join(values, ", "))
				}
			}
			items = append(items, one(item))
		}
		return strings.Join(items, "\n")
	}
	return n.Text()
}
