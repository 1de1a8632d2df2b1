package setup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

// The fleet matrix is every way in which two or three units of a railway can be put one
// behind another with exactly one of them leading: which unit, which way round, in which
// role. It is counted before anything is run.
//
// Two things make it smaller, and neither gives a verdict. Units of a class whose records
// of today say the same of what reaches the air or the claim are one variant, and stand in
// it by their lowest numbers. And a train seen from its other end is the same train: where
// two ways are one train seen from both ends, with every unit driven from the same cab, it
// is run once.

// Uncoupled is the outcome of a way that is no train: what meets there does not fit, or
// the roles cannot stand in one train.
const Uncoupled = "cannot be coupled"

// Outcomes are what can become of a way, the best first.
func Outcomes() []string {
	return []string{prove.Works, prove.WithLoss, prove.CannotBe, prove.DoesNot, Uncoupled}
}

// Variant is the units of one class of which the records of today say the same of what
// reaches the air or the claim.
type Variant struct {
	Class string `json:"class"`
	Units []int  `json:"units"` // unit numbers, ascending
}

// ClassRoles are the roles in which units of a class are counted.
type ClassRoles struct {
	Class string   `json:"class"`
	Roles []string `json:"roles"` // without lead, which Leads says; of a wagon its loads
	Leads bool     `json:"leads"`
}

// MatrixAsk is what the matrix is asked about.
type MatrixAsk struct {
	Units   int      // 2 or 3
	Classes []string // by name; none: every class that has units
	Roles   []string // none: every role a record gives, but alone and stabled: those are coupled to nothing
	Program string   // which program runs it: another one may answer otherwise
}

// Matrix is the ways, counted, and the jobs that answer them.
type Matrix struct {
	Units    int          `json:"units"`
	Variants []Variant    `json:"variants"`
	Roles    []ClassRoles `json:"roles"`
	Ways     int          `json:"ways"`
	Jobs     int          `json:"jobs"`
	Turned   int          `json:"turned"` // ways that are another one seen from its other end
	Short    int          `json:"short"`  // not counted: they need more units of a variant than there are

	f      *fleet.Fleet
	r      *rule.Rules
	prog   string
	rules  string
	states map[string]string // by unit name
	places []wayUnit
	choice map[wayUnit]bool // the same, to look up
}

// wayUnit is one unit of a way.
type wayUnit struct {
	variant  int
	reversed bool
	role     string // "" for a wagon
	load     string
	cab      int // 0: the class has only one
}

// WayPlace is one unit of a way, as it is counted.
type WayPlace struct {
	Variant  int    `json:"variant"` // in Matrix.Variants
	Class    string `json:"class"`
	Reversed bool   `json:"reversed,omitempty"`
	Role     string `json:"role"` // of a wagon its load, or "wagon"
	Lead     bool   `json:"lead,omitempty"`
}

// Way is one way of putting units one behind another.
type Way struct {
	Consist string     `json:"consist"`
	Job     int        `json:"job"`              // which job answers it, counted from 0
	Turned  bool       `json:"turned,omitempty"` // the job is the same train seen from its other end
	Places  []WayPlace `json:"places"`
}

// MatrixJob is one unit of work: everything it rests on, as sums, and what it asks. It
// can be done by any machine with the same records, rules and program.
type MatrixJob struct {
	Consist string            `json:"consist"`
	Records map[string]string `json:"records"` // by class: the sum of the record's content
	Units   map[string]string `json:"units"`   // by unit: the sum of its own entry
	Rules   string            `json:"rules"`   // sum of the limits and accepted losses
	Program string            `json:"program"`
	For     [][]int           `json:"for"` // by place: the unit numbers it stands for
	Sum     string            `json:"sum"` // over all of these but For
}

// MatrixResult is what became of a job. Why holds the findings that decide it, each with one
// reason of a kind for a vehicle.
type MatrixResult struct {
	Consist string          `json:"consist"`
	Sum     string          `json:"sum"`
	Outcome string          `json:"outcome"`
	Why     []prove.Finding `json:"why,omitempty"`
	Because string          `json:"because,omitempty"` // where nothing was run: why not
	Runs    int             `json:"runs"`
	For     [][]int         `json:"for"` // as in the job
}

// notInTrains are the roles of units that stand by themselves.
func notInTrains() []string { return []string{"alone", "stabled"} }

