// Package rigging holds what stands between air and wheel: the brake cylinder and its
// piston travel, the levers with their losses, the blocks and their friction by speed and
// pressure, the heat of block and wheel, and the hand brake. It knows no locomotive and
// nothing of a train. Pressures are gauge pascals, lengths metres, forces newtons, speeds
// metres a second, temperatures kelvins above the air.
//
// Incomplete: the slack adjuster is a force that it takes up and nothing more; the levers
// are one ratio, whatever the travel; a block wears nothing.
package rigging

import "headstock/air"

// Cylinder is a group of equal brake cylinders on one line. A piston leaves its seat at
// StartsAt against its spring, travels evenly until the blocks touch at ContactAt, and
// then only as far as the rigging gives.
type Cylinder struct {
	Bore, Travel, Clearance float64 // m, m, m3 each
	Count                   int
	StartsAt, ContactAt     float64 // gauge, Pa
	ReleasedStandOut        float64 // m of rod outside with the brake released
}

// give is how much further a piston goes with the blocks on the wheels, m per Pa:
// about 3 % of the travel over 400 kPa (common practice for block rigging).
func (c Cylinder) give() float64 { return 0.03 * c.Travel / 400e3 }

func (c Cylinder) area() float64 {
	const quarterPi = 0.7853981633974483
	return quarterPi * c.Bore * c.Bore
}

// Volume is the group as a node of an air network.
func (c Cylinder) Volume() air.VariableVolume {
	n := float64(c.Count)
	v0 := float64(n * c.Clearance)
	return air.VariableVolume{V0: v0, V1: v0 + float64(n*c.area()*c.Travel), Slope: n * c.area() * c.give(), Start: c.StartsAt, Contact: c.ContactAt}
}

// Stroke is the piston travel at gauge pressure g, m; 0 with the piston in.
func (c Cylinder) Stroke(g float64) float64 {
	switch {
	case g <= c.StartsAt:
		return 0
	case g < c.ContactAt:
		return c.Travel * (g - c.StartsAt) / (c.ContactAt - c.StartsAt)
	}
	return c.Travel + float64(c.give()*(g-c.ContactAt))
}

// StandOut is the length of rod outside at gauge pressure g, m.
func (c Cylinder) StandOut(g float64) float64 { return c.ReleasedStandOut + c.Stroke(g) }

// Applied reports whether the blocks are on the wheels at gauge pressure g.
func (c Cylinder) Applied(g float64) bool { return g >= c.ContactAt }

// Force is the thrust of one piston at gauge pressure g on an unsprung piston, N.
func (c Cylinder) Force(g float64) float64 { return max(0, g) * c.area() }
