// Package orbit counts what is the same but for a renaming: the renamings that leave a
// graph as it is, and the classes into which renamings gather assignments, each told by
// its least member.
//
// It knows nothing of what is renamed.
package orbit

import "slices"

// Renaming sends thing i to Renaming[i].
type Renaming []int

// Automorphisms are all renamings that leave a graph as it is, given as its neighbours; by
// trying, with a thing sent only where its neighbours so far agree.
func Automorphisms(neighbours [][]int) []Renaming {
	n := len(neighbours)
	joined := make([][]bool, n)
	for i, ns := range neighbours {
		joined[i] = make([]bool, n)
		for _, j := range ns {
			joined[i][j] = true
		}
	}
	var out []Renaming
	to := make(Renaming, 0, n)
	used := make([]bool, n)
	var next func()
	next = func() {
		i := len(to)
		if i == n {
			out = append(out, slices.Clone(to))
			return
		}
		for k := range n {
			if used[k] || len(neighbours[k]) != len(neighbours[i]) {
				continue
			}
			fits := true
			for j := 0; j < i && fits; j++ {
				fits = joined[i][j] == joined[k][to[j]] && joined[j][i] == joined[to[j]][k]
			}
			if fits {
				used[k] = true
				to = append(to, k)
				next()
				to = to[:i]
				used[k] = false
			}
		}
	}
	next()
	return out
}

// Least is the least of what the renamings make of an assignment, compared from its first
// place: the representative of its class. The renamings must be a group.
func Least(assignment []int, by []Renaming) []int {
	least := slices.Clone(assignment)
	other := make([]int, len(assignment))
	for _, r := range by {
		for i, k := range r {
			other[k] = assignment[i]
		}
		if slices.Compare(other, least) < 0 {
			copy(least, other)
		}
	}
	return least
}

// Reversal is the group of two renamings of n things in a row: as they are, and the other
// way round.
func Reversal(n int) []Renaming {
	same, back := make(Renaming, n), make(Renaming, n)
	for i := range n {
		same[i], back[i] = i, n-1-i
	}
	return []Renaming{same, back}
}
