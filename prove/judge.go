package prove

import (
	"fmt"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// Entered is one reading as somebody entered it.
type Entered struct {
	Line   int    `json:"line"`
	Step   string `json:"step"`
	Unit   string `json:"unit"`
	Device string `json:"device"` // as consist.Named takes it
	Value  string `json:"value"`  // a quantity, or in / out for a piston, blows / quiet for an exhaust
}

// Judgement words.
const (
	AsExpected = "as expected"
	Unusual    = "unusual, look"
	Outside    = "outside allowed"
	NoBand     = "cannot say"
)

// Judged is one entered reading held against what the run expects and the rules allow.
type Judged struct {
	Entered
	ID       string          `json:"id"` // of the device
	Name     string          `json:"name"`
	Status   string          `json:"status"`
	Expected quantity.Range  `json:"expected"` // SI; gauge pascals or metres
	Allowed  *quantity.Range `json:"allowed,omitempty"`
	Says     string          `json:"says,omitempty"` // for in/out and blows
	Value    float64         `json:"si"`             // SI; gauge pascals, 0 for a piston or an exhaust
	Kind     string          `json:"kind"`
	Rule     string          `json:"rule,omitempty"`
	vehicle  int
}

// Tolerance is the half-width of the expected band of a gauge: its error or its
// graduation, whichever is the wider; a gauge with neither is read to 10 kPa (common
// practice).
func Tolerance(d *fleet.Device) float64 {
	tol := 10e3
	if d.Error != nil {
		tol = d.Error.SI
	}
	if d.Graduation != nil && d.Graduation.SI > tol {
		tol = d.Graduation.SI
	}
	return tol
}

// Expected is the band in which a gauge is expected at a step, Pa gauge: what the run
// shows, wider by the gauge's tolerance on both sides. Where a compressor comes and goes
// the moment of reading is chance, so a main reservoir gauge may show whatever it shows at
// any step of the test.
func Expected(t *trial.Result, d *fleet.Device, rd trial.Reading) quantity.Range {
	return wider(shown(t, d, rd), d)
}

// shown is what a device shows at a step of one run, without the gauge's tolerance.
func shown(t *trial.Result, d *fleet.Device, rd trial.Reading) quantity.Range {
	b := quantity.Range{Low: rd.Value, High: rd.Value}
	if byChance(d) {
		for _, x := range t.Readings {
			if x.Vehicle == rd.Vehicle && x.Device == rd.Device {
				b.Low, b.High = min(b.Low, x.Value), max(b.High, x.Value)
			}
		}
	}
	return b
}

// byChance reports whether what a gauge shows hangs on when a compressor last ran.
func byChance(d *fleet.Device) bool { return d.Function == "main-reservoir-gauge" }

func wider(b quantity.Range, d *fleet.Device) quantity.Range {
	tol := Tolerance(d)
	return quantity.Range{Low: b.Low - tol, High: b.High + tol}
}

// Judge holds entered readings against a proof. An entry that names no step, unit or
// device of the test is an error with its line.
func Judge(p *Proof, r *rule.Rules, entries []Entered) ([]Judged, error) {
	if p.Test == nil {
		return nil, fmt.Errorf("there is no brake test to judge against: no unit leads")
	}
	if len(entries) == 0 {
		return nil, fmt.Errorf("there is no reading in it; expected one row for each reading, below step,unit,device,value")
	}
	c := p.Test.Consist
	var steps []string
	for _, s := range p.Test.Procedure.Steps {
		if s.Read {
			steps = append(steps, s.ID)
		}
	}
	var out []Judged
	for _, e := range entries {
		found := false
		for _, s := range steps {
			found = found || s == e.Step
		}
		if !found {
			return nil, fmt.Errorf("line %d: no step %q in this test; expected one of %s%s", e.Line, e.Step, strings.Join(steps, ", "), reading.Hint(e.Step, steps))
		}
		i, err := c.Find(e.Unit)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", e.Line, err)
		}
		d, err := c.Named(i, e.Device)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", e.Line, err)
		}
		rd, ok := p.Test.Reading(e.Step, i, d.ID)
		if !ok {
			return nil, fmt.Errorf("line %d: %s of %s is not read in this test", e.Line, d.Name, e.Unit)
		}
		j := Judged{Entered: e, ID: d.ID, Name: d.Name, Kind: rd.Kind, vehicle: i}
		allowed, cite := p.Allowed(r, i, d, e.Step)
		j.Rule = cite
		switch rd.Kind {
		case "gauge":
			v, err := quantity.Parse(e.Value)
			if err != nil || v.Kind != quantity.Pressure {
				return nil, fmt.Errorf("line %d: expected a pressure such as \"350 kPa\", found %q", e.Line, e.Value)
			}
			j.Value = v.SI
			j.Expected = p.Expected(d, rd)
			j.Allowed = allowed
			switch {
			case rd.Fitted != "":
				j.Status, j.Says = NoBand, rd.Fitted
			case allowed != nil && (v.SI < allowed.Low || v.SI > allowed.High):
				j.Status = Outside
			case v.SI < j.Expected.Low || v.SI > j.Expected.High:
				j.Status = Unusual
			default:
				j.Status = AsExpected
			}
		case "piston", "exhaust":
			words := [2]string{"in", "out"}
			if rd.Kind == "exhaust" {
				words = [2]string{"quiet", "blows"}
			}
			is := strings.ToLower(strings.TrimSpace(e.Value))
			if is != words[0] && is != words[1] {
				return nil, fmt.Errorf("line %d: expected %q or %q, found %q", e.Line, words[0], words[1], e.Value)
			}
			want := words[0]
			if Seen(rd) {
				want = words[1]
			}
			j.Says = want
			j.Status = AsExpected
			if x := p.Study.reading(rd); x != nil && x.Either {
				j.Says = words[0] + " or " + words[1]
			} else if is != want {
				j.Status = Unusual
			}
			if must := MustBe(rd.Kind, e.Step); must != "" && is != must {
				j.Status, j.Rule = Outside, limitOf(r, "cylinder-minimum").Cite()
			}
		}
		out = append(out, j)
	}
	timeLeak(c, r, out)
	return out, nil
}

