package trial_test

import (
	"fmt"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/outside"
	"headstock/trial"
)

// What published tests of locomotives and consists ask for, on the invented railway. Its
// pressures are its own, so what is held is whether the brake does what the test asks.
func TestConsistTests(t *testing.T) {
	f, cs := fleet.Read(demo.Railway())
	for _, c := range cs {
		t.Error(c)
	}
	const psi = 6894.757
	book := outside.Open(t)
	run := func(text string, steps ...trial.Step) *trial.Result {
		c, err := consist.Parse(f, text)
		if err != nil {
			t.Fatal(err)
		}
		r, err := trial.Run(c, trial.Procedure{Name: "published", Steps: steps}, trial.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	at := func(r *trial.Result, step string, vehicle int, element string) float64 {
		g, ok := r.Gauge(step, vehicle, element)
		if !ok {
			t.Fatalf("no %s on %d", element, vehicle)
		}
		return g / psi
	}
	cylinders := func(r *trial.Result, step string, v int) float64 {
		if _, ok := r.Gauge(step, v, "bogie-1-cylinders"); ok {
			return at(r, step, v, "bogie-1-cylinders")
		}
		return at(r, step, v, "cylinders")
	}
	charge := trial.Step{ID: "charged", Do: []trial.Act{{Who: "lead", Run: true}}, For: 500}

	r := run("Tern 3 lead, Tern 4 trail", charge,
		trial.Step{ID: "first", Do: []trial.Act{{Who: "lead", Reduce: 10 * psi}}, For: 30},
		trial.Step{ID: "pressed", Do: []trial.Act{{Who: "lead", What: "quick-release", To: "pressed"}}, For: 10},
		trial.Step{ID: "free", Do: []trial.Act{{Who: "lead", What: "quick-release", To: "free"}}, For: 10},
		trial.Step{ID: "second", Do: []trial.Act{{Who: "lead", Reduce: 20 * psi}}, For: 30})
	for v, unit := range []string{"the lead", "the trailing unit"} {
		book.Hold(
			outside.Says("TST-040", "operating-questions", fmt.Sprintf("10 psi apply the brake on %s", unit), cylinders(r, "first", v) > 45e3/psi),
			outside.Says("TST-041", "operating-questions", fmt.Sprintf("the bail-off takes it off on %s", unit), cylinders(r, "free", v) < 2),
			outside.Says("TST-041", "operating-questions", fmt.Sprintf("10 psi more apply it again on %s", unit), cylinders(r, "second", v) > 45e3/psi))
	}
	for _, unit := range []string{"Tern 3", "Kite 11"} {
		r := run(unit+" alone", charge, trial.Step{ID: "35", Do: []trial.Act{{Who: "lead", Reduce: 35e3}}, For: 30})
		book.Hold(
			outside.Says("TST-055", "tst-study-cards", "the cylinder of a charged locomotive is at nothing: "+unit, cylinders(r, "charged", 0) < 0.5),
			outside.Says("TST-056", "tst-study-cards", "the cylinder rises after a first reduction of 35 kPa: "+unit, cylinders(r, "35", 0) > 1))
	}
	// hauled dead: the pipe feeds the second reservoir, and the brake works from it
	r = run("Tern 3 lead, Kite 11 hauled dead", charge, trial.Step{ID: "applied", Do: []trial.Act{{Who: "lead", Reduce: 20 * psi}}, For: 60})
	book.Hold(
		outside.Says("MUA-008", "alaska-1996", "the dead-engine device fills the second reservoir of the dead unit from the brake pipe", at(r, "charged", 1, "reservoir-2") > 40),
		outside.Says("MUA-008", "alaska-1996", "and not its first", at(r, "charged", 1, "reservoir-1") < 1),
		outside.Says("MUA-008", "cyclopedia-locomotive", "so the brake of the dead unit works from the train's pipe", cylinders(r, "applied", 1) > 10))
}
