// Package air knows moist air and what evaporates into it or condenses out of
// it: saturation, dew point, wet bulb, heat content, reference
// evapotranspiration, open water, transpiration in a house, water on cold covers
// and the ventilation that carries it off.
//
// Not here: sun and radiation (package sun), how plants grow (crop), the heat
// and humidity balance of a house (fabric and season), the weather (climate).
//
// Units: °C, kPa, kg water per kg dry air, kJ per kg dry air, m³ per kg dry air;
// relative humidity as a share from 0 to 1.
//
// Valid: air of -70 to 100 °C and 50 to 110 kPa, unless a function says less.
// Two forms of the saturation pressure live here: that of ASHRAE for air, that
// of FAO inside reference evapotranspiration only, which was made with it.
//
// Sources: [hyland-wexler-1983], [ashrae-fundamentals], [fao-56],
// [ashrae-pool], [stanghellini-1987], [graamans-2017], [baille-1994]; keys in
// docs/sources.md.
package air
