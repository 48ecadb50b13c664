// Package air knows moist air and what evaporates into it: saturation, dew
// point, wet bulb, heat content, reference evapotranspiration and open water.
//
// Not here: sun and radiation (package sun), plants under a cover and the heat
// balance of a house (package fabric and season), the weather (climate).
//
// Units: °C, kPa, kg water per kg dry air, kJ per kg dry air, m³ per kg dry air;
// relative humidity as a share from 0 to 1.
//
// Valid: air of -70 to 100 °C and 50 to 110 kPa, unless a function says less.
// Two forms of the saturation pressure live here: that of ASHRAE for air, that
// of FAO inside reference evapotranspiration only, which was made with it.
//
// Sources: [hyland-wexler-1983], [ashrae-fundamentals], [fao-56],
// [ashrae-pool]; keys in docs/sources.md.
package air
