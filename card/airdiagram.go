package card

import (
	"math"
	"slices"
	"strings"

	"headstock/fleet"
	"headstock/internal/drawing"
)

// The air diagram stands in cells: in each an element with its symbol at the left and its
// words to the right of it. Lines run in lanes between them. An element that the record
// gives no cell is placed by how many elements lie between it and where the air comes from.
const (
	cellWide, cellHigh = 187, 88
	lane               = 11 // between two lanes; a cell is a whole number of them
	symbolX, symbolY   = 33, 33
)

// AirState is how the air stands on a diagram.
type AirState struct {
	Position func(device string) string          // where a device stands; "" where that is not known
	Pressure func(element string) (string, bool) // what an element stands at, in words
	Title    string                              // of what and when
}

// open says in a word how an element stands, and whether air can pass: "open", "shut", or
// "" where it has no condition or one that hangs on the air itself.
func (s AirState) open(c *fleet.Class, e *fleet.Element) (word string, by []string) {
	holds := func(w fleet.When) (bool, bool) {
		if len(w) == 0 {
			return false, false
		}
		all := true
		for _, alt := range w {
			good := true
			for _, t := range alt {
				if _, ok := c.Device(t.Of); !ok {
					all = false
					good = false
					continue
				}
				at := s.Position(t.Of)
				if at == "" {
					all = false
				}
				good = good && slices.Contains(t.In, at)
			}
			if good {
				return true, true
			}
		}
		return false, all
	}
	for _, a := range e.Args {
		for _, alt := range a.When {
			for _, t := range alt {
				if d, ok := c.Device(t.Of); ok && s.Position(t.Of) != "" {
					by = append(by, d.Name+" "+s.Position(t.Of))
				}
			}
		}
	}
	if a, ok := e.Arg("when"); ok {
		yes, known := holds(a.When)
		switch {
		case yes:
			word = "open"
		case known:
			word = "shut"
		}
	}
	if a, ok := e.Arg("unless"); ok {
		if yes, known := holds(a.When); yes {
			word = "shut"
		} else if known && word == "" {
			word = "open"
		}
	}
	return word, by
}

// port is where an element is joined to a node.
type port struct {
	name, node string
}

// portsOf are the nodes that an element names, in the order of its kind.
func portsOf(e *fleet.Element) []port {
	var out []port
	spec, _ := fleet.Kind(e.Kind)
	for _, a := range spec.Args {
		if a.Kind == fleet.ArgNode {
			if t := e.Text(a.Name); t != "" {
				out = append(out, port{a.Name, t})
			}
		}
	}
	return out
}

// side is where a port stands on a symbol: 0 above, 1 below, 2 left, 3 right.
func (p port) side() int {
	switch p.name {
	case "from", "supply", "pipe", "on", "a":
		return 0
	case "to", "output", "cylinder":
		return 1
	case "control", "pilot", "watches", "auxiliary", "b", "governor watches", "control reservoir":
		return 2
	}
	return 3
}

