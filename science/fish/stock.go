package fish

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// TGC returns the thermal-unit growth coefficient times 1000 (weights in g) of
// fish that grew from fromG to toG over degreeDays, the sum of the daily water
// temperatures in °C. Credible from 0.3 to 3.
//
// Errors wrap quantity.ErrRange: weights outside 0.001 to 20 000 g, toG below
// fromG, degree-days not above 0.
//
// Source: Iwama & Tautz 1981, as in Jobling 2003. Check: Arctic char 18 to
// 135 g in 182 days at 10 °C 1.379.
func TGC(fromG, toG, degreeDays float64) (tgc float64, err error) {
	err = quantity.InRange("weight at the start", fromG, 0.001, 20000, "g")
	if err == nil {
		err = quantity.InRange("weight at the end", toG, fromG, 20000, "g")
	}
	if err == nil {
		err = quantity.InRange("degree-days", degreeDays, 0.1, 1e6, "°C d")
	}
	if err != nil {
		return 0, fmt.Errorf("thermal growth coefficient: %w", err)
	}
	return 1000 * (math.Cbrt(toG) - math.Cbrt(fromG)) / degreeDays, nil
}

// TGCWeightG returns the weight in g of a fish of weightG after degreeDays at a
// thermal-unit growth coefficient tgc (times 1000, weights in g; 0.05 to 10). A
// cross-check of GrownWeightG: use it from 4 °C to the best temperature, never
// above, where it keeps rising while fish stop eating.
//
// Errors wrap quantity.ErrRange, also when the fish would pass 20 kg.
//
// Source: Iwama & Tautz 1981, as in Jobling 2003. Check: trout of 10 g, tgc 1.8,
// 90 days at 12 °C 68.8 g.
func TGCWeightG(weightG, tgc, degreeDays float64) (grownG float64, err error) {
	err = quantity.InRange("live weight", weightG, 0.001, 20000, "g")
	if err == nil {
		err = quantity.InRange("growth coefficient", tgc, 0.05, 10, "")
	}
	if err == nil {
		err = quantity.InRange("degree-days", degreeDays, 0, 1e6, "°C d")
	}
	if err == nil {
		root := math.Cbrt(weightG) + tgc/1000*degreeDays
		grownG = root * root * root
		if degreeDays == 0 {
			grownG = weightG
		}
		err = quantity.InRange("weight reached", grownG, 0, max(20000, weightG), "g")
	}
	if err != nil {
		return 0, fmt.Errorf("growth by the thermal coefficient: %w", err)
	}
	return grownG, nil
}

// SGRPercentDay returns the specific growth rate, percent a day, between two
// weights days apart. It falls with size: never extrapolate it.
//
// Errors wrap quantity.ErrRange.
//
// Check: 2.07 to 69.27 g in 70 days 5.01.
func SGRPercentDay(fromG, toG, days float64) (percentDay float64, err error) {
	for _, w := range []float64{fromG, toG} {
		if err := quantity.InRange("live weight", w, 0.001, 20000, "g"); err != nil {
			return 0, fmt.Errorf("specific growth rate: %w", err)
		}
	}
	if err := quantity.InRange("days", days, 0.01, 3650, "d"); err != nil {
		return 0, fmt.Errorf("specific growth rate: %w", err)
	}
	return 100 * math.Log(toG/fromG) / days, nil
}

// HaskellRationShareDay returns the hatchery ration as a share of live weight a
// day from a feed conversion (0.1 to 10), the growth in length a day and the
// length, both in mm.
//
// Errors wrap quantity.ErrRange, also for a ration above 0.25.
//
// Source: Piper et al. 1982, from memory. Check: 1.2, 0.6 mm/d, 150 mm: 0.0144.
func HaskellRationShareDay(fcr, growthMMDay, lengthMM float64) (share float64, err error) {
	err = quantity.InRange("feed conversion", fcr, 0.1, 10, "")
	if err == nil {
		err = quantity.InRange("length", lengthMM, 5, 2000, "mm")
	}
	if err == nil {
		err = quantity.InRange("growth in length", growthMMDay, 0, 20, "mm/d")
	}
	if err == nil {
		share = 3 * fcr * growthMMDay / lengthMM
		err = quantity.InRange("ration", share, 0, 0.25, "")
	}
	if err != nil {
		return 0, fmt.Errorf("hatchery ration: %w", err)
	}
	return share, nil
}

