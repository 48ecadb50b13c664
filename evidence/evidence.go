package evidence

import (
	"bytes"
	"context"
	"embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"

	"tidebed/reckoner"
)

// MostPerEquation is how many rows of one equation count at most.
const MostPerEquation = 20

// The kinds of rows.
const (
	Published = "published" // a printed value, worked out here from other inputs
	Reference = "reference" // worked out by an independent general-purpose library, named in the source
	Lookup    = "lookup"    // a printed value beside one of our tables; never counts
	Golden    = "golden"    // worked out once for these rows; never counts
)

// The marks of the file: where the expected value has been seen.
const (
	markPrinted  = "P"
	markMemory   = "M"
	markFitted   = "F" // seen in print, and a constant of ours was fitted to it
	markComputed = "C"
	markLibrary  = "R" // an independent library's own value
)

// rowFiles holds the check rows, a file a subject, read in the order of names.
//
//go:embed rows/*.csv
var rowFiles embed.FS

// Row is one check: what was expected and what the program gives.
type Row struct {
	ID        string
	Equation  string // what is put to the test; rows are counted by it
	What      string // the case, in words
	Source    string
	Kind      string // Published, Lookup or Golden
	Expected  float64
	Got       float64 // NaN when the program gave no answer; Note says why
	Tolerance float64 // how far Got may lie from Expected
	Unit      string  // of Expected, Got and Tolerance; empty for plain numbers
	OK        bool
	Counted   bool
	Note      string
}

// Report is all rows, in the order of the file.
type Report struct {
	Rows      []Row // published values, those of independent libraries, look-ups
	Goldens   []Row
	Equations int // equations with at least one row that counts
	Passed    int // rows that count and are OK
	Libraries int // values of independent libraries: shown beside, not counted
	Counted   int // rows that count
}

// Failed returns the rows that are not OK, goldens too.
func (r Report) Failed() []Row {
	var failed []Row
	for _, list := range [][]Row{r.Rows, r.Goldens} {
		for _, row := range list {
			if !row.OK {
				failed = append(failed, row)
			}
		}
	}
	return failed
}

// check is a row of the file.
type check struct {
	Row
	entry, function, output string
	inputs                  map[string]string
	mark                    string
}

const header = "id,equation,what,entry,function,inputs,output,expected,tolerance,unit,kind,mark,source,note"

// parse reads the rows and refuses a file that breaks the rules: a row without
// source, a published row with a computed value, an ID twice.
func parse(text []byte) ([]check, error) {
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	r.FieldsPerRecord = strings.Count(header, ",") + 1
	records, err := r.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("check rows: %w", err)
	}
	if len(records) < 2 || strings.Join(records[0], ",") != header {
		return nil, fmt.Errorf("check rows: the first line must be %s, with rows below it", header)
	}
	seen := map[string]bool{}
	checks := make([]check, 0, len(records)-1)
	for _, rec := range records[1:] {
		c := check{
			Row: Row{
				ID: rec[0], Equation: rec[1], What: rec[2], Unit: rec[9], Kind: rec[10],
				Source: strings.TrimSpace(rec[12]), Note: rec[13],
			},
			entry: rec[3], function: rec[4], output: rec[6], mark: rec[11],
		}
		if c.Expected, err = number(rec[7]); err == nil {
			c.Tolerance, err = number(rec[8])
		}
		if err == nil {
			c.inputs, err = pairs(rec[5])
		}
		if err == nil {
			err = c.valid()
		}
		if err == nil && seen[c.ID] {
			err = fmt.Errorf("the name stands twice")
		}
		if err != nil {
			return nil, fmt.Errorf("check row %q: %w", c.ID, err)
		}
		seen[c.ID] = true
		checks = append(checks, c)
	}
	return checks, nil
}

// valid holds a row against the rules of the file.
func (c *check) valid() error {
	switch {
	case c.ID == "" || c.Equation == "" || c.What == "":
		return fmt.Errorf("id, equation or what is empty")
	case c.Source == "":
		return fmt.Errorf("no source")
	case c.Tolerance < 0:
		return fmt.Errorf("tolerance %g is negative", c.Tolerance)
	case (c.entry == "") == (c.function == ""):
		return fmt.Errorf("give an entry of the reckoner or a function, one of them")
	case (c.entry == "") != (c.output == ""):
		return fmt.Errorf("an output goes with an entry")
	case c.function != "" && functions[c.function] == nil:
		return fmt.Errorf("there is no function %q", c.function)
	}
	source := strings.ToLower(c.Source)
	switch c.Kind {
	case Published, Lookup:
		if c.mark != markPrinted && c.mark != markMemory && c.mark != markFitted || strings.Contains(source, "computed") || strings.Contains(source, "worked") {
			return fmt.Errorf("mark %q, source %q: a computed value is a %s, not a %s one", c.mark, c.Source, Golden, c.Kind)
		}
	case Reference:
		if c.mark != markLibrary {
			return fmt.Errorf("mark %q: a value of a library bears the mark %s", c.mark, markLibrary)
		}
	case Golden:
		if c.mark != markComputed {
			return fmt.Errorf("mark %q: a golden bears the mark %s", c.mark, markComputed)
		}
	default:
		return fmt.Errorf("kind %q: give %s, %s, %s or %s", c.Kind, Published, Reference, Lookup, Golden)
	}
	return nil
}

