package motion

import (
	"fmt"
	"math"
	"slices"
)

// Machine is a locomotive that pulls: by its motors, or by an effort measured at each speed.
type Machine struct {
	Name        string
	Axles       []Axle    // driven, whether in use or not; shares are of new wheels
	Wheels      []float64 // diameter of the wheels of each of Axles as a part of that for which Motor holds; nil: 1 each
	Out         []int     // numbers of axles whose motors are cut out
	Motor       Motor     // Speed and pull at the rail, m/s and N
	Mechanical  float64   // power at the rail for that of the armatures, 0..1
	Continuous  float64   // A, of one motor
	Generators  []Generator
	Groupings   []Grouping // from the lowest speed up
	Measured    *Curve     // effort at the rail, N, by speed, m/s; nil for a machine with motors
	Utilisation float64    // part of the adhesion that can be used, 0..1
	Starting    float64    // N, the highest effort of the record; 0: none is stated
	Fastest     float64    // m/s, beyond which it does not pull; 0: none is stated
	Derated     float64    // part of its power that is left, 0..1
}

// Generator feeds some of the axles. Power is electrical, of a machine that has lost none.
type Generator struct {
	Axles   []int
	Power   float64 // W
	Voltage float64 // V, highest
	Current float64 // A, highest
}

// Grouping is one way in which the motors are joined to their generators.
type Grouping struct {
	Strings [][]int // numbers of axles whose motors are in series
	Field   float64 // part of the current in the field, 0..1
	UpTo    float64 // m/s, at which it gives way to the next; 0: at none
}

// Point is what a machine does at a speed.
type Point struct {
	Speed      float64   `json:"speed"`      // m/s
	Effort     float64   `json:"effort"`     // N, at the rail
	Grouping   int       `json:"grouping"`   // index of Groupings; -1 for a measured effort or none
	Limit      string    `json:"limit"`      // what holds the effort there
	Generator  []float64 `json:"generator"`  // A, of each generator
	Voltage    []float64 `json:"voltage"`    // V, of each generator
	Strings    []Carried `json:"strings"`    // the strings in use and what they carry
	Electrical float64   `json:"electrical"` // W, of all generators; of a measured effort the power at the rail
}

// Carried is a string and its current.
type Carried struct {
	Axles   []int   `json:"axles"`
	Current float64 `json:"current"` // A
}

// Current is the highest current of any motor, A.
func (p Point) Current() float64 {
	i := 0.0
	for _, s := range p.Strings {
		i = math.Max(i, s.Current)
	}
	return i
}

// The limits of a Point.
const (
	ByAdhesion = "adhesion"
	ByStarting = "the highest effort of the record"
	ByPower    = "engine power"
	ByVoltage  = "generator voltage"
	ByCurrent  = "generator current"
	ByMeasured = "the measured effort"
	BySpeed    = "the highest speed of its motors"
	ByNoMotor  = "no motor in use"
)

// Weight is the weight on the driven axles, N.
func (m *Machine) Weight() float64 {
	w := 0.0
	for _, a := range m.Axles {
		w += a.Weight
	}
	return w
}

// Live are the driven axles that pull in a grouping.
func (m *Machine) Live(grouping int) []int {
	if m.Measured != nil {
		var out []int
		for _, a := range m.Axles {
			if !slices.Contains(m.Out, a.Number) {
				out = append(out, a.Number)
			}
		}
		return out
	}
	var out []int
	for _, g := range m.Generators {
		for _, s := range m.strings(grouping, g) {
			out = append(out, s...)
		}
	}
	slices.Sort(out)
	return out
}

// strings are those of a generator in a grouping that are in use: a motor cut out takes its
// string with it.
func (m *Machine) strings(grouping int, g Generator) [][]int {
	var out [][]int
	for _, s := range m.Groupings[grouping].Strings {
		if len(s) > 0 && slices.Contains(g.Axles, s[0]) && !slices.ContainsFunc(s, func(a int) bool { return slices.Contains(m.Out, a) }) {
			out = append(out, s)
		}
	}
	return out
}

func (m *Machine) axle(number int) (Axle, float64) {
	for i, a := range m.Axles {
		if a.Number == number {
			if i < len(m.Wheels) && m.Wheels[i] > 0 {
				return a, m.Wheels[i]
			}
			return a, 1
		}
	}
	return Axle{Number: number}, 1
}

