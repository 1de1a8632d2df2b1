package card

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"headstock/consist"
	"headstock/fleet"
	"headstock/internal/drawing"
)

// The scale and the measures of the string, CSS pixels. Bodies are to scale along the
// train; the joints are drawn out, since a hose could not be seen otherwise.
const (
	stringScale = 5.0 // a metre
	stringWidth = 328.0
	bodyLeft    = 48.0
	bodyWidth   = 146.0
	jointHeight = 76.0
	breakHeight = 34.0
)

// laneOf is where a pipe runs on the drawing of the string, from the left, by its place in
// the list of pipes.
func laneOf(pipe string) float64 {
	return bodyLeft + 25 + 32*float64(slices.Index(fleet.Pipes(), pipe))
}

// letterOf is a pipe in a letter or two.
func letterOf(pipe string) string {
	return [...]string{"BP", "MR", "3", "4", "?"}[slices.Index(append(fleet.Pipes(), pipe), pipe)]
}

// StringDrawing draws a consist from the front down, to scale along it, with every
// headstock: which pipe meets which, and whether it is coupled, on its dummy, hanging open,
// blanked or crossed. Wagons in a row whose joints stand alike are drawn once, first and
// last, with a break.
func StringDrawing(c *consist.Consist) *drawing.Drawing {
	d := &drawing.Drawing{Width: stringWidth, ID: "string", Title: "The string, front first: " + c.String()}
	d.Says = "Each headstock with its pipes, from the left: brake pipe, main reservoir pipe, third pipe, fourth pipe. The tables of hoses say the same in words."
	y := 22.0
	for _, p := range fleet.Pipes() {
		d.Words("small mid", laneOf(p), y-6, letterOf(p))
	}
	y += 4
	n := len(c.Vehicles)
	for i := 0; i < n; i++ {
		v := c.Vehicles[i]
		if i == 0 {
			y = half(d, c, 0, v.Front(), y, true)
		}
		k := i
		for k+1 < n && next(c, k) && v.Load == c.Vehicles[k+1].Load && v.Reversed == c.Vehicles[k+1].Reversed && sameJoints(c, i, k) {
			k++
		}
		y = body(d, c, i, y)
		if k-i >= 2 {
			d.Line("thin", bodyLeft+bodyWidth/2, y, bodyLeft+bodyWidth/2, y+breakHeight)
			d.Words("small", bodyLeft+bodyWidth/2+6, y+breakHeight/2+4, fmt.Sprintf("%d more, each joint alike", k-i-1))
			y += breakHeight
			i = k
			y = body(d, c, i, y)
		}
		if i+1 < n {
			y = joint(d, c, i, y)
		} else {
			y = half(d, c, i, c.Vehicles[i].Rear(), y, false)
		}
	}
	d.Words("small", 4, y+18, "Bodies "+strconv.FormatFloat(stringScale, 'f', -1, 64)+" px to the metre; joints drawn out.")
	y += 30
	legend(d, y)
	d.Height = y + 70
	return d
}

// sameJoints reports whether the joints from a wagon on stand alike up to and with the one
// behind k.
func sameJoints(c *consist.Consist, from, k int) bool {
	for _, p := range fleet.Pipes() {
		for side := range 2 {
			a, ea := c.Side(from, side)
			b, eb := c.Side(k, side)
			if stateAt(c, a, ea, p) != stateAt(c, b, eb, p) {
				return false
			}
		}
	}
	return true
}

// stateAt is how a pipe stands at a headstock: hose and cock, "" where there is none.
func stateAt(c *consist.Consist, i, end int, pipe string) string {
	v := c.Vehicles[i]
	for _, pe := range v.Class.Ends[end-1].Pipes {
		if pe.Pipe != pipe || pe.Optional && !v.Unit.Has(v.Class, pipe) {
			continue
		}
		hose, _ := c.Position(i, pe.Hose)
		cock, _ := c.Position(i, pe.Cock)
		if x, ok := v.Class.Device(pe.Hose); ok {
			if how, _ := v.Unit.Fitted(x); how == "blanked" {
				hose = "blanked"
			}
		}
		return hose + "/" + cock
	}
	return ""
}

