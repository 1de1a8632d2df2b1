package web

import (
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"sort"
	"strings"

	"headstock/card"
	"headstock/consist"
	"headstock/diagnose"
	"headstock/prove"
	"headstock/quantity"
	"headstock/setup"
	"headstock/trial"
)

// mostSaws is how many things that were seen are taken at once; mostPairsRun how many pairs
// of wrong settings are run where no single cause fits.
const (
	mostSaws     = 400
	mostPairsRun = 6000
)

type diagnosisValues struct {
	*diagnose.Answer
	Records []Record `json:"records"`
	Rules   string   `json:"rules"`
}

func diagnosis(q *asked) (*answer, error) {
	c, err := q.consist()
	if err != nil {
		return nil, err
	}
	return q.diagnosed(c, q.all("saw"), nil)
}

// diagnosed asks what could give what was seen, in words and as entered on a sheet.
func (q *asked) diagnosed(c *consist.Consist, words []string, entries []prove.Entered) (*answer, error) {
	if len(words)+len(entries) == 0 {
		return nil, bad("enter at least one thing that was seen")
	}
	if len(words)+len(entries) > mostSaws {
		return nil, bad("%d things were entered; at most %d are taken", len(words)+len(entries), mostSaws)
	}
	got, err := q.searched(c, q.get("failures") != "")
	if err != nil {
		return nil, err
	}
	if !searchesHere || got.found == nil {
		return nil, errUnsearched
	}
	var saws []diagnose.Saw
	id := []string{"diagnose", fmt.Sprint(got.failures, q.get("secured") != ""), q.units.Name()}
	for i, t := range words {
		x, err := diagnose.Parse(got.base, t)
		if err != nil {
			return nil, bad("what was seen, %d: %v", i+1, err)
		}
		saws, id = append(saws, x), append(id, t)
	}
	for _, e := range entries {
		x, err := diagnose.Read(got.base, e)
		if err != nil {
			return nil, bad("%v", err)
		}
		saws, id = append(saws, x), append(id, x.Text)
	}
	ran := map[[2]string]*setup.Outcome{}
	for i := range got.found.Members {
		for j := range got.found.Members[i].Outcomes {
			o := &got.found.Members[i].Outcomes[j]
			if o.Group != "" {
				ran[[2]string{o.Cause.Key, o.When}] = o
			}
		}
	}
	units := q.units
	opt := diagnose.Options{Failures: got.failures, Secured: q.get("secured") != "", Workers: q.s.searches.workers, MostPairs: mostPairsRun,
		Gauge: func(pa float64) string { return units.Gauge(quantity.Gauge(pa)) },
		Ran: func(cause setup.Cause, when string) ([]trial.Reading, bool) {
			o, ok := ran[[2]string{cause.Key, when}]
			if !ok {
				return nil, false
			}
			return o.Readings(), true
		}}
	a, err := worked(q.ctx, q.s.works, key(strings.Join(id, "\x00"), c), func() (*diagnose.Answer, error) {
		a, err := diagnose.Find(q.s.searches.ctx, got.base, saws, opt)
		if err != nil {
			err = bad("%v", err)
		}
		return a, err
	})
	if err != nil {
		return nil, err
	}
	d := card.Diagnosis(got.base, a, q.s.rules, q.units)
	return &answer{docs: []*card.Document{d}, values: diagnosisValues{a, Records(c), q.s.rules.Title}}, nil
}

// sawPage is where what was seen is entered, and what could give it.
type sawPage struct {
	frame
	Consist  string
	Sets     []string
	Seen     []sawShown // entered so far
	Answer   template.HTML
	Usual    []link // what is often seen, at one touch
	Steps    []link
	Step     string // whose readings can be entered
	StepSay  string
	Cab      []testRow
	Side     []testRow
	Units    []link
	Unit     string // whose devices can be entered
	Stands   []standsAt
	Measure  string // unit of pressure, as entered
	Failures bool
	Secured  bool
	Unsaid   string // where nothing can be answered here, why
}

