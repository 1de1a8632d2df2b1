package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"headstock/web/tablet"
)

// browser starts a browser of its own for a test. Where there is none the test is skipped;
// with CI set it fails, because there a browser is part of the bargain.
func browser(t testing.TB) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{os.Getenv("HEADSTOCK_BROWSER"), "chromium", "chromium-browser", "google-chrome"} {
		if name == "" {
			continue
		}
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("CI") != "" {
			t.Fatal("no browser here: install chromium, as .ci/run does, or name one in HEADSTOCK_BROWSER")
		}
		t.Skip("no browser here: install chromium, or name one in HEADSTOCK_BROWSER")
	}
	ctx, cancel := context.WithTimeout(context.Background(), 8*time.Minute)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(ctx, chromedp.WithAllocatorOptions(
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
	))
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("the browser does not start: %v", err)
	}
	return ctx
}

// sizes are the two widths that every page is looked at in.
var sizes = []struct {
	name       string
	wide, high int64
}{{"phone", 360, 740}, {"desk", 1440, 900}}

const (
	trainText = "Tern 3 lead, Kite 11 trail reversed, 20 HX loaded, GV"
	pairText  = "Tern 3 lead, Kite 11 trail"
)

func at(path string, pairs ...string) string {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	if len(v) == 0 {
		return path
	}
	return path + "?" + v.Encode()
}

// everyPage is one address of every page, by the name of its picture.
func everyPage() [][2]string {
	return [][2]string{
		{"home", "/"},
		{"coupling", at("/coupling", "consist", trainText)},
		{"coupling-wrong", at("/coupling", "consist", pairText, "set", "Kite 11.changeover=copy")},
		{"card", at("/card", "consist", trainText)},
		{"test", at("/test", "consist", trainText)},
		{"judge", at("/judge", "consist", pairText, "reading", "reduction; Kite 11; bogie-1-piston; in")},
		{"if", at("/if", "consist", pairText, "device", "Kite 11.changeover")},
		{"why", at("/why", "consist", pairText, "requirement", "quick-release")},
		{"jumper", at("/jumper", "consist", pairText)},
		{"route", at("/route", "consist", trainText, "from", "Teal Junction", "to", "Quernhill")},
		{"ask-cocks", at("/ask", "unit", "Kite 11", "about", "cocks")},
		{"ask-hoses", at("/ask", "unit", "Kite 11", "about", "hoses")},
		{"ask-changeover", at("/ask", "unit", "Kite 11", "about", "changeover")},
		{"ask-stays-on", at("/ask", "unit", "Kite 11", "about", "stays-on", "consist", pairText)},
		{"ask-wont-charge", at("/ask", "unit", "Tern 3", "about", "wont-charge", "value", "340")},
		{"ask-charging", at("/ask", "unit", "Kite 11", "about", "charging")},
		{"ask-bell", at("/ask", "unit", "Tern 3", "about", "bell")},
		{"ask-slip", at("/ask", "unit", "Kite 11", "about", "slip")},
		{"ask-travel", at("/ask", "unit", "Kite 11", "about", "travel", "value", "140")},
		{"ask-cut-out", at("/ask", "unit", "Kite 11", "about", "cut-out")},
		{"ask-hand-brakes", at("/ask", "unit", "Kite 11", "about", "hand-brakes")},
		{"hold", at("/hold", "consist", trainText, "grade", "1 in 45")},
		{"load", at("/load", "consist", trainText)},
		{"move-off", at("/move-off", "consist", trainText, "grade", "1 in 45")},
		{"pull", at("/pull", "consist", trainText)},
		{"journey", at("/journey", "consist", trainText, "from", "Teal Junction", "to", "Quernhill")},
		{"journey-stalls", at("/journey", "consist", trainText, "from", "Heronsford", "to", "Quernhill", "rail", "wet")},
		{"stop", at("/stop", "consist", trainText, "speed", "50 km/h", "grade", "1 in 45", "how", "emergency")},
		{"descend", at("/descend", "consist", trainText)},
		{"descend-runs", at("/descend", "consist", trainText, "grade", "1 in 30", "length", "20 km", "speed", "50 km/h")},
		{"run-in", at("/run-in", "consist", trainText, "how", "emergency")},
		{"profile", "/profile"},
		{"stop-asked-wrong", at("/stop", "consist", trainText, "speed", "40")},
		{"load-lacks", at("/load", "consist", "Tern 3 alone")},
		{"diagram", at("/diagram", "class", "Kite 11", "consist", pairText, "step", "reduction")},
		{"diagram-hx", at("/diagram", "class", "HX")},
		{"either", at("/unit", "unit", "3")},
		{"unit", at("/unit", "unit", "Kite 12")},
		{"class", at("/class", "class", "Tern")},
		{"wagon", at("/class", "class", "GV")},
		{"find", at("/find", "words", "cut-off tap")},
		{"explain", at("/explain", "class", "Kite 11", "device", "changeover")},
		{"devices", at("/devices", "class", "Scoter")},
		{"compare", at("/compare", "class", "Kite", "other", "Tern")},
		{"learn", at("/learn", "class", "FG", "from", "HX")},
		{"walk", at("/walk", "class", "Kite 11", "brief", "yes")},
		{"measure", at("/measure", "unit", "Kite 11", "value", "bogie-1-piston; ; applied; 140 mm", "value", "bogie-1-piston; ; released; 20 mm")},
		{"fit", at("/fit", "unit", "Tern 6", "price", "yes")},
		{"steps", at("/steps", "unit", "Kite 11", "procedure", "start")},
		{"trips", at("/trips", "unit", "Kite 11")},
		{"crank", at("/crank", "unit", "Kite 11", "set", "cab-1-reverser=forward")},
		{"list", "/list"},
		{"needs", at("/needs", "class", "Tern")},
		{"functions", "/functions"},
		{"log", "/log"},
		{"drift", at("/drift", "unit", "Tern 3")},
		{"bench", at("/bench", "consist", pairText, "do", "0 Kite 11.bogie-1-cock=closed", "do", "1 lead.automatic-handle=100 kPa", "at", "21")},
		{"bench-sealed", at("/bench", "consist", pairText, "envelope", "2")},
		{"envelope", at("/envelope", "consist", pairText, "number", "2")},
		{"tablet", "/tablet"},
		{"certificate", "/certificate"},
		{"questions", "/questions"},
		{"settings", "/settings"},
		{"nothing", "/no-such-page"},
		{"wrong", at("/coupling", "consist", "Turn 3 lead")},
	}
}

