package web_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"headstock/haul"
)

// linePages are the pages of a train on the line.
func linePages(train string) [][2]string {
	return [][2]string{
		{"load", at("/load", "consist", train)}, {"move-off", at("/move-off", "consist", train, "grade", "1 in 45")}, {"pull", at("/pull", "consist", train)},
		{"journey", at("/journey", "consist", train)}, {"stop", at("/stop", "consist", train)}, {"descend", at("/descend", "consist", train)},
		{"run-in", at("/run-in", "consist", train)}, {"profile", "/profile"},
	}
}

const haulText = "Tern 3 lead, Kite 11 trail, 6 HX loaded"

// Each page says what it answers with a drawing and what stands in it as a table, marks how
// far its figures can be trusted, and can be asked otherwise before the answer.
func TestOnTheLine(t *testing.T) {
	h := site(t).Handler()
	for _, p := range linePages(haulText) {
		body := done(t, h, p[1])
		for _, want := range []string{"How far the figures can be trusted", "<table"} {
			if !strings.Contains(body, want) {
				t.Errorf("%s: no %q", p[0], want)
			}
		}
		if p[0] != "load" {
			for _, want := range []string{`class="drawing wide"`, `class="drawing narrow"`, "<desc id=", "the same.</desc>"} {
				if !strings.Contains(body, want) {
					t.Errorf("%s: no %q", p[0], want)
				}
			}
		}
		if p[0] != "profile" {
			if form, verdict := strings.Index(body, `class="ask ahead"`), strings.Index(body, `class="verdict`); form < 0 || verdict >= 0 && form > verdict {
				t.Errorf("%s: it cannot be asked otherwise before the answer", p[0])
			}
		}
		ids := map[string]bool{}
		for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(body, -1) {
			if ids[m[1]] {
				t.Errorf("%s: two things have the id %s", p[0], m[1])
			}
			ids[m[1]] = true
		}
	}
}

// They are reached from the page at the coupling and from the page of a unit.
func TestWaysToTheLine(t *testing.T) {
	h := site(t).Handler()
	coupling, unit := done(t, h, at("/coupling", "consist", pairText)), done(t, h, at("/unit", "unit", "Tern 3"))
	link := func(path, consist string) string {
		return strings.ReplaceAll("/"+path+"?"+url.Values{"consist": {consist}}.Encode(), "+", "&#43;")
	}
	for _, path := range []string{"load", "move-off", "pull", "journey", "stop", "descend", "run-in", "hold"} {
		if !strings.Contains(coupling, `href="`+link(path, pairText)) {
			t.Errorf("the page at the coupling does not lead to %s", path)
		}
		if strings.Contains(unit, `href="`+link(path, "Tern 3 alone")) == (path == "load") {
			t.Errorf("the page of a unit does not lead to %s", path)
		}
	}
	if !strings.Contains(unit, link("load", pairText)) {
		t.Error("the page of a unit does not lead to the line in a consist that is kept")
	}
	if _, wagon := gets(t, h, at("/unit", "unit", "HX 201")); strings.Contains(wagon, "on the line") {
		t.Error("a wagon by itself is offered the line")
	}
}

// In imperial units no figure of the answer is left in metric ones but the posts of the line,
// amperes, volts, litres, kilowatt-hours and the curve forms' names.
func TestOnTheLineInImperial(t *testing.T) {
	h := site(t).Handler()
	metric := regexp.MustCompile(`\d (?:kPa|kN|km/h|kW|t|m|K|km)(?:[ ,.;:<)]|$)`)
	tags := regexp.MustCompile(`(?s)<svg.*?</svg>|<form.*?</form>|<[^>]*>`)
	for _, p := range linePages(haulText) {
		address := p[1]
		if strings.Contains(address, "?") {
			address += "&units=imperial"
		} else {
			address += "?units=imperial"
		}
		body := done(t, h, address)
		main := body[strings.Index(body, "<main"):strings.Index(body, `class="rests"`)]
		for _, m := range metric.FindAllStringIndex(tags.ReplaceAllString(main, " "), -1) {
			text := tags.ReplaceAllString(main, " ")
			around := text[max(0, m[0]-60):min(len(text), m[1]+20)]
			t.Errorf("%s: %q", p[0], strings.Join(strings.Fields(around), " "))
		}
		for _, axis := range []string{", km/h<", ", kN<", ", m<", ", K<", "kN; pull"} {
			if strings.Contains(body, axis) {
				t.Errorf("%s: an axis in %q", p[0], axis)
			}
		}
	}
}

