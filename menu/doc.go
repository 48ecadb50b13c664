// Package menu turns eaters, days and the foods on hand into a menu: who is
// served how much of what, by a lexicographic linear programme.
//
// In it: the eaters' needs and portion limits as rows, the levels in order
// (energy from inside first and alone, then the energy that must be bought,
// protein, the worst nutrient that some food on hand contains, their sum,
// variety), and the figures of a menu, whether solved or written by hand
// (Assess). Not here: what is on hand (packages larder and meals) and the
// programme that also chooses the sowings (package plan).
//
// A menu holds for the whole set of days: the amounts are divided over the
// days at the table. What this costs: it cannot see that the last lettuce is
// eaten on day two.
//
// Units: grams as eaten, kcal, days; nutrients in the units of package food.
// Valid: one to 60 eaters, one to 366 days.
// Sources: the portion limits and needs are those of package food; the form of
// the programme is the diet problem, Stigler 1945.
package menu
