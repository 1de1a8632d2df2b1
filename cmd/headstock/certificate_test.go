package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"math/big"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A tablet that trusts the root reaches the server by its names; the root vouches for no
// other name, even were its key not thrown away.
func TestCertificate(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tls")
	var out, errw strings.Builder
	if code := run([]string{"certificate", "localhost", "127.0.0.1", "--to", dir}, &out, &errw, false); code != 0 {
		t.Fatal(code, errw.String())
	}
	if code := run([]string{"certificate", "localhost", "--to", dir}, &out, &errw, false); code != 2 {
		t.Errorf("written over: %d", code)
	}
	if code := run([]string{"certificate", "no name", "--to", dir + "2"}, &out, &errw, false); code != 2 {
		t.Errorf("a name with a space: %d", code)
	}
	for base, want := range map[string]string{"https://elsewhere.example": "is none of the names", "http://localhost": "expected https://localhost", "localhost": "wants an address such as"} {
		var out, errw strings.Builder
		if code := run([]string{"certificate", "localhost", "--to", dir + "3", "--base", base}, &out, &errw, false); code != 2 || !strings.Contains(errw.String(), want) {
			t.Errorf("--base %s: %d %s", base, code, errw.String())
		}
	}
	out.Reset()
	if code := run([]string{"certificate", "localhost", "--to", dir + "4", "--base", "https://localhost:9443/"}, &out, &errw, false); code != 0 || !strings.Contains(out.String(), "open https://localhost:9443/certificate") || !strings.Contains(out.String(), "--base https://localhost:9443\n") {
		t.Errorf("with a base address: %d %s", code, out.String())
	}
	if st, err := os.Stat(filepath.Join(dir, keyFile)); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the key can be read by others: %v, %v", st.Mode(), err)
	}
	root, err := os.ReadFile(filepath.Join(dir, rootFile))
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(root) {
		t.Fatal("no root")
	}
	address, _, _ := serving(t, server{addr: "127.0.0.1:0", cert: filepath.Join(dir, certFile), key: filepath.Join(dir, keyFile)})
	for _, at := range []string{address, strings.Replace(address, "127.0.0.1", "localhost", 1)} {
		res, err := (&http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}).Get(at + "/certificate/root.crt")
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(res.Body)
		res.Body.Close()
		p, _ := pem.Decode(root)
		if res.StatusCode != 200 || string(b) != string(p.Bytes) || res.Header.Get("Content-Type") != "application/x-x509-ca-cert" {
			t.Errorf("%s: status %d, %d bytes, %s", at, res.StatusCode, len(b), res.Header.Get("Content-Type"))
		}
	}
	// had somebody the root's key: a certificate for another name under the same limits is refused
	made := func(names ...string) (root *x509.Certificate) {
		c, err := makeCertificate(names, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		p, _ := pem.Decode(c.root)
		if root, err = x509.ParseCertificate(p.Bytes); err != nil {
			t.Fatal(err)
		}
		return root
	}
	for _, c := range []struct {
		root  []string
		asked string
		good  bool
	}{
		{[]string{"depot.example"}, "depot.example", true}, {[]string{"depot.example"}, "bank.example", false}, {[]string{"depot.example"}, "192.0.2.7", false},
		{[]string{"192.0.2.7"}, "192.0.2.7", true}, {[]string{"192.0.2.7"}, "192.0.2.8", false}, {[]string{"192.0.2.7"}, "depot.example", false},
	} {
		like := made(c.root...)
		key, _ := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		like.PublicKey = &key.PublicKey
		der, err := x509.CreateCertificate(rand.Reader, like, like, &key.PublicKey, key)
		if err != nil {
			t.Fatal(err)
		}
		like, _ = x509.ParseCertificate(der)
		other, err := makeCertificate([]string{c.asked}, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		p, _ := pem.Decode(other.chain)
		leaf, _ := x509.ParseCertificate(p.Bytes)
		leaf.SerialNumber = big.NewInt(7)
		der, err = x509.CreateCertificate(rand.Reader, leaf, like, &key.PublicKey, key)
		if err != nil {
			t.Fatal(err)
		}
		leaf, _ = x509.ParseCertificate(der)
		pool := x509.NewCertPool()
		pool.AddCert(like)
		name := c.asked
		_, err = leaf.Verify(x509.VerifyOptions{Roots: pool, DNSName: name})
		if (err == nil) != c.good {
			t.Errorf("a root for %v and a certificate for %s: %v", c.root, c.asked, err)
		}
	}
}
