package web_test

import (
	"context"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/chromedp/chromedp"
)

// hand is a gloved hand on a telephone: it counts what it touches and what it types.
type hand struct {
	t       *testing.T
	ctx     context.Context
	touches int
	letters int
}

// touch presses what is named, wherever on the page it stands, and waits for the next page.
func (h *hand) touch(sel string) {
	h.t.Helper()
	h.touches++
	resp, err := chromedp.RunResponse(h.ctx, chromedp.Click(sel))
	if err != nil {
		h.t.Fatalf("touch %s: %v", sel, err)
	}
	if resp.Status != 200 {
		h.t.Fatalf("touch %s: status %d", sel, resp.Status)
	}
}

// types puts letters into a field.
func (h *hand) types(sel, text string) {
	h.t.Helper()
	h.letters += utf8.RuneCountInString(text)
	if err := chromedp.Do(h.ctx, chromedp.SendKeys(sel, text)); err != nil {
		h.t.Fatalf("type into %s: %v", sel, err)
	}
}

// reads waits until the page says all of it, runs included.
func (h *hand) reads(want ...string) {
	h.t.Helper()
	text := ""
	for range 80 {
		got, err := chromedp.Run(h.ctx, chromedp.Evaluate[string](`document.querySelector("main")?.innerText ?? ""`))
		missing := err != nil
		for _, w := range want {
			missing = missing || !strings.Contains(got, w)
		}
		if !missing {
			return
		}
		text = got
		time.Sleep(125 * time.Millisecond) // the page asks again by itself
	}
	h.t.Fatalf("the page never says %q; it says\n%s", want, text)
}

// asking is one of the fifteen questions: what is typed and touched for it after the unit's
// number, and what the page then says.
type asking struct {
	name, unit string
	does       func(h *hand)
	says       []string
}

func fifteen() []asking {
	ask := func(about string) string { return `main a[href^="/ask?about=` + about + `&"]` }
	return []asking{
		{"which way is open on this cock", "11", func(h *hand) { h.touch(ask("cocks")); h.touch(`main a[href*="value=coupling"]`) },
			[]string{"Which way is open", "Train pipe cock at headstock 2", "handle hanging straight down", "handle lifted level to the coupler"}},
		{"where is the dead-engine cock", "11", func(h *hand) { h.touch(ask("dead-engine")) },
			[]string{"Dead-haul cock in the cabinet", "brake cabinet in the middle of the gangway"}},
		{"which hose to which, and what on dummies", "11", func(h *hand) { h.touch(ask("hoses")); h.touch(`main a[aria-label="Tern 3"][href*="Kite+11+trail"]`) },
			[]string{"Tern 3 headstock 2 to Kite 11 headstock 1", "only at Tern 3 headstock 2: cock shut, hose on its dummy"}},
		{"where does the changeover go", "11", func(h *hand) { h.touch(ask("changeover")) },
			[]string{"trail, command lead", "command", "lever across the pipes", "stop plate"}},
		{"brakes stay on on the second unit", "11", func(h *hand) { h.touch(ask("stays-on")); h.touch(`main a[aria-label="Tern 3"]`) },
			[]string{"NORMAL HERE", "does not carry the fourth pipe", "After the automatic release: NOT NORMAL"}},
		{"the pipe will not charge past 100", "11", func(h *hand) { h.touch(ask("wont-charge")); h.touch(`main a[href*="value=100"]`) },
			[]string{"will not charge past 100 kPa", "Look first", "failures of parts"}},
		{"how long should charging take", "11", func(h *hand) {
			h.touch(ask("charging"))
			h.touch(`main a[href*="20+HX"]`)
		}, []string{"from empty", "the railway waits", "20 min"}},
		{"it will not crank", "11", func(h *hand) { h.touch(`main a[href="/crank?unit=Kite+11"]`) },
			[]string{"How far it gets", "cranks"}},
		{"the trip is out, may I reset", "11", func(h *hand) { h.touch(`main a[href="/trips?unit=Kite+11"]`) },
			[]string{"Crankcase link on the end cover", "DO NOT RESET IT", "twice, 5 min apart"}},
		{"the bell rings, which unit", "11", func(h *hand) { h.touch(ask("bell")) },
			[]string{"any unit on the jumper", "What rings it on Kite 11", "Lit on its own unit alone"}},
		{"steady slip light, may I go on", "11", func(h *hand) { h.touch(ask("slip")) },
			[]string{"stop and see every axle of every unit turn", "not through an adapter lead"}},
		{"travel 140 mm, good or not", "11", func(h *hand) { h.touch(ask("travel")); h.types("#entry", "140"); h.touch("form.own #entry + button") },
			[]string{"outside", "140 mm", "70 mm to 115 mm"}},
		{"one bogie cut out, what may I take", "11", func(h *hand) {
			h.touch(ask("cut-out"))
			h.touch(`main a[href*="bogie-1-cock"]`)
		}, []string{"may not lead", "at most 40 km/h", "at most 50 % of its load"}},
		{"how many hand brakes here", "11", func(h *hand) { h.touch(ask("hand-brakes")); h.touch(`main a[href*="grade=1+in+100"]`) },
			[]string{"hand brakes on 1 in 100", "Hand brake lever of cab 1", "steepest grade they hold it on"}},
		{"vigilance failed, may it lead", "11", func(h *hand) { h.touch(`main a[href*="vigilance-device"]`) },
			[]string{"Kite 11 may not lead", "vigilance-out", "may trail"}},
		// a number that several classes have costs a touch
		{"where is the dead-engine cock of a Tern", "tern3", func(h *hand) { h.touch(ask("dead-engine")) },
			[]string{"Tern 3", "where"}},
	}
}

