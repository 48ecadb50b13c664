package menu

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"tidebed/numeric/lp"
	"tidebed/science/food"
)

// How much of a level the later ones may take back. Energy is held as good as
// exactly, since it is the answer; the small amount keeps rounding of the
// solver from making the next level infeasible. Half a point of a nutrient is
// far below what composition tables can tell.
const (
	giveEnergy   = 1e-6
	giveNutrient = 0.005
)

// overfeed is the most energy served, over the need. Common practice, no source.
const overfeed = 1.05

// ErrNoMenu is wrapped when the solver found no menu, which the form of the
// programme excludes (nobody eating anything is always allowed).
var ErrNoMenu = errors.New("no menu")

// programme is the linear programme of one question with the places of its
// columns and rows.
type programme struct {
	q     *Question
	foods []food.Food // by form
	p     *lp.Problem

	x          [][]int // column of eater, form; -1 where never served
	outside    []int   // column by eater: share of the need still to come
	worstOut   int     // column: largest share still to come
	short      []int   // column by eater: share of the full need not served
	worst      int     // column: worst inside share
	protein    int     // column: worst protein ratio
	matters    int     // column: worst ratio of what matters within the days
	bridged    int     // column: worst ratio of the rest
	ratios     []int   // columns: capped ratios
	sameness   int     // column: largest use of a portion limit
	insideRow  int     // row: inside energy of all, over the need of all
	protectRow int     // row: share still to come for protected eaters
	outsideRow int     // row: share still to come for all
	ratioRow   int     // row: sum of the capped ratios
	stockRow   []int   // row by stock
	children   bool    // the next is there
	child      int     // column: worst ratio of what matters to eaters under 18
	sourceless []food.Nutrient
}

// check refuses a question no programme can be made of.
func (q *Question) check() error {
	if len(q.Eaters) == 0 || len(q.Eaters) > 60 {
		return fmt.Errorf("menu: %d eaters: give 1 to 60", len(q.Eaters))
	}
	if !(q.Days > 0 && q.Days <= 366) {
		return fmt.Errorf("menu: %g days: give more than 0, at most 366", q.Days)
	}
	for _, e := range q.Eaters {
		if !(e.NeedKcal > 0) || math.IsInf(e.NeedKcal, 0) {
			return fmt.Errorf("menu: eater %s needs %g kcal a day: give a need above 0", e.Name, e.NeedKcal)
		}
	}
	for _, s := range q.Stocks {
		if !(s.Grams >= 0) || math.IsInf(s.Grams, 0) {
			return fmt.Errorf("menu: stock of %s is %g g: give 0 or more", s.Key, s.Grams)
		}
	}
	for _, f := range q.Forms {
		if f.Stock < 0 || f.Stock >= len(q.Stocks) {
			return fmt.Errorf("menu: %s draws on stock %d of %d", f.Food, f.Stock, len(q.Stocks))
		}
		if !(f.PerGram > 0) || math.IsInf(f.PerGram, 0) {
			return fmt.Errorf("menu: %s gives %g g from a gram of %s: give more than 0", f.Food, f.PerGram, q.Stocks[f.Stock].Key)
		}
	}
	return nil
}

// usable reports whether form j may stand on the table.
func (q *Question) usable(j int) bool {
	s := q.Stocks[q.Forms[j].Stock]
	return (s.Grams > 0 || s.Open) && (s.Inside || q.Bought)
}

// per100g returns the amount that counts for the plan: known content, calcium
// of leaves rich in oxalate at the share that is taken up.
func per100g(f food.Food, n food.Nutrient) float64 {
	v, _ := f.Per100g(n)
	if n == food.Calcium {
		v *= food.CalciumFactor(f.Key)
	}
	return v
}

// build lays out the programme. Food is in 100 g for the whole set of days,
// energy and nutrients as shares of the need, so that coefficients stay near 1.
// With energyOnly the rows of the nutrients are left out.
func (q *Question) build(energyOnly bool) (*programme, error) {
	var b lp.Builder
	g, err := q.addTo(&b, energyOnly, false)
	if err != nil {
		return nil, err
	}
	if g.p, err = b.Problem(); err != nil {
		return nil, fmt.Errorf("menu: %w", err)
	}
	return g, nil
}

