package ode_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"tidebed/numeric/ode"
)

// nitrifiers is a seeded bed: TAN, nitrite, nitrate, two groups of bacteria, per
// day and g/m³. Sources: growth rates, yields and oxygen constants of a printed
// parameter list, temperature after Vannecke and Volcke; attachment limit as in
// the table of checks.
func nitrifiers() ode.Problem {
	const (
		tempC, do, load, area, rMax = 22.0, 7.0, 0.35, 30.0, 0.6
		iN                          = 0.086
	)
	arrhenius := func(kJ float64) float64 {
		return math.Exp(kJ * 1e3 * (tempC - 20) / (8.314 * (tempC + 273.15) * 293.15))
	}
	type group struct{ mu20, yield, b20, kO, kN, kJ float64 }
	groups := [2]group{{0.80, 0.21, 0.05, 0.5, 1.0, 68}, {0.79, 0.059, 0.033, 1.1, 0.5, 44}}
	return ode.Problem{
		N: 5, Names: []string{"tan", "nitrite", "nitrate", "aob", "nob"}, Autonomous: true,
		F: func(_ float64, y, dy []float64) error {
			var used [2]float64
			growth := 0.0
			for k, g := range groups {
				n, x := y[k], y[3+k]
				f := n / (g.kN + n) * do / (g.kO + do)
				mu, b := g.mu20*arrhenius(g.kJ), g.b20*arrhenius(g.kJ)
				limit := rMax * area * g.yield / g.mu20
				used[k] = mu / g.yield * x * f
				growth += mu * f * x
				net := mu*f - b
				if net > 0 {
					net *= 1 - math.Pow(x/limit, 4)
				}
				dy[3+k] = net * x
			}
			dy[0] = load - used[0] - iN*growth
			dy[1] = used[0] - used[1]
			dy[2] = used[1]
			return nil
		},
	}
}

// Source: SciPy, Radau, relative tolerance 1e-10, in testdata/startup.csv.
func TestStartUp(t *testing.T) {
	file, err := os.Open("testdata/startup.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = file.Close() }()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	v := start(t, nitrifiers(), ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-8, 1e-8, 1e-8, 1e-12, 1e-12}}, []float64{0, 0, 0, 1e-5, 1e-5})
	for _, row := range rows[1:] {
		var want [6]float64
		for i := range want {
			if want[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := v.Advance(want[0]); err != nil {
			t.Fatal(err)
		}
		_, y := v.State()
		for i, w := range want[1:] {
			if !(math.Abs(y[i]-w) <= 1e-4*w+1e-6) { // the print has six decimals
				t.Errorf("day %g: state %d is %.7g, want %.7g", want[0], i, y[i], w)
			}
		}
	}
	if s := v.Stats(); s.Steps > 400 {
		t.Errorf("%d steps for 80 days", s.Steps)
	}
}
