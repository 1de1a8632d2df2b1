// Package prepare is what a crew does with a unit before it may be used: procedures in
// steps, trips and resets, the walk round it with its sheet, and measurements held against
// their limits.
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
// The package words nothing and takes no date from a clock.
package prepare
