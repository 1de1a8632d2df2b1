// Package consist puts units in order: which way each faces, what role each plays, where
// every device of every unit stands. A consist never changes; With returns another one
// with devices moved. Network turns it into the air network that a trial runs.
//
// It claims positions from the record (roles, normal positions, and the joint for hoses
// and end cocks); whether those claims work is for others to run and judge.
package consist

import (
	"fmt"
	"strings"

	"headstock/fleet"
)

// Vehicle is one unit of a consist.
type Vehicle struct {
	Unit     *fleet.Unit
	Class    *fleet.Class
	Reversed bool
	Role     string // "lead", "trail", "hauled dead" …; "wagon" for a wagon
	Variant  string // what the surroundings make of the role, e.g. "copy lead"
	Cab      int    // the cab driven from, for a role that drives; 0 otherwise
	RearCab  bool   // driving from the cab farther from the front
	Load     string // "loaded" or "empty" for a wagon

	over map[named]float64 // laid over the figures of the record, see WithFigures
}

// Name is the unit as spoken, "Tern 3".
func (v *Vehicle) Name() string { return fmt.Sprintf("%s %d", v.Class.Name, v.Unit.Number) }

// Front is the headstock (1 or 2) that faces the front.
func (v *Vehicle) Front() int {
	if v.Reversed {
		return 2
	}
	return 1
}

// Rear is the headstock (1 or 2) that faces the rear.
func (v *Vehicle) Rear() int { return 3 - v.Front() }

// Locomotive reports whether the unit is one.
func (v *Vehicle) Locomotive() bool { return v.Class.Kind == "locomotive" }

// RoleName is the role with its variant, as the record writes it.
func (v *Vehicle) RoleName() string {
	if v.Variant == "" {
		return v.Role
	}
	return v.Role + ", " + v.Variant
}

// Change is one device put to one position.
type Change struct {
	Vehicle  int    `json:"vehicle"` // index in the consist
	Device   string `json:"device"`  // its id
	Position string `json:"position"`
}

// Consist is units coupled in order with the position of every device.
type Consist struct {
	Fleet    *fleet.Fleet
	Vehicles []*Vehicle
	Joints   []Joint
	pos      [][]string       // by vehicle, by device of its class
	index    []map[string]int // by vehicle: device id → index
	Changed  []Change         // moves made away from the claims
	Failed   []Failure        // parts that no longer do what their records say
	sound    *Consist         // the same without failures; nil where nothing has failed
}

// Joint is where two units meet: Vehicles[Index] and Vehicles[Index+1].
type Joint struct {
	Index int
	Pipes []JointPipe
}

// JointPipe is what the joint makes of one pipe.
type JointPipe struct {
	Pipe        string
	Front, Rear bool   // the unit in front / behind carries it here
	Coupled     bool   // claimed coupled
	Why         string // why not coupled
}

// Position is where a device of a vehicle stands; false when it has no such device.
func (c *Consist) Position(vehicle int, device string) (string, bool) {
	i, ok := c.index[vehicle][device]
	if !ok {
		return "", false
	}
	return c.pos[vehicle][i], true
}

// With returns the consist with devices moved. A position must be one of the device's,
// or a quantity inside its range.
func (c *Consist) With(changes ...Change) (*Consist, error) {
	n := *c
	n.pos = make([][]string, len(c.pos))
	copy(n.pos, c.pos)
	n.Changed = append(append([]Change(nil), c.Changed...), changes...)
	copied := map[int]bool{}
	for _, ch := range changes {
		if ch.Vehicle < 0 || ch.Vehicle >= len(c.Vehicles) {
			return nil, fmt.Errorf("no vehicle %d in this consist", ch.Vehicle+1)
		}
		v := c.Vehicles[ch.Vehicle]
		i, ok := c.index[ch.Vehicle][ch.Device]
		if !ok {
			return nil, unknownDevice(v, ch.Device)
		}
		d := v.Class.Devices[i]
		if err := checkPosition(v, d, ch.Position); err != nil {
			return nil, err
		}
		if len(c.Failed) > 0 && c.failed(ch.Vehicle, d.ID, stays) {
			continue
		}
		if !copied[ch.Vehicle] {
			n.pos[ch.Vehicle] = append([]string(nil), c.pos[ch.Vehicle]...)
			copied[ch.Vehicle] = true
		}
		n.pos[ch.Vehicle][i] = ch.Position
	}
	return &n, nil
}

