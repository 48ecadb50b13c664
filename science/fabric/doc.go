// Package fabric is the heat and moisture of a building's skin, its tanks and
// its vents: covers and walls with what passes through them, losses by wind,
// ground, leaks and a clear sky, the sun's gain, the balance of air, beds and
// tanks over time, humidity of a room, the size of a heater, degree-days,
// ventilation, pads, the gases of a room, and the hours until frost or cold
// water do harm. It holds the table of covers.
//
// Not here: the sun and its light on a slope (package sun), moist air,
// evaporation and transpiration (air), fuel, electricity and biogas (power), the
// weather (climate), the hourly run of a building (season).
//
// Units: SI and °C, in the names: lossW, uaWK (W/K), heatJK (J/K), areaM2;
// shares from 0 to 1; an azimuth runs from north clockwise.
//
// Valid: temperatures of -70 to 80 °C, pressures of 50 to 110 kPa; what lies
// outside a function's limits is refused with quantity.ErrRange, nothing is
// clipped. Balances over time are solved exactly between changes of their
// inputs, so that a step of an hour is stable however light the air is.
//
// Sources: keys in docs/sources.md; each row of covers.csv names its own. Many
// figures of greenhouse handbooks are from memory and say so.
package fabric