// The bounds of each.
const (
	mostTouches  = 3
	mostLetters  = 8
	answerWithin = 10 * time.Second
)

// answered asks one of the questions from the first page and holds it to its bounds.
func (q asking) answered(t *testing.T, ctx context.Context, first string) {
	if err := chromedp.Do(ctx, chromedp.Navigate(first), chromedp.SendKeys("#one", q.unit)); err != nil {
		t.Fatal(err)
	}
	h := &hand{t: t, ctx: ctx}
	begin := time.Now()
	h.touch(`form[action="/unit"] button`)
	q.does(h)
	h.reads(q.says...)
	took := time.Since(begin)
	t.Logf("%d touches, %d letters, %.1f s", h.touches, h.letters, took.Seconds())
	if h.touches > mostTouches || h.letters > mostLetters {
		t.Errorf("%d touches and %d letters", h.touches, h.letters)
	}
	if took > answerWithin {
		t.Errorf("it takes %v", took)
	}
}

// Each of the fifteen questions is answered on a cold telephone: from the first page, after
// the unit's number, within three touches or eight letters, and within ten seconds.
func TestFifteenQuestions(t *testing.T) {
	ctx, end := context.WithTimeout(browser(t), 2*time.Minute)
	defer end()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740, chromedp.EmulateMobile)); err != nil {
		t.Fatal(err)
	}
	for _, q := range fifteen() {
		t.Run(q.name, func(t *testing.T) {
			// cold: a server that has answered nothing yet
			srv := httptest.NewServer(site(t).Handler())
			defer srv.Close()
			q.answered(t, ctx, srv.URL)
		})
	}
}

// And so they are with no signal: the server is stopped and the browser answers by itself,
// from a program that it starts for the first question.
func TestFifteenQuestionsWithNoSignal(t *testing.T) {
	p, first := alone(t, tabletSite(t))
	ctx, end := context.WithTimeout(p.ctx, 3*time.Minute)
	defer end()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740, chromedp.EmulateMobile)); err != nil {
		t.Fatal(err)
	}
	for _, q := range fifteen() {
		t.Run(q.name, func(t *testing.T) {
			q.answered(t, ctx, first)
			if says, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.getElementById("alone") !== null`)); err != nil || !says {
				t.Errorf("a server answered: %v, %v", says, err)
			}
		})
	}
}
