package rule

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
)

// Duty is what a unit is wanted for. Lead is told apart by the headstock in front, because
// a cab, a headlight or a rail guard serves one direction only. Move is any movement at
// all, shunting included.
type Duty int

// The duties.
const (
	Lead1 Duty = iota // leads with headstock 1 in front
	Lead2             // leads with headstock 2 in front
	Trail
	Hauled
	Move
)

// Duties are all of them in order.
func Duties() []Duty { return []Duty{Lead1, Lead2, Trail, Hauled, Move} }

func (d Duty) String() string {
	return [...]string{"lead with headstock 1 in front", "lead with headstock 2 in front", "trail", "be hauled", "move"}[d]
}

// Axis is one limit of a restriction with the rules that give it. The zero value is no
// limit.
type Axis struct {
	Set   bool     `json:"set"`
	Value float64  `json:"value"`        // SI; a share for load share; days since year 0 for a day
	By    []string `json:"by,omitempty"` // ids of the rules, in the order of the alphabet
}

// Clause is something in words that holds, with the rules that say so.
type Clause struct {
	Text string   `json:"text"`
	By   []string `json:"by"`
}

// Restriction is what a rule, or several together, leave of a unit's freedom. On every
// axis the lower value is the stricter. The zero value restricts nothing.
type Restriction struct {
	Barred     [5][]string // by duty: the rules that bar it
	Speed      Axis        // m/s, at most
	LoadShare  Axis        // of what it may otherwise haul, at most
	LoadMass   Axis        // kg, at most
	Distance   Axis        // m, at most
	LastDay    Axis        // day number (see Day): the last day on which it may run so
	Until      []Clause    // events, whichever comes first
	Conditions []Clause    // what must hold, all of it
}

// Bars says whether a duty is barred. Whoever must not move can do nothing else either.
func (r Restriction) Bars(d Duty) bool { return len(r.Barred[d]) > 0 || len(r.Barred[Move]) > 0 }

// None says whether nothing is restricted.
func (r Restriction) None() bool {
	for _, b := range r.Barred {
		if len(b) > 0 {
			return false
		}
	}
	return !r.Speed.Set && !r.LoadShare.Set && !r.LoadMass.Set && !r.Distance.Set && !r.LastDay.Set && len(r.Until) == 0 && len(r.Conditions) == 0
}

// And is both restrictions together: on every axis the stricter, with the rule that gives
// it; where both give the same, with both. It is the same in any order and grouping, and
// a restriction with itself is itself.
func (r Restriction) And(o Restriction) Restriction {
	out := Restriction{
		Speed:      stricter(r.Speed, o.Speed),
		LoadShare:  stricter(r.LoadShare, o.LoadShare),
		LoadMass:   stricter(r.LoadMass, o.LoadMass),
		Distance:   stricter(r.Distance, o.Distance),
		LastDay:    stricter(r.LastDay, o.LastDay),
		Until:      clauses(r.Until, o.Until),
		Conditions: clauses(r.Conditions, o.Conditions),
	}
	for d := range r.Barred {
		out.Barred[d] = union(r.Barred[d], o.Barred[d])
	}
	return out
}

func stricter(a, b Axis) Axis {
	switch {
	case !a.Set:
		return b
	case !b.Set || a.Value < b.Value:
		return a
	case b.Value < a.Value:
		return b
	}
	a.By = union(a.By, b.By)
	return a
}

// union is the words of both in the order of the alphabet, each once; nil for none.
func union(a, b []string) []string {
	if len(b) == 0 {
		return a
	}
	if len(a) == 0 {
		return b
	}
	out := slices.Concat(a, b)
	slices.Sort(out)
	return slices.Compact(out)
}

