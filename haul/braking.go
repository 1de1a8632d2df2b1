package haul

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"headstock/motion"
	"headstock/rigging"
)

// Curve is something over time, sampled evenly; straight between two samples, and held
// before the first and after the last.
type Curve struct {
	From, Every float64   // s
	Values      []float64 // in the measure of what they are of; 0 for none
}

// At is the value at a time, s. An empty curve is 0.
func (c Curve) At(t float64) float64 {
	n := len(c.Values)
	if n == 0 {
		return 0
	}
	x := (t - c.From) / c.Every
	switch {
	case n == 1 || x <= 0:
		return c.Values[0]
	case x >= float64(n-1):
		return c.Values[n-1]
	}
	k := int(x)
	return c.Values[k] + (x-float64(k))*(c.Values[k+1]-c.Values[k])
}

// Last is the value that the curve ends with.
func (c Curve) Last() float64 {
	if len(c.Values) == 0 {
		return 0
	}
	return c.Values[len(c.Values)-1]
}

// Group is one group of blocks of a vehicle with the pressure of its cylinders over time.
type Group struct {
	Vehicle  int // index in the train
	ID       string
	Blocks   rigging.Blocks
	Cylinder rigging.Cylinder
	Pressure Curve   // gauge, Pa, from the moment the handle is moved
	On       float64 // kg on the wheels that it brakes
	Wheel    float64 // kg of one wheel; 0: not stated
}

// Force is what all its blocks press with at a time, N.
func (g *Group) Force(t float64) float64 { return g.Blocks.Force(g.Cylinder, g.Pressure.At(t)) }

// Braking is a train as its stop sees it: what moves, what rolls, and what brakes it.
type Braking struct {
	Mass    float64           // kg that the grade pulls
	Inertia float64           // kg that is slowed, with what rotates
	Rolls   motion.Resistance // running resistance, N; the low one
	Groups  []Group
	Outside Curve // N of retarding force from elsewhere, over time
}

// At is what a stop starts from.
type At struct {
	Speed    float64 // m/s
	Falling  float64 // slope of the grade, falling above 0
	Adhesion float64 // part of its weight that a wheel can brake with; 0: no limit
	Step     float64 // s; 0: 0.05
}

// Point is a moment of a stop.
type Point struct {
	Time     float64 `json:"time"`     // s from the moment the handle is moved
	Distance float64 `json:"distance"` // m
	Speed    float64 `json:"speed"`    // m/s
	Force    float64 `json:"force"`    // N of all brakes at the rail
}

// Course is how a stop went.
type Course struct {
	Stopped  bool
	Distance float64   // m
	Time     float64   // s
	Highest  float64   // m/s, the highest speed on the way
	Slid     []bool    // by group: its wheels reached the limit of adhesion
	Energy   []float64 // J that the blocks take, by group
	Points   []Point   // one a step
}

// longest is how long a stop is followed, s: what has not stopped by then is not stopping.
const longest = 1800

// ready is a braking laid out on a grid of time for stepping: the half of friction that
// hangs on force is summed before, and only the half that hangs on speed is left.
type ready struct {
	b    *Braking
	step float64
	rub  [][]float64 // by group, by half step: force times its half of friction, N
	out  []float64   // outside force by half step
	laws []rigging.Law
	law  []int     // by group
	most []float64 // by group, the highest of rub
}

// half is how many half steps the pressures change for; later ones are the last.
func (b *Braking) ready(step float64) *ready {
	r := &ready{b: b, step: step}
	end := 0.0
	for _, g := range b.Groups {
		end = math.Max(end, g.Pressure.From+g.Pressure.Every*float64(len(g.Pressure.Values)))
	}
	end = math.Max(end, b.Outside.From+b.Outside.Every*float64(len(b.Outside.Values)))
	n := int(math.Ceil(2*end/step)) + 2
	materials := rigging.Materials()
	for _, m := range materials {
		r.laws = append(r.laws, m.Law())
	}
	for i := range b.Groups {
		g := &b.Groups[i]
		k := max(0, slices.Index(materials, g.Blocks.Material))
		r.law = append(r.law, k)
		row := make([]float64, n)
		for h := range row {
			f := g.Force(float64(h) * step / 2)
			row[h] = f * r.laws[k].ByForce(g.Blocks.Each(f))
		}
		r.rub = append(r.rub, row)
		r.most = append(r.most, slices.Max(row))
	}
	r.out = make([]float64, n)
	for h := range r.out {
		r.out[h] = b.Outside.At(float64(h) * step / 2)
	}
	r.settle()
	return r
}

