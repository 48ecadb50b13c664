// Package crop knows the crops of beds and tubs: their days, yields, climate
// limits and keeping, the calendar of pickings at best conditions, and growth
// from day to day in the light, warmth, air and water they get (Stand).
//
// Not here: composition and portions (package food), tray greens (greens), the
// weather of the building (site, climate, season), what is planted where
// (stocktake, plan).
//
// Units: kg fresh matter per m² of growing bed, g, °C, days, mol of photons
// per m² and day; shares run from 0 to 1. Units are in the names.
//
// Valid: growth is calibrated to the table and scaled by light, so it is as
// good as the table, and growers differ by half; 0 to 65 mol/m²/d and 150 to
// 1200 ppm carbon dioxide. Pests, frost and storms are not in it. The yields of
// the table hold at DLIOpt and between TempOptLowC and TempOptHighC, with water
// and nutrients; low and high are the spread between growers.
//
// Sources: each row of crops.csv names its own. [P] means a published figure,
// [M] from memory, [T] common practice without a source, [C] computed.
package crop
