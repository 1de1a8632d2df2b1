package web_test

import (
	"html"
	"io"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/demo"
	"headstock/web"
	"headstock/web/tablet"
)

// smallText is a train of two whose search takes seconds.
const smallText = "Brant 1 lead, HX 201 loaded"

// searchingSite is the demo railway's site that searches.
func searchingSite(t testing.TB) *web.Site {
	t.Helper()
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{smallText}, Version: "test", AtOnce: 2, Search: 1, Results: web.Shared, Runner: "test",
		Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	for _, c := range complaints {
		t.Fatal(c)
	}
	t.Cleanup(s.Close)
	return s
}

// searchedPages are those that rest on a search.
func searchedPages() [][2]string {
	const step = "reduction"
	return [][2]string{
		{"searched-search", at("/search", "consist", smallText)},
		{"searched-coupling", at("/coupling", "consist", smallText)},
		{"searched-coverage", at("/coverage", "consist", smallText)},
		{"searched-steps", at("/coverage", "consist", smallText, "matrix", "yes")},
		{"searched-diagnose", at("/diagnose", "consist", smallText)},
		{"searched-diagnose-step", at("/diagnose", "consist", smallText, "step", step, "of", "Brant 1")},
		{"searched-diagnosed", at("/diagnose", "consist", smallText, "saw", step+"/HX 201.brake-piston=in", "saw", "first reduction/Brant 1.brake-pipe-gauge=450 kPa")},
		{"searched-matrix", at("/matrix", "class", "Brant", "class", "Scoter")},
		{"searched-envelope", at("/envelope", "consist", smallText, "number", "2")},
	}
}

