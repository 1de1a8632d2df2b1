package paper

import (
	"fmt"
	"testing"
)

// The sheet is folded here as paper is: every panel of both sides is a point of the
// sheet with the way it faces and the way its text stands, and a fold turns one half of
// the sheet about a line by half a turn. What is then in front, behind and inside must
// be the pages in order, upright.

type face3 struct {
	page   int     // from 1; 0 is blank
	x, y   float64 // of the panel's middle, in panels, y down
	out    int     // +1 faces the reader, -1 faces away
	up     int     // -1 stands upright (y is down), +1 on its head
	behind int     // how many layers lie in front
}

// sheet3 lays a sheet with its first side toward the reader. The second side is seen
// from behind, where left and right change places.
func sheet3(n int) []*face3 {
	var out []*face3
	for _, back := range []bool{false, true} {
		for row := range 2 {
			for col := range 2 {
				f := &face3{x: float64(col) + 0.5, y: float64(row) + 0.5, out: 1, up: -1}
				if back {
					f.out = -1
					f.x = 1.5 - float64(col)
				}
				for i := range n {
					if p := panelOf(i, n); p.sheet == 0 && p.back == back && p.col == col && p.row == row {
						f.page = i + 1
						if p.turned {
							f.up = 1
						}
					}
				}
				out = append(out, f)
			}
		}
	}
	return out
}

// across folds the upper half away from the reader, behind the lower one.
func across(fs []*face3) {
	for _, f := range fs {
		if f.y < 1 {
			f.y, f.out, f.up, f.behind = 2-f.y, -f.out, -f.up, f.behind+1
		}
	}
}

// upright folds the left half away from the reader, behind the right one; the layer that
// lay in front is then the last.
func folds(fs []*face3) {
	for _, f := range fs {
		if f.x < 1 {
			f.x, f.out, f.behind = 2-f.x, -f.out, 3-f.behind
		}
	}
}

func TestFoldedPagesAreInOrder(t *testing.T) {
	for n := 1; n <= 8; n++ {
		fs := sheet3(n)
		across(fs)
		folds(fs)
		at := func(layer, out int) *face3 {
			for _, f := range fs {
				if f.behind == layer && f.out == out {
					return f
				}
			}
			t.Fatalf("no face at layer %d", layer)
			return nil
		}
		// Four layers lie on one another. The reader sees the first. It opens between the
		// second and the third: the second is then turned over to the left.
		front, left, right, last := at(0, 1), at(1, -1), at(2, 1), at(3, -1)
		want := []int{1, 2, 3, 4}
		if n > 4 {
			want[3] = 8
		}
		for i, f := range []*face3{front, left, right, last} {
			if want[i] > n {
				want[i] = 0
			}
			if f.page != want[i] || f.page > 0 && f.up != -1 {
				t.Errorf("%d pages: place %d holds page %d (up %d), want %d", n, i, f.page, f.up, want[i])
			}
		}
		// Opened whole, the second side shows the others, from left to right and from top
		// to bottom, all upright.
		if n > 4 {
			inside := ""
			for row := range 2 {
				for col := range 2 {
					for _, f := range sheet3(n) {
						if f.out == -1 && f.y == float64(row)+0.5 && f.x == 1.5-float64(col) {
							inside += fmt.Sprint(f.page)
							if f.up != -1 {
								t.Errorf("page %d stands on its head", f.page)
							}
						}
					}
				}
			}
			if want := "4567"[:min(n-3, 4)] + "000"[:7-min(n, 7)]; inside != want {
				t.Errorf("%d pages: inside %s, want %s", n, inside, want)
			}
		}
	}
}

// However many pages: each has a panel of its own, and a second sheet begins again.
func TestEveryPageHasAPanel(t *testing.T) {
	for n := 1; n <= 40; n++ {
		seen := map[panel]int{}
		for i := range n {
			p := panelOf(i, n)
			p.turned = false
			if other, twice := seen[p]; twice {
				t.Fatalf("pages %d and %d of %d share a panel", other+1, i+1, n)
			}
			seen[p] = i
			if p.sheet != i/8 || p.col < 0 || p.col > 1 || p.row < 0 || p.row > 1 {
				t.Errorf("page %d of %d: %+v", i+1, n, p)
			}
		}
	}
}
