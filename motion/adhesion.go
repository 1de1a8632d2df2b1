package motion

import (
	"math"
	"slices"
	"strings"
)

// Rail is a state of the rail with the adhesion that may be reckoned with in pulling, as a
// part of the weight on the driven axles. It is taken as the same at every speed: the tests
// of koffman-1948 found it so up to 65 km/h.
type Rail struct {
	Name     string  `json:"name"`
	Adhesion float64 `json:"adhesion"` // 0 to 1
	Source   string  `json:"source"`
	Sanded   bool    `json:"sanded"`
}

// Rails are the states of the rail, the best first. Where the source gives a span its
// lower end is taken.
func Rails() []Rail {
	return []Rail{
		{"dry sanded", 0.30, "traction-exam", true},
		{"dry", 0.25, "traction-exam", false},
		{"moist", 0.20, "traction-exam", false},
		{"wet sanded", 0.20, "from memory", true}, // wet with the 0.05 that sand adds at least
		{"wet", 0.15, "koffman-1948", false},      // 0.6 of dry
		{"leaves or frost", 0.05, "from memory", false},
	}
}

// RailNames are the names of Rails.
func RailNames() []string {
	var out []string
	for _, r := range Rails() {
		out = append(out, r.Name)
	}
	return out
}

// RailNamed finds a state of the rail by its name, in any letters.
func RailNamed(name string) (Rail, bool) {
	rs := Rails()
	i := slices.IndexFunc(rs, func(r Rail) bool { return strings.EqualFold(r.Name, name) })
	if i < 0 {
		return Rail{}, false
	}
	return rs[i], true
}

// WetShare is wet adhesion as a part of dry (koffman-1948).
const WetShare = 0.6

// CurtiusKniffler is the adhesion of dry rail by the curve of that name at a speed in m/s
// (curtius-kniffler).
func CurtiusKniffler(v float64) float64 { return 7.5/(v/kmh+44) + 0.161 }

// SovietDiesel is the adhesion of diesel-electric locomotives by the rules ptr.
func SovietDiesel(v float64) float64 { return 0.118 + 5/(27.5+v/kmh) }

// Axle is one driven axle: the weight on it at rest, N, and the effort of its motor as a
// part of that of the motor that pulls least.
type Axle struct {
	Number int
	Bogie  int
	Weight float64 // N
	Share  float64 // effort for the effort of a motor of a new wheel, > 0
}

// Frame is what moves weight between axles when a locomotive pulls. All in m, over rail
// where it is a height.
type Frame struct {
	Coupler  float64 // height of the coupling
	Traction float64 // height at which a bogie pulls the body
	Centres  float64 // between bogie centres
	Base     float64 // between the outer axles of a bogie
}

// Transfer is the weight on each axle, N, while the locomotive pulls with a force at the
// coupling, N, its first axle leading. The pull above the height of traction tips the body
// back: the leading bogie loses F (hc - ht)/L and the trailing one gains it. Within a bogie
// the force at the height of traction tips it back as well: of its axles the leading loses
// and the last gains f ht/base, those between in proportion to how far they stand from the
// middle. Suspension of the motors by their noses is left out. Axles are in running order,
// in bogies numbered from 1 of as many axles each; a frame without bogies (Centres 0) is
// one rigid body on its axles.
func (f Frame) Transfer(axles []Axle, force float64) []float64 {
	out := make([]float64, len(axles))
	bogies := map[int][]int{}
	last := 0
	for i, a := range axles {
		out[i] = a.Weight
		bogies[a.Bogie] = append(bogies[a.Bogie], i)
		last = max(last, a.Bogie)
	}
	tip := func(is []int, moment float64) { // over the base, backwards
		n := len(is)
		if n < 2 || f.Base <= 0 {
			return
		}
		// arms from the middle, from +base/2 (leading) to -base/2
		sum := 0.0
		arm := func(k int) float64 { return f.Base * (0.5 - float64(k)/float64(n-1)) }
		for k := range is {
			sum += arm(k) * arm(k)
		}
		for k, i := range is {
			out[i] -= moment * arm(k) / sum
		}
	}
	if f.Centres <= 0 || last < 2 {
		for b := range last + 1 {
			tip(bogies[b], force*f.Coupler)
		}
		return out
	}
	body := force * (f.Coupler - f.Traction) / f.Centres
	for b := 1; b <= last; b++ {
		is := bogies[b]
		part := force * float64(len(is)) / float64(len(axles))
		shift := 0.0
		switch b {
		case 1:
			shift = -body
		case last:
			shift = body
		}
		for _, i := range is {
			out[i] += shift / float64(len(is))
		}
		tip(is, part*f.Traction)
	}
	return out
}

// Slip is one axle and the effort of the locomotive at which it begins to slip.
type Slip struct {
	Axle   int     `json:"axle"`
	Effort float64 `json:"effort"` // N, of the whole locomotive
	Weight float64 `json:"weight"` // N, on the axle then
}

// Slipping is the order in which the axles slip as the effort rises on rail of an adhesion:
// the first is the one that limits the locomotive. The motors share the effort in
// proportion to their Share.
func (f Frame) Slipping(axles []Axle, adhesion float64) []Slip {
	shares := 0.0
	for _, a := range axles {
		shares += a.Share
	}
	var out []Slip
	for i, a := range axles {
		// the effort at which share·F = adhesion·weight(F); both are straight in F
		w0 := a.Weight
		slope := f.Transfer(axles, 1)[i] - w0
		d := a.Share/shares - adhesion*slope
		e := math.Inf(1)
		if d > 0 {
			e = adhesion * w0 / d
		}
		out = append(out, Slip{a.Number, e, w0 + slope*e})
	}
	slices.SortStableFunc(out, func(a, b Slip) int {
		switch {
		case a.Effort < b.Effort:
			return -1
		case a.Effort > b.Effort:
			return 1
		}
		return a.Axle - b.Axle
	})
	return out
}

// Utilisation is the effort at which the first axle slips, as a part of the adhesion of all
// the weight.
func (f Frame) Utilisation(axles []Axle, adhesion float64) float64 {
	w := 0.0
	for _, a := range axles {
		w += a.Weight
	}
	s := f.Slipping(axles, adhesion)
	if len(s) == 0 || w == 0 {
		return 0
	}
	return s[0].Effort / (adhesion * w)
}