// body draws a vehicle to scale; one whose length the record does not state is drawn short
// and says so.
func body(d *drawing.Drawing, c *consist.Consist, i int, y float64) float64 {
	v := c.Vehicles[i]
	long, note := v.Class.Length*stringScale, ""
	if long == 0 {
		long, note = 46, "length not known"
	}
	long = max(long, 46)
	d.Box("body", bodyLeft, y, bodyWidth, long)
	for _, p := range fleet.Pipes() {
		if a, b := stateAt(c, i, 1, p), stateAt(c, i, 2, p); a != "" && b != "" {
			d.Line("thin", laneOf(p), y, laneOf(p), y+long)
		}
	}
	mid := y + long/2
	d.Box("hollow", bodyLeft+4, mid-19, bodyWidth-8, 38)
	d.Words("bold mid", bodyLeft+bodyWidth/2, mid-2, v.Name())
	role := v.RoleName()
	if !v.Locomotive() {
		role = v.Load
	}
	d.Words("small mid", bodyLeft+bodyWidth/2, mid+14, strings.TrimSpace(role))
	if note != "" {
		d.Words("small mid", bodyLeft+bodyWidth/2, y+long-6, note)
	}
	d.Words("small end", bodyLeft-6, y+12, "end "+strconv.Itoa(v.Front()))
	d.Words("small end", bodyLeft-6, y+long-3, "end "+strconv.Itoa(v.Rear()))
	return y + long
}

// joint draws what meets between vehicle i and the one behind it.
func joint(d *drawing.Drawing, c *consist.Consist, i int, y float64) float64 {
	a, ea := c.Side(i, 0)
	b, eb := c.Side(i, 1)
	mid := y + jointHeight/2
	open := 0
	for _, p := range fleet.Pipes() {
		x := laneOf(p)
		up, down := stateAt(c, a, ea, p), stateAt(c, b, eb, p)
		hose(d, x, y, up, 1)
		hose(d, x, y+jointHeight, down, -1)
		if strings.HasPrefix(up, "coupled") && strings.HasPrefix(down, "coupled") {
			d.Line("pipe", x, mid-10, x, mid+10)
			if strings.HasSuffix(up, "open") && strings.HasSuffix(down, "open") {
				open++
			}
		}
		if strings.HasPrefix(up, "crossed") || strings.HasPrefix(down, "crossed") {
			d.Line("wrong", x-12, mid-10, x+12, mid+10)
		}
	}
	d.Words("small", bodyLeft+bodyWidth+8, mid-4, fmt.Sprintf("joint %d", i+1))
	d.Words("small", bodyLeft+bodyWidth+8, mid+12, fmt.Sprintf("%d open through", open))
	return y + jointHeight
}

// half draws an outer end.
func half(d *drawing.Drawing, c *consist.Consist, i, end int, y float64, front bool) float64 {
	const high = 34
	for _, p := range fleet.Pipes() {
		s := stateAt(c, i, end, p)
		if front {
			hose(d, laneOf(p), y+high, s, -1)
		} else {
			hose(d, laneOf(p), y, s, 1)
		}
	}
	where := "rear end"
	if front {
		where = "front end"
	}
	d.Words("small", bodyLeft+bodyWidth+8, y+high/2+4, where)
	return y + high
}

