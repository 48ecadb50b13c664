// Package climate is the weather of a place: twenty places' monthly normals,
// and from the normals of a spot its smooth days and hours, with the coming
// nights as typed.
//
// Not here: the sun's geometry (package sun), moist air (package air), what the
// weather does to the house (season).
//
// Units: °C, MJ/m² a day, W/m² as the mean of an hour, m/s, shares from 0 to 1.
// Hours are of the standard clock, without daylight saving; the hour of index h
// runs from h to h+1 and its temperature is that of its middle.
//
// Valid: every latitude, years 1900 to 2100. A smooth day is a mean day: no
// cold snap, no dull week, no record is in it. Who sizes a heater or counts
// hours in hand must also take colder nights. Most normals of the table are
// means of one typical year, 1 to 2 K from those of thirty years; each place
// says what is a guess there.
//
// Sources: [parton-logan-1981], [collares-pereira-1979], [erbs-1982],
// [ashrae-fundamentals]; normals each with its own; keys in docs/sources.md.
package climate
