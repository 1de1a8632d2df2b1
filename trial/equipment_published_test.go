package trial_test

import (
	"testing"

	"headstock/demo"
	"headstock/internal/outside"
	"headstock/trial"
)

// A broken pipe of the locomotive's own brake, air.md 6.2 [P15]: with the pipe to some of the cylinders
// broken behind their cock, that cock is shut and the others work; with the pipe that feeds the
// relay broken, the locomotive's brake is lost.
func TestBrokenCylinderPipe_6_2(t *testing.T) {
	b := outside.Open(t)
	const by, id = "tea-questions", "6.2"
	broken := func(from string) bench {
		return bench{t, altered(t, demo.Railway(), edit{"classes/tern/air.yaml", "  # air users\n",
			"  broken-pipe: {passage: {from: " + from + ", to: atmosphere, bore: 25 mm}}\n  # air users\n"})}
	}
	on := func(p float64) bool { return p > 45 } // the blocks are on the wheels
	cylinder := broken("bogie-1-cylinders")
	stop := func(x bench, changes ...string) *trial.Result {
		return x.run(x.consist("Tern 3 lead, HX 201 loaded", changes...), charged, reduce(100, 60))
	}
	lost := func(x bench, r *trial.Result) float64 {
		return x.kPa(r, "charged", 0, "reservoir-2") - x.kPa(r, "reduced", 0, "reservoir-2")
	}
	open := stop(cylinder)
	if on(cylinder.kPa(open, "reduced", 0, "bogie-1-cylinders")) || lost(cylinder, open) < 100 {
		t.Error("the pipe is not broken: nothing is proved")
	}
	shut := stop(cylinder, "Tern 3.bogie-1-cock=closed")
	b.Hold(outside.Says(id, by, "pipe of some cylinders broken behind their cock and the cock shut: the others work", on(cylinder.kPa(shut, "reduced", 0, "bogie-2-cylinders"))))
	if l := lost(cylinder, shut); l > 60 {
		t.Errorf("with the cock shut an application takes %.0f kPa of main air", l)
	}
	supply := broken("relay-supply")
	r := stop(supply, "Tern 3.relay-supply-cock=closed")
	b.Hold(outside.Says(id, by, "main supply pipe of the locomotive's brake broken: it is lost", !on(supply.kPa(r, "reduced", 0, "bogie-1-cylinders")) && !on(supply.kPa(r, "reduced", 0, "bogie-2-cylinders"))))
	if !on(supply.kPa(r, "reduced", 1, "cylinder")) {
		t.Error("the train's brake is lost with it")
	}
}
