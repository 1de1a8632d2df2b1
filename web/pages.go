package web

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"headstock/card"
	"headstock/consist"
	"headstock/fleet"
	"headstock/paper"
	"headstock/prove"
	"headstock/quantity"
	"headstock/setup"
)

// frame is what stands around every page.
type frame struct {
	Title    string
	Subtitle string
	Banner   string
	Caution  string
	Railway  string
	Version  string
	Style    string
	Script   string        // address of the script of every page
	Extra    string        // address of the script of this page alone; "" for none
	Notice   string        // that no server answers
	Built    bool          // pages can be had with no signal
	Code     template.HTML // the address of this page as a square code, for paper; "" where no base address is known
	CodeSays string        // and in words
	Build    string        // sum of the source of the server; "": not known, or none answers
	Program  string        // and of the program that it offers to tablets
	Look     string        // "", day, sun or night
	Here     string        // the address of this page, to come back to
	Running  bool          // the runs are being made; the page asks again
	Progress string        // how far they are, where it is known
	Links    []link
	Shelves  []shelf // further pages of the same consist
	Fault    string  // what is wrong with what was asked
}

// shelf is a heading with the pages under it.
type shelf struct {
	Title string
	Links []link
}

// link is a way to another page.
type link struct {
	Text, Says, To string
	Here           bool
}

func (s *Site) frame(r *http.Request, title string) frame {
	f := frame{Title: title, Caution: card.Caution, Railway: s.fleet.Railway, Version: s.version, Style: s.scripts["look.css"].address, Script: s.scripts["page.js"].address, Notice: s.alone, Built: s.tablet != nil || s.alone != "", Here: r.URL.RequestURI()}
	if r.Method != http.MethodGet {
		f.Here = "/"
	}
	if s.base != "" && r.Method == http.MethodGet {
		f.Code, f.CodeSays = s.code(f.Here)
	}
	if s.alone == "" {
		f.Build, f.Program = s.build, s.program
	}
	if c, err := r.Cookie("look"); err == nil && slices.Contains(looks(), c.Value) {
		f.Look = c.Value
	}
	return f
}

// code is the address of a page at the base address, as a square code and in words; one
// that is too long for a code is that of the first page.
func (s *Site) code(here string) (template.HTML, string) {
	for _, at := range []string{here, "/"} {
		svg, err := paper.Code(s.base+at, "square code: "+s.base+at)
		if err == nil && svg != "" {
			return template.HTML(svg), s.base + at
		}
	}
	return "", ""
}

// looks are the looks that a person can choose besides that of the device.
func looks() []string { return []string{"day", "sun", "night"} }

// functionsOfPages are what a template may call.
func functionsOfPages() template.FuncMap {
	return template.FuncMap{
		"to":    address,
		"word":  func(asked url.Values, name string) string { return asked.Get(name) },
		"add":   func(a, b int) int { return a + b },
		"rowOf": func(r testRow, unit string) rowShown { return rowShown{r, unit} },
		"standOf": func(x card.SetStand, u card.UnitStands, p setUpPage) standOn {
			return standOn{x, u.Unit, p.Consist, p.Sets}
		},
		"things": func(n int) string {
			if n == 1 {
				return "one thing"
			}
			return fmt.Sprintf("%d things", n)
		},
		"sign": func(mark string) string {
			return map[string]string{"good": "ok", "bad": "✗", "warn": "!", "unknown": "?"}[mark]
		},
		"if_": func(consist string, sets []string, unit, device string) string {
			v := url.Values{"consist": {consist}, "device": {unit + "." + device}}
			if len(sets) > 0 {
				v["set"] = sets
			}
			return "/if?" + v.Encode()
		},
	}
}

// address is a path with values, given as name, value, name, value.
func address(path string, pairs ...string) string {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			v.Add(pairs[i], pairs[i+1])
		}
	}
	if len(v) == 0 {
		return path
	}
	return path + "?" + v.Encode()
}

// part is a document as a part of a page.
func part(d *card.Document, level int) template.HTML {
	if d == nil {
		return ""
	}
	var b bytes.Buffer
	if err := paper.Part(&b, d, level); err != nil {
		return ""
	}
	return template.HTML(b.String()) // paper escapes every text of a document
}

// messagePage is a page of one sentence.
type messagePage struct {
	frame
	Text string
}

// formField is one field of a question as a page shows it.
type formField struct {
	Name, Label, Hint, Kind string
	Need                    bool
	Values                  []string
	Choices                 []string
	List                    string // id of the list of known names
}

// answeredPage is the page of a question and its answer.
type answeredPage struct {
	frame
	Question string // its path
	Says     string
	Fields   []formField
	Open     bool // the form stands open
	Ahead    bool // it stands before the answer
	Parts    []answerPart
	More     []link // to the entries of what was found
	Choices  []choice
	First    bool // the choices stand before the answer
	Entry    *entry
	Drawing  template.HTML
	Wide     template.HTML // a drawing as wide as the page
	Units    []string
	Classes  []string
	Keep     string // a consist that can be kept
	Wrong    *wrongPart
}

