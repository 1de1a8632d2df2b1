package reading

import "strings"

// Nearest is the candidate most like the word, or "" when none is close: at most a third
// of its letters changed, the same words in another order, or one word that begins with
// the other. Of equals the first candidate wins.
func Nearest(word string, candidates []string) string {
	w := fold(word)
	if w == "" || len(w) > 80 {
		return ""
	}
	best, at := "", max(2, len([]rune(w))/3+1)
	for _, c := range candidates {
		f := fold(c)
		if f == w {
			return c
		}
		d := distance(w, f)
		if d < at {
			best, at = c, d
		}
	}
	if best != "" {
		return best
	}
	for _, c := range candidates {
		f := fold(c)
		if sameWords(w, f) || (len(w) >= 4 && (strings.HasPrefix(f, w) || strings.HasSuffix(f, " "+w))) || (len(f) >= 4 && strings.HasPrefix(w, f)) {
			return c
		}
	}
	return ""
}

// fold makes spaces, hyphens and capitals alike.
func fold(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return r == ' ' || r == '-' || r == '_' || r == '\t' }), " ")
}

func sameWords(a, b string) bool {
	x, y := strings.Fields(a), strings.Fields(b)
	if len(x) != len(y) || len(x) < 2 {
		return false
	}
	for _, w := range x {
		found := false
		for _, v := range y {
			found = found || v == w
		}
		if !found {
			return false
		}
	}
	return true
}

// distance counts letters put in, left out, changed or swapped with their neighbour.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
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