// timeLeak judges the timed minute: what each brake pipe gauge of the lead shows at its end
// against what the same gauge showed at its beginning, whichever was written first.
func timeLeak(c *consist.Consist, r *rule.Rules, js []Judged) {
	l, up := limitOf(r, "leakage"), limitOf(r, "rise")
	for k := range js {
		end := &js[k]
		d, ok := c.Vehicles[end.vehicle].Class.Device(end.ID)
		if !ok || end.Step != StepLeak || end.vehicle != leadOf(c) || d.Function != "brake-pipe-gauge" || end.Status == NoBand {
			continue
		}
		for _, start := range js {
			if start.Step != StepCutOut || start.vehicle != end.vehicle || start.ID != end.ID {
				continue
			}
			limit := l
			if end.Value > start.Value {
				limit = up
			}
			end.Rule = limit.Cite()
			if start.Value-end.Value > l.High || end.Value-start.Value > up.High {
				end.Status = Outside
				end.Says = "change in the timed minute"
			}
		}
	}
}

func leadOf(c *consist.Consist) int { i, _ := c.Lead(); return i }

func limitOf(r *rule.Rules, id string) rule.Limit { l, _ := r.Limit(id); return l }

// MustBe is what the rules ask of a piston at a step, "in" or "out", "" where they ask
// nothing.
func MustBe(kind, step string) string {
	if kind != "piston" {
		return ""
	}
	switch step {
	case StepService, StepSecond, StepEmergency:
		return "out"
	case StepCharge, StepRelease, StepRecover:
		return "in"
	}
	return ""
}

// Unbounded is a pressure that stands for "no upper bound" in an allowed band, Pa; -1
// stands for no lower one.
const Unbounded = 1e7

// Allowed is what the rules allow a gauge of vehicle i to show at a step of the brake
// test, gauge pascals, with the rule's citation; nil where they say nothing, and where
// the proof accepts that the gauge shows a loss.
func (p *Proof) Allowed(r *rule.Rules, i int, d *fleet.Device, step string) (*quantity.Range, string) {
	c := p.Test.Consist
	lead := leadOf(c)
	band := func(id string) (*quantity.Range, string) {
		l, ok := r.Limit(id)
		if !ok {
			return nil, ""
		}
		b := quantity.Range{Low: -1, High: Unbounded}
		if l.HasLow {
			b.Low = l.Low
		}
		if l.HasHigh {
			b.High = l.High
		}
		return &b, l.Cite()
	}
	switch d.Function {
	case "brake-pipe-gauge":
		switch step {
		case StepCharge, StepRecover:
			if i == lead {
				return band("charged")
			}
			return band("rear")
		case StepEmergency:
			return band("emergency-empty")
		}
	case "main-reservoir-gauge":
		l, ok := r.Limit("main-reservoir")
		if !ok || i != lead || step != StepCharge {
			return nil, ""
		}
		feed, _ := p.Test.Gauge(StepCharge, lead, "brake-pipe")
		return &quantity.Range{Low: feed + l.Value(), High: Unbounded}, l.Cite()
	case "brake-cylinder-gauge":
		switch step {
		case StepCharge, StepRelease, StepIndOff:
			return band("cylinder-released")
		case StepService, StepSecond, StepEmergency:
			return band("cylinder-minimum")
		case StepMinimum:
			return band("cylinder-rises")
		case StepLetGo:
			if p.served(i, "quick-release") {
				return band("cylinder-released")
			}
		case StepIndependent:
			if p.served(i, "independent") {
				return band("independent-full")
			}
		}
	}
	return nil, ""
}

// served reports whether the lead's locomotive brake is meant to work a unit in a
// requirement, and the proof accepts no loss of it there.
func (p *Proof) served(i int, requirement string) bool {
	v := p.Test.Consist.Vehicles[i]
	f, ok := p.Finding(requirement)
	if !ok || f.Status == NotApplies || f.Status == CannotSay || !meant(p.Test.Consist, i) {
		return false
	}
	if f.Status == Lost {
		for _, r := range f.Reasons {
			if r.Vehicle == v.Name() {
				return false
			}
		}
	}
	return true
}
