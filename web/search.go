package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"

	"headstock/card"
	"headstock/consist"
	"headstock/prove"
	"headstock/setup"
)

var failuresField = field{name: "failures", label: "parts that can fail too: that takes longer", kind: "yes"}

// searchQuestions are those that rest on a search of everything that can be wrong.
func searchQuestions() []question {
	return []question{
		{path: "search", title: "Everything that could be wrong", shelf: whatIf, says: "every wrong setting and every failure, run one at a time: what it breaks, where you would see it, and where you would not",
			fields: []field{consistField, setField, failuresField}, answer: searchAnswer},
		{path: "coverage", title: "What the test shows", shelf: whatIf, says: "what the prescribed brake test does not show and why, what looks alike, and the least that could be added to it",
			fields: []field{consistField, setField, failuresField, {name: "matrix", label: "case by case and step by step instead", kind: "yes"}}, answer: coverage},
		{path: "diagnose", title: "What could it be", shelf: whatIf, says: "from what was seen to every cause that gives it, what contradicts the others, and where to look next",
			fields: []field{consistField, setField, {name: "saw", label: "what was seen", hint: "step/unit.device=value, or unit.device=position", many: true, need: true},
				failuresField, {name: "secured", label: "the train is held by hand brakes or chocks", kind: "yes"}}, posts: true, answer: diagnosis},
		{path: "matrix", title: "Fleet matrix", says: "which two units of this railway can be coupled, in which roles: what works, what is lost, what does not and why",
			fields: []field{{name: "class", label: "of these classes only", hint: "blank: all", many: true, kind: "class"}}, answer: matrix},
	}
}

// deskRoutes are the pages of these questions.
func (s *Site) deskRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /search", s.searchPage)
	mux.HandleFunc("GET /coverage", s.coveragePage)
	mux.HandleFunc("GET /diagnose", s.diagnosePage)
	mux.HandleFunc("GET /matrix", s.matrixPage)
}

// ownPage reports whether the page of a question has a handler of its own.
func ownPage(path string) bool {
	return slices.Contains([]string{"card", "test", "search", "coverage", "diagnose", "matrix"}, path)
}

type searchValues struct {
	*setup.Brief
	Records []Record `json:"records"`
	Rules   string   `json:"rules"`
}

func searchAnswer(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	got, err := q.searched(c, q.get("failures") != "")
	if err != nil {
		return nil, err
	}
	return &answer{docs: []*card.Document{card.Wronged(c, got.brief, prove.StandingTest(c, q.s.rules), q.s.rules, q.units)},
		values: searchValues{got.brief, Records(c), q.s.rules.Title}}, nil
}

// wrongShown is one thing that can be wrong, with the ways on from it.
type wrongShown struct {
	card.Wrong
	If string // address of what happens if it is moved; "" of a failure
}

// wrongGroup is those that show first at one step.
type wrongGroup struct {
	card.WrongGroup
	ID      string
	Loud    bool
	Dangers []dangerGroup
}

// dangerGroup is those of a group that are as bad, the worst before.
type dangerGroup struct {
	Danger string
	Shown  []wrongShown
}

// wrongPart is what could be wrong here, in short, on the first screen.
type wrongPart struct {
	Pending    string // what is still being searched; "" when all is done
	Unsearched string // why there is nothing
	Again      string // address of this page
	All        string // address of all of them
	Covers     string
	Diagnose   string
	Verdict    *card.Verdict
	Hidden     []dangerGroup
	Shown      []dangerGroup
	FewHidden  int
	FewShown   int
	AllHidden  int
	AllShown   int
	Nowhere    string
	Said       string
}

// fewShown is how many of each kind stand on the first screen.
const fewShown = 4

// ofSame is an address of the same consist with the same devices moved, and more words.
func (q *asked) ofSame(path string, more ...string) string {
	v := url.Values{"consist": {q.get("consist")}}
	if sets := q.all("set"); len(sets) > 0 {
		v["set"] = sets
	}
	for i := 0; i+1 < len(more); i += 2 {
		v.Add(more[i], more[i+1])
	}
	return path + "?" + v.Encode()
}