// answerPart is one document of an answer.
type answerPart struct {
	Title, Subtitle string
	Body            template.HTML
}

// patient is a request that waits no longer for runs than this.
func patient(r *http.Request, long time.Duration) (context.Context, context.CancelFunc) {
	if r.Context().Value(aloneKey{}) != nil {
		long = alonePatience
	}
	return context.WithTimeout(r.Context(), long)
}

// form is a question's fields with what was asked.
func (s *Site) form(x question, q *asked) []formField {
	var out []formField
	for _, f := range x.fields {
		v := formField{Name: f.name, Label: f.label, Hint: f.hint, Kind: f.kind, Need: f.need, Values: q.all(f.name)}
		if usual := f.used(q.units); usual != "" && len(v.Values) == 0 {
			v.Values = []string{usual}
		}
		if f.choices != nil {
			v.Choices = f.choices(s)
		}
		switch f.kind {
		case "unit", "of":
			v.List = "units"
		case "class":
			v.Choices = s.classNames()
		}
		if f.many {
			v.Values = append(v.Values, "")
		}
		if len(v.Values) == 0 {
			v.Values = []string{""}
		}
		out = append(out, v)
	}
	return out
}

func (s *Site) classNames() []string {
	var out []string
	for _, c := range s.fleet.Classes {
		out = append(out, c.Name)
	}
	return out
}

func (s *Site) unitNames() []string {
	var out []string
	for _, u := range s.fleet.Units {
		if c, ok := s.fleet.Class(u.Class); ok && c.Kind == "locomotive" {
			out = append(out, u.Name())
		}
	}
	return out
}

// answerPage answers one question on a page.
func (s *Site) answerPage(x question) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		long := pagePatience
		if x.patient {
			long = reckonPatience
		}
		ctx, stop := patient(r, long)
		defer stop()
		q, err := s.ask(r, r.URL.Query(), ctx)
		p := answeredPage{frame: s.frame(r, x.title), Question: x.path, Ahead: x.ahead, Says: x.says, Fields: s.form(x, q), Units: s.unitNames(), Classes: s.classNames()}
		p.stand(s, x.path, q)
		code := http.StatusOK
		var a *answer
		if err == nil && s.complete(x, q) {
			a, err = x.answer(q)
		} else if err == nil {
			p.Open = true
		}
		if err != nil {
			code, p.Running = statusOf(err)
			if d := cannotSay(x.title, err); d != nil {
				code, a = http.StatusOK, document(d)
			} else if !p.Running {
				p.Fault, p.Open = tidy(err), true
			} else if code != http.StatusOK {
				p.Fault = err.Error()
			}
			p.Progress = pendingOf(err)
		}
		if a != nil {
			s.put(&p, a)
		}
		if about, ok := askingNamed(q.get("about")); ok && x.path == "ask" && a != nil && len(a.docs) > 1 {
			p.Title = about.text
		}
		if x.path == "find" && a != nil {
			p.More = s.foundLinks(q.get("words"), q.get("class"))
		}
		if x.path == "coupling" && a != nil {
			if c, err := q.consist(); err == nil {
				p.Drawing = s.stringOf(c)
				p.Keep = c.String()
				p.Wrong = q.wrongHere(c, p.Here)
			}
		}
		s.send(w, r, code, "answer", p.Running, p)
	}
}

// mostFound is how many entries a search leads to.
const mostFound = 40

// foundLinks lead to the entries of what a search finds; a unit named among the words is
// where each is then shown.
func (s *Site) foundLinks(words, class string) []link {
	of := ""
	if u, rest := s.fleet.UnitIn(words); u != nil {
		words, class, of = rest, u.Class, u.Name()
		if strings.TrimSpace(words) == "" {
			return []link{{Text: of, To: address("/unit", "unit", of)}}
		}
	}
	var out []link
	for _, x := range s.fleet.Find(words) {
		switch {
		case len(out) == mostFound:
		case x.Unit != nil && class == "":
			out = append(out, link{Text: x.Unit.Name(), To: address("/unit", "unit", x.Unit.Name())})
		case x.Device != nil && (class == "" || strings.EqualFold(class, x.Class.Name)):
			on := of
			if on == "" {
				on = x.Class.Name
			}
			out = append(out, link{Text: x.Device.Name, Says: on + ", " + x.Class.PlaceName(x.Device.Place), To: address("/explain", "class", on, "device", x.Device.ID)})
		}
	}
	return out
}

