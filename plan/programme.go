package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"tidebed/meals"
	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
)

// programme is the linear programme of a plan with the places of its columns.
// Units in it: food in 100 g, beds in modules, labour in hours, nitrogen in 10 g,
// nursery in 100 places.
type programme struct {
	w     *worker
	cands []candidate
	p     *lp.Problem

	n         []int // column by candidate: modules; for what stands or is in force its share
	set       []setBlock
	lots      []baseLot
	classes   []class
	takes     []take
	stockings []stocking
	bedRow    [][]int          // by group, week
	cropRow   map[string]int   // by crop: modules of new sowings
	roomRow   map[string][]int // by larder place
	storeRow  [][]int          // by loop, week: the balance of nitrogen, 10 g
	labour    []int            // row by week
	nursery   []int            // row by week, -1 where there is no limit
	short     [][]int          // column by loop, week: 10 g of nitrogen short
	drawn     [][]int          // column by loop, week
	made      [][]float64      // by loop, week, g
	store0    []float64        // g, by loop
	unknown   []bool           // by loop: nothing is known of its water

	// Columns of all occasions together.
	worst, each, mean, protein, matters, child, ratios, greens, change, cost, unasked int
	fedWorst, fedProtected                                                            int
	nShort                                                                            int

	greensWant, ordersWant []float64 // kg by week
	greenCols, orderCols   []use
	labourMaxH             float64
	placesMax              float64
}

// setBlock is one occasion in the programme.
type setBlock struct {
	set    site.HomeFedDays
	days   float64
	eaters []menu.Eater
	q      *menu.Question
	block  *menu.Block
	stock  map[string]int // by food and forms
	needs  float64        // kcal, all eaters, all days

	firstRow, endRow int // its rows in the programme
}

// baseLot is what lies or is made without the plan: its shares by occasion.
type baseLot struct {
	lot   meals.Lot
	share []int     // column by occasion, -1 where it cannot be eaten
	grams []float64 // by occasion
	stock []int     // by occasion
}

// class is pickings of one food, in one week where they are asked for each week, that
// reach the same occasions.
type class struct {
	crop   *crop.Crop
	sets   uint64
	week   int // of the picking, before today too; noWeek: not told apart
	row    int
	y      []int // column by occasion, 100 g on that day; -1
	ref    site.Date
	loss   float64
	weekly []use
	from   []supply
}

// noWeek is the week of pickings that are not told apart by it.
const noWeek = math.MinInt

// use is a column of food that goes to the household or to orders.
type use struct {
	col, week int
	crop      string
}

// supply is what a candidate gives to a class, 100 g a column's unit.
type supply struct {
	cand    int
	per100g float64
}

// take is a cohort's fish for an occasion.
type take struct {
	cohort  int // in the opening; or -1-index of a stocking
	set     int
	col     int
	weightG float64
	fillet  float64 // g from a fish
	most    float64
}

// stocking is a cohort that could be bought.
type stocking struct {
	species *fish.Species
	like    site.Cohort // whose feed and tank it shares
	day     site.Date
	weightG float64
	col     int
	survive []float64 // by occasion, share alive
	weights []float64 // by occasion, g
	feedKg  float64   // a fish, to its last occasion
}

// formsKey tells foods that are eaten alike.
func formsKey(raw string, inside bool, forms []meals.Form) string {
	return fmt.Sprint(raw, inside, forms)
}

// base is the building without what is planned.
type base struct {
	lots    [][]meals.Lot // by occasion
	miss    [][]meals.Missed
	all     [season.Courses]*season.Forecast
	warn    []string
	eaters  [][]menu.Eater
	caution []meals.Caution
}

