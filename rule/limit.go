package rule

import (
	"fmt"
	"slices"
	"strings"

	"headstock/internal/reading"
	"headstock/quantity"
)

var limitKeys = []string{"at least", "at most", "value", "what", "by", "row"}

// longestWait is the longest time that a rule may ask anybody to wait, s: a day. A figure
// in the wrong unit shows here and not after a night of computing.
const longestWait = 24 * 3600

// limit reads one limit. A railway's own (base is not nil) is held to the shipped one: the
// same kind of figure and no bound that the shipped one lacks, because whoever asks for the
// limit asks for that bound, and one that is missing would switch the test off. A bound
// that it leaves out stays as shipped.
func (r *rows) limit(e reading.Entry, base *Rules) (Limit, bool) {
	l := Limit{ID: e.Key, Source: r.source}
	if e.Value.Kind() != reading.Map {
		r.complain(e.Value, CodeShape, fmt.Sprintf("limit %q is %s", e.Key, e.Value.Kind()), "a map of keys and values", "")
		return l, false
	}
	before := len(r.complaints)
	var shipped *Limit
	if base != nil {
		b, ok := base.Limit(l.ID)
		if !ok {
			var ids []string
			for _, x := range base.Limits {
				ids = append(ids, x.ID)
			}
			r.complaints = append(r.complaints, reading.Complaint{Code: CodeLimit, Pos: e.KeyPos, Message: fmt.Sprintf("no limit %q in the rules", l.ID), Expected: "the id of a shipped limit", Nearest: reading.Nearest(l.ID, ids)})
			return l, false
		}
		shipped, l.Kind = &b, b.Kind
	}
	value, bound := false, false
	for _, p := range e.Value.Entries() {
		switch p.Key {
		case "at least", "at most", "value":
			if shipped != nil && !slices.Contains(shipped.bounds(), p.Key) {
				r.complaints = append(r.complaints, reading.Complaint{Code: CodeBound, Pos: p.KeyPos, Message: fmt.Sprintf("limit %q has no %q: %s", l.ID, p.Key, shipped.What), Expected: strings.Join(shipped.bounds(), " or ")})
				continue
			}
			v, ok := r.figure(p.Value)
			if !ok {
				continue
			}
			if shipped == nil && !value && !bound {
				l.Kind = v.Kind
			}
			if v.Kind != l.Kind {
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is %s", p.Value.Text(), aKind(v.Kind)), likeKind(l.Kind), "")
				continue
			}
			value, bound = value || p.Key == "value", bound || p.Key != "value"
			switch {
			case v.Spread != 0:
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q has a spread, and a limit has none", p.Value.Text()), "one figure", "")
			case l.Kind == quantity.Time && (v.SI <= 0 || v.SI > longestWait):
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is no time that can be waited for", p.Value.Text()), "more than 0 s, at most 24 h", "")
			case v.SI < 0:
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is below zero", p.Value.Text()), "a figure from zero on", "")
			case v.SI == 0 && p.Key != "at most":
				r.complain(p.Value, CodeQuantity, fmt.Sprintf("%q is met by everything", p.Value.Text()), "a figure above zero", "")
			}
			if p.Key != "at most" {
				l.Low, l.HasLow = v.SI, true
			}
			if p.Key != "at least" {
				l.High, l.HasHigh = v.SI, true
			}
		case "what":
			l.What = r.word(p.Value)
		case "by":
			l.Source = r.by(p.Value)
		case "row":
			l.Row = row(p.Value)
		default:
			r.key(p, "a limit", limitKeys)
		}
	}
	if len(r.complaints) > before {
		return l, false
	}
	switch {
	case !value && !bound:
		r.complaints = append(r.complaints, reading.Complaint{Code: CodeFitEmpty, Pos: e.KeyPos, Message: fmt.Sprintf("limit %q has no figure", l.ID), Expected: "at least, at most or value"})
		return l, false
	case value && bound:
		r.complaints = append(r.complaints, reading.Complaint{Code: CodeBound, Pos: e.KeyPos, Message: fmt.Sprintf("limit %q is a value and has bounds", l.ID), Expected: "value, or at least and at most"})
		return l, false
	}
	if shipped != nil {
		if l.What == "" {
			l.What = shipped.What
		}
		if shipped.HasLow && !l.HasLow {
			l.Low, l.HasLow = shipped.Low, true
		}
		if shipped.HasHigh && !l.HasHigh {
			l.High, l.HasHigh = shipped.High, true
		}
	}
	if l.HasLow && l.HasHigh && l.Low > l.High {
		r.complain(e.Value, CodeBound, fmt.Sprintf("limit %q asks for at least more than it allows at most", l.ID), "at least below at most", "")
		return l, false
	}
	return l, true
}

// bounds are the keys under which a limit has its figures.
func (l Limit) bounds() []string {
	switch {
	case l.HasLow && l.HasHigh && l.Low == l.High:
		return []string{"value"}
	case l.HasLow && l.HasHigh:
		return []string{"at least", "at most"}
	case l.HasLow:
		return []string{"at least"}
	}
	return []string{"at most"}
}

// likeKind is what is expected of a figure of a kind.
func likeKind(k quantity.Kind) string {
	if k == quantity.Count {
		return "a share such as 80 %"
	}
	return fmt.Sprintf("%s in a unit such as %s", aKind(k), k.Example())
}

func aKind(k quantity.Kind) string {
	if strings.ContainsRune("aeiou", rune(k.String()[0])) {
		return "an " + k.String()
	}
	return "a " + k.String()
}
