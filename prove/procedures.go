package prove

import (
	"fmt"
	"slices"
	"strings"

	"headstock/consist"
	"headstock/internal/reading"
	"headstock/rule"
	"headstock/trial"
)

// Requirements are the ids of every requirement, in order.
func Requirements() []string {
	var out []string
	for _, q := range requirements {
		out = append(out, q[0])
	}
	return out
}

// Procedures are the names of every procedure that can be run by itself.
func Procedures() []string {
	return []string{"standing brake test", "charge", "parting", "end-of-train check"}
}

// Procedure builds a procedure by name for a consist. Parting may name a joint by the
// number of the vehicle in front of it: "parting 1".
func Procedure(c *consist.Consist, r *rule.Rules, name string) (trial.Procedure, error) {
	base, arg, _ := strings.Cut(name, " ")
	switch {
	case name == "standing brake test":
		return StandingTest(c, r), nil
	case name == "charge":
		return trial.Procedure{Name: name, Title: "Charge the train", Steps: charging(c, r)}, nil
	case base == "parting":
		k := 1
		if arg != "" {
			if _, err := fmt.Sscanf(arg, "%d", &k); err != nil {
				return trial.Procedure{}, fmt.Errorf("expected the number of the vehicle in front of the joint, found %q", arg)
			}
		}
		if k < 1 || k > len(c.Joints) {
			return trial.Procedure{}, fmt.Errorf("this consist has joints 1 to %d, not %d", len(c.Joints), k)
		}
		k--
		steps := charging(c, r)
		return trial.Procedure{Name: name, Title: "Parting", Steps: append(steps, trial.Step{ID: "parted", Say: "The joint comes apart; do nothing", Do: []trial.Act{{Part: &k}}, For: r.V("parting-hold"), Read: true})}, nil
	case name == "end-of-train check":
		steps := charging(c, r)
		steps = append(steps,
			trial.Step{ID: StepService, Say: "Make a reduction and watch the gauge at the last vehicle fall", Do: []trial.Act{{Who: "lead", Reduce: r.V("leak-reduction")}}, For: r.V("settle"), Read: true},
			trial.Step{ID: StepRelease, Say: "Release and watch it rise", Do: []trial.Act{{Who: "lead", Run: true}}, For: r.V("release-wait"), Read: true})
		return trial.Procedure{Name: name, Title: "End-of-train check", Steps: steps}, nil
	}
	all := Procedures()
	if slices.Contains(all, name) {
		return trial.Procedure{}, fmt.Errorf("procedure %q cannot be built", name)
	}
	return trial.Procedure{}, fmt.Errorf("no procedure %q; expected one of %s; nearest: %s", name, strings.Join(all, ", "), reading.Nearest(name, all))
}
