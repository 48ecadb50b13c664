package lp

import (
	"fmt"
	"slices"
)

// Builder gathers a Problem from columns, rows and single entries in any
// order. The zero value is an empty problem to be minimised. Mistakes (a row or
// column that does not exist) are kept and returned by Problem, so that a long
// run of calls needs one check. It is not safe for concurrent use.
type Builder struct {
	Name     string  // stands in messages
	Maximize bool    // false: minimise
	Offset   float64 // constant of the objective

	cost, colLower, colUpper []float64
	rowLower, rowUpper       []float64
	integer                  []bool
	colNames, rowNames       []string
	entries                  [][]entry // per column, in order of first mention
	place                    map[[2]int]int
	err                      error
}

type entry struct {
	row   int
	value float64
}

// AddCol adds a continuous column and returns its number. Bounds may be
// math.Inf; the name stands in messages and need not be unique.
func (b *Builder) AddCol(name string, lower, upper, cost float64) int {
	b.cost = append(b.cost, cost)
	b.colLower = append(b.colLower, lower)
	b.colUpper = append(b.colUpper, upper)
	b.integer = append(b.integer, false)
	b.colNames = append(b.colNames, name)
	b.entries = append(b.entries, nil)
	return len(b.cost) - 1
}

// AddIntCol adds a column that must be whole and returns its number.
func (b *Builder) AddIntCol(name string, lower, upper, cost float64) int {
	j := b.AddCol(name, lower, upper, cost)
	b.integer[j] = true
	return j
}

// AddRow adds the row lower ≤ Σ a x ≤ upper and returns its number. Bounds may
// be math.Inf; equal bounds make an equation.
func (b *Builder) AddRow(name string, lower, upper float64) int {
	b.rowLower = append(b.rowLower, lower)
	b.rowUpper = append(b.rowUpper, upper)
	b.rowNames = append(b.rowNames, name)
	return len(b.rowLower) - 1
}

// Set adds v to the entry at row, col (which starts at 0).
func (b *Builder) Set(row, col int, v float64) {
	if row < 0 || row >= len(b.rowLower) {
		b.fail("set entry in row %d: there are %d rows; add the row first", row, len(b.rowLower))
		return
	}
	if !b.hasCol(col, "set entry") {
		return
	}
	if b.place == nil {
		b.place = make(map[[2]int]int)
	}
	at := [2]int{row, col}
	if k, ok := b.place[at]; ok {
		b.entries[col][k].value += v
		return
	}
	b.place[at] = len(b.entries[col])
	b.entries[col] = append(b.entries[col], entry{row, v})
}

// SetCost replaces the cost of a column.
func (b *Builder) SetCost(col int, cost float64) {
	if b.hasCol(col, "set cost") {
		b.cost[col] = cost
	}
}

// SetColBounds replaces the bounds of a column.
func (b *Builder) SetColBounds(col int, lower, upper float64) {
	if b.hasCol(col, "set bounds") {
		b.colLower[col], b.colUpper[col] = lower, upper
	}
}

// SetRowBounds replaces the bounds of a row.
func (b *Builder) SetRowBounds(row int, lower, upper float64) {
	if row < 0 || row >= len(b.rowLower) {
		b.fail("set bounds of row %d: there are %d rows", row, len(b.rowLower))
		return
	}
	b.rowLower[row], b.rowUpper[row] = lower, upper
}

// SetInteger says whether a column must be whole.
func (b *Builder) SetInteger(col int, whole bool) {
	if b.hasCol(col, "set integer") {
		b.integer[col] = whole
	}
}

// Cols returns the number of columns so far.
func (b *Builder) Cols() int { return len(b.cost) }

// Rows returns the number of rows so far.
func (b *Builder) Rows() int { return len(b.rowLower) }

// Problem returns what has been gathered as a Problem of its own; the builder
// may go on. It returns the first mistake made while building, or what
// Problem.Valid finds, as an error wrapping ErrProblem. Entries that have come
// to exactly 0 are left out.
func (b *Builder) Problem() (*Problem, error) {
	p := &Problem{
		Name: b.Name, Maximize: b.Maximize, Offset: b.Offset,
		Cost:     slices.Clone(b.cost),
		ColLower: slices.Clone(b.colLower), ColUpper: slices.Clone(b.colUpper),
		RowLower: slices.Clone(b.rowLower), RowUpper: slices.Clone(b.rowUpper),
		colNames: slices.Clone(b.colNames), rowNames: slices.Clone(b.rowNames),
		Start: make([]int, 1, len(b.cost)+1),
	}
	if slices.Contains(b.integer, true) {
		p.Integer = slices.Clone(b.integer)
	}
	if b.err != nil {
		return nil, fmt.Errorf("%w: %s%w", ErrProblem, p.prefix(), b.err)
	}
	for _, column := range b.entries {
		column = slices.Clone(column)
		slices.SortFunc(column, func(a, b entry) int { return a.row - b.row })
		for _, e := range column {
			if e.value != 0 {
				p.Index = append(p.Index, e.row)
				p.Value = append(p.Value, e.value)
			}
		}
		p.Start = append(p.Start, len(p.Index))
	}
	if err := p.Valid(); err != nil {
		return nil, err
	}
	return p, nil
}

func (b *Builder) hasCol(col int, what string) bool {
	if col < 0 || col >= len(b.cost) {
		b.fail("%s in column %d: there are %d columns; add the column first", what, col, len(b.cost))
		return false
	}
	return true
}

func (b *Builder) fail(format string, args ...any) {
	if b.err == nil {
		b.err = fmt.Errorf(format, args...)
	}
}
