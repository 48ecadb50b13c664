// Package watertest turns what a person reads off a kit into a verdict: typed
// values with the units and forms of kits, what they say together, how they
// stand to the limits of the fish of a tank, and what to do in order.
//
// Not here: the chemistry and the limits themselves (science/water), the species
// (science/fish), the change of the water with time (season), keeping tests.
//
// Units: fields take any unit of their kind; inside they are SI as in package
// water: g/m³, the same number as mg/L, nitrogen as N, alkalinity in eq/m³.
//
// Valid: fresh water; each field's range is in Fields, and what lies outside is
// refused with an *InputError. Values that contradict each other are refused too.
//
// Sources: each figure and each remedy of a Verdict names its own.
package watertest
