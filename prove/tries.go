package prove

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"headstock/consist"
	"headstock/trial"
)

// charged is the mark from which emergency and parting are tried: released and charged.
func (j *judge) charged() *trial.Mark {
	m, _ := j.t.At(StepIndOff)
	return m
}

func (j *judge) applied(res *trial.Result, step string, from, to int, run string) []Reason {
	var rs []Reason
	min := j.r.V("cylinder-minimum")
	for i := from; i <= to; i++ {
		for _, cy := range j.cylinders(i) {
			if g, ok := res.Gauge(step, i, cy); ok && g < min {
				rs = append(rs, Reason{Kind: "does not apply", Vehicle: j.name(i), Run: run, Step: step, Element: cy, Value: g, Limit: min})
			}
		}
	}
	return rs
}

func (j *judge) emergency() error {
	empty := j.limit("emergency-empty")
	check := func(res *trial.Result, step, run string) []Reason {
		var rs []Reason
		for i := range j.c.Vehicles {
			// the lead's valve must empty the pipe; a small valve elsewhere must apply the brake
			if g, ok := res.Gauge(step, i, "brake-pipe"); ok && g > empty.High && run == j.t.Procedure.Name {
				rs = append(rs, Reason{Kind: "pipe not empty", Vehicle: j.name(i), Run: run, Step: step, Element: "brake-pipe", Value: g, Limit: empty.High})
			}
		}
		return append(rs, j.applied(res, step, 0, len(j.c.Vehicles)-1, run)...)
	}
	rs := check(j.t, StepEmergency, j.t.Procedure.Name)
	var tries []try
	for _, place := range []string{"emergency-valve", "van-valve"} {
		for i, v := range j.c.Vehicles {
			for _, d := range v.Class.Devices {
				if _, ok := d.Position("open"); d.Function != place || !ok || !v.Unit.Carries(v.Class, d) {
					continue
				}
				if how, _ := v.Unit.Fitted(d); how != "yes" {
					// the lead's own and the van's are counted on; elsewhere it is one place less
					if i == j.lead || place == "van-valve" {
						rs = append(rs, j.unfit(i, place)...)
					}
					continue
				}
				run := fmt.Sprintf("emergency from %s, %s", v.Name(), d.Name)
				tries = append(tries, try{run, []trial.Step{{ID: StepEmergency, Do: []trial.Act{{Who: v.Name(), What: d.ID, To: "open"}}, For: j.r.V("emergency-wait"), Read: true}}, func(res *trial.Result) []Reason {
					return check(res, StepEmergency, run)
				}})
			}
		}
	}
	more, err := j.all(tries)
	if err != nil {
		return err
	}
	rs = append(rs, more...)
	j.add(Finding{Requirement: "emergency", Stage: "tested", Status: status(rs), Reasons: rs, Rule: empty.Cite()})
	return nil
}

// guards are the functions that watch the driver.
func guards() []string { return []string{"penalty-valve", "vigilance-device", "driver-pedal"} }

// penalty lets what watches the driver of the lead act, and looks whether it applies the
// brake of every vehicle. A class whose record says that none is fitted is not asked.
func (j *judge) penalty() error {
	v := j.c.Vehicles[j.lead]
	rs := j.unfit(j.lead, guards()...)
	var tries []try
	claimed, err := j.c.Claimed()
	if err != nil {
		return err
	}
	still := j.b.Plant.Settings(claimed)
	for _, d := range v.Class.Devices {
		if d.Cab != 0 && v.Cab != 0 && d.Cab != v.Cab || !v.Unit.Carries(v.Class, d) {
			continue
		}
		at, _ := j.c.Position(j.lead, d.ID)
		if d.Function == "vigilance-cut-out" && at != d.Normal {
			rs = append(rs, Reason{Kind: "moved", Vehicle: v.Name(), Element: d.Name, Devices: []string{d.ID + "=" + at}, Because: d.Normal})
		}
		if how, _ := v.Unit.Fitted(d); !slices.Contains(guards(), d.Function) || how != "yes" {
			continue
		}
		for _, p := range d.Positions {
			with, err := claimed.With(consist.Change{Vehicle: j.lead, Device: d.ID, Position: p.ID})
			if err != nil || slices.Equal(j.b.Plant.Settings(with), still) {
				continue // this position works nothing in the air
			}
			run := fmt.Sprintf("vigilance penalty of %s, %s %s", v.Name(), d.Name, p.ID)
			tries = append(tries, try{run, []trial.Step{{ID: StepEmergency, Do: []trial.Act{{Who: v.Name(), What: d.ID, To: p.ID}}, For: j.r.V("emergency-wait"), Read: true}}, func(res *trial.Result) []Reason {
				if len(j.applied(res, StepEmergency, 0, len(j.c.Vehicles)-1, run)) == 0 {
					return nil
				}
				return []Reason{{Kind: "no penalty", Vehicle: v.Name(), Run: run, Step: StepEmergency, Element: d.ID, Devices: []string{d.ID}}}
			}})
		}
	}
	more, err := j.all(tries)
	if err != nil {
		return err
	}
	rs = append(rs, more...)
	f := Finding{Requirement: "penalty", Stage: "tested", Status: status(rs), Reasons: rs, Rule: "common practice"}
	if len(tries) == 0 && len(rs) == 0 {
		f.Status = NotApplies
	}
	j.add(f)
	return nil
}

