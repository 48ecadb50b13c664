package lp_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"tidebed/numeric/lp"
	"tidebed/numeric/lp/lptest"
)

var inf = math.Inf(1)

// By hand: max 3x + 2y + 5, x + y ≤ 4, x + 3y ≤ 7, x ≤ 3. The corner x = 3, y = 1
// gives 16; one more in the first row gives 2 more, one more of x ≤ 3 gives 1.
func TestMaximizeByHand(t *testing.T) {
	b := lp.Builder{Name: "hand", Maximize: true, Offset: 5}
	x, y := b.AddCol("x", 0, 3, 3), b.AddCol("y", 0, inf, 2)
	r1, r2 := b.AddRow("r1", -inf, 4), b.AddRow("r2", -inf, 7)
	b.Set(r1, x, 1)
	b.Set(r1, y, 1)
	b.Set(r2, x, 0.25)
	b.Set(r2, x, 0.75) // adds up to 1
	b.Set(r2, y, 3)
	p := problem(t, &b)
	res := solve(t, newSolver(t), p, lp.Settings{}, lp.Optimal)
	if !res.HasSolution || relErr(res.Objective, 16) > 1e-9 || relErr(res.X[x], 3) > 1e-9 || relErr(res.X[y], 1) > 1e-9 {
		t.Errorf("got %v at %v, want 16 at [3 1]", res.Objective, res.X)
	}
	if relErr(res.RowDual[r1], 2) > 1e-9 || relErr(res.RowDual[r2], 0) > 1e-9 || relErr(res.ColDual[x], 1) > 1e-9 {
		t.Errorf("duals rows %v columns %v, want [2 0] and [1 0]", res.RowDual, res.ColDual)
	}
	if relErr(res.RowValue[r1], 4) > 1e-9 || relErr(res.RowValue[r2], 6) > 1e-9 {
		t.Errorf("row values %v, want [4 6]", res.RowValue)
	}
	if res.Bound != res.Objective || res.Gap != 0 {
		t.Errorf("bound %g, gap %g for an optimal linear programme of %g", res.Bound, res.Gap, res.Objective)
	}
	checkDuals(t, p, res)
}

// By hand: equality row, fixed column, free column, negative bounds.
// min x + 2y + z, x = 3 fixed, x + y - z = 2, -5 ≤ y ≤ 5, z free, z ≥ -4 by a row.
// z = 1 + y, so the objective is 4 + 3y; y = -5 gives z = -4: -11.
func TestEqualityAndFixedByHand(t *testing.T) {
	var b lp.Builder
	x, y, z := b.AddCol("x", 3, 3, 1), b.AddCol("y", -5, 5, 2), b.AddCol("z", -inf, inf, 1)
	eq, floor := b.AddRow("balance", 2, 2), b.AddRow("floor", -4, inf)
	b.Set(eq, x, 1)
	b.Set(eq, y, 1)
	b.Set(eq, z, -1)
	b.Set(floor, z, 1)
	p := problem(t, &b)
	res := solve(t, newSolver(t), p, lp.Settings{}, lp.Optimal)
	if relErr(res.Objective, -11) > 1e-9 || res.X[x] != 3 || relErr(res.X[y], -5) > 1e-9 || relErr(res.X[z], -4) > 1e-9 {
		t.Errorf("got %g at %v, want -11 at [3 -5 -4]", res.Objective, res.X)
	}
	checkDuals(t, p, res)
}

// A row dual is the change of the optimum per unit of the row's bound.
func TestDualIsSlope(t *testing.T) {
	s := newSolver(t)
	for _, maximize := range []bool{false, true} {
		build := func(limit float64) *lp.Problem {
			b := lp.Builder{Maximize: maximize}
			sign := 1.0
			if maximize {
				sign = -1
			}
			u, v := b.AddCol("u", 0, 10, sign*2), b.AddCol("v", 0, 10, sign*5)
			r := b.AddRow("need", limit, inf)
			b.Set(r, u, 1)
			b.Set(r, v, 3)
			return problem(t, &b)
		}
		at, up := solve(t, s, build(7), lp.Settings{}, lp.Optimal), solve(t, s, build(7.5), lp.Settings{}, lp.Optimal)
		if slope := (up.Objective - at.Objective) / 0.5; !(math.Abs(slope-at.RowDual[0]) <= 1e-9) || slope == 0 {
			t.Errorf("maximize %v: slope %g, dual %g", maximize, slope, at.RowDual[0])
		}
	}
}

