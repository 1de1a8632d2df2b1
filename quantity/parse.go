package quantity

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Kind is what is measured.
type Kind int

// The kinds of measure. Count has no unit; a ratio and a percentage are counts. Pressure
// is gauge, AbsolutePressure is what was written with "abs". Rate is pressure per time.
const (
	Count Kind = iota
	Pressure
	AbsolutePressure
	Length
	Area
	Volume
	Mass
	Time
	Power
	Force
	Speed
	Flow
	Temperature
	Voltage
	Current
	Angle
	Rate
)

func (k Kind) String() string {
	names := []string{"number without a unit", "pressure", "absolute pressure", "length", "area", "volume", "mass", "time", "power", "force",
		"speed", "flow", "temperature", "voltage", "current", "angle", "pressure per time"}
	if k < 0 || int(k) >= len(names) {
		return "unknown kind"
	}
	return names[k]
}

// MarshalText writes a kind by its name, so that programs need no list of numbers.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (k *Kind) UnmarshalText(text []byte) error {
	for x := Kind(0); x.String() != "unknown kind"; x++ {
		if x.String() == string(text) {
			*k = x
			return nil
		}
	}
	return fmt.Errorf("no kind of measure %q", text)
}

// Value is one measure: its kind, its SI value and the spread on either side of it, both
// SI. A gauge pressure is in Pa above the atmosphere; a spread of 0 was not stated.
type Value struct {
	Kind   Kind    `json:"kind"`
	SI     float64 `json:"si"`
	Spread float64 `json:"spread"`
}

// Unit is one unit that can be read.
type Unit struct {
	Name   string
	Kind   Kind
	Factor float64 // SI for one
	Offset float64 // SI of zero
}

// KnownUnits lists every unit that Parse reads, in a fixed order: the first of a kind is
// the one that a complaint names as an example.
func KnownUnits() []Unit { return slices.Clone(units()) }

// units is the list itself, made once: a record holds thousands of quantities.
var units = sync.OnceValue(func() []Unit {
	us := []Unit{
		{"kPa", Pressure, 1e3, 0}, {"Pa", Pressure, 1, 0}, {"MPa", Pressure, 1e6, 0}, {"bar", Pressure, 1e5, 0}, {"mbar", Pressure, 100, 0},
		{"psi", Pressure, psi, 0}, {"kgf/cm2", Pressure, kgfPerCm2, 0}, {"kgf/cm²", Pressure, kgfPerCm2, 0}, {"kg/cm2", Pressure, kgfPerCm2, 0},
		{"mm", Length, 1e-3, 0}, {"m", Length, 1, 0}, {"cm", Length, 1e-2, 0}, {"km", Length, 1e3, 0}, {"in", Length, inch, 0}, {"ft", Length, foot, 0}, {"mi", Length, mile, 0},
		{"mm2", Area, 1e-6, 0}, {"mm²", Area, 1e-6, 0}, {"cm2", Area, 1e-4, 0}, {"cm²", Area, 1e-4, 0}, {"m2", Area, 1, 0}, {"m²", Area, 1, 0}, {"in2", Area, inch * inch, 0}, {"ft2", Area, foot * foot, 0},
		{"L", Volume, 1e-3, 0}, {"l", Volume, 1e-3, 0}, {"mL", Volume, 1e-6, 0}, {"ml", Volume, 1e-6, 0}, {"m3", Volume, 1, 0}, {"m³", Volume, 1, 0}, {"cm3", Volume, 1e-6, 0}, {"in3", Volume, cubicInch, 0}, {"ft3", Volume, cubicFoot, 0},
		{"t", Mass, 1e3, 0}, {"kg", Mass, 1, 0}, {"g", Mass, 1e-3, 0}, {"lb", Mass, pound, 0}, {"short tons", Mass, shortTon, 0},
		{"s", Time, 1, 0}, {"ms", Time, 1e-3, 0}, {"min", Time, 60, 0}, {"h", Time, 3600, 0}, {"d", Time, 86400, 0}, {"days", Time, 86400, 0}, {"day", Time, 86400, 0}, {"weeks", Time, 7 * 86400, 0},
		{"kW", Power, 1e3, 0}, {"W", Power, 1, 0}, {"MW", Power, 1e6, 0}, {"hp", Power, horse, 0},
		{"kN", Force, 1e3, 0}, {"N", Force, 1, 0}, {"lbf", Force, poundF, 0}, {"kgf", Force, gravity, 0},
		{"km/h", Speed, 1 / 3.6, 0}, {"m/s", Speed, 1, 0}, {"mph", Speed, mile / 3600, 0},
		{"L/min", Flow, 1e-3 / 60, 0}, {"l/min", Flow, 1e-3 / 60, 0}, {"L/s", Flow, 1e-3, 0}, {"m3/min", Flow, 1.0 / 60, 0}, {"m³/min", Flow, 1.0 / 60, 0}, {"m3/h", Flow, 1.0 / 3600, 0}, {"m3/s", Flow, 1, 0}, {"cfm", Flow, cubicFoot / 60, 0},
		{"°C", Temperature, 1, zeroC}, {"degC", Temperature, 1, zeroC}, {"C", Temperature, 1, zeroC}, {"K", Temperature, 1, 0}, {"°F", Temperature, 5.0 / 9, zeroC - 32*5.0/9}, {"degF", Temperature, 5.0 / 9, zeroC - 32*5.0/9},
		{"V", Voltage, 1, 0}, {"mV", Voltage, 1e-3, 0}, {"kV", Voltage, 1e3, 0},
		{"A", Current, 1, 0}, {"mA", Current, 1e-3, 0},
		{"deg", Angle, degree, 0}, {"°", Angle, degree, 0}, {"rad", Angle, 1, 0},
		{"%", Count, 1e-2, 0}, {"per cent", Count, 1e-2, 0},
		{"kPa/min", Rate, 1e3 / 60, 0}, {"kPa/s", Rate, 1e3, 0}, {"Pa/s", Rate, 1, 0}, {"bar/min", Rate, 1e5 / 60, 0}, {"bar/s", Rate, 1e5, 0}, {"psi/min", Rate, psi / 60, 0}, {"psi/s", Rate, psi, 0},
	}
	for _, u := range slices.Clone(us) {
		if u.Kind == Pressure {
			us = append(us, Unit{u.Name + " abs", AbsolutePressure, u.Factor, 0})
		}
	}
	return us
})

