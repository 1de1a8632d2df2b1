package consist

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/quantity"
)

// couplerReach is the greatest difference in coupler height that is coupled, m
// (76 mm, three inches; common practice).
const couplerReach = 0.076

func quantityIn(d *fleet.Device, pos string) (float64, bool) {
	v, err := quantity.Parse(pos)
	if err != nil || d.Range == nil {
		return 0, false
	}
	return v.SI, v.SI >= d.Range.Low-1e-6 && v.SI <= d.Range.High+1e-6
}

func parsePressure(text string) (float64, error) {
	v, err := quantity.Parse(text)
	return v.SI, err
}

func orNone(list []string) string {
	if len(list) == 0 {
		return "no role"
	}
	return strings.Join(list, "; ")
}

// CannotSay is an answer that the record does not hold enough to give.
type CannotSay struct {
	Class, What, Needs string
}

func (e *CannotSay) Error() string {
	return fmt.Sprintf("cannot say %s: needs %s", e.What, e.Needs)
}

// finish works out cabs, variants, joints and claimed positions.
func (c *Consist) finish() (*Consist, error) {
	if len(c.Vehicles) == 0 {
		return nil, &Error{Col: 1, Message: "expected at least one unit"}
	}
	for i, v := range c.Vehicles {
		if v.Role == "alone" && len(c.Vehicles) > 1 {
			return nil, fmt.Errorf("%s cannot be alone with %s coupled to it; a unit that leads others is lead", v.Name(), c.Vehicles[(i+1)%len(c.Vehicles)].Name())
		}
		switch v.Role {
		case "lead", "alone", "assisting":
			near := 1
			if v.Reversed && v.Class.Cabs > 1 {
				near = 2
			}
			if v.Cab == 0 {
				v.Cab = near
			}
			v.RearCab = v.Class.Cabs > 1 && v.Cab != near
		}
		if strings.HasPrefix(v.Role, "trail") && !v.Class.Multiple {
			return nil, fmt.Errorf("%s cannot run in multiple: class %s has no control jumper; it may be lead, alone, hauled live or hauled dead", v.Name(), v.Class.Name)
		}
		if v.Locomotive() {
			if len(c.rolesOf(v)) == 0 {
				return nil, &CannotSay{Class: v.Class.Name, What: "how to set " + v.Name() + " as " + v.Role, Needs: fmt.Sprintf("the positions of role %q in its record, which gives %s", v.Role, orNone(roleNames(v.Class)))}
			}
		}
		if i > 0 {
			if err := c.couple(i-1, i); err != nil {
				return nil, err
			}
		}
	}
	if lead, n := c.Lead(); n == 1 {
		for i, v := range c.Vehicles {
			if !strings.HasPrefix(v.Role, "trail") {
				continue
			}
			for _, between := range c.Vehicles[min(i, lead)+1 : max(i, lead)] {
				if !between.Locomotive() || !between.Class.Multiple {
					return nil, fmt.Errorf("%s cannot trail: no control jumper reaches it past %s, which carries none; there it may be hauled live, hauled dead or assisting", v.Name(), between.Name())
				}
			}
		}
	}
	if lead, n := c.Lead(); n > 0 && !c.Vehicles[lead].Class.Multiple {
		for _, v := range c.Vehicles {
			if strings.HasPrefix(v.Role, "trail") {
				return nil, fmt.Errorf("%s cannot trail behind %s in multiple: class %s has no control jumper; it may be hauled live or hauled dead", v.Name(), c.Vehicles[lead].Name(), c.Vehicles[lead].Class.Name)
			}
		}
	}
	c.makeJoints()
	c.variants()
	c.claims()
	return c, nil
}

func (c *Consist) couple(a, b int) error {
	va, vb := c.Vehicles[a], c.Vehicles[b]
	ea, eb := va.Class.Ends[va.Rear()-1], vb.Class.Ends[vb.Front()-1]
	if ea.Coupler != eb.Coupler {
		return fmt.Errorf("%s headstock %d (%s coupler) cannot be coupled to %s headstock %d (%s coupler)", va.Name(), va.Rear(), ea.Coupler, vb.Name(), vb.Front(), eb.Coupler)
	}
	if d := math.Abs(ea.Height - eb.Height); d > couplerReach {
		return fmt.Errorf("%s headstock %d and %s headstock %d stand %.0f mm apart in coupler height; at most %.0f mm is coupled", va.Name(), va.Rear(), vb.Name(), vb.Front(), d*1000, couplerReach*1000)
	}
	for _, pa := range ea.Pipes {
		for _, pb := range eb.Pipes {
			if pa.Pipe == pb.Pipe && pa.Head != pb.Head && pa.Pipe == "brake-pipe" {
				return fmt.Errorf("%s headstock %d and %s headstock %d have brake-pipe heads that do not fit (%s, %s)", va.Name(), va.Rear(), vb.Name(), vb.Front(), pa.Head, pb.Head)
			}
		}
	}
	return nil
}

