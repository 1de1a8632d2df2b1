package calibrate_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"headstock/calibrate"
)

// The two forms of a table, with heads, units and marks as recorders and people write them.
func TestRead(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	for name, table := range map[string]string{
		"long":       "time s,place,pressure kPa\n0.5,brake-pipe,498\n1,reservoir-1,400.5\n",
		"cells":      "place;pressure;time\nRig 1 brake pipe;498 kPa;0,5 s\nreservoir-1;400,5 kPa;1\n",
		"named":      "# taken on the rig\n\"advice, first\"\ntime [s],place,pressure (kPa gauge)\n0.5,Rig 1.brake-pipe-gauge,498\n1,reservoir 1,400.5\n",
		"wide":       "time s,Rig 1 brake pipe kPa gauge,reservoir-1 bar\n0.5,498,\n1,,4.005\n",
		"other unit": "time min,brake-pipe kPa,reservoir-1 kPa\n0.5 s,498,\n1 s,,400.5\n",
	} {
		t.Run(name, func(t *testing.T) {
			s, err := calibrate.Read(c, 0, "a.csv", []byte(table), "charge")
			if err != nil {
				t.Fatal(err)
			}
			if len(s) != 2 {
				t.Fatalf("%d pressures: %+v", len(s), s)
			}
			for i, want := range []calibrate.Sample{{Time: 0.5, Element: "brake-pipe", Pressure: 498e3}, {Time: 1, Element: "reservoir-1", Pressure: 400.5e3}} {
				if got := s[i]; got.Time != want.Time || got.Element != want.Element || math.Abs(got.Pressure-want.Pressure) > 1e-6 || got.Step != "charge" {
					t.Errorf("%+v, want %+v", got, want)
				}
			}
		})
	}
	s, err := calibrate.Read(c, 0, "a.csv", []byte("step,time,place,pressure kPa\nleakage,,brake-pipe,490\ncharge,3,brake-pipe,480\n,4,brake-pipe,481\n"), "pump")
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsNaN(s[0].Time) || s[0].Step != "leakage" || s[1].Step != "charge" || s[1].Time != 3 || s[2].Step != "pump" {
		t.Errorf("%+v", s)
	}
}

// What is wrong is said with its place, what was expected, and the nearest name.
func TestMalformed(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	head := "time s,place,pressure kPa\n"
	for _, x := range []struct{ table, says string }{
		{"", "a.csv:1:1: no row names the columns; expected a row such as"},
		{"a,b\n1,2\n", "a.csv:1:1: no row names the columns"},
		{"time s,place\n1,brake-pipe\n", "a.csv:1:1: no column holds pressures"},
		{head, "a.csv:1:1: no pressure stands under the head"},
		{head + "1,brake-pip,400\n", `a.csv:2:3: Rig 1 has no air at "brake-pip"; expected a volume, cylinder or pipe of its record, or a gauge; nearest: brake-pipe`},
		{head + "1,brake-pipe,4oo\n", `a.csv:2:14: "4oo" is no pressure`},
		{head + "one,brake-pipe,400\n", `a.csv:2:1: "one" is no time`},
		{head + "-1,brake-pipe,400\n", `a.csv:2:1: the time "-1" lies outside the procedure`},
		{head + "1,brake-pipe,400 mm\n", `a.csv:2:14: "400 mm" is a length; expected a pressure`},
		{head + "1,brake-pipe,400 kPa abs\n", `a.csv:2:14: "400 kPa abs" is an absolute pressure; expected a pressure above atmosphere (gauge)`},
		{head + "1,brake-pipe,400000\n", `a.csv:2:14: "400000" is no pressure that a brake has`},
		{head + "1,,400\n", "a.csv:2:4: a pressure without a place"},
		{head + ",brake-pipe,400\n", "a.csv:2:13: a pressure has neither a time nor a step"},
		{head + "1,brake-pipe,400,5\n", `a.csv:2:18: "5" stands in a column without a head`},
		{"time s,place,pressure kPa abs\n1,brake-pipe,400\n", `a.csv:1:14: "pressure kPa abs" are absolute pressures`},
		{"time s,place,presure kPa\n1,brake-pipe,400\n", `a.csv:1:14: no column "presure kPa"; expected time, place, pressure, and step where times count from one; nearest: pressure`},
		{"time kPa,place,pressure kPa\n1,brake-pipe,400\n", `a.csv:1:1: "time kPa" has the unit of a pressure`},
		{"time s,place,pressure\n1,brake-pipe,400\n", `a.csv:2:14: "400" has no unit, and the head of its column has none`},
		{"time s,time s,place,pressure kPa\n", `a.csv:1:8: the column "time s" stands twice`},
		{head + "1,\"brake-pipe,400\n", "a.csv:2:"},
	} {
		_, err := calibrate.Read(c, 0, "a.csv", []byte(x.table), "")
		var m *calibrate.Malformed
		if !errors.As(err, &m) || !strings.HasPrefix(err.Error(), x.says) {
			t.Errorf("%q: %v, want %s", x.table, err, x.says)
		}
	}
	// what only the procedure can tell
	for _, x := range []struct{ table, says string }{
		{"time s,place,pressure kPa\n1,supply,400\n2,supply,400\n", "a.csv:2:10: no curve is drawn of supply of Rig 1; expected one of brake-pipe, reservoir-1; or a row without a time"},
		{"time s,place,pressure kPa\n9000,brake-pipe,400\n1,brake-pipe,400\n", "a.csv:2:17: a pressure at 9000 s, and the procedure rig ends after"},
		{"step,time s,place,pressure kPa\nchrge,1,brake-pipe,400\ncharge,1,brake-pipe,400\n", `a.csv:2:20: the procedure rig has no step "chrge"; expected one of pump, charge, leakage, reduction; nearest: charge`},
		{"step,place,pressure kPa\ncharge,second,400\ncharge,brake-pipe,4\n", `a.csv:2:8: Rig 1 has no air at "second"`},
	} {
		s, err := calibrate.Read(c, 0, "a.csv", []byte(x.table), "")
		if err == nil {
			_, err = inquire(t, c, s, "branch-choke.bore").Run()
		}
		if err == nil || !strings.HasPrefix(err.Error(), x.says) {
			t.Errorf("%q: %v, want %s", x.table, err, x.says)
		}
	}
}

