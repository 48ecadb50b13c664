package ripen

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
	"tidebed/words"
)

const (
	firstShare   = 0.10 // of the full ration, on the second day; common practice, no source
	mostUnfed    = 2    // days without feed, after which water is changed to give a little; common practice, no source
	leastShare   = 0.02 // below which no feed is given
	planMargin   = 0.95 // of a limit to plan to
	changedTo    = 0.75 // of it that a change of water aims at
	leastChange  = 0.10
	twoChanges   = 1 - (1-water.MostChange)*(1-water.MostChange)
	nitriteTimes = 5.0 // nitrite behind chloride against the limit without; common practice, no source
	mostChloride = 200.0
	alkFishGm3   = 60.0 // below which base is given, to alkFishTo
	alkFishTo    = 80.0
	mealsADay    = 3
	morningHour  = 7
	blockH       = 2
	saltFormula  = "CaCl2.2H2O"
)

// kept are the limits of the fish in the loop, and how near to them a day comes.
type kept struct {
	Limits
	species []*fish.Species
	leastDO float64
}

// limits are the strictest of the fish.
func (q *setting) limits() (*kept, error) {
	k := &kept{Limits: Limits{NH3NGm3: math.Inf(1), NO2NGm3: math.Inf(1), TANGm3: math.Inf(1), Chloride: 20}}
	for i := range q.stock {
		sp := q.stock[i].fish.Species
		g, err := water.GroupOf(sp.ID)
		if err != nil {
			return nil, err
		}
		for _, l := range []struct {
			p  water.Parameter
			to *float64
		}{{water.NH3NParameter, &k.NH3NGm3}, {water.NO2NParameter, &k.NO2NGm3}, {water.TANParameter, &k.TANGm3}} {
			if limit, ok := water.LimitOf(g, l.p); ok && limit.WarnHigh.Known {
				*l.to = min(*l.to, limit.WarnHigh.Amount)
			}
		}
		if g == water.Cold {
			k.Chloride = 33
		}
		if !strings.Contains(k.Group, string(g)) {
			k.Group = strings.TrimPrefix(k.Group+", "+string(g), ", ")
		}
		k.species = append(k.species, sp)
		k.leastDO = max(k.leastDO, sp.DOMinFeedGm3)
	}
	return k, nil
}

// felt is nitrite behind chloride for the fish that feels it most.
func (k *kept) felt(no2n, cl float64) (gm3 float64) {
	for _, sp := range k.species {
		gm3 = max(gm3, sp.NitriteFeltGm3(no2n, cl))
	}
	return gm3
}

// worst is how far a day goes towards a limit: 1 at it.
func (k *kept) worst(d *Day) float64 {
	return max(d.MostNH3N/k.NH3NGm3, d.mostTAN/k.TANGm3, d.MostFelt/k.NO2NGm3, d.MostNO2N/(nitriteTimes*k.NO2NGm3))
}

// school is the fish of a run: their state goes with the days.
type school struct {
	stock []stock
	gave  []float64 // yesterday's ammonia nitrogen of each cohort, g
	unfed int       // days in a row
}

// FishIn plans the start-up of a loop with fish in it: the opening's, or FishKg.
// Errors as Fishless, and ErrNoFish for a loop without fish or in water in which
// they are not fed.
func FishIn(l *site.Loop, s *site.Site, o Options) (*Plan, error) {
	q, err := newSetting(l, s, o)
	if err != nil {
		return nil, err
	}
	if len(q.stock) == 0 {
		return nil, fmt.Errorf("start-up of loop %s with fish: %w are written down for its tanks; give a species and kilograms, or start without fish", l.Name, ErrNoFish)
	}
	feedG, _ := q.fullRation(q.o.TempC)
	if feedG <= 0 {
		return nil, fmt.Errorf("start-up of loop %s with fish: %w that eat in water of %s °C", l.Name, ErrNoFish, tenth(q.o.TempC))
	}
	k, err := q.limits()
	if err != nil {
		return nil, fmt.Errorf("start-up of loop %s with fish: %w", l.Name, err)
	}
	wide := 10.0
	if q.o.RipeMediaM3 > 0 {
		wide = 3
	}
	var plans [3]*Plan
	var errs [3]error
	var all sync.WaitGroup
	for i, factor := range []float64{1, wide, 1 / wide} {
		all.Go(func() { plans[i], errs[i] = q.fishIn(k, factor) })
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("start-up of loop %s with fish: %w", l.Name, err)
		}
	}
	p := plans[0]
	p.EarlyDay, p.LateDay = plans[1].ReadyDay, plans[2].ReadyDay
	q.tellFishIn(p, k)
	return p, nil
}