// By hand, and by trying all 128 subsets:
// values 10 13 7 8 2 9 4, weights 5 6 3 4 1 5 2, room 10. Best is
// weights 6, 3 and 1 with 13 + 7 + 2 = 22.
func TestKnapsackByHand(t *testing.T) {
	b := lp.Builder{Name: "knapsack", Maximize: true}
	room := b.AddRow("room", -inf, 10)
	value, weight := []float64{10, 13, 7, 8, 2, 9, 4}, []float64{5, 6, 3, 4, 1, 5, 2}
	for j := range value {
		b.Set(room, b.AddIntCol("", 0, 1, value[j]), weight[j])
	}
	res := solve(t, newSolver(t), problem(t, &b), lp.Settings{}, lp.Optimal)
	if want := bestSubset(value, weight, 10); res.Objective != want || want != 22 {
		t.Errorf("got %g, subsets give %g, by hand 22", res.Objective, want)
	}
	if res.RowDual != nil || res.ColDual != nil {
		t.Error("a mixed-integer programme has no duals")
	}
	if !(res.Gap <= 1e-6) || !(math.Abs(res.Bound-22) <= 1e-4) {
		t.Errorf("bound %g and gap %g at 22", res.Bound, res.Gap)
	}
}

func bestSubset(value, weight []float64, room float64) float64 {
	best := 0.0
	for set := range 1 << len(value) {
		v, w := 0.0, 0.0
		for j := range value {
			if set>>j&1 == 1 {
				v, w = v+value[j], w+weight[j]
			}
		}
		if w <= room {
			best = math.Max(best, v)
		}
	}
	return best
}

func TestNoOptimum(t *testing.T) {
	s := newSolver(t)
	for _, tc := range []struct {
		name  string
		want  lp.Status
		build func(b *lp.Builder)
	}{
		{"rows collide", lp.Infeasible, func(b *lp.Builder) {
			x := b.AddCol("x", 0, inf, 1)
			b.Set(b.AddRow("low", 5, inf), x, 1)
			b.Set(b.AddRow("high", -inf, 4), x, 1)
		}},
		{"no whole number between", lp.Infeasible, func(b *lp.Builder) {
			x := b.AddIntCol("x", 0, 10, 1)
			b.Set(b.AddRow("between", 2.2, 2.8), x, 1)
		}},
		{"even sum is odd", lp.Infeasible, func(b *lp.Builder) {
			r := b.AddRow("odd", 7, 7)
			b.Set(r, b.AddIntCol("x", 0, 10, 1), 2)
			b.Set(r, b.AddIntCol("y", 0, 10, 1), 4)
		}},
		{"no limit", lp.Unbounded, func(b *lp.Builder) {
			x, y := b.AddCol("x", 0, inf, -1), b.AddCol("y", 0, inf, 1)
			r := b.AddRow("r", -inf, 3)
			b.Set(r, x, 1)
			b.Set(r, y, -1)
			b.SetCost(y, 0.5)
		}},
		{"no limit, whole", lp.Unbounded, func(b *lp.Builder) {
			x, y := b.AddIntCol("x", 0, inf, -2), b.AddCol("y", 0, inf, 1)
			r := b.AddRow("r", -inf, 3)
			b.Set(r, x, 1)
			b.Set(r, y, -1)
		}},
		{"ray but no point", lp.Infeasible, func(b *lp.Builder) {
			x, y, z := b.AddCol("x", 0, inf, -1), b.AddCol("y", 0, inf, 0), b.AddCol("z", 0, 1, 0)
			r := b.AddRow("r", 0, 0)
			b.Set(r, x, 1)
			b.Set(r, y, -1)
			b.Set(b.AddRow("z", 2, inf), z, 1)
		}},
		{"ray but no whole point", lp.Infeasible, func(b *lp.Builder) {
			x, y, z := b.AddCol("x", 0, inf, -1), b.AddCol("y", 0, inf, 0), b.AddIntCol("z", 0, 10, 0)
			r := b.AddRow("r", 0, 0)
			b.Set(r, x, 1)
			b.Set(r, y, -1)
			b.Set(b.AddRow("z", 7, 7), z, 2)
		}},
		// Presolve alone calls this one infeasible.
		{"parallel rows", lp.Unbounded, func(b *lp.Builder) {
			x, y, z := b.AddCol("x", 0, inf, 0), b.AddCol("y", -inf, 0, 1), b.AddCol("z", -inf, inf, 0)
			b.AddCol("fixed", 0, 0, 0)
			b.AddCol("fixed too", 0, 0, 0)
			b.AddRow("nothing", 0, 0)
			for _, r := range []int{b.AddRow("high", -inf, 0), b.AddRow("low", -1, inf)} {
				b.Set(r, x, 1)
				b.Set(r, y, -1)
				b.Set(r, z, -1)
			}
		}},
		{"no columns, row off zero", lp.Infeasible, func(b *lp.Builder) { b.AddRow("r", 1, 2) }},
	} {
		b := lp.Builder{Name: tc.name}
		tc.build(&b)
		res := solve(t, s, problem(t, &b), lp.Settings{}, tc.want)
		if res.HasSolution || res.X != nil || res.RowDual != nil {
			t.Errorf("%s: a solution %v beside status %v", tc.name, res.X, res.Status)
		}
	}
}