// Lead is the index of the unit that leads, and how many claim to.
func (c *Consist) Lead() (index, count int) {
	index = -1
	for i, v := range c.Vehicles {
		if v.Role == "lead" || v.Role == "alone" {
			if index < 0 {
				index = i
			}
			count++
		}
	}
	return index, count
}

// Devices are the devices of a vehicle that a name means, in the order of the record: the
// one of that id, or those of that function that the unit carries today, of the driving
// cab where there is one in each.
func (c *Consist) Devices(vehicle int, name string) []*fleet.Device {
	v := c.Vehicles[vehicle]
	if i, ok := c.index[vehicle][name]; ok {
		return []*fleet.Device{v.Class.Devices[i]}
	}
	var out []*fleet.Device
	for _, d := range v.Class.Devices {
		if d.Function == name && v.Unit.Carries(v.Class, d) && (d.Cab == 0 || v.Cab == 0 || d.Cab == v.Cab) {
			out = append(out, d)
		}
	}
	return out
}

// Device is the first of Devices, for a question that any of them answers: whether the
// unit has one, or where the one of a driving cab stands. Whoever moves or reads a device
// that somebody named asks Devices or Named and minds a second one.
func (c *Consist) Device(vehicle int, name string) (*fleet.Device, bool) {
	ds := c.Devices(vehicle, name)
	if len(ds) == 0 {
		return nil, false
	}
	return ds[0], true
}

// Side is the vehicle on one side of a joint, 0 in front of it and 1 behind, and the
// headstock that it turns to the joint.
func (c *Consist) Side(joint, side int) (vehicle, end int) {
	vehicle = joint + side
	if side == 0 {
		return vehicle, c.Vehicles[vehicle].Rear()
	}
	return vehicle, c.Vehicles[vehicle].Front()
}

// BeforeDriver reports whether a device stands in the cab that drives the train, so that
// whoever drives sees it.
func (c *Consist) BeforeDriver(vehicle int, d *fleet.Device) bool {
	lead, _ := c.Lead()
	v := c.Vehicles[vehicle]
	return vehicle == lead && d.Cab != 0 && (v.Cab == 0 || d.Cab == v.Cab)
}

// String is the consist as typed, with every unit number.
func (c *Consist) String() string {
	var parts []string
	for i := 0; i < len(c.Vehicles); i++ {
		v := c.Vehicles[i]
		if !v.Locomotive() {
			j := i
			for j+1 < len(c.Vehicles) && c.Vehicles[j+1].Class == v.Class && c.Vehicles[j+1].Load == v.Load && c.Vehicles[j+1].Reversed == v.Reversed &&
				c.Vehicles[j+1].Unit.Number == c.Vehicles[j].Unit.Number+1 {
				j++
			}
			s := v.Name()
			if j > i {
				s = fmt.Sprintf("%s %d–%d", v.Class.Name, v.Unit.Number, c.Vehicles[j].Unit.Number)
			}
			if v.Load != "" {
				s += " " + v.Load
			}
			if v.Reversed {
				s += " reversed"
			}
			parts = append(parts, s)
			i = j
			continue
		}
		s := v.Name() + " " + v.Role
		if v.Class.Cabs > 1 && v.Cab != 0 {
			s += fmt.Sprintf(" cab %d", v.Cab)
		}
		if v.Reversed {
			s += " reversed"
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, ", ")
}

// Claimed is the consist with every device back at its claim and every part sound.
func (c *Consist) Claimed() (*Consist, error) {
	n := *c
	if c.sound != nil {
		n = *c.sound
	}
	n.Changed = nil
	n.claims()
	return &n, nil
}

// HasDraft reports whether any record in the consist is not issued.
func (c *Consist) HasDraft() bool {
	for _, v := range c.Vehicles {
		if v.Class.Draft() {
			return true
		}
	}
	return false
}

// WithLead is the claimed consist in which another unit leads and the present lead
// trails.
func (c *Consist) WithLead(to int) (*Consist, error) {
	old, n := c.Lead()
	if n != 1 || to < 0 || to >= len(c.Vehicles) || to == old {
		return nil, fmt.Errorf("the lead cannot be given to vehicle %d", to+1)
	}
	out := &Consist{Fleet: c.Fleet}
	for i, v := range c.Vehicles {
		w := *v
		w.Variant = ""
		w.RearCab = false
		switch i {
		case old:
			w.Role, w.Cab = c.Vehicles[to].Role, 0
		case to:
			w.Role, w.Cab = "lead", 0
		}
		out.Vehicles = append(out.Vehicles, &w)
	}
	return out.finish()
}
