package haul

import (
	"fmt"
	"math"

	"headstock/consist"
	"headstock/motion"
	"headstock/rule"
	"headstock/trial"
)

// RunInAsk is a brake application whose train forces are wanted.
type RunInAsk struct {
	Speed     float64 // m/s
	Falling   float64 // slope, above 0 where it falls ahead
	Emergency bool
	Rail      Rail
	Bunched   bool // the slack is in at the beginning; else it is stretched
}

// RunInAnswer is what comes of it.
type RunInAnswer struct {
	Consist   string     `json:"consist"`
	Speed     float64    `json:"speed"`   // m/s
	Falling   float64    `json:"falling"` // slope, above 0 where it falls
	Emergency bool       `json:"emergency"`
	Bunched   bool       `json:"bunched"`
	Rail      Rail       `json:"rail"`
	Joints    []RunJoint `json:"joints"`
	Push      int        `json:"push"`     // index of the joint that is pressed hardest
	Pull      int        `json:"pull"`     // that is pulled hardest
	Distance  float64    `json:"distance"` // m, that the first vehicle runs
	Time      float64    `json:"time"`     // s until all stand
	Stands    bool       `json:"stands"`
	Spread    float64    `json:"spread"` // m/s, the greatest difference between neighbours
	Drift     float64    `json:"drift"`  // part of the energy that the reckoning lost
	Others    []RunInIf  `json:"sensitivities"`
	Times     []float64  `json:"times"`  // s after the handle, of Front, Most and Speeds
	Front     []float64  `json:"front"`  // N in the joint that is pressed hardest, pull positive, by time
	Most      []float64  `json:"most"`   // N, the greatest push anywhere, by time
	Speeds    []float64  `json:"speeds"` // m/s of the first vehicle, by time
	Assumes   []string   `json:"assumptions"`
	Seconds   float64    `json:"seconds"`             // of air that was run
	AirModel  string     `json:"air_model,omitempty"` // of the air that was run
}

// RunJoint is the strain of one joint.
type RunJoint struct {
	Front  string  `json:"front"`
	Rear   string  `json:"rear"`
	Push   float64 `json:"push"`     // N
	PushAt float64 `json:"push_at"`  // s after the handle
	Pull   float64 `json:"pull"`     // N
	PullAt float64 `json:"pull_at"`  // s after the handle
	Buff   float64 `json:"buff"`     // N that the weaker may be pushed with; 0 not stated
	Draw   float64 `json:"drawgear"` // N that the weaker may be pulled with; 0 not stated
}

// RunInIf is the hardest push and pull with one thing otherwise.
type RunInIf struct {
	What string  `json:"what"`
	Push float64 `json:"push"` // N
	Pull float64 `json:"pull"` // N
}

// solidStop is the stiffness of a draft gear that has gone solid, and of one that turns
// about, N/m: up to 100 MN/m is reckoned with (from memory); half of that is taken.
const solidStop = 50e6

const runInStep = 1e-3 // s

// Couplings are the joints of the train for motion: both couplers' play, both draft gears
// behind each other, the force of the weaker. A *CannotSay names what a record lacks.
func (t *Train) Couplings() ([]motion.Coupling, error) {
	var out []motion.Coupling
	var needs []string
	for i := range t.Vehicles {
		k := t.Vehicles[i].Class.Running
		if k == nil || k.Slack == 0 || k.Travel == 0 || k.Gear == 0 || k.Returned == 0 {
			s := "slack and draft gear in the running of class " + t.Vehicles[i].Class.Name
			if len(needs) == 0 || needs[len(needs)-1] != s {
				needs = append(needs, s)
			}
		}
	}
	if len(needs) > 0 {
		return nil, &CannotSay{needs}
	}
	for i := 0; i+1 < len(t.Vehicles); i++ {
		a, b := t.Vehicles[i].Class.Running, t.Vehicles[i+1].Class.Running
		out = append(out, motion.Coupling{Slack: 2 * (a.Slack + b.Slack), Travel: a.Travel + b.Travel, Force: math.Min(a.Gear, b.Gear), Returned: (a.Returned + b.Returned) / 2, Solid: solidStop})
	}
	return out, nil
}

