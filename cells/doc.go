// Package cells is the water of one loop as well-mixed cells: tanks, groups of
// like beds and the sump, each with its own oxygen, dissolved carbon, total
// ammonia and nitrite, joined by flows; on the media of a bed the two groups of
// nitrifying bacteria; nitrate and the slower ions shared by the whole loop.
//
// In it: Layout (what stands there), Forcing (what an hour brings), Water (the
// states, Advance, ledgers). The rates are those of package water, the steps
// those of package numeric/ode.
//
// Not here: what fish eat and plants want (package season works it out and hands
// it over as Forcing), how water is moved (plumbing), solids (season), heat.
//
// # How it is built
//
// pH is no state: at every call the pH of each cell is solved from carbon,
// alkalinity, ammonia and phosphate. Nor is alkalinity: it is the balance of the
// charges of strong ions, so that excretion, nitrification, uptake and doses are
// counted once and cannot be counted twice:
//
//	alkalinity of a cell = Base + TAN/14.007 - NO2/14.007 - NO3/14.007   (eq/m³)
//
// with Base = 2Ca + 2Mg + K + Na - Cl - 2SO4 - P in equivalents, one number for
// the loop (Slow.BaseEqM3). Oxidising one mole of ammonium takes two equivalents,
// excreting one as ammonia gives one, taking up nitrate gives one, and none of
// it is written down anywhere else.
//
// Cells keep their volume; evaporation and top-up act on what the loop shares.
// The temperature of a cell is part of the Forcing and stays for its duration.
//
// # What is simple, and what it costs
//
// Nitrate and slow ions have no differences between cells: when a pump stops, the
// nitrate made in a bed counts for the tank too, whose alkalinity then falls by
// the share of the bed's oxidation that it should not see. Ammonia and nitrite,
// which decide over the fish, are kept apart. Breathing goes on in full down to
// about 1 g/m³ of oxygen and then fades, so that no oxygen is breathed that is
// not there.
//
// Units: days, m³, g/m³ (mg/L), nitrogen as N, mol/m³ of dissolved carbon, g COD
// of bacteria. Valid: fresh water of 0 to 40 °C.
//
// Sources: those of package water.
package cells
