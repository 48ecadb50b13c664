package ode

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Stats counts the work since Start.
type Stats struct {
	Steps      int // accepted steps
	Rejected   int // steps whose error was too large
	Refused    int // steps that the right-hand side refused
	FEvals     int // calls of F, those for differences among them
	QuadEvals  int // calls of Quad
	JacEvals   int // Jacobians, by Jac or by differences
	LUs        int // factorings
	EventEvals int // calls of root functions
	Events     int // events found
}

// Reason says why an Advance ended.
type Reason int

// The reasons.
const (
	Reached  Reason = iota // at the end asked for
	AtEvent                // at an event with Stop
	NotMoved               // it failed; see the error
)

func (r Reason) String() string {
	switch r {
	case Reached:
		return "reached"
	case AtEvent:
		return "at event"
	default:
		return "not moved"
	}
}

// Outcome is how an Advance ended.
type Outcome struct {
	Reason Reason
	T      float64 // the time reached
	Event  int     // number of the event that stopped it, else -1
}

// Solver carries one solution forward in time. It is not safe for use by
// several goroutines at once. After New it allocates nothing, unless it fails.
type Solver struct {
	p Problem
	s Settings

	started bool
	t       float64
	y       []float64 // states, then quadratures
	h       float64   // the step to try next
	stats   Stats

	// One step.
	u          [stages][]float64
	f          []float64 // F and Quad at t, y
	fNew       []float64 // the same at the end of the step, or at a stage
	stage      []float64 // argument of a stage
	yNew       []float64
	ft         []float64 // ∂F/∂t and ∂Quad/∂t
	jac        []float64 // (N+NQ)×N
	m          lu
	accepted   float64 // last accepted step, 0 if none
	acceptedEr float64 // and its error
	jumped     bool    // told by Jumped, and no step accepted since
	afterJump  float64 // first step accepted after the last jump, 0 if none
	worst      int     // state of the largest error of the step tried last
	cause      error

	// Dense output of the last step, from tOld over hOld; it holds up to t.
	tOld, hOld float64
	yOld       []float64
	yEnd       []float64
	c3, c4     []float64
	dense      []float64 // a place for its values

	g     []float64 // event values at the last point looked at, 0 while not armed
	found []hit
}

type hit struct {
	event  int
	before float64 // its value before the crossing
	s      float64 // the part of the step at which it crosses
}

const (
	defaultMaxSteps = 100_000
	looksPerStep    = 8 // places within a step where events are looked at
	epsilon         = 0x1p-52
)

// New sets a solver up. Errors wrap ErrSetup and say what cannot serve.
func New(p Problem, s Settings) (*Solver, error) {
	if err := check(&p, &s); err != nil {
		return nil, err
	}
	p.Names, p.Events, s.AbsTol = slices.Clone(p.Names), slices.Clone(p.Events), slices.Clone(s.AbsTol)
	if s.MaxSteps == 0 {
		s.MaxSteps = defaultMaxSteps
	}
	m := p.N + p.NQ
	v := &Solver{p: p, s: s, m: newLU(p.N), jac: make([]float64, m*p.N)}
	for _, place := range []*[]float64{&v.y, &v.f, &v.fNew, &v.stage, &v.yNew, &v.ft, &v.yOld, &v.yEnd, &v.c3, &v.c4, &v.dense} {
		*place = make([]float64, m)
	}
	for i := range v.u {
		v.u[i] = make([]float64, m)
	}
	v.g = make([]float64, len(p.Events))
	v.found = make([]hit, 0, len(p.Events))
	return v, nil
}

// Start puts the solver at t0 with the states y0; quadratures and statistics
// begin at 0 and the step is chosen anew. Errors wrap ErrSetup.
func (v *Solver) Start(t0 float64, y0 []float64) error {
	if !finite(t0) {
		return setup("start at t = %g", t0)
	}
	if err := v.checkState(y0); err != nil {
		return err
	}
	v.started = true
	v.t, v.h, v.accepted, v.stats = t0, v.s.FirstStep, 0, Stats{}
	v.jumped, v.afterJump = false, 0
	clear(v.y)
	copy(v.y, y0)
	v.freshDense()
	return nil
}

