package web

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"

	"headstock/card"
	"headstock/fleet"
	"headstock/prove"
	"headstock/setup"
)

// keptMatrix is the name under which the results of the fleet matrix are kept, as the
// command matrix keeps them in a file.
const keptMatrix = "fleet-matrix"

// mostMatrices is how many askings of the matrix are kept ready.
const mostMatrices = 4

// matrices are the matrices of a site.
type matrices struct {
	lock  sync.Mutex
	kept  map[string]*matrixRun
	order []string
	turn  sync.Mutex // one is run at a time
}

// matrixRun is one matrix and how far its runs are.
type matrixRun struct {
	m       *setup.Matrix
	ways    []setup.Way
	results []setup.MatrixResult
	worse   []setup.Worsened
	err     error
	done    int
	of      int
	ended   chan struct{}
}

// matrixPending says that the fleet matrix is still being run; it is a kind of errRunning.
type matrixPending struct{ done, of int }

func (e *matrixPending) Error() string {
	return fmt.Sprintf("the fleet matrix is still being run: %d of %d consists are proved", e.done, e.of)
}

func (e *matrixPending) Is(target error) bool { return target == errRunning }

// matrix is the matrix of two units of the classes asked, run once and kept.
func (q *asked) matrix() (*matrixRun, error) {
	s := q.s
	classes := q.all("class")
	for _, n := range classes {
		if _, err := s.class(n); err != nil {
			return nil, err
		}
	}
	if !searchesHere || s.searches.workers < 1 {
		return nil, errUnsearched
	}
	slices.Sort(classes)
	classes = slices.Compact(classes)
	k := strings.Join(classes, "\x00")
	x := &s.matrices
	x.lock.Lock()
	run, ok := x.kept[k]
	if !ok {
		m, err := setup.NewMatrix(s.fleet, s.rules, setup.MatrixAsk{Units: 2, Classes: classes, Program: s.runner})
		if err != nil {
			x.lock.Unlock()
			return nil, bad("%v", err)
		}
		if m.Jobs > mostMatrixRuns {
			x.lock.Unlock()
			return nil, bad("%d consists would be run, and at most %d are here; name fewer classes, or ask the command headstock matrix", m.Jobs, mostMatrixRuns)
		}
		run = &matrixRun{m: m, of: m.Jobs, ended: make(chan struct{})}
		if x.kept == nil {
			x.kept = map[string]*matrixRun{}
		}
		x.kept[k] = run
		x.order = append(x.order, k)
		for len(x.order) > mostMatrices {
			delete(x.kept, x.order[0])
			x.order = x.order[1:]
		}
		go s.runMatrix(run)
	}
	x.lock.Unlock()
	select {
	case <-run.ended:
		return run, run.err
	default:
	}
	select {
	case <-run.ended:
		return run, run.err
	case <-q.ctx.Done():
		x.lock.Lock()
		defer x.lock.Unlock()
		return nil, &matrixPending{run.done, run.of}
	}
}

