package main

import (
	"context"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/web/tablet"
)

// reachable is an address of this machine that others could reach; "" where it has none.
func reachable() string {
	as, _ := net.InterfaceAddrs()
	for _, a := range as {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && n.IP.To4() != nil && n.IP.IsGlobalUnicast() {
			return n.IP.String()
		}
	}
	return ""
}

// A certificate for real: a browser that trusts the root opens the server at an address that
// others reach, over TLS and with no warning; it takes over what it needs, and answers by
// itself when the server is stopped. By a name that is not in the list it refuses.
//
// The root is put among the authorities of the browser with certutil. Where there is none
// the browser is told to take the server's key as trusted, which tries all but the trust.
func TestCertificateInABrowser(t *testing.T) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("no browser here: install chromium, as .ci/run does")
		}
		t.Skip("no browser here: install chromium")
	}
	if _, ok := tablet.Files(); !ok {
		if os.Getenv("CI") != "" {
			t.Fatal("the program for the browser is not built: make tablet, as make test does")
		}
		t.Skip("the program for the browser is not built: make tablet")
	}
	address := reachable()
	if address == "" {
		t.Skip("this machine has no address that others reach")
	}
	dir := t.TempDir()
	tls := filepath.Join(dir, "tls")
	var out, errw strings.Builder
	if code := run([]string{"certificate", address, "--to", tls}, &out, &errw, false); code != 0 {
		t.Fatal(code, errw.String())
	}
	flags := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(filepath.Join(dir, "browser")), chromedp.Env("HOME=" + dir),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("host-resolver-rules", "MAP depot.example "+address),
	}
	certutil, err := exec.LookPath("certutil")
	trusted := err == nil
	if trusted {
		db := filepath.Join(dir, ".pki", "nssdb")
		if err := os.MkdirAll(db, 0o755); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"-N", "--empty-password"}, {"-A", "-n", "headstock", "-t", "C,,", "-i", filepath.Join(tls, rootFile)}} {
			if said, err := exec.Command(certutil, append([]string{"-d", "sql:" + db}, args...)...).CombinedOutput(); err != nil {
				t.Fatalf("certutil %v: %v: %s", args, err, said)
			}
		}
	} else {
		b, err := os.ReadFile(filepath.Join(tls, certFile))
		if err != nil {
			t.Fatal(err)
		}
		p, _ := pem.Decode(b)
		leaf, err := x509.ParseCertificate(p.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(leaf.RawSubjectPublicKeyInfo)
		flags = append(flags, chromedp.Flag("ignore-certificate-errors-spki-list", base64.StdEncoding.EncodeToString(sum[:])))
	}
	t.Logf("the root is trusted by the browser's own store: %v", trusted)
	at, _, stop := serving(t, server{addr: net.JoinHostPort(address, "0"), cert: filepath.Join(tls, certFile), key: filepath.Join(tls, keyFile)})
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	ctx, end := chromedp.NewContext(ctx, chromedp.WithAllocatorOptions(flags...))
	defer end()
	until := func(expression string) {
		t.Helper()
		for range 300 {
			if got, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`!!(`+expression+`)`)); err == nil && got {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
		says, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body?.innerText ?? ""`))
		t.Fatalf("%s never holds; the page says\n%s", expression, says)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(at+"/tablet")); err != nil {
		t.Fatalf("the browser does not open %s: %v", at, err)
	}
	until(`isSecureContext && location.protocol === "https:" && location.hostname === ` + "`" + address + "`")
	until(`document.documentElement.dataset.holds === "yes" && navigator.serviceWorker.controller`)
	if trusted {
		u, err := url.Parse(at)
		if err != nil {
			t.Fatal(err)
		}
		if err := chromedp.Do(ctx, chromedp.Navigate("https://depot.example:"+u.Port()+"/")); err == nil || !strings.Contains(err.Error(), "ERR_CERT") {
			t.Errorf("by a name that is not in the list: %v", err)
		}
	}
	if err := stop(); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(at+"/unit?unit=Kite+12")); err != nil {
		t.Fatalf("with the server stopped: %v", err)
	}
	until(`document.getElementById("alone") && document.querySelector("main").innerText.includes("Stands")`)
}
