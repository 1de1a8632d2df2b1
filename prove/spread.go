package prove

import (
	"cmp"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"headstock/consist"
	"headstock/fleet"
	"headstock/quantity"
	"headstock/trial"
)

// A record writes a figure with the bound within which a sound part lies, "1.4 mm ± 0.05
// mm". What a gauge may show on a sound unit is then a band and not a number, and it is
// found by running the whole test again with other figures within their bounds:
//
//   - N samples in which every figure of every vehicle is drawn anew. The law is uniform
//     over the bound, each figure by itself: a record says how far a figure may lie off
//     and nothing of where it likely lies, and a law that favours the middle would call
//     readings of a sound unit unusual on no evidence.
//   - two runs for each figure, alone at the lower and at the upper end of its bound: by
//     how much each moves a reading, and so which one dominates it. What is drawn once a
//     vehicle is here moved on all wagons of a class together, because a figure of one
//     wagon of a train moves little and there are many.
//
// The band of a reading spans all these runs and the nominal one. It is no bound of what
// may happen: N samples do not meet every corner, and a spread that a record does not
// write is not there. The draw of a figure hangs on the seed, the sample and its place
// among the figures alone, so more samples only add to fewer, on any number of
// processors.

// The usual number of samples and the seed of a study.
const (
	UsualSamples = 32
	UsualSeed    = 1
	MostSamples  = 10000
)

// Study is what the spreads of the records make of every reading of a brake test.
type Study struct {
	Samples    int         `json:"samples"`
	Seed       uint64      `json:"seed"`
	Runs       int         `json:"runs"` // samples, and two for each parameter
	Parameters []Parameter `json:"parameters"`
	Readings   []Spread    `json:"readings"`         // in the order of the test's readings
	Missed     []Missed    `json:"missed,omitempty"` // steps whose condition some sample did not meet in time
}

// Parameter is a figure with a spread, on one unit, or on every wagon of a class.
type Parameter struct {
	Vehicles []int   `json:"vehicles"`
	Element  string  `json:"element"`
	Argument string  `json:"argument"`
	Value    float64 `json:"value"`  // SI
	Spread   float64 `json:"spread"` // SI, on either side
	Source   string  `json:"source"`
}

// Spread is one reading over all runs of a study: gauge pascals, metres of stroke, or
// seconds of blow, as Kind says.
type Spread struct {
	Step    string         `json:"step"`
	Vehicle int            `json:"vehicle"`
	Device  string         `json:"device"`
	Kind    string         `json:"kind"`
	Nominal float64        `json:"nominal"`           // with the figures as written
	Drawn   quantity.Range `json:"drawn"`             // over the samples alone
	Over    quantity.Range `json:"over"`              // over every run, the nominal one with them
	Band    quantity.Range `json:"band"`              // what is expected: wider than Over by a gauge's tolerance on both sides
	Either  bool           `json:"either,omitempty"`  // a piston in or out, an exhaust quiet or blowing, by the run
	Chance  bool           `json:"chance,omitempty"`  // hangs on when the compressor ran; no effects are worked out
	Effects []Effect       `json:"effects,omitempty"` // the largest first; none where the reading hardly moves
}

// Effect is how far one parameter alone moves a reading, in the reading's own measure.
type Effect struct {
	Parameter int     `json:"parameter"` // index into the study's parameters
	Minus     float64 `json:"minus"`     // reading less nominal with the figure at its lower end
	Plus      float64 `json:"plus"`      // and at its upper end
	Share     float64 `json:"share"`     // of the swings of all parameters, 0 to 1
}

// Swing is the whole range over which a parameter alone moves the reading.
func (e Effect) Swing() float64 { return max(e.Minus, e.Plus, 0) - min(e.Minus, e.Plus, 0) }

// Missed counts the samples in which the condition of a step did not come about in time.
type Missed struct {
	Step    string `json:"step"`
	Samples int    `json:"samples"`
}

// Hardly is the swing below which a reading counts as not moved, and below a tenth of
// which an effect is left out: a fraction of what anybody can read off (common practice),
// and more than the steps of the solver shift a pressure.
func Hardly(kind string) float64 {
	switch kind {
	case "piston":
		return 1e-3 // m
	case "exhaust":
		return 1 // s
	}
	return 1e3 // Pa
}

