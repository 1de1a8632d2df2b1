package probe

import (
	"testing"

	"headstock/internal/outside"
)

// The polybox (J. de Kleer and B. C. Williams, Diagnosing multiple faults, 1987; shared check
// case 8.2): each part fails with chance 0.01, four minimal diagnoses are left, and each
// predicts x, y and z.
func TestPolyboxProbing(t *testing.T) {
	book := outside.Open(t)
	const by = "dekleer-williams-1987"
	prior := func(failed int) float64 {
		p := 1.0
		for k := range 5 {
			if k < failed {
				p *= 0.01
			} else {
				p *= 0.99
			}
		}
		return p
	}
	// {A1}, {M1}, {A2 M2}, {M2 M3} and what each says of x = A·C, y = B·D, z = C·E
	w := []float64{prior(1), prior(1), prior(2), prior(2)}
	x, y, z := Look{1, []int{6, 4, 6, 6}}, Look{1, []int{6, 6, 4, 4}}, Look{1, []int{6, 6, 6, 8}}
	sum := w[0] + w[1] + w[2] + w[3]
	const digits = "as printed, to its last digit"
	book.Hold(
		outside.At("8.2", by, "posterior of {A1} and of {M1}", 0.495, w[0]/sum, "", 0.0005, digits),
		outside.At("8.2", by, "posterior of {A2, M2} and of {M2, M3}", 0.005, w[2]/sum, "", 0.0005, digits),
		outside.At("8.2", by, "entropy before a probe", 1.0808, Entropy(w), "bit", 0.00005, digits),
		outside.At("8.2", by, "expected entropy after a probe at x", 0.0809, After(w, x), "bit", 0.00005, digits),
		outside.At("8.2", by, "expected entropy after a probe at y", 1.0000, After(w, y), "bit", 0.00005, digits),
		outside.At("8.2", by, "expected entropy after a probe at z", 1.0354, After(w, z), "bit", 0.00005, digits),
		outside.Says("8.2", by, "the best probe is x", Next(w, []Look{x, y, z}) == 0))
}

// The example of K. R. Pattipati and M. G. Alexandridis, Application of heuristic search and
// information theory to sequential fault diagnosis, 1990 (shared check case 8.14).
func TestSequencing(t *testing.T) {
	book := outside.Open(t)
	const by = "pattipati-alexandridis-1990"
	p := []float64{.70, .01, .02, .10, .05, .12}
	rows := []string{"00000", "01001", "00110", "10011", "11000", "11110"}
	looks := make([]Look, 5)
	for k := range looks {
		looks[k].Cost = 1
		for _, r := range rows {
			looks[k].Outcome = append(looks[k].Outcome, int(r[k]-'0'))
		}
	}
	plan, err := Exact(p, looks)
	if err != nil {
		t.Fatal(err)
	}
	const digits = "as printed, to its last digit"
	book.Hold(
		outside.At("8.14", by, "least expected cost of the six-state example", 2.18, plan.Cost, "", 0.005, digits).As(outside.FromMemory),
		outside.At("8.14", by, "bound by a code of least length", 1.59, Huffman(p), "", 0.005, digits).As(outside.FromMemory),
		outside.At("8.14", by, "entropy of its states", 1.4549, Entropy(p), "bit", 0.00005, digits).As(outside.FromMemory))
	// the first test is 2; on a pass 4 comes next, on a fail 3
	book.Hold(outside.Says("8.14", by, "first test 2, then 4 on a pass and 3 on a fail", plan.Look == 1 && plan.Then[0].Look == 3 && plan.Then[1].Look == 2).As(outside.FromMemory))
}

// Order by chance over cost (J. B. Kadane and H. A. Simon, Optimal strategies for a class of
// constrained sequential problems, 1977; shared check case 8.15, where all six orders were
// tried).
func TestRatioOrder(t *testing.T) {
	book := outside.Open(t)
	const by = "kadane-simon-1977"
	order, cost := Order([]float64{.5, .3, .2}, []float64{10, 2, 1})
	book.Hold(
		outside.At("8.15", by, "expected cost of the best order of a(.5, 10), b(.3, 2), c(.2, 1)", 7.6, cost, "", 1e-9, "exact but for rounding"),
		outside.Says("8.15", by, "the best order is c, b, a", order[0] == 2 && order[1] == 1 && order[2] == 0))
}
