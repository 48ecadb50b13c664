package lp_test

import (
	"math"
	"math/rand/v2"

	"tidebed/numeric/lp"
)

// The generators below make problems of known kinds from a seed.

func must(b *lp.Builder) *lp.Problem {
	p, err := b.Problem()
	if err != nil {
		panic(err)
	}
	return p
}

// knapsack has cols binary columns and rows limits at half the total weight. The
// zero vector is a solution.
func knapsack(cols, rows int, seed uint64) *lp.Problem {
	r := rand.New(rand.NewPCG(seed, 1))
	b := lp.Builder{Name: "knapsack", Maximize: true}
	for range cols {
		b.AddIntCol("", 0, 1, float64(10+r.IntN(90)))
	}
	for range rows {
		i, sum := b.AddRow("", 0, 0), 0.0
		for j := range cols {
			w := float64(5 + r.IntN(95))
			b.Set(i, j, w)
			sum += w
		}
		b.SetRowBounds(i, math.Inf(-1), math.Floor(sum/2))
	}
	return must(&b)
}

// marketSplit asks for subsets that hit half the weight in each row exactly: hard
// out of proportion to its size, and mostly without solution (Cornuéjols and
// Dawande 1999; from memory).
func marketSplit(cols, rows int, seed uint64) *lp.Problem {
	r := rand.New(rand.NewPCG(seed, 2))
	b := lp.Builder{Name: "market split"}
	for range cols {
		b.AddIntCol("", 0, 1, 1)
	}
	for range rows {
		i, sum := b.AddRow("", 0, 0), 0.0
		for j := range cols {
			w := float64(r.IntN(100))
			b.Set(i, j, w)
			sum += w
		}
		b.SetRowBounds(i, math.Floor(sum/2), math.Floor(sum/2))
	}
	return must(&b)
}

// setCover has cols binary columns with costs, and rows of which each must be
// covered by one of at least two columns. All ones is a solution.
func setCover(cols, rows int, seed uint64) *lp.Problem {
	r := rand.New(rand.NewPCG(seed, 3))
	b := lp.Builder{Name: "set cover"}
	for range cols {
		b.AddIntCol("", 0, 1, float64(10+r.IntN(90)))
	}
	for range rows {
		i := b.AddRow("", 1, math.Inf(1))
		for _, j := range r.Perm(cols)[:max(2, cols/20)] {
			b.Set(i, j, 1)
		}
	}
	return must(&b)
}

// blend is a linear programme: cheapest amounts of cols goods that give enough
// of rows contents, each good holding one content in twenty.
func blend(cols, rows int, seed uint64) *lp.Problem {
	r := rand.New(rand.NewPCG(seed, 4))
	b := lp.Builder{Name: "blend"}
	for range cols {
		b.AddCol("", 0, 10, 1+r.Float64())
	}
	for range rows {
		i := b.AddRow("", 5+20*r.Float64(), math.Inf(1))
		for _, j := range r.Perm(cols)[:cols/20] {
			b.Set(i, j, 0.1+r.Float64())
		}
	}
	return must(&b)
}