// Seen reports whether a piston is out or an exhaust is heard to blow.
func Seen(rd trial.Reading) bool { return rd.Out || rd.Kind == "exhaust" && rd.Value >= 0.5 }

// Spreads studies a run of a consist: what its readings may be on sound units whose
// figures lie anywhere within their spreads. It needs at least one sample. Without any
// spread in the records the band of a reading is the reading. An error is a number of
// samples outside 1 to MostSamples, or a run that could not be made.
func Spreads(nominal *trial.Result, cond trial.Conditions, samples int, seed uint64) (*Study, error) {
	if samples < 1 || samples > MostSamples {
		return nil, fmt.Errorf("expected 1 to %d samples, found %d", MostSamples, samples)
	}
	c := nominal.Consist
	figures, err := c.Spreads()
	if err != nil {
		return nil, err
	}
	s := &Study{Samples: samples, Seed: seed, Parameters: parameters(c, figures)}
	for _, rd := range nominal.Readings {
		own := quantity.Range{Low: rd.Value, High: rd.Value}
		d, ok := c.Vehicles[rd.Vehicle].Class.Device(rd.Device)
		if ok {
			own = shown(nominal, d, rd)
		}
		s.Readings = append(s.Readings, Spread{Step: rd.Step, Vehicle: rd.Vehicle, Device: rd.Device, Kind: rd.Kind, Nominal: rd.Value, Over: own, Drawn: own, Chance: ok && byChance(d)})
	}
	if len(s.Parameters) == 0 {
		s.bands(c)
		return s, nil
	}
	draws := make([][]consist.OffRecord, 0, samples+2*len(s.Parameters))
	for k := range samples {
		draws = append(draws, draw(figures, seed, uint64(k)))
	}
	for _, p := range s.Parameters {
		for _, side := range []float64{-1, 1} {
			var one []consist.OffRecord
			for _, i := range p.Vehicles {
				one = append(one, consist.OffRecord{Vehicle: i, Element: p.Element, Argument: p.Argument, SI: p.Value + float64(side*p.Spread)})
			}
			draws = append(draws, one)
		}
	}
	s.Runs = len(draws)
	runs, err := runAll(c, nominal.Procedure, cond, draws)
	if err != nil {
		return nil, err
	}
	s.gather(nominal, runs)
	s.bands(c)
	return s, nil
}

// parameters gathers the figures: a locomotive's each by itself, those of wagons of one
// class and one value together.
func parameters(c *consist.Consist, figures []consist.Figure) []Parameter {
	var out []Parameter
	for _, f := range figures {
		v := c.Vehicles[f.Vehicle]
		k := -1
		if !v.Locomotive() {
			k = slices.IndexFunc(out, func(p Parameter) bool {
				return c.Vehicles[p.Vehicles[0]].Class == v.Class && p.Element == f.Element && p.Argument == f.Argument && p.Value == f.SI && p.Spread == f.Spread
			})
		}
		if k >= 0 {
			out[k].Vehicles = append(out[k].Vehicles, f.Vehicle)
			continue
		}
		out = append(out, Parameter{[]int{f.Vehicle}, f.Element, f.Argument, f.SI, f.Spread, f.By})
	}
	return out
}

// draw is one sample: every figure evenly between the ends of its bound.
func draw(figures []consist.Figure, seed, sample uint64) []consist.OffRecord {
	chance := rand.NewPCG(seed, sample)
	var out []consist.OffRecord
	for _, f := range figures {
		u := float64(chance.Uint64()>>11) / (1 << 53) // [0, 1)
		out = append(out, consist.OffRecord{Vehicle: f.Vehicle, Element: f.Element, Argument: f.Argument, SI: f.SI + float64(float64(2*u-1)*f.Spread)})
	}
	return out
}

// one is what is kept of a run: what each device shows, and which steps missed.
type one struct {
	shown  []quantity.Range
	value  []float64
	seen   []bool
	missed []string
}

