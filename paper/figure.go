//go:build !js

package paper

import (
	"math"

	"headstock/card"
	"headstock/internal/drawing"
)

// How large a drawing is printed: a pixel is never more than this, mm, so that its words are
// no larger than the text around it; and its usual words never smaller than this, points.
const (
	mostPixel   = 0.2
	narrowPixel = 0.27
	leastWords  = 4.6
	usualWords  = 12.0 // px
)

// figure puts a drawing on one page whole, as large as it may be. What would be too small to
// read is not drawn; the paper says so, and the table that goes with it stands all the same.
func (l *layout) figure(f *card.Figure) {
	if f.Drawing == nil {
		return
	}
	title := l.text(0, l.width, card.None, f.Title, l.row, true)
	x, px := f.Drawing, mostPixel
	if f.Narrow != nil && mm(l.width) < 110 {
		x, px = f.Narrow, narrowPixel
	}
	room := l.bodyHeight() - title.h - 3
	px = math.Min(px, math.Min(mm(l.width)/x.Width, room/x.Height))
	if usualWords*px*72/25.4 < leastWords {
		p := piece{}
		p.put(title, 0, 0)
		p.put(l.text(0, l.width, card.Quiet, "Not drawn: it would be too small to read on this paper.", l.small, false), 0, title.h)
		l.add(atom{piece: p, before: 2})
		return
	}
	p := piece{}
	p.put(title, 0, 0)
	p.put(l.draw(x, px), 0, title.h+1)
	l.add(atom{piece: p, before: 2.5})
}

// draw is a drawing as marks of the page, px mm to its pixel. Where a mark leads does not
// matter on paper.
func (l *layout) draw(x *drawing.Drawing, px float64) piece {
	p := piece{h: x.Height * px}
	for _, m := range x.Marks {
		l.mark(&p, m, px)
	}
	return p
}

// greyOf is a tone on white paper.
func greyOf(t drawing.Tone) (grey uint8, paints bool) {
	switch t {
	case drawing.Ink, drawing.Wrong:
		return 0, true
	case drawing.Rule:
		return 110, true
	case drawing.Band:
		return 226, true
	case drawing.Paper:
		return 255, true
	}
	return 0, false
}

func (l *layout) mark(p *piece, m drawing.Mark, px float64) {
	look, _ := drawing.LookOf(m)
	o := op{dash: scaledBy(look.Dash, px)}
	fill, filled := greyOf(look.Fill)
	line, lined := greyOf(look.Stroke)
	if lined {
		o.thick, o.grey = look.Width*px, line
	}
	if filled {
		o.fill = &fill
	}
	shape := func(closed bool, xy ...drawing.Point) {
		o.kind, o.closed = opShape, closed
		o.x, o.y = xy[0].X*px, xy[0].Y*px
		for _, q := range xy {
			o.points = append(o.points, [2]float64{q.X*px - o.x, q.Y*px - o.y})
			o.w, o.h = math.Max(o.w, q.X*px-o.x), math.Max(o.h, q.Y*px-o.y)
		}
		p.ops = append(p.ops, o)
	}
	switch {
	case len(m.Line) > 0:
		shape(false, m.Line...)
	case len(m.Area) > 0:
		shape(true, m.Area...)
	case m.Box != nil:
		b := m.Box
		shape(true, drawing.Point{X: b.X, Y: b.Y}, drawing.Point{X: b.X + b.Width, Y: b.Y}, drawing.Point{X: b.X + b.Width, Y: b.Y + b.Height}, drawing.Point{X: b.X, Y: b.Y + b.Height})
	case m.Ring != nil:
		o.kind, o.x, o.y, o.w = opRing, m.Ring.X*px, m.Ring.Y*px, m.Ring.Radius*px
		p.ops = append(p.ops, o)
	case m.Words != nil:
		text := l.plain(clean(m.Words.Text))
		size := look.Size * px * 72 / 25.4
		wide := mm(l.face.width(text, size, look.Bold))
		at := m.Words.X * px
		switch look.Anchor {
		case "end":
			at -= wide
		case "middle":
			at -= wide / 2
		}
		if text != "" {
			p.ops = append(p.ops, op{kind: opClear, x: at, y: m.Words.Y * px, w: wide, text: text, size: size, bold: look.Bold, thick: 3 * px})
		}
	}
	for _, x := range m.With {
		l.mark(p, x, px)
	}
}

func scaledBy(dash []float64, px float64) []float64 {
	var out []float64
	for _, v := range dash {
		out = append(out, v*px)
	}
	return out
}

// shape draws a line or an area through points.
func (w *pen) shape(o op) {
	style := ""
	if o.fill != nil {
		w.SetFillColor(int(*o.fill), int(*o.fill), int(*o.fill))
		style = "F"
	}
	if o.thick > 0 {
		style += "D"
	}
	if style == "" {
		return
	}
	w.dashed(o, func() {
		if o.kind == opRing {
			w.Circle(o.x, o.y, o.w, style)
			return
		}
		for i, q := range o.points {
			if i == 0 {
				w.MoveTo(o.x+q[0], o.y+q[1])
			} else {
				w.LineTo(o.x+q[0], o.y+q[1])
			}
		}
		if o.closed {
			w.ClosePath()
		}
		w.DrawPath(style)
	})
}

// dashed draws with the dashes of a mark and leaves none behind.
func (w *pen) dashed(o op, draw func()) {
	w.SetLineJoinStyle("round")
	if len(o.dash) > 0 {
		w.SetDashPattern(o.dash, 0)
	}
	draw()
	if len(o.dash) > 0 {
		w.SetDashPattern([]float64{}, 0)
	}
	w.SetLineJoinStyle("miter")
}

// clear writes words that stand clear of what is behind them.
func (w *pen) clear(o op) {
	style, _ := weight(o.bold)
	w.SetFont(family, style, o.size)
	w.SetLineJoinStyle("round")
	w.SetDrawColor(255, 255, 255)
	w.SetTextRenderingMode(1)
	w.Text(o.x, o.y, o.text)
	w.SetTextRenderingMode(0)
	w.SetLineJoinStyle("miter")
	w.Text(o.x, o.y, o.text)
}
