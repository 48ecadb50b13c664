package plan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"tidebed/meals"
	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// crumb is what is not told: food below it, kg.
const crumb = 0.02

// purgeDays is for how many days fish are unfed in clean water before they are
// eaten: the least that is usual.
const purgeDays = int(fish.PurgeDaysFrom)

// read turns a solution into the plan that people see, with the three courses of its
// season.
func (m *maker) read(ctx context.Context, sol *solution) (*Plan, error) {
	w := m.w
	if sol.seats == nil {
		m.seat(sol)
	}
	a, takes := m.apply(sol)
	options := season.Options{To: w.to, Takes: takes, TakesUpTo: true, Holding: m.holdings()}
	p := &Plan{Site: m.s.Name, Today: w.today, From: w.today, To: w.to, Applied: a.site, Levels: sol.levels, Bound: sol.bound, Gap: sol.gap, Fewer: Fewer{Sowings: sol.first, Gap: sol.wholeGap, To: sol.few}}
	var err error
	if p.Seasons, err = season.All(a.site, options); err != nil {
		return nil, fmt.Errorf("plan: the season with it: %w", err)
	}
	if err := m.settle(ctx, sol, p.Seasons[season.Low], a); err != nil {
		return nil, err
	}
	p.Levels = sol.levels
	p.Warnings = append(slices.Clone(m.warn), m.base.warn...)
	for _, text := range p.Seasons[season.Low].Warnings { // of the water that the plan makes
		if strings.HasPrefix(text, "loop ") && !slices.Contains(p.Warnings, text) {
			p.Warnings = append(p.Warnings, "With this plan, "+text)
		}
	}
	m.groupsOut(p, sol)
	m.sowings(p, sol, a)
	if err := m.occasions(p, sol); err != nil {
		return nil, err
	}
	m.fishOut(p, sol, a)
	m.weeks(p, sol)
	m.askedFor(p, sol)
	m.putBy(p, sol)
	m.changes(p, sol)
	m.check(p, sol, a)
	m.cautions(p)
	if err := m.later(ctx, p, sol); err != nil {
		return nil, err
	}
	// The days on which the beds are free belong to the plan: what follows needs them.
	for _, list := range a.plantings {
		for _, at := range list {
			q := &a.site.Opening.Plantings[at]
			if low := p.Seasons[season.Low].Plantings[at].Pulled; q.Pull.IsZero() && q.Planted.After(w.today.Time) && low.After(q.Planted.Time) {
				q.Pull = low
			}
		}
	}
	return p, nil
}

// later works out each occasion's mean share if all that is sown from now on were a
// week late.
func (m *maker) later(ctx context.Context, p *Plan, sol *solution) error {
	_, now, _, err := m.held(ctx, sol, m.again(0))
	if err != nil {
		return err
	}
	_, late, _, err := m.held(ctx, sol, m.again(7))
	if err != nil {
		return err
	}
	for i := range p.Occasions { // what is lost, from what is told: the levels' gives are in both
		p.Occasions[i].LateShare = math.Max(0, p.Occasions[i].MeanShare-math.Max(0, now[i]-late[i]))
	}
	return nil
}

