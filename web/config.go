package web

import (
	"context"
	"log/slog"

	"tidebed/meals"
	"tidebed/plan"
	"tidebed/site"
)

// Config is what the pages are made of.
type Config struct {
	Site  *site.Site // the building; must not be nil
	Today site.Date  // the day the pages speak from

	// Answer works out the meals. It is called once; the answer is kept. After an
	// error the next reader's visit calls it again.
	Answer func(ctx context.Context) (*meals.Answer, error)

	// Plan makes the plan and Explain its reasons, as package plan does. nil: that
	// package's own, for Site. Each is called once for a question; the answer is kept.
	Plan    func(ctx context.Context, today site.Date, o plan.Options) (*plan.Plan, error)
	Explain func(ctx context.Context, today site.Date, o plan.Options, p *plan.Plan) (*plan.Reasons, error)

	Entries []Sum // the quick sums, in the order of the list
	// RunSum runs one of Entries with the texts a person typed; keys left empty are
	// not passed. A value that is refused gives an *InputError, or several joined
	// by errors.Join.
	RunSum func(name string, in map[string]string) (SumResult, error)

	// Evidence holds the program against published values. It is called once, and
	// again after an error.
	Evidence func(ctx context.Context) (EvidenceReport, error)

	Version string       // of the program, shown at the foot of each page
	Log     *slog.Logger // takes the causes of failures; nil means slog.Default
}

// Sum is one quick sum: its question, its formula and what it takes and gives.
type Sum struct {
	Name     string // as in the address and on the command line
	Title    string
	Formula  string
	Keys     []SumKey
	Outputs  []SumOutput
	OneOf    [][]string // of each group of keys exactly one is given
	Sources  []string
	Cautions []string
}

// SumKey is one value a quick sum takes.
type SumKey struct {
	Name     string
	What     string
	Kind     string // a kind of package quantity, or a word of the registry's own
	Default  string // as a person would type it; empty: none
	Required bool
	Range    string   // in words, with units
	Choices  []string // when one of these words is wanted
	BareUnit string   // unit of a number typed without one; empty: as Kind has it
	Unit     string   // of the number in SumResult.Inputs
	Field    string   // its name in SumResult.Inputs; empty: Name
}

// SumOutput is one value a quick sum gives.
type SumOutput struct{ Name, What, Unit string }

// SumResult is what a quick sum gave.
type SumResult struct {
	Inputs, Outputs   map[string]any
	Warnings, Sources []string
	NoAnswer          bool // the sum ran, and its answer is that there is none
}

// InputError says why one typed value was refused.
type InputError struct {
	Field    string // name of the key; empty when it is about all of them together
	Sentence string // for the person who typed
}

// Error returns the field and the sentence.
func (e *InputError) Error() string {
	if e.Field == "" {
		return e.Sentence
	}
	return e.Field + ": " + e.Sentence
}

// EvidenceRow is one published value and what the program makes of it.
type EvidenceRow struct {
	ID, Equation, What, Source, Kind string
	Expected, Got, Tolerance         float64 // in Unit; the tolerance is absolute
	Unit                             string
	OK                               bool
	Counted                          bool // else it is shown, but proves nothing
	Note                             string
}

// EvidenceReport is the program held against published values.
type EvidenceReport struct {
	Rows            []EvidenceRow // published values and look-ups
	Goldens         []EvidenceRow // the program's own earlier results, not counted
	Equations       int           // equations with at least one counted row
	Passed, Counted int
}
