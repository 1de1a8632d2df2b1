package main

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

// said is what a server prints, read while it runs.
type said struct {
	lock sync.Mutex
	b    bytes.Buffer
}

func (s *said) Write(p []byte) (int, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.b.Write(p)
}

func (s *said) String() string {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.b.String()
}

// serving starts a server, and gives its address and what stops it.
func serving(t *testing.T, sv server) (address string, out *said, stop func() error) {
	t.Helper()
	out = &said{}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	d := &door{out: out, err: out}
	go func() { ended <- d.serveUntil(ctx, sv) }()
	stop = sync.OnceValue(func() error { cancel(); return <-ended })
	t.Cleanup(func() { _ = stop() })
	for range 400 {
		if m := regexp.MustCompile(`(https?://\S+)/ `).FindStringSubmatch(out.String()); m != nil {
			return m[1], out, stop
		}
		select {
		case err := <-ended:
			t.Fatalf("it ended: %v", err)
		case <-time.After(25 * time.Millisecond):
		}
	}
	t.Fatal("it does not start")
	return "", nil, nil
}

// The server answers until it is told to stop, and ends then.
func TestServe(t *testing.T) {
	address, _, stop := serving(t, server{addr: "127.0.0.1:0"})
	for path, want := range map[string]string{"/healthz": `"status":"ok"`, "/": "Coupling up", "/api/list": `"documents"`} {
		res, err := http.Get(address + path)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(res.Body)
		res.Body.Close()
		if res.StatusCode != 200 || !strings.Contains(string(b), want) {
			t.Errorf("%s: status %d: %.200s", path, res.StatusCode, b)
		}
	}
	r, _ := http.NewRequest("GET", address, nil)
	r.Host = "elsewhere.example"
	if res, err := http.DefaultClient.Do(r); err != nil || res.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("asked by another name: %v, %v", res, err)
	}
	if err := stop(); err != nil {
		t.Errorf("it does not stop well: %v", err)
	}
	if c, err := net.Dial("tcp", strings.TrimPrefix(address, "http://")); err == nil {
		c.Close()
		t.Error("it is stopped and still there")
	}
}

// An address that others reach is refused without TLS; with it, the server answers by the
// names of its certificate.
func TestServeBeyond(t *testing.T) {
	for _, addr := range []string{"0.0.0.0:0", ":0", "192.0.2.1:8383", "[::]:0", "example.org:80", "here"} {
		var out bytes.Buffer
		if code := run([]string{"serve", "--addr", addr}, &out, &out, false); code != 2 {
			t.Errorf("%s: status %d: %s", addr, code, out.String())
		}
	}
	dir := t.TempDir()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	tmpl := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "depot"}, DNSNames: []string{"depot.example"}, NotAfter: time.Now().Add(time.Hour)}
	der, err := x509.CreateCertificate(rand.Reader, tmpl, tmpl, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	pkcs, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"crt": pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), "key": pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: pkcs})}
	for name, b := range files {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if code := run([]string{"serve", "--cert", filepath.Join(dir, "crt")}, &out, &out, false); code != 2 {
		t.Errorf("a certificate without its key: status %d", code)
	}
	address, _, _ := serving(t, server{addr: "127.0.0.1:0", cert: filepath.Join(dir, "crt"), key: filepath.Join(dir, "key")})
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(files["crt"])
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, ServerName: "depot.example"}}}
	// the base address is one that the certificate is good for
	for base, want := range map[string]string{"https://elsewhere.example": "the certificate is good for", "http://depot.example": "expected https://depot.example", "https://depot.example/pages": "has a path", "depot.example": "wants an address such as", "https://depot.example/?x=1": "wants an address such as", "ftp://depot.example": "wants an address such as"} {
		var out bytes.Buffer
		if code := run([]string{"serve", "--addr", "127.0.0.1:0", "--cert", filepath.Join(dir, "crt"), "--key", filepath.Join(dir, "key"), "--base", base}, &out, &out, false); code != 2 || !strings.Contains(out.String(), want) {
			t.Errorf("--base %s: status %d: %s", base, code, out.String())
		}
	}
	r, _ := http.NewRequest("GET", address, nil)
	r.Host = "depot.example"
	res, err := client.Do(r)
	if err != nil || res.StatusCode != 200 {
		t.Errorf("by the certificate's name: %v, %v", res, err)
	}
}

