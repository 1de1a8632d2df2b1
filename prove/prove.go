// Package prove judges a set-up: it runs the consist through the standing brake test and
// the runs that go with it (emergency from every place, parting at every joint) and says
// of each requirement whether it is met, lost and accepted, broken, cannot be said, or
// does not apply. Every verdict on the brake comes from a run; what no run can show
// (couplers, hand brakes, seals, lights) is judged by how devices stand.
//
// Incomplete: spreads are known of air elements only, not of what devices set.
package prove

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"headstock/consist"
	"headstock/rule"
	"headstock/trial"
)

// Status of a requirement.
type Status string

// The statuses, and how they weigh.
const (
	Met         Status = "met"
	Lost        Status = "lost and accepted"
	Broken      Status = "broken"
	CannotSay   Status = "cannot say"
	NotApplies  Status = "does not apply"
	NotExamined Status = "not examined"
)

// Finding is what became of one requirement.
type Finding struct {
	Requirement string   `json:"requirement"`
	Says        string   `json:"says"`  // the requirement in words
	Stage       string   `json:"stage"` // secured, coupled, charged, tested, ready, parted, stabled
	Status      Status   `json:"status"`
	Reasons     []Reason `json:"reasons,omitempty"`
	Rule        string   `json:"rule,omitempty"`
}

// Reason is why: which vehicle, at which step of which run, what was seen.
type Reason struct {
	Vehicle    string   `json:"vehicle,omitempty"`
	Run        string   `json:"run"`
	Step       string   `json:"step"`
	Kind       string   `json:"kind"`              // which sentence words it
	Element    string   `json:"element,omitempty"` // air element concerned
	Devices    []string `json:"devices,omitempty"` // devices it is traced to
	Value      float64  `json:"value"`             // SI
	Limit      float64  `json:"limit"`             // SI, in the measure of Value; 0 where there is none
	Because    string   `json:"because,omitempty"` // equipment that explains an accepted loss
	Restrict   string   `json:"restriction,omitempty"`
	CrewSees   string   `json:"crew_sees,omitempty"`
	CrewSeesAt string   `json:"seen_at,omitempty"`
	At         string   `json:"at,omitempty"`     // of a light: the place of the headstock in the train, a word of the rules
	Shows      string   `json:"shows,omitempty"`  // of a light: its colours, or dark
	Should     string   `json:"should,omitempty"` // and what the rules ask there
}

// Verdict words.
const (
	Works    = "works"
	WithLoss = "works with losses"
	DoesNot  = "does not work"
	CannotBe = "cannot say"
)

// Proof is the judgement of one set-up.
type Proof struct {
	Consist  *consist.Consist
	Test     *trial.Result
	Study    *Study // what the spreads of the records make of the test; nil: not asked for
	Findings []Finding
	Verdict  string
	Runs     int
	AirModel string // [trial.AirModel] of the runs
}

type judge struct {
	c     *consist.Consist
	r     *rule.Rules
	b     *trial.Bench
	t     *trial.Result
	right *trial.Result // the same test with every device as claimed; nil where nothing is moved
	lead  int
	proof *Proof
	alone bool   // tries are run one after the other
	board *board // the circuits, where somebody has wired them already
}

// Prove judges a consist under the rules. What the records lack makes a proof that cannot
// say; an error is a run that could not be made.
func Prove(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Proof, error) {
	return prove(c, r, cond, nil, true)
}

// Moved judges a consist in which one device is moved during the brake test, after a
// step: StepCharge, with the train charged and released, or StepService, with the brake
// on, so that air can be trapped. A Prove of the changed consist tells what it does when
// it stood so from the start. What is judged by the positions alone is judged as the
// consist stood before the move. An error is a step that the test has not, or a run that
// could not be made.
func Moved(c *consist.Consist, ch consist.Change, after string, r *rule.Rules, cond trial.Conditions) (*Proof, error) {
	return prove(c, r, cond, &movement{after, trial.Step{ID: StepMoved, Do: []trial.Act{{Who: c.Vehicles[ch.Vehicle].Name(), What: ch.Device, To: ch.Position}}, For: r.V("settle"), Read: true}}, false)
}

// movement is a step put into the brake test after another.
type movement struct {
	after string
	step  trial.Step
}

