package setup

import (
	"math"
	"slices"

	"headstock/consist"
	"headstock/fault"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

// Charge is what the brake pipe comes to when one device stands otherwise, or one part has
// failed, from the start.
type Charge struct {
	Change consist.Change `json:"-"`
	Unit   string         `json:"unit"`
	Device string         `json:"device"`
	ID     string         `json:"id"`
	Place  string         `json:"place"`
	Was    string         `json:"was"`
	To     string         `json:"to"`
	Keep   bool           `json:"must_not_be_moved,omitempty"`
	Failed string         `json:"failed,omitempty"` // what has happened to a part that failed; then Was and To are empty
	Pipe   float64        `json:"pipe"`             // Pa gauge at the lead when the wait for the charge is over
}

// Charges are the wrong settings and failed parts that keep a train from charging.
type Charges struct {
	Right float64  `json:"right"`           // Pa gauge at the lead, with every device as it stands
	Took  float64  `json:"took"`            // s until the last vehicle was charged and the pipe at rest
	Late  bool     `json:"late,omitempty"`  // it never was
	Low   []Charge `json:"low,omitempty"`   // those that keep the lead's pipe below the limit, the lowest first
	Limit float64  `json:"limit"`           // Pa gauge, the lowest that the rules allow
	Tried int      `json:"tried"`           // wrong settings tried, one at a time
	Alike int      `json:"alike,omitempty"` // of them those that leave the air network as it was and were not run
	Parts int      `json:"parts"`           // failures of parts tried, one at a time
	Runs  int      `json:"runs"`
}

// Charging charges a consist from empty once as it stands and once with each single wrong
// setting of each device of each unit that makes another air network, and once with each
// failure of each part. It runs the charge and nothing after it; Effect tells what else a
// setting does.
func Charging(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Charges, error) {
	bench, err := trial.NewBench(c, cond)
	if err != nil {
		return nil, err
	}
	p, err := prove.Procedure(c, r, "charge")
	if err != nil {
		return nil, err
	}
	lead, _ := c.Lead()
	limit, _ := r.Limit("charged")
	out := &Charges{Limit: limit.Low}
	right, err := bench.Run(c, p, nil)
	if err != nil {
		return nil, err
	}
	out.Runs++
	out.Right, _ = right.Gauge(prove.StepCharge, lead, "brake-pipe")
	for _, m := range right.Marks {
		out.Took += m.Took
	}
	out.Late = len(right.Misses) > 0
	equal := bench.Plant.Settings(c)
	for _, s := range fault.Settings(c) {
		out.Tried++
		with, err := c.With(s.Change)
		if err != nil {
			return nil, err
		}
		if slices.Equal(bench.Plant.Settings(with), equal) {
			out.Alike++
			continue
		}
		x, err := bench.Run(with, p, nil)
		if err != nil {
			return nil, err
		}
		out.Runs++
		at, ok := x.Gauge(prove.StepCharge, lead, "brake-pipe")
		if !ok || at >= out.Limit {
			continue
		}
		v := c.Vehicles[s.Change.Vehicle]
		d, _ := v.Class.Device(s.Change.Device)
		out.Low = append(out.Low, Charge{s.Change, v.Name(), d.Name, d.ID, v.Class.PlaceName(d.Place), s.Claim, s.Change.Position, d.MustNotMove, "", max(at, 0)})
	}
	for _, f := range fault.Failures(c) {
		out.Parts++
		with, err := c.WithFailures(f.Failure)
		if err != nil {
			return nil, err
		}
		b, err := trial.NewBench(with, cond)
		if err != nil {
			return nil, err
		}
		x, err := b.Run(with, p, nil)
		if err != nil {
			return nil, err
		}
		out.Runs++
		at, ok := x.Gauge(prove.StepCharge, lead, "brake-pipe")
		if !ok || at >= out.Limit {
			continue
		}
		v := c.Vehicles[f.Vehicle]
		place := ""
		if d, ok := v.Class.Device(f.Part); ok {
			place = v.Class.PlaceName(d.Place)
		}
		out.Low = append(out.Low, Charge{Unit: v.Name(), Device: f.Item, ID: f.Part, Place: place, Failed: f.Says, Pipe: max(at, 0)})
	}
	slices.SortStableFunc(out.Low, func(a, b Charge) int {
		switch {
		case a.Pipe < b.Pipe:
			return -1
		case a.Pipe > b.Pipe:
			return 1
		}
		return 0
	})
	return out, nil
}

// Near splits the settings that keep the pipe low into those that leave it within a
// tolerance of a pressure seen, the nearest first, and the others. Pressures are Pa gauge.
func (x *Charges) Near(seen, tolerance float64) (near, others []Charge) {
	for _, l := range x.Low {
		if math.Abs(l.Pipe-seen) <= tolerance {
			near = append(near, l)
		} else {
			others = append(others, l)
		}
	}
	slices.SortStableFunc(near, func(a, b Charge) int {
		da, db := math.Abs(a.Pipe-seen), math.Abs(b.Pipe-seen)
		switch {
		case da < db:
			return -1
		case da > db:
			return 1
		}
		return 0
	})
	return near, others
}
