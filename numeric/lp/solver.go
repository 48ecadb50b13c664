package lp

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tetratelabs/wazero/api"
)

// Settings steer one Solve. The zero value is usual.
type Settings struct {
	// Clock is the limit on the counted clock, in counted seconds (see the
	// package comment); 0 means DefaultClock. It is repeatable: the same
	// problem with the same limit stops at the same place. It holds for each of
	// the up to three runs that tell infeasible from unbounded.
	Clock float64
	// MIPGap is the relative gap between best solution and bound at which a
	// mixed-integer run may stop, 0 to 1; 0 means 1e-6.
	MIPGap float64
	// Start is a solution to begin from, one value per column, or nil. A mixed-
	// integer run takes it as its first best solution if it is feasible.
	Start []float64
	// Basis is where a linear programme begins: that of an earlier Result with the
	// same rows and columns, of which costs and bounds alone may differ. It saves
	// most of the work when one objective follows another. nil: from nothing.
	Basis *Basis
	// SameCosts says that bounds alone differ since Basis was optimal: the dual
	// simplex method then has least to do, else the primal one has.
	SameCosts bool
}

// Basis tells which columns and rows were at which bound in an optimal linear
// programme.
type Basis struct{ cols, rows []int }

// DefaultClock is the counted-clock limit when Settings name none: far beyond
// any run worth waiting for.
const DefaultClock = 1e6

const defaultMIPGap = 1e-6

// Status says how a Solve ended.
type Status int

// The ways a Solve ends without an error.
const (
	Optimal      Status = iota + 1 // proved, within the gap asked for
	Infeasible                     // proved: no solution exists
	Unbounded                      // the objective has no limit
	LimitReached                   // counted clock ran out; best so far in X if HasSolution
	Stopped                        // the context ended; best so far in X if HasSolution
)

// String returns the status in plain words.
func (s Status) String() string {
	switch s {
	case Optimal:
		return "optimal"
	case Infeasible:
		return "infeasible"
	case Unbounded:
		return "unbounded"
	case LimitReached:
		return "limit reached"
	case Stopped:
		return "stopped"
	}
	return fmt.Sprintf("status %d", int(s))
}

// Result is the outcome of one Solve.
type Result struct {
	Status      Status
	HasSolution bool // X, RowValue and Objective hold a solution that passes Check

	Objective float64   // Offset + Cost·X
	X         []float64 // per column; whole columns are exactly whole where the rows allow it
	RowValue  []float64 // per row: A X

	// RowDual and ColDual are the change of the objective per unit by which
	// the active bound of the row or column is raised, whether minimising or
	// maximising. Where more bounds meet at X than are needed to fix it, it is
	// one of several such prices and holds on one side only. Only for an Optimal
	// problem without whole columns, else nil.
	RowDual, ColDual []float64

	// Basis is where a next run may begin (Settings.Basis); nil but for an optimal
	// linear programme.
	Basis *Basis

	// Bound is the best proved limit of the objective and Gap the relative
	// distance |Objective - Bound| / |Objective| of a mixed-integer run. For an
	// optimal linear programme they are Objective and 0. NaN where not known; the
	// gap is infinite where the objective is 0 and the bound is not.
	Bound, Gap float64

	Iterations int           // simplex iterations
	Nodes      int           // branch-and-bound nodes
	Clock      float64       // counted seconds used
	Took       time.Duration // wall time; the only part that differs from run to run
}

// Solver is one instance of the solver with its own memory (some 21 MB and
// what its largest problem needed). It is not safe for concurrent use; take one
// for each goroutine, or a Pool. Solves do not influence each other.
type Solver struct {
	mod  api.Module
	call map[string]api.Function
	host *hostState
	shut bool
}

// New returns a Solver. The first call in a process compiles the embedded
// module (seconds on a small computer) or reads it from the compilation cache in
// the user's cache directory; later calls take milliseconds.
func New(ctx context.Context) (*Solver, error) {
	s := &Solver{}
	if err := s.instantiate(ctx); err != nil {
		return nil, err
	}
	return s, nil
}

// Close releases the solver's memory. A closed solver refuses to solve. Closing
// twice is harmless.
func (s *Solver) Close() error {
	s.shut = true
	return s.drop()
}

