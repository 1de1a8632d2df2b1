package web

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"html/template"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"time"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/line"
	"headstock/logbook"
	"headstock/quantity"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
	"headstock/web/tablet"
)

//go:embed templates static openapi.json
var files embed.FS

// Config is what a site needs from the door that serves it.
type Config struct {
	Fleet   fs.FS                      // the railway's folder
	Saved   []string                   // consists that everybody is offered; the first is the example
	Book    logbook.Store              // nil: no logbook
	NewID   func() (logbook.ID, error) // of a new entry of the logbook; nil: nothing is written to it
	Now     func() time.Time           // for “today”; never nil
	Log     *slog.Logger               // nil: nothing is logged
	Version string
	Hosts   []string // names and addresses it is asked by; empty: any
	AtOnce  int      // runs made at once; below 1 is 1
	Runner  string   // which program runs the fleet matrix: another one may answer otherwise
	Search  int      // runs of a search made side by side, behind the pages; 0: nothing is searched
	Results Results  // keeps those runs; nil: in memory
	Tablet  fs.FS    // what a browser takes over, as tablet.Files gives it; nil: nothing
	Base    string   // address at which others reach the site, https://depot.example:8443: what square codes carry; "": they carry none
	Build   string   // sum of the source that this program was built from; "": not known
	Root    []byte   // certificate that a device is told to trust, DER; nil: none
	Alone   string   // said at the head of every page of a site that answers with no signal; "": a server answers
	Turn    func()   // called between the steps of a run, where one thread does everything; nil: not
}

// Site is the pages of one railway.
type Site struct {
	fleet     *fleet.Fleet
	rules     *rule.Rules
	line      *line.Line
	store     logbook.Store
	now       func() time.Time
	log       *slog.Logger
	version   string
	hosts     []string
	saved     []string
	example   string
	questions []question
	works     *works
	pages     *template.Template
	newID     func() (logbook.ID, error)
	writing   sync.Mutex // one entry at a time is held against the logbook and added to it
	scripts   map[string]script
	tablet    fs.FS
	railway   []byte // the records as a browser takes them over
	packed    []byte // and as they are sent
	alone     string
	root      []byte
	searches  *searches
	carried   map[string]*setup.Brief // searches that were carried over, by consist
	closers   []func()
	matrices  matrices
	runner    string // which program runs the fleet matrix
	turn      func()
	base      string
	build     string // sum of the source of this program
	program   string // and of that which a browser takes over
}

// New reads the railway and makes its site. It gives every complaint of the records; with
// any there is no site.
func New(c Config) (*Site, []reading.Complaint) {
	s := &Site{store: c.Book, now: c.Now, log: c.Log, newID: c.NewID, version: c.Version, hosts: c.Hosts, questions: questions(), tablet: c.Tablet, alone: c.Alone, root: c.Root, turn: c.Turn, build: c.Build, runner: c.Runner, base: strings.TrimRight(c.Base, "/")}
	folder, read, books := noting(c.Fleet)
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	var more []reading.Complaint
	var complaints []reading.Complaint
	s.fleet, complaints = fleet.Read(folder)
	s.rules, more = rule.Read(folder)
	complaints = append(append(complaints, more...), s.rules.Against(s.fleet)...)
	s.line, more = readLine(folder)
	if complaints = append(complaints, more...); len(complaints) > 0 {
		return nil, complaints
	}
	for _, t := range c.Saved {
		if x, err := consist.Parse(s.fleet, t); err == nil {
			s.saved = append(s.saved, t)
			if s.example == "" {
				s.example = x.String()
			}
		}
	}
	if len(s.saved) > 0 {
		s.example = s.saved[0]
	}
	s.works = newWorks(c.AtOnce, func(question string, what any, stack []byte) {
		s.log.Error("a question could not be worked out", "question", strings.ReplaceAll(question, "\x00", " | "), "what", what, "stack", string(stack))
	})
	s.searches = newSearches(s, c.Search, c.Results)
	s.scripts = scripts()
	if !inBrowser && s.tablet != nil {
		var err error
		if s.railway, err = read.pack(about{c.Version, s.base, s.saved, books}); err != nil {
			s.log.Error("the records cannot be packed for a browser", "error", err)
			s.tablet = nil
		}
		s.packed = gzipped(s.railway)
	}
	if s.tablet != nil {
		b, _ := fs.ReadFile(s.tablet, tablet.Build)
		s.program = strings.TrimSpace(string(b))
	}
	s.pages = parsed()
	return s, nil
}