// hose draws the cock of a pipe at a headstock and what its hose does: down the sheet with
// way 1, up with -1. A cock is two triangles, hollow when it is open and filled when it is
// shut; a dummy is a filled square at a hook, a hanging hose an arrow, a blanked pipe a bar.
func hose(d *drawing.Drawing, x, y float64, state string, way float64) {
	if state == "" {
		return
	}
	how, cock, _ := strings.Cut(state, "/")
	if how == "blanked" {
		d.Line("pipe", x, y, x, y+way*8)
		d.Line("pipe", x-9, y+way*8, x+9, y+way*8)
		return
	}
	fill := "hollow"
	if cock != "open" {
		fill = "solid"
	}
	d.Area(fill, x-7, y+way*3, x+7, y+way*3, x, y+way*11)
	d.Area(fill, x-7, y+way*19, x+7, y+way*19, x, y+way*11)
	end := y + way*19
	switch how {
	case "coupled", "crossed":
		d.Line("pipe", x, end, x, end+way*10)
	case "on dummy":
		d.Line("line", x, end, x, end+way*6, x+9, end+way*6)
		d.Box("solid", x+7, end+way*6-4, 8, 8)
	default: // hanging
		d.Line("pipe", x, end, x, end+way*6)
		d.Area("wrong", x-6, end+way*5, x+6, end+way*5, x, end+way*13)
	}
}

// legend says what the signs mean.
func legend(d *drawing.Drawing, y float64) {
	at := func(x, row float64, state, text string) {
		hose(d, x+10, y+row, state, 1)
		d.Words("small", x+30, y+row+18, text)
	}
	at(4, 0, "coupled/open", "coupled, cock open")
	at(176, 0, "coupled/closed", "cock shut")
	at(4, 34, "on dummy/closed", "on its dummy")
	at(176, 34, "blanked/", "blanked")
}

// standRadius is that of a numbered stand on the drawing of a class, and standGap the least
// distance between two.
const (
	standRadius = 13.0
	standGap    = 29.0
)

// stood is a stand with its number.
type stood struct {
	number int
	place  fleet.Place
}