// AirDiagram draws the air of a class with symbols in the manner of ISO 1219-1: states are
// told by the form of a line or a filled cock, by words and by numbers. It gives the same as
// a table.
func AirDiagram(c *fleet.Class, u *fleet.Unit, s AirState) (*drawing.Drawing, *Document) {
	d := &Document{Title: "Air diagram", Subtitle: strings.TrimSuffix(nameOf(c, u)+", "+s.Title, ", ")}
	defer d.rests(c)
	var es []*fleet.Element
	for _, e := range c.Air {
		spec, _ := fleet.Kind(e.Kind)
		if u != nil && (slices.Contains(u.Without, e.ID) || e.OnlyWith != "" && !u.Has(c, e.OnlyWith) || e.OnlyWithout != "" && u.Has(c, e.OnlyWithout)) {
			continue
		}
		if spec.Node || len(portsOf(e)) > 0 {
			es = append(es, e)
		}
	}
	if len(es) == 0 {
		d.Verdict = &Verdict{Mark: Unknown, Text: "Cannot say: the record of class " + c.Name + " holds no air."}
		return nil, d
	}
	t := Table{Caption: "The same in words", Columns: []Column{{Title: "element"}, {Title: "what it is"}, {Title: "joins"}, {Title: "stands"}, {Title: "because"}, {Title: "at", Align: Right}}}
	g := newGrid(c, es)
	for _, e := range es {
		var joins []string
		for _, p := range portsOf(e) {
			joins = append(joins, p.name+" "+say(p.node))
		}
		word, by := s.open(c, e)
		at, _ := s.Pressure(e.ID)
		t.Rows = append(t.Rows, []Cell{Text(say(e.ID)), Text(e.Kind), Text(strings.Join(joins, ", ")), Text(inUse(e, word)), Text(strings.Join(by, ", ")), Text(at)})
	}
	d.Table(t)
	x := &drawing.Drawing{ID: "air", Title: "Air of " + nameOf(c, u), Says: "Each element with its symbol; the table below says the same in words."}
	x.Width, x.Height = float64(g.columns*cellWide)+20, float64(g.rows*cellHigh)+60
	g.lines(x, c, s)
	x.Words("small", 10, x.Height-34, "Filled cock and broken line: shut or cut off. Hollow cock: open. A dot joins lines; lines that cross without one are not joined.")
	x.Words("small", 10, x.Height-18, "Hollow triangle: to the air. Bold words and figures: how it stands, and the pressure. Not to scale.")
	for i, e := range es {
		word, by := s.open(c, e)
		at, _ := s.Pressure(e.ID)
		left, top := g.corner(i)
		symbol(x, e, left+symbolX, top+symbolY, word)
		y := top + 27
		for _, l := range append(cut(say(e.ID), 19, 2), "") {
			if l != "" {
				x.Words("small", left+58, y, l)
				y += 13
			}
		}
		told := strings.TrimSpace(inUse(e, word) + " " + at)
		if told != "" {
			x.Words("small told", left+58, y, told)
			y += 13
		}
		if word != "" && len(by) > 0 && y < top+72 {
			x.Words("small", left+58, y, cut(by[0], 19, 1)[0])
		}
	}
	return x, d
}

// inUse is how an element stands, in the word for its kind.
func inUse(e *fleet.Element, word string) string {
	words := map[string][2]string{"passage": {"open", "shut"}, "check": {"open", "shut"}, "compressor": {"driven", "not driven"}, "retainer": {"holds", "open"}}[e.Kind]
	if words[0] == "" {
		words = [2]string{"works", "cut off"}
	}
	switch word {
	case "open":
		return words[0]
	case "shut":
		return words[1]
	}
	return ""
}

// say is an id as words.
func say(id string) string { return strings.ReplaceAll(id, "-", " ") }

// cut breaks words into at most so many lines of so many letters.
func cut(text string, long, lines int) []string {
	var out []string
	line := ""
	for _, w := range strings.Fields(text) {
		if line != "" && len([]rune(line))+1+len([]rune(w)) > long {
			out = append(out, line)
			line = ""
		}
		line = strings.TrimSpace(line + " " + w)
	}
	out = append(out, line)
	if len(out) > lines {
		out = out[:lines]
		out[lines-1] += "…"
	}
	return out
}

// grid is where elements stand.
type grid struct {
	es            []*fleet.Element
	at            [][2]int // column and row of each, from 0
	columns, rows int
	index         map[string]int
}