// settle drops the end of the grid where nothing moves any more by a thousandth: what is
// beyond the grid is its last.
func (r *ready) settle() {
	n := len(r.out)
	still := func(row []float64, h int) bool {
		last := row[n-1]
		return math.Abs(row[h]-last) <= 1e-3*math.Abs(last)
	}
	for n > 2 {
		moved := !still(r.out, n-2)
		for i := 0; i < len(r.rub) && !moved; i++ {
			moved = !still(r.rub[i], n-2)
		}
		if moved {
			break
		}
		n--
		r.out[n-1] = r.out[n]
		for i := range r.rub {
			r.rub[i][n-1] = r.rub[i][n]
		}
	}
	r.out = r.out[:n]
	for i := range r.rub {
		r.rub[i] = r.rub[i][:n]
	}
}

// course follows a stop. weigh, by group, multiplies what each gives; mass multiplies the
// mass; bare leaves out what only an answer in full needs.
func (r *ready) course(at At, weigh []float64, mass float64, bare bool) Course {
	b, n := r.b, len(r.out)
	c := Course{Highest: at.Speed}
	// groups that can never slide are one sum
	free := make([][]float64, len(r.laws))
	var own []int
	caps := make([]float64, len(b.Groups))
	for i := range b.Groups {
		w := 1.0
		if weigh != nil {
			w = weigh[i]
		}
		caps[i] = math.Inf(1)
		if at.Adhesion > 0 {
			caps[i] = at.Adhesion * b.Groups[i].On * mass * motion.Gravity
		}
		if !bare || w*r.most[i] > caps[i] {
			own = append(own, i)
			continue
		}
		k := r.law[i]
		if free[k] == nil {
			free[k] = make([]float64, n)
		}
		for h, f := range r.rub[i] {
			free[k][h] += w * f
		}
	}
	if !bare {
		c.Slid, c.Energy = make([]bool, len(b.Groups)), make([]float64, len(b.Groups))
	}
	bySpeed := make([]float64, len(r.laws))
	force := func(h int, v float64) float64 {
		h = min(h, n-1)
		sum := r.out[h]
		for k := range r.laws {
			bySpeed[k] = 1
			if free[k] != nil || !bare || len(own) > 0 {
				bySpeed[k] = r.laws[k].BySpeed(v)
			}
			if free[k] != nil {
				sum += free[k][h] * bySpeed[k]
			}
		}
		for _, i := range own {
			f := r.rub[i][h] * bySpeed[r.law[i]]
			if weigh != nil {
				f *= weigh[i]
			}
			if f > caps[i] {
				f = caps[i]
				if c.Slid != nil {
					c.Slid[i] = true
				}
			}
			sum += f
		}
		return sum
	}
	pull := b.Mass * mass * motion.Gravity * at.Falling
	inertia := b.Inertia + b.Mass*(mass-1)
	slow := func(h int, v float64) float64 { // deceleration
		return (force(h, v) + mass*b.Rolls.At(v) - pull) / inertia
	}
	v, s, dt := at.Speed, 0.0, r.step
	for h := 0; ; h += 2 {
		t := float64(h) / 2 * dt
		a1 := slow(h, v)
		if !bare {
			c.Points = append(c.Points, Point{t, s, v, force(h, v)})
		}
		if v <= 0 || t > longest || h > n && a1 <= 0 { // nothing more will come
			c.Stopped, c.Time, c.Distance = v <= 0, t, s
			return c
		}
		v1 := math.Max(0, v-a1*dt/2)
		a2 := slow(h+1, v1)
		v2 := math.Max(0, v-a2*dt/2)
		a3 := slow(h+1, v2)
		v3 := math.Max(0, v-a3*dt)
		a4 := slow(h+2, v3)
		a := (a1 + 2*a2 + 2*a3 + a4) / 6
		next := v - a*dt
		if next <= 0 && a > 0 { // it stops within this step
			end := v / a
			if !bare {
				r.energy(&c, h, weigh, caps, v/2, v*end/2)
				c.Points = append(c.Points, Point{t + end, s + v*end/2, 0, force(h+1, 0)})
			}
			c.Stopped, c.Time, c.Distance = true, t+end, s+v*end/2
			return c
		}
		ds := dt * (v + 2*v1 + 2*v2 + v3) / 6
		if !bare {
			r.energy(&c, h, weigh, caps, (v+next)/2, ds)
		}
		s += ds
		v = next
		c.Highest = math.Max(c.Highest, v)
	}
}

