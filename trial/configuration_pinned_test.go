package trial_test

import (
	"testing"

	"headstock/trial"
)

// The sum that is printed under every result. If it moves, a default of the air has been
// changed; say which in the commit, and write the new one here. If results move and it does
// not, raise the revision in package air.
func TestAirModel_pinned(t *testing.T) {
	const pinned = "fd3f313b"
	if got := trial.AirModel(trial.Conditions{}); got != pinned {
		t.Errorf("air model %s, was %s", got, pinned)
	}
	if trial.AirModel(trial.Conditions{Isothermal: true}) == pinned || trial.AirModel(trial.Conditions{Tolerance: 50}) == pinned {
		t.Error("other conditions have the same sum")
	}
}