// addTo lays the question's columns and rows into a builder; with children a column
// is the worst ratio of what matters to eaters under 18.
func (q *Question) addTo(b *lp.Builder, energyOnly, children bool) (*programme, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	g := &programme{q: q, children: children}
	for _, f := range q.Forms {
		row, err := food.Lookup(f.Food)
		if err != nil {
			return nil, fmt.Errorf("menu: %w", err)
		}
		g.foods = append(g.foods, row)
	}
	var needAll float64
	for _, e := range q.Eaters {
		needAll += e.NeedKcal
	}
	g.worst = b.AddCol("worst share", 0, 1, 0)
	g.sameness = b.AddCol("sameness", 0, math.Inf(1), 0)
	g.insideRow = b.AddRow("inside energy", 0, math.Inf(1))
	g.protectRow = b.AddRow("outside energy of protected eaters", 0, math.Inf(1))
	g.outsideRow = b.AddRow("outside energy", 0, math.Inf(1))
	g.worstOut = b.AddCol("worst outside", 0, math.Inf(1), 0)
	stockRow := make([]int, len(q.Stocks))
	g.stockRow = stockRow
	for i, s := range q.Stocks {
		least := 0.0
		if s.Open {
			least = math.Inf(-1)
		}
		stockRow[i] = b.AddRow("stock of "+s.Key, least, s.Grams/100)
	}
	limits := food.Limits()
	for _, e := range q.Eaters {
		scale := e.NeedKcal / food.LimitAdultKcal
		insideShare := b.AddRow("inside share of "+e.Name, 0, 1)
		aboveWorst := b.AddRow("worst share and "+e.Name, 0, math.Inf(1))
		b.Set(aboveWorst, g.worst, -1)
		served := b.AddRow("energy of "+e.Name, 0, overfeed)
		floor := b.AddRow("floor of "+e.Name, e.Floor, math.Inf(1))
		out := b.AddCol("outside for "+e.Name, 0, math.Inf(1), 0)
		b.Set(floor, out, 1)
		b.Set(g.outsideRow, out, 1)
		if e.Protected {
			b.Set(g.protectRow, out, 1)
		}
		most := b.AddRow("outside of "+e.Name+" and the worst", math.Inf(-1), 0)
		b.Set(most, out, 1)
		b.Set(most, g.worstOut, -1)
		g.outside = append(g.outside, out)

		full := b.AddRow("full need of "+e.Name, 1, math.Inf(1))
		short := b.AddCol("short for "+e.Name, 0, math.Inf(1), 0)
		b.Set(full, short, 1)
		g.short = append(g.short, short)

		cols := make([]int, len(q.Forms))
		for j := range q.Forms {
			cols[j] = -1
			if !q.usable(j) || !e.eats(g.foods[j]) {
				continue
			}
			f := g.foods[j]
			col := b.AddCol(f.Key+" for "+e.Name, 0, math.Inf(1), 0)
			cols[j] = col
			b.Set(stockRow[q.Forms[j].Stock], col, 1/q.Forms[j].PerGram)
			kcal, _ := f.Per100g(food.Energy)
			share := kcal / (e.NeedKcal * q.Days)
			b.Set(served, col, share)
			b.Set(floor, col, share)
			b.Set(full, col, share)
			if q.Stocks[q.Forms[j].Stock].Inside {
				b.Set(insideShare, col, share)
				b.Set(aboveWorst, col, share)
				b.Set(g.insideRow, col, kcal/(needAll*q.Days))
			}
		}
		g.x = append(g.x, cols)

		grams := func(l food.Limit) float64 {
			if q.Comfortable {
				return l.ComfortableG
			}
			return l.MaxG
		}
		under := make([]bool, len(q.Forms))
		for _, l := range limits {
			most := grams(l) * scale
			if l.Kind == "total" {
				most = grams(l) * math.Min(1, scale) // nobody eats more than this for having a larger need
			}
			row := -1
			for j, col := range cols {
				if col < 0 || (l.Kind != "total" && !slices.Contains(l.Foods, g.foods[j].Key)) {
					continue
				}
				if l.Kind == "total" && g.foods[j].Key == "salt" {
					continue // a few grams fill nobody
				}
				if row < 0 {
					row = b.AddRow(l.Key+" for "+e.Name, 0, most*q.Days/100)
				}
				b.Set(row, col, 1)
				if l.Kind != "total" {
					under[j] = true
				}
			}
		}
		// Forms of one food under no limit share that food's default.
		byFood := map[string]int{}
		for j, col := range cols {
			if col < 0 || under[j] {
				continue
			}
			most, comfortable := food.DefaultLimitG(g.foods[j])
			if q.Comfortable {
				most = comfortable
			}
			row, ok := byFood[g.foods[j].Key]
			if !ok {
				row = b.AddRow(g.foods[j].Key+" for "+e.Name, 0, most*scale*q.Days/100)
				byFood[g.foods[j].Key] = row
			}
			b.Set(row, col, 1)
		}
		if !energyOnly {
			for j, col := range cols {
				if col < 0 {
					continue
				}
				most, comfortable := food.DayLimitG(g.foods[j])
				if q.Comfortable {
					most = comfortable
				}
				if most > 0 {
					row := b.AddRow("sameness of "+g.foods[j].Key+" for "+e.Name, math.Inf(-1), 0)
					b.Set(row, col, 100/(most*scale*q.Days))
					b.Set(row, g.sameness, -1)
				}
			}
		}
		if ref, ok := food.ReferenceIntake(food.Sodium.Key(), e.Person); ok && ref.CDRR.Known {
			row := b.AddRow("sodium of "+e.Name, 0, 1)
			for j, col := range cols {
				if col >= 0 {
					b.Set(row, col, per100g(g.foods[j], food.Sodium)/(ref.CDRR.Amount*q.Days))
				}
			}
		}
	}
	if !energyOnly {
		g.nutrients(b)
	}
	return g, nil
}

