package ode_test

import (
	"fmt"

	"tidebed/numeric/ode"
)

// A tank drains into a sump until a float at 0.4 m falls; a ledger counts what
// went through.
func Example() {
	v, err := ode.New(ode.Problem{
		N: 1, Names: []string{"depth"}, NQ: 1, Autonomous: true,
		F:       func(_ float64, y, dy []float64) error { dy[0] = -0.1 * y[0]; return nil },
		Jac:     func(_ float64, _, jac []float64) error { jac[0] = -0.1; return nil },
		Quad:    func(_ float64, y, dq []float64) error { dq[0] = 0.1 * y[0]; return nil },
		QuadJac: func(_ float64, _, jac []float64) error { jac[0] = 0.1; return nil },
		Events:  []ode.Event{{Name: "float", Root: func(_ float64, y []float64) float64 { return y[0] - 0.4 }, Direction: -1, Stop: true}},
	}, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-6}})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := v.Start(0, []float64{1}); err != nil {
		fmt.Println(err)
		return
	}
	out, err := v.Advance(60)
	if err != nil {
		fmt.Println(err)
		return
	}
	_, y := v.State()
	fmt.Printf("%v: t = %.3f, depth %.3f, drained %.3f\n", out.Reason, out.T, y[0], v.Quadratures()[0])
	// Output: at event: t = 9.163, depth 0.400, drained 0.600
}
