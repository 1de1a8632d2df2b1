// Package headstock holds the house together: house.txt says which room may lean on
// which, and the test beside it keeps them to it. ARCHITECTURE.md walks through the
// rooms; the program itself is cmd/headstock.
//
// There is no code here.
package headstock
