package web

import (
	"context"
	"errors"

	"tidebed/evidence"
	"tidebed/reckoner"
)

// Reckoner returns the quick sums of package reckoner, for Config.Entries.
func Reckoner() []Sum {
	var sums []Sum
	for _, e := range reckoner.Entries() {
		sum := Sum{Name: e.Name, Title: e.Title, Formula: e.Formula, OneOf: e.OneOf, Sources: e.Sources, Cautions: e.Cautions}
		for _, k := range e.Keys {
			unit := k.Unit
			if unit == "1" {
				unit = ""
			}
			sum.Keys = append(sum.Keys, SumKey{Name: k.Name, What: k.What, Kind: string(k.Kind), Default: k.Default,
				Required: k.Required, Range: k.Range, Choices: k.Choices, BareUnit: k.BareUnit, Unit: unit, Field: k.Field})
		}
		for _, o := range e.Outputs {
			sum.Outputs = append(sum.Outputs, SumOutput{o.Name, o.What, o.Unit})
		}
		sums = append(sums, sum)
	}
	return sums
}

// RunReckoner runs a quick sum of package reckoner, for Config.RunSum. A refused
// value gives an *InputError.
func RunReckoner(name string, in map[string]string) (SumResult, error) {
	result, err := reckoner.Run(name, in)
	var refused *reckoner.InputError
	switch {
	case errors.As(err, &refused):
		return SumResult{}, &InputError{Field: refused.Field, Sentence: refused.Sentence}
	case err != nil:
		return SumResult{}, err
	}
	return SumResult{Inputs: result.Inputs, Outputs: result.Outputs, Warnings: result.Warnings, Sources: result.Sources, NoAnswer: result.NoAnswer()}, nil
}

// RunEvidence holds the program against the rows of package evidence, for
// Config.Evidence.
func RunEvidence(ctx context.Context) (EvidenceReport, error) {
	report, err := evidence.Run(ctx)
	if err != nil {
		return EvidenceReport{}, err
	}
	return evidenceOf(report), nil
}

func evidenceOf(report evidence.Report) EvidenceReport {
	out := EvidenceReport{Equations: report.Equations, Passed: report.Passed, Counted: report.Counted}
	for _, part := range []struct {
		from []evidence.Row
		to   *[]EvidenceRow
	}{{report.Rows, &out.Rows}, {report.Goldens, &out.Goldens}} {
		for _, r := range part.from {
			*part.to = append(*part.to, EvidenceRow{ID: r.ID, Equation: r.Equation, What: r.What, Source: r.Source, Kind: r.Kind,
				Expected: r.Expected, Got: r.Got, Tolerance: r.Tolerance, Unit: r.Unit, OK: r.OK, Counted: r.Counted, Note: r.Note})
		}
	}
	return out
}
