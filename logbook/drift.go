package logbook

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/calendar"
	"headstock/quantity"
)

// What a line through readings needs before a date may be read off it. All are common
// practice, chosen here; none has a published source.
const (
	Fewest     = 5    // readings
	ShortestBy = 28   // days from the first to the last
	Confidence = 0.95 // of the slope's interval
	Furthest   = 5    // times the days read, beyond the last reading; no date lies further
	Most       = 1000 // readings; of a longer run the last are taken, since the work grows with their square
)

// A jump begins a new run. Between two readings it is the step less the usual step, and
// it must stay: the middle of the three readings behind it differs from the middle of the
// three before it by as much, so that a single wild reading is none. It must be jumpTimes
// what steps usually differ by, and as many times the finest difference that was read,
// since readings to a whole millimetre step even where nothing jumps; and jumpPart of all
// that the readings spread over. Where only two values were ever read it must be jumpRest
// of the first. Common practice, chosen here.
const (
	jumpTimes = 6
	jumpPart  = 0.4
	jumpRest  = 0.1
	jumpSide  = 3
)

// strayTimes is how many times the usual distance from the line the last reading may lie
// off it before somebody is asked to read again. Common practice, chosen here.
const strayTimes = 6

// Limit is between what a measure must stand; ends that are not set do not hold it.
type Limit struct {
	Measure         string
	Low, High       float64 // SI
	HasLow, HasHigh bool
}

// MarshalJSON leaves out the end that does not hold.
func (l Limit) MarshalJSON() ([]byte, error) {
	out := struct {
		Measure string   `json:"measure"`
		Low     *float64 `json:"at_least,omitempty"`
		High    *float64 `json:"at_most,omitempty"`
	}{Measure: l.Measure}
	if l.HasLow {
		out.Low = &l.Low
	}
	if l.HasHigh {
		out.High = &l.High
	}
	return json.Marshal(out)
}

// ParseLimit reads "at most 115 mm", "at least 10 mm", "70 mm to 115 mm", "70 .. 115 mm".
func ParseLimit(text string) (Limit, error) {
	s := strings.Join(strings.Fields(text), " ")
	one := func(part string) (quantity.Value, error) { return quantity.Parse(part) }
	if v, ok := strings.CutPrefix(s, "at most "); ok {
		q, err := one(v)
		return Limit{Measure: q.Kind.String(), High: q.SI, HasHigh: true}, err
	}
	if v, ok := strings.CutPrefix(s, "at least "); ok {
		q, err := one(v)
		return Limit{Measure: q.Kind.String(), Low: q.SI, HasLow: true}, err
	}
	for _, mark := range []string{" to ", ".."} {
		if a, b, ok := strings.Cut(s, mark); ok {
			r, k, err := quantity.ParseRange(a + ".." + b)
			return Limit{Measure: k.String(), Low: r.Low, High: r.High, HasLow: true, HasHigh: true}, err
		}
	}
	if _, err := one(s); err == nil {
		return Limit{}, fmt.Errorf("%q does not say on which side; expected \"at most %s\" or \"at least %s\"", text, s, s)
	}
	return Limit{}, fmt.Errorf("%q is no limit; expected one as in \"at most 115 mm\", \"at least 10 mm\", \"70 mm to 115 mm\"", text)
}

// Holds says whether a value stands within the limit.
func (l Limit) Holds(v float64) bool {
	return (!l.HasLow || v >= l.Low) && (!l.HasHigh || v <= l.High)
}

// Start is how a run of readings began.
type Start string

// The starts.
const (
	FromFirst Start = "first reading"
	Renewal   Start = "renewed"
	Jump      Start = "jump"
)

// Outcome is what can be said of a drift.
type Outcome string

// The outcomes, from those that ask for something.
const (
	Outside   Outcome = "outside"          // the last reading stands outside the limit
	AtLimit   Outcome = "at the limit"     // the last reading is within, the line is not
	Reaches   Outcome = "reaches"          // the line meets the limit on Date
	Might     Outcome = "might reach"      // the line does not, but the steepest slope that fits does, from Earliest on
	Distant   Outcome = "distant"          // the line meets it further off than a date can be trusted
	Away      Outcome = "does not reach"   // neither the line nor any slope that fits comes to the limit in that time
	TooFew    Outcome = "too few readings" // for a line
	NoLimit   Outcome = "no limit"         // a line, and nothing to hold it against
	Unrelated Outcome = "another measure"  // the limit is of another kind than the readings
)

