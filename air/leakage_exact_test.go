package air

import (
	"math"
	"testing"
)

// The two leakage tests of one rule, by drop and by flow (air.md section 8). With the feed
// shut a volume V with a leak Q of free air loses Q·pa/V a second; with the feed open the same Q flows
// in. So 5 psi a minute and 60 cfm are the same leak only when V = 60·14.696/5 = 176.35 ft3 =
// 4.9936 m3. On 253 l of pipe 60 cfm fall twenty times faster, and what falls 5 psi a
// minute flows 3 cfm. The leak grows smaller as the pipe falls, so over the minute the
// drop is (1 − e^−x) of x = 5 psi over the absolute pressure.
func TestLeakByDropAndByFlow(t *testing.T) {
	const cfm = 28.316846592e-3 / 60 // m3/s of free air
	const full = 500e3 + Standard
	for _, w := range []struct{ volume, cfm float64 }{{4.9936, 60}, {0.253, 60}, {0.253, 3.0398}} {
		b := NewBuilder()
		mr := b.Source("main reservoir", 900e3)
		led, on := b.Slot(500e3), b.Slot(1)
		pipe := b.Volume("pipe", w.volume)
		in, _ := b.Regulator(RegulatorSpec{Name: "feed", Supply: mr, Output: pipe, Slot: led, Control: -1, SupplyO: Hole(12e-3, 0.8), Band: 500})
		b.Guard(in, on)
		// a choked leak that passes so much free air at full pressure
		b.Passage("leak", pipe, Atmosphere, Orifice{C: w.cfm * cfm * Standard / (GasConstant * RefTemp) / (RefDensity * full), B: 0.5})
		net, err := b.Compile()
		if err != nil {
			t.Fatal(err)
		}
		r := net.NewRun(fine())
		r.Fill(pipe, full)
		advance(t, r, 30)
		if got := r.Flow(in) / Standard * GasConstant * RefTemp / cfm; math.Abs(got-w.cfm) > 1e-3*w.cfm {
			t.Errorf("%g m3: %.3f cfm flow in, want %g", w.volume, got, w.cfm)
		}
		start := r.Pressure(pipe)
		r.Set(on, 0)
		advance(t, r, 90)
		x := w.cfm * cfm * Standard / w.volume * 60 / full
		want := start * (1 - math.Exp(-x))
		if x > 1 {
			continue // it is no longer choked within the minute
		}
		if got := start - r.Pressure(pipe); math.Abs(got-want) > 2e-3*want {
			t.Errorf("%g m3, %g cfm: falls %.3f psi in the minute, want %.3f", w.volume, w.cfm, got/psi, want/psi)
		}
		if got := x * full / psi; w.volume != 0.253 || w.cfm < 60 {
			if math.Abs(got-5) > 0.01 {
				t.Errorf("%g m3, %g cfm: begins with %.3f psi a minute, want 5", w.volume, w.cfm, got)
			}
		}
		audit(t, r)
	}
}
