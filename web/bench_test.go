package web_test

import (
	"net/http/httptest"
	"testing"

	"github.com/chromedp/chromedp"
)

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