// newGrid places elements: those of the record's own cells first, the others in the row of
// their distance from where the air comes from, near the elements of the row above that they
// are joined to.
func newGrid(c *fleet.Class, es []*fleet.Element) *grid {
	g := &grid{es: es, at: make([][2]int, len(es)), index: map[string]int{}}
	for i, e := range es {
		g.index[e.ID] = i
		g.at[i] = [2]int{-1, -1}
	}
	next := make([][]int, len(es))
	for i, e := range es {
		for _, p := range portsOf(e) {
			if k, ok := g.index[p.node]; ok {
				next[i] = append(next[i], k)
				next[k] = append(next[k], i)
			}
		}
	}
	taken := map[[2]int]bool{}
	put := func(i, column, row int) {
		g.at[i] = [2]int{column, row}
		taken[g.at[i]] = true
		g.columns, g.rows = max(g.columns, column+1), max(g.rows, row+1)
	}
	for i, e := range es {
		if x, ok := c.Cell(e.ID); ok {
			put(i, x.Column-1, x.Row-1)
		}
	}
	// distances, from the compressors, then from whatever they do not reach
	far := make([]int, len(es))
	for i := range far {
		far[i] = -1
	}
	var queue []int
	spread := func() {
		for len(queue) > 0 {
			i := queue[0]
			queue = queue[1:]
			for _, k := range next[i] {
				if far[k] < 0 {
					far[k] = far[i] + 1
					queue = append(queue, k)
				}
			}
		}
	}
	for i, e := range es {
		if e.Kind == "compressor" {
			far[i] = 0
			queue = append(queue, i)
		}
	}
	spread()
	for i := range es {
		if far[i] < 0 {
			far[i] = 0
			queue = append(queue, i)
			spread()
		}
	}
	const widest = 7
	row := 0
	for level := 0; level <= slices.Max(far); level++ {
		var here []int
		for i := range es {
			if far[i] == level && g.at[i][0] < 0 {
				here = append(here, i)
			}
		}
		if len(here) == 0 {
			continue
		}
		want := map[int]float64{}
		for _, i := range here {
			n := 0.0
			for _, k := range next[i] {
				if g.at[k][0] >= 0 {
					want[i] += float64(g.at[k][0])
					n++
				}
			}
			if n > 0 {
				want[i] /= n
			} else {
				want[i] = widest / 2
			}
		}
		slices.SortStableFunc(here, func(a, b int) int {
			switch {
			case want[a] < want[b]:
				return -1
			case want[a] > want[b]:
				return 1
			}
			return 0
		})
		// a row that is too full goes on in the next
		for from := 0; from < len(here); from += widest {
			part := here[from:min(from+widest, len(here))]
			last := -1
			for k, i := range part {
				column := max(int(math.Floor(want[i]+0.5)), last+1)
				column = min(column, widest-len(part)+k)
				for taken[[2]int{column, row}] {
					column++
				}
				put(i, column, row)
				last = column
			}
			row++
		}
	}
	// a column that is empty at the left is left out
	first := g.columns
	for _, a := range g.at {
		first = min(first, a[0])
	}
	for i := range g.at {
		g.at[i][0] -= first
	}
	g.columns -= first
	return g
}

func (g *grid) corner(i int) (x, y float64) {
	return float64(g.at[i][0]*cellWide) + 10, float64(g.at[i][1]*cellHigh) + 10
}

// pin is where a side of an element's symbol meets a lane, in lanes.
func (g *grid) pin(i, side int) [2]int {
	x, y := (g.at[i][0]*cellWide+symbolX)/lane, (g.at[i][1]*cellHigh+symbolY)/lane
	return [][2]int{{x, y - 2}, {x, y + 2}, {x - 2, y}, {x + 2, y}}[side]
}