// Survival returns the share alive after days at mortalityPerDay (0 to 1).
//
// Errors wrap quantity.ErrRange.
func Survival(mortalityPerDay, days float64) (share float64, err error) {
	err = quantity.InRange("mortality", mortalityPerDay, 0, 1, "1/d")
	if err == nil {
		err = quantity.InRange("days", days, 0, 1e5, "d")
	}
	if err != nil {
		return 0, fmt.Errorf("survival: %w", err)
	}
	return math.Exp(-mortalityPerDay * days), nil
}

// MortalityPerDay returns the daily mortality that leaves a share of the stock
// after days.
//
// Errors wrap quantity.ErrRange: a share not above 0 or above 1.
//
// Check: 98.3 percent after 168 days 1.02e-4.
func MortalityPerDay(survivalShare, days float64) (perDay float64, err error) {
	err = quantity.InRange("survival", survivalShare, 1e-9, 1, "")
	if err == nil {
		err = quantity.InRange("days", days, 0.01, 1e5, "d")
	}
	if err != nil {
		return 0, fmt.Errorf("mortality: %w", err)
	}
	return max(0, -math.Log(survivalShare)/days), nil
}

// HarvestDensityKgM3 returns the live fish at harvest in kg per m³ of tank from
// the fish stocked per m³, the share that lives and the weight of one.
//
// Errors wrap quantity.ErrRange.
//
// Check: 77 per m³, 98.3 percent, 813.8 g: 61.6; published 61.5, Rakocy et al.
func HarvestDensityKgM3(stockedPerM3, survivalShare, harvestG float64) (kgM3 float64, err error) {
	err = quantity.InRange("fish stocked", stockedPerM3, 0, 1e6, "1/m³")
	if err == nil {
		err = quantity.InRange("survival", survivalShare, 0, 1, "")
	}
	if err == nil {
		err = quantity.InRange("live weight", harvestG, 0.001, 20000, "g")
	}
	if err != nil {
		return 0, fmt.Errorf("density at harvest: %w", err)
	}
	return stockedPerM3 * survivalShare * harvestG / 1000, nil
}

// YearHarvestKg returns the live fish of a year in kg when a tank of volumeM3
// at densityKgM3 is emptied every days.
//
// Errors wrap quantity.ErrRange.
//
// Check: 61.5 kg/m³, 7.8 m³, every 42 days 4169 kg; published 4.16 t, Rakocy et
// al.
func YearHarvestKg(densityKgM3, volumeM3, days float64) (kg float64, err error) {
	err = quantity.InRange("density", densityKgM3, 0, 1000, "kg/m³")
	if err == nil {
		err = quantity.InRange("water", volumeM3, 0, 1e5, "m³")
	}
	if err == nil {
		err = quantity.InRange("days between harvests", days, 1, 3650, "d")
	}
	if err != nil {
		return 0, fmt.Errorf("harvest of a year: %w", err)
	}
	return densityKgM3 * volumeM3 * 365 / days, nil
}

// CohortsAtOnce returns how many cohorts are in the water at once when fish
// that take growDays are harvested every days.
//
// Errors wrap quantity.ErrRange.
//
// Check: 168 days, every 42: 4, as UVI kept them (Rakocy et al.).
func CohortsAtOnce(growDays, days float64) (n int, err error) {
	err = quantity.InRange("days to grow", growDays, 0.1, 36500, "d")
	if err == nil {
		err = quantity.InRange("days between harvests", days, 1, 3650, "d")
	}
	if err != nil {
		return 0, fmt.Errorf("cohorts: %w", err)
	}
	return int(math.Ceil(growDays/days - 1e-9)), nil
}

// Staggering is a wish for fish at even times.
type Staggering struct {
	HarvestKg       float64 // live, of one harvest
	EveryDays       float64 // from harvest to harvest
	HarvestG        float64 // live weight of one fish then
	StockG          float64 // of one fish at stocking
	TempC           float64 // water, steady
	Performance     float64 // this stock against the model
	MortalityPerDay float64
	FCR             float64 // feed over gain, over the whole time
}

// StaggerPlan is the answer to Staggering.
type StaggerPlan struct {
	GrowDays     float64
	Cohorts      int     // in the water at once, the purge tub apart
	HarvestFish  float64 // fish of one harvest, may have a fraction
	StockFish    int     // fish to stock for each cohort
	BeforeKg     float64 // live fish in the water just before a harvest
	AfterKg      float64 // and just after harvest and stocking
	FeedKgDay    float64 // mean
	LastWaitDays float64 // that the oldest fish wait for their harvest
}

