package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Units is the choice of units in which a person reads. The zero value is metric.
type Units struct{ imperial bool }

// Metric prints kPa, mm, L, t, kN, km/h, °C.
func Metric() Units { return Units{} }

// Imperial prints psi, in, in³, short tons, lbf, mph, °F.
func Imperial() Units { return Units{imperial: true} }

// UnitsNamed is the choice called "metric" or "imperial".
func UnitsNamed(name string) (Units, bool) {
	switch name {
	case "metric":
		return Metric(), true
	case "imperial":
		return Imperial(), true
	}
	return Units{}, false
}

// Name is "metric" or "imperial".
func (u Units) Name() string {
	if u.imperial {
		return "imperial"
	}
	return "metric"
}

// Rounding says which way a shown figure may lie from the true one. Nearest is for what
// is read; Down and Up are for limits, so that the shown limit is never the easier one.
type Rounding int

// The ways of rounding.
const (
	Nearest Rounding = iota
	Down
	Up
)

// Gauge prints a gauge pressure: "500 kPa", "72.5 psi".
func (u Units) Gauge(g Gauge) string { return u.GaugeRounded(g, Nearest) }

// GaugeRounded prints a gauge pressure rounded one way: for "at most" round Down, for
// "at least" round Up.
func (u Units) GaugeRounded(g Gauge, r Rounding) string {
	if u.imperial {
		return round(g.PSI(), 1, r) + " psi"
	}
	return round(g.KPa(), 0, r) + " kPa"
}

// GaugeBand prints a band of gauge pressures, both ends rounded inward, so that no
// reading inside the shown band lies outside the true one; a band narrower than the
// rounding is printed with more digits.
func (u Units) GaugeBand(low, high Gauge) string {
	l, h, digits, unit := low.KPa(), high.KPa(), 0, " kPa"
	if u.imperial {
		l, h, digits, unit = low.PSI(), high.PSI(), 1, " psi"
	}
	for ; digits < 6; digits++ {
		p := math.Pow(10, float64(digits))
		if math.Ceil(l*p-1e-6) <= math.Floor(h*p+1e-6) {
			break
		}
	}
	a, b := round(l, digits, Up), round(h, digits, Down)
	if a == b {
		return a + unit
	}
	return a + "–" + b + unit
}

// Absolute prints an absolute pressure, and says that it is one.
func (u Units) Absolute(a Absolute) string { return u.Gauge(Gauge(a)) + " abs" }

// Length prints a length: mm below a metre, m above it; in and ft.
func (u Units) Length(l Metres) string {
	if u.imperial {
		if math.Abs(l.Feet()) >= 10 {
			return round(l.Feet(), 1, Nearest) + " ft"
		}
		return figures(l.Inches(), 3) + " in"
	}
	if math.Abs(float64(l)) >= 1 {
		return round(float64(l), 2, Nearest) + " m"
	}
	if math.Abs(l.Millimetres()) >= 20 {
		return round(l.Millimetres(), 0, Nearest) + " mm"
	}
	return round(l.Millimetres(), 2, Nearest) + " mm"
}

// Area prints an area.
func (u Units) Area(a SquareMetres) string {
	switch {
	case u.imperial:
		return figures(float64(a)/(inch*inch), 3) + " in²"
	case a < 0.1:
		return figures(a.SquareMillimetres(), 3) + " mm²"
	}
	return figures(float64(a), 3) + " m²"
}

// Volume prints a volume.
func (u Units) Volume(v CubicMetres) string {
	if u.imperial {
		return figures(v.CubicInches(), 3) + " in³"
	}
	return figures(v.Litres(), 3) + " L"
}

// Mass prints a mass.
func (u Units) Mass(m Kilograms) string {
	switch {
	case u.imperial && m.Pounds() >= 4000:
		return round(m.ShortTons(), 1, Nearest) + " short tons"
	case u.imperial:
		return figures(m.Pounds(), 3) + " lb"
	case m >= 1000:
		return round(m.Tonnes(), 1, Nearest) + " t"
	}
	return figures(float64(m), 3) + " kg"
}

// Force prints a force.
func (u Units) Force(f Newtons) string {
	if u.imperial {
		return figures(f.PoundsForce(), 3) + " lbf"
	}
	return figures(f.Kilonewtons(), 3) + " kN"
}