// Set replaces the states at the present time, as for a dose or a bounce.
// Time, quadratures, statistics and step stay. Errors wrap ErrSetup.
func (v *Solver) Set(y []float64) error {
	if !v.started {
		return setup("Set before Start")
	}
	if err := v.checkState(y); err != nil {
		return err
	}
	copy(v.y, y)
	v.freshDense()
	return nil
}

func (v *Solver) checkState(y []float64) error {
	if len(y) != v.p.N {
		return setup("%d values for %d states", len(y), v.p.N)
	}
	for i, value := range y {
		if !finite(value) {
			return setup("%s is %g", v.p.name(i), value)
		}
	}
	return nil
}

// freshDense makes At know the present point only.
func (v *Solver) freshDense() {
	v.tOld, v.hOld = v.t, 0
	copy(v.yOld, v.y)
	copy(v.yEnd, v.y)
	clear(v.c3)
	clear(v.c4)
}

// State returns the time and the states. The slice is the solver's own: it is
// to be read only and holds until the next call.
func (v *Solver) State() (t float64, y []float64) { return v.t, v.y[:v.p.N:v.p.N] }

// Quadratures returns the ledgers since Start, as State does the states.
func (v *Solver) Quadratures() []float64 { return v.y[v.p.N:] }

// Jumped tells the solver that the right-hand side has changed like many times
// before, as at the turn of the hour: the next Advance starts with about the
// step that did after the last such jump, if that is shorter than the one kept.
func (v *Solver) Jumped() { v.jumped = true }

// Stats returns the work since Start.
func (v *Solver) Stats() Stats { return v.stats }

// Step returns the step the next Advance will try first; 0 before the first.
func (v *Solver) Step() float64 { return v.h }

// At fills y (N) with the states at t, which must lie within the last step, both
// ends included. Errors wrap ErrOutside or ErrSetup.
func (v *Solver) At(t float64, y []float64) error { return v.between(t, y, 0, v.p.N, "states") }

// QuadraturesAt fills q (NQ) as At does the states.
func (v *Solver) QuadraturesAt(t float64, q []float64) error {
	return v.between(t, q, v.p.N, v.p.N+v.p.NQ, "quadratures")
}

func (v *Solver) between(t float64, out []float64, from, to int, what string) error {
	if len(out) != to-from {
		return setup("room for %d of %d %s", len(out), to-from, what)
	}
	if !v.started || !(t >= v.tOld && t <= v.t) {
		return fmt.Errorf("ode: t = %g: %w, %g to %g", t, ErrOutside, v.tOld, v.t)
	}
	if t == v.t {
		copy(out, v.y[from:to])
		return nil
	}
	v.polynomial((t-v.tOld)/v.hOld, out, from, to)
	return nil
}

// polynomial evaluates the dense output at the part s of the last step.
func (v *Solver) polynomial(s float64, out []float64, from, to int) {
	r := 1 - s
	for i := from; i < to; i++ {
		out[i-from] = v.yOld[i]*r + s*(v.yEnd[i]+r*(v.c3[i]+s*v.c4[i]))
	}
}

// eval calls F and Quad. Rates that are not finite are answered with ErrShorter.
func (v *Solver) eval(t float64, y, rates []float64) error {
	n := v.p.N
	v.stats.FEvals++
	if err := v.p.F(t, y[:n:n], rates[:n:n]); err != nil {
		return err
	}
	if v.p.NQ > 0 {
		v.stats.QuadEvals++
		if err := v.p.Quad(t, y[:n:n], rates[n:]); err != nil {
			return err
		}
	}
	if allFinite(rates) {
		return nil
	}
	for i, value := range rates {
		if !finite(value) {
			if i < n {
				return notFinite{"rate of " + v.p.name(i), value}
			}
			return notFinite{fmt.Sprintf("rate of quadrature %d", i-n), value}
		}
	}
	return nil
}

// allFinite is quick: nothing that is infinite or no number goes away by adding 0
// times it.
func allFinite(values []float64) bool {
	var sum float64
	for _, v := range values {
		sum += 0 * v
	}
	return sum == 0
}

// notFinite is both ErrNotFinite and ErrShorter.
type notFinite struct {
	what  string
	value float64
}

func (e notFinite) Error() string   { return fmt.Sprintf("%s is %g", e.what, e.value) }
func (e notFinite) Unwrap() []error { return []error{ErrNotFinite, ErrShorter} }

