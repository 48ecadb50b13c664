package ode_test

import (
	"fmt"
	"math"
	"testing"

	"tidebed/numeric/ode"
	"tidebed/numeric/ode/odetest"
)

// run starts a case and carries it to tEnd.
func run(t testing.TB, c odetest.Case, s ode.Settings, tEnd float64) *ode.Solver {
	t.Helper()
	if s.AbsTol == nil {
		s.AbsTol = c.AbsTol
	}
	v := start(t, c.Problem, s, c.Y0)
	if out, err := v.Advance(tEnd); err != nil || out.T != tEnd || out.Reason != ode.Reached {
		t.Fatalf("%s: %v at %g: %v", c.Name, out.Reason, out.T, err)
	}
	return v
}

func start(t testing.TB, p ode.Problem, s ode.Settings, y0 []float64) *ode.Solver {
	t.Helper()
	v, err := ode.New(p, s)
	if err != nil {
		t.Fatal(err)
	}
	if err := v.Start(0, y0); err != nil {
		t.Fatal(err)
	}
	return v
}

// Source: each row of odetest/benchmarks.csv names its own. Pass mark: relative
// tolerance 1e-6 gives 1e-4 or better on every component, with the Jacobian given
// and with differences.
func TestBenchmarks(t *testing.T) {
	refs, err := odetest.References()
	if err != nil {
		t.Fatal(err)
	}
	if len(refs) < 14 {
		t.Fatalf("%d references", len(refs))
	}
	for _, differences := range []bool{false, true} {
		worst := map[string]float64{}
		for _, r := range refs {
			c, ok := odetest.ByName(r.Problem)
			if !ok {
				t.Fatalf("no problem %q", r.Problem)
			}
			if differences {
				c.Problem.Jac = nil
			}
			v := run(t, c, ode.Settings{RelTol: 1e-6}, r.TEnd)
			_, y := v.State()
			e := math.Abs(y[r.Component]-r.Value) / math.Abs(r.Value)
			if !(e < 1e-4) {
				t.Errorf("%s at %g, differences %t: y[%d] = %.10g, want %.10g", r.Problem, r.TEnd, differences, r.Component, y[r.Component], r.Value)
			}
			worst[fmt.Sprintf("%s at %g: %+v", r.Problem, r.TEnd, v.Stats())] = max(worst[fmt.Sprintf("%s at %g: %+v", r.Problem, r.TEnd, v.Stats())], e)
		}
		for what, e := range worst {
			t.Logf("differences %t, %s: error %.2g", differences, what, e)
		}
	}
}

// Tighter tolerances come nearer to the printed values.
func TestTighter(t *testing.T) {
	refs, err := odetest.References()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range refs {
		if !r.Printed {
			continue
		}
		c, _ := odetest.ByName(r.Problem)
		for i := range c.AbsTol {
			c.AbsTol[i] *= 1e-4
		}
		_, y := run(t, c, ode.Settings{RelTol: 1e-10}, r.TEnd).State()
		if e := math.Abs(y[r.Component]-r.Value) / r.Value; !(e < 1e-7) {
			t.Errorf("%s: y[%d] off by %.2g of itself", r.Problem, r.Component, e)
		}
	}
}

// Source: test set of Mazzia and Magherini, problem vdpol at t = 2; from memory.
func TestVanDerPol(t *testing.T) {
	v := run(t, odetest.VanDerPol(1e-6), ode.Settings{RelTol: 1e-7}, 2)
	_, y := v.State()
	for i, want := range []float64{1.706167732170483, -0.8928097010247975} {
		if !(math.Abs(y[i]-want) < 1e-5*math.Abs(want)) {
			t.Errorf("y[%d] = %.12g, want %.12g", i, y[i], want)
		}
	}
	t.Logf("%+v", v.Stats())
}

// Exact: √(1 + cos(fast·t)/2) and √(2 + cos(t)/2).
func TestPair(t *testing.T) {
	for _, row := range []struct{ stiff, fast float64 }{{-1, 1}, {-100, 5}, {-1e4, 1}, {-1e6, 20}} {
		c, exact := odetest.Pair(row.stiff, row.fast)
		for _, given := range []bool{true, false} {
			if !given {
				c.Problem.Jac, c.Problem.TimeJac = nil, nil
			}
			v := start(t, c.Problem, ode.Settings{RelTol: 1e-7, AbsTol: c.AbsTol}, c.Y0)
			for i := range 10 {
				if _, err := v.Advance(0.5 * float64(i+1)); err != nil {
					t.Fatal(err)
				}
				now, y := v.State()
				a, b := exact(now)
				if !(math.Abs(y[0]-a) < 1e-5 && math.Abs(y[1]-b) < 1e-5) {
					t.Errorf("stiff %g, fast %g, Jacobian given %t, t = %g: %.9g, %.9g; want %.9g, %.9g", row.stiff, row.fast, given, now, y[0], y[1], a, b)
				}
			}
		}
	}
}

