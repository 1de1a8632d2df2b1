package air

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"headstock/internal/outside"
)

// The orifice discharge table of air.md 9.4 [P3]: cubic feet of free air a minute. The
// source used Moss's formula above 15 psi, whose constant lies 0.35 % below the exact one, and
// prints three digits, of which half of the last is allowed.
func TestOrificeDischargeTable(t *testing.T) {
	const (
		cfm  = 28.316846592e-3 / 60
		inch = 0.0254
		lb   = 0.45359237
		ft3  = 28.316846592e-3
		atm  = 14.7 * psi
		temp = (70.-32)/1.8 + 273.15
	)
	free := 0.07494 * lb / ft3 // kg/m3
	f, err := os.Open("testdata/orifice.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 29 {
		t.Fatalf("%d rows, want 29", len(rows))
	}
	b := outside.Open(t)
	for _, row := range rows {
		d, _ := strconv.ParseFloat(row[0], 64)
		p, _ := strconv.ParseFloat(row[1], 64)
		want, _ := strconv.ParseFloat(row[2], 64)
		_, digits, _ := strings.Cut(row[2], ".")
		half := 0.5 / math.Pow(10, float64(len(digits)))
		got := Nozzle(1, math.Pi/4*d*d*inch*inch).Flow(p*psi+atm, atm, temp) / free / cfm
		b.Hold(outside.At("9.4", "moss-1906", fmt.Sprintf("free air through a hole of %s in at %s psi", row[0], row[1]), want, got, "cfm", 0.0035*want+half,
			"0.35 %: the constant of the source's formula above 15 psi; and half of the last printed digit"))
	}
}

// isentropic are the rows of air.md 9.1: Mach number, p/p0, ρ/ρ0, T/T0, A/A*.
var isentropic = []struct {
	by                         string
	mach, p, rho, temp, throat float64
}{
	{"isentropic-table", 0.10, 0.9930, 0.9950, 0.9980, 5.8218}, {"isentropic-table", 0.15, 0.9844, 0.9888, 0.9955, 3.9103},
	{"compressible-appendix", 0.50, 0.8430, 0.8852, 0.9524, 1.3398}, {"compressible-appendix", 0.90, 0.5913, 0.6870, 0.8606, 1.0089},
}

// A nozzle that passes p against p0 carries the part 1/(A/A*) of what it carries choked.
// p/p0 is printed to four decimals; near 1 half of the last moves the flow by half of it
// over 2(1 − p/p0).
func TestNozzleAgainstIsentropicRows(t *testing.T) {
	b := outside.Open(t)
	o := Nozzle(1, 1e-4)
	for _, w := range isentropic {
		got := o.Flow(6e5, 1e5, RefTemp) / o.Flow(6e5, w.p*6e5, RefTemp)
		tol := 0.00005 + w.throat*0.00005/(2*(1-w.p))
		b.Hold(outside.At("9.1", w.by, fmt.Sprintf("choked flow of a nozzle over its flow at p/p0 %g", w.p), w.throat, got, "", tol,
			"half of the last digit of p/p0 and of A/A*"))
	}
}

// What stays in a vessel without heat from its wall expands isentropically: emptied to
// p/p0 of a row its temperature and density are those of the row.
func TestVesselAgainstIsentropicRows(t *testing.T) {
	b := outside.Open(t)
	const p0 = 601325.
	c := fine()
	c.Air = OwnTemperatures
	r, n := vessel(t, 0.1, p0, Nozzle(0.8, math.Pi/4*9e-6), c)
	m0, t0 := r.mass[n], r.Temperature(n)
	for _, w := range isentropic {
		for r.Pressure(n) > w.p*p0 {
			r.Advance(r.Time() + 2e-3)
		}
		const why = "half of the last digit of p/p0 and of the row, and 0.0002 for the steps of time"
		b.Hold(outside.At("9.1", w.by, fmt.Sprintf("T/T0 in a vessel that has emptied to p/p0 %g", w.p), w.temp, r.Temperature(n)/t0, "", 3e-4, why),
			outside.At("9.1", w.by, fmt.Sprintf("ρ/ρ0 in a vessel that has emptied to p/p0 %g", w.p), w.rho, r.mass[n]/m0, "", 3e-4, why))
	}
	audit(t, r)
}
