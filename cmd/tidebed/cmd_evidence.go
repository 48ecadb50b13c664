package main

import (
	"context"
	"fmt"
	"text/tabwriter"

	"tidebed/evidence"
)

type evidenceCmd struct{ common }

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
		if err := s.json(report); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(s.out, "%d of %d published values of %d equations are reproduced.\n\n", report.Passed, report.Counted, report.Equations)
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		rows := func(title string, rows []evidence.Row) {
			fmt.Fprintf(w, "%s\n", title)
			for _, r := range rows {
				state := "good"
				if !r.OK {
					state = "WRONG"
				}
				fmt.Fprintf(w, "  %s\t%s\t%.6g\t%.6g\t± %.2g %s\t%s\t%s\n", r.Equation, r.What, r.Expected, r.Got, r.Tolerance, r.Unit, state, r.Source)
			}
		}
		rows("published, ours, tolerance, source", report.Rows)
		rows("goldens: values worked out from the same figures; they prove no more than that nothing moved", report.Goldens)
		w.Flush()
	}
	if failed := report.Failed(); len(failed) > 0 {
		return fmt.Errorf("%d rows are not reproduced, first %s", len(failed), failed[0].ID)
	}
	return nil
}