// assisting tries the controls of each unit that assists with its own driver: its
// independent, on its own cylinders.
func (j *judge) assisting() error {
	full := j.limit("independent-full")
	var tries []try
	var rs []Reason
	for i, v := range j.c.Vehicles {
		if v.Role != "assisting" {
			continue
		}
		if _, ok := j.c.Device(i, "independent-handle"); !ok {
			continue
		}
		rs = append(rs, j.unfit(i, "independent-handle", "emergency-valve")...)
		run := "independent of " + v.Name() + ", assisting"
		tries = append(tries, try{run, []trial.Step{{ID: StepIndependent, Do: []trial.Act{{Who: v.Name(), What: "independent-handle", To: "full"}}, For: j.r.V("independent-wait"), Read: true}}, func(res *trial.Result) []Reason {
			var out []Reason
			for _, cy := range j.cylinders(i) {
				if g, ok := res.Gauge(StepIndependent, i, cy); ok && g < full.Low {
					out = append(out, Reason{Kind: "independent does not apply", Vehicle: v.Name(), Run: run, Step: StepIndependent, Element: cy, Value: g, Limit: full.Low})
				}
			}
			return out
		}})
	}
	if len(tries) == 0 {
		return nil
	}
	more, err := j.all(tries)
	if err != nil {
		return err
	}
	rs = append(rs, more...)
	j.add(Finding{Requirement: "assisting", Stage: "tested", Status: status(rs), Reasons: rs, Rule: full.Cite()})
	return nil
}

// try is one run from the charged train and what is looked for at its end.
type try struct {
	name  string
	steps []trial.Step
	look  func(*trial.Result) []Reason
}

// all runs tries side by side, each a run of its own, and gives what was found in the
// order of the tries.
func (j *judge) all(tries []try) ([]Reason, error) {
	found := make([][]Reason, len(tries))
	failed := make([]error, len(tries))
	var next atomic.Int64
	var wait sync.WaitGroup
	side := runtime.GOMAXPROCS(0)
	if j.alone {
		side = 1
	}
	for range min(len(tries), side) {
		wait.Go(func() {
			for k := int(next.Add(1)) - 1; k < len(tries); k = int(next.Add(1)) - 1 {
				res, err := j.b.Run(j.charged().At, trial.Procedure{Name: tries[k].name, Steps: tries[k].steps}, j.charged())
				if err != nil {
					failed[k] = err
					return
				}
				found[k] = tries[k].look(res)
			}
		})
	}
	wait.Wait()
	var rs []Reason
	for k := range tries {
		if failed[k] != nil {
			return nil, failed[k]
		}
		j.proof.Runs++
		rs = append(rs, found[k]...)
	}
	return rs, nil
}

func (j *judge) parting() error {
	if len(j.c.Joints) == 0 {
		j.add(Finding{Requirement: "parting", Stage: "parted", Status: NotApplies})
		return nil
	}
	reserve := j.limit("parting-reserve")
	supply := trial.Supply(j.c.Vehicles[j.lead].Class)
	var tries []try
	for k := range j.c.Joints {
		run := fmt.Sprintf("parting between %s and %s", j.name(k), j.name(k+1))
		steps := []trial.Step{
			{ID: "parted", Do: []trial.Act{{Part: &k}}, For: j.r.V("parting-hold"), Read: true},
			{ID: "cocks shut", Do: j.shutCocks(k), For: j.r.V("parting-hold"), Read: true},
		}
		tries = append(tries, try{run, steps, func(res *trial.Result) []Reason {
			var rs []Reason
			for _, s := range steps {
				rs = append(rs, j.applied(res, s.ID, 0, len(j.c.Vehicles)-1, run)...)
			}
			if g, ok := res.Gauge("parted", j.lead, supply); ok && g < reserve.Low {
				rs = append(rs, Reason{Kind: "no reserve", Vehicle: j.name(j.lead), Run: run, Step: "parted", Element: supply, Value: g, Limit: reserve.Low})
			}
			return rs
		}})
	}
	rs, err := j.all(tries)
	if err != nil {
		return err
	}
	j.add(Finding{Requirement: "parting", Stage: "parted", Status: status(rs), Reasons: rs, Rule: reserve.Cite()})
	return nil
}

// shutCocks shuts every end cock at the two headstocks of a joint.
func (j *judge) shutCocks(k int) []trial.Act {
	var out []trial.Act
	for side := range 2 {
		i, end := j.c.Side(k, side)
		v := j.c.Vehicles[i]
		for _, pe := range v.Class.Ends[end-1].Pipes {
			if d, ok := v.Class.Device(pe.Cock); ok && v.Unit.Carries(v.Class, d) {
				out = append(out, trial.Act{Who: v.Name(), What: pe.Cock, To: "closed"})
			}
		}
	}
	return out
}