// Warm works out what is lost and shown for the saved consists, so that they are there
// when somebody asks.
func (s *Site) Warm() {
	for _, t := range s.saved {
		q := &asked{Values: url.Values{"consist": {t}}, s: s, ctx: context.Background()}
		if c, err := q.consist(); err == nil {
			if ck, err := q.checked(c); err == nil {
				_, _ = q.slips(c, ck.Proof)
			}
		}
	}
}

// patience is how long a page and an answer as JSON wait for runs.
const (
	pagePatience   = 20 * time.Millisecond
	reckonPatience = 40 * time.Millisecond // where nothing but a reckoning of some 25 ms stands before the page
	jsonPatience   = 25 * time.Second

	// a browser that answers itself is some times slower, and its pages are better come whole
	// than quickly; it ends what it answers for longer than five minutes
	alonePatience     = 3 * time.Second
	aloneFilePatience = 4 * time.Minute
)

// conditions are those of every run whose answer is a page or JSON.
func (s *Site) conditions() trial.Conditions { return trial.Conditions{Turn: s.turn} }

// inBrowser is whether this is the program for the browser. Being a constant, what it never
// does there is left out of that program.
const inBrowser = runtime.GOOS == "js"

// aloneKey marks a request that is answered with no server.
type aloneKey struct{}

// Handler answers every address of the site. It holds what a browser may do with the pages
// to what they need, and refuses what comes from another site's page.
func (s *Site) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.home)
	s.tabletRoutes(mux)
	mux.HandleFunc("GET /favicon.ico", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	mux.HandleFunc("GET /healthz", s.health)
	mux.HandleFunc("GET /couple", s.couple)
	mux.HandleFunc("GET /unit", s.unitPage)
	mux.HandleFunc("GET /class", s.classPage)
	mux.HandleFunc("GET /card", s.cardPage)
	mux.HandleFunc("GET /test", s.sheetPage)
	mux.HandleFunc("POST /test", s.sheetPage)
	mux.HandleFunc("GET /questions", s.indexPage)
	mux.HandleFunc("GET /settings", s.settingsPage)
	mux.HandleFunc("POST /settings", s.settle)
	mux.HandleFunc("POST /keep", s.keep)
	for _, x := range s.questions {
		if !ownPage(x.path) {
			mux.HandleFunc("GET /"+x.path, s.answerPage(x))
		}
		mux.HandleFunc("GET /api/"+x.path, s.json(x))
		if x.posts {
			mux.HandleFunc("POST /api/"+x.path, s.json(x))
		}
	}
	s.deskRoutes(mux)
	mux.HandleFunc("GET /api/openapi.json", s.openAPI)
	mux.HandleFunc("/", s.nothing)
	var h http.Handler = mux
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusForbidden, "This was sent from another site's page, and is not taken.")
	}))
	h = cross.Handler(h)
	h = http.MaxBytesHandler(h, 256<<10)
	return s.guard(h)
}

// policy is what a browser lets a page do: show what the page and this server hold, run the
// scripts of this server, send forms here, and nothing else; a page fetches nothing.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// scripted is the policy of a page whose own script asks this server.
const scripted = policy + "; connect-src 'self'"