// sawShown is one thing that was entered; what goes with it is sent along.
type sawShown struct{ Name, Value, Says, With, WithValue string }

// standsAt is the devices of one place with each position in which they could be found.
type standsAt struct {
	Place   string
	Options [][2]string // value, words
}

func (s *Site) diagnosePage(w http.ResponseWriter, r *http.Request) {
	ctx, stop := patient(r, pagePatience)
	defer stop()
	form := r.URL.Query()
	q, err := s.ask(r, form, ctx)
	x, _ := s.questionOf("diagnose")
	if err == nil && q.get("consist") == "" {
		s.answerPage(x)(w, r)
		return
	}
	var c *consist.Consist
	var proof *prove.Proof
	if err == nil {
		c, err = q.consist()
	}
	if err == nil {
		proof, err = q.proof(c)
	}
	if err == nil && proof.Test == nil {
		err = &unsaid{"cannot say: there is no brake test to go by"}
	}
	if err != nil {
		s.failed(w, r, x, q, err)
		return
	}
	p := sawPage{frame: s.frame(r, ""), Consist: q.get("consist"), Sets: q.all("set"), Measure: pressureUnit(q.units), Failures: q.get("failures") != "", Secured: q.get("secured") != "", Step: q.get("step"), Unit: q.get("of")}
	p.Title, p.Subtitle = "What could it be: "+c.String(), s.fleet.Railway
	p.stand(s, "diagnose", q)
	if c.HasDraft() {
		p.Banner = card.Draft
	}
	if k, _ := s.searches.of(c); k.err != nil { // begun already, so that it is there when it is asked
		p.Unsaid = tidy(k.err)
	}
	steps, entries, _ := s.entered(form, c, proof, q, true)
	words := q.all("saw")
	for _, t := range words {
		p.Seen = append(p.Seen, sawShown{Name: "saw", Value: t, Says: said(c, t)})
	}
	for _, st := range steps {
		for _, row := range slices.Concat(st.Cab, st.Side) {
			if row.Value == "" {
				continue
			}
			says := fmt.Sprintf("step %s: %s, %s: %s", st.ID, row.Unit, row.Device, row.Value)
			if row.Not != "" {
				says += ", but not " + row.Not
			}
			p.Seen = append(p.Seen, sawShown{row.Field, row.Value, says, row.Except, row.Not})
		}
		p.Steps = append(p.Steps, link{Text: st.ID, Here: st.ID == p.Step})
		if st.ID == p.Step {
			p.StepSay = st.Say
			open := func(rows []testRow) []testRow {
				return slices.DeleteFunc(slices.Clone(rows), func(x testRow) bool { return x.Field == "" || x.Value != "" })
			}
			p.Cab, p.Side = open(st.Cab), open(st.Side)
		}
	}
	if len(p.Seen) == 0 {
		p.Usual = q.usual(c, proof)
	}
	for _, v := range c.Vehicles {
		if v.Class.Kind == "locomotive" || len(c.Vehicles) <= 6 {
			p.Units = append(p.Units, link{Text: v.Name(), Here: v.Name() == p.Unit})
		}
	}
	if p.Unit != "" {
		if i, err := c.Find(p.Unit); err == nil {
			p.Stands = found(c, i)
		}
	}
	code := http.StatusOK
	if len(p.Seen) > 0 && p.Unsaid == "" {
		a, err := q.diagnosed(c, words, entries)
		switch {
		case err == nil:
			p.Answer = part(a.docs[0], 1)
		default:
			code, p.Running = statusOf(err)
			p.Progress = pendingOf(err)
			if d := cannotSay(p.Title, err); d != nil {
				code, p.Answer = http.StatusOK, part(d, 1)
			} else if !p.Running || errors.Is(err, errBusy) {
				p.Fault = tidy(err)
			}
		}
	}
	s.send(w, r, code, "diagnose", p.Running, p)
}

