package fabric_test

import (
	"math"
	"testing"
)

// near holds a value against what is wanted, within tol.
func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.7g, want %.7g ± %.2g", name, got, want, tol)
	}
}

// the returns a value whose error ends the test.
func the[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
