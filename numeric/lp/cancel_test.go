package lp_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"tidebed/numeric/lp"
)

// A context that ends stops a hard run within a few seconds (it takes
// milliseconds; the allowance is for a busy computer), with the best so far, and
// the solver goes on as before.
func TestCancel(t *testing.T) {
	s := newSolver(t)
	small := knapsack(12, 2, 9)
	want := solve(t, s, small, lp.Settings{}, lp.Optimal)
	for _, tc := range []struct {
		p        *lp.Problem
		start    bool // from all ones
		solution bool // one must be there
	}{
		{knapsack(200, 30, 1), false, true},
		{marketSplit(50, 6, 1), false, false},
		{setCover(2000, 500, 1), true, true},
		{blend(12000, 1000, 1), false, false},
	} {
		set := lp.Settings{}
		if tc.start {
			set.Start = slices.Repeat([]float64{1}, tc.p.Cols())
		}
		ctx, cancel := context.WithTimeout(context.Background(), 200*time.Millisecond)
		began := time.Now()
		res, err := s.Solve(ctx, tc.p, set)
		took := time.Since(began)
		cancel()
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %v after %v, solution %v %g, bound %g", tc.p.Name, res.Status, took, res.HasSolution, res.Objective, res.Bound)
		if res.Status != lp.Stopped || took > 3*time.Second {
			t.Errorf("%s: status %v after %v", tc.p.Name, res.Status, took)
		}
		if tc.solution && !res.HasSolution {
			t.Errorf("%s: no solution so far", tc.p.Name)
		}
		if res.HasSolution {
			if err := lp.Check(tc.p, res.X, lp.Tolerance); err != nil {
				t.Error(err)
			}
		}
		if again := solve(t, s, small, lp.Settings{}, lp.Optimal); !sameBits(again, want) {
			t.Errorf("%s: after the stop the small problem gives %+v, before %+v", tc.p.Name, again, want)
		}
	}
}

func TestCancelledBefore(t *testing.T) {
	s := newSolver(t)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := knapsack(12, 2, 9)
	res, err := s.Solve(ctx, p, lp.Settings{})
	if err != nil || res.Status != lp.Stopped || res.HasSolution {
		t.Errorf("without start: %+v, %v", res, err)
	}
	res, err = s.Solve(ctx, p, lp.Settings{Start: make([]float64, 12)})
	if err != nil || res.Status != lp.Stopped || !res.HasSolution || res.Objective != 0 {
		t.Errorf("from zero: %+v, %v", res, err)
	}
	res, err = s.Solve(ctx, p, lp.Settings{Start: slices.Repeat([]float64{1}, 12)})
	if err != nil || res.Status != lp.Stopped || res.HasSolution {
		t.Errorf("from what is no solution: %+v, %v", res, err)
	}
}
