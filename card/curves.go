package card

import (
	"fmt"
	"math"
	"regexp"
	"slices"

	"headstock/haul"
	"headstock/internal/drawing"
	"headstock/line"
	"headstock/motion"
	"headstock/quantity"
)

// measure is what is laid off along an axis: its unit and how an SI value becomes it. Places
// on a line are told in kilometres whatever the units, since its posts are.
type measure struct {
	unit string
	of   func(si float64) float64
}

func speeds(u quantity.Units) measure {
	if u == quantity.Imperial() {
		return measure{"mph", func(v float64) float64 { return quantity.MetresPerSecond(v).MilesPerHour() }}
	}
	return measure{"km/h", func(v float64) float64 { return v * 3.6 }}
}

func forces(u quantity.Units) measure {
	if u == quantity.Imperial() {
		return measure{"1000 lbf", func(v float64) float64 { return quantity.Newtons(v).PoundsForce() / 1000 }}
	}
	return measure{"kN", func(v float64) float64 { return v / 1000 }}
}

func lengths(u quantity.Units) measure {
	if u == quantity.Imperial() {
		return measure{"ft", func(v float64) float64 { return quantity.Metres(v).Feet() }}
	}
	return measure{"m", func(v float64) float64 { return v }}
}

func warmings(u quantity.Units) measure {
	if u == quantity.Imperial() {
		return measure{"°F", fahrenheit}
	}
	return measure{"K", func(v float64) float64 { return v }}
}

func (m measure) all(si []float64) []float64 {
	out := make([]float64, len(si))
	for i, v := range si {
		out[i] = m.of(v)
	}
	return out
}

// figured are the figures in a sentence.
var figured = regexp.MustCompile(`\d+(?:\.\d+)? (?:kPa|kN|kW|km/h|km|m|t)\b`)

// inUnits says a sentence of haul, which words what governs in the metric units, in those of
// the reader.
func inUnits(text string, u quantity.Units) string {
	if u == quantity.Metric() {
		return text
	}
	return figured.ReplaceAllStringFunc(text, func(s string) string {
		v, err := quantity.Parse(s)
		if err != nil {
			return s
		}
		if v.Kind == quantity.Length && v.SI >= 1000 {
			return u.Distance(quantity.Metres(v.SI))
		}
		return u.Value(v)
	})
}

// fastest is the speed to which an effort is drawn, m/s.
func fastest(e *haul.Engine) float64 {
	if v := e.Machine.Fastest; v > 0 {
		return v
	}
	return 60 / 3.6
}

// PullChart is the effort at each speed on each rail.
func PullChart(e *haul.Engine, rails []motion.Rail, u quantity.Units) drawing.Chart {
	top, speed, force := fastest(e), speeds(u), forces(u)
	p := drawing.Panel{Y: drawing.Axis{Name: "effort at the rail, " + force.unit}, High: 1.6}
	classes := []string{"main", "second", "third"}
	for i, r := range rails {
		k := drawing.Curve{Name: r.Name + " rail", Class: classes[i%len(classes)]}
		for v := 0.0; v <= top+1e-9; v += top / 240 {
			k.X = append(k.X, speed.of(v))
			k.Y = append(k.Y, force.of(e.Machine.At(v, r.Adhesion).Effort))
		}
		p.Curves = append(p.Curves, k)
	}
	if c, err := e.Machine.ContinuousPoint(); err == nil {
		p.Curves = append(p.Curves, drawing.Curve{Name: "continuous", Class: "limit", X: []float64{speed.of(c.Speed), speed.of(c.Speed)}, Y: []float64{0, force.of(c.Effort)}})
	}
	return drawing.Chart{ID: "pull", Title: "Effort and speed: " + e.Name, Says: "Effort at the rail falls with speed; at low speed it is held by adhesion or by the highest effort of the record. The table of the pull at each speed says the same.", X: drawing.Axis{Name: "speed, " + speed.unit, Low: 0, High: speed.of(top)}, Panels: []drawing.Panel{p}}
}

