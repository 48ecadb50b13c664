// Package lp solves linear and mixed-integer linear programmes.
//
// In it: Problem (the programme by columns), Builder (gathers one from names and
// single entries), Solver and Pool (solve it), Check (holds a vector against
// the programme without the solver's help), Problem.WriteMPS (writes the programme
// for another solver's second opinion). Each solution that Solve returns has
// passed Check with Tolerance. Package lptest beside it holds published problems
// with their optima.
//
// Not here: what rows and columns mean (packages plan and menu); several
// objectives in order, which a caller solves one after the other; quadratic
// terms.
//
// # The solver
//
// HiGHS 1.15.3, compiled to WebAssembly, is embedded and run by wazero, so that
// the program stays one static binary. See vendored/ for its licence and the
// script that fetches it again. The module sees a clock and its own memory, no
// file, no environment, no network. It runs on one thread with a fixed random
// seed: the same problem with the same settings gives the same bits, whatever
// the instance solved before, on one kind of processor.
//
// # The counted clock
//
// The module's clock does not run: each reading moves it by 100 µs. A limit on
// it (Settings.Clock, Result.Clock) therefore stops a run at the same place each
// time. A counted second is 10,000 readings and no second: on the PC where it
// was measured it took 0.1 s (small integer programmes) to 7 s (linear
// programmes with 12,000 columns).
//
// When the context of Solve ends, the clock jumps beyond every limit, and the
// solver takes its leave as it would at a time limit, with its best solution so
// far. Measured there, each stopped ten times after 10 ms to 1.2 s: knapsacks
// and market splits of 50 to 200 columns returned within 12 ms, covering problems
// of 2,000 and 8,000 columns within 0.05 s and 0.21 s, linear programmes of 12,000
// columns and 240,000 or 600,000 entries within 0.02 s and 0.2 s. There is no
// harder stop: a stretch of the solver's work in which it does not look at the
// clock is waited for. A linear programme stopped early has as a rule no solution
// to show, since the dual simplex method finds one only at its end.
//
// # Infeasible or unbounded
//
// The solver's presolve calls some unbounded problems infeasible. Where the
// bounds of the columns do not limit the objective by themselves, "infeasible"
// is therefore believed only after a second run without costs.
//
// # Units and validity
//
// All numbers are plain float64; units are the caller's. Matrix values must be 0
// or between 1e-12 and 1e15, costs and finite bounds below 1e20; NaN is refused
// everywhere and infinity wherever it is not a bound. Rows whose values lie
// within some 1e-3 to 1e4 of each other are solved most surely. The solver's
// tolerances are its own defaults: 1e-7 for bounds, rows and reduced costs, 1e-6
// for wholeness.
//
// Sources: Huangfu and Hall 2018, Parallelizing the dual revised simplex method,
// Mathematical Programming Computation 10:119-142, for the solver.
package lp