// A figure is asked for by element and figure; what is wrong with that is said with what
// there is.
func TestNamed(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	p, err := calibrate.Named(c, 0, " branch-choke.bore = 2 mm .. 4 mm")
	if err != nil || p.Low != 2e-3 || p.High != 4e-3 || p.Bounds != calibrate.ByAsking {
		t.Errorf("%+v, %v", p, err)
	}
	if p, err = calibrate.Named(c, 0, "brake-pipe-leak.bore"); err != nil || math.Abs(p.Low-1e-4) > 1e-9 || math.Abs(p.High-2.5e-3) > 1e-9 || p.Bounds != calibrate.ByUsual {
		t.Errorf("%+v, %v", p, err)
	}
	for _, x := range []struct{ text, says string }{
		{"branch-choke", `"branch-choke" names no figure; expected an element of Rig 1 and one of its figures with a point between`},
		{"branch-chok.bore", `Rig 1 has no air element "branch-chok" with figures; expected an element of its record; nearest: branch-choke`},
		{"second-leak.bore", `Rig 1 has no air element "second-leak"`},
		{"branch-choke.bor", `branch-choke of Rig 1 has no figure "bor"; expected one of bore; nearest: bore`},
		{"branch-choke.bore = wide", `"wide" are no bounds`},
		{"branch-choke.bore = 4 mm .. 2 mm", `"4 mm .. 2 mm" are no bounds of branch-choke.bore; expected the lower end first`},
		{"branch-choke.bore = 2 mm .. 2 mm", "the bounds of branch-choke.bore are 2 mm .. 2 mm; expected the lower one first"},
		{"branch-choke.bore = 1 kPa .. 2 kPa", "branch-choke.bore is a length, and its bounds are given as a pressure"},
	} {
		if _, err := calibrate.Named(c, 0, x.text); err == nil || !strings.HasPrefix(err.Error(), x.says) {
			t.Errorf("%s: %v, want %s", x.text, err, x.says)
		}
	}
}

// Too little to go by is an error, not an answer.
func TestTooLittle(t *testing.T) {
	c := onRig(t, "Rig 1 alone")
	for want, q := range map[string]calibrate.Inquiry{
		"no measured pressures":                inquire(t, c, nil, "branch-choke.bore"),
		"no figures to fit":                    inquire(t, c, make([]calibrate.Sample, 3)),
		"1 measured pressures for 1 figures; ": inquire(t, c, make([]calibrate.Sample, 1), "branch-choke.bore"),
	} {
		if _, err := q.Run(); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	c := onRig(f, "Rig 1 alone")
	for _, s := range []string{"time s,place,pressure kPa\n0.5,brake-pipe,498\n", "time s,Rig 1 brake pipe kPa gauge\n1,2\n", "step;place;pressure\ncharge;reservoir-1;4 bar\n", "time,\n,,\n", "\ufefftime s\tplace\tpressure psi\n1\tRig 1.\t5\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, table string) {
		s, err := calibrate.Read(c, 0, "a.csv", []byte(table), "")
		if err != nil {
			var m *calibrate.Malformed
			if !errors.As(err, &m) || m.Pos.Line == 0 {
				t.Fatalf("an error without a place: %v", err)
			}
			return
		}
		for _, x := range s {
			if math.IsNaN(x.Pressure) || math.IsInf(x.Pressure, 0) || x.Time < 0 || x.Element == "" {
				t.Fatalf("%+v", x)
			}
		}
	})
}
