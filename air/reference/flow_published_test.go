package reference

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"headstock/internal/outside"
)

// Isentropic rows of the textbook tables quoted in air.md 9.1 [P1]: a pipe whose end is
// closed by a nozzle of 1/(A/A*) of its bore runs at the Mach number of the row. The tolerance
// is the last printed digit, and for the Mach number that of A/A*.
func TestIsentropicRows(t *testing.T) {
	book := outside.Open(t)
	const digit = "half of the last printed digit, and what the Mach number's tolerance moves it"
	for _, w := range []struct {
		by                       string
		mach, p, rho, temp, area float64
	}{
		{"isentropic-table", 0.10, 0.9930, 0.9950, 0.9980, 5.8218}, {"isentropic-table", 0.15, 0.9844, 0.9888, 0.9955, 3.9103},
		{"compressible-appendix", 0.50, 0.8430, 0.8852, 0.9524, 1.3398}, {"compressible-appendix", 0.90, 0.5913, 0.6870, 0.8606, 1.0089}} {
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
		hold := func(what string, want, got, tol float64, why string) {
			book.Hold(outside.At("9.1", w.by, fmt.Sprintf("%s in a pipe behind a nozzle of A/A* %g", what, w.area), want, got, "", tol, why))
		}
		hold("Mach number", w.mach, mach, tol*w.mach, "the last digit of A/A*, which hardly changes near Mach 1")
		// Behind the nozzle's throat the flow is choked: its mass says the total pressure, given the total temperature.
		total := p/(287.05*rho) + u*u/2/(3.5*287.05)
		p0 := rho * u * w.area * math.Sqrt(287.05*total) / 0.684731
		hold("p/p0", w.p, p/p0, 0.00005+2*tol*(1-w.p), digit)
		hold("T/T0", w.temp, p/(287.05*rho)/total, 0.00005+2*tol*(1-w.temp), digit)
		hold("ρ/ρ0", w.rho, rho*287.05*total/p0, 0.00005+2*tol*(1-w.rho), digit)
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
	book := outside.Open(t)
	hold := func(what string, want, got, part float64) {
		book.Hold(outside.At("9.2", "farokhi", what, want, got, "", part*want, "0.2 % for a Mach number, from a pressure ratio of five figures and 80 cells; 0.02 % for a ratio of two printed figures"))
	}
	hold("Mach number at the inlet of a pipe with friction", 0.10, mach(a), 2e-3)
	hold("Mach number at its outlet", 0.16, mach(b), 2e-3)
	hold("temperature, outlet over inlet", 1.1939/1.1976, b.p/b.rho*a.rho/a.p, 2e-4)
	hold("density, outlet over inlet", 5.7200/9.1378, b.rho/a.rho, 2e-4)
	hold("total pressure, outlet over inlet", 3.6727/5.8218, total(b)/total(a), 2e-4)
}

// The shock tube of Sod: the star region between fan and shock as tabulated by Toro (table 4.3
// of his book, in two public repositories that repeat it). The cells in the middle of the two plateaus are
// even; what is left there is the scheme's own error, far below 0.1 %, and the digits printed.
func TestStarRegion(t *testing.T) {
	book := outside.Open(t)
	const n = 400
	pipe := build(t, bare("euler", 1, 0.1, 1), n)
	pipe.Set(func(x float64) (rho, u, p float64) {
		if x > 0.5 {
			return 0.125, 0, 0.1
		}
		return 1, 0, 1
	})
	advance(t, pipe, 0.2)
	mean := func(from, to float64) (rho, u, p float64) {
		k := 0.
		for i := range n {
			if x := pipe.Middle(i); x > from && x < to {
				a, b, c := pipe.Cell(i)
				rho, u, p, k = rho+a, u+b, p+c, k+1
			}
		}
		return rho / k, u / k, p / k
	}
	left, u, p := mean(0.55, 0.63)
	right, _, _ := mean(0.74, 0.80)
	hold := func(what string, want, got float64) {
		book.Hold(outside.At("9.3", "toro-4.3", what, want, got, "", 1e-3*want, "0.1 %: 400 cells"))
	}
	hold("pressure of the star region of Sod's shock tube", 0.30313, p)
	hold("speed there", 0.92745, u)
	hold("density left of the contact", 0.42632, left)
	hold("density right of the contact", 0.26557, right)
}

// Flow of air through schedule 40 steel pipe of 1 and 1¼ in, air of 100 psi and 60 °F at 14.7 psi
// (a table of a handbook of flow of fluids, in a public copy): psi lost in 100 ft at so many cubic feet of free air
// a minute. The pipe here is 1 ft long and loses a hundredth, so that the air keeps its
// density; it is warmer than the table's, so its pressure is raised to the same density. Bores
// are those of the pipe schedule, the roughness is the 0.00015 ft of commercial steel, both from memory.
func TestSteelPipe(t *testing.T) {
	const (
		psi   = 6894.757
		foot  = 0.3048
		cfm   = foot * foot * foot / 60
		sixty = (60-32)/1.8 + 273.15
		head  = 114.7 * psi * 293.15 / sixty
		free  = 14.7 * psi / (287.05 * sixty)
	)
	book := outside.Open(t)
	for _, w := range []struct {
		inch       string
		bore, flow float64 // in, cfm
		drop       string  // psi in 100 ft
	}{
		{"1", 1.049, 40, ".379"}, {"1", 1.049, 50, ".578"}, {"1", 1.049, 60, ".819"}, {"1", 1.049, 70, "1.10"},
		{"1", 1.049, 80, "1.43"}, {"1", 1.049, 100, "2.21"}, {"1", 1.049, 150, "4.87"}, {"1", 1.049, 200, "8.54"},
		{"1¼", 1.380, 40, ".095"}, {"1¼", 1.380, 60, ".200"}, {"1¼", 1.380, 80, ".350"}, {"1¼", 1.380, 100, ".534"},
		{"1¼", 1.380, 150, "1.17"}, {"1¼", 1.380, 200, "2.05"}, {"1¼", 1.380, 300, "4.56"}, {"1¼", 1.380, 400, "8.02"},
	} {
		drop, err := strconv.ParseFloat(w.drop, 64)
		if err != nil {
			t.Fatal(err)
		}
		_, digits, _ := strings.Cut(w.drop, ".")
		half := 0.5 / math.Pow(10, float64(len(digits)))
		area := math.Pi / 4 * w.bore * w.bore * 0.0254 * 0.0254
		g := w.flow * cfm * free / area
		gain := g * g * 287.05 * 293.15 / head / (2 * head)
		s := bare("iso", foot, w.bore*0.0254, head)
		s.Friction, s.Roughness = "colebrook", 0.00015*foot
		s.Head = []Row{{Mode: "pressure", Pressure: head}}
		s.Tail = []Row{{Mode: "pressure", Pressure: head, PressureEnd: head - drop*psi/100, Ramp: 0.1}}
		pipe := build(t, s, 10)
		advance(t, pipe, 5)
		book.Hold(outside.At("B-14", "steel-pipe-air", fmt.Sprintf("free air through steel pipe of %s in that loses %s psi in 100 ft", w.inch, w.drop), w.flow, pipe.HeadFlow()/free/cfm, "cfm",
			w.flow*(0.01+half/drop/2+gain), "the source reads its friction from a chart: 2 % of the drop, so 1 % of the flow; it leaves out the pressure that the air needs to gain speed, ρu²/2p of the flow; and half of the drop's last digit"))
	}
}
