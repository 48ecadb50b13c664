package main

import (
	"errors"
	"fmt"

	"tidebed/site"
)

type checkCmd struct {
	common
	File string `arg:"" help:"A site file, or demo."`
}

// Help adds what the exit status says.
func (c *checkCmd) Help() string {
	return "Exit status 4: the file has errors. Warnings alone are good.\n\n" + statuses
}

// finding is one error or warning as JSON.
type finding struct {
	File    string `json:"file"`
	Line    int    `json:"line"` // 0 when unknown
	Field   string `json:"field"`
	Given   string `json:"given"`
	Message string `json:"message"`
}

// checkResult is the whole verdict as JSON; Error and Field speak of the first
// error and are left out when there is none.
type checkResult struct {
	Error    string    `json:"error,omitempty"`
	Field    string    `json:"field,omitempty"`
	Errors   []finding `json:"errors"`
	Warnings []finding `json:"warnings"`
}

// Run prints every error and warning of the file.
func (c *checkCmd) Run(s streams) error {
	if _, err := c.day(nil); err != nil {
		return err
	}
	_, warnings, err := open(c.File)
	var problems site.Problems
	if err != nil && !errors.As(err, &problems) {
		return err
	}
	verdict := count(len(problems), "error", "errors") + ", " + count(len(warnings), "warning", "warnings")
	if c.JSON {
		out := checkResult{Errors: []finding{}, Warnings: []finding{}}
		for _, p := range problems {
			out.Errors = append(out.Errors, finding(p))
		}
		for _, w := range warnings {
			out.Warnings = append(out.Warnings, finding(w))
		}
		if len(problems) > 0 {
			out.Error, out.Field = verdict+"; the first is "+problems[0].Error(), problems[0].Field
		}
		if err := s.json(out); err != nil {
			return err
		}
		if len(problems) > 0 {
			return errBadSeen
		}
		return nil
	}
	for _, p := range problems {
		fmt.Fprintln(s.out, p.Error())
	}
	for _, w := range warnings {
		fmt.Fprintln(s.out, "warning: "+site.Problem(w).Error())
	}
	fmt.Fprintln(s.out, verdict)
	if len(problems) > 0 {
		return errBadSeen
	}
	return nil
}
