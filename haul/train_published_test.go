package haul_test

import (
	"fmt"
	"io/fs"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/haul"
	"headstock/internal/outside"
	"headstock/rigging"
	"headstock/trial"
)

// The wagon of the published train stops as a record of its own: a 406 mm cylinder at 380
// kPa behind a graduated distributor whose fill bore sets the position. The bores are
// calibrated to the timing of the standard positions on one wagon (TestFillTimes): nine
// tenths and a half of the pressure in 3 to 5 s in P and 18 to 30 s in G. Where in those
// bands was settled with the stops below in sight (3.2 and 18.5 s), so these are marked
// calibrated and prove no more than that one set of bores fits all four trains.
func slipFleet(t testing.TB) *fleet.Fleet {
	t.Helper()
	files := fstest.MapFS{}
	err := fs.WalkDir(demo.Railway(), ".", func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := fs.ReadFile(demo.Railway(), p)
		files[p] = &fstest.MapFile{Data: b}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	units := string(files["units.yaml"].Data)
	for name, fill := range map[string]string{"Fast": "fill bore: 6 mm", "Slow": "fill bore: 2.3 mm"} {
		for p, f := range files {
			if !strings.HasPrefix(p, "classes/fg/") || strings.HasSuffix(p, "rigging.yaml") || strings.HasSuffix(p, "shape.yaml") || strings.Contains(p, "running") {
				continue
			}
			s := strings.ReplaceAll(string(f.Data), "class: FG", "class: "+name)
			s = strings.ReplaceAll(s, "15.6 m", "14 m")
			s = strings.ReplaceAll(s, "loaded: 54 t", "loaded: 90 t")
			s = strings.ReplaceAll(s, "cylinder: {bore: 300 mm, count: 1, travel: 120 mm", "cylinder: {bore: 406 mm, count: 1, travel: 120 mm")
			s = strings.ReplaceAll(s, "volume: 75 L", "volume: 150 L")
			s = strings.ReplaceAll(s, "fill bore: 1.5 mm", fill)
			s = strings.ReplaceAll(s, "release bore: 1.45 mm", "release bore: 3 mm, in-shot bore: 6.8 mm") // the usual 5 mm for a cylinder of 1.8 times the area
			files["classes/"+strings.ToLower(name)+strings.TrimPrefix(p, "classes/fg")] = &fstest.MapFile{Data: []byte(s)}
		}
		units = strings.Replace(units, "units:\n", "units:\n  "+name+":\n    1..30: {}\n", 1)
	}
	files["units.yaml"] = &fstest.MapFile{Data: []byte(units)}
	f, cs := fleet.Read(files)
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return f
}

// emergency charges a train, applies it in emergency, and is the pressure of each wagon's
// cylinder from the handle on.
func emergency(t testing.TB, f *fleet.Fleet, text string) (*consist.Consist, []haul.Curve) {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	r := rules(t)
	bench, err := trial.NewBench(c, trial.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	res, err := bench.Run(c, trial.Procedure{Name: "charge", Steps: trial.Charging(c, r)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	m, _ := res.At("charge")
	res, err = bench.Sampling(0.1, false).Run(c, trial.Procedure{Name: "emergency", Steps: []trial.Step{{ID: "e", Do: []trial.Act{{Who: "lead", What: "automatic-handle", To: "emergency"}}, For: 60}}}, m)
	if err != nil {
		t.Fatal(err)
	}
	var out []haul.Curve
	for _, x := range res.Curves {
		if x.Element == "cylinder" {
			out = append(out, haul.Curve{From: res.Times[0] - m.Time, Every: 0.1, Values: x.Values})
		}
	}
	return c, out
}

// filled is when a cylinder has 95 % of the pressure it ends with, s.
func filled(c haul.Curve) float64 {
	for k, p := range c.Values {
		if p >= 0.95*c.Last() {
			return c.From + float64(k)*c.Every
		}
	}
	return math.Inf(1)
}

func TestFillTimes(t *testing.T) {
	f := slipFleet(t)
	for _, w := range []struct {
		name      string
		low, high float64
	}{{"Fast", 3, 5}, {"Slow", 18, 30}} {
		_, cs := emergency(t, f, "Tern 3 lead, "+w.name+" 1 loaded")
		at := filled(cs[0])
		t.Logf("%s: %.1f s to %.0f kPa", w.name, at, cs[0].Last()/1000)
		if at < w.low || at > w.high || math.Abs(cs[0].Last()-380e3) > 5e3 {
			t.Errorf("%s fills in %.1f s to %.0f kPa; want %g to %g s, 380 kPa", w.name, at, cs[0].Last()/1000, w.low, w.high)
		}
	}
}

// Whole trains from 30 km/h in emergency, composition blocks, with the cylinders that a run
// of the whole train fills: the wagons' lever ratio is that of the slip stop, the
// locomotive gives 45.58 kN once, as it fills in its position.
func TestTrainStops(t *testing.T) {
	b := outside.Open(t)
	f := slipFleet(t)
	for _, w := range []struct { // the collected rows take the column of cast iron
		id         string
		fast, slow int // wagons in P, and before them in G
		goods      bool
		iron, comp float64 // the table has one column for cast iron, one for composition
	}{{"BRK-18", 9, 0, false, 56.4, 51.0}, {"BRK-19", 13, 0, true, 58.4, 52.7}, {"BRK-20", 14, 4, true, 66.1, 62.0}, {"BRK-21", 0, 28, true, 88.4, 92.3}} {
		text := "Tern 3 lead"
		if w.slow > 0 {
			text += fmt.Sprintf(", %d Slow loaded", w.slow)
		}
		if w.fast > 0 {
			text += fmt.Sprintf(", %d Fast loaded", w.fast)
		}
		_, curves := emergency(t, f, text)
		n := w.fast + w.slow
		if len(curves) != n {
			t.Fatalf("%d cylinders, want %d", len(curves), n)
		}
		fill := rise(0, 4, 45.58e3)
		if w.goods {
			fill = rise(0, 24, 45.58e3)
			for i, x := range fill.Values {
				fill.Values[i] = 0.1*45.58e3 + 0.9*x
			}
		}
		const mass = 90e3
		k := &haul.Braking{Mass: float64(n) * mass, Inertia: 53e3 + float64(n)*1.04*mass, Rolls: strahl(float64(n) * mass), Outside: fill}
		for i, p := range curves {
			k.Groups = append(k.Groups, haul.Group{Vehicle: i, Blocks: rigging.Blocks{Count: 16, Ratio: 5.65, Efficiency: 1, Spring: 1500, Material: rigging.Composition},
				Cylinder: rigging.Cylinder{Bore: 0.406, Count: 1}, Pressure: p, On: mass})
		}
		got := k.CourseWith(haul.At{Speed: 30 * kmh}, rubs(n), 1).Distance
		for _, x := range []struct {
			column string
			want   float64
		}{{"composition", w.comp}, {"cast iron", w.iron}} {
			t.Logf("%s, %s: %.1f m, published %.1f (%+.1f %%)", w.id, x.column, got, x.want, 100*(got/x.want-1))
			check := outside.At(w.id, "cantone-ottati-2018", fmt.Sprintf("emergency stop from 30 km/h, %d wagons of 90 t, the table's column of %s", n, x.column), x.want, got, "m", 0.08*x.want,
				"8 %: the rigging is that of the slip stop, the cylinders fill as our own run of the train fills them").As(outside.Calibrated)
			if missed := map[string]bool{"BRK-18 composition": true, "BRK-19 composition": true}; missed[w.id+" "+x.column] {
				check = check.Missed("the friction of the blocks of those trains is not printed; the law that the slip stop was met with is that of a composition block, and the column of cast iron is met in every row, that of composition in the two longer trains")
			}
			b.Hold(check)
		}
	}
}
