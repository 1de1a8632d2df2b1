package rigging

// Blocks is a group of brake blocks pushed by one group of cylinders through levers.
//
// The chain is that of EN 14531-1: a piston gives p·A·PistonEfficiency less the force of
// its return spring; the levers make it Ratio times that, the adjuster takes Adjuster off
// behind the first LeverRatio of it, and friction in the pins leaves the part Efficiency.
type Blocks struct {
	Count            int     // blocks of the group
	Wheels           int     // wheels they press on
	Ratio            float64 // force of all blocks over the thrust of all pistons, without losses
	LeverRatio       float64 // the part of Ratio before the adjuster; 0: all of it
	Efficiency       float64 // of levers and pins while rolling, 0 to 1
	PistonEfficiency float64 // of the cylinder, 0 to 1; 0: 1
	Spring           float64 // N that each return spring takes
	Adjuster         float64 // N that each slack adjuster takes
	Material         Material
}

// Force is what all blocks of the group press with, N, with their cylinders at a gauge
// pressure. It is never below zero.
func (b Blocks) Force(c Cylinder, gauge float64) float64 {
	if gauge <= 0 {
		return 0
	}
	eta := b.PistonEfficiency
	if eta == 0 {
		eta = 1
	}
	lever := b.LeverRatio
	if lever == 0 {
		lever = b.Ratio
	}
	piston := float64(c.Force(gauge)*eta) - b.Spring
	if piston <= 0 {
		return 0
	}
	n := float64(c.Count)
	return max(0, (float64(piston*lever)-b.Adjuster)*(b.Ratio/lever)*n*b.Efficiency)
}

// Each is the force on one block when all together press with force, N.
func (b Blocks) Each(force float64) float64 {
	if b.Count == 0 {
		return 0
	}
	return force / float64(b.Count)
}

// Retards is the force at the rail, N, when all blocks together press with force at a
// speed in m/s.
func (b Blocks) Retards(force, v float64) float64 {
	return force * b.Material.Law().At(b.Each(force), v)
}

// HandBrake is one hand brake: a wheel, lever or screw that presses blocks by hand.
type HandBrake struct {
	Force    float64 // N of all its blocks with a person's full pull, at rest
	Low      float64 // the low end of that force, N; 0: Force
	Wheels   int
	Material Material
}

// Holds is the force at the rail, N, that the hand brake is good for at rest: the low end
// of its block force at the low end of friction.
func (h HandBrake) Holds() float64 {
	f := h.Force
	if h.Low > 0 {
		f = min(f, h.Low)
	}
	return f * h.Material.AtRest()
}
