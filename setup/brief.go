package setup

import (
	"cmp"
	"slices"

	"headstock/prove"
)

// Brief is what a search comes to without its runs: what breaks something, the worst first,
// each by its worst outcome. It is small enough to be carried to where no search is made.
type Brief struct {
	Consist  string        `json:"consist"`
	Verdict  string        `json:"verdict_as_it_stands"`
	Failures bool          `json:"failures_searched"`
	Counts   Counts        `json:"counts"`
	Runs     int           `json:"runs_as_it_stands"`
	AirModel string        `json:"air_model"`
	Members  []BriefMember `json:"wrong"`
}

// BriefMember is one wrong setting or failure that breaks something.
type BriefMember struct {
	Key      string          `json:"key"`
	Kind     string          `json:"kind"`
	Says     string          `json:"says"`
	Unit     string          `json:"unit"`
	Device   string          `json:"device,omitempty"` // id; of a failure without a device of its own ""
	Item     string          `json:"item"`
	Place    string          `json:"place,omitempty"`
	To       string          `json:"to"`
	Keep     bool            `json:"must_not_be_moved,omitempty"`
	When     string          `json:"when"` // the worst outcome came about then
	Grade    Grade           `json:"grade"`
	Danger   string          `json:"danger"`
	Shown    Shown           `json:"shown"`
	Shows    string          `json:"shows"`
	Worse    []prove.Finding `json:"worse"`
	First    *Seen           `json:"first_seen,omitempty"` // by whoever looks
	FirstCab *Seen           `json:"first_seen_from_the_driving_cab,omitempty"`
}

// Brief leaves out the runs, and what breaks nothing.
func (f *Found) Brief() *Brief {
	out := &Brief{Consist: f.Consist, Verdict: f.Verdict, Failures: f.Failures, Counts: f.Counts, Runs: f.base.proof.Runs, AirModel: f.base.proof.AirModel, Members: []BriefMember{}}
	for _, m := range f.Worst() {
		o := m.WorstOutcome()
		x := BriefMember{Key: m.Key, Kind: m.Kind, Says: m.Says, Unit: m.Unit, Item: m.Item, Place: m.Place, To: m.To, Keep: m.Keep,
			When: o.When, Grade: m.Grade, Danger: m.Danger, Shown: m.Shown, Shows: m.Shows, Worse: o.Worse}
		if len(m.Settings) > 0 {
			x.Device = m.Settings[0].Device
		}
		if len(o.Seen) > 0 {
			x.First = &o.Seen[0]
		}
		if k := slices.IndexFunc(o.Seen, func(s Seen) bool { return s.InCab }); k >= 0 {
			x.FirstCab = &o.Seen[k]
		}
		out.Members = append(out.Members, x)
	}
	return out
}

// WorstOutcome is the outcome that a member is graded by.
func (m Member) WorstOutcome() Outcome {
	k := slices.IndexFunc(m.Outcomes, func(o Outcome) bool { return o.Grade == m.Grade && o.Shown == m.Shown })
	return m.Outcomes[max(k, 0)]
}

// Alike are the other causes that no reading which the test takes tells from one that came
// about at a time: each tells by the same looks the same way. Of causes that no such look
// tells, they are the others that none tells. Each is named once, in the order of the search.
func (b *Base) Alike(f *Found, key, when string) []Cause {
	looks := b.Looks()
	var of []Tell
	found := false
	rows := make([][]Row, len(f.Members))
	for k := range f.Members {
		m := &f.Members[k]
		for j := range m.Outcomes {
			o := &m.Outcomes[j]
			if o.Group == "" {
				continue // it moves no air
			}
			r := b.row(looks, o)
			rows[k] = append(rows[k], r)
			if m.Key == key && o.When == when {
				of, found = r.Tells, true
			}
		}
	}
	var out []Cause
	for k := range f.Members {
		if m := &f.Members[k]; found && m.Key != key && slices.ContainsFunc(rows[k], func(r Row) bool { return slices.Equal(r.Tells, of) }) {
			out = append(out, m.Cause)
		}
	}
	slices.SortStableFunc(out, func(x, y Cause) int { return cmp.Compare(kindOrder(x.Kind), kindOrder(y.Kind)) })
	return out
}

func kindOrder(kind string) int {
	return slices.Index([]string{SettingCause, FailureCause, PairCause}, kind)
}