// runMatrix runs what is not kept.
func (s *Site) runMatrix(run *matrixRun) {
	s.matrices.turn.Lock()
	defer s.matrices.turn.Unlock()
	defer close(run.ended)
	defer func() {
		if what := recover(); what != nil {
			run.err = errors.New("the fleet matrix could not be run; it has been noted")
			s.works.fault("matrix", what, nil)
		}
	}()
	var jobs []setup.MatrixJob
	run.ways, jobs = run.m.All()
	run.results = make([]setup.MatrixResult, len(jobs))
	kept, _ := setup.ReadKept(strings.NewReader(""))
	write := func([]byte) error { return nil }
	before, after, err := s.searches.results.Open(keptMatrix)
	if err != nil {
		s.log.Error("the fleet matrix cannot be kept", "error", err)
	} else {
		defer after.Close()
		if before != nil {
			defer before.Close()
			if k, err := setup.ReadKept(before); err == nil {
				kept = k
			} else {
				s.log.Error("what was kept of the fleet matrix is not used", "error", err)
				after = nil
			}
		} else if _, err := after.Write([]byte(setup.KeptHead + "\n")); err != nil {
			after = nil
		}
		if after != nil {
			write = func(b []byte) error { _, err := after.Write(b); return err }
		}
	}
	keep := func(res setup.MatrixResult) {
		line, err := kept.Line(res, false)
		if err == nil {
			err = write(line)
		}
		if err != nil {
			s.log.Error("a result of the fleet matrix is not kept", "error", err)
		}
	}
	var todo []setup.MatrixJob
	var at []int
	step := func() {
		s.matrices.lock.Lock()
		run.done++
		s.matrices.lock.Unlock()
	}
	for k, j := range jobs {
		res, ok, changed := kept.Take(j)
		if !ok {
			todo, at = append(todo, j), append(at, k)
			continue
		}
		run.results[k] = res
		if changed {
			keep(res)
		}
		step()
	}
	_, run.err = setup.Work(s.searches.ctx, s.fleet, s.rules, todo, s.conditions(), s.searches.workers, func(k int, res setup.MatrixResult) error {
		run.results[at[k]] = res
		keep(res)
		step()
		return nil
	})
	if errors.Is(run.err, context.Canceled) {
		run.err = errRunning
	}
	run.worse = kept.Worse(run.results)
}

type matrixValues struct {
	*setup.Matrix
	Tallies []setup.Tally        `json:"tallies"`
	Worse   []setup.Worsened     `json:"worse"`
	Of      []setup.Way          `json:"every_way"`
	Results []setup.MatrixResult `json:"results"`
	Records []Record             `json:"records"`
	Rules   string               `json:"rules_title"`
}

func matrix(q *asked) (*answer, error) {
	run, err := q.matrix()
	if err != nil || !searchesHere {
		return nil, err
	}
	v := matrixValues{run.m, run.m.Tallies(run.ways, run.results), run.worse, run.ways, run.results, nil, q.s.rules.Title}
	for _, x := range run.m.Roles {
		if c, ok := q.s.fleet.Class(x.Class); ok {
			v.Records = append(v.Records, RecordOf(c))
		}
	}
	d := card.Matrix(q.s.fleet, run.m, run.ways, run.results, run.worse, false, q.s.rules, q.units)
	return &answer{docs: []*card.Document{d}, values: v}, nil
}

// matrixShown is the fleet matrix as a grid: which leads, and what stands next to it.
type matrixShown struct {
	frame
	Ready   bool
	Verdict string
	Classes []link // only this class
	Roles   []link
	Sides   []link
	Says    string
	Heads   []string
	Rows    []matrixRow
	Words   template.HTML
	Rests   []string
}

type matrixRow struct {
	Lead  string
	Cells []matrixCell
}

type matrixCell struct {
	Head string
	Ways []matrixWay
}

// matrixWay is the ways of a cell with one outcome.
type matrixWay struct {
	Outcome string
	Which   string // which way round, where not all end so
	To      string // the page at the coupling of the first of them
	No      bool
}

// outcomeWords are short for a grid.
func outcomeWords(outcome string) string {
	return map[string]string{prove.Works: "works", prove.WithLoss: "works, with losses", prove.DoesNot: "does not work", prove.CannotBe: "cannot say", setup.Uncoupled: "cannot be coupled"}[outcome]
}

