// Package plumbing turns a loop as the site describes it into cells of water and
// the flows between them: which tank, group of like beds and sump there is, how
// much media surface each has, what the pump moves to each branch, where it falls
// and what the air stones bring.
//
// In it: Circuit and its Force. Not here: the chemistry (package cells), feeding
// and plants (package season).
//
// # What is simple, and what it costs
//
// The flow is that of the pump's curve at the static lift to the highest branch
// plus a quarter for friction; branches share it by the power 2.63 of their
// diameters, as pipes of one roughness under one head do; of branches with timed
// valves one is open at a time and all get an equal part of the day. Without a
// curve or pipes the rule of one tank volume an hour stands in, half of it to the
// beds. Filling and draining within a cycle are not followed: a bed group has its
// mean flow. All that is common practice, no source, and its flows may be off by
// a third.
//
// Oxygen that falling water brings is half of what the equation for weirs gives,
// to be on the safe side; a bell siphon's break-up over gravel makes good three
// tenths of the want, the low end of what is known.
//
// Units: m³, m³/d, m, g/d. Valid: what package site admits.
//
// Sources: [butts-evans-1983], [asce-oxygen-transfer] and the table of media in
// package water; the rest common practice, no source.
package plumbing
