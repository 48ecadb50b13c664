package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tidebed/plumbing"
	"tidebed/site"
	"tidebed/words"
)

type checkCmd struct {
	common
	File string `arg:"" help:"A site file, or demo."`
}

// Help adds what the exit status says.
func (c *checkCmd) Help() string {
	return "It reads the file, then works out the plumbing of each loop: siphons, pump, pipes, and what one fault does.\n\nExit status 4: the file has errors. 3: something in the plumbing must be mended. Warnings alone are good.\n\n" + statuses
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
	Plumbing []piping  `json:"plumbing"`
}

// piping is what the plumbing of a loop shows, as JSON.
type piping struct {
	File string `json:"file"`
	Line int    `json:"line"` // 0 when unknown
	Loop string `json:"loop"`
	plumbing.Finding
}

// Run prints every error and warning of the file.
func (c *checkCmd) Run(s streams) error {
	if _, err := c.day(nil); err != nil {
		return err
	}
	b, warnings, err := open(c.File)
	var problems site.Problems
	if err != nil && !errors.As(err, &problems) {
		return err
	}
	pipes, err := c.plumbing(b)
	if err != nil {
		return err
	}
	act := 0
	for i := range pipes {
		if pipes[i].State == plumbing.Act {
			act++
		}
	}
	verdict := words.Count(len(problems), "error", "errors") + ", " + words.Count(len(warnings), "warning", "warnings")
	if len(problems) == 0 && len(pipes) > 0 {
		verdict += fmt.Sprintf("; plumbing: %d to mend, %d to watch", act, len(pipes)-act)
	}
	if c.JSON {
		out := checkResult{Errors: []finding{}, Warnings: []finding{}, Plumbing: append([]piping{}, pipes...)}
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
		return ended(nil, act > 0)
	}
	for _, p := range problems {
		fmt.Fprintln(s.out, p.Error())
	}
	for _, w := range warnings {
		fmt.Fprintln(s.out, "warning: "+site.Problem(w).Error())
	}
	for i := range pipes {
		p := &pipes[i]
		at := site.Problem{File: p.File, Line: p.Line, Field: p.Field, Message: said(&p.Finding)}
		fmt.Fprintf(s.out, "%s: %s\n", p.State, at.Error())
	}
	fmt.Fprintln(s.out, verdict)
	if len(problems) > 0 {
		return errBadSeen
	}
	return ended(nil, act > 0)
}

// plumbing is what must be mended or watched in the plumbing of a site without
// errors, the worst first.
func (c *checkCmd) plumbing(b *site.Site) ([]piping, error) {
	if b == nil {
		return nil, nil
	}
	name, text, err := textOf(c.File)
	if err != nil {
		return nil, err
	}
	var all []piping
	for i := range b.Loops {
		l := &b.Loops[i]
		st, err := plumbing.StudyOf(l, plumbing.SettingsOf(b, l))
		if err != nil { // told with the rest: the other loops are worked out all the same
			st = &plumbing.Study{Findings: []plumbing.Finding{{State: plumbing.Act, About: l.Name, Sentence: "The plumbing cannot be worked out: " + err.Error() + "."}}}
		}
		if st == nil {
			continue
		}
		for _, f := range st.Findings {
			if f.State == plumbing.Good {
				continue
			}
			f.Field = strings.TrimSuffix(fmt.Sprintf("loops[%d].%s", i, f.Field), ".")
			all = append(all, piping{name, site.LineOf(text, f.Field), l.Name, f})
		}
	}
	slices.SortStableFunc(all, func(a, b piping) int {
		rank := map[plumbing.State]int{plumbing.Act: 0, plumbing.Watch: 1}
		return rank[a.State] - rank[b.State]
	})
	return all, nil
}
