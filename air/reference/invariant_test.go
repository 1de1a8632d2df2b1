package reference

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Whatever is joined to a pipe: no air is lost, and every pressure stays between nothing
// and a little over the highest that was put to it (air that is stopped rises over it).
func TestAnyPipeKeepsItsAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bore := rapid.Float64Range(0.015, 0.05).Draw(t, "bore")
		hole := rapid.Float64Range(0, 0.8*bore)
		pressure := rapid.Float64Range(1e5, 8e5)
		share := rapid.Float64Range(0.3, 1)
		rows := func(name string) []Row {
			row := func(at float64) Row {
				return Row{T: at, Mode: rapid.SampledFrom([]string{"closed", "vent", "feed", "pressure"}).Draw(t, name), Diameter: hole.Draw(t, "diameter"), DiameterStart: hole.Draw(t, "start"),
					Cd: share.Draw(t, "Cd"), CriticalRatio: rapid.SampledFrom([]float64{0, 0.3, 0.5}).Draw(t, "b"), Ramp: rapid.SampledFrom([]float64{0, 0.01, 0.2}).Draw(t, "ramp"), Pressure: pressure.Draw(t, "pressure")}
			}
			return []Row{row(0), row(0.3)}
		}
		s := Spec{Bore: bore, Roughness: 5e-5, Friction: "colebrook", Model: rapid.SampledFrom([]string{"iso", "euler"}).Draw(t, "model"),
			Insulated: rapid.Bool().Draw(t, "insulated"), VehiclePipe: rapid.Float64Range(5, 20).Draw(t, "length"), Vehicles: rapid.IntRange(2, 4).Draw(t, "vehicles"),
			Start: pressure.Draw(t, "p"), End: 1, K: rapid.Float64Range(0, 4).Draw(t, "K"), Head: rows("head"), Tail: rows("tail")}
		if rapid.Bool().Draw(t, "branches") {
			s.Branch = &Branch{Volume: rapid.Float64Range(0.001, 0.1).Draw(t, "volume"), Choke: rapid.Float64Range(0.001, 0.01).Draw(t, "choke"), Cd: 0.8,
				Check: rapid.Bool().Draw(t, "check"), Start: pressure.Draw(t, "reservoir")}
		}
		if rapid.Bool().Draw(t, "leaks") {
			s.Leak = &Hole{Diameter: rapid.Float64Range(0, 0.01).Draw(t, "leak"), Cd: 0.8}
		}
		if rapid.Bool().Draw(t, "vents") {
			s.Vent = &Vent{Hole: Hole{Diameter: hole.Draw(t, "vent"), Cd: 0.8}, Trigger: pressure.Draw(t, "trigger"), Ramp: rapid.SampledFrom([]float64{0, 0.03}).Draw(t, "ramp")}
		}
		if rapid.Bool().Draw(t, "restricted") {
			s.Restriction = &Restriction{Diameter: rapid.Float64Range(0.002, bore).Draw(t, "restriction"), Cd: 0.8, After: 0}
		}
		p, err := New(s, 4)
		if err != nil {
			t.Fatal(err)
		}
		m0, e0 := p.Mass(), p.Energy()
		if err := p.Advance(s.End); errors.Is(err, ErrFast) {
			t.Skip("faster than sound")
		} else if err != nil {
			t.Fatal(err)
		}
		out, energy := p.Left()
		if d := (p.Mass() + out - m0) / m0; math.Abs(d) > 1e-9 {
			t.Fatalf("%g of the air is lost", d)
		}
		if s.Model == "euler" {
			if d := (p.Energy() + energy - e0) / e0; math.Abs(d) > 1e-8 {
				t.Fatalf("%g of the energy is lost", d)
			}
		}
		for i := range p.Cells() {
			if _, _, pr := p.Cell(i); !(pr > 0 && pr < 3e6) {
				t.Fatalf("cell %d stands at %g Pa", i, pr)
			}
		}
	})
}

// An emergency with energy and wall heat has no outside value here; each halving of the
// cells must change the head by about a quarter of what the one before did.
func TestEmergencyWithEnergyConverges(t *testing.T) {
	s := Spec{Bore: 0.032, Roughness: 5e-5, Friction: "colebrook", Model: "euler", VehiclePipe: 16.2, Vehicles: 60, Start: 601325, End: 6, K: 1,
		Head: []Row{{Mode: "vent", Diameter: 0.025, Cd: 0.8, Ramp: 0.1}}, Tail: []Row{{Mode: "closed"}}}
	var names []string
	for i := range 6 {
		names = append(names, fmt.Sprintf("p_head_%ds_Pa", i+1))
	}
	var at [3][]Figure
	for k, cells := range []int{4, 8, 16} {
		o, err := Run(s, cells, names)
		if err != nil {
			t.Fatal(err)
		}
		at[k] = o.Figures
	}
	var d [2]float64
	for i := range names {
		for k := range d {
			d[k] += math.Abs(at[k+1][i].Value - at[k][i].Value)
		}
	}
	order := math.Log2(d[0] / d[1])
	t.Logf("emergency with energy, head: order %.2f, last change %.0f Pa in the mean", order, d[1]/6)
	if order < 1.7 {
		t.Errorf("order %.2f, want 1.7", order)
	}
}
