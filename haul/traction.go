package haul

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/motion"
)

// Engine is a locomotive of a train that pulls, made ready for motion.
type Engine struct {
	Vehicle int             `json:"vehicle"` // index in the train
	Name    string          `json:"name"`
	Machine *motion.Machine `json:"-"`
	Heat    motion.Heating  `json:"-"`      // of its motors; the zero one where the record does not say
	Frame   motion.Frame    `json:"-"`      // what moves weight between its axles; Centres 0 on one frame
	Framed  bool            `json:"-"`      // the record holds all of Frame
	Out     []int           `json:"out"`    // axles cut out, as their device stands
	OutBy   string          `json:"out_by"` // the position of that device
	Weak    []string        `json:"weak"`   // what in the reckoning is weaker than asked
	record  *fleet.Traction
}

// Weather is what the air and the height do to an engine.
type Weather struct {
	Height float64 // m above the sea
	Air    float64 // K; 0: 288 K
}

// Mild is the weather in which nothing is lost.
func Mild() Weather { return Weather{0, 288.15} }

// EngineOf makes a locomotive ready, as the devices of the consist stand: what its motor
// cut-out takes out is out. An error is a *CannotSay.
func EngineOf(c *consist.Consist, vehicle int, w Weather) (*Engine, error) {
	v := c.Vehicles[vehicle]
	t := v.Class.Traction
	if t == nil {
		return nil, &CannotSay{[]string{"traction of class " + v.Class.Name}}
	}
	e := &Engine{Vehicle: vehicle, Name: v.Name(), record: t}
	for _, d := range c.Devices(vehicle, "motor-cut-out") {
		at, ok := c.Position(vehicle, d.ID)
		if !ok || at == d.Normal {
			continue
		}
		k := slices.IndexFunc(t.CutOut, func(k fleet.CutOut) bool { return k.Position == at })
		if k < 0 {
			return nil, &CannotSay{[]string{fmt.Sprintf("what %s %q takes out, in the traction of class %s", d.Name, at, v.Class.Name)}}
		}
		e.Out, e.OutBy = append(e.Out, t.CutOut[k].Axles...), at
	}
	var err error
	if e.Machine, err = machineOf(v.Class, e.Name, w); err != nil {
		return nil, err
	}
	e.Machine.Out = e.Out
	tau, _ := t.Figure("time constant")
	rest, _ := t.Figure("time constant at rest")
	e.Heat = motion.Heating{Tau: tau, Rest: rest}
	e.Frame, e.Framed = frameOf(v, t)
	if t.Aspiration == "" {
		e.Weak = append(e.Weak, "its record does not say how the engine breathes: no power is taken off for height or heat")
	}
	return e, nil
}

// machineOf is the machine of a class, whole; an error is a *CannotSay that names all that
// its record lacks.
func machineOf(c *fleet.Class, name string, w Weather) (*motion.Machine, error) {
	t := c.Traction
	var lacks []string
	need := func(key string) float64 {
		v, ok := t.Figure(key)
		if !ok {
			lacks = append(lacks, key)
		}
		return v
	}
	m := &motion.Machine{Name: name, Utilisation: need("utilisation"), Derated: 1}
	m.Fastest, _ = t.Figure("fastest")
	if t.Aspiration != "" {
		air := w.Air
		if air == 0 {
			air = 288.15
		}
		m.Derated = motion.Derate(motion.Aspiration(t.Aspiration), w.Height, air)
	}
	if f, ok := c.Fact("tractive effort"); ok && f.Figure != nil {
		m.Starting = f.Figure.SI
	}
	n, ok := c.Axles()
	if !ok || c.Mass == 0 {
		lacks = append(lacks, "mass and axles in its identity")
	}
	half := (n + 1) / 2
	for k := range n {
		bogie := 1
		if k >= half && n > 3 {
			bogie = 2
		}
		m.Axles = append(m.Axles, motion.Axle{Number: k + 1, Bogie: bogie, Weight: c.Mass * motion.Gravity / float64(n), Share: 1})
	}
	if t.Form == "measured effort" {
		curve, err := motion.NewCurve(t.Effort)
		if err != nil {
			lacks = append(lacks, "effort at each speed")
		}
		m.Measured = &curve
		return m, without(c, lacks)
	}
	// the engine loses power, not what hangs on it before the generator
	gross, aux, eff := need("engine power"), need("auxiliaries"), need("generator efficiency")
	volts, amps := need("generator voltage"), need("generator current")
	whole := (gross - aux) * eff
	if whole > 0 {
		m.Derated = max(0, (gross*m.Derated-aux)*eff/whole)
	}
	for _, g := range t.Generators {
		m.Generators = append(m.Generators, motion.Generator{Axles: g, Power: whole, Voltage: volts, Current: amps})
	}
	for _, s := range t.Steps {
		m.Groupings = append(m.Groupings, motion.Grouping{Strings: s.Strings, Field: s.Field, UpTo: s.UpTo})
	}
	m.Continuous, m.Mechanical = need("motor current"), need("mechanical efficiency")
	u, drop, speed := need("motor voltage"), need("motor drop"), need("continuous speed")
	if len(m.Generators) == 0 {
		lacks = append(lacks, "generators")
	}
	if len(m.Groupings) == 0 {
		lacks = append(lacks, "steps")
	}
	var pts [][2]float64
	for _, p := range t.Field {
		pts = append(pts, [2]float64{p[0] * m.Continuous, p[1] * (u - drop)})
	}
	if len(lacks) == 0 {
		curve, err := motion.NewCurve(pts)
		if err != nil {
			lacks = append(lacks, "magnetisation")
		}
		m.Motor = motion.Motor{Curve: curve, Speed: speed, Resistance: drop / m.Continuous}
	}
	return m, without(c, lacks)
}

