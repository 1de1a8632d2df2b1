package prove_test

import (
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"

	"headstock/consist"
	"headstock/prove"
	"headstock/trial"
)

// The claims of the demo records hold for every pair of locomotives that can be coupled:
// lead of each class and cab, second unit of each class, facing and role. None does not
// work, none cannot be said, and each is counted; the counts come from the records.
func TestPairs(t *testing.T) {
	f, r := railway(t)
	leads := []string{"Tern 3 lead", "Kite 11 lead cab 1", "Kite 12 lead cab 2", "Kite 14 lead", "Brant 1 lead", "Scoter 1 lead"}
	seconds := []string{"Tern 4", "Kite 12", "Kite 13", "Kite 15", "Brant 2", "Scoter 2"}
	roles := []string{"trail", "trail shut down", "hauled live", "hauled dead", "hauled dead all pipes", "assisting"}
	// 6 leads and 6 seconds less Kite 12 behind itself are 35 pairs; 6 roles, 2 facings each
	const all = 35 * 6 * 2
	want := map[string]int{
		// Brant and Scoter have no control jumper: 6 pairs with each as the second, 2 roles in
		// multiple, 2 facings
		"second not in multiple": 12 * 2 * 2,
		// and as the lead: 2 leads, 4 seconds that could trail
		"lead not in multiple": 2 * 4 * 2 * 2,
		// 17 pairs with a Kite second have no "all pipes"; 6 with a Brant neither; 6 with a Scoter
		// have neither that nor hauled live nor assisting; 2 facings
		"no such role": (17*1 + 6*1 + 6*3) * 2,
		// Lights take nothing from any: the lead shows white before itself, and the second red behind
		// by its lamps, or by one hung by hand where its battery is open (TestLightsOfEveryClaim).
		// What the lead's locomotive brake does not reach, of the roles it is meant for. In
		// multiple, 2 roles: behind the Tern Kites 12 and 13 have no fourth pipe (2 facings each);
		// Kite 11 has none for the Tern (2), and its copy does not reach Kite 12 turned, whose third
		// pipe is blanked behind headstock 2 (1); nothing passes that headstock of Kite 12 in the
		// lead (3 seconds, 2 facings); Kite 14 as Kite 11, but it has the fourth pipe (1).
		// All pipes, the Tern only: no fourth pipe of Kite 11, no third of Kite 12, none of the
		// Brant and the Scoter; 2 facings.
		prove.WithLoss: 2*(2*2+(2+1)+3*2+1) + 4*2,
	}
	want[prove.Works] = all
	for _, n := range []string{"second not in multiple", "lead not in multiple", "no such role", prove.WithLoss} {
		want[prove.Works] -= want[n]
	}
	count := map[string]int{}
	for _, a := range leads {
		for _, b := range seconds {
			if strings.HasPrefix(a, b+" ") {
				continue
			}
			for _, role := range roles {
				for _, facing := range []string{"", " reversed"} {
					text := fmt.Sprintf("%s, %s %s%s", a, b, role, facing)
					c, err := consist.Parse(f, text)
					var unsaid *consist.CannotSay
					switch {
					case errors.As(err, &unsaid):
						count["no such role"]++
						continue
					case err != nil && strings.Contains(err.Error(), "cannot run in multiple"):
						count["second not in multiple"]++
						continue
					case err != nil && strings.Contains(err.Error(), "cannot trail behind"):
						count["lead not in multiple"]++
						continue
					case err != nil:
						t.Errorf("%s: %v", text, err)
						continue
					}
					p, err := prove.Prove(c, r, trial.Conditions{})
					if err != nil {
						t.Errorf("%s: %v", text, err)
						continue
					}
					count[p.Verdict]++
					if p.Test == nil {
						t.Errorf("%s: not run: %+v", text, p.Findings)
						continue
					}
					if p.Test.Audit > 1e-9 {
						t.Errorf("%s: mass audit %g", text, p.Test.Audit)
					}
					for _, x := range p.Findings {
						if x.Status == prove.Broken || x.Status == prove.CannotSay {
							t.Errorf("%s: %s is %s: %+v", text, x.Requirement, x.Status, x.Reasons)
						}
					}
				}
			}
		}
	}
	if !maps.Equal(count, want) {
		t.Errorf("%v, want %v", count, want)
	}
}
