package haul

import (
	"slices"

	"headstock/line"
)

// Way cuts the line between two places where its gradients change and its places lie, as a
// train meets it. A stretch without a gradient in the file is an error that names it.
func Way(l *line.Line, from, to string) ([]Leg, error) {
	if _, _, err := l.Between(from, to); err != nil {
		return nil, err
	}
	a, _ := l.Place(from)
	b, _ := l.Place(to)
	low, high, up := a.At, b.At, true
	if low > high {
		low, high, up = high, low, false
	}
	cuts := []float64{low, high}
	for _, g := range l.Gradients {
		cuts = append(cuts, g.Start, g.End)
	}
	for _, p := range l.Places {
		cuts = append(cuts, p.At)
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var out []Leg
	for k := 0; k+1 < len(cuts); k++ {
		x, y := cuts[k], cuts[k+1]
		if x < low-1e-6 || y > high+1e-6 {
			continue
		}
		i := slices.IndexFunc(l.Gradients, func(g line.Gradient) bool { return g.Start <= x+1e-6 && g.End >= y-1e-6 })
		if i < 0 {
			return nil, &CannotSay{[]string{"the gradients of the line from " + from + " to " + to}}
		}
		leg := Leg{Length: y - x, Falling: l.Gradients[i].Slope}
		at := y
		if up {
			leg.Falling, at = -leg.Falling, x
		}
		lower := func(start, end, v float64) {
			if v > 0 && start < y-1e-6 && end > x+1e-6 && (leg.Limit == 0 || v < leg.Limit) {
				leg.Limit = v
			}
		}
		for _, s := range l.Sections {
			lower(s.Start, s.End, s.Speed)
		}
		for _, s := range l.Speeds {
			lower(s.Start, s.End, s.AtMost)
		}
		for _, p := range l.Places {
			if p.At == at {
				leg.From = p.Name
			}
		}
		out = append(out, leg)
	}
	if !up {
		slices.Reverse(out)
	}
	return out, nil
}
