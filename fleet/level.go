package fleet

import (
	"fmt"
	"slices"
	"strings"
)

// Level is how far a record has come, and what the next level lacks:
//
//	1 find     its devices have names and places, and ways join the places
//	2 prepare  what can be looked at says how it looks, or between what limits it must be
//	3 set up   headstocks are there, and roles give positions
//	4 prove    the air network is there, with cylinders and gauges
//	5 haul     length, mass and wheel arrangement are stated
//
// A record is useful from its first row; below a level the answer is "cannot say". No
// level asks for circuits, lights, starts, running or traction: what they answer stands beside the levels, and
// Beside says where they are not there.
func (c *Class) Level() (level int, lacks []string) {
	steps := []func() []string{c.lacksFind, c.lacksPrepare, c.lacksSetUp, c.lacksProve, c.lacksHaul}
	for i, step := range steps {
		lacks := step()
		for _, m := range c.Missing {
			if m.Needed == LevelNames()[i+1] {
				lacks = append(lacks, "known to be missing: "+m.What)
			}
		}
		if len(lacks) > 0 {
			return i, lacks
		}
	}
	return len(steps), nil
}

// LevelNames are the levels in a word each, from none.
func LevelNames() []string {
	return []string{"nothing yet", "find", "prepare", "set up", "prove", "haul"}
}

// Beside lists what no level asks for and the record has not: each leaves some answers
// at "cannot say".
func (c *Class) Beside() []string {
	out := c.besideLights()
	if c.Kind != "locomotive" {
		return out
	}
	if len(c.Starts) == 0 {
		out = append(out, "start circuit: not described")
	}
	if c.Running == nil {
		out = append(out, "how it rolls (running): not described")
	}
	if c.Traction == nil {
		out = append(out, "how it pulls (traction): not described")
	}
	if c.Multiple && len(c.PartsOf("trainline")) == 0 {
		out = append(out, "wires of the control jumper: not described")
	}
	return out
}

// besideLights is what the record would have to say for the lights of a train that this
// class leads or ends to be judged.
func (c *Class) besideLights() []string {
	var names []string
	for _, d := range c.LightsSilent() {
		names = append(names, d.Name)
	}
	switch {
	case len(names) > 0:
		return []string{some("what these show at which headstock (shows)", names)}
	case len(c.Devices) > 0 && !slices.ContainsFunc(c.Devices, func(d *Device) bool { return Light(d.Function) && d.Lit() }):
		return []string{"lights at the headstocks: not described"}
	}
	return nil
}

// some writes at most a few names of a list and how many there are more.
func some(what string, names []string) string {
	const few = 5
	if len(names) <= few {
		return what + ": " + strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s: %s and %d more", what, strings.Join(names[:few], ", "), len(names)-few)
}

func (c *Class) lacksFind() []string {
	if len(c.Devices) == 0 {
		return []string{"devices"}
	}
	var out, without []string
	for _, d := range c.Devices {
		if d.Place == "" {
			without = append(without, d.Name)
		}
	}
	if len(without) > 0 {
		out = append(out, some("places of", without))
	}
	if len(c.Places) == 0 {
		out = append(out, "places")
	}
	if len(c.Places) > 1 && len(c.Ways) == 0 {
		out = append(out, "ways between the places")
	}
	return out
}

func (c *Class) lacksPrepare() []string {
	var looks, evidence []string
	for _, d := range c.Devices {
		missing := false
		for _, p := range d.Positions {
			missing = missing || p.Looks == ""
		}
		if missing {
			looks = append(looks, d.Name)
		}
		if len(d.Positions) == 0 && d.Range == nil && len(d.Limits) == 0 && d.Reads == "" && d.ReadsTrueWhen == "" && d.Evidence == "" && d.HowWorked == "" {
			evidence = append(evidence, d.Name)
		}
	}
	var out []string
	if len(looks) > 0 {
		out = append(out, some("looks of the positions of", looks))
	}
	if len(evidence) > 0 {
		out = append(out, some("positions, limits, or how it is looked at, of", evidence))
	}
	return out
}

func (c *Class) lacksSetUp() []string {
	var out []string
	if len(c.Ends[0].Pipes) == 0 && len(c.Ends[1].Pipes) == 0 {
		out = append(out, "pipes at the headstocks")
	}
	if c.Kind == "locomotive" {
		if !slices.ContainsFunc(c.Roles, func(r *Role) bool { return r.Name == "lead" || r.Name == "alone" }) && len(c.Roles) == 0 {
			out = append(out, "roles")
		}
		if c.Multiple && !slices.ContainsFunc(c.Roles, func(r *Role) bool { return r.Name == "trail" }) {
			out = append(out, "positions for trail")
		}
		thirdPipe := slices.ContainsFunc(c.Ends[:], func(e End) bool {
			return slices.ContainsFunc(e.Pipes, func(p PipeEnd) bool { return p.Pipe == "third-pipe" })
		})
		if thirdPipe && len(c.Makes) == 0 {
			out = append(out, "what a lead makes of the third pipe")
		}
	}
	return out
}

func (c *Class) lacksProve() []string {
	if len(c.Air) == 0 {
		return []string{"the air network"}
	}
	var out []string
	has := func(kinds ...string) bool {
		return slices.ContainsFunc(c.Air, func(e *Element) bool { return slices.Contains(kinds, e.Kind) })
	}
	if !has("pipe") {
		out = append(out, "the brake pipe")
	}
	braked := has("direct-distributor", "graduated-distributor", "relay")
	if braked && !has("cylinder") {
		out = append(out, "brake cylinders")
	}
	if c.Kind == "locomotive" {
		gauge := func(function string) bool {
			return slices.ContainsFunc(c.DevicesOf(function), func(d *Device) bool { return d.Reads != "" })
		}
		if !gauge("brake-pipe-gauge") {
			out = append(out, "a brake-pipe gauge that says what it reads")
		}
	}
	if has("cylinder") && len(c.DevicesOf("brake-piston")) == 0 && len(c.DevicesOf("brake-cylinder")) == 0 && len(c.DevicesOf("brake-cylinder-gauge")) == 0 {
		out = append(out, "pistons or cylinder gauges to look at")
	}
	return out
}

func (c *Class) lacksHaul() []string {
	var out []string
	if c.Length == 0 {
		out = append(out, "identity: length")
	}
	if c.Mass == 0 {
		out = append(out, "identity: mass")
	}
	fact := func(name string) bool {
		return slices.ContainsFunc(c.Identity, func(f Fact) bool { return f.Name == name })
	}
	if !fact("wheel arrangement") && !fact("axles") {
		out = append(out, "identity: wheel arrangement")
	}
	if c.Kind == "locomotive" {
		if !fact("tractive effort") && !fact("starting effort") {
			out = append(out, "identity: tractive effort")
		}
	}
	return out
}
