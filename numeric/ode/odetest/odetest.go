// Package odetest holds stiff problems with known answers, for tests of package
// ode and for the table of checks.
//
// In it: Robertson, HIRES and Oregonator with the end values that are printed for
// them (References), Van der Pol, and a pair of equations whose solution is known
// exactly (Pair). Not here: problems of the trade.
//
// Units: the problems' own, without dimension.
//
// Sources: benchmarks.csv, a source per row; Mazzia and Magherini 2008, Test Set
// for Initial Value Problem Solvers, University of Bari, for the
// equations.
package odetest

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"

	"tidebed/numeric/ode"
)

// Case is a problem with its start at t = 0.
type Case struct {
	Name    string
	Problem ode.Problem
	Y0      []float64
	// AbsTol suits a relative tolerance of 1e-6: far below each state's size.
	AbsTol []float64
}

// Reference is one component's known value at TEnd.
type Reference struct {
	Problem   string
	TEnd      float64
	Component int // from 0
	Value     float64
	Printed   bool // in the test set; otherwise worked out by a library
	Source    string
}

//go:embed benchmarks.csv
var benchmarks []byte

// References returns the known values of Robertson, HIRES and Oregonator. An error
// can only come of a faulty file.
func References() ([]Reference, error) {
	records, err := csv.NewReader(bytes.NewReader(benchmarks)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("benchmarks.csv: %w", err)
	}
	var list []Reference
	for i, r := range records[1:] {
		tEnd, err1 := strconv.ParseFloat(r[1], 64)
		component, err2 := strconv.Atoi(r[2][1:])
		value, err3 := strconv.ParseFloat(r[3], 64)
		for _, err := range []error{err1, err2, err3} {
			if err != nil {
				return nil, fmt.Errorf("benchmarks.csv:%d: %w", i+2, err)
			}
		}
		list = append(list, Reference{r[0], tEnd, component - 1, value, r[4] == "printed", r[5]})
	}
	return list, nil
}

// ByName returns "robertson", "hires" or "oregonator".
func ByName(name string) (Case, bool) {
	for _, c := range []Case{Robertson(), HIRES(), Oregonator()} {
		if c.Name == name {
			return c, true
		}
	}
	return Case{}, false
}

// Robertson is an autocatalytic reaction of three substances, whose sum stays 1.
func Robertson() Case {
	return Case{
		Name: "robertson", Y0: []float64{1, 0, 0}, AbsTol: []float64{1e-13, 1e-19, 1e-13},
		Problem: ode.Problem{
			N: 3, Autonomous: true,
			F: func(_ float64, y, dy []float64) error {
				slow, back, fast := 0.04*y[0], 1e4*y[1]*y[2], 3e7*y[1]*y[1]
				dy[0], dy[1], dy[2] = back-slow, slow-back-fast, fast
				return nil
			},
			Jac: func(_ float64, y, j []float64) error {
				copy(j, []float64{
					-0.04, 1e4 * y[2], 1e4 * y[1],
					0.04, -1e4*y[2] - 6e7*y[1], -1e4 * y[1],
					0, 6e7 * y[1], 0,
				})
				return nil
			},
		},
	}
}

// HIRES is a model of a plant's response to light with eight substances; the sum
// of the last two stays 0.0057.
func HIRES() Case {
	return Case{
		Name: "hires", Y0: []float64{1, 0, 0, 0, 0, 0, 0, 0.0057},
		AbsTol: []float64{1e-10, 1e-10, 1e-10, 1e-10, 1e-10, 1e-10, 1e-10, 1e-10},
		Problem: ode.Problem{
			N: 8, Autonomous: true,
			F: func(_ float64, y, dy []float64) error {
				dy[0] = -1.71*y[0] + 0.43*y[1] + 8.32*y[2] + 0.0007
				dy[1] = 1.71*y[0] - 8.75*y[1]
				dy[2] = -10.03*y[2] + 0.43*y[3] + 0.035*y[4]
				dy[3] = 8.32*y[1] + 1.71*y[2] - 1.12*y[3]
				dy[4] = -1.745*y[4] + 0.43*y[5] + 0.43*y[6]
				dy[5] = -280*y[5]*y[7] + 0.69*y[3] + 1.71*y[4] - 0.43*y[5] + 0.69*y[6]
				dy[6] = 280*y[5]*y[7] - 1.81*y[6]
				dy[7] = -dy[6]
				return nil
			},
			Jac: func(_ float64, y, j []float64) error {
				copy(j, []float64{
					-1.71, 0.43, 8.32, 0, 0, 0, 0, 0,
					1.71, -8.75, 0, 0, 0, 0, 0, 0,
					0, 0, -10.03, 0.43, 0.035, 0, 0, 0,
					0, 8.32, 1.71, -1.12, 0, 0, 0, 0,
					0, 0, 0, 0, -1.745, 0.43, 0.43, 0,
					0, 0, 0, 0.69, 1.71, -280*y[7] - 0.43, 0.69, -280 * y[5],
					0, 0, 0, 0, 0, 280 * y[7], -1.81, 280 * y[5],
					0, 0, 0, 0, 0, -280 * y[7], 1.81, -280 * y[5],
				})
				return nil
			},
		},
	}
}

