package motion

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"headstock/internal/outside"
)

// Rows of the collected cases of haulage that speak of traction, resistance, running and
// train forces. Their figures and tolerances stand in testdata/haul_cases.csv.

type caseRow struct {
	id, what, unit, how string
	low, high, within   float64
}

func rows(t *testing.T) map[string]caseRow {
	t.Helper()
	f, err := os.Open("testdata/haul_cases.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]caseRow{}
	for _, r := range all[1:] {
		c := caseRow{id: r[0], what: r[1], unit: r[4], how: r[7]}
		if r[2] != "" {
			c.what += "; " + r[2]
		}
		low, high, _ := strings.Cut(strings.ReplaceAll(r[3], "-", " to "), " to ")
		if strings.Contains(r[3], "below") {
			continue
		}
		c.low, err = strconv.ParseFloat(strings.TrimSpace(low), 64)
		if err != nil {
			t.Fatalf("%s: %v", c.id, err)
		}
		c.high = c.low
		if high != "" {
			if c.high, err = strconv.ParseFloat(strings.TrimSpace(high), 64); err != nil {
				t.Fatalf("%s: %v", c.id, err)
			}
		}
		if c.within, err = strconv.ParseFloat(r[5], 64); err != nil {
			t.Fatalf("%s: %v", c.id, err)
		}
		if c.unit == "-" {
			c.unit = ""
		}
		out[c.id] = c
	}
	return out
}

// leftOut are the rows of these subjects that are not held, with the reason.
var leftOut = map[string]string{
	"TRC-10": "its inputs stand in a row that was not collected",
	"LTD-16": "collected as a trap: its dimensions are absurd and its speed has a slip of ten",
	"RUN-16": "plain geometry of a speed-time diagram; nothing in the house reckons so",
	"LOD-05": "a rating ton is a measure of one book that nothing in the house uses",
	"LOD-06": "the same",
	"RES-32": "the same; the figure itself is read and not derived",
}

type answer struct {
	id, by string
	ours   float64
}

func hold(t *testing.T, prefix []string, answers []answer) {
	t.Helper()
	b := outside.Open(t)
	all := rows(t)
	done := map[string]bool{}
	for _, a := range answers {
		r, ok := all[a.id]
		if !ok {
			t.Errorf("no row %s", a.id)
			continue
		}
		done[a.id] = true
		why := "as the row allows: the rounding of what is printed"
		within := r.within
		if within == 0 {
			why = "as printed"
			within = 1e-9 * math.Abs(r.high)
		}
		c := outside.Within(a.id, a.by, r.what, r.low, r.high, a.ours, r.unit, within, why)
		switch {
		case strings.HasPrefix(r.how, "formula from memory"):
			c = c.As(outside.FromMemory)
		case r.how == "read", a.id == "TRC-01", a.id == "TRC-04": // a product of two printed figures proves nothing here
			c = c.As(outside.Restated)
		}
		if a.id == "LOD-03" {
			c = c.Missed("the book raises a load to the next whole ton; ours is 836.3 and is rounded down where it is shown")
		}
		b.Hold(c)
	}
	for id, r := range all {
		if done[id] || leftOut[id] != "" || strings.HasPrefix(r.how, "computed here") {
			continue
		}
		for _, p := range prefix {
			if strings.HasPrefix(id, p) {
				t.Errorf("%s is neither held nor left out with a reason", id)
			}
		}
	}
}

func form(t *testing.T, name string, b Body, speed float64) float64 {
	t.Helper()
	f, ok := FormNamed(name)
	if !ok {
		t.Fatalf("no form %q", name)
	}
	s, err := f.Specific(b, speed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func curve(t *testing.T, name string, radius float64) float64 {
	t.Helper()
	f, ok := CurveFormNamed(name)
	if !ok {
		t.Fatalf("no form %q", name)
	}
	return f.Specific(radius)
}

func starting(t *testing.T, name string, axle float64) float64 {
	t.Helper()
	s, ok := StartingNamed(name)
	if !ok {
		t.Fatalf("no way %q", name)
	}
	return s.Specific(Body{Mass: 4 * axle, Axles: 4})
}

func TestResistancePublished(t *testing.T) {
	car := Body{Mass: 143 * shortTon, Axles: 4, Area: 88 * foot2}
	metric := func(name string, axle float64, n int, v float64) float64 {
		return 1000 * form(t, name, Body{Mass: axle * tonne * float64(n), Axles: n}, v*kmh)
	}
	// weight is taken at the Gravity of the house: a specific resistance given in pounds
	// per ton of mass is turned by it, to a part in three thousand
	lb := func(s float64) float64 { return s * Gravity / 9.80665 }
	wagon := Body{Mass: 4 * 17.36 * shortTon, Axles: 4, Area: 90 * foot2}
	var as []answer
	as = append(as, answer{"RES-01", "davis-1926", lb(form(t, "davis 1926 wagon", car, 50*mph)) * 2000 * 7200},
		answer{"RES-02", "davis-1926", lb(form(t, "davis 1926 wagon", car, 50*mph)) * 2000})
	for _, v := range []float64{15, 20, 30, 35, 40, 60, 70} {
		as = append(as, answer{"RES-M" + strconv.Itoa(int(v)), "molesworth", lb(form(t, "molesworth", Body{Mass: 1e5, Axles: 4}, v*mph)) * 2240})
	}
	as = append(as,
		answer{"RES-11", "pfaff-notebooks", metric("strahl wagon", 10, 4, 30)},
		answer{"RES-12", "pfaff-notebooks", metric("strahl wagon", 10, 4, 60)},
		answer{"RES-13", "rdso-2014", metric("rdso locomotive", 20.5, 6, 50)},
		answer{"RES-14", "rdso-2014", metric("rdso locomotive", 16, 6, 20)},
		answer{"RES-15", "rdso-from-memory", metric("rdso loaded wagon", 20, 4, 20)},
		answer{"RES-16", "rdso-from-memory", metric("rdso loaded wagon", 20, 4, 50)},
		answer{"RES-17", "rdso-2014", 1000 * starting(t, "roller locomotive", 20000)},
		answer{"RES-18", "rdso-2014", 1000 * starting(t, "roller wagon", 20000)},
		answer{"RES-20", "starting-japan", 1000 * Gravity * starting(t, "plain", 15000)},
		answer{"RES-21", "ptr-exercise", 1000 * starting(t, "ptr roller", 22000)},
		answer{"RES-23", "ptr-exercise", 1000 * (0.037931*starting(t, "ptr roller", 22000) + 0.962069*starting(t, "ptr roller", 21000))},
		answer{"RES-24", "ptr-exercise", Demand{Running: 3.02 / 1000 * Gravity}.Effort(184) * 1000 / Gravity},
		answer{"RES-25", "ptr", metric("ptr locomotive", 23, 8, 46.7)},
		answer{"RES-26", "ptr", metric("ptr wagon", 15.75, 4, 30)},
		answer{"RES-27", "ptr", metric("ptr wagon", 4.6, 4, 40)},
		answer{"RES-28", "tr0603", lb(form(t, "planning, good track", Body{Mass: 1e5, Axles: 4}, 10)) * 2000},
		answer{"RES-29", "tr0603", lb(form(t, "planning, poor track", Body{Mass: 1e5, Axles: 4}, 10)) * 2000},
		answer{"RES-30", "area-chapter-16", lb(form(t, "davis modified", wagon, 25*mph)) * 2000},
		answer{"RES-31", "davis-from-memory", lb(form(t, "davis 1926 wagon", wagon, 25*mph)) * 2000},
		answer{"CUR-01", "tr0603", 2000 * curve(t, "0.8 lb per ton and degree", Degree(10))},
		answer{"CUR-04", "chandra-agarwal", 1 / (1.0/300 - curve(t, "0.0004 per degree", Degree(2.99)))},
		answer{"CUR-05", "chandra-agarwal", 918.45 * (1/467.7 + curve(t, "0.0003 per degree", Degree(7.96)))},
		answer{"CUR-R300", "roeckl-1880", 1000 * curve(t, "roeckl 1435", 300)},
		answer{"CUR-R200", "roeckl-1880", 1000 * curve(t, "roeckl 1435", 200)},
		answer{"CUR-N100", "roeckl-1880", 1000 * curve(t, "roeckl 1000", 100)},
		answer{"CUR-N200", "roeckl-1880", 1000 * curve(t, "roeckl 1000", 200)},
		answer{"CUR-07", "ptr", 1000 * curve(t, "700/R", 200)},
	)
	for _, n := range []float64{80, 100, 120, 200, 400} {
		as = append(as, answer{"GRD-" + strconv.Itoa(int(n)), "molesworth", Demand{Slope: 1 / n}.PerKilogram() / Gravity * 2240})
	}
	as = append(as,
		answer{"GRD-01", "tr0603", Demand{Slope: 0.015}.PerKilogram() / Gravity * 2000},
		answer{"GRD-02", "traction-exam", Demand{Slope: 0.015, Running: 35e3 / 4500e3}.Effort(4500e3) / 1000},
		answer{"GRD-03", "ti-850-02", 100 * Demand{Running: 0.0015 * 9.80665, Gravity: 9.80665}.SlopeFor(54000*poundF, (120+20*100)*shortTon)},
	)
	hold(t, []string{"RES", "CUR", "GRD"}, as)
}

func TestLoadPublished(t *testing.T) {
	lbTon := func(v float64) float64 { return v * poundF / shortTon } // N/kg
	start := func(r, slope, g float64) Demand {
		return Demand{Running: r / 1000, Slope: slope, Acceleration: 1 / 3.6, Rotating: 0.10, Gravity: g}
	}
	d17, d20, d23 := start(45, 0.001, 9.8), start(45, 0.01, 0), start(35, 0.01, 0)
	f20 := d20.Effort(600e3) * 200 / 70
	kgf := func(v float64) float64 { return v * Gravity / 1000 }
	cold := func(f float64, bad bool) float64 { return 100 * ColdReduction(273.15+(f-32)/1.8, bad) }
	drawbar := 0.5*75700 - 20*127.0
	hold(t, []string{"LOD", "ADH", "ENG"}, []answer{
		{"LOD-02", "tr0603", (0.5*75700*poundF - Demand{Running: lbTon(20)}.Effort(127*shortTon)) / poundF},
		{"LOD-03", "tr0603", Demand{Running: lbTon(6 + 30 + 2)}.Mass(0.9*drawbar*poundF) / shortTon},
		{"LOD-07", "webb-1906", Demand{Running: lbTon(34.8)}.Mass(28200*poundF) / shortTon},
		{"LOD-09", "tr0603", Equated(1680, 10, 84)},
		{"LOD-T5", "tr0603", cold(24, false)}, {"LOD-T10", "tr0603", cold(7, false)}, {"LOD-T15", "tr0603", cold(-5, false)},
		{"LOD-T20", "tr0603", cold(-15, false)}, {"LOD-T50", "tr0603", cold(-48, false)},
		{"LOD-10", "ptr-exercise", Trailing(46000*Gravity, 184e3, Demand{Running: kgf(3.02), Slope: 0.010}, Demand{Running: kgf(1.4), Slope: 0.010}) / 1000},
		{"LOD-11", "ptr-exercise", Trailing(49680*Gravity, 0, Demand{}, Demand{Running: kgf(0.9986), Slope: 0.009}) / 1000},
		{"LOD-14", "chandra-from-memory", 1 / Demand{Running: (900 + 420) * Gravity / 480e3}.SlopeFor(15000*Gravity, 480e3)},
		{"LOD-15", "theraja", start(40, 0.02, 9.8).Adhesive(500, 0.25)},
		{"LOD-16", "theraja", math.Ceil(start(40, 0.02, 9.8).Adhesive(500, 0.25) / 21)},
		{"LOD-17", "theraja", d17.Mass(d17.Effort(600e3)*220/100)/1000 - 220},
		{"LOD-18", "theraja", 100 * d17.SlopeFor(d17.Effort(600e3)*220/100, 720e3)},
		{"LOD-19", "gupta-utilization", start(40, 0.02, 0).Adhesive(400, 0.20)},
		{"LOD-20", "gupta-utilization", d20.Mass(f20)/1000 - 230},
		{"LOD-21", "gupta-utilization", 100 * d20.SlopeFor(f20, 730e3)},
		{"LOD-22", "gupta-utilization", 3.6 * d20.AccelerationFor(f20, 730e3)},
		{"LOD-23", "dubey-drives", d23.Mass(d23.Effort(610e3)*70/88)/1000 - 70},
		{"LOD-24", "dubey-drives", Demand{Running: -0.040, Slope: 0.015}.Adhesive(5000, 0.25) / 100},
		{"LOD-25", "theraja", Demand{Running: -0.049, Slope: 1.0 / 50, Gravity: 9.8}.Effort(5000e3)},
		{"LOD-26", "theraja", math.Ceil(Demand{Running: -0.049, Slope: 1.0 / 50, Gravity: 9.8}.Effort(5000e3) / (75e3 * 9.8 * 0.30))},
		{"ADH-C00", "curtius-kniffler", CurtiusKniffler(0)}, {"ADH-C10", "curtius-kniffler", CurtiusKniffler(10 * kmh)},
		{"ADH-C20", "curtius-kniffler", CurtiusKniffler(20 * kmh)}, {"ADH-C40", "curtius-kniffler", CurtiusKniffler(40 * kmh)},
		{"ADH-C60", "curtius-kniffler", CurtiusKniffler(60 * kmh)},
		{"ADH-01", "traction-exam", rail(t, "dry sanded")}, {"ADH-02", "traction-exam", rail(t, "dry")}, {"ADH-03", "traction-exam", rail(t, "moist")},
		{"ADH-04", "koffman-1948", rail(t, "wet") / rail(t, "dry")}, {"ADH-05", "rdso-2014", WetAdhesion},
		{"ENG-01", "engine-minutes-2004", 100 * (Derate(Natural, 405, 288) - Derate(Natural, 505, 288))},
	})
}

func rail(t *testing.T, name string) float64 {
	t.Helper()
	r, ok := RailNamed(name)
	if !ok {
		t.Fatalf("no rail %q", name)
	}
	return r.Adhesion
}

func must[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

const rpm = 2 * math.Pi / 60

func TestMotorPublished(t *testing.T) {
	c := must[Curve](t)
	m := Motor{c(NewCurve([][2]float64{{50, 220}, {100, 350}, {150, 440}, {200, 500}, {250, 540}, {300, 570}})), 500 * rpm, 0.13}
	u := Motor{c(NewCurve([][2]float64{{20, 215}, {40, 381}, {60, 485}, {80, 550}})), 600 * rpm, 0.8}
	var as []answer
	for _, i := range []float64{100, 150, 200, 250, 300} {
		as = append(as, answer{"MOT-S" + strconv.Itoa(int(i)), "chakrabarti-4", m.SpeedAt(600, i, 1) / rpm})
	}
	for _, i := range []float64{50, 150, 200, 250, 300} {
		as = append(as, answer{"MOT-T" + strconv.Itoa(int(i)), "chakrabarti-4", m.Pull(i, 1)})
	}
	for _, i := range []float64{20, 40, 60, 80} {
		as = append(as, answer{"MOT-U" + strconv.Itoa(int(i)), "gupta-utilization", u.SpeedAt(600, i, 1) / rpm})
	}
	straight := func(i, e float64) Curve { return c(NewCurve([][2]float64{{0, 0}, {i, e}})) }
	two := Series{{straight(50, 485), 900, 0.3}, {straight(50, 485), 950, 0.3}}
	common := two.Speed(500, 50, 1)
	// speeds at the rail, in the rim speed of a wheel of 1 m at 1 rpm
	wheels := Series{{straight(1, 540), 500 * 0.900, 60}, {straight(1, 540), 500 * 0.860, 60}}
	rim := wheels.Speed(600, 1, 1)
	// the diverter lets two thirds through the field, and lowers its resistance
	whole, part := Motor{straight(20, 220-20*0.7), 800, 0.7}, Motor{straight(20, 220-20*0.7), 800, 0.5 + 0.2*0.4/0.6}
	old := func(v float64) Motor { return Motor{straight(1, 1), v, 0} }
	shift := func(i, r float64) float64 {
		m := Motor{straight(i, 600-i*r), 1, r}
		return m.SpeedAt(300, i, 1) / m.SpeedAt(600, i, 1)
	}
	series := Motor{straight(100, 100), 1, 0} // unsaturated: pull goes as the square of the current
	if s := whole.SpeedAt(220, 20, 1); math.Abs(s-800) > 1e-9 {
		t.Errorf("the motor without its diverter runs at %g", s)
	}
	bb := &Machine{Name: "B-B", Motor: Motor{straight(650, 300), 18 * mph, 15.0 / 650}, Mechanical: 1, Continuous: 650, Utilisation: 1,
		Generators: []Generator{{[]int{1, 2, 3, 4}, 819e3, 900, 2000}}, Groupings: []Grouping{{Strings: [][]int{{1, 2}, {3, 4}}, Field: 1}},
		Axles: []Axle{{1, 1, 170e3, 1}, {2, 1, 170e3, 1}, {3, 2, 170e3, 1}, {4, 2, 170e3, 1}}}
	p := must[Point](t)(bb.AtCurrent(0, 650))
	if p.Generator[0] != 1300 || math.Abs(p.Voltage[0]-630) > 1e-9 {
		t.Errorf("two strings of two: generator %g A, %g V", p.Generator[0], p.Voltage[0])
	}
	per := Demand{Acceleration: 42 * kmh / 20, Rotating: 0.1, Running: 0.040, Slope: 1.0 / 80}
	eight := Demand{Acceleration: 48 * kmh / 30, Rotating: 0.1, Running: 0.050, Slope: 1.0 / 200}
	four := Demand{Acceleration: 40 * kmh / 20, Rotating: 0.1, Running: 0.040, Slope: 0.01}
	as = append(as,
		answer{"MOT-01", "theraja", common},
		answer{"MOT-02", "theraja", two.Voltages(common, 50, 1)[0]},
		answer{"MOT-03", "theraja", rim / 0.900}, answer{"MOT-04", "theraja", rim / 0.860},
		answer{"MOT-05", "chakrabarti-4", part.SpeedAt(220, 20, 2.0/3)},
		answer{"MOT-G100", "chakrabarti-4", old(71).Regeared(72.0/23, 1016, 75.0/20, 1067).SpeedAt(1, 1, 1)},
		answer{"MOT-G200", "chakrabarti-4", old(50).Regeared(72.0/23, 1016, 75.0/20, 1067).SpeedAt(1, 1, 1)},
		answer{"MOT-06", "theraja", 2 * CurrentForPower(500, 0.4, 2100*50*kmh+3500)},
		answer{"MOT-07", "chakrabarti-4", 39 * shift(400, 0.1)}, answer{"MOT-08", "theraja", 80 * shift(500, 0.1)},
		answer{"MOT-10", "chakrabarti-4", 33800 * 48.3 * kmh * series.CurrentFor(53400, 1) / series.CurrentFor(33800, 1) / 746},
		answer{"TRC-01", "ntsb-1989", 10000 * poundF * 23 * mph / 745.69987158227},
		answer{"TRC-04", "b-b-data-sheet", 780 * 1050 / 1000.0},
		answer{"TRC-05", "b-b-data-sheet", p.Electrical / 1000},
		answer{"TRC-06", "b-b-data-sheet", 20500 * poundF * 18 * mph / p.Electrical},
		answer{"TRC-08", "theraja", ShaftTorque(per.Effort(250e3), 0.92, 3.5, 0.92, 4)},
		answer{"TRC-11", "gupta-utilization", ShaftTorque(eight.Effort(200e3), 0.9, 4, 0.80, 8)},
		answer{"TRC-12", "gupta-utilization", ShaftTorque(four.Effort(250e3), 0.95, 3, 0.95, 4)},
		answer{"TRC-13", "theraja", RailSpeed(44, 0.42, 75.0/18, 0.91) * 3.6},
	)
	hold(t, []string{"MOT", "TRC"}, as)
}

func TestHeatPublished(t *testing.T) {
	tau, final := TimeConstant(40, 30, 45)
	both := Heating{Tau: 100, Constant: 1}
	cyc := Heating{Tau: 60, Rest: 90}
	half := Heating{Tau: 80, Constant: 0.49} // best efficiency where both losses are equal: at 0.7 of the load
	duty := Heating{Tau: 110, Rest: 150}
	hold(t, []string{"HEA"}, []answer{
		{"HEA-01", "gupta-singhal", tau}, {"HEA-02", "gupta-singhal", final},
		{"HEA-03", "chakrabarti-4", 15 * Heating{Tau: 2}.Rating(1)},
		{"HEA-04", "chakrabarti-4", both.Until(0, 2, 1)},
		{"HEA-06", "dubey-drives", 20 * cyc.CycleRating(10, 10)},
		{"HEA-07", "dubey-drives", 100 / half.Rating(30)},
		{"HEA-08", "gupta-singhal", 50 * duty.Cycle(30, 45)},
		{"HEA-11", "chakrabarti-4", RootMeanSquare([]float64{100, 0, 60, 0}, []float64{10, 5, 8, 4})},
	})
}

func TestRunPublished(t *testing.T) {
	const foot, lb = 0.3048, 0.45359237
	g := 32.16 * foot
	head := func(feet, rotating float64) float64 { return SpeedOfHead(feet*foot, rotating, g) / mph }
	wheel := WheelSpin(700*lb, 13, 18, 20*mph) / (foot * poundF)
	stop := Demand{Running: 0.002 * Gravity, Slope: 0.02}.PerKilogram() / 1.1
	stopped, _ := SpeedingByTime(1, 10, 0, 0.1, func(float64) float64 { return -stop })
	// accelerate, hold, coast, brake on 1 per cent, per tonne
	go1 := Demand{Running: 0.050, Slope: 0.01, Acceleration: 1.6 * kmh, Rotating: 0.1}
	rest := Demand{Running: 0.050, Slope: 0.01, Rotating: 0.1}
	v := 40 * kmh
	slow := -rest.AccelerationFor(0, 1)
	_, s1 := Speeding(1, 0, v, func(float64) float64 { return 1.6 * kmh })
	s2 := v * 50
	v3 := v - slow*30
	_, s3 := Speeding(1, v, v3, func(float64) float64 { return -slow })
	_, s4 := Speeding(1, v3, 0, func(float64) float64 { return -2.56 * kmh })
	energy := (go1.Effort(1000)*s1 + rest.Effort(1000)*s2) / 3600 / 0.75
	hold(t, []string{"RUN", "LTD"}, append([]answer{
		{"RUN-01", "webb-1906", VelocityHead(20*mph, 0.05, g) / foot},
		{"RUN-03", "webb-1906", VelocityHead(44*foot, 0, g) / foot},
		{"RUN-04", "webb-1906", head(VelocityHead(44*foot, 0, g)/foot-20, 0)},
		{"RUN-05", "webb-1906", head(VelocityHead(20*mph, 0.05, g)/foot+40, 0.05)},
		{"RUN-06", "webb-1906", head(VelocityHead(30*mph, 0.05, g)/foot+40, 0.05)},
		{"RUN-08", "webb-1906", 100 * (8*wheel + 192) / (93000 * lb * (20 * mph) * (20 * mph) / 2 / (foot * poundF))},
		{"RUN-10", "webb-1906", wheel},
		{"RUN-11", "tayal", Demand{Acceleration: 25.0 / 50, Running: 15e3 / 500e3}.Effort(500e3) * 25 / 1e6},
		{"RUN-12", "gupta-utilization", stopped},
		{"RUN-13", "theraja", energy / ((s1 + s2 + s3 + s4) / 1000)},
	}, meetings()...))
}

func meetings() []answer {
	const inch, foot = 0.0254, 0.3048
	ton := longTon * 9.80665 // N
	b := Meeting{15 * longTon, 12 * mph, 5 * longTon, 8 * mph}
	x := b.Press(4 * 2 * ton / inch)
	a1, a2 := b.After(0.5)
	left := (b.Mass1*a1*a1 + b.Mass2*a2*a2) / 2
	before := (b.Mass1*b.Speed1*b.Speed1 + b.Mass2*b.Speed2*b.Speed2) / 2
	k := Meeting{10e3, 1.8, 15e3, 0.6}
	return []answer{
		{"LTD-01", "bevan", b.Common() / mph}, {"LTD-03", "bevan", x / inch}, {"LTD-04", "bevan", 2 * x / inch},
		{"LTD-05", "bevan", a1 / mph}, {"LTD-06", "bevan", a2 / mph}, {"LTD-07", "bevan", (before - left) / (foot * ton)},
		{"LTD-08", "khurmi", k.Common()}, {"LTD-09", "khurmi", k.Stored() / 1000}, {"LTD-10", "khurmi", 1000 * k.Press(4*0.7e6)},
	}
}