// NewMatrix counts the ways. Classes and roles that no record has are an error.
func NewMatrix(f *fleet.Fleet, r *rule.Rules, ask MatrixAsk) (*Matrix, error) {
	if ask.Units < 2 || ask.Units > 3 {
		return nil, fmt.Errorf("a matrix is of 2 or 3 units, not of %d", ask.Units)
	}
	m := &Matrix{Units: ask.Units, f: f, r: r, prog: ask.Program, rules: rulesSum(r), states: map[string]string{}}
	for _, c := range f.Classes {
		if len(ask.Classes) > 0 && !slices.Contains(ask.Classes, c.Name) {
			continue
		}
		first := len(m.Variants)
		said := map[string]int{}
		for _, u := range f.Units {
			if u.Class != c.Name {
				continue
			}
			s := effective(u)
			m.states[u.Name()] = sumOf(s)
			k, ok := said[s]
			if !ok {
				k = len(m.Variants)
				said[s] = k
				m.Variants = append(m.Variants, Variant{Class: c.Name})
			}
			m.Variants[k].Units = append(m.Variants[k].Units, u.Number)
		}
		if len(m.Variants) == first {
			continue // a record without units
		}
		cr := rolesGiven(c, ask.Roles)
		if !cr.Leads && len(cr.Roles) == 0 {
			m.Variants = m.Variants[:first]
			continue
		}
		for k := first; k < len(m.Variants); k++ {
			slices.Sort(m.Variants[k].Units)
		}
		m.Roles = append(m.Roles, cr)
		for k := first; k < len(m.Variants); k++ {
			m.places = append(m.places, placesOf(c, cr, k)...)
		}
	}
	m.choice = map[wayUnit]bool{}
	for _, p := range m.places {
		m.choice[p] = true
	}
	m.each(func(way []wayUnit) bool {
		m.Ways++
		if _, turned := canonical(way); turned && m.counted(turn(way)) {
			m.Turned++
		}
		return true
	}, func() { m.Short++ })
	m.Jobs = m.Ways - m.Turned
	return m, nil
}