// ClassDrawing is the side elevation and the plan of a class with its stands numbered: to(n)
// is where stand n leads. Headstock 1 is at the left, so the side that is seen is the right
// one, and in plan the right side lies below. With a shape in the record the outlines, the
// wheels and the heights of the stands are drawn from it, all to one scale; without one the
// body is a box, and the drawing says so.
func ClassDrawing(c *fleet.Class, stands []fleet.Place, to func(n int) string) *drawing.Drawing {
	const left, wide = 20.0, 680.0
	long, says := c.Length, ""
	for _, p := range stands {
		long = max(long, p.X)
	}
	if long == 0 {
		return nil
	}
	if c.Length == 0 {
		says = " The record states no length; the drawing is as long as its stands are apart."
	}
	scale := wide / long
	x := func(m float64) float64 { return left + m*scale }
	d := &drawing.Drawing{Width: wide + 2*left, ID: "class", Title: "Class " + c.Name + ", side and plan, with its stands",
		Says: "Headstock 1 is at the left, the right side of the vehicle toward you. The list of stands below says the same in words." + says}
	shape := c.Shape
	if shape == nil {
		shape = boxed(c, long, stands)
	}
	var up, down, leftward, middle, rightward []stood
	for n, p := range stands {
		s := stood{n + 1, p}
		if h := height(shape, p); h > 0.8 {
			up = append(up, s)
		} else {
			down = append(down, s)
		}
		switch sideOf(p.Side) {
		case "left":
			leftward = append(leftward, s)
		case "right":
			rightward = append(rightward, s)
		default:
			middle = append(middle, s)
		}
	}
	v := elevation{d: d, x: x, to: to, low: left, high: left + wide}
	top := 0.0
	for _, o := range shape.Side {
		for _, p := range o.Points {
			top = max(top, p[1])
		}
	}

	y := 10.0
	d.Words("bold", left, y+12, "Side, from the right")
	y += 24
	rows := v.rows(up)
	rail := y + float64(len(rows))*standGap + 10 + top*scale
	h := func(m float64) float64 { return rail - m*scale }
	for _, o := range shape.Side {
		v.outline(o, x, h)
	}
	v.wheels(c, shape, rail, scale)
	v.call(rows, y+float64(len(rows))*standGap-standGap/2, -standGap, func(s stood) float64 { return h(height(shape, s.place)) }, true)
	rows = v.rows(down)
	y = rail + 18
	v.call(rows, y+standGap/2, standGap, func(stood) float64 { return rail + 4 }, true)
	y += float64(len(rows))*standGap + 4
	d.Words("small", left, y+12, "A broken ring stands on the far side, the left.")
	y += 30

	d.Words("bold", left, y+12, "Plan, from above")
	d.Words("small", left+wide/2, y+12, "left side above, right side below")
	y += 24
	half := 0.0
	for _, o := range shape.Plan {
		for _, p := range o.Points {
			half = max(half, math.Abs(p[1]))
		}
	}
	rows = v.rows(leftward)
	centre := y + float64(len(rows))*standGap + 14 + half*scale
	across := func(m float64) float64 { return centre + m*scale }
	for _, o := range shape.Plan {
		v.outline(o, x, across)
	}
	// one who stands on the ground stands beside it
	beside := func(s stood) float64 {
		if height(shape, s.place) > 0.8 {
			return half * 0.62
		}
		return half + 4/scale
	}
	v.call(rows, y+float64(len(rows))*standGap-standGap/2, -standGap, func(s stood) float64 { return across(-beside(s)) }, false)
	inside := v.rows(middle)
	for k, row := range inside {
		at := centre + float64((k+1)/2)*standGap*[]float64{1, -1}[k%2]
		for _, s := range row {
			v.ring(s, v.at(s), at, false)
		}
	}
	rows = v.rows(rightward)
	y = centre + max(half*scale, float64(len(inside)/2)*standGap+standRadius) + 14
	v.call(rows, y+standGap/2, standGap, func(s stood) float64 { return across(beside(s)) }, false)
	y += float64(len(rows))*standGap + 4
	d.Words("small", left, y+14, "headstock 1")
	d.Words("small end", left+wide, y+14, "headstock 2")
	says = fmt.Sprintf("%.4g m over couplers, to scale; outlines of the record, no loading gauge.", long)
	switch {
	case c.Length == 0:
		says = "The record states no length: as long as its stands are apart."
	case c.Shape == nil:
		says = fmt.Sprintf("%.4g m over couplers, to scale along it; the body is a box, since the record holds no shape.", long)
	}
	d.Words("small", left, y+34, says)
	d.Height = y + 46
	return d
}

// boxed stands in for a shape that the record does not hold: a box as long as the vehicle,
// and heights by what the levels of the places are called.
func boxed(c *fleet.Class, long float64, stands []fleet.Place) *fleet.Shape {
	s := &fleet.Shape{
		Side: []fleet.Outline{{Name: "body", Points: [][2]float64{{0, 1}, {0, 3.4}, {long, 3.4}, {long, 1}}}},
		Plan: []fleet.Outline{{Name: "body", Points: [][2]float64{{0, -1.3}, {long, -1.3}, {long, 1.3}, {0, 1.3}}}},
	}
	for _, p := range stands {
		l, above := strings.ToLower(p.Level), 1.4
		switch {
		case strings.Contains(l, "roof"):
			above = 3.4
		case strings.Contains(l, "rail"), strings.Contains(l, "ground"), strings.Contains(l, "under"), strings.Contains(l, "pit"), l == "":
			above = 0
		}
		s.Levels = append(s.Levels, fleet.Height{Level: p.Level, Above: above})
	}
	return s
}

// height is how high a stand is above rail, m; on the ground where its level has no height.
func height(s *fleet.Shape, p fleet.Place) float64 {
	above, _ := s.Above(p.Level)
	return above
}

func sideOf(side string) string {
	if side == "left" || side == "right" {
		return side
	}
	return "centre"
}