// build lays the programme out. fixed candidates are those that stand; the others are
// offered.
func (w *worker) build(b *base, cands []candidate) (*programme, error) {
	g := &programme{w: w, cands: cands}
	var lb lp.Builder
	lb.Maximize = true
	inf := math.Inf(1)
	// Occasions with their stocks: all that could be on the table.
	for k, set := range w.sets {
		sb := setBlock{set: set, days: float64(set.From.DaysTo(set.To) + 1), eaters: b.eaters[k], stock: map[string]int{}}
		sb.q = &menu.Question{Days: sb.days, Eaters: sb.eaters, Comfortable: !w.o.Largest, Bought: set.Cupboard}
		for _, e := range sb.eaters {
			sb.needs += e.NeedKcal * sb.days
		}
		for _, l := range b.lots[k] {
			sb.add(l.Food, l.Inside, l.Forms)
		}
		for i := range cands {
			for _, l := range cands[i].lots {
				if l.sets&(1<<k) != 0 {
					if raw, forms, ok := meals.CropForms(cands[i].crop, set.Cooking); ok {
						sb.add(raw, true, forms)
					}
				}
			}
		}
		if !w.o.NoFish {
			for i := range w.s.Opening.Cohorts {
				if raw, _, ok := meals.Fillet(w.s.Opening.Cohorts[i].Species, 300); ok {
					if forms, ok := meals.FishForms(raw); ok {
						sb.add(raw, true, forms)
					}
				}
			}
		}
		var err error
		sb.firstRow = lb.Rows()
		add := sb.q.AddTo
		if w.energyOnly {
			add = sb.q.AddEnergyTo
		}
		if sb.block, err = add(&lb); err != nil {
			return nil, err
		}
		sb.endRow = lb.Rows()
		g.set = append(g.set, sb)
	}
	// Beds.
	bedRow := make([][]int, len(w.groups))
	g.bedRow, g.cropRow = bedRow, map[string]int{}
	for i := range w.groups {
		bedRow[i] = make([]int, w.weeks)
		for k := range w.weeks {
			bedRow[i][k] = lb.AddRow(fmt.Sprintf("beds %s week %d", w.groups[i].Name, k), 0, math.Max(0, float64(w.groups[i].freeM[k])))
		}
	}
	// Work and nursery.
	g.labourMaxH = w.o.HoursWeek
	if g.labourMaxH == 0 {
		g.labourMaxH = bedHoursShare * w.s.Labour.HoursWeek
	}
	lampM2 := 0.0
	for _, l := range w.s.Lamps {
		if l.Over == "nursery" {
			lampM2 += l.AreaM2
		}
	}
	g.placesMax = lampM2 * nurseryPerM2
	standing := make([]float64, w.weeks)
	for i := range cands {
		if cands[i].stands(w) {
			for k, h := range cands[i].labour(w) {
				standing[k] += h * cands[i].fixedM2
			}
		}
	}
	hours := lb.AddCol("hours of work", 0, inf, 0)
	hoursRow := lb.AddRow("all hours", 0, 0)
	lb.Set(hoursRow, hours, -1)
	for k := range w.weeks {
		most := inf
		if g.labourMaxH > 0 {
			most = math.Max(g.labourMaxH, standing[k]) // what stands is looked after
		}
		g.labour = append(g.labour, lb.AddRow(fmt.Sprintf("work week %d", k), 0, most))
		row := -1
		if g.placesMax > 0 {
			row = lb.AddRow(fmt.Sprintf("nursery week %d", k), 0, g.placesMax/100)
		}
		g.nursery = append(g.nursery, row)
	}
	// Nitrogen: the water's store, what feed brings and what plants take.
	nRow := make([][]int, len(w.s.Loops))
	g.storeRow = make([][]int, len(w.s.Loops))
	for l := range w.s.Loops {
		made, store, most, known := w.nitrogenOf(b, l)
		g.unknown = append(g.unknown, !known)
		g.made, g.store0 = append(g.made, made), append(g.store0, store)
		g.short, g.drawn, nRow[l] = append(g.short, nil), append(g.drawn, nil), nil
		last := -1
		for k := range w.weeks {
			// store(k) = store(k-1) + made − drawn + short − over
			row := lb.AddRow(fmt.Sprintf("nitrogen %s week %d", w.s.Loops[l].Name, k), 0, 0)
			g.storeRow[l] = append(g.storeRow[l], row)
			in := made[k] / 10
			if last < 0 {
				in += store / 10
			}
			lb.SetRowBounds(row, -in, -in)
			if last >= 0 {
				lb.Set(row, last, 1)
			}
			if !known {
				g.short[l], g.drawn[l], nRow[l] = append(g.short[l], -1), append(g.drawn[l], -1), append(nRow[l], -1)
				lb.SetRowBounds(row, 0, 0)
				continue
			}
			short, over := lb.AddCol("nitrogen short", 0, inf, 0), lb.AddCol("nitrogen over", 0, inf, 0)
			now := lb.AddCol("nitrogen in the water", 0, math.Max(most, store)/10, 0)
			drawn := lb.AddCol("nitrogen drawn", 0, inf, 0)
			lb.Set(row, short, 1)
			lb.Set(row, over, -1)
			lb.Set(row, now, -1)
			lb.Set(row, drawn, -1)
			sum := lb.AddRow("drawn", 0, 0)
			lb.Set(sum, drawn, -1)
			g.short[l], g.drawn[l], nRow[l] = append(g.short[l], short), append(g.drawn[l], drawn), append(nRow[l], sum)
			last = now
		}
	}
	// Plantings.
	loopOf := func(c *candidate) int {
		return slices.IndexFunc(w.s.Loops, func(l site.Loop) bool { return l.Name == w.groups[c.group].Loop })
	}
	g.unasked = lb.AddCol("modules of what nobody asked for", 0, inf, 0)
	unaskedRow := lb.AddRow("what nobody asked for", 0, 0)
	lb.Set(unaskedRow, g.unasked, -1)
	g.change = lb.AddCol("change", math.Inf(-1), inf, 0)
	changeRow := lb.AddRow("change", 0, 0)
	lb.Set(changeRow, g.change, -1)
	for i := range cands {
		c := &cands[i]
		gr := &w.groups[c.group]
		areaM2, most := gr.ModuleM2, float64(gr.Modules)
		if c.fixedM2 > 0 {
			areaM2, most = c.fixedM2, 1
		}
		for k := c.from; k <= c.to && c.fixedM2 == 0; k++ {
			most = math.Min(most, math.Max(0, float64(gr.freeM[k])))
		}
		name := fmt.Sprintf("%s in %s from %s", c.crop.Key, gr.Name, c.planted)
		var col int
		switch {
		case c.fixedM2 > 0 && !c.inForce(w):
			col = lb.AddCol(name, 1, 1, 0) // it stands
		default:
			col = lb.AddIntCol(name, 0, most, 0)
		}
		g.n = append(g.n, col)
		if c.index < 0 {
			row, ok := g.cropRow[c.crop.Key]
			if !ok {
				row = lb.AddRow("modules of "+c.crop.Key, 0, inf)
				g.cropRow[c.crop.Key] = row
			}
			lb.Set(row, col, 1)
		}
		if c.index < 0 || c.inForce(w) {
			modules := 1.0
			if c.fixedM2 > 0 {
				modules = math.Ceil(c.fixedM2/gr.ModuleM2 - 0.05)
				lb.Set(changeRow, col, -modules)
			} else {
				lb.Set(changeRow, col, 1)
			}
			for k := max(0, c.from); k <= c.to; k++ {
				lb.Set(bedRow[c.group][k], col, modules)
			}
			if weight := w.unasked(c.crop.Key); weight > 0 {
				lb.Set(unaskedRow, col, modules*weight)
			}
		}
		perM2, from, to := c.places(w)
		for k := max(0, from); k <= to; k++ {
			if g.nursery[k] >= 0 {
				lb.Set(g.nursery[k], col, perM2*areaM2/100)
			}
		}
		for k, h := range c.labour(w) {
			if h == 0 {
				continue
			}
			lb.Set(g.labour[k], col, h*areaM2)
			if !c.stands(w) {
				lb.Set(hoursRow, col, h*areaM2)
			}
		}
		if n := c.nitrogen(w); n > 0 {
			for k := max(0, c.from); k <= c.to; k++ {
				if row := nRow[loopOf(c)][k]; row >= 0 {
					lb.Set(row, col, n*areaM2/10)
				}
			}
		}
	}
	g.pins(&lb)
	g.harvests(&lb)
	if err := g.weekly(&lb); err != nil {
		return nil, err
	}
	g.bases(&lb, b)
	feed := g.fish(&lb, b)
	g.stores(&lb, b)
	g.together(&lb, hours, feed)
	var err error
	if g.p, err = lb.Problem(); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return g, nil
}

