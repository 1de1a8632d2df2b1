// Package prepare is what a crew does with a unit before it may be used: procedures in
// steps, trips and resets.
package prepare
