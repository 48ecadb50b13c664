package pipe

import (
	"fmt"

	"tidebed/quantity"
)

// bound is a value with its limits and unit.
type bound struct {
	name      string
	v, lo, hi float64
	unit      string
}

func tempBound(tempC float64) bound {
	return bound{"water temperature", tempC, LowestC, HighestC, "°C"}
}

func diameterBound(diameterM float64) bound {
	return bound{"inside diameter", diameterM, LeastDiameterM, MostDiameterM, "m"}
}

func flowBound(flowM3s float64) bound {
	return bound{"flow", flowM3s, -MostFlowM3s, MostFlowM3s, "m3/s"}
}

// check refuses the first value outside its limits.
func check(what string, list ...bound) error {
	for i := range list {
		if b := &list[i]; !(b.v >= b.lo && b.v <= b.hi) {
			return fmt.Errorf("%s: %w", what, quantity.InRange(b.name, b.v, b.lo, b.hi, b.unit))
		}
	}
	return nil
}

// rising finds where a function that rises with x is zero between lo and hi, to
// the last digits: Newton's steps by its slope, halving where they leave the
// interval or gain too little. The function must be below zero at lo and above at hi.
func rising(lo, hi float64, f func(x float64) (y, slope float64)) float64 {
	x := (lo + hi) / 2
	last := hi - lo
	for range 200 {
		y, slope := f(x)
		switch {
		case y == 0:
			return x
		case y < 0:
			lo = x
		default:
			hi = x
		}
		next := x - y/slope
		if !(next > lo && next < hi) || (next-x)*(next-x) > last*last/4 {
			next = (lo + hi) / 2
		}
		step := next - x
		if step < 0 {
			step = -step
		}
		if step <= 4e-16*x || next == lo || next == hi {
			return next
		}
		x, last = next, step
	}
	return x
}