// RolesOf are the roles that a class's record gives and that a matrix can count.
func RolesOf(c *fleet.Class) []string {
	var out []string
	for _, r := range c.Roles {
		name := r.Name
		if r.AllPipes {
			name += ", " + r.Variant
		}
		if c.Kind == "locomotive" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

func rolesGiven(c *fleet.Class, asked []string) ClassRoles {
	cr := ClassRoles{Class: c.Name}
	if c.Kind != "locomotive" {
		cr.Roles = []string{"wagon"}
		if c.Loaded > 0 {
			cr.Roles = []string{"empty", "loaded"}
		}
		return cr
	}
	for _, name := range RolesOf(c) {
		switch {
		case name == "lead":
			cr.Leads = true
		case len(asked) > 0 && !slices.Contains(asked, name), len(asked) == 0 && slices.Contains(notInTrains(), name):
		default:
			cr.Roles = append(cr.Roles, name)
		}
	}
	return cr
}

func placesOf(c *fleet.Class, cr ClassRoles, variant int) []wayUnit {
	var out []wayUnit
	roles := cr.Roles
	if cr.Leads {
		roles = append([]string{"lead"}, roles...)
	}
	for _, role := range roles {
		for _, reversed := range []bool{false, true} {
			p := wayUnit{variant: variant, reversed: reversed, role: role}
			switch {
			case role == "wagon":
				p.role = ""
			case c.Kind != "locomotive":
				p.role, p.load = "", role
			case c.Cabs > 1 && (role == "lead" || role == "assisting"):
				p.cab = 1 // the one that faces the way the consist is read
				if reversed {
					p.cab = 2
				}
			}
			out = append(out, p)
		}
	}
	return out
}

// each visits every way in a fixed order, until visit says no. Ways for which there are
// not enough units go to short.
func (m *Matrix) each(visit func([]wayUnit) bool, short func()) {
	way := make([]wayUnit, m.Units)
	var fill func(k, leads int) bool
	fill = func(k, leads int) bool {
		if k == m.Units {
			if leads != 1 {
				return true
			}
			if !m.enough(way) {
				short()
				return true
			}
			return visit(way)
		}
		for _, p := range m.places {
			n := leads
			if p.role == "lead" {
				n++
			}
			if n > 1 {
				continue
			}
			way[k] = p
			if !fill(k+1, n) {
				return false
			}
		}
		return true
	}
	fill(0, 0)
}

// enough reports whether every variant has as many units as a way needs of it.
func (m *Matrix) enough(way []wayUnit) bool {
	for i, p := range way {
		n := 0
		for _, o := range way[:i+1] {
			if o.variant == p.variant {
				n++
			}
		}
		if n > len(m.Variants[p.variant].Units) {
			return false
		}
	}
	return true
}

// turn is a way seen from its other end.
func turn(way []wayUnit) []wayUnit {
	out := slices.Clone(way)
	slices.Reverse(out)
	for i := range out {
		out[i].reversed = !out[i].reversed
	}
	return out
}

// counted reports whether a way is one of those that each visits: those are driven from
// the cab that faces forward.
func (m *Matrix) counted(way []wayUnit) bool {
	for _, p := range way {
		if !m.choice[p] {
			return false
		}
	}
	return true
}

// canonical is of a way and the same train seen from its other end the one that is run:
// the one with the lead nearer its front, and where that is the same the one that comes
// first in the order of variants, facings and roles.
func canonical(way []wayUnit) (as []wayUnit, turned bool) {
	other := turn(way)
	a, b := leadOf(way), leadOf(other)
	if a < b || a == b && slices.CompareFunc(way, other, comparePlaces) <= 0 {
		return way, false
	}
	return other, true
}

func leadOf(way []wayUnit) int {
	return slices.IndexFunc(way, func(p wayUnit) bool { return p.role == "lead" })
}

func comparePlaces(a, b wayUnit) int {
	rev := func(p wayUnit) int {
		if p.reversed {
			return 1
		}
		return 0
	}
	if d := a.variant - b.variant; d != 0 {
		return d
	}
	if d := rev(a) - rev(b); d != 0 {
		return d
	}
	if d := strings.Compare(a.role+a.load, b.role+b.load); d != 0 {
		return d
	}
	return a.cab - b.cab
}

// numbers gives each place of a way a unit of its variant, the lowest first.
func (m *Matrix) numbers(way []wayUnit) []int {
	out := make([]int, len(way))
	used := map[int]int{}
	for i, p := range way {
		out[i] = m.Variants[p.variant].Units[used[p.variant]]
		used[p.variant]++
	}
	return out
}

func (m *Matrix) text(way []wayUnit, numbers []int) string {
	parts := make([]string, len(way))
	for i, p := range way {
		s := fmt.Sprintf("%s %d", m.Variants[p.variant].Class, numbers[i])
		if p.role != "" {
			s += " " + p.role
		}
		if p.cab != 0 {
			s += fmt.Sprintf(" cab %d", p.cab)
		}
		if p.load != "" {
			s += " " + p.load
		}
		if p.reversed {
			s += " reversed"
		}
		parts[i] = s
	}
	return strings.Join(parts, ", ")
}

// All lists the ways and the jobs that answer them, both in a fixed order: the jobs as
// the ways first need them.
func (m *Matrix) All() ([]Way, []MatrixJob) {
	ways := make([]Way, 0, m.Ways)
	jobs := make([]MatrixJob, 0, m.Jobs)
	known := map[string]int{}
	m.each(func(way []wayUnit) bool {
		as, turned := canonical(way)
		n := m.numbers(as)
		text := m.text(as, n)
		k, ok := known[text]
		if !ok {
			k = len(jobs)
			known[text] = k
			jobs = append(jobs, m.job(as, n, text))
		}
		w := Way{Consist: text, Job: k, Turned: turned}
		if turned {
			slices.Reverse(n)
			w.Consist = m.text(way, n)
		}
		for _, p := range way {
			wp := WayPlace{Variant: p.variant, Class: m.Variants[p.variant].Class, Reversed: p.reversed, Role: p.role + p.load, Lead: p.role == "lead"}
			if wp.Role == "" {
				wp.Role = "wagon"
			}
			w.Places = append(w.Places, wp)
		}
		ways = append(ways, w)
		return true
	}, func() {})
	return ways, jobs
}

func (m *Matrix) job(way []wayUnit, numbers []int, text string) MatrixJob {
	j := MatrixJob{Consist: text, Records: map[string]string{}, Units: map[string]string{}, Rules: m.rules, Program: m.prog}
	for i, p := range way {
		class := m.Variants[p.variant].Class
		if c, ok := m.f.Class(class); ok {
			j.Records[class] = c.Content
		}
		name := fmt.Sprintf("%s %d", class, numbers[i])
		j.Units[name] = m.states[name]
		j.For = append(j.For, m.Variants[p.variant].Units)
	}
	j.Sum = j.sum()
	return j
}

// Again is a job with the sums that these records, rules and program give: whoever does a
// job that comes from elsewhere holds it against its own. A consist that names no unit of
// the railway is an error.
func (j MatrixJob) Again(f *fleet.Fleet, r *rule.Rules, program string) (MatrixJob, error) {
	j.Records, j.Units, j.Rules, j.Program = map[string]string{}, map[string]string{}, rulesSum(r), program
	// units are found in the text by name: a consist that cannot be coupled is a job as well
	for _, name := range unitName.FindAllString(j.Consist, -1) {
		class, number, _ := strings.Cut(name, " ")
		n, err := strconv.Atoi(number)
		if err != nil {
			continue
		}
		u, ok := f.Unit(class, n)
		c, ok2 := f.Class(class)
		if ok && ok2 {
			j.Records[class], j.Units[name] = c.Content, sumOf(effective(u))
		}
	}
	if len(j.Units) == 0 {
		return j, fmt.Errorf("no unit of this railway stands in %q", j.Consist)
	}
	j.Sum = j.sum()
	return j, nil
}

// sum is the sum of all that the answer to a job hangs on.
func (j MatrixJob) sum() string {
	h := sha256.New()
	write := func(parts ...string) {
		for _, p := range parts {
			fmt.Fprintf(h, "%q ", p)
		}
		io.WriteString(h, "\n")
	}
	write("consist", j.Consist)
	for _, named := range []map[string]string{j.Records, j.Units} {
		for _, k := range sortedKeys(named) {
			write(k, named[k])
		}
	}
	write("rules", j.Rules)
	write("program", j.Program)
	return hex.EncodeToString(h.Sum(nil))[:32]
}

func sortedKeys(m map[string]string) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func sumOf(text string) string {
	h := sha256.Sum256([]byte(text))
	return hex.EncodeToString(h[:])[:16]
}

// effective is what a unit's own entry says of what reaches the air or the claim: what it
// has and has not, how its devices stand or are fitted, what was measured. Dates, reasons,
// remarks, checks, and defects that leave no device standing otherwise, say nothing of it.
func effective(u *fleet.Unit) string {
	var b strings.Builder
	put := func(parts ...string) { fmt.Fprintf(&b, "%q\n", parts) }
	for _, list := range [][]string{u.Modifications, u.With, u.Without} {
		s := slices.Clone(list)
		slices.Sort(s)
		put(append([]string{"list"}, s...)...)
	}
	for _, o := range u.State {
		if o.Property != "looks" {
			put("state", o.Device, o.Property, o.Value)
		}
	}
	for _, x := range u.Measured {
		put("measured", x.Element, x.Argument, fmt.Sprint(x.Figure.SI))
	}
	for _, d := range u.Defects {
		if d.Position != "" {
			put("defect", d.Device, d.Position)
		}
	}
	return b.String()
}

// rulesSum is over what a proof asks of the rules: limits, accepted losses and lights.
func rulesSum(r *rule.Rules) string {
	return sumOf(fmt.Sprintf("%+v\n%+v\n%+v", r.Limits, r.Losses, r.Lights))
}

// Do does one job: it reads the consist and proves it. What cannot be coupled and what no
// record gives is not run, and says why.
func Do(f *fleet.Fleet, r *rule.Rules, j MatrixJob, cond trial.Conditions) MatrixResult {
	res := MatrixResult{Consist: j.Consist, Sum: j.Sum, For: j.For}
	c, err := consist.Parse(f, j.Consist)
	var unsaid *consist.CannotSay
	switch {
	case errors.As(err, &unsaid):
		res.Outcome, res.Because = prove.CannotBe, err.Error()
		return res
	case err != nil:
		res.Outcome, res.Because = Uncoupled, err.Error()
		return res
	}
	if why := apart(c); why != "" {
		res.Outcome, res.Because = Uncoupled, why
		return res
	}
	p, err := prove.Prove(c, r, cond)
	if err != nil {
		res.Outcome, res.Because = prove.CannotBe, err.Error()
		return res
	}
	res.Outcome, res.Runs = p.Verdict, p.Runs
	want := map[string]prove.Status{prove.WithLoss: prove.Lost, prove.DoesNot: prove.Broken, prove.CannotBe: prove.CannotSay}[p.Verdict]
	for _, x := range p.Findings {
		if x.Status == want {
			x.Reasons = oneOfEach(x.Reasons)
			res.Why = append(res.Why, x)
		}
	}
	return res
}

// oneOfEach are the first of the reasons that say the same of the same vehicle, of whichever
// of its parts and in whichever run.
func oneOfEach(rs []prove.Reason) []prove.Reason {
	var out []prove.Reason
	for _, r := range rs {
		if !slices.ContainsFunc(out, func(o prove.Reason) bool {
			return o.Kind == r.Kind && o.Vehicle == r.Vehicle && o.Because == r.Because && (o.Element == r.Element || r.Kind != "record lacks" && r.Kind != "out of use")
		}) {
			out = append(out, r)
		}
	}
	return out
}

// apart says why two neighbours share no pipe at all, "" where every joint joins one.
func apart(c *consist.Consist) string {
	for _, jt := range c.Joints {
		joined, why := false, ""
		for _, jp := range jt.Pipes {
			joined = joined || jp.Coupled
			if jp.Pipe == "brake-pipe" || why == "" {
				why = jp.Why
			}
		}
		if !joined {
			a, b := c.Vehicles[jt.Index].Name(), c.Vehicles[jt.Index+1].Name()
			s := fmt.Sprintf("no pipe is common to %s and %s", a, b)
			if why != "" {
				s += ": " + why
			}
			return s
		}
	}
	return ""
}

// Work does jobs side by side, each by itself, and hands over the results in the order of
// the jobs, whoever did them; workers 0: as many as there are processors. When ctx ends or
// took fails, nothing new is begun, and what was not handed over is lost. The number
// handed over is returned.
func Work(ctx context.Context, f *fleet.Fleet, r *rule.Rules, jobs []MatrixJob, cond trial.Conditions, workers int, took func(k int, res MatrixResult) error) (int, error) {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	type done struct {
		k   int
		res MatrixResult
	}
	next := make(chan int)
	out := make(chan done)
	go func() {
		defer close(next)
		for k := range jobs {
			select {
			case next <- k:
			case <-ctx.Done():
				return
			}
		}
	}()
	var wait sync.WaitGroup
	for range min(workers, max(1, len(jobs))) {
		wait.Go(func() {
			for k := range next {
				out <- done{k, Do(f, r, jobs[k], cond)}
			}
		})
	}
	go func() { wait.Wait(); close(out) }()
	early := map[int]MatrixResult{}
	handed := 0
	var refused error
	for d := range out {
		early[d.k] = d.res
		for refused == nil {
			res, ok := early[handed]
			if !ok {
				break
			}
			delete(early, handed)
			if refused = took(handed, res); refused != nil {
				stop()
				break
			}
			handed++
		}
	}
	switch {
	case refused != nil:
		return handed, refused
	case handed < len(jobs):
		return handed, ctx.Err()
	}
	return handed, nil
}

// Tally is what becomes of the ways to put certain classes one behind another, one of
// them leading.
type Tally struct {
	Classes []string       `json:"classes"` // from the front
	Lead    int            `json:"lead"`    // which of them leads
	Ways    int            `json:"ways"`
	Of      map[string]int `json:"of"` // by outcome
	Groups  []TallyGroup   `json:"groups,omitempty"`
}

// TallyGroup is ways of one tally with the same outcome for the same reasons.
type TallyGroup struct {
	Outcome string       `json:"outcome"`
	Ways    int          `json:"ways"`
	Reasons []TallyWhy   `json:"reasons"`
	Among   []TallyAmong `json:"among"`   // by place, the units, roles and facings met in the group
	Whole   bool         `json:"whole"`   // every combination of those is in the group
	Example string       `json:"example"` // the consist that was run for the first of its ways
	places  [][]WayPlace // of every way
}

// TallyWhy is one reason of a group, the units named by their places: "the leading Tern".
type TallyWhy struct {
	Requirement string `json:"requirement,omitempty"`
	Says        string `json:"says,omitempty"` // the requirement in words
	Kind        string `json:"kind,omitempty"` // as in prove.Reason
	Whose       string `json:"whose,omitempty"`
	Because     string `json:"because,omitempty"`
	Lacks       string `json:"lacks,omitempty"` // what a record lacks
}

// TallyAmong is what the ways of a group have at one place. What is empty is not told
// apart: every unit, role or facing that the tally has there.
type TallyAmong struct {
	Units   []int    `json:"units,omitempty"`
	Roles   []string `json:"roles,omitempty"`
	Facings []string `json:"facings,omitempty"` // normal, reversed
}

// Tallies count the results by the classes at each place and by which leads, and group
// the ways of each by outcome and reason. Where every way with certain units at a place,
// whichever way round or one way round, ends alike and for a common reason, they are one
// group with that reason, so that one bad unit is told once.
func (m *Matrix) Tallies(ways []Way, results []MatrixResult) []Tally {
	var out []Tally
	at := map[string]int{}
	var told [][]toldWay
	for _, w := range ways {
		var classes []string
		for _, p := range w.Places {
			classes = append(classes, p.Class)
		}
		lead := slices.IndexFunc(w.Places, func(p WayPlace) bool { return p.Lead })
		key := fmt.Sprint(lead, classes)
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, Tally{Classes: classes, Lead: lead, Of: map[string]int{}})
			told = append(told, nil)
		}
		res := results[w.Job]
		out[k].Ways++
		out[k].Of[res.Outcome]++
		told[k] = append(told[k], toldWay{w.Places, res.Outcome, tallyWhys(w, res), res.Consist})
	}
	order := Outcomes()
	for k := range out {
		out[k].Groups = m.group(told[k])
		slices.SortStableFunc(out[k].Groups, func(a, b TallyGroup) int {
			if d := slices.Index(order, a.Outcome) - slices.Index(order, b.Outcome); d != 0 {
				return d
			}
			return b.Ways - a.Ways
		})
	}
	slices.SortStableFunc(out, func(a, b Tally) int {
		if d := strings.Compare(a.Classes[a.Lead], b.Classes[b.Lead]); d != 0 {
			return d
		}
		if d := a.Lead - b.Lead; d != 0 {
			return d
		}
		return slices.Compare(a.Classes, b.Classes)
	})
	return out
}

