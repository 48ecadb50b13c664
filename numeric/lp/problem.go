package lp

import (
	"errors"
	"fmt"
	"math"
)

// ErrProblem marks a problem or a setting that cannot be handed to the solver:
// arrays of the wrong length, NaN or infinite coefficients, crossed bounds.
var ErrProblem = errors.New("unusable problem")

// ErrSolver marks a failure of the solver itself: it aborted, ran out of
// memory, ended in a state that is no answer, or gave a result that does not
// pass Check.
var ErrSolver = errors.New("solver failure")

// ErrCheck marks a vector that breaks a bound, a row or integrality.
var ErrCheck = errors.New("not a solution")

// Largest magnitudes the solver takes at face value. A matrix value above the
// first is refused by it, a bound or cost from the second on is read as
// infinite; below the third a matrix value is dropped.
const (
	maxCoefficient = 1e15
	maxFinite      = 1e20
	minCoefficient = 1e-12
)

// Problem is a linear or mixed-integer programme
//
//	minimise (or maximise)  Offset + Cost·x
//	RowLower ≤ A x ≤ RowUpper,  ColLower ≤ x ≤ ColUpper,  x_j whole where Integer[j]
//
// with A held by columns: the entries of column j are Index[k] (row) and
// Value[k] for Start[j] ≤ k < Start[j+1]. Missing bounds are math.Inf(-1) and
// math.Inf(1). All numbers are plain; units are the caller's.
//
// A Builder makes one from names and single entries. A Problem is not changed
// by Solve and may be shared between goroutines that only read it.
type Problem struct {
	Name     string // stands in messages
	Maximize bool   // false: minimise

	Cost               []float64 // per column
	ColLower, ColUpper []float64 // per column
	Integer            []bool    // per column; nil: all continuous
	RowLower, RowUpper []float64 // per row
	Start              []int     // columns + 1 offsets into Index and Value
	Index              []int     // row of each entry
	Value              []float64 // value of each entry
	Offset             float64   // constant of the objective

	colNames, rowNames []string
}

// Cols returns the number of columns.
func (p *Problem) Cols() int { return len(p.Cost) }

// Rows returns the number of rows.
func (p *Problem) Rows() int { return len(p.RowLower) }

// ColName returns the name of column i, or "column i" for one without a name.
func (p *Problem) ColName(i int) string {
	if i >= 0 && i < len(p.colNames) && p.colNames[i] != "" {
		return p.colNames[i]
	}
	return fmt.Sprintf("column %d", i)
}

// RowName returns the name of row i, or "row i" for one without a name.
func (p *Problem) RowName(i int) string {
	if i >= 0 && i < len(p.rowNames) && p.rowNames[i] != "" {
		return p.rowNames[i]
	}
	return fmt.Sprintf("row %d", i)
}

// Mixed reports whether any column must be whole.
func (p *Problem) Mixed() bool {
	for _, whole := range p.Integer {
		if whole {
			return true
		}
	}
	return false
}

// Objective returns Offset + Cost·x. x must have one value per column.
func (p *Problem) Objective(x []float64) float64 {
	sum := p.Offset
	for j, c := range p.Cost {
		sum += c * x[j]
	}
	return sum
}

// Valid returns nil when the problem can be solved as it stands, otherwise an
// error wrapping ErrProblem that names the row and column at fault.
func (p *Problem) Valid() error {
	if err := p.valid(); err != nil {
		return fmt.Errorf("%w: %s%w", ErrProblem, p.prefix(), err)
	}
	return nil
}

func (p *Problem) prefix() string {
	if p.Name == "" {
		return ""
	}
	return p.Name + ": "
}