// said words an entry "step/unit.device=value"; one that is not so is left as it is.
func said(c *consist.Consist, text string) string {
	left, value, ok := strings.Cut(text, "=")
	step, of, at := strings.Cut(left, "/")
	if !at {
		step, of = "", left
	}
	unit, device, ok2 := strings.Cut(of, ".")
	i, err := c.Find(strings.TrimSpace(unit))
	if !ok || !ok2 || err != nil {
		return text
	}
	d, err := c.Named(i, strings.TrimSpace(device))
	if err != nil {
		return text
	}
	if step == "" {
		return fmt.Sprintf("%s, %s stands %s", c.Vehicles[i].Name(), d.Name, value)
	}
	return fmt.Sprintf("step %s: %s, %s: %s", step, c.Vehicles[i].Name(), d.Name, value)
}

// usual is what is often seen, a touch each: brakes of a locomotive that do not go on at
// the first reduction, or stay on after the release.
func (q *asked) usual(c *consist.Consist, p *prove.Proof) []link {
	var out []link
	for i, v := range c.Vehicles {
		if v.Class.Kind != "locomotive" {
			continue
		}
		for _, x := range []struct{ step, seen, says string }{
			{prove.StepService, "in", "Brakes of " + v.Name() + " do not go on"},
			{prove.StepRelease, "out", "Brakes of " + v.Name() + " stay on"},
		} {
			var saws []string
			for _, rd := range p.Test.Readings {
				if rd.Vehicle == i && rd.Kind == "piston" && rd.Step == x.step && rd.Fitted == "" {
					saws = append(saws, "saw", fmt.Sprintf("%s/%s.%s=%s", x.step, v.Name(), rd.Device, x.seen))
				}
			}
			if len(saws) > 0 {
				out = append(out, link{Text: x.says, Says: fmt.Sprintf("at step %s every piston is %s", x.step, x.seen), To: q.ofSame("/diagnose", saws...)})
			}
		}
	}
	return out
}

// found are the devices of a vehicle by place, with the positions in which they are not to
// stand.
func found(c *consist.Consist, i int) []standsAt {
	v := c.Vehicles[i]
	var out []standsAt
	for _, pl := range v.Class.Places {
		x := standsAt{Place: pl.Name}
		for _, d := range v.Class.Devices {
			if d.Place != pl.ID || !v.Unit.Carries(v.Class, d) {
				continue
			}
			at, _ := c.Position(i, d.ID)
			for _, ps := range d.Positions {
				if len(d.Positions) > 1 && ps.ID != at {
					x.Options = append(x.Options, [2]string{fmt.Sprintf("%s.%s=%s", v.Name(), d.ID, ps.ID), d.Name + ": " + ps.ID})
				}
			}
		}
		if len(x.Options) > 0 {
			out = append(out, x)
		}
	}
	return out
}

// carriedOver are the readings of a sheet as they are handed to the diagnosis, in an address
// that a browser sends. Where they are too many for one, those that are as expected are left
// out, and how many are.
func carriedOver(words url.Values, steps []testStep) (hidden [][2]string, left int) {
	for name, values := range words {
		if name != "consist" && name != "set" {
			continue
		}
		for _, v := range values {
			hidden = append(hidden, [2]string{name, v})
		}
	}
	sort.SliceStable(hidden, func(i, j int) bool { return hidden[i][0] < hidden[j][0] })
	long := func(list [][2]string) int {
		n := 0
		for _, h := range list {
			n += len(url.QueryEscape(h[0])) + len(url.QueryEscape(h[1])) + 2
		}
		return n
	}
	room := longestAddress*3/4 - long(hidden)
	for _, expected := range []bool{false, true} {
		for _, st := range steps {
			for _, row := range slices.Concat(st.Cab, st.Side) {
				if row.Value == "" || (row.Mark == "good") != expected {
					continue
				}
				add := [][2]string{{row.Field, row.Value}}
				if row.Not != "" {
					add = append(add, [2]string{row.Except, row.Not})
				}
				if room -= long(add); room < 0 {
					left++
					continue
				}
				hidden = append(hidden, add...)
			}
		}
	}
	return hidden, left
}
