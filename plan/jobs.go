package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/site"
	"tidebed/words"
)

// Job is one thing to do by hand on one day.
type Job struct {
	ID     string    `json:"id"` // stays the same while the job does, whatever its day
	Date   site.Date `json:"date"`
	Kind   string    `json:"kind"` // one of the words below
	What   string    `json:"what"`
	Where  string    `json:"where"`
	Amount string    `json:"amount"` // rounded as a person weighs and counts
	Why    string    `json:"why"`
}

// The kinds of jobs, in the order in which they are done at one place.
const (
	JobOrderFish = "order fish"
	JobOrderFeed = "order feed"
	JobOrderSeed = "order seed"
	JobNursery   = "sow in the nursery"
	JobTend      = "tend the nursery"
	JobPurge     = "stop feeding"
	JobTakeFish  = "take fish"
	JobStock     = "stock fish"
	JobCut       = "cut again and again"
	JobHarvest   = "harvest"
	JobPull      = "pull"
	JobSetOut    = "set out"
	JobSowBed    = "sow in the bed"
	JobSetBed    = "set in the bed"
	JobPutBy     = "put by"
)

var jobKinds = []string{JobOrderFish, JobOrderFeed, JobOrderSeed, JobNursery, JobTend, JobPurge, JobTakeFish, JobStock, JobCut, JobHarvest, JobPull, JobSetOut, JobSowBed, JobSetBed, JobPutBy}

// Line is the job in a few words: "Sow in the nursery: kale".
func (j Job) Line() string {
	if j.Kind == "" {
		return j.What
	}
	return words.Capital(j.Kind) + ": " + j.What
}

// Jobs are the jobs of the plan by day, from today on; those of one day stand in the
// order of a walk round the building: what is ordered, the nursery, each loop's tanks
// and beds as the site lists them, the larder. A crop cut again and again is told
// once, with its span; so is one that is being cut already, under today.
func (p *Plan) Jobs() []Job {
	b := jobBook{plan: p, walk: p.walk()}
	b.orders()
	for i := range p.Sowings {
		b.sowing(&p.Sowings[i])
	}
	b.tend()
	b.fish()
	for i := range p.PutBy {
		x := &p.PutBy[i]
		if x.Standing {
			continue
		}
		why := "for " + x.For
		if !x.UseOn.IsZero() {
			why += " on " + x.UseOn.String()
		}
		if x.KgOut > 0 {
			why += ", when about " + Weighed(x.KgOut) + " of it are left"
		}
		id := x.Sowing
		if id == "" {
			id = x.Food
		}
		b.add(b.at(x.Place), Job{ID: "put-by/" + id + "/" + x.Place + "/" + x.For, Date: x.Day, Kind: JobPutBy, What: words.Lower(x.What), Where: x.Place, Amount: Weighed(x.KgIn), Why: why})
	}
	return b.sorted()
}

// soonDays is how far ahead jobs are told first; soonLeast how many are at least.
const (
	soonDays  = 28
	soonLeast = 6
)

// Soon are the jobs of the next four weeks, six at least where there are so many, and
// how many jobs the plan has in all.
func (p *Plan) Soon() (soon []Job, all int) {
	jobs := p.Jobs()
	last := p.Today.Plus(soonDays)
	n := 0
	for n < len(jobs) && (n < soonLeast || !jobs[n].Date.After(last.Time)) {
		n++
	}
	return jobs[:n], len(jobs)
}

// Unfed are those whom the plan leaves hungry, occasion by occasion: protected eaters
// below their full need, adults below the floor of their house, what is bought
// counted in ("Pip in October week, 230 kcal a day").
func (p *Plan) Unfed() []string {
	var out []string
	for i := range p.Occasions {
		o := &p.Occasions[i]
		if o.Menu == nil {
			if o.NeedKcal > 0 {
				out = append(out, fmt.Sprintf("all in %s", o.Name))
			}
			continue
		}
		for _, e := range o.Menu.Eaters {
			if e.OutsideKcal > 1 {
				out = append(out, fmt.Sprintf("%s in %s, %.0f kcal a day", e.Name, o.Name, math.Ceil(e.OutsideKcal/10)*10))
			}
		}
	}
	return out
}

