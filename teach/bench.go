package teach

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
	"headstock/trial"
)

// Bench is a consist worked by hand beside the same consist as its records set it. What the
// brake test works (the driver's handles, by the rules) is moved in both; anything else is
// moved in the one only, so that the other says what should be seen.
type Bench struct {
	own   *trial.Live
	right *trial.Live // nil as long as both are the same
	test  map[moved]bool
	can   []Movable
	began []trial.Step // that charged it
}

type moved struct {
	vehicle int
	device  string
}

// Movable is a device that can be moved on the bench: another position of it makes another
// air network.
type Movable struct {
	Vehicle   int
	Device    *fleet.Device
	Positions []string // as it may be put; of a range also quantities, in steps
	Tested    bool     // the brake test works it
	Keep      bool     // must not be moved: shown, never worked
}

// Shown is what a device shows on the bench and what it should show.
type Shown struct {
	trial.Reading
	Expected  quantity.Range // of a gauge, Pa gauge: with every device right, wider by the gauge's tolerance on both sides
	ExpectOut bool           // of a piston or an exhaust
	Differs   bool           // it is not as expected
}

// NewBench puts a consist on the bench: from empty with its devices as they stand, or with
// charged as the records set it and charged by the rules' procedure, after which the
// devices that stand otherwise are moved.
func NewBench(c *consist.Consist, r *rule.Rules, cond trial.Conditions, charged bool) (*Bench, error) {
	claimed, err := c.Claimed()
	if err != nil {
		return nil, err
	}
	b := &Bench{test: map[moved]bool{}}
	bench, err := trial.NewBench(claimed, cond)
	if err != nil {
		return nil, err
	}
	var from *trial.Mark
	at := claimed
	if charged {
		p, err := prove.Procedure(claimed, r, "charge")
		if err != nil {
			return nil, err
		}
		res, err := bench.Run(claimed, p, nil)
		if err != nil {
			return nil, err
		}
		b.began = p.Steps
		from = &res.Marks[len(res.Marks)-1]
		at = from.At
	}
	if b.own, err = bench.Live(at, from); err != nil {
		return nil, err
	}
	b.can = movables(claimed, bench.Plant, r)
	for _, m := range b.can {
		if m.Tested {
			b.test[moved{m.Vehicle, m.Device.ID}] = true
		}
	}
	for _, ch := range c.Changed {
		if err := b.Move(ch); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// Movables are the devices of a consist that can be moved on a bench, by vehicle and then
// in the order of the record.
func Movables(c *consist.Consist, r *rule.Rules) ([]Movable, error) {
	claimed, err := c.Claimed()
	if err != nil {
		return nil, err
	}
	plant, err := claimed.Network()
	if err != nil {
		return nil, err
	}
	return movables(claimed, plant, r), nil
}

// quantitySteps is how many steps a range is cut into.
const quantitySteps = 15

func movables(c *consist.Consist, plant *consist.Plant, r *rule.Rules) []Movable {
	tested := map[moved]bool{}
	for _, s := range prove.StandingTest(c, r).Steps {
		for _, a := range s.Do {
			i, err := c.Find(a.Who)
			if err != nil {
				continue
			}
			what := a.What
			if what == "" {
				what = "automatic-handle"
			}
			for _, d := range c.Devices(i, what) {
				tested[moved{i, d.ID}] = true
			}
		}
	}
	equal := plant.Settings(c)
	var out []Movable
	for i, v := range c.Vehicles {
		for _, d := range v.Class.Devices {
			at, ok := c.Position(i, d.ID)
			if how, _ := v.Unit.Fitted(d); !ok || how != "yes" || !v.Unit.Carries(v.Class, d) {
				continue
			}
			m := Movable{Vehicle: i, Device: d, Keep: d.MustNotMove, Tested: tested[moved{i, d.ID}]}
			for _, p := range d.Positions {
				m.Positions = append(m.Positions, p.ID)
			}
			if d.Range != nil {
				step := (d.Range.High - d.Range.Low) / quantitySteps
				step = max(10e3, float64(int(step/10e3+0.5))*10e3)
				for x := d.Range.Low; x < d.Range.High+1; x += step {
					m.Positions = append(m.Positions, fmt.Sprintf("%g kPa", x/1000))
				}
			}
			reaches := false
			for _, p := range m.Positions {
				with, err := c.With(consist.Change{Vehicle: i, Device: d.ID, Position: p})
				reaches = reaches || err == nil && p != at && !slices.Equal(plant.Settings(with), equal)
			}
			if reaches {
				out = append(out, m)
			}
		}
	}
	return out
}

// Movables are the devices that can be moved on this bench.
func (b *Bench) Movables() []Movable { return b.can }

// Consist is the consist with every device where it stands now.
func (b *Bench) Consist() *consist.Consist { return b.own.Consist() }

// Time is how long the run has been going, s, counted from empty.
func (b *Bench) Time() float64 { return b.own.Time() }

// Move puts a device to a position. One that must not be moved is refused.
func (b *Bench) Move(ch consist.Change) error {
	c := b.own.Consist()
	if ch.Vehicle < 0 || ch.Vehicle >= len(c.Vehicles) {
		return fmt.Errorf("no vehicle %d in this consist", ch.Vehicle+1)
	}
	v := c.Vehicles[ch.Vehicle]
	d, ok := v.Class.Device(ch.Device)
	if !ok {
		return fmt.Errorf("%s has no device %q", v.Name(), ch.Device)
	}
	if at, ok := c.Position(ch.Vehicle, ch.Device); ok && at == ch.Position {
		return nil
	}
	act := trial.Act{Who: v.Name(), What: ch.Device, To: ch.Position}
	say := fmt.Sprintf("%s, %s: to %s", v.Name(), d.Name, ch.Position)
	before := b.own.Clone()
	if err := b.own.Do(act, say); err != nil {
		return err
	}
	both := b.test[moved{ch.Vehicle, ch.Device}]
	if b.right == nil && !both {
		b.right = before
	}
	if b.right != nil && both {
		return b.right.Do(act, say)
	}
	return nil
}

// Advance lets so many seconds go by.
func (b *Bench) Advance(seconds float64) error {
	if err := b.own.Advance(seconds); err != nil {
		return err
	}
	if b.right != nil {
		return b.right.Advance(seconds)
	}
	return nil
}

// Looks are what every gauge, piston and exhaust shows now, by vehicle and then in the
// order of the record, beside what it should show.
func (b *Bench) Looks() []Shown {
	own, right := b.own.Readings(), b.own.Readings()
	if b.right != nil {
		right = b.right.Readings()
	}
	c := b.own.Consist()
	var out []Shown
	for k, x := range own {
		y := right[k]
		l := Shown{Reading: x, ExpectOut: y.Out, Differs: x.Out != y.Out}
		if d, ok := c.Vehicles[x.Vehicle].Class.Device(x.Device); ok && x.Kind == "gauge" {
			tol := prove.Tolerance(d)
			l.Expected = quantity.Range{Low: max(0, y.Value-tol), High: y.Value + tol}
			l.Differs = !l.Expected.Holds(x.Value)
		}
		out = append(out, l)
	}
	return out
}

// Steps are what was done on the bench by hand, with the time that went by after each.
func (b *Bench) Steps() []trial.Step { return b.own.Procedure("", "").Steps }

// Procedure is what was done since the train was empty, the charging with it, as a procedure
// that can be run again.
func (b *Bench) Procedure() trial.Procedure {
	steps := slices.Clone(b.began)
	for _, s := range b.Steps() {
		s.ID = fmt.Sprintf("by hand %s", s.ID)
		steps = append(steps, s)
	}
	return trial.Procedure{Name: "worked by hand", Title: "Worked by hand", Steps: steps}
}
