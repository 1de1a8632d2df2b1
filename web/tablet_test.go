package web_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"io/fs"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"headstock/demo"
	"headstock/logbook"
	"headstock/web"
	"headstock/web/tablet"
)

// list is what the service worker is told to take over, and its version.
func list(t *testing.T, s *web.Site) (assets []string, version string) {
	t.Helper()
	res, body := gets(t, s.Handler(), "/worker.js")
	m := regexp.MustCompile(`^const version = "([0-9a-f]{16})";\nconst assets = (\[.*\]);\n`).FindStringSubmatch(body)
	if res.StatusCode != 200 || m == nil {
		t.Fatalf("status %d: %.200s", res.StatusCode, body)
	}
	if err := json.Unmarshal([]byte(m[2]), &assets); err != nil {
		t.Fatal(err)
	}
	if csp := res.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "'wasm-unsafe-eval'") || strings.Contains(csp, "'unsafe-") {
		t.Errorf("the worker's policy: %s", csp)
	}
	return assets, m[1]
}

// Everything that a browser is told to take over is there, since one address that is
// missing leaves it with nothing; and nothing that a page names is left out.
func TestTakeOver(t *testing.T) {
	s := tabletSite(t)
	assets, version := list(t, s)
	for _, a := range assets {
		if res, body := gets(t, s.Handler(), a); res.StatusCode != 200 || len(body) == 0 {
			t.Errorf("%s: status %d, %d bytes", a, res.StatusCode, len(body))
		}
	}
	names, err := filepath.Glob("static/*")
	if err != nil || len(names) < 5 {
		t.Fatal(names, err)
	}
	for _, n := range names {
		if b := filepath.Base(n); b != "worker.js" && !slices.ContainsFunc(assets, func(a string) bool { return strings.HasPrefix(a, "/"+b+"?v=") }) {
			t.Errorf("%s is not taken over", n)
		}
	}
	named := regexp.MustCompile(`(?:src|href|data-worker)="(/[a-z-]+\.(?:js|css)[^"]*)"`)
	seen := 0
	for _, p := range everyPage() {
		_, body := gets(t, s.Handler(), p[1])
		for _, m := range named.FindAllStringSubmatch(body, -1) {
			seen++
			if !slices.Contains(assets, m[1]) {
				t.Errorf("%s names %s, which is not taken over", p[0], m[1])
			}
		}
		// no page may run what it fetched; the workers may
		if res, _ := gets(t, s.Handler(), p[1]); strings.Contains(res.Header.Get("Content-Security-Policy"), "wasm") {
			t.Errorf("%s may run a program", p[0])
		}
	}
	if seen < 2*len(everyPage()) {
		t.Errorf("%d names of scripts and style sheets on %d pages", seen, len(everyPage()))
	}
	if _, again := list(t, tabletSite(t)); again != version {
		t.Error("the same program and records have two versions")
	}
	// without the program there is nothing to take over, and the pages say so
	bare := site(t)
	if res, _ := gets(t, bare.Handler(), "/worker.js"); res.StatusCode != 404 {
		t.Errorf("a worker without a program: status %d", res.StatusCode)
	}
	for _, p := range []string{"/tablet", at("/bench", "consist", pairText)} {
		if _, body := gets(t, bare.Handler(), p); !strings.Contains(body, "make tablet") {
			t.Errorf("%s does not say what is missing", p)
		}
	}
}

// The program is sent as the browser can unpack it.
func TestEngineCodings(t *testing.T) {
	h := tabletSite(t).Handler()
	sizes := map[string]int{}
	for _, can := range []string{"gzip, deflate, br", "gzip", ""} {
		r := httptest.NewRequest("GET", "/tablet/engine.wasm", nil)
		r.Header.Set("Accept-Encoding", can)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		sizes[w.Header().Get("Content-Encoding")] = w.Body.Len()
		if w.Header().Get("Content-Type") != "application/wasm" {
			t.Errorf("%q: %s", can, w.Header().Get("Content-Type"))
		}
		if w.Header().Get("Content-Encoding") != "br" {
			var from io.Reader = w.Body
			if can != "" {
				z, err := gzip.NewReader(w.Body)
				if err != nil {
					t.Fatal(err)
				}
				from = z
			}
			head := make([]byte, 4)
			if _, err := io.ReadFull(from, head); err != nil || !bytes.Equal(head, []byte("\x00asm")) {
				t.Errorf("%q: begins %q, %v", can, head, err)
			}
		}
		if tag := w.Header().Get("ETag"); tag != "" {
			r.Header.Set("If-None-Match", tag)
			w := httptest.NewRecorder()
			if h.ServeHTTP(w, r); w.Code != 304 {
				t.Errorf("%q asked again: status %d", can, w.Code)
			}
		}
	}
	if !(sizes["br"] < sizes["gzip"] && sizes["gzip"] < sizes[""]/3) {
		t.Errorf("sizes %v", sizes)
	}
}

