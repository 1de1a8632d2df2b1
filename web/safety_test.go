package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"headstock/card"
	"headstock/demo"
	"headstock/web"
)

// asks fetches a page from a handler.
func asks(t testing.TB, h http.Handler, r *http.Request) (*http.Response, string) {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	res := w.Result()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res, string(b)
}

func gets(t testing.TB, h http.Handler, path string) (*http.Response, string) {
	t.Helper()
	return asks(t, h, httptest.NewRequest("GET", path, nil))
}

// done asks until no runs are outstanding.
func done(t testing.TB, h http.Handler, path string) string {
	t.Helper()
	for range 400 {
		res, body := gets(t, h, path)
		if res.Header.Get("Refresh") == "" {
			return body
		}
		time.Sleep(25 * time.Millisecond)
	}
	t.Fatalf("%s is never done", path)
	return ""
}

// Every page carries the caution at its head and at its foot, forbids what it does not need,
// and holds no script and no style within itself.
func TestEveryPageIsSafe(t *testing.T) {
	h := site(t).Handler()
	ours := regexp.MustCompile(`<script src="/[a-z-]+\.js\?v=[0-9a-f]{12}" defer></script>`)
	inline := regexp.MustCompile(`(?i)<script|<style|\sstyle=|\son[a-z]+=|javascript:|https?://[^" ]*"`)
	for _, p := range everyPage() {
		res, body := gets(t, h, p[1])
		if n := strings.Count(body, strings.ReplaceAll(card.Caution, "'", "&#39;")); n < 2 {
			t.Errorf("%s: the caution stands there %d times", p[0], n)
		}
		csp := res.Header.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy %q lacks %s", p[0], csp, want)
			}
		}
		if strings.Contains(csp, "unsafe") {
			t.Errorf("%s: %s", p[0], csp)
		}
		if res.Header.Get("X-Content-Type-Options") != "nosniff" || res.Header.Get("Referrer-Policy") == "" {
			t.Errorf("%s: headers %v", p[0], res.Header)
		}
		body = strings.ReplaceAll(body, ` xmlns="http://www.w3.org/2000/svg"`, "")
		if n := strings.Count(body, `<script src="/page.js?v=`); n != 1 {
			t.Errorf("%s: the script of the pages stands there %d times", p[0], n)
		}
		// only a page with a script of its own may ask this server
		if asks := strings.Contains(body, `<script src="/sheet.js?v=`); asks != strings.Contains(csp, "connect-src 'self'") {
			t.Errorf("%s: with a script of its own %v, and the policy is %q", p[0], asks, csp)
		}
		if x := inline.FindString(ours.ReplaceAllString(body, "")); x != "" {
			t.Errorf("%s holds %q", p[0], x)
		}
	}
}

// The style sheet is ours, is kept by its hash, and puts the caution on every printed sheet.
func TestStyleSheet(t *testing.T) {
	h := site(t).Handler()
	_, first := gets(t, h, "/")
	href := regexp.MustCompile(`href="(/look\.css\?v=[0-9a-f]+)"`).FindStringSubmatch(first)
	if href == nil {
		t.Fatal("the first page has no style sheet")
	}
	res, css := gets(t, h, href[1])
	if !strings.Contains(res.Header.Get("Cache-Control"), "immutable") || !strings.HasPrefix(res.Header.Get("Content-Type"), "text/css") {
		t.Errorf("headers %v", res.Header)
	}
	if !strings.Contains(css, `content:"`+card.Caution+`"`) {
		t.Error("the caution of the printed sheet is not the caution")
	}
	if strings.Contains(css, "url(") || strings.Contains(css, "@import") {
		t.Error("the style sheet fetches something")
	}
	if res, _ := gets(t, h, "/look.css?v=old"); strings.Contains(res.Header.Get("Cache-Control"), "immutable") {
		t.Error("another version is kept for good")
	}
}