func TestEmpty(t *testing.T) {
	s := newSolver(t)
	nothing := lp.Builder{Offset: 4}
	rows := lp.Builder{Offset: 4}
	rows.AddRow("r", -1, 2)
	cols := lp.Builder{Offset: 4}
	cols.AddCol("x", 2, 9, 1.5)
	cols.AddIntCol("n", -3.5, 9, 1)
	for _, tc := range []struct {
		b    *lp.Builder
		want float64
	}{{&nothing, 4}, {&rows, 4}, {&cols, 4 + 3 - 3}} {
		res := solve(t, s, problem(t, tc.b), lp.Settings{}, lp.Optimal)
		if !res.HasSolution || res.Objective != tc.want || len(res.X) != tc.b.Cols() || len(res.RowValue) != tc.b.Rows() {
			t.Errorf("%d columns, %d rows: got %g at %v, want %g", tc.b.Cols(), tc.b.Rows(), res.Objective, res.X, tc.want)
		}
	}
}

func TestRefused(t *testing.T) {
	s := newSolver(t)
	good := func() *lp.Problem {
		b := lp.Builder{Name: "menu"}
		x, y := b.AddCol("kale", 0, 4, 1), b.AddCol("tilapia", 0, 4, 2)
		r := b.AddRow("protein", 1, inf)
		b.Set(r, x, 3)
		b.Set(r, y, 20)
		return problem(t, &b)
	}
	for _, tc := range []struct {
		says  string
		spoil func(p *lp.Problem, set *lp.Settings)
	}{
		{"protein, tilapia: coefficient is NaN", func(p *lp.Problem, _ *lp.Settings) { p.Value[1] = math.NaN() }},
		{"protein, kale: coefficient is -Inf", func(p *lp.Problem, _ *lp.Settings) { p.Value[0] = -inf }},
		{"protein, kale: coefficient is 1e+16", func(p *lp.Problem, _ *lp.Settings) { p.Value[0] = 1e16 }},
		{"protein, kale: coefficient 1e-13", func(p *lp.Problem, _ *lp.Settings) { p.Value[0] = 1e-13 }},
		{"kale: cost is NaN", func(p *lp.Problem, _ *lp.Settings) { p.Cost[0] = math.NaN() }},
		{"kale: cost is +Inf", func(p *lp.Problem, _ *lp.Settings) { p.Cost[0] = inf }},
		{"offset is NaN", func(p *lp.Problem, _ *lp.Settings) { p.Offset = math.NaN() }},
		{"tilapia: bounds are 0 and NaN", func(p *lp.Problem, _ *lp.Settings) { p.ColUpper[1] = math.NaN() }},
		{"tilapia: lower bound 5 is above", func(p *lp.Problem, _ *lp.Settings) { p.ColLower[1] = 5 }},
		{"protein: bounds are +Inf", func(p *lp.Problem, _ *lp.Settings) { p.RowLower[0] = inf }},
		{"protein: bounds are 1 and 1e+21", func(p *lp.Problem, _ *lp.Settings) { p.RowUpper[0] = 1e21 }},
		{"ColUpper has 1 values, want 2", func(p *lp.Problem, _ *lp.Settings) { p.ColUpper = p.ColUpper[:1] }},
		{"RowUpper has 0 values, want 1", func(p *lp.Problem, _ *lp.Settings) { p.RowUpper = nil }},
		{"Start has 0 values, want 3", func(p *lp.Problem, _ *lp.Settings) { p.Start = nil }},
		{"Start runs from 0 to 1", func(p *lp.Problem, _ *lp.Settings) { p.Start[2] = 1 }},
		{"kale: Start falls", func(p *lp.Problem, _ *lp.Settings) { p.Start[0], p.Start[1] = 0, -1 }},
		{"Value has 1 values, want 2", func(p *lp.Problem, _ *lp.Settings) { p.Value = p.Value[:1] }},
		{"Integer has 3 values", func(p *lp.Problem, _ *lp.Settings) { p.Integer = make([]bool, 3) }},
		{"lies in row 7", func(p *lp.Problem, _ *lp.Settings) { p.Index[0] = 7 }},
		{"lies in row -1", func(p *lp.Problem, _ *lp.Settings) { p.Index[0] = -1 }},
		{"two entries for one place", func(p *lp.Problem, _ *lp.Settings) { p.Start[1] = 2 }},
		{"gap is NaN", func(_ *lp.Problem, set *lp.Settings) { set.MIPGap = math.NaN() }},
		{"gap is 2", func(_ *lp.Problem, set *lp.Settings) { set.MIPGap = 2 }},
		{"clock limit is -1", func(_ *lp.Problem, set *lp.Settings) { set.Clock = -1 }},
		{"start has 1 values for 2 columns", func(_ *lp.Problem, set *lp.Settings) { set.Start = []float64{1} }},
		{"start: tilapia: value is NaN", func(_ *lp.Problem, set *lp.Settings) { set.Start = []float64{1, math.NaN()} }},
	} {
		p, set := good(), lp.Settings{}
		tc.spoil(p, &set)
		_, err := s.Solve(context.Background(), p, set)
		if !errors.Is(err, lp.ErrProblem) || !strings.Contains(err.Error(), tc.says) || !strings.Contains(err.Error(), "menu") {
			t.Errorf("want ErrProblem with menu and %q, got %v", tc.says, err)
		}
	}
	if _, err := s.Solve(context.Background(), nil, lp.Settings{}); !errors.Is(err, lp.ErrProblem) {
		t.Errorf("no problem: %v", err)
	}
	solve(t, s, good(), lp.Settings{}, lp.Optimal)
}