// nutrients adds the ratios of intake to target.
func (g *programme) nutrients(b *lp.Builder) {
	g.protein = b.AddCol("worst protein", 0, 1, 0)
	g.matters = b.AddCol("worst of what matters", 0, 1, 0)
	g.bridged = b.AddCol("worst of the rest", 0, 1, 0)
	g.ratioRow = b.AddRow("sum of ratios", 0, math.Inf(1))
	if g.children {
		g.child = b.AddCol("worst of the children", 0, 1, 0)
	}
	for _, n := range food.ScoredNutrients() {
		has := false
		for j := range g.q.Forms {
			if g.q.usable(j) && per100g(g.foods[j], n) > 0 {
				has = true
				break
			}
		}
		if !has {
			g.sourceless = append(g.sourceless, n)
			continue
		}
		for p, e := range g.q.Eaters {
			target, ok := food.Target(n, e.Person)
			if !ok || target <= 0 || !g.eatsAny(p, n) {
				continue // a ratio that stays 0 would hide all others of its level
			}
			ratio := b.AddCol(n.Name()+" of "+e.Name, 0, 1, 0)
			g.ratios = append(g.ratios, ratio)
			b.Set(g.ratioRow, ratio, 1)
			row := b.AddRow(n.Name()+" intake of "+e.Name, 0, math.Inf(1))
			for j, col := range g.x[p] {
				if col >= 0 {
					b.Set(row, col, per100g(g.foods[j], n)/(target*g.q.Days))
				}
			}
			b.Set(row, ratio, -1)
			lowest := g.bridged
			switch {
			case n == food.Protein:
				lowest = g.protein
			case food.Weight(n, g.q.Days, e.Person) >= 0.5:
				lowest = g.matters
			}
			above := b.AddRow("worst and "+n.Name()+" of "+e.Name, 0, math.Inf(1))
			b.Set(above, ratio, 1)
			b.Set(above, lowest, -1)
			if g.children && e.Person.AgeY < 18 && lowest != g.bridged {
				above := b.AddRow("worst of the children and "+n.Name()+" of "+e.Name, 0, math.Inf(1))
				b.Set(above, ratio, 1)
				b.Set(above, g.child, -1)
			}
		}
	}
}

// eatsAny reports whether any food this eater is served contains n.
func (g *programme) eatsAny(p int, n food.Nutrient) bool {
	for j, col := range g.x[p] {
		if col >= 0 && per100g(g.foods[j], n) > 0 {
			return true
		}
	}
	return false
}