// put lays the documents of an answer on a page.
func (s *Site) put(p *answeredPage, a *answer) {
	p.Choices, p.First, p.Entry, p.Wide = a.choices, a.first, a.entry, drawn(a.drawing)
	for i, d := range a.docs {
		if d.Banner != "" {
			p.Banner = d.Banner
		}
		if len(a.docs) == 1 {
			p.Title, p.Subtitle = d.Title, d.Subtitle
			p.Parts = append(p.Parts, answerPart{Body: part(d, 1)})
			continue
		}
		if i == 0 {
			p.Subtitle = d.Subtitle
		}
		p.Parts = append(p.Parts, answerPart{Title: d.Title, Subtitle: d.Subtitle, Body: part(d, 2)})
	}
}

// complete reports whether everything that a question needs was asked.
func (s *Site) complete(x question, q *asked) bool {
	for _, f := range x.fields {
		if f.need && q.get(f.name) == "" && !(f.kind == "of" && (q.get("unit") != "" || q.get("class") != "")) {
			return false
		}
	}
	return true
}

// tidy is an error as a sentence.
func tidy(err error) string {
	t := err.Error()
	return strings.ToUpper(t[:1]) + t[1:]
}

// send shows a page that may have to ask again.
func (s *Site) send(w http.ResponseWriter, r *http.Request, code int, name string, running bool, page any) {
	if running {
		w.Header().Set("Refresh", "1")
		if code != http.StatusOK {
			w.Header().Set("Refresh", "20")
			w.Header().Set("Retry-After", "20")
		}
	}
	s.show(w, r, code, name, page)
}

// stand lays the ways to the pages next to one on it: of the same consist, unit or class.
func (f *frame) stand(s *Site, path string, q *asked) {
	if text := q.get("consist"); text != "" && path != "ask" {
		f.Links, f.Shelves = s.ofConsist(path, text, q.all("set"))
		return
	}
	f.Links = s.around(path, q)
}

// ofConsist are the pages of a consist: first those that everybody needs and the one that is
// shown, then the others by shelf, which on a telephone would push the answer off the screen.
func (s *Site) ofConsist(path, text string, sets []string) ([]link, []shelf) {
	v := url.Values{"consist": {text}}
	if len(sets) > 0 {
		v["set"] = sets
	}
	var first []link
	shelves := []shelf{{Title: whatIf}, {Title: onLine}, {Title: toTeach}}
	put := func(title, at, under string) {
		l := link{Text: title, To: "/" + at + "?" + v.Encode(), Here: at == path}
		if under == "" || l.Here {
			first = append(first, l)
			return
		}
		i := slices.IndexFunc(shelves, func(x shelf) bool { return x.Title == under })
		shelves[i].Links = append(shelves[i].Links, l)
	}
	for _, x := range s.questions {
		if len(x.fields) > 0 && (!x.posts || x.shelf != "") && x.fields[0].kind == "consist" {
			put(x.title, x.path, x.shelf)
		}
	}
	put("Bench", "bench", toTeach)
	return first, slices.DeleteFunc(shelves, func(x shelf) bool { return len(x.Links) == 0 })
}

// around are the pages next to one of a unit or class.
func (s *Site) around(path string, q *asked) []link {
	name := q.get("unit")
	if name == "" {
		name = q.get("class")
	}
	if name == "" || path == "compare" || path == "learn" {
		return nil
	}
	if c, u, err := q.of(); err == nil {
		if u != nil && path == "ask" {
			return s.unitLinks(u, path)[:1] // on a telephone the answer comes first
		}
		if u != nil {
			return s.unitLinks(u, path)
		}
		return s.classLinks(c, path)
	}
	return nil
}

// unitLinks are the questions on a unit.
func (s *Site) unitLinks(u *fleet.Unit, path string) []link {
	n := u.Name()
	out := []link{{Text: n, Says: "what can be asked of it, today, its devices, its drawing", To: address("/unit", "unit", n), Here: path == "unit"}}
	add := func(at, text, says string, pairs ...string) {
		out = append(out, link{Text: text, Says: says, To: address("/"+at, append([]string{"unit", n}, pairs...)...), Here: path == at})
	}
	add("fit", "May it go?", "lead, trail, be hauled, or not move; with its defects and cut-outs")
	add("steps", "Start and other procedures", "start, shut down, stable, change ends, step by step")
	out = append(out, link{Text: "Air diagram", Says: "what stands open, with its symbols", To: address("/diagram", "class", n), Here: path == "diagram"})
	out = append(out, link{Text: "Walk round", Says: "stand after stand, with limits", To: address("/walk", "class", n), Here: path == "walk"})
	add("measure", "Measured values", "good or not")
	if s.store != nil {
		add("log", "Logbook", "what was measured and found")
		add("drift", "Drift", "where its measures are going")
	}
	return out
}

