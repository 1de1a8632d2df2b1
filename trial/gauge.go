package trial

import (
	"headstock/air"
	"headstock/fleet"
)

// gauge is a gauge that shows its pressure late: what it shows nears what there is by a
// share in every moment, all but 1/e of a sudden change within its lag.
type gauge struct {
	vehicle int
	device  *fleet.Device
	node    air.Node
	shown   float64 // gauge Pa, when the run last stood
	before  float64 // and the pressure that there was, gauge Pa
	at      float64 // s
}

// slow prepares the gauges with a lag. They begin at rest, or where a mark left them.
func (x *runner) slow(from *Mark) {
	for i, v := range x.c.Vehicles {
		for _, d := range v.Class.Devices {
			if d.Kind != "gauge" || d.Lag == 0 {
				continue
			}
			n, ok := x.b.Plant.Node(i, d.Reads)
			if !ok {
				continue
			}
			p := x.r.Gauge(n)
			g := gauge{i, d, n, p, p, x.r.Time()}
			if k := len(x.gauges); from != nil && k < len(from.shown) {
				g.shown = from.shown[k]
			}
			x.gauges = append(x.gauges, g)
		}
	}
}

// now is what the gauge shows at this moment. Since the run last stood the pressure has
// gone in a straight line, of slope s: it is late by s·lag, and by what is left of the
// difference then, which dies away as e^(−t/lag). The exponential is 1 over its own series,
// which never swings and is the same on every machine.
func (g *gauge) now(r *air.Run) float64 {
	t, p := r.Time()-g.at, r.Gauge(g.node)
	if t <= 0 {
		return g.shown
	}
	y := t / g.device.Lag
	late := (p - g.before) / y
	left := 1 / (1 + float64(y*(1+float64(y/2*(1+float64(y/3*(1+float64(y/4))))))))
	return p - late + float64((g.shown-g.before+late)*left)
}

// stood is called after every step of the run that stands.
func (x *runner) stood() {
	for i := range x.gauges {
		g := &x.gauges[i]
		g.shown, g.before, g.at = g.now(x.r), x.r.Gauge(g.node), x.r.Time()
	}
	x.sample()
	x.reach()
	if turn := x.b.cond.Turn; turn != nil {
		turn()
	}
}

// reach notes where the pressure is another than the atmosphere's.
func (x *runner) reach() {
	for n := range x.b.reached {
		if g := x.r.Gauge(air.Node(n)); g > 1e-3 || g < -1e-3 {
			x.b.reached[n] = true
		}
	}
}

// shows is what a gauge of a vehicle shows of its node, gauge Pa.
func (x *runner) shows(vehicle int, d *fleet.Device, n air.Node) float64 {
	if d.Lag > 0 {
		for i := range x.gauges {
			if g := &x.gauges[i]; g.vehicle == vehicle && g.device == d {
				return g.now(x.r)
			}
		}
	}
	return x.r.Gauge(n)
}

// shown is what every gauge with a lag shows.
func (x *runner) shown() (out []float64) {
	for i := range x.gauges {
		out = append(out, x.gauges[i].now(x.r))
	}
	return out
}
