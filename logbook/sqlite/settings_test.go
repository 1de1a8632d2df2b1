package sqlite

import (
	"path/filepath"
	"testing"
)

// What the promise of Append rests on is set on the connection itself, not left to the
// driver: written through to the disk at each commit, references held, others waited for.
func TestSettingsOfAConnection(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.db")
	for _, how := range []func(string) (*Store, error){Open, Read} {
		s, err := how(path)
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "20000", "application_id": "1213418562", "user_version": "1"} {
			var got string
			if err := s.db.QueryRow("PRAGMA " + name).Scan(&got); err != nil || got != want {
				t.Errorf("%s is %s, want %s (%v)", name, got, want, err)
			}
		}
		s.Close()
	}
}