// fishIn makes one plan, with bacteria times seedFactor.
func (q *setting) fishIn(k *kept, seedFactor float64) (*Plan, error) {
	b, err := newBasin(q, seedFactor)
	if err != nil {
		return nil, err
	}
	p := q.plan(WithFish)
	p.Limits = &k.Limits
	p.GoalFeedGDay, p.GoalNGDay = q.fullRation(q.o.TempC)
	p.LoadGm3Day = p.GoalNGDay / q.volumeM3
	p.Nitrogen.StartG = b.nitrogenG()
	fed := &school{stock: append([]stock(nil), q.stock...), gave: make([]float64, len(q.stock))}
	salt, err := water.LookupChlorideSalt(saltFormula)
	if err != nil {
		return nil, err
	}
	var shares [3]float64 // of the last days
	full := 0
	for day := 1; day <= MostDays; day++ {
		row := b.row(day)
		q.fishBase(b, &row, k)
		q.salt(b, &row, k, salt)
		most := max(firstShare, (1+fish.FeedRise)*max(shares[0], shares[1], shares[2]))
		if day == 1 {
			most = 0
			row.Note = "No feed on the day they come."
		}
		if err := q.fishDay(b, fed, &row, k, min(1, most), p); err != nil {
			return nil, err
		}
		shares[day%3] = row.FeedShare
		p.BaseG += row.BaseG
		p.SaltG += row.SaltG
		p.Kept = p.Kept && k.worst(&row) <= 1
		if row.TANGm3 < DoneGm3 && row.NO2NGm3 < DoneGm3 && p.BothBelowDay == 0 && b.totals.NitratatedG > 0.5*p.GoalNGDay {
			p.BothBelowDay = day
		}
		if row.FeedShare >= 0.999 && row.Change == 0 && k.worst(&row) <= 1 {
			full++
		} else {
			full = 0
		}
		p.Days = append(p.Days, row)
		if full == 2 {
			p.ReadyDay = day
			p.Days[len(p.Days)-1].Note = "Ready: the full ration is borne for the second day without a change of water."
			break
		}
	}
	p.close(b)
	return p, nil
}

// fishBase gives a little base when alkalinity runs out, unless the pH that comes
// of it would push un-ionised ammonia past the limit: at one level of carbon
// dioxide both go with the alkalinity.
func (q *setting) fishBase(b *basin, row *Day, k *kept) {
	if row.AlkGm3 >= alkFishGm3 || row.NH3NGm3*alkFishTo/max(row.AlkGm3, 1) > k.NH3NGm3 {
		return
	}
	row.BaseG = round((alkFishTo - row.AlkGm3) / water.CaCO3PerEq * q.volumeM3 / q.base.AlkEqG())
	b.alkali(row.BaseG)
}

// salt keeps chloride ahead of nitrite.
func (q *setting) salt(b *basin, row *Day, k *kept, salt water.ChlorideSalt) {
	helps := k.felt(1, 1e4) < 1
	if !helps || row.NO2NGm3 < 0.3*k.NO2NGm3 {
		return
	}
	// Nitrite doubles in a day or two while it rises.
	want := min(mostChloride, k.Chloride*min(2*row.NO2NGm3, nitriteTimes*k.NO2NGm3))
	if b.cl >= 0.9*want {
		return
	}
	row.SaltG = round((want - b.cl) * q.volumeM3 / salt.ChlGG)
	b.cl += row.SaltG * salt.ChlGG / q.volumeM3
}

