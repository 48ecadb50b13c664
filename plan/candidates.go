package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"tidebed/larder"
	"tidebed/meals"
	"tidebed/science/crop"
	"tidebed/season"
	"tidebed/site"
)

// Labour of beds: minutes. Common practice, no source.
const (
	plantMinM2    = 20.0
	careMinM2     = 3.0 // a week
	fruitMinM2    = 6.0 // a week, of fruit and climbing crops
	liftMinM2     = 8.0 // a harvest that ends the crop
	pickMinM2     = 2.0 // a cut or a pick
	harvestMinKg  = 4.0
	turnDays      = 2 // to clear, rake and plant
	bedHoursShare = 0.75
)

// What a seed, and a tuber, slip or cutting, costs, in money of the euro, the dollar
// or the pound; the site names no price for them. Common practice, no source.
const (
	seedMoney = 0.03
	slipMoney = 0.30
)

// candidate is a whole planting that could be made, by the m².
type candidate struct {
	crop    *crop.Crop
	group   int
	planted site.Date
	pulled  site.Date // the bed is free
	pull    site.Date // set when it is pulled before it is over
	young   bool
	grown   *season.PlantingCourse // of one m², low
	picks   []season.Pick          // of one m², low, that the candidate takes
	from    int                    // weeks of the bed
	to      int
	lots    []candidateLot
	fixedM2 float64 // of what stands or is in force: its area; 0: modules
	bed     string  // of what stands or is in force
	index   int     // in the opening; -1 for a new one
	kgM2    float64 // all picks
	scale   float64 // by which the season corrects its yield
}

// candidateLot is what one picking gives: kg/m² at its day, and what it may serve.
type candidateLot struct {
	day  site.Date
	kg   float64
	sets uint64 // occasions that it reaches, a bit each
	week int
}

// worker is what candidates are made with.
type worker struct {
	s          *site.Site
	today      site.Date
	start      site.Date // of the first week: whole weeks from the opening, so that a later plan has the same
	to         site.Date // last day that is foretold
	weeks      int
	sets       []site.HomeFedDays // those to come, by date
	groups     []group
	sky        *season.Sky
	holding    []site.Date
	o          Options
	wishes     map[string]site.CropWish
	orders     map[string][]site.Order // by crop
	scale      map[string]float64      // of yields, by crop and group, from the season
	late       map[string]int          // days, the same
	energyOnly bool                    // programmes without the rows of nutrients
	why        map[string]string       // of crops without a candidate
	rank       map[string]int          // how near the reason is to a candidate
}

// key names a crop in a group of beds.
func (w *worker) key(c *crop.Crop, group int) string { return c.Key + "/" + w.groups[group].Name }

// week is the week of the plan in which a day lies.
func (w *worker) week(d site.Date) int {
	n := w.start.DaysTo(d)
	if n < 0 {
		return (n - 6) / 7
	}
	return n / 7
}

// first is the first day of a week of the plan.
func (w *worker) first(week int) site.Date { return w.start.Plus(7 * week) }

// reject keeps the reason of a candidate that is not to be; the one that came
// nearest to a planting is told.
func (w *worker) reject(c *crop.Crop, rank int, format string, args ...any) {
	if old, told := w.rank[c.Key]; !told || rank > old {
		w.rank[c.Key], w.why[c.Key] = rank, fmt.Sprintf(format, args...)
	}
}

// wanted reports whether a crop is asked for each week by the household or by orders.
func (w *worker) wanted(c *crop.Crop) bool {
	return w.wishes[c.Key].KgWeek > 0 || len(w.orders[c.Key]) > 0
}

// reaches is the set of occasions that a picking reaches: it is ready, by safety days
// before, and keeps until the last of the days.
func (w *worker) reaches(day, until site.Date, keeps, safety int) (sets uint64) {
	for k, set := range w.sets {
		if !day.Plus(safety).After(set.From.Time) && !until.Plus(keeps).Before(set.To.Time) {
			sets |= 1 << k
		}
	}
	return sets
}

