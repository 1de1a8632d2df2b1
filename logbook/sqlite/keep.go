package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"headstock/logbook"
)

// Report is what a check of a logbook found.
type Report struct {
	Entries int      `json:"entries"`
	Head    string   `json:"head"`   // hash of the last entry; keep it elsewhere to see that none is lost at the end
	Tables  int      `json:"tables"` // the step that made them
	Faults  []string `json:"faults"` // empty when the logbook is whole
}

// Check looks at the whole file: whether SQLite finds it sound, whether every reference
// leads somewhere, whether each entry is as it was hashed, follows the one before, and is
// what a store would take. It changes nothing.
func (s *Store) Check() (Report, error) {
	var r Report
	var err error
	if r.Tables, err = s.version(s.db); err != nil {
		return r, err
	}
	if err := s.each("PRAGMA integrity_check", func(row *sql.Rows) error {
		var text string
		err := row.Scan(&text)
		if text != "ok" && err == nil {
			r.Faults = append(r.Faults, "the file is damaged: "+text)
		}
		return err
	}); err != nil {
		return r, err
	}
	lost := 0
	if err := s.each("PRAGMA foreign_key_check", func(*sql.Rows) error { lost++; return nil }); err != nil {
		return r, err
	}
	if lost > 0 {
		r.Faults = append(r.Faults, fmt.Sprintf("%d references lead to entries that are not there", lost))
	}
	var c logbook.Chain
	if err := s.each("SELECT number, body, hash FROM entries ORDER BY number", func(row *sql.Rows) error {
		var number int
		var body, hash string
		if err := row.Scan(&number, &body, &hash); err != nil {
			return err
		}
		if e, whole := c.Follow(number, body, hash); whole {
			if err := e.Validate(); err != nil {
				c.Breaks = append(c.Breaks, fmt.Sprintf("entry %d: %v", number, err))
			}
		}
		r.Entries++
		return nil
	}); err != nil {
		return r, err
	}
	r.Head, r.Faults = c.Head, append(r.Faults, c.Breaks...)
	return r, nil
}

func (s *Store) each(query string, do func(*sql.Rows) error) error {
	rows, err := s.db.Query(query)
	if err != nil {
		return s.plain(err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows); err != nil {
			return s.plain(err)
		}
	}
	return s.plain(rows.Err())
}

// Backup checks the logbook and writes all of it into a new file, which is checked too; it
// may be in use meanwhile. A file that is there already is not written over.
func (s *Store) Backup(path string) (Report, error) {
	r, err := s.Check()
	if err != nil {
		return r, err
	}
	if len(r.Faults) > 0 {
		return r, fmt.Errorf("%s: the logbook is not whole: %s (%d in all); nothing was written", s.path, r.Faults[0], len(r.Faults))
	}
	if err := s.copyTo(path); err != nil {
		return r, err
	}
	copied, err := checkFile(path)
	if err == nil && copied.Entries < r.Entries {
		err = fmt.Errorf("%s: the backup holds %d entries of %d", path, copied.Entries, r.Entries)
	}
	return copied, err
}

// copyTo writes a copy that is one whole file, and returns when it is on the disk.
func (s *Store) copyTo(path string) error {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		if err != nil {
			return err
		}
		return fmt.Errorf("%s: there is a file already; name another one", path)
	}
	if st, err := os.Stat(filepath.Dir(path)); err != nil || !st.IsDir() {
		return fmt.Errorf("%s: there is no folder %q to write it to", path, filepath.Dir(path))
	}
	if _, err := s.db.Exec("VACUUM INTO ?", path); err != nil {
		os.Remove(path) // half a copy is none
		return fmt.Errorf("%s: %w", path, s.plain(err))
	}
	return settle(path)
}

// settle brings a file and its name in the folder to the disk.
func settle(path string) error {
	for _, name := range []string{path, filepath.Dir(path)} {
		f, err := os.Open(name)
		if err != nil {
			return err
		}
		err = f.Sync()
		f.Close()
		// some systems cannot sync a folder; there the name is written when it is
		if err != nil && name == path {
			return err
		}
	}
	return nil
}

// checkFile checks a file that may be of an older program.
func checkFile(path string) (Report, error) {
	if st, err := os.Stat(path); err != nil || st.IsDir() {
		return Report{}, fmt.Errorf("%s: there is no such file", path)
	}
	s, err := open(path, "ro")
	if err != nil {
		return Report{}, err
	}
	defer s.Close()
	r, err := s.Check()
	if err == nil && r.Tables == 0 {
		err = fmt.Errorf("%s: the file is empty; it holds no logbook", path)
	}
	return r, err
}

