package lp_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"tidebed/numeric/lp"
	"tidebed/numeric/lp/lptest"
)

// A run from the basis of another ends at the optimum that a run from nothing finds,
// whether costs or bounds have changed, and takes far fewer steps; a run from a basis
// that is none for the problem is refused.
func TestBasis(t *testing.T) {
	s := newSolver(t)
	names := []string{"afiro", "adlittle", "blend", "sc50a", "share2b"}
	steps, cold := 0, 0
	for _, name := range names {
		p, err := lptest.Netlib(name)
		if err != nil {
			continue // the set may hold others
		}
		first := solve(t, s, p, lp.Settings{}, lp.Optimal)
		if first.Basis == nil {
			t.Fatalf("%s: no basis", name)
		}
		other := *p
		other.Cost = slices.Clone(p.Cost)
		for j := range other.Cost {
			other.Cost[j] *= 1 + 0.3*math.Sin(float64(j))
		}
		wider := *p
		wider.RowUpper, wider.RowLower = slices.Clone(p.RowUpper), slices.Clone(p.RowLower)
		for i := range wider.RowUpper {
			if !math.IsInf(wider.RowUpper[i], 1) && wider.RowLower[i] != wider.RowUpper[i] {
				wider.RowUpper[i] += 0.01 * math.Abs(wider.RowUpper[i])
			}
		}
		for _, c := range []struct {
			p   *lp.Problem
			set lp.Settings
		}{{&other, lp.Settings{Basis: first.Basis}}, {&wider, lp.Settings{Basis: first.Basis, SameCosts: true}}} {
			want, got := solve(t, s, c.p, lp.Settings{}, lp.Optimal), solve(t, s, c.p, c.set, lp.Optimal)
			if relErr(got.Objective, want.Objective) > 1e-7 {
				t.Errorf("%s: from a basis %.9g, from nothing %.9g", name, got.Objective, want.Objective)
			}
			again := solve(t, s, c.p, c.set, lp.Optimal)
			if !slices.Equal(again.X, got.X) {
				t.Errorf("%s: two runs from one basis differ", name)
			}
			steps, cold = steps+got.Iterations, cold+want.Iterations
		}
		if len(names) > 1 {
			q, err := lptest.Netlib(names[0])
			if err == nil && q.Cols() != p.Cols() {
				if _, err := s.Solve(context.Background(), q, lp.Settings{Basis: first.Basis}); !errors.Is(err, lp.ErrProblem) {
					t.Errorf("a basis of %s for %s: %v", name, names[0], err)
				}
			}
		}
	}
	if cold == 0 || steps > cold {
		t.Errorf("%d steps from a basis, %d from nothing", steps, cold)
	}
	t.Logf("%d steps from a basis, %d from nothing", steps, cold)
}
