package fleet

import (
	"fmt"
	"slices"
	"strings"

	"headstock/internal/reading"
)

// Shown is one thing that a position of a light shows to whoever stands before a headstock.
// It is written as its colours and where: "white ahead", "red and white at both ends", "red
// where not coupled", or the colour alone for the headstock that the device belongs to.
type Shown struct {
	Where  string   // a word of ShownWhere; "" for the device's own headstock
	Colour []string // words of LightColours but Dark; none is dark
	Pos    reading.Pos
}

// Dark is the word for no light.
const Dark = "dark"

// LightColours are the words for what a light shows.
func LightColours() []string { return []string{"white", "red", Dark} }

// ShownWhere are the words for where a light shows.
//
// Ahead is the headstock to which the reverser points, and behind the other; with a
// reverser that points nowhere there is neither. What is hung by hand hangs at the front or
// at the rear of its vehicle as the train runs.
func ShownWhere() []string {
	return []string{"at end 1", "at end 2", "at both ends", "ahead", "behind", "where not coupled", "at the front", "at the rear"}
}

// Light reports whether a device's function is to show a light at a headstock, or to set
// which are shown.
func Light(function string) bool {
	return slices.Contains([]string{"headlight", "marker-light", "light-setting", "tail-lamp"}, function)
}

// LightsSilent lists the lights of a class that do not say what they show; none, where the
// class has no lights at all.
func (c *Class) LightsSilent() []*Device {
	var out []*Device
	for _, d := range c.Devices {
		if Light(d.Function) && !d.Lit() && d.Fitted != "no" {
			out = append(out, d)
		}
	}
	return out
}

// String is what is shown as it is written: "red and white at both ends".
func (s Shown) String() string {
	text := strings.Join(s.Colour, " and ")
	if text == "" {
		text = Dark
	}
	return strings.TrimSpace(text + " " + s.Where)
}

// Says is what a position means, in words: what the record says of it, what it shows, and
// where it leads; "" where its name says all.
func (p Position) Says() string {
	var out []string
	if p.Means != "" {
		out = append(out, p.Means)
	}
	if p.Toward != 0 {
		out = append(out, fmt.Sprintf("toward headstock %d", p.Toward))
	}
	if len(p.Shows) > 0 {
		var shown []string
		for _, s := range p.Shows {
			shown = append(shown, s.String())
		}
		out = append(out, "shows "+strings.Join(shown, ", "))
	}
	return strings.Join(out, "; ")
}

// Lit reports whether a device says what its positions show.
func (d *Device) Lit() bool {
	return slices.ContainsFunc(d.Positions, func(p Position) bool { return p.Shows != nil })
}

// shows reads what a position shows: phrases of colours and a place, in a list or parted
// by commas.
func (r *reader) shows(n *reading.Node) []Shown {
	if n.Kind() == reading.Map {
		r.complain(CodeShape, n.Pos(), "a map stands here", "colours and where, like white ahead, or a list of them", "")
		return nil
	}
	out := []Shown{} // what is complained of is still a word on what it shows
	for _, i := range n.Items() {
		for phrase := range strings.SplitSeq(r.text(i), ",") {
			words := strings.Fields(phrase)
			s := Shown{Pos: i.Pos()}
			k, colours := 0, 0
			for ; k < len(words) && (slices.Contains(LightColours(), words[k]) || words[k] == "and"); k++ {
				switch words[k] {
				case "and":
				case Dark:
					colours++
				default:
					colours++
					s.Colour = append(s.Colour, words[k])
				}
			}
			if colours == 0 {
				first := strings.Join(words, " ")
				if len(words) > 0 {
					first = words[0]
				}
				r.complain(CodeShowsColour, i.Pos(), fmt.Sprintf("%q begins with no colour of a light", first), "one of "+strings.Join(LightColours(), ", ")+", then where", reading.Nearest(first, LightColours()))
				continue
			}
			s.Where = strings.Join(words[k:], " ")
			if s.Where != "" && !slices.Contains(ShownWhere(), s.Where) {
				r.complain(CodeShowsWhere, i.Pos(), fmt.Sprintf("%q is nowhere that a light shows", s.Where), "one of "+strings.Join(ShownWhere(), ", ")+", or nothing for the device's own headstock", reading.Nearest(s.Where, ShownWhere()))
				continue
			}
			out = append(out, s)
		}
	}
	return out
}

// checkLights holds what the lights of a class say against each other.
func (r *reader) checkLights(c *Class) {
	toward := false
	for _, d := range c.Devices {
		for _, p := range d.Positions {
			toward = toward || p.Toward != 0
			if p.Toward != 0 && d.Function != "reverser" {
				r.complain(CodeToward, p.Pos, fmt.Sprintf("position %q of %q leads to headstock %d, and it is no reverser", p.ID, d.ID, p.Toward), "toward in the positions of a reverser", "")
			}
		}
	}
	for _, d := range c.Devices {
		if !d.Lit() {
			continue
		}
		if !Light(d.Function) {
			p := d.Positions[slices.IndexFunc(d.Positions, func(p Position) bool { return p.Shows != nil })]
			r.complain(CodeShowsFunction, p.Pos, fmt.Sprintf("device %q shows a light, and its function %q is none of a light at a headstock", d.ID, d.Function), "shows in the positions of a headlight, marker-light, light-setting or tail-lamp", "")
			continue
		}
		for _, p := range d.Positions {
			if p.Shows == nil {
				r.complain(CodeShowsSome, p.Pos, fmt.Sprintf("position %q of %q does not say what it shows, and others do", p.ID, d.ID), "shows: dark, or what it shows", "")
			}
			for _, s := range p.Shows {
				switch {
				case s.Where == "" && d.End == 0 && len(s.Colour) > 0:
					r.complain(CodeShowsEnd, s.Pos, fmt.Sprintf("%q does not say at which headstock it shows, and belongs to none", d.ID), "end: 1 or 2 in the device, or where after the colour", "")
				case (s.Where == "ahead" || s.Where == "behind") && !toward:
					r.complain(CodeShowsToward, s.Pos, fmt.Sprintf("%q shows a light %s, and no reverser says to which headstock it leads", d.ID, s.Where), "toward: 1 or 2 in the positions of the reverser", "")
				}
			}
		}
	}
}