// Ground is the height of a line over its kilometres, with its places.
func ground(l *line.Line, low, high float64, u quantity.Units) (drawing.Curve, []drawing.Tick) {
	g := drawing.Curve{Name: "", Class: "ground"}
	h, at := 0.0, 0.0
	if len(l.Gradients) > 0 {
		at = l.Gradients[0].Start
	}
	for _, p := range l.Places {
		if p.HasHeight {
			h = p.Height
			for _, x := range l.Gradients {
				if end := math.Min(p.At, x.End); end > x.Start {
					h -= (end - x.Start) * x.Slope
				}
			}
			break
		}
	}
	// the curve is cut where the chart begins and ends, so that no slope is lost at the edge
	put := func(s, z float64) {
		if s >= low-1e-6 && s <= high+1e-6 {
			g.X, g.Y = append(g.X, s/1000), append(g.Y, lengths(u).of(z))
		}
	}
	put(at, h)
	for _, x := range l.Gradients {
		for _, cut := range []float64{low, high} {
			if cut > x.Start && cut < x.End {
				put(cut, h+(cut-x.Start)*x.Slope)
			}
		}
		h += (x.End - x.Start) * x.Slope
		put(x.End, h)
	}
	var ticks []drawing.Tick
	for _, p := range l.Places {
		if p.At >= low && p.At <= high {
			ticks = append(ticks, drawing.Tick{At: p.At / 1000, Name: p.Name})
		}
	}
	return g, ticks
}

// ProfileChart is the profile of a line: height, speed limits and curves over its
// kilometres.
func ProfileChart(l *line.Line, u quantity.Units) drawing.Chart {
	low, high := l.Places[0].At, l.Places[len(l.Places)-1].At
	speed := speeds(u)
	g, ticks := ground(l, low, high, u)
	limits := drawing.Curve{Class: "main", Name: "section"}
	for _, s := range l.Sections {
		limits.X = append(limits.X, s.Start/1000, s.End/1000)
		limits.Y = append(limits.Y, speed.of(s.Speed), speed.of(s.Speed))
	}
	panel := drawing.Panel{Y: drawing.Axis{Name: "speed limit, " + speed.unit}, Curves: []drawing.Curve{limits}, High: 0.6}
	slow := drawing.Curve{Class: "second", Name: "lower limit"}
	for _, s := range l.Speeds {
		slow.X = append(slow.X, s.Start/1000, s.End/1000, s.End/1000)
		slow.Y = append(slow.Y, speed.of(s.AtMost), speed.of(s.AtMost), math.NaN())
	}
	if len(slow.X) > 0 {
		panel.Curves = append(panel.Curves, slow)
	}
	bends := drawing.Curve{Class: "main"}
	sharp := 0.0
	for _, c := range l.Curves {
		k := 1000 / c.Radius
		if c.Hand == "right" {
			k = -k
		}
		sharp = math.Max(sharp, math.Abs(k))
		bends.X = append(bends.X, c.Start/1000, c.Start/1000, c.End/1000, c.End/1000, c.End/1000)
		bends.Y = append(bends.Y, 0, k, k, 0, math.NaN())
	}
	panels := []drawing.Panel{{Y: drawing.Axis{Name: "height, " + lengths(u).unit}, Curves: []drawing.Curve{g}, Places: ticks}, panel}
	if len(bends.X) > 0 {
		panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "curves, 1000 m over radius; left above, right below", Low: -sharp * 1.1, High: sharp * 1.1}, Curves: []drawing.Curve{bends}, High: 0.4})
	}
	return drawing.Chart{ID: "profile", Title: "Profile: " + l.Name, Says: "Height over the kilometres of the line, with its places, speed limits and curves. The tables of the line say the same.", X: drawing.Axis{Name: "km", Low: low / 1000, High: high / 1000}, Panels: panels}
}