// Restored says what a restore did.
type Restored struct {
	Report
	Kept string `json:"kept,omitempty"` // where the logbook that stood there is now
}

// Restore checks a backup and puts a copy of it in the place of a logbook. One that stands
// there is kept beside it under the name that Restored gives; it must be let go by every
// program first. When it holds entries that the backup lacks, it is only replaced when
// that was asked for.
func Restore(backup, path string, replace bool) (Restored, error) {
	r, err := checkFile(backup)
	if err != nil {
		return Restored{Report: r}, err
	}
	out := Restored{Report: r}
	if len(r.Faults) > 0 {
		return out, fmt.Errorf("%s: the backup is not whole: %s (%d in all); nothing was changed", backup, r.Faults[0], len(r.Faults))
	}
	_, err = os.Stat(path)
	there := err == nil
	if there && same(backup, path) {
		return out, fmt.Errorf("%s: the backup is the logbook itself", backup)
	}
	if there && !replace {
		if err := extends(backup, path); err != nil {
			return out, err
		}
	}
	fresh := path + ".restoring"
	if err := os.Remove(fresh); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return out, err
	}
	b, err := open(backup, "ro")
	if err != nil {
		return out, err
	}
	err = b.copyTo(fresh)
	b.Close()
	if err != nil {
		return out, err
	}
	defer os.Remove(fresh)
	if again, err := checkFile(fresh); err != nil || len(again.Faults) > 0 || again.Head != r.Head {
		return out, fmt.Errorf("%s: the copy of the backup is not whole; nothing was changed (%v)", fresh, err)
	}
	if there {
		if out.Kept, err = setAside(path); err != nil {
			return out, err
		}
	}
	if err := os.Rename(fresh, path); err != nil {
		return out, err
	}
	if err := settle(path); err != nil {
		return out, err
	}
	s, err := Open(path) // brings it up to date
	if err != nil {
		return out, err
	}
	defer s.Close()
	return out, s.writeAhead()
}

func same(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// extends refuses when the logbook holds an entry that the backup lacks.
func extends(backup, path string) error {
	now, err := checkFile(path)
	if err != nil || len(now.Faults) > 0 {
		return fmt.Errorf("%s: the logbook that stands there cannot be read whole, so it cannot be said what would be lost; ask for it to be replaced (it is kept beside)", path)
	}
	if now.Head == "" {
		return nil
	}
	b, err := open(backup, "ro")
	if err != nil {
		return err
	}
	defer b.Close()
	var hash string
	err = b.db.QueryRow("SELECT hash FROM entries WHERE number = ?", now.Entries).Scan(&hash)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return b.plain(err)
	}
	if hash != now.Head {
		return fmt.Errorf("%s: the logbook that stands there holds entries that the backup lacks (its last is %d, of hash %.12s…); ask for it to be replaced (it is kept beside)", path, now.Entries, now.Head)
	}
	return nil
}

// setAside moves the logbook that stands in the way to a name of its own beside it, with
// whatever SQLite keeps next to it, and returns that name.
func setAside(path string) (string, error) {
	if err := letGo(path); err != nil {
		return "", err
	}
	kept := ""
	for n := 1; ; n++ {
		kept = fmt.Sprintf("%s.before-restore-%d", path, n)
		if _, err := os.Lstat(kept); errors.Is(err, fs.ErrNotExist) {
			break
		}
	}
	for _, beside := range []string{"-wal", "-shm", ""} { // the file itself last
		if err := os.Rename(path+beside, kept+beside); err != nil && !(beside != "" && errors.Is(err, fs.ErrNotExist)) {
			return "", err
		}
	}
	return kept, nil
}

// letGo writes what lies in the write-ahead log into the file and sees that no other
// program has it open. A file too damaged for that is left as it is.
func letGo(path string) error {
	s, err := open(path, "rw")
	if err != nil {
		return err
	}
	defer s.Close()
	if _, err := s.db.Exec("PRAGMA busy_timeout = 1000"); err != nil {
		return nil // no database any more: nobody can be using it
	}
	var mode string
	err = s.db.QueryRow("PRAGMA journal_mode = DELETE").Scan(&mode)
	switch {
	case err != nil && busy(err), err == nil && mode != "delete":
		return fmt.Errorf("%s: the logbook is in use; close what uses it and restore again", path)
	}
	return nil
}