// classLinks are the questions on a class.
func (s *Site) classLinks(c *fleet.Class, path string) []link {
	n := c.Name
	out := []link{{Text: "Class " + n, Says: "its drawing and devices by stand", To: address("/class", "class", n), Here: path == "class"}}
	add := func(at, text, says, field string) {
		out = append(out, link{Text: text, Says: says, To: address("/"+at, field, n), Here: path == at})
	}
	add("devices", "Devices by system", "every device, with its positions", "class")
	add("walk", "Walk round", "stand after stand, with limits", "class")
	add("learn", "Learn it", "the first walk round", "class")
	add("steps", "Procedures", "step by step", "unit")
	add("trips", "Trips and resets", "what can trip", "unit")
	add("diagram", "Air diagram", "with its symbols", "class")
	add("needs", "What the record lacks", "for its next level", "class")
	return out
}

// homePage is the first page.
type homePage struct {
	frame
	Saved   []link
	Kept    []link
	Roles   []string
	Units   []string
	Groups  []unitGroup
	Either  []link // the units that a number could be
	Example string
	Asked   url.Values
}

// unitGroup is the units of a class.
type unitGroup struct {
	Class, Title, To string
	Units            []link
}

func (s *Site) home(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, http.StatusOK, "home", s.homeWith(r, nil, ""))
}

func (s *Site) homeWith(r *http.Request, asked url.Values, wrong string) homePage {
	p := homePage{frame: s.frame(r, s.fleet.Railway), Roles: roleChoices(), Units: s.unitNames(), Example: s.example, Asked: asked}
	p.Fault = wrong
	for _, t := range s.saved {
		p.Saved = append(p.Saved, link{Text: t, To: address("/coupling", "consist", t)})
	}
	for _, t := range keptConsists(r) {
		if !slices.Contains(s.saved, t) {
			p.Kept = append(p.Kept, link{Text: t, To: address("/coupling", "consist", t)})
		}
	}
	for _, c := range s.fleet.Classes {
		g := unitGroup{Class: c.Name, Title: c.Title, To: address("/class", "class", c.Name)}
		units := s.fleet.UnitsOf(c.Name)
		if c.Kind == "locomotive" {
			for _, u := range units {
				says := ""
				if len(u.Defects)+len(u.State)+len(u.Modifications) > 0 {
					says = "differs today"
				}
				g.Units = append(g.Units, link{Text: strconv.Itoa(u.Number), Says: says, To: address("/unit", "unit", u.Name())})
			}
		}
		p.Groups = append(p.Groups, g)
	}
	return p
}

// roleChoices are the roles of a locomotive.
func roleChoices() []string {
	return slices.DeleteFunc(fleet.RoleNames(), func(r string) bool { return r == "wagon" })
}

// couple puts a consist together from what was chosen on the first page.
func (s *Site) couple(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	get := func(name string) string { return strings.TrimSpace(v.Get(name)) }
	again := func(err error) {
		s.show(w, r, http.StatusBadRequest, "home", s.homeWith(r, v, tidy(err)))
	}
	if text := get("consist"); text != "" {
		http.Redirect(w, r, address("/coupling", "consist", text), http.StatusSeeOther)
		return
	}
	one := func(at string) (string, error) {
		c, u, err := s.unit(get(at))
		if err != nil {
			return "", err
		}
		role := get(at + "-role")
		if c.Kind != "locomotive" {
			role = ""
		}
		t := strings.TrimSpace(u.Name() + " " + role)
		if get(at+"-turned") != "" {
			t += " reversed"
		}
		return t, nil
	}
	this, err := one("unit")
	if err != nil {
		again(err)
		return
	}
	parts := []string{this}
	if get("next") != "" {
		next, err := one("next")
		if err != nil {
			again(err)
			return
		}
		if parts = []string{this, next}; get("where") == "before" {
			parts = []string{next, this}
		}
	}
	if rest := get("rest"); rest != "" {
		parts = append(parts, rest)
	}
	text := strings.Join(parts, ", ")
	if _, err := consist.Parse(s.fleet, text); err != nil {
		again(err)
		return
	}
	http.Redirect(w, r, address("/coupling", "consist", text), http.StatusSeeOther)
}

// indexPage lists everything that can be asked.
type indexPage struct {
	frame
	Questions []link
}

func (s *Site) indexPage(w http.ResponseWriter, r *http.Request) {
	p := indexPage{frame: s.frame(r, "Everything that can be asked")}
	for _, x := range s.questions {
		if x.posts && x.shelf == "" {
			continue
		}
		p.Questions = append(p.Questions, link{Text: x.title, Says: x.says, To: "/" + x.path})
	}
	s.show(w, r, http.StatusOK, "index", p)
}

// setUpPage is the set-up card.
type setUpPage struct {
	frame
	Consist string
	Sets    []string
	Units   []card.UnitStands
	Proved  template.HTML
	Joints  template.HTML
}

// standOn is a stand of the set-up card with the unit and the consist it is of.
type standOn struct {
	Stand   card.SetStand
	Unit    string
	Consist string
	Sets    []string
}

