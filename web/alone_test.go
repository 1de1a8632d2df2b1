package web_test

import (
	"context"
	"encoding/json"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/trial"
	"headstock/web"
	"headstock/web/tablet"
)

// tabletSite is the demo railway's site with what a browser takes over. Where this program
// was built without, the test is skipped; with CI set it fails.
func tabletSite(t testing.TB) *web.Site {
	t.Helper()
	built, ok := tablet.Files()
	if !ok {
		if os.Getenv("CI") != "" {
			t.Fatal("the program for the browser is not built: make tablet, as make test does")
		}
		t.Skip("the program for the browser is not built: make tablet")
	}
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{trainText, pairText}, Version: "test", AtOnce: 2, Tablet: built,
		Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	for _, c := range complaints {
		t.Fatal(c)
	}
	return s
}

// paged is a browser at a page.
type paged struct {
	t   testing.TB
	ctx context.Context
}

func (p paged) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

// says is the value of an expression, as text.
func (p paged) says(expression string) string {
	p.t.Helper()
	got, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`String(`+expression+`)`))
	if err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
	return got
}

// until waits until an expression holds.
func (p paged) until(expression string) {
	p.t.Helper()
	for range 300 {
		got, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`!!(`+expression+`)`))
		if err == nil && got {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	p.t.Fatalf("%s never holds; the page says\n%s", expression, p.says(`document.querySelector("main")?.innerText ?? document.body?.innerText`))
}