// Plan works out the cohorts of a Staggering. Weights stop at HarvestG.
//
// Errors wrap quantity.ErrRange, also those of GrowthDays.
//
// Check: 10 kg of tilapia of 500 g every 28 days from 50 g at 27 °C, mortality
// 3e-4, conversion 1.5: 7 cohorts, 22 fish each, 42.0 kg before, 32.7 after,
// 0.477 kg feed a day.
func (w Staggering) Plan(s *Species) (p StaggerPlan, err error) {
	fail := func(err error) (StaggerPlan, error) {
		return StaggerPlan{}, fmt.Errorf("staggered cohorts of %s: %w", s.ID, err)
	}
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"harvest", w.HarvestKg, 0.001, 1e6, "kg"}, {"days between harvests", w.EveryDays, 1, 3650, "d"},
		{"mortality", w.MortalityPerDay, 0, 0.1, "1/d"}, {"feed conversion", w.FCR, 0.3, 10, ""},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return fail(err)
		}
	}
	if w.HarvestG <= w.StockG {
		return fail(fmt.Errorf("weight at harvest %g g: must be above that at stocking, %g g: %w", w.HarvestG, w.StockG, quantity.ErrRange))
	}
	if p.GrowDays, err = GrowthDays(*s, w.StockG, w.HarvestG, w.TempC, w.Performance); err != nil {
		return fail(err)
	}
	if p.Cohorts, err = CohortsAtOnce(p.GrowDays, w.EveryDays); err != nil {
		return fail(err)
	}
	p.HarvestFish = w.HarvestKg * 1000 / w.HarvestG
	stock := math.Ceil(p.HarvestFish*math.Exp(w.MortalityPerDay*p.GrowDays) - 1e-9)
	if err := quantity.InRange("fish to stock", stock, 1, 1e7, ""); err != nil {
		return fail(err)
	}
	p.StockFish = int(stock)
	for i := range p.Cohorts + 1 {
		days := float64(i) * w.EveryDays
		grown, err := GrownWeightG(*s, w.StockG, w.TempC, min(days, 3650), w.Performance)
		if err != nil {
			return fail(err)
		}
		kg := stock * math.Exp(-w.MortalityPerDay*days) * min(w.HarvestG, grown) / 1000
		if i > 0 {
			p.BeforeKg += kg
		}
		if i < p.Cohorts {
			p.AfterKg += kg
		}
	}
	p.FeedKgDay = max(0, w.HarvestKg-stock*w.StockG/1000) * w.FCR / w.EveryDays
	p.LastWaitDays = float64(p.Cohorts)*w.EveryDays - p.GrowDays
	return p, nil
}

// StockDaysBefore returns how many days before the meal to stock: purge, and
// growth with 15 percent to spare.
//
// Source: common practice, no source.
func StockDaysBefore(growDays, purgeDays float64) float64 { return purgeDays + 1.15*growDays }

// FastHours returns how long fish are not fed before killing, for an empty gut:
// 24 to 48 hours in warm water, 48 to 72 in cold (below 15 °C).
//
// Source: from memory.
func FastHours(tempC float64) (from, to float64) {
	if tempC < 15 {
		return 48, 72
	}
	return 24, 48
}

// PurgeDaysFrom and PurgeDaysTo are the days in clean aerated water, changed daily, that take the
// earthy taste. Source: from memory.
const PurgeDaysFrom, PurgeDaysTo = 3.0, 10.0

// gutFill is the share of live weight that an emptied gut takes: 1 to 2
// percent. Common practice, no source.
const gutFill = 0.015

// PurgedWeightG returns the live weight in g of a fish of weightG after days of
// purge without feed at tempC: what it burns, and its gut's content.
//
// Errors wrap quantity.ErrRange: more than 60 days, or arguments outside the
// ranges of RoutineOxygenMgKgH.
func (s *Species) PurgedWeightG(weightG, tempC, days float64) (purgedG float64, err error) {
	err = inBoth(weightG, 0.001, 20000, tempC, -1, 45)
	if err == nil {
		err = quantity.InRange("purge", days, 0, 60, "d")
	}
	if err != nil {
		return 0, fmt.Errorf("weight of %s after the purge: %w", s.ID, err)
	}
	if days == 0 {
		return weightG, nil
	}
	return weightG * math.Exp(-s.StarvationShareDay(weightG, tempC)*days) * (1 - gutFill), nil
}

// Aeration is the care a tank has, which limits its fish.
type Aeration string

// The levels of Aeration.
const (
	ReturnOnly   Aeration = "return-only"   // no air but the return of the bed, no alarm
	AirStone     Aeration = "air-stone"     // an air stone, one pump, a beginner
	SmallUnit    Aeration = "small-unit"    // as FAO 589 recommends
	StrongAir    Aeration = "strong-air"    // strong diffused air, two pumps, a battery, a solids filter
	StaffedPlant Aeration = "staffed-plant" // diffused air, clarifiers, people on duty
)