// A record, a consist and a search whose words are markup come out as words.
func TestMarkupIsWords(t *testing.T) {
	const evil = `<evil-x onload="a()">'"&`
	files := fstest.MapFS{}
	err := fs.WalkDir(demo.Railway(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(demo.Railway(), name)
		text := string(b)
		quoted := `'` + strings.ReplaceAll(evil, "'", "''") + `'`
		for _, plain := range []string{"name: Pipe changeover, upper lever", "name: Brake cylinder gauge", "name: Pistons of bogie 1"} {
			text = strings.ReplaceAll(text, plain, "name: "+quoted)
		}
		text = strings.ReplaceAll(text, "{name: brake cabinet in the middle of the gangway,", "{name: "+quoted+",")
		text = strings.ReplaceAll(text, "title: Co-Co diesel-electric with a cab at each end and a through gangway", "title: "+quoted)
		text = strings.ReplaceAll(text, "name: Marram Coast Railway", "name: "+quoted)
		text = strings.ReplaceAll(text, "reason: equalising pipe blanked behind headstock 2 on the closed line; hose and cock are there and do nothing", "reason: "+quoted)
		files[name] = &fstest.MapFile{Data: []byte(text)}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	s, complaints := web.New(web.Config{Fleet: files, Saved: []string{trainText, pairText}, Version: evil, AtOnce: 2, Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	if s == nil {
		t.Fatal(complaints)
	}
	h := s.Handler()
	pages := append(everyPage(),
		[2]string{"find", at("/find", "words", evil)}, [2]string{"bad consist", at("/coupling", "consist", evil)}, [2]string{"bad unit", at("/unit", "unit", evil)},
		[2]string{"couple", at("/couple", "unit", evil)}, [2]string{"back", at("/settings", "back", "/"+evil)}, [2]string{"evil path", "/" + url.PathEscape(evil)})
	seen := 0
	for _, p := range pages {
		body := done(t, h, p[1])
		if strings.Contains(body, "<evil") {
			t.Errorf("%s: markup of a record comes out as markup", p[0])
		}
		if strings.Contains(body, "&lt;evil") {
			seen++
		}
		if strings.Contains(body, `onload="a()"`) {
			t.Errorf("%s: an attribute of a record comes out as one", p[0])
		}
	}
	if seen < 20 {
		t.Errorf("only %d of %d pages show the words at all", seen, len(pages))
	}
	// a record that was changed since it was signed is a draft, and every page of it says so
	if body := done(t, h, at("/card", "consist", pairText)); strings.Count(body, card.Draft) < 2 {
		t.Error("a draft is not said at head and foot")
	}
}

// What another site's page sends is refused, a name that is not ours is not answered to, and
// nothing leads elsewhere.
func TestFromElsewhere(t *testing.T) {
	s, _ := web.New(web.Config{Fleet: demo.Railway(), Hosts: []string{"localhost", "127.0.0.1"}, Now: time.Now})
	h := s.Handler()
	post := func(path, body string, set func(*http.Request)) (*http.Response, string) {
		r := httptest.NewRequest("POST", "http://localhost"+path, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		set(r)
		return asks(t, h, r)
	}
	for _, path := range []string{"/settings", "/keep", at("/test", "consist", pairText), "/api/judge"} {
		if res, _ := post(path, "units=imperial", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }); res.StatusCode != http.StatusForbidden {
			t.Errorf("%s from another site: status %d", path, res.StatusCode)
		}
		if res, _ := post(path, "units=imperial", func(r *http.Request) { r.Header.Set("Origin", "https://elsewhere.example") }); res.StatusCode != http.StatusForbidden {
			t.Errorf("%s from another origin: status %d", path, res.StatusCode)
		}
	}
	for _, back := range []string{"https://elsewhere.example/", "//elsewhere.example/", `/\elsewhere.example`, "javascript:alert(1)", "/ok\r\nX: y"} {
		res, _ := post("/settings", url.Values{"units": {"imperial"}, "back": {back}}.Encode(), func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-origin") })
		if res.StatusCode != http.StatusSeeOther || res.Header.Get("Location") != "/" {
			t.Errorf("back to %q: status %d, to %q", back, res.StatusCode, res.Header.Get("Location"))
		}
	}
	for host, want := range map[string]int{"localhost:8383": 200, "127.0.0.1": 200, "LOCALHOST": 200, "elsewhere.example": 421, "127.0.0.1.elsewhere.example:8383": 421} {
		r := httptest.NewRequest("GET", "http://localhost/", nil)
		r.Host = host
		if res, _ := asks(t, h, r); res.StatusCode != want {
			t.Errorf("asked as %s: status %d, want %d", host, res.StatusCode, want)
		}
	}
}

// What is too long is refused, in words.
func TestBounds(t *testing.T) {
	h := site(t).Handler()
	long := strings.Repeat("x", 700)
	for path, want := range map[string]int{
		at("/find", "words", long):                         400,
		at("/find", "words", strings.Repeat("y", 9000)):    414,
		at("/coupling", "consist", "Tern 3 lead, 200 HX"):  400,
		at("/api/find", "words", long):                     400,
		at("/coupling", "consist", pairText, "units", "x"): 400,
		"/api/none": 404,
	} {
		if res, body := gets(t, h, path); res.StatusCode != want {
			t.Errorf("%.60s: status %d, want %d: %.200s", path, res.StatusCode, want, body)
		}
	}
	r := httptest.NewRequest("POST", at("/test", "consist", pairText), strings.NewReader("a="+strings.Repeat("z", 300<<10)))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	done(t, h, at("/test", "consist", pairText))
	if res, _ := asks(t, h, r); res.StatusCode != 400 {
		t.Errorf("a form of 300 KiB: status %d", res.StatusCode)
	}
}

// Units are chosen by the person, or in the question, which comes first.
func TestUnits(t *testing.T) {
	h := site(t).Handler()
	path := at("/test", "consist", pairText)
	if body := done(t, h, path); !strings.Contains(body, "500 kPa") {
		t.Error("no kPa")
	}
	r := httptest.NewRequest("GET", path, nil)
	r.AddCookie(&http.Cookie{Name: "units", Value: "imperial"})
	if _, body := asks(t, h, r); !strings.Contains(body, "72.5 psi") || strings.Contains(body, "± 10 kPa") {
		t.Error("the person's psi are not shown")
	}
	r = httptest.NewRequest("GET", path+"&units=metric", nil)
	r.AddCookie(&http.Cookie{Name: "units", Value: "imperial"})
	if _, body := asks(t, h, r); !strings.Contains(body, "500 kPa") {
		t.Error("the question does not come before the person's choice")
	}
	// a reading without a unit is in that of the page
	r = httptest.NewRequest("POST", path+"&units=imperial", strings.NewReader(url.Values{"read:charge/0-0/brake-pipe-gauge": {"72,5"}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if res, body := asks(t, h, r); res.StatusCode != 200 || !strings.Contains(body, "as expected") {
		t.Errorf("72,5 in psi: status %d", res.StatusCode)
	}
}

// Wagons that are read together are judged each, and those that were not so by their number.
func TestWagonsTogether(t *testing.T) {
	h := site(t).Handler()
	path := at("/test", "consist", trainText)
	body := done(t, h, path)
	name := regexp.MustCompile(`name="(read:reduction/2-21/[^"]+)"`).FindStringSubmatch(body)
	if name == nil {
		t.Fatal("twenty wagons have no entry together")
	}
	form := url.Values{name[1]: {"out"}, strings.Replace(name[1], "read:", "not:", 1): {"205, 207"}}
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	res, body := asks(t, h, r)
	if res.StatusCode != 200 || !strings.Contains(body, "outside allowed") {
		t.Fatalf("status %d", res.StatusCode)
	}
	if n := strings.Count(body, "outside allowed</td>"); n != 2 {
		t.Errorf("%d readings are judged outside, want 2", n)
	}
	for _, n := range []string{"HX 205", "HX 207"} {
		if !regexp.MustCompile(n + `</td>(?s:.{0,260})outside allowed`).MatchString(body) {
			t.Errorf("%s is not judged outside", n)
		}
	}
}

// A consist is kept on the device and forgotten again.
func TestKept(t *testing.T) {
	h := site(t).Handler()
	const mine = "Tern 5 lead, Kite 14 trail"
	send := func(form url.Values, have []*http.Cookie) []*http.Cookie {
		r := httptest.NewRequest("POST", "/keep", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for _, c := range have {
			r.AddCookie(c)
		}
		res, _ := asks(t, h, r)
		if res.StatusCode != http.StatusSeeOther {
			t.Fatalf("status %d", res.StatusCode)
		}
		return res.Cookies()
	}
	first := func(have []*http.Cookie) string {
		r := httptest.NewRequest("GET", "/", nil)
		for _, c := range have {
			r.AddCookie(c)
		}
		_, body := asks(t, h, r)
		return body
	}
	have := send(url.Values{"consist": {mine}}, nil)
	if !strings.Contains(first(have), mine) || !have[0].HttpOnly || have[0].SameSite != http.SameSiteStrictMode {
		t.Errorf("not kept, or not for this site alone: %v", have)
	}
	if have = send(url.Values{"consist": {mine}, "drop": {"yes"}}, have); strings.Contains(first(have), mine) {
		t.Error("not forgotten")
	}
	for range 2 { // whatever a cookie holds, the first page comes
		if body := first([]*http.Cookie{{Name: "consists", Value: "%%%"}, {Name: "look", Value: "<evil>"}, {Name: "units", Value: "x"}}); !strings.Contains(body, "Coupling up") || strings.Contains(body, "<evil>") {
			t.Error("a broken cookie breaks the first page")
		}
	}
}

// Each request is noted, and nothing of it in a form that could be taken for another line.
func TestNotes(t *testing.T) {
	var b bytes.Buffer
	s, _ := web.New(web.Config{Fleet: demo.Railway(), Now: time.Now, Log: slog.New(slog.NewJSONHandler(&b, nil))})
	gets(t, s.Handler(), "/x%0Alevel=ERROR")
	var line struct {
		Msg, Path string
		Status    int
	}
	if err := json.Unmarshal(b.Bytes(), &line); err != nil || strings.Count(b.String(), "\n") != 1 || line.Status != 404 {
		t.Errorf("%q: %v", b.String(), err)
	}
}

// The same handler builds for a browser.
func TestBuildsForABrowser(t *testing.T) {
	cmd := exec.Command("go", "build", "-o", os.DevNull, ".")
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

// First byte of the first page from a cold start: the records read, the templates parsed,
// one request.
func BenchmarkColdFirstPage(b *testing.B) {
	for b.Loop() {
		if res, _ := gets(b, site(b).Handler(), "/"); res.StatusCode != 200 {
			b.Fatal(res.Status)
		}
	}
}

// Each page once its runs have been made, and the first answer to a consist that nobody has
// asked about.
func BenchmarkPages(b *testing.B) {
	h := site(b).Handler()
	for _, p := range everyPage() {
		done(b, h, p[1])
		b.Run(p[0], func(b *testing.B) {
			for b.Loop() {
				gets(b, h, p[1])
			}
		})
	}
	n := 0
	b.Run("never-asked", func(b *testing.B) {
		for b.Loop() {
			n++
			gets(b, h, at("/coupling", "consist", fmt.Sprintf("Tern 3 lead, Kite 11 trail, %d HX", n%59+1)))
		}
	})
}