// Uses are what a sowing serves, in a few words: "October week 24 kg, household 3 kg".
func (s *Sowing) Uses() string {
	var out []string
	for _, u := range s.Serves {
		if u.Kg > 0 {
			out = append(out, u.Use+" "+Weighed(u.Kg))
		}
	}
	return strings.Join(out, ", ")
}

// UsesOn are Uses of the part of a sowing that stands on so many m² of it: each bed is
// taken to give alike. The whole of them where the area is not known.
func (s *Sowing) UsesOn(areaM2 float64) string {
	part := *s
	if share := areaM2 / s.AreaM2; share > 0 && share < 1 {
		part.Serves = slices.Clone(s.Serves)
		for i := range part.Serves {
			part.Serves[i].Kg *= share
		}
	}
	return part.Uses()
}

// InNursery reports whether a sowing that is still to be set out was sown in the nursery
// before a day, and so must stand there already.
func (s *Sowing) InNursery(today site.Date) bool {
	return !s.Standing && s.Nursed() && s.Sow.Before(today.Time)
}

// Nursed reports whether a sowing begins in the nursery.
func (s *Sowing) Nursed() bool { return s.SowDays > 0 || s.Plant.After(s.Sow.Time) }

// Beds names the beds of a sowing.
func (s *Sowing) Beds() string { return bedsOf(s) }

// jobBook gathers jobs with their place on the walk.
type jobBook struct {
	plan *Plan
	walk map[string]int
	jobs []Job
	rank []int
	seen map[string]int
}

// The places of a walk that are not in the site's lists.
const (
	rankDesk    = 0
	rankNursery = 1
	rankUnknown = 1 << 20
)

// walk numbers tanks, beds and larder places in the order in which one passes them.
func (p *Plan) walk() map[string]int {
	at := map[string]int{}
	next := rankNursery
	pass := func(name string) {
		if _, known := at[name]; !known {
			next++
			at[name] = next
		}
	}
	if p.Applied != nil {
		for i := range p.Applied.Loops {
			l := &p.Applied.Loops[i]
			for k := range l.Tanks {
				pass(l.Tanks[k].Name)
			}
			for k := range l.Beds {
				pass(l.Beds[k].Name)
			}
		}
	}
	for _, f := range p.Fish {
		pass(f.Tank)
	}
	for _, f := range p.Stockings {
		pass(f.Tank)
	}
	for _, g := range p.Groups {
		for _, b := range g.Beds {
			pass(b)
		}
	}
	if p.Applied != nil {
		for _, l := range p.Applied.Larder {
			pass(l.Name)
		}
	}
	return at
}

func (b *jobBook) at(place string) int {
	if n, ok := b.walk[place]; ok {
		return n
	}
	return rankUnknown
}

// add takes a job whose day has not passed. A second job of one ID is numbered.
func (b *jobBook) add(rank int, j Job) {
	if j.Date.IsZero() || j.Date.Before(b.plan.Today.Time) {
		return
	}
	if b.seen == nil {
		b.seen = map[string]int{}
	}
	b.seen[j.ID]++
	if n := b.seen[j.ID]; n > 1 {
		j.ID += "/" + strconv.Itoa(n)
	}
	b.jobs, b.rank = append(b.jobs, j), append(b.rank, rank)
}

func (b *jobBook) sorted() []Job {
	order := make([]int, len(b.jobs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, k int) int {
		x, y := &b.jobs[i], &b.jobs[k]
		return cmp.Or(x.Date.Compare(y.Date.Time), cmp.Compare(b.rank[i], b.rank[k]),
			cmp.Compare(slices.Index(jobKinds, x.Kind), slices.Index(jobKinds, y.Kind)), cmp.Compare(x.What, y.What), cmp.Compare(x.ID, y.ID))
	})
	out := make([]Job, len(order))
	for i, k := range order {
		out[i] = b.jobs[k]
	}
	return out
}

