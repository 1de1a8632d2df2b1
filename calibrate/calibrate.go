// Package calibrate fits chokes, leaks and piston travel of one unit to pressures that were
// measured while a consist was taken through a known procedure, and says what those
// pressures tell of each and what they cannot tell apart.
//
// Every value of the model is a reading of trial.Run on the consist with other figures laid
// over its record; nothing else here knows how air moves.
//
// # Method
//
// Each figure moves within bounds: the spread that the record writes, else usual ones
// (Bounds), else those asked for. It is scaled so that its bounds are −1 and 1; a bore by
// its area, because what flows goes with that. The squares of what is measured less what is
// computed are made least by damped Gauss-Newton steps that are cut off at the bounds.
// gonum's optimize has no least squares and no bounds, and a general minimiser would run
// the consist many times more often for the same answer.
//
// # Steps of the differences
//
// A run has switches (a distributor laps, a governor cuts in) and chooses its own time
// steps, so that two runs whose figures hardly differ may differ by tens of pascals at some
// moments. A small step would divide that scatter by nearly nothing. So a derivative is
// taken over a quarter of half the bounds on either side; over the whole of them where that
// moves the pressures by less than four times what the runs scatter (Fit.Scatter, measured
// by a run with all figures moved by a ten-thousandth of half their bounds); and over less
// where it moves them by more than 2 kPa, because a curve that is bent between the two runs
// makes figures look apart that are one.
//
// # What is told and what is not
//
// The standard error of a pressure is that stated or that of what the fit leaves, whichever
// is more. What is left is seldom white: neighbours err alike, because the model errs. So
// the error of a figure is widened by what the means of blocks of neighbours scatter beyond
// what white noise would. The derivatives divided by that error are taken apart into
// singular directions. One along which the whole bounds lie within the interval is not told;
// of the figures in it that with the greatest weight is held as the record says, and so on
// until every direction that is left is told. What the scatter of the runs may make of a
// derivative counts as error there: two holes of one pipe are one, though the differences
// of runs are not quite.
//
// The interval of a figure that is fitted then holds five parts, joined as root of the sum
// of the squares: 1.96 (or Student's) standard errors; how far the figure would move were
// any figure that is held elsewhere within its bounds, for which all other written spreads
// of the consist count as held too, and those that move by leaps; how far it would move were any place off by the
// standard error, by 0.5 kPa at least, throughout, throughout one step, or from so much
// below to so much above in the course of one; one per cent of a bore, because laws of
// what a hole passes differ by that; and how far it would move by the leaps of the runs. A distributor
// that laps again and again stops where chance has it, and a pressure goes by leaps with the
// bore that feeds it; so runs half way between those of a derivative are held against a
// parabola through these, and what they are off by is fitted like a measurement. Where the
// two halves of the step do not even move the pressures alike, or where the figure at its
// far bound adds less than a quarter of what it should to the squares, it is not told.
//
// The curves are met if the means of neighbours among what the fit leaves, less what noise
// makes of them, are no more than 1 kPa or the error that is stated; else nothing is told.
//
// A figure is told if its interval is at most half as wide as its bounds and as wide as
// itself, and it does not stand at a bound. Only told figures go into the overlay.
//
// Incomplete: a gauge that reads more wrong than that, or a clock that is off, is not
// sought, and ends in the figures. Samples in time are of those places that a
// trial draws curves of; of any other, only at the end of a step.
package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"headstock/consist"
	"headstock/internal/reading"
	"headstock/trial"
)

// Sample is one measured pressure.
type Sample struct {
	Pos      reading.Pos
	Step     string  // the step at whose beginning the time is 0; "": the procedure's
	Time     float64 // s; NaN: at the end of the step
	Vehicle  int
	Element  string
	Pressure float64 // Pa gauge
}

// Inquiry is what is to be fitted to what.
type Inquiry struct {
	Consist    *consist.Consist
	Unit       int // index of the unit whose figures are fitted
	Procedure  trial.Procedure
	Conditions trial.Conditions
	Samples    []Sample
	Parameters []Parameter
	Known      []Parameter // figures of the unit that are as written, whatever their spread
	Error      float64     // standard error of a measured pressure, Pa; 0: what the fit leaves
}

