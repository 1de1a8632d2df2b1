package haul

import (
	"fmt"
	"math"
	"slices"

	"headstock/consist"
	"headstock/motion"
	"headstock/rule"
	"headstock/trial"
)

// HoldAsk is a train to be left standing.
type HoldAsk struct {
	Falling float64  // slope; above 0 where it falls ahead of the train
	Rail    Rail     // what the braked wheels can hold on
	Not     []string // vehicles whose hand brake is known not to work, as spoken
	Wind    float64  // N beside the grade
	Air     bool     // follow the air left in the cylinders, too
	AirLeak float64  // Pa/s that a cylinder was measured to lose; 0: by the record alone
	Watch   float64  // s; 0: as the rules say
}

// Standing is a train that is held: what pulls it and what each hand brake is good for. It
// is all that the verdict hangs on.
type Standing struct {
	Mass    float64   // kg
	Falling float64   // slope, either way
	Wind    float64   // N
	Holds   []float64 // N of each hand brake that is on
}

// Pull is what the grade and the wind pull with, N. No rolling resistance is credited.
func (s Standing) Pull() float64 {
	return s.Mass*motion.Gravity*math.Abs(s.Falling) + s.Wind
}

// Force is what all hand brakes hold with, N.
func (s Standing) Force() float64 {
	f := 0.0
	for _, h := range s.Holds {
		f += h
	}
	return f
}

// Held says whether the hand brakes hold with a margin (1.25: a quarter more than the pull)
// and, with the best of them not effective, still hold at all.
func (s Standing) Held(margin float64) bool {
	best := 0.0
	for _, h := range s.Holds {
		best = math.Max(best, h)
	}
	return s.Force() >= margin*s.Pull() && s.Force()-best >= s.Pull()
}

// Needed is how many hand brakes of the same force hold so, each giving each N.
func (s Standing) Needed(each, margin float64) int {
	if each <= 0 {
		return 0
	}
	pull := s.Pull()
	if pull <= 0 {
		return 0
	}
	return int(math.Max(math.Ceil(margin*pull/each-1e-9), math.Ceil(pull/each-1e-9)+1))
}

// ChartMinimum is the number of hand brakes that a common chart for level ground asks of so
// many vehicles: one, and one more at 9, 19, 29 … of them (swd-handbook). It says nothing of
// a grade.
func ChartMinimum(vehicles int) int {
	if vehicles <= 0 {
		return 0
	}
	return (vehicles+1)/10 + 1
}

// HoldAnswer is what holds a train.
type HoldAnswer struct {
	Consist  string    `json:"consist"`
	Falling  float64   `json:"falling"` // slope, above 0 where it falls ahead
	Rail     Rail      `json:"rail"`
	Mass     float64   `json:"mass"`      // kg
	Pull     float64   `json:"pull"`      // N of grade and wind
	Margin   float64   `json:"margin"`    // 1.25: a quarter more
	Need     float64   `json:"need"`      // N with the margin
	RollsLow float64   `json:"rolls_low"` // N of rolling resistance by the low form
	Starts   float64   `json:"starts"`    // N of starting resistance for hauling; neither is counted on
	Hands    []HandOn  `json:"hand_brakes"`
	All      float64   `json:"all"`      // N of all that work
	Applied  float64   `json:"applied"`  // N of those to be put on
	Count    int       `json:"count"`    // how many are to be put on
	Held     bool      `json:"held"`     // with the margin, and with the best of them not effective
	OneOut   float64   `json:"one_out"`  // N with the best of those not effective
	Short    float64   `json:"short"`    // N that lack with all of them on; 0: none
	Steepest float64   `json:"steepest"` // slope on which all of them hold this train so
	Chart    int       `json:"chart"`    // what a common chart for level ground would ask
	Else     []string  `json:"else,omitempty"`
	Lacks    []string  `json:"lacks,omitempty"`
	Test     []string  `json:"test"`
	Air      *AirHold  `json:"air,omitempty"`
	Without  []HoldsIf `json:"sensitivities"`
	Assumes  []string  `json:"assumptions"`
	Seconds  float64   `json:"seconds"`             // of air that was run; 0: none
	AirModel string    `json:"air_model,omitempty"` // of the air that was run
}

// HoldsIf is how many hand brakes are needed with one thing otherwise; more than there are
// where Held is false.
type HoldsIf struct {
	What  string `json:"what"`
	Count int    `json:"count"`
	Held  bool   `json:"held"`
}

// HandOn is one hand brake.
type HandOn struct {
	Vehicle string  `json:"vehicle"`
	Index   int     `json:"index"`
	Device  string  `json:"device"`
	Name    string  `json:"name"`
	Holds   float64 `json:"holds"`   // N at the rail that it is good for
	Limited bool    `json:"limited"` // by what its wheels can hold on this rail
	Not     string  `json:"not,omitempty"`
	On      bool    `json:"on"` // to be put on
}

