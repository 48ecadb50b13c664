package plan

import (
	"context"
	"fmt"
	"math"
	"slices"

	"tidebed/meals"
	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// relaxFoods are what a store cupboard is filled up with first: dense, keeps, cheap.
// Common practice, no source.
var relaxFoods = []string{"wheat_flour_white", "rice_white_dry", "oil_rapeseed"}

// relax says, where children would have less than their need or adults less than
// their floor even with the cupboard, which demands collide and the smallest changes
// that would do: food bought, people fewer, days fewer. Each is found by solving the
// sowings of the plan again with it.
func (m *maker) relax(ctx context.Context, sol *solution, p *Plan) (out []Collide, err error) {
	for k := range p.Occasions {
		o := &p.Occasions[k]
		short := 0.0
		for _, e := range o.Menu.Eaters {
			short += e.OutsideKcal * float64(o.Days)
		}
		if short/o.NeedKcal < 1e-3 {
			continue
		}
		c := Collide{What: fmt.Sprintf("%s: %s, %s and a cupboard as it is: %.0f kcal are missing to the children’s need and the adults’ floor", o.Name, words.Count(len(o.Eaters), "person", "people"), words.Count(o.Days, "day", "days"), short)}
		mend := ""
		grams, ok, err := m.moreCupboard(ctx, sol, k)
		if err != nil {
			return nil, err
		}
		switch {
		case ok:
			mend = fmt.Sprintf("put %s more of flour, rice and oil into the cupboard for it", kgWords(grams/1000))
			if !m.w.sets[k].Cupboard {
				mend = fmt.Sprintf("let the store cupboard count, with %s of flour, rice and oil in it", kgWords(grams/1000))
			}
		default:
			mend = "no amount of flour, rice and oil would do within what people eat of them"
		}
		if n, ok, err := m.fewer(ctx, sol, k); err != nil {
			return nil, err
		} else if ok {
			adults := "adults"
			if n == 1 {
				adults = "adult"
			}
			mend += fmt.Sprintf("; or feed %d %s fewer", n, adults)
		}
		if days, ok, err := m.shorter(ctx, sol, k); err != nil {
			return nil, err
		} else if ok {
			mend += fmt.Sprintf("; or make it %d instead of %d days", days, o.Days)
		}
		c.Mend = words.Capital(mend) + "."
		out = append(out, c)
	}
	return out, nil
}

// missing is what an occasion still lacks with the sowings of a plan in a changed
// house, as a share of its need, and the solution.
func (m *maker) missing(ctx context.Context, sol *solution, k int, b *base, w *worker, least func(*programme) []int) (share float64, res *lp.Result, err error) {
	x := *w
	x.energyOnly = true
	g, err := x.build(b, sol.g.cands)
	if err != nil {
		return 0, nil, err
	}
	f := linear(g.p)
	m.fix(f, g, sol)
	f.Maximize = false
	clear(f.Cost)
	f.Cost[g.set[k].block.Outside] = 1
	err = m.pool.Do(ctx, func(s *lp.Solver) error {
		if res, err = s.Solve(ctx, f, lp.Settings{}); err != nil || res.Status != lp.Optimal || least == nil {
			return err
		}
		f.ColUpper[g.set[k].block.Outside] = res.X[g.set[k].block.Outside] + 1e-5
		clear(f.Cost)
		for _, col := range least(g) {
			f.Cost[col] = 1
		}
		res, err = s.Solve(ctx, f, lp.Settings{Basis: res.Basis})
		return err
	})
	if err != nil {
		return 0, nil, err
	}
	if res.Status != lp.Optimal {
		return math.Inf(1), res, nil
	}
	return res.X[g.set[k].block.Outside], res, nil
}

// enoughShare is what of a person's need may be missing and still count as met.
const enoughShare = 1e-3

// moreCupboard is how much more bought food an occasion needs.
func (m *maker) moreCupboard(ctx context.Context, sol *solution, k int) (grams float64, ok bool, err error) {
	const plenty = 1e6 // g
	b := *m.base
	b.lots = slices.Clone(b.lots)
	b.lots[k] = slices.Clone(b.lots[k])
	for _, key := range relaxFoods {
		forms, known := meals.FishForms(key) // as bought, cooked as it is
		if !known {
			continue
		}
		l := meals.Lot{ID: "more " + key, What: key, Kind: "cupboard", Food: key, Cohort: -1, Index: -1, Forms: forms}
		l.Grams[season.Low] = plenty
		b.lots[k] = append(b.lots[k], l)
	}
	w := *m.w
	w.sets = slices.Clone(w.sets)
	w.sets[k].Cupboard = true
	var cols []int
	short, res, err := m.missing(ctx, sol, k, &b, &w, func(g *programme) []int {
		for i := range g.lots {
			if l := &g.lots[i]; len(l.lot.ID) > 5 && l.lot.ID[:5] == "more " && l.share[k] >= 0 {
				cols = append(cols, l.share[k])
			}
		}
		return cols
	})
	if err != nil || short > enoughShare {
		return 0, false, err
	}
	for _, col := range cols {
		grams += res.X[col] * plenty
	}
	return grams, true, nil
}

// fewer is how many adults fewer would be fed.
func (m *maker) fewer(ctx context.Context, sol *solution, k int) (n int, ok bool, err error) {
	b := *m.base
	b.eaters = slices.Clone(b.eaters)
	for n = 1; len(b.eaters[k]) > 1; n++ {
		at := slices.IndexFunc(b.eaters[k], func(e menu.Eater) bool { return !e.Protected })
		if at < 0 {
			return 0, false, nil
		}
		b.eaters[k] = slices.Delete(slices.Clone(b.eaters[k]), at, at+1)
		short, _, err := m.missing(ctx, sol, k, &b, m.w, nil)
		if err != nil || short <= enoughShare {
			return n, err == nil, err
		}
	}
	return 0, false, nil
}

// shorter is how many days would be fed, fewer than there are.
func (m *maker) shorter(ctx context.Context, sol *solution, k int) (days int, ok bool, err error) {
	w := *m.w
	w.sets = slices.Clone(w.sets)
	set := w.sets[k]
	for days = set.From.DaysTo(set.To); days >= 1; days-- {
		w.sets[k].To = site.Date{Time: set.From.Plus(days - 1).Time}
		short, _, err := m.missing(ctx, sol, k, m.base, &w, nil)
		if err != nil || short <= enoughShare {
			return days, err == nil, err
		}
	}
	return 0, false, nil
}
