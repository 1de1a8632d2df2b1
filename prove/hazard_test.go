package prove_test

import (
	"bufio"
	"os"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

func railway(t testing.TB) (*fleet.Fleet, *rule.Rules) {
	t.Helper()
	f, cs := fleet.Read(demo.Railway())
	for _, c := range cs {
		t.Error(c)
	}
	if len(cs) > 0 {
		t.FailNow()
	}
	return f, rule.Standard()
}

func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]string
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		l := strings.TrimSpace(sc.Text())
		if l == "" || l[0] == '#' {
			continue
		}
		var row []string
		for _, c := range strings.Split(l, "|") {
			row = append(row, strings.TrimSpace(c))
		}
		out = append(out, row)
	}
	return out
}

func set(t *testing.T, f *fleet.Fleet, text, changes string) *consist.Consist {
	t.Helper()
	c, err := consist.Parse(f, text)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range strings.Split(changes, ";") {
		if s = strings.TrimSpace(s); s == "" {
			continue
		}
		ch, err := c.ParseChange(s)
		if err != nil {
			t.Fatal(err)
		}
		if c, err = c.With(ch); err != nil {
			t.Fatal(err)
		}
	}
	return c
}

// Every hazard row breaks the requirement its row names, on the unit it names; a
// harmless row breaks nothing.
func TestHazards(t *testing.T) {
	f, r := railway(t)
	for _, row := range rows(t, "testdata/hazards.txt") {
		t.Run(row[0]+"/"+row[1], func(t *testing.T) {
			t.Parallel()
			if len(row) != 5 {
				t.Fatalf("%d columns, want 5", len(row))
			}
			c := set(t, f, row[1], row[2])
			p, err := prove.Prove(c, r, trial.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			if p.Test.Audit > 1e-9 {
				t.Errorf("mass audit %g", p.Test.Audit)
			}
			if row[3] == "harmless" {
				for _, x := range p.Findings {
					if x.Status == prove.Broken {
						t.Errorf("breaks %s: %+v", x.Requirement, x.Reasons)
					}
				}
				return
			}
			x, ok := p.Finding(row[3])
			if !ok || x.Status != prove.Broken {
				t.Errorf("%s is %s, want broken; verdict %s", row[3], x.Status, p.Verdict)
				for _, x := range p.Findings {
					if x.Status == prove.Broken {
						t.Logf("breaks %s: %+v", x.Requirement, x.Reasons[:1])
					}
				}
				return
			}
			if row[4] == "any" {
				return
			}
			for _, why := range x.Reasons {
				if why.Vehicle == row[4] {
					return
				}
			}
			t.Errorf("no reason names %s: %+v", row[4], x.Reasons)
		})
	}
}
