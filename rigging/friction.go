package rigging

import "math"

// Material is what a brake block is made of; it says how the block rubs.
type Material string

// The materials.
const (
	CastIron     Material = "cast iron"
	PhosphorIron Material = "phosphor iron"
	Composition  Material = "composition"
)

// Materials are the materials in order.
func Materials() []Material { return []Material{CastIron, PhosphorIron, Composition} }

// Law is a law of block friction: coefficient = k · byForce(F) · bySpeed(V), where
// byForce = (a F + 100)/(b F + 100) and bySpeed = (V + c)/(d V + c), or in the other
// writing (F + a)/(F + b) and (V + c)/(V + d). Its two halves stand apart, so that a train
// of like blocks needs one sum over its vehicles and one factor of speed.
type Law struct {
	Name   string // as people call it
	Source string // key of the bibliography
	force  func(kN float64) float64
	speed  func(kmh float64) float64
}

// ByForce is the half of the law that hangs on the force on one block, N, with the factor
// k in it. A force below zero counts as none.
func (l Law) ByForce(force float64) float64 { return l.force(max(0, force) / 1000) }

// BySpeed is the half of the law that hangs on speed, m/s; 1 at rest.
func (l Law) BySpeed(v float64) float64 { return l.speed(float64(math.Abs(v) * 3.6)) }

// At is the friction coefficient of one block under a force in N at a speed in m/s.
func (l Law) At(force, v float64) float64 { return l.ByForce(force) * l.BySpeed(v) }

const g = 9.81 // kN in a tonne-force

// The laws. Those of iron are one law in two writings; the Soviet rules write the force in
// tonnes.
func karwatzki() Law {
	return Law{"Karwatzki, plain cast iron", "karwatzki-1950",
		func(f float64) float64 { return 0.6 * (float64(16/g*f) + 100) / (float64(80/g*f) + 100) },
		func(v float64) float64 { return (v + 100) / (float64(5*v) + 100) }}
}

func phosphor() Law {
	return Law{"phosphor iron of the Soviet rules", "ptr",
		func(f float64) float64 { return 0.5 * (float64(16/g*f) + 100) / (float64(52/g*f) + 100) },
		func(v float64) float64 { return (v + 100) / (float64(5*v) + 100) }}
}

func composition() Law {
	return Law{"Karwatzki's form fitted to composition", "pfaff-notebooks",
		func(f float64) float64 { return 0.11 * (f + 200) / (f + 50) },
		func(v float64) float64 { return 0.5 * (v + 150) / (v + 75) }}
}

// Law is the law by which blocks of the material rub when they are dry and not hot.
func (m Material) Law() Law {
	switch m {
	case PhosphorIron:
		return phosphor()
	case Composition:
		return composition()
	}
	return karwatzki()
}

// AtRest is the low end of the friction of a block that holds a standing wheel: 0.25 of
// 0.25 to 0.32 for iron (from memory), and the same for composition, whose published law
// gives more at rest but which wets and glazes (common practice).
func (m Material) AtRest() float64 { return 0.25 }

// CalculatedIron is the coefficient of the Soviet rules for a calculated block force,
// 0.27 (V+100)/(5V+100), v in m/s; from memory.
func CalculatedIron(v float64) float64 {
	k := float64(math.Abs(v) * 3.6)
	return 0.27 * (k + 100) / (float64(5*k) + 100)
}

// Faded is the part of its friction that a hot block keeps, from 1 downward, at a tread
// temperature in K above the air: iron begins to lose at 350 K and has lost 40 % at 500;
// composition begins at 280 and has lost half at 450 (figures from memory; the straight
// line between them is ours). Beyond that nothing more is known, and the loss is taken to
// go on to 70 %.
func (m Material) Faded(rise float64) float64 {
	from, to, loss := 350.0, 500.0, 0.4
	if m == Composition {
		from, to, loss = 280, 450, 0.5
	}
	if rise <= from {
		return 1
	}
	return max(0.3, 1-float64(loss*(rise-from)/(to-from)))
}

// Sliding is the part of its adhesion that a locked wheel still retards with: it was
// published as below one third of what a braked, rolling wheel gives.
const Sliding = 1.0 / 3