// sowings lists what stands and what is to be sown.
func (m *maker) sowings(p *Plan, sol *solution, a applied) {
	w, g := m.w, sol.g
	uses := g.uses(sol)
	for i := range g.cands {
		c := &g.cands[i]
		if sol.n[i] < 1 || c.stands(w) && !c.pulled.After(w.today.Time) && len(uses[i]) == 0 {
			continue
		}
		gr := &w.groups[c.group]
		keeps, place, _ := meals.Kept(m.s, *c.crop)
		s := Sowing{
			Crop: c.crop.Key, Name: c.crop.Name, Group: gr.Name, Plant: c.planted, Pulled: c.pulled, First: c.grown.First,
			Young: c.young, Early: !c.pull.IsZero() && !c.young, Standing: c.index >= 0 && !c.inForce(w), Serves: uses[i],
			KeepDays: keeps, KeepAt: place, Propagation: c.crop.Propagation, Caution: meals.Dangers(c.crop.Caution), Source: c.crop.Source, SowDays: c.crop.NurseryDays,
		}
		s.ID = fmt.Sprintf("%s/%s/%s", c.crop.Key, gr.Name, c.planted)
		if c.young {
			s.ID += "/young"
		}
		if !c.pull.IsZero() {
			s.ID += "/" + c.pull.String()
		}
		s.Sow = c.planted.Plus(-c.crop.NurseryDays)
		if c.fixedM2 > 0 {
			s.AreaM2 = c.fixedM2
			s.Parts = []Part{{Bed: c.bed, AreaM2: c.fixedM2}}
			if c.inForce(w) {
				s.Parts = sol.seats[i]
			}
		} else {
			s.Parts = sol.seats[i]
			for _, part := range s.Parts {
				s.AreaM2 += part.AreaM2
			}
		}
		for _, at := range a.plantings[i] {
			for course, f := range p.Seasons {
				q := &f.Plantings[at]
				for _, pick := range q.Picks {
					if !pick.Day.Before(w.today.Time) || c.crop.HarvestKind == crop.Once {
						s.Kg[course] += pick.Kg
					}
				}
			}
			low := &p.Seasons[season.Low].Plantings[at]
			for _, pick := range low.Picks {
				if s.Last.IsZero() || pick.Day.After(s.Last.Time) {
					s.Last = pick.Day
				}
			}
			if !low.First.IsZero() {
				s.First = low.First
			}
			if !low.Pulled.IsZero() {
				s.Pulled = low.Pulled
			}
			for _, x := range low.Warnings {
				if !slices.Contains(s.Warnings, x) {
					s.Warnings = append(s.Warnings, x)
				}
			}
			if len(s.Grown) == 0 && low.RipeWhen != "" {
				s.Grown = append(s.Grown, low.RipeWhen)
			}
		}
		if !s.Standing {
			s.Plants = math.Ceil(s.AreaM2*c.crop.PlantsPerM2 - 1e-9)
			if c.crop.Propagation == "seed" {
				if n, err := crop.SeedsToSow(s.Plants, crop.UsualGermination, crop.UsualSurvival); err == nil {
					s.Seeds = n
				}
			}
			if perM2, _, _ := c.places(w); perM2 > 0 {
				s.Places = math.Ceil(perM2 * s.AreaM2)
			}
		}
		for _, h := range c.labour(w) {
			s.LabourH += h * s.AreaM2
		}
		s.Pinned = !s.Standing && w.pinned(c)
		days := c.planted.DaysTo(s.First)
		if !s.First.IsZero() {
			s.Grown = append(s.Grown, fmt.Sprintf("%d days from the bed to the first harvest here; %d at best light and warmth.", days, c.crop.DaysToFirstHarvest))
		}
		if c.crop.HarvestKind == crop.Once && c.index < 0 && !c.young {
			s.Grown = append(s.Grown, fmt.Sprintf("Must be ripe %d days before a table is laid with it.", m.o.SafetyDays))
		}
		if f := c.scale; math.Abs(f-1) > 0.02 {
			s.Grown = append(s.Grown, fmt.Sprintf("The season with this plan gives %.0f %% of what it would in water that lacks nothing.", 100*f))
		}
		s.Why = s.purpose()
		for n, id := 2, s.ID; slices.ContainsFunc(p.Sowings, func(x Sowing) bool { return x.ID == s.ID }); n++ {
			s.ID = fmt.Sprintf("%s/%d", id, n) // another bed's of the same day
		}
		p.Sowings = append(p.Sowings, s)
	}
	sort.SliceStable(p.Sowings, func(i, j int) bool {
		x, y := &p.Sowings[i], &p.Sowings[j]
		if x.Standing != y.Standing {
			return x.Standing
		}
		if !x.Sow.Equal(y.Sow.Time) {
			return x.Sow.Before(y.Sow.Time)
		}
		return x.ID < y.ID
	})
}