func (q *asked) shown(ws []card.Wrong) []dangerGroup {
	var out []dangerGroup
	for _, w := range ws {
		x := wrongShown{Wrong: w}
		if w.Device != "" {
			x.If = q.ofSame("/if", "device", w.Unit+"."+w.Device)
		}
		if n := len(out); n == 0 || out[n-1].Danger != w.Danger {
			out = append(out, dangerGroup{Danger: w.Danger})
		}
		last := &out[len(out)-1]
		last.Shown = append(last.Shown, x)
	}
	return out
}

// wrongHere is the part of the first screen; it waits for nothing.
func (q *asked) wrongHere(c *consist.Consist, here string) *wrongPart {
	if _, n := c.Lead(); n != 1 {
		return nil
	}
	p := &wrongPart{Again: here, All: q.ofSame("/search"), Covers: q.ofSame("/coverage"), Diagnose: q.ofSame("/diagnose")}
	got, _ := q.s.searches.of(c)
	if got.err != nil {
		p.Unsearched = tidy(got.err)
		return p
	}
	if got.pending != nil {
		p.Pending = tidy(got.pending)
	}
	if got.brief == nil {
		return p
	}
	p.Verdict, p.Said = card.WrongVerdict(got.brief), card.Searched(got.brief)
	hidden, shown, allHidden, allShown := card.FewWorst(got.brief, fewShown, q.units)
	p.Hidden, p.Shown, p.AllHidden, p.AllShown = q.shown(hidden), q.shown(shown), allHidden, allShown
	p.FewHidden, p.FewShown, p.Nowhere = len(hidden), len(shown), card.Nowhere
	return p
}

// wrongPage is everything that could be wrong, by the step that shows it.
type wrongPage struct {
	frame
	Verdict *card.Verdict
	Pending string
	Groups  []wrongGroup
	Said    string
	Rests   []string
	Covers  string
	Seen    string // address of the diagnosis
	Nowhere string
}

func (s *Site) searchPage(w http.ResponseWriter, r *http.Request) {
	ctx, stop := patient(r, pagePatience)
	defer stop()
	q, err := s.ask(r, r.URL.Query(), ctx)
	x, _ := s.questionOf("search")
	if err == nil && q.get("consist") == "" {
		s.answerPage(x)(w, r)
		return
	}
	var c *consist.Consist
	var got searched
	if err == nil {
		c, err = q.consist()
	}
	if err == nil {
		got, err = q.searched(c, false)
	}
	if err != nil {
		s.failed(w, r, x, q, err)
		return
	}
	p := wrongPage{frame: s.frame(r, ""), Verdict: card.WrongVerdict(got.brief), Said: card.Searched(got.brief), Covers: q.ofSame("/coverage"), Seen: q.ofSame("/diagnose"), Nowhere: card.Nowhere}
	p.Title, p.Subtitle = "What could be wrong here: "+c.String(), s.fleet.Railway
	p.stand(s, "search", q)
	if c.HasDraft() {
		p.Banner = card.Draft
	}
	if got.pending != nil {
		p.Pending = tidy(got.pending)
	}
	test := prove.StandingTest(c, s.rules)
	for _, g := range card.Wrongs(got.brief, test, q.units) {
		id := g.Step
		if id == "" {
			id = "none"
		}
		p.Groups = append(p.Groups, wrongGroup{WrongGroup: g, ID: "at-" + fileName(id), Loud: g.Step == "", Dangers: q.shown(g.Items)})
	}
	p.Rests = card.Wronged(c, got.brief, test, s.rules, q.units).Footer
	s.show(w, r, http.StatusOK, "search", p)
}

type coverageValues struct {
	*setup.Coverage
	Records []Record `json:"records"`
	Rules   string   `json:"rules"`
}