func TestBuilderMistakes(t *testing.T) {
	for says, build := range map[string]func(b *lp.Builder){
		"row 1":           func(b *lp.Builder) { b.Set(1, 0, 1) },
		"column 3":        func(b *lp.Builder) { b.Set(0, 3, 1) },
		"cost in column":  func(b *lp.Builder) { b.SetCost(-1, 1) },
		"bounds in":       func(b *lp.Builder) { b.SetColBounds(9, 0, 1) },
		"bounds of row 4": func(b *lp.Builder) { b.SetRowBounds(4, 0, 1) },
		"integer in":      func(b *lp.Builder) { b.SetInteger(9, true) },
	} {
		b := lp.Builder{Name: "book"}
		b.AddCol("x", 0, 1, 1)
		b.AddRow("r", 0, 1)
		build(&b)
		if _, err := b.Problem(); !errors.Is(err, lp.ErrProblem) || !strings.Contains(err.Error(), says) {
			t.Errorf("want ErrProblem with %q, got %v", says, err)
		}
	}
}

func TestNames(t *testing.T) {
	var b lp.Builder
	b.AddCol("kale", 0, 1, 1)
	b.AddCol("", 0, 1, 1)
	b.AddRow("iron", 0, 1)
	p := problem(t, &b)
	got := []string{p.ColName(0), p.ColName(1), p.ColName(-1), p.RowName(0), p.RowName(5)}
	want := []string{"kale", "column 1", "column -1", "iron", "row 5"}
	if !slices.Equal(got, want) {
		t.Errorf("names %q, want %q", got, want)
	}
}