// JourneyChart is a run over its kilometres: speed with its limits, effort and brake, motor
// heat, and the profile under it.
func JourneyChart(r *haul.Ran, u quantity.Units) drawing.Chart {
	a, b := r.At(0)/1000, r.At(r.Distance)/1000
	low, high := math.Min(a, b), math.Max(a, b)
	speed, force := speeds(u), forces(u)
	var x, v, top, pull, brake, rise, amps []float64
	for _, s := range r.Out.Samples {
		x = append(x, r.At(s.At)/1000)
		v, top = append(v, speed.of(s.Speed)), append(top, speed.of(s.Ceiling))
		pull, brake = append(pull, force.of(s.Effort)), append(brake, force.of(s.Brake))
		rise, amps = append(rise, 100*s.Rise), append(amps, s.Current)
	}
	g, ticks := ground(r.Line, low*1000, high*1000, u)
	panels := []drawing.Panel{
		{Y: drawing.Axis{Name: "speed, " + speed.unit}, Curves: []drawing.Curve{{Name: "speed", Class: "main", X: x, Y: v}, {Name: "limit, with what slowing needs", Class: "limit", X: x, Y: top}}},
		{Y: drawing.Axis{Name: "at the rail, " + force.unit}, Curves: []drawing.Curve{{Name: "pull", Class: "main", X: x, Y: pull}, {Name: "brake", Class: "second", X: x, Y: brake}}, High: 0.8},
	}
	if slices.ContainsFunc(amps, func(y float64) bool { return y > 0 }) {
		panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "highest motor current, A"}, Curves: []drawing.Curve{{Class: "main", X: x, Y: amps}}, High: 0.5})
	}
	if slices.ContainsFunc(rise, func(y float64) bool { return y > 0 }) {
		panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "hottest motor, per cent of its rated rise"}, Curves: []drawing.Curve{{Name: "rise", Class: "main", X: x, Y: rise}, {Name: "rated", Class: "limit", X: []float64{low, high}, Y: []float64{100, 100}}}, High: 0.6})
	}
	panels = append(panels, drawing.Panel{Y: drawing.Axis{Name: "height, " + lengths(u).unit}, Curves: []drawing.Curve{g}, Places: ticks, High: 0.7})
	way := "from left to right"
	if !r.Up {
		way = "from right to left"
	}
	return drawing.Chart{ID: "journey", Title: fmt.Sprintf("%s: %s to %s (%s)", r.Train.Consist, r.From, r.To, way), Says: "Speed, pull, brake and motor heat over the kilometres of the line, with its profile. The table point by point says the same.", X: drawing.Axis{Name: "km", Low: low, High: high}, Panels: panels}
}

// HeatChart is the heat of the hottest motor of a run over time.
func HeatChart(r *haul.Ran) drawing.Chart {
	var t, rise, amps []float64
	for _, s := range r.Out.Samples {
		t, rise, amps = append(t, s.Time/60), append(rise, 100*s.Rise), append(amps, s.Current)
	}
	end := math.Max(1, r.Out.Time/60)
	return drawing.Chart{ID: "heat", Title: fmt.Sprintf("Motor heat: %s to %s", r.From, r.To), Says: "Rise of the hottest motor and its current over time. The table point by point says the same.", X: drawing.Axis{Name: "min", Low: 0, High: end}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "hottest motor, per cent of its rated rise"}, Curves: []drawing.Curve{{Name: "rise", Class: "main", X: t, Y: rise}, {Name: "rated", Class: "limit", X: []float64{0, end}, Y: []float64{100, 100}}}},
		{Y: drawing.Axis{Name: "highest motor current, A"}, Curves: []drawing.Curve{{Class: "main", X: t, Y: amps}}, High: 0.7},
	}}
}