// elevation draws one class.
type elevation struct {
	d         *drawing.Drawing
	x         func(m float64) float64
	to        func(n int) string
	low, high float64 // between which a ring may stand
}

// outline draws a closed shape of the record.
func (v elevation) outline(o fleet.Outline, x, y func(m float64) float64) {
	var xy []float64
	for _, p := range o.Points {
		xy = append(xy, x(p[0]), y(p[1]))
	}
	v.d.Area("body", xy...)
}

// at is where along the drawing a stand is.
func (v elevation) at(s stood) float64 {
	return min(max(v.x(s.place.X), v.low+standRadius), v.high-standRadius)
}

// rows puts stands at where they are along the vehicle, each clear of the others: in further
// rows where they would touch.
func (v elevation) rows(stands []stood) [][]stood {
	var out [][]stood
	for _, s := range stands {
		k := 0
		for ; k < len(out); k++ {
			if !slices.ContainsFunc(out[k], func(o stood) bool { return math.Abs(v.at(o)-v.at(s)) < standGap }) {
				break
			}
		}
		if k == len(out) {
			out = append(out, nil)
		}
		out[k] = append(out[k], s)
	}
	return out
}

// call lays rows of rings down from y on, each ring with a line to the point that it names.
func (v elevation) call(rows [][]stood, y, step float64, point func(stood) float64, side bool) {
	for k, row := range rows {
		for _, s := range row {
			at, end := v.at(s), point(s)
			v.d.Line("thin", at, y+float64(k)*step, at, end)
			v.d.Ring("solid", at, end, 2.5)
		}
	}
	for k, row := range rows {
		for _, s := range row {
			v.ring(s, v.at(s), y+float64(k)*step, side && sideOf(s.place.Side) == "left")
		}
	}
}

// ring is a numbered stand, broken where it is on the side that is not seen.
func (v elevation) ring(s stood, x, y float64, far bool) {
	class := "mark"
	if far {
		class = "mark far"
	}
	v.d.Add(drawing.Mark{Class: class, To: v.to(s.number), Name: fmt.Sprintf("Stand %d, %s", s.number, s.place.Name), Ring: &drawing.Ring{X: x, Y: y, Radius: standRadius},
		With: []drawing.Mark{{Class: "number", Words: &drawing.Words{X: x, Y: y + 4.5, Text: strconv.Itoa(s.number)}}}})
}

// wheels draws the rail and what the record places on it: its wheels, else the pivot of each
// bogie, or the outer wheels of a vehicle without bogies. A wheel that the record does not
// place is not drawn.
func (v elevation) wheels(c *fleet.Class, s *fleet.Shape, rail, scale float64) {
	v.d.Line("rail", v.x(0)-10, rail, v.x(max(c.Length, 1))+10, rail)
	if len(s.Wheels) > 0 && s.Diameter > 0 {
		for _, w := range s.Wheels {
			v.d.Ring("wheel", v.x(w), rail-s.Diameter/2*scale, s.Diameter/2*scale)
			v.d.Ring("solid", v.x(w), rail-s.Diameter/2*scale, 2)
		}
		return
	}
	fact := func(name string) (float64, bool) {
		f, ok := c.Fact(name)
		if !ok || f.Figure == nil || c.Length == 0 {
			return 0, false
		}
		return f.Figure.SI, true
	}
	const radius = 12.0
	if apart, ok := fact("bogie centres"); ok {
		for _, m := range []float64{(c.Length - apart) / 2, (c.Length + apart) / 2} {
			v.d.Area("hollow", v.x(m)-9, rail, v.x(m)+9, rail, v.x(m), rail-22)
		}
		return
	}
	if base, ok := fact("wheelbase"); ok {
		for _, m := range []float64{(c.Length - base) / 2, (c.Length + base) / 2} {
			v.d.Ring("wheel", v.x(m), rail-radius-1, radius)
		}
	}
}
