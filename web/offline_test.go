package web_test

import (
	"net/http/httptest"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
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
// line that says that no server answers.
func TestSamePages(t *testing.T) {
	s := todaySite(t)
	p, srv := alone(t, s)
	p.do(chromedp.Navigate(srv + at("/test", "consist", pairText))) // its policy lets it fetch
	p.until(`document.querySelector("form.sheet")`)
	notice := regexp.MustCompile(`<p class="running" id="alone">.*?</p>`)
	same := 0
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
	t.Logf("%d pages are the same", same)
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