// RunIn says what forces a brake application makes between the vehicles, from the
// pressure in every cylinder as the run of this consist fills it. The error is a speed
// outside 0 to 216 km/h, a grade steeper than 10 %, a *CannotSay that names what the
// records lack, or a run that could not be made.
func RunIn(c *consist.Consist, r *rule.Rules, q RunInAsk, cond trial.Conditions) (*RunInAnswer, error) {
	if q.Speed <= 0 || q.Speed > 60 || math.Abs(q.Falling) > 0.1 {
		return nil, fmt.Errorf("a run-in from %.4g km/h on %.3g %%; expected a speed above 0 and up to 216 km/h, and at most 10 %%", q.Speed*3.6, q.Falling*100)
	}
	if len(c.Vehicles) < 2 {
		return nil, fmt.Errorf("a run-in needs two vehicles")
	}
	b, err := Charge(c, r, cond)
	if err != nil {
		return nil, err
	}
	t := b.Train
	if err := t.Needs("mass", "running", "rotating mass", "resistance for stopping"); err != nil {
		return nil, err
	}
	joints, err := t.Couplings()
	if err != nil {
		return nil, err
	}
	groups, err := b.applied(q.Emergency)
	if err != nil {
		return nil, err
	}
	run := func(joints []motion.Coupling, friction float64, bunched bool, every float64) (motion.Strained, error) {
		ch := motion.Chain{Joints: joints}
		for i := range t.Vehicles {
			ch.Mass = append(ch.Mass, t.Vehicles[i].Inertia())
		}
		x := motion.Trial{Speed: q.Speed, Until: after, Step: runInStep, Sample: every}
		for _, j := range joints {
			o := j.Slack / 2
			if bunched {
				o = -o
			}
			x.Opening = append(x.Opening, o)
		}
		// block forces on the grid of the samples, straight between
		n := int(after/sample) + 2
		pressed := make([][]float64, len(groups))
		for g := range groups {
			pressed[g] = make([]float64, n)
			for k := range n {
				pressed[g][k] = groups[g].Force(float64(k) * sample)
			}
		}
		adhesion := q.Rail.adhesion(r)
		x.Push = func(time float64, speed, _, out []float64) {
			for i := range out {
				v := &t.Vehicles[i]
				out[i] = v.Mass*motion.Gravity*q.Falling - v.Low.At(math.Abs(speed[i]))*ease(speed[i])
			}
			k := min(int(time/sample), n-2)
			part := time/sample - float64(k)
			for g := range groups {
				f := pressed[g][k] + (pressed[g][k+1]-pressed[g][k])*part
				if f == 0 {
					continue
				}
				i := groups[g].Vehicle
				held := friction * groups[g].Blocks.Retards(f, math.Abs(speed[i]))
				if most := adhesion * groups[g].On * motion.Gravity; adhesion > 0 && groups[g].On > 0 && held > most {
					held = most
				}
				out[i] -= held * ease(speed[i])
			}
		}
		return ch.Run(x)
	}
	s, err := run(joints, 1, q.Bunched, 0.1)
	if err != nil {
		return nil, err
	}
	a := &RunInAnswer{Consist: c.String(), Speed: q.Speed, Falling: q.Falling, Emergency: q.Emergency, Bunched: q.Bunched, Rail: q.Rail, Time: s.Rest, Stands: s.Rest < after, Spread: s.Spread, Drift: s.Drift, Times: s.Times, Speeds: s.Speeds}
	if n := len(s.Ways); n > 0 {
		a.Distance = s.Ways[n-1]
	}
	weaker := func(x, y float64) float64 {
		if x == 0 || y == 0 {
			return 0
		}
		return math.Min(x, y)
	}
	for j, st := range s.Joints {
		f, v := &t.Vehicles[j], &t.Vehicles[j+1]
		a.Joints = append(a.Joints, RunJoint{f.Name(), v.Name(), st.Push, st.PushAt, st.Pull, st.PullAt,
			weaker(f.Class.Running.Buff, v.Class.Running.Buff), weaker(f.Class.Running.Drawgear, v.Class.Running.Drawgear)})
		if st.Push > a.Joints[a.Push].Push {
			a.Push = j
		}
		if st.Pull > a.Joints[a.Pull].Pull {
			a.Pull = j
		}
	}
	for _, f := range s.Forces {
		a.Front = append(a.Front, f[a.Push])
		most := 0.0
		for _, x := range f {
			most = math.Max(most, -x)
		}
		a.Most = append(a.Most, most)
	}
	scaled := func(slack, gear float64) []motion.Coupling {
		out := make([]motion.Coupling, len(joints))
		for j, k := range joints {
			k.Slack *= slack
			k.Force *= gear
			out[j] = k
		}
		return out
	}
	other := "with the slack in at first"
	if q.Bunched {
		other = "with the train stretched at first"
	}
	for _, o := range []struct {
		what     string
		joints   []motion.Coupling
		friction float64
		bunched  bool
	}{{other, joints, 1, !q.Bunched}, {"half the slack", scaled(0.5, 1), 1, q.Bunched}, {"twice the slack", scaled(2, 1), 1, q.Bunched},
		{"draft gears half as strong", scaled(1, 0.5), 1, q.Bunched}, {"block friction 15 % higher", joints, 1.15, q.Bunched}} {
		s, err := run(o.joints, o.friction, o.bunched, 0)
		if err != nil {
			return nil, err
		}
		x := RunInIf{What: o.what}
		for _, st := range s.Joints {
			x.Push, x.Pull = math.Max(x.Push, st.Push), math.Max(x.Pull, st.Pull)
		}
		a.Others = append(a.Others, x)
	}
	a.Seconds, a.AirModel = b.Seconds, b.AirModel
	a.Assumes = []string{
		"cylinders fill as the run of this consist shows, every vehicle its own",
		"each vehicle is one mass on its couplings: free play, draft gear with friction, solid stop of 50 MN/m (from memory)",
		"no power is given, and running resistance is the low form of each record",
		"forces are rounded up to 10 kN; the spread of the lines below is how well they are known",
	}
	return a, nil
}

// ease lets a force that opposes motion fade to nothing at a stand, over 2 cm/s.
func ease(v float64) float64 { return math.Max(-1, math.Min(1, v/0.02)) }

// Broken lists the joints whose push or pull passes what the record allows, and says
// whether any limit is not stated.
func (a *RunInAnswer) Broken() (over []int, unstated bool) {
	for j, x := range a.Joints {
		unstated = unstated || x.Buff == 0 || x.Draw == 0
		if x.Buff > 0 && x.Push > x.Buff || x.Draw > 0 && x.Pull > x.Draw {
			over = append(over, j)
		}
	}
	return over, unstated
}
