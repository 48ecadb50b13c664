// Package site is the description of one building: what is bolted down, the
// people, prices and wishes, and in the dated block `opening` what stands in it
// on the first day.
//
// In it: the types, split by subject; reading and writing them as YAML; the
// checks that need nothing but the description. Not here: what happens over
// time (package season and those beside it), what is on the table on the day
// (package meals), and the store (package book).
//
// Units: SI inside, the unit in the name of the field; in the file every
// quantity is written with the unit its writer likes ("8 ft", "2.4 m"). Money
// is in the site's own currency.
//
// Valid: schema 1. Limits stand in the `range` tag of each field (outside it
// the file is refused) and in its `usual` tag (outside it the file is warned
// about). Sources of the limits: common practice, no source, unless a field's
// comment says otherwise.
//
// A file starts with its schema and goes from the place to what stands in it:
//
//	schema: 1
//	name: Gull Cottage
//	place: {latitude: 54.3 deg, longitude: -8.5 deg}
//	zones:
//	- {name: hall, floor: 40 m2, height: 3 m}
//	loops:
//	- name: north
//	  tanks:
//	  - {name: trout, volume: 1600 L}
//	  beds:
//	  - {name: bed 1, kind: media, zone: hall, length: 8 ft, width: 4 ft}
//	opening:
//	  date: 2027-01-11
//	  fish:
//	  - {name: spring trout, species: trout_rainbow, tank: trout, count: 60, weight: 120 g}
//
// Read refuses it with everything it finds wrong, each with its line, and warns
// of what is unusual; Write gives it back with each quantity in the unit in
// which it is held; Check holds a changed Site against itself; Sample gives two
// invented buildings. Prices are written in the site's currency; in place of its
// code ¤ may stand. Anchors, aliases and type tags of YAML are refused.
//
// Zero and "not given" are the same thing, except for keys that must be given.
// Older schemas are brought up to date on reading, one step a schema.
//
// Field tags:
//
//	yaml:"name"           the key in the file
//	q:"length"            the field is a quantity of that kind (package quantity)
//	range:"0.1..20"       allowed values, in the field's SI unit, ends included;
//	                      "0<..20" excludes the lower end; one end may be empty
//	usual:"0.2..0.6"      outside it: a warning
//	need:"yes"            must be given
//	oneof:"a,b"           allowed words
//	ref:"loop"            must be the name of a loop (tank, bed, zone, feed,
//	                      water, person, larder) of this file, or a key of the
//	                      tables of foods, crops or species of fish
package site
