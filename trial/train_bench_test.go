package trial_test

import (
	"fmt"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/trial"
)

// A train of two locomotives and wagons with all their equipment, charged beforehand:
// a reduction of 100 kPa held a minute, release, and four minutes of recharge. How many
// times faster than the day itself, and what a vehicle costs for a second of it.
func BenchmarkTrain(b *testing.B) {
	f, cs := fleet.Read(demo.Railway())
	if len(cs) > 0 {
		b.Fatal(cs)
	}
	for n := range 200 { // more wagons than the railway has
		f.Units = append(f.Units, &fleet.Unit{Class: "HX", Number: 1000 + n})
	}
	handle := func(to string) trial.Act { return trial.Act{Who: "lead", What: "automatic-handle", To: to} }
	for _, isothermal := range []bool{false, true} {
		for _, wagons := range []int{20, 60, 150, 200} {
			name := fmt.Sprintf("%d wagons, pipe warms and cools", wagons)
			if isothermal {
				name = fmt.Sprintf("%d wagons, isothermal", wagons)
			}
			b.Run(name, func(b *testing.B) {
				c, err := consist.Parse(f, fmt.Sprintf("Tern 3 lead, Kite 11 trail, %d HX loaded", wagons))
				if err != nil {
					b.Fatal(err)
				}
				bench, err := trial.NewBench(c, trial.Conditions{Isothermal: isothermal})
				if err != nil {
					b.Fatal(err)
				}
				charged, err := bench.Run(c, trial.Procedure{Name: "charge", Steps: []trial.Step{{ID: "charge", Do: []trial.Act{handle("release")}, For: 1500}}}, nil)
				if err != nil {
					b.Fatal(err)
				}
				p := trial.Procedure{Name: "service and recharge", Steps: []trial.Step{
					{ID: "service", Do: []trial.Act{{Who: "lead", What: "automatic-handle", Reduce: 100e3}}, For: 60},
					{ID: "recharge", Do: []trial.Act{handle("release")}, For: 240},
				}}
				var res *trial.Result
				b.ReportAllocs()
				for b.Loop() {
					if res, err = bench.Run(charged.Marks[0].At, p, &charged.Marks[0]); err != nil {
						b.Fatal(err)
					}
				}
				took := b.Elapsed().Seconds() / float64(b.N)
				b.ReportMetric(res.Seconds/took, "×real")
				b.ReportMetric(took*1e9/res.Seconds/float64(wagons+2), "ns/vehicle-s")
				b.ReportMetric(float64(res.Steps), "steps")
			})
		}
	}
}
