package pipe_test

import (
	"errors"
	"math"
	"testing"

	"tidebed/quantity"
	"tidebed/science/pipe"
)

const lMin = 1.0 / 60000

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol) {
		t.Errorf("%s: %.8g, want %.8g ± %.2g", what, got, want, tol)
	}
}

// must passes on the value of a call that has to succeed.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// refused holds an error to be one of a value out of range.
func refused(t *testing.T, what string, err error) {
	t.Helper()
	if !errors.Is(err, quantity.ErrRange) {
		t.Errorf("%s: error %v, want one that wraps ErrRange", what, err)
	}
}

// headM is the loss of a pipe.
func headM(t *testing.T, flowM3s float64, p pipe.Pipe, tempC float64) float64 {
	t.Helper()
	h, _, _, _, err := pipe.Loss(flowM3s, p, tempC)
	if err != nil {
		t.Fatalf("loss of %g m3/s in %+v: %v", flowM3s, p, err)
	}
	return h
}
