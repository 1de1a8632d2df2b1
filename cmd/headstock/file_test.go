package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"headstock/fleet"
	"headstock/paper/xlsx"
)

// A file is there whole with its own mode, or what was there before still is.
func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.pdf")
	if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := writeFile(name, []byte("new"), 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(name)
	st, _ := os.Stat(name)
	if err != nil || string(got) != "new" || st.Mode().Perm() != 0o600 {
		t.Errorf("%q %v %v", got, st.Mode(), err)
	}
	if err := os.Mkdir(filepath.Join(dir, "taken"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "taken", "in"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := writeFile(filepath.Join(dir, "taken"), []byte("new"), 0o644); err == nil {
		t.Error("a folder was replaced by a file")
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 2 {
		t.Errorf("left behind: %v %v", entries, err)
	}
}

// A fault in a workbook is told with its sheet, row and column, as one in a text file is
// with its line.
func TestWorkbookComplaints(t *testing.T) {
	dir := t.TempDir()
	class := filepath.Join(dir, "classes", "curlew")
	if err := os.MkdirAll(class, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		filepath.Join(dir, "railway.yaml"):     "name: Mine\n",
		filepath.Join(dir, "units.yaml"):       "units: {}\n",
		filepath.Join(class, "class.yaml"):     "class: Curlew\nkind: locomotive\nsource: invented\nplaces: {left: {name: left}}\n",
		filepath.Join(class, "~$devices.xlsx"): "a lock of a spreadsheet program",
	} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		cell string
		row  []string
		want string
	}{
		{"a fault of a word", []string{"tap", "main-reservoir-drane", "Tap", "cock", "left", "", ""}, "classes/curlew/devices.xlsx, sheet devices, row 3, column B: [unknown-function] no function \"main-reservoir-drane\" in the defined list; expected a word of the defined list; nearest: main-reservoir-drain"},
		{"a fault in the second line of a cell", []string{"tap", "main-reservoir-drain", "Tap", "cock", "left", "open: up\nshut: down | set: 3 kPa", "open"}, "row 3, column F: [unknown-key]"},
		{"no place", []string{"tap", "main-reservoir-drain", "Tap", "cock", "lefft", "", ""}, "row 3, column A: [place-unknown]"},
		{"too long", []string{"tap", "main-reservoir-drain", "Tap", "cock", "left", "", "", "more"}, "row 3, column H: [table-row]"},
	} {
		var b bytes.Buffer
		if err := xlsx.Rows(&b, "devices", [][]string{{"# a remark"}, {"id", "function", "name", "kind", "place", "positions", "normal"}, c.row}); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(class, "devices.xlsx"), b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		_, cs := fleet.Read(xlsx.Folder(os.DirFS(dir)))
		if len(cs) != 1 || !bytes.Contains([]byte(cs[0].String()), []byte(c.want)) {
			t.Errorf("%s: %v\nwant %s", c.cell, cs, c.want)
		}
	}
	if err := os.WriteFile(filepath.Join(class, "devices.xlsx"), []byte("PK no more"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, cs := fleet.Read(xlsx.Folder(os.DirFS(dir))); len(cs) != 1 || cs[0].Code != "unreadable-file" {
		t.Error(cs)
	}
}