func clauses(a, b []Clause) []Clause {
	if len(b) == 0 {
		return a
	}
	if len(a) == 0 {
		return b
	}
	out := slices.Clone(a)
	for _, c := range b {
		if i := slices.IndexFunc(out, func(x Clause) bool { return x.Text == c.Text }); i >= 0 {
			out[i].By = union(out[i].By, c.By)
			continue
		}
		out = append(out, c)
	}
	slices.SortFunc(out, func(x, y Clause) int { return strings.Compare(x.Text, y.Text) })
	return out
}

// Day is the number of a day of the calendar written 2026-03-01, counted so that the next
// day is one more; false when it is no such day.
func Day(date string) (int, bool) {
	if len(date) != 10 || date[4] != '-' || date[7] != '-' {
		return 0, false
	}
	n := func(s string) int {
		v := 0
		for _, r := range s {
			if r < '0' || r > '9' {
				return -1
			}
			v = v*10 + int(r-'0')
		}
		return v
	}
	y, m, d := n(date[:4]), n(date[5:7]), n(date[8:])
	if y < 1 || m < 1 || m > 12 || d < 1 || d > daysOf(y, m) {
		return 0, false
	}
	days := (y-1)*365 + (y-1)/4 - (y-1)/100 + (y-1)/400
	for k := 1; k < m; k++ {
		days += daysOf(y, k)
	}
	return days + d, true
}

func daysOf(y, m int) int {
	if m == 2 && y%4 == 0 && (y%100 != 0 || y%400 == 0) {
		return 29
	}
	return []int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[m-1]
}

// Date writes a day number as 2026-03-01.
func Date(day int) string {
	y, rest := 1, day
	for {
		n := 365
		if daysOf(y, 2) == 29 {
			n = 366
		}
		if rest <= n {
			break
		}
		rest -= n
		y++
	}
	m := 1
	for rest > daysOf(y, m) {
		rest -= daysOf(y, m)
		m++
	}
	digits := func(v, n int) string {
		s := ""
		for range n {
			s = string(rune('0'+v%10)) + s
			v /= 10
		}
		return s
	}
	return digits(y, 4) + "-" + digits(m, 2) + "-" + digits(rest, 2)
}

// maxDays keeps a term inside the calendar.
const maxDays = 36600

// lastDay is the last day of a term of so many seconds that began on a day: the day it
// began is the first. A part of a day is no day.
func lastDay(began int, term float64) int {
	return began + int(math.Min(math.Floor(term/86400+1e-9), maxDays)) - 1
}

// MarshalJSON writes the axes that are set, SI, and the last day as a date.
func (r Restriction) MarshalJSON() ([]byte, error) {
	type limit struct {
		Value any      `json:"value"`
		By    []string `json:"by"`
	}
	type bar struct {
		Duty string   `json:"duty"`
		By   []string `json:"by"`
	}
	var out struct {
		Bars       []bar    `json:"bars,omitempty"`
		Speed      *limit   `json:"speed,omitempty"`
		LoadShare  *limit   `json:"load_share,omitempty"`
		LoadMass   *limit   `json:"load_mass,omitempty"`
		Distance   *limit   `json:"distance,omitempty"`
		LastDay    *limit   `json:"last_day,omitempty"`
		Until      []Clause `json:"until,omitempty"`
		Conditions []Clause `json:"conditions,omitempty"`
	}
	for d, by := range r.Barred {
		if len(by) > 0 {
			out.Bars = append(out.Bars, bar{Duty(d).String(), by})
		}
	}
	axis := func(a Axis) *limit {
		if !a.Set {
			return nil
		}
		return &limit{a.Value, a.By}
	}
	out.Speed, out.LoadShare, out.LoadMass, out.Distance = axis(r.Speed), axis(r.LoadShare), axis(r.LoadMass), axis(r.Distance)
	if out.LastDay = axis(r.LastDay); out.LastDay != nil {
		out.LastDay.Value = Date(int(r.LastDay.Value))
	}
	out.Until, out.Conditions = r.Until, r.Conditions
	return json.Marshal(out)
}
