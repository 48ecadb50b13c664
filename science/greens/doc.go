// Package greens knows greens grown in trays from seed to cut: days by
// temperature, blackout and soaking, seed and yield of a tray, shelf places,
// work and cautions, and the schedule of an order.
//
// Not here: sprouts eaten with seed and root; crops of beds and tubs (package
// crop); composition (food); orders, lots and sales of a week (trays). Plants
// whose seedlings harm are refused by name and by botanical genus.
//
// Units: g fresh, trays of 0.1290 m², °C, days; shares run from 0 to 1.
//
// Valid: from 3 °C above the base to TempMaxC. Above TempOptHighC greens are
// no faster, only mouldier.
//
// Sources: each row of tray_greens.csv names its own: [P] published, [M] from
// memory, [T] common practice without a source. Most rows are common practice.
package greens
