// Package setup plans how each unit of a consist is set: the positions the record claims
// for its role, in the order of a walk round the unit, and what is joined at each joint.
// Check runs a set-up and says which claims it refutes.
//
// Search looks at everything that can be wrong in it: each wrong setting, each failure, each
// pair of wrong settings.
//
// NewMatrix counts every way to couple two or three units of a fleet, and Work runs them.
//
// Incomplete: positions are found for one unit with the others at their claim, and by at most
// two moves.
package setup

import (
	"fmt"
	"slices"

	"headstock/consist"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

// Line is one device of one unit and how it is to stand.
type Line struct {
	Device      string   `json:"device"`
	Name        string   `json:"name"`
	Place       string   `json:"place"`
	Position    string   `json:"position"`
	Looks       string   `json:"looks"`
	Cautions    []string `json:"cautions,omitempty"`
	GoesWith    []string `json:"goes_with,omitempty"`
	Evidence    string   `json:"evidence,omitempty"`
	MustNotMove bool     `json:"must_not_be_moved,omitempty"`
	Note        string   `json:"note,omitempty"`  // today's state of the unit
	Moved       bool     `json:"moved,omitempty"` // stands away from the claim
	Claim       string   `json:"claim,omitempty"`
}

// UnitPlan is how one unit is set.
type UnitPlan struct {
	Vehicle int      `json:"vehicle"`
	Unit    string   `json:"unit"`
	Role    string   `json:"role"`
	Cab     int      `json:"cab,omitempty"`
	RearCab bool     `json:"rear_cab,omitempty"`
	Lines   []Line   `json:"lines"`
	Last    []Line   `json:"last,omitempty"` // hand brakes let off, when all else is done
	Keep    []Line   `json:"keep,omitempty"` // what must not be moved
	Defects []string `json:"defects,omitempty"`
}

// All is every line of the plan: those to set, those left for the last, and those that
// must not be moved.
func (u UnitPlan) All() []Line {
	return slices.Concat(u.Lines, u.Last, u.Keep)
}

// JointPlan is what is joined between two units.
type JointPlan struct {
	Front string     `json:"front"`
	Rear  string     `json:"rear"`
	Pipes []PipePlan `json:"pipes"`
}

// PipePlan is one pipe at a joint.
type PipePlan struct {
	Pipe    string `json:"pipe"`
	Coupled bool   `json:"coupled"`
	Why     string `json:"why,omitempty"`
	FrontIs string `json:"front_is"` // positions of hose and cock on each side
	RearIs  string `json:"rear_is"`
}

// Plan is the whole set-up of a consist.
type Plan struct {
	Units  []UnitPlan  `json:"units"`
	Joints []JointPlan `json:"joints"`
}

// Make plans a set-up from the claims of the record. It refuses a consist without
// exactly one lead.
func Make(c *consist.Consist) (*Plan, error) {
	if _, n := c.Lead(); n != 1 {
		return nil, fmt.Errorf("a set-up is planned for exactly one lead; this consist has %d", n)
	}
	return Describe(c)
}

// Describe lists how the devices named by the roles and joints stand in a consist,
// whether it works or not.
func Describe(c *consist.Consist) (*Plan, error) {
	claimed, err := c.Claimed()
	if err != nil {
		return nil, err
	}
	p := &Plan{}
	for i, v := range c.Vehicles {
		u := UnitPlan{Vehicle: i, Unit: v.Name(), Role: v.RoleName(), Cab: v.Cab, RearCab: v.RearCab}
		if v.Load != "" {
			u.Role = v.Load
		}
		named := map[string]bool{}
		for _, cl := range c.RoleClaims(i) {
			named[cl.Device] = true
		}
		for _, ch := range c.Changed {
			if ch.Vehicle == i {
				named[ch.Device] = true
			}
		}
		for _, place := range append(placeIDs(v.Class), "") {
			for _, d := range v.Class.Devices {
				if !(d.Place == place || place == "" && !hasPlace(v.Class, d.Place)) || d.OnlyWith != "" && !v.Unit.Has(v.Class, d.OnlyWith) {
					continue
				}
				if d.MustNotMove {
					u.Keep = append(u.Keep, line(c, claimed, i, d))
					continue
				}
				if !named[d.ID] {
					continue
				}
				l := line(c, claimed, i, d)
				if was, _ := claimed.Position(i, d.ID); d.Function == "hand-brake" && was == "off" {
					u.Last = append(u.Last, l)
				} else {
					u.Lines = append(u.Lines, l)
				}
			}
		}
		for _, df := range v.Unit.Defects {
			u.Defects = append(u.Defects, df.Says(v.Class))
		}
		p.Units = append(p.Units, u)
	}
	for _, j := range c.Joints {
		a, b := c.Vehicles[j.Index], c.Vehicles[j.Index+1]
		jp := JointPlan{Front: fmt.Sprintf("%s headstock %d", a.Name(), a.Rear()), Rear: fmt.Sprintf("%s headstock %d", b.Name(), b.Front())}
		for _, x := range j.Pipes {
			jp.Pipes = append(jp.Pipes, PipePlan{Pipe: x.Pipe, Coupled: x.Coupled, Why: x.Why, FrontIs: endState(c, j.Index, a.Rear(), x.Pipe), RearIs: endState(c, j.Index+1, b.Front(), x.Pipe)})
		}
		p.Joints = append(p.Joints, jp)
	}
	return p, nil
}

func placeIDs(c *fleet.Class) []string {
	var out []string
	for _, p := range c.Places {
		out = append(out, p.ID)
	}
	return out
}

func hasPlace(c *fleet.Class, id string) bool {
	for _, p := range c.Places {
		if p.ID == id {
			return true
		}
	}
	return false
}

func line(c, claimed *consist.Consist, i int, d *fleet.Device) Line {
	v := c.Vehicles[i]
	pos, _ := c.Position(i, d.ID)
	was, _ := claimed.Position(i, d.ID)
	l := Line{Device: d.ID, Name: d.Name, Place: v.Class.PlaceName(d.Place), Position: pos, Cautions: d.Cautions, GoesWith: d.GoesWith, Evidence: d.Evidence, MustNotMove: d.MustNotMove, Moved: pos != was}
	if l.Moved {
		l.Claim = was
	}
	if p, ok := d.Position(pos); ok {
		l.Looks = p.Looks
	}
	if how, o := v.Unit.Fitted(d); how != "yes" {
		l.Note = how
		if o != nil {
			l.Note = fmt.Sprintf("%s since %s: %s", how, o.Date, o.Reason)
		}
	}
	return l
}

func endState(c *consist.Consist, i, end int, pipe string) string {
	for _, pe := range c.Vehicles[i].Class.Ends[end-1].Pipes {
		if pe.Pipe != pipe {
			continue
		}
		if pe.Optional && !c.Vehicles[i].Unit.Has(c.Vehicles[i].Class, pipe) {
			return "none"
		}
		h, _ := c.Position(i, pe.Hose)
		k, _ := c.Position(i, pe.Cock)
		return "hose " + h + ", cock " + k
	}
	return "none"
}

// Checked is a set-up with its proof.
type Checked struct {
	Plan    *Plan
	Proof   *prove.Proof
	Refuted []prove.Finding // claims of the record that a run refutes
}

// Check proves a consist as it stands. Where nothing has been moved away from the claims,
// every broken requirement refutes the record. An error is a run that could not be made.
func Check(c *consist.Consist, r *rule.Rules, cond trial.Conditions) (*Checked, error) {
	plan, err := Describe(c)
	if err != nil {
		return nil, err
	}
	proof, err := prove.Prove(c, r, cond)
	if err != nil {
		return nil, err
	}
	out := &Checked{Plan: plan, Proof: proof}
	if len(c.Changed) == 0 {
		for _, f := range proof.Findings {
			if f.Status == prove.Broken {
				out.Refuted = append(out.Refuted, f)
			}
		}
	}
	return out, nil
}
