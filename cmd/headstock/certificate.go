package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
)

// The files of a certificate, in their folder.
const (
	rootFile = "root.crt"   // what a tablet is told to trust
	certFile = "server.crt" // what the server shows, with the root behind it
	keyFile  = "server.key" // its key; the root's is not kept
)

// How long a certificate holds, and how far before now it begins, for clocks that are slow.
const (
	certDays  = 397 // as long as browsers take
	certEarly = 24 * time.Hour
)

func (d *door) certificate() *cobra.Command {
	var folder string
	c := &cobra.Command{
		Use: "certificate NAME…", Args: cobra.MinimumNArgs(1),
		Short: "a certificate for serve that is good for these names only, so that a tablet answers with no signal",
		Long: "Makes a certificate for the names or addresses by which tablets reach this server, and the root that a tablet is told\n" +
			"to trust. The root is limited to these names, and its key is thrown away: nothing else can be vouched for by it, and a\n" +
			"further name wants a new one. It holds " + fmt.Sprint(certDays) + " days.\n\n" + card.Caution,
		Example: "  headstock certificate depot.example --to tls\n  headstock serve --addr 0.0.0.0:8443 --cert tls/server.crt --key tls/server.key",
		RunE: func(_ *cobra.Command, names []string) error {
			made, err := makeCertificate(names, time.Now())
			if err != nil {
				return err
			}
			base := "https://" + hostPort(names[0])
			if d.printer.base != "" {
				u, err := baseAddress(d.printer.base)
				if err == nil && u.Scheme != "https" {
					err = bad("--base %q: a certificate is for https; expected https://%s", d.printer.base, u.Host)
				}
				if err == nil && !slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, u.Hostname()) }) {
					err = bad("--base %q: %s is none of the names that the certificate is for: %s", d.printer.base, u.Hostname(), strings.Join(names, ", "))
				}
				if err != nil {
					return err
				}
				base = strings.TrimRight(d.printer.base, "/")
			}
			if err := os.MkdirAll(folder, 0o755); err != nil {
				return unreadable(err)
			}
			for _, f := range []string{rootFile, certFile, keyFile} {
				if _, err := os.Stat(filepath.Join(folder, f)); !errors.Is(err, fs.ErrNotExist) {
					return bad("%s is there already; name another folder with --to, or take it away", filepath.Join(folder, f))
				}
			}
			for _, f := range []struct {
				name string
				text []byte
				mode fs.FileMode
			}{{rootFile, made.root, 0o644}, {certFile, made.chain, 0o644}, {keyFile, made.key, 0o600}} {
				if err := os.WriteFile(filepath.Join(folder, f.name), f.text, f.mode); err != nil {
					return unreadable(err)
				}
			}
			if d.json {
				return d.printJSON(map[string]any{"caution": card.Caution, "names": names, "until": made.until.Format(time.DateOnly), "root_sha256": made.sum, "folder": folder, "base": base})
			}
			fmt.Fprintf(d.out, "%s – for %s, until %s\n\n", folder, strings.Join(names, ", "), made.until.Format(time.DateOnly))
			fmt.Fprintf(d.out, "Serve with it:\n  headstock serve --addr 0.0.0.0:8443 --cert %s --key %s --base %s\n\n", filepath.Join(folder, certFile), filepath.Join(folder, keyFile), base)
			fmt.Fprintf(d.out, "On each tablet, once: open %s/certificate, go past the warning this one time, and follow the page.\n", base)
			fmt.Fprintf(d.out, "Before trusting it compare its SHA-256 with\n  %s\n\n", made.sum)
			fmt.Fprintln(d.out, card.Caution)
			return nil
		},
	}
	c.Flags().StringVar(&folder, "to", "tls", "folder that the files are put in")
	return c
}

// certificates are a root, a server's certificate with it behind, and the server's key, in
// PEM; until when they hold, and the SHA-256 of the root.
type certificates struct {
	root, chain, key []byte
	until            time.Time
	sum              string
}

// makeCertificate makes a certificate for these names under a root that can vouch for no
// others (RFC 5280, 4.2.1.10) and for nothing but servers.
func makeCertificate(names []string, now time.Time) (*certificates, error) {
	var hosts []string
	var addresses []net.IP
	var only []*net.IPNet
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			bits := 8 * net.IPv6len
			if v4 := ip.To4(); v4 != nil {
				ip, bits = v4, 8*net.IPv4len
			}
			addresses = append(addresses, ip)
			only = append(only, &net.IPNet{IP: ip, Mask: net.CIDRMask(bits, bits)})
			continue
		}
		if !hostName(n) {
			return nil, bad("%q is no name of a machine and no address; expected one such as depot.example or 192.168.4.1", n)
		}
		hosts = append(hosts, strings.ToLower(n))
	}
	rootKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	number := func() *big.Int {
		b := make([]byte, 16)
		_, _ = rand.Read(b) // never fails
		return new(big.Int).SetBytes(b)
	}
	until := now.AddDate(0, 0, certDays).Add(-certEarly)
	root := &x509.Certificate{
		SerialNumber: number(), Subject: pkix.Name{CommonName: "headstock, for " + strings.Join(names, ", ") + " only"},
		NotBefore: now.Add(-certEarly), NotAfter: until,
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: hosts, PermittedIPRanges: only,
	}
	if len(hosts) == 0 { // of a kind that is not named all would be allowed
		root.ExcludedDNSDomains = []string{""}
	}
	if len(only) == 0 {
		root.ExcludedIPRanges = []*net.IPNet{{IP: net.IPv4zero.To4(), Mask: net.CIDRMask(0, 32)}, {IP: net.IPv6zero, Mask: net.CIDRMask(0, 128)}}
	}
	rootDER, err := x509.CreateCertificate(rand.Reader, root, root, &rootKey.PublicKey, rootKey)
	if err != nil {
		return nil, err
	}
	leaf := &x509.Certificate{
		SerialNumber: number(), Subject: pkix.Name{CommonName: names[0]},
		NotBefore: now.Add(-certEarly), NotAfter: until, DNSNames: hosts, IPAddresses: addresses,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	leafDER, err := x509.CreateCertificate(rand.Reader, leaf, root, &key.PublicKey, rootKey)
	if err != nil {
		return nil, err
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	block := func(kind string, der []byte) []byte { return pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}) }
	sum := sha256.Sum256(rootDER)
	return &certificates{root: block("CERTIFICATE", rootDER), chain: append(block("CERTIFICATE", leafDER), block("CERTIFICATE", rootDER)...), key: block("PRIVATE KEY", keyDER), until: until,
		sum: hex.EncodeToString(sum[:])}, nil
}

// hostPort is a name or an address with the port that the example serves on.
func hostPort(name string) string { return net.JoinHostPort(name, "8443") }

// hostName reports whether a name is one of a machine: labels of letters, digits and
// hyphens.
func hostName(n string) bool {
	if n == "" || len(n) > 253 {
		return false
	}
	for _, l := range strings.Split(n, ".") {
		if l == "" || len(l) > 63 || strings.HasPrefix(l, "-") || strings.HasSuffix(l, "-") || strings.ContainsFunc(l, func(r rune) bool {
			return !(r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z')
		}) {
			return false
		}
	}
	return true
}