// guard sets what every answer carries, holds the host and the length of the address, and
// notes each request.
func (s *Site) guard(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begin := s.now()
		if s.alone != "" {
			r = r.WithContext(context.WithValue(r.Context(), aloneKey{}, true))
		}
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "same-origin")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		head.Set("Cache-Control", "no-store")
		x := &noted{ResponseWriter: w}
		defer func() {
			if what := recover(); what != nil {
				if what == http.ErrAbortHandler {
					panic(what)
				}
				s.log.Error("a page could not be made", "path", r.URL.Path, "what", what, "stack", string(debug.Stack()))
				if x.status == 0 {
					http.Error(x, "this page could not be made; it has been noted", http.StatusInternalServerError)
				}
			}
			s.log.Info("asked", "method", r.Method, "path", r.URL.Path, "status", x.status, "bytes", x.bytes, "ms", float64(s.now().Sub(begin).Microseconds())/1000)
		}()
		switch {
		case !s.known(r.Host):
			s.refuse(x, r, http.StatusMisdirectedRequest, "This server does not answer by that name.")
		case len(r.URL.RequestURI()) > longestAddress:
			s.refuse(x, r, http.StatusRequestURITooLong, "That address is too long.")
		default:
			h.ServeHTTP(x, r)
		}
	})
}

// known reports whether the site is asked by a name it answers to. A page from elsewhere
// that has its own name pointed at this machine is refused by it.
func (s *Site) known(host string) bool {
	if len(s.hosts) == 0 {
		return true
	}
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.Trim(host, "[]")
	return slices.ContainsFunc(s.hosts, func(h string) bool { return strings.EqualFold(h, host) })
}

// noted keeps the status and the length of an answer.
type noted struct {
	http.ResponseWriter
	status, bytes int
}

func (n *noted) WriteHeader(code int) {
	if n.status == 0 {
		n.status = code
	}
	n.ResponseWriter.WriteHeader(code)
}

func (n *noted) Write(b []byte) (int, error) {
	if n.status == 0 {
		n.status = http.StatusOK
	}
	k, err := n.ResponseWriter.Write(b)
	n.bytes += k
	return k, err
}

// Unwrap lets the server reach what it wrapped.
func (n *noted) Unwrap() http.ResponseWriter { return n.ResponseWriter }

// health says that the site answers, and what it is.
func (s *Site) health(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, http.StatusOK, healthValues{"ok", s.version, s.build, s.program, s.fleet.Railway, len(s.fleet.Classes), len(s.fleet.Units)})
}

type healthValues struct {
	Status  string `json:"status"`
	Version string `json:"version"`
	Build   string `json:"build"`   // sum of the source of this program; "": not known
	Program string `json:"program"` // and of the program that tablets take over; "": none
	Railway string `json:"railway"`
	Classes int    `json:"classes"`
	Units   int    `json:"units"`
}

// refuse answers what is not taken, as JSON under /api and as a page elsewhere.
func (s *Site) refuse(w http.ResponseWriter, r *http.Request, code int, text string) {
	if strings.HasPrefix(r.URL.Path, "/api/") {
		writeJSON(w, code, problem{Caution: card.Caution, Error: text})
		return
	}
	s.show(w, r, code, "message", messagePage{frame: s.frame(r, "Not answered"), Text: text})
}

func (s *Site) nothing(w http.ResponseWriter, r *http.Request) {
	s.refuse(w, r, http.StatusNotFound, "There is no page of that address.")
}

// show writes a page, whole or not at all.
func (s *Site) show(w http.ResponseWriter, r *http.Request, code int, name string, page any) {
	var b bytes.Buffer
	if err := s.pages.ExecuteTemplate(&b, name, page); err != nil {
		s.log.Error("a page could not be written", "page", name, "error", err)
		http.Error(w, "this page could not be written; it has been noted", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(code)
	if r.Method != http.MethodHead {
		_, _ = w.Write(b.Bytes())
	}
}

// parsed are the templates.
func parsed() *template.Template {
	return template.Must(template.New("").Funcs(functionsOfPages()).ParseFS(files, "templates/*.html"))
}

// statusOf is the HTTP status of an error and whether the answer may come later.
func statusOf(err error) (code int, later bool) {
	switch {
	case errors.Is(err, errRunning):
		return http.StatusOK, true
	case errors.Is(err, errBusy):
		return http.StatusServiceUnavailable, true
	}
	return http.StatusBadRequest, false
}

// unitsOf are the units that whoever asks has chosen.
func unitsOf(r *http.Request) quantity.Units {
	if c, err := r.Cookie("units"); err == nil {
		if u, ok := quantity.UnitsNamed(c.Value); ok {
			return u
		}
	}
	return quantity.Metric()
}
