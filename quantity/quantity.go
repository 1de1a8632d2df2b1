// Package quantity gives each measure a type of its own, reads it from plain text and
// prints it in the units a person asked for.
//
// Inside, everything is SI: pascals, metres, kilograms, seconds, kelvins. Other units are
// met only in the constructors and getters here. A pressure above the atmosphere (Gauge)
// and a pressure above nothing (Absolute) are different types, joined only through the
// atmosphere of the place. A pressure in text is gauge unless it says "abs".
//
// The package does not know what a measure is for, and keeps no source of it.
package quantity

// Absolute is a pressure above nothing, Pa.
type Absolute float64

// Gauge is a pressure above the atmosphere of the place, Pa.
type Gauge float64

// Metres is a length.
type Metres float64

// SquareMetres is an area.
type SquareMetres float64

// CubicMetres is a volume.
type CubicMetres float64

// Kilograms is a mass.
type Kilograms float64

// Newtons is a force.
type Newtons float64

// Watts is a power.
type Watts float64

// MetresPerSecond is a speed.
type MetresPerSecond float64

// Seconds is a time.
type Seconds float64

// Kelvin is a temperature above nothing.
type Kelvin float64

// Volts is a voltage.
type Volts float64

// Amperes is a current.
type Amperes float64

// FreeAir is a flow in m³/s of air as it stands in the atmosphere.
type FreeAir float64

// Radians is an angle.
type Radians float64

// PascalsPerSecond is a change of pressure.
type PascalsPerSecond float64

// Ratio has no unit.
type Ratio float64

// StandardAtmosphere is the atmosphere at sea level, exact by definition.
const StandardAtmosphere Absolute = 101325

// Factors of the units that are not powers of ten of an SI unit. Those of inch, pound and
// standard gravity are exact by definition (NIST SP 811, appendix B.8); the others follow.
const (
	inch      = 0.0254
	foot      = 12 * inch
	pound     = 0.45359237
	gravity   = 9.80665
	poundF    = pound * gravity
	psi       = poundF / (inch * inch)
	kgfPerCm2 = gravity * 1e4
	cubicInch = inch * inch * inch
	cubicFoot = foot * foot * foot
	mile      = 1609.344
	horse     = 550 * foot * poundF
	zeroC     = 273.15
	degree    = 3.14159265358979323846 / 180
	shortTon  = 2000 * pound
)

// Absolute is the pressure above nothing where the atmosphere is atm.
func (g Gauge) Absolute(atm Absolute) Absolute { return Absolute(float64(g) + float64(atm)) }

// Gauge is the pressure above the atmosphere atm.
func (a Absolute) Gauge(atm Absolute) Gauge { return Gauge(float64(a) - float64(atm)) }

// KPaGauge is a gauge pressure given in kPa.
func KPaGauge(v float64) Gauge { return Gauge(v * 1e3) }

// BarGauge is a gauge pressure given in bar.
func BarGauge(v float64) Gauge { return Gauge(v * 1e5) }

// PSIGauge is a gauge pressure given in pounds per square inch.
func PSIGauge(v float64) Gauge { return Gauge(v * psi) }

// KgfPerCm2Gauge is a gauge pressure given in kgf/cm².
func KgfPerCm2Gauge(v float64) Gauge { return Gauge(v * kgfPerCm2) }

// KPaAbs is an absolute pressure given in kPa.
func KPaAbs(v float64) Absolute { return Absolute(v * 1e3) }

// PSIAbs is an absolute pressure given in pounds per square inch.
func PSIAbs(v float64) Absolute { return Absolute(v * psi) }

// Millimetres is a length given in mm.
func Millimetres(v float64) Metres { return Metres(v / 1e3) }

// Inches is a length given in inches.
func Inches(v float64) Metres { return Metres(v * inch) }

// Feet is a length given in feet.
func Feet(v float64) Metres { return Metres(v * foot) }

// SquareMillimetres is an area given in mm².
func SquareMillimetres(v float64) SquareMetres { return SquareMetres(v / 1e6) }

// Litres is a volume given in L.
func Litres(v float64) CubicMetres { return CubicMetres(v / 1e3) }

// CubicInches is a volume given in cubic inches.
func CubicInches(v float64) CubicMetres { return CubicMetres(v * cubicInch) }

// Tonnes is a mass given in t.
func Tonnes(v float64) Kilograms { return Kilograms(v * 1e3) }

// Pounds is a mass given in lb.
func Pounds(v float64) Kilograms { return Kilograms(v * pound) }

// Kilonewtons is a force given in kN.
func Kilonewtons(v float64) Newtons { return Newtons(v * 1e3) }

