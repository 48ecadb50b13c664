package plan

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"

	"tidebed/meals"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// checkShare is how much of an occasion's energy may be missing in the season that a
// plan makes before the check fails, and checkKg the least amount that is told.
const (
	checkShare = 0.01
	checkKg    = 0.05
)

// check holds the plan against the season that it makes, without the solver and
// without the programme's own rows: what package meals finds on each table must cover
// what the menus eat, the beds must hold what stands in them on every day, fish must
// be there to be taken, and the menus' energy must be what is said of it.
func (m *maker) check(p *Plan, sol *solution, a applied) {
	var faults []string
	say := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	checkBeds(p, say)
	for i := range p.Occasions {
		o := &p.Occasions[i]
		kcal := 0.0
		for _, portion := range o.Menu.Portions {
			if row, err := food.Lookup(portion.Food); err == nil && portion.Inside {
				v, _ := row.Per100g(food.Energy)
				kcal += portion.Grams * v / 100
			}
		}
		if math.Abs(kcal/o.NeedKcal-o.MeanShare) > 1e-3 {
			say("%s: the menu holds %.0f kcal from inside, and %.0f are told", o.Name, kcal, o.MeanShare*o.NeedKcal)
		}
		served := 0.0
		for _, day := range o.Table {
			for _, f := range day.Foods {
				served += f.Grams
			}
		}
		total := 0.0
		for _, portion := range o.Menu.Portions {
			total += portion.Grams
		}
		if math.Abs(served-total) > 1e-6*math.Max(1, total) {
			say("%s: the days' tables hold %.0f g and the menu %.0f g", o.Name, served, total)
		}
	}
	m.checkFood(p, sol, a, say)
	for _, x := range p.Weeks {
		if x.PlacesMax > 0 && x.Places > x.PlacesMax*1.001 {
			say("the week of %s: %.0f places of the nursery are taken and there are %.0f", x.From, x.Places, x.PlacesMax)
		}
	}
	p.Check = Check{OK: len(faults) == 0, Fault: faults}
	p.Check.Said = "Held against the season that it makes: every table finds its food, every bed its room, every fish is there."
	if !p.Check.OK {
		p.Check.Said = fmt.Sprintf("Held against the season that it makes, %d things do not hold.", len(faults))
	}
}

// checkBeds adds up what stands in each bed each day, by the low course's own days.
func checkBeds(p *Plan, say func(string, ...any)) {
	has := map[string]float64{}
	for _, g := range p.Groups {
		for _, b := range g.Beds {
			if bed := bedNamed(p.Applied, b); bed != nil {
				has[b] = bed.GrowingM2()
			}
		}
	}
	f := p.Seasons[season.Low]
	for _, bed := range slices.Sorted(maps.Keys(has)) {
		worst, when := 0.0, site.Date{}
		for i := range f.Plantings {
			x := &f.Plantings[i]
			if x.Bed != bed || x.Planted.Before(p.Today.Time) {
				continue
			}
			area := 0.0
			for k := range f.Plantings {
				y := &f.Plantings[k]
				if y.Bed == bed && !y.Planted.After(x.Planted.Time) && (y.Pulled.IsZero() || y.Pulled.After(x.Planted.Time)) {
					area += y.AreaM2
				}
			}
			if area > worst {
				worst, when = area, x.Planted
			}
		}
		if worst > has[bed]*1.001+0.01 {
			say("bed %s: on %s %s would stand on %s", bed, when, areaWords(worst), areaWords(has[bed]))
		}
	}
}

// checkFood takes what the menus eat from what package meals finds in
// the season, what goes off first before what keeps.
func (m *maker) checkFood(p *Plan, sol *solution, a applied, say func(string, ...any)) {
	type lot struct {
		food   string
		ready  site.Date
		until  site.Date
		inside bool
		sets   map[int]float64 // grams by occasion, of the whole lot
		left   float64         // share
	}
	byID := map[string]*lot{}
	var ids []string
	for k, set := range m.w.sets {
		lots, _, _, err := meals.Lots(a.site, &p.Seasons, m.w.today, set)
		if err != nil {
			say("%s: %v", set.Name, err)
			return
		}
		for _, l := range lots {
			grams := l.Grams[season.Low]
			if l.Kind == "fish" { // those that are taken are out of the tank already
				continue
			}
			if grams <= 0 {
				continue
			}
			x := byID[l.ID]
			if x == nil {
				x = &lot{food: l.Food, ready: l.Ready, until: l.Until, inside: l.Inside, sets: map[int]float64{}, left: 1}
				byID[l.ID] = x
				ids = append(ids, l.ID)
			}
			x.sets[k] = grams
		}
	}
	sort.SliceStable(ids, func(i, j int) bool { return byID[ids[i]].until.Before(byID[ids[j]].until.Time) })
	for k := range m.w.sets {
		o := &p.Occasions[k]
		sb := &sol.g.set[k]
		want := map[string]float64{}
		kcal := map[string]float64{}
		for j, stock := range sb.q.Stocks {
			id := fmt.Sprint(stock.Key, stock.Inside)
			want[id] += o.Menu.StockUsedG[j]
			if v, err := sb.q.KcalPerStock(j); err == nil {
				kcal[id] = v
			}
		}
		for i := range sol.g.takes { // fish: the season fails if they are not there
			t := &sol.g.takes[i]
			if t.set != k || sol.x[t.col] < 0.5 {
				continue
			}
			at := t.cohort
			if at < 0 {
				at = a.cohorts[-1-at]
			}
			c := &p.Seasons[season.Low].Cohorts[at]
			day := c.Days[min(len(c.Days)-1, max(0, a.site.Opening.Date.DaysTo(sb.set.From)-1))]
			raw, share, ok := meals.Fillet(c.Species, day.WeightG)
			if n := math.Round(sol.x[t.col]); ok && day.Number >= n-0.5 {
				want[fmt.Sprint(raw, true)] -= n * share * day.WeightG
			} else {
				say("%s: %.0f %s are to be taken and %.0f are there", o.Name, math.Round(sol.x[t.col]), c.Title, day.Number)
			}
		}
		missing := 0.0
		var told []string
		for _, id := range slices.Sorted(maps.Keys(want)) {
			need := want[id]
			for _, l := range ids {
				x := byID[l]
				if need <= 0 {
					break
				}
				if fmt.Sprint(x.food, x.inside) != id || x.sets[k] <= 0 || x.left <= 0 {
					continue
				}
				take := math.Min(need, x.left*x.sets[k])
				x.left -= take / x.sets[k]
				need -= take
			}
			if need/1000 > checkKg {
				missing += need * kcal[id]
				told = append(told, fmt.Sprintf("%s of %s", kgWords(need/1000), foodName(id)))
			}
		}
		if missing/o.NeedKcal > checkShare {
			say("%s: the season has %.1f %% less than the menu wants: %s", o.Name, 100*missing/o.NeedKcal, words.List(told))
		}
	}
}

// foodName is the name of a food from a key of checkFood.
func foodName(id string) string {
	for _, f := range food.Foods() {
		if id == fmt.Sprint(f.Key, true) || id == fmt.Sprint(f.Key, false) {
			return words.LowerName(f.Name)
		}
	}
	return id
}
