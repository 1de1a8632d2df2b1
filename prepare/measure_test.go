package prepare

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"headstock/quantity"
	"headstock/rule"
)

func judged(t *testing.T, unit string, number int, lines ...string) []Result {
	t.Helper()
	f := railway(t)
	c, _ := f.Class(unit)
	u, _ := f.Unit(unit, number)
	var es []Entry
	for i, l := range lines {
		p := strings.Split(l, ",")
		es = append(es, Entry{Line: i + 2, Item: p[0], Part: p[1], Reading: p[2], Value: p[3]})
	}
	rs, err := Measure(c, u, rule.Standard(), es)
	if err != nil {
		t.Fatal(err)
	}
	return rs
}

func only(t *testing.T, rs []Result) Result {
	t.Helper()
	if len(rs) != 1 {
		t.Fatalf("%d results: %+v", len(rs), rs)
	}
	return rs[0]
}

// The record of the demo: stand-out 20 mm released, travel 70 to 115 mm, usual travel 90 mm,
// total possible 160 mm (all invented).
func TestTravelIsAppliedLessReleased(t *testing.T) {
	for _, c := range []struct {
		lines  []string
		status string
		mm     float64
		says   string
	}{
		{[]string{"travel-1,3,applied,112 mm", "travel-1,3,released,21 mm"}, Within, 91, ""},
		{[]string{"travel-1,3,applied,112 mm"}, Within, 92, "released from record"},
		{[]string{"travel-1,3,applied,140 mm", "travel-1,3,released,20 mm"}, Outside, 120, ""},
		{[]string{"travel-1,3,applied,80 mm", "travel-1,3,released,20 mm"}, Ask, 0, "is it the travel already"},
		{[]string{"travel-1,3,applied,60 mm", "travel-1,3,released,20 mm"}, Outside, 40, ""},
		{[]string{"travel-1,3,travel,128 mm"}, Ask, 0, "less released it fits"},
		{[]string{"travel-1,3,,128 mm"}, Ask, 0, "less released it fits"},
		{[]string{"travel-1,3,travel,110 mm"}, Ask, 0, "usual stand-out"},
		{[]string{"travel-1,3,travel,95 mm"}, Within, 95, ""},
		{[]string{"travel-1,3,travel,150 mm"}, Outside, 150, ""},
		{[]string{"travel-1,3,travel,60 mm"}, Outside, 60, ""},
		{[]string{"travel-1,3,applied,112 mm", "travel-1,3,released,20 mm", "travel-1,3,travel,112 mm"}, Ask, 0, "travel is the stand-out"},
		{[]string{"travel-1,3,applied,112 mm", "travel-1,3,released,20 mm", "travel-1,3,travel,85 mm"}, Ask, 0, "travel disagrees"},
		{[]string{"travel-1,3,applied,15 mm", "travel-1,3,released,20 mm"}, Ask, 0, "applied below released"},
		{[]string{"travel-1,3,released,20 mm"}, Cannot, 0, "needs applied"},
		{[]string{"bogie-1-piston,3,applied,112 mm"}, Within, 92, "released from record"},
	} {
		r := only(t, judged(t, "Kite", 11, c.lines...))
		if r.Status != c.status || r.Known && math.Abs(r.Value*1e3-c.mm) > 1e-6 || r.Known == (c.mm == 0) {
			t.Errorf("%q: %s, %v mm; want %s, %v", c.lines, r.Status, r.Value*1e3, c.status, c.mm)
		}
		if c.says != "" && (len(r.Says) == 0 || r.Says[0].Kind != c.says) {
			t.Errorf("%q says %+v, want %q", c.lines, r.Says, c.says)
		}
		if r.Status == Outside && (r.Then == "" || r.Outside == "") {
			t.Errorf("%q: outside, and no word of what then", c.lines)
		}
	}
}

// A stand-out entered for a travel is never called within when the true travel is too short
// or too long by as much as the released stand-out.
func TestForgottenStandOutIsNeverJudgedWithin(t *testing.T) {
	f := railway(t)
	c, _ := f.Class("Kite")
	u, _ := f.Unit("Kite", 11)
	rapid.Check(t, func(t *rapid.T) {
		applied := float64(rapid.IntRange(20, 200).Draw(t, "applied mm"))
		rs, err := Measure(c, u, rule.Standard(), []Entry{
			{2, "travel-1", "1", "applied", mm(applied)}, {3, "travel-1", "1", "released", "20 mm"}, {4, "travel-1", "1", "travel", mm(applied)}})
		if err != nil {
			t.Fatal(err)
		}
		if rs[0].Status == Within || rs[0].Status == Outside {
			t.Fatalf("%v mm entered for both is %s", applied, rs[0].Status)
		}
	})
}

func mm(v float64) string { return quantity.Metric().Length(quantity.Millimetres(v)) }

