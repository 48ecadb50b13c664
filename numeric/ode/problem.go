package ode

import (
	"errors"
	"fmt"
	"math"
)

// Problem is a system dy/dt = F(t, y) of N states, with ledgers and events
// beside it. The slices handed to its functions belong to the solver: y is to be
// read, the others to be filled, and none is to be kept.
type Problem struct {
	// N is the number of states, at least 1.
	N int
	// Names names the states in errors; empty, or N of them.
	Names []string
	// F fills dy with the rates. It is called for times from the start to the end
	// of an Advance, both included, and for states that lie near the solution,
	// negative ones among them. ErrShorter (or an error wrapping it) asks for a
	// shorter step; a rate that is not finite asks the same. Any other error
	// ends the Advance.
	F func(t float64, y, dy []float64) error
	// Jac fills jac with ∂dy[i]/∂y[j] at jac[i*N+j]; jac comes zeroed. If nil,
	// differences of F stand in, at N calls a step.
	Jac func(t float64, y, jac []float64) error
	// Autonomous says that neither F nor Quad depends on t within one Advance.
	Autonomous bool
	// TimeJac fills dft (N) and dqt (NQ) with ∂F/∂t and ∂Quad/∂t; both come
	// zeroed. If nil, and the problem is not Autonomous, one difference per step
	// stands in.
	TimeJac func(t float64, y, dft, dqt []float64) error
	// NQ is the number of quadratures: ledgers q with dq/dt = Quad(t, y), which
	// take no part in the choice of the step.
	NQ int
	// Quad fills dq. It is called directly after F with the same t and y, so
	// that F may keep what both need. Errors as for F.
	Quad func(t float64, y, dq []float64) error
	// QuadJac fills jac with ∂dq[i]/∂y[j] at jac[i*N+j]; jac comes zeroed. If
	// nil, differences stand in, at N calls a step.
	QuadJac func(t float64, y, jac []float64) error
	// Events are looked for within each step.
	Events []Event
}

// Event is a function of time and state whose passage through zero is told, at
// the first place past the root that the time resolves. It is looked at in eight
// places of each step: two passages within an eighth are not seen, which
// Settings.MaxStep can mend. One that stands at exactly 0 when an Advance begins is
// told only after it has left 0 and come back.
type Event struct {
	// Name is used in errors.
	Name string
	// Root must be continuous within an Advance and finite.
	Root func(t float64, y []float64) float64
	// Direction is +1 for a rise through zero, -1 for a fall, 0 for both.
	Direction int
	// Stop ends the Advance at the event.
	Stop bool
	// Seen, if not nil, is called at the event with its time and state.
	Seen func(t float64, y []float64)
}

// Settings are the tolerances and limits of a Solver.
type Settings struct {
	// RelTol is the relative tolerance of all states, 1e-13 to below 1.
	RelTol float64
	// AbsTol is the absolute tolerance of each state in its unit, above 0: the
	// size below which the state is noise. The error of a step counts as a
	// multiple of AbsTol[i] + RelTol*|y[i]|, and the largest multiple must be
	// at most 1.
	AbsTol []float64
	// FirstStep is the first step; 0 leaves it to the solver.
	FirstStep float64
	// MaxStep bounds the step; 0 is no bound.
	MaxStep float64
	// FixedStep, if above 0, takes steps of this length without error control,
	// the last of an Advance shortened.
	FixedStep float64
	// MaxSteps bounds the steps tried in one Advance; 0 means 100,000.
	MaxSteps int
}

