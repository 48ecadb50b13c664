package season

import (
	"fmt"
	"math"

	"tidebed/science/fish"
	"tidebed/site"
	"tidebed/words"
)

// cohort is one cohort on its way.
type cohort struct {
	in    site.Cohort
	index int
	fish  fish.Cohort
	feed  fish.FeedKind
	tank  *site.Tank
	loop  int
	out   CohortCourse
	taken float64 // kg
	dead  float64 // kg
	gain  float64 // kg
	start float64 // kg
	added float64 // kg that came into the tank later
	// waiting are fish that are still to come.
	waiting float64
	peakG   float64   // heaviest so far
	held    site.Date // since when held at the last weight that is foretold
	dies    site.Date // since when starved

	rhythm  fish.Rhythm
	meals   int
	hazard  float64 // deaths per fish that the water of today brings
	hazards float64 // of the run
	worst   float64 // of an hour, and what it came from
	cause   string
	struck  site.Date // first day with losses by the water
	diedOut site.Date // day on which the water killed the last
	daysFed int       // since a day without feed
	unfed   int       // days on which the water allowed no feed
	cutDays int       // days on which the water cut the ration
}

// feltShare is the share of a cohort that dies of the water in a run from which
// on it is told. Common practice, no source.
const feltShare = 0.005

// starvedShare is the share of its greatest weight below which a fish is taken
// to be dead of hunger. Common practice, no source.
const starvedShare = 0.5

// defaultPhosphorus and defaultFeedJG stand in where a feed names none:
// common practice, no source.
const (
	defaultPhosphorus = 0.011
	defaultFeedJG     = 18500.0
)

func newCohort(r *run, c site.Cohort, index, days int) (cohort, error) {
	sp, err := fish.Lookup(c.Species)
	if err != nil {
		return cohort{}, err
	}
	co := cohort{in: c, index: index}
	for i := range r.s.Loops {
		for j := range r.s.Loops[i].Tanks {
			if t := &r.s.Loops[i].Tanks[j]; t.Name == c.Tank {
				co.tank, co.loop = t, i
			}
		}
	}
	if co.tank == nil {
		return cohort{}, fmt.Errorf("%s: tank %q is not in the building", c.Name, c.Tank)
	}
	performance := 1.0
	switch r.o.Course {
	case Low:
		performance = sp.GrowthFactorLow
	case High:
		performance = sp.GrowthFactorHigh
	}
	if co.fish, err = fish.NewCohort(&sp, float64(c.Count), c.WeightKg*1000, performance); err != nil {
		return cohort{}, fmt.Errorf("%s: %w", c.Name, err)
	}
	co.feed = fish.FeedKind{ProteinShare: sp.ProteinGrowoutShare, PhosphorusShare: defaultPhosphorus, EnergyJG: defaultFeedJG}
	co.out = CohortCourse{Name: c.Name, Species: sp.ID, Title: sp.Name, Tank: c.Tank, TempC: co.tank.WaterC,
		FeedLowC: sp.FeedStopLowC, FeedHighC: sp.FeedStopHighC, Caution: sp.PermitCaution}
	if sp.Group != "crustacean" {
		co.out.DensityMaxKgM3 = sp.DensityMaxKgM3
	}
	for _, f := range r.s.Feeds {
		if f.Name != c.Feed {
			continue
		}
		co.out.FeedName = f.Name
		co.feed.ProteinShare = f.Protein
		if f.Phosphorus > 0 {
			co.feed.PhosphorusShare = f.Phosphorus
		}
		if f.EnergyJKg > 0 {
			co.feed.EnergyJG = f.EnergyJKg / 1000
		}
	}
	if co.tank.WaterC == 0 {
		co.out.Warnings = append(co.out.Warnings, fmt.Sprintf("tank %s has no water temperature to be held at: it takes that of the hall and of what runs in", co.tank.Name))
	}
	co.daysFed, co.rhythm = 3, fish.NewRhythm(0)
	co.out.Days = make([]FishDay, 0, days)
	if kg := co.fish.Number * co.fish.WeightG / 1000; c.Stocked.After(r.s.Opening.Date.Time) {
		co.waiting, co.fish.Number = co.fish.Number, 0
	} else {
		co.start = kg
	}
	return co, nil
}

