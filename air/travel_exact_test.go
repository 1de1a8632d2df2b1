package air

import (
	"math"
	"testing"
)

// Longer travel lowers the pressure: air.md section 7 (own closed form there):
// p_f = (p1 V1 + pa V0)/(V1+V2) absolute, at every travel of its table.
func TestTravel_exact(t *testing.T) {
	for _, travel := range []float64{5, 7, 8, 9, 12} {
		g := directRig(t, travel)
		r := g.charge(t, 90*psi)
		v1, v0, v2 := 2500., 200., 200+78.54*travel
		p1 := r.Pressure(g.ar)
		want := (p1*v1+Standard*v0)/(v1+v2) - Standard
		r.Set(g.led, 20*psi)
		advance(t, r, r.Time()+120)
		if got := r.Gauge(g.cyl); math.Abs(got-want) > 700 {
			t.Errorf("travel %g in: %.2f psi, want %.2f", travel, got/psi, want/psi)
		}
	}
}