func (s *Site) matrixPage(w http.ResponseWriter, r *http.Request) {
	ctx, stop := patient(r, pagePatience)
	defer stop()
	q, err := s.ask(r, r.URL.Query(), ctx)
	x, _ := s.questionOf("matrix")
	var run *matrixRun
	if err == nil {
		run, err = q.matrix()
	}
	if err != nil || !searchesHere {
		s.failed(w, r, x, q, err)
		return
	}
	p := matrixShown{frame: s.frame(r, x.title), Ready: true}
	p.Subtitle = s.fleet.Railway
	d := card.Matrix(s.fleet, run.m, run.ways, run.results, run.worse, false, s.rules, q.units)
	p.Verdict, p.Rests = d.Verdict.Text, d.Footer
	role, side := q.get("role"), q.get("side")
	if side != "front" {
		side = "behind"
	}
	var roles []string
	for _, wy := range run.ways {
		for _, pl := range wy.Places {
			if !pl.Lead && !slices.Contains(roles, pl.Role) {
				roles = append(roles, pl.Role)
			}
		}
	}
	rank := func(role string) int { // as the list of roles has them, loads after
		if k := slices.Index(fleet.RoleNames(), role); k >= 0 {
			return k
		}
		return len(fleet.RoleNames())
	}
	slices.SortStableFunc(roles, func(a, b string) int { return rank(a) - rank(b) })
	if !slices.Contains(roles, role) && len(roles) > 0 {
		role = roles[0]
	}
	here := func(more ...string) string {
		v := url.Values{"role": {role}, "side": {side}}
		for _, c := range q.all("class") {
			v.Add("class", c)
		}
		for i := 0; i+1 < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return "/matrix?" + v.Encode()
	}
	for _, n := range roles {
		p.Roles = append(p.Roles, link{Text: n, To: here("role", n), Here: n == role})
	}
	p.Sides = []link{{Text: "behind the lead", To: here("side", "behind"), Here: side == "behind"}, {Text: "before the lead", To: here("side", "front"), Here: side == "front"}}
	p.Says = fmt.Sprintf("The other unit %s, as %s. Each entry leads to its page at the coupling.", map[string]string{"behind": "stands behind the lead", "front": "stands before the lead"}[side], role)
	p.Heads, p.Rows = grid(run, role, side == "front")
	words := *d
	words.Verdict, words.Footer = nil, nil
	p.Words = part(&words, 2)
	s.show(w, r, http.StatusOK, "matrix", p)
}

// grid is the outcomes by which units lead and which stand next to them.
func grid(run *matrixRun, role string, front bool) (heads []string, rows []matrixRow) {
	var lead, other []int
	type at struct{ lead, other int }
	ways := map[at][]setup.Way{}
	for _, w := range run.ways {
		l, o := w.Places[0], w.Places[1]
		if front {
			l, o = o, l
		}
		if !l.Lead || o.Role != role {
			continue
		}
		if !slices.Contains(lead, l.Variant) {
			lead = append(lead, l.Variant)
		}
		if !slices.Contains(other, o.Variant) {
			other = append(other, o.Variant)
		}
		k := at{l.Variant, o.Variant}
		ways[k] = append(ways[k], w)
	}
	slices.Sort(lead)
	slices.Sort(other)
	name := func(k int) string {
		v := run.m.Variants[k]
		return v.Class + " " + card.Numbers(v.Units)
	}
	for _, o := range other {
		heads = append(heads, name(o))
	}
	for _, l := range lead {
		row := matrixRow{Lead: name(l)}
		for _, o := range other {
			row.Cells = append(row.Cells, matrixCell{name(o), cellWays(run, ways[at{l, o}], front)})
		}
		rows = append(rows, row)
	}
	return heads, rows
}

func cellWays(run *matrixRun, ways []setup.Way, front bool) []matrixWay {
	var out []matrixWay
	for _, outcome := range setup.Outcomes() {
		var of []setup.Way
		for _, w := range ways {
			if run.results[w.Job].Outcome == outcome {
				of = append(of, w)
			}
		}
		if len(of) == 0 {
			continue
		}
		x := matrixWay{Outcome: outcomeWords(outcome), To: address("/coupling", "consist", of[0].Consist), No: outcome == prove.DoesNot || outcome == setup.Uncoupled}
		if len(of) < len(ways) {
			var which []string
			for _, w := range of {
				l, o := w.Places[0], w.Places[1]
				if front {
					l, o = o, l
				}
				way := map[bool]string{false: "1", true: "2"}
				which = append(which, way[l.Reversed]+"+"+way[o.Reversed])
			}
			x.Which = strings.Join(which, ", ")
		}
		out = append(out, x)
	}
	return out
}
