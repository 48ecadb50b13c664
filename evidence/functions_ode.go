package evidence

import (
	"context"
	"fmt"
	"maps"

	"tidebed/numeric/ode"
	"tidebed/numeric/ode/odetest"
)

func init() {
	maps.Copy(functions, map[string]function{"stiff-benchmark": stiffBenchmark})
}

// stiffBenchmark carries a stiff problem to a time and returns the component of
// that number, from 1, times scale.
func stiffBenchmark(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, ok := odetest.ByName(in["problem"])
	if !ok {
		return 0, fmt.Errorf("stiff problem %q is not known", in["problem"])
	}
	at := map[string]float64{"rtol": 1e-6, "scale": 1, "time": 0, "component": 0}
	for key, otherwise := range at {
		v, err := numberOf(in, key, otherwise)
		if err != nil {
			return 0, err
		}
		at[key] = v
	}
	component := int(at["component"]) - 1
	if component < 0 || component >= c.Problem.N {
		return 0, fmt.Errorf("component %g of %d", at["component"], c.Problem.N)
	}
	v, err := ode.New(c.Problem, ode.Settings{RelTol: at["rtol"], AbsTol: c.AbsTol})
	if err != nil {
		return 0, err
	}
	if err := v.Start(0, c.Y0); err != nil {
		return 0, err
	}
	if _, err := v.Advance(at["time"]); err != nil {
		return 0, err
	}
	_, y := v.State()
	return y[component] * at["scale"], nil
}
