// Package quantity reads and prints numbers with units, simple ones and those of
// the trade (g/d, meq/L, mg/kg/h, mol/m2/d, mg/L as NO3), and checks ranges.
//
// Not here: physical laws between quantities (the science packages), lists,
// names and dates typed by a person (packages reckoner, site and web).
//
// Units: one table of units with exact factors, one table of kinds with the unit
// in which each kind's float64 is held: SI, or for a few kinds the trade's unit
// that differs from it by a power of ten (g/m3, MJ/m2, umol/m2/s), °C for
// temperatures and degrees for angles. Everything else in the program holds
// plain float64 in those units.
//
// Validity: any finite decimal number with a power of ten up to ±99. A current
// times a voltage is a power at power factor 1. Year means 365 days. No
// currencies are exchanged.
//
// Sources: [nist-sp-811] for factors (Thompson and Taylor, Guide for the Use of
// the International System of Units, NIST Special Publication 811, 2008 edition,
// appendix B); abridged standard atomic weights of IUPAC, 2021, for ions.
package quantity
