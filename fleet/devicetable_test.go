package fleet

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/internal/reading"

	"pgregory.net/rapid"
)

// withoutDevices cuts the section devices out of a class file.
func withoutDevices(text string) string {
	var out []string
	in := false
	for _, l := range strings.Split(text, "\n") {
		if l != "" && l[0] != ' ' && l[0] != '#' {
			in = strings.HasPrefix(l, "devices:")
		}
		if !in {
			out = append(out, l)
		}
	}
	return strings.Join(out, "\n")
}

// bare is a device without its places in files.
func bare(d Device) Device {
	d.Pos, d.node = reading.Pos{}, nil
	d.Positions = append([]Position(nil), d.Positions...)
	for i := range d.Positions {
		d.Positions[i].Pos = reading.Pos{}
		d.Positions[i].Shows = slices.Clone(d.Positions[i].Shows)
		for k := range d.Positions[i].Shows {
			d.Positions[i].Shows[k].Pos = reading.Pos{}
		}
	}
	if d.Range != nil {
		d.Range = &Range{Low: d.Range.Low, High: d.Range.High}
	}
	if d.Tries != nil {
		tries := *d.Tries
		tries.Pos = reading.Pos{}
		d.Tries = &tries
	}
	facts := func(in []Fact) []Fact {
		out := append([]Fact(nil), in...)
		for i := range out {
			out[i].Pos = reading.Pos{}
		}
		return out
	}
	d.Who, d.Limits = facts(d.Who), facts(d.Limits)
	return d
}

