package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/internal/drawing"
	"headstock/internal/reading"
	"headstock/logbook"
	"headstock/quantity"
	"headstock/web/tablet"
)

// script is a file of static as a browser fetches it.
type script struct {
	address string // with its sum
	text    []byte
	packed  []byte // by gzip
	kind    string
}

// The worker that answers with no signal; its text has the list of what it keeps put
// before it.
const serviceWorker = "worker.js"

// scripts are the files of static by name, but for the service worker.
func scripts() map[string]script {
	out := map[string]script{}
	names, _ := fs.Glob(files, "static/*")
	for _, n := range names {
		b, _ := files.ReadFile(n)
		base := path.Base(n)
		kind := map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}[path.Ext(n)]
		if kind == "" || base == serviceWorker {
			continue
		}
		if base == "look.css" {
			b = append(b, drawing.Style()...)
		}
		sum := sha256.Sum256(b)
		out[base] = script{"/" + base + "?v=" + hex.EncodeToString(sum[:6]), b, gzipped(b), kind}
	}
	return out
}

// gzipped is a text packed by gzip.
func gzipped(text []byte) []byte {
	if inBrowser {
		return nil // its worker has them
	}
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // a level that there is
	_, _ = z.Write(text)                                  // into memory: neither fails
	_ = z.Close()
	return b.Bytes()
}

// workerPolicy is what a worker may do: fetch from here, and run the program that it
// fetched. No page may.
const workerPolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'"

// The addresses of what a browser takes over.
const (
	engineAt  = "/tablet/engine.wasm"
	startAt   = "/tablet/wasm_exec.js"
	railwayAt = "/tablet/railway.zip"
	logbookAt = "/tablet/logbook.json"
	choicesAt = "/tablet/choices.json"
	searchAt  = "/tablet/searched.json"
)

// takeOver are the addresses that a browser needs for when there is no signal, with the sum
// of all of their content.
func (s *Site) takeOver() (addresses []string, version string) {
	sum := sha256.New()
	for _, n := range s.scriptNames() {
		addresses = append(addresses, s.scripts[n].address)
		fmt.Fprintf(sum, "%s\n", s.scripts[n].address)
	}
	for _, n := range []string{tablet.Brotli, tablet.Start} {
		hashFile(sum, s.tablet, n)
	}
	_, _ = sum.Write(s.railway)
	return append(addresses, engineAt, startAt, railwayAt), hex.EncodeToString(sum.Sum(nil)[:8])
}

func hashFile(sum hash.Hash, fsys fs.FS, name string) {
	f, err := fsys.Open(name)
	if err != nil {
		return
	}
	defer f.Close()
	_, _ = io.Copy(sum, f)
}

