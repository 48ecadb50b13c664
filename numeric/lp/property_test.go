package lp_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/numeric/lp"
)

// Random small linear programmes around a known point: never infeasible, the
// optimum is no worse than the point and passes the check, the duals hold.
func TestLinearProperties(t *testing.T) {
	s := newSolver(t)
	rapid.Check(t, func(t *rapid.T) {
		cols, rows := rapid.IntRange(1, 8).Draw(t, "cols"), rapid.IntRange(0, 8).Draw(t, "rows")
		whole := rapid.IntRange(-9, 9)
		b := lp.Builder{Name: "random", Maximize: rapid.Bool().Draw(t, "max"), Offset: float64(whole.Draw(t, "offset"))}
		point := make([]float64, cols)
		for j := range cols {
			point[j] = float64(whole.Draw(t, "x"))
			lower, upper := bounds(t, point[j])
			b.AddCol("", lower, upper, float64(whole.Draw(t, "cost")))
		}
		for range rows {
			i, sum := b.AddRow("", 0, 0), 0.0
			for j := range cols {
				a := float64(whole.Draw(t, "a"))
				b.Set(i, j, a)
				sum += a * point[j]
			}
			b.SetRowBounds(i, 0, 0)
			lower, upper := bounds(t, sum)
			b.SetRowBounds(i, lower, upper)
		}
		p, err := b.Problem()
		if err != nil {
			t.Fatal(err)
		}
		if err := lp.Check(p, point, 1e-9); err != nil {
			t.Fatalf("the point itself: %v", err)
		}
		res, err := s.Solve(context.Background(), p, lp.Settings{})
		if err != nil {
			t.Fatal(err)
		}
		switch res.Status {
		case lp.Unbounded:
		case lp.Optimal:
			if err := lp.Check(p, res.X, lp.Tolerance); err != nil {
				t.Fatal(err)
			}
			gain := p.Objective(point) - res.Objective
			if p.Maximize {
				gain = -gain
			}
			if gain < -1e-6*(1+math.Abs(res.Objective)) {
				t.Fatalf("optimum %g is worse than %g at %v", res.Objective, p.Objective(point), point)
			}
			checkDuals(t, p, res)
		default:
			t.Fatalf("status %v, but %v is a solution", res.Status, point)
		}
	})
}

// bounds draws bounds with v between them.
func bounds(t *rapid.T, v float64) (lower, upper float64) {
	lower, upper = math.Inf(-1), math.Inf(1)
	kind := rapid.IntRange(0, 4).Draw(t, "bounds")
	if kind == 0 {
		return v, v
	}
	if kind&1 == 1 {
		lower = v - float64(rapid.IntRange(0, 5).Draw(t, "below"))
	}
	if kind&2 == 2 {
		upper = v + float64(rapid.IntRange(0, 5).Draw(t, "above"))
	}
	return lower, upper
}

// Random binary problems against trying every vector: knapsack rows, equations
// and covers mixed, so that some have no solution.
func TestBinaryBruteForce(t *testing.T) {
	s := newSolver(t)
	rapid.Check(t, func(t *rapid.T) {
		cols, rows := rapid.IntRange(1, 10).Draw(t, "cols"), rapid.IntRange(1, 3).Draw(t, "rows")
		b := lp.Builder{Name: "binary", Maximize: rapid.Bool().Draw(t, "max")}
		for range cols {
			b.AddIntCol("", 0, 1, float64(rapid.IntRange(-20, 20).Draw(t, "cost")))
		}
		for range rows {
			i := b.AddRow("", 0, 0)
			for j := range cols {
				b.Set(i, j, float64(rapid.IntRange(-5, 15).Draw(t, "a")))
			}
			lower, upper := bounds(t, float64(rapid.IntRange(0, 40).Draw(t, "middle")))
			b.SetRowBounds(i, lower, upper)
		}
		p, err := b.Problem()
		if err != nil {
			t.Fatal(err)
		}
		best, found := 0.0, false
		x := make([]float64, cols)
		for set := range 1 << cols {
			for j := range x {
				x[j] = float64(set >> j & 1)
			}
			if err := lp.Check(p, x, 1e-9); errors.Is(err, lp.ErrCheck) {
				continue
			} else if err != nil {
				t.Fatal(err)
			}
			v := p.Objective(x)
			if !found || (p.Maximize && v > best) || (!p.Maximize && v < best) {
				best, found = v, true
			}
		}
		res, err := s.Solve(context.Background(), p, lp.Settings{})
		if err != nil {
			t.Fatal(err)
		}
		if !found {
			if res.Status != lp.Infeasible {
				t.Fatalf("status %v at %v, but no vector is a solution", res.Status, res.X)
			}
			return
		}
		if res.Status != lp.Optimal || res.Objective != best {
			t.Fatalf("status %v, objective %g; trying all gives %g", res.Status, res.Objective, best)
		}
	})
}

// Middling linear programmes: the duals prove the optimum.
func TestBlendDuals(t *testing.T) {
	s := newSolver(t)
	for seed := range uint64(8) {
		p := blend(400, 60, seed)
		checkDuals(t, p, solve(t, s, p, lp.Settings{}, lp.Optimal))
	}
}
