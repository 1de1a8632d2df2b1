// Package motion says what moves a train and what holds it back: running resistance by the
// published forms, curves, grades and starting; adhesion and how weight moves between
// axles; the direct-current series motor from its magnetisation curve, generators and the
// grouping of motors, their heating and short-time ratings; and from these speed, distance
// and time, and the forces in the couplings.
//
// All figures are SI: metres, seconds, kilograms, newtons, watts, radians where an angle is
// meant; a slope is rise over length; a specific resistance is a part of the weight (N per
// N). Speeds are at the rail. A figure that is not stated is 0 where the comment says so,
// and whoever needs it gets an error that names it.
//
// The package knows no class, no consist and no line; haul joins them to it.
package motion

// Gravity is the acceleration of free fall used throughout, m/s²: standard gravity rounded
// as railway tables round it.
const Gravity = 9.81
