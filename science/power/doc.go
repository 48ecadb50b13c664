// Package power is what a building burns and draws: fuels as they are sold, the
// electricity bill, sun on panels, batteries, generators, what must run in a
// power cut, lamps, gas from a digester, heat pumps. It holds the tables of
// fuels, lamps and substrates.
//
// Not here: the heat that a house loses (package fabric); the power of pumps
// (package pipe); radiation on a tilted plane and the light of lamps (package
// sun); how long fish and plants hold out (package inhand).
//
// Units: SI, and in the names, but energy in kWh and masses of a day in kg/d, as
// meters and scales give them; money is bare, in the building's own currency.
// Heating values are higher (HHV) or lower (LHV), and every efficiency says of
// which.
//
// Valid: small buildings, up to a MW. What lies outside a function's limits is
// refused with quantity.ErrRange; nothing is clipped.
//
// Sources: keys in docs/sources.md, rows of the tables with their own marks;
// each function has a check value in the tests.
package power
