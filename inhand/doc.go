// Package inhand tells how long each tank's fish have when machines stop: the
// pump, the air, both, or the inlet of one tank; by day or night, before or
// after a meal; and what would buy them most time.
//
// In it: Stock (the fish of a tank), Case (what stops, and when), Of (the hours
// to each threshold of each tank, the measures, the words for a stand-in), WarmOf
// (hours to frost, cold and heat when heaters, power or vents fail).
//
// Not here: the equations of the water (package cells), how water is moved
// (plumbing), the fish's breathing and limits (science/fish), how a building loses
// heat (warmth, science/fabric).
//
// # How it is worked out
//
// Each loop first runs as stocked for three days, fed twice a day, its
// bacteria as many as its feed keeps alive, so that oxygen, carbon dioxide,
// ammonia and nitrite are those of the running loop at the hour of the failure.
// pH is not that of the last test: it follows from the alkalinity and the air.
// Then the machines stop, nobody feeds, and the water is followed for up to 72
// hours; a threshold's time is that at which the water passes it.
//
// # What is on the safe side
//
// Fish breathe in full down to about 1 g/m³. The solids and bacteria of a tank
// use a further quarter of the fish's mean (20 to 30 %, common practice, no
// source), all of it counted in the tank and going on. A tank without flow and
// air has a still surface. Without feed the oxygen of digestion and the ammonia
// fall no faster than published excretion does. Plants take nothing; the air
// over the water is fresh and the alkalinity held by dosing, which keeps pH and
// with it ammonia high. The temperature stays as it was: a tank that cools has
// longer, one that warms has not. Air stones give what their labels say at the
// efficiency of fish water; a label that overstates is not on the safe side.
//
// Not on the safe side: a mixed tank has no dead corner; a limit is the
// species' own, not that of sick or just handled fish.
//
// Units: in the names; hours from the failure; g/m³ is mg/L. Printed times are
// rounded down, to 5 minutes below 3 hours and to half an hour from there.
// Valid: loops that package plumbing can put together, water of 0 to 40 °C.
//
// Sources: those of packages cells, plumbing and fish; what else is assumed
// stands beside its number.
package inhand
