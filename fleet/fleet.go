// Package fleet holds the class records and the units of a railway: it reads them, holds
// each against itself, finds things in them and compares them.
//
// A record is data: what devices a class has, where they are, how each position looks,
// which positions each role asks for, and how the air is piped. Nothing here knows a
// class by name. A record is useful from its first device; Level says how far it has come
// and what the next step lacks. Whatever a record does not say stays unsaid: there are no
// defaults that look like data.
//
// The package does not couple units (consist), does not run air (air, trial), and does
// not judge whether the positions of a role work (prove, setup).
//
// Incomplete: sanding is described by its devices, and not yet as a network.
package fleet