func prove(c *consist.Consist, r *rule.Rules, cond trial.Conditions, moved *movement, trace bool) (*Proof, error) {
	j := &judge{c: c, r: r, proof: &Proof{Consist: c, AirModel: trial.AirModel(cond)}}
	lead, n := c.Lead()
	j.lead = lead
	if n == 0 {
		j.add(Finding{Requirement: "one-controlling-cab", Stage: "coupled", Status: Broken, Reasons: []Reason{{Kind: "no lead"}}})
		j.proof.Verdict = DoesNot
		return j.proof, nil
	}
	if lacks := lacking(c); len(lacks) > 0 {
		j.add(Finding{Requirement: "automatic", Stage: "tested", Status: CannotSay, Reasons: lacks})
		j.proof.Verdict = CannotBe
		return j.proof, nil
	}
	b, err := trial.NewBench(c, cond)
	if err != nil {
		return nil, err
	}
	j.b = b
	test := StandingTest(c, r)
	if moved != nil {
		k := slices.IndexFunc(test.Steps, func(s trial.Step) bool { return s.ID == moved.after })
		test.Steps = slices.Insert(test.Steps, k+1, moved.step)
	}
	// the test beside the same test with every device as claimed
	var wait sync.WaitGroup
	var other error
	if len(c.Changed) > 0 || moved != nil {
		claimed, err := c.Claimed()
		if err != nil {
			return nil, err
		}
		j.proof.Runs++
		wait.Go(func() { j.right, other = b.Run(claimed, StandingTest(claimed, r), nil) })
	}
	j.t, err = b.Run(c, test, nil)
	wait.Wait()
	if err == nil {
		err = other
	}
	if err != nil {
		return nil, err
	}
	j.proof.Test = j.t
	j.proof.Runs++
	if err := j.examine(n); err != nil {
		return nil, err
	}
	j.proof.verdict()
	if trace && j.proof.Verdict == DoesNot && len(c.Changed) > 0 {
		if err := j.trace(cond); err != nil {
			return nil, err
		}
	}
	return j.proof, nil
}

// examine judges every requirement by the brake test that was run, and by the runs from
// the charged train that it makes.
func (j *judge) examine(leads int) error {
	j.goTogether()
	j.coupled()
	j.charge()
	j.oneCab(leads)
	j.continuous()
	j.automatic()
	j.leakage()
	j.independent()
	j.quickRelease()
	j.dead()
	j.tight()
	j.rated()
	j.handBrakes()
	j.sealed()
	for _, runs := range []func() error{j.emergency, j.penalty, j.assisting, j.parting} {
		if err := runs(); err != nil {
			return err
		}
	}
	j.lights()
	return j.power()
}

// lacking names what the records would have to hold before the consist can be run.
func lacking(c *consist.Consist) []Reason {
	var out []Reason
	seen := map[string]bool{}
	need := func(v *consist.Vehicle, what string) {
		if key := v.Class.Name + what; !seen[key] {
			seen[key] = true
			out = append(out, Reason{Kind: "record lacks", Vehicle: v.Name(), Element: what})
		}
	}
	for i, v := range c.Vehicles {
		cylinder := false
		for _, e := range v.Class.Air {
			cylinder = cylinder || e.Kind == "cylinder"
		}
		if _, ok := v.Class.Element("brake-pipe"); !ok {
			need(v, "the pipe brake-pipe among the air elements")
		}
		if !cylinder {
			need(v, "a cylinder among the air elements")
		}
		if v.Role == "lead" || v.Role == "alone" {
			for _, fn := range []string{"automatic-handle", "automatic-cut-out"} {
				if _, ok := c.Device(i, fn); !ok {
					need(v, "a device of function "+fn)
				}
			}
			if trial.Supply(v.Class) == "" {
				need(v, "a relay that feeds the cylinders")
			}
		}
	}
	return out
}

func (p *Proof) verdict() {
	p.Verdict = Works
	for _, f := range p.Findings {
		switch f.Status {
		case Broken:
			p.Verdict = DoesNot
			return
		case CannotSay:
			p.Verdict = CannotBe
		case Lost:
			if p.Verdict == Works {
				p.Verdict = WithLoss
			}
		}
	}
}

// Finding finds the judgement of a requirement.
func (p *Proof) Finding(requirement string) (Finding, bool) {
	for _, f := range p.Findings {
		if f.Requirement == requirement {
			return f, true
		}
	}
	return Finding{}, false
}

// add files a finding. One that would be met cannot be said where a record in the
// consist names something missing that it needs.
func (j *judge) add(f Finding) {
	f.Says = Says(f.Requirement)
	if f.Status == Met || f.Status == Lost {
		for _, v := range j.c.Vehicles {
			for _, m := range v.Class.Missing {
				if m.Needed == f.Requirement || m.Needed == "prove" {
					f.Status = CannotSay
					f.Reasons = append(f.Reasons, Reason{Kind: "record lacks", Vehicle: v.Name(), Element: m.What})
				}
			}
		}
	}
	j.proof.Findings = append(j.proof.Findings, f)
}

