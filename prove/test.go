package prove

import (
	"headstock/consist"
	"headstock/rule"
	"headstock/trial"
)

// Steps of the standing brake test, in order.
const (
	StepCharge      = "charge"
	StepMoved       = "moved" // only where a device is moved during the test
	StepMinimum     = "first reduction"
	StepService     = "reduction"
	StepCutOut      = "cut out"
	StepLeak        = "leakage"
	StepBail        = "bail-off"
	StepLetGo       = "let go"
	StepSecond      = "second reduction"
	StepRelease     = "release"
	StepIndependent = "independent"
	StepIndOff      = "independent off"
	StepEmergency   = "emergency"
	StepRecover     = "recover"
)

// StandingTest is the standing brake test of a consist, by the rules' values and waits:
// charge, first reduction, a reduction at which leakage is timed with the automatic
// valve cut out, bail-off, cut in again and a second reduction, release, independent,
// emergency, recovery.
func StandingTest(c *consist.Consist, r *rule.Rules) trial.Procedure {
	p := trial.Procedure{Name: "standing brake test", Title: "Standing brake test"}
	add := func(s trial.Step) { p.Steps = append(p.Steps, s) }
	settle := r.V("settle")
	charge := trial.Charging(c, r)
	for _, s := range charge {
		add(s)
	}
	add(trial.Step{ID: StepMinimum, Say: "Make the first reduction and wait", Do: []trial.Act{{Who: "lead", Reduce: r.V("minimum-reduction")}}, For: settle, Read: true})
	add(trial.Step{ID: StepService, Say: "Deepen the reduction and wait for the exhaust to stop", Do: []trial.Act{{Who: "lead", Reduce: r.V("leak-reduction")}}, For: settle, Read: true})
	add(trial.Step{ID: StepCutOut, Say: "Cut the automatic valve OUT and let the pipe settle", Do: []trial.Act{{Who: "lead", What: "automatic-cut-out", To: "out", IfFitted: true}}, For: r.V("leak-settle"), Read: true})
	add(trial.Step{ID: StepLeak, Say: "Time the brake pipe", For: r.V("leak-time"), Read: true})
	if i, _ := c.Lead(); i >= 0 {
		if d, ok := c.Device(i, "quick-release"); ok && d.Fitted != "no" {
			add(trial.Step{ID: StepBail, Say: "Press the quick release down and hold it", Do: []trial.Act{{Who: "lead", What: "quick-release", To: "pressed"}}, For: r.V("bail-hold"), Read: true})
			add(trial.Step{ID: StepLetGo, Say: "Let the quick release go", Do: []trial.Act{{Who: "lead", What: "quick-release", To: "normal"}}, For: r.V("let-go-wait"), Read: true})
		}
	}
	add(trial.Step{ID: StepSecond, Say: "Cut the automatic valve IN again and make a second reduction", Do: []trial.Act{{Who: "lead", What: "automatic-cut-out", To: "in", IfFitted: true}, {Who: "lead", Reduce: r.V("full-reduction")}}, For: settle, Read: true})
	add(trial.Step{ID: StepRelease, Say: "Release and watch every brake come off", Do: []trial.Act{{Who: "lead", Run: true}}, For: r.V("release-wait"), Read: true, AtMost: r.V("charge-wait"),
		// a brake that releases by steps is off only when its pipe is charged again
		Until: &trial.Until{Who: "last", Air: "brake-pipe", Above: r.V("rear"), Steady: 20}})
	add(trial.Step{ID: StepIndependent, Say: "Put the independent full on", Do: []trial.Act{{Who: "lead", What: "independent-handle", To: "full", IfFitted: true}}, For: r.V("independent-wait"), Read: true})
	add(trial.Step{ID: StepIndOff, Say: "Independent to release", Do: []trial.Act{{Who: "lead", What: "independent-handle", To: "release", IfFitted: true}}, For: r.V("independent-wait"), Read: true})
	add(trial.Step{ID: StepEmergency, Say: "Automatic handle to emergency", Do: []trial.Act{{Who: "lead", What: "automatic-handle", To: "emergency"}}, For: r.V("emergency-wait"), Read: true})
	rec := trial.Step{ID: StepRecover, Say: "Release and charge again", Do: []trial.Act{{Who: "lead", Run: true}}, For: r.V("release-wait"), Read: true, AtMost: r.V("charge-wait"),
		Until: &trial.Until{Who: "last", Air: "brake-pipe", Above: r.V("rear")}}
	add(rec)
	return p
}
