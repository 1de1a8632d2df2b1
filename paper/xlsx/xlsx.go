// Package xlsx writes the tables of a document as the sheets of a workbook, and reads the
// table of devices that a workbook holds.
//
// Every sheet that it writes carries the usual caution; every cell is text, so nothing in
// it is run. Reading takes what a cell shows. It knows documents and rows, and nothing of
// what is in them. It is apart from package paper so that only a door that needs workbooks
// carries the library for them.
package xlsx

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"headstock/card"
	"headstock/paper"
)

var errNoDocument = errors.New("no document to put into a workbook")

// Write writes a document: a first sheet that says what it is and what it rests on, then
// a sheet for each table. The same document gives the same bytes.
func Write(out io.Writer, doc *card.Document) error {
	if doc == nil {
		return errNoDocument
	}
	var about [][]string
	line := func(name, text string) {
		if text != "" {
			about = append(about, []string{name, text})
		}
	}
	line("caution", card.Caution)
	line("banner", doc.Banner)
	line("title", doc.Title)
	line("subtitle", doc.Subtitle)
	for _, s := range doc.Cautions {
		line("caution", s)
	}
	if v := doc.Verdict; v != nil {
		line("verdict", v.Text)
		for _, s := range v.Reasons {
			line("reason", s)
		}
	}
	for _, s := range doc.Footer {
		line("rests on", s)
	}
	b := newBook()
	b.sheet("about", nil, about, 0)
	for _, t := range paper.Tables(doc) {
		top := [][]string{{card.Caution}}
		if doc.Banner != "" {
			top = append(top, []string{doc.Banner})
		}
		head := 0
		if t.Headed {
			head = len(top) + 2
		}
		b.sheet(t.Caption, append(top, []string{doc.Title + ": " + t.Caption}), t.Rows, head)
	}
	return b.write(out)
}

// Rows writes one sheet of rows that are read again by a program: remarks of one cell,
// then the head.
func Rows(out io.Writer, sheet string, rows [][]string) error {
	b := newBook()
	head := 1
	for head < len(rows) && len(rows[head-1]) == 1 { // remarks
		head++
	}
	b.sheet(sheet, nil, rows, head)
	return b.write(out)
}

// book is a workbook that is being written. It keeps the first error.
type book struct {
	*excelize.File
	names map[string]bool
	wraps int
	heads int
	err   error
}

func newBook() *book {
	b := &book{File: excelize.NewFile(), names: map[string]bool{}}
	align := &excelize.Alignment{Vertical: "top", WrapText: true}
	b.wraps, b.err = b.NewStyle(&excelize.Style{Alignment: align, NumFmt: 49})
	b.keep(func() (err error) {
		b.heads, err = b.NewStyle(&excelize.Style{Alignment: align, NumFmt: 49, Font: &excelize.Font{Bold: true}})
		return err
	})
	return b
}

func (b *book) keep(do func() error) {
	if b.err == nil {
		b.err = do()
	}
}

// sheet adds a sheet: lines above the table, and the table, of which row head of the
// sheet (counted from 1; 0 is none) stays in sight.
func (b *book) sheet(caption string, above, rows [][]string, head int) {
	name := b.name(caption)
	if len(b.names) == 1 {
		b.keep(func() error { return b.SetSheetName("Sheet1", name) })
	} else {
		b.keep(func() error { _, err := b.NewSheet(name); return err })
	}
	wide := []int{}
	for i, row := range append(above, rows...) {
		for k, text := range row {
			cell, err := excelize.CoordinatesToCellName(k+1, i+1)
			b.keep(func() error { return err })
			b.keep(func() error { return b.SetCellStr(name, cell, text) })
			style := b.wraps
			if i+1 == head || i < len(above) {
				style = b.heads
			}
			if i < len(above) {
				continue // long lines over the table run out over the columns
			}
			b.keep(func() error { return b.SetCellStyle(name, cell, cell, style) })
			for len(wide) <= k {
				wide = append(wide, 8)
			}
			for _, l := range strings.Split(text, "\n") {
				wide[k] = max(wide[k], min(utf8.RuneCountInString(l)+2, 60))
			}
		}
	}
	for k, w := range wide {
		col, err := excelize.ColumnNumberToName(k + 1)
		b.keep(func() error { return err })
		b.keep(func() error { return b.SetColWidth(name, col, col, float64(w)) })
	}
	if head > 0 {
		b.keep(func() error {
			return b.SetPanes(name, &excelize.Panes{Freeze: true, YSplit: head, TopLeftCell: "A" + strconv.Itoa(head+1), ActivePane: "bottomLeft"})
		})
	}
}