// Every class of the demo, its devices written as a table and its YAML left without them,
// is the same class.
func TestDeviceTableRoundTrip(t *testing.T) {
	demo := os.DirFS("../demo/railway")
	f, complaints := Read(demo)
	if len(complaints) > 0 {
		t.Fatal(complaints)
	}
	if len(f.Classes) == 0 {
		t.Fatal("no classes")
	}
	for _, c := range f.Classes {
		t.Run(c.Name, func(t *testing.T) {
			fsys := fstest.MapFS{}
			err := fs.WalkDir(demo, ".", func(name string, e fs.DirEntry, err error) error {
				if err != nil || e.IsDir() {
					return err
				}
				data, err := fs.ReadFile(demo, name)
				if strings.HasPrefix(name, c.folder+"/") {
					data = []byte(withoutDevices(string(data)))
				}
				fsys[name] = &fstest.MapFile{Data: data}
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			w := csv.NewWriter(&b)
			if err := w.WriteAll(c.DeviceTable()); err != nil {
				t.Fatal(err)
			}
			fsys[path.Join(c.folder, "devices.csv")] = &fstest.MapFile{Data: b.Bytes()}
			g, complaints := Read(fsys)
			if len(complaints) > 0 {
				t.Fatal(complaints)
			}
			k, _ := g.Class(c.Name)
			if len(k.Devices) != len(c.Devices) {
				t.Fatalf("%d devices, were %d", len(k.Devices), len(c.Devices))
			}
			for i, d := range k.Devices {
				if got, want := bare(*d), bare(*c.Devices[i]); !reflect.DeepEqual(got, want) {
					t.Fatalf("read back %+v\nwas %+v", got, want)
				}
			}
			if level, _ := k.Level(); level != first(c.Level()) {
				t.Errorf("level %d", level)
			}
		})
	}
}

func first(n int, _ []string) int { return n }

// Whatever stands in the texts of a device, its cells give it back.
func TestCellsRoundTrip(t *testing.T) {
	word := rapid.StringMatching(`[a-z;:|,"'#=]{1,6}( [a-z;:|,"'#=]{1,6}){0,3}`)
	rapid.Check(t, func(t *rapid.T) {
		pos := reading.Pos{File: "x", Line: 1, Col: 1}
		ids := rapid.SliceOfNDistinct(word, 1, 4, rapid.ID[string]).Draw(t, "ids")
		var entries []reading.Entry
		var want []string
		for _, id := range ids {
			looks, means := word.Draw(t, "looks"), word.Draw(t, "means")
			want = append(want, id, looks, means)
			m, _ := reading.NewMap(pos, []reading.Entry{{Key: "looks", Value: reading.NewWord(pos, looks)}, {Key: "means", Value: reading.NewWord(pos, means)}})
			entries = append(entries, reading.Entry{Key: id, Value: m})
		}
		positions, _ := reading.NewMap(pos, entries)
		var items []*reading.Node
		for _, s := range ids {
			items = append(items, reading.NewWord(pos, s))
		}
		node, _ := reading.NewMap(pos, []reading.Entry{{Key: "positions", Value: positions}, {Key: "cautions", Value: reading.NewList(pos, items)}})
		d := &Device{node: node}
		r := &reader{}
		var got []string
		for _, k := range deviceKeys() {
			switch k.Name {
			case "positions":
				for _, e := range r.cell(k, reading.Cell{Text: d.written(&Class{}, k), Pos: pos}).Entries() {
					got = append(got, e.Key, e.Value.Get("looks").Text(), e.Value.Get("means").Text())
				}
			case "cautions":
				var back []string
				for _, i := range r.cell(k, reading.Cell{Text: d.written(&Class{}, k), Pos: pos}).Items() {
					back = append(back, i.Text())
				}
				if !reflect.DeepEqual(back, ids) {
					t.Fatalf("cautions %q, were %q", back, ids)
				}
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("positions %q, were %q", got, want)
		}
	})
}

// Semicolons, tabs, a byte order mark, remarks, line ends in a cell: the table says the
// same, and a complaint finds its line.
func TestDeviceTableForms(t *testing.T) {
	class := "class: Plover\nkind: locomotive\nsource: invented\nplaces: {desk: {name: desk}}\n"
	read := func(table string) (*Class, []reading.Complaint) {
		f, cs := Read(fstest.MapFS{
			"railway.yaml": {Data: []byte("name: Test\n")}, "units.yaml": {Data: []byte("units: {}\n")},
			"classes/plover/class.yaml": {Data: []byte(class)}, "classes/plover/devices.csv": {Data: []byte(table)}})
		c, _ := f.Class("Plover")
		return c, cs
	}
	for name, table := range map[string]string{
		"comma":     "id,function,name,kind,place,positions,normal\ndrain,main-reservoir-drain,Drain,cock,desk,open: up; shut: down,shut\n",
		"semicolon": "\ufeffID;Function;Name;Kind;Place;Positions;Normal\r\ndrain;main-reservoir-drain;Drain;cock;desk;\"open: up\r\nshut: down\";shut\r\n;;;;;;\r\n",
		"tab":       "# a remark\n\nid\tfunction\tname\tkind\tplace\tpositions\tnormal\t# mine\ndrain\tmain-reservoir-drain\tDrain\tcock\tdesk\topen: up; shut: down\tshut\tlook again\n",
	} {
		c, cs := read(table)
		if len(cs) > 0 || len(c.Devices) != 1 || len(c.Devices[0].Positions) != 2 || c.Devices[0].Positions[1].Looks != "down" || c.Devices[0].Normal != "shut" {
			t.Errorf("%s: %v %+v", name, cs, c.Devices)
		}
	}
	_, cs := read("id,function,name,kind,place,positions,normal\ndrain,main-reservoir-drain,Drain,cock,desk,\"open: up\nshut:\",shut\n")
	if len(cs) != 1 || cs[0].Code != CodeNoLook || cs[0].Pos.String() != "classes/plover/devices.csv:3:1" {
		t.Errorf("%v", cs)
	}
	_, cs = read("id,function,name,kind,place,sealed\ndrain,main-reservoir-drain,Drain,cock,desk,oui\n")
	if len(cs) != 1 || cs[0].Pos.String() != "classes/plover/devices.csv:2:44" {
		t.Errorf("%v", cs)
	}
}

// No bytes make the reader of tables panic.
func FuzzDeviceTable(f *testing.F) {
	f.Add([]byte("id,function\na,b\n"))
	f.Add([]byte("id;positions\na;\"open: up | sets: 3\nshut\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		Read(fstest.MapFS{"classes/plover/class.yaml": {Data: []byte("class: Plover\nkind: wagon\nsource: invented\n")}, "classes/plover/devices.csv": {Data: data}})
	})
}
