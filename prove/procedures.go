package prove

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"headstock/consist"
	"headstock/fleet"
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

// parts of the standing test that can be run by themselves, each from an empty train.
var parts = []struct {
	name  string
	steps []string
}{
	{"charge", nil},
	{"leakage", []string{StepService, StepCutOut, StepLeak, StepSecond, StepRelease}},
	{"minimum reduction", []string{StepMinimum, StepRelease}},
	{"service and release", []string{StepService, StepRelease}},
	{"independent", []string{StepIndependent, StepIndOff}},
	{"quick release", []string{StepService, StepBail, StepLetGo, StepSecond, StepRelease}},
	{"emergency", []string{StepEmergency, StepRecover}},
	{"end-of-train check", []string{StepService, StepRelease}},
	{"dead-unit charge and release", []string{StepService, StepRelease}},
}

// Procedures are the names of every procedure that can be run by itself.
func Procedures() []string {
	out := []string{"standing brake test"}
	for _, p := range parts {
		out = append(out, p.name)
	}
	return append(out, "parting", "changing ends", "changing lead")
}

// Procedure builds a procedure by name for a consist. Parting may name a joint by the
// number of the vehicle in front of it: "parting 1". An error names the procedures there
// are, what the consist lacks for it (a lead, a dead unit, a second cab, the joint), or
// what the record lacks (*consist.CannotSay).
func Procedure(c *consist.Consist, r *rule.Rules, name string) (trial.Procedure, error) {
	if i, _ := c.Lead(); i < 0 {
		return trial.Procedure{}, fmt.Errorf("a procedure needs a unit that leads")
	}
	whole := StandingTest(c, r)
	if name == "standing brake test" {
		return whole, nil
	}
	for _, p := range parts {
		if p.name != name {
			continue
		}
		if name == "dead-unit charge and release" && !slices.ContainsFunc(c.Vehicles, func(v *consist.Vehicle) bool { return v.Role == "hauled dead" }) {
			return trial.Procedure{}, fmt.Errorf("no unit of this consist is hauled dead")
		}
		out := trial.Procedure{Name: name, Title: strings.ToUpper(name[:1]) + name[1:], Steps: trial.Charging(c, r)}
		for _, s := range whole.Steps {
			if slices.Contains(p.steps, s.ID) {
				out.Steps = append(out.Steps, s)
			}
		}
		return out, nil
	}
	if base, arg, _ := strings.Cut(name, " "); base == "parting" {
		k := 1
		if arg != "" {
			n, err := strconv.Atoi(arg)
			if err != nil {
				return trial.Procedure{}, fmt.Errorf("expected the number of the vehicle in front of the joint, found %q", arg)
			}
			k = n
		}
		if k < 1 || k > len(c.Joints) {
			return trial.Procedure{}, fmt.Errorf("there is no joint behind vehicle %d; joints in this consist: %d", k, len(c.Joints))
		}
		k--
		return trial.Procedure{Name: name, Title: "Parting", Steps: append(trial.Charging(c, r), trial.Step{ID: "parted", Say: "The joint comes apart; do nothing", Do: []trial.Act{{Part: &k}}, For: r.V("parting-hold"), Read: true})}, nil
	}
	switch name {
	case "changing ends":
		return changingEnds(c, r)
	case "changing lead":
		return changingLead(c, r)
	}
	all := Procedures()
	return trial.Procedure{}, fmt.Errorf("no procedure %q; expected one of %s%s", name, strings.Join(all, ", "), reading.Hint(name, all))
}

// inCab is the device of a function in one cab.
func inCab(c *fleet.Class, function string, cab int) string {
	for _, d := range c.Devices {
		if d.Function == function && d.Cab == cab {
			return d.ID
		}
	}
	return ""
}