// AirHold is what the air in the cylinders holds, and for how long.
type AirHold struct {
	Holds   float64 `json:"holds"`   // N at first
	Ends    float64 `json:"ends"`    // N at the end of the watch
	Watch   float64 `json:"watch"`   // s followed
	Until   float64 `json:"until"`   // s until it no longer holds with the margin; 0: not within the watch, or never did
	Never   bool    `json:"never"`   // it does not hold from the first
	Counted float64 `json:"counted"` // s that may be counted on
	Lowest  string  `json:"lowest"`  // vehicle whose cylinder stands lowest at the end
	Fell    float64 `json:"fell"`    // Pa that it fell
}

// Hold says what holds a train that is left standing. The error is a grade steeper than
// 10 %, or, with air, a run that could not be made; what a record lacks stands in the
// answer.
func Hold(c *consist.Consist, r *rule.Rules, q HoldAsk, cond trial.Conditions) (*HoldAnswer, error) {
	if math.Abs(q.Falling) > 0.1 {
		return nil, fmt.Errorf("a grade of %.3g %%; expected at most 10 %%", q.Falling*100)
	}
	b, err := layOut(c, r)
	if err != nil {
		return nil, err
	}
	t := b.Train
	a := &HoldAnswer{Consist: c.String(), Falling: q.Falling, Rail: q.Rail, Mass: t.Mass, Chart: ChartMinimum(len(t.Vehicles)), Lacks: b.handLacks}
	if l, ok := r.Limit("hold-margin"); ok {
		a.Margin = l.Low
	}
	s := Standing{Mass: t.Mass, Falling: q.Falling, Wind: q.Wind}
	a.Pull = s.Pull()
	a.Need = a.Margin * a.Pull
	a.RollsLow = t.Resistance(false).At(0)
	for i := range t.Vehicles {
		a.Starts += t.Vehicles[i].Starting
	}
	not := map[int]bool{}
	for _, n := range q.Not {
		i, err := c.Find(n)
		if err != nil {
			return nil, err
		}
		not[i] = true
	}
	adhesion := q.Rail.adhesion(r)
	for _, h := range b.hands {
		v := &t.Vehicles[h.Vehicle]
		x := HandOn{Vehicle: v.Name(), Index: h.Vehicle, Device: h.Device, Name: h.Name, Holds: h.Brake.Holds()}
		if limit := adhesion * h.On * motion.Gravity; limit < x.Holds {
			x.Holds, x.Limited = limit, true
		}
		switch {
		case not[h.Vehicle]:
			x.Not = "said not to work"
		default:
			for _, d := range v.Unit.Defects {
				if d.Device == h.Device || d.Device == "" && d.Function == "hand-brake" {
					x.Not = "open defect: " + d.Text
				}
			}
		}
		a.Hands = append(a.Hands, x)
	}
	a.choose(s)
	a.Without = a.otherwise(s)
	a.Test = []string{
		"release the air brake of the whole train, and the locomotive's independent; a locomotive's own hand brake is off for the test, because it hides what the others do",
		"wait until no piston is out and no exhaust blows",
		"push gently down the grade and let go, then pull gently up it and let go; nothing may creep",
		"stand ten minutes with the slack settled, look again, and test again after anything is coupled or uncoupled",
		"never count air: what holds only while the cylinders are full is not secured",
	}
	a.Assumes = []string{
		"no rolling resistance is counted on, though it is shown; blocks at rest hold with a quarter of their force",
		fmt.Sprintf("braked wheels hold at most %.0f %% of the weight on them (%s rail)", 100*adhesion, q.Rail),
		"every hand brake that counts has been put on by a person's full pull and seen to press its blocks",
	}
	if q.Air {
		if a.Air, err = b.onAir(q, a, adhesion, cond); err != nil {
			return nil, err
		}
	}
	a.Seconds, a.AirModel = b.Seconds, b.AirModel
	return a, nil
}