// fishDay finds the day's ration and change of water and carries the loop on.
func (q *setting) fishDay(b *basin, fed *school, row *Day, k *kept, most float64, p *Plan) error {
	morning := b.keep()
	note := row.Note
	try := func(share, change float64) error {
		b.restore(&morning)
		row.Note = note
		return q.live(b, fed, row, k, share, change, false)
	}
	share, change := 0.0, 0.0
	if most > 0 {
		if err := try(most, 0); err != nil {
			return err
		}
	}
	fullWorst := k.worst(row)
	if most > 0 && fullWorst <= planMargin {
		share = most
	} else {
		if err := try(0, 0); err != nil {
			return err
		}
		unfed := k.worst(row)
		switch {
		case unfed > planMargin:
			change = min(twoChanges, max(leastChange, 1-changedTo/unfed))
			if err := try(0, change); err != nil {
				return err
			}
			if k.worst(row) > planMargin && change < twoChanges {
				change = twoChanges
			}
		case most > 0:
			for share = most * 0.95 * (planMargin - unfed) / (fullWorst - unfed); share >= leastShare; share /= 2 {
				if err := try(share, 0); err != nil {
					return err
				}
				if k.worst(row) <= planMargin {
					break
				}
			}
			if share < leastShare {
				share = 0
			}
		}
	}
	if share == 0 && fed.unfed >= mostUnfed && most > 0 {
		// Hungry long enough: change more water for a little feed.
		for _, c := range []float64{water.MostChange, twoChanges} {
			if c < change {
				continue
			}
			if err := try(firstShare, c); err != nil {
				return err
			}
			if k.worst(row) <= planMargin {
				share, change = firstShare, c
				break
			}
		}
	}
	fed.unfed++
	if share > 0 {
		fed.unfed = 0
	}
	b.restore(&morning)
	row.Note = note
	outNG := 0.0
	before := b.nitrogenG()
	if err := q.live(b, fed, row, k, share, change, true); err != nil {
		return err
	}
	if change > 0 {
		outNG = change * (before - q.source.NitrateNGm3*q.volumeM3)
	}
	p.Nitrogen.ChangedG += outNG
	p.Nitrogen.InG += row.gaveNG
	p.ChangedM3 += change * q.volumeM3
	if row.Note == "" {
		switch {
		case change > water.MostChange:
			row.Note = "Two changes of water, six hours apart."
		case change > 0:
			row.Note = "Change water in the morning, then test."
		case share == 0:
			row.Note = "No feed: the water is too near a limit."
		}
	}
	return nil
}

// live is a day of the fish at a share of their ration after a change of water.
// For good the fish grow by it too.
func (q *setting) live(b *basin, fed *school, row *Day, k *kept, share, change float64, good bool) error {
	if change > 0 {
		b.change(change)
	}
	meals := mealsADay
	if share == 0 {
		meals = 0
	}
	rhythm := fish.NewRhythm(meals)
	var tan, oxygen [12]float64 // by cell
	row.FeedG, row.gaveNG = 0, 0
	for i := range fed.stock {
		one := fed.stock[i].fish
		d := one.Step(q.o.TempC, fed.stock[i].feed, share)
		// What was eaten yesterday is still being given off.
		gave := max(d.TANG, fed.gave[i]*fish.FastingShare(24))
		tan[fed.stock[i].cell] += gave
		oxygen[fed.stock[i].cell] += d.OxygenG
		row.FeedG += d.FeedG
		row.gaveNG += gave
		if good {
			fed.stock[i].fish = one
			fed.gave[i] = gave
		}
	}
	row.FeedShare, row.Change = share, change
	row.MostNH3N, row.mostTAN, row.MostNO2N, row.MostFelt, row.leastDO = 0, 0, 0, 0, math.Inf(1)
	see := func(r *Day, nh3n, tanGm3, no2n float64) {
		r.MostNH3N, r.mostTAN, r.MostNO2N = max(r.MostNH3N, nh3n), max(r.mostTAN, tanGm3), max(r.MostNO2N, no2n)
		r.MostFelt = max(r.MostFelt, k.felt(no2n, b.cl))
	}
	for hour := 0; hour < 24; hour += blockH {
		ammonia, breath := 0.0, 0.0
		for h := hour; h < hour+blockH; h++ {
			ammonia += rhythm.Ammonia[(morningHour+h)%24] * 24 / blockH
			breath += (rhythm.Digesting[(morningHour+h)%24]*12 + 0.5) / blockH
		}
		for i := range b.f.Cells {
			b.f.Cells[i].TANGDay, b.f.Cells[i].BreathGDay = tan[i]*ammonia, oxygen[i]*breath
		}
		if hour == 0 {
			if err := b.begin(); err != nil {
				return err
			}
		} else if err := b.w.Force(b.f); err != nil {
			return err
		}
		if _, err := b.w.Advance(float64(hour+blockH) / 24); err != nil {
			return fmt.Errorf("start-up: %w", err)
		}
		for _, i := range b.tanks {
			r := b.w.Read(i)
			see(row, r.NH3NGm3, r.TANGm3, r.NO2NGm3)
			row.leastDO = min(row.leastDO, r.DOGm3)
		}
	}
	b.end()
	return nil
}