// Says is a requirement in words.
func Says(id string) string {
	for _, q := range requirements {
		if q[0] == id {
			return q[1]
		}
	}
	return id
}

var requirements = [][2]string{
	{"goes-together", "devices that go together agree"},
	{"coupled", "at every joint the couplers are locked and shared main reservoir pipes open through"},
	{"charged", "the brake pipe stands at its working pressure, neither below nor overcharged"},
	{"one-controlling-cab", "the lead unit's automatic valve, and no other, feeds the brake pipe"},
	{"brake-pipe-continuous", "the brake pipe is continuous to the last vehicle"},
	{"automatic", "the automatic applies and releases every braked vehicle"},
	{"leakage", "the brake pipe holds with the automatic valve cut out"},
	{"independent", "the independent applies and releases every unit on the locomotive-brake pipe"},
	{"quick-release", "the press-down releases every unit worked by the lead, and a further reduction re-applies it"},
	{"dead-unit", "a unit hauled dead is charged, limited, applied and released"},
	{"nothing-open", "nothing stands open to atmosphere"},
	{"rating", "no reservoir stands above its rating"},
	{"hand-brakes", "hand brakes are off and chocks away for the road"},
	{"sealed", "what must not be moved stands at its place"},
	{"emergency", "emergency from every place applies every braked vehicle"},
	{"penalty", "the vigilance penalty of the lead applies the brake of every vehicle"},
	{"assisting", "a unit that assists can put on its own independent"},
	{"parting", "parting at any joint applies both parts and leaves the leading part air for one full application"},
	{"lights", "lights stand per role and end"},
	{"power-and-direction", "power and direction come from one place"},
}

func (j *judge) cylinders(i int) []string {
	var out []string
	for _, e := range j.c.Vehicles[i].Class.Air {
		if e.Kind == "cylinder" {
			out = append(out, e.ID)
		}
	}
	return out
}

func (j *judge) name(i int) string { return j.c.Vehicles[i].Name() }

func (j *judge) limit(id string) rule.Limit { l, _ := j.r.Limit(id); return l }

func status(reasons []Reason) Status {
	if len(reasons) > 0 {
		return Broken
	}
	return Met
}

func (j *judge) goTogether() {
	var rs []Reason
	for _, d := range j.c.Disagreements() {
		rs = append(rs, Reason{Kind: "disagree", Vehicle: j.name(d.Vehicle), Devices: []string{d.A + "=" + d.Found[0], d.B + "=" + d.Found[1]}, Because: d.Claimed[0] + ", " + d.Claimed[1]})
	}
	j.add(Finding{Requirement: "goes-together", Stage: "coupled", Status: status(rs), Reasons: rs})
}

// coupled looks at what holds two vehicles together and shares their main air. Neither
// shows in a run: a coupler that is not locked holds until it is pulled, and a compressor
// that is shut off from the others is missed only when another fails.
func (j *judge) coupled() {
	var rs []Reason
	for k, jt := range j.c.Joints {
		for side := range 2 {
			i, end := j.c.Side(k, side)
			v := j.c.Vehicles[i]
			for _, d := range v.Class.Devices {
				if d.End != end || d.Function != "coupler" && d.Function != "coupler-lock" || !v.Unit.Carries(v.Class, d) {
					continue
				}
				want := d.Normal
				if _, ok := d.Position("locked"); ok {
					want = "locked"
				}
				if p, ok := j.c.Position(i, d.ID); ok && len(d.Positions) > 0 && p != want {
					rs = append(rs, Reason{Kind: "not locked", Vehicle: v.Name(), Element: d.Name, Devices: []string{d.ID + "=" + p}, Because: want})
				}
			}
			for _, jp := range jt.Pipes {
				if jp.Pipe != "main-reservoir-pipe" || !jp.Coupled {
					continue
				}
				for _, d := range v.Class.DevicesOf("main-reservoir-pipe-isolating-cock") {
					if p, _ := j.c.Position(i, d.ID); p != d.Normal {
						rs = append(rs, Reason{Kind: "not shared", Vehicle: v.Name(), Element: jp.Pipe, Devices: []string{d.ID + "=" + p}})
					}
				}
				for _, pe := range v.Class.Ends[end-1].Pipes {
					if pe.Pipe != jp.Pipe {
						continue
					}
					hose, _ := j.c.Position(i, pe.Hose)
					cock, _ := j.c.Position(i, pe.Cock)
					if hose != "coupled" || cock != "open" {
						rs = append(rs, Reason{Kind: "not shared", Vehicle: v.Name(), Element: jp.Pipe, Devices: []string{pe.Hose + "=" + hose, pe.Cock + "=" + cock}})
					}
				}
			}
		}
	}
	j.add(Finding{Requirement: "coupled", Stage: "coupled", Status: status(rs), Reasons: rs, Rule: "common practice"})
}

