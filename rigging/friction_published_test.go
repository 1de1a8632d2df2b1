package rigging_test

import (
	"testing"

	"headstock/internal/outside"
	"headstock/rigging"
)

// Friction of blocks by force and speed. The composition law's constants were read; those
// of iron are from memory.
func TestPublishedFriction(t *testing.T) {
	b := outside.Open(t)
	const kmh = 1 / 3.6
	iron, comp := rigging.CastIron.Law(), rigging.Composition.Law()
	b.Hold(
		outside.At("FRI-K00", "pfaff-notebooks", "composition, 20 kN a block, at rest", 0.3457, comp.At(20e3, 0), "", 0.0003, "the rounding of the printed figure"),
		outside.At("FRI-K40", "pfaff-notebooks", "composition, 20 kN a block, 40 km/h", 0.2856, comp.At(20e3, 40*kmh), "", 0.0003, "the rounding of the printed figure"),
	)
	for _, w := range []struct {
		id          string
		v, mu, from float64
	}{{"FRI-I00", 0, 0.3024, 0}, {"FRI-I20", 20, 0.1815, 0}, {"FRI-I40", 40, 0.1411, 0}, {"FRI-I60", 60, 0.121, 0}, {"FRI-I80", 80, 0.1089, 0}} {
		b.Hold(outside.At(w.id, "karwatzki-1950", "plain iron, 20 kN a block", w.mu, iron.At(20e3, w.v*kmh), "", 0.0003, "the rounding of the figure").As(outside.FromMemory))
	}
	for _, w := range []struct {
		id    string
		v, mu float64
	}{{"FRI-S00", 0, 0.27}, {"FRI-S20", 20, 0.162}, {"FRI-S40", 40, 0.126}, {"FRI-S60", 60, 0.108}} {
		b.Hold(outside.At(w.id, "ptr", "calculated iron", w.mu, rigging.CalculatedIron(w.v*kmh), "", 0.0005, "the rounding of the figure").As(outside.FromMemory))
	}
}

// Every law falls with speed and with the force on a block, and is split exactly.
func TestLawsFall(t *testing.T) {
	for _, m := range rigging.Materials() {
		l := m.Law()
		for f := 0.0; f < 60e3; f += 5e3 {
			for v := 0.0; v < 40; v += 2 {
				if l.At(f+5e3, v) >= l.At(f, v) || l.At(f, v+2) >= l.At(f, v) {
					t.Fatalf("%s: does not fall at %g N, %g m/s", m, f, v)
				}
			}
		}
		if f := l.At(20e3, 0); f != l.ByForce(20e3)*l.BySpeed(0) || f < 0.1 || f > 0.6 {
			t.Errorf("%s: %g", m, f)
		}
	}
	for _, m := range rigging.Materials() {
		if m.Faded(0) != 1 || m.Faded(1000) != 0.3 || m.Faded(420) >= 1 {
			t.Errorf("%s fades to %g, %g, %g", m, m.Faded(0), m.Faded(420), m.Faded(1000))
		}
	}
}