// orders are seed, feed and fish that must be bought. What is late is due today.
func (b *jobBook) orders() {
	p := b.plan
	for _, s := range p.SeedList() {
		why := "first needed on " + s.First.String()
		if s.Late {
			why += ", less than two weeks from now: ask for the day it comes"
		}
		b.add(rankDesk, Job{ID: "order-seed/" + s.Sowing, Date: s.OrderBy, Kind: JobOrderSeed, What: words.Lower(s.Name), Where: "desk", Amount: s.Amount(), Why: why})
	}
	for i := range p.Feeds {
		f := &p.Feeds[i]
		if f.OrderBy.IsZero() {
			continue
		}
		day, why := p.due(f.OrderBy, f.Say)
		more := ""
		if f.UsedKg > f.StockKg {
			more = Weighed(f.UsedKg-f.StockKg) + " beyond what there is, until " + p.To.String()
		}
		b.add(rankDesk, Job{ID: "order-feed/" + f.Feed, Date: day, Kind: JobOrderFeed, What: f.Feed, Where: "desk", Amount: more, Why: why})
	}
	for i := range p.Stockings {
		s := &p.Stockings[i]
		if s.Order.IsZero() || s.Day.Before(p.Today.Time) {
			continue
		}
		day, why := p.due(s.Order, "they go into "+s.Tank+" on "+s.Day.String()+"; "+stockRule)
		b.add(rankDesk, Job{ID: "order-fish/" + s.Name, Date: day, Kind: JobOrderFish, What: words.Lower(s.Title), Where: "desk", Amount: fishAmount(s.Number, s.WeightG, 0), Why: why})
	}
}

// stockRule is common practice, no source; the law differs from place to place.
const stockRule = "ask the authority first whether they may be kept and moved, and the seller for their health papers"

// due moves what should have been done before today to today, and says so.
func (p *Plan) due(d site.Date, why string) (site.Date, string) {
	if d.Before(p.Today.Time) {
		return p.Today, clauses(strings.TrimSuffix(why, "."), "due since "+d.String())
	}
	return d, why
}

