package table

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Row is a row of a table.
type Row struct {
	table   string
	line    int
	columns map[string]int
	cells   []string
}

// Read returns the rows of the embedded table text, at least one; name is for
// its faults. It panics on a text that is no CSV, on a row that is longer or
// shorter than the first, on a column without a name or named twice and on a
// table without rows.
func Read(name, text string) []Row {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	var columns map[string]int
	var rows []Row
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			panic(fmt.Sprintf("table %s: %v", name, err))
		}
		line, _ := r.FieldPos(0)
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if columns == nil {
			columns = header(name, line, cells)
			continue
		}
		rows = append(rows, Row{name, line, columns, cells})
	}
	if len(rows) == 0 {
		panic(fmt.Sprintf("table %s: no rows", name))
	}
	return rows
}

// header is where each column stands.
func header(name string, line int, names []string) map[string]int {
	columns := make(map[string]int, len(names))
	for i, column := range names {
		if _, twice := columns[column]; twice || column == "" {
			panic(fmt.Sprintf("table %s, line %d, column %d: the name %q is empty or stands twice", name, line, i+1, column))
		}
		columns[column] = i
	}
	return columns
}

// Text returns a cell, empty where it is blank. Like every reader of a cell it
// panics when the table lacks the column.
func (r Row) Text(column string) string {
	i, there := r.columns[column]
	if !there {
		panic(fmt.Sprintf("table %s, line %d: no column %s", r.table, r.line, column))
	}
	return r.cells[i]
}

// Fault panics: why says what is wrong with a cell, such as "is no unit".
func (r Row) Fault(column, why string) {
	panic(fmt.Sprintf("table %s, line %d, column %s: %q %s", r.table, r.line, column, r.Text(column), why))
}

// Optional returns the number of a cell; known is false for a blank one. It
// panics on what is no finite number.
func (r Row) Optional(column string) (value float64, known bool) {
	cell := r.Text(column)
	if cell == "" {
		return 0, false
	}
	value, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsNaN(value) || math.IsInf(value, 0) {
		r.Fault(column, "is no finite number")
	}
	return value, true
}

// NumberOr returns the number of a cell, or blank for a blank one.
func (r Row) NumberOr(column string, blank float64) float64 {
	if value, known := r.Optional(column); known {
		return value
	}
	return blank
}

// Number returns the number of a cell that may not be blank.
func (r Row) Number(column string) float64 {
	value, known := r.Optional(column)
	if !known {
		r.Fault(column, "is blank where a number is needed")
	}
	return value
}

// Integer returns the whole number of a cell that may not be blank.
func (r Row) Integer(column string) int {
	value, err := strconv.Atoi(r.Text(column))
	if err != nil {
		r.Fault(column, "is no whole number")
	}
	return value
}

// Yes returns true for a cell with yes, false for no, and panics on others.
func (r Row) Yes(column string) bool {
	cell := r.Text(column)
	if cell != "yes" && cell != "no" {
		r.Fault(column, "is neither yes nor no")
	}
	return cell == "yes"
}

// Index holds what the rows of a table say, each found by its key.
type Index[T any] struct {
	all  []T
	keys []string
	at   map[string]int
}

// ReadIndex reads an embedded table like Read, each row with read, and files it
// under the cell of the column key. A key that is blank or stands twice is a
// fault.
func ReadIndex[T any](name, text, key string, read func(Row) T) *Index[T] {
	x := &Index[T]{at: map[string]int{}}
	for _, r := range Read(name, text) {
		k := r.Text(key)
		if _, twice := x.at[k]; twice || k == "" {
			r.Fault(key, "is blank or stands twice")
		}
		x.at[k] = len(x.all)
		x.all, x.keys = append(x.all, read(r)), append(x.keys, k)
	}
	return x
}

// Find returns what is filed under a key; known is false when nothing is.
func (x *Index[T]) Find(key string) (row T, known bool) {
	i, known := x.at[key]
	if !known {
		return row, false
	}
	return x.all[i], true
}

// All returns what all rows say, in the order of the table; the caller may
// change the slice.
func (x *Index[T]) All() []T { return slices.Clone(x.all) }

// Keys returns all keys in the order of the table; the caller may change the
// slice.
func (x *Index[T]) Keys() []string { return slices.Clone(x.keys) }