// charge holds the lead's brake pipe to its working pressure, and every other to no more.
func (j *judge) charge() {
	var rs []Reason
	l := j.limit("charged")
	for i := range j.c.Vehicles {
		g, ok := j.t.Gauge(StepCharge, i, "brake-pipe")
		switch {
		case !ok:
		case g > l.High:
			rs = append(rs, Reason{Kind: "overcharged", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepCharge, Element: "brake-pipe", Value: g, Limit: l.High})
		case i == j.lead && g < l.Low:
			rs = append(rs, Reason{Kind: "not charged", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepCharge, Element: "brake-pipe", Value: g, Limit: l.Low})
		}
	}
	// what does not happen in time does not happen
	for _, m := range j.t.Misses {
		who := m.Until.Who
		if i, err := j.c.Find(who); err == nil {
			who = j.name(i)
		}
		rs = append(rs, Reason{Kind: "did not happen", Vehicle: who, Run: j.t.Procedure.Name, Step: m.Step, Element: m.Until.Air, Value: m.Value, Limit: m.AtMost})
	}
	j.add(Finding{Requirement: "charged", Stage: "charged", Status: status(rs), Reasons: rs, Rule: l.Cite()})
}

// unfit are the devices of functions, in the cab that drives or for the whole unit, that
// the unit's own record says are out of use, blanked or taken off.
func (j *judge) unfit(i int, functions ...string) []Reason {
	v := j.c.Vehicles[i]
	var rs []Reason
	for _, d := range v.Class.Devices {
		if !slices.Contains(functions, d.Function) || d.Cab != 0 && v.Cab != 0 && d.Cab != v.Cab || d.Fitted == "no" {
			continue
		}
		how, o := v.Unit.Fitted(d)
		if v.Unit.Carries(v.Class, d) && how == "yes" {
			continue
		}
		r := Reason{Kind: "out of use", Vehicle: v.Name(), Element: d.Name, Devices: []string{d.ID}, Because: how}
		if o != nil {
			r.Because = fmt.Sprintf("%s since %s, %s", how, o.Date, o.Reason)
		}
		rs = append(rs, r)
	}
	return rs
}

func (j *judge) oneCab(leads int) {
	var rs []Reason
	if leads > 1 {
		for i, v := range j.c.Vehicles {
			if i != j.lead && (v.Role == "lead" || v.Role == "alone") {
				rs = append(rs, Reason{Kind: "second lead", Vehicle: v.Name()})
			}
		}
	}
	rs = append(rs, j.unfit(j.lead, "automatic-handle", "automatic-cut-out")...)
	// with the lead's valve cut out nothing may feed the brake pipe
	if m, ok := j.t.At(StepCutOut); ok {
		for i, v := range j.c.Vehicles {
			bp, ok := j.t.Plant.Node(i, "brake-pipe")
			// only a locomotive has anything to feed with; a pipe that falls fast draws air
			// out of every branch, and says nothing about who feeds it
			if !ok || !v.Locomotive() || m.Run.Slope(bp) < -j.r.V("quick-fall") {
				continue
			}
			for _, e := range v.Class.Air {
				if e.Kind != "relay" && e.Kind != "regulator" && e.Kind != "passage" {
					continue
				}
				for _, ed := range j.t.Plant.Edges(i, e.ID) {
					from, to := j.t.Plant.Net.Ends(ed)
					flow := m.Run.Flow(ed)
					if from == bp {
						flow = -flow
					} else if to != bp {
						continue
					}
					// more than the air in a branch that follows a leaking pipe down
					if flow > j.limit("feeds").High*freeAir {
						rs = append(rs, Reason{Kind: "feeds", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepCutOut, Element: e.ID, Devices: deviceOf(e)})
					}
				}
			}
		}
	}
	// with it cut in, the pipe must follow the equalising reservoir
	if g, ok := j.t.Gauge(StepSecond, j.lead, "brake-pipe"); ok {
		feed, _ := j.t.Gauge(StepCharge, j.lead, "brake-pipe")
		if want := feed - j.r.V("full-reduction"); want > 0 && g > want+j.limit("follows").High {
			rs = append(rs, Reason{Kind: "pipe does not follow", Vehicle: j.name(j.lead), Run: j.t.Procedure.Name, Step: StepSecond, Element: "brake-pipe", Value: g, Limit: want})
		}
	}
	j.add(Finding{Requirement: "one-controlling-cab", Stage: "charged", Status: status(rs), Reasons: rs, Rule: "common practice"})
}

