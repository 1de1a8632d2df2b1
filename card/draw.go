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

// ClassDrawing is the side elevation and the plan of a class, seen from its left side with
// headstock 1 at the left, with its stands numbered: to(n) is where stand n leads. It is
// drawn from the length, the bogie pivots or the wheelbase, and where the stands are; a
// record holds no outline of the body, and the drawing says so.
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
		Says: "Headstock 1 is at the left, the left side of the vehicle toward you. The list of stands below says the same in words." + says}
	levels := []string{"roof", "cab", "body", "rail", "under"}
	rows := make([][]stood, len(levels))
	for n, p := range stands {
		k := slices.Index(levels, levelOf(p.Level))
		rows[k] = append(rows[k], stood{n + 1, p})
	}
	y := 10.0
	d.Words("bold", left, y+12, "Side")
	y += 26
	top := y
	var roof, floor float64
	for k, row := range rows {
		if len(row) == 0 && k != 2 && k != 3 {
			continue
		}
		high := spread(d, row, y, x, to, left, left+wide)
		switch k {
		case 0:
			roof = y + high
		case 2:
			floor = y + high
		}
		y += high
		if k == 3 {
			wheels(d, c, x, y)
			y += 34
		}
	}
	if roof == 0 {
		roof = top - 4
	}
	body := drawing.Mark{Class: "body", Box: &drawing.Box{X: x(0), Y: roof, Width: x(long) - x(0), Height: floor - roof}}
	d.Marks = slices.Insert(d.Marks, 1, body)
	y += 14
	d.Words("bold", left, y+12, "Plan")
	y += 24
	sides := []string{"right", "centre", "left"}
	planTop := y
	var marks []drawing.Mark
	at := len(d.Marks)
	for _, side := range sides {
		var row []stood
		for n, p := range stands {
			if sideOf(p.Side) == side {
				row = append(row, stood{n + 1, p})
			}
		}
		said := side
		if side != "centre" {
			said += " side"
		}
		d.Words("small", left+6, y+14, said)
		y += 16
		y += spread(d, row, y, x, to, left, left+wide)
	}
	marks = append(marks, drawing.Mark{Class: "body", Box: &drawing.Box{X: x(0), Y: planTop, Width: x(long) - x(0), Height: y - planTop}})
	d.Marks = slices.Insert(d.Marks, at, marks...)
	d.Words("small", left, y+18, "headstock 1")
	d.Words("small end", left+wide, y+18, "headstock 2")
	outline := fmt.Sprintf("%.4g m over couplers, to scale along it; the body is a box, since the record holds no outline.", long)
	if c.Length == 0 {
		outline = "The record states no length: as long as its stands are apart."
	}
	d.Words("small", left, y+38, outline)
	d.Height = y + 50
	return d
}

// stood is a stand with its number.
type stood struct {
	number int
	place  fleet.Place
}

// levelOf puts a level of the record into one of the rows of the side view.
func levelOf(level string) string {
	l := strings.ToLower(level)
	switch {
	case strings.Contains(l, "roof"):
		return "roof"
	case strings.Contains(l, "cab"):
		return "cab"
	case strings.Contains(l, "under"), strings.Contains(l, "pit"):
		return "under"
	case strings.Contains(l, "rail"), strings.Contains(l, "ground"):
		return "rail"
	}
	return "body"
}

func sideOf(side string) string {
	if side == "left" || side == "right" {
		return side
	}
	return "centre"
}

// spread lays stands down at where they are along the vehicle, each clear of the others: in
// further lines where they would touch. It gives the height that it took.
func spread(d *drawing.Drawing, row []stood, y float64, x func(float64) float64, to func(int) string, low, high float64) float64 {
	var lines [][]float64
	for _, s := range row {
		at := min(max(x(s.place.X), low+standRadius), high-standRadius)
		k := 0
		for ; k < len(lines); k++ {
			if !slices.ContainsFunc(lines[k], func(o float64) bool { return math.Abs(o-at) < standGap }) {
				break
			}
		}
		if k == len(lines) {
			lines = append(lines, nil)
		}
		lines[k] = append(lines[k], at)
		cy := y + standGap/2 + 2 + float64(k)*standGap
		d.Add(drawing.Mark{Class: "mark", To: to(s.number), Name: fmt.Sprintf("Stand %d, %s", s.number, s.place.Name), Ring: &drawing.Ring{X: at, Y: cy, Radius: standRadius},
			With: []drawing.Mark{{Class: "number", Words: &drawing.Words{X: at, Y: cy + 4.5, Text: strconv.Itoa(s.number)}}}})
	}
	return max(1, float64(len(lines)))*standGap + 6
}

// wheels draws the rail and what the record places on it: the pivot of each bogie, or the
// outer wheels of a vehicle without bogies. A wheel that the record does not place is not
// drawn.
func wheels(d *drawing.Drawing, c *fleet.Class, x func(float64) float64, y float64) {
	const radius, rail = 12.0, 28.0
	d.Line("rail", x(0)-10, y+rail, x(c.Length)+10, y+rail)
	pair := func(name string) (float64, bool) {
		f, ok := c.Fact(name)
		if !ok || f.Figure == nil || c.Length == 0 {
			return 0, false
		}
		return f.Figure.SI, true
	}
	if apart, ok := pair("bogie centres"); ok {
		for _, m := range []float64{(c.Length - apart) / 2, (c.Length + apart) / 2} {
			d.Area("hollow", x(m)-9, y+rail, x(m)+9, y+rail, x(m), y+6)
		}
		return
	}
	if base, ok := pair("wheelbase"); ok {
		for _, m := range []float64{(c.Length - base) / 2, (c.Length + base) / 2} {
			d.Ring("wheel", x(m), y+rail-radius-1, radius)
		}
	}
}