// Check says what the machine lacks to be reckoned with. Nil: nothing.
func (m *Machine) Check() error {
	switch {
	case len(m.Axles) == 0:
		return fmt.Errorf("%s has no driven axle", m.Name)
	case !(m.Utilisation > 0):
		return fmt.Errorf("%s needs the utilisation of its adhesion", m.Name)
	case m.Measured != nil:
		return nil
	case len(m.Groupings) == 0 || len(m.Generators) == 0:
		return fmt.Errorf("%s needs its generators and the groupings of its motors", m.Name)
	case !(m.Mechanical > 0) || !(m.Continuous > 0) || !(m.Motor.Speed > 0) || len(m.Motor.Curve.x) == 0:
		return fmt.Errorf("%s needs its motor: magnetisation, continuous current, speed and efficiency", m.Name)
	}
	return nil
}

// At is the most that the machine does at a speed, m/s, on rail of an adhesion (0: not
// limited by it). Where the groupings do not say up to which speed they are used, the one
// that pulls most is.
func (m *Machine) At(speed, adhesion float64) Point {
	if m.Fastest > 0 && speed > m.Fastest+1e-9 {
		return Point{Speed: speed, Grouping: -1, Limit: BySpeed}
	}
	if m.Measured != nil {
		return m.measured(speed, adhesion)
	}
	if k := m.groupingAt(speed); k >= 0 {
		return m.in(k, speed, adhesion)
	}
	best := m.in(0, speed, adhesion)
	for k := 1; k < len(m.Groupings); k++ {
		if p := m.in(k, speed, adhesion); p.Effort > best.Effort*(1+1e-9) {
			best = p
		}
	}
	return best
}

// groupingAt is the grouping that the record gives for a speed, -1 where none says.
func (m *Machine) groupingAt(speed float64) int {
	for k, g := range m.Groupings {
		if g.UpTo > 0 && speed < g.UpTo {
			return k
		}
		if g.UpTo == 0 && k > 0 && m.Groupings[k-1].UpTo > 0 {
			return k
		}
	}
	if n := len(m.Groupings); n == 1 || m.Groupings[n-1].UpTo > 0 {
		return n - 1
	}
	return -1
}

func (m *Machine) measured(speed, adhesion float64) Point {
	p := Point{Speed: speed, Grouping: -1, Limit: ByMeasured, Effort: math.Max(0, m.Measured.At(speed)) * m.derated()}
	live := m.Live(-1)
	p.Effort *= float64(len(live)) / float64(len(m.Axles))
	if adhesion > 0 {
		w := 0.0
		for _, n := range live {
			a, _ := m.axle(n)
			w += a.Weight
		}
		if lim := adhesion * m.Utilisation * w; lim < p.Effort {
			p.Effort, p.Limit = lim, ByAdhesion
		}
	}
	if m.Starting > 0 && p.Effort > m.Starting {
		p.Effort, p.Limit = m.Starting, ByStarting
	}
	p.Electrical = p.Effort * speed
	return p
}

func (m *Machine) derated() float64 {
	if m.Derated > 0 {
		return m.Derated
	}
	return 1
}

// in is the most it does in one grouping.
func (m *Machine) in(grouping int, speed, adhesion float64) Point {
	p := Point{Speed: speed, Grouping: grouping, Limit: ByNoMotor}
	var lowest string
	effort := 0.0
	for _, g := range m.Generators {
		s := m.strings(grouping, g)
		one, limit := m.solve(g, s, m.Groupings[grouping].Field, speed, adhesion)
		if len(s) > 0 {
			lowest = limit
		}
		p.Generator = append(p.Generator, one.current)
		p.Voltage = append(p.Voltage, one.voltage)
		for i := range s {
			p.Strings = append(p.Strings, Carried{s[i], one.strings[i]})
		}
		p.Electrical += one.current * one.voltage
		effort += one.effort
	}
	if lowest != "" {
		p.Limit = lowest
	}
	p.Effort = effort
	return p
}

type fed struct {
	current, voltage, effort float64
	strings                  []float64
}

