package web_test

import (
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/demo"
	"headstock/web"
	"headstock/web/tablet"
)

// alone is a browser that has taken over the site and then lost its server.
func alone(t *testing.T, s *web.Site) (paged, string) {
	t.Helper()
	p := paged{t, browser(t)}
	srv := httptest.NewServer(s.Handler())
	t.Cleanup(srv.Close)
	p.do(chromedp.EmulateViewport(360, 740), chromedp.Navigate(srv.URL))
	p.until(`document.documentElement.dataset.holds === "yes" && navigator.serviceWorker.controller`)
	srv.CloseClientConnections()
	srv.Close()
	return p, srv.URL
}

// todaySite is the demo railway's site, with what a browser takes over, on the day on which
// it is asked: a browser has no other.
func todaySite(t *testing.T) *web.Site {
	t.Helper()
	tabletSite(t) // or says what is missing
	built, _ := tablet.Files()
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{trainText, pairText}, Version: "test", AtOnce: 2, Tablet: built, Now: time.Now})
	for _, c := range complaints {
		t.Fatal(c)
	}
	return s
}

// Every page that the browser makes by itself is the server's, byte for byte but for the
// line that says that no server answers and what that server offers; but for those for which
// it would have to search.
func TestSamePages(t *testing.T) {
	s := todaySite(t)
	p, srv := alone(t, s)
	p.do(chromedp.Navigate(srv + at("/test", "consist", pairText))) // its policy lets it fetch
	p.until(`document.querySelector("form.sheet")`)
	notice := regexp.MustCompile(`<p class="running" id="alone">.*?</p>`)
	program := regexp.MustCompile(` data-program="[0-9a-f]*"`)
	same, unsearched := 0, []string{}
	for _, x := range everyPage() {
		if x[0] == "tablet" {
			continue // says what there is to take over, where there is a server
		}
		whole := func(get func() string) string {
			for range 200 {
				if body := get(); !strings.Contains(body, "runs for this answer are being made") {
					return body
				}
				time.Sleep(100 * time.Millisecond)
			}
			t.Fatalf("%s is never whole", x[0])
			return ""
		}
		want := whole(func() string { _, body := gets(t, s.Handler(), x[1]); return body })
		got := whole(func() string {
			body, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`fetch(`+strconv.Quote(x[1])+`).then(r => r.text())`, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatalf("%s: %v", x[0], err)
			}
			return body
		})
		if !strings.Contains(got, `id="alone"`) {
			t.Fatalf("%s: a server answers, or the page does not say that none does", x[0])
		}
		if strings.Contains(got, "that needs the server") {
			unsearched = append(unsearched, x[0])
			continue
		}
		want = program.ReplaceAllString(want, "")
		if got = notice.ReplaceAllString(got, ""); got != want {
			g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
			for i := range min(len(g), len(w)) {
				if g[i] != w[i] {
					t.Errorf("%s, line %d, by itself:\n%s\nfrom the server:\n%s", x[0], i+1, g[i], w[i])
					break
				}
			}
			continue
		}
		same++
	}
	t.Logf("%d pages are the same; nothing is searched for %q", same, unsearched)
}

// While the runs of a long train are made with no signal, another page opens; and the train
// is answered in the end.
func TestAnotherPageMeanwhile(t *testing.T) {
	p, srv := alone(t, tabletSite(t))
	long := srv + at("/coupling", "consist", "Tern 3 lead, Kite 11 trail reversed, 24 HX loaded, GV")
	p.says(`(location.href = ` + strconv.Quote(long) + `, "")`)
	time.Sleep(500 * time.Millisecond) // its runs have begun
	ctx, stop := chromedp.NewContext(p.ctx)
	defer stop()
	other := paged{t, ctx}
	for _, x := range [][2]string{{at("/unit", "unit", "Kite 12"), "Stands"}, {at("/explain", "class", "Kite 11", "device", "changeover"), "changeover"}, {at("/coupling", "consist", pairText), "no quick release on Kite 11"}} {
		began := time.Now()
		other.do(chromedp.Navigate(srv + x[0]))
		other.until(`document.getElementById("alone") && document.querySelector("main").innerText.includes(` + strconv.Quote(x[1]) + `)`)
		t.Logf("%s meanwhile in %d ms", x[0], time.Since(began).Milliseconds())
		if x[1] != "Stands" {
			continue
		}
		// the long train is still being run: else nothing has been shown
		if got := p.says(`location.pathname === "/coupling" && !document.querySelector(".running[role=status]") && document.querySelector("main")?.innerText.includes("works with losses")`); got == "true" {
			t.Error("the runs of the long train were made before another page was asked for; make it longer")
		}
	}
	began := time.Now()
	p.until(`location.pathname === "/coupling" && !document.querySelector(".running[role=status]") && document.querySelector("main")?.innerText.includes("The one step that shows it is right")`)
	t.Logf("the long train %d ms later", time.Since(began).Milliseconds())
}