// solve maximises the sum of the given columns and rows' values; a negative
// factor minimises.
func (g *programme) solve(ctx context.Context, s *lp.Solver, cost map[int]float64) (*lp.Result, error) {
	clear(g.p.Cost)
	for col, c := range cost {
		g.p.Cost[col] = c
	}
	g.p.Maximize = true
	r, err := s.Solve(ctx, g.p, lp.Settings{})
	if err != nil {
		return nil, fmt.Errorf("menu: %w", err)
	}
	if r.Status != lp.Optimal {
		return nil, fmt.Errorf("menu: solver answered %v: %w", r.Status, ErrNoMenu)
	}
	return r, nil
}

// rowCost is the cost that maximises factor times a row's value.
func (g *programme) rowCost(row int, factor float64) map[int]float64 {
	cost := map[int]float64{}
	for col := range g.p.Cost {
		for k := g.p.Start[col]; k < g.p.Start[col+1]; k++ {
			if g.p.Index[k] == row {
				cost[col] += factor * g.p.Value[k]
			}
		}
	}
	return cost
}

// energy runs the first two levels and holds them: the worst eater's share of
// energy from inside, then that of all together.
func (g *programme) energy(ctx context.Context, s *lp.Solver) (levels []Level, err error) {
	r, err := g.solve(ctx, s, map[int]float64{g.worst: 1})
	if err != nil {
		return nil, err
	}
	worst := r.X[g.worst]
	g.p.ColLower[g.worst] = math.Max(0, worst-giveEnergy)
	levels = append(levels, Level{"worst eater's energy from inside", worst, giveEnergy})
	r, err = g.solve(ctx, s, g.rowCost(g.insideRow, 1))
	if err != nil {
		return nil, err
	}
	mean := r.RowValue[g.insideRow]
	g.p.RowLower[g.insideRow] = math.Max(0, mean-giveEnergy)
	levels = append(levels, Level{"energy of all from inside", mean, giveEnergy})
	return levels, nil
}

// fed runs and holds the levels of what must still come from elsewhere: for
// protected eaters, for the worst-off, for all.
func (g *programme) fed(ctx context.Context, s *lp.Solver) (levels []Level, err error) {
	r, err := g.solve(ctx, s, g.rowCost(g.protectRow, -1))
	if err != nil {
		return nil, err
	}
	v := r.RowValue[g.protectRow]
	g.p.RowUpper[g.protectRow] = v + giveEnergy
	levels = append(levels, Level{"energy still to come for protected eaters", v, giveEnergy})
	if r, err = g.solve(ctx, s, map[int]float64{g.worstOut: -1}); err != nil {
		return nil, err
	}
	v = r.X[g.worstOut]
	g.p.ColUpper[g.worstOut] = v + giveEnergy
	levels = append(levels, Level{"energy still to come for the worst-off eater", v, giveEnergy})
	if r, err = g.solve(ctx, s, g.rowCost(g.outsideRow, -1)); err != nil {
		return nil, err
	}
	v = r.RowValue[g.outsideRow]
	g.p.RowUpper[g.outsideRow] = v + giveEnergy
	return append(levels, Level{"energy still to come for all", v, giveEnergy}), nil
}

// filled runs and holds the level of what the eaters' full needs still lack.
func (g *programme) filled(ctx context.Context, s *lp.Solver) ([]Level, error) {
	cost := map[int]float64{}
	for _, col := range g.short {
		cost[col] = -1
	}
	r, err := g.solve(ctx, s, cost)
	if err != nil {
		return nil, err
	}
	var v float64
	for _, col := range g.short {
		v += r.X[col]
		g.p.ColUpper[col] = r.X[col] + giveEnergy
	}
	return []Level{{"energy short of the full needs", v, giveEnergy}}, nil
}

// Energy answers the first two levels alone: the share of energy from inside
// of the worst-off eater, and of all together. It is the quick answer for
// comparing many changes.
//
// Errors: a question no programme can be made of; what the solver reports.
func Energy(ctx context.Context, s *lp.Solver, q *Question) (worst, mean float64, err error) {
	g, err := q.build(true)
	if err != nil {
		return 0, 0, err
	}
	levels, err := g.energy(ctx, s)
	if err != nil {
		return 0, 0, err
	}
	return levels[0].Value, levels[1].Value, nil
}

