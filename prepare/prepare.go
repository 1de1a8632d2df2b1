// Package prepare is what a crew does with a unit before it may be used: procedures in
// steps, trips and resets, whether the unit is fit to run, what a device that is cut out
// costs, and whether a consist fits a route.
//
// Answers are values: which defect, which rule, which source, who may lift it. Nothing is
// taken for granted: a fault that no rule names, or a datum that the record has not, ends
// as "cannot say" with what is missing. A price in brake comes from a run; one in load or
// speed comes from a rule, until haulage is computed, or is not said.
package prepare