// until asks for a page until it no longer says that its runs are being made.
func until(t *testing.T, s *web.Site, address string) string {
	t.Helper()
	for range 600 {
		res, body := gets(t, s.Handler(), address)
		if res.StatusCode != 200 {
			t.Fatalf("%s: status %d", address, res.StatusCode)
		}
		if !strings.Contains(body, `class="running" role="status"`) && !strings.Contains(body, `class="pending"`) {
			return body
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("%s is never done", address)
	return ""
}

// The first screen never waits for a search: it says how far it is, with a way to look
// again. Done, what no step of the brake test shows stands before what one does, and each
// leads to what happens then.
func TestFirstScreenSearched(t *testing.T) {
	s, _ := web.New(web.Config{Fleet: demo.Railway(), Version: "test", AtOnce: 1, Search: 1, Now: time.Now})
	defer s.Close()
	address := at("/coupling", "consist", smallText)
	_, body := gets(t, s.Handler(), address)
	if !strings.Contains(body, "still") || !strings.Contains(body, "Look again</a>") || !strings.Contains(body, "Hoses, dummies and cocks") {
		t.Errorf("the first page says nothing of the search:\n%.600s", body)
	}
	body = until(t, s, address)
	hidden, shown := strings.Index(body, "No step of the brake test shows these"), strings.Index(body, "A step shows these")
	if hidden < 0 || shown < hidden {
		t.Errorf("what is not shown stands at %d, what is at %d", hidden, shown)
	}
	if !strings.Contains(body, "wrong settings and ") || !strings.Contains(body, "/if?consist=") {
		t.Error("failures were not searched, or nothing leads to a device")
	}
	all := until(t, s, at("/search", "consist", smallText))
	if n := strings.Count(all, `<section class="part`); n < 4 || strings.Index(all, `class="part loud"`) != strings.Index(all, `class="part`) {
		t.Errorf("%d groups, and the loud one is not the first", n)
	}
	// another consist is searched first, and the one before goes on after it
	other := at("/search", "consist", "Scoter 1 alone")
	if body := until(t, s, other); !strings.Contains(body, "What could be wrong here: Scoter 1 alone") {
		t.Errorf("%.300s", body)
	}
}

// counting keeps results, and counts how often anything is written to them.
type counting struct {
	web.Results
	lock  sync.Mutex
	lines int
}

func (c *counting) Open(name string) (io.ReadCloser, io.WriteCloser, error) {
	before, after, err := c.Results.Open(name)
	return before, countingWriter{after, c}, err
}

type countingWriter struct {
	io.WriteCloser
	c *counting
}

func (w countingWriter) Write(b []byte) (int, error) {
	w.c.lock.Lock()
	w.c.lines++
	w.c.lock.Unlock()
	return w.WriteCloser.Write(b)
}

// What has been run is not run again after a new start, and says the same.
func TestSearchedAgain(t *testing.T) {
	kept := &counting{Results: web.InMemory(64 << 20)}
	var bodies []string
	var lines []int
	for range 2 {
		s, _ := web.New(web.Config{Fleet: demo.Railway(), Version: "test", AtOnce: 1, Search: 1, Results: kept, Runner: "test", Now: time.Now})
		until(t, s, at("/coupling", "consist", "Scoter 1 alone")) // with what can fail
		bodies = append(bodies, until(t, s, at("/search", "consist", "Scoter 1 alone"))+until(t, s, at("/matrix", "class", "Scoter")))
		s.Close()
		lines = append(lines, kept.lines)
	}
	if bodies[0] != bodies[1] {
		t.Error("searched again it says something else")
	}
	if lines[0] < 20 || lines[1] != lines[0] {
		t.Errorf("lines written: %v", lines)
	}
	// what is over the bound is forgotten
	small := web.InMemory(10)
	for _, n := range []string{"a", "b"} {
		_, w, _ := small.Open(n)
		_, _ = w.Write([]byte("123456789\n"))
	}
	if r, _, _ := small.Open("a"); r != nil {
		t.Error("more is kept than the bound")
	}
	if r, _, _ := small.Open("b"); r == nil {
		t.Error("what was written last is forgotten")
	}
}

// A sheet with a reading outside its band hands what was read to the diagnosis, and the
// cause that gives just that is among what it could be.
func TestDiagnosisFromSheet(t *testing.T) {
	s := searchingSite(t)
	until(t, s, at("/test", "consist", smallText))
	form := url.Values{"read:reduction/1-1/brake-piston": {"in"}, "read:charge/0-0/brake-pipe-gauge": {"500"}, "read:reduction/0-0/brake-pipe-gauge": {"400"}, "read:reduction/0-0/bogie-1-piston": {"out"}}
	r := httptest.NewRequest("POST", at("/test", "consist", smallText), strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	_, after, ok := strings.Cut(w.Body.String(), `action="/diagnose">`)
	if !ok {
		t.Fatalf("status %d: nothing leads to the diagnosis", w.Code)
	}
	after, _, _ = strings.Cut(after, "</form>")
	q := url.Values{}
	for _, m := range regexp.MustCompile(`name="([^"]*)" value="([^"]*)"`).FindAllStringSubmatch(after, -1) {
		q.Add(html.UnescapeString(m[1]), html.UnescapeString(m[2]))
	}
	if len(q) != 4 {
		t.Errorf("handed over: %v", q)
	}
	body := until(t, s, "/diagnose?"+q.Encode())
	for _, want := range []string{"Brake isolating cock of HX 201 stands closed", "What contradicts the others", "Where to look next", "step reduction: HX 201, Brake cylinder piston rod: in", `checked`} {
		if !strings.Contains(body, want) {
			t.Errorf("the diagnosis does not say %q", want)
		}
	}
	if strings.Contains(body, "Cut-out cock below the automatic valve of Brant 1 stands out instead of in (set up wrong") {
		t.Error("a cause that the pipe's own gauge contradicts is said to fit")
	}
	// all as expected: nothing leads there
	r = httptest.NewRequest("POST", at("/test", "consist", smallText), strings.NewReader("read:charge/0-0/brake-pipe-gauge=500"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w = httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	if w.Code != 200 || strings.Contains(w.Body.String(), `action="/diagnose"`) {
		t.Error("a sheet that is as expected leads to the diagnosis")
	}
	// what cannot be read is said
	for _, bad := range []string{"nonsense", "reduction/HX 201.brake-piston=sideways", "no step/HX 201.brake-piston=in"} {
		if res, body := gets(t, s.Handler(), at("/diagnose", "consist", smallText, "saw", bad)); res.StatusCode != 400 || !strings.Contains(body, `role="alert"`) {
			t.Errorf("%q: status %d", bad, res.StatusCode)
		}
	}
}

// Every entry of the grid leads to its page at the coupling, which says the same.
func TestMatrixGrid(t *testing.T) {
	s := searchingSite(t)
	body := until(t, s, at("/matrix", "class", "Scoter", "class", "Brant", "role", "hauled dead"))
	links := regexp.MustCompile(`<td data-c="[^"]*"><a href="([^"]*)">(?:<strong>)?([^<]*)`).FindAllStringSubmatch(body, -1)
	if len(links) < 4 {
		t.Fatalf("%d entries", len(links))
	}
	for _, m := range links[:2] {
		if page := until(t, s, html.UnescapeString(m[1])); !strings.Contains(page, "The record says this set-up "+strings.TrimSpace(m[2])) {
			t.Errorf("%s: %q, and its page says otherwise", m[1], m[2])
		}
	}
	if res, _ := gets(t, s.Handler(), at("/matrix", "class", "Turn")); res.StatusCode != 400 {
		t.Errorf("a class that is not there: status %d", res.StatusCode)
	}
}

// Where nothing is searched the pages say so; what a browser took over of a search it shows
// with no signal, and what rests on the runs themselves it does not.
func TestSearchTakenOver(t *testing.T) {
	bare := site(t)
	for _, p := range []string{at("/coupling", "consist", pairText), at("/search", "consist", pairText), at("/coverage", "consist", pairText), "/matrix"} {
		if body := until(t, bare, p); !strings.Contains(body, "not searched yet") && !strings.Contains(body, "Not searched yet") {
			t.Errorf("%s does not say that nothing is searched", p)
		}
	}
	built, ok := tablet.Files()
	if !ok {
		tabletSite(t) // says what is missing
	}
	now := func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }
	s, _ := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{smallText}, Version: "test", AtOnce: 1, Search: 1, Results: web.Shared, Now: now, Tablet: built})
	defer s.Close()
	if _, none := gets(t, s.Handler(), "/tablet/searched.json"); strings.TrimSpace(none) != "[]" {
		t.Errorf("before it was searched: %.100s", none)
	}
	online := until(t, s, at("/coupling", "consist", smallText))
	_, searched := gets(t, s.Handler(), "/tablet/searched.json")
	if len(searched) < 10e3 || len(searched) > 1<<20 {
		t.Errorf("what is taken over has %d bytes", len(searched))
	}
	_, zip := gets(t, s.Handler(), "/tablet/railway.zip")
	alone, err := web.TakenOver([]byte(zip), nil, []byte(searched), now, nil)
	if err != nil {
		t.Fatal(err)
	}
	part := func(body string) string {
		_, p, _ := strings.Cut(body, `id="wrong"`)
		p, _, _ = strings.Cut(p, "</section>")
		return p
	}
	_, body := gets(t, alone.Handler(), at("/coupling", "consist", smallText))
	if part(body) == "" || part(body) != part(online) {
		t.Errorf("by itself:\n%.900s\nfrom the server:\n%.900s", part(body), part(online))
	}
	if body := until(t, alone, at("/search", "consist", smallText)); !strings.Contains(body, "No step of the brake test shows these") {
		t.Error("all of them are not shown by itself")
	}
	for _, p := range []string{at("/coverage", "consist", smallText), at("/coupling", "consist", pairText), at("/diagnose", "consist", smallText, "saw", "reduction/HX 201.brake-piston=in")} {
		if body := until(t, alone, p); !strings.Contains(strings.ToLower(body), "not searched yet") {
			t.Errorf("%s does not say that it needs the server", p)
		}
	}
	if _, err := web.TakenOver([]byte(zip), nil, []byte("{"), now, nil); err == nil {
		t.Error("searches that cannot be read are taken")
	}
}

// With no script: symptoms chosen at a touch, a step chosen and what is typed kept, on both
// widths; the keyboard's Enter asks and does not choose a step.
func TestDiagnosePage(t *testing.T) {
	p := paged{t, browser(t)}
	s := searchingSite(t)
	srv := httptest.NewServer(s.Handler())
	defer srv.Close()
	until(t, s, at("/search", "consist", smallText))
	for _, size := range sizes {
		p.do(chromedp.EmulateViewport(size.wide, size.high), chromedp.Navigate(srv.URL+at("/coupling", "consist", smallText)))
		p.until(`document.querySelector("#wrong a[href^='/diagnose']")`)
		if _, err := chromedp.RunResponse(p.ctx, chromedp.Click(`#wrong a[href^="/diagnose"]`)); err != nil {
			t.Fatal(err)
		}
		p.do(chromedp.Click(`button[name=step][value=reduction]`))
		p.until(`document.querySelector('[name="read:reduction/1-1/brake-piston"]')`)
		p.do(chromedp.SetValue(`[name="read:reduction/1-1/brake-piston"]`, "in"), chromedp.Click(`button[name=step][value=charge]`))
		p.until(`document.querySelector('[name="read:charge/0-0/brake-pipe-gauge"]') && document.querySelector(".saws .tick").innerText.includes("Brake cylinder piston rod: in")`)
		p.do(chromedp.SendKeys(`[name="read:charge/0-0/brake-pipe-gauge"]`, "500\r"))
		p.until(`document.querySelectorAll('.saws input[name^="read:"][type=checkbox]').length === 2 && document.querySelector(".verdict")?.innerText.includes("what was seen")`)
		if got := p.says(`location.search.includes("step=")`); got != "false" {
			t.Error("Enter chose a step")
		}
	}
}