func (s *Site) scriptNames() []string {
	var out []string
	for n := range s.scripts {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// tabletRoutes are the addresses of scripts and of what a browser takes over.
func (s *Site) tabletRoutes(mux *http.ServeMux) {
	for n, x := range s.scripts {
		mux.HandleFunc("GET /"+n, func(w http.ResponseWriter, r *http.Request) {
			if strings.HasSuffix(n, "-worker.js") {
				w.Header().Set("Content-Security-Policy", workerPolicy)
			}
			if r.URL.RequestURI() == x.address {
				w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
			}
			w.Header().Set("Content-Type", x.kind)
			w.Header().Set("Vary", "Accept-Encoding")
			if x.packed != nil && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
				w.Header().Set("Content-Encoding", "gzip")
				_, _ = w.Write(x.packed)
				return
			}
			_, _ = w.Write(x.text)
		})
	}
	mux.HandleFunc("GET /bench", s.benchPage)
	mux.HandleFunc("GET /tablet", s.tabletPage)
	mux.HandleFunc("GET /takeaway", s.takeaway)
	mux.HandleFunc("GET /certificate", s.certificatePage)
	mux.HandleFunc("GET /certificate/root.crt", s.rootCertificate)
	if inBrowser || s.tablet == nil {
		return
	}
	mux.HandleFunc("GET /"+serviceWorker, s.workerScript)
	mux.HandleFunc("GET "+engineAt, s.engine)
	mux.HandleFunc("GET "+startAt, func(w http.ResponseWriter, r *http.Request) {
		const kind = "text/javascript; charset=utf-8"
		b, err := fs.ReadFile(s.tablet, tablet.Start)
		if err == nil && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			w.Header().Set("Content-Encoding", "gzip")
			w.Header().Set("Vary", "Accept-Encoding")
			s.unchanged(w, r, gzipped(b), kind)
			return
		}
		s.part(w, r, tablet.Start, kind, "")
	})
	mux.HandleFunc("GET "+railwayAt, func(w http.ResponseWriter, r *http.Request) {
		if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			w.Header().Set("Content-Encoding", "gzip")
			w.Header().Set("Vary", "Accept-Encoding")
			s.unchanged(w, r, s.packed, "application/zip")
			return
		}
		s.unchanged(w, r, s.railway, "application/zip")
	})
	mux.HandleFunc("GET "+logbookAt, s.sendLog)
	mux.HandleFunc("GET "+searchAt, s.sendSearched)
	mux.HandleFunc("GET "+choicesAt, func(w http.ResponseWriter, r *http.Request) {
		out := map[string]string{}
		for _, name := range []string{"units", "look", "consists"} {
			if c, err := r.Cookie(name); err == nil {
				out[name] = c.Value
			}
		}
		writeJSON(w, http.StatusOK, out)
	})
	mux.HandleFunc("POST "+choicesAt, s.takeChoices)
}

// takeChoices keeps what was chosen in a browser with no signal, as the forms would have.
func (s *Site) takeChoices(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		writeJSON(w, http.StatusBadRequest, problem{Error: "that form cannot be read"})
		return
	}
	taken := map[string]string{}
	for name := range r.PostForm {
		v := r.PostForm.Get(name)
		switch name {
		case "units":
			if u, ok := quantity.UnitsNamed(v); ok {
				taken[name] = u.Name()
				continue
			}
		case "look":
			if v == "" || slices.Contains(looks(), v) {
				taken[name] = v
				continue
			}
		case "consists":
			if list, ok := consistsOf(v); ok {
				taken[name] = asCookie(slices.DeleteFunc(list, func(t string) bool { return !s.keeps(t) }))
				continue
			}
		}
		writeJSON(w, http.StatusBadRequest, problem{Error: fmt.Sprintf("%s cannot be %s; expected units, look or consists as the pages keep them", reading.Short(name), reading.Short(v))})
		return
	}
	for name, v := range taken {
		keepCookie(w, r, name, v)
	}
	writeJSON(w, http.StatusOK, taken)
}

// unchanged sends a file unless the browser holds it already.
func (s *Site) unchanged(w http.ResponseWriter, r *http.Request, text []byte, kind string) {
	sum := sha256.Sum256(text)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	head := w.Header()
	head.Set("Content-Type", kind)
	head.Set("Cache-Control", "no-cache")
	head.Set("ETag", tag)
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	_, _ = w.Write(text)
}

func (s *Site) part(w http.ResponseWriter, r *http.Request, name, kind, coding string) {
	b, err := fs.ReadFile(s.tablet, name)
	if err != nil {
		s.refuse(w, r, http.StatusNotFound, "The program for the browser is not here.")
		return
	}
	if coding != "" {
		w.Header().Set("Content-Encoding", coding)
		w.Header().Set("Vary", "Accept-Encoding")
	}
	s.unchanged(w, r, b, kind)
}

