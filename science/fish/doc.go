// Package fish knows the fish and crustaceans of tanks: how they grow with
// temperature, what they eat and breathe, what they leave in the water (Cohort
// steps like fish through a day), how many a tank holds and when to stock, what
// weighed fish say of the rest, and what a live fish gives on the plate. Within
// the day, Rhythm spreads what a meal leads to over the hours, and LossPerHour
// says how many die of bad water and of what.
//
// Not here: the composition of cooked flesh and portions (package food), the
// water's chemistry (package water), the course of a tank over time (season).
//
// Units: grams live weight, °C, days, g/m³ (the same number as mg/L); shares
// run from 0 to 1. Units are in the names.
//
// Valid: water of -1 to 45 °C and live weights up to 20 kg, unless a function
// says less. Growth holds for 1 to 1000 g and at most 1.3 times the upper
// market weight. Each stock differs: show the range from GrowthFactorLow to
// GrowthFactorHigh and let the keeper's own weighings set the performance.
//
// Sources: each row of the tables names its own. [P] means a published figure,
// [M] from memory, [T] common practice without a source.
package fish