// UnitOf finds a unit by its name as written.
func UnitOf(name string) (Unit, bool) {
	name = strings.Join(strings.Fields(name), " ")
	name = strings.TrimSuffix(name, " gauge")
	for _, u := range units() {
		if u.Name == name {
			return u, true
		}
	}
	return Unit{}, false
}

// Example is the first unit of a kind, for a complaint; empty for a count.
func (k Kind) Example() string {
	for _, u := range units() {
		if u.Kind == k && k != Count {
			return u.Name
		}
	}
	return ""
}

// Fault is the reason why a text is no quantity.
type Fault int

// The reasons.
const (
	NotANumber     Fault = iota // it does not begin with a number
	AmbiguousComma              // "1,250" may be a little over one, or more than a thousand
	UnknownUnit
	BadSpread // what follows ± is no spread of the same kind, or is negative
	TooLarge
)

// Error says why a text is no quantity.
type Error struct {
	Fault   Fault
	Text    string // the offending part
	Nearest string // the nearest unit, or what could have been meant
}

func (e *Error) Error() string {
	var s string
	switch e.Fault {
	case NotANumber:
		s = "no number in " + strconv.Quote(e.Text)
	case AmbiguousComma:
		s = "the comma in " + strconv.Quote(e.Text) + " can be read in two ways; write the thousand without it, or a point"
	case UnknownUnit:
		s = "no unit " + strconv.Quote(e.Text)
	case BadSpread:
		s = "no spread of the same kind in " + strconv.Quote(e.Text)
	case TooLarge:
		s = "the number in " + strconv.Quote(e.Text) + " is too large"
	}
	if e.Nearest != "" {
		s += "; nearest: " + e.Nearest
	}
	return s
}

// Parse reads a quantity: "12 mm", "12 mm ± 0.5 mm", "12 ± 0.5 mm", "0,6 L +/- 10 %",
// "500 kPa", "601 kPa abs", "-5 °C", "4". Point and comma are both decimal marks; a comma
// before exactly three digits is refused, because it can be read in two ways.
func Parse(text string) (Value, error) {
	s := strings.TrimSpace(text)
	main, spread, has := cutSpread(s)
	n, unit, err := number(main)
	if err != nil {
		return Value{}, err
	}
	sn, sunit := 0.0, ""
	if has {
		if sn, sunit, err = number(spread); err != nil {
			return Value{}, &Error{Fault: BadSpread, Text: spread}
		}
		if sn < 0 {
			return Value{}, &Error{Fault: BadSpread, Text: spread, Nearest: strings.TrimLeft(strings.TrimSpace(spread), "-−")}
		}
		if unit == "" && sunit != "%" {
			unit = sunit
		}
		if sunit == "" {
			sunit = unit
		}
	}
	v := Value{SI: n}
	u := Unit{Factor: 1}
	if unit != "" {
		var ok bool
		if u, ok = UnitOf(unit); !ok {
			return Value{}, &Error{Fault: UnknownUnit, Text: unit, Nearest: nearestUnit(unit)}
		}
	}
	v.Kind, v.SI = u.Kind, float64(n*u.Factor)+u.Offset
	if has {
		su := Unit{Factor: 1}
		if sunit != "" {
			var ok bool
			if su, ok = UnitOf(sunit); !ok {
				return Value{}, &Error{Fault: UnknownUnit, Text: sunit, Nearest: nearestUnit(sunit)}
			}
		}
		switch {
		case sunit == "%" && unit != "%":
			v.Spread = math.Abs(v.SI) * sn / 100
		case su.Kind == v.Kind, su.Kind == Pressure && v.Kind == AbsolutePressure:
			v.Spread = sn * su.Factor
		default:
			return Value{}, &Error{Fault: BadSpread, Text: spread, Nearest: v.Kind.Example()}
		}
	}
	if math.IsInf(v.SI, 0) || math.IsInf(v.Spread, 0) || math.IsNaN(v.SI) || math.IsNaN(v.Spread) {
		return Value{}, &Error{Fault: TooLarge, Text: s}
	}
	return v, nil
}