// Runs of pages let others have a turn, since in a browser everything has one thread; those
// of the bench, for whose answer its script waits, do not.
func TestRunsLetOthersTurn(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		b, err := os.ReadFile(f.Name())
		if err != nil {
			t.Fatal(err)
		}
		n := strings.Count(string(b), "trial.Conditions{}")
		seen += n
		if n > 0 && f.Name() != "bench.go" {
			t.Errorf("%s runs trains under trial.Conditions{}, while which nothing else is answered with no signal; use the site's conditions()", f.Name())
		}
	}
	if seen == 0 {
		t.Error("the bench's runs are not found: this test looks for nothing")
	}
}

// reached is a server whose signal comes and goes, and which may be replaced.
type reached struct {
	down  atomic.Bool
	site  atomic.Pointer[web.Site]
	stops atomic.Pointer[string] // an address that is answered with an error; "": none
	seen  atomic.Pointer[http.Request]
	url   string
}

func reach(t *testing.T, s *web.Site) *reached {
	l := &reached{}
	none := ""
	l.site.Store(s)
	l.stops.Store(&none)
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if l.down.Load() {
			panic(http.ErrAbortHandler) // as if nobody were there
		}
		if at := *l.stops.Load(); at != "" && r.URL.Path == at {
			http.Error(w, "not now", http.StatusServiceUnavailable)
			return
		}
		if r.URL.Path == "/test" {
			l.seen.Store(r)
		}
		l.site.Load().Handler().ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	l.url = srv.URL
	return l
}

// What was chosen with no signal is the server's when it is back, and entries made meanwhile
// are kept and counted.
func TestChoicesComeBack(t *testing.T) {
	l := reach(t, tabletSite(t))
	p := paged{t, browser(t)}
	choose := func(what ...string) {
		t.Helper()
		p.do(chromedp.Navigate(l.url + "/settings"))
		for _, w := range what {
			p.do(chromedp.Click(w))
		}
		if _, err := chromedp.RunResponse(p.ctx, chromedp.Click("button.go")); err != nil {
			t.Fatal(err)
		}
	}
	p.do(chromedp.EmulateViewport(360, 740), chromedp.Navigate(l.url))
	p.until(`document.documentElement.dataset.holds === "yes" && navigator.serviceWorker.controller`)
	l.down.Store(true)
	choose(`[name=units][value=imperial]`, `[name=look][value=night]`)
	p.do(chromedp.Navigate(l.url + at("/test", "consist", pairText)))
	p.until(`document.querySelector("form.sheet") && document.getElementById("alone") && document.documentElement.dataset.look === "night" && document.querySelector("main").innerText.includes("psi")`)
	p.do(chromedp.SendKeys(`[name="read:charge/0-0/brake-pipe-gauge"]`, "72"))
	p.until(`document.getElementById("unsent").textContent === "This tablet: 1 not sent"`)

	l.down.Store(false)
	p.do(chromedp.Navigate(l.url + at("/test", "consist", pairText)))
	p.until(`document.querySelector("form.sheet") && !document.getElementById("alone")`)
	if got := p.says(`document.documentElement.dataset.look + " " + document.querySelector("main").innerText.includes("72.5 psi") + " " + document.getElementById("unsent").textContent + " " + document.querySelector('[name="read:charge/0-0/brake-pipe-gauge"]').value`); got != "night true This tablet: 1 not sent 72" {
		t.Errorf("with a signal again: %q", got)
	}
	cookies := map[string]string{}
	for _, c := range l.seen.Load().Cookies() {
		cookies[c.Name] = c.Value
	}
	if cookies["units"] != "imperial" || cookies["look"] != "night" {
		t.Errorf("the server was asked with %v", cookies)
	}
	// what is chosen from the server then stands, there and with no signal
	choose(`[name=units][value=metric]`)
	p.do(chromedp.Navigate(l.url + at("/test", "consist", pairText)))
	p.until(`document.querySelector("form.sheet") && document.querySelector("main").innerText.includes("500 kPa")`)
	time.Sleep(300 * time.Millisecond) // the worker hears of it beside the page
	l.down.Store(true)
	p.do(chromedp.Navigate(l.url + at("/test", "consist", pairText)))
	p.until(`document.querySelector("form.sheet") && document.getElementById("alone") && document.querySelector("main").innerText.includes("500 kPa")`)
}

