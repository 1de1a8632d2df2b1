package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"headstock/logbook"
	"headstock/logbook/sqlite"
	"headstock/web"
	"headstock/web/tablet"
)

// usualAddr is where the pages are served when nothing else is asked for.
const usualAddr = "127.0.0.1:8383"

// The bounds of one request and one answer, and of what is still going on at the end.
const (
	headWait   = 5 * time.Second
	readWait   = 15 * time.Second
	writeWait  = 60 * time.Second
	idleWait   = 2 * time.Minute
	drainWait  = 5 * time.Second
	mostHeader = 16 << 10
)

// server is what serve is told.
type server struct {
	addr, cert, key string
	base            string // address at which others reach it; "": not known
	logFile         string
	requests        bool
	kept            string // folder that keeps what was run
}

func (d *door) serve() *cobra.Command {
	var sv server
	c := &cobra.Command{
		Use: "serve", Args: cobra.NoArgs,
		Short: "the same answers as pages in a browser, on this machine",
		Long: "Serves the pages until it is told to stop, and prints their address. On this machine only, unless --cert and --key\n" +
			"are given: an address that other machines reach wants TLS. With --json what it notes of itself, on standard error, is JSON.",
		Example: "  headstock serve\n  headstock serve --addr 127.0.0.1:9000 --requests\n  headstock serve --fleet my-railway --addr 0.0.0.0:8443 --cert depot.crt --key depot.key --base https://depot.example:8443",
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			sv.base = d.printer.base
			return d.serveUntil(ctx, sv)
		},
	}
	c.Flags().StringVar(&sv.addr, "addr", usualAddr, "address and port to serve on; port 0 takes a free one")
	c.Flags().StringVar(&sv.cert, "cert", "", "certificate file, for TLS")
	c.Flags().StringVar(&sv.key, "key", "", "its key file")
	c.Flags().BoolVar(&sv.requests, "requests", false, "note every request on standard error")
	c.Flags().StringVar(&sv.kept, "keep", "", "folder that keeps what is run behind the pages (searches, the fleet matrix), so that a new start goes on from it; up to 1 GB")
	logFlag(c, &sv.logFile)
	return c
}