// ParseRange reads "0 kPa .. 150 kPa" or "0 .. 150 kPa": the lower end first.
func ParseRange(text string) (Range, Kind, error) {
	a, b, ok := strings.Cut(text, "..")
	if !ok {
		return Range{}, 0, &Error{Fault: NotANumber, Text: text, Nearest: "0 kPa .. 150 kPa"}
	}
	high, err := Parse(b)
	if err != nil {
		return Range{}, 0, err
	}
	low, err := Parse(a)
	if err != nil {
		return Range{}, 0, err
	}
	if low.Kind == Count && high.Kind != Count {
		_, unit, err := number(b)
		if err != nil {
			return Range{}, 0, err
		}
		if low, err = Parse(strings.TrimSpace(a) + " " + unit); err != nil {
			return Range{}, 0, err
		}
	}
	if low.Kind != high.Kind || low.SI > high.SI {
		return Range{}, 0, &Error{Fault: BadSpread, Text: text, Nearest: "the lower end first, both of one kind"}
	}
	return Range{low.SI, high.SI}, high.Kind, nil
}

func cutSpread(s string) (main, spread string, ok bool) {
	for _, sign := range []string{"±", "+/-", "+-"} {
		if a, b, found := strings.Cut(s, sign); found {
			return strings.TrimSpace(a), strings.TrimSpace(b), true
		}
	}
	return s, "", false
}

// number cuts "12,5 mm" into 12.5 and "mm".
func number(s string) (float64, string, error) {
	s = strings.TrimSpace(s)
	t := strings.Replace(s, "−", "-", 1)
	i := 0
	if i < len(t) && (t[i] == '-' || t[i] == '+') {
		i++
	}
	start, mark, digits := i, -1, 0
	for ; i < len(t); i++ {
		c := t[i]
		if c >= '0' && c <= '9' {
			digits++
			continue
		}
		if (c == '.' || c == ',') && mark < 0 && i+1 < len(t) && t[i+1] >= '0' && t[i+1] <= '9' {
			mark = i
			continue
		}
		break
	}
	if digits == 0 {
		return 0, "", &Error{Fault: NotANumber, Text: s}
	}
	num, unit := t[:i], strings.TrimSpace(t[i:])
	if strings.HasPrefix(unit, ",") || strings.HasPrefix(unit, ".") || (unit != "" && unit[0] >= '0' && unit[0] <= '9') {
		return 0, "", &Error{Fault: NotANumber, Text: s}
	}
	if mark >= 0 && t[mark] == ',' {
		whole := t[start:mark]
		if i-mark-1 == 3 && strings.TrimLeft(whole, "0") != "" && len(whole) <= 3 {
			return 0, "", &Error{Fault: AmbiguousComma, Text: num, Nearest: t[:mark] + num[mark+1:] + " or " + t[:mark] + "." + num[mark+1:]}
		}
		num = t[:mark] + "." + num[mark+1:]
	}
	v, err := strconv.ParseFloat(num, 64)
	if err != nil {
		return 0, "", &Error{Fault: TooLarge, Text: s}
	}
	return v, unit, nil
}

// nearestUnit is the unit most like what was written: first the same letters in another
// case, then the fewest letters changed. Text that is far from every unit has none.
func nearestUnit(word string) string {
	w := strings.Join(strings.Fields(word), " ")
	for _, u := range units() {
		if strings.EqualFold(u.Name, w) {
			return u.Name
		}
	}
	for _, alias := range [][2]string{{"litre", "L"}, {"litres", "L"}, {"liter", "L"}, {"metre", "m"}, {"metres", "m"}, {"inch", "in"}, {"inches", "in"}, {"sec", "s"}, {"seconds", "s"},
		{"minutes", "min"}, {"tonne", "t"}, {"tonnes", "t"}, {"kph", "km/h"}, {"kmh", "km/h"}, {"lbs", "lb"}, {"kilopascal", "kPa"}, {"degrees", "deg"}, {"amps", "A"}, {"volts", "V"}} {
		if strings.EqualFold(alias[0], w) {
			return alias[1]
		}
	}
	best, at := "", 3
	if n := len([]rune(w)); n <= 5 {
		at = 2
	}
	for _, u := range units() {
		if d := distance(strings.ToLower(w), strings.ToLower(u.Name)); d < at && d < len([]rune(w)) {
			best, at = u.Name, d
		}
	}
	return best
}

func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 40 {
		return len(x)
	}
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		prev := row[0]
		row[0] = i + 1
		for j := range y {
			cost := prev
			if x[i] != y[j] {
				cost++
			}
			prev = row[j+1]
			row[j+1] = min(cost, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(y)]
}
