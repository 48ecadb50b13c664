package siphon_test

import (
	"errors"
	"math"
	"testing"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
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

func refused(t *testing.T, what string, err error) {
	t.Helper()
	if !errors.Is(err, quantity.ErrRange) {
		t.Errorf("%s: error %v, want one that wraps ErrRange", what, err)
	}
}

const tempC = 22

func pipeOf(diameterM, lengthM, k float64) pipe.Pipe {
	return pipe.Pipe{DiameterM: diameterM, LengthM: lengthM, RoughnessM: pipe.NewRoughnessM, K: k}
}

// The reference beds. Their rims lie so high that only a flow beyond the siphon
// reaches them, as in the runs they are held against.
func g1() (siphon.Bed, siphon.Siphon) {
	return siphon.Bed{AreaM2: 0.60, Drainable: 0.45, GuardM2: 0.0095, RimM: 0.23},
		siphon.Siphon{Pipe: pipeOf(0.0210, 0.60, siphon.BellK(1)), CrestM: 0.18, BreakM: 0.03, OutletM: -0.30}
}

func g2() (siphon.Bed, siphon.Siphon) {
	return siphon.Bed{AreaM2: 1.20, Drainable: 0.45, GuardM2: 0.0095, RimM: 0.27},
		siphon.Siphon{Pipe: pipeOf(0.02664, 1.00, siphon.BellK(1)), CrestM: 0.22, BreakM: 0.03, OutletM: -0.40}
}

func g3() (siphon.Bed, siphon.Siphon) {
	return siphon.Bed{AreaM2: 2.88, Drainable: 0.40, GuardM2: 0.0177, RimM: 0.30},
		siphon.Siphon{Pipe: pipeOf(0.0409, 1.50, siphon.BellK(2)), CrestM: 0.25, BreakM: 0.04, OutletM: -0.60}
}

func works(t testing.TB, of func() (siphon.Bed, siphon.Siphon)) *siphon.Works {
	t.Helper()
	b, s := of()
	k, err := siphon.New(b, s, tempC)
	if err != nil {
		t.Fatal(err)
	}
	return k
}