// RunInChart is the force in the joint that is pressed hardest, over time, with the speed.
func RunInChart(a *haul.RunInAnswer, u quantity.Units) drawing.Chart {
	force, speed := forces(u), speeds(u)
	most := make([]float64, len(a.Most))
	for i, f := range a.Most {
		most[i] = -force.of(f)
	}
	end := 1.0
	if n := len(a.Times); n > 0 {
		end = math.Max(end, a.Times[n-1])
	}
	x := a.Joints[a.Push]
	return drawing.Chart{ID: "run-in", Title: "Coupling forces: " + a.Consist, Says: "Force in the coupling that is pressed hardest and the greatest push anywhere, over the time from the handle, with the speed. The table over time says the same.", X: drawing.Axis{Name: "s", Low: 0, High: end}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "coupling force, " + force.unit + "; pull above, push below"}, Curves: []drawing.Curve{{Name: x.Front + " and " + x.Rear, Class: "main", X: a.Times, Y: force.all(a.Front)}, {Name: "greatest push anywhere", Class: "third", X: a.Times, Y: most}}, High: 1.4},
		{Y: drawing.Axis{Name: "speed of the first vehicle, " + speed.unit}, Curves: []drawing.Curve{{Class: "main", X: a.Times, Y: speed.all(a.Speeds)}}, High: 0.6},
	}}
}

// StopChart is the speed and the force of all brakes over the distance from where the
// handle is moved.
func StopChart(a *haul.StopAnswer, u quantity.Units) drawing.Chart {
	var x, v, f []float64
	for _, p := range a.Points {
		x, v, f = append(x, lengths(u).of(p.Distance)), append(v, speeds(u).of(p.Speed)), append(f, forces(u).of(p.Force))
	}
	end := 1.0
	if n := len(x); n > 0 {
		end = math.Max(end, x[n-1])
	}
	return drawing.Chart{ID: "stop", Title: "Speed and brake over the distance", Says: "Speed and the force of all brakes at the rail over the distance from where the handle is moved. The table of the stop says the same.", X: drawing.Axis{Name: lengths(u).unit, Low: 0, High: end}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "speed, " + speeds(u).unit}, Curves: []drawing.Curve{{Class: "main", X: x, Y: v}}, High: 0.9},
		{Y: drawing.Axis{Name: "all brakes at the rail, " + forces(u).unit}, Curves: []drawing.Curve{{Class: "main", X: x, Y: f}}, High: 0.6},
	}}
}

// DescendChart is the heat of the hottest wheel along the way down.
func DescendChart(a *haul.DescendAnswer, u quantity.Units) drawing.Chart {
	warm := warmings(u)
	var x, wheel, tread []float64
	for _, p := range a.Course {
		x, wheel, tread = append(x, p.Distance/1000), append(wheel, warm.of(p.Wheel)), append(tread, warm.of(p.Tread))
	}
	end := 0.1
	if n := len(x); n > 0 {
		end = math.Max(end, x[n-1])
	}
	// the fall of the way, from its head
	far, down := []float64{0}, []float64{0}
	s, z := 0.0, 0.0
	for _, l := range a.Legs {
		s, z = s+l.Length, z-l.Length*l.Falling
		far, down = append(far, s/1000), append(down, lengths(u).of(z))
	}
	end = math.Max(end, s/1000)
	return drawing.Chart{ID: "heat", Title: "Heat of the hottest wheel on the way down", Says: "Warming of the hottest wheel and of its tread above the air along the way, at the speed of the answer, with the fall of the way. The table along the way says the same.", X: drawing.Axis{Name: "km from the head of the way", Low: 0, High: end}, Panels: []drawing.Panel{
		{Y: drawing.Axis{Name: "above the air, " + warm.unit}, Curves: []drawing.Curve{{Name: "tread", Class: "second", X: x, Y: tread}, {Name: "wheel", Class: "main", X: x, Y: wheel}}},
		{Y: drawing.Axis{Name: "below the head of the way, " + lengths(u).unit}, Curves: []drawing.Curve{{Class: "ground", X: far, Y: down}}, High: 0.5},
	}}
}
