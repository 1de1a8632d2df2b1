package rigging

import "math"

// Heat is the state of the wheels under one group of blocks as a lump: how far they are
// above the air, taken as one mass of steel, with the tread and block above that.
//
// The lump follows mc dθ/dt = share·q − hA·θ, q in W a wheel. The tread lies above it by a
// part of the power that goes through it. mc and hA are from memory: 500 J/kgK, and 20 to
// 30 W/K at 15 to 30 km/h, 40 to 50 at 60.
type Heat struct {
	Mass     float64 // kg of one wheel
	Material Material
	Rise     float64 // K of the wheel as a lump above the air
}

const wheelSteel = 500.0 // J/kgK, from memory

// Share is the part of the heat that goes into the wheel: iron blocks take 25 to 40 % away,
// composition 5 to 10 % (from memory); the greater share is taken.
func (m Material) Share() float64 {
	if m == Composition {
		return 0.95
	}
	return 0.75
}

// Carries is what a wheel gives to the air at a speed in m/s, W/K: 15 at rest, 24 at 20
// km/h, 45 at 60, straight between (from memory; the first is common practice).
func Carries(v float64) float64 {
	k := float64(math.Abs(v) * 3.6)
	if k <= 20 {
		return 15 + float64(k*9/20)
	}
	return 24 + float64((k-20)*21/40)
}

// Step carries the wheel on by dt seconds with q watts of braking on it at a speed in m/s.
// It is of second order and keeps within bounds at any dt.
func (h *Heat) Step(q, v, dt float64) { h.StepWith(float64(h.Material.Share()*q), Carries(v), dt) }

// StepWith does so with the heat into the wheel in W and what it gives off in W/K.
func (h *Heat) StepWith(q, carries, dt float64) {
	mc := float64(h.Mass * wheelSteel)
	if mc <= 0 {
		return
	}
	half := float64(float64(carries*dt) / (2 * mc))
	h.Rise = (float64(h.Rise*(1-half)) + float64(q*dt)/mc) / (1 + half)
}

// Tread is how far the tread lies above the air with q watts of braking on the wheel: 100
// to 200 K above the lump in drag braking of 40 to 50 kW (from memory), in proportion to
// the power; the greater figure is taken.
func (h *Heat) Tread(q float64) float64 { return h.Rise + float64(q*200/45e3) }

// First limits of drag braking, W a wheel of 850 mm with iron blocks: sustained, and for a
// quarter of an hour (worked out from figures that are from memory). A smaller or greater
// wheel takes them in proportion to its mass.
const (
	SustainedDrag = 12e3
	ShortDrag     = 16e3
	dragWheel     = 300.0 // kg of the wheel they are for
)

// Sustained is the drag power that a wheel of this mass may take without end, W.
func (h *Heat) Sustained() float64 { return SustainedDrag * h.Mass / dragWheel }

// Short is the drag power that it may take for a quarter of an hour, W.
func (h *Heat) Short() float64 { return ShortDrag * h.Mass / dragWheel }
