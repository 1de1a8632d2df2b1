package prove

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/fleet"
	"headstock/rule"
	"headstock/trial"
)

// Held is a consist that has been proved as it stands, kept so that what is wrong in it
// can be held against it without running the right one again: the same plant, the same
// test, and the marks from which a run goes on where a device is moved or a part fails
// during the test. It is safe for use side by side.
type Held struct {
	c     *consist.Consist
	r     *rule.Rules
	cond  trial.Conditions
	bench *trial.Bench
	proof *Proof
	right *trial.Result // every device as claimed
	board *board
}

// Hold proves a consist as it stands and keeps what the proof rests on. The proof has no
// test where no unit leads or the record lacks something, and nothing can then be held
// against it. An error is a run that could not be made.
func Hold(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Held, error) {
	h := &Held{c: c, r: r, cond: cond}
	var err error
	if h.proof, err = Prove(c, r, cond); err != nil || h.proof.Test == nil {
		return h, err
	}
	if h.bench, err = trial.NewBench(c, cond); err != nil {
		return nil, err
	}
	h.right = h.proof.Test
	if len(c.Changed) > 0 || len(c.Failed) > 0 {
		claimed, err := c.Claimed()
		if err != nil {
			return nil, err
		}
		if h.right, err = trial.Run(claimed, StandingTest(claimed, r), cond); err != nil {
			return nil, err
		}
	}
	lead, _ := c.Lead()
	for _, v := range c.Vehicles {
		if joined(v) && (len(v.Class.PartsOf("trainline")) == 0 || loads(v.Class) == nil) {
			return h, nil // power is not examined
		}
	}
	h.board, err = newBoard(c, lead)
	return h, err
}

// Proof is the proof of the consist as it stands.
func (h *Held) Proof() *Proof { return h.proof }

// Bench is the plant of the consist.
func (h *Held) Bench() *trial.Bench { return h.bench }

func (h *Held) judge(c *consist.Consist, b *trial.Bench) *judge {
	j := &judge{c: c, r: h.r, b: b, right: h.right, proof: &Proof{Consist: c}, alone: true, board: h.board}
	j.lead, _ = c.Lead()
	return j
}

// Set proves the consist with devices moved, set up so from the empty train. What is
// broken is not traced to devices. An error is a run that could not be made.
func (h *Held) Set(changes ...consist.Change) (*Proof, error) {
	c, err := h.c.With(changes...)
	if err != nil {
		return nil, err
	}
	j := h.judge(c, h.bench)
	if j.t, err = h.bench.Run(c, StandingTest(c, h.r), nil); err != nil {
		return nil, err
	}
	return j.judged()
}

// Moved proves the consist with devices moved at one time during the brake test, after a
// step, as Moved does. An error is a step that the test has not, or a run that could not
// be made.
func (h *Held) Moved(after string, changes ...consist.Change) (*Proof, error) {
	s := trial.Step{ID: StepMoved, For: h.r.V("settle"), Read: true}
	for _, ch := range changes {
		s.Do = append(s.Do, trial.Act{Who: h.c.Vehicles[ch.Vehicle].Name(), What: ch.Device, To: ch.Position})
	}
	test := StandingTest(h.c, h.r)
	k := slices.IndexFunc(test.Steps, func(s trial.Step) bool { return s.ID == after })
	if k < 0 {
		return nil, fmt.Errorf("the brake test has no step %q", after)
	}
	test.Steps = slices.Insert(test.Steps, k+1, s)
	j := h.judge(h.c, h.bench)
	var err error
	if j.t, err = h.goOn(h.bench, nil, test, after); err != nil {
		return nil, err
	}
	return j.judged()
}

// Failed proves the consist with parts that fail after a step of the brake test, and are
// given as long as a move to show.
func (h *Held) Failed(after string, fs ...consist.Failure) (*Proof, error) {
	c, err := h.c.WithFailures(fs...)
	if err != nil {
		return nil, err
	}
	b, err := trial.NewBench(c, h.cond)
	if err != nil {
		return nil, err
	}
	test, err := h.waiting(c, after)
	if err != nil {
		return nil, err
	}
	j := h.judge(c, b)
	if j.t, err = h.goOn(b, fs, test, after); err != nil {
		return nil, err
	}
	return j.judged()
}

// Reached proves the consist as it stands with the wait that a failure is given to show, and
// says by node of its plant where the pressure was ever another than the atmosphere's after
// that step, in any run of the proof.
func (h *Held) Reached(after string) ([]bool, error) {
	b, reached := h.bench.Watching()
	test, err := h.waiting(h.c, after)
	if err != nil {
		return nil, err
	}
	j := h.judge(h.c, b)
	if j.t, err = h.goOn(b, nil, test, after); err != nil {
		return nil, err
	}
	_, err = j.judged()
	return reached, err
}

// waiting is the brake test with a wait after a step.
func (h *Held) waiting(c *consist.Consist, after string) (trial.Procedure, error) {
	test := StandingTest(c, h.r)
	k := slices.IndexFunc(test.Steps, func(s trial.Step) bool { return s.ID == after })
	if k < 0 {
		return test, fmt.Errorf("the brake test has no step %q", after)
	}
	test.Steps = slices.Insert(test.Steps, k+1, trial.Step{ID: StepMoved, For: h.r.V("settle"), Read: true})
	return test, nil
}