// What is taken over is the files that the records are read from, and no other; the site
// made of it answers the same, with the logbook as it was and without a word of the server.
func TestTakenOver(t *testing.T) {
	railway := fstest.MapFS{"notes/private.txt": {Data: []byte("nobody's business")}, "logbook.db": {Data: []byte("nobody's business")}}
	if err := copyInto(railway); err != nil {
		t.Fatal(err)
	}
	book := &logbook.Memory{}
	built, ok := tablet.Files()
	if !ok {
		tabletSite(t) // says what is missing
	}
	now := func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }
	s, complaints := web.New(web.Config{Fleet: railway, Saved: []string{pairText}, Book: book, Version: "test", Now: now, Tablet: built})
	if len(complaints) > 0 {
		t.Fatal(complaints)
	}
	_, zip := gets(t, s.Handler(), "/tablet/railway.zip")
	_, log := gets(t, s.Handler(), "/tablet/logbook.json")
	if strings.Contains(zip, "private.txt") || strings.Contains(zip, "logbook.db") || !strings.Contains(zip, "units.yaml") {
		t.Error("what is taken over is not what the records are read from")
	}
	alone, err := web.TakenOver([]byte(zip), []byte(log), nil, now, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{at("/coupling", "consist", pairText), at("/walk", "class", "Kite 11"), "/log", at("/drift", "unit", "Tern 3")} {
		_, body := gets(t, alone.Handler(), p)
		if !strings.Contains(body, "No signal") || !strings.Contains(body, "logbook as it was at 2026-11-25 02:00 UTC") {
			t.Errorf("%s does not say that no server answers", p)
		}
		if strings.Contains(body, "runs for this answer are being made") {
			t.Errorf("%s is shown before its runs are made", p)
		}
	}
	for _, c := range [][2]string{{"", ""}, {zip[:len(zip)/2], ""}, {zip, "{"}, {zip, `{"kept":true,"entries":["x"]}`}} {
		if _, err := web.TakenOver([]byte(c[0]), []byte(c[1]), nil, now, nil); err == nil {
			t.Errorf("what is broken is taken: %.20q %.20q", c[0], c[1])
		}
	}
}

// copyInto puts the demo railway into a folder in memory.
func copyInto(m fstest.MapFS) error {
	from := demo.Railway()
	return fs.WalkDir(from, ".", func(n string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(from, n)
		m[n] = &fstest.MapFile{Data: b}
		return err
	})
}

// mostFirst is how much a browser fetches at its first visit until it can answer by itself,
// bytes as they are sent. The program packed as usual is 1.14 times as large as packed for a
// release (make build), which is what goes out.
const (
	mostFirst = 3_000_000
	asUsual   = 1.14
)

// The first load stays within its bound.
func TestFirstLoad(t *testing.T) {
	s := tabletSite(t)
	assets, _ := list(t, s)
	total := 0
	for _, a := range append(assets, "/", "/worker.js", "/tablet/logbook.json", "/tablet/choices.json") {
		r := httptest.NewRequest("GET", a, nil)
		r.Header.Set("Accept-Encoding", "gzip, deflate, br")
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r)
		total += w.Body.Len()
		t.Logf("%8d %s", w.Body.Len(), a)
	}
	built, _ := tablet.Files()
	note, err := fs.ReadFile(built, "packed")
	if err != nil {
		t.Fatal(err)
	}
	most := mostFirst
	if !strings.Contains(string(note), "release") {
		most = int(mostFirst * asUsual)
	}
	t.Logf("%8d in all, of at most %d", total, most)
	if total > most {
		t.Errorf("the first load is %d bytes, over %d: see what the program for the browser holds that it need not (internal/pack)", total, most)
	}
}