// What cannot be understood is said, with what was expected; what the records lack is an
// answer that names it.
func TestOnTheLineAskedWrong(t *testing.T) {
	h := site(t).Handler()
	for _, x := range []struct{ address, says string }{
		{at("/stop", "consist", haulText, "speed", "40"), "expected one in a unit"},
		{at("/stop", "consist", haulText, "speed", "900 km/h"), "out of reach"},
		{at("/stop", "consist", haulText, "grade", "steep"), "such as 1 in 45"},
		{at("/stop", "consist", haulText, "rail", "drie"), "expected one of dry, wet, greasy"},
		{at("/stop", "consist", haulText, "how", "gently"), "full service or emergency"},
		{at("/stop", "consist", haulText, "travel", "HX 204"), "vehicle=length"},
		{at("/stop", "consist", "2 HX"), "unit that leads"},
		{at("/journey", "consist", haulText, "from", "Saltmarsh"), "starts and the place"},
		{at("/journey", "consist", haulText, "from", "Saltmarsh", "to", "Nowhere"), "Nowhere"},
		{at("/journey", "consist", haulText, "hot", "very"), "from 0 to 200"},
		{at("/load", "consist", haulText, "rail", "damp"), "expected one of dry sanded"},
		{at("/load", "consist", haulText, "within", "-5 m"), "out of reach"},
		{at("/descend", "consist", haulText, "grade", "1 in 45 rising"), "way down falls"},
		{at("/descend", "consist", haulText, "from", "Ruddle Loop", "to", "Quernhill"), "othing falls"},
		{at("/descend", "consist", haulText, "from", "Quernhill", "to", "Ruddle Loop", "grade", "1 in 45"), "name one of them"},
		{at("/run-in", "consist", haulText, "slack", "some"), "stretched or bunched"},
		{at("/move-off", "consist", haulText, "curve", "140 t"), "is no length"},
		{at("/pull", "consist", haulText, "unit", "Tern 9"), "Tern 9"},
	} {
		code, body := 0, ""
		for range 200 {
			res, b := gets(t, h, x.address)
			if code, body = res.StatusCode, b; res.Header.Get("Refresh") == "" {
				break
			}
			done(t, h, x.address)
		}
		if code != 400 || !strings.Contains(body, x.says) {
			t.Errorf("%s: status %d, does not say %q", x.address, code, x.says)
		}
	}
	for address, lacks := range map[string]string{
		at("/load", "consist", "Tern 3 alone"):             "a wagon in the consist",
		at("/pull", "consist", haulText, "unit", "HX 201"): "traction of class HX",
	} {
		body := done(t, h, address)
		if !strings.Contains(body, "Cannot say") || !strings.Contains(body, lacks) {
			t.Errorf("%s does not say that it lacks %q", address, lacks)
		}
	}
}

// The page and the command line are of one mind, since both ask haul: the values under /api
// are those of a run made here.
func TestOnTheLineValues(t *testing.T) {
	h := site(t).Handler()
	res, body := gets(t, h, at("/api/stop", "consist", haulText, "speed", "50 km/h", "grade", "1 in 100", "how", "emergency", "reaction", "2 s"))
	var got struct {
		Values struct {
			Answer haul.StopAnswer `json:"answer"`
		} `json:"values"`
	}
	if err := json.Unmarshal([]byte(body), &got); err != nil || res.StatusCode != 200 {
		t.Fatal(res.Status, err)
	}
	a := got.Values.Answer
	if !a.Emergency || a.Speed < 13.8 || a.Falling != 0.01 || a.Reaction < 27 || !a.Stops || a.Distance < 100 {
		t.Errorf("%+v", a)
	}
	if _, body := gets(t, h, at("/api/stop", "consist", haulText, "speed", "50 km/h", "grade", "1 in 100 rising", "how", "emergency")); !strings.Contains(body, `"falling":-0.01`) {
		t.Error("a rising grade falls")
	}
	if _, body := gets(t, h, at("/api/move-off", "consist", haulText, "grade", "1 in 100")); !strings.Contains(body, `"rising":0.01`) {
		t.Error("at a start the grade named does not rise")
	}
	if _, body := gets(t, h, at("/api/move-off", "consist", haulText, "grade", "1 in 100 falling")); !strings.Contains(body, `"rising":-0.01`) {
		t.Error("at a start a falling grade does not fall")
	}
}

// The one file that is taken away holds the string and each locomotive with its stands.
func TestTakeawayIsDrawn(t *testing.T) {
	h := site(t).Handler()
	done(t, h, at("/coupling", "consist", pairText))
	res, body := gets(t, h, at("/takeaway", "consist", pairText))
	if res.StatusCode != 200 {
		t.Fatal(res.Status)
	}
	for _, want := range []string{"The string, front first", "Tern 3: side and plan", "Kite 11: side and plan", "svg circle.mark,", "Made on 2026-11-25"} {
		if want == "svg circle.mark," {
			want = "svg .mark{"
		}
		if !strings.Contains(body, want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(body, "href=") {
		t.Error("a drawing in a file by itself leads somewhere")
	}
}

// The first answer to a run over the whole line that nobody has asked for, and how often it
// is whole at once; else the page shows that it is being reckoned and asks again.
func BenchmarkJourneyAsked(b *testing.B) {
	h := site(b).Handler()
	n, whole := 0, 0
	for b.Loop() {
		n++
		res, body := gets(b, h, at("/journey", "consist", fmt.Sprintf("Tern 3 lead, Kite 11 trail, %d HX loaded", n%20+1), "hot", fmt.Sprint(n%190)))
		if res.StatusCode != 200 {
			b.Fatal(res.Status)
		}
		if strings.Contains(body, "Point by point") {
			whole++
		}
	}
	b.ReportMetric(100*float64(whole)/float64(n), "%whole")
}