// look opens a page and waits until no runs are outstanding.
func look(t *testing.T, ctx context.Context, address string) {
	t.Helper()
	for range 200 {
		if err := chromedp.Do(ctx, chromedp.Navigate(address), chromedp.WaitReady("#main")); err != nil {
			t.Fatalf("%s: %v", address, err)
		}
		running, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.querySelector(".running[role=status]") !== null`))
		if err != nil {
			t.Fatal(err)
		}
		if !running {
			// what the engine beside a page shows comes a moment later
			paged{t, ctx}.until(`document.getElementById("bench")?.dataset.built !== "yes" || document.documentElement.dataset.bench === "ready"`)
			return
		}
		time.Sleep(300 * time.Millisecond) // the page's own wait is a second
	}
	t.Fatalf("%s is never done", address)
}

// highest is how much of a page goes into its picture, px.
const highest = 9000

// picture takes the page from its top, as far as it goes.
func picture(t *testing.T, ctx context.Context, file string, wide, high int64) {
	t.Helper()
	whole, err := chromedp.Run(ctx, chromedp.Evaluate[int64](`document.documentElement.scrollHeight`))
	if err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(wide, min(max(whole, high), highest))); err != nil {
		t.Fatal(err)
	}
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, png, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(wide, high)); err != nil {
		t.Fatal(err)
	}
}

// violation is what axe finds wrong.
type violation struct {
	ID     string `json:"id"`
	Impact string `json:"impact"`
	Help   string `json:"help"`
	Nodes  []struct {
		HTML   string `json:"html"`
		Why    string `json:"failureSummary"`
		Target []any  `json:"target"`
	} `json:"nodes"`
}

// Every page at both widths: axe finds nothing, nothing is wider than the screen, and what
// is pressed is 48 px high. With HEADSTOCK_PICTURES set to a folder a picture of each is put
// there.
func TestEveryPage(t *testing.T) {
	ctx := browser(t)
	axe, err := os.ReadFile("testdata/axe/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	whole := site(t)
	if _, ok := tablet.Files(); ok || os.Getenv("CI") != "" {
		whole = tabletSite(t)
	}
	srv := httptest.NewServer(whole.Handler())
	defer srv.Close()
	searching := httptest.NewServer(searchingSite(t).Handler())
	defer searching.Close()
	pictures := os.Getenv("HEADSTOCK_PICTURES")
	for _, size := range sizes {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(size.wide, size.high)); err != nil {
			t.Fatal(err)
		}
		for _, p := range slices.Concat(everyPage(), searchedPages()) {
			name, address := p[0], srv.URL+p[1]
			if strings.HasPrefix(name, "searched-") {
				address = searching.URL + p[1]
			}
			if only := os.Getenv("HEADSTOCK_ONLY"); only != "" && !strings.HasPrefix(name, only) {
				continue
			}
			look(t, ctx, address)
			if pictures != "" {
				picture(t, ctx, filepath.Join(pictures, name+"-"+size.name+".png"), size.wide, size.high)
			}
			wide, err := chromedp.Run(ctx, chromedp.Evaluate[int64](`document.documentElement.scrollWidth`))
			if err != nil {
				t.Fatal(err)
			}
			if wide > size.wide {
				t.Errorf("%s on a %s: %d px wide, the screen has %d", name, size.name, wide, size.wide)
			}
			small, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](smallTargets))
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range small {
				t.Errorf("%s on a %s: smaller than 48 px: %s", name, size.name, s)
			}
			clean(t, ctx, string(axe), name+" on a "+size.name)
		}
	}
}

// clean holds the page at hand against axe.
func clean(t *testing.T, ctx context.Context, axe, name string) {
	t.Helper()
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[*struct{}](axe+";null")); err != nil {
		t.Fatal(err)
	}
	found, err := chromedp.Run(ctx, chromedp.Evaluate[[]byte](`axe.run(document, {runOnly: ["wcag2a","wcag2aa","wcag21a","wcag21aa","wcag22aa","best-practice"], resultTypes: ["violations"]}).then(r => ({violations: r.violations, passes: r.passes.length}))`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	var said struct {
		Violations []violation `json:"violations"`
		Passes     int         `json:"passes"`
	}
	if err := json.Unmarshal(found, &said); err != nil {
		t.Fatal(err)
	}
	if said.Passes < 10 {
		t.Errorf("%s: axe held it against %d rules only", name, said.Passes)
	}
	for _, v := range said.Violations {
		n := v.Nodes[0]
		t.Errorf("%s: %s (%s): %s\n%s\n%s", name, v.ID, v.Impact, v.Help, n.HTML, n.Why)
	}
}

// The looks for bright sun and for the night, and imperial units, are chosen on the page,
// kept, and as well to be read as the usual one.
func TestLooks(t *testing.T) {
	ctx := browser(t)
	axe, err := os.ReadFile("testdata/axe/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(site(t).Handler())
	defer srv.Close()
	for _, chosen := range []string{"sun", "night"} {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740), chromedp.Navigate(srv.URL+"/settings?back=/list"),
			chromedp.Click(`[name=look][value=`+chosen+`]`), chromedp.Click(`[name=units][value=imperial]`)); err != nil {
			t.Fatal(err)
		}
		if _, err := chromedp.RunResponse(ctx, chromedp.Click("button.go")); err != nil {
			t.Fatal(err)
		}
		if at, err := chromedp.Run(ctx, chromedp.Location()); err != nil || at != srv.URL+"/list" {
			t.Errorf("back at %s, %v", at, err)
		}
		for _, p := range [][2]string{{"home", "/"}, {"coupling", at("/coupling", "consist", pairText)}, {"test", at("/test", "consist", pairText)}, {"class", at("/class", "class", "GV")}} {
			look(t, ctx, srv.URL+p[1])
			if is, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.documentElement.dataset.look`)); err != nil || is != chosen {
				t.Errorf("%s: look %q, %v", p[0], is, err)
			}
			if pictures := os.Getenv("HEADSTOCK_PICTURES"); pictures != "" {
				picture(t, ctx, filepath.Join(pictures, p[0]+"-"+chosen+".png"), 360, 740)
			}
			clean(t, ctx, string(axe), p[0]+" in the look for "+chosen)
			wide, err := chromedp.Run(ctx, chromedp.Evaluate[int64](`document.documentElement.scrollWidth`))
			if err != nil || wide > 360 {
				t.Errorf("%s in the look for %s: %d px wide, %v", p[0], chosen, wide, err)
			}
		}
		look(t, ctx, srv.URL+at("/test", "consist", pairText))
		if said, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("main").innerText`)); err != nil || !strings.Contains(said, "72.5 psi") {
			t.Errorf("the units are not kept: %v", err)
		}
		// the policy holds in the browser: a page without script may not fetch
		look(t, ctx, srv.URL+"/")
		if _, err := chromedp.Run(ctx, chromedp.Evaluate[string](`fetch("/healthz").then(r => r.text())`, chromedp.EvalAwaitPromise)); err == nil {
			t.Error("a page may fetch, although its policy forbids it")
		}
	}
}

// smallTargets lists what is pressed and is lower or narrower than 48 px. A link within a
// sentence, and a numbered stand of a drawing whose list stands below it, may be smaller.
const smallTargets = `[...document.querySelectorAll("a,button,input:not([type=hidden]),select,summary")].filter(e => {
	const r = e.getBoundingClientRect();
	if (r.width === 0 || e.closest("svg") || e.closest(".tick") || e.classList.contains("skip") || e.closest("details:not([open]) > :not(summary)")) return false;
	if (e.tagName === "A" && getComputedStyle(e).display === "inline") return false;
	return r.height < 47.5 || r.width < 47.5;
}).map(e => e.outerHTML.slice(0, 120) + " " + Math.round(e.getBoundingClientRect().width) + "x" + Math.round(e.getBoundingClientRect().height))`

// The main job, at both widths: two unit numbers and who leads; hoses, dummies, cabinet and
// what is lost; the set-up card; the brake test with what was read, judged.
func TestMainJob(t *testing.T) {
	ctx := browser(t)
	srv := httptest.NewServer(site(t).Handler())
	defer srv.Close()
	var tt *testing.T // of the width at hand
	do := func(steps ...chromedp.Action[chromedp.Void]) {
		t := tt
		t.Helper()
		if err := chromedp.Do(ctx, steps...); err != nil {
			t.Fatal(err)
		}
	}
	reads := func(want ...string) {
		t := tt
		t.Helper()
		text := ""
		for range 40 {
			got, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("main")?.innerText ?? ""`))
			missing := err != nil
			for _, w := range want {
				missing = missing || !strings.Contains(got, w)
			}
			if !missing {
				return
			}
			text = got
			time.Sleep(250 * time.Millisecond) // the page asks again by itself
		}
		t.Fatalf("the page never says %q; it says\n%s", want, text)
	}
	press := func(sel string) {
		t := tt
		t.Helper()
		resp, err := chromedp.RunResponse(ctx, chromedp.Click(sel))
		if err != nil {
			t.Fatalf("%s: %v", sel, err)
		}
		if resp.Status != 200 {
			t.Fatalf("%s: status %d", sel, resp.Status)
		}
	}
	for _, size := range sizes {
		t.Run(size.name, func(t *testing.T) {
			tt = t
			do(chromedp.EmulateViewport(size.wide, size.high), chromedp.Navigate(srv.URL))
			do(chromedp.SendKeys("#unit", "3"), chromedp.SetValue("#unit-role", "lead"))
			// 3 is a number of several classes, so the page asks which
			resp, err := chromedp.RunResponse(ctx, chromedp.Click(".couple .go"))
			if err != nil {
				t.Fatal(err)
			}
			if resp.Status != 400 {
				t.Fatalf("status %d for a number that several units have", resp.Status)
			}
			reads("The number 3 could be")
			do(chromedp.SetValue("#unit", "tern3"), chromedp.SetValue("#next", "11"), chromedp.SetValue("#next-role", "trail"))
			press(".couple .go")
			reads("works with losses", "Hoses, dummies and cocks", "Tern 3 headstock 2 to Kite 11 headstock 1", "only at Tern 3 headstock 2: cock shut, hose on its dummy",
				"Pipe changeover, upper lever", "command", "no quick release on Kite 11", "The one step that shows it is right", "What could be wrong here")
			if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.querySelector("svg title").textContent.includes("Kite 11")`)); err != nil {
				t.Fatal(err)
			}
			press(`.around a[href^="/card"]`)
			reads("Kite 11, trail, command lead", "brake cabinet in the middle of the gangway", "lever across the pipes")
			press(`.around a[href^="/test"]`)
			reads("Brake test", "Make the first reduction", "Signal")
			// one piston that is not out, and a gauge as expected, in the unit of the page
			for name, value := range map[string]string{
				"read:reduction/1-1/bogie-1-piston": "in",
			} {
				do(chromedp.SetValue(fmt.Sprintf(`[name="%s"]`, name), value))
			}
			do(chromedp.SetValue(`[name="read:charge/0-0/brake-pipe-gauge"]`, "500"))
			press(".sheet > .go")
			reads("outside allowed", "as expected", "What was entered, judged")
			kept, err := chromedp.Run(ctx, chromedp.Value(`[name="read:reduction/1-1/bogie-1-piston"]`))
			if err != nil || kept != "in" {
				t.Errorf("what was entered is not kept: %q, %v", kept, err)
			}
		})
	}
	// what cannot be reached is no surprise: with the server gone the browser says so, and
	// what was entered has been judged already
	srv.CloseClientConnections()
	srv.Close()
	if err := chromedp.Do(ctx, chromedp.Navigate(srv.URL)); err == nil {
		t.Error("the server is stopped and still answers")
	}
}

// The whole of the first page is reached by keyboard, in the order in which it is read, and
// at 200 % nothing is cut off.
func TestKeyboardAndZoom(t *testing.T) {
	ctx := browser(t)
	srv := httptest.NewServer(site(t).Handler())
	defer srv.Close()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1440, 900), chromedp.Navigate(srv.URL)); err != nil {
		t.Fatal(err)
	}
	order, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("a,button,input:not([type=hidden]),select,[tabindex='0']")].filter(e => e.tabIndex >= 0 && !e.disabled).map(e => e.id || e.textContent.trim())`))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"To the answer", "headstock", "unit", "unit-role", "next", "Hoses, cabinet, losses"}
	k := 0
	for _, o := range order {
		if k < len(want) && o == want[k] {
			k++
		}
	}
	if k < len(want) {
		t.Errorf("%q is not reached in order among %q", want[k], order)
	}
	for range 4 {
		if err := chromedp.Do(ctx, chromedp.KeyEvent("\t")); err != nil {
			t.Fatal(err)
		}
	}
	seen, err := chromedp.Run(ctx, chromedp.Evaluate[string](`getComputedStyle(document.activeElement).outlineStyle`))
	if err != nil || seen == "none" {
		t.Errorf("what has the keyboard is not shown: outline %q, %v", seen, err)
	}
	// 200 % of a 720 px window is half the room: 360 px
	for _, p := range everyPage()[:5] {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 450, chromedp.EmulateScale(2))); err != nil {
			t.Fatal(err)
		}
		look(t, ctx, srv.URL+p[1])
		if wide, err := chromedp.Run(ctx, chromedp.Evaluate[int64](`document.documentElement.scrollWidth`)); err != nil || wide > 360 {
			t.Errorf("%s at 200 %%: %d px wide, %v", p[0], wide, err)
		}
	}
}