func TestCheckNamesTheWorst(t *testing.T) {
	b := lp.Builder{Name: "menu"}
	x, n := b.AddCol("kale", 0, 4, 1), b.AddIntCol("trays", 0, 4, 1)
	r := b.AddRow("protein", 10, 20)
	b.Set(r, x, 3)
	b.Set(r, n, 2)
	p := problem(t, &b)
	for _, tc := range []struct {
		x    []float64
		says string // "": passes
	}{
		{[]float64{2, 2}, ""},
		{[]float64{4.000001, 2}, ""},
		{[]float64{4.1, 2}, "kale: value 4.1 is above its bound 4"},
		{[]float64{-0.1, 4}, "protein: value 7.7 is below its bound 10"},
		{[]float64{3, 1.5}, "trays: value 1.5 is off the whole number 2"},
		{[]float64{4, 7}, "trays: value 7 is above its bound 4"},
		{[]float64{1, 2}, "protein: value 7 is below its bound 10"},
		{[]float64{1}, "1 values for 2 columns"},
		{[]float64{math.NaN(), 2}, "kale: value is NaN"},
		{[]float64{2, inf}, "trays: value is +Inf"},
	} {
		err := lp.Check(p, tc.x, 1e-6)
		switch {
		case tc.says == "" && err != nil:
			t.Errorf("%v: %v", tc.x, err)
		case tc.says != "" && (!errors.Is(err, lp.ErrCheck) || !strings.Contains(err.Error(), "menu: "+tc.says)):
			t.Errorf("%v: want ErrCheck with %q, got %v", tc.x, tc.says, err)
		}
	}
	for _, tol := range []float64{0, -1, math.NaN(), inf} {
		if err := lp.Check(p, []float64{2, 2}, tol); !errors.Is(err, lp.ErrProblem) {
			t.Errorf("tolerance %g: %v", tol, err)
		}
	}
}

// The same problem gives the same bits, on a fresh instance and on one that
// has solved other things and been stopped meanwhile.
func TestSameBits(t *testing.T) {
	used, fresh := newSolver(t), newSolver(t)
	p, err := lptest.Netlib("adlittle")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []*lp.Problem{p, knapsack(40, 5, 1), setCover(150, 60, 2)} {
		set := lp.Settings{Clock: 2}
		first, err := used.Solve(context.Background(), p, set)
		if err != nil {
			t.Fatal(err)
		}
		solve(t, used, problem(t, &lp.Builder{}), lp.Settings{}, lp.Optimal)
		ctx, cancel := context.WithTimeout(context.Background(), 20e6)
		if _, err := used.Solve(ctx, marketSplit(40, 5, 3), lp.Settings{}); err != nil {
			t.Fatal(err)
		}
		cancel()
		for _, s := range []*lp.Solver{used, fresh} {
			again, err := s.Solve(context.Background(), p, set)
			if err != nil {
				t.Fatal(err)
			}
			again.Took = first.Took
			if !sameBits(first, again) {
				t.Errorf("%s: first\n%+v\nagain\n%+v", p.Name, first, again)
			}
		}
	}
}

