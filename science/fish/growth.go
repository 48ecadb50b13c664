package fish

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// checkTemp refuses water no tank has.
func checkTemp(tempC float64) error {
	return quantity.InRange("water temperature", tempC, -1, 45, "°C")
}

// TemperatureFactor returns the share, 0 to 1, of its fastest growth a species
// reaches in water of tempC (-1 to 45 °C): 1 at GrowthTOptC, 0 at and beyond
// GrowthTMinC and GrowthTMaxC. It is the bare curve: outside FeedStopLowC to
// FeedStopHighC fish are not fed and do not grow, which GrowthGPerDay knows.
//
// Errors wrap quantity.ErrRange: tempC out of range, or constants for which
// the curve has a pole (the best temperature must lie above the middle of the
// ends).
//
// Source: cardinal temperature model, Rosso et al. 1993, from memory.
// Check: Nile tilapia at 24 °C 0.719.
func TemperatureFactor(s Species, tempC float64) (factor float64, err error) {
	if err := checkTemp(tempC); err != nil {
		return 0, fmt.Errorf("temperature factor of %s: %w", s.ID, err)
	}
	tMin, tOpt, tMax := s.GrowthTMinC, s.GrowthTOptC, s.GrowthTMaxC
	if !(tMin < tOpt && tOpt < tMax && tOpt > (tMin+tMax)/2) {
		return 0, fmt.Errorf("temperature factor of %s: growth temperatures %g, %g, %g °C: the middle one must lie between the others and above their mean: %w",
			s.ID, tMin, tOpt, tMax, quantity.ErrRange)
	}
	return s.cardinal(tempC), nil
}

// growthFactor is the temperature factor with the feed stops obeyed, after all
// arguments of a growth function are checked.
func growthFactor(s Species, weightG, tempC, performance float64) (float64, error) {
	if err := quantity.InRange("live weight", weightG, 0.001, 20000, "g"); err != nil {
		return 0, err
	}
	if err := quantity.InRange("performance", performance, 0, 5, ""); err != nil {
		return 0, err
	}
	factor, err := TemperatureFactor(s, tempC)
	if err != nil {
		return 0, err
	}
	if tempC < s.FeedStopLowC || tempC > s.FeedStopHighC {
		return 0, nil
	}
	return factor, nil
}

// GrowthGPerDay returns the growth of a full-fed fish in g a day: a·W^b·f·p.
//
//	weightG      live weight, 0.001 to 20 000 g; the model holds for 1 to 1000
//	tempC        water, -1 to 45 °C; outside the feed stops growth is 0
//	performance  this stock against the model, 0 to 5, 1 by default
//
// Errors wrap quantity.ErrRange.
//
// Source: allometric growth, constants of the table.
// Check: Nile tilapia of 100 g at 28 °C 1.728 g/d.
func GrowthGPerDay(s Species, weightG, tempC, performance float64) (gPerDay float64, err error) {
	factor, err := growthFactor(s, weightG, tempC, performance)
	if err != nil {
		return 0, fmt.Errorf("growth of %s: %w", s.ID, err)
	}
	return s.GrowthAGPerDay * math.Pow(weightG, s.GrowthB) * factor * performance, nil
}

// CeilingG returns the live weight in g beyond which growth is not foretold:
// 1.3 times the upper market weight, or 1000 g for a species without one.
func (s Species) CeilingG() float64 {
	if s.MarketWeightHighG.Known {
		return 1.3 * s.MarketWeightHighG.Amount
	}
	return 1000
}

// GrownWeightG returns the weight in g of a full-fed fish after days (0 to
// 3650) at a constant temperature, by the exact step of GrowthGPerDay. With
// changing water step day by day. The weight stops at CeilingG; a fish already
// above it keeps its weight. Compare the result with CeilingG to tell.
//
// Arguments and errors otherwise as GrowthGPerDay.
//
// Check: Nile tilapia of 50 g at 27 °C, 84 days: 197.6 g.
func GrownWeightG(s Species, weightG, tempC, days, performance float64) (grownG float64, err error) {
	factor, err := growthFactor(s, weightG, tempC, performance)
	if err == nil {
		err = quantity.InRange("days", days, 0, 3650, "d")
	}
	if err != nil {
		return 0, fmt.Errorf("growth of %s: %w", s.ID, err)
	}
	if factor*performance*days == 0 {
		return weightG, nil
	}
	power := 1 - s.GrowthB
	grownG = math.Pow(math.Pow(weightG, power)+power*s.GrowthAGPerDay*factor*performance*days, 1/power)
	return max(weightG, min(grownG, s.CeilingG())), nil
}

// GrowthDays returns the days a full-fed fish takes from one weight to another
// at a constant temperature.
//
// Errors: as GrowthGPerDay; toG below fromG or above CeilingG; water in which
// the fish do not grow. All wrap quantity.ErrRange.
//
// Check: Nile tilapia 50 to 500 g at 27 °C: 183 days.
func GrowthDays(s Species, fromG, toG, tempC, performance float64) (days float64, err error) {
	factor, err := growthFactor(s, fromG, tempC, performance)
	if err == nil {
		err = quantity.InRange("weight to reach", toG, fromG, max(fromG, s.CeilingG()), "g")
	}
	if err == nil && factor*performance == 0 {
		err = fmt.Errorf("no growth in water of %g °C at performance %g: %w", tempC, performance, quantity.ErrRange)
	}
	if err != nil {
		return 0, fmt.Errorf("growth days of %s: %w", s.ID, err)
	}
	power := 1 - s.GrowthB
	return (math.Pow(toG, power) - math.Pow(fromG, power)) / (power * s.GrowthAGPerDay * factor * performance), nil
}
