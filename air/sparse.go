package air

import "slices"

// symbolic is the factorisation of a matrix with symmetric structure, worked out once.
// A network is nearly a tree, so eliminating the node with fewest neighbours first adds
// almost nothing. The system is column diagonally dominant (what one node loses another
// gains), so no pivoting is needed.
type symbolic struct {
	n     int
	order []int32 // order of elimination: position → row
	diag  []int32 // position → place of its diagonal
	// for each position k, its later neighbours: places of (i,k), (k,i) and rows
	start  []int32
	rows   []int32 // row index i (original numbering)
	lower  []int32 // place of (i,k)
	upper  []int32 // place of (k,i)
	update []int32 // for each pair (i,j) of later neighbours, place of (i,j), in order
	first  []int32 // position → its first in update
	index  map[[2]int32]int32
	size   int
}

func analyse(n int, pairs [][2]int32) symbolic {
	s := symbolic{n: n, index: map[[2]int32]int32{}}
	adj := make([]map[int32]bool, n)
	for i := range adj {
		adj[i] = map[int32]bool{}
	}
	put := func(i, j int32) int32 {
		k := [2]int32{i, j}
		if at, ok := s.index[k]; ok {
			return at
		}
		at := int32(s.size)
		s.index[k] = at
		s.size++
		return at
	}
	for i := range int32(n) {
		put(i, i)
	}
	for _, p := range pairs {
		adj[p[0]][p[1]], adj[p[1]][p[0]] = true, true
		put(p[0], p[1])
		put(p[1], p[0])
	}
	done := make([]bool, n)
	for range n {
		best, deg := int32(-1), 1<<30
		for i := range int32(n) {
			if !done[i] && len(adj[i]) < deg {
				best, deg = i, len(adj[i])
			}
		}
		done[best] = true
		s.order = append(s.order, best)
		s.diag = append(s.diag, put(best, best))
		var later []int32
		for j := range adj[best] {
			later = append(later, j)
		}
		slices.Sort(later)
		s.start = append(s.start, int32(len(s.rows)))
		s.first = append(s.first, int32(len(s.update)))
		for _, i := range later {
			s.rows = append(s.rows, i)
			s.lower = append(s.lower, put(i, best))
			s.upper = append(s.upper, put(best, i))
			for _, j := range later {
				s.update = append(s.update, put(i, j))
				if i != j {
					adj[i][j] = true
				}
			}
			delete(adj[i], best)
		}
	}
	s.start = append(s.start, int32(len(s.rows)))
	return s
}

func (s *symbolic) place(i, j int32) int32 { return s.index[[2]int32{i, j}] }

// solve factorises a in place and turns the right side x into the solution, for the rows at
// some positions of the elimination, in order: those of others must stand by themselves, and
// theirs of x, which are left as they are, be zero.
func (s *symbolic) solve(a, x []float64, at []int32) {
	for _, k := range at {
		lo, hi := s.start[k], s.start[k+1]
		inv := 1 / a[s.diag[k]]
		a[s.diag[k]] = inv
		xk := x[s.order[k]]
		u := int(s.first[k])
		for i := lo; i < hi; i++ {
			l := a[s.lower[i]] * inv
			if l == 0 {
				u += int(hi - lo)
				continue
			}
			for j := lo; j < hi; j++ {
				at := s.update[u]
				a[at] -= float64(l * a[s.upper[j]])
				u++
			}
			x[s.rows[i]] -= float64(l * xk)
		}
	}
	for n := len(at) - 1; n >= 0; n-- {
		k := at[n]
		r := s.order[k]
		v := x[r]
		for i := s.start[k]; i < s.start[k+1]; i++ {
			v -= float64(a[s.upper[i]] * x[s.rows[i]])
		}
		x[r] = v * a[s.diag[k]]
	}
}