// unasked is how little a crop is asked for: 0 for one that is loved, 1 for one that is
// not on the site's list. Without a list all are alike.
func (w *worker) unasked(key string) float64 {
	wish, listed := w.wishes[key]
	switch {
	case len(w.wishes) == 0 || wish.Liking == "loved":
		return 0
	case !listed:
		return 1
	case wish.Liking == "eaten":
		return 0.5
	}
	return 0.1
}

// stands reports whether the candidate is a planting that stands already.
func (c *candidate) stands(w *worker) bool { return c.index >= 0 && !c.inForce(w) }

// inForce reports whether the candidate is a planting of the site that is still to
// come.
func (c *candidate) inForce(w *worker) bool { return c.index >= 0 && c.planted.After(w.today.Time) }

// add names a stock of the occasion.
func (sb *setBlock) add(raw string, inside bool, forms []meals.Form) int {
	key := formsKey(raw, inside, forms)
	i, ok := sb.stock[key]
	if !ok {
		i = len(sb.q.Stocks)
		sb.stock[key] = i
		sb.q.Stocks = append(sb.q.Stocks, menu.Stock{Key: raw, Inside: inside, Open: true})
		for _, f := range forms {
			sb.q.Forms = append(sb.q.Forms, menu.Form{Food: f.Food, Stock: i, PerGram: f.PerGram})
		}
	}
	return i
}