// Kilowatts is a power given in kW.
func Kilowatts(v float64) Watts { return Watts(v * 1e3) }

// KilometresPerHour is a speed given in km/h.
func KilometresPerHour(v float64) MetresPerSecond { return MetresPerSecond(v / 3.6) }

// Minutes is a time given in min.
func Minutes(v float64) Seconds { return Seconds(v * 60) }

// LitresPerMinute is a flow of free air given in L/min.
func LitresPerMinute(v float64) FreeAir { return FreeAir(v / 60e3) }

// Celsius is a temperature given in °C.
func Celsius(v float64) Kelvin { return Kelvin(v + zeroC) }

// Degrees is an angle given in degrees.
func Degrees(v float64) Radians { return Radians(v * degree) }

// KPaPerMinute is a change of pressure given in kPa/min.
func KPaPerMinute(v float64) PascalsPerSecond { return PascalsPerSecond(v * 1e3 / 60) }

// KPa is the pressure in kPa.
func (g Gauge) KPa() float64 { return float64(g) / 1e3 }

// Bar is the pressure in bar.
func (g Gauge) Bar() float64 { return float64(g) / 1e5 }

// PSI is the pressure in pounds per square inch.
func (g Gauge) PSI() float64 { return float64(g) / psi }

// KgfPerCm2 is the pressure in kgf/cm².
func (g Gauge) KgfPerCm2() float64 { return float64(g) / kgfPerCm2 }

// KPa is the pressure in kPa above nothing.
func (a Absolute) KPa() float64 { return float64(a) / 1e3 }

// PSI is the pressure in pounds per square inch above nothing.
func (a Absolute) PSI() float64 { return float64(a) / psi }

// Millimetres is the length in mm.
func (l Metres) Millimetres() float64 { return float64(l) * 1e3 }

// Inches is the length in inches.
func (l Metres) Inches() float64 { return float64(l) / inch }

// Feet is the length in feet.
func (l Metres) Feet() float64 { return float64(l) / foot }

// SquareMillimetres is the area in mm².
func (a SquareMetres) SquareMillimetres() float64 { return float64(a) * 1e6 }

// Litres is the volume in L.
func (v CubicMetres) Litres() float64 { return float64(v) * 1e3 }

// CubicInches is the volume in cubic inches.
func (v CubicMetres) CubicInches() float64 { return float64(v) / cubicInch }

// Tonnes is the mass in t.
func (m Kilograms) Tonnes() float64 { return float64(m) / 1e3 }

// Pounds is the mass in lb.
func (m Kilograms) Pounds() float64 { return float64(m) / pound }

// ShortTons is the mass in tons of 2000 lb.
func (m Kilograms) ShortTons() float64 { return float64(m) / shortTon }

// Kilonewtons is the force in kN.
func (f Newtons) Kilonewtons() float64 { return float64(f) / 1e3 }

// PoundsForce is the force in lbf.
func (f Newtons) PoundsForce() float64 { return float64(f) / poundF }

// Kilowatts is the power in kW.
func (p Watts) Kilowatts() float64 { return float64(p) / 1e3 }

// Horsepower is the power in hp.
func (p Watts) Horsepower() float64 { return float64(p) / horse }

// KilometresPerHour is the speed in km/h.
func (s MetresPerSecond) KilometresPerHour() float64 { return float64(s) * 3.6 }

// MilesPerHour is the speed in mph.
func (s MetresPerSecond) MilesPerHour() float64 { return float64(s) * 3600 / mile }

// Minutes is the time in min.
func (s Seconds) Minutes() float64 { return float64(s) / 60 }

// LitresPerMinute is the flow in L/min of free air.
func (f FreeAir) LitresPerMinute() float64 { return float64(f) * 60e3 }

// CubicFeetPerMinute is the flow in cubic feet of free air a minute.
func (f FreeAir) CubicFeetPerMinute() float64 { return float64(f) * 60 / cubicFoot }

// Celsius is the temperature in °C.
func (t Kelvin) Celsius() float64 { return float64(t) - zeroC }

// Fahrenheit is the temperature in °F.
func (t Kelvin) Fahrenheit() float64 { return t.Celsius()*1.8 + 32 }

// Degrees is the angle in degrees.
func (a Radians) Degrees() float64 { return float64(a) / degree }

// KPaPerMinute is the change in kPa/min.
func (r PascalsPerSecond) KPaPerMinute() float64 { return float64(r) * 60 / 1e3 }

// Range is a span of SI values, ends included.
type Range struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Holds says whether v stands in the range.
func (r Range) Holds(v float64) bool { return v >= r.Low && v <= r.High }