// sowing are the jobs of one planting, from the nursery to the empty bed.
func (b *jobBook) sowing(s *Sowing) {
	name, where, first := words.Lower(s.Name), bedsOf(s), rankUnknown
	for _, part := range s.Parts {
		first = min(first, b.at(part.Bed))
	}
	area := b.plan.paced(s.AreaM2)
	if !s.Standing {
		in := area
		if len(s.Parts) > 1 {
			var each []string
			for _, part := range s.Parts {
				each = append(each, b.plan.paced(part.AreaM2)+" in "+part.Bed)
			}
			in += " (" + strings.Join(each, ", ") + ")"
		}
		if s.Nursed() {
			amount := places(s.Places)
			if n := s.sown(); n > 0 {
				amount = fmt.Sprintf("%d %s for %s", n, plural(s.unit(), n), places(math.Max(s.Places, s.Plants)))
			}
			b.add(rankNursery, Job{ID: "sow/" + s.ID, Date: s.Sow, Kind: JobNursery, What: name, Where: "nursery", Amount: amount,
				Why: clauses("goes into "+where+" on "+s.Plant.String(), s.note())})
			why := s.reason()
			if s.Sow.Before(b.plan.Today.Time) {
				why = clauses(why, "it must stand in the nursery since "+s.Sow.String())
			}
			b.add(first, Job{ID: "plant/" + s.ID, Date: s.Plant, Kind: JobSetOut, What: name, Where: where, Amount: jobCount(s.Plants) + " plants on " + in, Why: why})
		} else {
			kind, amount := JobSowBed, in
			if s.unit() != "seed" {
				kind = JobSetBed
			}
			if n := s.sown(); n > 0 {
				amount = fmt.Sprintf("%d %s on %s", n, plural(s.unit(), n), in)
			}
			b.add(first, Job{ID: "plant/" + s.ID, Date: s.Plant, Kind: kind, What: name, Where: where, Amount: amount, Why: clauses(s.reason(), s.note())})
		}
	}
	if s.First.IsZero() {
		return
	}
	every, cuts := s.cuts()
	clears := false
	if cuts > 1 {
		day, going := s.First, ""
		if day.Before(b.plan.Today.Time) && !s.Last.Before(b.plan.Today.Time) {
			day, going = b.plan.Today, "going on since "+s.First.String()
		}
		b.add(first, Job{ID: "harvest/" + s.ID, Date: day, Kind: JobCut, What: name, Where: where,
			Amount: fmt.Sprintf("every %d days until %s, about %s each time", every, s.Last, Weighed(s.Kg[0]/float64(cuts))), Why: clauses(going, s.reason())})
	} else {
		what := name
		clears = !s.Pulled.IsZero() && !s.Pulled.After(s.Last.Plus(1).Time)
		if s.Young {
			what += ", young"
		}
		amount := Weighed(s.Kg[0]) + " at low yields"
		if s.Kg[1] > s.Kg[0] {
			amount += ", " + Weighed(s.Kg[1]) + " in a usual year"
		}
		why := s.reason()
		if clears {
			why = clauses(why, "this clears the bed")
		}
		b.add(first, Job{ID: "harvest/" + s.ID, Date: s.First, Kind: JobHarvest, What: what, Where: where, Amount: amount, Why: why})
	}
	if !clears && !s.Pulled.IsZero() {
		why := "it is over; the bed is free for what comes next"
		if s.Early {
			why = "before it is over, because the bed is worth more with what comes next"
		}
		b.add(first, Job{ID: "pull/" + s.ID, Date: s.Pulled, Kind: JobPull, What: name, Where: where, Amount: area, Why: why})
	}
}

// tend is the nursery's daily work, told once for each run of weeks in which something
// stands there.
func (b *jobBook) tend() {
	p, weeks := b.plan, b.plan.Nursery()
	for i := 0; i < len(weeks); {
		n := i + 1
		for n < len(weeks) && weeks[n-1].From.DaysTo(weeks[n].From) == 7 {
			n++
		}
		from, to, most := weeks[i].Stands[0].From, site.Date{}, 0.0
		for _, w := range weeks[i:n] {
			most = math.Max(most, w.Places)
			for _, s := range w.Stands {
				if s.To.After(to.Time) {
					to = s.To
				}
			}
		}
		going := ""
		if from.Before(p.Today.Time) {
			from, going = p.Today, "going on since "+from.String()
		}
		b.add(rankNursery, Job{ID: "tend/" + weeks[i].Stands[0].Sowing, Date: from, Kind: JobTend, What: "water, turn, thin, look for pests", Where: "nursery",
			Amount: "each day until " + to.String() + ", up to " + places(most), Why: clauses(going, "young plants that dry out once are late for good")})
		i = n
	}
}

// fish are purge, taking and stocking.
func (b *jobBook) fish() {
	p := b.plan
	for i := range p.Fish {
		f := &p.Fish[i]
		id := f.Cohort + "/" + f.For
		amount := fishAmount(f.Number, f.WeightG, f.Kg)
		if !f.Purge.IsZero() && f.Purge.Before(f.Day.Time) {
			b.add(b.at(f.Tank), Job{ID: "purge/" + id, Date: f.Purge, Kind: JobPurge, What: words.Lower(f.Species), Where: f.Tank, Amount: amount,
				Why: "set them apart in clean water with air; no feed until they are taken on " + f.Day.String()})
		}
		why := "for " + f.For
		if !f.Purge.IsZero() {
			why += "; no feed since " + f.Purge.String()
		}
		if f.Caution != "" {
			why += ". " + f.Caution
		}
		b.add(b.at(f.Tank), Job{ID: "take/" + id, Date: f.Day, Kind: JobTakeFish, What: words.Lower(f.Species), Where: f.Tank, Amount: amount, Why: why})
	}
	for i := range p.Stockings {
		s := &p.Stockings[i]
		why := s.Why
		if s.Caution != "" {
			why = strings.TrimSuffix(why, ".") + ". " + s.Caution
		}
		b.add(b.at(s.Tank), Job{ID: "stock/" + s.Name, Date: s.Day, Kind: JobStock, What: words.Lower(s.Title), Where: s.Tank, Amount: fishAmount(s.Number, s.WeightG, 0), Why: why})
	}
}

