// Package warmth is the building's own weather: the air of each zone hour by hour,
// its damp, and the water of the loops under it, from the sky outside, the skin the
// site describes, sun, leaves, lamps and heaters.
//
// In it: Building and its Day. Not here: single formulas (packages fabric, air,
// sun), fuel and electricity (package power), the season (package season), which
// calls Day each day and hands the temperatures to crops, fish and water.
//
// # The model
//
// Nodes are the air of each zone with what is light in it, its floor as a slower
// body, and each cell of water of each loop. All are solved together each hour by
// an implicit step, so that an hour is stable however light the air is; the step
// takes the temperatures of its end for the flows, and every flow is booked with
// them, so that the ledger closes to rounding. Heaters hold zones and tanks at
// their set points as far as their power goes; vents open above theirs.
//
// Sun that comes through each surface, by its tilt, azimuth and cover, warms the
// zone less what leaves turn into vapour: no flat share is taken off. Leaves
// transpire as one big leaf by the light on them and the dryness of the air; open
// water and wet stones give off vapour, and its heat comes out of the water. What
// condenses on cold glazing leaves the air; of its heat the inner film hands back its
// part to the room, the rest goes out with the glazing's.
//
// # What is simple, and what it costs
//
// A zone has one air: no stratum under the roof. Walls store no heat but the
// floor's. Opaque walls take no sun. Wind raises leaks and the loss of glazing by
// the handbook's forms. Long waves to a clear sky are counted for roofs of glazing
// whose cover passes them.
//
// Units: SI and °C, in the names. Valid: what package site admits, air of -70 to
// 60 °C.
//
// Sources: those of packages fabric, air and sun; figures of this package that are
// common practice say so.
package warmth
