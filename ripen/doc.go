// Package ripen is the start-up of a loop: the weeks in which nitrifying bacteria
// grow on new media until they bear the fish's ammonia.
//
// In it: Fishless, a plan of morning doses of ammonium chloride and of base;
// FishIn, a plan of rations, water changes and salt with fish already in the
// water; ByTemperature, when a loop is ready in colder and warmer water with new
// media, with ripe water and with ripe media; Options and Plan.
//
// Not here: the chemistry and the bacteria (packages water and cells), what runs
// where (plumbing), what fish excrete (package fish), the season of a ripe loop
// (package season).
//
// # How a plan is made
//
// The loop's cells are carried on from morning to morning under its own flows and
// air. Each morning the plan reads the water as a keeper would, in the worst tank,
// and decides.
//
// Fishless: ammonium chloride up to TargetTANGm3, but never so much that ammonia
// and nitrite nitrogen together would pass MostNGm3 anywhere: as nitrite only
// comes from that ammonia, neither can pass it later. From the first nitrite on, at
// a high pH less is given, so that un-ionised ammonia stays below a quarter of
// what halves the pace of nitrite oxidisers. Base holds alkalinity at 150 and,
// from the first nitrite on, at 200 to 225 mg/L as CaCO3. Ready is the morning on
// which a full day's load, given the day before, is gone: ammonia and nitrite
// nitrogen both below DoneGm3, two days running.
//
// Fish-in: the largest ration, growing by fish.FeedRise a day at most, with which
// the next day's highest un-ionised ammonia and nitrite (as felt behind chloride)
// stay within the limits of the fish's group; when they would be passed even
// unfed, water is changed, and after two days without feed more of it, so that a
// little can be given. Ready is the second day of the full ration borne
// without a change.
//
// # What is simple, and what it costs
//
// One temperature in the whole loop, no plants, no evaporation, no solids:
// ammonia from faeces left lying comes on top. Seeds are guesses within a factor
// of ten each way, which moves the day by a quarter: EarlyDay and LateDay show
// it. So a day is never a promise: fish go by the test.
//
// Units: days from 1, g, m³, g/m³ (mg/L) as N, alkalinity in mg/L as CaCO3 in
// results and eq/m³ in Options. Valid: water of 4 to 34 °C.
//
// Sources: [srac-4502] alkalinity and the limit of 5 mg/L; [lekang] and [fao-589]
// the published spans of start-up; [srac-462] chloride; the bacteria those of
// package water; the rest common practice, no source.
package ripen