// stockRow is the row of a food that must be named already.
func (sb *setBlock) stockRow(raw string, inside bool, forms []meals.Form) int {
	return sb.block.Stock[sb.stock[formsKey(raw, inside, forms)]]
}

// pins adds the least areas that pins ask for.
func (g *programme) pins(lb *lp.Builder) {
	for i, p := range g.w.o.Pins {
		if p.Forbid {
			continue
		}
		row := lb.AddRow(fmt.Sprintf("pin %d", i), p.AreaM2, math.Inf(1))
		for k := range g.cands {
			c := &g.cands[k]
			gr := &g.w.groups[c.group]
			if !p.covers(c.crop.Key, gr, c.planted) || c.index >= 0 && !c.inForce(g.w) {
				continue
			}
			lb.Set(row, g.n[k], cmp.Or(c.fixedM2, gr.ModuleM2))
		}
	}
}

// harvests adds the classes of pickings, what they hold and where it may go.
func (g *programme) harvests(lb *lp.Builder) {
	w := g.w
	index := map[string]int{}
	for i := range g.cands {
		c := &g.cands[i]
		wanted := w.wanted(c.crop)
		areaM2 := cmp.Or(c.fixedM2, w.groups[c.group].ModuleM2)
		_, _, loss := meals.Kept(w.s, *c.crop)
		for _, l := range c.lots {
			week := noWeek
			if wanted {
				week = l.week
			}
			key := fmt.Sprint(c.crop.Key, l.sets, week)
			at, ok := index[key]
			if !ok {
				at = len(g.classes)
				index[key] = at
				k := class{crop: c.crop, sets: l.sets, week: week, loss: loss}
				k.row = lb.AddRow("harvest of "+key, 0, math.Inf(1))
				k.ref = w.first(0)
				if week != noWeek {
					k.ref = w.first(week)
				}
				for j, set := range w.sets {
					col := -1
					if l.sets&(1<<j) != 0 {
						if week == noWeek && (k.ref == w.first(0) || set.From.Before(k.ref.Time)) {
							k.ref = set.From
						}
						col = lb.AddCol("table", 0, math.Inf(1), 0)
					}
					k.y = append(k.y, col)
				}
				for j, set := range w.sets {
					if k.y[j] < 0 {
						continue
					}
					raw, forms, _ := meals.CropForms(c.crop, set.Cooking)
					lb.Set(g.set[j].stockRow(raw, true, forms), k.y[j], -1)
					lb.Set(k.row, k.y[j], -kept(loss, set.From.DaysTo(k.ref)))
				}
				g.classes = append(g.classes, k)
			}
			// What is left of it at the class's day of reference.
			per := l.kg * 10 * areaM2 * kept(loss, l.day.DaysTo(g.classes[at].ref))
			lb.Set(g.classes[at].row, g.n[i], per)
			g.classes[at].from = append(g.classes[at].from, supply{i, per})
		}
	}
}

