package lp_test

import (
	"context"
	"fmt"
	"math"

	"tidebed/numeric/lp"
)

func ExampleSolver_Solve() {
	b := lp.Builder{Name: "two foods"}
	potato := b.AddCol("potato", 0, math.Inf(1), 1) // 100 g
	bean := b.AddCol("bean", 0, 2, 3)               // 100 g
	energy := b.AddRow("energy", 700, math.Inf(1))  // kcal
	protein := b.AddRow("protein", 30, math.Inf(1)) // g
	b.Set(energy, potato, 80)
	b.Set(energy, bean, 120)
	b.Set(protein, potato, 2)
	b.Set(protein, bean, 8)
	p, err := b.Problem()
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := lp.New(context.Background())
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	res, err := s.Solve(context.Background(), p, lp.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v: %.2f, potato %.2f, bean %.2f\n", res.Status, res.Objective, res.X[potato], res.X[bean])
	fmt.Printf("a gram of protein more costs %.3f\n", res.RowDual[protein])
	// Output:
	// optimal: 13.00, potato 7.00, bean 2.00
	// a gram of protein more costs 0.500
}
