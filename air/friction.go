package air

import (
	"math"
	"sync"
)

// wall is what the wall of a pipe does to the air, over the Reynolds number: the Darcy
// friction factor by Colebrook and White, and the Nusselt number by Dittus and Boelter.
// Laminar up to 2000, turbulent from 4000, blended between (air.md 2.3, pipe-model.md).
// Each doubling from 1024 is in 32 equal parts with straight lines between, which is
// within 1e-4 of the formulas; both bends of the blend are knots.
type wall struct{ f, nu []float64 }

const (
	wallLow  = 10 // 2^10
	wallHigh = 27
	wallBits = 5

	laminarNu = 3.66
	prandtl   = 0.71
	heatOfAir = viscosity * specificP / prandtl // conductivity, W/(m K)
)

// walls are kept by relative roughness, as every run of every train asks for the same few.
var walls sync.Map

func wallOf(roughness float64) *wall {
	if w, ok := walls.Load(roughness); ok {
		return w.(*wall)
	}
	n := (wallHigh - wallLow) << wallBits
	w := &wall{make([]float64, n+1), make([]float64, n+1)}
	for i := range n + 1 {
		re := math.Ldexp(float64(1<<wallBits+i&(1<<wallBits-1)), wallLow-wallBits+i>>wallBits)
		part := min(1, max(0, (re-2000)/2000))
		w.f[i] = 64 / re
		w.nu[i] = laminarNu
		if part > 0 {
			w.f[i] = float64((1-part)*64/re) + float64(part*colebrook(re, roughness))
			w.nu[i] = float64((1-part)*laminarNu) + float64(part*0.023*power(re, 0.8)*power(prandtl, 0.4))
		}
	}
	got, _ := walls.LoadOrStore(roughness, w)
	return got.(*wall)
}

// factor is the Darcy factor, and nusselt the Nusselt number, at a Reynolds number from
// 1024; above 2^27 those at 2^27.
func (w *wall) factor(re float64) float64 {
	i, part := w.place(re)
	return w.f[i] + float64(part*(w.f[i+1]-w.f[i]))
}

func (w *wall) nusselt(re float64) float64 {
	i, part := w.place(re)
	return w.nu[i] + float64(part*(w.nu[i+1]-w.nu[i]))
}

// place reads the part of its doubling from the bits of the number: no logarithm.
func (w *wall) place(re float64) (int, float64) {
	const top = 52 - wallBits
	bits := math.Float64bits(re)
	i := int(bits>>top) - (1023+wallLow)<<wallBits
	if i >= len(w.f)-1 {
		return len(w.f) - 2, 1
	}
	part := float64(bits&(1<<top-1)) * (1.0 / (1 << top))
	return i, part
}

// colebrook is the Darcy factor of turbulent flow: 1/√f = −2 log10(ε/(3.7 D) + 2.51/(Re √f)).
func colebrook(re, roughness float64) float64 {
	const log10e = 0.4342944819032518
	x := 7.0 // 1/√f
	for range 30 {
		x = -2 * log10e * logarithm(roughness/3.7+2.51*x/re)
	}
	return 1 / (x * x)
}

// logarithm is the natural logarithm of a positive number, and power x^y, by series of the
// four operations alone: those of package math differ in the last bit between builds.
func logarithm(x float64) float64 {
	m, e := math.Frexp(x) // m in [0.5, 1)
	if m < math.Sqrt2/2 {
		m, e = 2*m, e-1
	}
	z := (m - 1) / (m + 1)
	z2 := z * z
	sum := 0.0
	for k := 23; k >= 1; k -= 2 {
		sum = float64(sum*z2) + 1/float64(k)
	}
	return float64(2*z*sum) + float64(float64(e)*math.Ln2)
}

func power(x, y float64) float64 {
	a := float64(y * logarithm(x))
	k := math.Floor(a/math.Ln2 + 0.5)
	a -= float64(k * math.Ln2)
	sum := 1.0
	for i := 16; i >= 1; i-- {
		sum = 1 + float64(a*sum)/float64(i)
	}
	return math.Ldexp(sum, int(k))
}