func coverage(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	cv, got, err := q.covered(c, q.get("failures") != "")
	if err != nil || !searchesHere {
		return nil, err
	}
	d := card.Coverage(c, cv, got.base.Proof(), q.s.rules, q.units)
	if q.get("matrix") != "" {
		d = card.CoverageMatrix(c, cv, got.base.Proof(), q.s.rules, q.units)
	}
	a := &answer{docs: []*card.Document{d}, values: coverageValues{cv, Records(c), q.s.rules.Title}}
	a.first = true
	a.choices = []choice{{Long: []link{{Text: "Case by case and step by step", Says: "which step shows each case, by which gauge or piston, and who sees it", To: q.ofSame("/coverage", "matrix", "yes")}}}}
	if !got.failures {
		a.choices[0].Long = append(a.choices[0].Long, link{Text: "With the parts that can fail", Says: "takes longer: it is searched once and kept", To: q.ofSame("/coverage", "failures", "yes")})
	}
	return a, nil
}

// stepsPage is which step of the test shows each case.
type stepsPage struct {
	frame
	Steps []string
	Rows  []stepsRow
	All   bool
	Other string // address with the other choice of All
	Back  string // to what the test shows
	Left  int    // rows that break nothing and are left out
	Rests []string
}

type stepsRow struct {
	Head  string // of a group of rows that follow
	Says  string
	When  string
	First string
	How   []stepCell
	None  bool
}

type stepCell struct{ Step, How string }

func (s *Site) coveragePage(w http.ResponseWriter, r *http.Request) {
	ctx, stop := patient(r, pagePatience)
	defer stop()
	q, err := s.ask(r, r.URL.Query(), ctx)
	x, _ := s.questionOf("coverage")
	if err == nil && (q.get("consist") == "" || q.get("matrix") == "") {
		s.answerPage(x)(w, r)
		return
	}
	var c *consist.Consist
	var cv *setup.Coverage
	var got searched
	if err == nil {
		c, err = q.consist()
	}
	failures := q.get("failures")
	if err == nil {
		cv, got, err = q.covered(c, failures != "")
	}
	if err != nil || !searchesHere {
		s.failed(w, r, x, q, err)
		return
	}
	more := []string{"matrix", "yes"}
	if failures != "" {
		more = append(more, "failures", "yes")
	}
	p := stepsPage{frame: s.frame(r, ""), Steps: cv.Steps, All: q.get("all") != "", Other: q.ofSame("/coverage", append(more, "all", "yes")...), Back: q.ofSame("/coverage", more[2:]...)}
	if p.All {
		p.Other = q.ofSame("/coverage", more...)
	}
	p.Title, p.Subtitle = "Step by step: "+c.String(), s.fleet.Railway
	p.stand(s, "coverage", q)
	if c.HasDraft() {
		p.Banner = card.Draft
	}
	p.Rows, p.Left = stepsRows(cv, p.All)
	p.Rests = card.CoverageMatrix(c, &setup.Coverage{}, got.base.Proof(), s.rules, q.units).Footer
	s.show(w, r, http.StatusOK, "steps", p)
}

// stepsRows are the cases of a coverage: those that break something and no step shows
// first, then in the order of the step that shows them first.
func stepsRows(cv *setup.Coverage, all bool) (out []stepsRow, left int) {
	groups := make([][]stepsRow, len(cv.Steps)+1)
	for _, x := range cv.Rows {
		if len(x.Worse) == 0 && !all {
			left++
			continue
		}
		row := stepsRow{Says: x.Cause.Says, When: x.When}
		how := cv.ByStep(x)
		k := 0
		for _, st := range cv.Steps {
			row.How = append(row.How, stepCell{st, how[st]})
		}
		if x.First >= 0 {
			l := &cv.Looks[x.First]
			row.First = l.Name + " of " + l.Unit + ", " + l.Place + ": " + l.By()
			k = slices.Index(cv.Steps, l.Step) + 1
		} else {
			row.First, row.None = x.Why, true
		}
		groups[k] = append(groups[k], row)
	}
	for k, rows := range groups {
		if len(rows) == 0 {
			continue
		}
		head := "Not shown by the prescribed test"
		if k > 0 {
			head = "First shown at step " + cv.Steps[k-1]
		}
		out = append(append(out, stepsRow{Head: head}), rows...)
	}
	return out, left
}

// pendingOf is what is still being searched, in words; "" for any other error.
func pendingOf(err error) string {
	var s *searching
	var m *matrixPending
	if errors.As(err, &s) || errors.As(err, &m) {
		return tidy(err)
	}
	return ""
}