// purpose is what a sowing is for.
func (s *Sowing) purpose() string {
	if len(s.Serves) == 0 {
		if s.Standing {
			return "It stands already and is on no table of these days."
		}
		if s.Pinned {
			return "It holds its bed by a pin."
		}
		return "The season with this plan leaves nothing of it for any use."
	}
	text := ""
	for i, v := range s.Serves {
		if i > 0 {
			text += ", "
		}
		text += fmt.Sprintf("%s for %s", kgWords(v.Kg), v.Use)
	}
	return words.Capital(text) + "."
}

// uses is what each candidate gives to which use, by what the classes give out: each
// candidate of a class has the share of each use that it has of the class.
func (g *programme) uses(sol *solution) [][]Serve {
	out := make([][]Serve, len(g.cands))
	for ci := range g.classes {
		k := &g.classes[ci]
		total := 0.0
		for _, s := range k.from {
			total += s.per100g * sol.n[s.cand]
		}
		if total <= 0 {
			continue
		}
		household := map[int]bool{}
		for _, u := range g.greenCols {
			household[u.col] = true
		}
		for _, s := range k.from {
			share := s.per100g * sol.n[s.cand] / total
			if share <= 0 {
				continue
			}
			add := func(use string, kg, kcal float64, day site.Date) {
				if kg*share < 1e-6 {
					return
				}
				for i := range out[s.cand] {
					if v := &out[s.cand][i]; v.Use == use {
						v.Kg, v.Kcal = v.Kg+kg*share, v.Kcal+kcal*share
						if day.Before(v.Day.Time) {
							v.Day = day
						}
						return
					}
				}
				out[s.cand] = append(out[s.cand], Serve{use, kg * share, kcal * share, day})
			}
			for j, col := range k.y {
				if col < 0 {
					continue
				}
				eaten := sol.x[col] / 10 * g.eatenShare(sol, j, k.crop)
				_, forms, _ := meals.CropForms(k.crop, g.set[j].set.Cooking)
				add(g.set[j].set.Name, eaten, eaten*1000*kcalOf(forms), g.set[j].set.From)
			}
			for _, u := range k.weekly {
				use := "orders"
				if household[u.col] {
					use = "the household"
				}
				add(use, sol.x[u.col]/10, 0, g.w.first(u.week))
			}
		}
	}
	for i := range out {
		out[i] = slices.DeleteFunc(out[i], func(v Serve) bool { return v.Kg < crumb })
		sort.SliceStable(out[i], func(a, b int) bool { return out[i][a].Day.Before(out[i][b].Day.Time) })
	}
	return out
}

// eatenShare is how much of what the programme lays out of a crop on an occasion is
// eaten: a stock's row may have more on it than the menu takes.
func (g *programme) eatenShare(sol *solution, set int, c *crop.Crop) float64 {
	sb := &g.set[set]
	raw, forms, _ := meals.CropForms(c, sb.set.Cooking)
	return g.stockShare(sol, set, sb.stock[formsKey(raw, true, forms)])
}

// stockShare is how much of what is laid out of a stock is eaten.
func (g *programme) stockShare(sol *solution, set, stock int) float64 {
	sb := &g.set[set]
	brought := 0.0
	for i := range g.classes {
		k := &g.classes[i]
		if k.y[set] < 0 {
			continue
		}
		raw, forms, _ := meals.CropForms(k.crop, sb.set.Cooking)
		if sb.stock[formsKey(raw, true, forms)] == stock {
			brought += sol.x[k.y[set]] * 100
		}
	}
	for i := range g.lots {
		if l := &g.lots[i]; l.share[set] >= 0 && l.stock[set] == stock {
			brought += sol.x[l.share[set]] * l.grams[set]
		}
	}
	for i := range g.takes {
		t := &g.takes[i]
		if t.set == set && g.takeStock(t) == stock {
			brought += sol.x[t.col] * t.fillet
		}
	}
	if brought <= 0 {
		return 0
	}
	return math.Min(1, sol.menusOf(set).StockUsedG[stock]/brought)
}

