package meals

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"
	"sync"

	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// Progress is told, between steps, how many are done of how many.
type Progress func(done, of int, what string)

// Forecast answers whether there will be enough to eat on each of the site's
// home-fed days, as seen from today. Days that are over are listed as a record
// with nothing computed. Of days already running the rest is answered.
//
// progress may be nil. Errors: what the site names and the tables lack, and
// what the solver reports; ctx stops it.
func Forecast(ctx context.Context, pool *lp.Pool, s *site.Site, today site.Date, progress Progress) (*Answer, error) {
	a := &Answer{Site: s.Name, Today: today}
	sets := slices.Clone(s.HomeFed)
	sort.SliceStable(sets, func(i, j int) bool { return sets[i].From.Before(sets[j].From.Time) })
	if today.Before(s.Opening.Date.Time) {
		a.Warnings = append(a.Warnings, fmt.Sprintf("today, %s, is before the opening of %s on %s: what stands there then is taken to stand now", today, s.Name, s.Opening.Date))
	}
	step := func(i int, what string) {
		if progress != nil {
			progress(i, len(sets), what)
		}
	}
	sky, err := season.NewSky(s)
	if err != nil {
		return nil, err
	}
	options := season.Ahead(s)
	options.Sky = sky
	all, err := season.All(s, options)
	if err != nil {
		return nil, err
	}
	var used [courses]account
	for k := range used {
		used[k].share = map[string]float64{}
	}
	for i, set := range sets {
		step(i, set.Name)
		o := Occasion{Name: set.Name, From: set.From, To: set.To, Days: set.From.DaysTo(set.To) + 1}
		if o.Days < 1 {
			return nil, fmt.Errorf("home-fed days %q end on %s before they start on %s: change one of the dates", set.Name, set.To, set.From)
		}
		if set.From.Before(today.Time) && !s.Opening.Date.After(set.From.Time) {
			// What was eaten since the opening is gone: nothing else says what it was,
			// so the menu of that time is taken.
			eaten := set
			if !set.To.Before(today.Time) {
				eaten.To = today.Plus(-1)
			}
			if err := book(ctx, pool, s, &all, eaten, &used); err != nil {
				return nil, fmt.Errorf("meals, %s: %w", set.Name, err)
			}
			a.Warnings = append(a.Warnings, fmt.Sprintf("%s: what was eaten until %s is taken off as its menu had it; nobody wrote down what it was.", set.Name, dayWords(eaten.To, today)))
		}
		if set.To.Before(today.Time) {
			o.Past = true
			o.Sentence = fmt.Sprintf("%s: over since %s; a record.", set.Name, dayWords(set.To, today))
			a.Occasions = append(a.Occasions, o)
			continue
		}
		if set.From.Before(today.Time) {
			set.From, o.From = today, today
			o.Days = today.DaysTo(set.To) + 1
			o.Warnings = append(o.Warnings, fmt.Sprintf("under way: the answer is for what is left, %s", words.Spelled(o.Days, "day", "days")))
		}
		if err := occasion(ctx, pool, s, sky, &all, today, set, &o, &used); err != nil {
			return nil, fmt.Errorf("meals, %s: %w", set.Name, err)
		}
		a.Occasions = append(a.Occasions, o)
	}
	// Once more with the fish that are eaten taken out, for what is left of them,
	// their feed and their waste.
	var again [courses]season.Options
	for k := range again {
		again[k] = options
		again[k].Takes = used[k].takes
	}
	if all, err = season.Each(s, again); err != nil {
		return nil, err
	}
	a.Seasons = all
	a.Warnings = append(a.Warnings, all[season.Low].Warnings...)
	step(len(sets), "done")
	a.Sentence = headline(a)
	return a, nil
}

// Seasons runs the three courses of the site from its opening to the end of
// its last home-fed days, a year at least. A ripe crop is held in the bed for
// the first day of a set, while it keeps.
func Seasons(s *site.Site) ([season.Courses]*season.Forecast, error) {
	return season.All(s, season.Ahead(s))
}

// account is what one course has eaten so far.
type account struct {
	share map[string]float64 // of a lot, by its id
	takes []season.Take
}

// headline is the sentence of the next set of days.
func headline(a *Answer) string {
	for _, o := range a.Occasions {
		if !o.Past {
			return o.Sentence
		}
	}
	if len(a.Occasions) > 0 {
		return "All home-fed days are over; set new ones to see what to plant."
	}
	return "No home-fed days are set; set some to see whether the building can feed you."
}