// goOn runs a test of which the steps up to one are those of the held test: it goes on from
// there. Where parts fail, b is the plant in which they have.
func (h *Held) goOn(b *trial.Bench, fs []consist.Failure, test trial.Procedure, after string) (*trial.Result, error) {
	t := h.proof.Test
	m, ok := t.At(after)
	if !ok {
		return nil, fmt.Errorf("the brake test has no step %q", after)
	}
	at := m.At
	if len(fs) > 0 {
		var err error
		if at, err = at.WithFailures(fs...); err != nil {
			return nil, err
		}
	}
	k := slices.IndexFunc(test.Steps, func(s trial.Step) bool { return s.ID == after })
	rest := test
	rest.Steps = test.Steps[k+1:]
	res, err := b.Run(at, rest, m)
	if err != nil {
		return nil, err
	}
	before := func(step string) bool {
		return slices.ContainsFunc(test.Steps[:k+1], func(s trial.Step) bool { return s.ID == step })
	}
	out := *res
	out.Procedure = test
	out.Readings, out.Misses, out.Marks = nil, nil, nil
	for _, x := range t.Readings {
		if before(x.Step) {
			out.Readings = append(out.Readings, x)
		}
	}
	for _, x := range t.Misses {
		if before(x.Step) {
			out.Misses = append(out.Misses, x)
		}
	}
	for _, x := range t.Marks {
		if !before(x.Step) {
			continue
		}
		if len(fs) > 0 { // as a run of the plant in which the part has failed, whose ways for air are more
			same, err := b.Run(at, trial.Procedure{Name: test.Name, Steps: []trial.Step{{ID: x.Step}}}, &x)
			if err != nil {
				return nil, err
			}
			x.Run = same.Marks[0].Run
		}
		out.Marks = append(out.Marks, x)
	}
	out.Readings = append(out.Readings, res.Readings...)
	out.Misses = append(out.Misses, res.Misses...)
	out.Marks = append(out.Marks, res.Marks...)
	out.Steps += m.Run.Steps()
	out.Seconds = out.Marks[len(out.Marks)-1].Time // as one run of both
	return &out, nil
}

func (j *judge) judged() (*Proof, error) {
	j.proof.Test = j.t
	j.proof.Runs++
	_, leads := j.c.Lead()
	if err := j.examine(leads); err != nil {
		return nil, err
	}
	j.proof.verdict()
	return j.proof, nil
}

// standing are the requirements that are judged by how devices stand, and by no run of air.
var standing = []string{"goes-together", "coupled", "hand-brakes", "sealed", "lights", "power-and-direction"}

// Standing reports whether a requirement is judged by how devices stand and by no run.
func Standing(requirement string) bool { return slices.Contains(standing, requirement) }

// Stand judges one standing requirement with devices moved. An error is a requirement
// that is judged by runs.
func (h *Held) Stand(requirement string, changes ...consist.Change) (Finding, error) {
	c, err := h.c.With(changes...)
	if err != nil {
		return Finding{}, err
	}
	j := h.judge(c, h.bench)
	switch requirement {
	case "goes-together":
		j.goTogether()
	case "coupled":
		j.coupled()
	case "hand-brakes":
		j.handBrakes()
	case "sealed":
		j.sealed()
	case "lights":
		j.lights()
	case "power-and-direction":
		if err := j.power(); err != nil {
			return Finding{}, err
		}
	default:
		return Finding{}, fmt.Errorf("%q is judged by runs", requirement)
	}
	return j.proof.Findings[0], nil
}

// Rests reports whether a standing requirement can hang on where a device stands.
func (h *Held) Rests(requirement string, vehicle int, device string) bool {
	v := h.c.Vehicles[vehicle]
	d, ok := v.Class.Device(device)
	if !ok {
		return false
	}
	switch requirement {
	case "goes-together":
		return len(d.GoesWith) > 0 || slices.ContainsFunc(v.Class.Devices, func(o *fleet.Device) bool { return slices.Contains(o.GoesWith, d.ID) })
	case "coupled":
		if d.Function == "coupler" || d.Function == "coupler-lock" || d.Function == "main-reservoir-pipe-isolating-cock" {
			return true
		}
		for _, end := range v.Class.Ends {
			for _, pe := range end.Pipes {
				if pe.Hose == device || pe.Cock == device {
					return true
				}
			}
		}
		return false
	case "hand-brakes":
		return d.Function == "hand-brake" || d.Function == "wheel-chock"
	case "sealed":
		return d.MustNotMove
	case "lights":
		return lightsRest(v, d)
	case "power-and-direction":
		if h.board == nil || h.board.wiring[vehicle] == nil {
			return false
		}
		for _, x := range h.board.wiring[vehicle].Devices {
			if x.Device.ID == device {
				return true
			}
		}
		return false
	}
	return true
}

// Worked reports whether any run by which a consist is judged moves a device, other than to
// try what comes of that device standing wrong.
func Worked(c *consist.Consist, vehicle int, device string) bool {
	v := c.Vehicles[vehicle]
	d, ok := v.Class.Device(device)
	if !ok {
		return false
	}
	// the driver's handles, and every place of emergency; what watches the driver
	if slices.Contains([]string{"automatic-handle", "automatic-cut-out", "independent-handle", "quick-release", "emergency-valve", "van-valve"}, d.Function) || slices.Contains(guards(), d.Function) {
		return true
	}
	// parting at a joint, and the cocks that are then shut
	for k := range c.Joints {
		for side := range 2 {
			i, end := c.Side(k, side)
			if i != vehicle {
				continue
			}
			for _, pe := range v.Class.Ends[end-1].Pipes {
				if pe.Hose == device || pe.Cock == device {
					return true
				}
			}
		}
	}
	return false
}
