// Package climate is the weather of a place: twenty places' monthly normals;
// from the normals of a spot its smooth days and hours (Weather) and as many
// made-up years as are wanted (Generator, which makes Series); hours read from
// weather files (ReadFile, a Series too); the coming nights as typed, in Weather
// and over a Series by Nights. All of them are a Sky, which whoever reckons
// through days should take.
//
// Not here: the sun's geometry (package sun), moist air (package air), design
// temperatures and degree days (package fabric), what the weather does to the
// house (season).
//
// Units: °C, MJ/m² a day, W/m² as the mean of an hour, m/s, shares from 0 to 1.
// Hours are of the standard clock, without daylight saving; the hour of index h
// runs from h to h+1 and its temperature is that of its middle.
//
// Valid: every latitude, years 1900 to 2100. A smooth day is a mean day: no
// cold snap, no dull week, no record is in it. Who sizes a heater or counts
// hours in hand must also take colder nights, or made-up years. Most normals of
// the table are means of one typical year, 1 to 2 K from those of thirty years;
// each place says what is a guess there. A made-up year has the usual snaps and
// dull weeks, but no records: see Generator.
//
// Sources: [parton-logan-1981], [collares-pereira-1979], [erbs-1982],
// [ashrae-fundamentals], [richardson-1981], [richardson-wright-1984],
// [geng-1986]; Erbs, Klein and Beckman 1983 for the spread of months; EPW and
// TMY3 as open formats, from memory; normals each with its own; keys in
// docs/sources.md.
package climate