func (p *Problem) valid() error {
	cols, rows := p.Cols(), p.Rows()
	if err := p.validShape(cols, rows); err != nil {
		return err
	}
	if math.IsNaN(p.Offset) || math.IsInf(p.Offset, 0) {
		return fmt.Errorf("objective offset is %g; it must be finite", p.Offset)
	}
	for j, c := range p.Cost {
		if !(math.Abs(c) < maxFinite) {
			return fmt.Errorf("%s: cost is %g; it must be finite and below %g", p.ColName(j), c, maxFinite)
		}
		if err := validBounds(p.ColLower[j], p.ColUpper[j]); err != nil {
			return fmt.Errorf("%s: %w", p.ColName(j), err)
		}
	}
	for i := range p.RowLower {
		if err := validBounds(p.RowLower[i], p.RowUpper[i]); err != nil {
			return fmt.Errorf("%s: %w", p.RowName(i), err)
		}
	}
	seen := make([]int, rows) // column + 1 that last used the row
	for j := range cols {
		for k := p.Start[j]; k < p.Start[j+1]; k++ {
			i, v := p.Index[k], p.Value[k]
			if i < 0 || i >= rows {
				return fmt.Errorf("%s: entry %d lies in row %d, but there are %d rows", p.ColName(j), k, i, rows)
			}
			if seen[i] == j+1 {
				return fmt.Errorf("%s, %s: two entries for one place; add them up", p.RowName(i), p.ColName(j))
			}
			seen[i] = j + 1
			if !(math.Abs(v) <= maxCoefficient) {
				return fmt.Errorf("%s, %s: coefficient is %g; it must be finite and at most %g", p.RowName(i), p.ColName(j), v, maxCoefficient)
			}
			if v != 0 && math.Abs(v) < minCoefficient {
				return fmt.Errorf("%s, %s: coefficient %g would be dropped by the solver; scale the row or the column", p.RowName(i), p.ColName(j), v)
			}
		}
	}
	return nil
}

func (p *Problem) validShape(cols, rows int) error {
	for _, a := range []struct {
		name      string
		got, want int
	}{
		{"ColLower", len(p.ColLower), cols},
		{"ColUpper", len(p.ColUpper), cols},
		{"RowUpper", len(p.RowUpper), rows},
		{"Start", len(p.Start), cols + 1},
		{"Value", len(p.Value), len(p.Index)},
	} {
		if a.got != a.want {
			return fmt.Errorf("array %s has %d values, want %d (%d columns, %d rows, %d entries)", a.name, a.got, a.want, cols, rows, len(p.Index))
		}
	}
	if p.Integer != nil && len(p.Integer) != cols {
		return fmt.Errorf("array Integer has %d values, want none or %d", len(p.Integer), cols)
	}
	if p.Start[0] != 0 || p.Start[cols] != len(p.Index) {
		return fmt.Errorf("array Start runs from %d to %d, want 0 to %d", p.Start[0], p.Start[cols], len(p.Index))
	}
	for j := range cols {
		if p.Start[j+1] < p.Start[j] {
			return fmt.Errorf("%s: Start falls from %d to %d", p.ColName(j), p.Start[j], p.Start[j+1])
		}
	}
	return nil
}

func validBounds(lower, upper float64) error {
	switch {
	case math.IsNaN(lower) || math.IsNaN(upper):
		return fmt.Errorf("bounds are %g and %g; NaN is no bound", lower, upper)
	case math.IsInf(lower, 1) || math.IsInf(upper, -1):
		return fmt.Errorf("bounds are %g and %g; nothing lies between", lower, upper)
	case !math.IsInf(lower, 0) && math.Abs(lower) >= maxFinite,
		!math.IsInf(upper, 0) && math.Abs(upper) >= maxFinite:
		return fmt.Errorf("bounds are %g and %g; from %g on use math.Inf", lower, upper, maxFinite)
	case lower > upper:
		return fmt.Errorf("lower bound %g is above upper bound %g", lower, upper)
	}
	return nil
}

// rowValues returns A x and, per row, the largest magnitude among its terms.
func (p *Problem) rowValues(x []float64) (value, largest []float64) {
	value, largest = make([]float64, p.Rows()), make([]float64, p.Rows())
	for j, xj := range x {
		for k := p.Start[j]; k < p.Start[j+1]; k++ {
			term := p.Value[k] * xj
			value[p.Index[k]] += term
			largest[p.Index[k]] = math.Max(largest[p.Index[k]], math.Abs(term))
		}
	}
	return value, largest
}
