package climate

import (
	"fmt"
	"strings"
)

// Fault is one thing wrong with a weather file.
type Fault struct {
	File string
	Line int    // 0 when the fault is of the whole file
	Text string // what was given, what is allowed, how to mend it
	err  error
}

// Error returns file, line and text.
func (f *Fault) Error() string {
	if f.Line == 0 {
		return f.File + ": " + f.Text
	}
	return fmt.Sprintf("%s:%d: %s", f.File, f.Line, f.Text)
}

// Unwrap returns the range error behind the fault, if it is of that kind.
func (f *Fault) Unwrap() error { return f.err }

// Faults is what was found wrong with a weather file, the first ten in full.
// Faults of the file as a whole (units, columns, clock) hide those of its lines,
// which mostly follow from them. ReadFile's error wraps it.
type Faults struct {
	List []*Fault
	More int // faults found beyond those listed
}

// Error returns the faults, a line each.
func (f *Faults) Error() string {
	lines := make([]string, 0, len(f.List)+1)
	for _, one := range f.List {
		lines = append(lines, one.Error())
	}
	if f.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more of the kind", f.More))
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one.
func (f *Faults) Unwrap() []error {
	all := make([]error, len(f.List))
	for i, one := range f.List {
		all[i] = one
	}
	return all
}

const mostFaults = 10

// Report says what a weather file was and what was done to it.
type Report struct {
	Format  string // in words: EPW, TMY3, plain CSV
	Place   string
	Hours   int // of the series
	Years   int
	Typical bool // months of several years, or said to be so

	FilledHours  int // hours of which at least one value was filled by a straight line
	LongestGapH  int // longest gap filled
	SplitHours   int // daylight hours whose diffuse part was worked out, not read
	CappedDew    int // hours whose dew point lay above the temperature by rounding and was lowered to it
	CappedSky    int // hours whose diffuse part lay above the whole and was lowered to it
	Notes        []string
	PressureRead bool
}

func (r *Report) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}
