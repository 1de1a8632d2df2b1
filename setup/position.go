package setup

import (
	"fmt"

	"headstock/prove"
)

// Need is what the requirements ask of a device.
type Need string

// What they may ask.
const (
	Required Need = "required"  // no other position leaves every requirement unbroken
	FreeTo   Need = "free"      // every position does
	Depends  Need = "depends"   // some do, or some do only with another device moved too
	Unfound  Need = "not found" // none does, its own neither
)

// FoundPosition is what the requirements alone ask of one device, with every other unit at
// its claim.
type FoundPosition struct {
	Device  string   `json:"device"`
	Name    string   `json:"name"`
	Claim   string   `json:"claim"`
	Need    Need     `json:"need"`
	Also    []string `json:"also,omitempty"`    // further positions that leave nothing broken
	Only    []string `json:"only,omitempty"`    // positions that do with another device of the unit moved too: "copy with direction=take"
	Not     []string `json:"not,omitempty"`     // what a position that does by itself may not be met with
	Against string   `json:"against,omitempty"` // where this disagrees with the claim
}

// FoundUnit is the positions of one unit, found and not claimed.
type FoundUnit struct {
	Unit      string          `json:"unit"`
	Role      string          `json:"role"`
	Positions []FoundPosition `json:"positions"`
}

// FoundPositions is the positions of every unit with the others at their claim.
type FoundPositions struct {
	Bound string      `json:"bound"` // how far this is exact
	Units []FoundUnit `json:"units"`
}

// Positions says of every device that has a part in the air what the requirements alone ask
// of it: the claims are looked at as settings like any other. Devices that must not be
// moved are left out, and what only holds a device against its record is not asked. What is
// exact, and beyond what it is bounded, stands in Bound.
func (f *Found) Positions() FoundPositions {
	out := FoundPositions{Bound: "exact for one device moved; what two together do was not searched"}
	if f.Pairs {
		out.Bound = "exact for one and two devices of the consist moved; beyond that bounded, not exhausted"
	}
	b := f.base
	claimSound := true
	for _, x := range b.proof.Findings {
		if x.Status == prove.Broken && x.Requirement != "goes-together" && x.Requirement != "sealed" {
			claimSound = false
		}
	}
	red := b.plant.NewReducer(b.c, func(int, string) bool { return false })
	named := map[string]bool{}
	for i := range b.c.Vehicles {
		if r := b.c.Role(i); r != nil {
			for _, cl := range r.Positions {
				named[fmt.Sprintf("%d.%s", i, cl.Device)] = true
			}
		}
	}
	with := map[int][]string{} // setting → what else moved makes it sound
	not := map[int][]string{}
	for k := range f.set {
		for l := k + 1; l < len(f.set); l++ {
			sound, kept := f.both[[2]int{k, l}]
			if !kept || f.set[k].Change.Vehicle != f.set[l].Change.Vehicle {
				continue
			}
			for _, p := range [][2]int{{k, l}, {l, k}} {
				one, other := p[0], p[1]
				says := f.set[other].Change.Device + "=" + f.set[other].Change.Position
				switch {
				case sound && !f.sound[one]:
					with[one] = append(with[one], says)
				case !sound && f.sound[one] && f.sound[other]:
					not[one] = append(not[one], says)
				}
			}
		}
	}
	for i, v := range b.c.Vehicles {
		u := FoundUnit{Unit: v.Name(), Role: v.RoleName()}
		for _, d := range v.Class.Devices {
			if len(red.Touches(b.c, i, d.ID)) == 0 || d.MustNotMove {
				continue
			}
			p := FoundPosition{Device: d.ID, Name: d.Name}
			others, sound := 0, 0
			for k, x := range f.set {
				if x.Change.Vehicle != i || x.Change.Device != d.ID {
					continue
				}
				p.Claim = x.Claim
				others++
				if f.sound[k] {
					sound++
					p.Also = append(p.Also, x.Change.Position)
					for _, n := range not[k] {
						p.Not = append(p.Not, x.Change.Position+" with "+n)
					}
				}
				for _, w := range with[k] {
					p.Only = append(p.Only, x.Change.Position+" with "+w)
				}
			}
			if others == 0 {
				continue
			}
			switch {
			case !claimSound && sound == 0 && len(p.Only) == 0:
				p.Need = Unfound
			case sound == others && len(p.Not) == 0:
				p.Need = FreeTo
			case sound == 0 && len(p.Only) == 0:
				p.Need = Required
			default:
				p.Need = Depends
			}
			switch {
			case !claimSound && sound > 0:
				p.Need = Required
				p.Against = fmt.Sprintf("the claim breaks a requirement, %s does not", p.Also[0])
			case p.Need == FreeTo && named[fmt.Sprintf("%d.%s", i, d.ID)]:
				p.Against = "the role claims a position, and no requirement asks for it"
			}
			u.Positions = append(u.Positions, p)
		}
		out.Units = append(out.Units, u)
	}
	return out
}