// serveUntil serves the pages until the context ends, and lets what is being answered end.
func (d *door) serveUntil(ctx context.Context, sv server) error {
	host, _, err := net.SplitHostPort(sv.addr)
	if err != nil {
		return bad("--addr wants an address and a port such as %s, found %q", usualAddr, sv.addr)
	}
	if (sv.cert == "") != (sv.key == "") {
		return bad("--cert and --key go together")
	}
	if sv.cert == "" && !loopback(host) {
		return bad("--addr %s can be reached by other machines, which wants TLS: give --cert and --key, or serve on %s", sv.addr, usualAddr)
	}
	if err := d.there(); err != nil {
		return err
	}
	var conf *tls.Config
	var root []byte
	hosts := []string{"localhost", "127.0.0.1", "::1", host}
	if sv.cert != "" {
		pair, err := tls.LoadX509KeyPair(sv.cert, sv.key)
		if err != nil {
			return bad("--cert, --key: %v", err)
		}
		leaf, err := x509.ParseCertificate(pair.Certificate[0])
		if err != nil {
			return bad("--cert: %v", err)
		}
		hosts = append(hosts, leaf.DNSNames...)
		for _, ip := range leaf.IPAddresses {
			hosts = append(hosts, ip.String())
		}
		if last, err := x509.ParseCertificate(pair.Certificate[len(pair.Certificate)-1]); err == nil && last.IsCA && last.CheckSignatureFrom(last) == nil {
			root = last.Raw
		}
		conf = &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}
	}
	if sv.base != "" {
		u, err := baseAddress(sv.base)
		if err == nil && strings.Trim(u.Path, "/") != "" {
			err = bad("--base %q has a path; the pages are served at the root: expected %s://%s", sv.base, u.Scheme, u.Host)
		}
		if err != nil {
			return err
		}
		named := slices.ContainsFunc(hosts, func(h string) bool { return strings.EqualFold(h, u.Hostname()) })
		if conf != nil && !named {
			return bad("--base %q: the certificate is good for %s, and for no %s", sv.base, strings.Join(hosts, ", "), u.Hostname())
		}
		if conf != nil && u.Scheme != "https" {
			return bad("--base %q: it is served over TLS; expected https://%s", sv.base, u.Host)
		}
		if !named {
			hosts = append(hosts, u.Hostname()) // what stands before it hands on the name
		}
	}
	log := d.notes(sv.requests)
	book, done, err := d.openBook(sv.logFile)
	if err != nil {
		return err
	}
	defer done()
	var newID func() (logbook.ID, error)
	if sv.logFile != "" {
		newID = randomID
	}
	built, ok := tablet.Files()
	if !ok {
		built = nil
		log.Warn("built without the program for the browser: no bench, and no pages with no signal; make tablet")
	}
	results, err := keptIn(sv.kept)
	if err != nil {
		return err
	}
	program, err := programSum()
	if err != nil {
		return unreadable(err)
	}
	site, complaints := web.New(web.Config{Fleet: d.files(), Saved: d.offered(), Book: book, NewID: newID, Now: time.Now, Log: log, Version: version(), Hosts: hosts, AtOnce: runtime.NumCPU(), Search: max(1, runtime.NumCPU()-1), Results: results, Runner: program, Tablet: built, Root: root, Build: build, Base: sv.base})
	if len(complaints) > 0 {
		d.complain(complaints)
		return exit{2, counted(len(complaints), "complaint") + "; mend the records, or see them all with check"}
	}
	defer site.Close()
	l, err := net.Listen("tcp", sv.addr)
	if err != nil {
		return bad("cannot serve on %s: %v", sv.addr, err)
	}
	scheme := "http"
	if conf != nil {
		scheme, l = "https", tls.NewListener(l, conf)
	}
	srv := &http.Server{Handler: site.Handler(), ReadHeaderTimeout: headWait, ReadTimeout: readWait, WriteTimeout: writeWait, IdleTimeout: idleWait, MaxHeaderBytes: mostHeader, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(l) }()
	fmt.Fprintf(d.out, "%s://%s/ – stop with Ctrl-C\n", scheme, l.Addr())
	log.Warn("serving", "address", l.Addr().String(), "tls", conf != nil, "version", version())
	go site.Warm()
	select {
	case err := <-failed:
		return exit{2, err.Error()}
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.Background(), drainWait)
	defer cancel()
	err = srv.Shutdown(end)
	if errors.Is(err, context.DeadlineExceeded) {
		err = srv.Close()
	}
	log.Warn("stopped")
	return err
}

// loopback reports whether only this machine reaches an address.
func loopback(host string) bool {
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// notes is where the server notes what it does: standard error, as text or JSON.
func (d *door) notes(requests bool) *slog.Logger {
	level := slog.LevelWarn
	if requests {
		level = slog.LevelInfo
	}
	o := &slog.HandlerOptions{Level: level}
	if d.json {
		return slog.New(slog.NewJSONHandler(d.err, o))
	}
	return slog.New(slog.NewTextHandler(d.err, o))
}

// randomID is the id of a new entry of the logbook.
func randomID() (logbook.ID, error) {
	var id logbook.ID
	_, err := rand.Read(id[:])
	return id, err
}

// openBook opens the logbook that the pages are told of; nil where there is none. One that
// is named is written to as well; one that lies in the folder is only read.
func (d *door) openBook(file string) (logbook.Store, func(), error) {
	l := &logDoor{door: d, file: file}
	if file == "" {
		if d.folder == "" {
			return nil, func() {}, nil
		}
		path, err := l.path()
		if err != nil {
			return nil, nil, err
		}
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return nil, func() {}, nil
		}
		s, err := sqlite.Read(path)
		if err != nil {
			return nil, nil, exit{2, err.Error()}
		}
		return s, func() { _ = s.Close() }, nil
	}
	s, err := sqlite.Open(file)
	if err != nil {
		return nil, nil, exit{2, err.Error()}
	}
	return s, func() { _ = s.Close() }, nil
}

// offered are the consists that the first page offers: those of the demo, where it is the
// demo that is served.
func (d *door) offered() []string {
	if d.folder != "" {
		return nil
	}
	return []string{example("main"), example("pair")}
}

// build is the sum of the source that the pages and the program for the browser are built
// from, as make gives it; without make it is not known.
var build string

// version is what this program was built from, as far as it knows.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v, rev, changed := info.Main.Version, "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			rev = " " + s.Value[:min(12, len(s.Value))]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = " and changes"
		}
	}
	if v == "" || v == "(devel)" {
		v = "development"
	}
	return strings.TrimSpace(v + rev + changed)
}
