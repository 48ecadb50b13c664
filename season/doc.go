// Package season is the course of a building's plants and fish, hour by hour
// and day by day, from the opening on.
//
// In it: the light that reaches the leaves of each bed under this place's sky,
// the stage, mass and harvests of each planting, the number, weight, feed and
// waste of each cohort, and one balance of nitrogen, phosphorus, potassium and
// water for each loop. Every run closes its ledgers or fails. Not here: what is
// eaten on which day (package meals), the chemistry of the water, the flow
// between tanks and beds, and the heat of the building.
//
// What is simplified, and what it costs: the air is held at the zone's set
// points and is never colder than outside, so a cold spell that the heater
// cannot meet is not seen; a loop's water is one well-mixed pool, in which
// ammonia is nitrate at once, so a start-up or a peak is not seen; part of the
// nitrogen is lost to the air at one fixed share; neighbouring crops do not
// shade one another; plants stand in 400 ppm of carbon dioxide.
//
// Units: SI and grams, the unit in the name; days are civil days at the site.
// Valid: 1 to 1100 days from the opening.
// Sources: the functions are those of packages crop, fish, climate; the shares
// of this package stand at their constants.
package season
