package setup

import (
	"math"

	"headstock/fleet"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// Told is how plainly a reading tells that something is not as it should be.
type Told int

// From what nobody can tell to what a rule forbids.
const (
	NotTold Told = iota
	Unusual      // outside what is expected, whichever way the gauge errs
	ByRule       // outside what the rules allow, whichever way the gauge errs
)

// String is the word for it.
func (t Told) String() string { return [...]string{"not shown", "only unusual", "shown by rule"}[t] }

// Look is one reading of a test with the person who takes it.
type Look struct {
	Step    string `json:"step"`
	Vehicle int    `json:"vehicle"`
	Unit    string `json:"unit"`
	Device  string `json:"device"` // id
	Name    string `json:"name"`
	Place   string `json:"place"` // in words
	Kind    string `json:"kind"`  // gauge, piston, exhaust
	Asked   bool   `json:"asked"` // a rule bounds it: without it the test is not complete
	InCab   bool   `json:"in_driving_cab"`
	place   string // id
	dev     *fleet.Device
	right   trial.Reading
}

// Taken reports whether the test as prescribed takes this reading: a rule bounds it, or it
// lies before whoever drives.
func (l *Look) Taken() bool { return l.Asked || l.InCab }

// By is who sees it.
func (l *Look) By() string {
	switch {
	case l.InCab:
		return "the driver"
	case l.Asked:
		return "whoever walks the train"
	}
	return "nobody is asked to look"
}

// Looks are all readings of the prescribed test, in its order.
func (b *Base) Looks() []Look {
	if b.proof.Test == nil {
		return nil
	}
	type at struct {
		step, device string
		vehicle      int
	}
	asked := map[at]bool{}
	for _, rd := range b.proof.Bounded(b.r) {
		asked[at{rd.Step, rd.Device, rd.Vehicle}] = true
	}
	var out []Look
	for _, rd := range b.proof.Test.Readings {
		if rd.Fitted != "" {
			continue
		}
		if l, ok := b.look(rd); ok {
			l.Asked = asked[at{rd.Step, rd.Device, rd.Vehicle}]
			out = append(out, l)
		}
	}
	return out
}

func (b *Base) look(rd trial.Reading) (Look, bool) {
	v := b.c.Vehicles[rd.Vehicle]
	d, ok := v.Class.Device(rd.Device)
	if !ok {
		return Look{}, false
	}
	lead, _ := b.c.Lead()
	return Look{Step: rd.Step, Vehicle: rd.Vehicle, Unit: v.Name(), Device: d.ID, Name: d.Name, Place: v.Class.PlaceName(d.Place), Kind: rd.Kind,
		InCab: rd.Vehicle == lead && d.Cab != 0 && (v.Cab == 0 || d.Cab == v.Cab), place: d.Place, dev: d, right: rd}, true
}

// Band is within what a gauge shows one reading of a run, Pa gauge: the run's own figure
// with the gauge's tolerance on both sides, and where the spreads of the records were
// studied, as much more as the right reading has. A gauge that hangs on when a compressor
// ran may show anything that it showed in the run.
func (b *Base) Band(l *Look, all []trial.Reading, rd trial.Reading) quantity.Range {
	own := quantity.Range{Low: rd.Value, High: rd.Value}
	if l.dev.Function == "main-reservoir-gauge" {
		for _, x := range all {
			if x.Vehicle == rd.Vehicle && x.Device == rd.Device {
				own.Low, own.High = min(own.Low, x.Value), max(own.High, x.Value)
			}
		}
	}
	tol := prove.Tolerance(l.dev)
	own.Low, own.High = own.Low-tol, own.High+tol
	if x := b.proof.Spread(l.right); x != nil && !x.Chance {
		own.Low, own.High = own.Low-(x.Nominal-x.Over.Low), own.High+(x.Over.High-x.Nominal)
	}
	return own
}

// told is how a reading of a run tells, and which way: −1 less than right, 1 more. By how
// much it differs from the right one, as a share of what could be told, is the last.
func (b *Base) told(l *Look, all []trial.Reading, rd trial.Reading) (Told, int, float64) {
	side := 0
	switch {
	case rd.Value < l.right.Value:
		side = -1
	case rd.Value > l.right.Value:
		side = 1
	}
	either := false
	if x := b.proof.Spread(l.right); x != nil {
		either = x.Either
	}
	switch l.Kind {
	case "gauge":
		is := b.Band(l, all, rd)
		want := b.proof.Expected(l.dev, l.right)
		tol := prove.Tolerance(l.dev)
		share := math.Abs(rd.Value-l.right.Value) / (2 * tol)
		if l.dev.Function == "main-reservoir-gauge" && is.Low <= want.High && is.High >= want.Low {
			share = 0
		}
		if a, _ := b.proof.Allowed(b.r, l.Vehicle, l.dev, l.Step); l.Asked && a != nil && (is.High < a.Low || is.Low > a.High) {
			return ByRule, side, share
		}
		if is.High < want.Low || is.Low > want.High {
			return Unusual, side, share
		}
		return NotTold, 0, share
	case "piston":
		share := math.Abs(rd.Value-l.right.Value) / 0.05
		if rd.Out == l.right.Out {
			return NotTold, 0, min(share, 1)
		}
		if side = -1; rd.Out {
			side = 1
		}
		if must := prove.MustBe("piston", l.Step); l.Asked && must != "" && (must == "out") != rd.Out {
			return ByRule, side, 1
		}
		if either {
			return NotTold, 0, 1
		}
		return Unusual, side, 1
	case "exhaust":
		if either || rd.Out == l.right.Out && !toldApart(rd.Value, l.right.Value) {
			return NotTold, 0, min(1, math.Abs(rd.Value-l.right.Value)/shortBlow)
		}
		return Unusual, side, 1
	}
	return NotTold, 0, 0
}

// shortBlow is the shortest blow at an exhaust that somebody listening tells from none, s
// (common practice).
const shortBlow = 2

// toldApart reports whether somebody listening tells one blow from another, s: one is long
// enough to be heard and the other, shorter by as much again, is not. Two blows of about that
// length sound the same, on whichever side of it they fall.
func toldApart(a, b float64) bool {
	return (a >= shortBlow) != (b >= shortBlow) && math.Abs(a-b) >= shortBlow
}

// timed judges the timed minute on each brake pipe gauge of the lead, which shows by how
// much it fell or rose and cannot err in that.
func (b *Base) timed(looks []Look, rs map[place]trial.Reading) map[int]bool {
	out := map[int]bool{}
	l, _ := b.r.Limit("leakage")
	up, _ := b.r.Limit("rise")
	for k := range looks {
		x := &looks[k]
		if x.Step != prove.StepLeak || !x.Asked || x.dev.Function != "brake-pipe-gauge" {
			continue
		}
		end, ok1 := rs[place{x.Step, x.Vehicle, x.Device}]
		start, ok2 := rs[place{prove.StepCutOut, x.Vehicle, x.Device}]
		if ok1 && ok2 && (start.Value-end.Value > l.High || end.Value-start.Value > up.High) {
			out[k] = true
		}
	}
	return out
}

type place struct {
	step    string
	vehicle int
	device  string
}

func index(rs []trial.Reading) map[place]trial.Reading {
	out := make(map[place]trial.Reading, len(rs))
	for _, x := range rs {
		out[place{x.Step, x.Vehicle, x.Device}] = x
	}
	return out
}

// Rules are those the base is held to.
func (b *Base) Rules() *rule.Rules { return b.r }
