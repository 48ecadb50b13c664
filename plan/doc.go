// Package plan works out what to sow, stock, put by and take so that the meals of the
// home-fed days are there: the question the building exists for.
//
// In it: what could be planted where and when (each candidate grown alone under the
// place's sky), one programme of all plantings, fish, stores and menus, its levels in
// order, whole modules of beds, the agreement with the season that the plan makes,
// and the reasons. Not here: the season itself, the eaters' needs (package menu),
// what is eaten of a given stock (package meals), trays and their orders.
//
// A column of the programme is a whole planting: crop, group of like beds, week of
// planting, day of pulling, ripe or young. Light, warmth and yield are worked out
// before, in water that lacks nothing; the season is then run with the plan and
// yields and days are corrected by what it says, up to three rounds.
//
// What is simplified, and what it costs: beds are booked by whole weeks, so that a
// bed may stand empty for up to six days between crops; neighbours do not shade one
// another; nitrogen is one balance for each loop and week with the feed of the fish as
// they stand; a crop's labour is by the area and the kilogram.
//
// Units: kg, g, m², kcal, hours, days; shares run from 0 to 1. Promises are made with
// low yields. Valid: today within the season's days from the opening, home-fed days at
// most a year and a half ahead. Sources: the tables of crop, fish and food; the form
// of the programme is the diet problem, Stigler 1945, with plantings as columns.
package plan
