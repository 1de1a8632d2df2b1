package sqlite_test

import (
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"headstock/logbook"
	"headstock/logbook/sqlite"
)

// entry makes a small entry; n makes it one of its own.
func entry(writer uint32, n int, kind logbook.Kind) logbook.Entry {
	at := time.Date(2026, 10, 1, 6, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Minute)
	e := logbook.Entry{At: at, Written: at, Kind: kind, Unit: "Tern 3", Record: logbook.Record{Hash: strings.Repeat("a", 64), Revision: "draft 2026-09-01"}, Who: "A. Reader"}
	binary.BigEndian.PutUint32(e.ID[:], writer)
	binary.BigEndian.PutUint64(e.ID[8:], uint64(n)+1)
	switch kind {
	case logbook.Measurement:
		e.Lines = []logbook.Line{{What: "piston travel", Device: "bogie-1-piston", State: "applied", Value: &logbook.Value{Measure: "length", SI: 0.09 + float64(n)*1e-5}}}
	case logbook.Defect:
		e.Text = fmt.Sprintf("leak at \"hose\" %d", n)
	}
	return e
}

func open(t testing.TB, path string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func add(t testing.TB, s logbook.Store, e logbook.Entry) logbook.Entry {
	t.Helper()
	kept, err := s.Append(e)
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

func whole(t testing.TB, s *sqlite.Store) sqlite.Report {
	t.Helper()
	r, err := s.Check()
	if err != nil || len(r.Faults) > 0 {
		t.Fatalf("%+v, %v", r, err)
	}
	return r
}

// raw opens the file beside the store, as somebody with any SQLite program would.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path+"?_pragma=busy_timeout(5000)")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func TestKeepsWhatItTook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log ? 100% & more#.db") // a name that an address would misread
	s := open(t, path)
	d := add(t, s, entry(1, 0, logbook.Defect))
	add(t, s, entry(1, 1, logbook.Measurement))
	c := entry(1, 2, logbook.DefectClosed)
	c.Text, c.Closes, c.Refs = "hose changed", d.ID, []logbook.ID{d.ID}
	add(t, s, c)
	fix := entry(1, 3, logbook.Correction)
	fix.Text, fix.Why, fix.Supersedes = "leak at the dummy", "wrong hose", d.ID
	fix.Device = "third-pipe-hose-1"
	add(t, s, fix)
	s.Close()
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	s = open(t, path)
	got, err := s.List(logbook.Filter{})
	if err != nil || len(got) != 4 {
		t.Fatalf("%d entries, %v", len(got), err)
	}
	for i, e := range got {
		if e.Number != i+1 || e.Hash != logbook.HashOf(e.Canonical()) {
			t.Errorf("%+v", e)
		}
	}
	if r := whole(t, s); r.Entries != 4 || r.Head != got[3].Hash {
		t.Errorf("%+v", r)
	}
}

// The file and the store in memory give the same answers to the same acts.
func TestAnswersAsTheMemoryStore(t *testing.T) {
	var memory logbook.Memory
	file := open(t, filepath.Join(t.TempDir(), "x.db"))
	a := entry(1, 1, logbook.Defect)
	double := entry(1, 2, logbook.Correction)
	double.Text, double.Why, double.Supersedes = "x", "y", a.ID
	again := entry(1, 3, logbook.Correction)
	again.Text, again.Why, again.Supersedes = "x", "z", a.ID
	lost := entry(1, 4, logbook.DefectClosed)
	lost.Text, lost.Closes = "done", logbook.ID{9}
	sheet := entry(1, 5, logbook.Sheet)
	sheet.Sheet = "brake test"
	sheet.Lines = []logbook.Line{{What: "horn", Tick: logbook.Right}, {What: "pressure", Unit: "Kite 11", Value: &logbook.Value{Measure: "pressure", SI: 5e5}}}
	closesSheet := entry(1, 6, logbook.DefectClosed)
	closesSheet.Text, closesSheet.Closes = "done", sheet.ID
	hollow := entry(1, 8, logbook.Correction)
	hollow.Why, hollow.Supersedes = "why", entry(1, 7, logbook.Measurement).ID
	for _, e := range []logbook.Entry{a, a, double, again, lost, sheet, closesSheet, entry(1, 7, logbook.Measurement), hollow, {}} {
		x, errX := memory.Append(e)
		y, errY := file.Append(e)
		if (errX == nil) != (errY == nil) || errX != nil && errX.Error() != errY.Error() {
			t.Errorf("memory says %v, the file %v", errX, errY)
		}
		var refused *logbook.Refused
		if errY != nil && !errors.As(errY, &refused) {
			t.Errorf("%v is not said to be the entry's fault", errY)
		}
		if !reflect.DeepEqual(x, y) {
			t.Errorf("%+v\n%+v", x, y)
		}
	}
	for _, f := range []logbook.Filter{
		{}, {Unit: "Tern 3"}, {Unit: "Kite 11"}, {Unit: "Kite 12"}, {Kinds: []logbook.Kind{logbook.Defect, logbook.Correction}}, {After: 2},
		{From: a.At.Add(time.Second)}, {From: a.At.Add(time.Nanosecond)}, {To: a.At}, {From: a.At, To: a.At}, {To: a.At.Add(-time.Nanosecond)},
		{Unit: "Tern 3", Kinds: []logbook.Kind{logbook.Sheet}, After: 1},
	} {
		x, _ := memory.List(f)
		y, err := file.List(f)
		if err != nil || !reflect.DeepEqual(x, y) {
			t.Errorf("%+v: %d in memory, %d in the file, %v", f, len(x), len(y), err)
		}
	}
}

func TestRefusesToChange(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.db")
	s := open(t, path)
	for i := range 3 {
		add(t, s, entry(1, i, logbook.Measurement))
	}
	db := raw(t, path)
	var body, hash string
	if err := db.QueryRow("SELECT body, hash FROM entries WHERE number = 2").Scan(&body, &hash); err != nil {
		t.Fatal(err)
	}
	for _, act := range []string{
		"UPDATE entries SET hash = 'x' WHERE number = 1",
		"DELETE FROM entries WHERE number = 3",
		"DELETE FROM entries",
		"UPDATE units SET unit = 'Tern 4'",
		"DELETE FROM units",
		"INSERT INTO units (unit, number) VALUES ('Tern 4', 1)",
		"INSERT OR REPLACE INTO entries (number, body, hash) SELECT number, body, 'x' FROM entries WHERE number = 2",
		"INSERT OR REPLACE INTO entries (number, body, hash) SELECT 4, replace(body, '\"number\":3', '\"number\":4'), 'x' FROM entries WHERE number = 3",
		"INSERT INTO entries (number, body, hash) SELECT 9, body, 'x' FROM entries WHERE number = 3",
		"INSERT INTO entries (number, body, hash) VALUES (4, 'no json', 'x')",
	} {
		if _, err := db.Exec(act); err == nil {
			t.Errorf("%s was done", act)
		}
	}
	if r := whole(t, s); r.Entries != 3 {
		t.Errorf("%+v", r)
	}
}

// Whoever takes the guards away first can change rows; the check finds it.
func TestCheckFindsWhatWasChanged(t *testing.T) {
	guards := "DROP TRIGGER entries_are_not_changed; DROP TRIGGER entries_are_not_deleted; DROP TRIGGER units_are_not_deleted; PRAGMA foreign_keys = OFF; "
	for act, want := range map[string]string{
		"UPDATE entries SET body = replace(body, '0.09002', '0.08002') WHERE number = 3": "entry 3 was changed",
		"DELETE FROM units WHERE number = 2; DELETE FROM entries WHERE number = 2":       "entry 2 is missing",
		"DELETE FROM units WHERE number < 3; DELETE FROM entries WHERE number < 3":       "entries 1 to 2 are missing",
		"UPDATE entries SET hash = 'x' WHERE number = 5":                                 "entry 5 was changed",
	} {
		path := filepath.Join(t.TempDir(), "x.db")
		s := open(t, path)
		for i := range 5 {
			add(t, s, entry(1, i, logbook.Measurement))
		}
		whole(t, s)
		if _, err := raw(t, path).Exec(guards + act); err != nil {
			t.Fatal(err)
		}
		r, err := s.Check()
		if err != nil || !strings.Contains(strings.Join(r.Faults, "\n"), want) {
			t.Errorf("%s: %q, %v, want %q", act, r.Faults, err, want)
		}
		if _, err := s.Backup(filepath.Join(t.TempDir(), "b.db")); err == nil {
			t.Errorf("%s: a backup was made of it", act)
		}
	}
}

func TestRefusesWhatIsNotItsOwn(t *testing.T) {
	dir := t.TempDir()
	newer := filepath.Join(dir, "newer.db")
	s := open(t, newer)
	add(t, s, entry(1, 1, logbook.Measurement))
	s.Close()
	if _, err := raw(t, newer).Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.db")
	if _, err := raw(t, other).Exec("CREATE TABLE cats (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	text := filepath.Join(dir, "text.db")
	if err := os.WriteFile(text, []byte(strings.Repeat("piston travel 92 mm\n", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		newer: "written by a newer program (tables 99", other: "but no logbook", text: "this is no logbook",
		filepath.Join(dir, "no", "x.db"): "there is no folder",
	} {
		before, _ := os.ReadFile(path)
		if _, err := sqlite.Open(path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s was changed", path)
		}
		if _, err := sqlite.Restore(path, filepath.Join(dir, "log.db"), false); err == nil {
			t.Errorf("%s was restored", path)
		}
	}
	if _, err := sqlite.Read(filepath.Join(dir, "absent.db")); err == nil || !strings.Contains(err.Error(), "there is no logbook") {
		t.Errorf("%v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "absent.db")); err == nil {
		t.Error("reading made a file")
	}
}

func TestBackupAndRestore(t *testing.T) {
	dir := t.TempDir()
	path, backup := filepath.Join(dir, "log.db"), filepath.Join(dir, "backup.db")
	s := open(t, path)
	for i := range 3 {
		add(t, s, entry(1, i, logbook.Measurement))
	}
	r, err := s.Backup(backup)
	if err != nil || r.Entries != 3 {
		t.Fatalf("%+v, %v", r, err)
	}
	if _, err := s.Backup(backup); err == nil {
		t.Error("a backup was written over")
	}
	if _, err := s.Backup(filepath.Join(dir, "none", "backup.db")); err == nil || !strings.Contains(err.Error(), "there is no folder") {
		t.Errorf("a folder that is not there: %v", err)
	}
	// in use
	if _, err := sqlite.Restore(backup, path, false); err == nil || !strings.Contains(err.Error(), "in use") {
		t.Errorf("restored over a logbook in use: %v", err)
	}
	add(t, s, entry(1, 9, logbook.Measurement))
	s.Close()
	if _, err := sqlite.Restore(backup, path, false); err == nil || !strings.Contains(err.Error(), "holds entries that the backup lacks") {
		t.Errorf("%v", err)
	}
	done, err := sqlite.Restore(backup, path, true)
	if err != nil || done.Entries != 3 || done.Kept == "" {
		t.Fatalf("%+v, %v", done, err)
	}
	s = open(t, path)
	if r := whole(t, s); r.Entries != 3 {
		t.Errorf("%+v", r)
	}
	add(t, s, entry(1, 10, logbook.Measurement))
	old := open(t, done.Kept)
	if r := whole(t, old); r.Entries != 4 {
		t.Errorf("what was kept: %+v", r)
	}
	s.Close()
	// over a damaged file
	b, _ := os.ReadFile(path)
	for i := 100; i < len(b); i++ {
		b[i] = 0x55
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Restore(backup, path, false); err == nil {
		t.Error("replaced a file that could not be read without being asked to")
	}
	if done, err = sqlite.Restore(backup, path, true); err != nil || done.Kept == "" {
		t.Fatalf("%+v, %v", done, err)
	}
	whole(t, open(t, path))
	// a damaged backup is not restored
	b, _ = os.ReadFile(backup)
	at := strings.Index(string(b), "piston travel")
	copy(b[at:], "pistol")
	if err := os.WriteFile(backup, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Restore(backup, filepath.Join(dir, "new.db"), false); err == nil || !strings.Contains(err.Error(), "not whole") {
		t.Errorf("%v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "new.db")); err == nil {
		t.Error("a damaged backup was put in place")
	}
}

// Several stores on one file, as several programs would have them.
func TestWritersWaitForEachOther(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.db")
	var all sync.WaitGroup
	for w := range 4 {
		all.Go(func() {
			s, err := sqlite.Open(path)
			if err != nil {
				t.Error(err)
				return
			}
			defer s.Close()
			for i := range 25 {
				if _, err := s.Append(entry(uint32(w+1), i, logbook.Measurement)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	if r := whole(t, open(t, path)); r.Entries != 100 {
		t.Errorf("%+v", r)
	}
}

// Programs that begin the same logbook at the same moment all get it.
func TestBegunTogether(t *testing.T) {
	files := 40
	if testing.Short() {
		files = 10
	}
	for n := range files {
		path := filepath.Join(t.TempDir(), fmt.Sprintf("x%d.db", n))
		var all sync.WaitGroup
		for w := range 6 {
			all.Go(func() {
				s, err := sqlite.Open(path)
				if err != nil {
					t.Errorf("file %d: %v", n, err)
					return
				}
				defer s.Close()
				if _, err := s.Append(entry(uint32(w+1), 1, logbook.Measurement)); err != nil {
					t.Errorf("file %d: %v", n, err)
				}
			})
		}
		all.Wait()
		if s := open(t, path); !t.Failed() {
			if r := whole(t, s); r.Entries != 6 {
				t.Errorf("%+v", r)
			}
		}
	}
}