// Solve solves p. It returns an error wrapping ErrProblem for a problem or
// setting it cannot use and ErrSolver when the solver fails or its result does
// not pass Check; "infeasible", "unbounded", "limit reached" and "stopped" are
// results, not errors.
//
// When ctx ends, the run stops at the next reading of the clock, as a rule well
// within a second (see the package comment), and returns the best solution so far with Status Stopped.
// A feasible Settings.Start counts as a solution.
//
// The solver stays usable after any error but that of Close.
func (s *Solver) Solve(ctx context.Context, p *Problem, set Settings) (*Result, error) {
	began := time.Now()
	if p == nil {
		return nil, fmt.Errorf("%w: no problem given", ErrProblem)
	}
	if s.shut {
		return nil, fmt.Errorf("%w: %sthe solver is closed", ErrSolver, p.prefix())
	}
	if err := p.Valid(); err != nil {
		return nil, err
	}
	if err := set.fill(p); err != nil {
		return nil, fmt.Errorf("%w: %s%w", ErrProblem, p.prefix(), err)
	}
	res, err := s.solve(ctx, p, set)
	if errors.Is(err, ErrCheck) && set.Basis != nil && ctx.Err() == nil {
		set.Basis = nil // from a far basis sums may lose their last digits
		res, err = s.solve(ctx, p, set)
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %s%w", ErrSolver, p.prefix(), err)
	}
	res.Took = time.Since(began)
	return res, nil
}

func (set *Settings) fill(p *Problem) error {
	if !(set.Clock >= 0) || math.IsInf(set.Clock, 0) {
		return fmt.Errorf("clock limit is %g; it must be finite and not negative", set.Clock)
	}
	if set.Clock == 0 || set.Clock > DefaultClock {
		set.Clock = DefaultClock
	}
	if !(set.MIPGap >= 0 && set.MIPGap <= 1) {
		return fmt.Errorf("gap is %g; it must be between 0 and 1", set.MIPGap)
	}
	if set.MIPGap == 0 {
		set.MIPGap = defaultMIPGap
	}
	if b := set.Basis; b != nil && (p.Mixed() || len(b.cols) != p.Cols() || len(b.rows) != p.Rows()) {
		return fmt.Errorf("the basis is of %d columns and %d rows, the problem of %d and %d, and must have no whole columns", len(b.cols), len(b.rows), p.Cols(), p.Rows())
	}
	if set.Start == nil {
		return nil
	}
	if len(set.Start) != p.Cols() {
		return fmt.Errorf("start has %d values for %d columns", len(set.Start), p.Cols())
	}
	for j, v := range set.Start {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("start: %s: value is %g", p.ColName(j), v)
		}
	}
	return nil
}

func (s *Solver) solve(ctx context.Context, p *Problem, set Settings) (*Result, error) {
	if p.Cols() == 0 {
		return solveEmpty(p), nil
	}
	if ctx.Err() != nil {
		return finish(p, set, &Result{Status: Stopped, Bound: math.NaN(), Gap: math.NaN()})
	}
	raw, err := s.run(ctx, p, set, true)
	if err != nil {
		return nil, err
	}
	if set.Basis != nil && raw.status != modelOptimal && ctx.Err() == nil {
		set.Basis = nil // from a far basis the simplex method may lose its way
		first := raw
		if raw, err = s.run(ctx, p, set, true); err != nil {
			return nil, err
		}
		raw.spent(first)
	}
	if raw.doubtful(p) {
		if raw, err = s.settle(ctx, p, set, raw); err != nil {
			return nil, err
		}
	}
	res := &Result{
		Bound: math.NaN(), Gap: math.NaN(),
		Iterations: raw.iterations, Nodes: raw.nodes, Clock: raw.clock,
	}
	switch raw.status {
	case modelOptimal:
		res.Status = Optimal
	case modelInfeasible:
		res.Status = Infeasible
	case modelUnbounded:
		res.Status = Unbounded
	case modelTimeLimit:
		res.Status = LimitReached
		if ctx.Err() != nil {
			res.Status = Stopped
		}
	default:
		if ctx.Err() == nil {
			return nil, fmt.Errorf("it ended with model status %d", raw.status)
		}
		res.Status = Stopped
	}
	if raw.solution {
		res.X = raw.x
	}
	if p.Mixed() {
		if !math.IsInf(raw.bound, 0) {
			res.Bound = raw.bound
		}
	} else if res.Status == Optimal {
		res.RowDual, res.ColDual, res.Basis = raw.rowDual, raw.colDual, raw.basis
	}
	return finish(p, set, res)
}

// doubtful reports whether the answer needs a second look. The solver's presolve
// does not always tell an unbounded problem from an infeasible one: it calls
// some unbounded ones infeasible. Where the columns' bounds alone limit the
// objective, there is nothing to mistake.
func (r *raw) doubtful(p *Problem) bool {
	switch r.status {
	case modelInfeasible:
		return !p.objectiveLimited()
	case modelUnbounded:
		return p.Mixed() || !r.solution
	}
	return r.status == modelUnboundedOrInfeasible
}

