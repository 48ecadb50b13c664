package water

import (
	"fmt"

	"tidebed/quantity"
	"tidebed/table"
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

// figure reads a cell that may be blank.
func figure(r table.Row, column string) Figure {
	v, known := r.Optional(column)
	return Figure{v, known}
}