// Advance carries the solution to tEnd and never asks F beyond it. If an event
// with Stop comes first, it ends there, just past the root, with the state from
// the dense output. Between two calls the right-hand side may change in any way
// and Set may change the states; the step length is kept over the change.
//
// Errors: a *Failure wrapping ErrStepTooSmall or ErrTooManySteps; ErrSetup for
// a bad tEnd; ErrNotFinite; what F, Quad or a Jacobian answered, wrapped. After
// an error the solver stands at its last accepted step.
func (v *Solver) Advance(tEnd float64) (Outcome, error) {
	out := Outcome{Reason: NotMoved, T: v.t, Event: -1}
	if !v.started {
		return out, setup("Advance before Start")
	}
	if !finite(tEnd) || tEnd < v.t {
		return out, setup("advance to t = %g from t = %g; time runs forward", tEnd, v.t)
	}
	if tEnd == v.t {
		out.Reason = Reached
		return out, nil
	}
	if err := v.eval(v.t, v.y, v.f); err != nil {
		return out, fmt.Errorf("ode: t = %.9g: right-hand side at the start of an advance: %w", v.t, err)
	}
	if err := v.look(); err != nil {
		return out, err
	}
	if v.h == 0 {
		v.h = v.firstStep(tEnd)
	}
	if v.jumped && v.afterJump > 0 {
		v.h = min(v.h, 1.3*v.afterJump)
	}
	v.worst, v.cause = v.fastest(), nil
	haveJac, after := false, false // after a failed step
	h := v.h
	for tried := 0; v.t < tEnd; tried++ {
		out.T = v.t
		if tried == v.s.MaxSteps {
			return out, v.failure(ErrTooManySteps, h)
		}
		if v.s.MaxStep > 0 {
			h = min(h, v.s.MaxStep)
		}
		if v.s.FixedStep > 0 {
			h = v.s.FixedStep
		}
		wanted, last := h, false
		switch left := tEnd - v.t; {
		case h*1.0001 >= left:
			h, last = left, true
		case v.s.FixedStep == 0 && h*2 > left:
			h = left / 2 // two like steps and not a long and a short one
		}
		tNew := v.t + h
		if last {
			tNew = tEnd
		}
		if !last && h <= 16*epsilon*math.Abs(v.t) || h < 1e-100 {
			return out, v.failure(ErrStepTooSmall, h)
		}
		if !haveJac {
			if err := v.jacobians(h, tNew); err != nil {
				return out, err
			}
			haveJac = true
		}
		size, err := v.try(h, tNew)
		switch {
		case err != nil && !errors.Is(err, ErrShorter):
			return out, fmt.Errorf("ode: right-hand side in a step of %.3g from t = %.9g: %w", h, v.t, err)
		case err != nil:
			v.stats.Refused++
			v.cause = err
			if v.s.FixedStep > 0 {
				return out, v.failure(ErrStepTooSmall, h)
			}
			h, after = h/4, true
			v.h = h
			continue
		}
		if v.s.FixedStep > 0 {
			size = 0
		}
		// Hairer and Wanner 1996, section IV.8: the step that would just do,
		// and Gustafsson's that looks at the step before.
		fac := max(1.0/6, min(5, math.Sqrt(math.Sqrt(size))/0.9))
		if size > 1 {
			v.stats.Rejected++
			h, after = h/fac, true
			v.h = h
			continue
		}
		if v.accepted > 0 && size > 0 {
			gus := v.accepted / h * math.Sqrt(math.Sqrt(size*size/v.acceptedEr)) / 0.9
			fac = max(fac, min(5, gus))
		}
		v.accepted, v.acceptedEr = h, max(0.01, size)
		if v.jumped {
			v.jumped, v.afterJump = false, h
		}
		next := h / fac
		if after {
			next = min(next, h)
		}
		if h < wanted {
			next = max(next, wanted) // it was cut short by the end, not by the error
		}
		v.accept(h, tNew)
		v.h, h, haveJac, after, v.cause = next, next, false, false, nil
		out.T = v.t
		stop, err := v.events()
		if err != nil {
			return out, err
		}
		if stop >= 0 {
			return Outcome{Reason: AtEvent, T: v.t, Event: stop}, nil
		}
	}
	out.Reason, out.T = Reached, v.t
	return out, nil
}

