// Package water is the chemistry of tank water: ammonia, oxygen, the carbonate
// system with its pH, alkalinity and doses, nitrification and the bacteria's
// growth, mineralisation of solids, gases through surfaces, stones and falling
// water, salts that gather, chlorine, chloride, iron, calcite, and the limits
// that fish, bacteria and plants set.
//
// Not here: what fish give off and breathe (package fish), heat of the water and
// evaporation (package air), change over time (package season), which integrates
// the rates given here.
//
// Units: SI, and in the names (tempC, doGm3); g/m³ is the same number as mg/L.
// Alkalinity is in eq/m³ (meq/L), dissolved carbon in mol/m³ (mmol/L), total
// ammonia, nitrite and nitrate as N, phosphate as P; a pH is what a probe reads.
//
// Valid: fresh to brackish water of 0 to 45 °C, unless a function says less.
// Nothing is clipped: what lies outside is refused with quantity.ErrRange. The
// rates that an integrator calls many times (Nitrifier, Pool) refuse nothing and
// say so.
//
// Sources: keys in docs/sources.md; each function has a check value in the tests.
package water
