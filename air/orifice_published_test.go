package air

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// The orifice discharge table of air.md 9.4 [P3]: cubic feet of free air a minute. The
// source used Moss's formula above 15 psi; 0.5 % covers its constant and its rounding.
func TestOrificeDischargeTable(t *testing.T) {
	const (
		psi  = 6894.757
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
	if len(rows) != 9 {
		t.Fatalf("%d rows, want 9", len(rows))
	}
	for _, row := range rows {
		d, _ := strconv.ParseFloat(row[0], 64)
		p, _ := strconv.ParseFloat(row[1], 64)
		want, _ := strconv.ParseFloat(row[2], 64)
		o := Nozzle(1, math.Pi/4*d*d*inch*inch)
		got := o.Flow(p*psi+atm, atm, temp) / free / cfm
		if math.Abs(got-want) > 0.005*want {
			t.Errorf("%s in at %s psi: %.4g cfm, published %g", row[0], row[1], got, want)
		}
	}
}

// ISO 6358 with b = 0.5283 lies within 0.3 % of the isentropic nozzle (air.md 1.2).
func TestEllipseAgainstNozzle_cross(t *testing.T) {
	n := Nozzle(1, 1e-5)
	o := Orifice{C: n.Flow(6e5, 1e5, RefTemp) / (RefDensity * 6e5), B: CriticalRatio}
	for r := 0.1; r < 0.99; r += 0.01 {
		a, b := n.Flow(6e5, r*6e5, RefTemp), o.Flow(6e5, r*6e5, RefTemp)
		if math.Abs(a-b) > 0.0031*a {
			t.Errorf("r %.2f: nozzle %g, ellipse %g", r, a, b)
		}
	}
}
