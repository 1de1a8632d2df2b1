package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"html/template"
	"net/http"
	"strings"

	"headstock/card"
	"headstock/paper"
)

// takeaway is one file with the page at the coupling, the set-up card with the drawings of
// the string and of each locomotive, and the brake test of a consist, which opens by itself
// wherever it is taken.
func (s *Site) takeaway(w http.ResponseWriter, r *http.Request) {
	long := jsonPatience
	if s.alone != "" {
		long = aloneFilePatience
	}
	ctx, stop := context.WithTimeout(r.Context(), long)
	defer stop()
	q, err := s.ask(r, r.URL.Query(), ctx)
	x := question{path: "coupling", title: "One page to take away", fields: []field{consistField, setField}}
	var docs []*card.Document
	for _, part := range []func(*asked) (*answer, error){coupling, setUp, brakeTest} {
		var a *answer
		if err == nil {
			a, err = part(q)
		}
		if err != nil {
			s.failed(w, r, x, q, err)
			return
		}
		docs = append(docs, a.docs...)
	}
	c, err := q.consist()
	if err != nil {
		s.failed(w, r, x, q, err)
		return
	}
	consist := c.String()
	d := card.TakeAway(c, s.now().UTC().Format("2006-01-02 15:04")+" UTC", docs...)
	if s.base != "" {
		d.Footer = append(d.Footer, "The page itself: "+s.base+address("/coupling", "consist", consist))
	}
	var b bytes.Buffer
	if err := paper.HTML(&b, d); err != nil {
		s.log.Error("a page to take away could not be written", "error", err)
		s.refuse(w, r, http.StatusInternalServerError, "This page could not be written; it has been noted.")
		return
	}
	sum := sha256.Sum256([]byte(consist))
	head := w.Header()
	head.Set("Content-Type", "text/html; charset=utf-8")
	head.Set("Content-Disposition", `attachment; filename="`+fileName(consist)+"-"+hex.EncodeToString(sum[:3])+`.html"`)
	_, _ = w.Write(b.Bytes())
}

// fileName is a text as a part of a file's name.
func fileName(text string) string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') })
	out := strings.Join(words, "-")
	return out[:min(len(out), 60)]
}

// certificateShown is the page on the certificate that a device is told to trust.
type certificateShown struct {
	frame
	There bool

	Install     template.HTML // the address of this page as a square code
	InstallSays string
	Sum         string
	Names       string
}

func (s *Site) certificatePage(w http.ResponseWriter, r *http.Request) {
	p := certificateShown{frame: s.frame(r, "The certificate on this device"), There: len(s.root) > 0, Names: strings.Join(s.hosts, ", ")}
	if p.There {
		sum := sha256.Sum256(s.root)
		p.Sum = hex.EncodeToString(sum[:])
	}
	if s.base != "" {
		p.Install, p.InstallSays = s.code("/certificate")
	}
	s.show(w, r, http.StatusOK, "certificate", p)
}

func (s *Site) rootCertificate(w http.ResponseWriter, r *http.Request) {
	if len(s.root) == 0 {
		s.refuse(w, r, http.StatusNotFound, "This server has no certificate of its own.")
		return
	}
	head := w.Header()
	head.Set("Content-Type", "application/x-x509-ca-cert")
	head.Set("Content-Disposition", `attachment; filename="headstock.crt"`)
	_, _ = w.Write(s.root)
}