func without(c *fleet.Class, lacks []string) error {
	if len(lacks) == 0 {
		return nil
	}
	var out []string
	for _, l := range lacks {
		out = append(out, fmt.Sprintf("%s in the traction of class %s", l, c.Name))
	}
	return &CannotSay{out}
}

// frameOf is what moves weight between the axles of a locomotive.
func frameOf(v *consist.Vehicle, t *fleet.Traction) (motion.Frame, bool) {
	f := motion.Frame{Coupler: v.Class.Ends[v.Rear()-1].Height}
	fact := func(name string) float64 {
		if x, ok := v.Class.Fact(name); ok && x.Figure != nil {
			return x.Figure.SI
		}
		return 0
	}
	f.Centres = fact("bogie centres")
	if f.Centres == 0 {
		f.Base = fact("wheelbase")
		return f, f.Base > 0 && f.Coupler > 0
	}
	f.Base, _ = t.Figure("bogie wheelbase")
	f.Traction, _ = t.Figure("traction height")
	return f, f.Base > 0 && f.Traction > 0 && f.Coupler > 0
}

// Slipping is the order in which the axles of the locomotive slip, on rail of an adhesion,
// when it pulls with its headstock 1 leading or trailing. Axles are numbered from headstock
// 1. False where the record does not hold its heights and wheelbases.
func (e *Engine) Slipping(adhesion float64, reversed bool) ([]motion.Slip, bool) {
	if !e.Framed {
		return nil, false
	}
	axles := slices.Clone(e.Machine.Axles)
	if reversed {
		slices.Reverse(axles)
		last := axles[0].Bogie
		for i := range axles {
			axles[i].Bogie = last + 1 - axles[i].Bogie
		}
	}
	for i := range axles {
		if slices.Contains(e.Out, axles[i].Number) {
			axles[i].Share = 0
		}
	}
	out := slices.DeleteFunc(e.Frame.Slipping(axles, adhesion), func(s motion.Slip) bool { return slices.Contains(e.Out, s.Axle) })
	return out, true
}

// Engines are the locomotives of a train that pull, made ready. The error is a
// *CannotSay: no locomotive pulls, or a record lacks how.
func (t *Train) Engines(w Weather) ([]*Engine, error) {
	var out []*Engine
	var needs []string
	for i := range t.Vehicles {
		if !t.Vehicles[i].Pulls() {
			continue
		}
		e, err := EngineOf(t.Consist, i, w)
		if err != nil {
			if x, ok := err.(*CannotSay); ok {
				for _, n := range x.Needs {
					if !slices.Contains(needs, n) {
						needs = append(needs, n)
					}
				}
				continue
			}
			return nil, err
		}
		out = append(out, e)
	}
	if len(needs) > 0 {
		return nil, &CannotSay{needs}
	}
	if len(out) == 0 {
		return nil, &CannotSay{[]string{"a locomotive that pulls: one that leads, is alone, trails or assists"}}
	}
	return out, nil
}