// Halving a fixed step divides the error by 2⁴; with differences too.
func TestObservedOrder(t *testing.T) {
	c, exact := odetest.Pair(-2, 3)
	for _, given := range []bool{true, false} {
		if !given {
			c.Problem.Jac, c.Problem.TimeJac = nil, nil
		}
		var errs []float64
		for _, h := range []float64{0.05, 0.025, 0.0125, 0.00625} {
			v := start(t, c.Problem, ode.Settings{RelTol: 1e-6, AbsTol: c.AbsTol, FixedStep: h}, c.Y0)
			sum := 0.0 // at several places, lest the error pass through 0 at one
			for _, end := range []float64{0.5, 1, 1.5, 2} {
				if _, err := v.Advance(end); err != nil {
					t.Fatal(err)
				}
				_, y := v.State()
				a, b := exact(end)
				sum += math.Hypot(y[0]-a, y[1]-b)
			}
			if got := v.Stats().Steps; got != int(math.Round(2/h)) {
				t.Errorf("%d steps of %g", got, h)
			}
			errs = append(errs, sum)
		}
		for i := 1; i < len(errs); i++ {
			if order := math.Log2(errs[i-1] / errs[i]); !(order > 3.7 && order < 4.6) {
				t.Errorf("Jacobian given %t: observed order %.2f between errors %.3g and %.3g", given, order, errs[i-1], errs[i])
			}
		}
	}
}

// Dense output is of order 3, so that halving the step divides its error by 2⁴
// within one step (it is a local error).
func TestDenseOrder(t *testing.T) {
	c, exact := odetest.Pair(-2, 3)
	worst := func(h float64) (e float64) {
		v := run(t, c, ode.Settings{RelTol: 1e-6, FixedStep: h}, h)
		var y [2]float64
		for i := range 21 {
			at := h * float64(i) / 20
			if err := v.At(at, y[:]); err != nil {
				t.Fatal(err)
			}
			a, b := exact(at)
			e = max(e, math.Abs(y[0]-a), math.Abs(y[1]-b))
		}
		return e
	}
	if order := math.Log2(worst(0.05) / worst(0.025)); !(order > 3.6) {
		t.Errorf("observed local order of dense output is %.2f", order)
	}
}

// Decay: the result is e^(-kt) within the tolerance, however stiff.
func TestLinearDecay(t *testing.T) {
	decay := func(k float64) ode.Problem {
		return ode.Problem{
			N: 1, Autonomous: true,
			F:   func(_ float64, y, dy []float64) error { dy[0] = -k * y[0]; return nil },
			Jac: func(_ float64, _, j []float64) error { j[0] = -k; return nil },
		}
	}
	for _, k := range []float64{0.1, 1, 10, 1e3} {
		v := start(t, decay(k), ode.Settings{RelTol: 1e-8, AbsTol: []float64{1e-12}}, []float64{1})
		if _, err := v.Advance(2); err != nil {
			t.Fatal(err)
		}
		_, y := v.State()
		if want := math.Exp(-2 * k); !(math.Abs(y[0]-want) < 1e-7*want+1e-11) {
			t.Errorf("k = %g: %.12g, want %.12g", k, y[0], want)
		}
	}
}

// Analytic Jacobians agree with central differences at places along the way.
func TestJacobians(t *testing.T) {
	pair, _ := odetest.Pair(-50, 3)
	for _, c := range []odetest.Case{odetest.Robertson(), odetest.HIRES(), odetest.Oregonator(), odetest.VanDerPol(0.01), pair} {
		n := c.Problem.N
		v := run(t, c, ode.Settings{RelTol: 1e-5}, 0.3)
		now, state := v.State()
		y, j := append([]float64(nil), state...), make([]float64, n*n)
		if err := c.Problem.Jac(now, y, j); err != nil {
			t.Fatal(err)
		}
		up, down := make([]float64, n), make([]float64, n)
		size := 0.0
		for _, e := range j {
			size = max(size, math.Abs(e))
		}
		for k := range n {
			move, old := 1e-5*max(math.Abs(y[k]), 1e-6), y[k]
			y[k] = old + move
			err1 := c.Problem.F(now, y, up)
			plus := y[k]
			y[k] = old - move
			err2 := c.Problem.F(now, y, down)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			width := plus - y[k]
			y[k] = old
			for i := range n {
				if want := (up[i] - down[i]) / width; !(math.Abs(j[i*n+k]-want) <= 1e-5*math.Abs(want)+1e-6*size) {
					t.Errorf("%s: ∂f%d/∂y%d = %g, differences say %g", c.Name, i, k, j[i*n+k], want)
				}
			}
		}
		if c.Problem.TimeJac != nil {
			dft := make([]float64, n)
			if err := c.Problem.TimeJac(now, y, dft, nil); err != nil {
				t.Fatal(err)
			}
			err1, err2 := c.Problem.F(now+1e-5, y, up), c.Problem.F(now-1e-5, y, down)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			for i := range n {
				if want := (up[i] - down[i]) / 2e-5; !(math.Abs(dft[i]-want) <= 1e-6*math.Abs(want)+1e-6) {
					t.Errorf("%s: ∂f%d/∂t = %g, differences say %g", c.Name, i, dft[i], want)
				}
			}
		}
	}
}

// Sums that the equations keep are kept.
func TestInvariants(t *testing.T) {
	v := run(t, odetest.Robertson(), ode.Settings{RelTol: 1e-6}, 1e11)
	if _, y := v.State(); !(math.Abs(y[0]+y[1]+y[2]-1) < 1e-11) {
		t.Errorf("Robertson: the sum is off 1 by %g", y[0]+y[1]+y[2]-1)
	}
	v = run(t, odetest.HIRES(), ode.Settings{RelTol: 1e-4}, 321.8122)
	if _, y := v.State(); !(math.Abs(y[6]+y[7]-0.0057) < 1e-15) {
		t.Errorf("HIRES: y7 + y8 is off 0.0057 by %g", y[6]+y[7]-0.0057)
	}
}
