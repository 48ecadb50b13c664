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
	if c.JSON {
		if err := s.json(struct {
			Errors   []site.Problem `json:"errors"`
			Warnings []site.Warning `json:"warnings"`
		}{append([]site.Problem{}, problems...), append([]site.Warning{}, warnings...)}); err != nil {
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
	fmt.Fprintf(s.out, "%d errors, %d warnings\n", len(problems), len(warnings))
	if len(problems) > 0 {
		return errBadSeen
	}
	return nil
}
