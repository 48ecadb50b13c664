package quantity

import (
	"errors"
	"fmt"
	"strconv"
)

// ErrRange is wrapped by every error that says a value lies outside the range
// for which a function is valid.
var ErrRange = errors.New("out of range")

// rangeError carries the sentence for people; errors.Is finds ErrRange in it.
type rangeError struct{ text string }

func (e *rangeError) Error() string { return e.text }
func (e *rangeError) Unwrap() error { return ErrRange }

// InRange returns nil when lo <= v <= hi, and otherwise an error that wraps
// ErrRange and names the value and its limits. NaN is outside every range. The
// unit is printed as given; an empty one is left out.
func InRange(name string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	if unit != "" {
		unit = " " + unit
	}
	return &rangeError{fmt.Sprintf("%s %s%s: outside the valid range %s%s to %s%s",
		name, limit(v), unit, limit(lo), unit, limit(hi), unit)}
}

// limit prints a value with as many digits as tell it from its neighbours, so
// that a value just outside never looks like the bound itself.
func limit(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// PowerFromCurrent returns the electric power in W of currentA amperes at
// voltageV volts, taking the power factor as 1.
func PowerFromCurrent(currentA, voltageV float64) float64 { return currentA * voltageV }
