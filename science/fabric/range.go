package fabric

import (
	"fmt"

	"tidebed/quantity"
	"tidebed/science/air"
)

// Limits within which the package reckons.
const (
	LowestC   = -70.0
	HighestC  = 80.0
	MostUWm2K = 10.0
	mostWK    = 1e9
	mostW     = 1e9
	mostJK    = 1e12
	mostM2    = 1e6
	mostM3    = 1e7
	absoluteK = 273.15
)

// bound is a value with its limits and unit.
type bound struct {
	name      string
	v, lo, hi float64
	unit      string
}

func tempBound(name string, tempC float64) bound { return bound{name, tempC, LowestC, HighestC, "°C"} }

func uBound(name string, uWm2K float64) bound { return bound{name, uWm2K, 1e-3, MostUWm2K, "W/m2K"} }

func uaBound(name string, uaWK float64) bound { return bound{name, uaWK, 0, mostWK, "W/K"} }

func heatBound(name string, heatJK float64) bound { return bound{name, heatJK, 1, mostJK, "J/K"} }

func shareBound(name string, share float64) bound { return bound{name, share, 0, 1, ""} }

func windBound(windMS float64) bound { return bound{"wind", windMS, 0, 60, "m/s"} }

func pressureBound(pressureKPa float64) bound {
	return bound{"air pressure", pressureKPa, air.LowestKPa, air.HighestKPa, "kPa"}
}

// check refuses the first value outside its limits, NaN and infinity included.
func check(what string, list ...bound) error {
	for i := range list {
		if b := &list[i]; !(b.v >= b.lo && b.v <= b.hi) {
			return fmt.Errorf("%s: %w", what, quantity.InRange(b.name, b.v, b.lo, b.hi, b.unit))
		}
	}
	return nil
}