// Drift is what the current run of a row of readings shows.
type Drift struct {
	Key
	Outcome  Outcome       `json:"outcome"`
	Measure  string        `json:"measure"`
	Readings int           `json:"readings"` // in the run, Most at most
	Runs     int           `json:"runs"`     // in the row
	Start    Start         `json:"start"`
	Toward   bool          `json:"jumped_toward_limit,omitempty"` // and nothing says why
	From     calendar.Date `json:"from"`                          // first reading of the run
	To       calendar.Date `json:"to"`                            // and last
	Last     Reading       `json:"last"`
	Limit    *Limit        `json:"limit,omitempty"`
	Trend    *Trend        `json:"trend,omitempty"`   // none with too few readings
	Date     calendar.Date `json:"date,omitzero"`     // the line meets the limit; a fraction of a day is cut off
	Earliest calendar.Date `json:"earliest,omitzero"` // the same for the slope of the interval that meets it first
	Latest   calendar.Date `json:"latest,omitzero"`   // … and last; none when a slope that fits does not come to the limit in that time
}

// Trend is the line through a run.
type Trend struct {
	Level  float64     `json:"level"`                      // at the last reading, SI
	PerDay float64     `json:"per_day"`                    // slope, SI a day
	Within *[2]float64 `json:"per_day_interval,omitempty"` // the slope's interval; none when the readings are too few for one
	Stray  bool        `json:"last_strays,omitempty"`      // the last reading lies off the line further than the others do
}

// DriftOf fits a line through the last run of a row and says when it meets the limit.
// limit may be nil.
func DriftOf(s Series, limit *Limit) Drift {
	runs, starts := runsOf(s.Readings)
	run := runs[len(runs)-1]
	run = run[max(0, len(run)-Most):]
	last := run[len(run)-1]
	d := Drift{Key: s.Key, Measure: last.Value.Measure, Readings: len(run), Runs: len(runs), Start: starts[len(starts)-1],
		From: calendar.On(run[0].At), To: calendar.On(last.At), Last: last}
	if limit != nil {
		d.Limit = limit
		if limit.Measure != d.Measure {
			d.Outcome = Unrelated
			return d
		}
		if before := len(runs) - 2; d.Start == Jump {
			was, is := runs[before][len(runs[before])-1].Value.SI, run[0].Value.SI
			d.Toward = limit.HasHigh && is > was || limit.HasLow && is < was
		}
	}
	outside := limit != nil && !limit.Holds(last.Value.SI)
	x, y := make([]float64, len(run)), make([]float64, len(run))
	for i, r := range run {
		x[i], y[i] = r.At.Sub(run[0].At).Hours()/24, r.Value.SI
	}
	span := x[len(x)-1]
	fit, ok := Fit{}, false
	if len(run) >= Fewest && span >= ShortestBy {
		fit, ok = FitLine(x, y, Confidence)
	}
	if ok {
		d.Trend = &Trend{Level: fit.Height + float64(fit.Slope*span), PerDay: fit.Slope, Stray: strays(x, y, fit)}
		if fit.Bounded {
			d.Trend.Within = &[2]float64{fit.Low, fit.High}
		}
	}
	switch {
	case outside:
		d.Outcome = Outside
	case !ok:
		d.Outcome = TooFew
	case limit == nil:
		d.Outcome = NoLimit
	case !limit.Holds(d.Trend.Level):
		d.Outcome = AtLimit
	default:
		d.foresee(x, y, fit, span)
	}
	return d
}

