// Package pipe is water in full pipes and drains: its density, viscosity and
// vapour pressure, friction and the losses of fittings, flow under a head,
// curves and duty points of pumps, suction, networks of pipes, pumps and valves
// and how to balance them, water hammer, drains that run partly full, weep
// holes, and the load of a bed on the floor. It holds the tables of pipe sizes
// and of fittings.
//
// Not here: siphons and the flow over a standpipe's rim (package siphon), a
// loop's beds with their timetable (package plumbing), oxygen that falling water
// takes up (package water).
//
// Units: SI, and in the names (flowM3s, headM, diameterM); a head is in m of
// water, a diameter is the inside one.
//
// Valid: fresh water of 0 to 45 °C. What lies outside a function's limits is
// refused with quantity.ErrRange; nothing is clipped. HeadAndSlope and FlowAt,
// for solvers, refuse nothing and say so.
//
// Sources: keys in docs/sources.md; each function has a check value in the tests.
package pipe
