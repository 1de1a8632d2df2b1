package reference

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Figure is one result, by the name that cases use.
type Figure struct {
	Name  string
	Value float64
}

// figure is a name taken apart.
type figure struct {
	what     string  // p, tank, drop, fill, vent, speed, gradient, flow, leak, lowest, recovery
	place    string  // head, mid, tail, tank_first, tank_last
	at       float64 // s, or Pa of a drop
	from, to int     // vehicles from 1
}

// parseFigure reads the name of a result; the spec says what such a case can have.
func parseFigure(name string, s *Spec) (figure, error) {
	bad := fmt.Errorf("result %q is not one that a case can state", name)
	switch name {
	case "gradient_end_Pa":
		return figure{what: "gradient"}, nil
	case "flow_head_end_kg_s":
		return figure{what: "flow"}, nil
	case "leak_first_minute_kPa_min":
		return figure{what: "leak", at: 60}, nil
	case "leak_second_minute_kPa_min":
		return figure{what: "leak", at: 120}, nil
	case "p_head_min_Pa":
		return figure{what: "lowest"}, nil
	case "p_head_end_minus_min_Pa":
		return figure{what: "recovery"}, nil
	}
	f := strings.Split(name, "_")
	number := func(s, unit string) (float64, bool) {
		s, ok := strings.CutSuffix(s, unit)
		v, err := strconv.ParseFloat(s, 64)
		return v, ok && err == nil && v >= 0
	}
	place := func(s string) bool { return s == "head" || s == "mid" || s == "tail" }
	vehicle := func(s string) (int, bool) {
		v, err := strconv.Atoi(s)
		return v, err == nil
	}
	switch {
	case len(f) == 4 && f[0] == "p" && place(f[1]) && f[3] == "Pa":
		if v, ok := number(f[2], "s"); ok {
			return figure{what: "p", place: f[1], at: v}, nil
		}
	case len(f) == 4 && f[0] == "tank" && (f[1] == "first" || f[1] == "last") && f[3] == "Pa" && s.Branch != nil:
		if v, ok := number(f[2], "s"); ok {
			return figure{what: "p", place: "tank_" + f[1], at: v}, nil
		}
	case len(f) == 4 && f[0] == "t" && place(f[1]) && f[2] == "90pct" && f[3] == "s":
		return figure{what: "fill", place: f[1]}, nil
	case len(f) == 5 && f[0] == "t" && f[1] == "tank" && (f[2] == "first" || f[2] == "last") && f[3] == "90pct" && f[4] == "s" && s.Branch != nil:
		return figure{what: "fill", place: "tank_" + f[2]}, nil
	case len(f) == 4 && f[0] == "t" && place(f[1]) && strings.HasPrefix(f[2], "drop") && f[3] == "s":
		if v, ok := number(strings.TrimPrefix(f[2], "drop"), "kPa"); ok {
			return figure{what: "drop", place: f[1], at: v * 1e3}, nil
		}
	case len(f) == 5 && strings.HasPrefix(name, "t_vent_vehicle_") && f[4] == "s" && s.Vent != nil:
		if v, ok := vehicle(f[3]); ok && v >= 1 && v <= s.Vehicles {
			return figure{what: "vent", from: v}, nil
		}
	case len(f) == 7 && strings.HasPrefix(name, "vent_speed_") && f[3] == "to" && f[5] == "m" && f[6] == "s" && s.Vent != nil:
		a, ok1 := vehicle(f[2])
		b, ok2 := vehicle(f[4])
		if ok1 && ok2 && a >= 1 && b > a && b <= s.Vehicles {
			return figure{what: "speed", from: a, to: b}, nil
		}
	}
	return figure{}, bad
}

// breaks are the moments that a run must land on, in order: where a programme bends and
// where a result is read.
func breaks(s *Spec, figures []figure) []float64 {
	out := []float64{s.End}
	add := func(t float64) {
		if t > 0 && t < s.End {
			out = append(out, t)
		}
	}
	for _, rows := range [][]Row{s.Head, s.Tail} {
		for _, r := range rows {
			add(r.T)
			add(r.T + r.Ramp)
		}
	}
	for _, f := range figures {
		if f.what == "p" || f.what == "leak" {
			add(f.at)
		}
	}
	if slices.ContainsFunc(figures, func(f figure) bool { return f.what == "leak" && f.at > 60 }) {
		add(60)
	}
	slices.Sort(out)
	same := func(a, b float64) bool { return math.Abs(b-a) < 1e-9 }
	return slices.CompactFunc(out, same)
}