// toldWay is a way with what became of it.
type toldWay struct {
	places  []WayPlace
	outcome string
	whys    []TallyWhy
	consist string
}

func (m *Matrix) group(ways []toldWay) []TallyGroup {
	var out []TallyGroup
	var all [][]WayPlace
	for _, w := range ways {
		all = append(all, w.places)
	}
	taken := make([]bool, len(ways))
	add := func(outcome string, whys []TallyWhy, of func(k int) bool) {
		g := TallyGroup{Outcome: outcome, Reasons: whys}
		for k, w := range ways {
			if taken[k] || !of(k) {
				continue
			}
			if taken[k] = true; g.Ways == 0 {
				g.Example = w.consist
			}
			g.Ways++
			g.places = append(g.places, w.places)
		}
		if g.Ways > 0 {
			m.among(&g, all)
			out = append(out, g)
		}
	}
	for _, oneWayRound := range []bool{false, true} {
		for i := range ways[0].places {
			for v := range m.Variants {
				for _, reversed := range []bool{false, true} {
					if !oneWayRound && reversed {
						continue
					}
					has := func(k int) bool {
						p := ways[k].places[i]
						return p.Variant == v && (!oneWayRound || p.Reversed == reversed)
					}
					if outcome, common := commonly(ways, has); len(common) > 0 {
						add(outcome, common, has)
					}
				}
			}
		}
	}
	for k, w := range ways {
		if !taken[k] && w.outcome != prove.Works {
			add(w.outcome, w.whys, func(n int) bool { return ways[n].outcome == w.outcome && slices.Equal(ways[n].whys, w.whys) })
		}
	}
	return out
}