// Fit is what came of it. Pressures in Pa, figures in SI.
type Fit struct {
	Unit      string   `json:"unit"`
	Consist   string   `json:"consist"`
	Procedure string   `json:"procedure"`
	Samples   int      `json:"samples"`
	Error     float64  `json:"error"`    // standard, of a measured pressure
	Stated    bool     `json:"stated"`   // … as stated; else as the curves show it, neighbour against neighbour
	Before    float64  `json:"before"`   // root mean square of what the record leaves
	After     float64  `json:"after"`    // … what the fit leaves
	Overlaid  float64  `json:"overlaid"` // … what the told figures alone leave, over the record
	Scatter   float64  `json:"scatter"`  // … between two runs that should be the same
	Widened   float64  `json:"widened"`  // by which factor errors are wider than those of white noise
	Lasting   float64  `json:"lasting"`  // … of what the fit leaves, the means of neighbours less what noise makes of them
	Met       bool     `json:"met"`      // what lasts is no more than a kPa, or than the error that is stated
	Runs      int      `json:"runs"`
	Figures   []Figure `json:"figures"`
	Tangles   []Tangle `json:"tangles,omitempty"`
	Places    []Place  `json:"places"`
}

// The standings of a figure after a fit.
const (
	Told       = "told"
	AtBound    = "at its bound"
	NotApart   = "not told apart"
	HardlyTold = "hardly told"
	Leaping    = "moves by leaps"
	Unmet      = "curves not met" // it would be told, were the curves met
	Unseen     = "not seen"
)

// Figure is one figure of the unit after the fit.
type Figure struct {
	Parameter
	Value    float64 `json:"value"`    // fitted, or that of the record where it is held
	From     float64 `json:"from"`     // interval of 95 %, no wider than the bounds
	To       float64 `json:"to"`       //
	Noise    float64 `json:"noise"`    // half of the interval by the noise alone, as a share of half the bounds
	Leap     float64 `json:"leap"`     // how far off it may be because the runs answer in leaps, as such a share
	Standing string  `json:"standing"` // Told …
	Held     bool    `json:"held,omitempty"`
	Hangs    []Hang  `json:"hangs,omitempty"` // on figures that were not fitted, the most first
}

// Hang says how far a fitted figure would move, as a share of half its bounds, were a
// figure with a written spread that was not fitted at its upper bound.
type Hang struct {
	Vehicles []int   `json:"vehicles"`
	Element  string  `json:"element"`
	Argument string  `json:"argument"`
	By       float64 `json:"by"`
}

// Tangle is a figure that had to be held because these samples cannot tell it apart from
// others.
type Tangle struct {
	Held int     `json:"held"` // index into the figures
	If   float64 `json:"if"`   // were it this, which these curves do not tell from what is written
	With []Moved `json:"with"` // these would move with it, the most first
}

// Moved says how far a fitted figure would move, as a share of half its bounds, were the
// held one at its upper bound; and where it would come out with the held one as Tangle.If.
type Moved struct {
	Figure int     `json:"figure"`
	By     float64 `json:"by"`
	Then   float64 `json:"then"`
}

// Place is what is left at one place.
type Place struct {
	Vehicle int     `json:"vehicle"`
	Element string  `json:"element"`
	Samples int     `json:"samples"`
	Before  float64 `json:"before"`
	After   float64 `json:"after"`
	Worst   float64 `json:"worst"` // after the fit
}

const (
	leastError = 50.0 // Pa: no gauge is read closer (invented)
	modelError = 500  // Pa: what the network is off by at most at rest, by docs/air.md
	flowLaw    = 0.01 // of a bore: a nozzle and ISO 6358 differ by up to two per cent in what a hole passes
	moves      = 0.25 // a held figure moves a fitted one by so much of half its bounds: told with it (invented)
	narrow     = 0.5  // of half the bounds: an interval that wide is told (invented)
	evenAfar   = 0.25 // of what a figure at its far bound should add to the squares: less is leaps (calibrated: 0.05 in the one draw of 75 that was told falsely, 0.8 for a figure told rightly)
	evenly     = 0.7  // cosine between what two halves of a step do: less is leaps (invented)
	passes     = 4    // most rounds of choosing what is held and fitting the rest
)

