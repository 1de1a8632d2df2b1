package prove_test

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"headstock/prove"
	"headstock/trial"
)

// What gauges and pistons show at each step, each cell worked by hand; the files say how.
func TestScenario(t *testing.T) {
	f, r := railway(t)
	files, err := filepath.Glob("testdata/scenario/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	files = slices.DeleteFunc(files, func(name string) bool { return filepath.Base(name) == "README.txt" })
	if len(files) < 22 { // the consists that README.txt tells how to work out
		t.Fatalf("%d files of the scenario", len(files))
	}
	for _, name := range files {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txt"), func(t *testing.T) {
			t.Parallel()
			all := rows(t, name)
			var p *prove.Proof
			cells := 0
			lost := map[string]bool{}
			for _, row := range all {
				if len(row) == 1 {
					k, v, _ := strings.Cut(row[0], ": ")
					switch k {
					case "consist":
						c := set(t, f, v, "")
						var err error
						if p, err = prove.Prove(c, r, trial.Conditions{}); err != nil {
							t.Fatal(err)
						}
						if p.Test.Audit > 1e-9 {
							t.Errorf("mass audit %g", p.Test.Audit)
						}
						for _, x := range p.Findings {
							if x.Status == prove.Lost {
								for _, why := range x.Reasons {
									lost[x.Requirement+" "+why.Vehicle] = true
								}
							}
							if x.Status == prove.Broken {
								t.Errorf("%s broken: %+v", x.Requirement, x.Reasons)
							}
						}
					case "verdict":
						if p.Verdict != v {
							t.Errorf("verdict %q, want %q", p.Verdict, v)
						}
					case "lost":
						if !lost[v] {
							t.Errorf("%q is not among what is lost: %v", v, lost)
						}
						delete(lost, v)
					}
					continue
				}
				if p == nil || len(row) != 5 {
					t.Fatalf("a cell before its consist, or of %d columns: %q", len(row), row)
				}
				cells++
				i, err := p.Consist.Find(row[1])
				if err != nil {
					t.Fatal(err)
				}
				got, ok := p.Test.Gauge(row[0], i, row[2])
				if !ok {
					t.Errorf("%s %s %s: nothing read", row[0], row[1], row[2])
					continue
				}
				lo, hi, _ := strings.Cut(row[3], "..")
				l, err := strconv.ParseFloat(lo, 64)
				if err != nil {
					t.Fatal(err)
				}
				h, err := strconv.ParseFloat(hi, 64)
				if err != nil {
					t.Fatal(err)
				}
				if kpa := got / 1000; kpa < l-0.01 || kpa > h {
					t.Errorf("%s, %s %s: %.1f kPa, worked by hand %s (%s)", row[0], row[1], row[2], kpa, row[3], row[4])
				}
			}
			if p == nil || cells == 0 {
				t.Errorf("%d cells held against a run", cells)
			}
			for k := range lost {
				t.Errorf("lost but not listed: %s", k)
			}
		})
	}
}
