package ode

import (
	"math"
	"math/rand/v2"
	"testing"
)

// tableau turns the printed coefficients back: Γ⁻¹ = I/γ - C, α = A Γ, b = m Γ.
func tableau(t *testing.T) (alpha, beta, g [stages][stages]float64) {
	t.Helper()
	m := newLU(stages)
	for i := range stages {
		for j := range i {
			m.a[i*stages+j] = -rodasC[i][j]
		}
		m.a[i*stages+i] = 1 / gamma
	}
	if !m.factor() {
		t.Fatal("Γ⁻¹ is singular")
	}
	for j := range stages {
		column := make([]float64, stages)
		column[j] = 1
		m.solve(column)
		for i := range stages {
			g[i][j] = column[i]
		}
	}
	for i := range stages {
		for j := range stages {
			for k := range stages {
				alpha[i][j] += rodasA[i][k] * g[k][j]
			}
			beta[i][j] = alpha[i][j] + g[i][j]
		}
	}
	return alpha, beta, g
}

// conditions returns the left sides of the order conditions and their right
// sides at the part s of the step. Source: Hairer and Wanner 1996, section IV.7,
// table 7.1, with γ on the diagonal of β.
func conditions(alpha, beta [stages][stages]float64, b [stages]float64, s float64) (got, want []float64) {
	apply := func(m [stages][stages]float64, v [stages]float64) (out [stages]float64) {
		for i := range m {
			for j := range v {
				out[i] += m[i][j] * v[j]
			}
		}
		return out
	}
	times := func(a, b [stages]float64) (out [stages]float64) {
		for i := range a {
			out[i] = a[i] * b[i]
		}
		return out
	}
	one := [stages]float64{1, 1, 1, 1, 1, 1}
	al, be := apply(alpha, one), apply(beta, one)
	al2 := times(al, al)
	for _, v := range [][stages]float64{
		one, be, al2, apply(beta, be), // orders 1 to 3
		times(al2, al), times(al, apply(alpha, be)), apply(beta, al2), apply(beta, apply(beta, be)), // order 4
	} {
		sum := 0.0
		for i := range v {
			sum += b[i] * v[i]
		}
		got = append(got, sum)
	}
	s2, s3, s4 := s*s, s*s*s, s*s*s*s
	return got, []float64{s, s2 / 2, s3 / 3, s3 / 6, s4 / 4, s4 / 8, s4 / 12, s4 / 24}
}

func TestOrderConditions(t *testing.T) {
	alpha, beta, g := tableau(t)
	weights := func(u [stages]float64) (b [stages]float64) {
		for i := range u {
			for j := range b {
				b[j] += u[i] * g[i][j]
			}
		}
		return b
	}
	main, embedded := rodasA[5], rodasA[5] // embedded ends at stage 6's argument
	main[5] = 1
	hold := func(what string, u [stages]float64, s float64, order int) {
		count := []int{0, 1, 2, 4, 8}[order]
		got, want := conditions(alpha, beta, weights(u), s)
		for i := range count {
			if !(math.Abs(got[i]-want[i]) < 1e-13) {
				t.Errorf("%s: condition %d is %.16g, want %.16g", what, i, got[i], want[i])
			}
		}
	}
	hold("result", main, 1, 4)
	hold("embedded", embedded, 1, 3)
	for _, s := range []float64{0.1, 0.25, 0.5, 0.8} {
		var u [stages]float64
		for j := range u {
			u[j] = s * main[j]
			if j < stages-1 {
				u[j] += s * (1 - s) * (rodasE[j] + s*rodasF[j])
			}
		}
		hold("dense output", u, s, 3)
	}
	// The embedded solution must not be of order 4, or it would estimate nothing.
	got, want := conditions(alpha, beta, weights(embedded), 1)
	if math.Abs(got[7]-want[7]) < 1e-3 {
		t.Errorf("embedded solution meets a condition of order 4: %g", got[7])
	}
	for i := range stages {
		sumA, sumG := 0.0, 0.0
		for j := range stages {
			sumA, sumG = sumA+alpha[i][j], sumG+g[i][j]
		}
		if math.Abs(sumA-rodasAlpha[i]) > 1e-13 || math.Abs(sumG-rodasD[i]) > 1e-13 {
			t.Errorf("stage %d: places %g and %g, want %g and %g", i, sumA, sumG, rodasAlpha[i], rodasD[i])
		}
	}
}

// One step of decay gives R(z) = 1 + z bᵀ (I - zβ)⁻¹ 1, worked out here from α, β
// and b alone, and R vanishes for ever faster decay. Source: Hairer and Wanner 1996,
// section IV.7.
func TestStability(t *testing.T) {
	_, beta, g := tableau(t)
	u := rodasA[5]
	u[5] = 1
	for _, z := range []float64{0.5, -0.01, -1, -10, -1e2, -1e4, -1e6} {
		v, err := New(Problem{
			N: 1, Autonomous: true,
			F:   func(_ float64, y, dy []float64) error { dy[0] = z * y[0]; return nil },
			Jac: func(_ float64, _, j []float64) error { j[0] = z; return nil },
		}, Settings{RelTol: 1e-6, AbsTol: []float64{1}, FixedStep: 1})
		if err != nil {
			t.Fatal(err)
		}
		if err := v.Start(0, []float64{1}); err != nil {
			t.Fatal(err)
		}
		if _, err := v.Advance(1); err != nil {
			t.Fatal(err)
		}
		m, x := newLU(stages), []float64{1, 1, 1, 1, 1, 1}
		for i := range stages {
			for j := range stages {
				m.a[i*stages+j] = -z * beta[i][j]
			}
			m.a[i*stages+i]++
		}
		if !m.factor() {
			t.Fatal("I - zβ is singular")
		}
		m.solve(x)
		want := 1.0
		for i := range stages {
			for j := range stages {
				want += z * u[i] * g[i][j] * x[j]
			}
		}
		_, y := v.State()
		if !(math.Abs(y[0]-want) < 1e-9) {
			t.Errorf("R(%g) = %.12g, want %.12g", z, y[0], want)
		}
		if z <= -1e2 && !(math.Abs(y[0]) < 20/-z) {
			t.Errorf("R(%g) = %g does not vanish as 1/z", z, y[0])
		}
	}
}

// The factors solve what they came from, rows exchanged or not.
func TestLU(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{1, 2, 5, 40} {
		m := newLU(n)
		before, x, b := make([]float64, n*n), make([]float64, n), make([]float64, n)
		for i := range before {
			before[i] = random.NormFloat64()
		}
		if n == 2 {
			copy(before, []float64{0, 1, 1, 0}) // needs an exchange
		}
		copy(m.a, before)
		for i := range n {
			x[i] = random.NormFloat64()
		}
		for i := range n {
			for j := range n {
				b[i] += before[i*n+j] * x[j]
			}
		}
		if !m.factor() {
			t.Fatalf("n = %d: called singular", n)
		}
		m.solve(b)
		for i := range n {
			if !(math.Abs(b[i]-x[i]) < 1e-11) {
				t.Errorf("n = %d: x[%d] = %g, want %g", n, i, b[i], x[i])
			}
		}
	}
	for _, bad := range [][]float64{{1, 2, 2, 4}, {math.NaN(), math.NaN(), math.NaN(), math.NaN()}, {math.Inf(1), 0, 0, 1}} {
		m := newLU(2)
		copy(m.a, bad)
		if m.factor() {
			t.Errorf("%v is taken for regular", bad)
		}
	}
}
