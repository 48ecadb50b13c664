// Package reckoner is the trade's single questions: one registry of the
// science's functions by name, behind the verb reckon, the page Quick sums and
// the published check rows.
//
// In it: the entries (Entries, Find), the reading of inputs typed as text
// (Run, ReadArgs), the answer with its fixed names (Result). Not here: the
// formulas themselves (the science packages), the check values (evidence), the
// printing of help and pages (cmd, web).
//
// Units: keys take quantities with units; in a Result every name bears the unit
// of its number (tempC, weightKg, kcalDay). A bare number is taken where the
// quantity has no dimension or the key names a unit for it.
//
// Valid: each key has its range and refuses what lies outside, NaN and
// hexadecimal included; nothing is clipped.
//
// Sources: each entry lists the keys of its sources.
//
// A further entry is an Entry in one of the tables (foodEntries, fishEntries)
// with its keys, its outputs and a run function over typed values.
package reckoner