// shallow is how much deeper than its bed a crop's table may want its roots to go
// before it is left out: the depths of the table are comfortable ones. Common
// practice, no source.
const shallow = 1.12

// fits reports whether a crop can stand in a group of beds, and keeps why not.
func (w *worker) fits(c *crop.Crop, g *group) bool {
	rank, why := w.unfit(c, g)
	if why != "" {
		w.reject(c, rank, "%s", why)
	}
	return why == ""
}

// unfit says why a crop cannot stand in a group of beds, and how near that is to a
// planting; empty when it can.
func (w *worker) unfit(c *crop.Crop, g *group) (rank int, why string) {
	switch c.Suits(meals.BedKind(g.Kind)) {
	case crop.Yes:
	case crop.Poor:
		return 1, fmt.Sprintf("it suits a %s bed such as %s poorly", g.Kind, g.Name)
	default:
		return 0, "it suits none of the beds there are"
	}
	if g.depthM > 0 && c.RootDepthM > g.depthM*shallow && g.Kind != "raft" && g.Kind != "tower" {
		return 2, fmt.Sprintf("its roots want %.0f cm and %s has %.0f", 100*c.RootDepthM, g.Name, 100*g.depthM)
	}
	if g.tiers > 1 {
		for i := range w.s.Zones {
			if z := &w.s.Zones[i]; z.Name == g.Zone && z.HeightM > 0 && c.HeightM > z.HeightM/float64(g.tiers+1) {
				return 2, fmt.Sprintf("it grows %.1f m high and finds no room between the tiers of %s", c.HeightM, g.Name)
			}
		}
	}
	return 0, ""
}

// pinless says why nothing could be sown of what a pin wants; empty when something can.
func (w *worker) pinless(p *Pin, offered, fixed []candidate) string {
	for _, list := range [][]candidate{offered, fixed} {
		for i := range list {
			if c := &list[i]; (c.index < 0 || c.inForce(w)) && p.covers(c.crop.Key, &w.groups[c.group], c.planted) {
				return ""
			}
		}
	}
	c, err := crop.Lookup(p.Crop)
	if err != nil {
		return err.Error()
	}
	for i := range w.groups {
		g := &w.groups[i]
		if p.Group != "" && p.Group != g.Name && !slices.Contains(g.Beds, p.Group) {
			continue
		}
		switch rank, why := w.unfit(&c, g); {
		case p.Group == "" || why == "":
		case rank == 0:
			return fmt.Sprintf("it does not suit a %s bed such as %s", g.Kind, p.Group)
		default:
			return why
		}
	}
	// What could be sown of it elsewhere or on other days.
	var days []site.Date
	for i := range offered {
		if x := &offered[i]; x.crop.Key == p.Crop && (p.Group == "" || p.Group == w.groups[x.group].Name || slices.Contains(w.groups[x.group].Beds, p.Group)) {
			days = append(days, x.planted)
		}
	}
	if len(days) > 0 {
		slices.SortFunc(days, func(a, b site.Date) int { return a.Compare(b.Time) })
		return fmt.Sprintf("of what serves a table, the household or an order best it is planted from %s to %s", days[0], days[len(days)-1])
	}
	if why := w.why[p.Crop]; why != "" && !slices.ContainsFunc(offered, func(x candidate) bool { return x.crop.Key == p.Crop }) {
		return why
	}
	first := w.today.Plus(w.o.LeadDays + c.NurseryDays)
	if !p.To.IsZero() && p.To.Before(first.Time) {
		return fmt.Sprintf("seed comes in %d days and it is %d days in the nursery: %s is the first day on which it can be planted", w.o.LeadDays, c.NurseryDays, first)
	}
	return "planted then and there it reaches no table, nobody asks for it each week, or another planting of it does better"
}