// changingEnds takes the controls of the lead from the cab driven from to its other one:
// brake held on, valve cut out, handles out here; there the equalising reservoir is
// charged before the valve is cut in, because an empty one would dump the pipe.
func changingEnds(c *consist.Consist, r *rule.Rules) (trial.Procedure, error) {
	i, _ := c.Lead()
	v := c.Vehicles[i]
	if v.Class.Cabs < 2 {
		return trial.Procedure{}, fmt.Errorf("%s has one cab; there are no ends to change", v.Name())
	}
	here, there := v.Cab, 3-v.Cab
	for _, fn := range []string{"automatic-handle", "automatic-cut-out", "equalising-reservoir-gauge"} {
		for _, cab := range []int{here, there} {
			if inCab(v.Class, fn, cab) == "" {
				return trial.Procedure{}, &consist.CannotSay{Class: v.Class.Name, What: "how to change the ends of " + v.Name(), Needs: fmt.Sprintf("a device of function %s in cab %d in the record of class %s", fn, cab, v.Class.Name)}
			}
		}
	}
	move := func(fn string, cab int, to string) trial.Act {
		return trial.Act{Who: v.Name(), What: inCab(v.Class, fn, cab), To: to}
	}
	gauge, _ := v.Class.Device(inCab(v.Class, "equalising-reservoir-gauge", there))
	feed := 0.8 * r.V("rear")
	steps := trial.Charging(c, r)
	steps = append(steps,
		trial.Step{ID: "hold", Say: "Make a full service reduction", Do: []trial.Act{{Who: v.Name(), Reduce: r.V("full-reduction")}}, For: r.V("settle"), Read: true},
		trial.Step{ID: "leave", Say: fmt.Sprintf("Cab %d: cut the automatic valve out, take the handles out", here), Do: []trial.Act{move("automatic-cut-out", here, "out"), move("automatic-handle", here, "handle-off")}, For: 5, Read: true},
		trial.Step{ID: "charge there", Say: fmt.Sprintf("Cab %d: handle to release; wait for the equalising reservoir, with the valve still cut out", there), Do: []trial.Act{move("automatic-handle", there, "release")},
			Until: &trial.Until{Who: v.Name(), Air: gauge.Reads, Above: feed}, AtMost: 120, For: 10, Read: true},
		trial.Step{ID: "take", Say: fmt.Sprintf("Cab %d: cut the automatic valve in", there), Do: []trial.Act{move("automatic-cut-out", there, "in")}, For: r.V("release-wait"), Read: true},
		trial.Step{ID: "prove", Say: "Make a reduction from this cab and see every brake on", Do: []trial.Act{move("automatic-handle", there, "full-service")}, For: r.V("settle"), Read: true},
		trial.Step{ID: "off", Say: "Release and see every brake off", Do: []trial.Act{move("automatic-handle", there, "release")}, For: r.V("release-wait"), Read: true})
	return trial.Procedure{Name: "changing ends", Title: "Changing ends", Steps: steps}, nil
}

// changingLead gives the lead to the next unit that trails: the old lead is set as the
// record says for trailing, then the new one, whose automatic valve is cut in last.
func changingLead(c *consist.Consist, r *rule.Rules) (trial.Procedure, error) {
	old, _ := c.Lead()
	to := -1
	for i, v := range c.Vehicles {
		if i != old && strings.HasPrefix(v.Role, "trail") && to < 0 {
			to = i
		}
	}
	if to < 0 {
		return trial.Procedure{}, fmt.Errorf("no unit of this consist trails, so none can take the lead")
	}
	after, err := c.WithLead(to)
	if err != nil {
		return trial.Procedure{}, err
	}
	handle, ok := after.Device(to, "automatic-handle")
	if !ok {
		return trial.Procedure{}, &consist.CannotSay{Class: after.Vehicles[to].Class.Name, What: "how " + after.Vehicles[to].Name() + " takes the lead", Needs: "a device of function automatic-handle in its record"}
	}
	var sealed []string // what a role asks to be moved though it must not be
	acts := func(i int) (first, last []trial.Act) {
		v := c.Vehicles[i]
		for _, d := range v.Class.Devices {
			a, _ := c.Position(i, d.ID)
			b, _ := after.Position(i, d.ID)
			if a == b {
				continue
			}
			if d.MustNotMove {
				sealed = append(sealed, fmt.Sprintf("%s of %s (from %s to %s)", d.Name, v.Name(), a, b))
				continue
			}
			act := trial.Act{Who: v.Name(), What: d.ID, To: b}
			if d.Function == "automatic-cut-out" && b == "in" {
				last = append(last, act)
			} else {
				first = append(first, act)
			}
		}
		return
	}
	oldFirst, _ := acts(old)
	newFirst, newLast := acts(to)
	var others []trial.Act
	for i := range c.Vehicles {
		if i != old && i != to {
			f, l := acts(i)
			others = append(append(others, f...), l...)
		}
	}
	if len(sealed) > 0 {
		return trial.Procedure{}, fmt.Errorf("the lead cannot be changed: the record's roles would move what must not be moved: %s", strings.Join(sealed, ", "))
	}
	a, b := c.Vehicles[old].Name(), c.Vehicles[to].Name()
	steps := trial.Charging(c, r)
	steps = append(steps,
		trial.Step{ID: "hold", Say: "Make a full service reduction", Do: []trial.Act{{Who: a, Reduce: r.V("full-reduction")}}, For: r.V("settle"), Read: true},
		trial.Step{ID: "leave", Say: "Set " + a + " to trail", Do: oldFirst, For: 10, Read: true},
		trial.Step{ID: "take", Say: "Set " + b + " to lead, its automatic valve last", Do: append(others, newFirst...), For: 40, Read: true},
		trial.Step{ID: "cut in", Say: "Cut the automatic valve of " + b + " in", Do: newLast, For: r.V("release-wait"), Read: true},
		trial.Step{ID: "prove", Say: "Make a reduction from " + b + " and see every brake on", Do: []trial.Act{{Who: b, What: handle.ID, Reduce: r.V("full-reduction")}}, For: r.V("settle"), Read: true},
		trial.Step{ID: "off", Say: "Release and see every brake off", Do: []trial.Act{{Who: b, What: handle.ID, Run: true}}, For: r.V("release-wait"), Read: true})
	return trial.Procedure{Name: "changing lead", Title: "Changing the lead unit", Steps: steps}, nil
}