// commonly is how all ways of a choice end and for which common reasons; none where they
// differ, where the choice is all there is, or where a loss is to be told more closely.
func commonly(ways []toldWay, has func(int) bool) (outcome string, common []TallyWhy) {
	n := 0
	for k, w := range ways {
		if !has(k) {
			continue
		}
		if n++; n == 1 {
			outcome, common = w.outcome, slices.Clone(w.whys)
			continue
		}
		if w.outcome != outcome {
			return "", nil
		}
		common = slices.DeleteFunc(common, func(x TallyWhy) bool { return !slices.Contains(w.whys, x) })
	}
	if n == len(ways) || outcome == prove.Works || outcome == prove.WithLoss {
		return "", nil
	}
	return outcome, common
}

// among finds what a group is told apart by.
func (m *Matrix) among(g *TallyGroup, all [][]WayPlace) {
	product := 1
	for i := range all[0] {
		gather := func(ways [][]WayPlace) (variants []int, roles, facings []string) {
			for _, w := range ways {
				p := w[i]
				facing := "normal"
				if p.Reversed {
					facing = "reversed"
				}
				variants, roles, facings = once(variants, p.Variant), once(roles, p.Role), once(facings, facing)
			}
			slices.Sort(variants)
			slices.Sort(facings)
			return
		}
		av, ar, af := gather(all)
		v, r, f := gather(g.places)
		var a TallyAmong
		if len(v) < len(av) {
			for _, k := range v {
				a.Units = append(a.Units, m.Variants[k].Units...)
			}
			slices.Sort(a.Units)
		}
		if len(r) < len(ar) {
			a.Roles = r
		}
		if len(f) < len(af) {
			a.Facings = f
		}
		g.Among = append(g.Among, a)
		product *= len(v) * len(r) * len(f)
	}
	// variants that are there once cannot stand twice in a way
	short := 0
	for _, w := range all {
		if fits(g, w, m) {
			short++
		}
	}
	g.Whole = short == g.Ways || product == g.Ways
}