// DensityLimitKgM3 returns the highest density in kg of live fish per m³ of
// tank at a level of aeration, at most the species' own DensityMaxKgM3: 5, 15,
// 20, 35 and 60 by rising level.
//
// Errors wrap quantity.ErrRange: another level, or a crustacean.
//
// Source: common practice; FAO 589, from memory; 60 Rakocy et al. (UVI).
func (s *Species) DensityLimitKgM3(a Aeration) (kgM3 float64, err error) {
	if s.Group == "crustacean" {
		return 0, fmt.Errorf("density of %s: crustaceans go by floor area: %w", s.ID, quantity.ErrRange)
	}
	limit, ok := map[Aeration]float64{ReturnOnly: 5, AirStone: 15, SmallUnit: 20, StrongAir: 35, StaffedPlant: 60}[a]
	if !ok {
		return 0, fmt.Errorf("density of %s: aeration %q: give %s, %s, %s, %s or %s: %w",
			s.ID, a, ReturnOnly, AirStone, SmallUnit, StrongAir, StaffedPlant, quantity.ErrRange)
	}
	return min(limit, s.DensityMaxKgM3), nil
}

// MaxBiomass is what limits the fish of a tank.
type MaxBiomass struct {
	DensityKgM3 float64 // see DensityLimitKgM3
	VolumeM3    float64
	OxygenGH    float64 // what the air device gives at the oxygen wanted
	PeakMgKgH   float64 // what fish use in the peak hour, 1.4 to 1.6 times the mean
	FeedKgDay   float64 // what filter and plants can take
	RationShare float64 // of live weight a day
}

// Kg returns the live fish a tank can hold and which limit binds: density,
// oxygen or feed.
//
// Errors wrap quantity.ErrRange.
//
// Check: 25 g/h of oxygen at 300 mg/kg/h 83 kg.
func (m MaxBiomass) Kg() (kg float64, limit string, err error) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"density", m.DensityKgM3, 0, 1000, "kg/m³"}, {"water", m.VolumeM3, 0, 1e5, "m³"}, {"oxygen given", m.OxygenGH, 0, 1e6, "g/h"},
		{"oxygen use", m.PeakMgKgH, 1, 1e4, "mg/kg/h"}, {"feed", m.FeedKgDay, 0, 1e6, "kg/d"}, {"ration", m.RationShare, 1e-4, 0.25, ""},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, "", fmt.Errorf("most fish of a tank: %w", err)
		}
	}
	kg, limit = m.DensityKgM3*m.VolumeM3, "density"
	if byOxygen := 1000 * m.OxygenGH / m.PeakMgKgH; byOxygen < kg {
		kg, limit = byOxygen, "oxygen"
	}
	if byFeed := m.FeedKgDay / m.RationShare; byFeed < kg {
		kg, limit = byFeed, "feed"
	}
	return kg, limit, nil
}

// FeedPerArea is a span of g of feed a day per m² of planted area.
type FeedPerArea struct{ LowGM2Day, HighGM2Day float64 }

// Feeding-rate ratios of systems.
var (
	LeafyAny    = FeedPerArea{40, 50}  // any system, feed of 32 percent protein: FAO 589
	FruitingAny = FeedPerArea{50, 80}  // the same, fruiting crops
	RaftAny     = FeedPerArea{60, 100} // rafts, solids removed: Rakocy et al. 2006, from memory
	LeafyBed    = FeedPerArea{15, 25}  // media bed that keeps its solids: Lennard, from memory
	FruitingBed = FeedPerArea{25, 40}  // the same, fruiting crops
)

// PlantAreaM2 returns the planted area in m² for feedGd g/d of feed with a
// protein share, at a feeding-rate ratio of gM2Day for feed of 32 percent.
//
// Errors wrap quantity.ErrRange.
//
// Source: FAO 589, chapter 8. Check: 200 g/d at 32 percent and 50: 4 m².
func PlantAreaM2(feedGd, protein, gM2Day float64) (areaM2 float64, err error) {
	err = quantity.InRange("feed", feedGd, 0, 1e8, "g/d")
	if err == nil {
		err = quantity.InRange("protein", protein, 0.10, 0.65, "")
	}
	if err == nil {
		err = quantity.InRange("feeding-rate ratio", gM2Day, 1, 500, "g/m²/d")
	}
	if err != nil {
		return 0, fmt.Errorf("plant area: %w", err)
	}
	return feedGd * protein / 0.32 / gM2Day, nil
}