func (s *Site) cardPage(w http.ResponseWriter, r *http.Request) {
	ctx, stop := patient(r, pagePatience)
	defer stop()
	q, err := s.ask(r, r.URL.Query(), ctx)
	x, _ := s.questionOf("card")
	if err == nil && q.get("consist") == "" {
		s.answerPage(x)(w, r)
		return
	}
	p := setUpPage{frame: s.frame(r, x.title), Consist: q.get("consist"), Sets: q.all("set")}
	p.stand(s, "card", q)
	c, plan, err := q.plan(err)
	if err != nil {
		s.failed(w, r, x, q, err)
		return
	}
	p.Title, p.Subtitle = "Set-up: "+c.String(), s.fleet.Railway
	if c.HasDraft() {
		p.Banner = card.Draft
	}
	p.Units = card.Stands(c, plan)
	joints := card.Joints(c, plan)
	p.Joints = part(joints, 1)
	ck, err := q.checked(c)
	switch {
	case err == nil:
		d := card.Proved(c, ck, s.rules, q.units)
		p.Proved = part(d, 1)
	case errors.Is(err, errRunning):
		p.Running = true
	default:
		s.failed(w, r, x, q, err)
		return
	}
	s.send(w, r, http.StatusOK, "card", p.Running, p)
}

// plan is a question's consist and how it is set.
func (q *asked) plan(err error) (*consist.Consist, *setup.Plan, error) {
	if err != nil {
		return nil, nil, err
	}
	c, err := q.consist()
	if err != nil {
		return nil, nil, err
	}
	plan, err := setup.Describe(c)
	return c, plan, err
}

// failed shows a question with what is wrong with it, or what the record lacks.
func (s *Site) failed(w http.ResponseWriter, r *http.Request, x question, q *asked, err error) {
	p := answeredPage{frame: s.frame(r, x.title), Question: x.path, Says: x.says, Fields: s.form(x, q), Units: s.unitNames(), Classes: s.classNames()}
	p.stand(s, x.path, q)
	code, later := statusOf(err)
	if d := cannotSay(x.title, err); d != nil {
		code = http.StatusOK
		s.put(&p, document(d))
	} else {
		p.Fault, p.Open, p.Running, p.Progress = tidy(err), !later, later, pendingOf(err)
		if p.Progress != "" {
			p.Fault = ""
		}
	}
	s.send(w, r, code, "answer", later, p)
}

// brakeTestPage is the sheet of the brake test.
type brakeTestPage struct {
	frame
	Consist string
	To      string // where the form is sent
	Steps   []testStep
	All     bool
	Other   string // address with the other choice of All
	Unit    string // of pressure, as entered
	Verdict template.HTML
	Judged  template.HTML
	Rest    template.HTML
	Fields  int
	Book    bool // entries can be kept in the logbook
	Who     string
	// the readings as they are handed to the diagnosis, where one is not as expected; and how
	// many were left out
	Carried     [][2]string
	CarriedLeft int
	// what a reading can be judged to be, the harmless first, as the script takes it
	Statuses string
}

// confirmPage shows what would be kept in the logbook, before it is.
type confirmPage struct {
	frame
	To, ID, Unit, Who string
	Lines             int
	Judged            template.HTML
	Hidden            [][2]string
}

// testStep is a step with its two halves.
type testStep struct {
	card.TestStep
	Cab, Side []testRow
}

// testRow is what is looked at, and what was read.
type testRow struct {
	card.TestRow
	Field   string // name of its entry; "" where nothing is entered
	Units   string // names of its vehicles, with a bar between
	Except  string // name of its exceptions, where it stands for several wagons
	Value   string
	Not     string
	Choices []string
	Status  string // how the reading was judged
	Mark    string
}

// rowShown is a row of the sheet with the unit that its pressures are entered in.
type rowShown struct {
	Row  testRow
	Unit string
}

