// Package reference computes air in one long pipe slowly and closely, so that the
// quick network of package air has something to be held against. It is for tests, for
// the case runner internal/pipecase and for calibration; no answer to a user rests on
// it.
//
// # Model
//
// The equations, the friction, the openings and the junctions are those that the cases
// in testdata/pipe_cases.json name. Two models: iso holds density and momentum at one
// temperature; euler adds the energy, with heat through the wall. Pressures are
// absolute (Pa), all else SI.
//
// # Method
//
// Finite volumes. In each cell density, speed and (euler) pressure are straight lines
// whose slope is limited (monotonised central); across an ordinary face the flux is
// that of HLL (iso, which has two waves) or HLLC (euler). Where something is joined to
// the pipe, at its ends, at a branch in the middle of a vehicle or at a restriction,
// the face is split instead: each side sends its exact wave, shock or fan, to one
// pressure that is sought so that the masses balance. The face holds no air, so that
// a side flow is taken from the pressure it makes itself and no time step of its own is
// needed; no momentum crosses sideways. Lines are not drawn across a split face.
//
// Steps are Heun's (two stages) at a Courant number of 0.6. Friction is implicit in
// both stages, the second by the trapezium rule, so that a steady flow is steady
// without a splitting error. A trigger that is crossed inside a step opens at the
// moment of crossing.
//
// # Conditions
//
// The number of cells to a vehicle is even, because branches and the middle of the
// pipe must fall on faces. What leaves an end is held at the speed of sound; a run in which
// air would enter or pass a branch or a restriction faster ends with [ErrFast].
//
// It uses powers and logarithms freely, so the last digits may differ between
// processors.
package reference

import "math"

// The air of the cases.
const (
	gasConstant = 287.05   // J/(kg K)
	gamma       = 1.4      // ratio of specific heats
	temperature = 293.15   // K: start, wall, feed and reservoirs
	atmosphere  = 101325.0 // Pa absolute
	prandtl     = 0.71
	band        = 0.001 // an opening is a straight line within this of equal pressures
	heatP       = gamma * gasConstant / (gamma - 1)
	heatV       = gasConstant / (gamma - 1)
)

var soundIso = math.Sqrt(gasConstant * temperature) // of pressure waves at one temperature, m/s

// viscosity of air at t kelvin by Sutherland's law, Pa s.
func viscosity(t float64) float64 {
	const mu0, t0, s = 1.716e-5, 273.15, 110.4
	r := t / t0
	return mu0 * r * math.Sqrt(r) * (t0 + s) / (t + s)
}

// throat is the flow of an opening as a share of Cd A p1/√(RT), given r = p2/p1 in
// [0,1], constant when choked and a straight line near r = 1: the isentropic nozzle, or with
// a critical ratio b above zero the ellipse of ISO 6358 that is choked with the same flow.
func throat(r, b float64) float64 {
	const critical = 0.5282817877171742 // (2/(γ+1))^(γ/(γ−1))
	const choked = 0.6847314563772704   // √γ (2/(γ+1))^((γ+1)/(2(γ−1)))
	w := 1.0
	if r > 1-band {
		w = (1 - r) / band
		r = 1 - band
	}
	if b > 0 {
		s := max(0, (r-b)/(1-b))
		return w * choked * math.Sqrt(1-s*s)
	}
	if r < critical {
		r = critical
	}
	x := math.Exp(math.Log(r) * (2. / 7))
	x5 := x * x * x * x * x
	return w * math.Sqrt(7*(x5-x5*x))
}

// opening is the mass flow (kg/s) from p1 at t1 to p2 at t2 through an effective area
// Cd A; negative when p2 is the higher. b is 0 for a nozzle, else the critical ratio of ISO 6358.
func opening(area, b, p1, t1, p2, t2 float64) float64 {
	if area == 0 {
		return 0
	}
	if p1 >= p2 {
		return area * p1 / math.Sqrt(gasConstant*t1) * throat(p2/p1, b)
	}
	return -area * p2 / math.Sqrt(gasConstant*t2) * throat(p1/p2, b)
}

// colebrook is the Darcy friction factor of turbulent flow at Reynolds number re in a
// pipe whose roughness is the given share of its bore.
func colebrook(re, rough float64) float64 {
	x := 8.0 // 1/√f
	for range 100 {
		next := -2 * math.Log10(rough/3.7+2.51*x/re)
		if math.Abs(next-x) < 1e-14*x {
			break
		}
		x = next
	}
	return 1 / (x * x)
}

