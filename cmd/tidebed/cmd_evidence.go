package main

import (
	"context"
	"fmt"
	"math"
	"text/tabwriter"

	"tidebed/evidence"
	"tidebed/words"
)

type evidenceCmd struct{ common }

// Help adds what the exit status says.
func (c *evidenceCmd) Help() string {
	return "Exit status 1: a row is not reproduced.\n\n" + statuses
}

// evidenceRow is one row as JSON.
type evidenceRow struct {
	ID        string   `json:"id"`
	Equation  string   `json:"equation"`
	What      string   `json:"what"`
	Expected  float64  `json:"expected"`
	Got       *float64 `json:"got"` // null when the program gave no answer
	Tolerance float64  `json:"tolerance"`
	Unit      string   `json:"unit"`
	OK        bool     `json:"ok"`
	Counted   bool     `json:"counted"`
	Kind      string   `json:"kind"`
	Source    string   `json:"source"`
	Note      string   `json:"note"`
}

// evidenceResult is the report as JSON.
type evidenceResult struct {
	Passed    int           `json:"passed"`
	Counted   int           `json:"counted"`
	Equations int           `json:"equations"`
	Rows      []evidenceRow `json:"rows"`
	Goldens   []evidenceRow `json:"goldens"`
}

// evidenceJSON gives the report the shape it has as JSON, which knows no NaN.
func evidenceJSON(report evidence.Report) evidenceResult {
	rows := func(list []evidence.Row) []evidenceRow {
		out := []evidenceRow{}
		for _, r := range list {
			row := evidenceRow{r.ID, r.Equation, r.What, r.Expected, nil, r.Tolerance, r.Unit, r.OK, r.Counted, r.Kind, r.Source, r.Note}
			if !math.IsNaN(r.Got) && !math.IsInf(r.Got, 0) {
				row.Got = &r.Got
			}
			out = append(out, row)
		}
		return out
	}
	return evidenceResult{report.Passed, report.Counted, report.Equations, rows(report.Rows), rows(report.Goldens)}
}

// Run holds the program against published values and prints each.
func (c *evidenceCmd) Run(ctx context.Context, s streams) error {
	if _, err := c.day(nil); err != nil {
		return err
	}
	report, err := evidence.Run(ctx)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(evidenceJSON(report)); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(s.out, "%d of %d published values of %d equations are reproduced; %d values of independent libraries stand beside them, not counted.\n\n",
			report.Passed, report.Counted, report.Equations, report.Libraries)
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		rows := func(title string, rows []evidence.Row) {
			fmt.Fprintf(w, "%s\n", title)
			for _, r := range rows {
				state := "good"
				if !r.OK {
					state = "WRONG"
				}
				got := fmt.Sprintf("%.6g", r.Got)
				if math.IsNaN(r.Got) {
					got = "no answer"
				}
				fmt.Fprintf(w, "  %s\t%s\t%.6g\t%s\t± %.2g %s\t%s\t%s\n", r.Equation, r.What, r.Expected, got, r.Tolerance, r.Unit, state, r.Source)
				if !r.OK && r.Note != "" {
					fmt.Fprintf(w, "    %s\n", r.Note)
				}
			}
		}
		rows("published, ours, tolerance, source", report.Rows)
		rows("goldens: values worked out from the same figures; they prove no more than that nothing moved", report.Goldens)
		if err := w.Flush(); err != nil {
			return err
		}
	}
	if failed := report.Failed(); len(failed) > 0 {
		if c.JSON {
			return errFailedSeen
		}
		return fmt.Errorf("evidence: %s not reproduced, the first is %s", words.Count(len(failed), "row is", "rows are"), failed[0].ID)
	}
	return nil
}