// tellFishIn writes the plan's sentences.
func (q *setting) tellFishIn(p *Plan, k *kept) {
	say := func(format string, args ...any) { p.Why = append(p.Why, fmt.Sprintf(format, args...)) }
	kg, changes, fedG := 0.0, 0, 0.0
	for i := range q.stock {
		kg += q.stock[i].fish.BiomassG() / 1000
	}
	worst, lowDO := 0.0, math.Inf(1)
	for i := range p.Days {
		d := &p.Days[i]
		if d.Change > 0 {
			changes++
		}
		fedG += d.FeedG
		worst = max(worst, k.worst(d))
		lowDO = min(lowDO, d.leastDO)
	}
	say("%.1f kg of fish in %.3g m³; their full ration is %s a day, %s g of ammonia nitrogen.", kg, p.VolumeM3, feedWords(p.GoalFeedGDay), tenth(p.GoalNGDay))
	say("Limits of the group %s: un-ionised ammonia nitrogen %.3g mg/L, ammonia nitrogen %.2g mg/L, nitrite nitrogen %.2g mg/L as felt behind chloride; %.0f g of chloride for each g of nitrite nitrogen.", k.Group, k.NH3NGm3, k.TANGm3, k.NO2NGm3, k.Chloride)
	full := p.GoalFeedGDay * float64(len(p.Days))
	say("They are hungry: %s without feed after the first, and %.0f %% of the full ration over all; %s of water, %.3g m³ in all. Unfed fish still give off ammonia: a tenth to a third of that of fed ones, from their own flesh.",
		words.Count(p.HungryDays(), "day", "days"), 100*fedG/full, words.Count(changes, "change", "changes"), p.ChangedM3)
	if p.ReadyDay == 0 {
		say("The full ration is not borne within %s.", words.Count(MostDays, "day", "days"))
	} else {
		late := "not within " + words.Count(MostDays, "day", "days")
		if p.LateDay > 0 {
			late = fmt.Sprintf("on day %d", p.LateDay)
		}
		wide := "ten times the bacteria to begin with it is day %d, with a tenth %s"
		if p.RipeMediaM3 > 0 {
			wide = "three times the bacteria to begin with it is day %d, with a third %s"
		}
		say("With %s; with "+wide+".", q.seedWhy, p.EarlyDay, late)
	}
	if !p.Kept {
		p.Warnings = append(p.Warnings, fmt.Sprintf("The limits are passed %.1f times over even unfed and with the water changed: start without fish, or with about %.1f kg.", worst, 0.8*kg/worst))
	}
	if h := p.HungryDays(); h >= manyHungry {
		p.Warnings = append(p.Warnings, fmt.Sprintf("%d days without feed are no way to keep fish: this plan shows what would have to be done, not what should be. Start without fish, or with so few that they can be fed.", h))
	}
	if lowDO < k.leastDO {
		p.Warnings = append(p.Warnings, fmt.Sprintf("Oxygen falls to %.1f mg/L, below the %.1f at which they may be fed: more air first.", lowDO, k.leastDO))
	}
	if changes > 0 && q.source.Chloramine {
		p.Warnings = append(p.Warnings, "Each change brings chloramine: no more than a tenth of the water a day unless it is bound with thiosulfate.")
	}
	p.Cautions = []string{cautionWelfare, cautionFish, cautionStop, cautionChange, cautionMeasure}
	if p.SaltG > 0 {
		p.Cautions = append(p.Cautions, cautionSalt)
	}
	p.Simplified = append([]string{
		"Water for changes is as warm as the tank, aired and free of chlorine.",
		"Rations and changes are found a day ahead by this model; without a test each morning they are worth nothing.",
	}, simplifiedBoth...)
	p.Sources = append([]string{
		"[water-limits-table] limits by group, each row with its own source (FAO 589, table 3.1, and others)",
		"[srac-462] chloride against nitrite: 10 to 1 on the ion; [tomasso-1986] which fish gain",
		"Feed may rise by a tenth a day, first feed a tenth, hunger's ammonia: common practice, no source",
	}, sourcesBoth...)
}