// With a base address the pages carry it as a square code for paper, and the page on the
// certificate for devices; the server answers by its name.
func TestServeBase(t *testing.T) {
	address, _, _ := serving(t, server{addr: "127.0.0.1:0", base: "https://depot.example:8443/"})
	for path, want := range map[string]string{"/card?consist=Tern+3+lead": "This page: https://depot.example:8443/card?consist=Tern&#43;3&#43;lead", "/certificate": "On each device open https://depot.example:8443/certificate", "/takeaway?consist=Tern+3+lead": "The page itself: https://depot.example:8443/coupling?consist=Tern+3+lead"} {
		r, _ := http.NewRequest("GET", address+path, nil)
		r.Host = "depot.example:8443"
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(res.Body)
		res.Body.Close()
		if page := string(b); res.StatusCode != 200 || !strings.Contains(page, want) || !strings.Contains(path, "takeaway") && !strings.Contains(page, `aria-label="square code: https://depot.example:8443/`) {
			t.Errorf("%s: status %d, it does not say %q", path, res.StatusCode, want)
		}
	}
	address, _, _ = serving(t, server{addr: "127.0.0.1:0"})
	res, err := http.Get(address + "/certificate")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if b, _ := io.ReadAll(res.Body); strings.Contains(string(b), "square code") {
		t.Error("a code with no base address")
	}
}

// Where nobody is there to stop it, the demo says where the page is, and ends.
func TestDemoPage(t *testing.T) {
	var out, errs bytes.Buffer
	if code := run([]string{"demo", "--page"}, &out, &errs, false); code != 0 {
		t.Fatalf("status %d: %s", code, errs.String())
	}
	if !strings.Contains(out.String(), "http://"+usualAddr+"/") {
		t.Error("it does not say where the page is")
	}
}

// With --keep what was searched is in the folder, a file a search, and a new start takes it
// from there; a file that is none of ours stays, and what was opened longest ago goes first.
func TestServeKeeps(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "runs")
	ask := func() string {
		address, _, stop := serving(t, server{addr: "127.0.0.1:0", kept: folder})
		defer func() { _ = stop() }()
		res, err := http.Get(address + "/api/search?failures=yes&consist=" + url.QueryEscape("Scoter 1 alone"))
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		b, _ := io.ReadAll(res.Body)
		if res.StatusCode != 200 {
			t.Fatalf("status %d: %.200s", res.StatusCode, b)
		}
		return string(b)
	}
	first := ask()
	files, _ := filepath.Glob(filepath.Join(folder, "*.jsonl"))
	if len(files) != 1 {
		t.Fatalf("kept: %v", files)
	}
	before, _ := os.ReadFile(files[0])
	// of the counts only that of the runs kept from before may differ
	count := regexp.MustCompile(`"proofs_kept_from_before":\d+`)
	second := ask()
	if after, _ := os.ReadFile(files[0]); !bytes.Equal(before, after) || count.ReplaceAllString(first, "") != count.ReplaceAllString(second, "") {
		t.Error("after a new start it is run again, or says something else")
	}
	k := keptRuns{folder, 100}
	if err := os.WriteFile(filepath.Join(folder, "notes.txt"), make([]byte, 500), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.Open("../elsewhere"); err == nil {
		t.Error("a file elsewhere is opened")
	}
	_, w, err := k.Open(strings.Repeat("a", 32))
	if err != nil {
		t.Fatal(err)
	}
	w.Close()
	left, _ := os.ReadDir(folder)
	var names []string
	for _, e := range left {
		names = append(names, e.Name())
	}
	if strings.Join(names, " ") != strings.Repeat("a", 32)+".jsonl notes.txt" {
		t.Errorf("left: %v", names)
	}
}
