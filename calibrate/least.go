package calibrate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// least turns the named knobs from z until the sum of the squares of what is left is
// least, by Levenberg's and Marquardt's steps, cut off at the bounds: a knob that stands at
// one and would go beyond is left out of a step.
func (b *bench) least(z, left []float64, which []int) ([]float64, []float64, error) {
	damping, cost := 1e-3, square(left)
	for range 30 {
		jac, err := b.derivativesBy(z, which)
		if err != nil {
			return nil, nil, err
		}
		var slope mat.VecDense
		slope.MulVec(jac.T(), mat.NewVecDense(len(left), left))
		var free []int // of which
		for k, j := range which {
			if g := slope.AtVec(k); !(z[j] >= 1 && g < 0) && !(z[j] <= -1 && g > 0) {
				free = append(free, k)
			}
		}
		if len(free) == 0 {
			return z, left, nil
		}
		better, moved, gain := false, 0.0, 0.0
		for ; damping < 1e6 && !better; damping *= 10 {
			step, ok := damped(jac, &slope, free, damping)
			if !ok {
				continue
			}
			y := slices.Clone(z)
			moved = 0
			for k, f := range free {
				j := which[f]
				y[j] = min(max(z[j]-step.AtVec(k), -1), 1)
				moved = max(moved, math.Abs(y[j]-z[j]))
			}
			r, err := b.left(y)
			if err != nil {
				return nil, nil, err
			}
			if c := square(r); c < cost {
				better, gain = true, (cost-c)/cost
				z, left, cost = y, r, c
			}
			if !better && moved < 1e-4 {
				break
			}
		}
		if !better || moved < 1e-4 || gain < 1e-6 {
			break
		}
		damping = max(damping/100, 1e-9) // the loop has raised it once
	}
	return z, left, nil
}

// damped solves (JᵀJ + damping · diag JᵀJ) step = slope for the free columns.
func damped(jac *mat.Dense, slope *mat.VecDense, free []int, damping float64) (*mat.VecDense, bool) {
	j := columns(jac, free)
	var gram mat.SymDense
	gram.SymOuterK(1, j.T())
	rhs := mat.NewVecDense(len(free), nil)
	for k, f := range free {
		gram.SetSym(k, k, gram.At(k, k)*(1+damping)+math.SmallestNonzeroFloat64)
		rhs.SetVec(k, slope.AtVec(f))
	}
	var ch mat.Cholesky
	if !ch.Factorize(&gram) {
		return nil, false
	}
	step := mat.NewVecDense(len(free), nil)
	return step, ch.SolveVecTo(step, rhs) == nil
}

func square(r []float64) float64 {
	sum := 0.0
	for _, x := range r {
		sum += x * x
	}
	return sum
}

// columns are some columns of a matrix.
func columns(m *mat.Dense, which []int) *mat.Dense {
	rows, _ := m.Dims()
	out := mat.NewDense(rows, len(which), nil)
	for k, j := range which {
		out.SetCol(k, mat.Col(nil, j, m))
	}
	return out
}

// choose parts the first n knobs into those that can be fitted together, those that must be
// held for that, in the order in which they were, and those that the pressures do not show
// even alone. sigma is the error of a pressure, quantile the factor of an interval, and
// wobble the length of the error of each derivative.
func choose(jac *mat.Dense, n int, sigma, quantile float64, wobble []float64) (fitted, held, unseen []int) {
	for j := range n {
		if mat.Norm(mat.NewVecDense(jac.RawMatrix().Rows, mat.Col(nil, j, jac)), 2) <= sigma*quantile {
			unseen = append(unseen, j)
		} else {
			fitted = append(fitted, j)
		}
	}
	for len(fitted) > 1 {
		var svd mat.SVD
		if !svd.Factorize(columns(jac, fitted), mat.SVDThin) {
			break
		}
		var v mat.Dense
		svd.VTo(&v)
		values := svd.Values(nil)
		// that two derivatives are not quite one may be the scatter of the runs alone
		unsure := 0.0
		for k, j := range fitted {
			unsure = math.Hypot(unsure, v.At(k, len(values)-1)*wobble[j])
		}
		if values[len(values)-1] > math.Hypot(sigma, unsure)*quantile {
			break
		}
		most := 0
		for k := range fitted {
			if math.Abs(v.At(k, len(values)-1)) > math.Abs(v.At(most, len(values)-1))*1.05 {
				most = k
			}
		}
		held = append(held, fitted[most])
		fitted = slices.Delete(fitted, most, most+1)
	}
	return fitted, held, unseen
}