func (c *cohort) day(r *run, d int, date site.Date) {
	l := &r.loops[c.loop]
	if c.waiting > 0 && !date.Before(c.in.Stocked.Time) {
		c.fish.Number, c.waiting = c.waiting, 0
		c.fish.WeightG = c.in.WeightKg * 1000
		c.added = c.fish.Number * c.fish.WeightG / 1000
	}
	for _, t := range r.o.Takes {
		if t.Cohort == c.index && t.Day == date {
			n := math.Min(t.Number, c.fish.Number)
			if t.Number > c.fish.Number*(1+1e-6)+1e-6 && !r.o.TakesUpTo {
				r.err = fmt.Errorf("%s: %g fish are to be taken on %s, and %g are there", c.in.Name, t.Number, date, c.fish.Number)
			}
			c.fish.Number -= n
			kg := n * c.fish.WeightG / 1000
			c.taken += kg
		}
	}
	var takenToday float64
	for _, t := range r.o.Takes {
		if t.Cohort == c.index && t.Day == date {
			takenToday += t.Number
		}
	}
	var day fish.CohortDay
	if tempC := l.tankC(r, c.tank); tempC != 0 || l.w != nil {
		day = c.feedAndGrow(l, tempC)
	}
	c.peakG = math.Max(c.peakG, c.fish.WeightG)
	if c.fish.WeightG < starvedShare*c.peakG && c.fish.Number > 0 {
		// What is left of them dies; their flesh leaves the tank with the dead.
		day.DeadN += c.fish.Number
		day.DeadG += c.fish.BiomassG()
		c.fish.Number = 0
		c.dies = date
	}
	if ceiling := c.fish.Species.CeilingG(); c.held.IsZero() && c.fish.WeightG >= ceiling-1e-6 && c.fish.Number > 0 {
		c.held = date
	}
	c.gain += day.GainG / 1000
	c.dead += day.DeadG / 1000
	c.out.FeedG += day.FeedG
	l.feedG += day.FeedG
	l.proteinG += day.FeedG * c.feed.ProteinShare
	for i := range r.feeds {
		if f := &r.feeds[i]; f.Name == c.in.Feed {
			kg := day.FeedG / 1000
			if f.UsedKg += kg; f.UsedKg > f.StockKg && f.RunsOut.IsZero() && kg > 0 {
				f.RunsOut = date
			}
		}
	}
	l.fed(c, day)
	table := c.fish.Species.MarketWeightLowG
	if c.out.TableOn.IsZero() && table.Known && c.fish.WeightG >= table.Amount {
		c.out.TableOn = date
	}
	share, perGain := 0.0, 0.0
	if mass := c.fish.BiomassG(); mass > 0 {
		share = day.FeedG / mass
	}
	if day.GainG > 0 {
		perGain = day.FeedG / day.GainG
	}
	c.out.Days = append(c.out.Days, FishDay{FeedShare: share, FeedPerGain: perGain, Day: date, Number: c.fish.Number, WeightG: c.fish.WeightG, FeedG: day.FeedG, Lost: day.DeadN, Taken: takenToday, GainG: day.GainG})
}

// feedAndGrow steps the fish through a day on the ration that the water of the
// day before allows.
func (c *cohort) feedAndGrow(l *loop, tempC float64) fish.CohortDay {
	share := 1.0
	if l.w != nil {
		share = l.feedShare(c.fish.Species, l.circuit.CellOf[c.tank.Name], tempC, c.daysFed)
	}
	switch {
	case share < 0.02:
		share = 0
		c.daysFed, c.unfed = 0, c.unfed+1
	case share < 0.98:
		c.cutDays++
	}
	c.daysFed++
	if _, meals := c.fish.Species.RationShareDay(c.fish.WeightG, tempC); meals > 0 && meals != c.meals {
		c.meals, c.rhythm = meals, fish.NewRhythm(meals)
	}
	return c.fish.Step(tempC, c.feed, share)
}