// cuts are how often a sowing is cut and after how many days; one cut: once.
func (s *Sowing) cuts() (everyDays, n int) {
	span := s.First.DaysTo(s.Last)
	if s.Last.IsZero() || span < 1 {
		return 0, 1
	}
	const week = 7
	everyDays = week
	if c, err := crop.Lookup(s.Crop); err == nil {
		if c.HarvestKind == "once" {
			return 0, 1 // waits in the bed until its last day
		}
		if c.CutIntervalDays > 0 {
			everyDays = c.CutIntervalDays
		}
	}
	return everyDays, span/everyDays + 1
}

// note is what is to be minded while it grows.
func (s *Sowing) note() string { return strings.TrimSuffix(s.Caution, ".") }

// reason is what the sowing is for, in a clause.
func (s *Sowing) reason() string {
	if s.Why != "" {
		return words.Lower(strings.TrimSuffix(s.Why, "."))
	}
	var uses []string
	for _, u := range s.Serves {
		if u.Kg > 0 {
			uses = append(uses, u.Use+" ("+Weighed(u.Kg)+")")
		}
	}
	if len(uses) == 0 {
		return ""
	}
	return "for " + words.List(uses)
}

// bedsOf names the beds of a sowing.
func bedsOf(s *Sowing) string {
	var names []string
	for _, part := range s.Parts {
		names = append(names, part.Bed)
	}
	if len(names) == 0 {
		return s.Group
	}
	return words.List(names)
}

// unit is what is sown or set, in the singular.
func (s *Sowing) unit() string {
	word, _, _ := strings.Cut(s.Propagation, " or ")
	switch {
	case s.Seeds > 0, word == "", word == "seed":
		return "seed"
	case word == "cold-stored plant":
		return "plant"
	}
	return word
}

// seedSpare is what is sown or ordered above what is needed, for what fails;
// common practice, no source.
const seedSpare = 0.1

// sown is how many seeds, tubers or cuttings are handled at sowing, rounded up.
func (s *Sowing) sown() int {
	n := float64(s.Seeds)
	if s.Seeds == 0 {
		n = math.Ceil(s.Plants - 1e-9)
	}
	return int(jobRoundUp(n))
}

// Seed is what is to be ordered of one crop at one time.
type Seed struct {
	Crop    string    `json:"crop"`
	Name    string    `json:"name"`
	Unit    string    `json:"unit"`    // seed, tuber, slip …
	Number  int       `json:"number"`  // with a tenth to spare
	Sowings int       `json:"sowings"` // for so many
	First   site.Date `json:"first"`   // first sowing
	OrderBy site.Date `json:"orderBy"` // two weeks before, today when that is past
	Late    bool      `json:"late"`    // that is past
	Sowing  string    `json:"sowing"`  // id of the first one
	Say     string    `json:"say"`
}

// Amount is the number with its word.
func (s Seed) Amount() string { return fmt.Sprintf("%d %s", s.Number, plural(s.Unit, s.Number)) }

// seedLeadDays is how long before the first sowing seed is ordered; common practice,
// no source.
const seedLeadDays = 14

// slipKeepDays is how far apart sowings may lie of which tubers, slips, cuttings or
// plants are ordered at one time, for these do not keep; seed does. Common practice, no
// source.
const slipKeepDays = 8 * 7