// Solve makes the menu of a question, level by level: the worst eater's share
// of energy from inside; that of all; least energy still to come from
// elsewhere, for protected eaters, for the worst-off, for all (these come
// before the share from inside where food may be bought, and the full needs
// after it); the worst protein; the worst nutrient that matters within the
// days; the worst of the rest; the sum of all ratios; least sameness, least
// mass. Each level is held with its give while the later ones are run, and all
// are run, so that ties are settled the same way each time.
//
// Errors: a question no programme can be made of; what the solver reports.
func Solve(ctx context.Context, s *lp.Solver, q *Question) (*Menu, error) {
	g, err := q.build(false)
	if err != nil {
		return nil, err
	}
	// Where food may be bought nobody goes hungry so that the share from inside
	// looks better: needs first. From inside alone the energy comes first.
	steps := []func(context.Context, *lp.Solver) ([]Level, error){g.energy, g.fed}
	if q.Bought {
		steps = []func(context.Context, *lp.Solver) ([]Level, error){g.fed, g.energy, g.filled}
	}
	var levels []Level
	for _, step := range steps {
		reached, err := step(ctx, s)
		if err != nil {
			return nil, err
		}
		levels = append(levels, reached...)
	}
	var last *lp.Result
	for _, level := range []struct {
		name string
		col  int
	}{
		{"worst protein", g.protein},
		{"worst nutrient that matters within the days", g.matters},
		{"worst nutrient that stores bridge", g.bridged},
	} {
		if last, err = g.solve(ctx, s, map[int]float64{level.col: 1}); err != nil {
			return nil, err
		}
		v := last.X[level.col]
		g.p.ColLower[level.col] = math.Max(0, v-giveNutrient)
		levels = append(levels, Level{level.name, v, giveNutrient})
	}
	if len(g.ratios) > 0 {
		cost := map[int]float64{}
		for _, col := range g.ratios {
			cost[col] = 1
		}
		if last, err = g.solve(ctx, s, cost); err != nil {
			return nil, err
		}
		sum := last.RowValue[g.ratioRow]
		give := giveNutrient // of one ratio in all, not of each
		g.p.RowLower[g.ratioRow] = math.Max(0, sum-give)
		levels = append(levels, Level{"sum of the ratios", sum, give})
	}
	cost := map[int]float64{g.sameness: -1}
	for _, cols := range g.x {
		for _, col := range cols {
			if col >= 0 {
				cost[col] = -1e-4
			}
		}
	}
	if last, err = g.solve(ctx, s, cost); err != nil {
		return nil, err
	}
	levels = append(levels, Level{"largest use of a portion limit", last.X[g.sameness], 0})
	return g.read(last, levels), nil
}

// read turns a solution into a menu.
func (g *programme) read(r *lp.Result, levels []Level) *Menu {
	const crumb = 0.05 // g for the whole set; below it a figure is the solver's rounding
	var served []serving
	used := make([]float64, len(g.q.Stocks))
	byKey := map[string]int{}
	for j, f := range g.q.Forms {
		inside := g.q.Stocks[f.Stock].Inside
		s := serving{food: g.foods[j], inside: inside, byEater: make([]float64, len(g.q.Eaters))}
		for p := range g.q.Eaters {
			if col := g.x[p][j]; col >= 0 {
				if grams := r.X[col] * 100; grams > crumb {
					s.byEater[p] = grams
					used[f.Stock] += grams / f.PerGram
				}
			}
		}
		id := fmt.Sprint(inside, s.food.Key)
		if k, ok := byKey[id]; ok {
			for p, grams := range s.byEater {
				served[k].byEater[p] += grams
			}
			continue
		}
		byKey[id] = len(served)
		served = append(served, s)
	}
	m := figures(g.q.Eaters, g.q.Days, served)
	m.StockUsedG, m.Levels = used, levels
	for _, n := range g.sourceless {
		m.Sourceless = append(m.Sourceless, n.Name())
	}
	return m
}