// On the bench a cock is closed: time goes on, the handle is moved, and its bogie's piston is
// other than expected in words and on its strip. What was done is a procedure that runs to
// the same, and a link that shows the same.
func TestBenchPage(t *testing.T) {
	p := paged{t, browser(t)}
	srv := httptest.NewServer(tabletSite(t).Handler())
	defer srv.Close()
	p.do(chromedp.EmulateViewport(360, 740), chromedp.Navigate(srv.URL+at("/bench", "consist", pairText)))
	p.until(`document.documentElement.dataset.bench === "ready"`)
	const is = `(k => document.querySelector('[data-look="' + k + '"] .is').textContent)`
	if got := p.says(is + `("0/brake-pipe-gauge")`); !strings.HasSuffix(got, " kPa") || number(got) < 480 {
		t.Errorf("charged, the pipe reads %q", got)
	}
	set := func(key, to string) {
		t.Helper()
		p.do(chromedp.SetValue(`[data-device="`+key+`"] select`, to))
	}
	set("1/bogie-1-cock", "closed")
	p.until(`document.getElementById("wrong").innerText.includes("closed; the record says open")`)
	set("0/automatic-handle", "100 kPa")
	p.do(chromedp.Click(`[data-step="1"]`))
	p.until(`document.getElementById("clock").textContent === "0:01.0"`)
	p.says(`[...Array(20)].forEach(() => document.querySelector('[data-step="1"]').click())`)
	p.until(`document.getElementById("clock").textContent === "0:21.0"`)
	p.until(`document.querySelector('[data-look="1/bogie-1-piston"]').innerText.includes("other than expected")`)
	if got := p.says(`document.querySelector('[data-look="1/bogie-1-piston"]').innerText`); !strings.Contains(got, "expected out") {
		t.Errorf("the piston of the bogie that is cut out: %q", got)
	}
	if got := p.says(is + `("1/bogie-2-piston")`); got != "out" {
		t.Errorf("the other piston: %q", got)
	}
	pipe := p.says(is + `("0/brake-pipe-gauge")`)
	if n := number(pipe); n < 380 || n > 420 {
		t.Errorf("after a reduction of 100 kPa the pipe reads %q", pipe)
	}
	p.until(`document.getElementById("said").textContent.includes("Other than expected")`)
	p.until(`document.querySelectorAll("#curves polyline").length === 3`)
	// time goes by itself, at thirty frames a second and more for three units and 20 wagons
	p.do(chromedp.Click(`[data-pace="1"]`))
	p.until(`parseFloat(document.getElementById("clock").textContent.split(":")[1]) > 22`)
	p.do(chromedp.Click(`[data-pace="0"]`))
	p.until(`document.querySelector('[data-pace="0"]').getAttribute("aria-pressed") === "true"`)
	// the procedure
	p.says(`(window.kept = [], URL.createObjectURL = b => { b.text().then(x => window.kept.push(x)); return "blob:none"; })`)
	p.do(chromedp.Click("#save"))
	p.until(`window.kept.length === 1`)
	var done trial.Procedure
	if err := json.Unmarshal([]byte(p.says(`window.kept[0]`)), &done); err != nil {
		t.Fatal(err)
	}
	if n := len(done.Steps); n < 3 || done.Steps[n-2].Do[0].What != "bogie-1-cock" || done.Steps[n-1].Do[0].To != "100 kPa" {
		t.Errorf("what was done: %+v", done)
	}
	f, _ := fleet.Read(demo.Railway())
	c, err := consist.Parse(f, pairText)
	if err != nil {
		t.Fatal(err)
	}
	res, err := trial.Run(c, done, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	last := done.Steps[len(done.Steps)-1].ID
	for device, out := range map[string]bool{"bogie-1-piston": false, "bogie-2-piston": true} {
		if x, ok := res.Reading(last, 1, device); !ok || x.Out != out {
			t.Errorf("run again, %s is out: %v", device, x.Out)
		}
	}
	// the link
	before := p.says(`document.querySelector('[data-look="1/bogie-1-piston"] .is').textContent + document.getElementById("clock").textContent.slice(0, 4)`)
	p.do(chromedp.Click("#share"))
	p.until(`document.querySelector("#link a[href^='/bench']")`)
	link := p.says(`document.querySelector("#link a").getAttribute("href")`)
	p.do(chromedp.Navigate(srv.URL + link))
	p.until(`document.documentElement.dataset.bench === "ready"`)
	if got := p.says(`document.querySelector('[data-look="1/bogie-1-piston"] .is').textContent + document.getElementById("clock").textContent.slice(0, 4)`); got != before {
		t.Errorf("by the link %q, before %q", got, before)
	}
	// a device that must not be moved has nothing to move it by
	if got := p.says(`document.querySelectorAll("[data-keep] select, [data-keep] button").length + " " + (document.querySelectorAll("[data-keep]").length > 0)`); got != "0 true" {
		t.Errorf("controls of devices that must not be moved, and whether there are such devices: %s", got)
	}
}

func number(text string) float64 {
	x, _ := strconv.ParseFloat(strings.Fields(text)[0], 64)
	return x
}

// With the server stopped, half-way through the job, the tablet goes on by itself: every
// page, what was chosen, the sheet with what was entered, the bench.
func TestNoSignal(t *testing.T) {
	p := paged{t, browser(t)}
	srv := httptest.NewServer(tabletSite(t).Handler())
	defer srv.Close()
	p.do(chromedp.EmulateViewport(360, 740), chromedp.Navigate(srv.URL+"/settings"), chromedp.Click(`[name=look][value=night]`))
	if _, err := chromedp.RunResponse(p.ctx, chromedp.Click("button.go")); err != nil {
		t.Fatal(err)
	}
	p.until(`document.documentElement.dataset.holds === "yes"`)
	online := p.says(`document.querySelector("main").innerText`)
	p.do(chromedp.Navigate(srv.URL + at("/test", "consist", pairText)))
	p.until(`document.querySelector("form.sheet")`)
	const cell = `[name="read:charge/0-0/brake-pipe-gauge"]`
	p.do(chromedp.SendKeys(cell, "498"), chromedp.SetValue(`[name="read:reduction/1-1/bogie-1-piston"]`, "in"))
	p.until(`document.getElementById("unsent").textContent === "This tablet: 2 not sent"`)

	srv.CloseClientConnections()
	srv.Close()

	p.do(chromedp.Navigate(srv.URL + at("/test", "consist", pairText)))
	p.until(`document.querySelector("form.sheet")`)
	if got := p.says(`document.getElementById("alone").textContent`); !strings.Contains(got, "No signal") || !strings.Contains(got, "no logbook") {
		t.Errorf("the page says of itself %q", got)
	}
	if got := p.says(`document.querySelector('` + cell + `').value + document.documentElement.dataset.look + document.getElementById("unsent").textContent`); got != "498nightThis tablet: 2 not sent" {
		t.Errorf("kept of the sheet, the look and the count: %q", got)
	}
	if resp, err := chromedp.RunResponse(p.ctx, chromedp.Click(".sheet > .go")); err != nil || resp.Status != 200 {
		t.Errorf("judging with no server: %v, %v", resp, err)
	}
	p.until(`document.querySelector("main").innerText.includes("outside allowed")`)
	for _, x := range [][2]string{
		{"/", "Coupling up"},
		{at("/coupling", "consist", pairText), "no quick release on Kite 11"},
		{at("/card", "consist", pairText), "lever across the pipes"},
		{at("/unit", "unit", "Kite 12"), "Stands"},
		{at("/walk", "class", "Scoter"), "Walk round"},
		{at("/if", "consist", pairText, "device", "Kite 11.changeover"), "Danger"},
		{at("/explain", "class", "Kite 11", "device", "changeover"), "changeover"},
		{"/no-such-page", "There is no page"},
	} {
		began := time.Now()
		p.do(chromedp.Navigate(srv.URL + x[0]))
		p.until(`document.querySelector("main").innerText.includes(` + strconv.Quote(x[1]) + `)`)
		t.Logf("%s by itself in %d ms", x[0], time.Since(began).Milliseconds())
	}
	p.do(chromedp.Navigate(srv.URL))
	alone := p.says(`document.querySelector("main").innerText.replace(document.getElementById("alone").innerText, "")`)
	if strings.Join(strings.Fields(alone), " ") != strings.Join(strings.Fields(online), " ") {
		t.Errorf("the first page by itself:\n%s\nfrom the server:\n%s", alone, online)
	}
	// what is chosen with no signal is kept
	p.do(chromedp.Navigate(srv.URL+"/settings"), chromedp.Click(`[name=units][value=imperial]`))
	if _, err := chromedp.RunResponse(p.ctx, chromedp.Click("button.go")); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Navigate(srv.URL + at("/bench", "consist", pairText)))
	p.until(`document.documentElement.dataset.bench === "ready"`)
	if got := p.says(`document.querySelector('[data-look="0/brake-pipe-gauge"] .is').textContent`); !strings.HasSuffix(got, " psi") {
		t.Errorf("the bench by itself reads %q", got)
	}
	// a tick on the walk is an entry like any other
	p.do(chromedp.Navigate(srv.URL + at("/walk", "class", "Kite 11")))
	p.until(`document.querySelector("td[data-sheet] input[type=checkbox]")`)
	p.says(`document.querySelector("td[data-sheet] input[type=checkbox]").click()`)
	p.until(`document.getElementById("unsent").textContent === "This tablet: 3 not sent"`)
	p.do(chromedp.Navigate(srv.URL + "/tablet"))
	p.until(`document.querySelectorAll("#sheets li").length === 2`)
	if got := p.says(`document.getElementById("counted").textContent + document.getElementById("holds").textContent`); !strings.Contains(got, "3 entries are kept") || !strings.Contains(got, "answers with no signal") {
		t.Errorf("the tablet says %q", got)
	}
}