// energy adds what each group turns into heat over a distance.
func (r *ready) energy(c *Course, h int, weigh, caps []float64, v, ds float64) {
	h = min(h+1, len(r.out)-1)
	for i := range r.rub {
		f := r.rub[i][h] * r.laws[r.law[i]].BySpeed(v)
		if weigh != nil {
			f *= weigh[i]
		}
		c.Energy[i] += math.Min(f, caps[i]) * ds
	}
}

// Course follows a stop from the moment the handle is moved.
func (b *Braking) Course(at At) Course { return b.CourseWith(at, nil, 1) }

// CourseWith follows a stop in which each group gives weigh times what it would (nil: all
// of it) and the train has mass times its mass.
func (b *Braking) CourseWith(at At, weigh []float64, mass float64) Course {
	if at.Step == 0 {
		at.Step = 0.05
	}
	return b.ready(at.Step).course(at, weigh, mass, false)
}

// Spread is how far things may lie from what the records say, each as a part.
type Spread struct {
	Friction float64 // of the blocks of one vehicle from another's, either way
	AllRub   float64 // of all blocks together
	Mass     float64 // of the train
}

// UsualSpread is that of a train in good order: friction of blocks ±15 % from vehicle to
// vehicle and ±10 % together, mass ±3 % (common practice).
func UsualSpread() Spread { return Spread{0.15, 0.10, 0.03} }

// Sample is many stops with the train drawn within a spread; the draw hangs on the seed
// alone. Curves stand as they are: air is not run again.
type Sample struct {
	Count   int     `json:"count"`
	Seed    uint64  `json:"seed"`
	Mean    float64 `json:"mean"`    // m
	Median  float64 `json:"median"`  // m
	P95     float64 `json:"p95"`     // 95 of 100 stop within this
	Longest float64 `json:"longest"` // m
	Not     int     `json:"not"`     // how many did not stop
}

// Sample draws n stops. It steps at a quarter of a second, which moves a stop by less
// than 0.1 %. An error is a number outside 1 to 1000000.
func (b *Braking) Sample(at At, n int, seed uint64, sp Spread) (Sample, error) {
	if n < 1 || n > 1e6 {
		return Sample{}, fmt.Errorf("%d stops; expected 1 to 1000000", n)
	}
	at.Step = 0.25
	r := b.ready(at.Step)
	draw := rand.New(rand.NewPCG(seed, 1))
	either := func(part float64) float64 { return 1 + part*(2*draw.Float64()-1) }
	last := 0
	for _, g := range b.Groups {
		last = max(last, g.Vehicle)
	}
	weigh, byVehicle := make([]float64, len(b.Groups)), make([]float64, last+1)
	out := Sample{Count: n, Seed: seed}
	var ds []float64
	for range n {
		all, mass := either(sp.AllRub), either(sp.Mass)
		for k := range byVehicle {
			byVehicle[k] = all * either(sp.Friction)
		}
		for i, g := range b.Groups {
			weigh[i] = byVehicle[g.Vehicle]
		}
		c := r.course(at, weigh, mass, true)
		if !c.Stopped {
			out.Not++
			continue
		}
		ds = append(ds, c.Distance)
		out.Mean += c.Distance
	}
	if len(ds) > 0 {
		slices.Sort(ds)
		out.Mean /= float64(len(ds))
		out.Median, out.Longest = ds[len(ds)/2], ds[len(ds)-1]
		out.P95 = ds[min(len(ds)-1, int(math.Ceil(0.95*float64(n)))-1)]
	}
	return out, nil
}

// Retards is what all brakes together give at a speed when the curves have run out, N,
// and what each group gives.
func (b *Braking) Retards(v, adhesion float64) (float64, []float64) {
	sum, each := b.Outside.Last(), make([]float64, len(b.Groups))
	for i := range b.Groups {
		g := &b.Groups[i]
		f := g.Blocks.Force(g.Cylinder, g.Pressure.Last())
		each[i] = g.Blocks.Retards(f, v)
		if adhesion > 0 {
			each[i] = math.Min(each[i], adhesion*g.On*motion.Gravity)
		}
		sum += each[i]
	}
	return sum, each
}