// evening takes out the fish that the water of the day has killed. What is left
// of less than half a fish counts as dead, too.
func (c *cohort) evening(l *loop, d int, date site.Date) {
	if c.fish.Number <= 0 {
		return
	}
	share := 1 - math.Exp(-c.hazard)
	c.hazards += c.hazard
	if c.struck.IsZero() && 1-math.Exp(-c.hazards) > feltShare {
		c.struck = date
	}
	c.hazard = 0
	dead := c.fish.Number * share
	if c.fish.Number-dead < 0.5 && share > 0 {
		dead, share = c.fish.Number, 1
		c.diedOut = date
	}
	c.fish.Number -= dead
	c.dead += dead * c.fish.WeightG / 1000
	day := &c.out.Days[d]
	day.Lost += dead
	day.Number = c.fish.Number
	if l.w != nil {
		days := l.course.Cells[l.circuit.CellOf[c.tank.Name]].Days
		days[len(days)-1].LostShare = math.Max(days[len(days)-1].LostShare, share)
	}
}

// density writes the density of each tank beside its cohorts.
func (r *run) density(d int) {
	for i := range r.cohorts {
		var kg float64
		for j := range r.cohorts {
			if r.cohorts[j].tank == r.cohorts[i].tank {
				kg += r.cohorts[j].fish.Number * r.cohorts[j].fish.WeightG / 1000
			}
		}
		r.cohorts[i].out.Days[d].DensityKgM3 = kg / r.cohorts[i].tank.VolumeM3
	}
}

func (c *cohort) finish(r *run) CohortCourse {
	o := c.out
	var crowded FishDay
	for i, day := range o.Days {
		if i%7 == 0 || i == len(o.Days)-1 {
			o.Weeks = append(o.Weeks, day)
		}
		if crowded.Day.IsZero() && c.fish.Species.DensityMaxKgM3 > 0 && day.DensityKgM3 > c.fish.Species.DensityMaxKgM3 {
			crowded = day
		}
	}
	sp := c.fish.Species
	if t := c.tank.WaterC; t != 0 && (t < sp.FeedStopLowC || t > sp.FeedStopHighC) {
		o.Warnings = append(o.Warnings, fmt.Sprintf("in water of %g °C %s does not feed and loses weight: it feeds between %g and %g °C", t, sp.Name, sp.FeedStopLowC, sp.FeedStopHighC))
	}
	if !c.diedOut.IsZero() {
		o.Warnings = append(o.Warnings, fmt.Sprintf("the water has killed all of them by %s, most by %s", c.diedOut, c.cause))
	} else if !c.struck.IsZero() {
		o.Warnings = append(o.Warnings, fmt.Sprintf("by %s the water has killed some: %.0f %% of them by %s, most by %s", c.struck, math.Ceil(100*(1-math.Exp(-c.hazards))), r.o.To, c.cause))
	}
	if c.unfed+c.cutDays >= leastDays {
		o.Warnings = append(o.Warnings, unfedWords(c.unfed, c.cutDays)+": see Water")
	}
	if !c.dies.IsZero() {
		o.Warnings = append(o.Warnings, fmt.Sprintf("starved to death by %s", c.dies))
	}
	if !c.held.IsZero() {
		o.Warnings = append(o.Warnings, fmt.Sprintf("from %s growth past %.0f g is not foretold: weigh them; feed, density and nitrogen after that are at least what stands here", c.held, sp.CeilingG()))
	}
	if !crowded.Day.IsZero() {
		r.out.Warnings = append(r.out.Warnings, fmt.Sprintf("tank %s: from %s %.0f kg/m³ or more, and %s bears %.0f with strong air: take fish or move some", o.Tank, crowded.Day, crowded.DensityKgM3, sp.Name, sp.DensityMaxKgM3))
		o.Warnings = append(o.Warnings, fmt.Sprintf("from %s tank %s holds more than the %.0f kg/m³ that %s bears with strong air: take fish or move some",
			crowded.Day, o.Tank, c.fish.Species.DensityMaxKgM3, c.fish.Species.Name))
	}
	return o
}

// unfedWords says on how many days the water allows no feed, and on how many less than
// the full ration.
func unfedWords(none, less int) string {
	days := func(n int) string { return words.Count(n, "day", "days") }
	switch {
	case less == 0:
		return "the water allows no feed on " + days(none)
	case none == 0:
		return "the water allows less than the full ration on " + days(less)
	}
	return fmt.Sprintf("the water allows no feed on %s and less than the full ration on %d", days(none), less)
}