// ForceRounded prints a force rounded one way: what holds rounds Down, what has to be held
// rounds Up. To 0.1 kN below 100 kN and to 1 kN above, or to 100 lbf.
func (u Units) ForceRounded(f Newtons, r Rounding) string {
	switch {
	case u.imperial:
		if n := round(f.PoundsForce()/100, 0, r); n != "0" {
			return n + "00 lbf"
		}
		return "0 lbf"
	case math.Abs(f.Kilonewtons()) < 100:
		return round(f.Kilonewtons(), 1, r) + " kN"
	}
	return round(f.Kilonewtons(), 0, r) + " kN"
}

// Power prints a power.
func (u Units) Power(p Watts) string {
	if u.imperial {
		return round(p.Horsepower(), 0, Nearest) + " hp"
	}
	return round(p.Kilowatts(), 0, Nearest) + " kW"
}

// Speed prints a speed.
func (u Units) Speed(s MetresPerSecond) string {
	if u.imperial {
		return round(s.MilesPerHour(), 1, Nearest) + " mph"
	}
	return round(s.KilometresPerHour(), 1, Nearest) + " km/h"
}

// SpeedRounded prints a speed in whole units rounded one way: a limit rounds Down.
func (u Units) SpeedRounded(s MetresPerSecond, r Rounding) string {
	if u.imperial {
		return round(s.MilesPerHour(), 0, r) + " mph"
	}
	return round(s.KilometresPerHour(), 0, r) + " km/h"
}

// MassRounded prints a mass in tons rounded one way: a limit rounds Down, what is held
// against one rounds Up.
func (u Units) MassRounded(m Kilograms, r Rounding) string {
	if u.imperial {
		return round(m.ShortTons(), 2, r) + " short tons"
	}
	return round(m.Tonnes(), 2, r) + " t"
}

// Distance prints a length along a line.
func (u Units) Distance(l Metres) string { return u.DistanceRounded(l, Nearest) }

// DistanceRounded prints a length along a line rounded one way: a limit rounds Down.
func (u Units) DistanceRounded(l Metres, r Rounding) string {
	if u.imperial {
		return round(float64(l)/mile, 1, r) + " mi"
	}
	return round(float64(l)/1e3, 1, r) + " km"
}

// AngleRounded prints an angle rounded one way.
func (u Units) AngleRounded(a Radians, r Rounding) string { return round(a.Degrees(), 1, r) + "°" }

// Share prints a part of a whole in per cent, to a tenth, rounded one way: what is left
// rounds Down, what is lost rounds Up.
func Share(v float64, r Rounding) string { return round(v*100, 1, r) + " %" }

// Seconds prints a time: "12 s", "2 min 30 s", "1 h 5 min".
func (u Units) Seconds(s Seconds) string {
	v := math.Abs(float64(s))
	sign := ""
	if s < 0 {
		sign = "-"
	}
	switch {
	case v < 10:
		return sign + round(v, 1, Nearest) + " s"
	case v < 90:
		return sign + round(v, 0, Nearest) + " s"
	case v < 3600 && v == v:
		n := int(math.Round(v))
		if n%60 == 0 {
			return sign + strconv.Itoa(n/60) + " min"
		}
		return sign + strconv.Itoa(n/60) + " min " + strconv.Itoa(n%60) + " s"
	case v >= 2*86400:
		return sign + round(v/86400, 1, Nearest) + " days"
	case v < 2*86400:
		n := int(math.Round(v / 60))
		if n%60 == 0 {
			return sign + strconv.Itoa(n/60) + " h"
		}
		return sign + strconv.Itoa(n/60) + " h " + strconv.Itoa(n%60) + " min"
	}
	return sign + round(v, 0, Nearest) + " s"
}

// Temperature prints a temperature.
func (u Units) Temperature(t Kelvin) string {
	if u.imperial {
		return round(t.Fahrenheit(), 0, Nearest) + " °F"
	}
	return round(t.Celsius(), 0, Nearest) + " °C"
}

// FreeAir prints a flow of free air.
func (u Units) FreeAir(f FreeAir) string {
	if u.imperial {
		return figures(f.CubicFeetPerMinute(), 3) + " cfm"
	}
	return figures(f.LitresPerMinute(), 3) + " L/min"
}

