// Package prepare is what a crew does with a unit before it may be used: procedures in
// steps, trips and resets, the walk round it with its sheet, measurements held against
// their limits, whether it is fit to run, what a device that is cut out costs, whether a
// consist fits a route, how far a start gets and what stops it, and what of one unit's
// commands, lamps and bells reaches the next through the control jumper.
//
// The order of the walk is the shortest one over the stands of the class record, exact
// where it can be proved. It is computed once for a revision of the record and then frozen
// in the class folder: people rely on meeting the stands in the same order every time, so a
// changed record does not move them; the walk says which stands are new instead.
//
// Two rules shape the order, both common practice. What can be looked at with the engine
// stopped is looked at before it is started. Then the brake is applied and released once
// each, in that order. So the state of the machine never goes back, and the acts that
// change it are stops like any other (package tour).
//
// Answers are values: which defect, which rule, which source, who may lift it. Nothing is
// taken for granted: a fault that no rule names, or a datum that the record has not, ends
// as "cannot say" with what is missing. A price in brake comes from a run; one in load or
// speed comes from a rule, until haulage is computed, or is not said.
//
// The package words nothing and takes no date from a clock.
package prepare