// Run fits.
func (q Inquiry) Run() (*Fit, error) {
	switch {
	case len(q.Samples) == 0:
		return nil, fmt.Errorf("no measured pressures; expected some to fit to")
	case len(q.Parameters) == 0:
		return nil, fmt.Errorf("no figures to fit")
	case len(q.Samples) < 2*len(q.Parameters):
		return nil, fmt.Errorf("%d measured pressures for %d figures; expected at least two for each", len(q.Samples), len(q.Parameters))
	}
	b, err := newBench(q)
	if err != nil {
		return nil, err
	}
	n := len(q.Parameters)
	record := make([]float64, len(b.knobs))
	for j := range n {
		record[j] = min(max(b.knobs[j].scaled(q.Parameters[j].Record.SI), -1), 1)
	}
	f := &Fit{Unit: q.Consist.Vehicles[q.Unit].Name(), Consist: q.Consist.String(), Procedure: q.Procedure.Name, Samples: len(q.Samples), Error: q.Error, Stated: q.Error > 0}
	if !f.Stated {
		f.Error = roughness(q.Samples)
	}
	first, err := b.left(record)
	if err != nil {
		return nil, err
	}
	if f.Scatter, err = b.measureScatter(record, first); err != nil {
		return nil, err
	}
	// until a fit has left something, errors are taken for white, and no less than the model's
	e := noise{sigma: max(f.Error, modelError), widened: 1, blocks: len(q.Samples)}
	z, left := slices.Clone(record), first
	var jac *mat.Dense
	var fitted, unseen, held, leaped []int
	for pass := range passes {
		if jac, err = b.derivatives(z); err != nil {
			return nil, err
		}
		was := fitted
		if pass == 0 {
			if leaped, err = b.leaping(z); err != nil {
				return nil, err
			}
		}
		fitted, held, unseen = choose(jac, n, e.sigma*math.Sqrt(e.widened), e.quantile(), b.wobble(z))
		if pass > 0 && slices.Equal(was, fitted) {
			break
		}
		for _, j := range slices.Concat(held, unseen) {
			z[j] = record[j]
		}
		if left, err = b.left(z); err != nil {
			return nil, err
		}
		if len(fitted) > 0 {
			if z, left, err = b.least(z, left, fitted); err != nil {
				return nil, err
			}
		}
		e = errorOf(q.Samples, left, len(fitted), max(f.Error, leastError, f.Scatter))
	}
	f.Before, f.After, f.Widened = rms(first), rms(left), e.widened
	f.Lasting = lasting(q.Samples, left, f.Error)
	f.Met = f.Lasting <= 2*modelError || f.Stated && f.Lasting <= f.Error
	if err := f.judge(b, jac, z, fitted, held, leaped, e); err != nil {
		return nil, err
	}
	told := slices.Clone(record)
	for j, x := range f.Figures {
		if x.Standing == Told {
			told[j] = z[j]
		}
	}
	over, err := b.left(told)
	if err != nil {
		return nil, err
	}
	f.Overlaid = rms(over)
	f.places(q.Samples, first, left)
	f.Runs = int(b.runs.Load())
	return f, nil
}

