package card

import (
	"fmt"
	"slices"
	"strings"

	"headstock/prove"
	"headstock/quantity"
	"headstock/rule"
)

// The rules of the program's voice: imperative for what is to be done, one act a
// sentence; the device's name as on its plate; then the place, then the reading. No
// exclamation. A figure is computed or quoted, never typed here.

// stepWords are steps as they stand in a sentence.
func at(r prove.Reason) string {
	if r.Step == "" {
		return ""
	}
	return fmt.Sprintf(" (%s, step %s)", r.Run, r.Step)
}

// part names an air element or a function as spoken.
func part(element string) string { return strings.ReplaceAll(element, "-", " ") }

// Sentence words one reason.
func Sentence(r prove.Reason, u quantity.Units) string {
	g := func(pa float64) string { return u.Gauge(quantity.Gauge(pa)) }
	s := ""
	switch r.Kind {
	case "no lead":
		s = "no unit leads"
	case "second lead":
		s = fmt.Sprintf("%s claims to lead as well", r.Vehicle)
	case "disagree":
		s = fmt.Sprintf("%s: %s do not go together; the role claims %s", r.Vehicle, strings.Join(r.Devices[:2], " and "), r.Because)
		return s
	case "feeds":
		s = fmt.Sprintf("%s feeds the brake pipe through its %s while the lead's valve is cut out", r.Vehicle, part(r.Element))
	case "pipe does not follow":
		s = fmt.Sprintf("the brake pipe of %s stays at %s when it should be near %s", r.Vehicle, g(r.Value), g(r.Limit))
	case "not charged":
		s = fmt.Sprintf("the brake pipe of %s reaches %s; at least %s is asked", r.Vehicle, g(r.Value), g(r.Limit))
	case "does not apply":
		s = fmt.Sprintf("%s does not brake: %s at %s, at least %s is asked", r.Vehicle, part(r.Element), g(r.Value), g(r.Limit))
	case "first reduction":
		s = fmt.Sprintf("%s does not answer the first reduction: %s at %s", r.Vehicle, part(r.Element), g(r.Value))
	case "does not release":
		s = fmt.Sprintf("%s does not release: %s still at %s", r.Vehicle, part(r.Element), g(r.Value))
	case "on when charged":
		s = fmt.Sprintf("%s stands braked with the train charged: %s at %s", r.Vehicle, part(r.Element), g(r.Value))
	case "leaks":
		s = fmt.Sprintf("the brake pipe falls %s in the timed minute; at most %s is allowed", g(r.Value), g(r.Limit))
	case "rises":
		s = fmt.Sprintf("the brake pipe rises %s in the timed minute with the lead's valve cut out: something feeds it", g(r.Value))
	case "independent does not apply":
		s = fmt.Sprintf("no independent on %s: %s at %s", r.Vehicle, part(r.Element), g(r.Value))
	case "independent does not release":
		s = fmt.Sprintf("the independent does not come off on %s: %s at %s", r.Vehicle, part(r.Element), g(r.Value))
	case "drags":
		s = fmt.Sprintf("no quick release on %s: after the bail-off its %s still hold %s", r.Vehicle, part(r.Element), g(r.Value))
	case "does not re-apply":
		s = fmt.Sprintf("%s does not re-apply on the second reduction: %s at %s", r.Vehicle, part(r.Element), g(r.Value))
	case "dead not charged":
		s = fmt.Sprintf("the %s of %s, hauled dead, reaches %s; at least %s is asked", part(r.Element), r.Vehicle, g(r.Value), g(r.Limit))
	case "dead too hard":
		s = fmt.Sprintf("%s, hauled dead, brakes with %s; at most %s is allowed", r.Vehicle, g(r.Value), g(r.Limit))
	case "blows":
		s = fmt.Sprintf("air blows at the %s of %s", part(r.Element), r.Vehicle)
	case "over rating":
		s = fmt.Sprintf("the %s of %s stands at %s, above its rating of %s", part(r.Element), r.Vehicle, g(r.Value), g(r.Limit))
	case "hand brake":
		s = fmt.Sprintf("a hand brake of %s is not off", r.Vehicle)
	case "moved":
		s = fmt.Sprintf("the %s of %s is not at its place, which is %s", r.Element, r.Vehicle, r.Because)
		return s + "; look at " + strings.Join(r.Devices, ", ")
	case "out of use":
		return fmt.Sprintf("%s of %s is %s", r.Element, r.Vehicle, r.Because)
	case "not locked":
		return fmt.Sprintf("%s of %s is not %s; look at %s", r.Element, r.Vehicle, r.Because, strings.Join(r.Devices, ", "))
	case "not shared":
		return fmt.Sprintf("the %s of %s is not open through at the joint: if one compressor fails its unit bleeds down; look at %s", part(r.Element), r.Vehicle, strings.Join(r.Devices, ", "))
	case "did not happen":
		s = fmt.Sprintf("the %s of %s is not up and steady within %s: it stands at %s", part(r.Element), r.Vehicle, upTo(r.Limit), g(r.Value))
	case "overcharged":
		s = fmt.Sprintf("the brake pipe of %s stands at %s; at most %s is allowed", r.Vehicle, g(r.Value), g(r.Limit))
	case "brakes less":
		s = fmt.Sprintf("%s brakes with less than it should: %s at %s; with every device as claimed at least %s", r.Vehicle, part(r.Element), g(r.Value), g(r.Limit))
	case "chock":
		return fmt.Sprintf("a chock of %s is placed; look at %s", r.Vehicle, strings.Join(r.Devices, ", "))
	case "no penalty":
		s = fmt.Sprintf("the vigilance penalty of %s does not apply the brake", r.Vehicle)
	case "pipe not empty":
		s = fmt.Sprintf("in emergency the brake pipe of %s still holds %s", r.Vehicle, g(r.Value))
	case "no reserve":
		s = fmt.Sprintf("after parting %s has %s left; at least %s is asked", r.Vehicle, g(r.Value), g(r.Limit))
	case "record lacks":
		return fmt.Sprintf("%s: needs %s", r.Vehicle, r.Element)
	case "needs circuits":
		return fmt.Sprintf("%s: its record does not say what its control jumper carries and how it takes load", r.Vehicle)
	case "wrong light":
		place := map[string]string{rule.Front: "the front of the train", rule.Rear: "the rear of the train", rule.Between: "a coupled end"}[r.At]
		s = fmt.Sprintf("%s of %s, %s, shows %s and should show %s", r.Element, r.Vehicle, place, r.Shows, r.Should)
		if r.Because != "" {
			s += "; " + r.Because
		}
		if len(r.Devices) > 0 {
			first := r.Devices[0]
			if r.CrewSeesAt != "" {
				first += " (" + r.CrewSeesAt + ")"
			}
			s += "; look at " + strings.Join(append([]string{first}, r.Devices[1:]...), ", ")
		}
		return s
	case "power at rest":
		s = fmt.Sprintf("%s is given %s although the lead gives none", r.Vehicle, r.Element)
	case "two directions":
		s = fmt.Sprintf("%s is given both directions at once", r.Vehicle)
	case "pulls against":
		s = fmt.Sprintf("%s is told to pull against the lead", r.Vehicle)
	case "no command":
		s = fmt.Sprintf("the %s of the lead does not reach %s", r.Element, r.Vehicle)
	case "second place":
		s = fmt.Sprintf("power can be given from %s as well: %s is alive there", r.Vehicle, r.Element)
	default:
		s = r.Kind
	}
	if r.Because != "" {
		s += "; " + r.Because
	}
	if r.Restrict != "" {
		s += "; " + r.Restrict
	}
	s += at(r)
	if len(r.Devices) > 0 {
		s += "; look at " + strings.Join(r.Devices, ", ")
	}
	return s
}