// Darcy is the friction factor of a spec in turbulent flow at a Reynolds number, for a
// network that knows one factor only.
func Darcy(s Spec, re float64) float64 {
	switch s.Friction {
	case "colebrook":
		return colebrook(re, s.Roughness/s.Bore)
	case "constant":
		return s.Factor
	}
	return 0
}

// wallTable holds friction factor and Nusselt number over the Reynolds number from 1024
// to 2^34: each doubling in 256 equal parts, straight lines between, which is within 1e-6.
// Both bends of the blend, 2000 and 4000, are knots.
type wallTable struct{ f, nu []float64 }

const (
	tableLow  = 10 // 2^10
	tableHigh = 34
	tableBits = 8
)

// newWallTable tabulates a friction: "colebrook", "none", or "constant" with its factor.
func newWallTable(friction string, factor, rough float64) *wallTable {
	n := (tableHigh - tableLow) << tableBits
	t := &wallTable{make([]float64, n+1), make([]float64, n+1)}
	for i := range n + 1 {
		re := math.Ldexp(1+float64(i&(1<<tableBits-1))/(1<<tableBits), tableLow+i>>tableBits)
		w := min(1, max(0, (re-2000)/2000))
		switch friction {
		case "colebrook":
			t.f[i] = 64 / re
			if w > 0 {
				t.f[i] = (1-w)*64/re + w*colebrook(re, rough)
			}
		case "constant":
			t.f[i] = factor
		}
		t.nu[i] = (1-w)*3.66 + w*0.023*math.Pow(re, 0.8)*math.Pow(prandtl, 0.4)
	}
	return t
}

// at finds the knot below re and how far re is to the next; re must be at least 1024.
func (t *wallTable) at(re float64) (int, float64) {
	bits := math.Float64bits(re)
	i := int(bits>>(52-tableBits)) - (1023+tableLow)<<tableBits
	if i >= len(t.f)-1 {
		return len(t.f) - 2, 1
	}
	const low = 1<<(52-tableBits) - 1
	return i, float64(bits&low) / (low + 1)
}

// Waves at one temperature: the speed behind a wave that leads to pressure ratio r is
// that ahead of it less (to the right: more) the sound speed times isoWave(r): a fan
// below 1, a shock above.
func isoWave(r float64) float64 {
	if r <= 1 {
		return math.Log(r)
	}
	return (r - 1) / math.Sqrt(r)
}

// wave is the change of speed behind the wave that leads from density rho and pressure
// p0 to pressure p, and the density there: a fan below p0, a shock above.
func wave(rho, p0, p float64) (du, behind float64) {
	const k = (gamma - 1) / (gamma + 1)
	r := p / p0
	if r <= 1 {
		a := math.Sqrt(gamma * p0 / rho)
		x := math.Exp(math.Log(r) / 7) // r^((γ−1)/2γ)
		x5 := x * x * x * x * x
		return 2 * a / (gamma - 1) * (x - 1), rho * x5
	}
	return (p - p0) * math.Sqrt(2/((gamma+1)*rho)/(p+k*p0)), rho * (r + k) / (k*r + 1)
}

// root finds where f, which rises throughout [lo, hi], is zero, starting at x. If f does
// not change its sign it returns the end that f is nearer to zero at.
func root(f func(float64) float64, x, lo, hi float64) float64 {
	if !(x > lo && x < hi) {
		x = (lo + hi) / 2
	}
	fx := f(x)
	if fx == 0 {
		return x
	}
	y := x + 1e-5*x
	if y >= hi || y == x {
		y = (x + hi) / 2
	}
	fy := f(y)
	note := func(x, fx float64) {
		if fx < 0 {
			lo = max(lo, x)
		} else {
			hi = min(hi, x)
		}
	}
	note(x, fx)
	note(y, fy)
	for range 200 {
		if fy == 0 {
			return y
		}
		next := y - fy*(y-x)/(fy-fx)
		if math.Abs(next-y) <= 1e-11*math.Abs(y) {
			return next // asked first: the last digits may lead it a hair out of the bracket
		}
		if hi-lo <= 1e-12*hi {
			return (lo + hi) / 2
		}
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		x, fx = y, fy
		y = next
		fy = f(y)
		note(y, fy)
	}
	return y
}