// judge works out the interval of every figure and what is tangled with what.
func (f *Fit) judge(b *bench, jac *mat.Dense, z []float64, fitted, held, leaped []int, e noise) error {
	for j, p := range b.q.Parameters {
		f.Figures = append(f.Figures, Figure{Parameter: p, Value: b.knobs[j].value(z[j]), From: p.Low, To: p.High, Noise: 1, Standing: Unseen, Held: true})
	}
	for _, j := range held {
		f.Figures[j].Standing = HardlyTold
	}
	if len(fitted) == 0 {
		return nil
	}
	js := columns(jac, fitted)
	var gram mat.Dense
	gram.Mul(js.T(), js)
	var inverse mat.Dense
	if inverse.Inverse(&gram) != nil {
		return fmt.Errorf("the figures cannot be told apart at all") // choose has left no such direction
	}
	for k, j := range fitted {
		f.Figures[j].Noise = e.quantile() * e.sigma * math.Sqrt(e.widened*inverse.At(k, k))
		b.steps[j] = min(max(b.steps[j], 3*f.Figures[j].Noise), usualStep)
	}
	leaps, even, err := b.leaps(z, fitted)
	if err != nil {
		return err
	}
	// how far each fitted figure goes for one of every other
	var push, shift mat.Dense
	push.Mul(js.T(), jac)
	shift.Mul(&inverse, &push)
	var zero, off mat.Dense
	zero.Mul(js.T(), b.astray(max(e.sigma, modelError)))
	off.Mul(&inverse, &zero)
	var leap, astray mat.Dense
	leap.Mul(js.T(), leaps)
	astray.Mul(&inverse, &leap)
	leaping := func(k int) bool { return even[k] < evenly || slices.Contains(leaped, fitted[k]) }
	for k, j := range fitted {
		x := &f.Figures[j]
		x.Held = false
		x.Leap = mat.Norm(astray.RowView(k), math.Inf(1))
		sum := x.Noise*x.Noise + x.Leap*x.Leap + square(off.RawRowView(k))
		if b.knobs[j].area {
			law := b.knobs[j].scaled(x.Value*(1+flowLaw)) - z[j]
			sum += law * law
		}
		for l, o := range fitted { // one that leaps may be anywhere
			if l != k && leaping(l) {
				by := inverse.At(k, l) / inverse.At(l, l) * (1 + math.Abs(z[o]))
				sum += by * by
			}
		}
		tangled := false
		for o := range b.knobs {
			if slices.Contains(fitted, o) {
				continue
			}
			by := shift.At(k, o) * (1 + math.Abs(z[o]))
			sum += by * by
			tangled = tangled || slices.Contains(held, o) && math.Abs(by) >= moves
			if o >= len(b.q.Parameters) && math.Abs(by) >= moves {
				x.Hangs = append(x.Hangs, Hang{b.knobs[o].vehicles, b.knobs[o].element, b.knobs[o].argument, -by})
			}
		}
		slices.SortStableFunc(x.Hangs, func(a, b Hang) int { return cmp.Compare(math.Abs(b.By), math.Abs(a.By)) })
		half := math.Sqrt(sum)
		x.From, x.To = b.knobs[j].value(max(z[j]-half, -1)), b.knobs[j].value(min(z[j]+half, 1))
		switch {
		case leaping(k):
			x.Standing = Leaping
		case half > narrow && tangled:
			x.Standing = NotApart
		case math.Abs(z[j]) > 0.999:
			x.Standing = AtBound
		case half > narrow && x.Leap > narrow:
			x.Standing = Leaping
		case half > narrow || x.To-x.From > x.Value:
			x.Standing = HardlyTold
		case !f.Met:
			x.Standing = Unmet
		default:
			bent, err := b.bent(z, f.After*f.After*float64(f.Samples), fitted, &inverse, k)
			if err != nil {
				return err
			}
			if x.Standing = Told; bent {
				x.Standing = Leaping
			}
		}
	}
	for _, h := range held {
		t := Tangle{Held: h}
		// the way in which the held one has more room, so far that the others stay in theirs
		far := -1 - z[h]
		if z[h] <= 0 {
			far = 1 - z[h]
		}
		for k, j := range fitted {
			by := -shift.At(k, h)
			if math.Abs(by*(1+math.Abs(z[h]))) < moves {
				continue
			}
			t.With = append(t.With, Moved{Figure: j, By: by * (1 - z[h])})
			room := 1 + z[j]
			if by*far > 0 {
				room = 1 - z[j]
			}
			if most := room / 2; math.Abs(by*far) > most {
				far *= most / math.Abs(by*far)
			}
		}
		t.If = b.knobs[h].value(z[h] + far)
		for i := range t.With {
			m := &t.With[i]
			m.Then = b.knobs[m.Figure].value(z[m.Figure] - shift.At(slices.Index(fitted, m.Figure), h)*far)
		}
		slices.SortStableFunc(t.With, func(a, b Moved) int { return cmp.Compare(math.Abs(b.By), math.Abs(a.By)) })
		if len(t.With) > 0 {
			f.Figures[h].Standing = NotApart
			f.Tangles = append(f.Tangles, t)
		}
	}
	return nil
}

