package rule

import (
	"fmt"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/internal/reading"
)

// Light is what a headstock must show by its place in a train: one of the colours, and no
// other; none is dark.
type Light struct {
	At, What    string // At: Front, Rear or Between
	Shows       []string
	Source, Row string
}

// The places of a headstock in a train.
const (
	Front   = "front"   // that of the first vehicle which leads the train
	Rear    = "rear"    // that of the last vehicle which ends it
	Between = "between" // any at which another vehicle stands
)

// Asks is what the rule asks in words: "white", "red or white", "dark".
func (l Light) Asks() string {
	if len(l.Shows) == 0 {
		return fleet.Dark
	}
	return strings.Join(l.Shows, " or ")
}

// Cite is where the rule comes from.
func (l Light) Cite() string { return cite(l.Source, l.Row) }

// Light is the rule for a place in a train; the shipped rules have every one, and a
// railway's own cannot take one away.
func (r *Rules) Light(at string) Light {
	for _, l := range r.Lights {
		if l.At == at {
			return l
		}
	}
	return Light{At: at}
}

func (r *rows) light(e reading.Entry) (Light, bool) {
	places := []string{Front, Rear, Between}
	l := Light{At: e.Key, Source: r.source}
	if !slices.Contains(places, e.Key) {
		r.complaints = append(r.complaints, reading.Complaint{Code: CodeWord, Pos: e.KeyPos, Message: fmt.Sprintf("%q is no place of a headstock in a train", e.Key), Expected: "one of " + strings.Join(places, ", "), Nearest: reading.Nearest(e.Key, places)})
		return l, false
	}
	if e.Value.Kind() != reading.Map {
		r.complain(e.Value, CodeShape, fmt.Sprintf("the light %q is %s", e.Key, e.Value.Kind()), "a map of keys and values", "")
		return l, false
	}
	before, said := len(r.complaints), false
	for _, p := range e.Value.Entries() {
		switch p.Key {
		case "shows":
			said = true
			for _, w := range r.words(p.Value, "colour of a light", fleet.LightColours()) {
				if w != fleet.Dark {
					l.Shows = append(l.Shows, w)
				} else if len(p.Value.Items()) > 1 {
					r.complain(p.Value, CodeWord, "dark stands beside a colour", "dark, or the colours of which one must show", "")
				}
			}
		case "what":
			l.What = r.word(p.Value)
		case "by":
			l.Source = r.by(p.Value)
		case "row":
			l.Row = row(p.Value)
		default:
			r.key(p, "a light", []string{"shows", "what", "by", "row"})
		}
	}
	if !said {
		r.complaints = append(r.complaints, reading.Complaint{Code: CodeFitEmpty, Pos: e.KeyPos, Message: fmt.Sprintf("the light %q does not say what it shows", e.Key), Expected: "shows: white, red or dark"})
	}
	return l, len(r.complaints) == before
}

func (r *Rules) setLight(l Light) {
	for i := range r.Lights {
		if r.Lights[i].At == l.At {
			if l.What == "" {
				l.What = r.Lights[i].What
			}
			r.Lights[i] = l
			return
		}
	}
	r.Lights = append(r.Lights, l)
}
