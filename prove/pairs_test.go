package prove_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/prove"
	"headstock/trial"
)

// The claims of the demo records hold for every pair of locomotives that can be coupled:
// lead of each class and cab, second unit of each class, facing and role. None does not
// work; each is counted.
func TestPairs(t *testing.T) {
	f, r := railway(t)
	leads := []string{"Tern 3", "Kite 11", "Kite 12", "Kite 14", "Brant 1", "Scoter 1"}
	seconds := []string{"Tern 4", "Kite 12", "Kite 13", "Kite 15", "Brant 2", "Scoter 2"}
	count := map[string]int{}
	refused := 0
	for _, a := range leads {
		for _, ra := range []string{"lead"} {
			for _, b := range seconds {
				if a == b {
					continue
				}
				for _, role := range []string{"trail", "trail shut down", "hauled live", "hauled dead", "hauled dead, all pipes", "assisting"} {
					for _, rb := range []string{"", " reversed"} {
						text := fmt.Sprintf("%s %s, %s %s%s", a, ra, b, role, rb)
						if role == "hauled dead, all pipes" {
							text = fmt.Sprintf("%s %s, %s hauled dead all pipes%s", a, ra, b, rb)
						}
						c, err := consist.Parse(f, text)
						if err != nil {
							var unsaid *consist.CannotSay
							if !errors.As(err, &unsaid) && !strings.Contains(err.Error(), "in multiple") {
								t.Errorf("%s: %v", text, err)
							}
							refused++
							continue
						}
						p, err := prove.Prove(c, r, trial.Conditions{})
						if err != nil {
							t.Errorf("%s: %v", text, err)
							continue
						}
						count[p.Verdict]++
						if p.Test.Audit > 1e-9 {
							t.Errorf("%s: mass audit %g", text, p.Test.Audit)
						}
						if p.Verdict == prove.DoesNot || p.Verdict == prove.CannotBe {
							for _, x := range p.Findings {
								if x.Status == prove.Broken {
									t.Errorf("%s: %s: %+v", text, x.Requirement, x.Reasons[0])
								}
							}
						}
					}
				}
			}
		}
	}
	t.Logf("%v, %d refused", count, refused)
}