// solve is the most that one generator and its strings do at a speed. All of its limits
// are reached from below as the voltage rises, so that the first of them is the answer.
func (m *Machine) solve(g Generator, strings [][]int, field, speed, adhesion float64) (fed, string) {
	if len(strings) == 0 {
		return fed{}, ByNoMotor
	}
	perSpeed := make([]float64, len(strings)) // speed for which the curve holds, summed over the motors
	even := true
	for i, s := range strings {
		for _, n := range s {
			_, w := m.axle(n)
			perSpeed[i] += speed / (m.Motor.Speed * w)
		}
		even = even && len(s) == len(strings[0]) && perSpeed[i] == perSpeed[0]
	}
	// the pull that one axle may have
	atMost := math.Inf(1)
	if adhesion > 0 {
		for _, s := range strings {
			for _, n := range s {
				a, w := m.axle(n)
				atMost = math.Min(atMost, adhesion*m.Utilisation*a.Weight*w)
			}
		}
	}
	starting := math.Inf(1)
	if m.Starting > 0 {
		starting = m.Starting / float64(len(m.Axles))
	}
	power := g.Power * m.derated()
	voltage := func(i int, current float64) float64 {
		return current*m.Motor.Resistance*float64(len(strings[i])) + m.Motor.Curve.At(field*current)*perSpeed[i]
	}
	over := func(f fed, most float64) (float64, string) { // the worst use of a limit, and which
		pull := m.Mechanical * m.Motor.Pull(most, field)
		worst, what := f.current*f.voltage/power, ByPower
		for _, l := range []struct {
			use  float64
			what string
		}{{f.voltage / g.Voltage, ByVoltage}, {f.current / g.Current, ByCurrent}, {pull / atMost, ByAdhesion}, {pull / starting, ByStarting}} {
			if l.use > worst {
				worst, what = l.use, l.what
			}
		}
		return worst, what
	}
	var f fed
	f.strings = make([]float64, len(strings))
	what := ""
	if even {
		k := float64(len(strings))
		at := func(i float64) float64 {
			f.voltage, f.current = voltage(0, i), k*i
			w, n := over(f, i)
			what = n
			return w - 1
		}
		i := bisect40(0, g.Current/k, at)
		at(i)
		for s := range f.strings {
			f.strings[s] = i
		}
	} else {
		at := func(v float64) float64 {
			f.voltage, f.current = v, 0
			most := 0.0
			for s := range strings {
				i := bisect40(0, g.Current, func(i float64) float64 { return voltage(s, i) - v })
				f.strings[s] = i
				f.current += i
				most = math.Max(most, i)
			}
			w, n := over(f, most)
			what = n
			return w - 1
		}
		at(bisect40(0, g.Voltage, at))
	}
	for s, i := range f.strings {
		for _, n := range strings[s] {
			_, w := m.axle(n)
			f.effort += m.Mechanical * m.Motor.Pull(i, field) / w
		}
	}
	return f, what
}

// bisect40 finds where f, rising, crosses zero, to 1e-9 of the span; the upper end where it
// does not.
func bisect40(lo, hi float64, f func(float64) float64) float64 {
	if f(hi) <= 0 {
		return hi
	}
	for range 30 {
		mid := (lo + hi) / 2
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// AtCurrent is what the machine does at full power when each string in use carries a
// current, in a grouping: the row of the table that a driver needs. The speed is that at
// which it does so; an error where no string is left. All wheels are taken as new.
func (m *Machine) AtCurrent(grouping int, current float64) (Point, error) {
	if m.Measured != nil {
		return Point{}, fmt.Errorf("%s is described by a measured effort, without currents", m.Name)
	}
	p := Point{Grouping: grouping, Limit: ByPower}
	field := m.Groupings[grouping].Field
	speed := math.Inf(1)
	for _, g := range m.Generators {
		s := m.strings(grouping, g)
		if len(s) == 0 {
			p.Generator, p.Voltage = append(p.Generator, 0), append(p.Voltage, 0)
			continue
		}
		i := float64(len(s)) * current
		u := math.Min(g.Power*m.derated()/i, g.Voltage)
		if u == g.Voltage {
			p.Limit = ByVoltage
		}
		p.Generator, p.Voltage = append(p.Generator, i), append(p.Voltage, u)
		p.Electrical += i * u
		n := float64(len(s[0]))
		speed = math.Min(speed, m.Motor.Speed*(u/n-current*m.Motor.Resistance)/m.Motor.Curve.At(field*current))
		for _, x := range s {
			p.Strings = append(p.Strings, Carried{x, current})
			p.Effort += float64(len(x)) * m.Mechanical * m.Motor.Pull(current, field)
		}
	}
	if len(p.Strings) == 0 {
		return Point{}, fmt.Errorf("%s has no motor in use", m.Name)
	}
	p.Speed = math.Max(0, speed)
	return p, nil
}

// ContinuousPoint is the lowest speed at which it can pull at full power for as long as it
// will: each motor at its continuous current in the first grouping. For a measured effort
// there is none, and an error.
func (m *Machine) ContinuousPoint() (Point, error) {
	if err := m.Check(); err != nil {
		return Point{}, err
	}
	return m.AtCurrent(0, m.Continuous)
}

// AmmeterAt is what an ammeter shows: of the generator that feeds an axle when the axles
// are none or one, of the string that has exactly these axles otherwise. False when the
// string is not in use, and the ammeter reads nothing.
func (m *Machine) AmmeterAt(p Point, axles []int, generator int) (float64, bool) {
	if len(axles) == 0 {
		if generator >= len(p.Generator) {
			return 0, false
		}
		return p.Generator[generator], p.Generator[generator] > 0
	}
	for _, s := range p.Strings {
		if slices.Equal(s.Axles, axles) {
			return s.Current, true
		}
	}
	return 0, false
}
