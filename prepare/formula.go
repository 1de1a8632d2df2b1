package prepare

import (
	"fmt"
	"math"

	"headstock/air"
	"headstock/quantity"
)

// MaxTravel is the greatest piston travel with the brake applied, of a cylinder whose piston
// could travel total in all: so much less than that (49 CFR 229.55(b), row INS-002).
func MaxTravel(total, margin quantity.Metres) quantity.Metres { return total - margin }

// GaugeError is how far an air gauge may be off at a reading: a part of the reading or a
// fixed pressure, whichever is less (49 CFR 229.53, row INS-018).
func GaugeError(reading quantity.Gauge, part float64, fixed quantity.Gauge) quantity.Gauge {
	return min(quantity.Gauge(math.Abs(float64(reading))*part), fixed)
}

// FlangeGauge is between what two flanges of an axle must stand apart, inside to inside, on
// track of a gauge below standard: the gauge less 3 1/2 in to the gauge less 3 1/8 in (49
// CFR 230.112(b), row INS-049). On standard gauge it is 53 to 53 1/2 in (49 CFR 229.73(c),
// row INS-046). Not ok above standard gauge, of which the rules say nothing.
func FlangeGauge(track quantity.Metres) (low, high quantity.Metres, row string, ok bool) {
	standard := quantity.Inches(56.5)
	switch {
	case track <= 0 || track > standard+1e-9:
		return 0, 0, "", false
	case track > standard-1e-9:
		return quantity.Inches(53), quantity.Inches(53.5), "INS-046", true
	}
	return track - quantity.Inches(3.5), track - quantity.Inches(3.125), "INS-049", true
}

// CouplerHeight is between what heights above rail a coupler must stand, on the three gauges
// of which the rule gives a figure (49 CFR 231.31(a), rows INS-090 to INS-092). Any other
// gauge is left to local approval (row INS-093) and is not ok.
func CouplerHeight(track quantity.Metres) (low, high quantity.Metres, row string, ok bool) {
	for _, g := range []struct {
		track, low, high float64
		row              string
	}{{56.5, 31.5, 34.5, "INS-090"}, {36, 23, 26, "INS-091"}, {24, 14.5, 17.5, "INS-092"}} {
		if math.Abs(track.Inches()-g.track) < 0.05 {
			return quantity.Inches(g.low), quantity.Inches(g.high), g.row, true
		}
	}
	return 0, 0, "INS-093", false
}

// TellTaleDepth is how deep the tell-tale holes of a main reservoir are drilled, so that one
// shows before the plate is too thin: 0.6·P·R/(S − 0.6·P), never less than 1/16 in. P is the
// certified pressure, R the inside radius, S a fifth of the least tensile strength (49 CFR
// 229.31(c), row INS-032).
func TellTaleDepth(p quantity.Gauge, r quantity.Metres, s quantity.Gauge) (quantity.Metres, error) {
	if p <= 0 || r <= 0 || float64(s) <= 0.6*float64(p) {
		return 0, fmt.Errorf("no depth for %.0f kPa in a plate of which a fifth of the strength is %.0f kPa", p.KPa(), s.KPa())
	}
	d := quantity.Metres(0.6 * float64(p) * float64(r) / (float64(s) - float64(0.6*float64(p))))
	return max(d, quantity.Inches(1.0/16)), nil
}

// OrificeAir is the free air that flows out of a hole of the given bore from a reservoir
// held at a pressure, at the standard atmosphere and 20 °C: the choked nozzle of package
// air, as much as any hole of the bore can pass (discharge coefficient 1). A compressor
// that holds the pressure against the hole delivers no more than that through it.
func OrificeAir(bore quantity.Metres, held quantity.Gauge) quantity.FreeAir {
	area := math.Pi / 4 * float64(bore) * float64(bore)
	atm := float64(quantity.StandardAtmosphere)
	kg := air.Nozzle(1, area).Flow(float64(held.Absolute(quantity.StandardAtmosphere)), atm, air.RefTemp)
	return quantity.FreeAir(kg * air.GasConstant * air.RefTemp / atm)
}

// Sharp and rounded are the coefficients between which an orifice lies: an orifice plate
// with sharp edges, and one with rounded ones (method note to the orifice table after Moss
// 1906: 0.65 and 0.97).
const (
	sharpHole   = 0.65
	roundedHole = 0.97
)
