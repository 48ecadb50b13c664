package plan

import (
	"context"
	"testing"

	"tidebed/numeric/lp"
)

// benchDemo is a maker of the demo with its programme and levels.
func benchDemo(b *testing.B) (*maker, *programme, []level) {
	b.Helper()
	s := sample(b)
	m, err := newMaker(context.Background(), s, s.Opening.Date, Options{Pool: testPool})
	if err != nil {
		b.Fatal(err)
	}
	g, err := m.w.build(m.base, m.again(0))
	if err != nil {
		b.Fatal(err)
	}
	list, err := g.levels()
	if err != nil {
		b.Fatal(err)
	}
	return m, g, list
}

// BenchmarkMakeDemo makes the demo's plan, season and agreement included.
func BenchmarkMakeDemo(b *testing.B) {
	s := sample(b)
	for b.Loop() {
		if _, err := Make(context.Background(), s, s.Opening.Date, Options{Pool: testPool}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCandidates grows all that could be planted in the demo.
func BenchmarkCandidates(b *testing.B) {
	m, _, _ := benchDemo(b)
	n := 0
	for b.Loop() {
		list, err := m.w.candidates()
		if err != nil {
			b.Fatal(err)
		}
		n = len(list)
	}
	b.ReportMetric(float64(n), "candidates")
}

// BenchmarkLevels runs all levels of the demo as linear programmes.
func BenchmarkLevels(b *testing.B) {
	_, g, list := benchDemo(b)
	b.ReportMetric(float64(g.p.Cols()), "columns")
	for b.Loop() {
		err := testPool.Do(context.Background(), func(s *lp.Solver) error {
			_, _, err := g.run(context.Background(), s, linear(g.p), list, nil)
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkWhole finds the demo's whole modules near the levels' last solution.
func BenchmarkWhole(b *testing.B) { benchWholes(b, false) }

// BenchmarkFewer finds fewer sowings near the demo's whole modules.
func BenchmarkFewer(b *testing.B) { benchWholes(b, true) }

func benchWholes(b *testing.B, fewer bool) {
	b.Helper()
	_, g, list := benchDemo(b)
	err := testPool.Do(context.Background(), func(s *lp.Solver) error {
		ctx := context.Background()
		last, _, err := g.run(ctx, s, linear(g.p), list, nil)
		if err != nil {
			return err
		}
		least, near, lot := last.X, last.X, 0.0
		if fewer {
			first, err := g.wholes(ctx, s, list, nil, least, near, 1, wholeGap, lot)
			if err != nil {
				return err
			}
			least, near, lot = make([]float64, g.p.Cols()), first.X, lotPoints
		}
		for b.Loop() {
			res, err := g.wholes(ctx, s, list, nil, least, near, 1, wholeGap, lot)
			if err != nil {
				return err
			}
			if !res.HasSolution {
				b.Fatal("no whole plan")
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}

// BenchmarkExplain asks all that the demo's plan is asked.
func BenchmarkExplain(b *testing.B) {
	p := demoMade(b)
	s := sample(b)
	for b.Loop() {
		if _, err := Explain(context.Background(), s, s.Opening.Date, Options{Pool: testPool}, p); err != nil {
			b.Fatal(err)
		}
	}
}
