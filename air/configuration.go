package air

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// revision of the model. Raise it with every change of what a run computes that is not a
// change of one of the figures in Configuration.
const revision = 4

// Configuration is the sum, eight hexadecimal digits, of what a run with these conditions
// rests on apart from the network: the revision of the model, the conditions with their
// defaults filled in, the constants of air and of the steps, and the tables of the walls.
// others are figures of the caller's that belong to it. Two results with one sum and the
// same records are the same to the bit.
func Configuration(c Conditions, others ...float64) string {
	c = c.filled()
	h := sha256.New()
	put := func(vs ...float64) {
		for _, v := range vs {
			fmt.Fprintf(h, "%x ", v)
		}
		fmt.Fprintln(h)
	}
	fmt.Fprintln(h, revision, c.Air)
	put(c.Atmosphere, c.Temperature, c.Tolerance, c.MinStep, c.MaxStep, c.EventStep, c.Restart)
	put(GasConstant, Gamma, RefDensity, RefTemp, Standard, viscosity, choked, CriticalRatio, prandtl, laminarNu)
	put(laminar, tries, later, acoustic, soon, chamberLag, Audible, still, trickle, firstLook, nextLook)
	put((&node{bore: 0.03}).heed(), (&node{cyl: &VariableVolume{}}).heed(), (&node{v: 1}).heed(), (&node{v: 1e-3}).heed())
	w := wallOf(0.003)
	put(w.f...)
	put(w.nu...)
	put(others...)
	return hex.EncodeToString(h.Sum(nil)[:4])
}