// kept is the share of food left after days; more than 1 looking back.
func kept(lossWeek float64, days int) float64 {
	return math.Pow(1-math.Min(lossWeek, mostLoss), float64(days)/7)
}

// mostLoss is the most of a week's loss that is reckoned with: a place that loses all
// would leave nothing to look back from.
const mostLoss = 0.95

// ordered is what orders want of a crop in a week, kg.
func (w *worker) ordered(key string, week int) (kg float64) {
	day := w.first(week)
	for _, o := range w.orders[key] {
		if (o.From.IsZero() || !day.Plus(6).Before(o.From.Time)) && (o.To.IsZero() || !day.After(o.To.Time)) {
			kg += o.WeekKg
		}
	}
	return kg
}

// freshWeeks is for how many weeks after a picking the household or an order may be
// served from it, at most: what is sold or eaten fresh is not kept for months.
const freshWeeks = 8

// weekly adds what the household and orders take each week.
func (g *programme) weekly(lb *lp.Builder) error {
	w := g.w
	g.greensWant, g.ordersWant = make([]float64, w.weeks), make([]float64, w.weeks)
	wish, order := map[string][]int{}, map[string][]int{} // rows by crop, week
	keys := make([]string, 0, len(w.wishes)+len(w.orders))
	for key, x := range w.wishes {
		if x.KgWeek > 0 && x.Liking != "never" {
			keys = append(keys, key)
		}
	}
	for key := range w.orders {
		if !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	sort.Strings(keys)
	for _, key := range keys {
		for k := range w.weeks {
			want := w.wishes[key].KgWeek
			g.greensWant[k] += want
			wish[key] = append(wish[key], lb.AddRow("household "+key, 0, want*10))
			sold := w.ordered(key, k)
			g.ordersWant[k] += sold
			order[key] = append(order[key], lb.AddRow("orders "+key, 0, sold*10))
		}
	}
	for i := range g.classes {
		k := &g.classes[i]
		if k.week == noWeek {
			continue
		}
		keeps, _, _ := meals.Kept(w.s, *k.crop)
		for week := max(0, k.week); week < w.weeks && week <= k.week+min(freshWeeks, keeps/7); week++ {
			for _, of := range []struct {
				rows map[string][]int
				list *[]use
				want float64
			}{{wish, &g.greenCols, w.wishes[k.crop.Key].KgWeek}, {order, &g.orderCols, float64(len(w.orders[k.crop.Key]))}} {
				if of.want <= 0 || of.rows[k.crop.Key] == nil {
					continue
				}
				col := lb.AddCol("weekly "+k.crop.Key, 0, math.Inf(1), 0)
				lb.Set(k.row, col, -kept(k.loss, 7*(k.week-week)))
				lb.Set(of.rows[k.crop.Key][week], col, 1)
				u := use{col, week, k.crop.Key}
				*of.list = append(*of.list, u)
				k.weekly = append(k.weekly, u)
			}
		}
	}
	return nil
}

// bases adds what lies or is made already: larder, other sources, cupboard.
func (g *programme) bases(lb *lp.Builder, b *base) {
	index := map[string]int{}
	for k := range g.w.sets {
		for _, l := range b.lots[k] {
			if l.Kind == "fish" || l.Kind == "planting" || l.Grams[season.Low] <= 0 {
				continue
			}
			at, ok := index[l.ID]
			if !ok {
				at = len(g.lots)
				index[l.ID] = at
				bl := baseLot{lot: l, share: make([]int, len(g.w.sets)), grams: make([]float64, len(g.w.sets)), stock: make([]int, len(g.w.sets))}
				for j := range bl.share {
					bl.share[j] = -1
				}
				g.lots = append(g.lots, bl)
			}
			bl := &g.lots[at]
			bl.share[k], bl.grams[k] = lb.AddCol(l.What, 0, 1, 0), l.Grams[season.Low]
			bl.stock[k] = g.set[k].stock[formsKey(l.Food, l.Inside, l.Forms)]
			lb.Set(g.set[k].block.Stock[bl.stock[k]], bl.share[k], -l.Grams[season.Low]/100)
		}
	}
	for i := range g.lots {
		row := lb.AddRow("all of "+g.lots[i].lot.ID, 0, 1)
		for _, col := range g.lots[i].share {
			if col >= 0 {
				lb.Set(row, col, 1)
			}
		}
	}
}

// together adds the columns of all occasions.
func (g *programme) together(lb *lp.Builder, hours int, feed []feedCost) {
	inf := math.Inf(1)
	lowest := func(name string, of func(*menu.Block) int) int {
		col := lb.AddCol(name, 0, 1, 0)
		for i := range g.set {
			row := lb.AddRow(name, 0, inf)
			lb.Set(row, of(g.set[i].block), 1)
			lb.Set(row, col, -1)
		}
		return col
	}
	g.worst = lowest("worst share", func(k *menu.Block) int { return k.Worst })
	if !g.w.energyOnly {
		g.protein = lowest("worst protein", func(k *menu.Block) int { return k.Protein })
		g.matters = lowest("worst of what matters", func(k *menu.Block) int { return k.Matters })
		g.child = lowest("worst of the children", func(k *menu.Block) int { return k.Child })
	}
	sum := func(name string, add func(row int)) int {
		col := lb.AddCol(name, 0, inf, 0)
		row := lb.AddRow(name, 0, 0)
		lb.Set(row, col, -1)
		add(row)
		return col
	}
	needs, ratios := 0.0, 0.0
	for i := range g.set {
		needs += g.set[i].needs
		ratios += float64(len(g.set[i].block.RatioColumns))
	}
	g.each = sum("worst of each", func(row int) {
		for i := range g.set {
			lb.Set(row, g.set[i].block.Worst, 1/float64(len(g.set)))
		}
	})
	g.mean = sum("mean share", func(row int) {
		for i := range g.set {
			lb.Set(row, g.set[i].block.Inside, g.set[i].needs/needs)
		}
	})
	if !g.w.energyOnly {
		g.ratios = sum("mean of the ratios", func(row int) {
			for i := range g.set {
				lb.Set(row, g.set[i].block.Ratios, 1/math.Max(1, ratios))
			}
		})
	}
	g.fedProtected = sum("outside of protected eaters", func(row int) {
		for i := range g.set {
			lb.Set(row, g.set[i].block.OutsideProtected, 1)
		}
	})
	g.fedWorst = lb.AddCol("worst outside", 0, inf, 0)
	for i := range g.set {
		row := lb.AddRow("worst outside", 0, inf)
		lb.Set(row, g.fedWorst, 1)
		lb.Set(row, g.set[i].block.WorstOutside, -1)
	}
	wantG, wantO := 0.0, 0.0
	for k := range g.w.weeks {
		wantG, wantO = wantG+g.greensWant[k], wantO+g.ordersWant[k]
	}
	parts := 0.0
	for _, want := range []float64{wantG, wantO} {
		if want > 0 {
			parts++
		}
	}
	g.greens = sum("household and orders", func(row int) {
		for _, u := range g.greenCols {
			lb.Set(row, u.col, 0.1/wantG/parts)
		}
		for _, u := range g.orderCols {
			lb.Set(row, u.col, 0.1/wantO/parts)
		}
	})
	g.nShort = sum("nitrogen short", func(row int) {
		for l := range g.short {
			for _, col := range g.short[l] {
				if col >= 0 {
					lb.Set(row, col, 10)
				}
			}
		}
	})
	wage := g.w.wage()
	g.cost = lb.AddCol("work and feed", math.Inf(-1), inf, 0)
	row := lb.AddRow("work and feed", 0, 0)
	lb.Set(row, g.cost, -1)
	lb.Set(row, hours, 1)
	for _, f := range feed {
		lb.Set(row, f.col, f.money/wage)
	}
	for i := range g.cands {
		c := &g.cands[i]
		if money := c.seed(g.w); money > 0 {
			lb.Set(row, g.n[i], money*cmp.Or(c.fixedM2, g.w.groups[c.group].ModuleM2)/wage)
		}
	}
}

// nitrogenOf is what feed gives a loop's plants each week, what its water holds for
// them today and the most it is let hold, g.
// known is false where nothing is known of the water: then nothing is short.
func (w *worker) nitrogenOf(b *base, loop int) (made []float64, store, most float64, known bool) {
	made = make([]float64, w.weeks)
	l := &b.all[season.Low].Loops[loop]
	most = ampleNitrateGm3 * l.VolumeM3
	if l.Water == nil {
		return made, most, most, false
	}
	protein := w.proteinOf(b, loop)
	for i, d := range l.Water.Days {
		k := w.week(d.Day)
		if k < 0 || k >= w.weeks {
			continue
		}
		if d.Day == w.today || i == 0 && d.Day.After(w.today.Time) {
			store = d.NO3NGm3 * l.VolumeM3
		}
		made[k] += d.FeedG * protein * food6_25 * crop.UsualNitrogenShare
	}
	return made, math.Min(store, most), most, true
}

// food6_25 is the nitrogen of protein, and ampleNitrateGm3 what a keeper lets a loop's
// water hold before it is changed (common practice, no source).
const (
	food6_25        = 1 / 6.25
	ampleNitrateGm3 = 80.0
)

// proteinOf is the protein of what a loop's fish eat, by their feeds.
func (w *worker) proteinOf(b *base, loop int) float64 {
	sum, feed := 0.0, 0.0
	for i, c := range b.all[season.Low].Cohorts {
		in := slices.ContainsFunc(w.s.Loops[loop].Tanks, func(t site.Tank) bool { return t.Name == c.Tank })
		if !in || c.FeedG <= 0 {
			continue
		}
		share := 0.0
		if sp, err := fish.Lookup(w.s.Opening.Cohorts[i].Species); err == nil {
			share = sp.ProteinGrowoutShare
		}
		for _, f := range w.s.Feeds {
			if f.Name == c.FeedName {
				share = f.Protein
			}
		}
		sum, feed = sum+share*c.FeedG, feed+c.FeedG
	}
	if feed == 0 {
		return 0
	}
	return sum / feed
}

// idle takes back new sowings of which nothing is eaten, kept or sold: the room that
// whole modules leave over. Pinned ones stay.
func (g *programme) idle(sol *solution) {
	used := make([]bool, len(g.cands))
	for i := range g.classes {
		k := &g.classes[i]
		out := 0.0
		for j, col := range k.y {
			if col >= 0 {
				out += sol.x[col] * g.eatenShare(sol, j, k.crop)
			}
		}
		for _, u := range k.weekly {
			out += sol.x[u.col]
		}
		for _, s := range k.from {
			used[s.cand] = used[s.cand] || out > 10*crumb
		}
	}
	for i := range g.cands {
		if c := &g.cands[i]; c.index < 0 && !used[i] && !g.w.pinned(c) && sol.n[i] >= 1 {
			sol.n[i], sol.x[g.n[i]] = 0, 0
		}
	}
}

// pinned reports whether a pin asks for a candidate.
func (w *worker) pinned(c *candidate) bool {
	return slices.ContainsFunc(w.o.Pins, func(p Pin) bool { return !p.Forbid && p.covers(c.crop.Key, &w.groups[c.group], c.planted) })
}

// kcalOf is what a gram of raw food gives at most in its forms.
func kcalOf(forms []meals.Form) (kcal float64) {
	for _, f := range forms {
		if row, err := food.Lookup(f.Food); err == nil {
			v, _ := row.Per100g(food.Energy)
			kcal = math.Max(kcal, v/100*f.PerGram)
		}
	}
	return kcal
}