// merge joins reasons that say the same of several parts of one vehicle, and counts the
// further runs that show the same.
func merge(rs []prove.Reason) []prove.Reason {
	var out []prove.Reason
	also := map[int]int{}
	for _, r := range rs {
		if n := len(out); n > 0 {
			last := &out[n-1]
			if last.Vehicle == r.Vehicle && last.Kind == r.Kind && last.Step == r.Step && last.Run == r.Run && last.Because == r.Because && r.Element != "" && r.At == "" {
				last.Element += " and " + r.Element
				continue
			}
		}
		out = append(out, r)
	}
	var once []prove.Reason
	for _, r := range out {
		k := slices.IndexFunc(once, func(o prove.Reason) bool {
			return o.Vehicle == r.Vehicle && o.Kind == r.Kind && o.Element == r.Element && o.Because == r.Because && o.Run != r.Run
		})
		if k < 0 {
			once = append(once, r)
			continue
		}
		also[k]++
	}
	for k, n := range also {
		once[k].Step += fmt.Sprintf(", and in %s more", count(n, "run"))
	}
	return once
}

// count writes a number of things.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// verdictOf words a verdict and gives its mark.
func verdictOf(p *prove.Proof, u quantity.Units) *Verdict {
	v := &Verdict{Text: "The record says this set-up " + p.Verdict + "."}
	want := prove.Status("")
	switch p.Verdict {
	case prove.Works:
		v.Mark = Good
	case prove.WithLoss:
		v.Mark, want = Warn, prove.Lost
	case prove.DoesNot:
		v.Mark, want = Bad, prove.Broken
	default:
		v.Mark, want = Unknown, prove.CannotSay
		v.Text = "The record cannot say whether this set-up works."
	}
	for _, f := range p.Findings {
		if f.Status != want {
			continue
		}
		rs := merge(f.Reasons)
		for i, r := range rs {
			if i == 3 {
				v.Reasons = append(v.Reasons, fmt.Sprintf("… and %d more of this kind: %s", len(rs)-3, f.Says))
				break
			}
			v.Reasons = append(v.Reasons, Sentence(r, u))
		}
	}
	return v
}

func markOf(s prove.Status) Mark {
	switch s {
	case prove.Met:
		return Good
	case prove.Broken:
		return Bad
	case prove.Lost:
		return Warn
	case prove.CannotSay:
		return Unknown
	}
	return Quiet
}
