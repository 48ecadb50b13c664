// Package season is the course of a building's plants and fish, hour by hour
// and day by day, from the opening on.
//
// In it: the light that reaches the leaves of each bed under this place's sky,
// the stage, mass and harvests of each planting, the number, weight, feed, waste
// and losses of each cohort, the water of each tank, group of beds and sump hour
// by hour, and what a careful keeper would dose. Every run closes its ledgers
// (nitrogen, phosphorus, potassium, oxygen, carbon, water, fish, plants) or
// fails. Not here: what is eaten on which day (package meals), the equations of
// the water (package cells), how water is moved (plumbing), and the heat of the
// building.
//
// The order of a day: fish grow on the ration that yesterday's water allows; plants
// grow on what the water of the morning holds; then the hours, with doses after
// that of 8 o'clock; in the evening fish that the water has killed are taken out,
// plants get what they found, solids set free what they do by tomorrow, and the
// water is topped up.
//
// What is simplified, and what it costs: the air is held at the zone's set
// points and is never colder than outside, and tanks at theirs, so a cold spell
// that the heater cannot meet is not seen; nitrate and slower ions are shared by
// the loop; nothing precipitates, so phosphate climbs higher than in a real tank;
// part of the nitrified nitrogen is lost to the air at one fixed share;
// neighbouring crops do not shade one another; plants stand in 400 ppm of carbon
// dioxide.
//
// Units: SI and grams, the unit in the name; days are civil days at the site.
// Valid: 1 to 1100 days from the opening.
// Sources: the functions are those of packages crop, fish, climate; the shares
// of this package stand at their constants.
package season
