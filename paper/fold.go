//go:build !js

package paper

import "codeberg.org/go-pdf/fpdf"

// A pocket card is a sheet of A4 folded twice: first across, with the print outside, then
// upright, with page 1 outside. Folded it is a booklet of four pages of A6: 1 in front, 2
// and 3 where it opens, 4 behind. Printed on both sides (turned over the long edge) it
// has eight: 8 is behind, and unfolded whole it shows 4 to 7. Nothing is cut and nothing
// is stapled. A longer document goes on a second sheet, folded by itself.

// panel is where a page stands on its sheet, seen with the sheet upright.
type panel struct {
	sheet    int  // from 0
	back     bool // on the second side
	col, row int  // 0 or 1, from the left and from the top
	turned   bool // stands on its head
}

// panelOf is where page i of n stands, both counted from 0 and 1.
func panelOf(i, n int) panel {
	p := panel{sheet: i / 8}
	onSheet := min(n-p.sheet*8, 8)
	i %= 8
	behind := 7
	if onSheet <= 4 {
		behind = 3
	}
	switch i {
	case 0:
		p.col, p.row = 1, 1
	case 1:
		p.col, p.row, p.turned = 1, 0, true
	case 2:
		p.col, p.row, p.turned = 0, 0, true
	case behind:
		p.col, p.row = 0, 1
	default: // 4 to 7 inside
		p.back = true
		p.col, p.row = (i-3)%2, (i-3)/2
	}
	return p
}

// folded draws pages as panels, with the folds.
func (w *pen) folded(p *printed) {
	n := len(p.pages)
	for sheet := 0; sheet*8 < n; sheet++ {
		for _, back := range []bool{false, true} {
			if back && n-sheet*8 <= 4 && (sheet+1)*8 >= n {
				continue // one side is enough
			}
			w.AddPageFormat("P", fpdf.SizeType{Wd: 2 * p.w, Ht: 2 * p.h})
			w.folds(p.form, back, n-sheet*8 > 4)
			for i, ops := range p.pages {
				at := panelOf(i, n)
				if at.sheet != sheet || at.back != back {
					continue
				}
				x, y := float64(at.col)*p.w, float64(at.row)*p.h
				w.TransformBegin()
				w.TransformTranslate(x, y)
				if at.turned {
					w.TransformRotate(180, p.w/2, p.h/2)
				}
				w.draw(ops, p.form)
				w.TransformEnd()
			}
		}
	}
}

// folds marks both folds and says what is done at them.
func (w *pen) folds(f form, back, both bool) {
	w.SetDrawColor(120, 120, 120)
	w.SetTextColor(60, 60, 60)
	w.SetLineWidth(0.15)
	w.SetDashPattern([]float64{1.2, 1.8}, 0)
	w.Line(0, f.h, 2*f.w, f.h)
	w.Line(f.w, 0, f.w, 2*f.h)
	w.SetDashPattern([]float64{}, 0)
	if back {
		return
	}
	w.SetFont(family, "", 5.6)
	w.Text(f.side, f.h-1, "first fold: along this line, print outside")
	w.Text(f.w+1.2, 2*f.h-3, "second fold: along this line, page 1 outside")
	if both {
		w.Text(f.side, 2*f.h-3, "print on both sides, turned over the long edge")
	}
}