func (s *Site) sheetPage(w http.ResponseWriter, r *http.Request) {
	ctx, stop := patient(r, pagePatience)
	defer stop()
	q, err := s.ask(r, r.URL.Query(), ctx)
	x, _ := s.questionOf("test")
	if err == nil && q.get("consist") == "" {
		s.answerPage(x)(w, r)
		return
	}
	if err == nil && r.Method == http.MethodPost {
		err = r.ParseForm()
	}
	var c *consist.Consist
	var ck *setup.Checked
	if err == nil {
		c, err = q.consist()
	}
	if err == nil {
		ck, err = q.checked(c)
	}
	if err != nil {
		s.failed(w, r, x, q, err)
		return
	}
	proof := ck.Proof
	p := brakeTestPage{frame: s.frame(r, ""), Consist: q.get("consist"), All: q.get("all") != "", Unit: pressureUnit(q.units)}
	p.Title, p.Subtitle = "Brake test: "+c.String(), s.fleet.Railway
	p.stand(s, "test", q)
	p.Extra, p.Statuses = s.scripts["sheet.js"].address, strings.Join(statuses(), "|")
	w.Header().Set("Content-Security-Policy", scripted)
	p.Book, p.Who = s.store != nil && s.newID != nil, strings.TrimSpace(r.PostForm.Get("who"))
	if c.HasDraft() {
		p.Banner = card.Draft
	}
	v := url.Values{"consist": {p.Consist}}
	if sets := q.all("set"); len(sets) > 0 {
		v["set"] = sets
	}
	p.To, p.Other = "/test?"+v.Encode(), "/test?"+v.Encode()+"&all=yes"
	if p.All {
		p.To, p.Other = p.Other, p.To
	}
	rows, entries, at := s.entered(r.PostForm, c, proof, q, p.All)
	p.Steps = rows
	code := http.StatusOK
	if r.Method == http.MethodPost {
		a, err := q.judged(c, entries)
		if err != nil {
			code, p.Fault = http.StatusBadRequest, tidy(err)
			if len(entries) == 0 {
				p.Fault = "Nothing was entered: enter at least one reading."
			}
		} else {
			p.Judged = part(a.docs[0], 2)
			js := a.values.(Judgement).Readings
			marks(p.Steps, js, at)
			if slices.ContainsFunc(js, func(j prove.Judged) bool { return j.Status == prove.Outside || j.Status == prove.Unusual }) {
				p.Carried, p.CarriedLeft = carriedOver(v, p.Steps)
			}
			if do := r.PostForm.Get("do"); do != "" && p.Book {
				number, err := s.keepSheet(w, r, c, entries, p)
				switch {
				case err != nil:
					code, p.Fault = http.StatusBadRequest, tidy(err)
				case number > 0:
					lead, _ := c.Lead()
					http.Redirect(w, r, address("/log", "unit", c.Vehicles[lead].Name()), http.StatusSeeOther)
					return
				default:
					return
				}
			}
		}
	}
	for _, st := range p.Steps {
		for _, row := range slices.Concat(st.Cab, st.Side) {
			if row.Field != "" {
				p.Fields++
			}
		}
	}
	p.Verdict = part(&card.Document{Title: p.Title, Verdict: card.Proved(c, ck, s.rules, q.units).Verdict}, 1)
	rest := card.Proved(c, ck, s.rules, q.units)
	rest.Verdict = nil
	p.Rest = part(rest, 1)
	s.show(w, r, code, "test", p)
}

// pressureUnit is the unit that a pressure is entered in when none is written.
func pressureUnit(u quantity.Units) string {
	_, unit, _ := strings.Cut(u.Gauge(0), " ")
	return unit
}

// entered are the steps of the sheet with what was sent for each row; the entries that
// were made of it, and for each entry the step and row it came from.
func (s *Site) entered(form url.Values, c *consist.Consist, p *prove.Proof, q *asked, all bool) ([]testStep, []prove.Entered, []*testRow) {
	var out []testStep
	var entries []prove.Entered
	type from struct {
		step int
		cab  bool
		row  int
	}
	var places []from
	for i, st := range card.TestSteps(c, p, s.rules, q.units) {
		t := testStep{TestStep: st}
		for _, row := range st.Rows {
			x := testRow{TestRow: row}
			if (all || row.Bounded) && row.Fitted == "" {
				first, last := row.Vehicles[0], row.Vehicles[len(row.Vehicles)-1]
				name := fmt.Sprintf("%s/%d-%d/%s", st.ID, first, last, row.ID)
				x.Field = "read:" + name
				var names []string
				for _, i2 := range row.Vehicles {
					names = append(names, c.Vehicles[i2].Name())
				}
				x.Units = strings.Join(names, "|")
				switch row.Kind {
				case "piston":
					x.Choices = []string{"in", "out"}
				case "exhaust":
					x.Choices = []string{"quiet", "blows"}
				}
				if len(row.Vehicles) > 1 {
					x.Except = "not:" + name
				}
				x.Value, x.Not = strings.TrimSpace(form.Get(x.Field)), strings.TrimSpace(form.Get(x.Except))
			}
			half, k := &t.Side, len(t.Side)
			if row.InCab {
				half, k = &t.Cab, len(t.Cab)
			}
			*half = append(*half, x)
			if x.Value == "" {
				continue
			}
			other := strings.FieldsFunc(x.Not, func(r rune) bool { return r == ',' || r == ' ' || r == ';' })
			for _, i2 := range row.Vehicles {
				v := c.Vehicles[i2]
				value := x.Value
				if len(x.Choices) == 0 && !strings.ContainsFunc(value, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }) {
					value = strings.ReplaceAll(value, ",", ".") + " " + pressureUnit(q.units)
				}
				if slices.Contains(other, strconv.Itoa(v.Unit.Number)) && len(x.Choices) == 2 {
					value = x.Choices[(slices.Index(x.Choices, x.Value)+1)%2]
				}
				entries = append(entries, prove.Entered{Line: len(entries) + 1, Step: st.ID, Unit: v.Name(), Device: row.ID, Value: value})
				places = append(places, from{i, row.InCab, k})
			}
		}
		out = append(out, t)
	}
	var at []*testRow
	for _, f := range places {
		half := out[f.step].Side
		if f.cab {
			half = out[f.step].Cab
		}
		at = append(at, &half[f.row])
	}
	return out, entries, at
}

