package air

import (
	"math"
	"testing"
)

// A dead engine on the brake pipe, air.md 6.3: 500 L through 3 mm from a pipe held at 6 bar
// absolute. While the choke is choked the reservoir rises evenly, by C·ρ0·RT·p/V with C =
// 0.1992·0.8·π/4·9 mm2 = 1.126 dm3/(s bar), so by 13.5 mbar/s: 1.7 bar gauge after 126 s.
// What it takes from the pipe meanwhile is V·(dp/dt) over the atmosphere, 399 L of free air
// a minute.
func TestDeadEngineCharging_exact(t *testing.T) {
	b := NewBuilder()
	pipe := b.Source("brake pipe", 6e5)
	mr := b.Volume("second reservoir", 0.5)
	feed := b.Volume("dead feed", 0.2e-3)
	choke := b.Passage("choke", pipe, feed, Hole(3e-3, 0.8))
	b.Check("check", feed, mr, Hole(10e-3, 0.8), 25e3)
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(fine())
	c := 0.1992e-8 * 0.8 * math.Pi / 4 * 9 // m3/(s Pa)
	rate := c * RefDensity * GasConstant * RefTemp * 6e5 / 0.5
	advance(t, r, 20)
	start, p := r.Time(), r.Pressure(mr)
	if free := r.Flow(choke) * GasConstant * RefTemp / Standard * 60e3; math.Abs(free-rate*0.5/Standard*60e3) > 0.4 {
		t.Errorf("draws %.1f L of free air a minute, want %.1f", free, rate*0.5/Standard*60e3)
	}
	advance(t, r, 100)
	if got := (r.Pressure(mr) - p) / (r.Time() - start); math.Abs(got-rate) > 1e-3*rate || math.Abs(rate-1350) > 15 {
		t.Errorf("rises %.1f Pa/s, want %.1f", got, rate)
	}
	if took := until(t, r, 60, func() bool { return r.Gauge(mr) > 170e3 }) + 100; math.Abs(took-170e3/rate) > 1 {
		t.Errorf("1.7 bar after %.1f s, want %.1f", took, 170e3/rate)
	}
	audit(t, r)
}