// lines joins what is joined. Each node is one net; a net's first line runs from its symbol
// to the nearest port, and each further one to the nearest point of what is drawn of it.
func (g *grid) lines(d *drawing.Drawing, c *fleet.Class, s AirState) {
	wide, high := g.columns*cellWide/lane+2, g.rows*cellHigh/lane+2
	const empty = -1
	net := make([][2]int, wide*high) // which net runs here level and upright
	block := make([]bool, wide*high)
	for k := range net {
		net[k] = [2]int{empty, empty}
	}
	for i := range g.es {
		x, y := (g.at[i][0]*cellWide+symbolX)/lane, (g.at[i][1]*cellHigh+symbolY)/lane
		for dx := -1; dx <= 13; dx++ {
			for dy := -1; dy <= 3; dy++ {
				if X, Y := x+dx, y+dy; X >= 0 && Y >= 0 && X < wide && Y < high && (dx <= 1 || dx >= 3) && (dy < 2 || dx >= 3) {
					block[Y*wide+X] = true
				}
			}
		}
	}
	type end struct{ element, side int }
	var order []int
	ends := map[int][]end{}
	for i, e := range g.es {
		for _, p := range portsOf(e) {
			k, ok := g.index[p.node]
			if !ok {
				continue
			}
			if ends[k] == nil {
				order = append(order, k)
			}
			ends[k] = append(ends[k], end{i, p.side()})
		}
	}
	slices.Sort(order)
	steps := [4][2]int{{0, -1}, {0, 1}, {-1, 0}, {1, 0}}
	cost, from := make([]int, wide*high*2), make([]int, wide*high*2)
	for _, k := range order {
		tree := map[int]bool{}
		for side := range 4 {
			p := g.pin(k, side)
			if p[0] >= 0 && p[1] >= 0 && p[0] < wide && p[1] < high {
				tree[p[1]*wide+p[0]] = true
			}
		}
		used := map[int]bool{}
		for _, e := range ends[k] {
			start := g.pin(e.element, e.side)
			start = [2]int{min(max(start[0], 0), wide-1), min(max(start[1], 0), high-1)}
			// the cheapest way, by length, turns and what it crosses; buckets by cost
			for j := range cost {
				cost[j], from[j] = math.MaxInt, -1
			}
			at := start[1]*wide + start[0]
			first := at*2 + map[bool]int{true: 1, false: 0}[e.side < 2]
			cost[first] = 0
			buckets := [][]int{{first}}
			goal := -1
			for b := 0; b < len(buckets) && goal < 0; b++ {
				for n := 0; n < len(buckets[b]); n++ {
					j := buckets[b][n]
					if cost[j] != b {
						continue
					}
					if tree[j/2] {
						goal = j
						break
					}
					x, y := j/2%wide, j/2/wide
					for q, st := range steps {
						X, Y := x+st[0], y+st[1]
						if X < 0 || Y < 0 || X >= wide || Y >= high {
							continue
						}
						to, up := Y*wide+X, 0
						if q < 2 {
							up = 1
						}
						if block[to] && !tree[to] {
							continue
						}
						price := 1
						if up != j%2 {
							price += 2
						}
						if o := net[to][up]; o != empty && o != k {
							price += 60
						}
						if o := net[to][1-up]; o != empty && o != k {
							price += 4
						}
						if v := b + price; v < cost[to*2+up] {
							cost[to*2+up], from[to*2+up] = v, j
							for len(buckets) <= v {
								buckets = append(buckets, nil)
							}
							buckets[v] = append(buckets[v], to*2+up)
						}
					}
				}
			}
			if goal < 0 {
				continue
			}
			var xy []float64
			var path []int
			for j := goal; j >= 0; j = from[j] {
				path = append(path, j)
			}
			met := path[0] / 2
			for n, j := range path {
				net[j/2][j%2] = k
				if n > 0 { // the corner is taken both ways
					net[j/2][path[n-1]%2] = k
				}
				tree[j/2] = true
				xy = append(xy, g.px(j/2%wide), g.px(j/2/wide))
			}
			// from the pins to the symbols
			cx, cy := g.px((g.at[e.element][0]*cellWide+symbolX)/lane), g.px((g.at[e.element][1]*cellHigh+symbolY)/lane)
			xy = append(xy, cx, cy)
			if p := met; !used[p] {
				for side := range 4 {
					if q := g.pin(k, side); q[1]*wide+q[0] == p {
						kx, ky := g.px((g.at[k][0]*cellWide+symbolX)/lane), g.px((g.at[k][1]*cellHigh+symbolY)/lane)
						d.Line("line", kx, ky, g.px(q[0]), g.px(q[1]))
					}
				}
			}
			word, _ := s.open(c, g.es[e.element])
			class := "line"
			if word == "shut" {
				class = "line idle"
			}
			d.Line(class, xy...)
			if used[met] {
				d.Ring("solid", g.px(met%wide), g.px(met/wide), 3)
			}
			for _, j := range path {
				used[j/2] = true
			}
		}
	}
}

// px is where a lane runs.
func (g *grid) px(n int) float64 { return float64(n*lane) + 10 }