// takeStock is the stock on an occasion of the fish of a take.
func (g *programme) takeStock(t *take) int {
	raw, _, _ := meals.Fillet(g.species(t), t.weightG)
	forms, _ := meals.FishForms(raw)
	return g.set[t.set].stock[formsKey(raw, true, forms)]
}

func (g *programme) species(t *take) string {
	if t.cohort < 0 {
		return g.stockings[-1-t.cohort].like.Species
	}
	return g.w.s.Opening.Cohorts[t.cohort].Species
}

// occasions lists the sets of days with where their food comes from and their tables.
func (m *maker) occasions(p *Plan, sol *solution) error {
	g := sol.g
	for k := range g.set {
		sb := &g.set[k]
		o := Occasion{Name: sb.set.Name, From: sb.set.From, To: sb.set.To, Days: int(sb.days), NeedKcal: sb.needs, Eaters: sb.set.Eaters}
		o.Menu = sol.menusOf(k)
		o.WorstShare, o.MeanShare, o.FedShare = o.Menu.WorstShare, o.Menu.MeanShare, o.Menu.FedShare
		source := func(s Source) {
			s.Share = s.Kcal / sb.needs
			if s.Kg >= 1e-3 {
				o.Sources = append(o.Sources, s)
			}
		}
		for i := range p.Sowings {
			for _, v := range p.Sowings[i].Serves {
				if v.Use == sb.set.Name {
					where := p.Sowings[i].Group
					if len(p.Sowings[i].Parts) == 1 {
						where = p.Sowings[i].Parts[0].Bed
					}
					source(Source{What: p.Sowings[i].Name, Where: where, Kind: "planting", Kg: v.Kg, Kcal: v.Kcal, Inside: true, Sowing: p.Sowings[i].ID})
				}
			}
		}
		for i := range g.lots {
			l := &g.lots[i]
			if l.share[k] < 0 {
				continue
			}
			grams := sol.x[l.share[k]] * l.grams[k] * g.stockShare(sol, k, l.stock[k])
			s := Source{What: l.lot.What, Where: l.lot.From, Kind: l.lot.Kind, Kg: grams * l.lot.KgPerG, Kcal: grams * kcalOf(l.lot.Forms), Inside: l.lot.Inside}
			if at := slices.IndexFunc(o.Sources, func(x Source) bool { return x.What == s.What && x.Where == s.Where && x.Kind == s.Kind }); at >= 0 {
				x := &o.Sources[at]
				x.Kg, x.Kcal = x.Kg+s.Kg, x.Kcal+s.Kcal
				x.Share = x.Kcal / sb.needs
				continue
			}
			source(s)
		}
		for i := range g.takes {
			t := &g.takes[i]
			if t.set != k || sol.x[t.col] < 0.5 {
				continue
			}
			raw, _, _ := meals.Fillet(g.species(t), t.weightG)
			forms, _ := meals.FishForms(raw)
			sp, err := fish.Lookup(g.species(t))
			if err != nil {
				return err
			}
			n := math.Round(sol.x[t.col])
			source(Source{What: sp.Name, Where: m.cohortName(g, t), Kind: "fish", Kg: n * t.weightG / 1000, Kcal: n * t.fillet * kcalOf(forms) * g.stockShare(sol, k, g.takeStock(t)), Inside: true})
		}
		sort.SliceStable(o.Sources, func(i, j int) bool { return o.Sources[i].Kcal > o.Sources[j].Kcal })
		o.Table = tableOf(&o)
		o.Binds = m.binds(sol, k)
		p.Occasions = append(p.Occasions, o)
	}
	return nil
}