// statuses are what a reading can be judged to be, the harmless first.
func statuses() []string {
	return []string{prove.AsExpected, prove.NoBand, prove.Unusual, prove.Outside}
}

// marks puts each judgement beside its row; of several wagons the worst.
func marks(_ []testStep, js []prove.Judged, at []*testRow) {
	weight := func(status string) int { return slices.Index(statuses(), status) }
	for i, j := range js {
		if i < len(at) && weight(j.Status) > weight(at[i].Status) {
			at[i].Status = j.Status
			at[i].Mark = map[string]string{prove.AsExpected: "good", prove.NoBand: "unknown", prove.Unusual: "warn", prove.Outside: "bad"}[j.Status]
		}
	}
}

// unitShown is the page of a unit, and of a class where there is no unit.
type unitShown struct {
	frame
	Class   string
	Unit    string
	Kind    string
	Today   template.HTML
	Rests   template.HTML
	Asked   []link // the fifteen
	Quick   []link
	Line    []link // on the line by itself
	LineIn  []link // and in a consist
	Drawing template.HTML
	Stands  []standShown
	Units   []link
	Others  []link // classes to compare with
	Facts   []card.Fact
}

// standShown is a numbered stand with its devices.
type standShown struct {
	Number  int
	Place   string
	Where   string
	Devices []deviceShown
}

type deviceShown struct {
	Name, Also, Note, To string
	Keep                 bool
	Positions            string
}

func (s *Site) unitPage(w http.ResponseWriter, r *http.Request) {
	q, err := s.ask(r, r.URL.Query(), r.Context())
	var c *fleet.Class
	var u *fleet.Unit
	if err == nil {
		c, u, err = q.of()
	}
	if err != nil {
		p := s.homeWith(r, r.URL.Query(), tidy(err))
		var f *fault
		if errors.As(err, &f) {
			for _, n := range f.units {
				p.Either = append(p.Either, link{Text: n, To: address("/unit", "unit", n)})
			}
		}
		s.show(w, r, http.StatusBadRequest, "home", p)
		return
	}
	s.shown(w, r, c, u)
}

func (s *Site) classPage(w http.ResponseWriter, r *http.Request) {
	c, err := s.class(strings.TrimSpace(r.URL.Query().Get("class")))
	if err != nil {
		s.show(w, r, http.StatusBadRequest, "home", s.homeWith(r, r.URL.Query(), tidy(err)))
		return
	}
	s.shown(w, r, c, nil)
}

func (s *Site) shown(w http.ResponseWriter, r *http.Request, c *fleet.Class, u *fleet.Unit) {
	p := unitShown{frame: s.frame(r, "Class "+c.Name), Class: c.Name, Kind: c.Kind, Stands: s.stands(c, u), Drawing: s.classDrawing(c)}
	p.Subtitle = c.Title
	if c.Draft() {
		p.Banner = card.Draft
	}
	if u != nil {
		p.Title, p.Unit = u.Name(), u.Name()
		if d, _, err := card.Found(s.fleet, u.Name(), ""); err == nil {
			d.Blocks = d.Blocks[1:] // its heading is the page's own
			p.Rests = part(&card.Document{Footer: d.Footer}, 1)
			d.Footer = nil
			p.Today = part(d, 1)
		}
		p.Asked = s.askingLinks(u)
		if c.Kind == "locomotive" {
			q := &asked{s: s, kept: keptConsists(r)}
			for _, t := range s.saved {
				if !slices.Contains(q.kept, t) {
					q.kept = append(q.kept, t)
				}
			}
			p.Line, p.LineIn = q.onLineOf(u)
		}
		p.Quick = append(s.unitLinks(u, "unit")[1:], link{Text: "Class " + c.Name, Says: "what its units have in common", To: address("/class", "class", c.Name)})
	} else {
		p.Links = s.classLinks(c, "class")
		for _, x := range s.fleet.UnitsOf(c.Name) {
			p.Units = append(p.Units, link{Text: strconv.Itoa(x.Number), To: address("/unit", "unit", x.Name())})
		}
		for _, f := range c.Identity {
			p.Facts = append(p.Facts, card.Fact{Name: f.Name, Text: f.Text})
		}
		p.Today = part(&card.Document{Title: p.Title, Blocks: []card.Block{{Facts: &card.Facts{Facts: p.Facts}}}}, 1)
	}
	for _, o := range s.fleet.Classes {
		if o != c && o.Kind == c.Kind {
			p.Others = append(p.Others, link{Text: "Compare with " + o.Name, To: address("/compare", "class", c.Name, "other", o.Name)})
			if u == nil {
				p.Others = append(p.Others, link{Text: "Learn it from " + o.Name, To: address("/learn", "class", c.Name, "from", o.Name)})
			}
		}
	}
	s.show(w, r, http.StatusOK, "unit", p)
}