// What a browser sends back of its choices is held to what the forms take.
func TestTakeChoices(t *testing.T) {
	h := tabletSite(t).Handler()
	post := func(body string) *http.Response {
		r := httptest.NewRequest("POST", "/tablet/choices.json", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Result()
	}
	good := url.Values{"units": {"imperial"}, "look": {""}, "consists": {"VGVybiAzIGxlYWQKbm8gY29uc2lzdA"}} // "Tern 3 lead", "no consist"
	res := post(good.Encode())
	got := map[string]string{}
	for _, c := range res.Cookies() {
		got[c.Name] = c.Value
	}
	if res.StatusCode != 200 || got["units"] != "imperial" || got["consists"] != "VGVybiAzIGxlYWQ" || len(got) != 3 {
		t.Errorf("status %d, kept %v", res.StatusCode, got)
	}
	for _, body := range []string{"units=furlongs", "look=neon", "consists=%21", "colour=red", "units=metric&x=1", "%"} {
		if res := post(body); res.StatusCode != 400 || len(res.Cookies()) != 0 {
			t.Errorf("%s: status %d, kept %v", body, res.StatusCode, res.Cookies())
		}
	}
}

// built is a site whose server and program for the browser say that they are of these
// builds; another program differs in its start script.
func built(t *testing.T, server, program string) *web.Site {
	t.Helper()
	tabletSite(t) // or says what is missing
	is, _ := tablet.Files()
	m := fstest.MapFS{}
	for _, n := range []string{tablet.Brotli, tablet.Gzip, tablet.Start} {
		b, err := fs.ReadFile(is, n)
		if err != nil {
			t.Fatal(err)
		}
		m[n] = &fstest.MapFile{Data: b}
	}
	m[tablet.Start] = &fstest.MapFile{Data: append([]byte("// "+program+"\n"), m[tablet.Start].Data...)}
	m[tablet.Build] = &fstest.MapFile{Data: []byte(program + "\n")}
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{trainText, pairText}, Version: "test", AtOnce: 2, Tablet: m, Build: server,
		Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	for _, c := range complaints {
		t.Fatal(c)
	}
	return s
}

// A server of another build than the program on the tablet: the page says so and what to
// do, the new program is taken over, and nothing that was entered or chosen is lost by it.
func TestTwoBuilds(t *testing.T) {
	l := reach(t, built(t, "0000000000aa", "0000000000aa"))
	p := paged{t, browser(t)}
	const sheet = `document.querySelector("form.sheet")`
	const says = `document.getElementById("other-build")`
	test := l.url + at("/test", "consist", pairText)
	p.do(chromedp.EmulateViewport(360, 740), chromedp.Navigate(test))
	p.until(sheet + ` && document.documentElement.dataset.holds === "yes" && navigator.serviceWorker.controller`)
	p.do(chromedp.SendKeys(`[name="read:charge/0-0/brake-pipe-gauge"]`, "498"))
	p.until(`document.getElementById("unsent").textContent === "This tablet: 1 not sent"`)
	if got := p.says(says + `.hidden`); got != "true" {
		t.Errorf("of one build, the page says %q", p.says(says+`.textContent`))
	}
	l.down.Store(true)
	p.do(chromedp.Navigate(l.url+"/settings"), chromedp.Click(`[name=look][value=night]`))
	if _, err := chromedp.RunResponse(p.ctx, chromedp.Click("button.go")); err != nil {
		t.Fatal(err)
	}
	p.until(`document.documentElement.dataset.look === "night"`)

	// the new program cannot be had yet
	engine := "/tablet/engine.wasm"
	l.stops.Store(&engine)
	l.site.Store(built(t, "0000000000bb", "0000000000bb"))
	l.down.Store(false)
	p.do(chromedp.Navigate(test))
	p.until(sheet + ` && !` + says + `.hidden`)
	if got := p.says(says + `.textContent`); !strings.Contains(got, "another build") || !strings.Contains(got, "with signal") || !strings.Contains(got, "Entries are kept") {
		t.Errorf("the page says %q", got)
	}
	// now it can
	none := ""
	l.stops.Store(&none)
	p.do(chromedp.Navigate(l.url + "/tablet"))
	p.until(`document.getElementById("unsent") && ` + says + `.hidden && document.documentElement.dataset.holds === "yes"`)
	if got := p.says(`document.getElementById("unsent").textContent + document.documentElement.dataset.look`); got != "This tablet: 1 not sentnight" {
		t.Errorf("after the new program was taken over: %q", got)
	}
	l.down.Store(true)
	p.do(chromedp.Navigate(test))
	p.until(sheet + ` && document.getElementById("alone") && document.querySelector('[name="read:charge/0-0/brake-pipe-gauge"]').value === "498" && document.documentElement.dataset.look === "night"`)
	if got := p.says(`[...document.scripts].length > 0 && document.querySelectorAll("#unsent[data-program]").length`); got != "0" {
		t.Errorf("with no server a page speaks of one: %s", got)
	}

	// a server that was built with another program than its own
	l.site.Store(built(t, "0000000000cc", "0000000000bb"))
	l.down.Store(false)
	p.do(chromedp.Navigate(test))
	p.until(sheet + ` && !` + says + `.hidden`)
	if got := p.says(says + `.textContent`); !strings.Contains(got, "make build") {
		t.Errorf("of a server and its own program the page says %q", got)
	}
}
