// Package air computes compressible flow in a network of volumes, pipes, chokes,
// cocks and valves. It knows no locomotive: a caller builds a network of nodes and
// elements, sets positions, and steps it.
//
// # How an application travels
//
// A driver's valve lowers the pressure in a small equalising reservoir. A relay lets
// the brake pipe follow it down. Every vehicle holds a distributor that compares the
// pipe with air stored on the vehicle; when the pipe is the lower, stored air goes to
// the brake cylinder:
//
//	reservoir ──relay── brake pipe ═══╤═══════╤═══════╤══ closed
//	             │                    │       │       │
//	         exhaust              distributor …       …
//	                                  │
//	                       stored air ┴─> cylinder
//
// # Model
//
// Nodes hold air at one temperature (isothermal, the default), or lengths of pipe warm and
// cool by compression and at the wall ([PipeTemperatures], as trains are run), or every node
// carries its own internal energy with no heat through the wall ([OwnTemperatures]). Openings
// pass air by ISO 6358 (sonic conductance and critical pressure ratio) or as an isentropic
// nozzle, with a straight line near equal pressures. Pipes have inertia, wall friction by
// Reynolds number, and carry momentum along. Pressures inside are absolute, in pascals;
// masses in kilograms; times in seconds.
//
// Every step is linearly implicit and of second order (backward differences): each flow is
// written as it would stand at the end plus how it would change with the pressures at its
// two ends, one sparse system is solved for all pressures, and what the flows that result
// carry is taken from one node and given to the other, so that mass balances to rounding
// whatever the step. The step length follows the curvature of the pressures. A valve that
// snaps within a step ends it: the moment is found, and the next step starts anew, of
// first order. A step in which a port would open or shut against what was thought is written
// anew. A pressure that no step keeps above nothing is an error. Parts of the network in
// which nothing moves are left out of the steps until something opens to them.
//
// # Cases
//
// Package air/reference computes one long pipe slowly and closely, and a file of cases
// says what is asked of it. To add one, write an object into a file of the form of
// air/reference/testdata/pipe_cases.json: an id, a title, a model (iso or euler), a spec
// (the fields of reference.Spec, SI, pressures absolute, vehicles counted from 0) and
// results by name, each with its value or, to be asked only, {}. Then
// run "go run ./internal/pipecase -cells 8 file.json", which prints as JSON what the
// reference and this network give and how far each is off; halve the cells (-cells 16) until the
// figures stand. A case that a test is to hold goes into that testdata with its source,
// and into the table of TestCases with the difference that its grid may have.
package air

import "math"

// Physical constants of dry air and the reference state of ISO 6358.
const (
	GasConstant = 287.05    // J/(kg K), dry air
	Gamma       = 1.4       // ratio of specific heats
	RefDensity  = 1.185     // kg/m3 at the ISO 6358 reference state
	RefTemp     = 293.15    // K, ISO 6358 reference temperature
	Standard    = 101325.   // Pa, standard atmosphere
	viscosity   = 1.81e-5   // Pa s at 293 K
	choked      = 0.6847315 // √γ (2/(γ+1))^((γ+1)/(2(γ−1))), choked mass flow is this · A p/√(RT)
	specificV   = GasConstant / (Gamma - 1)
	specificP   = specificV * Gamma
)

// laminar is the pressure ratio above which an opening is a straight line to zero.
const laminar = 0.999

// Orifice is an opening. With B in [0,1) it is an ISO 6358 opening of sonic
// conductance C in m3/(s Pa); with B negative it is an isentropic nozzle whose C is
// discharge coefficient times area in m2.
type Orifice struct{ C, B float64 }

// Nozzle is an isentropic opening of the given discharge coefficient and area (m2).
func Nozzle(cd, area float64) Orifice { return Orifice{C: cd * area, B: -1} }