// forbidden reports whether a pin forbids a planting.
func (w *worker) forbidden(c *crop.Crop, g *group, planted site.Date) bool {
	return slices.ContainsFunc(w.o.Pins, func(p Pin) bool { return p.Forbid && p.covers(c.Key, g, planted) })
}

// covers reports whether a pin is about a planting.
func (p *Pin) covers(crop string, g *group, planted site.Date) bool {
	return p.Crop == crop && (p.Group == "" || p.Group == g.Name || slices.Contains(g.Beds, p.Group)) &&
		(p.From.IsZero() || !planted.Before(p.From.Time)) && (p.To.IsZero() || !planted.After(p.To.Time))
}

// candidates grows every planting that could be made and keeps those that reach a
// table, the household or an order and that no other planting beats.
func (w *worker) candidates() ([]candidate, error) {
	type job struct {
		c *crop.Crop
		g int
	}
	var jobs []job
	table := crop.Crops()
	for i := range table {
		c := &table[i]
		if len(w.groups) == 0 {
			w.reject(c, 0, "there is no bed")
		}
		if _, _, food := meals.CropForms(c, ""); !food {
			w.reject(c, 0, "it is no food of people's: a feed crop")
			continue
		}
		if w.wishes[c.Key].Liking == "never" {
			w.reject(c, 9, "nobody wants it: the site file says never")
			continue
		}
		if _, wished := w.wishes[c.Key]; w.o.WishedOnly && !wished {
			w.reject(c, 9, "it is not among the crops that the site wishes for")
			continue
		}
		for g := range w.groups {
			if w.fits(c, &w.groups[g]) {
				jobs = append(jobs, job{c, g})
			}
		}
	}
	// Two benches, each its own: crops in turn.
	const benches = 2
	found := make([][]candidate, len(jobs))
	whys := make([]func(), len(jobs))
	var wait sync.WaitGroup
	var errs [benches]error
	for b := range benches {
		bench, err := season.NewBench(w.s, season.Options{To: w.to, Course: season.Low, Holding: w.holding, Sky: w.sky})
		if err != nil {
			return nil, err
		}
		wait.Go(func() {
			for i := b; i < len(jobs); i += benches {
				if found[i], whys[i], errs[b] = w.grow(bench, jobs[i].c, jobs[i].g); errs[b] != nil {
					return
				}
			}
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	var all []candidate
	for i := range found {
		if whys[i] != nil {
			whys[i]()
		}
		all = append(all, found[i]...)
	}
	return all, nil
}

// grow is the candidates of one crop in one group of beds.
func (w *worker) grow(bench *season.Bench, c *crop.Crop, at int) (out []candidate, why func(), err error) {
	g := &w.groups[at]
	keeps, _, _ := meals.Kept(w.s, *c)
	safety := 0
	if c.HarvestKind == crop.Once {
		safety = w.o.SafetyDays
	}
	late, scale := w.late[w.key(c, at)], cmp.Or(w.scale[w.key(c, at)], 1)
	wanted := w.wanted(c)
	last := "it is not ripe within these days"
	rank := 3
	for week := 0; week < w.weeks; week++ {
		planted := w.first(week)
		if planted.Plus(-c.NurseryDays).Before(w.today.Plus(w.o.LeadDays).Time) {
			continue
		}
		if w.forbidden(c, g, planted) {
			if rank < 8 {
				last, rank = "a pin forbids it", 8
			}
			continue
		}
		grown, err := bench.Grow(site.Planting{Crop: c.Key, Bed: g.Beds[0], AreaM2: 1, Planted: planted})
		if err != nil {
			return nil, nil, err
		}
		if grown.HarvestKg == 0 && len(grown.Young) == 0 {
			if grown.Why != "" && rank < 4 {
				last, rank = grown.Why+", planted on "+planted.Format("2 January"), 4
			}
			continue
		}
		base := candidate{crop: c, group: at, planted: planted, grown: &grown, index: -1, scale: scale}
		pulled := grown.Pulled
		if pulled.IsZero() {
			pulled = w.to.Plus(1)
		}
		if grown.HarvestKg > 0 {
			full := base
			full.pulled = pulled
			full.picks = grown.Picks
			out = w.offer(out, full, keeps, safety, late, wanted)
			if c.HarvestKind == crop.Once && len(grown.Picks) == 1 {
				// Held for the last day in reach it would miss the ones before.
				for _, set := range w.sets {
					if !grown.First.IsZero() && !set.From.Before(grown.First.Time) && set.From.Before(grown.Picks[0].Day.Time) {
						lifted := base
						lifted.pulled, lifted.pull = set.From.Plus(1), set.From
						lifted.picks = []season.Pick{{Day: set.From, Until: set.From, Kg: grown.HarvestKg}}
						out = w.offer(out, lifted, keeps, safety, late, wanted)
					}
				}
			}
			if c.HarvestKind != crop.Once {
				for _, set := range w.sets {
					if day := set.From.Plus(1); day.After(grown.First.Time) && day.Plus(13).Before(pulled.Time) {
						early := base
						early.pulled, early.pull = day, day
						n := slices.IndexFunc(grown.Picks, func(p season.Pick) bool { return !p.Day.Before(day.Time) })
						early.picks = grown.Picks
						if n >= 0 {
							early.picks = grown.Picks[:n]
						}
						out = w.offer(out, early, keeps, safety, late, wanted)
					}
				}
			}
		}
		for _, y := range grown.Young {
			young := base
			young.young, young.pulled, young.pull = true, y.Day.Plus(1), y.Day
			young.picks = []season.Pick{y}
			out = w.offer(out, young, min(keeps, youngKeepsDays), 0, 0, false)
		}
		if rank < 5 && len(out) == 0 {
			last, rank = fmt.Sprintf("what it gives keeps %d days here and reaches none of the days", keeps), 5
		}
	}
	out = w.best(out)
	if len(out) == 0 {
		return nil, func() { w.reject(c, rank, "%s", last) }, nil
	}
	return out, nil, nil
}

// youngKeepsDays is how long what is taken young keeps. Common practice, no source.
const youngKeepsDays = 14

// offer adds a candidate if any of its picks serves something.
func (w *worker) offer(list []candidate, c candidate, keeps, safety, late int, wanted bool) []candidate {
	w.serve(&c, keeps, safety, late, wanted)
	if len(c.lots) == 0 && !w.pinned(&c) {
		return list
	}
	c.from, c.to = w.week(c.planted), w.week(c.pulled.Plus(turnDays-1))
	c.to = min(c.to, w.weeks-1)
	return append(list, c)
}

// serve works out what a candidate's picks may serve, if its crop is late days later
// than its picks say.
func (w *worker) serve(c *candidate, keeps, safety, late int, wanted bool) {
	c.lots, c.kgM2 = nil, 0
	for _, p := range c.picks {
		if p.Day.Before(w.today.Time) && c.crop.HarvestKind != crop.Once {
			continue // taken to be eaten or sold
		}
		if p.Until.Plus(keeps).Before(w.today.Time) {
			continue // gone
		}
		// A crop harvested once is ripe when it says so first, and held for the table;
		// what is not held must keep long enough even if it ripens safety days early.
		ready, until := p.Day, p.Until
		once := c.crop.HarvestKind == crop.Once && !c.young
		switch {
		case once && !c.grown.First.IsZero() && c.grown.First.Before(p.Day.Time):
			ready = c.grown.First.Plus(late)
		case once:
			ready, until = ready.Plus(late), until.Plus(late-safety)
		}
		sets := w.reaches(ready, until, keeps, safety)
		for k, set := range w.sets { // it cannot be on the table before it is taken
			if p.Day.After(set.From.Time) {
				sets &^= 1 << k
			}
		}
		if sets == 0 && !wanted {
			continue
		}
		c.lots = append(c.lots, candidateLot{day: p.Day, kg: p.Kg * c.scale, sets: sets, week: w.week(p.Day)})
		c.kgM2 += p.Kg * c.scale
	}
}

// best leaves out candidates that another of the same crop and beds beats: it
// starts no earlier, ends no later and gives no less to any occasion. Crops wanted
// each week are all kept, since each serves other weeks.
func (w *worker) best(list []candidate) []candidate {
	if len(list) == 0 || w.wanted(list[0].crop) {
		return list
	}
	// What a candidate can give to each run of neighbouring sets together: one lot may
	// reach several, and is eaten once.
	n := len(w.sets)
	_, _, loss := meals.Kept(w.s, *list[0].crop)
	gives := make([][]float64, len(list))
	for i := range list {
		for a := range n {
			for b := a; b < n; b++ {
				sum := 0.0
				for _, l := range list[i].lots {
					best := 0.0
					for k := a; k <= b; k++ {
						if l.sets&(1<<k) != 0 {
							best = max(best, larder.Remaining(l.kg, loss, l.day.DaysTo(w.sets[k].From)))
						}
					}
					sum += best
				}
				gives[i] = append(gives[i], sum)
			}
		}
	}
	beats := func(a, b int) bool {
		x, y := &list[a], &list[b]
		if x.from < y.from || x.to > y.to {
			return false
		}
		strict := x.from > y.from || x.to < y.to
		for k := range gives[a] {
			if gives[a][k] < gives[b][k]*(1-1e-9) {
				return false
			}
			strict = strict || gives[a][k] > gives[b][k]*(1+1e-9)
		}
		return strict || a < b
	}
	var out []candidate
	for i := range list {
		beaten := false
		for j := range list {
			beaten = beaten || j != i && beats(j, i)
		}
		if !beaten || w.pinned(&list[i]) {
			out = append(out, list[i])
		}
	}
	return out
}

// labour is a candidate's hours by week of the plan and m².
func (c *candidate) labour(w *worker) []float64 {
	out := make([]float64, w.weeks)
	add := func(week int, hours float64) {
		if week >= 0 && week < w.weeks {
			out[week] += hours
		}
	}
	if !c.stands(w) {
		add(w.week(c.planted), plantMinM2/60)
	}
	care := careMinM2
	if c.crop.HarvestKind == crop.Continuous {
		care = fruitMinM2
	}
	for k := c.from; k <= c.to; k++ {
		add(k, care/60)
	}
	for _, p := range c.picks {
		if p.Day.Before(w.today.Time) {
			continue
		}
		m2 := pickMinM2
		if c.crop.HarvestKind == crop.Once {
			m2 = liftMinM2
		}
		add(w.week(p.Day), (m2+harvestMinKg*p.Kg)/60)
	}
	return out
}

// places is how many of the nursery's places a m² takes, and in which weeks.
func (c *candidate) places(w *worker) (perM2 float64, from, to int) {
	if c.crop.NurseryDays == 0 || c.stands(w) {
		return 0, 0, -1
	}
	return c.crop.PlantsPerM2 / crop.UsualSurvival, w.week(c.planted.Plus(-c.crop.NurseryDays)), w.week(c.planted.Plus(-1))
}

// seed is what the seed or the sets of a m² cost; nothing for what stands.
func (c *candidate) seed(w *worker) float64 {
	switch {
	case c.stands(w):
		return 0
	case c.crop.Propagation != "seed":
		return slipMoney * c.crop.PlantsPerM2
	}
	return seedMoney * c.crop.PlantsPerM2 / (crop.UsualGermination * crop.UsualSurvival)
}

// nitrogen is what a m² takes from the water each week it stands, g: evenly over its
// days, which is too much while it is small and too little in the middle.
func (c *candidate) nitrogen(w *worker) float64 {
	weeks := float64(max(1, c.planted.DaysTo(c.pulled))) / 7
	share := 1.0
	if c.grown.HarvestKg > 0 {
		share = math.Min(1, c.kgM2/c.scale/c.grown.HarvestKg)
	}
	return c.grown.NUptakeG * share / weeks
}