// Meter is what the ammeter of a cab shows of a point.
type Meter struct {
	Says    string  `json:"says"`    // "generator", or "motors 2 and 5"
	Current float64 `json:"current"` // A
	Reads   bool    `json:"reads"`   // false: it shows nothing though the locomotive pulls
}

// Meters are what the ammeters of the locomotive show at a point: one, or one of each
// generator.
func (e *Engine) Meters(p motion.Point) []Meter {
	t := e.record
	if t.Ammeter == "" || e.Machine.Measured != nil {
		return nil
	}
	if t.Ammeter == "generator" {
		var out []Meter
		for k := range p.Generator {
			says := "generator"
			if len(p.Generator) > 1 {
				says = fmt.Sprintf("generator %d", k+1)
			}
			i, ok := e.Machine.AmmeterAt(p, nil, k)
			out = append(out, Meter{says, i, ok})
		}
		return out
	}
	var axles []int
	says := "motors"
	for _, w := range strings.Fields(t.Ammeter) {
		if n, err := strconv.Atoi(w); err == nil {
			axles = append(axles, n)
		}
	}
	for k, a := range axles {
		if k > 0 {
			says += " and"
		}
		says += fmt.Sprintf(" %d", a)
	}
	i, ok := e.Machine.AmmeterAt(p, axles, 0)
	return []Meter{{says, i, ok}}
}

// PullRow is one row of the table that a driver needs: what each meter shows and what the
// motors carry, at full power.
type PullRow struct {
	Point    motion.Point `json:"point"`
	Grouping string       `json:"grouping"`
	Meters   []Meter      `json:"meters"`
	Motor    float64      `json:"motor"` // A, of one motor
	Plate    float64      `json:"plate"` // s for which the plate allows it; 0 without end, -1 beyond the plate or none
	Lasts    bool         `json:"lasts"` // the model finds an end to it
	Model    float64      `json:"model"` // s until the rated rise, where it does, from a motor that has run long at nine tenths of its continuous current
}

// warmLoad is the load at which a motor is taken to have run before a short-time rating is
// used: nine tenths of continuous, a rise of 0.81 (haul plates look so; from memory).
const warmLoad = 0.9

// PullTable are rows for currents from the highest of the generator down, in each
// grouping. The error is an effort that the record gives as measured, without currents.
func (e *Engine) PullTable() ([]PullRow, error) {
	m := e.Machine
	if m.Measured != nil {
		return nil, nil
	}
	var out []PullRow
	for k := range m.Groupings {
		for _, x := range []float64{1.4, 1.3, 1.2, 1.1, 1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4} {
			p, err := m.AtCurrent(k, x*m.Continuous)
			if err != nil {
				return nil, err
			}
			over := false
			for i, g := range p.Generator {
				over = over || g > m.Generators[i].Current
			}
			g := m.Groupings[k]
			if over || p.Speed <= 0 || g.UpTo > 0 && p.Speed > g.UpTo || k > 0 && p.Speed < m.Groupings[k-1].UpTo || m.Fastest > 0 && p.Speed > m.Fastest {
				continue
			}
			r := PullRow{Point: p, Grouping: groupingName(g), Meters: e.Meters(p), Motor: x * m.Continuous, Plate: e.plate(p)}
			if e.Heat.Tau > 0 {
				if u := e.Heat.Until(warmLoad*warmLoad, x, 1); !math.IsInf(u, 1) {
					r.Lasts, r.Model = true, u
				}
			}
			out = append(out, r)
		}
	}
	return out, nil
}

// plate is how long the plate lets the meters stand so: 0 without end, -1 beyond it.
func (e *Engine) plate(p motion.Point) float64 {
	ms := e.Meters(p)
	if len(ms) == 0 || len(e.record.Ratings) == 0 {
		return -1
	}
	share := p.Current() / e.Machine.Continuous
	if share <= 1+1e-9 {
		return 0
	}
	shown := 0.0
	for _, m := range ms {
		shown = max(shown, m.Current)
	}
	for _, r := range e.record.Ratings {
		if shown <= r[0] {
			return r[1]
		}
	}
	return -1
}

func groupingName(g motion.Grouping) string {
	series := 0
	for _, s := range g.Strings {
		series = max(series, len(s))
	}
	s := fmt.Sprintf("%d in series, %d side by side", series, len(g.Strings))
	if series == 1 {
		s = fmt.Sprintf("%d side by side", len(g.Strings))
	}
	if g.Field < 1 {
		s += fmt.Sprintf(", field %.0f %%", 100*g.Field)
	}
	return s
}