func (j *judge) continuous() {
	var rs []Reason
	rear := j.limit("rear")
	for i := range j.c.Vehicles {
		g, ok := j.t.Gauge(StepCharge, i, "brake-pipe")
		if !ok {
			continue
		}
		if g < rear.Low {
			rs = append(rs, Reason{Kind: "not charged", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepCharge, Element: "brake-pipe", Value: g, Limit: rear.Low})
			continue
		}
		lead, _ := j.t.Gauge(StepService, j.lead, "brake-pipe")
		if g2, _ := j.t.Gauge(StepService, i, "brake-pipe"); g2 > lead+j.limit("follows").High {
			rs = append(rs, Reason{Kind: "pipe does not follow", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepService, Element: "brake-pipe", Value: g2, Limit: lead})
		}
	}
	j.add(Finding{Requirement: "brake-pipe-continuous", Stage: "charged", Status: status(rs), Reasons: rs, Rule: rear.Cite()})
}

func (j *judge) automatic() {
	var rs []Reason
	min := j.limit("cylinder-minimum")
	off := j.limit("cylinder-released")
	for i := range j.c.Vehicles {
		for _, cy := range j.cylinders(i) {
			if g, ok := j.t.Gauge(StepService, i, cy); ok && g < min.Low {
				rs = append(rs, Reason{Kind: "does not apply", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepService, Element: cy, Value: g, Limit: min.Low})
			} else if g, ok := j.t.Gauge(StepMinimum, i, cy); ok && g < j.r.V("cylinder-rises") {
				rs = append(rs, Reason{Kind: "first reduction", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepMinimum, Element: cy, Value: g, Limit: j.r.V("cylinder-rises")})
			}
			if g, ok := j.t.Gauge(StepRelease, i, cy); ok && g > off.High {
				rs = append(rs, Reason{Kind: "does not release", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepRelease, Element: cy, Value: g, Limit: off.High})
			}
			if g, ok := j.t.Gauge(StepCharge, i, cy); ok && g > off.High {
				rs = append(rs, Reason{Kind: "on when charged", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepCharge, Element: cy, Value: g, Limit: off.High})
			}
		}
	}
	rs = append(rs, j.less(rs, StepService, StepSecond, StepEmergency)...)
	j.add(Finding{Requirement: "automatic", Stage: "tested", Status: status(rs), Reasons: rs, Rule: min.Cite()})
}

// less looks for cylinders that brake with clearly less than they do with every device as
// claimed; those that already fail are passed over.
func (j *judge) less(known []Reason, steps ...string) []Reason {
	if j.right == nil {
		return nil
	}
	share := j.limit("cylinder-share").Low
	var rs []Reason
	for i := range j.c.Vehicles {
		for _, cy := range j.cylinders(i) {
			if slices.ContainsFunc(known, func(r Reason) bool { return r.Vehicle == j.name(i) && r.Element == cy && r.Kind == "does not apply" }) {
				continue
			}
			for _, step := range steps {
				want, ok1 := j.right.Gauge(step, i, cy)
				g, ok2 := j.t.Gauge(step, i, cy)
				if ok1 && ok2 && g < share*want {
					rs = append(rs, Reason{Kind: "brakes less", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: step, Element: cy, Value: g, Limit: share * want})
					break
				}
			}
		}
	}
	return rs
}

func (j *judge) leakage() {
	a, ok1 := j.t.Gauge(StepCutOut, j.lead, "brake-pipe")
	b, ok2 := j.t.Gauge(StepLeak, j.lead, "brake-pipe")
	l, up := j.limit("leakage"), j.limit("rise")
	if !ok1 || !ok2 {
		j.add(Finding{Requirement: "leakage", Stage: "tested", Status: CannotSay})
		return
	}
	var rs []Reason
	if a-b > l.High {
		rs = append(rs, Reason{Kind: "leaks", Vehicle: j.name(j.lead), Run: j.t.Procedure.Name, Step: StepLeak, Element: "brake-pipe", Value: a - b, Limit: l.High})
	}
	if b-a > up.High {
		rs = append(rs, Reason{Kind: "rises", Vehicle: j.name(j.lead), Run: j.t.Procedure.Name, Step: StepLeak, Element: "brake-pipe", Value: b - a, Limit: up.High})
	}
	j.add(Finding{Requirement: "leakage", Stage: "tested", Status: status(rs), Reasons: rs, Rule: l.Cite()})
}

