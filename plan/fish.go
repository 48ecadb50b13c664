package plan

import (
	"cmp"
	"fmt"
	"math"

	"tidebed/meals"
	"tidebed/numeric/lp"
	"tidebed/science/fish"
	"tidebed/season"
	"tidebed/site"
)

// feedCost is money that goes with a column's unit.
type feedCost struct {
	col   int
	money float64
}

// Usual figures of new fish. Common practice, no source.
const (
	fryG          = 30.0 // weight at which they are bought
	fryMoney      = 0.5  // each
	fryOrderDays  = 21
	dressMin      = 5.0 // minutes to kill and dress a fish
	stockingEvery = 4   // weeks
	oldTableWeeks = 8   // a cohort must have so long before the table
)

// fish adds whole fish by cohort and occasion, and cohorts that could be bought. The
// weights are those of the low course with no fish taken; those that are taken leave
// the others room, which they do not use here.
func (g *programme) fish(lb *lp.Builder, b *base) (costs []feedCost) {
	w := g.w
	wage := w.wage()
	price := func(feed string) float64 {
		for _, f := range w.s.Feeds {
			if f.Name == feed {
				return f.PricePerKg
			}
		}
		return 0
	}
	for i := range w.s.Opening.Cohorts {
		for k := range w.sets {
			for _, l := range b.lots[k] {
				if l.Cohort != i || l.Fish[season.Low] < 1 || l.Grams[season.Low] <= 0 {
					continue
				}
				most := math.Floor(l.Fish[season.Low])
				t := take{cohort: i, set: k, most: most, fillet: l.Grams[season.Low] / l.Fish[season.Low]}
				t.weightG = l.KgPerG * 1000 * t.fillet
				t.col = lb.AddIntCol(fmt.Sprintf("fish of %s for %s", l.From, w.sets[k].Name), 0, most, 0)
				lb.Set(g.set[k].stockRow(l.Food, true, l.Forms), t.col, -t.fillet/100)
				costs = append(costs, feedCost{t.col, dressMin / 60 * wage})
				g.takes = append(g.takes, t)
			}
		}
		// Never more by an occasion than live then; those that are taken early are counted
		// as if all of them would have lived till then, which errs on the side of few.
		for k := range w.sets {
			most, cols := -1.0, []int{}
			for _, t := range g.takes {
				if t.cohort == i && t.set <= k {
					cols = append(cols, t.col)
					if t.set == k {
						most = t.most
					}
				}
			}
			if most >= 0 {
				row := lb.AddRow("fish alive", 0, most)
				for _, col := range cols {
					lb.Set(row, col, 1)
				}
			}
		}
	}
	if !w.o.NoFish {
		costs = append(costs, g.stockFish(lb, b, price)...)
	}
	g.density(lb, b)
	return costs
}

// stockFish offers new fish of each species that the site keeps, in its tank, every
// few weeks.
func (g *programme) stockFish(lb *lp.Builder, b *base, price func(string) float64) (costs []feedCost) {
	w := g.w
	seen := map[string]bool{}
	for i := range w.s.Opening.Cohorts {
		like := w.s.Opening.Cohorts[i]
		sp, err := fish.Lookup(like.Species)
		course := &b.all[season.Low].Cohorts[i]
		if err != nil || seen[like.Species+like.Tank] {
			continue
		}
		seen[like.Species+like.Tank] = true
		kind := fish.FeedKind{ProteinShare: sp.ProteinGrowoutShare, PhosphorusShare: 0.011, EnergyJG: 18500}
		for week := 0; week < w.weeks; week += stockingEvery {
			day := w.first(week)
			if soonest := w.today.Plus(fryOrderDays); day.Before(soonest.Time) {
				if week > 0 {
					continue
				}
				day = soonest
			}
			if len(w.sets) == 0 || day.Plus(7*oldTableWeeks).After(w.sets[len(w.sets)-1].From.Time) {
				break
			}
			st := stocking{species: &sp, like: like, day: day, weightG: fryG, survive: make([]float64, len(w.sets)), weights: make([]float64, len(w.sets))}
			const many = 1000
			c, err := fish.NewCohort(&sp, many, fryG, sp.GrowthFactorLow)
			if err != nil {
				break
			}
			useful := false
			for k, set := range w.sets {
				for d := day; d.Before(set.From.Time); d = d.Plus(1) {
					if k > 0 && d.Before(w.sets[k-1].From.Time) {
						continue
					}
					out := c.Step(tankC(b, like.Tank, course.TempC, d), kind, 1)
					st.feedKg += out.FeedG / 1000 / many
				}
				if day.Before(set.From.Time) {
					st.survive[k], st.weights[k] = c.Number/many, c.WeightG
					useful = useful || sp.MarketWeightLowG.Known && c.WeightG >= 0.6*sp.MarketWeightLowG.Amount
				}
			}
			if !useful {
				continue
			}
			st.col = lb.AddIntCol(fmt.Sprintf("new %s on %s", sp.ID, day), 0, 2000, 0)
			at := len(g.stockings)
			for k := range w.sets {
				if st.survive[k] == 0 || st.weights[k] < 0.6*sp.MarketWeightLowG.Amount {
					continue
				}
				raw, share, ok := meals.Fillet(sp.ID, st.weights[k])
				forms, known := meals.FishForms(raw)
				if _, on := g.set[k].stock[formsKey(raw, true, forms)]; !ok || !known || !on {
					continue
				}
				t := take{cohort: -1 - at, set: k, weightG: st.weights[k], fillet: share * st.weights[k], most: 2000}
				t.col = lb.AddIntCol(fmt.Sprintf("new fish for %s", w.sets[k].Name), 0, 2000, 0)
				lb.Set(g.set[k].stockRow(raw, true, forms), t.col, -t.fillet/100)
				// Σ taken by now ≤ those that live now.
				row := lb.AddRow("new fish alive", math.Inf(-1), 0)
				lb.Set(row, st.col, -st.survive[k])
				for _, u := range g.takes {
					if u.cohort == t.cohort {
						lb.Set(row, u.col, 1)
					}
				}
				lb.Set(row, t.col, 1)
				g.takes = append(g.takes, t)
			}
			costs = append(costs, feedCost{st.col, fryMoney + price(like.Feed)*st.feedKg})
			g.stockings = append(g.stockings, st)
		}
	}
	return costs
}

