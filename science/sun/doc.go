// Package sun knows where the sun stands and what light reaches a surface:
// position, rise and set, radiation above the air and under a clear sky, the
// split into beam and diffuse, tilted and glazed surfaces, light for plants and
// the lamps that make up for its lack.
//
// Not here: humidity and evaporation (package air), the weather of a place
// (climate), heat through covers (package fabric), what plants make of the
// light (package crop).
//
// Units: degrees for latitude (north +), longitude (east +), zenith and azimuth
// (from north clockwise); radians only where the name says so; MJ/m² for sums
// and W/m² for means of radiation, hours, mol/m² of photons.
//
// Valid: every latitude, years 1900 to 2100, unless a function says less.
//
// Sources: [meeus-1998], [reda-2004], [fao-56], [collares-pereira-1979],
// [erbs-1982], [duffie-beckman]; keys in docs/sources.md.
package sun
