// Package ode carries stiff systems dy/dt = F(t, y) forward in time.
//
// In it: Problem (rates, Jacobians, ledgers, events), Settings (tolerances),
// Solver (Start, Advance, At), Failure (why it could not go on). Package odetest
// beside it holds published stiff problems with their end values.
//
// Not here: what the states mean (package season); roots of one variable (package
// numeric/root); sparse or banded systems: matrices are dense, which suits up to
// some 60 states.
//
// # One step
//
//  1. At an accepted point: Jacobian, time derivative.
//  2. Factor 1/(hγ) I - J; six stages, each one call of F (the first is kept from
//     the step before) and one solve; no iteration.
//  3. The sixth stage is the error estimate. Above one tolerance in any state the
//     step is tried again, shorter, with the same Jacobian.
//  4. F at the end point. If it refuses there, the step is tried at a quarter.
//  5. Accept: dense output, then events within the step.
//
// The method is RODAS of Hairer and Wanner: a Rosenbrock method of order 4 with an
// embedded one of order 3, L-stable and stiffly accurate. Its order needs the true
// Jacobian; the differences that stand in for a missing one serve for relative
// tolerances down to 1e-9. It is at its best from 1e-3 to 1e-7; tighter ones cost
// many steps where a fast state's rate times the step is about 1 to 100, since the
// estimate of the error is of low order there.
//
// # Ledgers
//
// Quadratures go through the same formula as the states. A sum w·y + v·q that the
// equations keep constant therefore stays constant to rounding, also in dense
// output and across rejected steps, if Jac, QuadJac and, where time enters, TimeJac
// are given; with differences in their place, to about 1e-8 of what is turned over.
// The rounding grows with the step times the fastest rate.
//
// # Negative states
//
// Nothing is clipped: a state may fall below 0 by about its absolute tolerance. F
// should guard a root or a logarithm in a copy, or answer ErrShorter.
//
// # Jumps
//
// Within one Advance F should be smooth. Where forcing jumps, end an Advance there,
// change it and go on: the step length is kept, and only an error that is found too
// large shortens it. A jump in the state's own sense (a float switch) is an event
// with Stop.
//
// # Units and validity
//
// All numbers are plain float64; units are the caller's, times must run forward.
// The same problem gives the same bits on one kind of processor.
//
// Sources: Hairer and Wanner 1996, Solving Ordinary Differential Equations II, 2nd
// edition, sections IV.7, IV.8 and VI.4. Benchmarks: see odetest.
package ode
