// Package meals answers the first question: will there be enough to eat on the
// home-fed days?
//
// In it: what the opening's plantings, fish, larder and other sources put on
// the table of each set of days (three runs: low, typical, high yield), the
// menus made of it, what falls short, and what would help most. What is eaten
// on one set of days is gone on the next. Not here: needs and menus (package
// menu), storage losses (package larder), growth under this place's light:
// dates are the crop table's own days at good light, fish grow at the tank's
// set temperature.
//
// What that costs: in the dark months real harvests come later than the
// table's days, so a crop due close before a set of days may not be there.
// The sets are served in the order of their dates, each as well as possible:
// food that the later set needs more is not kept back.
//
// Units: kg, g, kcal, days. Valid: any site that package site accepts.
// Sources: tables of packages crop, fish and food.
package meals