func (m *maker) cohortName(g *programme, t *take) string {
	if t.cohort < 0 {
		return g.stockings[-1-t.cohort].name()
	}
	return m.s.Opening.Cohorts[t.cohort].Name
}

// Line is a day's table in a line: "potato 2.1 kg, kale 350 g".
func (d *TableDay) Line() string {
	var out []string
	for _, f := range d.Foods {
		if f.Grams >= 1 {
			out = append(out, fmt.Sprintf("%s %s", words.LowerName(f.Name), Weighed(f.Grams/1000)))
		}
	}
	return strings.Join(out, "; ")
}

// mainShare is what share of the energy makes a food a main one, and seenG from how
// many grams a head and day food of the house is noticed: neither is to be on the table
// each day.
const (
	mainShare = 0.08
	seenG     = 10.0
)

// mostRunning is on how many days in a row a main food stands on the table at most.
const mostRunning = 3

// tableOf spreads an occasion's food over its days: each food on as many days as its
// amount fills comfortable portions, the days apart from one another, begun where the
// table is emptiest; a main food, and what of the house's own is more than a pinch, on
// no more than mostRunning days in a row. The amounts are those of the menu.
func tableOf(o *Occasion) []TableDay {
	days := make([]TableDay, o.Days)
	kcal := make([]float64, o.Days)
	for d := range days {
		days[d].Date = o.From.Plus(d)
	}
	for i, portion := range o.Menu.Portions {
		row, err := food.Lookup(portion.Food)
		if err != nil || portion.Grams <= 0 {
			continue
		}
		_, comfortable := food.DayLimitG(row)
		if comfortable <= 0 {
			_, comfortable = food.DefaultLimitG(row)
		}
		n := o.Days
		if comfortable > 0 {
			n = int(math.Ceil(portion.Grams / (comfortable * float64(max(1, len(o.Eaters)))) * 1.2))
		}
		n = min(o.Days, max(1, n))
		perHead := portion.Grams / float64(max(1, len(o.Eaters))*o.Days)
		main := row.Key != "salt" && (portion.Kcal/o.NeedKcal > mainShare || portion.Inside && perHead > seenG)
		on := spread(n, o.Days, i, kcal, main)
		for _, d := range on {
			share := 1 / float64(len(on))
			days[d].Foods = append(days[d].Foods, Serving{portion.Food, portion.Name, portion.Grams * share, portion.Kcal * share})
			kcal[d] += portion.Kcal * share
		}
	}
	return days
}