// name is a caption as a workbook lets a sheet be called, and not used before.
func (b *book) name(caption string) string {
	s := strings.Trim(strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`[]:*?/\`, r) {
			return ' '
		}
		return r
	}, caption)), " "), "' ")
	if s == "" {
		s = "table"
	}
	for n := 1; ; n++ {
		tail := ""
		if n > 1 {
			tail = " " + strconv.Itoa(n)
		}
		r := []rune(s)
		t := strings.TrimSpace(string(r[:min(len(r), 31-len(tail))])) + tail
		if !b.names[strings.ToLower(t)] {
			b.names[strings.ToLower(t)] = true
			return t
		}
	}
}

func (b *book) write(out io.Writer) error {
	// a fixed day, so that the same rows are the same file
	const day = "2000-01-01T00:00:00Z"
	b.keep(func() error {
		return b.SetDocProps(&excelize.DocProperties{Creator: "headstock", Created: day, Modified: day})
	})
	if b.err != nil {
		return fmt.Errorf("workbook: %w", b.err)
	}
	var buf bytes.Buffer
	if err := b.File.Write(&buf); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	if err := b.Close(); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	_, err := out.Write(buf.Bytes())
	return err
}

// Folder gives a folder the means to read its workbooks.
func Folder(fsys fs.FS) fs.FS { return folder{fsys} }

type folder struct{ fs.FS }

// Stat looks at a file without opening it: a pipe would wait for somebody to write.
func (f folder) Stat(name string) (fs.FileInfo, error) { return fs.Stat(f.FS, name) }

// most is far more than a table of devices holds, and keeps a file that unpacks to
// something huge out of memory.
const (
	mostBytes = 64 << 20
	mostRows  = 20000
)

// Workbook gives the rows of a workbook from its first row on: those of the sheet that is
// called devices, or of its first one.
func (f folder) Workbook(name string) (sheet string, rows [][]string, err error) {
	data, err := fs.ReadFile(f.FS, name)
	if err != nil {
		return "", nil, err
	}
	return Read(data)
}

// Read gives the rows of the sheet called devices, or of the first one.
func Read(data []byte) (sheet string, rows [][]string, err error) {
	defer func() {
		if r := recover(); r != nil { // the reader beneath is not ours
			sheet, rows, err = "", nil, errors.New("it is not laid out as a workbook")
		}
	}()
	b, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: mostBytes, UnzipXMLSizeLimit: mostBytes})
	if err != nil {
		return "", nil, err
	}
	defer b.Close()
	names := b.GetSheetList()
	if len(names) == 0 {
		return "", nil, errors.New("it has no sheets")
	}
	sheet = names[0]
	for _, n := range names {
		if strings.EqualFold(n, "devices") {
			sheet = n
		}
	}
	it, err := b.Rows(sheet)
	if err != nil {
		return "", nil, err
	}
	defer it.Close()
	for it.Next() {
		if len(rows) == mostRows {
			return "", nil, fmt.Errorf("sheet %s has more than %d rows", sheet, mostRows)
		}
		cells, err := it.Columns()
		if err != nil {
			return "", nil, err
		}
		rows = append(rows, cells)
	}
	return sheet, rows, it.Error()
}