// number reads a finite decimal number.
func number(text string) (float64, error) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is no number", text)
	}
	return v, nil
}

// pairs reads "key=value|key=value".
func pairs(text string) (map[string]string, error) {
	out := map[string]string{}
	for part := range strings.SplitSeq(text, "|") {
		key, value, found := strings.Cut(part, "=")
		if _, twice := out[key]; !found || twice {
			return nil, fmt.Errorf("inputs %q: %q is no key=value, or stands twice", text, part)
		}
		out[key] = value
	}
	return out, nil
}

// Run works out every row. A row the program cannot answer is not OK and says
// why; the error is for a faulty file or an ended context only.
func Run(ctx context.Context) (Report, error) {
	checks, err := all()
	if err != nil {
		return Report{}, err
	}
	return work(ctx, checks)
}

// all reads every file of rows; a name may stand once in all of them.
func all() ([]check, error) {
	files, err := rowFiles.ReadDir("rows")
	if err != nil {
		return nil, fmt.Errorf("check rows: %w", err)
	}
	var checks []check
	seen := map[string]string{}
	for _, file := range files {
		text, err := rowFiles.ReadFile("rows/" + file.Name())
		if err != nil {
			return nil, fmt.Errorf("check rows: %w", err)
		}
		list, err := parse(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file.Name(), err)
		}
		for _, c := range list {
			if other := seen[c.ID]; other != "" {
				return nil, fmt.Errorf("check rows: %s stands in %s and in %s", c.ID, other, file.Name())
			}
			seen[c.ID] = file.Name()
		}
		checks = append(checks, list...)
	}
	return checks, nil
}

func run(ctx context.Context, text []byte) (Report, error) {
	checks, err := parse(text)
	if err != nil {
		return Report{}, err
	}
	return work(ctx, checks)
}

func work(ctx context.Context, checks []check) (Report, error) {
	b := &bench{}
	defer b.close()
	var report Report
	counted := map[string]int{}
	for _, c := range checks {
		if err := ctx.Err(); err != nil {
			return Report{}, fmt.Errorf("check rows: stopped at %s: %w", c.ID, err)
		}
		row := c.Row
		got, err := c.answer(ctx, b)
		if err != nil {
			row.Got = math.NaN()
			row.Note = join(row.Note, err.Error())
		} else {
			row.Got = got
			row.OK = math.Abs(got-row.Expected) <= row.Tolerance
		}
		if row.Kind == Golden {
			report.Goldens = append(report.Goldens, row)
			continue
		}
		switch {
		case row.Kind == Reference:
			row.Note = join(row.Note, "shown, not counted: worked out by an independent library, not printed")
			report.Libraries++
		case row.Kind == Lookup:
			row.Note = join(row.Note, "shown, not counted: looked up in a table, not worked out")
		case c.mark == markMemory:
			row.Note = join(row.Note, "shown, not counted: the printed value is known from memory only")
		case c.mark == markFitted:
			row.Note = join(row.Note, "shown, not counted: a constant of the formula was fitted to this value")
		case counted[row.Equation] >= MostPerEquation:
			row.Note = join(row.Note, fmt.Sprintf("shown, not counted: %d rows of this equation count already", MostPerEquation))
		default:
			row.Counted = true
			counted[row.Equation]++
			report.Counted++
			if row.OK {
				report.Passed++
			}
		}
		report.Rows = append(report.Rows, row)
	}
	report.Equations = len(counted)
	return report, nil
}

func join(note, more string) string {
	if note == "" {
		return more
	}
	return note + "; " + more
}

// answer asks the reckoner or the row's function.
func (c *check) answer(ctx context.Context, b *bench) (float64, error) {
	if c.function != "" {
		got, err := functions[c.function](ctx, b, c.inputs)
		if err == nil && (math.IsNaN(got) || math.IsInf(got, 0)) {
			err = fmt.Errorf("%s gives %g", c.function, got)
		}
		return got, err
	}
	r, err := reckoner.Run(c.entry, c.inputs)
	if err != nil {
		return 0, err
	}
	got, isNumber := r.Outputs[c.output].(float64)
	if !isNumber {
		return 0, fmt.Errorf("%s gives no number for %s", c.entry, c.output)
	}
	return got, nil
}