// Errors that Advance and the others return, wrapped.
var (
	// ErrShorter is for F and Quad to return: not here, a shorter step please.
	ErrShorter = errors.New("a shorter step is asked for")
	// ErrStepTooSmall: the step fell below what the time can resolve.
	ErrStepTooSmall = errors.New("step too small")
	// ErrTooManySteps: Settings.MaxSteps were tried.
	ErrTooManySteps = errors.New("too many steps")
	// ErrSetup: the problem, the settings or an argument cannot serve.
	ErrSetup = errors.New("set up wrongly")
	// ErrNotFinite: a rate at the start, an entry of a Jacobian or an event
	// is NaN or infinite.
	ErrNotFinite = errors.New("not finite")
	// ErrOutside: At was asked for a time outside the last step.
	ErrOutside = errors.New("outside the last step")
)

// Failure is the error of an Advance that could not go on. The solver still
// stands at its last accepted step, T, and may be asked for it.
type Failure struct {
	Err   error   // ErrStepTooSmall or ErrTooManySteps
	T     float64 // time of the last accepted step
	Step  float64 // length of the step last tried
	State int     // the fastest state: the one whose error or rate, over its tolerance, is largest
	Name  string  // its name
	Cause error   // what the right-hand side last answered, or nil
}

func (f *Failure) Error() string {
	step, advice := "step fell to", "loosen its tolerance or look for a jump in its rate"
	if errors.Is(f.Err, ErrTooManySteps) {
		step, advice = "step is", "allow more steps or loosen its tolerance"
	}
	text := fmt.Sprintf("ode: t = %.9g: %v: %s %.3g; fastest state: %s; %s", f.T, f.Err, step, f.Step, f.Name, advice)
	if f.Cause != nil {
		text += fmt.Sprintf(" (last answer: %v)", f.Cause)
	}
	return text
}

// Unwrap returns the sentinel and, if there is one, the cause.
func (f *Failure) Unwrap() []error {
	if f.Cause == nil {
		return []error{f.Err}
	}
	return []error{f.Err, f.Cause}
}

func setup(format string, args ...any) error {
	return fmt.Errorf("ode: %w: %s", ErrSetup, fmt.Sprintf(format, args...))
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// check refuses what cannot serve.
func check(p *Problem, s *Settings) error {
	switch {
	case p.N < 1:
		return setup("%d states; there must be one at least", p.N)
	case p.F == nil:
		return setup("no right-hand side F")
	case len(p.Names) != 0 && len(p.Names) != p.N:
		return setup("%d names for %d states", len(p.Names), p.N)
	case p.NQ < 0 || (p.NQ > 0) != (p.Quad != nil):
		return setup("%d quadratures, and Quad given is %t", p.NQ, p.Quad != nil)
	case p.NQ == 0 && p.QuadJac != nil:
		return setup("QuadJac without quadratures")
	case len(s.AbsTol) != p.N:
		return setup("%d absolute tolerances for %d states", len(s.AbsTol), p.N)
	case !(s.RelTol >= 1e-13 && s.RelTol < 1):
		return setup("relative tolerance %g; it must be 1e-13 to below 1", s.RelTol)
	case s.MaxSteps < 0:
		return setup("at most %d steps; it must be 0 or more", s.MaxSteps)
	}
	for i, v := range s.AbsTol {
		if !(v > 0) || !finite(v) {
			return setup("absolute tolerance %g of %s; it must be above 0 and finite", v, p.name(i))
		}
	}
	for _, l := range []struct {
		what  string
		value float64
	}{{"first step", s.FirstStep}, {"longest step", s.MaxStep}, {"fixed step", s.FixedStep}} {
		if !(l.value >= 0) || !finite(l.value) {
			return setup("%s %g; it must be 0 or more and finite", l.what, l.value)
		}
	}
	for i, e := range p.Events {
		if e.Root == nil {
			return setup("event %d (%s) has no root function", i, e.Name)
		}
		if e.Direction < -1 || e.Direction > 1 {
			return setup("event %d (%s) has direction %d; it must be -1, 0 or 1", i, e.Name, e.Direction)
		}
	}
	return nil
}

func (p *Problem) name(i int) string {
	if len(p.Names) > 0 {
		return p.Names[i]
	}
	return fmt.Sprintf("y[%d]", i)
}
