package air

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"headstock/internal/outside"
)

// Steel pipe of schedule 40, the sizes of branch pipes and main pipes: psi lost in 100 ft by cubic feet of free air
// a minute (air of 100 psi and 60 °F, free at 14.7 psi), from the same table that the reference solver is held
// against in 1 and 1¼ in. The two smaller sizes have the rows of 20, 30, 40, 50 and 100, as far as they lose less than a
// tenth of the pressure, the two larger those of 100, 150, 200, 300 and 400. A pipe of 1 ft that loses a hundredth is run, so that the air keeps its
// density. Bores are those of the pipe schedule, the roughness is the 0.00015 ft of commercial steel, both from memory.
func TestSteelPipeOfNetwork(t *testing.T) {
	const (
		foot  = 0.3048
		cfm   = foot * foot * foot / 60
		sixty = (60-32)/1.8 + 273.15
		head  = 114.7 * psi
		free  = 14.7 * psi / (GasConstant * sixty)
	)
	book := outside.Open(t)
	for _, w := range []struct {
		inch string
		bore float64 // in
		rows string  // cfm and psi in 100 ft
	}{
		{"½", 0.622, "20 1.43 30 3.15 40 5.49 50 8.49"},
		{"¾", 0.824, "20 .345 30 .748 40 1.30 50 1.99 100 7.69"},
		{"1½", 1.610, "100 .247 150 .537 200 .937 300 2.07 400 3.64"},
		{"2", 2.067, "100 .070 150 .151 200 .264 300 .573 400 1.00"},
	} {
		rows := strings.Fields(w.rows)
		for k := 0; k < len(rows); k += 2 {
			want, _ := strconv.ParseFloat(rows[k], 64)
			drop, err := strconv.ParseFloat(rows[k+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			_, digits, _ := strings.Cut(rows[k+1], ".")
			half := 0.5 / math.Pow(10, float64(len(digits)))
			b := NewBuilder()
			from, to := b.Source("head", head), b.Source("tail", head-drop*psi/100)
			pipe := b.Pipe("pipe", from, to, w.bore*0.0254, foot, 0.00015*foot, 0)
			net, err := b.Compile()
			if err != nil {
				t.Fatal(err)
			}
			c := Usual()
			c.Temperature = sixty
			r := net.NewRun(c)
			advance(t, r, 30)
			settled := r.Flow(pipe)
			advance(t, r, 60)
			if math.Abs(r.Flow(pipe)-settled) > 1e-5*settled {
				t.Errorf("%s in: %g, then %g kg/s", w.inch, settled, r.Flow(pipe))
			}
			book.Hold(outside.At("B-14", "steel-pipe-air", fmt.Sprintf("free air through steel pipe of %s in that loses %s psi in 100 ft", w.inch, rows[k+1]), want, r.Flow(pipe)/free/cfm, "cfm",
				want*(0.01+half/drop/2), "the source reads its friction from a chart: 2 % of the drop, so 1 % of the flow; and half of the drop's last digit"))
		}
	}
}

// A tyre of 1 ft3 at 50 psi absolute and 70 °F goes down through its valve of 0.0938 in: Balmer 16.8 finds by the
// choked flow when it has come down to 13.1 psi and is choked no longer.
func TestTyre(t *testing.T) {
	c := fine()
	c.Atmosphere, c.Temperature = 14.7*psi, (70.-32)/1.8+273.15
	b := NewBuilder()
	n := b.Volume("tyre", 0.028316846592)
	b.Passage("valve", n, Atmosphere, Nozzle(1, math.Pi/4*0.0938*0.0938*0.0254*0.0254))
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(c)
	r.Fill(n, 50*psi)
	const end = 14.7 / 0.5282818 // psi absolute
	took := until(t, r, 60, func() bool { return r.Pressure(n) <= end*psi })
	outside.Open(t).Hold(outside.At("example 16.8", "balmer", "a tyre of 1 ft3 comes down through its valve from 50 psi absolute to 13.1 psi in", 31.95*math.Log(50/end), took, "s", 0.09,
		"half of the last printed digit of the time, and 0.2 % for a bore and a flow constant of three figures"))
	audit(t, r)
}

// A tank of 20 m3 is let down without heat from 10 MPa and 25 °C to 200 kPa: what is left, and how cold.
func TestTankLetDown(t *testing.T) {
	c := fine()
	c.Air, c.Temperature = OwnTemperatures, 298
	b := NewBuilder()
	n := b.Volume("tank", 20)
	b.Passage("hole", n, Atmosphere, Nozzle(1, 1e-3))
	net, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	r := net.NewRun(c)
	r.Fill(n, 10e6)
	until(t, r, 3600, func() bool { return r.Pressure(n) <= 200e3 })
	left := 10e6 * 20 / (287 * 298) * math.Pow(0.02, 1/1.4)
	outside.Open(t).Hold(
		outside.At("example 4.20", "thermodynamics-companion", "air left in a tank let down from 10 MPa to 200 kPa", left, r.mass[n], "kg", 0.003*left, "0.3 %: steps of time"),
		outside.At("example 4.20", "thermodynamics-companion", "its temperature", 298*math.Pow(0.02, 0.4/1.4), r.Temperature(n), "K", 0.3, "0.3 %: steps of time"))
	audit(t, r)
}

// Two vessels are joined and nothing passes their walls. In the book they stand at 55 and 25 °C and hold nitrogen, here at one
// temperature and air: the pressure at the end depends on neither. The teaching book joins two tanks of one size.
func TestVesselsJoined(t *testing.T) {
	book := outside.Open(t)
	joined := func(v1, p1, v2, p2 float64) float64 {
		b := NewBuilder()
		a, z := b.Volume("first", v1), b.Volume("second", v2)
		b.Passage("hole", a, z, Nozzle(0.8, 1e-4))
		net, err := b.Compile()
		if err != nil {
			t.Fatal(err)
		}
		c := fine()
		c.Air = OwnTemperatures
		r := net.NewRun(c)
		r.Fill(a, p1)
		r.Fill(z, p2)
		advance(t, r, 600)
		if math.Abs(r.Pressure(a)-r.Pressure(z)) > 10 {
			t.Errorf("%g and %g Pa are not level", r.Pressure(a), r.Pressure(z))
		}
		audit(t, r)
		return r.Pressure(a) / 1e5
	}
	v1, v2 := 0.6*8314*328/16e5, 3*8314/28.*298/6.4e5
	u := 0.6*28*328 + 3*298
	book.Hold(
		outside.At("example 9.12", "rajput-thermodynamics", "pressure of vessels of 16 and 6.4 bar after they are joined, insulated", u*8314/28/(v1+v2)/1e5, joined(v1, 16e5, v2, 6.4e5), "bar", 0.005, "half of the second decimal"),
		outside.At("figure 5", "camozzi-physics", "pressure of tanks of one size, 5 and 1 bar, after they are joined", 3, joined(0.05, 5e5, 0.05, 1e5), "bar", 0.005, "half of the second decimal"))
}
