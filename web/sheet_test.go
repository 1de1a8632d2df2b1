package web_test

import (
	"context"
	"crypto/sha256"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/demo"
	"headstock/logbook"
	"headstock/web"
)

// booked is the demo railway's site with a logbook that can be written to.
func booked(t testing.TB, store logbook.Store) *web.Site {
	t.Helper()
	n := byte(0)
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{pairText}, Version: "test", AtOnce: 2, Book: store,
		NewID: func() (logbook.ID, error) { n++; h := sha256.Sum256([]byte{n}); return logbook.ID(h[:16]), nil },
		Now:   func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	if s == nil {
		t.Fatal(complaints)
	}
	return s
}

// A sheet without script: what was read is judged, shown as it would be kept, kept when that
// is confirmed, and kept once when it is sent twice. Without a writer nothing is kept, and
// without a logbook the page does not offer it.
func TestKeepSheet(t *testing.T) {
	store := &logbook.Memory{}
	h := booked(t, store).Handler()
	path := at("/test", "consist", pairText)
	page := done(t, h, path)
	if !strings.Contains(page, "Keep it in the logbook") || strings.Contains(done(t, site(t).Handler(), path), "Keep it in the logbook") {
		t.Error("a sheet is offered to the logbook where there is none, or not where there is one")
	}
	send := func(v url.Values) (*http.Response, string) {
		r, _ := http.NewRequest("POST", path, strings.NewReader(v.Encode()))
		r.Host = "example.com"
		r.RequestURI = path
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return asks(t, h, r)
	}
	v := url.Values{"read:charge/0-0/brake-pipe-gauge": {"500"}, "read:reduction/1-1/bogie-1-piston": {"in"}, "do": {"confirm"}}
	if res, body := send(v); res.StatusCode != 400 || !strings.Contains(body, "Say who read it") {
		t.Errorf("without a writer: status %d", res.StatusCode)
	}
	v.Set("who", "A. Reader")
	res, body := send(v)
	id := regexp.MustCompile(`name="id" value="([^"]+)"`).FindStringSubmatch(body)
	if res.StatusCode != 200 || id == nil || !strings.Contains(body, "Nothing is kept yet") || !strings.Contains(body, "outside allowed") {
		t.Fatalf("status %d, %s", res.StatusCode, body)
	}
	if es, _ := store.List(logbook.Filter{}); len(es) != 0 {
		t.Fatal("it is kept before it is confirmed")
	}
	v.Set("do", "keep")
	if res, _ := send(v); res.StatusCode != 400 {
		t.Errorf("kept without having been shown: status %d", res.StatusCode)
	}
	v.Set("id", id[1])
	for range 2 {
		if res, body := send(v); res.StatusCode != 303 || res.Header.Get("Location") != "/log?unit=Tern+3" {
			t.Errorf("status %d to %q: %s", res.StatusCode, res.Header.Get("Location"), body)
		}
	}
	es, err := store.List(logbook.Filter{})
	if err != nil || len(es) != 1 {
		t.Fatalf("%d entries, %v", len(es), err)
	}
	e := es[0]
	if e.Kind != logbook.Sheet || e.Unit != "Tern 3" || e.Who != "A. Reader" || e.Text != pairText || len(e.Lines) != 2 {
		t.Errorf("%+v", e)
	}
	if l := e.Lines[0]; l.Value == nil || l.Value.SI != 500e3 || l.Device != "brake-pipe-gauge" || l.State != "charge" {
		t.Errorf("%+v", l)
	}
	if l := e.Lines[1]; l.Seen != "in" || l.Unit != "Kite 11" || l.Device != "bogie-1-piston" {
		t.Errorf("%+v", l)
	}
	if log := done(t, h, "/log?unit=Tern+3"); !strings.Contains(log, "A. Reader") {
		t.Error("the logbook does not show it")
	}
}

// With script a reading is judged while it is typed. The server stops half-way: what was
// typed is still there, it is said that nobody answers, and when the server is back it is
// there on a new page and judged.
func TestServerStops(t *testing.T) {
	ctx, end := context.WithTimeout(browser(t), time.Minute)
	defer end()
	s := site(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := l.Addr().String()
	srv := &http.Server{Handler: s.Handler()}
	go srv.Serve(l)
	wants := func(what, js string) {
		t.Helper()
		for range 60 {
			if ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](js)); err == nil && ok {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
		text, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("main")?.innerText.slice(0, 3000) ?? ""`))
		t.Fatalf("%s: never; the page says\n%s", what, text)
	}
	const piston, gauge = `[name="read:reduction/1-1/bogie-1-piston"]`, `[name="read:charge/0-0/brake-pipe-gauge"]`
	judged := func(sel, text string) string {
		return `document.querySelector('` + sel + `').closest(".row").querySelector(".status").textContent.includes("` + text + `")`
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740)); err != nil {
		t.Fatal(err)
	}
	page := "http://" + addr + at("/test", "consist", pairText)
	look(t, ctx, page)
	if err := chromedp.Do(ctx, chromedp.SendKeys(gauge, "500")); err != nil {
		t.Fatal(err)
	}
	wants("a gauge judged while typed", judged(gauge, "as expected"))
	if err := chromedp.Do(ctx, chromedp.SetValue(piston, "in")); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.querySelector('`+piston+`').dispatchEvent(new Event("input", {bubbles: true}))`)); err != nil {
		t.Fatal(err)
	}
	wants("a piston judged while typed", judged(piston, "outside allowed"))

	stop, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	_ = srv.Shutdown(stop)
	_ = srv.Close()
	if err := chromedp.Do(ctx, chromedp.SendKeys(`[name="read:reduction/0-0/brake-cylinder-gauge"]`, "170")); err != nil {
		t.Fatal(err)
	}
	wants("said that nobody answers", `document.getElementById("kept").textContent.includes("does not answer")`)
	if err := chromedp.Do(ctx, chromedp.Click(".sheet > .go")); err != nil {
		t.Fatal(err)
	}
	wants("said that it was not sent", `document.getElementById("kept").textContent.includes("Not sent")`)
	wants("still there", `document.querySelector('`+gauge+`').value === "500"`)

	if l, err = net.Listen("tcp", addr); err != nil {
		t.Fatal(err)
	}
	srv = &http.Server{Handler: site(t).Handler()}
	go srv.Serve(l)
	defer srv.Close()
	look(t, ctx, page)
	wants("there again", `document.querySelector('`+gauge+`').value === "500" && document.querySelector('`+piston+`').value === "in" && document.querySelector('[name="read:reduction/0-0/brake-cylinder-gauge"]').value === "170"`)
	wants("said so", `document.getElementById("kept").textContent.includes("3 entries typed earlier")`)
	wants("judged again", judged(piston, "outside allowed"))
	// sent, it is judged as without script
	if _, err := chromedp.RunResponse(ctx, chromedp.Click(".sheet > .go")); err != nil {
		t.Fatal(err)
	}
	wants("judged on submit", `document.querySelector(".judged")?.innerText.includes("outside allowed") ?? false`)
}