// Outcome is what a run of a case gave.
type Outcome struct {
	Figures []Figure // in the order asked; a moment that never came is NaN
	Cells   int      // to a vehicle
	Steps   int
	Audit   float64 // mass that cannot be accounted for, as a share of that at the start
}

// Solver is anything that can run the pipe of a spec and be looked at on the way.
type Solver interface {
	// Step runs for one step of at most limit seconds.
	Step(limit float64) error
	// Time since the start, s.
	Time() float64
	// Pressures at head, middle and tail, Pa absolute.
	Pressures() (head, mid, tail float64)
	// HeadFlow into the pipe at its head, kg/s.
	HeadFlow() float64
	// Tank is the pressure of a reservoir, by its order along the pipe, Pa absolute.
	Tank(i int) float64
	// Opened is when the triggered vent of a vehicle (from 0) opened, and whether it did.
	Opened(vehicle int) (float64, bool)
}

// Run runs a spec with cells to a vehicle and reads the named results.
func Run(s Spec, cells int, names []string) (Outcome, error) {
	p, err := New(s, cells)
	if err != nil {
		return Outcome{}, err
	}
	m := p.Mass()
	out := Outcome{Cells: cells}
	out.Figures, err = Observe(s, p, names)
	out.Steps = p.steps
	left, _ := p.Left()
	out.Audit = (p.Mass() + left - m) / m
	return out, err
}

// Observe runs a solver, which stands at the start of a spec, to its end and reads the
// named results. Moments at which a pressure is passed are found by a straight line
// within the step.
func Observe(s Spec, p Solver, names []string) ([]Figure, error) {
	figures := make([]figure, len(names))
	for i, n := range names {
		f, err := parseFigure(n, &s)
		if err != nil {
			return nil, err
		}
		figures[i] = f
	}
	tanks := 0
	if s.Branch != nil {
		tanks = len(s.Branch.Vehicles)
		if tanks == 0 {
			tanks = s.Vehicles
		}
	}
	full := s.Start
	for _, r := range s.Head {
		if r.Mode == "feed" {
			full = max(full, r.Pressure)
		}
	}
	value := make([]float64, len(names))
	for i := range value {
		value[i] = math.NaN()
	}
	places := [5]string{"head", "mid", "tail", "tank_first", "tank_last"}
	read := func() (v [5]float64) {
		v[0], v[1], v[2] = p.Pressures()
		if tanks > 0 {
			v[3], v[4] = p.Tank(0), p.Tank(tanks-1)
		}
		return v
	}
	now := read()
	lowest := now[0]
	marks := map[float64]float64{0: now[0]} // head pressure at 0, 60 and 120 s
	for _, stop := range breaks(&s, figures) {
		for p.Time() < stop-1e-9 {
			t0, last := p.Time(), now
			if err := p.Step(stop - t0); err != nil {
				return nil, err
			}
			now = read()
			lowest = min(lowest, now[0])
			for i, f := range figures {
				if !math.IsNaN(value[i]) || f.what != "drop" && f.what != "fill" {
					continue
				}
				j := slices.Index(places[:], f.place)
				level, sign := s.Start-f.at, -1.0
				if f.what == "fill" {
					level, sign = s.Start+0.9*(full-s.Start), 1
				}
				if a, b := sign*(last[j]-level), sign*(now[j]-level); b >= 0 {
					k := 1.0
					if b > a {
						k = max(0, -a/(b-a))
					}
					value[i] = t0 + k*(p.Time()-t0)
				}
			}
		}
		marks[math.Round(stop*1e9)/1e9] = now[0]
		for i, f := range figures {
			if f.what == "p" && math.Abs(f.at-stop) < 1e-9 {
				value[i] = now[slices.Index(places[:], f.place)]
			}
		}
	}
	for i, f := range figures {
		switch f.what {
		case "gradient":
			value[i] = now[0] - now[2]
		case "flow":
			value[i] = p.HeadFlow()
		case "lowest":
			value[i] = lowest
		case "recovery":
			value[i] = now[0] - lowest
		case "leak":
			a, ok1 := marks[f.at-60]
			b, ok2 := marks[f.at]
			if ok1 && ok2 {
				value[i] = (a - b) / 1e3
			}
		case "vent":
			if t, ok := p.Opened(f.from - 1); ok {
				value[i] = t
			}
		case "speed":
			a, ok1 := p.Opened(f.from - 1)
			b, ok2 := p.Opened(f.to - 1)
			if ok1 && ok2 {
				value[i] = float64(f.to-f.from) * s.VehiclePipe / (b - a)
			}
		}
	}
	out := make([]Figure, len(names))
	for i, n := range names {
		out[i] = Figure{n, value[i]}
	}
	return out, nil
}