// foresee finds the days on which the line, and the steepest and the shallowest of the
// slopes that fit, meet the limit. Each slope has its own height through the readings, so
// that all of them pass through the middle of the run.
func (d *Drift) foresee(x, y []float64, fit Fit, span float64) {
	horizon := span * (1 + Furthest)
	meets := func(slope float64) (day float64, ever, soon bool) {
		h := HeightOf(x, y, slope)
		var at float64
		switch {
		case slope > 0 && d.Limit.HasHigh:
			at = (d.Limit.High - h) / slope
		case slope < 0 && d.Limit.HasLow:
			at = (d.Limit.Low - h) / slope
		default:
			return 0, false, false
		}
		return at, true, at <= horizon
	}
	// the fraction of a day is cut off, toward the earlier day
	date := func(day float64) calendar.Date { return d.From.AddDays(int(math.Floor(day))) }
	at, ever, soon := meets(fit.Slope)
	d.Outcome = Away
	switch {
	case soon:
		d.Outcome, d.Date = Reaches, date(at)
	case ever:
		d.Outcome = Distant
	}
	if !fit.Bounded {
		return
	}
	var days []float64
	all := true
	for _, slope := range []float64{fit.Low, fit.High} {
		day, _, soon := meets(slope)
		if soon {
			days = append(days, day)
		}
		all = all && soon && (slope > 0) == (fit.Slope > 0)
	}
	if len(days) == 0 {
		return
	}
	d.Earliest = date(slices.Min(days))
	if d.Outcome != Reaches {
		d.Outcome = Might
	} else if all {
		d.Latest = date(slices.Max(days))
	}
}

// runsOf parts readings where something was renewed, or where they jump and stay.
func runsOf(rs []Reading) (runs [][]Reading, starts []Start) {
	begin, start := 0, FromFirst
	cut := func(i int, how Start) {
		if i > begin {
			runs = append(runs, rs[begin:i])
			starts = append(starts, start)
		}
		begin, start = i, how
	}
	for i := range rs {
		if rs[i].Renewed {
			cut(i, Renewal)
		}
	}
	cut(len(rs), "")
	var outRuns [][]Reading
	var outStarts []Start
	for i, run := range runs {
		how := starts[i]
		for _, part := range atJumps(run) {
			outRuns, outStarts = append(outRuns, part), append(outStarts, how)
			how = Jump
		}
	}
	return outRuns, outStarts
}

// atJumps parts a run in which nobody wrote of a renewal.
func atJumps(run []Reading) [][]Reading {
	if len(run) < 2*jumpSide {
		return [][]Reading{run}
	}
	v := make([]float64, len(run))
	for i := range run {
		v[i] = run[i].Value.SI
	}
	steps := make([]float64, len(v)-1)
	for i := range steps {
		steps[i] = v[i+1] - v[i]
	}
	usual := median(slices.Clone(steps))
	for i := range steps {
		steps[i] = math.Abs(steps[i] - usual)
	}
	level := func(i int) float64 { return max(min(v[i], v[i+1]), min(max(v[i], v[i+1]), v[i+2])) }
	jump, at := 0.0, 0
	low, high := level(0), level(0)
	for i := 1; i <= len(v)-jumpSide; i++ {
		low, high = min(low, level(i)), max(high, level(i))
		if i >= jumpSide {
			stays := math.Abs(level(i) - level(i-jumpSide) - jumpSide*usual)
			if j := min(steps[i-1], stays); j > jump {
				jump, at = j, i
			}
		}
	}
	fine := finest(v)
	if jump <= jumpPart*(high-low) || jump <= jumpTimes*median(steps) ||
		fine < jump && jump <= jumpTimes*fine || fine >= jump && jump < jumpRest*math.Abs(v[at-1]) {
		return [][]Reading{run}
	}
	return append(atJumps(run[:at]), atJumps(run[at:])...)
}

// finest is the smallest difference between two values that were read; differences in
// the last bits, which come of converting units, are none.
func finest(v []float64) float64 {
	sorted := slices.Sorted(slices.Values(v))
	least := 0.0
	for i := 1; i < len(sorted); i++ {
		d := sorted[i] - sorted[i-1]
		if d > 1e-9*math.Abs(sorted[i]) && (least == 0 || d < least) {
			least = d
		}
	}
	return least
}

// strays says whether the last reading lies off the line further than the others do.
func strays(x, y []float64, fit Fit) bool {
	off := make([]float64, len(x))
	for i := range x {
		off[i] = math.Abs(y[i] - fit.Height - float64(fit.Slope*x[i]))
	}
	last := off[len(off)-1]
	return last > strayTimes*max(median(off), finest(y))
}
