package setup

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/fault"
	"headstock/prove"
	"headstock/trial"
)

// Case is one cause that came about at one time, before anything is run. Cases of one
// group and time are one run; "" is the consist as it stands, which needs none.
type Case struct {
	Cause Cause
	When  string
	Group string
}

// Cases are every wrong setting of the base's consist, set up wrong and moved since, and as
// asked every part that can fail, in the order of a search and with its groups.
func (b *Base) Cases(failures bool) []Case {
	c := b.c
	if b.plant == nil {
		return nil
	}
	red := b.plant.NewReducer(c, func(vehicle int, device string) bool { return prove.Worked(c, vehicle, device) })
	network := func(of *consist.Consist) string {
		atoms := red.Atoms(of)
		var sb strings.Builder
		for k, counts := range red.Counts(atoms) {
			if counts {
				fmt.Fprintf(&sb, "%d:%q,", k, atoms[k])
			}
		}
		return sb.String()
	}
	known := map[string]string{network(c): ""}
	var out []Case
	for _, x := range fault.Settings(c) {
		with, err := c.With(x.Change)
		if err != nil {
			continue // its own positions are never refused
		}
		net := network(with)
		key := fault.Key(c, x.Change)
		g, ok := known[net]
		if !ok {
			g = key
			known[net] = g
		}
		v := c.Vehicles[x.Change.Vehicle]
		d, _ := v.Class.Device(x.Change.Device)
		cause := Cause{Key: key, Kind: SettingCause, Says: fmt.Sprintf("%s of %s stands %s instead of %s", d.Name, v.Name(), x.Change.Position, x.Claim), Settings: []consist.Change{x.Change}}
		times := []string{SetWrong}
		if g != "" {
			times = append(times, MovedSince, MovedApplied)
		}
		for _, when := range times {
			out = append(out, Case{cause, when, g})
		}
	}
	if !failures {
		return out
	}
	for _, f := range fault.Failures(c) {
		g := f.Key
		if counts, err := red.Fails(c, f.Failure, nil); err != nil || !counts {
			g = ""
		}
		out = append(out, Case{Cause{Key: f.Key, Kind: FailureCause, Says: fmt.Sprintf("%s of %s %s", f.Item, c.Vehicles[f.Vehicle].Name(), f.Says), Failure: &f}, FailedSince, g})
	}
	return out
}

// Play runs the prescribed test with a cause as far as a step, "" for all of it, and then
// the steps given. Its readings are those of the test as far as it went, with the right
// ones before the cause came about, and of the further steps. It judges nothing. An error
// is a step that the test has not, or a run that could not be made.
func (b *Base) Play(cause Cause, when, until string, then ...trial.Step) (*trial.Result, *trial.Bench, error) {
	c := b.c
	after := map[string]string{MovedSince: prove.StepCharge, FailedSince: prove.StepCharge, MovedApplied: prove.StepService}[when]
	test := prove.StandingTest(c, b.r)
	upTo := func(step string) int {
		return slices.IndexFunc(test.Steps, func(s trial.Step) bool { return s.ID == step })
	}
	end := len(test.Steps)
	if until != "" {
		if end = upTo(until) + 1; end == 0 {
			return nil, nil, fmt.Errorf("the test has no step %q", until)
		}
	}
	var from *trial.Mark
	var before []trial.Reading
	bench := b.held.Bench()
	var err error
	first := 0
	if after != "" {
		k := upTo(after)
		if k >= end { // it came about later: as the consist stands
			cause, after = Cause{}, ""
		} else {
			m, ok := b.proof.Test.At(after)
			if !ok {
				return nil, nil, fmt.Errorf("the test has no step %q", after)
			}
			from, c, first = m, m.At, k+1
			for _, rd := range b.proof.Test.Readings {
				if upTo(rd.Step) <= k {
					before = append(before, rd)
				}
			}
		}
	}
	var steps []trial.Step
	if after != "" {
		s := trial.Step{ID: prove.StepMoved, For: b.r.V("settle")}
		for _, ch := range cause.Settings {
			s.Do = append(s.Do, trial.Act{Who: c.Vehicles[ch.Vehicle].Name(), What: ch.Device, To: ch.Position})
		}
		steps = append(steps, s)
	} else if len(cause.Settings) > 0 {
		if c, err = c.With(cause.Settings...); err != nil {
			return nil, nil, err
		}
	}
	if cause.Failure != nil {
		if c, err = c.WithFailures(cause.Failure.Failure); err != nil {
			return nil, nil, err
		}
		if bench, err = trial.NewBench(c, b.cond); err != nil {
			return nil, nil, err
		}
	}
	test.Steps = append(append(steps, test.Steps[first:end]...), then...)
	res, err := bench.Run(c, test, from)
	if err != nil {
		return nil, nil, err
	}
	if len(before) > 0 {
		whole := *res
		whole.Readings = append(before, res.Readings...)
		res = &whole
	}
	return res, bench, nil
}

// Consist is the one that was proved.
func (b *Base) Consist() *consist.Consist { return b.c }

// Held is what the base rests on.
func (b *Base) Held() *prove.Held { return b.held }

// Round is how long it takes from the driver's seat to a place of a vehicle and back, s;
// else what is missing.
func (b *Base) Round(vehicle int, placeID string) (float64, string) { return b.walk(vehicle, placeID) }

// Reachable says whether a place may be gone to while the train stands coupled with its
// engines running: not between vehicles, not beneath one, not on a roof.
func (b *Base) Reachable(vehicle int, placeID string) bool { return b.reach(vehicle, placeID) }

// PlaceID is the place of what is looked at.
func (l *Look) PlaceID() string { return l.place }

// ByChance reports whether what it shows hangs on when a compressor last ran.
func (l *Look) ByChance() bool { return byCompressor(l) }

// Right is what it shows as the consist stands.
func (l *Look) Right() trial.Reading { return l.right }

// Shows reports whether what a person read, a value in SI or out, could be what a device
// shows in a run, of which all readings are given; a gauge with
// its tolerance and the spreads that were studied.
func (b *Base) Shows(l *Look, all []trial.Reading, rd trial.Reading, value float64, out bool) bool {
	x := b.proof.Spread(l.right)
	switch l.Kind {
	case "gauge":
		band := b.Band(l, all, rd)
		return value >= band.Low && value <= band.High
	case "piston":
		return rd.Out == out || x != nil && x.Either
	}
	// a blow too short to be told from none may be called either
	short := rd.Value > 0 && rd.Value < shortBlow && !rd.Out
	return prove.Seen(rd) == out || short || x != nil && x.Either
}