// table is the question of one set of days with the lots behind its stocks.
type table struct {
	eaters []menu.Eater
	days   float64
	lots   []lot
}

// merged pools lots of one raw food that are eaten alike, so that the
// programme stays small: their stocks are one.
func (t *table) merged(course int, used map[string]float64, comfortable, bought bool) (q *menu.Question, members [][]int) {
	q = &menu.Question{Days: t.days, Eaters: t.eaters, Comfortable: comfortable, Bought: bought}
	index := map[string]int{}
	for i, l := range t.lots {
		key := fmt.Sprint(l.food, l.inside, l.forms)
		left := l.gramsG[course] * math.Max(0, 1-used[l.id])
		k, ok := index[key]
		if !ok {
			k = len(q.Stocks)
			index[key] = k
			q.Stocks = append(q.Stocks, menu.Stock{Key: l.food, Inside: l.inside})
			members = append(members, nil)
			for _, f := range l.forms {
				q.Forms = append(q.Forms, menu.Form{Food: f.key, Stock: k, PerGram: f.perGram})
			}
		}
		q.Stocks[k].Grams += left
		members[k] = append(members[k], i)
	}
	return q, members
}

// book takes off what a set of days that is over ate, by the menus of its time.
func book(ctx context.Context, pool *lp.Pool, s *site.Site, all *[season.Courses]*season.Forecast, set site.HomeFedDays, used *[courses]account) error {
	people, _, err := eaters(s, set)
	if err != nil {
		return err
	}
	supply, err := lotsFor(s, all, s.Opening.Date, set)
	if err != nil {
		return err
	}
	t := &table{eaters: people, days: float64(set.From.DaysTo(set.To) + 1), lots: supply.lots}
	return pool.Do(ctx, func(solver *lp.Solver) error {
		for k := range courses {
			if err := t.run(ctx, solver, k, set, &used[k], new(Run)); err != nil {
				return err
			}
		}
		return nil
	})
}

func occasion(ctx context.Context, pool *lp.Pool, s *site.Site, sky *season.Sky, all *[season.Courses]*season.Forecast, today site.Date, set site.HomeFedDays, o *Occasion, used *[courses]account) error {
	people, said, err := eaters(s, set)
	if err != nil {
		return err
	}
	supply, err := lotsFor(s, all, today, set)
	if err != nil {
		return err
	}
	o.Missed, o.Warnings = supply.miss, append(o.Warnings, supply.warn...)
	t := &table{eaters: people, days: float64(o.Days), lots: supply.lots}
	for _, e := range people {
		shown := Eater{Name: e.Name, NeedKcal: e.NeedKcal, Protected: e.Protected, Floor: e.Floor}
		if e.Protected {
			shown.Why = whyProtected(e, s)
		}
		o.Eaters = append(o.Eaters, shown)
		o.NeedKcal += e.NeedKcal * float64(o.Days)
	}
	before := [courses]map[string]float64{}
	for k := range before {
		before[k] = maps.Clone(used[k].share)
	}
	runs := [courses]*Run{&o.Low, &o.Typical, &o.High}
	var wait sync.WaitGroup
	errs := make([]error, courses+1)
	for k := range courses {
		wait.Add(1)
		go func() {
			defer wait.Done()
			errs[k] = pool.Do(ctx, func(solver *lp.Solver) error {
				return t.run(ctx, solver, k, set, &used[k], runs[k])
			})
		}()
	}
	wait.Add(1)
	go func() {
		defer wait.Done()
		errs[courses] = pool.Do(ctx, func(solver *lp.Solver) error {
			q, _ := t.merged(low, before[low], false, false)
			var err error
			o.CeilingShare, _, err = menu.Energy(ctx, solver, q)
			return err
		})
	}()
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	if err := o.help(ctx, pool, s, sky, all[low], today, set, t, before[low]); err != nil {
		return err
	}
	o.outside()
	o.lacks(t)
	o.caution(said)
	o.words(today, t)
	return nil
}

func whyProtected(e menu.Eater, s *site.Site) string {
	switch {
	case e.Person.AgeY < 18:
		return "under 18"
	case e.Person.State.Pregnant():
		return "pregnant"
	case e.Person.State.Nursing():
		return "nursing"
	}
	for _, p := range s.People {
		if p.Name == e.Name && len(p.Flags) > 0 {
			return words.List(p.Flags)
		}
	}
	return "body mass index below 18.5"
}