// objectiveLimited reports whether the bounds of the columns alone keep the
// objective from improving for ever.
func (p *Problem) objectiveLimited() bool {
	for j, c := range p.Cost {
		if p.Maximize {
			c = -c
		}
		if c > 0 && math.IsInf(p.ColLower[j], -1) || c < 0 && math.IsInf(p.ColUpper[j], 1) {
			return false
		}
	}
	return true
}

// settle solves again without costs, which nothing but infeasibility can keep
// from an optimum. If that finds a solution, a problem called infeasible is
// solved once more without presolve; the others were unbounded.
func (s *Solver) settle(ctx context.Context, p *Problem, set Settings, first *raw) (*raw, error) {
	free := *p
	free.Cost = make([]float64, p.Cols())
	second, err := s.run(ctx, &free, set, true)
	if err != nil {
		return nil, err
	}
	second.spent(first)
	second.solution, second.bound = false, math.NaN()
	if second.status != modelOptimal {
		return second, nil
	}
	if first.status != modelInfeasible {
		second.status = modelUnbounded
		return second, nil
	}
	third, err := s.run(ctx, p, set, false)
	if err != nil {
		return nil, err
	}
	third.spent(second)
	switch third.status {
	case modelInfeasible:
		return nil, fmt.Errorf("it calls the problem infeasible but finds a solution when there are no costs")
	case modelUnboundedOrInfeasible:
		third.status = modelUnbounded
	}
	return third, nil
}

// spent adds the work of an earlier run.
func (r *raw) spent(earlier *raw) {
	r.iterations += earlier.iterations
	r.nodes += earlier.nodes
	r.clock += earlier.clock
}

// finish turns the raw vector into a checked solution.
func finish(p *Problem, set Settings, res *Result) (*Result, error) {
	switch res.Status {
	case Infeasible, Unbounded:
		res.X = nil
		return res, nil
	case Optimal:
		if res.X == nil {
			return nil, fmt.Errorf("it called the problem optimal but gave no solution")
		}
		x, err := checked(p, res.X)
		if err != nil {
			return nil, fmt.Errorf("its result: %w", err)
		}
		res.X = x
	default: // stopped early: what passes the check is a solution, the rest is not
		if res.X != nil {
			if x, err := checked(p, res.X); err == nil {
				res.X = x
			} else {
				res.X = nil
			}
		}
		if set.Start != nil && (res.X == nil || p.better(p.Objective(set.Start), p.Objective(res.X))) {
			if x, err := checked(p, set.Start); err == nil {
				res.X = x
			}
		}
		if res.X == nil {
			return res, nil
		}
	}
	res.HasSolution = true
	res.RowValue, _ = p.rowValues(res.X)
	res.Objective = p.Objective(res.X)
	if res.Status == Optimal && !p.Mixed() {
		res.Bound = res.Objective
	}
	res.Gap = math.Abs(res.Objective - res.Bound)
	if res.Gap != 0 {
		res.Gap /= math.Abs(res.Objective)
	}
	return res, nil
}

// checked returns x with its whole columns rounded and its columns moved onto
// bounds they overstep by less than the tolerance, if that passes the check;
// otherwise x itself if that does.
func checked(p *Problem, x []float64) ([]float64, error) {
	neat := slices.Clone(x)
	for j, v := range neat {
		if p.Integer != nil && p.Integer[j] {
			v = math.Round(v) + 0 // turns -0 into 0
		}
		neat[j] = math.Min(math.Max(v, p.ColLower[j]), p.ColUpper[j])
	}
	if near(neat, x) && check(p, neat, Tolerance) == nil {
		return neat, nil
	}
	return slices.Clone(x), check(p, x, Tolerance)
}

func near(a, b []float64) bool {
	for j := range a {
		if !(math.Abs(a[j]-b[j]) <= 2*Tolerance*(1+math.Abs(b[j]))) {
			return false
		}
	}
	return true
}

// better reports whether objective a is better than b.
func (p *Problem) better(a, b float64) bool {
	if p.Maximize {
		return a > b
	}
	return a < b
}

// solveEmpty solves a problem without columns: every row is 0.
func solveEmpty(p *Problem) *Result {
	for i := range p.RowLower {
		if p.RowLower[i] > 0 || p.RowUpper[i] < 0 {
			return &Result{Status: Infeasible, Bound: math.NaN(), Gap: math.NaN()}
		}
	}
	return &Result{
		Status: Optimal, HasSolution: true, Objective: p.Offset, Bound: p.Offset,
		X: []float64{}, RowValue: make([]float64, p.Rows()),
		RowDual: make([]float64, p.Rows()), ColDual: []float64{},
	}
}
