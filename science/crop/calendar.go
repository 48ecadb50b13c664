package crop

import (
	"math"

	"tidebed/science/food"
)

// Picking is one harvest of a planting.
type Picking struct {
	DayFromPlanting int    // days after planting out, or after sowing in the bed
	Kg              Yields // kg per m² of bed
}

// Pickings returns the harvests of one planting at best light and temperature,
// by the table's own days. Days count from planting out; for a crop sown or set
// in the bed (NurseryDays 0) from that sowing, its emergence included.
//
// A crop harvested once has one picking, on DaysToFirstHarvest. A crop cut
// again has up to CutsMax cuts, CutIntervalDays apart within the window, each
// smaller than the one before by the same factor: the factor for which the
// first cut is YieldHarvest and all cuts together YieldSeason. A crop picked
// continuously gives equal pickings, CutIntervalDays apart. The pickings
// together are YieldSeason, low, typical and high.
func (c Crop) Pickings() []Picking {
	n := 1
	if c.HarvestKind != Once && c.CutIntervalDays > 0 {
		n = max(1, min(c.CutsMax, c.HarvestWindowDays/c.CutIntervalDays+1))
	}
	factor := 1.0
	if c.HarvestKind == CutAgain {
		factor = cutFactor(n, c.YieldSeason.TypicalKgM2/c.YieldHarvest.TypicalKgM2)
	}
	sum, weight := 0.0, 1.0
	for range n {
		sum += weight
		weight *= factor
	}
	out := make([]Picking, 0, n)
	weight = 1
	for i := range n {
		out = append(out, Picking{
			DayFromPlanting: c.DaysToFirstHarvest + i*c.CutIntervalDays,
			Kg:              c.YieldSeason.Scaled(weight / sum),
		})
		weight *= factor
	}
	return out
}

// cutFactor returns the factor f, 0.5 to 1, from one of n cuts to the next for
// which 1 + f + f² … is total, the season in first cuts; by bisection.
func cutFactor(n int, total float64) float64 {
	lo, hi := 0.5, 1.0
	for range 60 {
		mid := (lo + hi) / 2
		sum := float64(n)
		if mid < 1 {
			sum = (1 - math.Pow(mid, float64(n))) / (1 - mid)
		}
		if sum < total {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Calendar is one planting on day numbers of the caller's choice.
type Calendar struct {
	SowDay   int // sowing, in the nursery or in the bed
	PlantDay int // planting out, the same as SowDay when sown in the bed
	FirstDay int // first harvest
	EndDay   int // the bed is free again
	// HarvestDays and Kg run together: the pickings in kg per m².
	HarvestDays []int
	Kg          []Yields
}

// Calendar returns the calendar of a planting on plantedDay at best light and
// temperature (see Pickings).
func (c Crop) Calendar(plantedDay int) Calendar {
	cal := Calendar{
		SowDay:   plantedDay - c.NurseryDays,
		PlantDay: plantedDay,
		FirstDay: plantedDay + c.DaysToFirstHarvest,
		EndDay:   plantedDay + c.BedDays,
	}
	for _, p := range c.Pickings() {
		cal.HarvestDays = append(cal.HarvestDays, plantedDay+p.DayFromPlanting)
		cal.Kg = append(cal.Kg, p.Kg)
	}
	return cal
}

// EnergyPerM2Day returns the energy and protein the typical season yield gives
// per m² of bed and bed day: season yield / bed days × edible share × content.
// Nursery days do not count. ok is false for fish feed and where the food
// table has no value. For the low and high yields see FoodPerM2Day.
//
// Check: potato 15.9 kcal (season 3.2 kg/m², 116 bed days, 75 % edible).
func (c Crop) EnergyPerM2Day() (kcal, proteinG float64, ok bool) {
	return c.FoodPerM2Day(c.YieldSeason.TypicalKgM2)
}

// FoodPerM2Day is EnergyPerM2Day for a season yield in kg/m² of the caller's.
func (c Crop) FoodPerM2Day(seasonKgM2 float64) (kcal, proteinG float64, ok bool) {
	f, err := food.Lookup(c.FoodKey)
	if err != nil || c.BedDays <= 0 {
		return 0, 0, false
	}
	kcal100, kcalKnown := f.Per100g(food.Energy)
	protein100, proteinKnown := f.Per100g(food.Protein)
	edibleHundredG := seasonKgM2 / float64(c.BedDays) * c.EdibleShare * 10
	return edibleHundredG * kcal100, edibleHundredG * protein100, kcalKnown && proteinKnown
}