// symbol draws an element in the manner of ISO 1219-1, round a middle. A cock that is shut is
// filled; one that is open is hollow.
func symbol(d *drawing.Drawing, e *fleet.Element, x, y float64, word string) {
	spring := func(x0, y0 float64) {
		d.Line("line", x0, y0, x0+3, y0-4, x0+6, y0+4, x0+9, y0-4, x0+12, y0+4, x0+14, y0)
	}
	arrow := func(x0, y0, x1, y1 float64) {
		d.Line("line", x0, y0, x1, y1)
		dx, dy := x1-x0, y1-y0
		l := math.Sqrt(dx*dx + dy*dy)
		dx, dy = dx/l*6, dy/l*6
		d.Area("solid", x1, y1, x1-dx-dy*0.5, y1-dy+dx*0.5, x1-dx+dy*0.5, y1-dy-dx*0.5)
	}
	// where it lets air out
	vent := func(x0, y0 float64) {
		d.Area("hollow", x0-6, y0, x0+6, y0, x0, y0+9)
	}
	atmosphere := func() bool {
		return slices.ContainsFunc(portsOf(e), func(p port) bool { return p.node == "atmosphere" }) || e.Kind == "leak" || e.Kind == "safety-valve" || e.Kind == "vent-valve" || e.Kind == "retainer"
	}
	switch e.Kind {
	case "volume": // a reservoir or a chamber: a tank lying down, its ends round
		w, h := 20.0, 9.0
		if _, rated := e.Arg("rated"); !rated {
			w, h = 12, 7
		}
		var xy []float64
		for k := range 9 {
			a := math.Pi/2 + float64(k)*math.Pi/8
			xy = append(xy, x-w+h+h*math.Cos(a), y-h*math.Sin(a))
		}
		for k := range 9 {
			a := -math.Pi/2 + float64(k)*math.Pi/8
			xy = append(xy, x+w-h+h*math.Cos(a), y-h*math.Sin(a))
		}
		d.Area("hollow", xy...)
	case "cylinder": // single acting, sprung back
		d.Box("hollow", x-18, y-9, 30, 18)
		d.Line("pipe", x-8, y-9, x-8, y+9)
		d.Line("line", x-8, y, x+21, y)
		d.Line("line", x-5, y, x-3, y-5, x+1, y+5, x+5, y-5, x+9, y+5, x+12, y)
	case "pipe": // from headstock to headstock
		d.Line("pipe", x-20, y, x+20, y)
		d.Line("line", x-20, y-7, x-20, y+7)
		d.Line("line", x+20, y-7, x+20, y+7)
	case "passage":
		_, a := e.Arg("when")
		_, b := e.Arg("unless")
		if !a && !b { // a choke
			d.Box("blank", x-8, y-10, 16, 20)
			d.Line("line", x, y-10, x, y+10)
			d.Line("line", x-7, y-8, x-3, y, x-7, y+8)
			d.Line("line", x+7, y-8, x+3, y, x+7, y+8)
			break
		}
		fill := "hollow"
		if word == "shut" {
			fill = "solid"
		}
		d.Area(fill, x-8, y-11, x+8, y-11, x, y)
		d.Area(fill, x-8, y+11, x+8, y+11, x, y)
	case "check":
		d.Box("blank", x-8, y-11, 16, 22)
		d.Line("line", x-9, y-9, x, y+2, x+9, y-9)
		d.Ring("hollow", x, y-4, 5)
		d.Line("line", x, y+2, x, y+11)
	case "double-check":
		d.Box("hollow", x-18, y-8, 36, 16)
		d.Line("line", x-12, y-8, x-7, y, x-12, y+8)
		d.Line("line", x+12, y-8, x+7, y, x+12, y+8)
		d.Ring("hollow", x-2, y, 5)
	case "regulator":
		d.Box("hollow", x-11, y-11, 22, 22)
		arrow(x-4, y-11, x-4, y+11)
		spring(x+11, y)
		d.Line("thin", x-4, y+11, x-16, y+11, x-16, y, x-11, y)
	case "relay":
		d.Box("hollow", x-11, y-11, 22, 22)
		arrow(x+3, y-11, x+3, y+11)
		d.Line("thin", x-22, y, x-11, y)
		d.Area("hollow", x-11, y-5, x-11, y+5, x-4, y)
	case "pilot", "release-valve":
		d.Box("hollow", x-18, y-9, 18, 18)
		d.Box("hollow", x, y-9, 18, 18)
		arrow(x-9, y-9, x-9, y+9)
		d.Line("line", x+9, y-9, x+9, y-4)
		d.Line("line", x+5, y-4, x+13, y-4)
		d.Line("line", x+9, y+9, x+9, y+4)
		d.Line("line", x+5, y+4, x+13, y+4)
	case "direct-distributor", "graduated-distributor":
		for k := range 3 {
			d.Box("hollow", x-21+float64(k)*14, y-11, 14, 22)
		}
		arrow(x-14, y-11, x-14, y+11)
		d.Line("line", x-4, y, x+4, y)
		arrow(x+14, y+11, x+14, y-11)
	case "compressor":
		d.Ring("hollow", x, y, 12)
		d.Area("hollow", x-6, y-1, x+6, y-1, x, y-12)
	case "safety-valve", "vent-valve", "retainer":
		d.Box("hollow", x-10, y-10, 20, 20)
		arrow(x-3, y-10, x-3, y+10)
		spring(x+10, y)
	case "leak":
		d.Line("thin", x, y-11, x, y+8)
	default:
		d.Box("hollow", x-12, y-10, 24, 20)
	}
	if atmosphere() {
		vent(x, y+12)
	}
}
