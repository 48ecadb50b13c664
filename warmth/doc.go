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
// A zone's band is what its machines switch over. Heaters go on and off half of it
// either side of the set point, which takes minutes: the hour's mean is the set point,
// and how often they start follows from their power, the heat wanted and what the air
// and the light things in it hold. Vents go from shut to wide over it, in proportion.
//
// A wet pad stands in the fans' air. It is wetted when the vents, wide open, do not hold
// their mark, for as much of the hour as that takes, and stays dry near frost. The air
// behind it comes as far down to the wet bulb as its efficiency says; its vapour is in
// the zone's air from the next hour on, as all air of vents is. A dehumidifier holds the
// damp at its mark as far as it reaches. What it catches it gives back as heat, with
// its power. Its water counts as recovered only where the site says into which loop it
// is led; of what condenses on covers the low share of gutters is always counted.
//
// Heat is booked by zone and by loop, the water of the air by zone; each closes to
// rounding each day.
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
// Where the site does not give a zone's light, what comes through its glazing for
// plants, hour by hour, falls on the floor: all of it from a level face, half from an
// upright one. Racks, gear and neighbours shade nothing but what frame and dirt take,
// so it comes out a tenth or more too bright in a full house.
//
// A zone has one air: no stratum under the roof. Air of vents and pads weighs 1.2 kg/m³
// in all weathers: at 40 °C a pad's cooling is a tenth too strong. What a dehumidifier
// catches falls in a straight line with the air's water, from its maker's 30 °C and 80 %
// to nothing at a dew point of 5 °C. Walls store no heat but the
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