// weight is the tolerance of state i at a size.
func (v *Solver) weight(i int, size float64) float64 {
	return v.s.AbsTol[i] + v.s.RelTol*math.Abs(size)
}

// fastest is the state with the largest rate over its tolerance.
func (v *Solver) fastest() (state int) {
	most := -1.0
	for i := range v.p.N {
		if r := math.Abs(v.f[i]) / v.weight(i, v.y[i]); r > most {
			state, most = i, r
		}
	}
	return state
}

// firstStep moves no state further than a hundredth of itself, or than its
// tolerance if it is near 0.
func (v *Solver) firstStep(tEnd float64) float64 {
	h := 0.01 * (tEnd - v.t)
	for i := range v.p.N {
		if rate := math.Abs(v.f[i]); rate > 0 {
			h = min(h, max(0.01*math.Abs(v.y[i]), v.weight(i, v.y[i]))/rate)
		}
	}
	return max(h, 32*epsilon*math.Abs(v.t), 1e-90)
}

func (v *Solver) failure(err error, h float64) error {
	return &Failure{Err: err, T: v.t, Step: h, State: v.worst, Name: v.p.name(v.worst), Cause: v.cause}
}

// try works the stages of one step out and returns the error of the step in
// tolerances: at most 1 is good. It leaves the end in yNew and its rates in fNew.
func (v *Solver) try(h, tNew float64) (float64, error) {
	n, m := v.p.N, v.p.N+v.p.NQ
	diagonal := 1 / (h * gamma)
	for i, entry := range v.jac[:n*n] {
		v.m.a[i] = -entry
	}
	for i := range n {
		v.m.a[i*n+i] += diagonal
	}
	v.stats.LUs++
	if !v.m.factor() {
		return 0, errSingular
	}
	for i := range stages {
		rates := v.f
		if i > 0 {
			copy(v.stage, v.y)
			for j := range i {
				if a := rodasA[i][j]; a != 0 {
					addTo(v.stage, a, v.u[j])
				}
			}
			t := v.t + rodasAlpha[i]*h
			if rodasAlpha[i] == 1 {
				t = tNew
			}
			rates = v.fNew
			if err := v.eval(t, v.stage, rates); err != nil {
				return 0, err
			}
		}
		u := v.u[i]
		copy(u, rates)
		for j := range i {
			addTo(u, rodasC[i][j]/h, v.u[j])
		}
		if d := rodasD[i]; d != 0 && !v.p.Autonomous {
			addTo(u, d*h, v.ft)
		}
		v.m.solve(u[:n])
		for q := n; q < m; q++ {
			u[q] = (u[q] + dot(v.jac[q*n:q*n+n], u)) / diagonal
		}
	}
	copy(v.yNew, v.stage)
	addTo(v.yNew, 1, v.u[stages-1])
	size, worst := 0.0, 0
	for i, e := range v.u[stages-1][:n] {
		w := v.weight(i, max(math.Abs(v.y[i]), math.Abs(v.yNew[i])))
		r := math.Abs(e) / w
		if !finite(r) {
			v.worst = i
			return 0, notFinite{"a stage of " + v.p.name(i), e}
		}
		if r > size {
			size, worst = r, i
		}
	}
	v.worst = worst
	if size > 1 && v.s.FixedStep == 0 {
		return size, nil
	}
	// The end must be a place to go on from.
	if err := v.eval(tNew, v.yNew, v.fNew); err != nil {
		return 0, err
	}
	return size, nil
}

// errSingular is met by a step of another length.
var errSingular = fmt.Errorf("matrix of the step is singular: %w", ErrShorter)

func addTo(to []float64, factor float64, from []float64) {
	for i, value := range from {
		to[i] += factor * value
	}
}

// accept takes the step over and prepares its dense output.
func (v *Solver) accept(h, tNew float64) {
	v.stats.Steps++
	v.tOld, v.hOld = v.t, h
	copy(v.yOld, v.y)
	copy(v.yEnd, v.yNew)
	clear(v.c3)
	clear(v.c4)
	for j := range stages - 1 {
		addTo(v.c3, rodasE[j], v.u[j])
		addTo(v.c4, rodasF[j], v.u[j])
	}
	v.t = tNew
	copy(v.y, v.yNew)
	v.f, v.fNew = v.fNew, v.f
}