func TestMeasurementsAgainstLimits(t *testing.T) {
	for _, c := range []struct {
		unit   string
		n      int
		lines  []string
		status string
		row    string // of one of the limits
		says   string
	}{
		{"Kite", 11, []string{"blocks-1,4,thickness,25 mm"}, Within, "", ""},
		{"Kite", 11, []string{"blocks-1,4,,19 mm"}, Outside, "", ""},
		{"Kite", 11, []string{"battery,,,106 V"}, Within, "", ""},
		{"Kite", 11, []string{"battery,,,103.9 V"}, Outside, "", ""},
		{"Kite", 11, []string{"main-air-leak,,start,490 kPa", "main-air-leak,,end,450 kPa", "main-air-leak,,time,3 min"}, Within, "INS-008", ""},
		{"Kite", 11, []string{"main-air-leak,,start,490 kPa", "main-air-leak,,end,425 kPa", "main-air-leak,,time,3 min"}, Outside, "INS-008", ""},
		{"Kite", 11, []string{"main-air-leak,,start,490 kPa", "main-air-leak,,end,480 kPa", "main-air-leak,,time,1 min"}, Ask, "", "timed too short"},
		{"Kite", 11, []string{"main-air-leak,,start,490 kPa", "main-air-leak,,end,495 kPa", "main-air-leak,,time,3 min"}, Ask, "", "it rose"},
		{"Kite", 11, []string{"main-air-leak,,start,700 kPa", "main-air-leak,,end,690 kPa", "main-air-leak,,time,3 min"}, Within, "INS-008", "starts too high"},
		{"Kite", 11, []string{"pipe-gauge,,shows,500 kPa", "pipe-gauge,,test gauge,485 kPa"}, Outside, "INS-018", ""}, // the record allows 10 kPa
		{"Kite", 11, []string{"pipe-gauge,,shows,492 kPa", "pipe-gauge,,test gauge,485 kPa"}, Within, "INS-018", ""},
		{"Kite", 11, []string{"coupler-height-1,,,790 mm"}, Within, "", ""},
		{"Kite", 11, []string{"coupler-1,,height,760 mm"}, Outside, "", "local height"},
		{"Kite", 11, []string{"wheels-1,axle 1,inside gauge,980 mm"}, Within, "INS-049", ""},
		{"Kite", 11, []string{"wheels-1,axle 1,inside gauge,988 mm"}, Outside, "INS-049", ""},
		{"Kite", 11, []string{"wheels-1,axle 1 left,diameter,900 mm", "wheels-1,axle 1 right,diameter,901 mm"}, Within, "INS-043", ""},
		{"Kite", 11, []string{"wheels-1,axle 1 left,circumference,2827 mm", "wheels-1,axle 1 right,circumference,2835 mm"}, Outside, "INS-043", ""},
		{"Kite", 11, []string{"air-compressor,,orifice,9 mm", "air-compressor,,held,420 kPa"}, Within, "INS-099", ""},
		{"Kite", 11, []string{"air-compressor,,orifice,4 mm", "air-compressor,,held,420 kPa"}, Outside, "INS-099", ""},
		{"Kite", 11, []string{"main-reservoir-1,,certified,1000 kPa", "main-reservoir-1,,radius,300 mm", "main-reservoir-1,,strength,400 MPa", "main-reservoir-1,,depth,2.5 mm"}, Within, "INS-032", ""},
		{"Kite", 11, []string{"main-reservoir-1,,certified,1000 kPa", "main-reservoir-1,,radius,300 mm", "main-reservoir-1,,depth,2.5 mm"}, Cannot, "", "needs tell-tale"},
		{"Brant", 1, []string{"lap-leakage,,start,400 kPa", "lap-leakage,,end,360 kPa", "lap-leakage,,time,1 min"}, Outside, "INS-010", ""},
		{"Brant", 1, []string{"travel-1,2,applied,150 mm"}, Within, "", "released from record"},
		{"HX", 201, []string{"travel,,applied,240 mm", "travel,,released,40 mm"}, Within, "", ""},
		{"Kite", 11, []string{"hold-off-slots-cabs,,,5 mm"}, Cannot, "", "no limit"},
	} {
		rs := judged(t, c.unit, c.n, c.lines...)
		r := rs[0]
		if r.Status != c.status {
			t.Errorf("%s %q: %s %+v, want %s", c.unit, c.lines, r.Status, r, c.status)
		}
		if c.row != "" {
			found := false
			for _, x := range rs {
				for _, h := range x.Held {
					found = found || h.Row == c.row
				}
			}
			if !found {
				t.Errorf("%q is not held against %s: %+v", c.lines, c.row, rs)
			}
		}
		if c.says != "" && (len(r.Says) == 0 || r.Says[0].Kind != c.says) {
			t.Errorf("%q says %+v, want %q", c.lines, r.Says, c.says)
		}
	}
}

func TestMeasureRefusesBadLines(t *testing.T) {
	f := railway(t)
	c, _ := f.Class("Kite")
	u, _ := f.Unit("Kite", 11)
	for _, e := range [][]Entry{
		{{2, "travl-1", "", "applied", "112 mm"}},
		{{2, "travel-1", "", "applied", "112 kPa"}},
		{{2, "travel-1", "", "applied", "wide"}},
		{{2, "battery", "", "", "106 kPa"}},
		{{2, "travel-1", "", "applied", "112 mm"}, {3, "travel-1", "", "applied", "113 mm"}},
	} {
		var bad *Malformed
		if _, err := Measure(c, u, rule.Standard(), e); !errors.As(err, &bad) || bad.Line < 2 {
			t.Errorf("%+v: %v", e, err)
		}
	}
}
