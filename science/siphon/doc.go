// Package siphon is how a flooded bed empties itself: the bell siphon with its
// crest, its start and its break, the window of inflows in which it works, one
// cycle and the course over a day, calibration by a stopwatch, what a bell's
// parts must measure, beds with a standpipe and a weep hole, and the pore space
// that drains.
//
// Not here: friction, fittings and water (package pipe), one pump on several
// beds and the sump's level (package plumbing), oxygen of falling water (package
// water), words of advice (the pages); a judgement's findings are typed values.
//
// # The model
//
// Heights are above the bed's floor, below it negative. While filling, the water
// over the crest is the least of a sharp rim's weir, of a drowned opening and of
// the full pipe. When it reaches the start flow, 0.52 √(gD) times the narrowest
// bore unless one was measured, the siphon runs full; when the level is down at
// the break it stops. The level follows area × d(level)/dt = inflow - outflow.
// With a steady inflow the time between two levels is an integral, in closed form
// over the rim and by Gauss's rule, in the logarithm of outflow less inflow, with
// the siphon running: no step can miss a start, and levels that are approached
// for ever do no harm. Inflows that change are taken piece by piece.
//
// Units: SI, and in the names (flowM3s, levelM).
//
// Valid: water of 0 to 45 °C, bores of 3 to 300 mm; start rules were tested on
// 12 to 52 mm. Least certain is the start: real ones lie up to twice above or
// below, so nothing is said to start surely below a Froude number of 1, and a
// measured start flow overrides the rule. What lies outside is refused with
// quantity.ErrRange; nothing is clipped.
//
// Sources: keys in docs/sources.md; [hills-1983] and [simpson-1968] for the
// bands, [usbr-morning-glory] for the rim. Check values stand in the tests.
package siphon
