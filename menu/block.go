package menu

import (
	"fmt"
	"math"

	"tidebed/numeric/lp"
	"tidebed/science/food"
)

// Block is one question's columns and rows inside a larger programme: columns and
// rows by their numbers in the builder. Shares and ratios run from 0 to 1.
type Block struct {
	Worst        int // column: inside energy over need, the worst-off eater
	Protein      int // column: worst protein ratio
	Matters      int // column: worst ratio of what matters within the days
	Bridged      int // column: worst ratio of what the body's stores bridge
	Child        int // column: worst ratio of what matters to eaters under 18; without any it is free up to 1
	Sameness     int // column: largest use of a portion limit
	WorstOutside int // column: energy still to come for the worst-off, over the need

	Inside           int   // column: inside energy of all over the need of all
	OutsideProtected int   // column: energy still to come for protected eaters, sum of their shares
	Outside          int   // column: the same for all
	Ratios           int   // column: sum of all capped ratios
	RatioColumns     []int // columns: those ratios
	ShortColumns     []int // columns by eater: share of the full need not served
	Stock            []int // rows by stock, in 100 g: subtract what the programme brings
	Eaten            []int // all columns of food served

	g *programme
}

// AddTo lays a question into a builder as part of a larger programme. A stock that is
// Open has a row whose entries for supply, in 100 g and negative, are the caller's.
// Food is in 100 g for the whole set of days, energy and nutrients are shares of the
// need.
//
// Errors: a question no programme can be made of.
func (q *Question) AddTo(b *lp.Builder) (*Block, error) { return q.block(b, false) }

// AddEnergyTo is AddTo without the rows of the nutrients, for quick answers: the
// block's columns of protein, nutrients and their sum are -1.
func (q *Question) AddEnergyTo(b *lp.Builder) (*Block, error) { return q.block(b, true) }

func (q *Question) block(b *lp.Builder, energyOnly bool) (*Block, error) {
	g, err := q.addTo(b, energyOnly, !energyOnly)
	if err != nil {
		return nil, err
	}
	// total makes a column of what a row adds up to.
	total := func(row int, name string) int {
		col := b.AddCol(name, 0, math.Inf(1), 0)
		b.Set(row, col, -1)
		b.SetRowBounds(row, 0, 0)
		return col
	}
	k := &Block{
		Worst: g.worst, Protein: g.protein, Matters: g.matters, Bridged: g.bridged, Child: g.child, Sameness: g.sameness, WorstOutside: g.worstOut,
		Inside: total(g.insideRow, "inside energy"), OutsideProtected: total(g.protectRow, "outside energy of protected eaters"),
		Outside:      total(g.outsideRow, "outside energy"),
		RatioColumns: g.ratios, ShortColumns: g.short, Stock: g.stockRow, g: g,
	}
	if energyOnly {
		k.Protein, k.Matters, k.Bridged, k.Child, k.Ratios = -1, -1, -1, -1, -1
	} else {
		k.Ratios = total(g.ratioRow, "sum of the ratios")
	}
	for _, cols := range g.x {
		for _, col := range cols {
			if col >= 0 {
				k.Eaten = append(k.Eaten, col)
			}
		}
	}
	return k, nil
}

// Read turns the values of all columns of the larger programme into this block's
// menu. Levels are the caller's.
func (k *Block) Read(x []float64) *Menu { return k.g.read(&lp.Result{X: x}, nil) }

// KcalPerStock is the most energy that a gram of a stock gives in any of its forms,
// kcal/g; 0 for a stock no form draws on. Errors: an unknown food.
func (q *Question) KcalPerStock(stock int) (kcal float64, err error) {
	for _, f := range q.Forms {
		if f.Stock != stock {
			continue
		}
		row, err := food.Lookup(f.Food)
		if err != nil {
			return 0, fmt.Errorf("menu: %w", err)
		}
		v, _ := row.Per100g(food.Energy)
		kcal = max(kcal, v/100*f.PerGram)
	}
	return kcal, nil
}
