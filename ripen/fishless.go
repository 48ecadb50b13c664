package ripen

import (
	"fmt"
	"math"
	"sync"

	"tidebed/science/water"
	"tidebed/site"
)

const (
	alkStartGm3   = 150.0 // as CaCO3, from the first day on [srac-4502]
	alkNitriteGm3 = 200.0 // from the first nitrite on
	alkFillGm3    = 225.0 // to which it is then brought back, the middle of 200 to 250
	nitriteStage  = 1.0   // nitrite nitrogen from which that holds, g/m³
	freeNH3NGm3   = 0.25  // un-ionised ammonia nitrogen to stay below: a quarter of the half rate
	mostParts     = 4
	dosingDay     = 0.5  // of a day lies between the first and the last part
	fullShare     = 0.95 // of the day's load that counts as all of it: balances round
	leastDose     = 0.1  // of a part, below which nothing is given
	oddChange     = 0.1  // an alkalinity below the aim by this share of it is mended
)

// Fishless plans the start-up of a loop without fish. Errors wrap
// quantity.ErrRange for what is out of range, ErrNoMedia for a loop without
// beds.
//
// Check: published spans at 20 to 28 °C with ordinary seeding, 20 to 40 days
// [lekang], 25 to 40 [fao-589].
func Fishless(l *site.Loop, s *site.Site, o Options) (*Plan, error) {
	q, err := newSetting(l, s, o)
	if err != nil {
		return nil, err
	}
	wide := 10.0
	if q.o.RipeMediaM3 > 0 {
		wide = 3
	}
	var plans [3]*Plan
	var errs [3]error
	var all sync.WaitGroup
	for i, factor := range []float64{1, wide, 1 / wide} {
		all.Go(func() { plans[i], errs[i] = q.fishless(factor) })
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("start-up of loop %s: %w", l.Name, err)
		}
	}
	p := plans[0]
	p.EarlyDay, p.LateDay = plans[1].ReadyDay, plans[2].ReadyDay
	q.tellFishless(p)
	return p, nil
}

// fishless makes one plan, with bacteria times seedFactor.
func (q *setting) fishless(seedFactor float64) (*Plan, error) {
	b, err := newBasin(q, seedFactor)
	if err != nil {
		return nil, err
	}
	p := q.plan(WithoutFish)
	if most := mostParts * (q.o.TargetTANGm3 - DoneGm3); p.LoadGm3Day > most {
		return nil, fmt.Errorf("%.3g g of feed a day bring %.3g g of nitrogen to each m³ of water: more than %.3g cannot be dosed by hand without passing the limits; set a lower goal, or start with what the water bears and let the feed rise: %w",
			q.o.GoalFeedGDay, p.LoadGm3Day, most, errTooMuch)
	}
	p.Nitrogen.StartG = b.nitrogenG()
	atNitrite, ate, passed := false, false, 0
	fullYesterday := false
	for day := 1; day <= MostDays+1; day++ {
		row := b.row(day)
		atNitrite = atNitrite || row.NO2NGm3 >= nitriteStage
		low := row.TANGm3 < DoneGm3 && row.NO2NGm3 < DoneGm3
		ate = ate || b.totals.NitratatedG > 0.3*q.o.TargetTANGm3*q.volumeM3
		if low && ate && p.BothBelowDay == 0 {
			p.BothBelowDay = day
		}
		if low && fullYesterday {
			passed++
		} else {
			passed = 0
		}
		if passed == 2 {
			p.ReadyDay = day
			row.Note = "Ready: two days running a full day's load was gone by the morning. Change water before fish come, then test."
			p.Days = append(p.Days, row)
			break
		}
		if day > MostDays {
			p.Days = append(p.Days, row)
			break
		}
		q.alkalinity(b, &row, atNitrite)
		given, err := q.doseDay(b, &row, day == 1, atNitrite)
		if err != nil {
			return nil, err
		}
		fullYesterday = given >= fullShare*q.goalNGDay
		if passed == 1 && row.Note == "" {
			row.Note = "The first full load was gone; once more to be sure."
		}
		p.Nitrogen.InG += given
		p.NH4ClG += row.NH4ClG
		p.BaseG += row.BaseG
		p.Days = append(p.Days, row)
	}
	p.close(b)
	return p, nil
}

// alkalinity adds base when it has fallen below what this stage wants.
func (q *setting) alkalinity(b *basin, row *Day, atNitrite bool) {
	least, fill := alkStartGm3*(1-oddChange), alkStartGm3
	if atNitrite {
		least, fill = alkNitriteGm3, alkFillGm3
	}
	if row.AlkGm3 >= least {
		return
	}
	g := (fill - row.AlkGm3) / water.CaCO3PerEq * q.volumeM3 / q.base.AlkEqG()
	row.BaseG = round(g)
	b.alkali(row.BaseG)
}

// doseDay gives the day's ammonium and carries the water on to the next morning.
// It returns the nitrogen given, g.
func (q *setting) doseDay(b *basin, row *Day, first, atNitrite bool) (givenNG float64, err error) {
	target, held := q.o.TargetTANGm3, ""
	if f, err := water.UnionisedFraction(q.o.TempC, b.tank().PH); err != nil {
		return 0, err
	} else if most := freeNH3NGm3 / f; atNitrite && most < target {
		target = max(most, 2*DoneGm3)
		held = fmt.Sprintf("At pH %.1f ammonia is dosed to %.1f mg/L at most, to spare the nitrite oxidisers.", row.PH, target)
	}
	load := q.goalNGDay / q.volumeM3
	parts := int(min(mostParts, math.Ceil(load/(target-DoneGm3))))
	row.Parts = max(1, parts)
	gap := 0.0
	if row.Parts > 1 {
		gap = dosingDay / float64(row.Parts-1)
	}
	for part := range row.Parts {
		tan, sum := b.most()
		room := min(target-tan, MostNGm3-sum)
		want := load / float64(row.Parts)
		if first && part == 0 {
			want = target // the first filling of new water
		}
		perGm3 := q.volumeM3 / nOfNH4Cl
		g := 0.0
		switch {
		case room < leastDose*want: // not worth the walk
		case round(want*perGm3) <= room*perGm3:
			g = round(want * perGm3)
		default:
			g = floor(room * perGm3)
		}
		if g > 0 {
			b.ammonium(g)
			row.NH4ClG += g
			givenNG += g * nOfNH4Cl
		}
		if part == 0 {
			row.TANAfter = b.tank().TANGm3
			if target-tan < want && target-tan <= MostNGm3-sum {
				row.Note = held
			}
			if g == 0 {
				switch {
				case sum >= MostNGm3-DoneGm3 && row.NO2NGm3 > tan:
					row.Note = "No ammonia today: wait for nitrite to fall."
				case row.Note == "":
					row.Note = "No ammonia today: there is enough."
				}
			}
		}
		days := gap
		if part == row.Parts-1 {
			days = 1 - gap*float64(part)
		}
		if err := b.run(days); err != nil {
			return 0, err
		}
	}
	row.AmmoniaMl = givenNG / nPerMl
	return givenNG, nil
}
