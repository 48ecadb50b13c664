package lp_test

import (
	"context"
	"testing"

	"tidebed/numeric/lp"
)

// BenchmarkNew is one more instance; the compilation is done before.
func BenchmarkNew(b *testing.B) {
	newSolver(b)
	for b.Loop() {
		s, err := lp.New(context.Background())
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

func benchmark(b *testing.B, p *lp.Problem) {
	s := newSolver(b)
	for b.Loop() {
		solve(b, s, p, lp.Settings{}, lp.Optimal)
	}
}

func BenchmarkLinear1000x300(b *testing.B) { benchmark(b, blend(1000, 300, 1)) }

func BenchmarkLinear200x20(b *testing.B) { benchmark(b, blend(200, 20, 1)) }

func BenchmarkKnapsack40x5(b *testing.B) { benchmark(b, knapsack(40, 5, 1)) }