// SeedList is what must be in the house to sow the plan, by the day of its order. Seed
// of a crop is ordered once; what does not keep, such as tubers, is ordered anew for
// sowings more than eight weeks after the first of an order. What lies in the house
// already is not known to it.
func (p *Plan) SeedList() []Seed {
	var out []Seed
	var need []float64
	var list []*Sowing
	for i := range p.Sowings {
		if s := &p.Sowings[i]; !s.Standing && !s.Sow.IsZero() && !s.Sow.Before(p.Today.Time) {
			list = append(list, s)
		}
	}
	slices.SortStableFunc(list, func(a, b *Sowing) int { return a.Sow.Compare(b.Sow.Time) })
	for _, s := range list {
		n := float64(s.Seeds)
		if s.Seeds == 0 {
			n = s.Plants
		}
		unit := s.unit()
		at := slices.IndexFunc(out, func(x Seed) bool {
			return x.Crop == s.Crop && x.Unit == unit && (unit == "seed" || x.First.DaysTo(s.Sow) <= slipKeepDays)
		})
		if at < 0 {
			at = len(out)
			out, need = append(out, Seed{Crop: s.Crop, Name: s.Name, Unit: unit, First: s.Sow, Sowing: s.ID}), append(need, 0)
		}
		need[at] += n
		out[at].Sowings++
	}
	for i := range out {
		x := &out[i]
		n := math.Ceil(need[i]*(1+seedSpare) - 1e-9)
		if n >= 10 {
			n = math.Ceil(n/5) * 5
		}
		x.Number = int(jobRoundUp(n))
		x.OrderBy = x.First.Plus(-seedLeadDays)
		x.Say = "order by " + x.OrderBy.String()
		if x.OrderBy.Before(p.Today.Time) {
			x.Late, x.Say = true, "order today: two weeks before its first sowing is past"
			x.OrderBy = p.Today
		}
	}
	slices.SortStableFunc(out, func(a, b Seed) int {
		return cmp.Or(a.OrderBy.Compare(b.OrderBy.Time), a.First.Compare(b.First.Time), cmp.Compare(a.Crop, b.Crop), cmp.Compare(a.Unit, b.Unit))
	})
	return out
}

// NurseryWeek is a week of the nursery.
type NurseryWeek struct {
	From      site.Date      `json:"from"`
	Places    float64        `json:"places"`    // taken on its fullest day
	PlacesMax float64        `json:"placesMax"` // 0: no limit is known
	Stands    []NurseryStand `json:"stands"`    // by the day of sowing
}

// NurseryStand is what stands in the nursery of one sowing.
type NurseryStand struct {
	Crop   string    `json:"crop"`
	Name   string    `json:"name"`
	Places float64   `json:"places"`
	From   site.Date `json:"from"` // sown
	To     site.Date `json:"to"`   // set out
	For    string    `json:"for"`  // beds
	Sowing string    `json:"sowing"`
}

