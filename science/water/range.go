package water

import (
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"tidebed/quantity"
)

// bound is a value with its limits and unit.
type bound struct {
	name      string
	v, lo, hi float64
	unit      string
}

func tempBound(tempC float64) bound { return bound{"water temperature", tempC, 0, 45, "°C"} }
func phBound(ph float64) bound      { return bound{"pH", ph, 0, 14, ""} }
func volumeBound(m3 float64) bound  { return bound{"water volume", m3, 1e-6, 1e6, "m³"} }
func gm3Bound(name string, v, most float64) bound {
	return bound{name, v, 0, most, "g/m³"}
}

func alkalinityBound(eqM3 float64) bound {
	return bound{"alkalinity", eqM3, LeastAlkalinityEqM3, MostAlkalinityEqM3, "eq/m³"}
}

// check refuses the first value outside its limits.
func check(what string, list ...bound) error {
	for _, b := range list {
		if !(b.v >= b.lo && b.v <= b.hi) {
			return fmt.Errorf("%s: %w", what, quantity.InRange(b.name, b.v, b.lo, b.hi, b.unit))
		}
	}
	return nil
}

// Figure is a number that may be unknown.
type Figure struct {
	Amount float64
	Known  bool
}

// Known is a figure that is known.
func Known(amount float64) Figure { return Figure{amount, true} }

// readTable reads an embedded table by column name. A faulty one is a fault of
// the program.
func readTable(name, text string) []map[string]string {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil || len(lines) < 2 {
		panic(fmt.Sprintf("water: embedded table %s: %d rows, %v", name, len(lines), err))
	}
	rows := make([]map[string]string, 0, len(lines)-1)
	for _, line := range lines[1:] {
		row := make(map[string]string, len(line))
		for i, cell := range line {
			row[lines[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

// figure reads a cell that may be blank.
func figure(row map[string]string, column string) Figure {
	text, there := row[column]
	if !there {
		panic("water: embedded table: no column " + column)
	}
	if text == "" {
		return Figure{}
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(fmt.Sprintf("water: embedded table, %s: %v", column, err))
	}
	return Figure{v, true}
}