// run makes the menus of one course and books what they eat.
func (t *table) run(ctx context.Context, solver *lp.Solver, course int, set site.HomeFedDays, acc *account, r *Run) error {
	used := acc.share
	r.Yield = season.Course(course).String()
	alone, members := t.merged(course, used, true, false)
	m, err := menu.Solve(ctx, solver, alone)
	if err != nil {
		return err
	}
	r.Alone, r.Menu = m, m
	if set.Cupboard {
		full, _ := t.merged(course, used, true, true)
		if r.Menu, err = menu.Solve(ctx, solver, full); err != nil {
			return err
		}
	}
	r.WorstShare, r.MeanShare, r.WithCupboardShare = r.Alone.WorstShare, r.Alone.MeanShare, r.Menu.FedShare
	// What is eaten comes first from what keeps least long.
	eaten := make([]float64, len(t.lots))
	for k, lots := range members {
		left := r.Menu.StockUsedG[k]
		order := slices.Clone(lots)
		sort.SliceStable(order, func(i, j int) bool { return t.lots[order[i]].until.Before(t.lots[order[j]].until.Time) })
		for _, i := range order {
			l := t.lots[i]
			take := math.Min(left, l.gramsG[course]*math.Max(0, 1-used[l.id]))
			eaten[i] += take
			left -= take
		}
	}
	for i, l := range t.lots {
		have := l.gramsG[course] * math.Max(0, 1-used[l.id])
		if have < 1 {
			continue // eaten before
		}
		var best float64
		for _, f := range l.forms {
			row, err := food.Lookup(f.key)
			if err != nil {
				return err
			}
			kcal, _ := row.Per100g(food.Energy)
			best = math.Max(best, have*f.perGram*kcal/100)
		}
		if n := len(r.OnHand); n > 0 && r.OnHand[n-1].Name == l.what && r.OnHand[n-1].From == l.from {
			last := &r.OnHand[n-1] // another picking or day of the same
			last.Kg += have * l.perKg
			last.EdibleKcal += best
			last.EatenKg += eaten[i] * l.perKg
			last.Until = l.until
			continue
		}
		r.OnHand = append(r.OnHand, Stock{
			Food: l.food, Name: l.what, From: l.from, Kg: have * l.perKg, EdibleKcal: best,
			Ready: l.ready, Until: l.until, Inside: l.inside, EatenKg: eaten[i] * l.perKg,
		})
	}
	for i, l := range t.lots {
		if l.gramsG[course] > 0 {
			used[l.id] = math.Min(1, used[l.id]+eaten[i]/l.gramsG[course])
			if l.cohort >= 0 && eaten[i] > 0 {
				acc.takes = append(acc.takes, season.Take{Cohort: l.cohort, Day: set.From, Number: l.fish[course] * eaten[i] / l.gramsG[course]})
			}
		}
	}
	return nil
}

// outside lists what must come from elsewhere, protected eaters first.
func (o *Occasion) outside() {
	for i, f := range o.Low.Menu.Eaters {
		if f.OutsideKcal < 1 {
			f.OutsideKcal = 0 // the solver's rounding
		}
		if f.OutsideKcal > 0 || f.BoughtKcal > 0.5 {
			o.Outside = append(o.Outside, Outside{Eater: f.Name, KcalDay: f.OutsideKcal, BoughtDay: f.BoughtKcal, Protected: o.Eaters[i].Protected})
		}
	}
	sort.SliceStable(o.Outside, func(i, j int) bool { return o.Outside[i].Protected && !o.Outside[j].Protected })
}

// enough is the share of a target from which a nutrient counts as about
// enough: tables and needs are not known better than that.
const enough = 0.85

// lacks lists the nutrients short in the promised menu, worst first; what no
// food on hand contains apart.
func (o *Occasion) lacks(t *table) {
	m := o.Low.Menu
	for _, n := range food.ScoredNutrients() {
		worst := Lack{Nutrient: n.Name(), Share: math.Inf(1), Sourceless: slices.Contains(m.Sourceless, n.Name())}
		for p, f := range m.Eaters {
			if f.Target[n] <= 0 {
				continue
			}
			matters := food.Weight(n, t.days, t.eaters[p].Person) >= 0.5
			share := f.Intake[n] / f.Target[n]
			if share < enough && matters {
				worst.Matters = true
			}
			if share < worst.Share {
				worst.Share, worst.Eater, worst.UnknownMass = share, f.Name, f.UnknownMass[n]
			}
		}
		if worst.Share < enough {
			o.Lacks = append(o.Lacks, worst)
		}
	}
	sort.SliceStable(o.Lacks, func(i, j int) bool {
		a, b := o.Lacks[i], o.Lacks[j]
		if a.Sourceless != b.Sourceless {
			return b.Sourceless
		}
		if a.Matters != b.Matters {
			return a.Matters
		}
		return a.Share < b.Share
	})
}