// worked are the units that the lead's locomotive brake is meant to work: the lead and
// those trailing.
func (j *judge) worked() []int {
	var out []int
	for i := range j.c.Vehicles {
		if meant(j.c, i) {
			out = append(out, i)
		}
	}
	return out
}

// meant reports whether the lead's locomotive brake is meant to work a vehicle.
func meant(c *consist.Consist, i int) bool {
	lead, _ := c.Lead()
	role := c.Vehicles[i].Role
	return i == lead || strings.HasPrefix(role, "trail") || role == "hauled dead, all pipes"
}

// absent files a requirement that rests on a control the lead has not: it does not apply
// where the record says that none is fitted, and cannot be said where the record is silent.
func (j *judge) absent(requirement, function string) bool {
	d, ok := j.c.Device(j.lead, function)
	switch {
	case !ok:
		j.add(Finding{Requirement: requirement, Stage: "tested", Status: CannotSay, Reasons: []Reason{{Kind: "record lacks", Vehicle: j.name(j.lead), Element: "a device of function " + function + ", or the word that none is fitted"}}})
	case d.Fitted == "no":
		j.add(Finding{Requirement: requirement, Stage: "tested", Status: NotApplies})
	default:
		return false
	}
	return true
}

func (j *judge) independent() {
	if j.absent("independent", "independent-handle") {
		return
	}
	var lost []Reason
	rs := j.unfit(j.lead, "independent-handle")
	full, off := j.limit("independent-full"), j.limit("cylinder-released")
	lo, hi := j.c.Reach(j.lead, "third-pipe")
	loss, accepted := j.r.Loss("independent")
	for i, v := range j.c.Vehicles {
		meant := meant(j.c, i)
		for _, cy := range j.cylinders(i) {
			g, ok := j.t.Gauge(StepIndependent, i, cy)
			if ok && meant && g < full.Low {
				why := Reason{Kind: "independent does not apply", Vehicle: v.Name(), Run: j.t.Procedure.Name, Step: StepIndependent, Element: cy, Value: g, Limit: full.Low}
				if accepted && (i < lo || i > hi) {
					why.Because, why.Restrict, why.CrewSees = j.whyNot(i, "third-pipe"), loss.Restriction, loss.CrewSees
					lost = append(lost, why)
				} else {
					rs = append(rs, why)
				}
			}
			if g, ok := j.t.Gauge(StepIndOff, i, cy); ok && meant && g > off.High {
				rs = append(rs, Reason{Kind: "independent does not release", Vehicle: v.Name(), Run: j.t.Procedure.Name, Step: StepIndOff, Element: cy, Value: g, Limit: off.High})
			}
		}
	}
	f := Finding{Requirement: "independent", Stage: "tested", Status: status(rs), Reasons: rs, Rule: full.Cite()}
	if len(rs) == 0 && len(lost) > 0 {
		f.Status, f.Reasons = Lost, lost
	}
	j.add(f)
}

// whyNot is the equipment that keeps a pipe from reaching a unit, "" when equipment does
// not explain it.
func (j *judge) whyNot(i int, pipe string) string {
	lo, hi := min(i, j.lead), max(i, j.lead)
	for k := lo; k < hi; k++ {
		for _, jp := range j.c.Joints[k].Pipes {
			if jp.Pipe == pipe && !jp.Coupled {
				return jp.Why
			}
		}
		found := false
		for _, jp := range j.c.Joints[k].Pipes {
			found = found || jp.Pipe == pipe
		}
		if !found {
			return "neither " + j.name(k) + " nor " + j.name(k+1) + " carries it here"
		}
	}
	return ""
}

