package site

import (
	"fmt"
	"strings"
)

// Problem is one thing wrong with a description, for which it is refused.
type Problem struct {
	File    string // as given to Read; empty when the description was not read from text
	Line    int    // from 1; 0 when unknown
	Field   string // such as "loops[0].beds[2].depth"; empty for the whole file
	Given   string // what was typed, as typed; may be empty
	Message string // a sentence that quotes what was given and says how to mend it
}

// Error returns "site.yaml:41: loops[0].beds[2].depth: 3 m is more than the 2 m
// allowed"; parts that are not known are left out.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		if p.File == "" {
			b.WriteString("line ")
		} else {
			b.WriteString(":")
		}
		fmt.Fprint(&b, p.Line)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if p.Field != "" {
		b.WriteString(p.Field + ": ")
	}
	b.WriteString(p.Message)
	return b.String()
}

// Problems is all that is wrong with a description, in the order of the lines.
type Problems []Problem

// Error returns one line for each problem.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Warning is something unusual in a description that is used all the same. Its
// parts are those of Problem.
type Warning Problem

// String returns the warning as Problem.Error returns a problem.
func (w Warning) String() string { return Problem(w).Error() }
