// Package crop knows the crops of beds and tubs: their days, yields, climate
// limits and keeping, and the calendar of pickings at best conditions.
//
// Not here: composition and portions (package food), tray greens (greens), the
// weather of the building (site, climate, season), what is planted where
// (stocktake, plan).
//
// Units: kg fresh matter per m² of growing bed, g, °C, days, mol of photons
// per m² and day; shares run from 0 to 1. Units are in the names.
//
// Valid: yields hold at DLIOpt and between TempOptLowC and TempOptHighC, with
// water and nutrients; low and high are the spread between growers.
//
// Sources: each row of crops.csv names its own. [P] means a published figure,
// [M] from memory, [T] common practice without a source, [C] computed.
package crop
