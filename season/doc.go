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
// building (warmth), which gives this package its air, damp, water and light hour by
// hour where the site describes its skin.
//
// The order of a day: fish grow on the ration that yesterday's water allows; plants
// grow on what the water of the morning holds; then the hours, with doses after
// that of 8 o'clock; in the evening fish that the water has killed are taken out,
// plants get what they found, solids set free what they do by tomorrow, and the
// water is topped up.
//
// What plants give off is one number for the loops and for the air: the rate of a m² of
// full leaf by the building's light and damp, times the leaves. The building's leaves
// are the plantings of the opening grown in water that lacks nothing, each begun anew
// when it is over; a run's are its own. While the same leaves stand the two differ by
// some per cent; over a year the building's are more, for it keeps beds planted: LeafWater
// holds both.
//
// What is simplified, and what it costs: where no skin is described the air is held at
// the zone's set points and is never colder than outside, and tanks at theirs, so a cold
// spell that the heater cannot meet is not seen, and plants stand in 400 ppm of carbon
// dioxide; what gutters bring back from the covers is not led into the loops here; nitrate and slower ions are shared by
// the loop; nothing precipitates, so phosphate climbs higher than in a real tank;
// part of the nitrified nitrogen is lost to the air at one fixed share;
// neighbouring crops do not shade one another.
//
// Units: SI and grams, the unit in the name; days are civil days at the site.
// Valid: 1 to 1100 days from the opening.
// Sources: the functions are those of packages crop, fish, climate; the shares
// of this package stand at their constants.
package season