// order are the working hand brakes as they are to be put on: the best first, and among
// equals from the lower end of the train.
func (a *HoldAnswer) order() []int {
	var out []int
	for i := range a.Hands {
		if a.Hands[i].Not == "" && a.Hands[i].Holds > 0 {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(x, y int) int {
		h, k := a.Hands[x], a.Hands[y]
		if math.Abs(h.Holds-k.Holds) > 1 {
			if h.Holds > k.Holds {
				return -1
			}
			return 1
		}
		if a.Falling >= 0 {
			return h.Index - k.Index
		}
		return k.Index - h.Index
	})
	return out
}

// choose says which hand brakes are put on.
func (a *HoldAnswer) choose(s Standing) {
	order := a.order()
	for _, i := range order {
		a.All += a.Hands[i].Holds
	}
	best := 0.0
	if a.Pull <= 0 {
		a.Held = true
	}
	for _, i := range order {
		if s.Held(a.Margin) && a.Pull > 0 || a.Pull <= 0 {
			break
		}
		a.Hands[i].On = true
		s.Holds = append(s.Holds, a.Hands[i].Holds)
		best = math.Max(best, a.Hands[i].Holds)
	}
	a.Count, a.Applied = len(s.Holds), s.Force()
	a.Held = a.Held || s.Held(a.Margin)
	a.OneOut = math.Max(0, a.Applied-best)
	all := Standing{}
	for _, i := range order {
		all.Holds = append(all.Holds, a.Hands[i].Holds)
	}
	if s.Mass > 0 && len(order) > 0 { // margin and the best one out, whichever bites
		top := a.Hands[order[0]].Holds
		a.Steepest = math.Max(0, math.Min(a.All/a.Margin, a.All-top)-s.Wind) / (s.Mass * motion.Gravity)
	}
	if a.Held {
		return
	}
	top := 0.0
	if len(order) > 0 {
		top = a.Hands[order[0]].Holds
	}
	a.Short = math.Max(a.Need-a.All, a.Pull-(a.All-top))
	a.Else = append(a.Else, fmt.Sprintf("scotches or chocks against the wheels at the lower end, good for at least %.0f kN, or catch points below", math.Ceil(a.Short/1000)))
	if len(order) > 0 {
		mid := a.Hands[order[len(order)/2]]
		more, brakes := int(math.Ceil(a.Short/mid.Holds)), "hand brakes"
		if more == 1 {
			brakes = "hand brake"
		}
		a.Else = append(a.Else, fmt.Sprintf("%d more %s like that of %s on vehicles that are held themselves", more, brakes, mid.Vehicle))
	}
	a.Else = append(a.Else, fmt.Sprintf("a manned locomotive on its own brake at the lower end, or the train divided and left where it is no steeper than 1 in %.0f", math.Ceil(1/math.Max(a.Steepest, 1e-4))))
}

// otherwise is the count with one thing otherwise.
func (a *HoldAnswer) otherwise(s Standing) []HoldsIf {
	try := func(what string, pull, each float64) HoldsIf {
		o := *a
		o.Hands = slices.Clone(a.Hands)
		for i := range o.Hands {
			o.Hands[i].On = false
			o.Hands[i].Holds *= each
		}
		o.All, o.Else = 0, nil
		z := s
		z.Holds = nil
		z.Mass *= pull
		o.Pull, o.Need = z.Pull(), o.Margin*z.Pull()
		o.Held = false
		o.choose(z)
		return HoldsIf{what, o.Count, o.Held}
	}
	return []HoldsIf{try("mass 10 % more", 1.1, 1), try("mass 20 % more", 1.2, 1), try("each hand brake gives 20 % less", 1, 0.8), try("each hand brake gives half", 1, 0.5)}
}

// onAir follows the air that is left in the cylinders after a full service application with
// the automatic valve cut out.
func (b *Brakes) onAir(q HoldAsk, a *HoldAnswer, adhesion float64, cond trial.Conditions) (*AirHold, error) {
	if err := b.charge(cond); err != nil {
		return nil, err
	}
	watch := q.Watch
	if watch <= 0 {
		watch = b.Rules.V("hold-watch")
	}
	_, res, err := b.Run(b.Train.Consist, []trial.Step{{ID: "applied", Do: []trial.Act{b.reduce(b.Rules.V("full-reduction"))}, For: b.Rules.V("settle")}}, 0, false)
	if err != nil {
		return nil, err
	}
	m, _ := res.At("applied")
	const every = 20.0
	groups, res, err := b.RunFrom(m.At, []trial.Step{{ID: "left", Do: []trial.Act{{Who: "lead", What: "automatic-cut-out", To: "out", IfFitted: true}}, For: watch}}, every, false, m)
	if err != nil {
		return nil, err
	}
	x := &AirHold{Watch: watch}
	force := func(t float64) float64 {
		sum := 0.0
		for i := range groups {
			g := &groups[i]
			p := math.Max(0, g.Pressure.At(t)-q.AirLeak*t)
			f := g.Blocks.Force(g.Cylinder, p) * g.Blocks.Material.AtRest()
			sum += math.Min(f, adhesion*g.On*motion.Gravity)
		}
		return sum
	}
	x.Holds, x.Ends = force(0), force(watch)
	x.Never = x.Holds < a.Need
	for t := every; t <= watch+1e-6 && !x.Never; t += every {
		if force(t) < a.Need {
			x.Until = t - every
			break
		}
	}
	low := math.Inf(1)
	for i := range groups {
		g := &groups[i]
		if p := g.Pressure.Last() - q.AirLeak*watch; p < low {
			low, x.Lowest = p, b.Train.Vehicles[g.Vehicle].Name()
			x.Fell = math.Max(0, g.Pressure.At(0)-math.Max(0, p))
		}
	}
	if limit := b.Rules.V("hold-air"); !x.Never {
		x.Counted = watch
		if x.Until > 0 {
			x.Counted = x.Until
		}
		if q.AirLeak == 0 {
			x.Counted = math.Min(x.Counted, limit)
		}
	}
	return x, nil
}