// caution gathers what must be said about the food and the people.
func (o *Occasion) caution(said []food.Caution) {
	var keys []string
	for _, p := range o.Low.Menu.Portions {
		keys = append(keys, p.Food)
	}
	sort.Strings(keys)
	seen := map[food.Caution]bool{}
	for _, c := range append(food.Cautions(keys), said...) {
		if !seen[c] {
			seen[c] = true
			o.Cautions = append(o.Cautions, c)
		}
	}
	seenWarning := map[string]bool{}
	for _, f := range o.Low.Menu.Eaters {
		for _, w := range f.Warnings {
			if !seenWarning[w] {
				seenWarning[w] = true
				o.Warnings = append(o.Warnings, f.Name+": "+w)
			}
		}
	}
}

// words writes the sentence and the reasons.
func (o *Occasion) words(today site.Date, t *table) {
	whom := fmt.Sprintf("each of %s at least %s of the energy they need", words.Spelled(len(o.Eaters), "person", "people"), Percent(o.Low.WorstShare))
	if len(o.Eaters) == 1 {
		whom = fmt.Sprintf("one person %s of the energy they need", Percent(o.Low.WorstShare))
	}
	o.Sentence = fmt.Sprintf("%s the building gives %s", span(o.From, o.To, today), whom)
	if len(o.Helps) > 0 {
		h := o.Helps[0]
		if h.Whole != "" {
			o.Sentence += "; " + h.Whole
		} else {
			o.Sentence += fmt.Sprintf("; %s would make it %s", h.What, Percent(h.Share))
		}
	}
	o.Sentence += "."
	byEnergy := map[string]float64{}
	var names []string
	var inside float64
	for _, p := range o.Low.Alone.Portions {
		name := strings.SplitN(p.Name, ",", 2)[0]
		if _, ok := byEnergy[name]; !ok {
			names = append(names, name)
		}
		byEnergy[name] += p.Kcal
		inside += p.Kcal
	}
	sort.SliceStable(names, func(i, j int) bool { return byEnergy[names[i]] > byEnergy[names[j]] })
	var top []string
	for _, n := range names[:min(3, len(names))] {
		comes := " from "
		if len(top) == 0 {
			comes = " comes from "
		}
		top = append(top, Percent(byEnergy[n]/inside)+comes+strings.ToLower(n))
	}
	if len(top) == 0 {
		o.Reasons = append(o.Reasons, "Nothing that people can eat stands ready or lies in the larder for these days.")
	} else {
		o.Reasons = append(o.Reasons, fmt.Sprintf("Of that, %s. These are low yields and portions eaten with comfort; typical yields give %s, high %s, the largest portions %s.",
			words.List(top), Percent(o.Typical.WorstShare), Percent(o.High.WorstShare), Percent(o.CeilingShare)))
	}
	var children []string
	var kcal float64
	for _, x := range o.Outside {
		if x.Protected && x.KcalDay > 0.5 {
			children = append(children, x.Eater)
			kcal += x.KcalDay
		}
	}
	if len(children) > 0 {
		o.Reasons = append(o.Reasons, fmt.Sprintf("First bring in %.0f kcal a day for %s, who must not eat less than they need.", math.Ceil(kcal/10)*10, words.List(children)))
	}
	if o.Low.WithCupboardShare > o.Low.MeanShare+0.005 {
		o.Reasons = append(o.Reasons, fmt.Sprintf("With the store cupboard the table holds %s of the energy of all.", Percent(o.Low.WithCupboardShare)))
	}
	if len(o.Helps) == 0 && o.Low.WorstShare < 1 && len(top) > 0 && len(o.Reasons) < 3 {
		o.Reasons = append(o.Reasons, "More of any one thing on hand would not help, and no empty bed can be ripe in time: what people eat of each food with comfort is the limit; the largest portions would make it "+Percent(o.CeilingShare)+".")
	} else if empty := len(o.Missed); empty > 0 && len(o.Reasons) < 3 {
		o.Reasons = append(o.Reasons, fmt.Sprintf("%s not on this table: see why below.", words.Capital(words.Spelled(empty, "planting or store is", "plantings or stores are"))))
	}
}