func (j *judge) quickRelease() {
	if j.absent("quick-release", "quick-release") {
		return
	}
	off := j.limit("cylinder-released")
	rises := j.r.V("cylinder-rises")
	var lost []Reason
	rs := j.unfit(j.lead, "quick-release")
	loss, accepted := j.r.Loss("quick-release")
	for _, i := range j.worked() {
		for _, cy := range j.cylinders(i) {
			before, _ := j.t.Gauge(StepLeak, i, cy)
			g, ok := j.t.Gauge(StepLetGo, i, cy)
			if ok && g > off.High && before > off.High {
				why := Reason{Kind: "drags", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepLetGo, Element: cy, Value: g, Limit: off.High}
				because := j.whyNot(i, "fourth-pipe")
				if because == "" && j.c.Vehicles[j.lead].Variant == "copied" && j.c.Vehicles[i].Variant != "copy lead" {
					because = fmt.Sprintf("%s gives a copy, and the fourth pipe is not charged in copy", j.name(j.lead))
				}
				if accepted && because != "" && i != j.lead {
					why.Because, why.Restrict, why.CrewSees = because, loss.Restriction, loss.CrewSees
					lost = append(lost, why)
				} else {
					rs = append(rs, why)
				}
			}
			if g, ok := j.t.Gauge(StepSecond, i, cy); ok && g < rises && before > rises {
				rs = append(rs, Reason{Kind: "does not re-apply", Vehicle: j.name(i), Run: j.t.Procedure.Name, Step: StepSecond, Element: cy, Value: g, Limit: rises})
			}
		}
	}
	f := Finding{Requirement: "quick-release", Stage: "tested", Status: status(rs), Reasons: rs, Rule: j.limit("bail-hold").Cite()}
	if len(rs) == 0 && len(lost) > 0 {
		f.Status, f.Reasons = Lost, lost
	}
	j.add(f)
}

func (j *judge) dead() {
	var rs []Reason
	any := false
	lo, hi := j.limit("dead-charged"), j.limit("dead-cylinder")
	for i, v := range j.c.Vehicles {
		if !strings.HasPrefix(v.Role, "hauled dead") {
			continue
		}
		any = true
		if s := trial.Supply(v.Class); s != "" {
			if g, ok := j.t.Gauge(StepCharge, i, s); ok && g < lo.Low {
				rs = append(rs, Reason{Kind: "dead not charged", Vehicle: v.Name(), Run: j.t.Procedure.Name, Step: StepCharge, Element: s, Value: g, Limit: lo.Low})
			}
		}
		if v.Role != "hauled dead" {
			continue
		}
		for _, cy := range j.cylinders(i) {
			for _, step := range []string{StepSecond, StepEmergency} {
				if g, ok := j.t.Gauge(step, i, cy); ok && g > hi.High {
					rs = append(rs, Reason{Kind: "dead too hard", Vehicle: v.Name(), Run: j.t.Procedure.Name, Step: step, Element: cy, Value: g, Limit: hi.High})
				}
			}
		}
	}
	f := Finding{Requirement: "dead-unit", Stage: "tested", Status: status(rs), Reasons: rs, Rule: hi.Cite()}
	if !any {
		f.Status = NotApplies
	}
	j.add(f)
}

// freeAir is the density of the air of 15 °C at sea level, kg/m³, in which flows of free
// air are stated (the standard atmosphere).
const freeAir = 1.225

// tight looks for air going where it should not once the train is charged and nothing
// moves: hoses, dummies, exhausts, vents. The records' own leaks are no openings.
func (j *judge) tight() {
	var rs []Reason
	heard := j.limit("blow").High * freeAir
	for _, step := range []string{StepCharge, StepIndependent, StepLeak, StepBail} {
		m, ok := j.t.At(step)
		if !ok {
			continue
		}
		for i, v := range j.c.Vehicles {
			check := func(element string, devices []string) {
				for _, ed := range j.t.Plant.Edges(i, element) {
					_, to := j.t.Plant.Net.Ends(ed)
					if to == 0 && m.Run.Flow(ed) > heard {
						rs = append(rs, Reason{Kind: "blows", Vehicle: v.Name(), Run: j.t.Procedure.Name, Step: step, Element: element, Devices: devices, Value: m.Run.Flow(ed)})
					}
				}
			}
			// a bail-off is a blow; what stands open at a headstock shows in it all the same
			for _, e := range v.Class.Air {
				if e.Kind != "leak" && e.Kind != "safety-valve" && step != StepBail {
					check(e.ID, deviceOf(e))
				}
			}
			for _, end := range v.Class.Ends {
				for _, pe := range end.Pipes {
					check(pe.Hose, []string{pe.Hose, pe.Cock})
				}
			}
		}
	}
	j.add(Finding{Requirement: "nothing-open", Stage: "charged", Status: status(rs), Reasons: rs, Rule: "common practice"})
}