// Rate prints a change of pressure a minute.
func (u Units) Rate(r PascalsPerSecond) string {
	if u.imperial {
		return round(float64(r)*60/psi, 1, Nearest) + " psi/min"
	}
	return round(r.KPaPerMinute(), 0, Nearest) + " kPa/min"
}

// Angle prints an angle.
func (u Units) Angle(a Radians) string { return round(a.Degrees(), 1, Nearest) + "°" }

// Ratio prints a ratio.
func (u Units) Ratio(r Ratio) string { return figures(float64(r), 3) }

// SI prints an SI value of a kind, without its spread.
func (u Units) SI(k Kind, v float64) string {
	switch k {
	case Pressure:
		return u.Gauge(Gauge(v))
	case AbsolutePressure:
		return u.Absolute(Absolute(v))
	case Length:
		return u.Length(Metres(v))
	case Area:
		return u.Area(SquareMetres(v))
	case Volume:
		return u.Volume(CubicMetres(v))
	case Mass:
		return u.Mass(Kilograms(v))
	case Time:
		return u.Seconds(Seconds(v))
	case Power:
		return u.Power(Watts(v))
	case Force:
		return u.Force(Newtons(v))
	case Speed:
		return u.Speed(MetresPerSecond(v))
	case Flow:
		return u.FreeAir(FreeAir(v))
	case Temperature:
		return u.Temperature(Kelvin(v))
	case Voltage:
		return figures(v, 3) + " V"
	case Current:
		return figures(v, 3) + " A"
	case Angle:
		return u.Angle(Radians(v))
	case Rate:
		return u.Rate(PascalsPerSecond(v))
	}
	return figures(v, 4)
}

// Limit prints an SI value of a kind with one digit more than a reading has, rounded one
// way: for "at most" Down, for "at least" Up.
func (u Units) Limit(k Kind, v float64, r Rounding) string {
	switch {
	case k == Length && u.imperial:
		return round(Metres(v).Inches(), 2, r) + " in"
	case k == Length && math.Abs(v) < 2:
		return round(Metres(v).Millimetres(), 1, r) + " mm"
	case k == Pressure && u.imperial:
		return round(Gauge(v).PSI(), 1, r) + " psi"
	case k == Pressure:
		return round(Gauge(v).KPa(), 1, r) + " kPa"
	case k == Rate && u.imperial:
		return round(v*60/psi, 2, r) + " psi/min"
	case k == Rate:
		return round(PascalsPerSecond(v).KPaPerMinute(), 1, r) + " kPa/min"
	case k == Voltage:
		return round(v, 1, r) + " V"
	case k == Current:
		return round(v, 1, r) + " A"
	}
	return u.SI(k, v)
}

// Value prints a value with its spread: "12 mm ± 0.5 mm".
func (u Units) Value(v Value) string {
	s := u.SI(v.Kind, v.SI)
	if v.Spread == 0 {
		return s
	}
	k, d := v.Kind, v.Spread
	switch k {
	case AbsolutePressure:
		k = Pressure
	case Temperature: // a difference has no offset
		if u.imperial {
			return s + " ± " + figures(d*1.8, 2) + " °F"
		}
		return s + " ± " + figures(d, 2) + " °C"
	}
	return s + " ± " + u.SI(k, d)
}

// round prints with at most so many decimals, without trailing zeros and never "-0".
func round(v float64, decimals int, r Rounding) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "unknown"
	}
	p := 1.0
	for range decimals {
		p *= 10
	}
	// a value that stands on the step but for the last bits of its conversion is on it
	const hair = 1e-6
	x := v * p
	switch r {
	case Down:
		x = math.Floor(x + hair)
	case Up:
		x = math.Ceil(x - hair)
	default:
		x = math.Round(x)
	}
	if x == 0 {
		return "0"
	}
	s := strconv.FormatFloat(x/p, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// figures prints with so many significant figures, and never drops whole digits.
func figures(v float64, n int) string {
	a := math.Abs(v)
	d := n - 1
	for a >= 10 && d > 0 {
		a /= 10
		d--
	}
	for a > 0 && a < 1 && d < 9 {
		a *= 10
		d++
	}
	return round(v, d, Nearest)
}