// stands are the places of a class where a device is, numbered in the order of the record,
// each with its devices.
func (s *Site) stands(c *fleet.Class, u *fleet.Unit) []standShown {
	var out []standShown
	for _, place := range standPlaces(c) {
		x := standShown{Number: len(out) + 1, Place: place.Name, Where: strings.Trim(place.Side+", "+place.Level, ", ")}
		for _, d := range c.Devices {
			if d.Place != place.ID || u != nil && !u.Carries(c, d) {
				continue
			}
			y := deviceShown{Name: d.Name, Also: strings.Join(d.AlsoCalled, ", "), Keep: d.MustNotMove}
			of := c.Name
			if u != nil {
				of = u.Name()
				if how, _ := u.Fitted(d); how != "yes" {
					y.Note = how
				}
				for _, o := range u.Today(d.ID) {
					y.Note = strings.TrimPrefix(y.Note+"; today "+o.Property+" "+o.Value, "; ")
				}
			}
			y.To = address("/explain", "class", of, "device", d.ID)
			out2 := []string{}
			for _, ps := range d.Positions {
				out2 = append(out2, ps.ID)
			}
			y.Positions = strings.Join(out2, ", ")
			x.Devices = append(x.Devices, y)
		}
		out = append(out, x)
	}
	return out
}

// standPlaces are the places of a class at which a device is.
func standPlaces(c *fleet.Class) []fleet.Place {
	return slices.DeleteFunc(slices.Clone(c.Places), func(p fleet.Place) bool {
		return !slices.ContainsFunc(c.Devices, func(d *fleet.Device) bool { return d.Place == p.ID })
	})
}

// settingsShown is where a person chooses units and look.
type settingsShown struct {
	frame
	Units string
	Looks []string
	Back  string
}

func (s *Site) settingsPage(w http.ResponseWriter, r *http.Request) {
	p := settingsShown{frame: s.frame(r, "Units and look"), Units: unitsOf(r).Name(), Looks: looks(), Back: home(r.URL.Query().Get("back"))}
	s.show(w, r, http.StatusOK, "settings", p)
}

// home is an address of this site to go back to, and the first page for any other.
func home(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(back, "/") || strings.HasPrefix(back, "//") || strings.ContainsAny(back, "\\\r\n") {
		return "/"
	}
	return back
}

// settle keeps what a person has chosen, on that person's browser.
func (s *Site) settle(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		s.refuse(w, r, http.StatusBadRequest, "That form cannot be read.")
		return
	}
	if u, ok := quantity.UnitsNamed(r.PostForm.Get("units")); ok {
		keepCookie(w, r, "units", u.Name())
	}
	if l := r.PostForm.Get("look"); l == "" || slices.Contains(looks(), l) {
		keepCookie(w, r, "look", l)
	}
	http.Redirect(w, r, home(r.PostForm.Get("back")), http.StatusSeeOther)
}

// mostConsists is how many a browser keeps.
const mostConsists = 6

// keep puts a consist among those that this browser offers, or takes it away.
func (s *Site) keep(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		s.refuse(w, r, http.StatusBadRequest, "That form cannot be read.")
		return
	}
	text := strings.TrimSpace(r.PostForm.Get("consist"))
	list := slices.DeleteFunc(keptConsists(r), func(t string) bool { return t == text })
	if r.PostForm.Get("drop") == "" {
		if !s.keeps(text) {
			s.refuse(w, r, http.StatusBadRequest, "That consist cannot be kept.")
			return
		}
		list = append([]string{text}, list...)
	}
	list = list[:min(len(list), mostConsists)]
	keepCookie(w, r, "consists", asCookie(list))
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// keeps reports whether a consist is one that a browser keeps.
func (s *Site) keeps(text string) bool {
	_, err := consist.Parse(s.fleet, text)
	return err == nil && len(text) <= 200
}

// asCookie are consists as a browser keeps them.
func asCookie(list []string) string {
	return base64.RawURLEncoding.EncodeToString([]byte(strings.Join(list, "\n")))
}

// consistsOf are the consists that a browser keeps so; false where that cannot be read.
func consistsOf(text string) ([]string, bool) {
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return nil, false
	}
	if len(b) == 0 {
		return nil, true
	}
	list := strings.Split(string(b), "\n")
	return list[:min(len(list), mostConsists)], true
}

// keptConsists are those that this browser keeps.
func keptConsists(r *http.Request) []string {
	c, err := r.Cookie("consists")
	if err != nil {
		return nil
	}
	list, _ := consistsOf(c.Value)
	return list
}

func keepCookie(w http.ResponseWriter, r *http.Request, name, value string) {
	http.SetCookie(w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteStrictMode})
}