func (j *judge) rated() {
	var rs, lacks []Reason
	for i, v := range j.c.Vehicles {
		stated := !v.Locomotive() // a wagon's reservoirs see no more than its brake pipe
		for _, e := range v.Class.Air {
			for _, a := range e.Args {
				if a.Name != "rated" || a.Figure == nil {
					continue
				}
				stated = true
				for _, step := range []string{StepCharge, StepRelease, StepRecover} {
					if g, ok := j.t.Gauge(step, i, e.ID); ok && g > a.Figure.SI {
						rs = append(rs, Reason{Kind: "over rating", Vehicle: v.Name(), Run: j.t.Procedure.Name, Step: step, Element: e.ID, Value: g, Limit: a.Figure.SI})
					}
				}
			}
		}
		if !stated {
			lacks = append(lacks, Reason{Kind: "record lacks", Vehicle: v.Name(), Element: "the rating of its reservoirs"})
		}
	}
	f := Finding{Requirement: "rating", Stage: "charged", Status: status(rs), Reasons: rs, Rule: "the record's rating"}
	if len(rs) == 0 && len(lacks) > 0 {
		f.Status, f.Reasons = CannotSay, lacks
	}
	j.add(f)
}

func (j *judge) handBrakes() {
	var rs, lacks []Reason
	for i, v := range j.c.Vehicles {
		if v.Locomotive() && len(v.Class.DevicesOf("hand-brake")) == 0 {
			lacks = append(lacks, Reason{Kind: "record lacks", Vehicle: v.Name(), Element: "its hand brake, or the word that none is fitted"})
		}
		for _, d := range v.Class.Devices {
			p, _ := j.c.Position(i, d.ID)
			if d.Function == "wheel-chock" && p == "placed" {
				rs = append(rs, Reason{Kind: "chock", Vehicle: v.Name(), Devices: []string{d.ID + "=" + p}})
			}
			if d.Function != "hand-brake" || len(d.Positions) == 0 {
				continue
			}
			if p != "off" {
				rs = append(rs, Reason{Kind: "hand brake", Vehicle: v.Name(), Devices: []string{d.ID + "=" + p}})
			}
		}
	}
	f := Finding{Requirement: "hand-brakes", Stage: "ready", Status: status(rs), Reasons: rs, Rule: "common practice"}
	if len(rs) == 0 && len(lacks) > 0 {
		f.Status, f.Reasons = CannotSay, lacks
	}
	j.add(f)
}

// sealed looks whether every device that must not be moved stands at its place: what it
// guards may not show in any run of today.
func (j *judge) sealed() {
	var rs []Reason
	for i, v := range j.c.Vehicles {
		for _, d := range v.Class.Devices {
			if p, ok := j.c.Position(i, d.ID); d.MustNotMove && ok && p != d.Normal {
				rs = append(rs, Reason{Kind: "moved", Vehicle: v.Name(), Element: d.Name, Devices: []string{d.ID + "=" + p}, Because: d.Normal})
			}
		}
	}
	j.add(Finding{Requirement: "sealed", Stage: "secured", Status: status(rs), Reasons: rs, Rule: "the record"})
}

// deviceOf are the devices that an element's conditions and settings name.
func deviceOf(e interface{ Devices() []string }) []string { return e.Devices() }

// trace finds, by running without each change in turn, which moved devices a broken
// requirement is owed to. What is broken with one moved device needs no run: it is named.
func (j *judge) trace(cond trial.Conditions) error {
	if len(j.c.Changed) == 1 {
		ch := j.c.Changed[0]
		j.owe(fmt.Sprintf("%s.%s=%s", j.name(ch.Vehicle), ch.Device, ch.Position), func(string) bool { return true })
		return nil
	}
	base, err := j.c.Claimed()
	if err != nil {
		return err
	}
	for k, ch := range j.c.Changed {
		var rest []consist.Change
		rest = append(append(rest, j.c.Changed[:k]...), j.c.Changed[k+1:]...)
		without, err := base.With(rest...)
		if err != nil {
			return err
		}
		p, err := prove(without, j.r, cond, nil, false)
		if err != nil {
			return err
		}
		j.proof.Runs += p.Runs
		j.owe(fmt.Sprintf("%s.%s=%s", j.name(ch.Vehicle), ch.Device, ch.Position), func(requirement string) bool {
			g, ok := p.Finding(requirement)
			return ok && g.Status != Broken
		})
	}
	return nil
}

// owe names a device in the reasons of each broken requirement that is owed to it.
func (j *judge) owe(name string, owed func(requirement string) bool) {
	for i := range j.proof.Findings {
		f := &j.proof.Findings[i]
		if f.Status != Broken || !owed(f.Requirement) {
			continue
		}
		for r := range f.Reasons {
			f.Reasons[r].Devices = appendNew(f.Reasons[r].Devices, name)
		}
	}
}

func appendNew(list []string, s string) []string {
	for _, x := range list {
		if x == s {
			return list
		}
	}
	return append(list, s)
}
