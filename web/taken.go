package web

import (
	"archive/zip"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"sync"
	"time"

	"headstock/fleet"
	"headstock/logbook"
	"headstock/setup"
)

// What a browser takes over of a railway is the files that its records are read from, and
// no other file that may lie in the folder.

// kept notes the files that are opened in a folder.
type kept struct {
	fs.FS
	lock   sync.Mutex
	opened map[string]bool
}

func (k *kept) note(name string) {
	k.lock.Lock()
	defer k.lock.Unlock()
	k.opened[name] = true
}

func (k *kept) Open(name string) (fs.File, error) {
	f, err := k.FS.Open(name)
	if err != nil {
		return nil, err
	}
	if st, err := f.Stat(); err == nil && !st.IsDir() {
		k.note(name)
	}
	return f, nil
}

// keptWorkbooks is such a folder whose workbooks can be read.
type keptWorkbooks struct {
	*kept
	books fleet.Workbooks
	rows  map[string]workbook
}

// workbook is what was read from one.
type workbook struct {
	Sheet string     `json:"sheet"`
	Rows  [][]string `json:"rows"`
}

func (k *keptWorkbooks) Workbook(name string) (string, [][]string, error) {
	sheet, rows, err := k.books.Workbook(name)
	if err == nil {
		k.note(name)
		k.rows[name] = workbook{sheet, rows}
	}
	return sheet, rows, err
}

// noting is a folder that notes what is read of it.
func noting(fsys fs.FS) (fs.FS, *kept, map[string]workbook) {
	k := &kept{FS: fsys, opened: map[string]bool{}}
	if books, ok := fsys.(fleet.Workbooks); ok {
		w := &keptWorkbooks{k, books, map[string]workbook{}}
		return w, k, w.rows
	}
	return k, k, nil
}

// about is what a browser takes over beside the records.
type about struct {
	Version   string              `json:"version"`
	Base      string              `json:"base,omitempty"`
	Saved     []string            `json:"saved,omitempty"`
	Workbooks map[string]workbook `json:"workbooks,omitempty"`
}

// aboutFile is its name; no record has one like it.
const aboutFile = ".taken/about.json"

// pack puts the files that were read into one, the same for the same content; not packed
// each by itself, since all of it is packed when it is sent, and packs better so.
func (k *kept) pack(a about) ([]byte, error) {
	var names []string
	for n := range k.opened {
		names = append(names, n)
	}
	slices.Sort(names)
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	add := func(name string, text []byte) error {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err == nil {
			_, err = w.Write(text)
		}
		return err
	}
	text, err := json.Marshal(a)
	if err == nil {
		err = add(aboutFile, text)
	}
	for _, n := range names {
		b, e := fs.ReadFile(k.FS, n)
		err = cmp.Or(err, e)
		if err == nil {
			err = add(n, b)
		}
	}
	err = cmp.Or(err, z.Close())
	return out.Bytes(), err
}

// taken is the folder that was taken over.
type taken struct {
	fs.FS
	rows map[string]workbook
}

func (t taken) Workbook(name string) (string, [][]string, error) {
	w, ok := t.rows[name]
	if !ok {
		return "", nil, fmt.Errorf("the workbook %s was not taken over", name)
	}
	return w.Sheet, w.Rows, nil
}

// aloneAtOnce is how many runs a browser makes at once: one after the other they would end no
// sooner, but a short one would wait for a long one.
const aloneAtOnce = 3

// TakenOver is the site of a railway as a browser took it over: the file of
// /tablet/railway.zip, and the answers of /tablet/logbook.json and /tablet/searched.json,
// empty where there is none. turn is called between the steps of a run; it may be nil.
func TakenOver(railway, log, searched []byte, now func() time.Time, turn func()) (*Site, error) {
	z, err := zip.NewReader(bytes.NewReader(railway), int64(len(railway)))
	if err != nil {
		return nil, fmt.Errorf("what was taken over cannot be read: %w", err)
	}
	var a about
	text, err := fs.ReadFile(z, aboutFile)
	if err == nil {
		err = json.Unmarshal(text, &a)
	}
	if err != nil {
		return nil, fmt.Errorf("what was taken over cannot be read: %w", err)
	}
	c := Config{Fleet: taken{z, a.Workbooks}, Saved: a.Saved, Now: now, Version: a.Version, Base: a.Base, AtOnce: aloneAtOnce, Turn: turn,
		Alone: "No signal: this tablet answers by itself, from the records that it took over. It holds no logbook: what was found on a unit since its record was written is not known here."}
	if len(log) > 0 {
		var b sentLog
		if err := json.Unmarshal(log, &b); err != nil {
			return nil, fmt.Errorf("the logbook that was taken over cannot be read: %w", err)
		}
		if b.Kept {
			m := &readOnly{}
			for _, text := range b.Entries {
				e, err := logbook.ParseCanonical(text)
				if err != nil {
					return nil, fmt.Errorf("the logbook that was taken over cannot be read: %w", err)
				}
				m.entries = append(m.entries, e)
			}
			c.Book = m
			c.Alone = "No signal: this tablet answers by itself, from the records that it took over, with the logbook as it was at " + b.At.UTC().Format("2006-01-02 15:04") + " UTC. Later entries are not known here."
		}
	}
	var briefs []*setup.Brief
	if len(searched) > 0 {
		if err := json.Unmarshal(searched, &briefs); err != nil {
			return nil, fmt.Errorf("the searches that were taken over cannot be read: %w", err)
		}
	}
	s, complaints := New(c)
	if len(complaints) > 0 {
		return nil, errors.New(complaints[0].String())
	}
	s.carried = map[string]*setup.Brief{}
	for _, b := range briefs {
		if b != nil {
			s.carried[b.Consist] = b
		}
	}
	return s, nil
}

// sentLog is a logbook as a browser takes it over.
type sentLog struct {
	At      time.Time `json:"at"`
	Kept    bool      `json:"kept"`    // there is a logbook
	Entries []string  `json:"entries"` // in their canonical form
}

// readOnly is a logbook that nothing is added to.
type readOnly struct{ entries []logbook.Entry }

func (m *readOnly) Append(logbook.Entry) (logbook.Entry, error) {
	return logbook.Entry{}, errors.New("the logbook is not written to with no signal")
}

func (m *readOnly) List(f logbook.Filter) ([]logbook.Entry, error) {
	return slices.DeleteFunc(slices.Clone(m.entries), func(e logbook.Entry) bool { return !f.Passes(e) }), nil
}

func (m *readOnly) Close() error { return nil }

var _ io.Closer = (*readOnly)(nil)