func sameBits(a, b *lp.Result) bool {
	bits := func(r *lp.Result) []uint64 {
		var out []uint64
		for _, v := range [][]float64{{r.Objective, r.Bound, r.Gap, r.Clock}, r.X, r.RowValue, r.RowDual, r.ColDual} {
			for _, f := range v {
				out = append(out, math.Float64bits(f))
			}
		}
		return append(out, uint64(r.Status), uint64(r.Iterations), uint64(r.Nodes))
	}
	return slices.Equal(bits(a), bits(b))
}

func TestConcurrent(t *testing.T) {
	pool := lp.NewPool(3)
	names := lptest.Netlibs()
	var wg sync.WaitGroup
	for k := range 24 {
		wg.Go(func() {
			name := names[k%len(names)]
			p, err := lptest.Netlib(name)
			if err != nil {
				t.Error(err)
				return
			}
			err = pool.Do(context.Background(), func(s *lp.Solver) error {
				res, err := s.Solve(context.Background(), p, lp.Settings{})
				if err == nil && relErr(res.Objective, lptest.PublishedOptimum(name)) > 1e-6 {
					t.Errorf("%s: %g", name, res.Objective)
				}
				return err
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if err := pool.Close(); err != nil {
		t.Error(err)
	}
	if _, err := pool.Get(context.Background()); !errors.Is(err, lp.ErrSolver) {
		t.Errorf("a closed pool lends: %v", err)
	}
}

func TestPoolWaits(t *testing.T) {
	pool := lp.NewPool(1)
	s, err := pool.Get(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := pool.Get(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("an empty pool: %v", err)
	}
	pool.Put(s)
	again, err := pool.Get(context.Background())
	if err != nil || again != s {
		t.Errorf("want the same solver back, got %p %p, %v", again, s, err)
	}
	if err := pool.Close(); err != nil {
		t.Error(err)
	}
	pool.Put(again)
}

func TestClosed(t *testing.T) {
	s := newSolver(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	b := lp.Builder{}
	b.AddCol("x", 0, 1, 1)
	if _, err := s.Solve(context.Background(), problem(t, &b), lp.Settings{}); !errors.Is(err, lp.ErrSolver) {
		t.Errorf("a closed solver: %v", err)
	}
}

// A warm start at the optimum is kept, and one that is no solution does no harm.
func TestWarmStart(t *testing.T) {
	s := newSolver(t)
	netlib, err := lptest.Netlib("kb2")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []*lp.Problem{netlib, knapsack(30, 4, 5), setCover(80, 40, 6)} {
		cold := solve(t, s, p, lp.Settings{}, lp.Optimal)
		zero := make([]float64, p.Cols())
		wild := slices.Repeat([]float64{1e6}, p.Cols())
		for _, start := range [][]float64{cold.X, zero, wild} {
			warm := solve(t, s, p, lp.Settings{Start: start}, lp.Optimal)
			if relErr(warm.Objective, cold.Objective) > 2e-6 {
				t.Errorf("%s: cold %g, warm %g", p.Name, cold.Objective, warm.Objective)
			}
		}
	}
	// With hardly any clock the start is what comes back.
	p := setCover(400, 150, 7)
	all := slices.Repeat([]float64{1}, p.Cols())
	res, err := s.Solve(context.Background(), p, lp.Settings{Clock: 1e-4, Start: all})
	if err != nil {
		t.Fatal(err)
	}
	if res.Status != lp.LimitReached || !res.HasSolution || res.Objective > p.Objective(all) {
		t.Errorf("status %v, solution %v of %g; the start has %g", res.Status, res.HasSolution, res.Objective, p.Objective(all))
	}
}

// A limit on the counted clock stops at the same place every time.
func TestClockLimit(t *testing.T) {
	s := newSolver(t)
	p := marketSplit(40, 5, 1)
	var first *lp.Result
	for range 2 {
		res := solve(t, s, p, lp.Settings{Clock: 1}, lp.LimitReached)
		if !(res.Clock >= 1 && res.Clock < 1.2) {
			t.Errorf("clock %g after a limit of 1", res.Clock)
		}
		if first == nil {
			first = res
		} else if !sameBits(first, res) {
			t.Errorf("first\n%+v\nagain\n%+v", first, res)
		}
	}
}