// fits reports whether a way is one of the combinations of a group.
func fits(g *TallyGroup, w []WayPlace, m *Matrix) bool {
	for i, p := range w {
		a := g.Among[i]
		facing := "normal"
		if p.Reversed {
			facing = "reversed"
		}
		if len(a.Units) > 0 && !slices.Contains(a.Units, m.Variants[p.Variant].Units[0]) ||
			len(a.Roles) > 0 && !slices.Contains(a.Roles, p.Role) || len(a.Facings) > 0 && !slices.Contains(a.Facings, facing) {
			return false
		}
	}
	return true
}

func once[T comparable](list []T, x T) []T {
	if slices.Contains(list, x) {
		return list
	}
	return append(list, x)
}

// tallyWhys are the reasons of a result without what differs from unit to unit: a unit is
// named by its place.
func tallyWhys(w Way, res MatrixResult) []TallyWhy {
	named := byPlace(w)
	if len(res.Why) == 0 {
		return []TallyWhy{{Because: named(res.Because)}}
	}
	var out []TallyWhy
	for _, f := range res.Why {
		if len(f.Reasons) == 0 {
			out = append(out, TallyWhy{Requirement: f.Requirement, Says: f.Says})
		}
		for _, r := range f.Reasons {
			t := TallyWhy{Requirement: f.Requirement, Says: f.Says, Kind: r.Kind, Whose: named(r.Vehicle)}
			switch r.Kind {
			case "record lacks":
				t.Lacks = r.Element
			case "out of use":
				t.Because = r.Element + " is " + named(r.Because)
			default:
				t.Because = named(r.Because)
			}
			out = once(out, t)
		}
	}
	return out
}

var unitName = regexp.MustCompile(`\p{L}[\p{L}\p{N}-]* [0-9]+\b`)

// byPlace renames the units of a way in a text by their places.
func byPlace(w Way) func(string) string {
	names := map[string]string{}
	for i, words := range items(w.Consist) {
		p := w.Places[i]
		alike := 0
		for _, o := range w.Places {
			if o.Class == p.Class && !o.Lead {
				alike++
			}
		}
		name := "the " + p.Class
		switch {
		case p.Lead:
			name = "the leading " + p.Class
		case alike > 1:
			name = fmt.Sprintf("the %s in place %d", p.Class, i+1)
		}
		names[strings.Join(words[:2], " ")] = name
	}
	return func(s string) string {
		return unitName.ReplaceAllStringFunc(s, func(x string) string {
			if n, ok := names[x]; ok {
				return n
			}
			return x
		})
	}
}