// Oregonator is a reaction that swings: three substances over six decades.
func Oregonator() Case {
	return Case{
		Name: "oregonator", Y0: []float64{1, 2, 3}, AbsTol: []float64{1e-7, 1e-7, 1e-7},
		Problem: ode.Problem{
			N: 3, Autonomous: true,
			F: func(_ float64, y, dy []float64) error {
				dy[0] = 77.27 * (y[1] + y[0]*(1-8.375e-6*y[0]-y[1]))
				dy[1] = (y[2] - (1+y[0])*y[1]) / 77.27
				dy[2] = 0.161 * (y[0] - y[2])
				return nil
			},
			Jac: func(_ float64, y, j []float64) error {
				copy(j, []float64{
					77.27 * (1 - 2*8.375e-6*y[0] - y[1]), 77.27 * (1 - y[0]), 0,
					-y[1] / 77.27, -(1 + y[0]) / 77.27, 1 / 77.27,
					0.161, 0, -0.161,
				})
				return nil
			},
		},
	}
}

// VanDerPol is the relaxation swing eps z” = (1-z²) z' - z in the stretched time
// of the test set, from z = 2 at rest. eps above 0; the smaller, the stiffer.
func VanDerPol(eps float64) Case {
	return Case{
		Name: "van der pol", Y0: []float64{2, 0}, AbsTol: []float64{1e-9, 1e-9},
		Problem: ode.Problem{
			N: 2, Autonomous: true,
			F: func(_ float64, y, dy []float64) error {
				dy[0], dy[1] = y[1], ((1-y[0]*y[0])*y[1]-y[0])/eps
				return nil
			},
			Jac: func(_ float64, y, j []float64) error {
				copy(j, []float64{0, 1, (-2*y[0]*y[1] - 1) / eps, (1 - y[0]*y[0]) / eps})
				return nil
			},
		},
	}
}

// Pair is the problem of Kværnø, Prothero and Robinson: two coupled equations that
// pull u and v towards √(1 + cos(fast·t)/2) and √(2 + cos(t)/2), which are the
// solution. stiff, below 0, is the rate of u's pull. It depends on time.
func Pair(stiff, fast float64) (c Case, exact func(t float64) (u, v float64)) {
	const coupling, slow = 0.5, -1.0
	target := func(t float64) (r, s, dr, ds, ddr, dds float64) {
		sinR, cosR := math.Sincos(fast * t)
		sinS, cosS := math.Sincos(t)
		return cosR / 2, cosS / 2, -fast * sinR / 2, -sinS / 2, -fast * fast * cosR / 2, -cosS / 2
	}
	exact = func(t float64) (u, v float64) {
		r, s, _, _, _, _ := target(t)
		return math.Sqrt(1 + r), math.Sqrt(2 + s)
	}
	u0, v0 := exact(0)
	c = Case{
		Name: "pair", Y0: []float64{u0, v0}, AbsTol: []float64{1e-10, 1e-10},
		Problem: ode.Problem{
			N: 2, Names: []string{"fast", "slow"},
			F: func(t float64, y, dy []float64) error {
				r, s, dr, ds, _, _ := target(t)
				a, b := (y[0]*y[0]-1-r)/(2*y[0]), (y[1]*y[1]-2-s)/(2*y[1])
				dy[0] = stiff*a + coupling*b + dr/(2*y[0])
				dy[1] = coupling*a + slow*b + ds/(2*y[1])
				return nil
			},
			Jac: func(t float64, y, j []float64) error {
				r, s, dr, ds, _, _ := target(t)
				da, db := 0.5+(1+r)/(2*y[0]*y[0]), 0.5+(2+s)/(2*y[1]*y[1])
				j[0], j[1] = stiff*da-dr/(2*y[0]*y[0]), coupling*db
				j[2], j[3] = coupling*da, slow*db-ds/(2*y[1]*y[1])
				return nil
			},
			TimeJac: func(t float64, y, dft, _ []float64) error {
				_, _, dr, ds, ddr, dds := target(t)
				a, b := -dr/(2*y[0]), -ds/(2*y[1])
				dft[0] = stiff*a + coupling*b + ddr/(2*y[0])
				dft[1] = coupling*a + slow*b + dds/(2*y[1])
				return nil
			},
		},
	}
	return c, exact
}
