// Package lptest holds published linear programmes with their published optima,
// for testing package lp and for the page on how far the program can be trusted.
//
// In it: five small problems of the Netlib LP collection and Stigler's diet
// problem of 1945, read from embedded CSV files. Not in it: problems of the
// building itself (package plan and package menu).
//
// Units: the Netlib problems carry none. Stigler's columns are dollars of each
// food a day, his rows the units of his table (thousand kcal, g, g, mg, thousand
// IU, mg, mg, mg, mg a day); the objective is dollars a day at prices of August
// 1939.
//
// Sources: Gay 1985, Electronic mail distribution of linear programming test
// problems, Mathematical Programming Society COAL Newsletter 13 (problems and
// optima); Stigler 1945, The cost of subsistence, Journal of Farm Economics
// 27:303-314 (table and requirements). Each row of the CSV files names its own.
package lptest

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"

	"tidebed/numeric/lp"
)

//go:embed lp_netlib.csv
var netlibCSV []byte

//go:embed stigler.csv
var stiglerCSV []byte

// requirement is the first word of the row of Stigler's table that holds the
// daily allowances.
const requirement = "REQUIREMENT per day"

// Published optima. Netlib: the table of optimal values that comes with the
// collection. Stigler: printed as 39.69 and as 39.66 dollars a year, the same
// solution for 365.25 and for 365 days; the digits beyond were worked out from
// this table with another build of the solver.
var optima = map[string]float64{
	"afiro":    -4.6475314286e+02,
	"sc50a":    -6.4575077059e+01,
	"sc50b":    -7.0000000000e+01,
	"adlittle": 2.2549496316e+05,
	"kb2":      -1.7499001299e+03,
	"stigler":  0.108662278206757,
}

// Netlibs returns the names of the Netlib problems, smallest first.
func Netlibs() []string { return []string{"afiro", "sc50a", "sc50b", "kb2", "adlittle"} }

// PublishedOptimum returns the published optimum of a problem of Netlibs, or of
// "stigler" in dollars a day (printed to four digits as dollars a year, see the
// tests of package lp); NaN for any other name.
func PublishedOptimum(name string) float64 {
	if v, ok := optima[name]; ok {
		return v
	}
	return math.NaN()
}

// Netlib returns the Netlib problem of that name, to be minimised. Columns are
// in order of first mention. It returns an error for a name not in Netlibs.
func Netlib(name string) (*lp.Problem, error) {
	records, err := csv.NewReader(bytes.NewReader(netlibCSV)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("netlib problem %s: %w", name, err)
	}
	n := netlib{
		b:    lp.Builder{Name: name},
		rows: map[string]int{}, cols: map[string]int{}, kinds: map[string]string{},
	}
	for line, r := range records[1:] {
		if r[0] != name {
			continue
		}
		if err := n.add(r[1], r[2], r[3], r[4]); err != nil {
			return nil, fmt.Errorf("netlib problem %s: line %d: %w", name, line+2, err)
		}
	}
	if len(n.rows) == 0 {
		return nil, fmt.Errorf("netlib problem %q: not held; there are %v", name, Netlibs())
	}
	return n.b.Problem()
}

// netlib is a problem while it is read.
type netlib struct {
	b          lp.Builder
	objective  string
	rows, cols map[string]int
	kinds      map[string]string // of rows: le, ge, eq
}

func (n *netlib) add(record, row, column, value string) error {
	switch record {
	case "row_objective":
		n.objective = row
		return nil
	case "row_le", "row_ge", "row_eq": // the absent right side is 0
		lower, upper := 0.0, 0.0
		if record == "row_le" {
			lower = math.Inf(-1)
		}
		if record == "row_ge" {
			upper = math.Inf(1)
		}
		n.kinds[row] = record
		n.rows[row] = n.b.AddRow(row, lower, upper)
		return nil
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return err
	}
	switch record {
	case "coef":
		col := n.column(column)
		if row == n.objective {
			n.b.SetCost(col, v)
			return nil
		}
		i, ok := n.rows[row]
		if !ok {
			return fmt.Errorf("row %q is not declared", row)
		}
		n.b.Set(i, col, v)
	case "rhs":
		i, ok := n.rows[row]
		if !ok {
			return fmt.Errorf("row %q is not declared", row)
		}
		lower, upper := v, v
		if n.kinds[row] == "row_le" {
			lower = math.Inf(-1)
		}
		if n.kinds[row] == "row_ge" {
			upper = math.Inf(1)
		}
		n.b.SetRowBounds(i, lower, upper)
	case "upper":
		n.b.SetColBounds(n.column(column), 0, v)
	default:
		return fmt.Errorf("record %q is none of row_objective, row_le, row_ge, row_eq, coef, rhs, upper", record)
	}
	return nil
}

func (n *netlib) column(name string) int {
	if j, ok := n.cols[name]; ok {
		return j
	}
	j := n.b.AddCol(name, 0, math.Inf(1), 0)
	n.cols[name] = j
	return j
}

// Stigler returns Stigler's diet problem: the dollars to spend on each of 77
// foods a day so that nine nutrients reach their allowances at least cost.
func Stigler() (*lp.Problem, error) {
	records, err := csv.NewReader(bytes.NewReader(stiglerCSV)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("stigler problem: %w", err)
	}
	const first, last = 4, 12 // columns of the nine nutrients
	b := lp.Builder{Name: "stigler"}
	for _, r := range records[1:] {
		if r[0] != requirement {
			continue
		}
		for k := first; k <= last; k++ {
			need, err := strconv.ParseFloat(r[k], 64)
			if err != nil {
				return nil, fmt.Errorf("stigler problem: %s: %w", records[0][k], err)
			}
			b.AddRow(records[0][k], need, math.Inf(1))
		}
	}
	for _, r := range records[1:] {
		if r[0] == requirement {
			continue
		}
		j := b.AddCol(r[0], 0, math.Inf(1), 1)
		for k := first; k <= last; k++ {
			v, err := strconv.ParseFloat(r[k], 64)
			if err != nil {
				return nil, fmt.Errorf("stigler problem: %s, %s: %w", r[0], records[0][k], err)
			}
			b.Set(k-first, j, v)
		}
	}
	return b.Problem()
}
