package consist

import (
	"fmt"
	"slices"

	"headstock/fleet"
)

// JumperLine is what a joint makes of one command or signal of the control jumper.
type JumperLine struct {
	Carries string         // in the unit in front
	Behind  string         // in the unit behind: another direction where like headstocks meet
	Front   *fleet.Element // its trainline in the unit in front; nil: it has none
	Rear    *fleet.Element // … and behind
	Crosses bool
	Why     string // why not
}

// Jumper is what the control jumper between vehicle i and the next joins, by the records
// of both: by what (the plain jumper where the sockets are alike, else an adapter lead),
// and each command or signal in a fixed order. Without lines, why says why there are none.
// That the jumper is there and joined at both ends is taken for granted.
func (c *Consist) Jumper(i int) (by string, lines []JumperLine, why string) {
	a, b := c.Vehicles[i], c.Vehicles[i+1]
	for _, v := range []*Vehicle{a, b} {
		switch {
		case !v.Locomotive():
			return "", nil, fmt.Sprintf("%s is no locomotive", v.Name())
		case !v.Class.Multiple:
			return "", nil, fmt.Sprintf("class %s has no control jumper", v.Class.Name)
		case !slices.Contains([]string{"lead", "alone", "trail", "trail shut down"}, v.Role):
			return "", nil, fmt.Sprintf("%s is %s, and no jumper is joined to it", v.Name(), v.Role)
		case len(v.Class.PartsOf("trainline")) == 0:
			return "", nil, fmt.Sprintf("the record of class %s does not say what its jumper carries", v.Class.Name)
		}
	}
	by = "the plain jumper"
	if a.Class.PartsOf("trainline")[0].Text("socket") != b.Class.PartsOf("trainline")[0].Text("socket") {
		by = "an adapter lead"
		if !hasAdapter(a) && !hasAdapter(b) {
			by = ""
			why = "the sockets differ and neither unit carries an adapter lead"
		}
	}
	like := a.Rear() == b.Front()
	for _, what := range fleet.Carried() {
		l := JumperLine{Carries: what, Behind: what}
		if like {
			l.Behind = otherDirection(what)
		}
		l.Front, l.Rear = trainline(a.Class, l.Carries), trainline(b.Class, l.Behind)
		switch {
		case l.Front == nil && l.Rear == nil:
			continue
		case l.Front == nil:
			l.Why = a.Name() + " has no such wire"
		case l.Rear == nil:
			l.Why = b.Name() + " has no such wire"
		case by == "":
			l.Why = why
		case by == "an adapter lead" && (l.Front.Text("through adapter") != "yes" || l.Rear.Text("through adapter") != "yes"):
			l.Why = "the adapter lead does not carry it"
		case by == "the plain jumper" && l.Behind == l.Carries && l.Front.Text("wire") != l.Rear.Text("wire"):
			l.Why = "its wire has another number in each socket"
		default:
			l.Crosses = true
		}
		lines = append(lines, l)
	}
	return by, lines, why
}

// otherDirection is the direction wire that meets another where like headstocks do: the
// sockets are wired so that a direction stays the same along the track (common practice).
func otherDirection(carries string) string {
	switch carries {
	case "direction 1":
		return "direction 2"
	case "direction 2":
		return "direction 1"
	}
	return carries
}

func trainline(c *fleet.Class, carries string) *fleet.Element {
	for _, e := range c.PartsOf("trainline") {
		if e.Text("carries") == carries {
			return e
		}
	}
	return nil
}

func hasAdapter(v *Vehicle) bool {
	return slices.ContainsFunc(v.Class.DevicesOf("adapter-jumper"), func(d *fleet.Device) bool {
		how, _ := v.Unit.Fitted(d)
		return how == "yes" && v.Unit.Carries(v.Class, d)
	})
}
