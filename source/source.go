// Package source says where a figure comes from and how far it can be trusted. It holds
// the one bibliography, and the figure: a quantity with its spread and its source.
//
// A source is a key of the bibliography, one of the plain words for a standing (invented,
// from memory, common practice, calibrated, measured, railway), or a drawing named
// "drawing-<number>", which is the railway's own. The package does not judge whether a
// figure is right; it keeps the weak ones from looking strong.
package source

import (
	"fmt"
	"strings"

	"headstock/quantity"
)

// Standing is how far a source can be trusted, the strongest first.
type Standing int

// The standings.
const (
	Law Standing = iota
	Standard
	Book
	Paper
	Drawing
	Railway
	Measured
	CommonPractice
	FromMemory
	Invented
	Calibrated
)

func (s Standing) String() string {
	names := []string{"law", "standard", "book", "paper", "drawing", "railway", "measured", "common practice", "from memory", "invented", "calibrated"}
	if s < 0 || int(s) >= len(names) {
		return "unknown standing"
	}
	return names[s]
}

// Weak says that a figure of this standing is no proof and must show wherever it was used.
func (s Standing) Weak() bool { return s >= CommonPractice }

// Ref is one source.
type Ref struct {
	Key, Title, Where string
	Standing          Standing
}

// Lookup finds a source by its key.
func Lookup(key string) (Ref, bool) {
	for _, r := range Bibliography() {
		if r.Key == key {
			return r, true
		}
	}
	if n, ok := strings.CutPrefix(key, "drawing-"); ok && n != "" && !strings.ContainsAny(n, " \t\n,:{}[]") {
		return Ref{Key: key, Title: "drawing " + n, Where: "the railway's own drawings", Standing: Drawing}, true
	}
	return Ref{}, false
}

// Keys are the keys of the bibliography, in its order.
func Keys() []string {
	var out []string
	for _, r := range Bibliography() {
		out = append(out, r.Key)
	}
	return out
}

// Nearest is the key that was probably meant, or "".
func Nearest(key string) string {
	best, at := "", max(2, len([]rune(key))/3+1)
	for _, k := range append(Keys(), "drawing-") {
		if d := distance(strings.ToLower(key), k); d < at {
			best, at = k, d
		}
	}
	return best
}

// Figure is a quantity and the key of its source.
type Figure struct {
	quantity.Value
	By string
}

// Ref is the source of the figure; a key that is not in the bibliography counts as from
// memory, so that it shows.
func (f Figure) Ref() Ref {
	if r, ok := Lookup(f.By); ok {
		return r
	}
	return Ref{Key: f.By, Title: f.By, Standing: FromMemory}
}

// UnknownKey says that a figure names a source that is not known.
type UnknownKey struct{ Key, Nearest string }

func (e *UnknownKey) Error() string {
	s := fmt.Sprintf("no source %q in the bibliography", e.Key)
	if e.Nearest != "" {
		s += "; nearest: " + e.Nearest
	}
	return s
}

// ParseFigure reads "12 mm ± 0.5 mm by drawing-114". Without "by" the figure takes the
// nearest source above it; where that is empty too, By stays empty and the caller
// complains. An error is a *quantity.Error or an *UnknownKey.
func ParseFigure(text, nearest string) (Figure, error) {
	q, by := text, nearest
	if a, b, ok := strings.Cut(text, " by "); ok {
		q, by = a, strings.TrimSpace(b)
		if _, known := Lookup(by); !known {
			return Figure{}, &UnknownKey{by, Nearest(by)}
		}
	}
	v, err := quantity.Parse(q)
	if err != nil {
		return Figure{}, err
	}
	return Figure{Value: v, By: by}, nil
}

// distance counts letters put in, left out, changed or swapped with their neighbour.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 60 {
		return len(x)
	}
	var before, row []int
	next := make([]int, len(y)+1)
	for j := range next {
		next[j] = j
	}
	for i := range x {
		before, row, next = row, next, make([]int, len(y)+1)
		next[0] = i + 1
		for j := range y {
			cost := row[j]
			if x[i] != y[j] {
				cost++
			}
			next[j+1] = min(cost, row[j+1]+1, next[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
	}
	return next[len(y)]
}