// spread picks n of the days: evenly apart, begun where the table is emptiest; fewer
// where a main food would stand on more than mostRunning in a row.
func spread(n, days, turn int, kcal []float64, main bool) []int {
	if n >= days {
		if main && days > mostRunning {
			n = days - (days+mostRunning)/(mostRunning+1) // gaps enough that not all fall on one day
		} else {
			n = days
		}
	}
	bestShift, bestKcal := -1, math.Inf(1)
	at := func(k, shift int) int { return (k*days/n + shift) % days }
	for ; bestShift < 0; n-- {
		for s := range days {
			shift, sum := (s+turn)%days, 0.0
			on := make([]bool, days)
			for k := range n {
				sum += kcal[at(k, shift)]
				on[at(k, shift)] = true
			}
			if main && longestRun(on) > mostRunning {
				continue
			}
			if sum < bestKcal-1e-9 {
				bestShift, bestKcal = shift, sum
			}
		}
		if bestShift >= 0 {
			break
		}
	}
	var out []int
	for k := range n {
		out = append(out, at(k, bestShift))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// longestRun is the most days in a row.
func longestRun(on []bool) (longest int) {
	run := 0
	for _, is := range on {
		if run++; !is {
			run = 0
		}
		longest = max(longest, run)
	}
	return longest
}

// fishOut lists the fish to be taken and bought, and the feed that runs out.
func (m *maker) fishOut(p *Plan, sol *solution, a applied) {
	g := sol.g
	for i := range g.takes {
		t := &g.takes[i]
		n := int(math.Round(sol.x[t.col]))
		if n < 1 {
			continue
		}
		sp, err := fish.Lookup(g.species(t))
		if err != nil {
			continue
		}
		day := g.set[t.set].set.From.Plus(-1)
		if day.Before(m.w.today.Time) {
			day = m.w.today
		}
		purge := day.Plus(-purgeDays)
		if purge.Before(m.w.today.Time) {
			purge = m.w.today
			p.Warnings = append(p.Warnings, fmt.Sprintf("%s: only %d of %d days are left to purge the fish: their flesh may taste of the tank, and the gut is not empty.", g.set[t.set].set.Name, purge.DaysTo(day), purgeDays))
		}
		tank := ""
		if t.cohort < 0 {
			tank = g.stockings[-1-t.cohort].like.Tank
		} else {
			tank = m.s.Opening.Cohorts[t.cohort].Tank
		}
		p.Fish = append(p.Fish, FishTake{
			Cohort: m.cohortName(g, t), Species: sp.Name, Tank: tank, Day: day, Purge: purge, Number: n, WeightG: t.weightG,
			Kg: float64(n) * t.weightG / 1000, For: g.set[t.set].set.Name,
			Caution: "Stun and kill each fish at once, by someone who has learned it; no feed for the days of purge, in clean aerated water; gut and chill within the hour.",
		})
	}
	sort.SliceStable(p.Fish, func(i, j int) bool { return p.Fish[i].Day.Before(p.Fish[j].Day.Time) })
	for k := range g.stockings {
		st := &g.stockings[k]
		if a.cohorts[k] < 0 {
			continue
		}
		p.Stockings = append(p.Stockings, Stocking{
			Name: st.name(), Species: st.like.Species, Title: st.species.Name, Tank: st.like.Tank, Day: st.day, Order: st.day.Plus(-fryOrderDays),
			Number: int(math.Round(sol.x[st.col])), WeightG: st.weightG, Feed: st.like.Feed,
			Why: "More fish are wanted on the table than there are.", Caution: st.species.PermitCaution,
		})
	}
	for _, f := range p.Seasons[season.Typical].Feeds {
		p.Feeds = append(p.Feeds, FeedOrder{Feed: f.Name, UsedKg: f.UsedKg, StockKg: f.StockKg, OrderBy: f.OrderBy, Say: f.Sentence})
	}
}

// weeks lists what each week takes.
func (m *maker) weeks(p *Plan, sol *solution) {
	w, g := m.w, sol.g
	for k := range w.weeks {
		x := Week{From: w.first(k), LabourMaxH: g.labourMaxH, PlacesMax: g.placesMax, GreensWant: g.greensWant[k], OrdersWant: g.ordersWant[k], PlantedM2: make([]float64, len(w.groups))}
		for i := range g.cands {
			c := &g.cands[i]
			if sol.n[i] < 1 {
				continue
			}
			area := cmp.Or(c.fixedM2, sol.n[i]*w.groups[c.group].ModuleM2)
			x.LabourH += c.labour(w)[k] * area
			if k >= c.from && k <= c.to {
				x.PlantedM2[c.group] += area
			}
			if perM2, from, to := c.places(w); k >= from && k <= to {
				x.Places += perM2 * area
			}
		}
		for _, u := range g.greenCols {
			if u.week == k {
				x.GreensKg += sol.x[u.col] / 10
			}
		}
		for _, u := range g.orderCols {
			if u.week == k {
				x.OrdersKg += sol.x[u.col] / 10
			}
		}
		for l := range w.s.Loops {
			if g.unknown[l] {
				continue // nothing is known of its water
			}
			x.Loops = append(x.Loops, LoopWeek{Loop: w.s.Loops[l].Name, MadeG: g.made[l][k], DrawnG: 10 * sol.x[g.drawn[l][k]], ShortG: 10 * sol.x[g.short[l][k]]})
		}
		p.Weeks = append(p.Weeks, x)
	}
}

// enoughKg is what share of a want counts as met.
const enoughKg = 0.95

// askedFor lists what the household and orders want of beds each week, what they get
// and why it is not more.
func (m *maker) askedFor(p *Plan, sol *solution) {
	w, g := m.w, sol.g
	table := crop.Crops()
	for i := range table {
		c := &table[i]
		for _, of := range []struct {
			use  string
			list []use
		}{{"the household", g.greenCols}, {"orders", g.orderCols}} {
			a := Asked{Crop: c.Key, Name: c.Name, Use: of.use}
			for k := range w.weeks {
				if of.use == "orders" {
					a.WantKg += w.ordered(c.Key, k)
				} else if w.wishes[c.Key].Liking != "never" {
					a.WantKg += w.wishes[c.Key].KgWeek
				}
			}
			if a.WantKg <= 0 {
				continue
			}
			for _, u := range of.list {
				if kg := sol.x[u.col] / 10; u.crop == c.Key && kg > 1e-3 {
					a.Kg += kg
					if day := w.first(u.week); a.From.IsZero() || day.Before(a.From.Time) {
						a.From = day
					}
				}
			}
			offered := slices.ContainsFunc(g.cands, func(x candidate) bool { return x.crop.Key == c.Key })
			switch {
			case a.Kg >= enoughKg*a.WantKg:
			case !offered:
				a.Why = cmp.Or(w.why[c.Key], "nothing of it can be had within these days")
			case a.Kg == 0 && m.room(sol, c.Key):
				a.Why = "there is room, but a sowing of its own would meet little of what is asked for: pin it if you want it"
			case a.Kg == 0:
				a.Why = "its beds go to what feeds the home-fed days, and to other greens"
			default:
				later := 0.0
				for k := w.week(a.From); k < w.weeks; k++ {
					if of.use == "orders" {
						later += w.ordered(c.Key, k)
					} else {
						later += w.wishes[c.Key].KgWeek
					}
				}
				a.Why = fmt.Sprintf("the first of it is ripe in the week of %s; from then on it is %.0f %% of what is asked for, with gaps between cuts and sowings", a.From.Format("2 January"), 100*math.Min(1, a.Kg/math.Max(later, 1e-9)))
			}
			p.Asked = append(p.Asked, a)
		}
	}
}

// room reports whether a module of a crop could stand somewhere beside all that is
// planned.
func (m *maker) room(sol *solution, key string) bool {
	w, g := m.w, sol.g
	used := make([][]float64, len(w.groups))
	for i := range used {
		used[i] = make([]float64, w.weeks)
	}
	for i := range g.cands {
		c := &g.cands[i]
		if sol.n[i] < 1 || c.stands(w) {
			continue
		}
		n := sol.n[i]
		if c.fixedM2 > 0 {
			n = math.Ceil(c.fixedM2/w.groups[c.group].ModuleM2 - 0.05)
		}
		for k := max(0, c.from); k <= c.to; k++ {
			used[c.group][k] += n
		}
	}
	return slices.ContainsFunc(g.cands, func(c candidate) bool {
		if c.crop.Key != key || c.index >= 0 {
			return false
		}
		for k := max(0, c.from); k <= c.to; k++ {
			if used[c.group][k]+1 > float64(w.groups[c.group].freeM[k])+1e-9 {
				return false
			}
		}
		return true
	})
}

// putBy lists what waits for an occasion: harvests taken a week or more before, and
// what lies in the larder.
func (m *maker) putBy(p *Plan, sol *solution) {
	g := sol.g
	for i := range p.Sowings {
		s := &p.Sowings[i]
		if s.Last.IsZero() {
			continue
		}
		c, err := crop.Lookup(s.Crop)
		if err != nil {
			continue
		}
		keeps, _, loss := meals.Kept(m.s, c)
		for _, v := range s.Serves {
			at := slices.IndexFunc(p.Occasions, func(o Occasion) bool { return o.Name == v.Use })
			if at < 0 {
				continue
			}
			day := s.First
			if at := p.Occasions[at].From.Plus(-keeps); c.HarvestKind != crop.Once && at.After(day.Time) {
				day = at // cut no sooner than it keeps
			}
			if s.Last.After(day.Time) && !s.Last.After(p.Occasions[at].From.Time) {
				day = s.Last
			}
			wait := day.DaysTo(p.Occasions[at].From)
			if wait < 7 {
				continue
			}
			p.PutBy = append(p.PutBy, PutBy{What: s.Name, Food: c.FoodKey, Place: s.KeepAt, Day: day, For: v.Use, UseOn: p.Occasions[at].From, KgOut: v.Kg, KgIn: v.Kg / kept(loss, wait), Sowing: s.ID})
		}
	}
	for i := range g.lots {
		l := &g.lots[i]
		if l.lot.Kind != "larder" {
			continue
		}
		for k, col := range l.share {
			if col < 0 {
				continue
			}
			kg := sol.x[col] * l.grams[k] / 1000 * g.stockShare(sol, k, l.stock[k])
			if kg < crumb {
				continue
			}
			p.PutBy = append(p.PutBy, PutBy{What: l.lot.What, Food: l.lot.Food, Place: l.lot.From, Day: m.w.today, For: g.set[k].set.Name, UseOn: g.set[k].set.From, KgIn: kg, KgOut: kg, Standing: true})
		}
	}
	sort.SliceStable(p.PutBy, func(i, j int) bool { return p.PutBy[i].Day.Before(p.PutBy[j].Day.Time) })
}

// groupsOut lists the beds with how far they are used.
func (m *maker) groupsOut(p *Plan, sol *solution) {
	for gi := range m.w.groups {
		g := m.w.groups[gi].Group
		used := 0.0
		for i := range sol.g.cands {
			c := &sol.g.cands[i]
			if c.group != gi || sol.n[i] < 1 {
				continue
			}
			area := cmp.Or(c.fixedM2, sol.n[i]*g.ModuleM2)
			used += area * float64(max(0, c.to-max(0, c.from)+1))
			if c.index >= 0 && !c.inForce(m.w) && c.pulled.After(m.w.today.Time) {
				g.UsedNow += area
			}
		}
		g.UsedM2 = used / float64(m.w.weeks)
		p.Groups = append(p.Groups, g)
	}
}

// changes lists what differs from the plan in force.
func (m *maker) changes(p *Plan, sol *solution) {
	g := sol.g
	for i, q := range m.s.Opening.Plantings { // what a pin forbids, or all where it is planned afresh
		if q.Planted.After(m.w.today.Time) && !slices.ContainsFunc(m.fixed, func(c candidate) bool { return c.index == i }) {
			if c, err := crop.Lookup(q.Crop); err == nil {
				p.Changes = append(p.Changes, Change{Day: q.Planted, What: fmt.Sprintf("leave out %s of %s in %s", areaWords(q.AreaM2), words.LowerName(c.Name), q.Bed), Out: true})
			}
		}
	}
	for i := range g.cands {
		c := &g.cands[i]
		switch {
		case c.inForce(m.w) && sol.n[i] < 1:
			p.Changes = append(p.Changes, Change{Day: c.planted, What: fmt.Sprintf("leave out %s of %s in %s", areaWords(c.fixedM2), words.LowerName(c.crop.Name), c.bed), Out: true})
		case c.index < 0 && sol.n[i] >= 1:
			area := sol.n[i] * m.w.groups[c.group].ModuleM2
			p.Changes = append(p.Changes, Change{Day: c.planted, What: fmt.Sprintf("plant %s of %s in %s", areaWords(area), words.LowerName(c.crop.Name), m.w.groups[c.group].Name)})
		}
	}
	sort.SliceStable(p.Changes, func(i, j int) bool { return p.Changes[i].Day.Before(p.Changes[j].Day.Time) })
}