func roleNames(c *fleet.Class) []string {
	var out []string
	for _, r := range c.Roles {
		n := r.Name
		if r.Variant != "" {
			n += ", " + r.Variant
		}
		out = append(out, n)
	}
	return out
}

// rolesOf are the variants the class has of the vehicle's role. A lone unit may be
// written with the positions of a lead.
func (c *Consist) rolesOf(v *Vehicle) []*fleet.Role {
	var out []*fleet.Role
	for _, name := range []string{v.Role, map[string]string{"alone": "lead", "trail shut down": "trail"}[v.Role]} {
		for _, r := range v.Class.Roles {
			full := r.Name
			if r.Variant != "" {
				full += ", " + r.Variant
			}
			if r.Name == name || full == name {
				out = append(out, r)
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return out
}

// Role is the record's entry for the vehicle's role and variant, nil for a wagon
// without one.
func (c *Consist) Role(i int) *fleet.Role {
	v := c.Vehicles[i]
	if !v.Locomotive() {
		for _, r := range v.Class.Roles {
			if r.Name == "wagon" && r.Variant == v.Load {
				return r
			}
		}
		for _, r := range v.Class.Roles {
			if r.Name == "wagon" && r.Variant == "" {
				return r
			}
		}
		return nil
	}
	var plain *fleet.Role
	for _, r := range c.rolesOf(v) {
		if r.Variant == v.Variant || r.Name+", "+r.Variant == v.Role {
			return r
		}
		if r.Variant == "" {
			plain = r
		}
	}
	return plain
}

// Carries reports whether a unit carries a pipe through to a headstock today, and why
// not: not fitted to the class, to this unit, or blanked.
func (c *Consist) Carries(i int, pipe string, end int) (bool, string) {
	v := c.Vehicles[i]
	for _, pe := range v.Class.Ends[end-1].Pipes {
		if pe.Pipe != pipe {
			continue
		}
		if pe.Optional && !v.Unit.Has(v.Class, pipe) {
			return false, fmt.Sprintf("%s does not carry the %s", v.Name(), plain(pipe))
		}
		if slices.Contains(v.Unit.Without, pipe) {
			return false, fmt.Sprintf("%s does not carry the %s", v.Name(), plain(pipe))
		}
		for _, id := range []string{pe.Hose, pe.Cock} {
			if d, ok := v.Class.Device(id); ok {
				if how, o := v.Unit.Fitted(d); how == "blanked" {
					why := fmt.Sprintf("the %s of %s is blanked behind headstock %d", plain(pipe), v.Name(), end)
					if o != nil && o.Date != "" {
						why += " (" + o.Date + ")"
					}
					return false, why
				}
			}
		}
		return true, ""
	}
	return false, fmt.Sprintf("class %s has no %s", v.Class.Name, plain(pipe))
}

func plain(pipe string) string { return strings.ReplaceAll(pipe, "-", " ") }

// uses reports whether the vehicle's role uses a pipe.
func (c *Consist) uses(i int, pipe string) bool {
	v := c.Vehicles[i]
	if !v.Locomotive() {
		return true
	}
	for _, r := range c.rolesOf(v) {
		if len(r.Pipes) > 0 {
			return slices.Contains(r.Pipes, pipe)
		}
	}
	return v.Role != "stabled"
}

func (c *Consist) makeJoints() {
	for i := 0; i+1 < len(c.Vehicles); i++ {
		a, b := c.Vehicles[i], c.Vehicles[i+1]
		j := Joint{Index: i}
		var pipes []string
		for _, pe := range a.Class.Ends[a.Rear()-1].Pipes {
			pipes = append(pipes, pe.Pipe)
		}
		for _, pe := range b.Class.Ends[b.Front()-1].Pipes {
			if !slices.Contains(pipes, pe.Pipe) {
				pipes = append(pipes, pe.Pipe)
			}
		}
		for _, p := range pipes {
			front, whyF := c.Carries(i, p, a.Rear())
			rear, whyR := c.Carries(i+1, p, b.Front())
			jp := JointPipe{Pipe: p, Front: front, Rear: rear}
			switch {
			case !front:
				jp.Why = whyF
			case !rear:
				jp.Why = whyR
			case headOf(a, a.Rear(), p) != headOf(b, b.Front(), p):
				jp.Why = "the coupling heads do not fit"
			case !c.uses(i, p):
				jp.Why = fmt.Sprintf("%s %s uses no %s", a.Name(), a.Role, plain(p))
			case !c.uses(i+1, p):
				jp.Why = fmt.Sprintf("%s %s uses no %s", b.Name(), b.Role, plain(p))
			default:
				jp.Coupled = true
			}
			j.Pipes = append(j.Pipes, jp)
		}
		c.Joints = append(c.Joints, j)
	}
}

func headOf(v *Vehicle, end int, pipe string) string {
	for _, pe := range v.Class.Ends[end-1].Pipes {
		if pe.Pipe == pipe {
			return pe.Head
		}
	}
	return ""
}

// Reach is the range of vehicles that a pipe joins unbroken with vehicle i, by the
// claims of the joints.
func (c *Consist) Reach(i int, pipe string) (lo, hi int) {
	through := func(j int) bool {
		for _, jp := range c.Joints[j].Pipes {
			if jp.Pipe == pipe {
				return jp.Coupled
			}
		}
		return false
	}
	lo, hi = i, i
	for lo > 0 && through(lo-1) {
		lo--
		if e, _ := c.bothEnds(lo, pipe); !e {
			break
		}
	}
	for hi < len(c.Vehicles)-1 && through(hi) {
		hi++
		if e, _ := c.bothEnds(hi, pipe); !e {
			break
		}
	}
	return lo, hi
}

// bothEnds reports whether a pipe runs through a vehicle from headstock to headstock.
func (c *Consist) bothEnds(i int, pipe string) (bool, string) {
	if ok, why := c.Carries(i, pipe, 1); !ok {
		return false, why
	}
	return c.Carries(i, pipe, 2)
}

// variants works out what the surroundings make of each role: a lead gives a copy when a
// unit that can take one stands on the pipe that runs unbroken from it; any other takes
// what the lead makes of the pipe.
func (c *Consist) variants() {
	lead, n := c.Lead()
	if n == 0 {
		return
	}
	v := c.Vehicles[lead]
	lo, hi := c.Reach(lead, "third-pipe")
	for i := lo; i <= hi; i++ {
		if i == lead {
			continue
		}
		for _, r := range c.rolesOf(c.Vehicles[i]) {
			if r.Variant == "copy lead" {
				for _, lr := range c.rolesOf(v) {
					if lr.Variant == "copied" {
						v.Variant = "copied"
					}
				}
			}
		}
	}
	makes := ""
	for _, m := range v.Class.Makes {
		if m.Variant == v.Variant || (m.Variant == "" && makes == "") {
			makes = m.Third
		}
	}
	for i, w := range c.Vehicles {
		if i == lead || !w.Locomotive() {
			continue
		}
		want := "no third pipe"
		if i >= lo && i <= hi {
			want = makes + " lead"
		}
		for _, r := range c.rolesOf(w) {
			if r.Variant == want {
				w.Variant = want
			}
		}
	}
}

// claims fills every position: normal, then the role, then the joints.
func (c *Consist) claims() {
	c.pos = make([][]string, len(c.Vehicles))
	c.index = make([]map[string]int, len(c.Vehicles))
	byClass := map[string]map[string]int{}
	for i, v := range c.Vehicles {
		ix, ok := byClass[v.Class.Name]
		if !ok {
			ix = map[string]int{}
			for k, d := range v.Class.Devices {
				ix[d.ID] = k
			}
			byClass[v.Class.Name] = ix
		}
		c.index[i] = ix
		c.pos[i] = make([]string, len(v.Class.Devices))
		for k, d := range v.Class.Devices {
			c.pos[i][k] = d.Normal
			for _, o := range v.Unit.State {
				if o.Device == d.ID && o.Property == "normal" {
					c.pos[i][k] = o.Value
				}
			}
		}
		for _, cl := range c.RoleClaims(i) {
			c.put(i, cl.Device, cl.Position)
		}
		// outer ends; the joints come after
		for e := 1; e <= 2; e++ {
			for _, pe := range v.Class.Ends[e-1].Pipes {
				c.put(i, pe.Hose, "on dummy")
				c.put(i, pe.Cock, "closed")
			}
		}
	}
	for _, j := range c.Joints {
		for _, jp := range j.Pipes {
			if jp.Coupled {
				c.putEnd(j.Index, c.Vehicles[j.Index].Rear(), jp.Pipe)
				c.putEnd(j.Index+1, c.Vehicles[j.Index+1].Front(), jp.Pipe)
			}
		}
	}
	// what was found on a unit today stands whatever its role and its joints ask: a cock
	// that was cut out or has seized stays so; the first word on a device is the unit's own,
	// before that of its range
	for i, v := range c.Vehicles {
		for _, o := range slices.Backward(v.Unit.State) {
			if o.Property == "position" {
				c.put(i, o.Device, o.Value)
			}
		}
		for _, d := range v.Unit.Defects {
			if d.Position != "" {
				c.put(i, d.Device, d.Position)
			}
		}
	}
}

// RoleClaims are the positions that the vehicle's role claims, by device id; of several for
// one device the last holds. Those of the role come first, then those for its cabs, then
// those that hang on where the unit stands: turned, first, last, or the whole consist.
func (c *Consist) RoleClaims(i int) []fleet.Claim {
	r, v := c.Role(i), c.Vehicles[i]
	if r == nil {
		return nil
	}
	out := slices.Clone(r.Positions)
	byFunction := func(list []fleet.Claim, of func(d *fleet.Device) bool) {
		for _, d := range v.Class.Devices {
			for _, cl := range list {
				if cl.Device == d.Function && of(d) {
					out = append(out, fleet.Claim{Device: d.ID, Position: cl.Position, Pos: cl.Pos})
				}
			}
		}
	}
	byFunction(r.OtherCab, func(d *fleet.Device) bool { return d.Cab != 0 && d.Cab != v.Cab })
	byFunction(r.ThisCab, func(d *fleet.Device) bool { return d.Cab != 0 && d.Cab == v.Cab })
	if v.Reversed {
		out = append(out, r.Reversed...)
	}
	at := func(end int) func(d *fleet.Device) bool {
		return func(d *fleet.Device) bool { return d.End == 0 || d.End == end }
	}
	first, last := i == 0, i == len(c.Vehicles)-1
	if first {
		byFunction(r.AtFront, at(v.Front()))
	}
	if last {
		byFunction(r.AtRear, at(v.Rear()))
	}
	if first && last {
		byFunction(r.AtBoth, func(*fleet.Device) bool { return true })
	}
	return out
}

func (c *Consist) putEnd(i, end int, pipe string) {
	for _, pe := range c.Vehicles[i].Class.Ends[end-1].Pipes {
		if pe.Pipe == pipe {
			c.put(i, pe.Hose, "coupled")
			c.put(i, pe.Cock, "open")
		}
	}
}

func (c *Consist) put(i int, device, pos string) {
	if k, ok := c.index[i][device]; ok {
		c.pos[i][k] = pos
	}
}

// Disagreement is two devices that must agree and do not.
type Disagreement struct {
	Vehicle int
	A, B    string
	Claimed [2]string // what the role claims for them
	Found   [2]string
}

// Disagreements lists devices that go together and of which, against the role's claim,
// only some have been moved.
func (c *Consist) Disagreements() []Disagreement {
	base := *c
	base.claims()
	var out []Disagreement
	for i, v := range c.Vehicles {
		for k, d := range v.Class.Devices {
			for _, other := range d.GoesWith {
				m, ok := c.index[i][other]
				if !ok || m < k && slices.Contains(v.Class.Devices[m].GoesWith, d.ID) {
					continue
				}
				a, b := c.pos[i][k] == base.pos[i][k], c.pos[i][m] == base.pos[i][m]
				if a != b {
					out = append(out, Disagreement{i, d.ID, other, [2]string{base.pos[i][k], base.pos[i][m]}, [2]string{c.pos[i][k], c.pos[i][m]}})
				}
			}
		}
	}
	return out
}