// Hole is the ISO 6358 opening of a drilled hole of the given bore (m) and discharge
// coefficient, critical ratio 0.5. C [dm3/(s bar)] = 0.1992 Cd A[mm2].
func Hole(bore, cd float64) Orifice {
	area := math.Pi / 4 * bore * bore
	return Orifice{C: 0.1992 * cd * area * 1e6 * 1e-8, B: 0.5}
}

// flow is the mass flow in kg/s of an opening from p1 to p2 at upstream temperature t;
// 0 unless p1 is the higher.
func (o Orifice) flow(p1, p2, t float64) float64 {
	if p1 <= p2 || p1 <= 0 {
		return 0
	}
	r := p2 / p1
	w := 1.0
	if r > laminar {
		w = (1 - r) / (1 - laminar)
		r = laminar
	}
	if o.B < 0 {
		return o.C * p1 / math.Sqrt(GasConstant*t) * nozzleFunction(r) * w
	}
	k := o.C * RefDensity * p1
	if t != RefTemp {
		k *= math.Sqrt(RefTemp / t)
	}
	if r <= o.B {
		return k * w
	}
	s := (r - o.B) / (1 - o.B)
	return k * math.Sqrt(1-float64(s*s)) * w
}

// Flow is the mass flow in kg/s from absolute pressure p1 (Pa) to p2 at upstream
// temperature t (K); negative when p2 is the higher.
func (o Orifice) Flow(p1, p2, t float64) float64 {
	if p2 > p1 {
		return -o.flow(p2, p1, t)
	}
	return o.flow(p1, p2, t)
}

// CriticalRatio of an isentropic nozzle, (2/(γ+1))^(γ/(γ−1)) for γ = 1.4.
const CriticalRatio = 0.5282817877171742

// nozzleFunction is the isentropic flow function √(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))), constant
// below the critical ratio. For γ = 1.4 the powers are sevenths, taken by Newton's
// method so that every build gives the same bits.
func nozzleFunction(r float64) float64 {
	if r < CriticalRatio {
		r = CriticalRatio
	}
	x := 1.0 // r^(1/7)
	for range 8 {
		x3 := x * x * x
		x = (float64(6*x) + r/(x3*x3)) / 7
	}
	x5 := x * x * x * x * x
	x10 := x5 * x5 // r^(10/7)
	return math.Sqrt(7 * (float64(x5*x5) - float64(x10*x*x)))
}

// VariableVolume is a volume that grows with pressure, such as a brake cylinder:
// V0 up to gauge pressure Start, then growing evenly to V1 at Contact, then by Slope
// (m3/Pa).
type VariableVolume struct {
	V0, V1, Slope  float64 // m3, m3, m3/Pa
	Start, Contact float64 // gauge, Pa
}

func (v *VariableVolume) at(p, atm float64) (vol, dv float64) {
	g := p - atm
	switch {
	case g <= v.Start:
		return v.V0, 0
	case g < v.Contact:
		k := (v.V1 - v.V0) / (v.Contact - v.Start)
		return v.V0 + float64(k*(g-v.Start)), k
	}
	return v.V1 + float64(v.Slope*(g-v.Contact)), v.Slope
}

// pressure inverts p·V(p) = q.
func (v *VariableVolume) pressure(q, atm float64) float64 {
	if p := q / v.V0; p-atm <= v.Start {
		return p
	}
	k := (v.V1 - v.V0) / (v.Contact - v.Start)
	if q < (atm+v.Contact)*v.V1 {
		return rising(k, v.V0-float64(k*(atm+v.Start)), q)
	}
	if v.Slope == 0 {
		return q / v.V1
	}
	return rising(v.Slope, v.V1-float64(v.Slope*(atm+v.Contact)), q)
}

// rising is the positive root of k p² + c p = q, in the form that does not cancel.
func rising(k, c, q float64) float64 {
	d := math.Sqrt(float64(c*c) + float64(4*k*q))
	if c >= 0 {
		return 2 * q / (c + d)
	}
	return (d - c) / (2 * k)
}