// Nursery is what stands in the nursery week by week, weeks with nothing in it left
// out. Plants take their places from the day they are sown to the day before they
// are set out.
func (p *Plan) Nursery() []NurseryWeek {
	const week = 7
	var stands []NurseryStand
	var from, to site.Date
	for i := range p.Sowings {
		s := &p.Sowings[i]
		if s.Standing || s.Sow.IsZero() || !s.Plant.After(s.Sow.Time) || s.Plant.Before(p.Today.Plus(1).Time) {
			continue
		}
		n := s.Places
		if n == 0 {
			n = s.Plants
		}
		stands = append(stands, NurseryStand{s.Crop, s.Name, n, s.Sow, s.Plant, bedsOf(s), s.ID})
		if from.IsZero() || s.Sow.Before(from.Time) {
			from = s.Sow
		}
		if to.IsZero() || s.Plant.After(to.Time) {
			to = s.Plant
		}
	}
	slices.SortStableFunc(stands, func(a, b NurseryStand) int {
		return cmp.Or(a.From.Compare(b.From.Time), cmp.Compare(a.Sowing, b.Sowing))
	})
	begin, most := p.Today, 0.0
	if len(p.Weeks) > 0 {
		begin = p.Weeks[0].From
		for i := range p.Weeks {
			most = math.Max(most, p.Weeks[i].PlacesMax)
		}
	}
	var out []NurseryWeek
	if len(stands) == 0 || begin.IsZero() || p.Today.DaysTo(to) > 5*366 {
		return nil
	}
	for day := begin; day.Before(to.Time); day = day.Plus(week) {
		w := NurseryWeek{From: day, PlacesMax: most}
		for _, s := range stands {
			if s.From.Before(day.Plus(week).Time) && s.To.After(day.Time) {
				w.Stands = append(w.Stands, s)
			}
		}
		for d := range week {
			sum := 0.0
			for _, s := range w.Stands {
				if on := day.Plus(d); !s.From.After(on.Time) && s.To.After(on.Time) {
					sum += s.Places
				}
			}
			w.Places = math.Max(w.Places, sum)
		}
		if w.Places > 0 {
			out = append(out, w)
		}
	}
	return out
}

// Weighed is a mass as one weighs it out: small ones in steps of 5 g, then of 50 g,
// of 0.1 kg, of half a kilogram, of one.
func Weighed(kg float64) string {
	const grams = 1000
	switch {
	case !(kg > 0) || math.IsInf(kg, 0):
		return "nothing"
	case kg < 0.0025:
		return "under 5 g"
	case kg < 0.2:
		return trimNumber(math.Round(kg*grams/5)*5) + " g"
	case kg < 0.975:
		return trimNumber(math.Round(kg*grams/50)*50) + " g"
	case kg < 9.95:
		return trimNumber(math.Round(kg*10)/10) + " kg"
	case kg < 19.75:
		return trimNumber(math.Round(kg*2)/2) + " kg"
	}
	return trimNumber(math.Round(kg)) + " kg"
}

// Paced is an area as one paces it out.
func Paced(m2 float64) string {
	if m2 < 0.95 {
		return trimNumber(math.Round(m2*100)/100) + " m²"
	}
	return trimNumber(math.Round(m2*10)/10) + " m²"
}

// paced is Paced in the units of the site's reader.
func (p *Plan) paced(m2 float64) string {
	if p.Applied != nil && p.Applied.Units == "us-customary" {
		return strings.Replace(quantity.Format(m2, quantity.Area, quantity.USCustomary), "ft2", "ft²", 1)
	}
	return Paced(m2)
}

// jobCount is a number of plants, upwards.
func jobCount(n float64) string { return trimNumber(math.Ceil(n - 1e-9)) }

// places is a number of nursery places.
func places(n float64) string {
	if math.Ceil(n-1e-9) == 1 {
		return "1 place"
	}
	return jobCount(n) + " places"
}

// jobRoundUp rounds a count up to 5 from 20 on, to 10 from 100 on, to 50 from 1000 on.
func jobRoundUp(n float64) float64 {
	step := 1.0
	switch {
	case n >= 1000:
		step = 50
	case n >= 100:
		step = 10
	case n >= 20:
		step = 5
	}
	return math.Ceil(n/step-1e-9) * step
}

func fishAmount(n int, g, kg float64) string {
	text := fmt.Sprintf("%d fish", n)
	if g > 0 {
		text += " of about " + Weighed(math.Max(5, g)/1000)
		if n > 1 {
			text += " each"
		}
	}
	if kg > 0 {
		text += ", " + Weighed(kg) + " in all"
	}
	return text
}

func trimNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// plural is a word for n things.
func plural(word string, n int) string {
	if n == 1 || strings.HasSuffix(word, "s") {
		return word
	}
	return word + "s"
}

// clauses joins what is not empty.
func clauses(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(c string) bool { return c == "" }), "; ")
}