// engine sends the program packed as the browser can unpack it.
func (s *Site) engine(w http.ResponseWriter, r *http.Request) {
	const kind = "application/wasm"
	can := r.Header.Get("Accept-Encoding")
	switch {
	case strings.Contains(can, "br"):
		s.part(w, r, tablet.Brotli, kind, "br")
	case strings.Contains(can, "gzip"):
		s.part(w, r, tablet.Gzip, kind, "gzip")
	default:
		b, err := fs.ReadFile(s.tablet, tablet.Gzip)
		var z *gzip.Reader
		if err == nil {
			z, err = gzip.NewReader(bytes.NewReader(b))
		}
		if err != nil {
			s.refuse(w, r, http.StatusNotFound, "The program for the browser is not here.")
			return
		}
		w.Header().Set("Content-Type", kind)
		_, _ = io.Copy(w, z)
	}
}

// workerScript is the service worker with the list of what it keeps.
func (s *Site) workerScript(w http.ResponseWriter, r *http.Request) {
	b, _ := files.ReadFile("static/" + serviceWorker)
	addresses, version := s.takeOver()
	list, _ := json.Marshal(addresses)
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Content-Security-Policy", workerPolicy)
	w.Header().Set("Cache-Control", "no-cache")
	text := append(fmt.Appendf(nil, "const version = %q;\nconst assets = %s;\nconst build = %q;\n", version, list, s.program), b...)
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		w.Header().Set("Content-Encoding", "gzip")
		w.Header().Set("Vary", "Accept-Encoding")
		text = gzipped(text)
	}
	_, _ = w.Write(text)
}

// sendLog is the logbook, whole, for a browser to take over.
func (s *Site) sendLog(w http.ResponseWriter, _ *http.Request) {
	out := sentLog{At: s.now().UTC().Truncate(1e9), Entries: []string{}}
	if s.store != nil {
		es, err := s.store.List(logbook.Filter{})
		if err != nil {
			writeJSON(w, http.StatusInternalServerError, problem{Error: "the logbook cannot be read"})
			return
		}
		out.Kept = true
		for _, e := range es {
			out.Entries = append(out.Entries, string(e.Canonical()))
		}
	}
	writeJSON(w, http.StatusOK, out)
}

// mostCarried is how many bytes of searches a browser takes over; a consist that does not
// fit any more is left out.
const mostCarried = 1 << 20

// sendSearched is what searches of the consists that this browser is offered came to, as
// far as they are made, for it to take over. None is begun for it.
func (s *Site) sendSearched(w http.ResponseWriter, r *http.Request) {
	out, size := []json.RawMessage{}, 0
	for _, t := range append(slices.Clone(s.saved), keptConsists(r)...) {
		c, err := consist.Parse(s.fleet, t)
		if err != nil {
			continue
		}
		if brief := s.searches.ready(c); brief != nil {
			b, err := json.Marshal(brief)
			if err == nil && size+len(b) <= mostCarried {
				out, size = append(out, b), size+len(b)
			}
		}
	}
	writeJSON(w, http.StatusOK, out)
}

// tabletShown is the page on what this browser holds.
type tabletShown struct {
	frame
	Known     bool   // whether the program is of the server's build
	Bytes     string // of what is taken over, packed
	Takeaways []link
}

func (s *Site) tabletPage(w http.ResponseWriter, r *http.Request) {
	p := tabletShown{frame: s.frame(r, "This tablet"), Known: s.alone != "" || s.program != "" && s.build != ""}
	if s.tablet != nil {
		n := len(s.packed)
		for _, f := range []string{tablet.Brotli, tablet.Start} {
			if st, err := fs.Stat(s.tablet, f); err == nil {
				n += int(st.Size())
			}
		}
		p.Bytes = fmt.Sprintf("%.1f MB", float64(n)/1e6)
	}
	for _, t := range s.saved {
		p.Takeaways = append(p.Takeaways, link{Text: t, To: address("/takeaway", "consist", t)})
	}
	for _, t := range keptConsists(r) {
		if !slices.Contains(s.saved, t) {
			p.Takeaways = append(p.Takeaways, link{Text: t, To: address("/takeaway", "consist", t)})
		}
	}
	s.show(w, r, http.StatusOK, "tablet", p)
}