// wage is what an hour of work costs, in the site's money; 15 where it says nothing.
// Common practice, no source.
func (w *worker) wage() float64 { return cmp.Or(w.s.Prices.LabourPerS*3600, 15) }

// tankC is the water of a tank on a day by the forecast.
func tankC(b *base, tank string, setC float64, day site.Date) float64 {
	for i := range b.all[season.Low].Loops {
		l := &b.all[season.Low].Loops[i]
		if l.Water == nil {
			continue
		}
		for k := range l.Water.Cells {
			if c := &l.Water.Cells[k]; c.Tank == tank && len(c.Days) > 0 {
				return c.Days[min(len(c.Days)-1, max(0, c.Days[0].Day.DaysTo(day)))].TempC
			}
		}
	}
	return setC
}

// density holds each tank under what its fish bear on the eve of each occasion and
// every fourth week; where it is over that already without new fish, none are added.
func (g *programme) density(lb *lp.Builder, b *base) {
	w := g.w
	if len(g.stockings) == 0 {
		return
	}
	var days []site.Date
	for k := 0; k < w.weeks; k += 4 {
		days = append(days, w.first(k))
	}
	for _, set := range w.sets {
		days = append(days, set.From.Plus(-1))
	}
	for li := range w.s.Loops {
		for ti := range w.s.Loops[li].Tanks {
			tank := &w.s.Loops[li].Tanks[ti]
			for _, day := range days {
				kg, most := 0.0, math.Inf(1)
				type entry struct {
					col int
					kg  float64
				}
				var entries []entry
				for i := range b.all[season.Low].Cohorts {
					c := &b.all[season.Low].Cohorts[i]
					at := w.s.Opening.Date.DaysTo(day)
					if c.Tank != tank.Name || at < 0 || at >= len(c.Days) {
						continue
					}
					kg += c.Days[at].Number * c.Days[at].WeightG / 1000
					if c.DensityMaxKgM3 > 0 {
						most = math.Min(most, c.DensityMaxKgM3*tank.VolumeM3)
					}
					for _, t := range g.takes {
						if t.cohort == i && w.sets[t.set].From.Before(day.Time) {
							entries = append(entries, entry{t.col, -c.Days[at].WeightG / 1000})
						}
					}
				}
				new := false
				for k := range g.stockings {
					st := &g.stockings[k]
					if st.like.Tank != tank.Name || !st.day.Before(day.Time) {
						continue
					}
					weight, alive := st.weightG, 1.0
					for j, set := range w.sets { // the weight of the next occasion is never too little
						if !set.From.Before(day.Time) && st.weights[j] > 0 {
							weight = st.weights[j]
							break
						}
						if st.weights[j] > 0 {
							weight, alive = st.weights[j], st.survive[j]
						}
					}
					if st.species.DensityMaxKgM3 > 0 && st.species.Group != "crustacean" {
						most = math.Min(most, st.species.DensityMaxKgM3*tank.VolumeM3)
					}
					entries, new = append(entries, entry{st.col, weight * alive / 1000}), true
					for _, t := range g.takes {
						if t.cohort == -1-k && w.sets[t.set].From.Before(day.Time) {
							entries = append(entries, entry{t.col, -weight / 1000})
						}
					}
				}
				if !new || math.IsInf(most, 1) {
					continue
				}
				row := lb.AddRow("density of "+tank.Name, math.Inf(-1), math.Max(most, kg)-kg)
				for _, e := range entries {
					lb.Set(row, e.col, e.kg)
				}
			}
		}
	}
}

// stores holds what is put by under what each place has room for on the eve of each
// occasion: harvests that wait for that and later ones, beside what lies there.
func (g *programme) stores(lb *lp.Builder, b *base) {
	w := g.w
	g.roomRow = map[string][]int{}
	for _, place := range w.s.Larder {
		for k, set := range w.sets {
			lies := 0.0
			for j := range g.lots {
				if l := &g.lots[j]; l.lot.Kind == "larder" && l.lot.From == place.Name && l.share[k] >= 0 {
					lies += l.grams[k] / 1000
				}
			}
			row := -1
			for i := range g.classes {
				c := &g.classes[i]
				keeps, at, _ := meals.Kept(w.s, *c.crop)
				if at != place.Name || keeps < 14 {
					continue
				}
				for j := k; j < len(w.sets); j++ {
					if c.y[j] < 0 || c.sets&(1<<k) == 0 && j > k {
						continue
					}
					if row < 0 {
						row = lb.AddRow("room in "+place.Name, math.Inf(-1), math.Max(0, place.CapacityKg-lies)/10)
						g.roomRow[place.Name] = append(g.roomRow[place.Name], row)
					}
					lb.Set(row, c.y[j], 0.01*kept(c.loss, w.sets[j].From.DaysTo(set.From)))
				}
			}
		}
	}
}
