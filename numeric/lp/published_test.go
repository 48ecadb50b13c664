package lp_test

import (
	"context"
	"math"
	"testing"

	"tidebed/numeric/lp"
	"tidebed/numeric/lp/lptest"
)

func newSolver(t testing.TB) *lp.Solver {
	t.Helper()
	s, err := lp.New(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// solve fails the test unless p can be solved to the wanted status.
func solve(t testing.TB, s *lp.Solver, p *lp.Problem, set lp.Settings, want lp.Status) *lp.Result {
	t.Helper()
	res, err := s.Solve(context.Background(), p, set)
	if err != nil {
		t.Fatal(err)
	}
	if res.Status != want {
		t.Fatalf("%s: status %v, want %v", p.Name, res.Status, want)
	}
	return res
}

func problem(t testing.TB, b *lp.Builder) *lp.Problem {
	t.Helper()
	p, err := b.Problem()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// relErr is |got - want| in parts of max(1, |want|).
func relErr(got, want float64) float64 { return math.Abs(got-want) / math.Max(1, math.Abs(want)) }

// Source: Gay 1985, table of optimal values of the Netlib LP collection.
// Tolerance: 1e-6 relative; the table prints eleven digits.
func TestNetlib(t *testing.T) {
	s := newSolver(t)
	for _, name := range lptest.Netlibs() {
		p, err := lptest.Netlib(name)
		if err != nil {
			t.Fatal(err)
		}
		res := solve(t, s, p, lp.Settings{}, lp.Optimal)
		if want := lptest.PublishedOptimum(name); !(math.Abs(res.Objective-want) <= 1e-6*math.Abs(want)) {
			t.Errorf("%s: optimum %.10e, published %.10e", name, res.Objective, want)
		}
		checkDuals(t, p, res)
	}
}

// Source: Stigler 1945 for the table; the optimum is printed as 39.69 dollars a
// year (365.25 days) and as 39.66 (365 days). The digits beyond, the yearly cost of the
// five foods (365 days) and the duals were worked out from the same table with
// another build of the solver: digits as printed there.
func TestStigler(t *testing.T) {
	p, err := lptest.Stigler()
	if err != nil {
		t.Fatal(err)
	}
	res := solve(t, newSolver(t), p, lp.Settings{}, lp.Optimal)
	if want := lptest.PublishedOptimum("stigler"); !(math.Abs(res.Objective-want) <= 1e-6*want) {
		t.Errorf("optimum %.12f $/d, want %.12f", res.Objective, want)
	}
	for days, want := range map[float64]float64{365.25: 39.69, 365: 39.66} {
		if year := res.Objective * days; !(math.Abs(year-want) <= 0.005) {
			t.Errorf("optimum %.4f $ in %g days, printed %.2f", year, days, want)
		}
	}
	foods := map[string]float64{
		"Wheat Flour (Enriched)": 10.7745, "Liver (Beef)": 0.6908, "Cabbage": 4.0933,
		"Spinach": 1.8278, "Navy Beans Dried": 22.2754,
	}
	bought := 0
	for j, x := range res.X {
		want, ok := foods[p.ColName(j)]
		if ok {
			bought++
		}
		if !(math.Abs(x*365-want) <= 0.00005+1e-9) {
			t.Errorf("%s: %.4f $/y, want %.4f", p.ColName(j), x*365, want)
		}
	}
	if bought != len(foods) {
		t.Errorf("found %d of the %d foods by name", bought, len(foods))
	}
	duals := map[string]float64{
		"energy_1000kcal_per_dollar": 0.00876515, "calcium_g_per_dollar": 0.03173771,
		"vit_a_1000iu_per_dollar": 0.00040023, "riboflavin_mg_per_dollar": 0.01635803,
		"vit_c_mg_per_dollar": 0.00014412,
	}
	matched := 0
	for i, d := range res.RowDual {
		want, ok := duals[p.RowName(i)]
		if ok {
			matched++
		}
		if !(math.Abs(d-want) <= 0.5e-8+1e-12) {
			t.Errorf("%s: dual %.8f, want %.8f", p.RowName(i), d, want)
		}
	}
	if matched != len(duals) {
		t.Errorf("found %d of the %d duals by name", matched, len(duals))
	}
	checkDuals(t, p, res)
}

// checkDuals holds the duals of an optimal linear programme against the
// conditions of optimality: reduced costs, signs, and no gap.
func checkDuals(t interface {
	Helper()
	Errorf(string, ...any)
}, p *lp.Problem, res *lp.Result) {
	t.Helper()
	const tol = 1e-6
	scale := 1.0
	for _, c := range p.Cost {
		scale = math.Max(scale, math.Abs(c))
	}
	sense := 1.0
	if p.Maximize {
		sense = -1
	}
	dualObjective, size := p.Offset, math.Abs(p.Offset)
	side := func(name string, d, lower, upper float64) {
		bound := lower
		if d*sense < 0 {
			bound = upper
		}
		if math.IsInf(bound, 0) {
			if math.Abs(d) > tol*scale {
				t.Errorf("%s: %s: dual %g belongs to a bound that is not there", p.Name, name, d)
			}
			return
		}
		dualObjective += d * bound
		size += math.Abs(d * bound)
	}
	for j, c := range p.Cost {
		reduced, terms := c, math.Abs(c)
		for k := p.Start[j]; k < p.Start[j+1]; k++ {
			term := p.Value[k] * res.RowDual[p.Index[k]]
			reduced -= term
			terms += math.Abs(term)
		}
		if !(math.Abs(reduced-res.ColDual[j]) <= tol*(scale+terms)) {
			t.Errorf("%s: %s: reduced cost %g, dual given %g", p.Name, p.ColName(j), reduced, res.ColDual[j])
		}
		side(p.ColName(j), res.ColDual[j], p.ColLower[j], p.ColUpper[j])
	}
	for i, d := range res.RowDual {
		side(p.RowName(i), d, p.RowLower[i], p.RowUpper[i])
	}
	if !(math.Abs(dualObjective-res.Objective) <= tol*(1+size)) {
		t.Errorf("%s: objective %g but dual objective %g", p.Name, res.Objective, dualObjective)
	}
}
