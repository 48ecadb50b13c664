package power_test

import (
	"errors"
	"math"
	"testing"

	"tidebed/quantity"
)

// near fails the test unless got lies within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %.2g", what, got, want, tol)
	}
}

// refused fails the test unless err is one of a range.
func refused(t *testing.T, what string, err error) {
	t.Helper()
	if !errors.Is(err, quantity.ErrRange) {
		t.Errorf("%s: error %v, want one out of range", what, err)
	}
}

func must[T any](v T, err error) func(t *testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