// runAll runs a procedure once for each set of figures, side by side, each on a network
// of its own.
func runAll(c *consist.Consist, p trial.Procedure, cond trial.Conditions, draws [][]consist.OffRecord) ([]one, error) {
	out := make([]one, len(draws))
	failed := make([]error, len(draws))
	var next atomic.Int64
	var wait sync.WaitGroup
	cond.Curves = 0
	for range min(len(draws), runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for k := int(next.Add(1)) - 1; k < len(draws); k = int(next.Add(1)) - 1 {
				out[k], failed[k] = runOne(c, p, cond, draws[k])
			}
		})
	}
	wait.Wait()
	return out, errors.Join(failed...)
}

func runOne(c *consist.Consist, p trial.Procedure, cond trial.Conditions, over []consist.OffRecord) (one, error) {
	var o one
	other, err := c.WithFigures(over...)
	if err != nil {
		return o, err
	}
	res, err := trial.Run(other, p, cond)
	if err != nil {
		return o, err
	}
	for _, rd := range res.Readings {
		own := quantity.Range{Low: rd.Value, High: rd.Value}
		if d, ok := other.Vehicles[rd.Vehicle].Class.Device(rd.Device); ok {
			own = shown(res, d, rd)
		}
		o.shown, o.value, o.seen = append(o.shown, own), append(o.value, rd.Value), append(o.seen, Seen(rd))
	}
	for _, m := range res.Misses {
		o.missed = append(o.missed, m.Step)
	}
	return o, nil
}

func (s *Study) gather(nominal *trial.Result, runs []one) {
	for k := range s.Readings {
		x := &s.Readings[k]
		was := Seen(nominal.Readings[k])
		for n, r := range runs {
			x.Over = spanning(x.Over, r.shown[k])
			x.Either = x.Either || x.Kind != "gauge" && r.seen[k] != was
			switch {
			case n == 0:
				x.Drawn = r.shown[k]
			case n < s.Samples:
				x.Drawn = spanning(x.Drawn, r.shown[k])
			}
		}
		if x.Chance || x.Over.High-x.Over.Low < Hardly(x.Kind) {
			continue
		}
		total := 0.0
		for p := range s.Parameters {
			at := s.Samples + 2*p
			e := Effect{Parameter: p, Minus: runs[at].value[k] - x.Nominal, Plus: runs[at+1].value[k] - x.Nominal}
			if e.Swing() > Hardly(x.Kind)/10 {
				x.Effects = append(x.Effects, e)
				total += e.Swing()
			}
		}
		for n := range x.Effects {
			x.Effects[n].Share = x.Effects[n].Swing() / total
		}
		slices.SortStableFunc(x.Effects, func(a, b Effect) int { return cmp.Compare(b.Share, a.Share) })
	}
	for _, step := range nominal.Procedure.Steps {
		n := 0
		for _, r := range runs[:s.Samples] {
			if slices.Contains(r.missed, step.ID) {
				n++
			}
		}
		if n > 0 {
			s.Missed = append(s.Missed, Missed{step.ID, n})
		}
	}
}

// bands widens what the runs showed by what each gauge may err.
func (s *Study) bands(c *consist.Consist) {
	for k := range s.Readings {
		x := &s.Readings[k]
		x.Band = x.Over
		if d, ok := c.Vehicles[x.Vehicle].Class.Device(x.Device); ok && x.Kind == "gauge" {
			x.Band = wider(x.Over, d)
		}
	}
}

func spanning(a, b quantity.Range) quantity.Range {
	return quantity.Range{Low: min(a.Low, b.Low), High: max(a.High, b.High)}
}

// reading finds what a study says of a reading; nil where there is no study.
func (s *Study) reading(rd trial.Reading) *Spread {
	if s == nil {
		return nil
	}
	for k := range s.Readings {
		if x := &s.Readings[k]; x.Step == rd.Step && x.Vehicle == rd.Vehicle && x.Device == rd.Device {
			return x
		}
	}
	return nil
}

// Spread is what the proof's study says of a reading; nil where no study was asked for.
func (p *Proof) Spread(rd trial.Reading) *Spread { return p.Study.reading(rd) }

// Expected is the band in which a gauge of the proof's test is expected at a step, Pa
// gauge, with the spreads of the records where they have been studied; never narrower
// than the gauge's own tolerance.
func (p *Proof) Expected(d *fleet.Device, rd trial.Reading) quantity.Range {
	if x := p.Spread(rd); x != nil {
		return x.Band
	}
	return Expected(p.Test, d, rd)
}
