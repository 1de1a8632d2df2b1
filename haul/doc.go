// Package haul says what a consist can take up a grade, how it runs over a line, where it
// stops, how it comes down and what holds it.
//
// A Train is a consist as a thing of mass, length and resistance. Two resistances are kept
// of every vehicle, by two published forms that its record names: the high one is used
// where resistance hinders (hauling, starting), the low one where it helps (stopping,
// coming down, securing). An answer that needs what a record does not state is an error
// that names it, or "cannot say".
package haul
