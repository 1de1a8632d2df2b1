package main

import (
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"time"

	"headstock/web"
)

// mostKept is how many bytes of runs a folder keeps; of more, the files that were opened
// longest ago are taken away.
const mostKept = 1 << 30

// keptRuns is a folder in which the pages keep what they have run: a file a search, and
// one of the fleet matrix.
type keptRuns struct {
	folder string
	most   int64
}

// keptIn is such a folder, made where it is not there; without a name none.
func keptIn(folder string) (web.Results, error) {
	if folder == "" {
		return nil, nil
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, unreadable(err)
	}
	return keptRuns{folder, mostKept}, nil
}

// keptFile is the name of a file of such a folder; no other file there is touched.
var keptFile = regexp.MustCompile(`^(?:[0-9a-f]{32}|fleet-matrix)\.jsonl$`)

func (k keptRuns) Open(name string) (io.ReadCloser, io.WriteCloser, error) {
	file := name + ".jsonl"
	if !keptFile.MatchString(file) {
		return nil, nil, bad("%q is no name for what is kept", name)
	}
	k.makeRoom(file)
	path := filepath.Join(k.folder, file)
	after, before, err := resultsFile(path)
	if err != nil {
		return nil, nil, err
	}
	now := time.Now()
	_ = os.Chtimes(path, now, now) // kept the longer for it
	if st, err := os.Stat(path); err == nil && st.Size() == 0 {
		before.Close()
		return nil, after, nil
	}
	return before, after, nil
}

// makeRoom takes away what was opened longest ago, but the file that is to be opened.
func (k keptRuns) makeRoom(but string) {
	entries, err := os.ReadDir(k.folder)
	if err != nil {
		return
	}
	var all []os.FileInfo
	total := int64(0)
	for _, e := range entries {
		if st, err := e.Info(); err == nil && st.Mode().IsRegular() && keptFile.MatchString(e.Name()) {
			all = append(all, st)
			total += st.Size()
		}
	}
	slices.SortFunc(all, func(a, b os.FileInfo) int { return a.ModTime().Compare(b.ModTime()) })
	for _, st := range all {
		if total <= k.most {
			return
		}
		if st.Name() != but && os.Remove(filepath.Join(k.folder, st.Name())) == nil {
			total -= st.Size()
		}
	}
}
