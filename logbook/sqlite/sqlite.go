// Package sqlite keeps a logbook in one SQLite file that several programs may write to at
// the same time.
//
// An entry is one row, its canonical text; nothing of it is kept twice. Append returns
// when the entry is on the disk: write-ahead log, synchronous FULL, so that a program or a
// machine that stops at any moment loses nothing that was acknowledged and leaves nothing
// half there. The file itself refuses to change or delete a row. It must lie on a local
// disk: write-ahead logs do not work over a network share.
//
// Tables are made by the steps in this folder, in one transaction with the number of the
// last step in the file's header (user_version), which a reader can see without writing.
// A library for that (goose v3.29.0 was weighed) would bring three modules and 0.9 MB for
// one table of its own, in which it writes the clock's time. A file of a newer program is
// refused in a plain sentence.
//
// The package decides nothing about entries; package logbook does.
package sqlite

import (
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	_ "modernc.org/sqlite" // the driver

	"headstock/logbook"
)

//go:embed *.sql
var steps embed.FS

// mark says in the file's header that it is a logbook: "HSLB".
const mark = 0x48534C42

// patience is how long a program waits for another one that writes.
const patience = 20 * time.Second

// Store is a logbook in a file; it is a logbook.Store. Several goroutines may use it.
type Store struct {
	db   *sql.DB
	path string
}

// Open opens a logbook, and makes it when there is none at the path; the folder must be
// there. An older file is brought up to date. A file that is no logbook, or one of a newer
// program, is refused and left as it is.
func Open(path string) (*Store, error) {
	if st, err := os.Stat(filepath.Dir(path)); err != nil || !st.IsDir() {
		return nil, fmt.Errorf("%s: there is no folder %s to keep the logbook in", path, filepath.Dir(path))
	}
	s, err := open(path, "rwc")
	if err != nil {
		return nil, err
	}
	if err := s.update(); err != nil {
		s.db.Close()
		return nil, err
	}
	return s, nil
}

// Read opens a logbook that is there, without making or changing anything in it.
func Read(path string) (*Store, error) {
	if st, err := os.Stat(path); err != nil || st.IsDir() {
		return nil, fmt.Errorf("%s: there is no logbook", path)
	}
	s, err := open(path, "rw") // a write-ahead log that another program left must be read in
	if err != nil {
		return nil, err
	}
	version, err := s.version(s.db)
	if err == nil && version < newest() {
		err = fmt.Errorf("%s: the logbook is of an older program (tables %d, this one has %d); any command that writes to it brings it up to date", path, version, newest())
	}
	if err != nil {
		s.db.Close()
		return nil, err
	}
	return s, nil
}

func open(path, mode string) (*Store, error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	q := url.Values{"mode": {mode}, "_txlock": {"immediate"}, "_dqs": {"0"}, "_defensive": {"1"}}
	q.Add("_pragma", fmt.Sprintf("busy_timeout(%d)", patience.Milliseconds()))
	q.Add("_pragma", "foreign_keys(1)")
	q.Add("_pragma", "synchronous(FULL)")
	name := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(full), RawQuery: q.Encode()}
	db, err := sql.Open("sqlite", name.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1) // one program writes one entry at a time; other programs are waited for
	return &Store{db: db, path: path}, nil
}

// newest is the number of the last step that this program knows.
func newest() int {
	names, _ := fs.Glob(steps, "*.sql")
	return len(names)
}

type querier interface {
	QueryRow(query string, args ...any) *sql.Row
}

// version is the last step that made the file's tables; 0 for a new file. It refuses what
// is no logbook and what is newer than this program.
func (s *Store) version(q querier) (int, error) {
	var id, version, tables int
	err := q.QueryRow("SELECT (SELECT application_id FROM pragma_application_id), (SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema)").Scan(&id, &version, &tables)
	switch {
	case err != nil:
		return 0, s.plain(err)
	case tables == 0 && version == 0:
		return 0, nil
	case id != mark:
		return 0, fmt.Errorf("%s: this is a database, but no logbook", s.path)
	case version > newest():
		return 0, fmt.Errorf("%s: the logbook was written by a newer program (tables %d, this one knows %d); use that one, nothing was changed", s.path, version, newest())
	}
	return version, nil
}

// update makes what tables are missing, all or none.
func (s *Store) update() error {
	version, err := s.version(s.db)
	if err != nil || version == newest() {
		return err
	}
	if err := s.writeAhead(); err != nil {
		return err
	}
	tx, err := s.db.Begin()
	if err != nil {
		return s.plain(err)
	}
	defer tx.Rollback()
	if version, err = s.version(tx); err != nil { // another program may have been faster
		return err
	}
	names, _ := fs.Glob(steps, "*.sql") // sorted
	for _, name := range names[version:] {
		step, err := steps.ReadFile(name)
		if err != nil {
			return err
		}
		if _, err := tx.Exec(string(step)); err != nil {
			return fmt.Errorf("%s: %s: %w", s.path, name, err)
		}
	}
	if _, err := tx.Exec(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", mark, len(names))); err != nil {
		return s.plain(err)
	}
	return s.plain(tx.Commit())
}

// writeAhead puts the file into the mode of a write-ahead log, in which it stays. That
// cannot be done within a transaction, and SQLite does not wait for other programs that do
// it at the same moment; so when one is in the way, a transaction of our own is begun,
// which waits for it, and dropped again.
func (s *Store) writeAhead() error {
	for try := 0; ; try++ {
		_, err := s.db.Exec("PRAGMA journal_mode = WAL")
		if err == nil || !busy(err) || try == 100 {
			return s.plain(err)
		}
		tx, err := s.db.Begin()
		if err != nil {
			return s.plain(err)
		}
		tx.Rollback()
	}
}

