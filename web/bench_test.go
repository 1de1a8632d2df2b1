package web_test

import (
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/rule"
	"headstock/teach"
)

// threeText is three units of two classes.
const threeText = "Tern 3 lead, Kite 11 trail, Tern 4 trail"

// changedCocks are the addresses of the set-up of three units with one cock set otherwise,
// each another, of every cock that makes another air network.
func changedCocks(t testing.TB) []string {
	t.Helper()
	f, _ := fleet.Read(demo.Railway())
	r, _ := rule.Read(demo.Railway())
	c, err := consist.Parse(f, threeText)
	if err != nil {
		t.Fatal(err)
	}
	can, err := teach.Movables(c, r)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, m := range can {
		at0, _ := c.Position(m.Vehicle, m.Device.ID)
		for _, to := range m.Positions {
			if to != at0 && !m.Tested && !m.Keep && m.Device.Kind == "cock" {
				out = append(out, at("/api/card", "consist", threeText, "set", c.Vehicles[m.Vehicle].Name()+"."+m.Device.ID+"="+to))
			}
		}
	}
	if len(out) < 20 {
		t.Fatalf("%d cocks only", len(out))
	}
	return out
}

// From a changed cock of three units to its verdict, through the handler; nothing of it has
// been asked before.
func BenchmarkChangedCock(b *testing.B) {
	cocks := changedCocks(b)
	s := site(b)
	h := s.Handler()
	gets(b, h, at("/api/card", "consist", threeText))
	n := 0
	for b.Loop() {
		if n%len(cocks) == 0 && n > 0 {
			b.StopTimer()
			h = site(b).Handler() // one that has kept none of the answers
			b.StartTimer()
		}
		if res, body := gets(b, h, cocks[n%len(cocks)]); res.StatusCode != 200 || !strings.Contains(body, `"verdict"`) {
			b.Fatal(res.Status, body[:min(len(body), 300)])
		}
		n++
	}
}

// The same in a browser that answers by itself, ms from asking to the verdict; and on the
// bench, ms from moving the cock to the next frame.
func BenchmarkChangedCockAlone(b *testing.B) {
	cocks := changedCocks(b)
	p := paged{b, browser(b)}
	srv := httptest.NewServer(tabletSite(b).Handler())
	defer srv.Close()
	p.do(chromedp.Navigate(srv.URL))
	p.until(`document.documentElement.dataset.holds === "yes" && navigator.serviceWorker.controller`)
	srv.CloseClientConnections()
	srv.Close()
	p.do(chromedp.Navigate(srv.URL + at("/test", "consist", pairText))) // its policy lets it fetch
	p.until(`document.querySelector("form.sheet") && document.getElementById("alone")`)
	total, n := 0.0, 0
	for b.Loop() {
		got, err := chromedp.Run(p.ctx, chromedp.Evaluate[float64](`(async () => { const t = performance.now(); const r = await fetch(`+strconv.Quote(cocks[n%len(cocks)])+`); const a = await r.json(); if (!a.values.verdict) throw new Error("no verdict"); return performance.now() - t; })()`, chromedp.EvalAwaitPromise))
		if err != nil {
			b.Fatal(err)
		}
		total += got
		n++
	}
	b.ReportMetric(total/float64(n), "ms/verdict")
	p.do(chromedp.Navigate(srv.URL + at("/bench", "consist", threeText)))
	p.until(`document.documentElement.dataset.bench === "ready"`)
	const each = 10
	began := time.Now()
	for i := range each {
		to := []string{"closed", "open"}[i%2]
		if _, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`new Promise(done => { const s = document.querySelector('[data-device="1/bogie-1-cock"] select'), w = document.getElementById("wrong"); const o = new MutationObserver(() => { o.disconnect(); done(true); }); o.observe(w, {childList: true, subtree: true, attributes: true}); s.value = "`+to+`"; s.dispatchEvent(new Event("change", {bubbles: true})); })`, chromedp.EvalAwaitPromise)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(time.Since(began).Milliseconds())/each, "ms/bench-move")
}

// Frames a second of the engine in the browser, as fast as it goes, three units and twenty
// wagons with a device wrong, so that two trains are run.
func BenchmarkFrames(b *testing.B) {
	ctx := browser(b)
	srv := httptest.NewServer(tabletSite(b).Handler())
	defer srv.Close()
	address := srv.URL + at("/bench", "consist", "Tern 3 lead, Kite 11 trail, Tern 4 trail, 20 HX loaded", "do", "0 Kite 11.bogie-1-cock=closed", "do", "1 lead.automatic-handle=100 kPa")
	if err := chromedp.Do(ctx, chromedp.Navigate(address)); err != nil {
		b.Fatal(err)
	}
	paged{b, ctx}.until(`document.documentElement.dataset.bench === "ready"`)
	for b.Loop() {
		if _, err := chromedp.Run(ctx, chromedp.Evaluate[string](`(delete document.documentElement.dataset.measured, document.body.append(Object.assign(document.createElement("button"), {id: "measure"})), document.getElementById("measure").dataset.measure = "2000", document.getElementById("measure").click(), document.getElementById("measure").remove(), "")`)); err != nil {
			b.Fatal(err)
		}
		paged{b, ctx}.until(`document.documentElement.dataset.measured`)
		got, err := chromedp.Run(ctx, chromedp.Evaluate[float64](`Number(document.documentElement.dataset.measured)`))
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(got, "frames/s")
	}
}
