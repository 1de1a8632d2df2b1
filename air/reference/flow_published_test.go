package reference

import (
	"fmt"
	"math"
	"testing"
)

// Isentropic rows of the textbook tables quoted in air.md 9.1 [P1]: a pipe whose end is
// closed by a nozzle of 1/(A/A*) of its bore runs at the Mach number of the row. The tolerance
// is the last printed digit, and for the Mach number that of A/A*.
func TestIsentropicRows(t *testing.T) {
	for _, w := range []struct{ mach, p, rho, temp, area float64 }{
		{0.10, 0.9930, 0.9950, 0.9980, 5.8218}, {0.15, 0.9844, 0.9888, 0.9955, 3.9103},
		{0.50, 0.8430, 0.8852, 0.9524, 1.3398}, {0.90, 0.5913, 0.6870, 0.8606, 1.0089}} {
		s := bare("euler", 100, 0.032, 2e6)
		s.Tail = []Row{{Mode: "vent", Diameter: 0.032, Cd: 1 / w.area}}
		pipe := build(t, s, 200)
		advance(t, pipe, 0.12)
		rho, u, p := pipe.Cell(pipe.Cells() - 1)
		mach := u / math.Sqrt(1.4*p/rho)
		tol := 1e-3
		if w.mach == 0.9 {
			tol = 3e-3 // A/A* hardly changes near Mach 1: its last digit is 0.002 of Mach
		}
		share(t, fmt.Sprintf("Mach %g", w.mach), mach, w.mach, tol)
		// Behind the nozzle's throat the flow is choked: its mass says the total pressure, given the total temperature.
		total := p/(287.05*rho) + u*u/2/(3.5*287.05)
		p0 := rho * u * w.area * math.Sqrt(287.05*total) / 0.684731
		near(t, "p/p0", p/p0, w.p, 0.00005+2*tol*(1-w.p))
		near(t, "T/T0", p/(287.05*rho)/total, w.temp, 0.00005+2*tol*(1-w.temp))
		near(t, "rho/rho0", rho*287.05*total/p0, w.rho, 0.00005+2*tol*(1-w.rho))
	}
}

// Fanno rows, Mach 0.10 and 0.16, quoted in air.md 9.2 [P17]: the pipe is as long as
// the difference of fL*/D, its ends are held at the ratio of p/p*; the Mach numbers, the
// temperature, the density and the total pressure must come out as printed. 0.2 %: the
// Mach numbers follow from a pressure ratio of five figures and 80 cells.
func TestFannoRows(t *testing.T) {
	const bore, f = 0.032, 0.02
	s := bare("euler", (66.922-24.198)*bore/f, bore, 595820)
	s.Friction, s.Factor, s.Insulated = "constant", f, true
	s.Head = []Row{{Mode: "pressure", Pressure: 595820}}
	s.Tail = []Row{{Mode: "pressure", Pressure: 595820, PressureEnd: 595820 * 6.8291 / 10.944, Ramp: 1}}
	const n = 80
	pipe := build(t, s, n)
	advance(t, pipe, 12)
	ends := [2]state{}
	for k, i := range []int{0, n - 1} {
		j := i + 1 - 2*k
		a, b := state{}, state{}
		a.rho, a.u, a.p = pipe.Cell(i)
		b.rho, b.u, b.p = pipe.Cell(j)
		ends[k] = state{1.5*a.rho - 0.5*b.rho, 1.5*a.u - 0.5*b.u, 1.5*a.p - 0.5*b.p}
	}
	mach := func(s state) float64 { return s.u / math.Sqrt(1.4*s.p/s.rho) }
	total := func(s state) float64 { return s.p * math.Pow(1+0.2*mach(s)*mach(s), 3.5) }
	a, b := ends[0], ends[1]
	t.Logf("Fanno: Mach %.5f to %.5f", mach(a), mach(b))
	share(t, "Mach at the inlet", mach(a), 0.10, 2e-3)
	share(t, "Mach at the outlet", mach(b), 0.16, 2e-3)
	share(t, "temperature", b.p/b.rho*a.rho/a.p, 1.1939/1.1976, 2e-4)
	share(t, "density", b.rho/a.rho, 5.7200/9.1378, 2e-4)
	share(t, "total pressure", total(b)/total(a), 3.6727/5.8218, 2e-4)
}