// busy says that another program was in the way.
func busy(err error) bool { return strings.Contains(err.Error(), "SQLITE_BUSY") }

// plain says what SQLite said, in words.
func (s *Store) plain(err error) error {
	if err == nil {
		return nil
	}
	text := err.Error()
	switch {
	case strings.Contains(text, "file is not a database"):
		return fmt.Errorf("%s: this is no logbook", s.path)
	case strings.Contains(text, "malformed") || strings.Contains(text, "SQLITE_CORRUPT"):
		return fmt.Errorf("%s: the file is damaged (%w); restore a backup", s.path, err)
	case busy(err):
		return fmt.Errorf("%s: another program has held the logbook for %d s; nothing was written (%w)", s.path, int(patience.Seconds()), err)
	case strings.Contains(text, "unable to open") || strings.Contains(text, "readonly") || strings.Contains(text, "disk is full"):
		return fmt.Errorf("%s: the file cannot be written: %w", s.path, err)
	}
	return fmt.Errorf("%s: %w", s.path, err)
}

// Append adds an entry and returns when it is on the disk.
func (s *Store) Append(e logbook.Entry) (logbook.Entry, error) {
	tx, err := s.db.Begin() // holds the file against other writers from here on
	if err != nil {
		return e, s.plain(err)
	}
	defer tx.Rollback()
	find := func(where string) func(logbook.ID) (logbook.Entry, bool, error) {
		return func(id logbook.ID) (logbook.Entry, bool, error) {
			var body string
			err := tx.QueryRow("SELECT body FROM entries WHERE "+where+" = ?", id.String()).Scan(&body)
			if errors.Is(err, sql.ErrNoRows) {
				return logbook.Entry{}, false, nil
			}
			if err != nil {
				return logbook.Entry{}, false, s.plain(err)
			}
			found, err := logbook.ParseCanonical(body)
			return found, err == nil, err
		}
	}
	if err := logbook.Admit(e, find("id"), find("supersedes")); err != nil {
		return e, err
	}
	last, previous := 0, ""
	err = tx.QueryRow("SELECT number, hash FROM entries ORDER BY number DESC LIMIT 1").Scan(&last, &previous)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return e, s.plain(err)
	}
	sealed, body := logbook.Seal(e, last, previous)
	if _, err := tx.Exec("INSERT INTO entries (number, body, hash) VALUES (?, ?, ?)", sealed.Number, string(body), sealed.Hash); err != nil {
		return e, s.plain(err)
	}
	if err := tx.Commit(); err != nil {
		return e, s.plain(err)
	}
	return sealed, nil
}

// page is how many rows are taken from the file at a time, as one text: a row by itself
// costs the driver more than reading it does. Entries are only ever added behind the last
// one, so pages fit together whatever is written meanwhile.
const page = 1000

// List gives the entries that pass the filter, by number.
func (s *Store) List(f logbook.Filter) ([]logbook.Entry, error) {
	where := ""
	var args []any
	if f.Unit != "" {
		where += " AND number IN (SELECT number FROM units WHERE unit = ?)"
		args = append(args, f.Unit)
	}
	if len(f.Kinds) > 0 {
		where += " AND kind IN (?" + strings.Repeat(", ?", len(f.Kinds)-1) + ")"
		for _, k := range f.Kinds {
			args = append(args, string(k))
		}
	}
	// times in UTC with whole seconds are in the order of their texts
	if !f.From.IsZero() {
		where += " AND at >= ?"
		args = append(args, f.From.UTC().Add(time.Second-1).Format("2006-01-02T15:04:05Z"))
	}
	if !f.To.IsZero() {
		where += " AND at <= ?"
		args = append(args, f.To.UTC().Format("2006-01-02T15:04:05Z"))
	}
	var out []logbook.Entry
	if where == "" { // all of them; else nobody knows how many
		last := 0
		if err := s.db.QueryRow("SELECT coalesce(max(number), 0) FROM entries").Scan(&last); err != nil {
			return nil, s.plain(err)
		}
		if last > f.After {
			out = make([]logbook.Entry, 0, last-f.After)
		}
	}
	// a body holds no line break: its own are written as \n
	query, err := s.db.Prepare("SELECT count(*), coalesce(group_concat(hash || ' ' || body, char(10)), '') FROM (SELECT hash, body FROM entries WHERE number > ?" + where + " ORDER BY number LIMIT ?)")
	if err != nil {
		return nil, s.plain(err)
	}
	defer query.Close()
	for after, n := f.After, page; n == page; {
		var rows string
		if err := query.QueryRow(slices.Concat([]any{after}, args, []any{page})...).Scan(&n, &rows); err != nil {
			return nil, s.plain(err)
		}
		for row := range strings.SplitSeq(rows, "\n") {
			if row == "" {
				continue
			}
			hash, body, _ := strings.Cut(row, " ")
			e, err := logbook.ParseCanonical(body)
			if err != nil {
				return nil, fmt.Errorf("%s: an entry cannot be read: %w; see log check", s.path, err)
			}
			if e.Number <= after {
				return nil, fmt.Errorf("%s: entry %d comes after entry %d; see log check", s.path, e.Number, after)
			}
			e.Hash, after = hash, e.Number
			out = append(out, e)
		}
	}
	return out, nil
}

// Close closes the file.
func (s *Store) Close() error { return s.db.Close() }