func (f *Fit) places(samples []Sample, before, after []float64) {
	for i, s := range samples {
		k := slices.IndexFunc(f.Places, func(p Place) bool { return p.Vehicle == s.Vehicle && p.Element == s.Element })
		if k < 0 {
			k = len(f.Places)
			f.Places = append(f.Places, Place{Vehicle: s.Vehicle, Element: s.Element})
		}
		p := &f.Places[k]
		p.Samples++
		p.Before += before[i] * before[i]
		p.After += after[i] * after[i]
		p.Worst = max(p.Worst, math.Abs(after[i]))
	}
	for k := range f.Places {
		p := &f.Places[k]
		p.Before, p.After = math.Sqrt(p.Before/float64(p.Samples)), math.Sqrt(p.After/float64(p.Samples))
	}
}

// noise is how far a measured pressure errs.
type noise struct {
	sigma   float64 // standard, Pa
	widened float64 // variance of a mean over that of white noise, at least 1
	blocks  int     // means that widened was worked out from
}

// quantile is Student's factor of an interval of 95 %.
func (e noise) quantile() float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(max(e.blocks, 2))}.Quantile(0.975)
}

// errorOf is the noise of what a fit of so many figures left, by the means of neighbours.
func errorOf(samples []Sample, left []float64, fitted int, least float64) noise {
	e := noise{widened: 1}
	sum := 0.0
	for _, r := range left {
		sum += r * r
	}
	mean := sum / float64(max(len(left)-fitted, 1))
	e.sigma = max(math.Sqrt(mean), least)
	long, n := 0.0, 0
	for _, is := range blocks(samples) {
		if len(is) < leastBlock {
			continue
		}
		block := 0.0
		for _, i := range is {
			block += left[i]
		}
		long += block * block / float64(len(is))
		n++
	}
	if e.blocks = n; n > 0 && mean > 0 {
		e.widened = max(1, long/float64(n)/mean)
	}
	if n == 0 { // too few samples to see how they hang together
		e.blocks = max(len(left)-fitted, 2)
	}
	return e
}

const leastBlock = 8 // samples (invented)

// blocks are neighbours: the samples of each place, in their order, in ten blocks or in fewer
// of the least size; those of a place that has not even one, each by itself.
func blocks(samples []Sample) [][]int {
	type place struct {
		vehicle int
		element string
	}
	at := map[place][]int{}
	var order []place
	for i, s := range samples {
		p := place{s.Vehicle, s.Element}
		if at[p] == nil {
			order = append(order, p)
		}
		at[p] = append(at[p], i)
	}
	var out [][]int
	for _, p := range order {
		is := at[p]
		size := max(len(is)/10, leastBlock)
		if len(is) < leastBlock {
			size = 1
		}
		for k := 0; k+size <= len(is); k += size {
			out = append(out, is[k:k+size])
		}
	}
	return out
}

// lasting is the root mean square of the means of neighbours, without what noise of a
// standard error makes of it. Noise hides how far the curves are not met in what is left
// of every pressure, and hardly in this.
func lasting(samples []Sample, left []float64, err float64) float64 {
	sum := 0.0
	bs := blocks(samples)
	for _, is := range bs {
		mean := 0.0
		for _, i := range is {
			mean += left[i] / float64(len(is))
		}
		sum += mean*mean - err*err/float64(len(is))
	}
	return math.Sqrt(max(sum, 0) / float64(len(bs)))
}

// roughness is the standard error of the measured pressures as neighbours in time show it:
// the median of what each is off a straight line between its neighbours.
func roughness(samples []Sample) float64 {
	var off []float64
	for i := 1; i+1 < len(samples); i++ {
		a, b, c := samples[i-1], samples[i], samples[i+1]
		if a.Vehicle != b.Vehicle || c.Vehicle != b.Vehicle || a.Element != b.Element || c.Element != b.Element || a.Step != b.Step || c.Step != b.Step || !(a.Time < b.Time && b.Time < c.Time) {
			continue
		}
		part := (b.Time - a.Time) / (c.Time - a.Time)
		line := a.Pressure + (c.Pressure-a.Pressure)*part
		off = append(off, math.Abs(b.Pressure-line)/math.Sqrt(1+part*part+(1-part)*(1-part)))
	}
	if len(off) == 0 {
		return 0
	}
	slices.Sort(off)
	return off[len(off)/2] / distuv.UnitNormal.Quantile(0.75)
}

func rms(r []float64) float64 {
	sum := 0.0
	for _, x := range r {
		sum += x * x
	}
	return math.Sqrt(sum / float64(max(len(r), 1)))
}
